"""Shapes of a maker's own settings: machines, lumber, rates, calendar, channels, taxes, parcels.

The ``shop`` room fills them from one commented TOML file per maker. Nothing here is a fact of nature: see ``facts``.
Lengths in mm, money as ``Decimal`` in the shop's currency without tax unless the name says otherwise.

Bounds refuse slips of the pen (a kerf of 32 mm), not taste; they are our own, common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from chequerwork.domain.basics.arithmetic import enlarged_mm
from chequerwork.domain.basics.bounds import MOST_BOARDS, RH_SPAN_PCT, within
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.trade import Channel, Exchange, Payment, Rush, Tax


class LearningForm(StrEnum):
    """What the curve of learning tells: the average of all boards so far, or the time of the last one."""

    CUMULATIVE_AVERAGE = "cumulative_average"  # Wright
    UNIT = "unit"  # Crawford


class Promise(StrEnum):
    """How safely a price or a date holds: at the expected hours, or at hours that so many orders in a hundred keep."""

    EXPECTED = "expected"
    P50 = "p50"
    P80 = "p80"
    P95 = "p95"


class KeyRole(StrEnum):
    """What an access key opens: a storefront's customer view or the maker's workshop view."""

    STOREFRONT = "storefront"
    MAKER = "maker"


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """An inclusive range of lengths."""

    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """A year indoors, or one steady room when both humidities are equal.

    ``room`` is the kind of room that an order named, which filled what it did not give itself.
    """

    low_rh_pct: float = field(metadata=within(*RH_SPAN_PCT))
    high_rh_pct: float = field(metadata=within(*RH_SPAN_PCT))
    temperature_c: float = field(metadata=within(0, 45))
    room: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lumber:
    """One species as this shop buys it."""

    species: str
    price_m3: Decimal
    classes: tuple[str, ...]  # nominal thicknesses on offer, as "4/4"
    board_length: Span = field(metadata=within(200, 8000))
    board_width: Span = field(metadata=within(40, 1000))
    grain: Grain
    yield_pct: float = field(metadata=within(10, 100))  # of a bought board: what defects leave, before our cuts
    least_lot_m3: float = field(default=0.0, metadata=within(0, 10))  # least of one thickness that is sold


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStock:
    """One sheet good as this shop buys it; price of a whole sheet."""

    material: str
    thickness_mm: float = field(metadata=within(1, 60))
    price: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class RackBoard:
    """Equal boards, or cut pieces of a sheet, that lie in the rack; ``species`` is a sheet material for a sheet.

    ``price`` is of one of them; None stands for the shop's own price of that wood by volume, of that sheet by area.
    """

    id: str
    species: str
    length_mm: float = field(metadata=within(50, 8000))  # along the grain; of a sheet either side
    width_mm: float = field(metadata=within(10, 2500))
    thickness_mm: float = field(metadata=within(1, 150))  # sawn; of a sheet nominal
    count: int = field(default=1, metadata=within(1, 500))
    price: Decimal | None = None
    sawn: Grain | None = None  # None: not told
    defects: tuple[Span, ...] = field(metadata=within(0, 8000))  # along it, from the near end, in order, apart

    @property
    def volume_m3(self) -> Decimal:
        """Of one, exact to the nanometre of its sizes. [m3]"""
        length_nm, width_nm, thickness_nm = (
            round(size_mm * 1_000_000) for size_mm in (self.length_mm, self.width_mm, self.thickness_mm)
        )
        return Decimal(length_nm * width_nm * thickness_nm).scaleb(-27)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack:
    """The boards at hand, and which leftovers go back to them. The defaults are common practice, no source.

    ``keep_value_pct`` is the worth of a kept leftover, of what the same volume of its board costs.
    """

    end_trim_mm: float = field(default=25.0, metadata=within(0, 300))  # off each end: dried out, dirty, split
    keep_length_mm: float = field(default=300.0, metadata=within(50, 5000))  # leftovers at least this long ...
    keep_width_mm: float = field(default=60.0, metadata=within(10, 1000))  # ... and this wide are kept
    keep_value_pct: Decimal = field(default=Decimal(75), metadata=within(0, 100))  # of what its volume cost
    boards: tuple[RackBoard, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Machines:
    """What the shop cuts with and how much each step takes off."""

    kerf_rip_mm: float = field(metadata=within(0.3, 8))
    kerf_crosscut_mm: float = field(metadata=within(0.3, 8))
    jointer_width_mm: float = field(metadata=within(50, 1000))
    jointer_min_length_mm: float = field(metadata=within(50, 1000))
    thicknesser_width_mm: float = field(metadata=within(100, 1500))
    thicknesser_min_length_mm: float = field(metadata=within(50, 1000))
    thicknesser_min_thickness_mm: float = field(metadata=within(0.5, 30))
    crosscut_capacity_mm: float = field(metadata=within(100, 4000))  # widest panel the crosscut can pass
    rough_length_mm: float = field(metadata=within(0, 100))  # added to a rough part's length at first sawing
    rough_width_mm: float = field(metadata=within(0, 50))  # added to its width
    planing_face_mm: float = field(metadata=within(0, 10))  # taken off each face when sawn stock is dressed
    flattening_mm: float = field(metadata=within(0, 10))  # taken off the panel after each glue-up, both faces together
    jointing_edge_mm: float = field(metadata=within(0, 10))  # taken off each edge before ripping
    dressing_mm: float = field(metadata=within(0, 5))  # off a crosscut bar's width at its edges, 0 for none
    squaring_mm: float = field(metadata=within(0, 100))  # to square the first end of the panel
    end_trim_mm: float = field(metadata=within(0, 300))  # at the panel's ends, for snipe, both together
    spare_bars: int = field(metadata=within(0, 8))
    strip_tolerance_mm: float = field(metadata=within(0.005, 2))  # +/- on a strip's width
    blade_error_deg: float = field(metadata=within(0, 2))  # of the blade from square
    clamp_force_n: float = field(default=4500.0, metadata=within(100, 50_000))  # of one clamp; default of no source
    clamps: int | None = field(default=None, metadata=within(1, 1000))  # how many there are; None = always enough
    presses: int | None = field(default=None, metadata=within(1, 50))  # for bases, one board each; None = clamps do it
    rate_h: Decimal = Decimal(0)  # cost of an hour that a machine runs: wear, tools, power

    def rough_thickness_mm(self, final_mm: float) -> float:
        """Sawn thickness for a part planed on both faces. [mm]"""
        return enlarged_mm(final_mm, 2, self.planing_face_mm)

    def rough_field_thickness_mm(self, final_mm: float) -> float:
        """Sawn thickness for the field: planed, and flattened after each of its two glue-ups. [mm]"""
        return enlarged_mm(self.rough_thickness_mm(final_mm), 2, self.flattening_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumables:
    """Prices and use of what is bought by the litre, kilogram, metre or piece."""

    adhesive: str  # key of Tables.adhesives
    adhesive_price_kg: Decimal
    adhesive_waste_pct: float = field(metadata=within(0, 200))
    finish_waste_pct: float = field(metadata=within(0, 200))
    abrasive_price_m2: Decimal  # per square metre of abrasive
    abrasive_use: float = field(metadata=within(0, 5))  # square metres of abrasive per square metre sanded and grade
    foot_price: Decimal
    foot_height_mm: float = field(metadata=within(0.5, 100))
    foot_diameter_mm: float = field(metadata=within(3, 150))
    foot_mass_g: float = field(metadata=within(0, 1000))
    tape_price_m: Decimal
    label_price: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishOffer:
    """A finish this shop applies and what a litre costs it."""

    finish: str
    price_l: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnHours:
    """The shop's own hours of an operation, and how far they spread as fractions of the likely ones."""

    setup_h: float = field(metadata=within(0, 40))
    unit_h: float = field(metadata=within(0, 40))
    low: float | None = field(default=None, metadata=within(0.01, 1))  # None = in the norm's proportion
    high: float | None = field(default=None, metadata=within(1, 10))


@dataclass(frozen=True, slots=True, kw_only=True)
class Labour:
    """Rate and habits of the hands. ``hours`` overrides the norm of an operation."""

    rate_h: Decimal
    pace: float = field(metadata=within(0.2, 5))  # 1 = the norm table; 1.1 = ten percent slower
    correlation: float = field(metadata=within(0, 1))  # between the scores of two operations, 0..1: see ``chance``
    hours: Mapping[str, OwnHours]
    learning: float = field(default=1.0, metadata=within(0.5, 1))  # run time left when a batch doubles; 1 = all
    learning_form: LearningForm = LearningForm.CUMULATIVE_AVERAGE


@dataclass(frozen=True, slots=True, kw_only=True)
class Booking:
    """Working time of some days that other work has."""

    first: date
    last: date  # inclusive
    taken: tuple[float, int]  # of each day: a share, and minutes; one of them is 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Workflow:
    """How this shop's build differs from the table's. ``after`` replaces what a step waits for."""

    after: tuple[tuple[str, tuple[str, ...]], ...] = ()
    acclimatise_days: int = field(default=0, metadata=within(0, 60))


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Working week and days off in the shop's own time zone."""

    time_zone: str
    windows: tuple[tuple[tuple[int, int], ...], ...]  # per weekday from Monday: (start, end) minutes after midnight
    holidays: frozenset[date]
    free_from: date | None = None  # first day with room for new work; None = at once
    ship_weekdays: tuple[int, ...]  # days on which parcels leave, Monday = 0
    holds_at: Promise = Promise.EXPECTED  # how safe the dates are that a customer reads
    hands: int = field(default=1, metadata=within(1, 20))  # pairs that work side by side
    booked: tuple[Booking, ...] = ()

    def is_working(self, day: date) -> bool:
        """Whether hands work on this day."""
        return bool(self.windows[day.weekday()]) and day not in self.holidays

    def booked_min(self, day: date, open_min: int) -> int:
        """Minutes of a day with so many open that other work has; several bookings add up. [min]"""
        if not self.booked:
            return 0
        found = [booking for booking in self.booked if booking.first <= day <= booking.last]
        taken = sum(minutes + round(share * open_min) for share, minutes in (booking.taken for booking in found))
        return min(taken, open_min)

    def next_free_day(self, day: date) -> date:
        """First working day from ``day`` on that has room for new work."""
        free = max(day, self.free_from) if self.free_from else day
        # The checker demands one working weekday, and holidays are a finite list, so this ends.
        while not self.is_working(free):
            free += timedelta(days=1)
        return free


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRules:
    """From cost to price. Percentages of what they name."""

    overhead_pct: Decimal = field(metadata=within(0, 500))  # of materials and labour
    waste_pct: Decimal = field(metadata=within(0, 200))  # of materials, for pieces that fail
    waste_high: float = field(default=2.5, metadata=within(1.2, 6))  # the most waste, of the average; house
    margin_pct: Decimal = field(metadata=within(0, 95))  # of the net price; 0 where a markup is given
    markup_pct: Decimal = field(default=Decimal(0), metadata=within(0, 1000))  # of the cost; 0 where a margin is given
    price_step: Decimal  # shown unit price is the next multiple of this ...
    price_ending: Decimal  # ... plus this: step 10, ending 9 gives 449
    valid_days: int = field(metadata=within(1, 365))
    holds_at: Promise = Promise.EXPECTED  # cost of work and waste that the price is made of
    discount_pct: Decimal = field(default=Decimal(0), metadata=within(0, 90))  # that the shown price leaves room for
    deposit_pct: Decimal = field(default=Decimal(0), metadata=within(0, 100))  # of the total, at the order
    rush: Rush | None = None
    cash_step: Decimal | None = None  # smallest amount paid in coins; None = the currency's own


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFee:
    """What a carrier adds once to the postage of a parcel above any of these limits; None is no limit."""

    name: str
    amount: Decimal
    above_cm3: float | None = field(default=None, metadata=within(100, 10_000_000))
    above_longest_mm: float | None = field(default=None, metadata=within(50, 10_000))
    above_length_plus_girth_mm: float | None = field(default=None, metadata=within(200, 20_000))
    above_kg: float | None = field(default=None, metadata=within(0.05, 1000))  # of the parcel itself


@dataclass(frozen=True, slots=True, kw_only=True)
class ShippingService:
    """One way to send a parcel to a zone, with its table of (up to kg billable, net price), light to heavy.

    Sides are those that the carrier measures: rounded up, where it rounds. None leaves a rule to ``Packing``, and a
    limit away.
    """

    name: str | None  # None: the only way of its zone
    steps: tuple[tuple[float, Decimal], ...]
    divisor_cm3_kg: float | None = field(default=None, metadata=within(1000, 20_000))
    round_up_kg: float | None = field(default=None, metadata=within(0.001, 10))
    sides_up_to_mm: float = field(default=0.0, metadata=within(0, 100))  # rounded up to a multiple; 0 = not
    dimensional_above_cm3: float = field(default=0.0, metadata=within(100, 10_000_000))  # below, mass alone
    longest_max_mm: float | None = field(default=None, metadata=within(100, 10_000))
    length_plus_girth_max_mm: float | None = field(default=None, metadata=within(500, 20_000))
    mass_max_kg: float | None = field(default=None, metadata=within(0.05, 1000))  # of the parcel itself
    fees: tuple[SizeFee, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """Destinations that share their ways of sending."""

    key: str
    countries: frozenset[str]  # empty = everywhere not named by another zone
    services: tuple[ShippingService, ...]
    long_sea_leg: bool = False  # parcels spend weeks in a container


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """What is around the boards inside the cushioning; a thickness of 0 leaves it out."""

    corner_mm: float = field(default=0.0, metadata=within(0, 100))  # around the edges of a board
    corner_size_mm: float = field(default=0.0, metadata=within(10, 500))  # a corner block along its edges
    corner_kg: float = field(default=0.0, metadata=within(0, 5))  # one of them
    corner_price: Decimal = Decimal(0)
    face_mm: float = field(default=0.0, metadata=within(0, 100))  # rigid sheets on both faces
    face_kg_m2: float = field(default=0.0, metadata=within(0, 50))
    face_price_m2: Decimal = Decimal(0)
    interleaf_mm: float = field(default=0.0, metadata=within(0, 100))  # between two boards
    interleaf_kg_m2: float = field(default=0.0, metadata=within(0, 50))
    interleaf_price_m2: Decimal = Decimal(0)
    sundries_price: Decimal = Decimal(0)  # paper, tape and labels of a parcel


@dataclass(frozen=True, slots=True, kw_only=True)
class CrateFrom:
    """Above any of these a crate is advised; None is no limit."""

    mass_kg: float | None = field(default=None, metadata=within(0.05, 1000))  # of the parcel
    longest_mm: float | None = field(default=None, metadata=within(50, 10_000))
    worth: Decimal | None = None  # of its boards, without tax


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """How parcels are packed and measured."""

    clearance_mm: float = field(metadata=within(0, 300))  # cushioning on every side
    wall_mm: float = field(metadata=within(0.5, 50))  # carton wall
    carton_kg_m2: float = field(metadata=within(0.1, 10))
    cushion_kg_m3: float = field(metadata=within(1, 500))
    carton_price_m2: Decimal
    cushion_price_m3: Decimal
    divisor_cm3_kg: float = field(metadata=within(1000, 20_000))
    round_up_kg: float = field(metadata=within(0.001, 10))  # billable mass is rounded up to a multiple of this
    length_plus_girth_max_mm: float = field(metadata=within(500, 20_000))  # else freight, where the service has no own
    boards_per_parcel: int = field(default=1, metadata=within(1, 20))
    protection: Protection = Protection()
    crate: CrateFrom = CrateFrom()


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessKey:
    """A salted hash of an access key; the key itself is never kept."""

    name: str
    role: KeyRole
    salt: bytes
    digest: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """What the shop fills in when an order leaves it out."""

    thickness_mm: float = field(metadata=within(3, 100))
    pattern: str
    finish: str
    channel: str
    frame_thickness_mm: float | None = field(default=None, metadata=within(6, 100))  # None: as thick as the rest asks
    climate: Climate
    units: str
    payment: str | None = None  # one of Shop.payments; None = no method, no fee


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranges:
    """What the shop is willing to make."""

    square: Span = field(metadata=within(8, 200))
    thickness: Span = field(metadata=within(3, 100))
    frame_width: Span = field(metadata=within(5, 300))
    line_width: Span = field(metadata=within(0.4, 30))
    backing: Span = field(metadata=within(0.4, 30))
    outside_mm: float = field(metadata=within(100, 3000))  # longest outside edge of a board
    quantity: int = field(metadata=within(1, MOST_BOARDS))


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """One maker."""

    id: str
    name: str
    demo: bool
    country: str
    currency: str
    origins: tuple[str, ...]  # web origins whose pages may ask for quotes
    defaults: Defaults
    ranges: Ranges
    workshop_climate: Climate
    lumber: Mapping[str, Lumber]
    sheets: tuple[SheetStock, ...]
    rack: Rack
    finishes: Mapping[str, FinishOffer]
    machines: Machines
    consumables: Consumables
    labour: Labour
    calendar: Calendar
    price: PriceRules
    channels: Mapping[str, Channel]
    tax: Tax
    zones: tuple[Zone, ...]
    packing: Packing
    keys: tuple[AccessKey, ...]
    workflow: Workflow = Workflow()
    payments: Mapping[str, Payment] = field(default_factory=dict)
    exchange: Exchange | None = None  # currencies besides the shop's own
    locale: str | None = None  # how amounts are written; None = as in the shop's country

    def sheet_stock(self, material: str, thickness_mm: float) -> SheetStock | None:
        """The sheet the shop buys of this material within 0.5 mm of this nominal thickness, or None."""
        near = (s for s in self.sheets if s.material == material and abs(s.thickness_mm - thickness_mm) <= 0.5)
        return min(near, key=lambda s: abs(s.thickness_mm - thickness_mm), default=None)

    def zone(self, country: str) -> Zone | None:
        """The postage zone of a destination, or None where the shop does not send."""
        named = next((z for z in self.zones if country in z.countries), None)
        return named or next((z for z in self.zones if not z.countries), None)
