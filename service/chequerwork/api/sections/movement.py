"""What the seasons do to one board, the verdict on its construction, and what would make it sounder."""

from collections.abc import Mapping, Sequence
from operator import attrgetter
from typing import Any, Final, NamedTuple

from chequerwork.api.component import (
    Component,
    PlanContext,
    ReadFrom,
    fine,
    flag,
    from_plan,
    length,
    many,
    maybe,
    number,
    one,
    other,
    pointer,
    sentence,
    size,
    text,
    whole,
)
from chequerwork.api.sections.trees import Tree
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.order.order import Backing
from chequerwork.domain.remedies import Changes
from chequerwork.domain.wood.movement import Moisture, Strain, edge_gap_mm, panel_change_mm
from chequerwork.domain.wood.verdict import Assessment


class _BaseChange(NamedTuple):
    glued: bool
    moisture: Moisture
    change: Strain


def _base(_: Assessment, to: PlanContext) -> _BaseChange | None:
    plan = to.plan
    base, panel = plan.order.base, plan.geometry.base
    sheet = plan.tables.sheet(base.material, base.thickness_mm) if base else None
    if base is None or sheet is None or panel is None:
        return None
    return _BaseChange(
        glued=base_is_glued(plan.order.frame, base),
        moisture=plan.year.sheet_moisture(sheet),
        change=panel_change_mm(plan.year.sheet(base)[1], panel.panel.width_mm),
    )


def _edge_gap(found: Assessment, _: PlanContext) -> Strain | None:
    return edge_gap_mm(found.seat, found.season) if found.seat.added_mm else None


def _mitre_gap_mm(found: Assessment, _: PlanContext) -> float:
    return found.rail.gap_mm if found.rail else 0.0


def _mitre_side(found: Assessment, _: PlanContext) -> str | None:
    return found.rail.side if found.rail else None


def _percent(season: str) -> ReadFrom:
    """Strain of a strip, which is a fraction."""
    read = attrgetter(f"strain.{season}")
    return lambda strips, _: read(strips) * 100


# What an answer shows -------------------------------------------------------------------------------------------------


_CHANGE: Final = (*fine("shrink", "From the day it is built to the driest season."), *fine("swell", "To the dampest."))
STRIPS_MOVEMENT: Final = Component(
    "StripsMovement",
    text("role", "light, dark or line."),
    text("species"),
    text("grain", "flat, quarter or mixed."),
    whole("count", "Side by side in one bar; both lines of a pair.", "pieces"),
    length("width", "Of one."),
    number("dry_pct", "Change of width to the driest season; negative shrinks.", _percent("dry"), decimals=4),
    number("damp_pct", "To the dampest.", _percent("damp"), decimals=4),
)
FIELD_MOVEMENT: Final = Component(
    "FieldMovement",
    _CHANGE,
    fine("total", "From the driest season to the dampest."),
    size("band_mm", "Plus or minus, for the spread of published coefficients."),
    many("strips", STRIPS_MOVEMENT, "What lies across the grain, lines included."),
)
RAIL_MOVEMENT: Final = Component(
    "RailMovement",
    _CHANGE,
    text("grain", "flat, quarter or mixed.", from_plan("order.frame.grain")),
    size("band_mm", "Plus or minus."),
    size("gap_inside_mm", "Mitre gap in the driest season; 0 for butt joints."),
    size("gap_outside_mm", "Mitre gap in the dampest season."),
    size("gap_band_mm", "Plus or minus, on the larger gap."),
)
BASE_MOVEMENT: Final = Component(
    "BaseMovement",
    flag("glued", "Whether the field is glued to it all over."),
    number("moisture_build_pct", "Of the sheet itself, in the workshop.", "moisture.build_pct", decimals=2),
    number("moisture_low_pct", "In the driest season.", "moisture.low_pct", decimals=2),
    number("moisture_high_pct", "In the dampest.", "moisture.high_pct", decimals=2),
    size("shrink_mm", "Over the panel's width.", "change.dry"),
    size("swell_mm", of="change.damp"),
)
BALANCE: Final = Component(
    "Balance",
    text("species"),
    text("grain"),
    size("thickness_mm", "Backing at which the field stays flat across in its worse season."),
    size("left_mm", "Bow that it leaves in the other season."),
)
EDGE_GAP: Final = Component(
    "EdgeGap",
    size("dry_mm", "Gap between squares and rail in the driest season, per side.", "dry"),
    size("damp_mm", "In the dampest.", "damp"),
)
# A number of a reason may be a strip's tolerance, hence a ten-thousandth of a millimetre.
REASON: Final = Component(
    "Reason",
    text("code", "Stable; new ones may come."),
    text("verdict", "sound, watch or expect damage."),
    pointer("at", "JSON pointer to the number it rests on."),
    number("value_mm", decimals=4),
    maybe(number("watch_mm", "From here on to be watched; null where nothing is held to a length.", decimals=4)),
    maybe(number("damage_mm", "From here on damage is expected; null where none is.", decimals=4)),
    flag("least", "Whether the limits are the least, so that below them is worse."),
    sentence("text"),
)
REMEDY: Final = Component(
    "Remedy",
    text("code", "Stable; new ones may come."),
    text("reason", "Code of the reason it helps."),
    other(
        "patch",
        {"type": "object"},
        "JSON Merge Patch (RFC 7396) for the order: the same names as in the request.",
        lambda remedy, _: patch(remedy.changes),
    ),
    pointer("at", "JSON pointer to the number that changes."),
    size("now_mm"),
    size("then_mm", "The same number once the order is changed."),
    text("verdict", "Of the whole construction then."),
    sentence("text"),
)
MOVEMENT: Final = Component(
    "Movement",
    number("emc_build_pct", "Moisture content in the workshop.", from_plan("year.moisture.build_pct"), decimals=2),
    number("emc_low_pct", "In the customer's driest season.", from_plan("year.moisture.low_pct"), decimals=2),
    number("emc_high_pct", "In the dampest.", from_plan("year.moisture.high_pct"), decimals=2),
    one("field", FIELD_MOVEMENT, of="season"),
    maybe(one("frame", RAIL_MOVEMENT, "Width of a rail; null without a frame.", "rail")),
    maybe(one("base", BASE_MOVEMENT, of=_base)),
    fine("mitre_gap", "In the worse season.", _mitre_gap_mm),
    maybe(text("mitre_side", "inside or outside; null without mitres.", _mitre_side)),
    fine("bow", "Across the grain, glued to its base: an upper bound.", "flatness.across_mm"),
    size("bow_band_mm", "Plus or minus.", "flatness.band_mm"),
    size("bow_along_mm", "Along the grain.", "flatness.along_mm"),
    maybe(
        text(
            "hollow",
            "Side that is hollow in the worse season: top or underside; null where nothing bows.",
            "flatness.hollow",
        )
    ),
    maybe(
        number(
            "balance_score",
            "0 where the backing is as thick as the field, 1 without one; null where not glued.",
            "flatness.balance_score",
            decimals=4,
        )
    ),
    maybe(
        one(
            "balance",
            BALANCE,
            "The backing that would take the bow away; null where there is none.",
            from_plan("balance"),
        )
    ),
    fine("groove_clearance", "Per side.", "seat.clearance_mm"),
    maybe(one("edge_gap", EDGE_GAP, "Beside a field that floats by a tongue; null for any other.", _edge_gap)),
    maybe(
        number(
            "strength_ratio",
            "Strength over stress of end-grain joints; null where a frame or base carries them.",
            from_plan("margin"),
            decimals=2,
        )
    ),
    text("verdict", "sound, watch or expect damage."),
    many("reasons", REASON),
    many(
        "remedies", REMEDY, "Changes of the order that help, each tried out; the soundest first.", from_plan("remedies")
    ),
)

COMPONENTS: Final = (
    STRIPS_MOVEMENT,
    FIELD_MOVEMENT,
    RAIL_MOVEMENT,
    BASE_MOVEMENT,
    BALANCE,
    EDGE_GAP,
    REASON,
    REMEDY,
    MOVEMENT,
)


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
