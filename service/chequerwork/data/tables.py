"""The fact tables: read from the files of this room, checked, handed on as frozen ``Tables``."""

import hashlib
import math
from collections.abc import Callable, Iterable, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

from chequerwork.data import build, packing, records
from chequerwork.data.naming import called, names_of
from chequerwork.data.reading import Row, read_rows
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import (
    Abrasive,
    BuildStep,
    FitBand,
    Operation,
    Pressure,
    Sheet,
    Source,
    Tables,
    ThicknessClass,
    Threshold,
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
_PERIOD = ("applies_from", "applies_until")  # either may be empty
_PROVENANCE = ("source", "locator", "confidence")
COLUMNS: Mapping[str, tuple[str, ...]] = MappingProxyType({
    "sources.toml": ("id", "title", "publisher", "year", "note"),
    "notices.toml": (
        "code", "severity", "audience", "form", "subject", "text", "authority", "as_of", *_PERIOD, *_PROVENANCE,
    ),
    "cites.toml": (
        "taxon", "appendix", "annotation", *_PERIOD, "populations", "parts_covered", "finished_board", "limit_kg",
        "limit_from", "note", *_PROVENANCE,
    ),
    "thresholds.toml": ("key", "value", "unit", *_PERIOD, "note", *_PROVENANCE),
    "species.csv": (
        "key", "name", "botanical", "density_kg_m3", "shrink_radial_pct", "shrink_tangential_pct",
        "c_radial_per_pct", "c_tangential_per_pct", "hardness_n", "modulus_along_mpa",
        "ratio_tangential", "ratio_radial", "dust", "cites_taxon", "oily", "colour", "c_radial_alt_per_pct",
        "c_tangential_alt_per_pct", "c_alt_basis", "c_alt_source", "conf_density", "conf_shrinkage",
        "conf_coefficients", "conf_hardness", "conf_listing", "conf_dust", "note", *_PROVENANCE,
    ),
    "aliases.csv": ("name", "language", "species", "also", *_PROVENANCE),
    "abrasives.csv": ("grade", "system", "particle_um", *_PROVENANCE),
    "finishes.csv": (
        "key", "name", "kind", "coverage_m2_l", "coats", "recoat_h", "handle_h", "cure_days", "sheen",
        "stop_grade_low", "stop_grade_high", "between_coats", "coats_per_day", "min_temperature_c",
        "reference_temperature_c", "per_10c", "self_heating_rags", "gloss",
        "note", *_PROVENANCE,
    ),
    "adhesives.csv": (
        "key", "name", "spread_g_m2", "open_min", "clamp_h", "machine_after_h", "full_cure_h",
        "min_temperature_c", "reference_temperature_c", "per_10c", "pressure_low_mpa",
        "pressure_high_mpa", "note", *_PROVENANCE,
    ),
    "pressures.csv": (
        "name", "density_low_kg_m3", "density_high_kg_m3", "low_mpa", "high_mpa", "note", *_PROVENANCE,
    ),
    "sheets.csv": (
        "material", "name", "thickness_mm", "thickness_low_mm", "thickness_high_mm", "length_mm", "width_mm",
        "density_kg_m3", "movement_per_pct", "modulus_mpa", "note", *_PROVENANCE,
    ),
    "climates.csv": ("key", "title", "low_rh_pct", "high_rh_pct", "temperature_c", "note", *_PROVENANCE),
    "thickness_classes.csv": ("name", "rough_mm", "surfaced_mm", *_PROVENANCE),
    "games.csv": ("key", "title", "columns", "rows", "square_low_mm", "square_high_mm", "note", *_PROVENANCE),
    "fit_bands.csv": ("verdict", "low", "high", *_PROVENANCE),
    "operations.csv": (
        "code", "title", "driver", "setup_h", "unit_h", "units_reference", "optimistic_h", "likely_h",
        "pessimistic_h", "machine_share", *_PROVENANCE,
    ),
    "steps.csv": ("code", "title", "kind", "operation", "part", "after", "stages", *_PROVENANCE),
    "flutes.csv": ("name", "caliper_mm", "note", *_PROVENANCE),
    "packing.toml": ("key", "kind", "when", "text", *_PROVENANCE),
    "currencies.csv": ("code", "exponent", "cash_step", *_PROVENANCE),
    "countries.csv": ("code", "name", "eu_member", *_PROVENANCE),
    "formulas.toml": ("key", "title", "function", "expression", "unit", "valid", "note", *_PROVENANCE),
})  # fmt: skip

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

    def rows(name: str) -> list[Row]:
        return read_rows(name, contents[name], COLUMNS[name], faults) if name in contents else []

    sources = _keyed(rows("sources.toml"), "id", records.source)

    def facts(name: str) -> list[Row]:
        found = rows(name)
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


def _assemble(facts: Callable[[str], list[Row]], sources: Mapping[str, Source], version: str) -> Tables:
    """Every table, those first that others refer to."""
    notices = _keyed(facts("notices.toml"), "code", records.notice)
    cites = _keyed(facts("cites.toml"), "taxon", lambda row: records.listing(row, notices))
    species = _keyed(facts("species.csv"), "key", lambda row: records.species(row, cites, sources))
    names = names_of(facts("aliases.csv"), species)
    abrasives = facts("abrasives.csv")
    fepa = _abrasives([row for row in abrasives if row.raw("system") != records.CAMI])
    cami = _abrasives([row for row in abrasives if row.raw("system") == records.CAMI])
    countries = facts("countries.csv")
    operations = _operations(facts("operations.csv"))
    return Tables(
        version=version,
        sources=sources,
        species=species,
        names=names,
        called=called(names, species),
        abrasives=fepa,
        abrasives_cami=cami,
        finishes=_keyed(facts("finishes.csv"), "key", lambda row: records.finish(row, fepa)),
        adhesives=_keyed(facts("adhesives.csv"), "key", records.adhesive),
        pressures=_pressures(facts("pressures.csv")),
        sheets=_sheets(facts("sheets.csv")),
        rooms=_keyed(facts("climates.csv"), "key", records.room),
        thickness_classes=_thickness_classes(facts("thickness_classes.csv")),
        games=_keyed(facts("games.csv"), "key", records.game),
        fit_bands=_fit_bands(facts("fit_bands.csv")),
        operations=operations,
        steps=_steps(facts("steps.csv"), operations),
        cites=cites,
        notices=notices,
        thresholds=_thresholds(facts("thresholds.toml")),
        flutes=_keyed(facts("flutes.csv"), "name", packing.flute),
        packing=_keyed(facts("packing.toml"), "key", packing.packing_text),
        currencies=_keyed(facts("currencies.csv"), "code", records.currency),
        countries=_keyed(countries, "code", records.country),
        eu_members=frozenset(row.raw("code") for row in countries if row.flag("eu_member")),
        formulas=_keyed(facts("formulas.toml"), "key", records.formula),
    )


def _keyed(rows: Iterable[Row], column: str, build: Callable[[Row], T]) -> Mapping[str, T]:
    """Rows by their key, in the order of the file; notes a key that comes twice."""
    table: dict[str, T] = {}
    for row in rows:
        key, made = row.raw(column), build(row)
        if key in table:
            row.fault(column, "duplicate-key", f"{key[:60]!r} is in this file twice. Remove or rename one.")
        elif key:
            table[key] = made
    return MappingProxyType(table)


def _abrasives(rows: list[Row]) -> Mapping[str, Abrasive]:
    made = _keyed(rows, "grade", records.abrasive)
    _check_steps(rows, "particle_um", [each.particle_um for each in made.values()], "finer")
    return made


def _sheets(rows: list[Row]) -> tuple[Sheet, ...]:
    """Sheets in the order of the file; the usual size of a thickness comes first and is the one found."""
    made = tuple(records.sheet(row) for row in rows)
    seen = set()
    for row, sheet in zip(rows, made, strict=True):
        size = (sheet.material, sheet.thickness_mm, sheet.length_mm, sheet.width_mm)
        if size in seen:
            detail = "This material is here twice in this thickness and size. Remove one."
            row.fault("thickness_mm", "duplicate-key", detail)
        seen.add(size)
    return made


def _thickness_classes(rows: list[Row]) -> tuple[ThicknessClass, ...]:
    made = tuple(records.thickness_class(row) for row in rows)
    _check_steps(rows, "rough_mm", [-each.rough_mm for each in made], "thicker")
    return made


def _fit_bands(rows: list[Row]) -> tuple[FitBand, ...]:
    """Bands without a gap or an overlap, from 0 upwards without end."""
    made = tuple(records.fit_band(row) for row in rows)
    _check_bands(rows, ("low", "high"), [(band.low, band.high) for band in made])
    return made


def _pressures(rows: list[Row]) -> tuple[Pressure, ...]:
    """Classes of density without a gap or an overlap, from 0 upwards without end."""
    made = tuple(records.pressure(row) for row in rows)
    ends = [(each.density_low_kg_m3, each.density_high_kg_m3) for each in made]
    _check_bands(rows, ("density_low_kg_m3", "density_high_kg_m3"), ends)
    return made


def _operations(rows: list[Row]) -> Mapping[str, Operation]:
    """The operations of a build, each once, in the order in which they are done."""
    made = _keyed(rows, "code", build.operation)
    if rows and tuple(made) != BUILD:
        detail = f"The codes are {', '.join(made)}. They must be, in this order: {', '.join(BUILD)}."
        rows[0].fault("code", "wrong-order", detail)
    return made


def _steps(rows: list[Row], operations: Mapping[str, Operation]) -> Mapping[str, BuildStep]:
    """The steps of a build; every operation has some, and all lead to the last."""
    made: dict[str, BuildStep] = {}

    def step(row: Row) -> BuildStep:
        made[row.raw("code")] = found = build.step(row, operations, made)
        return found

    table = _keyed(rows, "code", step)
    if rows:
        idle = [code for code in operations if code not in {each.operation for each in made.values()}]
        if idle:
            rows[-1].fault("operation", "unknown-name", f"No step takes its minutes from {', '.join(idle)}. Add one.")
        awaited = {name for each in made.values() for name in each.after}
        loose = [code for code in list(made)[:-1] if code not in awaited]
        if loose:
            rows[-1].fault("after", "wrong-order", f"No step waits for {', '.join(loose)}. The last row must, in turn.")
    return table


def _thresholds(rows: list[Row]) -> Mapping[str, Threshold]:
    """The numbers that notices are decided with, each once, no more and no fewer."""
    made = _keyed(rows, "key", records.threshold)
    if rows and set(made) != set(THRESHOLDS):
        detail = f"The keys are {', '.join(made)}. They must be: {', '.join(THRESHOLDS)}."
        rows[0].fault("key", "unknown-name", detail)
    return made


def _check_bands(rows: list[Row], columns: tuple[str, str], bands: list[tuple[float, float]]) -> None:
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


def _check_steps(rows: list[Row], column: str, falling: list[float], step: str) -> None:
    """Note a row that is not ``step`` than the one before it."""
    for row, (before, after) in zip(rows[1:], pairwise(falling), strict=False):
        if after >= before:
            row.fault(column, "wrong-order", f"This row is not {step} than the one before. Sort the rows.")
