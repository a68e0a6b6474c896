"""A wish seen against one shop: what each field means once the gaps are filled, and the order made of it."""

from dataclasses import replace
from datetime import date
from typing import TypeVar

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Climate, Shop
from chequerwork.domain.board.accuracy import CONFIDENCE_PCT, VISIBLE_STEP_MM
from chequerwork.domain.board.fit import square_for
from chequerwork.domain.board.geometry import rim_mm
from chequerwork.domain.order.order import (
    Base,
    ClimateWish,
    Corners,
    CornersWish,
    Frame,
    Order,
    Pattern,
    Sanding,
    SquaresGrain,
    Units,
    Wish,
)

T = TypeVar("T")


class Asked:
    """Values of a wish with the shop's defaults in its gaps. None of them is checked here; see ``completion``."""

    def __init__(
        self, wish: Wish, shop: Shop, tables: Tables, today: date, faulted: frozenset[str] = frozenset()
    ) -> None:
        self.wish, self.shop, self.tables, self.faulted = wish, shop, tables, faulted
        self.units = wish.units or Units(shop.defaults.units)
        game = tables.games.get(wish.game) if wish.game else None
        self.columns: int = _first(wish.columns, game.columns if game else None, 8)
        self.rows: int = _first(wish.rows, game.rows if game else None, 8)
        self.square_mm = wish.square_mm
        if self.square_mm is None and wish.pieces is not None:
            self.square_mm = square_for(wish.pieces, self.units)
        self.thickness_mm = _first(wish.thickness_mm, shop.defaults.thickness_mm)
        # An odd row cannot be turned into its opposite, so an odd board defaults to the shift.
        default_pattern = Pattern.SHIFT if self.columns % 2 else Pattern(shop.defaults.pattern)
        self.pattern = wish.pattern or default_pattern
        self.finish = _first(wish.finish, shop.defaults.finish)
        self.issued_on = _first(wish.issued_on, today)
        # Also a day that was asked for waits until the shop is free and at work.
        self.starts_on = shop.calendar.next_free_day(_first(wish.starts_on, self.issued_on))
        self.ship_to = _first(wish.ship_to, shop.country)
        self.channel = _first(wish.channel, shop.defaults.channel)

    def frame_thickness_mm(self, frame: Frame) -> float:
        """Thickness of the rails: as asked, as usual in this shop, or as thick as what they hide. [mm]"""
        if frame.thickness_mm is not None:
            return frame.thickness_mm
        if self.shop.defaults.frame_thickness_mm is not None:
            return self.shop.defaults.frame_thickness_mm
        base, hidden_mm = self.wish.base, 0.0
        if base is not None and base.inset_mm >= frame.width_mm:
            # A base that sits inside the frame is hidden by it.
            hidden_mm = base.thickness_mm + (base.backing.thickness_mm if base.backing else 0.0)
        above_mm = rim_mm(frame)
        return above_mm + self.thickness_mm + max(hidden_mm, above_mm)

    def outside_mm(self) -> tuple[float, float] | None:
        """Length and width of the board as far as the order alone says, without a floating field's clearance."""
        if self.square_mm is None:
            return None
        border_mm = 2 * (
            sum(line.width_mm for line in self.wish.lines) + (self.wish.frame.width_mm if self.wish.frame else 0.0)
        )
        return self.rows * self.square_mm + border_mm, self.columns * self.square_mm + border_mm

    def climate(self) -> Climate:
        """The customer's year: as given, as in the kind of room named, or as usual in this shop."""
        wish, default = self.wish.climate or ClimateWish(), self.shop.defaults.climate
        room = self.tables.rooms.get(wish.room) if wish.room is not None else None
        usual = room or default
        return Climate(
            low_rh_pct=_first(wish.low_rh_pct, usual.low_rh_pct),
            high_rh_pct=_first(wish.high_rh_pct, usual.high_rh_pct),
            temperature_c=_first(wish.temperature_c, usual.temperature_c),
            room=room.key if room else None,
        )

    def corners(self) -> Corners:
        """How closely the corners should meet, the house's habit in the gaps."""
        wish = self.wish.corners or CornersWish()
        return Corners(
            within_mm=_first(wish.within_mm, VISIBLE_STEP_MM),
            confidence_pct=_first(wish.confidence_pct, CONFIDENCE_PCT),
        )

    def payment(self) -> str | None:
        """The way to pay: as asked, as usual in this channel or in this shop; None where the shop has none."""
        channel = self.shop.channels.get(self.channel)
        return self.wish.payment or (channel.payment if channel else None) or self.shop.defaults.payment

    def order(self) -> Order:
        """The complete order; call only when there are no faults."""
        wish, shop = self.wish, self.shop
        if self.square_mm is None or wish.light is None or wish.dark is None:
            raise ValueError("an order can only be made of a wish without faults")
        sanding, finish = wish.sanding or Sanding(), self.tables.finishes[self.finish]
        grain = wish.grain or SquaresGrain()
        return Order(
            shop=shop.id,
            columns=self.columns,
            rows=self.rows,
            game=wish.game,
            square_mm=self.square_mm,
            pieces=wish.pieces,
            light=wish.light,
            dark=wish.dark,
            light_grain=grain.light or shop.lumber[wish.light].grain,
            dark_grain=grain.dark or shop.lumber[wish.dark].grain,
            thickness_mm=self.thickness_mm,
            pattern=self.pattern,
            lines=wish.lines,
            frame=self._frame_filled(),
            base=self._base_filled(),
            feet=wish.feet,
            finish=self.finish,
            sand_top=sanding.top or finish.stop_grade_high,
            sand_underside=sanding.underside or finish.stop_grade_low,
            climate=self.climate(),
            corners=self.corners(),
            quantity=wish.quantity,
            issued_on=self.issued_on,
            starts_on=self.starts_on,
            wanted_by=wish.wanted_by,
            ship_to=self.ship_to,
            channel=self.channel,
            payment=self.payment(),
            currency=_first(wish.currency, shop.currency),
            units=self.units,
        )

    def _base_filled(self) -> Base | None:
        """The base in the nominal thickness that the shop's own sheet goes by, its backing's grain filled."""
        base = self.wish.base
        if base is None:
            return None
        stock, backing = self.shop.sheet_stock(base.material, base.thickness_mm), base.backing
        if backing is not None and backing.grain is None:
            backing = replace(backing, grain=self.shop.lumber[backing.species].grain)
        return replace(base, thickness_mm=stock.thickness_mm if stock else base.thickness_mm, backing=backing)

    def _frame_filled(self) -> Frame | None:
        frame = self.wish.frame
        if frame is None:
            return None
        return Frame(
            joint=frame.joint,
            hold=frame.hold,
            species=frame.species,
            width_mm=frame.width_mm,
            thickness_mm=self.frame_thickness_mm(frame),
            bevel_mm=frame.bevel_mm,
            grain=frame.grain or self.shop.lumber[frame.species].grain,
            edge=frame.edge,
        )


def _first(*values: T | None) -> T:
    for value in values:
        if value is not None:
            return value
    raise ValueError("a default is missing")
