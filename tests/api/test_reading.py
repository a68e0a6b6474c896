"""Bodies and queries read strictly: every refusal, and nothing but refusals, for any bytes."""

import io
import json
import time
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask, request
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict
from werkzeug.test import EnvironBuilder, run_wsgi_app

from chequerwork.api import problems
from chequerwork.api.problems import Problem
from chequerwork.api.reading import (
    Presentation,
    parse_object,
    read_args,
    read_json,
    read_presentation,
    read_query,
)
from chequerwork.domain.errors import Fault
from chequerwork.ops.limits import (
    MAX_BODY_BYTES,
    MAX_DEPTH,
    MAX_LIST_ITEMS,
    MAX_PARAMETERS,
    MAX_QUERY_BYTES,
    MAX_STRING_CHARS,
    MAX_VALUES,
)

ORDER = {
    "shop": "heron-slough",
    "columns": 10,
    "square": "1 7/8 in",
    "light": "pear",
    "lines": [{"species": "wenge", "width": "3 mm"}],
    "base": {"material": "plywood", "skirt": {"species": "pear", "width": "10 mm"}},
    "climate": {"low_rh": 35.5, "high_rh": 60},
    "feet": 0,
    "frame": None,
}


@pytest.fixture
def client() -> FlaskClient:
    app = Flask(__name__)
    problems.register(app)

    @app.post("/v1/price")
    def price() -> dict[str, Any]:
        return read_json(request)

    return app.test_client()


# --- JSON: media type, encoding, size ------------------------------------------------------------------


@pytest.mark.parametrize(
    "content_type",
    [
        "application/json",
        "application/json; charset=utf-8",
        "Application/JSON;charset=UTF-8",
        "application/json; charset=utf8",
        "application/merge-patch+json",
    ],
)
def test_json_in_utf8_is_read(client: FlaskClient, content_type: str):
    response = client.post("/v1/price", data=json.dumps(ORDER), content_type=content_type)
    assert (response.status_code, response.json) == (200, ORDER)


@pytest.mark.parametrize(
    "content_type",
    [
        None,
        "",
        "text/plain",
        "text/json",
        "application/jsonp",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/json; charset=utf-16",
        "application/json; charset=latin-1",
        "application/" + "x" * 5000 + "+json",
        "application/json, text/plain",
    ],
)
def test_another_media_type_is_refused_and_the_right_one_is_named(client: FlaskClient, content_type: str | None):
    """RFC 9110, section 15.5.16."""
    response = client.post("/v1/price", data=json.dumps(ORDER), headers={"Content-Type": content_type or ""})
    assert response.status_code == 415
    assert response.headers["Accept-Post"] == "application/json"
    assert len(response.data) < 500


def test_a_compressed_body_is_refused(client: FlaskClient):
    """RFC 9110, section 12.5.3: a 415 with Accept-Encoding says what would do."""
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    response = client.post("/v1/price", data=b"\x1f\x8b", headers=headers)
    assert response.status_code == 415
    assert response.headers["Accept-Encoding"] == "identity"


def body_of(size: int) -> bytes:
    return b'{"a":"' + b"x" * (size - 8) + b'"}'


def test_a_body_of_the_limit_is_read_and_one_byte_more_is_not(client: FlaskClient):
    post = {"path": "/v1/price", "content_type": "application/json"}
    assert client.post(data=body_of(MAX_BODY_BYTES), **post).status_code == 200
    response = client.post(data=body_of(MAX_BODY_BYTES + 1), **post)
    assert response.status_code == 413
    assert str(MAX_BODY_BYTES) in response.get_json(force=True)["detail"]
    assert client.post(data=body_of(MAX_BODY_BYTES * 3), **post).status_code == 413


@pytest.mark.parametrize(("size", "status"), [(MAX_BODY_BYTES, 200), (MAX_BODY_BYTES + 1, 413), (10**6, 413)])
def test_a_body_without_a_length_has_the_same_limit(client: FlaskClient, size: int, status: int):
    """A chunked body: the server ends the stream and says so, as gunicorn does."""
    stream = io.BytesIO(body_of(size))
    environ = EnvironBuilder("/v1/price", method="POST", content_type="application/json").get_environ()
    environ |= {"wsgi.input": stream, "wsgi.input_terminated": True, "HTTP_TRANSFER_ENCODING": "chunked"}
    environ.pop("CONTENT_LENGTH", None)
    assert run_wsgi_app(client.application, environ)[1].startswith(f"{status} ")
    assert stream.tell() <= MAX_BODY_BYTES + 1


def test_a_body_that_stops_early_is_refused(client: FlaskClient):
    environ = EnvironBuilder("/v1/price", method="POST", content_type="application/json").get_environ()
    environ |= {"wsgi.input": io.BytesIO(b'{"a"'), "CONTENT_LENGTH": "100"}
    assert run_wsgi_app(client.application, environ)[1].startswith("400 ")


# --- JSON: content -------------------------------------------------------------------------------------


def code_of(body: bytes) -> str:
    with pytest.raises(Problem) as caught:
        parse_object(body)
    problem = caught.value
    (fault,) = problem.errors
    assert (problem.status, problem.slug, problem.in_query, fault.at) == (400, "unreadable-request", False, ())
    assert len(fault.detail) < 250
    return fault.code


@pytest.mark.parametrize("body", [b"", b"  ", b"\r\n\t"])
def test_an_empty_body_is_refused(body: bytes):
    assert code_of(body) == "empty-body"


@pytest.mark.parametrize(
    "body",
    [
        *(b"{", b"{]", b"{'a':1}", b'{"a":1,}', b'{"a":01}', b'{"a":+1}', b'{"a":.5}', b'{"a":1} x', b"nul", b'{"a"}'),
        *(b'{"a":"\t"}', b'{"a":"\\x"}', b'{"a":"\\u12"}', b"{a:1}", b"/**/{}", b'{"a":0x10}', b'{"a":1_0}', b"{} {}"),
        *('{"a":١}'.encode(), b"\x0b{}"),
    ],
)
def test_what_is_not_json_is_refused_with_its_place(body: bytes):
    """RFC 8259, sections 2 to 7."""
    assert code_of(body) == "bad-json"


def test_the_place_of_the_fault_is_named():
    with pytest.raises(Problem) as caught:
        parse_object(b'{\n "a": 1\n "b": 2}')
    assert "line 3, column 2" in caught.value.errors[0].detail


def test_a_byte_order_mark_is_refused():
    """RFC 8259, section 8.1: it must not be added."""
    assert code_of(b"\xef\xbb\xbf{}") == "byte-order-mark"


@pytest.mark.parametrize(
    "body",
    [
        '{"a":1}'.encode("utf-16"),
        '{"a":1}'.encode("utf-16-le"),
        '{"a":1}'.encode("utf-16-be"),
        '{"a":1}'.encode("utf-32"),
        '{"a":"é"}'.encode("latin-1"),
        b'{"a":"\xc0\xaf"}',  # an overlong form
        b'{"a":"\xed\xa0\x80"}',  # a surrogate
        b'{"a":"\xf4\x90\x80\x80"}',  # above U+10FFFF
        b'{"a":"\x00"}',
    ],
)
def test_what_is_not_utf8_is_refused(body: bytes):
    """RFC 8259, section 8.1; RFC 3629, sections 3 and 10; RFC 7493, section 2.1."""
    assert code_of(body) == "not-utf-8"


@pytest.mark.parametrize("body", [b"[]", b'"a"', b"1", b"null", b"true", b'[{"a":1}]'])
def test_only_an_object_is_an_order(body: bytes):
    assert code_of(body) == "not-an-object"


@pytest.mark.parametrize(
    "body", [b'{"rows":1,"rows":1}', b'{"a":{"rows":1,"b":2,"rows":3}}', b'{"a":[{"rows":1,"\\u0072ows":2}]}']
)
def test_a_name_that_stands_twice_is_refused_and_named(body: bytes):
    """RFC 7493, section 2.3."""
    assert code_of(body) == "duplicate-name"
    with pytest.raises(Problem) as caught:
        parse_object(body)
    assert "'rows'" in caught.value.errors[0].detail


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity"])
def test_words_for_numbers_are_refused(text: str):
    """RFC 8259, section 6: not permitted."""
    assert code_of(f'{{"a":[{text}]}}'.encode()) == "not-finite"


@pytest.mark.parametrize(
    "text",
    ["1e400", "-1e400", "1" + "0" * 309 + ".0", "9007199254740992", "-9007199254740992", "1" * 4300, "1" * 60_000],
)
def test_numbers_that_do_not_survive_are_refused(text: str):
    """RFC 7493, section 2.2: beyond the range of a double, or whole and beyond 2^53 - 1."""
    assert code_of(f'{{"a":[{text}]}}'.encode()) == "number-too-large"


@pytest.mark.parametrize("text", ["9007199254740991", "-9007199254740991", "1e308", "0", "-0", "1E2", "1e-400", "8.0"])
def test_numbers_up_to_the_limit_are_read(text: str):
    assert parse_object(f'{{"a":{text}}}'.encode()) == {"a": json.loads(text)}


@pytest.mark.parametrize(
    "text", ['"\\u0000"', '"a\\u0000b"', '"\\ud800"', '"\\udc00"', '"\\udc00\\ud800"', '"\\ud83d x"', '{"\\ud800":1}']
)
def test_what_is_no_character_is_refused(text: str):
    """RFC 7493, section 2.1: no half surrogate pairs."""
    assert code_of(f'{{"a":[{text}]}}'.encode()) == "bad-character"


@pytest.mark.parametrize(
    ("text", "value"),
    [('"\\ud83d\\ude00"', "\U0001f600"), ('"\\\\u0000"', "\\u0000"), ('"\\u00e9"', "é"), ('"\\ufffd"', "\ufffd")],
)
def test_escaped_characters_are_read(text: str, value: str):
    assert parse_object(f'{{"a":{text}}}'.encode()) == {"a": value}


def nested(depth: int) -> bytes:
    return b'{"a":' + b"[" * (depth - 1) + b"]" * (depth - 1) + b"}"


def test_nesting_has_a_limit():
    parse_object(nested(MAX_DEPTH))
    assert code_of(nested(MAX_DEPTH + 1)) == "too-deep"


def test_the_number_of_values_has_a_limit():
    assert code_of(json.dumps({"a": [1] * MAX_VALUES}).encode()) == "too-many-values"
    parse_object(json.dumps({"a": [1] * (MAX_VALUES - 1)}).encode())


@pytest.mark.parametrize(
    "body",
    [
        b"[" * 20_000,
        b"[" * 20_000 + b"]" * 20_000,
        b'{"a":' * 10_000,
        b'{"a":' * 9_000 + b"1" + b"}" * 9_000,
        b'{"a":' + b"[" * 900 + b"]" * 900 + b"}",
        b'{"a":' + b"9" * 60_000 + b"}",
        b'{"a":1' + b"0" * 4_299 + b"}",
        b'{"a":"' + b"\\u0041" * 10_000 + b'"}',
        b'{"a":"' + b"\\" * 60_000 + b'"}',
        b'{"a":[' + b"[]," * 20_000 + b"1]}",
    ],
)
def test_hostile_bodies_are_answered_at_once(body: bytes):
    started = time.perf_counter()
    assert refusal(body) in (None, 400)
    assert time.perf_counter() - started < 0.5  # they take milliseconds; a slow machine is allowed for


def refusal(body: bytes) -> int | None:
    """Status with which a body is refused, if it is."""
    try:
        parse_object(body)
    except Problem as problem:
        return problem.status
    return None


characters = st.characters(exclude_characters="\0", exclude_categories=("Cs",))
numbers = st.integers(-(2**53) + 1, 2**53 - 1) | st.floats(allow_nan=False, allow_infinity=False)
json_values = st.recursive(
    st.none() | st.booleans() | numbers | st.text(characters, max_size=9),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(characters, max_size=5), inner, max_size=3),
    max_leaves=6,
)


@given(st.dictionaries(st.from_regex("[a-z_]{1,8}", fullmatch=True), json_values, max_size=4), st.booleans())
def test_every_proper_object_is_read_as_it_was_meant(tree: dict[str, Any], ascii_only: bool):  # noqa: FBT001
    assert parse_object(json.dumps(tree, ensure_ascii=ascii_only).encode()) == tree


jsonish = st.text(st.sampled_from('{}[]",:0123456789.eE+-\\u dDaNIntf\n'), max_size=40).map(str.encode)
media_types = st.sampled_from(["application/json", "application/json; charset=utf-8", "text/plain", ""])


@given(st.binary(max_size=60) | jsonish, media_types | st.text(st.characters(max_codepoint=255), max_size=20))
def test_any_bytes_are_a_dict_or_a_refusal(body: bytes, content_type: str):
    app = Flask(__name__)
    environ = EnvironBuilder("/", method="POST", data=body).get_environ()
    environ["CONTENT_TYPE"] = content_type
    with app.request_context(environ):
        try:
            found: dict[str, Any] | Problem = read_json(request)
        except Problem as problem:
            found = problem
    if isinstance(found, Problem):
        assert found.status in (400, 413, 415)
    else:
        json.dumps(found, allow_nan=False, ensure_ascii=False).encode()


# --- Queries -------------------------------------------------------------------------------------------

SHAPE = {
    "shop": "text",
    "columns": "int",
    "rows": "int",
    "square": "text",
    "pieces.king_base": "text",
    "lines": "lines",
    "frame.width": "text",
    "frame.species": "text",
    "base.skirt.width": "text",
    "climate.low_rh": "number",
}


def args_of(query: bytes | str) -> MultiDict[str, str]:
    raw = query if isinstance(query, bytes) else query.encode()
    environ = EnvironBuilder("/").get_environ()
    environ["QUERY_STRING"] = raw.decode("latin-1")
    with Flask(__name__).request_context(environ):
        return read_args(request)


def read(query: str) -> tuple[dict[str, Any], list[Fault]]:
    return read_query(args_of(query), shape=SHAPE)


def fault_of(query: str) -> tuple[tuple[str | int, ...], str, str]:
    tree, faults = read(query)
    (fault,) = faults
    assert fault.at[0] not in tree
    return fault.at, fault.code, fault.detail


def test_a_flat_query_is_the_nested_order():
    tree, faults = read(
        "columns=10&square=1+7/8+in&frame.width=45mm&frame.species=pear&base.skirt.width=1%201/2in"
        "&climate.low_rh=35.5&lines=hard_maple:3mm;wenge:2+mm&refresh=17"
    )
    assert faults == []
    assert tree == {
        "columns": 10,
        "square": "1 7/8 in",
        "frame": {"width": "45mm", "species": "pear"},
        "base": {"skirt": {"width": "1 1/2in"}},
        "climate": {"low_rh": 35.5},
        "lines": [{"species": "hard_maple", "width": "3mm"}, {"species": "wenge", "width": "2 mm"}],
    }


def test_an_empty_query_is_an_empty_order():
    assert read("") == ({}, [])


def test_escapes_in_any_case_are_the_same():
    """RFC 3986, section 6.2.2.1; a spreadsheet re-cases them."""
    assert read("square=2%2b1&shop=%C3%A9") == read("square=2%2B1&shop=%c3%a9") == ({"square": "2+1", "shop": "é"}, [])


@pytest.mark.parametrize("value", ["8.0", "8.5", "+8", " 8", "8 ", "1e1", "0x8", "eight", "--8", "1234567", "٨", "8,0"])
def test_a_whole_number_has_digits_alone(value: str):
    at, code, detail = fault_of(f"columns={quote(value)}")
    assert (at, code) == (("columns",), "wrong-type")
    assert repr(value) in detail


@pytest.mark.parametrize("value", ["35,5", "1e2", ".5", "35.", "+35", "nan", "inf", "35 %", "1.1234567", "٣٥"])
def test_a_number_has_digits_and_a_point(value: str):
    at, code, _ = fault_of(f"climate.low_rh={quote(value)}")
    assert (at, code) == (("climate", "low_rh"), "wrong-type")


@pytest.mark.parametrize(("text", "number"), [("-8", -8), ("008", 8), ("999999", 999_999), ("-0", 0)])
def test_whole_numbers_are_read(text: str, number: int):
    assert read(f"columns={text}") == ({"columns": number}, [])


@pytest.mark.parametrize("value", ["", "%20", "+", "%C2%A0", "%09"])
@pytest.mark.parametrize("name", ["columns", "square", "lines", "climate.low_rh"])
def test_a_parameter_without_a_value_is_a_fault(name: str, value: str):
    at, code, _ = fault_of(f"{name}={value}")
    assert (at, code) == (tuple(name.split(".")), "blank")


def test_a_parameter_given_twice_is_a_fault_even_with_the_same_value():
    at, code, detail = fault_of("frame.width=45mm&frame.width=45mm")
    assert (at, code) == (("frame", "width"), "repeated")
    assert "2 times" in detail


@pytest.mark.parametrize("value", ["a%00b", "a%0Ab", "a%1Bb", "%7Fa", "a%C2%85", "a%E2%80%A8"])
def test_control_characters_are_a_fault(value: str):
    assert fault_of(f"square={value}")[1] == "bad-character"


def test_a_text_has_a_longest_length():
    assert fault_of("square=" + "x" * (MAX_STRING_CHARS + 1))[1] == "too-long"
    assert read("square=" + "x" * MAX_STRING_CHARS)[1] == []


@pytest.mark.parametrize(
    "value", ["wenge", "wenge:", ":3mm", "wenge:3mm;", ";wenge:3mm", "a:1mm;;b:2mm", "a:b:3mm", ";"]
)
def test_a_list_of_lines_has_a_species_and_a_width_each(value: str):
    at, code, detail = fault_of(f"lines={value}")
    assert (at, code) == (("lines",), "bad-list")
    assert "hard_maple:3mm;wenge:2mm" in detail


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("collumns", "columns"),
        ("Columns", "columns"),
        ("frame.widht", "frame.width"),
        ("frame", "frame.width, frame.species"),
        ("base.skirt", "base.skirt.width"),
        ("base", "base.skirt.width"),
        ("delimiter", ".csv or .tsv"),
        ("field", ".txt"),
        ("key", "/docs"),
        ("api_key", "/docs"),
        ("access_token", "/docs"),
        ("", "/docs"),
        (".", "/docs"),
        ("frame..width", "frame.width"),
    ],
)
def test_an_unknown_parameter_is_a_fault_with_what_may_have_been_meant(name: str, hint: str):
    at, code, detail = fault_of(f"{name}=x")
    assert (at, code) == ((name,), "unknown-field")
    assert hint in detail


def test_a_key_in_the_query_is_refused_and_not_repeated():
    _, _, detail = fault_of("key=demo-maker-secret")
    assert "secret" not in detail


def test_all_faults_are_told_at_once_and_the_sound_fields_are_kept():
    tree, faults = read("columns=x&square=48mm&colour=red&frame.width=&frame.species=pear&rows=8&rows=8")
    assert tree == {"square": "48mm", "frame": {"species": "pear"}}
    assert [(".".join(map(str, f.at)), f.code) for f in faults] == [
        ("columns", "wrong-type"),
        ("colour", "unknown-field"),
        ("frame.width", "blank"),
        ("rows", "repeated"),
    ]


def test_too_many_parameters_are_not_looked_at():
    query = "&".join(f"parameter_{n}=1" for n in range(MAX_PARAMETERS + 1))
    tree, (fault,) = read(query)
    assert (tree, fault.code, fault.at) == ({}, "too-many", ())


def test_a_query_full_of_unknown_names_is_answered_at_once():
    query = "&".join(f"frame.widht{n}=1" for n in range(MAX_PARAMETERS))
    started = time.perf_counter()
    _, faults = read(query)
    assert time.perf_counter() - started < 0.5
    assert len(faults) == MAX_PARAMETERS


@pytest.mark.parametrize(
    ("query", "code"),
    [
        (b"square=%", "bad-escape"),
        (b"square=19%&rows=8", "bad-escape"),
        (b"square=%zz", "bad-escape"),
        (b"square=%u0041", "bad-escape"),
        (b"square=%FF", "not-utf-8"),
        (b"square=%C0%AF", "not-utf-8"),
        (b"square=%ED%A0%80", "not-utf-8"),
        (b"%FF=1", "not-utf-8"),
        (b"square=\xe9", "not-ascii"),
        ("square=é".encode(), "not-ascii"),
    ],
)
def test_a_query_that_cannot_be_decoded_is_refused_as_a_whole(query: bytes, code: str):
    """RFC 3986, section 2.1."""
    with pytest.raises(Problem) as caught:
        args_of(query)
    assert (caught.value.status, caught.value.in_query) == (400, True)
    assert caught.value.errors[0].code == code


def test_a_query_has_a_longest_length():
    args_of(b"square=" + b"x" * (MAX_QUERY_BYTES - 7))
    with pytest.raises(Problem) as caught:
        args_of(b"square=" + b"x" * (MAX_QUERY_BYTES - 6))
    assert caught.value.status == 414


queryish = st.text(st.sampled_from("columns=8&frame.width%2B0;:,+delimiter"), max_size=60).map(str.encode)


@given(
    st.binary(max_size=60) | queryish | st.text(max_size=30).map(str.encode),
    st.sampled_from([None, "csv", "tsv", "txt", "svg"]),
)
def test_any_query_is_read_or_refused(query: bytes, sibling: str | None):
    try:
        args: MultiDict[str, str] | Problem = args_of(query)
    except Problem as problem:
        args = problem
    if isinstance(args, Problem):
        assert args.status == 400
        return
    presentation, rest, faults = read_presentation(args, sibling)
    tree, more = read_query(rest, shape=SHAPE)
    assert isinstance(presentation, Presentation)
    assert isinstance(tree, dict)
    # Everything given is read or told.
    assert tree or faults or more or presentation != Presentation() or set(args) <= {"refresh"} or sibling == "tsv"


# --- Presentation --------------------------------------------------------------------------------------


def shown(query: str, sibling: str | None = "csv") -> tuple[Presentation, dict[str, list[str]], list[tuple[str, str]]]:
    presentation, rest, faults = read_presentation(args_of(query), sibling)
    return presentation, rest.to_dict(flat=False), [(str(fault.at[0]), fault.code) for fault in faults]


def test_a_table_is_rfc_4180_unless_asked_otherwise():
    assert shown("square=48mm") == (Presentation(), {"square": ["48mm"]}, [])
    assert Presentation() == Presentation(delimiter=",", decimal=".", bom=False, columns=(), field=None)


def test_tab_separated_values_have_tabs():
    assert shown("", "tsv")[0].delimiter == "\t"
    assert shown("decimal=,", "tsv") == (Presentation(delimiter="\t", decimal=","), {}, [])
    assert shown("delimiter=tab", "tsv")[2] == []
    assert shown("delimiter=;", "tsv")[2] == [("delimiter", "conflict")]


def test_everything_can_be_chosen():
    presentation, rest, faults = shown("delimiter=;&decimal=,&bom=1&errors=inline&columns=price.total&light=pear")
    assert faults == []
    assert rest == {"light": ["pear"]}
    assert presentation == Presentation(
        columns=("price.total",), delimiter=";", decimal=",", bom=True, errors_inline=True
    )


def test_columns_as_a_number_are_the_boards_and_as_names_pick_from_the_answer():
    presentation, rest, faults = shown("columns=10&columns=price.total;geometry.square_in,packing.mass_kg")
    assert presentation.columns == ("price.total", "geometry.square_in", "packing.mass_kg")
    assert (rest, faults) == ({"columns": ["10"]}, [])
    assert read_query(MultiDict(rest), shape=SHAPE) == ({"columns": 10}, [])


@pytest.mark.parametrize("value", ["8.5", "-8", "", "8;10", "8,10"])
def test_columns_without_a_letter_are_meant_to_be_the_boards(value: str):
    presentation, rest, faults = shown(f"columns={value}")
    assert (presentation, rest, faults) == (Presentation(), {"columns": [value]}, [])


def test_columns_are_given_once_of_each():
    assert shown("columns=a.b&columns=c.d")[2] == [("columns", "repeated")]
    presentation, rest, faults = shown("columns=8&columns=9&columns=a.b")
    assert (presentation.columns, rest, faults) == (("a.b",), {"columns": ["8", "9"]}, [])
    assert read_query(MultiDict(rest), shape=SHAPE)[1][0].code == "repeated"


@pytest.mark.parametrize("sibling", [None, "txt", "svg"])
def test_elsewhere_columns_are_always_the_boards(sibling: str | None):
    assert shown("columns=8", sibling)[1] == {"columns": ["8"]}


@pytest.mark.parametrize(
    ("query", "fault"),
    [
        ("columns=a.b;;c", ("columns", "bad-list")),
        ("columns=a.b;", ("columns", "bad-list")),
        ("columns=" + ";".join(["a"] * (MAX_LIST_ITEMS + 1)), ("columns", "too-many")),
        ("delimiter=%09", ("delimiter", "blank")),
        ("delimiter=%7C", ("delimiter", "unknown-name")),
        ("delimiter=TAB", ("delimiter", "unknown-name")),
        ("decimal=comma", ("decimal", "unknown-name")),
        ("decimal=,", ("decimal", "conflict")),
        ("decimal=,&delimiter=,", ("decimal", "conflict")),
        ("bom=yes", ("bom", "unknown-name")),
        ("bom=1&bom=1", ("bom", "repeated")),
        ("errors=text", ("errors", "unknown-name")),
        ("errors=", ("errors", "blank")),
    ],
)
def test_a_wrong_choice_is_a_fault(query: str, fault: tuple[str, str]):
    assert shown(query)[2] == [fault]


def test_a_decimal_comma_beside_commas_is_a_fault_with_its_remedy():
    _, _, (fault,) = read_presentation(args_of("decimal=,"), "csv")
    assert "delimiter=;" in fault.detail


def test_a_text_shows_one_field():
    assert shown("field=price.total&errors=inline", "txt") == (
        Presentation(field="price.total", errors_inline=True),
        {},
        [],
    )
    assert shown("field=a&field=b", "txt")[2] == [("field", "repeated")]
    assert shown("field=", "txt")[2] == [("field", "blank")]


@pytest.mark.parametrize(("name", "sibling"), [("field", "csv"), ("delimiter", "txt"), ("bom", None), ("errors", None)])
def test_a_choice_that_belongs_elsewhere_is_an_unknown_parameter(name: str, sibling: str | None):
    presentation, rest, faults = read_presentation(args_of(f"{name}=1"), sibling)
    assert (presentation, faults) == (Presentation(), [])
    (fault,) = read_query(rest, shape=SHAPE)[1]
    assert fault.code == "unknown-field"
    assert "It belongs to paths that end in" in fault.detail
