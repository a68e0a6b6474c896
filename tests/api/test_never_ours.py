"""Whatever is sent, the answer is an answer or a problem, and never a failure of ours."""

import json

import pytest
from contract.check import FULL, ORDERS, flat, maker
from hypothesis import example, given, settings
from hypothesis import strategies as st
from werkzeug.test import TestResponse

from chequerwork.api.schemas import flat_shape

pytestmark = pytest.mark.slow("random requests by the hundred")

LEAST = dict(ORDERS["least"])
JSON = "application/json"

few = settings(max_examples=150, derandomize=True, deadline=None)
NAMES = st.sampled_from(sorted({part for name in flat_shape() for part in name.split(".")} | {"species", "x", ""}))
TEXTS = [
    "48 mm", "1 7/8 in", "0 mm", "1/0 mm", "21 C", "-1 C", "pear", "wenge", "sycamore_maple", "hard_maple", "moosgrund",
    "willet-slough", "mitre", "floating", "glued", "turn", "shift", "mdf", "P180", "chess", "2027-02-01", "2099-12-31",
    "2000-01-01", "NL", "US", "metric", "own_site", "", "\n", "𝟜𝟠 mm", "=1+1", "{}", "null",
]  # fmt: skip
WORDS = st.sampled_from(TEXTS)
SCALARS = WORDS | st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats() | st.text(max_size=8)
VALUES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAMES, inner, max_size=5), max_leaves=12
)


def assert_not_ours(answer: TestResponse) -> None:
    """The client itself holds the body to the contract, the 500 that must not come included."""
    assert answer.status_code in (200, 400, 401, 413, 422), answer.get_data(as_text=True)


@few
@given(body=st.dictionaries(NAMES, VALUES, max_size=8))
def test_no_object_of_our_names_makes_the_service_fail(client, body):
    assert_not_ours(client.post("/v1/quotes", data=json.dumps(body), content_type=JSON, headers=maker(LEAST)))


@few
@given(changes=st.dictionaries(NAMES, VALUES, min_size=1, max_size=3))
@example(changes={"columns": -0.0})
@example(changes={"feet": 1e308, "rows": 8.0})
@example(changes={"pieces": {"man": "0 mm", "king_base": "0 mm"}})
@example(changes={"issued_on": "2099-12-31", "starts_on": "2099-12-31"})
@example(changes={"issued_on": "2000-01-01", "starts_on": "2000-01-01"})
def test_no_change_of_a_sound_order_makes_the_service_fail(client, changes):
    body = json.dumps({**FULL, **changes})
    assert_not_ours(client.post("/v1/quotes", data=body, content_type=JSON, headers=maker(FULL)))


@few
@given(query=st.dictionaries(st.sampled_from(sorted(flat_shape())) | NAMES, WORDS | st.text(max_size=12), max_size=10))
def test_no_query_of_our_names_makes_the_service_fail(client, query):
    for path in ("/v1/quotes", "/v1/quotes.csv", "/v1/price.txt"):
        assert_not_ours(client.get(path, query_string={**flat(LEAST), **query}, headers=maker(LEAST)))


@few
@given(field=st.text(max_size=20) | WORDS, columns=st.text(max_size=20), delimiter=st.sampled_from(",;\t|"))
def test_no_presentation_makes_the_service_fail(client, field, columns, delimiter):
    query = flat(LEAST)
    assert_not_ours(client.get("/v1/quotes.txt", query_string={**query, "field": field}))
    assert_not_ours(client.get("/v1/quotes.csv", query_string={**query, "columns": columns, "delimiter": delimiter}))


@few
@given(data=st.binary(max_size=60))
def test_no_bytes_make_the_service_fail(client, data):
    assert_not_ours(client.post("/v1/quotes", data=data, content_type=JSON))
