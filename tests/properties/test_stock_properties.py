"""What every stock plan keeps to: its cuts can be made, its bound holds, and more or cheaper wood costs no more."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from reference.stock.random_cases import random_case
from stock_builders import a_board, describe, planned
from stock_checks import check_plan

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.stock.boards import Goal, Origin, PlanStatus

pytestmark = pytest.mark.slow("random stock plans by the hundred")

MANY = settings(
    max_examples=150,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
CENT = Decimal("0.01")
seeds = st.integers(0, 10**6)
few = st.builds(random_case, seeds, boards=st.just(6), pieces=st.just(6), leftovers=st.booleans())
worthless = st.builds(random_case, seeds, boards=st.just(6), pieces=st.just(6), leftovers=st.just(value=False))
many = st.builds(random_case, seeds, boards=st.just(20), pieces=st.just(25), leftovers=st.booleans())


def plan_of(case, **others):
    """A plan of a case; cases with a piece that no board could ever give are drawn again."""
    try:
        return planned(case.pieces, case.boards, case.saw, **others)
    except Refused:
        assume(condition=False)
        raise


def whole_plan(case):
    """A plan that lacks nothing and is known to be the best."""
    plan = plan_of(case)
    assume(not plan.missing and plan.status is PlanStatus.OPTIMAL)
    return plan


def split(case):
    """A case whose last boards are to be bought, ten times as many."""
    rack = case.boards[: len(case.boards) // 2]
    offer = [replace(b, origin=Origin.OFFER, count=10 * b.count) for b in case.boards[len(rack) :]]
    return case._replace(boards=rack), offer


@MANY
@given(many, st.sampled_from(Goal))
def test_every_plan_can_be_cut_and_adds_up(case, goal):
    rack, offer = split(case)
    plan = plan_of(rack, offer=offer, goal=goal)
    check_plan(plan, rack.pieces, rack.boards, offer, rack.saw)
    assert plan.bound <= plan.reached
    assert (plan.status is PlanStatus.OPTIMAL) is (plan.gap_pct == 0)


@MANY
@given(few)
def test_the_same_case_has_the_same_plan(case):
    assert plan_of(case) == plan_of(case)


@MANY
@given(few, st.integers(40, 150), st.integers(6, 25))
def test_one_more_board_costs_no_more(case, length_cm, width_cm):
    plan = whole_plan(case)
    like = case.boards[0]
    board = a_board("more", length_cm * 10, width_cm * 10, sheet=like.sheet, thickness_mm=like.thickness_nm / 1e6)
    more = plan_of(case._replace(boards=[*case.boards, board]))
    assert not more.missing
    assert more.bound <= plan.cost + CENT, describe(*case)
    assert more.status is not PlanStatus.OPTIMAL or more.cost <= plan.cost + CENT, describe(*case)


@MANY
@given(few, st.integers(0, 5), st.sampled_from(["0", "0.5", "0.9"]))
def test_a_cheaper_board_costs_no_more(case, number, share):
    plan = whole_plan(case)
    boards = list(case.boards)
    number %= len(boards)
    boards[number] = replace(boards[number], price=boards[number].price * Decimal(share))
    cheaper = plan_of(case._replace(boards=boards))
    assert not cheaper.missing
    assert cheaper.cost <= plan.cost + CENT, describe(*case)


@MANY
@given(worthless, st.integers(0, 5))
def test_one_piece_less_costs_no_more(case, number):
    """Where leftovers are worth nothing: a shorter section may leave a rest beside its strips that is not kept."""
    plan = whole_plan(case)
    pieces = list(case.pieces)
    number %= len(pieces)
    pieces[number] = replace(pieces[number], count=pieces[number].count - 1)
    pieces = [piece for piece in pieces if piece.count]
    assume(pieces)
    less = plan_of(case._replace(pieces=pieces))
    assert not less.missing
    assert less.cost <= plan.cost + CENT, describe(*case)


@MANY
@given(few)
def test_pieces_are_told_in_any_order(case):
    plan = whole_plan(case)
    turned = plan_of(case._replace(pieces=case.pieces[::-1], boards=case.boards[::-1]))
    assert abs(turned.cost - plan.cost) <= CENT, describe(*case)
