"""The plan: every room once, the same numbers every time, and who may read its advice."""

import pytest
from builders import a_frame, a_plan

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.order.order import ChessPieces, Hold
from chequerwork.domain.order.request import BaseRequest
from chequerwork.domain.plan import SECTIONS, Plan

PARTS = (
    "geometry", "accuracy", "cutting", "materials", "movement", "finishing", "hours", "schedule", "packing",
    "compliance", "price",
)  # fmt: skip


def troubled(shop):
    """An order that every adviser has something to say about."""
    return a_plan(
        shop,
        game="chess",
        pieces=ChessPieces(king_base_mm=46.0),
        frame=a_frame(hold=Hold.GLUED),
        base=BaseRequest(material="mdf", thickness_mm=9.0),
        rows=8,
        columns=8,
        thickness_mm=10.0,
    )


@pytest.mark.parametrize("part", PARTS)
def test_a_part_is_computed_once_and_kept(moosgrund, part):
    plan = a_plan(moosgrund, frame=a_frame())
    assert getattr(plan, part) is getattr(plan, part)


@pytest.mark.parametrize("part", PARTS)
def test_it_does_not_matter_which_part_is_asked_first(moosgrund, part):
    alone, whole = a_plan(moosgrund, frame=a_frame()), a_plan(moosgrund, frame=a_frame())
    for each in PARTS:
        getattr(whole, each)
    assert getattr(alone, part) == getattr(whole, part)


def test_every_section_of_the_answer_is_a_part(moosgrund):
    plan = a_plan(moosgrund)
    assert [section for section in SECTIONS if not hasattr(plan, section)] == []


def test_the_same_order_gives_the_same_plan(moosgrund, tables):
    one = troubled(moosgrund)
    other = Plan(one.order, moosgrund, tables)
    assert all(getattr(one, part) == getattr(other, part) for part in PARTS)
    assert one.advice() == other.advice()


def test_the_frame_is_laid_out_with_the_groove_the_seasons_ask_for(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame())
    assert plan.geometry.seat.clearance_mm > 0
    assert plan.geometry.seat.clearance_mm == plan.movement.seat.clearance_mm


def test_advice_comes_in_the_order_of_the_flow(moosgrund):
    sections = [advice.at[0] for advice in troubled(moosgrund).advice()]
    order = ("geometry", "cutting", "materials", "movement", "finishing", "schedule", "packing")
    assert [order.index(section) for section in sections] == sorted(order.index(section) for section in sections)
    assert {"geometry", "materials", "movement", "schedule"} <= set(sections)


def test_advice_of_a_section_is_only_of_that_section(moosgrund):
    plan = troubled(moosgrund)
    assert {advice.at[0] for advice in plan.advice(["movement"])} == {"movement"}
    assert plan.advice([]) == ()
    assert sum(len(plan.advice([section])) for section in SECTIONS) == len(plan.advice())


def test_the_same_finding_is_not_told_twice(moosgrund):
    found = [(advice.code, advice.at) for advice in troubled(moosgrund).advice()]
    assert len(found) == len(set(found))


@pytest.mark.parametrize("shop_id", ["moosgrund", "willet-slough"])
def test_what_a_customer_may_read_speaks_of_no_machine_stock_or_hour(shops, shop_id):
    words = ("jointer", "thicknesser", "crosscut", "planer", "kerf", "hour", "cost", "EUR", "USD", "margin")
    shop = shops[shop_id]
    for plan in (a_plan(shop, frame=a_frame(shop)), a_plan(shop, columns=2, rows=2)):
        for advice in plan.advice():
            if advice.audience is Audience.ALL:
                assert not any(word in advice.text for word in words), advice.code


def test_every_advice_is_a_sentence(moosgrund, tables):
    for advice in troubled(moosgrund).advice():
        assert advice.text.endswith(".")
        assert advice.source is None or set(advice.source.split("; ")) <= set(tables.sources)
