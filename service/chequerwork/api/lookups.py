"""What may be asked without an order: what a shop offers, the timbers, the sources."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from chequerwork.api.choices import choices
from chequerwork.api.fields import Closed
from chequerwork.api.forms import Body, Forms, Titled, as_cells, as_json, as_text, layout, names_of, of_tree
from chequerwork.api.pipeline import Context, Reader
from chequerwork.api.presentation import Presentation
from chequerwork.api.schemas import CHOICES, TIMBERS, flat_shape, read_asked
from chequerwork.api.service import Service
from chequerwork.api.sources import sources
from chequerwork.api.timbers import timbers
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.render.cells import to_csv_rows
from chequerwork.render.text import to_page

# Reading --------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Lookup:
    """What is looked up, by the names of its parameters, and every fault."""

    given: Mapping[str, Any]
    faults: Sequence[Fault]


def _read(schema: Closed, raw: dict[str, Any], faults: Sequence[Fault] = ()) -> Lookup:
    given, more = read_asked(schema, raw)
    return Lookup(given, [*faults, *more])


def _shop(asked: Lookup, service: Service) -> Shop | None:
    faults, shop = list(asked.faults), None
    if "shop" in asked.given:
        try:
            shop = service.shop(asked.given["shop"])
        except Refused as refused:
            faults += refused.faults
    if faults:
        raise Refused(faults)
    return shop


def _one_shop(asked: Lookup, service: Service) -> Shop:
    return _shop(asked, service) or service.shop(None)


OF_CHOICES: Final = Reader(
    component="ChoicesRequest",
    shape=flat_shape(CHOICES),
    of_query=partial(_read, CHOICES),
    of_body=partial(_read, CHOICES),
    shop=_one_shop,
)
OF_TIMBERS: Final = Reader(
    component="TimbersRequest", shape=flat_shape(TIMBERS), of_query=partial(_read, TIMBERS), shop=_shop
)
OF_NOTHING: Final = Reader(component="", shape={}, of_query=Lookup, shop=_shop)


# Answering ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Timbers:
    """Timbers that were looked up, and the tables they come from."""

    tree: dict[str, Any]
    tables: Tables


def answer_choices(_: Lookup, context: Context[Shop]) -> Titled:
    """Answer with what a shop offers."""
    shop, service = context.shop, context.service
    served = {key: each.name for key, each in service.shops.items()}
    return Titled(choices(shop, service.tables, served), f"What {shop.name} offers")


def answer_timbers(asked: Lookup, context: Context[Shop | None]) -> Timbers:
    """Answer with the species table, as far as a name or a shop leads."""
    tables = context.service.tables
    return Timbers(timbers(tables, name=asked.given.get("name"), shop=context.shop), tables)


def answer_sources(_: Lookup, context: Context[Shop | None]) -> Titled:
    """Answer with what the numbers rest on, whoever the maker is."""
    return Titled(sources(context.service.tables), "What the numbers rest on")


# Writing --------------------------------------------------------------------------------------------------------------


def _rows(found: Timbers, shown: Presentation) -> Body:
    """A row for each timber, with the columns that any of them has."""
    every = timbers(found.tables, name=None, shop=None)
    return to_csv_rows(found.tree["timbers"], every["timbers"], **layout(shown))


_CELLS: Final = names_of("cells", "currency;shop")
FORMS: Final[Forms[Titled]] = of_tree(_CELLS)
TIMBERS_FORMS: Final[Forms[Timbers]] = {
    **as_json(lambda found: found.tree),
    **as_cells(_rows, _CELLS),
    **as_text(lambda found: found.tree, lambda found: to_page(found.tree, "Timbers")),
}
