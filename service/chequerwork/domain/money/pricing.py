"""From cost to price. ``Decimal`` throughout; every amount is rounded once and totals are sums of rounded amounts."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.amounts import (
    balance_of,
    cash_amount,
    cost_if_worse,
    each_board,
    for_boards,
    gross_of,
    net_inside,
    order_tax,
    order_total,
    percent_of,
    price_end,
    round_money,
    sum_of_money,
    taxed,
)
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import PriceRules, Shop
from chequerwork.domain.basics.trade import FeeBase, Rush, TaxRegime
from chequerwork.domain.making.hours import SHARES, Hours
from chequerwork.domain.making.materials import Materials
from chequerwork.domain.money.costs import Cost, build_up, is_bought, usual_waste
from chequerwork.domain.money.fees import net_for_margin
from chequerwork.domain.money.margins import (
    at_most,
    discounted,
    kept_of,
    list_price,
    margin_pct,
    markup_pct,
    rushed,
    with_markup,
)
from chequerwork.domain.money.risk import held, unsure_money
from chequerwork.domain.money.terms import Terms, cash_step, postage, rush_of, terms_of
from chequerwork.domain.order.order import Sale
from chequerwork.domain.parcel.packing import Consignment


@dataclass(frozen=True, slots=True, kw_only=True)
class Fees:
    """What a sales channel, or a way to pay, takes of the whole order."""

    key: str
    rate_pct: Decimal
    base: FeeBase
    fixed: Decimal
    amount: Decimal


class Sold(NamedTuple):
    """All boards sold at one unit price, and what is left of it."""

    unit_net: Decimal
    unit_gross: Decimal
    goods: Decimal  # without tax
    fees: tuple[Decimal, ...]  # of each layer
    kept: Decimal


class Tag(NamedTuple):
    """A unit price found: what it must be at least, what is sold at the one shown, and at that after a discount."""

    asked: Decimal
    sold: Sold
    given: Sold


@dataclass(frozen=True, slots=True, kw_only=True)
class RushSurcharge:
    """The surcharge for haste, which is part of the unit price."""

    within_days: int
    surcharge_pct: Decimal
    unit_amount: Decimal  # of the shown unit price, with tax


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscountGiven:
    """What is left if the discount that the price has room for is given."""

    pct: Decimal
    unit_gross: Decimal
    margin_pct: Decimal
    margin_total: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Deposit:
    """Part of the total that is paid when the order is placed, and the rest."""

    pct: Decimal
    amount: Decimal
    balance: Decimal
    covers_bought: bool  # whether it pays for what must be bought for the order


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """Cost of the whole order that one order in two, in five, in twenty exceeds."""

    p50: Decimal
    p80: Decimal
    p95: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """Price of the whole order. ``total = quantity x unit_net + shipping + tax``, to the cent.

    ``asked`` is the unit price before its price end; ``floor_total`` is what goods must fetch without tax so that
    nothing is lost; ``margin_total`` is what remains of the goods' net price after fees and costs, never less than
    promised. All in ``currency``.
    """

    currency: str
    quantity: int
    tax_name: str
    tax_pct: Decimal
    shipping_tax_pct: Decimal
    regime: TaxRegime
    collected: bool
    asked: Decimal
    unit_net: Decimal
    unit_gross: Decimal
    shipping: Decimal
    shipping_gross: Decimal
    tax: Decimal
    total: Decimal
    total_cash: Decimal | None
    rush: RushSurcharge | None
    deposit: Deposit | None
    costs: tuple[Cost, ...]
    own_costs: tuple[Cost, ...]  # the same lines in the shop's own currency
    stretch: float  # work and waste where the price holds, of what they are on average
    cost_total: Decimal
    floor_total: Decimal
    fees: Fees
    payment: Fees | None
    margin_pct: Decimal
    markup_pct: Decimal
    margin_total: Decimal
    discount: DiscountGiven | None
    exchange: Decimal | None  # None where the quote is in the shop's own currency
    advice: tuple[Advice, ...]

    @property
    def unit_worth(self) -> Decimal:
        """One board without tax in the shop's own currency, unrounded where it is converted."""
        return self.unit_net if self.exchange is None else self.unit_net / self.exchange

    @property
    def fees_total(self) -> Decimal:
        """What channel and payment take together."""
        return self.fees.amount + (self.payment.amount if self.payment else 0)


def price(
    materials: Materials,
    hours: Hours,
    parcel: Consignment,
    sale: Sale,
    issued_on: date,
    wanted_by: date | None,
    shop: Shop,
    tables: Tables,
) -> Price:
    """Price the whole order.

    The net price is the least at which the promised margin or markup remains after fees and costs; the shown unit
    price, with tax where prices include it, is rounded up to the shop's price ends, so the floor is never crossed.

    Raises
    ------
    Refused
        Fees and margin together leave nothing for the costs.
    """
    terms, quantity = terms_of(sale, issued_on, wanted_by, shop, tables), sale.quantity
    built = build_up(shop, tables, materials, hours, parcel)
    costs = quoted(built.lines, terms)
    cost_total = sum_of_money(tuple(cost.amount for cost in costs))
    shipping = postage(terms, parcel.postage, tables.currencies[shop.currency].exponent)
    shipping_gross = gross_of(shipping, terms.shipping_tax, terms.exponent)
    till = Till(terms, quantity, cost_total, shipping_gross)
    asked, sold, given = till.tag(surcharge=terms.surcharge)
    unit_net, unit_gross = sold.unit_net, sold.unit_gross
    tax = order_tax(
        quantity=quantity, unit_net=unit_net, unit_gross=unit_gross, shipping=shipping, shipping_gross=shipping_gross
    )
    total = order_total(quantity=quantity, unit_net=unit_net, shipping=shipping, tax=tax)
    coins = cash_step(terms, shop, tables)
    total_cash = _cash(total, coins, till, sold)
    deposit = _deposit(shop.price, total, total_cash, coins, costs, terms.exponent)
    return Price(
        currency=terms.currency,
        quantity=quantity,
        tax_name=shop.tax.name,
        tax_pct=terms.tax_pct,
        shipping_tax_pct=terms.tax_pct if shop.tax.on_shipping else Decimal(0),
        regime=terms.regime,
        collected=terms.collected,
        asked=asked,
        unit_net=unit_net,
        unit_gross=unit_gross,
        shipping=shipping,
        shipping_gross=shipping_gross,
        tax=tax,
        total=total,
        total_cash=total_cash,
        rush=_hurry(rush_of(issued_on, wanted_by, shop.price), till, sold),
        deposit=deposit,
        costs=costs,
        own_costs=built.lines,
        stretch=built.stretch,
        cost_total=cost_total,
        floor_total=till.floor(),
        fees=_fees(till, 0, sold),
        payment=_fees(till, 1, sold) if len(till.layers) > 1 else None,
        margin_pct=margin_pct(sold.kept, sold.goods),
        markup_pct=markup_pct(sold.kept, cost_total),
        margin_total=sold.kept,
        discount=_given(shop.price, given),
        exchange=terms.exchange if terms.currency != shop.currency else None,
        advice=tuple(_advice(issued_on, shop, terms, deposit)),
    )


def risk(found: Price, shop: Shop, tables: Tables, hours: Hours) -> Risk:
    """What the order costs if work and waste come to more; the price stays."""
    p50, p80, p95 = (
        cost_if_worse(found.cost_total, over, shop.price.overhead_pct, tables.currencies[found.currency].exponent)
        for over in worse(found, shop, tables, hours)
    )
    return Risk(p50=p50, p80=p80, p95=p95)


def worse(found: Price, shop: Shop, tables: Tables, hours: Hours) -> tuple[Decimal, ...]:
    """What work and waste cost more than the price is made of, at p50, p80 and p95, in the currency of the quote."""
    waste = usual_waste(found.own_costs, shop.price, tables.currencies[shop.currency].exponent)
    unsure, exchange = unsure_money(shop, tables, hours, waste), found.exchange or Decimal(1)
    promised = held(unsure, shop.price.holds_at)
    # At nine decimals, so that no binary tail enters.
    return tuple(Decimal(f"{unsure.at(share) - promised:.9f}") * exchange for share in SHARES.values())


def quoted(costs: tuple[Cost, ...], terms: Terms) -> tuple[Cost, ...]:
    """Cost lines in the currency of the quote, each rounded up on its own."""
    if terms.at_home:
        return costs
    return tuple(cost._replace(amount=terms.cost(cost.amount)) for cost in costs)


class Till:
    """Unit prices tried: what each brings, and what is left of it."""

    def __init__(self, terms: Terms, quantity: int, cost: Decimal, shipping_gross: Decimal) -> None:
        self.terms, self.quantity, self.cost, self.shipping_gross = terms, quantity, cost, shipping_gross
        self.layers = terms.layers(shipping_gross)

    def wanted(self) -> Decimal:
        """Least net price of all boards at which what is promised remains, unrounded. Raises ``Refused``."""
        terms = self.terms
        cost = with_markup(self.cost, terms.markup) if terms.markup else self.cost
        return net_for_margin(cost, self.layers, terms.margin)

    def floor(self) -> Decimal:
        """Least net price of all boards at which nothing is lost. Raises ``Refused``."""
        least = net_for_margin(self.cost, self.layers, Decimal(0))
        return round_money(least, self.terms.exponent, rounding=ROUND_CEILING)

    def asked(self, *, surcharge: Decimal) -> Decimal:
        """Least unit price to show, before its price end: with tax where prices include it, with room for a discount.

        Every step is rounded up, so that none of the following ones falls below it.
        """
        terms, unit = self.terms, each_board(self.wanted(), self.quantity)
        unit = self._up(rushed(unit, surcharge) if surcharge else unit)
        if terms.included:
            unit = self._up(taxed(unit, terms.tax))
        return self._up(list_price(unit, terms.discount)) if terms.discount else unit

    def tag(self, *, surcharge: Decimal) -> Tag:
        """The price to show: with a price end, and keeping the promise to the last coin.

        Fees and tax are rounded too, which can take some coins of what is promised: then the price is raised by them.
        """
        terms, asked = self.terms, self.asked(surcharge=surcharge)
        while True:
            shown = round_money(price_end(asked, terms.end.step, terms.end.ending), terms.exponent)
            sold = self.sold(shown)
            given = self.sold(self.after_discount(shown)) if terms.discount else sold
            short = -self.spare(given)
            if short <= 0:
                return Tag(asked, sold, given)
            # All of it on the unit price, and at least a coin, so that this ends.
            asked = shown + self._up(each_board(short, self.quantity))

    def after_discount(self, shown: Decimal) -> Decimal:
        """What a customer pays for a board if the discount is given."""
        return discounted(shown, self.terms.discount, self.terms.exponent)

    def sold(self, shown: Decimal) -> Sold:
        """All boards sold at a shown unit price."""
        terms = self.terms
        if terms.included:
            unit_net, unit_gross = net_inside(shown, terms.tax, terms.exponent), shown
        else:
            unit_net, unit_gross = shown, gross_of(shown, terms.tax, terms.exponent)
        goods, gross = for_boards(unit_net, self.quantity), for_boards(unit_gross, self.quantity)
        fees = tuple(
            layer.fee(layer.taken_of(goods, gross, self.shipping_gross), terms.exponent) for layer in self.layers
        )
        kept = kept_of(goods, sum_of_money(fees), self.cost)
        return Sold(unit_net=unit_net, unit_gross=unit_gross, goods=goods, fees=fees, kept=kept)

    def spare(self, sold: Sold) -> Decimal:
        """What is left above what is promised."""
        return sold.kept - self.terms.promised(sold.goods, self.cost)

    def _up(self, amount: Decimal) -> Decimal:
        return round_money(amount, self.terms.exponent, rounding=ROUND_CEILING)


def _fees(till: Till, index: int, sold: Sold) -> Fees:
    layer, exponent = till.layers[index], till.terms.exponent
    return Fees(
        key=layer.charge.key,
        rate_pct=layer.charge.fee_pct,
        base=layer.charge.fee_base,
        fixed=round_money(layer.fixed, exponent),
        amount=sold.fees[index],
    )


def _hurry(rush: Rush | None, till: Till, sold: Sold) -> RushSurcharge | None:
    if rush is None:
        return None
    calm = till.tag(surcharge=Decimal(0)).sold
    return RushSurcharge(
        within_days=rush.within_days,
        surcharge_pct=rush.surcharge_pct,
        unit_amount=sold.unit_gross - calm.unit_gross,
    )


def _given(rules: PriceRules, sold: Sold) -> DiscountGiven | None:
    if not rules.discount_pct:
        return None
    return DiscountGiven(
        pct=rules.discount_pct,
        unit_gross=sold.unit_gross,
        margin_pct=margin_pct(sold.kept, sold.goods),
        margin_total=sold.kept,
    )


def _deposit(
    rules: PriceRules,
    total: Decimal,
    total_cash: Decimal | None,
    coins: Decimal | None,
    costs: tuple[Cost, ...],
    exponent: int,
) -> Deposit | None:
    """A share of the total; in cash both parts are in coins and add up to what coins pay."""
    if not rules.deposit_pct:
        return None
    amount = percent_of(total, rules.deposit_pct, exponent)
    if coins is not None and total_cash is not None:
        total, amount = total_cash, at_most(cash_amount(amount, coins, exponent), total_cash)
    bought = sum_of_money(tuple(cost.amount for cost in costs if is_bought(cost.code)))
    return Deposit(
        pct=rules.deposit_pct,
        amount=amount,
        balance=balance_of(total, amount),
        covers_bought=amount >= bought,
    )


def _cash(total: Decimal, step: Decimal | None, till: Till, sold: Sold) -> Decimal | None:
    """The total in coins: the nearest amount, or the next above where the promise would not bear what is lost."""
    if step is None:
        return None
    exponent = till.terms.exponent
    nearest = cash_amount(total, step, exponent)
    if total - nearest <= till.spare(sold):
        return nearest
    return round_money(price_end(total, step, Decimal(0)), exponent)


def _advice(issued_on: date, shop: Shop, terms: Terms, deposit: Deposit | None) -> Iterator[Advice]:
    if deposit and not deposit.covers_bought:
        yield Advice(
            code="deposit-below-materials",
            severity=Severity.CAUTION,
            at=("price", "deposit", "amount"),
            text=f"The deposit of {deposit.amount} {terms.currency} does not pay for what must be bought for this "
            "order. Raise price.deposit in the shop's file.",
            source="TRADE-PRICE",
            audience=Audience.WORKSHOP,
        )
    table = shop.exchange
    if table is None or terms.currency == shop.currency:
        return
    age_days = (issued_on - table.on).days
    if age_days < 0:
        yield Advice(
            code="exchange-rate-later",
            severity=Severity.CAUTION,
            at=("price", "workshop", "exchange", "on"),
            text=f"The exchange rates are of {table.on}, which is after the date of this quote. Check the day of "
            "the table in the shop's file.",
            audience=Audience.WORKSHOP,
        )
    elif age_days > table.max_age_days:
        yield Advice(
            code="exchange-rate-old",
            severity=Severity.CAUTION,
            at=("price", "workshop", "exchange", "on"),
            text=f"The exchange rates are of {table.on}, {age_days} days before this quote; this shop takes them for "
            f"fresh up to {table.max_age_days} days. Renew the table in the shop's file.",
            audience=Audience.WORKSHOP,
        )
