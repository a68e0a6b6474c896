"""Rows of ``tests/reference/tables`` as checks: what the source prints, what the domain answers, how far apart.

A row names a question of ``answers``, its inputs and the printed result. ``ours`` stands only where the two disagree by
more than the tolerance: it is what the service gives, and the note says why.
"""

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from builders import table_rows
from reference.answers import ANSWERS

FOLDER = Path(__file__).parent / "tables"
COLUMNS = (
    "id", "function", "inputs", "expected", "tol", "unit", "source", "locator", "confidence", "ours", "note",
)  # fmt: skip
# Tables of checks, each with what it is about, in the order of the page of validity.
TABLES = {
    "emc_table": "Table of equilibrium moisture",
    "timber": "Moisture of wood and boards",
    "gravity": "Specific gravity",
    "relation": "Coefficient from shrinkage",
    "species": "What the species table carries",
    "second_sources": "Second sources beside the species table",
    "cites": "Listed timbers",
    "movement": "Movement",
    "flatness": "Flatness",
    "accuracy": "Accuracy",
    "standards": "Boards and pieces",
    "geometry": "Frames and mass",
    "cutting": "Rough sizes",
    "materials": "Lumber, sheets and adhesive",
    "joints": "Joints",
    "finishing": "Sanding and finish",
    "limits": "Limits of law",
    "schedule": "Hours",
    "packing": "Parcel",
    "pricing": "Price",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One published figure."""

    table: str
    id: str
    function: str
    inputs: dict[str, Any]
    expected: Any
    tol: float  # half of the last printed digit, or what the source itself states
    unit: str
    source: str
    locator: str
    confidence: str
    ours: Any  # None where we agree
    note: str

    @property
    def disagrees(self) -> bool:
        """Whether the row is kept to say that ours is another figure."""
        return self.ours is not None

    def found(self) -> Any:
        """What the service answers."""
        return _plain(ANSWERS[self.function].ask(**self.inputs))

    def off(self) -> float:
        """How far the answer is from the printed figure, in the row's unit; infinite where words differ."""
        return _apart(self.found(), self.expected)

    def agrees(self) -> bool:
        """Whether the answer is the printed figure within the tolerance, a binary tail apart."""
        return self.off() <= self.tol * (1 + 1e-9)

    def as_stated(self) -> bool:
        """Whether the answer is what the row says that ours is, within the tolerance."""
        return _apart(self.found(), self.ours) <= self.tol * (1 + 1e-9)


@cache
def checks(table: str) -> tuple[Check, ...]:
    """All rows of one table."""
    return tuple(_check(table, row) for row in table_rows(table))


def all_checks() -> Iterator[Check]:
    """All rows of all tables."""
    for table in TABLES:
        yield from checks(table)


def _check(table: str, row: dict[str, str]) -> Check:
    return Check(
        table=table,
        id=row["id"],
        function=row["function"],
        inputs=json.loads(row["inputs"]),
        expected=json.loads(row["expected"]),
        tol=float(row["tol"]),
        unit=row["unit"],
        source=row["source"],
        locator=row["locator"],
        confidence=row["confidence"],
        ours=json.loads(row["ours"]) if row["ours"] else None,
        note=row["note"],
    )


def _plain(answer: Any) -> Any:
    """Numbers as floats, words as text, sequences as lists."""
    if isinstance(answer, list | tuple):
        return [_plain(each) for each in answer]
    return str(answer) if isinstance(answer, str) else answer if isinstance(answer, bool) else float(answer)


def _apart(found: Any, stated: Any) -> float:
    if isinstance(stated, list):
        same_length = isinstance(found, list) and len(found) == len(stated)
        return max(map(_apart, found, stated), default=0.0) if same_length else math.inf
    if isinstance(stated, bool | str):
        return 0.0 if type(found) is type(stated) and found == stated else math.inf
    return abs(found - stated)
