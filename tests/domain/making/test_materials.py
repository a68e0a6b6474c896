"""What is bought: lumber net and gross, board feet, sheets, adhesive and the rest, for the whole order."""

from dataclasses import replace
from decimal import Decimal

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.amounts import money
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import Lumber, Span
from chequerwork.domain.making.cutting import Role
from chequerwork.domain.making.lumber import FOOT2_M2, board_feet, pieces_per_thickness, thickness_class
from chequerwork.domain.making.materials import blanks_per_sheet
from chequerwork.domain.order.order import Hold, Joint, Line, Skirt
from chequerwork.domain.order.request import BaseRequest


def timber(plan):
    return {each.species: each for each in plan.materials.timber}


def items(plan):
    return {each.role: each for each in plan.materials.items}


# Lumber ---------------------------------------------------------------------------------------------------------------


def test_net_lumber_is_the_volume_of_the_parts(moosgrund):
    """Four strips of each timber, 510 x 48 x 19.6 mm."""
    found = timber(a_plan(moosgrund))
    assert set(found) == {"sycamore_maple", "european_walnut"}
    for each in found.values():
        assert each.net_m3 == pytest.approx(4 * 510 * 48 * 19.6e-9)


def test_gross_lumber_is_whole_board_thickness_with_kerfs_and_yield(moosgrund):
    """Strip of 522 x 50.4 and a kerf each way, 3.2 and 2.8, out of 4/4 (25.4 mm), of which 72 % is usable."""
    maple = timber(a_plan(moosgrund))["sycamore_maple"]
    assert maple.gross_m3 == pytest.approx(4 * (522 + 3.2) * (50.4 + 2.8) * 25.4e-9 / 0.72)
    assert maple.cost == money(maple.gross_m3, Decimal(1950))


def test_every_board_of_the_order_is_bought_for(moosgrund):
    one, many = timber(a_plan(moosgrund)), timber(a_plan(moosgrund, quantity=7))
    for species, each in many.items():
        assert each.net_m3 == pytest.approx(7 * one[species].net_m3)
        assert each.gross_m3 == pytest.approx(7 * one[species].gross_m3)
        assert each.mass_kg == pytest.approx(7 * one[species].mass_kg)


def test_mass_of_lumber_is_of_the_net_volume(moosgrund, tables):
    for species, each in timber(a_plan(moosgrund, frame=a_frame(species="wenge"))).items():
        assert each.mass_kg == pytest.approx(each.net_m3 * tables.species[species].density_kg_m3)


def test_all_parts_of_one_timber_are_one_line(moosgrund):
    """Dark squares, rails and a line of walnut."""
    lines = (Line(species="european_walnut", width_mm=3.0),)
    found = timber(a_plan(moosgrund, frame=a_frame(), lines=lines))
    assert list(found) == ["sycamore_maple", "european_walnut"]


def test_a_sheet_is_no_lumber(moosgrund):
    assert "mdf" not in timber(a_plan(moosgrund, base=BaseRequest(material="mdf", thickness_mm=9.0)))


@pytest.mark.parametrize(
    ("rough_mm", "name"), [(9.5, "4/4"), (25.4, "4/4"), (25.41, "6/4"), (38.1, "6/4"), (45.0, "8/4"), (60.0, "8/4")]
)
def test_the_thinnest_class_that_is_thick_enough_is_bought(moosgrund, tables, rough_mm, name):
    """Pear comes in 4/4, 6/4 and 8/4; more than the thickest is refused before, see the completion of an order."""
    assert thickness_class(rough_mm, moosgrund.lumber["pear"], tables).name == name


@pytest.mark.parametrize(
    ("class_mm", "rough_mm", "pieces"),
    [(25.4, 25.4, 1), (25.4, 12.0, 1), (25.4, 11.3, 2), (50.8, 5.0, 6), (9.0, 12.0, 1)],
)
def test_thin_parts_are_resawn_from_one_thickness(class_mm, rough_mm, pieces):
    """With 2.8 mm kerfs: two of 11.3 mm and one kerf are exactly 25.4."""
    assert pieces_per_thickness(class_mm, rough_mm, 2.8) == pieces


@pytest.mark.parametrize(
    ("feet2", "nominal_in", "expected"),
    [(4.0, 1.0, 4), (4.4, 1.0, 4), (4.5, 1.0, 5), (4.0, 1.25, 5), (2.0, 1.25, 3), (0.1, 1.0, 1), (4.0, 0.75, 4)],
)
def test_board_feet_are_surface_measure_times_thickness(feet2, nominal_in, expected):
    """AHEC; the half of 2 x 1.25 goes up and no lot is less than one: common practice, no source."""
    assert board_feet(area_m2=feet2 * FOOT2_M2, nominal_in=nominal_in) == expected


def test_board_feet_are_counted_by_thickness_class(willet_slough):
    """A thick rail is another lot than the strips, and each is rounded by itself."""
    frame = a_frame(willet_slough, species="black_walnut", thickness_mm=30.0)
    plan = a_plan(willet_slough, frame=frame, quantity=6)
    walnut = timber(plan)["black_walnut"]
    assert walnut.board_feet == int(walnut.board_feet)
    assert walnut.board_feet * 144 * 25.4**3 * 1e-9 == pytest.approx(walnut.gross_m3, rel=0.05)


def test_lumber_of_poorer_yield_costs_more(moosgrund):
    lumber = dict(moosgrund.lumber)
    lumber["sycamore_maple"] = replace(lumber["sycamore_maple"], yield_pct=36.0)
    poor = timber(a_plan(replace(moosgrund, lumber=lumber)))["sycamore_maple"]
    good = timber(a_plan(moosgrund))["sycamore_maple"]
    assert poor.gross_m3 == pytest.approx(2 * good.gross_m3)
    assert poor.net_m3 == good.net_m3


def test_an_offer_of_one_class_serves_every_part(tables):
    only = Lumber(
        species="pear",
        price_m3=Decimal(1),
        classes=("8/4",),
        board_length=Span(low_mm=900, high_mm=2000),
        board_width=Span(low_mm=90, high_mm=200),
        grain=Grain.FLAT,
        yield_pct=100.0,
    )
    assert {thickness_class(rough_mm, only, tables).name for rough_mm in (3.0, 25.4, 50.8)} == {"8/4"}


# Sheets ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length_mm", "width_mm", "blanks"),
    [
        (470, 470, 10),
        (2440, 1220, 1),
        (1220, 2440, 1),
        (1218.4, 1220, 2),
        (1219, 1220, 1),
        (600, 400, 12),
        (400, 600, 12),
    ],
)
def test_blanks_lie_the_better_of_two_ways(length_mm, width_mm, blanks):
    """2440 x 1220 with 3.2 mm kerf; two of 1218.4 and one kerf are exactly 2440."""
    sheet = {"sheet_length_mm": 2440, "sheet_width_mm": 1220, "kerf_mm": 3.2}
    assert blanks_per_sheet(length_mm=length_mm, width_mm=width_mm, **sheet) == blanks


def test_whole_sheets_are_bought_and_the_used_share_is_charged(moosgrund):
    """Blanks of 344 mm with 2.8 mm kerf: 7 x 3 from 2440 x 1220; eight boards take 8/21 of 27.80."""
    base = items(a_plan(moosgrund, base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=20.0), quantity=8))[
        "base"
    ]
    assert (base.item, base.quantity, base.unit) == ("mdf 9 mm", 1.0, "sheet")
    assert base.note == "8 of 21 blanks a sheet gives"
    assert float(base.cost) == pytest.approx(27.80 * 8 / 21)


def test_one_board_more_than_a_sheet_gives_needs_a_second_sheet(moosgrund):
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=20.0)
    sheets = [items(a_plan(moosgrund, base=base, quantity=quantity))["base"].quantity for quantity in (21, 22)]
    assert sheets == [1.0, 2.0]


# The rest -------------------------------------------------------------------------------------------------------------


def test_end_grain_joints_take_twice_the_spread(moosgrund):
    """7 joints of 510 x 18.8 once and 7 of 384 x 18.8 twice, 180 g/m2 and 35 % waste."""
    expected = (7 * 0.510 * 0.0188 + 2 * 7 * 0.384 * 0.0188) * 180 * 1.35
    assert items(a_plan(moosgrund))["adhesive"].quantity == pytest.approx(expected)


def test_adhesive_is_paid_by_the_kilogram(moosgrund):
    found = items(a_plan(moosgrund, quantity=10))["adhesive"]
    assert found.unit == "g"
    assert float(found.cost) == pytest.approx(found.quantity / 1000 * 11.80, rel=1e-6)


def test_a_glued_frame_is_glued_all_round_and_a_floating_one_at_its_corners(moosgrund):
    """Corners of 45 x sqrt(2) x 18 mm, end grain, so twice; glued, also along the field's four sides."""
    bare = items(a_plan(moosgrund))["adhesive"].quantity
    glued = items(a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED)))["adhesive"].quantity
    corners_m2 = 4 * 0.045 * 2**0.5 * 0.018
    around_m2 = 4 * 0.384 * 0.018
    assert glued - bare == pytest.approx((2 * corners_m2 + around_m2) * 180 * 1.35)
    butt = items(a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED, joint=Joint.BUTT)))["adhesive"].quantity
    assert butt < glued


def test_a_base_is_glued_over_its_face(moosgrund):
    bare = items(a_plan(moosgrund))["adhesive"].quantity
    based = items(a_plan(moosgrund, base=BaseRequest(material="mdf", thickness_mm=9.0)))["adhesive"].quantity
    assert based - bare == pytest.approx(0.384 * 0.384 * 180 * 1.35)


def test_abrasive_follows_area_and_grades(moosgrund):
    plan = a_plan(moosgrund)
    found = items(plan)["abrasives"]
    assert found.quantity == pytest.approx(plan.finishing.sanded_m2 * 0.12)
    assert float(found.cost) == pytest.approx(found.quantity * 14.50)


def test_finish_is_bought_by_the_millilitre_for_every_board(moosgrund):
    plan = a_plan(moosgrund, quantity=3)
    found = items(plan)["finish"]
    assert found.quantity == pytest.approx(3 * plan.finishing.finish_ml)
    assert float(found.cost) == pytest.approx(found.quantity / 1000 * 38.60)


def test_feet_are_counted_for_every_board(moosgrund):
    found = items(a_plan(moosgrund, feet=6, quantity=5))["feet"]
    assert (found.quantity, found.unit, found.cost) == (30, "piece", Decimal("25.50"))
    assert "feet" not in items(a_plan(moosgrund))


def test_tape_is_twice_the_joints_and_labels_two_a_board(moosgrund):
    """14 lengths of 510 mm."""
    found = {each.item: each for each in a_plan(moosgrund, quantity=2).materials.items if each.role == "sundries"}
    assert found["masking tape"].quantity == pytest.approx(2 * 14 * 0.510)
    assert found["label"].quantity == 4


def test_money_has_no_binary_tail():
    assert money(0.1 + 0.2, Decimal("10.00")) == Decimal("3.00")


# Advice ---------------------------------------------------------------------------------------------------------------


def advice(plan):
    return {each.code: each for each in plan.materials.advice}


def test_more_joints_than_the_open_time_closes_are_glued_in_parts(moosgrund):
    """Open for 5 min, 0.6 joints a minute (common practice, no source): 3 joints, so 8 bars in two parts."""
    found = advice(a_plan(moosgrund))["open-time-bars"]
    assert "7 joints" in found.text
    assert "enough for 3" in found.text
    assert "at most 4 pieces at once" in found.text
    assert found.audience is Audience.WORKSHOP


def test_four_bars_close_in_time(moosgrund):
    assert "open-time-bars" not in advice(a_plan(moosgrund, rows=4))
    assert "open-time-bars" in advice(a_plan(moosgrund, rows=5))


def test_a_slow_class_closes_twelve_rows_in_one_go(moosgrund):
    shop = altered(moosgrund, consumables={"adhesive": "epoxy_slow"})
    assert not {"open-time-bars", "open-time-strips"} & set(advice(a_plan(shop, rows=12)))


def test_the_first_glue_up_has_its_joints_too(moosgrund):
    """Only the second one was warned."""
    assert "7 joints" in advice(a_plan(moosgrund))["open-time-strips"].text
    assert "open-time-strips" not in advice(a_plan(moosgrund, columns=4))


@pytest.mark.parametrize(("temperature_c", "cold"), [(12.7, True), (12.8, False)])
def test_the_least_temperature_itself_is_warm_enough(moosgrund, temperature_c, cold):
    shop = altered(moosgrund, workshop_climate={"temperature_c": temperature_c})
    assert ("cold-for-adhesive" in advice(a_plan(shop))) is cold


def test_a_cold_workshop_is_told_before_it_glues(moosgrund):
    cold = altered(moosgrund, workshop_climate={"temperature_c": 12.0})
    assert "12.8 degC" in advice(a_plan(cold))["cold-for-adhesive"].text
    assert "cold-for-adhesive" not in advice(a_plan(moosgrund))


def test_oily_timbers_are_named(moosgrund):
    lumber = {**moosgrund.lumber, "teak": replace(moosgrund.lumber["wenge"], species="teak")}
    shop = replace(moosgrund, lumber=lumber)
    assert "Teak" in advice(a_plan(shop, dark="teak"))["oily-timber"].text
    assert "oily-timber" not in advice(a_plan(shop))


def test_a_skirt_of_a_timber_is_bought(moosgrund):
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=20.0, skirt=Skirt(species="pear", width_mm=8.0))
    plan = a_plan(moosgrund, base=base)
    pear = [part for part in plan.cutting.parts if part.role is Role.SKIRT]
    expected = sum(part.count * part.final.length_mm * part.final.width_mm * part.final.thickness_mm for part in pear)
    assert timber(plan)["pear"].net_m3 == pytest.approx(expected * 1e-9)
