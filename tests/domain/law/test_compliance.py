"""Which notices concern which order, who reads them, when, and that every one ends with whom to ask."""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from builders import a_plan, altered, dealing_in, sending_to

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.facts import NoticeForm, Period
from chequerwork.domain.law import compliance, limits, listings
from chequerwork.domain.law.compliance import _LEADS, _RAW_STOCK, _RULES
from chequerwork.domain.law.listings import Status

ALWAYS = {"wood-dust", "finish-curing", "let-it-rest", "keep-indoors", "not-a-toy"}
OILY = {"oily-rags", "oily-dust"}
EU_BUYER = {"eu-product-safety", "eu-withdrawal", "eu-price-display", "toy-rules"}
EU_WOOD = {"eudr", "eudr-small"}
ABROAD = {"transit-moisture", "customs-code", "ispm-15"}


def codes(plan, audience=None):
    return {n.code for n in plan.compliance.notices if audience in (None, n.audience)}


def notice(plan, code):
    (found,) = [each for each in plan.compliance.notices if each.code == code]
    return found


# Countries, finish, feet ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shop_id", "changes", "expected"),
    [
        ("moosgrund", {}, ALWAYS | OILY | EU_BUYER | EU_WOOD),
        ("moosgrund", {"finish": "waterborne_polyurethane"}, ALWAYS | EU_BUYER | EU_WOOD),
        ("moosgrund", {"finish": "shellac_2lb"}, ALWAYS | EU_BUYER | EU_WOOD | {"gloss-finish"}),
        ("moosgrund", {"feet": 4}, ALWAYS | OILY | EU_BUYER | EU_WOOD | {"small-parts"}),
        ("moosgrund", {"ship_to": "DE"}, ALWAYS | OILY | EU_BUYER | EU_WOOD),  # no customs border
        ("moosgrund", {"ship_to": "GB"}, ALWAYS | OILY | ABROAD | EU_WOOD | {"uk-timber"}),
        ("moosgrund", {"ship_to": "CH"}, ALWAYS | OILY | ABROAD | EU_WOOD),
        ("willet-slough", {}, ALWAYS | OILY | {"lacey-due-care"}),
        (
            "willet-slough",
            {"ship_to": "DE"},
            ALWAYS | OILY | ABROAD | EU_BUYER | EU_WOOD | {"lacey-due-care", "low-value-eu"},
        ),
        ("willet-slough", {"ship_to": "CA"}, ALWAYS | OILY | ABROAD | {"lacey-due-care"}),
    ],
)
def test_notices_follow_finish_feet_and_borders(shops, shop_id, changes, expected):
    assert codes(a_plan(shops[shop_id], **changes)) == expected


def test_a_board_sent_to_the_united_states_is_declared(moosgrund):
    """This shop does not send there; another zone would."""
    plan = a_plan(sending_to(moosgrund, "US"), ship_to="US", feet=4)
    expected = ALWAYS | OILY | ABROAD | EU_WOOD | {"low-value-us", "lacey-declaration", "small-parts"}
    assert codes(plan) == expected


@pytest.mark.parametrize(
    ("foot", "small"),
    [
        ({"foot_diameter_mm": 12.0, "foot_height_mm": 6.0}, True),  # J05
        ({"foot_diameter_mm": 31.7, "foot_height_mm": 25.4}, True),
        ({"foot_diameter_mm": 31.7, "foot_height_mm": 25.6}, False),
        ({"foot_diameter_mm": 32.0, "foot_height_mm": 6.0}, False),
    ],
)
def test_only_feet_that_fit_the_cylinder_are_small_parts(moosgrund, foot, small):
    plan = a_plan(altered(moosgrund, consumables=foot), feet=4)
    assert ("small-parts" in codes(plan)) is small
    if small:
        sizes = "{foot_diameter_mm:g} x {foot_height_mm:g} mm".format(**foot)
        assert notice(plan, "small-parts").text.startswith(f"The feet, {sizes}, are small parts should they come off.")


# Lacey Act ------------------------------------------------------------------------------------------------------------


def test_the_declaration_says_how_much_of_the_board_is_wood(moosgrund):
    """J04: a wooden board never qualifies for the exception. Feet are the only thing on it that is no plant."""
    plan = a_plan(sending_to(moosgrund, "US"), ship_to="US", feet=4, quantity=3)
    wood_kg = 3 * (plan.geometry.mass_kg - 4 * moosgrund.consumables.foot_mass_g / 1000)
    share = wood_kg / (3 * plan.geometry.mass_kg)
    assert notice(plan, "lacey-declaration").text.startswith(
        f"Plant material is {share:.0%} of each board and {wood_kg:.1f} kg in the order; "
        "only up to 5% and 2.9 kg, without a CITES timber, need no declaration."
    )


def declared(shop, tables, *, share, entry, period=None, **changes):
    limits = dict(tables.thresholds)
    for key, value in (("lacey-plant-share", share), ("lacey-entry-plant", entry)):
        limits[key] = replace(limits[key], value=value, period=period or limits[key].period)
    plan = a_plan(sending_to(shop, "US"), tables=replace(tables, thresholds=limits), ship_to="US", **changes)
    return "lacey-declaration" in codes(plan)


def test_the_declaration_is_dropped_only_below_both_limits(moosgrund, tables):
    """Were the limits those of a board, the rule would let it through; and never a listed timber (7 CFR 357.4(c))."""
    assert not declared(moosgrund, tables, share=1.0, entry=1000.0)
    assert declared(moosgrund, tables, share=1.0, entry=1.0)
    assert declared(moosgrund, tables, share=0.9, entry=1000.0)
    assert declared(dealing_in(moosgrund, "cocobolo"), tables, share=1.0, entry=1000.0, dark="cocobolo")


def test_an_exception_does_not_count_before_its_first_day(moosgrund, tables):
    later = Period(first=date(2027, 2, 2), last=None)
    assert declared(moosgrund, tables, share=1.0, entry=1000.0, period=later)


# Who reads what -------------------------------------------------------------------------------------------------------


def test_a_customer_never_sees_what_is_for_the_workshop(moosgrund):
    plan = a_plan(moosgrund, ship_to="GB", feet=4)
    assert codes(plan, Audience.WORKSHOP) == OILY | EU_WOOD | {
        "wood-dust", "uk-timber", "ispm-15", "transit-moisture", "customs-code",
    }  # fmt: skip
    assert codes(plan, Audience.ALL) == {"finish-curing", "let-it-rest", "keep-indoors", "not-a-toy", "small-parts"}


def test_a_customer_of_a_listed_timber_reads_of_the_board_and_the_maker_of_the_wood(willet_slough):
    plan = a_plan(willet_slough, dark="african_padauk", ship_to="DE")
    assert {code for code in codes(plan, Audience.ALL) if code.startswith("cites")} == {"cites-ii-17", "cites-stricter"}
    assert {code for code in codes(plan, Audience.WORKSHOP) if code.startswith("cites")} == {_RAW_STOCK}


def test_every_notice_of_the_table_can_be_shown(tables):
    """And no rule or lead is without its notice."""
    by_listing = {code for code in tables.notices if re.match(r"cites-i+(-|$)", code)}
    assert set(_RULES) | by_listing | {_RAW_STOCK} == set(tables.notices)
    assert set(_LEADS) <= set(_RULES)


def test_every_notice_ends_with_whom_to_ask(moosgrund, willet_slough, tables):
    for plan in (a_plan(moosgrund, ship_to="GB", feet=4), a_plan(willet_slough, ship_to="DE", dark="african_padauk")):
        for each in plan.compliance.notices:
            assert "This is a prompt, not advice." in each.text
            assert "Check with" in each.text.rsplit("This is a prompt", 1)[1]
            assert each.notice.authority in each.text
            assert set(each.source.split("; ")) <= set(tables.sources)
            assert each.notice.form in set(NoticeForm)


# Wood dust ------------------------------------------------------------------------------------------------------------


def test_the_dust_of_each_timber_of_the_board_is_told_to_the_workshop(moosgrund, tables):
    found = notice(a_plan(moosgrund), "wood-dust")
    assert found.audience is Audience.WORKSHOP
    for key in ("sycamore_maple", "european_walnut"):
        assert f"{tables.species[key].name}: {tables.species[key].dust}." in found.text
    assert tables.species["teak"].dust not in found.text


# Listed timbers -------------------------------------------------------------------------------------------------------


def of_the_convention(plan):
    return [each for each in plan.compliance.notices if each.code.startswith("cites")]


def rosewood(shop, quantity=1, *, ship_to="CA"):
    """The customer's notice of a board with cocobolo squares, sent from the United States."""
    return of_the_convention(a_plan(dealing_in(shop, "cocobolo"), dark="cocobolo", quantity=quantity, ship_to=ship_to))


def test_unlisted_timbers_bring_no_notice_of_the_convention(moosgrund):
    assert of_the_convention(a_plan(moosgrund, ship_to="GB")) == []


def test_a_listed_timber_is_named_with_its_masses(willet_slough):
    board, wood = of_the_convention(a_plan(willet_slough, dark="african_padauk", quantity=3, ship_to="CA"))
    assert (board.code, wood.code) == ("cites-ii-17", "cites-raw-stock")
    assert board.subject == wood.subject == "African padauk (Pterocarpus soyauxii)"
    each, whole = re.search(
        r"([\d.]+) kg of listed wood in each board, ([\d.]+) kg in the order\.", board.text
    ).groups()
    assert float(whole) == pytest.approx(3 * float(each), abs=0.02)


def test_a_board_outside_the_listing_is_no_alarm_and_its_wood_a_caution(willet_slough):
    """#17: sawn wood needs papers at each border, the finished board does not."""
    board, wood = of_the_convention(a_plan(willet_slough, dark="african_padauk", ship_to="CA"))
    assert board.text.startswith("No CITES papers: the listing does not take in finished boards.")
    assert (board.severity, board.notice.form) == ("info", "finished-board")
    assert wood.text.startswith(
        "Appendix II, African populations: logs, sawn wood, veneer sheets, plywood and transformed wood (HS 44.09)."
    )
    assert "need CITES papers at every border" in wood.text
    assert (wood.severity, wood.notice.form, wood.audience) == ("caution", "raw-stock", Audience.WORKSHOP)


def test_a_delivery_at_home_or_inside_the_union_crosses_no_border(moosgrund, willet_slough):
    home = rosewood(willet_slough, 24, ship_to="US")[0]
    inside = of_the_convention(a_plan(dealing_in(moosgrund, "cocobolo"), dark="cocobolo", ship_to="DE"))[0]
    assert home.text.startswith("No CITES papers: the delivery is at home and crosses no border of the convention.")
    assert inside.text.startswith("No CITES papers: the delivery is inside the European Union and crosses no border")
    assert home.severity == inside.severity == "info"


def test_the_order_is_held_against_the_limit_on_both_readings(willet_slough):
    one, many = rosewood(willet_slough)[0], rosewood(willet_slough, 24)[0]
    assert one.text.startswith("No CITES papers: not above 10 kg, whether counted by board or by consignment.")
    assert one.severity == "info"
    most = a_plan(dealing_in(willet_slough, "cocobolo"), dark="cocobolo").compliance.listed[0].most_boards
    assert many.text.startswith(
        "Counted by board no CITES papers, counted by consignment yes: the order is above 10 kg. "
        f"Up to {most} boards in one consignment need none on either reading."
    )
    assert many.severity == "caution"
    assert "Listed: all populations of all other species." in many.text


def test_a_covered_board_is_a_warning(willet_slough, tables):
    """#4 and Appendix I take in everything made of the wood."""
    shop = dealing_in(willet_slough, "cocobolo")
    for code, changes in (
        ("cites-ii-4", {"annotation": "#4"}),
        ("cites-i", {"appendix": "I", "annotation": "none"}),
    ):
        listing = altered(tables.cites["Dalbergia"], finished_board="yes", limit_kg=None, **changes)
        other = replace(tables, cites={**tables.cites, "Dalbergia": listing})
        board = of_the_convention(a_plan(shop, tables=other, dark="cocobolo", ship_to="CA"))[0]
        assert board.code == code
        assert board.severity == "warning"
        assert re.match(r"The finished board (is covered|needs CITES papers at the border)\.", board.text)


@pytest.mark.parametrize(("there", "told"), [("DE", True), ("GB", True), ("US", False), ("CA", False)])
def test_stricter_rules_are_told_where_they_may_exist_and_are_not_called_verified(willet_slough, there, told):
    found = [each for each in rosewood(willet_slough, ship_to=there) if each.code == "cites-stricter"]
    assert len(found) == told
    assert not any(each.verified for each in found)


def test_listed_timbers_come_first(willet_slough):
    notices = a_plan(willet_slough, dark="african_padauk").compliance.notices
    assert notices[0].code == "cites-ii-17"
    assert notices[1].code == "cites-raw-stock"


def test_two_listed_timbers_are_two_notices_each(willet_slough):
    plan = a_plan(dealing_in(willet_slough, "cocobolo"), light="african_padauk", dark="cocobolo")
    assert [each.subject for each in of_the_convention(plan)] == [
        *["African padauk (Pterocarpus soyauxii)"] * 2,
        *["Cocobolo (Dalbergia retusa)"] * 2,
    ]


def test_a_notice_of_a_timber_is_verified_when_listing_and_text_are(willet_slough, tables):
    """Where the notices were read, the finding is verified; the advice on buying is from memory in part."""
    board, wood = of_the_convention(a_plan(willet_slough, dark="african_padauk"))
    assert (board.verified, wood.verified) == (True, False)
    sources = {*tables.cites["Pterocarpus"].source.split("; "), *tables.notices["cites-ii-17"].source.split("; ")}
    assert sorted(board.source.split("; ")) == sorted(sources)


# Date -----------------------------------------------------------------------------------------------------------------


def on(shop, day, **changes):
    """A plan issued on a day."""
    return a_plan(shop, issued_on=date.fromisoformat(day), starts_on=date(2030, 9, 2), **changes)


@pytest.mark.parametrize(
    ("code", "issued_on", "status"),
    [
        ("low-value-eu", "2025-06-30", None),
        ("low-value-eu", "2025-07-01", "coming"),
        ("low-value-eu", "2026-06-30", "coming"),
        ("low-value-eu", "2026-07-01", "in-force"),
        ("low-value-eu", "2028-07-01", "in-force"),
        ("low-value-eu", "2028-07-02", None),
        ("eudr", "2025-12-29", None),
        ("eudr", "2026-11-25", "coming"),
        ("eudr", "2026-12-30", "in-force"),
        ("eudr-small", "2027-06-29", "coming"),
        ("eudr-small", "2027-06-30", "in-force"),
        ("toy-rules", "2030-07-31", "in-force"),
        ("toy-rules", "2030-08-01", None),
        ("toy-regulation", "2029-07-31", None),
        ("toy-regulation", "2029-08-01", "coming"),
        ("toy-regulation", "2030-08-01", "in-force"),
        ("eu-product-safety", "2024-12-12", "coming"),
        ("eu-product-safety", "2024-12-13", "in-force"),
    ],
)
def test_ended_rules_are_gone_and_coming_ones_are_told_for_a_year(willet_slough, code, issued_on, status):
    found = {each.code: each.status for each in on(willet_slough, issued_on, ship_to="DE").compliance.notices}
    assert found.get(code) == status


@pytest.mark.parametrize(
    ("code", "issued_on", "status"),
    [
        ("low-value-us", "2024-08-28", None),
        ("low-value-us", "2024-08-29", "coming"),
        ("low-value-us", "2025-08-29", "in-force"),
        ("lacey-declaration", "2024-11-30", "coming"),
        ("lacey-declaration", "2024-12-01", "in-force"),
    ],
)
def test_american_rules_have_their_days_too(moosgrund, code, issued_on, status):
    plan = on(sending_to(moosgrund, "US"), issued_on, ship_to="US")
    assert {each.code: each.status for each in plan.compliance.notices}.get(code) == status


def test_a_text_checked_more_than_a_year_ago_says_so(moosgrund, tables):
    (checked,) = {each.as_of for each in tables.notices.values()}
    assert checked == date(2026, 11, 25)
    fresh, old = (on(moosgrund, day).compliance.notices for day in ("2027-11-25", "2027-11-26"))
    assert not any(each.stale for each in fresh)
    assert all(each.stale for each in old)
    warning = "Last checked on 2026-11-25, more than a year before this order: it may be out of date. "
    assert all(each.text.startswith(warning) for each in old)
    assert not any("out of date" in each.text for each in fresh)


def test_a_coming_listing_says_from_when(willet_slough):
    plan = on(dealing_in(willet_slough, "cocobolo"), "2016-06-01", dark="cocobolo", ship_to="CA")
    board, wood = of_the_convention(plan)
    assert board.status is wood.status is Status.COMING
    assert board.text.startswith("From 2017-01-02 on: The finished board needs CITES papers at the border.")
    assert board.period == wood.period == Period(first=date(2017, 1, 2), last=None)


def test_no_year_is_typed_into_the_code():
    """Days stand in the tables, so that a change of law is a change of a row."""
    for room in (compliance, limits, listings):
        assert re.findall(r"\b(?:19|20)\d\d\b", Path(room.__file__).read_text("utf-8")) == []


# Facts of section k and of the board standards ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("gloss-finish", "dull or neutral finish, never shiny"),  # FIDE-C02, boards, as quoted
        ("wood-dust", "EU 2 mg/m3"),  # EU-2004-37
        ("wood-dust", "15 mg/m3 total and 5 mg/m3 respirable (OSHA)"),  # OSHA-1910-1000
        ("wood-dust", "1 mg/m3 total (NIOSH)"),  # NIOSH-NPG
        ("wood-dust", "1 mg/m3 inhalable, 0.5 for western red cedar (ACGIH"),  # OSHA-CSI
        ("wood-dust", "oak and beech A1, birch, mahogany, teak and walnut A2"),  # OSHA-CSI
        ("wood-dust", "2023 is unresolved here"),  # EH40
        ("oily-rags", "metal container with a tight lid"),  # NFPA-RAGS
        ("small-parts", "31.7 mm diameter and 25.4 to 57.1 mm depth"),  # SMALLPARTS-CA
        ("customs-code", "9504.90"),  # CUSTOMS-US
        ("customs-code", "4420"),  # EUDR-ANNEX
        ("low-value-eu", "3 EUR for each tariff item"),  # EU-2026-382
        ("ispm-15", "56 degC in the core for 30 min"),  # ISPM15
        ("toy-regulation", "1 August 2030"),  # TOYS-LV
    ],
)
def test_a_notice_says_what_its_source_says(tables, code, words):
    assert words in tables.notices[code].text
