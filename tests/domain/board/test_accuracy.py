"""Will the corners meet: worst case and spread, and what the shop would have to hold."""

import pytest
from builders import a_frame, a_plan, altered, an_order
from corner_steps import mismatches

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.board.accuracy import (
    SIGMAS_IN_TOLERANCE,
    VISIBLE_STEP_MM,
    bevel_gap_mm,
    blade_needed_deg,
    corners_within,
    mismatch_sigma_mm,
    mismatch_worst_mm,
    mitre_cut_gap_mm,
    shear_mm,
    strip_needed_mm,
)
from chequerwork.domain.order.order import Joint, Pattern
from chequerwork.domain.order.request import CornersRequest


def test_accuracy_is_of_the_shops_own_machines(moosgrund):
    """Tolerance 0.06 mm, two sigmas: 0.03 sqrt(8) = 0.0849; blade 0.06 deg."""
    accuracy = a_plan(moosgrund).accuracy
    assert (accuracy.strip_tolerance_mm, accuracy.blade_error_deg) == (0.06, 0.06)
    assert accuracy.mismatch_worst_mm == pytest.approx(8 * 0.06)
    assert accuracy.mismatch_sigma_mm == pytest.approx(0.0849, abs=5e-5)
    assert accuracy.bevel_gap_mm == bevel_gap_mm(18.0, 0.06)
    assert accuracy.shear_mm == shear_mm(384.0, 0.06)


def test_shear_is_of_the_cut_across_the_grain(moosgrund):
    """A crosscut runs the field's width: columns, not rows."""
    accuracy = a_plan(moosgrund, columns=6, rows=10).accuracy
    assert accuracy.shear_mm == shear_mm(6 * 48.0, 0.06)
    assert accuracy.size_worst_mm == pytest.approx(6 * 0.06)


def test_rows_do_not_matter_to_the_corners(moosgrund):
    assert a_plan(moosgrund, rows=4).accuracy.mismatch_sigma_mm == a_plan(moosgrund, rows=12).accuracy.mismatch_sigma_mm


def test_odd_columns_have_their_worst_boundary_beside_the_middle():
    """TRADE-TOL: sigma sqrt(2 min(k, N - k)); N = 9 has no middle, k = 4."""
    assert mismatch_sigma_mm(Pattern.TURN, 9, 0.1) == pytest.approx(0.1 * 8**0.5)


def test_an_order_that_does_not_say_wants_what_shows_on_nearly_every_board(moosgrund):
    found = a_plan(moosgrund).accuracy
    assert (found.corner_limit_mm, found.corner_confidence_pct) == (VISIBLE_STEP_MM, 95.0)


def test_corners_are_judged_by_what_the_order_asks(moosgrund):
    """By hand, turn: 1 - 4 (1 - Phi(0.2 / 0.0849)) = 96.3 %; z of 1 - 0.02 / 4 is 2.5758, 0.4 / (2.5758 sqrt 8)."""
    corners = CornersRequest(within_mm=0.2, confidence_pct=98.0)
    found = a_plan(moosgrund, corners=corners).accuracy
    assert (found.corner_limit_mm, found.corner_confidence_pct) == (0.2, 98.0)
    assert found.corners_within_pct == pytest.approx(96.3, abs=0.05)
    assert found.strip_needed_mm == pytest.approx(0.4 / (2.5758 * 8**0.5), rel=1e-4)
    assert found.blade_needed_deg == blade_needed_deg(18.0, 0.2)


@pytest.mark.parametrize(
    "given", [CornersRequest(within_mm=0.3), CornersRequest(confidence_pct=80.0), CornersRequest()]
)
def test_half_a_wish_for_corners_keeps_the_habit_in_its_gap(moosgrund, given):
    found = an_order(moosgrund, corners=given).corners
    assert found.within_mm == (given.within_mm or VISIBLE_STEP_MM)
    assert found.confidence_pct == (given.confidence_pct or 95.0)


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.95, 0.999])
@pytest.mark.parametrize("columns", [2, 3, 4, 8, 9, 24])
@pytest.mark.parametrize("pattern", Pattern)
def test_the_needed_tolerance_gives_just_the_share_asked_for(pattern, columns, confidence):
    needed_mm = strip_needed_mm(pattern, columns, 0.15, confidence)
    assert corners_within(pattern, columns, needed_mm / SIGMAS_IN_TOLERANCE, 0.15) == pytest.approx(confidence)


@pytest.mark.parametrize("pattern", Pattern)
def test_a_single_corner_has_no_bound_but_its_own_distribution(pattern):
    """Two squares a bar meet at one corner, step sigma sqrt 2: 1.96 of that is 95 %."""
    assert corners_within(pattern, 2, 0.1, 1.959964 * 0.1 * 2**0.5) == pytest.approx(0.95, abs=5e-7)


def test_the_needed_tolerance_does_not_depend_on_the_one_held(moosgrund):
    coarse = altered(moosgrund, machines={"strip_tolerance_mm": 0.3})
    assert a_plan(coarse).accuracy.strip_needed_mm == pytest.approx(a_plan(moosgrund).accuracy.strip_needed_mm)


@pytest.mark.parametrize("pattern", Pattern)
@pytest.mark.parametrize("columns", [2, 8, 24])
def test_wider_limits_finer_strips_and_fewer_squares_never_make_corners_worse(pattern, columns):
    base = corners_within(pattern, columns, 0.03, 0.15)
    assert 0 <= base <= 1
    assert corners_within(pattern, columns, 0.03, 0.2) >= base
    assert corners_within(pattern, columns, 0.02, 0.15) >= base
    assert corners_within(pattern, columns + 2, 0.03, 0.15) <= base


def test_a_hopeless_tolerance_promises_nothing(moosgrund):
    coarse = altered(moosgrund, machines={"strip_tolerance_mm": 2.0})
    assert a_plan(coarse).accuracy.corners_within_pct == 0.0


def test_corners_that_may_miss_are_told_to_the_workshop_with_the_way_out(moosgrund):
    """By hand: 1 - 4 (1 - Phi(0.15 / 0.0849)) = 84.6 %; z of 1 - 0.05 / 4 is 2.2414, 0.3 / (2.2414 sqrt 8) = 0.047."""
    (advice,) = a_plan(moosgrund, pattern=Pattern.TURN).accuracy.advice
    assert (advice.code, advice.audience) == ("corners-may-miss", Audience.WORKSHOP)
    assert "within 0.15 mm on 84.6 % of boards at least; 95 % is asked for" in advice.text
    assert "or rip the strips to +/-0.047 mm" in advice.text


def test_the_share_that_shifting_promises_is_the_one_it_gives(moosgrund):
    (advice,) = a_plan(moosgrund, pattern=Pattern.TURN).accuracy.advice
    shifted = a_plan(moosgrund, pattern=Pattern.SHIFT).accuracy
    assert f"Shift the bars instead of turning them, for {shifted.corners_within_pct:.1f} %" in advice.text
    assert shifted.advice == ()


@pytest.mark.parametrize(("share", "advised"), [(0.999, False), (1.0, False), (1.001, True)])
@pytest.mark.parametrize("pattern", Pattern)
def test_advice_begins_where_fewer_boards_than_asked_for_have_every_corner_within(moosgrund, pattern, share, advised):
    corners = CornersRequest(within_mm=0.1, confidence_pct=90.0)
    needed_mm = a_plan(moosgrund, pattern=pattern, corners=corners).accuracy.strip_needed_mm
    shop = altered(moosgrund, machines={"strip_tolerance_mm": needed_mm * share})
    found = a_plan(shop, pattern=pattern, corners=corners).accuracy
    assert bool(found.advice) is advised
    assert (found.corners_within_pct < 90.0 - 1e-6) is advised


def test_who_shifts_already_is_not_told_to_shift(moosgrund):
    coarse = altered(moosgrund, machines={"strip_tolerance_mm": 0.3})
    (advice,) = a_plan(coarse, pattern=Pattern.SHIFT).accuracy.advice
    assert "Shift" not in advice.text
    assert "Rip the strips" in advice.text


def test_a_true_blade_leaves_neither_gap_nor_shear():
    assert bevel_gap_mm(20.0, 0.0) == 0.0
    assert shear_mm(400.0, 0.0) == 0.0


@pytest.mark.parametrize("columns", range(2, 25))
def test_shift_is_never_worse_than_turn(columns):
    assert mismatch_worst_mm(Pattern.SHIFT, columns, 0.1) <= mismatch_worst_mm(Pattern.TURN, columns, 0.1)
    assert mismatch_sigma_mm(Pattern.SHIFT, columns, 0.1) <= mismatch_sigma_mm(Pattern.TURN, columns, 0.1)


@pytest.mark.parametrize("limit_mm", [0.01, 0.15, 5.0])
def test_the_needed_blade_leaves_just_the_gap_allowed(limit_mm):
    assert bevel_gap_mm(18.0, blade_needed_deg(18.0, limit_mm)) == pytest.approx(limit_mm)


def test_only_mitres_gather_the_error_of_their_cuts(moosgrund):
    assert a_plan(moosgrund).accuracy.mitre_cut_gap_mm is None
    assert a_plan(moosgrund, frame=a_frame(joint=Joint.BUTT)).accuracy.mitre_cut_gap_mm is None
    assert a_plan(moosgrund, frame=a_frame()).accuracy.mitre_cut_gap_mm == mitre_cut_gap_mm(45.0, 0.06)


def test_steps_of_a_turned_board_are_the_same_from_both_ends():
    """First k less last k, and the same taken from the other side: whole numbers, so exact."""
    errors = (3.0, -1.0, 2.0, 5.0, -4.0, 0.0, 1.0, -2.0)
    found = mismatches(Pattern.TURN, errors)
    assert found == found[::-1]
    assert found == tuple(sum(errors[:k]) - sum(errors[8 - k :]) for k in range(1, 8))


def test_steps_of_a_shifted_board_compare_with_the_first_strip():
    assert mismatches(Pattern.SHIFT, (1.0, 3.0, -2.0, 0.5, 9.0)) == (2.0, -3.0, -0.5)


@pytest.mark.parametrize("pattern", Pattern)
def test_strips_all_equally_wrong_still_meet(pattern):
    """TRADE-TOL: all strips equally wrong, mismatch 0."""
    assert set(mismatches(pattern, (0.25,) * 9)) == {0.0}
