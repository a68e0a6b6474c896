"""Bodies read strictly: every refusal, and nothing but refusals, for any bytes."""

import io
import json
import time
from typing import Any

import pytest
from flask import Flask, request
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.test import EnvironBuilder, run_wsgi_app

from chequerwork.api import problems
from chequerwork.api.problems import Problem
from chequerwork.api.reading import (
    parse_object,
    read_json,
)
from chequerwork.ops.limits import (
    MAX_BODY_BYTES,
    MAX_DEPTH,
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


# JSON: media type, encoding, size -------------------------------------------------------------------------------------


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


# JSON: content --------------------------------------------------------------------------------------------------------


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
    started = time.process_time()
    assert refusal(body) in (None, 400)
    assert time.process_time() - started < 0.5  # they take milliseconds; a slow machine is allowed for


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
