"""What was renamed on purpose: requests for the new tree, and answers of the old one, in the new words."""

import csv
import io
import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote_plus

from compare.asking import Request

FILE = Path(__file__).resolve().with_name("renames.toml")
Steps = tuple[str, ...]
_ORDERS: tuple[Steps, ...] = ((), ("order",), ("orders",))  # where orders stand in requests


@dataclass(frozen=True, slots=True, kw_only=True)
class Renames:
    """Old words and new ones: of paths, of request fields (flat names), of places in answers (pointers)."""

    paths: Mapping[str, str]
    fields: Mapping[str, str]
    answers: Mapping[str, str]

    @classmethod
    def from_text(cls, text: str) -> "Renames":
        """Those of a file's text.

        Raises
        ------
        ValueError
            It has a table that is not known, or a pointer whose new form lacks one of its stars.
        """
        told = tomllib.loads(text)
        if unknown := told.keys() - {"paths", "fields", "answers"}:
            raise ValueError(f"renames: there is no table {', '.join(sorted(unknown))}")
        for old, new in told.get("answers", {}).items():
            if old.count("*") != new.count("*"):
                raise ValueError(f"renames: {old} and {new} differ in their stars")
        return cls(**{name: told.get(name, {}) for name in ("paths", "fields", "answers")})

    def __bool__(self) -> bool:
        """Whether anything was renamed."""
        return bool(self.paths or self.fields or self.answers)

    # Requests ---------------------------------------------------------------------------------------------------------

    def request(self, asked: Request) -> Request:
        """A request in the new words; what cannot be read stays as it is."""
        if not self:
            return asked
        return replace(asked, path=self.path(asked.path), query=self._query(asked.query), body=self._body(asked.body))

    def path(self, path: str) -> str:
        """A path, with its suffix, if it has one."""
        stem, dot, suffix = path.rpartition(".") if "." in path.rpartition("/")[2] else (path, "", "")
        return f"{self.paths.get(stem, stem)}{dot}{suffix}" if path not in self.paths else self.paths[path]

    def _query(self, query: str) -> str:
        return "&".join(self._pair(part) for part in query.split("&"))

    def _pair(self, part: str) -> str:
        name, sign, text = part.partition("=")
        plain = unquote_plus(name)
        if plain in ("columns", "field"):
            names = unquote_plus(text).split(";")
            told = ";".join(self.flat(each) for each in names)
            return part if told == ";".join(names) else f"{name}{sign}{quote(told)}"
        told = self.field(plain)
        return part if told == plain else f"{quote(told)}{sign}{text}"

    def field(self, name: str) -> str:
        """Flat name of a request's field."""
        found = _follow(self._field_steps, tuple(name.split(".")))
        return ".".join(found)

    @property
    def _field_steps(self) -> Mapping[Steps, Steps]:
        return {tuple(old.split(".")): tuple(new.split(".")) for old, new in self.fields.items()}

    def _body(self, body: bytes) -> bytes:
        if not self.fields:
            return body
        try:
            tree = json.loads(body)
            told = json.dumps(_moved(tree, self._field_at), ensure_ascii=False).encode()
        except (ValueError, RecursionError):
            return body
        return body if told == json.dumps(tree, ensure_ascii=False).encode() else told

    def _field_at(self, at: Steps) -> Steps:
        """Place of a field in a body, whatever list of orders or alternatives it stands in."""
        named = tuple(step for step in at if not step.isdigit())
        for above in _ORDERS:
            inner = named[len(above) :]
            if named[: len(above)] == above and inner in self._field_steps:
                told = self._field_steps[inner]
                return (*at[: len(at) - 1], told[-1]) if told[:-1] == inner[:-1] else (*above, *told)
        return at

    # Answers ----------------------------------------------------------------------------------------------------------

    def answer(self, tree: Any) -> Any:
        """An answer or a problem: names of its fields, and texts that are pointers, parameters or links as a whole."""
        return _moved(tree, lambda at: _exactly(self._places, at), self._text) if self else tree

    def row(self, row: Mapping[str, Any]) -> dict[str, Any]:
        """A record whose keys are flat names."""
        return {self.flat(name): value for name, value in row.items()}

    def table(self, text: str, delimiter: str) -> str:
        """A table whose first line names its columns."""
        head, end, rest = text.partition("\r\n")
        names = next(csv.reader(io.StringIO(head), delimiter=delimiter), [])
        told = [self.flat(name) for name in names]
        return text if told == names else f"{delimiter.join(told)}{end}{rest}"

    def flat(self, name: str) -> str:
        """Flat name of a value of an answer, or of a field of the order in a table of prices."""
        steps = tuple(name.split("."))
        found = _follow(self._places, steps)
        return ".".join(found) if found != steps else self.field(name)

    @property
    def _places(self) -> Mapping[Steps, Steps]:
        return {_steps(old): _steps(new) for old, new in self.answers.items()}

    def _text(self, key: str, text: str) -> str:
        if key == "parameter":
            return self.field(text)
        if not text.startswith("/"):
            return text
        path, sign, query = text.partition("?")
        if sign or path != self.path(path):
            return self.path(path) + sign + self._query(query)
        steps = _steps(text)
        found = _follow(self._places, steps)
        return _pointer(found if found != steps else self._field_at(steps))


def read_renames() -> Renames:
    """Those of the file beside this one."""
    return Renames.from_text(FILE.read_text("utf-8"))


def _steps(pointer: str) -> Steps:
    return tuple(step.replace("~1", "/").replace("~0", "~") for step in pointer.split("/")[1:])


def _pointer(steps: Steps) -> str:
    return "".join("/" + step.replace("~", "~0").replace("/", "~1") for step in steps)


def _exactly(told: Mapping[Steps, Steps], at: Steps) -> Steps:
    """The new place of exactly this one; itself where it was not renamed."""
    for old, new in told.items():
        if len(old) == len(at) and all(part in ("*", step) for part, step in zip(old, at, strict=True)):
            stars = iter([step for part, step in zip(old, at, strict=True) if part == "*"])
            return tuple(next(stars) if part == "*" else part for part in new)
    return at


def _follow(told: Mapping[Steps, Steps], at: Steps) -> Steps:
    """The new place of this one, or of the nearest one above it that was renamed."""
    for length in range(len(at), 0, -1):
        found = _exactly(told, at[:length])
        if found != at[:length]:
            return (*found, *at[length:])
    return at


def _moved(tree: Any, place: Any, text: Any = None) -> Any:
    """A copy of a tree with its parts at their new places: beside their old ones where only the name is new."""
    elsewhere: list[tuple[Steps, Any]] = []

    def walk(value: Any, at: Steps, told: Steps) -> Any:
        if isinstance(value, list):
            return [walk(each, (*at, str(n)), (*told, str(n))) for n, each in enumerate(value)]
        if not isinstance(value, dict):
            return text(at[-1] if at else "", value) if text and type(value) is str else value
        kept: dict[str, Any] = {}
        for key, inner in value.items():
            new = place((*at, key))
            full = (*told, key) if new == (*at, key) else new
            part = walk(inner, (*at, key), full)
            if full[:-1] == told:
                kept[full[-1]] = part
            else:
                elsewhere.append((full, part))
        return kept

    found = walk(tree, (), ())
    for steps, part in elsewhere:
        inside = found
        for step in steps[:-1]:
            inside = inside[int(step)] if isinstance(inside, list) else inside.setdefault(step, {})
        inside[steps[-1]] = part
    return found
