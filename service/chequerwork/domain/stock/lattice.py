"""Few pieces: everything that can be cut from a board, with the least wood for each.

A board's content counts so many pieces of each kind; all counts up to the demand make a lattice, and each level of cuts
(strips, bands, sections, board) finds, for each of its points, the smallest way to put it together from the level
before. Points are whole numbers with one field of bits for each kind, so that a difference is one subtraction and a
comparison one more.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product
from typing import Final, Generic, NamedTuple, TypeVar

from chequerwork.domain.stock.benches import Bench, Blank, ClearSpan, Content, CutSection, CutStrip

T = TypeVar("T")

Point = int


class TrailStep(NamedTuple, Generic[T]):
    """The smallest way found to a point: its size, what was put in last, and the point before."""

    size_nm: int
    last: T
    before: Point


class Cutup(NamedTuple):
    """One way to cut a board: what it costs, leftovers taken off, and what comes out."""

    point: Point
    cost: float
    content: Content
    bench: Bench


class Lattice:
    """Counts of pieces, up to ``most`` of each kind."""

    def __init__(self, most: Sequence[int]) -> None:
        self.most = tuple(most)
        self.shifts: list[int] = []
        at = 0
        for count in most:
            self.shifts.append(at)
            at += count.bit_length() + 1
        self.guards = sum(
            1 << (shift + count.bit_length()) for shift, count in zip(self.shifts, self.most, strict=True)
        )

    def point(self, counts: Sequence[int]) -> Point:
        """The point of some counts."""
        return sum(count << shift for count, shift in zip(counts, self.shifts, strict=True))

    @property
    def size(self) -> int:
        """How many points there are, nothing among them."""
        return math.prod(count + 1 for count in self.most)

    def count(self, point: Point, kind: int) -> int:
        """Pieces of one kind at a point."""
        return point >> self.shifts[kind] & ((1 << self.most[kind].bit_length()) - 1)

    def counts(self, point: Point) -> tuple[int, ...]:
        """The counts of a point."""
        return tuple(self.count(point, kind) for kind in range(len(self.most)))

    @cached_property
    def points(self) -> list[tuple[Point, int]]:
        """Every point but nothing, with its first kind. A point comes after all that lie inside it."""
        every = product(*(range(count + 1) for count in self.most))
        return [(self.point(c), next(kind for kind, n in enumerate(c) if n)) for c in every if any(c)]

    def by_first(self, elements: Iterable[tuple[Point, T]]) -> list[list[tuple[Point, T]]]:
        """Elements by the first kind that they hold: whatever makes up a point, one element holds its first kind."""
        found: list[list[tuple[Point, T]]] = [[] for _ in self.most]
        for point, element in elements:
            lowest = (point & -point).bit_length() - 1
            found[max(kind for kind, shift in enumerate(self.shifts) if shift <= lowest)].append((point, element))
        return found

    def smallest(self, elements: Mapping[Point, tuple[int, T]], most_nm: int) -> dict[Point, TrailStep[T]]:
        """The least size at which elements, each any number of times, make up every point that they can within a size.

        Parameters
        ----------
        elements
            Size and thing at each point. [nm]
        most_nm
            Largest size. [nm]
        """
        first, guards = self.by_first(elements.items()), self.guards
        best: dict[Point, TrailStep[T]] = {}
        sizes: dict[Point, int] = {0: 0}
        for point, kind in self.points:
            guarded, found, least_nm = point | guards, None, most_nm + 1
            for inside, (size_nm, thing) in first[kind]:
                if (guarded - inside) & guards != guards:
                    continue
                total_nm = sizes.get(point - inside, most_nm) + size_nm
                if total_nm < least_nm:
                    least_nm = total_nm
                    found = TrailStep(total_nm, thing, point - inside)
            if found is not None:
                best[point], sizes[point] = found, least_nm
        return best


def trail(steps: Mapping[Point, TrailStep[T]], point: Point) -> Iterator[T]:
    """What makes up a point, last first."""
    while point:
        step = steps[point]
        yield step.last
        point = step.before


class SectionOf(NamedTuple):
    """A section that gives a point: its length, the width that it uses, and how."""

    length_nm: int
    used_nm: int
    section: CutSection


class Sections:
    """Every section worth cutting from boards that differ in length and width only."""

    def __init__(self, lattice: Lattice, bench: Bench, *, longest_nm: int, widest_nm: int) -> None:
        self.lattice, self.bench = lattice, bench
        self.longest_nm, self.widest_nm = longest_nm, widest_nm
        self.at: dict[Point, list[SectionOf]] = {}
        strips = self._strips()
        for length_nm in sorted({max(long_nm, bench.min_length_nm) for _, long_nm, _ in strips}):
            if length_nm <= longest_nm:
                self._add(length_nm, [each for each in strips if each[1] <= length_nm])

    def _strips(self) -> list[tuple[Point, int, CutStrip]]:
        """Point, length and strip: the shortest strip of each content and width.

        A blank that is resawn to several pieces stands for fewer as well, where no more are wanted.
        """
        found, kerf_nm = [], self.bench.kerfs_nm[2]
        for width_nm in sorted({blank.width_nm for blank in self.bench.blanks}):
            blanks = {blank.kind: blank for blank in self.bench.blanks if blank.width_nm == width_nm}
            steps: dict[Point, TrailStep[Blank]] = {}
            for point, kind in self.lattice.points:
                blank = blanks.get(kind)
                if blank is not None:
                    before = point - (min(blank.stacked, self.lattice.count(point, kind)) << self.lattice.shifts[kind])
                    reached = steps[before].size_nm if before in steps else 0
                    size_nm = reached + blank.length_nm + kerf_nm
                    if (before in steps or not before) and size_nm <= self.longest_nm + kerf_nm:
                        steps[point] = TrailStep(size_nm, blank, before)
            for point, step in steps.items():
                found.append((point, step.size_nm - kerf_nm, CutStrip(width_nm, tuple(trail(steps, point)))))
        return found

    def _add(self, length_nm: int, strips: Sequence[tuple[Point, int, CutStrip]]) -> None:
        """Sections of one length, where they use less width than shorter ones."""
        bench = self.bench
        elements: dict[Point, tuple[int, CutStrip]] = {}
        for point, _, strip in strips:
            size_nm = strip.width_nm + bench.kerfs_nm[1]
            if point not in elements or size_nm < elements[point][0]:
                elements[point] = (size_nm, strip)
        room_nm = min(self.widest_nm, bench.band_nm) - 2 * bench.jointing_nm
        steps = self.lattice.smallest(elements, room_nm + bench.kerfs_nm[1])
        if bench.in_bands:
            both_nm = 2 * bench.jointing_nm
            bands = {point: (step.size_nm + both_nm, tuple(trail(steps, point))) for point, step in steps.items()}
            wide = self.lattice.smallest(bands, self.widest_nm + bench.kerfs_nm[1])
            made = [(point, step.size_nm, tuple(trail(wide, point))) for point, step in wide.items()]
        else:
            made = [(point, step.size_nm, (tuple(trail(steps, point)),)) for point, step in steps.items()]
        for point, used_nm, bands_of in made:
            shorter = self.at.setdefault(point, [])
            if not shorter or used_nm < shorter[-1].used_nm:
                shorter.append(SectionOf(length_nm, used_nm, CutSection(length_nm, bands_of)))


class SpanCut(NamedTuple):
    """Sections of one span put together: their length with kerfs, the worth of their rests, and the way before."""

    length_nm: int
    kept: float
    last: CutSection | None
    before: "SpanCut | None"


_NOTHING = SpanCut(0, 0.0, None, None)  # no piece cut, nothing spent


def cutups(lattice: Lattice, bench: Bench, sections: Sections) -> list[Cutup]:
    """The cheapest way to cut a board for every point that it can give."""
    best: dict[Point, tuple[float, tuple[SpanCut, ...]]] = {0: (0.0, ())}
    made: dict[int, dict[Point, list[SpanCut]]] = {}
    for span in bench.spans:
        if span.room_nm not in made:
            made[span.room_nm] = _ways(lattice, bench, sections, span.room_nm)
        ends = {point: _best_end(bench, span, ways) for point, ways in made[span.room_nm].items()}
        best = _with_span(lattice, best, ends)
    return [
        Cutup(point, bench.price - kept, tuple(_sections(way) for way in ways), bench)
        for point, (kept, ways) in best.items()
        if point
    ]


def _fitting(bench: Bench, sections: Sections) -> Iterator[tuple[Point, tuple[int, float, CutSection]]]:
    """Sections that fit a board's width, with their length and kerf and the worth of the rest beside their strips."""
    kerf_nm = bench.kerfs_nm
    most_nm = bench.width_nm + kerf_nm[1] if bench.in_bands else bench.strips_nm + kerf_nm[1]
    for point, found in sections.at.items():
        for length_nm, used_nm, section in found:
            if used_nm <= most_nm:
                kept = bench.kept(length_nm, bench.rest_nm(used_nm))
                yield point, (length_nm + kerf_nm[0], kept, section)


def _ways(lattice: Lattice, bench: Bench, sections: Sections, room_nm: int) -> dict[Point, list[SpanCut]]:
    """Ways to make up every point within a span; of one point none that is longer and leaves less."""
    first, guards = lattice.by_first(_fitting(bench, sections)), lattice.guards
    most_nm = room_nm + bench.kerfs_nm[0]
    ways: dict[Point, list[SpanCut]] = {0: [_NOTHING]}
    for point, kind in lattice.points:
        guarded, found = point | guards, list[SpanCut]()
        for inside, (length_nm, kept, section) in first[kind]:
            if (guarded - inside) & guards == guards:
                for way in ways.get(point - inside, ()):
                    if way.length_nm + length_nm <= most_nm:
                        found.append(SpanCut(way.length_nm + length_nm, way.kept + kept, section, way))
        if found:
            ways[point] = _undominated(found)
    return ways


def _undominated(ways: list[SpanCut]) -> list[SpanCut]:
    ways.sort(key=lambda way: (way.length_nm, -way.kept))
    kept = [ways[0]]
    for way in ways:
        if way.kept > kept[-1].kept:
            kept.append(way)
    return kept


def _best_end(bench: Bench, span: ClearSpan, ways: list[SpanCut]) -> tuple[float, SpanCut]:
    """The way that leaves most, the end of the span counted."""
    worths = [way.kept + bench.kept(span.end_nm - span.from_nm - way.length_nm, bench.width_nm) for way in ways]
    best = max(range(len(ways)), key=worths.__getitem__)
    return worths[best], ways[best]


def _with_span(
    lattice: Lattice,
    best: Mapping[Point, tuple[float, tuple[SpanCut, ...]]],
    ends: Mapping[Point, tuple[float, SpanCut]],
) -> dict[Point, tuple[float, tuple[SpanCut, ...]]]:
    """Put the contents of one more span beside those of the spans before."""
    if best.keys() == {0}:
        return {point: (best[0][0] + kept, (*best[0][1], way)) for point, (kept, way) in ends.items()}
    guards, top = lattice.guards, lattice.point(lattice.most) | lattice.guards
    found: dict[Point, tuple[float, tuple[SpanCut, ...]]] = {}
    for before, (kept_before, ways) in best.items():
        for point, (kept, way) in ends.items():
            both = before + point
            if (top - both) & guards == guards and (both not in found or kept_before + kept > found[both][0]):
                found[both] = (kept_before + kept, (*ways, way))
    return found


def _sections(way: SpanCut) -> tuple[CutSection, ...]:
    sections = []
    step: SpanCut | None = way
    while step is not None and step.last is not None:
        sections.append(step.last)
        step = step.before
    return tuple(sections)


class Selection(NamedTuple):
    """Boards cut so far towards a point: what they cost, the last one's number and cutup, and the choice before."""

    cost: float
    number: int
    cutup: Cutup | None
    before: "Selection | None"


class Hurdle(NamedTuple):
    """What pieces of each kind are worth, and the cost of a plan that is known: a choice that cannot beat it ends."""

    pieces: Sequence[float]
    known: float


_NO_HURDLE: Final = Hurdle((), math.inf)


def choose(
    lattice: Lattice, boards: Sequence[tuple[int, Sequence[Cutup]]], hurdle: Hurdle = _NO_HURDLE
) -> dict[Point, Selection]:
    """The cheapest boards for every point, or only for those on the way to a plan below a known one.

    Parameters
    ----------
    lattice
        The demand.
    boards
        How many there are of each board, and the ways to cut one.
    hurdle
        Worths of the pieces: whatever they are, boards still to come cost at least the worth of what they give, less
        what the most favourable content of each gives above its cost.
    """
    worths = _worths(lattice, hurdle)
    gains = [copies * max([0.0, *(worths[w.point] - w.cost for w in ways)]) for copies, ways in boards]
    most = hurdle.known - worths[lattice.point(lattice.most)] + sum(gains)
    boards = [(copies, [w for w in ways if w.cost - worths[w.point] < most]) for copies, ways in boards]
    best: dict[Point, Selection] = {0: Selection(0.0, -1, None, None)}
    everywhere = sum(lattice.most)  # no plan takes more boards than pieces
    for number, (copies, ways) in enumerate(boards):
        if copies < everywhere:
            for _ in range(copies):
                best = _one_more(lattice, best, (number, ways), worths, most)
    plenty = [(number, ways) for number, (copies, ways) in enumerate(boards) if copies >= everywhere]
    return _as_many_as_needed(lattice, best, plenty) if plenty else best


def _worths(lattice: Lattice, hurdle: Hurdle) -> dict[Point, float]:
    if hurdle is _NO_HURDLE:
        return dict.fromkeys([0, *(point for point, _ in lattice.points)], 0.0)
    points = [0, *(point for point, _ in lattice.points)]
    return {p: sum(w * n for w, n in zip(hurdle.pieces, lattice.counts(p), strict=True)) for p in points}


def _one_more(
    lattice: Lattice,
    best: Mapping[Point, Selection],
    board: tuple[int, Sequence[Cutup]],
    worths: Mapping[Point, float],
    most: float,
) -> dict[Point, Selection]:
    """The same with one more board to choose; ``most`` is how far a choice may be above the worth of its pieces."""
    number, ways = board
    guards, top = lattice.guards, lattice.point(lattice.most) | lattice.guards
    found = dict(best)
    for before, choice in best.items():
        for way in ways:
            both = before + way.point
            if (top - both) & guards == guards:
                cost = choice.cost + way.cost
                known = found.get(both)
                if (known is None or cost < known.cost) and cost - worths[both] < most:
                    found[both] = Selection(cost, number, way, choice)
    return found


def _as_many_as_needed(
    lattice: Lattice, best: Mapping[Point, Selection], plenty: Sequence[tuple[int, Sequence[Cutup]]]
) -> dict[Point, Selection]:
    """The same with as many boards of each kind as it takes; only the cheapest way to each point can matter."""
    cheapest: dict[Point, tuple[int, Cutup]] = {}
    for number, ways in plenty:
        for way in ways:
            if way.point not in cheapest or way.cost < cheapest[way.point][1].cost:
                cheapest[way.point] = (number, way)
    first, guards = lattice.by_first(cheapest.items()), lattice.guards
    found = dict(best)
    for point, kind in lattice.points:
        guarded, least = point | guards, found.get(point)
        # Where boards were chosen before, they may hold the first kind already.
        for inside, (number, way) in first[kind] if len(best) == 1 else cheapest.items():
            if (guarded - inside) & guards == guards and (before := found.get(point - inside)) is not None:
                cost = before.cost + way.cost
                if least is None or cost < least.cost:
                    least = Selection(cost, number, way, before)
        if least is not None:
            found[point] = least
    return found
