"""How a shop file says how it sells: channels, ways to pay, tax, rush and foreign currencies."""

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from chequerwork.domain.basics.trade import (
    Channel,
    Exchange,
    FeeBase,
    Payment,
    PaymentKind,
    PriceEnd,
    Rush,
    Tax,
    TaxRegime,
)
from chequerwork.shop.readers import choice, code_of, day, flag, money, plain_text, rate, refuse, slug, whole
from chequerwork.shop.section import Reader, Section, shown

MOST_RUSH_DAYS = 365
# A rate of exchange: digits with a point, neither 0 nor so small or large that a digit must be wrong.
_RATE = re.compile(r"[0-9]{1,7}(\.[0-9]{1,10})?")
_RATES = (Decimal("0.000001"), Decimal(1_000_000))
_FRESH_DAYS: Final = 31  # how old a table may be before the workshop is told, where a shop does not say (house)


def read_channel(key: str, at: Section, country: Reader[str]) -> Channel:
    """A sales channel with its fee, and where it departs from the shop's tax."""
    return Channel(
        **_charge(key, at),
        payment=at.read_or("payment", slug, None),
        regime=at.read_or("regime", choice("tax regime", TaxRegime), None),
        rates_pct=at.values("rates", country, rate(0, 100)),
        collects=frozenset(at.items("collects", country)),
    )


def read_payment(key: str, at: Section) -> Payment:
    """A way to pay with its fee; one without a fee names none."""
    return Payment(
        **_charge(key, at, free=True),
        kind=at.read("kind", choice("kind of payment", PaymentKind)),
    )


def _charge(key: str, at: Section, *, free: bool = False) -> Mapping[str, Any]:
    """What channels and ways to pay have alike; all of the fee may be left out where there may be none."""
    found: dict[str, Any] = {
        "key": key,
        "name": at.read("name", plain_text),
        "fee_pct": at.read_or("fee", rate(0, 95), Decimal(0)) if free else at.read("fee", rate(0, 95)),
        "fee_base": _base(at, free=free),
        "fee_fixed": at.read_or("fee_fixed", money(), Decimal(0)) if free else at.read("fee_fixed", money()),
        "fee_least": at.read_or("fee_least", money(), Decimal(0)),
        "fee_max": at.read_or("fee_max", money(), None),
    }
    if at.sound("fee_least", "fee_max") and found["fee_least"] > found["fee_max"]:
        detail = f"fee_least is {found['fee_least']}, fee_max is {found['fee_max']}. Give fee_least at most as large."
        at.fault("fee_least", "conflict", detail)
    return found


def _base(at: Section, *, free: bool) -> FeeBase:
    read = choice("fee base", FeeBase)
    return at.read_or("fee_base", read, FeeBase.GROSS_WITH_SHIPPING) if free else at.read("fee_base", read)


def read_tax(at: Section, country: Reader[str]) -> Tax:
    """Regime and rates."""
    return Tax(
        regime=at.read("regime", choice("tax regime", TaxRegime)),
        rates_pct=at.values("rates", country, rate(0, 100), least=0),
        other_pct=at.read("other", rate(0, 100)),
        name=at.read("name", plain_text),
        on_shipping=at.read_or("on_shipping", flag, default=True),
    )


def read_rush(price: Section) -> Rush | None:
    """The surcharge for haste, where a shop asks one."""
    return price.table_or_none("rush", _rush)


def _rush(at: Section) -> Rush:
    return Rush(
        within_days=at.read("within_days", whole(0, MOST_RUSH_DAYS)),
        surcharge_pct=at.read("surcharge", rate(0, 500)),
    )


def read_exchange(top: Section, currencies: Mapping[str, str]) -> Exchange | None:
    """The dated table of foreign currencies, where a shop quotes in any."""
    code = code_of("currency", currencies, "an ISO 4217 code such as EUR")

    def read(at: Section) -> Exchange:
        return Exchange(
            on=at.read("on", day),
            source=at.read("source", plain_text),
            rates=at.values("rates", code, _exchange_rate, least=1),
            max_age_days=at.read_or("max_age_days", whole(0, 3650), _FRESH_DAYS),
            ends=at.named("ends", code, lambda _code, section: _end(section)),
        )

    return top.table_or_none("exchange", read)


def _exchange_rate(value: object) -> Decimal:
    """Units of a currency for one of the shop's own."""
    if not isinstance(value, str) or not _RATE.fullmatch(value):
        detail = f"{shown(value)} is no rate of exchange. Write in quotes how many units of that currency one unit of "
        refuse("bad-rate", f"{detail}the shop's own is worth, such as '1.0832', up to ten decimals.")
    rate_found = Decimal(value)
    low, high = _RATES
    if not low <= rate_found <= high:
        refuse("out-of-range", f"{shown(value)} is outside {low:f} to {high:f}. Check which way round the rate is.")
    return rate_found


def _end(at: Section) -> PriceEnd:
    found = PriceEnd(step=at.read("step", money(positive=True)), ending=at.read_or("ending", money(), Decimal(0)))
    if at.sound("step", "ending") and found.ending >= found.step:
        detail = f"ending is {found.ending}, step is {found.step}. Give an ending below the step."
        at.fault("ending", "conflict", detail)
    return found
