"""What would make a wanted day possible: each change tried by planning again, never guessed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Calendar, Shop
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.making.cutting import Cutting
from chequerwork.domain.making.finishing import Finishing, plan_finish
from chequerwork.domain.making.hours import Hours, estimate
from chequerwork.domain.making.joints import Bond, glue_ups
from chequerwork.domain.making.schedule.batch import Batch
from chequerwork.domain.making.schedule.days import Dates
from chequerwork.domain.making.schedule.network import cure_factor, slowing
from chequerwork.domain.making.schedule.work_plan import dates
from chequerwork.domain.making.schedule.working import MIDNIGHT_MIN

MOST_BOARDS = (
    100  # with more, only a smaller batch is tried: other changes do not bring weeks, and cost seconds (house)
)
MOST_EXTRA_H = 4  # overtime on one day that is looked at (house)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SPARE_DAYS = (5, 0, 1, 2, 3, 4, 6)  # weekdays that a shop would give up, in this order: Saturday first, Sunday last


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """One change and the day on which the order, or ``boards`` of it, would leave with it."""

    code: str
    text: str
    ships_on: date
    feasible: bool
    boards: int


class Job(NamedTuple):
    """One order with what is known of it already; ``bonds`` where the shop counts what it presses them with."""

    batch: Batch
    issued_on: date
    wanted_by: date | None
    geometry: Geometry
    cutting: Cutting
    finishing: Finishing
    hours: Hours
    lines: int
    bonds: Sequence[Bond]
    shop: Shop
    tables: Tables

    def dates(self) -> Dates:
        """Its days."""
        glued = glue_ups(self.bonds, self.shop, self.tables)
        return dates(self.batch, self.wanted_by, self.hours, self.finishing, glued, self.shop, self.tables)

    def of_batch(self, batch: Batch) -> "Job":
        """The same for a changed batch, the board as large as before."""
        shop, tables = self.shop, self.tables
        finishing = plan_finish(batch.surface, self.geometry, shop.consumables, shop.workshop_climate, tables)
        hours = estimate(self.geometry, self.cutting, finishing, self.lines, batch.quantity, shop.labour, tables)
        return self._replace(batch=batch, finishing=finishing, hours=hours)

    def of_calendar(self, calendar: Calendar) -> "Job":
        """The same in another working week."""
        return self._replace(shop=replace(self.shop, calendar=calendar))


def ways_out(job: Job, now: Dates) -> tuple[WayOut, ...]:
    """Changes that let an order leave sooner, those first with which it leaves by the wanted day.

    Nothing where no day is wanted or the wanted day is kept.
    """
    if now.feasible is not False or job.wanted_by is None:
        return ()
    wanted_by = job.wanted_by
    found = [
        WayOut(code=code, text=text, ships_on=days.ships_on, feasible=days.ships_on <= wanted_by, boards=boards)
        for code, text, days, boards in _tried(job, now, wanted_by)
        if days.ships_on < now.ships_on
    ]
    return tuple(sorted(found, key=lambda way: not way.feasible))


_Tried = tuple[str, str, Dates, int]


def _tried(job: Job, now: Dates, wanted_by: date) -> Iterator[_Tried]:
    usual = (_earlier_start, _longer_days, _another_weekday, _faster_adhesive, _faster_finish)
    for attempt in usual if job.batch.quantity <= MOST_BOARDS else ():
        for code, text, days in attempt(job, wanted_by):
            yield code, text, days, job.batch.quantity
    if now.ships_on > wanted_by:
        yield from _smaller_batch(job, wanted_by)


_Found = Iterator[tuple[str, str, Dates]]


def _earlier_start(job: Job, _: date) -> _Found:
    free = job.shop.calendar.next_free_day(job.issued_on)
    if free < job.batch.starts_on:
        days = job._replace(batch=job.batch._replace(starts_on=free)).dates()
        yield "earlier-start", f"Start on {free} instead of {job.batch.starts_on}.", days


def _longer_days(job: Job, wanted_by: date) -> _Found:
    """As little overtime as does, or the most that is looked at."""
    calendar, best = job.shop.calendar, None
    for extra_h in range(1, MOST_EXTRA_H + 1):
        longer = tuple(
            (*windows[:-1], (windows[-1][0], min(windows[-1][1] + extra_h * 60, MIDNIGHT_MIN))) if windows else ()
            for windows in calendar.windows
        )
        if longer == calendar.windows:
            return
        days = job.of_calendar(replace(calendar, windows=longer)).dates()
        if best is None or days.ships_on < best[2].ships_on:
            plural = "hours" if extra_h > 1 else "hour"
            best = "longer-days", f"Work {extra_h} {plural} longer on every working day.", days
        if days.ships_on <= wanted_by:
            break
    if best:
        yield best


def _another_weekday(job: Job, _: date) -> _Found:
    """One more day of the week, with the hours of the longest one."""
    calendar = job.shop.calendar
    free = [day for day in SPARE_DAYS if not calendar.windows[day]]
    if not free:
        return
    longest = max(calendar.windows, key=lambda windows: sum(closes - opens for opens, closes in windows))
    week = tuple(longest if day == free[0] else windows for day, windows in enumerate(calendar.windows))
    days = job.of_calendar(replace(calendar, windows=week)).dates()
    yield "another-weekday", f"Work on {WEEKDAYS[free[0]]}s too, as long as on the longest day.", days


def _faster_adhesive(job: Job, _: date) -> _Found:
    """The class that may be machined soonest at this temperature."""
    temperature_c, known = job.shop.workshop_climate.temperature_c, job.tables.adhesives
    waits_h = {
        key: each.machine_after_h * cure_factor(temperature_c, each.reference_temperature_c, each.per_10c)
        for key, each in known.items()
        if each.min_temperature_c <= temperature_c
    }
    fastest = min(waits_h, key=waits_h.__getitem__, default="")
    now = job.shop.consumables.adhesive
    if not fastest or waits_h[fastest] >= waits_h.get(now, float("inf")):
        return
    consumables = replace(job.shop.consumables, adhesive=fastest)
    days = job._replace(shop=replace(job.shop, consumables=consumables)).dates()
    text = f"Glue with {known[fastest].name} instead of {known[now].name}. Check that it bears the board's use: it may "
    yield "faster-adhesive", f"{text}be less water-resistant.", days


def _faster_finish(job: Job, _: date) -> _Found:
    """The finish on offer with which the order leaves first."""
    temperature_c, known = job.shop.workshop_climate.temperature_c, job.tables.finishes
    surface = job.batch.surface
    tried = {
        key: job.of_batch(job.batch._replace(surface=replace(surface, finish=key))).dates()
        for key in job.shop.finishes
        if key != surface.finish and known[key].min_temperature_c <= temperature_c
    }
    if tried:
        best = min(tried, key=lambda key: (tried[key].ships_on, _waits_h(job, key)))
        yield "faster-finish", f"Finish with {known[best].name} instead of {known[surface.finish].name}.", tried[best]


def _waits_h(job: Job, finish: str) -> float:
    found = job.tables.finishes[finish]
    hours = found.recoat_h * (found.coats - 1) + found.handle_h
    return hours * slowing(found, job.shop.workshop_climate.temperature_c)


def _smaller_batch(job: Job, wanted_by: date) -> Iterator[_Tried]:
    """The most boards that leave by the wanted day when the others are made afterwards."""
    fit, many, best = 0, job.batch.quantity, None
    while many - fit > 1:
        middle = (fit + many) // 2
        days = job.of_batch(job.batch._replace(quantity=middle)).dates()
        if days.ships_on <= wanted_by:
            fit, best = middle, days
        else:
            many = middle
    if best:
        rest = job.batch.quantity - fit
        boards = f"{fit} boards" if fit > 1 else "one board"
        text = f"Make {boards} first and the other {rest} afterwards: what is first can leave by then."
        yield "smaller-batch", text, best, fit
