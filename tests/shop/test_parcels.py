"""Zones with services, carriers' habits, and what protects the boards: read, left out, refused with reasons."""

from decimal import Decimal

import pytest

from chequerwork.domain.basics.shop import CrateFrom, Protection, ShippingService

HOME = ("zones", "home")
STEPS = [{"up_to": "20 kg", "price": "9.00"}]
GROUND = {"name": "Ground", "steps": STEPS}


@pytest.fixture
def home_of(load):
    """The home zone after changes of its table."""
    return lambda **given: load({(*HOME, name): value for name, value in given.items()}).zones[0]


@pytest.fixture
def faults_in(faults_of):
    """Place below a table, code and sentence of every fault after changes of that table."""

    def read(table, **given):
        faults = faults_of({(*table, name): value for name, value in given.items()})
        assert all(fault.at[1 : 1 + len(table)] == table for fault in faults)
        return [(fault.at[1 + len(table) :], fault.code, fault.detail) for fault in faults]

    return read


# What is read ---------------------------------------------------------------------------------------------------------


def test_a_zone_with_one_table_has_one_nameless_service_without_limits(load):
    (service,) = load().zones[0].services
    assert service == ShippingService(name=None, steps=service.steps)
    assert len(service.steps) == 4


def test_what_may_be_left_out_of_packing_is_nothing(load):
    packing = load().packing
    assert (packing.boards_per_parcel, packing.protection, packing.crate) == (1, Protection(), CrateFrom())


def test_services_share_the_habits_of_their_zone_and_may_have_their_own(home_of):
    own = {**GROUND, "name": "Air", "divisor_cm3_per_kg": 6000, "mass_max": "10 kg"}
    zone = home_of(services=[GROUND, own], steps=..., divisor_cm3_per_kg=4000, sides_up_to="1 cm", longest_max="1 m")
    ground, air = zone.services
    assert (ground.name, ground.divisor_cm3_kg, ground.mass_max_kg) == ("Ground", 4000.0, None)
    assert (air.name, air.divisor_cm3_kg, air.mass_max_kg) == ("Air", 6000.0, 10.0)
    assert {each.sides_up_to_mm for each in zone.services} == {10.0}
    assert {each.longest_max_mm for each in zone.services} == {1000.0}


def test_a_divisor_in_cubic_inches_to_the_pound_is_the_same_in_centimetres(home_of):
    """Exactly 16.387064 / 0.45359237 times as many."""
    (service,) = home_of(divisor_in3_per_lb=139).services
    assert service.divisor_cm3_kg == pytest.approx(139 * 16.387064 / 0.45359237, rel=1e-12)


@pytest.mark.parametrize(("in3_lb", "cm3_kg"), [(139, 5000), (166, 6000)])
def test_the_pairs_of_divisors_that_carriers_print_are_nearly_the_same(home_of, in3_lb, cm3_kg):
    """PARCEL: 6000 cm3/kg is printed beside 166 in3/lb, 5000 beside 139, though 5000 would be 138.4."""
    (service,) = home_of(divisor_in3_per_lb=in3_lb).services
    assert service.divisor_cm3_kg == pytest.approx(cm3_kg, rel=0.005)


def test_fees_say_above_what_they_are_due(home_of):
    (service,) = home_of(fees=[{"name": "large", "amount": "19.00", "above_in3": 8640, "above_side": "1.2 m"}]).services
    (fee,) = service.fees
    assert (fee.amount, fee.above_longest_mm, fee.above_kg) == (Decimal("19.00"), 1200.0, None)
    assert fee.above_cm3 == pytest.approx(8640 * 16.387064, rel=1e-12)


def test_a_wall_may_be_named_by_its_flute(load):
    """FLUTES: C is 4.0 mm."""
    assert load({("packing", "wall"): ..., ("packing", "flute"): "C"}).packing.wall_mm == 4.0


def test_the_second_demo_shop_chooses_of_two_services_and_warns_of_the_sea(load):
    home, _, elsewhere = load(name="willet-slough").zones
    assert [service.name for service in home.services] == ["Ground", "Post"]
    assert home.services[0].sides_up_to_mm == 25.4
    assert elsewhere.long_sea_leg
    assert not home.long_sea_leg


# What is refused ------------------------------------------------------------------------------------------------------


def test_steps_beside_services_are_refused(faults_in):
    ((at, code, detail),) = faults_in(HOME, services=[GROUND])
    assert (at, code) == (("steps",), "conflict")
    assert "into one of the services" in detail


def test_two_services_of_one_name_are_refused(faults_in):
    ((at, code, _),) = faults_in(
        HOME, steps=..., services=[GROUND, GROUND | {"steps": [*STEPS]}, {**GROUND, "name": "B"}]
    )
    assert (at, code) == (("services", 1, "name"), "duplicate")


@pytest.mark.parametrize(
    ("service", "at", "code"),
    [
        ({"steps": STEPS}, ("name",), "missing"),
        ({"name": "G"}, ("steps",), "missing"),
        ({**GROUND, "steps": []}, ("steps",), "wrong-count"),
        ({**GROUND, "steps": [*STEPS, {"up_to": "10 kg", "price": "9"}]}, ("steps", 1, "up_to"), "not-ascending"),
        ({**GROUND, "steps": [{"up_to": "10 kg", "price": "9.001"}]}, ("steps", 0, "price"), "too-fine"),
        ({**GROUND, "divisor_in3_per_lb": 5000}, ("divisor_in3_per_lb",), "out-of-range"),
        ({**GROUND, "sides_up_to": "2 m"}, ("sides_up_to",), "out-of-range"),
        ({**GROUND, "speed": 3}, ("speed",), "unknown-setting"),
        ({**GROUND, "fees": [{"name": "f", "amount": "1"}]}, ("fees", 0, "name"), "missing"),
        (
            {**GROUND, "fees": [{"name": "f", "amount": "1.001", "above_mass": "1 kg"}]},
            ("fees", 0, "amount"),
            "too-fine",
        ),
    ],
)
def test_a_slip_in_a_service_is_one_fault_at_its_place(faults_in, service, at, code):
    assert [found[:2] for found in faults_in(HOME, steps=..., services=[service])] == [(("services", 0, *at), code)]


@pytest.mark.parametrize("part", ["corner", "face_sheet", "interleaf"])
def test_a_protection_without_its_thickness_is_refused(faults_in, part):
    """It would never be used."""
    name = "corner_price" if part == "corner" else f"{part}_price_per_m2"
    ((at, code, detail),) = faults_in(("packing",), **{name: "1"})
    assert (at, code) == ((name,), "conflict")
    assert f"{part}_thickness" in detail


@pytest.mark.parametrize(
    ("given", "at", "code"),
    [
        ({"boards_per_parcel": 0}, "boards_per_parcel", "out-of-range"),
        ({"boards_per_parcel": 21}, "boards_per_parcel", "out-of-range"),
        ({"flute": "BC"}, "flute", "conflict"),
        ({"wall": ..., "flute": "Q"}, "flute", "unknown-name"),
        ({"corner_thickness": "20 cm"}, "corner_thickness", "out-of-range"),
        ({"crate_above_worth": "0"}, "crate_above_worth", "out-of-range"),
        ({"crate_above_weight": "20 kg"}, "crate_above_weight", "unknown-setting"),
    ],
)
def test_a_slip_in_packing_is_one_fault_at_its_place(faults_in, given, at, code):
    assert [found[:2] for found in faults_in(("packing",), **given)] == [((at,), code)]
