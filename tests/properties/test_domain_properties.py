"""What holds for every board: of random orders that the demo shops can make, and of random wishes that they may not."""

import dataclasses
import itertools
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, timedelta
from decimal import Decimal

import pytest
from builders import TODAY, altered, any_requests, as_body, demo_shops, demo_tables, orders, reordered, requests
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from schedule_builders import steps_of

from chequerwork.api.schemas import read_order
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.board.accuracy import bevel_gap_mm, mismatch_sigma_mm, mismatch_worst_mm
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.law.listings import Papers, route_of
from chequerwork.domain.making.cutting import Role
from chequerwork.domain.order.order import Pattern
from chequerwork.domain.plan import Plan
from chequerwork.domain.wood.movement import change_mm

pytestmark = pytest.mark.slow("random orders")

TABLES = demo_tables()
PARTS = (
    "geometry", "accuracy", "cutting", "materials", "movement", "finishing", "hours", "schedule", "packing",
    "compliance", "price",
)  # fmt: skip
# Derandomised: the same boards on every machine. Refused orders are drawn again, hence no complaint about filters.
FEW = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
MORE = settings(FEW, max_examples=150)

shops = st.sampled_from(list(demo_shops().values()))
plans = shops.flatmap(lambda shop: orders(shop, TABLES).map(lambda order: Plan(order, shop, TABLES)))
any_asked = shops.flatmap(lambda shop: st.tuples(st.just(shop), requests(shop, TABLES) | any_requests(shop, TABLES)))
species = st.sampled_from(list(TABLES.species.values()))


def order_or_faults(wish, shop):
    """The order and no faults, or no order and its faults."""
    try:
        return complete(wish, shop=shop, tables=TABLES, today=TODAY), ()
    except Refused as refused:
        return None, refused.faults


def part_or_refusal(plan, part):
    """A part of the plan; a parcel too heavy for its zone is an answer as well."""
    try:
        return getattr(plan, part)
    except Refused as refused:
        return refused.faults


def priced(plan):
    """The price; a board that no parcel of the shop carries is drawn again."""
    try:
        return plan.price
    except Refused:
        assume(condition=False)
        raise


def numbers(thing, path="") -> Iterator[tuple[str, float | Decimal]]:
    """Every number in a tree of records, with where it stands."""
    if isinstance(thing, int | float | Decimal) and not isinstance(thing, bool):
        yield path, thing
    elif dataclasses.is_dataclass(thing):
        for field in dataclasses.fields(thing):
            yield from numbers(getattr(thing, field.name), f"{path}.{field.name}")
    elif hasattr(thing, "_fields"):
        for name in thing._fields:
            yield from numbers(getattr(thing, name), f"{path}.{name}")
    elif isinstance(thing, tuple):
        for index, each in enumerate(thing):
            yield from numbers(each, f"{path}[{index}]")


# Every wish, every plan -----------------------------------------------------------------------------------------------


@MORE
@given(any_asked)
def test_a_wish_becomes_an_order_or_is_refused_with_reasons(asked):
    """Nothing else comes out, whatever is asked: no other error, no empty refusal."""
    shop, wish = asked
    order, faults = order_or_faults(wish, shop)
    assert (order is None) == bool(faults)
    for fault in faults:
        assert fault.at
        assert fault.detail.endswith((".", "?"))
    for part in PARTS if order else ():
        part_or_refusal(Plan(order, shop, TABLES), part)


@FEW
@given(plans)
def test_numbers_are_finite_and_not_negative(plan):
    for part in PARTS:
        for path, number in numbers(part_or_refusal(plan, part), part):
            assert math.isfinite(number), path
            signed = path == "schedule.dates.spare_days" or path.startswith(
                ("movement.season.strips", "movement.rail.strain")
            )
            assert number >= 0 or signed, (path, number)


@FEW
@given(plans)
def test_the_same_order_gives_the_same_plan_twice(plan):
    again = Plan(plan.order, plan.shop, plan.tables)
    for part in PARTS:
        assert part_or_refusal(plan, part) == part_or_refusal(again, part)


@FEW
@given(plans)
def test_each_notice_is_shown_once_and_a_customer_is_spared_a_wall_of_them(plan):
    """Curing, rest, place, toy, gloss, parts, and what a border brings; two more for each listed timber."""
    found = plan.compliance
    general = [each.code for each in found.notices if not each.code.startswith("cites")]
    assert len(general) == len(set(general))
    for_all = [each for each in found.notices if each.audience is Audience.ALL]
    assert len(for_all) <= 8 + 2 * len(found.listed)
    assert all(each.text.count("This is a prompt, not advice.") == 1 for each in found.notices)
    for timber in found.listed:
        assert 0 < timber.each_kg <= timber.weighed_each_kg <= plan.geometry.mass_kg
        if not route_of(plan.order.sale.ship_to, plan.shop, TABLES).abroad:
            assert timber.papers is Papers.NONE


@FEW
@given(shops.flatmap(lambda shop: st.tuples(st.just(shop), requests(shop, TABLES))))
def test_a_request_written_as_a_body_is_read_as_the_same_request(asked):
    """So the random requests of this file may be sent over the interface as well."""
    shop, request = asked
    reading = read_order(as_body(request, shop=shop.id))
    assert (reading.shop, reading.request, reading.faults) == (shop.id, request, ())


# The board ------------------------------------------------------------------------------------------------------------


@FEW
@given(plans)
def test_every_square_is_covered_once_and_no_neighbours_are_alike(plan):
    """Build the field as the maker does: strips in turn, bars cut across, every second one turned or moved by one."""
    order = plan.order
    total = sum(strip.count for strip in plan.cutting.strips)
    bar = [order.field.light, order.field.dark] * (total // 2) + [order.field.light] * (total % 2)
    assert Counter(bar) == sum((Counter({s.species: s.count}) for s in plan.cutting.strips), Counter())
    if order.field.pattern is Pattern.TURN:
        rows = [bar if row % 2 == 0 else bar[::-1] for row in range(order.field.rows)]
    else:
        rows = [bar[row % 2 :][: order.field.columns] for row in range(order.field.rows)]
    assert {len(row) for row in rows} == {order.field.columns}
    for row, column in itertools.product(range(order.field.rows), range(order.field.columns)):
        assert rows[row][column] == (order.field.light if (row + column) % 2 == 0 else order.field.dark)
    counted = Counter(itertools.chain.from_iterable(rows))
    assert counted[order.field.light] == plan.geometry.light_squares
    assert counted[order.field.dark] == plan.geometry.dark_squares
    assert plan.geometry.light_squares + plan.geometry.dark_squares == order.field.rows * order.field.columns


@FEW
@given(plans)
def test_borders_only_grow_outwards_and_by_the_same_on_all_sides(plan):
    """But for a lip, which laps over what lies inside it."""
    geometry = plan.geometry
    rings = (geometry.field, geometry.inner, geometry.opening, geometry.overall)
    for inner, outer in itertools.pairwise(rings):
        along, across = outer.length_mm - inner.length_mm, outer.width_mm - inner.width_mm
        assert along == pytest.approx(across, abs=1e-9)
        lap_mm = geometry.seat.lap_mm if outer is geometry.opening else 0.0
        assert along >= -2 * lap_mm - 1e-9


@FEW
@given(plans)
def test_swapping_light_and_dark_changes_neither_size_nor_mass(plan):
    order = plan.order
    assume(order.field.columns * order.field.rows % 2 == 0)
    grains = {"light_grain": order.field.dark_grain, "dark_grain": order.field.light_grain}
    swapped = Plan(reordered(order, light=order.field.dark, dark=order.field.light, **grains), plan.shop, TABLES)
    assert swapped.geometry.overall == plan.geometry.overall
    assert swapped.geometry.mass_kg == pytest.approx(plan.geometry.mass_kg)


@FEW
@given(plans)
def test_the_order_of_the_lines_changes_neither_size_nor_movement(plan):
    order = plan.order
    turned = Plan(reordered(order, lines=order.field.lines[::-1]), plan.shop, TABLES)
    assert turned.geometry.overall.width_mm == pytest.approx(plan.geometry.overall.width_mm)
    assert turned.swing.shrink_mm == pytest.approx(plan.swing.shrink_mm)
    assert turned.swing.swell_mm == pytest.approx(plan.swing.swell_mm)


# Wood -----------------------------------------------------------------------------------------------------------------


@FEW
@given(plans)
def test_net_lumber_is_the_volume_of_the_parts_and_gross_is_more(plan):
    net_mm3, rough_mm3 = Counter(), Counter()
    for part in plan.cutting.parts:
        if part.role is not Role.BASE:
            net_mm3[part.species] += part.count * math.prod(part.final)
            rough_mm3[part.species] += part.count * math.prod(part.rough)
    assert {timber.species for timber in plan.materials.timber} == set(net_mm3)
    for timber in plan.materials.timber:
        to_order = plan.order.sale.quantity * 1e-9
        assert timber.net_m3 == pytest.approx(net_mm3[timber.species] * to_order)
        assert timber.net_m3 < timber.gross_m3
        # What is bought holds every rough part and, in length and width, a kerf to each.
        assert timber.gross_m3 >= rough_mm3[timber.species] * to_order


@FEW
@given(plans)
def test_strips_hold_every_bar_and_kerf(plan):
    crosscuts, machines = plan.cutting.crosscuts, plan.shop.machines
    bars_mm = (crosscuts.count - 2) * crosscuts.width_mm + 2 * crosscuts.end_width_mm
    spares_mm = crosscuts.spare_bars * crosscuts.end_width_mm  # each may have to stand in for an end bar
    used_mm = bars_mm + spares_mm + crosscuts.cuts * crosscuts.kerf_mm + machines.squaring_mm + machines.end_trim_mm
    assert crosscuts.length_needed_mm == pytest.approx(used_mm)
    assert crosscuts.spare_mm >= -1e-9
    assert {strip.length_mm for strip in plan.cutting.strips} == {crosscuts.length_allowed_mm}


@FEW
@given(plans)
def test_bars_cut_from_the_panel_make_the_field_with_its_tongue(plan):
    """Along: rows of squares and two tongues. Across: all strips, less a square where they are shifted."""
    order, cutting = plan.order, plan.cutting
    tongue_mm = 0.0 if order.field.lines else plan.geometry.seat.added_mm
    assert cutting.panel.width_mm - cutting.overhang_mm == pytest.approx(order.field.width_mm + 2 * tongue_mm)
    dressed_mm = (order.field.rows - 2) * (cutting.crosscuts.width_mm - plan.shop.machines.dressing_mm)
    ends_mm = 2 * (cutting.crosscuts.end_width_mm - plan.shop.machines.dressing_mm)
    assert dressed_mm + ends_mm == pytest.approx(order.field.length_mm + 2 * tongue_mm)


# Seasons --------------------------------------------------------------------------------------------------------------


@FEW
@given(plans)
def test_without_a_change_of_moisture_nothing_moves(plan):
    room = plan.shop.workshop_climate
    steady = (room.low_rh_pct + room.high_rh_pct) / 2
    climate = replace(room, low_rh_pct=steady, high_rh_pct=steady)
    movement = Plan(replace(plan.order, climate=climate), plan.shop, TABLES).movement
    gap_mm = movement.rail.gap_mm if movement.rail else 0
    assert (movement.season.shrink_mm, movement.season.swell_mm, gap_mm) == (0, 0, 0)
    assert movement.flatness.bow_mm == pytest.approx(0, abs=1e-12)


@FEW
@given(plans)
def test_a_wider_swing_of_the_seasons_never_calms_a_board(plan):
    climate = plan.order.climate
    wilder = replace(
        climate, low_rh_pct=max(5.0, climate.low_rh_pct - 5), high_rh_pct=min(95.0, climate.high_rh_pct + 5)
    )
    calm, wild = plan.movement, Plan(replace(plan.order, climate=wilder), plan.shop, TABLES).movement
    assert wild.season.shrink_mm >= calm.season.shrink_mm - 1e-9
    assert wild.season.swell_mm >= calm.season.swell_mm - 1e-9
    assert wild.seat.clearance_mm >= calm.seat.clearance_mm - 1e-9
    if calm.rail and wild.rail:
        assert wild.rail.gap_mm >= calm.rail.gap_mm - 1e-9


moistures = st.floats(0, 30)


@MORE
@given(species, st.sampled_from(Grain), st.floats(1, 1000), moistures, moistures)
def test_swapping_from_and_to_flips_the_sign_to_first_order(timber, grain, width_mm, from_pct, to_pct):
    there = change_mm(width_mm=width_mm, species=timber, grain=grain, from_pct=from_pct, to_pct=to_pct)
    back = change_mm(width_mm=width_mm, species=timber, grain=grain, from_pct=to_pct, to_pct=from_pct)
    assert there * back <= 0
    assert there + back == pytest.approx(0, abs=max(2 * there**2, 2 * back**2) / width_mm + 1e-9)
    assert (there > 0) == (to_pct > from_pct) or there == 0


@MORE
@given(species, st.sampled_from(Grain), moistures, st.tuples(moistures, moistures).map(sorted))
def test_change_is_monotone_in_moisture(timber, grain, start, ends):
    lower, higher = ends
    given_form = {"width_mm": 100.0, "species": timber, "grain": grain, "from_pct": start}
    assert change_mm(to_pct=lower, **given_form) <= change_mm(to_pct=higher, **given_form) + 1e-12


# Accuracy -------------------------------------------------------------------------------------------------------------


@FEW
@given(st.sampled_from(Pattern), st.integers(2, 24), st.floats(0.01, 1), st.floats(1, 3))
def test_a_poorer_tolerance_or_a_wider_board_is_never_more_accurate(pattern, columns, tolerance_mm, factor):
    for error in (mismatch_worst_mm, mismatch_sigma_mm):
        assert error(pattern, columns, tolerance_mm * factor) >= error(pattern, columns, tolerance_mm)
        assert error(pattern, columns + 2, tolerance_mm) >= error(pattern, columns, tolerance_mm)
    assert bevel_gap_mm(10 * factor, 0.1) >= bevel_gap_mm(10, 0.1)


@FEW
@given(plans)
def test_two_sigmas_never_exceed_the_worst_case(plan):
    accuracy = plan.accuracy
    assert 2 * accuracy.mismatch_sigma_mm <= accuracy.mismatch_worst_mm + 1e-12


# Time -----------------------------------------------------------------------------------------------------------------


@FEW
@given(plans)
def test_hands_do_one_thing_at_a_time_and_nothing_begins_before_what_it_waits_for_has_cured(plan):
    schedule = plan.schedule
    steps = {step.code: step for step in steps_of(schedule)}
    for step in steps_of(schedule):
        for code in step.after:
            cured = steps[code].ends_at.astimezone(UTC) + timedelta(minutes=steps[code].waiting_min)
            assert step.starts_at.astimezone(UTC) >= cured
    hands = [step for step in steps_of(schedule) if step.hands_on_min]
    for before, after in itertools.pairwise(hands):
        assert after.starts_at.astimezone(UTC) >= before.ends_at.astimezone(UTC)
    assert all(step.starts_at <= step.ends_at for step in steps_of(schedule))
    assert plan.order.dates.starts_on <= schedule.dates.starts_on <= schedule.dates.ready_on <= schedule.dates.ships_on
    assert schedule.dates.ships_on.weekday() in plan.shop.calendar.ship_weekdays


@FEW
@given(plans)
def test_hands_begin_and_end_in_working_hours(plan):
    calendar = plan.shop.calendar
    for step in steps_of(plan.schedule):
        for moment, edge in ((step.starts_at, 0), (step.ends_at, 1)):
            clock = moment.hour * 60 + moment.minute
            assert any(opens <= clock - edge < closes for opens, closes in calendar.windows[moment.weekday()])
            assert moment.date() not in calendar.holidays


# Money ----------------------------------------------------------------------------------------------------------------


@FEW
@given(plans)
def test_total_is_the_sum_of_what_is_shown(plan):
    price = priced(plan)
    assert price.total == price.quantity * price.unit_net + price.shipping + price.tax
    assert price.total == price.quantity * price.unit_gross + price.shipping_gross
    assert price.cost_total == sum(cost.amount for cost in price.costs)


@FEW
@given(plans)
def test_the_floor_holds_and_the_margin_is_kept(plan):
    price = priced(plan)
    goods = price.quantity * price.unit_net
    assert goods >= price.floor_total
    assert price.margin_total >= plan.shop.price.margin_pct / 100 * goods


@FEW
@given(plans, st.integers(1, 10))
def test_more_boards_never_make_one_dearer_in_cost(plan, more):
    """Setup is shared and nothing else grows by the board; each cost line is rounded once, to a cent."""
    price = priced(plan)
    order = reordered(plan.order, quantity=plan.order.sale.quantity + more)
    larger = Plan(order, plan.shop, TABLES).price
    rounding = Decimal("0.005") * len(price.costs)
    slack = rounding / price.quantity + rounding / larger.quantity
    # Waste and overhead are of amounts that are rounded before, which may carry a cent on.
    assert larger.cost_total / larger.quantity <= price.cost_total / price.quantity + 2 * slack


DEARER = [
    {"labour": {"rate_h": Decimal("55.00")}},
    {"labour": {"pace": 2.0}},
    {"price": {"overhead_pct": Decimal(60)}},
    {"price": {"waste_pct": Decimal(40)}},
    {"consumables": {"adhesive_price_kg": Decimal(90)}},
    {"consumables": {"abrasive_price_m2": Decimal(90)}},
    {"consumables": {"abrasive_use": 0.9}},
    {"consumables": {"adhesive_waste_pct": 150.0}},
    {"consumables": {"finish_waste_pct": 150.0}},
    {"consumables": {"foot_price": Decimal(9)}},
    {"consumables": {"label_price": Decimal(9)}},
    {"packing": {"carton_price_m2": Decimal(30)}},
    {"packing": {"cushion_price_m3": Decimal(900)}},
    {"machines": {"kerf_rip_mm": 4.5}},
    {"machines": {"kerf_crosscut_mm": 4.5}},
    {"machines": {"spare_bars": 4}},
]


@FEW
@given(plans, st.sampled_from(DEARER))
def test_a_dearer_setting_never_lowers_cost_floor_or_price(plan, changes):
    price = priced(plan)
    dearer = Plan(plan.order, altered(plan.shop, **changes), TABLES).price
    assert dearer.cost_total >= price.cost_total
    assert dearer.floor_total >= price.floor_total
    assert dearer.unit_net >= price.unit_net
    assert dearer.total >= price.total


@FEW
@given(plans)
def test_dearer_lumber_never_lowers_the_price(plan):
    price = priced(plan)
    lumber = {key: replace(each, price_m3=each.price_m3 * 2) for key, each in plan.shop.lumber.items()}
    dearer = Plan(plan.order, replace(plan.shop, lumber=lumber), TABLES).price
    assert dearer.cost_total > price.cost_total
    assert dearer.total >= price.total
