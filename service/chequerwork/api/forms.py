"""The forms of an answer: what the suffix of a path leads to, and the writers that several paths share."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Generic, TypeVar

import orjson

from chequerwork.api.presentation import CELLS, TABS, TEXT, Presentation
from chequerwork.api.sections.trees import Tree
from chequerwork.render.cells import MEDIA_TYPES, pick, to_csv, to_text
from chequerwork.render.text import to_page

Answer = TypeVar("Answer")
Body = bytes | Iterator[bytes]  # whole, or in pieces that are sent as they are made
JSON: Final = "application/json"
_PLAIN: Final = Presentation()


@dataclass(frozen=True, slots=True, kw_only=True)
class Form(Generic[Answer]):
    """How an answer is written, and what the contract says of it.

    Attributes
    ----------
    media_type
        As the header of an answer has it.
    write
        Raises ``Refused`` for what the query asks wrongly of this answer.
    takes
        Parameters of the query that say how to write, in the order of their faults.
    plain
        What holds where nothing is asked.
    columns
        The parameter of that name beside a body, as the contract has it; None where a body's own path has none.
    most_rows
        Where a table is bounded more than elsewhere.
    for_cells
        Whether it is meant for spreadsheets and plain clients; else it stands with the JSON.
    """

    media_type: str
    write: Callable[[Answer, Presentation], Body]
    takes: tuple[str, ...] = ()
    plain: Presentation = _PLAIN
    columns: Mapping[str, Any] | None = None
    most_rows: int | None = None
    for_cells: bool = True


Forms = Mapping[str | None, Form[Answer]]  # by suffix; None is the path itself


def as_json(tree: Callable[[Answer], Any]) -> dict[str | None, Form[Answer]]:
    """The path itself."""
    return {None: Form(media_type=JSON, write=lambda found, _: orjson.dumps(tree(found)), for_cells=False)}


def as_cells(
    write: Callable[[Answer, Presentation], Body], columns: Mapping[str, Any] | None = None
) -> dict[str | None, Form[Answer]]:
    """``.csv`` and ``.tsv``."""
    return {
        suffix: Form(media_type=MEDIA_TYPES[suffix], write=write, takes=CELLS, plain=plain, columns=columns)
        for suffix, plain in (("csv", _PLAIN), ("tsv", TABS))
    }


def as_text(tree: Callable[[Answer], Tree], page: Callable[[Answer], str]) -> dict[str | None, Form[Answer]]:
    """``.txt``: a page to read, or the one value that ``field`` names."""

    def write(found: Answer, shown: Presentation) -> bytes:
        text = page(found) if shown.field is None else to_text(pick(tree(found), shown.field))
        return text.encode()

    return {"txt": Form(media_type=MEDIA_TYPES["txt"], write=write, takes=TEXT)}


def layout(shown: Presentation) -> dict[str, Any]:
    """How the cells of a table are written."""
    return {"columns": shown.columns, "delimiter": shown.delimiter, "decimal": shown.decimal, "bom": shown.bom}


@dataclass(frozen=True, slots=True)
class Titled:
    """An answer that is a tree, and the title of its page."""

    tree: Tree
    title: str


def of_tree(columns: Mapping[str, Any] | None = None) -> dict[str | None, Form[Titled]]:
    """The forms of any tree: JSON, one row of cells, and a page."""
    return {
        **as_json(tree_of),
        **as_cells(lambda found, shown: to_csv(found.tree, **layout(shown)), columns),
        **as_text(tree_of, lambda found: to_page(found.tree, found.title)),
    }


def tree_of(found: Titled) -> Tree:
    """What an answer says."""
    return found.tree


def names_of(what: str, example: str) -> dict[str, Any]:
    """Contract of the names that pick and order the columns of a table."""
    return {
        "name": "columns",
        "description": f"Names of {what} in their order, joined by semicolons.",
        "schema": {"type": "string", "pattern": "^[A-Za-z][A-Za-z0-9_.;]{0,199}$", "examples": [example]},
    }
