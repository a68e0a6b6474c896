"""How numbers were worked out, in lines of plain text: what came out, of which inputs, after which source."""

from collections.abc import Sequence
from decimal import Decimal

from chequerwork.render.cells import plain_line
from chequerwork.render.page import INDENT, Tree, paragraph

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
    lines = [f"{INDENT}How these numbers were worked out:"]
    for step in steps:
        lines += _entry(f"{_name(step)} = {_value(step['result'])}{_unit(step['unit'])}: {_how(step)}")
    return lines


def with_steps(body: list[str], steps: Sequence[Tree]) -> list[str]:
    """What a section says, and below it how its numbers were worked out."""
    return [*body, "", *steps_told(steps)] if body and steps else body


def formulas_told(explained: Tree) -> list[str]:
    """Every formula that the steps of an answer used, once, by its title.

    Parameters
    ----------
    explained
        The answer's ``explain``: steps by section.
    """
    used = {step["title"]: step["expression"] for steps in explained.values() for step in steps}
    return [line for title, expression in used.items() for line in _entry(f"{title} = {expression}")]


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


def _entry(text: str) -> list[str]:
    return paragraph(text, start=INDENT * 2, further=INDENT * 4, hyphens=False)
