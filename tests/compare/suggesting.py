"""Requests for suggestions: orders known in part, limits that fit or do not, wishes."""

from random import Random
from typing import Any

from compare.asking import TODAY, Known, Offer, Request, caller, post, sometimes
from compare.flat import pairs_of, presentation, query_of, spoilt_query
from compare.orders import an_order, day, length
from compare.sections import extras
from compare.spoiling import spoilt

FORMS = ("", "", "", ".csv", ".tsv", ".txt", ".txt")
FIELDS = (
    "square", "light", "dark", "grain", "thickness", "pattern", "lines", "frame", "base", "feet", "finish",
)  # fmt: skip
VALUES = (
    "rank", "points", "link", "square_mm", "outside.length_mm", "total", "changes", "gives_up", "suggestions.0.total",
    "suggestions.0.changes.0.text", "thorough", "none", "suggestions",
)  # fmt: skip


def a_suggestion(dice: Random, known: Known) -> Request:
    """Suggestions by a body or flat."""
    offer = dice.choice(known.offers)
    stocked = sometimes(dice, 0.06)
    body = _body(dice, known, offer, stocked=stocked)
    flat = sometimes(dice, 0.25)
    if sometimes(dice, 0.2):
        body = spoilt(dice, body, known)
    headers = caller(dice, offer.shop, makers=0.8 if stocked else 0.3) + extras(dice)
    form = dice.choice(FORMS)
    path = f"/v1/suggestions{form}"
    shown = presentation(dice, form[1:], VALUES) if form else []
    if not flat:
        return post("suggestions", path, body, headers, query_of(dice, shown))
    order = body.pop("order", {})
    pairs = [*pairs_of({**(order if isinstance(order, dict) else {}), **body}), *shown]
    query = query_of(dice, pairs)
    if sometimes(dice, 0.1):
        query = spoilt_query(dice, pairs, query)
    return Request(kind="suggestions", method="GET", path=path, query=query, headers=headers)


def _body(dice: Random, known: Known, offer: Offer, *, stocked: bool) -> dict[str, Any]:
    order = an_order(dice, known, offer, small=stocked)
    for name in list(order):
        if name != "shop" and sometimes(dice, 0.3):
            del order[name]
    if not offer.first:
        order["shop"] = offer.shop
    body: dict[str, Any] = {"order": order} if sometimes(dice, 0.95) else {}
    if sometimes(dice, 0.9):
        body["limits"] = _limits(dice, offer)
    if stocked:
        body["limits"] = {"outside": "480 mm", "from_stock": True}
    if sometimes(dice, 0.6):
        body["wishes"] = _wishes(dice)
    if sometimes(dice, 0.1):
        _trouble(dice, body)
    if sometimes(dice, 0.6) or stocked:
        body["count"] = 1 if stocked else dice.choice((1, 2, 3, 8))
    return body


def _trouble(dice: Random, body: dict[str, Any]) -> None:
    """What may not stand together, and what is none of its kind."""
    odd: dict[str, tuple[Any, ...]] = {
        "wishes": (
            {"keep": ["light"], "may_change": ["dark"]},
            {"keep": ["ligth", 3, "dark"]},
            {"may_change": []},
            {"first": "last"},
        ),
        "limits": (
            {"species": ["pear", "no_such_wood", 7]},
            {"species": []},
            {"mass": "3", "total": 700},
            {"outside": "10 mm", "mass": "10 g", "height": "2 mm"},
            {"mass": "500 g", "outside": "800 mm"},
            {"ready_by": "2026-01-01", "ships_by": "2027-02-31"},
            {"from_stock": 1},
            {"verdict": "expect damage"},
            7,
        ),
        "order": ({"shop": "elsewhere"}, {"square": "48"}, [], {"game": "chess", "columns": 9}),
        "count": (0, 9, "3"),
    }
    for name in dice.sample(list(odd), dice.randint(1, 2)):
        body[name] = dice.choice(odd[name])


def _limits(dice: Random, offer: Offer) -> dict[str, Any]:
    limits: dict[str, Any] = {
        "outside": length(dice, 300, 620, imperial=offer.imperial),
        "outside_length": length(dice, 300, 620),
        "outside_width": length(dice, 300, 620),
        "height": length(dice, 18, 60),
        "mass": dice.choice(("1500 g", "3.5 kg", "9 lb", "80 oz", "6 kg")),
        "unit_gross": dice.choice(("350", "480.50", "650", "900")),
        "total": dice.choice(("420", "560", "700", "1500")),
        "ready_by": day(dice, 5, 60),
        "ships_by": day(dice, 5, 60),
        "verdict": dice.choice(("sound", "watch")),
        "species": dice.sample(offer.keys("timbers"), dice.randint(2, 3)),
    }
    if sometimes(dice, 0.25):  # what hardly any board keeps to
        limits |= {"mass": dice.choice(("300 g", "1.2 lb")), "total": "90", "unit_gross": "80", "height": "9 mm"}
        limits |= {"outside": "190 mm", "ready_by": TODAY, "ships_by": TODAY}
    return {name: limits[name] for name in dice.sample(list(limits), dice.randint(1, 3))}


def _wishes(dice: Random) -> dict[str, Any]:
    wishes: dict[str, Any] = {}
    if sometimes(dice, 0.5):
        wishes["first"] = dice.choice(("likeness", "large_squares", "low_price", "early", "contrast"))
    if sometimes(dice, 0.7):
        wishes[dice.choice(("keep", "may_change"))] = dice.sample(FIELDS, dice.randint(1, 4))
    return wishes
