"""Corner mismatch, bevel and shear against the trade's closed forms, and against strips drawn at random."""

import math
import random
from statistics import pstdev

import pytest
from builders import a_plan, altered, published

from chequerwork.domain.accuracy import bevel_gap_mm, mismatch_sigma_mm, mismatch_worst_mm, shear_mm
from chequerwork.domain.order import Pattern
from chequerwork.domain.schedule import sum_sd


@pytest.fixture(scope="module")
def functions(moosgrund):
    def size_worst_mm(*, columns, tolerance_mm):
        shop = altered(moosgrund, machines={"strip_tolerance_mm": tolerance_mm})
        return a_plan(shop, columns=columns).accuracy.size_worst_mm

    def worst_of_shift_and_turn_mm(*, columns, tolerance_mm):
        return [mismatch_worst_mm(pattern, columns, tolerance_mm) for pattern in (Pattern.SHIFT, Pattern.TURN)]

    return {
        "size_worst_mm": size_worst_mm,
        "spread_of_a_sum": lambda *, terms, each: sum_sd((each,) * terms, correlation=0.0),
        "mismatch_sigma_mm": lambda *, pattern, **given: mismatch_sigma_mm(Pattern(pattern), **given),
        "mismatch_worst_mm": lambda *, pattern, **given: mismatch_worst_mm(Pattern(pattern), **given),
        "bevel_gap_mm": bevel_gap_mm,
        "shear_mm": shear_mm,
        "worst_of_shift_and_turn_mm": worst_of_shift_and_turn_mm,
    }


@pytest.mark.parametrize("row", published("accuracy"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


@pytest.mark.parametrize("columns", [2, 3, 8, 12, 24])
def test_shift_is_the_same_for_every_number_of_columns(columns):
    """TRADE-TOL (T11, T12): sigma sqrt(2) and 2 t, whatever N."""
    assert mismatch_sigma_mm(Pattern.SHIFT, columns, 0.05) == pytest.approx(0.070711, abs=5e-7)
    assert mismatch_worst_mm(Pattern.SHIFT, columns, 0.10) == 0.2


@pytest.mark.parametrize("columns", [4, 8, 12])
def test_closed_forms_agree_with_strips_drawn_at_random(columns):
    """TRADE-TOL: a turned row meets the mirror image of its neighbour, a shifted one the next strips.

    4000 sets of strips put the estimate of a standard deviation within about 3.5 % (three sigmas).
    """
    draw = random.Random(20270201)  # noqa: S311 - a simulation, repeatable
    turned, shifted = [], []
    for _ in range(4000):
        errors = [draw.gauss(0, 0.05) for _ in range(columns + 1)]
        middle = columns // 2
        turned.append(sum(errors[:middle]) - sum(errors[columns - middle : columns]))
        shifted.append(errors[middle] - errors[0])
    assert pstdev(turned) == pytest.approx(mismatch_sigma_mm(Pattern.TURN, columns, 0.05), rel=0.035)
    assert pstdev(shifted) == pytest.approx(mismatch_sigma_mm(Pattern.SHIFT, columns, 0.05), rel=0.035)


def test_turning_twelve_columns_is_2_4_times_worse_than_shifting():
    """TRADE-TOL: sqrt(12) against sqrt(2)."""
    ratio = mismatch_sigma_mm(Pattern.TURN, 12, 0.05) / mismatch_sigma_mm(Pattern.SHIFT, 12, 0.05)
    assert ratio == pytest.approx(math.sqrt(6))
    assert ratio == pytest.approx(2.4, abs=0.05)
