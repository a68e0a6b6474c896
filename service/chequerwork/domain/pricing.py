"""From cost to price. ``Decimal`` throughout; every amount is rounded once and totals are sums of rounded amounts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from chequerwork.domain.amounts import (
    HUNDRED,
    cost_if_longer,
    each_board,
    fee_share,
    fee_taken,
    for_boards,
    gross_of,
    gross_up,
    kept_of,
    margin_pct,
    money,
    net_inside,
    order_tax,
    order_total,
    percent_of,
    price_end,
    round_money,
    sum_of_money,
    taxed,
)
from chequerwork.domain.arithmetic import total
from chequerwork.domain.errors import Fault, Refused
from chequerwork.domain.facts import Tables
from chequerwork.domain.hours import Hours
from chequerwork.domain.materials import Materials
from chequerwork.domain.order import Order
from chequerwork.domain.packing import Parcel
from chequerwork.domain.shop import Channel, FeeBase, PriceRules, Shop, TaxRegime
from chequerwork.domain.stock.boards import Sawn, Status, StockPlan
from chequerwork.domain.stock.findings import shown_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """One line of the cost build-up, for the whole order."""

    code: str
    title: str
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Fees:
    """What the sales channel takes of the whole order."""

    channel: str
    rate_pct: Decimal
    base: FeeBase
    fixed: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """Price of the whole order. ``total = quantity x unit_net + shipping + tax``, to the cent.

    ``floor_total`` is what goods must fetch without tax so that nothing is lost; ``margin_pct`` is what remains of
    the goods' net price after fees and costs; ``cost_p50`` to ``cost_p95`` are the costs if hours run long.
    """

    currency: str
    quantity: int
    tax_name: str
    tax_pct: Decimal
    regime: TaxRegime
    unit_net: Decimal
    unit_gross: Decimal
    shipping: Decimal
    shipping_gross: Decimal
    tax: Decimal
    total: Decimal
    costs: tuple[Cost, ...]
    cost_total: Decimal
    floor_total: Decimal
    fees: Fees
    margin_pct: Decimal
    margin_total: Decimal
    cost_p50: Decimal
    cost_p80: Decimal
    cost_p95: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """What the shop's usual yield lets the wood of a stock plan cost, and what the plan saves against it."""

    cost: Decimal
    saving: Decimal  # negative where the plan costs more
    saving_pct: Decimal
    wood_m3: float  # lumber allowed, sheets apart
    wood_cut_m3: float  # lumber cut up, kept leftovers taken off, sheets apart

    @property
    def wood_saving_pct(self) -> float:
        """What is cut up less, of the allowed lumber. [%]"""
        return (1 - self.wood_cut_m3 / self.wood_m3) * 100 if self.wood_m3 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FromStock:
    """The cost of an order if its wood is cut by a stock plan; the price stays as it is."""

    lumber_cost: Decimal  # sheets included where the plan cuts them
    allowed: Allowance
    cost_total: Decimal
    margin_total: Decimal
    margin_pct: Decimal
    status: Status
    gap_pct: float


def price(order: Order, shop: Shop, tables: Tables, materials: Materials, hours: Hours, parcel: Parcel) -> Price:
    """Price the whole order.

    The net price is the least at which the promised margin remains after fees and costs; the shown unit price, with
    tax where prices include it, is rounded up to the shop's price ends, so the floor is never crossed.

    Raises
    ------
    Refused
        Fees and margin together leave nothing for the costs.
    """
    exponent = tables.currencies[shop.currency].exponent
    channel = shop.channels[order.channel]
    tax_pct = shop.tax.rates_pct.get(order.ship_to, shop.tax.other_pct)
    rate = tax_pct / HUNDRED
    costs = tuple(_costs(shop, tables, materials, hours, parcel, exponent))
    cost_total = sum_of_money(tuple(c.amount for c in costs))
    shipping = round_money(parcel.postage, exponent)
    margin = shop.price.margin_pct / HUNDRED
    wanted = net_for_margin(cost_total, channel, margin=margin, tax=rate, shipping=shipping)
    floor_total = round_money(
        net_for_margin(cost_total, channel, margin=Decimal(0), tax=rate, shipping=shipping),
        exponent,
        rounding=ROUND_CEILING,
    )
    unit_net, unit_tax = _unit(each_board(wanted, order.quantity), rate, shop, exponent)
    goods = for_boards(unit_net, order.quantity)
    shipping_gross = gross_of(shipping, rate, exponent)
    tax = order_tax(
        quantity=order.quantity,
        unit_net=unit_net,
        unit_gross=unit_net + unit_tax,
        shipping=shipping,
        shipping_gross=shipping_gross,
    )
    fees = _fees(channel, goods, shipping, rate, exponent)
    kept = kept_of(goods, fees.amount, cost_total)

    def cost_at(hours_h: float) -> Decimal:
        """Cost if the work takes so long."""
        over_h, rules = hours_h - hours.at(shop.price.holds_at), shop.price
        return cost_if_longer(cost_total, over_h, shop.labour.rate_h, rules.overhead_pct, exponent)

    return Price(
        currency=shop.currency,
        quantity=order.quantity,
        tax_name=shop.tax.name,
        tax_pct=tax_pct,
        regime=shop.tax.regime,
        unit_net=unit_net,
        unit_gross=unit_net + unit_tax,
        shipping=shipping,
        shipping_gross=shipping_gross,
        tax=tax,
        total=order_total(quantity=order.quantity, unit_net=unit_net, shipping=shipping, tax=tax),
        costs=costs,
        cost_total=cost_total,
        floor_total=floor_total,
        fees=fees,
        margin_pct=margin_pct(kept, goods),
        margin_total=kept,
        cost_p50=cost_total,
        cost_p80=cost_at(hours.p80_h),
        cost_p95=cost_at(hours.p95_h),
    )


def net_for_margin(cost: Decimal, channel: Channel, *, margin: Decimal, tax: Decimal, shipping: Decimal) -> Decimal:
    """Net price at which ``margin`` of it remains after the channel's fees and the cost.

    Parameters
    ----------
    cost
        Of the whole order, without tax.
    channel
        Its fee rate, what it is taken of, and its fixed fee per order.
    margin, tax
        Fractions of the net price.
    shipping
        Net, charged at cost.

    Raises
    ------
    Refused
        Fee and margin together reach the whole price.

    References
    ----------
    TRADE-PRICE: p = (c + f) / (1 - r - g), with r (1 + t) where the fee is taken of the gross (P06 to P08).

    """
    fee = fee_share(channel.fee_pct / HUNDRED, tax, channel.fee_base)
    if fee + margin >= 1:
        # Says nothing of how much is taken: a customer may read it. The shop checker refuses such settings at start.
        detail = f"No price covers an order through {channel.key}. Choose another channel."
        raise Refused([Fault(at=("channel",), code="nothing-left", detail=detail)])
    fee_on = shipping if channel.fee_base is FeeBase.GROSS_WITH_SHIPPING else Decimal(0)
    return gross_up(cost=cost, fee_fixed=channel.fee_fixed, shipping=fee_on, fee=fee, margin=margin)


def _unit(net: Decimal, rate: Decimal, shop: Shop, exponent: int) -> tuple[Decimal, Decimal]:
    """Unit price without tax, and its tax; price ends apply to what the customer is shown."""
    rules: PriceRules = shop.price
    if shop.tax.regime is TaxRegime.INCLUDED:
        # Up to whole cents before tax too: the net that is taken out again can then not fall below it.
        net = round_money(net, exponent, rounding=ROUND_CEILING)
        gross = round_money(taxed(net, rate), exponent, rounding=ROUND_CEILING)
        gross = price_end(gross, rules.price_step, rules.price_ending)
        unit_net = net_inside(gross, rate, exponent)
        return unit_net, gross - unit_net
    unit_net = round_money(net, exponent, rounding=ROUND_CEILING)
    unit_net = price_end(unit_net, rules.price_step, rules.price_ending)
    return unit_net, gross_of(unit_net, rate, exponent) - unit_net


def _fees(channel: Channel, goods: Decimal, shipping: Decimal, rate: Decimal, exponent: int) -> Fees:
    taken_of = sum_of_money((goods, shipping)) if channel.fee_base is FeeBase.GROSS_WITH_SHIPPING else goods
    fee = fee_share(channel.fee_pct / HUNDRED, rate, channel.fee_base)
    return Fees(
        channel=channel.key,
        rate_pct=channel.fee_pct,
        base=channel.fee_base,
        fixed=channel.fee_fixed,
        amount=fee_taken(taken_of, fee, channel.fee_fixed, exponent),
    )


def _costs(
    shop: Shop, tables: Tables, materials: Materials, hours: Hours, parcel: Parcel, exponent: int
) -> Iterator[Cost]:
    """Every cost line, rounded once: lumber, items by role, waste, labour, overhead, packing."""
    bought = Decimal(0)
    for timber in materials.timber:
        amount = round_money(timber.cost, exponent)
        bought += amount
        yield Cost(code=f"lumber_{timber.species}", title=tables.species[timber.species].name, amount=amount)
    for code, title in _ROLES:
        amount = round_money(sum((i.cost for i in materials.items if i.role == code), Decimal(0)), exponent)
        bought += amount
        if amount:
            yield Cost(code=code, title=title, amount=amount)
    waste = percent_of(bought, shop.price.waste_pct, exponent)
    labour = round_money(money(hours.at(shop.price.holds_at), shop.labour.rate_h), exponent)
    yield Cost(code="waste", title="Pieces that fail", amount=waste)
    yield Cost(code="labour", title="Labour", amount=labour)
    overhead = percent_of(bought + waste + labour, shop.price.overhead_pct, exponent)
    yield Cost(code="overhead", title="Overhead", amount=overhead)
    yield Cost(code="packing", title="Carton and cushioning", amount=round_money(parcel.material_cost, exponent))


# From stock -----------------------------------------------------------------------------------------------------------


def allowance(bills: Sequence[Materials], plan: StockPlan, exponent: int) -> Allowance:
    """What the usual yield allows for the wood that a plan cuts, for all the orders it cuts together.

    Parameters
    ----------
    bills
        Materials of each order.
    plan
        Of just these orders, nothing missing.
    exponent
        Decimals of the currency.
    """
    costs = [timber.cost for bill in bills for timber in bill.timber]
    if any(sawn.layout.board.sheet for sawn in plan.layouts):
        costs += [item.cost for bill in bills for item in bill.items if item.role == SHEETS]
    allowed = sum_of_money(tuple(round_money(cost, exponent) for cost in costs))
    saving = allowed - shown_cost(plan, exponent)
    return Allowance(
        cost=allowed,
        saving=saving,
        saving_pct=margin_pct(saving, allowed),
        wood_m3=total(tuple(timber.gross_m3 for bill in bills for timber in bill.timber)),
        wood_cut_m3=total(tuple(_cut_m3(sawn) for sawn in plan.layouts if not sawn.layout.board.sheet)),
    )


def _cut_m3(sawn: Sawn) -> float:
    """Lumber of all boards of a layout, what is kept of them taken off."""
    board = sawn.layout.board
    cut_nm3 = (board.length_nm * board.width_nm - sawn.kept_nm2) * board.thickness_nm
    return sawn.layout.copies * cut_nm3 * 1e-27


def from_stock(found: Price, shop: Shop, tables: Tables, materials: Materials, plan: StockPlan) -> FromStock:
    """The cost build-up once more, with the plan's wood in place of the allowed; no price changes.

    Raises
    ------
    Refused
        The plan lacks pieces, so its cost is not that of the order.
    """
    if plan.missing:
        what = ", ".join(missing.piece.id for missing in plan.missing)
        detail = f"Neither rack nor offer gives {what}, so there is no cost from stock. Leave out from_stock."
        raise Refused([Fault(at=("from_stock",), code="pieces-missing", detail=detail)])
    exponent, rules = tables.currencies[shop.currency].exponent, shop.price
    allowed = allowance([materials], plan, exponent)
    told = {cost.code: cost.amount for cost in found.costs}
    labour, packing = told["labour"], told["packing"]
    bought = sum_of_money(tuple(amount for code, amount in told.items() if code not in _WORKED)) - allowed.saving
    waste = percent_of(bought, rules.waste_pct, exponent)
    overhead = percent_of(bought + waste + labour, rules.overhead_pct, exponent)
    cost_total = sum_of_money((bought, waste, labour, overhead, packing))
    goods = for_boards(found.unit_net, found.quantity)
    kept = kept_of(goods, found.fees.amount, cost_total)
    return FromStock(
        lumber_cost=allowed.cost - allowed.saving,
        allowed=allowed,
        cost_total=cost_total,
        margin_total=kept,
        margin_pct=margin_pct(kept, goods),
        status=plan.status,
        gap_pct=plan.gap_pct,
    )


_WORKED = ("waste", "labour", "overhead", "packing")  # cost lines that are nothing bought for the board
SHEETS = "base"  # role of sheet goods in a bill
_ROLES = (
    ("base", "Sheet goods"),
    ("adhesive", "Adhesive"),
    ("abrasives", "Abrasives"),
    ("finish", "Finish"),
    ("feet", "Feet"),
    ("sundries", "Tape and labels"),
)
