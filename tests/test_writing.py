"""Amounts as people write them: what Babel writes, faster, with the decimals of ISO 4217."""

import re
from decimal import Decimal

import pytest
from babel.core import Locale
from babel.localedata import locale_identifiers
from builders import demo_tables

from chequerwork.domain.basics.errors import BadQuantity
from chequerwork.writing import amount_text, locale_of, usual_locale

CURRENCIES = {"JPY": 0, "EUR": 2, "KWD": 3, "CLF": 4}
AMOUNTS = ("0", "5.5", "999.99", "1234.5", "12345.67", "1234567.125", "-12.3")


@pytest.mark.slow("every place that Babel knows")
@pytest.mark.parametrize("currency", CURRENCIES)
@pytest.mark.filterwarnings("ignore:The force_frac parameter:DeprecationWarning")
def test_it_is_what_babel_writes_in_every_place(currency):
    """Save for the space of CLDR's currency spacing, which Babel leaves out: a letter never touches a digit."""
    exponent = CURRENCIES[currency]
    for name in locale_identifiers():
        place = Locale.parse(name)
        pattern = place.currency_formats["standard"]
        for text in AMOUNTS:
            amount = Decimal(text).quantize(Decimal(1).scaleb(-exponent))
            theirs = pattern.apply(
                amount, place, currency=currency, currency_digits=False, force_frac=(exponent, exponent)
            )
            spaced = re.sub(r"(?<=[^\W\d_])(?=\d)|(?<=\d)(?=[^\W\d_])", "\N{NO-BREAK SPACE}", theirs)
            assert amount_text(amount, exponent, currency, name) == spaced, name


@pytest.mark.parametrize(
    ("amount", "currency", "country", "text"),
    [
        ("1234.50", "EUR", "AT", "€\N{NO-BREAK SPACE}1.234,50"),
        ("1234.50", "EUR", "DE", "1.234,50\N{NO-BREAK SPACE}€"),
        ("1234.50", "USD", "US", "$1,234.50"),
        ("1234.50", "CHF", "CH", "CHF\N{NO-BREAK SPACE}1’234.50"),
        ("1234567.50", "INR", "IN", "₹12,34,567.50"),
        ("1234", "JPY", "JP", "JP¥1,234"),
        ("1.250", "KWD", "KW", "KWD\N{NO-BREAK SPACE}1.250"),
    ],
)
def test_amounts_stand_in_english_texts_as_their_country_writes_them(amount, currency, country, text):
    """CLDR 47 through Babel 2.18; where a country has no English of its own, world English."""
    exponent = demo_tables().currencies[currency].exponent
    assert amount_text(Decimal(amount), exponent, currency, usual_locale(country)) == text


def test_invoices_have_the_decimals_of_iso_where_cldr_writes_others():
    """MGA: ISO 2, CLDR 0; IQD: ISO 3, CLDR 0."""
    digits = {code: demo_tables().currencies[code].exponent for code in ("MGA", "IQD")}
    assert digits == {"MGA": 2, "IQD": 3}
    assert amount_text(Decimal("1200.50"), 2, "MGA", "en_001").endswith("1,200.50")
    assert amount_text(Decimal("1200.500"), 3, "IQD", "en_001").endswith("1,200.500")


@pytest.mark.parametrize("name", ["de_AT", "en", "zh_Hant_TW"])
def test_a_locale_is_read_by_its_name(name):
    assert locale_of(name) == name


@pytest.mark.parametrize(("given", "near"), [("de_at", "de_AT"), ("de-AT", "de_AT"), ("de_XX", "de_"), (7, "de_AT")])
def test_another_name_is_refused_with_near_ones(given, near):
    with pytest.raises(BadQuantity) as refused:
        locale_of(given)
    assert refused.value.code == "unknown-name"
    assert near in refused.value.detail
