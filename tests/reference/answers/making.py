"""Questions about rough sizes, lumber, sheets, adhesive, joints, sanding and finish."""

from dataclasses import replace
from itertools import pairwise

from builders import a_plan, altered, an_order, demo_shops, demo_tables, laid_out, reordered
from reference.answers.registry import checks_formulas

from chequerwork.domain.board.geometry import Rect
from chequerwork.domain.making.cutting import Strip, length_needed_mm
from chequerwork.domain.making.finishing import ladder, plan_finish
from chequerwork.domain.making.joints import bonds_of, clamp_count, joint_force_n
from chequerwork.domain.making.lumber import BOARD_FOOT_M3, FOOT2_M2, board_feet, surface_measure
from chequerwork.domain.making.materials import adhesive_per_board_g
from chequerwork.domain.making.schedule.network import scratch_weight
from chequerwork.domain.order.order import Pattern
from chequerwork.domain.wood.support import end_grain_strength_mpa, modulus_of_rupture_mpa

IN = 25.4
MPA_PER_PSI = 0.006894757
TABLES, MOOSGRUND = demo_tables(), demo_shops()["moosgrund"]


# Rough sizes ----------------------------------------------------------------------------------------------------------


@checks_formulas("cutting.length_needed_mm")
def strip_length_in(*, squares, square_in, kerf_in):
    """Squares and kerfs alone."""
    alone = {"spare": 0, "dressing_mm": 0, "squaring_mm": 0, "ends_mm": 0}
    return length_needed_mm(squares=squares, square_mm=square_in * IN, kerf_mm=kerf_in * IN, **alone) / IN


@checks_formulas("cutting.length_needed_mm")
def left_by_the_rule_in(*, squares, square_in, kerf_in, rule_in):
    needed_in = strip_length_in(squares=squares, square_in=square_in, kerf_in=kerf_in)
    return squares * square_in + rule_in - needed_in


@checks_formulas()
def extra_strips_of_shift(*, columns):
    counts = {
        pattern: sum(strip.count for strip in a_plan(MOOSGRUND, columns=columns, pattern=pattern).cutting.strips)
        for pattern in Pattern
    }
    return counts[Pattern.SHIFT] / counts[Pattern.TURN] - 1


@checks_formulas()
def left_of_stock_mm(*, stock_mm, face_in, flattening_mm, glue_ups):
    """What the shop's own rule for rough thickness leaves of a board."""
    machines = altered(MOOSGRUND.machines, planing_face_mm=face_in * IN, flattening_mm=flattening_mm)
    rough = machines.rough_field_thickness_mm if glue_ups else machines.rough_thickness_mm
    return stock_mm - rough(0.0)


# Lumber, sheets and adhesive ------------------------------------------------------------------------------------------


@checks_formulas()
def board_foot_m3():
    return BOARD_FOOT_M3


@checks_formulas("lumber.surface_measure", "lumber.board_feet")
def board_feet_of_one_board(*, width_in, length_ft, thickness_in):
    """Surface measure, then thickness; the tally of a lot of this one board must agree."""
    feet = surface_measure(width_in=width_in, length_ft=length_ft) * thickness_in
    assert board_feet(area_m2=width_in / 12 * length_ft * FOOT2_M2, nominal_in=thickness_in) == feet
    return feet


@checks_formulas()
def coverage_m2_l(*, finish):
    return TABLES.finishes[finish].coverage_m2_l


@checks_formulas("joints.glue_g", "joints.joints_mm2")
def adhesive_g(*, strips, rows, panel_length_mm, panel_width_mm, thickness_mm, spread_g_m2, waste_pct=0):
    shop = altered(MOOSGRUND, consumables={"adhesive": "pva_d4", "adhesive_waste_pct": waste_pct})
    adhesive = replace(TABLES.adhesives["pva_d4"], spread_g_m2=spread_g_m2)
    facts = altered(TABLES, adhesives={**TABLES.adhesives, "pva_d4": adhesive})
    plan = a_plan(shop)
    width_mm = panel_width_mm / strips
    strip = Strip(
        species="pear", count=strips, width_mm=width_mm, length_mm=panel_length_mm, rip_width_mm=panel_width_mm
    )
    cutting = replace(
        plan.cutting,
        strips=(strip,),
        panel=Rect(length_mm=panel_length_mm, width_mm=panel_width_mm),
        panel_thickness_mm=thickness_mm,
        parts=(),
    )
    return adhesive_per_board_g(
        bonds_of(replace(plan.order.field, rows=rows), None, None, plan.geometry, cutting), shop, facts
    )


@checks_formulas("joints.joint_force_n", "joints.clamp_count")
def clamps_of_a_joint(*, pressure_mpa, length_mm, width_mm, clamp_force_n):
    return clamp_count(joint_force_n(pressure_mpa, length_mm, width_mm), clamp_force_n, length_mm)


@checks_formulas("support.end_grain_strength_mpa")
def end_grain_share(*, gravity):
    """Of a joint over the wood itself."""
    return end_grain_strength_mpa(gravity) / modulus_of_rupture_mpa(gravity)


@checks_formulas("support.modulus_of_rupture_mpa")
def rupture_psi(*, gravity):
    return modulus_of_rupture_mpa(gravity) / MPA_PER_PSI


# Sanding and finish ---------------------------------------------------------------------------------------------------


@checks_formulas("finishing.size_ratio")
def size_ratio_of_grades(*, coarse, fine):
    """Of one step from the one to the other, whatever its size."""
    return ladder(TABLES, fine, first=coarse, most=99.0)[-1].ratio


@checks_formulas("schedule.network.scratch_weight")
def scratches_of_ladder(*, grades):
    """Time at every grade but the first, each against a step that changes nothing."""
    sizes_um = [TABLES.abrasives[grade].particle_um for grade in grades]
    return sum(scratch_weight(before / after) for before, after in pairwise(sizes_um))


@checks_formulas("finishing.size_ratio")
def steps_of_the_ladder(*, last, **given):
    return len(ladder(TABLES, last, **given)) - 1


@checks_formulas()
def cami_ratio(*, number):
    return TABLES.abrasives[f"P{number}"].particle_um / TABLES.abrasives_cami[number].particle_um


def finishing(*, side_mm, edge_mm, coats=3, coverage_m2_l=12.0, waste_pct=0.0):
    shop = altered(MOOSGRUND, consumables={"finish_waste_pct": waste_pct})
    order = reordered(an_order(shop), thickness_mm=edge_mm)
    finish = replace(TABLES.finishes[order.surface.finish], coats=coats, coverage_m2_l=coverage_m2_l)
    facts = altered(TABLES, finishes={**TABLES.finishes, order.surface.finish: finish})
    found = replace(laid_out(order, shop, TABLES), overall=Rect(length_mm=side_mm, width_mm=side_mm))
    return plan_finish(order.surface, found, shop.consumables, shop.workshop_climate, facts)


@checks_formulas("finishing.surface_m2")
def area_m2(**given):
    return finishing(**given).area_m2


@checks_formulas("finishing.surface_m2", "finishing.coat_ml")
def finish_l(**given):
    return finishing(**given).finish_ml / 1000
