"""Will the corners of the squares meet? Closed forms for the two ways to make the pattern."""

import math
from dataclasses import dataclass
from statistics import NormalDist

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.shop import Machines
from chequerwork.domain.order.order import BoardField, Corners, Frame, Joint, Pattern

VISIBLE_STEP_MM = 0.15  # corner step seen between contrasting woods (common practice, no source)
CONFIDENCE_PCT = 95.0  # of boards whose corners all meet, where an order does not say; house
SIGMAS_IN_TOLERANCE = 2  # a +/- tolerance holds two standard deviations of a careful maker's strips; house
MITRE_CUTS = 8  # two at each corner of a frame of four sides

_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """What the errors of machines add up to.

    ``strip_tolerance_mm`` is what this shop holds; ``corners_within_pct`` the boards on which every corner then meets
    within ``corner_limit_mm``, at least; ``strip_needed_mm`` what ``corner_confidence_pct`` of boards asks for.
    """

    strip_tolerance_mm: float
    mismatch_worst_mm: float
    mismatch_sigma_mm: float
    corner_limit_mm: float
    corner_confidence_pct: float
    corners_within_pct: float
    strip_needed_mm: float
    blade_error_deg: float
    blade_needed_deg: float
    bevel_gap_mm: float
    shear_mm: float
    size_worst_mm: float
    size_rss_mm: float
    mitre_cut_gap_mm: float | None  # None without mitres
    advice: tuple[Advice, ...]


def accuracy_of(field: BoardField, frame: Frame | None, wanted: Corners, machines: Machines) -> Accuracy:
    """What errors add up to on one board, from the machines' strip tolerance and blade angle."""
    pattern, columns = field.pattern, field.columns
    tolerance_mm, error_deg = machines.strip_tolerance_mm, machines.blade_error_deg
    sigma_mm = tolerance_mm / SIGMAS_IN_TOLERANCE
    within = corners_within(pattern, columns, sigma_mm, wanted.within_mm)
    needed_mm = strip_needed_mm(pattern, columns, wanted.within_mm, wanted.confidence_pct / 100)
    return Accuracy(
        strip_tolerance_mm=tolerance_mm,
        mismatch_worst_mm=mismatch_worst_mm(pattern, columns, tolerance_mm),
        mismatch_sigma_mm=mismatch_sigma_mm(pattern, columns, sigma_mm),
        corner_limit_mm=wanted.within_mm,
        corner_confidence_pct=wanted.confidence_pct,
        corners_within_pct=within * 100,
        strip_needed_mm=needed_mm,
        blade_error_deg=error_deg,
        blade_needed_deg=blade_needed_deg(field.thickness_mm, wanted.within_mm),
        bevel_gap_mm=bevel_gap_mm(field.thickness_mm, error_deg),
        shear_mm=shear_mm(field.width_mm, error_deg),
        size_worst_mm=columns * tolerance_mm,
        size_rss_mm=size_rss_mm(columns, tolerance_mm),
        mitre_cut_gap_mm=mitre_cut_gap_mm(frame.width_mm, error_deg) if frame and frame.joint is Joint.MITRE else None,
        advice=_advice(field, wanted, tolerance_mm, within, needed_mm),
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


def corners_within(pattern: Pattern, columns: int, sigma_mm: float, limit_mm: float) -> float:
    """Share of boards on which every corner meets within a limit: at least this, never less.

    A guaranteed lower bound in closed form, strips independent and normal. Turn: the steps are a random walk of N / 2
    equal steps, so by Levy's inequality the greatest of them passes the limit at most twice as often as the last; one
    step (N = 2 or 3) is exact. Shift: N - 1 correlated steps, which by Sidak's inequality all stay within the limit
    at least as often as independent ones would.

    Parameters
    ----------
    pattern
        See ``mismatch_worst_mm``.
    columns
        Squares in a bar. 2 or more.
    sigma_mm
        Standard deviation of a strip's width. [mm] More than 0.
    limit_mm
        Step allowed at a corner, to either side. [mm]

    Returns
    -------
    float
        0 to 1.

    References
    ----------
    TRADE-TOL for the steps; LEVY and SIDAK for the bounds, both from memory and held against simulation.
    """
    miss = math.erfc(limit_mm / (math.sqrt(2) * mismatch_sigma_mm(pattern, columns, sigma_mm)))
    if pattern is Pattern.SHIFT:
        return (1 - miss) ** (columns - 1)
    return max(0.0, 1 - _passes(columns) * miss)


def strip_needed_mm(pattern: Pattern, columns: int, limit_mm: float, confidence: float) -> float:
    """Strip tolerance at which every corner meets within a limit on a share of boards. The inverse of the bound.

    Parameters
    ----------
    pattern
        See ``mismatch_worst_mm``.
    columns
        Squares in a bar. 2 or more.
    limit_mm
        Step allowed at a corner, to either side. [mm]
    confidence
        Share of boards. More than 0, less than 1.

    Returns
    -------
    float
        Tolerance, +/-, of two standard deviations. [mm]

    References
    ----------
    LEVY, SIDAK: ``corners_within`` solved for the spread.
    """
    miss = 1 - confidence ** (1 / (columns - 1)) if pattern is Pattern.SHIFT else (1 - confidence) / _passes(columns)
    sigmas = -_NORMAL.inv_cdf(miss / 2)
    return SIGMAS_IN_TOLERANCE * limit_mm / (sigmas * mismatch_sigma_mm(pattern, columns, 1.0))


def _passes(columns: int) -> int:
    """Levy's factor; a walk of a single step needs none."""
    return 2 if columns > 3 else 1


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


def blade_needed_deg(thickness_mm: float, limit_mm: float) -> float:
    """Blade from square at which the V gap under two bars is just the limit. The inverse of ``bevel_gap_mm``. [deg]

    Parameters
    ----------
    thickness_mm
        Of the bar. [mm] More than 0.
    limit_mm
        Gap allowed below. [mm]

    References
    ----------
    TRADE-TOL: e = atan(limit / (2 t)).
    """
    return math.degrees(math.atan(limit_mm / (2 * thickness_mm)))


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


def size_rss_mm(columns: int, tolerance_mm: float) -> float:
    """Tolerance of the field's width, +/-, when the strips' errors are independent. [mm]

    Parameters
    ----------
    columns
        Strips side by side.
    tolerance_mm
        Strip width tolerance, +/-. [mm]

    References
    ----------
    RSS: sqrt(N) t; check values T02 and T10.
    """
    return math.sqrt(columns) * tolerance_mm


def mitre_cut_gap_mm(width_mm: float, blade_error_deg: float) -> float:
    """Gap at the last corner of a frame when all its eight mitre cuts are off to the same side. [mm]

    Parameters
    ----------
    width_mm
        Of the rail. [mm]
    blade_error_deg
        Of each cut from 45 deg. [deg] Below 11.

    References
    ----------
    TRADE-FRAME: W sqrt(2) tan(8 e); check value F07.
    """
    return width_mm * math.sqrt(2) * math.tan(math.radians(MITRE_CUTS * blade_error_deg))


def _advice(
    field: BoardField, wanted: Corners, tolerance_mm: float, within: float, needed_mm: float
) -> tuple[Advice, ...]:
    if tolerance_mm <= needed_mm * (1 + 1e-9):
        return ()
    rip = f"ip the strips to +/-{needed_mm:.3f} mm."
    remedy = f"R{rip}"
    if field.pattern is Pattern.TURN:
        shifted = corners_within(Pattern.SHIFT, field.columns, tolerance_mm / SIGMAS_IN_TOLERANCE, wanted.within_mm)
        remedy = f"Shift the bars instead of turning them, for {shifted * 100:.1f} %, or r{rip}"
    return (
        Advice(
            code="corners-may-miss",
            severity=Severity.CAUTION,
            at=("geometry", "accuracy"),
            text=f"With strips of +/-{tolerance_mm:g} mm every corner meets within {wanted.within_mm:g} mm on "
            f"{within * 100:.1f} % of boards at least; {wanted.confidence_pct:g} % is asked for. {remedy}",
            source="TRADE-TOL",
            audience=Audience.WORKSHOP,
        ),
    )
