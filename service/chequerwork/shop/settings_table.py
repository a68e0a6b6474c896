"""One table of a shop file: hands out its settings one by one and collects what is wrong with them.

A setting that cannot be read leaves a hole: ``None`` under the type that was asked for. A shop with a hole has a fault,
so it never leaves the room (``loader`` raises first). ``FaultList.sound`` tells a cross check which settings it may
use.
"""

import re
from collections.abc import Callable, Mapping
from datetime import date, time
from types import MappingProxyType
from typing import TypeVar, cast

from chequerwork.domain.basics.errors import BadQuantity, Fault, Path, near_names

T = TypeVar("T")
D = TypeVar("D")
Reader = Callable[[object], T]  # raises BadQuantity

LONGEST_SHOWN = 60  # characters of a given value that a fault repeats
MOST_ENTRIES = 400  # of one list or table of tables; four years of holidays fit

_SECRET = re.compile(r"[0-9a-fA-F]{32,}")  # 16 bytes and more in hex: a salt, a hash or an access key
_NO_NUMBER_SHOWN = 10**15


def scrubbed(text: str) -> str:
    """The text without anything that could be a salt, a hash or a key, whichever setting it was put in by mistake."""
    return _SECRET.sub("(not shown)", text)


def shown(value: object) -> str:
    """A given value as a fault may repeat it: short, on one line and without secrets."""
    if isinstance(value, str):
        return repr(scrubbed(value)[:LONGEST_SHOWN])
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) >= _NO_NUMBER_SHOWN:
        return "a whole number of more than 15 digits"
    if isinstance(value, int | float | date | time):
        return str(value)[:LONGEST_SHOWN]
    return "a table" if isinstance(value, dict) else "a list"


class FaultList:
    """The faults of one file, and the tables whose unknown settings are still to be looked for."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.found: list[Fault] = []
        self._marks: list[Path] = []  # where the faults are, unshortened
        self._open: list[SettingsTable] = []

    def add(self, at: Path, code: str, detail: str) -> None:
        """Record one mistake at a path inside the file."""
        self._marks.append(at)
        place = (scrubbed(part)[:LONGEST_SHOWN] if isinstance(part, str) else part for part in at)
        self.found.append(Fault(at=(self.file, *place), code=code, detail=scrubbed(detail)))

    def mark(self, *paths: Path) -> None:
        """Remember holes that another fault explains already."""
        self._marks.extend(paths)

    def opened(self, table: "SettingsTable") -> None:
        """Remember a table, so that ``close`` can look for settings nobody asked for."""
        self._open.append(table)

    def close(self) -> None:
        """Report unknown and missing settings of every table read."""
        for table in self._open:
            table.report_names()

    def sound(self, *paths: Path) -> bool:
        """Whether no fault lies at, above or below any of these paths: then their values can be compared."""
        return not any(mark[: len(path)] == path or path[: len(mark)] == mark for path in paths for mark in self._marks)


class SettingsTable:
    """One table of the file.

    Parameters
    ----------
    given
        The table, or None where it is absent or no table: then every setting is a hole and nothing more is said.
    at
        Path of the table inside the file.
    faults
        Where faults go.
    """

    def __init__(self, given: Mapping[str, object] | None, at: Path, faults: FaultList) -> None:
        self._given, self.at, self._faults = given, at, faults
        self._asked: set[str] = set()
        self._missing: dict[tuple[str, ...], str] = {}  # names of one setting -> what to call it
        faults.opened(self)

    # Single settings --------------------------------------------------------------------------------------------------

    def read(self, key: str, reader: Reader[T]) -> T:
        """A setting that must be there."""
        if not self._has(key):
            self._miss(key)
            return cast("T", None)
        return self._read((key,), self._value(key), reader)

    def read_or(self, key: str, reader: Reader[T], default: D) -> T | D:
        """A setting that may be left out."""
        return self._read((key,), self._value(key), reader) if self._has(key) else default

    def one_of(self, readers: Mapping[str, Reader[T]]) -> T:
        """A setting that can be given under one of several names, such as a price per m3 or per board foot."""
        present = [key for key in readers if self._has(key)]
        if len(present) == 1:
            return self.read(present[0], readers[present[0]])
        if present:
            self.fault(present[1], "conflict", f"Both {' and '.join(present)} are given. Keep one of them.")
        else:
            self._miss(*readers)
        return cast("T", None)

    def one_of_or(self, readers: Mapping[str, Reader[T]], default: D) -> T | D:
        """The same, where all of them may be left out."""
        given = [key for key in readers if self._has(key)]
        return self.one_of(readers) if given else default

    def gives(self, key: str) -> bool:
        """Whether a setting is given; asking marks its name as valid."""
        return self._has(key)

    def fault(self, key: str | int, code: str, detail: str) -> None:
        """Record a mistake of one setting of this table."""
        self._faults.add((*self.at, key), code, detail)

    def sound(self, *keys: str) -> bool:
        """Whether these settings are there and were read without fault."""
        given = self._given or {}
        return all(key in given and self._faults.sound((*self.at, key)) for key in keys)

    # Lists and tables -------------------------------------------------------------------------------------------------

    def items(self, key: str, reader: Reader[T], *, least: int | None = None) -> tuple[T, ...]:
        """A list of values, each given once; values that cannot be read are left out.

        ``least`` here and below is the smallest number of entries; None lets the whole setting be left out.
        """
        given = self._list(key, least)
        found = []
        for index, value in enumerate(given):
            if value in given[:index]:
                self._faults.add((*self.at, key, index), "duplicate", f"{shown(value)} is given twice.")
            item = self._read((key, index), value, reader)
            if item is not None:
                found.append(item)
        return tuple(found)

    def table(self, key: str, build: Callable[["SettingsTable"], T]) -> T:
        """A table inside this one."""
        if self._has(key):
            return build(self._child((key,), self._value(key)))
        self._miss(key, what=f"The table [{'.'.join(map(str, (*self.at, key)))}]")
        return build(self._child((key,), None))

    def table_or_empty(self, key: str, build: Callable[["SettingsTable"], T]) -> T:
        """A table that may be left out, because all of its settings may be."""
        return build(self._child((key,), self._value(key) if self._has(key) else {}))

    def table_or_none(self, key: str, build: Callable[["SettingsTable"], T]) -> T | None:
        """A table that may be left out as a whole, but not in part."""
        return build(self._child((key,), self._value(key))) if self._has(key) else None

    def tables(self, key: str, build: Callable[["SettingsTable"], T], *, least: int | None = None) -> tuple[T, ...]:
        """A list of tables."""
        given = self._list(key, least)
        return tuple(build(self._child((key, index), value)) for index, value in enumerate(given))

    def named(
        self, key: str, name: Reader[str], build: Callable[[str, "SettingsTable"], T], *, least: int | None = None
    ) -> Mapping[str, T]:
        """A table of tables whose names are the maker's choice, such as one per timber."""
        built = {}
        for given, value in self._entries(key, least).items():
            self._read((key, given), given, name)
            built[given] = build(given, self._child((key, given), value))
        return MappingProxyType(built)

    def values(self, key: str, name: Reader[str], reader: Reader[T], *, least: int | None = None) -> Mapping[str, T]:
        """A table of values whose names are chosen from a closed list, such as one per country."""
        built = {}
        for given, value in self._entries(key, least).items():
            self._read((key, given), given, name)
            built[given] = self._read((key, given), value, reader)
        return MappingProxyType(built)

    # Within -----------------------------------------------------------------------------------------------------------

    def report_names(self) -> None:
        """Report settings nobody asked for, and missing ones unless an unknown one is a misspelling of them."""
        missing = dict(self._missing)
        for key in self._given or {}:
            if key not in self._asked:
                wanted = {name: names for names in missing for name in names}
                near = near_names(key, wanted) or near_names(key, self._asked)
                names = wanted.get(near[0], ()) if near else ()
                self._faults.mark(*((*self.at, name) for name in names))
                missing.pop(names, None)
                remedy = f"Did you mean {' or '.join(near)}? If not, remove it." if near else "Remove it."
                self.fault(key, "unknown-setting", f"There is no setting {shown(key)} here. {remedy}")
        for names, what in missing.items():
            self.fault(names[0], "missing", f"{what} is missing. The demo shops show it and explain it.")

    def _has(self, key: str) -> bool:
        self._asked.add(key)
        return self._given is not None and key in self._given

    def _value(self, key: str) -> object:
        return (self._given or {})[key]

    def _miss(self, *names: str, what: str = "") -> None:
        if self._given is not None:
            self._missing[names] = what or " or ".join(names)

    def _read(self, at: Path, value: object, reader: Reader[T]) -> T:
        try:
            return reader(value)
        except BadQuantity as error:
            self._faults.add((*self.at, *at), error.code, error.detail)
            return cast("T", None)

    def _child(self, at: Path, value: object) -> "SettingsTable":
        if value is not None and not isinstance(value, dict):
            detail = f"This must be a table of settings; given was {shown(value)}."
            self._faults.add((*self.at, *at), "wrong-type", detail)
        return SettingsTable(value if isinstance(value, dict) else None, (*self.at, *at), self._faults)

    def _list(self, key: str, least: int | None) -> list[object]:
        given = self._collection(key, least, list)
        return given if isinstance(given, list) else []

    def _entries(self, key: str, least: int | None) -> Mapping[str, object]:
        given = self._collection(key, least, dict)
        return given if isinstance(given, dict) else {}

    def _collection(self, key: str, least: int | None, kind: type) -> object:
        """The list or table under a key, or None where it is absent, of another type or of a wrong size."""
        if not self._has(key):
            if least is not None:
                self._miss(key)
            return None
        given, least = self._value(key), least or 0
        if not isinstance(given, kind) or not isinstance(given, list | dict):
            wanted = "a list in square brackets" if kind is list else "a table of settings"
            self.fault(key, "wrong-type", f"This must be {wanted}; given was {shown(given)}.")
            return None
        if not least <= len(given) <= MOST_ENTRIES:
            self.fault(key, "wrong-count", f"{len(given)} entries are given; give {least} to {MOST_ENTRIES}.")
            return None
        return given
