"""What is bought for the whole order."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import many, money, num, text, whole
from chequerwork.api.sections.trees import Fields, Tree, amount, rounded
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_mass, format_volume

SHAPES: Final[Mapping[str, Fields]] = {
    "Timber": {
        "species": text(),
        "net_m3": num("In the finished parts."),
        "gross_m3": num("To be bought."),
        "gross_board_feet": num("The gross volume in board feet."),
        "board_feet": num("What is charged, by the trade's rounding."),
        "mass_kg": num("Of the net volume."),
        "mass_text": text(),
        "cost": money(),
    },
    "MaterialLine": {
        "item": text(),
        "role": text(),
        "quantity": num(),
        "unit": text(),
        "quantity_text": text(),
        "note": text(),
        "cost": money(),
    },
    "Materials": {
        "quantity": whole("Boards; all amounts are for this many."),
        "timber": many("Timber"),
        "lines": many("MaterialLine"),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found, units = plan.materials, plan.order.units
    return {
        "quantity": plan.order.sale.quantity,
        "timber": [
            {
                "species": timber.species,
                "net_m3": rounded(timber.net_m3, 6),
                "gross_m3": rounded(timber.gross_m3, 6),
                "gross_board_feet": rounded(timber.gross_board_feet, 2),
                "board_feet": timber.board_feet,
                "mass_kg": rounded(timber.mass_kg, 3),
                "mass_text": format_mass(timber.mass_kg * 1000, units),
                "cost": amount(timber.cost, plan),
            }
            for timber in found.timber
        ],
        "lines": [
            {
                "item": item.item,
                "role": item.role,
                "quantity": round(item.quantity, 3),
                "unit": item.unit,
                "quantity_text": _amount(item.quantity, item.unit, units),
                "note": item.note,
                "cost": amount(item.cost, plan),
            }
            for item in found.items
        ],
    }


def _amount(quantity: float, unit: str, units: str) -> str:
    if unit == "g":
        return format_mass(quantity, units)
    if unit == "ml":
        return format_volume(quantity, units)
    return f"{quantity:.4g} {unit}"
