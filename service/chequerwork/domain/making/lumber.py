"""Lumber for the whole order: volumes, thickness classes and board feet by the trade's rules."""

import math
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from chequerwork.domain.basics.amounts import money
from chequerwork.domain.basics.arithmetic import times, total
from chequerwork.domain.basics.facts import Tables, ThicknessClass
from chequerwork.domain.basics.shop import Lumber, Machines, Shop
from chequerwork.domain.board.shapes import block_m3, mass_kg
from chequerwork.domain.making.cutting import Cutting, Part, Role

BOARD_FOOT_M3 = 144 * 25.4**3 * 1e-9  # 0.002359737216 m3
FOOT2_M2 = (12 * 25.4) ** 2 * 1e-6


class TimberNeed(NamedTuple):
    """Lumber of one species for the whole order."""

    species: str
    net_m3: float
    gross_m3: float
    board_feet: float
    mass_kg: float
    cost: Decimal

    @property
    def gross_board_feet(self) -> float:
        """Gross volume in board feet, unrounded; ``board_feet`` is what the trade charges for it."""
        return volume_board_feet(self.gross_m3)


def surface_measure(*, width_in: float, length_ft: float) -> int:
    """Surface measure of one board: width in inches times length in feet over 12, to the nearest whole number.

    An exact half goes up; the trade takes halves alternately up and down, which one board cannot do.

    Parameters
    ----------
    width_in
        Fractions kept. [in]
    length_ft
        Whole feet, cut down. [ft]

    References
    ----------
    AHEC and NHLA tally rules: 6 1/4 in x 8 ft gives 4; 10 in x 13 ft gives 11.
    """
    return math.floor(width_in * math.floor(length_ft + 1e-9) / 12 + 0.5)


def board_feet(*, area_m2: float, nominal_in: float) -> int:
    """Board feet of a lot of lumber: its surface measure times the nominal thickness, thin stock charged as 1 in.

    Parameters
    ----------
    area_m2
        Face area of the lot. [m2]
    nominal_in
        Nominal thickness before surfacing. [in]

    References
    ----------
    AHEC and NHLA: SM to the nearest whole number, then times the thickness; under 1 in counts as 1 in. A half board
    foot of a thick lot is rounded up, and no lot is sold as less than one (both common practice, no source).
    """
    surface = max(1, math.floor(area_m2 / FOOT2_M2 + 0.5))
    return math.floor(surface * max(nominal_in, 1.0) + 0.5)


def thickness_class(rough_mm: float, lumber: Lumber, tables: Tables) -> ThicknessClass:
    """The thinnest class this shop buys that is at least ``rough_mm`` [mm] thick; the thickest where none is."""
    return _thinnest(rough_mm, offered_classes(lumber.classes, tables))


@lru_cache(maxsize=256)
def offered_classes(names: tuple[str, ...], tables: Tables) -> tuple[ThicknessClass, ...]:
    """Thickness classes of these names, thin to thick."""
    return tuple(c for c in tables.thickness_classes if c.name in names)


def _thinnest(rough_mm: float, offered: Sequence[ThicknessClass]) -> ThicknessClass:
    for each in offered:
        if each.rough_mm >= rough_mm - 1e-9:
            return each
    return offered[-1]


def pieces_per_thickness(class_mm: float, rough_mm: float, kerf_mm: float) -> int:
    """How many thin pieces one board's thickness gives when resawn; 1 where it is not worth a cut."""
    return max(1, math.floor((class_mm + kerf_mm) / (rough_mm + kerf_mm) + 1e-9))


def timber_of(cutting: Cutting, quantity: int, shop: Shop, tables: Tables) -> tuple[TimberNeed, ...]:
    """Lumber of every species for the whole order, in the order of the parts."""
    by_timber = parts_by_timber(cutting).items()
    return tuple(_one_timber(key, parts, quantity, shop, tables) for key, parts in by_timber)


def parts_by_timber(cutting: Cutting) -> dict[str, list[Part]]:
    """Parts of solid wood by species."""
    found: dict[str, list[Part]] = {}
    for part in cutting.parts:
        if part.role is not Role.BASE:
            found.setdefault(part.species, []).append(part)
    return found


def _one_timber(key: str, parts: Sequence[Part], quantity: int, shop: Shop, tables: Tables) -> TimberNeed:
    lumber, machines = shop.lumber[key], shop.machines
    offered = offered_classes(lumber.classes, tables)
    faces: dict[float, float] = {}  # by the thickness of the class
    for part in parts:
        board = _thinnest(part.rough.thickness_mm, offered)
        faces[board.rough_mm] = faces.get(board.rough_mm, 0.0) + part_face_mm2(part, board, machines)
    lots = [(rough_mm, lot_m2(face_mm2, quantity, lumber.yield_pct)) for rough_mm, face_mm2 in faces.items()]
    gross_m3 = total(tuple([lumber_m3(area_m2, rough_mm) for rough_mm, area_m2 in lots]))
    feet = sum([board_feet(area_m2=area_m2, nominal_in=rough_mm / 25.4) for rough_mm, area_m2 in lots])
    net_m3 = times(total(tuple([block_m3(part.count, *part.final) for part in parts])), quantity)
    return TimberNeed(
        species=key,
        net_m3=net_m3,
        gross_m3=gross_m3,
        board_feet=feet,
        mass_kg=mass_kg(net_m3, tables.species[key].density_kg_m3),
        cost=money(gross_m3, lumber.price_m3),
    )


def part_face_mm2(part: Part, board: ThicknessClass, machines: Machines) -> float:
    """Board face that the pieces of a part use. [mm2]"""
    return board_face_mm2(
        count=part.count,
        length_mm=part.rough.length_mm,
        width_mm=part.rough.width_mm,
        kerf_crosscut_mm=machines.kerf_crosscut_mm,
        kerf_rip_mm=machines.kerf_rip_mm,
        stacked=pieces_per_thickness(board.rough_mm, part.rough.thickness_mm, machines.kerf_rip_mm),
    )


def board_face_mm2(
    *, count: int, length_mm: float, width_mm: float, kerf_crosscut_mm: float, kerf_rip_mm: float, stacked: int
) -> float:
    """Board face that equal pieces use, one kerf charged to each cut. [mm2]

    Parameters
    ----------
    count
        Pieces.
    length_mm, width_mm
        Of a rough piece. [mm]
    kerf_crosscut_mm, kerf_rip_mm
        Of the saws. [mm]
    stacked
        Pieces that one thickness gives when resawn, else 1.

    References
    ----------
    TRADE-STRIP: one kerf for each piece.
    """
    return (length_mm + kerf_crosscut_mm) * (width_mm + kerf_rip_mm) * count / stacked


def lot_m2(face_mm2: float, boards: int, yield_pct: float) -> float:
    """Face of the lumber bought for the whole order. [m2]

    Parameters
    ----------
    face_mm2
        That the pieces of one game board use. [mm2]
    boards
        Game boards of the order.
    yield_pct
        Usable share of bought lumber. [%] More than 0.

    References
    ----------
    House: the maker's own yield.
    """
    return face_mm2 * (boards / (yield_pct / 100)) * 1e-6


def lumber_m3(area_m2: float, rough_mm: float) -> float:
    """Volume of a lot of lumber. [m3]

    Parameters
    ----------
    area_m2
        Its face. [m2]
    rough_mm
        Its thickness before surfacing. [mm]

    References
    ----------
    House: geometry.
    """
    return area_m2 * rough_mm * 1e-3


def volume_board_feet(volume_m3: float) -> float:
    """A volume in board feet, unrounded.

    Parameters
    ----------
    volume_m3
        [m3]

    References
    ----------
    AHEC: a board foot is 144 cubic inches, 0.002359737216 m3.
    """
    return volume_m3 / BOARD_FOOT_M3
