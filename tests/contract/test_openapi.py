"""The contract as a document: generated, valid for two validators, complete both ways, and served as committed."""

import copy
import json
import re
from collections.abc import Iterator
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import yaml
from contract.check import MAPS, leaf_faults, pointed
from jsonschema import Draft202012Validator
from jsonschema.exceptions import SchemaError
from openapi_schema_validator import OAS31Validator
from openapi_spec_validator import OpenAPIV31SpecValidator

from chequerwork import __version__
from chequerwork.api import answers
from chequerwork.api.openapi import contract as generated
from chequerwork.api.openapi import to_yaml

PROJECT = Path(__file__).resolve().parents[2]
# Pages for people, not operations of the interface.
PAGES = {"/", "/docs/", "/docs/<path:path>"}
# OPTIONS and HEAD follow from GET (RFC 9110, sections 9.3.2 and 9.3.7).
IMPLIED = {"HEAD", "OPTIONS"}


@pytest.fixture(scope="module")
def document_schema() -> Draft202012Validator:
    """JSON Schema of an OpenAPI 3.1 document, as the OpenAPI Initiative publishes it (2022-10-07)."""
    file = resources.files("openapi_spec_validator") / "resources" / "schemas" / "v3.1" / "schema.json"
    return Draft202012Validator(json.loads(file.read_text("utf-8")))


def schemas_in(node: Any) -> Iterator[dict[str, Any]]:
    """Every schema of the document that stands at a place of its own: components, parameters, bodies."""
    if isinstance(node, list):
        for each in node:
            yield from schemas_in(each)
    elif isinstance(node, dict):
        for key, value in node.items():
            if key == "schema":
                yield value
            elif key == "schemas":
                yield from value.values()
            else:
                yield from schemas_in(value)


def references_in(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if isinstance(node.get("$ref"), str):
            yield node["$ref"]
        node = list(node.values())
    if isinstance(node, list):
        for each in node:
            yield from references_in(each)


def test_the_committed_file_is_what_the_code_says():
    """If this fails: make openapi, then read the difference before committing it."""
    assert (PROJECT / "openapi" / "openapi.yaml").read_text("utf-8") == to_yaml(generated())


@pytest.mark.slow("the whole contract, written twice")
def test_generating_twice_gives_the_same_text():
    assert to_yaml(generated()) == to_yaml(generated())


def test_it_is_of_our_version_and_of_openapi_3_1(committed):
    assert committed["openapi"].startswith("3.1.")
    assert committed["info"]["version"] == __version__


@pytest.mark.slow("the whole contract, checked against its standard")
def test_the_first_validator_accepts_it(committed):
    assert list(OpenAPIV31SpecValidator(committed).iter_errors()) == []


@pytest.mark.slow("the whole contract, checked against its standard")
def test_the_second_validator_accepts_it(committed, document_schema):
    assert [error.message for error in document_schema.iter_errors(committed)] == []
    assert len(list(schemas_in(committed))) > 100
    assert accepted_by_the_second(committed, document_schema)


def accepted_by_the_second(document: Any, document_schema: Draft202012Validator) -> bool:
    return document_schema.is_valid(document) and all(map(sound, map(json.dumps, schemas_in(document))))


@cache  # parameters and broken documents share nearly all of their schemas
def sound(text: str) -> bool:
    """Whether a schema is one, for JSON Schema and for the dialect of OpenAPI 3.1."""
    schema = json.loads(text)
    try:
        Draft202012Validator.check_schema(schema)
        OAS31Validator.check_schema(schema)
    except SchemaError:
        return False
    return True


BROKEN = {
    "no responses": (("paths", "/v1/price", "post", "responses"), []),
    "no version": (("info",), {"title": "no version"}),
    "no such type": (("components", "schemas", "Length", "type"), "text"),
    "enum is no list": (("components", "schemas", "Rail", "properties", "side", "enum"), "length"),
    "parameter without a name": (("components", "parameters", "square"), {"in": "query", "schema": {}}),
}


@pytest.mark.slow("the whole contract, checked against its standard")
@pytest.mark.parametrize(("place", "value"), BROKEN.values(), ids=BROKEN)
def test_the_validators_refuse_a_broken_contract(committed, document_schema, place, value):
    """So that their silence above means something."""
    broken = copy.deepcopy(committed)
    node = broken
    for step in place[:-1]:
        node = node[step]
    node[place[-1]] = value
    assert not accepted_by_the_second(broken, document_schema)
    assert next(OpenAPIV31SpecValidator(broken).iter_errors(), None) is not None


def test_every_reference_leads_somewhere_and_every_component_is_used(committed):
    used = set(references_in(committed))
    for reference in used:
        pointed(committed, reference.removeprefix("#"))
    named = {
        f"#/components/{kind}/{name}"
        for kind, components in committed["components"].items()
        for name in components
        if kind != "securitySchemes"
    }
    assert named - used == set()


def test_no_object_named_in_the_list_of_open_maps_is_gone(committed):
    """The list of maps in ``check.py`` stays as short as it can be."""
    for place in MAPS:
        owner, _, key = place.partition("/")
        assert "properties" not in committed["components"]["schemas"][owner]["properties"][key]


def test_every_route_is_in_it_and_it_names_no_other(app, committed):
    routes = {
        (re.sub("<(.+?)>", r"{\1}", rule.rule), method)
        for rule in app.url_map.iter_rules()
        if rule.rule not in PAGES
        for method in rule.methods - IMPLIED
    }
    described = {(path, method.upper()) for path, methods in committed["paths"].items() for method in methods}
    assert routes == described


def test_every_operation_has_its_own_id_a_summary_tags_and_says_who_may_call_it(contract):
    operations = [operation for *_, operation in contract.operations()]
    ids = [operation["operationId"] for operation in operations]
    assert len(ids) == len(set(ids)) == len(operations)
    for operation in operations:
        assert operation["summary"]
        assert "security" in operation
        assert operation["tags"]


def test_workshop_sections_ask_for_a_key_and_the_others_do_not(contract):
    """Design, section 4: materials, cutting and finishing are the workshop's alone."""
    for method, path, operation in contract.operations():
        alone = re.match(r"/v1/(materials|cutting|finishing|stock-plan)\b", path) is not None
        # from_stock is the workshop's
        wishes = re.match(r"/v1/(price|quotes|suggestions)\b(?!-)", path) is not None
        assert (operation["security"] == [{"accessKey": []}]) is alone, (method, path)
        assert ("403" in operation["responses"]) is (alone or wishes), (method, path)


def test_every_refusal_is_a_problem(contract):
    """RFC 9457; /readyz alone says its own word, which machines read."""
    for _, path, operation in contract.operations():
        for status, response in operation["responses"].items():
            if status >= "400" and (path, status) != ("/readyz", "503"):
                assert list(contract.resolve(response)["content"]) == ["application/problem+json"], (path, status)


def test_no_parameter_of_a_query_is_named_twice_in_one_operation(contract):
    for _, path, operation in contract.operations():
        names = [contract.resolve(parameter)["name"] for parameter in operation.get("parameters", [])]
        assert len(names) == len(set(names)), path


def test_every_example_is_valid_against_its_own_schema(contract):
    seen = 0
    for _, path, operation in contract.operations():
        body = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
        for name, example in body.get("examples", {}).items():
            seen += 1
            asked = body["schema"]["$ref"].rpartition("/")[2]
            assert leaf_faults(contract.component(asked), example["value"]) == [], (path, name)
    for name, schema in contract.document["components"]["schemas"].items():
        for key, inner in schema.get("properties", {}).items():
            pointer = f"/components/schemas/{name}/properties/{key}"
            for example in inner.get("examples", []):
                seen += 1
                assert leaf_faults(contract.validator(pointer), example) == [], pointer
    assert seen > 30


def test_no_answer_forbids_what_it_may_gain(contract):
    """A field may be added within a version: strict clients must not be told otherwise."""
    requests = {
        "Order",
        "ChessPieces",
        "DraughtsMan",
        "Line",
        "Frame",
        "Base",
        "SquaresGrain",
        "Skirt",
        "Backing",
        "Sanding",
        "Climate",
        "Corners",
        "ChoicesRequest",
        "StockRequest",
        "StockBoard",
        "BoardDefect",
        "WantedPart",
        "SawHabits",
        "WantedOrder",
        "Limits",
        "Wishes",
        "SuggestionsRequest",
    }
    requests |= {
        f"PriceTable{name}" for name in requests if f"PriceTable{name}" in contract.document["components"]["schemas"]
    }
    for name, schema in contract.document["components"]["schemas"].items():
        if name not in requests:
            assert schema.get("additionalProperties") is not False, name
        else:
            assert schema["additionalProperties"] is False, name


@pytest.mark.slow("the whole contract, read again")
@pytest.mark.parametrize("path", ["/openapi.json", "/openapi.yaml"])
def test_it_is_served_as_it_is_committed(app, committed, path):
    answer = app.test_client().get(path)
    assert answer.status_code == 200
    assert yaml.safe_load(answer.get_data(as_text=True)) == committed
    assert answer.mimetype == ("application/json" if path.endswith("json") else "application/yaml")


def test_the_text_holds_no_money_as_a_number(committed):
    """Amounts are decimal texts (design, section 4.2): a number would pass through binary fractions."""
    for name in ("Price", "CostBuildUp", "Cost", "Fees", "PaymentFees", "Risk", "Rush", "Deposit", "Discount"):
        for key, schema in committed["components"]["schemas"][name]["properties"].items():
            if re.fullmatch(
                r"amount|fixed|tax|total|total_cash|balance|shipping|shipping_gross|unit_.*|.*_total|p\d\d", key
            ):
                assert schema["type"] in ("string", ["string", "null"]), (name, key)


def test_no_two_rooms_give_one_name_to_two_schemas():
    """The later one would take the place of the other without a word."""
    names = [component.name for component in answers.components()]
    assert len(names) > 100
    assert sorted(names) == sorted(set(names))
