"""Change of size against the Wood Handbook and its kin, and the bow against an independent form of the bimetal law."""

import math
from dataclasses import replace

import pytest
from builders import an_order, published
from hypothesis import given, settings
from hypothesis import strategies as st

from chequerwork.domain.facts import Grain
from chequerwork.domain.flatness import Layer, curvature, flatten
from chequerwork.domain.movement import (
    Air,
    Moisture,
    Year,
    change_by_coefficient_mm,
    change_by_shrinkage_mm,
    change_mm,
    mitre_gap_mm,
    swing,
)
from chequerwork.domain.order import Base
from chequerwork.domain.timber import fibreboard_mc_pct

CASES = settings(max_examples=200, deadline=None, derandomize=True)


def sawn(shop, grain):
    """The shop with all its lumber sawn one way."""
    lumber = {key: replace(each, grain=Grain(grain)) for key, each in shop.lumber.items()}
    return replace(shop, lumber=lumber)


def year_between(tables, *moisture):
    """A year of the given moisture contents of wood, in rooms of 45 % and, in the damp season, 65 %."""
    year = Year(tables, Air(20.0, 45.0), Air(20.0, 45.0), Air(20.0, 65.0))
    year.moisture = Moisture(*moisture)
    return year


@pytest.fixture(scope="module")
def functions(tables, willet_slough):
    def inner(*, light, dark, columns, square_mm, grain, from_pct, to_pct):
        shop = sawn(willet_slough, grain)
        order = an_order(shop, light=light, dark=dark, columns=columns, square_mm=square_mm, pattern=None)
        return swing(order, shop, year_between(tables, from_pct, from_pct, to_pct)).swell_mm

    def bow(*, grain, field_mm, sheet_mm):
        """Sugar maple alone on MDF: +3 % in the wood and +2 % in the board, from 45 to 65 % humidity."""
        assert fibreboard_mc_pct(65) - fibreboard_mc_pct(45) == 2
        shop = sawn(willet_slough, grain)
        order = an_order(shop, square_mm=50.0)
        alone = {"dark": order.light, "dark_grain": order.light_grain, "thickness_mm": field_mm}
        order = replace(order, **alone, base=Base(material="mdf", thickness_mm=sheet_mm))
        year = year_between(tables, 7.0, 7.0, 10.0)
        return flatten(order, tables, year, swing(order, shop, year)).across_mm

    return {
        "change_by_coefficient_mm": change_by_coefficient_mm,
        "change_by_shrinkage_mm": change_by_shrinkage_mm,
        "curvature": lambda *, layers: curvature([Layer(*layer) for layer in layers]),
        "mitre_gap_mm": mitre_gap_mm,
        "inner_change_mm": inner,
        "bow_of_a_400_mm_field": bow,
    }


@pytest.mark.parametrize("row", published("movement"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


def bimetal_curvature(a1, e1, strain1, a2, e2, strain2):
    """Timoshenko (1925), Eq 4 (number from memory): 6 (e2 - e1)(1 + m)^2 / {h [3 (1 + m)^2 + (1 + mn)(m^2 + 1/mn)]}."""
    m, n, h = a1 / a2, e1 / e2, a1 + a2
    below = h * (3 * (1 + m) ** 2 + (1 + m * n) * (m * m + 1 / (m * n)))
    return 6 * (strain2 - strain1) * (1 + m) ** 2 / below


thicknesses = st.floats(0.5, 40)
moduli = st.floats(300, 20_000)
strains = st.floats(-0.03, 0.03)


@CASES
@given(thicknesses, moduli, strains, thicknesses, moduli, strains)
def test_two_layers_bend_as_the_bimetal_formula_says(a1, e1, strain1, a2, e2, strain2):
    """TIMO. Ours sums forces and moments over any number of layers; the formula above knows two."""
    ours = curvature([Layer(a1, e1, strain1), Layer(a2, e2, strain2)])
    scale = max(abs(strain1), abs(strain2), 1e-6) / (a1 + a2)  # both subtract nearly equal strains
    assert ours == pytest.approx(bimetal_curvature(a1, e1, strain1, a2, e2, strain2), rel=1e-6, abs=1e-9 * scale)


@CASES
@given(thicknesses, moduli, strains, thicknesses, moduli, strains)
def test_a_balanced_lay_up_stays_flat(outer, e_outer, strain_outer, inner, e_inner, strain_inner):
    """WOOD-NOTES section 4: an equal layer on the back gives no curvature."""
    face = Layer(outer, e_outer, strain_outer)
    bent = curvature([face, Layer(inner, e_inner, strain_inner), face])
    assert bent == pytest.approx(0, abs=1e-12)


@CASES
@given(st.floats(10, 120), st.floats(-0.03, 0.03))
def test_mitre_gap_is_the_geometry_of_two_mitred_rails(width_mm, strain):
    """WOOD-NOTES section 5: each end now makes arctan(1 + e) with its edge; the open ends part by sqrt(2) w |e|.

    The printed gap is of first order in the strain: at 3 % the chord across the exact angle is 2 % shorter.
    """
    angle = 2 * math.atan(1 + strain) - math.pi / 2
    joint_mm = math.hypot(width_mm, width_mm * (1 + strain))
    chord_mm = 2 * joint_mm * math.sin(abs(angle) / 2)
    assert mitre_gap_mm(width_mm=width_mm, strain=strain) == pytest.approx(chord_mm, rel=0.02, abs=1e-9)


def test_coefficient_form_stays_within_1_7_percent_of_the_shrinkage_form():
    """WOOD-NOTES section 2.3: the constant coefficient costs at most 1.7 % anywhere in 6 to 14 %, S up to 11.9 %."""
    worst = 0.0
    for shrinkage in (1.0, 3.7, 7.8, 9.9, 11.9):
        coefficient = shrinkage / (3000 - 20 * shrinkage)
        for start in range(6, 15):
            for end in set(range(6, 15)) - {start}:
                given_form = {"width_mm": 100.0, "from_pct": start, "to_pct": end}
                exact = change_by_shrinkage_mm(shrinkage_pct=shrinkage, **given_form)
                worst = max(worst, abs(change_by_coefficient_mm(coefficient=coefficient, **given_form) / exact - 1))
    assert worst == pytest.approx(0.017, abs=0.0005)


def test_shrinkage_form_is_linear_shrinkage_from_green(tables):
    """WOOD-NOTES section 2.2: exact for d(M) = 1 - S (30 - M) / 3000, here outside 6 to 14 % and run backwards."""
    species = tables.species["american_beech"]
    for start, end in ((0, 5), (3, 6), (15, 22), (14, 30), (28, 16)):
        per_mm = [1 - species.shrink_tangential_pct * (30 - mc) / 3000 for mc in (start, end)]
        swollen = change_mm(width_mm=200, species=species, grain=Grain.FLAT, from_pct=start, to_pct=end)
        assert swollen == pytest.approx(200 * (per_mm[1] / per_mm[0] - 1), rel=1e-9)
        back = change_mm(width_mm=200 + swollen, species=species, grain=Grain.FLAT, from_pct=end, to_pct=start)
        assert back == pytest.approx(-swollen, rel=1e-9)
