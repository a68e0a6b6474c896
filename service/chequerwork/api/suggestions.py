"""Suggestions: limits and wishes in, a few complete orders out, each of which may be sent as it stands."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from chequerwork.api import suggestions_view
from chequerwork.api.forms import Body, Forms, as_cells, as_json, as_text, layout, names_of
from chequerwork.api.pipeline import Context, Reader, find_shop, placed
from chequerwork.api.presentation import Presentation
from chequerwork.api.schemas import Reading, beside, order_of
from chequerwork.api.sections.trees import Tree
from chequerwork.api.service import Service, day_at
from chequerwork.api.suggestion_schemas import SuggestionsReading, flat_request, nested, read_suggestions
from chequerwork.domain.basics.errors import Fault, Path, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.construction import Construction
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.suggestions.suggest import starts, suggest
from chequerwork.render.cells import to_csv_rows
from chequerwork.render.suggestions_page import suggestions_page

ORDER_AT: Final[Path] = ("order",)


# Reading --------------------------------------------------------------------------------------------------------------


def _of_query(raw: dict[str, Any], faults: Sequence[Fault]) -> SuggestionsReading:
    reading = read_suggestions(nested(raw), frozenset(fault.at for fault in faults))
    return replace(reading, order=beside(reading.order, faults))


def _shop(reading: SuggestionsReading, service: Service) -> Shop:
    others = itertools.chain(placed(reading.order.faults, ORDER_AT), reading.faults)
    return find_shop(service, reading.order.shop, others, ORDER_AT)


READER: Final = Reader(
    component="SuggestionsRequest",
    shape=flat_request(),
    of_query=_of_query,
    of_body=read_suggestions,
    shop=_shop,
    order_at=ORDER_AT,
)


def needs_maker(reading: SuggestionsReading, _: Presentation) -> bool:
    """Whether a limit is the maker's alone."""
    return reading.limits.from_stock


# Answering ------------------------------------------------------------------------------------------------------------


def answer(reading: SuggestionsReading, context: Context[Shop]) -> Tree:
    """Answer one request for suggestions.

    Raises
    ------
    Refused
        With every fault of the request.
    """
    shop, tables, day = context.shop, context.service.tables, day_at(context.shop)
    order = reading.order.request
    faults = [
        *placed(_order_faults(reading.order, shop, tables, day), ORDER_AT),
        *reading.faults,
        *_limit_faults(reading, order, shop, tables, day),
    ]
    if faults:
        raise Refused(faults)
    try:
        found = suggest(
            order,
            reading.limits,
            reading.wishes,
            reading.count,
            shop=shop,
            tables=tables,
            today=day,
        )
    except Refused as refused:
        raise Refused(placed(refused.faults, ORDER_AT)) from None
    return suggestions_view.view(found, currency=order.currency or shop.currency, workshop=context.workshop)


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
    reading: SuggestionsReading, order: OrderRequest, shop: Shop, tables: Tables, day: date
) -> Iterator[Fault]:
    """What no schema can foretell of the limits."""
    limits, issued_on = reading.limits, order.issued_on or day
    check = Construction(order.construction, shop, tables)
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


# Writing --------------------------------------------------------------------------------------------------------------


def _rows(tree: Tree, shown: Presentation) -> Body:
    return to_csv_rows(suggestions_view.rows(tree), [suggestions_view.ROW], **layout(shown))


FORMS: Final[Forms[Tree]] = {
    **as_json(lambda tree: tree),
    **as_cells(_rows, names_of("a row's cells", "square_mm;total")),
    **as_text(lambda tree: tree, suggestions_page),
}
