"""The parcel of one board."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, num, one, text, whole
from chequerwork.api.sections.trees import RECT, Fields, Tree, mm, rect_tree
from chequerwork.domain.advice import Audience
from chequerwork.domain.geometry import Rect
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_length, format_mass

SHAPES: Final[Mapping[str, Fields]] = {
    "Carton": {**RECT, "height_mm": num(), "height_text": text()},
    "Packing": {
        "parcels": whole(),
        "carton": one("Carton", "Of one board, outside."),
        "mass_kg": num("Of one parcel."),
        "mass_text": text(),
        "dimensional_kg": num(),
        "billable_kg": num(),
        "billable_text": text(),
        "length_plus_girth_mm": num(),
        "length_plus_girth_text": text(),
        "flat": kind("boolean", "Flat by the test houses' shape."),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found, units = plan.packing, plan.order.units
    return {
        "parcels": found.parcels,
        "carton": {
            **rect_tree(Rect(length_mm=found.length_mm, width_mm=found.width_mm), units),
            "height_mm": mm(found.height_mm),
            "height_text": format_length(found.height_mm, units),
        },
        "mass_kg": round(found.mass_kg, 3),
        "mass_text": format_mass(found.mass_kg * 1000, units),
        "dimensional_kg": round(found.dimensional_kg, 3),
        "billable_kg": round(found.billable_kg, 3),
        "billable_text": format_mass(found.billable_kg * 1000, units),
        "length_plus_girth_mm": mm(found.length_plus_girth_mm),
        "length_plus_girth_text": format_length(found.length_plus_girth_mm, units),
        "flat": found.flat,
    }
