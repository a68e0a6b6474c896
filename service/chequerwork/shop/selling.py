"""How a shop file says how it sells: channels, ways to pay, tax, rush and foreign currencies."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Final, TypeVar

from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.trade import Channel, Charge, Exchange, FeeBase, Payment, PriceEnd, Rush, Tax
from chequerwork.shop.readers import code_of, money, rate, refuse, slug
from chequerwork.shop.record import Built, known, record_of, settings_of
from chequerwork.shop.settings_table import Reader, SettingsTable, shown

# A rate of exchange: digits with a point, neither 0 nor so small or large that a digit must be wrong.
_RATE = re.compile(r"[0-9]{1,7}(\.[0-9]{1,10})?")
_FREE: Final = {"fee_pct": Decimal(0), "fee_base": FeeBase.GROSS_WITH_SHIPPING, "fee_fixed": Decimal(0)}

C = TypeVar("C", bound=Charge)


def read_channel(key: str, at: SettingsTable, country: Reader[str]) -> Channel:
    """A sales channel with its fee, and where it departs from the shop's tax."""
    rates = Built(lambda at: at.values("rates", country, rate(*bounds_of(Channel, "rates_pct"))))
    collects = Built(lambda at: frozenset(at.items("collects", country)))
    found = record_of(at, Channel, key=known(key), payment=slug, rates_pct=rates, collects=collects)
    return _checked(at, found)


def read_payment(key: str, at: SettingsTable) -> Payment:
    """A way to pay with its fee; one without a fee names none."""
    return _checked(at, Payment(**settings_of(at, Payment, _FREE, key=known(key))))


def _checked(at: SettingsTable, charge: C) -> C:
    if charge.fee_max is not None and at.sound("fee_least", "fee_max") and charge.fee_least > charge.fee_max:
        detail = f"fee_least is {charge.fee_least}, fee_max is {charge.fee_max}. Give fee_least at most as large."
        at.fault("fee_least", "conflict", detail)
    return charge


def read_tax(at: SettingsTable, country: Reader[str]) -> Tax:
    """Regime and rates."""
    rates = Built(lambda at: at.values("rates", country, rate(*bounds_of(Tax, "rates_pct")), least=0))
    return record_of(at, Tax, rates_pct=rates)


def read_rush(price: SettingsTable) -> Rush | None:
    """The surcharge for haste, where a shop asks one."""
    return price.table_or_none("rush", lambda at: record_of(at, Rush))


def read_exchange(top: SettingsTable, currencies: Mapping[str, str]) -> Exchange | None:
    """The dated table of foreign currencies, where a shop quotes in any."""
    code = code_of("currency", currencies, "an ISO 4217 code such as EUR")

    def read(at: SettingsTable) -> Exchange:
        rates = Built(lambda at: at.values("rates", code, _exchange_rate, least=1))
        ends = Built(lambda at: at.named("ends", code, lambda _code, table: _end(table)))
        return record_of(at, Exchange, rates=rates, ends=ends)

    return top.table_or_none("exchange", read)


def _exchange_rate(value: object) -> Decimal:
    """Units of a currency for one of the shop's own."""
    if not isinstance(value, str) or not _RATE.fullmatch(value):
        detail = f"{shown(value)} is no rate of exchange. Write in quotes how many units of that currency one unit of "
        refuse("bad-rate", f"{detail}the shop's own is worth, such as '1.0832', up to ten decimals.")
    rate_found = Decimal(value)
    low, high = bounds_of(Exchange, "rates")
    if not low <= rate_found <= high:
        refuse("out-of-range", f"{shown(value)} is outside {low:f} to {high:f}. Check which way round the rate is.")
    return rate_found


def _end(at: SettingsTable) -> PriceEnd:
    found = record_of(at, PriceEnd, step=money(positive=True))
    if at.sound("step", "ending") and found.ending >= found.step:
        detail = f"ending is {found.ending}, step is {found.step}. Give an ending below the step."
        at.fault("ending", "conflict", detail)
    return found
