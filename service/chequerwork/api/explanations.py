"""How the numbers of an answer were worked out: formula, inputs and result of each, for a maker to check by hand."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, Final

from chequerwork.api.component import AnswerContext, Component, many, maybe, optional, other, pointer, text, texts
from chequerwork.api.sections.trees import Tree
from chequerwork.api.sources import source_ids
from chequerwork.domain.explain import explain
from chequerwork.domain.explain.steps import Value
from chequerwork.domain.plan import SECTIONS, Plan

_DIGITS: Final = 9  # significant: enough to get the result again, and fewer than machines may differ in
_VALUE: Final = {"type": ["number", "string", "array"], "items": {"type": ["number", "string"]}}


def _written(value: Value) -> Any:
    if isinstance(value, tuple):
        return [_written(each) for each in value]
    if isinstance(value, Decimal):
        return f"{value:f}" if len(value.as_tuple().digits) <= _DIGITS else f"{_short(value):f}"
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value


def _short(value: Decimal) -> Decimal:
    return Decimal(f"{value:.{_DIGITS}g}")


EXPLANATION: Final = Component(
    "Explanation",
    text("formula", "Key of the formula; /v1/sources has all of them.", "formula.key"),
    text("title", of="formula.title"),
    text("expression", "For a calculator, with the names of the inputs.", "formula.expression"),
    pointer("at", "JSON pointer to the number that it gives, or that it is a part of."),
    maybe(text("part", "What it gives, where it is not yet that number: the result is an input of a later step.")),
    other(
        "inputs",
        {"type": "object", "additionalProperties": _VALUE},
        "Numbers and words by name; amounts are text.",
        write=lambda inputs, _: {name: _written(value) for name, value in inputs.items()},
    ),
    other(
        "result",
        {"type": ["number", "string", "boolean"]},
        "Not yet rounded as it is shown; an amount is text.",
        write=lambda result, _: _written(result),
    ),
    text("unit", "Of the result."),
    texts("sources", "Ids of the source list.", lambda step, _: source_ids(step.formula)),
)
EXPLANATIONS: Final = Component(
    "Explanations",
    *(optional(many(name, EXPLANATION, of=lambda found, _, name=name: found.get(name))) for name in SECTIONS),
)

COMPONENTS: Final = (EXPLANATION, EXPLANATIONS)


def explanation(plan: Plan, sections: Sequence[str], *, workshop: bool) -> Tree:
    """Steps by section."""
    return EXPLANATIONS.write(explain(plan, sections, workshop=workshop), AnswerContext())
