"""From a batch and its hours to dated steps: the first place for each that calendar, hands and clamps leave."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple
from zoneinfo import ZoneInfo

from chequerwork.domain.basics.advice import Advice
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Calendar, Promise, Shop
from chequerwork.domain.making.finishing import Finishing
from chequerwork.domain.making.hours import Hours
from chequerwork.domain.making.joints import GlueUp
from chequerwork.domain.making.schedule.batch import Batch
from chequerwork.domain.making.schedule.clamping import advice_on_glueing, pools_of, rounds_of
from chequerwork.domain.making.schedule.days import Dates, advice_on_dates, dates_of, ready_on
from chequerwork.domain.making.schedule.network import Network, NetworkKey, network, whole_minutes
from chequerwork.domain.making.schedule.placing import Placement, Resources, place
from chequerwork.domain.making.schedule.slack import Slack, slack_of
from chequerwork.domain.making.schedule.working import minute_of, working_time

# Working time is looked at so far ahead, and four times as far when that does not do; a plan that needs more than
# eleven years is none (house).
SPANS_DAYS = (256, 1024, 4096)


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """The dated plan."""

    dates: Dates
    placement: Placement
    zone: ZoneInfo
    advice: tuple[Advice, ...]

    @property
    def order(self) -> list[int]:
        """Places of the steps in the network, in the order in which they begin."""
        begins = self.placement.begins
        return sorted(range(len(begins)), key=begins.__getitem__)


class Ready(NamedTuple):
    """Days on which an order is ready with hours that hold one, four and nineteen times in two, five and twenty."""

    p50: date
    p80: date
    p95: date


def schedule_of(
    batch: Batch,
    wanted_by: date | None,
    hours: Hours,
    finishing: Finishing,
    glue_ups: Sequence[GlueUp],
    shop: Shop,
    tables: Tables,
) -> Schedule:
    """Put every step in the first place that calendar, predecessors, hands and clamps leave.

    ``glue_ups`` are those of one board; only a shop that counts its clamps needs them.

    References
    ----------
    TRADE-GLUE and TRADE-FINISH for the waits of adhesive and finish classes, CURE-RULE for other temperatures.
    """
    placed = _workload(batch, hours, glue_ups, shop, tables).placed(shop.calendar.holds_at)
    zone = ZoneInfo(shop.calendar.time_zone)
    days = dates_of(batch, wanted_by, finishing, placed, zone, shop, tables)
    return Schedule(
        dates=days,
        placement=placed,
        zone=zone,
        advice=(*advice_on_dates(batch, wanted_by, days, tables), *advice_on_glueing(shop, tables, glue_ups)),
    )


def dates(
    batch: Batch,
    wanted_by: date | None,
    hours: Hours,
    finishing: Finishing,
    glue_ups: Sequence[GlueUp],
    shop: Shop,
    tables: Tables,
) -> Dates:
    """The days alone, the same as those of ``schedule_of``, for whoever asks about many orders.

    References
    ----------
    TRADE-GLUE, TRADE-FINISH, CURE-RULE, as ``schedule_of``.
    """
    placed = _workload(batch, hours, glue_ups, shop, tables).placed(shop.calendar.holds_at)
    return dates_of(batch, wanted_by, finishing, placed, ZoneInfo(shop.calendar.time_zone), shop, tables)


def ready(batch: Batch, hours: Hours, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables) -> Ready:
    """The day on which an order is ready, all hands-on time stretched to each quantile of its hours.

    A plan with more hours is never told to be ready sooner: where the order of the steps changes so that it would
    be, the later day stands for both.

    References
    ----------
    House: one factor for every step, as if all of them were slow together, which is the safe side.
    """
    zone, load = ZoneInfo(shop.calendar.time_zone), _workload(batch, hours, glue_ups, shop, tables)
    p50 = ready_on(load.placed(Promise.P50), zone)
    p95 = max(p50, ready_on(load.placed(Promise.P95), zone))
    if p50 == p95:  # then the day between is no other
        return Ready(p50, p50, p50)
    return Ready(p50, min(max(p50, ready_on(load.placed(Promise.P80), zone)), p95), p95)


def slack(schedule: Schedule) -> Slack:
    """Float of every step, by its place in the network, and the path that decides the day.

    References
    ----------
    CPM.
    """
    return slack_of(schedule.placement)


def stretched_h(hours: Hours, promise: Promise) -> dict[str, float]:
    """Hours of every operation, all stretched alike so that the whole holds as safely as promised. [h]"""
    stretch = hours.at(promise) / hours.expected_h if hours.expected_h else 1.0
    return {work.code: work.expected_h * stretch for work in hours.work}


class _Workload(NamedTuple):
    """A batch with all that placing its steps needs."""

    batch: Batch
    network: Network
    means: Resources
    calendar: Calendar
    midnight: int  # before the first day
    hours: Hours

    def placed(self, promise: Promise) -> Placement:
        """The steps in their places, hours as safe as promised."""
        operations_h = stretched_h(self.hours, promise)
        minutes = self.network.minutes({code: whole_minutes(hours) for code, hours in operations_h.items()})
        first = self.batch.starts_on.replace(day=1)
        for days in SPANS_DAYS:
            time = working_time(self.calendar, first, days)
            if time.total_min * self.means.hands < sum(minutes):
                continue
            found = place(self.network, minutes, time, time.worked_by(self.midnight), self.means)
            if found.fits:
                return found
        raise Refused([_no_room(self.batch)])


def _workload(batch: Batch, hours: Hours, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables) -> _Workload:
    operations = tuple([work.code for work in hours.work])
    found = network(tables, _network_key(batch, operations, glue_ups, shop, tables))
    coats_a_day = tables.finishes[batch.surface.finish].coats_per_day
    return _Workload(
        batch,
        found,
        Resources(shop.calendar.hands, coats_a_day, pools_of(found, shop, tables, glue_ups)),
        shop.calendar,
        minute_of(batch.starts_on, 0, ZoneInfo(shop.calendar.time_zone)),
        hours,
    )


def _no_room(batch: Batch) -> Fault:
    boards = f"{batch.quantity} boards" if batch.quantity > 1 else "One board"
    remedy = "Ask for fewer boards." if batch.quantity > 1 else "Another shop may have room."
    return Fault(
        at=("quantity",),
        code="no-room",
        detail=f"{boards} cannot be made within {SPANS_DAYS[-1] // 365} years of {batch.starts_on}: the working hours "
        f"of this shop are too few or taken. {remedy}",
    )


def _network_key(
    batch: Batch, operations: tuple[str, ...], glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables
) -> NetworkKey:
    return NetworkKey(
        operations,
        shop.workflow,
        batch.surface.finish,
        shop.consumables.adhesive,
        shop.workshop_climate.temperature_c,
        (batch.surface.sand_top, batch.surface.sand_underside),
        rounds_of(batch, glue_ups, shop, tables),
        batch.feet,
    )
