"""Seasonal change of size: one piece, the field strip by strip, the rails, and the seat of a floating field."""

import itertools
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from chequerwork.domain.basics.errors import Fault, OutsideValidity
from chequerwork.domain.basics.facts import Grain, Sheet, Species, Tables
from chequerwork.domain.basics.shop import Climate, Lumber
from chequerwork.domain.board.geometry import GLUED_SEAT, Seat, lap_over_mm
from chequerwork.domain.order.order import Base, BoardField, Edge, Frame, Hold, Joint
from chequerwork.domain.wood.timber import FIBRE_SATURATION_PCT, emc_pct, in_plane_strain, sheet_mc_pct

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


class Air(NamedTuple):
    """Air of a room in one season."""

    temperature_c: float
    rh_pct: float


class Moisture(NamedTuple):
    """Moisture content on the day it is built, in the customer's driest season and in the dampest."""

    build_pct: float
    low_pct: float
    high_pct: float


class Strain(NamedTuple):
    """Change of size from the day it is built to each season, as a fraction of the size. Positive is swelling."""

    dry: float
    damp: float

    @property
    def worst(self) -> float:
        """The larger of the two, signed."""
        return max(self, key=abs)


class Strips(NamedTuple):
    """Equal strips that lie side by side across the field; ``pieces`` in a bar, or both lines of a pair."""

    role: str  # "light", "dark" or "line"
    species: str
    grain: Grain
    pieces: int
    width_mm: float
    strain: Strain

    @property
    def all_mm(self) -> float:
        """Width of all of them together. [mm]"""
        return self.pieces * self.width_mm

    @property
    def change_mm(self) -> Strain:
        """Of all of them together, to each season. [mm]"""
        all_mm = self.all_mm
        return Strain(all_mm * self.strain.dry, all_mm * self.strain.damp)


class Year:
    """The customer's year as seen from the workshop: what each timber and sheet makes of it, worked out once."""

    def __init__(self, tables: Tables, build: Air, dry: Air, damp: Air) -> None:
        self._tables, self.air = tables, (build, dry, damp)
        self.moisture = Moisture(*(emc_pct(temperature_c=t, rh_pct=rh) for t, rh in self.air))
        self._strains: dict[tuple[str, Grain], Strain] = {}
        self._sheets: dict[tuple[str, float], tuple[Sheet | None, Strain]] = {}

    def strain(self, species: str, grain: Grain) -> Strain:
        """Strain across the face of a timber, by its key."""
        known = self._strains.get((species, grain))
        if known is None:
            known = strain(self._tables.species[species], grain, self.moisture)
            self._strains[species, grain] = known
        return known

    def sheet(self, base: Base) -> tuple[Sheet | None, Strain]:
        """The sheet of a base and its strain in the plane; None and no strain where no such sheet is known."""
        key = base.material, base.thickness_mm
        known = self._sheets.get(key)
        if known is None:
            sheet = self._tables.sheet(*key)
            known = sheet, self._sheet_strain(sheet) if sheet else Strain(0.0, 0.0)
            self._sheets[key] = known
        return known

    def sheet_moisture(self, sheet: Sheet) -> Moisture:
        """Moisture content of a sheet good in the same air."""
        return Moisture(*(sheet_mc_pct(sheet, temperature_c=t, rh_pct=rh) for t, rh in self.air))

    def _sheet_strain(self, sheet: Sheet) -> Strain:
        build_pct, *seasons = self.sheet_moisture(sheet)
        dry, damp = (in_plane_strain(sheet.movement_per_pct, build_pct, to_pct) for to_pct in seasons)
        return Strain(dry, damp)

    @property
    def driest_rh_pct(self) -> float:
        """Relative humidity of the customer's driest season. [%]"""
        return self.air[1].rh_pct

    @property
    def dampest_rh_pct(self) -> float:
        """Relative humidity of the customer's dampest season. [%]"""
        return self.air[2].rh_pct


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """Change of the board's inner width, lines included, from the day the board is built."""

    strips: tuple[Strips, ...]
    shrink_mm: float
    swell_mm: float

    @property
    def total_mm(self) -> float:
        """From the driest season to the dampest. [mm]"""
        return self.shrink_mm + self.swell_mm

    @property
    def band_mm(self) -> float:
        """Plus or minus, on the larger of the two. [mm]"""
        return BAND * max(self.shrink_mm, self.swell_mm)


class RailChange(NamedTuple):
    """What the seasons do to the width of a rail, and to a mitre of two such rails; no gap where they are butted."""

    strain: Strain
    shrink_mm: float
    swell_mm: float
    gap_inside_mm: float  # in the driest season
    gap_outside_mm: float  # in the dampest season

    @property
    def gap_mm(self) -> float:
        """In the worse season. [mm]"""
        return max(self.gap_inside_mm, self.gap_outside_mm)

    @property
    def gap_band_mm(self) -> float:
        """Plus or minus, on the larger gap. [mm]"""
        return BAND * self.gap_mm

    @property
    def band_mm(self) -> float:
        """Plus or minus, on the larger change of width. [mm]"""
        return BAND * max(self.shrink_mm, self.swell_mm)

    @property
    def side(self) -> str | None:
        """Where the mitre opens in the worse season; None where it stays shut."""
        if not self.gap_mm:
            return None
        return "inside" if self.gap_inside_mm >= self.gap_outside_mm else "outside"


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
    now_mm = width_mm
    for start, end in _way(from_pct, to_pct):
        if _coefficient_holds(start, end):
            now_mm += now_mm * species.coefficient(grain) * (end - start)
        else:
            now_mm += change_by_shrinkage_mm(
                width_mm=now_mm, shrinkage_pct=species.shrinkage_pct(grain), from_pct=start, to_pct=end
            )
    return now_mm - width_mm


def _way(from_pct: float, to_pct: float) -> Iterator[tuple[float, float]]:
    """The way from one moisture content to another, cut at 6 and 14 %."""
    stops = sorted((COEFFICIENT_LOW_PCT, COEFFICIENT_HIGH_PCT), reverse=to_pct < from_pct)
    return itertools.pairwise(
        [from_pct, *(s for s in stops if min(from_pct, to_pct) < s < max(from_pct, to_pct)), to_pct]
    )


def _coefficient_holds(from_pct: float, to_pct: float) -> bool:
    return min(from_pct, to_pct) >= COEFFICIENT_LOW_PCT and max(from_pct, to_pct) <= COEFFICIENT_HIGH_PCT


class MoistureStage(NamedTuple):
    """A part of the way from one moisture content to another: the form that holds there, and its inputs but width."""

    form: Callable[..., float]
    inputs: dict[str, float]


def stages(species: Species, grain: Grain, from_pct: float, to_pct: float) -> Iterator[MoistureStage]:
    """The stages of ``change_mm`` from one moisture content to another. [%]"""
    for start, end in _way(from_pct, to_pct):
        way = {"from_pct": start, "to_pct": end}
        if _coefficient_holds(start, end):
            yield MoistureStage(change_by_coefficient_mm, {"coefficient": species.coefficient(grain), **way})
        else:
            yield MoistureStage(change_by_shrinkage_mm, {"shrinkage_pct": species.shrinkage_pct(grain), **way})


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


def strain(species: Species, grain: Grain, moisture: Moisture) -> Strain:
    """Strain across the face of a timber, from the day it is built to each season."""
    return Strain(
        *(
            change_mm(width_mm=1.0, species=species, grain=grain, from_pct=moisture.build_pct, to_pct=to_pct)
            for to_pct in moisture[1:]
        )
    )


def year_of(home: Climate, room: Climate, tables: Tables) -> Year:
    """The customer's year and the room of the workshop; one with two humidities builds at their middle."""
    return _year(
        tables,
        Air(room.temperature_c, (room.low_rh_pct + room.high_rh_pct) / 2),
        Air(home.temperature_c, home.low_rh_pct),
        Air(home.temperature_c, home.high_rh_pct),
    )


@lru_cache(maxsize=64)  # most customers of a shop live in its usual climate
def _year(tables: Tables, build: Air, dry: Air, damp: Air) -> Year:
    return Year(tables, build, dry, damp)


def swing(field: BoardField, lumber: Mapping[str, Lumber], year: Year) -> Swing:
    """What the year makes of the width of the field with its lines: strips side by side simply add."""
    strips = tuple(field_strips(field, lumber, year))
    dry_mm = damp_mm = 0.0
    for part in strips:
        change = part.change_mm
        dry_mm += change.dry
        damp_mm += change.damp
    # A customer damper than the workshop all year sees no shrinking, a drier one no swelling.
    return Swing(strips=strips, shrink_mm=max(0.0, -dry_mm), swell_mm=max(0.0, damp_mm))


def field_strips(field: BoardField, lumber: Mapping[str, Lumber], year: Year) -> Iterator[Strips]:
    """What lies across the board's inner width, by timber.

    An odd field's bars hold one strip more of one timber; the livelier timber is taken.
    """
    light, dark = year.strain(field.light, field.light_grain), year.strain(field.dark, field.dark_grain)
    half, odd = divmod(field.columns, 2)
    light_odd = odd if abs(light.worst) > abs(dark.worst) else 0
    yield Strips("light", field.light, field.light_grain, half + light_odd, field.square_mm, light)
    yield Strips("dark", field.dark, field.dark_grain, half + odd - light_odd, field.square_mm, dark)
    for line in field.lines:
        grain = lumber[line.species].grain
        yield Strips("line", line.species, grain, 2, line.width_mm, year.strain(line.species, grain))


def rail_change(frame: Frame | None, year: Year) -> RailChange | None:
    """What the year makes of a rail's width and of the mitres; None without a frame."""
    if frame is None:
        return None
    found = year.strain(frame.species, frame.grain)
    shrinking, swelling = min(0.0, found.dry), max(0.0, found.damp)
    mitred_mm = frame.width_mm if frame.joint is Joint.MITRE else 0.0
    return RailChange(
        strain=found,
        shrink_mm=-frame.width_mm * shrinking,
        swell_mm=frame.width_mm * swelling,
        gap_inside_mm=mitre_gap_mm(width_mm=mitred_mm, strain=shrinking),
        gap_outside_mm=mitre_gap_mm(width_mm=mitred_mm, strain=swelling),
    )


def seat(frame: Frame | None, season: Swing) -> Seat:
    """Clearance and tongue of a floating field, per side; zeros for any other.

    Clearance is half of the swelling still to come from the day of assembly, with the band. The tongue is measured
    from the field's shoulder: it bridges the clearance and the shrinking half with its band, and still stays in the
    groove. The groove is as deep as the tongue is long. Both rounded up to 0.1 mm.

    References
    ----------
    TRADE-FRAME and TRADE-MOVE: half the remaining swing from the moisture at assembly.
    """
    if frame is None or frame.hold is not Hold.FLOATING:
        return GLUED_SEAT
    clearance_mm = clearance_needed_mm(season.swell_mm)
    deep_mm = tongue_needed_mm(clearance_mm, season.shrink_mm)
    lipped = frame.edge is Edge.LIP
    lap_mm = lap_over_mm(groove_mm=deep_mm, clearance_mm=clearance_mm) if lipped else 0.0
    return Seat(clearance_mm, deep_mm, lap_mm)


def clearance_needed_mm(swell_mm: float) -> float:
    """Clearance of a floating field on each side, rounded up to 0.1 mm. [mm]

    Parameters
    ----------
    swell_mm
        Of the whole field, from the day it is built. [mm]

    References
    ----------
    TRADE-FRAME: half the swelling still to come; with a band of a quarter, and at least 0.5 mm to put it together.
    """
    return _up(max(FIT_LEAST_MM, swell_mm / 2 * (1 + BAND)))


def tongue_needed_mm(clearance_mm: float, shrink_mm: float) -> float:
    """Tongue of a floating field on each side, rounded up to 0.1 mm; its groove is as deep. [mm]

    Parameters
    ----------
    clearance_mm
        Which it bridges. [mm]
    shrink_mm
        Of the whole field, from the day it is built. [mm]

    References
    ----------
    TRADE-FRAME and TRADE-MOVE: half the shrinking with its band, and 3 mm that stay in the groove; at least 6 mm.
    """
    return _up(max(TONGUE_LEAST_MM, clearance_mm + shrink_mm / 2 * (1 + BAND) + TONGUE_HOLD_MM))


def edge_gap_mm(seat: Seat, season: Swing) -> Strain:
    """Gap between squares and rail on each side of a field that floats by a tongue, in each season. [mm]"""
    return Strain(seat.clearance_mm + season.shrink_mm / 2, seat.clearance_mm - season.swell_mm / 2)


def panel_change_mm(strain: Strain, width_mm: float) -> Strain:
    """Shrinking of a panel that is ``width_mm`` [mm] wide to the driest season and its swelling to the dampest. [mm]"""
    return Strain(max(0.0, -strain.dry) * width_mm, max(0.0, strain.damp) * width_mm)


def groove_fault(frame: Frame | None, sat: Seat) -> Fault | None:
    """Fault of a floating field whose groove would leave too little of the rail, or None."""
    deep_mm = sat.tongue_mm
    needed_mm = deep_mm + RAIL_LEFT_MM
    if frame is None or not deep_mm or frame.width_mm >= needed_mm:
        return None
    return Fault(
        at=("frame", "width"),
        code="too-small",
        detail=f"In this climate the floating field needs a groove {deep_mm:.1f} mm deep, which a rail of "
        f"{frame.width_mm:.4g} mm cannot hold. Ask for a rail of at least {math.ceil(needed_mm):g} mm.",
    )


def _within(what: str, given: float, low: float, high: float) -> None:
    if not low - 1e-9 <= given <= high + 1e-9:
        raise OutsideValidity(what=what, given=given, low=low, high=high, unit="%")


def _up(value_mm: float) -> float:
    return math.ceil(value_mm * 10 - 1e-9) / 10
