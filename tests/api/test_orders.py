"""Orders as an integrating programmer writes them: what may be left out, and what means the same."""

import copy
import json
from typing import Any

import pytest
from contract.check import FULL, ORDERS, maker

from chequerwork.api.order_request import as_request
from chequerwork.api.schemas import ORDER, order_of, read_order
from chequerwork.domain.order.order import Hold, Joint
from chequerwork.domain.order.request import request_of

LEAST = dict(ORDERS["least"])
FRAME = {"joint": "mitre", "hold": "floating", "species": "pear", "width": "45 mm"}


def quote(client, order: dict[str, Any], *, workshop: bool = False) -> dict[str, Any]:
    answer = client.post("/v1/quotes", json=order, headers=maker(order) if workshop else {})
    assert answer.status_code == 200, answer.get_json()
    return answer.get_json()


def same(client, *orders: dict[str, Any]) -> bool:
    """Whether all these orders are answered with the same bytes."""
    answers = [client.post("/v1/quotes", json=order, headers=maker(order)) for order in orders]
    assert {answer.status_code for answer in answers} == {200}, [answer.get_json() for answer in answers]
    return len({answer.data for answer in answers}) == 1


def test_a_complete_order_is_asked_for_again_with_every_field(shops, tables):
    """One forgotten on the way back would be dropped without a word, by links, suggestions and what moves a price."""
    shop, reading = shops[FULL["shop"]], read_order(FULL)
    order = order_of(reading, shop=shop, tables=tables, today=reading.request.issued_on)
    again = as_request(order)
    assert list(again) == list(ORDER.fields)
    assert order_of(read_order(again), shop=shop, tables=tables, today=order.dates.issued_on) == order
    request = request_of(order)
    assert [key for key in request.__slots__ if getattr(request, key) is None] == ["starts_on"]


# What may be left out -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shop_id", ["moosgrund", "willet-slough"])
def test_square_and_two_timbers_are_enough_and_the_shop_fills_the_rest(client, shops, shop_id):
    shop = shops[shop_id]
    light, dark = list(shop.lumber)[:2]
    order = quote(client, {"shop": shop_id, "square": "50 mm", "light": light, "dark": dark})["order"]
    defaults = shop.defaults
    assert (order["columns"], order["rows"], order["quantity"], order["feet"]) == (8, 8, 1, 0)
    assert order["thickness_mm"] == pytest.approx(defaults.thickness_mm, abs=0.001)
    assert (order["pattern"], order["finish"], order["channel"], order["units"]) == (
        defaults.pattern,
        defaults.finish,
        defaults.channel,
        defaults.units,
    )
    assert order["ship_to"] == shop.country
    assert order["climate"]["low_rh_pct"] == defaults.climate.low_rh_pct
    assert order["climate"]["high_rh_pct"] == defaults.climate.high_rh_pct
    assert (order["frame"], order["base"], order["lines"], order["wanted_by"]) == (None, None, [], None)


def test_an_order_without_a_shop_means_the_first_one(client):
    assert same(client, LEAST, {**LEAST, "shop": "moosgrund"})


def test_null_and_nothing_are_the_same_where_a_part_may_be_missing(client):
    assert same(client, LEAST, {**LEAST, "frame": None}, {**LEAST, "base": None}, {**LEAST, "lines": []})
    base = {"material": "mdf", "thickness": "9 mm"}
    bare = {**LEAST, "base": base}
    assert same(client, bare, {**LEAST, "base": {**base, "skirt": None}}, {**LEAST, "base": {**base, "backing": None}})


def test_the_finish_decides_the_last_grades_and_the_order_may(client, tables):
    order = quote(client, LEAST)["order"]
    finish = tables.finishes[order["finish"]]
    assert order["sanding"] == {"top": finish.stop_grade_high, "underside": finish.stop_grade_low}
    finer = quote(client, {**LEAST, "sanding": {"top": "P220"}})["order"]
    assert finer["sanding"] == {"top": "P220", "underside": finish.stop_grade_low}


def test_a_climate_may_be_given_in_part(client, shops):
    climate = quote(client, {**LEAST, "climate": {"high_rh": 70}})["order"]["climate"]
    default = shops["moosgrund"].defaults.climate
    assert (climate["low_rh_pct"], climate["high_rh_pct"]) == (default.low_rh_pct, 70)


def test_a_wish_for_corners_may_be_given_in_part(client):
    """0.15 mm shows between contrasting woods (common practice, no source); 95 % is the house's habit."""
    assert quote(client, LEAST)["order"]["corners"] == {"within_mm": 0.15, "confidence_pct": 95.0}
    half = quote(client, {**LEAST, "corners": {"confidence": 99}})["order"]["corners"]
    assert half == {"within_mm": 0.15, "confidence_pct": 99.0}


# What means the same --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "texts",
    [
        [
            "1 7/8 in",
            "1-7/8 in",
            "1.875 in",
            '1.875"',
            "1⅞ in",
            "1 ⅞in",
            "15/8 in",
            "1 7/8 IN",
            "47.625 mm",
            "4.7625 cm",
        ],
        ["50 mm", "5 cm", "0.05 m", "50mm", "50.0 mm", " 50 mm ", "50\u00a0mm"],
        ["2 in", '2"', "2″", "50.8 mm", "2 inches"],
    ],
    ids=lambda texts: texts[0],
)
def test_a_length_means_the_same_however_it_is_written(client, texts):
    assert same(client, *({**LEAST, "square": text} for text in texts))


def test_a_fraction_is_read_whole(client):
    """A reader that multiplies would make 2 1/4 in half an inch (reference notes, traps)."""
    order = {**LEAST, "square": "2 1/4 in"}
    assert quote(client, order)["geometry"]["square_mm"] == 57.15


def test_a_temperature_means_the_same_in_both_scales(client):
    climates = [{"temperature": text} for text in ("20 C", "68 F", "20 °C", "20degC")]
    assert same(client, *({**LEAST, "climate": climate} for climate in climates))


def test_a_whole_number_may_have_a_point(client):
    """JSON knows one kind of number: 8.0 is an integer (JSON Schema 2020-12, section 6.1.1)."""
    bodies = [json.dumps({**LEAST, "columns": 8}), json.dumps({**LEAST, "columns": 8.0})]
    answers = [client.post("/v1/quotes", data=body, content_type="application/json").data for body in bodies]
    assert answers[0] == answers[1]


@pytest.mark.parametrize(("game", "cells"), [("chess", 8), ("draughts-8", 8), ("draughts-10", 10), ("draughts-12", 12)])
def test_a_game_stands_for_its_columns_and_rows(client, game, cells):
    played = quote(client, {**LEAST, "game": game, "square": "40 mm"})["geometry"]
    plain = quote(client, {**LEAST, "columns": cells, "rows": cells, "square": "40 mm"})["geometry"]
    assert played == plain
    assert played["columns"] == played["rows"] == cells


def test_columns_run_across_the_grain_and_rows_along_it(client):
    field = quote(client, {**LEAST, "columns": 6, "rows": 12})["geometry"]["field"]
    assert (field["width_mm"], field["length_mm"]) == (6 * 48, 12 * 48)


# Squares from pieces --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("pieces", "square_mm"),
    [
        ({"king_base": "39 mm"}, 50.0),  # 39 / 0.78: diameter over side (design, section 5.1; players' practice)
        ({"king_base": "40 mm", "fill_ratio": 0.8}, 50.0),
        ({"king_base": "39 mm", "pawn_base": "27 mm"}, 54.0),  # four pawns to a square: never below twice a pawn's base
        ({"man": "40 mm"}, 46.0),  # a man and 6 mm, in the middle of 5 to 7
    ],
)
def test_a_square_left_out_is_derived_from_the_pieces(client, pieces, square_mm):
    """BOARD-STD, sections 1 to 3."""
    order = {**LEAST, "pieces": pieces}
    del order["square"]
    assert quote(client, order)["geometry"]["square_mm"] == square_mm


def test_a_square_that_is_given_stays_and_the_fit_is_judged(client):
    tree = quote(client, {**LEAST, "square": "60 mm", "pieces": {"king_base": "30 mm"}})
    assert tree["geometry"]["square_mm"] == 60
    assert tree["geometry"]["fit"]["fill_ratio"] == 0.5
    assert tree["geometry"]["fit"]["verdict"] == "lonely"
    assert any(finding["code"].startswith("pieces-") for finding in tree["advice"])


def test_a_square_without_pieces_has_no_fit_to_judge(client):
    fit = quote(client, LEAST)["geometry"]["fit"]
    assert set(fit.values()) == {None}


# Patterns, frames, units, quantity ------------------------------------------------------------------------------------


def test_odd_columns_are_shifted_without_being_told_and_never_turned(client):
    assert quote(client, {**LEAST, "columns": 9})["order"]["pattern"] == "shift"
    refused = client.post("/v1/quotes", json={**LEAST, "columns": 9, "pattern": "turn"})
    assert refused.status_code == 422
    assert quote(client, {**LEAST, "rows": 9, "pattern": "turn"})["order"]["pattern"] == "turn"


@pytest.mark.parametrize("joint", Joint)
@pytest.mark.parametrize("hold", Hold)
def test_every_frame_is_quoted(client, joint, hold):
    tree = quote(client, {**LEAST, "frame": {**FRAME, "joint": joint, "hold": hold}}, workshop=True)
    rails = tree["geometry"]["frame"]["rails"]
    assert {rail["species"] for rail in rails} == {"pear"}
    assert sum(part["count"] for part in tree["cutting"]["parts"] if part["role"] == "rail") == 4
    assert (tree["geometry"]["frame"]["clearance_mm"] > 0) is (hold is Hold.FLOATING)


def test_units_change_how_texts_are_written_and_no_number(client):
    """But for what is rounded to a step of the unit system: strips are cut to 5 mm or to 1/4 in."""

    def numbers(tree: Any) -> Any:
        if isinstance(tree, dict):
            return {key: numbers(value) for key, value in tree.items() if not key.endswith("text") and key != "units"}
        return [numbers(value) for value in tree] if isinstance(tree, list) else tree

    metric, imperial = (quote(client, {**FULL, "units": units}) for units in ("metric", "imperial"))
    for section in ("geometry", "schedule", "packing"):
        assert numbers(metric[section]) == numbers(imperial[section]), section
        assert section == "schedule" or metric[section] != imperial[section]


def test_more_boards_cost_more_together_and_no_more_each(client):
    """Set-up is shared; the price of one board never rises with their number."""
    each, total = [], []
    for quantity in (1, 2, 5, 20, 40):
        price = quote(client, {**LEAST, "quantity": quantity})["price"]
        each.append(float(price["unit_gross"]))
        total.append(float(price["total"]))
    assert each == sorted(each, reverse=True)
    assert total == sorted(total)
    assert each[-1] < each[0]


def test_a_dearer_timber_a_frame_and_feet_cost_more(client):
    cheap = quote(client, LEAST, workshop=True)["price"]["workshop"]["cost_total"]
    for changes in ({"dark": "wenge"}, {"frame": FRAME}, {"feet": 4}, {"square": "60 mm"}, {"quantity": 2}):
        dear = quote(client, {**LEAST, **changes}, workshop=True)["price"]["workshop"]["cost_total"]
        assert float(dear) > float(cheap), changes


def test_tax_is_inside_the_shown_price_of_one_shop_and_on_top_in_the_other(client):
    inside = quote(client, LEAST)["price"]
    on_top = quote(client, ORDERS["bare field, other shop"])["price"]
    assert (inside["tax_regime"], on_top["tax_regime"]) == ("included", "added")
    assert inside["unit_gross"].endswith("9.00"), "the shop's price ends with 9"
    assert on_top["unit_net"].endswith(("4.95", "9.95")), "the shop's price is a multiple of 5 and 4.95"
    assert (inside["currency"], on_top["currency"]) == ("EUR", "USD")


def test_an_export_bears_the_shops_other_rate(client):
    """Switzerland is not in the shop's table of rates."""
    price = quote(client, {**LEAST, "ship_to": "CH"})["price"]
    assert (price["tax_pct"], price["tax"]) == (0, "0.00")
    assert price["unit_net"] == price["unit_gross"]


def test_asking_does_not_change_what_is_asked_next(client):
    """Nothing is kept between requests: an odd one between two equal ones changes nothing."""
    before = client.post("/v1/quotes", json=FULL).data
    for order in (LEAST, {}, {"square": 5}, ORDERS["listed timber, far away"], copy.deepcopy(FULL)):
        client.post("/v1/quotes", json=order)
        client.get("/v1/choices", query_string={"shop": "willet-slough"})
    assert client.post("/v1/quotes", json=FULL).data == before


def test_a_wish_that_is_too_late_is_advice_with_the_days_and_no_fault(client):
    """Buildable but unwise is advice, never a fault (design, section 4.4)."""
    tree = quote(client, {**LEAST, "wanted_by": "2027-02-09"})
    late = [finding for finding in tree["advice"] if finding["code"] == "too-late"]
    assert [finding["severity"] for finding in late] == ["warning"]
    assert tree["schedule"]["ships_on"] in late[0]["text"]
    early = quote(client, {**LEAST, "wanted_by": "2027-12-01"})
    assert not [finding for finding in early["advice"] if finding["code"] == "too-late"]


def test_unwise_construction_is_advice_with_a_verdict(client):
    """A field glued to a sheet and into a frame, in a house that is dry in winter and damp in summer."""
    order = {
        **LEAST,
        "frame": {**FRAME, "hold": "glued"},
        "base": {"material": "mdf", "thickness": "9 mm"},
        "climate": {"low_rh": 20, "high_rh": 75},
    }
    tree = quote(client, order)
    assert tree["movement"]["verdict"] == "expect damage"
    assert any(finding["severity"] == "warning" and "/movement" in finding["at"] for finding in tree["advice"])
    sound = quote(client, {**LEAST, "pattern": "shift", "climate": {"low_rh": 45, "high_rh": 50}})
    assert sound["movement"]["verdict"] == "sound"
