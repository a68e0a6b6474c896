"""Suggestions as the tree that is written: orders that may be sent as they stand, what they change and give up."""

import math
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any, Final

from chequerwork.api.answer_fields import (
    day,
    kind,
    lacking,
    many,
    maybe_num,
    maybe_one,
    maybe_text,
    money,
    num,
    one,
    ref,
    text,
    whole,
)
from chequerwork.api.order_request import as_query, as_request, length
from chequerwork.api.sections.trees import RECT, Fields, Tree, amount, mm, rect_tree, tell
from chequerwork.domain.plan import Plan
from chequerwork.domain.suggestions.suggest import (
    ClosestMiss,
    MissedLimit,
    RelaxedLimit,
    Suggestion,
    Suggestions,
    UnreachableLimit,
)
from chequerwork.domain.wood.verdict import Verdict
from chequerwork.quantities import format_length, format_mass

_POSTED: Final = "May be sent to /v1/quotes as it stands, and has this price there."
SHAPES: Final[Mapping[str, Fields]] = {
    "Suggestions": {
        "status": kind("string", "found, or none where no order keeps to every limit.", enum=["found", "none"]),
        "thorough": kind("boolean", "False where the work ended before everything was weighed."),
        "currency": text(),
        "suggestions": many("Suggestion", "Best first; none of them misses a limit."),
        "none": maybe_one("NoneSuits", "What stands in the way; null where there are suggestions."),
    },
    "Suggestion": {
        "rank": whole(),
        "points": maybe_num("How far it leads away from what is wanted; 1 is what one per cent of the square counts."),
        "order": ref({"$ref": "#/components/schemas/Order"}, _POSTED),
        "link": text("The same order as a path with a query."),
        "changes": many("OrderChange", "Against the request."),
        "gives_up": ref({"type": "array", "items": {"type": "string"}}, "The same in sentences, and what is worse."),
        "square_mm": num(),
        "square_text": text(),
        "outside": one("Outside"),
        "mass_kg": num(),
        "mass_text": text(),
        "unit_gross": money("One board with tax."),
        "total": money("The whole order, shipping and tax included."),
        "ready_on": day(),
        "ships_on": day(),
        "verdict": text("On the construction: sound, watch or expect damage."),
        "fit": maybe_text("How the pieces stand; null where none were given."),
        "workshop": lacking("SuggestionCost", "With a maker's key."),
    },
    "SuggestionCost": {"cost_total": money(), "margin_pct": num()},
    "Outside": {**RECT, "height_mm": num("To the highest wood."), "height_text": text()},
    "OrderChange": {
        "field": text("Of the order, as in a flat query."),
        "from": maybe_text("As it was asked for; null where it was left open, or where there was none."),
        "to": maybe_text("Null where there is none now."),
    },
    "NoneSuits": {
        "alone": many("MissedLimit", "Limits that no order keeps to even by themselves; has is the least there is."),
        "closest": maybe_one("ClosestMiss", "The order that misses the limits by the smallest share."),
        "relaxed": many("RelaxedLimit", "Each of them would do, if the other limits stay."),
    },
    "ClosestMiss": {"suggestion": one("Suggestion"), "missed": many("MissedLimit")},
    "MissedLimit": {
        "limit": text(),
        "asked": maybe_text("As it was asked for."),
        "has": maybe_text("What the order has, or the least there is; null where it cannot be told."),
        "text": text(),
    },
    "RelaxedLimit": {
        "limit": text(),
        "asked": text(),
        "needed": text("What would do."),
        "text": text(),
        "suggestion": one("Suggestion", "Keeps to all limits once this one is relaxed."),
    },
}
# A row of the table: every name there is.
ROW_LISTS: Final = ("changes", "gives_up")
_LENGTHS: Final = frozenset({"outside", "outside_length", "outside_width", "height"})
_UP_MM: Final = {"metric": 1.0, "imperial": 25.4 / 16}
_UP_G: Final = 10.0
_LB_G: Final = 453.59237


def view(found: Suggestions, *, currency: str, workshop: bool) -> Tree:
    """The answer."""
    suits = bool(found.suggestions)
    return {
        "status": "found" if suits else "none",
        "thorough": found.thorough,
        "currency": currency,
        "suggestions": [
            _suggestion(each, rank, workshop=workshop) for rank, each in enumerate(found.suggestions, start=1)
        ],
        "none": None if suits else _none(found, workshop=workshop),
    }


def rows(tree: Tree) -> list[Tree]:
    """Suggestions as rows of a table, their lists as texts."""
    return [
        {
            **{name: value for name, value in each.items() if name not in ("order", *ROW_LISTS)},
            "changes": [change["field"] for change in each["changes"]],
            "gives_up": each["gives_up"],
        }
        for each in tree["suggestions"]
    ]


def _suggestion(found: Suggestion, rank: int, *, workshop: bool) -> Tree:
    plan, order = found.plan, found.plan.order
    posted, sizes, units = as_request(order), plan.geometry, order.units
    tree: Tree = {
        "rank": rank,
        "points": None if found.points is None else round(found.points, 2),
        "order": posted,
        "link": f"/v1/quotes?{as_query(posted)}",
        "changes": [
            {"field": change.field, "from": _text(change.was, units), "to": _text(change.now, units)}
            for change in found.changes
        ],
        "gives_up": [tell(told.text, told.lengths_mm, units) for told in found.gives_up],
        "square_mm": mm(order.square_mm),
        "square_text": format_length(order.square_mm, units),
        "outside": {
            **rect_tree(sizes.overall, units),
            "height_mm": mm(sizes.outer_mm[2]),
            "height_text": format_length(sizes.outer_mm[2], units),
        },
        "mass_kg": round(sizes.mass_kg, 3),
        "mass_text": format_mass(sizes.mass_kg * 1000, units),
        "unit_gross": amount(plan.price.unit_gross),
        "total": amount(plan.price.total),
        "ready_on": plan.schedule.ready_on.isoformat(),
        "ships_on": plan.schedule.ships_on.isoformat(),
        "verdict": plan.movement.verdict,
        "fit": sizes.fit.verdict,
    }
    if workshop:
        tree["workshop"] = {
            "cost_total": amount(plan.price.cost_total, plan),
            "margin_pct": round(float(plan.price.margin_pct), 2),
        }
    return tree


def _text(value: Any, units: str) -> str | None:
    """A value of an order as its request would say it; an object in one line."""
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, float):
        return length(value, units)
    if isinstance(value, tuple):
        return ";".join(f"{line.species}:{length(line.width_mm, units)}" for line in value) or None
    told = [getattr(value, name) for name in ("joint", "hold", "material", "species") if hasattr(value, name)]
    sizes = [getattr(value, name) for name in ("width_mm", "thickness_mm") if hasattr(value, name)]
    return ", ".join([*told, length(sizes[0], units)]) if sizes else str(value)


# Where nothing suits --------------------------------------------------------------------------------------------------


def _none(found: Suggestions, *, workshop: bool) -> Tree:
    plan = found.closest.suggestion.plan if found.closest else None
    return {
        "alone": [_alone(each, plan) for each in found.alone],
        "closest": _closest(found.closest, workshop=workshop) if found.closest else None,
        "relaxed": [_relaxed(each, workshop=workshop) for each in found.relaxed],
    }


def _alone(found: UnreachableLimit, plan: Plan | None) -> Tree:
    asked, least = _said(found.limit, found.asked, plan), _said(found.limit, found.least, plan, up=True)
    if found.limit == "species":
        told = f"No two of these timbers show a chequer in this shop: {asked}. Name more of them."
    elif found.limit in ("ready_by", "ships_by"):
        told = f"No board like this is done by {asked}; the earliest is {least}."
    elif found.limit == "verdict":
        told = f"No board like this is {asked} in this climate; the best is {least}."
    else:
        told = f"{_NAMED[found.limit]}: {asked} is less than any board like this has; the least is {least}."
    return {"limit": found.limit, "asked": asked, "has": least, "text": told}


def _closest(found: ClosestMiss, *, workshop: bool) -> Tree:
    plan = found.suggestion.plan
    return {
        "suggestion": _suggestion(found.suggestion, 1, workshop=workshop),
        "missed": [_missed(each, plan) for each in found.missed],
    }


def _missed(found: MissedLimit, plan: Plan) -> Tree:
    asked, has = _said(found.limit, found.asked, plan), _said(found.limit, found.has, plan, up=True)
    if found.limit == "from_stock":
        return {"limit": found.limit, "asked": "true", "has": None, "text": "The rack does not give all of its wood."}
    return {
        "limit": found.limit,
        "asked": asked,
        "has": has,
        "text": f"{_NAMED[found.limit]}: {has} instead of {asked}{_by(found)}.",
    }


def _by(found: MissedLimit) -> str:
    if isinstance(found.has, date):
        days = (found.has - found.asked).days
        return f", {days} {'day' if days == 1 else 'days'} late"
    if isinstance(found.has, Verdict | tuple) or not found.asked:
        return ""
    return f", {(float(found.has) / float(found.asked) - 1) * 100:.1f} % more"


def _relaxed(found: RelaxedLimit, *, workshop: bool) -> Tree:
    plan = found.suggestion.plan
    asked, needed = _said(found.limit, found.asked, plan), _said(found.limit, found.needed, plan, up=True)
    return {
        "limit": found.limit,
        "asked": asked,
        "needed": needed,
        "text": f"{_NAMED[found.limit]}: {needed} instead of {asked} would do.",
        "suggestion": _suggestion(found.suggestion, 1, workshop=workshop),
    }


_NAMED: Final = {
    "outside": "Outside",
    "outside_length": "Outside length",
    "outside_width": "Outside width",
    "height": "Height",
    "mass": "Mass",
    "unit_gross": "Price of a board",
    "total": "Total",
    "ready_by": "Ready by",
    "ships_by": "Ships by",
    "verdict": "Verdict",
    "species": "Timbers",
    "from_stock": "From stock",
}


def _said(limit: str, value: Any, plan: Plan | None, *, up: bool = False) -> str | None:
    """A limit or what it is held to, in words; ``up`` rounds a size to what can be said, so that it still holds."""
    if value is None:
        return None
    units = plan.order.units if plan else "metric"
    if limit in _LENGTHS:
        step_mm = _UP_MM[units]
        return format_length(math.ceil(value / step_mm - 1e-9) * step_mm if up else value, units)
    if limit == "mass":
        return _mass(value, units, up=up)
    if isinstance(value, Decimal):
        return f"{value:f} {plan.order.currency}" if plan else f"{value:f}"
    if isinstance(value, tuple):
        return ", ".join(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def _mass(grams: float, units: str, *, up: bool) -> str:
    """A mass that a limit may be: pounds with decimals, as no limit is read in pounds and ounces."""
    if units == "imperial":
        pounds = grams / _LB_G * 100
        return f"{(math.ceil(pounds - 1e-9) if up else round(pounds)) / 100:g} lb"
    return format_mass(math.ceil(grams / _UP_G - 1e-9) * _UP_G if up else grams, units)
