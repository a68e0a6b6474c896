"""Sizes of one board, its fit to the pieces and the accuracy of its corners."""

from typing import Final

from chequerwork.api.component import (
    Component,
    choice,
    from_plan,
    itself,
    length,
    many,
    mass,
    maybe,
    number,
    one,
    size,
    text,
    whole,
)

SIDES: Final = (*length("length", "Along the grain."), *length("width"))
RECT: Final = Component("Rect", SIDES)
FIELD: Final = Component("Field", SIDES, size("diagonal_mm"))
OVERALL: Final = Component(
    "Overall",
    length("length", "Along the grain.", "overall.length_mm"),
    length("width", of="overall.width_mm"),
    length("height", "Table to playing surface, feet included."),
    size("diagonal_mm", of="overall.diagonal_mm"),
)
RAIL: Final = Component(
    "Rail",
    choice("side", ["length", "width"], "Side of the field it runs along."),
    whole("count"),
    length("long_point"),
    length("short_point"),
    length("width"),
    length("thickness"),
    text("species"),
)
RAILS: Final = Component(
    "Rails",
    one("opening", RECT),
    length("clearance", "Gap at each side of a floating field; 0 where it is glued.", "seat.clearance_mm"),
    length(
        "tongue",
        "Depth of the groove, and length of the tongue in it, at each side; 0 where it is glued.",
        "seat.tongue_mm",
    ),
    length("tongue_thickness", "Of what enters the groove, which is as high: the whole field under a lip."),
    length("lap", "How far a lip laps over squares or lines; 0 for a tongue.", "seat.lap_mm"),
    length("hidden", "How much of the outer squares it hides."),
    size("rim_mm", "How far the rails stand above the playing surface."),
    many("rails", RAIL),
)
BASE_SIZES: Final = Component(
    "BaseSizes", one("panel", RECT, "The sheet as cut."), one("outside", RECT, "With its skirt.")
)
FIT: Final = Component(
    "Fit",
    maybe(number("fill_ratio", "Base diameter over square; null without pieces.", decimals=4)),
    maybe(text("verdict", "lonely, roomy, standard, tight or crowded; null without pieces.")),
    maybe(length("square_low", "Smallest square on which these pieces stand standard.")),
    maybe(length("square_high", "Largest such square.")),
)
ACCURACY: Final = Component(
    "Accuracy",
    number("strip_tolerance_mm", "Strip width, plus or minus, that the shop holds.", decimals=4),
    number("mismatch_worst_mm", "Largest possible step where four squares meet.", decimals=4),
    number("mismatch_sigma_mm", "Its standard deviation.", decimals=4),
    size("corner_limit_mm", "Step allowed at a corner, as ordered."),
    number("corner_confidence_pct", "Share of boards on which every corner must meet so, as ordered."),
    number(
        "corners_within_pct", "Share of boards on which it does at the shop's tolerance: at least this.", decimals=2
    ),
    number(
        "strip_needed_mm",
        "Strip tolerance at which every corner meets so on that share of boards, or more.",
        decimals=4,
    ),
    number("blade_error_deg", decimals=4),
    number("blade_needed_deg", "Blade from square at which the gap below is just the step allowed.", decimals=4),
    number("bevel_gap_mm", "Gap below between two bars that meet on top.", decimals=4),
    size("shear_mm", "How far the field leans if every crosscut is off by the blade's error."),
    size("size_worst_mm", "Largest error of the field's width."),
    size("size_rss_mm", "Its tolerance, plus or minus, when the strips' errors are independent."),
    maybe(
        number(
            "mitre_cut_gap_mm",
            "Gap at the last corner if all eight mitre cuts are off by the blade's error; null without mitres.",
            decimals=4,
        )
    ),
)
GEOMETRY: Final = Component(
    "Geometry",
    length("square", "Finished square."),
    whole("columns", "Across the grain."),
    whole("rows", "Along the grain."),
    whole("light_squares"),
    whole("dark_squares"),
    length("thickness"),
    mass("mass", "One board."),
    mass("mass_half_range", "Plus or minus."),
    one("field", FIELD, "The chequered area."),
    one("overall", OVERALL, of=itself),
    maybe(one("frame", RAILS, of=lambda found, _: found if found.rails else None)),
    maybe(one("base", BASE_SIZES)),
    one("fit", FIT),
    one("accuracy", ACCURACY, of=from_plan("accuracy")),
)

COMPONENTS: Final = (FIELD, OVERALL, RAIL, RAILS, BASE_SIZES, FIT, ACCURACY, GEOMETRY)
