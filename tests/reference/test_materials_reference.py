"""Board feet by the published tally, adhesive and blanks by the trade's examples."""

import json
from dataclasses import replace

import pint
import pytest
from builders import a_plan, altered, published, table_rows

from chequerwork.domain.cutting import Strip
from chequerwork.domain.geometry import Rect
from chequerwork.domain.lumber import BOARD_FOOT_M3, FOOT2_M2, board_feet, surface_measure
from chequerwork.domain.materials import adhesive_per_board_g, blanks_per_sheet


def board_feet_of_one_board(*, width_in, length_ft, thickness_in):
    """Surface measure, then thickness; the tally of a lot of this one board must agree."""
    feet = surface_measure(width_in=width_in, length_ft=length_ft) * thickness_in
    assert board_feet(area_m2=width_in / 12 * length_ft * FOOT2_M2, nominal_in=thickness_in) == feet
    return feet


@pytest.fixture(scope="module")
def functions(tables, moosgrund):
    def adhesive_g(*, strips, rows, panel_length_mm, panel_width_mm, thickness_mm, spread_g_m2, waste_pct=0):
        shop = altered(moosgrund, consumables={"adhesive": "pva_d4", "adhesive_waste_pct": waste_pct})
        adhesive = replace(tables.adhesives["pva_d4"], spread_g_m2=spread_g_m2)
        facts = altered(tables, adhesives={**tables.adhesives, "pva_d4": adhesive})
        plan = a_plan(shop)
        strip = Strip(species="pear", count=strips, width_mm=panel_width_mm / strips, length_mm=panel_length_mm)
        cutting = replace(
            plan.cutting,
            strips=(strip,),
            panel=Rect(length_mm=panel_length_mm, width_mm=panel_width_mm),
            panel_thickness_mm=thickness_mm,
            parts=(),
        )
        return adhesive_per_board_g(replace(plan.order, rows=rows), shop, facts, plan.geometry, cutting)

    return {
        "board_foot_m3": lambda: BOARD_FOOT_M3,
        "board_feet_of_one_board": board_feet_of_one_board,
        "coverage_m2_l": lambda *, finish: tables.finishes[finish].coverage_m2_l,
        "adhesive_g": adhesive_g,
        "blanks_per_sheet": blanks_per_sheet,
    }


@pytest.mark.parametrize("row", published("materials"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


def test_the_unit_library_has_the_same_board_foot():
    """pint 0.25, ``board_foot``: a plain volume, as ours is."""
    registry = pint.UnitRegistry()
    assert registry.Quantity(1, "board_foot").to("meter ** 3").magnitude == pytest.approx(BOARD_FOOT_M3, rel=1e-12)
    feet_per_m3 = 1 / BOARD_FOOT_M3
    assert feet_per_m3 == pytest.approx(423.776, abs=0.0005)  # WOOD-NOTES section 7


def test_trade_measure_is_not_a_plain_volume():
    """AHEC: 6 1/2 in x 8 ft x 1 in is 4 board feet by the tally, 4.33 by volume."""
    row = next(row for row in table_rows("materials") if row["id"] == "bf-04")
    given = json.loads(row["inputs"])
    volume_m3 = given["width_in"] * given["length_ft"] * 12 * given["thickness_in"] * 25.4**3 * 1e-9
    assert volume_m3 / BOARD_FOOT_M3 == pytest.approx(4.333, abs=0.0005)


@pytest.mark.parametrize(("width_in", "expected"), [(5.25, 4), (3.75, 3), (2.25, 2)])
def test_an_exact_half_of_surface_measure_goes_up(width_in, expected):
    """NHLA, from memory: halves go up and down in turn, which one board cannot do, so it goes up: 3.5, 2.5, 1.5."""
    assert surface_measure(width_in=width_in, length_ft=8) == expected


def test_length_of_a_board_is_cut_down_to_the_whole_foot():
    """AHEC: 10 in x 13 ft 11 in counts as 13 ft."""
    assert surface_measure(width_in=10, length_ft=13 + 11 / 12) == surface_measure(width_in=10, length_ft=13) == 11


def test_stock_under_an_inch_is_charged_as_an_inch():
    """AHEC: board measure of thin stock."""
    assert board_feet(area_m2=4 * FOOT2_M2, nominal_in=0.5) == board_feet(area_m2=4 * FOOT2_M2, nominal_in=1.0) == 4
