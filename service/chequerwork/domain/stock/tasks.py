"""The words of the search: pieces of one wood and the boards for them, boards used, plans found."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from chequerwork.domain.stock.benches import Bench, Content, Kind, counts_of, cut_count, worth_kept
from chequerwork.domain.stock.start import trimmed

LACKING: Final = 1000.0  # a piece not cut costs so many times the dearest wood


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedBoard:
    """A board used: its number, how it is looked at, what comes out, and what that costs."""

    board: int
    bench: Bench
    content: Content
    counts: tuple[int, ...]
    cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """Boards used, the bound on their cost, and pieces of each kind that no board gave.

    ``sure`` says that no plan gives more of the pieces.
    """

    uses: tuple[UsedBoard, ...]
    bound: float
    lacking: tuple[int, ...]
    sure: bool = True

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
    work: int  # that a search may do, in steps of some nanoseconds

    @property
    def wanted(self) -> tuple[int, ...]:
        """Pieces of each kind."""
        return tuple(kind.wanted for kind in self.kinds)

    def part(self, wanted: Sequence[int], copies: Sequence[int]) -> "Task":
        """The same boards, as many as are left, for some of the pieces."""
        kinds = tuple(kind._replace(wanted=count) for kind, count in zip(self.kinds, wanted, strict=True))
        return replace(self, kinds=kinds, copies=tuple(copies))

    def benches(self) -> Iterator[tuple[int, Bench]]:
        """Every way to look at every board, with the board's number."""
        for number, ways in enumerate(self.boards):
            for bench in ways:
                yield number, bench

    def stacks(self) -> list[int]:
        """The most pieces of each kind that a blank gives."""
        most = [1] * len(self.kinds)
        for _, bench in self.benches():
            for blank in bench.blanks:
                most[blank.kind] = max(most[blank.kind], blank.stacked)
        return most

    def effort(self, content: Content) -> float:
        """Cost of the trouble: a board, and each of its cuts."""
        return self.smallest * (1e-3 + 1e-6 * cut_count(content))

    def use(self, board: int, bench: Bench, content: Content) -> UsedBoard:
        """A board used so."""
        counts = counts_of(content, len(self.kinds))
        cost = bench.price - worth_kept(bench, content)
        return UsedBoard(board=board, bench=bench, content=content, counts=counts, cost=cost)


def volume(task: Task, counts: Sequence[int]) -> int:
    """Volume of so many pieces of each kind. [nm3]"""
    return sum(k.length_nm * k.width_nm * k.thickness_nm * n for k, n in zip(task.kinds, counts, strict=True))


def lacking_costs(task: Task) -> list[float]:
    """What a piece of each kind costs that no board gives: more than any wood, so that it is given where it can be."""
    dearest = max((bench.price / bench.face for _, bench in task.benches()), default=1.0)
    return [LACKING * dearest * kind.length_nm * kind.width_nm for kind in task.kinds]


def objective(task: Task, found: Solution) -> float:
    """What a search makes small: cost, then boards, then cuts, and before all of them pieces that are not given."""
    lacking = sum(cost * count for cost, count in zip(lacking_costs(task), found.lacking, strict=True))
    return found.cost + sum(task.effort(use.content) for use in found.uses) + lacking


def tidy(task: Task, uses: Sequence[UsedBoard]) -> Solution:
    """A plan without the pieces that are too many."""
    got = [sum(use.counts[number] for use in uses) for number in range(len(task.kinds))]
    surplus = [max(0, have - kind.wanted) for have, kind in zip(got, task.kinds, strict=True)]
    kept = []
    for use in uses:
        smaller = task.use(use.board, use.bench, trimmed(use.bench, use.content, surplus)) if any(surplus) else use
        if any(smaller.counts):
            kept.append(smaller)
    lacking = tuple(max(0, kind.wanted - have) for have, kind in zip(got, task.kinds, strict=True))
    return Solution(uses=tuple(kept), bound=0.0, lacking=lacking)
