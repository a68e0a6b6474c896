"""Dates; for the maker the dated work plan."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Final

from chequerwork.api.answer_fields import day, kind, lacking, many, num, ref, text, whole
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.advice import Audience
from chequerwork.domain.plan import Plan

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
        "after": kind("array", "Codes of the steps before.", items={"type": "string"}),
        "starts_at": kind("string", "Local time with its offset, to the minute."),
        "ends_at": kind("string", "Local time with its offset, to the minute."),
        "hands_on_min": whole(),
        "waiting_min": whole("After the hands leave it."),
    },
    "Schedule": {
        "starts_on": day(),
        "ready_on": day(),
        "ships_on": day(),
        "cured_on": day("The finish is fully cured."),
        "wanted_by": kind(["string", "null"], "", format="date"),
        "spare_days": kind(["integer", "null"], "Days between leaving and the wanted day; negative is too late."),
        "time_zone": ref({"type": "string"}, "Workshop view.", required=False),
        "hands_on_h": lacking("Hours", "Workshop view: the whole order."),
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
        "wanted_by": plan.order.wanted_by.isoformat() if plan.order.wanted_by else None,
        "spare_days": found.spare_days,
    }
    if caller is not Audience.WORKSHOP:
        return tree
    hours = plan.hours
    tree["time_zone"] = plan.shop.calendar.time_zone
    tree["hands_on_h"] = {
        "expected": round(hours.expected_h, 2),
        "p50": round(hours.p50_h, 2),
        "p80": round(hours.p80_h, 2),
        "p95": round(hours.p95_h, 2),
        "sd": round(hours.sd_h, 2),
        "correlation": hours.correlation,
    }
    offsets: dict[timedelta | None, str] = {}
    tree["steps"] = [
        {
            "code": step.code,
            "title": step.title,
            "after": list(step.after),
            "starts_at": _clock(step.starts_at, offsets),
            "ends_at": _clock(step.ends_at, offsets),
            "hands_on_min": step.hands_on_min,
            "waiting_min": step.waiting_min,
        }
        for step in found.steps
    ]
    return tree


def _clock(moment: datetime, offsets: dict[timedelta | None, str]) -> str:
    """Local time with its offset, to the minute; the offset is written once, which a zone takes its time for."""
    offset = moment.utcoffset()
    if offset not in offsets:
        offsets[offset] = moment.isoformat(timespec="minutes")[len("2027-02-08T07:30") :]
    return moment.replace(tzinfo=None).isoformat(timespec="minutes") + offsets[offset]
