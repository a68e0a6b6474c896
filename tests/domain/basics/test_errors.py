"""Faults say what is wrong, and names that are nearly right are recognised."""

import pytest

from chequerwork.domain.basics.errors import BadQuantity, Fault, OutsideValidity, Refused, near_names, unknown_name

WOODS = ("pear", "wenge", "sycamore_maple", "european_walnut", "european_oak", "european_ash")


def test_refusal_keeps_every_fault_in_reading_order():
    faults = [
        Fault(at=("lines", 1, "width"), code="too-small", detail="B."),
        Fault(at=("dark",), code="x", detail="A."),
    ]
    refused = Refused(iter(faults))
    assert refused.faults == tuple(faults)
    assert str(refused) == "lines.1.width: B.; dark: A."


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        ("paer", "pear"),
        ("Wenge ", "wenge"),
        ("Sycamore Maple", "sycamore_maple"),
        ("european-walnut", "european_walnut"),
        ("europeanwalnut", "european_walnut"),
    ],
)
def test_slips_spaces_hyphens_and_capitals_are_recognised(given, meant):
    assert near_names(given, WOODS)[0] == meant


def test_a_name_like_nothing_known_has_no_near_names():
    assert near_names("zzzzzz", WOODS) == ()


def test_near_names_are_few_and_do_not_depend_on_the_order_of_the_list():
    found = near_names("european", WOODS, most=2)
    assert len(found) == 2
    assert found == near_names("european", reversed(WOODS), most=2)


def test_unknown_name_offers_near_matches():
    fault = unknown_name(at=("dark",), what="timber", given="wenga", known=WOODS)
    assert (fault.at, fault.code) == (("dark",), "unknown-name")
    assert fault.detail == "There is no timber named 'wenga' here. Did you mean wenge?"


def test_unknown_name_without_near_matches_lists_what_there_is():
    fault = unknown_name(at=("dark",), what="timber", given="zzzzzz", known=WOODS)
    assert fault.detail.endswith(
        "Choose one of: european_ash, european_oak, european_walnut, pear, sycamore_maple, wenge."
    )


def test_a_very_long_name_is_not_repeated_in_full():
    fault = unknown_name(at=("dark",), what="timber", given="w" * 5000, known=WOODS)
    assert len(fault.detail) < 300


def test_outside_validity_names_the_number_the_range_and_the_unit():
    outside = OutsideValidity(what="Relative humidity", given=97.0, low=5.0, high=95.0, unit="%")
    assert str(outside) == "Relative humidity is 97 %; the formula holds from 5 to 95 %."
    assert isinstance(outside, ValueError)


def test_bad_quantity_carries_its_code():
    bad = BadQuantity("unit-missing", "'48' has no unit.")
    assert (bad.code, str(bad)) == ("unit-missing", "'48' has no unit.")
