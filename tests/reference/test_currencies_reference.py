"""Decimals and coins of every currency against two libraries; whole quotes in currencies of 0, 2, 3 and 4 decimals."""

from decimal import Decimal

import iso4217
import pytest
from babel.core import get_global
from builders import a_plan, altered, demo_shops, demo_tables

TABLES, MOOSGRUND = demo_tables(), demo_shops()["moosgrund"]
# ISO 4217 in the edition of the library against ours: none differs.
THEIRS = {each.code: each for each in iso4217.Currency}
# The decimals that CLDR writes differ from ISO's for these; they come out of its lists, and an invoice has ISO's.
FRACTIONS = get_global("currency_fractions")


def test_exponents_are_those_of_iso_4217():
    """Library iso4217, which carries the maintenance agency's list one."""
    ours = {code: currency.exponent for code, currency in TABLES.currencies.items() if code in THEIRS}
    assert len(ours) > 150
    assert ours == {code: THEIRS[code].exponent for code in ours}


def test_cash_steps_are_those_of_cldr():
    """Babel's copy of CLDR's cash digits and cash rounding; a step that every decimal reaches is none."""
    for code, currency in TABLES.currencies.items():
        _, _, digits, rounding = FRACTIONS.get(code, FRACTIONS["DEFAULT"])
        step = Decimal(max(rounding, 1)).scaleb(-digits)
        coin = Decimal(1).scaleb(-currency.exponent)
        assert currency.cash_step == (step if step > coin else None), code


@pytest.mark.parametrize(
    ("code", "step"), [("CHF", "0.05"), ("CAD", "0.05"), ("DKK", "0.50"), ("SEK", "1"), ("EUR", None), ("JPY", None)]
)
def test_cash_steps_of_the_notes(code, step):
    """TRADE-PRICE, minor units: CLDR has a step for the first three, whole units for Sweden, none for the euro."""
    assert TABLES.currencies[code].cash_step == (None if step is None else Decimal(step))


@pytest.mark.parametrize(
    ("code", "decimals", "scale", "step", "ending"),
    [
        ("JPY", 0, 160, "500", "480"), ("KRW", 0, 1500, "1000", "900"), ("EUR", 2, 1, "10", "9"),
        ("KWD", 3, "0.33", "1", "0.950"), ("TND", 3, "3.3", "5", "4.900"), ("CLF", 4, "0.0285", "0.5", "0.25"),
        ("UYW", 4, "0.14", "0.25", "0"),
    ],
)  # fmt: skip
def test_a_whole_quote_in_a_shop_of_that_currency(code, decimals, scale, step, ending):
    """Every amount has the decimals of ISO 4217, the price its end, and the sums are exact."""
    assert TABLES.currencies[code].exponent == decimals
    scale, coin = Decimal(scale), Decimal(1).scaleb(-decimals)
    lumber = {key: altered(wood, price_m3=wood.price_m3 * scale) for key, wood in MOOSGRUND.lumber.items()}
    channel = altered(MOOSGRUND.channels["own_site"], fee_fixed=coin)
    shop = altered(
        MOOSGRUND,
        currency=code,
        lumber=lumber,
        labour={"rate_h": 31 * scale},
        channels={"own_site": channel},
        price={"price_step": Decimal(step), "price_ending": Decimal(ending)},
    )
    price = a_plan(shop, quantity=3, feet=4).price
    assert (price.unit_gross - Decimal(ending)) % Decimal(step) == 0
    assert price.total == 3 * price.unit_net + price.shipping + price.tax
    told = [price.total, price.unit_net, price.unit_gross, price.tax, price.fees.amount, price.margin_total]
    told += [cost.amount for cost in price.costs]
    assert {-amount.as_tuple().exponent for amount in told} == {decimals}
    assert price.margin_total >= 3 * price.unit_net * Decimal("0.12")
