"""Fields of a request: strict where the library is lenient, and each says in the contract what it takes.

A message is a ``Message``, a text that carries its fault code, so that one reader of errors serves all fields.
"""

import json
import re
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any, NoReturn, Self

from marshmallow import RAISE, Schema, ValidationError, fields, missing

from chequerwork.domain.basics.errors import BadQuantity
from chequerwork.quantities import (
    MAX_CHARACTERS,
    contract_pattern,
    parse_length,
    parse_mass,
    parse_temperature,
)

NAME_PATTERN = "^[A-Za-z0-9][A-Za-z0-9_-]{0,59}$"
_NAME = re.compile(NAME_PATTERN[1:-1])
# What people call a timber: Latin letters, and what stands between them.
_LETTER = "A-Za-zÀ-ÖØ-öø-ɏ"
CALLED_PATTERN = f"^[{_LETTER}][{_LETTER}0-9 _.,'’()×-]{{0,59}}$"
_CALLED = re.compile(CALLED_PATTERN[1:-1])
AMOUNT_PATTERN = r"^[0-9]{1,9}(\.[0-9]{1,4})?$"
_AMOUNT = re.compile(AMOUNT_PATTERN[1:-1])
QUARTERS_PATTERN = "^[0-9]{1,2}/[0-9]$"
_QUARTERS = re.compile(QUARTERS_PATTERN[1:-1])
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}\Z", re.ASCII)
YEAR_LOW, YEAR_HIGH = 2000, 2099


class Message(str):
    """A sentence about a value, with the code of its fault."""

    __slots__ = ("code",)
    code: str

    def __new__(cls, code: str, text: str) -> Self:
        """Make a sentence with a code."""
        message = super().__new__(cls, text)
        message.code = code
        return message


def refuse(code: str, text: str) -> NoReturn:
    """Refuse the value at hand."""
    raise ValidationError(Message(code, text))


def _shown(value: object) -> str:
    """A value as it was sent: JSON has its own words for true, false and null."""
    text = repr(value) if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return text if len(text) <= 60 else text[:57] + "..."


class Strict(fields.Field[Any]):
    """A field that refuses null in its own words; ``contract`` is its JSON Schema."""

    def __init__(self, contract: Mapping[str, Any], *, required: bool = False, about: str = "") -> None:
        described = {**contract, "description": about} if about else dict(contract)
        super().__init__(required=required, metadata={"contract": described})

    def deserialize(self, value: Any, attr: str | None = None, data: Any = None, **kwargs: Any) -> Any:
        """Read one value; a null is a value of the wrong type, not a way to leave a field out.

        Shorter than the library's own way, which a request would walk forty times: 25 us of a quote.
        """
        if value is missing:
            if self.required:
                raise self.make_error("required")
            return missing
        if value is None:
            refuse("wrong-type", "null is no value here. Leave the field out, or give it a value.")
        return self._deserialize(value, attr, data)


class Count(Strict):
    """A whole number: an integer, or a JSON number with nothing after its point."""

    def __init__(self, low: int, high: int, *, about: str, default: int | None = None) -> None:
        contract: dict[str, Any] = {"type": "integer", "minimum": low, "maximum": high}
        if default is not None:
            contract["default"] = default
        super().__init__(contract, about=about)
        self.low, self.high = low, high

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int | float) or value != value // 1:
            refuse("wrong-type", f"{_shown(value)} is no whole number. Give one from {self.low} to {self.high}.")
        if not self.low <= value <= self.high:
            code = "too-small" if value < self.low else "too-large"
            refuse(code, f"{_shown(value)} was given; the range is {self.low} to {self.high}.")
        return int(value)


class Number(Strict):
    """A number within a range, in the unit that its description names."""

    def __init__(self, low: float, high: float, *, unit: str, about: str) -> None:
        super().__init__({"type": "number", "minimum": low, "maximum": high}, about=about)
        self.low, self.high, self.unit = low, high, unit

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            refuse(
                "wrong-type", f"{_shown(value)} is no number. Give one from {self.low:g} to {self.high:g}{self.unit}."
            )
        if not self.low <= value <= self.high:
            code = "too-small" if value < self.low else "too-large"
            refuse(code, f"{_shown(value)} was given; the range is {self.low:g} to {self.high:g}{self.unit}.")
        return float(value)


class Flag(Strict):
    """True or false."""

    def __init__(self, *, about: str, default: bool | None = None) -> None:
        contract: dict[str, Any] = {"type": "boolean"}
        if default is not None:
            contract["default"] = default
        super().__init__(contract, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> bool:
        if not isinstance(value, bool):
            refuse("wrong-type", f"{_shown(value)} is neither true nor false. Write one of them, without quotes.")
        return value


class Amount(Strict):
    """An amount of money as decimal text, in the shop's currency; 0 or more."""

    def __init__(self, *, about: str) -> None:
        contract = {"type": "string", "pattern": AMOUNT_PATTERN, "examples": ["62.50"]}
        super().__init__(contract, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Decimal:
        if not isinstance(value, str) or not _AMOUNT.fullmatch(value):
            refuse("wrong-type", f"{_shown(value)} is no amount. Write a text of digits with a point, such as '62.50'.")
        return Decimal(value)


class Quantity(Strict):
    """A text with a number and a unit, read by our own grammar; bounded in the canonical unit."""

    def __init__(
        self,
        parse: Callable[[str], float],
        contract: Mapping[str, Any],
        low: float,
        high: float,
        unit: str,
        *,
        about: str,
        required: bool = False,
    ) -> None:
        super().__init__(contract, required=required, about=about)
        self.parse, self.low, self.high, self.unit = parse, low, high, unit

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> float:
        if not isinstance(value, str):
            example, bare = self.metadata["contract"]["examples"][0], type(value) in (int, float)
            what = f"{_shown(value)} {'is a bare number' if bare else 'is no text'}."
            refuse("unit-missing", f"{what} Write a text with a number and a unit, such as {example!r}.")
        try:
            number = self.parse(value)
        except BadQuantity as bad:
            refuse(bad.code, bad.detail)
        if number < self.low - 1e-9 or number > self.high + 1e-9:
            code = "too-small" if number < self.low else "too-large"
            refuse(
                code, f"{value!r} is {number:.6g} {self.unit}; the range is {self.low:g} to {self.high:g} {self.unit}."
            )
        return number


_LENGTH_NOTE = 'Number and unit: mm, cm, m, in, " or ft; fractions as 2 1/4 in. A bare number is refused.'
# Shared components of the contract, named once: the patterns are long.
TEXT_FORMS: Mapping[str, Mapping[str, Any]] = {
    "Length": {"type": "string", "maxLength": MAX_CHARACTERS, "pattern": contract_pattern("length")},
    "Temperature": {"type": "string", "maxLength": MAX_CHARACTERS, "pattern": contract_pattern("temperature")},
    "Mass": {"type": "string", "maxLength": MAX_CHARACTERS, "pattern": contract_pattern("mass")},
}


def length(low_mm: float, high_mm: float, *, about: str, required: bool = False, example: str = "48 mm") -> Quantity:
    """A length field. [mm] once read."""
    contract = {"$ref": "#/components/schemas/Length", "examples": [example]}
    text = f"{about} {_LENGTH_NOTE} From {low_mm:g} to {high_mm:g} mm."
    return Quantity(parse_length, contract, low_mm, high_mm, "mm", about=text, required=required)


def temperature(low_c: float, high_c: float, *, about: str) -> Quantity:
    """A temperature field. [degC] once read."""
    contract = {"$ref": "#/components/schemas/Temperature", "examples": ["21 C"]}
    text = f"{about} Number and unit: C or F. From {low_c:g} to {high_c:g} degC."
    return Quantity(parse_temperature, contract, low_c, high_c, "degC", about=text)


def mass(low_g: float, high_g: float, *, about: str) -> Quantity:
    """A mass field. [g] once read."""
    contract = {"$ref": "#/components/schemas/Mass", "examples": ["3.5 kg"]}
    text = f"{about} Number and unit: g, kg, lb or oz. From {low_g:g} to {high_g:g} g."
    return Quantity(parse_mass, contract, low_g, high_g, "g", about=text)


class Name(Strict):
    """A key: letters, digits, hyphen and underscore."""

    def __init__(self, *, about: str, required: bool = False, example: str | None = None) -> None:
        contract: dict[str, Any] = {"type": "string", "pattern": NAME_PATTERN}
        if example is not None:
            contract["examples"] = [example]
        super().__init__(contract, required=required, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> str:
        if not isinstance(value, str) or not _NAME.fullmatch(value):
            refuse(
                "wrong-type", f"{_shown(value)} is no name. Write letters, digits, hyphens and underscores, at most 60."
            )
        return value


class Quarters(Strict):
    """A nominal thickness of lumber in quarters of an inch."""

    def __init__(self, *, about: str) -> None:
        super().__init__({"type": "string", "pattern": QUARTERS_PATTERN, "examples": ["5/4"]}, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> str:
        if not isinstance(value, str) or not _QUARTERS.fullmatch(value):
            refuse("wrong-type", f"{_shown(value)} is no thickness class. Write quarters of an inch, such as '5/4'.")
        return value


class TimberKey(Name):
    """A key of a timber. Another name passes here as well: the order's own check says which keys it may mean."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **more: Any) -> str:
        if isinstance(value, str) and _CALLED.fullmatch(value):
            return value
        return super()._deserialize(value, attr, data, **more)


class Called(Strict):
    """What somebody calls a timber, in any language written in Latin letters."""

    def __init__(self, *, about: str, example: str) -> None:
        super().__init__({"type": "string", "pattern": CALLED_PATTERN, "examples": [example]}, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> str:
        if not isinstance(value, str) or not _CALLED.fullmatch(value):
            refuse("wrong-type", f"{_shown(value)} is no name of a timber. Write Latin letters, at most 60.")
        return value


class Choice(Strict):
    """One word of a closed list."""

    def __init__(self, kind: type[StrEnum], *, about: str, required: bool = False) -> None:
        super().__init__({"type": "string", "enum": [str(k) for k in kind]}, required=required, about=about)
        self.kind = kind

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> StrEnum:
        try:
            return self.kind(value)
        except ValueError:
            words = " or ".join(self.kind)
            refuse("unknown-name", f"{_shown(value)} was given. Write {words}.")


class Day(Strict):
    """A calendar date, YYYY-MM-DD, of this century."""

    def __init__(self, *, about: str) -> None:
        pattern = r"^20\d{2}-\d{2}-\d{2}$"
        contract = {"type": "string", "format": "date", "pattern": pattern, "examples": ["2027-03-01"]}
        super().__init__(contract, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> date:
        if not isinstance(value, str) or not _DATE.match(value):
            refuse("wrong-type", f"{_shown(value)} is no date. Write it as YYYY-MM-DD, such as 2027-03-01.")
        try:
            day = date.fromisoformat(value)
        except ValueError:
            refuse("no-such-day", f"{value} is not in the calendar. Check month and day.")
        if not YEAR_LOW <= day.year <= YEAR_HIGH:
            refuse(
                "too-small" if day.year < YEAR_LOW else "too-large", f"{value} is outside {YEAR_LOW} to {YEAR_HIGH}."
            )
        return day


COUNTRY = (2, "country", "two capital letters of ISO 3166, such as DE", "NL")
CURRENCY = (3, "currency", "three capital letters of ISO 4217, such as EUR", "EUR")


class Code(Strict):
    """A code of capital letters: how many, of what, how one is written, and an example."""

    def __init__(self, kind: tuple[int, str, str, str], *, about: str) -> None:
        letters, self._what, self._form, example = kind
        self._pattern = re.compile(rf"[A-Z]{{{letters}}}\Z")
        super().__init__({"type": "string", "pattern": f"^[A-Z]{{{letters}}}$", "examples": [example]}, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> str:
        if not isinstance(value, str) or not self._pattern.match(value):
            refuse("wrong-type", f"{_shown(value)} is no {self._what} code. Write {self._form}.")
        return value


class Closed(Schema):
    """A request object: unknown fields are faults, and what is read becomes a domain dataclass."""

    class Meta:
        """Refuse what is not in the contract."""

        unknown = RAISE

    made: type[Any]
    renamed: Mapping[str, str] = {}

    def __init__(self) -> None:
        super().__init__()
        self._needed = frozenset(name for name, field in self.fields.items() if field.required)

    def load(self, data: Any, **how: Any) -> Any:
        """Read every field. Only an object with a fault needs the library's bookkeeping, which is 50 us of a quote."""
        if isinstance(data, dict) and self._needed <= data.keys():
            try:
                return {name: self.fields[name].deserialize(value) for name, value in data.items()}
            except (KeyError, ValidationError):
                pass
        try:
            return super().load(data, **how)
        except ValidationError as error:
            # Unknown fields last and as they were sent: the library has them in another order in each process.
            told: Any = error.messages
            sent = {name: place for place, name in enumerate(data) if name not in self.fields}
            error.messages = dict(sorted(told.items(), key=lambda each: sent.get(each[0], -1)))
            raise

    def read(self, value: Any) -> Any:
        """Read one object into the domain's own, units in its names.

        Raises
        ------
        ValidationError
            With the messages of every wrong field.
        """
        if not isinstance(value, Mapping):
            refuse("wrong-type", f"{_shown(value)} is no object. Write it in braces, such as {{...}}.")
        data: Mapping[str, Any] = self.load(value)
        return self.made(**{self.renamed.get(name, name): field for name, field in data.items()})

    def partly(self, _: ValidationError) -> Any:
        """What can still be judged of an object that was refused; None where that is nothing."""
        return None


class ListEntry(Closed):
    """An entry of a list, of which what could be read is judged further: ``unread`` names the rest."""

    def partly(self, error: ValidationError) -> Any:
        """The entry with its sound fields."""
        sound = error.valid_data if isinstance(error.valid_data, dict) else {}
        unread = frozenset(map(str, error.messages)) if isinstance(error.messages, dict) else frozenset()
        kept = {self.renamed.get(name, name): value for name, value in sound.items() if name in self.fields}
        return self.made(**kept, unread=unread)


class Nested(Strict):
    """An object with a schema of its own, or null where the order may do without it."""

    def __init__(self, schema: Closed, *, about: str, nullable: bool = False, ref: str) -> None:
        pointer: dict[str, Any] = {"$ref": f"#/components/schemas/{ref}"}
        contract = {"anyOf": [pointer, {"type": "null"}]} if nullable else pointer
        super().__init__(contract, about=about)
        self.schema, self.nullable = schema, nullable

    def deserialize(self, value: Any, attr: str | None = None, data: Any = None, **kwargs: Any) -> Any:
        """Read one object; null only where it may be."""
        if value is None and self.nullable:
            return None
        return super().deserialize(value, attr, data)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:
        return self.schema.read(value)


class Either(Strict):
    """One of two objects, told apart by a field that only the second has."""

    def __init__(self, first: Closed, second: Closed, *, mark: str, refs: tuple[str, str], about: str) -> None:
        super().__init__({"oneOf": [{"$ref": f"#/components/schemas/{ref}"} for ref in refs]}, about=about)
        self.first, self.second, self.mark = first, second, mark

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:
        second = isinstance(value, Mapping) and self.mark in value
        return (self.second if second else self.first).read(value)


class Several(Strict):
    """A list of objects of one schema."""

    def __init__(self, schema: Closed, *, most: int, about: str, ref: str, least: int = 0) -> None:
        super().__init__(_list_of(ref, least, most), about=about)
        self.schema, self.least, self.most = schema, least, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:
        read, errors = [], {}
        for index, entry in enumerate(_listed(value, self.least, self.most)):
            try:
                read.append(self.schema.read(entry))
            except ValidationError as error:
                errors[index] = error.messages
                read.append(self.schema.partly(error))
        if errors:
            raise ValidationError(errors, valid_data=read)
        return read


class Each(Strict):
    """A list of single values, each read by the same field, at least one."""

    def __init__(self, entry: Strict, *, most: int, about: str) -> None:
        contract = {"type": "array", "minItems": 1, "maxItems": most, "items": entry.metadata["contract"]}
        super().__init__(contract, about=about)
        self.entry, self.most = entry, most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> tuple[Any, ...]:
        read, errors = [], {}
        for index, entry in enumerate(_listed(value, 1, self.most)):
            try:
                read.append(self.entry.deserialize(entry))
            except ValidationError as error:
                errors[index] = error.messages
        if errors:
            raise ValidationError(errors)
        return tuple(read)


class Whole(Strict):
    """An object that another reader takes as it is."""

    def __init__(self, *, ref: str, about: str) -> None:
        super().__init__({"$ref": f"#/components/schemas/{ref}"}, about=about)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:
        return _whole(value)


class Wholes(Strict):
    """A list of such objects, at least one; those that are none are read as None."""

    def __init__(self, *, ref: str, most: int, about: str) -> None:
        super().__init__(_list_of(ref, 1, most), about=about)
        self.most = most

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> Any:
        read: list[Mapping[str, Any] | None] = []
        errors = {}
        for index, entry in enumerate(_listed(value, 1, self.most)):
            try:
                read.append(_whole(entry))
            except ValidationError as error:
                errors[index] = error.messages
                read.append(None)
        if errors:
            raise ValidationError(errors, valid_data=read)
        return read


def _list_of(ref: str, least: int, most: int) -> Mapping[str, Any]:
    contract = {"type": "array", "maxItems": most, "items": {"$ref": f"#/components/schemas/{ref}"}}
    return {**contract, "minItems": least} if least else contract


def _listed(value: Any, least: int, most: int) -> list[Any]:
    if not isinstance(value, list):
        refuse("wrong-type", f"{_shown(value)} is no list. Write it in brackets, such as [...].")
    if len(value) > most:
        refuse("too-many", f"{len(value)} entries were given; the most is {most}.")
    if len(value) < least:
        refuse("too-few", f"{len(value)} entries were given; the least is {least}.")
    return value


def _whole(value: Any) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        refuse("wrong-type", f"{_shown(value)} is no object. Write it in braces, such as {{...}}.")
    return value
