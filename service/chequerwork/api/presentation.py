"""How an answer is to be written: parameters of a query that are no part of the order."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from werkzeug.datastructures import MultiDict

from chequerwork.api.problems import invalid_order
from chequerwork.api.reading import SHOWN, read_query, single
from chequerwork.domain.basics.errors import BadQuantity, Fault
from chequerwork.ops import limits

# Names of parameters, in the order in which their faults are told.
FLAGS: Final = ("explain", "from_stock", "sensitivity")  # what stands beside an answer
CELLS: Final = ("columns", "delimiter", "decimal", "bom", "errors")  # of a table in a file
TEXT: Final = ("field", "errors")  # of a page
# A value of "columns" without any letter counts the board's columns, or tries to.
_COUNT = re.compile(r"[^A-Za-z]*")
_PLACE = re.compile(r"[1-9][0-9]{0,4}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Presentation:
    """How an answer is to be written for a plain client."""

    columns: tuple[str, ...] = ()  # flat names to show; none means all
    field: str | None = None  # the one flat name to show; None means a page
    delimiter: str = ","
    decimal: str = "."
    bom: bool = False
    errors_inline: bool = False
    explain: bool = False  # whether numbers are explained
    from_stock: bool = False  # whether the cost of a stock plan stands beside a price
    sensitivity: bool = False  # whether what moves a price stands beside it
    board: int | None = None  # the one layout to draw; None means all


def _choice(**meanings: object) -> Callable[[str], object]:
    """Reader of a value from a closed list."""

    def read(text: str) -> object:
        if text not in meanings:
            detail = f"{text[:SHOWN]!r} is not known here. Give {' or '.join(meanings)}."
            raise BadQuantity("unknown-name", detail)
        return meanings[text]

    return read


def _read_names(text: str) -> tuple[str, ...]:
    """``price.total;geometry.square_mm``, also with commas."""
    names = tuple(name.strip() for name in re.split("[;,]", text))
    if len(names) > limits.MAX_LIST_ITEMS:
        raise BadQuantity("too-many", f"It lists {len(names)} names; at most {limits.MAX_LIST_ITEMS} are read.")
    if not all(names):
        raise BadQuantity("bad-list", "One of its names is empty. Write names with one ; between two of them.")
    return names


def _read_place(text: str) -> int:
    if not _PLACE.fullmatch(text):
        raise BadQuantity("wrong-type", f"{text[:SHOWN]!r} is no number of a layout. Use digits, such as 1.")
    return int(text)


_PRESENTATION_READERS: Mapping[str, Callable[[str], Any]] = {
    "columns": _read_names,
    "delimiter": _choice(**{",": ",", ";": ";", "tab": "\t"}),
    "decimal": _choice(**{".": ".", ",": ","}),
    "bom": _choice(**{"1": True, "0": False}),
    "field": str.strip,
    "errors": _choice(inline=True),
    "explain": _choice(**{"1": True, "0": False}),
    "from_stock": _choice(**{"1": True, "0": False}),
    "sensitivity": _choice(**{"1": True, "0": False}),
    "board": _read_place,
}
_RENAMED: Final = {"errors": "errors_inline"}
_MOST_CHARS: Final = dict.fromkeys(FLAGS, limits.MAX_STRING_CHARS)  # others may fill the query
_AS_WRITTEN: Final = Presentation()
TABS: Final = Presentation(delimiter="\t")


def read_presentation(
    args: MultiDict[str, str], names: Sequence[str], plain: Presentation = _AS_WRITTEN
) -> tuple[Presentation, MultiDict[str, str], list[Fault]]:
    """Split a query into how the answer is to look and what is ordered.

    Parameters
    ----------
    args
        Decoded parameters.
    names
        Of the parameters that this path and form of answer take; their faults come in this order.
    plain
        What holds where nothing is asked.

    Returns
    -------
    tuple
        The presentation; the parameters left for ``read_query``; and the faults of the presentation. ``columns`` may be
        given twice: as a number it is the board's, as names it picks and orders.
    """
    here = [name for name in names if name in args]
    if not here:
        return plain, args, []
    rest = MultiDict((name, text) for name, text in args.items(multi=True) if name not in here)
    found: dict[str, Any] = {}
    faults: list[Fault] = []
    for name in here:
        texts = args.getlist(name)
        if name == "columns":
            for text in filter(_COUNT.fullmatch, texts):
                rest.add(name, text)
            texts = [text for text in texts if not _COUNT.fullmatch(text)]
        if texts:
            try:
                text = single(texts, _MOST_CHARS.get(name, limits.MAX_QUERY_BYTES))
                found[_RENAMED.get(name, name)] = _PRESENTATION_READERS[name](text)
            except BadQuantity as error:
                faults.append(Fault(at=(name,), code=error.code, detail=error.detail))
    shown = replace(plain, **found)
    return shown, rest, [*faults, *_conflicts(shown, plain)]


def _conflicts(shown: Presentation, plain: Presentation) -> Iterator[Fault]:
    if plain is TABS and shown.delimiter != plain.delimiter:
        detail = "Values on .tsv are separated by tabs. Leave out delimiter, or use .csv."
        yield Fault(at=("delimiter",), code="conflict", detail=detail)
    if shown.decimal == shown.delimiter:
        detail = "A comma cannot be both the decimal sign and the delimiter. Add delimiter=; or delimiter=tab."
        yield Fault(at=("decimal",), code="conflict", detail=detail)


def nothing_beside_the_body(args: MultiDict[str, str], faults: list[Fault]) -> None:
    """Hold a query to what a body leaves it to say: a body says all of an order.

    Raises
    ------
    Problem
        With ``faults`` and every parameter that would be ignored without a word.
    """
    found = [*faults, *read_query(args, shape={})[1]]
    if found:
        raise invalid_order(found, in_query=True)
