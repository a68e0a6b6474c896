"""Boards for the pieces of one wood: everything tried where there are few, columns generated where there are many.

What is found is whole: a list of boards, each with its content. What is proven is a bound: no way to cut these pieces
from these boards, as a saw bench cuts (``benches``), costs less.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from chequerwork.domain.stock.benches import Bench, Content, Kind, counts_of, cut_count, worth_kept
from chequerwork.domain.stock.lattice import Choice, Cutup, Lattice, Sections, choose, cutups
from chequerwork.domain.stock.master import Master, Prices
from chequerwork.domain.stock.patterns import Values
from chequerwork.domain.stock.start import filled, trimmed

FEW_POINTS: Final = 500  # of a lattice that is gone through whole
FEW_STEPS: Final = 400_000  # of the choice among its boards
ROUNDS: Final = 400  # of generated columns
LACKING: Final = 1000.0  # a piece not cut costs so many times the dearest wood


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """A board used: its number, how it is looked at, what comes out, and what that costs."""

    board: int
    bench: Bench
    content: Content
    counts: tuple[int, ...]
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Boards used, the bound on their cost, pieces of each kind that no board gave, and how the search ended."""

    uses: tuple[Use, ...]
    bound: float
    lacking: tuple[int, ...]
    fused: bool = False

    @property
    def cost(self) -> float:
        """Of the boards used, leftovers taken off."""
        return sum(use.cost for use in self.uses)


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """Pieces of one wood, and the ways to look at each kind of board that may give them.

    ``smallest`` is the least amount that counts, in the goal's unit: between equal plans fewer boards are better, and
    then fewer cuts, each worth a little of it.
    """

    kinds: tuple[Kind, ...]
    boards: tuple[tuple[Bench, ...], ...]
    copies: tuple[int, ...]
    smallest: float

    @property
    def wanted(self) -> tuple[int, ...]:
        """Pieces of each kind."""
        return tuple(kind.wanted for kind in self.kinds)

    def effort(self, content: Content) -> float:
        """Cost of the trouble: a board, and each of its cuts."""
        return self.smallest * (1e-3 + 1e-6 * cut_count(content))

    def use(self, board: int, bench: Bench, content: Content) -> Use:
        """A board used so."""
        counts = counts_of(content, len(self.kinds))
        cost = bench.price - worth_kept(bench, content)
        return Use(board=board, bench=bench, content=content, counts=counts, cost=cost)


# Few pieces -----------------------------------------------------------------------------------------------------------


def tried(task: Task) -> Found | None:
    """The best plan of all there are, or None where there are too many to try."""
    lattice = Lattice(task.wanted)
    copies = sum(min(count, sum(task.wanted)) for count in task.copies)
    if lattice.size > FEW_POINTS or copies * lattice.size**2 > FEW_STEPS:
        return None
    chosen = choose(lattice, list(zip(task.copies, every_cutup(task, lattice), strict=True)))
    volumes = [kind.length_nm * kind.width_nm * kind.thickness_nm for kind in task.kinds]

    def covered(point: int) -> int:
        return sum(volume * count for volume, count in zip(volumes, lattice.counts(point), strict=True))

    best = max(chosen, key=lambda point: (covered(point), -chosen[point].cost))
    found = _tidy(task, list(_uses(task, chosen[best])))
    return replace(found, bound=found.cost)


def every_cutup(task: Task, lattice: Lattice) -> list[list[Cutup]]:
    """All ways to cut each board."""
    made: dict[tuple[object, ...], Sections] = {}
    alike: dict[tuple[object, ...], list[Bench]] = {}
    for ways in task.boards:
        for bench in ways:
            alike.setdefault(_alike(bench), []).append(bench)
    for key, benches in alike.items():
        longest_nm = max(span.room_nm for bench in benches for span in bench.spans)
        widest_nm = max(bench.width_nm for bench in benches)
        made[key] = Sections(lattice, benches[0], longest_nm=longest_nm, widest_nm=widest_nm)
    return [list(_cutups_of(task, lattice, ways, made)) for ways in task.boards]


def _alike(bench: Bench) -> tuple[object, ...]:
    """What sections depend on, beside a board's size."""
    widths = (bench.in_bands, bench.strips_nm if bench.in_bands or bench.board.sheet else bench.band_nm)
    return (bench.blanks, bench.kerfs_nm, bench.jointing_nm, bench.min_length_nm, *widths)


def _cutups_of(
    task: Task, lattice: Lattice, ways: Sequence[Bench], made: dict[tuple[object, ...], Sections]
) -> Iterator[Cutup]:
    best: dict[int, Cutup] = {}
    for bench in ways:
        for cutup in cutups(lattice, bench, made[_alike(bench)]):
            cost = cutup.cost + task.effort(cutup.content)
            if cutup.point not in best or cost < best[cutup.point].cost:
                best[cutup.point] = Cutup(cutup.point, cost, cutup.content, bench)
    return iter(best.values())


def _uses(task: Task, choice: Choice) -> Iterator[Use]:
    step: Choice | None = choice
    while step is not None and step.cutup is not None:
        yield task.use(step.number, step.cutup.bench, step.cutup.content)
        step = step.before


# Many pieces ----------------------------------------------------------------------------------------------------------


class Columns:
    """Generates contents of boards that lower the cost, as long as there are any, and keeps the best bound met."""

    def __init__(self, task: Task, cost: float) -> None:
        self.task = task
        # A plan no dearer than one that is known takes no more boards than this; of course no more than pieces.
        nets = [bench.price - bench.worth * _face(bench) for ways in task.boards for bench in ways]
        self.most = min(sum(task.wanted), math.floor(min(cost / min(nets), 1e9)) if min(nets) > 0 else sum(task.wanted))
        dearest = max((bench.price / _face(bench) for ways in task.boards for bench in ways), default=1.0)
        lacking = [LACKING * dearest * kind.length_nm * kind.width_nm for kind in task.kinds]
        self.master = Master(task.wanted, task.copies, lacking)
        self.uses: list[Use] = []
        self.known: set[tuple[int, tuple[int, ...], float]] = set()
        self.bound = 0.0
        groups: dict[tuple[object, ...], list[tuple[int, Bench]]] = {}
        for number, ways in enumerate(task.boards):
            for bench in ways:
                groups.setdefault(_alike(bench), []).append((number, bench))
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


def _face(bench: Bench) -> float:
    return float(bench.board.length_nm * bench.board.width_nm)


def searched(task: Task) -> Found:
    """A good plan and a bound on how much better any can be."""
    best = min(first_fits(task), key=lambda found: (_volume(task, found.lacking), found.cost))
    columns = Columns(task, math.inf if any(best.lacking) else best.cost)
    for use in best.uses:
        columns.add(use)
    columns.generate(ROUNDS, best.cost - task.smallest / 2)
    whole = columns.master.whole(_objective(task, best))
    if whole is not None:
        picked = [use for use, times in zip(columns.uses, whole.times, strict=True) for _ in range(times)]
        best = min(best, _tidy(task, picked, fused=whole.fused), key=lambda found: _objective(task, found))
    return replace(best, bound=min(best.cost, _rounded_up(task, columns.bound)))


def _rounded_up(task: Task, bound: float) -> float:
    """A bound where nothing is kept: then every cost is a sum of prices, and so a multiple of what divides them all."""
    benches = [bench for ways in task.boards for bench in ways]
    steps = [round(bench.price / task.smallest) for bench in benches]
    if any(bench.worth for bench in benches) or any(
        abs(bench.price / task.smallest - step) > 1e-9 for bench, step in zip(benches, steps, strict=True)
    ):
        return bound
    step = math.gcd(*steps) * task.smallest
    return math.ceil(bound / step - 1e-6) * step if step else bound


def _volume(task: Task, counts: Sequence[int]) -> int:
    return sum(k.length_nm * k.width_nm * k.thickness_nm * n for k, n in zip(task.kinds, counts, strict=True))


def _objective(task: Task, found: Found) -> float:
    dearest = max((bench.price / _face(bench) for ways in task.boards for bench in ways), default=1.0)
    faces = (k.length_nm * k.width_nm * n for k, n in zip(task.kinds, found.lacking, strict=True))
    return found.cost + sum(task.effort(use.content) for use in found.uses) + LACKING * dearest * sum(faces)


def _tidy(task: Task, uses: Sequence[Use], *, fused: bool = False) -> Found:
    """The same without pieces that are too many."""
    surplus = [-kind.wanted for kind in task.kinds]
    for use in uses:
        for number, count in enumerate(use.counts):
            surplus[number] += count
    lacking = tuple(max(0, -extra) for extra in surplus)
    surplus = [max(0, extra) for extra in surplus]
    kept = []
    for use in uses:
        smaller = task.use(use.board, use.bench, trimmed(use.bench, use.content, surplus)) if any(surplus) else use
        if any(smaller.counts):
            kept.append(smaller)
    return Found(uses=tuple(kept), bound=0.0, lacking=lacking, fused=fused)


def first_fits(task: Task) -> Iterator[Found]:
    """Plans made first-fit, the boards in several orders."""
    ways = [(number, bench) for number, benches in enumerate(task.boards) for bench in benches]
    orders = (
        lambda each: (each[1].price / _face(each[1]), -_face(each[1])),
        lambda each: (-_face(each[1]), each[1].price),
        lambda each: (_face(each[1]), each[1].price),
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
    return _tidy(task, uses)


def solve(task: Task) -> Found:
    """The cheapest boards that could be found."""
    if not any(task.wanted):
        return Found(uses=(), bound=0.0, lacking=tuple(0 for _ in task.kinds))
    return tried(task) or searched(task)
