"""The dated work plan: hands in the shop's hours, curing round the clock."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from chequerwork.domain.advice import Advice, Severity
from chequerwork.domain.facts import Tables
from chequerwork.domain.finishing import Finishing
from chequerwork.domain.hours import Hours
from chequerwork.domain.order import Order
from chequerwork.domain.shop import Calendar, Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One operation in its place. ``waiting_min`` runs after ``ends_at``, through nights and days off."""

    code: str
    title: str
    after: tuple[str, ...]
    starts_at: datetime
    ends_at: datetime
    hands_on_min: int
    waiting_min: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """The dated plan. ``spare_days`` is None without a wanted day; negative means too late."""

    starts_on: date
    ready_on: date
    ships_on: date
    cured_on: date
    spare_days: int | None
    steps: tuple[Step, ...]
    advice: tuple[Advice, ...]


def whole_minutes(hours: float) -> int:
    """Minutes that hold the hours, whole ones.

    Parameters
    ----------
    hours
        0 or more. Within a billionth of a whole minute it is one: no binary tail adds a minute.

    References
    ----------
    House: the work plan counts whole minutes.
    """
    return math.ceil(hours * 60 - 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A node of the precedence graph, before it has a place in time."""

    code: str
    title: str
    after: tuple[str, ...]
    hands_on_min: int
    waiting_min: int


def work_plan(order: Order, shop: Shop, tables: Tables, hours: Hours, finishing: Finishing) -> Schedule:
    """Put every task in the first place the calendar and its predecessors leave. One pair of hands.

    References
    ----------
    TRADE-GLUE and TRADE-FINISH for the waits of adhesive and finish classes, taken at 20 degC.
    """
    tasks = list(tasks_of(shop, tables, hours, finishing))
    zone = ZoneInfo(shop.calendar.time_zone)
    steps = tuple(_place(tasks, shop.calendar, zone, order.starts_on, finishing.coats_per_day))
    by_code = {step.code: step for step in steps}
    last_coat = by_code[f"coat_{len(finishing.coats)}"]
    ready_on = by_code["fit_out"].ends_at.date()
    ships_on = _ship_day(shop.calendar, by_code["pack"].ends_at.date())
    cured_on = (last_coat.ends_at + timedelta(days=finishing.cure_days)).date()
    spare_days = (order.wanted_by - ships_on).days if order.wanted_by else None
    return Schedule(
        starts_on=steps[0].starts_at.date(),
        ready_on=ready_on,
        ships_on=ships_on,
        cured_on=cured_on,
        spare_days=spare_days,
        steps=steps,
        advice=_advice(order, tables, ships_on, cured_on, spare_days),
    )


def tasks_of(shop: Shop, tables: Tables, hours: Hours, finishing: Finishing) -> Iterator[Task]:
    """The precedence graph in build order: each operation after the one that makes what it works on."""
    stretch = hours.at(shop.calendar.holds_at) / hours.expected_h
    minutes = {work.code: whole_minutes(work.expected_h * stretch) for work in hours.work}
    titles = {work.code: work.title for work in hours.work}
    cure_min = whole_minutes(tables.adhesives[shop.consumables.adhesive].machine_after_h)
    glued = {"glue_strips", "glue_bars", "lines", "base", "frame"}
    before = ""
    for code in _BUILD:
        if code not in minutes:
            continue
        yield Task(
            code=code,
            title=titles[code],
            after=(before,) if before else (),
            hands_on_min=minutes[code],
            waiting_min=cure_min if code in glued else 0,
        )
        before = code
    shares = _split(minutes["finish"], len(finishing.coats))
    for coat, share in zip(finishing.coats, shares, strict=True):
        yield Task(
            code=f"coat_{coat.number}",
            title=f"Coat {coat.number} of {len(finishing.coats)}",
            after=(before,),
            hands_on_min=share,
            waiting_min=whole_minutes(coat.wait_h),
        )
        before = f"coat_{coat.number}"
    for code in ("fit_out", "pack"):
        yield Task(code=code, title=titles[code], after=(before,), hands_on_min=minutes[code], waiting_min=0)
        before = code


_BUILD = (
    "mill",
    "rip",
    "glue_strips",
    "flatten_strips",
    "crosscut",
    "glue_bars",
    "flatten_field",
    "trim_field",
    "lines",
    "base",
    "frame",
    "sand",
)


def _split(total_min: int, parts: int) -> list[int]:
    """Whole minutes that add up to the total, the earlier parts longer by at most one."""
    share, rest = divmod(total_min, parts)
    return [share + (1 if index < rest else 0) for index in range(parts)]


def _place(
    tasks: list[Task], calendar: Calendar, zone: ZoneInfo, starts_on: date, coats_per_day: int
) -> Iterator[Step]:
    """Minutes since 1970 in UTC inside, so that a clock change neither stretches nor shortens a cure."""
    hands = WorkingHours(calendar, zone)
    free = _midnight(starts_on, zone)
    done: dict[str, int] = {}
    coats: dict[date, int] = {}
    for task in tasks:
        earliest = max([free, *(done[code] for code in task.after)])
        coat = task.code.startswith("coat_")
        if coat:
            earliest = _coat_day(earliest, coats, coats_per_day, zone)
        begin, end = hands.place(earliest, task.hands_on_min)
        starts_at = _local(begin, zone)
        if coat:
            day = starts_at.date()
            coats[day] = coats.get(day, 0) + 1
        free, done[task.code] = end, end + task.waiting_min
        yield Step(
            code=task.code,
            title=task.title,
            after=task.after,
            starts_at=starts_at,
            ends_at=_local(end, zone),
            hands_on_min=task.hands_on_min,
            waiting_min=task.waiting_min,
        )


class WorkingHours:
    """The shop's working time on the line of minutes since 1970-01-01T00:00Z; each day is worked out once."""

    def __init__(self, calendar: Calendar, zone: ZoneInfo) -> None:
        self._calendar, self._zone = calendar, zone
        self._days: dict[date, tuple[tuple[int, int], ...]] = {}

    def place(self, earliest: int, minutes: int) -> tuple[int, int]:
        """First stretch of working time from a moment on that holds the minutes, pauses and nights skipped.

        Parameters
        ----------
        earliest
            Not before. [min] since 1970-01-01T00:00Z.
        minutes
            Hands-on time. [min] 0 or more.

        Returns
        -------
        tuple of int
            Begin and end. [min] since 1970-01-01T00:00Z.
        """
        day = _local(earliest, self._zone).date()
        begin: int | None = None
        left = minutes
        while True:
            for opens, closes in self._windows(day):
                start = max(opens, earliest)
                if start >= closes:
                    continue
                begin = start if begin is None else begin
                if start + left <= closes:
                    return begin, start + left
                left -= closes - start
            day += timedelta(days=1)

    def _windows(self, day: date) -> tuple[tuple[int, int], ...]:
        known = self._days.get(day)
        if known is None:
            windows = () if day in self._calendar.holidays else self._calendar.windows[day.weekday()]
            known = tuple(
                (_minute(day, opens, self._zone), _minute(day, closes, self._zone)) for opens, closes in windows
            )
            self._days[day] = known
        return known


@lru_cache(maxsize=4096)  # saves a work plan a quarter of its time; some years of opening hours fit
def _minute(day: date, minute: int, zone: ZoneInfo) -> int:
    hour, rest = divmod(minute, 60)
    if hour == 24:  # a window that closes at midnight
        return _midnight(day + timedelta(days=1), zone)
    return int(datetime(day.year, day.month, day.day, hour, rest, tzinfo=zone).timestamp()) // 60


def _midnight(day: date, zone: ZoneInfo) -> int:
    return _minute(day, 0, zone)


def _local(minute: int, zone: ZoneInfo) -> datetime:
    return datetime.fromtimestamp(minute * 60, zone)


def _coat_day(earliest: int, coats: Mapping[date, int], most: int, zone: ZoneInfo) -> int:
    day = _local(earliest, zone).date()
    if coats.get(day, 0) < most:
        return earliest
    return _midnight(day + timedelta(days=1), zone)


def _ship_day(calendar: Calendar, day: date) -> date:
    while day.weekday() not in calendar.ship_weekdays or day in calendar.holidays:
        day += timedelta(days=1)
    return day


def _advice(order: Order, tables: Tables, ships_on: date, cured_on: date, spare_days: int | None) -> tuple[Advice, ...]:
    found: list[Advice] = []
    if cured_on > ships_on:
        found.append(
            Advice(
                code="ships-before-cured",
                severity=Severity.INFO,
                at=("schedule", "cured_on"),
                text=f"The finish is fully cured on {cured_on}, after the board leaves on {ships_on}. It travels in "
                "breathable paper, not plastic; do not stand wet glasses on it before that day.",
                source=tables.finishes[order.finish].source,
            )
        )
    if spare_days is not None and spare_days < 0:
        found.append(
            Advice(
                code="too-late",
                severity=Severity.WARNING,
                at=("schedule", "ships_on"),
                text=f"The board can leave on {ships_on}, {-spare_days} days after {order.wanted_by}. A finish that "
                f"dries faster{' or fewer boards at once' if order.quantity > 1 else ''} may be earlier.",
            )
        )
    return tuple(found)
