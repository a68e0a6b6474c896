"""From a wish to an order: what is filled in, and what is taken from where."""

from dataclasses import FrozenInstanceError, replace
from datetime import date, timedelta

import pytest
from builders import TODAY, a_frame, a_request, altered, an_order

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import Climate
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import ChessPieces, DraughtsMan, Hold, Pattern, Units
from chequerwork.domain.order.request import BackingRequest, BaseRequest, ClimateRequest, SandingRequest

IN = 25.4


def test_what_is_left_out_comes_from_the_shop(moosgrund):
    order = an_order(moosgrund)
    assert (order.field.columns, order.field.rows, order.sale.quantity, order.feet) == (8, 8, 1, 0)
    assert (order.field.thickness_mm, order.field.pattern, order.surface.finish) == (18.0, Pattern.TURN, "hardwax_oil")
    assert (order.sale.channel, order.units, order.sale.ship_to) == ("own_site", Units.METRIC, "AT")
    assert order.climate == Climate(low_rh_pct=32.0, high_rh_pct=62.0, temperature_c=21.0)
    assert (order.frame, order.base, order.field.lines, order.play.pieces, order.dates.wanted_by) == (
        None,
        None,
        (),
        None,
        None,
    )


def test_the_other_shop_fills_in_its_own(willet_slough):
    order = an_order(willet_slough)
    assert order.shop == "willet-slough"
    assert order.field.thickness_mm == pytest.approx(11 / 16 * IN)
    assert (order.field.pattern, order.surface.finish, order.units) == (Pattern.SHIFT, "wiping_varnish", Units.IMPERIAL)
    assert order.sale.ship_to == "US"


def test_what_is_given_is_kept(moosgrund):
    order = an_order(
        moosgrund, columns=6, rows=10, thickness_mm=15.0, finish="shellac_2lb", channel="market_fair", quantity=3,
        ship_to="DE", units=Units.IMPERIAL, feet=6, wanted_by=date(2027, 4, 1),
    )  # fmt: skip
    assert (order.field.columns, order.field.rows, order.field.thickness_mm, order.surface.finish) == (
        6,
        10,
        15.0,
        "shellac_2lb",
    )
    assert (order.sale.channel, order.sale.quantity, order.sale.ship_to, order.units) == (
        "market_fair",
        3,
        "DE",
        Units.IMPERIAL,
    )
    assert (order.feet, order.dates.wanted_by) == (6, date(2027, 4, 1))


def test_length_runs_along_the_grain_and_width_across():
    order = an_order(columns=6, rows=10)
    assert (order.field.length_mm, order.field.width_mm) == (480.0, 288.0)


def test_an_order_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        an_order().sale.quantity = 2


def test_the_same_wish_gives_the_same_order():
    assert an_order(frame=a_frame(), feet=4) == an_order(frame=a_frame(), feet=4)


# Games and pieces -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("game", "side"), [("chess", 8), ("draughts-10", 10), ("draughts-12", 12)])
def test_a_game_sets_columns_and_rows(game, side):
    order = an_order(game=game, square_mm=42.0)
    assert (order.play.game, order.field.columns, order.field.rows) == (game, side, side)


def test_a_game_beside_its_own_columns_is_no_conflict():
    assert an_order(game="draughts-10", columns=10, square_mm=42.0).field.columns == 10


@pytest.mark.parametrize(
    ("pieces", "units", "square_mm"),
    [
        (ChessPieces(king_base_mm=36.0), Units.METRIC, 46.5),  # 46.15 by 0.78, up to 0.5 mm
        (ChessPieces(king_base_mm=39.0), Units.METRIC, 50.0),  # exactly 50
        (ChessPieces(king_base_mm=1.5 * IN), Units.IMPERIAL, (1 + 15 / 16) * IN),  # 1.923 in, up to 1/16
        (ChessPieces(king_base_mm=36.0, pawn_base_mm=26.0), Units.METRIC, 52.0),  # four pawns fill a square
        (ChessPieces(king_base_mm=36.0, pawn_base_mm=20.0), Units.METRIC, 46.5),
        (ChessPieces(king_base_mm=36.0, fill_ratio=0.75), Units.METRIC, 48.0),
        (DraughtsMan(man_mm=35.0), Units.METRIC, 41.0),  # man plus 6
        (DraughtsMan(man_mm=1.25 * IN), Units.IMPERIAL, 1.5 * IN),  # 1.486 in, up to 1/16
    ],
)
def test_a_square_is_derived_from_the_pieces(pieces, units, square_mm):
    """BOARD-STD sections 1 to 3: base over 0.78, pawn rule, man plus 5 to 7 mm."""
    order = an_order(square_mm=None, pieces=pieces, units=units)
    assert order.field.square_mm == pytest.approx(square_mm)


def test_a_given_square_is_kept_beside_pieces():
    order = an_order(square_mm=55.0, pieces=ChessPieces(king_base_mm=36.0))
    assert order.field.square_mm == 55.0
    assert order.play.pieces is not None


# Pattern, sanding, frame, climate -------------------------------------------------------------------------------------


def test_odd_columns_are_shifted_even_in_a_shop_that_turns(moosgrund):
    assert moosgrund.defaults.pattern == "turn"
    assert an_order(moosgrund, columns=9).field.pattern is Pattern.SHIFT


def test_odd_rows_may_be_turned(moosgrund):
    """A bar is as long as there are columns; how many bars there are does not matter to turning."""
    assert an_order(moosgrund, rows=9).field.pattern is Pattern.TURN


def test_last_grades_follow_the_finish(tables):
    order = an_order(finish="shellac_2lb")
    finish = tables.finishes["shellac_2lb"]
    assert (
        (order.surface.sand_top, order.surface.sand_underside)
        == (finish.stop_grade_high, finish.stop_grade_low)
        == ("P320", "P220")
    )


def test_one_wished_grade_leaves_the_other_to_the_finish():
    order = an_order(sanding=SandingRequest(top="P240"))
    assert (order.surface.sand_top, order.surface.sand_underside) == ("P240", "P120")


def test_a_frame_is_as_thick_as_the_field_and_sawn_as_the_shop_buys(moosgrund):
    frame = an_order(moosgrund, frame=a_frame(species="european_oak")).frame
    assert (frame.thickness_mm, frame.grain) == (18.0, Grain.QUARTER)


def test_a_frame_hides_a_base_that_sits_inside_it():
    """18 field, 9 base and 3 backing behind rails of 45 mm whose inner edge the base touches."""
    base = BaseRequest(
        material="mdf", thickness_mm=9.0, inset_mm=45.0, backing=BackingRequest(species="pear", thickness_mm=3.0)
    )
    assert an_order(frame=a_frame(), base=base).frame.thickness_mm == 30.0


def test_a_base_under_the_rails_leaves_the_frame_as_thick_as_the_field():
    assert an_order(frame=a_frame(), base=BaseRequest(material="mdf", thickness_mm=9.0)).frame.thickness_mm == 18.0


def test_a_shop_may_have_a_usual_thickness_of_rails(moosgrund):
    shop = altered(moosgrund, defaults={"frame_thickness_mm": 22.0})
    assert an_order(shop, frame=a_frame()).frame.thickness_mm == 22.0
    assert an_order(shop, frame=a_frame(thickness_mm=19.0)).frame.thickness_mm == 19.0


def test_a_climate_half_given_is_completed(moosgrund):
    order = an_order(moosgrund, climate=ClimateRequest(high_rh_pct=70.0))
    assert order.climate == Climate(low_rh_pct=32.0, high_rh_pct=70.0, temperature_c=21.0)


def test_a_kind_of_room_fills_in_what_is_left_out(moosgrund, tables):
    room = tables.rooms["heated_cold_winters"]
    order = an_order(moosgrund, climate=ClimateRequest(room=room.key))
    assert order.climate == Climate(
        low_rh_pct=room.low_rh_pct, high_rh_pct=room.high_rh_pct, temperature_c=room.temperature_c, room=room.key
    )
    given = ClimateRequest(room=room.key, high_rh_pct=50.0, temperature_c=18.0)
    order = an_order(moosgrund, climate=given)
    assert (order.climate.low_rh_pct, order.climate.high_rh_pct) == (room.low_rh_pct, 50.0)
    assert (order.climate.temperature_c, order.climate.room) == (18.0, room.key)


def test_a_steady_room_is_a_climate(moosgrund):
    order = an_order(moosgrund, climate=ClimateRequest(low_rh_pct=50.0, high_rh_pct=50.0))
    assert order.climate.low_rh_pct == order.climate.high_rh_pct == 50.0


# Days -----------------------------------------------------------------------------------------------------------------


def test_an_order_is_issued_today_and_starts_on_the_next_free_day(moosgrund, tables):
    """A Saturday, two weeks before the shop has room again on Monday 11 January 2027."""
    order = complete(a_request(moosgrund), shop=moosgrund, tables=tables, today=date(2026, 12, 26))
    assert (order.dates.issued_on, order.dates.starts_on) == (date(2026, 12, 26), date(2027, 1, 11))


@pytest.mark.parametrize(
    ("issued_on", "starts_on"),
    [
        (date(2027, 3, 26), date(2027, 4, 6)),  # Good Friday's week: see the days off below
        (date(2027, 2, 1), date(2027, 2, 1)),
        (date(2027, 2, 6), date(2027, 2, 8)),  # Saturday to Monday
    ],
)
def test_the_next_free_day_skips_weekends_and_days_off(moosgrund, issued_on, starts_on):
    off = frozenset(date(2027, 3, 26) + timedelta(days=days) for days in range(11))
    shop = altered(moosgrund, calendar={"holidays": off, "free_from": None})
    assert an_order(shop, issued_on=issued_on).dates.starts_on == starts_on


def test_given_days_are_kept(moosgrund):
    order = an_order(moosgrund, issued_on=date(2027, 2, 3), starts_on=date(2027, 2, 22))
    assert (order.dates.issued_on, order.dates.starts_on) == (date(2027, 2, 3), date(2027, 2, 22))


def test_a_day_on_which_nobody_works_waits_for_the_next(moosgrund):
    """20 February 2027 is a Saturday."""
    assert an_order(moosgrund, issued_on=date(2027, 2, 3), starts_on=date(2027, 2, 20)).dates.starts_on == date(
        2027, 2, 22
    )


def test_a_day_before_the_shop_is_free_waits_until_it_is(moosgrund):
    """It used to be kept, and the plan began while the shop was full."""
    order = an_order(moosgrund, issued_on=date(2026, 11, 25), starts_on=date(2026, 11, 26))
    assert order.dates.starts_on == moosgrund.calendar.free_from == date(2027, 1, 11)


def test_an_order_may_start_and_be_wanted_on_the_day_it_is_issued():
    order = an_order(starts_on=TODAY, wanted_by=TODAY)
    assert (order.dates.starts_on, order.dates.wanted_by) == (TODAY, TODAY)


# Limits are included --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("square_mm", [22.0, 75.0])
def test_the_ends_of_a_range_can_be_made(moosgrund, square_mm):
    assert an_order(moosgrund, square_mm=square_mm).field.square_mm == square_mm


def test_a_length_read_from_inches_meets_a_limit_in_inches(willet_slough):
    """1 in is the least square; 25.400000000000002 and 25.399999999999999 are the same inch."""
    for square_mm in (IN * (1 + 1e-15), IN * (1 - 1e-15)):
        assert an_order(willet_slough, square_mm=square_mm).field.columns == 8


def test_the_most_boards_of_one_order_can_be_ordered(moosgrund):
    assert an_order(moosgrund, quantity=40).sale.quantity == 40


def test_fields_already_refused_are_neither_missed_nor_judged_again(moosgrund, tables):
    """The reader refused ``square`` and ``frame``; what it could not read is not held against the rest."""
    wish = replace(a_request(moosgrund), square_mm=None, frame=a_frame(hold=Hold.GLUED, width_mm=900.0), feet=3)
    given = {"shop": moosgrund, "tables": tables, "today": TODAY, "faulted": frozenset({"square", "frame", "feet"})}
    with pytest.raises(Refused) as refused:
        complete(wish, **given)
    assert refused.value.faults == ()


def test_a_wish_whose_only_fault_is_the_readers_is_refused_all_the_same(moosgrund, tables):
    with pytest.raises(Refused) as refused:
        complete(a_request(moosgrund), shop=moosgrund, tables=tables, today=TODAY, faulted=frozenset({"units"}))
    assert refused.value.faults == ()
