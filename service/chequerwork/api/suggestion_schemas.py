"""The request for suggestions: its schemas, and the way from raw data to limits and wishes, every fault kept."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, Final

from marshmallow import ValidationError

from chequerwork.api.fields import (
    Amount,
    Choice,
    Closed,
    Count,
    Day,
    Each,
    Flag,
    Nested,
    TimberKey,
    Whole,
    length,
    mass,
)
from chequerwork.api.schemas import OrderSchema, Reading, faults_of, flat_shape, read_order
from chequerwork.domain.basics.errors import Fault, Path
from chequerwork.domain.suggestions.limits import Field, First, Limits, Wishes
from chequerwork.domain.wood.verdict import Verdict

MOST: Final = 8  # suggestions
USUAL: Final = 4
MOST_SPECIES: Final = 50


class AtLeast(StrEnum):
    """The worst verdict that is taken."""

    SOUND = "sound"
    WATCH = "watch"


class LimitsSchema(Closed):
    """What every suggestion keeps to."""

    made = dict
    renamed = {
        "outside": "outside_mm",
        "outside_length": "outside_length_mm",
        "outside_width": "outside_width_mm",
        "height": "height_mm",
        "mass": "mass_g",
    }
    outside = length(1, 10_000, about="Longest side of the board at most.", example="480 mm")
    outside_length = length(1, 10_000, about="Outside length, along the grain, at most.", example="480 mm")
    outside_width = length(1, 10_000, about="Outside width, across the grain, at most.", example="480 mm")
    height = length(1, 1000, about="From the table to the highest wood at most, feet included.", example="30 mm")
    mass = mass(1, 100_000, about="Mass of one board at most.")
    unit_gross = Amount(about="Price of one board with tax at most.")
    total = Amount(about="What the whole order costs at most, shipping and tax included.")
    ready_by = Day(about="Day by which the board must be ready.")
    ships_by = Day(about="Day by which it must leave the shop.")
    verdict = Choice(AtLeast, about="The verdict on the construction at least.")
    species = Each(
        TimberKey(about="A timber.", example="pear"), most=MOST_SPECIES, about="The only timbers that may be used."
    )
    from_stock = Flag(about="Only of lumber on hand, nothing bought. Needs a maker's key.", default=False)


class WishesSchema(Closed):
    """What is preferred among the orders that keep to the limits."""

    made = Wishes
    first = Choice(
        First,
        about="What comes first: likeness to the order, if left out; large_squares, low_price, early or contrast.",
    )
    keep = Each(Choice(Field, about=""), most=len(Field), about="Fields of the order that stay as they are.")
    may_change = Each(
        Choice(Field, about=""), most=len(Field), about="The only fields that may change, instead of keep."
    )


class WantedOrderSchema(OrderSchema):
    """An order as far as it is known."""

    light = TimberKey(about="Timber of the light squares; left open, any.", example="sycamore_maple")
    dark = TimberKey(about="Timber of the dark squares; left open, any.", example="european_walnut")


LIMITS: Final = LimitsSchema()
WISHES: Final = WishesSchema()
WANTED_ORDER: Final = WantedOrderSchema()


class SuggestionsRequestSchema(Closed):
    """An order as far as it is known, what it must keep to, and what is preferred."""

    made = dict
    order = Whole(ref="WantedOrder", about="What is wanted, as far as it is known; left out, nothing is.")
    limits = Nested(LIMITS, about="What every suggestion keeps to.", ref="Limits")
    wishes = Nested(WISHES, about="What is preferred.", ref="Wishes")
    count = Count(1, MOST, about="Suggestions at most; left out, 4.", default=USUAL)


REQUEST: Final = SuggestionsRequestSchema()
_RANK: Final = {name: rank for rank, name in enumerate(REQUEST.fields)}
_LISTS: Final = ("limits.species", "wishes.keep", "wishes.may_change")


@dataclass(frozen=True, slots=True, kw_only=True)
class SuggestionsReading:
    """A raw request as far as it could be read; ``faults`` are not those of the order."""

    order: Reading
    limits: Limits = field(default_factory=Limits)
    wishes: Wishes = field(default_factory=Wishes)
    count: int = USUAL
    faults: tuple[Fault, ...] = ()


def flat_request() -> dict[str, str]:
    """Flat parameter names and how their texts are read: the order's own, and those of limits and wishes."""
    more = {f"limits.{name}": "text" for name in LIMITS.fields} | {f"wishes.{name}": "text" for name in WISHES.fields}
    return {**flat_shape(), **more, "count": "int"}


def nested(flat: Mapping[str, Any]) -> dict[str, Any]:
    """The body that a flat query stands for: the order's fields stand at its top, lists are joined by semicolons."""
    own = {name: value for name, value in flat.items() if name in REQUEST.fields}
    for full in _LISTS:
        part, name = full.split(".")
        if name in own.get(part, {}):
            own[part] = {**own[part], name: [each.strip() for each in own[part][name].split(";")]}
    if "from_stock" in own.get("limits", {}):
        word = own["limits"]["from_stock"]
        own["limits"] = {**own["limits"], "from_stock": {"1": True, "0": False}.get(word, word)}
    return {**own, "order": {name: value for name, value in flat.items() if name not in REQUEST.fields}}


def read_suggestions(raw: Mapping[str, Any], unread: frozenset[Path] = frozenset()) -> SuggestionsReading:
    """Read a raw request and keep every fault. ``unread`` are places in the order that were refused before."""
    faults: list[Fault] = []
    try:
        data: dict[str, Any] = REQUEST.load(raw)
    except ValidationError as error:
        messages: Any = error.messages
        data = dict(error.valid_data) if isinstance(error.valid_data, dict) else {}
        for name in sorted(messages, key=lambda name: _RANK.get(name, len(_RANK))):
            faults.extend(faults_of(messages[name], (name,), REQUEST, raw.get(name)))
            data.pop(name, None)
        if "limits" in messages:
            data["limits"] = _sound(raw["limits"])
    faults += _together(raw)
    limits = dict(data.get("limits") or {})
    if "verdict" in limits:
        limits["verdict"] = Verdict(limits["verdict"])
    return SuggestionsReading(
        order=read_order(data.get("order") or {}, unread),
        limits=Limits(**limits),
        wishes=data.get("wishes") or Wishes(),
        count=data.get("count", USUAL),
        faults=tuple(faults),
    )


def _sound(limits: Any) -> dict[str, Any]:
    """What could be read of limits that were refused, to be judged all the same."""
    if not isinstance(limits, Mapping):
        return {}
    sound = {
        name: value for name, value in limits.items() if name in LIMITS.fields and not LIMITS.validate({name: value})
    }
    return dict(LIMITS.read(sound))


def _together(raw: Mapping[str, Any]) -> Iterator[Fault]:
    wishes = raw.get("wishes")
    if isinstance(wishes, Mapping) and "keep" in wishes and "may_change" in wishes:
        detail = "keep is given too. Say what stays, or what alone may change."
        yield Fault(at=("wishes", "may_change"), code="conflict", detail=detail)
