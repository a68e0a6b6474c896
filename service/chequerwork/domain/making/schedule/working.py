"""The shop's working time as one line of minutes: nights, days off and booked hours are not on it."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from chequerwork.domain.basics.shop import Calendar

MIDNIGHT_MIN = 24 * 60  # a window may close then
_FAR_MIN = 1 << 50  # later than any date: what lies beyond the span, which its user looks for
_EPOCH = date(1970, 1, 1).toordinal()  # minutes are counted from this midnight


class WorkingTime:
    """Working time of some years, counted from its first minute on; moments are minutes since 1970-01-01T00:00Z.

    A minute of working time is a whole number, so that a step begins at one, ends at another, and everything between
    them is worked. ``total_min`` is how much there is.
    """

    __slots__ = ("_closes", "_counted", "_days", "_from", "_longest", "_opens", "_until", "total_min")

    def __init__(self, windows: Iterator[tuple[int, int, int]]) -> None:
        self._opens: list[int] = []
        self._closes: list[int] = []
        self._days: list[int] = []
        self._counted: list[int] = []  # working time before each window
        counted = 0
        for opens, closes, day in windows:
            self._opens.append(opens)
            self._closes.append(closes)
            self._days.append(day)
            self._counted.append(counted)
            counted += closes - opens
        self.total_min = counted
        self._opens.append(_FAR_MIN)
        self._closes.append(2 * _FAR_MIN)
        self._days.append(_FAR_MIN)
        self._counted.append(counted)
        self._from, self._until = self._stretches()
        self._longest = max((until - first for first, until in zip(self._from, self._until, strict=True)), default=0)

    def _stretches(self) -> tuple[list[int], list[int]]:
        """Working time at which the stretch without a pause begins and ends that each window is part of."""
        count = len(self._opens) - 1  # without what lies beyond the span
        first, until = self._counted[:count], self._counted[1:]
        for index in range(1, count):
            if self._opens[index] == self._closes[index - 1]:
                first[index] = first[index - 1]
        for index in range(count - 2, -1, -1):
            if self._opens[index + 1] == self._closes[index]:
                until[index] = until[index + 1]
        return first, until

    def worked_by(self, moment: int) -> int:
        """Working time before a moment."""
        index = bisect_right(self._opens, moment) - 1
        if index < 0:
            return 0
        closes = self._closes[index]
        return self._counted[index] + min(moment, closes) - self._opens[index]

    def begins(self, worked: int) -> int:
        """The moment at which the next minute of work begins after so much working time."""
        index = bisect_right(self._counted, worked) - 1
        return self._opens[index] + worked - self._counted[index]

    def ends(self, worked: int) -> int:
        """The moment at which so much working time is over: the close of a window rather than the next opening."""
        index = bisect_left(self._counted, worked) - 1
        return self._opens[index] + worked - self._counted[index] if index >= 0 else self._opens[0]

    def next_day(self, worked: int) -> int:
        """Working time before the working day after the one in which the next minute begins."""
        index = bisect_right(self._counted, worked) - 1
        following = bisect_right(self._days, self._days[index])
        return self._counted[min(following, len(self._counted) - 1)]

    def same_day(self, worked: int) -> int:
        """Working time before the working day in which the next minute begins."""
        index = bisect_right(self._counted, worked) - 1
        return self._counted[bisect_left(self._days, self._days[index])]

    def unbroken(self, worked: int, minutes: int) -> int:
        """First working time from ``worked`` on after which so many minutes follow without a pause or a night.

        ``worked`` itself where no stretch of the span is so long.
        """
        if minutes > self._longest:
            return worked
        index = bisect_right(self._counted, worked) - 1
        while index < len(self._until) and self._until[index] - worked < minutes:
            worked = self._until[index]
            index = bisect_right(self._counted, worked) - 1
        return worked

    def unbroken_before(self, worked: int, minutes: int) -> int:
        """Last working time up to ``worked`` after which so many minutes follow without a pause or a night.

        There must be one, unless no stretch of the span is so long: then ``worked`` itself.
        """
        if minutes > self._longest:
            return worked
        index = min(bisect_right(self._counted, worked), len(self._until)) - 1
        while (latest := self._until[index] - minutes) < self._from[index]:
            worked = self._from[index] - 1
            index = bisect_right(self._counted, worked) - 1
        return min(worked, latest)

    def place(self, earliest: int, minutes: int) -> tuple[int, int]:
        """Moments between which the first so many working minutes lie from a moment on."""
        worked = self.worked_by(earliest)
        return self.begins(worked), self.ends(worked + minutes)


@lru_cache(maxsize=64)  # a work plan takes 30 us with it and some milliseconds without
def working_time(calendar: Calendar, first: date, days: int) -> WorkingTime:
    """The working time of so many days from ``first`` on, booked hours taken off.

    What is booked comes first in the day: it is taken off the day's working time from the front.
    """
    return WorkingTime(_windows(calendar, first, days))


def _windows(calendar: Calendar, first: date, days: int) -> Iterator[tuple[int, int, int]]:
    zone = ZoneInfo(calendar.time_zone)
    for offset in range(min(days, (date.max - first).days - 1)):
        day = first + timedelta(days=offset)
        if not calendar.is_working(day):
            continue
        edges = [
            (minute_of(day, opens, zone), minute_of(day, closes, zone))
            for opens, closes in calendar.windows[day.weekday()]
        ]
        booked_min = calendar.booked_min(day, sum(closes - opens for opens, closes in edges))
        for opens, closes in edges:
            taken = min(booked_min, closes - opens)
            booked_min -= taken
            if opens + taken < closes:
                yield opens + taken, closes, day.toordinal()


@lru_cache(maxsize=4096)  # some years of opening hours fit
def minute_of(day: date, minute: int, zone: ZoneInfo) -> int:
    """The moment of a reading of the shop's clock, as minutes since 1970-01-01T00:00Z. [min]

    Parameters
    ----------
    day
        By the shop's calendar.
    minute
        After midnight by the clock. [min] 0 to 1440.
    zone
        The shop's.

    References
    ----------
    House: a reading that the clock skips is the moment of the change; of two equal readings the first is meant.
    """
    if minute == MIDNIGHT_MIN:
        day, minute = day + timedelta(days=1), 0
    clock = datetime(day.year, day.month, day.day, *divmod(minute, 60), tzinfo=zone)
    found = int(clock.timestamp()) // 60
    if local(found, zone).replace(tzinfo=None) == clock.replace(tzinfo=None):
        return found
    return _change_between(int(clock.replace(fold=1).timestamp()) // 60, found, zone)


def _change_between(before: int, after: int, zone: ZoneInfo) -> int:
    """The first minute of the offset that holds at ``after`` and does not at ``before``."""
    later = local(after, zone).utcoffset()
    while after - before > 1:
        middle = (before + after) // 2
        if local(middle, zone).utcoffset() == later:
            after = middle
        else:
            before = middle
    return after


def local(moment: int, zone: ZoneInfo) -> datetime:
    """A moment by the shop's clock."""
    return datetime.fromtimestamp(moment * 60, zone)
