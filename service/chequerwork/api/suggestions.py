"""The path of suggestions: limits and wishes in, a few complete orders out, each of which may be sent as it stands."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from typing import Any, Final

import orjson
from flask import Request, Response, g

from chequerwork.api import suggestions_view
from chequerwork.api.access import caller_role, require_maker
from chequerwork.api.http import answer
from chequerwork.api.presentation import Presentation, nothing_beside_the_body, read_presentation
from chequerwork.api.problems import invalid_order
from chequerwork.api.reading import read_args, read_json, read_query
from chequerwork.api.schemas import Reading, beside, order_of
from chequerwork.api.sections.trees import Tree
from chequerwork.api.service import Service
from chequerwork.api.suggestion_schemas import SuggestionsReading, flat_request, nested, read_suggestions
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import KeyRole, Shop
from chequerwork.domain.completion.construction import Construction
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import Plan
from chequerwork.domain.suggestions.suggest import starts, suggest
from chequerwork.render.cells import MEDIA_TYPES, pick, to_csv_rows, to_text
from chequerwork.render.suggestions_page import suggestions_page

FORMS: Final = ("csv", "tsv", "txt")
_JSON: Final = "application/json"
_FLAT: Final = flat_request()
# A table has these columns even where it has no row.
_ROW: Final = {
    "rank": 1,
    "points": 0.0,
    "link": "",
    "square_mm": 0.0,
    "square_text": "",
    "outside": dict.fromkeys(("length_mm", "length_text", "width_mm", "width_text", "height_mm", "height_text")),
    "mass_kg": 0.0,
    "mass_text": "",
    "unit_gross": "",
    "total": "",
    "ready_on": "",
    "ships_on": "",
    "verdict": "",
    "fit": "",
    "changes": [],
    "gives_up": [],
}


def ask(asked: Request, service: Service, form: str | None, *, day_of: Callable[[Shop], date]) -> Response:
    """Answer one request for suggestions.

    Parameters
    ----------
    asked, service
        The request, and what it is answered from.
    form
        ``csv``, ``tsv``, ``txt``, or None for JSON.
    day_of
        The date where a shop is.
    """
    reading, shown = _read(asked, form)
    try:
        shop = _shop(reading, service)
        g.shop = shop
        role = caller_role(asked, shop)
        if reading.limits.from_stock:
            require_maker(role)
        tree = _suggested(reading, shop, service, day_of(shop), workshop=role is KeyRole.MAKER)
    except Refused as refused:
        raise Refused(_flat(refused.faults) if asked.method != "POST" else refused.faults) from None
    try:
        body, content_type = _written(tree, form, shown)
    except Refused as refused:  # how to write it stands in the query, whatever the method
        raise invalid_order(refused.faults, in_query=True) from None
    return answer(asked, body, content_type, private=role is not None)


def _read(asked: Request, form: str | None) -> tuple[SuggestionsReading, Presentation]:
    """What was asked, by a body or flat, and how to write the answer."""
    args, shown, faults = read_args(asked), Presentation(), list[Fault]()
    if form is not None:
        shown, args, faults = read_presentation(args, form)
    if asked.method == "POST":
        nothing_beside_the_body(args, faults)
        return read_suggestions(read_json(asked)), shown
    flat, more = read_query(args, shape=_FLAT)
    faults += more
    reading = read_suggestions(nested(flat), frozenset(fault.at for fault in faults))
    return replace(reading, order=beside(reading.order, faults)), shown


def _flat(faults: tuple[Fault, ...]) -> list[Fault]:
    """Faults with places in a body, for a query: the order's fields stand at its top."""
    return [replace(fault, at=fault.at[1:]) if fault.at[:1] == ("order",) else fault for fault in faults]


def _shop(reading: SuggestionsReading, service: Service) -> Shop:
    try:
        return service.shop(reading.order.shop)
    except Refused as refused:
        raise Refused([*_of_order(refused.faults), *_of_order(reading.order.faults), *reading.faults]) from None


def _of_order(faults: tuple[Fault, ...]) -> Iterator[Fault]:
    for fault in faults:
        yield replace(fault, at=("order", *fault.at))


def _suggested(reading: SuggestionsReading, shop: Shop, service: Service, day: date, *, workshop: bool) -> Tree:
    """The answer as a tree.

    Raises
    ------
    Refused
        With every fault of the request.
    """
    request, tables = reading.order.request, service.tables
    of_order = _order_faults(reading.order, shop, tables, day)
    faults = [*_of_order(of_order), *reading.faults, *_limit_faults(reading, request, shop, service, day)]
    if faults:
        raise Refused(faults)
    try:
        found = suggest(
            request,
            reading.limits,
            reading.wishes,
            reading.count,
            shop=shop,
            tables=tables,
            today=day,
            plan_of=lambda order: Plan(order, shop, tables),
        )
    except Refused as refused:
        raise Refused(_of_order(refused.faults)) from None
    return suggestions_view.view(found, currency=request.currency or shop.currency, workshop=workshop)


def _order_faults(reading: Reading, shop: Shop, tables: Tables, day: date) -> tuple[Fault, ...]:
    """What is wrong with the order, whatever fills its gaps."""
    faults: tuple[Fault, ...] = ()
    for filled in starts(reading.request, shop, tables):
        try:
            order_of(replace(reading, request=filled), shop=shop, tables=tables, today=day)
        except Refused as refused:
            faults = refused.faults
        else:
            return ()
    return faults


def _limit_faults(
    reading: SuggestionsReading, request: OrderRequest, shop: Shop, service: Service, day: date
) -> Iterator[Fault]:
    """What no schema can foretell of the limits."""
    limits, issued_on = reading.limits, request.issued_on or day
    check = Construction(request, shop, service.tables)
    for index, species in enumerate(limits.species or ()):
        yield from check.offered(("limits", "species", index), species)
    for name in ("ready_by", "ships_by"):
        given = getattr(limits, name)
        if given is not None and given < issued_on:
            yield Fault(
                at=("limits", name),
                code="in-the-past",
                detail=f"{name} {given} is before the order's date {issued_on}. Give that day or a later one.",
            )


def _written(tree: Tree, form: str | None, shown: Presentation) -> tuple[bytes, str]:
    if form in ("csv", "tsv"):
        table: dict[str, Any] = {
            "columns": shown.columns,
            "delimiter": shown.delimiter,
            "decimal": shown.decimal,
            "bom": shown.bom,
        }
        return to_csv_rows(suggestions_view.rows(tree), [_ROW], **table), MEDIA_TYPES[form]
    if form == "txt":
        if shown.field is not None:
            return to_text(pick(tree, shown.field)).encode(), MEDIA_TYPES[form]
        return suggestions_page(tree).encode(), MEDIA_TYPES[form]
    return orjson.dumps(tree), _JSON
