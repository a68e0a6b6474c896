"""Lines of a page of plain text: a text behind its lead, and no line that ends inside a measure."""

import re
import textwrap
from collections.abc import Iterator
from typing import Final

from chequerwork.render.cells import plain_line

WIDTH: Final = 100
INDENT: Final = "  "
# Spaces inside a measure, at which no line may end: 2 15/32 in is not 2, nor 15/32.
_MEASURE: Final = re.compile(r"(?<=\d) (?=\d|x \d|mm\b|in\b|%|m3\b)|(?<=\d x) (?=\d)")
_TIED: Final = "\u00a0"


def tied(said: str) -> str:
    """The text as one word for ``wrapped``, which gives its spaces back."""
    return plain_line(said).replace(" ", _TIED)


def wrapped(lead: str, said: str) -> Iterator[str]:
    """A text behind its lead, further lines below its beginning.

    Parameters
    ----------
    lead
        Stands at the beginning of the first line, indented.
    said
        Breaks at spaces, but not inside a measure; nothing gives no line.

    Returns
    -------
    iterator of str
        Lines of at most ``WIDTH`` characters.
    """
    first = f"{INDENT}{lead}"
    whole = _MEASURE.sub(_TIED, plain_line(said))
    lines = textwrap.wrap(
        whole, WIDTH, initial_indent=first, subsequent_indent=" " * len(first), break_on_hyphens=False
    )
    yield from (line.replace(_TIED, " ").rstrip() for line in lines)
