"""A whole quote as one page of plain text, for the terminal, the wall of the workshop or a mail.

Shows what the tree holds: a customer's tree gives the customer's page. Decides looks, never numbers.
"""

from collections.abc import Iterator, Sequence

from chequerwork.render.explained import formulas_told, with_steps
from chequerwork.render.moved import moves_told
from chequerwork.render.page import INDENT, Tree, page_of, paragraph, section, table, words


def quote_page(tree: Tree) -> str:
    """The page of a quote.

    Parameters
    ----------
    tree
        Answer of ``/v1/quotes``, customer's or workshop's.

    Returns
    -------
    str
        Lines of at most ``WIDTH`` characters, each ended by a line feed.
    """
    lines = list(_head(tree["quote"]))
    explained = tree.get("explain", {})
    inside = "workshop" in tree["price"]
    for heading, name, body in (
        ("The board", "geometry", _board(tree)),
        ("Price", "" if inside else "price", _price(tree["price"])),
        ("Dates", "", _dates(tree["schedule"])),
        ("In the customer's rooms", "movement", _movement(tree["movement"])),
        ("Parcel", "packing", _parcel(tree["packing"])),
        ("Cut", "cutting", _cutting(tree)),
        ("Buy, for the whole order", "materials", _materials(tree)),
        ("Sand and finish, each board", "finishing", _finishing(tree)),
        ("Work plan", "schedule", _steps(tree["schedule"])),
        ("What it costs", "price", _costs(tree["price"])),
        ("Mind", "", _advice(tree["advice"])),
        ("Notices", "compliance", _notices(tree["compliance"])),
        ("Formulas", "", formulas_told(explained)),
    ):
        lines += section(heading, with_steps(list(body), explained.get(name, ())))
    return page_of(lines)


def _head(quote: Tree) -> Iterator[str]:
    yield f"{quote['shop_name']}: quote {quote['id']}"
    yield f"Issued {quote['issued_on']}, valid until {quote['valid_until']}"


def _board(tree: Tree) -> Iterator[str]:
    order, geometry = tree["order"], tree["geometry"]
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


def _frame(frame: Tree | None, sizes: Tree | None) -> Iterator[tuple[str, str]]:
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


def _base(base: Tree | None, sizes: Tree | None) -> Iterator[tuple[str, str]]:
    if base is not None and sizes is not None:
        panel = sizes["panel"]
        size = f"{panel['length_text']} x {panel['width_text']} x {base['thickness_text']}"
        yield "base", f"{words(base['material'])}, {size}"
        if base["skirt"]:
            yield "", f"skirt {words(base['skirt']['species'])}, {base['skirt']['width_text']}"
        if base["backing"]:
            yield "", f"backing {words(base['backing']['species'])}, {base['backing']['thickness_text']}"


def _fit(fit: Tree) -> Iterator[tuple[str, str]]:
    if fit["verdict"] is not None:
        suits = f"squares of {fit['square_low_text']} to {fit['square_high_text']} suit them"
        yield "pieces", f"{fit['verdict']}: fill ratio {fit['fill_ratio']:.2f}; {suits}"


def _price(price: Tree) -> Iterator[str]:
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


def _haste(rush: Tree | None, currency: str) -> Iterator[tuple[str, str]]:
    if rush is not None:
        soon = f"{rush['surcharge_pct']:g} % because it is wanted within {rush['within_days']} days"
        yield "", f"{currency} {rush['unit_amount']} of it for haste: {soon}"


def _deposit(deposit: Tree | None) -> Iterator[tuple[str, str]]:
    if deposit is not None:
        yield "deposit", f"{deposit['amount_text']}, {deposit['pct']:g} %, when the order is placed"
        yield "balance", f"{deposit['balance_text']} before it is sent"


def _dates(schedule: Tree) -> Iterator[str]:
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


def _movement(movement: Tree) -> Iterator[str]:
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


def _parcel(packing: Tree) -> Iterator[str]:
    for each in packing["consigned"]:
        carton, several = each["carton"], packing["parcels"] > 1 or each["boards"] > 1
        size = f"{carton['length_text']} x {carton['width_text']} x {carton['height_text']}"
        count = f"{each['count']} of " if several else ""
        boards = f", {each['boards']} boards in each" if each["boards"] > 1 else ""
        by = f", by {each['service']}" if each["service"] else ""
        yield from _entry(f"{count}{size}, {each['mass_text']}, billed as {each['billable_text']}{boards}{by}")


def _cutting(tree: Tree) -> Iterator[str]:
    cutting = tree.get("cutting")
    if cutting is None:
        return
    cuts = cutting["crosscuts"]
    parts = map(_part, cutting["parts"])
    yield from table([("part", "pieces", "role", "of", "rough", "final"), *parts])
    yield ""
    spare = f", {cuts['spare_bars']} of them to spare" if cuts["spare_bars"] else ""
    ends = f" (first and last {cuts['end_width_text']})" if cuts["end_width_mm"] != cuts["width_mm"] else ""
    yield f"{INDENT}Crosscut {cuts['cuts']} bars of {cuts['width_text']}{ends}{spare}; {cuts['kerf_text']} kerf."
    yield f"{INDENT}They need {cuts['length_needed_text']}, the strips have {cuts['length_allowed_text']}."
    ways = {"turn": "Turn every second bar end for end.", "shift": "Move every second bar by one square, then trim."}
    yield f"{INDENT}{ways[cutting['pattern']]}"
    yield ""
    yield from _glue_ups(cutting["glue_ups"])


def _glue_ups(found: Sequence[Tree]) -> Iterator[str]:
    rows = [
        (
            each["name"],
            str(each["joints"]),
            f"{each['joint_length_text']} x {each['joint_width_text']}",
            each["adhesive_text"],
            each["force_text"],
            str(each["clamps"]),
            " ".join(each["preparation"]),
        )
        for each in found
    ]
    yield from table([("glue", "joints", "longest", "adhesive", "force", "clamps", "before"), *rows])


def _part(part: Tree) -> Sequence[str]:
    sizes = part["rough"]["text"], part["final"]["text"]
    return part["id"], str(part["count"]), part["role"], words(part["species"]), *sizes


def _materials(tree: Tree) -> Iterator[str]:
    materials = tree.get("materials")
    if materials is None:
        return
    rows = [(words(t["species"]), f"{t['gross_m3']:.4f} m3", _board_feet(t), t["cost"]) for t in materials["timber"]]
    rows += [(m["item"], m["quantity_text"], m["note"], m["cost"]) for m in materials["lines"]]
    yield from table([("what", "how much", "", f"cost, {_own_currency(tree['price'])}"), *rows])


def _own_currency(price: Tree) -> str:
    """The shop's: what it buys is not in the currency of a foreign quote."""
    exchange = price["workshop"]["exchange"]
    return str(exchange["from"] if exchange else price["currency"])


def _board_feet(timber: Tree) -> str:
    return f"{timber['gross_board_feet']:.1f} board feet, charged as {timber['board_feet']:g}"


def _finishing(tree: Tree) -> Iterator[str]:
    finishing = tree.get("finishing")
    if finishing is None:
        return
    for side in ("top", "underside"):
        yield f"{INDENT}{side}: {', '.join(step['grade'] for step in finishing['sanding'][side])}"
    coats = finishing["coats"]
    yield f"{INDENT}{len(coats)} coats of {coats[0]['finish_ml']:g} ml on {finishing['area_m2']:g} m2"


def _steps(schedule: Tree) -> Iterator[str]:
    steps = schedule.get("steps")
    if steps is None:
        return
    hours, ready = schedule["hands_on_h"], schedule["ready"]
    rows = [
        (
            _clock(step["starts_at"]),
            f"{step['hands_on_min']} min",
            _length(step["waiting_min"]),
            "decides" if step["critical"] else _length(step["float_min"]),
            step["title"],
        )
        for step in steps
    ]
    yield from table([("begins", "hands on", "then wait", "may slip", ""), *rows])
    yield f"{INDENT}{hours['expected']:g} h expected; one order of five takes more than {hours['p80']:g} h"
    days = f"{ready['p50']} in one order of two, {ready['p80']} in four of five, {ready['p95']} in 19 of 20"
    yield f"{INDENT}Ready by {days}"
    yield f"{INDENT}Clock of {schedule['time_zone']}"
    for way in schedule["remedies"]:
        day = f"{way['boards']} leave on {way['ships_on']}"
        yield from _entry(f"{'In time' if way['feasible'] else 'Sooner'}: {way['text']} {day}.")


def _clock(moment: str) -> str:
    return moment[:16].replace("T", " ")


def _length(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return " ".join(filter(None, (f"{hours} h" if hours else "", f"{rest} min" if rest else "")))


def _costs(price: Tree) -> Iterator[str]:
    inside = price.get("workshop")
    if inside is None:
        return
    yield from _build_up(inside)
    exchange = inside["exchange"]
    if exchange is not None:
        rate = f"{exchange['rate']} {price['currency']} for one {exchange['from']}"
        yield f"{INDENT}At {rate}, {exchange['on']}: {exchange['source']}"
    if "sensitivity" in inside:
        yield from moves_told(inside["sensitivity"], INDENT)


def _build_up(inside: Tree) -> Iterator[str]:
    risk = inside["risk"]
    yield from table(
        [
            *((cost["title"], cost["amount"]) for cost in inside["costs"]),
            ("sum", inside["cost_total"]),
            *_fees(inside),
            (
                f"margin, {inside['margin_pct']:g} % of the price, {inside['markup_pct']:g} % of the cost",
                inside["margin_total"],
            ),
            *_discount(inside["discount"]),
            ("never below, without tax", inside["floor_total"]),
            ("cost in one order of five", risk["p80"]),
            ("cost in one of twenty", risk["p95"]),
            *_from_stock(inside.get("from_stock")),
        ],
        right=(1,),
    )


def _fees(inside: Tree) -> Iterator[tuple[str, str]]:
    yield f"fees of {inside['fees']['channel']}", inside["fees"]["amount"]
    if inside["payment_fees"] is not None:
        yield f"fees of {inside['payment_fees']['payment']}", inside["payment_fees"]["amount"]


def _discount(found: Tree | None) -> Iterator[tuple[str, str]]:
    if found is not None:
        yield f"margin after {found['pct']:g} % off, {found['margin_pct']:g} %", found["margin_total"]


def _from_stock(found: Tree | None) -> Iterator[tuple[str, str]]:
    if found is not None:
        yield f"wood by the stock plan, {found['lumber_allowed']} allowed", found["lumber_cost"]
        yield f"margin with that wood, {found['margin_pct']:g} %", found["margin_total"]


def _advice(found: Sequence[Tree]) -> Iterator[str]:
    for finding in found:
        yield from _entry(f"{finding['severity']}: {finding['text']}")


def _notices(compliance: Tree) -> Iterator[str]:
    for notice in compliance["notices"]:
        coming = f", from {notice['applies_from']}" if notice["status"] == "coming" else ""
        yield from _entry(f"{notice['subject']} ({notice['severity']}{coming}): {notice['text']}")


def _entry(text: str) -> list[str]:
    return paragraph(text, further=INDENT * 2)
