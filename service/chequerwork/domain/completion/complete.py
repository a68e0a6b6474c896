"""From a wish to an order: gaps filled from the shop, the whole checked, every fault named at once."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from chequerwork.domain.basics.errors import Fault, Path, Refused, near_names, unknown_name
from chequerwork.domain.basics.facts import Game, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.construction import Construction, in_span
from chequerwork.domain.order.order import (
    ClimateWish,
    Order,
    Pattern,
    Sanding,
    Wish,
)

# Fields that decide how the board is built; a groove can be judged when all of them are sound.
_CONSTRUCTION = frozenset(
    {"columns", "rows", "game", "square", "pieces", "light", "dark", "thickness", "pattern", "lines", "frame", "base"}
) | {"climate"}

FEET_FEWEST = 4


def complete(
    wish: Wish,
    *,
    shop: Shop,
    tables: Tables,
    today: date,
    faulted: frozenset[str] = frozenset(),
    timbers: Sequence[tuple[Path, str]] = (),
    climate: ClimateWish | None = None,
) -> Order:
    """Fill the gaps of a wish from the shop and check it as a whole.

    Parameters
    ----------
    wish
        The request as read.
    shop, tables
        The maker asked and the fact tables.
    today
        Date of the shop's zone, used where ``issued_on`` is not given.
    faulted
        Top-level fields already refused by the reader: they are neither missed nor checked again.
    timbers
        Places and names of timbers inside refused fields, which can still be checked.
    climate
        What a refused climate says all the same; None where its humidities cannot be compared.

    Raises
    ------
    Refused
        With every fault of the wish, in the order of the contract's table.
    """
    check = _Check(wish, shop, tables, today, faulted)
    faults = list(check.faults())
    for at, species in timbers:
        faults.extend(check.offered(at, species))
    if climate is not None:
        faults.extend(check.climate_beside(climate))
    if faults or faulted:
        raise Refused([*faults, *check.seat_faults_beside(faults)])
    order = check.order()
    seat_faults = list(check.seat_faults(order))
    if seat_faults:
        raise Refused(seat_faults)
    return order


class _Check(Construction):
    """The wish seen against one shop: derived values first, then faults room by room."""

    def faults(self) -> Iterator[Fault]:
        """Every fault, skipping those about fields the reader already refused."""
        for fault in self._all_faults():
            if fault.at[0] not in self.faulted:
                yield fault

    def seat_faults_beside(self, faults: Sequence[Fault]) -> Iterator[Fault]:
        """Faults of a floating field's seat, beside others, as far as they can be told."""
        if not self.floats():
            return
        unfit = {str(fault.at[0]) for fault in faults} | self.faulted
        if unfit & _CONSTRUCTION:
            yield from self.size_faults()
            return
        built = replace(self.wish, finish=None, sanding=None, channel=None)
        yield from self.seat_faults(Construction(built, self.shop, self.tables, self.issued_on).order())

    def _all_faults(self) -> Iterator[Fault]:
        yield from self._cells()
        yield from self._square()
        yield from self._timbers()
        yield from self.construction_faults()
        yield from self._feet()
        yield from self._finishing()
        yield from self.climate_faults()
        yield from self._trade()
        yield from self._dates()

    # -- the field ---------------------------------------------------------------------------------------------

    def _cells(self) -> Iterator[Fault]:
        wish = self.wish
        if wish.game is not None:
            game = self.tables.games.get(wish.game)
            if game is None:
                yield unknown_name(at=("game",), what="game", given=wish.game, known=self.tables.games)
            else:
                yield from self._against_game(game)
        if self.columns % 2 and self.pattern is Pattern.TURN and "columns" not in self.faulted:
            yield Fault(
                at=("pattern",),
                code="odd-columns",
                detail=f"A bar of {self.columns} squares is the same after turning, so turn makes stripes, not a "
                "chequer. Use pattern shift, or an even number of columns.",
            )

    def _against_game(self, game: Game) -> Iterator[Fault]:
        for name, given, wanted in (
            ("columns", self.wish.columns, game.columns),
            ("rows", self.wish.rows, game.rows),
        ):
            if given is not None and given != wanted:
                yield Fault(
                    at=(name,),
                    code="conflict",
                    detail=f"{game.title} is played on {wanted} {name}, but {given} were asked for. "
                    f"Leave out {name} or leave out game.",
                )

    def _square(self) -> Iterator[Fault]:
        if self.square_mm is None:
            if not {"square", "pieces"} & self.faulted:
                yield Fault(
                    at=("square",),
                    code="missing",
                    detail="Give the square as a length such as '48 mm', or pieces to derive it from.",
                )
            return
        derived = self.wish.square_mm is None
        at: Path = ("pieces",) if derived else ("square",)
        what = "The square derived from the pieces" if derived else "The square"
        yield from in_span(at, what, self.square_mm, self.shop.ranges.square)

    def _timbers(self) -> Iterator[Fault]:
        for role in ("light", "dark"):
            given: str | None = getattr(self.wish, role)
            if given is None:
                yield Fault(
                    at=(role,),
                    code="missing",
                    detail=f"Name the {role} timber. This shop offers: {', '.join(sorted(self.shop.lumber))}.",
                )
            else:
                yield from self.offered((role,), given)
        if self.wish.light is not None and self.wish.light == self.wish.dark:
            yield Fault(
                at=("dark",),
                code="conflict",
                detail=f"Light and dark are both {self.wish.light!r}: no chequer would show. Choose two timbers.",
            )

    def _feet(self) -> Iterator[Fault]:
        if self.wish.feet and 0 < self.wish.feet < FEET_FEWEST:
            yield Fault(
                at=("feet",),
                code="too-few",
                detail=f"A board on {self.wish.feet} feet rocks. Ask for 0, or {FEET_FEWEST} and more.",
            )

    # -- finish, climate, trade, dates -------------------------------------------------------------------------

    def _finishing(self) -> Iterator[Fault]:
        if self.finish not in self.shop.finishes:
            yield unknown_name(at=("finish",), what="finish", given=self.finish, known=self.shop.finishes)
        sanding = self.wish.sanding or Sanding()
        for side, grade in (("top", sanding.top), ("underside", sanding.underside)):
            if grade is not None and grade not in self.tables.abrasives:
                yield unknown_name(
                    at=("sanding", side), what="abrasive grade", given=grade, known=self.tables.abrasives
                )

    def climate_faults(self) -> Iterator[Fault]:
        """Faults of the customer's year."""
        wish = self.wish.climate or ClimateWish()
        if wish.room is not None and wish.room not in self.tables.rooms:
            yield self._no_such_room(wish.room)
            if wish.low_rh_pct is None or wish.high_rh_pct is None:
                return  # what fills the gap is not known
        climate = self.climate()
        if climate.low_rh_pct > climate.high_rh_pct:
            yield Fault(
                at=("climate", "low_rh"),
                code="conflict",
                detail=f"The driest season has {climate.low_rh_pct:g} %, the dampest {climate.high_rh_pct:g} %. "
                "Give low_rh at most as high as high_rh.",
            )

    def _no_such_room(self, given: str) -> Fault:
        """Fault with near names and, because no reader can guess the others, all of them."""
        rooms = self.tables.rooms
        near = near_names(given, rooms)
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        return Fault(
            at=("climate", "room"),
            code="unknown-name",
            detail=f"There is no kind of room named {given[:60]!r} here.{meant} There are: {', '.join(rooms)}.",
        )

    def climate_beside(self, seen: ClimateWish) -> Iterator[Fault]:
        """Faults of a climate that was refused for another of its parts, as far as it could be read."""
        yield from _Check(replace(self.wish, climate=seen), self.shop, self.tables, self.issued_on).climate_faults()

    def _trade(self) -> Iterator[Fault]:
        wish, shop = self.wish, self.shop
        if wish.quantity > shop.ranges.quantity:
            yield Fault(
                at=("quantity",),
                code="too-large",
                detail=f"{wish.quantity} boards were asked for; this shop makes up to {shop.ranges.quantity} in one "
                "order. Ask for fewer, or in several orders.",
            )
        if wish.channel is not None and wish.channel not in shop.channels:
            yield unknown_name(at=("channel",), what="sales channel", given=wish.channel, known=shop.channels)
        if wish.payment is not None and wish.payment not in shop.payments:
            yield self._no_such_payment(wish.payment)
        if wish.currency is not None and wish.currency not in self.currencies():
            yield self._no_such_currency(wish.currency)
        if self.ship_to not in self.tables.countries:
            yield Fault(
                at=("ship_to",),
                code="unknown-name",
                detail=f"{self.ship_to[:20]!r} is no ISO 3166 country code of two capital letters, such as DE or US.",
            )
        elif shop.zone(self.ship_to) is None:
            yield Fault(
                at=("ship_to",),
                code="not-offered",
                detail=f"This shop does not send to {self.tables.countries[self.ship_to]}. "
                f"It sends to: {', '.join(sorted(frozenset().union(*(z.countries for z in shop.zones))))}.",
            )

    def _no_such_payment(self, given: str) -> Fault:
        if self.shop.payments:
            return unknown_name(at=("payment",), what="way to pay", given=given, known=self.shop.payments)
        detail = f"This shop names no ways to pay, so {given[:60]!r} is not known. Leave out payment."
        return Fault(at=("payment",), code="not-offered", detail=detail)

    def currencies(self) -> tuple[str, ...]:
        """Currencies that this shop quotes in, its own first."""
        return (self.shop.currency, *(self.shop.exchange.rates if self.shop.exchange else ()))

    def _no_such_currency(self, given: str) -> Fault:
        offered = ", ".join(self.currencies())
        if given not in self.tables.currencies:
            near = near_names(given, {code.lower(): code for code in self.tables.currencies})
            meant = f" Did you mean {' or '.join(code.upper() for code in near)}?" if near else ""
            detail = (
                f"{given[:20]!r} is no ISO 4217 code of three capital letters.{meant} This shop quotes in: {offered}."
            )
            return Fault(at=("currency",), code="unknown-name", detail=detail)
        detail = f"This shop does not quote in {given}. It quotes in: {offered}."
        return Fault(at=("currency",), code="not-offered", detail=detail)

    def _dates(self) -> Iterator[Fault]:
        past = False
        for name, given in (("starts_on", self.wish.starts_on), ("wanted_by", self.wish.wanted_by)):
            if given is not None and given < self.issued_on:
                yield Fault(
                    at=(name,),
                    code="in-the-past",
                    detail=f"{name} {given} is before the order's date {self.issued_on}. Give that day or a later one.",
                )
                past = True
        starts_on, wanted_by = self.wish.starts_on, self.wish.wanted_by
        if past or starts_on is None or wanted_by is None or "starts_on" in self.faulted:
            return
        if wanted_by < starts_on:
            yield Fault(
                at=("wanted_by",),
                code="before-start",
                detail=f"wanted_by {wanted_by} is before starts_on {starts_on}, the first day of work. Give that day "
                "or a later one, or an earlier start.",
            )
