"""What a stock plan comes to besides its cuts: leftovers with their worth, and what to know about it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_FLOOR, Decimal

from chequerwork.domain.basics.advice import Advice, Severity, workshop_advice
from chequerwork.domain.basics.amounts import round_money
from chequerwork.domain.stock.boards import Fate, Laid, Sawn, StockPlan, to_mm
from chequerwork.domain.stock.wanted import Wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class Leftover:
    """Equal leftovers that go back into the rack; ``layout`` is the index of their layout, ``worth`` of one."""

    layout: int
    laid: Laid
    count: int
    worth: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardCost:
    """What one board of a layout costs, as it is shown: rounded amounts that add up."""

    price: Decimal
    kept: Decimal

    @property
    def cost(self) -> Decimal:
        """The price, what is kept taken off."""
        return self.price - self.kept


def shown(sawn: Sawn, exponent: int) -> BoardCost:
    """Price and worth of one board at the currency's decimals; its cost is their difference."""
    return BoardCost(price=round_money(sawn.layout.board.price, exponent), kept=round_money(sawn.kept, exponent))


def shown_cost(plan: StockPlan, exponent: int) -> Decimal:
    """The plan's cost as it is shown: the sum of what is shown of its boards, a cent or two from the exact one."""
    return sum((shown(sawn, exponent).cost * sawn.layout.copies for sawn in plan.layouts), Decimal(0))


def shown_bound(plan: StockPlan, exponent: int) -> Decimal:
    """The bound on the cost as it is shown: never rounded up, and the cost where that is proven to be the least."""
    cost = shown_cost(plan, exponent)
    if plan.bound >= plan.reached:
        return cost
    return min(cost, round_money(plan.bound, exponent, rounding=ROUND_FLOOR))


def leftovers(plan: StockPlan) -> tuple[Leftover, ...]:
    """Leftovers of all layouts, in their order."""
    return tuple(kept for index, sawn in enumerate(plan.layouts) for kept in _leftovers(index, sawn))


def _leftovers(index: int, sawn: Sawn) -> Iterator[Leftover]:
    """The worth of a board's leftovers, shared out by face: they are as thick as each other."""
    laid = [each for each in sawn.laid if each.fate is Fate.LEFTOVER]
    for each in laid:
        worth = sawn.kept * (each.area.length_nm * each.area.width_nm) / sawn.kept_nm2
        yield Leftover(layout=index, laid=each, count=sawn.layout.copies, worth=worth)


def advice(plan: StockPlan, wanted: Sequence[Wanted] = ()) -> tuple[Advice, ...]:
    """What to know about a plan, and about the parts of orders that it cuts; all of it is the workshop's."""
    return (*_advice(plan), *_staves(wanted))


def _staves(wanted: Sequence[Wanted]) -> Iterator[Advice]:
    for each in wanted:
        if each.staves > 1:
            text = f"{each.piece.id}: no usual board is wide enough. {each.staves} staves of {{0}} are glued up to one."
            width_mm = to_mm(each.piece.width_nm)
            yield replace(workshop_advice("glued-up", ("layouts",), text), lengths_mm=(width_mm,))


def _advice(plan: StockPlan) -> Iterator[Advice]:
    if plan.missing:
        count = sum(missing.count for missing in plan.missing)
        text = (
            f"{_counted(count, 'piece')} can be had neither from the boards nor from the offer. Add boards, let the "
            "service buy, or change the parts named under missing; costs are without them."
        )
        yield workshop_advice("pieces-missing", ("missing",), text, severity=Severity.WARNING)
    if plan.purchases:
        bought = sum(purchase.count for purchase in plan.purchases)
        text = f"{_counted(bought, 'board')} must be bought before the first cut; sizes are those of the offer. "
        text += "Plan again with the boards as they come."
        yield workshop_advice("boards-to-buy", ("shopping",), text)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
