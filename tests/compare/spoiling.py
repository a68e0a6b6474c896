"""Orders with faults, one or several at once, and bodies that are no JSON or JSON that may not be read."""

import copy
import json
from collections.abc import Iterator, Sequence
from random import Random
from typing import Any

from compare.asking import Known, sometimes

Place = tuple[str | int, ...]

# Values that are wrong almost anywhere: of another type, empty, out of every range, in no unit or in a wrong one.
JUNK: Sequence[Any] = (
    None,
    True,
    0,
    -1,
    7.5,
    1e300,
    2**53,
    "",
    " ",
    [],
    {},
    [1],
    {"a": 1},
    "48",
    48,
    "-3 mm",
    "0 mm",
    "0.0001 mm",
    "99999 mm",
    "1000001 mm",
    "48 furlongs",
    "48,5 mm",
    "1e3 mm",
    "1 5/4 in",
    "1/0 in",
    "mm 48",
    "48 mm 3 mm",
    "2 1/4",
    "inf mm",
    "\u0663 mm",
    "x" * 61,
    "x" * 401,
    "no_such_thing",
    "wenge ",
    "a\u0001b",
    "½½ in",
    "2027-02-30",
    "2027-2-3",
    "1999-01-01",
    "2099-12-31",
    "12 kg",
    "101 %",
    "~/and/~1",
)
TYPOS = ("squares", "Square", "colums", "frame_width", "lite", "darck", "finnish", "qty", "note", "", "a/b~c", "x" * 70)


def places(tree: Any, at: Place = ()) -> Iterator[Place]:
    """Every place inside a tree."""
    steps = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for step, value in steps:
        yield (*at, step)
        yield from places(value, (*at, step))


def spoilt(dice: Random, tree: dict[str, Any], known: Known) -> dict[str, Any]:
    """A copy of a body with one fault or some."""
    tree = copy.deepcopy(tree)
    for _ in range(dice.choices((1, 2, 3, 5, 24), (10, 5, 3, 1, 0.15))[0]):
        _spoil(dice, tree, known)
    return tree


def _spoil(dice: Random, tree: dict[str, Any], known: Known) -> None:
    found = list(places(tree))
    if not found:
        return
    at = dice.choice(found)
    inside = tree
    for step in at[:-1]:
        inside = inside[step]
    how = dice.choices(("junk", "gone", "near", "typo", "known", "order"), (7, 3, 3, 2, 2, 4))[0]
    if how == "junk":
        inside[at[-1]] = copy.deepcopy(dice.choice(JUNK))
    elif how == "gone":
        del inside[at[-1]]
    elif how == "near":
        value = inside[at[-1]]
        inside[at[-1]] = _misspelt(dice, value) if isinstance(value, str) and value else 3
    elif how == "typo" and isinstance(inside, dict):
        inside[dice.choice(TYPOS)] = dice.choice(JUNK)
    elif how == "known":
        inside[at[-1]] = dice.choice((*known.timbers, *known.called))
    else:
        _contradict(dice, tree, known)


def _misspelt(dice: Random, text: str) -> str:
    place = dice.randrange(len(text))
    return dice.choice(
        (text[:place] + text[place + 1 :], text[:place] + "x" + text[place:], text.upper(), f"{text} ", text[::-1])
    )


def _contradict(dice: Random, tree: dict[str, Any], known: Known) -> None:
    """What may be given, but not to these boards, this shop or at this time."""
    order = tree.get("order", tree)
    if not isinstance(order, dict):
        return
    wood = dice.choice(known.timbers)
    frame = {"joint": "mitre", "hold": "floating", "species": wood, "width": "40 mm"}
    base = {"material": "birch_plywood", "thickness": "9 mm"}
    order |= copy.deepcopy(
        dice.choice(
            (
                {"game": "draughts-10", "columns": 9, "rows": 8},
                {"columns": 7, "pattern": "turn"},
                {"columns": 24, "square": "70 mm"},
                {"light": wood},
                {"dark": dice.choice(known.called)},
                {"light": "pear", "dark": "pear"},
                {"frame": {**frame, "hold": "glued", "edge": "lip"}},
                {"frame": {**frame, "thickness": "5 mm"}},
                {"frame": {**frame, "thickness": "0 mm"}},
                {"frame": {**frame, "thickness": "20 mm", "edge": "lip"}, "thickness": "20 mm"},
                {"frame": {**frame, "bevel": "30 mm"}},
                {"frame": frame, "thickness": "8 mm"},
                {"frame": {**frame, "species": "wenge"}, "base": {**base, "inset": "10 mm"}, "thickness": "12 mm"},
                {"base": {**base, "inset": "200 mm"}},
                {"base": {**base, "thickness": "7 mm"}},
                {"base": {**base, "material": "birch_ply"}},
                {"base": {**base, "skirt": {"species": wood, "width": "40 mm"}}},
                {"base": {**base, "inset": "60 mm", "skirt": {"species": "wenge", "width": "29 mm"}}, "columns": 4},
                {"base": {**base, "backing": {"species": wood, "thickness": "20 mm"}}},
                {"lines": [{"species": wood, "width": "50 mm"}] * 7},
                {"lines": [{"species": wood, "width": "50 mm"}, {"species": "pear"}]},
                {"thickness": "60 mm"},
                {"thickness": "34 mm", "dark": "purpleheart"},
                {"square": "200 mm"},
                {"square": "4 mm"},
                {"pieces": {"king_base": "90 mm", "man": "30 mm"}},
                {"pieces": {"king_base": "36 mm", "pawn_base": "48 mm"}},
                {"pieces": {"king_base": "12 mm"}, "square": "50 mm"},
                {"feet": dice.choice((1, 2, 3, 13))},
                {"sanding": {"top": "P2000", "underside": "P17"}},
                {"sanding": {"top": "P40"}},
                {"climate": {"low_rh": 70, "high_rh": 40}},
                {"climate": {"low_rh": 95, "room": "no_such_room"}},
                {"climate": {"low_rh": 5, "high_rh": 95, "temperature": "49 C"}},
                {"climate": {"high_rh": 20}},
                {"corners": {"within": "0.01 mm", "confidence": 99.9}},
                {"quantity": 41},
                {"quantity": 500},
                {"ship_to": "AQ"},
                {"ship_to": "at"},
                {"channel": "gallery"},
                {"payment": "cheque"},
                {"currency": "GBP"},
                {"currency": "EUX"},
                {"currency": "euro"},
                {"light": "Esche"},
                {"dark": "Ash"},
                {"starts_on": "2149-12-20"},
                {"ship_to": "XX"},
                {"issued_on": "2027-03-01", "starts_on": "2027-02-01"},
                {"wanted_by": "2027-01-02"},
                {"issued_on": "2027-02-03", "wanted_by": "2027-02-05"},
                {"starts_on": "2026-12-01"},
                {"shop": "mosgrund"},
                {"shop": "no shop"},
                {"finish": "shellac"},
                {"units": "nautical"},
                {"columns": 25, "rows": 1},
            )
        )
    )


def unreadable(dice: Random, body: bytes) -> bytes:
    """What is no JSON object, or one that two readers could understand differently."""
    whole = body.decode()
    inner = whole[1:-1] or '"a":1'
    return dice.choice(
        (
            b"",
            b"  \n ",
            b"nonsense",
            b"[]",
            b'"a text"',
            b"17",
            b"null",
            b"{",
            body[: dice.randrange(len(body))],
            b"\xef\xbb\xbf" + body,
            whole.encode("utf-16"),
            whole.encode("utf-16-le"),
            body.replace(b"a", b"\xff", 1),
            b'{"square":"48 mm","square":"50 mm"}',
            f'{{{inner},"rows":8,"rows":8}}'.encode(),
            b'{"square":NaN}',
            b'{"feet":Infinity}',
            b'{"feet":-1e400}',
            b'{"feet":9007199254740993}',
            b'{"feet":' + b"9" * 5000 + b"}",
            b'{"a":' * 9 + b"1" + b"}" * 9,
            b"[" * 30_000,
            b'{"light":"\\ud800"}',
            b'{"light":"a\\u0000b"}',
            b'{"\\u0000":1}',
            b'{"light":"tab\there"}',
            b"{'light':'pear'}",
            f"{{{inner},}}".encode(),
            f"{{{inner}}} {{}}".encode(),
            json.dumps({"lines": [{}] * 700}).encode(),
            json.dumps({f"n{n}": n for n in range(601)}).encode(),
            b" " * (64 * 1024 - len(body)) + body,
            b" " * (64 * 1024 + 1 - len(body)) + body,
            b" " * 70_000 + body if sometimes(dice, 0.7) else b" " * 525_000 + body,
        )
    )
