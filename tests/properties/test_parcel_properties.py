"""What holds for every parcel: of random sides and masses, carriers of random habits, and boards of every size."""

import math
from decimal import Decimal

import pytest
from builders import a_plan, altered, demo_shops
from hypothesis import given, settings
from hypothesis import strategies as st

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import ShippingService, SizeFee
from chequerwork.domain.parcel.shipping import offer

SHOP = demo_shops()["moosgrund"]
FEW = settings(max_examples=120, deadline=None, derandomize=True)

sides = st.tuples(*[st.floats(20.0, 2000.0)] * 3)
masses = st.floats(0.1, 60.0)
maybe = lambda strategy: st.none() | strategy  # noqa: E731 - a word for what comes below
fees = st.builds(
    SizeFee,
    name=st.just("fee"),
    amount=st.integers(0, 30).map(Decimal),
    above_cm3=maybe(st.floats(1000.0, 500_000.0)),
    above_longest_mm=maybe(st.floats(100.0, 1500.0)),
    above_length_plus_girth_mm=maybe(st.floats(500.0, 4000.0)),
    above_kg=maybe(st.floats(1.0, 40.0)),
)


@st.composite
def services(draw):
    """A carrier whose table climbs to more than any parcel here is billed as."""
    prices = sorted(draw(st.lists(st.integers(1, 90), min_size=3, max_size=3)))
    return ShippingService(
        name="any",
        steps=tuple(zip((5.0, 25.0, 1e6), map(Decimal, prices), strict=True)),
        divisor_cm3_kg=draw(st.sampled_from([4000.0, 5000.0, 6000.0])),
        round_up_kg=draw(st.sampled_from([0.1, 0.45359237, 0.5, 1.0])),
        sides_up_to_mm=draw(st.sampled_from([0.0, 10.0, 25.4])),
        dimensional_above_cm3=draw(st.sampled_from([0.0, 28316.846592, 100_000.0])),
        longest_max_mm=draw(maybe(st.floats(200.0, 2500.0))),
        length_plus_girth_max_mm=draw(maybe(st.floats(1000.0, 8000.0))),
        mass_max_kg=draw(maybe(st.floats(5.0, 70.0))),
        fees=tuple(draw(st.lists(fees, max_size=2))),
    )


def unlimited(service):
    return altered(service, longest_max_mm=None, length_plus_girth_max_mm=None, mass_max_kg=None)


@FEW
@given(services(), sides, masses)
def test_no_parcel_is_billed_below_its_mass_and_its_size(service, sides_mm, mass_kg):
    found = offer(unlimited(service), SHOP.packing, sides_mm, mass_kg)
    assert found.billable_kg >= mass_kg * (1 - 1e-9)
    if found.dimensional_counts:
        assert found.billable_kg >= math.prod(sides_mm) / 1000 / service.divisor_cm3_kg * (1 - 1e-9)
    assert found.billable_kg - service.round_up_kg < max(mass_kg, found.dimensional_kg) * (1 + 1e-9)
    for up_mm, side_mm in zip(found.sides_mm, sides_mm, strict=True):
        assert -1e-6 <= up_mm - side_mm < service.sides_up_to_mm + 1e-6


@FEW
@given(services(), sides, masses, st.tuples(*[st.floats(0.0, 300.0)] * 3), st.floats(0.0, 10.0))
def test_a_larger_or_heavier_parcel_is_never_billed_less_nor_sent_for_less(service, sides_mm, mass_kg, more, heavier):
    larger = tuple(side + extra for side, extra in zip(sides_mm, more, strict=True))
    before, after = (
        offer(unlimited(service), SHOP.packing, box, kg)
        for box, kg in ((sides_mm, mass_kg), (larger, mass_kg + heavier))
    )
    assert after.billable_kg >= before.billable_kg * (1 - 1e-9)
    assert after.price >= before.price
    if offer(service, SHOP.packing, larger, mass_kg + heavier) is not None:
        assert offer(service, SHOP.packing, sides_mm, mass_kg) is not None


@FEW
@given(services(), sides, masses, st.permutations([0, 1, 2]))
def test_it_does_not_matter_which_side_is_called_the_length(service, sides_mm, mass_kg, turn):
    turned = tuple(sides_mm[index] for index in turn)
    before, after = (offer(service, SHOP.packing, box, mass_kg) for box in (sides_mm, turned))
    assert (before is None) == (after is None)
    if before is not None and after is not None:
        assert math.isclose(before.billable_kg, after.billable_kg, rel_tol=1e-9)


def by_hand(service, sides_mm, mass_kg):
    """Price of a service straight from its settings, or None; written apart from the code under test."""
    step = service.sides_up_to_mm
    box = [math.ceil(side / step - 1e-9) * step if step else side for side in sides_mm]
    volume, long = box[0] * box[1] * box[2] / 1000, max(box)
    girth = 2 * sum(box) - long
    billed = max(mass_kg, volume / service.divisor_cm3_kg if volume > service.dimensional_above_cm3 else 0)
    billed = math.ceil(billed / service.round_up_kg - 1e-9) * service.round_up_kg
    limits = ((long, service.longest_max_mm), (girth, service.length_plus_girth_max_mm), (mass_kg, service.mass_max_kg))
    if any(limit is not None and given > limit for given, limit in limits):
        return None
    price = next((price for up_to, price in service.steps if billed <= up_to), None)
    for fee in service.fees if price is not None else ():
        over = ((volume, fee.above_cm3), (long, fee.above_longest_mm), (mass_kg, fee.above_kg))
        over += ((girth, fee.above_length_plus_girth_mm),)
        price += fee.amount if any(limit is not None and given > limit for given, limit in over) else 0
    return price


@FEW
@given(st.lists(services(), min_size=1, max_size=5), st.sampled_from([30.0, 48.0, 57.15]), st.integers(1, 7))
def test_the_cheapest_service_is_the_cheapest_of_all_that_take_the_parcel(offered, square_mm, quantity):
    shop = altered(SHOP, zones=(altered(SHOP.zones[0], services=tuple(offered)), *SHOP.zones[1:]))
    plan = a_plan(shop, square_mm=square_mm, quantity=quantity)
    plain = a_plan(SHOP, square_mm=square_mm).packing.first
    prices = [by_hand(service, plain.sides_mm, plain.mass_kg) for service in offered]
    taken = [price for price in prices if price is not None]
    if not taken:
        with pytest.raises(Refused):
            _ = plan.packing
        return
    found = plan.packing
    assert found.first.carriage.price == min(taken)
    assert found.first.carriage.service == offered[prices.index(min(taken))]
    assert found.postage == quantity * min(taken)


@FEW
@given(st.integers(1, 20), st.integers(1, 12), st.floats(30.0, 57.0))
def test_every_board_is_in_one_parcel_and_a_stack_weighs_what_its_boards_do(quantity, each, square_mm):
    shop = altered(SHOP, packing={"boards_per_parcel": each})
    shop = altered(
        shop, zones=(altered(shop.zones[0], services=(ShippingService(name=None, steps=((1e6, Decimal(1)),)),)),)
    )
    found = a_plan(shop, quantity=quantity, square_mm=square_mm)
    assert sum(count * kind.boards for count, kind in found.packing.kinds) == quantity
    assert found.packing.parcels == math.ceil(quantity / each)
    for _, kind in found.packing.kinds:
        assert kind.boards <= each
        assert kind.mass_kg > kind.boards * found.geometry.mass_kg
