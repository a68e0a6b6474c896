"""The parcels of an order."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, many, maybe_num, maybe_text, num, one, text, whole
from chequerwork.api.sections.trees import RECT, Fields, Tree, mm, rect_tree
from chequerwork.domain.advice import Audience
from chequerwork.domain.geometry import Rect
from chequerwork.domain.packing import Packed
from chequerwork.domain.plan import Plan
from chequerwork.domain.shipping import Carriage, Sides
from chequerwork.quantities import format_length, format_mass

_SERVICE = "By which a parcel travels, where the shop has several."
SHAPES: Final[Mapping[str, Fields]] = {
    "Carton": {**RECT, "height_mm": num(), "height_text": text()},
    "DimensionalRule": {
        "counts": kind("boolean", "Whether the parcel is billed by its size too."),
        "above_cm3": maybe_num("Volume up to which it is not."),
        "divisor_cm3_per_kg": num("The volume over this is the dimensional mass."),
        "sides_up_to_mm": maybe_num("Each side is rounded up to a multiple of this before."),
        "mass_up_to_kg": num("The billed mass is rounded up to a multiple of this."),
    },
    "Consigned": {
        "count": whole("Parcels of this kind."),
        "boards": whole("In each of them."),
        "carton": one("Carton", "Outside."),
        "mass_kg": num(),
        "mass_text": text(),
        "billable_kg": num(),
        "billable_text": text(),
        "service": maybe_text(_SERVICE),
    },
    "Packing": {
        "parcels": whole("Of the order."),
        "boards": whole("In a full parcel."),
        "carton": one("Carton", "Of a full parcel, outside."),
        "mass_kg": num("Of a full parcel."),
        "mass_text": text(),
        "service": maybe_text(_SERVICE),
        "sides_rounded": one("Carton", "As the carrier measures them."),
        "dimensional_rule": one("DimensionalRule"),
        "dimensional_kg": num(),
        "billable_kg": num("Of a full parcel."),
        "billable_text": text(),
        "length_plus_girth_mm": num(),
        "length_plus_girth_text": text(),
        "flat": kind("boolean", "Flat by the test houses' shape."),
        "consigned": many("Consigned", "Every parcel: equal ones, and a smaller last one where boards are left."),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    order, units = plan.packing, plan.order.units
    found, sent = order.first, order.first.carriage
    return {
        "parcels": order.parcels,
        "boards": found.boards,
        "carton": _carton(found.sides_mm, units),
        "mass_kg": round(found.mass_kg, 3),
        "mass_text": format_mass(found.mass_kg * 1000, units),
        "service": sent.service.name,
        "sides_rounded": _carton(sent.sides_mm, units),
        "dimensional_rule": _rule(sent),
        "dimensional_kg": round(sent.dimensional_kg, 3),
        "billable_kg": round(sent.billable_kg, 3),
        "billable_text": format_mass(sent.billable_kg * 1000, units),
        "length_plus_girth_mm": mm(found.length_plus_girth_mm),
        "length_plus_girth_text": format_length(found.length_plus_girth_mm, units),
        "flat": found.flat,
        "consigned": [_consigned(count, each, units) for count, each in order.kinds],
    }


def _carton(sides_mm: Sides, units: str) -> Tree:
    length_mm, width_mm, height_mm = sides_mm
    return {
        **rect_tree(Rect(length_mm=length_mm, width_mm=width_mm), units),
        "height_mm": mm(height_mm),
        "height_text": format_length(height_mm, units),
    }


def _rule(sent: Carriage) -> Tree:
    service = sent.service
    return {
        "counts": sent.dimensional_counts,
        "above_cm3": round(service.dimensional_above_cm3, 3) or None,
        "divisor_cm3_per_kg": round(sent.divisor_cm3_kg, 3),
        "sides_up_to_mm": mm(service.sides_up_to_mm) or None,
        "mass_up_to_kg": round(sent.round_up_kg, 6),
    }


def _consigned(count: int, found: Packed, units: str) -> Tree:
    return {
        "count": count,
        "boards": found.boards,
        "carton": _carton(found.sides_mm, units),
        "mass_kg": round(found.mass_kg, 3),
        "mass_text": format_mass(found.mass_kg * 1000, units),
        "billable_kg": round(found.billable_kg, 3),
        "billable_text": format_mass(found.billable_kg * 1000, units),
        "service": found.carriage.service.name,
    }
