"""Change of size against the Wood Handbook and its kin, and the bow against an independent form of the bimetal law."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reference.checks import checks

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.board.geometry import MASS_SPREAD
from chequerwork.domain.wood.flatness import Layer, curvature
from chequerwork.domain.wood.movement import (
    BAND,
    change_by_coefficient_mm,
    change_by_shrinkage_mm,
    change_mm,
    mitre_gap_mm,
)

CASES = settings(max_examples=200, deadline=None, derandomize=True)


def bimetal_curvature(a1, e1, strain1, a2, e2, strain2):
    """Timoshenko (1925), Eq 4 (number from memory): 6 (e2 - e1)(1 + m)^2 / {h [3 (1 + m)^2 + (1 + mn)(m^2 + 1/mn)]}."""
    m, n, h = a1 / a2, e1 / e2, a1 + a2
    below = h * (3 * (1 + m) ** 2 + (1 + m * n) * (m * m + 1 / (m * n)))
    return 6 * (strain2 - strain1) * (1 + m) ** 2 / below


def rows(table, start):
    return [check for check in checks(table) if check.id.startswith(start)]


@pytest.mark.parametrize("check", rows("flatness", "bimetal-"), ids=lambda check: check.id)
def test_the_bimetal_rows_are_those_of_the_bimetal_formula(check):
    """TIMO. Half of the sixth digit, as the rows have it."""
    (lower, upper) = check.inputs["layers"]
    assert bimetal_curvature(*lower, *upper) == pytest.approx(check.expected, abs=check.tol)


def slope_of_strains(layers, slices=400):
    """Least strain energy: the straight line nearest to the free strains of thin slices, weighted by stiffness."""
    points, bottom = [], 0.0
    for thickness, modulus, strain in layers:
        thin = thickness / slices
        points += [(bottom + (each + 0.5) * thin, modulus * thin, strain) for each in range(slices)]
        bottom += thickness
    weight = math.fsum(w for _, w, _ in points)
    middle = math.fsum(z * w for z, w, _ in points) / weight
    across = math.fsum((z - middle) * w * strain for z, w, strain in points)
    return across / math.fsum((z - middle) ** 2 * w for z, w, _ in points)


@pytest.mark.parametrize("check", rows("flatness", "line-"), ids=lambda check: check.id)
def test_the_rows_of_many_layers_are_those_of_the_nearest_straight_line(check):
    """GRO18's theory by another way than balance of forces; slices cost less than a ten-thousandth."""
    assert slope_of_strains(check.inputs["layers"]) == pytest.approx(check.expected, rel=1e-4)


@pytest.mark.parametrize("check", rows("movement", "linear-"), ids=lambda check: check.id)
def test_the_rows_of_the_shrinkage_form_are_of_linear_shrinkage(check):
    """WOOD-NOTES section 2.2: d(M) = 1 - S (30 - M) / 3000 of the green width."""
    before, after = (
        1 - check.inputs["shrinkage_pct"] * (30 - check.inputs[end]) / 3000 for end in ("from_pct", "to_pct")
    )
    assert check.inputs["width_mm"] * (after / before - 1) == pytest.approx(check.expected, abs=check.tol)


def test_a_second_source_is_held_to_the_band_that_answers_state():
    """A quarter for movement; a tenth for mass."""
    bands = {check.function: check.tol for check in checks("second_sources") if check.unit == "ratio"}
    assert bands == {
        "coefficient_over_ours": BAND,
        "implied_over_ours": BAND,
        "shrinkage_over_ours": BAND,
        "density_over_ours": MASS_SPREAD,
    }


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
