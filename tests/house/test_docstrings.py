"""What the code says about itself: units in brackets, sources, frozen values.

The rule for the domain's public functions:

- every one has a docstring, and so has every public class, method and property;
- a **formula**, which takes nothing but numbers, closed words and names, has numpydoc ``Parameters`` with a unit in
  brackets wherever the name ends in one, and ``References`` to the source list;
- a function of a whole order or shop may say it all in one sentence: units stand in the names;
- a number that is returned under a name with a unit repeats that unit in brackets: ``[mm]``.
"""

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
import tomllib
from collections.abc import Callable
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from formulas import FORMULAS, FUNCTIONS, everything, parameters

import chequerwork

# What the last part of a name means, as it is written in brackets.
UNITS = {
    "mm": "mm", "mm2": "mm2", "m2": "m2", "m3": "m3", "ml": "ml", "g": "g", "kg": "kg", "pct": "%", "deg": "deg",
    "c": "degC", "mpa": "MPa", "n": "N", "min": "min", "h": "h", "days": "d", "in": "in", "ft": "ft", "um": "um",
    "kg_m2": "kg/m2", "kg_m3": "kg/m3", "g_m2": "g/m2", "m2_l": "m2/l", "cm3_kg": "cm3/kg", "per_pct": "1/%",
}  # fmt: skip
# Formulas that need no more than their sentence, and why.
SHORT = {
    "pieces_per_thickness": "counts slabs in a thickness: parameters are three lengths whose names say all",
    "money": "a product; the sentence says why it is not simply one",
    "price_end": "its sentence names all three amounts; the reference shows them at work",
}  # fmt: skip
# References that need no line in the source list: a standard by its number, our own decision, the notices' own sources.
OTHER = re.compile(r"\bISO \d+|\bRFC \d+|[Hh]ouse|no source|from memory|Every notice names its own source")


CLASSES = everything(inspect.isclass)


def sections(function: Callable[..., Any]) -> dict[str, str]:
    """The numpydoc sections of a docstring by heading; what stands before them has no heading."""
    parts = re.split(r"^(\w+)\n-{3,}\n", inspect.getdoc(function) or "", flags=re.MULTILINE)
    return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def described(text: str) -> dict[str, str]:
    """Parameters of a section and what is said of each; several may share a description."""
    found: dict[str, str] = {}
    for names, words in re.findall(r"^(\w+(?:, \w+)*)(?: :.*)?\n((?: +.*(?:\n|\Z)|\n)*)", text, flags=re.MULTILINE):
        found |= dict.fromkeys(names.split(", "), words)
    return found


def unit_of(name: str) -> str | None:
    parts = name.split("_")
    return UNITS.get("_".join(parts[-2:]), UNITS.get(parts[-1])) if len(parts) > 1 else None


def source_ids() -> set[str]:
    text = (resources.files("chequerwork.data") / "sources.toml").read_text("utf-8")
    return {record["id"] for record in tomllib.loads(text)["sources"]}


def test_there_is_something_to_look_at():
    assert len(FUNCTIONS) > 50
    assert len(FORMULAS) > 25
    assert len(CLASSES) > 40


@pytest.mark.parametrize("module", [info.name for info in pkgutil.walk_packages(chequerwork.__path__, "chequerwork.")])
def test_every_public_thing_says_what_it_is(module):
    """Modules, classes, functions and methods of the whole service; a sentence ends with a full stop or its unit."""
    spec = importlib.util.find_spec(module)
    assert spec is not None
    assert spec.origin is not None
    tree = ast.parse(Path(spec.origin).read_text("utf-8"))
    hidden = hidden_in(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            name = getattr(node, "name", module)
            if name.startswith("_") or id(node) in hidden:
                continue
            told = ast.get_docstring(node)
            assert told, f"{module}: {name} says nothing"
            assert told.split("\n\n")[0].rstrip().endswith((".", ":", "]")), f"{module}: {name} breaks off"


def hidden_in(tree: ast.Module) -> set[int]:
    """Definitions inside a function or a private class, where nobody can ask for them."""
    outers = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    closed = [node for node in outers if isinstance(node, ast.FunctionDef) or node.name.startswith("_")]
    return {id(inner) for outer in closed for inner in ast.walk(outer) if inner is not outer}


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_describes_every_parameter_with_its_unit(name):
    if name.rpartition(".")[2] in SHORT:
        assert "Parameters" not in sections(FORMULAS[name]), "no exception is needed any more"
        return
    told = described(sections(FORMULAS[name]).get("Parameters", ""))
    assert set(told) == set(parameters(FORMULAS[name]))
    for parameter, words in told.items():
        unit = unit_of(parameter)
        assert unit is None or f"[{unit}]" in words, f"{parameter} is in [{unit}]"


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if "Parameters" in sections(FUNCTIONS[name])])
def test_no_parameter_is_described_that_is_not_there_or_left_out(name):
    told = described(sections(FUNCTIONS[name])["Parameters"])
    assert set(told) == set(parameters(FUNCTIONS[name]))


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_names_its_source(name):
    """Ids of the source list; a number without a published source says so."""
    short = name.rpartition(".")[2]
    told = sections(FORMULAS[name])
    if short in SHORT and "References" not in told:
        return
    assert "References" in told, f"{name} has no References"


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if "References" in sections(FUNCTIONS[name])])
def test_a_reference_is_in_the_source_list_or_says_that_there_is_none(name):
    text = sections(FUNCTIONS[name])["References"]
    known = {source for source in source_ids() if re.search(rf"(?<![\w-]){re.escape(source)}(?![\w-])", text)}
    assert known or OTHER.search(text), text
    assert set(re.findall(r"\b(?:TRADE|WOOD|BOARD)-[A-Z]+|\bWH\d\d[\w-]*", text)) <= known


@pytest.mark.parametrize("name", [name for name in FUNCTIONS if unit_of(name)])
def test_a_returned_number_repeats_the_unit_of_its_name(name):
    assert f"[{unit_of(name)}]" in (inspect.getdoc(FUNCTIONS[name]) or "")


@pytest.mark.parametrize("name", CLASSES)
def test_every_record_of_the_domain_is_frozen_and_slotted_and_takes_names_only(name):
    cls = CLASSES[name]
    if not dataclasses.is_dataclass(cls):
        return
    assert cls.__dataclass_params__.frozen
    assert "__slots__" in vars(cls)
    assert all(field.kw_only for field in dataclasses.fields(cls))


@pytest.mark.parametrize("name", [name for name, cls in CLASSES.items() if dataclasses.is_dataclass(cls)])
def test_no_record_of_the_domain_holds_something_that_can_change(name):
    for field in dataclasses.fields(CLASSES[name]):
        assert not re.match(r"(list|dict|set|bytearray)\b", str(field.type).replace("<class '", "")), field.name


def test_lengths_masses_and_times_carry_their_unit_in_their_name():
    """A bare ``width`` in the domain is a review stop (house style)."""
    bare_words = {
        "length",
        "width",
        "height",
        "thickness",
        "mass",
        "weight",
        "area",
        "volume",
        "temperature",
        "duration",
    }
    for name, cls in CLASSES.items():
        if dataclasses.is_dataclass(cls):
            numbers = {field.name for field in dataclasses.fields(cls) if field.type in (float, int)}
            assert numbers & bare_words == set(), name
    for name, function in FUNCTIONS.items():
        numbers = {p for p, kind in parameters(function).items() if kind in ("float", "int")}
        assert numbers & bare_words == set(), name
