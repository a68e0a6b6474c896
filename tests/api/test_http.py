"""What every answer carries: request id, security headers, CORS, entity tags."""

import re
from types import SimpleNamespace
from typing import Any

import pytest
from flask import Flask, Response, g, request
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from chequerwork.api import problems
from chequerwork.api.http import answer, entity_tag, finish
from chequerwork.api.problems import Problem
from chequerwork.ops.limits import MAX_REQUEST_ID_CHARS

BODY = b'{"price":{"total":"449.00"}}'
HERE = "https://shop.example"
OTHER = "https://other-shop.example"
STRANGER = "https://stranger.example"


@pytest.fixture
def app() -> Flask:
    app = Flask(__name__)
    finish(app, origins=frozenset({HERE, OTHER}))
    problems.register(app)

    @app.route("/v1/price", methods=["GET", "POST"])
    def price() -> Response:
        return answer(request, BODY, "application/json", private=False)

    @app.get("/v1/cutting")
    def cutting() -> Response:
        if "Authorization" not in request.headers:
            raise Problem("key-needed", "Which key?")
        return answer(request, BODY, "application/json", private=True)

    @app.get("/v1/choices")
    def choices() -> Response:
        g.shop = SimpleNamespace(origins=(HERE,))
        return answer(request, BODY, "application/json", private=False)

    @app.get("/docs")
    def docs() -> Response:
        return Response("<p>", headers={"Content-Security-Policy": "default-src 'self'"})

    return app


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


def tokens(response: TestResponse, header: str) -> set[str]:
    return {token.strip() for token in response.headers.get(header, "").split(",")} - {""}


# On every answer ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/v1/price", "/v1/cutting", "/v1/nothing", "/docs"])
def test_every_answer_has_the_security_headers_once(client: FlaskClient, path: str):
    headers = client.get(path).headers
    assert headers.getlist("X-Content-Type-Options") == ["nosniff"]
    assert headers.getlist("Referrer-Policy") == ["no-referrer"]
    assert headers.getlist("Cross-Origin-Resource-Policy") == ["cross-origin"]
    policy = "default-src 'self'" if path == "/docs" else "default-src 'none'; frame-ancestors 'none'"
    assert headers.getlist("Content-Security-Policy") == [policy]


@pytest.mark.parametrize("given_id", ["a", "A-1_b.2", "x" * MAX_REQUEST_ID_CHARS])
@pytest.mark.parametrize("path", ["/v1/price", "/v1/nothing"])
def test_a_well_formed_request_id_is_repeated(client: FlaskClient, path: str, given_id: str):
    assert client.get(path, headers={"X-Request-Id": given_id}).headers.getlist("X-Request-Id") == [given_id]


@pytest.mark.parametrize("given_id", ["", "a b", "x" * (MAX_REQUEST_ID_CHARS + 1), "é", "a\n", "<a>", "a,b", '"a"'])
def test_another_request_id_is_replaced_by_a_new_one(client: FlaskClient, given_id: str):
    environ = {"HTTP_X_REQUEST_ID": given_id}
    ids = [client.get("/v1/price", environ_overrides=environ).headers["X-Request-Id"] for _ in range(2)]
    assert all(re.fullmatch("[0-9a-f]{16}", new) for new in ids)
    assert len(set(ids)) == 2


# Entity tags ----------------------------------------------------------------------------------------------------------


def test_an_answer_has_a_strong_tag_a_length_and_says_how_long_it_holds(client: FlaskClient):
    response = client.get("/v1/price")
    assert (response.status_code, response.data) == (200, BODY)
    assert re.fullmatch('"[0-9a-f]{32}"', response.headers["ETag"])
    assert response.headers["Content-Type"] == "application/json"
    assert response.headers["Content-Length"] == str(len(BODY))
    assert response.headers["Cache-Control"] == "public, max-age=300"
    assert tokens(response, "Vary") == {"Authorization", "Origin"}


def test_what_only_the_maker_may_see_is_not_shared(client: FlaskClient):
    response = client.get("/v1/cutting", headers={"Authorization": "Bearer x"})
    assert response.headers["Cache-Control"] == "private, no-cache"
    assert tokens(response, "Vary") == {"Authorization", "Origin"}


def test_the_tag_is_that_of_the_bytes_and_their_type():
    """RFC 9110, section 8.8.3.3: representations that differ have different tags."""
    assert entity_tag(BODY, "application/json") == entity_tag(bytes(BODY), "application/json")
    others = {
        entity_tag(BODY + b" ", "application/json"),
        entity_tag(BODY, "text/csv"),
        entity_tag(b"", "application/json"),
    }
    assert len(others | {entity_tag(BODY, "application/json")}) == 4
    # By sha256sum: the same on every machine and in every version of ours, because clients keep it.
    assert entity_tag(b"", "text/plain") == '"a952e8b7cdf8669fbdefbab59cdba598"'


TAG = entity_tag(BODY, "application/json")


@pytest.mark.parametrize(
    "known",
    [TAG, f"W/{TAG}", f'"x", {TAG}', f'"a,b",W/"c",{TAG} , "d"', "*", " * ", f"{TAG},{TAG}"],
)
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_what_the_client_has_is_not_sent_again(client: FlaskClient, method: str, known: str):
    """RFC 9110, sections 13.1.2 (weak comparison, lists, *) and 15.4.5 (which headers a 304 has)."""
    response = client.open("/v1/price", method=method, headers={"If-None-Match": known, "Origin": HERE})
    assert (response.status_code, response.data) == (304, b"")
    assert response.headers["ETag"] == TAG
    assert response.headers["Cache-Control"] == "public, max-age=300"
    assert tokens(response, "Vary") == {"Authorization", "Origin"}
    assert response.headers["Access-Control-Allow-Origin"] == HERE
    assert "Content-Type" not in response.headers
    assert "Content-Length" not in response.headers


@pytest.mark.parametrize("known", ["", '"x"', TAG.strip('"'), TAG[:-1], f'"{TAG[2:]}', TAG.upper(), "**", ",", '"'])
def test_what_the_client_has_not_is_sent(client: FlaskClient, known: str):
    response = client.get("/v1/price", headers={"If-None-Match": known})
    assert (response.status_code, response.data) == (200, BODY)


def test_a_condition_on_a_post_is_not_looked_at(client: FlaskClient):
    response = client.post("/v1/price", headers={"If-None-Match": TAG})
    assert (response.status_code, response.data) == (200, BODY)


@given(st.text(st.characters(max_codepoint=255, exclude_categories=("Cc",)), max_size=80))
def test_any_condition_is_answered(known: str):
    app = Flask(__name__)
    with app.test_request_context("/", environ_overrides={"HTTP_IF_NONE_MATCH": known}):
        status = answer(request, BODY, "application/json", private=False).status_code
    assert status == (304 if known.strip() == "*" or TAG in known else 200)


def test_head_is_get_without_the_body(client: FlaskClient):
    """RFC 9110, section 9.3.2."""
    head, get = (client.open("/v1/price", method=method, headers={"X-Request-Id": "1"}) for method in ("HEAD", "GET"))
    assert (head.status_code, head.data) == (200, b"")
    assert sorted(head.headers) == sorted(get.headers)


# Other origins --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/v1/price", "/v1/cutting", "/v1/nothing"])
@pytest.mark.parametrize("origin", [HERE, OTHER])
def test_an_allowed_origin_may_read_answers_and_refusals(client: FlaskClient, path: str, origin: str):
    response = client.get(path, headers={"Origin": origin})
    assert response.headers.getlist("Access-Control-Allow-Origin") == [origin]
    assert tokens(response, "Access-Control-Expose-Headers") == {
        "ETag", "Link", "Retry-After", "X-Request-Id", "Content-Disposition",
    }  # fmt: skip
    assert "Access-Control-Allow-Credentials" not in response.headers
    assert "Origin" in tokens(response, "Vary")


@pytest.mark.parametrize(
    "origin",
    [
        None,
        STRANGER,
        "null",
        "*",
        "",
        HERE.upper(),
        HERE + "/",
        HERE + ":8443",
        HERE + ".evil.example",
        "http" + HERE[5:],
    ],
)
def test_no_other_origin_may(client: FlaskClient, origin: str | None):
    response = client.get("/v1/price", headers={} if origin is None else {"Origin": origin})
    assert response.status_code == 200
    assert not [name for name, _ in response.headers if name.startswith("Access-Control-")]
    assert "Origin" in tokens(response, "Vary")


def test_a_request_for_one_shop_is_open_to_that_shops_origins_alone(client: FlaskClient):
    assert client.get("/v1/choices", headers={"Origin": HERE}).headers["Access-Control-Allow-Origin"] == HERE
    assert "Access-Control-Allow-Origin" not in client.get("/v1/choices", headers={"Origin": OTHER}).headers


def test_other_paths_are_open_to_nobody(client: FlaskClient):
    assert "Access-Control-Allow-Origin" not in client.get("/docs", headers={"Origin": HERE}).headers


PREFLIGHT = {
    "Access-Control-Request-Method": "POST",
    "Access-Control-Request-Headers": "content-type,authorization,if-none-match",
}


@pytest.mark.parametrize("path", ["/v1/price", "/v1/cutting"])
def test_a_preflight_is_answered_without_a_key(client: FlaskClient, path: str):
    """Fetch standard, CORS-preflight: an ok status, and what the request may use."""
    response = client.options(path, headers={**PREFLIGHT, "Origin": HERE})
    assert (response.status_code, response.data) == (204, b"")
    assert response.headers["Access-Control-Allow-Origin"] == HERE
    assert tokens(response, "Access-Control-Allow-Methods") >= {"GET", "HEAD", "POST"}
    assert tokens(response, "Access-Control-Allow-Headers") == {"Content-Type", "Authorization", "If-None-Match"}
    assert response.headers["Access-Control-Max-Age"] == "7200"
    assert "Origin" in tokens(response, "Vary")
    assert "Content-Type" not in response.headers
    assert "Content-Length" not in response.headers


def test_a_preflight_of_a_stranger_opens_nothing(client: FlaskClient):
    response = client.options("/v1/price", headers={**PREFLIGHT, "Origin": STRANGER})
    assert response.status_code == 204
    assert not [name for name, _ in response.headers if name.startswith("Access-Control-")]


@pytest.mark.parametrize(
    ("path", "allowed"), [("/v1/price", "GET, HEAD, OPTIONS, POST"), ("/v1/cutting", "GET, HEAD, OPTIONS")]
)
def test_options_names_the_methods_without_a_key(client: FlaskClient, path: str, allowed: str):
    """RFC 9110, section 9.3.7. A spreadsheet asks this first, and gives up at a 401."""
    response = client.options(path)
    assert (response.status_code, response.data) == (204, b"")
    assert response.headers.getlist("Allow") == [allowed]
    assert not [name for name, _ in response.headers if name.startswith("Access-Control-")]


def test_options_is_answered_before_other_hooks(app: Flask):
    @app.before_request
    def guard() -> Any:
        raise Problem("key-needed", "Which key?")

    client = app.test_client()
    assert client.options("/v1/price").status_code == 204
    assert client.get("/v1/price").status_code == 401


def test_options_of_an_unknown_path_is_not_found(client: FlaskClient):
    response = client.options("/v1/nothing", headers={**PREFLIGHT, "Origin": HERE})
    assert response.status_code == 404
    assert response.headers["Access-Control-Allow-Origin"] == HERE
