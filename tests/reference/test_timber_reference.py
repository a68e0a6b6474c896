"""Moisture against the Wood Handbook: its equation in both unit systems, and its table."""

import itertools

import pytest
from reference.checks import checks

from chequerwork.domain.wood.timber import emc_pct, fibreboard_mc_pct

FORMS_AGREE_PCT = 0.041  # WOOD-NOTES section 3: the two printed forms, 30 to 270 degF and 5 to 95 %, worst at 270, 95


def fahrenheit_form(temperature_f, rh_pct):
    """WH21-4, p. 4-3, Equation 4-5 with the printed degF constants: not the ones of the code."""
    t, h = temperature_f, rh_pct / 100
    w = 330 + 0.452 * t + 0.00415 * t**2
    k = 0.791 + 0.000463 * t - 0.000000844 * t**2
    k1 = 6.34 + 0.000775 * t - 0.0000935 * t**2
    k2 = 1.09 + 0.0284 * t - 0.0000904 * t**2
    first = k * h / (1 - k * h)
    above = k1 * k * h + 2 * k1 * k2 * (k * h) ** 2
    return 1800 / w * (first + above / (1 + k1 * k * h + k1 * k2 * (k * h) ** 2))


def ours(temperature_f, rh_pct):
    return emc_pct(temperature_c=(temperature_f - 32) / 1.8, rh_pct=rh_pct)


@pytest.mark.parametrize(
    "check", [check for check in checks("timber") if "degF form" in check.locator], ids=lambda c: c.id
)
def test_the_fahrenheit_rows_are_those_of_the_fahrenheit_form(check):
    assert fahrenheit_form(**check.inputs) == pytest.approx(check.expected, abs=0.00005)


@pytest.mark.parametrize("check", checks("emc_table"), ids=lambda check: f"{check.source}, {check.locator}")
def test_the_fahrenheit_form_gives_the_printed_table_too(check):
    """Never met by rounding: 70 degF and 85 % is printed 17.9 where the equation gives 17.96."""
    assert fahrenheit_form(**check.inputs) == pytest.approx(check.expected, abs=check.tol)


def test_both_printed_forms_of_the_equation_agree():
    """From 35 to 265 degF and 5 to 95 % they are never farther apart than published for 30 to 270 degF."""
    grid = itertools.product(range(35, 266, 5), range(5, 96, 5))
    assert max(abs(ours(t, rh) - fahrenheit_form(t, rh)) for t, rh in grid) <= FORMS_AGREE_PCT


def test_both_printed_forms_are_close_indoors():
    """WOOD-NOTES section 3: 50 to 90 degF and 20 to 80 %, at most 0.008 apart."""
    grid = itertools.product(range(50, 91), range(20, 81))
    assert max(abs(ours(t, rh) - fahrenheit_form(t, rh)) for t, rh in grid) == pytest.approx(0.008, abs=0.0005)


@pytest.mark.parametrize(
    ("rh_pct", "low_pct", "high_pct"), [(30, 6, 8), (45, 7, 9), (65, 9, 11), (75, 10, 12), (90, 15, 16)]
)
def test_moisture_of_fibreboard_lies_in_the_printed_band(rh_pct, low_pct, high_pct):
    """EWPAA p. 37."""
    assert low_pct < fibreboard_mc_pct(rh_pct) < high_pct


def test_fibreboard_swings_about_half_as_far_as_wood():
    """WOOD-NOTES section 4.2: from 30 to 65 % about 3 points against 5.8 of wood."""
    assert fibreboard_mc_pct(65) - fibreboard_mc_pct(30) == pytest.approx(3, abs=0.05)
    wood = emc_pct(temperature_c=20, rh_pct=65) - emc_pct(temperature_c=20, rh_pct=30)
    assert wood == pytest.approx(5.8, abs=0.05)
