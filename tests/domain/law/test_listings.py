"""Which listed timbers are in a board, what of them is weighed, and which borders ask for papers.

What is said of law here stands in section j of the trade notes and section 9 of the wood notes; see the source list.
"""

from dataclasses import replace
from datetime import date

import pytest
from builders import a_frame, a_plan, dealing_in, sending_to

from chequerwork.domain.basics.facts import Coverage, Period
from chequerwork.domain.law.listings import Papers, Status, is_stale, notice_code, route_of, status_on


def changed(mapping, key, **changes):
    """A table with one record changed."""
    return {**mapping, key: replace(mapping[key], **changes)}


def listed(shop, **changes):
    return a_plan(shop, **changes).compliance.listed


# Weight ---------------------------------------------------------------------------------------------------------------


@pytest.fixture
def boards(willet_slough, tables):
    """J01: 32 dark squares of 57.15 x 57.15 x 19 mm at 1000 kg/m3, sent from the United States to Canada."""
    shop = dealing_in(willet_slough, "indian_rosewood")
    dense = replace(tables, species=changed(tables.species, "indian_rosewood", density_kg_m3=1000.0))

    def make(quantity=1, *, ship_to="CA", dark="indian_rosewood", limit_kg=10.0, **changes):
        cites = changed(dense.cites, "Dalbergia", limit_kg=limit_kg)
        plan = a_plan(
            sending_to(shop, ship_to),
            tables=replace(dense, cites=cites),
            square_mm=57.15,
            thickness_mm=19.0,
            dark=dark,
            quantity=quantity,
            ship_to=ship_to,
            **changes,
        )
        return plan.compliance.listed[0]

    return make


def test_only_the_listed_wood_is_weighed(boards):
    """J01: 1.985802 kg. The light squares and what is cut off do not count; a frame of the same wood does."""
    assert boards(5).each_kg == boards(5).weighed_each_kg == pytest.approx(1.985802, abs=5e-7)
    assert boards(5).order_kg == pytest.approx(5 * 1.985802, abs=5e-6)
    assert boards(frame=a_frame(species="indian_rosewood")).each_kg > boards().each_kg + 0.5


def test_five_boards_stay_below_ten_kilograms_and_six_do_not(boards):
    """J02, by consignment. Counted board by board, six need no papers either: the readings differ."""
    assert boards(5).papers is Papers.NONE
    assert boards(6).papers is Papers.READINGS_DIFFER
    assert boards(5).most_boards == boards(6).most_boards == 5


def test_a_board_above_the_limit_by_itself_needs_papers_on_either_reading(boards):
    assert boards(limit_kg=1.98).papers is Papers.NEEDED
    assert boards(limit_kg=1.99).papers is Papers.NONE
    assert boards(limit_kg=boards().each_kg).papers is Papers.NONE  # "up to"


def test_timbers_under_one_annotation_are_weighed_together(willet_slough):
    """#15 limits the wood of the listed species, not of each."""
    shop = dealing_in(willet_slough, "indian_rosewood", "cocobolo", "african_padauk")
    one, other = listed(shop, light="cocobolo", dark="indian_rosewood", ship_to="CA")
    assert one.weighed_each_kg == other.weighed_each_kg == one.each_kg + other.each_kg
    padauk, rosewood = listed(shop, light="african_padauk", dark="indian_rosewood", ship_to="CA")
    assert (padauk.weighed_each_kg, rosewood.weighed_each_kg) == (padauk.each_kg, rosewood.each_kg)


# Countries ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("here", "there", "abroad", "within_eu"),
    [
        ("AT", "AT", False, False),
        ("AT", "DE", False, True),
        ("AT", "CH", True, False),
        ("CH", "AT", True, False),
        ("US", "US", False, False),
        ("US", "DE", True, False),
        ("GB", "IE", True, False),
    ],
)
def test_a_border_is_one_of_customs(moosgrund, tables, here, there, abroad, within_eu):
    shop = sending_to(replace(moosgrund, country=here), there)
    route = route_of(a_plan(shop, ship_to=there).order.sale.ship_to, shop, tables)
    assert (route.abroad, route.within_eu) == (abroad, within_eu)


@pytest.mark.parametrize(("there", "papers"), [("US", Papers.NONE), ("CA", Papers.READINGS_DIFFER)])
def test_no_papers_where_no_border_is_crossed(boards, there, papers):
    assert boards(6, ship_to=there).papers is papers


def test_no_papers_inside_the_european_union(moosgrund):
    """CITES-EU: transport between members is neither import nor export."""
    shop = sending_to(dealing_in(moosgrund, "cocobolo"), "DE", "GB")
    inside, outside = (
        listed(shop, dark="cocobolo", quantity=8, square_mm=60.0, ship_to=there)[0] for there in ("DE", "GB")
    )
    assert inside.order_kg > 10
    assert (inside.papers, outside.papers) == (Papers.NONE, Papers.READINGS_DIFFER)


# Form -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("species", ["african_padauk", "african_mahogany", "honduran_mahogany"])
def test_annotations_of_sawn_wood_leave_a_finished_board_out(willet_slough, species):
    """#17 and #6: logs, sawn wood, veneer, plywood, and with #17 shaped wood."""
    (timber,) = listed(dealing_in(willet_slough, species), dark=species, quantity=20, ship_to="CA")
    assert timber.papers is Papers.NONE
    assert timber.limit_kg is timber.most_boards is None


@pytest.mark.parametrize(
    ("listing", "home", "abroad"),
    [
        ({"finished_board": Coverage.YES, "limit_kg": None}, Papers.NONE, Papers.NEEDED),
        ({"finished_board": Coverage.YES, "limit_kg": None, "appendix": "I", "annotation": "none"},)
        + (Papers.BARRED,) * 2,
    ],
    ids=["appendix II", "appendix I"],
)
def test_a_covered_board_needs_papers_abroad_and_appendix_one_is_barred(willet_slough, tables, listing, home, abroad):
    changed_tables = replace(tables, cites=changed(tables.cites, "Dalbergia", **listing))
    shop = dealing_in(willet_slough, "cocobolo")
    found = [listed(shop, tables=changed_tables, dark="cocobolo", ship_to=there)[0].papers for there in ("US", "CA")]
    assert found == [home, abroad]


# Date -----------------------------------------------------------------------------------------------------------------

JUNE = date(2027, 6, 1)


@pytest.mark.parametrize(
    ("first", "last", "status"),
    [
        (None, None, Status.IN_FORCE),
        (date(2020, 1, 1), None, Status.IN_FORCE),
        (JUNE, JUNE, Status.IN_FORCE),
        (None, date(2027, 5, 31), None),
        (date(2027, 6, 2), None, Status.COMING),
        (date(2028, 6, 1), None, Status.COMING),
        (date(2028, 6, 2), None, None),
        (date(2020, 1, 1), date(2027, 5, 31), None),
    ],
)
def test_a_text_applies_from_its_first_to_its_last_day_and_is_announced_for_a_year(first, last, status):
    assert status_on(Period(first=first, last=last), JUNE) is status


@pytest.mark.parametrize(
    ("as_of", "day", "stale"),
    [
        (date(2026, 11, 25), date(2026, 1, 1), False),
        (date(2026, 11, 25), date(2027, 11, 25), False),
        (date(2026, 11, 25), date(2027, 11, 26), True),
        (date(2028, 2, 29), date(2029, 2, 28), False),
        (date(2028, 2, 29), date(2029, 3, 1), True),
        (date(2026, 11, 25), date.max, True),
        (date(2026, 11, 25), date.min, False),
    ],
)
def test_a_text_is_stale_a_year_after_it_was_checked(as_of, day, stale):
    assert is_stale(as_of, day) is stale


@pytest.mark.parametrize(
    ("issued_on", "status", "limit_kg"),
    [
        (date(2015, 12, 31), None, None),
        (date(2016, 1, 2), Status.COMING, None),
        (date(2017, 1, 2), Status.IN_FORCE, None),
        (date(2019, 11, 25), Status.IN_FORCE, None),
        (date(2019, 11, 26), Status.IN_FORCE, 10),
    ],
)
def test_a_listing_and_its_limit_begin_on_their_days(willet_slough, issued_on, status, limit_kg):
    """Rosewoods: listed since 2 January 2017, finished goods exempt by weight since 26 November 2019."""
    shop = dealing_in(willet_slough, "cocobolo")
    found = listed(shop, dark="cocobolo", ship_to="CA", issued_on=issued_on, starts_on=date(2027, 2, 1))
    assert [(each.status, each.limit_kg) for each in found] == ([] if status is None else [(status, limit_kg)])
    if status and not limit_kg:
        assert found[0].papers is Papers.NEEDED


# The notice behind a listing ------------------------------------------------------------------------------------------


def test_every_listing_has_its_notice(tables):
    assert {notice_code(listing) for listing in tables.cites.values()} <= set(tables.notices)


@pytest.mark.parametrize(
    ("appendix", "annotation", "code"),
    [("II", "#15", "cites-ii-15"), ("I", "none", "cites-i"), ("III", "#5", "cites-iii-5"), ("II", "none", "cites-ii")],
)
def test_a_listing_is_explained_by_appendix_and_annotation(tables, appendix, annotation, code):
    listing = replace(next(iter(tables.cites.values())), appendix=appendix, annotation=annotation)
    assert notice_code(listing) == code
