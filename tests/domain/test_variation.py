"""Plans made from earlier plans: what each part reads is declared, and what is taken over is what would be computed."""

import dataclasses
from datetime import timedelta
from functools import cached_property

import pytest
from builders import (
    TODAY,
    WOODS,
    a_frame,
    a_wish,
    an_order,
    any_wishes,
    demo_shops,
    demo_tables,
    orders,
    watched,
    wishes,
)
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import Base, Climate, Hold, Line, Order, Wish
from chequerwork.domain.plan import Plan
from chequerwork.domain.variation import READS, REMEMBERED, TOGETHER, Orders, Variants, fields_of
from chequerwork.domain.wood.movement import Year

FIELDS = frozenset(field.name for field in dataclasses.fields(Order))
WISHED = [field.name for field in dataclasses.fields(Wish)]
# A stock plan takes a tenth of a second; two orders say what it reads.
QUICK = [part for part in READS if part not in ("stock", "from_stock")]
TABLES = demo_tables()
some_shop = st.sampled_from(list(demo_shops().values()))
FEW = settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)
MANY = settings(FEW, max_examples=60)


def crossings(shop, strategy):
    """A shop, and two wishes crossed with one another in some ways."""
    fields = st.lists(st.sets(st.sampled_from(WISHED)), min_size=2, max_size=5)
    return st.tuples(st.just(shop), st.tuples(strategy, strategy, fields).map(_crossed))


def _crossed(drawn):
    one, other, crossings = drawn
    return [dataclasses.replace(one, **{name: getattr(other, name) for name in names}) for names in crossings]


def shown(plan, part):
    """A part to the last digit, or its refusal; a year is an object, seen through what it says."""
    found = told(lambda: getattr(plan, part))
    return repr((found.air, found.moisture) if isinstance(found, Year) else found)


def told(ask):
    """What comes of asking: the order, or the faults."""
    try:
        return ask()
    except Refused as refused:
        return refused.faults


def what_is_read(order, shop, part):
    """The fields that a part reads by itself, and the parts that it uses."""
    read = set()
    plain, plan = Plan(order, shop, TABLES), Plan(watched(order, read), shop, TABLES)
    told(lambda: getattr(plan, part))
    used = (plan.__dict__.keys() & READS.keys()) - {part}
    alone = Plan(plan.order, shop, TABLES)
    alone.__dict__.update({other: getattr(plain, other) for other in used})
    read.clear()
    told(lambda: getattr(alone, part))
    return read, used


def parts_below(part):
    """Every part that a part uses, by itself or through others."""
    return set(READS[part].parts).union(*(parts_below(other) for other in READS[part].parts))


def assert_declared(order, shop, part):
    read, used = what_is_read(order, shop, part)
    unsaid = read - set(READS[part].fields)
    assert not unsaid, f"{part} reads {sorted(unsaid)} of the order: add it to READS in domain/variation.py"
    unsaid = used - parts_below(part)
    assert not unsaid, f"{part} uses {sorted(unsaid)}: add it to the parts in READS in domain/variation.py"


def test_every_part_of_a_plan_says_what_it_reads():
    parts = [name for name, value in vars(Plan).items() if isinstance(value, cached_property)]
    assert parts == list(READS), "READS in domain/variation.py lists the parts of a plan in the same order"


def test_only_fields_of_an_order_are_named():
    assert {name for reads in READS.values() for name in reads.fields} <= FIELDS


def test_a_part_depends_on_what_the_parts_it_uses_depend_on():
    for part, reads in READS.items():
        for other in reads.parts:
            assert set(fields_of(other)) <= set(fields_of(part)), (part, other)


@pytest.mark.slow("random orders")
@given(some_shop.flatmap(lambda shop: st.tuples(st.just(shop), orders(shop, TABLES))))
@MANY
def test_a_part_reads_no_more_than_it_says(drawn):
    shop, order = drawn
    for part in QUICK:
        assert_declared(order, shop, part)


@pytest.mark.parametrize("shop_id", sorted(WOODS))
@pytest.mark.parametrize("part", ["stock", "from_stock"])
def test_a_stock_plan_reads_no_more_than_it_says(shop_id, part):
    shop = demo_shops()[shop_id]
    sheet = shop.sheets[0]
    base = Base(material=sheet.material, thickness_mm=sheet.thickness_mm, inset_mm=20.0)
    assert_declared(an_order(shop, frame=a_frame(shop), base=base), shop, part)


@pytest.mark.slow("random orders")
@given(some_shop.flatmap(lambda shop: crossings(shop, wishes(shop, TABLES))), st.permutations(QUICK))
@FEW
def test_a_plan_made_from_others_is_the_plan(drawn, parts):
    """Orders that agree in some fields, crossed with one another: the memory is used in every way."""
    shop, crossed = drawn
    variants = Variants(shop, TABLES)
    told_orders = [told(lambda wish=wish: complete(wish, shop=shop, tables=TABLES, today=TODAY)) for wish in crossed]
    made_orders = [order for order in told_orders if isinstance(order, Order)]
    assume(len(made_orders) > 1)
    for order in made_orders:
        made, fresh = variants.plan(order), Plan(order, shop, TABLES)
        for part in parts:
            if part != "remedies":  # takes as long as all others, and reads every field
                assert shown(made, part) == shown(fresh, part), part
        assert told(made.advice) == told(fresh.advice)


@pytest.mark.parametrize(
    ("change", "kept", "made_anew"),
    [
        ({"channel": "market_fair"}, ("geometry", "materials", "hours", "packing", "schedule"), ("price",)),
        ({"quantity": 5}, ("geometry", "cutting", "finishing"), ("materials", "hours", "price")),
        ({"wanted_by": TODAY + timedelta(days=90)}, ("materials", "packing", "hours"), ("schedule", "price")),
        ({"square_mm": 50.0}, ("year",), ("geometry", "price")),
    ],
)
def test_only_what_changes_is_computed_again(moosgrund, tables, change, kept, made_anew):
    variants = Variants(moosgrund, tables)
    order = an_order(moosgrund, channel="own_site")
    one, other = variants.plan(order), variants.plan(dataclasses.replace(order, **change))
    assert all(getattr(one, part) is getattr(other, part) for part in kept)
    assert all(getattr(one, part) is not getattr(other, part) for part in made_anew)


def test_what_was_asked_for_long_ago_is_forgotten(moosgrund, tables):
    variants = Variants(moosgrund, tables, most=4)
    order = an_order(moosgrund)
    first = variants.plan(order).price
    for quantity in range(2, 5):
        assert variants.plan(dataclasses.replace(order, quantity=quantity)).price.quantity == quantity
    assert variants.plan(order).price is first
    for quantity in range(6, 11):
        assert variants.plan(dataclasses.replace(order, quantity=quantity)).price.quantity == quantity
    assert variants.plan(order).price is not first
    assert variants.plan(order).price == first


# Orders ---------------------------------------------------------------------------------------------------------------


def test_every_field_of_a_wish_and_of_an_order_is_in_one_group():
    asked = [name for together in TOGETHER for name in together.asked]
    made = [name for together in TOGETHER for name in together.made]
    assert sorted(asked) == sorted(WISHED)
    assert sorted([*made, "shop"]) == sorted(FIELDS)


@pytest.mark.slow("random orders")
@given(some_shop.flatmap(lambda shop: crossings(shop, wishes(shop, TABLES) | any_wishes(shop, TABLES))))
@MANY
def test_an_order_made_from_others_is_the_order_completed_whole(drawn):
    shop, crossed = drawn
    asked = Orders(shop, TABLES, TODAY)
    for wish in crossed:
        whole = told(lambda wish=wish: complete(wish, shop=shop, tables=TABLES, today=TODAY))
        assert repr(told(lambda wish=wish: asked.order(wish))) == repr(whole)


def test_faults_are_all_told_whatever_was_asked_before(moosgrund, tables):
    asked = Orders(moosgrund, tables, TODAY)
    asked.order(a_wish(moosgrund))
    with pytest.raises(Refused) as refused:
        asked.order(a_wish(moosgrund, square_mm=900.0, finish="moonshine", channel="bazaar", ship_to="ZZ"))
    assert {fault.at[0] for fault in refused.value.faults} == {"square", "finish", "channel", "ship_to"}


def test_a_floating_field_is_checked_with_its_seat(moosgrund, tables):
    """A fault that is only looked for when there is no other one."""
    asked = Orders(moosgrund, tables, TODAY)
    asked.order(a_wish(moosgrund))
    narrow = a_wish(moosgrund, columns=12, frame=a_frame(moosgrund, hold=Hold.FLOATING, width_mm=15.0), square_mm=60.0)
    whole = told(lambda: complete(narrow, shop=moosgrund, tables=tables, today=TODAY))
    assert told(lambda: asked.order(narrow)) == whole


def test_memory_is_bounded_for_a_long_table(moosgrund, tables):
    asked, variants = Orders(moosgrund, tables, TODAY), Variants(moosgrund, tables)
    line = Line(species="wenge", width_mm=2.0)
    for tenth in range(3 * REMEMBERED):
        wish = a_wish(moosgrund, square_mm=40.0 + tenth / 100, lines=(line,))
        assert variants.plan(asked.order(wish)).geometry.square_mm == wish.square_mm
    kept = [*variants._kept.values(), *asked._kept]
    assert max(len(latest._kept) for latest in kept) == REMEMBERED


def test_equal_climates_share_their_year(moosgrund, tables):
    variants = Variants(moosgrund, tables)
    order = an_order(moosgrund)
    other = dataclasses.replace(order, square_mm=50.0, climate=Climate(**dataclasses.asdict(order.climate)))
    assert variants.plan(order).year is variants.plan(other).year
