"""The parcel of one board: carton, mass, what it is billed as, and what it costs to send."""

from dataclasses import replace
from decimal import Decimal

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.arithmetic import round_up
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import ShippingService, SizeFee
from chequerwork.domain.parcel.parcels import carton_area_m2, carton_side_mm, is_flat, packing_cost
from chequerwork.domain.parcel.shipping import offer, ways


def test_cushion_and_wall_are_on_every_side(moosgrund):
    """Board 384 x 384 x 18, feet of 6; 45 mm cushion and 7 mm wall, twice."""
    parcel = a_plan(moosgrund, feet=4).packing.first
    assert (parcel.length_mm, parcel.width_mm, parcel.height_mm) == pytest.approx((488.0, 488.0, 128.0))


def test_carton_is_four_walls_and_lid_and_floor_doubled_by_their_flaps():
    """House rule, no source: 2 x 0.1 x (0.5 + 0.4) + 4 x 0.5 x 0.4."""
    assert carton_area_m2((500.0, 400.0, 100.0)) == pytest.approx(0.98)


def test_mass_is_board_carton_and_cushion(moosgrund):
    plan = a_plan(moosgrund, feet=4)
    inside_m3 = 0.474 * 0.474 * 0.114
    board_m3 = 0.384 * 0.384 * 0.024
    expected = plan.geometry.mass_kg + 0.95 * carton_area_m2((488, 488, 128)) + 22 * (inside_m3 - board_m3)
    assert plan.packing.first.mass_kg == pytest.approx(expected)


def test_the_larger_of_mass_and_volume_is_billed_in_steps(moosgrund):
    """48.8 x 48.8 x 12.2 cm over 5000 is 5.81 kg, up to 6.0; in a tight carton the mass itself counts."""
    parcel = a_plan(moosgrund).packing.first
    assert parcel.dimensional_kg == pytest.approx(48.8 * 48.8 * 12.2 / 5000)
    assert parcel.billable_kg == 6.0
    tight = a_plan(altered(moosgrund, packing={"clearance_mm": 5.0})).packing.first
    assert tight.mass_kg > tight.dimensional_kg
    assert tight.billable_kg == round_up(tight.mass_kg, 0.5)


@pytest.mark.parametrize(
    ("value", "step", "expected"), [(5.81, 0.5, 6.0), (6.0, 0.5, 6.0), (6.0001, 0.5, 6.5), (0.3, 0.1, 0.3), (2.1, 1, 3)]
)
def test_rounding_up_keeps_a_multiple(value, step, expected):
    """Also 0.3 / 0.1, which is 2.9999999999999996 in floats."""
    assert round_up(value, step) == pytest.approx(expected)


def test_girth_is_the_longest_side_and_twice_the_others(moosgrund):
    """A board of 10 x 6 squares lies lengthwise: 584 + 2 x (392 + 122)."""
    parcel = a_plan(moosgrund, columns=6, rows=10).packing.first
    assert parcel.length_plus_girth_mm == pytest.approx(584 + 2 * (392 + 122))


def test_girth_does_not_care_which_way_the_grain_runs(moosgrund):
    turned = [a_plan(moosgrund, columns=c, rows=r).packing.first.length_plus_girth_mm for c, r in ((6, 10), (10, 6))]
    assert turned[0] == pytest.approx(turned[1])


def advice(found):
    return {each.code: each for each in found.advice}


def test_flat_parcels_ask_for_stiff_faces(moosgrund):
    parcel = a_plan(moosgrund, square_mm=60.0).packing
    assert parcel.first.flat
    assert advice(parcel)["flat-parcel"].source == "ISTA-3A"


def test_a_last_parcel_that_alone_is_flat_is_pointed_out_too(moosgrund):
    """Five boards of 48 mm in one parcel are no flat one, the sixth by itself is."""
    parcel = a_plan(altered(moosgrund, packing={"boards_per_parcel": 5}), quantity=6).packing
    assert (parcel.first.flat, parcel.last.flat) == (False, True)
    assert "flat-parcel" in advice(parcel)


def test_a_small_deep_parcel_is_not_flat(moosgrund):
    parcel = a_plan(moosgrund, columns=4, rows=4, square_mm=30.0).packing
    assert not parcel.first.flat
    assert parcel.advice == ()


@pytest.mark.parametrize("turn", [(0, 1, 2), (2, 0, 1), (1, 2, 0)])
def test_flatness_does_not_depend_on_the_order_of_the_sides(turn):
    sides = (686.0, 686.0, 152.0)
    assert is_flat(tuple(sides[index] for index in turn))


def test_a_parcel_over_the_carriers_girth_is_advice(moosgrund):
    """584 + 2 x (584 + 122) is 1996 mm."""
    shop = altered(moosgrund, packing={"length_plus_girth_max_mm": 1995.0})
    found = advice(a_plan(shop, square_mm=60.0).packing)["over-girth"]
    assert found.lengths_mm == pytest.approx((1996.0, 1995.0))
    enough = altered(moosgrund, packing={"length_plus_girth_max_mm": 1996.0})
    assert "over-girth" not in advice(a_plan(enough, square_mm=60.0).packing)


def a_service(name=None, **changes):
    """One way to send up to 100 kg for 10."""
    return ShippingService(**{"name": name, "steps": ((100.0, Decimal(10)),), **changes})


def sent_by(shop, *services):
    """The shop with these services at home."""
    return replace(shop, zones=(replace(shop.zones[0], services=services), *shop.zones[1:]))


# Postage --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("ship_to", "postage"), [("AT", "9.80"), ("DE", "18.70"), ("GB", "27.60")])
def test_postage_is_that_of_the_destinations_zone(moosgrund, ship_to, postage):
    """Billed as 6.0 kg: the step up to 10 kg."""
    assert a_plan(moosgrund, ship_to=ship_to).packing.postage == Decimal(postage)


def test_every_board_is_a_parcel_of_its_own(moosgrund):
    one, six = (a_plan(moosgrund, quantity=quantity).packing for quantity in (1, 6))
    assert (one.parcels, six.parcels) == (1, 6)
    assert six.postage == 6 * one.postage
    assert six.material_cost == 6 * one.material_cost
    assert six.first.billable_kg == one.first.billable_kg


@pytest.mark.parametrize(("up_to_kg", "postage"), [(6.0, "1.00"), (5.9, "2.00")])
def test_a_step_is_good_up_to_its_own_mass(moosgrund, up_to_kg, postage):
    shop = sent_by(moosgrund, a_service(steps=((up_to_kg, Decimal("1.00")), (30.0, Decimal("2.00")))))
    assert a_plan(shop).packing.postage == Decimal(postage)


def test_a_parcel_heavier_than_the_table_is_refused_with_both_masses(moosgrund):
    plan = a_plan(sent_by(moosgrund, a_service(steps=((4.0, Decimal("6.20")),))))
    with pytest.raises(Refused) as refused:
        _ = plan.packing
    (fault,) = refused.value.faults
    assert (fault.at, fault.code) == (("ship_to",), "too-heavy")
    assert "billed as 6 kg" in fault.detail
    assert "up to 4 kg to AT" in fault.detail


def test_packing_material_is_carton_and_cushion(moosgrund):
    """1.65 a square metre and 85 a cubic metre, both to a millionth."""
    plan = a_plan(moosgrund, feet=4)
    cushion_m3 = 0.474 * 0.474 * 0.114 - 0.384 * 0.384 * 0.024
    expected = carton_area_m2((488, 488, 128)) * 1.65 + cushion_m3 * 85
    assert float(plan.packing.material_cost) == pytest.approx(expected, abs=1e-4)


def test_a_frame_makes_the_parcel_larger(moosgrund):
    assert a_plan(moosgrund, frame=a_frame()).packing.first.length_mm == pytest.approx(
        a_plan(moosgrund, frame=a_frame()).geometry.overall.length_mm + 104.0
    )


# Services -------------------------------------------------------------------------------------------------------------


def service_of(plan):
    return plan.packing.first.carriage.service.name


def test_the_cheapest_service_that_takes_the_parcel_carries_it(moosgrund):
    """488 x 488 x 122 mm: the cheapest takes 480 mm at most, the next is chosen."""
    services = (
        a_service("Dear", steps=((100.0, Decimal(12)),)),
        a_service("Short", steps=((100.0, Decimal(5)),), longest_max_mm=480.0),
        a_service("Cheap", steps=((100.0, Decimal(9)),)),
    )
    plan = a_plan(sent_by(moosgrund, *services))
    assert (service_of(plan), plan.packing.postage) == ("Cheap", Decimal(9))


def test_of_equal_services_the_first_in_the_file_carries_the_parcel(moosgrund):
    assert service_of(a_plan(sent_by(moosgrund, a_service("B"), a_service("A")))) == "B"


@pytest.mark.parametrize(
    ("limits", "taken"),
    [
        ({"longest_max_mm": 488.0}, True),
        ({"longest_max_mm": 487.9}, False),
        ({"length_plus_girth_max_mm": 1708.0}, True),
        ({"length_plus_girth_max_mm": 1707.9}, False),
        ({"mass_max_kg": 1.0}, False),
        ({"steps": ((6.0, Decimal(1)),)}, True),
        ({"steps": ((5.9, Decimal(1)),)}, False),
        ({"longest_max_mm": 488.0, "sides_up_to_mm": 10.0}, False),
    ],
)
def test_a_parcel_up_to_a_limit_is_taken(moosgrund, limits, taken):
    """488 + 2 x (488 + 122) is 1708 mm, billed as 6 kg; a carrier that rounds up to whole cm measures 490 mm."""
    shop = sent_by(moosgrund, a_service("Tried", **{"steps": ((100.0, Decimal(1)),), **limits}), a_service("Other"))
    assert service_of(a_plan(shop)) == ("Tried" if taken else "Other")


def test_a_limit_of_a_whole_number_of_inches_takes_a_side_as_long(moosgrund):
    """27 in is 685.8 mm, which over 25.4 is 27.000000000000004: still 27 in, not 28."""
    service = a_service("Inches", sides_up_to_mm=25.4, longest_max_mm=27 * 25.4)
    found = offer(service, moosgrund.packing, (685.8, 12 * 25.4, 0.1 * 25.4 * 30), 1.0)
    assert found is not None
    assert [side / 25.4 for side in found.sides_mm] == pytest.approx([27, 12, 3], abs=1e-9)


def test_a_fee_of_size_is_added_once_and_counts_in_the_choice(moosgrund):
    """The parcel has 488 x 488 x 122 mm, 29053 cm3."""
    fee = SizeFee(name="handling", amount=Decimal(4), above_cm3=29000.0, above_longest_mm=400.0)
    priced = a_service("Fee", steps=((100.0, Decimal(7)),), fees=(fee,))
    plan = a_plan(sent_by(moosgrund, priced, a_service("Plain")))
    assert (service_of(plan), plan.packing.postage) == ("Plain", Decimal(10))
    alone = a_plan(sent_by(moosgrund, priced)).packing
    assert alone.postage == Decimal(11)
    small = replace(fee, above_cm3=29100.0, above_longest_mm=488.0)
    assert a_plan(sent_by(moosgrund, replace(priced, fees=(small,)))).packing.postage == Decimal(7)


@pytest.mark.parametrize(("above_cm3", "billed"), [(29000.0, 6.0), (30000.0, 4.0)])
def test_below_a_volume_mass_alone_is_billed(moosgrund, above_cm3, billed):
    """29053 cm3 over 5000 is 5.81 kg, up to 6; the board and its packing weigh between 3.5 and 4 kg."""
    shop = sent_by(moosgrund, a_service(dimensional_above_cm3=above_cm3))
    parcel = a_plan(shop, thickness_mm=20.0).packing.first
    assert parcel.carriage.dimensional_counts is (billed == 6.0)
    assert parcel.billable_kg == (billed if billed == 6.0 else round_up(parcel.mass_kg, 0.5))


def test_a_refusal_names_the_service_that_misses_least_with_all_it_misses(moosgrund):
    """488 mm over 400 is 1.22 times too long, over 450 only 1.08; 1708 over 1600 is 1.07."""
    far = a_service("Far", longest_max_mm=400.0)
    near = a_service("Near", longest_max_mm=450.0, length_plus_girth_max_mm=1600.0)
    with pytest.raises(Refused) as refused:
        _ = a_plan(sent_by(moosgrund, far, near)).packing
    long, girth = refused.value.faults
    assert {long.code, girth.code} == {"parcel-too-large"}
    assert "is 488 mm long; Near, which misses least, takes up to 450 mm to AT" in long.detail
    assert "1708 mm" in girth.detail
    assert "1600 mm" in girth.detail


def test_every_way_of_a_zone_is_told_with_what_it_makes_of_the_parcel(moosgrund):
    services = (
        a_service("Near", longest_max_mm=400.0),
        a_service("Dear", steps=((100.0, Decimal(12)),)),
        a_service("Fair"),
    )
    plan = a_plan(sent_by(moosgrund, *services))
    first = plan.packing.first
    near, dear, fair = ways(plan.order.sale.ship_to, plan.shop, first.sides_mm, first.mass_kg)
    assert (near.carriage, [miss.code for miss in near.misses]) == (None, ["parcel-too-large"])
    assert (dear.carriage.price, dear.misses) == (Decimal(12), ())
    assert fair.carriage == first.carriage


def test_a_refusal_of_an_imperial_order_is_in_inches_and_pounds(willet_slough):
    tight = a_service("Tight", longest_max_mm=12 * 25.4, steps=((0.45359237, Decimal(1)),))
    with pytest.raises(Refused) as refused:
        _ = a_plan(sent_by(willet_slough, tight)).packing
    long, heavy = (fault.detail for fault in refused.value.faults)
    assert "up to 12 in to US" in long
    assert "up to 1 lb to US" in heavy


# Protection, several boards -------------------------------------------------------------------------------------------

AROUND = {
    "corner_mm": 12.0,
    "corner_size_mm": 60.0,
    "corner_kg": 0.02,
    "corner_price": Decimal("0.40"),
    "face_mm": 6.0,
    "face_kg_m2": 4.0,
    "face_price_m2": Decimal(9),
    "interleaf_mm": 4.0,
    "interleaf_kg_m2": 0.5,
    "interleaf_price_m2": Decimal(2),
    "sundries_price": Decimal("0.80"),
}


def protecting(shop, **changes):
    return altered(shop, packing={"protection": {**AROUND, **changes}, "boards_per_parcel": 2})


def test_two_boards_lie_one_on_the_other_between_corners_and_sheets(moosgrund):
    """560 + 2 x (12 + 45 + 7) along; 2 x 18 + 4 + 2 x (6 + 45 + 7) high."""
    first = a_plan(protecting(moosgrund), quantity=2, square_mm=70.0).packing.first
    assert first.sides_mm == pytest.approx((688.0, 688.0, 156.0))
    assert first.boards == 2
    assert first.amounts.corners == 8
    assert first.amounts.face_m2 == pytest.approx(2 * 0.584 * 0.584)
    assert first.amounts.interleaf_m2 == pytest.approx(0.56 * 0.56)


def test_face_sheets_are_for_flat_parcels(moosgrund):
    """A deep small parcel, 4 x 4 squares of 30 mm, is not flat."""
    first = a_plan(protecting(moosgrund), columns=4, rows=4, square_mm=30.0).packing.first
    assert not first.flat
    assert first.amounts.face_m2 == 0
    assert first.height_mm == pytest.approx(18 + 2 * 52)


def test_protection_is_weighed_and_paid_for(moosgrund):
    plan = a_plan(protecting(moosgrund), quantity=2, square_mm=70.0)
    first, sheets_m2, between_m2 = plan.packing.first, 2 * 0.584 * 0.584, 0.56 * 0.56
    around_kg = 8 * 0.02 + sheets_m2 * 4 + between_m2 * 0.5
    cushion_m3 = 0.674 * 0.674 * 0.142 - 0.584 * 0.584 * 0.052
    area_m2 = carton_area_m2((688, 688, 156))
    expected = 2 * plan.geometry.mass_kg + around_kg + 0.95 * area_m2 + 22 * cushion_m3
    assert first.mass_kg == pytest.approx(expected)
    cost = area_m2 * 1.65 + cushion_m3 * 85 + 8 * 0.40 + sheets_m2 * 9 + between_m2 * 2 + 0.80
    assert float(first.material_cost) == pytest.approx(cost, abs=1e-4)


def test_the_last_parcel_holds_the_boards_that_are_left(moosgrund):
    shop = protecting(moosgrund)
    five = a_plan(shop, quantity=5).packing
    assert five.parcels == 3
    assert [(count, each.boards) for count, each in five.kinds] == [(2, 2), (1, 1)]
    one = a_plan(shop, quantity=1).packing
    assert five.last.mass_kg == one.first.mass_kg
    assert five.postage == 2 * five.first.carriage.price + one.postage
    assert five.material_cost == 2 * five.first.material_cost + one.material_cost


def test_full_parcels_alone_have_no_smaller_last_one(moosgrund):
    four = a_plan(protecting(moosgrund), quantity=4).packing
    assert (four.parcels, four.last) == (2, None)
    assert four.kinds == ((2, four.first),)


def test_without_settings_nothing_is_around_the_board(moosgrund):
    first = a_plan(moosgrund).packing.first
    assert first.contents_mm == a_plan(moosgrund).geometry.outer_mm
    assert first.material_cost == packing_cost(
        first.carton_m2, moosgrund.packing.carton_price_m2, first.cushion_m3, moosgrund.packing.cushion_price_m3
    )


def test_carton_of_nothing_is_its_cushions():
    assert carton_side_mm(0.0, 45.0, 7.0) == 104.0
