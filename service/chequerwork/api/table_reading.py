"""The request of a price table: an order with lists of alternatives, read and checked before any row is made."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from typing import Any, Final

from marshmallow import ValidationError

from chequerwork.api.alternatives import Node, cell, read_alternatives, too_many, varied
from chequerwork.api.fields import Code, Name, Nested, Several, TimberKey
from chequerwork.api.schemas import ORDER, Near, attribute_of, read_order
from chequerwork.domain.basics.errors import Fault, Path, Refused, near_names
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.order.request import OrderRequest
from chequerwork.ops.limits import MAX_COMBINATIONS, MAX_FAULTS
from chequerwork.render.cells import Scalar

# Faults that lie in one alternative alone, whatever stands beside it. What a shop does not offer, or what is too large
# for it, may be asked for to see where its limits are: that is told in the row.
_ITSELF: Final = frozenset({"unknown-name", "ambiguous-name", "missing"})
_ENOUGH: Final = 3 * MAX_FAULTS  # faults after which no more are looked for: near names take a while to find
_REMEMBERED: Final = 512  # alternatives of one field kept as read
_DATES: Final = frozenset({"starts_on", "wanted_by"})
_ALONE: Final = frozenset({"square", "thickness", "quantity", "ship_to", "channel", "finish"}) | _DATES


@dataclass(frozen=True, slots=True)
class FieldValue:
    """One alternative of a field as read: its value in a request, its cells, and the faults of it and its parts."""

    value: Any
    cells: Mapping[str, Scalar]
    faults: tuple[Fault, ...]


class VariedField:
    """A field of the order with all its alternatives."""

    def __init__(self, name: str, node: Node, near_to: Near) -> None:
        self.name, self.node, self.attribute, self._near_to = name, node, attribute_of(name), near_to
        self.varied = [".".join(map(str, at)) for at in varied(node, (name,))]
        self.option = lru_cache(maxsize=_REMEMBERED)(self._option)

    def _option(self, number: int) -> FieldValue:
        raw = self.node.at(number)
        sound = _sound(self.name, raw)
        if sound is not None:
            return FieldValue(sound, self._cells(raw), ())
        reading = read_order({self.name: raw}, near_to=self._near_to)
        if reading.faults:
            return FieldValue(None, self._cells(raw), reading.faults)
        return FieldValue(getattr(reading.request, self.attribute), self._cells(raw), ())

    def _cells(self, raw: object) -> Mapping[str, Scalar]:
        return dict(_cells(self.name, raw, (self.name,)))

    def placed(self, number: int, fault: Fault) -> Fault:
        """The fault of an alternative at its place in the request."""
        at = (self.name, *self.node.place(number, fault.at[1:]))
        while fault.code == "unknown-field" and not isinstance(at[-1], str):
            at = at[:-1]  # what is unknown is the name, whichever of its values was read
        return replace(fault, at=at)


def _sound(name: str, raw: object) -> Any:
    """What the field itself makes of a value that has no fault; None where the reader of orders must look."""
    known = ORDER.fields.get(name)
    try:
        read = known.deserialize(raw) if known is not None else None
    except ValidationError:
        return None
    return tuple(read) if isinstance(read, list) else read


def _cells(name: str, raw: object, at: Path) -> Iterator[tuple[str, Scalar]]:
    if isinstance(raw, Mapping):
        for key, value in raw.items():
            yield from _cells(name, value, (*at, key))
    else:
        yield ".".join(map(str, at)), cell({at[-1]: raw}, at[-1:])


def _searcher() -> Near:
    """Near names for the first wrong ones of a request; searching for all of many would take too long."""
    found: dict[str, tuple[str, ...]] = {}

    def near(given: str, known: Iterable[str]) -> tuple[str, ...]:
        if given not in found and len(found) < _ENOUGH:
            found[given] = near_names(given, known)
        return found.get(given, ())

    return near


@dataclass(frozen=True, slots=True, kw_only=True)
class TableRequest:
    """A request as sent: its fields with their alternatives, and every fault that can be told without a shop."""

    shop: str | None
    fields: Sequence[VariedField]
    faults: tuple[Fault, ...]

    @property
    def size(self) -> int:
        """Combinations."""
        return math.prod(field.node.size for field in self.fields)

    def placed(self, numbers: Sequence[int], faults: Iterable[Fault]) -> Iterator[Fault]:
        """Faults of one combination at their places in the request."""
        fields = {field.name: (field, number) for field, number in zip(self.fields, numbers, strict=True)}
        for fault in faults:
            field, number = fields.get(str(fault.at[0]), (None, 0)) if fault.at else (None, 0)
            yield field.placed(number, fault) if field else fault


def read_table(raw: Mapping[str, Any], told: Iterable[Fault] = ()) -> TableRequest:
    """Read a raw order with lists of alternatives, and keep every fault; ``told`` were found before."""
    faults = list(told)
    before = {str(fault.at[0]) for fault in faults if fault.at}
    shop = raw.get("shop")
    if isinstance(shop, list):
        detail = "A table is of one shop. Name that one, and ask again for another."
        faults.append(Fault(at=("shop",), code="wrong-type", detail=detail))
        shop = None
    elif "shop" in raw:
        reading = read_order({"shop": shop})
        faults += reading.faults
        shop = reading.shop
    nodes = {name: read_alternatives(value, (name,), faults) for name, value in raw.items() if name != "shop"}
    before |= {str(fault.at[0]) for fault in faults if fault.code == "too-few"}
    faults += too_many(nodes, MAX_COMBINATIONS)
    near_to = _searcher()
    fields = [VariedField(name, node, near_to) for name, node in nodes.items()]
    for field in fields:  # each may have faults without number: enough are enough
        if len(faults) < _ENOUGH and field.name not in before:
            faults += _unread(field)
    return TableRequest(shop=shop, fields=fields, faults=tuple(faults))


def _unread(field: VariedField) -> list[Fault]:
    """What cannot be read of a field, every alternative looked at once; and alternatives that are the same."""
    found: dict[tuple[Path, str], Fault] = {}
    values: dict[int, Any] = {}
    for number in field.node.probes():
        option = field.option(number)
        for fault in option.faults[:_ENOUGH]:
            placed = field.placed(number, fault)
            found.setdefault((placed.at, placed.code), placed)
        if not option.faults:
            values[number] = option.value
        if len(found) >= _ENOUGH:
            return list(found.values())
    return [*found.values(), *_repeated(field, values)]


def _repeated(field: VariedField, values: Mapping[int, Any]) -> Iterator[Fault]:
    """Alternatives that were read as the same; those that stand for several are not compared."""
    for listed in field.node.lists((field.name,)):
        seen: dict[Any, int] = {}
        for index, (number, size) in enumerate(zip(listed.firsts, listed.sizes, strict=True)):
            if size > 1 or number not in values:
                continue
            first = seen.setdefault(values[number], index)
            if first != index:
                detail = f"This is alternative {first + 1} of the list once more. Leave one of them out."
                yield Fault(at=(*listed.at, index), code="duplicate", detail=detail)


def check_names(table: TableRequest, shop: Shop, tables: Tables, today: date) -> list[Fault]:
    """Faults that can be told before any combination is made.

    Names that nobody knows; fields that lack; fields none of whose alternatives this shop makes, whatever stands beside
    them; and every fault of an order that is the only one.
    """
    if len(table.faults) >= _ENOUGH:
        return []
    found: dict[tuple[Path, str], Fault] = {}
    for judge in (_whole, _unmade, _unknown):
        for fault in judge(table, shop, tables, today):
            found.setdefault((fault.at, fault.code), fault)
            if len(found) >= _ENOUGH:
                return list(found.values())
    return list(found.values())


def _whole(table: TableRequest, shop: Shop, tables: Tables, today: date) -> Iterator[Fault]:
    """What the first combination lacks; all that is wrong with it where it is the only one."""
    unreadable = frozenset(str(fault.at[0]) for fault in table.faults if fault.at)
    readable = (f for f in table.fields if f.name in ORDER.fields and f.name not in unreadable)
    first = OrderRequest(**{field.attribute: field.option(0).value for field in readable})
    for fault in _refused(first, shop, tables, today, unreadable):
        if fault.code == "missing" or table.size == 1:
            yield from table.placed([0] * len(table.fields), [fault])


def _unmade(table: TableRequest, shop: Shop, tables: Tables, today: date) -> Iterator[Fault]:
    issued = next((field for field in table.fields if field.name == "issued_on"), None)
    if issued is None or issued.node.size == 1:
        judged, issued_on = _ALONE, issued.option(0).value if issued else None
    else:
        judged, issued_on = _ALONE - _DATES, None  # whether a day is past depends on that one
    least = OrderRequest(columns=2, rows=2, issued_on=issued_on)  # as small as a board can be
    for field in table.fields:
        if field.name in judged:
            yield from _never(field, least, shop, tables, today)


def _unknown(table: TableRequest, shop: Shop, tables: Tables, today: date) -> Iterator[Fault]:
    for field in table.fields:
        for number in field.node.probes() if _may_name(field.name) else ():
            option = field.option(number)
            if option.faults:
                continue
            for fault in _refused(OrderRequest(**{field.attribute: option.value}), shop, tables, today):
                if fault.code in _ITSELF and fault.at[0] == field.name:
                    yield field.placed(number, fault)


def _never(field: VariedField, least: OrderRequest, shop: Shop, tables: Tables, today: date) -> Sequence[Fault]:
    """Faults of a field none of whose alternatives this shop makes, even in the least of boards; or none."""
    found: list[Fault] = []
    for number in range(field.node.size):
        option = field.option(number)
        alone = replace(least, **{field.attribute: option.value})
        own = [f for f in _refused(alone, shop, tables, today) if f.at == (field.name,)] if not option.faults else []
        if not own:
            return ()
        found += [field.placed(number, fault) for fault in own[: _ENOUGH - len(found)]]
    return found


def _may_name(field: str) -> bool:
    """Whether something is named in a field, that may be unknown."""
    known = ORDER.fields.get(field)
    return isinstance(known, Name | TimberKey | Code | Nested | Several)


def _refused(
    request: OrderRequest, shop: Shop, tables: Tables, today: date, faulted: frozenset[str] = frozenset()
) -> tuple[Fault, ...]:
    try:
        complete(request, shop=shop, tables=tables, today=today, faulted=faulted)
    except Refused as refused:
        return refused.faults
    return ()
