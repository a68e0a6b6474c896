"""Refusals as problem bodies, and as one line for a cell."""

import csv
import json
import logging
from typing import Any

import pytest
from flask import Flask, abort, request
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.exceptions import RequestedRangeNotSatisfiable, ServiceUnavailable, TooManyRequests
from werkzeug.test import TestResponse

from chequerwork.api import problems
from chequerwork.api.http import finish
from chequerwork.api.problems import KINDS, Problem, inline, parameter, pointer
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.ops.limits import MAX_BODY_BYTES, MAX_FAULTS, MAX_INLINE_CHARS

FAULTS = (
    Fault(at=("frame", "width"), code="too-small", detail="The rail is 5 mm; at least 20 mm."),
    Fault(at=("lines", 0, "width"), code="bad", detail="No length."),
)


@pytest.fixture
def app() -> Flask:
    app = Flask(__name__)
    problems.register(app)
    finish(app, origins=())

    @app.route("/v1/price", methods=["GET", "POST"])
    @app.get("/v1/price.csv")
    @app.get("/v1/price.tsv")
    @app.get("/v1/price.txt")
    def price() -> str:
        raise Refused(FAULTS)

    @app.get("/v1/broken")
    @app.get("/v1/broken.txt")
    def broken() -> str:
        raise ValueError("margin 40 percent")

    @app.get("/v1/abort/<int:status>")
    def stop(status: int) -> str:
        abort(status, description="<b>internal words</b>")

    return app


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def raising(app: Flask, error: Exception) -> TestResponse:
    def view() -> str:
        raise error

    app.add_url_rule("/v1/raised.csv", view_func=view)
    return app.test_client().get("/v1/raised.csv")


def problem_of(response: TestResponse, status: int, slug: str) -> dict[str, Any]:
    assert response.status_code == status
    assert response.headers["Content-Type"] == "application/problem+json"
    assert response.headers["Cache-Control"] == "no-store"
    body: dict[str, Any] = json.loads(response.data)
    assert body["status"] == status
    assert body["type"] == (slug if slug == "about:blank" else f"/problems/{slug}")
    assert slug == "about:blank" or body["title"] == KINDS[slug][1]
    return body


# The body -------------------------------------------------------------------------------------------------------------


def test_a_refused_order_has_every_member_of_a_problem_body(client: FlaskClient):
    """Members as in RFC 9457, section 3, with the errors list of its second example.

    Its pointers are written as URI fragments; ours are the plain pointers that this contract uses everywhere.
    """
    body = problem_of(client.post("/v1/price?shop=secret"), 422, "invalid-order")
    assert list(body) == ["type", "title", "status", "detail", "instance", "errors"]
    assert body["instance"] == "/v1/price"
    assert body["errors"] == [
        {"pointer": "/frame/width", "code": "too-small", "detail": "The rail is 5 mm; at least 20 mm."},
        {"pointer": "/lines/0/width", "code": "bad", "detail": "No length."},
    ]


def test_the_same_faults_of_a_query_name_parameters(client: FlaskClient):
    body = problem_of(client.get("/v1/price"), 422, "invalid-order")
    assert [error["parameter"] for error in body["errors"]] == ["frame.width", "lines.0.width"]
    assert not any("pointer" in error for error in body["errors"])


def test_faults_in_the_query_of_a_post_name_parameters_when_said_so(app: Flask):
    with app.test_request_context("/v1/price", method="POST"):
        body = json.loads(problems.respond(problems.invalid_order(FAULTS, in_query=True)).data)
    assert [error["parameter"] for error in body["errors"]] == ["frame.width", "lines.0.width"]


@pytest.mark.parametrize(
    ("at", "expected"),
    # RFC 6901, section 5: the keys of its example document and their pointers.
    [
        ((), ""),
        (("foo",), "/foo"),
        (("foo", 0), "/foo/0"),
        (("",), "/"),
        (("a/b",), "/a~1b"),
        (("c%d",), "/c%d"),
        (("e^f",), "/e^f"),
        (("g|h",), "/g|h"),
        (("i\\j",), "/i\\j"),
        (('k"l',), '/k"l'),
        ((" ",), "/ "),
        (("m~n",), "/m~0n"),
    ],
)
def test_pointers_are_escaped(at: tuple[str | int, ...], expected: str):
    assert pointer(at) == expected


@given(st.lists(st.text(max_size=8), max_size=4))
def test_a_pointer_leads_back_to_its_path(at: list[str]):
    """RFC 6901, section 4: first ~1, then ~0."""
    steps = pointer(tuple(at)).split("/")[1:]
    assert [step.replace("~1", "/").replace("~0", "~") for step in steps] == at


def test_a_parameter_joins_its_steps_by_dots():
    assert parameter(("lines", 0, "width")) == "lines.0.width"


def test_only_the_first_faults_are_listed_and_all_are_counted(app: Flask):
    faults = [Fault(at=("rows",), code="bad", detail=str(n)) for n in range(MAX_FAULTS + 5)]
    body = problem_of(raising(app, Refused(faults)), 422, "invalid-order")
    assert [error["detail"] for error in body["errors"]] == [str(n) for n in range(MAX_FAULTS)]
    assert f"{MAX_FAULTS + 5} faults" in body["detail"]
    assert f"first {MAX_FAULTS}" in body["detail"]


def test_a_path_that_names_another_host_is_no_reference_to_it(client: FlaskClient):
    body = problem_of(client.get("//elsewhere.example/a b%0a?x=1"), 404, "not-found")
    assert body["instance"] in ("/elsewhere.example/a%20b%0A", "/a%20b%0A")


def test_text_that_is_no_unicode_does_not_break_the_answer(app: Flask):
    fault = Fault(at=("\ud800",), code="bad", detail="\udfff is \0 no name")
    assert problem_of(raising(app, Refused([fault])), 422, "invalid-order")["errors"][0]["code"] == "bad"


# What the framework refuses -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("status", "slug"),
    [
        *((kind[0], slug) for slug, kind in KINDS.items() if slug not in ("invalid-order", "internal-error")),
        (422, "invalid-order"),
        (409, "about:blank"),
        (418, "about:blank"),
    ],
)
def test_every_status_is_a_problem_without_the_frameworks_words(client: FlaskClient, status: int, slug: str):
    response = client.get(f"/v1/abort/{status}")
    body = problem_of(response, status, slug)
    assert "internal words" not in response.text
    assert len(body["detail"]) > 20


def test_an_unknown_path_is_not_found(client: FlaskClient):
    assert "/docs" in problem_of(client.get("/v1/nothing"), 404, "not-found")["detail"]


def test_a_method_that_is_not_allowed_names_those_that_are(client: FlaskClient):
    """RFC 9110, section 15.5.6: Allow is required."""
    response = client.delete("/v1/price")
    body = problem_of(response, 405, "method-not-allowed")
    assert response.headers.getlist("Allow") == ["GET, HEAD, OPTIONS, POST"]
    assert "GET, HEAD, OPTIONS, POST" in body["detail"]
    assert "DELETE" in body["detail"]


def test_content_too_large_has_its_new_name(client: FlaskClient, app: Flask):
    """RFC 9110, section 15.5.14."""
    app.config["MAX_CONTENT_LENGTH"] = 10

    @app.post("/v1/read")
    def read() -> bytes:
        return request.get_data()

    body = problem_of(client.post("/v1/read", data=b"x" * 11), 413, "content-too-large")
    assert body["title"] == "Content Too Large"
    assert str(MAX_BODY_BYTES) in body["detail"]


@pytest.mark.parametrize(
    ("error", "status", "slug", "header", "value"),
    [
        (TooManyRequests(retry_after=7), 429, "too-many-requests", "Retry-After", "7"),
        (ServiceUnavailable(retry_after=9), 503, "unavailable", "Retry-After", "9"),
        (RequestedRangeNotSatisfiable(length=10), 416, "about:blank", "Content-Range", "bytes */10"),
        (
            Problem("key-needed", "Which key?", headers={"WWW-Authenticate": "Bearer"}),
            401,
            "key-needed",
            "WWW-Authenticate",
            "Bearer",
        ),
    ],
)
def test_headers_of_a_refusal_are_kept(app: Flask, error: Exception, status: int, slug: str, header: str, value: str):
    response = raising(app, error)
    problem_of(response, status, slug)
    assert response.headers[header] == value


@pytest.mark.parametrize("path", ["/v1/price", "/v1/nothing", "/v1/broken", "/v1/abort/429"])
def test_head_is_answered_without_a_body(client: FlaskClient, path: str):
    """RFC 9110, section 9.3.2."""
    response = client.head(path)
    assert response.status_code >= 400
    assert response.data == b""
    assert response.headers["Content-Type"] == "application/problem+json"


# What fails -----------------------------------------------------------------------------------------------------------


def test_a_failure_shows_a_request_id_and_nothing_else(client: FlaskClient, caplog: pytest.LogCaptureFixture):
    with caplog.at_level(logging.ERROR):
        response = client.get("/v1/broken?light=pear", headers={"X-Request-Id": "abc-1"})
    body = problem_of(response, 500, "internal-error")
    assert list(body) == ["type", "title", "status", "detail", "instance", "request_id"]
    assert body["request_id"] == response.headers["X-Request-Id"] == "abc-1"
    for secret in ("margin", "ValueError", "Traceback", "pear"):
        assert secret not in response.text


def test_a_failure_is_logged_with_its_id_and_place_but_without_values(
    client: FlaskClient, caplog: pytest.LogCaptureFixture
):
    with caplog.at_level(logging.ERROR):
        client.get("/v1/broken?light=pear", headers={"X-Request-Id": "abc-2"})
    (record,) = caplog.records
    logged = record.getMessage()
    assert "abc-2" in logged
    assert "GET /v1/broken" in logged
    assert "ValueError" in logged
    assert "in broken" in logged
    assert "margin 40 percent" not in logged.replace('raise ValueError("margin 40 percent")', "")
    assert "pear" not in logged


def test_a_failure_behind_the_view_is_a_problem_too(app: Flask):
    """A hook that fails after the view is past Flask's handlers for views."""

    @app.after_request
    def fail(_: Any) -> Any:
        raise KeyError("secret figure")

    response = app.test_client().get("/v1/price")
    body = problem_of(response, 500, "internal-error")
    assert body["request_id"] == response.headers["X-Request-Id"]
    assert "secret" not in response.text


# In a cell ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("suffix", "media_type", "expected"),
    [
        ("txt", "text/plain; charset=utf-8", "ERROR frame.width: The rail is 5 mm; at least 20 mm. (1 of 2 faults)"),
        (
            "csv",
            "text/csv; charset=utf-8; header=present",
            "ERROR frame.width: The rail is 5 mm - at least 20 mm. (1 of 2 faults)",
        ),
        (
            "tsv",
            "text/tab-separated-values; charset=utf-8",
            "ERROR frame.width: The rail is 5 mm - at least 20 mm. (1 of 2 faults)",
        ),
    ],
)
def test_a_cell_shows_one_line_with_status_200(client: FlaskClient, suffix: str, media_type: str, expected: str):
    response = client.get(f"/v1/price.{suffix}?errors=inline&rows=8")
    assert response.status_code == 200
    assert response.headers["Content-Type"] == media_type
    assert response.headers["Cache-Control"] == "no-store"
    assert response.text == expected


@pytest.mark.parametrize("query", ["", "errors=", "errors=inlined", "xerrors=inline", "errors=INLINE"])
def test_a_fault_is_a_problem_unless_inline_is_asked_for(client: FlaskClient, query: str):
    problem_of(client.get(f"/v1/price.txt?{query}"), 422, "invalid-order")


def test_the_json_path_has_no_inline_faults(client: FlaskClient):
    problem_of(client.get("/v1/price?errors=inline"), 422, "invalid-order")
    problem_of(client.post("/v1/price.csv?errors=inline"), 405, "method-not-allowed")


def test_a_mistyped_path_is_told_in_the_cell(client: FlaskClient):
    assert client.get("/v1/prise.csv?errors=inline").text.startswith("ERROR There is nothing at this path.")
    problem_of(client.get("/elsewhere.txt?errors=inline"), 404, "not-found")


def test_a_failure_is_never_told_in_a_cell(client: FlaskClient, caplog: pytest.LogCaptureFixture):
    with caplog.at_level(logging.CRITICAL):
        problem_of(client.get("/v1/broken.txt?errors=inline"), 500, "internal-error")


@pytest.mark.parametrize("slug", ["too-many-requests", "unavailable", "unsupported-media-type", "not-acceptable"])
def test_what_a_program_must_see_keeps_its_status(app: Flask, slug: str):
    def view() -> str:
        raise Problem(slug, "Wait.")

    app.add_url_rule("/v1/late.txt", view_func=view)
    problem_of(app.test_client().get("/v1/late.txt?errors=inline"), KINDS[slug][0], slug)


faults = st.builds(
    Fault,
    at=st.lists(st.text(max_size=9) | st.integers(0, 9), max_size=3).map(tuple),
    code=st.just("bad"),
    detail=st.text(max_size=400),
)


@given(st.text(max_size=400), st.lists(faults, max_size=3), st.booleans())
def test_a_line_is_short_single_and_starts_no_formula(detail: str, errors: list[Fault], in_table: bool):  # noqa: FBT001
    line = inline(Problem("invalid-order", detail, errors=errors), in_table=in_table)
    assert line.startswith("ERROR ")
    assert len(line) <= MAX_INLINE_CHARS
    assert len(line.splitlines()) == 1
    assert "\t" not in line


@given(st.text(st.sampled_from("a,;\"\t\r\n='"), max_size=60))
def test_a_line_in_a_table_is_one_cell_whatever_the_delimiter(detail: str):
    text = inline(Problem("invalid-order", detail), in_table=True)
    for delimiter in ",;\t":
        assert list(csv.reader([text], delimiter=delimiter, strict=True)) == [[text]]


def test_every_kind_of_problem_has_one_status_and_a_title_of_its_own():
    assert len({title for _, title in KINDS.values()}) == len(KINDS)
    assert len({status for status, _ in KINDS.values()}) == len(KINDS)
