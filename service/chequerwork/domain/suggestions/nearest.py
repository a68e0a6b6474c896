"""The closest miss: the order that misses limits by the smallest share, where none keeps to all of them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, NamedTuple

from chequerwork.domain.suggestions.rack import FROM_STOCK
from chequerwork.domain.suggestions.search import Candidate, Search

ROUNDS: Final = 3  # through all changes, on the way to the closest miss


class Near(NamedTuple):
    """An order with its overruns: of the limits that count, of the one that may be relaxed, and its points."""

    hard: float
    soft: float
    points: float
    candidate: Candidate
    misses: tuple[tuple[str, float], ...]

    def is_nearer(self, other: "Near | None") -> bool:
        """Whether it misses by less than the other, or is the same for fewer changes."""
        return other is None or self[:3] < other[:3]


class Descent:
    """From the request to the order that misses by least: one change at a time, each time the best there is."""

    def __init__(self, search: Search, *, only: str | None = None, without: str | None = None) -> None:
        self.search, self.space = search, search.space
        every = self.search.limits
        self.hard = tuple(pair for pair in every if pair[0] != without and only in (None, pair[0]))
        self.soft = tuple(pair for pair in every if pair[0] == without)
        if only is not None or without == FROM_STOCK:
            self.search.rack = None

    def nearest(self) -> Near | None:
        """The order that misses by least, with the largest square that it may have; None where nothing can be made."""
        groups, last = self.space.groups, len(self.space.squares_mm) - 1
        places, best = [0] * len(groups), None
        for _ in range(ROUNDS):
            before = best
            for number, group in enumerate(groups):
                for at in range(len(group)):
                    tried = [*places[:number], at, *places[number + 1 :]]
                    found = None if self.search.budget.used_up else self._judged(tried, last)
                    if found is not None and found.is_nearer(best):
                        best, places = found, tried
            if best is before:
                break
        return None if best is None else self._larger(places, best)

    def _larger(self, places: Sequence[int], best: Near) -> Near:
        """The same with the largest square that misses by no more."""
        low, high = -1, len(self.space.squares_mm) - 1
        while high - low > 1:
            middle = (low + high) // 2
            found = self._judged(places, middle)
            if found is not None and found[:2] <= best[:2]:
                high, best = middle, found
            else:
                low = middle
        return best

    def _judged(self, places: Sequence[int], square: int) -> Near | None:
        moves = [group[at] for group, at in zip(self.space.groups, places, strict=True)]
        request = self.search.bundle(moves)
        candidate = self.search.look(replace(request, square_mm=self.space.squares_mm[square]))
        if candidate is None or not self.search.work_out(candidate, 1):
            return None
        misses = tuple(self.search.misses(candidate, self.hard))
        soft = sum(over for _, over in self.search.misses(candidate, self.soft)) if self.soft else 0.0
        hard = sum(over for _, over in misses)
        return Near(round(hard, 9), round(soft, 9), sum(move.points for move in moves), candidate, misses)
