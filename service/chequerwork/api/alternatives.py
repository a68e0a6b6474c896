"""An order in which fields are lists of alternatives: how many combinations there are, and each of them by its number.

Nothing is multiplied out. A tree of the raw request knows how many plain values it stands for, makes any one of them by
its number (the last list of the request changes fastest), and says where in the request a place of it stands.
"""

import bisect
import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

from chequerwork.api.schemas import MOST_LINES
from chequerwork.domain.basics.errors import Fault, Path

LINES: Final = ("lines",)  # the one field that is a list by itself: its alternatives are lists
_NAMED: Final = 5  # lists that a message names
_COUNTED: Final = 10**15  # nobody reads a longer number


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """A list of alternatives."""

    at: Path  # in the request
    size: int  # plain values that its alternatives stand for
    firsts: tuple[int, ...]  # number of the first plain value of each alternative, all else at its first
    sizes: tuple[int, ...]  # plain values of each alternative


class Node(Protocol):
    """A part of a raw request."""

    @property
    def size(self) -> int:
        """How many plain values it stands for."""

    def at(self, number: int) -> Any:
        """One of them. 0 to size - 1."""

    def place(self, number: int, inner: Path) -> Path:
        """Where in the request a place inside that plain value stands."""

    def probes(self) -> Iterator[int]:
        """Numbers enough to see everything that is given at least once; as many as there are alternatives in all."""

    def lists(self, at: Path, first: int = 0, weight: int = 1) -> Iterator[Listed]:
        """Every list of alternatives. ``first`` is the number of the whole request's plain value with this part's
        first; the part's next one is ``weight`` further."""


@dataclass(frozen=True, slots=True)
class Single:
    """A value as it is."""

    value: Any
    size: int = 1

    def at(self, _: int) -> Any:
        """The value."""
        return self.value

    def place(self, _: int, inner: Path) -> Path:
        """The same place."""
        return inner

    def probes(self) -> Iterator[int]:
        """The one."""
        yield 0

    def lists(self, at: Path, first: int = 0, weight: int = 1) -> Iterator[Listed]:  # noqa: ARG002
        """None."""
        return iter(())


@dataclass(frozen=True, slots=True)
class OneOf:
    """A list of alternatives, one after the other."""

    options: tuple[Node, ...]
    before: tuple[int, ...]  # plain values of all alternatives in front of each
    size: int

    def _option(self, number: int) -> tuple[int, int]:
        """Which alternative, and which of its plain values."""
        index = bisect.bisect_right(self.before, number) - 1
        return index, number - self.before[index]

    def at(self, number: int) -> Any:
        """The plain value of one alternative."""
        index, number = self._option(number)
        return self.options[index].at(number)

    def place(self, number: int, inner: Path) -> Path:
        """Behind the alternative's index."""
        index, number = self._option(number)
        return (index, *self.options[index].place(number, inner))

    def probes(self) -> Iterator[int]:
        """All of every alternative."""
        for before, option in zip(self.before, self.options, strict=True):
            yield from (before + number for number in option.probes())

    def lists(self, at: Path, first: int = 0, weight: int = 1) -> Iterator[Listed]:
        """This one, and those inside."""
        sizes = tuple(option.size for option in self.options)
        firsts = tuple(first + before * weight for before in self.before)
        yield Listed(at=at, size=self.size, firsts=firsts, sizes=sizes)
        for index, option in enumerate(self.options):
            yield from option.lists((*at, index), firsts[index], weight)


@dataclass(frozen=True, slots=True)
class Parts:
    """An object, or the list of lines: every part by itself, the last changing fastest."""

    keys: tuple[str | int, ...]
    parts: tuple[Node, ...]
    size: int

    def _numbers(self, number: int) -> list[int]:
        """The number of each part."""
        numbers = [0] * len(self.parts)
        for index in range(len(self.parts) - 1, -1, -1):
            number, numbers[index] = divmod(number, self.parts[index].size)
        return numbers

    def at(self, number: int) -> Any:
        """The object or list with one plain value for each part."""
        values = [part.at(n) for part, n in zip(self.parts, self._numbers(number), strict=True)]
        return values if self.keys[:1] == (0,) else dict(zip(self.keys, values, strict=True))

    def place(self, number: int, inner: Path) -> Path:
        """Inside the part; a part that is lacking stays where it would be."""
        if not inner or inner[0] not in self.keys:
            return inner
        index = self.keys.index(inner[0])
        return (inner[0], *self.parts[index].place(self._numbers(number)[index], inner[1:]))

    def probes(self) -> Iterator[int]:
        """Each part's own, the others at their first."""
        yield 0
        weight = self.size
        for part in self.parts:
            weight //= part.size
            yield from (number * weight for number in part.probes() if number)

    def lists(self, at: Path, first: int = 0, weight: int = 1) -> Iterator[Listed]:
        """Those of every part."""
        weight *= self.size
        for key, part in zip(self.keys, self.parts, strict=True):
            weight //= part.size
            yield from part.lists((*at, key), first, weight)


def read_alternatives(value: Any, at: Path, faults: list[Fault]) -> Node:
    """The tree of one part of a request.

    Parameters
    ----------
    value
        As sent.
    at
        Its place.
    faults
        Lists without any alternative are added here, with the code ``too-few``.
    """
    if isinstance(value, dict) and value:
        return _parts(tuple(value), [read_alternatives(v, (*at, k), faults) for k, v in value.items()])
    if not isinstance(value, list):
        return Single(value)
    if at == LINES and not any(isinstance(each, list) for each in value):
        return _lines(value, at, faults)
    if not value:
        detail = "This list holds no alternative. Give one at least, or leave the field out."
        faults.append(Fault(at=at, code="too-few", detail=detail))
        return Single(value)
    options = tuple(_option(each, (*at, index), at, faults) for index, each in enumerate(value))
    *before, size = itertools.accumulate((option.size for option in options), initial=0)
    return OneOf(options, tuple(before), size)


def _option(value: Any, at: Path, above: Path, faults: list[Fault]) -> Node:
    if isinstance(value, list):
        # A list in a list of alternatives is none; only lines are lists, and whoever reads them says so.
        return _lines(value, at, faults) if above == LINES else Single(value)
    return read_alternatives(value, at, faults)


def _lines(value: list[Any], at: Path, faults: list[Fault]) -> Node:
    if not 0 < len(value) <= MOST_LINES:
        return Single(value)  # no lines, or more than the reader takes
    return _parts(tuple(range(len(value))), [read_alternatives(v, (*at, i), faults) for i, v in enumerate(value)])


def _parts(keys: tuple[str | int, ...], parts: Sequence[Node]) -> Parts:
    return Parts(keys, tuple(parts), math.prod(part.size for part in parts))


# Columns --------------------------------------------------------------------------------------------------------------


def varied(node: Node, at: Path) -> Iterator[Path]:
    """Places of a plain order whose values differ, or may: a column for each; lines are one place."""
    if isinstance(node, OneOf):
        yield from dict.fromkeys(leaf for option in node.options for leaf in _leaves(option, at))
    elif isinstance(node, Parts) and at == LINES:
        if node.size > 1:
            yield at
    elif isinstance(node, Parts):
        for key, part in zip(node.keys, node.parts, strict=True):
            yield from varied(part, (*at, key))


def _leaves(node: Node, at: Path) -> Iterator[Path]:
    if isinstance(node, OneOf):
        yield from dict.fromkeys(leaf for option in node.options for leaf in _leaves(option, at))
    elif isinstance(node, Parts) and at != LINES:
        for key, part in zip(node.keys, node.parts, strict=True):
            yield from _leaves(part, (*at, key))
    elif not (isinstance(node, Single) and node.value is None):
        yield at


def cell(value: Any, at: Path) -> str | int | float | bool | None:
    """What a plain order asks for at a place, in one cell: as it was sent, lines as in a flat query."""
    for step in at:
        value = value.get(step) if isinstance(value, Mapping) else None
    if isinstance(value, list):
        return ";".join(f"{line.get('species')}:{line.get('width')}" for line in value if isinstance(line, Mapping))
    return value if isinstance(value, str | int | float | bool) else None


# Counting -------------------------------------------------------------------------------------------------------------


def too_many(nodes: Mapping[str, Node], most: int) -> Iterator[Fault]:
    """Fault of an order that stands for too many combinations, at the list that makes most of them; or none."""
    count = math.prod(node.size for node in nodes.values())
    if count <= most:
        return
    lists = [found for name, node in nodes.items() for found in node.lists((name,))]
    longest = sorted(lists, key=lambda found: -found.size)[:_NAMED]
    told = ", ".join(f"{_name(found.at)} ({found.size})" for found in longest)
    yield Fault(
        at=longest[0].at,
        code="too-many",
        detail=f"The lists make {_shown(count)} combinations; at most {most} are priced at once. Shorten {told}, "
        "or ask in several requests.",
    )


def _name(at: Iterable[str | int]) -> str:
    return ".".join(map(str, at))


def _shown(count: int) -> str:
    return str(count) if count < _COUNTED else f"more than {_COUNTED}"
