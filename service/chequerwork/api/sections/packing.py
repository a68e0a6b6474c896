"""The parcels of an order."""

from collections.abc import Callable
from itertools import count
from operator import attrgetter
from typing import Any, Final, NamedTuple

from chequerwork.api.component import (
    Component,
    PlanContext,
    ReadFrom,
    fine,
    flag,
    from_plan,
    length,
    many,
    mass,
    maybe,
    number,
    one,
    optional,
    other,
    text,
    texts,
    whole,
    workshop,
)
from chequerwork.api.sections.geometry import SIDES
from chequerwork.api.sections.trees import amount, mm
from chequerwork.domain.parcel.packing import Consignment, Parcel
from chequerwork.domain.parcel.shipping import Miss, Way, told, ways

_SERVICE: Final = "By which a parcel travels, where the shop has several."


class _Carton(NamedTuple):
    length_mm: float
    width_mm: float
    height_mm: float


class _Alike(NamedTuple):
    parcels: int
    each: Parcel


class _Line(NamedTuple):
    number: int
    text: str


def _rounded_up(found: Consignment, _: PlanContext) -> _Carton:
    return _Carton(*found.first.carriage.sides_mm)


def _consigned(found: Consignment, _: PlanContext) -> list[_Alike]:
    return [_Alike(*alike) for alike in found.kinds]


def _ways(found: Consignment, to: PlanContext) -> tuple[Way, ...]:
    """None where the section itself tells of the only one."""
    first = found.first
    if first.carriage.service.name is None:
        return ()
    return ways(to.plan.order.sale.ship_to, to.plan.shop, first.sides_mm, first.mass_kg)


def _misses(way: Way, to: PlanContext) -> list[str]:
    return [_missed(miss, to) for miss in way.misses]


def _missed(miss: Miss, to: PlanContext) -> str:
    given, limit = told((miss.given, miss.limit), to.plan.order.units, lengths=miss.lengths)
    return f"{miss.says.format(given)}, above {limit}"


def _if_sent(path: str) -> Callable[[Way, PlanContext], Any]:
    """An attribute of a way's carriage; None where it does not take the parcel."""
    read = attrgetter(path)
    return lambda way, _: None if way.carriage is None else read(way.carriage)


def _numbered(path: str) -> ReadFrom:
    read = attrgetter(path)
    return lambda found, _: map(_Line, count(1), read(found))


def _unless_zero(value: float, _: PlanContext) -> float | None:
    return mm(value) or None


CARTON: Final = Component("Carton", SIDES, length("height"))
DIMENSIONAL_RULE: Final = Component(
    "DimensionalRule",
    flag("counts", "Whether the parcel is billed by its size too.", "dimensional_counts"),
    maybe(
        other(
            "above_cm3",
            {"type": "number"},
            "Volume up to which it is not.",
            "service.dimensional_above_cm3",
            write=_unless_zero,
        )
    ),
    number("divisor_cm3_kg", "The volume over this is the dimensional mass.", decimals=3),
    maybe(
        other(
            "sides_step_mm",
            {"type": "number"},
            "Each side is rounded up to a multiple of this before.",
            "service.sides_up_to_mm",
            write=_unless_zero,
        )
    ),
    mass("mass_step", "The billed mass is rounded up to a multiple of this.", "round_up_kg", decimals=6),
)
CONSIGNED: Final = Component(
    "Consigned",
    whole("count", "Parcels of this kind.", "parcels"),
    whole("boards", "In each of them.", "each.boards"),
    one("carton", CARTON, "Outside.", "each"),
    mass("mass", of="each.mass_kg"),
    mass("billable", of="each.billable_kg"),
    maybe(text("service", _SERVICE, "each.carriage.service.name")),
)
DAMP: Final = Component(
    "Damp",
    number("build_pct", "Moisture content on the day the board is built.", decimals=2),
    number("low_pct", "At the drier end of what containers hold.", decimals=2),
    number("high_pct", "At the damper end.", decimals=2),
    fine("swell", "Of the field across the grain, if it took on all of it."),
    optional(fine("room", "That the frame leaves, both sides together.")),
)
TRANSIT: Final = Component(
    "Transit",
    flag("crate", "Whether the shop's limits ask for a crate."),
    maybe(one("damp", DAMP, "A long sea leg: an upper bound.")),
)
WAY: Final = Component(
    "Way",
    maybe(text("service", of="service.name")),
    flag("taken", of=lambda way, _: way.carriage is not None),
    optional(mass("billable", of=_if_sent("billable_kg"))),
    optional(
        other(
            "postage",
            {"type": "string"},
            "Of one parcel, fees of size included, without tax, in the shop's own currency.",
            _if_sent("price"),
            write=lambda price, to: amount(to.rounded(price)),
        )
    ),
    texts(
        "fees",
        "Names of fees of size that are due.",
        lambda way, _: [fee.name for fee in way.carriage.fees] if way.carriage else [],
    ),
    texts("misses", "Why it is not taken.", _misses),
)
PACKING_MATERIAL: Final = Component(
    "PackingMaterial",
    text("code"),
    text("title"),
    whole("count", of="pieces"),
    optional(length("length")),
    optional(length("width")),
    optional(length("thickness", "Of a carton its height.")),
    optional(number("area_m2", "All of them together.", decimals=4)),
    optional(number("volume_m3", decimals=4)),
    text("note"),
)
PACKING_LINE: Final = Component("PackingLine", whole("number"), text("text"))
PACKING_LIST: Final = Component(
    "PackingList",
    many("materials", PACKING_MATERIAL, "Of one full parcel, from the board outwards."),
    optional(
        many(
            "last_materials",
            PACKING_MATERIAL,
            "Of a smaller last parcel, where there is one.",
            lambda found, _: found.last_materials or None,
        )
    ),
    many("steps", PACKING_LINE, "In order.", _numbered("steps")),
    many(
        "photos", PACKING_LINE, "To take while packing, so that a claim for damage can be proved.", _numbered("photos")
    ),
)
PACKING: Final = Component(
    "Packing",
    whole("parcels", "Of the order."),
    whole("boards", "In a full parcel.", "first.boards"),
    one("carton", CARTON, "Of a full parcel, outside.", "first"),
    mass("mass", "Of a full parcel.", "first.mass_kg"),
    maybe(text("service", _SERVICE, "first.carriage.service.name")),
    one("sides_rounded", CARTON, "As the carrier measures them.", _rounded_up),
    one("dimensional_rule", DIMENSIONAL_RULE, of="first.carriage"),
    mass("dimensional", of="first.carriage.dimensional_kg"),
    mass("billable", "Of a full parcel.", "first.billable_kg"),
    length("length_plus_girth", of="first.length_plus_girth_mm"),
    flag("flat", "Flat by the test houses' shape.", "first.flat"),
    workshop(
        one("transit", TRANSIT, "Workshop view.", from_plan("transit")),
        many("ways", WAY, "Workshop view: what each of several services makes of a full parcel.", _ways),
        one("specification", PACKING_LIST, "Workshop view.", from_plan("packing_list")),
    ),
    many("consigned", CONSIGNED, "Every parcel: equal ones, and a smaller last one where boards are left.", _consigned),
)

COMPONENTS: Final = (
    CARTON,
    DIMENSIONAL_RULE,
    CONSIGNED,
    DAMP,
    TRANSIT,
    WAY,
    PACKING_MATERIAL,
    PACKING_LINE,
    PACKING_LIST,
    PACKING,
)
