"""What moves a price: every number is the difference of two prices, worked out apart."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from builders import TODAY, a_plan, a_request, demo_shops, demo_tables, orders, reordered
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.api.examples import ORDERS
from chequerwork.api.schemas import order_of, read_order
from chequerwork.domain.basics.trade import Rush
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.request import request_of
from chequerwork.domain.plan import Plan
from chequerwork.domain.sensitivity import Moved, lines_of, parts_of, sensitivity

ANY = st.sampled_from(sorted(demo_shops())).flatmap(lambda key: orders(demo_shops()[key], demo_tables()))


def example(name: str) -> Plan:
    shop = demo_shops()[ORDERS[name].get("shop", "moosgrund")]
    order = order_of(read_order(ORDERS[name]), shop=shop, tables=demo_tables(), today=TODAY)
    return Plan(order, shop, demo_tables())


def moves(plan: Plan) -> dict[str, Moved]:
    return {move.change.code: move for move in sensitivity(plan).moves}


def differs_by(move: Moved, now: Plan, then: Plan) -> bool:
    """Whether a move is what two plans say, each made from nothing."""
    return (move.asked, move.unit_gross, move.total, move.cost_total, move.floor_total) == tuple(
        getattr(then.price, name) - getattr(now.price, name)
        for name in ("asked", "unit_gross", "total", "cost_total", "floor_total")
    )


@pytest.mark.slow("random orders")
@given(order=ANY)
def test_an_order_comes_out_of_the_request_that_leaves_nothing_to_the_shop(order):
    shop = demo_shops()[order.shop]
    found = complete(request_of(order), shop=shop, tables=demo_tables(), today=order.dates.issued_on)
    assert reordered(found, starts_on=order.dates.starts_on) == order


@pytest.mark.parametrize("name", ORDERS)
def test_every_change_of_the_order_is_the_difference_of_two_orders(name):
    plan = example(name)
    order, found = plan.order, moves(plan)
    changed = {
        "square": reordered(order, square_mm=order.field.square_mm + 1),
        "thickness": reordered(order, thickness_mm=order.field.thickness_mm + 1),
        "board": reordered(order, quantity=order.sale.quantity + 1),
        "grade": reordered(order, sand_top={"P180": "P220", "P220": "P240"}[order.surface.sand_top]),
    }
    if order.frame:
        changed["frame-width"] = replace(order, frame=replace(order.frame, width_mm=order.frame.width_mm + 1))
    assert changed.keys() <= found.keys()
    for code, other in changed.items():
        assert differs_by(found[code], plan, Plan(other, plan.shop, plan.tables)), code


@pytest.mark.parametrize("name", ORDERS)
def test_every_change_of_the_shop_is_the_difference_of_two_shops(name):
    plan = example(name)
    order, shop, found = plan.order, plan.shop, moves(plan)
    lumber = shop.lumber[order.field.dark]
    dearer = replace(lumber, price_m3=lumber.price_m3 + lumber.price_m3 / 10)
    finish = plan.tables.finishes[order.surface.finish]
    coated = replace(
        plan.tables, finishes={**plan.tables.finishes, order.surface.finish: replace(finish, coats=finish.coats + 1)}
    )
    poorer = {key: replace(each, yield_pct=each.yield_pct - 5) for key, each in shop.lumber.items()}
    changed = {
        f"lumber-{order.field.dark}": replace(shop, lumber={**shop.lumber, order.field.dark: dearer}),
        "labour": replace(shop, labour=replace(shop.labour, rate_h=shop.labour.rate_h + 1)),
        "waste": replace(shop, price=replace(shop.price, waste_pct=shop.price.waste_pct + 1)),
        "overhead": replace(shop, price=replace(shop.price, overhead_pct=shop.price.overhead_pct + 1)),
        "yield": replace(shop, lumber=poorer),
    }
    for code, other in changed.items():
        assert differs_by(found[code], plan, Plan(order, other, plan.tables)), code
    assert differs_by(found["coat"], plan, Plan(order, shop, coated))


def test_dearer_figures_never_make_a_board_cheaper(moosgrund):
    for code, move in moves(a_plan(moosgrund)).items():
        assert code == "board" or move.asked >= 0, code
    assert moves(a_plan(moosgrund))["board"].asked < 0  # setups are shared


@pytest.mark.slow("random orders")
@given(order=ANY)
def test_lines_add_up_to_what_the_goods_fetch(order):
    price = Plan(order, demo_shops()[order.shop], demo_tables()).price
    lines = lines_of(price)
    assert sum(line.amount for line in lines) == price.unit_net * price.quantity
    assert sum(line.share for line in lines) == pytest.approx(1)
    for listed in (lines, parts_of(lines)):
        assert [line.amount for line in listed] == sorted((line.amount for line in listed), reverse=True)
        assert sum(line.amount for line in listed) == price.unit_net * price.quantity
    assert {part.code for part in parts_of(lines)} <= {"materials", "work", "overhead", "packing", "fees", "margin"}


def test_the_largest_move_comes_first(moosgrund):
    asked = [abs(move.asked) for move in sensitivity(a_plan(moosgrund)).moves]
    assert asked == sorted(asked, reverse=True)


def test_a_change_beyond_the_shops_range_is_left_out_with_its_reason(moosgrund):
    top_mm = moosgrund.ranges.square.high_mm
    plan = a_plan(moosgrund, square_mm=top_mm, columns=2, rows=2, quantity=moosgrund.ranges.quantity)
    found = sensitivity(plan)
    reasons = {each.change.code: each.reason for each in found.left_out}
    assert reasons.keys() == {"square", "board"}
    assert f"{top_mm:g} mm" in reasons["square"]
    assert str(moosgrund.ranges.quantity) in reasons["board"]
    assert not reasons.keys() & moves(plan).keys()


def test_a_day_is_told_where_it_changes_the_price(moosgrund):
    rush = Rush(within_days=10, surcharge_pct=Decimal(20))
    hurried = replace(moosgrund, price=replace(moosgrund.price, rush=rush))
    edge = TODAY + timedelta(days=10)

    def days(wanted_by: date) -> dict[str, Moved]:
        found = moves(a_plan(hurried, wanted_by=wanted_by))
        return {code: move for code, move in found.items() if code.startswith("day-")}

    assert days(edge).keys() == {"day-later"}
    assert days(edge)["day-later"].asked < 0
    assert days(edge + timedelta(days=1)).keys() == {"day-earlier"}
    assert days(edge + timedelta(days=1))["day-earlier"].asked > 0
    assert not days(edge + timedelta(days=5))


def test_without_a_wanted_day_no_day_is_tried(moosgrund):
    assert not [code for code in moves(a_plan(moosgrund)) if code.startswith("day-")]


def test_the_request_of_an_order_names_everything(moosgrund):
    request = request_of(complete(a_request(moosgrund), shop=moosgrund, tables=demo_tables(), today=TODAY))
    assert request.finish is not None
    assert request.channel is not None
