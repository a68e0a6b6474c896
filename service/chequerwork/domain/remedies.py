"""What would make a construction sounder: changes of the order, each tried out, never guessed.

A remedy is the change itself and the number it brings. The changed order is checked and examined like any other, so
asking for it again gives the number that was promised.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, NamedTuple, TypeVar

from chequerwork.domain.basics.errors import Path
from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.geometry import base_is_inside
from chequerwork.domain.completion.construction import Construction
from chequerwork.domain.order.order import Backing, Base, BoardField, Edge, Frame, Hold, Joint, Line, Order, Pattern
from chequerwork.domain.order.request import ConstructionRequest, base_request, frame_request
from chequerwork.domain.wood.flatness import balancing_of, bare_of, bend_across, bend_along, field_ply, wood_ply
from chequerwork.domain.wood.movement import RAIL_LEFT_MM, Year, seat
from chequerwork.domain.wood.verdict import MITRE_GAP_MM, Assessment, Case, Reason, Verdict, examine

T = TypeVar("T", Order, BoardField, Frame, Base)

MARKED_SHARE = 0.8  # a number that falls to less than this is worth a change (house)
MOST = 8  # remedies offered (house)

# Place in an order -> new value; a place is a path of attributes.
Changes = Mapping[tuple[str, ...], Any]


class Remedy(NamedTuple):
    """A change of the order that helps.

    ``at`` is where the answer holds the number that ``now_mm`` becomes ``then_mm``; ``verdict`` is that of the whole
    construction once the change is made. ``text`` has ``{0}`` where the lengths belong.
    """

    code: str
    reason: str
    changes: Changes
    at: Path
    now_mm: float
    then_mm: float
    verdict: Verdict
    text: str
    lengths_mm: tuple[float, ...]


class _Try(NamedTuple):
    """A change to be tried, the sentence that tells it and the number it is judged by (see ``_NUMBERS``)."""

    code: str
    changes: Changes
    touched: frozenset[str]  # parts of the construction that it changes, see ``examine``
    text: str  # {0} is the number then, {1} the number now, {2} a length of the change itself
    number: str
    length_mm: float = 0.0
    checked: bool = True  # whether the shop may be unable to make it


class _Case(NamedTuple):
    """What the trials look at."""

    order: Order
    shop: Shop
    tables: Tables
    year: Year
    found: Assessment


_FIELD, _RAIL, _BASE, _PATTERN = map(frozenset, (("season",), ("rail",), ("flatness",), ("accuracy",)))


# Name of a number -> where it stands in the answer, and how it is read from what was examined.
_NUMBERS: Final[Mapping[str, tuple[Path, Callable[[Assessment], float]]]] = {
    "total": (("movement", "field", "total_mm"), lambda e: e.season.total_mm),
    "clearance": (("movement", "groove_clearance_mm"), lambda e: e.seat.clearance_mm),
    "tongue": (("geometry", "frame", "tongue_mm"), lambda e: e.seat.tongue_mm),
    "mitre": (("movement", "mitre_gap_mm"), lambda e: e.rail.gap_mm if e.rail else 0.0),
    "bow": (("movement", "bow_mm"), lambda e: e.flatness.across_mm),
    "bow_along": (("movement", "bow_along_mm"), lambda e: e.flatness.along_mm),
    "hidden": (("geometry", "frame", "hidden_mm"), lambda e: _value(e, "edge-squares")),
    "thickness": (("geometry", "thickness_mm"), lambda e: _value(e, "thin-field")),
    "mismatch": (("geometry", "accuracy", "mismatch_worst_mm"), lambda e: e.accuracy.mismatch_worst_mm),
}


def _value(examined: Assessment, code: str) -> float:
    reason = examined.reason(code)
    return reason.value_mm if reason else 0.0


# How a number is told of several changes at once; {0} is the number then, {1} the number now.
_TOLD: Final = {
    "total": "the field changes by {0} instead of {1} over the year.",
    "clearance": "clearance {0} on each side.",
    "tongue": "a groove {0} deep instead of {1}.",
    "mitre": "mitre gap {0} instead of {1}.",
    "bow": "bow {0} instead of {1}.",
    "bow_along": "bow along the grain {0} instead of {1}.",
    "hidden": "{0} of the outer squares hidden instead of {1}.",
    "thickness": "a field {0} thick instead of {1}.",
    "mismatch": "worst mismatch {0} instead of {1}.",
}


def offer(order: Order, shop: Shop, tables: Tables, year: Year, found: Assessment) -> tuple[Remedy, ...]:
    """Changes that help, those that leave the soundest construction first."""
    if found.verdict is Verdict.SOUND:
        return ()
    case = _Case(order, shop, tables, year, found)
    offered: list[_Offer] = []
    for reason in found.reasons:
        if reason.verdict is Verdict.SOUND:
            continue
        for trial in _TRIALS[reason.code](case):
            if not any(trial.changes == known.trial.changes for known in offered):
                offered += _tried(case, reason, trial)
    offered.sort(key=_ranks)  # stable: as tried where they are alike
    if offered and offered[0].rank:
        offered += _together(case, offered)
        offered.sort(key=_ranks)
    return tuple(each.remedy for each in offered[:MOST])


class _Offer(NamedTuple):
    """A remedy with its ranks, of the whole construction and of the reason; 0 is sound."""

    rank: int
    reason_rank: int
    trial: _Try
    remedy: Remedy


def _ranks(offer: _Offer) -> tuple[int, int]:
    return offer[:2]


def _together(case: _Case, offered: Sequence[_Offer]) -> list[_Offer]:
    """The best remedy of each reason that the ones before have not mended, where that is sounder than any alone."""
    parts: list[_Offer] = []
    changes: dict[tuple[str, ...], Any] = {}
    then, touched = case.found, frozenset[str]()
    for offer in offered:
        left = then.reason(offer.remedy.reason)
        if left is None or left.verdict is Verdict.SOUND or _clash(offer.trial.changes, changes):
            continue
        if any(offer.remedy.reason == part.remedy.reason for part in parts):
            continue
        parts.append(offer)
        changes |= offer.trial.changes
        touched |= offer.trial.touched
        then = _examined(case, changed(case.order, changes), touched)
    if len(parts) < 2:
        return []
    first = parts[0].trial
    text = f"Together, {_listed([part.trial.code.replace('-', ' ') for part in parts])}: {_TOLD[first.number]}"
    worst = max(case.found.reasons, key=lambda reason: reason.verdict.rank)
    found = _tried(case, worst, _Try("together", changes, touched, text, first.number))
    return [each for each in found if each.rank < offered[0].rank]


def _listed(words: Sequence[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _clash(one: Changes, other: Changes) -> bool:
    """Whether two changes touch the same place, or one a part of what the other sets."""
    return any(a[: len(b)] == b or b[: len(a)] == a for a in one for b in other)


def _tried(case: _Case, reason: Reason, trial: _Try) -> list[_Offer]:
    """The remedy, tried out; none where it cannot be made or is of no use."""
    order = changed(case.order, trial.changes)
    if base_is_inside(order.frame, order.base) != base_is_inside(case.order.frame, case.order.base):
        return []  # rails of another width would leave the base elsewhere, which nobody asked for
    then = _examined(case, order, trial.touched)
    left = then.reason(reason.code)
    rank = left.verdict.rank if left else 0
    if then.verdict.rank > case.found.verdict.rank or rank > reason.verdict.rank:
        return []
    if rank == reason.verdict.rank and left and left.excess > MARKED_SHARE * reason.excess:
        return []
    if trial.checked and not _can_be_made(case, order):
        return []
    at, number = _NUMBERS[trial.number]
    now_mm, then_mm = number(case.found), number(then)
    remedy = Remedy(
        code=trial.code,
        reason=reason.code,
        changes=trial.changes,
        at=at,
        now_mm=now_mm,
        then_mm=then_mm,
        verdict=then.verdict,
        text=trial.text,
        lengths_mm=(then_mm, now_mm, trial.length_mm),
    )
    return [_Offer(then.verdict.rank, rank, trial, remedy)]


def changed(thing: T, changes: Changes) -> T:
    """The order, or a part of it, with its changes made."""
    now: dict[str, Any] = {}
    for (name, *inner), value in changes.items():
        if inner:
            part: Any = now.get(name, getattr(thing, name))
            now[name] = changed(part, {tuple(inner): value})
        else:
            now[name] = value
    return replace(thing, **now)


def _examined(case: _Case, order: Order, touched: frozenset[str]) -> Assessment:
    known = Case(case.shop, case.order.corners, case.tables, case.year)
    return examine(known, order.field, order.frame, order.base, case.found, touched=touched)


def _can_be_made(case: _Case, order: Order) -> bool:
    check = Construction(_board_request(order), case.shop, case.tables)
    if any(True for _ in check.construction_faults()):
        return False
    return not any(True for _ in check.seat_faults(order.field, order.frame, order.climate))


def _board_request(order: Order) -> ConstructionRequest:
    """What the construction is checked for, as a request that leaves nothing of it to the shop."""
    field, frame, base = order.field, order.frame, order.base
    return ConstructionRequest(
        columns=field.columns,
        rows=field.rows,
        square_mm=field.square_mm,
        light=field.light,
        dark=field.dark,
        thickness_mm=field.thickness_mm,
        pattern=field.pattern,
        lines=field.lines,
        frame=frame_request(frame) if frame else None,
        base=base_request(base) if base else None,
        units=order.units,
    )


# Trials, by the reason they may help ----------------------------------------------------------------------------------


def _quarter_sawn_squares(case: _Case, number: str) -> Iterator[_Try]:
    order = case.order
    changes: Changes = {
        ("field", name): Grain.QUARTER
        for name in ("light_grain", "dark_grain")
        if getattr(order.field, name) is not Grain.QUARTER
    }
    if changes:
        floats = order.frame is not None and order.frame.hold is Hold.FLOATING
        text = f"Quarter-sawn squares: {_TOLD[number]}"
        yield _Try("quarter-sawn-squares", changes, _FIELD, text, number, checked=floats)


def _glued_field(case: _Case) -> Iterator[_Try]:
    yield from _float(case, "Float the field: clearance {0} on each side", "clearance")
    yield from _quarter_sawn_squares(case, "total")


def _float(case: _Case, text: str, number: str) -> Iterator[_Try]:
    """Hold the field in a groove, in rails wide and thick enough for it."""
    order, frame = case.order, case.order.frame
    if frame is None or frame.hold is Hold.FLOATING:
        return
    changes: dict[tuple[str, ...], Any] = {("frame", "hold"): Hold.FLOATING}
    floating = changed(order, changes)
    needed_mm = math.ceil(seat(floating.frame, case.found.season).tongue_mm + RAIL_LEFT_MM - 1e-9)
    if frame.width_mm < needed_mm:
        changes["frame", "width_mm"] = float(needed_mm)
        text += ", in rails {2} wide"
    yield _Try("float-the-field", changes, _RAIL | _BASE, text + ".", number, max(frame.width_mm, needed_mm))


def _floating_field(case: _Case) -> Iterator[_Try]:
    wide_mm = float(math.ceil(2 * case.found.seat.tongue_mm - 1e-9))
    yield _Try(
        "wider-rails",
        {("frame", "width_mm"): wide_mm},
        _RAIL,
        "Rails {2} wide: the groove of {0} takes no more than half of them.",
        "tongue",
        wide_mm,
    )
    yield from _quarter_sawn_squares(case, "tongue")


def _edge_squares(case: _Case) -> Iterator[_Try]:
    """A tongue below the surface, or a line that the lip may lap over in place of the squares."""
    order, frame = case.order, case.order.frame
    if frame is None:
        return
    text = "A tongue below the surface instead of the lip: {0} of the outer squares hidden instead of {1}."
    yield _Try("tongue", {("frame", "edge"): Edge.TONGUE}, _RAIL, text, "hidden")
    wide_mm = float(math.ceil(_value(case.found, "edge-squares") - 1e-9))
    lines = (*order.field.lines, Line(species=frame.species, width_mm=wide_mm))
    text = "One more line, {2} wide: the lip hides {0} of the outer squares instead of {1}."
    yield _Try("wider-border", {("field", "lines"): lines}, _FIELD, text, "hidden", wide_mm)


def _mitre(case: _Case) -> Iterator[_Try]:
    frame = case.order.frame
    if frame is None:
        return
    if frame.grain is not Grain.QUARTER:
        text = "Quarter-sawn rails: mitre gap {0} instead of {1}."
        yield _Try("quarter-sawn-rails", {("frame", "grain"): Grain.QUARTER}, _RAIL, text, "mitre", checked=False)
    yield from _calmer_rails(case, frame.species)
    gap_mm = case.found.rail.gap_mm if case.found.rail else 0.0
    # Half a millimetre below the width at which the gap is seen.
    narrow_mm = math.floor(2 * frame.width_mm * MITRE_GAP_MM[0] / gap_mm - 1e-6) / 2 if gap_mm else 0.0
    if narrow_mm >= case.shop.ranges.frame_width.low_mm:
        text = "Rails {2} wide: mitre gap {0} instead of {1}."
        yield _Try("narrower-rails", {("frame", "width_mm"): narrow_mm}, _RAIL, text, "mitre", narrow_mm)
    text = "Butt joints instead of mitres: nothing opens at the corners."
    yield _Try("butt-joints", {("frame", "joint"): Joint.BUTT}, _RAIL, text, "mitre", checked=False)


def _calmer_rails(case: _Case, species: str) -> Iterator[_Try]:
    """The timber of this shop, sawn as it is bought, that moves least."""
    lumber = case.shop.lumber
    calmest = min(lumber, key=lambda key: max(map(abs, case.year.strain(key, lumber[key].grain))))
    if calmest != species:
        changes: Changes = {("frame", "species"): calmest, ("frame", "grain"): lumber[calmest].grain}
        name = case.tables.species[calmest].name
        yield _Try("calmer-rails", changes, _RAIL, f"Rails of {name}: mitre gap " + "{0} instead of {1}.", "mitre")


def _bow(case: _Case) -> Iterator[_Try]:
    flatness = case.found.flatness
    number = "bow_along" if flatness.along_mm > flatness.across_mm else "bow"
    yield from _backing(case, number)
    yield from _other_sheet(case, number)
    frame = case.order.frame
    if frame and not base_is_inside(frame, case.order.base):
        text = "Float the field and fix the base to the rails: bow {0} instead of {1}"
        yield from _float(case, text, number)
    if number == "bow":
        yield from _quarter_sawn_squares(case, "bow")


def _backing(case: _Case, number: str) -> Iterator[_Try]:
    """A backing of one of the field's timbers, as near to balance as the shop's range lets it come."""
    order, span = case.order, case.shop.ranges.backing
    if order.base is None:
        return
    bare = bare_of(order.base, field_ply(order.field, case.tables, case.found.season), case.year)
    trials = []
    for species in (order.field.light, order.field.dark):
        grain = case.shop.lumber[species].grain
        ply = wood_ply(0.0, species, grain, case.tables, case.year)
        for thickness_mm in (balancing_of(bare, ply, at) for at in (0, 1)):
            if thickness_mm is not None:
                thin_mm = min(max(round(thickness_mm, 1), span.low_mm), span.high_mm)
                trials.append(Backing(species=species, thickness_mm=thin_mm, grain=grain))
    if trials:
        bases = [replace(order.base, backing=backing) for backing in trials]
        best = _flattest(case, bases, number).backing or trials[0]
        changes = {("base", "backing"): best, **_hiding(case, best.thickness_mm - _backing_mm(order))}
        text = f"A backing of {case.tables.species[best.species].name}, " + "{2} thick: bow {0} instead of {1}."
        yield _Try("backing", changes, _BASE, text, number, best.thickness_mm, checked=order.frame is not None)


def _backing_mm(order: Order) -> float:
    return order.base.backing.thickness_mm if order.base and order.base.backing else 0.0


def _hiding(case: _Case, more_mm: float) -> Changes:
    """Rails that go on hiding a base inside them when it grows by ``more_mm``."""
    frame = case.order.frame
    if frame is None or not base_is_inside(frame, case.order.base):
        return {}
    return {("frame", "thickness_mm"): frame.thickness_mm + max(0.0, more_mm)}


def _other_sheet(case: _Case, number: str) -> Iterator[_Try]:
    """The sheet of this shop on which the field bows least."""
    base = case.order.base
    if base is None:
        return
    others = [
        replace(base, material=sheet.material, thickness_mm=sheet.thickness_mm)
        for sheet in case.shop.sheets
        if (sheet.material, sheet.thickness_mm) != (base.material, base.thickness_mm)
    ]
    if others:
        best = _flattest(case, others, number)
        changes = {
            ("base", "material"): best.material,
            ("base", "thickness_mm"): best.thickness_mm,
            **_hiding(case, best.thickness_mm - base.thickness_mm),
        }
        name = best.material.replace("_", " ")
        text = f"A base of {name}, " + "{2} thick: bow {0} instead of {1}."
        yield _Try("other-base", changes, _BASE, text, number, best.thickness_mm)


def _flattest(case: _Case, bases: Sequence[Base], number: str) -> Base:
    """The base on which the field bends least, across or along."""
    field, tables, year = case.order.field, case.tables, case.year
    ply = field_ply(field, tables, case.found.season)
    if number == "bow":
        return min(bases, key=lambda base: abs(bend_across(base, ply, tables, year)))
    return min(bases, key=lambda base: abs(bend_along(base, field, tables, year)))


def _thin_field(case: _Case) -> Iterator[_Try]:
    """As thick as the joints ask for, to the next half millimetre."""
    reason = case.found.reason("thin-field")
    if reason and reason.watch_mm:
        thick_mm = math.ceil(2 * reason.watch_mm - 1e-6) / 2
        text = "A field {0} thick instead of {1}."
        yield _Try("thicker-field", {("field", "thickness_mm"): thick_mm}, _PATTERN, text, "thickness")


def _corners(case: _Case) -> Iterator[_Try]:
    if case.order.field.pattern is Pattern.TURN:
        text = "Shift the bars instead of turning them: worst mismatch {0} instead of {1}."
        yield _Try("shift-the-bars", {("field", "pattern"): Pattern.SHIFT}, _PATTERN, text, "mismatch", checked=False)


_TRIALS: Final[Mapping[str, Callable[[_Case], Iterator[_Try]]]] = {
    "glued-field": _glued_field,
    "floating-field": _floating_field,
    "edge-squares": _edge_squares,
    "mitre": _mitre,
    "bow": _bow,
    "thin-field": _thin_field,
    "corners": _corners,
}
