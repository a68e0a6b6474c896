"""Limits of law and of test standards as arithmetic: small parts, small content of plant material, listed wood.

Each function is given the limit, which stands in the threshold table or in a listing with the days on which it applies.
"""

import math

FLOAT_TAIL = 1e-9  # a quotient this close below a whole number is that number; binary tails only


def fits_small_parts_cylinder(*, diameter_mm: float, height_mm: float, bore_mm: float, depth_mm: float) -> bool:
    """Whether a round part fits whole into the small-parts cylinder in some position.

    The cylinder stands open, and its bottom slopes by 45 degrees: it is ``depth_mm`` deep at one side and
    ``depth_mm - bore_mm`` at the other. A part no wider than the bore goes deepest upright against the deep side, where
    height and diameter together may reach the depth. A slender part may lean across, as far as the bore lets it. Lying
    on its side and leaning the other way never let in what these two do not, as long as the depth is more than 1.42
    bores, which it is.

    Parameters
    ----------
    diameter_mm
        Of the part. [mm]
    height_mm
        Of the part along its axis. [mm]
    bore_mm
        Inner diameter of the test cylinder. [mm]
    depth_mm
        Depth of the test cylinder at its deepest. [mm]

    Returns
    -------
    bool
        True for a small part. Exact for a rigid cylinder with flat ends. A part with a dome, a taper or a chamfer is
        smaller than the cylinder around it and may fit although this says no; a part that fits is found in any case.

    References
    ----------
    SMALLPARTS-US, 16 CFR 1501.4: fits entirely, in any orientation, without being compressed. Slope: SMALLPARTS-CA.

    Examples
    --------
    >>> fits_small_parts_cylinder(diameter_mm=12, height_mm=6, bore_mm=31.7, depth_mm=57.1)
    True
    >>> fits_small_parts_cylinder(diameter_mm=31.7, height_mm=26, bore_mm=31.7, depth_mm=57.1)
    False
    """
    if diameter_mm > bore_mm:
        return False
    if diameter_mm + height_mm <= depth_mm:
        return True
    # Leaning by the angle at which the part's two far edges touch the bore: sine and cosine of it.
    square = diameter_mm * diameter_mm + height_mm * height_mm
    over = math.sqrt(max(square - bore_mm * bore_mm, 0.0))
    sine = (height_mm * bore_mm - diameter_mm * over) / square
    cosine = (diameter_mm * bore_mm + height_mm * over) / square
    return height_mm * cosine + diameter_mm * (sine + cosine) <= depth_mm


def lacey_small_content(
    *, plant_share: float, entry_plant_kg: float, share_limit: float, entry_limit_kg: float, listed: bool
) -> bool:
    """Whether an entry into the United States holds too little plant material to be declared under the Lacey Act.

    Parameters
    ----------
    plant_share
        Plant material in one unit, as a fraction of its mass.
    entry_plant_kg
        Plant material in all units of the entry under one tariff line. [kg]
    share_limit
        Largest share without a declaration, as a fraction.
    entry_limit_kg
        Largest mass without a declaration. [kg]
    listed
        Whether a unit holds a timber of an appendix of CITES, which is never excepted.

    References
    ----------
    LACEY-CFR, 7 CFR 357.4(b) and (c): 5 per cent and 2.9 kg.

    Examples
    --------
    >>> lacey_small_content(
    ...     plant_share=0.9, entry_plant_kg=3.6, share_limit=0.05, entry_limit_kg=2.9, listed=False
    ... )
    False
    """
    return plant_share <= share_limit and entry_plant_kg <= entry_limit_kg and not listed


def boards_within(*, each_kg: float, limit_kg: float) -> int:
    """Most boards in one consignment whose listed wood does not exceed the limit.

    Parameters
    ----------
    each_kg
        Listed wood in one board. [kg] Above 0.
    limit_kg
        Up to which finished products are exempt, the limit itself included. [kg]

    References
    ----------
    CITES-15Q, annotation #15: up to 10 kg of listed wood per shipment.

    Examples
    --------
    >>> boards_within(each_kg=1.985802, limit_kg=10)
    5
    """
    return math.floor(limit_kg / each_kg + FLOAT_TAIL)
