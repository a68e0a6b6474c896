"""Does the field hold by itself? What its end-grain joints bear when somebody leans on the board."""

import math

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.order.order import Base, BoardField, Frame

END_GRAIN_SHARE = 0.25  # strength of an end-grain butt joint over the wood's in tension along the grain (WH10-10)
RUPTURE_MPA, RUPTURE_POWER = 171.3, 1.13  # of hardwoods at 12 % moisture content (WH-5-11)
GRAVITY_DENSITY_KG_M3 = 1120.0  # density at 12 % moisture content of a wood of specific gravity 1 (WOOD-NOTES 8)
LEAN_N = 200.0  # a hand leaned on the middle of the board (common practice, no source)
THIN_MM = 12.0  # below it an unsupported field of end-grain joints is flagged (common practice, no source)
GRAVITY_N_KG = 9.80665  # standard gravity, exact by definition


def modulus_of_rupture_mpa(gravity: float) -> float:
    """Bending strength of a clear hardwood along its grain at 12 % moisture content. [MPa]

    Parameters
    ----------
    gravity
        Specific gravity, oven-dry mass over volume at 12 %. 0.3 to 1.1.

    References
    ----------
    WH-5-11: 171.3 G^1.13, from memory. Over 64 hardwoods of WH21-5-3b it is 1 % high in the mean; single timbers lie
    within about 16 % (WH-5-6), a few oaks farther.
    """
    return float(RUPTURE_MPA * gravity**RUPTURE_POWER)


def end_grain_strength_mpa(gravity: float) -> float:
    """Stress at which an end-grain butt joint opens. [MPa]

    Parameters
    ----------
    gravity
        Specific gravity of the weaker timber at 12 % moisture content. 0.3 to 1.1.

    References
    ----------
    WH10-10: a quarter of the tensile strength along the grain (B12). The modulus of rupture stands for that strength,
    a low estimate of it (ch. 5 of the same book, from memory). FWW-EG disputes how the quarter is usually read.
    """
    return END_GRAIN_SHARE * modulus_of_rupture_mpa(gravity)


def bending_stress_mpa(
    length_mm: float, width_mm: float, thickness_mm: float, density_kg_m3: float, load_n: float
) -> float:
    """Stress in a board on its two ends under its own weight and a load in the middle. [MPa]

    Parameters
    ----------
    length_mm
        Between the supports, along the grain. [mm]
    width_mm, thickness_mm
        Of the section. [mm] More than 0.
    density_kg_m3
        Of the board. [kg/m3]
    load_n
        In the middle, over the whole width. [N]

    References
    ----------
    MEM: elementary beam theory, 6 M / (b t^2) with M = F L / 4 + w L^2 / 8.
    """
    weight_n_mm = density_kg_m3 * 1e-9 * GRAVITY_N_KG * width_mm * thickness_mm
    moment_n_mm = load_n * length_mm / 4 + weight_n_mm * length_mm**2 / 8
    return 6 * moment_n_mm / (width_mm * thickness_mm**2)


def thickness_for_stress_mm(
    length_mm: float, width_mm: float, density_kg_m3: float, load_n: float, stress_mpa: float
) -> float:
    """Thickness at which the stress of ``bending_stress_mpa`` is the one given; its inverse. [mm]

    Parameters
    ----------
    length_mm, width_mm
        As there. [mm]
    density_kg_m3
        Of the board. [kg/m3]
    load_n
        In the middle. [N]
    stress_mpa
        Allowed. [MPa] More than 0.

    References
    ----------
    MEM: the larger root of s t^2 - B t - A = 0 with A = 3 F L / (2 b) and B = 3/4 of the weight density x L^2.
    """
    by_load = 1.5 * load_n * length_mm / width_mm
    by_weight = 0.75 * density_kg_m3 * 1e-9 * GRAVITY_N_KG * length_mm**2
    return (by_weight + math.sqrt(by_weight**2 + 4 * by_load * stress_mpa)) / (2 * stress_mpa)


def field_is_supported(frame: Frame | None, base: Base | None) -> bool:
    """Whether something besides its own joints carries the field: a frame around it, or a base glued under it."""
    return frame is not None or base_is_glued(frame, base)


def support_margin(field: BoardField, frame: Frame | None, base: Base | None, tables: Tables) -> float | None:
    """Strength of the end-grain joints over their stress when the board is leaned on; None where it is supported.

    The board lies on its two ends along the grain, so that bending opens the joints between bars, and 200 N press on
    its middle. The weaker timber decides.

    References
    ----------
    WH10-10 and WH-5-11 for the strength; the load is common practice, no source.
    """
    if field_is_supported(frame, base):
        return None
    stress_mpa = bending_stress_mpa(
        field.length_mm, field.width_mm, field.thickness_mm, field_density_kg_m3(field, tables), LEAN_N
    )
    return strength_over_stress(_strength_mpa(field, tables), stress_mpa)


def strength_over_stress(strength_mpa: float, stress_mpa: float) -> float:
    """How many times the stress a joint could bear; below 1 it opens.

    Parameters
    ----------
    strength_mpa
        Of the joint. [MPa]
    stress_mpa
        In it. [MPa] More than 0.

    References
    ----------
    House.
    """
    return strength_mpa / stress_mpa


def thickness_for_margin_mm(field: BoardField, tables: Tables, margin: float) -> float:
    """Thickness of this field, unsupported, at which ``support_margin`` is just ``margin``. [mm]

    References
    ----------
    As ``support_margin``: WH10-10, WH-5-11.
    """
    return thickness_for_stress_mm(
        field.length_mm,
        field.width_mm,
        field_density_kg_m3(field, tables),
        LEAN_N,
        _strength_mpa(field, tables) / margin,
    )


def field_gravity(field: BoardField, tables: Tables) -> float:
    """Specific gravity of the weaker timber of a field at 12 % moisture content."""
    return min(tables.species[key].density_kg_m3 for key in (field.light, field.dark)) / GRAVITY_DENSITY_KG_M3


def _strength_mpa(field: BoardField, tables: Tables) -> float:
    return end_grain_strength_mpa(field_gravity(field, tables))


def field_density_kg_m3(field: BoardField, tables: Tables) -> float:
    """Mean of the two timbers of a field. [kg/m3]"""
    return sum(tables.species[key].density_kg_m3 for key in (field.light, field.dark)) / 2
