"""Facts live in tables, choices in shop files, and the code holds neither: what it has of its own says why.

That every row of a table names its source and locator is tested in tests/data.
"""

import ast
import dataclasses
import inspect
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from chequerwork.api.answers import components
from chequerwork.api.examples import ORDERS
from chequerwork.domain.basics import facts, shop, trade

PACKAGE = Path(facts.__file__).resolve().parents[2]
# Modules behind an answer. The rooms that only read files into records do not count as use.
BEHIND = [path for path in sorted(PACKAGE.rglob("*.py")) if path.relative_to(PACKAGE).parts[0] not in ("data", "shop")]
FORMULAS = [path for path in BEHIND if "domain" in path.parts]

# What a table or a shop file holds although no answer shows it or is computed with it yet, and why it stays.
WAITING = {
    "Abrasive.system": "tells the two norms apart in the file",
    "Adhesive.full_cure_h": "for the work plan's last glue-up",
    "Pressure.density_low_kg_m3": "checked to begin where the class below ends",
    "Sheet.thickness_low_mm": "true thickness of a nominal sheet",
    "Sheet.thickness_high_mm": "true thickness of a nominal sheet",
    "ThicknessClass.surfaced_mm": "for stock bought surfaced",
    "Operation.units_reference": "explains the three-point estimates, which are of a whole board",
    "Operation.driver": "says in the file what the schedule counts for this operation",
    "Tables.abrasives_cami": "orders are in FEPA grades",
    "AccessKey.salt": "compared in the shop room",
    "AccessKey.digest": "compared in the shop room",
}
# Numbers that explain themselves.
PLAIN = {
    "HUNDRED": "a percentage",
    "DAY_MIN": "minutes of a day",
    "FOOT2_M2": "a foot of 12 in",
    "GLUED_SEAT": "neither clearance nor tongue",
    "FEET_FEWEST": "its fault says why",
    "FIBRE_SATURATION_PCT": "the 30 in the equations that the functions below it cite",
}


@cache
def trees() -> tuple[tuple[Path, ast.Module], ...]:
    """Modules behind an answer, each parsed once for all tests."""
    return tuple((path, ast.parse(path.read_text("utf-8"))) for path in BEHIND)


def fields() -> set[str]:
    """Every field of a fact or a choice, as ``Species.dust``."""
    return {
        f"{name}.{field.name}"
        for module in (facts, shop, trade)
        for name, cls in inspect.getmembers(module, dataclasses.is_dataclass)
        if cls.__module__ == module.__name__
        for field in dataclasses.fields(cls)
    }


def declared() -> Iterator[str]:
    """Paths of attributes that answers are declared to be read from."""
    yield from (key.of for each in components() for key in each.keys if isinstance(key.of, str))
    for _, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "from_plan":
                yield from (part.value for part in node.args if isinstance(part, ast.Constant))


def test_every_fact_and_every_choice_is_used_or_says_what_it_waits_for():
    """A setting that does nothing misleads the maker who sets it."""
    read = {node.attr for _, tree in trees() for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    read.update(*(path.split(".") for path in declared()))
    unused = {name for name in fields() if name.partition(".")[2] not in read}
    assert unused - set(WAITING) == set()
    assert set(WAITING) <= fields()


def constants(tree: ast.Module) -> Iterator[tuple[str, ast.stmt]]:
    """Numbers that a module names, alone or in a table."""
    for node in tree.body:
        target = node.targets[0] if isinstance(node, ast.Assign) else getattr(node, "target", None)
        value = getattr(node, "value", None)
        if isinstance(target, ast.Name) and target.id.lstrip("_").isupper() and value is not None:
            numbers = (n for n in ast.walk(value) if isinstance(n, ast.Constant) and type(n.value) in (int, float))
            if any(numbers):
                yield target.id, node


def told(lines: list[str], node: ast.stmt) -> bool:
    """Whether a comment stands at a constant, or above it and others of its kind without a gap."""
    if any("#" in line for line in lines[node.lineno - 1 : node.end_lineno]):
        return True
    above = node.lineno - 2
    while above >= 0 and lines[above].strip() and not lines[above].startswith("#"):
        above -= 1
    return above >= 0 and lines[above].startswith("#")


@pytest.mark.parametrize("path", FORMULAS, ids=lambda path: path.stem)
def test_every_number_of_the_domain_says_where_it_comes_from(path):
    lines = path.read_text("utf-8").splitlines()
    untold = [name for name, node in constants(ast.parse("\n".join(lines))) if not told(lines, node)]
    assert set(untold) <= set(PLAIN)


def texts(tree: ast.Module) -> Iterator[str]:
    """Texts of a module that are neither documentation nor an example of the contract."""
    skipped = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.keyword) and node.arg in ("example", "examples", "about")
        for part in ast.walk(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            yield node.value


def test_no_key_of_a_table_is_typed_into_the_code(tables):
    """A timber, a finish or a sheet is added by a row, never by an `if`."""
    keys = {*tables.species, *tables.finishes, *tables.adhesives, *(sheet.material for sheet in tables.sheets)}
    assert len(keys) > 40
    for path, tree in trees():
        if path.name != "examples.py":
            assert keys & set(texts(tree)) == set(), path.name


def test_no_demo_shop_is_known_to_the_code(shops):
    for path, tree in trees():
        if path.name != "examples.py":
            assert set(shops) & set(texts(tree)) == set(), path.name
    assert {order.get("shop") for order in ORDERS.values()} - {None} == set(shops)
