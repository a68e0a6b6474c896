"""Stock plans against cases made backwards: boards cut up with no loss but the kerfs, so that the optimum is known."""

from decimal import Decimal

import pytest
from reference.stock.perfect import perfect_case
from stock_builders import planned

from chequerwork.domain.stock.boards import Status

SMALL = [pytest.param(seed, 1 + seed % 2, 2, id=f"small-{seed}") for seed in range(60)]
LARGE = [pytest.param(seed, 3 + seed % 2, 2, id=f"larger-{seed}") for seed in range(30)]
LARGE += [pytest.param(seed, 2 + seed % 5, 3, id=f"large-{seed}") for seed in range(40)]


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
    assert (plan.cost, plan.status) == (least, Status.OPTIMAL)


@pytest.mark.stock
@pytest.mark.parametrize(("seed", "boards", "most"), LARGE)
def test_a_large_perfect_case_lies_between_its_bound_and_what_was_reached(seed, boards, most):
    plan, least = compared(seed, boards, most)
    assert plan.bound <= least <= plan.cost
    assert plan.status is not Status.OPTIMAL or plan.cost == least
