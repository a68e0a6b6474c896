"""Sizes of one board, its fit to the pieces and the accuracy of its corners."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, many, maybe_num, maybe_one, maybe_text, num, one, text, whole
from chequerwork.api.sections.trees import RECT, Fields, Tree, mm, rect_tree, rounded
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.plan import Plan
from chequerwork.quantities import format_length, format_mass

SHAPES: Final[Mapping[str, Fields]] = {
    "Field": {**RECT, "diagonal_mm": num()},
    "Overall": {
        **RECT,
        "height_mm": num("Table to playing surface, feet included."),
        "height_text": text(),
        "diagonal_mm": num(),
    },
    "Rail": {
        "side": kind("string", "Side of the field it runs along.", enum=["length", "width"]),
        "count": whole(),
        "long_point_mm": num(),
        "long_point_text": text(),
        "short_point_mm": num(),
        "short_point_text": text(),
        "width_mm": num(),
        "width_text": text(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "species": text(),
    },
    "Rails": {
        "opening": one("Rect"),
        "clearance_mm": num("Gap at each side of a floating field; 0 where it is glued."),
        "clearance_text": text(),
        "tongue_mm": num("Depth of the groove, and length of the tongue in it, at each side; 0 where it is glued."),
        "tongue_text": text(),
        "tongue_thickness_mm": num("Of what enters the groove, which is as high: the whole field under a lip."),
        "tongue_thickness_text": text(),
        "lap_mm": num("How far a lip laps over squares or lines; 0 for a tongue."),
        "lap_text": text(),
        "hidden_mm": num("How much of the outer squares it hides."),
        "hidden_text": text(),
        "rim_mm": num("How far the rails stand above the playing surface."),
        "rails": many("Rail"),
    },
    "BaseSizes": {"panel": one("Rect", "The sheet as cut."), "outside": one("Rect", "With its skirt.")},
    "Fit": {
        "fill_ratio": maybe_num("Base diameter over square; null without pieces."),
        "verdict": maybe_text("lonely, roomy, standard, tight or crowded; null without pieces."),
        "square_low_mm": maybe_num("Smallest square on which these pieces stand standard."),
        "square_low_text": maybe_text(),
        "square_high_mm": maybe_num("Largest such square."),
        "square_high_text": maybe_text(),
    },
    "Accuracy": {
        "strip_tolerance_mm": num("Strip width, plus or minus, that the shop holds."),
        "mismatch_worst_mm": num("Largest possible step where four squares meet."),
        "mismatch_sigma_mm": num("Its standard deviation."),
        "corner_limit_mm": num("Step allowed at a corner, as ordered."),
        "corner_confidence_pct": num("Share of boards on which every corner must meet so, as ordered."),
        "corners_within_pct": num("Share of boards on which it does at the shop's tolerance: at least this."),
        "strip_needed_mm": num("Strip tolerance at which every corner meets so on that share of boards, or more."),
        "blade_error_deg": num(),
        "blade_needed_deg": num("Blade from square at which the gap below is just the step allowed."),
        "bevel_gap_mm": num("Gap below between two bars that meet on top."),
        "shear_mm": num("How far the field leans if every crosscut is off by the blade's error."),
        "size_worst_mm": num("Largest error of the field's width."),
        "size_rss_mm": num("Its tolerance, plus or minus, when the strips' errors are independent."),
        "mitre_cut_gap_mm": maybe_num(
            "Gap at the last corner if all eight mitre cuts are off by the blade's error; null without mitres."
        ),
    },
    "Geometry": {
        "square_mm": num("Finished square."),
        "square_text": text(),
        "columns": whole("Across the grain."),
        "rows": whole("Along the grain."),
        "light_squares": whole(),
        "dark_squares": whole(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "mass_kg": num("One board."),
        "mass_text": text(),
        "mass_half_range_kg": num("Plus or minus."),
        "mass_half_range_text": text(),
        "field": one("Field", "The chequered area."),
        "overall": one("Overall"),
        "frame": maybe_one("Rails"),
        "base": maybe_one("BaseSizes"),
        "fit": one("Fit"),
        "accuracy": one("Accuracy"),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found, units = plan.geometry, plan.order.units
    tree: Tree = {
        "square_mm": mm(found.square_mm),
        "square_text": format_length(found.square_mm, units),
        "columns": found.columns,
        "rows": found.rows,
        "light_squares": found.light_squares,
        "dark_squares": found.dark_squares,
        "thickness_mm": mm(found.thickness_mm),
        "thickness_text": format_length(found.thickness_mm, units),
        "mass_kg": rounded(found.mass_kg, 3),
        "mass_text": format_mass(found.mass_kg * 1000, units),
        "mass_half_range_kg": rounded(found.mass_half_range_kg, 3),
        "mass_half_range_text": format_mass(found.mass_half_range_kg * 1000, units),
        "field": rect_tree(found.field, units, diagonal=True),
        "overall": rect_tree(found.overall, units),
    }
    tree["overall"]["height_mm"] = mm(found.height_mm)
    tree["overall"]["height_text"] = format_length(found.height_mm, units)
    tree["overall"]["diagonal_mm"] = mm(found.overall.diagonal_mm)
    tree["frame"] = _rails(plan) if found.rails else None
    if found.base:
        tree["base"] = {
            "panel": rect_tree(found.base.panel, units),
            "outside": rect_tree(found.base.outside, units),
        }
    else:
        tree["base"] = None
    fit = found.fit
    tree["fit"] = {
        "fill_ratio": None if fit.fill_ratio is None else rounded(fit.fill_ratio, 4),
        "verdict": fit.verdict,
        "square_low_mm": mm(fit.square_low_mm),
        "square_low_text": None if fit.square_low_mm is None else format_length(fit.square_low_mm, units),
        "square_high_mm": mm(fit.square_high_mm),
        "square_high_text": None if fit.square_high_mm is None else format_length(fit.square_high_mm, units),
    }
    tree["accuracy"] = _accuracy(plan)
    return tree


def _rails(plan: Plan) -> Tree:
    found, units = plan.geometry, plan.order.units
    return {
        "opening": rect_tree(found.opening, units),
        "clearance_mm": mm(found.seat.clearance_mm),
        "clearance_text": format_length(found.seat.clearance_mm, units),
        "tongue_mm": mm(found.seat.tongue_mm),
        "tongue_text": format_length(found.seat.tongue_mm, units),
        "tongue_thickness_mm": mm(found.tongue_thickness_mm),
        "tongue_thickness_text": format_length(found.tongue_thickness_mm, units),
        "lap_mm": mm(found.seat.lap_mm),
        "lap_text": format_length(found.seat.lap_mm, units),
        "hidden_mm": mm(found.hidden_mm),
        "hidden_text": format_length(found.hidden_mm, units),
        "rim_mm": mm(found.rim_mm),
        "rails": [
            {
                "side": rail.side,
                "count": rail.count,
                "long_point_mm": mm(rail.long_point_mm),
                "long_point_text": format_length(rail.long_point_mm, units),
                "short_point_mm": mm(rail.short_point_mm),
                "short_point_text": format_length(rail.short_point_mm, units),
                "width_mm": mm(rail.width_mm),
                "width_text": format_length(rail.width_mm, units),
                "thickness_mm": mm(rail.thickness_mm),
                "thickness_text": format_length(rail.thickness_mm, units),
                "species": rail.species,
            }
            for rail in found.rails
        ],
    }


def _accuracy(plan: Plan) -> Tree:
    found = plan.accuracy
    return {
        "strip_tolerance_mm": rounded(found.strip_tolerance_mm, 4),
        "mismatch_worst_mm": rounded(found.mismatch_worst_mm, 4),
        "mismatch_sigma_mm": rounded(found.mismatch_sigma_mm, 4),
        "corner_limit_mm": mm(found.corner_limit_mm),
        "corner_confidence_pct": found.corner_confidence_pct,
        "corners_within_pct": rounded(found.corners_within_pct, 2),
        "strip_needed_mm": rounded(found.strip_needed_mm, 4),
        "blade_error_deg": rounded(found.blade_error_deg, 4),
        "blade_needed_deg": rounded(found.blade_needed_deg, 4),
        "bevel_gap_mm": rounded(found.bevel_gap_mm, 4),
        "shear_mm": mm(found.shear_mm),
        "size_worst_mm": mm(found.size_worst_mm),
        "size_rss_mm": mm(found.size_rss_mm),
        "mitre_cut_gap_mm": None if found.mitre_cut_gap_mm is None else rounded(found.mitre_cut_gap_mm, 4),
    }
