"""Boards for the pieces of one wood: everything tried where there are few, columns generated where there are many.

What is found is whole: a list of boards, each with its content. What is proven is a bound: no way to cut these pieces
from these boards, as a saw bench cuts (``benches``), costs less.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from chequerwork.domain.stock.benches import Bench
from chequerwork.domain.stock.few import alike, tried
from chequerwork.domain.stock.improve import improved
from chequerwork.domain.stock.master import Master, Prices
from chequerwork.domain.stock.patterns import Values
from chequerwork.domain.stock.start import filled
from chequerwork.domain.stock.tasks import Found, Task, Use, lacking_costs, objective, tidy, volume

ROUNDS: Final = 400  # of generated columns


class Columns:
    """Generates contents of boards that lower the cost, as long as there are any, and keeps the best bound met."""

    def __init__(self, task: Task, cost: float) -> None:
        self.task = task
        # A plan no dearer than one that is known takes no more boards than this; of course no more than pieces.
        net, pieces = min(bench.price - bench.worth * bench.face for _, bench in task.benches()), sum(task.wanted)
        self.most = min(pieces, math.floor(cost / net)) if net > 0 and cost < math.inf else pieces
        self.master = Master(task.wanted, task.copies, lacking_costs(task))
        self.uses: list[Use] = []
        self.known: set[tuple[int, tuple[int, ...], float]] = set()
        self.bound = 0.0
        groups: dict[tuple[object, ...], list[tuple[int, Bench]]] = {}
        for number, bench in task.benches():
            groups.setdefault(alike(bench), []).append((number, bench))
        self.groups = [(Values([bench for _, bench in group], task.kinds), group) for group in groups.values()]

    def add(self, use: Use) -> bool:
        """Take a content into the program, if it is not in it."""
        key = (use.board, use.counts, round(use.cost / self.task.smallest, 3))
        if key in self.known:
            return False
        self.known.add(key)
        self.uses.append(use)
        self.master.add(use.board, use.cost + self.task.effort(use.content), use.counts)
        return True

    def generate(self, rounds: int, good_enough: float) -> Prices:
        """Add what lowers the cost, for at most so many rounds, or until no plan can be much below ``good_enough``."""
        prices = self.master.relax()
        for _ in range(rounds):
            added = self._price(prices)
            if not added or self.bound >= good_enough:
                break
            prices = self.master.relax()
        return prices

    def _price(self, prices: Prices) -> bool:
        """One round: the best content of every board at these prices, and the bound that they prove."""
        task, added = self.task, False
        bound = sum(price * wanted for price, wanted in zip(prices.pieces, task.wanted, strict=True))
        least = [0.0] * len(task.boards)
        sure = True
        for values, group in self.groups:
            values.set(prices.pieces)
            for number, bench in group:
                worth = values.best(bench)
                least[number] = min(least[number], bench.price - worth.at_most)
                if bench.price - worth.value - prices.boards[number] < -task.smallest * 1e-4:
                    added |= self.add(task.use(number, bench, worth.content))
            sure &= values.sure
        if sure:
            bound += sum(low * min(self.most, copies) for low, copies in zip(least, task.copies, strict=True))
            self.bound = max(self.bound, bound)
        return added


def searched(task: Task) -> Found:
    """A good plan and a bound on how much better any can be."""
    best = min(first_fits(task), key=lambda found: (volume(task, found.lacking), found.cost))
    best = improved(task, best)
    columns = Columns(task, math.inf if any(best.lacking) else best.cost)
    for use in best.uses:
        columns.add(use)
    columns.generate(ROUNDS, best.cost - task.smallest / 2)
    whole = columns.master.whole(objective(task, best))
    if whole is not None:
        picked = [use for use, times in zip(columns.uses, whole.times, strict=True) for _ in range(times)]
        best = min(best, tidy(task, picked, fused=whole.fused), key=lambda found: objective(task, found))
    return replace(best, bound=min(best.cost, _rounded_up(task, columns.bound)))


def _rounded_up(task: Task, bound: float) -> float:
    """A bound where nothing is kept: then every cost is a sum of prices, and so a multiple of what divides them all."""
    benches = [bench for _, bench in task.benches()]
    steps = [round(bench.price / task.smallest) for bench in benches]
    if any(bench.worth for bench in benches) or any(
        abs(bench.price / task.smallest - step) > 1e-9 for bench, step in zip(benches, steps, strict=True)
    ):
        return bound
    step = math.gcd(*steps) * task.smallest
    return math.ceil(bound / step - 1e-6) * step if step else bound


def first_fits(task: Task) -> Iterator[Found]:
    """Plans made first-fit, the boards in several orders."""
    ways = list(task.benches())
    orders = (
        lambda each: (each[1].price / each[1].face, -each[1].face),
        lambda each: (-each[1].face, each[1].price),
        lambda each: (each[1].face, each[1].price),
    )
    for order in orders:
        for widest_first in (False, True):
            yield _first_fit(task, sorted(ways, key=order), widest_first=widest_first)


def _first_fit(task: Task, ways: Sequence[tuple[int, Bench]], *, widest_first: bool) -> Found:
    wanted, left, uses = list(task.wanted), list(task.copies), list[Use]()
    for number, bench in ways:
        while left[number] and any(count > 0 for count in wanted):
            content = filled(bench, wanted, widest_first=widest_first)
            use = task.use(number, bench, content)
            if not any(use.counts):
                break
            left[number] -= 1
            uses.append(use)
    return tidy(task, uses)


def solve(task: Task) -> Found:
    """The cheapest boards that could be found."""
    if not any(task.wanted):
        return Found(uses=(), bound=0.0, lacking=tuple(0 for _ in task.kinds))
    return tried(task) or searched(task)
