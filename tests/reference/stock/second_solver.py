"""A second solver: the three stages as one model for CP-SAT of OR-tools, with no patterns and no bounds of ours.

Every place where a piece may be cut is a variable. A strip, a band and a section each go by their first place, their
head, so that there is one way to write each grouping.
"""

import math
from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from ortools.sat.python import cp_model
from reference.stock.geometry import Clear, clear_lengths, gives, lies, singles

from chequerwork.domain.stock.boards import Board, Piece, Saw

FINE = 10**8  # worths are whole numbers of this part of a cent; the answer is worked out again in fractions
Pairs = dict[tuple[int, int], cp_model.IntVar]


class Place(NamedTuple):
    """Somewhere that a piece may be cut: how long and wide it lies there [units], and on which clear lengths."""

    piece: int
    long: int
    wide: int
    on: frozenset[int]


class Unfinished(Exception):
    """The least cost was not proven in time. It is not below ``bound``, nor above ``found`` where anything was."""

    def __init__(self, bound: float, found: Fraction | None) -> None:
        self.bound, self.found = bound, found
        super().__init__(f"from {bound:.4f} to {found}")


def least_cost(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, *, seconds: float = 60) -> Fraction | None:
    """What the pieces cost at least, kept leftovers taken off; None where the boards do not give them.

    Raises
    ------
    Unfinished
        It was not proven in time.
    """
    model = _Model(pieces, singles(boards), saw)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model.model)
    if status == cp_model.INFEASIBLE:
        return None
    if status != cp_model.OPTIMAL:
        found = model.cost(solver) if status == cp_model.FEASIBLE else None
        raise Unfinished(solver.best_objective_bound / (100 * FINE), found)
    return model.cost(solver)


class _Model:
    """Sizes are whole units: the largest that divides all of them."""

    def __init__(self, pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> None:
        clear = clear_lengths(boards, saw)
        self.unit = _unit(pieces, clear, saw)
        self.clear = [_in_units(each, self.unit) for each in clear]
        self.pieces, self.boards, self.saw = pieces, boards, saw
        self.places = self._find_places()
        self.model = model = cp_model.CpModel()
        self.used = [model.new_bool_var("") for _ in boards]
        self.turned = [model.new_bool_var("") for _ in boards]
        self.on = {(q, c): model.new_bool_var("") for q, place in enumerate(self.places) for c in place.on}
        self.long = [model.new_int_var(0, max((c.room for c in self.clear), default=0), "") for _ in self.places]
        self.fills = [model.new_bool_var("") for _ in self.places]  # strips that are as long as their section
        self.strip, self.band, self.section, self.strip_in = (
            self._heads(equal=equal) for equal in (True, *[False] * 3)
        )
        self.areas: list[tuple[int, cp_model.IntVar]] = []
        self._group()
        self._place_boards()
        self._fit()
        self._meet()
        model.minimize(self._cost())

    def _find_places(self) -> list[Place]:
        found = []
        for number, piece in enumerate(self.pieces):
            on: dict[tuple[int, int], set[int]] = defaultdict(set)
            for c, clear in enumerate(self.clear):
                if gives(self.boards[clear.board], piece, self.saw):
                    for long, wide in lies(piece, turned=clear.turned):
                        on[long // self.unit, wide // self.unit].add(c)
            for size, where in on.items():
                found += [Place(number, *size, frozenset(where))] * piece.count
        return sorted(found, key=lambda place: (-place.wide, -place.long, place.piece))

    def _heads(self, *, equal: bool) -> Pairs:
        places = self.places
        pairs = [(q, head) for q in range(len(places)) for head in range(q + 1)]
        return {
            (q, head): self.model.new_bool_var("")
            for q, head in pairs
            if not equal or places[q].wide == places[head].wide
        }

    def _group(self) -> None:
        """Places into strips, strips into bands, bands into sections; all of a group on one clear length."""
        add, model = self.model.add, self.model
        for q, place in enumerate(self.places):
            add(_sum(self.strip, q) == sum(self.on[q, c] for c in place.on))
            add(_sum(self.band, q) == self.strip[q, q])
            add(_sum(self.section, q) == self.band[q, q])
            add(_sum(self.strip_in, q) == self.strip[q, q])
            model.add_implication(self.fills[q], self.strip[q, q])
        for level in (self.strip, self.band, self.section):
            for (q, head), chosen in level.items():
                if q != head:
                    model.add_implication(chosen, level[head, head])
                    self._go_together(q, head, chosen)
        for (strip, band), chosen in self.band.items():
            for head in range(band + 1):
                add(self.strip_in[strip, head] == 1).only_enforce_if(chosen, self.section[band, head])

    def _go_together(self, q: int, head: int, chosen: cp_model.IntVar) -> None:
        self.model.add(self.long[q] == self.long[head]).only_enforce_if(chosen)
        for c in self.places[q].on | self.places[head].on:
            here, there = self.on.get((q, c), 0), self.on.get((head, c), 0)
            self.model.add(here == there).only_enforce_if(chosen)

    def _place_boards(self) -> None:
        """Of equal boards and equal places the first are used; a sheet is cut one way."""
        model = self.model
        for number, (one, other) in enumerate(pairwise(self.boards)):
            if one == other:
                model.add_implication(self.used[number + 1], self.used[number])
        for q, (one, other) in enumerate(pairwise(self.places)):
            if one == other:
                model.add(self.strip_sum(q + 1) <= self.strip_sum(q))
        for (_, c), here in self.on.items():
            clear = self.clear[c]
            model.add_implication(here, self.used[clear.board])
            if self.boards[clear.board].sheet:
                model.add(self.turned[clear.board] == clear.turned).only_enforce_if(here)

    def strip_sum(self, q: int) -> cp_model.LinearExprT:
        """1 where a place is cut."""
        return _sum(self.strip, q)

    def _fit(self) -> None:
        """Parts in strips, strips in bands and sections, sections in clear lengths; and what is kept."""
        taken: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for (q, c), here in self.on.items():
            taken[c].append(self._fit_groups(q, c, here))
        for c, clear in enumerate(self.clear):
            all_taken = sum(taken[c])
            self.model.add(all_taken <= clear.room + clear.kerfs[0])
            if self.saw.keep_share:
                self._keep(c, self.used[clear.board], clear.reach - all_taken, clear.width)

    def _fit_groups(self, q: int, c: int, here: cp_model.IntVar) -> cp_model.IntVar:
        """What place ``q`` heads on a clear length; the length that a section takes of it with its kerf."""
        clear, places, add = self.clear[c], self.places, self.model.add
        to_section, to_strip, to_part = clear.kerfs
        parts = sum((places[p].long + to_part) * v for p, v in _under(self.strip, q))
        add(parts - to_part <= self.long[q]).only_enforce_if(here, self.strip[q, q])
        add(parts - to_part == self.long[q]).only_enforce_if(here, self.fills[q])
        strips = sum((places[p].wide + to_strip) * v for p, v in _under(self.band, q))
        edges = 2 * clear.jointing
        add(strips - to_strip + edges <= clear.band).only_enforce_if(here, self.band[q, q])
        inside = sum((places[p].wide + to_strip) * v for p, v in _under(self.strip_in, q))
        inside += edges * sum(v for _, v in _under(self.section, q))
        head = self._both(here, self.section[q, q])
        add(inside - to_strip <= clear.width).only_enforce_if(head)
        add(self.long[q] >= clear.shortest).only_enforce_if(head)
        if self.saw.keep_share:
            self._no_longer(q, head, clear.shortest)
            bands_only = clear.width > clear.band
            self._keep(c, head, self.long[q], clear.width - inside + (0 if bands_only else clear.jointing))
        taken = self.model.new_int_var(0, clear.room + to_section, "")
        add(taken == self.long[q] + to_section).only_enforce_if(head)
        add(taken == 0).only_enforce_if(head.negated())
        return taken

    def _no_longer(self, q: int, head: cp_model.IntVar, shortest: int) -> None:
        """A section is as long as one of its strips, or as short as the machines take it."""
        model, reasons = self.model, [self.model.new_bool_var("")]
        model.add(self.long[q] == shortest).only_enforce_if(reasons[0])
        for strip, inside in _under(self.strip_in, q):
            reasons.append(model.new_bool_var(""))
            model.add_bool_and(inside, self.fills[strip]).only_enforce_if(reasons[-1])
        model.add_bool_or(reasons).only_enforce_if(head)

    def _both(self, one: cp_model.IntVar, other: cp_model.IntVar) -> cp_model.IntVar:
        both = self.model.new_bool_var("")
        self.model.add_bool_and(one, other).only_enforce_if(both)
        self.model.add_bool_or(one.negated(), other.negated(), both)
        return both

    def _keep(self, c: int, there: cp_model.IntVar, length: cp_model.LinearExprT, width: cp_model.LinearExprT) -> None:
        """A leftover, kept if that is wished and it is large enough."""
        model, clear, saw = self.model, self.clear[c], self.saw
        kept = model.new_bool_var("")
        model.add_implication(kept, there)
        if self.boards[clear.board].sheet:
            model.add(self.turned[clear.board] == clear.turned).only_enforce_if(kept)
        least = (saw.keep_length_nm // self.unit, saw.keep_width_nm // self.unit)
        sizes = []
        told = zip((length, width), least[::-1] if clear.turned else least, (clear.reach, clear.width), strict=True)
        for size, smallest, most in told:
            sizes.append(model.new_int_var(0, most, ""))
            model.add(sizes[-1] == size).only_enforce_if(kept)
            model.add(sizes[-1] >= smallest).only_enforce_if(kept)
            model.add(sizes[-1] == 0).only_enforce_if(kept.negated())
        area = model.new_int_var(0, clear.reach * clear.width, "")
        model.add_multiplication_equality(area, sizes)
        self.areas.append((c, area))

    def _meet(self) -> None:
        """Every piece that is wanted is cut, and no board has more places for a piece than give all of it."""
        for number, piece in enumerate(self.pieces):
            cut: dict[int, list[cp_model.IntVar]] = defaultdict(list)
            for (q, c), here in self.on.items():
                if self.places[q].piece == number:
                    cut[self.clear[c].board].append(here)
            stacked = {board: gives(self.boards[board], piece, self.saw) for board in cut}
            self.model.add(sum(stacked[board] * sum(here) for board, here in cut.items()) >= piece.count)
            for board, here in cut.items():
                self.model.add(sum(here) <= -(-piece.count // stacked[board]))

    def _worth(self, c: int) -> Fraction:
        """Of a square unit that is kept."""
        board = self.boards[self.clear[c].board]
        return Fraction(self.saw.keep_share * board.price) * self.unit**2 / (board.length_nm * board.width_nm)

    def _cost(self) -> cp_model.LinearExprT:
        prices = sum(int(board.price * 100) * FINE * used for board, used in zip(self.boards, self.used, strict=True))
        return prices - sum(round(self._worth(c) * 100 * FINE) * area for c, area in self.areas)

    def cost(self, solver: cp_model.CpSolver) -> Fraction:
        """The cost of what was found."""
        prices = sum(Fraction(b.price) * solver.value(used) for b, used in zip(self.boards, self.used, strict=True))
        return prices - sum((self._worth(c) * solver.value(area) for c, area in self.areas), Fraction(0))


def _sum(pairs: Pairs, q: int) -> cp_model.LinearExprT:
    return sum(chosen for (member, _), chosen in pairs.items() if member == q)


def _under(pairs: Pairs, head: int) -> list[tuple[int, cp_model.IntVar]]:
    return [(member, chosen) for (member, of), chosen in pairs.items() if of == head]


def _unit(pieces: Sequence[Piece], clear: Sequence[Clear], saw: Saw) -> int:
    sizes = [size for each in clear for size in (each.room, each.reach, each.width, *each.kerfs)]
    sizes += [size for each in clear for size in (each.jointing, each.band, each.shortest)]
    sizes += [size for piece in pieces for size in (piece.length_nm, piece.width_nm)]
    return math.gcd(*sizes, saw.keep_length_nm, saw.keep_width_nm)


def _in_units(clear: Clear, unit: int) -> Clear:
    sizes = ("room", "reach", "width", "jointing", "band", "shortest")
    return clear._replace(
        **{name: getattr(clear, name) // unit for name in sizes}, kerfs=tuple(kerf // unit for kerf in clear.kerfs)
    )
