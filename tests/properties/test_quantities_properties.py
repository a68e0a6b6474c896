"""Quantities, for any number and any text: what is read equals exact arithmetic, nothing else gets through.

The inch is 25.4 mm exactly, the pound 453.59237 g exactly, the US gallon 231 in3 (NIST Special Publication 811,
appendix B.8; from memory). Expected values are computed here from those, not from the tables under test.
"""

import math
import unicodedata
from fractions import Fraction

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st
from quantity_readers import parse_length_exact, parse_volume

from chequerwork.domain.basics.errors import BadQuantity
from chequerwork.quantities import (
    LENGTH_UNITS,
    format_force,
    format_length,
    format_mass,
    format_temperature,
    format_volume,
    length_in_unit,
    parse_duration,
    parse_force,
    parse_length,
    parse_mass,
    parse_percent,
    parse_temperature,
)

no_deadline = settings(deadline=None)
many = settings(no_deadline, max_examples=4 * no_deadline.max_examples)

INCH = Fraction("25.4")
MM_PER = {"mm": Fraction(1), "cm": Fraction(10), "m": Fraction(1000), "in": INCH, '"': INCH, "ft": 12 * INCH}
OUNCE_G = Fraction("453.59237") / 16
POUND_FORCE_N = Fraction("0.45359237") * Fraction("9.80665")
FLUID_OUNCE_ML = 231 * Fraction("2.54") ** 3 / 128
# Half a step is kept but for the rounding of the floats themselves.
HALF = Fraction(1, 2) * (1 + Fraction(1, 10**9))

BOUNDS = {
    parse_length: (0, 100_000),
    parse_length_exact: (0, 100_000),
    parse_temperature: (-50, 150),
    parse_percent: (0, 1000),
    parse_mass: (0, 1_000_000),
    parse_volume: (0, 10_000_000),
    parse_duration: (0, 1_440_000),
    parse_force: (0, 100_000),
}
parsers = st.sampled_from(list(BOUNDS))
units = st.sampled_from(list(MM_PER))
spaces = st.text(alphabet=" \u00a0\u202f", max_size=2)
digits = st.text(alphabet="0123456789", min_size=1, max_size=12)
counts = st.integers(0, 10**6)


@st.composite
def numbers(draw):
    """A number as a person may write it, and its value as ``Fraction`` reads the pieces."""
    whole, form = draw(digits), draw(st.sampled_from(["whole", "decimal", "point first", "fraction", "mixed"]))
    if form == "whole":
        return whole, Fraction(whole)
    if form in ("decimal", "point first"):
        text = ("" if form == "point first" else whole) + "." + draw(digits)
        return text, Fraction("0" + text)
    slash = draw(st.sampled_from("/\u2044"))
    below = draw(st.integers(1, 10**6))
    above = draw(st.integers(0, below - 1 if form == "mixed" else 10**6))
    if form == "fraction":
        return f"{above}{slash}{below}", Fraction(above, below)
    return f"{whole}{draw(st.sampled_from([' ', '-', '  ']))}{above}{slash}{below}", int(whole) + Fraction(above, below)


def outcome_of(parse, text):
    """The value, or the refusal; any other error is the test's."""
    try:
        return parse(text)
    except BadQuantity as refusal:
        return refusal


# What is read ---------------------------------------------------------------------------------------------------------


@no_deadline
@given(number=numbers(), unit=units, before=spaces, between=spaces, after=spaces)
def test_a_length_equals_exact_arithmetic(number, unit, before, between, after):
    text = f"{before}{number[0]}{between}{unit}{after}"
    assume(len(text) <= 40)
    expected_mm = number[1] * MM_PER[unit]
    if expected_mm > 100_000:
        with pytest.raises(BadQuantity) as caught:
            parse_length(text)
        assert caught.value.code == "out-of-range"
    else:
        assert parse_length_exact(text) == expected_mm
        assert parse_length(text) == float(expected_mm)


@no_deadline
@given(mm=st.floats(0, 100_000).filter(lambda mm: "e" not in repr(mm)))
def test_a_float_written_by_a_computer_is_read_as_that_float(mm):
    assert parse_length(f"{mm!r} mm") == mm


@no_deadline
@given(number=numbers(), below_zero=st.booleans(), unit=st.sampled_from(["°C", "C", "degC", "°F", "F", "degF"]))
def test_a_temperature_equals_exact_arithmetic(number, below_zero, unit):
    degrees = -number[1] if below_zero else number[1]
    expected_c = (degrees - 32) * 5 / 9 if "F" in unit else degrees
    text = f"{'-' if below_zero else ''}{number[0]} {unit}"
    if -50 <= expected_c <= 150:
        assert parse_temperature(text) == float(expected_c)
    else:
        with pytest.raises(BadQuantity):
            parse_temperature(text)


@no_deadline
@given(number=numbers(), unit=units)
def test_capitals_make_no_difference(number, unit):
    text = f"{number[0]} {unit}"
    small = outcome_of(parse_length_exact, text)
    for other in (text.upper(), text.title()):
        found = outcome_of(parse_length_exact, other)
        assert getattr(found, "code", found) == getattr(small, "code", small)


# Any text at all ------------------------------------------------------------------------------------------------------


def answers_or_refuses(parse, text):
    low, high = BOUNDS[parse]
    outcome = outcome_of(parse, text)
    if isinstance(outcome, BadQuantity):
        assert outcome.code
        assert outcome.detail.isprintable()
        assert len(outcome.detail) < 600
        assert outcome.detail.encode("utf-8")
    else:
        assert math.isfinite(outcome)
        assert low <= outcome <= high


@many
@given(parse=parsers, text=st.text(alphabet=st.characters(codec=None, exclude_categories=()), max_size=60))
@example(parse=parse_length, text="9**9**9 in")
@example(parse=parse_length, text="\ud800")
def test_any_text_is_read_or_refused(parse, text):
    answers_or_refuses(parse, text)


@many
@given(
    parse=parsers,
    text=st.text(alphabet="0123456789./-+,*^e_ \u2044\u2212\u00a0\n¼½⅞²٣mcinftkgozlqhd%°CF\"″'", max_size=16),
)
def test_any_text_of_nearly_right_characters_is_read_or_refused(parse, text):
    answers_or_refuses(parse, text)


@many
@given(number=numbers(), unit=units, at=st.integers(0, 40), stray=st.characters(exclude_categories=()))
def test_a_stray_character_is_never_passed_over(number, unit, at, stray):
    """A slip of one character is refused, unless the grammar gives that character a meaning."""
    text = f"{number[0]} {unit}"
    slipped = text[:at] + stray + text[at:]
    if stray not in "0123456789./\u2044- \u00a0\u202f¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞cCmM":
        assert isinstance(outcome_of(parse_length, slipped), BadQuantity)


@no_deadline
@given(digit=st.characters(categories=["Nd", "Nl", "No"]), unit=units)
def test_digits_of_other_scripts_are_refused(digit, unit):
    assume(not digit.isascii() and "FRACTION" not in unicodedata.name(digit))
    for text in (f"{digit} {unit}", f"1{digit} {unit}", f"1.{digit} {unit}", f"1 {digit}/4 {unit}"):
        with pytest.raises(BadQuantity):
            parse_length(text)


# Out and back in ------------------------------------------------------------------------------------------------------


@no_deadline
@given(mm=st.floats(0, 99_999))
def test_a_written_length_is_within_half_a_step(mm):
    assert abs(parse_length_exact(format_length(mm, "metric")) - Fraction(mm)) <= HALF * Fraction(1, 10)
    assert abs(parse_length_exact(format_length(mm, "imperial")) - Fraction(mm)) <= HALF * INCH / 32


@no_deadline
@given(mm=st.floats(-99_999, 99_999), units=st.sampled_from(["metric", "imperial"]))
def test_a_negative_length_is_the_positive_one_with_a_sign(mm, units):
    positive, written = format_length(abs(mm), units), format_length(mm, units)
    assert written == (positive if mm >= 0 or positive in ("0 mm", "0 in") else f"-{positive}")


@no_deadline
@given(first=st.floats(0, 99_999), second=st.floats(0, 99_999), units=st.sampled_from(["metric", "imperial"]))
def test_a_longer_length_is_never_written_shorter(first, second, units):
    shorter, longer = sorted([first, second])
    assert parse_length_exact(format_length(shorter, units)) <= parse_length_exact(format_length(longer, units))


@no_deadline
@given(g=st.floats(0, 999_990))
def test_a_written_mass_is_within_half_a_step(g):
    step_g = 1 if g < 999.5 else 10
    assert abs(parse_mass(format_mass(g, "metric")) - Fraction(g)) <= HALF * step_g
    written = format_mass(g, "imperial")
    pounds, _, ounces = written.rpartition(" lb ") if " lb " in written else ("", "", written)
    found_g = parse_mass(ounces) + (parse_mass(f"{pounds} lb") if pounds else 0)
    step_oz = 1 if "lb" in written else Fraction(1, 10)
    assert abs(Fraction(found_g) - Fraction(g)) <= HALF * step_oz * OUNCE_G


@no_deadline
@given(ml=st.floats(0, 9_999_990))
def test_a_written_volume_is_within_half_a_step(ml):
    step_ml = 1 if ml < 999.5 else 10
    assert abs(Fraction(parse_volume(format_volume(ml, "metric"))) - Fraction(ml)) <= HALF * step_ml
    assert abs(Fraction(parse_volume(format_volume(ml, "imperial"))) - Fraction(ml)) <= HALF * FLUID_OUNCE_ML / 10


@no_deadline
@given(n=st.floats(0, 99_990))
def test_a_written_force_is_within_half_a_step(n):
    step_n = 1 if n < 999.5 else 100
    assert abs(Fraction(parse_force(format_force(n, "metric"))) - Fraction(n)) <= HALF * step_n
    assert abs(Fraction(parse_force(format_force(n, "imperial"))) - Fraction(n)) <= HALF * POUND_FORCE_N


@no_deadline
@given(c=st.floats(-49.5, 149.5))
def test_a_written_temperature_is_within_half_a_step(c):
    assert abs(Fraction(parse_temperature(format_temperature(c, "metric"))) - Fraction(c)) <= HALF / 10
    assert abs(Fraction(parse_temperature(format_temperature(c, "imperial"))) - Fraction(c)) <= HALF * Fraction(5, 9)


@no_deadline
@given(mm=st.floats(-1e6, 1e6), unit=st.sampled_from(LENGTH_UNITS))
def test_a_length_in_a_unit_is_the_length_over_that_unit(mm, unit):
    assert length_in_unit(mm, unit) == pytest.approx(float(Fraction(mm) / MM_PER[unit]), rel=1e-15, abs=0)
