"""The parts of an order as pieces of a stock plan: rough sizes, counts, how they are sawn, and staves of wide ones.

Worked by hand from the shop's settings: rough length + 12 mm, rough width + 6 mm, edges jointed by 1.2 mm, faces planed
by 2.4 mm, panels flattened by 0.8 mm, kerf 2.8 mm.
"""

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import Span
from chequerwork.domain.making.cutting import Role
from chequerwork.domain.order.order import Line, Skirt
from chequerwork.domain.order.request import BackingRequest, BaseRequest, GrainRequest
from chequerwork.domain.stock.boards import NM, to_mm
from chequerwork.domain.stock.wanted import pieces_of, wanted_of


def a_base(**changes):
    skirt = Skirt(species="pear", width_mm=6.0)
    backing = BackingRequest(species="european_oak", thickness_mm=2.0, grain=Grain.QUARTER)
    return BaseRequest(**{"material": "mdf", "thickness_mm": 9.0, "skirt": skirt, "backing": backing, **changes})


def of_plan(make, plan, shop, **named):
    order = plan.order
    return make(plan.cutting, order.field, order.frame, order.base, order.sale.quantity, shop, **named)


def wanted(plan, **changes):
    shop = altered(plan.shop, **changes)
    return {each.part: each for each in of_plan(wanted_of, plan, shop)}


@pytest.fixture(scope="module")
def full_plan():
    """One of everything, three times."""
    return a_plan(
        frame=a_frame(grain=Grain.QUARTER),
        lines=(Line(species="wenge", width_mm=2.0),),
        base=a_base(),
        grain=GrainRequest(light=Grain.QUARTER, dark=Grain.FLAT),
        quantity=3,
    )


def test_every_part_is_wanted_once_for_every_board(full_plan):
    found = wanted(full_plan)
    assert list(found) == [part.id for part in full_plan.cutting.parts]
    for part in full_plan.cutting.parts:
        each = found[part.id]
        assert (each.role, each.piece.species) == (part.role, part.species)
        assert each.piece.count == 3 * part.count * each.staves


def test_a_strip_is_wanted_as_it_leaves_the_saw(moosgrund):
    # 8 bars and a spare of 48 + 0.4 + 3.2, 12 to square, 30 at the ends: 506.4, cut to 510; + 12 = 522.
    # 48 + 2 x 1.2 = 50.4 wide; 18 + 2 x 0.8 + 2 x 2.4 = 24.4 thick; four of each wood a board.
    pieces = {piece.id: piece for piece in a_plan(moosgrund, quantity=2).pieces}
    light = pieces["S1"]
    assert (light.length_nm, light.width_nm, light.thickness_nm) == (522_000_000, 50_400_000, 24_400_000)
    assert (light.count, light.turns) == (8, False)


def test_grain_is_asked_for_where_the_order_tells_it(full_plan):
    asked = {each.role: each.piece.sawn for each in wanted(full_plan).values()}
    assert [wanted(full_plan)[name].piece.sawn for name in ("S1", "S2")] == [Grain.QUARTER, Grain.FLAT]
    assert (asked[Role.RAIL], asked[Role.BACKING]) == (Grain.QUARTER, Grain.QUARTER)
    assert (asked[Role.LINE], asked[Role.SKIRT], asked[Role.BASE]) == (None, None, None)


def test_a_base_may_turn_and_is_never_split(full_plan):
    base = wanted(full_plan)["B1"]
    panel = next(part.final for part in full_plan.cutting.parts if part.id == "B1")
    assert (base.piece.turns, base.staves, base.piece.thickness_nm) == (True, 1, 9 * NM)
    # The kerf that the cut list adds is charged by the plan's own saw.
    assert to_mm(base.piece.length_nm) == pytest.approx(panel.length_mm, abs=1e-6)
    assert to_mm(base.piece.width_nm) == pytest.approx(panel.width_mm, abs=1e-6)
    assert not any(each.piece.turns for each in wanted(full_plan).values() if each.role is not Role.BASE)


def test_a_thin_part_keeps_its_thickness(full_plan):
    # 2 mm and two planed faces; several come out of one board.
    assert wanted(full_plan)["C1"].piece.thickness_nm == 6_800_000


def test_a_wide_panel_is_glued_up_of_equal_staves():
    # No frame: 8 x 48 = 384, + 6 = 390 wide. The jointer takes 260, less 2 x 1.2 = 257.6; a stave's share is 2 x 1.2
    # less again: 255.2. Two of 195, and 2.4 on each.
    plan = a_plan(base=a_base(skirt=None), quantity=5)
    backing = wanted(plan)["C1"]
    assert (backing.piece.id, backing.staves, backing.piece.count) == ("C1.stave", 2, 10)
    assert (backing.piece.width_nm, backing.piece.length_nm) == (197_400_000, 396_000_000)


def test_the_usual_boards_may_be_narrower_than_the_machines():
    # Of 150 mm boards: 150 - 4.8 = 145.2 of share; 390 takes three of 130, and 2.4 on each.
    plan = a_plan(base=a_base(skirt=None))
    oak = altered(plan.shop.lumber["european_oak"], board_width=Span(low_mm=100.0, high_mm=150.0))
    backing = wanted(plan, lumber={**plan.shop.lumber, "european_oak": oak})["C1"]
    assert (backing.staves, backing.piece.width_nm) == (3, 132_400_000)


def test_a_share_that_is_no_whole_nanometre_is_rounded_up():
    # Of 66 mm boards: 66 - 4.8 = 61.2 of share; 390 takes seven of 55.714285714...
    plan = a_plan(base=a_base(skirt=None))
    oak = altered(plan.shop.lumber["european_oak"], board_width=Span(low_mm=60.0, high_mm=66.0))
    backing = wanted(plan, lumber={**plan.shop.lumber, "european_oak": oak})["C1"]
    assert (backing.staves, backing.piece.width_nm) == (7, 55_714_286 + 2_400_000)
    assert 7 * (backing.piece.width_nm - 2_400_000) >= 390_000_000


@pytest.mark.parametrize(("widest_mm", "staves"), [(392.4, 1), (392.3, 2)])
def test_a_part_that_just_fits_between_two_jointed_edges_stays_whole(widest_mm, staves):
    plan = a_plan(base=a_base(skirt=None))
    oak = altered(plan.shop.lumber["european_oak"], board_width=Span(low_mm=100.0, high_mm=widest_mm))
    wide = {"jointer_width_mm": 500.0, "thicknesser_width_mm": 500.0}
    found = wanted(plan, lumber={**plan.shop.lumber, "european_oak": oak}, machines=wide)["C1"]
    assert found.staves == staves
    assert found.piece.id == ("C1" if staves == 1 else "C1.stave")


def test_settings_that_leave_no_stave_split_nothing():
    plan = a_plan(base=a_base(skirt=None))
    oak = altered(plan.shop.lumber["european_oak"], board_width=Span(low_mm=40.0, high_mm=40.0))
    found = wanted(plan, lumber={**plan.shop.lumber, "european_oak": oak}, machines={"jointing_edge_mm": 10.0})["C1"]
    assert (found.staves, found.piece.id) == (1, "C1")


def test_a_wide_board_in_the_rack_changes_nothing():
    """It may be used up before the last part, and what is missing then has to be bought."""
    plan = a_plan(base=a_base(skirt=None))
    wide = {"jointer_width_mm": 500.0, "thicknesser_width_mm": 500.0}
    board = altered(plan.shop.rack.boards[0], species="european_oak", width_mm=450.0)
    usual = wanted(plan, machines=wide)["C1"]
    assert usual.staves == 2  # oak is 300 mm wide at most
    assert wanted(plan, machines=wide, rack={"boards": (board,)})["C1"] == usual


def test_a_prefix_keeps_orders_apart(full_plan, moosgrund):
    plain = of_plan(pieces_of, full_plan, moosgrund)
    named = of_plan(pieces_of, full_plan, moosgrund, prefix="2-")
    assert [piece.id for piece in named] == [f"2-{piece.id}" for piece in plain]
    assert {each.part for each in of_plan(wanted_of, full_plan, moosgrund, prefix="2-")} == {
        part.id for part in full_plan.cutting.parts
    }
