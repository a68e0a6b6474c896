"""Parcel, notices and price explained. Of the price a customer is told the tax and the total, the maker all."""

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from functools import partial

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.amounts import (
    HUNDRED,
    balance_of,
    cash_amount,
    converted,
    cost_if_worse,
    each_board,
    for_boards,
    gross_of,
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
from chequerwork.domain.basics.arithmetic import round_up, times
from chequerwork.domain.basics.trade import TaxRegime
from chequerwork.domain.explain.steps import Inputs, Ledger, Place
from chequerwork.domain.making.hours import SHARES
from chequerwork.domain.money.costs import MACHINES, held_waste_pct, is_worked, worked
from chequerwork.domain.money.fees import FeeLayer, solved
from chequerwork.domain.money.margins import (
    at_least,
    at_most,
    fee_rounded,
    fee_share,
    gross_up,
    kept_of,
    list_price,
    margin_pct,
    markup_pct,
    part_of,
    rushed,
    with_markup,
)
from chequerwork.domain.money.pricing import Deposit, worse
from chequerwork.domain.money.terms import Terms, cash_step, terms_of
from chequerwork.domain.parcel.packing import Parcel, around_cost, priced, weighed
from chequerwork.domain.parcel.packing_list import PAPER_LAYERS
from chequerwork.domain.parcel.parcels import (
    carton_area_m2,
    carton_side_mm,
    contents_kg,
    contents_side_mm,
    cushion_m3,
    inside_mm,
    is_flat,
    packing_cost,
    parcel_kg,
    protection_cost,
    tape_mm,
    wrap_m2,
)
from chequerwork.domain.parcel.shipping import billable_kg, dimensional_counts, dimensional_kg, length_plus_girth_mm
from chequerwork.domain.plan import Plan

SIDES = "length_mm", "width_mm", "height_mm"


def packing(plan: Plan, ledger: Ledger, caller: Audience) -> None:
    """Carton, mass, what is billed, girth and shape of a full parcel; for the maker also paper, carton inside, tape."""
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
    if caller is Audience.WORKSHOP:
        _specification(plan, ledger, sides_mm)


def _specification(plan: Plan, ledger: Ledger, sides_mm: tuple[float, ...]) -> None:
    """Amounts of the packing list that are not explained with the carton."""
    for index, material in enumerate(plan.packing_list.materials):
        at = partial(ledger.at, "specification", "materials", index)
        if material.code == "paper":
            one_m2 = at("area_m2", part="one board, one layer")(wrap_m2, board_mm=plan.geometry.outer_mm)
            at("area_m2", unit="m2")(times, amount=one_m2, count=PAPER_LAYERS * plan.packing.first.boards)
        elif material.code == "carton":
            for name, side_mm in zip(("length_mm", "width_mm", "thickness_mm"), sides_mm, strict=True):
                at(name)(inside_mm, side_mm=side_mm, wall_mm=plan.shop.packing.wall_mm)
        elif material.code == "tape":
            at("length_mm")(tape_mm, sides_mm=sides_mm)


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
    found = plan.packing.first
    if found.contents_mm == plan.geometry.outer_mm:
        return plan.geometry.mass_kg
    return ledger.at("mass_kg", part="boards and protection")(
        contents_kg,
        boards=found.boards,
        board_kg=plan.geometry.mass_kg,
        **weighed(plan.shop.packing, found.amounts),
    )


def _billed(found: Parcel, ledger: Ledger, sides_mm: tuple[float, ...], packed_kg: float) -> None:
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
    found, at, exponent = plan.price, ledger.at, _exponent(plan)
    tax, shipping_tax = found.tax_pct / HUNDRED, found.shipping_tax_pct / HUNDRED
    unit_net, unit_gross = found.unit_net, found.unit_gross
    if found.regime is TaxRegime.INCLUDED:
        unit_net = at("unit_net")(net_inside, gross=unit_gross, tax=tax, exponent=exponent)
    else:
        unit_gross = at("unit_gross")(gross_of, net=unit_net, tax=tax, exponent=exponent)
    shipping = found.shipping
    shipping_gross = at("shipping_gross")(gross_of, net=shipping, tax=shipping_tax, exponent=exponent)
    units: Inputs = {"quantity": found.quantity, "unit_net": unit_net, "shipping": shipping}
    all_tax = at("tax")(order_tax, **units, unit_gross=unit_gross, shipping_gross=shipping_gross)
    total = at("total")(order_total, **units, tax=all_tax)
    paid = _in_coins(plan, ledger, total)
    if found.deposit is not None:
        deposit = _deposit(plan, ledger, total, found.deposit)
        at("deposit", "balance")(balance_of, total=paid, deposit=deposit)


def _coins(plan: Plan) -> Decimal | None:
    return cash_step(_terms(plan), plan.shop, plan.tables)


def _terms(plan: Plan) -> Terms:
    dates = plan.order.dates
    return terms_of(plan.order.sale, dates.issued_on, dates.wanted_by, plan.shop, plan.tables)


def _in_coins(plan: Plan, ledger: Ledger, total: Decimal) -> Decimal:
    """What is paid in all: the total, or the nearest amount of coins, or the next where that would lose too much."""
    coins, found = _coins(plan), plan.price.total_cash
    if coins is None or found is None:
        return total
    if found == cash_amount(total, coins, _exponent(plan)):
        return ledger.at("total_cash")(cash_amount, total=total, step=coins, exponent=_exponent(plan))
    return ledger.at("total_cash")(price_end, amount=total, step=coins, ending=Decimal(0))


def _deposit(plan: Plan, ledger: Ledger, total: Decimal, found: Deposit) -> Decimal:
    """What is paid when the order is placed; in cash, as coins pay it and no more than all of it."""
    place, exponent = ("deposit", "amount"), _exponent(plan)
    share: Inputs = {"amount": total, "pct": found.pct, "exponent": exponent}
    coins, most = _coins(plan), plan.price.total_cash
    if coins is None or most is None:
        return ledger.at(*place)(percent_of, **share)
    asked = ledger.at(*place, part="share of the total")(percent_of, **share)
    nearest = ledger.at(*place, part="in coins")(cash_amount, total=asked, step=coins, exponent=exponent)
    return ledger.at(*place)(at_most, amount=nearest, most=most)


def _exponent(plan: Plan) -> int:
    """Decimals of the quote's currency."""
    return plan.tables.currencies[plan.price.currency].exponent


def _own_exponent(plan: Plan) -> int:
    """Decimals of the shop's own currency, in which costs arise."""
    return plan.tables.currencies[plan.shop.currency].exponent


def _costs(plan: Plan, ledger: Ledger) -> None:
    """Every line of the cost build-up, in its order, and their sum. What is bought is explained where it is bought."""
    rules, abroad = plan.shop.price, plan.price.exchange
    percentages = {"waste": held_waste_pct(rules, plan.price.stretch), "overhead": rules.overhead_pct}
    amounts: list[Decimal] = []
    shown: list[Decimal] = []
    for index, cost in enumerate(plan.price.own_costs):
        place = ("workshop", "costs", index, "amount")
        end = ledger.at(*place, part=None if abroad is None else f"in {plan.shop.currency}")
        if cost.code in percentages:
            above = ledger.at(*place, part="lines above")(sum_of_money, amounts=tuple(amounts))
            asked: Inputs = {"amount": above, "pct": percentages[cost.code], "exponent": _own_exponent(plan)}
            amounts.append(end(percent_of, **asked))
        else:
            exact: Inputs = {"amount": _exact(plan, ledger, cost.code, place), "rounding": ROUND_HALF_UP}
            amounts.append(end(round_money, **exact, exponent=_own_exponent(plan)))
        shown.append(_quoted(plan, ledger, place, amounts[-1]))
    ledger.at("workshop", "cost_total")(sum_of_money, amounts=tuple(shown))


def _quoted(plan: Plan, ledger: Ledger, place: Place, amount: Decimal) -> Decimal:
    """An amount of the shop's currency in that of the quote."""
    if plan.price.exchange is None:
        return amount
    rate: Inputs = {"exchange": plan.price.exchange, "exponent": _exponent(plan)}
    return ledger.at(*place)(converted, amount=amount, **rate)


def _exact(plan: Plan, ledger: Ledger, code: str, place: Place) -> Decimal:
    """A cost line before it is rounded."""
    if is_worked(code):
        return _worked(plan, ledger, code, place)
    if code == "packing":
        return _packing(plan, ledger, place)
    bought = {f"lumber_{timber.species}": [timber.cost] for timber in plan.materials.timber}
    for item in plan.materials.items:
        bought.setdefault(item.role, []).append(item.cost)
    lines = bought[code]
    return lines[0] if len(lines) == 1 else ledger.at(*place, part="its lines")(sum_of_money, amounts=tuple(lines))


def _worked(plan: Plan, ledger: Ledger, code: str, place: Place) -> Decimal:
    """Hours of hands or machines, as long as the price holds at, at their rate."""
    time = worked(plan.shop, plan.tables, plan.hours, plan.price.stretch)
    hours, rate_h = next((hours, rate_h) for each, _, hours, rate_h in time if each == code)
    part = "machines' hours at their rate" if code == MACHINES else "hours at their rate"
    return ledger.at(*place, part=part)(money, quantity=hours, price=rate_h)


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


def _parcels(plan: Plan, ledger: Ledger, place: Place, count: int, found: Parcel, *, name: str) -> Decimal:
    """Packing of equal parcels."""
    rules = plan.shop.packing
    lead = f"{name}: " if name else ""
    one = ledger.at(*place, part=f"{lead}one parcel")(
        packing_cost,
        carton_m2=found.carton_m2,
        carton_price_m2=rules.carton_price_m2,
        cushion_m3=found.cushion_m3,
        cushion_price_m3=rules.cushion_price_m3,
    )
    if around_cost(rules, found.amounts):
        more = ledger.at(*place, part=f"{lead}protection of one")(protection_cost, **priced(rules, found.amounts))
        one = ledger.at(*place, part=f"{lead}one with protection")(sum_of_money, amounts=(one, more))
    return ledger.at(*place, part=f"{lead}all of them")(for_boards, amount=one, boards=count)


def _wanted(plan: Plan, ledger: Ledger) -> None:
    """The least net price that covers cost, fees and margin, and the shown price made of it."""
    found, at, terms = plan.price, ledger.at, _terms(plan)
    postage: Inputs = {"amount": plan.packing.postage, "exponent": _own_exponent(plan), "rounding": ROUND_HALF_UP}
    own = at("shipping", part=None if found.exchange is None else f"in {plan.shop.currency}")(round_money, **postage)
    _quoted(plan, ledger, ("shipping",), own)
    layers = terms.layers(found.shipping_gross)
    place = ("workshop", "floor_total")
    least = _grossed(ledger, place, "not yet rounded", found.cost_total, layers, Decimal(0))
    at(*place)(round_money, amount=least, exponent=terms.exponent, rounding=ROUND_CEILING)
    shown = "unit_gross" if terms.included else "unit_net"
    cost = found.cost_total
    if terms.markup:
        cost = at(shown, part="cost with its markup")(with_markup, cost=cost, markup=terms.markup)
    wanted = _grossed(ledger, (shown,), "all boards without tax", cost, layers, terms.margin)
    unit = at(shown, part="one board without tax")(each_board, amount=wanted, boards=found.quantity)
    asked = _asked(ledger, shown, unit, terms)
    if found.asked > asked:
        more: Inputs = {"amounts": (asked, found.asked - asked)}
        asked = at(shown, part="raised by what rounding of tax and fees takes")(sum_of_money, **more)
    at(shown)(price_end, amount=asked, step=terms.end.step, ending=terms.end.ending)


def _grossed(
    ledger: Ledger, place: Place, part: str, cost: Decimal, layers: Sequence[FeeLayer], margin: Decimal
) -> Decimal:
    """The net price of which fees and margin can be taken; each fee as it stands at that price."""
    fixed, shares = [], []
    for layer, piece in zip(layers, solved(cost, layers, margin), strict=True):
        fixed.append(piece.fixed)
        if piece.share:
            taken: Inputs = {"fee": layer.rate, "tax": layer.tax, "fee_base": layer.charge.fee_base}
            told = f"fee of {layer.charge.key} as a fraction of the net price"
            shares.append(ledger.at(*place, part=told, unit="ratio")(fee_share, **taken))
    fee_fixed = ledger.at(*place, part="fees at any price")(sum_of_money, amounts=tuple(fixed))
    fee = shares[0] if len(shares) == 1 else Decimal(0)
    if len(shares) > 1:
        fee = ledger.at(*place, part="both fees as a fraction", unit="ratio")(sum_of_money, amounts=tuple(shares))
    asks: Inputs = {"cost": cost, "fee_fixed": fee_fixed, "fee": fee, "margin": margin}
    return ledger.at(*place, part=part)(gross_up, **asks)


def _asked(ledger: Ledger, shown: str, unit: Decimal, terms: Terms) -> Decimal:
    """From one board's net price to the least that is shown, rounded up at every step."""
    up: Inputs = {"exponent": terms.exponent, "rounding": ROUND_CEILING}
    if terms.surcharge:
        unit = ledger.at(shown, part="for haste")(rushed, amount=unit, surcharge=terms.surcharge)
    unit = ledger.at(shown, part="rounded up")(round_money, amount=unit, **up)
    if terms.included:
        unit = ledger.at(shown, part="with tax")(taxed, net=unit, tax=terms.tax)
        unit = ledger.at(shown, part="with tax, rounded up")(round_money, amount=unit, **up)
    if terms.discount:
        unit = ledger.at(shown, part="with room for a discount")(list_price, amount=unit, discount=terms.discount)
        unit = ledger.at(shown, part="with that room, rounded up")(round_money, amount=unit, **up)
    return unit


def _kept(plan: Plan, ledger: Ledger) -> None:
    """What channel and payment take and what remains."""
    found, at = plan.price, ledger.at
    terms = _terms(plan)
    places = (("workshop", "fees", "amount"), ("workshop", "payment_fees", "amount"))
    goods = at(*places[0], part="goods without tax")(for_boards, amount=found.unit_net, boards=found.quantity)
    gross = for_boards(found.unit_gross, found.quantity)
    fees = [
        _fee(ledger, place, layer, layer.taken_of(goods, gross, found.shipping_gross), terms.exponent)
        for place, layer in zip(places, terms.layers(found.shipping_gross), strict=False)
    ]
    all_fees = at("workshop", "fees_total")(sum_of_money, amounts=tuple(fees))
    kept = at("workshop", "margin_total")(kept_of, goods=goods, fees=all_fees, cost=found.cost_total)
    at("workshop", "margin_pct")(margin_pct, kept=kept, goods=goods)
    at("workshop", "markup_pct")(markup_pct, kept=kept, cost=found.cost_total)


def _fee(ledger: Ledger, place: Place, layer: FeeLayer, taken_of: Decimal, exponent: int) -> Decimal:
    """What one layer takes of the amount that it is taken of."""
    amount = ledger.at(*place, part="the percentage")(part_of, amount=taken_of, share=layer.rate)
    if layer.least:
        amount = ledger.at(*place, part="no less than its least")(at_least, amount=amount, least=layer.least)
    if layer.most is not None:
        amount = ledger.at(*place, part="no more than its cap")(at_most, amount=amount, most=layer.most)
    return ledger.at(*place)(fee_rounded, amount=amount, fee_fixed=layer.fixed, exponent=exponent)


def _risk(plan: Plan, ledger: Ledger) -> None:
    """Cost if work and waste come to other sums than those that the price is made of."""
    found, rules = plan.price, plan.shop.price
    for name, over in zip(SHARES, worse(found, plan.shop, plan.tables, plan.hours), strict=True):
        ends: Inputs = {"overhead_pct": rules.overhead_pct, "exponent": _exponent(plan)}
        ledger.at("workshop", "risk", name)(cost_if_worse, cost=found.cost_total, over=over, **ends)
