"""What is glued: each glue-up of one board with its adhesive, pressure and clamps."""

import math
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from typing import NamedTuple

from chequerwork.domain.basics.arithmetic import times, total
from chequerwork.domain.basics.facts import Adhesive, Species, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.geometry import Geometry, base_is_glued
from chequerwork.domain.making.cutting import Cutting, Part, Role
from chequerwork.domain.order.order import Base, BoardField, Frame, Hold, Joint

END_GRAIN_SPREAD = 2.0  # an end-grain joint drinks about twice the spread (Wood Handbook ch. 10 sizes it first)
OPEN_JOINTS_PER_MIN = 0.6  # joints one person closes per minute of open time with a brush (common practice)
# Clamps stand 8 to 12 in apart, the first 1.5 to 2 in from the end (GLUE-GUIDE); the middle of both.
CLAMP_SPACING_MM, CLAMP_END_MM = 250.0, 45.0


class GlueStage(StrEnum):
    """What is glued at once."""

    STRIPS = "strips"
    BARS = "bars"
    LINES = "lines"
    FRAME = "frame"
    CORNERS = "corners"
    BASE = "base"


_END_GRAIN = frozenset({GlueStage.BARS, GlueStage.CORNERS})


class Run(NamedTuple):
    """Equal or nearly equal joints side by side that one row of clamps presses, each with the full force.

    ``length_mm`` and ``width_mm`` are of the longest: the glued face, its width the thickness of the wood in an edge
    joint. ``area_mm2`` is of all.
    """

    joints: int
    length_mm: float
    width_mm: float
    area_mm2: float


class Bond(NamedTuple):
    """The joints of one glue-up and the timbers that meet there."""

    stage: GlueStage
    species: tuple[str, ...]  # one may come twice
    runs: tuple[Run, ...]

    @property
    def end_grain(self) -> bool:
        """Whether end grain is glued, which drinks adhesive; a mitre counts as such."""
        return self.stage in _END_GRAIN

    @property
    def area_mm2(self) -> float:
        """Of all joints. [mm2]"""
        return total(tuple([run.area_mm2 for run in self.runs]))


class GlueUp(NamedTuple):
    """One glue-up of one board.

    Sizes, pressure and force are of the longest joint; joints side by side share its clamps. ``adhesive_g`` is of
    all joints, waste included; ``open_joints`` is how many one person closes within the adhesive's open time.
    """

    stage: GlueStage
    joints: int
    length_mm: float
    width_mm: float
    area_m2: float
    end_grain: bool
    spread_g_m2: float
    adhesive_g: float
    pressure_mpa: float
    force_n: float
    clamps: int
    open_joints: int
    preparation: tuple[str, ...]


def glue_ups(bonds: Iterable[Bond], shop: Shop, tables: Tables) -> tuple[GlueUp, ...]:
    """Every glue-up of one board, in the order of the build."""
    return tuple([_glue_up(bond, shop, tables) for bond in bonds])


def bonds_of(
    field: BoardField, frame: Frame | None, base: Base | None, geometry: Geometry, cutting: Cutting
) -> tuple[Bond, ...]:
    """What is glued to what in one board: strips, bars, lines, frame, its corners, base."""
    return tuple(_bonds(field, frame, base, geometry, cutting))


def _bonds(
    field: BoardField, frame: Frame | None, base: Base | None, geometry: Geometry, cutting: Cutting
) -> Iterator[Bond]:
    squares = (field.light, field.dark)
    thickness_mm, panel = cutting.panel_thickness_mm, cutting.panel
    strips = sum(strip.count for strip in cutting.strips)
    if strips > 1:
        yield Bond(GlueStage.STRIPS, squares, (_equal(strips - 1, panel.length_mm, thickness_mm),))
    if field.rows > 1:
        yield Bond(GlueStage.BARS, squares, (_equal(field.rows - 1, panel.width_mm, thickness_mm),))
    lines = [part for part in cutting.parts if part.role is Role.LINE]
    if lines:
        yield Bond(GlueStage.LINES, (*squares, *(line.species for line in lines)), _ring(lines))
    if frame:
        if frame.hold is Hold.GLUED:
            edge = (field.lines[-1].species,) if field.lines else squares
            # A rail touches the field along the opening, not out to its points, and as high as both are.
            high_mm = min(field.thickness_mm, frame.thickness_mm)
            sides_mm = (geometry.opening.length_mm, geometry.opening.width_mm)
            yield Bond(
                GlueStage.FRAME, (*edge, frame.species), tuple(_equal(2, side_mm, high_mm) for side_mm in sides_mm)
            )
        # Corners do not press each other: each has its own clamps.
        width_mm = frame.width_mm
        along_mm = mitre_length_mm(width_mm) if frame.joint is Joint.MITRE else width_mm
        corner = _equal(1, along_mm, frame.thickness_mm)
        yield Bond(GlueStage.CORNERS, (frame.species,), (corner,) * 4)
    if base and base_is_glued(frame, base):
        backing = base.backing
        timbers = (*squares, backing.species) if backing else squares
        face = _equal(2 if backing else 1, geometry.inner.length_mm, geometry.inner.width_mm)
        yield Bond(GlueStage.BASE, timbers, (face,))


def bond_g(bond: Bond, adhesive: Adhesive, waste_pct: float) -> float:
    """Adhesive of one glue-up, waste included. [g]"""
    return glue_g(area_mm2=bond.area_mm2, spread_g_m2=bond_spread_g_m2(bond, adhesive), waste_pct=waste_pct)


def bond_spread_g_m2(bond: Bond, adhesive: Adhesive) -> float:
    """Spread of one glue-up: the adhesive's own, twice that on end grain. [g/m2]"""
    return times(adhesive.spread_g_m2, END_GRAIN_SPREAD) if bond.end_grain else adhesive.spread_g_m2


def glue_g(*, area_mm2: float, spread_g_m2: float, waste_pct: float) -> float:
    """Adhesive for joints of one kind. [g]

    Parameters
    ----------
    area_mm2
        Of all joints. [mm2]
    spread_g_m2
        Of the adhesive, twice the usual on end grain. [g/m2]
    waste_pct
        What stays in the pot and drips. [%]

    References
    ----------
    TRADE-GLUE: 7 edge joints 482.6 x 20.6 at 200 g/m2 and 7 end-grain joints 457.2 x 20.6 at 400: 40.3 g (G06).
    """
    return area_mm2 * 1e-6 * spread_g_m2 * (1 + waste_pct / 100)


def joints_mm2(joints: int, length_mm: float, width_mm: float) -> float:
    """Area of equal joints. [mm2]

    Parameters
    ----------
    joints
        How many.
    length_mm, width_mm
        Of one glued face. [mm]

    References
    ----------
    House: geometry.
    """
    return joints * length_mm * width_mm


def mitre_length_mm(width_mm: float) -> float:
    """Length of the joint across a mitred corner. [mm]

    Parameters
    ----------
    width_mm
        Of the rail. [mm]

    References
    ----------
    House: geometry of 45 deg.
    """
    return width_mm * math.sqrt(2)


def joint_pressure_mpa(densest_kg_m3: float, adhesive: Adhesive, tables: Tables) -> float:
    """Clamp pressure on a joint: the middle of the span for its density, held inside the adhesive's own. [MPa]

    Of two timbers that meet the denser decides: it needs more, and the other one bears it.

    References
    ----------
    GLUE-GUIDE and WH10-10 for the spans; each adhesive's row names the source of its own.
    """
    known = tables.pressure(densest_kg_m3)
    return min(max((known.low_mpa + known.high_mpa) / 2, adhesive.pressure_low_mpa), adhesive.pressure_high_mpa)


def joint_force_n(pressure_mpa: float, length_mm: float, width_mm: float) -> float:
    """Force that presses one joint. [N] It passes every joint of a panel: they do not add up.

    Parameters
    ----------
    pressure_mpa
        On the glued face. [MPa]
    length_mm, width_mm
        Of the glued face; its width is the thickness of the wood in an edge joint. [mm]

    References
    ----------
    TRADE-GLUE: force = pressure x area of one joint; 482.6 x 20.6 mm at 1.379 MPa: 13.7 kN (G07). The wood notes have
    400 x 20 mm at 1.2 MPa: 9600 N.
    """
    return pressure_mpa * length_mm * width_mm


def clamp_count(force_n: float, clamp_force_n: float, length_mm: float) -> int:
    """Clamps along one joint: enough for its force, and none too far from the next.

    Parameters
    ----------
    force_n
        Of the joint. [N]
    clamp_force_n
        Of one clamp. [N] More than 0.
    length_mm
        Of the joint. [mm]

    References
    ----------
    GLUE-GUIDE: 8 to 12 in apart, the first 1.5 to 2 in from the end, here 250 and 45 mm. TRADE-GLUE: 13.7 kN by clamps
    of 4.5 kN on 482.6 mm takes four (G08).
    """
    by_spacing = 1 + max(0, math.ceil((length_mm - 2 * CLAMP_END_MM) / CLAMP_SPACING_MM - 1e-9))
    return max(math.ceil(force_n / clamp_force_n - 1e-9), by_spacing)


def open_joints(open_min: float) -> int:
    """Joints that one person closes with a brush within an adhesive's open time.

    Parameters
    ----------
    open_min
        Open time. [min]

    References
    ----------
    TRADE-GLUE: 5 to 10 min for about 3 to 4 joints (from memory).
    """
    return math.floor(open_min * OPEN_JOINTS_PER_MIN)


def _equal(joints: int, length_mm: float, width_mm: float) -> Run:
    return Run(joints, length_mm, width_mm, joints_mm2(joints, length_mm, width_mm))


def _ring(parts: Sequence[Part]) -> tuple[Run, ...]:
    """Joints around the field: pairs of parts take turns, one along its length, one across."""
    return tuple(_side(parts[start::2]) for start in (0, 1))


def _side(parts: Sequence[Part]) -> Run:
    """Joints that face the same way, so that one row of clamps presses all of them."""
    longest = max(parts, key=lambda part: part.final.length_mm).final
    return Run(
        sum(part.count for part in parts),
        longest.length_mm,
        longest.thickness_mm,
        total(tuple(joints_mm2(part.count, part.final.length_mm, part.final.thickness_mm) for part in parts)),
    )


def _glue_up(bond: Bond, shop: Shop, tables: Tables) -> GlueUp:
    adhesive = tables.adhesives[shop.consumables.adhesive]
    woods = [tables.species[key] for key in bond.species]
    pressure_mpa = joint_pressure_mpa(max([wood.density_kg_m3 for wood in woods]), adhesive, tables)
    forces_n = [joint_force_n(pressure_mpa, run.length_mm, run.width_mm) for run in bond.runs]
    longest = max(bond.runs, key=lambda run: run.length_mm)
    return GlueUp(
        stage=bond.stage,
        joints=sum([run.joints for run in bond.runs]),
        length_mm=longest.length_mm,
        width_mm=longest.width_mm,
        area_m2=bond.area_mm2 * 1e-6,
        end_grain=bond.end_grain,
        spread_g_m2=bond_spread_g_m2(bond, adhesive),
        adhesive_g=bond_g(bond, adhesive, shop.consumables.adhesive_waste_pct),
        pressure_mpa=pressure_mpa,
        force_n=max(forces_n),
        clamps=sum(
            [
                clamp_count(force_n, shop.machines.clamp_force_n, run.length_mm)
                for force_n, run in zip(forces_n, bond.runs, strict=True)
            ]
        ),
        open_joints=open_joints(adhesive.open_min),
        preparation=tuple(_preparation(bond, woods)),
    )


def _preparation(bond: Bond, woods: Sequence[Species]) -> Iterator[str]:
    if bond.end_grain:
        yield "Size the end grain first: a thin coat, a few minutes to soak in, then the full spread."
    oily = sorted({wood.name for wood in woods if wood.oily})
    if oily:
        yield f"Wipe the faces of {', '.join(oily)} with a solvent just before gluing."
    if bond.stage is GlueStage.BASE:
        yield "Glue the whole face at once, in a press or between stiff cauls."
