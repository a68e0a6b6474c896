"""What an answer shows: the pointers integrators rely on, what they mean, and who sees which of them."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from contract.check import FULL, ORDERS, flat, maker, pointed
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.api.component import AnswerContext, Component, number
from chequerwork.api.sections.trees import mm
from chequerwork.domain.order.order import Joint

CUSTOMER = ("geometry", "movement", "schedule", "packing", "compliance", "price")
WORKSHOP = ("materials", "cutting", "finishing")
SIBLINGS = ("csv", "tsv", "txt")

# Design, section 4.2, word for word: what other people's shops and spreadsheets depend on.
POINTERS = [
    "/geometry/square_mm", "/geometry/columns", "/geometry/rows", "/geometry/mass_kg", "/geometry/mass_half_range_kg",
    "/geometry/field/length_mm", "/geometry/field/width_mm", "/geometry/field/diagonal_mm",
    "/geometry/overall/length_mm", "/geometry/overall/width_mm", "/geometry/overall/height_mm",
    "/geometry/frame/rails/0/side", "/geometry/frame/rails/0/count", "/geometry/frame/rails/0/long_point_mm",
    "/geometry/frame/rails/0/short_point_mm", "/geometry/frame/rails/0/width_mm",
    "/geometry/frame/rails/0/thickness_mm", "/geometry/frame/rails/0/species",
    "/geometry/fit/fill_ratio", "/geometry/fit/verdict", "/geometry/fit/square_low_mm", "/geometry/fit/square_high_mm",
    "/geometry/accuracy/strip_tolerance_mm", "/geometry/accuracy/mismatch_worst_mm",
    "/geometry/accuracy/mismatch_sigma_mm", "/geometry/accuracy/blade_error_deg", "/geometry/accuracy/bevel_gap_mm",
    "/cutting/pattern", "/cutting/strips/0/species", "/cutting/strips/0/count", "/cutting/strips/0/width_mm",
    "/cutting/strips/0/length_mm", "/cutting/crosscuts/count", "/cutting/crosscuts/width_mm",
    "/cutting/crosscuts/kerf_mm", "/cutting/crosscuts/length_needed_mm", "/cutting/crosscuts/length_allowed_mm",
    "/cutting/crosscuts/spare_mm", "/cutting/parts/0/id", "/cutting/parts/0/role", "/cutting/parts/0/species",
    "/cutting/parts/0/count", "/cutting/parts/0/rough/length_mm", "/cutting/parts/0/rough/width_mm",
    "/cutting/parts/0/rough/thickness_mm", "/cutting/parts/0/final/length_mm", "/cutting/parts/0/final/width_mm",
    "/cutting/parts/0/final/thickness_mm", "/cutting/glue_ups/0/name", "/cutting/glue_ups/0/adhesive_g",
    "/cutting/glue_ups/0/force_n", "/cutting/glue_ups/0/clamps",
    "/materials/timber/0/species", "/materials/timber/0/net_m3", "/materials/timber/0/gross_m3",
    "/materials/timber/0/board_feet", "/materials/timber/0/mass_kg",
    "/materials/lines/0/item", "/materials/lines/0/role", "/materials/lines/0/quantity", "/materials/lines/0/unit",
    "/movement/emc_build_pct", "/movement/emc_low_pct", "/movement/emc_high_pct", "/movement/field/shrink_mm",
    "/movement/field/swell_mm", "/movement/field/band_mm", "/movement/mitre_gap_mm", "/movement/bow_mm",
    "/movement/groove_clearance_mm", "/movement/verdict",
    "/finishing/sanding/top/0/grade", "/finishing/sanding/top/0/particle_um", "/finishing/sanding/top/1/ratio",
    "/finishing/sanding/underside/0/grade", "/finishing/coats/0", "/finishing/finish_ml",
    "/schedule/starts_on", "/schedule/ready_on", "/schedule/ships_on", "/schedule/cured_on",
    "/schedule/hands_on_h/expected", "/schedule/hands_on_h/p80", "/schedule/steps/0/code", "/schedule/steps/0/title",
    "/schedule/steps/1/after/0", "/schedule/steps/0/starts_at", "/schedule/steps/0/ends_at",
    "/schedule/steps/0/hands_on_min", "/schedule/steps/0/waiting_min",
    "/packing/carton/length_mm", "/packing/carton/width_mm", "/packing/carton/height_mm", "/packing/mass_kg",
    "/packing/billable_kg", "/packing/length_plus_girth_mm",
    "/compliance/notices/0/code", "/compliance/notices/0/severity", "/compliance/notices/0/subject",
    "/compliance/notices/0/text", "/compliance/notices/0/authority", "/compliance/notices/0/source",
    "/price/currency", "/price/quantity", "/price/unit_net", "/price/unit_gross", "/price/shipping", "/price/tax",
    "/price/total", "/price/workshop/costs/0", "/price/workshop/floor_total", "/price/workshop/margin_pct",
    "/price/workshop/fees", "/price/workshop/risk/p50", "/price/workshop/risk/p80", "/price/workshop/risk/p95",
    "/quote/id", "/quote/issued_on", "/quote/valid_until", "/quote/shop", "/quote/tables_version", "/quote/token",
    "/advice/0/code", "/advice/0/severity", "/advice/0/at", "/advice/0/text",
]  # fmt: skip
OF_THE_WORKSHOP = re.compile(r"/(cutting|materials|finishing|schedule/hands_on_h|schedule/steps|price/workshop)\b")


@pytest.fixture(scope="module")
def quotes(client) -> dict[str, dict[str, Any]]:
    """Every order's quote in the workshop view."""
    return {
        name: client.post("/v1/quotes", json=order, headers=maker(order)).get_json() for name, order in ORDERS.items()
    }


@pytest.fixture(scope="module")
def shown(client) -> dict[str, dict[str, Any]]:
    """Every order's quote in the customer view."""
    return {name: client.post("/v1/quotes", json=order).get_json() for name, order in ORDERS.items()}


@pytest.fixture(params=ORDERS)
def name(request) -> str:
    return request.param


# Names ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pointer", POINTERS)
def test_a_pointer_of_the_design_is_in_the_workshop_quote(quotes, pointer):
    assert pointed(quotes["every field"], pointer) is not None


@pytest.mark.parametrize("pointer", [pointer for pointer in POINTERS if not OF_THE_WORKSHOP.match(pointer)])
def test_a_pointer_of_the_design_is_in_the_customer_quote(shown, pointer):
    assert pointed(shown["every field"], pointer) is not None


@pytest.mark.parametrize("pointer", [pointer for pointer in POINTERS if OF_THE_WORKSHOP.match(pointer)])
def test_a_pointer_of_the_workshop_is_not_in_the_customer_quote(shown, pointer):
    with pytest.raises((KeyError, IndexError)):
        pointed(shown["every field"], pointer)


def test_every_section_alone_is_the_same_as_in_the_quote(client, quotes, shown, name):
    """One plan: no path has its own arithmetic."""
    order = ORDERS[name]
    for section in (*CUSTOMER, *WORKSHOP):
        alone = client.post(f"/v1/{section}", json=order, headers=maker(order)).get_json()
        assert alone[section] == quotes[name][section]
        assert all(finding in quotes[name]["advice"] for finding in alone["advice"])
    for section in CUSTOMER:
        assert client.post(f"/v1/{section}", json=order).get_json()[section] == shown[name][section]


def test_every_number_carries_its_unit_or_counts(quotes, name):
    """Design, section 4.2: a unit in the key. Counts, ratios and what hands-on hours are made of carry none."""
    units = r"_(mm|kg|g|pct|deg|m3|m2|cm3|um|ml|h|min|days|c|n|mpa)$"
    plain = r"^(columns|rows|count|cuts|spare_bars|quantity|number|parcels|feet|fill_ratio|ratio|\w+_squares"
    plain += r"|joints|open_joints|clamps|(gross_)?board_feet|coats_per_day|boards|round|balance_score|strength_ratio"
    plain += r"|light_squares|dark_squares|correlation)$"
    for pointer, value in leaves(quotes[name]):
        if isinstance(value, int | float) and not isinstance(value, bool):
            key = pointer.rpartition("/")[2]
            inside_hours = pointer.startswith("/schedule/hands_on_h/")
            assert re.search(units, key) or re.search(plain, key) or inside_hours, pointer


def test_a_length_that_people_read_has_its_text_in_the_asked_units(client):
    """Wherever a key ends in _text its number stands beside it, and inches go to 1/32."""
    for units, form in (("metric", r"-?\d+(\.\d)? mm"), ("imperial", r"-?(\d+|(\d+ )?\d+/(2|4|8|16|32)) in")):
        order = {**FULL, "units": units}
        tree = client.post("/v1/quotes", json=order, headers=maker(order)).get_json()
        texts = [(pointer, value) for pointer, value in leaves(tree) if pointer.endswith("_text")]
        assert len(texts) > 30
        for pointer, value in texts:
            stem = pointer.removesuffix("_text")
            if re.search(r"(length|width|height|thickness|square|point)(_needed|_allowed)?$", stem):
                assert pointed(tree, f"{stem}_mm") is not None
                assert re.fullmatch(form, value), pointer


def leaves(tree: Any, at: str = "") -> Iterator[tuple[str, Any]]:
    """Every value that is no branch, by its pointer."""
    if isinstance(tree, dict | list):
        for step, value in tree.items() if isinstance(tree, dict) else enumerate(tree):
            yield from leaves(value, f"{at}/{step}")
    else:
        yield at, tree


# Meanings that must not drift (design, section 4.2) -------------------------------------------------------------------


def test_the_total_is_the_sum_of_the_rounded_amounts_shown(quotes, tables, name):
    price = quotes[name]["price"]
    total, tax, shipping, net, gross = (
        Decimal(price[key]) for key in ("total", "tax", "shipping", "unit_net", "unit_gross")
    )
    assert total == price["quantity"] * net + shipping + tax
    assert total == price["quantity"] * gross + Decimal(price["shipping_gross"])
    digits = tables.currencies[price["currency"]].exponent
    for key in ("total", "tax", "shipping", "unit_net", "unit_gross", "shipping_gross"):
        assert re.fullmatch(rf"\d+\.\d{{{digits}}}", price[key]), key


def test_the_workshops_costs_add_up_and_the_price_never_falls_below_the_floor(quotes, name):
    price = quotes[name]["price"]
    inside = price["workshop"]
    costs = sum(Decimal(cost["amount"]) for cost in inside["costs"])
    assert costs == Decimal(inside["cost_total"])
    goods = price["quantity"] * Decimal(price["unit_net"])
    assert goods >= Decimal(inside["floor_total"]) >= costs
    assert Decimal(inside["risk"]["p50"]) <= Decimal(inside["risk"]["p80"]) <= Decimal(inside["risk"]["p95"])


def test_height_runs_from_the_table_to_the_playing_surface_feet_included(quotes, shops, name):
    order, geometry = quotes[name]["order"], quotes[name]["geometry"]
    base, frame = order["base"] or {}, order["frame"] or {}
    below_mm = base.get("thickness_mm", 0) + ((base.get("backing") or {}).get("thickness_mm", 0))
    hangs_mm = max(order["thickness_mm"] + below_mm, frame.get("thickness_mm", 0))
    feet_mm = shops[order["shop"]].consumables.foot_height_mm if order["feet"] else 0
    assert geometry["overall"]["height_mm"] == pytest.approx(hangs_mm + feet_mm, abs=0.001)


def test_feet_add_their_height_and_nothing_else_to_the_size(client, shops):
    order = {**ORDERS["least"], "feet": 4}
    bare, footed = (client.post("/v1/geometry", json=o).get_json()["geometry"] for o in (ORDERS["least"], order))
    lift_mm = shops["moosgrund"].consumables.foot_height_mm
    assert footed["overall"].pop("height_mm") == bare["overall"].pop("height_mm") + lift_mm
    assert footed["overall"].pop("height_text") != bare["overall"].pop("height_text")
    assert footed["overall"] == bare["overall"]
    assert footed["field"] == bare["field"]


@pytest.mark.parametrize("name", ["least", "nine-by-nine", "bare field, other shop"])
def test_the_length_needed_counts_every_square_kerf_spare_dressing_squaring_and_end_trim(quotes, shops, name):
    """Of a field without a frame to seat it: N (s + d) + spare (s + d) + cuts x kerf + squaring + end trim.

    TRADE-STRIP: one cut to each bar, and the squaring cut's own width lies in its allowance.
    """
    order, cuts = quotes[name]["order"], quotes[name]["cutting"]["crosscuts"]
    machines = shops[order["shop"]].machines
    bars = cuts["count"] + cuts["spare_bars"]
    assert cuts["count"] == order["rows"]
    assert cuts["spare_bars"] == machines.spare_bars
    assert cuts["width_mm"] == pytest.approx(order["square_mm"] + machines.dressing_mm, abs=0.001)
    needed_mm = bars * cuts["width_mm"] + bars * machines.kerf_crosscut_mm + machines.squaring_mm + machines.end_trim_mm
    assert cuts["length_needed_mm"] == pytest.approx(needed_mm, abs=0.001)


def test_strips_are_cut_to_what_is_allowed_and_the_difference_is_spare(quotes, name):
    cutting = quotes[name]["cutting"]
    cuts = cutting["crosscuts"]
    assert cuts["length_allowed_mm"] >= cuts["length_needed_mm"]
    assert cuts["spare_mm"] == pytest.approx(cuts["length_allowed_mm"] - cuts["length_needed_mm"], abs=0.0011)
    for strip in cutting["strips"]:
        assert strip["length_mm"] == cuts["length_allowed_mm"]
    shifted = cutting["pattern"] == "shift"
    assert sum(strip["count"] for strip in cutting["strips"]) == quotes[name]["order"]["columns"] + shifted


def test_the_square_is_the_finished_one_and_the_field_is_made_of_it(quotes, name):
    """Length along the grain is rows, width across it is columns (design, section 2)."""
    geometry, order = quotes[name]["geometry"], quotes[name]["order"]
    square_mm, field = geometry["square_mm"], geometry["field"]
    assert square_mm == order["square_mm"]
    assert field["length_mm"] == pytest.approx(geometry["rows"] * square_mm, abs=0.001)
    assert field["width_mm"] == pytest.approx(geometry["columns"] * square_mm, abs=0.001)
    assert field["diagonal_mm"] == pytest.approx(math.hypot(field["length_mm"], field["width_mm"]), abs=0.001)
    assert geometry["light_squares"] + geometry["dark_squares"] == geometry["rows"] * geometry["columns"]


def test_the_mass_has_its_band_of_ten_percent(quotes, name):
    """Design, section 5.2; Wood Handbook ch. 4: coefficient of variation of specific gravity 10 % (from memory)."""
    geometry = quotes[name]["geometry"]
    assert geometry["mass_half_range_kg"] == pytest.approx(geometry["mass_kg"] * 0.1, abs=0.001)


def test_rails_go_round_the_board_by_their_joint(quotes, name):
    """TRADE-FRAME: a mitred rail is as long as the outside; butted rails share each corner once."""
    order, geometry = quotes[name]["order"], quotes[name]["geometry"]
    if order["frame"] is None:
        assert geometry["frame"] is None
        return
    overall, rails = geometry["overall"], {rail["side"]: rail for rail in geometry["frame"]["rails"]}
    assert set(rails) == {"length", "width"}
    assert [rail["count"] for rail in rails.values()] == [2, 2]
    width_mm = order["frame"]["width_mm"]
    if order["frame"]["joint"] == Joint.MITRE:
        for side, rail in rails.items():
            assert rail["long_point_mm"] == pytest.approx(overall[f"{side}_mm"], abs=0.001)
            assert rail["long_point_mm"] - rail["short_point_mm"] == pytest.approx(2 * width_mm, abs=0.001)
    else:
        around_mm = 2 * sum(rail["long_point_mm"] for rail in rails.values())
        assert around_mm == pytest.approx(2 * (overall["length_mm"] + overall["width_mm"]) - 4 * width_mm, abs=0.002)


def test_what_is_bought_holds_what_is_in_the_board_and_the_carton_holds_the_board(quotes, name):
    tree = quotes[name]
    for timber in tree["materials"]["timber"]:
        assert 0 < timber["net_m3"] < timber["gross_m3"]
    for side in ("length_mm", "width_mm", "height_mm"):
        assert tree["packing"]["carton"][side] > tree["geometry"]["overall"][side]
    assert tree["packing"]["mass_kg"] > tree["geometry"]["mass_kg"]
    assert tree["packing"]["billable_kg"] >= max(tree["packing"]["mass_kg"], tree["packing"]["dimensional_kg"])
    for part in tree["cutting"]["parts"]:
        assert all(part["rough"][key] >= part["final"][key] for key in ("length_mm", "width_mm", "thickness_mm"))


def test_dates_follow_one_another_and_no_step_starts_before_what_it_needs(quotes, name):
    """The first day of work may be later than the order's, where the shop rests on that one. Packing follows."""
    schedule = quotes[name]["schedule"]
    days = [date.fromisoformat(schedule[key]) for key in ("starts_on", "ready_on", "ships_on")]
    assert days == sorted(days)
    assert schedule["starts_on"] >= quotes[name]["order"]["starts_on"]
    free_from: dict[str, datetime] = {}
    ends_on: dict[str, date] = {}
    for step in schedule["steps"]:
        starts, ends = (datetime.fromisoformat(step[key]) for key in ("starts_at", "ends_at"))
        assert starts < ends
        assert starts.tzinfo is not None
        for before in step["after"]:
            assert free_from[before] <= starts, f"{step['code']} starts before {before} has set"
        free_from[step["code"]] = ends + timedelta(minutes=step["waiting_min"])
        ends_on[step["code"]] = ends.date()
    assert schedule["steps"][0]["starts_at"].startswith(schedule["starts_on"])
    assert days[2] >= max(ends_on.values())
    assert days[1] == max(day for code, day in ends_on.items() if code != "pack")


def test_a_quote_holds_as_long_as_its_shop_says(quotes, shops, name):
    quote = quotes[name]["quote"]
    valid = date.fromisoformat(quote["valid_until"]) - date.fromisoformat(quote["issued_on"])
    assert valid.days == shops[quote["shop"]].price.valid_days


def test_every_finding_points_into_the_workshops_answer(quotes, name):
    for finding in quotes[name]["advice"]:
        pointed(quotes[name], finding["at"])


# Who sees what --------------------------------------------------------------------------------------------------------

# Never in a customer's answer (design, section 4.5), as words of keys or of sentences.
SECRET = re.compile(
    r"\b(costs?|rates?|margins?|fees?|hours?|hourly|stock\w*|overheads?|profits?|wages?|labou?r|mark-?ups?|wast(e|age)|floor"
    r"|yields?|suppliers?|hands[- _]on|workshop|risk)\b",
    re.IGNORECASE,
)


def words(text: str) -> str:
    """Keys as words, so that unit_cost is found like unit cost."""
    return text.replace("_", " ")


def secrets_in(text: str) -> list[str]:
    plain = words(text)
    return [plain[max(0, m.start() - 30) : m.end() + 30] for m in SECRET.finditer(plain)]


@pytest.mark.parametrize("key", [None, "storefront"])
def test_a_customer_answer_holds_no_secret_word_whatever_is_asked(client, name, key):
    order = ORDERS[name]
    shop = order.get("shop", "moosgrund")
    headers = {"Authorization": f"Bearer demo-{key}-{shop}"} if key else {}
    for section in (*CUSTOMER, "quotes"):
        posted = client.post(f"/v1/{section}", json=order, headers=headers)
        assert secrets_in(posted.get_data(as_text=True)) == [], section
        for sibling in SIBLINGS:
            asked = client.get(f"/v1/{section}.{sibling}", query_string=flat(order), headers=headers)
            assert asked.status_code == 200
            assert secrets_in(asked.get_data(as_text=True)) == [], f"{section}.{sibling}"


@pytest.mark.parametrize("sibling", SIBLINGS)
def test_a_storefronts_key_opens_what_no_key_opens(client, name, sibling):
    order = ORDERS[name]
    headers = {"Authorization": f"Bearer demo-storefront-{order.get('shop', 'moosgrund')}"}
    asked = [client.get(f"/v1/quotes.{sibling}", query_string=flat(order), headers=h) for h in ({}, headers)]
    assert asked[0].data == asked[1].data
    posted = [client.post("/v1/quotes", json=order, headers=h) for h in ({}, headers)]
    assert posted[0].data == posted[1].data


def test_the_word_list_finds_the_workshops_own_view(quotes):
    """So that its silence above means something."""
    found = " ".join(secrets_in(json.dumps(quotes["every field"])))
    for word in ("cost", "margin", "fees", "floor", "hands on", "workshop", "risk"):
        assert word in found, word


def test_a_customer_answer_is_a_part_of_the_workshops_and_says_nothing_else(quotes, shown, name):
    for pointer, value in leaves(
        {key: part for key, part in shown[name].items() if key not in ("advice", "compliance")}
    ):
        assert pointed(quotes[name], pointer) == value, pointer
    assert [each for each in quotes[name]["advice"] if each in shown[name]["advice"]] == shown[name]["advice"]
    notices = shown[name]["compliance"]["notices"]
    assert [each for each in quotes[name]["compliance"]["notices"] if each in notices] == notices


def figures(tree: Mapping[str, Any]) -> set[str]:
    """Amounts and hours that only the workshop sees, as they would be written."""
    inside = [tree["price"]["workshop"], tree["materials"], tree["schedule"]["hands_on_h"]]
    found = {str(value) for part in inside for _, value in leaves(part) if isinstance(value, int | float | str)}
    return {figure for figure in found if re.fullmatch(r"\d{2,}\.\d{2,}", figure)}


def test_no_figure_of_the_workshop_is_in_a_customer_answer(client, quotes, name):
    """Whatever it may be called there."""
    order = ORDERS[name]
    secret = figures(quotes[name])
    assert len(secret) >= 8
    for body in (
        client.post("/v1/quotes", json=order).get_data(as_text=True),
        client.get("/v1/quotes.txt", query_string=flat(order)).get_data(as_text=True),
    ):
        assert secret & set(re.findall(r"[\d.]+", body)) == set()


def test_advice_for_the_workshop_is_not_shown_to_a_customer(quotes, shown):
    """Across all these orders both kinds are drawn, and several of each."""
    codes = {"all": set(), "shown": set()}
    for name in ORDERS:
        codes["all"] |= {finding["code"] for finding in quotes[name]["advice"]}
        codes["shown"] |= {finding["code"] for finding in shown[name]["advice"]}
    assert {"ships-before-cured", "too-late", "pieces-crowded"} <= codes["shown"]
    assert {"open-time-strips", "open-time-bars", "thicknesser-width"} <= codes["all"] - codes["shown"]


def test_choices_hold_no_secret_word(client, shops):
    for shop in shops:
        assert secrets_in(client.get("/v1/choices", query_string={"shop": shop}).get_data(as_text=True)) == []


FAULTY = [
    {},
    {"square": "300 mm", "light": "teak", "dark": "pear", "thickness": "36 mm", "quantity": 99},
    {**ORDERS["least"], "thickness": "60 mm", "base": {"material": "mdf", "thickness": "7 mm"}},
    {**ORDERS["club-chess"], "frame": {**ORDERS["club-chess"]["frame"], "width": "15 mm"}, "climate": {"low_rh": 6}},
    {**ORDERS["least"], "thickness": "36 mm", "dark": "european_oak", "ship_to": "JP", "channel": "nowhere"},
]


@pytest.mark.parametrize("order", FAULTY)
@pytest.mark.parametrize("path", ["/v1/quotes", "/v1/price"])
def test_a_refusal_tells_no_secret_either(client, order, path):
    answer = client.post(path, json=order)
    assert answer.status_code == 422
    assert secrets_in(answer.get_data(as_text=True)) == []


def test_a_customer_sees_the_parcel_and_not_how_it_is_packed(client):
    """The packing list, the crate and the moisture of the way are the maker's own."""
    order = {**FULL, "quantity": 2}
    ours = client.post("/v1/packing", json=order, headers=maker(order)).get_json()["packing"]
    theirs = client.post("/v1/packing", json=order).get_json()["packing"]
    assert set(ours) - set(theirs) == {"specification", "transit", "ways"}
    assert theirs == {name: value for name, value in ours.items() if name in theirs}
    numbers = [line["number"] for line in ours["specification"]["photos"]]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 8


def test_the_packing_list_is_a_page_for_the_wall(client):
    query = flat(FULL)
    page = client.get("/v1/packing.txt", query_string=query, headers=maker(FULL)).get_data(as_text=True)
    for words in ("specification", "photos", "carton", "scale"):
        assert words in page
    assert "specification" not in client.get("/v1/packing.txt", query_string=query).get_data(as_text=True)


# Rounding -------------------------------------------------------------------------------------------------------------

TIES = st.builds(lambda whole, decimals: (whole + 0.5) / 10**decimals, st.integers(-(10**6), 10**6), st.integers(0, 6))
VALUES = st.floats(-1e6, 1e6) | TIES | TIES.map(lambda tie: math.nextafter(tie, math.inf))


@given(value=VALUES, decimals=st.integers(0, 6))
def test_values_are_rounded_as_python_rounds_them(value, decimals):
    """To the last bit and the sign of a zero; in the middle between two results too."""
    shown = Component("Shown", number("real", decimals=decimals)).write(value, AnswerContext())
    assert repr(shown["real"]) == repr(round(value, decimals))
    assert repr(mm(value)) == repr(round(value, 3))
