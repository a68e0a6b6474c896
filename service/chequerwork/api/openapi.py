"""The contract, generated: request schemas as they read, answer schemas as they are held to, paths from one table."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, Final

import yaml
from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from chequerwork import __version__
from chequerwork.api import answers, schemas
from chequerwork.api.endpoints import PRICED, QUOTES, SUFFIXES, WORKSHOP_ONLY
from chequerwork.api.examples import ORDERS
from chequerwork.api.fields import NAME_PATTERN, TEXT_FORMS, Either
from chequerwork.api.openapi_parts import HEADERS, INLINE, MEDIA, PRESENTATION, REFRESH, Json, good, ref, response
from chequerwork.api.openapi_stock import STOCK_WHOLE, stock_paths, stock_schemas
from chequerwork.api.openapi_suggestions import suggestion_paths, suggestion_schemas
from chequerwork.api.openapi_table import table_parameters, table_paths, table_schemas
from chequerwork.api.problems import KINDS
from chequerwork.api.schemas import ORDER, flat_shape
from chequerwork.domain.plan import SECTIONS

PROBLEM: Final = "application/problem+json"

_SUMMARIES: Final[Mapping[str, str]] = {
    "geometry": "Sizes, rails, mass, fit to the pieces, accuracy",
    "materials": "Bill of materials for the whole order",
    "cutting": "Strips, crosscuts with every kerf, parts with rough and final sizes",
    "movement": "Moisture, seasonal change, mitre gap, bow, verdict",
    "finishing": "Sanding ladder and finish coats",
    "schedule": "Dates; with a maker's key the dated work plan",
    "packing": "Carton, mass, billable mass, girth",
    "compliance": "Timber, customs, safety and handling notices",
    "price": "Price; with a maker's key the cost build-up",
    QUOTES: "The whole quote",
}


def contract() -> Json:
    """The OpenAPI 3.1 document as a plain tree, the same for the same code."""
    spec = APISpec(
        title="Chequerwork",
        version=__version__,
        openapi_version="3.1.0",
        plugins=[_plugin()],
        info={"description": _ABOUT},
        servers=[{"url": "/", "description": "The service that shows this page"}],
        tags=[
            {"name": "board", "description": "One order in, one section of its plan out"},
            {"name": "spreadsheet", "description": "The same, flat, for cells and plain clients"},
            {"name": "service", "description": "What is offered, keys, health"},
        ],
        security=[],
    )
    for name, form in TEXT_FORMS.items():
        spec.components.schema(name, component=dict(form))
    for name, schema in _components():
        spec.components.schema(name, dict(_WHOLE.get(name, {})), schema=schema)
    for name, answered in answers.schemas().items():
        spec.components.schema(name, answered)
    spec.components.security_scheme("accessKey", {"type": "http", "scheme": "bearer", "description": _KEYS})
    for name, refusal in _problem_responses():
        spec.components.response(name, refusal)
    of_order = dict(_order_parameters())
    more = (
        *table_parameters(of_order),
        ("explain", _EXPLAIN),
        ("from_stock", _FROM_STOCK),
        ("sensitivity", _SENSITIVITY),
    )
    for name, parameter in (*of_order.items(), *more):
        spec.components.parameter(name, "query", parameter)
    for path, operations in _paths():
        spec.path(path, operations=operations)
    # Through JSON: plain dicts, lists and texts only, no schema objects or special strings.
    document: Json = json.loads(json.dumps(spec.to_dict()))
    components = document["components"]["schemas"]
    components |= table_schemas(components)
    return document


def to_yaml(document: Json) -> str:
    """The document as YAML in its own order."""
    text: str = yaml.safe_dump(document, sort_keys=False, allow_unicode=True, width=110)
    return text


def _plugin() -> MarshmallowPlugin:
    class Plugin(MarshmallowPlugin):
        """Takes each field's own word for its JSON Schema."""

        def init_spec(self, spec: APISpec) -> None:
            super().init_spec(spec)
            if self.converter is not None:
                self.converter.add_attribute_function(_own_contract)  # type: ignore[no-untyped-call]

    return Plugin(schema_name_resolver=lambda schema: schema.__class__.__name__.removesuffix("Schema"))


def _own_contract(_: Any, field: fields.Field[Any], **__: Any) -> Json:
    contract: Json = field.metadata.get("contract", {})
    return contract


def _components() -> Iterator[tuple[str, Schema]]:
    yield "Order", ORDER
    for name, cls in (
        ("ChessPieces", schemas.ChessPiecesSchema),
        ("DraughtsMan", schemas.DraughtsManSchema),
        ("Line", schemas.LineSchema),
        ("Frame", schemas.FrameSchema),
        ("Base", schemas.BaseSchema),
        ("SquaresGrain", schemas.SquaresGrainSchema),
        ("Skirt", schemas.SkirtSchema),
        ("Backing", schemas.BackingSchema),
        ("Sanding", schemas.SandingSchema),
        ("Climate", schemas.ClimateSchema),
        ("Corners", schemas.CornersSchema),
        ("ChoicesRequest", schemas.ChoicesSchema),
    ):
        yield name, cls()
    yield from stock_schemas()
    yield from suggestion_schemas()


# Parameters -----------------------------------------------------------------------------------------------------------


def _order_parameters() -> Iterator[tuple[str, Json]]:
    """The order's fields, flat. Component names may not hold every sign, so dots become underscores."""
    for name in flat_shape():
        schema = dict(_field_contract(name))
        about = schema.pop("description", "")
        if name == "lines":
            schema = {"type": "string", "examples": ["wenge:2mm;sycamore_maple:4mm"], "pattern": _lines_pattern()}
            about = "Lines between field and frame, inside out: species:width, joined by semicolons."
        elif schema.get("type") == "number":
            # Written plainly, as a spreadsheet writes it: no exponent.
            schema = {**schema, "description": "A plain number, without exponent."}
        parameter = {"name": name, "description": about, "schema": schema}
        if name in _LEAST:
            # Enough for a first try; square may be left out where there are pieces.
            parameter |= {"example": _LEAST[name], "required": name != "square"}
        yield name.replace(".", "_"), parameter


def _lines_pattern() -> str:
    """One to six of ``species:width``."""
    entry = f"{NAME_PATTERN[1:-1]}:{str(TEXT_FORMS['Length']['pattern'])[1:-1]}"
    return f"^{entry}(;{entry}){{0,{schemas.MOST_LINES - 1}}}$"


def _field_contract(name: str) -> Json:
    schema: Schema | None = ORDER
    field: Any = None
    for step in name.split("."):
        if isinstance(field, Either):
            both = {**field.first.fields, **field.second.fields}
            field = both[step]
        else:
            field = schema.fields[step] if schema is not None else None
        schema = getattr(field, "schema", None)
    contract: Json = field.metadata["contract"]
    return contract


_EXPLAIN: Final[Json] = {
    "name": "explain",
    "description": "1: beside each section, formula, inputs, result and sources of its numbers.",
    "schema": {"type": "string", "enum": ["0", "1"]},
}
_FROM_STOCK: Final[Json] = {
    "name": "from_stock",
    "description": "1: beside the price, what the wood costs by the stock plan. Needs a maker's key.",
    "schema": {"type": "string", "enum": ["0", "1"]},
}
_SENSITIVITY: Final[Json] = {
    "name": "sensitivity",
    "description": "1: beside the price, what moves it: lines by their share, and small changes, each priced anew. "
    "Needs a maker's key.",
    "schema": {"type": "string", "enum": ["0", "1"]},
}
_COLUMNS: Final[Json] = {
    "name": "columns",
    "description": "Digits: squares across the grain. Anything else: names of answer cells in their order, joined by "
    "semicolons. It may be given once as each.",
    "style": "form",
    "explode": True,
    "schema": {
        "type": "array",
        "maxItems": 2,
        "items": {"type": "string", "pattern": "^([0-9]{1,2}|[A-Za-z][A-Za-z0-9_.;]{0,199})$"},
        "examples": [["10", "price.total;price.currency"]],
    },
}


_CELLS: Final[Json] = {
    "name": "columns",
    "description": "Names of cells in their order, joined by semicolons.",
    "schema": {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_.;]{0,199}$", "examples": ["currency;shop"]},
}


def _wishes(section: str) -> list[str | Json]:
    return ["explain", "from_stock", "sensitivity"] if section in PRICED else ["explain"]


def _parameters(section: str, suffix: str | None) -> list[str | Json]:
    """Names of shared parameters, and those of this section and form of answer alone."""
    refs: list[str | Json] = [name for name, _ in _order_parameters()]
    if suffix in ("csv", "tsv"):
        refs[refs.index("columns")] = {"in": "query", **_COLUMNS}
    extra = [*PRESENTATION.get(suffix or "", ()), REFRESH]
    if suffix is not None:
        extra.append(INLINE)
    return [*refs, *_wishes(section), *({"in": "query", **parameter} for parameter in extra)]


# Paths ----------------------------------------------------------------------------------------------------------------


def _paths() -> Iterator[tuple[str, Json]]:
    for section in (*SECTIONS, QUOTES):
        schema = "Quote" if section == QUOTES else f"{section.capitalize()}Answer"
        yield f"/v1/{section}", {"post": _post(section, schema), "get": _get(section, schema)}
        for suffix in SUFFIXES:
            yield f"/v1/{section}.{suffix}", {"get": _sibling(section, suffix)}
    yield from stock_paths(_parameters)
    yield from table_paths(_parameters)
    yield from suggestion_paths(_parameters)
    yield from _choices_paths()
    yield from _timbers_paths()
    yield from _sources_paths()
    yield "/healthz", {"get": _plain("alive", "Whether the process answers", "Health", [])}
    ready = _plain("ready", "Whether every shop can quote", "Health", [])
    not_ready = {"description": "Not ready", "content": {"application/json": {"schema": ref("Health")}}}
    ready["responses"]["503"] = not_ready
    yield "/readyz", {"get": ready}
    jwks = _plain("keys", "Public keys of signed quotes (RFC 7517)", None, [])
    yield "/.well-known/jwks.json", {"get": jwks}
    kind = {"in": "path", "name": "kind", "required": True, "schema": {"type": "string", "enum": list(KINDS)}}
    page = _plain("problem", "What a kind of problem means: where its type leads", None, [])
    page["parameters"] = [kind]
    page["responses"]["200"]["content"] = {"text/plain": {"schema": {"type": "string"}}}
    page["responses"]["404"] = response("404")
    yield "/problems/{kind}", {"get": page}
    yield "/openapi.json", {"get": _plain("contract_json", "This document", None, [])}
    yaml_page = _plain("contract_yaml", "This document as YAML", None, [])
    yaml_page["responses"]["200"]["content"] = {"application/yaml": {"schema": {"type": "object"}}}
    yield "/openapi.yaml", {"get": yaml_page}


def _choices_paths() -> Iterator[tuple[str, Json]]:
    shop: Json = {"in": "query", "name": "shop", "schema": _NAME, "description": "Left out, the first shop."}
    refresh = {"in": "query", **REFRESH}
    offers = "What a shop offers: everything an order form needs"
    post = _plain("choices", offers, "Choices", [])
    post["requestBody"] = {"required": True, "content": {"application/json": {"schema": ref("ChoicesRequest")}}}
    del post["responses"]["304"]
    post["responses"] |= {status: response(status) for status in ("400", "413", "415", "422")}
    yield (
        "/v1/choices",
        {"post": post, "get": _plain("choices_get", f"{offers}, asked flat", "Choices", [shop, refresh])},
    )
    yield from _siblings("choices", offers, [shop, refresh])


def _timbers_paths() -> Iterator[tuple[str, Json]]:
    asked: list[Json] = [
        {"in": "query", "name": name, "description": described.pop("description"), "schema": described}
        for name, field in schemas.TIMBERS.fields.items()
        for described in [dict(field.metadata["contract"])]
    ]
    asked.append({"in": "query", **REFRESH})
    table = "The species table: figures, where they differ, and what people call each timber"
    yield "/v1/timbers", {"get": _plain("timbers", table, "Timbers", asked)}
    yield from _siblings("timbers", table, asked)


def _sources_paths() -> Iterator[tuple[str, Json]]:
    refresh = {"in": "query", **REFRESH}
    rests = "What the numbers rest on: sources, and every formula in words"
    yield "/v1/sources", {"get": _plain("sources", rests, "Sources", [refresh])}
    yield from _siblings("sources", rests, [refresh])


def _siblings(name: str, summary: str, parameters: list[Json]) -> Iterator[tuple[str, Json]]:
    """The forms for plain clients of a path that is no section."""
    for suffix in SUFFIXES:
        presentation = [{"in": "query", **parameter} for parameter in (*PRESENTATION[suffix], INLINE)]
        if suffix != "txt":
            presentation.append({"in": "query", **_CELLS})
        found = _plain(f"{name}_{suffix}", f"{summary}, as .{suffix}", None, [*parameters, *presentation])
        found["tags"] = ["spreadsheet"]
        found["responses"]["200"]["content"] = {MEDIA[suffix]: {"schema": {"type": "string"}}}
        yield f"/v1/{name}.{suffix}", {"get": found}


def _post(section: str, schema: str) -> Json:
    return {
        "operationId": section,
        "tags": ["board"],
        "summary": _SUMMARIES[section],
        "security": _security(section),
        "parameters": _wishes(section),
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": ref("Order"), "examples": _EXAMPLES}},
        },
        "responses": {**good("application/json", ref(schema)), **_bad(section, body=True)},
    }


def _get(section: str, schema: str) -> Json:
    return {
        "operationId": f"{section}_get",
        "tags": ["board"],
        "summary": f"{_SUMMARIES[section]}, asked flat",
        "security": _security(section),
        "parameters": _parameters(section, None),
        "responses": {**good("application/json", ref(schema)), **_bad(section, body=False)},
    }


def _sibling(section: str, suffix: str) -> Json:
    media = MEDIA[suffix]
    return {
        "operationId": f"{section}_{suffix}",
        "tags": ["spreadsheet"],
        "summary": f"{_SUMMARIES[section]}, as .{suffix}",
        "security": _security(section),
        "parameters": _parameters(section, suffix),
        "responses": {**good(media, {"type": "string"}), **_bad(section, body=False)},
    }


def _plain(name: str, summary: str, schema: str | None, parameters: list[Json]) -> Json:
    shown = ref(schema) if schema else {"type": "object"}
    responses = {"200": {"description": "Answer", "content": {"application/json": {"schema": shown}}}}
    if name not in ("alive", "ready"):
        responses["200"]["headers"] = HEADERS
        responses["304"] = {"description": "Unchanged since the entity tag of If-None-Match"}
    if parameters:
        responses |= {"400": response("400"), "414": response("414"), "422": response("422")}
    operation: Json = {"operationId": name, "tags": ["service"], "summary": summary, "security": []}
    if parameters:
        operation["parameters"] = parameters
    return {**operation, "responses": responses}


def _bad(section: str, *, body: bool) -> Json:
    statuses = ["400", "401", "422"]
    statuses += ["413", "415"] if body else ["414"]
    if section in (*WORKSHOP_ONLY, *PRICED):
        statuses.append("403")
    found = {status: response(status) for status in sorted(statuses)}
    if not body:
        found = {"304": {"description": "Unchanged since the entity tag of If-None-Match"}, **found}
    return found


def _problem_responses() -> Iterator[tuple[str, Json]]:
    for status, title in sorted(set(KINDS.values())):
        if str(status) not in _PROMISED:
            continue
        yield (
            f"Problem{status}",
            {"description": title, "content": {PROBLEM: {"schema": ref("Problem")}}},
        )


# What a path of ours may answer besides 200 and 304. The server itself may also send 405, 500 and 503.
_PROMISED: Final = frozenset({"400", "401", "403", "404", "413", "414", "415", "422"})


def _security(section: str) -> list[Json]:
    return [{"accessKey": []}] if section in WORKSHOP_ONLY else [{}, {"accessKey": []}]


_LEAST: Final = {name: value for name, value in ORDERS["least"].items() if name in ("square", "light", "dark")}
_NAME: Final[Json] = {"type": "string", "pattern": NAME_PATTERN}
# What a schema says of the object as a whole.
_WHOLE: Final[Mapping[str, Json]] = {
    "Order": {"anyOf": [{"required": ["square"]}, {"required": ["pieces"]}]},
    **STOCK_WHOLE,
}
_EXAMPLES: Final[Json] = {name: {"value": dict(order)} for name, order in ORDERS.items()}
_KEYS: Final = (
    "A storefront's or a maker's key of one shop. Without a key you have the customer view; a maker's key opens "
    "the workshop view."
)
_ABOUT: Final = (
    "One request for a handmade chequered board in; sizes, cut list, materials, wood movement, finishing, dates, "
    "parcel, notices and price out. The calculation is a pure function: the same order, with `issued_on` and "
    "`starts_on` given, is answered with the same bytes. Lengths are texts with a unit; answers carry the unit in "
    "each name. Money is text with a point. Answers may gain fields within a version: ignore what you do not know.\n\n"
    "Everything here is a planning aid. Safety, customs and timber law notices are prompts: ask the authority that "
    "each names."
)
