"""What a shop file holds of parcels: how boards are packed, and by which services parcels travel.

What protects the boards, services beside the one table of a zone, carriers' habits and limits may all be left out.
"""

from dataclasses import asdict, replace
from decimal import Decimal
from typing import Final

from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import CrateFrom, Packing, Protection, ShippingService, SizeFee, Zone
from chequerwork.shop.readers import (
    FOOT_M2,
    FOOT_M3,
    INCH_M,
    POUND_KG,
    flag,
    key_of,
    mass_kg,
    money,
    number,
    plain_text,
)
from chequerwork.shop.record import Built, reader_of, record_of, settings_of
from chequerwork.shop.settings_table import Reader, SettingsTable

IN3_CM3: Final = float((INCH_M * 100) ** 3)
IN3_LB_CM3_KG: Final = float((INCH_M * 100) ** 3 / POUND_KG)
DIVISOR: Final = {  # of the carrier, in either of the units that carriers print
    "divisor_cm3_per_kg": number(*bounds_of(Packing, "divisor_cm3_kg"), "cm3/kg"),
    "divisor_in3_per_lb": lambda value: number(28, 550, "in3/lb")(value) * IN3_LB_CM3_KG,
}

_BARE: Final = ShippingService(name=None, steps=())
_ABOVE: Final = ("above_cm3", "above_in3", "above_side", "above_length_plus_girth", "above_mass")


# Zones ----------------------------------------------------------------------------------------------------------------


def read_zone(key: str, at: SettingsTable, country: Reader[str]) -> Zone:
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
    services = at.tables("services", lambda table: _service(table, habits), least=1)
    return Zone(key=key, countries=countries, services=services, long_sea_leg=sea)


def _service(at: SettingsTable, habits: ShippingService) -> ShippingService:
    return replace(_priced(at, _habits(at, habits)), name=at.read("name", plain_text))


def _priced(at: SettingsTable, habits: ShippingService) -> ShippingService:
    return replace(habits, steps=at.tables("steps", _step, least=1), fees=at.tables("fees", _fee))


def _step(at: SettingsTable) -> tuple[float, Decimal]:
    return at.read("up_to", mass_kg(0.05, 1000)), at.read("price", money())


def _habits(at: SettingsTable, shared: ShippingService) -> ShippingService:
    """How a carrier measures, and what it takes; what is left out is as ``shared`` has it."""
    own = settings_of(
        at,
        ShippingService,
        asdict(shared),
        name=None,
        steps=None,
        divisor_cm3_kg=DIVISOR,
        dimensional_above_cm3=_volumes("dimensional_above"),
        fees=None,
    )
    return replace(shared, **own)


def _fee(at: SettingsTable) -> SizeFee:
    if not any(at.gives(name) for name in _ABOVE):
        at.fault("name", "missing", f"The fee says not when it is due. Give one of {', '.join(_ABOVE)}.")
    return record_of(
        at,
        SizeFee,
        above_cm3=_volumes("above"),
        above_longest_mm={"above_side": reader_of(SizeFee, "above_longest_mm")},
        above_kg={"above_mass": reader_of(SizeFee, "above_kg")},
    )


def _volumes(name: str) -> dict[str, Reader[float]]:
    return {
        f"{name}_cm3": number(*bounds_of(SizeFee, "above_cm3"), "cm3"),
        f"{name}_in3": lambda value: number(6, 600_000, "in3")(value) * IN3_CM3,
    }


# Packing --------------------------------------------------------------------------------------------------------------


def read_packing(at: SettingsTable, tables: Tables) -> Packing:
    """The table of packing.

    Parameters
    ----------
    at
        The table.
    tables
        For the thickness of a carton that is named by its flute.
    """
    return record_of(
        at,
        Packing,
        wall_mm={"wall": reader_of(Packing, "wall_mm"), "flute": _caliper(tables)},
        carton_kg_m2={"carton_kg_per_m2": number(*bounds_of(Packing, "carton_kg_m2"), "kg/m2")},
        cushion_kg_m3={"cushion_kg_per_m3": number(*bounds_of(Packing, "cushion_kg_m3"), "kg/m3")},
        carton_price_m2=_by_area("carton_price"),
        cushion_price_m3={"cushion_price_per_m3": money(), "cushion_price_per_ft3": money(per=FOOT_M3)},
        divisor_cm3_kg=DIVISOR,
        protection=Built(_protection),
        crate=Built(_crate),
    )


def _crate(at: SettingsTable) -> CrateFrom:
    return record_of(
        at,
        CrateFrom,
        mass_kg={"crate_above_mass": reader_of(CrateFrom, "mass_kg")},
        longest_mm={"crate_above_side": reader_of(CrateFrom, "longest_mm")},
        worth={"crate_above_worth": money(positive=True)},
    )


def _caliper(tables: Tables) -> Reader[float]:
    """Thickness of corrugated board by the name of its flute. [mm]"""
    read = key_of("flute", tables.flutes)
    return lambda value: tables.flutes[read(value)].caliper_mm


def _protection(at: SettingsTable) -> Protection:
    found = record_of(
        at,
        Protection,
        corner_mm={"corner_thickness": reader_of(Protection, "corner_mm")},
        corner_kg={"corner_mass": reader_of(Protection, "corner_kg")},
        face_mm={"face_sheet_thickness": reader_of(Protection, "face_mm")},
        face_kg_m2={"face_sheet_kg_per_m2": number(*bounds_of(Protection, "face_kg_m2"), "kg/m2")},
        face_price_m2=_by_area("face_sheet_price"),
        interleaf_mm={"interleaf_thickness": reader_of(Protection, "interleaf_mm")},
        interleaf_kg_m2={"interleaf_kg_per_m2": number(*bounds_of(Protection, "interleaf_kg_m2"), "kg/m2")},
        interleaf_price_m2=_by_area("interleaf_price"),
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
