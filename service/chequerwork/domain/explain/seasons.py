"""The seasons explained: moisture, the field strip by strip, mitres, seat, bow; and the mass of listed wood."""

from collections.abc import Sequence

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.arithmetic import times, total, weighted
from chequerwork.domain.basics.facts import Grain, Sheet
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.explain.mass import timber_kg
from chequerwork.domain.explain.steps import Ledger, Place
from chequerwork.domain.law.listings import ListedTimber
from chequerwork.domain.order.order import Base, Frame, Hold, Joint
from chequerwork.domain.plan import Plan
from chequerwork.domain.wood.flatness import balance_score, bow_mm, laminate_bend, series_modulus_mpa, timber_shares
from chequerwork.domain.wood.movement import (
    BAND,
    clearance_needed_mm,
    mitre_gap_mm,
    stages,
)
from chequerwork.domain.wood.support import (
    LEAN_N,
    bending_stress_mpa,
    end_grain_strength_mpa,
    field_density_kg_m3,
    field_gravity,
    strength_over_stress,
)
from chequerwork.domain.wood.timber import (
    along_change_pct,
    emc_pct,
    fibreboard_mc_pct,
    in_plane_strain,
    moduli,
    modulus_across_mpa,
    plywood_mc_pct,
)

_DRY, _DAMP = 1, 2  # seasons by their place after the day of building
_WHEN = {_DRY: "driest season", _DAMP: "dampest season"}
_MOISTURE = ("build", "low", "high")


def movement(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """What the seasons do: each number from the moisture of wood and sheet on."""
    for name, air in zip(_MOISTURE, plan.year.air, strict=True):
        ledger.at(f"emc_{name}_pct")(emc_pct, temperature_c=air.temperature_c, rh_pct=air.rh_pct)
    _field(plan, ledger)
    if plan.order.frame:
        _frame(plan, ledger, plan.order.frame)
        if plan.order.frame.hold is Hold.FLOATING:
            _seat(plan, ledger)
    sheet = plan.tables.sheet(plan.order.base.material, plan.order.base.thickness_mm) if plan.order.base else None
    if plan.order.base and sheet:
        _base(plan, ledger, sheet)
        if base_is_glued(plan.order.frame, plan.order.base):
            _bow(plan, ledger, plan.order.base, sheet)
    if plan.margin is not None:
        _unsupported(plan, ledger)


def _strain(plan: Plan, ledger: Ledger, place: Place, species: str, grain: Grain, season: int) -> float:
    """Change of each millimetre of a timber to a season, stage by stage where the way leaves 6 to 14 %."""
    moisture, timber = plan.year.moisture, plan.tables.species[species]
    now_mm, changes = 1.0, []
    way = tuple(stages(timber, grain, moisture[0], moisture[season]))
    for stage in way:
        to_pct = stage.inputs["to_pct"]
        part = f"each mm of {timber.name}, {grain}-sawn, to {to_pct:.4g} % in the {_WHEN[season]}"
        changes.append(ledger.at(*place, part=part)(stage.form, width_mm=now_mm, **stage.inputs))
        if stage is not way[-1]:
            part = f"width of each mm at {to_pct:.4g} %"
            now_mm = ledger.at(*place, part=part, unit="mm")(total, parts=(now_mm, changes[-1]))
    if len(changes) == 1:
        return changes[0]
    return ledger.at(*place, part=f"each mm in the {_WHEN[season]}", unit="mm")(total, parts=tuple(changes))


def _field(plan: Plan, ledger: Ledger) -> None:
    """Strip by strip, then the sum. Where a season goes the other way, nothing shrinks or swells."""
    season, at = plan.movement.season, ledger.at
    for when, name, side, change_mm in (
        (_DRY, "dry_pct", "shrink_mm", season.shrink_mm),
        (_DAMP, "damp_pct", "swell_mm", season.swell_mm),
    ):
        strains = []
        for index, strips in enumerate(season.strips):
            place = ("field", "strips", index, name)
            strains.append(_strain(plan, ledger, place, strips.species, strips.grain, when))
            at(*place, unit="%")(times, amount=strains[-1], count=100)
        if change_mm:
            _sum(plan, ledger, ("field", side), strains)
    at("field", "total_mm", unit="mm")(total, parts=(season.shrink_mm, season.swell_mm))
    worse_mm = max(season.shrink_mm, season.swell_mm)
    at("field", "band_mm", unit="mm")(times, amount=worse_mm, count=BAND)


def _sum(plan: Plan, ledger: Ledger, place: Place, strains: list[float]) -> None:
    """Strips side by side add; what shrinks is shown without its sign."""
    parts = []
    for strips, strain in zip(plan.movement.season.strips, strains, strict=True):
        name = f"{strips.role}: {strips.pieces} of {strips.width_mm:.6g} mm"
        parts.append(ledger.at(*place, part=name, unit="mm")(times, amount=strain, count=strips.all_mm))
    if sum(parts) > 0:
        ledger.at(*place, unit="mm")(total, parts=tuple(parts))
        return
    change_mm = ledger.at(*place, part="all strips", unit="mm")(total, parts=tuple(parts))
    ledger.at(*place, unit="mm")(times, amount=change_mm, count=-1)


def _frame(plan: Plan, ledger: Ledger, frame: Frame) -> None:
    """Width of a rail, and the gap of a mitre of two such rails."""
    rail, at, grain = plan.movement.rail, ledger.at, frame.grain or Grain.FLAT
    if rail is None:
        return
    gaps: dict[float, float] = {}
    for when, side, gap, change_mm in (
        (_DRY, "shrink_mm", "gap_inside_mm", rail.shrink_mm),
        (_DAMP, "swell_mm", "gap_outside_mm", rail.swell_mm),
    ):
        if not change_mm:
            continue
        strain = _strain(plan, ledger, ("frame", side), frame.species, grain, when)
        sign = -1 if when == _DRY else 1
        at("frame", side, unit="mm")(times, amount=strain, count=sign * frame.width_mm)
        if frame.joint is Joint.MITRE:
            gaps[at("frame", gap)(mitre_gap_mm, width_mm=frame.width_mm, strain=strain)] = strain
    at("frame", "band_mm", unit="mm")(times, amount=max(rail.shrink_mm, rail.swell_mm), count=BAND)
    if gaps:
        at("mitre_gap_mm")(mitre_gap_mm, width_mm=frame.width_mm, strain=gaps[max(gaps)])
        at("frame", "gap_band_mm", unit="mm")(times, amount=max(gaps), count=BAND)


def _seat(plan: Plan, ledger: Ledger) -> None:
    """Clearance of a floating field, and the gap that its seasons leave beside the squares."""
    season, sat, at = plan.movement.season, plan.movement.seat, ledger.at
    clearance_mm = at("groove_clearance_mm")(clearance_needed_mm, swell_mm=season.swell_mm)
    if not sat.added_mm:
        return
    for name, change_mm, half in (("dry_mm", season.shrink_mm, 0.5), ("damp_mm", season.swell_mm, -0.5)):
        side_mm = at("edge_gap", name, part="change of each side", unit="mm")(times, amount=change_mm, count=half)
        at("edge_gap", name, unit="mm")(total, parts=(clearance_mm, side_mm))


def _base(plan: Plan, ledger: Ledger, sheet: Sheet) -> None:
    """Moisture of the sheet itself, and what its panel makes of it."""
    panel, year, at = plan.geometry.base, plan.year, ledger.at
    moisture = []
    for name, air, wood_pct in zip(_MOISTURE, year.air, year.moisture, strict=True):
        entry = at("base", f"moisture_{name}_pct")
        if sheet.is_plywood:
            moisture.append(entry(plywood_mc_pct, wood_pct=wood_pct))
        else:
            moisture.append(entry(fibreboard_mc_pct, rh_pct=air.rh_pct))
    for when, side, sign in ((_DRY, "shrink_mm", -1), (_DAMP, "swell_mm", 1)):
        if panel and (moisture[when] - moisture[0]) * sign > 0:
            strain = _sheet_strain(ledger, ("base", side), sheet, moisture, when)
            at("base", side, unit="mm")(times, amount=strain, count=sign * panel.panel.width_mm)


def _sheet_strain(ledger: Ledger, place: Place, sheet: Sheet, moisture: Sequence[float], season: int) -> float:
    way = {"from_pct": moisture[0], "to_pct": moisture[season]}
    part = f"each mm of {sheet.name} in the {_WHEN[season]}"
    return ledger.at(*place, part=part)(in_plane_strain, movement_per_pct=sheet.movement_per_pct, **way)


# Bow ------------------------------------------------------------------------------------------------------------------


def _bow(plan: Plan, ledger: Ledger, base: Base, sheet: Sheet) -> None:
    """Bow of a field glued to its base, across and along, each in its worse season."""
    for name, layers, chord_mm in (
        ("bow_mm", _layers_across, plan.order.field.width_mm),
        ("bow_along_mm", _layers_along, plan.order.field.length_mm),
    ):
        unseen = Ledger(plan, "movement")  # both seasons are tried, the worse one is told
        bends = {abs(laminate_bend(**layers(plan, unseen, base, sheet, when))): when for when in (_DAMP, _DRY)}
        worse = bends[max(bends)]
        part = f"bend in the {_WHEN[worse]}"
        bend = ledger.at(name, part=part)(laminate_bend, **layers(plan, ledger, base, sheet, worse))
        ledger.at(name)(bow_mm, bend=bend, length_mm=chord_mm)
    across_mm = plan.movement.flatness.across_mm
    ledger.at("bow_band_mm", unit="mm")(times, amount=across_mm, count=BAND)
    back_mm = base.backing.thickness_mm if base.backing else 0.0
    ledger.at("balance_score")(balance_score, face_mm=plan.order.field.thickness_mm, back_mm=back_mm)


Lists = dict[str, tuple[float, ...]]


def _layers_across(plan: Plan, ledger: Ledger, base: Base, sheet: Sheet, season: int) -> Lists:
    """Layers from the underside up, seen across the grain of the field."""
    place, at, species = ("bow_mm",), ledger.at, plan.tables.species
    layers = []
    if base.backing:
        key, grain = base.backing.species, base.backing.grain or Grain.FLAT
        strain = _strain(plan, ledger, place, key, grain, season)
        layers.append((base.backing.thickness_mm, modulus_across_mpa(species[key], grain), strain))
    layers.append(_sheet_layer(plan, ledger, place, base, sheet, season))
    strips = plan.movement.season.strips[:2]
    shares = timber_shares(plan.order.field, plan.movement.season)
    strains = tuple(_strain(plan, ledger, place, part.species, part.grain, season) for part in strips)
    moduli_mpa = tuple(modulus_across_mpa(species[part.species], part.grain) for part in strips)
    modulus_mpa = at(*place, part="stiffness of the field")(series_modulus_mpa, shares=shares, moduli_mpa=moduli_mpa)
    strain = at(*place, part="each mm of the field", unit="mm")(weighted, shares=shares, values=strains)
    layers.append((plan.order.field.thickness_mm, modulus_mpa, strain))
    return _lists(layers)


def _layers_along(plan: Plan, ledger: Ledger, base: Base, sheet: Sheet, season: int) -> Lists:
    """Layers from the underside up, seen along the grain, where wood hardly moves."""
    order, place, at, species = plan.order, ("bow_along_mm",), ledger.at, plan.tables.species
    way = {"from_pct": plan.year.moisture[0], "to_pct": plan.year.moisture[season]}
    change_pct = at(*place, part="wood along the grain")(along_change_pct, **way)
    strain = at(*place, part="each mm along the grain", unit="mm")(times, amount=change_pct, count=0.01)
    layers = []
    if base.backing:
        layers.append((base.backing.thickness_mm, moduli(species[base.backing.species]).along_mpa, strain))
    layers.append(_sheet_layer(plan, ledger, place, base, sheet, season))
    both_mpa = tuple(moduli(species[key]).along_mpa for key in (order.field.light, order.field.dark))
    stiff = at(*place, part="stiffness of the field", unit="MPa")
    layers.append((order.field.thickness_mm, stiff(weighted, shares=(0.5, 0.5), values=both_mpa), strain))
    return _lists(layers)


def _sheet_layer(
    plan: Plan, ledger: Ledger, place: Place, base: Base, sheet: Sheet, season: int
) -> tuple[float, float, float]:
    moisture = plan.year.sheet_moisture(sheet)
    return base.thickness_mm, sheet.modulus_mpa, _sheet_strain(ledger, place, sheet, moisture, season)


def _lists(layers: list[tuple[float, float, float]]) -> Lists:
    thicknesses_mm, moduli_mpa, strains = zip(*layers, strict=True)
    return {"thicknesses_mm": thicknesses_mm, "moduli_mpa": moduli_mpa, "strains": strains}


def _unsupported(plan: Plan, ledger: Ledger) -> None:
    """What the end-grain joints of a field bear that nothing else carries."""
    order, tables, place = plan.order, plan.tables, ("strength_ratio",)
    strength_mpa = ledger.at(*place, part="what a joint bears")(
        end_grain_strength_mpa, gravity=field_gravity(order.field, tables)
    )
    stress_mpa = ledger.at(*place, part="leaned on in the middle")(
        bending_stress_mpa,
        length_mm=order.field.length_mm,
        width_mm=order.field.width_mm,
        thickness_mm=order.field.thickness_mm,
        density_kg_m3=field_density_kg_m3(order.field, tables),
        load_n=LEAN_N,
    )
    ledger.at(*place)(strength_over_stress, strength_mpa=strength_mpa, stress_mpa=stress_mpa)


# Notices --------------------------------------------------------------------------------------------------------------


def compliance(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Mass of each listed timber, in one board and in the order, and of all under the same annotation."""
    masses = dict(plan.geometry.timber_kg)
    for index, timber in enumerate(plan.compliance.listed):
        place = ("listed_timbers", index)
        each_kg = timber_kg(plan, ledger, (*place, "each_kg"), timber.species.key, part=None)
        ledger.at(*place, "order_kg", unit="kg")(times, amount=each_kg, count=timber.quantity)
        together = tuple(masses[key] for key in masses if _same_rule(plan, key, timber))
        ledger.at(*place, "weighed_each_kg", unit="kg")(total, parts=together)


def _same_rule(plan: Plan, key: str, timber: ListedTimber) -> bool:
    other = plan.tables.listing_of(key)
    own = timber.listing
    return other is not None and (other.appendix, other.annotation) == (own.appendix, own.annotation)
