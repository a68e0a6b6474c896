"""Price of the whole order; for the maker what it is made of."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Final

from chequerwork.api.answer_fields import day, lacking, many, maybe_money, maybe_one, money, num, one, text, whole
from chequerwork.api.sections.trees import Fields, Tree, amount
from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.money.pricing import Deposit, Given, Hurry
from chequerwork.domain.money.pricing import Fees as PricedFees
from chequerwork.domain.plan import Plan
from chequerwork.writing import amount_text, usual_locale

_FEE: Final[Fields] = {
    "rate_pct": num(),
    "base": text("net, gross or gross_with_shipping."),
    "fixed": money("On top of the percentage."),
    "amount": money("All of it: the percentage within its bounds, and the fixed part, rounded once."),
}

SHAPES: Final[Mapping[str, Fields]] = {
    "Cost": {"code": text(), "title": text(), "amount": money()},
    "Fees": {"channel": text(), **_FEE},
    "PaymentFees": {"payment": text("Way to pay."), **_FEE},
    "Discount": {
        "pct": num("The discount that the shown price leaves room for."),
        "unit_gross": money("One board with tax, the discount given."),
        "margin_pct": num(),
        "margin_total": money("What is left then."),
    },
    "Exchange": {
        "from": text("The shop's own currency, ISO 4217."),
        "rate": text("Units of the quote's currency for one of the shop's, as text."),
        "on": day("Of the rate."),
        "source": text(),
    },
    "Rush": {
        "within_days": whole("Orders wanted within so many days of their date pay it."),
        "surcharge_pct": num("On the price without tax."),
        "unit_amount": money("What it adds to the price of one board with tax; it is inside that price."),
    },
    "Deposit": {
        "pct": num("Of the total."),
        "amount": money("Paid when the order is placed."),
        "amount_text": text(),
        "balance": money("Paid before dispatch; both are the total, or total_cash where it is given."),
        "balance_text": text(),
    },
    "Risk": {
        "p50": money("Cost that one order in two exceeds, for its work and waste."),
        "p80": money("One in five."),
        "p95": money("One in twenty."),
        "correlation": num("The shop's, as of its hours."),
    },
    "FromStock": {
        "lumber_cost": money(
            "Of the stock plan: boards used, kept leftovers taken off; sheets too where it cuts them."
        ),
        "lumber_allowed": money("Of the same wood by the shop's usual yield: what the price is made of."),
        "saving": money("Negative where the plan costs more."),
        "cost_total": money("With the plan's wood; waste and overhead follow it."),
        "margin_pct": num("Of the goods' net price, which stays."),
        "margin_total": money(),
        "status": text("optimal, good or stopped."),
        "gap_pct": num("Share of the plan's cost that a better plan could save at most."),
    },
    "CostBuildUp": {
        "costs": many("Cost"),
        "cost_total": money("Sum of the lines."),
        "floor_total": money("Least net price of the goods at which nothing is lost."),
        "margin_pct": num("Of the goods' net price, after fees and costs."),
        "margin_total": money("Goods without tax, less fees and costs; never less than the shop asks for."),
        "markup_pct": num("The same, of the cost."),
        "fees": one("Fees"),
        "payment_fees": maybe_one("PaymentFees"),
        "fees_total": money("Of channel and payment."),
        "discount": maybe_one("Discount"),
        "exchange": maybe_one("Exchange"),
        "risk": one("Risk"),
        "from_stock": lacking("FromStock", "Where from_stock=1 is asked."),
        "sensitivity": lacking("Sensitivity", "Where sensitivity=1 is asked: what moves the price."),
    },
    "Price": {
        "currency": text("ISO 4217."),
        "quantity": whole(),
        "unit_net": money("One board without tax."),
        "unit_gross": money("One board with tax."),
        "shipping": money("Without tax."),
        "shipping_gross": money("With tax."),
        "tax_name": text(),
        "tax_pct": num(),
        "tax_regime": text("included or added."),
        "tax": money("All tax."),
        "shipping_tax_pct": num(),
        "tax_paid_by": text("shop, or channel where the channel itself takes and pays the tax."),
        "total": money("What the customer pays: quantity x unit_net + shipping + tax."),
        "total_cash": maybe_money("The total in coins, for cash of which coins do not pay every total; else null."),
        "unit_net_text": text("As people of the shop's place write it; spaces in it do not break."),
        "unit_gross_text": text(),
        "shipping_text": text("Without tax."),
        "shipping_gross_text": text("With tax."),
        "tax_text": text(),
        "total_text": text(),
        "rush": maybe_one("Rush"),
        "deposit": maybe_one("Deposit"),
        "workshop": lacking("CostBuildUp", "Workshop view."),
    },
}


def view(plan: Plan, caller: Audience) -> Tree:
    """The section as a tree, as far as the caller may see it."""
    found, tell = plan.price, _teller(plan)
    tree: Tree = {
        "currency": found.currency,
        "quantity": found.quantity,
        "unit_net": amount(found.unit_net),
        "unit_gross": amount(found.unit_gross),
        "shipping": amount(found.shipping),
        "shipping_gross": amount(found.shipping_gross),
        "tax_name": found.tax_name,
        "tax_pct": float(found.tax_pct),
        "tax_regime": found.regime,
        "tax": amount(found.tax),
        "shipping_tax_pct": float(found.shipping_tax_pct),
        "tax_paid_by": "channel" if found.collected else "shop",
        "total": amount(found.total),
        "total_cash": None if found.total_cash is None else amount(found.total_cash),
        "unit_net_text": tell(found.unit_net),
        "unit_gross_text": tell(found.unit_gross),
        "shipping_text": tell(found.shipping),
        "shipping_gross_text": tell(found.shipping_gross),
        "tax_text": tell(found.tax),
        "total_text": tell(found.total),
        "rush": _rush(found.rush),
        "deposit": _deposit(found.deposit, tell),
    }
    if caller is Audience.WORKSHOP:
        tree["workshop"] = {
            "costs": [{"code": c.code, "title": c.title, "amount": amount(c.amount)} for c in found.costs],
            "cost_total": amount(found.cost_total),
            "floor_total": amount(found.floor_total),
            "margin_pct": float(found.margin_pct),
            "margin_total": amount(found.margin_total),
            "markup_pct": float(found.markup_pct),
            "fees": {"channel": found.fees.key, **_fees(found.fees)},
            "payment_fees": {"payment": found.payment.key, **_fees(found.payment)} if found.payment else None,
            "fees_total": amount(found.fees_total),
            "discount": _discount(found.discount),
            "exchange": _exchange(plan),
            "risk": {
                "p50": amount(plan.risk.p50),
                "p80": amount(plan.risk.p80),
                "p95": amount(plan.risk.p95),
                "correlation": plan.hours.correlation,
            },
        }
    return tree


def _teller(plan: Plan) -> Callable[[Decimal], str]:
    """How the amounts of a plan are written."""
    shop, currency = plan.shop, plan.price.currency
    exponent, locale = plan.tables.currencies[currency].exponent, shop.locale or usual_locale(shop.country)
    return lambda money: amount_text(money, exponent, currency, locale)


def _fees(found: PricedFees) -> Tree:
    return {
        "rate_pct": float(found.rate_pct),
        "base": found.base,
        "fixed": amount(found.fixed),
        "amount": amount(found.amount),
    }


def _rush(found: Hurry | None) -> Tree | None:
    if found is None:
        return None
    return {
        "within_days": found.within_days,
        "surcharge_pct": float(found.surcharge_pct),
        "unit_amount": amount(found.unit_amount),
    }


def _deposit(found: Deposit | None, tell: Callable[[Decimal], str]) -> Tree | None:
    if found is None:
        return None
    return {
        "pct": float(found.pct),
        "amount": amount(found.amount),
        "amount_text": tell(found.amount),
        "balance": amount(found.balance),
        "balance_text": tell(found.balance),
    }


def _discount(found: Given | None) -> Tree | None:
    if found is None:
        return None
    return {
        "pct": float(found.pct),
        "unit_gross": amount(found.unit_gross),
        "margin_pct": float(found.margin_pct),
        "margin_total": amount(found.margin_total),
    }


def _exchange(plan: Plan) -> Tree | None:
    table, rate = plan.shop.exchange, plan.price.exchange
    if table is None or rate is None:
        return None
    return {"from": plan.shop.currency, "rate": f"{rate:f}", "on": table.on.isoformat(), "source": table.source}


def from_stock(plan: Plan) -> Tree:
    """What the order costs if its wood is cut by the stock plan."""
    found = plan.from_stock
    return {
        "lumber_cost": amount(found.lumber_cost),
        "lumber_allowed": amount(found.allowed.cost),
        "saving": amount(found.allowed.saving),
        "cost_total": amount(found.cost_total),
        "margin_pct": float(found.margin_pct),
        "margin_total": amount(found.margin_total),
        "status": found.status,
        "gap_pct": round(found.gap_pct, 3),
    }
