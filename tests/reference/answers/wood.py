"""Questions about wood, moisture, movement and bow."""

from dataclasses import replace

from builders import an_order, demo_shops, demo_tables
from reference.answers.registry import checks_formulas

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import Base
from chequerwork.domain.wood.flatness import flatten, laminate_bend
from chequerwork.domain.wood.movement import (
    Air,
    Moisture,
    Year,
    change_by_coefficient_mm,
    change_by_shrinkage_mm,
    swing,
)
from chequerwork.domain.wood.timber import emc_pct, fibreboard_mc_pct

TABLES, WILLET_SLOUGH = demo_tables(), demo_shops()["willet-slough"]


@checks_formulas("timber.emc_pct")
def emc_at_f_pct(*, temperature_f, rh_pct):
    """A temperature as the table prints it."""
    return emc_pct(temperature_c=(temperature_f - 32) / 1.8, rh_pct=rh_pct)


# Movement and bow -----------------------------------------------------------------------------------------------------

IN = 25.4


@checks_formulas("movement.change_by_coefficient_mm")
def change_by_coefficient_in(*, width_in, **given):
    return change_by_coefficient_mm(width_mm=width_in * IN, **given) / IN


@checks_formulas("movement.change_by_shrinkage_mm")
def change_by_shrinkage_in(*, width_in, **given):
    return change_by_shrinkage_mm(width_mm=width_in * IN, **given) / IN


def sawn(shop, grain):
    """The shop with all its lumber sawn one way."""
    lumber = {key: replace(each, grain=Grain(grain)) for key, each in shop.lumber.items()}
    return replace(shop, lumber=lumber)


def year_between(*moisture):
    """A year of the given moisture contents of wood, in rooms of 45 % and, in the damp season, 65 %."""
    year = Year(TABLES, Air(20.0, 45.0), Air(20.0, 45.0), Air(20.0, 65.0))
    year.moisture = Moisture(*moisture)
    return year


@checks_formulas()
def inner_change_mm(*, light, dark, columns, square_mm, grain, from_pct, to_pct):
    shop = sawn(WILLET_SLOUGH, grain)
    order = an_order(shop, light=light, dark=dark, columns=columns, square_mm=square_mm, pattern=None)
    return swing(order.field, shop.lumber, year_between(from_pct, from_pct, to_pct)).swell_mm


@checks_formulas("flatness.laminate_bend")
def curvature(*, layers):
    """Layers from the underside up: thickness, modulus, free strain."""
    return laminate_bend(*zip(*layers, strict=True))


@checks_formulas("flatness.bow_mm")
def bow_of_a_400_mm_field(*, grain, field_mm, sheet_mm):
    """Sugar maple alone on MDF: +3 % in the wood and +2 % in the board, from 45 to 65 % humidity."""
    assert fibreboard_mc_pct(65) - fibreboard_mc_pct(45) == 2
    shop = sawn(WILLET_SLOUGH, grain)
    order = an_order(shop, square_mm=50.0)
    alone = {"dark": order.field.light, "dark_grain": order.field.light_grain, "thickness_mm": field_mm}
    field = replace(order.field, **alone)
    base = Base(material="mdf", thickness_mm=sheet_mm, inset_mm=0.0, skirt=None, backing=None)
    year = year_between(7.0, 7.0, 10.0)
    return flatten(field, None, base, TABLES, year, swing(field, shop.lumber, year)).across_mm
