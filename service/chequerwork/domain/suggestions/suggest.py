"""The suggestions: limits and wishes in; the few best different orders out, or what stands in the way."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from chequerwork.domain.basics.budget import Budget
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.fit import square_high_mm
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.completion.defaults import Filled
from chequerwork.domain.order.order import Order
from chequerwork.domain.order.request import OrderRequest
from chequerwork.domain.plan import Plan
from chequerwork.domain.suggestions.changes import OrderChange, Sentence, changes, gives_up
from chequerwork.domain.suggestions.limits import MEASURES, Bound, Field, First, Limits, Wishes, measurable
from chequerwork.domain.suggestions.moves import MoveGroup, contrast, groups, pairs, squares_mm, timbers
from chequerwork.domain.suggestions.nearest import Descent
from chequerwork.domain.suggestions.rack import FROM_STOCK
from chequerwork.domain.suggestions.search import Candidate, Search, Space, units_of
from chequerwork.domain.wood.verdict import Verdict

WORK: Final = 30_000  # of the search for suggestions: 7 us each
MISS_WORK: Final = 30_000  # of finding the closest miss, and what would do
CLOSER, CHEAPER, SOONER_DAYS = 0.02, 0.05, 2  # what a further change must bring, or it is not worth it (house)


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """One order that keeps to every limit, its changes and what it gives up.

    ``points`` say how far it leads away from what is wanted, where suggestions are ranked by them.
    """

    plan: Plan
    points: float | None
    changes: tuple[OrderChange, ...]
    gives_up: tuple[Sentence, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedLimit:
    """A limit that an order does not keep to: what was asked, and what the order has."""

    limit: str
    asked: Any
    has: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosestMiss:
    """The order that misses the limits by the smallest share, all its misses together."""

    suggestion: Suggestion
    missed: tuple[MissedLimit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RelaxedLimit:
    """One limit relaxed, the others kept: how far it must be, and an order that keeps to all of them then."""

    limit: str
    asked: Any
    needed: Any
    suggestion: Suggestion


@dataclass(frozen=True, slots=True, kw_only=True)
class UnreachableLimit:
    """A limit that nothing keeps to even by itself: the least that there is."""

    limit: str
    asked: Any
    least: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestions:
    """The answer. ``thorough`` is false where the work ended before everything was weighed."""

    suggestions: tuple[Suggestion, ...]
    thorough: bool
    alone: tuple[UnreachableLimit, ...] = ()
    closest: ClosestMiss | None = None
    relaxed: tuple[RelaxedLimit, ...] = ()


def suggest(
    request: OrderRequest,
    limits: Limits,
    wishes: Wishes,
    count: int,
    *,
    shop: Shop,
    tables: Tables,
    today: date,
) -> Suggestions:
    """The few best different orders within the limits; where there is none, what stands in the way.

    Parameters
    ----------
    request
        The request; square and timbers may be left open.
    limits, wishes
        What every suggestion keeps to, and what is preferred.
    count
        Suggestions at most.
    shop, tables, today
        The maker, the facts, and the date where the shop is.

    Raises
    ------
    Refused
        The request itself cannot be made, whatever its square.
    """
    asking = _Request(request, limits, wishes, shop, tables, today)
    alone = tuple(asking.alone())
    if alone:
        return asking.none(alone, thorough=True)
    search = asking.search()
    found = tuple(asking.chosen(search, count))
    thorough = not search.budget.used_up and (search.rack is None or not search.rack.given_nm3)
    if found:
        return Suggestions(suggestions=found, thorough=thorough)
    return asking.none((), thorough=thorough)


def starts(request: OrderRequest, shop: Shop, tables: Tables) -> Iterator[OrderRequest]:
    """A request with its gaps filled with anything that the shop offers: it can be made if one of these can.

    Parameters
    ----------
    request
        The request; square and timbers may be left open.
    shop, tables
        The maker and the facts.
    """
    light = request.light or next(key for key in shop.lumber if key != request.dark)
    dark = request.dark or next(key for key in shop.lumber if key != light)
    filled, span = replace(request, light=light, dark=dark), shop.ranges.square
    if Filled(request.construction, shop, tables).square_mm is not None:
        yield filled
        return
    for square_mm in ((span.low_mm + span.high_mm) / 2, span.high_mm, span.low_mm):
        yield replace(filled, square_mm=square_mm)


class _Request:
    """One request, its gaps filled for a start, and the space of what may be suggested instead."""

    def __init__(
        self,
        request: OrderRequest,
        limits: Limits,
        wishes: Wishes,
        shop: Shop,
        tables: Tables,
        today: date,
    ) -> None:
        self.request, self.limits, self.wishes = request, limits, wishes
        self.shop, self.tables, self.today = shop, tables, today
        self._check()
        self.units = units_of(request, shop)
        self.budget, self.known_candidates = Budget(MISS_WORK), dict[OrderRequest, Candidate | None]()
        said = Filled(request.construction, shop, tables)
        self.given = frozenset(
            name
            for name, value in (("square", said.square_mm), ("light", request.light), ("dark", request.dark))
            if value
        )
        self.space = self._space(limits, said)
        self.asked = self._first_that_can_be_made()
        self.asked_plan = Plan(self.asked, shop, tables) if len(self.given) == 3 else None

    def _check(self) -> None:
        """Refuse what cannot be made before anything is searched."""
        why = Refused(())
        for filled in starts(self.request, self.shop, self.tables):
            try:
                complete(filled, shop=self.shop, tables=self.tables, today=self.today)
            except Refused as refused:
                why = refused
            else:
                return
        raise why

    # The space --------------------------------------------------------------------------------------------------------

    def _space(self, limits: Limits, said: Filled) -> Space:
        allowed = [key for key in self.shop.lumber if limits.species is None or key in limits.species]
        choice = pairs(self.request, self.wishes, self.tables, allowed)
        if None in (self.request.light, self.request.dark):
            choice = tuple(sorted(choice, key=lambda pair: -contrast(pair[0], pair[1], self.tables)))
        self.no_pair = not choice
        if self.no_pair:  # to have something to say how near it comes
            allowed = list(self.shop.lumber)
            choice = pairs(self.request, self.wishes, self.tables, allowed) or pairs(
                OrderRequest(), Wishes(), self.tables, allowed
            )
        named = (self.request.light or choice[0][0], self.request.dark or choice[0][1])
        base = replace(self.request, light=named[0], dark=named[1])
        top_mm = self._top_mm(said)
        base = replace(base, square_mm=top_mm)
        squares = squares_mm(self.shop, self.units, top_mm) if self.wishes.free(Field.SQUARE) else (top_mm,)
        return Space(
            base=base,
            shop=self.shop,
            tables=self.tables,
            today=self.today,
            first=self.wishes.first,
            squares_mm=squares,
            groups=(
                timbers(base, self.request, choice, self.wishes, frozenset(allowed)),
                *groups(base, self.wishes, self.shop),
            ),
        )

    def _top_mm(self, said: Filled) -> float:
        """The square that is wanted, or the largest that would still suit. [mm]"""
        span, request = self.shop.ranges.square, self.request
        largest = self.wishes.first is First.LARGE_SQUARES and self.wishes.free(Field.SQUARE)
        if said.square_mm is not None and not largest:
            return said.square_mm
        high_mm = span.high_mm
        game = self.tables.games.get(request.game) if request.game else None
        if request.pieces is not None:
            high_mm = min(high_mm, square_high_mm(request.pieces, self.tables.fit_bands))
        elif game is not None and not largest:
            low = self.wishes.first is First.LOW_PRICE
            high_mm = min(high_mm, game.square_low_mm if low else game.square_high_mm)
        return max(high_mm, span.low_mm)

    def _first_that_can_be_made(self) -> Order:
        """The request with its gaps filled and the largest square with which it can be made."""
        squares = self.space.squares_mm
        if "square" in self.given and self.wishes.first is not First.LARGE_SQUARES:
            squares = squares[:1]
        for at in sorted({0, len(squares) // 4, len(squares) // 2, len(squares) - 1}):
            try:
                return complete(
                    replace(self.space.base, square_mm=squares[at]),
                    shop=self.shop,
                    tables=self.tables,
                    today=self.today,
                )
            except Refused as refused:
                why = refused
        raise why

    def search(self) -> Search:
        """A search within the limits, its moves those that help."""
        search = Search(self.space, self.limits, Budget(WORK), self.known_candidates)
        search.space = replace(self.space, groups=tuple(self._helpful(search)))
        return search

    def _helpful(self, search: Search) -> Iterator[MoveGroup]:
        """Moves that by themselves bring the request nearer to its limits or to what comes first, and their worth."""
        here = search.look(self._at(self.space.base))
        if here is None or not search.work_out(here, 2):
            yield from self.space.groups
            return
        search.usual_total = float(here.plan.price.total)
        search.usual_worth = search.worth(here)
        search.usual_verdict = here.plan.movement.verdict
        wanted = [name for name, _ in search.misses(here)]
        for number, group in enumerate(self.space.groups):
            kept = []
            for move in group:
                then = search.look(self._at(move.make(self.space.base)))
                if then is None or not search.work_out(then, 2):
                    kept.append(move)  # perhaps beside another change
                    continue
                gain = search.worth(then) - search.usual_worth
                left_open = number == 0 and move.points == 0
                if move is group[0] or left_open or self._helps(search, wanted, here, then, gain):
                    kept.append(replace(move, gain=gain))
            yield tuple(kept)

    def _at(self, request: OrderRequest) -> OrderRequest:
        return replace(request, square_mm=self.asked.field.square_mm)

    def _helps(self, search: Search, wanted: Sequence[str], here: Candidate, then: Candidate, gain: float) -> bool:
        sizes = [name for name, _ in search.limits if name in ("outside", "outside_length", "outside_width")]
        names = [*wanted, *(name for name in sizes if name not in wanted)]
        if not names and not search.rack:
            names = ["total", "verdict"]
        if search.rack:
            return True
        for name in names:
            was, now = (MEASURES[name](each.plan) for each in (here, then))
            if (now.rank < was.rank) if isinstance(was, Verdict) else now < was:
                return True
        return gain < -1 and self.wishes.first is not First.LIKENESS

    def alone(self) -> Iterator[UnreachableLimit]:
        """Limits that nothing keeps to even by itself, so that no search can help; each with the least there is."""
        if self.no_pair:
            yield UnreachableLimit(limit="species", asked=self.limits.species, least=None)
        least = replace(self.space.base, square_mm=self.space.squares_mm[-1])
        for name, most in measurable(self.limits):
            search = self.near_search()
            candidate = search.look(least)
            if candidate is None or next(search.misses(candidate, [(name, most)]), None) is not None:
                yield from self._alone(name, most)

    # Choosing ---------------------------------------------------------------------------------------------------------

    def chosen(self, search: Search, count: int) -> Iterator[Suggestion]:
        """The best orders that differ in what a person notices, each of which brings something for its changes."""
        taken: list[tuple[frozenset[str], tuple[str, ...], Suggestion]] = []
        marks = set[tuple[Any, ...]]()
        for solved in search.ranked():
            suggestion = self.suggestion(solved.candidate.plan, solved.points)
            fields = frozenset(change.field for change in suggestion.changes)
            order = solved.candidate.order
            open_pair = () if {"light", "dark"} <= self.given else (order.field.light, order.field.dark)
            mark = (fields, *open_pair)
            # Timbers that were left open are a difference by themselves, and give up nothing.
            alike = [other for before, pair, other in taken if before <= fields and pair == open_pair]
            if mark in marks or any(not _brings(suggestion.plan, other.plan) for other in alike):
                continue
            if search.rack is not None:
                if not search.rack.proofs:
                    search.budget.close()  # there may be others
                    return
                if search.rack.lacking(solved.candidate.plan) > 0 or not search.rack.gives(solved.candidate.plan):
                    search.refused = search.rack.lacking(solved.candidate.plan) > 0  # a smaller one may do
                    continue
            marks.add(mark)
            taken.append((fields, open_pair, suggestion))
            yield suggestion
            if len(taken) == count:
                return

    def suggestion(self, plan: Plan, points: float | None = None) -> Suggestion:
        """An order with its changes told."""
        found = changes(self.asked, plan.order, self.given)
        return Suggestion(plan=plan, points=points, changes=found, gives_up=gives_up(found, plan, self.asked_plan))

    # Where nothing fits -----------------------------------------------------------------------------------------------

    def none(self, alone: tuple[UnreachableLimit, ...], *, thorough: bool) -> Suggestions:
        """What binds, what comes closest, and which single limit would do if it were relaxed."""
        closest = self._closest()
        if (
            closest is not None and not closest.missed and not alone
        ):  # found on the way, after the search had ended early
            return Suggestions(suggestions=(closest.suggestion,), thorough=False)
        return Suggestions(
            suggestions=(),
            thorough=thorough,
            alone=alone,
            closest=closest,
            relaxed=tuple(self._relaxed()) if len(alone) <= 1 else (),
        )

    def _alone(self, name: str, most: Bound) -> Iterator[UnreachableLimit]:
        near = Descent(self.near_search(), only=name).nearest()
        if near is not None and near.hard > 0:
            yield UnreachableLimit(limit=name, asked=most, least=MEASURES[name](near.candidate.plan))

    def _closest(self) -> ClosestMiss | None:
        near, asked = Descent(self.near_search()).nearest(), dict[str, Any](measurable(self.limits))
        if near is None:
            return None
        plan = near.candidate.plan
        missed = [
            MissedLimit(limit=name, asked=asked.get(name), has=MEASURES[name](plan) if name in MEASURES else None)
            for name, _ in near.misses
        ]
        if self.no_pair:
            missed.append(MissedLimit(limit="species", asked=self.limits.species, has=_timbers_of(plan)))
        if not missed and self.limits.from_stock:  # wood enough, but no plan that was tried cuts it
            missed.append(MissedLimit(limit=FROM_STOCK, asked="true", has=None))
        return ClosestMiss(suggestion=self.suggestion(plan), missed=tuple(missed))

    def _relaxed(self) -> Iterator[RelaxedLimit]:
        for name, asked in measurable(self.limits):
            near = Descent(self.near_search(), without=name).nearest()
            if near is not None and near.hard == 0 < near.soft and not self.limits.from_stock:
                yield self._would_do(name, asked, MEASURES[name](near.candidate.plan), near.candidate.plan)
        if self.limits.from_stock:
            near = Descent(self.near_search(), without=FROM_STOCK).nearest()
            if near is not None and near.hard == 0:
                yield self._would_do(FROM_STOCK, "true", "false", near.candidate.plan)
        if self.limits.species is not None:
            near = Descent(self.with_any_timber().near_search()).nearest()
            if near is not None and near.hard == 0:
                plan = near.candidate.plan
                yield self._would_do("species", self.limits.species, _timbers_of(plan), plan)

    def _would_do(self, limit: str, asked: object, needed: object, plan: Plan) -> RelaxedLimit:
        return RelaxedLimit(limit=limit, asked=asked, needed=needed, suggestion=self.suggestion(plan))

    def near_search(self) -> Search:
        """A search for the closest miss: what it looks at and what it may cost is shared."""
        return Search(self.space, self.limits, self.budget, self.known_candidates)

    def with_any_timber(self) -> "_Request":
        """The same request without its limit on timbers; the work is shared."""
        limits = replace(self.limits, species=None)
        other = _Request(self.request, limits, self.wishes, self.shop, self.tables, self.today)
        other.budget, other.known_candidates = self.budget, self.known_candidates
        return other


def _timbers_of(plan: Plan) -> tuple[str, ...]:
    return tuple(sorted(key for key, _ in plan.geometry.timber_kg))


def _brings(plan: Plan, other: Plan) -> bool:
    """Whether an order brings something for changing more than another: squares, price, date or verdict."""
    if plan.order.field.square_mm > other.order.field.square_mm * (1 + CLOSER):
        return True
    if float(plan.price.total) < float(other.price.total) * (1 - CHEAPER):
        return True
    if plan.movement.verdict.rank < other.movement.verdict.rank:
        return True
    return (other.schedule.dates.ready_on - plan.schedule.dates.ready_on).days >= SOONER_DAYS
