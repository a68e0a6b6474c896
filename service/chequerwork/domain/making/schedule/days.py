"""The days of an order: when its hands begin, when it is ready, when it leaves, when its finish is cured."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from chequerwork.domain.basics.advice import Advice, Severity
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Calendar, Shop
from chequerwork.domain.making.finishing import Finishing
from chequerwork.domain.making.schedule.batch import Batch
from chequerwork.domain.making.schedule.network import slowing, whole_minutes
from chequerwork.domain.making.schedule.placing import Placement
from chequerwork.domain.making.schedule.working import local


@dataclass(frozen=True, slots=True, kw_only=True)
class Dates:
    """The days of an order. ``spare_days`` is None without a wanted day; negative means too late."""

    starts_on: date
    ready_on: date
    ships_on: date
    cured_on: date
    spare_days: int | None

    @property
    def feasible(self) -> bool | None:
        """Whether the boards leave by the wanted day; None without one."""
        return None if self.spare_days is None else self.spare_days >= 0


def dates_of(
    batch: Batch,
    wanted_by: date | None,
    finishing: Finishing,
    placed: Placement,
    zone: ZoneInfo,
    shop: Shop,
    tables: Tables,
) -> Dates:
    """The days on which placed steps leave a batch ready, on its way and cured.

    References
    ----------
    TRADE-FINISH for the days of cure, CURE-RULE for other temperatures.
    """
    nodes = placed.network.nodes
    last_coat = max(range(len(nodes)), key=placed.network.coats.__getitem__)
    slow = slowing(tables.finishes[batch.surface.finish], shop.workshop_climate.temperature_c)
    cure_min = whole_minutes(finishing.cure_days * 24 * slow)
    packed = placed.ends_at(len(nodes) - 1)
    ships_on = _ship_day(shop.calendar, local(packed, zone).date())
    return Dates(
        starts_on=local(placed.time.begins(min(placed.begins)), zone).date(),
        ready_on=ready_on(placed, zone),
        ships_on=ships_on,
        cured_on=local(placed.ends_at(last_coat) + cure_min, zone).date(),
        spare_days=(wanted_by - ships_on).days if wanted_by else None,
    )


def ready_on(placed: Placement, zone: ZoneInfo) -> date:
    """The day of the step before the last, which packs."""
    before = placed.network.before[-1]
    return local(max(placed.ends_at(step) for step in before), zone).date()


def advice_on_dates(batch: Batch, wanted_by: date | None, days: Dates, tables: Tables) -> Iterator[Advice]:
    """A finish that cures on the way, and a wanted day that is missed."""
    if days.cured_on > days.ships_on:
        yield Advice(
            code="ships-before-cured",
            severity=Severity.INFO,
            at=("schedule", "cured_on"),
            text=f"The finish is fully cured on {days.cured_on}, after the board leaves on {days.ships_on}. It "
            "travels in breathable paper, not plastic; do not stand wet glasses on it before that day.",
            source=tables.finishes[batch.surface.finish].source,
        )
    late = -(days.spare_days or 0)
    if late > 0:
        yield Advice(
            code="too-late",
            severity=Severity.WARNING,
            at=("schedule", "ships_on"),
            text=f"{'The boards' if batch.quantity > 1 else 'The board'} can leave on {days.ships_on}, {late} "
            f"{'day' if late == 1 else 'days'} after {wanted_by}. Choose a later day, or ask the shop what "
            "would be earlier.",
        )


def _ship_day(calendar: Calendar, day: date) -> date:
    while day.weekday() not in calendar.ship_weekdays or day in calendar.holidays:
        day += timedelta(days=1)
    return day
