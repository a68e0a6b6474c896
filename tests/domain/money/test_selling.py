"""Ways to sell: bounds of fees, ways to pay, tax by channel, haste, discount, deposit, coins, other currencies."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from builders import TODAY, a_plan, altered

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.amounts import cash_amount
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.trade import Exchange, FeeBase, Payment, PaymentKind, Rush, TaxRegime

D = Decimal


def paying(shop, kind=PaymentKind.CARD, **fee):
    """The shop with one way to pay."""
    free = {"fee_pct": D(0), "fee_base": FeeBase.GROSS_WITH_SHIPPING, "fee_fixed": D(0)}
    return altered(shop, payments={"pay": Payment(key="pay", name="Pay", kind=kind, **{**free, **fee})})


def channel(shop, key="own_site", **changes):
    return altered(shop, channels={**shop.channels, key: altered(shop.channels[key], **changes)})


# Fees -----------------------------------------------------------------------------------------------------------------


def test_a_way_to_pay_takes_its_fee_on_top_of_the_channels(moosgrund):
    shop = paying(moosgrund, fee_pct=D("2.2"), fee_fixed=D("0.35"))
    without, with_it = a_plan(shop).price, a_plan(shop, payment="pay").price
    assert without.payment is None
    assert with_it.payment.amount == round(with_it.total * D("0.022") + D("0.35"), 2)
    assert with_it.fees_total == with_it.fees.amount + with_it.payment.amount
    assert with_it.total > without.total


def test_the_usual_way_to_pay_is_the_channels_else_the_shops(moosgrund):
    shop = altered(paying(moosgrund), defaults={"payment": "pay"})
    assert a_plan(shop).order.sale.payment == "pay"
    other = altered(shop, payments={**shop.payments, "bill": altered(shop.payments["pay"], key="bill")})
    assert a_plan(channel(other, payment="bill")).order.sale.payment == "bill"
    assert a_plan(channel(other, payment="bill"), payment="pay").order.sale.payment == "pay"
    assert a_plan(moosgrund).order.sale.payment is None


@pytest.mark.parametrize(
    ("bounds", "fee"),
    [({"fee_least": D(50)}, "50.25"), ({"fee_max": D(3)}, "3.25"), ({"fee_least": D(1), "fee_max": D(90)}, None)],
)
def test_bounds_are_of_the_percentage_and_the_fixed_fee_comes_on_top(moosgrund, bounds, fee):
    price = a_plan(channel(moosgrund, **bounds)).price
    assert price.fees.amount == (D(fee) if fee else round(price.total * D("0.019") + D("0.25"), 2))
    assert price.margin_total >= price.unit_net * D("0.12")


# Margin and markup ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("markup", "margin"), [("20", "16.67"), ("50", "33.33"), ("100", "50.00")])
def test_a_markup_is_of_the_cost_and_leaves_its_margin(moosgrund, markup, margin):
    """TRADE-PRICE (P01): 20 % is 16.67, 50 % is 33.33, 100 % is 50 % of the price, where no fee is taken."""
    free = channel(moosgrund, fee_pct=D(0), fee_fixed=D(0))
    ends = {"price_step": D("0.01"), "price_ending": D(0)}
    shop = altered(free, price={"margin_pct": D(0), "markup_pct": D(markup), **ends})
    price = a_plan(shop).price
    assert float(price.markup_pct) == pytest.approx(float(markup), abs=0.011)
    assert float(price.margin_pct) == pytest.approx(float(margin), abs=0.011)
    assert price.margin_total >= price.cost_total * D(markup) / 100


# Tax by channel -------------------------------------------------------------------------------------------------------


def test_a_channel_may_add_its_tax_and_have_rates_of_its_own(moosgrund):
    shop = channel(moosgrund, regime=TaxRegime.ADDED, rates_pct={"DE": D(7)})
    home, abroad = a_plan(shop).price, a_plan(shop, ship_to="DE").price
    assert (home.regime, home.tax_pct, abroad.tax_pct) == (TaxRegime.ADDED, D(20), D(7))
    assert home.unit_net % 10 == 9
    assert a_plan(shop, channel="market_fair").price.regime is TaxRegime.INCLUDED


def test_tax_that_the_channel_collects_is_paid_all_the_same_and_counted_in_its_fee(moosgrund):
    usual, shop = a_plan(moosgrund).price, channel(moosgrund, collects=frozenset({"AT"}))
    price = a_plan(shop).price
    assert (usual.collected, price.collected) == (False, True)
    assert (price.total, price.tax, price.fees, price.margin_total) == (
        usual.total, usual.tax, usual.fees, usual.margin_total,
    )  # fmt: skip
    assert not a_plan(shop, ship_to="DE").price.collected


def test_shipping_is_taxed_unless_the_shop_says_otherwise(moosgrund):
    price = a_plan(altered(moosgrund, tax={"on_shipping": False})).price
    assert price.shipping_gross == price.shipping
    assert price.shipping_tax_pct == 0
    assert price.tax == price.unit_gross - price.unit_net


# Haste, discount, deposit, coins --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("days", "hurried"), [(0, True), (14, True), (15, False), (None, False)])
def test_haste_is_counted_from_the_orders_date_to_the_day_it_is_wanted(moosgrund, days, hurried):
    shop = altered(moosgrund, price={"rush": Rush(within_days=14, surcharge_pct=D(15))})
    wanted_by = None if days is None else TODAY + timedelta(days=days)
    price, calm = a_plan(shop, wanted_by=wanted_by).price, a_plan(shop).price
    assert (price.rush is not None) == hurried
    assert (price.unit_gross > calm.unit_gross) == hurried


def test_headroom_is_what_a_discount_may_take(moosgrund):
    """TRADE-PRICE (P15): p / (1 - d)."""
    shop = altered(moosgrund, price={"discount_pct": D(10)})
    price, usual = a_plan(shop).price, a_plan(moosgrund).price
    assert usual.discount is None
    assert price.unit_gross >= usual.asked / D("0.9")
    assert price.discount.unit_gross <= price.unit_gross * D("0.9") + D("0.01")
    assert price.discount.margin_pct >= 12


def test_a_deposit_below_what_must_be_bought_is_told_to_the_workshop(moosgrund):
    low, high = (a_plan(altered(moosgrund, price={"deposit_pct": D(pct)})).price for pct in (1, 50))
    assert low.deposit.amount + low.deposit.balance == low.total
    (advice,) = low.advice
    assert (advice.code, advice.audience) == ("deposit-below-materials", Audience.WORKSHOP)
    assert high.advice == ()
    assert a_plan(moosgrund).price.deposit is None


@pytest.mark.parametrize(
    ("total", "step", "exponent", "coins"),
    [
        ("10.02", "0.05", 2, "10.00"), ("10.025", "0.05", 2, "10.05"), ("10.03", "0.05", 2, "10.05"),
        ("99.25", "0.50", 2, "99.50"), ("99.49", "1", 2, "99.00"), ("99.50", "1", 2, "100.00"),
    ],
)  # fmt: skip
def test_cash_is_the_nearest_amount_that_coins_pay(total, step, exponent, coins):
    """CLDR's steps of CHF, DKK and SEK; halves go up."""
    assert str(cash_amount(D(total), D(step), exponent)) == coins


def test_only_cash_is_rounded_to_coins(moosgrund):
    shop = altered(paying(moosgrund, PaymentKind.CASH), price={"cash_step": D("0.05")})
    price = a_plan(shop, payment="pay").price
    assert price.total_cash % D("0.05") == 0
    assert abs(price.total_cash - price.total) < D("0.05")
    assert price.margin_total - (price.total - price.total_cash) >= price.unit_net * D("0.12")
    for other in (a_plan(shop), a_plan(altered(paying(moosgrund), price={"cash_step": D("0.05")}), payment="pay")):
        assert other.price.total_cash is None
    assert a_plan(paying(moosgrund, PaymentKind.CASH), payment="pay").price.total_cash is None  # the euro has no step


def test_coins_above_the_total_have_the_decimals_of_the_currency(moosgrund):
    """Nothing is to spare where the price ends at the last cent, so whole euros are the next above."""
    ends = {"price_step": D("0.01"), "price_ending": D(0)}
    shop = altered(paying(moosgrund, PaymentKind.CASH), price={"cash_step": D(1), **ends})
    price = next(
        found
        for mm in range(40, 60)
        if (found := a_plan(shop, payment="pay", square_mm=float(mm)).price).total % 1 < D("0.5")
    )
    assert 0 < price.total_cash - price.total < 1
    assert str(price.total_cash).endswith(".00")


@pytest.mark.parametrize("pct", [1, 33, 100])
def test_a_deposit_in_cash_is_paid_in_coins_and_so_is_its_balance(moosgrund, pct):
    shop = altered(paying(moosgrund, PaymentKind.CASH), price={"cash_step": D("0.50"), "deposit_pct": D(pct)})
    price = a_plan(shop, payment="pay").price
    deposit = price.deposit
    assert deposit.amount % D("0.50") == deposit.balance % D("0.50") == 0
    assert deposit.amount + deposit.balance == price.total_cash
    assert deposit.balance > 0 if pct < 100 else deposit.balance == 0
    assert abs(deposit.amount - price.total * pct / 100) <= D("0.51")


# Other currencies -----------------------------------------------------------------------------------------------------


def exchanging(shop, **changes):
    table = {"on": date(2027, 1, 20), "source": "test", "rates": {"USD": D("1.0832")}, "max_age_days": 12, "ends": {}}
    return altered(shop, exchange=Exchange(**{**table, **changes}))


def test_a_price_in_another_currency_is_made_of_costs_converted_upwards(moosgrund):
    shop = exchanging(moosgrund)
    price, own = a_plan(shop, currency="USD").price, a_plan(shop).price
    assert (price.currency, price.exchange, own.exchange) == ("USD", D("1.0832"), None)
    for line, home in zip(price.costs, own.costs, strict=True):
        assert 0 <= line.amount - home.amount * D("1.0832") < D("0.01")
    assert price.unit_gross == price.asked  # no ends but the smallest coin
    assert price.margin_total >= price.unit_net * D("0.12")
    assert price.unit_net / D("1.0832") >= own.cost_total


@pytest.mark.parametrize(
    ("age_days", "told"), [(-1, "exchange-rate-later"), (0, None), (12, None), (13, "exchange-rate-old")]
)
def test_a_table_of_another_time_is_pointed_out_to_the_workshop(moosgrund, age_days, told):
    shop = exchanging(moosgrund, on=TODAY - timedelta(days=age_days))
    codes = [(advice.code, advice.audience) for advice in a_plan(shop, currency="USD").price.advice]
    assert codes == ([(told, Audience.WORKSHOP)] if told else [])
    assert a_plan(shop).price.advice == ()


@pytest.mark.parametrize(
    ("changes", "at", "code", "words"),
    [
        ({"currency": "GBP"}, "currency", "not-offered", "It quotes in: EUR, USD"),
        ({"currency": "EUT"}, "currency", "unknown-name", "Did you mean"),
        ({"payment": "pax"}, "payment", "unknown-name", "pay"),
    ],
)
def test_what_the_shop_does_not_take_is_refused_with_what_it_does(moosgrund, changes, at, code, words):
    shop = paying(exchanging(moosgrund))
    with pytest.raises(Refused) as caught:
        a_plan(shop, **changes)
    (fault,) = caught.value.faults
    assert (fault.at, fault.code) == ((at,), code)
    assert words in fault.detail


def test_a_shop_without_ways_to_pay_says_so(moosgrund):
    with pytest.raises(Refused) as caught:
        a_plan(altered(moosgrund, payments={}), payment="card")
    assert caught.value.faults[0].code == "not-offered"
