"""Pieces of the contract that several operations share."""

from collections.abc import Mapping
from typing import Any, Final

Json = dict[str, Any]

PRESENTATION: Final[Mapping[str, tuple[Json, ...]]] = {
    "csv": (
        {"name": "delimiter", "schema": {"type": "string", "enum": [",", ";", "tab"], "default": ","}},
        {"name": "decimal", "schema": {"type": "string", "enum": [".", ","], "default": "."}},
        {"name": "bom", "schema": {"type": "string", "enum": ["0", "1"], "default": "0"}},
    ),
    "tsv": (
        {"name": "decimal", "schema": {"type": "string", "enum": [".", ","], "default": "."}},
        {"name": "bom", "schema": {"type": "string", "enum": ["0", "1"], "default": "0"}},
    ),
    "txt": (
        {
            "name": "field",
            "description": "The one value to answer with, by its flat name; a length may end in _in, _cm, _m or _ft.",
            "schema": {
                "type": "string",
                "pattern": "^[A-Za-z][A-Za-z0-9_.]{0,199}$",
                "examples": ["geometry.overall.length_in"],
            },
        },
    ),
}
INLINE: Final[Json] = {
    "name": "errors",
    "description": "inline: a fault becomes one short line that begins ERROR, with status 200.",
    "schema": {"type": "string", "enum": ["inline"]},
}
REFRESH: Final[Json] = {
    "name": "refresh",
    "description": "Ignored: a new value makes a sheet ask again.",
    "schema": {"type": "string"},
}
MEDIA: Final = {"csv": "text/csv", "tsv": "text/tab-separated-values", "txt": "text/plain"}


HEADERS: Final[Json] = {
    "ETag": {"description": "Entity tag of exactly these bytes", "schema": {"type": "string"}},
    "X-Request-Id": {"description": "Id of this request", "schema": {"type": "string"}},
}


def good(media: str, schema: Json) -> Json:
    """The answer of status 200."""
    return {"200": {"description": "Answer", "headers": HEADERS, "content": {media: {"schema": schema}}}}


def response(status: str) -> Json:
    """A refusal, by its status."""
    return {"$ref": f"#/components/responses/Problem{status}"}


def ref(name: str) -> Json:
    """A named schema."""
    return {"$ref": f"#/components/schemas/{name}"}
