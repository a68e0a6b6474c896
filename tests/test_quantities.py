"""Quantities: what is read, what is refused and with which words, what is written.

Sources
-------
CFR: 16 CFR 500.19(a), table "SI Metric Inch/Pound Conversion Factors" (US, read in its text): six digits, or exact
    where it says so.
SP811: NIST Special Publication 811 (2008), Guide for the Use of the SI, appendix B.8: definitions of the inch
    (25.4 mm exactly), the avoirdupois pound (0.453 592 37 kg exactly) and the US gallon (231 in3); from memory.
WOOD: reference row bf-01 of wood_checks.csv, one board foot in m3 (verified in its text).
"""

import copy
import re
import time
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from functools import cache, partial

import pint
import pytest
from quantity_readers import parse_length_exact, parse_volume

from chequerwork import quantities
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

INCH = Fraction("25.4")
every_unit = cache(partial(pint.UnitRegistry, non_int_type=Fraction))  # all that pint ships, read once
NBSP, NARROW_NBSP, FRACTION_SLASH, MINUS = "\u00a0", "\u202f", "\u2044", "\u2212"

KINDS = {
    "length": (parse_length, quantities._LENGTH, "millimeter"),
    "temperature": (parse_temperature, quantities._TEMPERATURE, "degree_Celsius"),
    "percentage": (parse_percent, quantities._PERCENTAGE, "percent"),
    "mass": (parse_mass, quantities._MASS, "gram"),
    "volume": (parse_volume, quantities._VOLUME, "milliliter"),
    "duration": (parse_duration, quantities._DURATION, "minute"),
    "force": (parse_force, quantities._FORCE, "newton"),
}


def refused(parse, text):
    with pytest.raises(BadQuantity) as caught:
        parse(text)
    return caught.value


# Published factors ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parse", "text", "expected", "source"),
    [
        (parse_length, "1 in", 25.4, "SP811 inch, exact; CFR 1 inch = 2.54 cm exactly"),
        (parse_length, "1 ft", 304.8, "CFR 1 foot = 30.48 cm exactly"),
        (parse_mass, "1 lb", 453.59237, "SP811 pound, exact"),
        (parse_mass, "16 oz", 453.59237, "SP811 ounce = 1/16 pound"),
        (parse_volume, "1 gal", 3785.411784, "SP811 gallon = 231 in3, so 231 * 2.54**3 ml"),
    ],
)
def test_a_defined_factor_is_met_exactly(parse, text, expected, source):
    assert parse(text) == expected, source


@pytest.mark.parametrize(
    ("parse", "text", "expected", "tol_abs"),
    [
        (parse_mass, "1 oz", 28.3495, 0.00005),
        (parse_mass, "1 lb", 453.592, 0.0005),
        (parse_volume, "1 fl oz", 29.5735, 0.00005),
        (parse_volume, "1 qt", 946.353, 0.0005),
        (parse_volume, "1 gal", 3785.41, 0.005),
    ],
)
def test_a_factor_agrees_with_the_six_digits_of_16_cfr_500_19(parse, text, expected, tol_abs):
    assert parse(text) == pytest.approx(expected, rel=0, abs=tol_abs)


def test_the_fixed_points_of_the_fahrenheit_scale():
    """Ice 32 °F = 0 °C; -40 is the same on both scales, from t_F = 1.8 t_C + 32 (SP811 B.8, from memory)."""
    assert parse_temperature("32 °F") == 0.0
    assert parse_temperature("-40 °F") == -40.0
    assert parse_temperature("212 F") == 100.0


def test_a_board_foot_is_144_cubic_inches_in_pint_and_in_ours():
    """WOOD bf-01: 0.002359737216 m3."""
    ours_m3 = parse_length_exact("1 ft") ** 2 * parse_length_exact("1 in") / 10**9
    assert ours_m3 == Fraction("0.002359737216")
    assert every_unit().convert(Fraction(1), "board_foot", "meter**3") == ours_m3
    assert every_unit().convert(Fraction(1), "board_foot", "inch**3") == 144


@pytest.mark.parametrize("kind", KINDS)
def test_the_small_registry_gives_the_factors_of_pints_whole_one(kind):
    _, table, canonical = KINDS[kind]
    pint_names = {
        "in": "inch", "inches": "inch", '"': "inch", "″": "inch", "”": "inch", "ft": "foot", "m³": "meter**3",
        "m3": "meter**3", "fl oz": "fluid_ounce", "C": "degC", "c": "degC", "°c": "degC", "degc": "degC", "F": "degF",
        "f": "degF", "°f": "degF", "degf": "degF", "%": "percent",
        "N": "newton", "n": "newton", "kN": "kilonewton", "kn": "kilonewton", "lbf": "force_pound",
    }  # fmt: skip
    for spelling, (times, over, zero) in table.spellings.items():
        name = pint_names.get(spelling, spelling)
        assert every_unit().convert(Fraction(0), name, canonical) == zero, spelling
        assert every_unit().convert(Fraction(1), name, canonical) == Fraction(times, over) + zero, spelling


# Numbers that are read ------------------------------------------------------------------------------------------------


# Millimetres, and the texts that are that long.
LENGTHS = {
    Fraction(0): ["0 mm", "0 in", "0/4 in", "0.0 ft"],
    Fraction(7): ["7 mm", "007 mm"],
    Fraction(48): ["48 mm", "48mm", "  48 mm  ", f"{NBSP}48{NBSP}mm{NBSP}", "48 MM", "4.8 cm"],
    Fraction(55): ["5.5 cm"],
    Fraction(1250): ["1.25 m"],
    Fraction(100_000): ["100 m", "100000 mm"],
    Fraction("2.25"): ["2 1/4 mm", "2.25 mm"],
    Fraction("12.7"): [".5 in", "0.5 in", "1/2 in", "½ in"],
    Fraction("19.05"): ["3/4 in", '3/4"', "¾ in", "¾in", f"3{FRACTION_SLASH}4 in"],
    Fraction("31.75"): ["5/4 in", "1 1/4 in"],
    Fraction("47.625"): ["1 7/8 in", "1-7/8 in", "1-7/8in", "1  7/8  in", f"1 7{FRACTION_SLASH}8 in",
        f"1{NARROW_NBSP}7/8{NARROW_NBSP}in"],
    Fraction("50.8"): ["2 0/4 in"],
    Fraction("57.15"): ["2.25 in", "2.25in", '2.25"', "2.25″", "2.25”", "2.25 inch", "2.25 inches", "2.25 IN",
        "2.25 In", "2 1/4 in", "2-1/4 in", "2¼ in", "2 ¼ in", "2-¼ in", "9/4 in"],
    Fraction("304.8"): ["1 ft", "12 in"],
    Fraction("457.2"): ["1.5ft", "1 1/2 ft"],
    21 * INCH / 4: ["21/4 in"],
    5 * INCH / 37: ["5/37 in"],
    79 * INCH / 37: ["2 5/37 in"],
    127 * INCH / 64: ["1 63/64 in"],
    7 * INCH / 3: ["2⅓ in"],
    Fraction("57.150000000000006"): ["57.150000000000006 mm"],
    Fraction("0.30000000000000004441") * INCH: ["0.30000000000000004441 in"],
}  # fmt: skip


@pytest.mark.parametrize(("text", "expected_mm"), [(text, mm) for mm, texts in LENGTHS.items() for text in texts])
def test_a_length_is_read_exactly(text, expected_mm):
    assert parse_length_exact(text) == expected_mm
    assert parse_length(text) == float(expected_mm)


@pytest.mark.parametrize(
    ("denominator", "signs"),
    [(2, "½"), (3, "⅓⅔"), (4, "¼½¾"), (5, "⅕⅖⅗⅘"), (6, "⅙⅓½⅔⅚"), (7, "⅐"), (8, "⅛¼⅜½⅝¾⅞"), (9, "⅑"), (10, "⅒")],
)
def test_every_fraction_sign_of_unicode_is_read(denominator, signs):
    for numerator, sign in enumerate(signs, start=1):
        assert parse_length_exact(f"{sign} in") == numerator * INCH / denominator
        assert parse_length_exact(f"2{sign} in") == (2 * denominator + numerator) * INCH / denominator


@pytest.mark.parametrize(
    ("parse", "text", "expected"),
    [
        (parse_temperature, "21 C", 21.0),
        (parse_temperature, "21 °C", 21.0),
        (parse_temperature, "21degC", 21.0),
        (parse_temperature, "20 degc", 20.0),
        (parse_temperature, "70 F", float(Fraction(190, 9))),
        (parse_temperature, "70 °F", float(Fraction(190, 9))),
        (parse_temperature, "70.5 degF", float(Fraction("38.5") * 5 / 9)),
        (parse_temperature, "-5 °C", -5.0),
        (parse_temperature, " - 5 °C", -5.0),
        (parse_temperature, f"{MINUS}5.5°C", -5.5),
        (parse_temperature, "-0 °C", 0.0),
        (parse_temperature, "-50 °C", -50.0),
        (parse_temperature, "-58 °F", -50.0),
        (parse_temperature, "150 °C", 150.0),
        (parse_temperature, "302 °F", 150.0),
        (parse_percent, "19 %", 19.0),
        (parse_percent, "19%", 19.0),
        (parse_percent, "8.25 %", 8.25),
        (parse_percent, "12½ %", 12.5),
        (parse_percent, "0 %", 0.0),
        (parse_percent, "1000 %", 1000.0),
        (parse_mass, "85 g", 85.0),
        (parse_mass, "4.25 kg", 4250.0),
        (parse_mass, "4.25 KG", 4250.0),
        (parse_mass, "1/2 lb", 226.796185),
        (parse_mass, "1000 kg", 1_000_000.0),
        (parse_volume, "250 ml", 250.0),
        (parse_volume, "250 mL", 250.0),
        (parse_volume, "1.2 l", 1200.0),
        (parse_volume, "1.2 L", 1200.0),
        (parse_volume, "0.02 m3", 20_000.0),
        (parse_volume, "0.02 m³", 20_000.0),
        (parse_volume, "1/4 qt", 236.5882365),
        (parse_volume, "8 fl oz", 236.5882365),
        (parse_volume, f"8 fl{NBSP}oz", 236.5882365),
        (parse_volume, "8floz", 236.5882365),
        (parse_duration, "45 min", 45.0),
        (parse_duration, "1 1/2 h", 90.0),
        (parse_duration, "3 d", 4320.0),
    ],
)
def test_the_other_kinds_share_the_grammar(parse, text, expected):
    assert parse(text) == expected


# Traps ----------------------------------------------------------------------------------------------------------------

# Texts that pint's own parser reads as something else, hangs on, or answers with some other error (found by trying
# it; see also its issues 1306 and 325), and whatever else is not one number with one unit.
TRAPS = {
    "blank": ["", " ", NBSP, "\n"],
    "unit-missing": ["45", "2.25", "3/4", "1 7/8", "¾"],
    "number-missing": ["in", "m m", "\ud800 mm", "²⁄₃ in"],
    "number-first": ["mm 4", "$3", "=48 mm", "(48) mm", "/4 in"],
    "not-finite": ["nan mm", "NaN mm", "-nan mm", "inf mm", "-inf in", "Infinity mm", "∞ mm"],
    "exponent": ["1e400 mm", "1E3 mm", "1.5e-3 m"],
    "two-numbers": ["9**9**7", "9**9**9", "9**9**9 in", "10**400 in", "2^3 in", "1 000 mm", "1.2.3 in",
        "2.25 in 3", "2.25 in + 3 mm", "2.25 in - 3 mm", "2 in x 3 in", "2in 3in", "1 ft 6 in", "5' 3\"",
        "½½ in", "½ 1/4 in", "2.5 1/2 in", "2 1/4/5 in", "1 2 3/4 in", "2--1/4 in", "2 - 1/4 in", "2 -1/4 in",
        "5-3 mm", "1.5/2 in", "1/0.5 in"],
    "comma": ["1,5 mm", "2,25 in", "1,000 mm"],
    "bad-character": ["1_000 mm", "٣ mm", "２ mm", "1٣ mm", "48 mm\n", "48\tmm", "48\nmm", "\r48 mm", "48 mm\0",
        "48\0 mm", "48 mm\x85", "48 mm\u2028"],
    "spaced-fraction": ["1 / 4 in", "1/ 4 in", "2 1 /4 in"],
    "sign": ["-3 in", "-0 mm", "+3 in", f"{MINUS}3 in", "-1/4 in", "-¼ in", "-.5 in"],
    "zero-denominator": ["1/0 in", "1/000 in", "0/0 in", "2 1/0 in", f"1{FRACTION_SLASH}0 in"],
    "improper-fraction": ["1 5/4 in", "1-4/4 in", "1 99/37 in"],
    "unknown-unit": ["1 mil", "25 c", "3 kg", "48 mn", "2 inchs", "2 m m", "2 in in", "2. in", "2.", "2-in",
        "2 in3", "2 in;", "5'", "2 in\u200b", "2 \ud800"],
    "too-many-digits": ["1" * 21 + " mm", "0" * 20 + "1 mm", "0." + "3" * 21 + " mm", "1/" + "3" * 21 + " in",
        "0" * 19 + "2" + "1/4 in", "2 " + "1" * 21 + "/4 in"],
    "too-long": ["48 mm" + " " * 36, " " * 50 + "48 mm", "9" * 1000],
    "out-of-range": ["100.0000000000000000001 m", "100001 mm", "99999999999999999999 m", "329 ft"],
}  # fmt: skip
TRAP_LIST = [(text, code) for code, texts in TRAPS.items() for text in texts]


@pytest.mark.parametrize(("text", "code"), TRAP_LIST)
def test_a_trap_is_refused_with_its_code(text, code):
    for parse in (parse_length, parse_length_exact):
        assert refused(parse, text).code == code


@pytest.mark.parametrize(
    ("parse", "text", "code"),
    [
        (parse_temperature, "21", "unit-missing"),
        (parse_temperature, "-21", "unit-missing"),
        (parse_temperature, "+5 °C", "sign"),
        (parse_temperature, "--5 °C", "sign"),
        (parse_temperature, "-", "blank"),
        (parse_temperature, "-°C", "number-missing"),
        (parse_temperature, "-nan °C", "not-finite"),
        (parse_temperature, "-1/0 °C", "zero-denominator"),
        (parse_temperature, "21 K", "unknown-unit"),
        (parse_temperature, "21 mm", "unknown-unit"),
        (parse_temperature, "-50.1 °C", "out-of-range"),
        (parse_temperature, "150.1 °C", "out-of-range"),
        (parse_temperature, "303 °F", "out-of-range"),
        (parse_temperature, "-58.1 °F", "out-of-range"),
        (parse_percent, "19", "unit-missing"),
        (parse_percent, "0.19", "unit-missing"),
        (parse_percent, "-1 %", "sign"),
        (parse_percent, "19 percent", "unknown-unit"),
        (parse_percent, "19 %%", "unknown-unit"),
        (parse_percent, "1000.1 %", "out-of-range"),
        (parse_mass, "9 lb 6 oz", "two-numbers"),
        (parse_mass, "5 mm", "unknown-unit"),
        (parse_mass, "1000.1 kg", "out-of-range"),
        (parse_volume, "8 oz", "unknown-unit"),
        (parse_volume, "1 m2", "unknown-unit"),
        (parse_volume, "10.1 m3", "out-of-range"),
        (parse_duration, "1:30 h", "two-numbers"),
        (parse_duration, "5 m", "unknown-unit"),
        (parse_duration, "1001 d", "out-of-range"),
    ],
)
def test_the_other_kinds_refuse_alike(parse, text, code):
    assert refused(parse, text).code == code


def test_every_code_of_the_documentation_is_shown_by_a_trap_and_the_other_way_round():
    documented = re.search(r"with one of these codes: (.*?)\.\n", quantities.__doc__, re.DOTALL).group(1)
    assert set(re.findall(r"``([a-z-]+)``", documented)) == set(TRAPS)


@pytest.mark.parametrize("parse", [parse for parse, _, _ in KINDS.values()])
def test_a_power_tower_and_a_very_long_text_are_answered_at_once(parse):
    """pint's issue 1306: a dozen characters keep its parser busy for ever. 0.5 s is generous: it takes microseconds."""
    started = time.process_time()
    for text in ("9**9**9 in", "9**9**9**9", "1" * 1_000_000, " " * 1_000_000, "1 " * 500_000, "1/" * 500_000):
        refused(parse, text)
    assert time.process_time() - started < 0.5


# Words of a refusal ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("parse", "text", "parts"),
    [
        (parse_length, "45", ["'45' is not a length", "no unit", "mm, cm, m, in or ft", "1 7/8 in"]),
        (parse_length, "1,5 mm", ["'1,5 mm'", "comma", "point", "1.5"]),
        (parse_length, "2 inchs", ["'inchs'", "Did you mean inches", "mm, cm, m, in or ft"]),
        (parse_length, "3 kg", ["'kg' is no unit of length", "mm, cm, m, in or ft"]),
        (parse_length, "1 5/4 in", ["less than 1", "2 1/4"]),
        (parse_length, "101 m", ["'101 m'", "out of range", "0 to 100000 mm"]),
        (parse_length, "48 mm\n", [r"'48 mm\n'", "line ends"]),
        (parse_length, "x" * 1000, ["1000 characters", "limit is 40"]),
        (parse_length, "1" * 21 + " mm", ["more than 20 digits"]),
        (parse_temperature, "-60 °C", ["'-60 °C'", "-50 to 150 °C"]),
        (parse_temperature, "21", ["°C or °F", "21 °C or 70 °F"]),
        (parse_percent, "19", ["'19' is not a percentage", "(%)", "19 %"]),
        (parse_volume, "8 {oz}", ["'{oz}'", "ml, l, m3, fl oz, qt or gal"]),
    ],
)
def test_a_refusal_says_what_was_given_what_is_wrong_and_what_to_write(parse, text, parts):
    detail = refused(parse, text).detail
    for part in parts:
        assert part in detail


@pytest.mark.parametrize(("text", "code"), TRAP_LIST)
def test_a_refusal_is_short_and_can_be_sent_as_utf_8(text, code):
    detail = refused(parse_length, text).detail
    assert len(detail) < 320, code
    assert detail.encode("utf-8")
    assert detail.isprintable()
    assert detail.endswith(".")


@pytest.mark.parametrize("kind", KINDS)
def test_the_example_and_every_unit_named_in_a_remedy_can_be_read(kind):
    parse, table, _ = KINDS[kind]
    for example in table.example.split(" or "):
        assert parse(example) > 0
    for unit in table.units:
        assert parse(f"1 {unit}") == parse(f"1{unit.upper()}")


# State ----------------------------------------------------------------------------------------------------------------


def test_nothing_in_the_module_changes_while_it_works():
    def tables():
        return {
            name: copy.copy(value)
            for name, value in vars(quantities).items()
            if isinstance(value, dict | tuple | str | int | float) and not name.startswith("__")
        } | {kind: dict(table.spellings) for kind, (_, table, _) in KINDS.items()}

    before = tables()
    for number in range(500):
        parse_length(f"{number}.{number} mm")
        parse_length(f"{number} {number}/{number + 77} IN")
        refused(parse_length, f"{number} unit{number}")
        format_length(number / 7, "imperial")
    assert tables() == before


def test_no_registry_of_pint_is_kept():
    assert not [name for name, value in vars(quantities).items() if isinstance(value, pint.UnitRegistry)]


def test_many_threads_read_the_same_values():
    texts = [f"{whole} {part}/64 in" for whole in range(20) for part in range(64)]
    expected = [parse_length(text) for text in texts]
    with ThreadPoolExecutor(8) as pool:
        for found in pool.map(lambda _: [parse_length(text) for text in texts], range(16)):
            assert found == expected


# Out ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mm", "metric", "imperial"),
    [
        (0, "0 mm", "0 in"),
        (48, "48 mm", "1 7/8 in"),
        (47.625, "47.6 mm", "1 7/8 in"),
        (50.8, "50.8 mm", "2 in"),
        (19.05, "19.1 mm", "3/4 in"),
        (569.9125, "569.9 mm", "22 7/16 in"),
        (0.79375, "0.8 mm", "1/32 in"),
        (25.4, "25.4 mm", "1 in"),
        (25.3, "25.3 mm", "1 in"),
        (24.606, "24.6 mm", "31/32 in"),
        (0.04, "0 mm", "0 in"),
        (-0.04, "0 mm", "0 in"),
        (-0.0, "0 mm", "0 in"),
        (-0.79375, "-0.8 mm", "-1/32 in"),
        (-25.4, "-25.4 mm", "-1 in"),
        (-57.15, "-57.1 mm", "-2 1/4 in"),
        (100_000, "100000 mm", "3937 in"),
    ],
)
def test_a_length_is_written_to_a_tenth_of_a_millimetre_or_a_32nd_of_an_inch(mm, metric, imperial):
    assert format_length(mm, "metric") == metric
    assert format_length(mm, "imperial") == imperial


def test_every_32nd_of_an_inch_is_written_reduced():
    for part in range(32):
        expected = f"3 {Fraction(part, 32)} in" if part else "3 in"
        assert format_length(float((3 + Fraction(part, 32)) * INCH), "imperial") == expected


@pytest.mark.parametrize(
    ("g", "metric", "imperial"),
    [
        (0, "0 g", "0 oz"),
        (85, "85 g", "3 oz"),
        (10, "10 g", "0.4 oz"),
        (439.4, "439 g", "15.5 oz"),
        (453.59237, "454 g", "1 lb"),
        (999.4, "999 g", "2 lb 3 oz"),
        (999.6, "1 kg", "2 lb 3 oz"),
        (4250, "4.25 kg", "9 lb 6 oz"),
        (4200, "4.2 kg", "9 lb 4 oz"),
        (10_000, "10 kg", "22 lb 1 oz"),
        (120_000, "120 kg", "264 lb 9 oz"),
    ],
)
def test_a_mass_is_written(g, metric, imperial):
    assert format_mass(g, "metric") == metric
    assert format_mass(g, "imperial") == imperial


@pytest.mark.parametrize(
    ("ml", "metric", "imperial"),
    [
        (0, "0 ml", "0 fl oz"),
        (250, "250 ml", "8.5 fl oz"),
        (999.6, "1 l", "33.8 fl oz"),
        (1200, "1.2 l", "40.6 fl oz"),
        (1250, "1.25 l", "42.3 fl oz"),
        (10_000, "10 l", "338.1 fl oz"),
        (29.5735295625, "30 ml", "1 fl oz"),
    ],
)
def test_a_volume_is_written(ml, metric, imperial):
    assert format_volume(ml, "metric") == metric
    assert format_volume(ml, "imperial") == imperial


@pytest.mark.parametrize(
    ("c", "metric", "imperial"),
    [
        (21, "21 °C", "70 °F"),
        (21.11, "21.1 °C", "70 °F"),
        (0, "0 °C", "32 °F"),
        (-0.01, "0 °C", "32 °F"),
        (-17.9, "-17.9 °C", "0 °F"),
        (-40, "-40 °C", "-40 °F"),
    ],
)
def test_a_temperature_is_written(c, metric, imperial):
    assert format_temperature(c, "metric") == metric
    assert format_temperature(c, "imperial") == imperial


@pytest.mark.parametrize("write", [format_length, format_mass, format_volume, format_force, format_temperature])
def test_an_unknown_system_of_units_is_a_mistake_of_ours(write):
    with pytest.raises(ValueError, match=r"'Metric'.*metric or imperial"):
        write(1.0, "Metric")


def test_a_length_in_another_unit():
    assert LENGTH_UNITS == ("mm", "cm", "m", "in", "ft")
    assert [length_in_unit(609.6, unit) for unit in LENGTH_UNITS] == [609.6, 60.96, 0.6096, 24.0, 2.0]


def test_every_64th_of_an_inch_comes_back_as_it_was_given():
    """A spreadsheet that asks in inches must not see 24.000000000000004."""
    for sixty_fourths in range(64 * 60):
        assert length_in_unit(parse_length(f"{sixty_fourths}/64 in"), "in") == sixty_fourths / 64


@pytest.mark.parametrize("unit", ["", "inch", "IN", "yd", "x" * 100])
def test_a_length_in_an_unknown_unit_is_refused(unit):
    refusal = refused(lambda name: length_in_unit(1.0, name), unit)
    assert refusal.code == "unknown-unit"
    assert "mm, cm, m, in or ft" in refusal.detail
    assert len(refusal.detail) < 120
