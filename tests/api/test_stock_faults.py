"""What ``/v1/stock-plan`` refuses: every fault at once and at its place, and by a clear limit what is too much."""

import json
import time
from typing import Any

import pytest
from contract.check import ORDERS, flat
from stock_requests import KEY, PATH, a_part, a_request, planned, refused, some_wood

from chequerwork.api.stock_schemas import MOST_DEFECTS, MOST_EQUAL, MOST_KINDS, MOST_ORDERS
from chequerwork.domain.stock.request import MOST_BOARDS, MOST_PIECES
from chequerwork.ops.limits import MAX_BODY_BYTES, STOCK_BODY_BYTES, STOCK_VALUES

ORDER = ORDERS["least"]


# What is asked --------------------------------------------------------------------------------------------------------


def test_one_of_three_ways_says_what_is_to_be_cut(client):
    assert refused(client, {}) == {"/order": "missing"}
    assert refused(client, a_request(order=ORDER)) == {"/parts": "conflict"}
    assert refused(client, {"order": ORDER, "orders": [ORDER]}) == {"/orders": "conflict"}


def test_every_fault_is_told_at_once_and_at_its_place(client):
    body = a_request(
        parts=[a_part(length="0 mm", count=10**6), a_part(species="perr", colour="red"), 7],
        boards=[
            some_wood(length="-2 m", thickness="1 in"),
            some_wood(id="b2", defects=[{"from": "10 mm", "to": "60 mm"}, {"from": "5 mm"}], price="cheap"),
        ],
        saw={"kerf": "3 mm", "keep_value": 101},
        goal="speed",
    )
    assert refused(client, body) == {
        "/parts/0/length": "too-small",
        "/parts/0/count": "too-large",
        "/parts/1/id": "duplicate-id",
        "/parts/1/species": "unknown-name",
        "/parts/1/colour": "unknown-field",
        "/parts/2": "wrong-type",
        "/boards/0/length": "sign",
        "/boards/0/class": "conflict",
        "/boards/1/defects/1/to": "missing",
        "/boards/1/price": "wrong-type",
        "/saw/kerf": "unknown-field",
        "/saw/keep_value": "too-large",
        "/goal": "unknown-name",
    }


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (a_request(parts=[]), {"/parts": "too-few"}),
        (a_request(boards=[]), {"/boards": "too-few"}),
        ({"orders": []}, {"/orders": "too-few"}),
        ({"orders": [ORDER, 7]}, {"/orders/1": "wrong-type"}),
        ({"order": []}, {"/order": "wrong-type"}),
        (a_request(parts={"a": 1}), {"/parts": "wrong-type"}),
        (a_request(buy="yes"), {"/buy": "wrong-type"}),
        (a_request(units="furlongs"), {"/units": "unknown-name"}),
        (a_request(shop="nowhere"), {"/shop": "unknown-name"}),
        (a_request(boards=[some_wood(sheet=1)]), {"/boards/0/sheet": "wrong-type"}),
        (a_request(boards=None), {"/boards": "wrong-type"}),
        (a_request(partz=[]), {"/partz": "unknown-field"}),
    ],
)
def test_a_field_of_the_wrong_kind_is_refused(client, body, expected):
    assert refused(client, body) == expected


@pytest.mark.parametrize("name", ["id", "species", "length", "width", "thickness"])
def test_a_part_needs_its_name_wood_and_sizes(client, name):
    assert refused(client, a_request(parts=[a_part(**{name: ...})])) == {f"/parts/0/{name}": "missing"}


@pytest.mark.parametrize("name", ["length", "width", "thickness"])
@pytest.mark.parametrize(("size", "code"), [("0 mm", "too-small"), ("-3 in", "sign"), (40, "unit-missing")])
def test_a_size_is_more_than_nothing_and_has_a_unit(client, name, size, code):
    assert refused(client, a_request(parts=[a_part(**{name: size})])) == {f"/parts/0/{name}": code}
    board = some_wood(**{"class": ..., "thickness": "1 in", name: size})
    assert refused(client, a_request(boards=[board])) == {f"/boards/0/{name}": code}


def test_an_order_is_read_as_everywhere(client):
    order = {**ORDER, "square": 48, "dark": "driftwood", "frame": {"joint": "glue"}}
    everywhere = client.post("/v1/cutting", json=order, headers=KEY).get_json()["errors"]
    for body, place in (({"order": order}, "/order"), ({"orders": [ORDER, order]}, "/orders/1")):
        assert refused(client, body) == {f"{place}{fault['pointer']}": fault["code"] for fault in everywhere}


def test_an_order_asked_flat_has_the_faults_of_its_parameters(client):
    query = {**flat(ORDER), "square": "48", "columns": "x", "goal": "speed", "boards": "1", "lines": "a"}
    asked = client.get(PATH, query_string=query, headers=KEY)
    assert asked.status_code == 422
    found = {fault["parameter"]: fault["code"] for fault in asked.get_json()["errors"]}
    assert found == {
        "square": "unit-missing",
        "columns": "wrong-type",
        "goal": "unknown-name",
        "boards": "unknown-field",
        "lines": "bad-list",
    }
    missing = client.get(PATH, query_string={"light": "pear", "dark": "wenge"}, headers=KEY).get_json()["errors"]
    assert [fault["parameter"] for fault in missing] == ["square"]


def test_all_orders_are_of_the_shop_that_is_asked(client):
    other = {**ORDER, "shop": "willet-slough"}
    own = {**ORDER, "shop": "moosgrund"}
    assert refused(client, {"orders": [own, other]})["/orders/1/shop"] == "conflict"
    assert refused(client, {"shop": "moosgrund", "order": other})["/order/shop"] == "conflict"
    assert refused(client, {"order": {**ORDER, "shop": "nowhere"}}) == {"/order/shop": "unknown-name"}


# Boards ---------------------------------------------------------------------------------------------------------------


def test_a_board_has_a_thickness_or_a_class_and_at_most_one_price(client):
    for changes, expected in (
        ({"class": ...}, {"/boards/0/thickness": "missing"}),
        ({"thickness": "1 in"}, {"/boards/0/class": "conflict"}),
        ({"class": "7/4"}, {"/boards/0/class": "unknown-name"}),
        ({"class": "thick"}, {"/boards/0/class": "wrong-type"}),
        ({"price": "1", "price_per_m3": "2"}, {"/boards/0/price_per_m3": "conflict"}),
        ({"price": 31.5}, {"/boards/0/price": "wrong-type"}),
        ({"price": "-1"}, {"/boards/0/price": "wrong-type"}),
        ({"price": "1e3"}, {"/boards/0/price": "wrong-type"}),
    ):
        assert refused(client, a_request(boards=[some_wood(**changes)])) == expected


@pytest.mark.parametrize(
    ("defects", "expected"),
    [
        ([("10 mm", "10 mm")], {"/boards/0/defects/0/to": "conflict"}),
        ([("30 mm", "10 mm")], {"/boards/0/defects/0/to": "conflict"}),
        ([("10 mm", "2000.1 mm")], {"/boards/0/defects/0/to": "beyond-board"}),
        ([("10 mm", "50 mm"), ("49 mm", "80 mm")], {"/boards/0/defects/1/from": "overlapping"}),
        ([("49 mm", "80 mm"), ("10 mm", "50 mm")], {"/boards/0/defects/0/from": "overlapping"}),
        ([("10 mm", "500 mm"), ("20 mm", "30 mm"), ("400 mm", "600 mm")],
         {"/boards/0/defects/1/from": "overlapping", "/boards/0/defects/2/from": "overlapping"}),
        ([("10 mm", "50 mm"), ("-1 mm", "80 mm")], {"/boards/0/defects/1/from": "sign"}),
    ],
)  # fmt: skip
def test_defects_lie_on_the_board_and_apart(client, defects, expected):
    told = [{"from": start, "to": end} for start, end in defects]
    assert refused(client, a_request(boards=[some_wood(defects=told)])) == expected


def test_defects_may_touch_and_reach_both_ends(client):
    told = [{"from": "0 mm", "to": "50 mm"}, {"from": "50 mm", "to": "90 mm"}, {"from": "1990 mm", "to": "2000 mm"}]
    assert planned(client, a_request(boards=[some_wood(defects=told)]))


def test_a_wood_that_the_shop_does_not_buy_needs_a_price(client):
    """Teak is in the table, but not in the shop's."""
    assert refused(client, a_request(boards=[some_wood(species="teak")])) == {"/boards/0/price": "price-needed"}
    part = a_part(species="teak")
    assert planned(client, a_request(parts=[part], boards=[some_wood(species="teak", price="80")]))
    sheet = {"class": ..., "species": "hardboard", "thickness": "3.2 mm", "sheet": True}
    assert refused(client, a_request(boards=[some_wood(**sheet)])) == {"/boards/0/price": "price-needed"}
    sheet |= {"species": "mdf", "thickness": "25 mm"}
    assert refused(client, a_request(boards=[some_wood(**sheet)])) == {"/boards/0/price": "price-needed"}


def test_a_wood_by_another_name_is_answered_with_its_key(client):
    """As for an order; names of several woods are not guessed at."""
    boards = [some_wood(id=str(n), species=name) for n, name in enumerate(("Birne", "walnut", "birch_plywood", "per"))]
    answer = client.post(PATH, json=a_request(boards=boards), headers=KEY)
    told = {fault["pointer"]: fault for fault in answer.get_json()["errors"]}
    assert "pear" in told["/boards/0/species"]["detail"]
    assert told["/boards/1/species"]["code"] == "ambiguous-name"
    assert "sheet true" in told["/boards/2/species"]["detail"]
    assert "pear" in told["/boards/3/species"]["detail"]
    sheet = a_request(parts=[a_part(species="brich_plywood")])
    assert "birch_plywood" in client.post(PATH, json=sheet, headers=KEY).get_json()["errors"][0]["detail"]


# What no board can give -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "given", "code"),
    [
        ("length", "2100 mm", "no-board-long-enough"),
        ("width", "170 mm", "no-board-wide-enough"),
        ("thickness", "30 mm", "no-board-thick-enough"),
        ("species", "wenge", "no-such-board"),
        ("sawn", "quarter", "no-board-so-sawn"),
    ],
)
def test_a_part_that_no_board_can_give_is_named_with_the_nearest_that_would_do(client, field, given, code):
    body = a_request(parts=[a_part(id="small"), a_part(**{field: given})], boards=[some_wood(sawn="flat")])
    answer = client.post(PATH, json=body, headers=KEY)
    assert answer.status_code == 422
    (fault,) = answer.get_json()["errors"]
    assert (fault["pointer"], fault["code"]) == (f"/parts/1/{field}", code)
    assert fault["detail"].startswith("strip")


def test_an_order_larger_than_every_board_is_told_at_the_field_that_decides_it(client):
    boards = [some_wood(), some_wood(id="b2", species="wenge", length="300 mm", price="9")]
    order = {**ORDER, "light": "pear", "dark": "wenge"}
    answer = client.post(PATH, json={"order": order, "boards": boards, "buy": False}, headers=KEY)
    assert {fault["pointer"] for fault in answer.get_json()["errors"]} == {"/order/square"}


def details(client, body):
    answer = client.post(PATH, json=body, headers=KEY)
    assert answer.status_code == 422
    return {fault["pointer"]: fault["detail"] for fault in answer.get_json()["errors"]}


def test_a_timber_that_is_lacking_is_told_once_at_its_own_field(client):
    found = details(
        client, {"order": {**ORDER, "light": "pear", "dark": "wenge"}, "boards": [some_wood()], "buy": False}
    )
    assert list(found) == ["/order/dark"]
    assert "let it be bought (buy true)" in found["/order/dark"]


def test_the_nearest_thickness_is_looked_for_in_all_that_the_shop_buys(client):
    """The demo shop buys walnut to 8/4, 50.8 mm, and MDF of 6 and 9 mm."""
    walnut = {"species": "european_walnut", "thickness": "80 mm"}
    board = some_wood(**{"species": "european_walnut", "class": ..., "thickness": "30 mm"})
    body = a_request(parts=[a_part(**walnut)], boards=[board], buy=True)
    assert "gives 50.8 mm" in details(client, body)["/parts/0/thickness"]
    assert "gives 30 mm" in details(client, {**body, "buy": False})["/parts/0/thickness"]
    sheet = some_wood(**{"species": "mdf", "class": ..., "thickness": "6 mm", "sheet": True})
    body = a_request(parts=[a_part(species="mdf", thickness="8.2 mm")], boards=[sheet], buy=True)
    assert "gives 9 mm" in details(client, body)["/parts/0/thickness"]


def test_the_machine_that_is_the_limit_is_named(client):
    """260 mm of the jointer less two edges of 1.2 mm: no wider board helps."""
    body = a_request(parts=[a_part(width="300 mm")], boards=[some_wood(width="420 mm")])
    assert "the jointer takes 260 mm, of which jointing leaves 257.6 mm" in details(client, body)["/parts/0/width"]
    body = a_request(
        parts=[a_part(length="50 mm", width="30 mm")],
        boards=[some_wood(length="290 mm", width="100 mm")],
        saw={"end_trim": "0 mm"},
    )
    assert "no section shorter than 300 mm" in details(client, body)["/parts/0/length"]


def test_the_first_order_says_the_shop_and_no_later_one_turns_the_key_away(client):
    orders = [ORDER, {**ORDER, "square": 48}, {**ORDER, "shop": "willet-slough"}]
    assert refused(client, {"orders": orders}) == {"/orders/1/square": "unit-missing", "/orders/2/shop": "conflict"}


# Limits ---------------------------------------------------------------------------------------------------------------


def kinds(entry: Any, count: int) -> list[dict[str, Any]]:
    return [entry(id=f"n{number}") for number in range(count)]


def test_more_than_is_looked_at_is_refused_by_its_limit(client):
    defects = [{"from": f"{10 * n} mm", "to": f"{10 * n + 5} mm"} for n in range(MOST_DEFECTS + 1)]
    for body, expected in (
        (a_request(parts=kinds(a_part, MOST_KINDS + 1)), {"/parts": "too-many"}),
        (a_request(boards=kinds(some_wood, MOST_KINDS + 1)), {"/boards": "too-many"}),
        ({"orders": [ORDER] * (MOST_ORDERS + 1)}, {"/orders": "too-many"}),
        (a_request(boards=[some_wood(defects=defects)]), {"/boards/0/defects": "too-many"}),
        (a_request(boards=[some_wood(count=MOST_EQUAL + 1)]), {"/boards/0/count": "too-large"}),
        (a_request(parts=[a_part(count=MOST_PIECES), a_part(id="more", count=1)]), {"/parts": "too-many"}),
    ):
        assert refused(client, body) == expected
    boards = [some_wood(id=f"n{number}", count=MOST_EQUAL) for number in range(MOST_BOARDS // MOST_EQUAL)]
    assert refused(client, a_request(boards=[*boards, some_wood()])) == {"/boards": "too-many"}


def test_orders_of_too_many_pieces_are_refused(client):
    """20 orders of 40 boards of 32 and more pieces."""
    order = {
        **ORDER,
        "quantity": 40,
        "columns": 24,
        "rows": 2,
        "square": "22 mm",
        "lines": [{"species": "pear", "width": "2 mm"}],
    }
    assert refused(client, {"orders": [order] * MOST_ORDERS}) == {"/orders": "too-many"}


def test_a_body_may_be_longer_than_an_order_and_no_longer_than_its_own_limit(client):
    body = json.dumps(a_request()).encode()
    for size, status in ((MAX_BODY_BYTES + 1, 200), (STOCK_BODY_BYTES, 200), (STOCK_BODY_BYTES + 1, 413), (10**6, 413)):
        padded = body + b" " * (size - len(body))
        answer = client.post(PATH, data=padded, content_type="application/json", headers=KEY)
        assert answer.status_code == status
        if status == 413:
            assert str(STOCK_BODY_BYTES) in answer.get_json()["detail"]


def test_more_values_than_are_read_are_refused_as_unreadable(client):
    body = a_request(parts=[{str(n): 0 for n in range(STOCK_VALUES)}])
    answer = client.post(PATH, json=body, headers=KEY)
    assert answer.status_code == 400
    assert str(STOCK_VALUES) in answer.get_json()["errors"][0]["detail"]


def test_thousands_of_faults_are_counted_in_little_time(client):
    """Each unknown name costs a search; only as many are made as are told."""
    wrong = {f"field{n}": 0 for n in range(40)}
    parts = [{**a_part(id=f"n{n}", species=f"wood{n}"), **wrong} for n in range(MOST_KINDS)]
    begun = time.process_time()
    answer = client.post(PATH, json=a_request(parts=parts), headers=KEY)
    assert time.process_time() - begun < 3
    assert answer.status_code == 422
    assert answer.get_json()["detail"].startswith(f"{41 * MOST_KINDS} faults")
    assert len(answer.get_json()["errors"]) == 20
