"""Sums of money, one formula each. ``Decimal`` throughout; see ``pricing`` for how they make a price."""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

HUNDRED = Decimal(100)
_COINS = tuple(Decimal(1).scaleb(-exponent) for exponent in range(28))  # made once: asked many times an order


def money(quantity: float, price: Decimal) -> Decimal:
    """Quantity times price, unrounded; the quantity is taken at nine decimals so that no binary tail enters."""
    return Decimal(f"{quantity:.9f}") * price


def round_money(amount: Decimal, exponent: int, *, rounding: str = ROUND_HALF_UP) -> Decimal:
    """Amount at the currency's number of decimals, halves away from zero.

    Parameters
    ----------
    amount
        Unrounded.
    exponent
        Decimals of the currency. 0 to 4.
    rounding
        A mode of the decimal module.

    References
    ----------
    ISO 4217 exponents; 2.665 half-up is 2.67 (P11).
    """
    return amount.quantize(_COINS[exponent], rounding)


def sum_of_money(amounts: tuple[Decimal, ...]) -> Decimal:
    """Sum of amounts, each rounded before.

    Parameters
    ----------
    amounts
        None or more.

    References
    ----------
    House.
    """
    return sum(amounts, Decimal(0))


def for_boards(amount: Decimal, boards: int) -> Decimal:
    """One amount for every board.

    Parameters
    ----------
    amount
        For one.
    boards
        1 or more.

    References
    ----------
    House.
    """
    return amount * boards


def each_board(amount: Decimal, boards: int) -> Decimal:
    """The part of one board in an amount, unrounded.

    Parameters
    ----------
    amount
        For all.
    boards
        1 or more.

    References
    ----------
    House.
    """
    return amount / boards


def percent_of(amount: Decimal, pct: Decimal, exponent: int) -> Decimal:
    """A percentage of an amount, rounded.

    Parameters
    ----------
    amount
        The whole.
    pct
        Of it. [%]
    exponent
        Decimals of the currency.

    References
    ----------
    House: waste and overhead are charged so.
    """
    return round_money(amount * pct / HUNDRED, exponent)


def price_end(amount: Decimal, step: Decimal, ending: Decimal) -> Decimal:
    """The next price at or above ``amount`` that is a multiple of ``step`` plus ``ending``; a step of 0 keeps it.

    References
    ----------
    TRADE-PRICE: 440.35 with step 10 and ending 9 becomes 449 (P14).

    Examples
    --------
    >>> price_end(Decimal("440.35"), Decimal(10), Decimal(9))
    Decimal('449')
    """
    if step == 0:
        return amount
    steps = ((amount - ending) / step).to_integral_value(rounding=ROUND_CEILING)
    return steps * step + ending


def net_inside(gross: Decimal, tax: Decimal, exponent: int) -> Decimal:
    """Net price inside one that includes tax.

    Parameters
    ----------
    gross
        With tax.
    tax
        Fraction of the net price, 0.19 for 19 %.
    exponent
        Decimals of the currency.

    References
    ----------
    TRADE-PRICE: gross / (1 + t); a sixth of the gross is tax at 20 % (P09).
    """
    return round_money(gross / (1 + tax), exponent)


def taxed(net: Decimal, tax: Decimal) -> Decimal:
    """Price with tax, unrounded.

    Parameters
    ----------
    net
        Without tax.
    tax
        Fraction of the net price, 0.19 for 19 %.

    References
    ----------
    TRADE-PRICE: net (1 + t).
    """
    return net * (1 + tax)


def gross_of(net: Decimal, tax: Decimal, exponent: int) -> Decimal:
    """Price with tax, the tax rounded.

    Parameters
    ----------
    net
        Without tax.
    tax
        Fraction of the net price, 0.19 for 19 %.
    exponent
        Decimals of the currency.

    References
    ----------
    TRADE-PRICE: net (1 + t).
    """
    return net + round_money(net * tax, exponent)


def order_tax(
    *, quantity: int, unit_net: Decimal, unit_gross: Decimal, shipping: Decimal, shipping_gross: Decimal
) -> Decimal:
    """All tax of an order: rounded per board and once for shipping.

    Parameters
    ----------
    quantity
        Boards.
    unit_net, unit_gross
        One board without and with tax.
    shipping, shipping_gross
        Without and with tax.

    References
    ----------
    House: by board, one of the ways in use (P10).
    """
    return (unit_gross - unit_net) * quantity + (shipping_gross - shipping)


def order_total(*, quantity: int, unit_net: Decimal, shipping: Decimal, tax: Decimal) -> Decimal:
    """What the customer pays: a sum of rounded amounts.

    Parameters
    ----------
    quantity
        Boards.
    unit_net
        One board without tax.
    shipping
        Without tax.
    tax
        All of it.

    References
    ----------
    House.
    """
    return unit_net * quantity + shipping + tax


def converted(amount: Decimal, exchange: Decimal, exponent: int) -> Decimal:
    """A cost in another currency, rounded up, so that no cost is lost on the way.

    Parameters
    ----------
    amount
        In the shop's currency.
    exchange
        Units of the other for one of the shop's.
    exponent
        Decimals of the other currency.

    References
    ----------
    House.
    """
    return round_money(amount * exchange, exponent, rounding=ROUND_CEILING)


def balance_of(total: Decimal, deposit: Decimal) -> Decimal:
    """What is still to be paid.

    Parameters
    ----------
    total
        What the customer pays in all.
    deposit
        Of it, paid when the order is placed.

    References
    ----------
    House.
    """
    return total - deposit


def cash_amount(total: Decimal, step: Decimal, exponent: int) -> Decimal:
    """The nearest amount that coins can pay; halves go up.

    Parameters
    ----------
    total
        To pay.
    step
        Smallest amount paid in coins, above 0.
    exponent
        Decimals of the currency.

    References
    ----------
    CLDR: cash rounding is of the total paid in cash, never of lines.
    """
    return round_money(round_money(total / step, 0) * step, exponent)


def cost_if_worse(cost: Decimal, over: Decimal, overhead_pct: Decimal, exponent: int) -> Decimal:
    """Cost of the order if its work and waste come to more, or to less.

    Parameters
    ----------
    cost
        That the price is made of.
    over
        Work and waste more than in it, without overhead.
    overhead_pct
        On them. [%]
    exponent
        Decimals of the currency.

    References
    ----------
    House: hours and waste are the costs that spread.
    """
    return cost + round_money(over * (1 + overhead_pct / HUNDRED), exponent)
