"""What channel and payment take of an order, and the net price of which all of it can be taken.

A percentage may be bounded below and above; then the fee is piecewise linear in the net price, and so is what remains,
which climbs with the price in every piece: one price, and only one, leaves just what is wanted.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import product
from typing import NamedTuple

from chequerwork.domain.basics.amounts import HUNDRED, sum_of_money
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.trade import Charge, FeeBase
from chequerwork.domain.money.margins import at_least, at_most, fee_rounded, fee_share, gross_up, part_of

# Prices are worked out at 28 digits: at the kink of a bounded fee either piece may be taken.
_KINK = Decimal("1e-15")
_NONE = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FeeLayer:
    """One fee as it bears on an order, in the currency of the quote."""

    charge: Charge
    rate: Decimal  # fraction of what it is taken of
    tax: Decimal  # fraction of the goods' net price
    share: Decimal  # what the percentage takes, as a fraction of the goods' net price
    of_shipping: Decimal  # what the percentage takes of the shipping, unrounded
    fixed: Decimal
    least: Decimal
    most: Decimal | None

    def taken_of(self, goods: Decimal, goods_gross: Decimal, shipping_gross: Decimal) -> Decimal:
        """The amount that the percentage is taken of."""
        match self.charge.fee_base:
            case FeeBase.NET:
                return goods
            case FeeBase.GROSS:
                return goods_gross
            case FeeBase.GROSS_WITH_SHIPPING:
                return goods_gross + shipping_gross

    def bounded(self, amount: Decimal) -> Decimal:
        """What the percentage takes, within its bounds."""
        if self.least:
            amount = at_least(amount, self.least)
        return amount if self.most is None else at_most(amount, self.most)

    def fee(self, taken_of: Decimal, exponent: int) -> Decimal:
        """The whole fee of an order, rounded once."""
        return fee_rounded(self.bounded(part_of(taken_of, self.rate)), self.fixed, exponent)


class FeeSegment(NamedTuple):
    """One layer between two of its kinks: what it takes whatever the goods cost, and a share of their net price."""

    fixed: Decimal
    share: Decimal


def layer_of(
    charge: Charge, *, tax: Decimal, shipping_gross: Decimal, quoted: Callable[[Decimal], Decimal] | None = None
) -> FeeLayer:
    """A fee as it bears on an order.

    Parameters
    ----------
    charge
        As the shop's file has it.
    tax
        Fraction of the goods' net price, 0.19 for 19 %.
    shipping_gross
        Shipping with its tax.
    quoted
        Makes of an amount in the shop's currency one of the quote's, rounded up; None where both are the same.
    """
    rate = charge.fee_pct / HUNDRED
    on_shipping = charge.fee_base is FeeBase.GROSS_WITH_SHIPPING
    return FeeLayer(
        charge=charge,
        rate=rate,
        tax=tax,
        share=fee_share(rate, tax, charge.fee_base),
        of_shipping=part_of(shipping_gross, rate) if on_shipping else _NONE,
        fixed=quoted(charge.fee_fixed) if quoted else charge.fee_fixed,
        least=quoted(charge.fee_least) if quoted else charge.fee_least,
        most=quoted(charge.fee_max) if quoted and charge.fee_max is not None else charge.fee_max,
    )


def pieces(layer: FeeLayer) -> tuple[FeeSegment, ...]:
    """Every piece that a layer has: between its bounds first."""
    found = [FeeSegment(layer.fixed + layer.of_shipping, layer.share)]
    if layer.least:
        found.append(FeeSegment(layer.fixed + layer.least, _NONE))
    if layer.most is not None:
        found.append(FeeSegment(layer.fixed + layer.most, _NONE))
    return tuple(found)


def net_for_margin(cost: Decimal, layers: Sequence[FeeLayer], margin: Decimal) -> Decimal:
    """Net price at which ``margin`` of it remains after the fees and the cost, unrounded.

    Parameters
    ----------
    cost
        Of the whole order, without tax; with the markup, where one is to remain.
    layers
        Fees of channel and payment.
    margin
        Fraction of the net price.

    Raises
    ------
    Refused
        Fees and margin together reach the whole price.

    References
    ----------
    TRADE-PRICE: p = (c + f) / (1 - r - g), with r (1 + t) where the fee is taken of the gross (P06 to P08).
    """
    found = solved(cost, layers, margin)
    fee_fixed, fee = charged(found)
    return gross_up(cost=cost, fee_fixed=fee_fixed, fee=fee, margin=margin)


def charged(found: Sequence[FeeSegment]) -> tuple[Decimal, Decimal]:
    """What the pieces take together: an amount, and a fraction of the goods' net price."""
    if len(found) == 1:
        return found[0]
    return sum_of_money(tuple(each.fixed for each in found)), sum_of_money(tuple(each.share for each in found))


def solved(cost: Decimal, layers: Sequence[FeeLayer], margin: Decimal) -> tuple[FeeSegment, ...]:
    """The piece of each layer in which the wanted price lies. Raises ``Refused`` as ``net_for_margin``."""
    if sum_of_money(tuple(layer.share for layer in layers)) + margin >= 1:
        # Says nothing of how much is taken: a customer may read it. The shop checker refuses such settings at start.
        key = layers[0].charge.key
        detail = f"No price covers an order through {key}. Choose another channel or way to pay."
        raise Refused([Fault(at=("channel",), code="nothing-left", detail=detail)])
    ways = [tuple(pieces(layer)) for layer in layers]
    if all(len(way) == 1 for way in ways):
        return tuple(way[0] for way in ways)
    for found in product(*ways):
        fee_fixed, fee = charged(found)
        net = gross_up(cost=cost, fee_fixed=fee_fixed, fee=fee, margin=margin)
        if all(_holds(layer, each, net) for layer, each in zip(layers, found, strict=True)):
            return found
    raise ArithmeticError("fees that climb with the price always leave one price")


def _holds(layer: FeeLayer, piece: FeeSegment, net: Decimal) -> bool:
    """Whether a layer really takes at this net price what the piece says."""
    taken = layer.bounded(net * layer.share + layer.of_shipping) + layer.fixed
    return abs(taken - piece.fixed - piece.share * net) <= _KINK
