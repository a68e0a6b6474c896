"""All paths of version 1 that answer from shops and tables, one entry each: routes and contract are made of them."""

from collections.abc import Sequence
from functools import partial
from typing import Any, Final

from chequerwork.api import lookups, price_table, quoting, stock_plan, suggestions
from chequerwork.api.examples import ORDERS, STOCK, SUGGESTIONS, TABLES
from chequerwork.api.pipeline import Endpoint, Who


def _section(name: str, summary: str, **more: Any) -> Endpoint[Any, Any, Any]:
    """A part of an order's plan; its view is named like it."""
    return Endpoint(
        name=name,
        reader=quoting.ORDER,
        answer=partial(quoting.section, name),
        forms=quoting.SECTION_FORMS,
        view=f"{name.capitalize()}Answer",
        summary=summary,
        examples=ORDERS,
        **{"flags": ("explain",), **more},
    )


_PRICED: Final[dict[str, Any]] = {
    "flags": ("explain", "from_stock", "sensitivity"),
    "maker_when": quoting.needs_maker,
}
ENDPOINTS: Final[Sequence[Endpoint[Any, Any, Any]]] = (
    _section("geometry", "Sizes, rails, mass, fit to the pieces, accuracy"),
    _section("cutting", "Strips, crosscuts with every kerf, parts with rough and final sizes", who=Who.MAKER),
    _section("materials", "Bill of materials for the whole order", who=Who.MAKER),
    _section("movement", "Moisture, seasonal change, mitre gap, bow, verdict"),
    _section("finishing", "Sanding ladder and finish coats", who=Who.MAKER),
    _section("schedule", "Dates; with a maker's key the dated work plan"),
    _section("packing", "Carton, mass, billable mass, girth"),
    _section("compliance", "Timber, customs, safety and handling notices"),
    _section("price", "Price; with a maker's key the cost build-up", **_PRICED),
    Endpoint(
        name="quotes",
        reader=quoting.ORDER,
        answer=quoting.quote,
        forms=quoting.QUOTE_FORMS,
        view="Quote",
        summary="The whole quote",
        examples=ORDERS,
        **_PRICED,
    ),
    Endpoint(
        name="stock-plan",
        reader=stock_plan.READER,
        answer=stock_plan.answer,
        forms=stock_plan.FORMS,
        who=Who.MAKER,
        bodies_everywhere=True,
        view="StockPlanAnswer",
        summary="From which boards, cut how: the stock plan, with its bound",
        asked_flat="one order asked flat",
        examples=STOCK,
    ),
    Endpoint(
        name="price-table",
        reader=price_table.READER,
        answer=price_table.answer,
        forms=price_table.FORMS,
        bodies_everywhere=True,
        view="PriceTableAnswer",
        summary="Prices of every combination of an order's alternatives, a row for each",
        examples=TABLES,
    ),
    Endpoint(
        name="suggestions",
        reader=suggestions.READER,
        answer=suggestions.answer,
        forms=suggestions.FORMS,
        maker_when=suggestions.needs_maker,
        bodies_everywhere=True,
        view="Suggestions",
        summary="Different orders that keep to limits, best first, and what stands in the way of others",
        examples=SUGGESTIONS,
    ),
    Endpoint(
        name="choices",
        reader=lookups.OF_CHOICES,
        answer=lookups.answer_choices,
        forms=lookups.FORMS,
        who=Who.ANYONE,
        view="Choices",
        summary="What a shop offers: everything an order form needs",
        tag="service",
    ),
    Endpoint(
        name="timbers",
        reader=lookups.OF_TIMBERS,
        answer=lookups.answer_timbers,
        forms=lookups.TIMBERS_FORMS,
        who=Who.ANYONE,
        view="Timbers",
        summary="The species table: figures, where they differ, and what people call each timber",
        tag="service",
    ),
    Endpoint(
        name="sources",
        reader=lookups.OF_NOTHING,
        answer=lookups.answer_sources,
        forms=lookups.FORMS,
        who=Who.ANYONE,
        view="Sources",
        summary="What the numbers rest on: sources, and every formula in words",
        tag="service",
    ),
)
