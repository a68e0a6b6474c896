"""Tiny cases by trying everything: every way to share the pieces out, to boards, sections, bands and strips.

Slow and plain. It shares the rules with the second solver (``geometry``) and nothing else.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cache
from itertools import chain, pairwise, product
from typing import NamedTuple

from reference.stock.geometry import Clear, clear_lengths, gives, lies, singles

from chequerwork.domain.stock.boards import Board, Piece, Saw

Load = tuple[int, ...]  # pieces, by their places in the list; a piece stands once for each place it is cut
Size = tuple[int, int]  # along a clear length and across


class Ripped(NamedTuple):
    """A section: its length, and the width beside its strips."""

    long: int
    beside: int


def least_cost_by_trial(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> Fraction | None:
    """What the pieces cost at least, kept leftovers taken off; None where the boards do not give them."""
    alone = singles(boards)
    costs = [_costs(number, pieces, alone, saw) for number in range(len(alone))]
    wanted = tuple(piece.count for piece in pieces)
    found = {tuple(0 for _ in pieces): Fraction(0)}
    for loads in costs:
        more: dict[tuple[int, ...], Fraction] = {}
        for (before, spent), (given, cost) in product(found.items(), loads.items()):
            both = tuple(min(a + b, most) for a, b, most in zip(before, given, wanted, strict=True))
            more[both] = min(spent + cost, more.get(both, spent + cost))
        found = more
    return found.get(wanted)


def _costs(number: int, pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> dict[tuple[int, ...], Fraction]:
    """What one board costs for everything that it can give; nothing costs nothing."""
    board = boards[number]
    each = [gives(board, piece, saw) for piece in pieces]
    found = {tuple(0 for _ in pieces): Fraction(0)}
    most = [-(-piece.count // stacked) if stacked else 0 for piece, stacked in zip(pieces, each, strict=True)]
    ways = _ways(number, pieces, boards, saw)
    for places in product(*(range(count + 1) for count in most)):
        load = tuple(piece for piece, count in enumerate(places) for _ in range(count))
        worths = [worth for way in ways if (worth := _best_worth(load, way)) is not None]
        if load and worths:
            given = tuple(count * stacked for count, stacked in zip(places, each, strict=True))
            found[given] = Fraction(board.price) - max(worths)
    return found


class _Span:
    """One clear length of a board, and everything that may be done with it."""

    def __init__(self, clear: Clear, board: Board, pieces: Sequence[Piece], saw: Saw) -> None:
        self.clear, self.pieces = clear, pieces
        self.least = (saw.keep_length_nm, saw.keep_width_nm)[:: -1 if clear.turned else 1]
        self.worth = Fraction(saw.keep_share * board.price) / (board.length_nm * board.width_nm)
        self.best = cache(self._best)
        self.sections = cache(self._sections)

    def kept(self, long: int, wide: int) -> Fraction:
        """Worth of a leftover."""
        large = long >= self.least[0] and wide >= self.least[1]
        return self.worth * long * wide if large else Fraction(0)

    def _best(self, load: Load) -> Fraction | None:
        """Most worth that is left where a load is cut here."""
        ways = (product(*(self.sections(group) for group in groups)) for groups in _partitions(load))
        ends = ((sections, self._end(sections)) for sections in chain.from_iterable(ways))
        return max((self._left(sections, end) for sections, end in ends if end >= self._past), default=None)

    @property
    def _past(self) -> int:
        """Where the parts of the last section just fit, the kerf behind it ends so much before the end of the wood."""
        return self.clear.reach - self.clear.room - self.clear.kerfs[0]

    def _end(self, sections: Sequence[Ripped]) -> int:
        """Length left behind the last section and its kerf; less than 0 where the kerf runs off the wood."""
        return self.clear.reach - sum(each.long + self.clear.kerfs[0] for each in sections)

    def _left(self, sections: Sequence[Ripped], end: int) -> Fraction:
        beside = (self.kept(each.long, each.beside) for each in sections)
        return self.kept(end, self.clear.width) + sum(beside, Fraction(0))

    def _sections(self, load: Load) -> list[Ripped]:
        """Every way to rip one section for a load."""
        found = set()
        for sizes in product(*(lies(self.pieces[piece], turned=self.clear.turned) for piece in load)):
            for bands in _partitions(sizes):
                for ripped in product(*(list(self._bands(band)) for band in bands)):
                    found.update(self._section(ripped))
        return sorted(found)

    def _section(self, bands: Sequence[Size]) -> Iterator[Ripped]:
        clear, kerf = self.clear, self.clear.kerfs[1]
        used = sum(wide + kerf for _, wide in bands)
        long = max(clear.shortest, *(long for long, _ in bands))
        if used - kerf <= clear.width and long <= clear.room:
            straight = clear.jointing if clear.width <= clear.band else 0  # the last band reaches to the far edge
            yield Ripped(long, clear.width - used + straight)

    def _bands(self, sizes: Sequence[Size]) -> Iterator[Size]:
        """Every way to rip one band for some sizes: the length needed, and the width with both rough edges."""
        kerf = self.clear.kerfs
        for strips in _partitions(tuple(sizes)):
            if all(one[1] == other[1] for strip in strips for one, other in pairwise(strip)):
                long = max(sum(size[0] + kerf[2] for size in strip) - kerf[2] for strip in strips)
                wide = sum(strip[0][1] + kerf[1] for strip in strips) - kerf[1] + 2 * self.clear.jointing
                if wide <= self.clear.band:
                    yield long, wide


def _ways(number: int, pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> list[list[_Span]]:
    """The clear lengths of a board; of a sheet either of the two."""
    clear = [each for each in clear_lengths(boards, saw) if each.board == number]
    spans = [_Span(each, boards[number], pieces, saw) for each in clear]
    return [[span] for span in spans] if boards[number].sheet else [spans]


def _best_worth(load: Load, spans: Sequence[_Span]) -> Fraction | None:
    """Most worth that is left of a board where it gives a load; None where it does not."""
    worths = []
    for where in product(range(len(spans)), repeat=len(load)):
        shares = [tuple(sorted(p for p, at in zip(load, where, strict=True) if at == s)) for s in range(len(spans))]
        left = [span.best(share) for span, share in zip(spans, shares, strict=True)]
        if None not in left:
            worths.append(sum(left, Fraction(0)))
    return max(worths, default=None)


def _partitions(things: tuple) -> Iterator[list[tuple]]:
    """Every way to put things into groups."""
    if not things:
        yield []
        return
    first, others = things[0], things[1:]
    for groups in _partitions(others):
        yield [(first,), *groups]
        for number, group in enumerate(groups):
            yield [*groups[:number], (first, *group), *groups[number + 1 :]]
