"""The board explained: sizes, mass, fit of the pieces, accuracy."""

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.arithmetic import enlarged_mm, round_up, times, total
from chequerwork.domain.board.accuracy import (
    SIGMAS_IN_TOLERANCE,
    bevel_gap_mm,
    blade_needed_deg,
    corners_within,
    mismatch_sigma_mm,
    mismatch_worst_mm,
    mitre_cut_gap_mm,
    shear_mm,
    size_rss_mm,
    strip_needed_mm,
)
from chequerwork.domain.board.fit import (
    MAN_ROOM_MM,
    SQUARE_STEP_MM,
    fill_ratio,
    square_at_ratio_mm,
    square_for,
    strictest,
)
from chequerwork.domain.board.geometry import MASS_SPREAD, heights_mm, hidden_edge_mm, lap_over_mm, over_table_mm
from chequerwork.domain.board.shapes import block_m3, diagonal_mm, mass_kg
from chequerwork.domain.explain.mass import timber_kg
from chequerwork.domain.explain.steps import Inputs, Ledger, named
from chequerwork.domain.order.order import DraughtsMan, field_side_mm
from chequerwork.domain.plan import Plan
from chequerwork.domain.wood.movement import clearance_needed_mm, tongue_needed_mm


def geometry(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Every size that follows from another, the mass, the fit and the accuracy."""
    _field(plan, ledger)
    _outside(plan, ledger)
    _rails(plan, ledger)
    _base(plan, ledger)
    _mass(plan, ledger)
    _fit(plan, ledger)
    _accuracy(plan, ledger)


def _field(plan: Plan, ledger: Ledger) -> None:
    order, at = plan.order, ledger.at
    _derived_square(plan, ledger)
    length_mm = at("field", "length_mm")(field_side_mm, squares=order.field.rows, square_mm=order.field.square_mm)
    width_mm = at("field", "width_mm")(field_side_mm, squares=order.field.columns, square_mm=order.field.square_mm)
    at("field", "diagonal_mm")(diagonal_mm, length_mm=length_mm, width_mm=width_mm)


def _derived_square(plan: Plan, ledger: Ledger) -> None:
    """The square that the pieces ask for, where it is the board's: from the rule that asks for the larger one."""
    order, at, pieces = plan.order, ledger.at, plan.order.play.pieces
    if pieces is None or square_for(pieces, order.units) != order.field.square_mm:
        return
    rule = strictest(pieces)
    wanted_mm = at("square_mm", part=rule.name, unit="mm")(rule.formula, **named(rule.formula, rule.inputs))
    at("square_mm", unit="mm")(round_up, value=wanted_mm, step=SQUARE_STEP_MM[order.units])


def _outside(plan: Plan, ledger: Ledger) -> None:
    """From the field outwards: lines, clearance, frame. Each border that is there adds to both sides."""
    order, found, at = plan.order, plan.geometry, ledger.at
    to_opening = [("field with its lines", order.field.lines_mm), ("to the rail", found.seat.gap_mm)]
    for side in ("length_mm", "width_mm"):
        size_mm: float = getattr(found.field, side)
        borders = [(part, mm) for part, mm in to_opening if mm]
        for number, (part, border_mm) in enumerate(borders, start=1):
            last = number == len(borders)
            place = ("frame", "opening", side) if order.frame else ("overall", side)
            size_mm = at(*place, part=None if last else part)(
                enlarged_mm, size_mm=size_mm, count=2, allowance_mm=border_mm
            )
        if order.frame:
            at("overall", side)(enlarged_mm, size_mm=size_mm, count=2, allowance_mm=order.frame.width_mm)
    overall = found.overall
    at("overall", "diagonal_mm")(diagonal_mm, length_mm=overall.length_mm, width_mm=overall.width_mm)
    at("overall", "height_mm")(
        over_table_mm,
        **heights_mm(order.field.thickness_mm, order.frame, order.base, order.feet, plan.shop.consumables),
    )


def _rails(plan: Plan, ledger: Ledger) -> None:
    """The seat, and long points that are longer than the opening; short points and butted rails are as long as it."""
    opening, seat, season = plan.geometry.opening, plan.geometry.seat, plan.swing
    if seat.tongue_mm:
        clearance_mm = ledger.at("frame", "clearance_mm")(clearance_needed_mm, swell_mm=season.swell_mm)
        shrinking = {"clearance_mm": clearance_mm, "shrink_mm": season.shrink_mm}
        ledger.at("frame", "tongue_mm")(tongue_needed_mm, **shrinking)
    if seat.lap_mm:
        lap = {"groove_mm": seat.tongue_mm, "clearance_mm": seat.clearance_mm}
        lap_mm = ledger.at("frame", "lap_mm")(lap_over_mm, **lap)
        ledger.at("frame", "hidden_mm")(hidden_edge_mm, lap_mm=lap_mm, lines_mm=plan.order.field.lines_mm)
    for index, rail in enumerate(plan.geometry.rails):
        size_mm = opening.length_mm if rail.side == "length" else opening.width_mm
        if rail.long_point_mm != size_mm:
            place = ("frame", "rails", index, "long_point_mm")
            ledger.at(*place)(enlarged_mm, size_mm=size_mm, count=2, allowance_mm=rail.width_mm)


def _base(plan: Plan, ledger: Ledger) -> None:
    base, sizes = plan.order.base, plan.geometry.base
    if base is None or sizes is None:
        return
    for side in ("length_mm", "width_mm"):
        size_mm: float = getattr(plan.geometry.overall, side)
        if base.inset_mm:
            place = ("base", "outside", side)
            size_mm = ledger.at(*place)(enlarged_mm, size_mm=size_mm, count=2, allowance_mm=-base.inset_mm)
        if base.skirt:
            place = ("base", "panel", side)
            ledger.at(*place)(enlarged_mm, size_mm=size_mm, count=2, allowance_mm=-base.skirt.width_mm)


# Mass -----------------------------------------------------------------------------------------------------------------


def _mass(plan: Plan, ledger: Ledger) -> None:
    """Masses timber by timber, then base and feet, and the sum."""
    order, tables, at = plan.order, plan.tables, ledger.at
    masses = [
        timber_kg(plan, ledger, ("mass_kg",), species, part=tables.species[species].name)
        for species, _ in plan.geometry.timber_kg
    ]
    sheet = tables.sheet(order.base.material, order.base.thickness_mm) if order.base else None
    if order.base and plan.geometry.base and sheet:
        panel = plan.geometry.base.panel
        volume_m3 = at("mass_kg", part="base")(
            block_m3, count=1, **panel._asdict(), thickness_mm=order.base.thickness_mm
        )
        masses.append(at("mass_kg", part="base")(mass_kg, volume_m3=volume_m3, density_kg_m3=sheet.density_kg_m3))
    if order.feet:
        foot_kg = plan.shop.consumables.foot_mass_g / 1000
        masses.append(at("mass_kg", part="feet", unit="kg")(times, amount=foot_kg, count=order.feet))
    board_kg = at("mass_kg", unit="kg")(total, parts=tuple(masses))
    at("mass_half_range_kg", unit="kg")(times, amount=board_kg, count=MASS_SPREAD)


# Fit and accuracy -----------------------------------------------------------------------------------------------------


def _fit(plan: Plan, ledger: Ledger) -> None:
    order, at = plan.order, ledger.at
    pieces = order.play.pieces
    if pieces is None:
        return
    if isinstance(pieces, DraughtsMan):
        at("fit", "fill_ratio")(fill_ratio, base_mm=pieces.man_mm, square_mm=order.field.square_mm)
        for name, room_mm in zip(("square_low_mm", "square_high_mm"), MAN_ROOM_MM, strict=True):
            at("fit", name)(enlarged_mm, size_mm=pieces.man_mm, count=1, allowance_mm=room_mm)
        return
    standard = next(band for band in plan.tables.fit_bands if band.verdict == "standard")
    base_mm = pieces.king_base_mm
    at("fit", "fill_ratio")(fill_ratio, base_mm=base_mm, square_mm=order.field.square_mm)
    at("fit", "square_low_mm")(square_at_ratio_mm, base_mm=base_mm, ratio=standard.high)
    at("fit", "square_high_mm")(square_at_ratio_mm, base_mm=base_mm, ratio=standard.low)


def _accuracy(plan: Plan, ledger: Ledger) -> None:
    order, found, at = plan.order, plan.accuracy, ledger.at
    tolerance_mm, error_deg = found.strip_tolerance_mm, found.blade_error_deg
    limit_mm = found.corner_limit_mm
    way: Inputs = {"pattern": order.field.pattern, "columns": order.field.columns}
    share = 1 / SIGMAS_IN_TOLERANCE
    at("accuracy", "mismatch_worst_mm")(mismatch_worst_mm, **way, tolerance_mm=tolerance_mm)
    place = ("accuracy", "mismatch_sigma_mm")
    sigma_mm = at(*place, part="spread of a strip's width", unit="mm")(times, amount=tolerance_mm, count=share)
    at(*place)(mismatch_sigma_mm, **way, sigma_mm=sigma_mm)
    place = ("accuracy", "corners_within_pct")
    within = at(*place, part="share of boards")(corners_within, **way, sigma_mm=sigma_mm, limit_mm=limit_mm)
    at(*place, unit="%")(times, amount=within, count=100)
    confidence = found.corner_confidence_pct / 100
    at("accuracy", "strip_needed_mm")(strip_needed_mm, **way, limit_mm=limit_mm, confidence=confidence)
    blade = {"thickness_mm": order.field.thickness_mm}
    at("accuracy", "blade_needed_deg")(blade_needed_deg, **blade, limit_mm=limit_mm)
    at("accuracy", "bevel_gap_mm")(bevel_gap_mm, **blade, blade_error_deg=error_deg)
    at("accuracy", "shear_mm")(shear_mm, across_mm=order.field.width_mm, angle_deg=error_deg)
    at("accuracy", "size_worst_mm", unit="mm")(times, amount=tolerance_mm, count=order.field.columns)
    at("accuracy", "size_rss_mm")(size_rss_mm, columns=order.field.columns, tolerance_mm=tolerance_mm)
    if found.mitre_cut_gap_mm is not None and order.frame:
        rail_mm = order.frame.width_mm
        at("accuracy", "mitre_cut_gap_mm")(mitre_cut_gap_mm, width_mm=rail_mm, blade_error_deg=error_deg)
