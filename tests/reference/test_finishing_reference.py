"""Sanding ladders against the public ones, finish against the trade's worked example."""

from dataclasses import replace

import pytest
from builders import altered, an_order, published

from chequerwork.domain.finishing import ladder, plan_finish
from chequerwork.domain.geometry import Rect, lay_out


@pytest.fixture(scope="module")
def functions(tables, moosgrund):
    def size_ratio(*, coarse, fine):
        """Of one step from the one to the other, whatever its size."""
        return ladder(tables, fine, first=coarse, most=99.0)[-1].ratio

    def finishing(*, side_mm, edge_mm, coats=3, coverage_m2_l=12.0, waste_pct=0.0):
        shop = altered(moosgrund, consumables={"finish_waste_pct": waste_pct})
        order = replace(an_order(shop), thickness_mm=edge_mm)
        finish = replace(tables.finishes[order.finish], coats=coats, coverage_m2_l=coverage_m2_l)
        facts = altered(tables, finishes={**tables.finishes, order.finish: finish})
        geometry = replace(lay_out(order, shop, tables), overall=Rect(length_mm=side_mm, width_mm=side_mm))
        return plan_finish(order, shop, facts, geometry)

    return {
        "size_ratio": size_ratio,
        "steps_of_the_ladder": lambda *, last, **given: len(ladder(tables, last, **given)) - 1,
        "cami_ratio": lambda *, number: (
            tables.abrasives[f"P{number}"].particle_um / tables.abrasives_cami[number].particle_um
        ),
        "area_m2": lambda **given: finishing(**given).area_m2,
        "finish_l": lambda **given: finishing(**given).finish_ml / 1000,
    }


@pytest.mark.parametrize("row", published("finishing"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


def test_ladder_of_the_trade(tables):
    """TRADE-GRIT (A06): P80 to P220 at 1.7 is P80, P120, P180, P220, a public ladder too."""
    assert [step.grade for step in ladder(tables, "P220", most=1.7)] == ["P80", "P120", "P180", "P220"]


def test_twice_the_number_is_just_above_a_ratio_of_two(tables):
    """TRADE-GRIT (A05): P80 to P150 is 2.01, the limit; at 2.0 a grade stands between."""
    assert [step.grade for step in ladder(tables, "P150", most=2.02)] == ["P80", "P150"]
    assert [step.grade for step in ladder(tables, "P150", most=2.0)] == ["P80", "P120", "P150"]
