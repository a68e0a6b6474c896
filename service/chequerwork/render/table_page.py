"""A table of prices as a page: a line for each combination, numbers under one another."""

from collections import Counter
from collections.abc import Mapping, Sequence

from chequerwork.render.cells import Scalar, plain_line, to_text
from chequerwork.render.page import columns, page_of, title


def table_page(heading: str, names: Sequence[str], rows: Sequence[Mapping[str, Scalar]], fault: Sequence[str]) -> str:
    """The rows under short names of their columns; what cannot be priced says why.

    Parameters
    ----------
    heading
        First line of the page.
    names
        Flat names of the columns. Of each the last word is shown, or as many as tell it from the others.
    rows
        Values by name.
    fault
        Names of the columns that say why a row has no price: told behind its row.
    """
    shown = [name for name in names if name not in fault]
    grid = [[*_labels(shown), ""]]
    for row in rows:
        why = "  ".join(to_text(row[name]) for name in fault if row.get(name) is not None)
        grid.append([plain_line(to_text(row.get(name))) for name in shown] + [plain_line(why)])
    return page_of([*title(plain_line(heading)), "", *(columns(grid) or ())])


def _labels(names: Sequence[str]) -> list[str]:
    last = [name.rpartition(".")[2] for name in names]
    often = Counter(last)
    return [short if often[short] == 1 else full for short, full in zip(last, names, strict=True)]
