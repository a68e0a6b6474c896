"""One number of an answer, told: which formula, with which inputs, gives which result."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from chequerwork.domain.basics.errors import Path
from chequerwork.domain.basics.facts import Formula
from chequerwork.domain.plan import Plan

Value = float | int | Decimal | str | tuple[float | int | Decimal, ...]
Number = float | int | Decimal | bool
Inputs = dict[str, Value]
Place = tuple[str | int, ...]  # steps from a section to a number
Result = TypeVar("Result", float, int, Decimal, bool)

_BY_INPUTS = "as its inputs"  # what the table says where a formula works in any unit
_MONEY = "money"


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """One formula at work.

    ``at`` is the place in the answer of the number that it gives, or that it is a ``part`` of: then the part is named
    here, and the result is an input of a later step.
    """

    formula: Formula
    at: Path
    part: str | None
    inputs: Mapping[str, Value]  # with the names of the function
    result: Number
    unit: str


def named(formula: Callable[..., float], values: Iterable[Value]) -> Inputs:
    """Inputs by the names of the formula's parameters."""
    names = [name for name in formula.__annotations__ if name != "return"]
    return dict(zip(names, values, strict=True))


class Ledger:
    """The steps of one section, written down as the plan's own functions are called once more."""

    def __init__(self, plan: Plan, section: str) -> None:
        self._formulas, self._currency, self._section = plan.tables.formulas, _currency(plan, section), section
        self._steps: list[Explanation] = []

    def at(self, *place: str | int, part: str | None = None, unit: str | None = None) -> "LedgerEntry":
        """Where in the section the next number stands.

        Parameters
        ----------
        place
            Steps from the section to the number.
        part
            What is worked out, where it is not yet that number itself.
        unit
            Of the result, where the formula works in any.
        """
        return LedgerEntry(self, (self._section, *place), part, unit)

    def write(self, entry: "LedgerEntry", name: str, inputs: Mapping[str, Value], result: Number) -> None:
        """Keep a step."""
        formula = self._formulas[name]
        unit = entry.unit or (self._currency if formula.unit == _MONEY else formula.unit)
        if unit == _BY_INPUTS:
            raise ValueError(f"{formula.key} works in any unit: say which")
        self._steps.append(
            Explanation(formula=formula, at=entry.at, part=entry.part, inputs=inputs, result=result, unit=unit)
        )

    @property
    def steps(self) -> tuple[Explanation, ...]:
        """In the order in which they follow from each other."""
        return tuple(self._steps)


def _currency(plan: Plan, section: str) -> str:
    """Of a section's amounts: a price may be in another than the shop's own, in which everything else is."""
    return plan.order.sale.currency if section == "price" else plan.shop.currency


class LedgerEntry:
    """A place in a ledger, to be filled by calling a formula."""

    def __init__(self, ledger: Ledger, at: Path, part: str | None, unit: str | None) -> None:
        self._ledger, self.at, self.part, self.unit = ledger, at, part, unit

    def __call__(self, function: Callable[..., Result], **inputs: Value) -> Result:
        """Call a formula of the table with these inputs, write it down, and give what it gives."""
        result = function(**inputs)
        self._ledger.write(self, function.__name__, inputs, result)
        return result
