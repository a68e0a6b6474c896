"""Reading fact files row by row, and collecting every mistake instead of stopping at the first."""

import csv
import io
import math
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from chequerwork.domain.basics.errors import Fault

_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?")
_WHOLE = re.compile(r"[0-9]{1,9}")
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@dataclass(frozen=True, slots=True, kw_only=True)
class FactRow:
    """One row of a fact file.

    Each reader returns the value of a column. Where the cell is no such value it notes a fault and returns a
    placeholder, so that one pass names everything wrong; nothing is used of a file with faults.
    """

    file: str
    place: str | int  # line of a CSV file, key of a TOML record
    cells: Mapping[str, str]
    faults: list[Fault]  # shared by all rows of one reading

    def fault(self, column: str, code: str, detail: str) -> None:
        """Note something wrong in ``column``."""
        self.faults.append(Fault(at=(self.file, self.place, column), code=code, detail=detail))

    def raw(self, column: str) -> str:
        """The cell as written, without surrounding space; empty where there is none."""
        return self.cells.get(column, "")

    def text(self, column: str) -> str:
        """A text that must be there."""
        given = self.raw(column)
        if not given:
            self.fault(column, "missing-value", f"{column} is empty. Fill it in.")
        return given

    def matching(self, column: str, pattern: re.Pattern[str], like: str) -> str:
        """A text of one form; ``like`` shows it."""
        given = self.text(column)
        if given and not pattern.fullmatch(given):
            self.fault(column, "bad-value", f"{column} is {given[:60]!r}. Write it like {like}.")
        return given

    def one_of(self, column: str, allowed: Collection[str]) -> str:
        """A word of a closed list."""
        given = self.text(column)
        if given and given not in allowed:
            self.fault(column, "bad-value", f"{column} is {given[:60]!r}. Choose of: {', '.join(allowed)}.")
        return given

    def flag(self, column: str) -> bool:
        """``yes`` or ``no``."""
        return self.one_of(column, ("yes", "no")) == "yes"

    def number(self, column: str, low: float, high: float) -> float:
        """A plain decimal number from ``low`` to ``high``, in the column's own unit."""
        given = self.text(column)
        if not given:
            return math.nan
        if not _NUMBER.fullmatch(given):
            self.fault(column, "bad-number", f"{column} is {given[:60]!r}. Write a number such as 0.5.")
            return math.nan
        value = float(given)
        if not low <= value <= high:
            detail = f"{column} is {given[:60]}; it must be {low:g} to {high:g}. Check figure and unit."
            self.fault(column, "out-of-range", detail)
        return value

    def amount(self, column: str, low: float, high: float) -> Decimal:
        """As ``number``, with the decimals as written."""
        return Decimal("NaN" if math.isnan(self.number(column, low, high)) else self.raw(column))

    def whole(self, column: str, low: int, high: int) -> int:
        """A whole number from ``low`` to ``high``."""
        given = self.text(column)
        if given and not _WHOLE.fullmatch(given):
            self.fault(column, "bad-number", f"{column} is {given[:60]!r}. Write a whole number.")
            return low
        if given and not low <= int(given) <= high:
            detail = f"{column} is {given[:60]}; it must be {low} to {high}. Correct it."
            self.fault(column, "out-of-range", detail)
        return int(given or low)

    def day(self, column: str) -> date:
        """A day of the calendar, written like 2026-11-25."""
        given = self.text(column)
        try:
            return date.fromisoformat(given if _DAY.fullmatch(given) else "")
        except ValueError:
            if given:
                self.fault(column, "bad-value", f"{column} is {given[:60]!r}. Write a date like 2026-11-25.")
            return date.min

    def words(self, column: str) -> tuple[str, ...]:
        """Words with ``"; "`` between them; there may be none."""
        return tuple(filter(None, self.raw(column).split("; ")))


def read_rows(file: str, content: bytes, columns: Collection[str], faults: list[Fault]) -> list[FactRow]:
    """Rows of one fact file, CSV or TOML by its name; none where its form is broken.

    Parameters
    ----------
    file : str
        Name of the file; a TOML file must hold one array of tables named like it.
    content : bytes
        What is in it, UTF-8.
    columns : collection of str
        The columns or keys every row must have, no more and no fewer; the first one names a TOML record.
    faults : list of Fault
        Where mistakes are noted.
    """
    before = len(faults)
    read = _csv_records if file.endswith(".csv") else _toml_records
    try:
        found = [
            FactRow(file=file, place=place, cells=cells, faults=faults)
            for place, cells in read(file, content.decode("utf-8"), columns, faults)
        ]
    except (UnicodeDecodeError, csv.Error, tomllib.TOMLDecodeError) as broken:
        faults.append(Fault(at=(file,), code="broken-file", detail=f"The file cannot be read: {broken}."))
        return []
    if not found and len(faults) == before:
        faults.append(Fault(at=(file,), code="empty-file", detail="The file has no rows. Put them back."))
    return found


def _csv_records(
    file: str, text: str, columns: Collection[str], faults: list[Fault]
) -> Iterator[tuple[int, dict[str, str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    header = [name.strip() for name in next(reader, [])]
    if not _same_names(header, columns, (file, 1), faults):
        return
    for cells in reader:
        if len(cells) == len(header):
            yield reader.line_num, dict(zip(header, map(str.strip, cells), strict=True))
        elif cells:
            detail = f"The row has {len(cells)} cells, the header {len(header)}. Quote a cell with a comma."
            faults.append(Fault(at=(file, reader.line_num), code="bad-row", detail=detail))


def _toml_records(
    file: str, text: str, columns: Collection[str], faults: list[Fault]
) -> Iterator[tuple[str | int, dict[str, str]]]:
    content = tomllib.loads(text)
    table = file.removesuffix(".toml")
    records = content.pop(table, None)
    if content or not isinstance(records, list):
        detail = f"The file must hold an array of tables [[{table}]] and nothing else."
        faults.append(Fault(at=(file,), code="broken-file", detail=detail))
        return
    for number, record in enumerate(records, start=1):
        if not isinstance(record, dict) or not all(isinstance(value, str) for value in record.values()):
            detail = "Every value of a record must be a text in quotes."
            faults.append(Fault(at=(file, number), code="bad-row", detail=detail))
        elif _same_names(list(record), columns, (file, number), faults):
            cells = {name: value.strip() for name, value in record.items()}
            yield cells[next(iter(columns))] or number, cells


def _same_names(given: list[str], wanted: Collection[str], at: tuple[str, int], faults: list[Fault]) -> bool:
    """Whether ``given`` names exactly the ``wanted`` columns; notes a fault where not."""
    missing = [name for name in wanted if name not in given]
    extra = [name for name in given if name not in wanted] + [n for n in set(given) if given.count(n) > 1]
    if missing:
        detail = f"Missing: {', '.join(missing)}. Add the column or key."
        faults.append(Fault(at=at, code="missing-column", detail=detail))
    if extra:
        names = ", ".join(name[:60] or "(no name)" for name in sorted(extra))
        detail = f"Not known or named twice: {names}. Remove it."
        faults.append(Fault(at=at, code="unknown-column", detail=detail))
    return not missing and not extra
