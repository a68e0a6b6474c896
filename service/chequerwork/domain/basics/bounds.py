"""Bounds of a field, written where the field is: ``square_mm: float = field(metadata=within(1, 1000))``.

Whoever reads the field from outside, or tells somebody its range, asks ``bounds_of``.
"""

from dataclasses import fields
from decimal import Decimal
from typing import Any, Final, TypeVar

N = TypeVar("N", int, float, Decimal)

BOUNDS: Final = "bounds"

# Numbers that bound fields of more than one wing.
RH_SPAN_PCT: Final = (5.0, 95.0)  # humidities of the published table of wood's moisture
MOST_BOARDS: Final = 500  # of one order


def within(low: N, high: N) -> dict[str, Any]:
    """Metadata of a field that lies between two limits, both allowed, in the field's own unit.

    Of a range, both ends do; of a mapping or a list, every entry does.
    """
    return {BOUNDS: (low, high)}


def bounds_of(record: type, name: str) -> tuple[Any, Any]:
    """The lowest and the highest value of a field, as they were written: whole numbers stay whole.

    Raises
    ------
    LookupError
        Where the record has no such field, or the field no bounds.
    """
    bounds: tuple[Any, Any] = {each.name: each.metadata for each in fields(record)}[name][BOUNDS]
    return bounds
