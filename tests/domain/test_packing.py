"""The parcel of one board: carton, mass, what it is billed as, and what it costs to send."""

from dataclasses import replace
from decimal import Decimal

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.arithmetic import round_up
from chequerwork.domain.errors import Refused
from chequerwork.domain.parcels import carton_area_m2, carton_side_mm, is_flat
from chequerwork.domain.shop import Service


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
    return Service(**{"name": name, "steps": ((100.0, Decimal(10)),), **changes})


def sent_by(shop, *services):
    """The shop with these services at home."""
    return replace(shop, zones=(replace(shop.zones[0], services=services), *shop.zones[1:]))


# Postage ----------------------------------------------------------------------------------------------------------


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


def test_carton_of_nothing_is_its_cushions():
    assert carton_side_mm(0.0, 45.0, 7.0) == 104.0
