"""A shop's log of hours, read from a plain table: one row for what one operation took on one day.

Columns by name, in any order: ``date``, ``operation``, ``hours``; if wanted ``order``, ``boards``, ``units``. Others
are left alone. Cells are separated by commas, semicolons or tabs; numbers have a decimal point or a decimal comma.
"""

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Final, TypeVar

from chequerwork.domain.basics.bounds import MOST_BOARDS
from chequerwork.domain.basics.errors import Fault, Refused, near_names
from chequerwork.domain.basics.errors import Path as Path_
from chequerwork.domain.basics.facts import Tables
from chequerwork.shop.readers import day, hours, key_of, refuse
from chequerwork.shop.settings_table import FaultList, Reader, SettingsTable, shown

# Slips of the pen and files that are no log; our own limits, common practice, no source.
LARGEST_LOG_BYTES = 2_000_000
MOST_ROWS = 10_000
MOST_HOURS = 400.0  # of one row: ten weeks
MOST_UNITS = 100_000.0
MOST_TOLD = 100  # faults of one file
LONGEST_ORDER = 60  # characters of an order's name

T = TypeVar("T")
NEEDED: Final = ("date", "operation", "hours")
MAY: Final = ("order", "boards", "units")

_NUMBER = re.compile(r"\d{1,9}(?:[.,]\d{1,20})?", re.ASCII)  # a program writes 5.699999999999999
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)", re.ASCII)
_DOTTED_DAY = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})", re.ASCII)
_SEPARATOR_LINE = re.compile(r"sep=(.)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedWork:
    """What one operation took, for all boards of a row together."""

    row: int  # of the file, as a spreadsheet counts them
    day: date
    order: str  # empty where the row names none
    operation: str
    boards: int | None  # None = not counted
    units: float | None  # of the operation's driver, all boards together; None = not counted
    hours_h: float


def read_log_file(path: Path, tables: Tables) -> tuple[LoggedWork, ...]:
    """Entries of a log file.

    Raises
    ------
    Refused
        With every mistake of the file: row, column, value, limit, remedy.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        detail = f"This cannot be read: {error.strerror or 'unknown reason'}. Check its name and its rights."
        raise Refused([Fault(at=(str(path),), code="unreadable", detail=detail)]) from None
    if len(content) > LARGEST_LOG_BYTES:
        detail = f"The file has {len(content)} bytes; a log has at most {LARGEST_LOG_BYTES}. Give its latest years."
        raise Refused([Fault(at=(str(path),), code="too-large", detail=detail)])
    return read_log(_decoded(content), tables, name=str(path))


def read_log(text: str, tables: Tables, *, name: str) -> tuple[LoggedWork, ...]:
    """Entries of a log, rows of one operation of one order taken together.

    Parameters
    ----------
    text
        The table with its heading.
    tables
        Whose operations the rows may name.
    name
        What faults call the file.

    Raises
    ------
    Refused
        With every mistake of the file.
    """
    faults = FaultList(name)
    entries: list[LoggedWork] = []
    try:
        lines = _lines(text)
        number, heading = next(lines, (1, []))
        columns = _columns(heading, (f"row {number}",), faults)
        for number, cells in lines if columns else ():
            if len(entries) == MOST_ROWS:
                faults.add(
                    (f"row {number}",), "too-many", f"A log has at most {MOST_ROWS} rows. Give its latest years."
                )
                break
            entries.append(_entry(number, cells, columns, len(heading), faults, tables))
    except csv.Error as error:
        faults.add((), "not-csv", f"The file is no table of cells: {error}. Save it as CSV once more.")
    if not faults.found and not entries:
        faults.add((), "no-rows", "No row of the log follows its heading. Give one or more.")
    found = () if faults.found else _together(entries, faults)
    if faults.found:
        raise Refused(_at_most(faults))
    return found


def _entry(
    number: int, cells: list[str], columns: Mapping[str, int], width: int, faults: FaultList, tables: Tables
) -> LoggedWork:
    """One row; with faults it may have holes and is never used."""
    at: Path_ = (f"row {number}",)
    if any(cell.strip() for cell in cells[width:]):
        remedy = "A decimal comma splits a cell where commas separate: write a point, or put the number in quotes."
        detail = f"The row has {len(cells)} cells, the heading {width}. {remedy}"
        faults.add(at, "wrong-count", detail)
    given = {column: cells[place].strip() if place < len(cells) else "" for column, place in columns.items()}
    row = SettingsTable({column: cell for column, cell in given.items() if cell or column in NEEDED}, at, faults)
    return LoggedWork(
        row=number,
        day=row.read("date", _filled(_day)),
        order=" ".join(given.get("order", "").split())[:LONGEST_ORDER],
        operation=row.read("operation", _filled(key_of("operation", tables.operations))),
        boards=row.read_or("boards", _filled(_boards), None),
        units=row.read_or("units", _filled(_units), None),
        hours_h=row.read("hours", _filled(_hours_h)),
    )


# The table ------------------------------------------------------------------------------------------------------------


def _decoded(content: bytes) -> str:
    """UTF-8, UTF-16 where a byte order mark says so, else what spreadsheets of Western Europe write."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not empty, with their numbers as a spreadsheet counts them."""
    first = text.partition("\n")[0]
    told = _SEPARATOR_LINE.fullmatch(first.strip())
    separator = told[1] if told else next((each for each in ";\t" if each in first), ",")
    for number, cells in enumerate(csv.reader(io.StringIO(text, newline=""), delimiter=separator), start=1):
        if any(cell.strip() for cell in cells) and not (told and number == 1):
            yield number, cells


def _columns(heading: Sequence[str], at: Path_, faults: FaultList) -> Mapping[str, int]:
    """Where each column stands; none where a needed one is missing or one stands twice."""
    names = [cell.strip().lower() for cell in heading]
    for column in NEEDED:
        if column not in names:
            near = near_names(column, set(names) - {*NEEDED, *MAY})
            remedy = f"Is it {shown(near[0])}? Rename that." if near else f"Give the columns {', '.join(NEEDED)}."
            faults.add((*at, column), "missing", f"The heading has no column {column!r}. {remedy}")
    for column in (*NEEDED, *MAY):
        if names.count(column) > 1:
            detail = f"The heading names {column!r} {names.count(column)} times. Keep one of them."
            faults.add((*at, column), "duplicate", detail)
    return {} if faults.found else {name: place for place, name in enumerate(names) if name in (*NEEDED, *MAY)}


def _together(entries: Sequence[LoggedWork], faults: FaultList) -> tuple[LoggedWork, ...]:
    """Rows of one operation of one order are one entry: work of several days. Boards and units are told once."""
    found: dict[object, LoggedWork] = {}
    for entry in entries:
        key = (entry.order, entry.operation) if entry.order else entry.row
        first = found.setdefault(key, entry)
        if first is entry:
            continue
        for column in ("boards", "units"):
            told, now = getattr(first, column), getattr(entry, column)
            if told is not None and now is not None and told != now:
                detail = (
                    f"{now:g} {column}, but row {first.row} of the same order and operation says {told:g}. Both rows"
                )
                remedy = "are one piece of work: give its whole number, or leave the cell empty in the later row."
                faults.add((f"row {entry.row}", column), "conflict", f"{detail} {remedy}")
        found[key] = replace(
            first,
            boards=first.boards or entry.boards,
            units=entry.units if first.units is None else first.units,
            hours_h=first.hours_h + entry.hours_h,
        )
    return tuple(found.values())


def _at_most(faults: FaultList) -> list[Fault]:
    more = len(faults.found) - MOST_TOLD
    if more > 0:
        faults.add((), "more", f"{more} mistakes more are not shown. Mend these first.")
        del faults.found[MOST_TOLD:-1]
    return faults.found


# Cells ----------------------------------------------------------------------------------------------------------------


def _filled(read: Callable[[str], T]) -> Reader[T]:
    """Reads a cell, which must not be empty."""

    def filled(cell: object) -> T:
        return read(str(cell) or refuse("missing", "The cell is empty. Fill it in, or take the row out."))

    return filled


def _day(cell: str) -> date:
    if dotted := _DOTTED_DAY.fullmatch(cell):
        cell = f"{dotted[3]}-{int(dotted[2]):02}-{int(dotted[1]):02}"
    elif "/" in cell:
        refuse("bad-date", f"{shown(cell)} is one day here and another there. Write it like 2027-02-17 or 17.2.2027.")
    return day(cell)


def _boards(cell: str) -> int:
    found = _amount(cell, "boards", MOST_BOARDS)
    if found != int(found):
        refuse("wrong-type", f"{shown(cell)} is no whole number of boards. Give 1 to {MOST_BOARDS}.")
    return int(found)


def _units(cell: str) -> float:
    return _amount(cell, "units", MOST_UNITS)


def _hours_h(cell: str) -> float:
    """Hours as 1.5, 1,5, 1:30, "90 min" or "1.5 h"."""
    if clock := _CLOCK.fullmatch(cell):
        cell = f"{int(clock[1]) + int(clock[2]) / 60:.9f}"
    elif not _NUMBER.fullmatch(cell):
        found_h = hours(0, MOST_HOURS)(cell.replace(",", "."))
        cell = f"{found_h:.9f}"
    return _amount(cell, "hours", MOST_HOURS)


def _amount(cell: str, what: str, most: float) -> float:
    if not _NUMBER.fullmatch(cell):
        refuse("wrong-type", f"{shown(cell)} is no number of {what}. Write it like 12 or 0.25.")
    found = float(cell.replace(",", "."))
    if not 0 < found <= most:
        refuse("out-of-range", f"{shown(cell)} {what}: give more than 0 and at most {most:g}.")
    return found
