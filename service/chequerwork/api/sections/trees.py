"""What several sections show alike: lengths, rectangles, amounts of money."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from marshmallow import fields

from chequerwork.api.answer_fields import num, text
from chequerwork.domain.board.geometry import Rect
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_fine, format_length

Tree = dict[str, Any]
Fields = Mapping[str, fields.Field[Any]]

RECT: Final = {"length_mm": num("Along the grain."), "length_text": text(), "width_mm": num(), "width_text": text()}


_SCALES: Final = (1.0, 10.0, 100.0, 1e3, 1e4, 1e5, 1e6)
# The nearest whole number of a scaled value is the right one, unless that lies this near to the middle of two.
_CLEAR: Final = 0.4999


def rounded(value: float, decimals: int) -> float:
    """``round`` of a value below 1e6 to at most 6 decimals, in a third of its time: an answer has 200 of them.

    Python's own works on the decimal digits, which only a value in the middle between two results needs.
    """
    scaled = value * _SCALES[decimals]
    whole = round(scaled)
    if whole and abs(scaled - whole) < _CLEAR:
        return whole / _SCALES[decimals]
    return round(value, decimals)


def mm(value: float | None) -> float | None:
    """A length at a thousandth of a millimetre: ``rounded`` once more, without a second call."""
    if not value:
        return value
    scaled = value * 1000.0
    whole = round(scaled)
    return whole / 1000.0 if whole and abs(scaled - whole) < _CLEAR else round(value, 3)


def tell(text: str, lengths_mm: Sequence[float], units: str) -> str:
    """A sentence with its lengths in the order's units, where it has ``{0}`` and the like for them."""
    return text.format(*(format_fine(length_mm, units) for length_mm in lengths_mm)) if lengths_mm else text


def rect_tree(rect: Rect, units: str, *, diagonal: bool = False) -> Tree:
    """A rectangle in mm and as people read it."""
    tree: Tree = {
        "length_mm": mm(rect.length_mm),
        "length_text": format_length(rect.length_mm, units),
        "width_mm": mm(rect.width_mm),
        "width_text": format_length(rect.width_mm, units),
    }
    if diagonal:
        tree["diagonal_mm"] = mm(rect.diagonal_mm)
    return tree


def amount(amount: Decimal, plan: Plan | None = None) -> str:
    """An amount as text with a point; rounded to the currency's decimals where it is not yet."""
    if plan is not None:
        exponent = plan.tables.currencies[plan.shop.currency].exponent
        amount = round(amount, exponent)
    return f"{amount:f}"
