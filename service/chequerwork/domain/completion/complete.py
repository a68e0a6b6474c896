"""From a request to an order: gaps filled from the shop, the whole checked, every fault named at once.

Each group of the order is completed apart from the others, by a function of what it reads: the board's parts together,
the seat of a floating field in them, surface, climate, corners, sale and dates.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from chequerwork.domain.basics.errors import Fault, Path, Refused, near_names, unknown_name
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.memory import Made, plainly
from chequerwork.domain.basics.shop import Calendar, Climate, Shop
from chequerwork.domain.completion.construction import BOARD, Construction
from chequerwork.domain.completion.defaults import climate_of, corners_of, first_given
from chequerwork.domain.order.order import Base, BoardField, Frame, Order, OrderDates, Play, Sale, Surface
from chequerwork.domain.order.request import ClimateRequest, ConstructionRequest, OrderRequest, SandingRequest

Faults = tuple[Fault, ...]


class BoardParts(NamedTuple):
    """The board's parts; the groups are only there where nothing is wrong with any of them."""

    construction: Construction
    faults: Faults
    field: BoardField | None
    frame: Frame | None
    base: Base | None
    play: Play


def complete(
    request: OrderRequest,
    *,
    shop: Shop,
    tables: Tables,
    today: date,
    faulted: frozenset[str] = frozenset(),
    timbers: Sequence[tuple[Path, str]] = (),
    climate: ClimateRequest | None = None,
    made: Made = plainly,
) -> Order:
    """Fill the gaps of a request from the shop and check it as a whole.

    Parameters
    ----------
    request
        As read.
    shop, tables
        The maker asked and the fact tables.
    today
        Date of the shop's zone, used where ``issued_on`` is not given.
    faulted
        Top-level fields already refused by the reader: they are not reported as missing, nor checked again.
    timbers
        Places and names of timbers inside refused fields, which can still be checked.
    climate
        What a refused climate says all the same; None where its humidities cannot be compared.
    made
        Makes each group, or remembers it.

    Raises
    ------
    Refused
        With every fault of the request, in the order of the contract's table.
    """
    board = made(board_of, made(ConstructionRequest, *request.construction), shop, tables, faulted, made)
    surface, surface_faults = made(surface_of, request.finish, request.sanding, shop, tables)
    home, home_faults = made(home_of, request.climate, shop.defaults.climate, tables)
    sale, sale_faults = made(
        sale_of,
        request.quantity,
        request.ship_to,
        request.channel,
        request.payment,
        request.currency,
        shop,
        tables,
    )
    dates, date_faults = made(
        dates_of, request.issued_on or today, request.starts_on, request.wanted_by, shop.calendar, faulted
    )
    faults = (*board.faults, *surface_faults, *home_faults, *sale_faults, *date_faults)
    if faults or faulted or timbers or climate:
        known = [fault for fault in faults if fault.at[0] not in faulted]
        for at, species in timbers:
            known.extend(board.construction.offered(at, species))
        if climate is not None:
            known.extend(home_of(climate, shop.defaults.climate, tables)[1])
        if known or faulted:
            raise Refused([*known, *_seat_faults_beside(board, home, known, faulted)])
    seat_faults = made(seat_faults_of, board, home, made)
    if seat_faults:
        raise Refused(seat_faults)
    if board.field is None or surface is None or sale is None:
        raise ValueError("a group of an order without faults is missing")
    return Order(
        shop=shop.id,
        field=board.field,
        play=board.play,
        frame=board.frame,
        base=board.base,
        feet=request.feet,
        surface=surface,
        climate=home,
        corners=made(corners_of, request.corners),
        sale=sale,
        dates=dates,
        units=board.construction.units,
    )


# The board ------------------------------------------------------------------------------------------------------------


def board_of(
    request: ConstructionRequest,
    shop: Shop,
    tables: Tables,
    faulted: frozenset[str] = frozenset(),
    made: Made = plainly,
) -> BoardParts:
    """The parts of a board, checked together; a floating field's seat is left to ``seat_faults_of``.

    Parameters
    ----------
    request
        What is asked of the board.
    shop, tables
        The maker asked and the fact tables.
    faulted
        Top-level fields already refused by the reader.
    made
        Makes each group, so that a frame, say, stays the same where only the field changes.
    """
    construction = Construction(request, shop, tables, faulted)
    faults = tuple(construction.faults())
    play = made(Play, game=request.game, pieces=request.pieces)
    if (faults or faulted) and BOARD & {*faulted, *(str(fault.at[0]) for fault in faults)}:
        return BoardParts(construction, faults, None, None, None, play)
    return BoardParts(
        construction, faults, construction.field(made), construction.frame(made), construction.base(made), play
    )


def seat_faults_of(board: BoardParts, climate: Climate, made: Made = plainly) -> Faults:
    """Faults of a floating field's seat in a board without others."""
    if board.field is None:
        return ()
    return tuple(board.construction.seat_faults(board.field, board.frame, climate, made))


def _seat_faults_beside(
    board: BoardParts, climate: Climate, faults: Sequence[Fault], faulted: frozenset[str]
) -> Iterator[Fault]:
    """Faults of a floating field's seat, beside others, as far as they can be told."""
    if not board.construction.floats():
        return
    unsound = {*faulted, *(str(fault.at[0]) for fault in faults)}
    if unsound & (BOARD | {"climate"}):
        yield from board.construction.size_faults()
        return
    yield from seat_faults_of(board, climate)


# Surface and climate --------------------------------------------------------------------------------------------------


def surface_of(
    asked: str | None, sanding: SandingRequest | None, shop: Shop, tables: Tables
) -> tuple[Surface | None, Faults]:
    """The finish and the grades before it; left out, the shop's usual finish and what that wants."""
    finish, sanding = first_given(asked, shop.defaults.finish), sanding or SandingRequest()
    faults = tuple(_surface_faults(finish, sanding, shop, tables))
    if faults:
        return None, faults
    wants = tables.finishes[finish]
    surface = Surface(
        finish=finish,
        sand_top=sanding.top or wants.stop_grade_high,
        sand_underside=sanding.underside or wants.stop_grade_low,
    )
    return surface, ()


def _surface_faults(finish: str, sanding: SandingRequest, shop: Shop, tables: Tables) -> Iterator[Fault]:
    if finish not in shop.finishes:
        yield unknown_name(at=("finish",), what="finish", given=finish, known=shop.finishes)
    for side, grade in (("top", sanding.top), ("underside", sanding.underside)):
        if grade is not None and grade not in tables.abrasives:
            yield unknown_name(at=("sanding", side), what="abrasive grade", given=grade, known=tables.abrasives)


def home_of(asked: ClimateRequest | None, usual: Climate, tables: Tables) -> tuple[Climate, Faults]:
    """The customer's year; left out, the usual one."""
    asked = asked or ClimateRequest()
    climate = climate_of(asked, usual, tables)
    return climate, tuple(_climate_faults(asked, climate, tables))


def _climate_faults(asked: ClimateRequest, climate: Climate, tables: Tables) -> Iterator[Fault]:
    if asked.room is not None and asked.room not in tables.rooms:
        yield _no_such_room(asked.room, tables)
        if asked.low_rh_pct is None or asked.high_rh_pct is None:
            return  # what fills the gap is not known
    if climate.low_rh_pct > climate.high_rh_pct:
        yield Fault(
            at=("climate", "low_rh"),
            code="conflict",
            detail=f"The driest season has {climate.low_rh_pct:g} %, the dampest {climate.high_rh_pct:g} %. "
            "Give low_rh at most as high as high_rh.",
        )


def _no_such_room(given: str, tables: Tables) -> Fault:
    """Fault with near names and, because no reader can guess the others, all of them."""
    near = near_names(given, tables.rooms)
    meant = f" Did you mean {' or '.join(near)}?" if near else ""
    return Fault(
        at=("climate", "room"),
        code="unknown-name",
        detail=f"There is no kind of room named {given[:60]!r} here.{meant} There are: {', '.join(tables.rooms)}.",
    )


# Sale -----------------------------------------------------------------------------------------------------------------


def sale_of(
    quantity: int,
    ship_to: str | None,
    channel: str | None,
    payment: str | None,
    currency: str | None,
    shop: Shop,
    tables: Tables,
) -> tuple[Sale | None, Faults]:
    """How many boards, where they go, and how they are sold; the shop's habits in the gaps."""
    there = first_given(ship_to, shop.country)
    faults = tuple(_sale_faults(quantity, there, channel, payment, currency, shop, tables))
    if faults:
        return None, faults
    sold_by = first_given(channel, shop.defaults.channel)
    usual = shop.channels.get(sold_by)
    sale = Sale(
        quantity=quantity,
        ship_to=there,
        channel=sold_by,
        # As asked, as usual in this channel or in this shop.
        payment=payment or (usual.payment if usual else None) or shop.defaults.payment,
        currency=first_given(currency, shop.currency),
    )
    return sale, ()


def _sale_faults(
    quantity: int,
    ship_to: str,
    channel: str | None,
    payment: str | None,
    currency: str | None,
    shop: Shop,
    tables: Tables,
) -> Iterator[Fault]:
    if quantity > shop.ranges.quantity:
        yield Fault(
            at=("quantity",),
            code="too-large",
            detail=f"{quantity} boards were asked for; this shop makes up to {shop.ranges.quantity} in one "
            "order. Ask for fewer, or in several orders.",
        )
    if channel is not None and channel not in shop.channels:
        yield unknown_name(at=("channel",), what="sales channel", given=channel, known=shop.channels)
    if payment is not None and payment not in shop.payments:
        yield _no_such_payment(payment, shop)
    offered = (shop.currency, *(shop.exchange.rates if shop.exchange else ()))
    if currency is not None and currency not in offered:
        yield _no_such_currency(currency, offered, tables)
    if ship_to not in tables.countries:
        yield Fault(
            at=("ship_to",),
            code="unknown-name",
            detail=f"{ship_to[:20]!r} is no ISO 3166 country code of two capital letters, such as DE or US.",
        )
    elif shop.zone(ship_to) is None:
        yield Fault(
            at=("ship_to",),
            code="not-offered",
            detail=f"This shop does not send to {tables.countries[ship_to]}. "
            f"It sends to: {', '.join(sorted(frozenset().union(*(z.countries for z in shop.zones))))}.",
        )


def _no_such_payment(given: str, shop: Shop) -> Fault:
    if shop.payments:
        return unknown_name(at=("payment",), what="way to pay", given=given, known=shop.payments)
    detail = f"This shop names no ways to pay, so {given[:60]!r} is not known. Leave out payment."
    return Fault(at=("payment",), code="not-offered", detail=detail)


def _no_such_currency(given: str, offered: Sequence[str], tables: Tables) -> Fault:
    named = ", ".join(offered)
    if given not in tables.currencies:
        near = near_names(given, {code.lower(): code for code in tables.currencies})
        meant = f" Did you mean {' or '.join(code.upper() for code in near)}?" if near else ""
        detail = f"{given[:20]!r} is no ISO 4217 code of three capital letters.{meant} This shop quotes in: {named}."
        return Fault(at=("currency",), code="unknown-name", detail=detail)
    detail = f"This shop does not quote in {given}. It quotes in: {named}."
    return Fault(at=("currency",), code="not-offered", detail=detail)


# Dates ----------------------------------------------------------------------------------------------------------------


def dates_of(
    issued_on: date,
    starts_on: date | None,
    wanted_by: date | None,
    calendar: Calendar,
    faulted: frozenset[str] = frozenset(),
) -> tuple[OrderDates, Faults]:
    """The days of an order; also a first day of work that was asked for waits until the shop is free and at work."""
    faults = tuple(_date_faults(issued_on, starts_on, wanted_by, faulted))
    free = calendar.next_free_day(first_given(starts_on, issued_on))
    return OrderDates(issued_on=issued_on, starts_on=free, wanted_by=wanted_by), faults


def _date_faults(
    issued_on: date, starts_on: date | None, wanted_by: date | None, faulted: frozenset[str]
) -> Iterator[Fault]:
    past = False
    for name, given in (("starts_on", starts_on), ("wanted_by", wanted_by)):
        if given is not None and given < issued_on:
            yield Fault(
                at=(name,),
                code="in-the-past",
                detail=f"{name} {given} is before the order's date {issued_on}. Give that day or a later one.",
            )
            past = True
    if past or starts_on is None or wanted_by is None or "starts_on" in faulted:
        return
    if wanted_by < starts_on:
        yield Fault(
            at=("wanted_by",),
            code="before-start",
            detail=f"wanted_by {wanted_by} is before starts_on {starts_on}, the first day of work. Give that day "
            "or a later one, or an earlier start.",
        )
