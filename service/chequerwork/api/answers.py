"""Schemas of the answers, for the contract. Views write the trees themselves; tests hold them to these schemas.

Answers may gain fields within a version, so every object allows more than it names.
"""

from collections.abc import Mapping
from typing import Final

from marshmallow import INCLUDE, Schema

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
from chequerwork.api.answer_fields import (
    day,
    kind,
    lacking,
    many,
    maybe_text,
    one,
    ref,
    text,
    whole,
)
from chequerwork.api.sections.trees import RECT, Fields
from chequerwork.api.views import ROOMS
from chequerwork.domain.plan import SECTIONS


class Open(Schema):
    """An answer object: it may gain fields."""

    class Meta:
        """Allow more than is named."""

        unknown = INCLUDE


def _schema(name: str, shape: Fields) -> Schema:
    cls = Open.from_dict(dict(shape), name=name)
    return cls(unknown=INCLUDE)


_EXPLAINED: Final = "Where explain=1 is asked: how the numbers were worked out."

_FROM_STOCK: Final = "Where from_stock=1 is asked: the stock plan in short."

_SHAPES: Final[Mapping[str, Fields]] = {
    "Finding": {
        "code": text(),
        "severity": kind("string", "", enum=["info", "caution", "warning"]),
        "at": text("JSON pointer into the plan."),
        "text": text(),
        "source": maybe_text("Id of the source list."),
    },
    "Rect": RECT,
    "Identity": {
        "id": text(),
        "shop_name": text(),
        "issued_on": day(),
        "valid_until": day(),
        "shop": text(),
        "tables_version": text("Version of the fact tables behind every number."),
        "token": maybe_text("Compact JWS of this identity with total and currency; null where no key is set."),
    },
    "Quote": {
        "quote": one("Identity"),
        "order": one("CompleteOrder", "The order with every gap filled, in canonical units."),
        "geometry": one("Geometry"),
        "cutting": lacking("Cutting", "Workshop view."),
        "materials": lacking("Materials", "Workshop view."),
        "movement": one("Movement"),
        "finishing": lacking("Finishing", "Workshop view."),
        "schedule": one("Schedule"),
        "packing": one("Packing"),
        "compliance": one("Compliance"),
        "price": one("Price"),
        "advice": many("Finding"),
        "explain": lacking("Explanations", _EXPLAINED),
        "stock_plan": lacking("StockPlan", _FROM_STOCK),
    },
    "Fault": {
        "pointer": ref({"type": "string"}, "JSON pointer into the body.", required=False),
        "parameter": ref({"type": "string"}, "Name of the query parameter.", required=False),
        "code": text("Stable; new ones may come."),
        "detail": text("What is wrong, what was given, the limit, what to change."),
    },
    "Problem": {
        "type": text("Stable path of the kind of problem."),
        "title": text(),
        "status": whole(),
        "detail": text(),
        "instance": text(),
        "errors": many("Fault", "Every fault of the request.", required=False),
        "request_id": ref({"type": "string"}, "With 500: name it when you report the failure.", required=False),
    },
    "Health": {"status": kind("string", "", enum=["pass", "fail"])},
}
# Each beside the view that writes it.
_BESIDE: Final = (
    order_view,
    choices,
    sources,
    timbers,
    explanations,
    stock_view,
    price_table,
    suggestions_view,
    sensitivity_view,
)


def section_shape(section: str) -> Fields:
    """Answer of one section's own path."""
    stock: Fields = {"stock_plan": lacking("StockPlan", _FROM_STOCK)} if section == "price" else {}
    return {
        section: one(section.capitalize()),
        "advice": many("Finding", "What to know about it."),
        "explain": lacking("Explanations", _EXPLAINED),
        **stock,
    }


def schemas() -> Mapping[str, Schema]:
    """Every answer schema by its component name."""
    shapes = dict(_SHAPES)
    for beside in _BESIDE:
        shapes |= beside.SHAPES
    for room in ROOMS.values():
        shapes |= room.SHAPES
    for section in SECTIONS:
        shapes[f"{section.capitalize()}Answer"] = section_shape(section)
    return {name: _schema(name, shape) for name, shape in shapes.items()}
