"""The shop's habits in the gaps of a request: what the parts of a board, and the year it lives in, become of it."""

from typing import TypeVar

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.memory import Made
from chequerwork.domain.basics.shop import Climate, Shop
from chequerwork.domain.board.accuracy import CONFIDENCE_PCT, VISIBLE_STEP_MM
from chequerwork.domain.board.fit import square_for
from chequerwork.domain.board.geometry import rim_mm
from chequerwork.domain.order.order import Backing, Base, BoardField, Corners, Frame, Pattern, Units
from chequerwork.domain.order.request import (
    BackingRequest,
    BaseRequest,
    ClimateRequest,
    ConstructionRequest,
    CornersRequest,
    FrameRequest,
    GrainRequest,
)

T = TypeVar("T")


class Filled:
    """A request's board with the shop's defaults in its gaps. None of it is checked here; see ``completion``."""

    def __init__(self, request: ConstructionRequest, shop: Shop, tables: Tables) -> None:
        self.request, self.shop, self.tables = request, shop, tables
        self.units = request.units or Units(shop.defaults.units)
        game = tables.games.get(request.game) if request.game else None
        self.columns: int = first_given(request.columns, game.columns if game else None, 8)
        self.rows: int = first_given(request.rows, game.rows if game else None, 8)
        self.square_mm = request.square_mm
        if self.square_mm is None and request.pieces is not None:
            self.square_mm = square_for(request.pieces, self.units)
        self.thickness_mm = first_given(request.thickness_mm, shop.defaults.thickness_mm)
        # An odd row cannot be turned into its opposite, so an odd board defaults to the shift.
        default_pattern = Pattern.SHIFT if self.columns % 2 else Pattern(shop.defaults.pattern)
        self.pattern = request.pattern or default_pattern

    def frame_thickness_mm(self, frame: FrameRequest) -> float:
        """Thickness of the rails: as asked, as usual in this shop, or as thick as what they hide. [mm]"""
        if frame.thickness_mm is not None:
            return frame.thickness_mm
        if self.shop.defaults.frame_thickness_mm is not None:
            return self.shop.defaults.frame_thickness_mm
        base, hidden_mm = self.request.base, 0.0
        if base is not None and base.inset_mm >= frame.width_mm:
            # A base that sits inside the frame is hidden by it.
            hidden_mm = base.thickness_mm + (base.backing.thickness_mm if base.backing else 0.0)
        above_mm = rim_mm(frame)
        return above_mm + self.thickness_mm + max(hidden_mm, above_mm)

    def outside_mm(self) -> tuple[float, float] | None:
        """Length and width of the board as far as the request alone says, without a floating field's clearance."""
        if self.square_mm is None:
            return None
        lines, frame = self.request.lines, self.request.frame
        border_mm = 2 * (sum(line.width_mm for line in lines) + (frame.width_mm if frame else 0.0))
        return self.rows * self.square_mm + border_mm, self.columns * self.square_mm + border_mm

    def field(self, made: Made) -> BoardField:
        """The field; only of a board without faults."""
        request, lumber = self.request, self.shop.lumber
        if self.square_mm is None or request.light is None or request.dark is None:
            raise ValueError("a field can only be made of a request without faults")
        grain = request.grain or GrainRequest()
        return made(
            BoardField,
            columns=self.columns,
            rows=self.rows,
            square_mm=self.square_mm,
            thickness_mm=self.thickness_mm,
            pattern=self.pattern,
            light=request.light,
            dark=request.dark,
            light_grain=grain.light or lumber[request.light].grain,
            dark_grain=grain.dark or lumber[request.dark].grain,
            lines=request.lines,
        )

    def frame(self, made: Made) -> Frame | None:
        """The frame; only of a board without faults."""
        frame = self.request.frame
        if frame is None:
            return None
        return made(
            Frame,
            joint=frame.joint,
            hold=frame.hold,
            species=frame.species,
            width_mm=frame.width_mm,
            thickness_mm=self.frame_thickness_mm(frame),
            bevel_mm=frame.bevel_mm,
            grain=frame.grain or self.shop.lumber[frame.species].grain,
            edge=frame.edge,
        )

    def base(self, made: Made) -> Base | None:
        """The base, in the nominal thickness that the shop's own sheet goes by; only of a board without faults."""
        base = self.request.base
        if base is None:
            return None
        return made(
            Base,
            material=base.material,
            thickness_mm=self._sheet_mm(base),
            inset_mm=base.inset_mm,
            skirt=base.skirt,
            backing=self._backing(base.backing, made) if base.backing else None,
        )

    def _sheet_mm(self, base: BaseRequest) -> float:
        stock = self.shop.sheet_stock(base.material, base.thickness_mm)
        return stock.thickness_mm if stock else base.thickness_mm

    def _backing(self, backing: BackingRequest, made: Made) -> Backing:
        return made(
            Backing,
            species=backing.species,
            thickness_mm=backing.thickness_mm,
            grain=backing.grain or self.shop.lumber[backing.species].grain,
        )


def climate_of(asked: ClimateRequest, usual: Climate, tables: Tables) -> Climate:
    """The customer's year: as given, as in the kind of room named, or as usual in this shop."""
    room = tables.rooms.get(asked.room) if asked.room is not None else None
    known = room or usual
    return Climate(
        low_rh_pct=first_given(asked.low_rh_pct, known.low_rh_pct),
        high_rh_pct=first_given(asked.high_rh_pct, known.high_rh_pct),
        temperature_c=first_given(asked.temperature_c, known.temperature_c),
        room=room.key if room else None,
    )


def corners_of(asked: CornersRequest | None) -> Corners:
    """How closely the corners should meet, the house's habit in the gaps."""
    asked = asked or CornersRequest()
    return Corners(
        within_mm=first_given(asked.within_mm, VISIBLE_STEP_MM),
        confidence_pct=first_given(asked.confidence_pct, CONFIDENCE_PCT),
    )


def first_given(*values: T | None) -> T:
    """The first value that is not None.

    Raises
    ------
    ValueError
        There is none.
    """
    for value in values:
        if value is not None:
            return value
    raise ValueError("a default is missing")
