"""When a crate is advised, and what a long sea leg does."""

from decimal import Decimal

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.order.order import Hold
from chequerwork.domain.wood.movement import Air, Year, change_mm


def codes(plan):
    return [each.code for each in plan.transit.advice]


def crating(shop, **limits):
    return altered(shop, packing={"crate": limits})


@pytest.mark.parametrize(
    ("limits", "crate"),
    [
        ({}, False),
        ({"mass_kg": 1.0}, True),
        ({"mass_kg": 100.0}, False),
        ({"longest_mm": 487.9}, True),
        ({"longest_mm": 488.0}, False),
        ({"worth": Decimal(1)}, True),
        ({"worth": Decimal(100000)}, False),
    ],
)
def test_a_crate_is_advised_above_any_limit_of_the_shop(moosgrund, limits, crate):
    """The parcel is 488 mm long."""
    transit = a_plan(crating(moosgrund, **limits)).transit
    assert transit.crate is crate
    assert all(each.code == "crate" and each.audience is Audience.WORKSHOP for each in transit.advice)


def test_a_crate_is_of_plywood_and_the_rule_for_solid_wood_is_named(moosgrund):
    """ISPM 15: solid wood thicker than 6 mm is treated and marked; plywood is exempt."""
    (found,) = a_plan(crating(moosgrund, mass_kg=1.0)).transit.advice
    assert found.source == "ISPM15"
    assert "plywood" in found.text
    assert "6 mm" in found.text


def test_what_a_board_is_worth_is_told_in_the_shops_currency_to_the_cent(moosgrund):
    """A price in francs is worth an endless number of euros."""
    plan = a_plan(crating(moosgrund, worth=Decimal(100)), currency="CHF")
    (found,) = plan.transit.advice
    euros = (plan.price.unit_net / Decimal("0.9350")).quantize(Decimal("0.01"))
    assert found.text.startswith(f"A parcel of boards worth {euros} EUR is above the shop's 100: ")


def test_a_price_is_worked_out_only_where_the_shop_asks_what_a_board_is_worth(moosgrund):
    plan = a_plan(crating(moosgrund, mass_kg=1.0))
    _ = plan.transit
    assert "price" not in vars(plan)


def test_a_short_way_has_no_damp(willet_slough):
    transit = a_plan(willet_slough).transit
    assert transit.damp is None
    assert transit.advice == ()


def test_containers_hold_wood_at_12_to_15_per_cent(willet_slough):
    """CONTAINER: air-dry timber in containers at 70 to 75 % of relative humidity, that is 12 to 15 % of moisture."""
    damp = a_plan(willet_slough, ship_to="JP").transit.damp
    assert 12.0 <= damp.low_pct < damp.high_pct <= 15.0
    assert damp.build_pct < damp.low_pct


def test_the_field_swells_as_its_timbers_do_in_the_air_of_a_container(willet_slough, tables):
    """Strip by strip: four of each timber side by side, from the workshop's moisture to that of air at 75 %."""
    plan = a_plan(willet_slough, ship_to="JP")
    build = plan.year.air[0]
    there = Year(tables, build, build, Air(build.temperature_c, 75.0)).moisture
    ends = {"from_pct": there.build_pct, "to_pct": there.high_pct}
    each_mm = sum(
        change_mm(width_mm=4 * 48.0, species=tables.species[species], grain=grain, **ends)
        for species, grain in (
            (plan.order.field.light, plan.order.field.light_grain),
            (plan.order.field.dark, plan.order.field.dark_grain),
        )
    )
    assert plan.transit.damp.swell_mm == pytest.approx(each_mm, rel=1e-6)


@pytest.mark.parametrize(("hold", "warned"), [(Hold.GLUED, True), (Hold.FLOATING, True), (None, False)])
def test_a_frame_that_leaves_too_little_room_is_warned_of(willet_slough, hold, warned):
    """An American year indoors asks for less room than a container does; without a frame nothing is in the way."""
    frame = a_frame(willet_slough, hold=hold) if hold else None
    plan = a_plan(willet_slough, ship_to="JP", frame=frame)
    assert ("swells-on-the-way" in codes(plan)) is warned
    damp = plan.transit.damp
    assert damp.room_mm == (None if hold is None else 2 * plan.geometry.seat.clearance_mm)


def test_a_customer_is_told_to_let_the_board_rest_and_no_more(willet_slough):
    plan = a_plan(willet_slough, ship_to="JP")
    told = [each.code for each in plan.transit.advice if each.audience is Audience.ALL]
    assert told == ["rest-after-delivery"]
