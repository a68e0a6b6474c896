"""The path of stock plans, and what a price or a quote tells of one. For the workshop alone.

Read what is to be cut and from what, let the domain plan it, and write the plan as JSON, table, page or drawing.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import orjson
from flask import Request, Response, g

from chequerwork.api import stock_view
from chequerwork.api.access import caller_role, require_maker
from chequerwork.api.http import answer
from chequerwork.api.presentation import Presentation, nothing_beside_the_body, read_presentation
from chequerwork.api.problems import invalid_order
from chequerwork.api.reading import ONE_STOCK, read_args, read_json, read_query
from chequerwork.api.schemas import beside, flat_shape, order_of
from chequerwork.api.sections.price import from_stock
from chequerwork.api.sections.trees import Tree
from chequerwork.api.service import Service
from chequerwork.api.stock_schemas import StockReading, places, read_stock
from chequerwork.domain.basics.errors import Fault, Path, Refused
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.making.cutting import Role
from chequerwork.domain.money.woodcost import allowance
from chequerwork.domain.order.order import Order
from chequerwork.domain.plan import Plan
from chequerwork.domain.stock.boards import Board, Piece, Saw, StockPlan
from chequerwork.domain.stock.given import (
    MOST_PIECES,
    board_faults,
    boards_at_hand,
    part_faults,
    pieces,
    with_habits,
)
from chequerwork.domain.stock.offer import least_lots_m3, offered, rack_boards, saw_of, thicknesses_nm
from chequerwork.domain.stock.wanted import Wanted, wanted_of
from chequerwork.render.boards import board_svg, boards_svg
from chequerwork.render.cells import MEDIA_TYPES, pick, to_csv_rows, to_text
from chequerwork.render.saw_page import saw_page

FORMS: Final = ("csv", "tsv", "txt", "svg")
SVG: Final = "image/svg+xml; charset=utf-8"
_JSON: Final = "application/json"
_FLAT: Final = {**flat_shape(), "goal": "text"}
# Which field of an order decides the sizes of its parts, and which their material.
_DECIDED_BY: Final[Mapping[Role, Path]] = {
    Role.STRIP: ("square",),
    Role.LINE: ("lines",),
    Role.RAIL: ("frame",),
    Role.BASE: ("base",),
    Role.SKIRT: ("base", "skirt"),
    Role.BACKING: ("base", "backing"),
}
_MATERIAL: Final[Mapping[Role, Path]] = {
    Role.RAIL: ("frame", "species"),
    Role.BASE: ("base", "material"),
    Role.SKIRT: ("base", "skirt", "species"),
    Role.BACKING: ("base", "backing", "species"),
}
_WHAT: Final = ("species", "thickness", "sawn", "length", "width")  # may be wrong with a piece
_SAWN: Final[Mapping[Role, Path]] = {Role.RAIL: ("frame", "grain"), Role.BACKING: ("base", "backing", "grain")}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A request without faults: the shop, its orders planned, and what the planner takes."""

    reading: StockReading
    shop: Shop
    plans: Sequence[Plan]
    pieces: Sequence[Piece]
    parts: Sequence[Wanted]  # of the orders
    at: Mapping[str, Mapping[str, Path]]  # of each piece, where what is wrong with it stands in the request
    boards: Sequence[Board]
    offer: Sequence[Board]
    saw: Saw


def ask(asked: Request, service: Service, form: str | None, *, day_of: Callable[[Shop], date]) -> Response:
    """Answer one request for a stock plan.

    Parameters
    ----------
    asked, service
        The request, and what it is answered from.
    form
        ``csv``, ``tsv``, ``txt``, ``svg``, or None for JSON.
    day_of
        The date where a shop is.
    """
    if "HTTP_AUTHORIZATION" not in asked.environ:
        require_maker(None)  # before anything is read, as on every path of the workshop
    reading, shown = _read(asked, form)
    try:
        shop = _shop(reading, service)
        g.shop = shop
        require_maker(caller_role(asked, shop))
        wanted = _checked(reading, shop, service, day_of(shop))
        plan = _planned(wanted, service)
    except Refused as refused:
        raise Refused(_flat(refused.faults) if asked.method != "POST" else refused.faults) from None
    try:
        body, content_type = _written(wanted, plan, service, form, shown)
    except Refused as refused:  # how to write it stands in the query, whatever the method
        raise invalid_order(refused.faults, in_query=True) from None
    return answer(asked, body, content_type, private=True)


# Reading --------------------------------------------------------------------------------------------------------------


def _read(asked: Request, form: str | None) -> tuple[StockReading, Presentation]:
    """What was asked, by a body or as one flat order, and how to write the answer."""
    args, shown, faults = read_args(asked), Presentation(), list[Fault]()
    if form is not None:
        shown, args, faults = read_presentation(args, form)
    if asked.method == "POST":
        nothing_beside_the_body(args, faults)
        return read_stock(read_json(asked, ONE_STOCK)), shown
    order, more = read_query(args, shape=_FLAT)
    faults += more
    goal = {"goal": order.pop("goal")} if "goal" in order else {}
    reading = read_stock({**goal, "order": order}, frozenset(f.at for f in faults))
    ((place, placed),) = reading.orders
    return replace(reading, orders=((place, beside(placed, faults)),)), shown


def _shop(reading: StockReading, service: Service) -> Shop:
    """The shop asked, by the request or by its first order; every other order is held against it."""
    at: Path = ()
    name = reading.shop
    if name is None and reading.orders:
        at, name = reading.orders[0][0], reading.orders[0][1].shop
    try:
        return service.shop(name)
    except Refused as refused:
        here = (replace(fault, at=(*at, *fault.at)) for fault in refused.faults)
        raise Refused([*here, *reading.faults, *_of_orders(reading)]) from None


def _of_orders(reading: StockReading) -> Iterator[Fault]:
    """What the reader of orders found, at its place in the request."""
    for at, order in reading.orders:
        yield from (replace(fault, at=(*at, *fault.at)) for fault in order.faults)


def _flat(faults: Sequence[Fault]) -> list[Fault]:
    """Faults with places in a body, for a query: the one order is the query."""
    return [replace(fault, at=fault.at[1:]) if fault.at[:1] == ("order",) else fault for fault in faults]


def _checked(reading: StockReading, shop: Shop, service: Service, day: date) -> _Asked:
    """The request with its orders complete.

    Raises
    ------
    Refused
        With every fault of the request.
    """
    found, plans = list(reading.faults), list[Plan]()
    for at, order in reading.orders:
        if order.shop is not None and order.shop != shop.id:
            detail = f"This order is for {order.shop!r}, the request for {shop.id!r}. Ask each shop by itself."
            found.append(Fault(at=(*at, "shop"), code="conflict", detail=detail))
        try:
            plans.append(Plan(order_of(order, shop=shop, tables=service.tables, today=day), shop, service.tables))
        except Refused as refused:
            found += [replace(fault, at=(*at, *fault.at)) for fault in refused.faults]
    found += part_faults(reading.parts, shop, service.tables)
    found += board_faults(reading.boards or (), shop, service.tables)
    if found:
        raise Refused(found)
    return _asked(reading, shop, service, plans)


def _asked(reading: StockReading, shop: Shop, service: Service, plans: Sequence[Plan]) -> _Asked:
    at: dict[str, dict[str, Path]] = {
        key: {what: ("parts", index, what) for what in _WHAT} for key, index in places(reading.parts).items()
    }
    parts: list[Wanted] = []
    for (place, _), (prefix, plan) in zip(reading.orders, _prefixed(plans), strict=True):
        some = wanted_of(plan.cutting, plan.order, shop, prefix=prefix)
        at |= {each.piece.id: _decided(each, plan.order, place) for each in some}
        parts += some
    wanted = [*pieces(reading.parts), *(each.piece for each in parts)]
    count = sum(piece.count for piece in wanted)
    if count > MOST_PIECES:
        detail = f"{count} pieces are wanted; at most {MOST_PIECES} are planned at once. Ask for fewer boards."
        raise Refused(
            [Fault(at=("orders",) if len(plans) > 1 else ("order", "quantity"), code="too-many", detail=detail)]
        )
    tables, given = service.tables, reading.boards
    return _Asked(
        reading=reading,
        shop=shop,
        plans=plans,
        pieces=wanted,
        parts=parts,
        at=at,
        boards=rack_boards(shop, tables) if given is None else boards_at_hand(given, shop, tables),
        offer=offered(shop, tables, wanted) if reading.buy else (),
        saw=with_habits(saw_of(shop), reading.saw),
    )


def _decided(part: Wanted, order: Order, place: Path) -> dict[str, Path]:
    """Where an order says what may be wrong with a piece."""
    sizes = (*place, *_DECIDED_BY[part.role])
    material, sawn = _MATERIAL.get(part.role), _SAWN.get(part.role)
    if part.role is Role.STRIP:
        colour = "light" if part.piece.species == order.light else "dark"
        material, sawn = (colour,), ("grain", colour)
    elif part.role is Role.LINE:
        species = [line.species for line in order.lines]
        material = ("lines", species.index(part.piece.species), "species")
    return {
        **dict.fromkeys(_WHAT, sizes),
        "species": (*place, *material) if material else sizes,
        "sawn": (*place, *sawn) if sawn else sizes,
        **({"thickness": (*place, "thickness")} if part.role in (Role.STRIP, Role.LINE) else {}),
    }


def _prefixed(plans: Sequence[Plan]) -> list[tuple[str, Plan]]:
    """Each order's plan with what its parts' ids begin with: nothing where there is one order, else its number."""
    return [(f"{number}-" if len(plans) > 1 else "", plan) for number, plan in enumerate(plans, start=1)]


# Planning -------------------------------------------------------------------------------------------------------------


def _planned(wanted: _Asked, service: Service) -> StockPlan:
    """The plan.

    Raises
    ------
    Refused
        Pieces that no board could ever give, each at its place in the request.
    """
    # 0.2 s and 40 MB that no other path needs: numbers and solver are not even read before.
    from chequerwork.domain.stock.planning import plan_stock  # noqa: PLC0415

    sold = thicknesses_nm(wanted.shop, service.tables, wanted.pieces, wanted.saw)
    try:
        return plan_stock(
            wanted.pieces,
            wanted.boards,
            wanted.offer,
            wanted.saw,
            goal=wanted.reading.goal,
            exponent=_exponent(wanted, service),
            least_lots_m3=least_lots_m3(wanted.shop, wanted.pieces),
            sold=sold,
            buying=wanted.reading.buy,
        )
    except Refused as refused:
        raise Refused(_placed(refused.faults, wanted.at)) from None


def _placed(faults: Sequence[Fault], at: Mapping[str, Mapping[str, Path]]) -> Iterator[Fault]:
    """Faults of pieces at their places in the request; a material that is lacking is told once for each place."""
    told = set[Path]()
    for fault in faults:
        _, piece, what = fault.at
        place = at[str(piece)][str(what)]
        if what != "species" or place not in told:
            yield replace(fault, at=place)
        told.add(place)


# Writing --------------------------------------------------------------------------------------------------------------


def _written(
    wanted: _Asked, plan: StockPlan, service: Service, form: str | None, shown: Presentation
) -> tuple[bytes, str]:
    units = _units(wanted)
    if form == "svg":
        return _drawn(plan, shown.board, units).encode(), SVG
    if form in ("csv", "tsv"):
        table: dict[str, Any] = {
            "columns": shown.columns,
            "delimiter": shown.delimiter,
            "decimal": shown.decimal,
            "bom": shown.bom,
        }
        return to_csv_rows(stock_view.rows(plan), [stock_view.ROW], **table), MEDIA_TYPES[form]
    if form == "txt" and shown.field is None:
        page = saw_page(plan, units, currency=wanted.shop.currency, exponent=_exponent(wanted, service))
        return page.encode(), MEDIA_TYPES[form]
    tree = _tree(wanted, plan, service, units)
    if form == "txt":
        return to_text(pick(tree, shown.field or "")).encode(), MEDIA_TYPES[form]
    return orjson.dumps(tree), _JSON


def _exponent(wanted: _Asked, service: Service) -> int:
    return service.tables.currencies[wanted.shop.currency].exponent


def _units(wanted: _Asked) -> str:
    if wanted.reading.units is not None:
        return wanted.reading.units
    return wanted.plans[0].order.units if len(wanted.plans) == 1 else wanted.shop.defaults.units


def _tree(wanted: _Asked, plan: StockPlan, service: Service, units: str) -> Tree:
    exponent, drawn = _exponent(wanted, service), None
    if wanted.reading.diagrams:
        drawn = [board_svg(sawn, units=units) for sawn in plan.layouts]
    allowed = None
    if wanted.plans and not plan.missing:
        allowed = allowance([each.materials for each in wanted.plans], plan, exponent)
    to = stock_view.StockContext(
        units=units,
        currency=wanted.shop.currency,
        exponent=exponent,
        wanted=wanted.parts,
        allowed=allowed,
        diagrams=drawn,
    )
    return stock_view.view(plan, to)


def _drawn(plan: StockPlan, number: int | None, units: str) -> str:
    if number is None:
        return boards_svg(plan.layouts, units=units)
    if number > len(plan.layouts):
        detail = (
            f"Layout {number} was asked for; the plan has {len(plan.layouts)}. Give one of them, or leave out board."
        )
        raise Refused([Fault(at=("board",), code="too-large", detail=detail)])
    return board_svg(plan.layouts[number - 1], units=units)


# Beside a price -------------------------------------------------------------------------------------------------------


def add_from_stock(tree: Tree, plan: Plan) -> None:
    """Add to the answer of a price or a quote what its wood costs by the stock plan, and the plan in short.

    Raises
    ------
    Problem
        No board gives some part.
    """
    try:
        tree["price"]["workshop"]["from_stock"] = from_stock(plan)
    except Refused as refused:
        raise invalid_order([replace(fault, at=("from_stock",)) for fault in refused.faults], in_query=True) from None
    exponent = plan.tables.currencies[plan.shop.currency].exponent
    to = stock_view.StockContext(
        units=plan.order.units, currency=plan.shop.currency, exponent=exponent, allowed=plan.from_stock.allowed
    )
    tree["stock_plan"] = stock_view.summary(plan.stock, to)
