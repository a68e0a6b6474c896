"""What an order costs if its wood is cut by a stock plan, beside what the shop's usual yield allows for it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from chequerwork.domain.basics.amounts import converted, for_boards, percent_of, round_money, sum_of_money
from chequerwork.domain.basics.arithmetic import total
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.making.materials import Materials
from chequerwork.domain.money.costs import SHEETS, held_waste_pct, is_bought, is_worked
from chequerwork.domain.money.margins import kept_of, margin_pct
from chequerwork.domain.money.pricing import Price
from chequerwork.domain.stock.boards import PlanStatus, Sawn, StockPlan
from chequerwork.domain.stock.outcome import shown_cost


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
    status: PlanStatus
    gap_pct: float


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
    own = {cost.code: cost.amount for cost in found.own_costs}
    bought = sum_of_money(tuple(amount for code, amount in own.items() if is_bought(code))) - allowed.saving
    waste = percent_of(bought, held_waste_pct(rules, found.stretch), exponent)
    worked = sum_of_money(tuple(amount for code, amount in own.items() if is_worked(code)))
    changed = {"waste": waste, "overhead": percent_of(bought + waste + worked, rules.overhead_pct, exponent)}
    if found.exchange is not None:
        digits, exchange = tables.currencies[found.currency].exponent, found.exchange
        changed = {code: converted(amount, exchange, digits) for code, amount in changed.items()}
        allowed = replace(
            allowed,
            cost=converted(allowed.cost, exchange, digits),
            saving=round_money(allowed.saving * exchange, digits),
        )
    told = {cost.code: cost.amount for cost in found.costs} | changed
    cost_total = sum_of_money(tuple(told.values())) - allowed.saving
    goods = for_boards(found.unit_net, found.quantity)
    kept = kept_of(goods, found.fees_total, cost_total)
    return FromStock(
        lumber_cost=allowed.cost - allowed.saving,
        allowed=allowed,
        cost_total=cost_total,
        margin_total=kept,
        margin_pct=margin_pct(kept, goods),
        status=plan.status,
        gap_pct=plan.gap_pct,
    )
