"""Sizes of a board, worked out by hand; fit of the pieces; where a base sits; mass."""

from dataclasses import replace

import builders
import pytest
from builders import a_frame, a_plan, altered, an_order

from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.board.fit import fit
from chequerwork.domain.board.geometry import GLUED_SEAT, Rect, Seat, base_is_inside, grow, height_mm
from chequerwork.domain.order.order import ChessPieces, DraughtsMan, Edge, Hold, Joint, Line, Skirt
from chequerwork.domain.order.request import BackingRequest, BaseRequest

LINES = (Line(species="pear", width_mm=3.0), Line(species="wenge", width_mm=2.0))


@pytest.fixture
def laid_out(moosgrund, tables):
    """Geometry of the small request after changes, its field glued or in the given seat."""

    def geometry(*, seat=GLUED_SEAT, **changes):
        return builders.laid_out(an_order(moosgrund, **changes), moosgrund, tables, seat=seat)

    return geometry


# Sizes ----------------------------------------------------------------------------------------------------------------


def test_a_bare_board_is_its_field(laid_out):
    geometry = laid_out(columns=6, rows=10)
    assert geometry.field == geometry.inner == geometry.opening == geometry.overall
    assert geometry.field == Rect(length_mm=480.0, width_mm=288.0)
    assert geometry.rails == ()
    assert geometry.base is None


def test_diagonal_is_corner_to_corner(laid_out):
    assert laid_out(columns=6, rows=8, square_mm=50.0).field.diagonal_mm == pytest.approx(500.0)


def test_lines_clearance_and_frame_add_on_both_sides(laid_out):
    """384 + 2 x 5 lines, + 2 x 1.5 clearance, + 2 x 45 rail."""
    geometry = laid_out(lines=LINES, frame=a_frame(), seat=Seat(1.5, 6.0))
    assert geometry.field.width_mm == 384.0
    assert geometry.inner.width_mm == 394.0
    assert geometry.opening.width_mm == 397.0
    assert geometry.overall.width_mm == 487.0


def test_lines_without_a_frame_are_the_board_edge(laid_out):
    assert laid_out(lines=LINES).overall == Rect(length_mm=394.0, width_mm=394.0)


def test_growing_by_a_negative_border_shrinks():
    assert grow(Rect(length_mm=10.0, width_mm=6.0), -2.0) == Rect(length_mm=6.0, width_mm=2.0)


def test_a_corner_colour_has_one_square_more_on_an_odd_board(laid_out):
    even, odd = laid_out(), laid_out(columns=9, rows=9)
    assert (even.light_squares, even.dark_squares) == (32, 32)
    assert (odd.light_squares, odd.dark_squares) == (41, 40)


# Rails ----------------------------------------------------------------------------------------------------------------


def test_mitred_rails_run_from_outer_to_outer_corner(laid_out):
    """Opening 480 x 288, rails of 45: long points 570 and 378, short points the opening."""
    along, across = laid_out(columns=6, rows=10, frame=a_frame(hold=Hold.GLUED)).rails
    assert (along.side, along.count, along.long_point_mm, along.short_point_mm) == ("length", 2, 570.0, 480.0)
    assert (across.side, across.count, across.long_point_mm, across.short_point_mm) == ("width", 2, 378.0, 288.0)


def test_butt_rails_along_the_length_run_through_and_the_others_stand_between(laid_out):
    along, across = laid_out(columns=6, rows=10, frame=a_frame(hold=Hold.GLUED, joint=Joint.BUTT)).rails
    assert along.long_point_mm == along.short_point_mm == 570.0
    assert across.long_point_mm == across.short_point_mm == 288.0


def test_rails_carry_the_size_and_timber_of_the_frame(laid_out):
    frame = a_frame(hold=Hold.GLUED, species="wenge", thickness_mm=21.0, width_mm=38.0)
    for rail in laid_out(frame=frame).rails:
        assert (rail.width_mm, rail.thickness_mm, rail.species) == (38.0, 21.0, "wenge")


# Base and height ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "expected_mm"),
    [
        ({}, 18.0),
        ({"feet": 4}, 24.0),
        ({"frame": a_frame(hold=Hold.GLUED, thickness_mm=25.0)}, 25.0),
        ({"frame": a_frame(hold=Hold.GLUED, thickness_mm=25.0), "feet": 4}, 31.0),
        ({"base": BaseRequest(material="mdf", thickness_mm=9.0)}, 27.0),
        ({"base": BaseRequest(material="mdf", thickness_mm=9.0), "feet": 4}, 33.0),
        (
            {
                "base": BaseRequest(
                    material="mdf", thickness_mm=9.0, backing=BackingRequest(species="pear", thickness_mm=3.0)
                )
            },
            30.0,
        ),
        # The base lies within the frame, which is exactly as thick as both together.
        (
            {"base": BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=45.0), "frame": a_frame(hold=Hold.GLUED)},
            27.0,
        ),
        # The rails hang lower than the base they hide.
        (
            {
                "base": BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=45.0),
                "frame": a_frame(hold=Hold.GLUED, thickness_mm=30.0),
            },
            30.0,
        ),
        # The base runs under the rails.
        ({"base": BaseRequest(material="mdf", thickness_mm=9.0), "frame": a_frame(hold=Hold.GLUED)}, 27.0),
    ],
)
def test_height_runs_from_the_table_to_the_playing_surface(laid_out, changes, expected_mm):
    """Field 18, feet 6."""
    assert laid_out(**changes).height_mm == pytest.approx(expected_mm)


def test_more_feet_lift_no_higher(moosgrund):
    four, eight = (height_mm(18.0, None, None, feet, moosgrund.consumables) for feet in (4, 8))
    assert four == eight


def test_a_base_is_set_in_on_every_side(laid_out):
    base = laid_out(columns=6, rows=10, base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=20.0)).base
    assert base.panel == base.outside == Rect(length_mm=440.0, width_mm=248.0)
    assert base.volume_m3 == pytest.approx(0.440 * 0.248 * 0.009)


def test_a_skirt_is_part_of_the_base_size(laid_out):
    skirt = Skirt(species="pear", width_mm=8.0)
    base = laid_out(base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=20.0, skirt=skirt)).base
    assert base.outside == Rect(length_mm=344.0, width_mm=344.0)
    assert base.panel == Rect(length_mm=328.0, width_mm=328.0)


@pytest.mark.parametrize(("inset_mm", "inside"), [(44.9, False), (45.0, True), (60.0, True)])
def test_a_base_is_inside_the_frame_from_the_inset_of_a_rail_on(inset_mm, inside):
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=inset_mm)
    order = an_order(frame=a_frame(hold=Hold.GLUED), base=base)
    assert base_is_inside(order.frame, order.base) is inside


def test_without_a_frame_no_base_is_inside_one():
    order = an_order(base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0))
    assert not base_is_inside(order.frame, order.base)


# Mass -----------------------------------------------------------------------------------------------------------------


def density(tables, key):
    return tables.species[key].density_kg_m3


def test_mass_of_a_field_is_half_of_each_timber(laid_out, tables):
    mean = (density(tables, "sycamore_maple") + density(tables, "european_walnut")) / 2
    assert laid_out().mass_kg == pytest.approx(0.384 * 0.384 * 0.018 * mean)


def test_the_odd_square_is_a_light_one(laid_out, tables):
    cell_m3 = 0.048 * 0.048 * 0.018
    expected = cell_m3 * (5 * density(tables, "sycamore_maple") + 4 * density(tables, "european_walnut"))
    assert laid_out(columns=3, rows=3).mass_kg == pytest.approx(expected)


def test_each_ring_of_lines_weighs_what_its_timber_does(laid_out, tables):
    rings = [(384, 390, "pear"), (390, 394, "wenge")]
    lines_kg = sum((outer**2 - inner**2) * 18e-9 * density(tables, species) for inner, outer, species in rings)
    assert laid_out(lines=LINES).mass_kg - laid_out().mass_kg == pytest.approx(lines_kg)


def test_a_frame_weighs_its_ring_and_a_bevel_takes_a_corner_off(laid_out, tables):
    frame = a_frame(hold=Hold.GLUED, species="pear", thickness_mm=20.0)
    plain = laid_out(frame=frame)
    ring_m3 = (474**2 - 384**2) * 20e-9
    assert plain.mass_kg - laid_out().mass_kg == pytest.approx(ring_m3 * density(tables, "pear"))
    bevelled = laid_out(frame=replace(frame, bevel_mm=4.0))
    corner_m3 = 4 * 474 * (4 * 4 / 2) * 1e-9
    assert plain.mass_kg - bevelled.mass_kg == pytest.approx(corner_m3 * density(tables, "pear"))


def test_feet_weigh_what_the_shop_says(laid_out):
    assert laid_out(feet=6).mass_kg - laid_out().mass_kg == pytest.approx(6 * 0.002)


def test_base_skirt_and_backing_weigh_what_they_are(laid_out, tables):
    base = BaseRequest(
        material="mdf",
        thickness_mm=9.0,
        inset_mm=20.0,
        skirt=Skirt(species="pear", width_mm=8.0),
        backing=BackingRequest(species="wenge", thickness_mm=3.0),
    )
    expected = (
        0.328**2 * 0.009 * tables.sheet("mdf", 9.0).density_kg_m3
        + (0.344**2 - 0.328**2) * 0.009 * density(tables, "pear")
        + 0.344**2 * 0.003 * density(tables, "wenge")
    )
    assert laid_out(base=base).mass_kg - laid_out().mass_kg == pytest.approx(expected)


def test_a_tongue_fills_its_groove_but_for_the_clearance(moosgrund, tables):
    """Rail and field of one timber and thickness: floating costs a ring of clearance, a third of it in the groove."""
    pear = altered(tables, species={key: replace(tables.species["pear"], key=key) for key in tables.species})
    shop_order = an_order(frame=a_frame(species="pear"))
    geometry = builders.laid_out(shop_order, moosgrund, pear, seat=Seat(2.0, 6.0))
    solid_m3 = (478**2) * 18e-9
    gap_m3 = (388**2 - 384**2) * 18e-9
    # Tongue and groove are both 6 mm, the one from the field's shoulder, the other from the rail's edge.
    groove_m3 = 4 * 388 * 6 * 6e-9
    tongue_m3 = 4 * 384 * 6 * 6e-9
    expected = (solid_m3 - gap_m3 - groove_m3 + tongue_m3) * density(tables, "pear")
    assert geometry.mass_kg == pytest.approx(expected)


# Fit and advice -------------------------------------------------------------------------------------------------------


@pytest.fixture
def stands(tables):
    def verdict(pieces, square_mm):
        return fit(square_mm, pieces, tables.fit_bands).verdict

    return verdict


@pytest.mark.parametrize(
    ("base_mm", "verdict"),
    [
        (32.0, "lonely"), (32.5, "roomy"), (37.0, "roomy"), (37.5, "standard"), (39.5, "standard"), (40.0, "standard"),
        (40.1, "tight"),
        (42.0, "tight"), (42.5, "crowded"), (50.0, "crowded"), (60.0, "crowded"),
    ],
)  # fmt: skip
def test_kings_stand_by_their_share_of_a_square_of_50(stands, base_mm, verdict):
    """BOARD-STD: bands from 0.65, 0.75, 0.80 and 0.85; the usual one keeps both ends, else the fuller word wins."""
    assert stands(ChessPieces(king_base_mm=base_mm), 50.0) == verdict


@pytest.mark.parametrize(
    ("margin_mm", "verdict"),
    [(-3, "crowded"), (2.9, "crowded"), (3, "tight"), (4.9, "tight"), (5, "standard"), (7, "standard"),
     (7.1, "roomy"), (11.9, "roomy"), (12, "lonely"), (30, "lonely")],
)  # fmt: skip
def test_men_stand_by_what_is_left_of_the_square(stands, margin_mm, verdict):
    """DRAUGHTS-PRACTICE: man plus 5 to 7 mm, both included; the other words are ours."""
    assert stands(DraughtsMan(man_mm=38.0), 38.0 + margin_mm) == verdict


def test_no_pieces_no_verdict(laid_out):
    fitted = laid_out().fit
    assert (fitted.fill_ratio, fitted.verdict, fitted.square_low_mm, fitted.square_high_mm) == (None,) * 4


def test_squares_between_the_named_ends_are_standard(stands, tables):
    for base_mm in (28.0, 33.3, 38.0, 44.45):
        pieces = ChessPieces(king_base_mm=base_mm)
        fitted = fit(48.0, pieces, tables.fit_bands)
        assert (fitted.square_low_mm, fitted.square_high_mm) == pytest.approx((base_mm / 0.80, base_mm / 0.75))
        for share in (0.01, 0.5, 0.99):
            square_mm = fitted.square_low_mm + share * (fitted.square_high_mm - fitted.square_low_mm)
            assert stands(pieces, square_mm) == "standard"


def advice_codes(geometry):
    return {advice.code for advice in geometry.advice}


@pytest.mark.parametrize(
    ("pieces", "code", "severity"),
    [
        (ChessPieces(king_base_mm=25.0), "pieces-lonely", Severity.CAUTION),
        (ChessPieces(king_base_mm=40.0), "pieces-tight", Severity.CAUTION),
        (ChessPieces(king_base_mm=44.0), "pieces-crowded", Severity.CAUTION),
        (ChessPieces(king_base_mm=48.0), "pieces-crowded", Severity.WARNING),  # touches all four edges
        (DraughtsMan(man_mm=47.0), "pieces-crowded", Severity.CAUTION),
    ],
)
def test_pieces_that_stand_badly_are_advised_against_not_refused(laid_out, pieces, code, severity):
    (advice,) = laid_out(pieces=pieces).advice
    assert (advice.code, advice.severity, advice.audience) == (code, severity, Audience.ALL)
    assert "squares of" in advice.text


@pytest.mark.parametrize("pieces", [ChessPieces(king_base_mm=37.0), ChessPieces(king_base_mm=34.0)])
def test_standard_and_roomy_pieces_bring_no_advice(laid_out, pieces):
    assert laid_out(pieces=pieces).advice == ()


def test_four_pawns_must_fit_a_square(laid_out):
    assert "pawn-rule" in advice_codes(laid_out(pieces=ChessPieces(king_base_mm=37.0, pawn_base_mm=24.5)))
    assert "pawn-rule" not in advice_codes(laid_out(pieces=ChessPieces(king_base_mm=37.0, pawn_base_mm=24.0)))


@pytest.mark.parametrize(
    ("game", "square_mm", "advised"),
    [("chess", 48.0, True), ("chess", 50.0, False), ("chess", 60.0, False), ("chess", 60.5, True),
     ("draughts-10", 45.0, False), ("draughts-10", 46.0, True), (None, 30.0, False)],
)  # fmt: skip
def test_an_unusual_square_of_a_game_is_mentioned(laid_out, game, square_mm, advised):
    codes = advice_codes(laid_out(game=game, square_mm=square_mm))
    assert ("outside-usual-square" in codes) is advised


# Under a lip ----------------------------------------------------------------------------------------------------------


def lipped(shop, **changes):
    return a_plan(shop, frame=a_frame(edge=Edge.LIP), **changes)


def test_a_lip_makes_the_board_smaller_and_hides_what_it_laps_over(moosgrund):
    """TRADE-FRAME: long point = panel + 2c + 2(W - r), against panel + 2c + 2W with a tongue."""
    under, tongued = lipped(moosgrund).geometry, a_plan(moosgrund, frame=a_frame()).geometry
    clearance_mm, groove_mm, lap_mm = under.seat
    assert lap_mm == pytest.approx(groove_mm - clearance_mm)
    assert under.overall.width_mm == pytest.approx(384 + 2 * clearance_mm + 2 * (45.0 - groove_mm))
    assert under.rails[0].long_point_mm == pytest.approx(tongued.rails[0].long_point_mm - 2 * groove_mm)
    assert under.hidden_mm == lap_mm
    assert tongued.hidden_mm == 0.0


def test_lines_wider_than_the_lap_keep_the_squares_whole(moosgrund):
    for width_mm, hidden in ((2.0, True), (8.0, False)):
        geometry = lipped(moosgrund, lines=(Line(species="pear", width_mm=width_mm),)).geometry
        assert (geometry.hidden_mm > 0) is hidden
        assert geometry.hidden_mm == pytest.approx(max(0.0, geometry.seat.lap_mm - width_mm))


def test_rails_with_a_lip_stand_above_the_surface_and_as_much_below_the_field(moosgrund):
    plan = lipped(moosgrund)
    assert plan.order.frame.thickness_mm == 18.0 + 2 * 3.0
    assert (plan.geometry.rim_mm, plan.geometry.height_mm) == (3.0, 18.0 + 3.0)
    assert plan.packing.first.height_mm - a_plan(moosgrund, frame=a_frame()).packing.first.height_mm == pytest.approx(
        6.0
    )


def test_a_field_under_a_lip_has_no_tongue_to_cut(moosgrund):
    under = lipped(moosgrund)
    assert {strip.width_mm for strip in under.cutting.strips} == {48.0}
    assert under.cutting.crosscuts.end_width_mm == under.cutting.crosscuts.width_mm
    assert under.geometry.tongue_thickness_mm == 18.0  # the groove takes the whole edge


def test_wood_under_a_lip_weighs_what_is_there(moosgrund, tables):
    """By hand: a bare field, and rails of 45 x 24 mm less a groove as deep as the seat and 18 mm high."""
    plan = lipped(moosgrund)
    geometry = plan.geometry
    field_mm3 = 384**2 * 18.0 / 2
    opening_mm = geometry.opening.width_mm
    rails_mm3 = ((opening_mm + 90) ** 2 - opening_mm**2) * 24 - 4 * opening_mm * geometry.seat.tongue_mm * 18
    densities = {
        key: tables.species[key].density_kg_m3 * 1e-9 for key in (plan.order.field.light, plan.order.field.dark)
    }
    assert dict(geometry.timber_kg) == pytest.approx(
        {
            plan.order.field.light: field_mm3 * densities[plan.order.field.light],
            plan.order.field.dark: (field_mm3 + rails_mm3) * densities[plan.order.field.dark],
        }
    )


def test_a_field_too_thin_for_a_tongue_may_lie_under_a_lip(moosgrund):
    thin = altered(moosgrund, ranges={"thickness": replace(moosgrund.ranges.thickness, low_mm=6.0)})
    assert lipped(thin, thickness_mm=8.0).geometry.hidden_mm > 0
