"""Shapes of how a shop sells: channels, ways to pay, taxes, rush, foreign currencies. Filled by the ``shop`` room.

Money as ``Decimal`` in the shop's currency without tax unless the name says otherwise; percentages of what they name.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from chequerwork.domain.basics.bounds import within


class TaxRegime(StrEnum):
    """How prices are shown: with tax inside, or tax added on top."""

    INCLUDED = "included"
    ADDED = "added"


class FeeBase(StrEnum):
    """What a percentage is taken of: the goods without tax, with tax, or goods and shipping with tax."""

    NET = "net"
    GROSS = "gross"
    GROSS_WITH_SHIPPING = "gross_with_shipping"


class PaymentKind(StrEnum):
    """Ways to pay: only cash is rounded to coins."""

    CARD = "card"
    CASH = "cash"
    TRANSFER = "transfer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """What somebody takes of every order: a percentage within bounds, and a fixed amount on top of it."""

    key: str
    name: str
    fee_pct: Decimal = field(metadata=within(0, 95))
    fee_base: FeeBase
    fee_fixed: Decimal  # per order
    fee_least: Decimal = Decimal(0)  # the percentage brings at least this per order ...
    fee_max: Decimal | None = None  # ... and at most this; None = no cap


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel(Charge):
    """A place where the shop sells. What it leaves open is as in ``Tax`` and ``Defaults``.

    ``rates_pct`` stand instead of the shop's.
    """

    payment: str | None = None  # usual way to pay here, one of Shop.payments
    regime: TaxRegime | None = None
    rates_pct: Mapping[str, Decimal] = field(default_factory=dict, metadata=within(0, 100))  # by destination
    collects: frozenset[str] = frozenset()  # destinations whose tax the channel itself takes and pays


@dataclass(frozen=True, slots=True, kw_only=True)
class Payment(Charge):
    """A way to pay and what it costs the shop."""

    kind: PaymentKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Tax:
    """Sales tax or VAT: the regime, and the rate by destination; a country not named has ``other_pct``."""

    regime: TaxRegime
    rates_pct: Mapping[str, Decimal] = field(metadata=within(0, 100))
    other_pct: Decimal = field(metadata=within(0, 100))
    name: str
    on_shipping: bool = True  # whether shipping is taxed as the goods are

    def rate_pct(self, channel: Channel, country: str) -> Decimal:
        """Of the net price, sold there and sent here. [%]"""
        return channel.rates_pct.get(country, self.rates_pct.get(country, self.other_pct))

    def worst_pct(self, channel: Channel) -> Decimal:
        """The highest rate that an order through a channel can have. [%]"""
        return max((*channel.rates_pct.values(), *self.rates_pct.values(), self.other_pct))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rush:
    """Orders wanted within so many days of their date, and what is added to their net price."""

    within_days: int = field(metadata=within(0, 365))
    surcharge_pct: Decimal = field(metadata=within(0, 500))


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceEnd:
    """The shown unit price is the next multiple of ``step`` plus ``ending``: step 10, ending 9 gives 449."""

    step: Decimal
    ending: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """What one unit of the shop's currency is worth in others, on one day."""

    on: date
    source: str
    rates: Mapping[str, Decimal] = field(metadata=within(Decimal("0.000001"), Decimal(1_000_000)))
    max_age_days: int = field(default=31, metadata=within(0, 3650))
    ends: Mapping[str, PriceEnd]  # by currency; one not named is rounded up to its smallest coin
