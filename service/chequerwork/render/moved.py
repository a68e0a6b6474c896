"""What moves a price, in lines of a page: the same on the page of a quote and on that of a price."""

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

WIDTH = 100


def moves_told(found: Mapping[str, Any], indent: str = "  ") -> Iterator[str]:
    """What the price goes into, and a line for each change: what one board would cost more or less.

    ``asked`` is its price before its price end, ``shown`` what a customer reads.
    """
    parts = ", ".join(f"{part['title'].lower()} {part['share_pct']:g} %" for part in found["parts"])
    yield from _wrapped(f"Of the price without tax: {parts}.", indent)
    heads = ("what if", "", "asked", "shown")
    rows = [heads, *(_row(move) for move in found["moves"])]
    _, of_change, of_asked, of_shown = (max(len(row[at]) for row in rows) for at in range(len(heads)))
    for what, change, asked, shown in rows:
        # Names of timbers may be long, so they come last.
        start = f"{indent}{asked:>{of_asked}}  {shown:>{of_shown}}  {change:<{of_change}}  "
        yield from textwrap.wrap(what, WIDTH, initial_indent=start, subsequent_indent=" " * len(start))
    for move in found["left_out"]:
        yield from _wrapped(f"{move['text']}: {move['reason']}", indent)


def _row(move: Mapping[str, Any]) -> tuple[str, str, str, str]:
    now, then = move["now_text"], move["then_text"]
    number, _, unit = now.partition(" ")
    if unit and then.endswith(f" {unit}"):
        now = number  # the unit is said once
    return move["text"], f"{now} -> {then}", move["asked"], move["unit_gross"]


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent * 2)
