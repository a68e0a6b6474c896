"""Margins, fees, tax and rounding against the trade's arithmetic."""

from dataclasses import replace
from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from builders import altered, published

from chequerwork.domain.amounts import price_end, round_money
from chequerwork.domain.pricing import _fees, _unit, net_for_margin
from chequerwork.domain.shop import Channel, FeeBase, TaxRegime

EXACT = 20  # decimals: as good as unrounded


def channel(fee_pct, base, fee_fixed):
    return Channel(
        key="test", name="Test", fee_pct=Decimal(fee_pct), fee_base=FeeBase(base), fee_fixed=Decimal(fee_fixed)
    )


def net_price(*, cost, fee_pct, fee_fixed, base, tax, margin):
    takes = channel(fee_pct, base, fee_fixed)
    return net_for_margin(Decimal(cost), takes, margin=Decimal(margin), tax=Decimal(tax), shipping=Decimal(0))


def margin_that_remains(*, cost, fee_pct, fee_fixed, base, tax, margin):
    """What is kept of the price after the fee the channel really takes of it."""
    net = net_price(cost=cost, fee_pct=fee_pct, fee_fixed=fee_fixed, base=base, tax=tax, margin=margin)
    taken = _fees(channel(fee_pct, base, fee_fixed), net, Decimal(0), Decimal(tax), EXACT).amount
    return (net - taken - Decimal(cost)) / net


def markup_of_margin(*, margins):
    free = channel("0", "net", "0")
    return [
        net_for_margin(Decimal(1), free, margin=Decimal(margin), tax=Decimal(0), shipping=Decimal(0)) - 1
        for margin in margins
    ]


@pytest.fixture(scope="module")
def functions(moosgrund):
    plain = altered(moosgrund, price={"price_step": Decimal(0), "price_ending": Decimal(0)})

    def tax_inside(*, net, tax):
        unit_net, unit_tax = _unit(Decimal(net), Decimal(tax), plain, 2)
        return unit_tax / (unit_net + unit_tax)

    def tax_of_three(*, unit_net, tax, by):
        """The service's way, by unit; and the other way, which it does not take."""
        shop = replace(plain, tax=replace(plain.tax, regime=TaxRegime.ADDED))
        net, unit_tax = _unit(Decimal(unit_net), Decimal(tax), shop, 2)
        return 3 * unit_tax if by == "unit" else round_money(3 * net * Decimal(tax), 2)

    return {
        "markup_of_margin": markup_of_margin,
        "net_price": net_price,
        "margin_that_remains": margin_that_remains,
        "tax_inside": tax_inside,
        "tax_of_three": tax_of_three,
        "halves": lambda *, amount: [
            round_money(Decimal(amount), 2),
            round_money(Decimal(amount), 2, rounding=ROUND_HALF_EVEN),
        ],
        "price_end": lambda **given: price_end(**{name: Decimal(text) for name, text in given.items()}),
    }


@pytest.mark.parametrize("row", published("pricing"))
def test_published_figure(functions, row):
    answer = functions[row.function](**row.inputs)
    exact = [float(each) for each in answer] if isinstance(answer, list) else float(answer)
    assert exact == row.expected, row.note


def test_a_binary_float_would_round_the_wrong_way():
    """TRADE-PRICE (P11b): a float rounds 2.675 down to 2.67; money is decimal and gives 2.68."""
    assert round(2.675, 2) == 2.67
    assert round_money(Decimal("2.675"), 2) == Decimal("2.68")
