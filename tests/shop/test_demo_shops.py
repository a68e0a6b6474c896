"""The two demo shops: they load, they differ, and as templates they explain every setting."""

import re
from datetime import date
from decimal import Decimal

import pint
import pytest

from chequerwork.domain.basics.shop import KeyRole, OwnHours
from chequerwork.domain.basics.trade import FeeBase, TaxRegime
from chequerwork.shop.access import DEMO_SHOPS
from chequerwork.shop.loader import demo_folder, load_shop, load_shops
from chequerwork.shop.readers import BOARD_FOOT_M3, FOOT_M, FOOT_M2, FOOT_M3, GALLON_L, POUND_KG

# Tables whose keys are countries, weekdays, operations or the maker's own names, not settings.
FREE_TABLES = {"tax.rates", "labour.hours", "calendar.hours"}


def texts():
    return {path.stem: path.read_text(encoding="utf-8") for path in sorted(demo_folder().glob("*.toml"))}


@pytest.fixture(scope="module")
def shops(tables):
    return load_shops([demo_folder()], tables=tables)


def test_both_demo_shops_load_in_the_order_of_their_files(shops):
    assert tuple(shops) == DEMO_SHOPS
    assert all(shop.demo and shop.id == key for key, shop in shops.items())


def test_one_is_metric_with_tax_inside_the_other_imperial_with_tax_on_top(shops, tables):
    alps, coast = shops["moosgrund"], shops["willet-slough"]
    assert (alps.currency, alps.tax.regime, alps.defaults.units) == ("EUR", TaxRegime.INCLUDED, "metric")
    assert (coast.currency, coast.tax.regime, coast.defaults.units) == ("USD", TaxRegime.ADDED, "imperial")
    assert alps.country in tables.eu_members
    assert not set(alps.lumber) & set(coast.lumber)
    assert alps.machines != coast.machines
    assert set(alps.channels) != set(coast.channels)


def test_values_arrive_in_canonical_units(shops):
    alps, coast = shops["moosgrund"], shops["willet-slough"]
    assert coast.machines.kerf_crosscut_mm == 3.175
    assert coast.defaults.thickness_mm == 17.4625
    assert coast.machines.clamp_force_n == pytest.approx(4448.22, abs=0.005)  # 1000 lbf
    assert alps.machines.clamp_force_n == 4500.0  # left out there
    assert coast.workshop_climate.temperature_c == pytest.approx(18.8889, abs=1e-4)
    assert coast.packing.round_up_kg == pytest.approx(0.45359237, rel=1e-12)
    assert alps.lumber["pear"].price_m3 == Decimal(3650)
    assert alps.labour.hours["flatten_field"] == OwnHours(setup_h=0.2, unit_h=1.6)
    assert alps.channels["online_marketplace"].fee_pct == Decimal("13.5")
    assert alps.channels["market_fair"].fee_base is FeeBase.NET
    assert alps.calendar.windows[4] == ((450, 750),)
    assert alps.calendar.windows[6] == ()
    assert alps.calendar.ship_weekdays == (1, 4)
    assert alps.calendar.free_from == date(2027, 1, 11)
    assert coast.calendar.free_from is None
    assert alps.zones[0].services[0].steps[3] == (31.5, Decimal("19.90"))
    assert alps.zone("GB").key == "further"
    assert alps.zone("BR") is None
    assert coast.zone("BR").key == "elsewhere"
    assert [key.role for key in alps.keys] == [KeyRole.MAKER, KeyRole.STOREFRONT]


def test_money_keeps_the_decimals_written(shops):
    assert str(shops["moosgrund"].labour.rate_h) == "31.00"
    assert str(shops["willet-slough"].price.price_ending) == "4.95"


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    """Every unit that pint ships, read once."""
    return pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize(
    ("ours", "unit", "of"),
    [
        (BOARD_FOOT_M3, "board_foot", "meter ** 3"),
        (FOOT_M, "foot", "meter"),
        (FOOT_M2, "foot ** 2", "meter ** 2"),
        (FOOT_M3, "foot ** 3", "meter ** 3"),
        (GALLON_L, "gallon", "liter"),
        (POUND_KG, "pound", "kilogram"),
    ],
)
def test_conversion_factors_equal_those_of_pints_own_definitions(registry, ours, unit, of):
    # Source: the unit definitions pint ships (international foot and pound, US gallon, FBM = ft * ft * in).
    theirs = registry.Quantity(Decimal(1), unit).to(of).magnitude
    assert ours == pytest.approx(theirs, rel=Decimal("1e-20"))


def test_price_per_board_foot_becomes_a_price_per_cubic_metre(shops):
    # 144 in3 at 25.4 mm: 0.002359737216 m3, exactly. 8.40 a board foot.
    maple = shops["willet-slough"].lumber["hard_maple"]
    assert maple.price_m3 * Decimal("0.002359737216") == pytest.approx(Decimal("8.40"), rel=Decimal("1e-25"))


@pytest.mark.parametrize("name", DEMO_SHOPS)
def test_every_setting_is_explained_by_a_comment(name):
    """Beside it, or in the comment block above its group of tables."""
    unexplained, block, table = [], "", ""
    for line in texts()[name].splitlines():
        code, _, comment = line.partition("#")
        if line.startswith("#"):
            block = comment if line.startswith("# ----") else f"{block} {comment}"
        elif header := re.match(r"\[+([a-z_.-]+)\]", code):
            table = header[1]
            block = f"{block} {comment}"
        elif setting := re.match(r"([A-Za-z0-9_]+) = ", code):
            explained = comment.strip() or re.search(rf"\b{setting[1]}\b", block)
            if not explained and table not in FREE_TABLES:
                unexplained.append(f"{table}.{setting[1]}")
    assert unexplained == []


@pytest.mark.parametrize("name", DEMO_SHOPS)
def test_settings_that_may_be_left_out_are_shown_all_the_same(name):
    assert re.search(r"^#? ?frame_thickness = ", texts()[name], flags=re.MULTILINE)
    assert re.search(r"^#? ?free_from = ", texts()[name], flags=re.MULTILINE)
    assert re.search(r"^#? ?clamp_force = ", texts()[name], flags=re.MULTILINE)


def test_demo_files_tell_their_published_keys():
    for name, text in texts().items():
        assert f"demo-maker-{name}" in text
        assert f"demo-storefront-{name}" in text


@pytest.mark.parametrize("name", DEMO_SHOPS)
def test_a_template_made_real_only_asks_for_keys_of_its_own(name, tables, faults_of):
    faults = faults_of({("demo",): False, ("id",): "my-shop"}, name)
    assert {fault.code for fault in faults} == {"demo-key"}
    assert load_shop(
        texts()[name].partition("[[keys]]")[0].replace("demo = true", "demo = false"), tables=tables, name="mine"
    )
