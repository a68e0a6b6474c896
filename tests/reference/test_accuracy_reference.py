"""Corner mismatch, bevel and shear against the trade's closed forms, and against strips drawn at random."""

import math
import random
from itertools import accumulate
from statistics import pstdev

import pytest
from corner_steps import mismatches
from reference.checks import checks

from chequerwork.domain.board.accuracy import (
    SIGMAS_IN_TOLERANCE,
    corners_within,
    mismatch_sigma_mm,
    mismatch_worst_mm,
    strip_needed_mm,
)
from chequerwork.domain.order.order import Pattern


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


DRAWN = [check for check in checks("accuracy") if check.id.startswith("drawn-")]


@pytest.mark.parametrize("check", DRAWN, ids=lambda check: check.id)
def test_the_drawn_rows_are_of_strips_drawn_at_random(check):
    """TRADE-TOL: no formula in it. A turned row meets its mirror image, a shifted one the strips beside it."""
    pattern, columns, boards = check.inputs["pattern"], check.inputs["columns"], 20_000
    draw = random.Random(f"{pattern}-{columns}")  # noqa: S311 - the same strips each time
    steps = []
    for _ in range(boards):
        errors = [draw.gauss(0, check.inputs["sigma_mm"]) for _ in range(columns + 1)]
        half = columns // 2
        turned = sum(errors[:half]) - sum(errors[columns - half : columns])
        steps.append(turned if pattern == "turn" else errors[half] - errors[0])
    assert pstdev(steps) == pytest.approx(check.expected, abs=5e-7)
    assert check.tol == pytest.approx(3 * check.expected / math.sqrt(2 * boards), abs=1e-6)


def test_turning_twelve_columns_is_2_4_times_worse_than_shifting():
    """TRADE-TOL: sqrt(12) against sqrt(2)."""
    ratio = mismatch_sigma_mm(Pattern.TURN, 12, 0.05) / mismatch_sigma_mm(Pattern.SHIFT, 12, 0.05)
    assert ratio == pytest.approx(math.sqrt(6))
    assert ratio == pytest.approx(2.4, abs=0.05)


# Whole boards, drawn at random ----------------------------------------------------------------------------------------

BOARDS = 10_000
WORST_BOARDS = [(Pattern.TURN, columns) for columns in (2, 4, 8, 12, 24)] + [
    (Pattern.SHIFT, columns) for columns in (2, 3, 8, 13, 24)
]


def worst_step(draw, pattern, columns):
    """Worst corner of one board: where the strips' edges really lie in two neighbouring bars. [sigma]"""
    strips = [10.0 + draw.gauss(0, 1) for _ in range(columns + (pattern is Pattern.SHIFT))]
    upper, lower = (strips, strips[::-1]) if pattern is Pattern.TURN else (strips[:-1], strips[1:])
    edges = zip(accumulate(upper[:-1]), accumulate(lower[:-1]), strict=True)
    return max(abs(above - below) for above, below in edges)


@pytest.fixture(scope="module")
def worst_steps():
    draw = random.Random(20270201)  # noqa: S311 - a simulation, repeatable
    return {board: [worst_step(draw, *board) for _ in range(BOARDS)] for board in WORST_BOARDS}


@pytest.mark.parametrize("confidence", [0.5, 0.8, 0.95, 0.99])
@pytest.mark.parametrize(("pattern", "columns"), WORST_BOARDS)
def test_the_promised_share_of_whole_boards_has_every_corner_within(worst_steps, pattern, columns, confidence):
    """LEVY, SIDAK against whole boards: the promise is kept, and no more than 0.6 of the misses allowed stay unused.

    Three standard errors of a share of 10,000 boards are allowed for on either side.
    """
    sigma = strip_needed_mm(pattern, columns, 1.0, confidence) / SIGMAS_IN_TOLERANCE
    assert corners_within(pattern, columns, sigma, 1.0) == pytest.approx(confidence)
    within = sum(step * sigma <= 1.0 for step in worst_steps[pattern, columns]) / BOARDS
    error = 3 * math.sqrt(confidence * (1 - confidence) / BOARDS)
    assert confidence - error <= within <= confidence + 0.6 * (1 - confidence) + error


@pytest.mark.parametrize(("pattern", "columns"), WORST_BOARDS)
def test_steps_by_formula_are_those_of_laid_out_bars(pattern, columns):
    """The same board both ways: edges of real strips against the sums of their errors."""
    for seed in range(20):
        errors = random.Random(seed)  # noqa: S311 - as above
        strips = [errors.gauss(0, 1) for _ in range(columns + (pattern is Pattern.SHIFT))]
        laid_out = worst_step(random.Random(seed), pattern, columns)  # noqa: S311 - as above
        assert max(map(abs, mismatches(pattern, strips))) == pytest.approx(laid_out)
