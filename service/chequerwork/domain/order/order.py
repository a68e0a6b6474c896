"""The complete order, in groups by what belongs together, all in canonical units.

``completion`` makes it of an ``OrderRequest``. A function takes the groups that it reads; only remedies and suggestions
try out whole orders.
"""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from chequerwork.domain.basics.bounds import within
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


# Parts that a request has in the same form ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class ChessPieces:
    """Base diameters and height of a chess set."""

    king_base_mm: float = field(metadata=within(5, 150))
    pawn_base_mm: float | None = field(default=None, metadata=within(5, 150))
    king_height_mm: float | None = field(default=None, metadata=within(10, 400))
    fill_ratio: float | None = field(default=None, metadata=within(0.4, 1.0))  # wished king base over square


@dataclass(frozen=True, slots=True, kw_only=True)
class DraughtsMan:
    """Diameter of a draughts man."""

    man_mm: float = field(metadata=within(5, 150))


Pieces = ChessPieces | DraughtsMan


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A narrow inlaid band between field and frame."""

    species: str
    width_mm: float = field(metadata=within(0, 100))


@dataclass(frozen=True, slots=True, kw_only=True)
class Skirt:
    """A strip that hides the edge of the base."""

    species: str
    width_mm: float = field(metadata=within(0, 100))


# Groups ---------------------------------------------------------------------------------------------------------------


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
class BoardField:
    """The chequered field with its lines."""

    columns: int
    rows: int
    square_mm: float
    thickness_mm: float
    pattern: Pattern
    light: str
    dark: str
    light_grain: Grain
    dark_grain: Grain
    lines: tuple[Line, ...]

    @property
    def length_mm(self) -> float:
        """Of the chequer, along the grain. [mm]"""
        return field_side_mm(self.rows, self.square_mm)

    @property
    def width_mm(self) -> float:
        """Of the chequer, across the grain. [mm]"""
        return field_side_mm(self.columns, self.square_mm)

    @property
    def lines_mm(self) -> float:
        """All lines of one side together. [mm]"""
        return sum(line.width_mm for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """What is played on the field, and with which pieces."""

    game: str | None
    pieces: Pieces | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The border. ``bevel_mm`` is taken off the outer upper edge at 45 deg."""

    joint: Joint
    hold: Hold
    species: str
    width_mm: float
    thickness_mm: float
    bevel_mm: float
    grain: Grain
    edge: Edge


@dataclass(frozen=True, slots=True, kw_only=True)
class Backing:
    """A thin panel of wood under the base, lying as the field does."""

    species: str
    thickness_mm: float
    grain: Grain


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """A panel under the field, set in from the board's outside by ``inset_mm`` on every side."""

    material: str
    thickness_mm: float
    inset_mm: float
    skirt: Skirt | None
    backing: Backing | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """The finish, and the last grade that each side is sanded with before it."""

    finish: str
    sand_top: str
    sand_underside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Corners:
    """How closely the squares' corners should meet: every corner of a board, on this share of boards."""

    within_mm: float
    confidence_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """How many boards, where they go, and how they are sold and paid."""

    quantity: int
    ship_to: str
    channel: str
    payment: str | None  # None where the shop names no ways to pay
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderDates:
    """The day of the quote, the first day of work, and the day by which the order should leave the shop."""

    issued_on: date
    starts_on: date
    wanted_by: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """A complete request: nothing is left to the shop."""

    shop: str
    field: BoardField
    play: Play
    frame: Frame | None
    base: Base | None
    feet: int
    surface: Surface
    climate: Climate
    corners: Corners
    sale: Sale
    dates: OrderDates
    units: Units
