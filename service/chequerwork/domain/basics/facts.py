"""Shapes of the fact tables: what nature, standards and the trade say, whoever the maker is.

The ``data`` room fills them from files once at start. Every row carries ``source``, ids of the source list separated
by ``"; "``, and says in ``confidence`` whether the figure was read in the source, derived, or is from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from chequerwork.domain.basics.advice import Audience


class Grain(StrEnum):
    """How a piece was sawn: the direction that lies across its face."""

    FLAT = "flat"
    QUARTER = "quarter"
    MIXED = "mixed"


def _across(grain: Grain, radial: float, tangential: float) -> float:
    """The figure that lies across the face of a piece."""
    if grain is Grain.MIXED:
        return (radial + tangential) / 2
    return tangential if grain is Grain.FLAT else radial


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A publication behind one or more figures."""

    id: str
    title: str
    publisher: str
    year: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondCoefficients:
    """Another published pair of coefficients, or the pair that a published shrinkage implies; never computed with."""

    c_radial: float  # 1/%
    c_tangential: float  # 1/%
    basis: str  # "published" or "shrinkage"
    source: str

    def coefficient(self, grain: Grain) -> float:
        """Change across the face per 1 % of moisture content. [1/%] Mixed grain takes the mean."""
        return _across(grain, self.c_radial, self.c_tangential)


@dataclass(frozen=True, slots=True, kw_only=True)
class Confidences:
    """How each group of a timber's figures was come by: verified-in-text, derived, from-memory or house."""

    density: str
    shrinkage: str
    coefficients: str
    hardness: str
    listing: str
    dust: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """One timber. Coefficients are fractions per 1 % of moisture content; moduli are None where not published."""

    key: str
    name: str
    botanical: str
    density_kg_m3: float  # at 12 % moisture content
    shrink_radial_pct: float  # green to oven-dry
    shrink_tangential_pct: float
    c_radial: float  # 1/%
    c_tangential: float  # 1/%
    second: SecondCoefficients | None  # where sources differ
    hardness_n: float  # side hardness, newton
    modulus_along_mpa: float | None
    ratio_tangential: float | None  # E_T / E_L
    ratio_radial: float | None  # E_R / E_L
    dust: str
    cites_taxon: str | None  # key into Tables.cites
    oily: bool
    colour: str  # "#rrggbb", a preview tone of our own choice
    confidence: str  # of the figures that drive results: density and coefficients
    confidences: Confidences
    note: str
    source: str

    def coefficient(self, grain: Grain) -> float:
        """Change across the face per 1 % of moisture content. [1/%] Mixed grain takes the mean."""
        return _across(grain, self.c_radial, self.c_tangential)

    def shrinkage_pct(self, grain: Grain) -> float:
        """Green to oven-dry shrinkage across the face. [%]"""
        return _across(grain, self.shrink_radial_pct, self.shrink_tangential_pct)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimberName:
    """A name that a timber goes by, in one language; several timbers may share one.

    ``also`` holds botanical names of timbers outside the species table that bear the name too.
    """

    text: str  # as it is written
    language: str  # ISO 639-1, "botanical", or "key" for the key itself
    species: str
    also: tuple[str, ...]
    words: tuple[str, ...]  # as they are compared: plain small letters
    confidence: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Abrasive:
    """One grade of coated abrasive with the customary mean size of its grain."""

    grade: str  # "P120"
    system: str  # "FEPA_P_ISO6344" or "ANSI_CAMI"
    particle_um: float
    confidence: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish:
    """A class of finish; figures are per coat and at about 20 degC."""

    key: str
    name: str
    kind: str
    coverage_m2_l: float
    coats: int
    recoat_h: float  # earliest next coat
    handle_h: float  # earliest handling after the last coat
    cure_days: float  # fully cured, slow end of the published span
    sheen: str
    stop_grade_low: str  # coarsest sensible last grade on bare wood
    stop_grade_high: str  # finest
    between_coats: str | None  # grade used between coats, None where coats are not sanded
    coats_per_day: int
    min_temperature_c: float
    reference_temperature_c: float  # at which its waits hold
    per_10c: float  # times as long 10 degC colder; 1 where temperature is not known to matter
    self_heating_rags: bool
    gloss: bool  # gloss as applied: unfit for tournament play unless rubbed down
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Adhesive:
    """A class of adhesive."""

    key: str
    name: str
    spread_g_m2: float
    open_min: float
    clamp_h: float
    machine_after_h: float
    full_cure_h: float
    min_temperature_c: float
    reference_temperature_c: float  # at which its waits hold
    per_10c: float  # times as long 10 degC colder; 1 where temperature is not known to matter
    pressure_low_mpa: float
    pressure_high_mpa: float
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure:
    """Clamp pressure on a glued joint for timbers of one class of density."""

    name: str
    density_low_kg_m3: float  # inclusive
    density_high_kg_m3: float  # exclusive
    low_mpa: float
    high_mpa: float
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet good in one nominal thickness."""

    material: str  # "mdf", "birch_plywood", ...
    name: str
    thickness_mm: float  # nominal
    thickness_low_mm: float
    thickness_high_mm: float
    length_mm: float
    width_mm: float
    density_kg_m3: float
    movement_per_pct: float  # in-plane change, fraction per 1 % of its own moisture content
    modulus_mpa: float
    confidence: str
    note: str
    source: str

    @property
    def is_plywood(self) -> bool:
        """Whether its moisture follows that of wood; fibreboards have a table of their own."""
        return "plywood" in self.material


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """A kind of room and its year: the driest and the dampest season. Rooms, not countries."""

    key: str
    title: str
    low_rh_pct: float
    high_rh_pct: float
    temperature_c: float
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessClass:
    """A nominal lumber thickness in quarters of an inch and what surfacing two sides leaves."""

    name: str  # "4/4"
    rough_mm: float
    surfaced_mm: float
    confidence: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Game:
    """A game played on a chequered board."""

    key: str
    title: str
    columns: int
    rows: int
    square_low_mm: float
    square_high_mm: float
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FitBand:
    """A range of fill ratio (base diameter over square) and the word for it."""

    verdict: str
    low: float  # inclusive
    high: float  # exclusive
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """Norm for one operation of the build, for one board of the reference size."""

    code: str
    title: str
    driver: str
    setup_h: float  # once per batch
    unit_h: float  # per unit of the driver
    units_reference: float
    optimistic_h: float
    likely_h: float
    pessimistic_h: float
    machine_share: float  # of the hands-on time, in which a machine runs; 0..1
    confidence: str
    source: str


class StepKind(StrEnum):
    """How a step of the build is carried out."""

    REST = "rest"  # the wood waits, nobody works
    HANDS = "hands"
    GLUE = "glue"  # hands, then clamps, then a wait before the joint is machined
    GRADES = "grades"  # once for each grade of the sanding ladders
    COATS = "coats"  # once for each coat, with the rubbing between


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildStep:
    """A step of the build and what it waits for. Its minutes are a share of its operation's."""

    code: str
    title: str  # of grades and coats with places for which
    kind: StepKind
    operation: str | None  # key of Tables.operations; None where nobody works
    part: float  # share of the operation, against its other steps
    after: tuple[str, ...]
    stages: tuple[str, ...]  # what is glued
    confidence: str
    source: str


class Coverage(StrEnum):
    """Whether a finished game board falls under a listing of CITES."""

    YES = "yes"
    NO = "no"
    ABOVE_LIMIT = "above-limit"  # of listed wood


class Form(StrEnum):
    """What a notice is about."""

    FINISHED_BOARD = "finished-board"  # the board as goods: customs, timber law, product safety
    RAW_STOCK = "raw-stock"  # sawn wood, strips, veneer, plywood that the maker buys
    PACKAGING = "packaging"
    MAKING = "making"  # dust, rags
    USE = "use"  # the board in the customer's house and in play
    SALE = "sale"  # consumer law


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """The days on which a text applies, both ends included. None where there is no end, or none is known."""

    first: date | None
    last: date | None

    def holds(self, day: date) -> bool:
        """Whether the text applies on ``day``."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True, kw_only=True)
class CitesListing:
    """A listing of timbers in the appendices of CITES. ``period`` begins when the timber was first listed there."""

    taxon: str
    appendix: str
    annotation: str
    period: Period
    populations: str
    parts_covered: str
    finished_board: Coverage
    limit_kg: float | None  # of listed wood, up to which finished goods are exempt
    limit_period: Period
    confidence: str
    verified: bool  # every statement was read in its source
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """A dated text of law, safety or handling; ``authority`` is who to ask, ``as_of`` when the text was checked."""

    code: str
    severity: str
    audience: Audience
    form: str  # one of Form
    subject: str
    text: str
    authority: str
    as_of: date
    period: Period
    confidence: str
    verified: bool  # every statement was read in its source
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold:
    """A number of law or of a test standard, with the days on which it applies."""

    key: str
    value: float  # in ``unit``
    unit: str
    period: Period
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Currency:
    """A currency with its ISO 4217 exponent, and what its coins can pay."""

    code: str
    exponent: int
    cash_step: Decimal | None  # smallest amount paid in cash, where it is more than the last decimal
    confidence: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Flute:
    """A kind of corrugated board and its thickness."""

    name: str
    caliper_mm: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingText:
    """A line of the packing list: a material's name, a step, or a photograph to take."""

    key: str
    kind: str  # "material", "step" or "photo"
    when: str  # "always", or what of the parcel asks for it
    text: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula:
    """A formula in words: what it says, how a maker computes it by hand, and where it holds.

    ``function`` is its path below ``domain``, ``key`` the last part of it. ``expression`` names the function's own
    parameters.
    """

    key: str
    title: str
    function: str  # "timber.emc_pct"
    expression: str
    unit: str  # of the result
    valid: str
    locator: str
    confidence: str
    note: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tables:
    """Every fact table, read once; ``version`` changes when any byte of them does.

    Compared by identity, so that what is worked out of the facts alone can be remembered.
    """

    version: str
    sources: Mapping[str, Source]
    species: Mapping[str, Species]
    names: Mapping[str, tuple[TimberName, ...]]  # folded name -> everything that bears it, keys first
    called: Mapping[str, tuple[TimberName, ...]]  # species key -> its names, without the key itself
    abrasives: Mapping[str, Abrasive]  # FEPA grades by name, coarse to fine
    abrasives_cami: Mapping[str, Abrasive]
    finishes: Mapping[str, Finish]
    adhesives: Mapping[str, Adhesive]
    pressures: tuple[Pressure, ...]  # light to dense, without a gap
    sheets: tuple[Sheet, ...]
    rooms: Mapping[str, Room]
    thickness_classes: tuple[ThicknessClass, ...]  # thin to thick
    games: Mapping[str, Game]
    fit_bands: tuple[FitBand, ...]  # loose to crowded
    operations: Mapping[str, Operation]  # in the order of the build
    steps: Mapping[str, BuildStep]  # each after those it waits for
    cites: Mapping[str, CitesListing]
    notices: Mapping[str, Notice]
    thresholds: Mapping[str, Threshold]
    flutes: Mapping[str, Flute]
    packing: Mapping[str, PackingText]  # in the order of the work
    currencies: Mapping[str, Currency]
    countries: Mapping[str, str]  # ISO 3166 alpha-2 -> English short name
    eu_members: frozenset[str]
    formulas: Mapping[str, Formula]

    def listing_of(self, species: str) -> CitesListing | None:
        """The CITES listing under which a timber falls, by the key of the timber, or None."""
        return self.cites.get(self.species[species].cites_taxon or "")

    @property
    def glued_steps(self) -> tuple[BuildStep, ...]:
        """Steps of the build with glue, in its order."""
        return tuple(step for step in self.steps.values() if step.stages)

    def pressure(self, density_kg_m3: float) -> Pressure:
        """The clamp pressure for a timber of this density [kg/m3]."""
        return next(p for p in self.pressures if density_kg_m3 < p.density_high_kg_m3)

    def sheet(self, material: str, thickness_mm: float) -> Sheet | None:
        """The sheet of ``material`` whose nominal thickness is ``thickness_mm`` [mm] within 0.5 mm, or None."""
        fits = [s for s in self.sheets if s.material == material and abs(s.thickness_mm - thickness_mm) <= 0.5]
        return min(fits, key=lambda s: abs(s.thickness_mm - thickness_mm), default=None)
