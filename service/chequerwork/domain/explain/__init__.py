"""Every number of an answer that a maker would check by hand, explained: formula, inputs, result.

Nothing is worked out anew: each step calls the plan's own function with the inputs it shows.
"""

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.explain import board, buying, cuts, seasons, selling, work
from chequerwork.domain.explain.steps import Explanation, Ledger
from chequerwork.domain.plan import Plan

__all__ = ["Explanation", "explain"]

_EXPLAINERS: Final[Mapping[str, Callable[[Plan, Ledger, Audience], None]]] = {
    "geometry": board.geometry,
    "cutting": cuts.cutting,
    "materials": buying.materials,
    "movement": seasons.movement,
    "finishing": work.finishing,
    "schedule": work.schedule,
    "packing": selling.packing,
    "compliance": seasons.compliance,
    "price": selling.price,
}
# Numbers that only the workshop sees: hours, lumber, costs.
_WORKSHOP: Final = frozenset({"cutting", "materials", "finishing", "schedule"})


def explain(plan: Plan, sections: Iterable[str], *, workshop: bool) -> Mapping[str, tuple[Explanation, ...]]:
    """Steps of each section that the caller may see, in the order in which they follow from each other."""
    caller = Audience.WORKSHOP if workshop else Audience.ALL
    found = {}
    for name in sections:
        ledger = Ledger(plan, name)
        if name in _EXPLAINERS and (workshop or name not in _WORKSHOP):
            _EXPLAINERS[name](plan, ledger, caller)
        found[name] = ledger.steps
    return found
