"""What a shop offers: everything an order form needs, all of it true."""

import re

import pytest
from contract.check import ORDERS

from chequerwork.domain.order.order import Pattern

SHOPS = ("moosgrund", "willet-slough")
DATED = {"issued_on": "2027-02-01", "starts_on": "2027-02-08"}


@pytest.fixture(params=SHOPS)
def offer(request, client):
    answer = client.get("/v1/choices", query_string={"shop": request.param})
    assert answer.status_code == 200
    return answer.get_json()


def order_of(offer, **changes):
    """A small order made of the offer's own words."""
    light, dark = (timber["key"] for timber in offer["timbers"][:2])
    square = offer["ranges"]["square"]
    middle_mm = round((square["low_mm"] + square["high_mm"]) / 2)
    small = {"shop": offer["shop"], "square": f"{middle_mm} mm", "light": light, "dark": dark, "columns": 4, "rows": 4}
    return {**small, **DATED, **changes}


def status(client, order) -> int:
    return client.post("/v1/geometry", json=order).status_code


def test_the_first_shop_answers_where_none_is_named_and_all_are_listed(client, shops):
    offer = client.get("/v1/choices").get_json()
    assert offer["shop"] == "moosgrund"
    assert offer["shops"] == [{"key": shop.id, "name": shop.name} for shop in shops.values()]


def test_the_offer_is_the_shops_own(offer, shops):
    shop = shops[offer["shop"]]
    assert (offer["name"], offer["currency"], offer["demo"]) == (shop.name, shop.currency, True)
    assert [timber["key"] for timber in offer["timbers"]] == list(shop.lumber)
    assert [finish["key"] for finish in offer["finishes"]] == list(shop.finishes)
    assert [channel["key"] for channel in offer["channels"]] == list(shop.channels)
    assert offer["patterns"] == [str(pattern) for pattern in Pattern]


def test_every_timber_has_a_colour_to_draw_it_with_and_a_botanical_name(offer, tables):
    for timber in offer["timbers"]:
        assert re.fullmatch(r"#[0-9a-f]{6}", timber["colour"])
        assert re.match(r"[A-Z][a-z]+ [a-z×]", timber["botanical"])
        assert timber["listed"] is (tables.species[timber["key"]].cites_taxon is not None)


def test_every_word_of_the_offer_can_be_ordered(client, offer):
    """A form that offers only what stands here is never refused for a name."""
    light, dark = (timber["key"] for timber in offer["timbers"][:2])
    changes = [{"light": t["key"], "dark": dark if t["key"] != dark else light} for t in offer["timbers"]]
    changes += [{"finish": finish["key"]} for finish in offer["finishes"]]
    changes += [{"climate": {"room": room["key"]}} for room in offer["rooms"]]
    changes += [{"channel": channel["key"]} for channel in offer["channels"]]
    changes += [{"pattern": pattern} for pattern in offer["patterns"]]
    changes += [{"sanding": {"top": grade}} for grade in offer["grades"]]
    changes += [{"ship_to": there} for there in offer["destinations"] if there != "*"]
    changes += [
        {"base": {"material": sheet["material"], "thickness": f"{sheet['thickness_mm']} mm"}}
        for sheet in offer["sheets"]
    ]
    assert len(changes) > 30
    for change in changes:
        assert status(client, order_of(offer, **change)) == 200, change


def test_every_game_of_the_offer_can_be_ordered(client, offer):
    square = f"{offer['ranges']['square']['low_mm'] + 5:g} mm"
    for game in offer["games"]:
        order = {**order_of(offer, game=game["key"], square=square)}
        del order["columns"], order["rows"]
        geometry = client.post("/v1/geometry", json=order).get_json()["geometry"]
        assert (geometry["columns"], geometry["rows"]) == (game["columns"], game["rows"])


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("square", "square"),
        ("thickness", "thickness"),
        ("frame_width", "frame"),
        ("line_width", "lines"),
        ("backing", "base"),
    ],
)
def test_both_ends_of_a_range_can_be_ordered_and_nothing_beyond(client, offer, name, field):
    """For its own sake: a thick field of thin lumber may still be refused, with that reason."""
    span, species = offer["ranges"][name], offer["timbers"][0]["key"]
    sheet = offer["sheets"][0]

    def given(mm: float):
        length = f"{mm:.4f} mm"
        return {
            "frame": {"joint": "mitre", "hold": "glued", "species": species, "width": length},
            "lines": [{"species": species, "width": length}],
            "base": {
                "material": sheet["material"],
                "thickness": f"{sheet['thickness_mm']} mm",
                "backing": {"species": species, "thickness": length},
            },
        }.get(field, length)

    def refusals(mm: float) -> set[str]:
        answer = client.post("/v1/geometry", json=order_of(offer, columns=2, rows=2, **{field: given(mm)}))
        return {fault["code"] for fault in answer.get_json().get("errors", [])} - {"lumber-too-thin"}

    hair_mm = 0.001  # as exactly as the bounds are told
    assert refusals(span["low_mm"] + hair_mm) == refusals(span["high_mm"] - hair_mm) == set()
    assert refusals(span["low_mm"] - 0.5) == {"too-small"}
    assert refusals(span["high_mm"] + 0.5) == {"too-large"}


def test_the_largest_number_of_boards_can_be_ordered_and_no_more(client, offer):
    most = offer["ranges"]["quantity"]
    assert status(client, order_of(offer, quantity=most)) == 200
    assert status(client, order_of(offer, quantity=most + 1)) == 422


def test_the_longest_outside_can_be_ordered_and_no_more(client, offer):
    most_mm, square_mm = offer["ranges"]["outside_mm"], 30
    rows = int(most_mm // square_mm)
    if rows <= 24:
        assert status(client, order_of(offer, square=f"{square_mm} mm", rows=rows)) == 200
    assert status(client, order_of(offer, square=f"{most_mm / 12:.4f} mm", rows=12)) == 200
    assert status(client, order_of(offer, square=f"{most_mm / 12 + 0.2:.4f} mm", rows=12)) == 422


def test_the_defaults_are_what_an_order_gets(client, offer):
    defaults = offer["defaults"]
    order = client.post("/v1/quotes", json=order_of(offer)).get_json()["order"]
    for name in ("pattern", "finish", "channel", "ship_to", "units"):
        assert order[name] == defaults[name], name
    assert order["thickness_mm"] == defaults["thickness_mm"]
    for name, value in defaults["climate"].items():
        assert order["climate"][name] == value


def test_a_room_of_the_offer_fills_the_climate_of_an_order(client, offer):
    for room in offer["rooms"]:
        order = client.post("/v1/quotes", json=order_of(offer, climate={"room": room["key"]})).get_json()["order"]
        assert order["climate"]["room"] == room["key"]
        for name in ("low_rh_pct", "high_rh_pct", "temperature_c", "temperature_text"):
            assert order["climate"][name] == room[name], room["key"]
    assert client.post("/v1/quotes", json=order_of(offer)).get_json()["order"]["climate"]["room"] is None


def test_destinations_are_listed_or_anywhere(client, offer):
    if offer["destinations"] == ["*"]:
        assert status(client, order_of(offer, ship_to="NZ")) == 200
    else:
        assert offer["destinations"] == sorted(offer["destinations"])
        assert "NZ" not in offer["destinations"]
        assert status(client, order_of(offer, ship_to="NZ")) == 422


def test_texts_of_the_offer_are_in_the_shops_own_units(offer):
    form = r"[\d.]+ mm to [\d.]+ mm" if offer["defaults"]["units"] == "metric" else r"[\d/ ]+ in to [\d/ ]+ in"
    for name in ("square", "thickness", "frame_width", "line_width", "backing"):
        assert re.fullmatch(form, offer["ranges"][name]["text"]), name


@pytest.mark.parametrize(
    ("query", "parameter", "near"),
    [
        ({"shop": "mosgrund"}, "shop", "moosgrund"),
        ({"shp": "moosgrund"}, "shp", "shop"),
        ({"square": "48mm"}, "square", ""),
    ],
)
def test_a_wrong_question_gets_its_faults(client, query, parameter, near):
    answer = client.get("/v1/choices", query_string=query)
    assert answer.status_code == 422
    fault = answer.get_json()["errors"][0]
    assert fault["parameter"] == parameter
    assert near in fault["detail"]


def test_the_offer_names_every_timber_that_the_examples_use(client):
    for order in ORDERS.values():
        offer = client.get("/v1/choices", query_string={"shop": order.get("shop", "moosgrund")}).get_json()
        assert {order["light"], order["dark"]} <= {timber["key"] for timber in offer["timbers"]}
