"""Every remedy that is offered keeps its promise: of random orders, asked again with the change that was offered.

The change is merged into the request itself, as an integrator would do it, and the answer is read at the pointer that
the remedy names.
"""

from functools import reduce

import pytest
from builders import TODAY, as_body, demo_shops, demo_tables, requests
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from chequerwork.api import views
from chequerwork.api.schemas import order_of, read_order
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.plan import Plan

pytestmark = pytest.mark.slow("random orders, each asked again with its remedy")

TABLES = demo_tables()
MANY = settings(
    max_examples=250,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
shops = st.sampled_from(list(demo_shops().values()))
asked = shops.flatmap(lambda shop: st.tuples(st.just(shop), requests(shop, TABLES)))


def merged(target, patch):
    """JSON Merge Patch, as RFC 7396 writes it."""
    if not isinstance(patch, dict):
        return patch
    target = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            target.pop(name, None)
        else:
            target[name] = merged(target.get(name), value)
    return target


def answered(body, shop):
    """Geometry and movement of a request; refused orders are drawn again by the caller."""
    order = order_of(read_order(body), shop=shop, tables=TABLES, today=TODAY)
    plan = Plan(order, shop, TABLES)
    return {name: views.section(plan, name, workshop=False)[name] for name in ("geometry", "movement")}


def at(tree, pointer):
    return reduce(lambda branch, step: branch[step], pointer.lstrip("/").split("/"), tree)


@MANY
@given(asked)
def test_a_remedy_applied_to_the_request_brings_what_it_promised(pair):
    """The number, the verdict of the whole, and an order that the shop accepts."""
    shop, wish = pair
    body = as_body(wish, shop=shop.id)
    try:
        before = answered(body, shop)
    except Refused:
        assume(condition=False)
        raise
    for remedy in before["movement"]["remedies"]:
        assert at(before, remedy["at"]) == pytest.approx(remedy["now_mm"], abs=5.1e-4), remedy
        after = answered(merged(body, remedy["patch"]), shop)
        assert at(after, remedy["at"]) == pytest.approx(remedy["then_mm"], abs=5.1e-4), remedy
        assert after["movement"]["verdict"] == remedy["verdict"], remedy


def excess(reason):
    """How far a number is beyond its first limit, as a ratio; limits may be the least."""
    over = reason["value_mm"] / reason["watch_mm"]
    return 1 / over if reason["least"] else over


@MANY
@given(asked)
def test_a_remedy_is_never_worse_and_helps_the_reason_it_names(pair):
    order_of_words = ["sound", "watch", "expect damage"]
    shop, wish = pair
    body = as_body(wish, shop=shop.id)
    try:
        before = answered(body, shop)["movement"]
    except Refused:
        assume(condition=False)
        raise
    reasons = {reason["code"]: reason for reason in before["reasons"]}
    for remedy in before["remedies"]:
        assert order_of_words.index(remedy["verdict"]) <= order_of_words.index(before["verdict"])
        left = answered(merged(body, remedy["patch"]), shop)["movement"]["reasons"]
        then = next((reason for reason in left if reason["code"] == remedy["reason"]), None)
        now = reasons[remedy["reason"]]
        assert now["verdict"] != "sound"
        assert then is None or (
            order_of_words.index(then["verdict"]) < order_of_words.index(now["verdict"])
            or excess(then) <= 0.8 * excess(now) + 0.01
        ), remedy
