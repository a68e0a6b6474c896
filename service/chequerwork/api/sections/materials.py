"""What is bought for the whole order."""

from typing import Final

from chequerwork.api.component import (
    AnswerContext,
    Component,
    from_plan,
    many,
    mass,
    number,
    text,
    unrounded_money,
    whole,
)
from chequerwork.domain.making.materials import Item
from chequerwork.quantities import format_mass, format_volume


def _quantity(item: Item, to: AnswerContext) -> str:
    if item.unit == "g":
        return format_mass(item.quantity, to.units)
    if item.unit == "ml":
        return format_volume(item.quantity, to.units)
    return f"{item.quantity:.4g} {item.unit}"


TIMBER: Final = Component(
    "Timber",
    text("species"),
    number("net_m3", "In the finished parts.", decimals=6),
    number("gross_m3", "To be bought.", decimals=6),
    number("gross_board_feet", "The gross volume in board feet.", decimals=2),
    number("board_feet", "What is charged, by the trade's rounding."),
    mass("mass", "Of the net volume."),
    unrounded_money("cost"),
)
MATERIAL_LINE: Final = Component(
    "MaterialLine",
    text("item"),
    text("role"),
    number("quantity", of=lambda item, _: round(item.quantity, 3)),  # some are counted, and stay whole
    text("unit"),
    text("quantity_text", of=_quantity),
    text("note"),
    unrounded_money("cost"),
)
MATERIALS: Final = Component(
    "Materials",
    whole("quantity", "Boards; all amounts are for this many.", from_plan("order.sale.quantity")),
    many("timber", TIMBER),
    many("lines", MATERIAL_LINE, of="items"),
)

COMPONENTS: Final = (TIMBER, MATERIAL_LINE, MATERIALS)
