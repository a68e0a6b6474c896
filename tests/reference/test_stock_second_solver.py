"""Stock plans against a second solver and against trying everything: small cases, to the cent.

The two others are first held against each other, so that a plan that differs from them is wrong.
"""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from reference.stock.brute_force import least_cost_by_trial
from reference.stock.random_cases import Case, random_case
from reference.stock.second_solver import Unfinished, least_cost
from stock_builders import describe, planned

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.stock.boards import Goal, Origin, PlanStatus

HALF_A_CENT = Fraction(1, 200)


def part_of(count, few):
    """Seeds; all but the first few of them are for ``make stock-check``."""
    return [seed if seed < few else pytest.param(seed, marks=pytest.mark.stock) for seed in range(count)]


def plan_of(case: Case, *, bought: bool):
    """A plan of the case, from the rack or from the offer."""
    offer = [replace(board, origin=Origin.OFFER) for board in case.boards] if bought else []
    return planned(case.pieces, [] if bought else case.boards, case.saw, offer=offer)


def assert_agreed(case: Case, least: Fraction | None, *, bought: bool = False):
    """A plan costs what is least and knows it, or lacks something where nothing else can be done."""
    told = describe(*case)
    try:
        plan = plan_of(case, bought=bought)
    except Refused:
        assert least is None, told
        return
    assert bool(plan.missing) is (least is None), told
    if least is not None:
        assert abs(Fraction(plan.cost) - least) <= HALF_A_CENT, f"{float(least)}, not {plan.cost}:\n{told}"
        assert plan.status is PlanStatus.OPTIMAL, told


def assert_within(case: Case, known: Unfinished, *, bought: bool):
    """A plan of everything costs no less than is proven, and no more than is found."""
    told, plan = describe(*case), plan_of(case, bought=bought)
    assert plan.status is PlanStatus.OPTIMAL, told
    if not plan.missing:
        assert float(plan.cost) >= known.bound - float(HALF_A_CENT), told
    if known.found is not None:
        assert not plan.missing, told
        assert Fraction(plan.cost) <= known.found + HALF_A_CENT, told


def tiny(seed, *, leftovers):
    return random_case(10_000 + seed, boards=2, pieces=5, leftovers=leftovers)


def small(seed, *, leftovers):
    """Of leftovers fewer: their areas are products, which the second solver is slow to prove."""
    boards, pieces = (3, 5) if leftovers else (5, 8)
    return random_case(seed, boards=boards, pieces=pieces, leftovers=leftovers)


@pytest.mark.slow("tries every plan there is")
@pytest.mark.parametrize("leftovers", [False, True])
@pytest.mark.parametrize("seed", part_of(150, 15))
def test_the_second_solver_agrees_with_trying_everything(seed, leftovers):
    case = tiny(seed, leftovers=leftovers)
    one, other = least_cost(*case), least_cost_by_trial(*case)
    assert (one is None) is (other is None), describe(*case)
    if one is not None:
        assert abs(one - other) < Fraction(1, 10**6), describe(*case)


@pytest.mark.parametrize("leftovers", [False, True])
@pytest.mark.parametrize("seed", part_of(300, 60))
def test_a_plan_of_a_tiny_case_costs_what_trying_everything_finds(seed, leftovers):
    case = tiny(seed, leftovers=leftovers)
    assert_agreed(case, least_cost_by_trial(*case))


@pytest.mark.parametrize("seed", part_of(400, 40))
def test_a_plan_costs_what_the_second_solver_finds(seed):
    """Half of the boards lie in the rack; the others have to be bought."""
    case = small(seed, leftovers=False)
    assert_agreed(case, least_cost(*case), bought=seed % 2 == 1)


@pytest.mark.parametrize("seed", part_of(200, 15))
def test_a_plan_with_leftovers_costs_what_the_second_solver_finds(seed):
    """Where the second solver does not finish, the plan still lies between what it proves and what it finds."""
    case, bought = small(1000 + seed, leftovers=True), seed % 2 == 1
    try:
        assert_agreed(case, least_cost(*case, seconds=10), bought=bought)
    except Unfinished as range_known:
        assert_within(case, range_known, bought=bought)


@pytest.mark.parametrize("seed", part_of(100, 15))
def test_a_plan_for_little_wood_uses_what_the_second_solver_finds(seed):
    """Volume as a price, kept leftovers at the whole of theirs."""
    case = tiny(5000 + seed, leftovers=True)
    as_price = [
        replace(board, price=Decimal(board.length_nm * board.width_nm * board.thickness_nm) / 10**24)
        for board in case.boards
    ]
    least = least_cost_by_trial(case.pieces, as_price, replace(case.saw, keep_share=Decimal(1)))
    try:
        plan = planned(case.pieces, case.boards, case.saw, goal=Goal.VOLUME)
    except Refused:
        assert least is None
        return
    assert bool(plan.missing) is (least is None), describe(*case)
    if least is not None:
        least_m3 = least / 1000
        assert float(plan.reached) == pytest.approx(float(least_m3), abs=1e-6), describe(*case)
        assert plan.status is PlanStatus.OPTIMAL
