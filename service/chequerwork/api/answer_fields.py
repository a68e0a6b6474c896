"""Fields of an answer's schema: each is its own JSON Schema, and says by itself whether it may lack."""

from collections.abc import Mapping
from typing import Any

from marshmallow import fields


def kind(type_: str | list[str], about: str, **more: Any) -> fields.Field[Any]:
    """A field of this JSON type, with what else its schema says."""
    contract: dict[str, Any] = {"type": type_, **more}
    if about:
        contract["description"] = about
    return fields.Raw(required=True, metadata={"contract": contract})


def num(about: str = "") -> fields.Field[Any]:
    """A number; its unit is in its name."""
    return kind("number", about)


def maybe_num(about: str = "") -> fields.Field[Any]:
    """A number, or null where there is none."""
    return kind(["number", "null"], about)


def whole(about: str = "") -> fields.Field[Any]:
    """A whole number."""
    return kind("integer", about)


def text(about: str = "") -> fields.Field[Any]:
    """A text."""
    return kind("string", about)


def maybe_text(about: str = "") -> fields.Field[Any]:
    """A text, or null where there is none."""
    return kind(["string", "null"], about)


def money(about: str = "") -> fields.Field[Any]:
    """An amount in the currency of its section, as text with a point."""
    return kind("string", about, pattern=r"^-?\d+(\.\d{1,4})?$", examples=["549.00"])


def maybe_money(about: str = "") -> fields.Field[Any]:
    """An amount, or null where there is none."""
    return kind(["string", "null"], about, pattern=r"^-?\d+(\.\d{1,4})?$")


def day(about: str = "") -> fields.Field[Any]:
    """A date."""
    return kind("string", about, format="date")


def maybe_day(about: str = "") -> fields.Field[Any]:
    """A date, or null where there is none."""
    return kind(["string", "null"], about, format="date")


def one(name: str, about: str = "") -> fields.Field[Any]:
    """An object of a named schema."""
    return ref({"$ref": _pointer(name)}, about)


def maybe_one(name: str, about: str = "") -> fields.Field[Any]:
    """An object of a named schema, or null."""
    return ref({"anyOf": [{"$ref": _pointer(name)}, {"type": "null"}]}, about)


def lacking(name: str, about: str = "") -> fields.Field[Any]:
    """An object that only some callers get."""
    return ref({"$ref": _pointer(name)}, about, required=False)


def many(name: str, about: str = "", *, required: bool = True) -> fields.Field[Any]:
    """A list of objects of a named schema."""
    return ref({"type": "array", "items": {"$ref": _pointer(name)}}, about, required=required)


def ref(contract: dict[str, Any], about: str, *, required: bool = True) -> fields.Field[Any]:
    """A field whose JSON Schema is given; not every caller gets one that is not required."""
    if about:
        contract["description"] = about
    return fields.Raw(required=required, metadata={"contract": contract})


def _pointer(name: str) -> str:
    return f"#/components/schemas/{name}"


def schema_of(shape: Mapping[str, fields.Field[Any]]) -> dict[str, Any]:
    """JSON Schema of an answer's object; it may gain fields within a version."""
    required = sorted(name for name, field in shape.items() if field.required)
    properties = {name: field.metadata["contract"] for name, field in shape.items()}
    return {"type": "object", "properties": properties, "required": required, "additionalProperties": True}
