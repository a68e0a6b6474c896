"""Sizes of one board: field, lines, frame, base, height, mass, and how the pieces fit the squares."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

from chequerwork.domain.basics.advice import Advice
from chequerwork.domain.basics.arithmetic import enlarged_mm, times
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Consumables
from chequerwork.domain.board.fit import Fit, fit, fit_advice
from chequerwork.domain.board.shapes import bevel_m3, block_m3, diagonal_mm, edging_m3, mass_kg, ring_m3
from chequerwork.domain.order.order import Base, BoardField, Edge, Frame, Hold, Joint, Play
from chequerwork.domain.order.request import FrameRequest

MASS_SPREAD = 0.10  # coefficient of variation of a species' density (Wood Handbook ch. 4, from memory)


class Seat(NamedTuple):
    """How a floating field sits in its groove, per side; zeros for a glued field.

    The groove is ``tongue_mm`` deep. Under a lip there is no tongue: the edge of the squares enters it, and the lip
    laps over them by ``lap_mm``.
    """

    clearance_mm: float
    tongue_mm: float
    lap_mm: float = 0.0

    @property
    def gap_mm(self) -> float:
        """From the squares or lines to the rail, as seen from above; negative where a lip laps over them. [mm]"""
        return -self.lap_mm if self.lap_mm else self.clearance_mm

    @property
    def added_mm(self) -> float:
        """Tongue outside the squares or lines. [mm]"""
        return 0.0 if self.lap_mm else self.tongue_mm

    def groove_high_mm(self, field_mm: float) -> float:
        """Height of the groove for a field [mm]: a third of it for a tongue, all of it under a lip. [mm]"""
        if not self.tongue_mm:
            return 0.0
        return field_mm if self.lap_mm else field_mm / 3


GLUED_SEAT = Seat(0.0, 0.0)
LIP_MM = 3.0  # wood above a field that lies under a lip, and as much below it (common practice, no source)


class Rect(NamedTuple):
    """A rectangle; length along the field's grain."""

    length_mm: float
    width_mm: float

    @property
    def diagonal_mm(self) -> float:
        """Corner to corner. [mm]"""
        return diagonal_mm(self.length_mm, self.width_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rail:
    """One pair of sticks of the frame. ``side`` is the field's side it runs along."""

    side: Literal["length", "width"]
    count: int
    long_point_mm: float
    short_point_mm: float
    width_mm: float
    thickness_mm: float
    species: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BasePanel:
    """The base as cut, its skirt and backing included in ``outside``."""

    panel: Rect
    outside: Rect
    volume_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Geometry:
    """One board. ``field`` is the chequer alone, ``inner`` the chequer with its lines."""

    square_mm: float
    columns: int
    rows: int
    light_squares: int
    dark_squares: int
    field: Rect
    inner: Rect
    opening: Rect
    overall: Rect
    height_mm: float
    rim_mm: float  # of the rails above the playing surface
    hidden_mm: float  # of the outer squares, by a lip
    thickness_mm: float
    seat: Seat
    rails: tuple[Rail, ...]
    base: BasePanel | None
    mass_kg: float
    mass_half_range_kg: float
    timber_kg: tuple[tuple[str, float], ...]  # in the finished board, by species
    fit: Fit
    advice: tuple[Advice, ...]

    @property
    def outer_mm(self) -> tuple[float, float, float]:
        """Length, width and height of the whole board, its rim included. [mm]"""
        return self.overall.length_mm, self.overall.width_mm, self.height_mm + self.rim_mm

    @property
    def tongue_thickness_mm(self) -> float:
        """Of what enters the groove, which is as high: a third of the field, or all of it. [mm] Zero if glued."""
        return self.seat.groove_high_mm(self.thickness_mm)


def lay_out(
    field: BoardField,
    play: Play,
    frame: Frame | None,
    base: Base | None,
    feet: int,
    seat: Seat,
    consumables: Consumables,
    tables: Tables,
) -> Geometry:
    """Lay out one board.

    Parameters
    ----------
    field, play, frame, base, feet
        Of the order.
    seat
        Clearance and tongue of a floating field, from ``movement``. [mm]
    consumables, tables
        Foot sizes of the shop; densities and fit bands of the tables.

    Returns
    -------
    Geometry
        ``height_mm`` runs from the table to the playing surface, feet included.

    References
    ----------
    TRADE-FRAME: long point = panel + 2c + 2(W - r) under a lip; a tongue lies below the surface, so r hides nothing.
    """
    chequer = Rect(length_mm=field.length_mm, width_mm=field.width_mm)
    inner = grow(chequer, field.lines_mm)
    opening = grow(inner, seat.gap_mm)
    overall = grow(opening, frame.width_mm if frame else 0.0)
    panel = base_panel(base, overall) if base else None
    cells = field.columns * field.rows
    timber = timber_masses_kg(field, frame, base, seat=seat, opening=opening, panel=panel, tables=tables)
    board_kg = sum(timber.values()) + times(consumables.foot_mass_g / 1000, feet)
    if base and panel:
        board_kg += sheet_mass_kg(base, panel, tables)
    return Geometry(
        square_mm=field.square_mm,
        columns=field.columns,
        rows=field.rows,
        light_squares=cells - cells // 2,
        dark_squares=cells // 2,
        field=chequer,
        inner=inner,
        opening=opening,
        overall=overall,
        height_mm=height_mm(field.thickness_mm, frame, base, feet, consumables),
        rim_mm=rim_mm(frame),
        hidden_mm=hidden_edge_mm(lap_mm=seat.lap_mm, lines_mm=field.lines_mm),
        thickness_mm=field.thickness_mm,
        seat=seat,
        rails=rails(frame, opening) if frame else (),
        base=panel,
        mass_kg=board_kg,
        mass_half_range_kg=times(board_kg, MASS_SPREAD),
        timber_kg=tuple(timber.items()),
        fit=fit(field.square_mm, play.pieces, tables.fit_bands),
        advice=fit_advice(field.square_mm, play, tables),
    )


def grow(rect: Rect, border_mm: float) -> Rect:
    """The rectangle with a border of ``border_mm`` [mm] on every side; negative shrinks it."""
    return Rect(
        length_mm=enlarged_mm(rect.length_mm, 2, border_mm),
        width_mm=enlarged_mm(rect.width_mm, 2, border_mm),
    )


def rails(frame: Frame, opening: Rect) -> tuple[Rail, ...]:
    """The four sticks as two pairs.

    Mitred: every stick runs from outer corner (long point) to outer corner. Butt: the sticks along the field's length
    run through and the others stand between them, ends square.

    References
    ----------
    TRADE-FRAME: long point = opening + 2 W; sum of long points = perimeter + 8 W.
    """
    through_mm = 2 * frame.width_mm
    mitred = frame.joint is Joint.MITRE
    along, across = opening.length_mm, opening.width_mm
    return (
        _rail(frame, "length", along + through_mm, along if mitred else along + through_mm),
        _rail(frame, "width", across + through_mm if mitred else across, across),
    )


def _rail(frame: Frame, side: Literal["length", "width"], long_point_mm: float, short_point_mm: float) -> Rail:
    return Rail(
        side=side,
        count=2,
        long_point_mm=long_point_mm,
        short_point_mm=short_point_mm,
        width_mm=frame.width_mm,
        thickness_mm=frame.thickness_mm,
        species=frame.species,
    )


def base_panel(base: Base, overall: Rect) -> BasePanel:
    """The panel under the board: ``inset`` inside the outside, its skirt, where there is one, part of that size."""
    outside = grow(overall, -base.inset_mm)
    panel = grow(outside, -base.skirt.width_mm) if base.skirt else outside
    volume_m3 = block_m3(1, panel.length_mm, panel.width_mm, base.thickness_mm)
    return BasePanel(panel=panel, outside=outside, volume_m3=volume_m3)


def base_is_inside(frame: Frame | None, base: Base | None) -> bool:
    """Whether the base fits inside the frame, which then hides it, rather than running under the rails."""
    return bool(base and frame and base.inset_mm >= frame.width_mm)


def base_is_glued(frame: Frame | None, base: Base | None) -> bool:
    """Whether the field is glued to the base all over; not where it floats and the base is fixed to the rails."""
    floating = frame is not None and frame.hold is Hold.FLOATING
    return base is not None and (not floating or base_is_inside(frame, base))


def height_mm(
    thickness_mm: float, frame: Frame | None, base: Base | None, feet: int, consumables: Consumables
) -> float:
    """From the table to the playing surface of a field ``thickness_mm`` [mm] thick. [mm]"""
    return over_table_mm(**heights_mm(thickness_mm, frame, base, feet, consumables))


def heights_mm(
    thickness_mm: float, frame: Frame | None, base: Base | None, feet: int, consumables: Consumables
) -> dict[str, float]:
    """What ``over_table_mm`` takes, of a field ``thickness_mm`` [mm] thick. [mm]"""
    under_mm = base.thickness_mm + (base.backing.thickness_mm if base.backing else 0.0) if base else 0.0
    rail_mm = frame.thickness_mm - rim_mm(frame) if frame else 0.0
    feet_mm = consumables.foot_height_mm if feet else 0.0
    return {"thickness_mm": thickness_mm, "under_mm": under_mm, "rail_mm": rail_mm, "feet_mm": feet_mm}


def rim_mm(frame: Frame | FrameRequest | None) -> float:
    """How far the rails stand above the playing surface: by their lip, or not at all. [mm]"""
    return LIP_MM if frame and frame.hold is Hold.FLOATING and frame.edge is Edge.LIP else 0.0


def lap_over_mm(*, groove_mm: float, clearance_mm: float) -> float:
    """How far a lip laps over the edge of a field that lies in its groove. [mm]

    Parameters
    ----------
    groove_mm
        Depth of the groove. [mm]
    clearance_mm
        Left free at its bottom. [mm]

    References
    ----------
    TRADE-FRAME: r - c. A rebate of 9.5 mm with 1.6 mm clearance hides 7.9 mm of every edge square (F03).
    """
    return groove_mm - clearance_mm


def hidden_edge_mm(*, lap_mm: float, lines_mm: float) -> float:
    """How much of the outer squares a lip hides: what it laps over beyond the lines. [mm]

    Parameters
    ----------
    lap_mm
        Of the lip. [mm]
    lines_mm
        Lines of one side together. [mm]

    References
    ----------
    TRADE-FRAME: a border around the grid wider than r - c keeps the squares whole.
    """
    return max(0.0, lap_mm - lines_mm)


def over_table_mm(*, thickness_mm: float, under_mm: float, rail_mm: float, feet_mm: float) -> float:
    """Height of the playing surface: the feet, and above them the field on its base or the rails. [mm]

    Parameters
    ----------
    thickness_mm
        Of the field. [mm]
    under_mm
        Base and backing together. [mm]
    rail_mm
        Thickness of the rails below their lip, 0 without a frame. [mm]
    feet_mm
        Height of the feet. [mm]

    References
    ----------
    House: the surface is level with the rails.
    """
    return feet_mm + max(thickness_mm + under_mm, rail_mm)


class Solid(NamedTuple):
    """A part of a finished board, of one timber: the formula of its volume, its sizes, and how much of it counts."""

    species: str
    name: str
    formula: Callable[..., float]
    sizes: tuple[float, ...]  # as the formula takes them
    share: float = 1.0  # negative is taken off


def timber_masses_kg(
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    *,
    seat: Seat,
    opening: Rect,
    panel: BasePanel | None,
    tables: Tables,
) -> dict[str, float]:
    """Mass of each timber in one finished board at 12 % moisture content, by species. [kg]

    References
    ----------
    WOOD-NOTES section 8: density at 12 % moisture content; a 400 x 400 x 20 mm half-and-half board of 706 and
    616 kg/m3 weighs 2.115 kg.
    """
    volumes: dict[str, float] = defaultdict(float)
    for species, _, formula, sizes, share in solids(field, frame, base, seat=seat, opening=opening, panel=panel):
        volumes[species] += times(formula(*sizes), share)
    return {key: mass_kg(volume_m3, tables.species[key].density_kg_m3) for key, volume_m3 in volumes.items()}


def solids(
    field: BoardField, frame: Frame | None, base: Base | None, *, seat: Seat, opening: Rect, panel: BasePanel | None
) -> Iterator[Solid]:
    """Every part of a board that is of timber; without what is not there."""
    cells, square_mm, thickness_mm = field.columns * field.rows, field.square_mm, field.thickness_mm
    square = (square_mm, square_mm, thickness_mm)
    yield Solid(field.light, "light squares", block_m3, (cells - cells // 2, *square))
    yield Solid(field.dark, "dark squares", block_m3, (cells // 2, *square))
    edge = Rect(length_mm=field.length_mm, width_mm=field.width_mm)
    outermost: tuple[str, ...] = (field.light, field.dark)
    for line in field.lines:
        yield Solid(line.species, "line", ring_m3, (*edge, line.width_mm, thickness_mm))
        edge, outermost = grow(edge, line.width_mm), (line.species,)
    if seat.added_mm:
        tongue = (*edge, seat.added_mm, seat.groove_high_mm(thickness_mm))
        for species in outermost:  # half of it on each of two timbers at the edge
            yield Solid(species, "tongue", edging_m3, tongue, 1 / len(outermost))
    if frame:
        yield from _frame_solids(frame, opening, seat, thickness_mm)
    if base and panel:
        yield from _base_solids(base, panel)


def _frame_solids(frame: Frame, opening: Rect, seat: Seat, field_mm: float) -> Iterator[Solid]:
    """Rails as a ring, less bevel and groove."""
    yield Solid(frame.species, "rails", ring_m3, (*opening, frame.width_mm, frame.thickness_mm))
    if frame.bevel_mm:
        yield Solid(frame.species, "bevel", bevel_m3, (*grow(opening, frame.width_mm), frame.bevel_mm), -1.0)
    if seat.tongue_mm:
        groove = (*opening, seat.tongue_mm, seat.groove_high_mm(field_mm))
        yield Solid(frame.species, "groove", edging_m3, groove, -1.0)


def _base_solids(base: Base, sizes: BasePanel) -> Iterator[Solid]:
    """Skirt and backing."""
    if base.skirt:
        yield Solid(base.skirt.species, "skirt", ring_m3, (*sizes.panel, base.skirt.width_mm, base.thickness_mm))
    if base.backing:
        yield Solid(base.backing.species, "backing", block_m3, (1, *sizes.outside, base.backing.thickness_mm))


def sheet_mass_kg(base: Base, panel: BasePanel, tables: Tables) -> float:
    """Mass of the base's panel, without skirt and backing. [kg]

    References
    ----------
    TRADE-SHEET: density of the sheet good; 1220 x 2440 x 9 mm of birch plywood weighs 19.0 kg (H01).
    """
    sheet = tables.sheet(base.material, base.thickness_mm)
    return mass_kg(panel.volume_m3, sheet.density_kg_m3 if sheet else 0.0)
