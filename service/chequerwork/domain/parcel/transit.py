"""What waits on the way: when a crate is better than a carton, and what weeks in a damp container do to a board."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.amounts import round_money
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.order.order import BoardField, Frame, Hold, Units
from chequerwork.domain.parcel.packing import Parcel
from chequerwork.domain.parcel.shipping import told
from chequerwork.domain.wood.movement import Air, Year, swing

_CRATE = (
    "pack it in a crate of plywood. Solid wood thicker than 6 mm, battens too, must be treated and marked where it "
    "crosses a border."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Damp:
    """A board that has taken on all the moisture that the air of a container holds: an upper bound of a sea leg."""

    build_pct: float
    low_pct: float  # moisture content at the drier end of what containers hold
    high_pct: float
    swell_mm: float  # of the field across the grain
    room_mm: float | None  # that its frame leaves, both sides together; None without a frame


@dataclass(frozen=True, slots=True, kw_only=True)
class Transit:
    """The way of the first parcel. ``damp`` is None where no long sea leg lies on it."""

    crate: bool
    damp: Damp | None
    advice: tuple[Advice, ...]


def review(
    field: BoardField,
    frame: Frame | None,
    geometry: Geometry,
    parcel: Parcel,
    worth: Decimal | None,
    year: Year,
    ship_to: str,
    units: Units,
    shop: Shop,
    tables: Tables,
) -> Transit:
    """Advice for the way to the customer; ``worth`` is of one board without tax, None where no limit asks for it.

    References
    ----------
    CONTAINER: air-dry timber in containers at 70 to 75 % of relative humidity. ISPM15 for crates. MEM for the rest.
    """
    crate = tuple(crate_advice(parcel, worth, units, shop, tables))
    zone = shop.zone(ship_to)
    if zone is None or not zone.long_sea_leg:
        return Transit(crate=bool(crate), damp=None, advice=crate)
    damp = damp_of(field, frame, geometry, year, shop, tables)
    return Transit(crate=bool(crate), damp=damp, advice=(*crate, *_damp_advice(damp)))


def crate_advice(parcel: Parcel, worth: Decimal | None, units: Units, shop: Shop, tables: Tables) -> Iterator[Advice]:
    """Why a parcel would better be a crate: one advice for each limit that it is above."""
    limits, longest_mm = shop.packing.crate, max(parcel.sides_mm)
    if limits.mass_kg is not None and parcel.mass_kg > limits.mass_kg:
        given, limit = told((parcel.mass_kg, limits.mass_kg), units)
        yield _crate("mass_kg", f"The parcel weighs {given}, above {limit}: {_CRATE}")
    if limits.longest_mm is not None and longest_mm > limits.longest_mm:
        yield _crate("carton", f"The parcel is {{0}} long, above {{1}}: {_CRATE}", longest_mm, limits.longest_mm)
    if limits.worth is not None and worth is not None and worth * parcel.boards > limits.worth:
        # A price in another currency is worth an amount with no end of digits at home.
        worth_all = round_money(worth * parcel.boards, tables.currencies[shop.currency].exponent)
        text = f"A parcel of boards worth {worth_all} {shop.currency} is above the shop's {limits.worth}: {_CRATE}"
        yield _crate("carton", text)


def _crate(place: str, text: str, *lengths_mm: float) -> Advice:
    return Advice(
        code="crate",
        severity=Severity.INFO,
        at=("packing", place),
        text=text,
        lengths_mm=lengths_mm,
        source="ISPM15",
        audience=Audience.WORKSHOP,
    )


def damp_of(field: BoardField, frame: Frame | None, geometry: Geometry, year: Year, shop: Shop, tables: Tables) -> Damp:
    """The field in the air of a container, once it has taken on what that holds."""
    build = year.air[0]
    ends = (tables.thresholds[f"container-rh-{end}"].value for end in ("low", "high"))
    sea = Year(tables, build, *(Air(build.temperature_c, rh_pct) for rh_pct in ends))
    room_mm = None
    if frame is not None:
        room_mm = 2 * geometry.seat.clearance_mm if frame.hold is Hold.FLOATING else 0.0
    return Damp(
        build_pct=sea.moisture.build_pct,
        low_pct=sea.moisture.low_pct,
        high_pct=sea.moisture.high_pct,
        swell_mm=swing(field, shop.lumber, sea).swell_mm,
        room_mm=room_mm,
    )


def _damp_advice(damp: Damp) -> Iterator[Advice]:
    at = ("packing", "carton")
    yield Advice(
        code="damp-on-the-way",
        severity=Severity.INFO,
        at=at,
        text=f"Containers bring wood to {damp.low_pct:.1f} to {damp.high_pct:.1f} % of moisture; this board is built "
        f"at {damp.build_pct:.1f} %, and its field would swell by up to {{0}}. Wrap it against moisture once the "
        "finish is cured, in paper that breathes before.",
        lengths_mm=(damp.swell_mm,),
        source="CONTAINER",
        audience=Audience.WORKSHOP,
    )
    if damp.room_mm is not None and damp.swell_mm > damp.room_mm:
        yield Advice(
            code="swells-on-the-way",
            severity=Severity.CAUTION,
            at=at,
            text="In a container the field could swell by up to {0}, and its frame leaves it {1}: wait until the "
            "finish is cured, and wrap the board against moisture, or send it by air.",
            lengths_mm=(damp.swell_mm, damp.room_mm),
            source="CONTAINER",
            audience=Audience.WORKSHOP,
        )
    yield Advice(
        code="rest-after-delivery",
        severity=Severity.INFO,
        at=at,
        text="After the sea voyage let the board rest in its room for 48 h before it is used.",
        source="MEM",
    )
