"""Price of the whole order; for the maker what it is made of."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import lacking, many, money, num, one, text, whole
from chequerwork.api.sections.trees import Fields, Tree, amount
from chequerwork.domain.advice import Audience
from chequerwork.domain.plan import Plan

SHAPES: Final[Mapping[str, Fields]] = {
    "Cost": {"code": text(), "title": text(), "amount": money()},
    "Fees": {"channel": text(), "rate_pct": num(), "base": text(), "fixed": money(), "amount": money()},
    "Risk": {"p50": money("Cost if hours are as expected."), "p80": money(), "p95": money()},
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
        "margin_total": money(),
        "fees": one("Fees"),
        "risk": one("Risk"),
        "from_stock": lacking("FromStock", "Where from_stock=1 is asked."),
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
        "total": money("What the customer pays: quantity x unit_net + shipping + tax."),
        "workshop": lacking("CostBuildUp", "Workshop view."),
    },
}


def view(plan: Plan, caller: Audience) -> Tree:
    """The section as a tree, as far as the caller may see it."""
    found = plan.price
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
        "total": amount(found.total),
    }
    if caller is Audience.WORKSHOP:
        tree["workshop"] = {
            "costs": [{"code": c.code, "title": c.title, "amount": amount(c.amount)} for c in found.costs],
            "cost_total": amount(found.cost_total),
            "floor_total": amount(found.floor_total),
            "margin_pct": float(found.margin_pct),
            "margin_total": amount(found.margin_total),
            "fees": {
                "channel": found.fees.channel,
                "rate_pct": float(found.fees.rate_pct),
                "base": found.fees.base,
                "fixed": amount(found.fees.fixed),
                "amount": amount(found.fees.amount),
            },
            "risk": {
                "p50": amount(found.cost_p50),
                "p80": amount(found.cost_p80),
                "p95": amount(found.cost_p95),
            },
        }
    return tree


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
