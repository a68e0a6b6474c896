"""The verdict on a construction: what to expect of it in the customer's climate, each reason with its numbers."""

import math
from collections.abc import Collection, Iterator
from enum import StrEnum
from typing import NamedTuple

from chequerwork.domain.basics.advice import Advice, Severity
from chequerwork.domain.basics.errors import Path
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.accuracy import Accuracy, accuracy_of
from chequerwork.domain.board.geometry import Seat, base_is_glued, hidden_edge_mm
from chequerwork.domain.order.order import Base, BoardField, Corners, Frame, Hold, Joint, Pattern
from chequerwork.domain.wood.flatness import Flatness, flatten
from chequerwork.domain.wood.movement import (
    BAND,
    COEFFICIENT_HIGH_PCT,
    COEFFICIENT_LOW_PCT,
    RailChange,
    Swing,
    Year,
    edge_gap_mm,
    rail_change,
    seat,
    swing,
)
from chequerwork.domain.wood.support import THIN_MM, support_margin, thickness_for_margin_mm
from chequerwork.domain.wood.timber import fibreboard_extrapolates, moduli

# From the first figure of a pair on a construction is to be watched, from the second damage is expected: what a glued
# joint or the eye forgives (common practice, no source).
GLUED_SWING_MM = (0.5, 1.0)
MITRE_GAP_MM = (0.4, 1.0)
BOW_MM = (1.0, 3.0)
HIDDEN_MM = 0.5  # players see a square that is narrower than the others (common practice, no source)
SUPPORT_MARGIN = (
    4.0,
    2.0,
)  # strength over stress: the spread of wood and glue takes the half (common practice, no source)
GROOVE_SHARE = 0.5  # a deeper groove weakens the rail (common practice, no source)


class Verdict(StrEnum):
    """What to expect of a construction in the customer's climate."""

    SOUND = "sound"
    WATCH = "watch"
    EXPECT_DAMAGE = "expect damage"

    @property
    def rank(self) -> int:
        """0 is best."""
        return _ORDER.index(self)


_ORDER = (Verdict.SOUND, Verdict.WATCH, Verdict.EXPECT_DAMAGE)


class Reason(NamedTuple):
    """One part of the verdict: the number it rests on, where that stands in the answer, and the limits it is held to.

    ``text`` has ``{0}``, ``{1}`` where the lengths belong. Beyond a limit is above it, or below where ``least``. There
    is no limit where nothing can go wrong, and no second one where no damage is to be expected.
    """

    code: str
    verdict: Verdict
    at: Path
    value_mm: float
    text: str
    lengths_mm: tuple[float, ...] = ()
    watch_mm: float | None = None
    damage_mm: float | None = None
    least: bool = False

    @property
    def excess(self) -> float:
        """The number over the first limit, or the limit over the number where that is the least; 0 without a limit."""
        if not self.watch_mm:
            return 0.0
        return self.watch_mm / self.value_mm if self.least else self.value_mm / self.watch_mm


class Assessment(NamedTuple):
    """A construction looked at in the customer's year."""

    season: Swing
    seat: Seat
    rail: RailChange | None
    flatness: Flatness
    accuracy: Accuracy
    reasons: tuple[Reason, ...]
    advice: tuple[Advice, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The worst reason decides."""
        return max((reason.verdict for reason in self.reasons), key=_ORDER.index, default=Verdict.SOUND)

    def reason(self, code: str) -> Reason | None:
        """The reason of that code, or None where the construction has no such part."""
        return next((reason for reason in self.reasons if reason.code == code), None)


class Case(NamedTuple):
    """What stays the same when a construction changes: the shop, what is wanted of it, and the customer's year."""

    shop: Shop
    corners: Corners
    tables: Tables
    year: Year


def assess(
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    tables: Tables,
    year: Year,
    season: Swing,
    accuracy: Accuracy,
) -> Assessment:
    """A construction with its advice; what is already known of it is given."""
    rail, flatness = rail_change(frame, year), flatten(field, frame, base, tables, year, season)
    found = _examined(field, frame, base, tables, season, rail, flatness, accuracy)
    return found._replace(advice=(*_unsound(found), *_beyond(field, frame, base, tables, year, found)))


def examine(
    case: Case,
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    known: Assessment,
    *,
    touched: Collection[str],
) -> Assessment:
    """Another construction in the same year, of which only the ``touched`` parts are new; without advice.

    Parts are ``season`` (the field's strips), ``rail``, ``flatness`` and ``accuracy``; what rests on the season is
    looked at again with it.
    """
    shop, corners, tables, year = case
    season = swing(field, shop.lumber, year) if "season" in touched else known.season
    return _examined(
        field,
        frame,
        base,
        tables,
        season,
        rail_change(frame, year) if "rail" in touched else known.rail,
        flatten(field, frame, base, tables, year, season) if {"season", "flatness"} & set(touched) else known.flatness,
        accuracy_of(field, frame, corners, shop.machines) if "accuracy" in touched else known.accuracy,
    )


def _examined(
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    tables: Tables,
    season: Swing,
    rail: RailChange | None,
    flatness: Flatness,
    accuracy: Accuracy,
) -> Assessment:
    sat = seat(frame, season)
    reasons = (
        *_held(frame, season, sat),
        *_edge_squares(field, sat),
        *_mitre(frame, rail),
        *_based(frame, base, flatness),
        *_unsupported(field, frame, base, tables),
        *_corners(field.pattern, accuracy),
    )
    return Assessment(season=season, seat=sat, rail=rail, flatness=flatness, accuracy=accuracy, reasons=reasons)


def _held(frame: Frame | None, season: Swing, sat: Seat) -> Iterator[Reason]:
    """How the frame holds the field."""
    if frame is None:
        return
    if frame.hold is Hold.GLUED:
        yield Reason(
            code="glued-field",
            verdict=_grade(season.total_mm, GLUED_SWING_MM),
            at=("movement", "field", "total_mm"),
            value_mm=season.total_mm,
            watch_mm=GLUED_SWING_MM[0],
            damage_mm=GLUED_SWING_MM[1],
            text="The field wants to change by {0} across the grain over the year, and the glued frame holds it.",
            lengths_mm=(season.total_mm,),
        )
        return
    fits = sat.tongue_mm <= frame.width_mm * GROOVE_SHARE
    yield Reason(
        code="floating-field",
        verdict=Verdict.SOUND if fits else Verdict.WATCH,
        at=("geometry", "frame", "tongue_mm"),
        value_mm=sat.tongue_mm,
        watch_mm=frame.width_mm * GROOVE_SHARE,
        text="The field is free to change by {0}: {1} clearance in a groove {2} deep on each side"
        + ("" if sat.lap_mm else "; in the driest season the gap beside the squares is {3}")
        + ("." if fits else "; the groove takes more than half of the {4} rail."),
        lengths_mm=(
            season.total_mm,
            sat.clearance_mm,
            sat.tongue_mm,
            edge_gap_mm(sat, season).dry,
            frame.width_mm,
        ),
    )


def _edge_squares(field: BoardField, sat: Seat) -> Iterator[Reason]:
    """How much of the outer squares a lip hides."""
    if not sat.lap_mm:
        return
    hidden_mm = hidden_edge_mm(lap_mm=sat.lap_mm, lines_mm=field.lines_mm)
    yield Reason(
        code="edge-squares",
        verdict=Verdict.SOUND if hidden_mm < HIDDEN_MM else Verdict.WATCH,
        at=("geometry", "frame", "hidden_mm"),
        value_mm=hidden_mm,
        watch_mm=HIDDEN_MM,
        text="The lip laps over the field by {0} and hides {1} of the outer squares, which show {2} wide.",
        lengths_mm=(sat.lap_mm, hidden_mm, field.square_mm - hidden_mm),
    )


def _mitre(frame: Frame | None, rail: RailChange | None) -> Iterator[Reason]:
    if frame is None or rail is None or frame.joint is not Joint.MITRE:
        return
    where = f" on the {rail.side}" if rail.side else ""
    yield Reason(
        code="mitre",
        verdict=_grade(rail.gap_mm, MITRE_GAP_MM),
        at=("movement", "mitre_gap_mm"),
        value_mm=rail.gap_mm,
        watch_mm=MITRE_GAP_MM[0],
        damage_mm=MITRE_GAP_MM[1],
        text="The mitres open by up to {0}" + where + " in the worse season.",
        lengths_mm=(rail.gap_mm,),
    )


def _based(frame: Frame | None, base: Base | None, flatness: Flatness) -> Iterator[Reason]:
    """How the base holds the field."""
    if base is None:
        return
    if not base_is_glued(frame, base):
        yield Reason(
            code="base",
            verdict=Verdict.SOUND,
            at=("movement", "bow_mm"),
            value_mm=0.0,
            text="The base runs under the rails: it is fixed to them and to the middle of the field only, so that the "
            "field stays free.",
        )
        return
    along = flatness.along_mm > flatness.across_mm
    yield Reason(
        code="bow",
        verdict=_grade(flatness.bow_mm, BOW_MM),
        at=("movement", "bow_along_mm" if along else "bow_mm"),
        value_mm=flatness.bow_mm,
        watch_mm=BOW_MM[0],
        damage_mm=BOW_MM[1],
        text="Glued to its base the field bows by up to {0} across the grain and {1} along it.",
        lengths_mm=(flatness.across_mm, flatness.along_mm),
    )


def _unsupported(field: BoardField, frame: Frame | None, base: Base | None, tables: Tables) -> Iterator[Reason]:
    """What the end-grain joints of a field that nothing else carries bear, as the thickness that they ask for."""
    margin = support_margin(field, frame, base, tables)
    if margin is None:
        return
    watch_mm = max(THIN_MM, thickness_for_margin_mm(field, tables, SUPPORT_MARGIN[0]))
    damage_mm = thickness_for_margin_mm(field, tables, SUPPORT_MARGIN[1])
    thin_mm = field.thickness_mm + 1e-9
    yield Reason(
        code="thin-field",
        verdict=_worst(watch=thin_mm < watch_mm, damage=thin_mm < damage_mm),
        at=("geometry", "thickness_mm"),
        value_mm=field.thickness_mm,
        watch_mm=watch_mm,
        damage_mm=damage_mm,
        least=True,
        text="Nothing but its joints carries the field. Leaned on in the middle, its end-grain joints have "
        f"{margin:.1f} times the strength they need at " + "{0}; {1} and more is sound.",
        lengths_mm=(field.thickness_mm, watch_mm),
    )


def _corners(pattern: Pattern, accuracy: Accuracy) -> Iterator[Reason]:
    """Whether the corners of the squares meet: strips held to what is needed are sound. A step is no damage."""
    way = "turned" if pattern is Pattern.TURN else "shifted"
    meet = accuracy.strip_tolerance_mm <= accuracy.strip_needed_mm + 1e-9
    yield Reason(
        code="corners",
        verdict=Verdict.SOUND if meet else Verdict.WATCH,
        at=("geometry", "accuracy", "strip_tolerance_mm"),
        value_mm=accuracy.strip_tolerance_mm,
        watch_mm=accuracy.strip_needed_mm,
        text=f"With {way} bars, in at least {math.floor(accuracy.corners_within_pct):g} of 100 boards every corner of "
        f"the squares meets within {{0}}; {accuracy.corner_confidence_pct:g} are wanted.",
        lengths_mm=(accuracy.corner_limit_mm,),
    )


def _worst(*, watch: bool, damage: bool) -> Verdict:
    return Verdict.EXPECT_DAMAGE if damage else Verdict.WATCH if watch else Verdict.SOUND


def _grade(value: float, limits: tuple[float, float]) -> Verdict:
    return Verdict.SOUND if value < limits[0] else Verdict.WATCH if value < limits[1] else Verdict.EXPECT_DAMAGE


# Advice ---------------------------------------------------------------------------------------------------------------


def _unsound(found: Assessment) -> Iterator[Advice]:
    """The reasons that are not sound; corners have advice of their own, for the workshop."""
    severities = {Verdict.WATCH: Severity.CAUTION, Verdict.EXPECT_DAMAGE: Severity.WARNING}
    for reason in found.reasons:
        if reason.verdict is not Verdict.SOUND and reason.code != "corners":
            yield Advice(
                code=f"movement-{reason.code}",
                severity=severities[reason.verdict],
                at=("movement", "verdict"),
                text=reason.text,
                lengths_mm=reason.lengths_mm,
                source="WOOD-NOTES",
            )


def _beyond(
    field: BoardField, frame: Frame | None, base: Base | None, tables: Tables, year: Year, found: Assessment
) -> Iterator[Advice]:
    """Extrapolation is never silent."""
    moisture = year.moisture
    outside = [mc for mc in moisture[1:] if not COEFFICIENT_LOW_PCT <= mc <= COEFFICIENT_HIGH_PCT]
    if outside:
        yield _told(
            "moisture-beyond-table",
            ("movement", "emc_low_pct" if outside[0] < COEFFICIENT_LOW_PCT else "emc_high_pct"),
            f"At {outside[0]:.1f} % moisture content the coefficients (6 to 14 %) no longer hold; the shrinkage form "
            f"was used there. Take the changes with a band of +/-{BAND:.0%}.",
            "WH10-13-5",
        )
    yield from _livelier_elsewhere(frame, tables, found)
    if not found.flatness.across_mm:
        return
    sheet = year.sheet(base)[0] if base else None
    rooms = [rh_pct for rh_pct in (year.driest_rh_pct, year.dampest_rh_pct) if fibreboard_extrapolates(rh_pct)]
    if sheet and rooms and "plywood" not in sheet.material:
        yield _told(
            "sheet-beyond-table",
            ("movement", "base"),
            f"The moisture of {sheet.name} is published for 30 to 90 % humidity and was carried on to {rooms[0]:g} %; "
            f"take the bow with a band of +/-{BAND:.0%} and more.",
            "EWPAA",
        )
    squares = ((field.light, "light"), (field.dark, "dark"))
    estimated = [tables.species[key].name for key, _ in squares if moduli(tables.species[key]).estimated]
    if estimated:
        yield _told(
            "stiffness-estimated",
            ("movement", "bow_mm"),
            f"The stiffness of {' and '.join(estimated)} across the grain is estimated from density, because no figure "
            "is published here; take the bow as an order of magnitude.",
            "WH21-5-5b",
        )


def _livelier_elsewhere(frame: Frame | None, tables: Tables, found: Assessment) -> Iterator[Advice]:
    """Timbers of which another source prints more movement than the band takes in."""
    sawn = [(part.species, part.grain) for part in found.season.strips]
    if frame:
        sawn.append((frame.species, frame.grain))
    for key, grain in dict.fromkeys(sawn):
        species = tables.species[key]
        second = species.second
        if second is None or second.coefficient(grain) <= (1 + BAND) * species.coefficient(grain):
            continue
        more = second.coefficient(grain) / species.coefficient(grain) - 1
        yield _told(
            "livelier-elsewhere",
            ("movement", "field"),
            f"Another source has {species.name}, {grain} sawn, move {more:.0%} more than the table used here, beyond "
            f"the band of +/-{BAND:.0%}. Plan with the larger figure.",
            second.source,
        )


def _told(code: str, at: Path, text: str, source: str) -> Advice:
    return Advice(code=code, severity=Severity.INFO, at=at, text=text, source=source)
