"""From cost to price: every amount rounded once, sums to the cent, the floor never crossed, the margin kept."""

import itertools
from dataclasses import replace
from decimal import Decimal

import pytest
from builders import TODAY, a_frame, a_plan, altered
from hand_layouts import PIECES, PLAIN, SAW, SHEET

from chequerwork.domain.basics.amounts import price_end, round_money
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.trade import Channel, Exchange, FeeBase, TaxRegime
from chequerwork.domain.money.fees import layer_of, net_for_margin
from chequerwork.domain.money.woodcost import allowance, from_stock
from chequerwork.domain.order.order import Line, Units
from chequerwork.domain.order.request import BaseRequest
from chequerwork.domain.stock.boards import Goal, Missing, PlanStatus, StockPlan
from chequerwork.domain.stock.replay import replay

D = Decimal
CENT = D("0.01")
# Decimals of the currency, and price ends that its smallest coin can pay.
CURRENCIES = {"JPY": (0, D(100), D(80)), "EUR": (2, D(10), D(9)), "KWD": (3, D(1), D("0.950"))}


def variant(shop, *, regime=TaxRegime.INCLUDED, base=FeeBase.NET, currency="EUR", fee_pct="8", tax_pct="20"):
    """The shop with another way to tax, another channel and another currency; amounts are scaled to the currency."""
    exponent, step, ending = CURRENCIES[currency]
    channel = Channel(
        key="own_site", name="Test", fee_pct=D(fee_pct), fee_base=base, fee_fixed=round_money(D("1.25"), exponent)
    )
    return altered(
        shop,
        currency=currency,
        channels={"own_site": channel},
        tax={"regime": regime, "rates_pct": {"AT": D(tax_pct)}},
        price={"price_step": step, "price_ending": ending},
    )


VARIANTS = list(itertools.product(TaxRegime, FeeBase, CURRENCIES))


@pytest.fixture(params=VARIANTS, ids=[" ".join(each) for each in VARIANTS])
def priced(request, moosgrund):
    """The price of seven boards under every regime, fee base and number of decimals."""
    regime, base, currency = request.param
    return a_plan(variant(moosgrund, regime=regime, base=base, currency=currency), quantity=7).price


# Identities -----------------------------------------------------------------------------------------------------------


def test_total_is_the_sum_of_what_is_shown(priced):
    assert priced.total == priced.quantity * priced.unit_net + priced.shipping + priced.tax


def test_unit_gross_is_unit_net_and_its_tax(priced):
    goods_tax = priced.tax - (priced.shipping_gross - priced.shipping)
    assert priced.quantity * (priced.unit_gross - priced.unit_net) == goods_tax
    assert priced.total == priced.quantity * priced.unit_gross + priced.shipping_gross


def test_every_amount_has_the_decimals_of_its_currency(priced):
    exponent = CURRENCIES[priced.currency][0]
    shown = [
        priced.unit_net, priced.unit_gross, priced.shipping, priced.shipping_gross, priced.tax, priced.total,
        priced.cost_total, priced.floor_total, priced.fees.amount, priced.margin_total,
        *(cost.amount for cost in priced.costs),
    ]  # fmt: skip
    assert [amount for amount in shown if amount != round_money(amount, exponent)] == []


def test_costs_add_up(priced):
    assert priced.cost_total == sum(cost.amount for cost in priced.costs)


def test_the_shown_price_has_the_shops_end(priced):
    """With tax inside where prices include it, without where it is added."""
    _, step, ending = CURRENCIES[priced.currency]
    shown = priced.unit_gross if priced.regime is TaxRegime.INCLUDED else priced.unit_net
    assert (shown - ending) % step == 0


def test_tax_is_the_rate_of_the_unit_to_the_last_decimal(priced):
    exponent = CURRENCIES[priced.currency][0]
    half = D(1).scaleb(-exponent) / 2
    unit_tax = priced.unit_gross - priced.unit_net
    assert abs(unit_tax - priced.unit_net * D("0.20")) <= half * D("1.2")


def test_the_floor_is_never_crossed(priced):
    assert priced.quantity * priced.unit_net >= priced.floor_total


def test_the_promised_margin_remains_after_fees_and_costs(priced):
    """12 %, to the last coin, although tax and fees are rounded."""
    goods = priced.quantity * priced.unit_net
    assert priced.margin_total == goods - priced.fees.amount - priced.cost_total
    assert priced.margin_total >= D("0.12") * goods
    assert priced.margin_pct == round_money(priced.margin_total / goods * 100, 2)


def test_at_the_floor_nothing_is_lost_and_nothing_gained(priced, moosgrund):
    """The floor is what goods must fetch for costs and fees alone, up to one coin of rounding."""
    tax, exponent = D("0.20"), CURRENCIES[priced.currency][0]
    channel = variant(moosgrund, base=priced.fees.base, currency=priced.currency).channels["own_site"]
    rate = channel.fee_pct / 100
    base = {
        FeeBase.NET: priced.floor_total,
        FeeBase.GROSS: priced.floor_total * (1 + tax),
        FeeBase.GROSS_WITH_SHIPPING: (priced.floor_total + priced.shipping) * (1 + tax),
    }[channel.fee_base]
    left = priced.floor_total - base * rate - channel.fee_fixed - priced.cost_total
    assert 0 <= left < D(1).scaleb(-exponent)


def test_fees_are_of_the_base_the_channel_takes(priced):
    """8 % of the net, the gross, or the gross with postage, and 1.25 an order."""
    goods = priced.quantity * priced.unit_net
    exponent = CURRENCIES[priced.currency][0]
    base = {
        FeeBase.NET: goods,
        FeeBase.GROSS: priced.quantity * priced.unit_gross,
        FeeBase.GROSS_WITH_SHIPPING: priced.total,
    }[priced.fees.base]
    assert priced.fees.amount == round_money(base * D("0.08") + priced.fees.fixed, exponent)


def test_a_currency_worth_just_as_much_keeps_its_own_decimals(moosgrund):
    """A rate of 1 to a currency with fewer decimals: cost lines are rounded up as at any other rate."""
    shop = altered(variant(moosgrund, currency="KWD"), exchange={"rates": {"EUR": D(1)}, "ends": {}})
    home, abroad = (a_plan(shop, currency=code).price for code in ("KWD", "EUR"))
    for own, cost in zip(home.costs, abroad.costs, strict=True):
        assert own.amount <= cost.amount == round_money(cost.amount, 2) < own.amount + CENT
    assert abroad.margin_total == round_money(abroad.margin_total, 2)


# The cost lines -------------------------------------------------------------------------------------------------------


def costs(price):
    return {cost.code: cost.amount for cost in price.costs}


def test_every_cost_has_its_line(moosgrund):
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    lines = (Line(species="pear", width_mm=3.0),)
    price = a_plan(moosgrund, frame=a_frame(), base=base, feet=4, lines=lines).price
    assert list(costs(price)) == [
        "lumber_sycamore_maple", "lumber_european_walnut", "lumber_pear", "base", "adhesive", "abrasives", "finish",
        "feet", "sundries", "waste", "labour_mill", "labour_rip", "labour_glue_strips", "labour_flatten_strips",
        "labour_crosscut", "labour_glue_bars", "labour_flatten_field", "labour_trim_field", "labour_lines",
        "labour_base", "labour_frame", "labour_sand", "labour_finish", "labour_fit_out", "labour_pack", "overhead",
        "packing",
    ]  # fmt: skip
    assert all(amount > 0 for amount in costs(price).values())


def test_waste_is_of_materials_and_overhead_of_all_but_packing(moosgrund):
    """6 % and 17 %."""
    found = costs(a_plan(moosgrund, feet=4).price)
    bought = sum(found.values()) - sum(found[code] for code in ("waste", "overhead", "packing")) - labour(found)
    assert found["waste"] == round_money(bought * D("0.06"), 2)
    assert found["overhead"] == round_money((bought + found["waste"] + labour(found)) * D("0.17"), 2)


def labour(lines):
    return sum(amount for code, amount in lines.items() if code.startswith("labour_"))


def test_labour_is_the_expected_hours_of_each_operation_at_the_shops_rate(moosgrund):
    plan = a_plan(moosgrund)
    found = costs(plan.price)
    for work in plan.hours.work:
        assert float(found[f"labour_{work.code}"]) == pytest.approx(work.expected_h * 31, abs=0.005)
    assert float(labour(found)) == pytest.approx(plan.hours.expected_h * 31, abs=0.005 * len(plan.hours.work))


def test_machines_cost_their_rate_while_they_run(moosgrund):
    """The share of each operation's time is the table's; without a rate there is no line."""
    assert "machine_time" not in costs(a_plan(moosgrund).price)
    plan = a_plan(altered(moosgrund, machines={"rate_h": D("6.50")}))
    run_h = sum(work.expected_h * plan.tables.operations[work.code].machine_share for work in plan.hours.work)
    found = costs(plan.price)
    assert 0 < run_h < plan.hours.expected_h
    assert float(found["machine_time"]) == pytest.approx(run_h * 6.5, abs=0.005)
    before = sum(amount for code, amount in found.items() if code not in ("overhead", "packing"))
    assert found["overhead"] == round_money(before * D("0.17"), 2)
    # What runs long costs its machines too.
    without = a_plan(moosgrund).risk
    assert plan.risk.p95 - plan.risk.p80 > without.p95 - without.p80


# Tax and channels -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("ship_to", "rate"), [("AT", "20"), ("DE", "19"), ("DK", "25"), ("CH", "0"), ("GB", "0")])
def test_tax_is_that_of_the_destination(moosgrund, ship_to, rate):
    price = a_plan(moosgrund, ship_to=ship_to).price
    assert price.tax_pct == D(rate)
    assert price.shipping_gross == price.shipping + round_money(price.shipping * D(rate) / 100, 2)


def test_an_export_pays_no_tax(moosgrund):
    price = a_plan(moosgrund, ship_to="CH").price
    assert price.tax == 0
    assert price.unit_net == price.unit_gross


def test_the_other_shop_adds_its_tax_to_a_price_ending_in_95_cents(willet_slough):
    price = a_plan(willet_slough).price
    assert price.regime is TaxRegime.ADDED
    assert price.unit_net % 5 == D("4.95")
    assert price.unit_gross == price.unit_net + round_money(price.unit_net * D("0.0625"), 2)


def test_a_dearer_channel_is_a_dearer_price(moosgrund):
    totals = [
        a_plan(moosgrund, channel=channel).price.total for channel in ("own_site", "market_fair", "online_marketplace")
    ]
    assert totals == sorted(totals)
    assert totals[0] < totals[-1]


def test_units_of_the_texts_do_not_touch_the_price(moosgrund):
    assert a_plan(moosgrund, units=Units.IMPERIAL).price == a_plan(moosgrund, units=Units.METRIC).price


@pytest.mark.parametrize(
    ("fee_pct", "base", "refused"),
    [
        ("88", FeeBase.NET, True),
        ("87.9", FeeBase.NET, False),
        ("74", FeeBase.GROSS, True),
        ("73", FeeBase.GROSS, False),
    ],
)
def test_fees_that_leave_nothing_are_refused_without_a_number(moosgrund, fee_pct, base, refused):
    """TRADE-PRICE: r (1 + t) + g of 1 and more has no price; here g = 12 %, t = 20 %. The sentence tells no rate."""
    plan = a_plan(variant(moosgrund, fee_pct=fee_pct, base=base))
    if not refused:
        assert plan.price.margin_pct >= 12
        return
    with pytest.raises(Refused) as found:
        _ = plan.price
    (fault,) = found.value.faults
    assert (fault.at, fault.code) == (("channel",), "nothing-left")
    assert "own_site" in fault.detail
    assert not any(letter.isdigit() for letter in fault.detail)


# Small functions ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amount", "step", "ending", "expected"),
    [
        ("440.35", "10", "9", "449"), ("449", "10", "9", "449"), ("449.01", "10", "9", "459"), ("5", "10", "9", "9"),
        ("560.00", "5", "4.95", "564.95"), ("564.95", "5", "4.95", "564.95"), ("123.45", "0", "0", "123.45"),
        ("440.35", "0.05", "0", "440.35"), ("440.36", "0.05", "0", "440.40"),
    ],
)  # fmt: skip
def test_a_price_end_is_the_next_at_or_above(amount, step, ending, expected):
    assert price_end(D(amount), D(step), D(ending)) == D(expected)


@pytest.mark.parametrize(
    ("amount", "exponent", "expected"),
    [("2.665", 2, "2.67"), ("2.664999", 2, "2.66"), ("0.5", 0, "1"), ("1.0005", 3, "1.001"), ("-2.665", 2, "-2.67")],
)
def test_halves_are_rounded_away_from_zero(amount, exponent, expected):
    rounded = round_money(D(amount), exponent)
    assert str(rounded) == expected


def test_postage_charged_at_cost_carries_its_own_fee():
    """TRADE-PRICE: p = (c + f + r S) / (1 - r - g): fees of 10 % on goods and postage, 20 % of tax on both."""
    channel = Channel(key="x", name="X", fee_pct=D(10), fee_base=FeeBase.GROSS_WITH_SHIPPING, fee_fixed=D(0))
    layers = (layer_of(channel, tax=D("0.2"), shipping_gross=D(12)),)
    net = net_for_margin(D(100), layers, D("0.2"))
    assert net == (D(100) + D("0.12") * 10) / (1 - D("0.12") - D("0.2"))


def test_a_batch_spreads_its_setup_over_more_boards(moosgrund):
    one, ten = (a_plan(moosgrund, quantity=quantity).price for quantity in (1, 10))
    assert ten.cost_total < 10 * one.cost_total
    assert ten.unit_net < one.unit_net


# From stock -----------------------------------------------------------------------------------------------------------


def a_plan_at(cost, *, sheets=False, missing=()):
    """A stock plan of one board that comes to this cost, nothing kept taken off."""
    sawn = replay(SHEET if sheets else PLAIN, PIECES, SAW)
    board = replace(sawn.layout.board, price=D(cost))
    sawn = replace(sawn, layout=replace(sawn.layout, board=board), kept=D(0))
    return StockPlan(
        goal=Goal.COST,
        status=PlanStatus.GOOD,
        layouts=(sawn,),
        purchases=(),
        missing=missing,
        boards_used=1,
        cost=D(cost),
        reached=D(cost),
        bound=D(cost) * D("0.99"),
        volume_used_m3=0.01,
        parts_m3=0.005,
        kept_m3=0.0,
    )


def test_what_the_usual_yield_allows_is_the_lumber_of_the_bill():
    plan = a_plan(base=BaseRequest(material="mdf", thickness_mm=9.0))
    lines = {cost.code: cost.amount for cost in plan.price.costs}
    lumber = sum(amount for code, amount in lines.items() if code.startswith("lumber_"))
    found = allowance([plan.materials], a_plan_at("40.004"), 2)
    assert (found.cost, found.saving) == (lumber, lumber - D("40.00"))
    assert found.saving_pct == round_money(found.saving / lumber * 100, 2)
    assert found.wood_m3 == pytest.approx(sum(timber.gross_m3 for timber in plan.materials.timber))
    # PLAIN is 2000 x 160 x 27 mm, of which 774 mm of length are kept.
    assert found.wood_cut_m3 == pytest.approx((2.0 - 0.774) * 0.16 * 0.027)
    assert found.wood_saving_pct == pytest.approx(100 - 100 * found.wood_cut_m3 / found.wood_m3)
    with_sheets = allowance([plan.materials, plan.materials], a_plan_at("40", sheets=True), 2)
    assert with_sheets.cost == 2 * (lumber + lines["base"])
    assert with_sheets.wood_cut_m3 == 0


def test_the_cost_from_stock_is_the_build_up_with_other_wood(moosgrund, tables):
    """Waste is taken of all materials, overhead of materials, waste and labour; fees and price stay."""
    plan = a_plan(quantity=3)
    price, lines = plan.price, {cost.code: cost.amount for cost in plan.price.costs}
    found = from_stock(price, moosgrund, tables, plan.materials, a_plan_at("100"))
    apart = ("waste", "overhead", "packing")
    bought = sum(amount for code, amount in lines.items() if code not in apart) - labour(lines)
    bought += 100 - found.allowed.cost
    waste = round_money(bought * moosgrund.price.waste_pct / 100, 2)
    overhead = round_money((bought + waste + labour(lines)) * moosgrund.price.overhead_pct / 100, 2)
    assert found.lumber_cost == 100
    assert found.cost_total == bought + waste + labour(lines) + overhead + lines["packing"]
    assert found.margin_total == price.unit_net * 3 - price.fees.amount - found.cost_total
    assert found.margin_pct == round_money(found.margin_total / (price.unit_net * 3) * 100, 2)


def test_wood_at_the_allowed_cost_changes_nothing(moosgrund, tables):
    plan = a_plan()
    usual = allowance([plan.materials], a_plan_at("1"), 2).cost
    found = from_stock(plan.price, moosgrund, tables, plan.materials, a_plan_at(usual))
    assert found.allowed.saving == 0
    assert (found.cost_total, found.margin_total) == (plan.price.cost_total, plan.price.margin_total)
    assert found.margin_pct == plan.price.margin_pct


def test_wood_from_stock_is_told_in_the_currency_of_the_quote(moosgrund, tables):
    """At the allowed cost nothing changes; otherwise the saving is converted, and waste and overhead follow it."""
    table = Exchange(on=TODAY, source="test", rates={"JPY": D("162.35")}, max_age_days=9, ends={})
    plan = a_plan(altered(moosgrund, exchange=table), currency="JPY", quantity=2)
    usual = allowance([plan.materials], a_plan_at("1"), 2).cost
    same = from_stock(plan.price, plan.shop, tables, plan.materials, a_plan_at(usual))
    assert (same.cost_total, same.margin_total) == (plan.price.cost_total, plan.price.margin_total)
    cheap = from_stock(plan.price, plan.shop, tables, plan.materials, a_plan_at(usual - 20))
    assert cheap.allowed.saving == round(20 * D("162.35"))
    assert cheap.lumber_cost == cheap.allowed.cost - cheap.allowed.saving
    assert cheap.cost_total < same.cost_total - cheap.allowed.saving
    assert cheap.margin_total - same.margin_total == same.cost_total - cheap.cost_total


def test_dearer_wood_leaves_less(moosgrund, tables):
    plan = a_plan()
    cheap, dear = (from_stock(plan.price, moosgrund, tables, plan.materials, a_plan_at(cost)) for cost in ("20", "200"))
    assert cheap.cost_total < plan.price.cost_total < dear.cost_total
    assert cheap.margin_total > plan.price.margin_total > dear.margin_total


def test_a_plan_that_lacks_pieces_has_no_cost(moosgrund, tables):
    plan = a_plan()
    lacking = a_plan_at("20", missing=(Missing(piece=PIECES["rail"], count=1, why=""),))
    with pytest.raises(Refused) as caught:
        from_stock(plan.price, moosgrund, tables, plan.materials, lacking)
    (fault,) = caught.value.faults
    assert (fault.at, fault.code) == (("from_stock",), "pieces-missing")
    assert "rail" in fault.detail
