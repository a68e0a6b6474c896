"""Rows of packing: flutes of corrugated board, and the texts of the packing list."""

import re

from chequerwork.data.reading import DASHED, Row
from chequerwork.domain.basics.facts import Flute, PackingText

KINDS = ("material", "step", "photo")
WHEN = ("always", "corner", "face_sheet", "interleaf", "sea")

_FLUTE = re.compile(r"[A-Z]{1,2}")


def flute(row: Row) -> Flute:
    """A kind of corrugated board."""
    return Flute(
        name=row.matching("name", _FLUTE, "BC"),
        caliper_mm=row.number("caliper_mm", 0.5, 20),
        source=row.raw("source"),
    )


def packing_text(row: Row) -> PackingText:
    """A line of the packing list."""
    return PackingText(
        key=row.matching("key", DASHED, "step-wrap"),
        kind=row.one_of("kind", KINDS),
        when=row.one_of("when", WHEN),
        text=row.text("text"),
        source=row.raw("source"),
    )
