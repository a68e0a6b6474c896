"""What a shop file holds: one short function per table of the file.

To add a setting, add its field in ``domain.basics.shop`` and its commented line in both demo shops. It has a line here
only where ``record`` cannot tell its name or its reader from the field.
"""

from decimal import Decimal

from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import (
    AccessKey,
    Booking,
    Calendar,
    Climate,
    Consumables,
    Defaults,
    FinishOffer,
    Labour,
    Lumber,
    Machines,
    OwnHours,
    PriceRules,
    Ranges,
    SheetStock,
    Shop,
    Workflow,
)
from chequerwork.domain.order.order import Pattern, Units
from chequerwork.shop.parcels import read_packing, read_zone
from chequerwork.shop.rack import read_rack
from chequerwork.shop.readers import (
    BOARD_FOOT_M3,
    FOOT_M,
    FOOT_M2,
    GALLON_L,
    POUND_KG,
    WEEKDAYS,
    code_of,
    day,
    flag,
    hours,
    key_of,
    money,
    number,
    origin,
    percent,
    plain_text,
    secret_bytes,
    share,
    slug,
    span,
    timber,
    time_zone,
    weekday,
    working_windows,
)
from chequerwork.shop.record import Built, known, reader_of, record_of
from chequerwork.shop.selling import read_channel, read_exchange, read_payment, read_rush, read_tax
from chequerwork.shop.settings_table import Reader, SettingsTable
from chequerwork.writing import locale_of

SALT_BYTES = (16, 64)
DIGEST_BYTES = 32  # SHA-256
_NONE = Decimal(0)  # stands in for a hole, too


def read_shop(at: SettingsTable, tables: Tables) -> Shop:
    """The whole file as a shop, with holes where settings could not be read.

    Parameters
    ----------
    at
        The file's top table.
    tables
        Fact tables whose keys the file may name.
    """
    country = code_of("country", tables.countries, "an ISO 3166 code of two capital letters such as PT")
    currencies = {code: code for code in tables.currencies}
    return Shop(
        id=at.read("id", slug),
        name=at.read("name", plain_text),
        demo=at.read("demo", flag),
        country=at.read("country", country),
        currency=at.read("currency", code_of("currency", currencies, "an ISO 4217 code such as EUR")),
        origins=at.items("origins", origin),
        defaults=at.table("defaults", lambda table: _defaults(table, tables)),
        ranges=at.table("ranges", lambda table: record_of(table, Ranges)),
        workshop_climate=at.table("workshop_climate", _climate),
        lumber=at.named(
            "lumber",
            timber(tables),
            lambda species, table: _lumber(species, table, tables),
            least=2,
        ),
        sheets=at.tables("sheets", lambda table: _sheet(table, tables)),
        rack=at.table_or_empty("stock", lambda table: read_rack(table, tables)),
        finishes=at.named("finishes", key_of("finish", tables.finishes), _finish, least=1),
        machines=at.table("machines", _machines),
        consumables=at.table("consumables", lambda table: _consumables(table, tables)),
        labour=at.table("labour", lambda table: _labour(table, tables)),
        calendar=at.table("calendar", _calendar),
        price=at.table("price", _price),
        channels=at.named("channels", slug, lambda key, table: read_channel(key, table, country), least=1),
        payments=at.named("payments", slug, read_payment),
        tax=at.table("tax", lambda table: read_tax(table, country)),
        exchange=read_exchange(at, currencies),
        locale=at.read_or("locale", locale_of, None),
        zones=tuple(at.named("zones", slug, lambda key, table: read_zone(key, table, country), least=1).values()),
        packing=at.table("packing", lambda table: read_packing(table, tables)),
        keys=at.tables("keys", _key),
        workflow=at.table_or_empty("work", lambda table: _workflow(table, tables)),
    )


# The boards -----------------------------------------------------------------------------------------------------------


def _defaults(at: SettingsTable, tables: Tables) -> Defaults:
    return record_of(
        at,
        Defaults,
        pattern=key_of("pattern", [pattern.value for pattern in Pattern]),
        finish=key_of("finish", tables.finishes),
        channel=slug,
        climate=Built(lambda at: at.table("climate", _climate)),
        units=key_of("unit system", [units.value for units in Units]),
        payment=slug,
    )


def _climate(at: SettingsTable) -> Climate:
    found = record_of(at, Climate, room=None)
    if at.sound("low_rh", "high_rh") and found.low_rh_pct > found.high_rh_pct:
        given = f"low_rh is {found.low_rh_pct:g} %, high_rh is {found.high_rh_pct:g} %"
        at.fault("low_rh", "conflict", f"{given}. Give low_rh at most as large as high_rh.")
    return found


# What is bought -------------------------------------------------------------------------------------------------------


def _lumber(species: str, at: SettingsTable, tables: Tables) -> Lumber:
    thickness_class = key_of("lumber thickness", [known.name for known in tables.thickness_classes])
    return record_of(
        at,
        Lumber,
        species=known(species),
        price_m3={"price_per_m3": money(), "price_per_board_foot": money(per=BOARD_FOOT_M3)},
        classes=Built(lambda at: at.items("classes", thickness_class, least=1)),
        board_length=Built(lambda at: at.table("length", span(*bounds_of(Lumber, "board_length")))),
        board_width=Built(lambda at: at.table("width", span(*bounds_of(Lumber, "board_width")))),
        least_lot_m3={
            "least_m3": number(*bounds_of(Lumber, "least_lot_m3"), "m3"),
            "least_board_feet": _board_feet_m3,
        },
    )


def _board_feet_m3(value: object) -> float:
    return number(0, 4000, "board feet")(value) * float(BOARD_FOOT_M3)


def _sheet(at: SettingsTable, tables: Tables) -> SheetStock:
    material = key_of("sheet material", [sheet.material for sheet in tables.sheets])
    found = record_of(at, SheetStock, material=material)
    if at.sound("material", "thickness") and not tables.sheet(found.material, found.thickness_mm):
        known_mm = sorted(sheet.thickness_mm for sheet in tables.sheets if sheet.material == found.material)
        given = f"There is no {found.material} of {found.thickness_mm:g} mm in the tables"
        listed = ", ".join(f"{thickness_mm:g} mm" for thickness_mm in known_mm)
        at.fault("thickness", "unknown-sheet", f"{given}. Nominal thicknesses known, within 0.5 mm: {listed}.")
    return found


def _finish(key: str, at: SettingsTable) -> FinishOffer:
    per = {"price_per_litre": money(), "price_per_gallon": money(per=GALLON_L)}
    return record_of(at, FinishOffer, finish=known(key), price_l=per)


def _consumables(at: SettingsTable, tables: Tables) -> Consumables:
    return record_of(
        at,
        Consumables,
        adhesive=key_of("adhesive", tables.adhesives),
        adhesive_price_kg={"adhesive_price_per_kg": money(), "adhesive_price_per_lb": money(per=POUND_KG)},
        abrasive_price_m2={"abrasive_price_per_m2": money(), "abrasive_price_per_ft2": money(per=FOOT_M2)},
        abrasive_use=number(*bounds_of(Consumables, "abrasive_use"), "m2 of abrasive per m2 and grade"),
        tape_price_m={"tape_price_per_m": money(), "tape_price_per_ft": money(per=FOOT_M)},
    )


# How it is made -------------------------------------------------------------------------------------------------------


def _machines(at: SettingsTable) -> Machines:
    return record_of(
        at,
        Machines,
        blade_error_deg={"blade_error_deg": number(*bounds_of(Machines, "blade_error_deg"), "deg")},
        rate_h={"rate_per_hour": money()},
    )


def _labour(at: SettingsTable, tables: Tables) -> Labour:
    operation = key_of("operation", tables.operations)
    return record_of(
        at,
        Labour,
        rate_h={"rate_per_hour": money(positive=True)},
        hours=Built(lambda at: at.named("hours", operation, lambda _code, table: _operation_hours(table))),
        learning=share(*bounds_of(Labour, "learning")),
    )


def _operation_hours(at: SettingsTable) -> OwnHours:
    low, high = (share(*bounds_of(OwnHours, name)) for name in ("low", "high"))
    return record_of(at, OwnHours, low=low, high=high)


def _calendar(at: SettingsTable) -> Calendar:
    return record_of(
        at,
        Calendar,
        time_zone=time_zone,
        windows=Built(lambda at: at.table("hours", _week)),
        holidays=Built(lambda at: frozenset(at.items("holidays", day))),
        ship_weekdays=Built(lambda at: tuple(sorted(at.items("ship_on", weekday, least=1)))),
        booked=Built(lambda at: at.tables("booked", _booking)),
    )


def _booking(at: SettingsTable) -> Booking:
    """A share of each day, or so much of it."""
    taken = at.one_of({"share": _share_of_day, "hours": _minutes_of_day})
    first, last = at.read("from", day), at.read("to", day)
    if at.sound("from", "to") and last < first:
        at.fault("to", "conflict", f"to is {last}, from is {first}. Give to at or after from.")
    return Booking(first=first, last=last, taken=taken)


def _share_of_day(value: object) -> tuple[float, int]:
    return percent(1, 100)(value) / 100, 0


def _minutes_of_day(value: object) -> tuple[float, int]:
    return 0.0, round(hours(0.1, 24)(value) * 60)


def _workflow(at: SettingsTable, tables: Tables) -> Workflow:
    step = key_of("step of the build", tables.steps)
    after = Built(lambda at: at.table_or_empty("after", lambda table: _afters(table, tables, step)))
    return record_of(at, Workflow, after=after)


def _afters(at: SettingsTable, tables: Tables, step: Reader[str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What the steps named here wait for, in the order of the build."""
    given = ((code, at.items(code, step)) for code in tables.steps if at.gives(code))
    return tuple(given)


def _week(at: SettingsTable) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Working hours from Monday to Sunday; a weekday left out is free."""
    return tuple(at.read_or(name, working_windows, ()) for name in WEEKDAYS)


# How it is sold -------------------------------------------------------------------------------------------------------


def _price(at: SettingsTable) -> PriceRules:
    margin, markup = (reader_of(PriceRules, name) for name in ("margin_pct", "markup_pct"))
    profit = {"margin": margin, "markup": _no_margin(markup)}
    found = record_of(
        at,
        PriceRules,
        waste_high=share(*bounds_of(PriceRules, "waste_high")),
        margin_pct=Built(lambda at: _NONE if (found := at.one_of(profit)) is None else found),
        markup_pct=Built(lambda at: at.read("markup", markup) if at.sound("markup") else _NONE),
        price_step={"step": money(positive=True)},
        price_ending={"ending": money()},
        rush=Built(read_rush),
        cash_step=money(positive=True),
    )
    if at.sound("step", "ending") and found.price_ending >= found.price_step:
        detail = f"ending is {found.price_ending}, step is {found.price_step}. Give an ending below the step."
        at.fault("ending", "conflict", detail)
    return found


def _no_margin(markup: Reader[Decimal]) -> Reader[Decimal]:
    """The margin of a shop that gives a markup."""

    def read(value: object) -> Decimal:
        markup(value)
        return _NONE

    return read


def _key(at: SettingsTable) -> AccessKey:
    digest = {"sha256": secret_bytes(DIGEST_BYTES, DIGEST_BYTES)}
    return record_of(at, AccessKey, name=slug, salt=secret_bytes(*SALT_BYTES), digest=digest)
