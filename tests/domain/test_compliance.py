"""Which notices concern which order, who reads them, and that every one ends with whom to ask."""

import re
from dataclasses import replace

import pytest
from builders import a_plan

from chequerwork.domain.advice import Audience
from chequerwork.domain.compliance import _RULES, _WORKSHOP, notice_code

ALWAYS = {"wood-dust", "finish-curing", "let-it-rest", "keep-indoors", "not-a-toy"}
OILY = {"oily-rags", "oily-dust"}
EU_BUYER = {"eu-product-safety", "eu-withdrawal", "eu-price-display"}
ABROAD = {"transit-moisture", "customs-code", "ispm-15"}


def codes(plan, audience=None):
    return {n.code for n in plan.compliance.notices if audience in (None, n.audience)}


@pytest.mark.parametrize(
    ("shop_id", "changes", "expected"),
    [
        ("moosgrund", {}, ALWAYS | OILY | EU_BUYER | {"eudr"}),
        ("moosgrund", {"finish": "waterborne_polyurethane"}, ALWAYS | EU_BUYER | {"eudr"}),
        ("moosgrund", {"finish": "shellac_2lb"}, ALWAYS | EU_BUYER | {"eudr", "gloss-finish"}),
        ("moosgrund", {"feet": 4}, ALWAYS | OILY | EU_BUYER | {"eudr", "small-parts"}),
        ("moosgrund", {"ship_to": "DE"}, ALWAYS | OILY | EU_BUYER | {"eudr"}),  # no customs border
        ("moosgrund", {"ship_to": "GB"}, ALWAYS | OILY | ABROAD | {"eudr", "uk-timber"}),
        ("moosgrund", {"ship_to": "CH"}, ALWAYS | OILY | ABROAD | {"eudr"}),
        ("willet-slough", {}, ALWAYS | OILY | {"lacey-due-care"}),
        (
            "willet-slough",
            {"ship_to": "DE"},
            ALWAYS | OILY | ABROAD | EU_BUYER | {"lacey-due-care", "low-value-eu", "eudr"},
        ),
        ("willet-slough", {"ship_to": "CA"}, ALWAYS | OILY | ABROAD | {"lacey-due-care"}),
    ],
)
def test_notices_follow_finish_feet_and_borders(shops, shop_id, changes, expected):
    assert codes(a_plan(shops[shop_id], **changes)) == expected


def test_a_board_sent_to_the_united_states_is_declared(moosgrund):
    """This shop does not send there; another zone would."""
    zones = (*moosgrund.zones, replace(moosgrund.zones[2], key="overseas", countries=frozenset({"US"})))
    plan = a_plan(replace(moosgrund, zones=zones), ship_to="US")
    assert codes(plan) == ALWAYS | OILY | ABROAD | {"eudr", "low-value-us", "lacey-declaration"}


# Who reads what ---------------------------------------------------------------------------------------------------


def test_a_customer_never_sees_what_is_for_the_workshop(moosgrund):
    plan = a_plan(moosgrund, ship_to="GB", feet=4)
    assert codes(plan, Audience.WORKSHOP) == OILY | {"wood-dust", "eudr", "uk-timber", "ispm-15", "transit-moisture"}
    assert codes(plan, Audience.ALL) == {
        "finish-curing", "let-it-rest", "keep-indoors", "not-a-toy", "customs-code", "small-parts",
    }  # fmt: skip


def test_every_rule_has_its_notice_and_every_workshop_code_is_a_rule(tables):
    assert set(_RULES) <= set(tables.notices)
    assert set(_RULES) >= _WORKSHOP


def test_every_notice_ends_with_whom_to_ask(moosgrund, willet_slough, tables):
    for plan in (a_plan(moosgrund, ship_to="GB", feet=4), a_plan(willet_slough, ship_to="DE", dark="african_padauk")):
        for notice in plan.compliance.notices:
            assert "This is a prompt, not advice." in notice.text
            assert "Check with" in notice.text.rsplit("This is a prompt", 1)[1]
            assert notice.authority in notice.text
            assert set(notice.source.split("; ")) <= set(tables.sources)
            assert notice.as_of


# Listed timbers ---------------------------------------------------------------------------------------------------


def shop_with(shop, species):
    """The shop with one timber more, bought as its black walnut or wenge is."""
    pattern = shop.lumber["black_walnut" if "black_walnut" in shop.lumber else "wenge"]
    return replace(shop, lumber={**shop.lumber, species: replace(pattern, species=species)})


def listed(plan):
    return [notice for notice in plan.compliance.notices if notice.code.startswith("cites")]


def test_unlisted_timbers_bring_no_notice_of_the_convention(moosgrund):
    assert listed(a_plan(moosgrund)) == []


def test_a_listed_timber_is_named_with_its_masses(willet_slough):
    """African padauk: annotation #17, a finished board is outside it, so there is no limit to compare with."""
    plan = a_plan(willet_slough, dark="african_padauk", quantity=3)
    (notice,) = listed(plan)
    assert notice.code == "cites-ii-17"
    assert notice.subject == "African padauk (Pterocarpus soyauxii)"
    assert notice.audience is Audience.ALL
    each, whole = re.match(
        r"([\d.]+) kg of listed wood in each board, ([\d.]+) kg in the order\.", notice.text
    ).groups()
    assert float(whole) == pytest.approx(3 * float(each), abs=0.02)
    assert "10 kg" not in notice.text


def test_listed_timbers_come_first(willet_slough):
    notices = a_plan(willet_slough, dark="african_padauk").compliance.notices
    assert notices[0].code.startswith("cites")


def test_the_order_is_held_against_ten_kilograms_where_the_annotation_says_so(willet_slough):
    """#15: a rosewood. One board is far below; the most this shop makes at once is far above."""
    shop = shop_with(willet_slough, "cocobolo")
    (one,), (many,) = (listed(a_plan(shop, dark="cocobolo", quantity=quantity)) for quantity in (1, 24))
    assert one.code == many.code == "cites-ii-15"
    assert "The order is below 10 kg." in one.text
    assert "The order is above 10 kg." in many.text


def test_two_listed_timbers_are_two_notices(willet_slough):
    plan = a_plan(shop_with(willet_slough, "cocobolo"), light="african_padauk", dark="cocobolo")
    assert {notice.subject for notice in listed(plan)} == {
        "African padauk (Pterocarpus soyauxii)",
        "Cocobolo (Dalbergia retusa)",
    }


def test_every_listing_has_its_notice(tables):
    assert {notice_code(listing) for listing in tables.cites.values()} <= set(tables.notices)


@pytest.mark.parametrize(
    ("appendix", "annotation", "code"),
    [("II", "#15", "cites-ii-15"), ("I", "none", "cites-i"), ("III", "#5", "cites-iii-5"), ("II", "none", "cites-ii")],
)
def test_a_listing_is_explained_by_appendix_and_annotation(tables, appendix, annotation, code):
    listing = replace(next(iter(tables.cites.values())), appendix=appendix, annotation=annotation)
    assert notice_code(listing) == code
