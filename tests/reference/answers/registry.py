"""How a published figure is put to the domain: one name, one question, for the tests and for the page of validity."""

import inspect
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import EnumType
from typing import Any

from formulas import FORMULAS, parameters

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.trade import FeeBase
from chequerwork.domain.order.order import Pattern, Units

_WORDS: Mapping[str, EnumType] = {kind.__name__: kind for kind in (FeeBase, Grain, Pattern, Units)}


@dataclass(frozen=True, slots=True)
class Answer:
    """A question that a row may ask, and the formulas it is a check of, by their path below the domain."""

    ask: Callable[..., Any]
    formulas: tuple[str, ...]


def of_the_formulas() -> dict[str, Answer]:
    """Every formula answers to its own name, its inputs as a row writes them."""
    return {path.rpartition(".")[2]: Answer(_asked(function), (path,)) for path, function in FORMULAS.items()}


def of_module(namespace: Mapping[str, Any]) -> dict[str, Answer]:
    """The questions a module defines: its public functions marked with ``checks_formulas``."""
    return {
        name: Answer(thing, thing.formulas)
        for name, thing in namespace.items()
        if inspect.isfunction(thing) and hasattr(thing, "formulas")
    }


def checks_formulas(*paths: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Mark a question with the formulas it checks; none where it checks what a table carries, or a sum of many."""
    unknown = set(paths) - set(FORMULAS)
    if unknown:
        raise ValueError(f"no formula: {', '.join(sorted(unknown))}")

    def marked(ask: Callable[..., Any]) -> Callable[..., Any]:
        ask.formulas = paths
        return ask

    return marked


def _asked(function: Callable[..., Any]) -> Callable[..., Any]:
    kinds = parameters(function)
    return lambda **given: function(**{name: _read(kinds[name], value) for name, value in given.items()})


def _read(kind: str, value: Any) -> Any:
    """A value of JSON as the type that a parameter is written with; money stands in JSON as text."""
    if isinstance(value, list):
        return tuple(_read(kind, each) for each in value)
    if "Decimal" in kind:
        return Decimal(value)
    word = next((enum for name, enum in _WORDS.items() if name in kind), None)
    return word(value) if word else value
