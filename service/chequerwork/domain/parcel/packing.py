"""The parcels of an order: boards packed, weighed, sent by the cheapest service, and what packing and sending cost."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from chequerwork.domain.basics.advice import Advice, Audience, Severity
from chequerwork.domain.basics.amounts import for_boards
from chequerwork.domain.basics.shop import Packing, Shop
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.order.order import Units
from chequerwork.domain.parcel.parcels import (
    carton_area_m2,
    carton_side_mm,
    contents_kg,
    contents_side_mm,
    cushion_m3,
    is_flat,
    packing_cost,
    parcel_kg,
    parcels_needed,
    protection_cost,
)
from chequerwork.domain.parcel.shipping import Carriage, Sides, length_plus_girth_mm, send

CORNERS = 4  # of a board, each with a block


class Amounts(NamedTuple):
    """What protects the boards of one parcel, cushioning aside."""

    corners: int
    face_m2: float  # both faces together
    interleaf_m2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """One parcel. Money unrounded, without tax."""

    boards: int
    contents_mm: Sides  # boards with what protects them
    sides_mm: Sides  # of the carton, outside
    amounts: Amounts
    carton_m2: float
    cushion_m3: float
    mass_kg: float
    length_plus_girth_mm: float
    flat: bool
    carriage: Carriage
    material_cost: Decimal

    @property
    def length_mm(self) -> float:
        """Of the carton, along the grain. [mm]"""
        return self.sides_mm[0]

    @property
    def width_mm(self) -> float:
        """Of the carton. [mm]"""
        return self.sides_mm[1]

    @property
    def height_mm(self) -> float:
        """Of the carton. [mm]"""
        return self.sides_mm[2]

    @property
    def dimensional_kg(self) -> float:
        """What the carrier takes it to weigh for its size. [kg]"""
        return self.carriage.dimensional_kg

    @property
    def billable_kg(self) -> float:
        """What the carrier charges. [kg]"""
        return self.carriage.billable_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class Consignment:
    """All parcels of an order: equal ones, and a smaller last one where boards are left. Money as in ``Parcel``."""

    parcels: int
    first: Parcel
    last: Parcel | None
    material_cost: Decimal  # of the order
    postage: Decimal  # of the order
    advice: tuple[Advice, ...]

    @property
    def kinds(self) -> tuple[tuple[int, Parcel], ...]:
        """How many of each kind of parcel."""
        return ((self.parcels, self.first),) if self.last is None else ((self.parcels - 1, self.first), (1, self.last))


def pack(geometry: Geometry, boards: int, ship_to: str, units: Units, shop: Shop) -> Consignment:
    """Pack so many boards and send them.

    Raises
    ------
    Refused
        No service of the destination takes a parcel.

    References
    ----------
    TRADE-PACK: 559 x 559 x 32 with 50 clearance and 7 wall gives 673 x 673 x 146 (K01).
    """
    each = shop.packing.boards_per_parcel
    parcels = parcels_needed(boards, each)
    left = boards - (parcels - 1) * each
    first = packed(geometry, min(each, boards), ship_to, units, shop)
    last = packed(geometry, left, ship_to, units, shop) if left != first.boards else None
    full = parcels if last is None else parcels - 1
    materials, postage = for_boards(first.material_cost, full), for_boards(first.carriage.price, full)
    if last is not None:
        materials, postage = materials + last.material_cost, postage + last.carriage.price
    return Consignment(
        parcels=parcels,
        first=first,
        last=last,
        material_cost=materials,
        postage=postage,
        advice=tuple(_advice(shop.packing, first, last)),
    )


def packed(geometry: Geometry, boards: int, ship_to: str, units: Units, shop: Shop) -> Parcel:
    """One parcel of so many boards, lying one on the other. Raises ``Refused`` as ``pack`` does."""
    packing = shop.packing
    contents, amounts = protected(packing, geometry.outer_mm, boards)
    sides = carton_mm(contents, packing)
    carton_m2 = carton_area_m2(sides)
    filled_m3 = cushion_m3(sides, packing.wall_mm, contents)
    mass_kg = parcel_kg(
        board_kg=inside_kg(packing, amounts, boards, geometry.mass_kg),
        carton_m2=carton_m2,
        carton_kg_m2=packing.carton_kg_m2,
        cushion_m3=filled_m3,
        cushion_kg_m3=packing.cushion_kg_m3,
    )
    cost = packing_cost(carton_m2, packing.carton_price_m2, filled_m3, packing.cushion_price_m3)
    return Parcel(
        boards=boards,
        contents_mm=contents,
        sides_mm=sides,
        amounts=amounts,
        carton_m2=carton_m2,
        cushion_m3=filled_m3,
        mass_kg=mass_kg,
        length_plus_girth_mm=length_plus_girth_mm(sides),
        flat=is_flat(sides),
        carriage=send(ship_to, units, shop, sides, mass_kg),
        material_cost=cost + around_cost(packing, amounts),
    )


def protected(packing: Packing, board_mm: Sides, boards: int) -> tuple[Sides, Amounts]:
    """Sides [mm] of boards with corners, face sheets and interleaves, and how much there is of these.

    Face sheets lie in a parcel that would be flat without them.
    """
    around, between = packing.protection, packing.protection.interleaf_mm
    long_mm, wide_mm, high_mm = board_mm
    length_mm = contents_side_mm(long_mm, 1, 0.0, around.corner_mm)
    width_mm = contents_side_mm(wide_mm, 1, 0.0, around.corner_mm)
    height_mm = contents_side_mm(high_mm, boards, between, 0.0)
    faced = around.face_mm > 0 and is_flat(carton_mm((length_mm, width_mm, height_mm), packing))
    if faced:
        height_mm = contents_side_mm(high_mm, boards, between, around.face_mm)
    amounts = Amounts(
        corners=CORNERS * boards if around.corner_mm else 0,
        face_m2=2 * length_mm * width_mm * 1e-6 if faced else 0.0,
        interleaf_m2=(boards - 1) * long_mm * wide_mm * 1e-6 if between else 0.0,
    )
    return (length_mm, width_mm, height_mm), amounts


def carton_mm(contents_mm: Sides, packing: Packing) -> Sides:
    """Outer sides of the shop's carton for contents of these sides. [mm]"""
    clearance_mm, wall_mm = packing.clearance_mm, packing.wall_mm
    length_mm, width_mm, height_mm = contents_mm
    return (
        carton_side_mm(length_mm, clearance_mm, wall_mm),
        carton_side_mm(width_mm, clearance_mm, wall_mm),
        carton_side_mm(height_mm, clearance_mm, wall_mm),
    )


def inside_kg(packing: Packing, amounts: Amounts, boards: int, board_kg: float) -> float:
    """Mass of so many boards of ``board_kg`` [kg] and what protects them. [kg]"""
    return contents_kg(boards=boards, board_kg=board_kg, **weighed(packing, amounts))


def weighed(packing: Packing, amounts: Amounts) -> dict[str, Any]:
    """What protects the boards of one parcel and what it weighs, as ``contents_kg`` takes it."""
    around = packing.protection
    return {
        "corners": amounts.corners,
        "corner_kg": around.corner_kg,
        "face_m2": amounts.face_m2,
        "face_kg_m2": around.face_kg_m2,
        "interleaf_m2": amounts.interleaf_m2,
        "interleaf_kg_m2": around.interleaf_kg_m2,
    }


def around_cost(packing: Packing, amounts: Amounts) -> Decimal:
    """Cost of what protects the boards of one parcel, unrounded."""
    return protection_cost(**priced(packing, amounts)) if any(amounts) else packing.protection.sundries_price


def priced(packing: Packing, amounts: Amounts) -> dict[str, Any]:
    """What protects the boards of one parcel and what it costs, as ``protection_cost`` takes it."""
    around = packing.protection
    return {
        "corners": amounts.corners,
        "corner_price": around.corner_price,
        "face_m2": amounts.face_m2,
        "face_price_m2": around.face_price_m2,
        "interleaf_m2": amounts.interleaf_m2,
        "interleaf_price_m2": around.interleaf_price_m2,
        "sundries_price": around.sundries_price,
    }


def _advice(packing: Packing, first: Parcel, last: Parcel | None) -> list[Advice]:
    found: list[Advice] = []
    if first.flat or (last is not None and last.flat):  # fewer boards, flatter parcel
        found.append(
            Advice(
                code="flat-parcel",
                severity=Severity.INFO,
                at=("packing", "carton"),
                text="Flat parcels are dropped on edges and hit on the face: a rigid sheet on both faces and blocks "
                "at the corners protect the board.",
                source="ISTA-3A",
                audience=Audience.WORKSHOP,
            )
        )
    most_mm = packing.length_plus_girth_max_mm
    # A service with a limit of its own has taken the parcel already.
    if first.carriage.service.length_plus_girth_max_mm is None and first.length_plus_girth_mm > most_mm:
        found.append(
            Advice(
                code="over-girth",
                severity=Severity.CAUTION,
                at=("packing", "length_plus_girth_mm"),
                text="Length plus girth is {0}, above the {1} this shop's parcels usually travel at: ask for freight.",
                lengths_mm=(first.length_plus_girth_mm, most_mm),
            )
        )
    return found
