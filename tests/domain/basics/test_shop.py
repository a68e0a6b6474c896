"""What a shop's own records answer: its next free day, its zone, its sheets, its rough thicknesses."""

from datetime import date

import pytest
from builders import altered


def test_days_off_and_free_weekdays_are_no_working_days(moosgrund):
    calendar = moosgrund.calendar
    assert calendar.is_working(date(2027, 2, 1))
    assert not calendar.is_working(date(2027, 2, 6))  # Saturday
    assert not calendar.is_working(date(2027, 3, 29))  # Easter Monday, a day off of the shop


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2026, 11, 25), date(2027, 1, 11)),  # the shop is full until then
        (date(2027, 1, 11), date(2027, 1, 11)),
        (date(2027, 2, 6), date(2027, 2, 8)),
        (date(2027, 3, 27), date(2027, 3, 30)),  # Easter
        (date(2027, 8, 7), date(2027, 8, 16)),  # summer break
    ],
)
def test_the_next_free_day_has_room_and_hands(moosgrund, day, expected):
    assert moosgrund.calendar.next_free_day(day) == expected


def test_a_shop_without_a_waiting_list_is_free_at_once(willet_slough):
    assert willet_slough.calendar.free_from is None
    assert willet_slough.calendar.next_free_day(date(2027, 2, 2)) == date(2027, 2, 2)


def test_a_named_zone_goes_before_the_rest_of_the_world(willet_slough):
    assert [willet_slough.zone(country).key for country in ("US", "CA", "JP")] == ["home", "north", "elsewhere"]


def test_a_country_of_no_zone_is_not_served(moosgrund):
    assert moosgrund.zone("JP") is None


@pytest.mark.parametrize(
    ("material", "thickness_mm", "found_mm"),
    [("mdf", 9.0, 9.0), ("mdf", 9.5, 9.0), ("mdf", 9.6, None), ("birch_plywood", 6.4, 6.5), ("hardboard", 3.2, None)],
)
def test_a_sheet_is_found_within_half_a_millimetre(moosgrund, material, thickness_mm, found_mm):
    stock = moosgrund.sheet_stock(material, thickness_mm)
    assert (stock.thickness_mm if stock else None) == found_mm


def test_rough_thickness_is_two_faces_and_for_the_field_two_flattenings_more(moosgrund):
    machines = altered(moosgrund.machines, planing_face_mm=2.5, flattening_mm=0.75)
    assert machines.rough_thickness_mm(18.0) == 23.0
    assert machines.rough_field_thickness_mm(18.0) == 24.5


def test_of_two_nominal_thicknesses_the_nearer_one_is_the_sheet(tables):
    assert tables.sheet("mdf", 11.8).thickness_mm == 12
    assert tables.sheet("birch_plywood", 6.4).thickness_mm == 6.5
    assert tables.sheet("mdf", 7.5) is None
