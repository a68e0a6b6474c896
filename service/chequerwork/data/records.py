"""One row of a fact file into one fact: every value within what is physically or legally possible.

The bounds are wide on purpose. They catch a slipped decimal point, a wrong unit or two swapped columns; whether
a figure is the published one is what the reference tests check.
"""

import difflib
import math
import re
from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal

from chequerwork.data.reading import DASHED, SNAKE, Row
from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.basics.facts import (
    Abrasive,
    Adhesive,
    CitesListing,
    Confidences,
    Coverage,
    Currency,
    Finish,
    FitBand,
    Form,
    Formula,
    Game,
    Notice,
    Period,
    Pressure,
    Room,
    SecondCoefficients,
    Sheet,
    Source,
    Species,
    ThicknessClass,
    Threshold,
    TimberName,
)
from chequerwork.domain.basics.names import words
from chequerwork.domain.wood.timber import RH_HIGH_PCT, RH_LOW_PCT

FEPA, CAMI = "FEPA_P_ISO6344", "ANSI_CAMI"
CONFIDENCE = ("verified-in-text", "derived", "from-memory", "house")
BASES = ("published", "shrinkage")  # of a second pair of coefficients
MEMORY = "MEM"  # the source of what was read nowhere
PROMPT = "This is a prompt, not advice."
RADIAL_EXCUSE = "radial above tangential"

_SECOND = ("c_radial_alt_per_pct", "c_tangential_alt_per_pct", "c_alt_basis", "c_alt_source")
_COLOUR = re.compile(r"#[0-9a-f]{6}")
_COUNTRY = re.compile(r"[A-Z]{2}")
_CURRENCY = re.compile(r"[A-Z]{3}")
_ANNOTATION = re.compile(r"none|#[0-9]{1,2}")
_CLASS = re.compile(r"[0-9]{1,2}/[0-9]{1,2}")
_FUNCTION = re.compile(r"[a-z_]+(\.[a-z_]+)*\.[a-z][a-z0-9_]*")
_GRADE = {FEPA: re.compile(r"P[0-9]+"), CAMI: re.compile(r"[0-9]+")}


def check_provenance(row: Row, sources: Mapping[str, Source]) -> None:
    """Note a row without locator, with an unknown source, or with another word for its confidence."""
    row.text("locator")
    row.one_of("confidence", CONFIDENCE)
    _check_sources(row, "source", sources)


def _check_sources(row: Row, column: str, sources: Mapping[str, Source]) -> str:
    """Ids of sources as they stand in a column; notes those that are not in the list."""
    given = row.text(column)
    for source in given.split("; "):
        if source and sources and source not in sources:
            remedy = _near(source, sources, "an id of sources.toml")
            row.fault(column, "unknown-source", f"There is no source {source[:60]!r}. Name {remedy}.")
    return given


def source(row: Row) -> Source:
    """A publication."""
    return Source(
        id=row.text("id"),
        title=row.text("title"),
        publisher=row.text("publisher"),
        year=row.text("year"),
        note=row.text("note"),
    )


def notice(row: Row) -> Notice:
    """A dated text that says it is a prompt and names who to ask."""
    made = Notice(
        code=row.matching("code", DASHED, "wood-dust"),
        severity=row.one_of("severity", tuple(Severity)),
        audience=Audience.WORKSHOP if row.one_of("audience", tuple(Audience)) == "workshop" else Audience.ALL,
        form=row.one_of("form", tuple(Form)),
        subject=row.text("subject"),
        text=row.text("text"),
        authority=row.text("authority"),
        as_of=row.day("as_of"),
        period=_period(row),
        confidence=row.raw("confidence"),
        verified=_verified(row),
        source=row.raw("source"),
    )
    if PROMPT not in made.text:
        row.fault("text", "bad-value", f"The text does not say {PROMPT!r}. Add it.")
    elif made.authority not in made.text.split(PROMPT)[1]:
        row.fault("text", "bad-value", f"The text does not end with whom to ask, {made.authority!r}. Add it.")
    return made


def listing(row: Row, notices: Mapping[str, Notice]) -> CitesListing:
    """A CITES listing, which must have a notice that explains it; one with a limit says the limit and since when."""
    covered = row.one_of("finished_board", tuple(Coverage))
    limited = covered == Coverage.ABOVE_LIMIT
    made = CitesListing(
        taxon=row.text("taxon"),
        appendix=row.one_of("appendix", ("I", "II", "III")),
        annotation=row.matching("annotation", _ANNOTATION, "#15 or none"),
        period=_period(row),
        populations=row.text("populations"),
        parts_covered=row.text("parts_covered"),
        finished_board=Coverage(covered) if covered in tuple(Coverage) else Coverage.YES,
        limit_kg=row.number("limit_kg", 0.01, 1_000) if limited else None,
        limit_period=Period(first=row.day("limit_from") if limited else None, last=None),
        confidence=row.raw("confidence"),
        verified=_verified(row),
        note=row.text("note"),
        source=row.raw("source"),
    )
    if not limited:
        _check_empty(row, ("limit_kg", "limit_from"), f"finished_board is {covered}")
    code = f"cites-{made.appendix}-{made.annotation}".lower().replace("#", "").removesuffix("-none")
    if notices and code not in notices:
        detail = f"No notice {code!r} explains this listing. Add one to notices.toml."
        row.fault("annotation", "unknown-name", detail)
    return made


def threshold(row: Row) -> Threshold:
    """A number of law or of a test standard."""
    return Threshold(
        key=row.matching("key", DASHED, "small-parts-bore"),
        value=row.number("value", 0.001, 10_000),
        unit=row.one_of("unit", ("fraction", "kg", "mm", "percent")),
        period=_period(row),
        confidence=row.raw("confidence"),
        note=row.text("note"),
        source=row.raw("source"),
    )


def _period(row: Row) -> Period:
    """The days on which a row applies."""
    made = Period(first=row.optional_day("applies_from"), last=row.optional_day("applies_until"))
    if made.first and made.last and made.last < made.first:
        detail = f"applies_until {made.last} is before applies_from {made.first}. Swap or correct them."
        row.fault("applies_until", "wrong-order", detail)
    return made


def _verified(row: Row) -> bool:
    """Whether every statement of a row was read in the source it names, none being from memory."""
    return row.raw("confidence") == CONFIDENCE[0] and MEMORY not in row.raw("source").split("; ")


def _check_empty(row: Row, columns: Iterable[str], reason: str) -> None:
    """Note what is given although it cannot matter."""
    for column in columns:
        if row.raw(column):
            row.fault(column, "bad-value", f"{column} is given although {reason}. Leave it empty.")


def species(row: Row, cites: Mapping[str, CitesListing], sources: Mapping[str, Source]) -> Species:
    """A timber."""
    made = Species(
        key=row.matching("key", SNAKE, "hard_maple"),
        name=row.text("name"),
        botanical=row.text("botanical"),
        density_kg_m3=row.number("density_kg_m3", 150, 1400),
        shrink_radial_pct=row.number("shrink_radial_pct", 1, 15),
        shrink_tangential_pct=row.number("shrink_tangential_pct", 1, 20),
        c_radial=row.number("c_radial_per_pct", 0.0003, 0.008),
        c_tangential=row.number("c_tangential_per_pct", 0.0003, 0.008),
        second=_second(row, sources) if any(map(row.raw, _SECOND)) else None,
        hardness_n=row.number("hardness_n", 300, 25_000),
        modulus_along_mpa=row.optional_number("modulus_along_mpa", 3_000, 30_000),
        ratio_tangential=row.optional_number("ratio_tangential", 0.01, 0.3),
        ratio_radial=row.optional_number("ratio_radial", 0.02, 0.4),
        dust=row.text("dust"),
        cites_taxon=row.raw("cites_taxon") or None,
        oily=row.flag("oily"),
        colour=row.matching("colour", _COLOUR, "#5c4033"),
        confidence=row.raw("confidence"),
        confidences=Confidences(
            density=row.one_of("conf_density", CONFIDENCE),
            shrinkage=row.one_of("conf_shrinkage", CONFIDENCE),
            coefficients=row.one_of("conf_coefficients", CONFIDENCE),
            hardness=row.one_of("conf_hardness", CONFIDENCE),
            listing=row.one_of("conf_listing", CONFIDENCE),
            dust=row.one_of("conf_dust", CONFIDENCE),
        ),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    if RADIAL_EXCUSE not in made.note:
        _check_radial(row, made)
    if made.cites_taxon and cites and made.cites_taxon not in cites:
        remedy = _near(made.cites_taxon, cites, "a taxon of cites.toml")
        row.fault("cites_taxon", "unknown-name", f"No listing of {made.cites_taxon[:60]!r}. Name {remedy}.")
    return made


def _second(row: Row, sources: Mapping[str, Source]) -> SecondCoefficients:
    """The other pair of coefficients of a timber on which sources differ."""
    return SecondCoefficients(
        c_radial=row.number("c_radial_alt_per_pct", 0.0003, 0.008),
        c_tangential=row.number("c_tangential_alt_per_pct", 0.0003, 0.008),
        basis=row.one_of("c_alt_basis", BASES),
        source=_check_sources(row, "c_alt_source", sources),
    )


def _check_radial(row: Row, made: Species) -> None:
    """Wood moves least along its rays; a row that says otherwise mostly has two columns swapped."""
    for column, radial, tangential in (
        ("c_radial_per_pct", made.c_radial, made.c_tangential),
        ("shrink_radial_pct", made.shrink_radial_pct, made.shrink_tangential_pct),
    ):
        if radial > tangential:
            detail = f"{column} {radial:g} is above the tangential {tangential:g}."
            remedy = f"Swap them, or write {RADIAL_EXCUSE!r} in the note if the source says so."
            row.fault(column, "wrong-order", f"{detail} {remedy}")


def alias(row: Row, known: Mapping[str, Species], languages: Collection[str]) -> TimberName:
    """Another name of a timber; ``also`` lists botanical names of others that bear it."""
    text, key = row.text("name"), row.text("species")
    if key and known and key not in known:
        remedy = _near(key, known, "a key of species.csv")
        row.fault("species", "unknown-name", f"There is no species {key[:60]!r}. Name {remedy}.")
    return TimberName(
        text=text,
        language=row.one_of("language", languages),
        species=key,
        also=tuple(filter(None, row.raw("also").split("; "))),
        words=words(text),
        confidence=row.raw("confidence"),
        source=row.raw("source"),
    )


def abrasive(row: Row) -> Abrasive:
    """A grade of coated abrasive."""
    system = row.one_of("system", (FEPA, CAMI))
    return Abrasive(
        grade=row.matching("grade", _GRADE.get(system, _GRADE[FEPA]), "P120, or 120 for CAMI"),
        system=system,
        particle_um=row.number("particle_um", 1, 3_000),
        confidence=row.raw("confidence"),
        source=row.raw("source"),
    )


def finish(row: Row, grades: Mapping[str, Abrasive]) -> Finish:
    """A class of finish; its grades must be in the FEPA ladder."""
    made = Finish(
        key=row.matching("key", SNAKE, "hardwax_oil"),
        name=row.text("name"),
        kind=row.text("kind"),
        coverage_m2_l=row.number("coverage_m2_l", 2, 100),
        coats=row.whole("coats", 1, 20),
        recoat_h=row.number("recoat_h", 0.05, 168),
        handle_h=row.number("handle_h", 0.1, 336),
        cure_days=row.number("cure_days", 0.1, 90),
        sheen=row.text("sheen"),
        stop_grade_low=row.text("stop_grade_low"),
        stop_grade_high=row.text("stop_grade_high"),
        between_coats=row.raw("between_coats") or None,
        coats_per_day=row.whole("coats_per_day", 1, 12),
        min_temperature_c=row.number("min_temperature_c", 0, 30),
        reference_temperature_c=row.number("reference_temperature_c", 15, 25),
        per_10c=row.number("per_10c", 1, 5),
        self_heating_rags=row.flag("self_heating_rags"),
        gloss=row.flag("gloss"),
        confidence=row.raw("confidence"),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    for column in ("stop_grade_low", "stop_grade_high", "between_coats"):
        grade = row.raw(column)
        if grade and grades and grade not in grades:
            detail = f"There is no FEPA grade {grade[:60]!r}. Name one of abrasives.csv."
            row.fault(column, "unknown-name", detail)
    low, high = grades.get(made.stop_grade_low), grades.get(made.stop_grade_high)
    if low and high and low.particle_um < high.particle_um:
        detail = f"stop_grade_low {low.grade} is finer than stop_grade_high {high.grade}. Swap them."
        row.fault("stop_grade_low", "wrong-order", detail)
    return made


def adhesive(row: Row) -> Adhesive:
    """A class of adhesive."""
    made = Adhesive(
        key=row.matching("key", SNAKE, "pva_d3"),
        name=row.text("name"),
        spread_g_m2=row.number("spread_g_m2", 50, 800),
        open_min=row.number("open_min", 0.2, 240),
        clamp_h=row.number("clamp_h", 0.05, 72),
        machine_after_h=row.number("machine_after_h", 0.5, 168),
        full_cure_h=row.number("full_cure_h", 1, 720),
        min_temperature_c=row.number("min_temperature_c", 0, 30),
        reference_temperature_c=row.number("reference_temperature_c", 15, 25),
        per_10c=row.number("per_10c", 1, 5),
        pressure_low_mpa=row.number("pressure_low_mpa", 0.01, 3),
        pressure_high_mpa=row.number("pressure_high_mpa", 0.01, 3),
        confidence=row.raw("confidence"),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    check_order(row, "pressure_low_mpa", made.pressure_low_mpa, made.pressure_high_mpa)
    check_order(row, "clamp_h", made.clamp_h, made.machine_after_h)
    check_order(row, "machine_after_h", made.machine_after_h, made.full_cure_h)
    return made


def pressure(row: Row) -> Pressure:
    """Clamp pressure of one class of density; an empty upper end means without end."""
    densest = row.optional_number("density_high_kg_m3", 0, 1_500)
    made = Pressure(
        name=row.matching("name", SNAKE, "medium"),
        density_low_kg_m3=row.number("density_low_kg_m3", 0, 1_500),
        density_high_kg_m3=math.inf if densest is None else densest,
        low_mpa=row.number("low_mpa", 0.01, 3),
        high_mpa=row.number("high_mpa", 0.01, 3),
        confidence=row.raw("confidence"),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    check_order(row, "density_low_kg_m3", made.density_low_kg_m3, made.density_high_kg_m3)
    check_order(row, "low_mpa", made.low_mpa, made.high_mpa)
    return made


def sheet(row: Row) -> Sheet:
    """A sheet good in one thickness and size."""
    made = Sheet(
        material=row.matching("material", SNAKE, "birch_plywood"),
        name=row.text("name"),
        thickness_mm=row.number("thickness_mm", 0.4, 60),
        thickness_low_mm=row.number("thickness_low_mm", 0.4, 60),
        thickness_high_mm=row.number("thickness_high_mm", 0.4, 60),
        length_mm=row.number("length_mm", 300, 6_000),
        width_mm=row.number("width_mm", 300, 3_000),
        density_kg_m3=row.number("density_kg_m3", 200, 1_300),
        movement_per_pct=row.number("movement_per_pct", 0.00005, 0.002),
        modulus_mpa=row.number("modulus_mpa", 500, 20_000),
        confidence=row.raw("confidence"),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    check_order(row, "thickness_low_mm", made.thickness_low_mm, made.thickness_high_mm)
    check_order(row, "width_mm", made.width_mm, made.length_mm)
    return made


def room(row: Row) -> Room:
    """A kind of room with its driest and dampest season."""
    made = Room(
        key=row.matching("key", SNAKE, "heated_cold_winters"),
        title=row.text("title"),
        low_rh_pct=row.number("low_rh_pct", RH_LOW_PCT, RH_HIGH_PCT),
        high_rh_pct=row.number("high_rh_pct", RH_LOW_PCT, RH_HIGH_PCT),
        temperature_c=row.number("temperature_c", -1, 50),
        confidence=row.raw("confidence"),
        note=row.text("note"),
        source=row.raw("source"),
    )
    check_order(row, "low_rh_pct", made.low_rh_pct, made.high_rh_pct)
    return made


def thickness_class(row: Row) -> ThicknessClass:
    """A nominal lumber thickness."""
    made = ThicknessClass(
        name=row.matching("name", _CLASS, "4/4"),
        rough_mm=row.number("rough_mm", 5, 150),
        surfaced_mm=row.number("surfaced_mm", 2, 150),
        confidence=row.raw("confidence"),
        source=row.raw("source"),
    )
    check_order(row, "surfaced_mm", made.surfaced_mm, made.rough_mm)
    return made


def game(row: Row) -> Game:
    """A game with its range of squares."""
    made = Game(
        key=row.matching("key", DASHED, "draughts-10"),
        title=row.text("title"),
        columns=row.whole("columns", 2, 24),
        rows=row.whole("rows", 2, 24),
        square_low_mm=row.number("square_low_mm", 10, 200),
        square_high_mm=row.number("square_high_mm", 10, 200),
        confidence=row.raw("confidence"),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    check_order(row, "square_low_mm", made.square_low_mm, made.square_high_mm)
    return made


def fit_band(row: Row) -> FitBand:
    """A range of fill ratio; an empty upper end means without end."""
    high = row.optional_number("high", 0, 10)
    made = FitBand(
        verdict=row.matching("verdict", SNAKE, "roomy"),
        low=row.number("low", 0, 10),
        high=math.inf if high is None else high,
        source=row.raw("source"),
    )
    check_order(row, "low", made.low, made.high)
    return made


def currency(row: Row) -> Currency:
    """A currency with its exponent."""
    return Currency(
        code=row.matching("code", _CURRENCY, "EUR"),
        exponent=row.whole("exponent", 0, 4),
        cash_step=Decimal(row.raw("cash_step")) if row.optional_number("cash_step", 0.0001, 1_000) else None,
        confidence=row.raw("confidence"),
        source=row.raw("source"),
    )


def country(row: Row) -> str:
    """The English short name of a country."""
    row.matching("code", _COUNTRY, "DE")
    return row.text("name")


def formula(row: Row) -> Formula:
    """A formula in words; its key is the name of its function."""
    made = Formula(
        key=row.matching("key", SNAKE, "emc_pct"),
        title=row.text("title"),
        function=row.matching("function", _FUNCTION, "timber.emc_pct"),
        expression=row.text("expression"),
        unit=row.text("unit"),
        valid=row.text("valid"),
        locator=row.raw("locator"),
        confidence=row.raw("confidence"),
        note=row.raw("note"),
        source=row.raw("source"),
    )
    if made.function.rpartition(".")[2] != made.key:
        row.fault("key", "bad-value", f"key is {made.key[:60]!r}. Name it like its function, {made.function[:60]!r}.")
    return made


def check_order(row: Row, column: str, low: float, high: float) -> None:
    """Note a lower end above the upper one. A placeholder (NaN) is never above."""
    if low > high:
        detail = f"{column} is {low:g}, above its upper end {high:g}. Correct one of them."
        row.fault(column, "wrong-order", detail)


def _near(given: str, known: Iterable[str], otherwise: str) -> str:
    """Names that look like ``given``, or where to find them."""
    return " or ".join(difflib.get_close_matches(given[:60], known)) or otherwise
