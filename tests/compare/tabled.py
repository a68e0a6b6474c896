"""Requests for tables of prices: orders in which lists of alternatives stand for values and parts."""

from random import Random
from typing import Any

from compare.asking import Known, Offer, Request, caller, post, sometimes
from compare.flat import pairs_of, presentation, query_of, spoilt_query
from compare.orders import an_order, length
from compare.sections import extras
from compare.spoiling import JUNK, spoilt

FORMS = ("", "", ".csv", ".csv", ".tsv", ".ndjson", ".txt")
MOST_ROWS = 60  # of a usual table


def a_table(dice: Random, known: Known) -> Request:
    """A table of some rows, by a body or flat."""
    offer = dice.choice(known.offers)
    order = an_order(dice, known, offer)
    order.pop("pieces", None)
    order.setdefault("square", "48 mm")
    flat = sometimes(dice, 0.3)
    _vary(dice, order, offer, flat=flat)
    if sometimes(dice, 0.2):
        order = spoilt(dice, order, known)
    if sometimes(dice, 0.08):
        order |= _trouble(dice, offer)
    headers = caller(dice, offer.shop) + extras(dice)
    form = dice.choice(FORMS)
    shown = _shown(dice, form, offer)
    if not flat:
        return post("table", f"/v1/price-table{form}", order, headers, query_of(dice, shown))
    pairs = [*pairs_of(_joined(order)), *shown]
    query = query_of(dice, pairs)
    if sometimes(dice, 0.1):
        query = spoilt_query(dice, pairs, query)
    return Request(kind="table", method="GET", path=f"/v1/price-table{form}", query=query, headers=headers)


def a_long_table(dice: Random, known: Known) -> Request:
    """One of more rows than are made before they are sent, or more than there may be."""
    offer = dice.choice(known.offers)
    woods, (low, high) = offer.keys("timbers"), offer.span("square")
    count = dice.choice((16, 16, 16, 60, 600))
    order = {
        "shop": offer.shop,
        "light": woods[:3],
        "dark": woods[2:5],
        "square": [f"{low + (high - low) * n / count:.4g} mm" for n in range(count)],
        "finish": offer.keys("finishes")[:2],
        "quantity": [1, 2],
    }
    if count == 600:
        order["feet"] = [0, 4]
    form = dice.choice(FORMS)
    return post("long table", f"/v1/price-table{form}", order, caller(dice, offer.shop))


def _trouble(dice: Random, offer: Offer) -> dict[str, Any]:
    """What no table can have, or only in some of its rows."""
    wood = offer.keys("timbers")[0]
    frame = {"joint": "mitre", "hold": "floating", "species": wood, "width": "50 mm"}
    return dice.choice(
        (
            {"shop": [offer.shop, "elsewhere"]},
            {"shop": "elsewhere"},
            {"shop": 7},
            {"colour": ["red", "green"]},
            {"frame": {**frame, "colour": ["red", "green"]}},
            {"frame": [{**frame, "hold": ["glued", "floating"], "edge": "lip"}, frame]},
            {"square": [f"{n} furlongs" for n in range(90)]},
            {"square": ["900 mm", "950 mm"]},
            {"light": ["nothing", "nowhere"], "dark": [f"wood_{n}" for n in range(90)]},
            {"wanted_by": ["2027-02-04", "2027-02-20", "2027-06-01"]},
            {"ship_to": ["AQ", "BV"]},
            {"lines": [[{"species": wood, "width": "2 mm"}] * 7, []]},
            {"finish": [[], ["hardwax_oil"]]},
            {"starts_on": ["2149-12-20", "2027-03-01"], "wanted_by": None},
        )
    )


def _shown(dice: Random, form: str, offer: Offer) -> list[tuple[str, str]]:
    names = [
        name for name in offer.values if name.startswith(("price.", "geometry.", "schedule.", "order.", "packing."))
    ]
    own = ["square", "light", "frame.width", "lines", "shop", "fault", "fault_text", "frame", "quantity"]
    suffix = form.strip(".")
    if suffix in ("csv", "tsv", "txt"):
        return [
            each
            for each in presentation(dice, suffix, [*names, *own * 6])
            if each[0] != "field" or sometimes(dice, 0.1)
        ]
    if sometimes(dice, 0.4):
        return [("columns", ";".join(dice.choice((*names, *own * 6)) for _ in range(dice.randint(1, 6))))]
    return []


def _vary(dice: Random, order: dict[str, Any], offer: Offer, *, flat: bool) -> None:
    """Put lists of alternatives into an order."""
    low, high = offer.span("square")
    rows = 1
    ways = [
        "square",
        "finish",
        "quantity",
        "light",
        "dark",
        "ship_to",
        "thickness",
        "feet",
        "width",
        "units",
        "issued_on",
    ]
    ways += [] if flat else ["frame", "lines", "base"]
    for way in dice.sample(ways, dice.randint(1, 4)):
        count = dice.randint(2, 4)
        if rows * count > MOST_ROWS:
            break
        rows *= count
        made = _alternatives(dice, way, offer, count, (low, high))
        if way == "width" and isinstance(order.get("frame"), dict):
            order["frame"]["width"] = made
        elif way != "width":
            order[way] = made


def _alternatives(dice: Random, way: str, offer: Offer, count: int, span: tuple[float, float]) -> list[Any]:
    woods = offer.keys("timbers")
    frame = {"joint": "mitre", "hold": "floating", "species": woods[0], "width": ["40 mm", "50 mm"]}
    line = {"species": woods[:2], "width": "3 mm"}
    known: dict[str, list[Any]] = {
        "finish": offer.keys("finishes"),
        "quantity": [1, 2, 3, 5, 10, 20, 41],
        "light": woods,
        "dark": woods,
        "ship_to": ["AT", "DE", "US", "CA", "FR", "NZ"],
        "feet": [0, 4, 6, 3],
        "units": ["metric", "imperial"],
        "issued_on": ["2027-02-01", "2027-03-01", "2027-09-10", "2026-01-01"],
        "frame": [None, frame, {**frame, "hold": "glued", "species": woods[1], "width": "45 mm"}, {"joint": "butt"}],
        "lines": [[], [{"species": woods[0], "width": "2 mm"}], [line, {**line, "width": ["2 mm", "4 mm"]}]],
        "base": [None, {"material": "mdf", "thickness": "6 mm"}, {"material": "mdf", "thickness": ["1/4 in", "9 mm"]}],
    }
    if way in ("square", "thickness", "width"):
        bounds = {"square": span, "thickness": offer.span("thickness"), "width": offer.span("frame_width")}[way]
        found = [length(dice, bounds[0], bounds[1] * 1.02) for _ in range(count)]
    else:
        found = dice.sample(known[way], min(count, len(known[way])))
    if sometimes(dice, 0.06):
        found.append(dice.choice((found[0], [], dice.choice(JUNK))))
    return [] if sometimes(dice, 0.01) else found


def _joined(tree: Any) -> Any:
    """The tree with lists of plain alternatives as one text, as a flat query has them."""
    if isinstance(tree, dict):
        return {name: value if name == "lines" else _joined(value) for name, value in tree.items()}
    return "|".join(map(str, tree)) if isinstance(tree, list) else tree
