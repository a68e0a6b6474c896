"""What to expect of a construction: each reason by its number, the worst decides; nothing is carried on in silence."""

from dataclasses import replace

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.advice import Severity
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import Edge, Hold, Joint, Line, Pattern
from chequerwork.domain.order.request import BackingRequest, BaseRequest, ClimateRequest
from chequerwork.domain.wood.movement import Swing
from chequerwork.domain.wood.verdict import Verdict, assess

STEADY = ClimateRequest(low_rh_pct=48.0, high_rh_pct=48.0, temperature_c=19.0)  # the workshop's own room
MDF = BaseRequest(material="mdf", thickness_mm=9.0)


@pytest.fixture
def exact(moosgrund):
    """The shop with strips so exact that corners are no matter."""
    return altered(moosgrund, machines={"strip_tolerance_mm": 0.01})


def verdicts(plan):
    return {reason.code: reason.verdict for reason in plan.movement.reasons}


def test_a_bare_board_is_sound(exact):
    movement = a_plan(exact).movement
    codes = [reason.code for reason in movement.reasons]
    assert (movement.verdict, codes) == (Verdict.SOUND, ["thin-field", "corners"])


def test_a_board_that_lives_in_its_workshop_does_not_move(exact):
    movement = a_plan(exact, climate=STEADY, frame=a_frame(hold=Hold.GLUED)).movement
    assert (movement.season.shrink_mm, movement.season.swell_mm, movement.rail.gap_mm) == (0, 0, 0)
    assert movement.rail.side is None
    assert movement.verdict is Verdict.SOUND


# It changes with the climate, the hold, the pattern, the rails and the backing ----------------------------------------


def test_the_verdict_worsens_as_the_year_widens(exact):
    """One order, the climate alone widened."""
    frame = a_frame(hold=Hold.GLUED, species="wenge", grain=Grain.FLAT)
    found = [
        a_plan(exact, frame=frame, climate=ClimateRequest(low_rh_pct=low, high_rh_pct=high)).movement.verdict
        for low, high in ((47, 49), (45, 50), (30, 65))
    ]
    assert found == [Verdict.SOUND, Verdict.WATCH, Verdict.EXPECT_DAMAGE]


def test_a_field_glued_into_a_frame_is_expected_to_be_damaged_and_floating_it_is_sound(exact):
    """Nearly 5 mm a year in a stiff frame: the complaint makers hear most."""
    glued, floating = (a_plan(exact, frame=a_frame(hold=hold)) for hold in (Hold.GLUED, Hold.FLOATING))
    assert verdicts(glued)["glued-field"] is glued.movement.verdict is Verdict.EXPECT_DAMAGE
    assert set(verdicts(floating)) == {"floating-field", "mitre", "corners"}
    assert floating.movement.verdict is Verdict.SOUND


def test_turned_bars_are_to_be_watched_where_shifted_ones_are_sound(moosgrund):
    turned, shifted = (a_plan(moosgrund, columns=12, square_mm=40.0, pattern=pattern) for pattern in Pattern)
    assert (turned.movement.verdict, shifted.movement.verdict) == (Verdict.WATCH, Verdict.SOUND)


def test_flat_sawn_rails_are_to_be_watched_where_quarter_sawn_ones_are_sound(exact):
    year = ClimateRequest(low_rh_pct=32.0)
    flat, quarter = (
        a_plan(exact, frame=a_frame(species="wenge", grain=grain), climate=year)
        for grain in (Grain.FLAT, Grain.QUARTER)
    )
    assert (flat.movement.verdict, quarter.movement.verdict) == (Verdict.WATCH, Verdict.SOUND)


def test_a_backing_makes_a_damaged_board_one_to_watch(exact):
    base = BaseRequest(material="birch_plywood", thickness_mm=12.0)
    backed = replace(base, backing=BackingRequest(species="sycamore_maple", thickness_mm=6.0))
    found = [a_plan(exact, thickness_mm=10.0, base=each).movement for each in (base, backed)]
    assert [each.verdict for each in found] == [Verdict.EXPECT_DAMAGE, Verdict.WATCH]
    assert found[1].flatness.across_mm < found[0].flatness.across_mm


# Reason by reason -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("swing_mm", "verdict"),
    [(0.4, Verdict.SOUND), (0.5, Verdict.WATCH), (0.9, Verdict.WATCH), (1.0, Verdict.EXPECT_DAMAGE)],
)
def test_a_glued_field_forgives_half_a_millimetre(exact, tables, swing_mm, verdict):
    """Shrinking and swelling together; limits are common practice, no source."""
    plan = a_plan(exact, frame=a_frame(hold=Hold.GLUED, joint=Joint.BUTT))
    season = Swing(strips=plan.swing.strips, shrink_mm=swing_mm / 2, swell_mm=swing_mm / 2)
    field, frame = plan.order.field, plan.order.frame
    assert assess(field, frame, None, tables, plan.year, season, plan.accuracy).verdict is verdict


@pytest.mark.parametrize(
    ("width_mm", "verdict"), [(20.0, Verdict.SOUND), (40.0, Verdict.WATCH), (80.0, Verdict.EXPECT_DAMAGE)]
)
def test_wide_mitres_open_farther(exact, width_mm, verdict):
    """Flat-sawn wenge at 25 %: about 17 um of gap per mm. Limits 0.4 and 1.0 mm: common practice, no source."""
    frame = a_frame(species="wenge", grain=Grain.FLAT, width_mm=width_mm, hold=Hold.GLUED)
    plan = a_plan(exact, frame=frame, climate=ClimateRequest(low_rh_pct=25.0))
    limits = {Verdict.SOUND: (0, 0.4), Verdict.WATCH: (0.4, 1.0), Verdict.EXPECT_DAMAGE: (1.0, 9)}[verdict]
    assert limits[0] <= plan.movement.rail.gap_mm < limits[1]
    assert verdicts(plan)["mitre"] is verdict


def test_butt_corners_are_no_reason(exact):
    assert "mitre" not in verdicts(a_plan(exact, frame=a_frame(joint=Joint.BUTT)))


def test_a_groove_of_more_than_half_the_rail_is_to_be_watched(exact):
    """Deep grooves leave 8 mm behind them and yet take more than half: rails between deep + 8 and twice deep."""
    wild = ClimateRequest(low_rh_pct=15.0, high_rh_pct=80.0)
    deep_mm = a_plan(exact, frame=a_frame(), climate=wild).geometry.seat.tongue_mm
    assert deep_mm > 10
    narrow, wide = (
        a_plan(exact, frame=a_frame(width_mm=width_mm), climate=wild) for width_mm in (deep_mm + 8.5, 2 * deep_mm)
    )
    assert verdicts(narrow)["floating-field"] is Verdict.WATCH
    assert "more than half" in narrow.movement.reasons[0].text
    assert verdicts(wide)["floating-field"] is Verdict.SOUND


def test_a_base_under_the_rails_of_a_floating_field_is_sound(exact):
    plan = a_plan(exact, frame=a_frame(), base=MDF)
    assert verdicts(plan)["base"] is Verdict.SOUND


@pytest.mark.parametrize(("columns", "verdict"), [(2, Verdict.SOUND), (4, Verdict.WATCH), (8, Verdict.EXPECT_DAMAGE)])
def test_the_larger_bow_is_graded(exact, columns, verdict):
    """Limits 1 and 3 mm: common practice, no source."""
    plan = a_plan(exact, base=MDF, columns=columns, rows=2, climate=ClimateRequest(low_rh_pct=20.0))
    assert verdicts(plan)["bow"] is verdict


def test_a_long_narrow_board_is_graded_by_its_bow_along(exact):
    plan = a_plan(exact, base=MDF, columns=2, rows=16, climate=ClimateRequest(low_rh_pct=15.0))
    assert plan.movement.flatness.along_mm > plan.movement.flatness.across_mm
    assert plan.movement.reason("bow").at == ("movement", "bow_along_mm")


def test_the_worst_reason_decides(exact):
    plan = a_plan(exact, frame=a_frame(), base=replace(MDF, inset_mm=50.0))
    assert plan.movement.verdict is max(verdicts(plan).values(), key=list(Verdict).index)
    assert plan.movement.verdict is verdicts(plan)["bow"] is not Verdict.SOUND


def test_every_reason_names_the_number_it_rests_on_and_its_limits(exact):
    plan = a_plan(exact, frame=a_frame(hold=Hold.GLUED), base=MDF)
    for reason in plan.movement.reasons:
        limits = [limit for limit in (reason.watch_mm, reason.damage_mm) if limit is not None]
        assert sum(reason.value_mm >= limit for limit in limits) == reason.verdict.rank, reason.code
        assert (reason.excess >= 1) == (reason.verdict.rank > 0)


@pytest.mark.parametrize(
    ("thickness_mm", "verdict"), [(12.0, Verdict.SOUND), (11.9, Verdict.WATCH), (4.0, Verdict.EXPECT_DAMAGE)]
)
def test_a_thin_field_that_nothing_carries_is_graded_by_its_end_grain_joints(exact, thickness_mm, verdict):
    """WH10-10: a quarter of the wood's strength. Below 12 mm the trade flags it (common practice, no source)."""
    thin = altered(exact, ranges={"thickness": replace(exact.ranges.thickness, low_mm=3.0)})
    plan = a_plan(thin, thickness_mm=thickness_mm)
    assert verdicts(plan)["thin-field"] is verdict
    assert (plan.margin >= 2) is (verdict is not Verdict.EXPECT_DAMAGE)
    remedies = {remedy.code: remedy for remedy in plan.remedies}
    assert ("thicker-field" in remedies) is (verdict is not Verdict.SOUND)


@pytest.mark.parametrize("carried", [{"frame": a_frame()}, {"base": MDF}])
def test_a_field_in_a_frame_or_on_a_base_needs_no_strength_of_its_own(exact, carried):
    plan = a_plan(exact, **carried)
    assert plan.margin is None
    assert "thin-field" not in verdicts(plan)


# Advice ---------------------------------------------------------------------------------------------------------------


def test_every_reason_that_is_not_sound_is_advice(moosgrund):
    """Corners have their own, for the workshop, beside the sizes."""
    movement = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED)).movement
    assert {advice.code: advice.severity for advice in movement.advice} == {"movement-glued-field": Severity.WARNING}


def test_moisture_beyond_the_coefficients_is_said(exact):
    dry = a_plan(exact, climate=ClimateRequest(low_rh_pct=12.0)).movement
    damp = a_plan(exact, climate=ClimateRequest(high_rh_pct=85.0)).movement
    assert [advice.at for advice in dry.advice] == [("movement", "emc_low_pct")]
    assert [advice.at for advice in damp.advice] == [("movement", "emc_high_pct")]
    assert "6 to 14 %" in dry.advice[0].text


def test_estimated_stiffness_is_said_where_a_bow_rests_on_it(exact, tables):
    plan = a_plan(exact, base=MDF)
    estimated = [
        key for key in (plan.order.field.light, plan.order.field.dark) if tables.species[key].ratio_radial is None
    ]
    found = [advice for advice in plan.movement.advice if advice.code == "stiffness-estimated"]
    assert len(found) == 1
    assert all(tables.species[key].name in found[0].text for key in estimated)
    assert "stiffness-estimated" not in {advice.code for advice in a_plan(exact).movement.advice}


def test_a_sheet_beyond_its_table_is_said_and_plywood_has_none(exact):
    """EWPAA p. 37: 30 to 90 %."""
    dry = ClimateRequest(low_rh_pct=25.0)
    for base, said in ((MDF, True), (replace(MDF, material="birch_plywood"), False)):
        codes = {advice.code for advice in a_plan(exact, base=base, climate=dry).movement.advice}
        assert ("sheet-beyond-table" in codes) is said
    assert "sheet-beyond-table" not in {advice.code for advice in a_plan(exact, base=MDF).movement.advice}


def test_a_timber_that_moves_more_elsewhere_than_the_band_takes_in_is_said(exact, tables):
    """WOOD-NOTES 2.3: sources that differ by more than a quarter, such as GDH and the Handbook on teak."""
    said = {}
    for key, species in tables.species.items():
        shop = replace(
            exact, lumber={**exact.lumber, key: replace(exact.lumber["pear"], species=key, grain=Grain.FLAT)}
        )
        dark = "pear" if key != "pear" else "wenge"
        found = a_plan(shop, light=key, dark=dark).movement.advice
        said[key] = any(each.code == "livelier-elsewhere" and species.name in each.text for each in found)
    more = {
        key: species.second.c_tangential / species.c_tangential
        for key, species in tables.species.items()
        if species.second
    }
    assert {key for key, told in said.items() if told} == {key for key, ratio in more.items() if ratio > 1.25}
    assert said["teak"]


def test_the_clearance_shown_is_the_one_laid_out(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame())
    assert plan.movement.seat == plan.geometry.seat
    assert plan.geometry.opening.width_mm - plan.geometry.inner.width_mm == pytest.approx(
        2 * plan.movement.seat.clearance_mm
    )


# Under a lip ----------------------------------------------------------------------------------------------------------


def test_a_lip_that_hides_part_of_the_squares_is_to_be_watched_and_told_two_ways_out(exact):
    """TRADE-FRAME: a tongue below the surface, or a border wider than the lap."""
    plan = a_plan(exact, frame=a_frame(edge=Edge.LIP))
    reason = plan.movement.reason("edge-squares")
    assert (reason.verdict, reason.value_mm) == (Verdict.WATCH, plan.geometry.hidden_mm)
    ways = {remedy.code: remedy for remedy in plan.remedies}
    assert {"tongue", "wider-border"} <= set(ways)
    assert ways["tongue"].then_mm == ways["wider-border"].then_mm == 0.0
    (line,) = ways["wider-border"].changes["field", "lines"]
    assert line.width_mm >= reason.value_mm


def test_a_lip_over_a_line_alone_is_sound(exact):
    plan = a_plan(exact, frame=a_frame(edge=Edge.LIP), lines=(Line(species="pear", width_mm=8.0),))
    assert verdicts(plan)["edge-squares"] is Verdict.SOUND
