"""Shapes of the fact tables: what nature, standards and the trade say, whoever the maker is.

The ``data`` room fills them from files once at start: a field is a column, in the file's order, and ``columns`` says
what its metadata means. The bounds are wide on purpose. They catch a slipped decimal point, a wrong unit or two swapped
columns; whether a figure is the published one is what the reference tests check.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Final

from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.basics.bounds import RH_SPAN_PCT, within
from chequerwork.domain.basics.columns import DASHED, SNAKE, blank, chosen, column, like, up_to

CONFIDENCE: Final = ("verified-in-text", "derived", "from-memory", "house")
MEMORY: Final = "MEM"  # the source of what was read nowhere
FEPA, CAMI = "FEPA_P_ISO6344", "ANSI_CAMI"
DRIVERS: Final = ("strips", "panels", "m2", "joints", "edges", "rails", "m2 x grits", "coats", "boards")


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
class Fact:
    """A row of a table, with its ``source``: ids of the source list separated by ``"; "``.

    ``confidence`` says whether the figure was read in the source, derived, or is from memory.
    """

    confidence: str
    source: str

    @property
    def verified(self) -> bool:
        """Whether every statement of the row was read in the source it names, none being from memory."""
        return self.confidence == CONFIDENCE[0] and MEMORY not in self.source.split("; ")


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondCoefficients:
    """Another published pair of coefficients, or the pair that a published shrinkage implies; never computed with."""

    c_radial: float = field(metadata=column("c_radial_alt_per_pct") | within(0.0003, 0.008))  # 1/%
    c_tangential: float = field(metadata=column("c_tangential_alt_per_pct") | within(0.0003, 0.008))  # 1/%
    basis: str = field(metadata=column("c_alt_basis") | chosen(("published", "shrinkage")))
    source: str = field(metadata=column("c_alt_source"))

    def coefficient(self, grain: Grain) -> float:
        """Change across the face per 1 % of moisture content. [1/%] Mixed grain takes the mean."""
        return _across(grain, self.c_radial, self.c_tangential)


@dataclass(frozen=True, slots=True, kw_only=True)
class Confidences:
    """How each group of a timber's figures was come by: verified-in-text, derived, from-memory or house."""

    density: str = field(metadata=column("conf_density") | chosen(CONFIDENCE))
    shrinkage: str = field(metadata=column("conf_shrinkage") | chosen(CONFIDENCE))
    coefficients: str = field(metadata=column("conf_coefficients") | chosen(CONFIDENCE))
    hardness: str = field(metadata=column("conf_hardness") | chosen(CONFIDENCE))
    listing: str = field(metadata=column("conf_listing") | chosen(CONFIDENCE))
    dust: str = field(metadata=column("conf_dust") | chosen(CONFIDENCE))


@dataclass(frozen=True, slots=True, kw_only=True)
class Species(Fact):
    """One timber. Coefficients are fractions per 1 % of moisture content; moduli are None where not published.

    ``confidence`` is that of the figures that drive results: density and coefficients.
    """

    key: str = field(metadata=like(SNAKE, example="hard_maple"))
    name: str
    botanical: str
    density_kg_m3: float = field(metadata=within(150, 1400))  # at 12 % moisture content
    shrink_radial_pct: float = field(metadata=within(1, 15))  # green to oven-dry
    shrink_tangential_pct: float = field(metadata=within(1, 20))
    c_radial: float = field(metadata=column("c_radial_per_pct") | within(0.0003, 0.008))  # 1/%
    c_tangential: float = field(metadata=column("c_tangential_per_pct") | within(0.0003, 0.008))  # 1/%
    hardness_n: float = field(metadata=within(300, 25_000))  # side hardness, newton
    modulus_along_mpa: float | None = field(metadata=within(3_000, 30_000))
    ratio_tangential: float | None = field(metadata=within(0.01, 0.3))  # E_T / E_L
    ratio_radial: float | None = field(metadata=within(0.02, 0.4))  # E_R / E_L
    dust: str
    cites_taxon: str | None  # key into Tables.cites
    oily: bool
    colour: str = field(metadata=like("#[0-9a-f]{6}", example="#5c4033"))  # a preview tone of our own choice
    second: SecondCoefficients | None  # where sources differ
    confidences: Confidences
    note: str = field(metadata=blank(""))

    def coefficient(self, grain: Grain) -> float:
        """Change across the face per 1 % of moisture content. [1/%] Mixed grain takes the mean."""
        return _across(grain, self.c_radial, self.c_tangential)

    def shrinkage_pct(self, grain: Grain) -> float:
        """Green to oven-dry shrinkage across the face. [%]"""
        return _across(grain, self.shrink_radial_pct, self.shrink_tangential_pct)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimberName(Fact):
    """A name that a timber goes by, in one language; several timbers may share one.

    ``also`` holds botanical names of timbers outside the species table that bear the name too.
    """

    text: str = field(metadata=column("name"))  # as it is written
    language: str  # ISO 639-1, "botanical", or "key" for the key itself
    species: str
    also: tuple[str, ...]
    words: tuple[str, ...] = field(metadata=column(None))  # as they are compared: plain small letters

    @property
    def folded(self) -> str:
        """The name as it is compared: its words without the spaces between them."""
        return "".join(self.words)


@dataclass(frozen=True, slots=True, kw_only=True)
class Abrasive(Fact):
    """One grade of coated abrasive with the customary mean size of its grain."""

    grade: str  # "P120"
    system: str = field(metadata=chosen((FEPA, CAMI)))
    particle_um: float = field(metadata=within(1, 3_000))


@dataclass(frozen=True, slots=True, kw_only=True)
class Finish(Fact):
    """A class of finish; figures are per coat and at about 20 degC.

    ``per_10c`` here and of adhesives: times as long 10 degC colder; 1 where temperature is not known to matter.
    """

    key: str = field(metadata=like(SNAKE, example="hardwax_oil"))
    name: str
    kind: str
    coverage_m2_l: float = field(metadata=within(2, 100))
    coats: int = field(metadata=within(1, 20))
    recoat_h: float = field(metadata=within(0.05, 168))  # earliest next coat
    handle_h: float = field(metadata=within(0.1, 336))  # earliest handling after the last coat
    cure_days: float = field(metadata=within(0.1, 90))  # fully cured, slow end of the published span
    sheen: str
    stop_grade_low: str  # coarsest sensible last grade on bare wood
    stop_grade_high: str  # finest
    between_coats: str | None  # grade used between coats, None where coats are not sanded
    coats_per_day: int = field(metadata=within(1, 12))
    min_temperature_c: float = field(metadata=within(0, 30))
    reference_temperature_c: float = field(metadata=within(15, 25))  # at which its waits hold
    per_10c: float = field(metadata=within(1, 5))
    self_heating_rags: bool
    gloss: bool  # gloss as applied: unfit for tournament play unless rubbed down
    note: str = field(metadata=blank(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Adhesive(Fact):
    """A class of adhesive."""

    key: str = field(metadata=like(SNAKE, example="pva_d3"))
    name: str
    spread_g_m2: float = field(metadata=within(50, 800))
    open_min: float = field(metadata=within(0.2, 240))
    clamp_h: float = field(metadata=within(0.05, 72) | up_to("machine_after_h"))
    machine_after_h: float = field(metadata=within(0.5, 168) | up_to("full_cure_h"))
    full_cure_h: float = field(metadata=within(1, 720))
    min_temperature_c: float = field(metadata=within(0, 30))
    reference_temperature_c: float = field(metadata=within(15, 25))  # at which its waits hold
    per_10c: float = field(metadata=within(1, 5))
    pressure_low_mpa: float = field(metadata=within(0.01, 3) | up_to("pressure_high_mpa"))
    pressure_high_mpa: float = field(metadata=within(0.01, 3))
    note: str = field(metadata=blank(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure(Fact):
    """Clamp pressure on a glued joint for timbers of one class of density."""

    name: str = field(metadata=like(SNAKE, example="medium"))
    density_low_kg_m3: float = field(metadata=within(0, 1_500) | up_to("density_high_kg_m3"))  # inclusive
    density_high_kg_m3: float = field(metadata=within(0, 1_500) | blank(math.inf))  # exclusive
    low_mpa: float = field(metadata=within(0.01, 3) | up_to("high_mpa"))
    high_mpa: float = field(metadata=within(0.01, 3))
    note: str = field(metadata=blank(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet(Fact):
    """A sheet good in one nominal thickness."""

    material: str = field(metadata=like(SNAKE, example="birch_plywood"))  # "mdf", "birch_plywood", ...
    name: str
    thickness_mm: float = field(metadata=within(0.4, 60))  # nominal
    thickness_low_mm: float = field(metadata=within(0.4, 60) | up_to("thickness_high_mm"))
    thickness_high_mm: float = field(metadata=within(0.4, 60))
    length_mm: float = field(metadata=within(300, 6_000))
    width_mm: float = field(metadata=within(300, 3_000) | up_to("length_mm"))
    density_kg_m3: float = field(metadata=within(200, 1_300))
    movement_per_pct: float = field(metadata=within(0.00005, 0.002))  # in-plane, per 1 % of its own moisture content
    modulus_mpa: float = field(metadata=within(500, 20_000))
    note: str = field(metadata=blank(""))

    @property
    def is_plywood(self) -> bool:
        """Whether its moisture follows that of wood; fibreboards have a table of their own."""
        return "plywood" in self.material


@dataclass(frozen=True, slots=True, kw_only=True)
class Room(Fact):
    """A kind of room and its year: the driest and the dampest season. Rooms, not countries."""

    key: str = field(metadata=like(SNAKE, example="heated_cold_winters"))
    title: str
    low_rh_pct: float = field(metadata=within(*RH_SPAN_PCT) | up_to("high_rh_pct"))
    high_rh_pct: float = field(metadata=within(*RH_SPAN_PCT))
    temperature_c: float = field(metadata=within(-1, 50))
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessClass(Fact):
    """A nominal lumber thickness in quarters of an inch and what surfacing two sides leaves."""

    name: str = field(metadata=like("[0-9]{1,2}/[0-9]{1,2}", example="4/4"))  # "4/4"
    rough_mm: float = field(metadata=within(5, 150))
    surfaced_mm: float = field(metadata=within(2, 150) | up_to("rough_mm"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Game(Fact):
    """A game played on a chequered board."""

    key: str = field(metadata=like(DASHED, example="draughts-10"))
    title: str
    columns: int = field(metadata=within(2, 24))
    rows: int = field(metadata=within(2, 24))
    square_low_mm: float = field(metadata=within(10, 200) | up_to("square_high_mm"))
    square_high_mm: float = field(metadata=within(10, 200))
    note: str = field(metadata=blank(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class FitBand(Fact):
    """A range of fill ratio (base diameter over square) and the word for it."""

    verdict: str = field(metadata=like(SNAKE, example="roomy"))
    low: float = field(metadata=within(0, 10) | up_to("high"))  # inclusive
    high: float = field(metadata=within(0, 10) | blank(math.inf))  # exclusive


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation(Fact):
    """Norm for one operation of the build, for one board of the reference size."""

    code: str = field(metadata=like(SNAKE, example="glue_strips"))
    title: str
    driver: str = field(metadata=chosen(DRIVERS))
    setup_h: float = field(metadata=within(0, 40))  # once per batch
    unit_h: float = field(metadata=within(0, 40))  # per unit of the driver
    units_reference: float = field(metadata=within(0.01, 1_000))
    optimistic_h: float = field(metadata=within(0, 100) | up_to("likely_h"))
    likely_h: float = field(metadata=within(0, 100) | up_to("pessimistic_h"))
    pessimistic_h: float = field(metadata=within(0, 100))
    machine_share: float = field(metadata=within(0, 1))  # of the hands-on time, in which a machine runs; 0..1


class StepKind(StrEnum):
    """How a step of the build is carried out."""

    REST = "rest"  # the wood waits, nobody works
    HANDS = "hands"
    GLUE = "glue"  # hands, then clamps, then a wait before the joint is machined
    GRADES = "grades"  # once for each grade of the sanding ladders
    COATS = "coats"  # once for each coat, with the rubbing between


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildStep(Fact):
    """A step of the build and what it waits for. Its minutes are a share of its operation's."""

    code: str = field(metadata=like(SNAKE, example="glue_strips"))
    title: str  # of grades and coats with places for which
    kind: StepKind
    operation: str | None  # key of Tables.operations; None where nobody works
    part: float = field(metadata=within(0, 100))  # share of the operation, against its other steps
    after: tuple[str, ...]
    stages: tuple[str, ...]  # what is glued


class Coverage(StrEnum):
    """Whether a finished game board falls under a listing of CITES."""

    YES = "yes"
    NO = "no"
    ABOVE_LIMIT = "above-limit"  # of listed wood


class NoticeForm(StrEnum):
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

    first: date | None = field(metadata=column("applies_from"))
    last: date | None = field(metadata=column("applies_until"))

    def holds(self, day: date) -> bool:
        """Whether the text applies on ``day``."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)


@dataclass(frozen=True, slots=True, kw_only=True)
class CitesListing(Fact):
    """A listing of timbers in the appendices of CITES. ``period`` begins when the timber was first listed there."""

    taxon: str
    appendix: str = field(metadata=chosen(("I", "II", "III")))
    annotation: str = field(metadata=like("none|#[0-9]{1,2}", example="#15 or none"))
    period: Period
    populations: str
    parts_covered: str
    finished_board: Coverage
    limit_kg: float | None = field(metadata=within(0.01, 1_000))  # of listed wood; up to it finished goods are exempt
    limit_from: date | None
    note: str

    @property
    def limit_period(self) -> Period:
        """The days on which the limit applies."""
        return Period(first=self.limit_from, last=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice(Fact):
    """A dated text of law, safety or handling; ``authority`` is who to ask, ``as_of`` when the text was checked."""

    code: str = field(metadata=like(DASHED, example="wood-dust"))
    severity: Severity
    audience: Audience
    form: NoticeForm
    subject: str
    text: str
    authority: str
    as_of: date
    period: Period


@dataclass(frozen=True, slots=True, kw_only=True)
class Threshold(Fact):
    """A number of law or of a test standard, with the days on which it applies."""

    key: str = field(metadata=like(DASHED, example="small-parts-bore"))
    value: float = field(metadata=within(0.001, 10_000))  # in ``unit``
    unit: str = field(metadata=chosen(("fraction", "kg", "mm", "percent")))
    period: Period
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Currency(Fact):
    """A currency with its ISO 4217 exponent, and what its coins can pay."""

    code: str = field(metadata=like("[A-Z]{3}", example="EUR"))
    exponent: int = field(metadata=within(0, 4))
    cash_step: Decimal | None = field(metadata=within(0.0001, 1_000))  # least in cash, where above the last decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Flute(Fact):
    """A kind of corrugated board and its thickness."""

    name: str = field(metadata=like("[A-Z]{1,2}", example="BC"))
    caliper_mm: float = field(metadata=within(0.5, 20))
    note: str = field(metadata=blank(""))


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingText(Fact):
    """A line of the packing list: a material's name, a step, or a photograph to take."""

    key: str = field(metadata=like(DASHED, example="step-wrap"))
    kind: str = field(metadata=chosen(("material", "step", "photo")))
    when: str = field(metadata=chosen(("always", "corner", "face_sheet", "interleaf", "sea")))  # what asks for it
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Formula(Fact):
    """A formula in words: what it says, how a maker computes it by hand, and where it holds.

    ``function`` is its path below ``domain``, ``key`` the last part of it. ``expression`` names the function's own
    parameters.
    """

    key: str = field(metadata=like(SNAKE, example="emc_pct"))
    title: str
    function: str = field(
        metadata=like(r"[a-z_]+(\.[a-z_]+)*\.[a-z][a-z0-9_]*", example="timber.emc_pct")
    )  # "timber.emc_pct"
    expression: str
    unit: str  # of the result
    valid: str
    locator: str
    note: str = field(metadata=blank(""))


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
