"""Fees, margins and discounts, one formula each. ``Decimal`` throughout; see ``pricing`` for how they make a price."""

from decimal import ROUND_CEILING, Decimal

from chequerwork.domain.basics.amounts import HUNDRED, round_money
from chequerwork.domain.basics.trade import FeeBase


def fee_share(fee: Decimal, tax: Decimal, fee_base: FeeBase) -> Decimal:
    """A channel's fee as a fraction of the net price.

    Parameters
    ----------
    fee
        Fraction of what it is taken of.
    tax
        Fraction of the net price, 0.19 for 19 %.
    fee_base
        What it is taken of: the net price, or the price with its tax.

    References
    ----------
    TRADE-PRICE: r, or r (1 + t) where the fee is taken of the gross (P07).
    """
    return fee if fee_base is FeeBase.NET else fee * (1 + tax)


def gross_up(*, cost: Decimal, fee_fixed: Decimal, fee: Decimal, margin: Decimal) -> Decimal:
    """Net price of which a fee and a margin can be taken so that the cost remains.

    Parameters
    ----------
    cost
        Without tax.
    fee_fixed
        What fees take whatever the goods cost: fixed amounts, capped ones, and their part of the shipping.
    fee, margin
        Fractions of the net price, together less than 1.

    References
    ----------
    TRADE-PRICE: p = (c + f) / (1 - r - g); 440.35 (P06). With a fee on shipping too, f holds r S.
    """
    return (cost + fee_fixed) / (1 - fee - margin)


def part_of(amount: Decimal, share: Decimal) -> Decimal:
    """A fraction of an amount, unrounded.

    Parameters
    ----------
    amount
        The whole.
    share
        Fraction of it.

    References
    ----------
    TRADE-PRICE: what a fee's percentage takes; check value P08.
    """
    return amount * share


def at_least(amount: Decimal, least: Decimal) -> Decimal:
    """The larger of an amount and the least that is taken.

    Parameters
    ----------
    amount, least
        Of one order.

    References
    ----------
    House: a channel's least fee.
    """
    return max(amount, least)


def at_most(amount: Decimal, most: Decimal) -> Decimal:
    """The smaller of an amount and the most that is taken.

    Parameters
    ----------
    amount, most
        Of one order.

    References
    ----------
    House: a channel's cap.
    """
    return min(amount, most)


def fee_rounded(amount: Decimal, fee_fixed: Decimal, exponent: int) -> Decimal:
    """What somebody takes of an order: the percentage's amount and the fixed one, rounded once.

    Parameters
    ----------
    amount
        Of the percentage, within its bounds.
    fee_fixed
        Once for the order.
    exponent
        Decimals of the currency.

    References
    ----------
    TRADE-PRICE; check value P08.
    """
    return round_money(amount + fee_fixed, exponent)


def kept_of(goods: Decimal, fees: Decimal, cost: Decimal) -> Decimal:
    """What remains of the goods' net price.

    Parameters
    ----------
    goods
        All boards without tax.
    fees
        Of the channel.
    cost
        Of the order.

    References
    ----------
    TRADE-PRICE; check value P08.
    """
    return goods - fees - cost


def margin_pct(kept: Decimal, goods: Decimal) -> Decimal:
    """What remains, of the goods' net price. [%]

    Parameters
    ----------
    kept
        After fees and cost.
    goods
        All boards without tax; of nothing there is no margin.

    References
    ----------
    TRADE-PRICE; check value P08.
    """
    return round_money(kept / goods * HUNDRED, 2) if goods else Decimal(0)


def markup_pct(kept: Decimal, cost: Decimal) -> Decimal:
    """What remains, of the cost. [%]

    Parameters
    ----------
    kept
        After fees and cost.
    cost
        Of the order; of nothing there is no markup.

    References
    ----------
    TRADE-PRICE: m = g / (1 - g) where no fee is taken; 42.9 % for a margin of 30 % (P02).
    """
    return round_money(kept / cost * HUNDRED, 2) if cost else Decimal(0)


def with_markup(cost: Decimal, markup: Decimal) -> Decimal:
    """Cost and what is to remain above it.

    Parameters
    ----------
    cost
        Of the order.
    markup
        Fraction of the cost.

    References
    ----------
    TRADE-PRICE: c (1 + m); 50 at 15 % is 57.50 (P03).
    """
    return cost * (1 + markup)


def rushed(amount: Decimal, surcharge: Decimal) -> Decimal:
    """Net price of an order that is wanted soon.

    Parameters
    ----------
    amount
        Net price without haste.
    surcharge
        Fraction of it.

    References
    ----------
    House.
    """
    return amount * (1 + surcharge)


def list_price(amount: Decimal, discount: Decimal) -> Decimal:
    """Price that leaves the amount after a discount.

    Parameters
    ----------
    amount
        To remain.
    discount
        Fraction of the price.

    References
    ----------
    TRADE-PRICE: p / (1 - d); 489.28 for 10 % (P15).
    """
    return amount / (1 - discount)


def discounted(amount: Decimal, discount: Decimal, exponent: int) -> Decimal:
    """Price after a discount, rounded up, so that the discount is never more than its percentage.

    Parameters
    ----------
    amount
        Shown price.
    discount
        Fraction of it.
    exponent
        Decimals of the currency.

    References
    ----------
    House.
    """
    return round_money(amount * (1 - discount), exponent, rounding=ROUND_CEILING)
