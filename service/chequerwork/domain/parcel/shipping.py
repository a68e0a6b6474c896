"""How carriers take a parcel: what it is billed as, which services carry it, and the cheapest of them."""

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from chequerwork.domain.basics.arithmetic import round_up
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.shop import Packing, ShippingService, Shop, SizeFee
from chequerwork.domain.order.order import Units

Sides = tuple[float, float, float]

POUND_KG, INCH_MM = 0.45359237, 25.4  # exact by definition
LIKE = 1e-9  # relative: a parcel as large as a limit is within it, whatever its last binary digit


class Carriage(NamedTuple):
    """One parcel sent by one service. ``price`` is net, fees of size included."""

    service: ShippingService
    sides_mm: Sides  # as the carrier measures them
    length_plus_girth_mm: float  # of these sides
    dimensional_kg: float
    dimensional_counts: bool
    divisor_cm3_kg: float
    round_up_kg: float
    billable_kg: float
    fees: tuple[SizeFee, ...]
    price: Decimal


class Miss(NamedTuple):
    """A limit of a service that a parcel is above. ``given`` and ``limit`` are in mm or kg."""

    code: str
    says: str
    given: float
    limit: float
    lengths: bool


class Way(NamedTuple):
    """A service with what it makes of a parcel; without a carriage where it does not take it."""

    service: ShippingService
    carriage: Carriage | None
    misses: tuple[Miss, ...]


# Formulas -------------------------------------------------------------------------------------------------------------


def dimensional_kg(sides_mm: tuple[float, float, float], divisor_cm3_kg: float) -> float:
    """What a carrier takes a parcel to weigh for its size. [kg]

    Parameters
    ----------
    sides_mm
        As the carrier measures them. [mm]
    divisor_cm3_kg
        Of the carrier. [cm3/kg]

    References
    ----------
    PARCEL and TRADE-PACK: 673 x 673 x 146 mm over 5000: 13.2 kg (K02).
    """
    return math.prod(sides_mm) * 1e-3 / divisor_cm3_kg


def dimensional_counts(sides_mm: tuple[float, float, float], above_cm3: float) -> bool:
    """Whether a parcel is billed by its size too.

    Parameters
    ----------
    sides_mm
        As the carrier measures them. [mm]
    above_cm3
        Volume up to which the carrier bills by mass alone; 0 where it never does. [cm3]

    References
    ----------
    PARCEL: one national post bills by size above 1 ft3 only. Volumes as alike as a billionth are equal.
    """
    return math.prod(sides_mm) * 1e-3 > above_cm3 * (1 + LIKE)


def billable_kg(mass_kg: float, dimensional_kg: float, step_kg: float) -> float:
    """What the carrier charges: the larger of two masses, rounded up. [kg]

    Parameters
    ----------
    mass_kg
        Of the parcel. [kg]
    dimensional_kg
        For its size; 0 where that does not count. [kg]
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


# Services -------------------------------------------------------------------------------------------------------------


def send(ship_to: str, units: Units, shop: Shop, sides_mm: Sides, mass_kg: float) -> Carriage:
    """The cheapest service of the destination's zone that takes a parcel; of equal ones the first in the shop file.

    Raises
    ------
    Refused
        No service takes it, with the limits of the one that misses least.
    """
    zone = shop.zone(ship_to)
    services = zone.services if zone else ()
    best: Carriage | None = None
    for service in services:
        found = offer(service, shop.packing, sides_mm, mass_kg)
        if found is not None and (best is None or found.price < best.price):
            best = found
    if best is None:
        raise Refused(_refusal(ship_to, units, shop.packing, services, sides_mm, mass_kg))
    return best


def offer(service: ShippingService, packing: Packing, sides_mm: Sides, mass_kg: float) -> Carriage | None:
    """A parcel of these sides [mm] and mass [kg] as one service takes it, or None where it does not."""
    sides = measured_sides_mm(service, sides_mm)
    girth_mm = length_plus_girth_mm(sides)
    longest_max, girth_max, mass_max = service.longest_max_mm, service.length_plus_girth_max_mm, service.mass_max_kg
    if (
        (longest_max is not None and max(sides) > longest_max * (1 + LIKE))
        or (girth_max is not None and girth_mm > girth_max * (1 + LIKE))
        or (mass_max is not None and mass_kg > mass_max * (1 + LIKE))
    ):
        return None
    divisor = service.divisor_cm3_kg or packing.divisor_cm3_kg
    step_kg = service.round_up_kg or packing.round_up_kg
    size_kg = dimensional_kg(sides, divisor)
    counts = dimensional_counts(sides, service.dimensional_above_cm3)
    charged_kg = billable_kg(mass_kg, size_kg if counts else 0.0, step_kg)
    price = postage(service, charged_kg)
    if price is None:
        return None
    fees = tuple(fee for fee in service.fees if _is_due(fee, sides, girth_mm, mass_kg)) if service.fees else ()
    for fee in fees:
        price += fee.amount
    return Carriage(service, sides, girth_mm, size_kg, counts, divisor, step_kg, charged_kg, fees, price)


def ways(ship_to: str, shop: Shop, sides_mm: Sides, mass_kg: float) -> tuple[Way, ...]:
    """How each service of the destination's zone takes a parcel, in the order of the shop file."""
    zone, packing = shop.zone(ship_to), shop.packing
    return tuple(
        Way(
            service=service,
            carriage=offer(service, packing, sides_mm, mass_kg),
            misses=tuple(misses_of(service, packing, sides_mm, mass_kg)),
        )
        for service in (zone.services if zone else ())
    )


def measured_sides_mm(service: ShippingService, sides_mm: Sides) -> Sides:
    """Sides as the carrier takes them: rounded up, where it rounds. [mm]"""
    step_mm = service.sides_up_to_mm
    if not step_mm:
        return sides_mm
    length_mm, width_mm, height_mm = sides_mm
    return round_up(length_mm, step_mm), round_up(width_mm, step_mm), round_up(height_mm, step_mm)


def postage(service: ShippingService, billable_kg: float) -> Decimal | None:
    """Net postage of a parcel from the table of a service, without fees; None above its last step."""
    for up_to_kg, price in service.steps:
        if billable_kg <= up_to_kg + LIKE:
            return price
    return None


def _is_due(fee: SizeFee, sides_mm: Sides, girth_mm: float, mass_kg: float) -> bool:
    return any(
        limit is not None and given > limit * (1 + LIKE)
        for given, limit in (
            (math.prod(sides_mm) * 1e-3, fee.above_cm3),
            (max(sides_mm), fee.above_longest_mm),
            (girth_mm, fee.above_length_plus_girth_mm),
            (mass_kg, fee.above_kg),
        )
    )


# Refusals -------------------------------------------------------------------------------------------------------------


def _refusal(
    ship_to: str, units: Units, packing: Packing, services: tuple[ShippingService, ...], sides_mm: Sides, mass_kg: float
) -> Iterator[Fault]:
    """Every limit missed of the service that misses least: whose worst limit is passed by the smallest ratio."""
    missed = [(service, tuple(misses_of(service, packing, sides_mm, mass_kg))) for service in services]
    service, misses = min(missed, key=lambda each: max(miss.given / miss.limit for miss in each[1]))
    who = "this shop sends" if service.name is None else f"{service.name}, which misses least, takes"
    for miss in misses:
        given, limit = told((miss.given, miss.limit), units, lengths=miss.lengths)
        yield Fault(
            at=("ship_to",),
            code=miss.code,
            detail=f"The parcel {miss.says.format(given)}; {who} up to {limit} to {ship_to}. "
            "Ask for a smaller or lighter board, or another destination.",
        )


def misses_of(service: ShippingService, packing: Packing, sides_mm: Sides, mass_kg: float) -> Iterator[Miss]:
    """Every limit of a service that a parcel of these sides [mm] and mass [kg] is above."""
    sides = measured_sides_mm(service, sides_mm)
    counts = dimensional_counts(sides, service.dimensional_above_cm3)
    size_kg = dimensional_kg(sides, service.divisor_cm3_kg or packing.divisor_cm3_kg) if counts else 0.0
    charged_kg = billable_kg(mass_kg, size_kg, service.round_up_kg or packing.round_up_kg)
    for code, says, given, limit, lengths in (
        ("parcel-too-large", "is {} long", max(sides), service.longest_max_mm, True),
        (
            "parcel-too-large",
            "has a length plus girth of {}",
            length_plus_girth_mm(sides),
            service.length_plus_girth_max_mm,
            True,
        ),
        ("too-heavy", "weighs {}", mass_kg, service.mass_max_kg, False),
        ("too-heavy", "is billed as {}", charged_kg, service.steps[-1][0], False),
    ):
        if limit is not None and given > limit * (1 + LIKE):
            yield Miss(code, says, given, limit, lengths)


def told(values: Sequence[float], units: Units, *, lengths: bool = False) -> tuple[str, ...]:
    """Masses [kg], or ``lengths`` [mm], as a fault or an advice says them in the order's units."""
    return tuple(_told(value, units, lengths=lengths) for value in values)


def _told(value: float, units: Units, *, lengths: bool) -> str:
    imperial = units is Units.IMPERIAL
    if lengths:
        return f"{value / INCH_MM:.1f} in".replace(".0 in", " in") if imperial else f"{value:.0f} mm"
    return f"{round(value / POUND_KG, 2):g} lb" if imperial else f"{round(value, 3):g} kg"
