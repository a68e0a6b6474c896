"""Every object of an answer by its name in the contract, each as the view that writes it declares it."""

from collections.abc import Iterator, Mapping
from typing import Final

from chequerwork.api import (
    choices,
    explanations,
    order_view,
    price_table,
    sensitivity_view,
    sources,
    stock_view,
    suggestions_view,
    timbers,
)
from chequerwork.api.component import Component, Contract, choice, many, named, optional
from chequerwork.api.problems import FAULT, PROBLEM
from chequerwork.api.sections import (
    compliance,
    cutting,
    finishing,
    geometry,
    materials,
    movement,
    packing,
    price,
    schedule,
)
from chequerwork.api.sections.geometry import RECT
from chequerwork.api.views import FINDING, IDENTITY
from chequerwork.domain.plan import SECTIONS

_EXPLAINED: Final = "Where explain=1 is asked: how the numbers were worked out."
_FROM_STOCK: Final = "Where from_stock=1 is asked: the stock plan in short."

QUOTE: Final = Component(
    "Quote",
    named("quote", "Identity"),
    named("order", "CompleteOrder", "The order with every gap filled, in canonical units."),
    named("geometry", "Geometry"),
    optional(named("cutting", "Cutting", "Workshop view.")),
    optional(named("materials", "Materials", "Workshop view.")),
    named("movement", "Movement"),
    optional(named("finishing", "Finishing", "Workshop view.")),
    named("schedule", "Schedule"),
    named("packing", "Packing"),
    named("compliance", "Compliance"),
    named("price", "Price"),
    many("advice", FINDING),
    optional(named("explain", "Explanations", _EXPLAINED)),
    optional(named("stock_plan", "StockPlan", _FROM_STOCK)),
)
HEALTH: Final = Component("Health", choice("status", ["pass", "fail"]))

_SECTIONS: Final = (
    geometry, cutting, materials, movement, finishing, schedule, packing, compliance, price,
)  # fmt: skip


def section_answer(section: str) -> Component:
    """Answer of one section's own path."""
    stock = optional(named("stock_plan", "StockPlan", _FROM_STOCK)) if section == "price" else ()
    return Component(
        f"{section.capitalize()}Answer",
        named(section, section.capitalize()),
        many("advice", FINDING, "What to know about it."),
        optional(named("explain", "Explanations", _EXPLAINED)),
        stock,
    )


def components() -> Iterator[Component]:
    """Every object of an answer, in the order of the contract."""
    yield from (FINDING, RECT, IDENTITY, QUOTE, FAULT, PROBLEM, HEALTH)
    for beside in (
        order_view,
        choices,
        sources,
        timbers,
        explanations,
        stock_view,
        price_table,
        suggestions_view,
        sensitivity_view,
    ):
        yield from beside.COMPONENTS
    for section in _SECTIONS:
        yield from section.COMPONENTS
    yield from map(section_answer, SECTIONS)


def schemas() -> Mapping[str, Contract]:
    """JSON Schema of every object of an answer by its name in the contract."""
    return {component.name: component.schema() for component in components()}
