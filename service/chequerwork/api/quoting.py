"""A section of an order's plan, or the whole quote: how it is asked, answered and written."""

from typing import Any, Final, cast

from chequerwork.api import stock_plan, views
from chequerwork.api.forms import Forms, Titled, as_text, of_tree, tree_of
from chequerwork.api.pipeline import Context, Reader, find_shop
from chequerwork.api.presentation import Presentation
from chequerwork.api.schemas import Reading, beside, flat_shape, order_of, read_order
from chequerwork.api.sections.trees import Tree
from chequerwork.api.service import Service, day_at
from chequerwork.domain.basics.errors import Fault
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.plan import Plan
from chequerwork.render.quote import QuoteTree, quote_page

# Reading --------------------------------------------------------------------------------------------------------------


def _of_query(raw: dict[str, Any], faults: list[Fault]) -> Reading:
    return beside(read_order(raw, frozenset(fault.at for fault in faults)), faults)


def _shop(reading: Reading, service: Service) -> Shop:
    return find_shop(service, reading.shop, reading.faults)


ORDER: Final = Reader(component="Order", shape=flat_shape(), of_query=_of_query, of_body=read_order, shop=_shop)


def needs_maker(_: Reading, shown: Presentation) -> bool:
    """Whether what is to stand beside an answer is the maker's alone."""
    return shown.from_stock or shown.sensitivity


# Answering ------------------------------------------------------------------------------------------------------------


def section(name: str, reading: Reading, context: Context[Shop]) -> Titled:
    """Answer with one section of an order's plan."""
    plan = _plan(reading, context)
    return _titled(views.section(plan, name, workshop=context.workshop), name, plan, context)


def quote(reading: Reading, context: Context[Shop]) -> Titled:
    """Answer with all of an order's plan."""
    plan = _plan(reading, context)
    tree = views.quote(plan, context.service.signer, workshop=context.workshop)
    return _titled(tree, "quotes", plan, context)


def _plan(reading: Reading, context: Context[Shop]) -> Plan:
    shop, tables = context.shop, context.service.tables
    return Plan(order_of(reading, shop=shop, tables=tables, today=day_at(shop)), shop, tables)


def _titled(tree: Tree, name: str, plan: Plan, context: Context[Shop]) -> Titled:
    shown = context.shown
    if shown.explain:
        tree["explain"] = views.explanations(plan, tree, workshop=context.workshop)
    if shown.from_stock:
        stock_plan.add_from_stock(tree, plan)
    if shown.sensitivity:
        tree["price"]["workshop"]["sensitivity"] = views.sensitivity(plan)
    return Titled(
        tree, f"{name.capitalize()} for a board of {plan.order.field.columns} x {plan.order.field.rows} squares"
    )


# Writing --------------------------------------------------------------------------------------------------------------


SECTION_FORMS: Final[Forms[Titled]] = of_tree()
QUOTE_FORMS: Final[Forms[Titled]] = {
    **SECTION_FORMS,
    **as_text(tree_of, lambda found: quote_page(cast("QuoteTree", found.tree))),
}
