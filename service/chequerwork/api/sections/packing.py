"""The parcels of an order."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import (
    kind,
    lacking,
    many,
    maybe_num,
    maybe_one,
    maybe_text,
    num,
    one,
    ref,
    text,
    whole,
)
from chequerwork.api.sections.trees import RECT, Fields, Tree, amount, mm, rect_tree
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.board.geometry import Rect
from chequerwork.domain.order.order import Units
from chequerwork.domain.parcel.packing import Packed
from chequerwork.domain.parcel.packing_list import Material
from chequerwork.domain.parcel.shipping import Carriage, Miss, Sides, told, ways
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_fine, format_length, format_mass

_SERVICE = "By which a parcel travels, where the shop has several."
_MAYBE_NUM = ref({"type": "number"}, "", required=False)  # what a thing has no measure of is left out
_MAYBE_TEXT = ref({"type": "string"}, "", required=False)
SHAPES: Final[Mapping[str, Fields]] = {
    "Carton": {**RECT, "height_mm": num(), "height_text": text()},
    "DimensionalRule": {
        "counts": kind("boolean", "Whether the parcel is billed by its size too."),
        "above_cm3": maybe_num("Volume up to which it is not."),
        "divisor_cm3_kg": num("The volume over this is the dimensional mass."),
        "sides_step_mm": maybe_num("Each side is rounded up to a multiple of this before."),
        "mass_step_kg": num("The billed mass is rounded up to a multiple of this."),
        "mass_step_text": text(),
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
    "Damp": {
        "build_pct": num("Moisture content on the day the board is built."),
        "low_pct": num("At the drier end of what containers hold."),
        "high_pct": num("At the damper end."),
        "swell_mm": num("Of the field across the grain, if it took on all of it."),
        "swell_text": text(),
        "room_mm": ref({"type": "number"}, "That the frame leaves, both sides together.", required=False),
        "room_text": _MAYBE_TEXT,
    },
    "Transit": {
        "crate": kind("boolean", "Whether the shop's limits ask for a crate."),
        "damp": maybe_one("Damp", "A long sea leg: an upper bound."),
    },
    "Way": {
        "service": maybe_text(),
        "taken": kind("boolean", ""),
        "billable_kg": _MAYBE_NUM,
        "billable_text": _MAYBE_TEXT,
        "postage": ref(
            {"type": "string"},
            "Of one parcel, fees of size included, without tax, in the shop's own currency.",
            required=False,
        ),
        "fees": kind("array", "Names of fees of size that are due.", items={"type": "string"}),
        "misses": kind("array", "Why it is not taken.", items={"type": "string"}),
    },
    "PackingMaterial": {
        "code": text(),
        "title": text(),
        "count": whole(),
        "length_mm": _MAYBE_NUM,
        "length_text": _MAYBE_TEXT,
        "width_mm": _MAYBE_NUM,
        "width_text": _MAYBE_TEXT,
        "thickness_mm": ref({"type": "number"}, "Of a carton its height.", required=False),
        "thickness_text": _MAYBE_TEXT,
        "area_m2": ref({"type": "number"}, "All of them together.", required=False),
        "volume_m3": _MAYBE_NUM,
        "note": text(),
    },
    "PackingLine": {"number": whole(), "text": text()},
    "PackingList": {
        "materials": many("PackingMaterial", "Of one full parcel, from the board outwards."),
        "last_materials": many("PackingMaterial", "Of a smaller last parcel, where there is one.", required=False),
        "steps": many("PackingLine", "In order."),
        "photos": many("PackingLine", "To take while packing, so that a claim for damage can be proved."),
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
        "dimensional_text": text(),
        "billable_kg": num("Of a full parcel."),
        "billable_text": text(),
        "length_plus_girth_mm": num(),
        "length_plus_girth_text": text(),
        "flat": kind("boolean", "Flat by the test houses' shape."),
        "transit": lacking("Transit", "Workshop view."),
        "ways": many("Way", "Workshop view: what each of several services makes of a full parcel.", required=False),
        "specification": lacking("PackingList", "Workshop view."),
        "consigned": many("Consigned", "Every parcel: equal ones, and a smaller last one where boards are left."),
    },
}


def view(plan: Plan, caller: Audience) -> Tree:
    """The section as a tree, as far as the caller may see it."""
    tree = _shown(plan)
    if caller is Audience.WORKSHOP:
        tree["transit"] = _transit(plan)
        tree["ways"] = _ways(plan)
        tree["specification"] = _specification(plan)
    return tree


def _shown(plan: Plan) -> Tree:
    order, units = plan.packing, plan.order.units
    found, sent = order.first, order.first.carriage
    consigned = [_consigned(count, each, units) for count, each in order.kinds]
    first = consigned[0]
    carton = first["carton"]
    return {
        "parcels": order.parcels,
        "boards": found.boards,
        "carton": carton,
        "mass_kg": first["mass_kg"],
        "mass_text": first["mass_text"],
        "service": first["service"],
        "sides_rounded": carton if sent.sides_mm == found.sides_mm else _carton(sent.sides_mm, units),
        "dimensional_rule": _rule(sent, units),
        "dimensional_kg": round(sent.dimensional_kg, 3),
        "dimensional_text": format_mass(sent.dimensional_kg * 1000, units),
        "billable_kg": first["billable_kg"],
        "billable_text": first["billable_text"],
        "length_plus_girth_mm": mm(found.length_plus_girth_mm),
        "length_plus_girth_text": format_length(found.length_plus_girth_mm, units),
        "flat": found.flat,
        "consigned": consigned,
    }


def _carton(sides_mm: Sides, units: str) -> Tree:
    length_mm, width_mm, height_mm = sides_mm
    return {
        **rect_tree(Rect(length_mm=length_mm, width_mm=width_mm), units),
        "height_mm": mm(height_mm),
        "height_text": format_length(height_mm, units),
    }


def _rule(sent: Carriage, units: str) -> Tree:
    service = sent.service
    return {
        "counts": sent.dimensional_counts,
        "above_cm3": round(service.dimensional_above_cm3, 3) or None,
        "divisor_cm3_kg": round(sent.divisor_cm3_kg, 3),
        "sides_step_mm": mm(service.sides_up_to_mm) or None,
        "mass_step_kg": round(sent.round_up_kg, 6),
        "mass_step_text": format_mass(sent.round_up_kg * 1000, units),
    }


def _transit(plan: Plan) -> Tree:
    found, units = plan.transit, plan.order.units
    if found.damp is None:
        return {"crate": found.crate, "damp": None}
    damp = found.damp
    tree: Tree = {
        "build_pct": round(damp.build_pct, 2),
        "low_pct": round(damp.low_pct, 2),
        "high_pct": round(damp.high_pct, 2),
        "swell_mm": mm(damp.swell_mm),
        "swell_text": format_fine(damp.swell_mm, units),
    }
    if damp.room_mm is not None:
        tree |= {"room_mm": mm(damp.room_mm), "room_text": format_fine(damp.room_mm, units)}
    return {"crate": found.crate, "damp": tree}


def _ways(plan: Plan) -> list[Tree]:
    first, units = plan.packing.first, plan.order.units
    if first.carriage.service.name is None:  # the only way, which the section itself tells
        return []
    found = []
    for way in ways(plan.order.sale.ship_to, plan.shop, first.sides_mm, first.mass_kg):
        sent = way.carriage
        tree: Tree = {"service": way.service.name, "taken": sent is not None}
        if sent is not None:
            tree["billable_kg"] = round(sent.billable_kg, 3)
            tree["billable_text"] = format_mass(sent.billable_kg * 1000, units)
            tree["postage"] = amount(sent.price, plan)
        tree["fees"] = [fee.name for fee in sent.fees] if sent else []
        tree["misses"] = [_missed(miss, units) for miss in way.misses]
        found.append(tree)
    return found


def _missed(miss: Miss, units: Units) -> str:
    given, limit = told((miss.given, miss.limit), units, lengths=miss.lengths)
    return f"{miss.says.format(given)}, above {limit}"


def _specification(plan: Plan) -> Tree:
    found, units = plan.packing_list, plan.order.units
    tree: Tree = {"materials": [_material(each, units) for each in found.materials]}
    if found.last_materials:
        tree["last_materials"] = [_material(each, units) for each in found.last_materials]
    return {**tree, "steps": _lines(found.steps), "photos": _lines(found.photos)}


def _lines(texts: tuple[str, ...]) -> list[Tree]:
    return [{"number": number, "text": line} for number, line in enumerate(texts, start=1)]


def _material(found: Material, units: str) -> Tree:
    tree: Tree = {"code": found.code, "title": found.title, "count": found.pieces}
    if found.length_mm is not None:
        tree["length_mm"], tree["length_text"] = mm(found.length_mm), format_length(found.length_mm, units)
    if found.width_mm is not None:
        tree["width_mm"], tree["width_text"] = mm(found.width_mm), format_length(found.width_mm, units)
    if found.thickness_mm is not None:
        tree["thickness_mm"], tree["thickness_text"] = mm(found.thickness_mm), format_length(found.thickness_mm, units)
    if found.area_m2 is not None:
        tree["area_m2"] = round(found.area_m2, 4)
    if found.volume_m3 is not None:
        tree["volume_m3"] = round(found.volume_m3, 4)
    tree["note"] = found.note
    return tree


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
