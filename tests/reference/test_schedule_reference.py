"""Hours against the three-point formulas and the norm's own sums."""

from dataclasses import replace

import pytest
from builders import a_plan, altered, published

from chequerwork.domain.hours import Hours, pert_mean, pert_sd, sum_sd


@pytest.fixture(scope="module")
def functions(tables, moosgrund):
    def hours_per_board(*, setup_h, run_h, boards):
        """A norm of one operation whose driver is a board, in a shop that keeps to the norm."""
        norm = replace(tables.operations["pack"], setup_h=setup_h, unit_h=run_h)
        shop = altered(moosgrund, labour={"pace": 1.0, "hours": {}})
        facts = altered(tables, operations={"pack": norm})
        return a_plan(shop, tables=facts, quantity=boards).hours.work[0].likely_h / boards

    return {
        "pert_sd": pert_sd,
        "pert_mean": pert_mean,
        "sum_sd": lambda *, spans, correlation: sum_sd(tuple(pert_sd(0.0, span) for span in spans), correlation),
        "p80_h": lambda *, expected_h, sd_h: Hours(work=(), expected_h=expected_h, sd_h=sd_h).p80_h,
        "hours_per_board": hours_per_board,
    }


@pytest.mark.parametrize("row", published("schedule"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note
