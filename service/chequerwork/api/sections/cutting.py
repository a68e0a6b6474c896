"""Strips, crosscuts, parts and glue-ups of one board."""

from typing import Final

from chequerwork.api.component import (
    AnswerContext,
    Component,
    choice,
    flag,
    force,
    from_plan,
    grams,
    itself,
    length,
    many,
    number,
    one,
    size,
    text,
    texts,
    whole,
)
from chequerwork.domain.making.cutting import Block
from chequerwork.domain.making.joints import GlueStage
from chequerwork.quantities import format_length


def _sizes(block: Block, to: AnswerContext) -> str:
    length_mm, width_mm, thickness_mm = block
    return (
        f"{format_length(length_mm, to.units)} x {format_length(width_mm, to.units)} x "
        f"{format_length(thickness_mm, to.units)}"
    )


STRIP: Final = Component(
    "Strip",
    text("species"),
    whole("count"),
    length("width"),
    length("length"),
    length("rip_width", "Board that gives all of these strips, both edges jointed first."),
)
PANEL: Final = Component(
    "Panel",
    length("length", "Along the grain.", "panel.length_mm"),
    length("width", of="panel.width_mm"),
    size("thickness_mm", of="panel_thickness_mm"),
)
CROSSCUTS: Final = Component(
    "Crosscuts",
    whole("count", "Bars that become the field."),
    whole("cuts", "Cuts, spare bars included."),
    whole("spare_bars"),
    length("width", "As cut, dressing included."),
    length("end_width", "The first and last bar: wider where they carry a floating field's tongue."),
    length("kerf"),
    length("length_needed", "Every square, kerf, spare, dressing, squaring and end trim."),
    length("length_allowed", "What the strips are cut to."),
    size("spare_mm", "Allowed less needed."),
)
BLOCK: Final = Component("Block", size("length_mm"), size("width_mm"), size("thickness_mm"), text("text", of=_sizes))
PART: Final = Component(
    "Part",
    text("id"),
    text("role", "strip, line, rail, base, skirt or backing."),
    text("species", "Timber, or sheet material of the base."),
    whole("count", "For one board."),
    one("rough", BLOCK),
    one("final", BLOCK, "As it goes into its glue-up or frame."),
)
GLUE_UP: Final = Component(
    "GlueUp",
    choice("name", GlueStage, "What is glued.", "stage"),
    whole("joints", "For one board."),
    length("joint_length", "Of the longest joint.", "length_mm"),
    length("joint_width", "Of its glued face: the thickness of the wood in an edge joint.", "width_mm"),
    number("area_m2", "Of all joints.", decimals=6),
    flag("end_grain", "Whether end grain is glued, which takes twice the spread."),
    number("spread_g_m2"),
    grams("adhesive", "For all joints of one board, waste included."),
    number(
        "pressure_mpa", "On the glued face: the middle for the density, inside the adhesive's own span.", decimals=4
    ),
    force("force", "On the longest joint; joints side by side share it."),
    whole("clamps", "By force and by spacing, whichever needs more."),
    whole("open_joints", "Joints one person closes within the adhesive's open time."),
    texts("preparation", "What to do before."),
)
CUTTING: Final = Component(
    "Cutting",
    text("pattern"),
    many("strips", STRIP),
    one("panel", PANEL, "The first glue-up.", itself),
    one("crosscuts", CROSSCUTS),
    size("overhang_mm", "Trimmed off each side of a shifted field."),
    many("parts", PART),
    many("glue_ups", GLUE_UP, "In the order of the build.", from_plan("glue_ups")),
)

COMPONENTS: Final = (STRIP, PANEL, CROSSCUTS, BLOCK, PART, GLUE_UP, CUTTING)
