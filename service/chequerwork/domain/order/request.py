"""What is asked of a shop: all that may be left out is optional, and fields have the bounds that they are read with.

Each field is valid by itself; whether they go together, and what fills the gaps, ``completion`` says.
"""

from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from chequerwork.domain.basics.bounds import MOST_BOARDS, RH_SPAN_PCT, within
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import (
    Backing,
    Base,
    Edge,
    Frame,
    Hold,
    Joint,
    Line,
    Order,
    Pattern,
    Pieces,
    Skirt,
    Units,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainRequest:
    """How the two timbers of the field are to be sawn, as far as given."""

    light: Grain | None = None
    dark: Grain | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameRequest:
    """The border; the shop knows how thick its rails are and how they are sawn."""

    joint: Joint
    hold: Hold
    species: str
    width_mm: float = field(metadata=within(0, 500))
    thickness_mm: float | None = field(default=None, metadata=within(0, 200))
    bevel_mm: float = field(default=0.0, metadata=within(0, 100))
    grain: Grain | None = None
    edge: Edge = Edge.TONGUE


@dataclass(frozen=True, slots=True, kw_only=True)
class BackingRequest:
    """A thin panel of wood under the base."""

    species: str
    thickness_mm: float = field(metadata=within(0, 100))
    grain: Grain | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BaseRequest:
    """A panel under the field, set in from the board's outside by ``inset_mm`` on every side."""

    material: str
    thickness_mm: float = field(metadata=within(0, 200))
    inset_mm: float = field(default=0.0, metadata=within(0, 500))
    skirt: Skirt | None = None
    backing: BackingRequest | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SandingRequest:
    """Last grades of abrasive, as far as given."""

    top: str | None = None
    underside: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClimateRequest:
    """The customer's year indoors, as far as given; ``room`` names a kind of room for the rest."""

    room: str | None = None
    low_rh_pct: float | None = field(default=None, metadata=within(*RH_SPAN_PCT))
    high_rh_pct: float | None = field(default=None, metadata=within(*RH_SPAN_PCT))
    temperature_c: float | None = field(default=None, metadata=within(-1, 50))


@dataclass(frozen=True, slots=True, kw_only=True)
class CornersRequest:
    """How closely the squares' corners should meet, as far as given."""

    within_mm: float | None = field(default=None, metadata=within(0.01, 5))
    confidence_pct: float | None = field(default=None, metadata=within(50, 99.9))


class ConstructionRequest(NamedTuple):
    """What of a request decides how the board is built."""

    columns: int | None = None
    rows: int | None = None
    game: str | None = None
    square_mm: float | None = None
    pieces: Pieces | None = None
    light: str | None = None
    dark: str | None = None
    grain: GrainRequest | None = None
    thickness_mm: float | None = None
    pattern: Pattern | None = None
    lines: tuple[Line, ...] = ()
    frame: FrameRequest | None = None
    base: BaseRequest | None = None
    feet: int = 0
    units: Units | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRequest:
    """A request as read; None means not given. Bounds of ``lines`` are how many there may be."""

    columns: int | None = field(default=None, metadata=within(2, 24))
    rows: int | None = field(default=None, metadata=within(2, 24))
    game: str | None = None
    square_mm: float | None = field(default=None, metadata=within(1, 1000))
    pieces: Pieces | None = None
    light: str | None = None
    dark: str | None = None
    grain: GrainRequest | None = None
    thickness_mm: float | None = field(default=None, metadata=within(1, 200))
    pattern: Pattern | None = None
    lines: tuple[Line, ...] = field(default=(), metadata=within(0, 6))
    frame: FrameRequest | None = None
    base: BaseRequest | None = None
    feet: int = field(default=0, metadata=within(0, 12))
    finish: str | None = None
    sanding: SandingRequest | None = None
    climate: ClimateRequest | None = None
    corners: CornersRequest | None = None
    quantity: int = field(default=1, metadata=within(1, MOST_BOARDS))
    issued_on: date | None = None
    starts_on: date | None = None
    wanted_by: date | None = None
    ship_to: str | None = None
    channel: str | None = None
    payment: str | None = None
    currency: str | None = None
    units: Units | None = None

    @property
    def construction(self) -> ConstructionRequest:
        """Its part that decides how the board is built."""
        return ConstructionRequest(
            self.columns,
            self.rows,
            self.game,
            self.square_mm,
            self.pieces,
            self.light,
            self.dark,
            self.grain,
            self.thickness_mm,
            self.pattern,
            self.lines,
            self.frame,
            self.base,
            self.feet,
            self.units,
        )


# A request that leaves nothing to the shop ----------------------------------------------------------------------------


def request_of(order: Order) -> OrderRequest:
    """The request that leaves nothing to the shop and comes out as this order, but for the first day of work.

    That is left to the shop: where it has no room before, the day may be later than the wanted one, which no request
    may ask for.
    """
    board, play, sale, dates, climate = order.field, order.play, order.sale, order.dates, order.climate
    return OrderRequest(
        columns=board.columns,
        rows=board.rows,
        game=play.game,
        square_mm=board.square_mm,
        pieces=play.pieces,
        light=board.light,
        dark=board.dark,
        grain=GrainRequest(light=board.light_grain, dark=board.dark_grain),
        thickness_mm=board.thickness_mm,
        pattern=board.pattern,
        lines=board.lines,
        frame=frame_request(order.frame) if order.frame else None,
        base=base_request(order.base) if order.base else None,
        feet=order.feet,
        finish=order.surface.finish,
        sanding=SandingRequest(top=order.surface.sand_top, underside=order.surface.sand_underside),
        climate=ClimateRequest(
            room=climate.room,
            low_rh_pct=climate.low_rh_pct,
            high_rh_pct=climate.high_rh_pct,
            temperature_c=climate.temperature_c,
        ),
        corners=CornersRequest(within_mm=order.corners.within_mm, confidence_pct=order.corners.confidence_pct),
        quantity=sale.quantity,
        issued_on=dates.issued_on,
        wanted_by=dates.wanted_by,
        ship_to=sale.ship_to,
        channel=sale.channel,
        payment=sale.payment,
        currency=sale.currency,
        units=order.units,
    )


def frame_request(frame: Frame) -> FrameRequest:
    """The request that comes out as this frame."""
    return FrameRequest(
        joint=frame.joint,
        hold=frame.hold,
        species=frame.species,
        width_mm=frame.width_mm,
        thickness_mm=frame.thickness_mm,
        bevel_mm=frame.bevel_mm,
        grain=frame.grain,
        edge=frame.edge,
    )


def base_request(base: Base) -> BaseRequest:
    """The request that comes out as this base."""
    return BaseRequest(
        material=base.material,
        thickness_mm=base.thickness_mm,
        inset_mm=base.inset_mm,
        skirt=base.skirt,
        backing=backing_request(base.backing) if base.backing else None,
    )


def backing_request(backing: Backing) -> BackingRequest:
    """The request that comes out as this backing."""
    return BackingRequest(species=backing.species, thickness_mm=backing.thickness_mm, grain=backing.grain)
