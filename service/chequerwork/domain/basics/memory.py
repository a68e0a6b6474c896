"""Remembers the results of pure functions: the same arguments give the earlier result.

Many orders that differ in a few fields (a table of prices, a search, a small change to see its effect) cost little
more than what they differ in. Whoever makes something of parts makes it through a ``Made``: by itself, or remembered.
"""

from collections import OrderedDict
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from operator import call
from typing import Any, Final, ParamSpec, Protocol, TypeVar

P = ParamSpec("P")
T = TypeVar("T")

REMEMBERED: Final = 64  # results kept of each function: about 3 MB in all, enough for a table's inner lists
TRIED: Final = 8  # results in a row that nobody asks for again, before a function is left alone ...
LEFT_ALONE: Final = 256  # ... for as many at first, at most for so many
# Values that are told apart by what they are; anything else by which one it is, so that no deep comparison is needed.
_VALUES: Final = frozenset({int, float, str, bool, Decimal, date, type(None)})


class Made(Protocol):
    """Calls a pure function, or gives the result that is remembered of the same call."""

    def __call__(self, make: Callable[P, T], /, *parts: P.args, **named: P.kwargs) -> T:
        """The same as ``make(*parts, **named)``."""


plainly: Final[Made] = call  # make it now


class Memory:
    """What was made last, of each function ``most`` results; for one thread.

    The arguments are kept too: keys are their ids, and an id must not be used again while its entry lives. A function
    whose results nobody asks for again is left alone for a while, longer each time: keeping them would only cost.

    A function is always called in one form: its arguments in one order, and at each place either values of one type or
    objects. Equal values are one, also ``0.0`` and ``-0.0``.
    """

    def __init__(self, most: int = REMEMBERED) -> None:
        self._most = most
        self._kept: dict[Callable[..., Any], _Results] = {}

    def made(self, make: Callable[P, T], /, *parts: P.args, **named: P.kwargs) -> T:
        """What the function made of the same parts before, or makes now."""
        results = self._kept.get(make)
        if results is None:
            results = self._kept[make] = _Results()
        elif results.rest:
            results.rest -= 1
            return make(*parts, **named)
        given = (*parts, *named.values()) if named else parts
        key = tuple([part if part.__class__ in _VALUES else id(part) for part in given])
        known = results.get(key)
        if known is not None:
            results.move_to_end(key)
            results.misses, results.pause = 0, TRIED
            found: T = known[0]
            return found
        made = make(*parts, **named)
        results.keep(key, (made, given), self._most)
        return made


class _Results(OrderedDict[tuple[Any, ...], tuple[Any, Any]]):
    """Results of one function by their keys, with the parts that they were made of, the latest last."""

    __slots__ = ("misses", "pause", "rest")

    def __init__(self) -> None:
        super().__init__()
        self.misses, self.pause, self.rest = 0, TRIED, 0

    def keep(self, key: tuple[Any, ...], result: tuple[Any, Any], most: int) -> None:
        """Remember one more; the oldest is forgotten for it."""
        if len(self) >= most:
            self.popitem(last=False)
        self[key] = result
        self.misses += 1
        if self.misses == TRIED:
            self.misses, self.rest = 0, self.pause
            self.pause = min(2 * self.pause, LEFT_ALONE)
