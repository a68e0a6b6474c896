"""How much later each step may come without the build ending later, and the chain of steps that decides its end."""

from bisect import insort
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from chequerwork.domain.making.schedule.placing import Placement, Pool


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
    by_begin = sorted(range(len(placement.begins)), key=placement.begins.__getitem__)
    handed = [arc for pool in placement.means.pools for arc in _handed_on(placement, pool, by_begin)]
    latest = _latest(placement, by_begin, handed)
    return Slack(
        float_min=tuple([late - early for late, early in zip(latest, placement.begins, strict=True)]),
        path=tuple(_driving(placement, by_begin, handed)),
    )


_Arc = tuple[int, int]  # a step, and one behind it that takes over its clamps


def _handed_on(placement: Placement, pool: Pool, by_begin: list[int]) -> Iterator[_Arc]:
    """Clamps that come off first are used first."""
    free: list[tuple[int, int, int]] = [(0, -1, pool.size)]  # free from, who had them, how many
    clamps_min = placement.network.clamps_min
    for step in by_begin:
        need = pool.need[step]
        while need:
            since, owner, count = free.pop(0)
            if owner >= 0:
                yield owner, step
            if count > need:
                free.insert(0, (since, owner, count - need))
            need -= min(count, need)
        if pool.need[step]:
            insort(free, (placement.ends_at(step) + clamps_min[step], step, pool.need[step]))


def _latest(placement: Placement, by_begin: list[int], handed: list[_Arc]) -> list[int]:
    """Latest begin of every step in working time."""
    network, time, minutes, hand = placement.network, placement.time, placement.minutes, placement.hand
    end, endless = max(placement.ends), placement.means.hands >= len(minutes)  # a pair for every step: none waits
    latest, on_hand = [end] * len(minutes), [end] * (placement.means.hands + 1)
    takers: dict[int, list[int]] = {}
    for step, other in handed:
        takers.setdefault(step, []).append(other)
    coats = [step for step, number in enumerate(network.coats) if number]
    later_coat = dict(zip(coats, coats[placement.means.coats_a_day :], strict=False))
    for step in reversed(by_begin):
        found = _latest_end(placement, step, latest, takers.get(step, ()))
        if hand[step] and not endless:
            found = min(found, on_hand[hand[step]])
        found -= minutes[step]
        if step in later_coat:
            found = min(found, time.same_day(latest[later_coat[step]]) - 1)
        if network.at_once[step]:
            found = time.unbroken_before(found, minutes[step])
        if hand[step] and not endless:
            on_hand[hand[step]] = found
        latest[step] = found
    return latest


def _latest_end(placement: Placement, step: int, latest: list[int], takers: Sequence[int]) -> int:
    """Latest end of a step's hands-on time that lets what waits for it, or takes its clamps, begin in time."""
    network, time = placement.network, placement.time
    found = latest[step]  # the end of the build, as long as nothing is known
    for other in network.behind[step]:
        if latest[other] < found:  # noqa: PLR1730 - as in placing
            found = latest[other]
    if network.waits_min[step] and network.behind[step]:
        found = _over_by(placement, step, time.begins(found) - network.waits_min[step])
    for other in takers:
        found = min(found, _over_by(placement, step, time.begins(latest[other]) - network.clamps_min[step]))
    return found


def _over_by(placement: Placement, step: int, moment: int) -> int:
    """Latest end of a step in working time so that it is over at a moment."""
    worked = placement.time.worked_by(moment)
    if not placement.minutes[step] and placement.time.begins(worked) > moment:
        return worked - 1  # without hands it is over where it begins, not at the close before
    return worked


def _driving(placement: Placement, by_begin: list[int], handed: list[_Arc]) -> list[int]:
    """Backwards from the last step, each time to the one that keeps it from beginning earlier."""
    network, begins = placement.network, placement.begins
    on_hand: dict[tuple[int, int], int] = {
        (hand, end): step for step, (hand, end) in enumerate(zip(placement.hand, placement.ends, strict=True))
    }
    givers: dict[int, list[int]] = {}
    for step, other in handed:
        givers.setdefault(other, []).append(step)
    coats = [step for step, number in enumerate(network.coats) if number]
    coat_before = dict(zip(coats[placement.means.coats_a_day :], coats, strict=False))
    step = max(by_begin, key=lambda place: (placement.ends[place], place))
    path = [step]
    while True:
        drivers = [other for other in network.before[step] if _lets_begin(placement, step, placement.ready[other])]
        if placement.hand[step] and (placement.hand[step], begins[step]) in on_hand:
            drivers.append(on_hand[placement.hand[step], begins[step]])
        drivers += [other for other in givers.get(step, ()) if _lets_begin(placement, step, _off_by(placement, other))]
        if step in coat_before and placement.time.next_day(begins[coat_before[step]]) == begins[step]:
            drivers.append(coat_before[step])
        if not drivers and network.at_once[step]:
            drivers = _kept_waiting(placement, step)
        if not drivers:
            return path[::-1]
        step = drivers[0]
        path.append(step)


def _lets_begin(placement: Placement, step: int, free: int) -> bool:
    """Whether a step begins as soon as something is over, in working time; one done at once waits for the hours too."""
    if placement.network.at_once[step]:
        free = placement.time.unbroken(free, placement.minutes[step])
    return free == placement.begins[step]


def _kept_waiting(placement: Placement, step: int) -> list[int]:
    """What the same hands did last before a step that is done at once, where it left too little of the day."""
    before = [
        other
        for other, hand in enumerate(placement.hand)
        if hand == placement.hand[step] and placement.ends[other] <= placement.begins[step] and other != step
    ]
    last = max(before, key=placement.ends.__getitem__, default=None)
    return [last] if last is not None and _lets_begin(placement, step, placement.ends[last]) else []


def _off_by(placement: Placement, step: int) -> int:
    """When the clamps of a step come off, in working time."""
    return placement.time.worked_by(placement.ends_at(step) + placement.network.clamps_min[step])
