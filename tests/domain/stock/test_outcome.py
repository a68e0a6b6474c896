"""What a stock plan comes to besides its cuts."""

from dataclasses import replace
from decimal import Decimal

import pytest
from builders import a_plan
from hand_layouts import PIECES, PLAIN, SAW, SHEET, THICK

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.order.request import BackingRequest, BaseRequest
from chequerwork.domain.stock.boards import Goal, Missing, PlanStatus, Purchase, StockPlan
from chequerwork.domain.stock.outcome import advice, leftovers
from chequerwork.domain.stock.replay import replay
from chequerwork.domain.stock.wanted import wanted_of


def a_stock_plan(*layouts, **changes):
    """A plan of these layouts; what is not looked at here is nothing."""
    sawn = tuple(replay(layout, PIECES, SAW) for layout in layouts)
    nothing = {"cost": Decimal(0), "reached": Decimal(0), "bound": Decimal(0)}
    return StockPlan(
        **{
            "goal": Goal.COST,
            "status": PlanStatus.OPTIMAL,
            "layouts": sawn,
            "purchases": (),
            "missing": (),
            "boards_used": len(layouts),
            "volume_used_m3": 0.0,
            "parts_m3": 0.0,
            "kept_m3": 0.0,
            **nothing,
            **changes,
        }
    )


def test_a_leftover_is_worth_its_share_of_the_board():
    """By hand: 40 x 0.5 x 774 mm of 2000 mm, three times."""
    (kept,) = leftovers(a_stock_plan(replace(PLAIN, copies=3)))
    assert (kept.layout, kept.count, kept.laid.name) == (0, 3, "kept")
    assert float(kept.worth) == pytest.approx(7.74)


def test_the_leftovers_of_a_board_share_what_it_keeps():
    plan = a_stock_plan(PLAIN, SHEET)
    assert [(kept.layout, kept.laid.name) for kept in leftovers(plan)] == [(0, "kept"), (1, "kept")]
    for kept in leftovers(plan):
        assert float(kept.worth) == pytest.approx(float(plan.layouts[kept.layout].kept))


def test_a_plan_without_a_hitch_needs_no_advice():
    assert advice(a_stock_plan(PLAIN)) == ()


def test_a_part_that_is_glued_up_is_told_with_its_staves(moosgrund):
    """A backing as wide as the board; no usual board of maple is."""
    plan = a_plan(
        base=BaseRequest(
            material="mdf", thickness_mm=9.0, backing=BackingRequest(species="sycamore_maple", thickness_mm=3.0)
        )
    )
    wanted = wanted_of(plan.cutting, plan.order.field, None, plan.order.base, 1, moosgrund)
    (found,) = advice(a_stock_plan(PLAIN), wanted)
    assert found.code == "glued-up"
    assert found.text.startswith("C1.stave: ")
    assert found.lengths_mm == (next(each.piece.width_nm for each in wanted if each.staves > 1) / 1e6,)


def test_what_is_missing_or_bought_is_told_to_the_workshop():
    missing = Missing(piece=PIECES["rail"], count=3, why="No board is left.")
    bought = Purchase(board=THICK.board, count=2)
    found = advice(a_stock_plan(THICK, missing=(missing,), purchases=(bought,)))
    assert [each.code for each in found] == ["pieces-missing", "boards-to-buy"]
    assert all(each.audience is Audience.WORKSHOP for each in found)
    assert found[0].text.startswith("3 pieces ")
    assert found[1].text.startswith("2 boards ")
