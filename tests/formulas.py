"""The formulas of the domain as the tests find them, and a calculator for the expressions of the formula table.

A **formula** is a public function of the domain that takes nothing but numbers, closed words and names.
"""

import importlib
import inspect
import math
import pkgutil
import re
from collections.abc import Callable, Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal
from statistics import NormalDist
from typing import Any

from chequerwork import domain

# Types of a formula's parameters. Everything else is a record: an order, a shop, a table.
PLAIN = re.compile(
    r"(float|int|str|bool|Decimal|Pattern|Units|Grain|FeeBase|tuple\[(float|int|Decimal)(, (float|int|\.\.\.))*\])"
    r"( \| None)?"
)
NUMBERS = re.compile(r"float|int|Decimal")

_DOMAIN = f"{domain.__name__}."
_UNTOLD_WINGS = ("basics", "order", "board", "wood", "making", "parcel", "law", "money", "completion")
MODULES = [importlib.import_module(info.name) for info in pkgutil.walk_packages(domain.__path__, _DOMAIN)]


def public(namespace: Any, kind: Callable[[Any], bool]) -> Iterator[tuple[str, Any]]:
    """What a module defines itself and shows."""
    for name, thing in vars(namespace).items():
        if not name.startswith("_") and kind(thing) and getattr(thing, "__module__", None) == namespace.__name__:
            yield name, thing


def everything(kind: Callable[[Any], bool]) -> dict[str, Any]:
    """What the domain shows of a kind, by its path as ``/v1/sources`` tells it."""
    return {
        f"{_told(module.__name__.removeprefix(_DOMAIN))}.{name}": thing
        for module in MODULES
        for name, thing in public(module, kind)
    }


def _told(module: str) -> str:
    """A module's path below its wing. Those of stock plans are known to callers with it, and keep it."""
    wing, _, rest = module.partition(".")
    return rest if rest and wing in _UNTOLD_WINGS else module


def parameters(function: Callable[..., Any]) -> dict[str, str]:
    """Names and types, as written."""
    found = inspect.signature(function).parameters.values()
    return {
        p.name: p.annotation if isinstance(p.annotation, str) else inspect.formatannotation(p.annotation) for p in found
    }


def _bare(kind: str) -> str:
    """``chequerwork.domain.order.order.Pattern`` is ``Pattern``."""
    return re.sub(r"\b[a-z_]+\.", "", kind)


def is_formula(function: Callable[..., Any]) -> bool:
    kinds = [_bare(kind) for kind in parameters(function).values()]
    return any(NUMBERS.search(kind) for kind in kinds) and all(PLAIN.fullmatch(kind) for kind in kinds)


FUNCTIONS = everything(inspect.isfunction)
FORMULAS = {name: function for name, function in FUNCTIONS.items() if is_formula(function)}


# A calculator ---------------------------------------------------------------------------------------------------------

Numbers = Mapping[str, Any]


def _tan(degrees: float) -> float:
    return math.tan(math.radians(degrees))


def _round(amount: Decimal | int, decimals: int, rounding: str = ROUND_HALF_UP) -> Decimal:
    return Decimal(amount).quantize(Decimal(1).scaleb(-int(decimals)), rounding=rounding)


# A value that misses a whole number by a billionth is that number: a binary tail, which no calculator shows.
_FUNCTIONS: Numbers = {
    "abs": abs, "max": max, "min": min, "sum": sum, "sorted": sorted, "product": math.prod, "sqrt": math.sqrt,
    "log": math.log, "sum_of_powers": lambda count, exponent: sum(x**exponent for x in range(1, count + 1)),
    "tan": _tan, "atan": lambda ratio: math.degrees(math.atan(ratio)), "round": _round,
    "normal": NormalDist().cdf, "normal_inverse": NormalDist().inv_cdf,
    "ceil": lambda value: math.ceil(float(value) - 1e-9),
    "floor": lambda value: math.floor(float(value) + 1e-9),
    "sum_of_squares": lambda values: sum(value * value for value in values),
    "sum_of_products": lambda *lists: sum(math.prod(each) for each in zip(*lists, strict=True)),
    "sum_of_quotients": lambda values, others: sum(a / b for a, b in zip(values, others, strict=True)),
    "middles": lambda sizes: [sum(sizes[:at]) + size / 2 for at, size in enumerate(sizes)],
}  # fmt: skip
_WORDS = {"if", "else", "and", "or", "not", "each", "of", "where"}


def names_in(expression: str) -> set[str]:
    """Names of an expression that are neither functions nor words of the table's language, nor its own definitions."""
    names = set(re.findall(r"[A-Za-z_][A-Za-z0-9_]*", expression)) - _WORDS - set(_FUNCTIONS)
    return names - {name for left, _ in _definitions(expression) for name in left}


def _definitions(expression: str) -> list[tuple[list[str], str]]:
    where = expression.partition(", where ")[2]
    pairs = (part.partition(" = ") for part in where.split("; ") if part)
    return [([name.strip() for name in left.split(",")], right) for left, _, right in pairs]


def calculated(expression: str, inputs: Numbers) -> Any:
    """What a maker with a calculator gets: a number, or as many as ``each of`` names."""
    known = {**{word: word for word in names_in(expression)}, **inputs}
    for names, right in _definitions(expression):
        value = _value(right, known)
        known |= dict(zip(names, value, strict=True)) if len(names) > 1 else {names[0]: value}
    main = expression.partition(", where ")[0]
    if main.startswith("each of "):
        name, rest = main.removeprefix("each of ").split(" ", 1)
        return tuple(_value(f"{name} {rest}", {**known, name: each}) for each in known[name])
    return _value(main, known)


def _value(text: str, known: Numbers) -> Any:
    python = re.sub(r"(?<![<>=])=", "==", text.replace(", else ", " else ").replace("^", "**"))
    if any(isinstance(value, Decimal) for value in known.values()):
        known = {name: Decimal(repr(value)) if isinstance(value, float) else value for name, value in known.items()}
        python = re.sub(r"(?<![A-Za-z0-9_.])(\d+(?:\.\d+)?)", r"Decimal('\1')", python)
    # The text is our own table's, and nothing but the functions above is within its reach.
    return eval(python, {"__builtins__": {}, "Decimal": Decimal, **_FUNCTIONS}, dict(known))  # noqa: S307
