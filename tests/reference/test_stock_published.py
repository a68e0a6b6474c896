"""Stock plans against published cases of cutting and packing, as boards of one width without kerf."""

import pytest
from reference.stock.published import published
from stock_builders import planned

from chequerwork.domain.stock.boards import PlanStatus

CASES = published()
# The bounds below are one short or more here: that no fewer boards do is the sources' word, not ours.
UNPROVEN = {"four-widths", "hard_0", "hard_1"}
QUICK = ["paper-rolls", "four-widths", "u120_01", "u120_04", "u120_08", "u120_10", "u120_13", "u120_17"]
# What falls short: boards of the plan where they are more than the optimum. The bound is below it, as it must be.
SHORT = {
    "u120_12": 49,
    "t120_00": 41, "t120_11": 41, "t120_15": 41, "t120_16": 41, "t120_19": 41,
    "hard_0": 59, "hard_1": 60, "hard_2": 60,
}  # fmt: skip


def in_turn():
    """Every case; all but the quick ones are for ``make stock-check``."""
    return [name if name in QUICK else pytest.param(name, marks=pytest.mark.stock) for name in CASES]


def test_at_least_forty_cases_are_carried():
    assert len(CASES) >= 40


@pytest.mark.parametrize("name", CASES)
def test_the_optimum_is_proven_by_a_bound_or_said_not_to_be(name):
    case = CASES[name]
    assert (case.least() == case.optimum) is (name not in UNPROVEN)
    assert case.least() <= case.optimum


@pytest.mark.parametrize("name", in_turn())
def test_a_plan_uses_as_few_boards_as_are_published_or_is_listed(name):
    plan = planned(*CASES[name].question())
    assert not plan.missing
    assert plan.bound <= CASES[name].optimum
    assert plan.boards_used == SHORT.get(name, CASES[name].optimum)
    assert (plan.status is PlanStatus.OPTIMAL) is (name not in SHORT)
