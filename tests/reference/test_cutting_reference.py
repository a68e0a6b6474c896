"""Rough lengths and widths against public examples, and the trade's habit against the computed need."""

import pytest
from builders import a_plan, altered, an_order

from chequerwork.domain.making.cutting import length_needed_mm, rip_width_mm

IN = 25.4


@pytest.mark.parametrize(("squares", "left_mm"), [(8, 50.6), (10, 44.2), (12, 37.8)])
def test_eight_squares_plus_three_inches_leaves_less_and_less(squares, left_mm):
    """Common practice, no source: N squares + 76.2 mm. TRADE-STRIP (B05): with 3.2 mm kerfs the rest melts away."""
    kerfs_alone = {"kerf_mm": 3.2, "spare": 0, "dressing_mm": 0, "squaring_mm": 0, "ends_mm": 0}
    needed_mm = length_needed_mm(squares=squares, square_mm=48.0, **kerfs_alone)
    assert squares * 48.0 + 76.2 - needed_mm == pytest.approx(left_mm, abs=0.05)


@pytest.mark.parametrize(("rows", "short_mm"), [(8, 46.2), (10, 53.4), (12, 60.6)])
def test_the_habit_is_too_short_for_a_spare_bar(moosgrund, rows, short_mm):
    """Common practice, no source, against one spare bar and this shop's settings.

    By hand: (N + 1)(48 + 0.4 dressing + 3.2 kerf) + 12 squaring + 30 ends, less 48 N + 76.2.
    """
    crosscuts = a_plan(moosgrund, rows=rows).cutting.crosscuts
    assert crosscuts.length_needed_mm - (rows * 48.0 + 76.2) == pytest.approx(short_mm)


@pytest.mark.parametrize(("rows", "enough"), [(8, True), (10, True), (12, False)])
def test_without_spare_and_dressing_the_habit_serves_small_boards_only(moosgrund, rows, enough):
    """Common practice, no source. By hand: 51.2 N + 42 against 48 N + 76.2: even at N = 10.7."""
    shop = altered(moosgrund, machines={"spare_bars": 0, "dressing_mm": 0.0})
    assert (a_plan(shop, rows=rows).cutting.crosscuts.length_needed_mm <= rows * 48.0 + 76.2) is enough


def test_ten_strips_of_a_board_cost_one_kerf_more_here_than_in_the_public_check():
    """TRADE-STRIP (B06): 15 in cut into 10 with nine 1/8 in kerfs gives 1.3875 in; we charge a kerf per strip."""
    needed_mm = rip_width_mm(strips=10, width_mm=1.3875 * IN, kerf_mm=IN / 8, jointing_mm=0)
    assert needed_mm - IN / 8 == pytest.approx(15 * IN)


def test_nineteen_millimetres_are_the_most_from_4_4_stock(moosgrund):
    """TRADE-STRIP (B10): 19.04 mm after two faces of 3/32 in and two flattenings of 0.8 mm."""
    shop = altered(moosgrund, machines={"planing_face_mm": 3 / 32 * IN, "flattening_mm": 0.8})
    for thickness_mm, rough_class in ((19.0, "4/4"), (19.1, "5/4")):
        rough_mm = shop.machines.rough_field_thickness_mm(an_order(shop, thickness_mm=thickness_mm).field.thickness_mm)
        assert (rough_mm <= 25.4) is (rough_class == "4/4")
