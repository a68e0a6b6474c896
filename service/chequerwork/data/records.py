"""Rows of which more must hold than their fields say: other cells, other rows and other tables have a word in them."""

import difflib
import re
from collections.abc import Iterable, Mapping

from chequerwork.data.reading import FactRow
from chequerwork.data.rows import fact_of
from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.facts import (
    CAMI,
    CONFIDENCE,
    FEPA,
    Abrasive,
    BuildStep,
    CitesListing,
    Coverage,
    Finish,
    Formula,
    Notice,
    Operation,
    Period,
    Source,
    Species,
    StepKind,
    Threshold,
    TimberName,
)
from chequerwork.domain.basics.names import LANGUAGES, words
from chequerwork.domain.making.joints import GlueStage

PROMPT = "This is a prompt, not advice."
RADIAL_EXCUSE = "radial above tangential"
STAGES = tuple(GlueStage)  # what is glued at once

_GRADE = {FEPA: re.compile(r"P[0-9]+"), CAMI: re.compile(r"[0-9]+")}
_LIMIT = ("limit_kg", "limit_from")


def check_provenance(row: FactRow, sources: Mapping[str, Source]) -> None:
    """Note a row without locator, with an unknown source, or with another word for its confidence."""
    row.text("locator")
    row.one_of("confidence", CONFIDENCE)
    row.text("source")
    _check_sources(row, "source", sources)


def notice(row: FactRow) -> Notice:
    """A dated text that says it is a prompt and names who to ask."""
    made = fact_of(Notice, row)
    _check_period(row, made.period)
    if PROMPT not in made.text:
        row.fault("text", "bad-value", f"The text does not say {PROMPT!r}. Add it.")
    elif made.authority not in made.text.split(PROMPT)[1]:
        row.fault("text", "bad-value", f"The text does not end with whom to ask, {made.authority!r}. Add it.")
    return made


def listing(row: FactRow, notices: Mapping[str, Notice]) -> CitesListing:
    """A CITES listing, which must have a notice that explains it; one with a limit says the limit and since when."""
    limited = row.raw("finished_board") == Coverage.ABOVE_LIMIT
    made = fact_of(CitesListing, row, **({} if limited else dict.fromkeys(_LIMIT, _nothing)))
    _check_period(row, made.period)
    for column in _LIMIT:
        if limited:
            row.text(column)
        elif row.raw(column):
            detail = f"{column} is given although finished_board is {row.raw('finished_board')}. Leave it empty."
            row.fault(column, "bad-value", detail)
    code = f"cites-{made.appendix}-{made.annotation}".lower().replace("#", "").removesuffix("-none")
    if notices and code not in notices:
        detail = f"No notice {code!r} explains this listing. Add one to notices.toml."
        row.fault("annotation", "unknown-name", detail)
    return made


def threshold(row: FactRow) -> Threshold:
    """A number of law or of a test standard."""
    made = fact_of(Threshold, row)
    _check_period(row, made.period)
    return made


def species(row: FactRow, cites: Mapping[str, CitesListing], sources: Mapping[str, Source]) -> Species:
    """A timber."""
    made = fact_of(Species, row)
    if made.second:
        _check_sources(row, "c_alt_source", sources)
    if RADIAL_EXCUSE not in made.note:
        _check_radial(row, made)
    if made.cites_taxon and cites and made.cites_taxon not in cites:
        remedy = _near(made.cites_taxon, cites, "a taxon of cites.toml")
        row.fault("cites_taxon", "unknown-name", f"No listing of {made.cites_taxon[:60]!r}. Name {remedy}.")
    return made


def alias(row: FactRow, known: Mapping[str, Species]) -> TimberName:
    """Another name of a timber; ``also`` lists botanical names of others that bear it."""
    made = fact_of(
        TimberName,
        row,
        language=lambda row: row.one_of("language", LANGUAGES),
        words=lambda row: words(row.raw("name")),
    )
    if made.species and known and made.species not in known:
        remedy = _near(made.species, known, "a key of species.csv")
        row.fault("species", "unknown-name", f"There is no species {made.species[:60]!r}. Name {remedy}.")
    return made


def abrasive(row: FactRow) -> Abrasive:
    """A grade of coated abrasive, spelled as its system does."""
    pattern = _GRADE.get(row.raw("system"), _GRADE[FEPA])
    return fact_of(Abrasive, row, grade=lambda row: row.matching("grade", pattern, "P120, or 120 for CAMI"))


def finish(row: FactRow, grades: Mapping[str, Abrasive]) -> Finish:
    """A class of finish; its grades must be in the FEPA ladder."""
    made = fact_of(Finish, row)
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


def step(row: FactRow, operations: Mapping[str, Operation], above: Mapping[str, BuildStep]) -> BuildStep:
    """A step of the build; what it waits for stands above it."""
    resting, glued = row.raw("kind") == StepKind.REST, row.raw("kind") == StepKind.GLUE
    made = fact_of(BuildStep, row, **({} if resting else {"part": _some_part}))
    for name in made.after:
        if name not in above:
            detail = f"It waits for {name[:60]!r}, and no step above has that code. Sort the rows or correct it."
            row.fault("after", "unknown-name", detail)
    if resting != (made.operation is None) or (made.operation and operations and made.operation not in operations):
        detail = f"{row.raw('operation')[:60]!r} is given. A step of hands names a code of operations.csv, a rest none."
        row.fault("operation", "unknown-name", detail)
    for name in made.stages if glued else ():
        if name not in STAGES:
            row.fault("stages", "unknown-name", f"{name[:60]!r} is given. Name some of: {', '.join(STAGES)}.")
    if glued != bool(made.stages):
        row.fault("stages", "bad-value", "Steps of kind glue name what is glued, and no others do.")
    return made


def formula(row: FactRow) -> Formula:
    """A formula in words; its key is the name of its function."""
    made = fact_of(Formula, row)
    if made.function.rpartition(".")[2] != made.key:
        row.fault("key", "bad-value", f"key is {made.key[:60]!r}. Name it like its function, {made.function[:60]!r}.")
    return made


def _check_sources(row: FactRow, column: str, sources: Mapping[str, Source]) -> None:
    """Note ids of sources that are not in the list."""
    for source in row.words(column):
        if sources and source not in sources:
            remedy = _near(source, sources, "an id of sources.toml")
            row.fault(column, "unknown-source", f"There is no source {source[:60]!r}. Name {remedy}.")


def _check_period(row: FactRow, period: Period) -> None:
    if period.first and period.last and period.last < period.first:
        detail = f"applies_until {period.last} is before applies_from {period.first}. Swap or correct them."
        row.fault("applies_until", "wrong-order", detail)


def _check_radial(row: FactRow, made: Species) -> None:
    """Wood moves least along its rays; a row that says otherwise mostly has two columns swapped."""
    for column, radial, tangential in (
        ("c_radial_per_pct", made.c_radial, made.c_tangential),
        ("shrink_radial_pct", made.shrink_radial_pct, made.shrink_tangential_pct),
    ):
        if radial > tangential:
            detail = f"{column} {radial:g} is above the tangential {tangential:g}."
            remedy = f"Swap them, or write {RADIAL_EXCUSE!r} in the note if the source says so."
            row.fault(column, "wrong-order", f"{detail} {remedy}")


def _nothing(_row: FactRow) -> None:
    """The reader of a cell that does not count."""


def _some_part(row: FactRow) -> float:
    return row.number("part", 0.01, bounds_of(BuildStep, "part")[1])


def _near(given: str, known: Iterable[str], otherwise: str) -> str:
    """Names that look like ``given``, or where to find them."""
    return " or ".join(difflib.get_close_matches(given[:60], known)) or otherwise
