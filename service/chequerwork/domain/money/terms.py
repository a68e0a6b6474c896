"""On what terms an order is priced: its currency, tax, fees, price ends, and what is to remain."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from chequerwork.domain.basics.amounts import HUNDRED, converted, round_money
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import PriceRules, Shop
from chequerwork.domain.basics.trade import Channel, Payment, PaymentKind, PriceEnd, Rush, TaxRegime
from chequerwork.domain.money.fees import FeeLayer, layer_of
from chequerwork.domain.order.order import Sale

_OWN = Decimal(1)  # the shop's own currency is worth itself
_ANY_END = PriceEnd(step=Decimal(0), ending=Decimal(0))  # a step of 0 keeps the amount


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What of shop and order decides how cost becomes price. Fractions, not percentages."""

    currency: str
    exponent: int
    exchange: Decimal  # units of the currency for one of the shop's own
    channel: Channel
    payment: Payment | None
    regime: TaxRegime
    tax_pct: Decimal
    tax: Decimal
    shipping_tax: Decimal
    collected: bool  # whether the channel itself takes and pays the tax
    end: PriceEnd
    margin: Decimal  # of the goods' net price
    markup: Decimal  # of the cost; one of the two is 0
    surcharge: Decimal  # for haste, of the net price
    discount: Decimal  # that the shown price leaves room for

    @property
    def included(self) -> bool:
        """Whether the shown price has its tax inside."""
        return self.regime is TaxRegime.INCLUDED

    @property
    def at_home(self) -> bool:
        """Whether the quote is in the shop's own currency; one worth just as much may have other decimals."""
        return self.exchange is _OWN

    def cost(self, amount: Decimal) -> Decimal:
        """A rounded amount of the shop's own currency in that of the quote."""
        return amount if self.at_home else converted(amount, self.exchange, self.exponent)

    def layers(self, shipping_gross: Decimal) -> tuple[FeeLayer, ...]:
        """Fees of channel and payment."""
        quoted = None if self.at_home else self.cost
        charges = (self.channel,) if self.payment is None else (self.channel, self.payment)
        return tuple(layer_of(charge, tax=self.tax, shipping_gross=shipping_gross, quoted=quoted) for charge in charges)

    def promised(self, goods: Decimal, cost: Decimal) -> Decimal:
        """What must remain of the goods' net price after fees and cost, unrounded."""
        return goods * self.margin + cost * self.markup


def valid_until(issued_on: date, rules: PriceRules) -> date:
    """The last day on which an offer made on a day stands, by the shop's rules of price."""
    return issued_on + timedelta(days=rules.valid_days)


def terms_of(sale: Sale, issued_on: date, wanted_by: date | None, shop: Shop, tables: Tables) -> Terms:
    """The terms of a sale, quoted on one day and wanted by another, or None."""
    rules, channel = shop.price, shop.channels[sale.channel]
    tax_pct = shop.tax.rate_pct(channel, sale.ship_to)
    tax, currency = tax_pct / HUNDRED, sale.currency
    rush = rush_of(issued_on, wanted_by, rules)
    return Terms(
        currency=currency,
        exponent=tables.currencies[currency].exponent,
        exchange=exchange_of(shop, currency),
        channel=channel,
        payment=None if sale.payment is None else shop.payments[sale.payment],
        regime=channel.regime or shop.tax.regime,
        tax_pct=tax_pct,
        tax=tax,
        shipping_tax=tax if shop.tax.on_shipping else Decimal(0),
        collected=sale.ship_to in channel.collects,
        end=_end(shop, currency),
        margin=rules.margin_pct / HUNDRED,
        markup=rules.markup_pct / HUNDRED,
        surcharge=rush.surcharge_pct / HUNDRED if rush else Decimal(0),
        discount=rules.discount_pct / HUNDRED,
    )


def rush_of(issued_on: date, wanted_by: date | None, rules: PriceRules) -> Rush | None:
    """The surcharge for haste that an order pays, or None. It looks at what was asked, never at the work plan."""
    if rules.rush is None or wanted_by is None:
        return None
    return rules.rush if (wanted_by - issued_on).days <= rules.rush.within_days else None


def exchange_of(shop: Shop, currency: str) -> Decimal:
    """Units of a currency for one of the shop's own, as the shop's dated table has it."""
    if currency == shop.currency or shop.exchange is None:
        return _OWN
    return shop.exchange.rates[currency]


def _end(shop: Shop, currency: str) -> PriceEnd:
    if currency == shop.currency:
        return PriceEnd(step=shop.price.price_step, ending=shop.price.price_ending)
    return shop.exchange.ends.get(currency, _ANY_END) if shop.exchange else _ANY_END


def cash_step(terms: Terms, shop: Shop, tables: Tables) -> Decimal | None:
    """Smallest amount of the quote's currency that coins pay, where it is paid in cash and they do not pay all."""
    if terms.payment is None or terms.payment.kind is not PaymentKind.CASH:
        return None
    own = shop.price.cash_step if terms.currency == shop.currency else None
    return own or tables.currencies[terms.currency].cash_step


def postage(terms: Terms, amount: Decimal, own_exponent: int) -> Decimal:
    """Shipping without tax in the currency of the quote: rounded at home, rounded up abroad."""
    return terms.cost(round_money(amount, own_exponent))
