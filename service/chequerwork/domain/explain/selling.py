"""Parcel, notices and price explained. Of the price a customer is told the tax and the total, the maker all."""

from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from chequerwork.domain.advice import Audience
from chequerwork.domain.amounts import (
    HUNDRED,
    cost_if_longer,
    each_board,
    fee_share,
    fee_taken,
    for_boards,
    gross_of,
    gross_up,
    kept_of,
    margin_pct,
    money,
    net_inside,
    order_tax,
    order_total,
    percent_of,
    price_end,
    round_money,
    sum_of_money,
    taxed,
)
from chequerwork.domain.explain.steps import Inputs, Ledger, Place
from chequerwork.domain.packing import (
    billable_kg,
    carton_area_m2,
    carton_side_mm,
    cushion_m3,
    dimensional_kg,
    is_flat,
    length_plus_girth_mm,
    packing_cost,
    parcel_kg,
)
from chequerwork.domain.plan import Plan
from chequerwork.domain.shop import Channel, FeeBase, TaxRegime


def packing(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Carton, mass, what is billed, girth and shape."""
    rules, geometry, at = plan.shop.packing, plan.geometry, ledger.at
    board = geometry.outer_mm
    sides = []
    for name, side_mm in zip(("length_mm", "width_mm", "height_mm"), board, strict=True):
        around = {"clearance_mm": rules.clearance_mm, "wall_mm": rules.wall_mm}
        sides.append(at("carton", name)(carton_side_mm, board_side_mm=side_mm, **around))
    sides_mm = tuple(sides)
    carton_m2 = at("mass_kg", part="carton")(carton_area_m2, sides_mm=sides_mm)
    filled_m3 = at("mass_kg", part="cushioning")(cushion_m3, sides_mm=sides_mm, wall_mm=rules.wall_mm, board_mm=board)
    packed_kg = at("mass_kg")(
        parcel_kg,
        board_kg=geometry.mass_kg,
        carton_m2=carton_m2,
        carton_kg_m2=rules.carton_kg_m2,
        cushion_m3=filled_m3,
        cushion_kg_m3=rules.cushion_kg_m3,
    )
    size_kg = at("dimensional_kg")(dimensional_kg, sides_mm=sides_mm, divisor_cm3_kg=rules.divisor_cm3_kg)
    at("billable_kg")(billable_kg, mass_kg=packed_kg, dimensional_kg=size_kg, step_kg=rules.round_up_kg)
    at("length_plus_girth_mm")(length_plus_girth_mm, sides_mm=sides_mm)
    at("flat")(is_flat, sides_mm=sides_mm)


# Price ----------------------------------------------------------------------------------------------------------------


def price(plan: Plan, ledger: Ledger, caller: Audience) -> None:
    """Tax and total; for the maker also costs, the net price they ask for, fees, margin and risk."""
    workshop = caller is Audience.WORKSHOP
    if workshop:
        _costs(plan, ledger)
        _wanted(plan, ledger)
    _tax(plan, ledger)
    if workshop:
        _kept(plan, ledger)
        _risk(plan, ledger)


def _tax(plan: Plan, ledger: Ledger) -> None:
    found, at = plan.price, ledger.at
    tax, exponent = found.tax_pct / HUNDRED, _exponent(plan)
    unit_net, unit_gross = found.unit_net, found.unit_gross
    if found.regime is TaxRegime.INCLUDED:
        unit_net = at("unit_net")(net_inside, gross=unit_gross, tax=tax, exponent=exponent)
    else:
        unit_gross = at("unit_gross")(gross_of, net=unit_net, tax=tax, exponent=exponent)
    shipping = found.shipping
    shipping_gross = at("shipping_gross")(gross_of, net=shipping, tax=tax, exponent=exponent)
    units: Inputs = {"quantity": found.quantity, "unit_net": unit_net, "shipping": shipping}
    all_tax = at("tax")(order_tax, **units, unit_gross=unit_gross, shipping_gross=shipping_gross)
    at("total")(order_total, **units, tax=all_tax)


def _exponent(plan: Plan) -> int:
    return plan.tables.currencies[plan.shop.currency].exponent


def _costs(plan: Plan, ledger: Ledger) -> None:
    """Every line of the cost build-up, in its order, and their sum. What is bought is explained where it is bought."""
    exponent, rules = _exponent(plan), plan.shop.price
    percentages = {"waste": rules.waste_pct, "overhead": rules.overhead_pct}
    amounts: list[Decimal] = []
    for index, cost in enumerate(plan.price.costs):
        place = ("workshop", "costs", index, "amount")
        if cost.code in percentages:
            above = ledger.at(*place, part="lines above")(sum_of_money, amounts=tuple(amounts))
            pct = percentages[cost.code]
            amounts.append(ledger.at(*place)(percent_of, amount=above, pct=pct, exponent=exponent))
        else:
            exact = _exact(plan, ledger, cost.code, place)
            amounts.append(ledger.at(*place)(round_money, amount=exact, exponent=exponent, rounding=ROUND_HALF_UP))
    ledger.at("workshop", "cost_total")(sum_of_money, amounts=tuple(amounts))


def _exact(plan: Plan, ledger: Ledger, code: str, place: Place) -> Decimal:
    """A cost line before it is rounded."""
    if code == "labour":
        hours: Inputs = {"quantity": plan.hours.expected_h, "price": plan.shop.labour.rate_h}
        return ledger.at(*place, part="hours at their rate")(money, **hours)
    if code == "packing":
        return _packing(plan, ledger, place)
    bought = {f"lumber_{timber.species}": [timber.cost] for timber in plan.materials.timber}
    for item in plan.materials.items:
        bought.setdefault(item.role, []).append(item.cost)
    lines = bought[code]
    return lines[0] if len(lines) == 1 else ledger.at(*place, part="its lines")(sum_of_money, amounts=tuple(lines))


def _packing(plan: Plan, ledger: Ledger, place: Place) -> Decimal:
    """Carton and cushioning of all boards; their area and volume are explained with the parcel."""
    rules, parcel = plan.shop.packing, plan.packing
    sides_mm = (parcel.length_mm, parcel.width_mm, parcel.height_mm)
    board_mm = plan.geometry.outer_mm
    one = ledger.at(*place, part="one board")(
        packing_cost,
        carton_m2=carton_area_m2(sides_mm),
        carton_price_m2=rules.carton_price_m2,
        cushion_m3=cushion_m3(sides_mm, rules.wall_mm, board_mm),
        cushion_price_m3=rules.cushion_price_m3,
    )
    return ledger.at(*place, part="all boards")(for_boards, amount=one, boards=plan.order.quantity)


def _wanted(plan: Plan, ledger: Ledger) -> None:
    """The least net price that covers cost, fees and margin, and the shown price made of it."""
    found, channel, at, exponent = plan.price, _channel(plan), ledger.at, _exponent(plan)
    tax, shipping = found.tax_pct / HUNDRED, found.shipping
    at("shipping")(round_money, amount=plan.packing.postage, exponent=exponent, rounding=ROUND_HALF_UP)
    fee = at("workshop", "fees", "amount", part="fee as a fraction of the net price", unit="ratio")(
        fee_share, fee=channel.fee_pct / HUNDRED, tax=tax, fee_base=channel.fee_base
    )
    fee_on = shipping if channel.fee_base is FeeBase.GROSS_WITH_SHIPPING else Decimal(0)
    asks: Inputs = {"cost": found.cost_total, "fee_fixed": channel.fee_fixed, "shipping": fee_on, "fee": fee}
    place = ("workshop", "floor_total")
    least = at(*place, part="not yet rounded")(gross_up, **asks, margin=Decimal(0))
    at(*place)(round_money, amount=least, exponent=exponent, rounding=ROUND_CEILING)
    included = found.regime is TaxRegime.INCLUDED
    shown = "unit_gross" if included else "unit_net"
    margin = plan.shop.price.margin_pct / HUNDRED
    wanted = at(shown, part="all boards without tax")(gross_up, **asks, margin=margin)
    one = at(shown, part="one board without tax")(each_board, amount=wanted, boards=found.quantity)
    up: Inputs = {"exponent": exponent, "rounding": ROUND_CEILING}
    least = at(shown, part="rounded up")(round_money, amount=one, **up)
    if included:
        least = at(shown, part="with tax")(taxed, net=least, tax=tax)
        least = at(shown, part="with tax, rounded up")(round_money, amount=least, **up)
    rules = plan.shop.price
    at(shown)(price_end, amount=least, step=rules.price_step, ending=rules.price_ending)


def _kept(plan: Plan, ledger: Ledger) -> None:
    """What the channel takes and what remains."""
    found, channel, at = plan.price, _channel(plan), ledger.at
    place = ("workshop", "fees", "amount")
    goods = at(*place, part="goods without tax")(for_boards, amount=found.unit_net, boards=found.quantity)
    taken_of = goods
    if channel.fee_base is FeeBase.GROSS_WITH_SHIPPING:
        taken_of = at(*place, part="goods and shipping")(sum_of_money, amounts=(goods, found.shipping))
    fee = fee_share(channel.fee_pct / HUNDRED, found.tax_pct / HUNDRED, channel.fee_base)
    fixed: Inputs = {"fee_fixed": channel.fee_fixed, "exponent": _exponent(plan)}
    fees = at(*place)(fee_taken, amount=taken_of, fee=fee, **fixed)
    kept = at("workshop", "margin_total")(kept_of, goods=goods, fees=fees, cost=found.cost_total)
    at("workshop", "margin_pct")(margin_pct, kept=kept, goods=goods)


def _risk(plan: Plan, ledger: Ledger) -> None:
    """Cost if the hours run long."""
    shop, hours = plan.shop, plan.hours
    for name, long_h in (("p80", hours.p80_h), ("p95", hours.p95_h)):
        ledger.at("workshop", "risk", name)(
            cost_if_longer,
            cost=plan.price.cost_total,
            over_h=long_h - hours.expected_h,
            hour_rate=shop.labour.rate_h,
            overhead_pct=shop.price.overhead_pct,
            exponent=_exponent(plan),
        )


def _channel(plan: Plan) -> Channel:
    return plan.shop.channels[plan.order.channel]
