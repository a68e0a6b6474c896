"""What the seasons do: change of width, the mitre, the bow, the groove, and the verdict on a construction."""

import itertools
from dataclasses import replace

import pytest
from builders import a_frame, a_plan, altered, an_order

from chequerwork.domain.advice import Severity
from chequerwork.domain.errors import OutsideValidity
from chequerwork.domain.facts import Grain
from chequerwork.domain.movement import (
    GLUED_SEAT,
    Layer,
    Swing,
    Verdict,
    assess,
    change_by_coefficient_mm,
    change_by_shrinkage_mm,
    change_mm,
    curvature,
    groove_fault,
    inner_change_mm,
    mitre_gap_mm,
    seat,
    swing,
)
from chequerwork.domain.order import Backing, Base, ClimateWish, Hold, Joint, Line

STEADY = ClimateWish(low_rh_pct=48.0, high_rh_pct=48.0, temperature_c=19.0)  # the workshop's own room


def season(*, shrink_mm=0.0, swell_mm=0.0):
    return Swing(
        emc_build_pct=9.0, emc_low_pct=7.0, emc_high_pct=11.0, shrink_mm=shrink_mm, swell_mm=swell_mm, band_mm=0.0
    )


# One piece --------------------------------------------------------------------------------------------------------


def test_wood_that_keeps_its_moisture_keeps_its_width(tables):
    pear = tables.species["pear"]
    for mc in (0.0, 5.0, 6.0, 9.0, 14.0, 22.0, 30.0):
        assert change_mm(width_mm=300, species=pear, grain=Grain.FLAT, from_pct=mc, to_pct=mc) == 0


@pytest.mark.parametrize(("from_pct", "to_pct"), [(5.9, 8.0), (8.0, 14.1), (14.5, 15.0)])
def test_coefficient_form_is_refused_outside_6_to_14_percent(from_pct, to_pct):
    with pytest.raises(OutsideValidity, match="6 to 14"):
        change_by_coefficient_mm(width_mm=100, coefficient=0.003, from_pct=from_pct, to_pct=to_pct)


@pytest.mark.parametrize(("from_pct", "to_pct"), [(-0.1, 8.0), (8.0, 30.1)])
def test_shrinkage_form_is_refused_outside_0_to_30_percent(from_pct, to_pct):
    with pytest.raises(OutsideValidity, match="0 to 30"):
        change_by_shrinkage_mm(width_mm=100, shrinkage_pct=8.0, from_pct=from_pct, to_pct=to_pct)


def test_inside_the_band_the_coefficient_decides(tables):
    pear = tables.species["pear"]
    changed = change_mm(width_mm=300, species=pear, grain=Grain.QUARTER, from_pct=7, to_pct=12)
    assert changed == change_by_coefficient_mm(width_mm=300, coefficient=pear.c_radial, from_pct=7, to_pct=12)


def test_outside_the_band_the_shrinkage_decides(tables):
    pear = tables.species["pear"]
    changed = change_mm(width_mm=300, species=pear, grain=Grain.FLAT, from_pct=5, to_pct=3)
    expected = change_by_shrinkage_mm(width_mm=300, shrinkage_pct=pear.shrink_tangential_pct, from_pct=5, to_pct=3)
    assert changed == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("from_pct", "to_pct"), [(4, 9), (9, 4), (10, 18), (18, 10), (3, 20), (20, 3)])
def test_a_way_across_the_band_is_walked_in_pieces(tables, from_pct, to_pct):
    """The result is the same whether the way is taken at once or with a stop at each end of the band."""
    oak = tables.species["european_oak"]
    stops = [stop for stop in (6, 14) if min(from_pct, to_pct) < stop < max(from_pct, to_pct)]
    path = [from_pct, *sorted(stops, reverse=to_pct < from_pct), to_pct]
    width_mm = 300.0
    for start, end in itertools.pairwise(path):
        width_mm += change_mm(width_mm=width_mm, species=oak, grain=Grain.FLAT, from_pct=start, to_pct=end)
    at_once = change_mm(width_mm=300, species=oak, grain=Grain.FLAT, from_pct=from_pct, to_pct=to_pct)
    assert at_once == pytest.approx(width_mm - 300)


@pytest.mark.parametrize("edge", [6.0, 14.0])
def test_there_is_no_step_at_the_ends_of_the_band(tables, edge):
    ash = tables.species["european_ash"]
    below, above = (
        change_mm(width_mm=300, species=ash, grain=Grain.FLAT, from_pct=10, to_pct=edge + side)
        for side in (-1e-6, 1e-6)
    )
    assert abs(above - below) < 1e-5


def test_one_layer_alone_stays_flat():
    assert curvature([Layer(12.0, 2500.0, 0.01)]) == pytest.approx(0, abs=1e-15)


def test_the_longer_layer_is_on_the_convex_side():
    long_above = [Layer(6, 1000, 0.0), Layer(6, 1000, 0.01)]
    assert curvature(long_above) > 0 > curvature(long_above[::-1])


def test_a_mitre_of_unmoved_rails_has_no_gap():
    assert mitre_gap_mm(width_mm=60, strain=0.0) == 0.0


# The field --------------------------------------------------------------------------------------------------------


def test_strips_and_lines_side_by_side_add(moosgrund, tables):
    """Four strips of each timber and two lines of 3 mm; the other direction does not move."""
    order = an_order(moosgrund, rows=12, lines=(Line(species="wenge", width_mm=3.0),))
    maple, walnut, wenge = (tables.species[key] for key in ("sycamore_maple", "european_walnut", "wenge"))
    mean_walnut = (walnut.c_radial + walnut.c_tangential) / 2  # bought with mixed grain
    expected = 3 * (4 * 48 * maple.c_tangential + 4 * 48 * mean_walnut + 2 * 3 * wenge.c_radial)
    assert inner_change_mm(order, moosgrund, tables, 8.0, 11.0) == pytest.approx(expected)


def test_the_odd_strip_is_taken_to_be_of_the_livelier_timber(moosgrund, tables):
    order = an_order(moosgrund, columns=9)
    maple, walnut = (tables.species[key] for key in ("sycamore_maple", "european_walnut"))
    lively, calm = maple.c_tangential, (walnut.c_radial + walnut.c_tangential) / 2
    assert lively > calm
    expected = 2 * 48 * (5 * lively + 4 * calm)
    assert inner_change_mm(order, moosgrund, tables, 8.0, 10.0) == pytest.approx(expected)


def test_swing_runs_from_the_day_it_is_built(moosgrund, tables):
    """Built at 48 % and 19 degC, lived with at 32 to 62 % and 21 degC."""
    order = an_order(moosgrund)
    found = swing(order, moosgrund, tables)
    assert found.emc_low_pct < found.emc_build_pct < found.emc_high_pct
    down = inner_change_mm(order, moosgrund, tables, found.emc_build_pct, found.emc_low_pct)
    up = inner_change_mm(order, moosgrund, tables, found.emc_build_pct, found.emc_high_pct)
    assert (found.shrink_mm, found.swell_mm) == (-down, up)
    assert found.band_mm == pytest.approx(0.25 * max(-down, up))


def test_a_shop_with_two_humidities_builds_at_their_middle(willet_slough, tables):
    steady = altered(willet_slough, workshop_climate={"low_rh_pct": 45.0, "high_rh_pct": 45.0})
    order = an_order(willet_slough)
    assert swing(order, willet_slough, tables) == swing(order, steady, tables)


def test_a_board_that_lives_in_its_workshop_does_not_move(moosgrund):
    movement = a_plan(moosgrund, climate=STEADY, frame=a_frame(hold=Hold.GLUED)).movement
    assert (movement.swing.shrink_mm, movement.swing.swell_mm, movement.mitre_gap_mm) == (0, 0, 0)
    assert movement.mitre_side is None
    assert movement.verdict is Verdict.SOUND


def test_a_customer_drier_than_the_workshop_all_year_sees_no_swelling(moosgrund):
    found = a_plan(moosgrund, climate=ClimateWish(low_rh_pct=20.0, high_rh_pct=30.0)).swing
    assert found.swell_mm == 0
    assert found.shrink_mm > 3


def test_a_customer_damper_than_the_workshop_all_year_sees_no_shrinking(moosgrund):
    found = a_plan(moosgrund, climate=ClimateWish(low_rh_pct=65.0, high_rh_pct=75.0)).swing
    assert found.shrink_mm == 0
    assert found.swell_mm > 3


# The groove -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "clearance_mm", "tongue_mm"),
    [
        ({}, 0.5, 6.0),  # what assembly and a tongue need at least
        ({"swell_mm": 0.8}, 0.5, 6.0),
        ({"swell_mm": 4.0}, 2.5, 6.0),  # half of it, and a quarter more
        ({"swell_mm": 4.1}, 2.6, 6.0),  # 2.5625, up to a tenth
        ({"shrink_mm": 4.0}, 0.5, 6.0),  # exactly 3 mm held: 0.5 to bridge, half of it and a quarter more
        ({"shrink_mm": 8.0}, 0.5, 8.5),
        ({"shrink_mm": 8.1}, 0.5, 8.6),  # 8.5625, up to a tenth
        ({"swell_mm": 4.0, "shrink_mm": 4.0}, 2.5, 8.0),
    ],
)
def test_clearance_waits_for_the_swelling_and_the_tongue_for_the_shrinking(given, clearance_mm, tongue_mm):
    found = seat(an_order(frame=a_frame()), season(**given))
    assert found == pytest.approx((clearance_mm, tongue_mm))


@pytest.mark.parametrize("frame", [None, a_frame(hold=Hold.GLUED)])
def test_a_field_that_does_not_float_has_no_seat(frame):
    assert seat(an_order(frame=frame), season(swell_mm=4.0, shrink_mm=9.0)) == GLUED_SEAT


def test_the_driest_season_never_pulls_the_tongue_out(moosgrund):
    """Half of the shrinking on each side, a quarter beyond it, and still 3 mm in the groove."""
    for low_rh_pct in (5.0, 15.0, 25.0, 35.0):
        plan = a_plan(moosgrund, frame=a_frame(), climate=ClimateWish(low_rh_pct=low_rh_pct))
        clearance_mm, tongue_mm = plan.geometry.seat
        assert clearance_mm >= plan.swing.swell_mm / 2 * 1.25
        # It once forgot that the tongue must first reach the rail.
        assert tongue_mm - clearance_mm - plan.swing.shrink_mm / 2 * 1.25 >= 3.0 - 1e-9


def test_eight_millimetres_of_rail_must_stand_behind_the_groove():
    order = an_order(frame=a_frame())
    narrow = replace(order, frame=replace(order.frame, width_mm=16.4))
    year = season(shrink_mm=8.0)  # a tongue of 8.5 mm
    fault = groove_fault(narrow, year)
    assert fault.at == ("frame", "width")
    assert "8.5 mm deep" in fault.detail
    assert "at least 17 mm" in fault.detail
    assert groove_fault(replace(order, frame=replace(order.frame, width_mm=16.5)), year) is None


def test_a_glued_field_needs_no_groove():
    order = an_order(frame=a_frame(hold=Hold.GLUED, width_mm=15.0))
    assert groove_fault(order, season(swell_mm=9.0, shrink_mm=9.0)) is None


# Mitre and bow ----------------------------------------------------------------------------------------------------


def test_mitres_open_inside_where_drying_is_the_worse_season(moosgrund):
    movement = a_plan(moosgrund, frame=a_frame(), climate=ClimateWish(low_rh_pct=15.0)).movement
    assert movement.mitre_side == "inside"


def test_mitres_open_outside_where_swelling_is_the_worse_season(moosgrund):
    movement = a_plan(moosgrund, frame=a_frame(), climate=ClimateWish(high_rh_pct=80.0)).movement
    assert movement.mitre_side == "outside"


def test_butt_corners_have_no_mitre_to_open(moosgrund):
    movement = a_plan(moosgrund, frame=a_frame(joint=Joint.BUTT)).movement
    assert (movement.mitre_gap_mm, movement.mitre_side) == (0.0, None)
    assert "mitre" not in {reason.code for reason in movement.reasons}


def test_quarter_sawn_rails_open_less_than_flat_sawn_ones(moosgrund):
    gaps = [
        a_plan(moosgrund, frame=a_frame(species="wenge", grain=grain)).movement.mitre_gap_mm
        for grain in (Grain.QUARTER, Grain.MIXED, Grain.FLAT)
    ]
    assert gaps == sorted(gaps)
    assert gaps[0] < gaps[-1]


def test_rails_are_sawn_as_the_shop_buys_them_unless_the_order_says(moosgrund):
    as_bought = a_plan(moosgrund, frame=a_frame(species="wenge")).movement
    quarter = a_plan(moosgrund, frame=a_frame(species="wenge", grain=Grain.QUARTER)).movement
    assert as_bought.mitre_gap_mm == quarter.mitre_gap_mm


def test_without_a_base_nothing_bows(moosgrund):
    assert a_plan(moosgrund).movement.bow_mm == 0.0


def test_a_balancing_layer_on_the_back_takes_most_of_the_bow(moosgrund):
    """Not all: the backing is thinner than the field."""
    base = Base(material="mdf", thickness_mm=9.0)
    backed = replace(base, backing=Backing(species="sycamore_maple", thickness_mm=6.0))
    plain = a_plan(moosgrund, thickness_mm=10.0, base=base).movement.bow_mm
    assert 0 < a_plan(moosgrund, thickness_mm=10.0, base=backed).movement.bow_mm < 0.7 * plain


def test_bow_grows_with_the_square_of_the_width(moosgrund):
    base = Base(material="mdf", thickness_mm=9.0)
    narrow, wide = (a_plan(moosgrund, columns=columns, base=base).movement.bow_mm for columns in (4, 8))
    assert wide == pytest.approx(4 * narrow)


# The verdict ------------------------------------------------------------------------------------------------------


def verdicts(plan):
    return {reason.code: reason.verdict for reason in plan.movement.reasons}


def test_a_bare_board_is_sound_for_no_reason(moosgrund):
    movement = a_plan(moosgrund).movement
    assert (movement.verdict, movement.reasons) == (Verdict.SOUND, ())


def test_a_field_glued_into_a_frame_is_expected_to_be_damaged(moosgrund):
    """Nearly 5 mm a year in a stiff frame: the complaint makers hear most."""
    plan = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED))
    assert verdicts(plan)["glued-field"] is Verdict.EXPECT_DAMAGE
    assert plan.movement.verdict is Verdict.EXPECT_DAMAGE


def test_the_same_field_floating_is_sound(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame())
    assert verdicts(plan) == {"floating-field": Verdict.SOUND, "mitre": Verdict.SOUND}


def test_a_groove_of_more_than_half_the_rail_is_to_be_watched(moosgrund):
    """Deep grooves leave 8 mm behind them and yet take more than half: rails between deep + 8 and twice deep."""
    wild = ClimateWish(low_rh_pct=15.0, high_rh_pct=80.0)
    deep_mm = a_plan(moosgrund, frame=a_frame(), climate=wild).geometry.seat.tongue_mm
    assert deep_mm > 10
    narrow, wide = (
        a_plan(moosgrund, frame=a_frame(width_mm=width_mm), climate=wild) for width_mm in (deep_mm + 8.5, 2 * deep_mm)
    )
    assert verdicts(narrow)["floating-field"] is Verdict.WATCH
    assert "more than half" in narrow.movement.reasons[0].text
    assert verdicts(wide)["floating-field"] is Verdict.SOUND


@pytest.mark.parametrize(
    ("swing_mm", "verdict"),
    [(0.4, Verdict.SOUND), (0.5, Verdict.WATCH), (0.9, Verdict.WATCH), (1.0, Verdict.EXPECT_DAMAGE)],
)
def test_a_glued_field_forgives_half_a_millimetre(moosgrund, tables, swing_mm, verdict):
    """Shrinking and swelling together; limits are common practice, no source."""
    plan = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED, joint=Joint.BUTT))
    year = season(shrink_mm=swing_mm / 2, swell_mm=swing_mm / 2)
    assert assess(plan.order, moosgrund, tables, plan.geometry, year).verdict is verdict


@pytest.mark.parametrize(
    ("width_mm", "verdict"), [(20.0, Verdict.SOUND), (40.0, Verdict.WATCH), (80.0, Verdict.EXPECT_DAMAGE)]
)
def test_wide_mitres_open_farther(moosgrund, width_mm, verdict):
    """Flat-sawn wenge at 25 %: about 17 um of gap per mm. Limits 0.4 and 1.0 mm: common practice, no source."""
    frame = a_frame(species="wenge", grain=Grain.FLAT, width_mm=width_mm, hold=Hold.GLUED)
    plan = a_plan(moosgrund, frame=frame, climate=ClimateWish(low_rh_pct=25.0))
    gap_mm = plan.movement.mitre_gap_mm
    limits = {Verdict.SOUND: (0, 0.4), Verdict.WATCH: (0.4, 1.0), Verdict.EXPECT_DAMAGE: (1.0, 9)}[verdict]
    assert limits[0] <= gap_mm < limits[1]
    assert verdicts(plan)["mitre"] is verdict


def test_the_worst_reason_decides(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame(), base=Base(material="mdf", thickness_mm=9.0, inset_mm=50.0))
    assert plan.movement.verdict is max(verdicts(plan).values(), key=list(Verdict).index)
    assert plan.movement.verdict is verdicts(plan)["bow"] is not Verdict.SOUND


def test_every_reason_that_is_not_sound_is_advice(moosgrund):
    movement = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED)).movement
    assert {advice.code: advice.severity for advice in movement.advice} == {"movement-glued-field": Severity.WARNING}


def test_moisture_beyond_the_coefficients_is_said(moosgrund):
    dry = a_plan(moosgrund, climate=ClimateWish(low_rh_pct=12.0)).movement
    damp = a_plan(moosgrund, climate=ClimateWish(high_rh_pct=85.0)).movement
    assert [advice.at for advice in dry.advice] == [("movement", "emc_low_pct")]
    assert [advice.at for advice in damp.advice] == [("movement", "emc_high_pct")]
    assert "6 to 14 %" in dry.advice[0].text


def test_the_clearance_shown_is_the_one_laid_out(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame())
    assert plan.movement.groove_clearance_mm == plan.geometry.seat.clearance_mm
    assert plan.geometry.opening.width_mm - plan.geometry.inner.width_mm == pytest.approx(
        2 * plan.movement.groove_clearance_mm
    )
