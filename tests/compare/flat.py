"""Orders asked flat, and how an answer is to be written: columns, single fields, delimiters and decimal signs."""

from collections.abc import Iterator, Sequence
from random import Random
from typing import Any
from urllib.parse import quote, quote_plus

from compare.asking import Offer, sometimes

Pairs = list[tuple[str, str]]
CROWD = "&".join(f"n{n}={n}" for n in range(101))
LENGTHS = ("cm", "m", "in", "ft", "mm", "yd")


def pairs_of(tree: Any, before: str = "") -> Iterator[tuple[str, str]]:
    """An order's fields by their flat names; lines are one text, and what is null is left out."""
    for name, value in tree.items():
        full = f"{before}{name}"
        if isinstance(value, dict):
            yield from pairs_of(value, f"{full}.")
        elif full == "lines" and isinstance(value, list):
            entries = (each if isinstance(each, dict) else {} for each in value)
            yield full, ";".join(f"{each.get('species', '')}:{each.get('width', '')}" for each in entries)
        elif isinstance(value, list):
            yield full, ";".join(map(str, value))
        elif value is True or value is False:
            yield full, str(int(value))
        elif value is not None:
            yield full, str(value)


def query_of(dice: Random, pairs: Sequence[tuple[str, str]]) -> str:
    """A query string, escaped in one of the usual ways."""
    escaped = quote_plus if sometimes(dice, 0.5) else quote
    return "&".join(f"{escaped(name)}={escaped(text.replace(chr(0), ''))}" for name, text in pairs)


def spoilt_query(dice: Random, pairs: Pairs, query: str) -> str:
    """A query with something in it that no reader takes."""
    name, text = dice.choice(pairs) if pairs else ("square", "48 mm")
    more = dice.choice(
        (
            CROWD,
            f"{name}={quote(text)}",
            f"{name}=",
            f"{name}",
            "=",
            "&&",
            "square=%zz",
            "square=%",
            "light=%ff",
            "light=%C3",
            "light=a%00b",
            "light=pear%0a",
            "light=pe\u00e4r",
            "columns=8.0",
            "columns=+8",
            "columns=1234567",
            "rows=eight",
            "climate.low_rh=1e1",
            "climate.high_rh=50,5",
            "lines=wenge",
            "lines=wenge:3mm;",
            "lines=wenge:3mm:4",
            "frame=mitre",
            "frame.widht=40mm",
            "base.skirt=8mm",
            "pieces=40mm",
            "collumns=8",
            "key=demo-maker-moosgrund",
            "explain=2",
            "explain=1&explain=1",
            "explain=yes",
            "from_stock=1",
            "sensitivity=1",
            "sensitivity=",
            "field=price.total",
            "delimiter=;",
            "decimal=,",
            "bom=1",
            "errors=inline",
            "errors=loud",
            "board=2",
            "columns=price.total",
            "refresh=17",
            "refresh=17&refresh=18",
            "square=" + "4" * 401,
            "n=" + "x" * 4100,
            "&".join(f"wrong{n}=1" for n in range(30)),
        )
    )
    return f"{query}&{more}" if query and sometimes(dice, 0.8) else more


def presentation(dice: Random, suffix: str, values: Sequence[str]) -> Pairs:
    """How an answer of a path with this suffix is to be written; now and then with faults."""
    if suffix == "txt":
        found = [("field", _a_name(dice, values))] if sometimes(dice, 0.5) else []
    else:
        found = _as_table(dice, values)
    if sometimes(dice, 0.35):
        found.append(("errors", "inline"))
    if sometimes(dice, 0.08):
        found.append(
            dice.choice((("errors", "outline"), ("bom", "yes"), ("delimiter", "|"), ("field", ""), ("decimal", "'")))
        )
    return found


def _as_table(dice: Random, values: Sequence[str]) -> Pairs:
    found: Pairs = []
    if sometimes(dice, 0.45):
        names = [_a_name(dice, values) for _ in range(dice.randint(1, 5))]
        found.append(("columns", dice.choice((";", ",", "; ")).join(names)))
    if sometimes(dice, 0.02):
        found.append(("columns", ";".join(["price.total"] * 101)))
    if sometimes(dice, 0.25):
        found.append(("delimiter", dice.choice((",", ";", "tab"))))
    if sometimes(dice, 0.2):
        found.append(("decimal", dice.choice((".", ","))))
    if sometimes(dice, 0.2):
        found.append(("bom", dice.choice(("1", "0"))))
    return found


def _a_name(dice: Random, values: Sequence[str]) -> str:
    name = dice.choice(values)
    drawn = dice.random()
    if drawn < 0.15 and "_mm" in name:
        return name.replace("_mm", f"_{dice.choice(LENGTHS)}")
    if drawn < 0.2:
        return name.rpartition(".")[0] or "price"
    if drawn < 0.26:
        return dice.choice((name + "x", name.rpartition(".")[2], "", " ", "prize.total", "=1+1", name.upper()))
    return name


def values_of(offer: Offer, section: str, *, workshop: bool) -> Sequence[str]:
    """Flat names of a section's values as a caller sees them, and some others."""
    seen = offer.values if workshop else offer.customers
    if section == "quotes":
        return seen
    own = [name for name in seen if name.startswith(f"{section}.")]
    return [*own, "advice.0.text", offer.values[0]]


def asked_flat(dice: Random, order: dict[str, Any]) -> Pairs:
    """An order as pairs; sometimes with the one that a sheet asks again by."""
    pairs = list(pairs_of(order))
    if sometimes(dice, 0.1):
        pairs.append(("refresh", str(dice.randrange(99))))
    return pairs
