"""Shop files for the tests: the demo shops, changed at a place and written again."""

import copy
import json
import tomllib
from collections.abc import Callable, Mapping
from datetime import date, time

import pytest

from chequerwork.data.tables import load_tables
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.shop.loader import demo_folder, load_shop

Path = tuple[str | int, ...]


@pytest.fixture(scope="session")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="session")
def write_toml() -> Callable[[Mapping[str, object]], str]:
    """The inverse of tomllib for what a shop file holds."""
    return lambda given: "".join(f"{json.dumps(key)} = {_value(value)}\n" for key, value in given.items())


@pytest.fixture(scope="session")
def demo() -> Callable[..., dict[str, object]]:
    """A demo shop's file as a tree, with values put in at the given paths; ``...`` removes what is there."""
    trees = {
        name: tomllib.loads((demo_folder() / f"{name}.toml").read_text(encoding="utf-8"))
        for name in ("moosgrund", "willet-slough")
    }

    def changed(changes: Mapping[Path, object] | None = None, name: str = "moosgrund") -> dict[str, object]:
        tree = copy.deepcopy(trees[name])
        for path, value in (changes or {}).items():
            place = tree
            for key in path[:-1]:
                place = place[key]
            if value is ...:
                del place[path[-1]]
            elif isinstance(place, list) and path[-1] == len(place):
                place.append(value)
            else:
                place[path[-1]] = value
        return tree

    return changed


@pytest.fixture(scope="session")
def load(demo, write_toml, tables) -> Callable[..., Shop]:
    """Load a demo shop after changes."""
    return lambda changes=None, name="moosgrund": load_shop(
        write_toml(demo(changes, name)), tables=tables, name="shop.toml"
    )


@pytest.fixture(scope="session")
def faults_of(load):
    """The faults of a demo shop after changes, none if it loads."""

    def faults(changes, name="moosgrund"):
        try:
            load(changes, name)
        except Refused as refused:
            return refused.faults
        return ()

    return faults


def _value(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(key)} = {_value(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_value, value)) + "]"
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, bool | int | str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    return repr(value)  # a float: Python's inf and nan are TOML's too
