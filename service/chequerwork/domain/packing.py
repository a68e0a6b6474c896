"""The parcel: carton, mass, billable mass, girth, and what it costs to pack and send."""

import math
from dataclasses import dataclass
from decimal import Decimal

from chequerwork.domain.advice import Advice, Severity
from chequerwork.domain.amounts import for_boards
from chequerwork.domain.arithmetic import round_up
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
    board = geometry.outer_mm
    sides = carton_mm(board, packing)
    carton_m2 = carton_area_m2(sides)
    filled_m3 = cushion_m3(sides, packing.wall_mm, board)
    packed_kg = parcel_kg(
        board_kg=geometry.mass_kg,
        carton_m2=carton_m2,
        carton_kg_m2=packing.carton_kg_m2,
        cushion_m3=filled_m3,
        cushion_kg_m3=packing.cushion_kg_m3,
    )
    for_size_kg = dimensional_kg(sides, packing.divisor_cm3_kg)
    charged_kg = billable_kg(packed_kg, for_size_kg, packing.round_up_kg)
    girth_mm = length_plus_girth_mm(sides)
    materials_each = packing_cost(carton_m2, packing.carton_price_m2, filled_m3, packing.cushion_price_m3)
    return Parcel(
        length_mm=sides[0],
        width_mm=sides[1],
        height_mm=sides[2],
        mass_kg=packed_kg,
        dimensional_kg=for_size_kg,
        billable_kg=charged_kg,
        length_plus_girth_mm=girth_mm,
        flat=is_flat(sides),
        parcels=order.quantity,
        material_cost=for_boards(materials_each, order.quantity),
        postage=for_boards(postage(order, shop, charged_kg), order.quantity),
        advice=_advice(packing, sides, girth_mm),
    )


def carton_mm(board_mm: tuple[float, float, float], packing: Packing) -> tuple[float, float, float]:
    """Outer sides of the shop's carton for a board of these sides. [mm]"""
    length_mm, width_mm, height_mm = (
        carton_side_mm(side_mm, packing.clearance_mm, packing.wall_mm) for side_mm in board_mm
    )
    return length_mm, width_mm, height_mm


def carton_side_mm(board_side_mm: float, clearance_mm: float, wall_mm: float) -> float:
    """Outer side of a carton: the board, cushioning and wall on both sides. [mm]

    Parameters
    ----------
    board_side_mm
        Length, width or height of the board. [mm]
    clearance_mm
        Cushioning on every side. [mm]
    wall_mm
        Thickness of the carton. [mm]

    References
    ----------
    TRADE-PACK; check value K01.
    """
    return board_side_mm + 2 * (clearance_mm + wall_mm)


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


def cushion_m3(sides_mm: tuple[float, float, float], wall_mm: float, board_mm: tuple[float, float, float]) -> float:
    """Room between the carton and the board. [m3]

    Parameters
    ----------
    sides_mm
        Outer length, width, height of the carton. [mm]
    wall_mm
        Thickness of the carton. [mm]
    board_mm
        Length, width, height of the board. [mm]

    References
    ----------
    House: all of it is filled.
    """
    inside_mm = (side_mm - 2 * wall_mm for side_mm in sides_mm)
    return (math.prod(inside_mm) - math.prod(board_mm)) * 1e-9


def parcel_kg(
    *, board_kg: float, carton_m2: float, carton_kg_m2: float, cushion_m3: float, cushion_kg_m3: float
) -> float:
    """Mass of a packed board. [kg]

    Parameters
    ----------
    board_kg
        [kg]
    carton_m2, carton_kg_m2
        Board of the carton and its mass. [m2], [kg/m2]
    cushion_m3, cushion_kg_m3
        Cushioning and its density. [m3], [kg/m3]

    References
    ----------
    House: nothing else travels with it.
    """
    return board_kg + carton_m2 * carton_kg_m2 + cushion_m3 * cushion_kg_m3


def dimensional_kg(sides_mm: tuple[float, float, float], divisor_cm3_kg: float) -> float:
    """What a carrier takes a parcel to weigh for its size. [kg]

    Parameters
    ----------
    sides_mm
        Outer sides. [mm]
    divisor_cm3_kg
        Of the carrier. [cm3/kg]

    References
    ----------
    PARCEL and TRADE-PACK: 673 x 673 x 146 mm over 5000: 13.2 kg (K02).
    """
    return math.prod(sides_mm) * 1e-3 / divisor_cm3_kg


def billable_kg(mass_kg: float, dimensional_kg: float, step_kg: float) -> float:
    """What the carrier charges: the larger of two masses, rounded up. [kg]

    Parameters
    ----------
    mass_kg
        Of the parcel. [kg]
    dimensional_kg
        For its size. [kg]
    step_kg
        To whose multiple it is rounded up. [kg]

    References
    ----------
    PARCEL; check values K04 and K08.
    """
    return round_up(max(mass_kg, dimensional_kg), step_kg)


def length_plus_girth_mm(sides_mm: tuple[float, float, float]) -> float:
    """Longest side, and once around the parcel across it. [mm]

    Parameters
    ----------
    sides_mm
        Outer sides. [mm]

    References
    ----------
    TRADE-PACK: L + 2 (W + H) with the longest side as L (K05).
    """
    longest, *others = sorted(sides_mm, reverse=True)
    return longest + 2 * sum(others)


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


def packing_cost(carton_m2: float, carton_price_m2: Decimal, cushion_m3: float, cushion_price_m3: Decimal) -> Decimal:
    """Cost of carton and cushioning of one board, unrounded.

    Parameters
    ----------
    carton_m2, carton_price_m2
        Board of the carton, taken at six decimals, and its price. [m2], a square metre
    cushion_m3, cushion_price_m3
        Cushioning, taken at six decimals, and its price. [m3], a cubic metre

    References
    ----------
    House.
    """
    carton = Decimal(f"{carton_m2:.6f}") * carton_price_m2
    return carton + Decimal(f"{cushion_m3:.6f}") * cushion_price_m3


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
