"""What moves a price, for the maker: its lines by their share, and what small changes of order and shop do to it."""

from datetime import date
from decimal import Decimal
from typing import Final

from chequerwork.api.component import (
    Component,
    PlanContext,
    ReadFrom,
    context_of,
    from_plan,
    many,
    money,
    number,
    pointer,
    text,
)
from chequerwork.api.sections.trees import Tree, amount
from chequerwork.domain.plan import Plan
from chequerwork.domain.sensitivity import Figure, sensitivity
from chequerwork.quantities import format_length


def _told(which: str) -> ReadFrom:
    """One of the two figures of a change, as a maker writes it."""
    return lambda moved, to: _figure(getattr(moved.change, which), moved.change.unit, to)


def _figure(figure: Figure, unit: str, to: PlanContext) -> str:
    """A figure as a maker writes it."""
    if unit == "mm":
        return format_length(float(str(figure)), to.units)
    if unit == "pct":
        return f"{float(str(figure)):g} %"
    if isinstance(figure, Decimal):
        return f"{amount(to.rounded(figure))} {to.plan.shop.currency} {unit}"
    return figure.isoformat() if isinstance(figure, date) else str(figure)


_CHANGE: Final = (
    *text("code", "Stable; new ones may come.", "change.code"),
    *text("text", of="change.text"),
    *pointer("at", "JSON pointer into the quote, or after /shop into the shop's own figures.", "change.at"),
    *text("now_text", "The figure there.", _told("now")),
    *text("then_text", "The figure that is tried.", _told("then")),
)
PRICE_LINE: Final = Component(
    "PriceLine",
    text("code", "Of a cost line, or fees or margin."),
    text("title"),
    money("amount", "For the whole order."),
    number("share_pct", "Of the goods' net price.", lambda line, _: float(line.share * 100), decimals=2),
)
PRICE_MOVE: Final = Component(
    "PriceMove",
    _CHANGE,
    money("asked", "Change of one board's price before its price end, which swallows small changes."),
    money("unit_gross", "Change of one board's shown price, with tax."),
    money("total", "Change of what the customer pays."),
    money("cost_total", "Change of the cost."),
    money("floor_total", "Change of the least net price of the goods at which nothing is lost."),
)
PRICE_MOVE_LEFT_OUT: Final = Component(
    "PriceMoveLeftOut", _CHANGE, text("reason", "Why this order cannot be changed so.")
)
SENSITIVITY: Final = Component(
    "Sensitivity",
    text("currency", "Of every amount: that of the price, ISO 4217.", from_plan("price.currency")),
    many("parts", PRICE_LINE, "The lines added up: materials, work, overhead, packing, fees, margin; largest first."),
    many("lines", PRICE_LINE, "What the goods' net price goes into, the largest first."),
    many("moves", PRICE_MOVE, "Small changes, each priced anew, those first that move the asked price most."),
    many("left_out", PRICE_MOVE_LEFT_OUT, "Changes that cannot be made."),
)

COMPONENTS: Final = (PRICE_LINE, PRICE_MOVE, PRICE_MOVE_LEFT_OUT, SENSITIVITY)


def view(plan: Plan) -> Tree:
    """What moves the price of a plan, as a tree."""
    return SENSITIVITY.write(sensitivity(plan), context_of(plan, workshop=True))
