"""Few pieces: the best plan of all there are."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from chequerwork.domain.stock.benches import Bench
from chequerwork.domain.stock.lattice import Cutup, Lattice, Sections, Selection, choose, cutups
from chequerwork.domain.stock.tasks import Solution, Task, UsedBoard, tidy, volume

FEW_POINTS: Final = 500  # of a lattice that is gone through whole
FEW_STEPS: Final = 400_000  # of the choice among its boards


def tried(task: Task, *, points: int = FEW_POINTS, steps: int = FEW_STEPS) -> Solution | None:
    """The best plan of all there are, or None where there are more than so many points and steps to try."""
    lattice = Lattice(task.wanted)
    copies = sum(min(count, sum(task.wanted)) for count in task.copies)
    if lattice.size > points or copies * lattice.size**2 > steps:
        return None
    chosen = choose(lattice, list(zip(task.copies, every_cutup(task, lattice), strict=True)))
    best = max(chosen, key=lambda point: (volume(task, lattice.counts(point)), -chosen[point].cost))
    found = tidy(task, list(uses_of(task, chosen[best])))
    return replace(found, bound=found.cost)


def every_cutup(task: Task, lattice: Lattice) -> list[list[Cutup]]:
    """All ways to cut each board."""
    made: dict[tuple[object, ...], Sections] = {}
    same: dict[tuple[object, ...], list[Bench]] = {}
    for _, bench in task.benches():
        same.setdefault(alike(bench), []).append(bench)
    for key, benches in same.items():
        longest_nm = max(span.room_nm for bench in benches for span in bench.spans)
        widest_nm = max(bench.width_nm for bench in benches)
        made[key] = Sections(lattice, benches[0], longest_nm=longest_nm, widest_nm=widest_nm)
    return [list(_cutups_of(task, lattice, ways, made)) for ways in task.boards]


def alike(bench: Bench) -> tuple[object, ...]:
    """What sections depend on, beside a board's size."""
    widths = (bench.in_bands, bench.strips_nm if bench.in_bands or bench.board.sheet else bench.band_nm)
    return (bench.blanks, bench.kerfs_nm, bench.jointing_nm, bench.min_length_nm, *widths)


def _cutups_of(
    task: Task, lattice: Lattice, ways: Sequence[Bench], made: dict[tuple[object, ...], Sections]
) -> Iterator[Cutup]:
    best: dict[int, Cutup] = {}
    for bench in ways:
        for cutup in cutups(lattice, bench, made[alike(bench)]):
            cost = cutup.cost + task.effort(cutup.content)
            if cutup.point not in best or cost < best[cutup.point].cost:
                best[cutup.point] = Cutup(cutup.point, cost, cutup.content, bench)
    return iter(best.values())


def uses_of(task: Task, choice: Selection) -> Iterator[UsedBoard]:
    """The boards of a choice."""
    step: Selection | None = choice
    while step is not None and step.cutup is not None:
        yield task.use(step.number, step.cutup.bench, step.cutup.content)
        step = step.before
