"""Sanding ladder and finish coats: which grades, how much, how long to wait."""

from dataclasses import dataclass
from functools import lru_cache

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.arithmetic import times
from chequerwork.domain.basics.facts import Abrasive, Finish, Tables
from chequerwork.domain.basics.shop import Climate, Consumables
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.order.order import Surface

FIRST_GRADE = "P80"  # takes out saw and planer marks (trade ladders start at 80 to 120)
RATIO_MOST = 1.7  # of particle sizes between two steps; 1.3 to 1.7 sensible, to 2.0 accepted (from memory)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """One step of a ladder; ``ratio`` is the size of the grade before over this one, None for the first."""

    grade: str
    particle_um: float
    ratio: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """One coat on one board. ``wait_h`` is the wait after it: to the next coat, or after the last to handling."""

    number: int
    finish_ml: float
    sand_before: str | None
    wait_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finishing:
    """Finishing of one board; ``finish_ml`` has the shop's waste in it."""

    finish: str
    top: tuple[Grade, ...]
    underside: tuple[Grade, ...]
    area_m2: float
    sanded_m2: float  # area times grades, both faces with their edges
    coats: tuple[Coat, ...]
    finish_ml: float
    handle_h: float
    cure_days: float
    coats_per_day: int
    advice: tuple[Advice, ...]


def plan_finish(
    surface: Surface, geometry: Geometry, consumables: Consumables, room: Climate, tables: Tables
) -> Finishing:
    """Ladders, coats and amounts for one board, finished in the workshop's ``room``.

    References
    ----------
    TRADE-GRIT (size-ratio rule) and TRADE-FINISH (coverage per class). A board of 558.8 x 558.8 x 22 mm has 0.674 m2.
    """
    finish = tables.finishes[surface.finish]
    top = ladder(tables, surface.sand_top)
    underside = ladder(tables, surface.sand_underside)
    length_mm, width_mm, edge_mm = geometry.overall.length_mm, geometry.overall.width_mm, outer_edge_mm(geometry)
    area_m2 = surface_m2(length_mm, width_mm, edge_mm)
    one_coat_ml = coat_ml(area_m2, finish.coverage_m2_l, consumables.finish_waste_pct)
    return Finishing(
        finish=surface.finish,
        top=top,
        underside=underside,
        area_m2=area_m2,
        sanded_m2=sanded_m2(length_mm, width_mm, edge_mm, len(top), len(underside)),
        coats=_coats(finish, one_coat_ml),
        finish_ml=times(one_coat_ml, finish.coats),
        handle_h=finish.handle_h,
        cure_days=finish.cure_days,
        coats_per_day=finish.coats_per_day,
        advice=_advice(surface.sand_top, room, tables, finish),
    )


def surface_m2(length_mm: float, width_mm: float, edge_mm: float) -> float:
    """Both faces and all four edges of a board. [m2]

    Parameters
    ----------
    length_mm, width_mm
        Outside. [mm]
    edge_mm
        Height of the edge. [mm]

    References
    ----------
    TRADE-FINISH: 558.8 x 558.8 x 22 mm: 0.674 m2 (G03).
    """
    return (2 * length_mm * width_mm + 2 * (length_mm + width_mm) * edge_mm) * 1e-6


def sanded_m2(length_mm: float, width_mm: float, edge_mm: float, top_grades: int, underside_grades: int) -> float:
    """Area times grades: top and edges with every grade of the top, the underside with its own. [m2]

    Parameters
    ----------
    length_mm, width_mm
        Outside. [mm]
    edge_mm
        Height of the edge. [mm]
    top_grades, underside_grades
        Number of grades.

    References
    ----------
    House: edges are sanded like the top.
    """
    face_m2 = length_mm * width_mm * 1e-6
    edge_m2 = 2 * (length_mm + width_mm) * edge_mm * 1e-6
    return (face_m2 + edge_m2) * top_grades + face_m2 * underside_grades


def coat_ml(area_m2: float, coverage_m2_l: float, waste_pct: float) -> float:
    """Finish for one coat of one board. [ml]

    Parameters
    ----------
    area_m2
        Of the board. [m2]
    coverage_m2_l
        What a litre covers in one coat. [m2/l]
    waste_pct
        What stays in cloth, brush and tin. [%]

    References
    ----------
    TRADE-FINISH: three coats on 0.674 m2 at 12 m2/l with 25 % waste: 0.21 l (G04).
    """
    return area_m2 / coverage_m2_l * 1000 * (1 + waste_pct / 100)


def size_ratio(before_um: float, after_um: float) -> float:
    """How much coarser one grade is than the next.

    Parameters
    ----------
    before_um, after_um
        Mean sizes of the grains. [um]

    References
    ----------
    TRADE-GRIT: P80 to P120: 1.61 (A01).
    """
    return before_um / after_um


def outer_edge_mm(geometry: Geometry) -> float:
    """Height of the outer edge that is sanded and finished. [mm]"""
    return geometry.rails[0].thickness_mm if geometry.rails else geometry.thickness_mm


@lru_cache(maxsize=128)
def ladder(tables: Tables, last: str, *, first: str = FIRST_GRADE, most: float = RATIO_MOST) -> tuple[Grade, ...]:
    """Grades from the first to the last in the fewest steps, no step's size ratio above ``most``.

    Each step takes the finest grade still within the ratio. Where the next grade of the series is already farther
    than that, it is taken: the series has none between. A last grade coarser than the first is the whole ladder.

    Parameters
    ----------
    tables
        Holds the grades and their customary mean sizes.
    last, first
        Names of grades, such as P220.
    most
        Largest ratio of sizes between two steps. More than 1.

    Returns
    -------
    tuple of Grade
        Coarse to fine.

    References
    ----------
    TRADE-GRIT; P80 to P220 at 1.7 gives P80, P120, P180, P220 (A06).
    """
    end_um = tables.abrasives[last].particle_um
    now = tables.abrasives[first]
    if end_um >= now.particle_um:
        return (Grade(grade=last, particle_um=end_um, ratio=None),)
    steps = [Grade(grade=now.grade, particle_um=now.particle_um, ratio=None)]
    finer = [a for a in tables.abrasives.values() if end_um <= a.particle_um]  # the table runs from coarse to fine
    while now.particle_um > end_um:
        finer = [a for a in finer if a.particle_um < now.particle_um]
        within = [a for a in finer if now.particle_um / a.particle_um <= most]
        chosen: Abrasive = within[-1] if within else finer[0]
        ratio = size_ratio(now.particle_um, chosen.particle_um)
        steps.append(Grade(grade=chosen.grade, particle_um=chosen.particle_um, ratio=ratio))
        now = chosen
    return tuple(steps)


def _coats(finish: Finish, each_ml: float) -> tuple[Coat, ...]:
    return tuple(
        Coat(
            number=number,
            finish_ml=each_ml,
            sand_before=finish.between_coats if number > 1 else None,
            wait_h=finish.recoat_h if number < finish.coats else finish.handle_h,
        )
        for number in range(1, finish.coats + 1)
    )


def _advice(sand_top: str, room: Climate, tables: Tables, finish: Finish) -> tuple[Advice, ...]:
    found: list[Advice] = []
    last_um = tables.abrasives[sand_top].particle_um
    coarse_um = tables.abrasives[finish.stop_grade_low].particle_um
    fine_um = tables.abrasives[finish.stop_grade_high].particle_um
    if not fine_um <= last_um <= coarse_um:
        word = "finer" if last_um < fine_um else "coarser"
        found.append(
            Advice(
                code="last-grade",
                severity=Severity.CAUTION,
                at=("order", "sanding", "top"),
                text=f"{sand_top} is {word} than {finish.name} wants on bare wood: {finish.stop_grade_low} to "
                f"{finish.stop_grade_high}.",
                source=finish.source,
            )
        )
    if room.temperature_c < finish.min_temperature_c:
        found.append(
            Advice(
                code="cold-for-finish",
                severity=Severity.WARNING,
                at=("finishing", "coats"),
                text=f"The workshop has {room.temperature_c:g} degC; {finish.name} needs at least "
                f"{finish.min_temperature_c:g} degC.",
                source=finish.source,
                audience=Audience.WORKSHOP,
            )
        )
    return tuple(found)
