"""Plans made from earlier plans: what is taken over is what would be computed, and only what changes is computed."""

import dataclasses
from datetime import timedelta
from functools import cached_property

import pytest
from builders import (
    TODAY,
    WOODS,
    a_frame,
    a_request,
    an_order,
    any_requests,
    demo_shops,
    demo_tables,
    reordered,
    requests,
)
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.memory import REMEMBERED, TRIED, Memory, plainly
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import Climate, Hold, Joint, Line, Order, Pattern, Units
from chequerwork.domain.order.request import (
    BaseRequest,
    ClimateRequest,
    CornersRequest,
    OrderRequest,
    SandingRequest,
)
from chequerwork.domain.plan import Plan
from chequerwork.domain.wood.movement import Year

ASKED = [field.name for field in dataclasses.fields(OrderRequest)]
PARTS = [name for name, value in vars(Plan).items() if isinstance(value, cached_property)]
# The solver takes its time, and its parts read what the others read.
QUICK = [part for part in PARTS if part not in ("stock", "from_stock")]
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
    """A shop, and two requests crossed with one another in some ways."""
    fields = st.lists(st.sets(st.sampled_from(ASKED)), min_size=2, max_size=5)
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


def completed(request, shop, made=plainly):
    return complete(request, shop=shop, tables=TABLES, today=TODAY, made=made)


# Plans ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shop_id", sorted(WOODS))
def test_every_part_of_a_plan_is_made_through_the_one_seam(shop_id):
    shop, results = demo_shops()[shop_id], []
    sheet = shop.sheets[0]
    base = BaseRequest(material=sheet.material, thickness_mm=sheet.thickness_mm, inset_mm=20.0)

    def made(make, /, *parts, **named):
        results.append(make(*parts, **named))
        return results[-1]

    plan = Plan(an_order(shop, frame=a_frame(shop), base=base), shop, TABLES, made)
    for part in PARTS:
        found = getattr(plan, part)
        assert any(found is result for result in results), part


@given(some_shop.flatmap(lambda shop: crossings(shop, requests(shop, TABLES))), st.permutations(QUICK))
@FEW
def test_a_plan_made_from_others_is_the_plan(drawn, parts):
    """Orders that agree in some fields, crossed with one another: the memory is used in every way."""
    shop, crossed = drawn
    made = Memory().made
    orders = [told(lambda request=request: completed(request, shop, made)) for request in crossed]
    orders = [order for order in orders if isinstance(order, Order)]
    assume(len(orders) > 1)
    for order in orders:
        shared, fresh = Plan(order, shop, TABLES, made), Plan(order, shop, TABLES)
        for part in parts:
            if part != "remedies":  # takes as long as all others, and reads every field
                assert shown(shared, part) == shown(fresh, part), part
        assert told(shared.advice) == told(fresh.advice)


DATES = {"schedule", "slack", "job"}
WORK = {"batch", "ready", *DATES}
SOLD = {"price", "risk"}
SENT = {"packing", "transit", "packing_list", "compliance", *SOLD}
CUT = {"cutting", "bonds", "glue_ups", "adhesive_g", "pieces"}
MADE = {"finishing", "materials", "hours", *(WORK - {"batch"}), *SOLD}
LAID_OUT = {"geometry", *CUT, *MADE, *SENT}
HELD = {"accuracy", "movement", "balance"}


@pytest.mark.parametrize(
    ("change", "anew"),
    [
        ({"square_mm": 49.0}, {"swing", *LAID_OUT, *HELD}),
        ({"light": "pear"}, {"swing", *LAID_OUT, *HELD}),
        ({"pattern": Pattern.SHIFT}, {"swing", *LAID_OUT, *HELD}),
        ({"lines": (Line(species="wenge", width_mm=2.0),)}, {"swing", *LAID_OUT, *HELD, "batch"}),
        ({"frame": a_frame(hold=Hold.GLUED, joint=Joint.BUTT)}, {*LAID_OUT, *HELD, "batch"}),
        ({"feet": 5}, {*LAID_OUT, "batch"}),
        ({"game": "draughts-8"}, LAID_OUT),
        ({"finish": "hardwax_oil"}, {*MADE, "batch", "compliance"}),
        ({"sanding": SandingRequest(top="P240")}, {*MADE, "batch"}),
        ({"climate": ClimateRequest(low_rh_pct=30.0)}, {"year", "swing", "movement", "balance", "transit"}),
        ({"corners": CornersRequest(within_mm=0.2)}, {"accuracy", "movement"}),
        ({"quantity": 3}, {"materials", "hours", "pieces", *WORK, *SENT}),
        ({"ship_to": "DE"}, SENT),
        ({"channel": "market_fair"}, SOLD),
        ({"currency": "CHF"}, SOLD),
        ({"issued_on": TODAY - timedelta(days=1)}, {"compliance", "job", "valid_until", *SOLD}),
        ({"starts_on": TODAY + timedelta(days=30)}, WORK),
        ({"wanted_by": TODAY + timedelta(days=90)}, {*DATES, *SOLD}),
        ({"units": Units.IMPERIAL}, SENT - {"compliance"}),
    ],
    ids=lambda given: next(iter(given)) if isinstance(given, dict) else "",
)
def test_a_change_makes_anew_what_reads_it_and_nothing_else(moosgrund, change, anew):
    """Remedies alone look at the whole order. A glued frame, so that the seat depends on nothing but it."""
    made, sheet = Memory().made, moosgrund.sheets[0]
    base = BaseRequest(material=sheet.material, thickness_mm=sheet.thickness_mm, inset_mm=50.0)
    frame = a_frame(hold=Hold.GLUED)
    request = a_request(moosgrund, frame=frame, base=base, feet=4, game="chess", finish="shellac_2lb", starts_on=TODAY)
    one, other = (
        Plan(completed(each, moosgrund, made), moosgrund, TABLES, made)
        for each in (request, dataclasses.replace(request, **change))
    )
    found = {part for part in QUICK if getattr(one, part) is not getattr(other, part)}
    assert found == {*anew, "remedies"}


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
    made = Memory().made
    order = an_order(moosgrund, channel="own_site")
    one, other = (Plan(each, moosgrund, tables, made) for each in (order, reordered(order, **change)))
    assert all(getattr(one, part) is getattr(other, part) for part in kept)
    assert all(getattr(one, part) is not getattr(other, part) for part in made_anew)


def test_what_was_asked_for_long_ago_is_forgotten(moosgrund, tables):
    made = Memory(most=4).made
    order = an_order(moosgrund)

    def price(order):
        return Plan(order, moosgrund, tables, made).price

    first = price(order)
    for quantity in range(2, 5):
        assert price(reordered(order, quantity=quantity)).quantity == quantity
    assert price(order) is first
    for quantity in range(6, 11):
        assert price(reordered(order, quantity=quantity)).quantity == quantity
    assert price(order) is not first
    assert price(order) == first


def test_memory_is_bounded_for_a_long_table(moosgrund, tables):
    """Every row is asked for twice, so that none of its parts is left alone."""
    memory = Memory()
    line = Line(species="wenge", width_mm=2.0)
    for tenth in range(3 * REMEMBERED):
        request = a_request(moosgrund, square_mm=40.0 + tenth / 100, lines=(line,))
        for _ in range(2):
            order = completed(request, moosgrund, memory.made)
            assert Plan(order, moosgrund, tables, memory.made).geometry.square_mm == request.square_mm
    assert max(len(results) for results in memory._kept.values()) == REMEMBERED


def test_equal_climates_share_their_year(moosgrund, tables):
    made = Memory().made
    order = an_order(moosgrund)
    other = reordered(order, square_mm=50.0, climate=Climate(**dataclasses.asdict(order.climate)))
    assert Plan(order, moosgrund, tables, made).year is Plan(other, moosgrund, tables, made).year


# The memory -----------------------------------------------------------------------------------------------------------


class Part:
    """Something that is equal to every other one: only which one it is tells them apart."""

    def __eq__(self, other):
        return isinstance(other, Part)

    __hash__ = None


def pair(*parts, **named):
    return [*parts, *named.values()]


def test_values_are_told_apart_by_what_they_are_and_parts_by_which_they_are():
    made, one, other = Memory().made, Part(), Part()
    first = made(pair, one, 1000, "some text", TODAY, None, few=2)
    assert made(pair, one, int("1000"), "".join(["some ", "text"]), TODAY + timedelta(0), None, few=2) is first
    assert made(pair, other, 1000, "some text", TODAY, None, few=2) is not first
    assert made(pair, one, 1001, "some text", TODAY, None, few=2) is not first
    assert made(pair, one, 1000, "some text", TODAY, None, few=3) is not first


def test_a_part_that_is_gone_is_taken_for_no_other():
    """Its place in memory may be another one's the next moment, so what is known keeps its parts."""
    memory = Memory()
    for number in range(TRIED - 1):
        assert memory.made(pair, Part(), number)[1] == number
    kept = [part for results in memory._kept.values() for _, given in results.values() for part in given]
    assert len({id(part) for part in kept if isinstance(part, Part)}) == TRIED - 1


def test_a_function_whose_results_nobody_asks_for_again_is_left_alone_longer_each_time():
    memory, parts = Memory(most=1000), [Part() for _ in range(600)]
    for part in parts:
        assert memory.made(pair, part)[0] is part
    assert len(memory._kept[pair]) < 0.1 * len(parts)


def test_a_function_that_was_left_alone_is_tried_again():
    memory, parts = Memory(), [Part() for _ in range(60)]
    for part in parts:
        memory.made(pair, part)
    again = [memory.made(pair, parts[0]) for _ in range(100)]
    assert again[-1] is again[-2]


# Orders ---------------------------------------------------------------------------------------------------------------


@given(some_shop.flatmap(lambda shop: crossings(shop, requests(shop, TABLES) | any_requests(shop, TABLES))))
@MANY
def test_an_order_made_from_others_is_the_order_completed_whole(drawn):
    shop, crossed = drawn
    made = Memory().made
    for request in crossed:
        whole = told(lambda request=request: completed(request, shop))
        assert repr(told(lambda request=request: completed(request, shop, made))) == repr(whole)


def test_faults_are_all_told_whatever_was_asked_before(moosgrund):
    made = Memory().made
    completed(a_request(moosgrund), moosgrund, made)
    wrong = a_request(moosgrund, square_mm=900.0, finish="moonshine", channel="bazaar", ship_to="ZZ")
    with pytest.raises(Refused) as refused:
        completed(wrong, moosgrund, made)
    assert {fault.at[0] for fault in refused.value.faults} == {"square", "finish", "channel", "ship_to"}


def test_a_floating_field_is_checked_with_its_seat(moosgrund):
    """A fault that is only looked for when there is no other one."""
    made = Memory().made
    completed(a_request(moosgrund), moosgrund, made)
    frame = a_frame(moosgrund, hold=Hold.FLOATING, width_mm=15.0)
    narrow = a_request(moosgrund, columns=12, frame=frame, square_mm=60.0)
    whole = told(lambda: completed(narrow, moosgrund))
    assert told(lambda: completed(narrow, moosgrund, made)) == whole
