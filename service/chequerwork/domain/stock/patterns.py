"""Many pieces: the content of a board that is worth most when every kind of piece has a value.

Dynamic programs over strips, sections and spans. A kind may come out of a board more often than it is wanted, so the
worth found is never below the true one: that is what a bound needs. Where there are too many strips, widths or ways to
look at all of them, the answer says so (``sure`` is False) and bounds nothing.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from chequerwork.domain.stock.benches import Band, Bench, Blank, Content, CutSection, CutStrip, Kind

MOST_STRIPS: Final = 600  # ways to fill a strip of one width
MOST_LENGTHS: Final = 500  # lengths of a section
MOST_WIDTHS: Final = 1500  # widths that strips side by side can use
MOST_TRIES: Final = 1500  # ways to fill a span
MOST_SECTIONS: Final = 120  # in a span that is filled with more than one kind
TRY: Final = 10_000  # steps of work that a way to fill a span takes

MOST_CELLS: Final = 30_000_000  # remembered of one round, some bytes each
TOO_MUCH: Final = 10**12  # work that no budget has

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Worth(NamedTuple):
    """A content of a board that is worth much, and what no content is worth more than, leftovers counted."""

    at_most: float
    content: Content


class _Strips:
    """Ways to fill strips of one width, the shorter first."""

    def __init__(
        self,
        width_nm: int,
        blanks: Sequence[Blank],
        kinds: Sequence[Kind],
        kerf_nm: int,
        most_nm: int,
        *,
        alone: bool,
    ) -> None:
        self.width_nm, self.sure = width_nm, True
        self.kinds = sorted({blank.kind for blank in blanks})
        ways = list(self._ways(blanks, kinds, kerf_nm, most_nm, alone=alone))
        ways.sort(key=lambda way: (way[0], [blank.kind for blank in way[1]]))
        self.fills = [way[1] for way in ways]
        self.lengths_nm: Ints = np.array([way[0] for way in ways], np.int64)
        self.counts: Floats = np.zeros((len(ways), len(kinds)))
        for row, fill in enumerate(self.fills):
            for blank in fill:
                self.counts[row, blank.kind] += blank.stacked

    def _ways(
        self, blanks: Sequence[Blank], kinds: Sequence[Kind], kerf_nm: int, most_nm: int, *, alone: bool
    ) -> Iterator[tuple[int, tuple[Blank, ...]]]:
        """Length and blanks of every fill, breadth first: where there are too many, the short ones are kept."""
        found = 0
        layer: list[tuple[int, int, tuple[Blank, ...]]] = [(0, 0, ())]
        while layer and self.sure:
            longer: list[tuple[int, int, tuple[Blank, ...]]] = []
            for first, length_nm, fill in layer:
                for number in range(first, len(blanks)):
                    blank = blanks[number]
                    reach_nm = length_nm + blank.length_nm
                    used = sum(each.stacked for each in fill if each is blank)
                    if reach_nm <= most_nm and used < kinds[blank.kind].wanted:
                        longer.append((number, reach_nm + kerf_nm, (*fill, blank)))
                        yield reach_nm, (*fill, blank)
                        found += 1
                if found > MOST_STRIPS:
                    self.sure = False
                    return
            layer = [] if alone else longer


class Values:
    """What sections are worth on boards that differ in length, width and price only, for changing values of kinds."""

    def __init__(self, benches: Sequence[Bench], kinds: Sequence[Kind]) -> None:
        like = benches[0]
        self.like, self.benches = like, benches
        longest_nm = max(span.room_nm for bench in benches for span in bench.spans)
        # Three bands and more are only bounded: as one that is as wide as the board.
        widest_nm = max(bench.width_nm if bench.in_bands else bench.strips_nm for bench in benches)
        one_lane = all(self._one_lane(bench) and not bench.worth for bench in benches)
        self.strips = []
        for width_nm in sorted({blank.width_nm for blank in like.blanks}):
            blanks = [blank for blank in like.blanks if blank.width_nm == width_nm]
            # A lone strip is as well cut to sections: only short pieces need a longer one, and a rest that is kept.
            alone = one_lane and all(blank.length_nm >= like.min_length_nm for blank in blanks)
            fills = _Strips(width_nm, blanks, kinds, like.kerfs_nm[2], longest_nm, alone=alone)
            self.strips.append(fills)
        self.kinds = kinds
        self.wanted: Floats = np.array([kind.wanted for kind in kinds], float)
        self.sure = all(each.sure for each in self.strips)
        self.lengths_nm = self._lengths(longest_nm)
        self.reach = [np.searchsorted(each.lengths_nm, self.lengths_nm, side="right") - 1 for each in self.strips]
        self._make_widths(widest_nm + like.kerfs_nm[1])
        self.worths: Floats = np.zeros((0, 0))
        self.tries = 0  # ways to fill spans gone through so far

    @staticmethod
    def _one_lane(bench: Bench) -> bool:
        """Whether no two strips fit beside each other."""
        least_nm = min(blank.width_nm for blank in bench.blanks)
        return not bench.in_bands and bench.strips_nm < 2 * least_nm + bench.kerfs_nm[1]

    def _lengths(self, longest_nm: int) -> Ints:
        """Lengths of sections worth cutting: those of the strips, the shortest that the machines take, no less."""
        every = np.unique(np.maximum(np.concatenate([s.lengths_nm for s in self.strips]), self.like.min_length_nm))
        every = every[every <= longest_nm]
        if len(every) > MOST_LENGTHS:
            self.sure = False
            every = every[:: len(every) // MOST_LENGTHS + 1]
        return every

    def _make_widths(self, most_nm: int) -> None:
        """Every width that strips side by side can use, a kerf for each, width by width as many as are wanted."""
        reached: Ints = np.zeros(1, np.int64)
        layers: list[tuple[Ints, Ints]] = []  # widths before a layer, and what one, two, ... strips add
        for each in self.strips:
            step_nm = each.width_nm + self.like.kerfs_nm[1]
            most = min(int(sum(self.wanted[kind] for kind in each.kinds)), most_nm // step_nm)
            adds = step_nm * np.arange(1, most + 1, dtype=np.int64)
            layers.append((reached, adds))
            wider = (reached[:, None] + adds).ravel()
            reached = np.unique(np.concatenate([reached, wider[wider <= most_nm]]))
            if len(reached) > MOST_WIDTHS:
                self.sure = False
                reached = reached[:: len(reached) // MOST_WIDTHS + 1]
        self.widths_nm = reached
        self.layers = [[self._moves(before, int(add)) for add in adds] for before, adds in layers]

    def _moves(self, before: Ints, add_nm: int) -> tuple[Ints, Ints]:
        """Rows from which, and to which, strips of a width together lead."""
        start, end = np.searchsorted(self.widths_nm, before), np.searchsorted(self.widths_nm, before + add_nm)
        last = len(self.widths_nm) - 1
        there = self.widths_nm[np.minimum(start, last)] == before
        there &= self.widths_nm[np.minimum(end, last)] == before + add_nm
        return start[there], end[there]

    @property
    def work(self) -> int:
        """About how many numbers are gone through to find the best content of every board once."""
        cells = len(self.widths_nm) * len(self.lengths_nm)
        if cells * len(self.strips) > MOST_CELLS:
            return TOO_MUCH
        return cells * (8 * sum(map(len, self.layers)) + 3 * len(self.benches))

    def set(self, pieces: Sequence[float]) -> None:
        """Give every kind a value."""
        values = np.array(pieces)
        self.all_worth = float(values @ self.wanted)
        self._running: dict[bytes, tuple[Floats, Ints]] = {}
        self.best_fill: list[Ints] = []
        self.worths = np.full((len(self.widths_nm), len(self.lengths_nm)), -np.inf)
        self.worths[0] = 0.0
        self.chosen: list[NDArray[np.int16]] = []
        for each, reach, moves in zip(self.strips, self.reach, self.layers, strict=True):
            worth = each.counts @ values
            top = np.maximum.accumulate(worth)
            fill = np.maximum.accumulate(np.where(worth == top, np.arange(len(worth)), 0))
            self.best_fill.append(fill[reach])
            one = np.where(reach >= 0, top[reach], -np.inf)
            # However many strips there are, no more pieces come out of them than are wanted.
            all_worth = float(sum(values[kind] * self.wanted[kind] for kind in each.kinds))
            self._add_layer(moves, one, all_worth)

    def _add_layer(self, moves: Sequence[tuple[Ints, Ints]], one: Floats, all_worth: float) -> None:
        """Put strips of one width, as many as pay, beside those of the widths before."""
        before, chosen = self.worths, np.zeros(self.worths.shape, np.int16)
        self.worths = before.copy()
        for count, (start, end) in enumerate(moves, start=1):
            wider = before[start] + np.minimum(count * one, all_worth)
            better = wider > self.worths[end]
            self.worths[end] = np.where(better, wider, self.worths[end])
            chosen[end] = np.where(better, count, chosen[end])
        self.chosen.append(chosen)

    def rows(self, most_nm: Ints) -> Ints:
        """The last place of a width within each of some; -1 where there is none. [nm]"""
        return np.searchsorted(self.widths_nm, most_nm, side="right") - 1

    def up_to(self, per_nm: Floats) -> tuple[Floats, Ints]:
        """The best worth of any width up to each, less ``per_nm`` for its width, and the place of that width."""
        key = per_nm.tobytes()
        if key not in self._running:
            net = self.worths - np.outer(self.widths_nm, per_nm)
            net[0] = -np.inf  # a band without a strip is none
            best = np.maximum.accumulate(net, axis=0)
            rows = np.arange(len(net))[:, None]
            self._running[key] = (best, np.maximum.accumulate(np.where(net == best, rows, 0), axis=0))
        return self._running[key]

    def band(self, width: int, length: int) -> Band:
        """The strips behind a worth, from the jointed edge."""
        strips: list[CutStrip] = []
        for number in range(len(self.strips) - 1, -1, -1):
            each, count = self.strips[number], int(self.chosen[number][width, length])
            if count:
                fill = each.fills[int(self.best_fill[number][length])]
                strips += [CutStrip(each.width_nm, fill)] * count
                used_nm = count * (each.width_nm + self.like.kerfs_nm[1])
                width = int(np.searchsorted(self.widths_nm, self.widths_nm[width] - used_nm))
        return tuple(strips)

    def section(self, length: int, widths: Sequence[int]) -> CutSection:
        """A section of bands of these widths."""
        return CutSection(int(self.lengths_nm[length]), tuple(self.band(width, length) for width in widths))

    def best(self, bench: Bench) -> Worth:
        """The content that is worth most on one board."""
        values, makers = _wide(self, bench) if bench.in_bands else _narrow(self, bench)
        content, at_most, whole = [], 0.0, self.all_worth
        filled: dict[tuple[int, int], _Filled] = {}
        for span in bench.spans:
            room = (span.room_nm, span.end_nm - span.from_nm)
            if room not in filled:
                filled[room] = _fill(bench, room, self.lengths_nm, values)
                self.tries += filled[room].tries
            fill = filled[room]
            at_most += fill.at_most
            whole += bench.kept(room[1], bench.width_nm)
            content.append(tuple(makers(length) for length in fill.lengths))
        return Worth(min(at_most, whole), tuple(content))


Maker = Callable[[int], CutSection]  # the section behind the worth of a length, by the length's place


def _kept_per_nm(values: Values, bench: Bench) -> Floats:
    """Worth of a nanometre of width that stays beside the strips of a section of each length."""
    long_enough = values.lengths_nm >= bench.keep_nm[0]
    return np.asarray(bench.worth * values.lengths_nm * long_enough, np.float64)


def _narrow(values: Values, bench: Bench) -> tuple[Floats, Maker]:
    """Worth of a section of each length, and the section, on a board that the machines take whole."""
    rest_nm = bench.rest_nm(0)
    ends = values.rows(np.array([bench.strips_nm + bench.kerfs_nm[1], rest_nm - bench.keep_nm[1]], np.int64))
    last, kept_last = int(ends[0]), int(min(ends))
    rows = values.worths[1 : last + 1].argmax(axis=0) + 1
    every = np.arange(len(rows))
    worths: Floats = np.array(values.worths[rows, every], np.float64)
    per_nm = _kept_per_nm(values, bench)
    if kept_last >= 1 and per_nm.any():
        net = values.worths[1 : kept_last + 1] - np.outer(values.widths_nm[1 : kept_last + 1], per_nm)
        kept_rows = net.argmax(axis=0) + 1
        with_rest = net[kept_rows - 1, every] + rest_nm * per_nm
        rows = np.where(with_rest > worths, kept_rows, rows)
        worths = np.array(np.where(with_rest > worths, with_rest, worths), np.float64)

    def make(length: int) -> CutSection:
        return values.section(length, [int(rows[length])])

    return worths, make


def _wide(values: Values, bench: Bench) -> tuple[Floats, Maker]:
    """The same on a board that is first ripped to bands: the best two of them."""
    kerf_nm, both_nm = bench.kerfs_nm[1], 2 * bench.jointing_nm
    first_nm = values.widths_nm[1:] + both_nm
    first_nm = first_nm[(values.widths_nm[1:] <= bench.strips_nm + kerf_nm) & (first_nm <= bench.width_nm + kerf_nm)]
    left_nm = bench.width_nm - first_nm
    rooms = np.minimum(left_nm + kerf_nm - both_nm, bench.strips_nm + kerf_nm)
    # A second band costs its own two edges; none leaves the rest as it is.
    second, places = _second(values, bench, np.maximum(rooms, 0), left_nm - both_nm)
    kept = np.outer(left_nm >= bench.keep_nm[1], values.lengths_nm >= bench.keep_nm[0])
    alone = kept * bench.worth * np.outer(left_nm, values.lengths_nm)
    use_alone = (alone >= second) | (rooms < 0)[:, None]
    totals = values.worths[1 : len(first_nm) + 1] + np.where(use_alone, alone, second)
    rows = totals.argmax(axis=0)

    def make(length: int) -> CutSection:
        row = int(rows[length])
        widths = [row + 1] if use_alone[row, length] else [row + 1, int(places[row, length])]
        return values.section(length, widths)

    return np.maximum(totals[rows, np.arange(len(rows))], _loose(values, bench)), make


def _loose(values: Values, bench: Bench) -> Floats:
    """What three bands or more of a section of each length are not worth more than: their edges are counted only."""
    left_nm = bench.width_nm - 6 * bench.jointing_nm
    last = values.rows(np.array([left_nm + bench.kerfs_nm[1], left_nm - bench.keep_nm[1]], np.int64))
    plain, _ = values.up_to(np.zeros(len(values.lengths_nm)))
    found: Floats = plain[max(int(last[0]), 0)]
    per_nm = _kept_per_nm(values, bench)
    if last[1] < 1 or not per_nm.any():
        return found
    net, _ = values.up_to(per_nm)
    return np.asarray(np.maximum(found, net[int(last[1])] + left_nm * per_nm), np.float64)


def _second(values: Values, bench: Bench, rooms_nm: Ints, rests_nm: Ints) -> tuple[Floats, Ints]:
    """The best second band within each room, the rest beside it counted, and the place of the width that it uses.

    Parameters
    ----------
    rooms_nm
        Width for its strips and their kerfs. [nm]
    rests_nm
        Width that would be left if it had none; may be less than 0. [nm]
    """
    plain, leader = values.up_to(np.zeros(len(values.lengths_nm)))
    last = values.rows(rooms_nm)
    found, place = plain[last], leader[last]
    per_nm = _kept_per_nm(values, bench)
    if not per_nm.any():
        return found, place
    net, net_leader = values.up_to(per_nm)
    kept_last = values.rows(np.minimum(rooms_nm, rests_nm - bench.keep_nm[1]))
    with_rest = net[kept_last] + np.outer(rests_nm, per_nm)
    better = (kept_last >= 0)[:, None] & (with_rest > found)
    return np.where(better, with_rest, found), np.where(better, net_leader[kept_last], place)


class _Filled(NamedTuple):
    """A span filled: what no filling exceeds, the places of the lengths of its sections, and the ways tried."""

    at_most: float
    lengths: tuple[int, ...]
    tries: int


def _fill(bench: Bench, room: tuple[int, int], lengths_nm: Ints, worths: Floats) -> _Filled:
    """Fill a span with sections, each any number of times; try the densest first."""
    room_nm, whole_nm = room
    kerf_nm, per_nm = bench.kerfs_nm[0], bench.worth * bench.width_nm
    lengths = _worthwhile(lengths_nm, worths, room_nm)
    items = [(int(lengths_nm[i]) + kerf_nm, float(worths[i]), i) for i in lengths]
    items.sort(key=lambda item: (-item[1] / item[0], item[0]))
    dense = [max(worth / long_nm - per_nm, 0.0) for long_nm, worth, _ in items]  # above what is kept anyway
    best = bench.kept(whole_nm, bench.width_nm)
    if items and (room_nm + kerf_nm) // min(item[0] for item in items) > MOST_SECTIONS:
        alike = (items[0][2],) * ((room_nm + kerf_nm) // items[0][0])
        return _Filled(dense[0] * (room_nm + kerf_nm) + per_nm * whole_nm, alike, 1)
    chosen: tuple[int, ...] = ()
    tries, cut_off = 0, best

    def search(first: int, left_nm: int, used_nm: int, value: float, inside: tuple[int, ...]) -> None:
        nonlocal best, chosen, tries, cut_off
        for number in range(first, len(items)):
            ceiling = value + dense[number] * left_nm + per_nm * max(0, whole_nm - used_nm)
            if ceiling <= best + 1e-12:
                return
            if tries >= MOST_TRIES:
                cut_off = max(cut_off, ceiling)
                return
            long_nm, worth, place = items[number]
            if long_nm <= left_nm:
                tries += 1
                now, reach_nm = value + worth, used_nm + long_nm
                total = now + bench.kept(whole_nm - reach_nm, bench.width_nm)
                if total > best:
                    best, chosen = total, (*inside, place)
                search(number, left_nm - long_nm, reach_nm, now, (*inside, place))

    search(0, room_nm + kerf_nm, 0, 0.0, ())
    return _Filled(max(best, cut_off), tuple(sorted(chosen, reverse=True)), tries)


def _worthwhile(lengths_nm: Ints, worths: Floats, room_nm: int) -> list[int]:
    """Places of lengths that fit and are worth more than every shorter one."""
    fits = int(np.searchsorted(lengths_nm, room_nm, side="right"))
    if not fits:
        return []
    before = np.concatenate(([0.0], np.maximum.accumulate(worths[:fits])[:-1]))
    return [int(place) for place in np.nonzero(worths[:fits] > before)[0]]
