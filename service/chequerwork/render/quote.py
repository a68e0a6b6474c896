"""A whole quote as one page of plain text, for the terminal, the wall of the workshop or a mail.

Shows what the answer holds: a customer's answer gives the customer's page. Decides looks, never numbers. The private
types name the keys of the answer that are read here; ``tests/contract`` holds them to the contract.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import NotRequired, TypedDict

from chequerwork.render.explained import formulas_told, with_steps
from chequerwork.render.page import INDENT, Tree, page_of, paragraph, section, table, words
from chequerwork.render.quote_workshop import (
    BuildUpTree,
    CuttingTree,
    FinishingTree,
    MaterialsTree,
    WorkPlanTree,
    bill_of_materials,
    costs,
    cut_list,
    own_currency,
    sand_and_finish,
    work_plan,
)

# The board ------------------------------------------------------------------------------------------------------------


class _Line(TypedDict):
    species: str
    width_text: str


class _OrderedFrame(TypedDict):
    species: str
    joint: str
    hold: str
    bevel_text: str
    bevel_mm: float


class _Backing(TypedDict):
    species: str
    thickness_text: str


class _OrderedBase(TypedDict):
    material: str
    thickness_text: str
    skirt: _Line | None
    backing: _Backing | None


class _Order(TypedDict):
    quantity: int
    feet: int
    light: str
    dark: str
    finish: str
    lines: Sequence[_Line]
    frame: _OrderedFrame | None
    base: _OrderedBase | None


class _Area(TypedDict):
    length_text: str
    width_text: str


class _Box(_Area):
    height_text: str


class _Rail(TypedDict):
    side: str
    count: int
    width_text: str
    thickness_text: str
    long_point_text: str
    short_point_text: str


class _Rails(TypedDict):
    rails: Sequence[_Rail]
    clearance_text: str
    tongue_text: str
    tongue_thickness_text: str
    lap_text: str
    hidden_text: str
    tongue_mm: float
    lap_mm: float


class _BaseSizes(TypedDict):
    panel: _Area


class _Fit(TypedDict):
    verdict: str | None
    square_low_text: str | None
    square_high_text: str | None
    fill_ratio: float | None


class _Geometry(TypedDict):
    columns: int
    rows: int
    square_text: str
    thickness_text: str
    mass_text: str
    mass_half_range_text: str
    field: _Area
    overall: _Box
    frame: _Rails | None
    base: _BaseSizes | None
    fit: _Fit


def _board(order: _Order, geometry: _Geometry) -> Iterator[str]:
    overall, field = geometry["overall"], geometry["field"]
    yield from table(
        [
            ("boards", str(order["quantity"])),
            ("squares", f"{geometry['columns']} x {geometry['rows']} of {geometry['square_text']}"),
            ("timbers", f"{words(order['light'])} and {words(order['dark'])}, {geometry['thickness_text']} thick"),
            ("field", f"{field['length_text']} along the grain x {field['width_text']}"),
            *(("line", f"{words(line['species'])}, {line['width_text']}") for line in order["lines"]),
            *_frame(order["frame"], geometry["frame"]),
            *_base(order["base"], geometry["base"]),
            ("outside", f"{overall['length_text']} x {overall['width_text']} x {overall['height_text']} high"),
            ("mass", f"{geometry['mass_text']}, give or take {geometry['mass_half_range_text']}"),
            ("finish", f"{words(order['finish'])}, {order['feet'] or 'no'} feet"),
            *_fit(geometry["fit"]),
        ]
    )


def _frame(frame: _OrderedFrame | None, sizes: _Rails | None) -> Iterator[tuple[str, str]]:
    if frame is None or sizes is None:
        return
    yield "frame", f"{words(frame['species'])}, {frame['joint']} joints, field {frame['hold']}"
    for rail in sizes["rails"]:
        size = f"{rail['width_text']} x {rail['thickness_text']}"
        points = f"long point {rail['long_point_text']}, short point {rail['short_point_text']}"
        yield "", f"{rail['count']} along the {rail['side']}: {size}, {points}"
    if frame["bevel_mm"]:
        yield "", f"{frame['bevel_text']} bevel off the outer upper edge, at 45 degrees"
    if frame["joint"] == "mitre":
        yield "", "ends at 45 degrees"
    if sizes["lap_mm"]:
        deep, high = sizes["tongue_text"], sizes["tongue_thickness_text"]
        yield "", f"groove {deep} deep, {high} high, {sizes['clearance_text']} of it left free on each side"
        yield "", f"lip laps over the field by {sizes['lap_text']}: {sizes['hidden_text']} of the outer squares hidden"
    elif sizes["tongue_mm"]:
        long, thick = sizes["tongue_text"], sizes["tongue_thickness_text"]
        yield "", f"tongue {long} long, {thick} thick, {sizes['clearance_text']} clearance on each side"
        yield "", f"groove {long} deep, {thick} high, at the middle of the field's edge"


def _base(base: _OrderedBase | None, sizes: _BaseSizes | None) -> Iterator[tuple[str, str]]:
    if base is not None and sizes is not None:
        panel = sizes["panel"]
        size = f"{panel['length_text']} x {panel['width_text']} x {base['thickness_text']}"
        yield "base", f"{words(base['material'])}, {size}"
        if base["skirt"]:
            yield "", f"skirt {words(base['skirt']['species'])}, {base['skirt']['width_text']}"
        if base["backing"]:
            yield "", f"backing {words(base['backing']['species'])}, {base['backing']['thickness_text']}"


def _fit(fit: _Fit) -> Iterator[tuple[str, str]]:
    if fit["verdict"] is not None:
        suits = f"squares of {fit['square_low_text']} to {fit['square_high_text']} suit them"
        yield "pieces", f"{fit['verdict']}: fill ratio {fit['fill_ratio']:.2f}; {suits}"


# Price and dates ------------------------------------------------------------------------------------------------------


class _Rush(TypedDict):
    within_days: int
    surcharge_pct: float
    unit_amount: str


class _Deposit(TypedDict):
    pct: float
    amount_text: str
    balance_text: str


class _Price(TypedDict):
    currency: str
    tax_name: str
    tax_paid_by: str
    quantity: int
    tax_pct: float
    total_cash: str | None
    unit_gross_text: str
    unit_net_text: str
    shipping_gross_text: str
    shipping_text: str
    tax_text: str
    total_text: str
    rush: _Rush | None
    deposit: _Deposit | None
    workshop: NotRequired[BuildUpTree]


def _price(price: _Price) -> Iterator[str]:
    tax = f"{price['tax_name']} {price['tax_pct']:g} % in it" if price["tax_pct"] else "no tax in it"
    paid_by = ", which the place of sale collects" if price["tax_paid_by"] == "channel" else ""
    told = f"{price['tax_text']} {tax}{paid_by}"
    total, currency = price["total_text"], price["currency"]
    code = "" if currency in total else f" ({currency})"  # a sign such as $ may be of several currencies
    yield from table(
        [
            ("each", f"{price['unit_gross_text']} with tax, {price['unit_net_text']} without"),
            *_haste(price["rush"], currency),
            ("shipping", f"{price['shipping_gross_text']} with tax, {price['shipping_text']} without"),
            ("total", f"{total}{code} for {price['quantity']}, {told}"),
            *([("in cash", f"{currency} {price['total_cash']}")] if price["total_cash"] else []),
            *_deposit(price["deposit"]),
        ]
    )


def _haste(rush: _Rush | None, currency: str) -> Iterator[tuple[str, str]]:
    if rush is not None:
        soon = f"{rush['surcharge_pct']:g} % because it is wanted within {rush['within_days']} days"
        yield "", f"{currency} {rush['unit_amount']} of it for haste: {soon}"


def _deposit(deposit: _Deposit | None) -> Iterator[tuple[str, str]]:
    if deposit is not None:
        yield "deposit", f"{deposit['amount_text']}, {deposit['pct']:g} %, when the order is placed"
        yield "balance", f"{deposit['balance_text']} before it is sent"


class _Schedule(WorkPlanTree):
    starts_on: str
    ready_on: str
    ships_on: str
    cured_on: str
    wanted_by: str | None
    spare_days: int | None


def _dates(schedule: _Schedule) -> Iterator[str]:
    rows = [
        ("work starts", schedule["starts_on"]),
        ("ready", schedule["ready_on"]),
        ("leaves", schedule["ships_on"]),
        ("fully cured", schedule["cured_on"]),
    ]
    days = schedule["spare_days"]
    if days is not None:
        spare = f"{days} days in hand" if days >= 0 else f"{-days} days too late"
        rows.append(("wanted by", f"{schedule['wanted_by']}: {spare}"))
    yield from table(rows)


# Rooms, parcel, notices -----------------------------------------------------------------------------------------------


class _FieldMovement(TypedDict):
    shrink_text: str
    swell_text: str


class _Judged(TypedDict):
    verdict: str
    text: str


class _Movement(TypedDict):
    emc_build_pct: float
    emc_low_pct: float
    emc_high_pct: float
    field: _FieldMovement
    verdict: str
    reasons: Sequence[_Judged]
    remedies: Sequence[_Judged]


def _movement(movement: _Movement) -> Iterator[str]:
    low, high = movement["emc_low_pct"], movement["emc_high_pct"]
    field = movement["field"]
    yield from table(
        [
            ("verdict", movement["verdict"]),
            ("moisture", f"{movement['emc_build_pct']:g} % when built, {low:g} to {high:g} % in use"),
            ("across", f"shrinks {field['shrink_text']}, swells {field['swell_text']}; the tables vary by a quarter"),
            *((reason["verdict"], reason["text"]) for reason in movement["reasons"]),
            *((f"then {remedy['verdict']}", remedy["text"]) for remedy in movement["remedies"]),
        ]
    )


class _Consigned(TypedDict):
    count: int
    boards: int
    carton: _Box
    mass_text: str
    billable_text: str
    service: str | None


class _Packing(TypedDict):
    parcels: int
    consigned: Sequence[_Consigned]


def _parcel(packing: _Packing) -> Iterator[str]:
    for each in packing["consigned"]:
        carton, several = each["carton"], packing["parcels"] > 1 or each["boards"] > 1
        size = f"{carton['length_text']} x {carton['width_text']} x {carton['height_text']}"
        count = f"{each['count']} of " if several else ""
        boards = f", {each['boards']} boards in each" if each["boards"] > 1 else ""
        by = f", by {each['service']}" if each["service"] else ""
        yield from _entry(f"{count}{size}, {each['mass_text']}, billed as {each['billable_text']}{boards}{by}")


class _Finding(TypedDict):
    severity: str
    text: str


def _advice(found: Sequence[_Finding]) -> Iterator[str]:
    for advice in found:
        yield from _entry(f"{advice['severity']}: {advice['text']}")


class _Notice(TypedDict):
    subject: str
    severity: str
    text: str
    status: str
    applies_from: str | None


class _Compliance(TypedDict):
    notices: Sequence[_Notice]


def _notices(compliance: _Compliance) -> Iterator[str]:
    for notice in compliance["notices"]:
        coming = f", from {notice['applies_from']}" if notice["status"] == "coming" else ""
        yield from _entry(f"{notice['subject']} ({notice['severity']}{coming}): {notice['text']}")


def _entry(text: str) -> list[str]:
    return paragraph(text, further=INDENT * 2)


# The page -------------------------------------------------------------------------------------------------------------


class _Identity(TypedDict):
    shop_name: str
    id: str
    issued_on: str
    valid_until: str


class QuoteTree(TypedDict):
    """An answer of ``/v1/quotes``, as far as it is printed; what only a maker sees is left out for a customer."""

    quote: _Identity
    order: _Order
    geometry: _Geometry
    movement: _Movement
    schedule: _Schedule
    packing: _Packing
    compliance: _Compliance
    price: _Price
    advice: Sequence[_Finding]
    cutting: NotRequired[CuttingTree]
    materials: NotRequired[MaterialsTree]
    finishing: NotRequired[FinishingTree]
    explain: NotRequired[Mapping[str, Sequence[Tree]]]


def quote_page(answer: QuoteTree) -> str:
    """The page of a quote.

    Parameters
    ----------
    answer
        Of ``/v1/quotes``, customer's or workshop's.

    Returns
    -------
    str
        Lines of at most ``WIDTH`` characters, each ended by a line feed.
    """
    lines = list(_head(answer["quote"]))
    explained = answer.get("explain", {})
    for heading, name, body in _sections(answer):
        lines += section(heading, with_steps(list(body), explained.get(name, ())))
    return page_of([*lines, *section("Formulas", formulas_told(explained))])


def _sections(answer: QuoteTree) -> Iterator[tuple[str, str, Iterator[str]]]:
    """Headings, the sections whose explanation stands below them, and what they say."""
    price, schedule, inside = answer["price"], answer["schedule"], answer["price"].get("workshop")
    yield "The board", "geometry", _board(answer["order"], answer["geometry"])
    yield "Price", "" if inside else "price", _price(price)
    yield "Dates", "", _dates(schedule)
    yield "In the customer's rooms", "movement", _movement(answer["movement"])
    yield "Parcel", "packing", _parcel(answer["packing"])
    if inside:
        yield "Cut", "cutting", cut_list(answer["cutting"])
        currency = own_currency(inside, price["currency"])
        yield "Buy, for the whole order", "materials", bill_of_materials(answer["materials"], currency)
        yield "Sand and finish, each board", "finishing", sand_and_finish(answer["finishing"])
        yield "Work plan", "schedule", work_plan(schedule)
        yield "What it costs", "price", costs(inside, price["currency"])
    yield "Mind", "", _advice(answer["advice"])
    yield "Notices", "compliance", _notices(answer["compliance"])


def _head(quote: _Identity) -> Iterator[str]:
    yield f"{quote['shop_name']}: quote {quote['id']}"
    yield f"Issued {quote['issued_on']}, valid until {quote['valid_until']}"
