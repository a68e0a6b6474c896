"""How numbers were worked out, in lines of plain text: what came out, of which inputs, after which source."""

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from chequerwork.render.cells import plain_line

Tree = Mapping[str, Any]
WIDTH = 100
_INDENT = "  "
_DIGITS = 6  # significant


def steps_told(steps: Sequence[Tree]) -> list[str]:
    """One entry for each step of a section: the number, its formula by title, inputs, sources.

    Parameters
    ----------
    steps
        Explanations of one section, as the answer has them.

    Returns
    -------
    list of str
        Lines of at most ``WIDTH`` characters, under a heading; none where there are no steps.
    """
    if not steps:
        return []
    lines = [f"{_INDENT}How these numbers were worked out:"]
    for step in steps:
        lines += _wrapped(f"{_name(step)} = {_value(step['result'])}{_unit(step['unit'])}: {_how(step)}")
    return lines


def formulas_told(explained: Tree) -> list[str]:
    """Every formula that the steps of an answer used, once, by its title.

    Parameters
    ----------
    explained
        The answer's ``explain``: steps by section.
    """
    used = {step["title"]: step["expression"] for steps in explained.values() for step in steps}
    return [line for title, expression in used.items() for line in _wrapped(f"{title} = {expression}")]


def _name(step: Tree) -> str:
    """The place within the section, and the part in brackets."""
    name = ".".join(step["at"].split("/")[2:])
    return f"{name} ({step['part']})" if step["part"] else name


def _how(step: Tree) -> str:
    inputs = ", ".join(f"{name} {_value(value)}" for name, value in step["inputs"].items())
    title = step["title"]
    return f"{title[0].lower()}{title[1:]}, from {inputs}; {', '.join(step['sources'])}"


def _unit(unit: str) -> str:
    return "" if unit in ("ratio", "yes or no") else f" {unit}"


def _value(value: object) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{Decimal(f'{value:.{_DIGITS}g}'):f}"
    return plain_line(str(value))


def _wrapped(text: str) -> Iterator[str]:
    start, further = _INDENT * 2, _INDENT * 4
    yield from textwrap.wrap(text, WIDTH, initial_indent=start, subsequent_indent=further, break_on_hyphens=False)
