"""Suggestions as the tree that is written: orders that may be sent as they stand, what they change and give up."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final, NamedTuple

from chequerwork.api.component import (
    AnswerContext,
    Component,
    choice,
    day,
    flag,
    length,
    many,
    mass,
    maybe,
    money,
    number,
    one,
    other,
    rounded,
    text,
    texts,
    whole,
    workshop,
)
from chequerwork.api.order_request import as_query, as_request
from chequerwork.api.order_request import length as written_length
from chequerwork.api.sections.trees import Tree, tell
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
from chequerwork.quantities import METRIC, format_length, format_mass

# A row of the table: every name there is.
ROW_LISTS: Final = ("changes", "gives_up")
_LENGTHS: Final = frozenset({"outside", "outside_length", "outside_width", "height"})
_UP_MM: Final = {"metric": 1.0, "imperial": 25.4 / 16}
_UP_G: Final = 10.0
_LB_G: Final = 453.59237
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


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestionsContext(AnswerContext):
    """How suggestions are written."""

    currency: str


def view(found: Suggestions, *, currency: str, workshop: bool) -> Tree:
    """The answer."""
    closest = (found.closest.suggestion,) if found.closest else ()
    shown = (*found.suggestions, *closest, *(each.suggestion for each in found.relaxed))
    units = shown[0].plan.order.units if shown else METRIC  # all are of one request
    return SUGGESTIONS.write(found, SuggestionsContext(units=units, currency=currency, workshop=workshop))


def rows(tree: Tree) -> list[Tree]:
    """Suggestions as rows of a table, their lists as texts."""
    return [_row(each) for each in tree["suggestions"]]


def _row(suggestion: Tree) -> Tree:
    row = {name: value for name, value in suggestion.items() if name not in ("order", *ROW_LISTS)}
    row["changes"] = [change["field"] for change in suggestion["changes"]]
    row["gives_up"] = suggestion["gives_up"]
    return row


# Orders ---------------------------------------------------------------------------------------------------------------


class _Ranked(NamedTuple):
    rank: int
    found: Suggestion
    plan: Plan
    posted: Tree  # the order as a request


def _ranked(found: Suggestion, rank: int = 1) -> _Ranked:
    return _Ranked(rank, found, found.plan, as_request(found.plan.order))


def _by_rank(found: Suggestions, _: AnswerContext) -> list[_Ranked]:
    return [_ranked(each, rank) for rank, each in enumerate(found.suggestions, start=1)]


def _sentences(ranked: _Ranked, to: AnswerContext) -> list[str]:
    return [tell(told.text, told.lengths_mm, to.units) for told in ranked.found.gives_up]


def _text(value: Any, units: str) -> str | None:
    """A value of an order as its request would say it; an object in one line."""
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, float):
        return written_length(value, units)
    if isinstance(value, tuple):
        return ";".join(f"{line.species}:{written_length(line.width_mm, units)}" for line in value) or None
    told = [getattr(value, name) for name in ("joint", "hold", "material", "species") if hasattr(value, name)]
    sizes = [getattr(value, name) for name in ("width_mm", "thickness_mm") if hasattr(value, name)]
    return ", ".join([*told, written_length(sizes[0], units)]) if sizes else str(value)


SUGGESTION_COST: Final = Component(
    "SuggestionCost",
    money("cost_total", of=lambda plan, _: rounded(plan.price.cost_total, plan)),
    number("margin_pct", of=lambda plan, _: float(plan.price.margin_pct), decimals=2),
)
OUTSIDE: Final = Component(
    "Outside",
    length("length", "Along the grain.", "overall.length_mm"),
    length("width", of="overall.width_mm"),
    length("height", "To the highest wood.", lambda sizes, _: sizes.outer_mm[2]),
)
ORDER_CHANGE: Final = Component(
    "OrderChange",
    text("field", "Of the order, as in a flat query."),
    maybe(
        text(
            "from",
            "As it was asked for; null where it was left open, or where there was none.",
            lambda change, to: _text(change.was, to.units),
        )
    ),
    maybe(text("to", "Null where there is none now.", lambda change, to: _text(change.now, to.units))),
)
SUGGESTION: Final = Component(
    "Suggestion",
    whole("rank"),
    maybe(
        number(
            "points",
            "How far it leads away from what is wanted; 1 is what one per cent of the square counts.",
            "found.points",
            decimals=2,
        )
    ),
    other(
        "order",
        {"$ref": "#/components/schemas/Order"},
        "May be sent to /v1/quotes as it stands, and has this price there.",
        "posted",
    ),
    text("link", "The same order as a path with a query.", lambda ranked, _: f"/v1/quotes?{as_query(ranked.posted)}"),
    many("changes", ORDER_CHANGE, "Against the request.", "found.changes"),
    texts("gives_up", "The same in sentences, and what is worse.", _sentences),
    length("square", of="plan.geometry.square_mm"),
    one("outside", OUTSIDE, of="plan.geometry"),
    mass("mass", of="plan.geometry.mass_kg"),
    money("unit_gross", "One board with tax.", "plan.price.unit_gross"),
    money("total", "The whole order, shipping and tax included.", "plan.price.total"),
    day("ready_on", of="plan.schedule.dates.ready_on"),
    day("ships_on", of="plan.schedule.dates.ships_on"),
    text("verdict", "On the construction: sound, watch or expect damage.", "plan.movement.verdict"),
    maybe(text("fit", "How the pieces stand; null where none were given.", "plan.geometry.fit.verdict")),
    workshop(one("workshop", SUGGESTION_COST, "With a maker's key.", "plan")),
)


# Where nothing suits --------------------------------------------------------------------------------------------------


class _Limit(NamedTuple):
    """A limit that is not kept to; what the order has or the least there is."""

    limit: str
    asked: str | None
    has: str | None
    text: str


class _Eased(NamedTuple):
    """A limit that would do if it were so."""

    limit: str
    asked: str | None
    needed: str | None
    text: str
    suggestion: _Ranked


def _none(found: Suggestions, _: AnswerContext) -> Suggestions | None:
    return None if found.suggestions else found


def _alone(found: Suggestions, _: AnswerContext) -> Iterable[_Limit]:
    plan = found.closest.suggestion.plan if found.closest else None
    return [_by_itself(each, plan) for each in found.alone]


def _by_itself(found: UnreachableLimit, plan: Plan | None) -> _Limit:
    asked, least = _said(found.limit, found.asked, plan), _said(found.limit, found.least, plan, up=True)
    if found.limit == "species":
        told = f"No two of these timbers show a chequer in this shop: {asked}. Name more of them."
    elif found.limit in ("ready_by", "ships_by"):
        told = f"No board like this is done by {asked}; the earliest is {least}."
    elif found.limit == "verdict":
        told = f"No board like this is {asked} in this climate; the best is {least}."
    else:
        told = f"{_NAMED[found.limit]}: {asked} is less than any board like this has; the least is {least}."
    return _Limit(found.limit, asked, least, told)


def _missed(found: ClosestMiss, _: AnswerContext) -> Iterable[_Limit]:
    return [_by_how_much(each, found.suggestion.plan) for each in found.missed]


def _by_how_much(found: MissedLimit, plan: Plan) -> _Limit:
    asked, has = _said(found.limit, found.asked, plan), _said(found.limit, found.has, plan, up=True)
    if found.limit == "from_stock":
        return _Limit(found.limit, "true", None, "The rack does not give all of its wood.")
    return _Limit(found.limit, asked, has, f"{_NAMED[found.limit]}: {has} instead of {asked}{_by(found)}.")


def _by(found: MissedLimit) -> str:
    if isinstance(found.has, date):
        days = (found.has - found.asked).days
        return f", {days} {'day' if days == 1 else 'days'} late"
    if isinstance(found.has, Verdict | tuple) or not found.asked:
        return ""
    return f", {(float(found.has) / float(found.asked) - 1) * 100:.1f} % more"


def _relaxed(found: Suggestions, _: AnswerContext) -> Iterable[_Eased]:
    return [_eased(each) for each in found.relaxed]


def _eased(found: RelaxedLimit) -> _Eased:
    plan = found.suggestion.plan
    asked, needed = _said(found.limit, found.asked, plan), _said(found.limit, found.needed, plan, up=True)
    told = f"{_NAMED[found.limit]}: {needed} instead of {asked} would do."
    return _Eased(found.limit, asked, needed, told, _ranked(found.suggestion))


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
        return f"{value:f} {plan.order.sale.currency}" if plan else f"{value:f}"
    if isinstance(value, tuple):
        return ", ".join(value)
    return value.isoformat() if isinstance(value, date) else str(value)


def _mass(grams: float, units: str, *, up: bool) -> str:
    """A mass that a limit may be: pounds with decimals, as no limit is read in pounds and ounces."""
    if units == "imperial":
        pounds = grams / _LB_G * 100
        return f"{(math.ceil(pounds - 1e-9) if up else round(pounds)) / 100:g} lb"
    return format_mass(math.ceil(grams / _UP_G - 1e-9) * _UP_G if up else grams, units)


MISSED_LIMIT: Final = Component(
    "MissedLimit",
    text("limit"),
    maybe(text("asked", "As it was asked for.")),
    maybe(text("has", "What the order has, or the least there is; null where it cannot be told.")),
    text("text"),
)
CLOSEST_MISS: Final = Component(
    "ClosestMiss",
    one("suggestion", SUGGESTION, of=lambda closest, _: _ranked(closest.suggestion)),
    many("missed", MISSED_LIMIT, of=_missed),
)
RELAXED_LIMIT: Final = Component(
    "RelaxedLimit",
    text("limit"),
    text("asked"),
    text("needed", "What would do."),
    text("text"),
    one("suggestion", SUGGESTION, "Keeps to all limits once this one is relaxed."),
)
NONE_SUITS: Final = Component(
    "NoneSuits",
    many("alone", MISSED_LIMIT, "Limits that no order keeps to even by themselves; has is the least there is.", _alone),
    maybe(one("closest", CLOSEST_MISS, "The order that misses the limits by the smallest share.")),
    many("relaxed", RELAXED_LIMIT, "Each of them would do, if the other limits stay.", _relaxed),
)
SUGGESTIONS: Final = Component(
    "Suggestions",
    choice(
        "status",
        ["found", "none"],
        "found, or none where no order keeps to every limit.",
        lambda found, _: "found" if found.suggestions else "none",
    ),
    flag("thorough", "False where the work ended before everything was weighed."),
    text("currency", of=lambda _, to: to.currency),
    many("suggestions", SUGGESTION, "Best first; none of them misses a limit.", _by_rank),
    maybe(one("none", NONE_SUITS, "What stands in the way; null where there are suggestions.", _none)),
)

COMPONENTS: Final = (
    SUGGESTIONS,
    SUGGESTION,
    SUGGESTION_COST,
    OUTSIDE,
    ORDER_CHANGE,
    NONE_SUITS,
    CLOSEST_MISS,
    MISSED_LIMIT,
    RELAXED_LIMIT,
)

# A table has these columns even where it has no row.
ROW: Final = _row(
    {
        **{key.name: None for key in SUGGESTION.keys if not key.workshop},
        "outside": dict.fromkeys(key.name for key in OUTSIDE.keys),
        "changes": [],
        "gives_up": [],
    }
)
