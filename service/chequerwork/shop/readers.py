"""One reader per kind of value in a shop file: each takes what TOML gave and returns it in our units, or says why not.

Readers raise ``BadQuantity``: what is wrong, what was given, the limit, what to change. ``settings_table`` adds the
place.
"""

import re
import unicodedata
import zoneinfo
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from functools import cache
from itertools import pairwise
from typing import NoReturn, TypeVar

from chequerwork.domain.basics.errors import BadQuantity, near_names, unknown_name
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.names import unknown_timber
from chequerwork.domain.basics.shop import Span
from chequerwork.quantities import (
    parse_duration,
    parse_force,
    parse_length,
    parse_mass,
    parse_percent,
    parse_temperature,
)
from chequerwork.shop.settings_table import Reader, SettingsTable, scrubbed, shown

T = TypeVar("T")
E = TypeVar("E", bound=StrEnum)

MOST_MONEY_DIGITS = 12
MOST_MONEY_DECIMALS = 4
LONGEST_TEXT = 80
MINUTES_A_DAY = 24 * 60
FIRST_YEAR, LAST_YEAR = 2000, 2100  # a date outside is a slip of the pen
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")

# Exact by definition of the inch, the pound and the US gallon (231 cubic inches).
INCH_M = Decimal("0.0254")
FOOT_M = 12 * INCH_M
FOOT_M2 = FOOT_M**2
FOOT_M3 = FOOT_M**3
BOARD_FOOT_M3 = 144 * INCH_M**3
POUND_KG = Decimal("0.45359237")
GALLON_L = 231 * INCH_M**3 * 1000

_MONEY = re.compile(r"(\d+)(?:\.(\d+))?", re.ASCII)
_SLUG = re.compile(r"[a-z][a-z0-9]*(?:[_-][a-z0-9]+)*", re.ASCII)
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_WINDOW = re.compile(r"(\d{2}):(\d{2})-(\d{2}):(\d{2})", re.ASCII)
_HOST = r"[a-z0-9](?:[a-z0-9-]*[a-z0-9])?(?:\.[a-z0-9](?:[a-z0-9-]*[a-z0-9])?)*"
_ORIGIN = re.compile(rf"https://{_HOST}(?::\d{{1,5}})?|http://(?:localhost|127\.0\.0\.1)(?::\d{{1,5}})?", re.ASCII)


def refuse(code: str, detail: str) -> NoReturn:
    """Give up on a value."""
    raise BadQuantity(code, detail)


# Plain values ---------------------------------------------------------------------------------------------------------


def plain_text(value: object) -> str:
    """A text on one line, up to 80 characters, such as a name."""
    if not isinstance(value, str):
        refuse("wrong-type", f"This must be a text in quotes; given was {shown(value)}.")
    if not 0 < len(value.strip()) == len(value) <= LONGEST_TEXT:
        refuse("bad-text", f"A text of {len(value)} characters is given; give 1 to {LONGEST_TEXT}, no spaces around.")
    if any(unicodedata.category(character).startswith("C") for character in value):
        refuse("bad-text", "The text holds an invisible or control character. Type it again on one line.")
    return value


def flag(value: object) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        refuse("wrong-type", f"This must be true or false, without quotes; given was {shown(value)}.")
    return value


def whole(low: int, high: int) -> Reader[int]:
    """A whole number between two limits, both allowed."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            refuse("wrong-type", f"This must be a whole number without quotes; given was {shown(value)}.")
        if not low <= value <= high:
            refuse("out-of-range", f"{shown(value)} is outside {low} to {high}.")
        return value

    return read


def number(low: float, high: float, unit: str = "") -> Reader[float]:
    """A number between two limits, both allowed; its unit is in the setting's name."""

    def read(value: object) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            refuse("wrong-type", f"This must be a number without quotes; given was {shown(value)}.")
        if not low <= value <= high:  # refuses nan as well
            refuse("out-of-range", f"{shown(value)} is outside {low:g} to {high:g}{unit and ' ' + unit}.")
        return float(value)

    return read


def slug(value: object) -> str:
    """A short key of the maker's own: small letters, digits, joined by ``_`` or ``-``."""
    text = plain_text(value)
    if len(text) > 40 or not _SLUG.fullmatch(text):
        refuse("bad-key", f"{shown(text)} is no key. Use up to 40 small letters a-z, digits and single _ or -.")
    return text


def origin(value: object) -> str:
    """A web origin: scheme and host, a port if it needs one, nothing behind."""
    text = plain_text(value)
    if not _ORIGIN.fullmatch(text):
        refuse("bad-origin", f"{shown(text)} is no web origin. Write it like https://shop.example, without a path.")
    return text


# Quantities -----------------------------------------------------------------------------------------------------------


def length(low_mm: float, high_mm: float) -> Reader[float]:
    """A length as a text such as ``"1/8 in"``, in mm."""
    return _quantity(parse_length, low_mm, high_mm, "mm", "3 mm")


def percent(low_pct: float, high_pct: float) -> Reader[float]:
    """A percentage as a text such as ``"19 %"``, in percent."""
    return _quantity(parse_percent, low_pct, high_pct, "%", "19 %")


def rate(low_pct: float, high_pct: float) -> Reader[Decimal]:
    """A percentage that money is multiplied by, so kept as a decimal, in percent."""
    read_pct = percent(low_pct, high_pct)
    # The shortest text that gives the float back is the text the maker wrote, up to 15 digits.
    return lambda value: Decimal(repr(read_pct(value)))


def share(low: float, high: float) -> Reader[float]:
    """A percentage as a text such as ``"70 %"``, as a fraction; so are its limits."""
    read_pct = percent(low * 100, high * 100)
    return lambda value: read_pct(value) / 100


def temperature(low_c: float, high_c: float) -> Reader[float]:
    """A temperature as a text such as ``"20 degC"``, in degC."""
    return _quantity(parse_temperature, low_c, high_c, "degC", "20 degC")


def mass(low_g: float, high_g: float) -> Reader[float]:
    """A mass as a text such as ``"5 g"``, in g."""
    return _quantity(parse_mass, low_g, high_g, "g", "5 g")


def mass_kg(low_kg: float, high_kg: float) -> Reader[float]:
    """A mass as a text such as ``"2 kg"``, in kg."""
    read_g = mass(low_kg * 1000, high_kg * 1000)
    return lambda value: read_g(value) / 1000


def force(low_n: float, high_n: float) -> Reader[float]:
    """A force as a text such as ``"4.5 kN"``, in N."""
    return _quantity(parse_force, low_n, high_n, "N", "4.5 kN")


def hours(low_h: float, high_h: float) -> Reader[float]:
    """A duration as a text such as ``"15 min"``, in hours."""
    read_min = _quantity(parse_duration, low_h * 60, high_h * 60, "min", "15 min")
    return lambda value: read_min(value) / 60


def span(low_mm: float, high_mm: float) -> Callable[[SettingsTable], Span]:
    """A table of two lengths, ``{ low = "20 mm", high = "90 mm" }``."""

    def build(table: SettingsTable) -> Span:
        limit = length(low_mm, high_mm)
        found = Span(low_mm=table.read("low", limit), high_mm=table.read("high", limit))
        if table.sound("low", "high") and found.low_mm > found.high_mm:
            detail = f"low is {found.low_mm:g} mm, high is {found.high_mm:g} mm. Give low at most as large as high."
            table.fault("low", "conflict", detail)
        return found

    return build


def _quantity(parse: Callable[[str], float], low: float, high: float, unit: str, example: str) -> Reader[float]:
    def read(value: object) -> float:
        if not isinstance(value, str):
            detail = f"This must be a text with its unit in quotes, such as {example!r}; given was {shown(value)}."
            refuse("wrong-type", detail)
        found = parse(scrubbed(value))
        if not low <= found <= high:
            refuse("out-of-range", f"{shown(value)} is outside {low:g} {unit} to {high:g} {unit}.")
        return found

    return read


# Money ----------------------------------------------------------------------------------------------------------------


def money(*, per: Decimal = Decimal(1), positive: bool = False) -> Reader[Decimal]:
    """An amount without tax in the shop's currency, as a text such as ``"62.50"`` or as a whole number.

    Parameters
    ----------
    per
        Size of the unit the price is for in the unit wanted, such as ``BOARD_FOOT_M3`` for a price per board foot that
        is wanted per m3. [wanted unit]
    positive
        Whether 0 is refused.
    """

    def read(value: object) -> Decimal:
        amount = _amount(value)
        if positive and not amount:
            refuse("out-of-range", "The amount is 0; give one above 0.")
        return amount if per == 1 else amount / per

    return read


def _amount(value: object) -> Decimal:
    if isinstance(value, float):
        detail = f"{shown(value)} is a binary float, which loses cents. Write it in quotes: {shown(str(value))}."
        refuse("float-money", detail)
    if isinstance(value, bool) or not isinstance(value, str | int):
        refuse("wrong-type", f"This must be an amount in quotes, such as '62.50'; given was {shown(value)}.")
    if isinstance(value, int) and not 0 <= value < 10**MOST_MONEY_DIGITS:
        refuse("bad-money", f"{shown(value)} is outside 0 to {10**MOST_MONEY_DIGITS - 1}.")
    match = _MONEY.fullmatch(str(value))
    if not match:
        detail = f"{shown(value)} is no amount. Write digits with a decimal point, such as '62.50', without a sign, "
        refuse("bad-money", detail + "currency or thousands mark.")
    digits, decimals = len(match[1]) + len(match[2] or ""), len(match[2] or "")
    if digits > MOST_MONEY_DIGITS or decimals > MOST_MONEY_DECIMALS:
        limit = f"give at most {MOST_MONEY_DIGITS} digits, {MOST_MONEY_DECIMALS} of them after the point"
        refuse("bad-money", f"{shown(value)} has {digits} digits, {decimals} after the point; {limit}.")
    return Decimal(match[0])


# Names from closed lists ----------------------------------------------------------------------------------------------


def choice(what: str, kind: type[E]) -> Reader[E]:
    """A word of a closed set."""
    read_word = key_of(what, [member.value for member in kind])
    return lambda value: kind(read_word(value))


def key_of(what: str, known: Iterable[str]) -> Reader[str]:
    """A key of a fact table."""
    names = frozenset(known)

    def read(value: object) -> str:
        text = _name(value, what)
        if text in names:
            return text
        refuse("unknown-name", unknown_name(at=(), what=what, given=scrubbed(text), known=names).detail)

    return read


def timber(tables: Tables) -> Reader[str]:
    """A key of the species table; any other name is answered with the keys that it may mean."""

    def read(value: object) -> str:
        text = _name(value, "timber")
        if text not in tables.species:
            fault = unknown_timber(at=(), given=scrubbed(text), tables=tables)
            refuse(fault.code, fault.detail)
        return text

    return read


def code_of(what: str, known: Mapping[str, str], form: str) -> Reader[str]:
    """A code of a long public list, given by code -> name; ``form`` tells how a code looks."""
    spelled = {name.lower().replace(" ", "_"): code for code, name in known.items()}
    spelled |= {code.lower(): code for code in known}

    def read(value: object) -> str:
        text = _name(value, what)
        if text in known:
            return text
        same = spelled.get(text.strip().lower().replace(" ", "_"))
        near = [same] if same else list(dict.fromkeys(spelled[name] for name in near_names(text, spelled)))
        offers = [code if known[code] == code else f"{code} ({known[code]})" for code in near]
        remedy = f"Did you mean {' or '.join(offers)}?" if near else f"Write {form}."
        refuse("unknown-name", f"There is no {what} {shown(text)} here. {remedy}")

    return read


def time_zone(value: object) -> str:
    """A zone of the IANA time zone database by area and place."""
    return _zone()(value)


@cache
def _zone() -> Reader[str]:
    """The zones of this machine, which are looked for in its files once."""
    # Names without an area, such as "localtime", mean another thing on another machine; UTC does not.
    zones = {name: name for name in zoneinfo.available_timezones() if "/" in name} | {"UTC": "UTC"}
    return code_of("time zone", zones, "an IANA name such as Europe/Lisbon")


def _name(value: object, what: str) -> str:
    if not isinstance(value, str):
        refuse("wrong-type", f"This must be the name of a {what} in quotes; given was {shown(value)}.")
    return value


# Calendar -------------------------------------------------------------------------------------------------------------


def day(value: object) -> date:
    """A date, as TOML's own or as an ISO text."""
    if isinstance(value, str) and _DAY.fullmatch(value):
        try:
            value = date.fromisoformat(value)
        except ValueError:
            refuse("bad-date", f"{shown(value)} is no day of the calendar.")
    if not isinstance(value, date) or isinstance(value, datetime):
        refuse("bad-date", f"This must be a date such as 2027-05-17; given was {shown(value)}.")
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        refuse("out-of-range", f"{value} is outside the years {FIRST_YEAR} to {LAST_YEAR}.")
    return value


def weekday(value: object) -> int:
    """A day of the week by its English name; Monday is 0."""
    return WEEKDAYS.index(key_of("weekday", WEEKDAYS)(value))


def working_windows(value: object) -> tuple[tuple[int, int], ...]:
    """Working hours of a day, ``"08:00-12:00, 13:00-17:00"``, as minutes after midnight. [min]"""
    text = plain_text(value)
    found: list[tuple[int, int]] = []
    for part in text.split(","):
        match = _WINDOW.fullmatch(part.strip())
        if not match:
            refuse("bad-hours", f"{shown(part.strip())} is no span of time. Write it like 08:00-12:00.")
        found.append((_minutes(match[1], match[2]), _minutes(match[3], match[4])))
    edges = [edge for window in found for edge in window]
    if any(later <= earlier for earlier, later in pairwise(edges)):
        refuse("bad-hours", f"{shown(text)} does not run forward. Give each span start before end, in order, apart.")
    return tuple(found)


def _minutes(hour: str, minute: str) -> int:
    found = int(hour) * 60 + int(minute)
    if int(minute) > 59 or found > MINUTES_A_DAY:
        refuse("bad-hours", f"{hour}:{minute} is no time of day. Give 00:00 to 24:00.")
    return found


# Secrets --------------------------------------------------------------------------------------------------------------


def secret_bytes(low: int, high: int) -> Reader[bytes]:
    """Bytes written as hex digits. What was given is never repeated, however wrong it is."""

    def read(value: object) -> bytes:
        if not isinstance(value, str) or not re.fullmatch(r"(?:[0-9a-fA-F]{2})*", value):
            refuse("bad-hex", "This must be a text of hex digits, two for each byte. (What was given is not shown.)")
        if not low <= len(value) // 2 <= high:
            limit = f"{low}" if low == high else f"{low} to {high}"
            refuse("wrong-count", f"{len(value) // 2} bytes are given; give {limit}, two hex digits each.")
        return bytes.fromhex(value)

    return read
