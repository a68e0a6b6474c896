"""The order: what a customer asks for.

``Wish`` is the request as read, each field valid by itself and possibly missing; ``Order`` is complete, in canonical
units. ``completion`` makes one from the other.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import Climate


class Pattern(StrEnum):
    """How the chequer is made: every second bar turned end for end, or moved by one square."""

    TURN = "turn"
    SHIFT = "shift"


class Joint(StrEnum):
    """How the frame's corners meet."""

    MITRE = "mitre"
    BUTT = "butt"


class Hold(StrEnum):
    """How the field sits in the frame: glued to it, or free to move in a groove."""

    GLUED = "glued"
    FLOATING = "floating"


class Edge(StrEnum):
    """How a floating field enters its rails: by a tongue below the surface, or under a lip over the squares."""

    TONGUE = "tongue"
    LIP = "lip"


class Units(StrEnum):
    """Unit system of everything a person reads."""

    METRIC = "metric"
    IMPERIAL = "imperial"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChessPieces:
    """Base diameters and height of a chess set."""

    king_base_mm: float
    pawn_base_mm: float | None = None
    king_height_mm: float | None = None
    fill_ratio: float | None = None  # wished king base over square


@dataclass(frozen=True, slots=True, kw_only=True)
class DraughtsMan:
    """Diameter of a draughts man."""

    man_mm: float


Pieces = ChessPieces | DraughtsMan


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A narrow inlaid band between field and frame."""

    species: str
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The border. ``thickness_mm`` and ``grain`` are None until the order is complete.

    ``bevel_mm`` is taken off the outer upper edge at 45 deg.
    """

    joint: Joint
    hold: Hold
    species: str
    width_mm: float
    thickness_mm: float | None = None
    bevel_mm: float = 0.0
    grain: Grain | None = None
    edge: Edge = Edge.TONGUE


@dataclass(frozen=True, slots=True, kw_only=True)
class Skirt:
    """A strip that hides the edge of the base."""

    species: str
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Backing:
    """A thin panel of wood under the base, lying as the field does. ``grain`` is None until the order is complete."""

    species: str
    thickness_mm: float
    grain: Grain | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SquaresGrain:
    """How the two timbers of the field are to be sawn, as far as given."""

    light: Grain | None = None
    dark: Grain | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """A panel under the field, set in from the board's outside by ``inset_mm`` on every side."""

    material: str
    thickness_mm: float
    inset_mm: float = 0.0
    skirt: Skirt | None = None
    backing: Backing | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sanding:
    """Wished last grades."""

    top: str | None = None
    underside: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateWish:
    """The customer's year indoors, as far as given; ``room`` names a kind of room for the rest."""

    room: str | None = None
    low_rh_pct: float | None = None
    high_rh_pct: float | None = None
    temperature_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CornersWish:
    """How closely the squares' corners should meet, as far as given."""

    within_mm: float | None = None
    confidence_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Corners:
    """How closely the squares' corners should meet: every corner of a board, on this share of boards."""

    within_mm: float
    confidence_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A request as read; None means not given."""

    columns: int | None = None
    rows: int | None = None
    game: str | None = None
    square_mm: float | None = None
    pieces: Pieces | None = None
    light: str | None = None
    dark: str | None = None
    grain: SquaresGrain | None = None
    thickness_mm: float | None = None
    pattern: Pattern | None = None
    lines: tuple[Line, ...] = ()
    frame: Frame | None = None
    base: Base | None = None
    feet: int = 0
    finish: str | None = None
    sanding: Sanding | None = None
    climate: ClimateWish | None = None
    corners: CornersWish | None = None
    quantity: int = 1
    issued_on: date | None = None
    starts_on: date | None = None
    wanted_by: date | None = None
    ship_to: str | None = None
    channel: str | None = None
    payment: str | None = None
    currency: str | None = None
    units: Units | None = None


def field_side_mm(squares: int, square_mm: float) -> float:
    """Side of the chequered area. [mm]

    Parameters
    ----------
    squares
        In a row or column.
    square_mm
        Finished. [mm]

    References
    ----------
    House: squares lie side by side, with no line between them.
    """
    return squares * square_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """A complete request in canonical units: thickness of the frame and grain of frame and backing are filled."""

    shop: str
    columns: int
    rows: int
    game: str | None
    square_mm: float
    pieces: Pieces | None
    light: str
    dark: str
    light_grain: Grain
    dark_grain: Grain
    thickness_mm: float
    pattern: Pattern
    lines: tuple[Line, ...]
    frame: Frame | None
    base: Base | None
    feet: int
    finish: str
    sand_top: str
    sand_underside: str
    climate: Climate
    corners: Corners
    quantity: int
    issued_on: date
    starts_on: date
    wanted_by: date | None
    ship_to: str
    channel: str
    payment: str | None
    currency: str
    units: Units

    @property
    def field_length_mm(self) -> float:
        """Along the grain. [mm]"""
        return field_side_mm(self.rows, self.square_mm)

    @property
    def field_width_mm(self) -> float:
        """Across the grain. [mm]"""
        return field_side_mm(self.columns, self.square_mm)

    @property
    def lines_mm(self) -> float:
        """All lines of one side together. [mm]"""
        return sum(line.width_mm for line in self.lines)


def wish_of(order: Order) -> Wish:
    """The request that leaves nothing to the shop and comes out as this order, but for the first day of work.

    That is left to the shop: where it has no room before, the day may be later than the wanted one, which no request
    may ask for.
    """
    climate = order.climate
    return Wish(
        **{name: getattr(order, name) for name in _AS_ASKED},
        grain=SquaresGrain(light=order.light_grain, dark=order.dark_grain),
        sanding=Sanding(top=order.sand_top, underside=order.sand_underside),
        climate=ClimateWish(
            room=climate.room,
            low_rh_pct=climate.low_rh_pct,
            high_rh_pct=climate.high_rh_pct,
            temperature_c=climate.temperature_c,
        ),
        corners=CornersWish(within_mm=order.corners.within_mm, confidence_pct=order.corners.confidence_pct),
    )


# Fields of an order that a request has under the same name and in the same form.
_AS_ASKED: Final = tuple(
    name
    for name in Wish.__dataclass_fields__
    if name in Order.__dataclass_fields__ and name not in ("climate", "corners", "starts_on")
)
