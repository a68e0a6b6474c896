"""Who asks: keys in one header, and what they open."""

from types import SimpleNamespace
from typing import Any, cast

import pytest
from flask import Flask, g, jsonify, request
from flask.testing import FlaskClient
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.api import access, problems
from chequerwork.api.access import caller_role, require_maker
from chequerwork.api.problems import Problem
from chequerwork.domain.basics.shop import AccessKey, KeyRole, Shop
from chequerwork.ops.limits import MAX_KEY_CHARS
from chequerwork.shop.access import hash_key

KEYS = {"maker-key-1": KeyRole.MAKER, "front+key/2==": KeyRole.STOREFRONT}


def shop() -> Shop:
    """A shop as far as this room looks at it: its keys."""
    keys = tuple(
        AccessKey(name=role, role=role, salt=role.encode(), digest=hash_key(key, role.encode()))
        for key, role in KEYS.items()
    )
    return cast("Shop", SimpleNamespace(keys=keys))


def role_with(header: str | None) -> KeyRole | None:
    with Flask(__name__).test_request_context("/", headers={} if header is None else {"Authorization": header}):
        return caller_role(request, shop())


@pytest.fixture
def client() -> FlaskClient:
    app = Flask(__name__)
    problems.register(app)

    @app.get("/v1/cutting")
    def cutting() -> Any:
        g.shop = shop()
        require_maker(caller_role(request, g.shop))
        return jsonify(view="workshop")

    return app.test_client()


def test_a_caller_without_a_key_has_no_role():
    assert role_with(None) is None


@pytest.mark.parametrize("scheme", ["Bearer", "bearer", "BEARER", "Bearer  "])
def test_a_key_has_its_role_whatever_the_case_of_the_scheme(scheme: str):
    """RFC 9110, section 11.1: the scheme is compared without case."""
    assert {role_with(f"{scheme} {key}"): role for key, role in KEYS.items()} == {role: role for role in KeyRole}


@pytest.mark.parametrize(
    "header",
    [
        *("", "Bearer", "Bearer ", "maker-key-1", "Bearermaker-key-1", "Bearer\tmaker-key-1", "Token maker-key-1"),
        *("Bearer maker-key-1 ", "Bearer maker-key-1 x", "Bearer maker-key-1,front", "Bearer =", "Bearer a=b"),
        *(
            "Basic bWFrZXI6a2V5",
            "Bearer ma\xefker",
            "Bearer maker\x00key",
            "Bearer maker-key-1\n",
            'Bearer "maker-key-1"',
        ),
        *("Bearer " + "k" * (MAX_KEY_CHARS + 1), "Bearer " + "k" * 8000, "Bearer maker-key-1, Bearer maker-key-1"),
    ],
)
def test_a_malformed_header_is_refused_without_looking_at_a_key(monkeypatch: pytest.MonkeyPatch, header: str):
    """RFC 6750, section 2.1: one token of letters, digits and -._~+/, padded by =."""
    asked: list[str] = []
    monkeypatch.setattr(access, "role_of", lambda _, key: asked.append(key))
    context = Flask(__name__).test_request_context("/", environ_overrides={"HTTP_AUTHORIZATION": header})
    with context, pytest.raises(Problem) as caught:
        caller_role(request, shop())
    assert (caught.value.status, asked) == (401, [])
    assert caught.value.headers["WWW-Authenticate"] == 'Bearer realm="chequerwork", error="invalid_request"'


@pytest.mark.parametrize("key", ["maker-key-2", "MAKER-KEY-1", "maker-key-1=", "k" * MAX_KEY_CHARS])
def test_a_wrong_key_is_refused_and_not_taken_for_none(key: str):
    """RFC 6750, section 3.1: invalid_token, status 401."""
    with pytest.raises(Problem) as caught:
        role_with(f"Bearer {key}")
    assert caught.value.status == 401
    assert caught.value.headers["WWW-Authenticate"] == 'Bearer realm="chequerwork", error="invalid_token"'
    assert key not in caught.value.detail


@given(st.text(st.characters(max_codepoint=255, exclude_categories=("Cc",)), max_size=250))
def test_no_other_header_opens_anything(header: str):
    with pytest.raises(Problem) as caught:
        role_with(header if header.lower()[:6] == "bearer" else f"Bearer {header}")
    assert caught.value.status == 401


def test_the_workshops_view_asks_for_a_key(client: FlaskClient):
    """RFC 6750, section 3: without a key the challenge names no error."""
    response = client.get("/v1/cutting")
    assert response.status_code == 401
    assert response.headers.getlist("WWW-Authenticate") == ['Bearer realm="chequerwork"']
    assert response.get_json(force=True)["type"] == "/problems/key-needed"


def test_a_storefronts_key_does_not_open_the_workshop(client: FlaskClient):
    response = client.get("/v1/cutting", headers={"Authorization": "Bearer front+key/2=="})
    assert response.status_code == 403
    assert response.get_json(force=True)["type"] == "/problems/key-not-sufficient"
    assert "WWW-Authenticate" not in response.headers


def test_a_makers_key_opens_the_workshop(client: FlaskClient):
    response = client.get("/v1/cutting", headers={"Authorization": "Bearer maker-key-1"})
    assert (response.status_code, response.json) == (200, {"view": "workshop"})


@pytest.mark.parametrize("place", ["/v1/cutting?key=maker-key-1", "/v1/cutting?access_token=maker-key-1"])
def test_a_key_in_the_query_opens_nothing(client: FlaskClient, place: str):
    """RFC 6750, section 2.3 warns of it: addresses are logged."""
    assert client.get(place).status_code == 401


def test_a_key_in_a_cookie_or_with_a_user_name_opens_nothing(client: FlaskClient):
    client.set_cookie("Authorization", "Bearer maker-key-1")
    assert client.get("/v1/cutting", auth=("maker", "maker-key-1")).status_code == 401


def test_no_answer_and_no_log_line_repeats_a_key(client: FlaskClient, caplog: pytest.LogCaptureFixture):
    with caplog.at_level(0):
        for header in ("Bearer sesame-open", "Bearer sesame open", "Sesame sesame-open"):
            assert "esame" not in client.get("/v1/cutting", headers={"Authorization": header}).text
    assert "esame" not in caplog.text
