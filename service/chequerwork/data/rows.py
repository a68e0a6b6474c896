"""Reading a row into its fact: the fields name the columns, their types and metadata say what a cell may hold."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache, partial
from operator import methodcaller
from types import NoneType
from typing import Any, Final, TypeVar, cast, get_args

from chequerwork.data.reading import FactRow
from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.columns import BLANK, COLUMN, PATTERN, UPPER, WORDS
from chequerwork.domain.basics.facts import Fact

PROVENANCE: Final = ("source", "locator", "confidence")  # last in every file; ``records.check_provenance`` reads them
_BOUNDED: Final = {float: "number", int: "whole", Decimal: "amount"}
_PLAIN: Final = {bool: "flag", date: "day", tuple[str, ...]: "words"}

T = TypeVar("T")
Cell = Callable[[FactRow], Any]


def columns_of(record: type) -> tuple[str, ...]:
    """Every column of a fact's file, in its order."""
    own = [name for field in _fields(record) for name in field.columns if not field.of_provenance]
    return (*own, *(PROVENANCE if issubclass(record, Fact) else ()))


def fact_of(record: type[T], row: FactRow, **own: Cell) -> T:
    """A row as a fact, field by field, so that one pass names everything wrong.

    Parameters
    ----------
    record
        The fact's class.
    row
        Where mistakes are noted.
    own
        Readers of fields for which type and metadata do not say enough.
    """
    readers, limited = _field_readers(cast("type", record))
    made = record(**{name: own.get(name, read)(row) for name, read in readers})
    for name, upper in limited:
        low, high = getattr(made, name), getattr(made, upper)
        if low > high:  # a placeholder (NaN) is never above
            detail = f"{name} is {low:g}, above its upper end {high:g}. Correct one of them."
            row.fault(name, "wrong-order", detail)
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class _Field:
    """A field of a fact with its type, None apart."""

    record: type
    name: str
    kind: type
    optional: bool
    says: dict[str, Any]  # its metadata

    @property
    def column(self) -> str | None:
        """Its column, or None."""
        column: str | None = self.says.get(COLUMN, self.name)
        return column

    @property
    def columns(self) -> tuple[str, ...]:
        """Its column, or those of the record that it holds."""
        return columns_of(self.kind) if is_dataclass(self.kind) else (self.column,) if self.column else ()

    @property
    def of_provenance(self) -> bool:
        """Whether its column is read before the others, of all rows."""
        return issubclass(self.record, Fact) and self.column in PROVENANCE

    def reader(self) -> Cell:
        """What reads its cell, or its cells."""
        read = self._of_given()
        if not self.optional and BLANK not in self.says:
            return read
        columns, nothing = self.columns, self.says.get(BLANK)
        return lambda row: read(row) if any(map(row.raw, columns)) else nothing

    def _of_given(self) -> Cell:
        if is_dataclass(self.kind):
            return partial(fact_of, self.kind)
        if self.of_provenance:
            return methodcaller("raw", self.column)
        if self.kind in _BOUNDED:
            return methodcaller(_BOUNDED[self.kind], self.column, *bounds_of(self.record, self.name))
        if self.kind in _PLAIN:
            return methodcaller(_PLAIN[self.kind], self.column)
        if issubclass(self.kind, StrEnum):
            members = {str(member): member for member in self.kind}
            word = methodcaller("one_of", self.column, members)
            return lambda row: members.get(word(row))
        return self._of_text()

    def _of_text(self) -> Cell:
        if WORDS in self.says:
            return methodcaller("one_of", self.column, self.says[WORDS])
        if PATTERN in self.says:
            pattern, example = self.says[PATTERN]
            return methodcaller("matching", self.column, re.compile(pattern), example)
        return methodcaller("text", self.column)


def _fields(record: type) -> Iterator[_Field]:
    for each in fields(record):
        kind, optional = cast("type", each.type), NoneType in get_args(each.type)
        if optional:
            kind = next(part for part in get_args(kind) if part is not NoneType)
        yield _Field(record=record, name=each.name, kind=kind, optional=optional, says=dict(each.metadata))


@cache
def _field_readers(record: type) -> tuple[tuple[tuple[str, Cell], ...], tuple[tuple[str, str], ...]]:
    """Name and reader of every field, and the pairs of fields of which the first is not above the second."""
    found = tuple(_fields(record))
    readers = tuple((field.name, field.reader()) for field in found)
    return readers, tuple((field.name, field.says[UPPER]) for field in found if UPPER in field.says)
