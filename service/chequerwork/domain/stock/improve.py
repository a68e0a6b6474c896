"""A plan made better: the pieces of a few of its boards are put on other boards that fit them more snugly."""

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, islice
from typing import Final, NamedTuple

from chequerwork.domain.basics.budget import Budget
from chequerwork.domain.stock.benches import Bench
from chequerwork.domain.stock.few import tried
from chequerwork.domain.stock.start import SortBy, filled
from chequerwork.domain.stock.tasks import Solution, Task, UsedBoard, objective, tidy

PART_POINTS: Final = 130  # of a lattice that is gone through whole
PART_STEPS: Final = 60_000  # of going through such a lattice
TOGETHER: Final = 2  # boards whose pieces are moved at once
MOST_BOARDS: Final = 40  # among which others are chosen
FILL: Final = 40_000  # steps of work that filling a board takes, and as many more for each kind and piece
SET: Final = 4_000  # that looking at a set of boards takes
MOST_SETS: Final = 8_000  # of boards that are looked at
SNUGGEST: Final = 0.97  # share of a board's face that no filling reaches


class _Set(NamedTuple):
    """Boards that could take some pieces, and what that would cost if nothing were wasted."""

    cost: float
    boards: tuple[tuple[int, Bench], ...]


def improved(task: Task, found: Solution, budget: Budget) -> Solution:
    """The plan, or a cheaper one."""
    better: Solution | None = found
    while better is not None and not budget.used_up:
        found, better = better, _step(task, better, budget)
    return found


def _step(task: Task, found: Solution, budget: Budget) -> Solution | None:
    """The first improvement found by moving the pieces of one board or two, or None."""
    for size in range(1, min(TOGETHER, len(found.uses)) + 1):
        for moved in combinations(range(len(found.uses)), size):
            uses = _moved(task, found, moved, budget)
            if uses is not None or budget.used_up:
                return uses
    return None


def _moved(task: Task, found: Solution, moved: Sequence[int], budget: Budget) -> Solution | None:
    kept = [use for number, use in enumerate(found.uses) if number not in moved]
    old = [found.uses[number] for number in moved]
    given = [sum(use.counts[number] for use in kept) for number in range(len(task.kinds))]
    wanted = [max(0, k.wanted - g - lack) for k, g, lack in zip(task.kinds, given, found.lacking, strict=True)]
    left = list(task.copies)
    for use in kept:
        left[use.board] -= 1
    part = task.part(wanted, left)
    best = tried(part, points=PART_POINTS, steps=PART_STEPS)
    if best is None:
        best = _snuggest(part, sum(use.cost for use in old), len(old) + 1, budget)
    if best is None or any(best.lacking):
        return None
    new = tidy(task, [*kept, *best.uses])
    return new if objective(task, new) < objective(task, found) - task.smallest * 1e-3 else None


def _snuggest(part: Task, known: float, most: int, budget: Budget) -> Solution | None:
    """The cheapest set of boards that a filling by hand gets all pieces out of; sets are tried from the snuggest up."""
    sets = [each for each in islice(_sets(part, most), MOST_SETS) if each.cost < known - part.smallest]
    budget.spend(SET * MOST_SETS)
    sets.sort(key=lambda each: each.cost)
    best, step, at, low = None, 1, 0, 0
    while at < len(sets) and not budget.used_up:
        best = _fill(part, sets[at], budget)
        if best is not None:
            break
        low, at, step = at + 1, at + step, step * 2
    high = at
    for number in range(low, min(high, len(sets))):
        if budget.used_up:
            break
        snugger = _fill(part, sets[number], budget)
        if snugger is not None and (best is None or snugger.cost < best.cost):
            return snugger
    return best


def _sets(part: Task, most: int) -> Iterator[_Set]:
    """Sets of boards with enough face for all pieces."""
    faces = (k.length_nm * k.width_nm * k.wanted / stack for k, stack in zip(part.kinds, part.stacks(), strict=True))
    need = sum(faces)
    sorted_ways = sorted((each for each in part.benches() if part.copies[each[0]]), key=lambda each: each[1].price)
    ways = [_way(number, bench) for number, bench in sorted_ways[:MOST_BOARDS]]
    for size in range(1, most + 1):
        for chosen in combinations(ways, size):
            room, cost, worth = 0.0, 0.0, math.inf
            for way in chosen:
                room += way.room
                cost += way.net
                worth = min(worth, way.worth)
            # The same sheet, cut both ways, is one sheet.
            if room >= need and len({way.board[0] for way in chosen}) == size:
                yield _Set(cost + worth * need, tuple(way.board for way in chosen))


class _Way(NamedTuple):
    """A board: the face that can be filled, what it costs if all of it were kept, and the worth of a kept nm2."""

    room: float
    net: float
    worth: float
    board: tuple[int, Bench]


def _way(number: int, bench: Bench) -> _Way:
    return _Way(bench.face * SNUGGEST, bench.price - bench.worth * bench.face, bench.worth, (number, bench))


def _fill(part: Task, chosen: _Set, budget: Budget) -> Solution | None:
    """All pieces on these boards, in the first of several ways that gets them out."""
    for boards in (chosen.boards, chosen.boards[::-1])[: len(chosen.boards)]:
        for first in SortBy:
            wanted, uses = [kind.wanted for kind in part.kinds], list[UsedBoard]()
            for number, bench in boards:
                uses.append(part.use(number, bench, filled(bench, wanted, first)))
                budget.spend(FILL * (1 + len(part.kinds) + sum(uses[-1].counts)))
            if all(count <= 0 for count in wanted):
                return tidy(part, uses)
    return None
