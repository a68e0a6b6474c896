"""The formula table against the code: a row for every formula, a formula for every row, and the same result.

What the table calls an expression can be typed into a calculator. Here that is done, with numbers drawn within the
range of each function.
"""

import math
import random
import re
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from typing import Any

import pytest
from builders import demo_tables
from formulas import FORMULAS, calculated, names_in, parameters

from chequerwork.domain.basics.errors import OutsideValidity
from chequerwork.domain.basics.trade import FeeBase
from chequerwork.domain.order.order import Pattern

TABLE = demo_tables().formulas
BY_FUNCTION = {formula.function: formula for formula in TABLE.values()}

# Numbers are drawn from 1 to 100 unless their name is here: within what the function is for.
SPANS = {
    "rh_pct": (5.0, 95.0),
    "temperature_c": (-1.0, 100.0),
    "from_pct": (6.0, 14.0),
    "to_pct": (6.0, 14.0),
    "mc_pct": (0.0, 30.0),
    "shrinkage_pct": (1.0, 15.0),
    "volumetric_shrinkage_pct": (2.0, 25.0),
    "basic": (0.3, 1.2),
    "coefficient": (0.0005, 0.006),
    "strain": (-0.05, 0.05),
    "blade_error_deg": (0.0, 5.0),
    "angle_deg": (0.0, 5.0),
    "correlation": (0.0, 1.0),
    "rate": (0.5, 1.0),
    "learning": (0.3, 1.0),
    "optimistic": (1.0, 10.0),
    "mean": (10.0, 20.0),
    "pessimistic": (20.0, 100.0),
    "confidence": (0.5, 0.999),
    "sheet_length_mm": (1000.0, 3000.0),
    "sheet_width_mm": (500.0, 1500.0),
    "nominal_in": (0.25, 4.0),
    "wall_mm": (1.0, 8.0),
    "fee": (0.0, 0.4),
    "margin": (0.0, 0.5),
    "discount": (0.0, 0.8),
    "markup": (0.0, 3.0),
    "surcharge": (0.0, 1.0),
    "tax": (0.0, 0.3),
    "length_mm": (1.0, 1000.0),
    "gravity": (0.3, 1.1),
    "density_kg_m3": (300.0, 1200.0),
}
COUNTS = {"exponent": (0, 4), "columns": (2, 24)}
WORDS = {
    "pattern": tuple(Pattern),
    "fee_base": tuple(FeeBase),
    "rounding": (ROUND_HALF_UP, ROUND_CEILING),
}


def drawn(name: str, kind: str, chance: random.Random, many: int) -> Any:
    """A number or word for a parameter; ``many`` of them where it takes any number."""
    if name in WORDS:
        return chance.choice(WORDS[name])
    if kind.startswith("tuple"):
        inner = kind.removeprefix("tuple[").removesuffix("]").split(", ")
        count = many if "..." in inner else len(inner)
        return tuple(drawn(name, inner[0].rpartition(".")[2], chance, many) for _ in range(count))
    if kind == "int":
        return chance.randint(*COUNTS.get(name, (1, 12)))
    if kind == "bool":
        return chance.random() < 0.5
    value = chance.uniform(*SPANS.get(name, (1.0, 100.0)))
    return Decimal(f"{value:.3f}") if "Decimal" in kind else value


def test_every_formula_has_a_row_and_every_row_a_formula():
    assert sorted(BY_FUNCTION) == sorted(FORMULAS)
    assert len(BY_FUNCTION) == len(TABLE)


@pytest.mark.parametrize("name", BY_FUNCTION)
def test_an_expression_names_every_input_and_nothing_else(name):
    """Besides inputs stand only words that one of them may be."""
    inputs = set(parameters(FORMULAS[name]))
    words = {str(word) for each in inputs for word in WORDS.get(each, ())}
    names = names_in(BY_FUNCTION[name].expression)
    assert names - words == inputs


@pytest.mark.parametrize("name", BY_FUNCTION)
def test_a_calculator_gets_what_the_function_gets(name):
    """Two hundred draws each. The function may refuse some, never most of them."""
    function, chance, tried = FORMULAS[name], random.Random(name), 0  # noqa: S311 - the same draws each time
    for _ in range(200):
        many = chance.randint(1, 6)
        inputs = {each: drawn(each, kind, chance, many) for each, kind in parameters(function).items()}
        try:
            found = function(**inputs)
        except OutsideValidity:
            continue
        by_hand = calculated(BY_FUNCTION[name].expression, inputs)
        assert same(by_hand, found), (inputs, by_hand, found)
        tried += 1
    assert tried > 100


def same(by_hand: Any, found: Any) -> bool:
    if isinstance(found, tuple):
        return len(by_hand) == len(found) and all(map(same, by_hand, found))
    if isinstance(found, bool | str):
        return by_hand == found
    return math.isclose(by_hand, found, rel_tol=1e-9, abs_tol=1e-9)


@pytest.mark.parametrize("formula", TABLE.values(), ids=lambda formula: formula.key)
def test_a_row_reads_as_plain_text(formula):
    """Titles without a full stop, as labels are; a range with its numbers or words; no sign a keyboard lacks."""
    assert not formula.title.endswith(".")
    assert formula.title[0].isupper()
    assert re.fullmatch(r"[\x20-\x7e]+", formula.expression)
    assert len(formula.valid) > 8


def test_the_calculator_is_none_that_agrees_with_anything():
    """So that its agreement above means something."""
    assert calculated("a + 2 * b^2, where b = 3; c = b", {"a": 1}) == 19
    assert calculated("a if way = turn, else 2 * a", {"a": 1, "way": "turn"}) == 1
    assert calculated("a if way = turn, else 2 * a", {"a": 1, "way": "shift"}) == 2
    assert calculated("each of sides_mm + 1", {"sides_mm": (1, 2)}) == (2, 3)
    assert names_in("x * tan(y_deg) / h, where h = z") == {"x", "y_deg", "z"}
    assert not same(1.0, 1.00001)
