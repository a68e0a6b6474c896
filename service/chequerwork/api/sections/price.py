"""Price of the whole order; for the maker what it is made of."""

from decimal import Decimal
from typing import Final

from chequerwork.api.component import (
    Component,
    Keys,
    PlanContext,
    context_of,
    day,
    elsewhere,
    from_plan,
    itself,
    many,
    maybe,
    money,
    named,
    number,
    one,
    optional,
    other,
    percentage,
    text,
    whole,
    workshop,
)
from chequerwork.api.sections.trees import Tree, amount
from chequerwork.domain.basics.trade import Exchange
from chequerwork.domain.money.pricing import Price
from chequerwork.domain.plan import Plan
from chequerwork.writing import amount_text, usual_locale


def _in_words(value: Decimal, to: PlanContext) -> str:
    """An amount as people of the shop's place write it."""
    shop, currency = to.plan.shop, to.plan.price.currency
    locale = shop.locale or usual_locale(shop.country)
    return amount_text(value, to.plan.tables.currencies[currency].exponent, currency, locale)


def _told(name: str, about: str = "") -> Keys:
    """The text of an amount."""
    return other(f"{name}_text", {"type": "string"}, about, name, write=_in_words)


def _exchange(found: Price, to: PlanContext) -> Exchange | None:
    return None if found.exchange is None else to.plan.shop.exchange


_FEE: Final = (
    *percentage("rate_pct"),
    *text("base", "net, gross or gross_with_shipping."),
    *money("fixed", "On top of the percentage."),
    *money("amount", "All of it: the percentage within its bounds, and the fixed part, rounded once."),
)
COST: Final = Component("Cost", text("code"), text("title"), money("amount"))
FEES: Final = Component("Fees", text("channel", of="key"), _FEE)
PAYMENT_FEES: Final = Component("PaymentFees", text("payment", "Way to pay.", "key"), _FEE)
DISCOUNT: Final = Component(
    "Discount",
    percentage("pct", "The discount that the shown price leaves room for."),
    money("unit_gross", "One board with tax, the discount given."),
    percentage("margin_pct"),
    money("margin_total", "What is left then."),
)
EXCHANGE: Final = Component(
    "Exchange",
    text("from", "The shop's own currency, ISO 4217.", from_plan("shop.currency")),
    text(
        "rate",
        "Units of the quote's currency for one of the shop's, as text.",
        lambda _, to: amount(to.plan.price.exchange),
    ),
    day("on", "Of the rate."),
    text("source"),
)
RUSH: Final = Component(
    "Rush",
    whole("within_days", "Orders wanted within so many days of their date pay it."),
    percentage("surcharge_pct", "On the price without tax."),
    money("unit_amount", "What it adds to the price of one board with tax; it is inside that price."),
)
DEPOSIT: Final = Component(
    "Deposit",
    percentage("pct", "Of the total."),
    money("amount", "Paid when the order is placed."),
    _told("amount"),
    money("balance", "Paid before dispatch; both are the total, or total_cash where it is given."),
    _told("balance"),
)
RISK: Final = Component(
    "Risk",
    money("p50", "Cost that one order in two exceeds, for its work and waste."),
    money("p80", "One in five."),
    money("p95", "One in twenty."),
    number("correlation", "The shop's, as of its hours.", from_plan("hours.correlation")),
)
FROM_STOCK: Final = Component(
    "FromStock",
    money("lumber_cost", "Of the stock plan: boards used, kept leftovers taken off; sheets too where it cuts them."),
    money("lumber_allowed", "Of the same wood by the shop's usual yield: what the price is made of.", "allowed.cost"),
    money("saving", "Negative where the plan costs more.", "allowed.saving"),
    money("cost_total", "With the plan's wood; waste and overhead follow it."),
    percentage("margin_pct", "Of the goods' net price, which stays."),
    money("margin_total"),
    text("status", "optimal, good or stopped."),
    number("gap_pct", "Share of the plan's cost that a better plan could save at most.", decimals=3),
)
COST_BUILD_UP: Final = Component(
    "CostBuildUp",
    many("costs", COST),
    money("cost_total", "Sum of the lines."),
    money("floor_total", "Least net price of the goods at which nothing is lost."),
    percentage("margin_pct", "Of the goods' net price, after fees and costs."),
    money("margin_total", "Goods without tax, less fees and costs; never less than the shop asks for."),
    percentage("markup_pct", "The same, of the cost."),
    one("fees", FEES),
    maybe(one("payment_fees", PAYMENT_FEES, of="payment")),
    money("fees_total", "Of channel and payment."),
    maybe(one("discount", DISCOUNT)),
    maybe(one("exchange", EXCHANGE, of=_exchange)),
    one("risk", RISK, of=from_plan("risk")),
    optional(elsewhere(one("from_stock", FROM_STOCK, "Where from_stock=1 is asked."))),
    optional(named("sensitivity", "Sensitivity", "Where sensitivity=1 is asked: what moves the price.")),
)
PRICE: Final = Component(
    "Price",
    text("currency", "ISO 4217."),
    whole("quantity"),
    money("unit_net", "One board without tax."),
    money("unit_gross", "One board with tax."),
    money("shipping", "Without tax."),
    money("shipping_gross", "With tax."),
    text("tax_name"),
    percentage("tax_pct"),
    text("tax_regime", "included or added.", "regime"),
    money("tax", "All tax."),
    percentage("shipping_tax_pct"),
    text(
        "tax_paid_by",
        "shop, or channel where the channel itself takes and pays the tax.",
        lambda found, _: "channel" if found.collected else "shop",
    ),
    money("total", "What the customer pays: quantity x unit_net + shipping + tax."),
    maybe(money("total_cash", "The total in coins, for cash of which coins do not pay every total; else null.")),
    _told("unit_net", "As people of the shop's place write it; spaces in it do not break."),
    _told("unit_gross"),
    _told("shipping", "Without tax."),
    _told("shipping_gross", "With tax."),
    _told("tax"),
    _told("total"),
    maybe(one("rush", RUSH)),
    maybe(one("deposit", DEPOSIT)),
    workshop(one("workshop", COST_BUILD_UP, "Workshop view.", itself)),
)

COMPONENTS: Final = (
    COST,
    FEES,
    PAYMENT_FEES,
    DISCOUNT,
    EXCHANGE,
    RUSH,
    DEPOSIT,
    RISK,
    FROM_STOCK,
    COST_BUILD_UP,
    PRICE,
)


def from_stock(plan: Plan) -> Tree:
    """What the order costs if its wood is cut by the stock plan."""
    return FROM_STOCK.write(plan.from_stock, context_of(plan, workshop=True))
