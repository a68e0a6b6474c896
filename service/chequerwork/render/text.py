"""A whole answer as a page of plain text, for a terminal, a letter or a look at the shop's wall.

Where the answer says a value both as a number and in words (``width_mm`` and ``width_text``), the words are shown.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from chequerwork.render.cells import Branch, Scalar, plain_line, to_text
from chequerwork.render.explained import formulas_told, with_steps
from chequerwork.render.moved import moves_told
from chequerwork.render.page import INDENT, WIDTH, Tree, columns, headed, page_of, paragraph, section, title, words

_LONGEST_LABEL = 34

# How the end of a name is written behind the number.
_UNITS: Mapping[str, str] = {
    "mm": "mm",
    "cm": "cm",
    "um": "µm",
    "mm2": "mm²",
    "m2": "m²",
    "m3": "m³",
    "cm3": "cm³",
    "cm3_kg": "cm³/kg",
    "ml": "ml",
    "g": "g",
    "kg": "kg",
    "pct": "%",
    "c": "°C",
    "deg": "°",
    "min": "min",
    "h": "h",
    "n": "N",
    "mpa": "MPa",
    "kg_m3": "kg/m³",
    "per_pct": "per 1 %",
}
_TEXT = "_text"

# What has a form of its own, wherever it stands: a table of it would be too wide.
_OWN_FORM: Mapping[str, Callable[[Tree, str], Iterable[str]]] = {"sensitivity": moves_told}

_Item = tuple[str, Any]


def to_page(tree: Tree, heading: str) -> str:
    """A readable page of an answer.

    Parameters
    ----------
    tree
        An answer: ``dict``, ``list`` and scalars. Each of its branches becomes a section.
    heading
        First line of the page.

    Returns
    -------
    str
        Lines of at most ``WIDTH`` characters, each ended by a line feed.
    """
    lines = title(plain_line(heading)[:WIDTH])
    loose = {key: value for key, value in tree.items() if not _is_branch(value)}
    if loose:
        lines += ["", *_block(loose, "")]
    explained = tree.get("explain", {})
    for label, value in _items({key: value for key, value in tree.items() if key != "explain"}):
        if _is_branch(value) and value:
            lines += section(label.capitalize(), with_steps(_branch(value, ""), explained.get(label, ())))
    if explained:
        lines += [*headed("Formulas"), *formulas_told(explained)]
    return page_of(lines)


def _branch(branch: Branch, indent: str) -> list[str]:
    if isinstance(branch, Mapping):
        return _block(branch, indent)
    return _listed(branch, indent)


def _block(branch: Mapping[str, Any], indent: str) -> list[str]:
    """Labels and values in two columns; what holds more follows under its own label."""
    items = list(_items(branch))
    simple = [(label, value) for label, value in items if not _holds_more(value)]
    width = min(max((len(label) for label, _ in simple), default=0), _LONGEST_LABEL)
    lines: list[str] = []
    for label, value in simple:
        lines += _behind(f"{indent}{label:<{width}}  ", _shown(value))
    for label, value in items:
        if _holds_more(value):
            told = _OWN_FORM[label](value, indent + INDENT) if label in _OWN_FORM else _branch(value, indent + INDENT)
            lines += [f"{indent}{label}", *told]
    return lines


def _listed(rows: list[Any] | tuple[Any, ...], indent: str) -> list[str]:
    """A list of records as a table, or one block each where a table would not fit."""
    if not all(isinstance(row, Mapping) for row in rows):
        return _behind(indent, _shown(rows))
    records = [dict(_flat_items(row)) for row in rows]
    labels = dict.fromkeys(label for record in records for label in record)
    if not labels:
        return [f"{indent}-"]
    grid = [[*labels], *([record.get(label, "") for label in labels] for record in records)]
    table = columns(grid, indent=indent, room=WIDTH - len(indent))
    return table or [line for row in rows for line in [*_block(row, indent), ""]][:-1]


def _items(branch: Mapping[str, Any]) -> Iterator[_Item]:
    """Labels and values; a number that is also said in words gives way to them."""
    worded = {key.removesuffix(_TEXT) for key in branch if key.endswith(_TEXT)}
    for key, value in branch.items():
        stem, unit = _split(key)
        if key.endswith(_TEXT):
            yield words(key.removesuffix(_TEXT)), value
        elif key in worded or (stem in worded and stem not in branch and unit in _UNITS):
            # "tax_text" says "tax" in words, not "tax_pct" beside it.
            continue
        elif unit in _UNITS and stem and not _is_branch(value):
            # "tax" and "tax_pct" stand side by side: then the longer name keeps its end.
            label = words(key if stem in branch else stem)
            yield label, None if value is None else f"{to_text(value)} {_UNITS[unit]}"
        else:
            yield words(key), value


def _split(key: str) -> tuple[str, str]:
    """What a name says and its unit, the longest that its end can be."""
    stem, _, last = key.rpartition("_")
    shorter, _, middle = stem.rpartition("_")
    return (shorter, f"{middle}_{last}") if f"{middle}_{last}" in _UNITS else (stem, last)


def _flat_items(row: Mapping[str, Any], prefix: str = "") -> Iterator[tuple[str, str]]:
    for label, value in _items(row):
        if isinstance(value, Mapping):
            yield from _flat_items(value, f"{prefix}{label} ")
        else:
            yield f"{prefix}{label}", _shown(value)


def _is_branch(value: object) -> bool:
    return isinstance(value, Mapping | list | tuple)


def _holds_more(value: object) -> bool:
    """Whether a value needs lines of its own. A list of plain values does not."""
    if isinstance(value, list | tuple):
        return any(_is_branch(item) for item in value)
    return isinstance(value, Mapping) and bool(value)


def _shown(value: Scalar | Branch) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(map(_shown, value)) or "-"
    if isinstance(value, Mapping):
        return ", ".join(f"{label} {_shown(part)}" for label, part in _items(value)) or "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return to_text(value).strip() or "-"


def _behind(label: str, text: str) -> list[str]:
    return paragraph(text, start=label, hyphens=False)
