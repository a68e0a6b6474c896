"""The cut list explained: lengths and widths to saw, the rough size of every part, and what is glued."""

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.arithmetic import enlarged_mm, round_up, total
from chequerwork.domain.explain.steps import Ledger
from chequerwork.domain.making.cutting import (
    CUT_TO_MM,
    Part,
    Role,
    bar_width_mm,
    edge_allowance,
    edge_tongue_mm,
    length_needed_mm,
    lengths_along,
    rip_width_mm,
    side_by_side_mm,
)
from chequerwork.domain.making.joints import bond_spread_g_m2, clamp_count, glue_g, joint_force_n, open_joints
from chequerwork.domain.plan import Plan


def cutting(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Length of the strips, width of the boards they are ripped from, the first glue-up, and rough sizes."""
    order, found, machines, at = plan.order, plan.cutting, plan.shop.machines, ledger.at
    tongue_mm = edge_tongue_mm(order.field.lines, plan.geometry)
    bar = {"square_mm": order.field.square_mm, "dressing_mm": machines.dressing_mm}
    at("crosscuts", "width_mm")(bar_width_mm, **bar, tongue_mm=0.0)
    if tongue_mm:
        at("crosscuts", "end_width_mm")(bar_width_mm, **bar, tongue_mm=tongue_mm)
    needed_mm = at("crosscuts", "length_needed_mm")(length_needed_mm, **lengths_along(order.field, machines, tongue_mm))
    step_mm = CUT_TO_MM[plan.shop.defaults.units]
    at("crosscuts", "length_allowed_mm", unit="mm")(round_up, value=needed_mm, step=step_mm)
    for index, strip in enumerate(found.strips):
        at("strips", index, "rip_width_mm")(
            rip_width_mm,
            strips=strip.count,
            width_mm=strip.width_mm,
            kerf_mm=machines.kerf_rip_mm,
            jointing_mm=machines.jointing_edge_mm,
        )
    counts, widths_mm = tuple(s.count for s in found.strips), tuple(s.width_mm for s in found.strips)
    at("panel", "width_mm")(side_by_side_mm, counts=counts, widths_mm=widths_mm)
    flattening = {"count": 1, "allowance_mm": machines.flattening_mm}
    at("panel", "thickness_mm")(enlarged_mm, size_mm=order.field.thickness_mm, **flattening)
    for index, part in enumerate(found.parts):
        _rough(plan, ledger, index, part)
    _glue_ups(plan, ledger)


def _glue_ups(plan: Plan, ledger: Ledger) -> None:
    """Adhesive, force and clamps of each glue-up."""
    consumables, clamp_force_n = plan.shop.consumables, plan.shop.machines.clamp_force_n
    adhesive = plan.tables.adhesives[consumables.adhesive]
    made = zip(plan.bonds, plan.glue_ups, strict=True)
    for index, (bond, found) in enumerate(made):
        place, at = ("glue_ups", index), ledger.at
        spread_g_m2, waste_pct = bond_spread_g_m2(bond, adhesive), consumables.adhesive_waste_pct
        at(*place, "adhesive_g")(glue_g, area_mm2=bond.area_mm2, spread_g_m2=spread_g_m2, waste_pct=waste_pct)
        forces_n = {run: joint_force_n(found.pressure_mpa, run.length_mm, run.width_mm) for run in bond.runs}
        longest = max(bond.runs, key=lambda run: forces_n[run])
        face = {"length_mm": longest.length_mm, "width_mm": longest.width_mm}
        at(*place, "force_n")(joint_force_n, pressure_mpa=found.pressure_mpa, **face)
        clamps = {
            run: at(*place, "clamps", part=f"along {run.length_mm:.4g} mm")(
                clamp_count, force_n=force_n, clamp_force_n=clamp_force_n, length_mm=run.length_mm
            )
            for run, force_n in forces_n.items()
        }
        at(*place, "clamps", unit="clamps")(total, parts=tuple(clamps[run] for run in bond.runs))
        at(*place, "open_joints")(open_joints, open_min=adhesive.open_min)


def _rough(plan: Plan, ledger: Ledger, index: int, part: Part) -> None:
    """Rough sizes of a part: what sawing, jointing and planing take off."""
    machines, final = plan.shop.machines, part.final
    if part.role is Role.BASE:
        kerf_mm = machines.kerf_rip_mm
        allowances = {"length_mm": (final.length_mm, 1, kerf_mm), "width_mm": (final.width_mm, 1, kerf_mm)}
    else:
        allowances = {
            "length_mm": (final.length_mm, 1, machines.rough_length_mm),
            "width_mm": (final.width_mm, *edge_allowance(part.role, machines)),
            "thickness_mm": (final.thickness_mm, 2, machines.planing_face_mm),
        }
    for side, (size_mm, count, allowance_mm) in allowances.items():
        place = ("parts", index, "rough", side)
        ledger.at(*place)(enlarged_mm, size_mm=size_mm, count=count, allowance_mm=allowance_mm)
