"""What the seasons do to widths: one piece, the field strip by strip, the rails, and the groove of a floating field."""

import itertools
from dataclasses import replace

import pytest
from builders import a_frame, a_plan, altered, an_order

from chequerwork.domain.basics.errors import OutsideValidity
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import Edge, Hold, Joint, Line
from chequerwork.domain.order.request import ClimateRequest, GrainRequest
from chequerwork.domain.wood.movement import (
    BAND,
    GLUED_SEAT,
    Air,
    Moisture,
    Swing,
    Year,
    change_by_coefficient_mm,
    change_by_shrinkage_mm,
    change_mm,
    groove_fault,
    mitre_gap_mm,
    rail_change,
    seat,
    strain,
    swing,
    year_of,
)

STEADY = ClimateRequest(low_rh_pct=48.0, high_rh_pct=48.0, temperature_c=19.0)  # the workshop's own room


def season(*, shrink_mm=0.0, swell_mm=0.0):
    return Swing(strips=(), shrink_mm=shrink_mm, swell_mm=swell_mm)


def changes(order, shop, tables):
    """Shrinking and swelling of the field in the order's own year."""
    found = swing(order.field, shop.lumber, year_of(order.climate, shop.workshop_climate, tables))
    return found.shrink_mm, found.swell_mm


# One piece ------------------------------------------------------------------------------------------------------------


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


def test_a_mitre_of_unmoved_rails_has_no_gap():
    assert mitre_gap_mm(width_mm=60, strain=0.0) == 0.0


# The field ------------------------------------------------------------------------------------------------------------


def test_strips_and_lines_side_by_side_add(moosgrund, tables):
    """Four strips of each timber and two lines of 3 mm; the other direction does not move."""
    order = an_order(moosgrund, rows=12, lines=(Line(species="wenge", width_mm=3.0),))
    maple, walnut, wenge = (tables.species[key] for key in ("sycamore_maple", "european_walnut", "wenge"))
    mean_walnut = (walnut.c_radial + walnut.c_tangential) / 2  # bought with mixed grain
    year = year_of(order.climate, moosgrund.workshop_climate, tables)
    up_pct = year.moisture.high_pct - year.moisture.build_pct
    assert 6 < year.moisture.build_pct < year.moisture.high_pct < 14
    expected = up_pct * (4 * 48 * maple.c_tangential + 4 * 48 * mean_walnut + 2 * 3 * wenge.c_radial)
    found = swing(order.field, moosgrund.lumber, year)
    assert found.swell_mm == pytest.approx(expected)
    assert [(part.role, part.pieces, part.width_mm) for part in found.strips] == [
        ("light", 4, 48.0), ("dark", 4, 48.0), ("line", 2, 3.0),
    ]  # fmt: skip
    assert sum(part.change_mm.damp for part in found.strips) == pytest.approx(found.swell_mm)


def test_the_odd_strip_is_taken_to_be_of_the_livelier_timber(moosgrund, tables):
    order = an_order(moosgrund, columns=9)
    turned_round = an_order(moosgrund, columns=9, light=order.field.dark, dark=order.field.light)
    year = year_of(order.climate, moosgrund.workshop_climate, tables)
    assert year.strain("sycamore_maple", Grain.FLAT).damp > year.strain("european_walnut", Grain.MIXED).damp
    for asked in (order, turned_round):
        pieces = {part.species: part.pieces for part in swing(asked.field, moosgrund.lumber, year).strips}
        assert pieces == {"sycamore_maple": 5, "european_walnut": 4}


def test_squares_are_sawn_as_the_shop_buys_them_unless_the_order_says(moosgrund, tables):
    as_bought, quarter = (
        an_order(moosgrund, grain=grain) for grain in (None, GrainRequest(light=Grain.QUARTER, dark=Grain.QUARTER))
    )
    assert (as_bought.field.light_grain, as_bought.field.dark_grain) == (Grain.FLAT, Grain.MIXED)
    assert sum(changes(quarter, moosgrund, tables)) < 0.8 * sum(changes(as_bought, moosgrund, tables))


def test_swing_runs_from_the_day_it_is_built(moosgrund, tables):
    """Built at 48 % and 19 degC, lived with at 32 to 62 % and 21 degC."""
    order = an_order(moosgrund)
    year = year_of(order.climate, moosgrund.workshop_climate, tables)
    assert year.moisture.low_pct < year.moisture.build_pct < year.moisture.high_pct
    found = swing(order.field, moosgrund.lumber, year)
    assert min(found.shrink_mm, found.swell_mm) > 1
    assert found.total_mm == found.shrink_mm + found.swell_mm
    assert found.band_mm == pytest.approx(0.25 * max(found.shrink_mm, found.swell_mm))


def test_a_wider_year_moves_the_field_more(moosgrund, tables):
    totals = [
        sum(changes(an_order(moosgrund, climate=ClimateRequest(low_rh_pct=low, high_rh_pct=high)), moosgrund, tables))
        for low, high in ((45, 50), (40, 55), (30, 60), (20, 70), (10, 80))
    ]
    assert totals == sorted(totals)
    assert totals[0] < 1
    assert totals[-1] > 10


def test_a_shop_with_two_humidities_builds_at_their_middle(willet_slough, tables):
    steady = altered(willet_slough, workshop_climate={"low_rh_pct": 45.0, "high_rh_pct": 45.0})
    order = an_order(willet_slough)
    assert changes(order, willet_slough, tables) == changes(order, steady, tables)


def test_a_customer_drier_than_the_workshop_all_year_sees_no_swelling(moosgrund):
    found = a_plan(moosgrund, climate=ClimateRequest(low_rh_pct=20.0, high_rh_pct=30.0)).swing
    assert found.swell_mm == 0
    assert found.shrink_mm > 3


def test_a_customer_damper_than_the_workshop_all_year_sees_no_shrinking(moosgrund):
    found = a_plan(moosgrund, climate=ClimateRequest(low_rh_pct=65.0, high_rh_pct=75.0)).swing
    assert found.shrink_mm == 0
    assert found.swell_mm > 3


# The groove -----------------------------------------------------------------------------------------------------------


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
    found = seat(an_order(frame=a_frame()).frame, season(**given))
    assert found == pytest.approx((clearance_mm, tongue_mm, 0.0))


def test_a_lip_laps_over_what_lies_in_the_groove():
    """The groove is the same; its clearance is free at the bottom, the rest is under the lip."""
    year = season(swell_mm=4.0, shrink_mm=4.0)
    tongue, lip = (seat(an_order(frame=a_frame(edge=edge, thickness_mm=24.0)).frame, year) for edge in Edge)
    assert lip == pytest.approx((2.5, 8.0, 5.5))
    assert tongue[:2] == lip[:2]
    assert (tongue.gap_mm, lip.gap_mm) == (2.5, -5.5)
    assert (tongue.added_mm, lip.added_mm) == (8.0, 0.0)


@pytest.mark.parametrize("frame", [None, a_frame(hold=Hold.GLUED)])
def test_a_field_that_does_not_float_has_no_seat(frame):
    assert seat(an_order(frame=frame).frame, season(swell_mm=4.0, shrink_mm=9.0)) == GLUED_SEAT


def test_the_driest_season_never_pulls_the_tongue_out(moosgrund):
    """Half of the shrinking on each side, a quarter beyond it, and still 3 mm in the groove."""
    for low_rh_pct in (5.0, 15.0, 25.0, 35.0):
        plan = a_plan(moosgrund, frame=a_frame(), climate=ClimateRequest(low_rh_pct=low_rh_pct))
        clearance_mm, tongue_mm, _ = plan.geometry.seat
        assert clearance_mm >= plan.swing.swell_mm / 2 * 1.25
        # It once forgot that the tongue must first reach the rail.
        assert tongue_mm - clearance_mm - plan.swing.shrink_mm / 2 * 1.25 >= 3.0 - 1e-9


def test_eight_millimetres_of_rail_must_stand_behind_the_groove():
    frame = an_order(frame=a_frame()).frame
    narrow = replace(frame, width_mm=16.4)
    year = season(shrink_mm=8.0)  # a tongue of 8.5 mm
    fault = groove_fault(narrow, seat(narrow, year))
    assert fault.at == ("frame", "width")
    assert "8.5 mm deep" in fault.detail
    assert "at least 17 mm" in fault.detail
    assert groove_fault(replace(frame, width_mm=16.5), seat(frame, year)) is None


def test_a_glued_field_needs_no_groove():
    order = an_order(frame=a_frame(hold=Hold.GLUED, width_mm=15.0))
    assert groove_fault(order.frame, seat(order.frame, season(swell_mm=9.0, shrink_mm=9.0))) is None


# Rails ----------------------------------------------------------------------------------------------------------------


def rail(shop, tables, *, climate=None, **frame):
    order = an_order(shop, frame=a_frame(shop, **frame), climate=climate)
    return rail_change(order.frame, year_of(order.climate, shop.workshop_climate, tables))


def test_without_a_frame_there_is_no_rail(moosgrund, tables):
    order = an_order(moosgrund)
    assert rail_change(order.frame, year_of(order.climate, moosgrund.workshop_climate, tables)) is None


def test_mitres_open_inside_where_drying_is_the_worse_season(moosgrund, tables):
    found = rail(moosgrund, tables, climate=ClimateRequest(low_rh_pct=15.0))
    assert found.side == "inside"
    assert found.gap_mm == found.gap_inside_mm > found.gap_outside_mm > 0


def test_mitres_open_outside_where_swelling_is_the_worse_season(moosgrund, tables):
    found = rail(moosgrund, tables, climate=ClimateRequest(high_rh_pct=80.0))
    assert found.side == "outside"
    assert found.gap_mm == found.gap_outside_mm > found.gap_inside_mm > 0


def test_a_mitre_that_only_ever_dries_does_not_open_outside(moosgrund, tables):
    found = rail(moosgrund, tables, climate=ClimateRequest(low_rh_pct=20.0, high_rh_pct=30.0))
    assert (found.side, found.gap_outside_mm, found.swell_mm) == ("inside", 0.0, 0.0)


def test_gaps_are_those_of_the_rails_own_change(moosgrund, tables):
    found = rail(moosgrund, tables, width_mm=45.0)
    assert found.gap_inside_mm == pytest.approx(2**0.5 * found.shrink_mm)
    assert found.shrink_mm == pytest.approx(-45.0 * found.strain.dry)


def test_butt_corners_have_no_mitre_to_open(moosgrund, tables):
    found = rail(moosgrund, tables, joint=Joint.BUTT)
    assert (found.gap_mm, found.side) == (0.0, None)
    assert found.shrink_mm > 0


def test_quarter_sawn_rails_open_less_than_flat_sawn_ones(moosgrund, tables):
    gaps = [
        rail(moosgrund, tables, species="wenge", grain=grain).gap_mm
        for grain in (Grain.QUARTER, Grain.MIXED, Grain.FLAT)
    ]
    assert gaps == sorted(gaps)
    assert gaps[0] < gaps[-1]


def test_rails_are_sawn_as_the_shop_buys_them_unless_the_order_says(moosgrund, tables):
    as_bought = rail(moosgrund, tables, species="wenge")
    assert as_bought == rail(moosgrund, tables, species="wenge", grain=Grain.QUARTER)


# The year -------------------------------------------------------------------------------------------------------------


def test_a_year_works_each_timber_out_once_and_as_one_piece_would_be(tables):
    year = Year(tables, Air(20.0, 45.0), Air(20.0, 30.0), Air(20.0, 65.0))
    pear = tables.species["pear"]
    assert year.strain("pear", Grain.FLAT) == strain(pear, Grain.FLAT, year.moisture)
    assert year.strain("pear", Grain.FLAT) is year.strain("pear", Grain.FLAT)


def test_strain_is_the_change_of_one_millimetre(tables):
    oak, moisture = tables.species["european_oak"], Moisture(8.0, 5.0, 16.0)
    found = strain(oak, Grain.QUARTER, moisture)
    for change, to_pct in zip(found, (5.0, 16.0), strict=True):
        per_300 = change_mm(width_mm=300, species=oak, grain=Grain.QUARTER, from_pct=8.0, to_pct=to_pct)
        assert change * 300 == pytest.approx(per_300)


def test_the_band_is_a_quarter():
    """WOOD-NOTES 2.3: published coefficients of one timber differ by about 25 %."""
    assert BAND == 0.25
