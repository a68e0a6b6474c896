"""Strips, crosscuts and parts of one board."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import many, num, one, text, whole
from chequerwork.api.sections.trees import RECT, Fields, Tree, mm, rect_tree
from chequerwork.domain.advice import Audience
from chequerwork.domain.cutting import Block, Part
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_length

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
    "Cutting": {
        "pattern": text(),
        "strips": many("Strip"),
        "panel": one("Panel", "The first glue-up."),
        "crosscuts": one("Crosscuts"),
        "overhang_mm": num("Trimmed off each side of a shifted field."),
        "parts": many("Part"),
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
