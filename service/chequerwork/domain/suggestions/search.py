"""The search: sets of changes, the nearest first, each with the largest square that keeps to the limits.

Bounded by counted work, never by a clock, so the same request has the same answer on any machine.
"""

import heapq
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Final, NamedTuple

from chequerwork.domain.basics.budget import Budget
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import Order, Units
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import Plan
from chequerwork.domain.suggestions.limits import STAGES, Bound, First, Limits, measurable, overrun
from chequerwork.domain.suggestions.moves import Move, MoveGroup, contrast
from chequerwork.domain.suggestions.rack import FROM_STOCK, RackStock
from chequerwork.domain.wood.verdict import Verdict

# Work for one set of changes, and for one order looked at, by how far it is worked out: sizes, price, movement, dates.
SET_COST: Final = 3
COSTS: Final = (10, 30, 10, 20)
RACK_COST: Final = 5
# Points (house): of a verdict, of each step that it is worse than the request's own, and of pieces that stand badly.
VERDICT_POINTS: Final = {Verdict.SOUND: 0.0, Verdict.WATCH: 0.5, Verdict.EXPECT_DAMAGE: 20.0}
WORSE_POINTS: Final = 4.0
FIT_POINTS: Final = {"standard": 0.0, "roomy": 4.0, "tight": 4.0}
UNFIT_POINTS: Final = 25.0
PRICE_POINTS: Final = 5.0  # of a price e times as high, where price is not what comes first
DAY_POINTS: Final = 2.0  # of one day, where the date comes first
NEAR: Final = 0.02  # a share by which sizes may be missed although a square a step or two smaller keeps to them
SLACK: Final = 1.0  # points by which gains found one by one may be wrong together (house)


class Candidate:
    """An order that may be suggested, worked out as far as it was needed."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.stage = plan, 0
        self.sold: bool | None = None  # whether it has a price: not where the shop cannot send it

    @property
    def order(self) -> Order:
        """The complete order."""
        return self.plan.order


class Solved(NamedTuple):
    """The best order of one set of changes, with its points."""

    points: float
    candidate: Candidate
    request: OrderRequest


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """What is searched: the request with its gaps filled, squares from the largest, and groups of moves."""

    base: OrderRequest
    shop: Shop
    tables: Tables
    today: date
    first: First
    squares_mm: tuple[float, ...]
    groups: tuple[MoveGroup, ...]


class Search:
    """One search: what was looked at is remembered, and what it cost is counted."""

    def __init__(
        self, space: Space, limits: Limits, budget: Budget, known: dict[OrderRequest, Candidate | None] | None = None
    ) -> None:
        self.space, self.budget = space, budget
        self.rack = RackStock(space.shop, space.tables) if limits.from_stock else None
        self.limits = measurable(limits)
        self.refused = False  # whether what came out last must be smaller, by what was learned of the rack
        self.candidates: dict[OrderRequest, Candidate | None] = {} if known is None else known
        self.usual_total, self.usual_worth, self.usual_verdict = 1.0, 0.0, Verdict.SOUND

    # Looking ----------------------------------------------------------------------------------------------------------

    def look(self, request: OrderRequest) -> Candidate | None:
        """The order of a request, or None where it cannot be made."""
        if request not in self.candidates:
            self.budget.spend(COSTS[0])
            self.candidates[request] = self._made(request)
        return self.candidates[request]

    def _made(self, request: OrderRequest) -> Candidate | None:
        space = self.space
        try:
            order = complete(request, shop=space.shop, tables=space.tables, today=space.today)
        except Refused:
            return None
        return Candidate(Plan(order, space.shop, space.tables))

    def work_out(self, candidate: Candidate, stage: int) -> bool:
        """Pay for what is worked out now, and say whether it can be: what the shop cannot send has no price."""
        for each in range(candidate.stage + 1, stage + 1):
            self.budget.spend(COSTS[each])
        candidate.stage = max(candidate.stage, stage)
        if stage and candidate.sold is None:
            try:
                candidate.sold = candidate.plan.price is not None
            except Refused:
                candidate.sold = False
        return not stage or bool(candidate.sold)

    def misses(
        self, candidate: Candidate, limits: Sequence[tuple[str, Bound]] | None = None
    ) -> Iterator[tuple[str, float]]:
        """The limits that an order does not keep to, each with its overrun."""
        for name, most in self.limits if limits is None else limits:
            over = overrun(name, most, candidate.plan) if self.work_out(candidate, STAGES[name]) else math.inf
            if over > 0:
                yield name, over
        if self.rack is not None:
            self.budget.spend(RACK_COST)
            lacking = self.rack.lacking(candidate.plan)
            if lacking > 0:
                yield FROM_STOCK, lacking

    # One set of changes -----------------------------------------------------------------------------------------------

    def bundle(self, moves: Sequence[Move]) -> OrderRequest:
        """The request with a set of changes, without its square."""
        request = self.space.base
        for move in moves:
            request = move.make(request)
        return request

    def solve(self, request: OrderRequest) -> Candidate | None:
        """The order with the largest square that keeps to every limit, or None where none does.

        A smaller square is lighter, cheaper, sooner done and moves less. So there is one border between squares that
        keep and squares that do not; it is found from where the sizes alone say it must lie.
        """
        first, last = self._by_size(request), len(self.space.squares_mm) - 1
        if first > last:
            return None
        best, over = self._tried(request, first)
        if over is None:
            return best
        # What the sizes allow is mostly right, or a step or two too large.
        before, steps = first, (1, 3) if over < NEAR else ()
        for index in (*(first + step for step in steps if first + step < last), last):
            if index > before:
                candidate, missed = self._tried(request, index)
                if missed is None and candidate is not None:
                    return self._border(request, before, over, index, candidate)
                before, over = index, missed or 0.0
        return None

    def _border(self, request: OrderRequest, before: int, over: float, found: int, best: Candidate) -> Candidate:
        """The largest square between one that misses a limit and one that keeps to all: guessed and halved in turn."""
        guess = True
        while found - before > 1:
            room = self._room(best)
            share = over / (over + room) if guess and room + over and over < math.inf else 0.5
            index = min(max(before + round((found - before) * share), before + 1), found - 1)
            candidate, missed = self._tried(request, index)
            if missed is None and candidate is not None:
                found, best = index, candidate
            else:
                before, over = index, missed or 0.0
            guess = not guess
        return best

    def _tried(self, request: OrderRequest, index: int) -> tuple[Candidate | None, float | None]:
        """An order with one of the squares, and by how much it misses the first limit that it misses; None by none."""
        candidate = self._at(request, index)
        if candidate is None:
            return None, math.inf
        missed = next((over for _, over in self.misses(candidate)), None)
        if missed is None and not self.work_out(candidate, 1):
            missed = math.inf
        return candidate, missed

    def _room(self, candidate: Candidate) -> float:
        """The least share by which an order stays below any limit on numbers."""
        numbers = [pair for pair in self.limits if isinstance(pair[1], float | Decimal)]
        return min((-overrun(name, most, candidate.plan) for name, most in numbers), default=0.0)

    def _at(self, request: OrderRequest, index: int) -> Candidate | None:
        return self.look(replace(request, square_mm=self.space.squares_mm[index]))

    def _by_size(self, request: OrderRequest) -> int:
        """Index of the largest square that can lie within the limits of size: no other need be looked at.

        A floating field's clearance comes on top; a lip takes some away again, so nothing is ruled out under one.
        """
        most = {name: limit for name, limit in self.limits if isinstance(limit, float)}
        squares = self.space.squares_mm
        sides = [(name, count) for name, count in _sides(request, self.space) if name in most]
        if request.frame and request.frame.edge != "tongue":
            return 0
        border_mm = 2 * (
            sum(line.width_mm for line in request.lines) + (request.frame.width_mm if request.frame else 0.0)
        )
        top_mm = min([squares[0], *((most[name] - border_mm) / count for name, count in sides)])
        return next((at for at, square_mm in enumerate(squares) if square_mm <= top_mm + 1e-9), len(squares))

    # Points -----------------------------------------------------------------------------------------------------------

    def points(self, moves: Sequence[Move], candidate: Candidate) -> float:
        """How far an order leads away from what is wanted."""
        self.work_out(candidate, 3 if self.space.first is First.EARLY else 2)
        plan, squares = candidate.plan, self.space.squares_mm
        found = sum(move.points for move in moves) + _below(candidate.order.field.square_mm, squares[0])
        found += VERDICT_POINTS[plan.movement.verdict]
        found += WORSE_POINTS * max(0, plan.movement.verdict.rank - self.usual_verdict.rank)
        if plan.geometry.fit.verdict is not None:
            found += FIT_POINTS.get(plan.geometry.fit.verdict, UNFIT_POINTS)
        # So that the last binary digit decides nothing.
        return round(found + self.worth(candidate), 6)

    def worth(self, candidate: Candidate) -> float:
        """Points of what comes first, and of the price; less is better."""
        plan, first = candidate.plan, self.space.first
        self.work_out(candidate, 3 if first is First.EARLY else 1)
        weight = 100.0 if first is First.LOW_PRICE else PRICE_POINTS
        found = weight * math.log(float(plan.price.total) / self.usual_total)
        if first is First.EARLY:
            found += DAY_POINTS * (plan.schedule.dates.ready_on - plan.order.dates.issued_on).days
        if first is First.CONTRAST:
            found += 100 - contrast(candidate.order.field.light, candidate.order.field.dark, self.space.tables)
        return found

    # All sets of changes ----------------------------------------------------------------------------------------------

    def ranked(self) -> Iterator[Solved]:
        """The best order of each set of changes, the nearest to what is wanted first, as long as there is work.

        Sets come in the order of the least their points can be: first by their changes alone, then with the largest
        square that the sizes leave. What is solved comes out as soon as nothing that waits can be better.
        """
        groups = [sorted(group, key=_net) for group in self.space.groups]
        start = (0,) * len(groups)
        waiting = [_Waiting(self._least(groups, start), 0, start)]
        known, done, solved, tie = {start}, set[OrderRequest](), set[OrderRequest](), 0
        while waiting:
            here = heapq.heappop(waiting)
            if here.solved is not None:
                yield here.solved
                here = here._replace(request=here.solved.request, solved=None)
            if self.budget.used_up or (here.request in solved and not self.refused):
                continue  # what is solved already still comes out, in its order
            moves = [group[at] for group, at in zip(groups, here.places, strict=True)]
            if here.request is None:
                self.budget.spend(SET_COST)
                request = self.bundle(moves)
                if request not in done:
                    done.add(request)
                    bound = here.bound + self._square_points(request)
                    if bound < math.inf:
                        tie += 1
                        heapq.heappush(waiting, _Waiting(bound, tie, here.places, request))
                for after in _next(here.places, groups):
                    if after not in known:
                        known.add(after)
                        tie += 1
                        heapq.heappush(waiting, _Waiting(self._least(groups, after), tie, after))
                continue
            self.refused = False
            solved.add(here.request)
            candidate = self.solve(here.request)
            if candidate is not None:
                tie += 1
                points = self.points(moves, candidate)
                heapq.heappush(
                    waiting, _Waiting(points, tie, here.places, solved=Solved(points, candidate, here.request))
                )

    def _least(self, groups: Sequence[Sequence[Move]], places: tuple[int, ...]) -> float:
        """Points that a set of changes has at least, whatever its square."""
        return sum(_net(group[at]) for group, at in zip(groups, places, strict=True)) + self.usual_worth - SLACK

    def _square_points(self, request: OrderRequest) -> float:
        """Points of the largest square that the sizes leave."""
        at, squares = self._by_size(request), self.space.squares_mm
        return _below(squares[at], squares[0]) if at < len(squares) else math.inf


def _below(square_mm: float, top_mm: float) -> float:
    """Points of a square below the one that is wanted."""
    return 100 * math.log(top_mm / square_mm)


class _Waiting(NamedTuple):
    """A set of changes that waits: found, bundled with its bound from the sizes, or solved."""

    bound: float
    tie: int
    places: tuple[int, ...]
    request: OrderRequest | None = None
    solved: Solved | None = None


def _net(move: Move) -> float:
    return move.points + move.gain


def _sides(request: OrderRequest, space: Space) -> Iterator[tuple[str, int]]:
    game = space.tables.games.get(request.game) if request.game else None
    columns = request.columns or (game.columns if game else 8)
    rows = request.rows or (game.rows if game else 8)
    yield "outside", max(columns, rows)
    yield "outside_length", rows
    yield "outside_width", columns


def _next(places: tuple[int, ...], groups: Sequence[Sequence[Move]]) -> Iterator[tuple[int, ...]]:
    """Sets of changes one step further."""
    for index, at in enumerate(places):
        if at + 1 < len(groups[index]):
            yield (*places[:index], at + 1, *places[index + 1 :])


def units_of(request: OrderRequest, shop: Shop) -> Units:
    """Unit system of a request."""
    return request.units or Units(shop.defaults.units)
