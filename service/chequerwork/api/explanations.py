"""How the numbers of an answer were worked out: formula, inputs and result of each, for a maker to check by hand."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any, Final

from chequerwork.api.answer_fields import kind, many, maybe_text, text
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.api.sources import source_ids
from chequerwork.domain.explain import Explanation, explain
from chequerwork.domain.explain.steps import Value
from chequerwork.domain.plan import SECTIONS, Plan

_DIGITS: Final = 9  # significant: enough to get the result again, and fewer than machines may differ in
_VALUE: Final = {"type": ["number", "string", "array"], "items": {"type": ["number", "string"]}}

SHAPES: Final[Mapping[str, Fields]] = {
    "Explanation": {
        "formula": text("Key of the formula; /v1/sources has all of them."),
        "title": text(),
        "expression": text("For a calculator, with the names of the inputs."),
        "at": text("JSON pointer to the number that it gives, or that it is a part of."),
        "part": maybe_text("What it gives, where it is not yet that number: the result is an input of a later step."),
        "inputs": kind("object", "Numbers and words by name; amounts are text.", additionalProperties=_VALUE),
        "result": kind(["number", "string", "boolean"], "Not yet rounded as it is shown; an amount is text."),
        "unit": text("Of the result."),
        "sources": kind("array", "Ids of the source list.", items={"type": "string"}),
    },
    "Explanations": {name: many("Explanation", required=False) for name in SECTIONS},
}


def explanation(plan: Plan, sections: Sequence[str], *, workshop: bool) -> Tree:
    """Steps by section."""
    found = explain(plan, sections, workshop=workshop)
    return {name: [_step(step) for step in steps] for name, steps in found.items()}


def _step(step: Explanation) -> Tree:
    formula = step.formula
    return {
        "formula": formula.key,
        "title": formula.title,
        "expression": formula.expression,
        "at": "/" + "/".join(map(str, step.at)),
        "part": step.part,
        "inputs": {name: _written(value) for name, value in step.inputs.items()},
        "result": _written(step.result),
        "unit": step.unit,
        "sources": source_ids(formula),
    }


def _written(value: Value) -> Any:
    if isinstance(value, tuple):
        return [_written(each) for each in value]
    if isinstance(value, Decimal):
        return f"{value:f}" if len(value.as_tuple().digits) <= _DIGITS else f"{_short(value):f}"
    return float(f"{value:.{_DIGITS}g}") if isinstance(value, float) else value


def _short(value: Decimal) -> Decimal:
    return Decimal(f"{value:.{_DIGITS}g}")
