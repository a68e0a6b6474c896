"""What a suggestion must keep to, what it is measured by, and by how much an order misses it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final

from chequerwork.domain.plan import Plan
from chequerwork.domain.wood.verdict import Verdict

Bound = float | Decimal | date | Verdict  # what a limit is

VERDICT_OVERRUN: Final = 0.5  # of one step of the verdict, beside the shares by which numbers are missed (house)
EXACT: Final = 1e-9  # a share below this is no overrun


class First(StrEnum):
    """What comes first where several orders keep to the limits."""

    LIKENESS = "likeness"
    LARGE_SQUARES = "large_squares"
    LOW_PRICE = "low_price"
    EARLY = "early"
    CONTRAST = "contrast"


class Field(StrEnum):
    """A field of the order that a suggestion may change."""

    SQUARE = "square"
    LIGHT = "light"
    DARK = "dark"
    GRAIN = "grain"
    THICKNESS = "thickness"
    PATTERN = "pattern"
    LINES = "lines"
    FRAME = "frame"
    BASE = "base"
    FEET = "feet"
    FINISH = "finish"


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What every suggestion keeps to; None where nothing is said."""

    outside_mm: float | None = None
    outside_length_mm: float | None = None
    outside_width_mm: float | None = None
    height_mm: float | None = None
    mass_g: float | None = None
    unit_gross: Decimal | None = None
    total: Decimal | None = None
    ready_by: date | None = None
    ships_by: date | None = None
    verdict: Verdict | None = None
    species: tuple[str, ...] | None = None
    from_stock: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is preferred, and which fields stay as ordered: those kept, or all but those that may change."""

    first: First = First.LIKENESS
    keep: tuple[Field, ...] = ()
    may_change: tuple[Field, ...] | None = None

    def free(self, field: Field) -> bool:
        """Whether suggestions may differ in this field."""
        return field not in self.keep and (self.may_change is None or field in self.may_change)


# Name of a limit -> how much of an answer must be worked out for it: 0 sizes, 1 price, 2 movement, 3 dates.
STAGES: Final[Mapping[str, int]] = {
    "outside": 0,
    "outside_length": 0,
    "outside_width": 0,
    "height": 0,
    "mass": 0,
    "unit_gross": 1,
    "total": 1,
    "verdict": 2,
    "ready_by": 3,
    "ships_by": 3,
}
MEASURES: Final[Mapping[str, Callable[[Plan], Any]]] = {
    "outside": lambda plan: max(plan.geometry.overall.length_mm, plan.geometry.overall.width_mm),
    "outside_length": lambda plan: plan.geometry.overall.length_mm,
    "outside_width": lambda plan: plan.geometry.overall.width_mm,
    "height": lambda plan: plan.geometry.outer_mm[2],
    "mass": lambda plan: plan.geometry.mass_kg * 1000,
    "unit_gross": lambda plan: plan.price.unit_gross,
    "total": lambda plan: plan.price.total,
    "verdict": lambda plan: plan.movement.verdict,
    "ready_by": lambda plan: plan.schedule.dates.ready_on,
    "ships_by": lambda plan: plan.schedule.dates.ships_on,
}
_ATTRIBUTES: Final[Mapping[str, str]] = {
    "outside": "outside_mm",
    "outside_length": "outside_length_mm",
    "outside_width": "outside_width_mm",
    "height": "height_mm",
    "mass": "mass_g",
}


def measurable(limits: Limits) -> tuple[tuple[str, Bound], ...]:
    """The limits that can be measured on a plan, as far as they are given, what is quick to work out first."""
    said = ((name, getattr(limits, _ATTRIBUTES.get(name, name))) for name in STAGES)
    return tuple((name, most) for name, most in said if most is not None)


def overrun(name: str, most: Bound, plan: Plan) -> float:
    """By what share a plan misses a limit; 0 or less where it keeps to it.

    A date is missed by a share of the days from the order's date to the limit, a verdict by half for each step.
    """
    value = MEASURES[name](plan)
    if isinstance(most, Verdict):
        return float(VERDICT_OVERRUN * (value.rank - most.rank))
    if isinstance(most, date):
        return float((value - most).days / max(1, (most - plan.order.dates.issued_on).days))
    share = float(value) / float(most) - 1 if most else float(value)
    # To a billionth: what is equal but for the last binary digit is kept.
    return 0.0 if abs(share) < EXACT else share
