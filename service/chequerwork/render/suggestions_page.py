"""The page of suggestions: what would suit and what each gives up, or what stands in the way.

Shows what the tree holds: a customer's tree gives the customer's page. Decides looks, never numbers.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from chequerwork.render.cells import Branch, Scalar, plain_line, to_text
from chequerwork.render.page import Tree, measured, page_of, section, tied, title, words

_TITLE: Final = "What would suit"
_LABEL: Final = 10
_CUT_SHORT: Final = "The search ended before everything was weighed: there may be"
_SAME: Final = "The same in all of them"
_LINKS: Final = "Each link asks for the quote of its order."
_DIGITS: Final = 2  # after the point
_LONG: Final = re.compile(r"\d+\.\d{5,}")


def suggestions_page(tree: Tree) -> str:
    """The page of an answer of ``/v1/suggestions``.

    Parameters
    ----------
    tree
        The answer, customer's or maker's.

    Returns
    -------
    str
        Lines of at most ``WIDTH`` characters, each ended by a line feed; a link stays in one line, however long.
    """
    orders = list(_named(tree))
    page = _Page(tree["currency"], _alike([each["order"] for _, each in orders]))
    lines = [*title(_TITLE), *_lead(tree)]
    for each in tree["suggestions"]:
        lines += section(f"{each['rank']}: {_headline(each, page)}", _board(each, page))
    if tree["none"] is not None:
        lines += _none(tree["none"], page)
    if orders:
        lines += section(_SAME if len(orders) > 1 else "The order", measured(_order(page.alike)))
        lines += section("Links", measured(_LINKS))
    for name, each in orders:
        lines += [f"{name}:", plain_line(each["link"])]
    return page_of(lines)


class _Page(NamedTuple):
    """What all suggestions of a page share: their currency, and the fields that are the same in all orders."""

    currency: str
    alike: Tree


def _alike(orders: Sequence[Tree]) -> Tree:
    if not orders:
        return {}
    first, *others = orders
    return {
        name: value for name, value in first.items() if all(name in each and each[name] == value for each in others)
    }


def _lead(tree: Tree) -> Iterator[str]:
    count = len(tree["suggestions"])
    if not count:
        yield "No order keeps to all limits." if tree["thorough"] else "No order was found that keeps to all limits."
    else:
        yield "One order keeps to all limits." if count == 1 else f"{count} orders keep to all limits, best first."
    if not tree["thorough"]:
        yield f"{_CUT_SHORT} {'better ones' if count else 'one'}."


def _none(none: Tree, page: _Page) -> Iterator[str]:
    """Which limits no board keeps to, the closest miss, and which limit would do if it were relaxed."""
    if none["alone"]:
        yield from section("Out of reach", (line for each in none["alone"] for line in measured(each["text"])))
    closest = none["closest"]
    if closest is not None:
        yield from section("Closest miss", _closest(closest, page))
    yield from section("If one limit is relaxed", _relaxed(none["relaxed"], closest, page))


def _closest(closest: Tree, page: _Page) -> Iterator[str]:
    for missed in closest["missed"]:
        yield from measured(missed["text"])
    yield from _whole(closest["suggestion"], page)


def _relaxed(relaxed: Sequence[Tree], closest: Tree | None, page: _Page) -> Iterator[str]:
    if not relaxed:
        yield from measured("No limit was found that would do if it alone were relaxed.")
    for number, each in enumerate(relaxed):
        yield from [""] if number else []
        yield from measured(each["text"])
        if _is_closest(each, closest):
            yield from measured("That is the order of the closest miss.")
        else:
            yield from _whole(each["suggestion"], page)


def _is_closest(relaxed: Tree, closest: Tree | None) -> bool:
    return closest is not None and bool(relaxed["suggestion"]["link"] == closest["suggestion"]["link"])


def _named(tree: Tree) -> Iterator[tuple[str, Tree]]:
    """Every order on the page once, by the name it has there."""
    for each in tree["suggestions"]:
        yield f"{each['rank']}", each
    none = tree["none"]
    if none is None:
        return
    if none["closest"] is not None:
        yield "Closest miss", none["closest"]["suggestion"]
    for each in none["relaxed"]:
        if not _is_closest(each, none["closest"]):
            yield f"With {words(each['limit'])} relaxed", each["suggestion"]


# One suggestion -------------------------------------------------------------------------------------------------------


def _headline(each: Tree, page: _Page) -> str:
    """Squares, size, price, day and verdict; a line may end only between them."""
    size = each["outside"]
    said = (
        f"squares {each['square_text']},",
        f"outside {size['length_text']} x {size['width_text']},",
        f"{each['total']} {page.currency},",
        f"ready {each['ready_on']},",
        each["verdict"],
    )
    return " ".join(map(tied, said))


def _whole(each: Tree, page: _Page) -> Iterator[str]:
    yield ""
    yield from measured(_headline(each, page))
    yield from _board(each, page)


def _board(each: Tree, page: _Page) -> Iterator[str]:
    own, coin = {name: value for name, value in each["order"].items() if name not in page.alike}, page.currency
    for label, said in (
        ("changes", [_change(change) for change in each["changes"]] or ["nothing"]),
        ("gives up", each["gives_up"] or ["nothing"]),
        ("height", [each["outside"]["height_text"]]),
        ("mass", [each["mass_text"]]),
        ("pieces", [] if each["fit"] is None else [each["fit"]]),
        ("price", [f"{each['unit_gross']} {coin} each with tax, {each['total']} {coin} in all with shipping"]),
        ("leaves", [each["ships_on"]]),
        ("cost", _cost(each.get("workshop"), coin)),
        ("order", [_order(own)]),
    ):
        for number, text in enumerate(said):
            yield from measured(text, label=f"{'' if number else label:<{_LABEL}}")


def _cost(workshop: Tree | None, coin: str) -> list[str]:
    """What only a maker's tree has."""
    return [] if workshop is None else [f"{workshop['cost_total']} {coin}, margin {workshop['margin_pct']:g} %"]


def _change(change: Tree) -> str:
    """From what to what; only the new value where the request left it open."""
    was = "" if change["from"] is None else f" {words(change['from'])}"
    now = "none" if change["to"] is None else words(change["to"])
    return f"{words(change['field']).replace('.', ' ')}{was} -> {now}"


def _order(order: Tree) -> str:
    """The fields of an order behind one another; a line may end only between two."""
    return "; ".join(_field(words(name), value) for name, value in order.items() if value not in ([], {}))


def _field(name: str, value: Scalar | Branch) -> str:
    if isinstance(value, Mapping):
        parts = list(_parts_of(value))
    elif isinstance(value, list | tuple):
        parts = [" ".join(map(_value, part.values())) for part in value]
    else:
        parts = [_value(value)]
    parts[0] = f"{name} {parts[0]}"
    return ", ".join(map(tied, parts))


def _parts_of(values: Tree) -> Iterator[str]:
    """Each value behind its name; those of a part of it, such as a base's skirt, behind the part's name too."""
    for key, value in values.items():
        if isinstance(value, Mapping):
            yield from (f"{words(key)} {told}" for told in _parts_of(value))
        else:
            yield f"{words(key)} {_value(value)}"


def _value(value: Scalar) -> str:
    """A value as words; what has more digits than can be read has them in the link."""
    return _LONG.sub(lambda found: f"{float(found[0]):.{_DIGITS}f}", words(to_text(value)))
