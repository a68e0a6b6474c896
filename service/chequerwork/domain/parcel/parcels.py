"""A parcel by itself: what is around the boards, the carton, its mass, and what the packing costs."""

import math
from decimal import Decimal

# A parcel is "flat" to the test houses below this shape (ISTA 3A): shortest side, next over shortest, volume.
FLAT_SHORTEST_MM, FLAT_RATIO, FLAT_VOLUME_MM3 = 8 * 25.4, 4.0, 800 * 25.4**3

WRAP_OVER = 1.25  # paper for overlaps and folds, to the surface of a board (common practice, no source)
TAPE_OVER_MM = 100.0  # tape that runs over the edges, 50 mm at each end of a strip (common practice, no source)


def parcels_needed(boards: int, boards_each: int) -> int:
    """Parcels of an order; the last may hold fewer boards.

    Parameters
    ----------
    boards
        1 or more.
    boards_each
        In a full parcel. 1 or more.

    References
    ----------
    House.
    """
    return -(-boards // boards_each)


def contents_side_mm(board_side_mm: float, boards: int, between_mm: float, around_mm: float) -> float:
    """Side of what lies in the cushioning: boards, what is between them, and protection on both sides. [mm]

    Parameters
    ----------
    board_side_mm
        Length, width or height of a board. [mm]
    boards
        That lie one on the other along this side; 1 for length and width.
    between_mm
        Between two of them. [mm]
    around_mm
        Corner and edge protection, or a face sheet. [mm]

    References
    ----------
    House: thicknesses add; cushioning is not counted as protection.
    """
    return boards * board_side_mm + (boards - 1) * between_mm + 2 * around_mm


def carton_side_mm(board_side_mm: float, clearance_mm: float, wall_mm: float) -> float:
    """Outer side of a carton: the board, cushioning and wall on both sides. [mm]

    Parameters
    ----------
    board_side_mm
        Length, width or height of the board, or of boards with what protects them. [mm]
    clearance_mm
        Cushioning on every side. [mm]
    wall_mm
        Thickness of the carton. [mm]

    References
    ----------
    TRADE-PACK; check value K01.
    """
    return board_side_mm + 2 * (clearance_mm + wall_mm)


def carton_area_m2(sides_mm: tuple[float, float, float]) -> float:
    """Board in a regular slotted carton: four walls, and top and bottom doubled by the flaps. [m2]

    Parameters
    ----------
    sides_mm
        Outer length, width, height. [mm]

    References
    ----------
    House: flaps of a regular slotted box meet in the middle along one side, so lid and floor are double.
    """
    length, width, height = sides_mm
    return (2 * height * (length + width) + 4 * length * width) * 1e-6


def inside_mm(side_mm: float, wall_mm: float) -> float:
    """Inner side of a carton, by which it is ordered. [mm]

    Parameters
    ----------
    side_mm
        Outside. [mm]
    wall_mm
        Thickness of the carton. [mm]

    References
    ----------
    House: a wall on both sides.
    """
    return side_mm - 2 * wall_mm


def wrap_m2(board_mm: tuple[float, float, float]) -> float:
    """Wrapping of one board, one layer. [m2]

    Parameters
    ----------
    board_mm
        Length, width, height. [mm]

    References
    ----------
    House: the surface and a quarter more for overlaps and folds (common practice, no source).
    """
    length, width, height = board_mm
    return WRAP_OVER * 2 * (length * width + length * height + width * height) * 1e-6


def tape_mm(sides_mm: tuple[float, float, float]) -> float:
    """Tape of a carton closed along the seam and both ends, floor and lid. [mm]

    Parameters
    ----------
    sides_mm
        Outer length, width, height. [mm]

    References
    ----------
    House: each strip runs 50 mm over the edge at both ends (common practice, no source).
    """
    length, width, _ = sides_mm
    return 2 * (length + 2 * width + 3 * TAPE_OVER_MM)


def is_flat(sides_mm: tuple[float, float, float]) -> bool:
    """Whether test houses call the parcel flat, which adds tests of edge, face and point.

    Parameters
    ----------
    sides_mm
        Outer sides. [mm]

    References
    ----------
    ISTA-3A: shortest side up to 8 in, next at least four times that, volume at least 800 in3 (K06).
    """
    shortest, middle, _ = sorted(sides_mm)
    return shortest <= FLAT_SHORTEST_MM and middle >= FLAT_RATIO * shortest and math.prod(sides_mm) >= FLAT_VOLUME_MM3


def cushion_m3(sides_mm: tuple[float, float, float], wall_mm: float, board_mm: tuple[float, float, float]) -> float:
    """Room between the carton and the board. [m3]

    Parameters
    ----------
    sides_mm
        Outer length, width, height of the carton. [mm]
    wall_mm
        Thickness of the carton. [mm]
    board_mm
        Length, width, height of the board, or of boards with what protects them. [mm]

    References
    ----------
    House: all of it is filled.
    """
    length, width, height = sides_mm
    inside = (length - 2 * wall_mm) * (width - 2 * wall_mm) * (height - 2 * wall_mm)
    return (inside - math.prod(board_mm)) * 1e-9


def contents_kg(
    *,
    boards: int,
    board_kg: float,
    corners: int,
    corner_kg: float,
    face_m2: float,
    face_kg_m2: float,
    interleaf_m2: float,
    interleaf_kg_m2: float,
) -> float:
    """Mass of boards and what protects them, without cushioning. [kg]

    Parameters
    ----------
    boards, board_kg
        In the parcel, and the mass of one. [kg]
    corners, corner_kg
        Corner blocks, and the mass of one. [kg]
    face_m2, face_kg_m2
        Sheets on both faces, and their mass. [m2], [kg/m2]
    interleaf_m2, interleaf_kg_m2
        Sheets between boards, and their mass. [m2], [kg/m2]

    References
    ----------
    House: masses add.
    """
    return boards * board_kg + corners * corner_kg + face_m2 * face_kg_m2 + interleaf_m2 * interleaf_kg_m2


def parcel_kg(
    *, board_kg: float, carton_m2: float, carton_kg_m2: float, cushion_m3: float, cushion_kg_m3: float
) -> float:
    """Mass of a packed board. [kg]

    Parameters
    ----------
    board_kg
        Of the board, or of boards with what protects them. [kg]
    carton_m2, carton_kg_m2
        Board of the carton and its mass. [m2], [kg/m2]
    cushion_m3, cushion_kg_m3
        Cushioning and its density. [m3], [kg/m3]

    References
    ----------
    House: paper, tape and labels are not weighed.
    """
    return board_kg + carton_m2 * carton_kg_m2 + cushion_m3 * cushion_kg_m3


def packing_cost(carton_m2: float, carton_price_m2: Decimal, cushion_m3: float, cushion_price_m3: Decimal) -> Decimal:
    """Cost of carton and cushioning of one parcel, unrounded.

    Parameters
    ----------
    carton_m2, carton_price_m2
        Board of the carton, taken at six decimals, and its price. [m2], a square metre
    cushion_m3, cushion_price_m3
        Cushioning, taken at six decimals, and its price. [m3], a cubic metre

    References
    ----------
    House.
    """
    carton = Decimal(f"{carton_m2:.6f}") * carton_price_m2
    return carton + Decimal(f"{cushion_m3:.6f}") * cushion_price_m3


def protection_cost(
    *,
    corners: int,
    corner_price: Decimal,
    face_m2: float,
    face_price_m2: Decimal,
    interleaf_m2: float,
    interleaf_price_m2: Decimal,
    sundries_price: Decimal,
) -> Decimal:
    """Cost of what protects the boards of one parcel, unrounded.

    Parameters
    ----------
    corners, corner_price
        Corner blocks, and the price of one.
    face_m2, face_price_m2
        Sheets on both faces, taken at six decimals, and their price. [m2], a square metre
    interleaf_m2, interleaf_price_m2
        Sheets between boards, taken at six decimals, and their price. [m2], a square metre
    sundries_price
        Paper, tape and labels of a parcel.

    References
    ----------
    House.
    """
    faces = Decimal(f"{face_m2:.6f}") * face_price_m2
    between = Decimal(f"{interleaf_m2:.6f}") * interleaf_price_m2
    return corners * corner_price + faces + between + sundries_price
