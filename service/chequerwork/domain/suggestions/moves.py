"""What a suggestion may change of a request, and how far each change leads away from it.

A point is what one per cent of the square counts. Points are the house's taste: what a player sees first counts most.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.fit import SQUARE_STEP_MM
from chequerwork.domain.order.order import Hold, Joint, Pattern, Units
from chequerwork.domain.order.request import (
    BackingRequest,
    BaseRequest,
    FrameRequest,
    GrainRequest,
    OrderRequest,
)
from chequerwork.domain.suggestions.limits import Field, Wishes

Make = Callable[[OrderRequest], OrderRequest]

# Points of a change, and of the same where the request left the field to the shop (house).
TIMBER: Final = 10.0
FRAME_GONE, FRAME_ADDED, FRAME_TIMBER, FRAME_JOINT, FRAME_HOLD = 30.0, 15.0, 6.0, 4.0, 3.0
RAIL_SHARE: Final = 0.5  # for each per cent of a rail's width
BASE_GONE, BASE_CHANGED = 12.0, 4.0
THICKNESS_MM, LEFT_THICKNESS_MM = 1.5, 0.75
LINES_GONE, FEET_GONE = 6.0, 4.0
FINISH, LEFT_FINISH = 5.0, 2.5
PATTERN, GRAIN = 1.0, 1.5

CONTRAST_LEAST: Final = 15.0  # of lightness between the two timbers of a chequer, of 100 (house)
# Sizes as makers of each system of units choose them (common practice, no source).
RAIL_STEP_MM: Final = {"metric": 5.0, "imperial": 25.4 / 4}
THICKNESS_STEP_MM: Final = {"metric": 2.0, "imperial": 25.4 / 16}
NEW_RAIL_MM: Final = {"metric": 40.0, "imperial": 25.4 * 1.5}
THICKER, THINNER = 3, 4  # steps of the thickness that are tried either way
BACKINGS_MM: Final = (1.0, 1.5, 2.0, 3.0)  # thicknesses that are tried (house)


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One way to fill a group of fields: what it does to a request, and its points.

    ``gain`` is what it was found to be worth by itself besides, such as a lower price; negative is better.
    """

    points: float
    make: Make
    gain: float = 0.0


MoveGroup = tuple[Move, ...]  # one of them leaves all as asked


def lightness(colour: str) -> float:
    """How light a colour looks, from 0 for black to 100 for white.

    References
    ----------
    IEC 61966-2-1 (from sRGB to luminance) and CIE 15 (lightness L* of a luminance), both from memory.
    """
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return 116 * luminance ** (1 / 3) - 16 if luminance > 216 / 24389 else luminance * 24389 / 27


def contrast(light: str, dark: str, tables: Tables) -> float:
    """By how much the light timber looks lighter than the dark one, of 100."""
    return lightness(tables.species[light].colour) - lightness(tables.species[dark].colour)


def squares_mm(shop: Shop, units: Units, top_mm: float) -> tuple[float, ...]:
    """Squares that may be suggested, the largest first: the one asked for, then the unit system's steps. [mm]"""
    step_mm, low_mm = SQUARE_STEP_MM[units], shop.ranges.square.low_mm
    last, first = math.ceil(low_mm / step_mm - 1e-9), math.floor(top_mm / step_mm + 1e-9)
    steps = [round(count * step_mm, 6) for count in range(first, last - 1, -1)]
    return tuple(steps) if steps and abs(steps[0] - top_mm) < 1e-6 else (top_mm, *steps)


def groups(asked: OrderRequest, wishes: Wishes, shop: Shop) -> tuple[MoveGroup, ...]:
    """Everything besides the square that may be changed, each group apart from the others.

    Parameters
    ----------
    asked
        The request with its two timbers filled in.
    wishes
        Which fields stay.
    shop
        What it offers.
    """
    makers: Mapping[Field, Callable[[OrderRequest, Shop], Iterator[MoveGroup]]] = {
        Field.GRAIN: _grains,
        Field.PATTERN: _patterns,
        Field.THICKNESS: _thicknesses,
        Field.FINISH: _finishes,
        Field.FEET: _feet,
        Field.LINES: _lines,
        Field.BASE: _bases,
        Field.FRAME: _frames,
    }
    found = [made for field, maker in makers.items() if wishes.free(field) for made in maker(asked, shop)]
    return tuple(group for group in found if len(group) > 1)


def pairs(request: OrderRequest, wishes: Wishes, tables: Tables, allowed: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Light and dark timbers that show a chequer, the pair that was asked for first; all of them allowed."""
    lights, darks = (
        [named]
        if named is not None and not wishes.free(field)
        else [*_named(named), *(k for k in allowed if k != named)]
        for field, named in ((Field.LIGHT, request.light), (Field.DARK, request.dark))
    )
    return tuple(
        (light, dark)
        for light in lights
        for dark in darks
        if light != dark
        and {light, dark} <= set(allowed)
        and ((light, dark) == (request.light, request.dark) or contrast(light, dark, tables) >= CONTRAST_LEAST)
    )


def _named(named: str | None) -> tuple[str, ...]:
    return () if named is None else (named,)


def timbers(
    asked: OrderRequest, given: OrderRequest, choice: Sequence[tuple[str, str]], wishes: Wishes, allowed: frozenset[str]
) -> MoveGroup:
    """The pairs of timbers as moves: what was of a timber that is given up follows it, where it may change."""
    return tuple(
        Move(points=_timber_points(given, pair), make=_timbered(asked, pair, wishes, allowed)) for pair in choice
    )


def _timber_points(given: OrderRequest, pair: tuple[str, str]) -> float:
    return sum(
        TIMBER for named, now in zip((given.light, given.dark), pair, strict=True) if named is not None and named != now
    )


def _timbered(asked: OrderRequest, pair: tuple[str, str], wishes: Wishes, allowed: frozenset[str]) -> Make:
    follow = dict(zip((asked.light, asked.dark), pair, strict=True))

    def named(species: str, field: Field) -> str:
        now = follow.get(species, species) if wishes.free(field) else species
        return now if now in allowed else pair[1]

    def make(request: OrderRequest) -> OrderRequest:
        frame, base = request.frame, request.base
        if frame:
            frame = replace(frame, species=named(frame.species, Field.FRAME))
        if base:
            skirt, backing = base.skirt, base.backing
            base = replace(
                base,
                skirt=replace(skirt, species=named(skirt.species, Field.BASE)) if skirt else None,
                backing=replace(backing, species=named(backing.species, Field.BASE)) if backing else None,
            )
        lines = tuple(replace(line, species=named(line.species, Field.LINES)) for line in request.lines)
        return replace(request, light=pair[0], dark=pair[1], frame=frame, base=base, lines=lines)

    return make


AS_ASKED: Final = Move(points=0.0, make=lambda request: request)  # nothing is changed, which costs no points


def _set(points: float, **changes: Any) -> Move:  # noqa: ANN401 - fields are of many types
    return Move(points=points, make=lambda request: replace(request, **changes))


def _grains(asked: OrderRequest, shop: Shop) -> Iterator[MoveGroup]:
    grain = asked.grain or GrainRequest()
    now = [
        given or shop.lumber[key].grain for given, key in ((grain.light, asked.light), (grain.dark, asked.dark)) if key
    ]
    if any(each is not Grain.QUARTER for each in now):
        yield AS_ASKED, _set(GRAIN, grain=GrainRequest(light=Grain.QUARTER, dark=Grain.QUARTER))


def _patterns(asked: OrderRequest, shop: Shop) -> Iterator[MoveGroup]:
    now = asked.pattern or Pattern(shop.defaults.pattern)
    other = Pattern.SHIFT if now is Pattern.TURN else Pattern.TURN
    yield AS_ASKED, _set(PATTERN, pattern=other)


def _thicknesses(asked: OrderRequest, shop: Shop) -> Iterator[MoveGroup]:
    now_mm = shop.defaults.thickness_mm if asked.thickness_mm is None else asked.thickness_mm
    points = LEFT_THICKNESS_MM if asked.thickness_mm is None else THICKNESS_MM
    step_mm, span = THICKNESS_STEP_MM[asked.units or shop.defaults.units], shop.ranges.thickness
    steps = [at for at in range(-THINNER, THICKER + 1) if at]
    tried = [(at, round(now_mm + at * step_mm, 6)) for at in sorted(steps, key=lambda at: (abs(at), at))]
    yield (
        AS_ASKED,
        *(_set(points * abs(at) * step_mm, thickness_mm=mm) for at, mm in tried if span.low_mm <= mm <= span.high_mm),
    )


def _finishes(asked: OrderRequest, shop: Shop) -> Iterator[MoveGroup]:
    now, points = asked.finish or shop.defaults.finish, LEFT_FINISH if asked.finish is None else FINISH
    yield AS_ASKED, *(_set(points, finish=key) for key in shop.finishes if key != now)


def _feet(asked: OrderRequest, _: Shop) -> Iterator[MoveGroup]:
    if asked.feet:
        yield AS_ASKED, _set(FEET_GONE, feet=0)


def _lines(asked: OrderRequest, _: Shop) -> Iterator[MoveGroup]:
    if asked.lines:
        yield AS_ASKED, _set(LINES_GONE, lines=())


def _bases(asked: OrderRequest, shop: Shop) -> Iterator[MoveGroup]:
    base = asked.base
    if base is None:
        return
    others = [
        replace(base, material=sheet.material, thickness_mm=sheet.thickness_mm)
        for sheet in shop.sheets
        if sheet != shop.sheet_stock(base.material, base.thickness_mm)
    ]
    others += [replace(base, backing=backing) for backing in _backings(asked, base, shop)]
    moves = [_set(BASE_CHANGED, base=other) for other in others]
    yield AS_ASKED, *moves, _set(BASE_GONE, base=None)


def _backings(asked: OrderRequest, base: BaseRequest, shop: Shop) -> Iterator[BackingRequest]:
    span = shop.ranges.backing
    for species in (asked.light, asked.dark):
        for thick_mm in BACKINGS_MM:
            if species and base.backing is None and span.low_mm <= thick_mm <= span.high_mm:
                yield BackingRequest(species=species, thickness_mm=thick_mm)


def _frames(asked: OrderRequest, shop: Shop) -> Iterator[MoveGroup]:
    frame = asked.frame
    if frame is None:
        if asked.dark is not None and asked.base is None:
            rail_mm = NEW_RAIL_MM[asked.units or shop.defaults.units]
            made = FrameRequest(joint=Joint.MITRE, hold=Hold.FLOATING, species=asked.dark, width_mm=rail_mm)
            yield AS_ASKED, _set(FRAME_ADDED, frame=made)
        return
    yield AS_ASKED, *_narrower(frame, asked, shop)
    held = Hold.GLUED if frame.hold is Hold.FLOATING else Hold.FLOATING
    yield AS_ASKED, _of_frame(FRAME_HOLD, hold=held)
    joint = Joint.BUTT if frame.joint is Joint.MITRE else Joint.MITRE
    yield AS_ASKED, _of_frame(FRAME_JOINT, joint=joint)
    yield AS_ASKED, _of_frame(GRAIN, grain=Grain.QUARTER)
    yield AS_ASKED, _set(FRAME_GONE, frame=None)


def _narrower(frame: FrameRequest, asked: OrderRequest, shop: Shop) -> Iterator[Move]:
    step_mm, low_mm = RAIL_STEP_MM[asked.units or shop.defaults.units], shop.ranges.frame_width.low_mm
    most, least = math.ceil(frame.width_mm / step_mm - 1e-9) - 1, math.ceil(low_mm / step_mm - 1e-9)
    for count in range(most, least - 1, -1):
        now_mm = round(count * step_mm, 6)
        yield _of_frame(RAIL_SHARE * 100 * math.log(frame.width_mm / now_mm), width_mm=now_mm)


def _of_frame(points: float, **changes: Any) -> Move:  # noqa: ANN401 - fields are of many types
    return Move(
        points=points,
        make=lambda request: replace(request, frame=replace(request.frame, **changes)) if request.frame else request,
    )
