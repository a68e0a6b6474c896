"""Quantities: texts with a unit in, plain floats out, and the way back to a text.

The only file that imports pint, and pint never sees a text from outside: its own parser reads ``2 1/4 in``
as half an inch and does not come back from ``9**9**9 in``. Numbers are read by the grammar below, units are
looked up in a closed list, and pint supplies the exact factors of that list once, on import. Any number of
threads may call it. Formatted texts are rounded for people to read; they are not meant to be calculated with.

A quantity is one number and one unit, with or without a space between them:

- number: ``48``, ``2.25``, ``.5``, ``3/4``, ``2 1/4``, ``2-1/4``, ``¾``, ``2¼``, ``2 ¼``; U+2044 does as
  well as ``/``. Digits are 0-9, at most 20 in a row (a computer writes 17); the decimal sign is a point.
  ``5/4`` is a number, but ``1 5/4`` is refused: it is more often a slip than meant.
- unit: from the closed list of its kind (``_LENGTH`` and the others below), in small or capital letters. No
  two units of a kind differ by their capitals alone, so ``2 IN`` can only mean one thing.
- spaces: ordinary and no-break ones; no other white space. At most 40 characters in all.
- sign: only a temperature may have one, a minus.

Anything else raises ``BadQuantity`` with one of these codes: ``too-long``, ``blank``, ``bad-character``,
``comma``, ``not-finite``, ``sign``, ``number-missing``, ``too-many-digits``, ``exponent``,
``zero-denominator``, ``spaced-fraction``, ``number-first``, ``two-numbers``, ``unit-missing``,
``improper-fraction``, ``unknown-unit``, ``out-of-range``.
"""

import re
import sys
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from importlib import resources
from typing import Any

from chequerwork.domain.basics.errors import BadQuantity, near_names

# pint reads these wherever it finds them, and nothing here needs it: 0.1 s and 20 MB of every start.
_unread = [name for name in ("babel", "numpy") if sys.modules.setdefault(name, None) is None]  # type: ignore[arg-type]
import pint  # noqa: E402

for _name in _unread:
    del sys.modules[_name]

METRIC = "metric"
IMPERIAL = "imperial"
MAX_CHARACTERS = 40
MAX_DIGITS = 20

# The grammar of a number ----------------------------------------------------------------------------------------------

_SPACES = " \u00a0\u202f"
_MINUS = "-\u2212"
_SLASH = "/\u2044"
_VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
_DIGITS = f"[0-9]{{1,{MAX_DIGITS}}}"

# Groups: whole number, decimals, fraction, and all that follows the number. The whole number is taken in one
# piece ("}+") and is left out if a slash follows, so "21/4" cannot fall apart into 2 and 1/4. Every part is
# optional, so any text matches, in a time that only grows with its length.
_NUMBER = (
    rf"({_DIGITS}+(?![{_SLASH}0-9]))?"
    rf"(?:\.({_DIGITS})|(?:[{_SPACES}]*+|(?<=[0-9])-)({_DIGITS}[{_SLASH}]{_DIGITS}|[{_VULGAR}]))?"
    rf"[{_SPACES}]*+(.*)"
)
_UNSIGNED = re.compile(rf"[{_SPACES}]*+{_NUMBER}", re.DOTALL)
_SIGNED = re.compile(rf"[{_SPACES}]*+[{_MINUS}]?[{_SPACES}]*+{_NUMBER}", re.DOTALL)

_POWERS_OF_TEN = tuple(10**count for count in range(MAX_DIGITS + 1))


def _split_fraction(text: str) -> tuple[int, int]:
    above, _, below = text.replace("\u2044", "/").partition("/")
    return int(above), int(below)


# The fractions of a rule and of the keyboard. Splitting "1/4" instead would bring "2 1/4 in" from 0.9 to
# 1.15 us; the table is complete from the start and never grows.
_FRACTIONS: Mapping[str, tuple[int, int]] = {
    **{f"{above}/{below}": (above, below) for below in (2, 4, 8, 16, 32, 64) for above in range(1, below)},
    **{sign: _split_fraction(unicodedata.normalize("NFKC", sign)) for sign in _VULGAR},
}

# Units: a closed list per kind, factors from pint ---------------------------------------------------------------------

# number * times / over + zero is the number of canonical units; zero is 0 for all but temperatures.
_Unit = tuple[int, int, Fraction]
_Convert = Callable[[Fraction, str, str], Fraction]

# Where pint defines our units, and the units it defines these by.
_PINT_LINE = re.compile(
    "((centi|deci|kilo|milli)-|meter|yard|foot|inch|gram|grain|pound|ounce|liter|cubic_inch|gallon|quart|pint"
    "|fluid_ounce|second|minute|hour|day|kelvin|degree_Celsius|degree_Fahrenheit|percent|newton|force_pound"
    "|standard_gravity) = "
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """One kind of quantity: its units (the first is canonical), bounds in that unit, and how to write it."""

    name: str
    units: tuple[str, ...]
    spellings: Mapping[str, _Unit]
    low: int
    high: int
    example: str
    pattern: re.Pattern[str]


def _pint_converter() -> _Convert:
    """Load only the lines we need of pint's own definitions: all of them would add 100 ms to every start."""
    pages = (resources.files("pint").joinpath(f"{name}_en.txt").read_text("utf-8") for name in ("constants", "default"))
    lines = [line.partition("#")[0].strip() for page in pages for line in page.splitlines()]
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions([line for line in lines if _PINT_LINE.match(line)])
    return registry.convert


def _kind(convert: _Convert, name: str, pint_names: dict[str, str], bounds: tuple[int, int], example: str) -> _Kind:
    """Make a kind from ``spelling|spelling|...`` to pint's name, canonical unit first."""
    canonical = next(iter(pint_names.values()))
    spellings: dict[str, _Unit] = {}
    for spelled, pint_name in pint_names.items():
        zero = convert(Fraction(0), pint_name, canonical)
        factor = convert(Fraction(1), pint_name, canonical) - zero
        for spelling in spelled.split("|"):
            unit = (factor.numerator, factor.denominator, zero)
            spellings[spelling] = spellings[spelling.lower()] = unit
    return _Kind(
        name=name,
        units=tuple(spelled.partition("|")[0] for spelled in pint_names),
        spellings=spellings,
        low=bounds[0],
        high=bounds[1],
        example=example,
        pattern=_SIGNED if bounds[0] < 0 else _UNSIGNED,
    )


_convert = _pint_converter()
_LENGTHS = {"mm": "millimeter", "cm": "centimeter", "m": "meter", 'in|inch|inches|"|″|”': "inch", "ft": "foot"}
_LENGTH = _kind(_convert, "length", _LENGTHS, (0, 100_000), "48 mm or 1 7/8 in")
_DEGREES = {"°C|C|degC": "degree_Celsius", "°F|F|degF": "degree_Fahrenheit"}
_TEMPERATURE = _kind(_convert, "temperature", _DEGREES, (-50, 150), "21 °C or 70 °F")
_PERCENTAGE = _kind(_convert, "percentage", {"%": "percent"}, (0, 1000), "19 %")
_MASS = _kind(
    _convert, "mass", {"g": "gram", "kg": "kilogram", "lb": "pound", "oz": "ounce"}, (0, 1_000_000), "850 g or 1 3/4 lb"
)
_LITRES = {"ml": "milliliter", "l": "liter", "m3|m³": "meter**3"}
_GALLONS = {"fl oz|floz": "fluid_ounce", "qt": "quart", "gal": "gallon"}
_VOLUME = _kind(_convert, "volume", {**_LITRES, **_GALLONS}, (0, 10_000_000), "250 ml or 8 1/2 fl oz")
_DURATION = _kind(_convert, "duration", {"min": "minute", "h": "hour", "d": "day"}, (0, 1_440_000), "45 min or 1 1/2 h")
_FORCE = _kind(_convert, "force", {"N": "newton", "kN": "kilonewton", "lbf": "force_pound"}, (0, 100_000), "4.5 kN")
# The registry behind it changes while it is used, and is not needed again.
del _convert

LENGTH_UNITS = _LENGTH.units

# In -------------------------------------------------------------------------------------------------------------------


def _read(text: str, kind: _Kind) -> tuple[int, int, Fraction]:
    """Numerator and denominator in the canonical unit, and its zero point; bounds are up to the caller.

    One function, longer than our habit: it runs for every length of every order, and a call costs 60 ns.
    """
    match = kind.pattern.match(text)
    if match is None or len(text) > MAX_CHARACTERS:
        raise _refusal(text, kind)
    whole, decimals, fraction, written = match.groups()
    unit = kind.spellings.get(written) or _other_spelling(written, kind)
    if unit is None:
        raise _refusal(text, kind)
    times, over, zero = unit
    if fraction is not None:
        number, parts = _FRACTIONS.get(fraction) or _split_fraction(fraction)
        if parts == 0:
            raise _refusal(text, kind)
        if whole is not None:
            if number >= parts:
                raise _refusal(text, kind)
            number += int(whole) * parts
    elif decimals is not None:
        number = int(whole + decimals if whole is not None else decimals)
        parts = _POWERS_OF_TEN[len(decimals)]
    elif whole is not None:
        number, parts = int(whole), 1
    else:
        raise _refusal(text, kind)
    return number * times, parts * over, zero


def _other_spelling(written: str, kind: _Kind) -> _Unit | None:
    """Look a unit up again without its capitals, the spaces after it and no-break spaces inside."""
    plain = written.rstrip(_SPACES).replace("\u00a0", " ").replace("\u202f", " ")
    return kind.spellings.get(plain.lower())


def _amount(text: str, kind: _Kind) -> float:
    """Read a quantity whose unit begins at zero, within the bounds of its kind."""
    above, below, _ = _read(text, kind)
    if above > kind.high * below:
        raise _out_of_range(text, kind)
    # Dividing whole numbers rounds once and correctly, however large they are, as float(Fraction) does.
    return above / below


def parse_length(text: str) -> float:
    """Read a length that a person wrote.

    Parameters
    ----------
    text
        A number and one of ``mm cm m in ft``; also ``inch inches " ″ ”``. 0 to 100 m.

    Returns
    -------
    float
        The length, the float nearest to the exact fraction. [mm]

    Raises
    ------
    BadQuantity
        The text is no length, or one above 100 m.

    Examples
    --------
    >>> parse_length("3/4 in"), parse_length("1-7/8in"), parse_length("48 mm")
    (19.05, 47.625, 48.0)
    """
    return _amount(text, _LENGTH)


def parse_temperature(text: str) -> float:
    """Read a temperature in ``°C C degC °F F degF``, -50 to 150 °C; a minus may lead. [°C] Raises ``BadQuantity``."""
    above, below, zero = _read(text, _TEMPERATURE)
    negative = text.lstrip(_SPACES)[0] in _MINUS
    exact = zero + Fraction(-above if negative else above, below)
    if not _TEMPERATURE.low <= exact <= _TEMPERATURE.high:
        raise _out_of_range(text, _TEMPERATURE)
    return float(exact)


def parse_percent(text: str) -> float:
    """Read a number and ``%``, 0 % to 1000 %: the number. [%] Raises ``BadQuantity``."""
    return _amount(text, _PERCENTAGE)


def parse_mass(text: str) -> float:
    """Read a mass in ``g kg lb oz`` (avoirdupois), 0 to 1000 kg. [g] Raises ``BadQuantity``."""
    return _amount(text, _MASS)


def parse_force(text: str) -> float:
    """Read a force in ``N kN lbf``, 0 to 100 kN. [N] Raises ``BadQuantity``."""
    return _amount(text, _FORCE)


def parse_duration(text: str) -> float:
    """Read a duration in ``min h d`` (a day is 24 hours), 0 to 1000 d. [min] Raises ``BadQuantity``."""
    return _amount(text, _DURATION)


# Refusals: only texts that cannot be read come here, so this may take its time ----------------------------------------

_NUMERALS = f"0-9{_VULGAR}"
_ANOTHER_NUMBER = re.compile(rf"(?<![A-Za-z])[{_NUMERALS}]")

_PIECE = rf"[0-9][{_SPACES}]+[{_SLASH}]|[{_SLASH}][{_SPACES}]+[0-9]"
_HIDDEN = r"[\0-\x1f\x7f-\x9f\u2028\u2029_]|(?![0-9])\d"

# Code, what shows the fault, what is wrong, what to do (if empty: how to write a quantity of the kind).
# Tried in this order on the text without its outer spaces; the first one found is named.
# fmt: off
_FAULTS = tuple(
    (code, re.compile(pattern, re.IGNORECASE), what, remedy)
    for code, pattern, what, remedy in (
        ("blank", r"\A\s*\Z", "nothing is given", ""),
        ("bad-character", _HIDDEN, "a character has no place in it",
         "Use the digits 0 to 9 and plain spaces, without line ends, tabs or underscores."),
        ("comma", ",", "it holds a comma", "Write decimals with a point, 1.5, and thousands unmarked, 1500."),
        ("not-finite", r"\A[-+\u2212]?(nan|inf|infinity)\b|∞", "it is no finite number", ""),
        ("sign", r"\A[-+\u2212]", "it begins with a sign that cannot be used", "Leave the sign out."),
        ("number-missing", rf"\A[^{_NUMERALS}]*\Z", "it has no number", ""),
        ("too-many-digits", rf"[0-9]{{{MAX_DIGITS + 1}}}",
         f"it has more than {MAX_DIGITS} digits in a row", "Round it to what can be measured."),
        ("exponent", r"[0-9.]e[-+]?[0-9]", "its number has an exponent", "Write 1500 instead of 1.5e3."),
        ("zero-denominator", rf"[{_SLASH}]0+(?![0-9.])", "its fraction divides by 0",
         "Below the line goes a whole number from 1 up, as in 3/4."),
        ("spaced-fraction", _PIECE, "its fraction is in pieces", "Leave no space beside the line, as in 3/4."),
    )
)
# fmt: on


def _refusal(text: str, kind: _Kind) -> BadQuantity:
    """Say why a text cannot be read."""
    if len(text) > MAX_CHARACTERS:
        what = f"it has {len(text)} characters and the limit is {MAX_CHARACTERS}"
        return _bad(text, kind, "too-long", what)
    bare = text.strip(_SPACES)
    if kind.low < 0 and bare.startswith(tuple(_MINUS)):
        # The one sign that may be there; a second one is a fault.
        bare = bare[1:].lstrip(_SPACES)
    for code, pattern, what, remedy in _FAULTS:
        if pattern.search(bare):
            return _bad(text, kind, code, what, remedy)
    return _bad(text, kind, *_ill_formed(bare, kind))


def _ill_formed(bare: str, kind: _Kind) -> tuple[str, str, str]:
    """Code, fault and remedy for a text of usable parts that do not make one number and one known unit."""
    match = kind.pattern.match(bare)
    number, rest = (match.group(1, 2, 3), match.group(4)) if match else ((None,), bare)
    if not any(number):
        return "number-first", "it does not begin with a number", ""
    if _ANOTHER_NUMBER.search(rest):
        return "two-numbers", "it holds more than one number, and no sums are done here", ""
    if not rest:
        return "unit-missing", "it has no unit", ""
    if _other_spelling(rest, kind):
        what = "the fraction after its whole number is not less than 1"
        return "improper-fraction", what, "Write 2 1/4 instead of 1 5/4, or 5/4 alone."
    near = near_names(rest, kind.spellings)
    remedy = f"Did you mean {' or '.join(near)}? " if near else ""
    return "unknown-unit", f"{rest!r} is no unit of {kind.name} here", f"{remedy}Use {_listed(kind.units)}."


def _listed(names: tuple[str, ...]) -> str:
    return " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)


def _bad(text: str, kind: _Kind, code: str, what: str, remedy: str = "") -> BadQuantity:
    given = repr(text[:MAX_CHARACTERS]) + ("..." if len(text) > MAX_CHARACTERS else "")
    how = remedy or f"Write one number and one unit ({_listed(kind.units)}), for example {kind.example}."
    return BadQuantity(code, f"{given} is not a {kind.name}: {what}. {how}")


def _out_of_range(text: str, kind: _Kind) -> BadQuantity:
    bounds = f"from {kind.low} to {kind.high} {kind.units[0]}"
    return BadQuantity("out-of-range", f"The {kind.name} {text!r} is out of range. Give one {bounds}.")


# Out ------------------------------------------------------------------------------------------------------------------


def _size(kind: _Kind, unit: str) -> float:
    """How many canonical units one of this unit is."""
    times, over, _ = kind.spellings[unit]
    return times / over


_MM_PER_INCH = _size(_LENGTH, "in")
_MM_PER_32ND = _MM_PER_INCH / 32
_FINE_MM = _MM_PER_INCH / 8  # below it inches are told in thousandths
_G_PER_OZ = _size(_MASS, "oz")
_OZ_PER_LB = round(_size(_MASS, "lb") / _G_PER_OZ)
_ML_PER_FL_OZ = _size(_VOLUME, "fl oz")
_N_PER_LBF = _size(_FORCE, "lbf")
_C_PER_F = _size(_TEMPERATURE, "°F")
_ZERO_F_IN_C = float(_TEMPERATURE.spellings["°F"][2])

# Below this many grams, millilitres or newtons the small unit is easier to read than one of a thousand.
_THOUSAND = 1000
_THIRTY_SECONDS = ("", *(str(Fraction(part, 32)) for part in range(1, 32)))


def _check_imperial(units: str) -> None:
    if units != IMPERIAL:
        raise ValueError(f"There is no system of units {units!r}. Choose {METRIC} or {IMPERIAL}.")


def length_in_unit(mm: float, unit: str) -> float:
    """Express a length [mm] in one of ``LENGTH_UNITS``, as a number, not rounded. Raises ``BadQuantity`` otherwise."""
    if unit not in LENGTH_UNITS:
        given = repr(unit[:MAX_CHARACTERS])
        raise BadQuantity("unknown-unit", f"{given} is no unit of length here. Use {_listed(LENGTH_UNITS)}.")
    times, over, _ = _LENGTH.spellings[unit]
    # Whole numbers, because 609.6 / 25.4 is 24.000000000000004 and 609.6 * 5 / 127 is 24.
    return mm * over / times


@lru_cache(maxsize=1024)  # an answer says 105 lengths and 38 different ones
def format_length(mm: float, units: str) -> str:
    """Write a length for people: to 0.1 mm, or to the nearest 1/32 in.

    Parameters
    ----------
    mm
        The length or a difference of lengths, of either sign. [mm]
    units
        ``metric`` or ``imperial``.

    Returns
    -------
    str
        Such as ``47.6 mm`` or ``1 7/8 in``.

    Raises
    ------
    ValueError
        Another system of units.
    """
    if units == METRIC:
        return f"{f'{mm:z.1f}'.removesuffix('.0')} mm"
    _check_imperial(units)
    whole, part = divmod(round(abs(mm) / _MM_PER_32ND), 32)
    sign = "-" if mm < 0 and (whole or part) else ""
    if not part:
        return f"{sign}{whole} in"
    return f"{sign}{whole} {_THIRTY_SECONDS[part]} in" if whole else f"{sign}{_THIRTY_SECONDS[part]} in"


@lru_cache(maxsize=1024)
def format_fine(mm: float, units: str) -> str:
    """Write a length that may be small [mm], 0 or more, for people: gaps and bows, to the digit that matters.

    ``0.56 mm``, ``5.1 mm``; or thousandths of an inch up to an eighth, ``0.022 in``. ``units``: as ``format_length``.
    """
    if not mm or mm >= (1 if units == METRIC else _FINE_MM):
        return format_length(mm, units)
    if units == METRIC:
        return f"{f'{mm:.2f}'.rstrip('0').rstrip('.')} mm"
    _check_imperial(units)
    return f"{mm / _MM_PER_INCH:.3f} in"


def format_mass(g: float, units: str) -> str:
    """Write a mass, 0 or more [g]: to 1 g, from 1 kg to 10 g; or to 0.1 oz, from 1 lb to 1 oz.

    ``4.25 kg``, ``85 g``, ``9 lb 6 oz`` (which ``parse_mass`` does not read: it has two numbers), ``3.5 oz``.
    ``units`` is as for ``format_length``.
    """
    if units == METRIC:
        whole = round(g)
        return f"{whole} g" if whole < _THOUSAND else f"{f'{g / _THOUSAND:.2f}'.rstrip('0').rstrip('.')} kg"
    _check_imperial(units)
    whole = round(g / _G_PER_OZ)
    if whole < _OZ_PER_LB:
        return f"{f'{g / _G_PER_OZ:.1f}'.removesuffix('.0')} oz"
    pounds, ounces = divmod(whole, _OZ_PER_LB)
    return f"{pounds} lb {ounces} oz" if ounces else f"{pounds} lb"


def format_volume(ml: float, units: str) -> str:
    """Write a volume, 0 or more [ml]: to 1 ml, from 1 l to 0.01 l; or to 0.1 US fl oz.

    ``250 ml``, ``1.2 l``, ``8.5 fl oz``. ``units`` is as for ``format_length``.
    """
    if units == METRIC:
        whole = round(ml)
        return f"{whole} ml" if whole < _THOUSAND else f"{f'{ml / _THOUSAND:.2f}'.rstrip('0').rstrip('.')} l"
    _check_imperial(units)
    return f"{f'{ml / _ML_PER_FL_OZ:.1f}'.removesuffix('.0')} fl oz"


def format_force(n: float, units: str) -> str:
    """Write a force, 0 or more [N]: to 1 N, from 1 kN to 0.1 kN; or to 1 lbf. ``units`` is as for ``format_length``."""
    if units == METRIC:
        return f"{whole} N" if (whole := round(n)) < _THOUSAND else f"{f'{n / _THOUSAND:.1f}'.removesuffix('.0')} kN"
    _check_imperial(units)
    return f"{n / _N_PER_LBF:.0f} lbf"


def format_temperature(c: float, units: str) -> str:
    """Write a temperature [°C]: to 0.1 °C, or to 1 °F. ``units`` is as for ``format_length``."""
    if units == METRIC:
        return f"{f'{c:z.1f}'.removesuffix('.0')} °C"
    _check_imperial(units)
    return f"{(c - _ZERO_F_IN_C) / _C_PER_F:z.0f} °F"


def contract_pattern(name: str) -> str:
    """What a ``length``, ``mass`` or ``temperature`` looks like, for JSON Schema (ECMA-262, no possessive repeats).

    The grammar itself refuses a little more: a zero below the line, ``1 5/4``, and what is out of range.
    """
    kind = {"length": _LENGTH, "mass": _MASS, "temperature": _TEMPERATURE}[name]
    spaces, fraction = f"[{_SPACES}]*", f"({_DIGITS}[{_SLASH}]{_DIGITS}|[{_VULGAR}])"
    sign = f"[{_MINUS}]?{spaces}" if kind.low < 0 else ""
    decimal = rf"({_DIGITS})?\.{_DIGITS}"
    mixed = rf"{_DIGITS}({spaces}[{_VULGAR}]|(-|[{_SPACES}]+){fraction})"
    units = "|".join(dict.fromkeys("".join(map(_either_case, spelling)) for spelling in kind.spellings))
    return f"^{spaces}{sign}({decimal}|{mixed}|{fraction}|{_DIGITS}){spaces}({units}){spaces}$"


def _either_case(letter: str) -> str:
    return f"[{letter.lower()}{letter.upper()}]" if letter.lower() != letter.upper() else re.escape(letter)
