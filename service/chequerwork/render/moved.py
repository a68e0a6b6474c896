"""What moves a price, in lines of a page: the same on the page of a quote and on that of a price."""

from collections.abc import Iterator

from chequerwork.render.page import INDENT, Tree, paragraph, table


def moves_told(found: Tree, indent: str = INDENT) -> Iterator[str]:
    """What the price goes into, and a line for each change: what one board would cost more or less.

    ``asked`` is its price before its price end, ``shown`` what a customer reads.
    """
    parts = ", ".join(f"{part['title'].lower()} {part['share_pct']:g} %" for part in found["parts"])
    yield from paragraph(f"Of the price without tax: {parts}.", start=indent, further=indent * 2)
    # Names of timbers may be long, so they come last.
    heads = ("asked", "shown", "", "what if")
    yield from table([heads, *(_row(move) for move in found["moves"])], right=(0, 1), indent=indent)
    for move in found["left_out"]:
        yield from paragraph(f"{move['text']}: {move['reason']}", start=indent, further=indent * 2)


def _row(move: Tree) -> tuple[str, str, str, str]:
    now, then = move["now_text"], move["then_text"]
    number, _, unit = now.partition(" ")
    if unit and then.endswith(f" {unit}"):
        now = number  # the unit is said once
    return move["asked"], move["unit_gross"], f"{now} -> {then}", move["text"]
