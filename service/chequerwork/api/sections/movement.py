"""What the seasons do to one board, the verdict on its construction, and what would make it sounder."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from chequerwork.api.answer_fields import kind, many, maybe_num, maybe_one, maybe_text, num, one, text
from chequerwork.api.sections.trees import Fields, Tree, mm, rounded, tell
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.order.order import Backing
from chequerwork.domain.plan import Plan
from chequerwork.domain.remedies import Changes, Remedy
from chequerwork.domain.wood.movement import edge_gap_mm, panel_change_mm
from chequerwork.domain.wood.verdict import Reason
from chequerwork.quantities import format_fine, format_length

_CHANGE: Final = {
    "shrink_mm": num("From the day it is built to the driest season."),
    "shrink_text": text(),
    "swell_mm": num("To the dampest."),
    "swell_text": text(),
}

SHAPES: Final[Mapping[str, Fields]] = {
    "StripsMovement": {
        "role": text("light, dark or line."),
        "species": text(),
        "grain": text("flat, quarter or mixed."),
        "count": kind("integer", "Side by side in one bar; both lines of a pair."),
        "width_mm": num("Of one."),
        "width_text": text(),
        "dry_pct": num("Change of width to the driest season; negative shrinks."),
        "damp_pct": num("To the dampest."),
    },
    "FieldMovement": {
        **_CHANGE,
        "total_mm": num("From the driest season to the dampest."),
        "total_text": text(),
        "band_mm": num("Plus or minus, for the spread of published coefficients."),
        "strips": many("StripsMovement", "What lies across the grain, lines included."),
    },
    "RailMovement": {
        **_CHANGE,
        "grain": text("flat, quarter or mixed."),
        "band_mm": num("Plus or minus."),
        "gap_inside_mm": num("Mitre gap in the driest season; 0 for butt joints."),
        "gap_outside_mm": num("Mitre gap in the dampest season."),
        "gap_band_mm": num("Plus or minus, on the larger gap."),
    },
    "BaseMovement": {
        "glued": kind("boolean", "Whether the field is glued to it all over."),
        "moisture_build_pct": num("Of the sheet itself, in the workshop."),
        "moisture_low_pct": num("In the driest season."),
        "moisture_high_pct": num("In the dampest."),
        "shrink_mm": num("Over the panel's width."),
        "swell_mm": num(),
    },
    "Balance": {
        "species": text(),
        "grain": text(),
        "thickness_mm": num("Backing at which the field stays flat across in its worse season."),
        "left_mm": num("Bow that it leaves in the other season."),
    },
    "EdgeGap": {
        "dry_mm": num("Gap between squares and rail in the driest season, per side."),
        "damp_mm": num("In the dampest."),
    },
    "Reason": {
        "code": text("Stable; new ones may come."),
        "verdict": text("sound, watch or expect damage."),
        "at": text("JSON pointer to the number it rests on."),
        "value_mm": num(),
        "watch_mm": maybe_num("From here on to be watched; null where nothing is held to a length."),
        "damage_mm": maybe_num("From here on damage is expected; null where none is."),
        "least": kind("boolean", "Whether the limits are the least, so that below them is worse."),
        "text": text(),
    },
    "Remedy": {
        "code": text("Stable; new ones may come."),
        "reason": text("Code of the reason it helps."),
        "patch": kind("object", "JSON Merge Patch (RFC 7396) for the order: the same names as in the request."),
        "at": text("JSON pointer to the number that changes."),
        "now_mm": num(),
        "then_mm": num("The same number once the order is changed."),
        "verdict": text("Of the whole construction then."),
        "text": text(),
    },
    "Movement": {
        "emc_build_pct": num("Moisture content in the workshop."),
        "emc_low_pct": num("In the customer's driest season."),
        "emc_high_pct": num("In the dampest."),
        "field": one("FieldMovement"),
        "frame": maybe_one("RailMovement", "Width of a rail; null without a frame."),
        "base": maybe_one("BaseMovement"),
        "mitre_gap_mm": num("In the worse season."),
        "mitre_gap_text": text(),
        "mitre_side": maybe_text("inside or outside; null without mitres."),
        "bow_mm": num("Across the grain, glued to its base: an upper bound."),
        "bow_text": text(),
        "bow_band_mm": num("Plus or minus."),
        "bow_along_mm": num("Along the grain."),
        "hollow": maybe_text("Side that is hollow in the worse season: top or underside; null where nothing bows."),
        "balance_score": maybe_num(
            "0 where the backing is as thick as the field, 1 without one; null where not glued."
        ),
        "balance": maybe_one("Balance", "The backing that would take the bow away; null where there is none."),
        "groove_clearance_mm": num("Per side."),
        "groove_clearance_text": text(),
        "edge_gap": maybe_one("EdgeGap", "Beside a field that floats by a tongue; null for any other."),
        "strength_ratio": maybe_num(
            "Strength over stress of end-grain joints; null where a frame or base carries them."
        ),
        "verdict": text("sound, watch or expect damage."),
        "reasons": many("Reason"),
        "remedies": many("Remedy", "Changes of the order that help, each tried out; the soundest first."),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found, units = plan.movement, plan.order.units
    moisture, flatness, rail, sat = plan.year.moisture, found.flatness, found.rail, found.seat
    gap_mm = rail.gap_mm if rail else 0.0
    return {
        "emc_build_pct": rounded(moisture.build_pct, 2),
        "emc_low_pct": rounded(moisture.low_pct, 2),
        "emc_high_pct": rounded(moisture.high_pct, 2),
        "field": _field(plan),
        "frame": _rail(plan),
        "base": _base(plan),
        "mitre_gap_mm": mm(gap_mm),
        "mitre_gap_text": format_fine(gap_mm, units),
        "mitre_side": rail.side if rail else None,
        "bow_mm": mm(flatness.across_mm),
        "bow_text": format_fine(flatness.across_mm, units),
        "bow_band_mm": mm(flatness.band_mm),
        "bow_along_mm": mm(flatness.along_mm),
        "hollow": flatness.hollow,
        "balance_score": None if flatness.balance_score is None else rounded(flatness.balance_score, 4),
        "balance": _balance(plan),
        "groove_clearance_mm": mm(sat.clearance_mm),
        "groove_clearance_text": format_fine(sat.clearance_mm, units),
        "edge_gap": _edge_gap(plan) if sat.added_mm else None,
        "strength_ratio": None if plan.margin is None else rounded(plan.margin, 2),
        "verdict": found.verdict,
        "reasons": [_reason(each, units) for each in found.reasons],
        "remedies": [_remedy(each, units) for each in plan.remedies],
    }


def _change(shrink_mm: float, swell_mm: float, units: str) -> Tree:
    return {
        "shrink_mm": mm(shrink_mm),
        "shrink_text": format_fine(shrink_mm, units),
        "swell_mm": mm(swell_mm),
        "swell_text": format_fine(swell_mm, units),
    }


def _field(plan: Plan) -> Tree:
    season, units = plan.movement.season, plan.order.units
    return {
        **_change(season.shrink_mm, season.swell_mm, units),
        "total_mm": mm(season.total_mm),
        "total_text": format_fine(season.total_mm, units),
        "band_mm": mm(season.band_mm),
        "strips": [
            {
                "role": part.role,
                "species": part.species,
                "grain": part.grain,
                "count": part.pieces,
                "width_mm": mm(part.width_mm),
                "width_text": format_length(part.width_mm, units),
                "dry_pct": rounded(part.strain.dry * 100, 4),
                "damp_pct": rounded(part.strain.damp * 100, 4),
            }
            for part in season.strips
        ],
    }


def _rail(plan: Plan) -> Tree | None:
    rail, frame = plan.movement.rail, plan.order.frame
    if rail is None or frame is None:
        return None
    return {
        **_change(rail.shrink_mm, rail.swell_mm, plan.order.units),
        "grain": frame.grain,
        "band_mm": mm(rail.band_mm),
        "gap_inside_mm": mm(rail.gap_inside_mm),
        "gap_outside_mm": mm(rail.gap_outside_mm),
        "gap_band_mm": mm(rail.gap_band_mm),
    }


def _base(plan: Plan) -> Tree | None:
    base, panel = plan.order.base, plan.geometry.base
    sheet = plan.tables.sheet(base.material, base.thickness_mm) if base else None
    if base is None or sheet is None or panel is None:
        return None
    moisture, (_, strain) = plan.year.sheet_moisture(sheet), plan.year.sheet(base)
    change = panel_change_mm(strain, panel.panel.width_mm)
    return {
        "glued": base_is_glued(plan.order.frame, base),
        "moisture_build_pct": rounded(moisture.build_pct, 2),
        "moisture_low_pct": rounded(moisture.low_pct, 2),
        "moisture_high_pct": rounded(moisture.high_pct, 2),
        "shrink_mm": mm(change.dry),
        "swell_mm": mm(change.damp),
    }


def _balance(plan: Plan) -> Tree | None:
    balance = plan.balance
    if balance is None:
        return None
    species, grain, thickness_mm, left_mm = balance
    return {"species": species, "grain": grain, "thickness_mm": mm(thickness_mm), "left_mm": mm(left_mm)}


def _edge_gap(plan: Plan) -> Tree:
    dry_mm, damp_mm = edge_gap_mm(plan.movement.seat, plan.movement.season)
    return {"dry_mm": mm(dry_mm), "damp_mm": mm(damp_mm)}


def _reason(reason: Reason, units: str) -> Tree:
    return {
        "code": reason.code,
        "verdict": reason.verdict,
        "at": "/" + "/".join(map(str, reason.at)),
        "value_mm": _fine(reason.value_mm),
        "watch_mm": _fine(reason.watch_mm),
        "damage_mm": _fine(reason.damage_mm),
        "least": reason.least,
        "text": tell(reason.text, reason.lengths_mm, units),
    }


def _fine(value_mm: float | None) -> float | None:
    """A number that may be a strip's tolerance, at a ten-thousandth of a millimetre."""
    return None if value_mm is None else rounded(value_mm, 4)


def _remedy(remedy: Remedy, units: str) -> Tree:
    return {
        "code": remedy.code,
        "reason": remedy.reason,
        "patch": patch(remedy.changes),
        "at": "/" + "/".join(map(str, remedy.at)),
        "now_mm": mm(remedy.now_mm),
        "then_mm": mm(remedy.then_mm),
        "verdict": remedy.verdict,
        "text": tell(remedy.text, remedy.lengths_mm, units),
    }


# Places of an order that the request has under another name; what else is of the field stands at its top.
_ASKED: Final[Mapping[tuple[str, ...], Sequence[str]]] = {
    ("field", "light_grain"): ("grain", "light"),
    ("field", "dark_grain"): ("grain", "dark"),
}


def patch(changes: Changes) -> Tree:
    """Changes of an order as a JSON Merge Patch for the request that it came from (RFC 7396)."""
    tree: Tree = {}
    for place, value in changes.items():
        *branches, leaf = _ASKED.get(place, place[1:] if place[0] == "field" else place)
        branch = tree
        for name in branches:
            branch = branch.setdefault(name, {})
        branch[leaf.removesuffix("_mm")] = _written(value, is_length=leaf.endswith("_mm"))
    return tree


def _written(value: Any, *, is_length: bool) -> Any:
    if isinstance(value, tuple):
        return [{"species": line.species, "width": _length(line.width_mm)} for line in value]
    if isinstance(value, Backing):
        return {"species": value.species, "thickness": _length(value.thickness_mm), "grain": value.grain}
    return _length(value) if is_length else value


def _length(length_mm: float) -> str:
    """A length as the request takes it, none of its digits lost."""
    return f"{length_mm:.12g} mm"
