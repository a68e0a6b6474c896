"""What an answer shows is declared once: its value, its text and its place in the contract are one line."""

import ast
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from chequerwork.api import component
from chequerwork.api.answers import components

API = sorted(Path(component.__file__).parent.rglob("*.py"))
# Names of values with a unit, and of their texts.
MEASURED = re.compile(r"\w+_(text|mm|m2|m3|kg|g|ml|n|c|pct|h|min|mpa|deg)")


def measured() -> set[str]:
    return {key.name for each in components() for key in each.keys if MEASURED.fullmatch(key.name)}


def literal_keys(tree: ast.Module) -> Iterator[str]:
    """Keys of dicts that are written out, and keys that are set one by one."""
    for node in ast.walk(tree):
        keys = node.keys if isinstance(node, ast.Dict) else [node.slice] if isinstance(node, ast.Subscript) else []
        yield from (key.value for key in keys if isinstance(key, ast.Constant) and isinstance(key.value, str))


def test_there_is_something_to_look_at():
    assert len(measured()) > 150
    assert len(API) > 30


@pytest.mark.parametrize("path", API, ids=lambda path: path.stem)
def test_no_view_types_the_key_of_a_measured_value_again(path):
    assert set(literal_keys(ast.parse(path.read_text("utf-8")))) & measured() == set()


def test_a_text_stands_behind_the_number_that_it_tells():
    """But for amounts of money, whose texts stand together, and what has no number of its own."""
    for each in components():
        names = [key.name for key in each.keys]
        for place, name in enumerate(names):
            stem = name.removesuffix("_text")
            if name != stem and stem not in names:
                assert each.name in ("PriceMove", "PriceMoveLeftOut") or names[place - 1].startswith(f"{stem}_"), name


def test_no_object_has_a_key_twice():
    for each in components():
        assert [name for name, count in Counter(key.name for key in each.keys).items() if count > 1] == []
