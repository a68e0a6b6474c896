"""Prices of random shops: every sum to the last coin, the promise always kept, the floor never crossed."""

from datetime import timedelta
from decimal import ROUND_CEILING, Decimal
from itertools import count

import pytest
from builders import TODAY, a_plan, altered, demo_shops, demo_tables, reordered
from formulas import calculated
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chequerwork.api.views import section
from chequerwork.domain.basics.shop import Promise
from chequerwork.domain.basics.trade import (
    Channel,
    Exchange,
    FeeBase,
    Payment,
    PaymentKind,
    PriceEnd,
    Rush,
    TaxRegime,
)
from chequerwork.domain.explain import explain
from chequerwork.domain.money.fees import layer_of, net_for_margin
from chequerwork.domain.money.pricing import Till
from chequerwork.domain.money.terms import terms_of
from chequerwork.domain.plan import Plan

pytestmark = pytest.mark.slow("random prices by the hundred")

D = Decimal
TABLES, MOOSGRUND = demo_tables(), demo_shops()["moosgrund"]
MANY = settings(max_examples=250, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
# Currencies of 0, 2, 3 and 4 decimals: how many there are for a euro, near enough, and price ends.
CURRENCIES = {
    "EUR": (D(1), ("10", "9")),
    "JPY": (D(160), ("500", "480")),
    "TND": (D("3.3"), ("5", "4.950")),
    "CLF": (D("0.0285"), ("0.5", "0.25")),
}
PLAN = a_plan(feet=4)  # the work and the wood are always these; what is random is how they are sold


def digits(low: str, high: str, places: int):
    """Amounts or percentages with so many decimals."""
    unit = D(1).scaleb(-places)
    return st.integers(int(D(low) / unit), int(D(high) / unit)).map(lambda n: n * unit)


def bounds(draw, exponent, scale):
    least = draw(st.just(D(0)) | digits("0", "40", exponent)) * scale
    most = draw(st.none() | digits("1", "60", exponent))
    most = None if most is None else max(least, most * scale)
    coin = D(1).scaleb(-exponent)
    return least.quantize(coin), None if most is None else most.quantize(coin)


def a_charge(draw, made, key, exponent, scale, **more):
    least, most = bounds(draw, exponent, scale)
    return made(
        key=key,
        name=key,
        fee_pct=draw(digits("0", "20", 1)),
        fee_base=draw(st.sampled_from(FeeBase)),
        fee_fixed=(draw(digits("0", "3", exponent)) * scale).quantize(D(1).scaleb(-exponent)),
        fee_least=least,
        fee_max=most,
        **more,
    )


@st.composite
def sold(draw):
    """A shop that sells in some way, and an order placed with it."""
    currency = draw(st.sampled_from(sorted(CURRENCIES)))
    scale, (step, ending) = CURRENCIES[currency]
    exponent = TABLES.currencies[currency].exponent
    coin = D(1).scaleb(-exponent)
    by_margin = draw(st.booleans())
    ends = draw(st.sampled_from([(D(step), D(ending)), (coin, D(0))]))
    regime = draw(st.sampled_from(TaxRegime))
    channel = a_charge(
        draw, Channel, "own_site", exponent, scale, regime=draw(st.none() | st.sampled_from(TaxRegime)),
        rates_pct=draw(st.just({}) | digits("0", "30", 1).map(lambda pct: {"DE": pct})),
        collects=draw(st.sampled_from([frozenset(), frozenset({"DE"})])),
    )  # fmt: skip
    payment = a_charge(draw, Payment, "pay", exponent, scale, kind=draw(st.sampled_from(PaymentKind)))
    shop = altered(
        MOOSGRUND,
        currency=currency,
        labour={"rate_h": D(31) * scale},
        machines={"rate_h": draw(st.sampled_from([D(0), D(5) * scale]))},
        channels={"own_site": channel},
        payments={"pay": payment},
        tax={
            "regime": regime,
            "rates_pct": {"AT": draw(digits("0", "30", 1))},
            "on_shipping": draw(st.booleans()),
        },
        price={
            "margin_pct": draw(digits("0", "35", 1)) if by_margin else D(0),
            "markup_pct": D(0) if by_margin else draw(digits("0", "200", 1)),
            "price_step": ends[0],
            "price_ending": ends[1],
            "discount_pct": draw(st.just(D(0)) | digits("0", "40", 1)),
            "deposit_pct": draw(st.just(D(0)) | digits("1", "100", 1)),
            "rush": draw(st.none() | st.just(Rush(within_days=10, surcharge_pct=D("12.5")))),
            "cash_step": draw(st.none() | st.just(5 * coin)),
            "holds_at": draw(st.sampled_from(Promise)),
        },
        exchange=Exchange(
            on=TODAY, source="test", rates={"KWD": D("0.3127") / scale, "USD": D("1.0832") / scale}, max_age_days=9,
            ends=draw(st.sampled_from([{}, {"USD": PriceEnd(step=D(10), ending=D("9.50"))}])),
        ),
    )  # fmt: skip
    order = reordered(
        PLAN.order,
        quantity=draw(st.integers(1, 40)),
        ship_to=draw(st.sampled_from(["AT", "DE", "CH"])),
        channel="own_site",
        payment=draw(st.sampled_from([None, "pay"])),
        currency=draw(st.sampled_from([currency, "KWD", "USD"])),
        wanted_by=draw(st.none() | st.sampled_from([TODAY + timedelta(days=5), TODAY + timedelta(days=50)])),
    )
    return Plan(order, shop, TABLES)


@MANY
@given(sold())
def test_every_sum_is_of_what_is_shown(plan):
    price = plan.price
    assert price.total == price.quantity * price.unit_net + price.shipping + price.tax
    assert price.total == price.quantity * price.unit_gross + price.shipping_gross
    assert price.cost_total == sum(cost.amount for cost in price.costs)
    taken = price.fees.amount + (price.payment.amount if price.payment else 0)
    assert price.margin_total == price.quantity * price.unit_net - taken - price.cost_total
    if price.deposit:
        paid = price.total if price.total_cash is None else price.total_cash
        assert price.deposit.amount + price.deposit.balance == paid
        assert 0 <= price.deposit.amount <= paid


@MANY
@given(sold())
def test_every_amount_is_in_coins_of_its_currency(plan):
    price = plan.price
    coin = D(1).scaleb(-TABLES.currencies[price.currency].exponent)
    amounts = [price.unit_net, price.unit_gross, price.shipping, price.shipping_gross, price.tax, price.total]
    amounts += [price.cost_total, price.floor_total, price.fees.amount, price.margin_total]
    amounts += [cost.amount for cost in price.costs]
    assert [amount for amount in amounts if amount % coin] == []
    assert all(amount.as_tuple().exponent >= coin.as_tuple().exponent for amount in amounts)


@MANY
@given(sold())
def test_the_promise_is_kept_to_the_last_coin_and_the_floor_is_never_crossed(plan):
    """In the quote's currency; and in the shop's own, since costs are converted upwards."""
    price, rules = plan.price, plan.shop.price
    goods = price.quantity * price.unit_net
    assert goods >= price.floor_total
    assert price.margin_total >= goods * rules.margin_pct / 100 + price.cost_total * rules.markup_pct / 100
    assert price.margin_total >= 0
    if price.exchange:
        own_cost = sum(cost.amount for cost in price.own_costs)
        own_fees = price.fees_total / price.exchange
        assert goods / price.exchange - own_fees - own_cost >= goods / price.exchange * rules.margin_pct / 100


@MANY
@given(sold())
def test_a_discount_that_is_given_leaves_the_promise_too(plan):
    price, rules = plan.price, plan.shop.price
    assert (price.discount is None) == (rules.discount_pct == 0)
    if price.discount:
        assert price.discount.unit_gross <= price.unit_gross
        assert price.discount.margin_total >= price.cost_total * rules.markup_pct / 100
        assert price.discount.margin_pct >= rules.margin_pct - D("0.01")


@MANY
@given(sold())
def test_haste_costs_its_surcharge_and_only_who_asked_soon(plan):
    price, order = plan.price, plan.order
    soon = order.dates.wanted_by == TODAY + timedelta(days=5)
    assert (price.rush is not None) == (plan.shop.price.rush is not None and soon)
    calm = Plan(reordered(order, wanted_by=None), plan.shop, TABLES).price
    assert price.unit_gross - calm.unit_gross == (price.rush.unit_amount if price.rush else 0)


@MANY
@given(sold())
def test_cash_is_rounded_in_the_total_alone(plan):
    price, payment = plan.price, plan.order.sale.payment
    in_cash = payment is not None and plan.shop.payments[payment].kind is PaymentKind.CASH
    own = price.currency == plan.shop.currency
    step = plan.shop.price.cash_step if in_cash and own else None
    assert (price.total_cash is None) == (step is None)
    if step is not None:
        goods = price.quantity * price.unit_net
        promised = goods * plan.shop.price.margin_pct / 100 + price.cost_total * plan.shop.price.markup_pct / 100
        assert price.total_cash % step == 0
        assert abs(price.total_cash - price.total) < step
        assert price.margin_total + price.total_cash - price.total >= promised
        if price.deposit:
            assert price.deposit.amount % step == 0
            assert price.deposit.balance % step == 0


@MANY
@given(sold())
def test_one_price_end_lower_would_break_the_promise(plan):
    """But for what rounding gives: half a coin of each fee and of each board's tax, and a coin of the price steps."""
    price, shop = plan.price, plan.shop
    ends = (shop.price.price_step, price.currency == shop.currency)
    if price.rush or price.discount or not ends[1] or ends[0] < 1:
        return
    included = price.regime is TaxRegime.INCLUDED
    lower = (price.unit_gross if included else price.unit_net) - ends[0]
    net = lower / (1 + price.tax_pct / 100) if included else lower
    layers = terms_layers(plan)
    cost = price.cost_total * (1 + shop.price.markup_pct / 100)
    wanted = net_for_margin(cost, layers, shop.price.margin_pct / 100)
    coin = D(1).scaleb(-TABLES.currencies[price.currency].exponent)
    assert net < wanted / price.quantity + 3 * coin + short_of(price, layers, coin)


def short_of(price, layers, coin):
    """How far one board's price may be raised for the rounding of fees and tax."""
    left = 1 - sum(layer.share for layer in layers)
    return (2 * coin + price.quantity * coin) / price.quantity / max(left, D("0.05"))


def terms_layers(plan):
    charges = [plan.shop.channels["own_site"]]
    charges += [plan.shop.payments[plan.order.sale.payment]] if plan.order.sale.payment else []
    price = plan.price
    return [layer_of(charge, tax=price.tax_pct / 100, shipping_gross=price.shipping_gross) for charge in charges]


# The gross-up against a search ----------------------------------------------------------------------------------------


@st.composite
def charges(draw):
    least, most = bounds(draw, 2, D(1))
    return Channel(
        key="x", name="x", fee_pct=draw(digits("0", "30", 1)), fee_base=draw(st.sampled_from(FeeBase)),
        fee_fixed=draw(digits("0", "3", 2)), fee_least=least, fee_max=most,
    )  # fmt: skip


@MANY
@given(
    st.lists(charges(), min_size=1, max_size=2), digits("0", "300", 2), digits("0", "30", 1), digits("0", "25", 1),
    digits("0", "30", 2),
)  # fmt: skip
def test_the_net_price_is_the_least_cent_that_keeps_the_margin(takers, cost, margin_pct, tax_pct, shipping_gross):
    """Counted up cent by cent from a price too low, with fees worked out as a channel would: no formula."""
    tax, margin = tax_pct / 100, margin_pct / 100

    def left(net):
        fees = D(0)
        for taker in takers:
            of = {
                FeeBase.NET: net,
                FeeBase.GROSS: net * (1 + tax),
                FeeBase.GROSS_WITH_SHIPPING: net * (1 + tax) + shipping_gross,
            }[taker.fee_base]
            share = max(of * taker.fee_pct / 100, taker.fee_least)
            fees += taker.fee_fixed + (share if taker.fee_max is None else min(share, taker.fee_max))
        return net - fees - cost - margin * net

    layers = [layer_of(taker, tax=tax, shipping_gross=shipping_gross) for taker in takers]
    found = net_for_margin(cost, layers, margin)
    assert abs(left(found)) < D("1e-12")
    start = max(D(0), found.quantize(D("0.01"), ROUND_CEILING) - D("0.30"))
    counted = next(net for net in (start + D(n) / 100 for n in count()) if left(net) > D("-1e-12"))
    if counted > start:
        assert counted - D("0.01") < found + D("1e-12") <= counted + D("2e-12")


def test_rounding_never_takes_a_cent_of_the_promise():
    """Without price ends, for every cost to 20.00: some prices must be raised by a cent, and then they are."""
    channel = Channel(key="own_site", name="x", fee_pct=D(10), fee_base=FeeBase.GROSS, fee_fixed=D("0.25"))
    raised = 0
    for regime in TaxRegime:
        shop = altered(
            MOOSGRUND, channels={"own_site": channel}, tax={"regime": regime}, price={"price_step": D("0.01")}
        )
        shop = altered(shop, price={"price_ending": D(0)})
        terms = terms_of(PLAN.order.sale, TODAY, None, shop, TABLES)
        for cents in range(1, 2001):
            till = Till(terms, 1, D(cents) / 100, D(0))
            asked, sold_at, _ = till.tag(surcharge=D(0))
            assert sold_at.kept >= sold_at.goods * D("0.12")
            raised += asked > till.asked(surcharge=D(0))
            below = till.sold((sold_at.unit_gross if till.terms.included else sold_at.unit_net) - D("0.02"))
            assert below.kept < below.goods * D("0.12")
    assert raised > 100


@settings(MANY, max_examples=80)
@given(sold())
def test_every_way_to_sell_is_explained_truly(plan):
    """Each explained number is the one shown, and a calculator gets it from what is told, in every currency."""
    steps = explain(plan, ("price",), workshop=True)["price"]
    tree = section(plan, "price", workshop=True)
    for step in steps:
        by_hand = calculated(step.formula.expression, step.inputs)
        assert abs(D(by_hand) - D(step.result)) <= D("1e-7") * max(1, abs(D(step.result))), step
        if step.part is None:
            here = tree
            for part in step.at:
                here = here[part]
            told = D(str(here))
            assert told == round(D(step.result), max(0, -told.as_tuple().exponent)), (step.at, step.result)
    assert {"fees_total", "cost_total", "margin_total"} <= {step.at[-1] for step in steps}
