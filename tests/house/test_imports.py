"""Who may import whom: the import table of the house, and what must not happen inside the pure rooms.

DEVELOPERS.md explains the rooms; this file enforces them.
"""

import ast
import itertools
import sys
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

SERVICE = Path(__file__).resolve().parents[2] / "service"
PACKAGE = SERVICE / "chequerwork"
MODULES = {
    ".".join(path.relative_to(SERVICE).with_suffix("").parts).removesuffix(".__init__"): path
    for path in sorted(PACKAGE.rglob("*.py"))
}

# The wings of the domain, a package or a single file each. A wing sees those to its left; only this list says so.
WINGS = [
    "basics", "order", "board", "wood", "making", "stock", "parcel", "law", "money", "completion",
    "remedies", "plan", "sensitivity", "suggestions", "explain",
]  # fmt: skip

# Room -> what it may import of ours. A room may always import itself; the domain's own order is checked besides.
OURS = {
    "domain": (),
    "quantities": ("domain.basics.errors",),
    "data": ("domain",),
    "writing": ("domain.basics.errors",),
    "shop": ("domain", "quantities", "writing"),
    "render": ("domain", "quantities"),
    "ops": (),
    "api": ("domain", "quantities", "writing", "render", "ops", "shop.access", ""),
    "app": ("domain", "quantities", "data", "shop", "render", "ops", "api"),
    "cli": ("domain", "quantities", "data", "shop", "render", "ops", "api", "app"),
    "wsgi": ("app",),
    "__main__": ("cli",),
    "": (),
}
# Room -> packages of others. Everything else that is imported must be of the standard library.
THEIRS = {
    "domain": {"highspy", "numpy"},
    "quantities": {"pint"},
    "writing": {"babel"},
    "api": {"flask", "werkzeug", "marshmallow", "apispec", "orjson", "joserfc", "yaml"},
    "app": {"flask", "flask_swagger_ui", "orjson"},
    "ops": {"gunicorn"},
}
# Packages that one file alone may import, wherever it stands.
ALONE = {
    "highspy": "chequerwork.domain.stock.master",
    "numpy": "chequerwork.domain.stock.patterns",
    "pint": "chequerwork.quantities",
    "babel": "chequerwork.writing",
    "joserfc": "chequerwork.api.signing",
    "apispec": "chequerwork.api.openapi",
    "yaml": "chequerwork.api.openapi",
    "flask_swagger_ui": "chequerwork.app",
    "gunicorn": "chequerwork.ops.refusals",
}
# The only parts of the standard library that the domain uses: values, collections and mathematics. zoneinfo reads the
# time zone table, which is a fact of the calendar like any other.
DOMAIN_STDLIB = {
    "bisect", "collections", "dataclasses", "datetime", "decimal", "difflib", "enum", "fractions", "functools", "heapq",
    "itertools", "math", "operator", "statistics", "types", "typing", "unicodedata", "zoneinfo",
}  # fmt: skip
TYPES_ONLY = {"_typeshed"}  # exists for type checkers alone; never imported when the program runs

CLOCK = {"now", "utcnow", "today", "time", "time_ns", "monotonic", "perf_counter", "localtime", "gmtime"}
CHANCE = {"random", "secrets", "uuid", "urandom"}
# The one reading of the clock: today's date in the shop's zone, where an order does not give its own.
CLOCK_ROOM = {"chequerwork.api.service"}
# What was made before is known by which parts it was made of, and is nothing but what would be made again.
IDENTITY_ROOMS = {"chequerwork.domain.basics.memory"}
# Keys, salts and request ids: nothing that an answer's body shows.
CHANCE_ROOMS = {"chequerwork.shop.access", "chequerwork.api.http"}


def room_of(module: str) -> str:
    """``chequerwork.api.views`` is in ``api``; the package's own file is in no room."""
    return module.partition(".")[2].partition(".")[0]


@cache
def tree_of(module: str) -> ast.Module:
    return ast.parse(MODULES[module].read_text("utf-8"))


@cache
def imports_of(module: str) -> tuple[str, ...]:
    """Full names of the modules that a module imports."""
    return tuple(imports_in(module))


def imports_in(module: str) -> Iterator[str]:
    for node in ast.walk(tree_of(module)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}, line {node.lineno}: relative import"
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                yield full if full in MODULES else str(node.module)


def is_ours(name: str) -> bool:
    return name.partition(".")[0] == "chequerwork"


def allowed(module: str, imported: str) -> bool:
    """Whether a module may import another of ours."""
    room, within = room_of(module), imported.partition(".")[2]
    if room and room_of(imported) == room:
        return True
    return any(within == may or (may and within.startswith(f"{may}.")) for may in OURS[room])


def test_every_module_is_in_a_room_of_the_table():
    assert {room_of(module) for module in MODULES} == set(OURS)


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_only_what_its_room_may(module):
    for imported in imports_of(module):
        if is_ours(imported):
            assert imported in MODULES, f"{module} imports {imported}, which is no module"
            assert allowed(module, imported), f"{module} imports {imported}"


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_only_packages_that_its_room_may(module):
    for imported in imports_of(module):
        top = imported.partition(".")[0]
        if not is_ours(imported) and top not in sys.stdlib_module_names and top not in TYPES_ONLY:
            assert top in THEIRS.get(room_of(module), set()), f"{module} imports {imported}"
            assert ALONE.get(top, module) == module, f"{top} is for {ALONE[top]} alone"


def test_every_package_of_the_table_is_used():
    """So that the table stays as short as it can be."""
    used = {imported.partition(".")[0] for module in MODULES for imported in imports_of(module)}
    assert set().union(*THEIRS.values()) <= used


def wing_of(module: str) -> str:
    """``chequerwork.domain.wood.timber`` is in ``wood``; the domain's own file, and what is outside, in no wing."""
    first, _, rest = module.partition(".domain.")
    return rest.partition(".")[0] if first == "chequerwork" else ""


def test_every_wing_of_the_domain_has_its_place():
    assert {wing_of(module) for module in MODULES} - {""} == set(WINGS)


@pytest.mark.parametrize("module", [module for module in MODULES if wing_of(module)])
def test_a_wing_looks_only_to_the_left(module):
    place = {wing: rank for rank, wing in enumerate(WINGS)}
    for imported in imports_of(module):
        if wing_of(imported):
            assert place[wing_of(imported)] <= place[wing_of(module)], f"{module} looks ahead at {imported}"


def test_the_developers_page_draws_the_wings_in_their_order():
    page = (SERVICE.parent / "DEVELOPERS.md").read_text("utf-8")
    drawn = page.partition("The wings of `domain/`")[2].split("```")[1].strip().splitlines()
    assert [line.split()[0] for line in drawn] == WINGS


def test_no_import_goes_round_in_a_circle():
    ours = {module: [name for name in imports_of(module) if is_ours(name) and name != module] for module in MODULES}
    list(TopologicalSorter(ours).static_order())  # which refuses a circle by its members


def test_the_domain_uses_values_and_mathematics_only():
    for module in MODULES:
        if room_of(module) == "domain":
            used = {name.partition(".")[0] for name in imports_of(module) if not is_ours(name)}
            used -= {package for package in THEIRS["domain"] if ALONE[package] == module}
            assert used <= DOMAIN_STDLIB, f"{module}: {sorted(used - DOMAIN_STDLIB)}"


def calls_of(module: str) -> Iterator[str]:
    """Last names of everything that is called."""
    for node in ast.walk(tree_of(module)):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Attribute):
                yield node.func.attr
            elif isinstance(node.func, ast.Name):
                yield node.func.id


def names_of(module: str) -> set[str]:
    """Every attribute and imported name."""
    tree = tree_of(module)
    attributes = {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}
    return attributes | set(itertools.chain.from_iterable(name.split(".") for name in imports_of(module)))


@pytest.mark.parametrize("module", MODULES)
def test_only_one_module_reads_the_clock(module):
    """Same order, same bytes, for ever: no other part may know what day it is."""
    read = {name for name in calls_of(module) if name in CLOCK}
    assert (read != set()) is (module in CLOCK_ROOM), read


@pytest.mark.parametrize("module", MODULES)
def test_chance_makes_keys_and_request_ids_only(module):
    assert (names_of(module) & CHANCE != set()) is (module in CHANCE_ROOMS)


@pytest.mark.parametrize("module", [module for module in MODULES if room_of(module) in ("domain", "render")])
def test_the_pure_rooms_touch_nothing_outside(module):
    """No files, environment, logging, processes; and no order of a hash, which differs from process to process."""
    known_by = {"id"} if module in IDENTITY_ROOMS else set()
    assert {"open", "print", "input", "exec", "eval", "hash", "id", "globals"} & set(calls_of(module)) == known_by
    banned = {"os", "sys", "pathlib", "logging", "socket", "subprocess", "threading", "environ", "getenv"}
    assert banned & names_of(module) == set()


def sets_looped_over(tree: ast.Module) -> Iterator[int]:
    """Lines on which a set, written right there, is gone through in its own order."""
    for node in ast.walk(tree):
        looped = [node.iter] if isinstance(node, ast.For | ast.comprehension) else []
        for each in looped:
            made = (
                isinstance(each, ast.Call) and isinstance(each.func, ast.Name) and each.func.id in ("set", "frozenset")
            )
            if isinstance(each, ast.Set | ast.SetComp) or made:
                yield each.lineno


@pytest.mark.parametrize("module", [module for module in MODULES if room_of(module) not in ("data", "shop", "ops")])
def test_nothing_behind_an_answer_goes_through_a_set_in_its_own_order(module):
    """That order is another in each process."""
    assert list(sets_looped_over(tree_of(module))) == []


def test_no_room_is_called_after_nothing():
    """Names that say nothing about what is inside."""
    for module in MODULES:
        assert not {"utils", "util", "helpers", "common", "misc", "base"} & set(module.split("."))
        for node in ast.walk(tree_of(module)):
            if isinstance(node, ast.ClassDef):
                assert not node.name.endswith(("Manager", "Handler", "Helper", "Factory")), f"{module}.{node.name}"


def test_no_two_public_classes_share_a_name():
    """One noun, one meaning: who reads a name need not ask which one it is."""
    found = defaultdict(list)
    for module in MODULES:
        for node in tree_of(module).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                found[node.name].append(module)
    assert {name: modules for name, modules in found.items() if len(modules) > 1} == {}


@pytest.mark.parametrize(
    ("module", "imported"),
    [
        ("chequerwork.domain.board.geometry", "chequerwork.quantities"),
        ("chequerwork.render.cells", "chequerwork.api.views"),
        ("chequerwork.quantities", "chequerwork.domain.basics.shop"),
        ("chequerwork.api.views", "chequerwork.shop.loader"),
        ("chequerwork.ops.settings", "chequerwork.domain.basics.errors"),
        ("chequerwork.data.tables", "chequerwork.shop.loader"),
        ("chequerwork.api.views", "chequerwork.app"),
    ],
)
def test_the_table_refuses_a_step_in_the_wrong_direction(module, imported):
    """So that its silence above means something."""
    assert not allowed(module, imported)
