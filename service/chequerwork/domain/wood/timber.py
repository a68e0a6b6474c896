"""Wood as a material: moisture, shrinkage, density, stiffness.

All functions are of single numbers, without a table, so that each can be checked against the page it comes from.
"""

import bisect
from typing import NamedTuple

from chequerwork.domain.basics.bounds import RH_SPAN_PCT
from chequerwork.domain.basics.errors import OutsideValidity
from chequerwork.domain.basics.facts import Grain, Sheet, Species

RH_LOW_PCT, RH_HIGH_PCT = RH_SPAN_PCT
T_LOW_C, T_HIGH_C = (30 - 32) / 1.8, (270 - 32) / 1.8  # 30 to 270 degF, the published table's temperature span
FIBRE_SATURATION_PCT = 30.0  # the Wood Handbook's round figure (WH10 Equation 4-7)
# Moisture of fibreboard by relative humidity, mid of the printed bands (EWPAA p. 37).
_BOARD_RH_PCT = (30.0, 45.0, 65.0, 75.0, 90.0)
_BOARD_MC_PCT = (7.0, 8.0, 10.0, 11.0, 15.5)
PLYWOOD_BELOW_WOOD_PCT = 1.0  # LEE76: about one point, from 20 to 90 % relative humidity
HARDWOOD_MODULUS_MPA = 16500.0  # E = 16.5 G^0.7 GPa for hardwoods at 12 % (Wood Handbook ch. 5, from memory)
MEAN_RATIO_TANGENTIAL, MEAN_RATIO_RADIAL = 0.06, 0.125  # of E along; mean of the printed hardwoods, rounded
ALONG_PCT_PER_PCT = 0.005  # along the grain 0.1 to 0.2 % from green to oven-dry, over 30 % (AWC, in WOOD-NOTES 2.1)


class Moduli(NamedTuple):
    """Stiffness of a timber in its three directions; ``estimated`` where one of its figures is not published."""

    along_mpa: float
    tangential_mpa: float
    radial_mpa: float
    estimated: bool


def emc_pct(*, temperature_c: float, rh_pct: float) -> float:
    """Equilibrium moisture content of wood.

    Parameters
    ----------
    temperature_c
        Air temperature. [degC] -1.1 to 132.2.
    rh_pct
        Relative humidity. [%] 5 to 95.

    Returns
    -------
    float
        Mean of adsorption and desorption, per cent of oven-dry mass. [%]

    Raises
    ------
    OutsideValidity
        Outside the span of the table made from the equation.

    References
    ----------
    WH21-4, p. 4-3, Equation 4-5, degC form. At 20 degC and 50 %: 9.271 %.

    Examples
    --------
    >>> round(emc_pct(temperature_c=20, rh_pct=50), 3)
    9.271
    """
    if not RH_LOW_PCT <= rh_pct <= RH_HIGH_PCT:
        raise OutsideValidity(what="Relative humidity", given=rh_pct, low=RH_LOW_PCT, high=RH_HIGH_PCT, unit="%")
    if not T_LOW_C <= temperature_c <= T_HIGH_C:
        raise OutsideValidity(what="Temperature", given=temperature_c, low=T_LOW_C, high=T_HIGH_C, unit="degC")
    t, h = temperature_c, rh_pct / 100
    w = 349 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    kh = k * h
    k1kh, k1k2kh2 = k1 * kh, k1 * k2 * kh * kh
    return 1800 / w * (kh / (1 - kh) + (k1kh + 2 * k1k2kh2) / (1 + k1kh + k1k2kh2))


def fibreboard_mc_pct(rh_pct: float) -> float:
    """Moisture content of fibreboard in a room, about half of wood's swing. [%]

    Parameters
    ----------
    rh_pct
        Relative humidity. [%] Below 30 % and above 90 % the end slopes are carried on.

    References
    ----------
    EWPAA p. 37: 30 % 6-8, 45 % 7-9, 65 % 9-11, 75 % 10-12, 90 % 15-16 (mids taken).
    """
    at = min(max(bisect.bisect_right(_BOARD_RH_PCT, rh_pct), 1), len(_BOARD_RH_PCT) - 1)
    low_rh, high_rh = _BOARD_RH_PCT[at - 1], _BOARD_RH_PCT[at]
    low_mc, high_mc = _BOARD_MC_PCT[at - 1], _BOARD_MC_PCT[at]
    return low_mc + (high_mc - low_mc) * (rh_pct - low_rh) / (high_rh - low_rh)


def fibreboard_extrapolates(rh_pct: float) -> bool:
    """Whether ``fibreboard_mc_pct`` carries a slope beyond the humidities that were published.

    Parameters
    ----------
    rh_pct
        Relative humidity. [%] Published from 30 to 90 %.

    References
    ----------
    EWPAA p. 37.
    """
    return not _BOARD_RH_PCT[0] <= rh_pct <= _BOARD_RH_PCT[-1]


def plywood_mc_pct(wood_pct: float) -> float:
    """Moisture content of plywood in air in which solid wood takes on ``wood_pct``. [%]

    The glue lines hold no water. A constant difference moves no season: plywood swings as far as wood.

    Parameters
    ----------
    wood_pct
        Moisture content of wood in the same air. [%] Published from 20 to 90 % relative humidity; carried on
        outside, never below 0.

    References
    ----------
    LEE76: southern pine plywood, five constructions, about 1 % lower than the solid wood. That birch does the same is
    an assumption.
    """
    return max(0.0, wood_pct - PLYWOOD_BELOW_WOOD_PCT)


def sheet_mc_pct(sheet: Sheet, *, temperature_c: float, rh_pct: float) -> float:
    """Moisture content of a sheet good: plywood a point below wood, fibreboards their own table. [%]

    Parameters
    ----------
    sheet
        The sheet.
    temperature_c
        Air temperature. [degC]
    rh_pct
        Relative humidity. [%]

    References
    ----------
    WH21-4 Equation 4-5 and LEE76 for plywood; EWPAA p. 37 for fibreboard.
    """
    if sheet.is_plywood:
        return plywood_mc_pct(emc_pct(temperature_c=temperature_c, rh_pct=rh_pct))
    return fibreboard_mc_pct(rh_pct)


def in_plane_strain(movement_per_pct: float, from_pct: float, to_pct: float) -> float:
    """Change of size of a sheet good in its plane, as a fraction. Positive is swelling.

    Parameters
    ----------
    movement_per_pct
        Fraction of the size for each per cent of its own moisture content. [1/%]
    from_pct, to_pct
        Moisture content of the sheet. [%]

    References
    ----------
    MDFINFO and EWPAA: 0.05 % for each per cent in the plane of fibreboard.
    """
    return movement_per_pct * (to_pct - from_pct)


def coefficient_from_shrinkage(shrinkage_pct: float) -> float:
    """Dimensional change coefficient that a total shrinkage implies at 10 % moisture content. [1/%]

    Parameters
    ----------
    shrinkage_pct
        Green to oven-dry, radial or tangential. [%]

    References
    ----------
    WOOD-NOTES 2.3, derived from Wood Handbook ch. 13: C = S / (3000 - 20 S).
    """
    return shrinkage_pct / (3000 - 20 * shrinkage_pct)


def shrinkage_at_pct(total_pct: float, mc_pct: float) -> float:
    """Shrinkage from green to a moisture content. [%]

    Parameters
    ----------
    total_pct
        Green to oven-dry. [%]
    mc_pct
        Moisture content. [%] 0 to 30.

    References
    ----------
    WH10 Equation 4-7: S_x = S_0 (1 - x / 30).
    """
    return total_pct * (1 - mc_pct / FIBRE_SATURATION_PCT)


def specific_gravity_at(basic: float, volumetric_shrinkage_pct: float, mc_pct: float) -> float:
    """Specific gravity on the volume at a moisture content, from the basic one.

    Parameters
    ----------
    basic
        Oven-dry mass over green volume, over water's density.
    volumetric_shrinkage_pct
        Green to oven-dry. [%]
    mc_pct
        Moisture content. [%]

    References
    ----------
    WH10 Equation 4-9: G_x = G_b / (1 - S_x / 100).
    """
    return basic / (1 - shrinkage_at_pct(volumetric_shrinkage_pct, mc_pct) / 100)


def along_change_pct(*, from_pct: float, to_pct: float) -> float:
    """Change of length along the grain, in per cent of the length: an order of magnitude. [%]

    Normal wood only; juvenile and reaction wood move several times as much.

    Parameters
    ----------
    from_pct, to_pct
        Moisture content. [%] 0 to 30.

    References
    ----------
    WOOD-NOTES 2.1: 0.1 to 0.2 % from green to oven-dry, the middle taken: 0.005 % per 1 %.
    """
    return ALONG_PCT_PER_PCT * (to_pct - from_pct)


def moduli(species: Species) -> Moduli:
    """Stiffness of a timber along its grain and in both directions across it. [MPa]

    Published bending modulus times the published ratios; where either is missing, E = 16.5 G^0.7 GPa and the mean
    ratios of the printed hardwoods, which is an estimate.

    Parameters
    ----------
    species
        The timber.

    References
    ----------
    WH21-5-3b, WH21-5-5b and Table 5-1; see WOOD-NOTES 4.1.
    """
    gravity = species.density_kg_m3 / 1120  # G at 12 % moisture content
    along = species.modulus_along_mpa or HARDWOOD_MODULUS_MPA * gravity**0.7
    return Moduli(
        along,
        along * (species.ratio_tangential or MEAN_RATIO_TANGENTIAL),
        along * (species.ratio_radial or MEAN_RATIO_RADIAL),
        None in (species.modulus_along_mpa, species.ratio_tangential, species.ratio_radial),
    )


def modulus_across_mpa(species: Species, grain: Grain) -> float:
    """Stiffness across the face, as ``moduli`` has it. [MPa]

    Parameters
    ----------
    species
        The timber.
    grain
        Flat-sawn faces show the tangential direction, quarter-sawn the radial; mixed takes the mean.

    References
    ----------
    As ``moduli``: WH21-5-3b, WH21-5-5b and Table 5-1.
    """
    found = moduli(species)
    if grain is Grain.FLAT:
        return found.tangential_mpa
    return found.radial_mpa if grain is Grain.QUARTER else (found.tangential_mpa + found.radial_mpa) / 2
