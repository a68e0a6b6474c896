"""Stock plans: how one is asked, answered and written, and what a price or a quote tells of it."""

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from chequerwork.api import stock_view
from chequerwork.api.forms import Body, Form, Forms, as_cells, as_json, as_text, layout, names_of
from chequerwork.api.pipeline import Context, Reader, find_shop, placed
from chequerwork.api.presentation import Presentation
from chequerwork.api.problems import invalid_order
from chequerwork.api.reading import ONE_STOCK
from chequerwork.api.schemas import beside, flat_shape, order_of
from chequerwork.api.sections.price import from_stock
from chequerwork.api.sections.trees import Tree
from chequerwork.api.service import Service, day_at
from chequerwork.api.stock_schemas import StockReading, places, read_stock
from chequerwork.domain.basics.errors import Fault, Path, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.making.cutting import Role
from chequerwork.domain.money.woodcost import allowance
from chequerwork.domain.order.order import BoardField
from chequerwork.domain.plan import Plan
from chequerwork.domain.stock.boards import Board, Piece, Saw, StockPlan
from chequerwork.domain.stock.offer import least_lots_m3, offered, rack_boards, saw_of, thicknesses_nm
from chequerwork.domain.stock.request import (
    MOST_PIECES,
    board_faults,
    boards_at_hand,
    part_faults,
    pieces,
    with_habits,
)
from chequerwork.domain.stock.wanted import Wanted, wanted_of
from chequerwork.render.boards import board_svg, boards_svg
from chequerwork.render.cells import to_csv_rows
from chequerwork.render.saw_page import saw_page

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
class StockRequest:
    """A request without faults: the shop, its orders planned, and what the planner takes."""

    reading: StockReading
    shop: Shop
    tables: Tables
    plans: Sequence[Plan]
    pieces: Sequence[Piece]
    parts: Sequence[Wanted]  # of the orders
    at: Mapping[str, Mapping[str, Path]]  # of each piece, where what is wrong with it stands in the request
    boards: Sequence[Board]
    offer: Sequence[Board]
    saw: Saw

    @property
    def exponent(self) -> int:
        """Decimals of the shop's currency."""
        return self.tables.currencies[self.shop.currency].exponent

    @property
    def units(self) -> str:
        """Unit system of the texts."""
        if self.reading.units is not None:
            return self.reading.units
        return self.plans[0].order.units if len(self.plans) == 1 else self.shop.defaults.units


@dataclass(frozen=True, slots=True)
class Planned:
    """What was asked, and its plan."""

    request: StockRequest
    plan: StockPlan


# Reading --------------------------------------------------------------------------------------------------------------


def _of_query(raw: dict[str, Any], faults: Sequence[Fault]) -> StockReading:
    """What was asked as one flat order."""
    goal = {"goal": raw.pop("goal")} if "goal" in raw else {}
    reading = read_stock({**goal, "order": raw}, frozenset(fault.at for fault in faults))
    ((place, order),) = reading.orders
    return replace(reading, orders=((place, beside(order, faults)),))


def _shop(reading: StockReading, service: Service) -> Shop:
    """The shop asked, by the request or by its first order; every other order is held against it."""
    at: Path = ()
    name = reading.shop
    if name is None and reading.orders:
        at, name = reading.orders[0][0], reading.orders[0][1].shop
    of_orders = (fault for place, order in reading.orders for fault in placed(order.faults, place))
    return find_shop(service, name, itertools.chain(reading.faults, of_orders), at)


READER: Final = Reader(
    component="StockRequest",
    shape={**flat_shape(), "goal": "text"},
    of_query=_of_query,
    of_body=read_stock,
    shop=_shop,
    bounds=ONE_STOCK,
    order_at=("order",),
)


# Checking -------------------------------------------------------------------------------------------------------------


def answer(reading: StockReading, context: Context[Shop]) -> Planned:
    """Answer one request for a stock plan.

    Raises
    ------
    Refused
        With every fault of the request.
    """
    request = _checked(reading, context.shop, context.service.tables)
    return Planned(request, _planned(request))


def _checked(reading: StockReading, shop: Shop, tables: Tables) -> StockRequest:
    """The request with its orders complete."""
    day = day_at(shop)
    found, plans = list(reading.faults), list[Plan]()
    for at, order in reading.orders:
        if order.shop is not None and order.shop != shop.id:
            detail = f"This order is for {order.shop!r}, the request for {shop.id!r}. Ask each shop by itself."
            found.append(Fault(at=(*at, "shop"), code="conflict", detail=detail))
        try:
            plans.append(Plan(order_of(order, shop=shop, tables=tables, today=day), shop, tables))
        except Refused as refused:
            found += placed(refused.faults, at)
    found += part_faults(reading.parts, shop, tables)
    found += board_faults(reading.boards or (), shop, tables)
    if found:
        raise Refused(found)
    return _request(reading, shop, tables, plans)


def _request(reading: StockReading, shop: Shop, tables: Tables, plans: Sequence[Plan]) -> StockRequest:
    at: dict[str, dict[str, Path]] = {
        key: {what: ("parts", index, what) for what in _WHAT} for key, index in places(reading.parts).items()
    }
    parts: list[Wanted] = []
    for (place, _), (prefix, plan) in zip(reading.orders, _prefixed(plans), strict=True):
        order = plan.order
        some = wanted_of(plan.cutting, order.field, order.frame, order.base, order.sale.quantity, shop, prefix=prefix)
        at |= {each.piece.id: _decided(each, order.field, place) for each in some}
        parts += some
    wanted = [*pieces(reading.parts), *(each.piece for each in parts)]
    count = sum(piece.count for piece in wanted)
    if count > MOST_PIECES:
        detail = f"{count} pieces are wanted; at most {MOST_PIECES} are planned at once. Ask for fewer boards."
        raise Refused(
            [Fault(at=("orders",) if len(plans) > 1 else ("order", "quantity"), code="too-many", detail=detail)]
        )
    given = reading.boards
    return StockRequest(
        reading=reading,
        shop=shop,
        tables=tables,
        plans=plans,
        pieces=wanted,
        parts=parts,
        at=at,
        boards=rack_boards(shop, tables) if given is None else boards_at_hand(given, shop, tables),
        offer=offered(shop, tables, wanted) if reading.buy else (),
        saw=with_habits(saw_of(shop), reading.saw),
    )


def _decided(part: Wanted, field: BoardField, place: Path) -> dict[str, Path]:
    """Where an order says what may be wrong with a piece."""
    sizes = (*place, *_DECIDED_BY[part.role])
    material, sawn = _MATERIAL.get(part.role), _SAWN.get(part.role)
    if part.role is Role.STRIP:
        colour = "light" if part.piece.species == field.light else "dark"
        material, sawn = (colour,), ("grain", colour)
    elif part.role is Role.LINE:
        species = [line.species for line in field.lines]
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


def _planned(request: StockRequest) -> StockPlan:
    """The plan; refused are pieces that no board could ever give, each at its place in the request."""
    # 0.2 s and 40 MB that no other path needs: numbers and solver are not even read before.
    from chequerwork.domain.stock.planning import plan_stock  # noqa: PLC0415

    sold = thicknesses_nm(request.shop, request.tables, request.pieces, request.saw)
    try:
        return plan_stock(
            request.pieces,
            request.boards,
            request.offer,
            request.saw,
            goal=request.reading.goal,
            exponent=request.exponent,
            least_lots_m3=least_lots_m3(request.shop, request.pieces),
            sold=sold,
            buying=request.reading.buy,
        )
    except Refused as refused:
        raise Refused(_of_pieces(refused.faults, request.at)) from None


def _of_pieces(faults: Sequence[Fault], at: Mapping[str, Mapping[str, Path]]) -> Iterator[Fault]:
    """Faults of pieces at their places in the request; a material that is lacking is told once for each place."""
    told = set[Path]()
    for fault in faults:
        _, piece, what = fault.at
        place = at[str(piece)][str(what)]
        if what != "species" or place not in told:
            yield replace(fault, at=place)
        told.add(place)


# Writing --------------------------------------------------------------------------------------------------------------


def _tree(found: Planned) -> Tree:
    request, plan = found.request, found.plan
    drawn = [board_svg(sawn, units=request.units) for sawn in plan.layouts] if request.reading.diagrams else None
    allowed = None
    if request.plans and not plan.missing:
        allowed = allowance([each.materials for each in request.plans], plan, request.exponent)
    to = stock_view.StockContext(
        units=request.units,
        currency=request.shop.currency,
        exponent=request.exponent,
        wanted=request.parts,
        allowed=allowed,
        diagrams=drawn,
    )
    return stock_view.view(plan, to)


def _page(found: Planned) -> str:
    request = found.request
    return saw_page(found.plan, request.units, currency=request.shop.currency, exponent=request.exponent)


def _rows(found: Planned, shown: Presentation) -> Body:
    return to_csv_rows(stock_view.rows(found.plan), [stock_view.ROW], **layout(shown))


def _drawn(found: Planned, shown: Presentation) -> Body:
    number, layouts, units = shown.board, found.plan.layouts, found.request.units
    if number is None:
        return boards_svg(layouts, units=units).encode()
    if number > len(layouts):
        detail = f"Layout {number} was asked for; the plan has {len(layouts)}. Give one of them, or leave out board."
        raise Refused([Fault(at=("board",), code="too-large", detail=detail)])
    return board_svg(layouts[number - 1], units=units).encode()


FORMS: Final[Forms[Planned]] = {
    **as_json(_tree),
    **as_cells(_rows, names_of("a row's cells", "board;part;length_mm")),
    **as_text(_tree, _page),
    "svg": Form(media_type="image/svg+xml; charset=utf-8", write=_drawn, takes=("board",), for_cells=False),
}


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
