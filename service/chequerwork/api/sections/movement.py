"""What the seasons do to one board."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import many, maybe_text, num, one, text
from chequerwork.api.sections.trees import Fields, Tree, mm
from chequerwork.domain.advice import Audience
from chequerwork.domain.plan import Plan

SHAPES: Final[Mapping[str, Fields]] = {
    "FieldMovement": {
        "shrink_mm": num("From the day it is built to the driest season."),
        "swell_mm": num("To the dampest."),
        "band_mm": num("Plus or minus, for the spread of published coefficients."),
    },
    "Reason": {"code": text(), "verdict": text(), "text": text()},
    "Movement": {
        "emc_build_pct": num("Moisture content in the workshop."),
        "emc_low_pct": num("In the customer's driest season."),
        "emc_high_pct": num("In the dampest."),
        "field": one("FieldMovement"),
        "mitre_gap_mm": num(),
        "mitre_side": maybe_text("inside or outside; null without mitres."),
        "bow_mm": num("Across the field, glued to its base: an upper bound."),
        "groove_clearance_mm": num("Per side."),
        "verdict": text("sound, watch or expect damage."),
        "reasons": many("Reason"),
    },
}


def view(plan: Plan, _: Audience) -> Tree:
    """The section as a tree; the same for every caller."""
    found = plan.movement
    swing = found.swing
    return {
        "emc_build_pct": round(swing.emc_build_pct, 2),
        "emc_low_pct": round(swing.emc_low_pct, 2),
        "emc_high_pct": round(swing.emc_high_pct, 2),
        "field": {
            "shrink_mm": mm(swing.shrink_mm),
            "swell_mm": mm(swing.swell_mm),
            "band_mm": mm(swing.band_mm),
        },
        "mitre_gap_mm": mm(found.mitre_gap_mm),
        "mitre_side": found.mitre_side,
        "bow_mm": mm(found.bow_mm),
        "groove_clearance_mm": mm(found.groove_clearance_mm),
        "verdict": found.verdict,
        "reasons": [{"code": r.code, "verdict": r.verdict, "text": r.text} for r in found.reasons],
    }
