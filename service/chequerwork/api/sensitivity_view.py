"""What moves a price, for the maker: its lines by their share, and what small changes of order and shop do to it."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Final

from chequerwork.api.answer_fields import kind, many, money, num, text
from chequerwork.api.sections.trees import Fields, Tree, amount
from chequerwork.domain.plan import Plan
from chequerwork.domain.sensitivity import Change, Figure, Line, Moved, sensitivity
from chequerwork.quantities import format_length

_CHANGE: Final[Fields] = {
    "code": text("Stable; new ones may come."),
    "text": text(),
    "at": text("JSON pointer into the quote, or after /shop into the shop's own figures."),
    "now_text": text("The figure there."),
    "then_text": text("The figure that is tried."),
}

SHAPES: Final[Mapping[str, Fields]] = {
    "PriceLine": {
        "code": text("Of a cost line, or fees or margin."),
        "title": text(),
        "amount": money("For the whole order."),
        "share_pct": num("Of the goods' net price."),
    },
    "PriceMove": {
        **_CHANGE,
        "asked": money("Change of one board's price before its price end, which swallows small changes."),
        "unit_gross": money("Change of one board's shown price, with tax."),
        "total": money("Change of what the customer pays."),
        "cost_total": money("Change of the cost."),
        "floor_total": money("Change of the least net price of the goods at which nothing is lost."),
    },
    "PriceMoveLeftOut": {**_CHANGE, "reason": text("Why this order cannot be changed so.")},
    "Sensitivity": {
        "currency": kind("string", "Of every amount: that of the price, ISO 4217."),
        "parts": many(
            "PriceLine", "The lines added up: materials, work, overhead, packing, fees, margin; largest first."
        ),
        "lines": many("PriceLine", "What the goods' net price goes into, the largest first."),
        "moves": many("PriceMove", "Small changes, each priced anew, those first that move the asked price most."),
        "left_out": many("PriceMoveLeftOut", "Changes that cannot be made."),
    },
}


def view(plan: Plan) -> Tree:
    """What moves the price of a plan, as a tree."""
    found = sensitivity(plan)
    return {
        "currency": plan.price.currency,
        "parts": [_line(part) for part in found.parts],
        "lines": [_line(line) for line in found.lines],
        "moves": [_move(move, plan) for move in found.moves],
        "left_out": [{**_change(each.change, plan), "reason": each.reason} for each in found.left_out],
    }


def _line(line: Line) -> Tree:
    return {
        "code": line.code,
        "title": line.title,
        "amount": amount(line.amount),
        "share_pct": round(float(line.share * 100), 2),
    }


def _move(move: Moved, plan: Plan) -> Tree:
    return {
        **_change(move.change, plan),
        "asked": amount(move.asked),
        "unit_gross": amount(move.unit_gross),
        "total": amount(move.total),
        "cost_total": amount(move.cost_total),
        "floor_total": amount(move.floor_total),
    }


def _change(change: Change, plan: Plan) -> Tree:
    return {
        "code": change.code,
        "text": change.text,
        "at": "/" + "/".join(map(str, change.at)),
        "now_text": _figure(change.now, change.unit, plan),
        "then_text": _figure(change.then, change.unit, plan),
    }


def _figure(figure: Figure, unit: str, plan: Plan) -> str:
    """A figure as a maker writes it."""
    if unit == "mm":
        return format_length(float(str(figure)), plan.order.units)
    if unit == "pct":
        return f"{float(str(figure)):g} %"
    if isinstance(figure, Decimal):
        return f"{amount(figure, plan)} {plan.shop.currency} {unit}"
    return figure.isoformat() if isinstance(figure, date) else str(figure)
