"""One slip in a good shop file gives exactly one fault, at its place, with what to do about it."""

from datetime import date, datetime, time
from typing import NamedTuple

import pytest

TIMBER = {
    "price_per_m3": "900",
    "classes": ["4/4"],
    "length": {"low": "1 m", "high": "2 m"},
    "width": {"low": "80 mm", "high": "200 mm"},
    "grain": "flat",
    "yield": "80 %",
}
FAIR = {"name": "Fair", "fee": "0 %", "fee_base": "net", "fee_fixed": "0"}
BOOKED = {"from": date(2027, 3, 1), "to": date(2027, 3, 5)}
HEX_16 = "00112233445566778899aabbccddeeff"
HEX_32 = HEX_16 * 2


class Slip(NamedTuple):
    """A change of the demo shop and the fault it must give: its place, its code and words of its sentence."""

    name: str
    changes: dict
    at: tuple
    code: str
    words: tuple


def slip(name, path, value, code, *words, at=None, also=None):
    """A change at a path; ``at`` where the fault lies elsewhere, ``also`` what must change to leave just one."""
    return Slip(name, {path: value, **(also or {})}, path if at is None else at, code, words)


SLIPS = [
    # Who
    slip("no id", ("id",), ..., "missing", "id is missing"),
    slip("id with spaces", ("id",), "my shop", "bad-key", "'my shop'", "small letters"),
    slip("id too long", ("id",), "a" * 41, "bad-key", "up to 40"),
    slip("name of another type", ("name",), 7, "wrong-type", "text in quotes", "given was 7"),
    slip("blank name", ("name",), "", "bad-text", "1 to 80"),
    slip("name on two lines", ("name",), "Brett\nwerk", "bad-text", "one line"),
    slip("demo as a text", ("demo",), "yes", "wrong-type", "true or false", "'yes'"),
    slip("country by name", ("country",), "Austria", "unknown-name", "'Austria'", "Did you mean AT (Austria)?"),
    slip("country in small letters", ("country",), "at", "unknown-name", "Did you mean AT (Austria)?"),
    slip("no country at all", ("country",), "Qqq", "unknown-name", "ISO 3166", "such as PT"),
    slip("currency by its sign", ("currency",), "€", "unknown-name", "ISO 4217", "such as EUR"),
    slip("currency in small letters", ("currency",), "eur", "unknown-name", "Did you mean EUR?"),
    slip("origin with a path", ("origins", 0), "https://a.example/shop", "bad-origin", "without a path"),
    slip("origin without encryption", ("origins", 0), "http://a.example", "bad-origin", "https://"),
    slip("origin given twice", ("origins", 1), "https://brettwerkstatt-moosgrund.example", "duplicate", "twice"),
    slip("origins as a text", ("origins",), "https://a.example", "wrong-type", "list in square brackets"),
    slip("a setting nobody knows", ("colour",), "red", "unknown-setting", "'colour'", "remove it"),
    # Defaults and ranges
    slip("unknown pattern", ("defaults", "pattern"), "turned", "unknown-name", "Did you mean turn?"),
    slip("unknown finish", ("defaults", "finish"), "hardwax", "unknown-name", "hardwax_oil"),
    slip("finish known but not offered", ("defaults", "finish"), "lacquer", "not-offered", "'lacquer'", "shellac_2lb"),
    slip("default channel not there", ("defaults", "channel"), "ownsite", "not-offered", "own_site", "market_fair"),
    slip("unknown unit system", ("defaults", "units"), "inches", "unknown-name", "imperial, metric"),
    slip("length without a unit", ("defaults", "thickness"), "18", "unit-missing", "'18'", "mm"),
    slip("length as a number", ("defaults", "thickness"), 18, "wrong-type", "with its unit in quotes", "given was 18"),
    slip("thickness outside its range", ("defaults", "thickness"), "9 mm", "out-of-range", "9 mm", "10 mm to 36 mm"),
    slip(
        "thickness no lumber gives",
        ("defaults", "thickness"),
        "50 mm",
        "lumber-too-thin",
        "50 mm finished needs 56.4 mm sawn",
        "0 of the timbers",
        also={("ranges", "thickness", "high"): "60 mm"},
    ),
    slip("humidities swapped", ("defaults", "climate", "low_rh"), "80 %", "conflict", "80 %", "62 %"),
    slip("humidity above what wood sees", ("workshop_climate", "high_rh"), "99 %", "out-of-range", "5 % to 95 %"),
    slip("temperature without a unit", ("workshop_climate", "temperature"), "19", "unit-missing", "°C"),
    slip("no climate", ("workshop_climate",), ..., "missing", "[workshop_climate]"),
    slip("low above high", ("ranges", "square", "low"), "3 in", "conflict", "76.2 mm", "75 mm"),
    slip("span as a text", ("ranges", "square"), "22 mm to 75 mm", "wrong-type", "table of settings"),
    slip("span with a third word", ("ranges", "square", "step"), "1 mm", "unknown-setting", "'step'"),
    slip("outside of eight small squares", ("ranges", "outside"), "150 mm", "conflict", "176 mm"),
    slip("too many boards", ("ranges", "quantity"), 501, "out-of-range", "501", "1 to 500"),
    slip("quantity with decimals", ("ranges", "quantity"), 4.5, "wrong-type", "whole number", "4.5"),
    slip("quantity as yes or no", ("ranges", "quantity"), bool(1), "wrong-type", "whole number", "true"),
    # What is bought
    slip("lumber is a list", ("lumber",), ["pear", "wenge"], "wrong-type", "table of settings", "a list"),
    slip("a timber nobody knows", ("lumber", "pine_tree"), TIMBER, "unknown-name", "no timber named 'pine_tree'"),
    slip("a timber by another name", ("lumber", "birnbaum"), TIMBER, "unknown-name", "Write pear (Pyrus communis)."),
    slip("a name of several timbers", ("lumber", "mahogany"), TIMBER, "ambiguous-name", "honduran_mahogany", "sapele"),
    slip("lumber at two prices", ("lumber", "pear", "price_per_board_foot"), "9", "conflict", "Keep one"),
    slip("lumber without a price", ("lumber", "pear", "price_per_m3"), ..., "missing", "price_per_board_foot"),
    slip("price as a float", ("lumber", "pear", "price_per_m3"), 3650.5, "float-money", "loses cents", "'3650.5'"),
    slip("price with a comma", ("lumber", "pear", "price_per_m3"), "3.650,00", "bad-money", "decimal point"),
    slip("price with a currency", ("lumber", "pear", "price_per_m3"), "3650 EUR", "bad-money", "without a sign"),
    slip("price below zero", ("lumber", "pear", "price_per_m3"), "-1", "bad-money", "'-1'"),
    slip("whole price below zero", ("lumber", "pear", "price_per_m3"), -1, "bad-money", "-1"),
    slip("five decimals", ("lumber", "pear", "price_per_m3"), "1.00001", "bad-money", "5 after the point", "at most"),
    slip("thirteen digits", ("lumber", "pear", "price_per_m3"), "1" * 13, "bad-money", "13 digits", "12"),
    slip("thirteen whole digits", ("lumber", "pear", "price_per_m3"), 10**12, "bad-money", "999999999999"),
    slip("no thickness class", ("lumber", "pear", "classes"), [], "wrong-count", "0 entries", "1 to"),
    slip(
        "thickness class nobody sells",
        ("lumber", "pear", "classes", 1),
        "7/4",
        "unknown-name",
        "lumber thickness named '7/4'",
    ),
    slip("unknown grain", ("lumber", "pear", "grain"), "quater", "unknown-name", "Did you mean quarter?"),
    slip("yield above all", ("lumber", "pear", "yield"), "101 %", "out-of-range", "10 % to 100 %"),
    slip("sheet nobody makes", ("sheets", 0, "material"), "mfd", "unknown-name", "Did you mean mdf?"),
    slip("thickness no sheet has", ("sheets", 0, "thickness"), "7.2 mm", "unknown-sheet", "7.2 mm", "6 mm, 9 mm"),
    slip("sheet given twice", ("sheets", 1, "thickness"), "6 mm", "duplicate", "sheet no. 1", at=("sheets", 1)),
    slip("unknown finish offered", ("finishes", "hardwaxoil"), {"price_per_litre": "9"}, "unknown-name", "hardwax_oil"),
    slip("unknown adhesive", ("consumables", "adhesive"), "pva_d5", "unknown-name", "pva_d4 or pva_d3"),
    slip("feet as heavy as a brick", ("consumables", "foot_mass"), "2.4 kg", "out-of-range", "1000 g"),
    slip("a number as a text", ("consumables", "abrasive_use"), "0.12", "wrong-type", "number without quotes"),
    slip("no number at all", ("consumables", "abrasive_use"), float("nan"), "out-of-range", "nan", "0 to 5"),
    # How it is made
    slip("kerf ten times too wide", ("machines", "kerf_rip"), "28 mm", "out-of-range", "'28 mm'", "0.3 mm to 8 mm"),
    slip("blade far from square", ("machines", "blade_error_deg"), 6, "out-of-range", "0 to 2 deg"),
    slip("clamp force without a unit", ("machines", "clamp_force"), 4500, "wrong-type", "'4.5 kN'", "4500"),
    slip("clamp force as a mass", ("machines", "clamp_force"), "450 kg", "unknown-unit", "kg", "N, kN or lbf"),
    slip("clamp of a giant", ("machines", "clamp_force"), "60 kN", "out-of-range", "100 N to 50000 N"),
    slip("no clamps at all", ("machines", "clamps"), 0, "out-of-range", "0 is outside 1 to 1000"),
    slip("presses in words", ("machines", "presses"), "one", "wrong-type", "whole number", "'one'"),
    slip("nobody's hands", ("calendar", "hands"), 0, "out-of-range", "1 to 20"),
    slip(
        "booked without a share",
        ("calendar", "booked"),
        [BOOKED],
        "missing",
        "share or hours is missing",
        at=("calendar", "booked", 0, "share"),
    ),
    slip(
        "booked twice over",
        ("calendar", "booked"),
        [BOOKED | {"share": "50 %", "hours": "2 h"}],
        "conflict",
        "Keep one of them",
        at=("calendar", "booked", 0, "hours"),
    ),
    slip(
        "booked more than the whole",
        ("calendar", "booked"),
        [BOOKED | {"share": "120 %"}],
        "out-of-range",
        "100 %",
        at=("calendar", "booked", 0, "share"),
    ),
    slip(
        "booked backwards",
        ("calendar", "booked"),
        [BOOKED | {"share": "50 %", "to": date(2027, 2, 1)}],
        "conflict",
        "to is 2027-02-01",
        at=("calendar", "booked", 0, "to"),
    ),
    slip(
        "wood that lies a year",
        ("work",),
        {"acclimatise_days": 365},
        "out-of-range",
        "0 to 60",
        at=("work", "acclimatise_days"),
    ),
    slip(
        "a step nobody knows",
        ("work",),
        {"after": {"polish": ["sand"]}},
        "unknown-setting",
        "'polish'",
        at=("work", "after", "polish"),
    ),
    slip(
        "waits for a step nobody knows",
        ("work",),
        {"after": {"feet": ["sanding"]}},
        "unknown-name",
        "mean sand?",
        at=("work", "after", "feet", 0),
    ),
    slip(
        "steps in a circle",
        ("work",),
        {"after": {"mill": ["glue_bars"]}},
        "circle",
        "mill waits for glue_bars waits for crosscut",
        "waits for mill: none of them could ever begin",
        at=("work", "after", "mill"),
    ),
    slip(
        "a step that waits for itself",
        ("work",),
        {"after": {"sand": ["sand"]}},
        "circle",
        "sand waits for sand",
        at=("work", "after", "sand"),
    ),
    slip(
        "a step that nothing waits for",
        ("work",),
        {"after": {"inspect": ["rub_out"]}},
        "loose-step",
        "Nothing waits for feet",
        "Name feet here",
        at=("work", "after", "inspect"),
    ),
    slip(
        "packed before it is photographed",
        ("work",),
        {"after": {"pack": ["coats"]}},
        "loose-step",
        "Nothing waits for photographs",
        at=("work", "after", "pack"),
    ),
    slip(
        "a step before there is anything",
        ("work",),
        {"after": {"glue_bars": [], "flatten_field": ["glue_bars", "crosscut"]}},
        "wrong-count",
        "usually: crosscut",
        at=("work", "after", "glue_bars"),
    ),
    slip("no spare bars", ("machines", "spare_bars"), ..., "missing", "spare_bars is missing"),
    slip("free work", ("labour", "rate_per_hour"), "0", "out-of-range", "above 0"),
    slip("learning that halves time", ("labour", "learning"), "40 %", "out-of-range", "40 %", "50 % to 100 %"),
    slip("learning without a unit", ("labour", "learning"), 0.95, "wrong-type", "in quotes"),
    slip("unknown curve", ("labour", "learning_form"), "wright", "unknown-name", "cumulative_average, unit"),
    slip("least hours above the likely", ("labour", "hours", "frame", "low"), "120 %", "out-of-range", "1 % to 100 %"),
    slip(
        "most hours below the likely", ("labour", "hours", "frame", "high"), "80 %", "out-of-range", "100 % to 1000 %"
    ),
    slip("most waste below the usual", ("price", "waste_high"), "100 %", "out-of-range", "120 % to 600 %"),
    slip("pace as a percentage", ("labour", "pace"), "95 %", "wrong-type", "number without quotes"),
    slip("unknown operation", ("labour", "hours", "sanding"), {"setup": "1 h", "unit": "1 h"}, "unknown-name", "sand"),
    slip("hours without a unit", ("labour", "hours", "frame", "unit"), "0.3", "unit-missing", "min"),
    # Calendar
    slip("time zone by city", ("calendar", "time_zone"), "Vienna", "unknown-name", "Did you mean Europe/Vienna?"),
    slip("time zone misspelt", ("calendar", "time_zone"), "Europe/Wien", "unknown-name", "Did you mean", "Europe/"),
    slip("time zone of the machine", ("calendar", "time_zone"), "localtime", "unknown-name", "IANA"),
    slip("time zone that climbs folders", ("calendar", "time_zone"), "../../etc/passwd", "unknown-name", "IANA"),
    slip("no working hours", ("calendar", "hours"), {}, "no-hours", "at least one"),
    slip("hours that run back", ("calendar", "hours", "monday"), "12:00-08:00", "bad-hours", "run forward"),
    slip("hours that overlap", ("calendar", "hours", "monday"), "08:00-12:00, 11:00-15:00", "bad-hours", "apart"),
    slip("hours in words", ("calendar", "hours", "monday"), "8 to 5", "bad-hours", "'8 to 5'", "08:00-12:00"),
    slip("an hour no clock shows", ("calendar", "hours", "monday"), "08:00-25:00", "bad-hours", "25:00"),
    slip("a minute no clock shows", ("calendar", "hours", "monday"), "08:60-12:00", "bad-hours", "08:60"),
    slip("weekday misspelt", ("calendar", "hours", "saterday"), "08:00-12:00", "unknown-setting", "saturday"),
    slip("ships on no weekday", ("calendar", "ship_on"), [], "wrong-count", "0 entries"),
    slip("ships on a day nobody knows", ("calendar", "ship_on", 0), "tue", "unknown-name", "tuesday"),
    slip("holiday in another style", ("calendar", "holidays", 0), "25.12.2026", "bad-date", "2027-05-17"),
    slip("holiday no calendar has", ("calendar", "holidays", 0), "2027-02-30", "bad-date", "no day of the calendar"),
    slip("holiday with a clock", ("calendar", "holidays", 0), datetime(2027, 1, 1, 8), "bad-date", "date such as"),  # noqa: DTZ001
    slip("holiday that is only a clock", ("calendar", "holidays", 0), time(8), "bad-date", "08:00"),
    slip("holiday in another century", ("calendar", "holidays", 0), date(1927, 1, 1), "out-of-range", "2000 to 2100"),
    slip("holiday given twice", ("calendar", "holidays", 1), date(2026, 12, 8), "duplicate", "2026-12-08"),
    # How it is sold
    slip(
        "margin and fee eat all", ("price", "margin"), "87 %", "conflict", at=("channels", "online_marketplace", "fee")
    ),
    slip(
        "margin and fee on net eat all",
        ("channels", "market_fair", "fee"),
        "88 %",
        "conflict",
        "88.00 % and the margin",
    ),
    slip("no step", ("price", "step"), "0", "out-of-range", "above 0", at=("price", "step")),
    slip("margin and markup", ("price", "markup"), "20 %", "conflict", "Both margin and markup", "Keep one"),
    slip("neither margin nor markup", ("price", "margin"), ..., "missing", "margin or markup"),
    slip("discount of all", ("price", "discount"), "100 %", "out-of-range", "90"),
    slip(
        "rush without its days",
        ("price", "rush"),
        {"surcharge": "10 %"},
        "missing",
        "within_days",
        at=("price", "rush", "within_days"),
    ),
    slip("cash step finer than the coin", ("price", "cash_step"), "0.001", "too-fine", "EUR"),
    slip(
        "least fee above the cap",
        ("channels", "own_site", "fee_least"),
        "9",
        "conflict",
        "fee_max is 5",
        also={("channels", "own_site", "fee_max"): "5"},
    ),
    slip(
        "regime of a channel misspelt", ("channels", "own_site", "regime"), "add", "unknown-name", "Did you mean added?"
    ),
    slip(
        "channel collects nowhere",
        ("channels", "own_site", "collects"),
        ["UK"],
        "unknown-name",
        "UK",
        at=("channels", "own_site", "collects", 0),
    ),
    slip(
        "channel paid in a way not there",
        ("channels", "own_site", "payment"),
        "cheque",
        "not-offered",
        "card",
        "transfer",
    ),
    slip("usual payment not there", ("defaults", "payment"), "crad", "not-offered", "card"),
    slip("payment of an unknown kind", ("payments", "card", "kind"), "coins", "unknown-name", "card"),
    slip(
        "payment fee that leaves nothing",
        ("payments", "card", "fee"),
        "70 %",
        "conflict",
        "beside the",
        "online_marketplace",
        "margin 12.0 %",
    ),
    slip("rate as a number", ("exchange", "rates", "USD"), 1.08, "bad-rate", "in quotes"),
    slip("rate of nothing", ("exchange", "rates", "USD"), "0", "out-of-range", "way round"),
    slip("rate below nothing", ("exchange", "rates", "USD"), "-1", "bad-rate", "'1.0832'"),
    slip("rate of no currency", ("exchange", "rates", "USX"), "1", "unknown-name", "USX"),
    slip("rate of the own currency", ("exchange", "rates", "EUR"), "1", "conflict", "own currency"),
    slip("end without a rate", ("exchange", "ends", "GBP"), {"step": "5"}, "conflict", "no rate for GBP"),
    slip("end finer than the coin", ("exchange", "ends", "CHF", "step"), "10.001", "too-fine", "CHF"),
    slip("rates without a day", ("exchange", "on"), ..., "missing", "on is missing"),
    slip("unknown locale", ("locale",), "de_XX", "unknown-name", "de_"),
    slip("machine rate as a float", ("machines", "rate_per_hour"), 6.5, "float-money", "loses cents"),
    slip("ending beyond the step", ("price", "ending"), "10", "conflict", "ending is 10", "step is 10"),
    slip("step finer than the currency", ("price", "step"), "10.005", "too-fine", "10.005", "EUR has: 2"),
    slip("unknown fee base", ("channels", "own_site", "fee_base"), "total", "unknown-name", "gross_with_shipping"),
    slip("fee below zero", ("channels", "own_site", "fee"), "-2 %", "sign", "'-2 %'"),
    slip("channel key with capitals", ("channels", "Fair"), FAIR, "bad-key", "'Fair'"),
    slip("no channels", ("channels",), ..., "missing", "channels is missing"),
    slip("unknown tax regime", ("tax", "regime"), "inside", "unknown-name", "added, included"),
    slip("tax of a country nobody knows", ("tax", "rates", "XX"), "20 %", "unknown-name", "'XX'"),
    slip("tax without its sign", ("tax", "rates", "AT"), "20", "unit-missing", "%"),
    slip("no postage", ("zones", "home", "steps"), [], "wrong-count", "0 entries"),
    slip("steps out of order", ("zones", "home", "steps", 1, "up_to"), "3 kg", "not-ascending", "light to heavy"),
    slip("heavier but cheaper", ("zones", "home", "steps", 1, "price"), "6", "not-ascending", "heavier"),
    slip("postage in thirds of a cent", ("zones", "home", "steps", 0, "price"), "6.203", "too-fine", "6.203"),
    slip(
        "a country in two zones",
        ("zones", "further", "countries", 0),
        "DE",
        "duplicate",
        "already in zone neighbours",
        at=("zones", "further", "countries"),
    ),
    slip(
        "two zones for everywhere else",
        ("zones", "further", "countries"),
        [],
        "duplicate",
        "Zone neighbours already has no countries",
        also={("zones", "neighbours", "countries"): []},
    ),
    slip("home not served", ("zones", "home", "countries"), ["LI"], "home-not-served", "AT", at=("zones",)),
    slip("zone without countries", ("zones", "home", "countries"), ..., "missing", "countries is missing"),
    # Packing and keys
    slip("divisor in other units", ("packing", "divisor_cm3_per_kg"), 139, "out-of-range", "1000 to 20000 cm3/kg"),
    slip("carton too light for air", ("packing", "carton_kg_per_m2"), 0, "out-of-range", "0.1 to 10 kg/m2"),
    slip("unknown role", ("keys", 0, "role"), "owner", "unknown-name", "maker, storefront"),
    slip("salt too short", ("keys", 0, "salt"), "00ff", "wrong-count", "2 bytes", "16 to 64"),
    slip("salt that is no hex", ("keys", 0, "salt"), "pepper", "bad-hex", "hex digits"),
    slip("hash of another kind", ("keys", 0, "sha256"), HEX_16, "wrong-count", "16 bytes", "give 32"),
    slip("two keys of one name", ("keys", 1, "name"), "demo-maker", "duplicate", "key no. 1"),
    slip("own key in a demo shop", ("keys", 0, "sha256"), HEX_32, "not-a-demo-key", "demo = false"),
    slip("the key itself in the file", ("keys", 0, "key"), "open sesame", "unknown-setting", "'key'"),
]


@pytest.mark.parametrize("slip", SLIPS, ids=[slip.name for slip in SLIPS])
def test_one_slip_gives_exactly_its_fault(slip, faults_of):
    faults = faults_of(slip.changes)
    assert [(fault.at, fault.code) for fault in faults] == [(("shop.toml", *slip.at), slip.code)], faults
    assert [words for words in slip.words if words not in faults[0].detail] == [], faults[0].detail


def test_each_slip_is_named_once():
    assert len({slip.name for slip in SLIPS}) == len(SLIPS)


@pytest.mark.parametrize(
    ("path", "wrong", "right"),
    [
        (("machines",), "kerf_ripp", "kerf_rip"),
        (("lumber", "pear"), "price_per_m", "price_per_m3"),
        (("lumber", "pear"), "price_per_bord_foot", "price_per_board_foot"),
        (("price",), "margn", "margin"),
        ((), "machine", "machines"),
    ],
)
def test_a_misspelt_setting_is_one_fault_with_the_right_name(path, wrong, right, demo, faults_of):
    place = demo()
    for key in path:
        place = place[key]
    given = place.get(right, "3")
    gone = right if right in place else "price_per_m3"
    faults = faults_of({(*path, gone): ..., (*path, wrong): given})
    assert [(fault.at, fault.code) for fault in faults] == [(("shop.toml", *path, wrong), "unknown-setting")]
    assert f"Did you mean {right}" in faults[0].detail


FIFTEEN = {
    ("country",): "Atlantis",
    ("defaults", "pattern"): "spin",
    ("defaults", "climate", "temperature"): "21",
    ("ranges", "square", "low"): "4 mm",
    ("lumber", "pear", "grain"): "curly",
    ("lumber", "wenge", "price_per_m3"): 5900.0,
    ("sheets", 2, "price"): "dear",
    ("finishes", "shellac_2lb", "price_per_litre"): ...,
    ("machines", "kerf_rip"): 2.8,
    ("labour", "pace"): 0,
    ("calendar", "hours", "monday"): "early",
    ("price", "ending"): "12",
    ("channels", "own_site", "fee_base"): "all",
    ("zones", "home", "steps", 2, "up_to"): "9 kg",
    ("keys", 0, "salt"): "salty",
}


def test_fifteen_mistakes_are_named_at_once(faults_of):
    faults = faults_of(FIFTEEN)
    assert sorted(map(str, (fault.at[1:] for fault in faults))) == sorted(map(str, FIFTEEN))
    assert len(faults) == 15


def test_faults_come_in_the_order_of_reading_before_those_of_comparing(faults_of):
    faults = faults_of({("price", "step"): "0", ("id",): "", ("country",): "LI", ("currency",): "?"})
    assert [fault.at[1:] for fault in faults] == [("id",), ("currency",), ("price", "step"), ("zones",)]
