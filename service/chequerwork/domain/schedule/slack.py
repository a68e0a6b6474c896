"""How much later each step may come without the build ending later, and the chain of steps that decides its end."""

from bisect import insort
from collections.abc import Iterator
from dataclasses import dataclass

from chequerwork.domain.schedule.placing import Placement, Pool, end_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Slack:
    """``float_min`` of every step, and the steps that follow each other without a gap up to the last one.

    The float is total float in working time, the order on hands and clamps kept: what a step may slip alone before
    the build ends later. Where a cure ends at night, the steps before it have what the night leaves, so a step of
    the path may have some.
    """

    float_min: tuple[int, ...]
    path: tuple[int, ...]


def slack_of(placement: Placement) -> Slack:
    """Backward pass over a placement: latest begins first, then the chain that drives the last step.

    References
    ----------
    CPM: total float is latest less earliest begin; here with the calendar and with arcs for what steps share.
    """
    follow = list(_shared(placement))
    latest = _latest(placement, follow)
    return Slack(
        float_min=tuple(late - early for late, early in zip(latest, placement.begins, strict=True)),
        path=tuple(_driving(placement, follow)),
    )


_Arc = tuple[int, int, int]  # step, the step behind it, wait between them [min]


def _shared(placement: Placement) -> Iterator[_Arc]:
    """Arcs from what steps share: each pair of hands in its order, clamps as they are handed on."""
    by_begin = _by_begin(placement)
    last: dict[int, int] = {}
    endless = placement.means.hands >= len(by_begin)  # a pair for every step: none waits for another's
    for step in by_begin:
        hand = placement.hand[step]
        if hand >= 0 and not endless:
            if hand in last:
                yield last[hand], step, 0
            last[hand] = step
    for pool in placement.means.pools:
        yield from _handed_on(placement, pool, by_begin)


def _handed_on(placement: Placement, pool: Pool, by_begin: list[int]) -> Iterator[_Arc]:
    """Clamps that come off first are used first."""
    free: list[tuple[int, int, int]] = [(0, -1, pool.size)]  # free from, who had them, how many
    clamps_min = placement.network.clamps_min
    for step in by_begin:
        need = pool.need[step]
        while need:
            since, owner, count = free.pop(0)
            if owner >= 0:
                yield owner, step, clamps_min[owner]
            if count > need:
                free.insert(0, (since, owner, count - need))
            need -= min(count, need)
        if pool.need[step]:
            insort(free, (placement.ends_at(step) + clamps_min[step], step, pool.need[step]))


def _latest(placement: Placement, follow: list[_Arc]) -> list[int]:
    """Latest begin of every step in working time."""
    network, time, minutes = placement.network, placement.time, placement.minutes
    end = max(placement.ends)
    latest = [end - need for need in minutes]
    behind: list[list[tuple[int, int]]] = [
        [(other, wait) for other in others] for others, wait in zip(network.behind, network.waits_min, strict=True)
    ]
    for step, other, wait in follow:
        behind[step].append((other, wait))
    coats = [step for step, number in enumerate(network.coats) if number]
    later_coat = dict(zip(coats, coats[placement.means.coats_a_day :], strict=False))
    for step in reversed(_by_begin(placement)):
        need, found = minutes[step], end
        for other, wait in behind[step]:
            begin = latest[other]
            if wait:
                begin = _over_by(placement, step, time.begins(begin) - wait)
            if begin < found:  # noqa: PLR1730 - a call costs half as much again
                found = begin
        found -= need
        if step in later_coat:
            found = min(found, time.same_day(latest[later_coat[step]]) - 1)
        latest[step] = found
    return latest


def _over_by(placement: Placement, step: int, moment: int) -> int:
    """Latest end of a step in working time so that it is over at a moment."""
    worked = placement.time.worked_by(moment)
    if not placement.minutes[step] and placement.time.begins(worked) > moment:
        return worked - 1  # without hands it is over where it begins, not at the close before
    return worked


def _driving(placement: Placement, follow: list[_Arc]) -> list[int]:
    """Backwards from the last step, each time to the one that keeps it from beginning earlier."""
    network, time = placement.network, placement.time
    shared: dict[int, list[tuple[int, int]]] = {}
    for step, other, wait in follow:
        shared.setdefault(other, []).append((step, wait))
    coats = [step for step, number in enumerate(network.coats) if number]
    coat_before = dict(zip(coats[placement.means.coats_a_day :], coats, strict=False))
    step = max(range(len(placement.ends)), key=lambda place: (placement.ends[place], place))
    path = [step]
    while True:
        begin = placement.begins[step]
        drivers = [other for other in network.before[step] if placement.ready[other] == begin]
        for other, wait in shared.get(step, ()):
            if time.worked_by(end_of(time, placement.begins[other], placement.minutes[other]) + wait) == begin:
                drivers.append(other)
        if not drivers and step in coat_before and time.next_day(placement.begins[coat_before[step]]) == begin:
            drivers.append(coat_before[step])
        if not drivers:
            return path[::-1]
        step = drivers[0]
        path.append(step)


def _by_begin(placement: Placement) -> list[int]:
    return sorted(range(len(placement.begins)), key=placement.begins.__getitem__)
