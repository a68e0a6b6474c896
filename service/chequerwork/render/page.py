"""A page of plain text: headings, paragraphs, columns and tables. The pages themselves only say what stands on them."""

import re
import textwrap
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from chequerwork.render.cells import plain_line

Tree = Mapping[str, Any]

WIDTH: Final = 100
INDENT: Final = "  "
_GAP: Final = "  "  # between columns
# Spaces inside a measure, at which no line may end: 2 15/32 in is not 2, nor 15/32.
_MEASURE: Final = re.compile(r"(?<=\d) (?=\d|x \d|mm\b|in\b|%|m3\b)|(?<=\d x) (?=\d)")
_TIED: Final = "\u00a0"


def page_of(lines: Iterable[str]) -> str:
    """The lines as one text, each ended by a line feed."""
    return "\n".join(lines) + "\n"


def title(text: str) -> list[str]:
    """The head of a page, in one line."""
    return [text, "=" * len(text)]


def section(heading: str, body: Iterable[str]) -> list[str]:
    """An empty line, the heading and the body; nothing where the body is empty."""
    lines = list(body)
    return [*headed(heading), *lines] if lines else []


def headed(heading: str) -> list[str]:
    """An empty line and an underlined heading, in several lines where it is long."""
    head = [line.strip() for line in measured(heading)]
    return ["", *head, "-" * max(map(len, head))]


def words(key: str) -> str:
    """A key of an answer as people say it."""
    return plain_line(key).replace("_", " ")


def is_number(cell: str) -> bool:
    """Whether a cell may stand in a column of numbers: it begins like one, or is empty."""
    return not cell or cell[0] in "-0123456789"


# Paragraphs -----------------------------------------------------------------------------------------------------------


def paragraph(text: str, *, start: str = INDENT, further: str | None = None, hyphens: bool = True) -> list[str]:
    """A text in lines of at most ``WIDTH`` characters; none for an empty text.

    Parameters
    ----------
    text
        Breaks at spaces.
    start
        Stands before the first line: its indent, or a label.
    further
        Stands before the other lines; left out, they begin below the first.
    hyphens
        Whether the text may break behind a hyphen too.
    """
    below = " " * len(start) if further is None else further
    return textwrap.wrap(text, WIDTH, initial_indent=start, subsequent_indent=below, break_on_hyphens=hyphens)


def measured(text: str, *, label: str = "") -> list[str]:
    """A paragraph behind a label, in which no line ends inside a measure such as 2 15/32 in."""
    whole = _MEASURE.sub(_TIED, plain_line(text))
    lines = paragraph(whole, start=f"{INDENT}{label}", hyphens=False)
    return [line.replace(_TIED, " ").rstrip() for line in lines]


def tied(text: str) -> str:
    """The text as one word for ``measured``, which gives its spaces back."""
    return plain_line(text).replace(" ", _TIED)


# Columns --------------------------------------------------------------------------------------------------------------


def table(rows: Iterable[Sequence[str]], *, right: Collection[int] = (), indent: str = INDENT) -> Iterator[str]:
    """Rows in columns as wide as their widest cell; a last cell that is too long runs on below itself.

    Parameters
    ----------
    rows
        As many cells in each, at least two.
    right
        Places of the columns that are aligned at their right, such as amounts.
    indent
        Stands before every line.
    """
    grid = list(rows)
    widths = [max(map(len, column)) for column in zip(*grid, strict=True)]
    last = len(widths) - 1
    for row in grid:
        start = indent + "".join(_aligned(row[at], widths[at], right=at in right) + _GAP for at in range(last))
        if last in right:
            start += " " * (widths[last] - len(row[last]))
        yield from (line.rstrip() for line in paragraph(row[last], start=start) or [start])


def columns(grid: Sequence[Sequence[str]], *, indent: str = "", room: int | None = None) -> list[str] | None:
    """Rows in columns, cells of several lines where there is no room; columns of numbers are aligned at their right.

    Parameters
    ----------
    grid
        The first row names the columns.
    indent
        Stands before every line.
    room
        Characters that a line may have behind its indent; left out, as many as it needs.

    Returns
    -------
    list of str, or None
        None where words or numbers would have to be cut.
    """
    widths = _column_widths(grid, room)
    if widths is None:
        return None
    numeric = [all(map(is_number, column[1:])) for column in zip(*grid, strict=True)]
    return [f"{indent}{line}".rstrip() for row in grid for line in _row(row, widths, numeric)]


def _row(cells: Sequence[str], widths: Sequence[int], numeric: Sequence[bool]) -> Iterator[str]:
    parts = [
        [cell] if len(cell) <= width else textwrap.wrap(cell, width) for cell, width in zip(cells, widths, strict=True)
    ]
    for depth in range(max(map(len, parts))):
        yield _GAP.join(
            _aligned(part[depth] if depth < len(part) else "", width, right=right)
            for part, width, right in zip(parts, widths, numeric, strict=True)
        )


def _aligned(cell: str, width: int, *, right: bool) -> str:
    return cell.rjust(width) if right else cell.ljust(width)


def _column_widths(grid: Sequence[Sequence[str]], room: int | None) -> list[int] | None:
    """Widths that fit into the room, the widest columns giving way; None if words or numbers would be cut."""
    by_column = list(zip(*grid, strict=True))
    widths = [max(map(len, column)) for column in by_column]
    if room is None:
        return widths
    least = [max(map(_unbreakable, column)) for column in by_column]
    room -= len(_GAP) * (len(widths) - 1)
    if sum(least) > room:
        return None
    while sum(widths) > room:
        spare = [width if width > low else 0 for width, low in zip(widths, least, strict=True)]
        widths[spare.index(max(spare))] -= 1
    return widths


def _unbreakable(cell: str) -> int:
    return len(cell) if is_number(cell) else max(map(len, cell.split()), default=0)
