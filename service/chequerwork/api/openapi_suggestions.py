"""The contract of the path of suggestions."""

from collections.abc import Callable, Iterator
from typing import Final

from marshmallow import Schema

from chequerwork.api.examples import SUGGESTIONS
from chequerwork.api.openapi_parts import INLINE, MEDIA, PRESENTATION, REFRESH, Json, good, ref, response
from chequerwork.api.suggestion_schemas import LIMITS, REQUEST, USUAL, WANTED_ORDER, WISHES
from chequerwork.api.suggestions import FORMS

_SUMMARY: Final = "Different orders that keep to limits, best first, and what stands in the way of others"
_SECURITY: Final[list[Json]] = [{}, {"accessKey": []}]
_ROWS: Final[Json] = {
    "in": "query",
    "name": "columns",
    "description": "Names of a row's cells in their order, joined by semicolons.",
    "schema": {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_.;]{0,199}$", "examples": ["square_mm;total"]},
}


def suggestion_schemas() -> Iterator[tuple[str, Schema]]:
    """The request's schemas by component name, inner ones first."""
    yield "WantedOrder", WANTED_ORDER
    yield "Limits", LIMITS
    yield "Wishes", WISHES
    yield "SuggestionsRequest", REQUEST


def suggestion_paths(of_orders: Callable[[str, str | None], list[str | Json]]) -> Iterator[tuple[str, Json]]:
    """The path and its siblings.

    Parameters
    ----------
    of_orders
        Parameters of a flat order for a section and a form of answer.
    """
    yield "/v1/suggestions", {"post": _post(None), "get": _get(None, of_orders)}
    for form in FORMS:
        yield f"/v1/suggestions.{form}", {"post": _post(form), "get": _get(form, of_orders)}


def _post(form: str | None) -> Json:
    content: Json = {"schema": ref("SuggestionsRequest")}
    if form is None:
        content["examples"] = {name: {"value": dict(asked)} for name, asked in SUGGESTIONS.items()}
    rows = [_ROWS] if form in ("csv", "tsv") else []
    of_form = [{"in": "query", **each} for each in PRESENTATION.get(form or "", ())]
    inline = [{"in": "query", **INLINE}] if form else []
    return {
        "operationId": f"suggestions_{form}" if form else "suggestions",
        **_told(form),
        "parameters": [*rows, *of_form, *inline, {"in": "query", **REFRESH}],
        "requestBody": {"required": True, "content": {"application/json": content}},
        "responses": {**_answered(form), **_refused("413", "415")},
    }


def _get(form: str | None, of_orders: Callable[[str, str | None], list[str | Json]]) -> Json:
    order = [_open(each) for each in of_orders("geometry", form) if each != "explain"]
    unchanged = {"description": "Unchanged since the entity tag of If-None-Match"}
    told = _told(form)
    return {
        "operationId": f"suggestions_{form}_get" if form else "suggestions_get",
        **told,
        "summary": f"{told['summary']}, asked flat",
        "parameters": [*order, *_flat()],
        "responses": {**_answered(form), "304": unchanged, **_refused("414")},
    }


def _open(parameter: str | Json) -> str | Json:
    """A parameter of an order, which need not be given here."""
    if parameter not in ("light", "dark", "square"):
        return parameter
    contract = dict(WANTED_ORDER.fields[str(parameter)].metadata["contract"])
    about = contract.pop("description")
    return {"in": "query", "name": parameter, "description": about, "schema": contract}


def _flat() -> Iterator[Json]:
    for part, schema in (("limits", LIMITS), ("wishes", WISHES)):
        for name, field in schema.fields.items():
            contract = dict(field.metadata["contract"])
            about = contract.pop("description")
            if contract.get("type") == "array":
                about = f"{about} Names joined by semicolons."
                contract = {"type": "string", "pattern": _joined(contract["items"], contract["maxItems"])}
            elif contract.get("type") == "boolean":
                contract = {"type": "string", "enum": ["0", "1"]}
            yield {"in": "query", "name": f"{part}.{name}", "description": about, "schema": contract}
    count = dict(REQUEST.fields["count"].metadata["contract"])
    about = count.pop("description")
    yield {"in": "query", "name": "count", "description": about, "schema": {**count, "default": USUAL}}


def _joined(entry: Json, most: int) -> str:
    one = entry["pattern"][1:-1] if "pattern" in entry else f"({'|'.join(entry['enum'])})"
    return f"^{one}(;{one}){{0,{most - 1}}}$"


def _told(form: str | None) -> Json:
    tag = "spreadsheet" if form else "board"
    return {"tags": [tag], "summary": f"{_SUMMARY}, as .{form}" if form else _SUMMARY, "security": _SECURITY}


def _answered(form: str | None) -> Json:
    return good(MEDIA[form], {"type": "string"}) if form else good("application/json", ref("Suggestions"))


def _refused(*more: str) -> Json:
    return {status: response(status) for status in sorted(("400", "401", "403", "422", *more))}
