"""What a cell of a fact file may hold, written as metadata of the field that it fills.

A field is read from the column of its own name by its type: a number within its bounds, a word of an enumeration, yes
or no, a day, words separated by ``"; "``, or a text. A field that may be None may be empty in the file. What else is to
be said of a column is said by these; several are joined with ``|``.
"""

from collections.abc import Collection
from typing import Any, Final

COLUMN: Final = "column"
PATTERN: Final = "pattern"
WORDS: Final = "words"
BLANK: Final = "blank"
UPPER: Final = "upper"

SNAKE: Final = r"[a-z][a-z0-9]*(_[a-z0-9]+)*"
DASHED: Final = r"[a-z0-9]+(-[a-z0-9]+)*"


def column(name: str | None) -> dict[str, Any]:
    """Metadata of a field whose column has another name, or that has none because it is worked out."""
    return {COLUMN: name}


def like(pattern: str, *, example: str) -> dict[str, Any]:
    """Metadata of a text of one form: a regular expression, and how such a text looks."""
    return {PATTERN: (pattern, example)}


def chosen(words: Collection[str]) -> dict[str, Any]:
    """Metadata of a text that is a word of a closed list."""
    return {WORDS: tuple(words)}


def blank(value: object) -> dict[str, Any]:
    """Metadata of a field whose cell may be empty, and what that means."""
    return {BLANK: value}


def up_to(name: str) -> dict[str, Any]:
    """Metadata of a number that must not be above the one of another field."""
    return {UPPER: name}
