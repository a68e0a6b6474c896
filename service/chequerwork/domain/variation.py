"""One plan from another: a part whose inputs are unchanged is taken over, never computed again.

Many orders that differ in a few fields (a table of prices, a search, a small change to see its effect) cost little
more than what they differ in. The tables below say what each part reads. They may name a field too many, which only
costs time; a field too few would give wrong numbers, so ``tests/domain/test_variation.py`` watches what is read.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from operator import attrgetter
from typing import Any, Final, NamedTuple

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.order import Order, Wish
from chequerwork.domain.plan import Plan, computed

REMEMBERED: Final = 256  # results kept for each set of fields: under 10 MB in all, enough for a table's inner lists

_FIELD: Final = (
    "columns",
    "rows",
    "square_mm",
    "light",
    "dark",
    "light_grain",
    "dark_grain",
    "thickness_mm",
    "pattern",
    "lines",
)
_BOARD: Final = (*_FIELD, "frame", "base", "climate")
_ALL: Final = tuple(Order.__dataclass_fields__)
_PLACED: Final = ("base", "feet", "finish", "frame", "lines", "quantity", "sand_top", "sand_underside", "starts_on")


class Reads(NamedTuple):
    """What a part of the plan is made from: fields of the order that it reads itself, and other parts."""

    fields: tuple[str, ...]
    parts: tuple[str, ...] = ()


# Part of the plan -> what it reads. A part that reads a new field of the order, or uses another part, says so here.
READS: Final[Mapping[str, Reads]] = {
    "year": Reads(("climate",)),
    "swing": Reads(_FIELD, ("year",)),
    "geometry": Reads((*_BOARD, "feet", "game", "pieces"), ("swing",)),
    "accuracy": Reads((*_FIELD, "frame", "corners")),
    "movement": Reads(_BOARD, ("year", "swing", "accuracy")),
    "balance": Reads(_BOARD, ("year", "swing")),
    "margin": Reads(_BOARD),
    "remedies": Reads(_ALL, ("year", "movement")),
    "cutting": Reads(_BOARD, ("geometry",)),
    "bonds": Reads(_BOARD, ("geometry", "cutting")),
    "glue_ups": Reads((), ("bonds",)),
    "finishing": Reads(("finish", "sand_top", "sand_underside", "frame", "thickness_mm"), ("geometry",)),
    "materials": Reads((*_BOARD, "feet", "finish", "quantity"), ("cutting", "bonds", "finishing")),
    "hours": Reads((*_BOARD, "quantity"), ("geometry", "cutting", "finishing")),
    "schedule": Reads((*_PLACED, "wanted_by"), ("hours", "finishing", "glue_ups")),
    "slack": Reads((), ("schedule",)),
    "ready": Reads(_PLACED, ("hours", "glue_ups")),
    "ways_out": Reads(_ALL, ("schedule", "geometry", "cutting", "finishing", "hours", "glue_ups")),
    "packing": Reads(("quantity", "ship_to", "units"), ("geometry",)),
    "transit": Reads((*_FIELD, "frame", "ship_to", "units"), ("year", "geometry", "packing", "price")),
    "packing_list": Reads((), ("geometry", "packing", "transit")),
    "compliance": Reads(("feet", "finish", "issued_on", "quantity", "ship_to"), ("geometry",)),
    "price": Reads(
        ("channel", "currency", "issued_on", "payment", "quantity", "ship_to", "wanted_by"),
        ("materials", "hours", "packing"),
    ),
    "risk": Reads((), ("price", "hours")),
    "stock": Reads((*_BOARD, "quantity"), ("cutting",)),
    "from_stock": Reads((), ("price", "materials", "stock")),
}


@cache
def fields_of(part: str) -> tuple[str, ...]:
    """Every field of the order that a part depends on, by itself or through other parts, in the order's own order."""
    return fields_read(READS[part])


def fields_read(reads: Reads) -> tuple[str, ...]:
    """Every field of the order that is read, directly or through parts, in the order's own order."""
    found = set(reads.fields).union(*(fields_of(part) for part in reads.parts))
    return tuple(name for name in _ALL if name in found)


class Variants:
    """Plans of one shop, each made from the earlier ones as far as the orders agree.

    For one thread; it remembers the latest ``most`` results for each set of fields that parts depend on.
    """

    def __init__(self, shop: Shop, tables: Tables, *, most: int = REMEMBERED) -> None:
        self.shop, self.tables = shop, tables
        self._most = most
        self._kept: dict[tuple[str, ...], _Latest] = {}

    def plan(self, order: Order) -> Plan:
        """The plan of an order of this shop: equal to ``Plan(order, shop, tables)``, part by part."""
        return _Variant(order, self)

    def known(self, fields: tuple[str, ...], order: Order) -> dict[str, Any]:
        """What is remembered of orders that agree in these fields, by name; more may be put beside it."""
        kept = self._kept.get(fields)
        if kept is None:
            kept = self._kept[fields] = _Latest(self._most)
        return kept.at(_getter(fields)(order))


class _Variant(Plan):
    """A plan whose parts are looked up before they are computed."""

    def __init__(self, order: Order, variants: Variants) -> None:
        super().__init__(order, variants.shop, variants.tables)
        self.variants = variants


def _recalled(part: str) -> computed[Any]:
    compute: Callable[[Plan], Any] = vars(Plan)[part].func

    def recall(plan: _Variant) -> object:
        known = plan.variants.known(fields_of(part), plan.order)
        if part not in known:
            known[part] = compute(plan)
        return known[part]

    found = computed(recall)
    found.__set_name__(_Variant, part)
    return found


for _part in READS:
    setattr(_Variant, _part, _recalled(_part))


@cache
def _getter(fields: tuple[str, ...]) -> Callable[[Order | Wish], Any]:
    return attrgetter(*fields)


class _Latest:
    """What was asked for last, by key; the rest is forgotten."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, dict[str, Any]] = OrderedDict()
        self._key: Hashable = None
        self._found: dict[str, Any] = {}

    def at(self, key: Hashable) -> dict[str, Any]:
        """What is kept at a key, empty at first; it may be written to."""
        if key == self._key and self._kept:  # mostly the same once more: equal at a glance, where a hash takes long
            return self._found
        found = self._kept.get(key)
        if found is not None:
            self._kept.move_to_end(key)
        else:
            if len(self._kept) >= self._most:
                self._kept.popitem(last=False)
            found = self._kept[key] = {}
        self._key, self._found = key, found
        return found


# Orders ---------------------------------------------------------------------------------------------------------------


class Together(NamedTuple):
    """Fields of a wish that are completed and checked together, apart from all others, and the order's that they make.

    Whether a wish is refused for them, and what they become, depends on no field outside.
    """

    asked: tuple[str, ...]
    made: tuple[str, ...]


TOGETHER: Final = (
    Together(
        (
            "columns", "rows", "game", "square_mm", "pieces", "light", "dark", "grain", "thickness_mm", "pattern",
            "lines", "frame", "base", "feet", "climate", "units",
        ),
        (
            "columns", "rows", "game", "square_mm", "pieces", "light", "dark", "light_grain", "dark_grain",
            "thickness_mm", "pattern", "lines", "frame", "base", "feet", "climate", "units",
        ),
    ),
    Together(("finish", "sanding"), ("finish", "sand_top", "sand_underside")),
    Together(("corners",), ("corners",)),
    Together(
        ("quantity", "ship_to", "channel", "payment", "currency"),
        ("quantity", "ship_to", "channel", "payment", "currency"),
    ),
    Together(("issued_on", "starts_on", "wanted_by"), ("issued_on", "starts_on", "wanted_by")),
)  # fmt: skip


class Orders:
    """Complete orders of wishes that differ in a few fields, each made from the earlier ones as far as they agree.

    For one thread and one day; it remembers the latest ``most`` results for each group of fields.
    """

    def __init__(self, shop: Shop, tables: Tables, today: date, *, most: int = REMEMBERED) -> None:
        self._shop, self._tables, self._today = shop, tables, today
        self._sound: Wish | None = None  # a wish that can be made: what other fields are tried in
        self._kept = tuple(_Latest(most) for _ in TOGETHER)

    def order(self, wish: Wish) -> Order:
        """The complete order of a wish: what ``complete`` makes of it.

        Raises
        ------
        Refused
            As ``complete`` does: with every fault of the wish, in the order of the contract's table.
        """
        if self._sound is None:
            order = self._complete(wish)
            self._sound = wish
            return order
        made: dict[str, Any] = {"shop": self._shop.id}
        for together, kept in zip(TOGETHER, self._kept, strict=True):
            asked = _getter(together.asked)(wish)
            known = kept.at(asked)
            if not known:
                known.update(self._tried(self._sound, together, wish))
            if "refused" in known:
                return self._complete(wish)  # which refuses it, with the faults of the other groups
            made |= known
        return Order(**made)

    def _tried(self, sound: Wish, together: Together, wish: Wish) -> Mapping[str, Any]:
        """What a group of fields becomes, tried in a wish that is sound otherwise."""
        try:
            order = self._complete(replace(sound, **{name: getattr(wish, name) for name in together.asked}))
        except Refused:
            return {"refused": True}
        return {name: getattr(order, name) for name in together.made}

    def _complete(self, wish: Wish) -> Order:
        return complete(wish, shop=self._shop, tables=self._tables, today=self._today)
