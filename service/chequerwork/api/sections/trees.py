"""How single values are written: rounded, in sentences, as amounts of money."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from chequerwork.quantities import format_fine

Tree = dict[str, Any]

# The nearest whole number of a scaled value is the right one, unless that lies this near to the middle of two.
CLEAR: Final = 0.4999


def mm(value: float | None) -> float | None:
    """``round`` to a thousandth of a millimetre, in a third of its time.

    Python's own works on the decimal digits, which only a value in the middle between two results needs.
    """
    if not value:
        return value
    scaled = value * 1000.0
    whole = round(scaled)
    return whole / 1000.0 if whole and abs(scaled - whole) < CLEAR else round(value, 3)


def tell(text: str, lengths_mm: Sequence[float], units: str) -> str:
    """A sentence with its lengths in the order's units, where it has ``{0}`` and the like for them."""
    return text.format(*(format_fine(length_mm, units) for length_mm in lengths_mm)) if lengths_mm else text


def amount(amount: Decimal) -> str:
    """An amount as text with a point."""
    return f"{amount:f}"
