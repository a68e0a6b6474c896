"""Strips, crosscuts, parts and glue-ups of one board."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, many, num, one, text, whole
from chequerwork.api.sections.trees import RECT, Fields, Tree, mm, rect_tree, rounded
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.making.cutting import Block, Part
from chequerwork.domain.making.joints import GlueUp, Stage
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_force, format_length, format_mass

SHAPES: Final[Mapping[str, Fields]] = {
    "Strip": {
        "species": text(),
        "count": whole(),
        "width_mm": num(),
        "width_text": text(),
        "length_mm": num(),
        "length_text": text(),
        "rip_width_mm": num("Board that gives all of these strips, both edges jointed first."),
        "rip_width_text": text(),
    },
    "Panel": {**RECT, "thickness_mm": num()},
    "Crosscuts": {
        "count": whole("Bars that become the field."),
        "cuts": whole("Cuts, spare bars included."),
        "spare_bars": whole(),
        "width_mm": num("As cut, dressing included."),
        "width_text": text(),
        "end_width_mm": num("The first and last bar: wider where they carry a floating field's tongue."),
        "end_width_text": text(),
        "kerf_mm": num(),
        "kerf_text": text(),
        "length_needed_mm": num("Every square, kerf, spare, dressing, squaring and end trim."),
        "length_needed_text": text(),
        "length_allowed_mm": num("What the strips are cut to."),
        "length_allowed_text": text(),
        "spare_mm": num("Allowed less needed."),
    },
    "Block": {"length_mm": num(), "width_mm": num(), "thickness_mm": num(), "text": text()},
    "Part": {
        "id": text(),
        "role": text("strip, line, rail, base, skirt or backing."),
        "species": text("Timber, or sheet material of the base."),
        "count": whole("For one board."),
        "rough": one("Block"),
        "final": one("Block", "As it goes into its glue-up or frame."),
    },
    "GlueUp": {
        "name": kind("string", "What is glued.", enum=[str(stage) for stage in Stage]),
        "joints": whole("For one board."),
        "joint_length_mm": num("Of the longest joint."),
        "joint_length_text": text(),
        "joint_width_mm": num("Of its glued face: the thickness of the wood in an edge joint."),
        "joint_width_text": text(),
        "area_m2": num("Of all joints."),
        "end_grain": kind("boolean", "Whether end grain is glued, which takes twice the spread."),
        "spread_g_m2": num(),
        "adhesive_g": num("For all joints of one board, waste included."),
        "adhesive_text": text(),
        "pressure_mpa": num("On the glued face: the middle for the density, inside the adhesive's own span."),
        "force_n": num("On the longest joint; joints side by side share it."),
        "force_text": text(),
        "clamps": whole("By force and by spacing, whichever needs more."),
        "open_joints": whole("Joints one person closes within the adhesive's open time."),
        "preparation": kind("array", "What to do before.", items={"type": "string"}),
    },
    "Cutting": {
        "pattern": text(),
        "strips": many("Strip"),
        "panel": one("Panel", "The first glue-up."),
        "crosscuts": one("Crosscuts"),
        "overhang_mm": num("Trimmed off each side of a shifted field."),
        "parts": many("Part"),
        "glue_ups": many("GlueUp", "In the order of the build."),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found, units = plan.cutting, plan.order.units
    cuts = found.crosscuts
    return {
        "pattern": found.pattern,
        "strips": [
            {
                "species": strip.species,
                "count": strip.count,
                "width_mm": mm(strip.width_mm),
                "width_text": format_length(strip.width_mm, units),
                "length_mm": mm(strip.length_mm),
                "length_text": format_length(strip.length_mm, units),
                "rip_width_mm": mm(strip.rip_width_mm),
                "rip_width_text": format_length(strip.rip_width_mm, units),
            }
            for strip in found.strips
        ],
        "panel": {**rect_tree(found.panel, units), "thickness_mm": mm(found.panel_thickness_mm)},
        "crosscuts": {
            "count": cuts.count,
            "cuts": cuts.cuts,
            "spare_bars": cuts.spare_bars,
            "width_mm": mm(cuts.width_mm),
            "width_text": format_length(cuts.width_mm, units),
            "end_width_mm": mm(cuts.end_width_mm),
            "end_width_text": format_length(cuts.end_width_mm, units),
            "kerf_mm": mm(cuts.kerf_mm),
            "kerf_text": format_length(cuts.kerf_mm, units),
            "length_needed_mm": mm(cuts.length_needed_mm),
            "length_needed_text": format_length(cuts.length_needed_mm, units),
            "length_allowed_mm": mm(cuts.length_allowed_mm),
            "length_allowed_text": format_length(cuts.length_allowed_mm, units),
            "spare_mm": mm(cuts.spare_mm),
        },
        "overhang_mm": mm(found.overhang_mm),
        "parts": [_part(part, units) for part in found.parts],
        "glue_ups": [_glue_up(each, units) for each in plan.glue_ups],
    }


def _glue_up(found: GlueUp, units: str) -> Tree:
    return {
        "name": found.stage,
        "joints": found.joints,
        "joint_length_mm": mm(found.length_mm),
        "joint_length_text": format_length(found.length_mm, units),
        "joint_width_mm": mm(found.width_mm),
        "joint_width_text": format_length(found.width_mm, units),
        "area_m2": rounded(found.area_m2, 6),
        "end_grain": found.end_grain,
        "spread_g_m2": found.spread_g_m2,
        "adhesive_g": rounded(found.adhesive_g, 3),
        "adhesive_text": format_mass(found.adhesive_g, units),
        "pressure_mpa": rounded(found.pressure_mpa, 4),
        "force_n": rounded(found.force_n, 1),
        "force_text": format_force(found.force_n, units),
        "clamps": found.clamps,
        "open_joints": found.open_joints,
        "preparation": list(found.preparation),
    }


def _part(part: Part, units: str) -> Tree:
    return {
        "id": part.id,
        "role": part.role,
        "species": part.species,
        "count": part.count,
        "rough": _block(part.rough, units),
        "final": _block(part.final, units),
    }


def _block(block: Block, units: str) -> Tree:
    length_mm, width_mm, thickness_mm = block
    return {
        "length_mm": mm(length_mm),
        "width_mm": mm(width_mm),
        "thickness_mm": mm(thickness_mm),
        "text": f"{format_length(length_mm, units)} x {format_length(width_mm, units)} x "
        f"{format_length(thickness_mm, units)}",
    }
