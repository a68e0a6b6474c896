"""The parcel: carton, mass, billable mass, girth, and what it costs to pack and send."""

import math
from dataclasses import dataclass
from decimal import Decimal

from chequerwork.domain.advice import Advice, Severity
from chequerwork.domain.errors import Fault, Refused
from chequerwork.domain.geometry import Geometry
from chequerwork.domain.order import Order
from chequerwork.domain.shop import Packing, Shop

# A parcel is "flat" to the test houses below this shape (ISTA 3A): shortest side, next over shortest, volume.
FLAT_SHORTEST_MM, FLAT_RATIO, FLAT_VOLUME_MM3 = 8 * 25.4, 4.0, 800 * 25.4**3


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """One board packed; an order of several boards is so many parcels. Money unrounded, without tax."""

    length_mm: float
    width_mm: float
    height_mm: float
    mass_kg: float
    dimensional_kg: float
    billable_kg: float
    length_plus_girth_mm: float
    flat: bool
    parcels: int
    material_cost: Decimal
    postage: Decimal
    advice: tuple[Advice, ...]


def pack(order: Order, shop: Shop, geometry: Geometry) -> Parcel:
    """Pack one board.

    Raises
    ------
    Refused
        The parcel is heavier than the postage table of its destination goes.

    References
    ----------
    TRADE-PACK: 559 x 559 x 32 with 50 clearance and 7 wall gives 673 x 673 x 146 (K01).
    """
    packing = shop.packing
    board = (geometry.overall.length_mm, geometry.overall.width_mm, geometry.height_mm)
    sides = carton_mm(board, packing.clearance_mm, packing.wall_mm)
    carton_m2 = carton_area_m2(sides)
    inside = [side - 2 * packing.wall_mm for side in sides]
    cushion_m3 = (math.prod(inside) - math.prod(board)) * 1e-9
    mass_kg = geometry.mass_kg + carton_m2 * packing.carton_kg_m2 + cushion_m3 * packing.cushion_kg_m3
    dimensional_kg = math.prod(sides) * 1e-3 / packing.divisor_cm3_kg
    billable_kg = round_up(max(mass_kg, dimensional_kg), packing.round_up_kg)
    longest, *others = sorted(sides, reverse=True)
    girth_mm = longest + 2 * sum(others)
    return Parcel(
        length_mm=sides[0],
        width_mm=sides[1],
        height_mm=sides[2],
        mass_kg=mass_kg,
        dimensional_kg=dimensional_kg,
        billable_kg=billable_kg,
        length_plus_girth_mm=girth_mm,
        flat=is_flat(sides),
        parcels=order.quantity,
        material_cost=_packing_cost(packing, carton_m2, cushion_m3) * order.quantity,
        postage=postage(order, shop, billable_kg) * order.quantity,
        advice=_advice(packing, sides, girth_mm),
    )


def carton_mm(board_mm: tuple[float, float, float], clearance_mm: float, wall_mm: float) -> tuple[float, float, float]:
    """Outer sides of a carton: the board, cushioning and wall on every side. [mm]

    Parameters
    ----------
    board_mm
        Length, width, height of the board. [mm]
    clearance_mm
        Cushioning on every side. [mm]
    wall_mm
        Thickness of the carton. [mm]

    References
    ----------
    TRADE-PACK; check value K01.
    """
    more_mm = 2 * (clearance_mm + wall_mm)
    return board_mm[0] + more_mm, board_mm[1] + more_mm, board_mm[2] + more_mm


def carton_area_m2(sides_mm: tuple[float, float, float]) -> float:
    """Board in a regular slotted carton: four walls, and top and bottom doubled by the flaps. [m2]

    Parameters
    ----------
    sides_mm
        Outer length, width, height. [mm]

    References
    ----------
    House: flaps of a regular slotted box meet in the middle along one side, so lid and floor are double.
    """
    length, width, height = sides_mm
    return (2 * height * (length + width) + 4 * length * width) * 1e-6


def is_flat(sides_mm: tuple[float, float, float]) -> bool:
    """Whether test houses call the parcel flat, which adds tests of edge, face and point.

    Parameters
    ----------
    sides_mm
        Outer sides. [mm]

    References
    ----------
    ISTA-3A: shortest side up to 8 in, next at least four times that, volume at least 800 in3 (K06).
    """
    shortest, middle, _ = sorted(sides_mm)
    return shortest <= FLAT_SHORTEST_MM and middle >= FLAT_RATIO * shortest and math.prod(sides_mm) >= FLAT_VOLUME_MM3


def round_up(value: float, step: float) -> float:
    """The next multiple of ``step`` at or above ``value``, in their unit."""
    return math.ceil(value / step - 1e-9) * step


def postage(order: Order, shop: Shop, billable_kg: float) -> Decimal:
    """Net postage of one parcel from the shop's table of the destination's zone.

    Parameters
    ----------
    order, shop
        For the destination and the tables.
    billable_kg
        Of the parcel. [kg]

    Raises
    ------
    Refused
        No step of the table carries so much.
    """
    zone = shop.zone(order.ship_to)
    steps = zone.steps if zone else ()
    for up_to_kg, price in steps:
        if billable_kg <= up_to_kg + 1e-9:
            return price
    most_kg = steps[-1][0] if steps else 0.0
    raise Refused(
        [
            Fault(
                at=("ship_to",),
                code="too-heavy",
                detail=f"The parcel is billed as {billable_kg:g} kg; this shop sends up to {most_kg:g} kg to "
                f"{order.ship_to}. Ask for a smaller or lighter board, or another destination.",
            )
        ]
    )


def _packing_cost(packing: Packing, carton_m2: float, cushion_m3: float) -> Decimal:
    carton = Decimal(f"{carton_m2:.6f}") * packing.carton_price_m2
    return carton + Decimal(f"{cushion_m3:.6f}") * packing.cushion_price_m3


def _advice(packing: Packing, sides: tuple[float, float, float], girth_mm: float) -> tuple[Advice, ...]:
    found: list[Advice] = []
    if is_flat(sides):
        found.append(
            Advice(
                code="flat-parcel",
                severity=Severity.INFO,
                at=("packing", "carton"),
                text="Flat parcels are dropped on edges and hit on the face: a rigid sheet on both faces and blocks "
                "at the corners protect the board. Photograph the packing.",
                source="ISTA-3A",
            )
        )
    if girth_mm > packing.length_plus_girth_max_mm:
        found.append(
            Advice(
                code="over-girth",
                severity=Severity.CAUTION,
                at=("packing", "length_plus_girth_mm"),
                text=f"Length plus girth is {girth_mm:.0f} mm, above the {packing.length_plus_girth_max_mm:.0f} mm "
                "this shop's parcels usually travel at: ask for freight.",
            )
        )
    return tuple(found)
