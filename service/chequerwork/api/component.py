"""Answers as they are declared: one line for a value gives the value, its text, and its place in the contract.

A ``Component`` is an object of an answer, named as in the contract. It is made of keys; each says what it is called,
where its value is read, how that is written, and what the contract says of it:

    RAIL = Component(
        "Rail",
        choice("side", ["length", "width"], "Side of the field it runs along."),
        length("long_point"),  # long_point_mm and long_point_text, from rail.long_point_mm
    )
    RAIL.write(rail, context)

A value is read from the attribute of the same name, unless ``of`` names another, also one of a part
(``seat.lap_mm``), or is a function of the object and the context. None is written as null, by whatever key.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import chain
from operator import attrgetter
from typing import Any, Final

from chequerwork.api.sections.trees import Tree, amount, mm, rounding, tell
from chequerwork.domain.plan import Plan
from chequerwork.quantities import (
    METRIC,
    format_fine,
    format_force,
    format_length,
    format_mass,
    format_temperature,
    format_volume,
)

Contract = dict[str, Any]  # a JSON Schema
ReadFrom = str | Callable[[Any, Any], Any]
InUnits = Callable[[Any, str], str]  # of a value and the units of the order
Write = Callable[[Any, Any], Any]  # of a value, or of an object, and the context

_GRAMS: Final = 1000  # of a kilogram
_TEXT: Final[Contract] = {"type": "string"}


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerContext:
    """How an answer is written, beside what it is about."""

    units: str = METRIC
    workshop: bool = False  # whether a maker reads it


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanContext(AnswerContext):
    """How a section is written: with the plan of which it shows a part."""

    plan: Plan

    def rounded(self, money: Decimal) -> Decimal:
        """At the decimals of the shop's own currency."""
        return rounded(money, self.plan)


def rounded(money: Decimal, plan: Plan) -> Decimal:
    """An amount at the decimals of the shop's own currency."""
    return round(money, plan.tables.currencies[plan.shop.currency].exponent)


def context_of(plan: Plan, *, workshop: bool) -> PlanContext:
    """How a plan is written: in the units of its order."""
    return PlanContext(units=plan.order.units, workshop=workshop, plan=plan)


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key of an answer's object."""

    name: str
    contract: Contract
    of: ReadFrom | None  # None: another adds the value
    write: Write | None = None  # none of the three: the value stands as it is read
    text: InUnits | None = None  # instead: how people read it
    part: "Component | None" = None  # instead: what the value, or each value of a list, is written as
    each: bool = False
    required: bool = True  # by the contract; where it is not, None is left out
    workshop: bool = False

    @property
    def writer(self) -> Callable[..., Any] | None:
        """What writes its value."""
        if self.part is not None:
            return self.part.write_each if self.each else self.part.write
        return self.text or self.write


Keys = tuple[Key, ...]


class Component:
    """An object of an answer: what the contract calls it, and its keys in their order.

    What only a maker sees stands behind the rest, wherever the contract has it.

    Parameters
    ----------
    name
        In the contract.
    keys
        As the functions of this module give them.

    Attributes
    ----------
    write
        Writes an object as a tree.
    """

    write: Callable[[Any, AnswerContext], Tree]

    def __init__(self, name: str, *keys: Keys) -> None:
        self.name = name
        self.keys: Keys = tuple(chain.from_iterable(keys))
        makers = tuple(replace(key, required=True, workshop=False) for key in self.keys if key.workshop)
        self._for_makers = Component(name, makers) if makers else None

    def __getattr__(self, name: str) -> Any:
        """Its writer, made when it is first asked for: to make all of them takes a tenth of the start."""
        if name != "write":
            raise AttributeError(name)
        shown = [key for key in self.keys if key.of is not None and not key.workshop]
        self.write = _straight(shown, None if self._for_makers is None else self._for_makers.write)
        return self.write

    def write_each(self, found: Iterable[Any], to: AnswerContext) -> list[Tree]:
        """A list of such objects."""
        write = self.write
        return [write(each, to) for each in found]

    def schema(self) -> Contract:
        """Its place in the contract. Answers may gain keys within a version, so it allows more than it names."""
        schema: Contract = {"type": "object", "properties": {key.name: key.contract for key in self.keys}}
        if required := sorted(key.name for key in self.keys if key.required):
            schema["required"] = required
        return {**schema, "additionalProperties": True}


def _straight(keys: Sequence[Key], for_makers: Write | None) -> Write:
    """A function of straight lines that writes these keys, as ``dataclasses`` makes its own.

    An answer has 1,300 keys: a loop over them takes 100 us more of the maker's quote, which is 6 % of it. Nothing but
    names of ours is put into the text.
    """
    given: dict[str, Any] = {"for_makers": for_makers}
    local: dict[str, str] = {}  # name of a value by its path: a number and its text are read once
    reads, entries, rest = ["units = to.units"], list[str](), list[str]()
    for place, key in enumerate(keys):
        path, value = key.of if isinstance(key.of, str) else f"of_{place}", f"value_{place}"
        if callable(key.of):
            given[path] = key.of
            reads.append(f"{value} = {path}(found, to)")
        elif path not in local:
            reads.append(f"{value} = found.{path}")
        value = local.setdefault(path, value)
        given[f"write_{place}"] = key.writer
        written = f"write_{place}({value}, {'units' if key.text else 'to'})" if key.writer else value
        if not key.required:
            rest.append(f"if {value} is not None: tree[{key.name!r}] = {written}")
            continue
        shown = f"None if {value} is None else {written}" if key.writer else value
        if rest:
            rest.append(f"tree[{key.name!r}] = {shown}")
        else:
            entries.append(f"{key.name!r}: {shown}")
    if for_makers is not None:
        rest.append("if to.workshop: tree |= for_makers(found, to)")
    lines = ("def write(found, to):", *reads, f"tree = {{{', '.join(entries)}}}", *rest, "return tree")
    exec("\n    ".join(lines), given)  # noqa: S102 - see above
    written_by: Write = given["write"]
    return written_by


# Where a value is read ------------------------------------------------------------------------------------------------


def itself(found: Any, _: AnswerContext) -> Any:
    """The object itself, of which a part of the answer shows a part."""
    return found


def from_plan(path: str) -> ReadFrom:
    """An attribute of the plan in the context."""
    read = attrgetter(path)
    return lambda _, to: read(to.plan)


# Keys -----------------------------------------------------------------------------------------------------------------


def other(name: str, contract: Contract, about: str = "", of: ReadFrom | None = None, **writes: Any) -> Keys:
    """A key whose JSON Schema is given, and how it is written, by names of ``Key``."""
    described = {**contract, "description": about} if about else contract
    return (Key(name=name, contract=described, of=name if of is None else of, **writes),)


def text(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A text."""
    return other(name, _TEXT, about, of)


def texts(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A list of texts."""
    return other(name, {"type": "array", "items": {"type": "string"}}, about, of, write=lambda words, _: list(words))


def choice(name: str, words: Iterable[str], about: str = "", of: ReadFrom | None = None) -> Keys:
    """One of these words."""
    return other(name, {**_TEXT, "enum": [str(word) for word in words]}, about, of)


def flag(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """True or false."""
    return other(name, {"type": "boolean"}, about, of)


def whole(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A whole number."""
    return other(name, {"type": "integer"}, about, of)


def number(name: str, about: str = "", of: ReadFrom | None = None, *, decimals: int | None = None) -> Keys:
    """A number, its unit in its name; rounded where decimals are given."""
    return other(name, {"type": "number"}, about, of, write=None if decimals is None else rounding(decimals))


def size(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A length in mm without a text: 1/32 in would be too coarse, or nobody reads it."""
    return other(name, {"type": "number"}, about, of, write=mm)


def percentage(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A percentage of money, which is kept as a decimal."""
    return other(name, {"type": "number"}, about, of, write=lambda value, _: float(value))


def day(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A date."""
    return other(name, {**_TEXT, "format": "date"}, about, of, write=lambda value, _: value.isoformat())


_MONEY: Final[Contract] = {**_TEXT, "pattern": r"^-?\d+(\.\d{1,4})?$", "examples": ["549.00"]}


def money(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """An amount in the currency of its section, as text with a point; already rounded."""
    return other(name, _MONEY, about, of, write=lambda value, _: f"{value:f}")


def unrounded_money(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """An amount that the context rounds, to the decimals of the shop's own currency."""
    return other(name, _MONEY, about, of, write=lambda value, to: amount(to.rounded(value)))


def measure(name: str, unit: str, about: str, of: ReadFrom | None, *, decimals: int | None, text: InUnits) -> Keys:
    """A quantity as a number, with its unit in its name, and as people read it, in the units of the order."""
    key = f"{name}_{unit}"
    source = key if of is None else of
    return (
        *other(key, {"type": "number"}, about, source, write=None if decimals is None else rounding(decimals)),
        *other(f"{name}_text", _TEXT, "", source, text=text),
    )


def length(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A length."""
    return measure(name, "mm", about, of, decimals=3, text=format_length)


def fine(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A length that may be small: a gap or a bow, to the digit that matters."""
    return measure(name, "mm", about, of, decimals=3, text=format_fine)


def mass(name: str, about: str = "", of: ReadFrom | None = None, *, decimals: int = 3) -> Keys:
    """A mass in kg."""
    return measure(name, "kg", about, of, decimals=decimals, text=lambda kg, units: format_mass(kg * _GRAMS, units))


def grams(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A mass in g."""
    return measure(name, "g", about, of, decimals=3, text=format_mass)


def volume(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A volume in ml."""
    return measure(name, "ml", about, of, decimals=1, text=format_volume)


def force(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A force in N."""
    return measure(name, "n", about, of, decimals=1, text=format_force)


def temperature(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A temperature in degrees Celsius."""
    return measure(name, "c", about, of, decimals=2, text=format_temperature)


def sentence(name: str, about: str = "") -> Keys:
    """A text of the object with its ``lengths_mm`` in the units of the order."""
    return text(name, about, lambda found, to: tell(getattr(found, name), found.lengths_mm, to.units))


def pointer(name: str, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A place in the request or the answer (RFC 6901)."""
    return other(name, _TEXT, about, of, write=lambda steps, _: "/" + "/".join(map(str, steps)))


def one(name: str, component: Component, about: str = "", of: ReadFrom | None = None) -> Keys:
    """An object."""
    return other(name, _ref(component.name), about, of, part=component)


def many(name: str, component: Component, about: str = "", of: ReadFrom | None = None) -> Keys:
    """A list of objects."""
    return other(name, _list(component.name), about, of, part=component, each=True)


def named(name: str, component: str, about: str = "") -> Keys:
    """An object of a component that is named as in the contract, put in by who writes it."""
    return elsewhere(other(name, _ref(component), about))


def _ref(component: str) -> Contract:
    return {"$ref": f"#/components/schemas/{component}"}


def _list(component: str) -> Contract:
    return {"type": "array", "items": _ref(component)}


# Who gets a key, and when ---------------------------------------------------------------------------------------------


def maybe(keys: Keys) -> Keys:
    """Null where there is none."""
    return tuple(replace(key, contract=_nullable(key.contract)) for key in keys)


def optional(keys: Keys) -> Keys:
    """Left out where there is none."""
    return tuple(replace(key, required=False) for key in keys)


def workshop(*keys: Keys) -> Keys:
    """For makers alone."""
    return tuple(replace(key, required=False, workshop=True) for key in chain.from_iterable(keys))


def elsewhere(keys: Keys) -> Keys:
    """Named here, and put in by another."""
    return tuple(replace(key, of=None) for key in keys)


def _nullable(contract: Contract) -> Contract:
    given = {name: value for name, value in contract.items() if name != "examples"}
    if "$ref" in given:
        return {"anyOf": [{"$ref": given.pop("$ref")}, {"type": "null"}], **given}
    return {**given, "type": [given["type"], "null"]}
