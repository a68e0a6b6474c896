"""Dates; for the maker the dated work plan."""

from datetime import date, datetime
from functools import lru_cache
from typing import Final, NamedTuple
from zoneinfo import ZoneInfo

from chequerwork.api.component import (
    Component,
    PlanContext,
    day,
    flag,
    from_plan,
    many,
    maybe,
    number,
    one,
    text,
    texts,
    whole,
    workshop,
)
from chequerwork.domain.making.schedule.clamping import clamps_of
from chequerwork.domain.making.schedule.network import StepNode
from chequerwork.domain.making.schedule.work_plan import Schedule

HOURS: Final = Component(
    "Hours",
    number("expected", "The mean: what many such orders take on average.", "expected_h", decimals=2),
    number("p50", "Exceeded in every second order.", "p50_h", decimals=2),
    number("p80", "Exceeded in one order of five.", "p80_h", decimals=2),
    number("p95", "Exceeded in one order of twenty.", "p95_h", decimals=2),
    number("sd", "Standard deviation.", "sd_h", decimals=2),
    number("correlation", "The shop's: how far a slow day slows every operation, 0 to 1."),
)
STEP: Final = Component(
    "Step",
    text("code", of="node.code"),
    text("title", of="node.title"),
    texts("after", "Codes of the steps before.", "node.after"),
    text("starts_at", "Local time with its offset, to the minute."),
    text("ends_at", "Local time with its offset, to the minute."),
    whole("hands_on_min"),
    whole("waiting_min", "After the hands leave it."),
    whole(
        "float_min",
        "Working time by which it alone may slip before the order is packed later; a night after a cure counts.",
    ),
    flag("critical", "Whether it is on the critical path."),
    maybe(whole("clamps", "Of all boards glued at once; null where nothing is clamped.")),
    maybe(whole("boards", "Boards of this glue-up; null for a step without clamps.", "node.boards")),
    maybe(whole("round", "Which of the rounds that the shop's clamps make of a glue-up.", "node.round")),
)
READY_DAYS: Final = Component(
    "ReadyDays",
    day("p50", "In one order of two."),
    day("p80", "In four orders of five."),
    day("p95", "In nineteen orders of twenty."),
)
WAY_OUT: Final = Component(
    "WayOut",
    text("code"),
    text("text"),
    day("ships_on", "With this change."),
    flag("feasible", "Whether that is by the wanted day."),
    whole("boards", "That leave on that day."),
)


class _Dated(NamedTuple):
    """A step of the work plan in its place."""

    node: StepNode
    starts_at: str
    ends_at: str
    hands_on_min: int
    waiting_min: int
    float_min: int
    critical: bool
    clamps: int | None


def _steps(found: Schedule, to: PlanContext) -> list[_Dated]:
    """Every step, in the order in which they begin."""
    plan, placed = to.plan, found.placement
    slack, network, read = plan.slack, placed.network, _Clock(found.zone).reading
    on_path = frozenset(slack.path)
    clamps = {step.code: clamps_of(step, plan.glue_ups) for step in plan.tables.glued_steps}
    return [
        _Dated(
            node,
            read(placed.begins_at(place)),
            read(placed.ends_at(place)),
            placed.minutes[place],
            network.waits_min[place],
            slack.float_min[place],
            place in on_path,
            node.boards * clamps[node.step] if node.boards else None,
        )
        for place in found.order
        for node in (network.nodes[place],)
    ]


def _critical_path(found: Schedule, to: PlanContext) -> list[str]:
    nodes = found.placement.network.nodes
    return [nodes[place].code for place in to.plan.slack.path]


SCHEDULE: Final = Component(
    "Schedule",
    day("starts_on", of="dates.starts_on"),
    day("ready_on", of="dates.ready_on"),
    day("ships_on", "The earliest day on which the order leaves.", "dates.ships_on"),
    day("cured_on", "The finish is fully cured.", "dates.cured_on"),
    maybe(day("wanted_by", of=from_plan("order.dates.wanted_by"))),
    maybe(flag("feasible", "Whether the order leaves by the wanted day.", "dates.feasible")),
    maybe(whole("spare_days", "Days between leaving and the wanted day; negative is too late.", "dates.spare_days")),
    workshop(
        text("time_zone", "Workshop view.", from_plan("shop.calendar.time_zone")),
        one("hands_on_h", HOURS, "Workshop view: the whole order.", from_plan("hours")),
        one("ready", READY_DAYS, "Workshop view: ready by this day, hours slow or quick.", from_plan("ready")),
        texts(
            "critical_path",
            "Workshop view: codes of the steps that decide the day, each begun as soon as the one before lets it.",
            _critical_path,
        ),
        many(
            "remedies",
            WAY_OUT,
            "Workshop view: what would let a late order leave sooner, each tried by itself.",
            from_plan("ways_out"),
        ),
        many("steps", STEP, "Workshop view.", _steps),
    ),
)

COMPONENTS: Final = (HOURS, STEP, READY_DAYS, WAY_OUT, SCHEDULE)


_DAY_MIN: Final = 24 * 60
_EPOCH: Final = date(1970, 1, 1).toordinal()
_TIMES: Final = tuple(f"T{minute // 60:02}:{minute % 60:02}" for minute in range(_DAY_MIN))


class _Clock:
    """Local times with their offset, to the minute. A zone takes its time, so it is asked once or twice for a day."""

    def __init__(self, zone: ZoneInfo) -> None:
        self._zone = zone
        self._offsets: dict[int, tuple[int, str] | None] = {}

    def reading(self, moment: int) -> str:
        """A moment, minutes since 1970-01-01T00:00Z, as it is written."""
        day = moment // _DAY_MIN
        if day not in self._offsets:
            first, last = _offset(day * _DAY_MIN, self._zone), _offset((day + 1) * _DAY_MIN - 1, self._zone)
            self._offsets[day] = first if first == last else None  # a day on which the clock changes
        ahead_min, written = self._offsets[day] or _offset(moment, self._zone)
        at = moment + ahead_min
        return _day(at // _DAY_MIN) + _TIMES[at % _DAY_MIN] + written


@lru_cache(maxsize=1024)
def _day(since: int) -> str:
    return date.fromordinal(_EPOCH + since).isoformat()


@lru_cache(maxsize=1024)
def _offset(moment: int, zone: ZoneInfo) -> tuple[int, str]:
    """Minutes ahead of UTC, and how they are written."""
    found = datetime.fromtimestamp(moment * 60, zone)
    ahead = found.utcoffset()
    minutes = int(ahead.total_seconds()) // 60 if ahead is not None else 0
    return minutes, found.isoformat(timespec="minutes")[len("2027-02-08T07:30") :]
