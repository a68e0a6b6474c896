"""What the numbers rest on: everyone may ask."""

import csv
import io

import pytest


@pytest.fixture(scope="module")
def told(app):
    answer = app.test_client().get("/v1/sources")
    assert answer.status_code == 200
    return answer.get_json()


def test_every_source_and_every_formula_is_told(told, tables):
    assert told["tables_version"] == tables.version
    assert [each["id"] for each in told["sources"]] == list(tables.sources)
    assert [each["key"] for each in told["formulas"]] == list(tables.formulas)


def test_every_source_of_a_formula_is_in_the_same_answer(told):
    known = {each["id"] for each in told["sources"]}
    named = {source for each in told["formulas"] for source in each["sources"]}
    assert len(named) > 15
    assert named <= known


def test_a_formula_says_what_a_maker_needs_to_check_it(told):
    emc = next(each for each in told["formulas"] if each["key"] == "emc_pct")
    assert emc["sources"] == ["WH21-4"]
    assert emc["unit"] == "%"
    assert "Equation 4-5" in emc["locator"]
    assert "temperature_c" in emc["expression"]
    assert "5 to 95 %" in emc["valid"]


def test_it_is_told_in_every_form(client, told):
    (names, values) = csv.reader(io.StringIO(client.get("/v1/sources.csv").get_data(as_text=True)))
    cells = dict(zip(names, values, strict=True))
    assert cells["sources.0.id"] == told["sources"][0]["id"]
    assert client.get("/v1/sources.txt?field=sources.0.id").get_data(as_text=True) == told["sources"][0]["id"]
    page = client.get("/v1/sources.txt").get_data(as_text=True)
    assert "temperature_c" in page
    assert max(map(len, page.splitlines())) <= 100


@pytest.mark.parametrize("form", ["", ".csv", ".tsv", ".txt"])
def test_what_it_does_not_know_is_a_fault(client, form):
    answer = client.get(f"/v1/sources{form}", query_string={"shop": "moosgrund", "refresh": "1"})
    assert answer.status_code == 422
    assert [fault["parameter"] for fault in answer.get_json()["errors"]] == ["shop"]
