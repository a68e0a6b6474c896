"""What joints of end grain bear when somebody leans on a board that nothing else holds."""

import pytest
from builders import a_frame, an_order, reordered
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.domain.order.order import Hold, Joint
from chequerwork.domain.order.request import BaseRequest
from chequerwork.domain.wood.support import (
    LEAN_N,
    bending_stress_mpa,
    end_grain_strength_mpa,
    field_is_supported,
    support_margin,
    thickness_for_margin_mm,
    thickness_for_stress_mm,
)

MDF = BaseRequest(material="mdf", thickness_mm=9.0)


def margin_of(order, tables):
    return support_margin(order.field, order.frame, order.base, tables)


def test_stress_of_a_board_on_its_two_ends():
    """By hand, 400 x 400 x 20 mm of 650 kg/m3 under 200 N: M = 20 000 + 20.4 x 50 = 21 020 N mm, W = 26 667 mm3."""
    assert bending_stress_mpa(400.0, 400.0, 20.0, 650.0, 200.0) == pytest.approx(0.7882, abs=5e-5)


def test_margin_of_a_plain_board_by_hand(moosgrund, tables):
    """Sycamore 640 kg/m3 is the weaker: 0.25 x 171.3 x (640 / 1120)^1.13 = 22.75 MPa; 384 x 384 x 18 mm, 655 kg/m3."""
    order = an_order(moosgrund)
    assert end_grain_strength_mpa(640 / 1120) == pytest.approx(22.75, abs=0.01)
    stress_mpa = bending_stress_mpa(384.0, 384.0, 18.0, 655.0, LEAN_N)
    assert margin_of(order, tables) == pytest.approx(22.75 / stress_mpa, rel=1e-3)


@pytest.mark.parametrize(
    "build",
    [
        {"frame": a_frame()},
        {"frame": a_frame(hold=Hold.GLUED, joint=Joint.BUTT)},
        {"base": MDF},
        {"frame": a_frame(thickness_mm=18.0), "base": MDF},
    ],
    ids=["floating in mitres", "glued in butts", "on a base", "floating over a base"],
)
def test_a_frame_or_a_base_supports_the_field(moosgrund, tables, build):
    order = an_order(moosgrund, **build)
    assert field_is_supported(order.frame, order.base)
    assert margin_of(order, tables) is None


@pytest.mark.parametrize("margin", [1.0, 3.0, 10.0, 50.0])
def test_a_field_of_the_thickness_for_a_margin_has_that_margin(moosgrund, tables, margin):
    order = an_order(moosgrund)
    thick = reordered(order, thickness_mm=thickness_for_margin_mm(order.field, tables, margin))
    assert margin_of(thick, tables) == pytest.approx(margin)


@given(
    length_mm=st.floats(50, 1500),
    width_mm=st.floats(50, 1500),
    density_kg_m3=st.floats(300, 1200),
    load_n=st.floats(0, 2000),
    stress_mpa=st.floats(0.05, 60),
)
def test_the_thickness_for_a_stress_has_that_stress(length_mm, width_mm, density_kg_m3, load_n, stress_mpa):
    thickness_mm = thickness_for_stress_mm(length_mm, width_mm, density_kg_m3, load_n, stress_mpa)
    found = bending_stress_mpa(length_mm, width_mm, thickness_mm, density_kg_m3, load_n)
    assert found == pytest.approx(stress_mpa, rel=1e-9)


def test_a_thicker_or_shorter_field_never_bears_less(moosgrund, tables):
    base = margin_of(an_order(moosgrund), tables)
    assert margin_of(an_order(moosgrund, thickness_mm=20.0), tables) > base
    assert margin_of(an_order(moosgrund, rows=4), tables) > base
