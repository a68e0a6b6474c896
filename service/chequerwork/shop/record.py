"""Reading a table of a shop file into its record: one setting a field, by the field's type, unit and bounds.

A setting is named like its field without the unit, and may be left out where the field has a default. What a type does
not say has a reader of its own: a closed list, a table, a price per board foot, a setting of another name.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import cache
from types import NoneType
from typing import Any, Final, NamedTuple, TypeVar, cast, get_args

from chequerwork.domain.basics.bounds import BOUNDS
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import KeyRole, LearningForm, Promise, Span
from chequerwork.domain.basics.trade import FeeBase, PaymentKind, TaxRegime
from chequerwork.shop.readers import (
    choice,
    day,
    flag,
    force,
    hours,
    length,
    mass,
    mass_kg,
    money,
    number,
    percent,
    plain_text,
    rate,
    span,
    temperature,
    whole,
)
from chequerwork.shop.settings_table import Reader, SettingsTable

T = TypeVar("T")

_UNIT: Final = re.compile(r"_(mm|pct|c|g|kg|n|h)$")
_QUANTITIES: Final[Mapping[str, Callable[[Any, Any], Reader[float]]]] = {
    "mm": length, "pct": percent, "c": temperature, "g": mass, "kg": mass_kg, "n": force, "h": hours,
}  # fmt: skip
_PLAIN: Final[Mapping[type, Reader[Any]]] = {str: plain_text, bool: flag, date: day}
_WORDS: Final[Mapping[type[StrEnum], str]] = {
    FeeBase: "fee base",
    Grain: "grain",
    KeyRole: "role",
    LearningForm: "form of learning",
    PaymentKind: "kind of payment",
    Promise: "promise",
    TaxRegime: "tax regime",
}


class Built(NamedTuple):
    """Makes the value of a field out of the whole table."""

    of: Callable[[SettingsTable], Any]


# How a field is read otherwise: its setting by this reader; one of several settings; from the table; not at all.
Own = Reader[Any] | Mapping[str, Reader[Any]] | Built | None


def record_of(at: SettingsTable, record: type[T], **own: Own) -> T:
    """A table as a record, setting by setting in the order of the fields.

    Parameters
    ----------
    at
        The table.
    record
        Its class.
    own
        Readers of fields for which type, unit and bounds do not say enough. None leaves a field at its default.

    Raises
    ------
    LookupError
        Where neither tells how a field is read.
    """
    return record(**settings_of(at, record, {}, **own))


def settings_of(at: SettingsTable, record: type, usual: Mapping[str, Any], **own: Own) -> dict[str, Any]:
    """What ``record_of`` reads, by field, without those that are not read.

    Parameters
    ----------
    at, record, own
        As there.
    usual
        What stands for settings left out, by field, before the fields' own defaults.
    """
    return {
        name: _value(at, name, own.get(name, plain), usual.get(name, default))
        for name, plain, default in _field_readers(record)
        if name not in own or own[name] is not None
    }


def known(value: object) -> Built:
    """For a field that the table does not tell, such as the name of the table itself."""
    return Built(lambda _at: value)


def reader_of(record: type, name: str) -> Reader[Any]:
    """What reads a setting for a field of this type, unit and bounds."""
    return cast("Reader[Any]", next(plain for field, plain, _ in _field_readers(record) if field == name))


def _value(at: SettingsTable, name: str, own: Own, default: object) -> object:
    if own is None:
        raise LookupError(name)
    if isinstance(own, Built):
        return own.of(at)
    if isinstance(own, Mapping):
        return at.one_of(own) if default is MISSING else at.one_of_or(own, default)
    setting = _UNIT.sub("", name)
    return at.read(setting, own) if default is MISSING else at.read_or(setting, own, default)


@cache
def _field_readers(record: type) -> tuple[tuple[str, Own, object], ...]:
    """Name, plain reader and default of every field; None for a reader that the type does not tell."""
    return tuple((each.name, _plain(each), each.default) for each in fields(record))


def _plain(each: Field[Any]) -> Own:
    kind, bounds = _kind(each.type), each.metadata.get(BOUNDS)
    if kind in _PLAIN:
        return _PLAIN[kind]
    if kind in _WORDS:
        return choice(_WORDS[kind], kind)
    if kind is Decimal:
        if bounds is not None and not each.name.endswith("_pct"):
            raise TypeError(f"{each.name}: an amount of money has no bounds; percentages have, and end in _pct")
        return money() if bounds is None else rate(*bounds)
    return _of_bounds(each.name, kind, bounds) if bounds else None


def _of_bounds(name: str, kind: type, bounds: tuple[Any, Any]) -> Own:
    if kind is Span:
        return Built(lambda at: at.table(name, span(*bounds)))
    if kind is int:
        return whole(*bounds)
    unit = _UNIT.search(name)
    return _QUANTITIES[unit[1]](*bounds) if unit else number(*bounds)


def _kind(hint: Any) -> Any:  # noqa: ANN401  what dataclasses tell of a type
    """A type without its None."""
    parts = get_args(hint)
    return next(part for part in parts if part is not NoneType) if NoneType in parts else hint
