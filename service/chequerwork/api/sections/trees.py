"""How single values are written: rounded, in sentences, as amounts of money."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import cache
from typing import Any, Final

from chequerwork.quantities import format_fine

Tree = dict[str, Any]

# The nearest whole number of a scaled value is the right one, unless that lies this near to the middle of two.
_CLEAR: Final = 0.4999


@cache
def rounding(decimals: int) -> Callable[..., float]:
    """``round`` of a value below 1e6 to at most 6 decimals, in a third of its time: an answer has 200 of them.

    Python's own works on the decimal digits, which only a value in the middle between two results needs.
    """
    scale = 10.0**decimals

    def rounded(value: float, _: object = None) -> float:
        scaled = value * scale
        whole = round(scaled)
        return whole / scale if whole and -_CLEAR < scaled - whole < _CLEAR else round(value, decimals)

    return rounded


mm: Final = rounding(3)  # a length, at a thousandth of a millimetre


def tell(text: str, lengths_mm: Sequence[float], units: str) -> str:
    """A sentence with its lengths in the order's units, where it has ``{0}`` and the like for them."""
    return text.format(*(format_fine(length_mm, units) for length_mm in lengths_mm)) if lengths_mm else text


def amount(amount: Decimal) -> str:
    """An amount as text with a point."""
    return f"{amount:f}"
