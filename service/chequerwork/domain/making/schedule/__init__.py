"""The dated work plan: hands in the shop's hours, curing round the clock, several things at a time."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import BuildStep, Tables
from chequerwork.domain.basics.shop import Calendar, Promise, Shop
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.making.finishing import Finishing
from chequerwork.domain.making.hours import Hours
from chequerwork.domain.making.joints import GlueStage, GlueUp
from chequerwork.domain.making.schedule.network import Network, NetworkKey, network, slowing, whole_minutes
from chequerwork.domain.making.schedule.placing import Placement, Pool, Resources, place
from chequerwork.domain.making.schedule.slack import Slack, slack_of
from chequerwork.domain.making.schedule.working import local, minute_of, working_time
from chequerwork.domain.order.order import Base, Frame, Line, Surface

# Working time is looked at so far ahead, and four times as far when that does not do; a plan that needs more than
# eleven years is none (house).
SPANS_DAYS = (256, 1024, 4096)


class Batch(NamedTuple):
    """What is planned: the boards of one order, how they are finished, and which of their stages are glued."""

    quantity: int
    starts_on: date
    surface: Surface
    feet: bool
    glued: frozenset[str]


class Step(NamedTuple):
    """One step in its place. ``waiting_min`` runs after it ends, through nights and days off.

    Moments are minutes since 1970-01-01T00:00Z; ``starts_at`` and ``ends_at`` are the same by the shop's clock.
    ``boards`` of a round of glue-ups; None for any other step, which does all boards of the order.
    """

    code: str
    title: str
    after: tuple[str, ...]
    begin_min: int
    end_min: int
    hands_on_min: int
    waiting_min: int
    boards: int | None
    round: int | None
    step: str  # of the build's table
    zone: ZoneInfo

    @property
    def starts_at(self) -> datetime:
        """By the shop's clock."""
        return local(self.begin_min, self.zone)

    @property
    def ends_at(self) -> datetime:
        """By the shop's clock."""
        return local(self.end_min, self.zone)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """The dated plan."""

    dates: Dates
    placement: Placement
    zone: ZoneInfo
    advice: tuple[Advice, ...]

    @property
    def starts_on(self) -> date:
        """Hands begin."""
        return self.dates.starts_on

    @property
    def ready_on(self) -> date:
        """Inspected and photographed."""
        return self.dates.ready_on

    @property
    def ships_on(self) -> date:
        """A day on which the shop sends parcels."""
        return self.dates.ships_on

    @property
    def cured_on(self) -> date:
        """The finish is fully cured."""
        return self.dates.cured_on

    @property
    def spare_days(self) -> int | None:
        """Days between leaving and the wanted day; negative is too late. [d]"""
        return self.dates.spare_days

    @property
    def steps(self) -> tuple[Step, ...]:
        """Every step, in the order in which they begin."""
        placed = self.placement
        found = [
            Step(
                node.code,
                node.title,
                node.after,
                placed.begins_at(place),
                placed.ends_at(place),
                placed.minutes[place],
                placed.network.waits_min[place],
                node.boards,
                node.round,
                node.step,
                self.zone,
            )
            for place, node in enumerate(placed.network.nodes)
        ]
        return tuple(found[place] for place in self.order)

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


def batch_of(
    lines: tuple[Line, ...],
    frame: Frame | None,
    base: Base | None,
    feet: int,
    surface: Surface,
    quantity: int,
    starts_on: date,
) -> Batch:
    """The boards of an order as the work plan sees them."""
    glued = {GlueStage.STRIPS, GlueStage.BARS}
    if lines:
        glued.add(GlueStage.LINES)
    if frame:
        glued.add(GlueStage.CORNERS)
    if base_is_glued(frame, base):
        glued.add(GlueStage.BASE)
    return Batch(quantity, starts_on, surface, feet > 0, frozenset(glued))


def work_plan(
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
    placed = _job(batch, hours, glue_ups, shop, tables).placed(shop.calendar.holds_at)
    zone = ZoneInfo(shop.calendar.time_zone)
    days = _dates(batch, wanted_by, finishing, placed, zone, shop, tables)
    return Schedule(
        dates=days,
        placement=placed,
        zone=zone,
        advice=_advice(batch, wanted_by, days, glue_ups, shop, tables),
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
    """The days alone, the same as those of ``work_plan``, for whoever asks about many orders.

    References
    ----------
    TRADE-GLUE, TRADE-FINISH, CURE-RULE, as ``work_plan``.
    """
    placed = _job(batch, hours, glue_ups, shop, tables).placed(shop.calendar.holds_at)
    return _dates(batch, wanted_by, finishing, placed, ZoneInfo(shop.calendar.time_zone), shop, tables)


def ready(batch: Batch, hours: Hours, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables) -> Ready:
    """The day on which an order is ready, all hands-on time stretched to each quantile of its hours.

    A plan with more hours is never told to be ready sooner: where the order of the steps changes so that it would
    be, the later day stands for both.

    References
    ----------
    House: one factor for every step, as if all of them were slow together, which is the safe side.
    """
    zone, job = ZoneInfo(shop.calendar.time_zone), _job(batch, hours, glue_ups, shop, tables)
    p50 = _ready_on(job.placed(Promise.P50), zone)
    p95 = max(p50, _ready_on(job.placed(Promise.P95), zone))
    if p50 == p95:  # then the day between is no other
        return Ready(p50, p50, p50)
    return Ready(p50, min(max(p50, _ready_on(job.placed(Promise.P80), zone)), p95), p95)


def slack(schedule: Schedule) -> Slack:
    """Float of every step, by its place in the network, and the path that decides the day.

    References
    ----------
    CPM.
    """
    return slack_of(schedule.placement)


def clamps_of(step: BuildStep, glue_ups: Sequence[GlueUp]) -> int:
    """Clamps that one board takes in a step; 0 where nothing is glued."""
    return sum(each.clamps for each in glue_ups if each.stage in step.stages)


# -- placing -----------------------------------------------------------------------------------------------------


def stretched_h(hours: Hours, promise: Promise) -> dict[str, float]:
    """Hours of every operation, all stretched alike so that the whole holds as safely as promised. [h]"""
    stretch = hours.at(promise) / hours.expected_h if hours.expected_h else 1.0
    return {work.code: work.expected_h * stretch for work in hours.work}


class _Job(NamedTuple):
    """What placing a batch needs but its hours."""

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


def _job(batch: Batch, hours: Hours, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables) -> _Job:
    operations = tuple([work.code for work in hours.work])
    found = network(tables, _network_key(batch, operations, glue_ups, shop, tables))
    coats_a_day = tables.finishes[batch.surface.finish].coats_per_day
    return _Job(
        batch,
        found,
        Resources(shop.calendar.hands, coats_a_day, _pools(found, shop, tables, glue_ups)),
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
        _glued(batch, glue_ups, shop, tables),
        batch.feet,
    )


def _glued(
    batch: Batch, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables
) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Steps with glue and the boards of each of their rounds."""
    limited = shop.machines.clamps is not None or shop.machines.presses is not None
    found = []
    for step in tables.glued_steps:
        if batch.glued.isdisjoint(step.stages):
            continue
        rounds: tuple[int, ...] = (batch.quantity,)
        if limited:
            size, need = _pool_of(step, shop, glue_ups)
            if size is not None and need:
                rounds = _rounds(batch.quantity, max(1, size // need))
        found.append((step.code, rounds))
    return tuple(found)


def _pool_of(step: BuildStep, shop: Shop, glue_ups: Sequence[GlueUp]) -> tuple[int | None, int]:
    """What a glue-up is pressed with: how many the shop has, how many one board needs."""
    if GlueStage.BASE in step.stages and shop.machines.presses is not None:
        return shop.machines.presses, 1
    return shop.machines.clamps, clamps_of(step, glue_ups)


def _rounds(quantity: int, most: int) -> tuple[int, ...]:
    full, rest = divmod(quantity, most)
    return (most,) * full + ((rest,) if rest else ())


def _pools(found: Network, shop: Shop, tables: Tables, glue_ups: Sequence[GlueUp]) -> tuple[Pool, ...]:
    clamps, presses = shop.machines.clamps, shop.machines.presses
    if clamps is None and presses is None:
        return ()
    needs = {"clamps": [0] * len(found.nodes), "presses": [0] * len(found.nodes)}
    for place_of, node in enumerate(found.nodes):
        if node.boards:
            step = tables.steps[node.step]
            size, need = _pool_of(step, shop, glue_ups)
            pressed = GlueStage.BASE in step.stages and presses is not None
            needs["presses" if pressed else "clamps"][place_of] = min(node.boards * need, size or 0)
    sizes = {"clamps": clamps, "presses": presses}
    return tuple(Pool(size, tuple(needs[name])) for name, size in sizes.items() if size is not None)


# -- days --------------------------------------------------------------------------------------------------------


def _dates(
    batch: Batch,
    wanted_by: date | None,
    finishing: Finishing,
    placed: Placement,
    zone: ZoneInfo,
    shop: Shop,
    tables: Tables,
) -> Dates:
    nodes = placed.network.nodes
    last_coat = max(range(len(nodes)), key=placed.network.coats.__getitem__)
    slow = slowing(tables.finishes[batch.surface.finish], shop.workshop_climate.temperature_c)
    cure_min = whole_minutes(finishing.cure_days * 24 * slow)
    packed = placed.ends_at(len(nodes) - 1)
    ships_on = _ship_day(shop.calendar, local(packed, zone).date())
    return Dates(
        starts_on=local(placed.time.begins(min(placed.begins)), zone).date(),
        ready_on=_ready_on(placed, zone),
        ships_on=ships_on,
        cured_on=local(placed.ends_at(last_coat) + cure_min, zone).date(),
        spare_days=(wanted_by - ships_on).days if wanted_by else None,
    )


def _ready_on(placed: Placement, zone: ZoneInfo) -> date:
    """The day of the step before the last, which packs."""
    before = placed.network.before[-1]
    return local(max(placed.ends_at(step) for step in before), zone).date()


def _ship_day(calendar: Calendar, day: date) -> date:
    while day.weekday() not in calendar.ship_weekdays or day in calendar.holidays:
        day += timedelta(days=1)
    return day


# -- findings ----------------------------------------------------------------------------------------------------


def _advice(
    batch: Batch, wanted_by: date | None, days: Dates, glue_ups: Sequence[GlueUp], shop: Shop, tables: Tables
) -> tuple[Advice, ...]:
    found: list[Advice] = []
    if days.cured_on > days.ships_on:
        found.append(
            Advice(
                code="ships-before-cured",
                severity=Severity.INFO,
                at=("schedule", "cured_on"),
                text=f"The finish is fully cured on {days.cured_on}, after the board leaves on {days.ships_on}. It "
                "travels in breathable paper, not plastic; do not stand wet glasses on it before that day.",
                source=tables.finishes[batch.surface.finish].source,
            )
        )
    late = -(days.spare_days or 0)
    if late > 0:
        found.append(
            Advice(
                code="too-late",
                severity=Severity.WARNING,
                at=("schedule", "ships_on"),
                text=f"{'The boards' if batch.quantity > 1 else 'The board'} can leave on {days.ships_on}, {late} "
                f"{'day' if late == 1 else 'days'} after {wanted_by}. Choose a later day, or ask the shop what "
                "would be earlier.",
            )
        )
    return (*found, *_workshop_advice(shop, tables, glue_ups))


def _workshop_advice(shop: Shop, tables: Tables, glue_ups: Sequence[GlueUp]) -> list[Advice]:
    found: list[Advice] = []
    adhesive, temperature_c = tables.adhesives[shop.consumables.adhesive], shop.workshop_climate.temperature_c
    if temperature_c < adhesive.min_temperature_c:
        found.append(
            Advice(
                code="cold-for-adhesive",
                severity=Severity.CAUTION,
                at=("schedule", "steps"),
                text=f"The workshop has {temperature_c:g} degC; {adhesive.name} needs at least "
                f"{adhesive.min_temperature_c:g} degC, or its film stays chalky and weak.",
                source=adhesive.source,
                audience=Audience.WORKSHOP,
            )
        )
    clamps = shop.machines.clamps
    for step in tables.glued_steps if clamps is not None else ():
        size, need = _pool_of(step, shop, glue_ups)
        if size == clamps is not None and need > clamps:
            found.append(
                Advice(
                    code="too-few-clamps",
                    severity=Severity.CAUTION,
                    at=("schedule", "steps"),
                    text=f"{step.title}: one board wants {need} clamps and the shop has {clamps}. The plan uses all of "
                    "them; borrow some, tighten harder, or glue in two halves.",
                    audience=Audience.WORKSHOP,
                )
            )
    return found


__all__ = [
    "Batch",
    "Dates",
    "Ready",
    "Schedule",
    "Slack",
    "Step",
    "batch_of",
    "clamps_of",
    "dates",
    "ready",
    "slack",
    "work_plan",
]
