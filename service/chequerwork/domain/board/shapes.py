"""Volumes and masses of plain shapes: blocks, borders, tongues, bevels."""

import math


def diagonal_mm(length_mm: float, width_mm: float) -> float:
    """Corner to corner of a rectangle. [mm]

    Parameters
    ----------
    length_mm, width_mm
        Sides. [mm]

    References
    ----------
    House: geometry.
    """
    return math.hypot(length_mm, width_mm)


def block_m3(count: int, length_mm: float, width_mm: float, thickness_mm: float) -> float:
    """Volume of equal blocks. [m3]

    Parameters
    ----------
    count
        Blocks.
    length_mm, width_mm, thickness_mm
        Of one. [mm]

    References
    ----------
    House: geometry.
    """
    return count * length_mm * width_mm * thickness_mm * 1e-9


def ring_m3(length_mm: float, width_mm: float, border_mm: float, thickness_mm: float) -> float:
    """Volume of a border around a rectangle: lines, rails, skirt. [m3]

    Parameters
    ----------
    length_mm, width_mm
        Of what it surrounds. [mm]
    border_mm
        Its width. [mm]
    thickness_mm
        Its thickness. [mm]

    References
    ----------
    House: geometry; four mitred or butted pieces fill the same ring.
    """
    outer_mm2 = (length_mm + 2 * border_mm) * (width_mm + 2 * border_mm)
    return (outer_mm2 - length_mm * width_mm) * thickness_mm * 1e-9


def edging_m3(length_mm: float, width_mm: float, deep_mm: float, high_mm: float) -> float:
    """Volume of a tongue or groove along four edges, its corners not counted. [m3]

    Parameters
    ----------
    length_mm, width_mm
        Of the rectangle. [mm]
    deep_mm, high_mm
        Of the tongue or groove. [mm]

    References
    ----------
    House: geometry.
    """
    return 2 * (length_mm + width_mm) * deep_mm * high_mm * 1e-9


def bevel_m3(length_mm: float, width_mm: float, bevel_mm: float) -> float:
    """Volume that a bevel of 45 deg takes off four edges. [m3]

    Parameters
    ----------
    length_mm, width_mm
        Of the board. [mm]
    bevel_mm
        Of the bevel, the same on both faces. [mm]

    References
    ----------
    House: geometry; half a square along each edge.
    """
    return (length_mm + width_mm) * bevel_mm**2 * 1e-9


def mass_kg(volume_m3: float, density_kg_m3: float) -> float:
    """Mass of a volume. [kg]

    Parameters
    ----------
    volume_m3
        [m3]
    density_kg_m3
        At 12 % moisture content for wood. [kg/m3]

    References
    ----------
    WOOD-NOTES section 8.
    """
    return volume_m3 * density_kg_m3
