"""What a shop file holds: one short function per table of the file, one line per setting.

To add a setting, add its line here, its field in ``domain.basics.shop`` and its commented line in both demo shops.
The limits refuse slips of the pen (a kerf of 32 mm), not taste; they are our own, common practice, no source.
"""

from collections.abc import Mapping
from decimal import Decimal

from chequerwork.domain.basics.bounds import MOST_BOARDS
from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.shop import (
    AccessKey,
    Booking,
    Calendar,
    Climate,
    Consumables,
    Defaults,
    FinishOffer,
    KeyRole,
    Labour,
    LearningForm,
    Lumber,
    Machines,
    OwnHours,
    PriceRules,
    Promise,
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
    choice,
    code_of,
    day,
    flag,
    force,
    hours,
    key_of,
    length,
    mass,
    money,
    number,
    origin,
    percent,
    plain_text,
    rate,
    secret_bytes,
    share,
    slug,
    span,
    temperature,
    timber,
    time_zone,
    weekday,
    whole,
    working_windows,
)
from chequerwork.shop.section import Reader, Section
from chequerwork.shop.selling import read_channel, read_exchange, read_payment, read_rush, read_tax
from chequerwork.writing import locale_of

MOST_HOURS = 40.0  # of an operation's setup, and of one unit
CLAMP_FORCE_N = 4500.0  # of a bar clamp tightened by hand, where a shop does not say (common practice, no source)
SALT_BYTES = (16, 64)
DIGEST_BYTES = 32  # SHA-256
_NO_PROFIT: Mapping[str, Decimal] = {"margin_pct": Decimal(0), "markup_pct": Decimal(0)}  # stands in for a hole


def read_shop(at: Section, tables: Tables) -> Shop:
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
        defaults=at.table("defaults", lambda section: _defaults(section, tables)),
        ranges=at.table("ranges", _ranges),
        workshop_climate=at.table("workshop_climate", _climate),
        lumber=at.named(
            "lumber",
            timber(tables),
            lambda species, section: _lumber(species, section, tables),
            least=2,
        ),
        sheets=at.tables("sheets", lambda section: _sheet(section, tables)),
        rack=at.table_or_empty("stock", lambda section: read_rack(section, tables)),
        finishes=at.named("finishes", key_of("finish", tables.finishes), _finish, least=1),
        machines=at.table("machines", _machines),
        consumables=at.table("consumables", lambda section: _consumables(section, tables)),
        labour=at.table("labour", lambda section: _labour(section, tables)),
        calendar=at.table("calendar", _calendar),
        price=at.table("price", _price),
        channels=at.named("channels", slug, lambda key, section: read_channel(key, section, country), least=1),
        payments=at.named("payments", slug, read_payment),
        tax=at.table("tax", lambda section: read_tax(section, country)),
        exchange=read_exchange(at, currencies),
        locale=at.read_or("locale", locale_of, None),
        zones=tuple(at.named("zones", slug, lambda key, section: read_zone(key, section, country), least=1).values()),
        packing=at.table("packing", lambda section: read_packing(section, tables)),
        keys=at.tables("keys", _key),
        workflow=at.table_or_empty("work", lambda section: _workflow(section, tables)),
    )


# -- the boards --------------------------------------------------------------------------------------------------


def _defaults(at: Section, tables: Tables) -> Defaults:
    return Defaults(
        thickness_mm=at.read("thickness", length(3, 100)),
        pattern=at.read("pattern", key_of("pattern", [pattern.value for pattern in Pattern])),
        finish=at.read("finish", key_of("finish", tables.finishes)),
        channel=at.read("channel", slug),
        frame_thickness_mm=at.read_or("frame_thickness", length(6, 100), None),
        climate=at.table("climate", _climate),
        units=at.read("units", key_of("unit system", [units.value for units in Units])),
        payment=at.read_or("payment", slug, None),
    )


def _climate(at: Section) -> Climate:
    found = Climate(
        low_rh_pct=at.read("low_rh", percent(5, 95)),
        high_rh_pct=at.read("high_rh", percent(5, 95)),
        temperature_c=at.read("temperature", temperature(0, 45)),
    )
    if at.sound("low_rh", "high_rh") and found.low_rh_pct > found.high_rh_pct:
        given = f"low_rh is {found.low_rh_pct:g} %, high_rh is {found.high_rh_pct:g} %"
        at.fault("low_rh", "conflict", f"{given}. Give low_rh at most as large as high_rh.")
    return found


def _ranges(at: Section) -> Ranges:
    return Ranges(
        square=at.table("square", span(8, 200)),
        thickness=at.table("thickness", span(3, 100)),
        frame_width=at.table("frame_width", span(5, 300)),
        line_width=at.table("line_width", span(0.4, 30)),
        backing=at.table("backing", span(0.4, 30)),
        outside_mm=at.read("outside", length(100, 3000)),
        quantity=at.read("quantity", whole(1, MOST_BOARDS)),
    )


# -- what is bought ----------------------------------------------------------------------------------------------


def _lumber(species: str, at: Section, tables: Tables) -> Lumber:
    thickness_class = key_of("lumber thickness", [known.name for known in tables.thickness_classes])
    return Lumber(
        species=species,
        price_m3=at.one_of(
            {"price_per_m3": money(), "price_per_board_foot": money(per=BOARD_FOOT_M3)},
        ),
        classes=at.items("classes", thickness_class, least=1),
        board_length=at.table("length", span(200, 8000)),
        board_width=at.table("width", span(40, 1000)),
        grain=at.read("grain", choice("grain", Grain)),
        yield_pct=at.read("yield", percent(10, 100)),
        least_lot_m3=at.one_of_or({"least_m3": number(0, 10, "m3"), "least_board_feet": _board_feet_m3}, 0.0),
    )


def _board_feet_m3(value: object) -> float:
    return number(0, 4000, "board feet")(value) * float(BOARD_FOOT_M3)


def _sheet(at: Section, tables: Tables) -> SheetStock:
    found = SheetStock(
        material=at.read("material", key_of("sheet material", [sheet.material for sheet in tables.sheets])),
        thickness_mm=at.read("thickness", length(1, 60)),
        price=at.read("price", money()),
    )
    if at.sound("material", "thickness") and not tables.sheet(found.material, found.thickness_mm):
        known = sorted(sheet.thickness_mm for sheet in tables.sheets if sheet.material == found.material)
        given = f"There is no {found.material} of {found.thickness_mm:g} mm in the tables"
        listed = ", ".join(f"{thickness_mm:g} mm" for thickness_mm in known)
        at.fault("thickness", "unknown-sheet", f"{given}. Nominal thicknesses known, within 0.5 mm: {listed}.")
    return found


def _finish(key: str, at: Section) -> FinishOffer:
    per = {"price_per_litre": money(), "price_per_gallon": money(per=GALLON_L)}
    return FinishOffer(finish=key, price_l=at.one_of(per))


def _consumables(at: Section, tables: Tables) -> Consumables:
    return Consumables(
        adhesive=at.read("adhesive", key_of("adhesive", tables.adhesives)),
        adhesive_price_kg=at.one_of(
            {"adhesive_price_per_kg": money(), "adhesive_price_per_lb": money(per=POUND_KG)},
        ),
        adhesive_waste_pct=at.read("adhesive_waste", percent(0, 200)),
        finish_waste_pct=at.read("finish_waste", percent(0, 200)),
        abrasive_price_m2=at.one_of(
            {"abrasive_price_per_m2": money(), "abrasive_price_per_ft2": money(per=FOOT_M2)},
        ),
        abrasive_use=at.read("abrasive_use", number(0, 5, "m2 of abrasive per m2 and grade")),
        foot_price=at.read("foot_price", money()),
        foot_height_mm=at.read("foot_height", length(0.5, 100)),
        foot_diameter_mm=at.read("foot_diameter", length(3, 150)),
        foot_mass_g=at.read("foot_mass", mass(0, 1000)),
        tape_price_m=at.one_of({"tape_price_per_m": money(), "tape_price_per_ft": money(per=FOOT_M)}),
        label_price=at.read("label_price", money()),
    )


# -- how it is made ----------------------------------------------------------------------------------------------


def _machines(at: Section) -> Machines:
    return Machines(
        kerf_rip_mm=at.read("kerf_rip", length(0.3, 8)),
        kerf_crosscut_mm=at.read("kerf_crosscut", length(0.3, 8)),
        jointer_width_mm=at.read("jointer_width", length(50, 1000)),
        jointer_min_length_mm=at.read("jointer_min_length", length(50, 1000)),
        thicknesser_width_mm=at.read("thicknesser_width", length(100, 1500)),
        thicknesser_min_length_mm=at.read("thicknesser_min_length", length(50, 1000)),
        thicknesser_min_thickness_mm=at.read("thicknesser_min_thickness", length(0.5, 30)),
        crosscut_capacity_mm=at.read("crosscut_capacity", length(100, 4000)),
        rough_length_mm=at.read("rough_length", length(0, 100)),
        rough_width_mm=at.read("rough_width", length(0, 50)),
        planing_face_mm=at.read("planing_face", length(0, 10)),
        flattening_mm=at.read("flattening", length(0, 10)),
        jointing_edge_mm=at.read("jointing_edge", length(0, 10)),
        dressing_mm=at.read("dressing", length(0, 5)),
        squaring_mm=at.read("squaring", length(0, 100)),
        end_trim_mm=at.read("end_trim", length(0, 300)),
        spare_bars=at.read("spare_bars", whole(0, 8)),
        strip_tolerance_mm=at.read("strip_tolerance", length(0.005, 2)),
        blade_error_deg=at.read("blade_error_deg", number(0, 2, "deg")),
        clamp_force_n=at.read_or("clamp_force", force(100, 50_000), CLAMP_FORCE_N),
        clamps=at.read_or("clamps", whole(1, 1000), None),
        presses=at.read_or("presses", whole(1, 50), None),
        rate_h=at.read_or("rate_per_hour", money(), Decimal(0)),
    )


def _labour(at: Section, tables: Tables) -> Labour:
    operation = key_of("operation", tables.operations)
    return Labour(
        rate_h=at.read("rate_per_hour", money(positive=True)),
        pace=at.read("pace", number(0.2, 5)),
        correlation=at.read("correlation", number(0, 1)),
        hours=at.named("hours", operation, lambda _code, section: _operation_hours(section)),
        learning=at.read_or("learning", share(50, 100), 1.0),
        learning_form=at.read_or("learning_form", choice("form of learning", LearningForm), _WRIGHT),
    )


def _operation_hours(at: Section) -> OwnHours:
    return OwnHours(
        setup_h=at.read("setup", hours(0, MOST_HOURS)),
        unit_h=at.read("unit", hours(0, MOST_HOURS)),
        low=at.read_or("low", share(1, 100), None),
        high=at.read_or("high", share(100, 1000), None),
    )


_WRIGHT = LearningForm.CUMULATIVE_AVERAGE


def _calendar(at: Section) -> Calendar:
    return Calendar(
        time_zone=at.read("time_zone", time_zone),
        windows=at.table("hours", _week),
        holidays=frozenset(at.items("holidays", day)),
        free_from=at.read_or("free_from", day, None),
        ship_weekdays=tuple(sorted(at.items("ship_on", weekday, least=1))),
        holds_at=at.read_or("holds_at", choice("promise", Promise), Promise.EXPECTED),
        hands=at.read_or("hands", whole(1, 20), 1),
        booked=at.tables("booked", _booking),
    )


def _booking(at: Section) -> Booking:
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


def _workflow(at: Section, tables: Tables) -> Workflow:
    step = key_of("step of the build", tables.steps)
    after = at.table_or_empty("after", lambda section: _afters(section, tables, step))
    return Workflow(acclimatise_days=at.read_or("acclimatise_days", whole(0, 60), 0), after=after)


def _afters(at: Section, tables: Tables, step: Reader[str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """What the steps named here wait for, in the order of the build."""
    given = ((code, at.items(code, step)) for code in tables.steps if at.gives(code))
    return tuple(given)


def _week(at: Section) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Working hours from Monday to Sunday; a weekday left out is free."""
    return tuple(at.read_or(name, working_windows, ()) for name in WEEKDAYS)


# -- how it is sold ----------------------------------------------------------------------------------------------


def _price(at: Section) -> PriceRules:
    found = PriceRules(
        overhead_pct=at.read("overhead", rate(0, 500)),
        waste_pct=at.read("waste", rate(0, 200)),
        waste_high=at.read_or("waste_high", share(120, 600), 2.5),
        **at.one_of({"margin": _margin, "markup": _markup}) or _NO_PROFIT,
        price_step=at.read("step", money(positive=True)),
        price_ending=at.read("ending", money()),
        valid_days=at.read("valid_days", whole(1, 365)),
        holds_at=at.read_or("holds_at", choice("promise", Promise), Promise.EXPECTED),
        discount_pct=at.read_or("discount", rate(0, 90), Decimal(0)),
        deposit_pct=at.read_or("deposit", rate(0, 100), Decimal(0)),
        rush=read_rush(at),
        cash_step=at.read_or("cash_step", money(positive=True), None),
    )
    if at.sound("step", "ending") and found.price_ending >= found.price_step:
        detail = f"ending is {found.price_ending}, step is {found.price_step}. Give an ending below the step."
        at.fault("ending", "conflict", detail)
    return found


def _margin(value: object) -> Mapping[str, Decimal]:
    return {"margin_pct": rate(0, 95)(value), "markup_pct": Decimal(0)}


def _markup(value: object) -> Mapping[str, Decimal]:
    return {"margin_pct": Decimal(0), "markup_pct": rate(0, 1000)(value)}


def _key(at: Section) -> AccessKey:
    return AccessKey(
        name=at.read("name", slug),
        role=at.read("role", choice("role", KeyRole)),
        salt=at.read("salt", secret_bytes(*SALT_BYTES)),
        digest=at.read("sha256", secret_bytes(DIGEST_BYTES, DIGEST_BYTES)),
    )
