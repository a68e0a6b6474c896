"""The fact tables: read from the files of this room, checked, handed on as frozen ``Tables``."""

import hashlib
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from chequerwork.data import records
from chequerwork.data.naming import called, names_of
from chequerwork.data.reading import FactRow, read_rows
from chequerwork.data.rows import columns_of, fact_of
from chequerwork.domain.basics.columns import like
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import (
    CAMI,
    Abrasive,
    Adhesive,
    BuildStep,
    CitesListing,
    Currency,
    Fact,
    Finish,
    FitBand,
    Flute,
    Formula,
    Game,
    Notice,
    Operation,
    PackingText,
    Pressure,
    Room,
    Sheet,
    Source,
    Species,
    Tables,
    ThicknessClass,
    Threshold,
    TimberName,
)

EDITION = "2026.11"  # year and month in which the sources were last looked at
BUILD = (
    "mill", "rip", "glue_strips", "flatten_strips", "crosscut", "glue_bars", "flatten_field", "trim_field",
    "lines", "base", "frame", "sand", "finish", "fit_out", "pack",
)  # fmt: skip
# Numbers of law, of test standards and of the way that notices and advice are decided with.
THRESHOLDS = (
    "lacey-plant-share", "lacey-entry-plant", "small-parts-bore", "small-parts-depth", "container-rh-low",
    "container-rh-high",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Country(Fact):
    """A row of countries, of which the tables keep the name and the members of the union."""

    code: str = field(metadata=like("[A-Z]{2}", example="DE"))
    name: str
    eu_member: bool


FILES: Mapping[type, str] = MappingProxyType(
    {
        Source: "sources.toml",
        Notice: "notices.toml",
        CitesListing: "cites.toml",
        Threshold: "thresholds.toml",
        Species: "species.csv",
        TimberName: "aliases.csv",
        Abrasive: "abrasives.csv",
        Finish: "finishes.csv",
        Adhesive: "adhesives.csv",
        Pressure: "pressures.csv",
        Sheet: "sheets.csv",
        Room: "climates.csv",
        ThicknessClass: "thickness_classes.csv",
        Game: "games.csv",
        FitBand: "fit_bands.csv",
        Operation: "operations.csv",
        BuildStep: "steps.csv",
        Flute: "flutes.csv",
        PackingText: "packing.toml",
        Currency: "currencies.csv",
        _Country: "countries.csv",
        Formula: "formulas.toml",
    }
)
COLUMNS = MappingProxyType({name: columns_of(record) for record, name in FILES.items()})

T = TypeVar("T")


def load_tables(folder: Path | None = None) -> Tables:
    """Read and check every fact table.

    Parameters
    ----------
    folder : Path, optional
        Where the files are; by default the ones in this package.

    Raises
    ------
    Refused
        When anything in any file is wrong, with all mistakes. ``at`` is the file; the line of a CSV file or
        the key of a TOML record; and the column.
    """
    faults: list[Fault] = []
    contents = _contents(folder or files("chequerwork.data"), faults)

    def rows(record: type) -> list[FactRow]:
        name = FILES[record]
        return read_rows(name, contents[name], COLUMNS[name], faults) if name in contents else []

    sources = _keyed(rows(Source), partial(fact_of, Source))

    def facts(record: type) -> list[FactRow]:
        found = rows(record)
        for row in found:
            records.check_provenance(row, sources)
        return found

    tables = _assemble(facts, sources, _version(contents))
    if faults:
        raise Refused(faults)
    return tables


def _contents(folder: Path | Traversable, faults: list[Fault]) -> dict[str, bytes]:
    contents = {}
    for name in COLUMNS:
        try:
            contents[name] = folder.joinpath(name).read_bytes()
        except OSError:
            detail = "The file is missing or cannot be opened. Put it back."
            faults.append(Fault(at=(name,), code="missing-file", detail=detail))
    return contents


def _version(contents: Mapping[str, bytes]) -> str:
    """Edition and a fingerprint of every byte, name and length of each file included."""
    digest = hashlib.sha256()
    for name in COLUMNS:
        content = contents.get(name, b"")
        digest.update(f"{name}\n{len(content)}\n".encode() + content)
    return f"{EDITION}-{digest.hexdigest()[:8]}"


def _assemble(facts: Callable[[type], list[FactRow]], sources: Mapping[str, Source], version: str) -> Tables:
    """Every table, those first that others refer to."""

    def keyed(record: type[T]) -> Mapping[str, T]:
        return _keyed(facts(record), partial(fact_of, record))

    notices = _keyed(facts(Notice), records.notice)
    cites = _keyed(facts(CitesListing), lambda row: records.listing(row, notices))
    species = _keyed(facts(Species), lambda row: records.species(row, cites, sources))
    names = names_of(facts(TimberName), species)
    abrasives = facts(Abrasive)
    fepa = _abrasives([row for row in abrasives if row.raw("system") != CAMI])
    cami = _abrasives([row for row in abrasives if row.raw("system") == CAMI])
    countries = keyed(_Country)
    operations = _operations(facts(Operation))
    return Tables(
        version=version,
        sources=sources,
        species=species,
        names=names,
        called=called(names, species),
        abrasives=fepa,
        abrasives_cami=cami,
        finishes=_keyed(facts(Finish), lambda row: records.finish(row, fepa)),
        adhesives=keyed(Adhesive),
        pressures=_pressures(facts(Pressure)),
        sheets=_sheets(facts(Sheet)),
        rooms=keyed(Room),
        thickness_classes=_thickness_classes(facts(ThicknessClass)),
        games=keyed(Game),
        fit_bands=_fit_bands(facts(FitBand)),
        operations=operations,
        steps=_steps(facts(BuildStep), operations),
        cites=cites,
        notices=notices,
        thresholds=_thresholds(facts(Threshold)),
        flutes=keyed(Flute),
        packing=keyed(PackingText),
        currencies=keyed(Currency),
        countries=MappingProxyType({code: each.name for code, each in countries.items()}),
        eu_members=frozenset(code for code, each in countries.items() if each.eu_member),
        formulas=_keyed(facts(Formula), records.formula),
    )


def _keyed(rows: Iterable[FactRow], build: Callable[[FactRow], T]) -> Mapping[str, T]:
    """Rows by their key, which is their first column, in the order of the file; notes a key that comes twice."""
    table: dict[str, T] = {}
    for row in rows:
        column = COLUMNS[row.file][0]
        key, made = row.raw(column), build(row)
        if key in table:
            row.fault(column, "duplicate-key", f"{key[:60]!r} is in this file twice. Remove or rename one.")
        elif key:
            table[key] = made
    return MappingProxyType(table)


def _abrasives(rows: list[FactRow]) -> Mapping[str, Abrasive]:
    made = _keyed(rows, records.abrasive)
    _check_steps(rows, "particle_um", [each.particle_um for each in made.values()], "finer")
    return made


def _sheets(rows: list[FactRow]) -> tuple[Sheet, ...]:
    """Sheets in the order of the file; the usual size of a thickness comes first and is the one found."""
    made = tuple(fact_of(Sheet, row) for row in rows)
    seen = set()
    for row, sheet in zip(rows, made, strict=True):
        size = (sheet.material, sheet.thickness_mm, sheet.length_mm, sheet.width_mm)
        if size in seen:
            detail = "This material is here twice in this thickness and size. Remove one."
            row.fault("thickness_mm", "duplicate-key", detail)
        seen.add(size)
    return made


def _thickness_classes(rows: list[FactRow]) -> tuple[ThicknessClass, ...]:
    made = tuple(fact_of(ThicknessClass, row) for row in rows)
    _check_steps(rows, "rough_mm", [-each.rough_mm for each in made], "thicker")
    return made


def _fit_bands(rows: list[FactRow]) -> tuple[FitBand, ...]:
    """Bands without a gap or an overlap, from 0 upwards without end."""
    made = tuple(fact_of(FitBand, row) for row in rows)
    _check_bands(rows, ("low", "high"), [(band.low, band.high) for band in made])
    return made


def _pressures(rows: list[FactRow]) -> tuple[Pressure, ...]:
    """Classes of density without a gap or an overlap, from 0 upwards without end."""
    made = tuple(fact_of(Pressure, row) for row in rows)
    ends = [(each.density_low_kg_m3, each.density_high_kg_m3) for each in made]
    _check_bands(rows, ("density_low_kg_m3", "density_high_kg_m3"), ends)
    return made


def _operations(rows: list[FactRow]) -> Mapping[str, Operation]:
    """The operations of a build, each once, in the order in which they are done."""
    made = _keyed(rows, partial(fact_of, Operation))
    if rows and tuple(made) != BUILD:
        detail = f"The codes are {', '.join(made)}. They must be, in this order: {', '.join(BUILD)}."
        rows[0].fault("code", "wrong-order", detail)
    return made


def _steps(rows: list[FactRow], operations: Mapping[str, Operation]) -> Mapping[str, BuildStep]:
    """The steps of a build; every operation has some, and all lead to the last."""
    made: dict[str, BuildStep] = {}

    def step(row: FactRow) -> BuildStep:
        made[row.raw("code")] = found = records.step(row, operations, made)
        return found

    table = _keyed(rows, step)
    if rows:
        idle = [code for code in operations if code not in {each.operation for each in made.values()}]
        if idle:
            rows[-1].fault("operation", "unknown-name", f"No step takes its minutes from {', '.join(idle)}. Add one.")
        awaited = {name for each in made.values() for name in each.after}
        loose = [code for code in list(made)[:-1] if code not in awaited]
        if loose:
            rows[-1].fault("after", "wrong-order", f"No step waits for {', '.join(loose)}. The last row must, in turn.")
    return table


def _thresholds(rows: list[FactRow]) -> Mapping[str, Threshold]:
    """The numbers that notices are decided with, each once, no more and no fewer."""
    made = _keyed(rows, records.threshold)
    if rows and set(made) != set(THRESHOLDS):
        detail = f"The keys are {', '.join(made)}. They must be: {', '.join(THRESHOLDS)}."
        rows[0].fault("key", "unknown-name", detail)
    return made


def _check_bands(rows: list[FactRow], columns: tuple[str, str], bands: list[tuple[float, float]]) -> None:
    """Note a band that does not begin where the one before it ends, and a last one that ends."""
    start, (low_column, high_column) = 0.0, columns
    for row, (low, high) in zip(rows, bands, strict=True):
        if low != start:
            detail = f"{low_column} is {low:g}; the band before ends at {start:g}. Make them meet."
            row.fault(low_column, "wrong-order", detail)
        start = high
    if rows and start != math.inf:
        detail = f"The last band ends at {start:g}. Leave its {high_column} empty."
        rows[-1].fault(high_column, "wrong-order", detail)


def _check_steps(rows: list[FactRow], column: str, falling: list[float], step: str) -> None:
    """Note a row that is not ``step`` than the one before it."""
    for row, (before, after) in zip(rows[1:], pairwise(falling), strict=False):
        if after >= before:
            row.fault(column, "wrong-order", f"This row is not {step} than the one before. Sort the rows.")
