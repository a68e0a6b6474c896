"""What is glued at once, how hard it is pressed and by how many clamps."""

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.making.cutting import Role
from chequerwork.domain.making.joints import (
    GlueStage,
    clamp_count,
    joint_pressure_mpa,
    open_joints,
)
from chequerwork.domain.making.materials import adhesive_per_board_g
from chequerwork.domain.order.order import Hold, Joint, Line, Pattern
from chequerwork.domain.order.request import BackingRequest, BaseRequest

MDF = BaseRequest(material="mdf", thickness_mm=9.0)
LINES = (Line(species="pear", width_mm=3.0), Line(species="wenge", width_mm=2.0))
BUILDS = {
    "plain": {},
    "shifted": {"pattern": Pattern.SHIFT},
    "lines": {"lines": LINES},
    "floating in mitres": {"frame": a_frame()},
    "glued in butts": {"frame": a_frame(hold=Hold.GLUED, joint=Joint.BUTT), "lines": LINES},
    "on a base": {"base": MDF},
    "backed": {
        "base": BaseRequest(material="mdf", thickness_mm=9.0, backing=BackingRequest(species="pear", thickness_mm=3.0))
    },
    "floating over a base": {"frame": a_frame(thickness_mm=18.0), "base": MDF},
}


def glue_ups(shop=None, **changes):
    return {found.stage: found for found in a_plan(shop, **changes).glue_ups}


def dressed(shop, adhesive):
    return altered(shop, consumables={"adhesive": adhesive})


# What is glued --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("build", "stages"),
    [
        ("plain", "strips bars"),
        ("lines", "strips bars lines"),
        ("floating in mitres", "strips bars corners"),
        ("glued in butts", "strips bars lines frame corners"),
        ("on a base", "strips bars base"),
        ("floating over a base", "strips bars corners"),
    ],
)
def test_a_build_has_its_glue_ups_in_the_order_of_the_work(build, stages):
    assert " ".join(glue_ups(**BUILDS[build])) == stages


@pytest.mark.parametrize("build", BUILDS)
def test_the_adhesive_that_is_bought_is_that_of_the_glue_ups(moosgrund, build):
    plan = a_plan(moosgrund, **BUILDS[build])
    bought_g = adhesive_per_board_g(plan.bonds, plan.shop, plan.tables)
    assert sum(found.adhesive_g for found in plan.glue_ups) == pytest.approx(bought_g, rel=1e-12)
    (line,) = (item for item in plan.materials.items if item.role == "adhesive")
    assert line.quantity == pytest.approx(bought_g * plan.order.sale.quantity)


def test_a_plain_board_has_seven_joints_twice_over(moosgrund):
    """By hand: 8 strips as long as the panel and 8 bars as long as it is wide, 18.8 mm thick until the last planing."""
    plan = a_plan(moosgrund)
    found = glue_ups(moosgrund)
    strips, bars = found[GlueStage.STRIPS], found[GlueStage.BARS]
    assert (strips.joints, bars.joints) == (7, 7)
    assert (strips.length_mm, bars.length_mm) == (plan.cutting.panel.length_mm, 384.0)
    assert strips.width_mm == bars.width_mm == 18.8
    assert bars.area_m2 == pytest.approx(7 * 0.384 * 0.0188)
    assert (strips.end_grain, bars.end_grain) == (False, True)


def test_end_grain_takes_twice_the_spread(moosgrund, tables):
    found, spread = glue_ups(moosgrund, frame=a_frame()), tables.adhesives[moosgrund.consumables.adhesive].spread_g_m2
    assert found[GlueStage.STRIPS].spread_g_m2 == spread
    assert {found[stage].spread_g_m2 for stage in (GlueStage.BARS, GlueStage.CORNERS)} == {2 * spread}
    waste = 1 + moosgrund.consumables.adhesive_waste_pct / 100
    assert found[GlueStage.BARS].adhesive_g == pytest.approx(found[GlueStage.BARS].area_m2 * 2 * spread * waste)


def test_lines_are_counted_band_by_band_and_clamped_side_by_side(moosgrund):
    plan = a_plan(moosgrund, lines=LINES)
    lines = glue_ups(moosgrund, lines=LINES)[GlueStage.LINES]
    outer = max(part.final.length_mm for part in plan.cutting.parts if part.role is Role.LINE)
    assert lines.joints == 8
    assert lines.length_mm == outer
    # Two rows of clamps, one in each direction, as for a single band of that size.
    assert lines.clamps == 2 * clamp_count(lines.force_n, moosgrund.machines.clamp_force_n, outer)


@pytest.mark.parametrize(("joint", "share"), [(Joint.MITRE, 2**0.5), (Joint.BUTT, 1.0)])
def test_corners_are_as_long_as_the_cut(moosgrund, joint, share):
    corners = glue_ups(moosgrund, frame=a_frame(joint=joint))[GlueStage.CORNERS]
    assert (corners.joints, corners.length_mm) == (4, pytest.approx(45.0 * share))
    assert corners.clamps % 4 == 0  # each corner has its own


@pytest.mark.parametrize("joint", Joint)
def test_a_glued_rail_is_pressed_where_it_touches_the_field(moosgrund, joint):
    """Along the opening, not out to its points, and as high as field and rail both are."""
    frame = a_frame(hold=Hold.GLUED, joint=joint, thickness_mm=24.0)
    glued = glue_ups(moosgrund, frame=frame, rows=6)[GlueStage.FRAME]
    assert (glued.joints, glued.length_mm, glued.width_mm) == (4, 384.0, 18.0)
    assert glued.area_m2 == pytest.approx(2 * (0.384 + 0.288) * 0.018)
    assert glued.force_n == pytest.approx(glued.pressure_mpa * 384.0 * 18.0)


def test_a_backing_is_a_second_face(moosgrund):
    one, two = (glue_ups(moosgrund, **BUILDS[build])[GlueStage.BASE] for build in ("on a base", "backed"))
    assert (one.joints, two.joints) == (1, 2)
    assert two.area_m2 == pytest.approx(2 * one.area_m2)
    assert two.force_n > one.force_n  # pear is denser than the field, and decides
    assert any("press" in text for text in one.preparation)


# How it is pressed ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("density_kg_m3", "expected_mpa"),
    [(414, 0.86), (509.9, 0.86), (510, 1.205), (616, 1.205), (700, 1.45), (1105, 1.45)],
)
def test_pressure_is_the_middle_of_the_span_for_the_density(tables, density_kg_m3, expected_mpa):
    """GLUE-GUIDE: 0.69 to 1.03, 1.03 to 1.38, 1.2 to 1.7 MPa."""
    assert joint_pressure_mpa(density_kg_m3, tables.adhesives["pva_d3"], tables) == pytest.approx(expected_mpa)


@pytest.mark.parametrize(
    ("adhesive", "density_kg_m3", "expected_mpa"),
    [("epoxy_slow", 870, 0.2), ("hot_hide_glue", 870, 1.0), ("polyurethane", 414, 1.0), ("pva_white", 870, 1.4)],
)
def test_the_adhesives_own_span_comes_before_the_density(tables, adhesive, density_kg_m3, expected_mpa):
    """Epoxy takes contact pressure only; the others' ends are from memory."""
    assert joint_pressure_mpa(density_kg_m3, tables.adhesives[adhesive], tables) == expected_mpa


def test_the_denser_of_two_timbers_decides(moosgrund):
    """Sycamore 640 and walnut 670 kg/m3 are medium; wenge, 870, is dense."""
    medium, dense = glue_ups(moosgrund), glue_ups(moosgrund, dark="wenge")
    assert medium[GlueStage.BARS].pressure_mpa == pytest.approx(1.205)
    assert dense[GlueStage.BARS].pressure_mpa == pytest.approx(1.45)
    assert glue_ups(moosgrund, light="wenge", dark="sycamore_maple")[GlueStage.BARS].pressure_mpa == pytest.approx(1.45)


def test_force_is_of_one_joint_however_many_lie_side_by_side(moosgrund):
    small, large = (glue_ups(moosgrund, rows=rows)[GlueStage.BARS] for rows in (4, 8))
    assert small.force_n == large.force_n == pytest.approx(1.205 * 384.0 * 18.8)
    assert small.clamps == large.clamps


@pytest.mark.parametrize(
    ("clamp_force_n", "clamps"), [(50_000.0, 3), (4500.0, 3), (3000.0, 3), (2500.0, 4), (1000.0, 9)]
)
def test_clamps_are_enough_for_the_force_and_near_enough_to_each_other(moosgrund, clamp_force_n, clamps):
    """By hand: 8.70 kN on 384 mm; spacing alone asks for three."""
    shop = altered(moosgrund, machines={"clamp_force_n": clamp_force_n})
    assert glue_ups(shop)[GlueStage.BARS].clamps == clamps


def test_a_joint_is_never_left_without_a_clamp():
    assert clamp_count(0.0, 4500.0, 0.0) == 1


def test_joints_that_can_be_closed_follow_the_open_time(moosgrund, tables):
    """TRADE-GLUE: 5 to 10 min for about 3 to 4 joints, from memory; 0.6 a minute."""
    assert (open_joints(5.0), open_joints(10.0), open_joints(0.5)) == (3, 6, 0)
    for adhesive in ("pva_d3", "epoxy_slow"):
        found = glue_ups(dressed(moosgrund, adhesive))[GlueStage.BARS]
        assert found.open_joints == open_joints(tables.adhesives[adhesive].open_min)


# What comes before ----------------------------------------------------------------------------------------------------


def test_end_grain_is_sized_first_and_long_grain_is_not(moosgrund):
    found = glue_ups(moosgrund)
    assert found[GlueStage.STRIPS].preparation == ()
    (text,) = found[GlueStage.BARS].preparation
    assert text.startswith("Size the end grain first")


def test_oily_timbers_are_wiped_just_before_gluing(moosgrund, tables):
    oily = dict(tables.species)
    oily["pear"] = altered(oily["pear"], oily=True)
    facts = altered(tables, species=oily)
    found = {each.stage: each for each in a_plan(moosgrund, tables=facts, dark="pear").glue_ups}
    assert found[GlueStage.STRIPS].preparation == (
        f"Wipe the faces of {oily['pear'].name} with a solvent just before gluing.",
    )
    assert len(found[GlueStage.BARS].preparation) == 2
