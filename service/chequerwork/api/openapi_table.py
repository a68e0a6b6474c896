"""The contract of the path of price tables: the order's own, with a list of alternatives wherever a value may stand."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from chequerwork.api.examples import TABLES
from chequerwork.api.fields import TEXT_FORMS
from chequerwork.api.openapi_parts import INLINE, MEDIA, PRESENTATION, REFRESH, Json, good, ref, response
from chequerwork.api.price_table import FORMS, NDJSON
from chequerwork.ops.limits import MAX_COMBINATIONS, PAGE_ROWS

_SUMMARY: Final = "Prices of every combination of an order's alternatives, a row for each"
_SECURITY: Final[list[Json]] = [{}, {"accessKey": []}]
_OWN: Final = "PriceTable"  # what the names of these schemas begin with
_ROOT: Final = "#/components/schemas/"
_NAMES: Final = "[A-Za-z][A-Za-z0-9_.;]{0,199}"
_ABOUT: Final = (
    f"Names of the columns in their order, joined by semicolons: fields of the order and values of the answer. "
    f"Left out, the fields that vary, size, prices and what is wrong. Up to {MAX_COMBINATIONS} combinations."
)
_PICKED: Final[Json] = {
    "in": "query",
    "name": "columns",
    "description": _ABOUT,
    "schema": {"type": "string", "pattern": f"^{_NAMES}$", "examples": ["square;price.total;fault"]},
}
_COUNTED_OR_PICKED: Final[Json] = {
    "in": "query",
    "name": "columns",
    "description": f"Digits: squares across the grain, or several separated by |. Anything else: {_ABOUT} It may be "
    "given once as each.",
    "style": "form",
    "explode": True,
    "schema": {
        "type": "array",
        "maxItems": 2,
        "items": {"type": "string", "pattern": rf"^([0-9]{{1,2}}(\|[0-9]{{1,2}})*|{_NAMES})$"},
        "examples": [["8|10", "square;price.total;fault"]],
    },
}


# Schemas --------------------------------------------------------------------------------------------------------------


def table_schemas(schemas: Mapping[str, Json]) -> Json:
    """The order's schema with alternatives, and those of its parts, made of the order's own."""
    made: Json = {}
    pending = ["Order"]
    while pending:
        name = pending.pop()
        if _OWN + name in made:
            continue
        own = schemas[name]
        properties = {key: _several(key, inner) for key, inner in own["properties"].items()}
        about = "An order in which a list of alternatives may stand for any value." if name == "Order" else ""
        made[_OWN + name] = {**own, "properties": properties, **({"description": about} if about else {})}
        pending += [each for each in _parts_of(own["properties"]) if _is_part(each)]
    return made


def _several(name: str, schema: Json) -> Json:
    """A value, or a list of alternatives to it; a shop is one."""
    if name == "shop":
        return schema
    about: Json = {key: schema[key] for key in ("description", "default") if key in schema}
    one = _owned({key: value for key, value in schema.items() if key not in (*about, "examples")})
    several = {"type": "array", "minItems": 1, "maxItems": MAX_COMBINATIONS, "uniqueItems": True, "items": one}
    return {"anyOf": [*one.get("anyOf", [one]), several], **about}


def _owned(node: Any) -> Any:
    """The schema with its parts' own schemas in place of the order's."""
    if isinstance(node, list):
        return [_owned(each) for each in node]
    if not isinstance(node, dict):
        return node
    found = {key: _owned(value) for key, value in node.items()}
    name = str(found.get("$ref", "")).removeprefix(_ROOT)
    return {**found, "$ref": f"{_ROOT}{_OWN}{name}"} if name and _is_part(name) else found


def _parts_of(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if "$ref" in node:
            yield str(node["$ref"]).removeprefix(_ROOT)
        node = list(node.values())
    for each in node if isinstance(node, list) else ():
        yield from _parts_of(each)


def _is_part(name: str) -> bool:
    return name not in TEXT_FORMS


# Parameters -----------------------------------------------------------------------------------------------------------


def table_parameters(of_order: Mapping[str, Json]) -> Iterator[tuple[str, Json]]:
    """The order's fields, flat, several values of each separated by a bar.

    Parameters
    ----------
    of_order
        Parameters of a flat order by component name.
    """
    for name, parameter in of_order.items():
        if parameter["name"] in ("shop", "columns"):  # one shop; the other is also a choice of columns
            continue
        one = _pattern(parameter["schema"])
        schema = {"type": "string", "pattern": rf"^{one}(\|{one})*$"}
        about = f"{parameter['description']} Several are separated by |."
        yield f"{name}_alternatives", {**parameter, "description": about, "schema": schema}


def _pattern(schema: Json) -> str:
    """Pattern of one value as a flat query writes it."""
    named = TEXT_FORMS.get(str(schema.get("$ref", "")).removeprefix(_ROOT), schema)
    if "pattern" in named:
        return f"({str(named['pattern']).removeprefix('^').removesuffix('$')})"
    if "enum" in named:
        return f"({'|'.join(re.escape(str(each)) for each in named['enum'])})"
    forms = {"integer": "[0-9]{1,3}", "number": r"[0-9]{1,2}(\.[0-9]{1,3})?"}
    return forms.get(str(named.get("type")), "20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])")


# Paths ----------------------------------------------------------------------------------------------------------------


def table_paths(of_orders: Callable[[str, str | None], list[str | Json]]) -> Iterator[tuple[str, Json]]:
    """The path and its siblings.

    Parameters
    ----------
    of_orders
        Parameters of a flat order for a section and a form of answer.
    """
    names = [each for each in of_orders("geometry", None) if isinstance(each, str) and each != "explain"]
    flat: list[str | Json] = [each if each == "shop" else f"{each}_alternatives" for each in names]
    flat[flat.index("columns_alternatives")] = _COUNTED_OR_PICKED
    for form in (None, *FORMS):
        path = f"/v1/price-table.{form}" if form else "/v1/price-table"
        yield path, {"post": _post(form), "get": _get(form, flat)}


def _post(form: str | None) -> Json:
    content: Json = {"schema": ref(f"{_OWN}Order")}
    if form is None:
        content["examples"] = {name: {"value": dict(asked)} for name, asked in TABLES.items()}
    return {
        "operationId": f"price_table_{form}" if form else "price_table",
        **_told(form),
        "parameters": [_PICKED, *_written(form)],
        "requestBody": {"required": True, "content": {"application/json": content}},
        "responses": {**_answered(form), **_refused("413", "415")},
    }


def _get(form: str | None, flat: list[str | Json]) -> Json:
    unchanged = {"description": "Unchanged since the entity tag of If-None-Match"}
    told = _told(form)
    return {
        "operationId": f"price_table_{form}_get" if form else "price_table_get",
        **told,
        "summary": f"{told['summary']}, asked flat",
        "parameters": [*flat, *_written(form)],
        "responses": {**_answered(form), "304": unchanged, **_refused("414")},
    }


def _told(form: str | None) -> Json:
    tag = "spreadsheet" if form else "board"
    few = f", up to {PAGE_ROWS} rows" if form == "txt" else ""
    return {"tags": [tag], "summary": f"{_SUMMARY}, as .{form}{few}" if form else _SUMMARY, "security": _SECURITY}


def _written(form: str | None) -> list[Json]:
    """Parameters of how the answer is written."""
    of_form = PRESENTATION[form] if form in ("csv", "tsv") else ()
    inline = [INLINE] if form in MEDIA else []
    return [{"in": "query", **each} for each in (*of_form, *inline, REFRESH)]


def _answered(form: str | None) -> Json:
    if form is None:
        return good("application/json", ref(f"{_OWN}Answer"))
    media = NDJSON if form == "ndjson" else MEDIA[form]
    return good(media, {"type": "string"})


def _refused(*more: str) -> Json:
    return {status: response(status) for status in sorted(("400", "401", "422", *more))}
