"""`make quick` stays quick: heavy work is marked and says why. Kinds of work are looked at, not times."""

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
MARKERS = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["tool"]["pytest"]["ini_options"]
FILES = [path for path in sorted((PROJECT / "tests").rglob("test_*.py")) if path.parent.name != "live"]
# Strategies of ``builders`` whose every example is a whole order, completed and planned.
WHOLE_ORDERS = {"orders", "wishes", "any_wishes"}


def expression(text: str) -> set[str]:
    """Parts of an expression of markers, each ``not name``."""
    return set(text.split(" and "))


def slow_marks(nodes: list[ast.expr]) -> Iterator[ast.expr]:
    return (node for node in nodes if "mark.slow" in ast.unparse(node))


def module_marks(tree: ast.Module) -> list[ast.expr]:
    return [node.value for node in tree.body if isinstance(node, ast.Assign) and "pytestmark" in ast.unparse(node)]


def drawn(tree: ast.Module) -> set[str]:
    """Names that a module takes from ``builders``."""
    taken = (node for node in tree.body if isinstance(node, ast.ImportFrom) and node.module == "builders")
    return {alias.name for node in taken for alias in node.names}


def heavy(test: ast.FunctionDef, *, whole_orders: bool) -> bool:
    """Whether a test starts another Python, or goes through random whole orders."""
    given = any("given(" in ast.unparse(decorator) for decorator in test.decorator_list)
    return "sys.executable" in ast.unparse(test) or (given and whole_orders)


def test_quick_leaves_out_the_slow_tests_and_the_server_and_otherwise_what_test_does():
    quick = re.search(r"^QUICK := (.+)$", (PROJECT / "Makefile").read_text("utf-8"), flags=re.MULTILINE)
    options = MARKERS["addopts"]
    assert quick is not None
    assert expression(quick[1]) == expression(options[options.index("-m") + 1]) | {"not slow", "not live"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_slow_test_says_why_and_heavy_work_is_marked(path):
    tree = ast.parse(path.read_text("utf-8"))
    tests = [node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")]
    of_module = list(slow_marks(module_marks(tree)))
    for mark in [*of_module, *(mark for test in tests for mark in slow_marks(test.decorator_list))]:
        assert re.fullmatch(r"pytest\.mark\.slow\('.{9,}'\)", ast.unparse(mark)), path.name
    if not of_module:
        whole_orders = not WHOLE_ORDERS.isdisjoint(drawn(tree))
        unmarked = [test for test in tests if not any(slow_marks(test.decorator_list))]
        assert [test.name for test in unmarked if heavy(test, whole_orders=whole_orders)] == []
