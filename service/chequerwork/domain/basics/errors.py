"""Faults: what stops an order, a shop file or a fact table.

Buildable but unwise is not a fault; see ``advice``.
"""

import difflib
from collections.abc import Iterable
from dataclasses import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong, addressed by its path in the input.

    ``detail`` says what is wrong, what was given, the limit and what to change.
    """

    at: Path
    code: str
    detail: str


class Refused(Exception):
    """An input that cannot be worked with; holds every fault found, in reading order."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"{'.'.join(map(str, f.at))}: {f.detail}" for f in self.faults))


class BadQuantity(ValueError):
    """A text that is no quantity of the wanted kind, or one outside its bounds."""

    def __init__(self, code: str, detail: str) -> None:
        self.code = code
        self.detail = detail
        super().__init__(detail)


class OutsideValidity(ValueError):
    """A number outside the range for which its formula was published."""

    def __init__(self, *, what: str, given: float, low: float, high: float, unit: str) -> None:
        self.what, self.given, self.low, self.high, self.unit = what, given, low, high, unit
        super().__init__(f"{what} is {given:g} {unit}; the formula holds from {low:.4g} to {high:.4g} {unit}.")


def near_names(given: str, known: Iterable[str], *, most: int = 3) -> tuple[str, ...]:
    """Names in ``known`` that look like ``given``, best first, at most ``most`` of them."""
    cleaned = given.strip().lower().replace(" ", "_").replace("-", "_")[:80]
    return tuple(difflib.get_close_matches(cleaned, sorted(known), n=most, cutoff=0.6))


def unknown_name(*, at: Path, what: str, given: str, known: Iterable[str]) -> Fault:
    """Fault for a name that is not in a closed list, with near matches or the whole list."""
    names = sorted(known)
    near = near_names(given, names)
    remedy = f"Did you mean {' or '.join(near)}?" if near else f"Choose one of: {', '.join(names)}."
    return Fault(at=at, code="unknown-name", detail=f"There is no {what} named {given[:60]!r} here. {remedy}")
