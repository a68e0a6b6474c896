"""Sizes of one board: field, lines, frame, base, height, mass, and how the pieces fit the squares."""

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Literal, NamedTuple

from chequerwork.domain.advice import Advice, Severity
from chequerwork.domain.facts import FitBand, Tables
from chequerwork.domain.order import Base, ChessPieces, DraughtsMan, Frame, Hold, Joint, Order, Pieces, Units
from chequerwork.domain.shop import Shop

MASS_SPREAD = 0.10  # coefficient of variation of a species' density (Wood Handbook ch. 4, from memory)
FILL_TARGET = 0.78  # base diameter over square; see the fit bands
MAN_MARGIN_MM = 6.0  # draughts: middle of the 5 to 7 mm players leave around a man
SQUARE_STEP_MM = {"metric": 0.5, "imperial": 25.4 / 16}  # a derived square is rounded up to this
MAN_MARGINS_MM = (("crowded", 3.0), ("tight", 5.0), ("standard", 7.0), ("roomy", 12.0))  # below which; house


class Seat(NamedTuple):
    """How a floating field sits in its groove, per side; zeros for a glued field."""

    clearance_mm: float
    tongue_mm: float


GLUED_SEAT = Seat(0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rect:
    """A rectangle; length along the field's grain."""

    length_mm: float
    width_mm: float

    @property
    def diagonal_mm(self) -> float:
        """Corner to corner. [mm]"""
        return math.hypot(self.length_mm, self.width_mm)


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
    volume_mm3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """How the pieces suit the square. None where no pieces were given."""

    fill_ratio: float | None
    verdict: str | None
    square_low_mm: float | None
    square_high_mm: float | None


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
    def tongue_thickness_mm(self) -> float:
        """Middle third of a floating field; its groove is as high. [mm] Zero where the field is glued."""
        return self.thickness_mm / 3 if self.seat.tongue_mm else 0.0


def lay_out(order: Order, shop: Shop, tables: Tables, *, seat: Seat = GLUED_SEAT) -> Geometry:
    """Lay out one board.

    Parameters
    ----------
    order
        The complete order.
    shop, tables
        Foot sizes of the shop; densities and fit bands of the tables.
    seat
        Clearance and tongue of a floating field, from ``movement``. [mm]

    Returns
    -------
    Geometry
        ``height_mm`` runs from the table to the playing surface, feet included.

    References
    ----------
    TRADE-FRAME: long point = panel + 2c + 2(W - r), here with the tongue below the surface so r hides nothing.
    """
    field = Rect(length_mm=order.field_length_mm, width_mm=order.field_width_mm)
    inner = grow(field, order.lines_mm)
    opening = grow(inner, seat.clearance_mm)
    overall = grow(opening, order.frame.width_mm if order.frame else 0.0)
    base = base_panel(order.base, overall) if order.base else None
    cells = order.columns * order.rows
    timber_g = timber_masses_g(order, tables, seat=seat, opening=opening, base=base)
    mass_g = sum(timber_g.values()) + order.feet * shop.consumables.foot_mass_g
    if order.base and base:
        mass_g += sheet_mass_g(order.base, base, tables)
    return Geometry(
        square_mm=order.square_mm,
        columns=order.columns,
        rows=order.rows,
        light_squares=cells - cells // 2,
        dark_squares=cells // 2,
        field=field,
        inner=inner,
        opening=opening,
        overall=overall,
        height_mm=height_mm(order, shop),
        thickness_mm=order.thickness_mm,
        seat=seat,
        rails=rails(order.frame, opening) if order.frame else (),
        base=base,
        mass_kg=mass_g / 1000,
        mass_half_range_kg=mass_g / 1000 * MASS_SPREAD,
        timber_kg=tuple((key, grams / 1000) for key, grams in timber_g.items()),
        fit=fit(order, tables.fit_bands),
        advice=_advice(order, tables),
    )


def grow(rect: Rect, border_mm: float) -> Rect:
    """The rectangle with a border of ``border_mm`` [mm] on every side; negative shrinks it."""
    return Rect(length_mm=rect.length_mm + 2 * border_mm, width_mm=rect.width_mm + 2 * border_mm)


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
        thickness_mm=frame.thickness_mm or 0.0,
        species=frame.species,
    )


def base_panel(base: Base, overall: Rect) -> BasePanel:
    """The panel under the board: ``inset`` inside the outside, its skirt, where there is one, part of that size."""
    outside = grow(overall, -base.inset_mm)
    panel = grow(outside, -base.skirt.width_mm) if base.skirt else outside
    return BasePanel(panel=panel, outside=outside, volume_mm3=panel.length_mm * panel.width_mm * base.thickness_mm)


def base_is_inside(order: Order) -> bool:
    """Whether the base fits inside the frame, which then hides it, rather than running under the rails."""
    return bool(order.base and order.frame and order.base.inset_mm >= order.frame.width_mm)


def base_is_glued(order: Order) -> bool:
    """Whether the field is glued to the base all over; not where it floats and the base is fixed to the rails."""
    floating = order.frame is not None and order.frame.hold is Hold.FLOATING
    return order.base is not None and (not floating or base_is_inside(order))


def height_mm(order: Order, shop: Shop) -> float:
    """From the table to the playing surface. [mm]"""
    base, frame = order.base, order.frame
    under_mm = base.thickness_mm + (base.backing.thickness_mm if base.backing else 0.0) if base else 0.0
    rail_mm = (frame.thickness_mm or 0.0) if frame else 0.0
    feet_mm = shop.consumables.foot_height_mm if order.feet else 0.0
    return feet_mm + max(order.thickness_mm + under_mm, rail_mm)


def timber_masses_g(
    order: Order, tables: Tables, *, seat: Seat, opening: Rect, base: BasePanel | None
) -> dict[str, float]:
    """Mass of each timber in one finished board at 12 % moisture content, by species. [g]

    References
    ----------
    WOOD-NOTES section 8: density at 12 % moisture content; a 400 x 400 x 20 mm half-and-half board of 706 and
    616 kg/m3 weighs 2.115 kg.
    """
    volumes: dict[str, float] = defaultdict(float)
    cells, thickness_mm = order.columns * order.rows, order.thickness_mm
    cell_mm3 = order.square_mm**2 * thickness_mm
    volumes[order.light] += (cells - cells // 2) * cell_mm3
    volumes[order.dark] += cells // 2 * cell_mm3
    edge, outermost = Rect(length_mm=order.field_length_mm, width_mm=order.field_width_mm), (order.light, order.dark)
    for line in order.lines:
        outer = grow(edge, line.width_mm)
        volumes[line.species] += _ring_mm2(outer, edge) * thickness_mm
        edge, outermost = outer, (line.species, line.species)
    for species in outermost:  # half of the tongue each
        volumes[species] += 2 * (edge.length_mm + edge.width_mm) * seat.tongue_mm * thickness_mm / 3 / 2
    if order.frame:
        volumes[order.frame.species] += _frame_mm3(order, order.frame, opening, seat)
    if order.base and base and order.base.skirt:
        volumes[order.base.skirt.species] += _ring_mm2(base.outside, base.panel) * order.base.thickness_mm
    if order.base and base and order.base.backing:
        area_mm2 = base.outside.length_mm * base.outside.width_mm
        volumes[order.base.backing.species] += area_mm2 * order.base.backing.thickness_mm
    return {key: mm3 * tables.species[key].density_kg_m3 * 1e-6 for key, mm3 in volumes.items()}


def _ring_mm2(outer: Rect, inner: Rect) -> float:
    return outer.length_mm * outer.width_mm - inner.length_mm * inner.width_mm


def _frame_mm3(order: Order, frame: Frame, opening: Rect, seat: Seat) -> float:
    outer = grow(opening, frame.width_mm)
    bevel_mm3 = (outer.length_mm + outer.width_mm) * frame.bevel_mm**2  # half a square, four sides
    # As deep as the tongue is long and as high as it is thick, a third of the field.
    groove_mm3 = 2 * (opening.length_mm + opening.width_mm) * seat.tongue_mm * order.thickness_mm / 3
    return _ring_mm2(outer, opening) * (frame.thickness_mm or 0.0) - bevel_mm3 - groove_mm3


def sheet_mass_g(base: Base, panel: BasePanel, tables: Tables) -> float:
    """Mass of the base's panel, without skirt and backing. [g]

    References
    ----------
    TRADE-SHEET: density of the sheet good; 1220 x 2440 x 9 mm of birch plywood weighs 19.0 kg (H01).
    """
    sheet = tables.sheet(base.material, base.thickness_mm)
    return panel.volume_mm3 * (sheet.density_kg_m3 if sheet else 0.0) * 1e-6


def square_for(pieces: Pieces, units: Units) -> float:
    """Square that suits the pieces, rounded up to the unit system's step. [mm]

    Chess: king base over the wished fill ratio, or over 0.78, and never less than twice the pawn's base. Draughts:
    man plus 6 mm.

    References
    ----------
    BOARD-STD, sections 1 to 3 (78 % as diameter over side; pawn rule; man + 5 to 7 mm, players' practice).
    """
    if isinstance(pieces, DraughtsMan):
        wanted_mm = pieces.man_mm + MAN_MARGIN_MM
    else:
        wanted_mm = pieces.king_base_mm / (pieces.fill_ratio or FILL_TARGET)
        if pieces.fill_ratio is None:
            wanted_mm = max(wanted_mm, 2 * (pieces.pawn_base_mm or 0.0))
    step_mm = SQUARE_STEP_MM[units]
    return math.ceil(wanted_mm / step_mm - 1e-9) * step_mm


def fit(order: Order, bands: tuple[FitBand, ...]) -> Fit:
    """How the pieces suit the square.

    The fill ratio is base *diameter* over square: read as an area share, 78 % would let the base touch all four
    edges. ``square_low_mm`` and ``square_high_mm`` bound the squares on which these pieces stand ``standard``.

    References
    ----------
    BOARD-STD section 2 (0.75 to 0.80 usual), section 3 (man + 5 to 7 mm).
    """
    pieces = order.pieces
    if pieces is None:
        return Fit(fill_ratio=None, verdict=None, square_low_mm=None, square_high_mm=None)
    if isinstance(pieces, DraughtsMan):
        margin_mm = order.square_mm - pieces.man_mm
        verdict = next((word for word, below_mm in MAN_MARGINS_MM if margin_mm < below_mm - 1e-9), "lonely")
        return Fit(
            fill_ratio=pieces.man_mm / order.square_mm,
            verdict="standard" if abs(margin_mm - 7.0) <= 1e-9 else verdict,
            square_low_mm=pieces.man_mm + 5.0,
            square_high_mm=pieces.man_mm + 7.0,
        )
    ratio = pieces.king_base_mm / order.square_mm
    standard = next(band for band in bands if band.verdict == "standard")
    # Both ends of the usual band are printed as usual.
    usual = standard.low - 1e-9 <= ratio <= standard.high + 1e-9
    verdict = next((band.verdict for band in bands if ratio < band.high), bands[-1].verdict)
    return Fit(
        fill_ratio=ratio,
        verdict=standard.verdict if usual else verdict,
        square_low_mm=pieces.king_base_mm / standard.high,
        square_high_mm=pieces.king_base_mm / standard.low,
    )


def _advice(order: Order, tables: Tables) -> tuple[Advice, ...]:
    found: list[Advice] = []
    game = tables.games.get(order.game) if order.game else None
    if game and not game.square_low_mm - 1e-6 <= order.square_mm <= game.square_high_mm + 1e-6:
        found.append(
            Advice(
                code="outside-usual-square",
                severity=Severity.INFO,
                at=("geometry", "square_mm"),
                text=f"{game.title} is usually played on squares of {game.square_low_mm:g} to "
                f"{game.square_high_mm:g} mm; this board has {order.square_mm:.4g} mm.",
                source=game.source,
            )
        )
    pieces = order.pieces
    if pieces is not None:
        found.extend(_fit_advice(order, fit(order, tables.fit_bands)))
    if isinstance(pieces, ChessPieces) and pieces.pawn_base_mm and order.square_mm < 2 * pieces.pawn_base_mm - 1e-6:
        found.append(
            Advice(
                code="pawn-rule",
                severity=Severity.CAUTION,
                at=("geometry", "fit"),
                text=f"Four pawns of {pieces.pawn_base_mm:g} mm do not fit one square; that asks for a square of "
                f"{2 * pieces.pawn_base_mm:g} mm.",
                source="BOARD-STD",
            )
        )
    return tuple(found)


def _fit_advice(order: Order, found: Fit) -> tuple[Advice, ...]:
    if found.verdict in (None, "standard", "roomy"):
        return ()
    severity = Severity.WARNING if (found.fill_ratio or 0.0) >= 1 else Severity.CAUTION
    return (
        Advice(
            code=f"pieces-{found.verdict}",
            severity=severity,
            at=("geometry", "fit"),
            text=f"The pieces stand {found.verdict} on {order.square_mm:.4g} mm squares (fill ratio "
            f"{found.fill_ratio:.2f}); squares of {found.square_low_mm:.1f} to {found.square_high_mm:.1f} mm suit "
            "them.",
            source="BOARD-STD",
        ),
    )
