"""What a suggestion changes of the request, and in words what it gives up."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Final

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.order.order import Backing, Base, Edge, Frame, Hold, Order
from chequerwork.domain.plan import Plan
from chequerwork.domain.wood.verdict import Verdict

DEARER_PCT: Final = 1.0  # a difference of price below this is not worth a sentence (house)
_PARTS: Final = {
    "frame": "frame",
    "base": "base",
    "lines": "lines",
    "feet": "feet",
    "base.skirt": "skirt",
    "base.backing": "backing",
}
_LENGTHS: Final = {
    "square": "Squares",
    "thickness": "Field",
    "frame.width": "Rails",
    "frame.thickness": "Thickness of the rails",
    "frame.bevel": "Bevel",
    "base.thickness": "Base",
    "base.inset": "Inset of the base",
}
_SENTENCES: Final = {
    "light": "Light squares",
    "dark": "Dark squares",
    "finish": "Finish",
    "pattern": "Bars",
    "grain.light": "Grain of the light squares",
    "grain.dark": "Grain of the dark squares",
    "frame.species": "Frame",
    "frame.joint": "Corners of the frame",
    "frame.hold": "Field in the frame",
    "frame.edge": "Edge of the field",
    "frame.grain": "Grain of the rails",
    "base.material": "Base",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderChange:
    """One field that differs from the request; lengths in mm. None was not given, or is not there."""

    field: str
    was: Any
    now: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """A sentence with ``{0}`` where its lengths belong."""

    text: str
    lengths_mm: tuple[float, ...] = ()


_FIELDS: Final = {
    "square": attrgetter("field.square_mm"),
    "light": attrgetter("field.light"),
    "dark": attrgetter("field.dark"),
    "thickness": attrgetter("field.thickness_mm"),
    "pattern": attrgetter("field.pattern"),
    "grain.light": attrgetter("field.light_grain"),
    "grain.dark": attrgetter("field.dark_grain"),
    "feet": attrgetter("feet"),
    "finish": attrgetter("surface.finish"),
    "sanding.top": attrgetter("surface.sand_top"),
    "sanding.underside": attrgetter("surface.sand_underside"),
}
_OF_FRAME: Final = {
    "species": "species",
    "width": "width_mm",
    "thickness": "thickness_mm",
    "joint": "joint",
    "hold": "hold",
    "edge": "edge",
    "grain": "grain",
    "bevel": "bevel_mm",
}
_OF_BASE: Final = {
    "material": "material",
    "thickness": "thickness_mm",
    "inset": "inset_mm",
    "skirt": "skirt",
    "backing": "backing",
}


def changes(asked: Order, order: Order, given: frozenset[str]) -> tuple[OrderChange, ...]:
    """Fields of an order that differ from what was asked.

    Parameters
    ----------
    asked
        The request, completed.
    order
        Suggested.
    given
        Those of square, light and dark that the request gave: the others are chosen, whatever they are.
    """
    return tuple(_changes(asked, order, given))


def _changes(asked: Order, order: Order, given: frozenset[str]) -> Iterator[OrderChange]:
    for field, value_of in _FIELDS.items():
        was, now = value_of(asked), value_of(order)
        if field in ("square", "light", "dark") and field not in given:
            yield OrderChange(field=field, was=None, now=now)
        elif was != now and not _follows(field, asked, order):
            yield OrderChange(field=field, was=was, now=now)
    if asked.field.lines != order.field.lines:
        yield OrderChange(field="lines", was=asked.field.lines, now=order.field.lines)
    yield from _inner("frame", _OF_FRAME, asked.frame, order.frame)
    yield from _inner("base", _OF_BASE, asked.base, order.base)


def _follows(field: str, asked: Order, order: Order) -> bool:
    """Whether the grain of the squares differs only because another timber is bought sawn in another way."""
    side = field.removeprefix("grain.")
    return field.startswith("grain.") and getattr(asked.field, side) != getattr(order.field, side)


def _inner(
    part: str, names: Mapping[str, str], was: Frame | Base | None, now: Frame | Base | None
) -> Iterator[OrderChange]:
    if was is None or now is None:
        if was is not now:
            yield OrderChange(field=part, was=was, now=now)
        return
    for field, name in names.items():
        if getattr(was, name) != getattr(now, name):
            yield OrderChange(field=f"{part}.{field}", was=getattr(was, name), now=getattr(now, name))


def gives_up(found: tuple[OrderChange, ...], plan: Plan, asked: Plan | None) -> tuple[Sentence, ...]:
    """What a suggestion differs in, in sentences for a customer.

    Parameters
    ----------
    found
        Its changes.
    plan
        Of the suggestion.
    asked
        Plan of the request itself; None where it leaves square or timbers open.
    """
    told = [
        _told(change, plan.tables) for change in found if change.was is not None or change.field in ("frame", "base")
    ]
    return (*(each for each in told if each is not None), *_worse(plan, asked))


def _told(change: OrderChange, tables: Tables) -> Sentence | None:
    was, now, field = change.was, change.now, change.field
    if isinstance(was, float) and isinstance(now, float):
        return Sentence(text=f"{_LENGTHS[field]}: {{0}} instead of {{1}}.", lengths_mm=(now, was))
    if field in _PARTS:
        return _told_part(field, now, tables)
    if field not in _SENTENCES:
        return None
    return Sentence(text=f"{_SENTENCES[field]}: {_word(now, tables)} instead of {_word(was, tables)}.")


def _told_part(field: str, now: object, tables: Tables) -> Sentence:
    """A part that is there no more, or another one."""
    if not now:
        return Sentence(text=f"No {_PARTS[field]}.")
    if isinstance(now, Frame):
        return Sentence(text=f"A frame of {tables.species[now.species].name}, {{0}} wide.", lengths_mm=(now.width_mm,))
    if isinstance(now, Backing):
        name = tables.species[now.species].name
        return Sentence(text=f"A backing of {name}, {{0}} thick.", lengths_mm=(now.thickness_mm,))
    return Sentence(text=f"Other {_PARTS[field]}.")


_WORDS: Final = {"turn": "turned", "shift": "shifted", Hold.GLUED: "glued", Hold.FLOATING: "floating", Edge.LIP: "lip"}


def _word(value: object, tables: Tables) -> str:
    key = str(value)
    for named in (tables.species, tables.finishes):
        if key in named:
            return named[key].name
    return str(_WORDS.get(key, key.replace("_", " ")))


def _worse(plan: Plan, asked: Plan | None) -> Iterator[Sentence]:
    """Price, pieces, construction and date, where they are worse than the request's own."""
    verdict, fit = plan.movement.verdict, plan.geometry.fit.verdict
    if fit not in (None, "standard") and (asked is None or fit != asked.geometry.fit.verdict):
        yield Sentence(text=f"The pieces stand {fit} on these squares.")
    if verdict is not Verdict.SOUND and (asked is None or verdict.rank > asked.movement.verdict.rank):
        yield Sentence(text=f"Verdict on the construction: {verdict}.")
    if asked is None:
        return
    dearer_pct = (float(plan.price.total) / float(asked.price.total) - 1) * 100
    if dearer_pct >= DEARER_PCT:
        yield Sentence(text=f"{dearer_pct:.0f} % dearer than the board as asked.")
    late = (plan.schedule.dates.ready_on - asked.schedule.dates.ready_on).days
    if late > 0:
        yield Sentence(text=f"Ready {late} {'day' if late == 1 else 'days'} later.")
