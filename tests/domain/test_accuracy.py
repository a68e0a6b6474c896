"""Will the corners meet: worst case and spread, and what the shop would have to hold."""

import pytest
from builders import a_plan, altered

from chequerwork.domain.accuracy import VISIBLE_STEP_MM, bevel_gap_mm, mismatch_sigma_mm, mismatch_worst_mm, shear_mm
from chequerwork.domain.advice import Audience
from chequerwork.domain.order import Pattern


def test_budget_is_of_the_shops_own_machines(moosgrund):
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


@pytest.mark.parametrize("pattern", Pattern)
def test_strips_at_the_needed_tolerance_keep_two_sigmas_at_the_visible_step(moosgrund, pattern):
    needed_mm = a_plan(moosgrund, pattern=pattern).accuracy.strip_needed_mm
    shop = altered(moosgrund, machines={"strip_tolerance_mm": needed_mm})
    assert 2 * a_plan(shop, pattern=pattern).accuracy.mismatch_sigma_mm == pytest.approx(VISIBLE_STEP_MM)


def test_the_needed_tolerance_does_not_depend_on_the_one_held(moosgrund):
    coarse = altered(moosgrund, machines={"strip_tolerance_mm": 0.3})
    assert a_plan(coarse).accuracy.strip_needed_mm == pytest.approx(a_plan(moosgrund).accuracy.strip_needed_mm)


def test_corners_that_may_miss_are_told_to_the_workshop_with_the_way_out(moosgrund):
    (advice,) = a_plan(moosgrund, pattern=Pattern.TURN).accuracy.advice
    assert (advice.code, advice.audience) == ("corners-may-miss", Audience.WORKSHOP)
    assert "Shift the bars" in advice.text
    assert "more than 0.17 mm" in advice.text  # two sigmas of 0.0849
    assert "0.053 mm" in advice.text  # 0.15 / (2 sqrt(8)) x 2


@pytest.mark.parametrize(("share", "advised"), [(0.999, False), (1.001, True)])
def test_advice_begins_where_two_sigmas_pass_the_visible_step(moosgrund, share, advised):
    needed_mm = a_plan(moosgrund).accuracy.strip_needed_mm
    shop = altered(moosgrund, machines={"strip_tolerance_mm": needed_mm * share})
    assert bool(a_plan(shop).accuracy.advice) is advised


def test_shifting_cures_it_at_the_same_tolerance(moosgrund):
    assert a_plan(moosgrund, pattern=Pattern.SHIFT).accuracy.advice == ()


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
