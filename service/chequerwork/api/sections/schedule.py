"""Dates; for the maker the dated work plan."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from chequerwork.api.answer_fields import day, kind, lacking, many, num, ref, text, whole
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.making.schedule import Step, clamps_of
from chequerwork.domain.plan import Plan

_CODES: Final = kind("array", "Codes of the steps before.", items={"type": "string"})
SHAPES: Final[Mapping[str, Fields]] = {
    "Hours": {
        "expected": num("The mean: what many such orders take on average."),
        "p50": num("Exceeded in every second order."),
        "p80": num("Exceeded in one order of five."),
        "p95": num("Exceeded in one order of twenty."),
        "sd": num("Standard deviation."),
        "correlation": num("The shop's: how far a slow day slows every operation, 0 to 1."),
    },
    "Step": {
        "code": text(),
        "title": text(),
        "after": _CODES,
        "starts_at": kind("string", "Local time with its offset, to the minute."),
        "ends_at": kind("string", "Local time with its offset, to the minute."),
        "hands_on_min": whole(),
        "waiting_min": whole("After the hands leave it."),
        "float_min": whole(
            "Working time by which it alone may slip before the order is packed later; a night after a cure counts."
        ),
        "critical": kind("boolean", "Whether it is on the critical path."),
        "clamps": kind(["integer", "null"], "Of all boards glued at once; null where nothing is clamped."),
        "boards": kind(["integer", "null"], "Boards of this glue-up; null for a step without clamps."),
        "round": kind(["integer", "null"], "Which of the rounds that the shop's clamps make of a glue-up."),
    },
    "ReadyDays": {
        "p50": day("In one order of two."),
        "p80": day("In four orders of five."),
        "p95": day("In nineteen orders of twenty."),
    },
    "WayOut": {
        "code": text(),
        "text": text(),
        "ships_on": day("With this change."),
        "feasible": kind("boolean", "Whether that is by the wanted day."),
        "boards": whole("That leave on that day."),
    },
    "Schedule": {
        "starts_on": day(),
        "ready_on": day(),
        "ships_on": day("The earliest day on which the order leaves."),
        "cured_on": day("The finish is fully cured."),
        "wanted_by": kind(["string", "null"], "", format="date"),
        "feasible": kind(["boolean", "null"], "Whether the order leaves by the wanted day."),
        "spare_days": kind(["integer", "null"], "Days between leaving and the wanted day; negative is too late."),
        "time_zone": ref({"type": "string"}, "Workshop view.", required=False),
        "hands_on_h": lacking("Hours", "Workshop view: the whole order."),
        "ready": lacking("ReadyDays", "Workshop view: ready by this day, hours slow or quick."),
        "critical_path": ref(
            {"type": "array", "items": {"type": "string"}},
            "Workshop view: codes of the steps that decide the day, each begun as soon as the one before lets it.",
            required=False,
        ),
        "remedies": many(
            "WayOut", "Workshop view: what would let a late order leave sooner, each tried by itself.", required=False
        ),
        "steps": many("Step", "Workshop view.", required=False),
    },
}


def view(plan: Plan, caller: Audience) -> Tree:
    """The section as a tree, as far as the caller may see it."""
    found = plan.schedule
    tree: Tree = {
        "starts_on": found.starts_on.isoformat(),
        "ready_on": found.ready_on.isoformat(),
        "ships_on": found.ships_on.isoformat(),
        "cured_on": found.cured_on.isoformat(),
        "wanted_by": plan.order.dates.wanted_by.isoformat() if plan.order.dates.wanted_by else None,
        "feasible": found.dates.feasible,
        "spare_days": found.spare_days,
    }
    if caller is not Audience.WORKSHOP:
        return tree
    hours, ready, slack = plan.hours, plan.ready, plan.slack
    nodes = found.placement.network.nodes
    tree["time_zone"] = plan.shop.calendar.time_zone
    tree["hands_on_h"] = {
        "expected": round(hours.expected_h, 2),
        "p50": round(hours.p50_h, 2),
        "p80": round(hours.p80_h, 2),
        "p95": round(hours.p95_h, 2),
        "sd": round(hours.sd_h, 2),
        "correlation": hours.correlation,
    }
    tree["ready"] = {"p50": ready.p50.isoformat(), "p80": ready.p80.isoformat(), "p95": ready.p95.isoformat()}
    on_path = frozenset(slack.path)
    tree["critical_path"] = [nodes[place].code for place in slack.path]
    tree["remedies"] = [
        {
            "code": way.code,
            "text": way.text,
            "ships_on": way.ships_on.isoformat(),
            "feasible": way.feasible,
            "boards": way.boards,
        }
        for way in plan.ways_out
    ]
    tree["steps"] = _steps(plan, found.steps, [(slack.float_min[place], place in on_path) for place in found.order])
    return tree


def _steps(plan: Plan, steps: Sequence[Step], slips: Sequence[tuple[int, bool]]) -> list[Tree]:
    clamps = {step.code: clamps_of(step, plan.glue_ups) for step in plan.tables.glued_steps}
    clock = _Clock(plan.schedule.zone)
    return [
        {
            "code": step.code,
            "title": step.title,
            "after": list(step.after),
            "starts_at": clock.reading(step.begin_min),
            "ends_at": clock.reading(step.end_min),
            "hands_on_min": step.hands_on_min,
            "waiting_min": step.waiting_min,
            "float_min": float_min,
            "critical": critical,
            "clamps": step.boards * clamps[step.step] if step.boards else None,
            "boards": step.boards,
            "round": step.round,
        }
        for step, (float_min, critical) in zip(steps, slips, strict=True)
    ]


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
