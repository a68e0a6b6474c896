"""Stock plans against cases made backwards: boards cut up with no loss but the kerfs, so that the optimum is known."""

from decimal import Decimal

import pytest
from reference.stock.perfect import perfect_case
from stock_builders import planned

from chequerwork.domain.stock.boards import PlanStatus

SMALL = [(seed, 1 + seed % 2, 2) for seed in range(60)]
MIDDLING = [(seed, 3 + seed % 2, 2) for seed in range(30)]
LARGE = [(seed, 2 + seed % 5, 3) for seed in range(40)]
# What falls short: seeds whose plan costs more than the optimum, 1.37 to 1.60 and 1.16 to 1.63 times as much. The spare
# boards cost double, so that one board too many is dear.
SHORT_MIDDLING = {2, 14}
SHORT_LARGE = {
    1, 2, 3, 4, 6, 7, 8, 9, 12, 14, 17, 18, 19, 21, 22, 23, 24, 25, 27, 28, 29, 31, 32, 33, 34, 36, 37, 38, 39,
}  # fmt: skip


def compared(seed, boards, most):
    """A plan of a perfect case, and the least cost."""
    pieces, rack, saw, least = perfect_case(seed, boards=boards, most=most)
    plan = planned(pieces, rack, saw)
    assert not plan.missing
    return plan, least


@pytest.mark.parametrize("seed", range(20))
def test_the_pieces_and_their_kerfs_fill_the_boards(seed):
    """The proof of the optimum in ``perfect``, checked on the numbers."""
    pieces, rack, saw, least = perfect_case(seed, boards=1 + seed % 6, most=3)
    filled = sum(p.count * (p.length_nm + saw.kerf_crosscut_nm) * (p.width_nm + saw.kerf_rip_nm) for p in pieces)
    assert Decimal(filled) / 10**12 / 100 == least
    for board in rack:
        size = (board.length_nm + saw.kerf_crosscut_nm) * (board.width_nm + saw.kerf_rip_nm)
        assert board.price >= Decimal(size) / 10**12 / 100


@pytest.mark.parametrize(("seed", "boards", "most"), SMALL)
def test_a_small_perfect_case_is_solved_to_its_optimum(seed, boards, most):
    plan, least = compared(seed, boards, most)
    assert (plan.cost, plan.status) == (least, PlanStatus.OPTIMAL)


@pytest.mark.stock
@pytest.mark.parametrize(("seed", "boards", "most"), MIDDLING)
def test_a_middling_perfect_case_is_solved_or_listed(seed, boards, most):
    """6 to 17 pieces."""
    assert_between(*compared(seed, boards, most), listed=seed in SHORT_MIDDLING)


@pytest.mark.stock
@pytest.mark.parametrize(("seed", "boards", "most"), LARGE)
def test_a_large_perfect_case_is_solved_or_listed(seed, boards, most):
    """5 to 52 pieces."""
    assert_between(*compared(seed, boards, most), listed=seed in SHORT_LARGE)


def assert_between(plan, least, *, listed):
    """The optimum lies between the bound and what was reached, and is missed only where that is said."""
    assert plan.bound <= least <= plan.cost
    assert (plan.cost > least) is listed
