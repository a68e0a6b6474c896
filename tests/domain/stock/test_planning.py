"""Stock plans of many parts from a rack that is too small for them."""

from decimal import Decimal

import pytest
from stock_builders import a_board, a_piece, a_saw, planned

MANY = [a_piece(f"part {number}", 200 + 2 * number, 40, count=20) for number in range(60)]


@pytest.mark.parametrize("keep_share", ["0", "0.9"])
def test_a_rack_too_small_for_many_parts_is_answered_with_what_is_missing(keep_share):
    """No choice of boards has face enough, so there is no bound by faces."""
    rack = [a_board(f"board {number}", 2000 + number, price=Decimal(10)) for number in range(2)]
    plan = planned(MANY, rack, a_saw(keep_share=keep_share))
    assert plan.boards_used == 2
    assert sum(missing.count for missing in plan.missing) > 1000
