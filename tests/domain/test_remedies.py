"""Remedies: changes of an order that help, ranked, each tried out on the changed order."""

from dataclasses import replace

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import Hold, Joint, Pattern
from chequerwork.domain.order.request import BaseRequest, ClimateRequest, GrainRequest
from chequerwork.domain.plan import Plan
from chequerwork.domain.remedies import changed
from chequerwork.domain.wood.verdict import Verdict


@pytest.fixture
def exact(moosgrund):
    """The shop with strips so exact that corners are no matter."""
    return altered(moosgrund, machines={"strip_tolerance_mm": 0.01})


def offered(plan):
    return {remedy.code: remedy for remedy in plan.remedies}


def redone(plan, remedy):
    """The plan of the changed order."""
    return Plan(changed(plan.order, remedy.changes), plan.shop, plan.tables)


def test_a_sound_construction_needs_no_remedy(exact):
    assert a_plan(exact, frame=a_frame()).remedies == ()


def test_a_glued_field_is_told_to_float_with_its_clearance(exact):
    plan = a_plan(exact, frame=a_frame(hold=Hold.GLUED))
    first = plan.remedies[0]
    assert (first.code, first.reason, first.verdict) == ("float-the-field", "glued-field", Verdict.SOUND)
    assert first.changes == {("frame", "hold"): Hold.FLOATING}
    assert (first.now_mm, first.then_mm) == (0.0, redone(plan, first).movement.seat.clearance_mm)
    assert first.text == "Float the field: clearance {0} on each side."


def test_rails_too_narrow_to_float_in_are_told_how_wide_they_must_be(exact):
    plan = a_plan(exact, frame=a_frame(hold=Hold.GLUED, width_mm=15.0), climate=ClimateRequest(low_rh_pct=15.0))
    remedy = offered(plan)["float-the-field"]
    again = redone(plan, remedy)
    tongue_mm = again.movement.seat.clearance_mm + again.swing.shrink_mm / 2 * 1.25 + 3.0
    assert tongue_mm + 8.0 <= again.order.frame.width_mm < tongue_mm + 9.1  # whole millimetres
    assert "{2} wide" in remedy.text
    assert remedy.lengths_mm[2] == again.order.frame.width_mm > 15.0


def test_a_field_too_thin_for_a_tongue_is_not_told_to_float(exact):
    thin = altered(exact, ranges={"thickness": replace(exact.ranges.thickness, low_mm=6.0)})
    plan = a_plan(thin, thickness_mm=8.0, frame=a_frame(hold=Hold.GLUED))
    assert "float-the-field" not in offered(plan)
    assert "quarter-sawn-squares" in offered(plan)


def test_quarter_sawn_squares_change_only_what_is_not_quarter_sawn_yet(exact):
    plan = a_plan(exact, grain=GrainRequest(dark=Grain.QUARTER), frame=a_frame(hold=Hold.GLUED))
    assert offered(plan)["quarter-sawn-squares"].changes == {("field", "light_grain"): Grain.QUARTER}
    both = GrainRequest(light=Grain.QUARTER, dark=Grain.QUARTER)
    assert "quarter-sawn-squares" not in offered(a_plan(exact, grain=both, frame=a_frame(hold=Hold.GLUED)))


def test_wide_flat_sawn_rails_have_four_ways_out(exact):
    """Quarter-sawn, of a calmer timber, narrower, or butted; each with the gap that is left."""
    frame = a_frame(species="pear", grain=Grain.FLAT, width_mm=80.0)
    plan = a_plan(exact, frame=frame, climate=ClimateRequest(low_rh_pct=25.0))
    found = offered(plan)
    assert {"quarter-sawn-rails", "calmer-rails", "narrower-rails", "butt-joints"} <= set(found)
    gap_mm = plan.movement.rail.gap_mm
    for code in ("quarter-sawn-rails", "calmer-rails", "narrower-rails", "butt-joints"):
        assert found[code].now_mm == gap_mm
        assert found[code].then_mm < gap_mm
    assert found["butt-joints"].then_mm == 0.0
    assert 0.35 < found["narrower-rails"].then_mm < 0.4  # just below the limit that the eye forgives
    assert redone(plan, found["butt-joints"]).order.frame.joint is Joint.BUTT


def test_calmer_rails_are_of_the_shops_calmest_timber(exact):
    plan = a_plan(exact, frame=a_frame(species="pear", grain=Grain.FLAT, width_mm=80.0))
    strains = {key: max(map(abs, plan.year.strain(key, each.grain))) for key, each in exact.lumber.items()}
    frame = redone(plan, offered(plan)["calmer-rails"]).order.frame
    assert strains[frame.species] == min(strains.values())
    assert frame.grain is exact.lumber[frame.species].grain


def test_turned_bars_are_told_to_shift(moosgrund):
    """TRADE-TOL: N t against 2 t."""
    remedy = offered(a_plan(moosgrund))["shift-the-bars"]
    t = moosgrund.machines.strip_tolerance_mm
    assert (remedy.now_mm, remedy.then_mm) == pytest.approx((8 * t, 2 * t))
    assert remedy.changes == {("field", "pattern"): Pattern.SHIFT}


def test_a_bowing_board_is_offered_the_backing_nearest_to_balance(exact):
    """No backing of the field's two timbers in the shop's range leaves less."""
    plan = a_plan(exact, thickness_mm=10.0, base=BaseRequest(material="birch_plywood", thickness_mm=12.0))
    remedy = offered(plan)["backing"]
    backing = remedy.changes["base", "backing"]
    assert remedy.then_mm < 0.7 * remedy.now_mm
    for species in (plan.order.field.light, plan.order.field.dark):
        for thickness_mm in (0.6, 1.5, 3.0, 4.5, 6.0):
            other = replace(backing, species=species, thickness_mm=thickness_mm, grain=exact.lumber[species].grain)
            order = changed(plan.order, {("base", "backing"): other})
            left_mm = Plan(order, exact, plan.tables).movement.flatness.across_mm
            assert left_mm >= remedy.then_mm - 0.05, (species, thickness_mm)


def test_where_the_range_lets_it_the_backing_brings_the_bow_to_nothing(exact):
    thick = altered(exact, ranges={"backing": replace(exact.ranges.backing, high_mm=20.0)})
    plan = a_plan(thick, thickness_mm=10.0, base=BaseRequest(material="birch_plywood", thickness_mm=12.0))
    remedy = offered(plan)["backing"]
    assert remedy.now_mm > 3
    assert remedy.then_mm < 0.2
    assert remedy.verdict is Verdict.SOUND


def test_another_sheet_is_the_one_on_which_the_field_bows_least(exact):
    plan = a_plan(exact, base=BaseRequest(material="mdf", thickness_mm=6.0))
    remedy = offered(plan)["other-base"]
    for sheet in exact.sheets:
        base = {("base", "material"): sheet.material, ("base", "thickness_mm"): sheet.thickness_mm}
        bow_mm = Plan(changed(plan.order, base), exact, plan.tables).movement.flatness.across_mm
        assert bow_mm >= remedy.then_mm - 1e-9


def test_rails_go_on_hiding_a_base_that_grows(exact):
    plan = a_plan(
        exact, thickness_mm=10.0, frame=a_frame(), base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    )
    assert plan.order.frame.thickness_mm == 19.0
    again = redone(plan, offered(plan)["backing"])
    assert again.order.frame.thickness_mm == 19.0 + again.order.base.backing.thickness_mm


def test_a_glued_frame_on_a_base_may_float_and_fix_the_base_to_the_rails(exact):
    plan = a_plan(exact, frame=a_frame(hold=Hold.GLUED), base=BaseRequest(material="mdf", thickness_mm=9.0))
    remedy = plan.remedies[0]
    assert remedy.code == "float-the-field"
    assert redone(plan, remedy).movement.verdict is Verdict.SOUND


def test_a_deep_groove_asks_for_wider_rails(exact):
    wild = ClimateRequest(low_rh_pct=15.0, high_rh_pct=80.0)
    deep_mm = a_plan(exact, frame=a_frame(), climate=wild).geometry.seat.tongue_mm
    plan = a_plan(exact, frame=a_frame(width_mm=deep_mm + 8.5, joint=Joint.BUTT), climate=wild)
    remedy = offered(plan)["wider-rails"]
    assert redone(plan, remedy).movement.verdict is Verdict.SOUND


def test_remedies_stand_with_the_soundest_first(exact):
    plan = a_plan(
        exact,
        frame=a_frame(hold=Hold.GLUED, species="pear", grain=Grain.FLAT, width_mm=80.0),
        base=BaseRequest(material="mdf", thickness_mm=9.0),
        climate=ClimateRequest(low_rh_pct=20.0, high_rh_pct=75.0),
    )
    ranks = [remedy.verdict.rank for remedy in plan.remedies]
    assert len(ranks) > 3
    assert ranks == sorted(ranks)
    assert max(ranks) <= plan.movement.verdict.rank
    changes = [tuple(remedy.changes.items()) for remedy in plan.remedies]
    assert len({str(each) for each in changes}) == len(changes)


def test_a_change_leaves_the_rest_of_the_order(moosgrund):
    order = a_plan(moosgrund, frame=a_frame()).order
    assert changed(order, {}) == order
    both = changed(order, {("frame", "width_mm"): 50.0, ("frame", "grain"): Grain.FLAT})
    assert both == replace(order, frame=replace(order.frame, width_mm=50.0, grain=Grain.FLAT))


def test_what_no_single_change_makes_sound_is_told_together(moosgrund):
    """A glued field and turned bars: one remedy for each, and both at once."""
    plan = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED))
    assert plan.movement.verdict is Verdict.EXPECT_DAMAGE
    first = plan.remedies[0]
    assert (first.code, first.verdict) == ("together", Verdict.SOUND)
    assert first.changes == {("frame", "hold"): Hold.FLOATING, ("field", "pattern"): Pattern.SHIFT}
    assert first.text == "Together, float the field and shift the bars: clearance {0} on each side."
    assert redone(plan, first).movement.verdict is Verdict.SOUND
    alone = {remedy.code: remedy.verdict for remedy in plan.remedies}
    assert Verdict.SOUND not in {alone["float-the-field"], alone["shift-the-bars"]}
