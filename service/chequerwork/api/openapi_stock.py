"""The contract of the path of stock plans."""

from collections.abc import Callable, Iterator, Mapping
from itertools import combinations
from typing import Final

from marshmallow import Schema

from chequerwork.api.examples import STOCK
from chequerwork.api.openapi_parts import INLINE, MEDIA, PRESENTATION, REFRESH, Json, good, ref, response
from chequerwork.api.stock_plan import FORMS
from chequerwork.api.stock_schemas import BOARD_DEFECT, SAW_HABITS, STOCK_BOARD, STOCK_REQUEST, WANTED_PART, WAYS
from chequerwork.domain.stock.request import PRICES

_SUMMARY: Final = "From which boards, cut how: the stock plan, with its bound"
_SECURITY: Final[list[Json]] = [{"accessKey": []}]
_GOAL: Final[Json] = {
    "in": "query",
    "name": "goal",
    "description": STOCK_REQUEST.fields["goal"].metadata["contract"]["description"],
    "schema": {"type": "string", "enum": STOCK_REQUEST.fields["goal"].metadata["contract"]["enum"]},
}
_BOARD: Final[Json] = {
    "in": "query",
    "name": "board",
    "description": "Number of the one layout to draw; left out, all.",
    "schema": {"type": "string", "pattern": "^[1-9][0-9]{0,4}$", "examples": ["1"]},
}
_ROWS: Final[Json] = {
    "in": "query",
    "name": "columns",
    "description": "Names of a row's cells in their order, joined by semicolons.",
    "schema": {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_.;]{0,199}$", "examples": ["board;part;length_mm"]},
}
# What the schemas say of their objects as wholes.
STOCK_WHOLE: Final[Mapping[str, Json]] = {
    "StockRequest": {"oneOf": [{"required": [name]} for name in WAYS]},
    "StockBoard": {
        "oneOf": [{"required": ["thickness"]}, {"required": ["class"]}],
        "not": {"anyOf": [{"required": list(pair)} for pair in combinations(PRICES, 2)]},
    },
}


def stock_schemas() -> Iterator[tuple[str, Schema]]:
    """The request's schemas by component name, inner ones first."""
    yield "WantedPart", WANTED_PART
    yield "BoardDefect", BOARD_DEFECT
    yield "StockBoard", STOCK_BOARD
    yield "SawHabits", SAW_HABITS
    yield "StockRequest", STOCK_REQUEST


def stock_paths(of_orders: Callable[[str, str | None], list[str | Json]]) -> Iterator[tuple[str, Json]]:
    """The path and its siblings.

    Parameters
    ----------
    of_orders
        Parameters of a flat order for a section and a form of answer.
    """
    yield "/v1/stock-plan", {"post": _post(None), "get": _get(None, of_orders)}
    for form in FORMS:
        yield f"/v1/stock-plan.{form}", {"post": _post(form), "get": _get(form, of_orders)}


def _post(form: str | None) -> Json:
    content: Json = {"schema": ref("StockRequest")}
    if form is None:
        content["examples"] = {name: {"value": dict(asked)} for name, asked in STOCK.items()}
    return {
        "operationId": f"stock_plan_{form}" if form else "stock_plan",
        **_told(form),
        "parameters": _written(form),
        "requestBody": {"required": True, "content": {"application/json": content}},
        "responses": {**_answered(form), **_refused("413", "415")},
    }


def _get(form: str | None, of_orders: Callable[[str, str | None], list[str | Json]]) -> Json:
    unchanged = {"description": "Unchanged since the entity tag of If-None-Match"}
    order = [each for each in of_orders("cutting", form if form in MEDIA else None) if each != "explain"]
    more = [_GOAL, _BOARD] if form == "svg" else [_GOAL]
    told = _told(form)
    return {
        "operationId": f"stock_plan_{form}_get" if form else "stock_plan_get",
        **told,
        "summary": f"{told['summary']}, one order asked flat",
        "parameters": [*order, *more],
        "responses": {**_answered(form), "304": unchanged, **_refused("414")},
    }


def _told(form: str | None) -> Json:
    tag = "spreadsheet" if form in MEDIA else "board"
    return {"tags": [tag], "summary": f"{_SUMMARY}, as .{form}" if form else _SUMMARY, "security": _SECURITY}


def _written(form: str | None) -> list[Json]:
    """Parameters of how the answer to a body is written."""
    own = {"svg": [_BOARD], "csv": [_ROWS], "tsv": [_ROWS]}.get(form or "", [])
    of_form = [{"in": "query", **each} for each in PRESENTATION.get(form or "", ())]
    inline = [{"in": "query", **INLINE}] if form in MEDIA else []
    return [*own, *of_form, *inline, {"in": "query", **REFRESH}]


def _answered(form: str | None) -> Json:
    if form is None:
        return good("application/json", ref("StockPlanAnswer"))
    return good(MEDIA.get(form, "image/svg+xml"), {"type": "string"})


def _refused(*more: str) -> Json:
    return {status: response(status) for status in sorted(("400", "401", "403", "422", *more))}
