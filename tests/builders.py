"""What tests start from: one valid small request, orders and plans made of it, shops with a setting changed.

The strategies below make random orders for property tests, here and in other rooms. Nothing here states what is right.
"""

import csv
import dataclasses
import math
from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from chequerwork.data.tables import load_tables
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.geometry import GLUED_SEAT, Geometry, Seat, lay_out
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import (
    ChessPieces,
    DraughtsMan,
    Edge,
    Hold,
    Joint,
    Line,
    Order,
    Pattern,
    Skirt,
    Units,
)
from chequerwork.domain.order.request import (
    BackingRequest,
    BaseRequest,
    ClimateRequest,
    CornersRequest,
    FrameRequest,
    GrainRequest,
    OrderRequest,
    SandingRequest,
)
from chequerwork.domain.plan import Plan
from chequerwork.shop.loader import demo_folder, load_shops

TODAY = date(2027, 2, 1)  # a Monday on which both demo shops have room, and the first is at work
WOODS = {"moosgrund": ("sycamore_maple", "european_walnut"), "willet-slough": ("hard_maple", "black_walnut")}


@cache
def demo_tables() -> Tables:
    """The fact tables as shipped, read once for all tests."""
    return load_tables()


@cache
def demo_shops() -> Mapping[str, Shop]:
    """Both demo shops, read once for all tests."""
    return load_shops([demo_folder()], tables=demo_tables())


# One small request ----------------------------------------------------------------------------------------------------


def a_board(**changes: Any) -> dict[str, Any]:
    """The body of one valid small request to the first demo shop; a change to ``...`` leaves a field out."""
    body = {
        "square": "48 mm",
        "light": "sycamore_maple",
        "dark": "european_walnut",
        "issued_on": "2027-02-01",
        "starts_on": "2027-02-01",
        **changes,
    }
    return {name: value for name, value in body.items() if value is not ...}


def a_request(shop: Shop | None = None, **changes: Any) -> OrderRequest:
    """The same request as read: 8 x 8 squares of 48 mm in two woods of the shop, no frame."""
    light, dark = WOODS[shop.id if shop else "moosgrund"]
    return OrderRequest(**{"square_mm": 48.0, "light": light, "dark": dark, **changes})


def a_frame(shop: Shop | None = None, **changes: Any) -> FrameRequest:
    """A mitred floating frame of 45 mm rails in the shop's dark wood."""
    dark = WOODS[shop.id if shop else "moosgrund"][1]
    given = {"joint": Joint.MITRE, "hold": Hold.FLOATING, "species": dark, "width_mm": 45.0}
    return FrameRequest(**{**given, **changes})


def an_order(shop: Shop | None = None, *, tables: Tables | None = None, **changes: Any) -> Order:
    """The request complete, by default of the first demo shop on a fixed day."""
    shop = shop or demo_shops()["moosgrund"]
    return complete(a_request(shop, **changes), shop=shop, tables=tables or demo_tables(), today=TODAY)


def a_plan(shop: Shop | None = None, *, tables: Tables | None = None, **changes: Any) -> Plan:
    """The plan of ``an_order``."""
    shop, tables = shop or demo_shops()["moosgrund"], tables or demo_tables()
    return Plan(an_order(shop, tables=tables, **changes), shop, tables)


def altered(thing: Any, **changes: Any) -> Any:
    """A frozen record with fields changed; a mapping changes fields of the record in that place.

    ``altered(shop, machines={"kerf_rip_mm": 3.0}, country="CH")``
    """
    made = {
        name: altered(getattr(thing, name), **value)
        if isinstance(value, dict) and dataclasses.is_dataclass(getattr(thing, name))
        else value
        for name, value in changes.items()
    }
    return dataclasses.replace(thing, **made)


def reordered(order: Order, **changes: Any) -> Order:
    """An order with fields of its groups changed: ``reordered(order, square_mm=50.0, quantity=3)``."""
    of_order = {name: value for name, value in changes.items() if name in {f.name for f in dataclasses.fields(Order)}}
    found = dataclasses.replace(order, **of_order)
    for group in ("field", "play", "surface", "sale", "dates"):
        now = getattr(found, group)
        names = {field.name for field in dataclasses.fields(now)} & changes.keys() - of_order.keys()
        if names:
            changed = dataclasses.replace(now, **{name: changes[name] for name in names})
            found = dataclasses.replace(found, **{group: changed})
    return found


def laid_out(order: Order, shop: Shop, tables: Tables, *, seat: Seat = GLUED_SEAT) -> Geometry:
    """The board of an order with a seat of one's own."""
    return lay_out(order.field, order.play, order.frame, order.base, order.feet, seat, shop.consumables, tables)


def dealing_in(shop: Shop, *species: str) -> Shop:
    """The shop with timbers more, each bought as one that it has."""
    pattern = shop.lumber[WOODS[shop.id][1]]
    return altered(shop, lumber={**shop.lumber, **{key: altered(pattern, species=key) for key in species}})


def sending_to(shop: Shop, *countries: str) -> Shop:
    """The shop with one shipping zone more."""
    zone = altered(shop.zones[-1], key="elsewhere", countries=frozenset(countries))
    return altered(shop, zones=(*shop.zones, zone))


def as_body(request: OrderRequest, *, shop: str) -> dict[str, Any]:
    """A request as the body that is sent: what the reader makes of it is the request again."""
    return {"shop": shop, **_written(request)}


def _written(thing: Any) -> dict[str, Any]:
    body: dict[str, Any] = {}
    for field in dataclasses.fields(thing):
        value = getattr(thing, field.name)
        if value is None or value == ():
            continue
        name = field.name.removesuffix("_mm").removesuffix("_pct").removesuffix("_c")
        if dataclasses.is_dataclass(value):
            body[name] = _written(value)
        elif isinstance(value, tuple):
            body[name] = [_written(each) for each in value]
        elif field.name.endswith("_mm"):
            body[name] = f"{value!r} mm"
        elif field.name.endswith("_c"):
            body[name] = f"{value!r} C"
        else:
            body[name] = value.isoformat() if isinstance(value, date) else value
    return body


# Published figures ----------------------------------------------------------------------------------------------------


def table_rows(name: str) -> list[dict[str, str]]:
    """A table of ``tests/reference/tables`` as it stands."""
    path = Path(__file__).parent / "reference" / "tables" / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


# Random orders --------------------------------------------------------------------------------------------------------


def tenths(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths on a grid of 0.1, within the bounds."""
    least, most = math.ceil(low * 10 - 1e-9), math.floor(high * 10 + 1e-9)
    return st.integers(least, max(least, most)).map(lambda tenth: tenth / 10)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Given or left out."""
    return st.none() | strategy


@st.composite
def requests(draw: st.DrawFn, shop: Shop, tables: Tables) -> OrderRequest:
    """Requests within a shop's ranges: most can be made, some ask for what does not go together."""
    woods = st.sampled_from(sorted(shop.lumber))
    columns, rows = draw(st.integers(2, 12)), draw(st.integers(2, 12))
    light = draw(woods)
    dark = draw(woods.filter(lambda wood: wood != light))
    lines = draw(st.lists(st.builds(Line, species=woods, width_mm=_span(shop.ranges.line_width)), max_size=2))
    frame = draw(maybe(_frames(shop, woods)))
    border_mm = sum(line.width_mm for line in lines) + (frame.width_mm if frame else 0.0)
    room_mm = (shop.ranges.outside_mm - 2 * border_mm) / max(columns, rows)
    square = shop.ranges.square
    square_mm = draw(tenths(square.low_mm, max(square.low_mm, min(square.high_mm, room_mm))))
    return OrderRequest(
        columns=columns,
        rows=rows,
        square_mm=square_mm,
        pieces=draw(maybe(_pieces())),
        light=light,
        dark=dark,
        grain=draw(maybe(_squares_grains())),
        thickness_mm=draw(maybe(tenths(shop.ranges.thickness.low_mm, 19.0))),
        pattern=Pattern.SHIFT if columns % 2 else draw(maybe(st.sampled_from(Pattern))),
        lines=tuple(lines),
        frame=frame,
        base=draw(maybe(_bases(shop, woods))),
        feet=draw(st.sampled_from((0, 0, 4, 6))),
        finish=draw(maybe(st.sampled_from(sorted(shop.finishes)))),
        sanding=draw(maybe(_sandings(tables))),
        climate=draw(maybe(_climates())),
        corners=draw(maybe(_corners())),
        quantity=draw(st.integers(1, shop.ranges.quantity)),
        starts_on=draw(maybe(st.integers(0, 400).map(lambda days: TODAY + timedelta(days=days)))),
        wanted_by=draw(maybe(st.integers(0, 400).map(lambda days: TODAY + timedelta(days=days)))),
        ship_to=draw(maybe(st.sampled_from(sorted(frozenset().union(*(zone.countries for zone in shop.zones)))))),
        channel=draw(maybe(st.sampled_from(sorted(shop.channels)))),
        units=draw(maybe(st.sampled_from(Units))),
    )


@st.composite
def orders(draw: st.DrawFn, shop: Shop, tables: Tables) -> Order:
    """Complete orders that the shop can make."""
    try:
        return complete(draw(requests(shop, tables)), shop=shop, tables=tables, today=TODAY)
    except Refused:
        assume(condition=False)
        raise


def any_requests(shop: Shop, tables: Tables) -> st.SearchStrategy[OrderRequest]:
    """Requests whose every field passes the reader by itself, whatever they are together."""
    woods = st.sampled_from([*sorted(shop.lumber), "teak", "birch", "driftwood"])
    days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
    frames = st.builds(
        FrameRequest,
        joint=st.sampled_from(Joint),
        hold=st.sampled_from(Hold),
        species=woods,
        width_mm=tenths(0, 500),
        thickness_mm=maybe(tenths(0, 200)),
        bevel_mm=tenths(0, 100),
        grain=maybe(st.sampled_from(Grain)),
        edge=st.sampled_from(Edge),
    )
    bases = st.builds(
        BaseRequest,
        material=st.sampled_from(("mdf", "birch_plywood", "hardboard", "cardboard")),
        thickness_mm=tenths(0, 200) | st.sampled_from((6.0, 6.5, 9.0, 12.0, 3.2, 19.05)),
        inset_mm=tenths(0, 500),
        skirt=maybe(st.builds(Skirt, species=woods, width_mm=tenths(0, 100))),
        backing=maybe(
            st.builds(BackingRequest, species=woods, thickness_mm=tenths(0, 100), grain=maybe(st.sampled_from(Grain)))
        ),
    )
    return st.builds(
        OrderRequest,
        columns=maybe(st.integers(2, 24)),
        rows=maybe(st.integers(2, 24)),
        game=maybe(st.sampled_from([*tables.games, "hopscotch"])),
        square_mm=maybe(tenths(1, 1000) | _span(shop.ranges.square)),
        pieces=maybe(_pieces()),
        light=maybe(woods),
        dark=maybe(woods),
        grain=maybe(_squares_grains()),
        thickness_mm=maybe(tenths(1, 200) | _span(shop.ranges.thickness)),
        pattern=maybe(st.sampled_from(Pattern)),
        lines=st.lists(st.builds(Line, species=woods, width_mm=tenths(0, 100)), max_size=6).map(tuple),
        frame=maybe(frames),
        base=maybe(bases),
        feet=st.integers(0, 12),
        finish=maybe(st.sampled_from([*tables.finishes, "moonshine"])),
        sanding=maybe(_sandings(tables)),
        climate=maybe(_climates("greenhouse")),
        corners=maybe(_corners()),
        quantity=st.integers(1, 500),
        issued_on=maybe(days),
        starts_on=maybe(days),
        wanted_by=maybe(days),
        ship_to=maybe(st.sampled_from([*tables.countries, "ZZ"])),
        channel=maybe(st.sampled_from([*sorted(shop.channels), "bazaar"])),
        units=maybe(st.sampled_from(Units)),
    )


def _span(span: Any) -> st.SearchStrategy[float]:
    return tenths(span.low_mm, span.high_mm)


def _frames(shop: Shop, woods: st.SearchStrategy[str]) -> st.SearchStrategy[FrameRequest]:
    return st.builds(
        FrameRequest,
        joint=st.sampled_from(Joint),
        hold=st.sampled_from(Hold),
        species=woods,
        width_mm=_span(shop.ranges.frame_width),
        bevel_mm=st.sampled_from((0.0, 0.0, 2.0, 3.0)),
        grain=maybe(st.sampled_from(Grain)),
        edge=st.sampled_from((Edge.TONGUE, Edge.TONGUE, Edge.LIP)),
    )


def _bases(shop: Shop, woods: st.SearchStrategy[str]) -> st.SearchStrategy[BaseRequest]:
    """Bases of every sheet, some too far in for a small board."""
    return st.sampled_from(shop.sheets).flatmap(
        lambda sheet: st.builds(
            BaseRequest,
            material=st.just(sheet.material),
            thickness_mm=st.just(sheet.thickness_mm),
            inset_mm=tenths(0, 60.0),
            skirt=maybe(st.builds(Skirt, species=woods, width_mm=tenths(2, 12.0))),
            backing=maybe(_backings(shop, woods)),
        )
    )


def _backings(shop: Shop, woods: st.SearchStrategy[str]) -> st.SearchStrategy[BackingRequest]:
    thickness = _span(shop.ranges.backing)
    return st.builds(BackingRequest, species=woods, thickness_mm=thickness, grain=maybe(st.sampled_from(Grain)))


def _squares_grains() -> st.SearchStrategy[GrainRequest]:
    grain = maybe(st.sampled_from(Grain))
    return st.builds(GrainRequest, light=grain, dark=grain)


def _pieces() -> st.SearchStrategy[ChessPieces | DraughtsMan]:
    chess = st.builds(
        ChessPieces,
        king_base_mm=tenths(20, 60),
        pawn_base_mm=maybe(tenths(12, 40)),
        king_height_mm=maybe(tenths(50, 120)),
        fill_ratio=maybe(st.integers(40, 100).map(lambda percent: percent / 100)),
    )
    return chess | st.builds(DraughtsMan, man_mm=tenths(15, 60))


def _sandings(tables: Tables) -> st.SearchStrategy[SandingRequest]:
    grades = maybe(st.sampled_from(sorted(tables.abrasives)))
    return st.builds(SandingRequest, top=grades, underside=grades)


def _corners() -> st.SearchStrategy[CornersRequest]:
    """Every step and share that the reader lets through, on a grid of 0.01 mm and 0.1 %."""
    within = st.integers(1, 500).map(lambda hundredth: hundredth / 100)
    return st.builds(CornersRequest, within_mm=maybe(within), confidence_pct=maybe(tenths(50, 99.9)))


def _climates(*others: str) -> st.SearchStrategy[ClimateRequest]:
    """Every humidity and temperature that the reader lets through, the dry season first where both are given."""
    both = st.tuples(tenths(5, 95), tenths(5, 95)).map(sorted)
    temperature = maybe(tenths(-1, 50))
    room = maybe(st.sampled_from([*demo_tables().rooms, *others]))
    return st.builds(
        lambda pair, temperature_c, room: ClimateRequest(
            low_rh_pct=pair[0], high_rh_pct=pair[1], temperature_c=temperature_c, room=room
        ),
        both,
        temperature,
        room,
    ) | st.builds(ClimateRequest, low_rh_pct=maybe(tenths(5, 95)), high_rh_pct=maybe(tenths(5, 95)), room=room)
