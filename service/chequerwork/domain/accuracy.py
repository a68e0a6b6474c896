"""Will the corners of the squares meet? Closed forms for the two ways to make the pattern."""

import math
from dataclasses import dataclass

from chequerwork.domain.advice import Advice, Audience, Severity
from chequerwork.domain.order import Order, Pattern
from chequerwork.domain.shop import Shop

VISIBLE_STEP_MM = 0.15  # corner step seen between contrasting woods (common practice, no source)
SIGMAS_IN_TOLERANCE = 2  # a +/- tolerance holds two standard deviations of a careful maker's strips; house


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """Budget of errors: ``strip_tolerance_mm`` is what this shop holds, ``strip_needed_mm`` what 0.15 mm asks."""

    strip_tolerance_mm: float
    mismatch_worst_mm: float
    mismatch_sigma_mm: float
    strip_needed_mm: float
    blade_error_deg: float
    bevel_gap_mm: float
    shear_mm: float
    size_worst_mm: float
    advice: tuple[Advice, ...]


def budget(order: Order, shop: Shop) -> Accuracy:
    """Error budget of one board from the shop's strip tolerance and blade angle."""
    machines = shop.machines
    sigma_mm = machines.strip_tolerance_mm / SIGMAS_IN_TOLERANCE
    worst_mm = mismatch_worst_mm(order.pattern, order.columns, machines.strip_tolerance_mm)
    mismatch_mm = mismatch_sigma_mm(order.pattern, order.columns, sigma_mm)
    # Two sigmas of the mismatch at the visible step: inverted from the closed form.
    needed_mm = VISIBLE_STEP_MM * machines.strip_tolerance_mm / (SIGMAS_IN_TOLERANCE * mismatch_mm)
    return Accuracy(
        strip_tolerance_mm=machines.strip_tolerance_mm,
        mismatch_worst_mm=worst_mm,
        mismatch_sigma_mm=mismatch_mm,
        strip_needed_mm=needed_mm,
        blade_error_deg=machines.blade_error_deg,
        bevel_gap_mm=bevel_gap_mm(order.thickness_mm, machines.blade_error_deg),
        shear_mm=shear_mm(order.field_width_mm, machines.blade_error_deg),
        size_worst_mm=order.columns * machines.strip_tolerance_mm,
        advice=_advice(order, mismatch_mm, needed_mm),
    )


def mismatch_worst_mm(pattern: Pattern, columns: int, tolerance_mm: float) -> float:
    """Largest possible step where four squares meet.

    Parameters
    ----------
    pattern
        Turn compares a boundary with its mirror image; shift compares neighbouring strips.
    columns
        Squares in a bar. 2 or more.
    tolerance_mm
        Strip width tolerance, +/-. [mm]

    Returns
    -------
    float
        N t for turn, 2 t for shift. [mm]

    References
    ----------
    TRADE-TOL; check values T05 and T12.
    """
    return (columns if pattern is Pattern.TURN else 2) * tolerance_mm


def mismatch_sigma_mm(pattern: Pattern, columns: int, sigma_mm: float) -> float:
    """Standard deviation of the step at the worst boundary, strips independent.

    Turn: sigma sqrt(2 min(k, N - k)), greatest at the middle. Shift: sigma sqrt(2) at every boundary.

    Parameters
    ----------
    pattern
        See ``mismatch_worst_mm``.
    columns
        Squares in a bar. 2 or more.
    sigma_mm
        Standard deviation of a strip's width. [mm]

    Returns
    -------
    float
        Standard deviation of the step. [mm]

    References
    ----------
    TRADE-TOL; check values T03 and T11, agreed by simulation.
    """
    return sigma_mm * math.sqrt(2 * (columns // 2) if pattern is Pattern.TURN else 2)


def bevel_gap_mm(thickness_mm: float, blade_error_deg: float) -> float:
    """V gap under two bars that meet on top, one turned, when the blade leans. [mm]

    Parameters
    ----------
    thickness_mm
        Of the bar. [mm]
    blade_error_deg
        Blade from square. [deg]

    References
    ----------
    TRADE-TOL: 2 t tan e; check values T07 and T08.
    """
    return 2 * thickness_mm * math.tan(math.radians(blade_error_deg))


def shear_mm(across_mm: float, angle_deg: float) -> float:
    """How far a field leans when every crosscut is off by an angle. [mm]

    Parameters
    ----------
    across_mm
        Length of the cut. [mm]
    angle_deg
        Crosscut from square. [deg]

    References
    ----------
    TRADE-TOL: N s tan a; check value T09.
    """
    return across_mm * math.tan(math.radians(angle_deg))


def _advice(order: Order, sigma_mm: float, needed_mm: float) -> tuple[Advice, ...]:
    if 2 * sigma_mm <= VISIBLE_STEP_MM:
        return ()
    other = "Shift the bars instead of turning them, or rip" if order.pattern is Pattern.TURN else "Rip"
    return (
        Advice(
            code="corners-may-miss",
            severity=Severity.CAUTION,
            at=("geometry", "accuracy"),
            text=f"One corner in twenty may miss by more than {2 * sigma_mm:.2f} mm; about {VISIBLE_STEP_MM} mm shows. "
            f"{other} the strips to +/-{needed_mm:.3f} mm.",
            source="TRADE-TOL",
            audience=Audience.WORKSHOP,
        ),
    )
