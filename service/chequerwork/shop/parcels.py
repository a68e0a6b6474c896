"""What a shop file holds of parcels: how boards are packed, and by which services parcels travel.

What protects the boards, services beside the one table of a zone, carriers' habits and limits may all be left out.
"""

from dataclasses import replace
from decimal import Decimal
from typing import Final

from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import CrateFrom, Packing, Protection, Service, SizeFee, Zone
from chequerwork.shop.readers import (
    FOOT_M2,
    FOOT_M3,
    INCH_M,
    POUND_KG,
    flag,
    key_of,
    length,
    mass_kg,
    money,
    number,
    plain_text,
    whole,
)
from chequerwork.shop.section import Reader, Section

IN3_CM3: Final = float((INCH_M * 100) ** 3)
IN3_LB_CM3_KG: Final = float((INCH_M * 100) ** 3 / POUND_KG)
MOST_BOARDS_IN_A_PARCEL: Final = 20
DIVISOR: Final = {  # of the carrier, in either of the units that carriers print
    "divisor_cm3_per_kg": number(1000, 20_000, "cm3/kg"),
    "divisor_in3_per_lb": lambda value: number(28, 550, "in3/lb")(value) * IN3_LB_CM3_KG,
}
NOTHING: Final = Decimal(0)

_BARE: Final = Service(name=None, steps=())
_ABOVE: Final = ("above_cm3", "above_in3", "above_side", "above_length_plus_girth", "above_mass")


# -- zones -----------------------------------------------------------------------------------------------------------


def read_zone(key: str, at: Section, country: Reader[str]) -> Zone:
    """The table of one zone: one way to send, or several services that share the zone's habits and limits.

    Parameters
    ----------
    key
        The maker's name of it.
    at
        The table.
    country
        Reads one of its countries.
    """
    countries = frozenset(at.items("countries", country, least=0))
    sea = at.read_or("long_sea_leg", flag, default=False)
    habits = _habits(at, _BARE)
    if not at.gives("services"):
        return Zone(key=key, countries=countries, services=(_priced(at, habits),), long_sea_leg=sea)
    if at.gives("steps"):
        at.fault("steps", "conflict", "Both steps and services are given. Move the steps into one of the services.")
    services = at.tables("services", lambda section: _service(section, habits), least=1)
    return Zone(key=key, countries=countries, services=services, long_sea_leg=sea)


def _service(at: Section, habits: Service) -> Service:
    return replace(_priced(at, _habits(at, habits)), name=at.read("name", plain_text))


def _priced(at: Section, habits: Service) -> Service:
    return replace(habits, steps=at.tables("steps", _step, least=1), fees=at.tables("fees", _fee))


def _step(at: Section) -> tuple[float, Decimal]:
    return at.read("up_to", mass_kg(0.05, 1000)), at.read("price", money())


def _habits(at: Section, shared: Service) -> Service:
    """How a carrier measures, and what it takes; what is left out is as ``shared`` has it."""
    return replace(
        shared,
        divisor_cm3_kg=at.one_of_or(DIVISOR, shared.divisor_cm3_kg),
        round_up_kg=at.read_or("round_up", mass_kg(0.001, 10), shared.round_up_kg),
        sides_up_to_mm=at.read_or("sides_up_to", length(0, 100), shared.sides_up_to_mm),
        dimensional_above_cm3=at.one_of_or(_volumes("dimensional_above"), shared.dimensional_above_cm3),
        longest_max_mm=at.read_or("longest_max", length(100, 10_000), shared.longest_max_mm),
        length_plus_girth_max_mm=at.read_or(
            "length_plus_girth_max", length(500, 20_000), shared.length_plus_girth_max_mm
        ),
        mass_max_kg=at.read_or("mass_max", mass_kg(0.05, 1000), shared.mass_max_kg),
    )


def _fee(at: Section) -> SizeFee:
    if not any(at.gives(name) for name in _ABOVE):
        at.fault("name", "missing", f"The fee says not when it is due. Give one of {', '.join(_ABOVE)}.")
    return SizeFee(
        name=at.read("name", plain_text),
        amount=at.read("amount", money()),
        above_cm3=at.one_of_or(_volumes("above"), None),
        above_longest_mm=at.read_or("above_side", length(50, 10_000), None),
        above_length_plus_girth_mm=at.read_or("above_length_plus_girth", length(200, 20_000), None),
        above_kg=at.read_or("above_mass", mass_kg(0.05, 1000), None),
    )


def _volumes(name: str) -> dict[str, Reader[float]]:
    return {
        f"{name}_cm3": number(100, 10_000_000, "cm3"),
        f"{name}_in3": lambda value: number(6, 600_000, "in3")(value) * IN3_CM3,
    }


# -- packing ---------------------------------------------------------------------------------------------------------


def read_packing(at: Section, tables: Tables) -> Packing:
    """The table of packing.

    Parameters
    ----------
    at
        The table.
    tables
        For the thickness of a carton that is named by its flute.
    """
    return Packing(
        clearance_mm=at.read("clearance", length(0, 300)),
        wall_mm=at.one_of({"wall": length(0.5, 50), "flute": _caliper(tables)}),
        carton_kg_m2=at.read("carton_kg_per_m2", number(0.1, 10, "kg/m2")),
        cushion_kg_m3=at.read("cushion_kg_per_m3", number(1, 500, "kg/m3")),
        carton_price_m2=at.one_of(_by_area("carton_price")),
        cushion_price_m3=at.one_of(
            {"cushion_price_per_m3": money(), "cushion_price_per_ft3": money(per=FOOT_M3)},
        ),
        divisor_cm3_kg=at.one_of(DIVISOR),
        round_up_kg=at.read("round_up", mass_kg(0.001, 10)),
        length_plus_girth_max_mm=at.read("length_plus_girth_max", length(500, 20_000)),
        boards_per_parcel=at.read_or("boards_per_parcel", whole(1, MOST_BOARDS_IN_A_PARCEL), 1),
        protection=_protection(at),
        crate=CrateFrom(
            mass_kg=at.read_or("crate_above_mass", mass_kg(0.05, 1000), None),
            longest_mm=at.read_or("crate_above_side", length(50, 10_000), None),
            worth=at.read_or("crate_above_worth", money(positive=True), None),
        ),
    )


def _caliper(tables: Tables) -> Reader[float]:
    """Thickness of corrugated board by the name of its flute. [mm]"""
    read = key_of("flute", tables.flutes)
    return lambda value: tables.flutes[read(value)].caliper_mm


def _protection(at: Section) -> Protection:
    thick = length(0, 100)
    area_kg = number(0, 50, "kg/m2")
    found = Protection(
        corner_mm=at.read_or("corner_thickness", thick, 0.0),
        corner_size_mm=at.read_or("corner_size", length(10, 500), 0.0),
        corner_kg=at.read_or("corner_mass", mass_kg(0, 5), 0.0),
        corner_price=at.read_or("corner_price", money(), NOTHING),
        face_mm=at.read_or("face_sheet_thickness", thick, 0.0),
        face_kg_m2=at.read_or("face_sheet_kg_per_m2", area_kg, 0.0),
        face_price_m2=at.one_of_or(_by_area("face_sheet_price"), NOTHING),
        interleaf_mm=at.read_or("interleaf_thickness", thick, 0.0),
        interleaf_kg_m2=at.read_or("interleaf_kg_per_m2", area_kg, 0.0),
        interleaf_price_m2=at.one_of_or(_by_area("interleaf_price"), NOTHING),
        sundries_price=at.read_or("sundries_price", money(), NOTHING),
    )
    for part, more in _OF_A_THICKNESS.items():
        if not at.gives(f"{part}_thickness"):
            for name in filter(at.gives, more):
                at.fault(name, "conflict", f"{part}_thickness is missing, without which this is not used. Give it too.")
    return found


def _by_area(name: str) -> dict[str, Reader[Decimal]]:
    return {f"{name}_per_m2": money(), f"{name}_per_ft2": money(per=FOOT_M2)}


# What says more of a protection whose thickness says that it is used.
_OF_A_THICKNESS: Final = {
    "corner": ("corner_size", "corner_mass", "corner_price"),
    "face_sheet": ("face_sheet_kg_per_m2", *_by_area("face_sheet_price")),
    "interleaf": ("interleaf_kg_per_m2", *_by_area("interleaf_price")),
}
