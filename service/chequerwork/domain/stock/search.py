"""Boards for the pieces of one wood: everything tried where there are few, columns generated where there are many.

What is found is whole: a list of boards, each with its content. What is proven is a bound: no way to cut these pieces
from these boards, as a saw bench cuts (``benches``), costs less.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from chequerwork.domain.basics.budget import Budget
from chequerwork.domain.stock.benches import Bench
from chequerwork.domain.stock.few import alike, every_cutup, tried, uses_of
from chequerwork.domain.stock.improve import FILL, improved
from chequerwork.domain.stock.lattice import Hurdle, Lattice, choose
from chequerwork.domain.stock.master import Master, Prices, cheapest_cover
from chequerwork.domain.stock.patterns import TRY, Values
from chequerwork.domain.stock.start import SortBy, filled
from chequerwork.domain.stock.tasks import Solution, Task, UsedBoard, lacking_costs, objective, tidy, volume

ROUNDS: Final = 400  # of generated columns
SOME_STEPS: Final = 1_000_000  # of the choice among all contents of all boards
MOST_PAIRS: Final = 20_000  # kinds times boards for which contents are generated
LEAST_ROUNDS: Final = 8  # worth beginning with
DIVES: Final = 2  # from different contents
END_POINTS, END_STEPS = 130, 60_000  # of what is left at the end of a dive, when it is gone through whole
DIVE_ROUNDS: Final = 12  # the same, for what is left after a content was taken
FEW_BOARDS: Final = 12  # of a plan that is made better piece by piece


class Columns:
    """Generates contents of boards that lower the cost, as long as there are any, and keeps the best bound met."""

    def __init__(self, task: Task, cost: float, budget: Budget) -> None:
        self.task, self.budget = task, budget
        self.cost = cost  # of a plan that is known
        nets = [[bench.price - bench.worth * bench.face for bench in ways] for ways in task.boards]
        self.nets = [min(ways, default=0.0) for ways in nets]  # a board used costs no less
        self.master = Master(task.wanted, task.copies, lacking_costs(task))
        self.uses: list[UsedBoard] = []
        self.known: set[tuple[int, tuple[int, ...], float]] = set()
        self.bound = 0.0
        groups: dict[tuple[object, ...], list[tuple[int, Bench]]] = {}
        for number, bench in task.benches():
            groups.setdefault(alike(bench), []).append((number, bench))
        self.groups = [(Values([bench for _, bench in group], task.kinds), group) for group in groups.values()]
        self.work = sum(values.work for values, _ in self.groups)  # of one round

    def add(self, use: UsedBoard) -> bool:
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
        if self.budget.left < LEAST_ROUNDS * self.work:
            return prices  # a few rounds find and prove nothing
        for _ in range(rounds):
            if not self.budget.spend(self.work):
                break
            added = self._price(prices)
            if not added or self.bound >= good_enough:
                break
            prices = self.master.relax()
        return prices

    def dive(self, prices: Prices, first: int) -> Solution:
        """A plan made by taking the content that the program uses most, and asking it again for what is left.

        Parameters
        ----------
        prices
            Of the program for all pieces.
        first
            Which content is taken first: 0 for the one used most, 1 for the next, ...
        """
        task, taken = self.task, list[UsedBoard]()
        left, boards, bound = list(task.wanted), list(task.copies), self.bound
        while any(left):
            used = sorted(range(len(prices.weights)), key=lambda column: -prices.weights[column])
            best = used[min(first, len(used) - 1)]
            if prices.weights[best] < 1e-6:
                break
            first = 0
            for _ in range(max(1, math.floor(prices.weights[best] + 1e-9))):
                taken.append(self.uses[best])
                boards[self.uses[best].board] -= 1
                left = [max(0, have - count) for have, count in zip(left, self.uses[best].counts, strict=True)]
            rest = tried(task.part(left, boards), points=END_POINTS, steps=END_STEPS) if any(left) else None
            if rest is not None:
                taken += rest.uses
                break
            self.master.want(left, boards)
            prices = self.generate(DIVE_ROUNDS, math.inf)
        self.master.want(task.wanted, task.copies)
        self.bound = bound  # what the smaller programs prove says nothing of the whole
        return tidy(task, taken)

    def _price(self, prices: Prices) -> bool:
        """One round: the best content of every board at these prices, and the bound that they prove."""
        task, added = self.task, False
        tries = sum(values.tries for values, _ in self.groups)
        bound = sum(price * wanted for price, wanted in zip(prices.pieces, task.wanted, strict=True))
        least = [0.0] * len(task.boards)
        sure = True
        for values, group in self.groups:
            values.set(prices.pieces)
            for number, bench in group:
                worth = values.best(bench)
                least[number] = min(least[number], bench.price - worth.at_most)
                if bench.price - worth.at_most - prices.boards[number] < -task.smallest * 1e-4:
                    use = task.use(number, bench, worth.content)
                    gain = sum(price * count for price, count in zip(prices.pieces, use.counts, strict=True))
                    if use.cost - gain - prices.boards[number] < -task.smallest * 1e-4:
                        added |= self.add(use)
            sure &= values.sure
        self.budget.spend(TRY * (sum(values.tries for values, _ in self.groups) - tries))
        if sure:
            self.bound = max(self.bound, bound - self._most_gained(least))
        return added

    def whole_boards(self, prices: Prices) -> None:
        """The bound that follows from boards being whole.

        At lower prices than those of the program every board has a cost of its own, what it gives taken off. The
        boards of a plan must hold all pieces; the cheapest choice that could is a small program of whole numbers.
        """
        task, worth = self.task, sum(p * n for p, n in zip(prices.pieces, self.task.wanted, strict=True))
        if not all(values.sure for values, _ in self.groups) or worth <= 0 or not self.budget.spend(4 * self.work):
            return
        holds = self._at_most(prices.pieces, keeping=False)
        shares = (bench.worth * bench.face / bench.price for _, bench in task.benches() if bench.price > 0)
        share = max(shares, default=0.0)
        for lower in (share * 0.9, share, (1 + share) / 2):
            gains = self._at_most([price * lower for price in prices.pieces], keeping=True)
            costs = [ways[0].price - gain if ways else 0.0 for ways, gain in zip(task.boards, gains, strict=True)]
            self.bound = max(self.bound, worth * lower + cheapest_cover(costs, holds, task.copies, worth))

    def _at_most(self, pieces: Sequence[float], *, keeping: bool) -> list[float]:
        """What no content of each board is worth more than, leftovers counted or not."""
        most = [0.0] * len(self.task.boards)
        for values, group in self.groups:
            values.set(pieces)
            for number, bench in group:
                looked_at = bench if keeping else replace(bench, worth=0.0)
                most[number] = max(most[number], values.best(looked_at).at_most)
        return most

    def _most_gained(self, least: Sequence[float]) -> float:
        """What boards whose best content costs less than nothing gain at most, in a plan no dearer than one known."""
        boards = zip(least, self.nets, self.task.copies, strict=True)
        gains = sorted((-low / max(net, 1e-12), -low, net, copies) for low, net, copies in boards if low < 0)
        total, left, most = 0.0, self.cost, float(sum(self.task.wanted))
        for _, gain, net, copies in reversed(gains):
            taken = min(float(copies), most, left / net if net > 0 else math.inf)
            total += gain * taken
            left -= net * taken
        return total


def searched(task: Task) -> Solution:
    """A good plan and a bound on how much better any can be."""
    budget = Budget(task.work)
    best = min(first_fits(task, budget), key=lambda found: (volume(task, found.lacking), found.cost))
    if len(best.uses) <= FEW_BOARDS:
        best = improved(task, best, budget)
    if len(task.kinds) * sum(1 for _ in task.benches()) > MOST_PAIRS:
        bound = min(best.cost, _rounded_up(task, face_bound(task)))
        return replace(best, bound=bound, sure=not any(best.lacking))
    columns = Columns(task, math.inf if any(best.lacking) else best.cost, budget)
    for use in best.uses:
        columns.add(use)
    columns.bound = face_bound(task)
    prices = columns.generate(ROUNDS, best.cost - task.smallest / 2)
    bound = _rounded_up(task, columns.bound)
    for first in range(DIVES):
        if bound >= best.cost - task.smallest / 2 or budget.used_up:
            break
        dived = columns.dive(prices, first)
        if len(dived.uses) <= FEW_BOARDS:
            dived = improved(task, dived, budget)
        best = min(best, dived, key=lambda found: objective(task, found))
    best = _picked(task, best, columns.master, columns.uses)
    if bound < best.cost - task.smallest / 2 and not any(best.lacking):
        columns.whole_boards(prices)
        best, bound = enumerated(task, best, max(bound, columns.bound), prices)
    return replace(best, bound=min(best.cost, bound), sure=not any(best.lacking))


def _picked(task: Task, best: Solution, master: Master, uses: Sequence[UsedBoard]) -> Solution:
    """The best choice among contents, if it is better than the plan known."""
    times = master.whole(objective(task, best))
    if times is None:
        return best
    picked = [use for use, count in zip(uses, times, strict=True) for _ in range(count)]
    return min(best, tidy(task, picked), key=lambda found: objective(task, found))


def enumerated(task: Task, best: Solution, bound: float, prices: Prices) -> tuple[Solution, float]:
    """The best plan of all and its cost as the bound, if the contents of all boards can be gone through."""
    lattice = Lattice(task.wanted)
    if lattice.size**2 * sum(min(copies, sum(task.wanted)) for copies in task.copies) > SOME_STEPS:
        return best, bound
    boards = list(zip(task.copies, every_cutup(task, lattice), strict=True))
    chosen = choose(lattice, boards, Hurdle(prices.pieces, objective(task, best)))
    point = lattice.point(lattice.most)
    if point in chosen:
        best = tidy(task, list(uses_of(task, chosen[point])))
    return best, best.cost


def face_bound(task: Task) -> float:
    """A bound that needs no search: boards with face enough for all pieces, everything else kept."""
    stacks = task.stacks()
    faces = (k.length_nm * k.width_nm * k.wanted / stack for k, stack in zip(task.kinds, stacks, strict=True))
    need, benches = float(sum(faces)), [ways[0] for ways in task.boards if ways]
    copies = [count for ways, count in zip(task.boards, task.copies, strict=True) if ways]
    costs = [bench.price - bench.worth * bench.face for bench in benches]
    return cheapest_cover(costs, [bench.face for bench in benches], copies, need) + need * min(b.worth for b in benches)


def _rounded_up(task: Task, bound: float) -> float:
    """A bound where nothing is kept: then every cost is a sum of prices, and so a multiple of what divides them all."""
    benches = [bench for _, bench in task.benches()]
    steps = [round(bench.price / task.smallest) for bench in benches]
    if (
        not math.isfinite(bound)
        or any(bench.worth for bench in benches)
        or any(abs(bench.price / task.smallest - step) > 1e-9 for bench, step in zip(benches, steps, strict=True))
    ):
        return bound
    step = math.gcd(*steps) * task.smallest
    return math.ceil(bound / step - 1e-6) * step if step else bound


def first_fits(task: Task, budget: Budget) -> Iterator[Solution]:
    """Plans made first-fit, the boards in several orders, as long as half of the budget is left."""
    ways = list(task.benches())
    orders = (
        lambda each: (each[1].price / each[1].face, -each[1].face),
        lambda each: (-each[1].face, each[1].price),
        lambda each: (each[1].face, each[1].price),
    )
    for order in orders:
        for first in SortBy:
            found = _first_fit(task, sorted(ways, key=order), first)
            yield found
            if (
                not budget.spend(FILL * (len(found.uses) * (1 + len(task.kinds)) + sum(task.wanted)))
                or budget.left < task.work // 2
            ):
                return


def _first_fit(task: Task, ways: Sequence[tuple[int, Bench]], first: SortBy) -> Solution:
    wanted, left, uses = list(task.wanted), list(task.copies), list[UsedBoard]()
    for number, bench in ways:
        while left[number] and any(count > 0 for count in wanted):
            use = task.use(number, bench, filled(bench, wanted, first))
            if not any(use.counts):
                break
            # As many boards alike as the pieces that are left fill.
            more = min(have // count for have, count in zip(wanted, use.counts, strict=True) if count)
            more = max(0, min(more, left[number] - 1))
            wanted = [have - more * count for have, count in zip(wanted, use.counts, strict=True)]
            left[number] -= 1 + more
            uses += [use] * (1 + more)
    return tidy(task, uses)


def solve(task: Task) -> Solution:
    """The cheapest boards that could be found."""
    if not any(task.wanted) or not any(task.boards):
        return Solution(uses=(), bound=0.0, lacking=task.wanted)
    return tried(task) or searched(task)
