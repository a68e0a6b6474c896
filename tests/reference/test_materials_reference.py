"""Board feet by the published tally: its roundings, and what it is not."""

import json

import pint
import pytest
from builders import table_rows

from chequerwork.domain.making.lumber import BOARD_FOOT_M3, FOOT2_M2, board_feet, surface_measure


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
