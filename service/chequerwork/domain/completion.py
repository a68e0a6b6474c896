"""From a wish to an order: gaps filled from the shop, the whole checked, every fault named at once."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from chequerwork.domain import movement
from chequerwork.domain.asked import Asked
from chequerwork.domain.errors import Fault, Path, Refused, unknown_name
from chequerwork.domain.facts import Game, Tables
from chequerwork.domain.order import (
    Base,
    Hold,
    Order,
    Pattern,
    Sanding,
    Wish,
)
from chequerwork.domain.shop import Shop, Span

# Fields that decide how the board is built; a groove can be judged when all of them are sound.
_CONSTRUCTION = frozenset(
    {"columns", "rows", "game", "square", "pieces", "light", "dark", "thickness", "pattern", "lines", "frame", "base"}
) | {"climate"}

FEET_FEWEST = 4
FLOATING_LEAST_MM = 9.0  # three thirds of 3 mm: a tongue and two shoulders (common practice, no source)
SEAT_MOST_MM = 60.0  # twice the widest clearance any order can ask for


def complete(
    wish: Wish,
    *,
    shop: Shop,
    tables: Tables,
    today: date,
    faulted: frozenset[str] = frozenset(),
    timbers: Sequence[tuple[Path, str]] = (),
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

    Raises
    ------
    Refused
        With every fault of the wish, in the order of the contract's table.
    """
    check = _Check(wish, shop, tables, today, faulted)
    faults = list(check.faults())
    for at, species in timbers:
        faults.extend(check.offered(at, species))
    if faults or faulted:
        raise Refused(faults)
    return check.order()


class _Check(Asked):
    """The wish seen against one shop: derived values first, then faults room by room."""

    def faults(self) -> Iterator[Fault]:
        """Every fault, skipping those about fields the reader already refused."""
        unfit = set(self.faulted)
        for fault in self._all_faults():
            if fault.at[0] not in self.faulted:
                unfit.add(str(fault.at[0]))
                yield fault
        if not unfit & _CONSTRUCTION:
            yield from self._groove()

    def _all_faults(self) -> Iterator[Fault]:
        yield from self._cells()
        yield from self._square()
        yield from self._timbers()
        yield from self._thickness()
        yield from self._lines()
        yield from self._frame()
        yield from self._base()
        yield from self._outside()
        yield from self._feet()
        yield from self._finishing()
        yield from self._climate()
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
        yield from _in_span(at, what, self.square_mm, self.shop.ranges.square)

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

    def offered(self, at: Path, species: str) -> Iterator[Fault]:
        """Fault of a timber that this shop does not work, or none."""
        if species in self.shop.lumber:
            return
        if species in self.tables.species:
            yield Fault(
                at=at,
                code="not-offered",
                detail=f"This shop does not work {self.tables.species[species].name}. "
                f"It offers: {', '.join(sorted(self.shop.lumber))}.",
            )
            return
        aliased = self.tables.aliases.get(species.strip().lower())
        if aliased is not None:
            yield Fault(
                at=at,
                code="unknown-name",
                detail=f"There is no timber with the key {species[:60]!r} here. Write {aliased} for "
                f"{self.tables.species[aliased].botanical}.",
            )
            return
        yield unknown_name(at=at, what="timber", given=species, known=self.shop.lumber)

    def _thickness(self) -> Iterator[Fault]:
        given = self.wish.thickness_mm is not None
        at: Path = ("thickness",)
        if given:
            yield from _in_span(at, "The thickness", self.thickness_mm, self.shop.ranges.thickness)
        rough_mm = self.shop.machines.rough_field_thickness_mm(self.thickness_mm)
        for role in ("light", "dark"):
            species = getattr(self.wish, role)
            yield from self._thick_enough(at, role, species, rough_mm, self.thickness_mm)

    def _thick_enough(
        self, at: Path, what: str, species: str | None, rough_mm: float, final_mm: float
    ) -> Iterator[Fault]:
        offer = self.shop.lumber.get(species or "")
        if offer is None:
            return
        thickest_mm = max(c.rough_mm for c in self.tables.thickness_classes if c.name in offer.classes)
        if rough_mm > thickest_mm + 1e-9:
            most_mm = final_mm - (rough_mm - thickest_mm)
            yield Fault(
                at=at,
                code="lumber-too-thin",
                detail=f"{final_mm:g} mm finished needs {rough_mm:.1f} mm rough {species} for the {what}; the "
                f"thickest this shop works is {thickest_mm:.1f} mm. Ask for at most {_floor(most_mm):g} mm.",
            )

    # -- what goes round and under it --------------------------------------------------------------------------

    def _lines(self) -> Iterator[Fault]:
        for index, line in enumerate(self.wish.lines):
            at: Path = ("lines", index)
            yield from self.offered((*at, "species"), line.species)
            yield from _in_span((*at, "width"), "The line", line.width_mm, self.shop.ranges.line_width)

    def _frame(self) -> Iterator[Fault]:
        frame = self.wish.frame
        if frame is None:
            return
        yield from self.offered(("frame", "species"), frame.species)
        yield from _in_span(("frame", "width"), "The rail", frame.width_mm, self.shop.ranges.frame_width)
        thickness_mm = self.frame_thickness_mm(frame)
        at: Path = ("frame", "thickness")
        if not frame.thickness_mm and frame.thickness_mm is not None:
            detail = "A rail of 0 mm is no rail. Leave out thickness for the usual one."
            yield Fault(at=at, code="too-small", detail=detail)
            return
        rough_mm = self.shop.machines.rough_thickness_mm(thickness_mm)
        yield from self._thick_enough(at, "frame", frame.species, rough_mm, thickness_mm)
        low_mm = max(frame.bevel_mm * 2, 6.0)
        if thickness_mm < low_mm:
            yield Fault(
                at=at,
                code="too-small",
                detail=f"The rail is {thickness_mm:g} mm thick; it needs at least {low_mm:g} mm (6 mm, and twice "
                "its bevel). Ask for a thicker rail or a smaller bevel.",
            )
        if frame.bevel_mm > frame.width_mm / 2:
            yield Fault(
                at=("frame", "bevel"),
                code="too-large",
                detail=f"A bevel of {frame.bevel_mm:g} mm takes more than half of a {frame.width_mm:g} mm rail. "
                f"Ask for at most {frame.width_mm / 2:g} mm.",
            )
        if frame.hold is Hold.FLOATING and self.thickness_mm < FLOATING_LEAST_MM:
            yield Fault(
                at=("frame", "hold"),
                code="too-thin-to-float",
                detail=f"A field of {self.thickness_mm:g} mm has no room for a tongue; a floating field needs "
                f"{FLOATING_LEAST_MM:g} mm. Ask for a thicker field or hold glued.",
            )

    def _base(self) -> Iterator[Fault]:
        base, frame = self.wish.base, self.wish.frame
        if base is None:
            return
        yield from self._sheet(base)
        outside_mm = self.outside_mm()
        if outside_mm is not None and outside_mm[1] - 2 * base.inset_mm < min(outside_mm) / 2:
            yield Fault(
                at=("base", "inset"),
                code="too-large",
                detail=f"An inset of {base.inset_mm:g} mm leaves less than half of the board's {min(outside_mm):g} mm "
                f"to stand on. Ask for at most {min(outside_mm) / 4:g} mm.",
            )
        hang_mm = self.frame_thickness_mm(frame) - self.thickness_mm if frame else 0.0
        if outside_mm is not None:
            yield from self._on_sheet(base, outside_mm)
        if frame and base.inset_mm < frame.width_mm and hang_mm > 1e-6:
            yield Fault(
                at=("frame", "thickness"),
                code="conflict",
                detail=f"The base runs under the rails, which hang {hang_mm:g} mm below the field, so it could not "
                f"touch the field. Make the rails {self.thickness_mm:g} mm thick or the inset at least "
                f"{frame.width_mm:g} mm.",
            )
        if base.skirt:
            yield from self.offered(("base", "skirt", "species"), base.skirt.species)
            yield from _in_span(
                ("base", "skirt", "width"), "The skirt", base.skirt.width_mm, Span(low_mm=2.0, high_mm=30.0)
            )
        if base.backing:
            yield from self.offered(("base", "backing", "species"), base.backing.species)
            yield from _in_span(
                ("base", "backing", "thickness"),
                "The backing",
                base.backing.thickness_mm,
                self.shop.ranges.backing,
            )

    def _sheet(self, base: Base) -> Iterator[Fault]:
        materials = {stock.material for stock in self.shop.sheets}
        if base.material not in materials:
            yield unknown_name(at=("base", "material"), what="sheet material", given=base.material, known=materials)
        elif self.shop.sheet_stock(base.material, base.thickness_mm) is None:
            on_offer = sorted(s.thickness_mm for s in self.shop.sheets if s.material == base.material)
            yield Fault(
                at=("base", "thickness"),
                code="not-offered",
                detail=f"This shop does not work {base.material} of {base.thickness_mm:g} mm, but: "
                f"{', '.join(f'{t:g} mm' for t in on_offer)}.",
            )

    def _on_sheet(self, base: Base, outside_mm: tuple[float, float]) -> Iterator[Fault]:
        sheet = self.tables.sheet(base.material, base.thickness_mm)
        if sheet is None:
            return
        # A floating field's clearance may add to the panel; no seat is wider than this.
        long_mm, short_mm = (side - 2 * base.inset_mm + SEAT_MOST_MM for side in sorted(outside_mm, reverse=True))
        if long_mm > sheet.length_mm or short_mm > sheet.width_mm:
            yield Fault(
                at=("base", "inset"),
                code="too-large",
                detail=f"The base would be about {long_mm:.0f} x {short_mm:.0f} mm; a sheet is {sheet.length_mm:g} x "
                f"{sheet.width_mm:g} mm. Ask for a smaller board or a larger inset.",
            )

    def _outside(self) -> Iterator[Fault]:
        outside_mm = self.outside_mm()
        if outside_mm is None or {"columns", "rows", "square", "pieces", "frame", "lines"} & self.faulted:
            return
        if max(outside_mm) > self.shop.ranges.outside_mm:
            cells = max(self.columns, self.rows)
            room_mm = self.shop.ranges.outside_mm - (max(outside_mm) - cells * (self.square_mm or 0.0))
            yield Fault(
                at=("square",) if self.wish.square_mm is not None else ("pieces",),
                code="too-large",
                detail=f"The board would be {max(outside_mm):g} mm on its longer side; this shop makes up to "
                f"{self.shop.ranges.outside_mm:g} mm. Ask for a square of at most {_floor(room_mm / cells):g} mm, "
                "fewer cells or a narrower border.",
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

    def _climate(self) -> Iterator[Fault]:
        climate = self.climate()
        if climate.low_rh_pct > climate.high_rh_pct:
            yield Fault(
                at=("climate", "low_rh"),
                code="conflict",
                detail=f"The driest season has {climate.low_rh_pct:g} %, the dampest {climate.high_rh_pct:g} %. "
                "Give low_rh at most as high as high_rh.",
            )

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

    def _dates(self) -> Iterator[Fault]:
        for name, given in (("starts_on", self.wish.starts_on), ("wanted_by", self.wish.wanted_by)):
            if given is not None and given < self.issued_on:
                yield Fault(
                    at=(name,),
                    code="in-the-past",
                    detail=f"{name} {given} is before the order's date {self.issued_on}. Give that day or a later one.",
                )

    def _groove(self) -> Iterator[Fault]:
        """Whether the groove fits the rail: needs the whole construction, but not the finish or the trade."""
        sound = _Check(
            replace(self.wish, finish=None, sanding=None), self.shop, self.tables, self.issued_on, self.faulted
        )
        order = sound.order()
        fault = movement.groove_fault(order, movement.swing(order, self.shop, self.tables))
        if fault is not None:
            yield fault


def _in_span(at: Path, what: str, given_mm: float, span: Span) -> Iterator[Fault]:
    if not span.low_mm - 1e-9 <= given_mm <= span.high_mm + 1e-9:
        small = given_mm < span.low_mm
        yield Fault(
            at=at,
            code="too-small" if small else "too-large",
            detail=f"{what} is {given_mm:.6g} mm; this shop makes {span.low_mm:.6g} mm to {span.high_mm:.6g} mm. "
            f"Ask for {'at least' if small else 'at most'} {(span.low_mm if small else span.high_mm):.6g} mm.",
        )


def _floor(value_mm: float) -> float:
    return math.floor(value_mm * 10 + 1e-9) / 10
