"""What the work and the waste of an order may cost: they are the costs that spread, and they spread together."""

from decimal import Decimal

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Promise, Shop
from chequerwork.domain.making.chance import Points, Sum, add_up
from chequerwork.domain.making.hours import SHARES, Hours


def unsure_money(shop: Shop, tables: Tables, hours: Hours, waste: Decimal) -> Sum:
    """Work and waste of an order in the shop's own currency, without overhead.

    Parameters
    ----------
    shop
        Its rates, how bad its waste may be, and how far a bad day spoils everything.
    tables
        How much of an operation a machine runs.
    hours
        Of the order.
    waste
        On average.
    """
    hand, machine = float(shop.labour.rate_h), float(shop.machines.rate_h)
    terms: list[Points] = []
    for work in hours.work:
        rate = hand + machine * tables.operations[work.code].machine_share if machine else hand
        terms.append((work.low_h * rate, work.likely_h * rate, work.high_h * rate))
    terms.append(_waste(float(waste), shop.price.waste_high))
    return add_up(terms, shop.labour.correlation)


def held(found: Sum, promise: Promise) -> float:
    """The value of a sum that holds as safely as promised; expected is its mean."""
    return found.mean if promise is Promise.EXPECTED else found.at(SHARES[promise])


def stretch(shop: Shop, tables: Tables, hours: Hours, waste: Decimal) -> float:
    """What work and waste cost where the price holds as safely as the shop promises, of what they cost on average."""
    promise = shop.price.holds_at
    if promise is Promise.EXPECTED:
        return 1.0  # nothing is worked out that nobody asked for
    found = unsure_money(shop, tables, hours, waste)
    return held(found, promise) / found.mean if found.mean else 1.0


def _waste(mean: float, high: float) -> Points:
    """None, likely and most waste: likely so that (0 + 4 likely + most) / 6 is what the shop says it is on average."""
    return (0.0, mean * (6 - high) / 4, mean * high)
