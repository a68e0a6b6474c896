"""A table of prices as a page: a line for each combination, numbers under one another."""

from collections import Counter
from collections.abc import Mapping, Sequence

from chequerwork.render.cells import Scalar, plain_line, to_text


def table_page(title: str, names: Sequence[str], rows: Sequence[Mapping[str, Scalar]], fault: Sequence[str]) -> str:
    """The rows under short names of their columns; what cannot be priced says why.

    Parameters
    ----------
    title
        First line of the page.
    names
        Flat names of the columns. Of each the last word is shown, or as many as tell it from the others.
    rows
        Values by name.
    fault
        Names of the columns that say why a row has no price: told behind its row.
    """
    shown = [name for name in names if name not in fault]
    grid = [_labels(shown), *([plain_line(to_text(row.get(name))) for name in shown] for row in rows)]
    widths = [max(map(len, column)) for column in zip(*grid, strict=True)]
    right = [all(_is_number(cell) for cell in column[1:]) for column in zip(*grid, strict=True)]
    lines = [
        "  ".join(f"{cell:{'>' if r else '<'}{width}}" for cell, width, r in zip(cells, widths, right, strict=True))
        for cells in grid
    ]
    told = ["", *("  ".join(to_text(row[name]) for name in fault if row.get(name) is not None) for row in rows)]
    heading = plain_line(title)
    table = [f"{line}  {plain_line(why)}".rstrip() for line, why in zip(lines, told, strict=True)]
    return "\n".join([heading, "=" * len(heading), "", *table]) + "\n"


def _labels(names: Sequence[str]) -> list[str]:
    last = [name.rpartition(".")[2] for name in names]
    often = Counter(last)
    return [short if often[short] == 1 else full for short, full in zip(last, names, strict=True)]


def _is_number(cell: str) -> bool:
    return not cell or cell[0] in "-0123456789"
