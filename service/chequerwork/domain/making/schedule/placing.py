"""Steps put in their places: hands in the shop's hours, glue and finish round the clock, clamps as far as they go.

Every step in turn, the one with the longest way still to go first, takes the first place that its predecessors, a
pair of hands and the clamps leave; a gap that others left is used.
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from typing import NamedTuple

from chequerwork.domain.making.schedule.network import Network
from chequerwork.domain.making.schedule.working import WorkingTime


class Resources(NamedTuple):
    """What steps share. ``need`` of a pool, such as clamps, is per step; ``size`` is what the shop has of it."""

    hands: int
    coats_a_day: int
    pools: tuple["Pool", ...] = ()


class Pool(NamedTuple):
    """Equal things that glue-ups hold until they may be taken off."""

    size: int
    need: tuple[int, ...]  # of every step


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where every step of a network lies, in working time from the first minute of ``time`` on. [min]"""

    network: Network
    means: Resources
    time: WorkingTime
    minutes: tuple[int, ...]  # hands-on
    begins: tuple[int, ...]
    ends: tuple[int, ...]
    ready: tuple[int, ...]  # when what waits for it may begin
    hand: tuple[int, ...]  # which pair of hands, from 1; 0 where none is needed

    @property
    def fits(self) -> bool:
        """Whether the span of working time was long enough."""
        return max(self.ends) <= self.time.total_min

    def begins_at(self, step: int) -> int:
        """Moment at which a step begins, since 1970-01-01T00:00Z. [min]"""
        return self.time.begins(self.begins[step])

    def ends_at(self, step: int) -> int:
        """Moment at which a step's hands-on time ends, since 1970-01-01T00:00Z. [min]"""
        return end_of(self.time, self.begins[step], self.minutes[step])


def end_of(time: WorkingTime, begin: int, minutes: int) -> int:
    """Moment at which so many minutes of work are done, since 1970-01-01T00:00Z. [min]"""
    return time.ends(begin + minutes) if minutes else time.begins(begin)


def place(network: Network, minutes: list[int], time: WorkingTime, start: int, means: Resources) -> Placement:
    """Put every step in its place.

    Parameters
    ----------
    network
        Steps and what each waits for.
    minutes
        Hands-on, of every step.
    time
        The shop's working time. Where it ends too soon, the placement does not fit.
    start
        Nothing begins before. [min] of working time.
    means
        Hands, coats a day, pools of clamps.

    References
    ----------
    House: serial schedule generation with the longest remaining way first; waits count in it like work.
    """
    before, waits, coats = network.before, network.waits_min, network.coats
    count = len(minutes)
    begins, ends, ready, hand = [0] * count, [0] * count, [start] * count, [0] * count
    timelines = [_Timeline() for _ in range(means.hands)]
    stores = [(_Store(pool.size), pool.need) for pool in means.pools]
    coated: list[int] = []
    for step in by_length(network, minutes):
        earliest = start
        for other in before[step]:
            if ready[other] > earliest:  # noqa: PLR1730 - here and below, max is 2 % of a work plan
                earliest = ready[other]
        if coats[step] > means.coats_a_day:
            earliest = max(earliest, time.next_day(coated[-means.coats_a_day]))
        need = minutes[step]
        begin = earliest
        if need:
            at_once = time if network.at_once[step] else None
            begin, used = _free(timelines, earliest, need, at_once)
            if stores:
                if network.follows[step]:  # where its own earlier round found none, it finds no place either
                    begin = max(begin, begins[step - 1])
                begin, used = _clamped(timelines, stores, time, (step, begin, need, network.clamps_min[step]), at_once)
            hand[step] = used + 1
            timelines[used].take(begin, begin + need)
        if coats[step]:
            coated.append(begin)
        begins[step] = begin
        ends[step] = ready[step] = begin + need
        if waits[step]:
            ready[step] = time.worked_by(end_of(time, begin, need) + waits[step])
    return Placement(
        network=network,
        means=means,
        time=time,
        minutes=tuple(minutes),
        begins=tuple(begins),
        ends=tuple(ends),
        ready=tuple(ready),
        hand=tuple(hand),
    )


def by_length(network: Network, minutes: list[int]) -> list[int]:
    """Steps by the longest way from their begin to the end of the build, hands and waits, longest first."""
    waits, behind, follows = network.waits_min, network.behind, network.follows
    way = [0] * (len(minutes) + 1)
    followed = False  # whether the step looked at last is a later round of the one before it
    for step in range(len(minutes) - 1, -1, -1):
        longest = 0
        for other in behind[step]:
            if way[other] > longest:  # noqa: PLR1730
                longest = way[other]
        way[step] = minutes[step] + waits[step] + longest
        if followed:  # rounds go by their numbers, also where one is a minute longer
            way[step] = max(way[step], way[step + 1])
        followed = follows[step]
    return sorted(range(len(minutes)), key=way.__getitem__, reverse=True)


class _Timeline:
    """One pair of hands: the spans in which it is busy, in order, neighbours as one."""

    __slots__ = ("begins", "ends")

    def __init__(self) -> None:
        self.begins: list[int] = []
        self.ends: list[int] = []

    def first(self, earliest: int, need: int) -> int:
        """First place from ``earliest`` on where so many minutes are free."""
        ends = self.ends
        if not ends or earliest >= ends[-1]:
            return earliest
        index = bisect_right(ends, earliest)  # spans before it are over
        for begin in self.begins[index:]:
            if earliest + need <= begin:
                return earliest
            earliest = ends[index]
            index += 1
        return earliest

    def take(self, begin: int, end: int) -> None:
        """Make a free span busy."""
        index = bisect_left(self.begins, begin)
        joins = index > 0 and self.ends[index - 1] == begin
        meets = index < len(self.begins) and self.begins[index] == end
        if joins and meets:
            self.ends[index - 1] = self.ends[index]
            del self.begins[index], self.ends[index]
        elif joins:
            self.ends[index - 1] = end
        elif meets:
            self.begins[index] = begin
        else:
            self.begins.insert(index, begin)
            self.ends.insert(index, end)


def _first(timelines: list[_Timeline], earliest: int, need: int) -> tuple[int, int]:
    """First place on any pair of hands, the first pair where two are equal."""
    begin, used = timelines[0].first(earliest, need), 0
    for index in range(1, len(timelines)):
        found = timelines[index].first(earliest, need)
        if found < begin:
            begin, used = found, index
    return begin, used


def _free(timelines: list[_Timeline], earliest: int, need: int, at_once: WorkingTime | None) -> tuple[int, int]:
    """First place on any pair of hands; where it must be done at once, one that closing time does not interrupt."""
    begin, used = _first(timelines, earliest, need)
    if at_once is not None:
        while (later := at_once.unbroken(begin, need)) > begin:
            begin, used = _first(timelines, later, need)
    return begin, used


class _Store:
    """What is held of a pool over time: from each moment on so much, until the next."""

    __slots__ = ("held", "moments", "size")

    def __init__(self, size: int) -> None:
        self.size = size
        self.moments: list[int] = [0]
        self.held: list[int] = [0]

    def free_from(self, begin: int, end: int, least: int, need: int) -> int:
        """``begin`` where so much is free for the whole span; else the next moment with so much free for ``least``."""
        room, moments, held = self.size - need, self.moments, self.held
        index = bisect_right(moments, begin) - 1
        while index < len(moments) and moments[index] < end:
            if held[index] > room:
                break
            index += 1
        else:
            return begin
        since = -1
        while True:  # nothing is held after the last moment
            if held[index] > room:
                since = -1
            else:
                since = moments[index] if since < 0 else since
                if index + 1 == len(moments) or moments[index + 1] - since >= least:
                    return since
            index += 1

    def hold(self, begin: int, end: int, need: int) -> None:
        """Hold so much for a span."""
        first, last = self._split(begin), self._split(end)
        for index in range(first, last):
            self.held[index] += need

    def _split(self, moment: int) -> int:
        index = bisect_left(self.moments, moment)
        if index == len(self.moments) or self.moments[index] != moment:
            self.moments.insert(index, moment)
            self.held.insert(index, self.held[index - 1])
        return index


def _clamped(
    timelines: list[_Timeline],
    stores: list[tuple[_Store, tuple[int, ...]]],
    time: WorkingTime,
    step: tuple[int, int, int, int],
    at_once: WorkingTime | None,
) -> tuple[int, int]:
    """First place where hands and clamps are free together; the clamps are held until they may come off."""
    number, begin, need, clamp_min = step
    while True:
        begin, used = _free(timelines, begin, need, at_once)
        span = time.begins(begin), end_of(time, begin, need) + clamp_min
        least = need + clamp_min
        free_at = max(store.free_from(*span, least, needs[number]) for store, needs in stores)
        if free_at <= span[0]:
            for store, needs in stores:
                if needs[number]:
                    store.hold(*span, needs[number])
            return begin, used
        begin = time.worked_by(free_at)
