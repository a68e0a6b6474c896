"""Many pieces: the content of a board that is worth most when every kind of piece has a value.

Dynamic programs over strips, sections and spans. A kind may come out of a board more often than it is wanted, so the
worth found is never below the true one: that is what a bound needs. Where there are too many strips, widths or ways to
look at all of them, the answer says so (``sure`` is False) and bounds nothing.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from chequerwork.domain.stock.benches import Band, Bench, Blank, Content, Kind, Section, Strip

MOST_STRIPS: Final = 600  # ways to fill a strip of one width
MOST_LENGTHS: Final = 500  # lengths of a section
MOST_WIDTHS: Final = 1500  # widths that strips side by side can use
MOST_TRIES: Final = 4000  # ways to fill a span

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Worth(NamedTuple):
    """The content of a board that is worth most, what it is worth, leftovers counted, and whether none is worth more.

    ``at_most`` is never below the worth of any content.
    """

    value: float
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
            layer = [] if alone else longer


class Values:
    """What sections are worth on boards that differ in length, width and price only, for changing values of kinds."""

    def __init__(self, benches: Sequence[Bench], kinds: Sequence[Kind]) -> None:
        like = benches[0]
        self.like, self.benches = like, benches
        longest_nm = max(span.room_nm for bench in benches for span in bench.spans)
        widest_nm = max(bench.strips_nm for bench in benches)
        one_lane = all(self._one_lane(bench) for bench in benches)
        self.strips = []
        for width_nm in sorted({blank.width_nm for blank in like.blanks}):
            blanks = [blank for blank in like.blanks if blank.width_nm == width_nm]
            # A lone strip is as well cut to sections: only short pieces need a longer one.
            alone = one_lane and all(blank.length_nm >= like.min_length_nm for blank in blanks)
            fills = _Strips(width_nm, blanks, kinds, like.kerfs_nm[2], longest_nm, alone=alone)
            self.strips.append(fills)
        self.sure = all(each.sure for each in self.strips)
        self.lengths_nm = self._lengths(longest_nm)
        self.reach = [np.searchsorted(each.lengths_nm, self.lengths_nm, side="right") - 1 for each in self.strips]
        self._make_widths(widest_nm + like.kerfs_nm[1])
        self.worths: Floats = np.zeros((0, 0))

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
        """Every width that strips side by side can use, with a kerf for each, and from which width each is reached."""
        steps = [each.width_nm + self.like.kerfs_nm[1] for each in self.strips]
        reached = {0}
        frontier = [0]
        while frontier and len(reached) <= MOST_WIDTHS:
            frontier = sorted({at + step for at in frontier for step in steps if at + step <= most_nm} - reached)
            reached.update(frontier)
        if frontier:
            self.sure = False
        widths = sorted(reached)
        place = {width: number for number, width in enumerate(widths)}
        self.widths_nm: Ints = np.array(widths, np.int64)
        self.before = [[(s, place[w - step]) for s, step in enumerate(steps) if w - step in place] for w in widths]

    def set(self, pieces: Sequence[float]) -> None:
        """Give every kind a value."""
        values, rows, self.best_fill = np.array(pieces), [], []
        for each, reach in zip(self.strips, self.reach, strict=True):
            worth = each.counts @ values
            top = np.maximum.accumulate(worth)
            fill = np.maximum.accumulate(np.where(worth == top, np.arange(len(worth)), 0))
            rows.append(np.where(reach >= 0, top[reach], -np.inf))
            self.best_fill.append(fill[reach])
        self.worths = np.full((len(self.widths_nm), len(self.lengths_nm)), -np.inf)
        self.worths[0] = 0.0
        self.last = np.zeros(self.worths.shape, np.int16)
        for width, ways in enumerate(self.before):
            if len(ways) == 1:
                strip, before = ways[0]
                self.worths[width] = self.worths[before] + rows[strip]
                self.last[width] = strip
            elif ways:
                options = np.stack([self.worths[before] + rows[strip] for strip, before in ways])
                best = options.argmax(axis=0)
                self.worths[width] = options[best, np.arange(len(best))]
                self.last[width] = np.array([strip for strip, _ in ways])[best]

    def band(self, width: int, length: int) -> Band:
        """The strips behind a worth, from the jointed edge."""
        strips = []
        while width:
            which = int(self.last[width, length])
            each = self.strips[which]
            strips.append(Strip(each.width_nm, each.fills[int(self.best_fill[which][length])]))
            used_nm = each.width_nm + self.like.kerfs_nm[1]
            width = int(np.searchsorted(self.widths_nm, self.widths_nm[width] - used_nm))
        return tuple(strips)

    def best(self, bench: Bench) -> Worth:
        """The content that is worth most on one board."""
        values, makers = _wide(self, bench) if bench.in_bands else _narrow(self, bench)
        content, total, at_most = [], 0.0, 0.0
        filled: dict[tuple[int, int], _Filled] = {}
        for span in bench.spans:
            room = (span.room_nm, span.end_nm - span.from_nm)
            if room not in filled:
                filled[room] = _fill(bench, room, self.lengths_nm, values)
            fill = filled[room]
            total += fill.value
            at_most += fill.at_most
            content.append(tuple(makers(length) for length in fill.lengths))
        return Worth(total, at_most, tuple(content))


Maker = Callable[[int], Section]  # the section behind the worth of a length, by the length's place


def _with_rest(values: Values, bench: Bench, room_nm: Ints, rest_nm: Ints) -> tuple[Floats, Ints]:
    """The best band within each room, the rest beside it counted, for every length of a section.

    Parameters
    ----------
    room_nm
        Width for strips and their kerfs. [nm]
    rest_nm
        Width that is left of the section if no strip is ripped in that room; may be less than 0. [nm]

    Returns
    -------
    tuple
        Worths, rooms by lengths, and the place of the width used behind each.
    """
    worths, lengths = values.worths.copy(), np.arange(len(values.lengths_nm))
    worths[0] = -np.inf  # a band without a strip is none
    last = np.searchsorted(values.widths_nm, room_nm, side="right") - 1
    plain = np.maximum.accumulate(worths, axis=0)
    found = plain[last]
    place = _leader(worths, plain)[last]
    keep_long, keep_wide = bench.keep_nm
    per_nm = bench.worth * values.lengths_nm * (values.lengths_nm >= keep_long)
    if bench.worth <= 0 or not per_nm.any():
        return found, place
    net = worths - np.outer(values.widths_nm, per_nm)
    best_net = np.maximum.accumulate(net, axis=0)
    leader = _leader(net, best_net)
    kept_last = np.searchsorted(values.widths_nm, np.minimum(room_nm, rest_nm - keep_wide), side="right") - 1
    with_rest = np.where(kept_last[:, None] >= 0, best_net[kept_last] + np.outer(rest_nm, per_nm), -np.inf)
    better = with_rest > found
    return np.where(better, with_rest, found), np.where(better, leader[kept_last][:, lengths], place)


def _leader(values: Floats, best: Floats) -> Ints:
    """Rows at which running maxima were reached."""
    rows = np.arange(len(values))[:, None]
    places: Ints = np.maximum.accumulate(np.where(values == best, rows, 0), axis=0)
    return places


def _narrow(values: Values, bench: Bench) -> tuple[Floats, Maker]:
    """Worth of a section of each length, and the section, on a board that the machines take whole."""
    room = np.array([bench.strips_nm + bench.kerfs_nm[1]], np.int64)
    worths, places = _with_rest(values, bench, room, np.array([bench.rest_nm(0)], np.int64))

    def make(length: int) -> Section:
        return Section(int(values.lengths_nm[length]), (values.band(int(places[0, length]), length),))

    return worths[0], make


def _wide(values: Values, bench: Bench) -> tuple[Floats, Maker]:
    """The same on a board that is first ripped to bands: the best two of them."""
    if bench.width_nm + bench.kerfs_nm[1] > 2 * (bench.band_nm + bench.kerfs_nm[1]):
        values.sure = False  # a third band would fit
    kerf_nm, both_nm = bench.kerfs_nm[1], 2 * bench.jointing_nm
    first_nm = values.widths_nm[1:] + both_nm
    first_nm = first_nm[(values.widths_nm[1:] <= bench.strips_nm + kerf_nm) & (first_nm <= bench.width_nm + kerf_nm)]
    left_nm = bench.width_nm - first_nm
    rooms = np.minimum(left_nm + kerf_nm - both_nm, bench.strips_nm + kerf_nm)
    # A second band costs its own two edges; none leaves the rest as it is.
    second, places = _with_rest(values, bench, np.maximum(rooms, 0), left_nm - both_nm)
    kept = np.outer(left_nm >= bench.keep_nm[1], values.lengths_nm >= bench.keep_nm[0])
    alone = kept * bench.worth * np.outer(left_nm, values.lengths_nm)
    use_alone = (alone >= second) | (rooms < 0)[:, None]
    totals = values.worths[1 : len(first_nm) + 1] + np.where(use_alone, alone, second)
    rows = totals.argmax(axis=0)

    def make(length: int) -> Section:
        row = int(rows[length])
        bands = [values.band(row + 1, length)]
        if not use_alone[row, length]:
            bands.append(values.band(int(places[row, length]), length))
        return Section(int(values.lengths_nm[length]), tuple(bands))

    return totals[rows, np.arange(len(rows))], make


class _Filled(NamedTuple):
    """A span filled: what that is worth, what no filling exceeds, and the places of the lengths of its sections."""

    value: float
    at_most: float
    lengths: tuple[int, ...]


def _fill(bench: Bench, room: tuple[int, int], lengths_nm: Ints, worths: Floats) -> _Filled:
    """Fill a span with sections, each any number of times; try the densest first."""
    room_nm, whole_nm = room
    kerf_nm, per_nm = bench.kerfs_nm[0], bench.worth * bench.width_nm
    lengths = _worthwhile(lengths_nm, worths, room_nm)
    items = [(int(lengths_nm[i]) + kerf_nm, float(worths[i]), i) for i in lengths]
    items.sort(key=lambda item: (-item[1] / item[0], item[0]))
    dense = [max(worth / long_nm, per_nm) for long_nm, worth, _ in items]
    best = bench.kept(whole_nm, bench.width_nm)
    chosen: tuple[int, ...] = ()
    tries, cut_off = 0, best

    def search(first: int, left_nm: int, used_nm: int, value: float, inside: tuple[int, ...]) -> None:
        nonlocal best, chosen, tries, cut_off
        for number in range(first, len(items)):
            ceiling = value + dense[number] * max(left_nm, whole_nm - used_nm)
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
    return _Filled(best, max(best, cut_off), tuple(sorted(chosen, reverse=True)))


def _worthwhile(lengths_nm: Ints, worths: Floats, room_nm: int) -> list[int]:
    """Places of lengths that fit and are worth more than every shorter one."""
    fits = int(np.searchsorted(lengths_nm, room_nm, side="right"))
    if not fits:
        return []
    before = np.concatenate(([0.0], np.maximum.accumulate(worths[:fits])[:-1]))
    return [int(place) for place in np.nonzero(worths[:fits] > before)[0]]
