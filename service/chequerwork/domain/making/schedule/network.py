"""The steps of one order with what each waits for: the build's table, opened up by grades, coats and rounds."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from chequerwork.domain.basics.arithmetic import times
from chequerwork.domain.basics.facts import Adhesive, BuildStep, Finish, StepKind, Tables
from chequerwork.domain.basics.shop import Workflow
from chequerwork.domain.making.finishing import RATIO_MOST, ladder

COAT_PART, RUB_PART = 3.0, 1.0  # rubbing between coats takes a quarter of a coat's time (house)
FEET = "feet"  # the only step that hangs on a field of the order rather than on an operation
SCRATCH_POWER = 2.0  # time at a grade goes with the square of the size ratio (heuristic from memory: TRADE-GRIT)
WARMEST_C = 30.0  # a shop warmer than this is counted as this: no rule that we read goes farther (house)


class NetworkKey(NamedTuple):
    """Everything that decides which steps an order has and how long they wait; equal orders share one network."""

    operations: tuple[str, ...]  # that the board needs
    workflow: Workflow
    finish: str
    adhesive: str
    temperature_c: float  # of the workshop
    grades: tuple[str, str]  # last ones, top and underside
    glued: tuple[tuple[str, tuple[int, ...]], ...]  # steps with glue -> boards of each round
    feet: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class StepNode:
    """One step before it has a place in time."""

    code: str
    title: str
    after: tuple[str, ...]
    step: str  # of the build's table
    boards: int | None  # of a round of glue-ups
    round: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Network:
    """Steps in an order in which each comes after those it waits for; they are named by their place in it."""

    nodes: tuple[StepNode, ...]
    before: tuple[tuple[int, ...], ...]
    behind: tuple[tuple[int, ...], ...]
    waits_min: tuple[int, ...]  # after the hands leave it
    clamps_min: tuple[int, ...]  # how much of that in clamps
    coats: tuple[int, ...]  # number of the coat, 0 for any other step
    follows: tuple[bool, ...]  # whether it is a later round of the step before it
    at_once: tuple[bool, ...]  # glue or finish of one board, which closing time may not interrupt
    shares: tuple[tuple[str, tuple[tuple[int, float], ...]], ...]  # operation -> steps, each with the share up to it

    def minutes(self, operations: Mapping[str, int]) -> list[int]:
        """Hands-on minutes of every step; those of an operation add up to its own."""
        found = [0] * len(self.nodes)
        for operation, parts in self.shares:
            minutes = operations[operation]
            if len(parts) == 1:
                found[parts[0][0]] = minutes
                continue
            given = 0
            for index, share in parts:
                upto = int(minutes * share + 1e-9)
                found[index] = upto - given
                given = upto
        return found


def whole_minutes(hours: float) -> int:
    """Minutes that hold the hours, whole ones.

    Parameters
    ----------
    hours
        0 or more. Within a billionth of a whole minute it is one: no binary tail adds a minute.

    References
    ----------
    House: the work plan counts whole minutes.
    """
    return math.ceil(hours * 60 - 1e-9)


def cure_factor(temperature_c: float, reference_c: float, per_10c: float) -> float:
    """How many times as long a glue or a coat waits at a temperature as at that of its table.

    Parameters
    ----------
    temperature_c
        Of the workshop. [degC]
    reference_c
        At which the table's waits hold. [degC]
    per_10c
        How many times as long it takes 10 degC colder. [1 per 10 degC] 1 where temperature is not known to matter.

    References
    ----------
    CURE-RULE: half or twice the time for 12 degF, which is 2.83 for 10 degC. Other classes take the chemist's rule of
    thumb of 2 (MEM).
    """
    return float(per_10c ** ((reference_c - temperature_c) / 10))


def scratch_weight(ratio: float) -> float:
    """Time of sanding at a grade relative to that of a step which changes the size of the grain by nothing.

    Parameters
    ----------
    ratio
        Grain size of the grade before over that of this one.

    References
    ----------
    TRADE-GRIT: (D_prev / D_this) squared, a heuristic from memory; 80-120-180-220 gives 6.36 (A08).
    """
    return float(ratio**SCRATCH_POWER)


@lru_cache(maxsize=256)
def network(tables: Tables, key: NetworkKey) -> Network:
    """The network for a key. Steps that a board lacks are left out; what waits for them waits for those before them.

    References
    ----------
    TRADE-GLUE and TRADE-FINISH for the waits of adhesive and finish classes, GLUE-COLD for glue in a cold shop.
    """
    return _Opening(tables, key).network()


class _Draft(NamedTuple):
    """A step before the steps have their numbers."""

    node: StepNode
    wait_min: int
    clamp_min: int
    coat: int
    operation: str | None
    weight: float


class _Opening:
    """One pass through the build's table. Steps of one row follow each other, rounds stand side by side."""

    def __init__(self, tables: Tables, key: NetworkKey) -> None:
        self.tables, self.key = tables, key
        self.drafts: list[_Draft] = []
        self.last: dict[str, tuple[str, ...]] = {}  # row -> codes of its last steps, for those behind it
        self.rounds: dict[str, list[tuple[str, int, int]]] = {}  # row -> its rounds with their boards, from ... up to
        adhesive = tables.adhesives[key.adhesive]
        slow = slowing(adhesive, key.temperature_c)
        self.machine_min = whole_minutes(times(adhesive.machine_after_h, slow))
        self.clamp_min = whole_minutes(times(adhesive.clamp_h, slow))
        self.coat_slow = slowing(tables.finishes[key.finish], key.temperature_c)

    def network(self) -> Network:
        """Every row in turn, then the arcs by number."""
        after = {row.code: row.after for row in self.tables.steps.values()} | dict(self.key.workflow.after)
        nearest: dict[str, tuple[str, ...]] = {}  # row -> itself where it is needed, else what it would have waited for
        above: dict[str, frozenset[str]] = {}
        for code in sorted_steps(after):
            row = self.tables.steps[code]
            found = dict.fromkeys(name for before in after[code] for name in nearest[before])
            far = frozenset[str]().union(*(above[name] for name in found))
            near = tuple(name for name in found if name not in far)
            nearest[code], above[code] = near, far.union(near)
            if self._needed(row):
                nearest[code] = (code,)
                self.last[code] = self._opened(row, near)
        return self._numbered()

    def _needed(self, row: BuildStep) -> bool:
        if row.kind is StepKind.REST:
            return self.key.workflow.acclimatise_days > 0
        return row.operation in self.key.operations and (row.code != FEET or self.key.feet)

    def _opened(self, row: BuildStep, near: tuple[str, ...]) -> tuple[str, ...]:
        """The steps of a row behind those of the rows ``near``; codes of the last ones."""
        if row.kind is StepKind.GLUE:
            return tuple(self._rounds(row, near))
        before = tuple(last for name in near for last in self.last[name])
        match row.kind:
            case StepKind.GRADES:
                return self._chain(row, before, self._grades(row))
            case StepKind.COATS:
                return self._chain(row, before, self._coats(row))
            case _:
                rest_min = self.key.workflow.acclimatise_days * 24 * 60 if row.kind is StepKind.REST else 0
                return self._chain(row, before, iter([(row.code, row.title, row.part, rest_min, 0)]))

    def _chain(
        self, row: BuildStep, before: tuple[str, ...], parts: Iterator[tuple[str, str, float, int, int]]
    ) -> tuple[str, ...]:
        for code, title, weight, wait_min, coat in parts:
            node = StepNode(code=code, title=title, after=before, step=row.code, boards=None, round=None)
            self.drafts.append(_Draft(node, wait_min, 0, coat, row.operation, weight))
            before = (code,)
        return before

    def _rounds(self, row: BuildStep, near: tuple[str, ...]) -> Iterator[str]:
        """A round waits for the rounds before in which its own boards were; a base that is screwed on cures nothing."""
        boards = dict(self.key.glued).get(row.code, ())
        several, upto = len(boards) > 1, 0
        self.rounds[row.code] = []
        for number, count in enumerate(boards or (0,), start=1):
            first, upto = upto, upto + count
            node = StepNode(
                code=f"{row.code}_{number}" if several else row.code,
                title=f"{row.title} ({number} of {len(boards)})" if several else row.title,
                after=tuple(code for name in near for code in self._with(name, first, upto)),
                step=row.code,
                boards=count or None,
                round=number if boards else None,
            )
            part = row.part * (count / sum(boards) if boards else 1.0)
            waits_min = (self.machine_min, self.clamp_min) if boards else (0, 0)
            self.drafts.append(_Draft(node, *waits_min, 0, row.operation, part))
            self.rounds[row.code].append((node.code, first, upto))
            yield node.code

    def _with(self, row: str, first: int, upto: int) -> tuple[str, ...]:
        """Steps of a row in which these boards are."""
        rounds = self.rounds.get(row, ())
        if len(rounds) < 2:
            return self.last[row]
        return tuple(code for code, begin, end in rounds if begin < upto and first < end)

    def _grades(self, row: BuildStep) -> Iterator[tuple[str, str, float, int, int]]:
        """Top and underside weigh alike; the first grade counts as one full step, from the marks of the machines."""
        weights: dict[str, float] = {}
        for last in self.key.grades:
            for grade in ladder(self.tables, last):
                weight = scratch_weight(grade.ratio or RATIO_MOST)
                weights[grade.grade] = weights.get(grade.grade, 0.0) + weight
        sizes_um = self.tables.abrasives
        for grade_name in sorted(weights, key=lambda name: -sizes_um[name].particle_um):
            yield f"{row.code}_{grade_name.lower()}", row.title.format(grade_name), weights[grade_name], 0, 0

    def _coats(self, row: BuildStep) -> Iterator[tuple[str, str, float, int, int]]:
        finish = self.tables.finishes[self.key.finish]
        for number in range(1, finish.coats + 1):
            if finish.between_coats and number > 1:
                yield f"rub_{number}", f"Rub with {finish.between_coats} before coat {number}", RUB_PART, 0, 0
            wait_h = finish.recoat_h if number < finish.coats else finish.handle_h
            wait_min = whole_minutes(times(wait_h, self.coat_slow))
            yield f"coat_{number}", row.title.format(number, finish.coats), COAT_PART, wait_min, number

    def _numbered(self) -> Network:
        places = {draft.node.code: index for index, draft in enumerate(self.drafts)}
        before = [tuple(places[code] for code in draft.node.after) for draft in self.drafts]
        behind: list[list[int]] = [[] for _ in before]
        for place, others in enumerate(before):
            for other in others:
                behind[other].append(place)
        single = any(boards == (1,) for _, boards in self.key.glued)
        return Network(
            nodes=tuple(draft.node for draft in self.drafts),
            before=tuple(before),
            behind=tuple(map(tuple, behind)),
            waits_min=tuple(draft.wait_min for draft in self.drafts),
            clamps_min=tuple(draft.clamp_min for draft in self.drafts),
            coats=tuple(draft.coat for draft in self.drafts),
            follows=tuple((draft.node.round or 0) > 1 for draft in self.drafts),
            at_once=tuple(draft.node.boards == 1 or (single and draft.coat > 0) for draft in self.drafts),
            shares=tuple(self._shares()),
        )

    def _shares(self) -> Iterator[tuple[str, tuple[tuple[int, float], ...]]]:
        for operation in self.key.operations:
            parts = [(index, draft.weight) for index, draft in enumerate(self.drafts) if draft.operation == operation]
            whole, upto, shares = sum(weight for _, weight in parts), 0.0, []
            for index, weight in parts:
                upto += weight
                shares.append((index, 1.0 if index == parts[-1][0] else upto / whole))
            yield operation, tuple(shares)


def slowing(cures: Adhesive | Finish, temperature_c: float) -> float:
    """How many times as long a glue or a finish waits in a workshop of this temperature as in its table."""
    return cure_factor(**curing(cures, temperature_c))


def curing(cures: Adhesive | Finish, temperature_c: float) -> dict[str, float]:
    """What ``cure_factor`` takes of a glue or a finish in a workshop of this temperature."""
    return {
        "temperature_c": min(temperature_c, WARMEST_C),
        "reference_c": cures.reference_temperature_c,
        "per_10c": cures.per_10c,
    }


def sorted_steps(after: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Steps in an order in which each comes after those it waits for, otherwise as given; without those on a circle."""
    placed: dict[str, None] = {}
    left = list(after)
    while left:
        ready = next((code for code in left if all(name in placed for name in after[code])), None)
        if ready is None:
            break
        placed[ready] = None
        left.remove(ready)
    return tuple(placed)


def circle_of(after: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """Steps that wait for each other in a circle, each for the one named after it; empty where there is none."""
    placed = frozenset(sorted_steps(after))
    stuck = [code for code in after if code not in placed]
    if not stuck:
        return ()
    path = [stuck[0]]
    while True:
        following = next(name for name in after[path[-1]] if name not in placed)
        if following in path:
            return tuple(path[path.index(following) :])
        path.append(following)
