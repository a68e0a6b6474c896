"""What the page of a quote reads of an answer: every key is in the contract, of the same type, and there as surely."""

import types
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Union, get_args, get_origin, get_type_hints, is_typeddict

from chequerwork.render.quote import QuoteTree

JSON_TYPES = {str: "string", int: "integer", float: "number", bool: "boolean"}
Schema = Mapping[str, Any]


def differences(components: Schema, schema: Schema, kind: Any, at: str = "") -> Iterator[str]:
    """Places at which a type promises what the schema does not."""
    schema = components[schema["$ref"].rpartition("/")[2]] if "$ref" in schema else schema
    if get_origin(kind) in (Union, types.UnionType):
        (inner,) = (each for each in get_args(kind) if each is not type(None))
        yield from differences(components, without_null(schema), inner, at)
    elif is_typeddict(kind):
        yield from in_keys(components, schema, kind, at)
    elif get_origin(kind) is Sequence:
        yield from differences(components, schema.get("items", {}), get_args(kind)[0], f"{at}/*")
    elif kind in JSON_TYPES and schema.get("type") != JSON_TYPES[kind]:
        yield f"{at} is {schema.get('type')}, not {JSON_TYPES[kind]}"


def in_keys(components: Schema, schema: Schema, kind: Any, at: str) -> Iterator[str]:
    for key, inner in get_type_hints(kind).items():
        if key not in schema.get("properties", {}):
            yield f"{at}/{key} is not in the contract"
            continue
        if key in kind.__required_keys__ and key not in schema["required"]:
            yield f"{at}/{key} may be left out"
        yield from differences(components, schema["properties"][key], inner, f"{at}/{key}")


def without_null(schema: Schema) -> Schema:
    """The schema of what may be null, without that; as it is where it may not."""
    if "anyOf" in schema:
        return next(each for each in schema["anyOf"] if each.get("type") != "null")
    if isinstance(schema.get("type"), list) and "null" in schema["type"]:
        (other,) = (each for each in schema["type"] if each != "null")
        return {**schema, "type": other}
    return schema


def test_the_page_of_a_quote_reads_what_the_contract_promises(contract):
    components = contract.document["components"]["schemas"]
    assert list(differences(components, components["Quote"], QuoteTree)) == []


def test_a_key_that_is_gone_may_be_left_out_or_is_of_another_type_is_told(contract):
    components = dict(contract.document["components"]["schemas"])
    price = components["Price"]
    properties = {**price["properties"], "total_text": {"type": "number"}, "tax_pct": {"type": ["number", "null"]}}
    del properties["tax_name"]
    components["Price"] = {
        "properties": properties,
        "required": [key for key in price["required"] if key != "currency"],
    }
    assert set(differences(components, components["Quote"], QuoteTree)) == {
        "/price/currency may be left out",
        "/price/tax_name is not in the contract",
        "/price/total_text is number, not string",
        "/price/tax_pct is ['number', 'null'], not number",
    }
