"""What an answer shows of money to whom: amounts as people write them, and none of the shop's reckoning."""

from datetime import timedelta
from decimal import Decimal

import pytest
from builders import TODAY, a_plan, altered

from chequerwork.api.views import section
from chequerwork.domain.basics.trade import Exchange, FeeBase, Payment, PaymentKind, Rush

D = Decimal
INSIDE = {"workshop", "costs", "fees", "payment_fees", "discount", "margin_pct", "markup_pct", "exchange", "risk"}


@pytest.fixture
def plan(moosgrund):
    """An order that meets everything a shop may set: haste, deposit, discount, a paid way to pay, another currency."""
    shop = altered(
        moosgrund,
        price={
            "rush": Rush(within_days=14, surcharge_pct=D("12.5")), "deposit_pct": D(40), "discount_pct": D(10),
        },
        payments={
            "cash": Payment(
                key="cash", name="Cash", kind=PaymentKind.CASH, fee_pct=D(1), fee_base=FeeBase.GROSS, fee_fixed=D(0)
            )
        },
        exchange=Exchange(on=TODAY, source="test", rates={"CHF": D("0.9350")}, max_age_days=9, ends={}),
        locale="de_AT",
    )  # fmt: skip
    return a_plan(shop, payment="cash", currency="CHF", wanted_by=TODAY + timedelta(days=9), quantity=3)


def names(tree):
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield key
            yield from names(value)


def test_a_customer_sees_what_is_paid_and_nothing_of_how_it_is_reckoned(plan):
    told = section(plan, "price", workshop=False)["price"]
    assert not INSIDE & set(names(told))
    assert told["rush"] == {
        "within_days": 14, "surcharge_pct": 12.5, "unit_amount": f"{plan.price.rush.unit_amount:f}",
    }  # fmt: skip
    assert D(told["deposit"]["amount"]) + D(told["deposit"]["balance"]) == D(told["total_cash"])
    assert D(told["total_cash"]) % D("0.05") == 0


def test_texts_stand_beside_amounts(plan):
    told = section(plan, "price", workshop=False)["price"]
    spoken = f"CHF\N{NO-BREAK SPACE}{told['total']}".replace(",", "").replace(".", ",")
    assert told["total_text"].replace("\N{NO-BREAK SPACE}", "").replace(".", "") == spoken.replace(
        "\N{NO-BREAK SPACE}", ""
    )
    for name in ("unit_gross_text", "shipping_text"):
        assert told[name].startswith("CHF")
    assert told["deposit"]["amount_text"].startswith("CHF")


def test_the_workshop_sees_the_rate_the_second_fee_and_what_a_discount_leaves(plan):
    told = section(plan, "price", workshop=True)["price"]["workshop"]
    assert told["exchange"] == {"from": "EUR", "rate": "0.9350", "on": "2027-02-01", "source": "test"}
    assert D(told["fees_total"]) == D(told["fees"]["amount"]) + D(told["payment_fees"]["amount"])
    assert told["payment_fees"]["payment"] == "cash"
    assert told["discount"]["pct"] == 10.0
    assert told["discount"]["margin_pct"] >= 12


def test_numbers_stay_numbers_in_cells_and_texts_are_written_out_on_pages(client):
    asked = "square=48mm&light=pear&dark=wenge&issued_on=2027-02-01"
    cell = client.get(f"/v1/price.txt?{asked}&field=price.total").get_data(as_text=True)
    assert D(cell) > 0
    page = client.get(f"/v1/quotes.txt?{asked}").get_data(as_text=True)
    assert "€\N{NO-BREAK SPACE}" in page
