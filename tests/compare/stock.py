"""Requests for stock plans: of orders or parts, from the rack or own boards, small enough to be planned quickly."""

from random import Random
from typing import Any

from compare.asking import Known, Offer, Request, caller, post, sometimes
from compare.flat import asked_flat, presentation, query_of, spoilt_query
from compare.orders import GRAINS, an_order, length
from compare.sections import extras
from compare.spoiling import spoilt

FORMS = ("", "", "", ".csv", ".tsv", ".txt", ".svg")
VALUES = (
    "status", "cost", "bound", "gap_pct", "layouts.0.board", "layouts.0.cuts.0.kind", "board", "piece", "part",
    "layout", "x_mm", "y_mm", "length_mm", "width_mm", "species", "layouts", "bought.0.count",
)  # fmt: skip


def a_stock_plan(dice: Random, known: Known) -> Request:
    """A plan by a body, or of one order asked flat."""
    offer = dice.choice(known.offers)
    headers = caller(dice, offer.shop, makers=0.9) + extras(dice)
    form = dice.choice(FORMS)
    shown = presentation(dice, form[1:], VALUES) if form in (".csv", ".tsv", ".txt") else []
    if form == ".svg" and sometimes(dice, 0.5):
        shown.append(("board", dice.choice(("1", "1", "2", "3", "99", "0", "first"))))
    if sometimes(dice, 0.15):
        order = an_order(dice, known, offer, small=True)
        pairs = [*asked_flat(dice, order), *shown]
        if sometimes(dice, 0.3):
            pairs.append(("goal", dice.choice(("cost", "volume", "speed"))))
        query = query_of(dice, pairs)
        if sometimes(dice, 0.15):
            query = spoilt_query(dice, pairs, query)
        return Request(kind="stock plan", method="GET", path=f"/v1/stock-plan{form}", query=query, headers=headers)
    body = _body(dice, known, offer)
    if sometimes(dice, 0.2):
        body = spoilt(dice, body, known)
    return post("stock plan", f"/v1/stock-plan{form}", body, headers, query_of(dice, shown))


def _body(dice: Random, known: Known, offer: Offer) -> dict[str, Any]:
    body: dict[str, Any] = {"shop": offer.shop} if sometimes(dice, 0.8) else {}
    drawn = dice.random()
    woods = dice.sample(offer.keys("timbers"), 2)
    if drawn < 0.35:
        body["order"] = an_order(dice, known, offer, small=True)
    elif drawn < 0.45:
        body["orders"] = [an_order(dice, known, offer, small=True) for _ in range(dice.randint(1, 2))]
    else:
        body["parts"] = [_part(dice, offer, woods, number) for number in range(dice.randint(1, 4))]
    if sometimes(dice, 0.55):
        body["boards"] = [_board(dice, offer, woods, number) for number in range(dice.randint(1, 6))]
    for name, share, among in (
        ("buy", 0.4, (True, False)),
        ("goal", 0.3, ("cost", "volume")),
        ("diagrams", 0.2, (True, False)),
        ("units", 0.3, ("metric", "imperial")),
    ):
        if sometimes(dice, share):
            body[name] = dice.choice(among)
    if sometimes(dice, 0.3):
        body["saw"] = _saw(dice)
    if sometimes(dice, 0.3):
        _trouble(dice, known, body, woods)
    return body


def _trouble(dice: Random, known: Known, body: dict[str, Any], woods: list[str]) -> None:
    """What each part of a request may say, but not together, or not of what there is."""
    wood, sheet = woods[0], {"species": "mdf", "width": "300 mm", "length": "500 mm"}
    part = {"id": "odd", "species": wood, "length": "500 mm", "width": "60 mm", "thickness": "20 mm"}
    board = {"id": "odd", "species": wood, "length": "1500 mm", "width": "160 mm", "class": "4/4"}
    parts: list[dict[str, Any]] = [
        {**part, "length": "6 m"},
        {**part, "width": "700 mm"},
        {**part, "width": "290 mm", "length": "290 mm"},
        {**part, "length": "150 mm", "width": "240 mm"},
        {**part, "thickness": "120 mm"},
        {**part, "sawn": "quarter"},
        {**part, "count": 20_000},
        {**part, "id": "twin", "count": 1, "thickness": "52 mm"},
        {**part, "species": dice.choice(known.timbers)},
        {**part, "species": "mdf", "thickness": "7 mm", "width": "1300 mm"},
    ]
    boards: list[dict[str, Any]] = [
        {name: value for name, value in board.items() if name != "class"},
        {**board, "thickness": "27 mm"},
        {**board, "class": dice.choice(("7/4", "16/4", "1"))},
        {**board, "price": "10", "price_per_m3": "1000"},
        {**board, "price": dice.choice((12, "-1", "1e2", "12,50"))},
        {**board, "count": 1000},
        {**board, "defects": [{"from": "900 mm", "to": "300 mm"}]},
        {**board, "defects": [{"from": "100 mm", "to": "400 mm"}, {"from": "300 mm", "to": "500 mm"}]},
        {**board, "defects": [{"from": "100 mm", "to": "1600 mm"}]},
        {**board, "species": dice.choice(known.timbers)},
        {**board, **sheet, "thickness": "6 mm"},
        {**board, **sheet, "thickness": "6 mm", "sheet": True},
        {**board, "sheet": True},
        {**board, "species": "no_sheet", "sheet": True},
        {**board, "length": "180 mm"},
    ]
    drawn = dice.random()
    if drawn < 0.4:
        body["boards"] = [*body.get("boards", ()), *dice.sample(boards, dice.choice((1, 1, 2, 6)))]
        if sometimes(dice, 0.1):
            body["boards"] = [{**board, "id": f"n{n}", "count": 1000} for n in range(6)]
    elif drawn < 0.75:
        for name in ("order", "orders"):
            body.pop(name, None)
        odd = dice.sample(parts, dice.choice((1, 1, 2)))
        body["parts"] = [*body.get("parts", ()), *({**each, "id": f"o{n}"} for n, each in enumerate(odd))]
        if sometimes(dice, 0.3):
            body["buy"] = False
    elif drawn < 0.85:
        body["order"] = an_order(dice, known, small=True)
    elif drawn < 0.95:
        body.pop("order", None)
        body.pop("parts", None)
        body["orders"] = dice.choice(([an_order(dice, known, small=True), 7], [], [{"shop": "elsewhere"}], [{}, {}]))
    else:
        body["shop"] = "elsewhere"


def _part(dice: Random, offer: Offer, woods: list[str], number: int) -> dict[str, Any]:
    sheet = bool(offer.choices["sheets"]) and sometimes(dice, 0.08)
    part: dict[str, Any] = {
        "id": f"p{number}" if sometimes(dice, 0.97) else "p0",
        "species": dice.choice(offer.choices["sheets"])["material"] if sheet else dice.choice(woods),
        "length": length(dice, 150, 1200, imperial=offer.imperial),
        "width": length(dice, 20, 130, imperial=offer.imperial),
        "thickness": "6 mm" if sheet else length(dice, 12, 30, imperial=offer.imperial),
    }
    if sometimes(dice, 0.8):
        part["count"] = dice.choice((1, 2, 4, 6, 9))
    if sometimes(dice, 0.25):
        part["grain"] = dice.choice(("lengthwise", "any"))
    if sometimes(dice, 0.2):
        part["sawn"] = dice.choice(GRAINS)
    return part


def _board(dice: Random, offer: Offer, woods: list[str], number: int) -> dict[str, Any]:
    board: dict[str, Any] = {
        "id": f"b{number}",
        "species": dice.choice(woods),
        "length": length(dice, 600, 3000, imperial=offer.imperial),
        "width": length(dice, 90, 280, imperial=offer.imperial),
    }
    if sometimes(dice, 0.08):
        board |= {"species": "mdf", "thickness": "6 mm", "sheet": True, "width": "800 mm"}
    elif sometimes(dice, 0.6):
        board["class"] = dice.choice(("4/4", "5/4", "6/4", "8/4"))
    else:
        board["thickness"] = length(dice, 22, 52)
    if sometimes(dice, 0.3):
        board["count"] = dice.randint(1, 3)
    if sometimes(dice, 0.35):
        name = dice.choice(("price", "price_per_board_foot", "price_per_m3"))
        board[name] = dice.choice(("12", "11.20", "1900.5", "0", "48.00"))
    if sometimes(dice, 0.3):
        board["sawn"] = dice.choice(GRAINS)
    if sometimes(dice, 0.35):
        board["defects"] = [{"from": f"{at} mm", "to": f"{at + dice.choice((5, 40, 90))} mm"} for at in (120, 700)]
    return board


def _saw(dice: Random) -> dict[str, Any]:
    habits: dict[str, Any] = {
        "kerf_rip": "2.6 mm",
        "kerf_crosscut": "1/8 in",
        "end_trim": "20 mm",
        "edge_jointing": "2 mm",
        "flattening": "2 mm",
        "jointer_width": "300 mm",
        "thicknesser_width": "400 mm",
        "min_length": "250 mm",
        "keep_length": "350 mm",
        "keep_width": "2 in",
        "keep_value": 50,
    }
    return {name: habits[name] for name in dice.sample(list(habits), dice.randint(1, 5))}
