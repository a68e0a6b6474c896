"""Networks and working weeks for tests of the work plan, made without an order."""

from datetime import date, datetime
from typing import NamedTuple
from zoneinfo import ZoneInfo

from builders import altered, demo_shops

from chequerwork.domain.making.schedule.network import Network, StepNode
from chequerwork.domain.making.schedule.placing import Resources, place
from chequerwork.domain.making.schedule.working import local, working_time

ROUND_THE_CLOCK = (((0, 24 * 60),),) * 7


def a_calendar(**changes):
    """A shop that is always open, in UTC and without days off, after changes."""
    always = {"time_zone": "UTC", "windows": ROUND_THE_CLOCK, "holidays": frozenset(), "free_from": None}
    return altered(demo_shops()["moosgrund"].calendar, **{**always, **changes})


def a_network(steps, coats=(), clamps_min=(), at_once=()):
    """A network of {code: (wait, codes before)}, each code after those it names."""
    codes = list(steps)
    before = tuple(tuple(codes.index(name) for name in names) for _, names in steps.values())
    behind = tuple(tuple(i for i, names in enumerate(before) if step in names) for step in range(len(codes)))
    return Network(
        nodes=tuple(
            StepNode(code=code, title=code, after=names, step=code, boards=None, round=None)
            for code, (_, names) in steps.items()
        ),
        before=before,
        behind=behind,
        waits_min=tuple(wait for wait, _ in steps.values()),
        clamps_min=tuple(clamps_min) or (0,) * len(codes),
        coats=tuple(coats) or (0,) * len(codes),
        follows=(False,) * len(codes),
        at_once=tuple(at_once) or (False,) * len(codes),
        shares=(),
    )


def placed(network, minutes, *, calendar=None, hands=None, pools=(), coats_a_day=99, days=4096, start=0):
    """The network placed from 1 January 2027 on, by default round the clock and with a pair of hands for every step."""
    time = working_time(calendar or a_calendar(), date(2027, 1, 1), days)
    means = Resources(hands or len(minutes), coats_a_day, tuple(pools))
    return place(network, list(minutes), time, start, means)


class DatedStep(NamedTuple):
    """One step of a work plan in its place; ``waiting_min`` runs after it ends, through nights and days off.

    Moments are minutes since 1970-01-01T00:00Z; ``starts_at`` and ``ends_at`` are the same by the shop's clock.
    """

    code: str
    after: tuple[str, ...]
    begin_min: int
    end_min: int
    hands_on_min: int
    waiting_min: int
    boards: int | None
    round: int | None
    step: str
    zone: ZoneInfo

    @property
    def starts_at(self) -> datetime:
        return local(self.begin_min, self.zone)

    @property
    def ends_at(self) -> datetime:
        return local(self.end_min, self.zone)


def steps_of(schedule):
    """Every step of a work plan, in the order in which they begin."""
    found = schedule.placement
    return tuple(
        DatedStep(
            node.code,
            node.after,
            found.begins_at(place),
            found.ends_at(place),
            found.minutes[place],
            found.network.waits_min[place],
            node.boards,
            node.round,
            node.step,
            schedule.zone,
        )
        for place in schedule.order
        for node in (found.network.nodes[place],)
    )
