"""Amounts of money as people of a place write them. The only file that imports Babel.

Amounts come rounded; nothing is rounded here, and a currency has the decimals of ISO 4217 wherever it is written. Babel
says once how a place writes a currency, from CLDR; the amounts themselves are then put together without it, which takes
a tenth of the time.
"""

from decimal import Decimal
from functools import cache

from chequerwork.domain.basics.errors import BadQuantity, near_names

_ENGLISH = "en_001"  # world English: the texts around the amounts are English
_BY_THREE = (3, 3)  # digits of the last group, and of those before it
_SPACE = "\N{NO-BREAK SPACE}"


def locale_of(value: object) -> str:
    """A locale by its name in CLDR, such as ``de_AT``.

    Raises
    ------
    BadQuantity
        There is none of that name.
    """
    # 40 ms that only shops with a locale of their own, and first texts, need.
    from babel.localedata import exists, locale_identifiers  # noqa: PLC0415

    known = set(locale_identifiers())
    if isinstance(value, str) and value in known and exists(value):
        return value
    given = value if isinstance(value, str) else ""
    spelled = {name.lower(): name for name in known}
    near = near_names(given, spelled)
    meant = f"Did you mean {' or '.join(spelled[name] for name in near)}?" if near else "Write one such as de_AT."
    raise BadQuantity("unknown-name", f"There is no locale named {str(value)[:60]!r} here. {meant}")


@cache
def usual_locale(country: str) -> str:
    """How amounts are written in English texts for a country: as its own English has it, else as world English.

    Parameters
    ----------
    country
        ISO 3166, two capital letters.
    """
    from babel.localedata import exists  # noqa: PLC0415

    return f"en_{country}" if exists(f"en_{country}") else _ENGLISH


def amount_text(amount: Decimal, exponent: int, currency: str, locale: str) -> str:
    """An amount with its currency, such as ``€ 1 234,50``; spaces are such as do not break.

    Parameters
    ----------
    amount
        Rounded to ``exponent`` decimals.
    exponent
        Decimals of the currency. 0 to 4.
    currency
        ISO 4217.
    locale
        As ``locale_of`` and ``usual_locale`` give them.
    """
    before, after, marks, grouping = _form(locale, currency)
    if grouping == _BY_THREE:
        digits = f"{abs(amount):,.{exponent}f}"
    else:
        digits = _grouped(f"{abs(amount):.{exponent}f}", *grouping)
    below = amount < 0
    return before[below] + digits.translate(marks) + after[below]


def _grouped(digits: str, last: int, others: int) -> str:
    """1234567.50 as 12,34,567.50: one group of ``last`` digits, then groups of ``others``."""
    whole, point, rest = digits.partition(".")
    head, tail = whole[:-last], whole[-last:]
    groups = [head[max(0, end - others) : end] for end in range(len(head), 0, -others)][::-1]
    return ",".join([*groups, tail]) + point + rest


@cache
def _form(locale: str, currency: str) -> tuple[tuple[str, str], tuple[str, str], dict[int, str], tuple[int, int]]:
    """What stands before and after an amount (of 0 and more, below 0), its marks, and sizes of its groups."""
    from babel.core import Locale  # noqa: PLC0415
    from babel.numbers import get_currency_symbol, get_decimal_symbol, get_group_symbol  # noqa: PLC0415

    place = Locale.parse(locale)
    pattern = place.currency_formats["standard"]
    symbol = get_currency_symbol(currency, place)

    # A space between letters and digits, as CLDR's currency spacing asks and Babel leaves out.
    first, last = (_SPACE if letter.isalpha() else "" for letter in (symbol[-1], symbol[0]))
    before, below = (part + first if part.endswith("¤") else part for part in pattern.prefix)
    after, behind = (last + part if part.startswith("¤") else part for part in pattern.suffix)
    prefixes = before.replace("¤", symbol), below.replace("¤", symbol)
    suffixes = after.replace("¤", symbol), behind.replace("¤", symbol)
    marks = {ord(","): get_group_symbol(place), ord("."): get_decimal_symbol(place)}
    return prefixes, suffixes, marks, pattern.grouping
