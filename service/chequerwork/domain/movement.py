"""Seasonal change of size: the field, the mitres, the bow of a one-sided lay-up, and a verdict on the construction."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from chequerwork.domain.advice import Advice, Severity
from chequerwork.domain.errors import Fault, OutsideValidity
from chequerwork.domain.facts import Grain, Species, Tables
from chequerwork.domain.geometry import GLUED_SEAT, Geometry, Seat, base_is_glued
from chequerwork.domain.order import Hold, Joint, Order
from chequerwork.domain.shop import Shop
from chequerwork.domain.timber import FIBRE_SATURATION_PCT, emc_pct, modulus_across_mpa, sheet_mc_pct

COEFFICIENT_LOW_PCT, COEFFICIENT_HIGH_PCT = (
    6.0,
    14.0,
)  # span of the coefficient form (Wood Handbook Table 13-5)
BAND = 0.25  # published coefficients of one species differ by about this much
FIT_LEAST_MM = 0.5  # least clearance to put a frame together at all (common practice, no source)
TONGUE_LEAST_MM, TONGUE_HOLD_MM = (
    6.0,
    3.0,
)  # shortest tongue, and what must stay in the groove (common practice)
RAIL_LEFT_MM = 8.0  # wood that must stand behind a groove (common practice, no source)
# Limits of the verdict: what a glued joint or the eye forgives (common practice, no source).
GLUED_SWING_MM = (0.5, 1.0)
MITRE_GAP_MM = (0.4, 1.0)
BOW_MM = (1.0, 3.0)


class Verdict(StrEnum):
    """What to expect of a construction in the customer's climate."""

    SOUND = "sound"
    WATCH = "watch"
    EXPECT_DAMAGE = "expect damage"


_ORDER = (Verdict.SOUND, Verdict.WATCH, Verdict.EXPECT_DAMAGE)


class Layer(NamedTuple):
    """One layer of a lay-up: thickness [mm], modulus [MPa], free strain."""

    thickness_mm: float
    modulus_mpa: float
    strain: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Moisture contents, and the change of the board's inner width from the day it is built."""

    emc_build_pct: float
    emc_low_pct: float
    emc_high_pct: float
    shrink_mm: float
    swell_mm: float
    band_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One part of the verdict."""

    code: str
    verdict: Verdict
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """What the seasons do to one board. ``mitre_side`` is where the joint opens in the worse season."""

    swing: Swing
    mitre_gap_mm: float
    mitre_side: str | None
    bow_mm: float
    groove_clearance_mm: float
    verdict: Verdict
    reasons: tuple[Reason, ...]
    advice: tuple[Advice, ...]


def change_by_coefficient_mm(*, width_mm: float, coefficient: float, from_pct: float, to_pct: float) -> float:
    """Change of width between two moisture contents, coefficient form.

    Parameters
    ----------
    width_mm
        Across the grain, at ``from_pct``. [mm]
    coefficient
        Radial or tangential, as the piece is sawn. [1/%]
    from_pct, to_pct
        Moisture content. [%] 6 to 14.

    Returns
    -------
    float
        Positive means it swells. [mm]

    Raises
    ------
    OutsideValidity
        A moisture content is outside 6 to 14 %.

    References
    ----------
    WH10-13-5: dD = D C (M_F - M_I). 200 mm of flat-sawn black walnut, 7 to 11 %: 2.192 mm.
    """
    for mc_pct in (from_pct, to_pct):
        _within("Moisture content", mc_pct, COEFFICIENT_LOW_PCT, COEFFICIENT_HIGH_PCT)
    return width_mm * coefficient * (to_pct - from_pct)


def change_by_shrinkage_mm(*, width_mm: float, shrinkage_pct: float, from_pct: float, to_pct: float) -> float:
    """Change of width between two moisture contents, shrinkage form.

    Exact where shrinkage is linear below fibre saturation.

    Parameters
    ----------
    width_mm
        Across the grain, at ``from_pct``. [mm]
    shrinkage_pct
        Green to oven-dry, as the piece is sawn. [%] More than 0.
    from_pct, to_pct
        Moisture content. [%] 0 to 30.

    Returns
    -------
    float
        Positive means it swells. [mm]

    Raises
    ------
    OutsideValidity
        A moisture content is outside 0 to 30 %.

    References
    ----------
    WH10-13 (number from memory) and ICC400: dD = D (M_F - M_I) / (30 (100 / S) - 30 + M_I).
    """
    for mc_pct in (from_pct, to_pct):
        _within("Moisture content", mc_pct, 0.0, FIBRE_SATURATION_PCT)
    return width_mm * (to_pct - from_pct) / (3000 / shrinkage_pct - 30 + from_pct)


def change_mm(*, width_mm: float, species: Species, grain: Grain, from_pct: float, to_pct: float) -> float:
    """Change of width of one piece: coefficient form inside 6 to 14 %, shrinkage form outside.

    The way from one moisture content to the other is walked in pieces, so the result has no step at 6 or 14 %.

    Parameters
    ----------
    width_mm
        Across the grain, at ``from_pct``. [mm]
    species, grain
        Timber and how it was sawn.
    from_pct, to_pct
        Moisture content. [%] 0 to 30.

    Returns
    -------
    float
        Positive means it swells. [mm]

    References
    ----------
    WOOD-NOTES 2.1 and 2.2.
    """
    low, high = COEFFICIENT_LOW_PCT, COEFFICIENT_HIGH_PCT
    if low <= from_pct <= high and low <= to_pct <= high:
        return width_mm * species.coefficient(grain) * (to_pct - from_pct)
    stops = sorted((low, high), reverse=to_pct < from_pct)
    path = [from_pct, *(s for s in stops if min(from_pct, to_pct) < s < max(from_pct, to_pct)), to_pct]
    now_mm = width_mm
    for start, end in itertools.pairwise(path):
        if low <= min(start, end) and max(start, end) <= high:
            now_mm += now_mm * species.coefficient(grain) * (end - start)
        else:
            now_mm += change_by_shrinkage_mm(
                width_mm=now_mm, shrinkage_pct=species.shrinkage_pct(grain), from_pct=start, to_pct=end
            )
    return now_mm - width_mm


def curvature(layers: Sequence[Layer]) -> float:
    """Curvature of a laminated strip whose layers want different lengths. [1/mm]

    Linear elastic, bonded, free to bend, no creep: an upper bound for wood. Positive when the last layer is on the
    convex side. Force and moment balance of the layers; for two layers it is the bimetal formula.

    Parameters
    ----------
    layers
        From the underside up, at least one.

    References
    ----------
    TIMO (1925) for two layers; equal layers give 1.5 de / h.
    """
    bottom = stiffness = first = second = force = moment = 0.0
    for thickness_mm, modulus_mpa, strain in layers:
        middle = bottom + thickness_mm / 2
        et = thickness_mm * modulus_mpa
        stiffness += et
        first += et * middle
        second += et * (middle * middle + thickness_mm * thickness_mm / 12)
        force += et * strain
        moment += et * middle * strain
        bottom += thickness_mm
    return (stiffness * moment - first * force) / (stiffness * second - first * first)


def mitre_gap_mm(*, width_mm: float, strain: float) -> float:
    """Gap at the open end of a mitre when both rails change width by ``strain``. [mm]

    Parameters
    ----------
    width_mm
        Of the rail. [mm]
    strain
        Fraction of the width, signed; drying opens the inside corner, swelling the outside one.

    References
    ----------
    WOOD-NOTES 5: g = sqrt(2) w |e|. 60 mm of flat-sawn hard maple, -4 %: 1.198 mm.
    """
    return math.sqrt(2) * width_mm * abs(strain)


def swing(order: Order, shop: Shop, tables: Tables) -> Swing:
    """Moisture in the workshop and in the customer's seasons, and what the field's width makes of it."""
    room, year = shop.workshop_climate, order.climate
    build = emc_pct(temperature_c=room.temperature_c, rh_pct=(room.low_rh_pct + room.high_rh_pct) / 2)
    low = emc_pct(temperature_c=year.temperature_c, rh_pct=year.low_rh_pct)
    high = emc_pct(temperature_c=year.temperature_c, rh_pct=year.high_rh_pct)
    shrink_mm = max(0.0, -inner_change_mm(order, shop, tables, build, low))
    swell_mm = max(0.0, inner_change_mm(order, shop, tables, build, high))
    return Swing(
        emc_build_pct=build,
        emc_low_pct=low,
        emc_high_pct=high,
        shrink_mm=shrink_mm,
        swell_mm=swell_mm,
        band_mm=BAND * max(shrink_mm, swell_mm),
    )


def inner_change_mm(order: Order, shop: Shop, tables: Tables, from_pct: float, to_pct: float) -> float:
    """Change across the grain of the field with its lines: strips side by side simply add. [mm]

    An odd field's bars hold one strip more of one timber; the livelier timber is taken.
    """
    changes = sorted(
        (
            change_mm(
                width_mm=order.square_mm,
                species=tables.species[key],
                grain=grain,
                from_pct=from_pct,
                to_pct=to_pct,
            )
            for key, grain in ((order.light, order.light_grain), (order.dark, order.dark_grain))
        ),
        key=abs,
    )
    total_mm = changes[0] * (order.columns // 2) + changes[1] * (order.columns - order.columns // 2)
    for line in order.lines:
        total_mm += change_mm(
            width_mm=2 * line.width_mm,
            species=tables.species[line.species],
            grain=shop.lumber[line.species].grain,
            from_pct=from_pct,
            to_pct=to_pct,
        )
    return total_mm


def seat(order: Order, season: Swing) -> Seat:
    """Clearance and tongue of a floating field, per side; zeros for any other.

    Clearance is half of the swelling still to come from the day of assembly, with the band. The tongue is measured
    from the field's shoulder: it bridges the clearance and the shrinking half with its band, and still stays in the
    groove. The groove is as deep as the tongue is long. Both rounded up to 0.1 mm.

    References
    ----------
    TRADE-FRAME and TRADE-MOVE: half the remaining swing from the moisture at assembly.
    """
    if order.frame is None or order.frame.hold is not Hold.FLOATING:
        return GLUED_SEAT
    clearance_mm = max(FIT_LEAST_MM, season.swell_mm / 2 * (1 + BAND))
    clearance_mm = _up(clearance_mm)
    tongue_mm = max(TONGUE_LEAST_MM, clearance_mm + season.shrink_mm / 2 * (1 + BAND) + TONGUE_HOLD_MM)
    return Seat(clearance_mm, _up(tongue_mm))


def groove_fault(order: Order, season: Swing) -> Fault | None:
    """Fault of a floating field whose groove would leave too little of the rail, or None."""
    frame = order.frame
    deep_mm = seat(order, season).tongue_mm
    needed_mm = deep_mm + RAIL_LEFT_MM
    if frame is None or not deep_mm or frame.width_mm >= needed_mm:
        return None
    return Fault(
        at=("frame", "width"),
        code="too-small",
        detail=f"In this climate the floating field needs a groove {deep_mm:.1f} mm deep, which a rail of "
        f"{frame.width_mm:.4g} mm cannot hold. Ask for a rail of at least {math.ceil(needed_mm):g} mm.",
    )


def assess(order: Order, shop: Shop, tables: Tables, geometry: Geometry, season: Swing) -> Movement:
    """Everything the seasons do to this board, and the verdict."""
    gap_mm, side = _mitre(order, tables, season)
    bow_mm = _bow_mm(order, shop, tables, season)
    reasons = tuple(_reasons(order, geometry, season, gap_mm, bow_mm))
    verdict = max((r.verdict for r in reasons), key=_ORDER.index, default=Verdict.SOUND)
    return Movement(
        swing=season,
        mitre_gap_mm=gap_mm,
        mitre_side=side,
        bow_mm=bow_mm,
        groove_clearance_mm=geometry.seat.clearance_mm,
        verdict=verdict,
        reasons=reasons,
        advice=_advice(reasons, season),
    )


def _mitre(order: Order, tables: Tables, season: Swing) -> tuple[float, str | None]:
    frame = order.frame
    if frame is None or frame.joint is not Joint.MITRE:
        return 0.0, None
    strains = [
        change_mm(
            width_mm=1.0,
            species=tables.species[frame.species],
            grain=frame.grain or Grain.FLAT,
            from_pct=season.emc_build_pct,
            to_pct=to_pct,
        )
        for to_pct in (season.emc_low_pct, season.emc_high_pct)
    ]
    strain = max(strains, key=abs)
    side = None if strain == 0 else "inside" if strain < 0 else "outside"
    return mitre_gap_mm(width_mm=frame.width_mm, strain=strain), side


def _bow_mm(order: Order, shop: Shop, tables: Tables, season: Swing) -> float:
    """Bow across the field of a field glued to its base, worse season. [mm] Zero without a base."""
    base = order.base
    sheet = tables.sheet(base.material, base.thickness_mm) if base else None
    if base is None or sheet is None or not base_is_glued(order):
        return 0.0
    room, year = shop.workshop_climate, order.climate
    build_rh = (room.low_rh_pct + room.high_rh_pct) / 2
    sheet_build = sheet_mc_pct(sheet, temperature_c=room.temperature_c, rh_pct=build_rh)
    worst = 0.0
    for rh_pct, emc in ((year.low_rh_pct, season.emc_low_pct), (year.high_rh_pct, season.emc_high_pct)):
        sheet_mc = sheet_mc_pct(sheet, temperature_c=year.temperature_c, rh_pct=rh_pct)
        strain = sheet.movement_per_pct * (sheet_mc - sheet_build)
        layers = [Layer(base.thickness_mm, sheet.modulus_mpa, strain)]
        if base.backing:
            backing = _wood_layer(
                base.backing.thickness_mm,
                base.backing.species,
                base.backing.grain or Grain.FLAT,
                tables,
                season.emc_build_pct,
                emc,
            )
            layers.insert(0, backing)
        layers.append(_field_layer(order, tables, season.emc_build_pct, emc))
        worst = max(worst, abs(curvature(layers)))
    return worst * order.field_width_mm**2 / 8


def _wood_layer(thickness_mm: float, key: str, grain: Grain, tables: Tables, from_pct: float, to_pct: float) -> Layer:
    species = tables.species[key]
    strain = change_mm(width_mm=1.0, species=species, grain=grain, from_pct=from_pct, to_pct=to_pct)
    return Layer(thickness_mm, modulus_across_mpa(species, grain), strain)


def _field_layer(order: Order, tables: Tables, from_pct: float, to_pct: float) -> Layer:
    """Strips side by side act in series: compliances and strains average."""
    light = _wood_layer(order.thickness_mm, order.light, order.light_grain, tables, from_pct, to_pct)
    dark = _wood_layer(order.thickness_mm, order.dark, order.dark_grain, tables, from_pct, to_pct)
    modulus = 2 / (1 / light.modulus_mpa + 1 / dark.modulus_mpa)
    return Layer(order.thickness_mm, modulus, (light.strain + dark.strain) / 2)


def _reasons(order: Order, geometry: Geometry, season: Swing, gap_mm: float, bow_mm: float) -> list[Reason]:
    found: list[Reason] = []
    total_mm = season.shrink_mm + season.swell_mm
    frame = order.frame
    if frame is not None and frame.hold is Hold.GLUED:
        found.append(
            Reason(
                code="glued-field",
                verdict=_grade(total_mm, GLUED_SWING_MM),
                text=f"The field wants to change by {total_mm:.1f} mm across the grain over the year, and the glued "
                "frame holds it.",
            )
        )
    elif frame is not None:
        deep_mm = geometry.seat.tongue_mm
        fits = deep_mm <= frame.width_mm / 2
        found.append(
            Reason(
                code="floating-field",
                verdict=Verdict.SOUND if fits else Verdict.WATCH,
                text=f"The field is free to change by {total_mm:.1f} mm: {geometry.seat.clearance_mm:.1f} mm clearance "
                f"and a {geometry.seat.tongue_mm:.1f} mm tongue on each side"
                + ("." if fits else f"; the groove takes more than half of the {frame.width_mm:g} mm rail."),
            )
        )
    if frame is not None and frame.joint is Joint.MITRE:
        found.append(
            Reason(
                code="mitre",
                verdict=_grade(gap_mm, MITRE_GAP_MM),
                text=f"The mitres open by up to {gap_mm:.2f} mm in the worse season.",
            )
        )
    if order.base is not None and not base_is_glued(order):
        found.append(
            Reason(
                code="base",
                verdict=Verdict.SOUND,
                text="The base runs under the rails: it is fixed to them and to the middle of the field only, so that "
                "the field stays free.",
            )
        )
    elif order.base is not None:
        found.append(
            Reason(
                code="bow",
                verdict=_grade(bow_mm, BOW_MM),
                text=f"Glued to its base the field bows by up to {bow_mm:.1f} mm across the grain.",
            )
        )
    return found


def _advice(reasons: tuple[Reason, ...], season: Swing) -> tuple[Advice, ...]:
    severities = {Verdict.WATCH: Severity.CAUTION, Verdict.EXPECT_DAMAGE: Severity.WARNING}
    found = [
        Advice(
            code=f"movement-{reason.code}",
            severity=severities[reason.verdict],
            at=("movement", "verdict"),
            text=reason.text,
            source="WOOD-NOTES",
        )
        for reason in reasons
        if reason.verdict is not Verdict.SOUND
    ]
    outside = [
        mc for mc in (season.emc_low_pct, season.emc_high_pct) if not COEFFICIENT_LOW_PCT <= mc <= COEFFICIENT_HIGH_PCT
    ]
    if outside:
        found.append(
            Advice(
                code="moisture-beyond-table",
                severity=Severity.INFO,
                at=("movement", "emc_low_pct" if outside[0] < COEFFICIENT_LOW_PCT else "emc_high_pct"),
                text=f"At {outside[0]:.1f} % moisture content the coefficients (6 to 14 %) no longer hold; the "
                f"shrinkage form was used there. Take the changes with a band of +/-{BAND:.0%}.",
                source="WH10-13-5",
            )
        )
    return tuple(found)


def _grade(value: float, limits: tuple[float, float]) -> Verdict:
    return Verdict.SOUND if value < limits[0] else Verdict.WATCH if value < limits[1] else Verdict.EXPECT_DAMAGE


def _within(what: str, given: float, low: float, high: float) -> None:
    if not low - 1e-9 <= given <= high + 1e-9:
        raise OutsideValidity(what=what, given=given, low=low, high=high, unit="%")


def _up(value_mm: float) -> float:
    return math.ceil(value_mm * 10 - 1e-9) / 10
