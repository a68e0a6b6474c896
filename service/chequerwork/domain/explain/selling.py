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
from chequerwork.domain.arithmetic import round_up
from chequerwork.domain.explain.steps import Inputs, Ledger, Place
from chequerwork.domain.packing import Packed, around_cost
from chequerwork.domain.parcels import (
    carton_area_m2,
    carton_side_mm,
    contents_kg,
    contents_side_mm,
    cushion_m3,
    is_flat,
    packing_cost,
    parcel_kg,
    protection_cost,
)
from chequerwork.domain.plan import Plan
from chequerwork.domain.shipping import billable_kg, dimensional_counts, dimensional_kg, length_plus_girth_mm
from chequerwork.domain.shop import Channel, FeeBase, TaxRegime

SIDES = "length_mm", "width_mm", "height_mm"


def packing(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Carton, mass, what is billed, girth and shape of a full parcel."""
    rules, found, at = plan.shop.packing, plan.packing.first, ledger.at
    contents = _contents(plan, ledger)
    sides = []
    for name, side_mm in zip(SIDES, contents, strict=True):
        around = {"clearance_mm": rules.clearance_mm, "wall_mm": rules.wall_mm}
        sides.append(at("carton", name)(carton_side_mm, board_side_mm=side_mm, **around))
    sides_mm = tuple(sides)
    carton_m2 = at("mass_kg", part="carton")(carton_area_m2, sides_mm=sides_mm)
    filled: Inputs = {"sides_mm": sides_mm, "wall_mm": rules.wall_mm, "board_mm": contents}
    filled_m3 = at("mass_kg", part="cushioning")(cushion_m3, **filled)
    packed_kg = at("mass_kg")(
        parcel_kg,
        board_kg=_inside_kg(plan, ledger),
        carton_m2=carton_m2,
        carton_kg_m2=rules.carton_kg_m2,
        cushion_m3=filled_m3,
        cushion_kg_m3=rules.cushion_kg_m3,
    )
    _billed(found, ledger, sides_mm, packed_kg)
    at("length_plus_girth_mm")(length_plus_girth_mm, sides_mm=sides_mm)
    at("flat")(is_flat, sides_mm=sides_mm)


def _contents(plan: Plan, ledger: Ledger) -> tuple[float, ...]:
    """Sides of what lies in the cushioning; told only where that is more than one board."""
    board, found, around = plan.geometry.outer_mm, plan.packing.first, plan.shop.packing.protection
    if found.contents_mm == board:
        return board
    face_mm = around.face_mm if found.amounts.face_m2 else 0.0
    stacked: Inputs = {"boards": found.boards, "between_mm": around.interleaf_mm, "around_mm": face_mm}
    flat: Inputs = {"boards": 1, "between_mm": 0.0, "around_mm": around.corner_mm}
    return tuple(
        ledger.at("carton", name, part="boards and protection")(contents_side_mm, board_side_mm=side_mm, **more)
        for name, side_mm, more in zip(SIDES, board, (flat, flat, stacked), strict=True)
    )


def _inside_kg(plan: Plan, ledger: Ledger) -> float:
    """Mass of what lies in the cushioning; told only where that is more than one board."""
    found, around = plan.packing.first, plan.shop.packing.protection
    if found.contents_mm == plan.geometry.outer_mm:
        return plan.geometry.mass_kg
    return ledger.at("mass_kg", part="boards and protection")(
        contents_kg,
        boards=found.boards,
        board_kg=plan.geometry.mass_kg,
        corners=found.amounts.corners,
        corner_kg=around.corner_kg,
        face_m2=found.amounts.face_m2,
        face_kg_m2=around.face_kg_m2,
        interleaf_m2=found.amounts.interleaf_m2,
        interleaf_kg_m2=around.interleaf_kg_m2,
    )


def _billed(found: Packed, ledger: Ledger, sides_mm: tuple[float, ...], packed_kg: float) -> None:
    """The mass that the carrier charges, by sides rounded as it rounds them."""
    at, sent = ledger.at, found.carriage
    step_mm = sent.service.sides_up_to_mm
    if step_mm:
        sides_mm = tuple(
            at("sides_rounded", name, unit="mm")(round_up, value=side_mm, step=step_mm)
            for name, side_mm in zip(SIDES, sides_mm, strict=True)
        )
    size_kg = at("dimensional_kg")(dimensional_kg, sides_mm=sides_mm, divisor_cm3_kg=sent.divisor_cm3_kg)
    least_cm3 = sent.service.dimensional_above_cm3
    counts = at("dimensional_rule", "counts")(dimensional_counts, sides_mm=sides_mm, above_cm3=least_cm3)
    by_size_kg = size_kg if counts else 0.0
    at("billable_kg")(billable_kg, mass_kg=packed_kg, dimensional_kg=by_size_kg, step_kg=sent.round_up_kg)


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
    """Packing of all parcels; areas and volumes of a full one are explained with the parcel."""
    kinds = plan.packing.kinds
    if len(kinds) == 1:
        return _parcels(plan, ledger, place, *kinds[0], name="")
    amounts = tuple(
        _parcels(plan, ledger, place, count, found, name=name)
        for (count, found), name in zip(kinds, ("full parcels", "last parcel"), strict=True)
    )
    return ledger.at(*place, part="all parcels")(sum_of_money, amounts=amounts)


def _parcels(plan: Plan, ledger: Ledger, place: Place, count: int, found: Packed, *, name: str) -> Decimal:
    """Packing of equal parcels."""
    rules, around, amounts = plan.shop.packing, plan.shop.packing.protection, found.amounts
    lead = f"{name}: " if name else ""
    one = ledger.at(*place, part=f"{lead}one parcel")(
        packing_cost,
        carton_m2=found.carton_m2,
        carton_price_m2=rules.carton_price_m2,
        cushion_m3=found.cushion_m3,
        cushion_price_m3=rules.cushion_price_m3,
    )
    if around_cost(rules, amounts):
        more = ledger.at(*place, part=f"{lead}protection of one")(
            protection_cost,
            corners=amounts.corners,
            corner_price=around.corner_price,
            face_m2=amounts.face_m2,
            face_price_m2=around.face_price_m2,
            interleaf_m2=amounts.interleaf_m2,
            interleaf_price_m2=around.interleaf_price_m2,
            sundries_price=around.sundries_price,
        )
        one = ledger.at(*place, part=f"{lead}one with protection")(sum_of_money, amounts=(one, more))
    return ledger.at(*place, part=f"{lead}all of them")(for_boards, amount=one, boards=count)


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
