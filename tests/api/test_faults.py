"""Every way to fail: status, kind, and where; all faults at once.

How bytes, queries and problem bodies are read and written is tested beside this; here the whole application answers.
"""

import json
from collections.abc import Mapping
from typing import Any

import pytest
from contract.check import ORDERS, flat, maker
from werkzeug.test import TestResponse

from chequerwork.api.schemas import ORDER
from chequerwork.ops.limits import MAX_BODY_BYTES, MAX_DEPTH, MAX_FAULTS, MAX_QUERY_BYTES

LEAST = dict(ORDERS["least"])
JSON = "application/json"
WILLET = {"shop": "willet-slough", "light": "hard_maple"}
DRY = {"climate": {"low_rh": 10}}
FRAME = {"joint": "mitre", "hold": "glued", "species": "pear", "width": "40 mm"}
BASE = {"material": "mdf", "thickness": "9 mm"}


def assert_problem(answer: TestResponse, status: int, kind: str, *places: str) -> dict[str, Any]:
    """The one shape of every refusal (RFC 9457); gives its body for a closer look."""
    body = answer.get_json()
    assert (answer.status_code, body["status"]) == (status, status), body
    assert answer.mimetype == "application/problem+json"
    assert body["type"] == f"/problems/{kind}"
    assert body["instance"] == answer.request.path
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["X-Request-Id"]
    if places:
        assert sorted(where(fault) for fault in body["errors"]) == sorted(places)
    for fault in body.get("errors", []):
        assert fault["detail"].endswith((".", "?")), fault
        assert 20 < len(fault["detail"]) < 700
    return body


def where(fault: Mapping[str, str]) -> str:
    return fault["pointer"] if "pointer" in fault else fault["parameter"]


# The request itself ---------------------------------------------------------------------------------------------------

BODIES = {
    "nothing": (b"", "empty-body"),
    "blank": (b" \n", "empty-body"),
    "no JSON": (b"{square: 48 mm}", "bad-json"),
    "cut off": (b'{"square": "48', "bad-json"),
    "two values": (b"{} {}", "bad-json"),
    "comment": (b'{} // "48 mm"', "bad-json"),
    "a list": (b'[{"square": "48 mm"}]', "not-an-object"),
    "a text": (b'"48 mm"', "not-an-object"),
    "null": (b"null", "not-an-object"),
    "name twice": (b'{"square": "48 mm", "square": "50 mm"}', "duplicate-name"),
    "name twice inside": (b'{"frame": {"width": "1 mm", "width": "2 mm"}}', "duplicate-name"),
    "NaN": (b'{"climate": {"low_rh": NaN}}', "not-finite"),
    "Infinity": (b'{"climate": {"low_rh": -Infinity}}', "not-finite"),
    "infinite by its exponent": (b'{"climate": {"low_rh": 1e999}}', "number-too-large"),
    "huge whole number": (b'{"columns": 9007199254740993}', "number-too-large"),
    "5,000 digits": (b'{"columns": ' + b"9" * 5000 + b"}", "number-too-large"),
    "too deep": (b'{"a":' * (MAX_DEPTH + 1) + b"1" + b"}" * (MAX_DEPTH + 1), "too-deep"),
    "20,000 deep": (b'{"a":' + b"[" * 20_000 + b"]" * 20_000 + b"}", "too-deep"),
    "too many values": (json.dumps({"lines": [0] * 5000}).encode(), "too-many-values"),
    "broken UTF-8": (b'{"light": "\xff\xfe"}', "not-utf-8"),
    "overlong UTF-8": (b'{"light": "\xc0\xaf"}', "not-utf-8"),
    "Latin-1": ('{"light": "érable"}').encode("latin-1"),
    "UTF-16": json.dumps(LEAST).encode("utf-16-le"),
    "byte order mark": (b"\xef\xbb\xbf{}", "byte-order-mark"),
    "half a surrogate pair": (b'{"light": "\\ud800"}', "bad-character"),
    "zero": (b'{"light": "pe\\u0000ar"}', "bad-character"),
}
BODIES = {name: given if isinstance(given, tuple) else (given, "not-utf-8") for name, given in BODIES.items()}


@pytest.mark.parametrize(("body", "code"), BODIES.values(), ids=BODIES)
@pytest.mark.parametrize("path", ["/v1/quotes", "/v1/geometry"])
def test_a_body_that_cannot_be_read_is_400(client, path, body, code):
    answer = client.post(path, data=body, content_type=JSON)
    assert [fault["code"] for fault in assert_problem(answer, 400, "unreadable-request", "")["errors"]] == [code]


@pytest.mark.parametrize("query", ["square=%zz", "square=%", "square=%ff", "light=p\u00e9ar", "square=%c0%af"])
def test_a_query_that_cannot_be_decoded_is_400(client, query):
    environ = {"QUERY_STRING": query.encode().decode("latin-1")}
    assert_problem(client.get("/v1/quotes", environ_overrides=environ), 400, "unreadable-request", "")


@pytest.mark.parametrize("size", [MAX_BODY_BYTES + 1, 3 * MAX_BODY_BYTES])
def test_a_body_that_is_too_large_is_413_with_its_limit(client, size):
    body = assert_problem(client.post("/v1/quotes", data=b" " * size, content_type=JSON), 413, "content-too-large")
    assert str(MAX_BODY_BYTES) in body["detail"]


def test_the_largest_body_is_read(client):
    data = json.dumps(LEAST).encode()
    answer = client.post("/v1/quotes", data=data + b" " * (MAX_BODY_BYTES - len(data)), content_type=JSON)
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "kind", [None, "text/plain", "application/x-www-form-urlencoded", "text/json", "application/json; charset=latin-1"]
)
def test_another_media_type_is_415_with_the_right_one(client, kind):
    answer = client.post("/v1/quotes", data=json.dumps(LEAST), content_type=kind)
    assert_problem(answer, 415, "unsupported-media-type")
    assert answer.headers["Accept-Post"] == JSON


@pytest.mark.parametrize("kind", ["application/json; charset=utf-8", "APPLICATION/JSON", "application/order+json"])
def test_json_by_any_of_its_names_is_read(client, kind):
    assert client.post("/v1/quotes", data=json.dumps(LEAST), content_type=kind).status_code == 200


def test_a_compressed_body_is_415(client):
    answer = client.post("/v1/quotes", json=LEAST, headers={"Content-Encoding": "gzip"})
    assert_problem(answer, 415, "unsupported-media-type")


@pytest.mark.parametrize(
    "path", ["/v1", "/v1/", "/v1/quote", "/v1/quotes/", "/v1/quotes.pdf", "/v1/Quotes", "/v2/quotes", "/x"]
)
def test_a_path_that_is_not_there_is_404(client, path):
    assert_problem(client.get(path), 404, "not-found")


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("DELETE", "/v1/quotes", "GET, HEAD, OPTIONS, POST"),
        ("PUT", "/v1/price", "GET, HEAD, OPTIONS, POST"),
        ("POST", "/v1/quotes.csv", "GET, HEAD, OPTIONS"),
        ("POST", "/v1/choices.csv", "GET, HEAD, OPTIONS"),
        ("POST", "/v1/sources", "GET, HEAD, OPTIONS"),
        ("POST", "/v1/timbers", "GET, HEAD, OPTIONS"),
        ("PATCH", "/healthz", "GET, HEAD, OPTIONS"),
    ],
)
def test_a_method_that_a_path_does_not_have_is_405_with_those_it_has(client, method, path, allowed):
    answer = client.open(path, method=method)
    assert_problem(answer, 405, "method-not-allowed")
    assert answer.headers["Allow"] == allowed


def test_a_query_that_is_too_long_is_414_and_the_longest_is_read(client):
    query = "&".join(f"{name}={value}" for name, value in flat(LEAST).items()).replace(" ", "+")
    longest = query + "&refresh=" + "1" * (MAX_QUERY_BYTES - len(query) - len("&refresh="))
    # The last parameter is longer than a value may be, which is no fault of a parameter that nobody reads.
    assert client.get("/v1/quotes", query_string=longest).status_code == 200
    answer = client.get("/v1/quotes", query_string=longest + "1")
    assert str(MAX_QUERY_BYTES) in assert_problem(answer, 414, "uri-too-long")["detail"]


# What is ordered ------------------------------------------------------------------------------------------------------

# One fault each: what is changed in a small sound order, where the fault is, its code.
FAULTS: list[tuple[dict[str, Any], str, str]] = [
    ({"shop": "mosgrund"}, "/shop", "unknown-name"),
    ({"shop": 5}, "/shop", "wrong-type"),
    ({"columns": 1}, "/columns", "too-small"),
    ({"columns": 25}, "/columns", "too-large"),
    ({"columns": 8.5}, "/columns", "wrong-type"),
    ({"columns": "8"}, "/columns", "wrong-type"),
    ({"columns": True}, "/columns", "wrong-type"),
    ({"columns": 1e308}, "/columns", "too-large"),
    ({"rows": []}, "/rows", "wrong-type"),
    ({"rows": None}, "/rows", "wrong-type"),
    ({"columns": 9, "pattern": "turn"}, "/pattern", "odd-columns"),
    ({"game": "hopscotch"}, "/game", "unknown-name"),
    ({"game": "draughts-10", "columns": 8}, "/columns", "conflict"),
    ({"square": 48}, "/square", "unit-missing"),
    ({"square": "48"}, "/square", "unit-missing"),
    ({"square": "1,5 mm"}, "/square", "comma"),
    ({"square": "9**9**9"}, "/square", "two-numbers"),
    ({"square": "nan mm"}, "/square", "not-finite"),
    ({"square": "-3 in"}, "/square", "sign"),
    ({"square": "1/0 in"}, "/square", "zero-denominator"),
    ({"square": "2 ft 3 in"}, "/square", "two-numbers"),
    ({"square": "48 parsec"}, "/square", "unknown-unit"),
    ({"square": "x" * 5000}, "/square", "too-long"),
    ({"square": ["48 mm"]}, "/square", "unit-missing"),
    ({"square": "0.5 mm"}, "/square", "too-small"),
    ({"square": "21 mm"}, "/square", "too-small"),
    ({"square": "76 mm"}, "/square", "too-large"),
    ({"square": ...}, "/square", "missing"),
    ({"square": ..., "pieces": {"man": "10 mm"}}, "/pieces", "too-small"),
    ({"pieces": {"king_base": 40}}, "/pieces/king_base", "unit-missing"),
    ({"pieces": {}}, "/pieces/king_base", "missing"),
    ({"pieces": {"king_base": "40 mm", "fill_ratio": 1.5}}, "/pieces/fill_ratio", "too-large"),
    ({"pieces": "chess"}, "/pieces", "wrong-type"),
    ({"light": ...}, "/light", "missing"),
    ({"light": "sycamore maple"}, "/light", "unknown-name"),
    ({"light": "Érable sycomore"}, "/light", "unknown-name"),
    ({"light": "sycamore"}, "/light", "ambiguous-name"),
    ({"light": "7 woods"}, "/light", "wrong-type"),
    ({"light": "maple?"}, "/light", "wrong-type"),
    ({"light": "sycamor_maple"}, "/light", "unknown-name"),
    ({"light": "black_walnut"}, "/light", "not-offered"),
    ({"dark": "sycamore_maple"}, "/dark", "conflict"),
    ({"thickness": "9 mm"}, "/thickness", "too-small"),
    ({"thickness": "37 mm"}, "/thickness", "too-large"),
    ({**WILLET, "dark": "purpleheart", "thickness": "1 1/4 in"}, "/thickness", "lumber-too-thin"),
    ({"pattern": "Turn"}, "/pattern", "unknown-name"),
    ({"lines": "wenge:2mm"}, "/lines", "wrong-type"),
    ({"lines": [{"species": "wenge", "width": "2 mm"}] * 7}, "/lines", "too-many"),
    ({"lines": [{"species": "wenge"}]}, "/lines/0/width", "missing"),
    ({"lines": [{"species": "wenge", "width": "0.5 mm"}]}, "/lines/0/width", "too-small"),
    ({"lines": ["wenge"]}, "/lines/0", "wrong-type"),
    ({"frame": []}, "/frame", "wrong-type"),
    ({"frame": {**FRAME, "joint": "dovetail"}}, "/frame/joint", "unknown-name"),
    ({"frame": {**FRAME, "width": "100 mm"}}, "/frame/width", "too-large"),
    ({"frame": {**FRAME, "thickness": "0 mm"}}, "/frame/thickness", "too-small"),
    ({"frame": {**FRAME, "bevel": "9.5 mm"}}, "/frame/bevel", "too-large"),
    ({"frame": {**FRAME, "widht": "40 mm"}}, "/frame/widht", "unknown-field"),
    ({"frame": {**FRAME, "hold": "floating", "width": "15 mm"}, **DRY}, "/frame/width", "too-small"),
    ({"base": {**BASE, "material": "cardboard"}}, "/base/material", "unknown-name"),
    ({"base": {**BASE, "thickness": "7 mm"}}, "/base/thickness", "not-offered"),
    ({"base": {**BASE, "inset": "150 mm"}}, "/base/inset", "too-large"),
    ({"base": {**BASE, "skirt": {"species": "pear", "width": "1 mm"}}}, "/base/skirt/width", "too-small"),
    ({"base": {**BASE, "backing": {"species": "pear", "thickness": "9 mm"}}}, "/base/backing/thickness", "too-large"),
    ({"frame": {**FRAME, "hold": "floating", "edge": "rebate"}}, "/frame/edge", "unknown-name"),
    ({"frame": {**FRAME, "hold": "glued", "edge": "lip"}}, "/frame/edge", "conflict"),
    ({"frame": {**FRAME, "hold": "floating", "edge": "lip", "thickness": "20 mm"}}, "/frame/thickness",
     "too-thin-to-float"),
    ({"grain": {"light": "rift"}}, "/grain/light", "unknown-name"),
    ({"grain": "quarter"}, "/grain", "wrong-type"),
    ({"feet": 3}, "/feet", "too-few"),
    ({"feet": 13}, "/feet", "too-large"),
    ({"finish": "beeswax"}, "/finish", "unknown-name"),
    ({"sanding": {"top": "P181"}}, "/sanding/top", "unknown-name"),
    ({"climate": {"low_rh": 4}}, "/climate/low_rh", "too-small"),
    ({"climate": {"low_rh": "30 %"}}, "/climate/low_rh", "wrong-type"),
    ({"climate": {"low_rh": 70, "high_rh": 40}}, "/climate/low_rh", "conflict"),
    ({"climate": {"room": "sauna"}}, "/climate/room", "unknown-name"),
    ({"climate": {"room": 5}}, "/climate/room", "wrong-type"),
    ({"climate": {"temperature": "21"}}, "/climate/temperature", "unit-missing"),
    ({"climate": {"temperature": "200 F"}}, "/climate/temperature", "too-large"),
    ({"corners": {"within": 0.15}}, "/corners/within", "unit-missing"),
    ({"corners": {"within": "0.005 mm"}}, "/corners/within", "too-small"),
    ({"corners": {"within": "1/4 in"}}, "/corners/within", "too-large"),
    ({"corners": {"confidence": 100}}, "/corners/confidence", "too-large"),
    ({"corners": {"confidence": 49.9}}, "/corners/confidence", "too-small"),
    ({"corners": {"confidence": "95 %"}}, "/corners/confidence", "wrong-type"),
    ({"corners": {"step": "0.1 mm"}}, "/corners/step", "unknown-field"),
    ({"corners": 95}, "/corners", "wrong-type"),
    ({"quantity": 0}, "/quantity", "too-small"),
    ({"quantity": 41}, "/quantity", "too-large"),
    ({"issued_on": "2027-02-30"}, "/issued_on", "no-such-day"),
    ({"issued_on": "1 February 2027"}, "/issued_on", "wrong-type"),
    ({"issued_on": "20270201"}, "/issued_on", "wrong-type"),
    ({"starts_on": "2027-01-31"}, "/starts_on", "in-the-past"),
    ({"wanted_by": "2027-01-31"}, "/wanted_by", "in-the-past"),
    ({"ship_to": "nl"}, "/ship_to", "wrong-type"),
    ({"ship_to": "XX"}, "/ship_to", "unknown-name"),
    ({"ship_to": "JP"}, "/ship_to", "not-offered"),
    ({"channel": "own_sight"}, "/channel", "unknown-name"),
    ({"payment": "crad"}, "/payment", "unknown-name"),
    ({"currency": "EUX"}, "/currency", "unknown-name"),
    ({"currency": "JPY"}, "/currency", "not-offered"),
    ({"currency": "eur"}, "/currency", "wrong-type"),
    ({"units": "SI"}, "/units", "unknown-name"),
    ({"farme": None}, "/farme", "unknown-field"),
    ({"a/b~c": 1}, "/a~1b~0c", "unknown-field"),
    ({"square": "74 mm", "columns": 14}, "/square", "too-large"),
]  # fmt: skip


def changed(changes: Mapping[str, Any]) -> dict[str, Any]:
    """The small sound order with these changes; ``...`` leaves a field out."""
    return {name: value for name, value in {**LEAST, **changes}.items() if value is not ...}


@pytest.mark.parametrize(("changes", "pointer", "code"), FAULTS)
def test_one_fault_of_an_order_is_named_with_its_place_and_code(client, changes, pointer, code):
    body = assert_problem(client.post("/v1/quotes", json=changed(changes)), 422, "invalid-order", pointer)
    assert [fault["code"] for fault in body["errors"]] == [code]
    assert body["detail"] == "One fault stops this order; see errors."


# The same in a query, where texts are all there is: what is given, which parameter, its code.
IN_QUERY: list[tuple[dict[str, Any], str, str]] = [
    ({"columns": "eight"}, "columns", "wrong-type"),
    ({"columns": "8.0"}, "columns", "wrong-type"),
    ({"columns": "1e1"}, "columns", "wrong-type"),
    ({"columns": "٨"}, "columns", "wrong-type"),
    ({"columns": "25"}, "columns", "too-large"),
    ({"square": "48"}, "square", "unit-missing"),
    ({"square": ""}, "square", "blank"),
    ({"square": ["48 mm", "50 mm"]}, "square", "repeated"),
    ({"light": "pe\nar"}, "light", "bad-character"),
    ({"lines": "wenge"}, "lines", "bad-list"),
    ({"lines": "wenge:2mm;"}, "lines", "bad-list"),
    ({"lines": "wenge:2mm:3mm"}, "lines", "bad-list"),
    ({"lines": "wenge:0.5mm"}, "lines.0.width", "too-small"),
    ({"climate.low_rh": "1e1"}, "climate.low_rh", "wrong-type"),
    ({"climate.low_rh": "nan"}, "climate.low_rh", "wrong-type"),
    ({"climate.low_rh": "4"}, "climate.low_rh", "too-small"),
    ({"corners.within": "0.15"}, "corners.within", "unit-missing"),
    ({"corners.confidence": "100"}, "corners.confidence", "too-large"),
    ({"frame": "mitre"}, "frame", "unknown-field"),
    ({"framewidth": "40mm"}, "framewidth", "unknown-field"),
    ({"field": "price.total"}, "field", "unknown-field"),
    ({"errors": "inline"}, "errors", "unknown-field"),
    ({"ship_to": "XX"}, "ship_to", "unknown-name"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "parameter", "code"), IN_QUERY)
def test_one_fault_of_a_query_is_named_with_its_parameter_and_code(client, changes, parameter, code):
    answer = client.get("/v1/quotes", query_string={**flat(LEAST), **changes})
    body = assert_problem(answer, 422, "invalid-order", parameter)
    assert [fault["code"] for fault in body["errors"]] == [code]


def test_every_field_of_the_contract_has_a_fault_of_its_own_here():
    told = {pointer.split("/")[1] for _, pointer, _ in FAULTS}
    assert set(ORDER.fields) <= told


# Many at once ---------------------------------------------------------------------------------------------------------

TWELVE = {
    "columns": 1, "rows": "8", "game": 7, "square": 48, "light": "sycamor_maple", "dark": None, "pattern": "trun",
    "finish": "beeswax", "quantity": 41, "ship_to": "nl", "issued_on": "2027-02-30", "units": "SI",
}  # fmt: skip
PLACES = [
    "/columns", "/rows", "/game", "/square", "/light", "/dark", "/pattern", "/finish", "/quantity", "/ship_to",
    "/issued_on", "/units",
]  # fmt: skip


def test_twelve_faults_of_a_body_are_told_at_once(client):
    """Those of single fields and those that only the shop can see, in one answer."""
    body = assert_problem(client.post("/v1/quotes", json=TWELVE), 422, "invalid-order", *PLACES)
    assert body["detail"] == "12 faults stop this order; see errors."


def test_twelve_faults_of_a_query_are_told_at_once(client):
    query = {
        "columns": "1", "rows": "8.5", "game": "a b", "square": "48", "light": "sycamor_maple", "dark": "",
        "pattern": "trun", "finish": "beeswax", "quantity": "41", "lines": "wenge", "frmae.width": "40 mm",
        "units": "SI",
    }  # fmt: skip
    body = assert_problem(client.get("/v1/quotes", query_string=query), 422, "invalid-order", *query)
    assert body["detail"] == "12 faults stop this order; see errors."


def test_faults_of_one_field_are_not_told_twice(client):
    """A field that cannot be read is not also missing, nor judged by a default that was not meant."""
    body = {"square": 48, "light": 5, "dark": "pear", "columns": 9.5, "pattern": "turn", "climate": {"low_rh": "x"}}
    assert_problem(
        client.post("/v1/quotes", json=body), 422, "invalid-order", "/square", "/light", "/columns", "/climate/low_rh"
    )
    query = {"square": "48", "light": "", "dark": "pear"}
    assert_problem(client.get("/v1/quotes", query_string=query), 422, "invalid-order", "square", "light")


def test_a_list_of_faults_ends_and_says_so(client):
    body = {**LEAST, **{f"x{n}": n for n in range(100)}}
    told = assert_problem(client.post("/v1/quotes", json=body), 422, "invalid-order")
    assert len(told["errors"]) == MAX_FAULTS
    assert told["detail"] == f"100 faults stop this order; see errors. The first {MAX_FAULTS} are listed."


@pytest.mark.parametrize(
    ("changes", "near"),
    [
        ({"shop": "mosgrund"}, "moosgrund"),
        ({"light": "sycamor_maple"}, "sycamore_maple"),
        ({"light": "birnbaum"}, "pear"),
        ({"game": "ches"}, "chess"),
        ({"finish": "hardwax-oil"}, "hardwax_oil"),
        ({"channel": "own_sight"}, "own_site"),
        ({"payment": "crad"}, "card"),
        ({"currency": "EUX"}, "EUR"),
        ({"sanding": {"top": "P181"}}, "P180"),
        ({"farme": {}}, "frame"),
        ({"qantity": 2}, "quantity"),
        ({"frame": {**FRAME, "widht": "4 mm"}}, "width"),
        ({"base": {**BASE, "material": "birchplywood"}}, "birch_plywood"),
        ({"square": "48 mn"}, "mm"),
    ],
)
def test_an_unknown_name_gets_those_that_look_like_it(client, changes, near):
    faults = client.post("/v1/quotes", json=changed(changes)).get_json()["errors"]
    assert any(near in fault["detail"] for fault in faults)
    assert not any("Traceback" in fault["detail"] for fault in faults)


def test_a_refusal_is_the_same_for_every_section_and_form(client):
    """One reader: the same order has the same faults wherever it is sent."""
    order = {"square": "200 mm", "light": "pear", "dark": "teak", "quantity": 99}
    told = client.post("/v1/quotes", json=order).get_json()["errors"]
    for section in ("geometry", "movement", "schedule", "packing", "compliance", "price", "cutting"):
        answer = client.post(f"/v1/{section}", json=order, headers=maker(LEAST))
        assert answer.get_json()["errors"] == told
        flat_told = client.get(f"/v1/{section}.csv", query_string=flat(order), headers=maker(LEAST)).get_json()[
            "errors"
        ]
        assert [(f["code"], f["detail"]) for f in flat_told] == [(f["code"], f["detail"]) for f in told]


SWAPPED = {"low_rh": 70, "high_rh": 40}


@pytest.mark.parametrize(
    ("beside", "at"),
    [
        ({"temperature": "21"}, "/climate/temperature"),
        ({"room": 5}, "/climate/room"),
        ({"room": "sauna"}, "/climate/room"),
        ({"humidity": 50}, "/climate/humidity"),
    ],
)
def test_swapped_humidities_are_named_beside_any_other_fault_of_the_climate(client, beside, at):
    body = {**LEAST, "climate": {**SWAPPED, **beside}}
    errors = client.post("/v1/quotes", json=body).get_json()["errors"]
    assert {fault["pointer"] for fault in errors} == {at, "/climate/low_rh"}
    assert {fault["code"] for fault in errors if fault["pointer"] == "/climate/low_rh"} == {"conflict"}


@pytest.mark.parametrize(
    "climate",
    [
        {"low_rh": "70 %", "high_rh": 20},  # what was not read may have been sound
        {"low_rh": 70, "high_rh": 4},
        {"room": 5, "low_rh": 70},  # and so may what would have filled the gap
        {"temperature": "21", "low_rh": 40, "high_rh": 70},
        {"temperature": "21", "room": "open_warm_damp", "low_rh": 84},
    ],
)
def test_humidities_are_compared_only_where_both_are_known(client, climate):
    errors = client.post("/v1/quotes", json={**LEAST, "climate": climate}).get_json()["errors"]
    assert len(errors) == 1
    assert errors[0]["code"] != "conflict"


def test_swapped_humidities_of_a_flat_query_are_named_beside_what_could_not_be_read(client):
    query = {**flat(LEAST), "climate.low_rh": "70", "climate.high_rh": "40", "climate.temperature": "warm"}
    errors = client.get("/v1/price", query_string=query).get_json()["errors"]
    assert {fault["parameter"] for fault in errors} == {"climate.temperature", "climate.low_rh"}
    query = {**flat(LEAST), "climate.low_rh": "x", "climate.high_rh": "20"}
    errors = client.get("/v1/price", query_string=query).get_json()["errors"]
    assert [fault["parameter"] for fault in errors] == ["climate.low_rh"]
