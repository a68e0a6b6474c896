"""``explain=1``: how the numbers of an answer were worked out, for whom and in which form."""

import re
from decimal import Decimal

import pytest
from contract.check import ORDERS, flat, maker, pointed
from formulas import calculated

from chequerwork.domain.plan import SECTIONS

SHOWN = ("geometry", "movement", "schedule", "packing", "compliance", "price")
# Sections of which a customer sees numbers that are worked out.
TOLD = ("geometry", "movement", "packing", "price")
LEAST = flat(ORDERS["least"])
ASKED = {**LEAST, "explain": "1"}


def explained(client, section, *, headers=None, order=LEAST):
    answer = client.get(f"/v1/{section}", query_string={**order, "explain": "1"}, headers=headers or {})
    assert answer.status_code == 200
    return answer.get_json()


@pytest.mark.parametrize("section", SHOWN)
def test_a_section_is_explained_beside_itself(client, section):
    answer = explained(client, section)
    assert list(answer["explain"]) == [section]
    for step in answer["explain"][section]:
        assert step["at"].startswith(f"/{section}/")
        assert step["inputs"]
        assert step["sources"]


def test_a_step_tells_formula_inputs_result_and_sources(client):
    step = explained(client, "geometry")["explain"]["geometry"][0]
    assert step == {
        "formula": "field_side_mm",
        "title": "Side of the chequered area",
        "expression": "squares * square_mm",
        "at": "/geometry/field/length_mm",
        "part": None,
        "inputs": {"squares": 8, "square_mm": 48.0},
        "result": 384.0,
        "unit": "mm",
        "sources": ["house"],
    }


def test_a_quote_explains_every_section_that_it_shows(client):
    own = maker(ORDERS["least"])
    assert list(explained(client, "quotes", headers=own)["explain"]) == list(SECTIONS)
    assert list(explained(client, "quotes")["explain"]) == [name for name in SECTIONS if name in SHOWN]


@pytest.mark.parametrize("section", [*SHOWN, "quotes"])
def test_a_body_is_explained_like_a_query(client, section):
    posted = client.post(f"/v1/{section}?explain=1", json=ORDERS["least"])
    assert posted.status_code == 200
    assert posted.get_json() == explained(client, section)


@pytest.mark.parametrize("form", ["", ".csv", ".tsv", ".txt"])
def test_nothing_changes_where_no_explanation_is_asked(client, form):
    plain = client.get(f"/v1/quotes{form}", query_string=LEAST)
    asked_not = client.get(f"/v1/quotes{form}", query_string={**LEAST, "explain": "0"})
    assert plain.data == asked_not.data
    assert plain.headers["ETag"] == asked_not.headers["ETag"]
    assert b"explain" not in plain.data
    with_steps = client.get(f"/v1/quotes{form}", query_string=ASKED)
    assert len(with_steps.data) > 1.5 * len(plain.data)


def test_the_rest_of_the_answer_stays_as_it_is(client):
    told = explained(client, "quotes", headers=maker(ORDERS["least"]))
    plain = client.get("/v1/quotes", query_string=LEAST, headers=maker(ORDERS["least"])).get_json()
    assert {name: part for name, part in told.items() if name != "explain"} == plain


@pytest.mark.parametrize(
    ("value", "code"), [("2", "unknown-name"), ("yes", "unknown-name"), ("", "blank"), ("01", "unknown-name")]
)
@pytest.mark.parametrize("form", ["", ".csv", ".txt"])
def test_any_other_value_is_a_fault_that_names_the_parameter(client, form, value, code):
    answer = client.get(f"/v1/price{form}", query_string={**LEAST, "explain": value, "square": "4 mm"})
    assert answer.status_code == 422
    faults = {(fault["parameter"], fault["code"]) for fault in answer.get_json()["errors"]}
    assert faults == {("explain", code), ("square", "too-small")}
    if not form:
        posted = client.post(f"/v1/price?explain={value}", json=ORDERS["least"])
        assert [(f["parameter"], f["code"]) for f in posted.get_json()["errors"]] == [("explain", code)]


def test_a_body_allows_no_other_parameter_beside_it(client):
    answer = client.post("/v1/price?explain=1&square=48mm", json=ORDERS["least"])
    assert answer.status_code == 422
    assert [fault["parameter"] for fault in answer.get_json()["errors"]] == ["square"]


@pytest.mark.parametrize("path", ["choices", "sources", "timbers"])
def test_paths_without_an_order_explain_nothing(client, path):
    answer = client.get(f"/v1/{path}?explain=1")
    assert answer.status_code == 422
    (fault,) = answer.get_json()["errors"]
    assert (fault["parameter"], fault["code"]) == ("explain", "unknown-field")
    assert "section" in fault["detail"]


def test_a_customer_is_told_the_tax_and_the_total_of_a_price_only(client):
    steps = explained(client, "price")["explain"]["price"]
    assert {step["at"] for step in steps} == {
        "/price/unit_net",
        "/price/shipping_gross",
        "/price/tax",
        "/price/total",
    }
    inside = explained(client, "price", headers=maker(ORDERS["least"]))["explain"]["price"]
    assert {step["at"] for step in inside} > {step["at"] for step in steps}
    assert any(step["at"].startswith("/price/workshop/costs/") for step in inside)


@pytest.mark.parametrize("name", ORDERS)
def test_a_customer_is_told_no_cost_rate_fee_margin_hour_or_stock(client, name):
    steps = explained(client, "quotes", order=flat(ORDERS[name]))["explain"]
    words = re.findall(
        r"cost|hourly|hours|margin|fee\b|yield|price_m|rate\b|pace|stock",
        " ".join(
            " ".join((step["formula"], step["title"], step["at"], str(step["part"]), *step["inputs"]))
            for section in steps.values()
            for step in section
        ),
    )
    assert words == []
    assert {section for section, each in steps.items() if each} >= set(TOLD)
    assert steps["schedule"] == []


def test_every_source_of_a_step_is_in_the_list(client, tables):
    steps = explained(client, "quotes", headers=maker(ORDERS["least"]))["explain"]
    named = {source for section in steps.values() for step in section for source in step["sources"]}
    assert len(named) > 8
    assert named <= set(tables.sources)
    formulas = {step["formula"] for section in steps.values() for step in section}
    assert formulas <= set(tables.formulas)


def read(value):
    """An input as a number again: amounts are text."""
    if isinstance(value, list):
        return tuple(map(read, value))
    if isinstance(value, str) and re.fullmatch(r"-?\d+(\.\d+)?", value):
        return Decimal(value)
    return value


@pytest.mark.parametrize("name", ORDERS)
@pytest.mark.parametrize("key", [True, False])
def test_what_is_told_can_be_checked_by_hand(client, name, key):
    """With the digits of the answer alone: the expression gives the result, and the result is the number shown."""
    order = ORDERS[name]
    answer = explained(client, "quotes", headers=maker(order) if key else None, order=flat(order))
    count = 0
    for steps in answer["explain"].values():
        for step in steps:
            result = read(step["result"])
            by_hand = calculated(step["expression"], {each: read(value) for each, value in step["inputs"].items()})
            assert float(by_hand) == pytest.approx(float(result), rel=1e-6, abs=1e-9), step
            if step["part"] is None:
                shown = float(pointed(answer, step["at"]))
                decimals = len(repr(shown).partition(".")[2]) if shown % 1 else 0
                assert shown == pytest.approx(float(result), abs=0.5 * 10.0 ** -max(decimals, 1) + 1e-9), step
                count += 1
    assert count > (120 if key else 35)


def test_the_page_says_it_in_sentences_below_each_section(client):
    page = client.get("/v1/price.txt", query_string=ASKED).get_data(as_text=True)
    below = page.partition("How these numbers were worked out:")[2]
    told = " ".join(below.split())
    price = client.get("/v1/price", query_string=LEAST).get_json()["price"]
    assert f"tax = {price['tax']} EUR: all tax of an order" in told
    assert f"unit_net {price['unit_net']}" in told
    assert "TRADE-PRICE" in told
    assert "What the customer pays = unit_net * quantity + shipping + tax" in told.partition("Formulas")[2]
    assert max(map(len, page.splitlines())) <= 100


def test_the_page_of_a_quote_explains_under_its_own_headings(client):
    page = client.get("/v1/quotes.txt", query_string=ASKED, headers=maker(ORDERS["least"])).get_data(as_text=True)
    parts = page.split("How these numbers were worked out:")
    assert len(parts) > 7
    costs = page.partition("What it costs")[2].partition("Mind")[0]
    assert "workshop.cost_total" in costs
    assert "How these numbers" not in page.partition("\nPrice\n")[2].partition("\nDates\n")[0]


def test_one_explained_value_can_be_asked_for(client):
    field = client.get("/v1/geometry.txt", query_string={**ASKED, "field": "explain.geometry.0.result"})
    assert field.get_data(as_text=True) == "384"
