"""What several sections show alike: lengths, rectangles, amounts of money."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from marshmallow import fields

from chequerwork.api.answer_fields import num, text
from chequerwork.domain.geometry import Rect
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_fine, format_length

Tree = dict[str, Any]
Fields = Mapping[str, fields.Field[Any]]

RECT: Final = {"length_mm": num("Along the grain."), "length_text": text(), "width_mm": num(), "width_text": text()}


def mm(value: float | None) -> float | None:
    """A length at a thousandth of a millimetre."""
    return None if value is None else round(value, 3)


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
