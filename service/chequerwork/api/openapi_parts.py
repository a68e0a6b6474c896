"""Parameters and request schemas of the contract: what may be asked, by the component name of what reads it."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import combinations
from typing import Any, Final

from marshmallow import Schema

from chequerwork.api import schemas
from chequerwork.api.examples import ORDERS
from chequerwork.api.fields import NAME_PATTERN, TEXT_FORMS, Either
from chequerwork.api.forms import Form
from chequerwork.api.price_table import COLUMNS_TOLD
from chequerwork.api.schemas import ORDER, flat_shape
from chequerwork.api.stock_schemas import BOARD_DEFECT, SAW_HABITS, STOCK_BOARD, STOCK_REQUEST, WANTED_PART, WAYS
from chequerwork.api.suggestion_schemas import LIMITS, REQUEST, USUAL, WANTED_ORDER, WISHES
from chequerwork.domain.stock.request import PRICES
from chequerwork.ops.limits import MAX_COMBINATIONS

Json = dict[str, Any]
Parameters = list[str | Json]  # names of shared ones, and others whole
_ROOT: Final = "#/components/schemas/"
_TABLE: Final = "PriceTable"  # what the names of an order's schemas with alternatives begin with
_LEAST: Final = {name: value for name, value in ORDERS["least"].items() if name in ("square", "light", "dark")}
_YES_OR_NO: Final[Json] = {"type": "string", "enum": ["0", "1"]}
_FLAGS: Final[Mapping[str, Json]] = {
    "explain": {
        "name": "explain",
        "description": "1: beside each section, formula, inputs, result and sources of its numbers.",
        "schema": dict(_YES_OR_NO),
    },
    "from_stock": {
        "name": "from_stock",
        "description": "1: beside the price, what the wood costs by the stock plan. Needs a maker's key.",
        "schema": dict(_YES_OR_NO),
    },
    "sensitivity": {
        "name": "sensitivity",
        "description": "1: beside the price, what moves it: lines by their share, and small changes, each priced anew. "
        "Needs a maker's key.",
        "schema": dict(_YES_OR_NO),
    },
}


# Schemas --------------------------------------------------------------------------------------------------------------


def request_schemas() -> Iterator[tuple[str, Schema]]:
    """Schemas of what is asked by component name, inner ones first."""
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
    yield from (
        ("WantedPart", WANTED_PART),
        ("BoardDefect", BOARD_DEFECT),
        ("StockBoard", STOCK_BOARD),
        ("SawHabits", SAW_HABITS),
        ("StockRequest", STOCK_REQUEST),
        ("WantedOrder", WANTED_ORDER),
        ("Limits", LIMITS),
        ("Wishes", WISHES),
        ("SuggestionsRequest", REQUEST),
    )


# What a schema says of its object as a whole.
WHOLE: Final[Mapping[str, Json]] = {
    "Order": {"anyOf": [{"required": ["square"]}, {"required": ["pieces"]}]},
    "StockRequest": {"oneOf": [{"required": [name]} for name in WAYS]},
    "StockBoard": {
        "oneOf": [{"required": ["thickness"]}, {"required": ["class"]}],
        "not": {"anyOf": [{"required": list(pair)} for pair in combinations(PRICES, 2)]},
    },
}


def table_schemas(schemas: Mapping[str, Json]) -> Json:
    """The order's schema with alternatives, and those of its parts, made of the order's own."""
    made: Json = {}
    pending = ["Order"]
    while pending:
        name = pending.pop()
        if _TABLE + name in made:
            continue
        own = schemas[name]
        properties = {key: _several(key, inner) for key, inner in own["properties"].items()}
        about = "An order in which a list of alternatives may stand for any value." if name == "Order" else ""
        made[_TABLE + name] = {**own, "properties": properties, **({"description": about} if about else {})}
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
    return {**found, "$ref": f"{_ROOT}{_TABLE}{name}"} if name and _is_part(name) else found


def _parts_of(node: Any) -> Iterator[str]:
    if isinstance(node, dict):
        if "$ref" in node:
            yield str(node["$ref"]).removeprefix(_ROOT)
        node = list(node.values())
    for each in node if isinstance(node, list) else ():
        yield from _parts_of(each)


def _is_part(name: str) -> bool:
    return name not in TEXT_FORMS


# Shared parameters ----------------------------------------------------------------------------------------------------


def shared_parameters() -> Iterator[tuple[str, Json]]:
    """Parameters that stand among the components, by name."""
    of_order = dict(_order_parameters())
    yield from of_order.items()
    yield from _alternatives(of_order)
    yield from _FLAGS.items()


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


def _alternatives(of_order: Mapping[str, Json]) -> Iterator[tuple[str, Json]]:
    """The order's fields, flat, several values of each separated by a bar."""
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


# How an answer is written ---------------------------------------------------------------------------------------------

# By name, in the order of the contract; ``columns`` stands with what is asked, or in the form.
PRESENTATION: Final[Mapping[str, Json]] = {
    "delimiter": {"name": "delimiter", "schema": {"type": "string", "enum": [",", ";", "tab"], "default": ","}},
    "decimal": {"name": "decimal", "schema": {"type": "string", "enum": [".", ","], "default": "."}},
    "bom": {"name": "bom", "schema": {"type": "string", "enum": ["0", "1"], "default": "0"}},
    "field": {
        "name": "field",
        "description": "The one value to answer with, by its flat name; a length may end in _in, _cm, _m or _ft.",
        "schema": {
            "type": "string",
            "pattern": "^[A-Za-z][A-Za-z0-9_.]{0,199}$",
            "examples": ["geometry.overall.length_in"],
        },
    },
}
ERRORS: Final[Json] = {
    "name": "errors",
    "description": "inline: a fault becomes one short line that begins ERROR, with status 200.",
    "schema": {"type": "string", "enum": ["inline"]},
}
REFRESH: Final[Json] = {
    "name": "refresh",
    "description": "Ignored: a new value makes a sheet ask again.",
    "schema": {"type": "string"},
}
BOARD: Final[Json] = {
    "name": "board",
    "description": "Number of the one layout to draw; left out, all.",
    "schema": {"type": "string", "pattern": "^[1-9][0-9]{0,4}$", "examples": ["1"]},
}


def _counted_or_picked(about: str, pattern: str, example: list[str]) -> Json:
    """The parameter that is both a field of the order and a choice of cells."""
    return {
        "name": "columns",
        "description": f"{about} It may be given once as each.",
        "style": "form",
        "explode": True,
        "schema": {
            "type": "array",
            "maxItems": 2,
            "items": {"type": "string", "pattern": f"^({pattern}|[A-Za-z][A-Za-z0-9_.;]{{0,199}})$"},
            "examples": [example],
        },
    }


_COLUMNS: Final = _counted_or_picked(
    "Digits: squares across the grain. Anything else: names of answer cells in their order, joined by semicolons.",
    "[0-9]{1,2}",
    ["10", "price.total;price.currency"],
)
_COLUMNS_OF_TABLE: Final = _counted_or_picked(
    f"Digits: squares across the grain, or several separated by |. Anything else: {COLUMNS_TOLD}",
    r"[0-9]{1,2}(\|[0-9]{1,2})*",
    ["8|10", "square;price.total;fault"],
)


# What is asked, flat --------------------------------------------------------------------------------------------------


def in_query(*parameters: Mapping[str, Any]) -> Parameters:
    """Parameters as an operation has them."""
    return [{"in": "query", **parameter} for parameter in parameters]


def flat(component: str, form: Form[Any]) -> tuple[Parameters, Parameters]:
    """Parameters of a flat query that come before and after those of how to write the answer."""
    before, after = _FLAT[component]
    return before(form), [*after()]


def _order(form: Form[Any]) -> Parameters:
    """The order's fields; where cells can be picked, by the same name as one of them."""
    names: Parameters = [name.replace(".", "_") for name in flat_shape()]
    if "columns" in form.takes:
        names[names.index("columns")] = {"in": "query", **_COLUMNS}
    return names


def _table_order(_: Form[Any]) -> Parameters:
    names = (name.replace(".", "_") for name in flat_shape())
    asked: Parameters = [name if name == "shop" else f"{name}_alternatives" for name in names]
    asked[asked.index("columns_alternatives")] = {"in": "query", **_COLUMNS_OF_TABLE}
    return asked


def _wanted_order(form: Form[Any]) -> Parameters:
    """The order's fields, none of which need be given."""
    return [_open(name) if isinstance(name, str) and name in _LEAST else name for name in _order(form)]


def _open(name: str) -> Json:
    contract = dict(WANTED_ORDER.fields[name].metadata["contract"])
    about = contract.pop("description")
    return {"in": "query", "name": name, "description": about, "schema": contract}


def _limits_and_wishes() -> Iterator[Json]:
    for part, schema in (("limits", LIMITS), ("wishes", WISHES)):
        for name, field in schema.fields.items():
            contract = dict(field.metadata["contract"])
            about = contract.pop("description")
            if contract.get("type") == "array":
                about = f"{about} Names joined by semicolons."
                contract = {"type": "string", "pattern": _joined(contract["items"], contract["maxItems"])}
            elif contract.get("type") == "boolean":
                contract = dict(_YES_OR_NO)
            yield {"in": "query", "name": f"{part}.{name}", "description": about, "schema": contract}
    count = dict(REQUEST.fields["count"].metadata["contract"])
    about = count.pop("description")
    yield {"in": "query", "name": "count", "description": about, "schema": {**count, "default": USUAL}}


def _joined(entry: Json, most: int) -> str:
    one = entry["pattern"][1:-1] if "pattern" in entry else f"({'|'.join(entry['enum'])})"
    return f"^{one}(;{one}){{0,{most - 1}}}$"


def _goal() -> Iterator[Json]:
    contract = STOCK_REQUEST.fields["goal"].metadata["contract"]
    yield {
        "in": "query",
        "name": "goal",
        "description": contract["description"],
        "schema": {"type": "string", "enum": contract["enum"]},
    }


def _timbers(_: Form[Any]) -> Parameters:
    return [
        {"in": "query", "name": name, "description": contract.pop("description"), "schema": contract}
        for name, field in schemas.TIMBERS.fields.items()
        for contract in [dict(field.metadata["contract"])]
    ]


def _shop(_: Form[Any]) -> Parameters:
    contract = {"type": "string", "pattern": NAME_PATTERN}
    return in_query({"name": "shop", "schema": contract, "description": "Left out, the first shop."})


_FLAT: Final[Mapping[str, tuple[Callable[[Form[Any]], Parameters], Callable[[], Iterable[Json]]]]] = {
    "Order": (_order, tuple),
    "StockRequest": (_order, _goal),
    "PriceTableOrder": (_table_order, tuple),
    "SuggestionsRequest": (_wanted_order, _limits_and_wishes),
    "ChoicesRequest": (_shop, tuple),
    "TimbersRequest": (_timbers, tuple),
    "": (lambda _: [], tuple),
}
