"""What is cut: strips, crosscuts with every kerf, and the parts of one board with rough and final sizes."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, NamedTuple

from chequerwork.domain.basics.advice import Advice, Severity, workshop_advice
from chequerwork.domain.basics.arithmetic import enlarged_mm, round_up
from chequerwork.domain.basics.shop import Lumber, Machines
from chequerwork.domain.board.geometry import Geometry, Rect, grow
from chequerwork.domain.order.order import Base, BoardField, Frame, Hold, Joint, Line, Pattern

CUT_TO_MM = {"metric": 5.0, "imperial": 25.4 / 4}  # strips are cut to the next multiple of this


class Role(StrEnum):
    """What a part is for."""

    STRIP = "strip"
    LINE = "line"
    RAIL = "rail"
    BASE = "base"
    SKIRT = "skirt"
    BACKING = "backing"


_JOINTED = (Role.STRIP, Role.RAIL)


class Block(NamedTuple):
    """A piece: length along its own grain. [mm]"""

    length_mm: float
    width_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """Strips of one width and species for the first glue-up; ``rip_width_mm`` is the board that gives them all."""

    species: str
    count: int
    width_mm: float
    length_mm: float
    rip_width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Crosscuts:
    """Bars cut from the first glue-up, and the length they need.

    ``length_needed_mm`` counts every square, kerf, spare, dressing, squaring and end trim; ``length_allowed_mm`` is
    what the strips are cut to; ``spare_mm`` is the difference.
    """

    count: int
    cuts: int
    width_mm: float
    end_width_mm: float  # of the first and last bar, which carry a floating field's tongue
    kerf_mm: float
    spare_bars: int
    length_needed_mm: float
    length_allowed_mm: float

    @property
    def spare_mm(self) -> float:
        """Length left over. [mm]"""
        return self.length_allowed_mm - self.length_needed_mm


class Part(NamedTuple):
    """Equal pieces of one board. ``species`` is a sheet material for the base."""

    id: str
    role: Role
    species: str
    count: int  # type: ignore[assignment]  # hides the method of tuples, which nothing asks for
    rough: Block
    final: Block


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """The cuts of one board."""

    pattern: Pattern
    strips: tuple[Strip, ...]
    crosscuts: Crosscuts
    panel: Rect  # the first glue-up as it goes to the crosscut
    panel_thickness_mm: float
    overhang_mm: float  # trimmed off each end of a shifted field
    parts: tuple[Part, ...]
    advice: tuple[Advice, ...]

    @property
    def strip_count(self) -> int:
        """Strips of the first glue-up."""
        return sum(strip.count for strip in self.strips)


def plan_cuts(
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    geometry: Geometry,
    machines: Machines,
    lumber: Mapping[str, Lumber],
    units: str,
) -> Cutting:
    """Cuts and parts of one board.

    Parameters
    ----------
    field, frame, base, geometry
        What is to be made, and its sizes laid out.
    machines, lumber, units
        The shop's: what it cuts with, from which boards, and by which rule.

    References
    ----------
    TRADE-STRIP: L = N (s + d) + spare (s + d) + cuts x kerf + squaring + end allowance.
    """
    tongue_mm = edge_tongue_mm(field.lines, geometry)
    crosscuts = crosscut(field, machines, tongue_mm, units)
    strips = tuple(_strips(field, machines, tongue_mm, crosscuts.length_allowed_mm))
    width_mm = side_by_side_mm(tuple(s.count for s in strips), tuple(s.width_mm for s in strips))
    # The second flattening is still to come when the panel is crosscut.
    thickness_mm = enlarged_mm(field.thickness_mm, 1, machines.flattening_mm)
    parts = tuple(_parts(field, base, machines, geometry, strips))
    return Cutting(
        pattern=field.pattern,
        strips=strips,
        crosscuts=crosscuts,
        panel=Rect(length_mm=crosscuts.length_allowed_mm, width_mm=width_mm),
        panel_thickness_mm=thickness_mm,
        overhang_mm=field.square_mm if field.pattern is Pattern.SHIFT else 0.0,
        parts=parts,
        advice=(*_advice(frame, machines, width_mm, crosscuts, parts), *_wider_than_boards(lumber, parts)),
    )


def edge_tongue_mm(lines: tuple[Line, ...], geometry: Geometry) -> float:
    """Tongue cut on the edge squares; where there are lines, the outermost line carries it instead. [mm]"""
    return 0.0 if lines else geometry.seat.added_mm


def length_needed_mm(
    *,
    squares: int,
    square_mm: float,
    kerf_mm: float,
    spare: int,
    dressing_mm: float,
    squaring_mm: float,
    ends_mm: float,
    tongue_mm: float = 0.0,
) -> float:
    """Length of strip that so many bars need.

    Parameters
    ----------
    squares, spare
        Bars wanted and bars to spare.
    square_mm
        Finished width of a bar. [mm]
    kerf_mm
        Of the crosscut blade, charged once per bar. [mm]
    dressing_mm
        Taken off a bar's width when its edges are dressed. [mm]
    squaring_mm
        To square the first end, its own cut included. [mm]
    ends_mm
        Trim for snipe, both ends together. [mm]
    tongue_mm
        By which the two end bars are wider, and every spare bar that may have to stand in for one. [mm]

    Returns
    -------
    float
        [mm]

    References
    ----------
    TRADE-STRIP; 8 squares of 57.15, one spare, kerf 3.2, dressing 0.8, squaring 15, ends 25: 590.35 mm (B03).

    Examples
    --------
    >>> round(length_needed_mm(squares=8, square_mm=57.15, kerf_mm=3.2, spare=1, dressing_mm=0.8, squaring_mm=15,
    ...                        ends_mm=25), 2)
    590.35
    """
    bars = squares + spare
    return bars * (square_mm + dressing_mm) + bars * kerf_mm + squaring_mm + ends_mm + (2 + spare) * tongue_mm


def rip_width_mm(*, strips: int, width_mm: float, kerf_mm: float, jointing_mm: float) -> float:
    """Width of board that so many strips need, both edges jointed first. [mm]

    Parameters
    ----------
    strips
        Number of strips.
    width_mm
        Of one. [mm]
    kerf_mm
        Of the rip blade, charged once per strip. [mm]
    jointing_mm
        Taken off each edge. [mm]

    References
    ----------
    TRADE-STRIP: n (s + k) + 2 x jointing. Four of 50.8 with 3.175: 215.9 mm (B07).
    """
    return strips * (width_mm + kerf_mm) + 2 * jointing_mm


def bar_width_mm(square_mm: float, dressing_mm: float, tongue_mm: float) -> float:
    """Width at which a bar is cut. [mm]

    Parameters
    ----------
    square_mm
        Finished. [mm]
    dressing_mm
        Taken off its width when its edges are dressed. [mm]
    tongue_mm
        That an end bar of a floating field carries, else 0. [mm]

    References
    ----------
    TRADE-STRIP: s + d.
    """
    return square_mm + dressing_mm + tongue_mm


def side_by_side_mm(counts: tuple[int, ...], widths_mm: tuple[float, ...]) -> float:
    """Width of strips glued side by side. [mm]

    Parameters
    ----------
    counts
        Strips of each width.
    widths_mm
        As many widths. [mm]

    References
    ----------
    House: geometry.
    """
    return sum(count * width_mm for count, width_mm in zip(counts, widths_mm, strict=True))


def crosscut(field: BoardField, machines: Machines, tongue_mm: float, units: str) -> Crosscuts:
    """The crosscuts of one board; the two end bars are ``tongue_mm`` [mm] wider where they carry a tongue."""
    needed_mm = length_needed_mm(**lengths_along(field, machines, tongue_mm))
    return Crosscuts(
        count=field.rows,
        cuts=field.rows + machines.spare_bars,
        width_mm=bar_width_mm(field.square_mm, machines.dressing_mm, 0.0),
        end_width_mm=bar_width_mm(field.square_mm, machines.dressing_mm, tongue_mm),
        kerf_mm=machines.kerf_crosscut_mm,
        spare_bars=machines.spare_bars,
        length_needed_mm=needed_mm,
        length_allowed_mm=round_up(needed_mm, CUT_TO_MM[units]),
    )


def lengths_along(field: BoardField, machines: Machines, tongue_mm: float) -> dict[str, Any]:
    """What ``length_needed_mm`` takes, of bars whose outer ones carry ``tongue_mm`` [mm]."""
    return {
        "squares": field.rows,
        "square_mm": field.square_mm,
        "kerf_mm": machines.kerf_crosscut_mm,
        "spare": machines.spare_bars,
        "dressing_mm": machines.dressing_mm,
        "squaring_mm": machines.squaring_mm,
        "ends_mm": machines.end_trim_mm,
        "tongue_mm": tongue_mm,
    }


def _strips(field: BoardField, machines: Machines, tongue_mm: float, length_mm: float) -> Iterator[Strip]:
    """Strips by species, the two outer ones wider where they carry a tongue. Light first, from the left."""
    total = field.columns + (1 if field.pattern is Pattern.SHIFT else 0)
    last = total - 1
    counts = {field.light: total - total // 2, field.dark: total // 2}
    if tongue_mm:
        edges = {field.light: 1 + (last % 2 == 0), field.dark: int(last % 2 == 1)}
    else:
        edges = {field.light: 0, field.dark: 0}
    for species in (field.light, field.dark):
        inner = counts[species] - edges[species]
        if inner:
            yield _strip(species, inner, field.square_mm, length_mm, machines)
        if edges[species]:
            yield _strip(species, edges[species], field.square_mm + tongue_mm, length_mm, machines)


def _strip(species: str, count: int, width_mm: float, length_mm: float, machines: Machines) -> Strip:
    board_mm = rip_width_mm(
        strips=count, width_mm=width_mm, kerf_mm=machines.kerf_rip_mm, jointing_mm=machines.jointing_edge_mm
    )
    return Strip(species=species, count=count, width_mm=width_mm, length_mm=length_mm, rip_width_mm=board_mm)


def _parts(
    field: BoardField, base: Base | None, machines: Machines, geometry: Geometry, strips: tuple[Strip, ...]
) -> Iterator[Part]:
    for number, strip in enumerate(strips, start=1):
        # Strips stay this thick until the panel is flattened after each glue-up.
        thickness_mm = enlarged_mm(field.thickness_mm, 2, machines.flattening_mm)
        final = Block(strip.length_mm, strip.width_mm, thickness_mm)
        yield _sawn(f"S{number}", Role.STRIP, strip.species, strip.count, final, machines)
    yield from _line_parts(field, machines, geometry)
    for number, rail in enumerate(geometry.rails, start=1):
        final = Block(rail.long_point_mm, rail.width_mm, rail.thickness_mm)
        yield _sawn(f"R{number}", Role.RAIL, rail.species, rail.count, final, machines)
    yield from _base_parts(base, machines, geometry)


def _sawn(name: str, role: Role, species: str, count: int, final: Block, machines: Machines) -> Part:
    rough = Block(
        enlarged_mm(final.length_mm, 1, machines.rough_length_mm),
        enlarged_mm(final.width_mm, *edge_allowance(role, machines)),
        machines.rough_thickness_mm(final.thickness_mm),
    )
    return Part(id=name, role=role, species=species, count=count, rough=rough, final=final)


def edge_allowance(role: Role, machines: Machines) -> tuple[int, float]:
    """How many edges of a part are worked on, and what is taken off each. [mm]"""
    return (2, machines.jointing_edge_mm) if role is Role.STRIP else (1, machines.rough_width_mm)


def _line_parts(field: BoardField, machines: Machines, geometry: Geometry) -> Iterator[Part]:
    """Two pairs of mitred lines per band, inside out; the outermost carries the tongue of a floating field."""
    edge = geometry.field
    last = len(field.lines)
    for number, line in enumerate(field.lines, start=1):
        edge = grow(edge, line.width_mm)
        tongue_mm = geometry.seat.added_mm if number == last else 0.0
        for side, length_mm in (("a", edge.length_mm), ("b", edge.width_mm)):
            final = Block(length_mm + 2 * tongue_mm, line.width_mm + tongue_mm, field.thickness_mm)
            yield _sawn(f"L{number}{side}", Role.LINE, line.species, 2, final, machines)


def _base_parts(base: Base | None, machines: Machines, geometry: Geometry) -> Iterator[Part]:
    panel = geometry.base
    if base is None or panel is None:
        return
    final = Block(panel.panel.length_mm, panel.panel.width_mm, base.thickness_mm)
    kerf = machines.kerf_rip_mm
    rough = Block(enlarged_mm(final.length_mm, 1, kerf), enlarged_mm(final.width_mm, 1, kerf), base.thickness_mm)
    yield Part(id="B1", role=Role.BASE, species=base.material, count=1, rough=rough, final=final)
    if base.skirt:
        for side, length_mm in (("a", panel.outside.length_mm), ("b", panel.outside.width_mm)):
            final = Block(length_mm, base.thickness_mm, base.skirt.width_mm)
            yield _sawn(f"K1{side}", Role.SKIRT, base.skirt.species, 2, final, machines)
    if base.backing:
        # Glued up of strips like the field; sizes are of the whole panel.
        final = Block(panel.outside.length_mm, panel.outside.width_mm, base.backing.thickness_mm)
        yield _sawn("C1", Role.BACKING, base.backing.species, 1, final, machines)


def _advice(
    frame: Frame | None, machines: Machines, panel_mm: float, crosscuts: Crosscuts, parts: tuple[Part, ...]
) -> Iterator[Advice]:
    if panel_mm > machines.crosscut_capacity_mm:
        yield workshop_advice(
            "crosscut-capacity",
            ("cutting", "crosscuts"),
            f"The first glue-up is {panel_mm:.0f} mm wide; the crosscut passes {machines.crosscut_capacity_mm:.0f} mm. "
            "Crosscut it on a sled, or glue and cut it in two halves.",
        )
    if panel_mm > machines.thicknesser_width_mm:
        yield workshop_advice(
            "thicknesser-width",
            ("cutting", "strips"),
            f"The first glue-up is {panel_mm:.0f} mm wide; the thicknesser takes "
            f"{machines.thicknesser_width_mm:.0f} mm. Flatten it with a drum sander, a router sled or by hand.",
        )
    if crosscuts.length_allowed_mm < machines.thicknesser_min_length_mm:
        yield workshop_advice(
            "short-strips",
            ("cutting", "strips"),
            f"Strips of {crosscuts.length_allowed_mm:.0f} mm are shorter than the thicknesser's safe "
            f"{machines.thicknesser_min_length_mm:.0f} mm. Plane longer boards first and cut to length after.",
            severity=Severity.WARNING,
        )
    yield from _part_advice(machines, parts)
    if frame and frame.joint is Joint.BUTT and frame.hold is Hold.FLOATING:
        yield workshop_advice(
            "butt-corners",
            ("cutting", "parts"),
            "Butt corners of a floating frame have only end grain to glue. Add a stub tenon in the groove, or dowels.",
            severity=Severity.CAUTION,
        )


def _wider_than_boards(lumber: Mapping[str, Lumber], parts: tuple[Part, ...]) -> Iterator[Advice]:
    for part in parts:
        widest_mm = lumber[part.species].board_width.high_mm if part.role is not Role.BASE else math.inf
        if part.rough.width_mm > widest_mm:
            yield workshop_advice(
                "wider-than-boards",
                ("cutting", "parts"),
                f"{part.id}: {part.rough.width_mm:.0f} mm wide, the boards of {part.species} go to {widest_mm:.0f} mm. "
                f"Glue it up from {math.ceil(part.rough.width_mm / widest_mm)} pieces or more.",
                severity=Severity.CAUTION,
            )


def _part_advice(machines: Machines, parts: tuple[Part, ...]) -> Iterator[Advice]:
    short = [p.id for p in parts if p.role in _JOINTED and p.rough.length_mm < machines.jointer_min_length_mm]
    if short:
        yield workshop_advice(
            "short-for-jointer",
            ("cutting", "parts"),
            f"{', '.join(short)}: shorter than the jointer's safe {machines.jointer_min_length_mm:.0f} mm. Joint "
            "longer boards and cut to length after, or sand instead.",
            severity=Severity.WARNING,
            source="HSE-PLANER",
        )
    wide = [p.id for p in parts if p.role in _JOINTED and p.rough.width_mm > machines.jointer_width_mm]
    if wide:
        yield workshop_advice(
            "wide-for-jointer",
            ("cutting", "parts"),
            f"{', '.join(wide)}: wider than the jointer's {machines.jointer_width_mm:.0f} mm. Rip before flattening.",
        )
    least_mm = machines.thicknesser_min_thickness_mm
    thin = [p.id for p in parts if p.role is not Role.BASE and p.final.thickness_mm < least_mm]
    if thin:
        yield workshop_advice(
            "thin-for-thicknesser",
            ("cutting", "parts"),
            f"{', '.join(thin)}: thinner than the thicknesser's {least_mm:.1f} mm. Plane them "
            "on a carrier board, or sand to thickness.",
            severity=Severity.CAUTION,
        )
