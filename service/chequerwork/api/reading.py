"""From bytes to a plain dict: JSON bodies and flat queries, read strictly.

What comes out is the same nested dict of texts, numbers and lists for both, and the schema goes on from there. A
body that is no JSON, or JSON that two readers could understand differently, is refused as a whole. The parameters of a
query are judged one by one, so that all their faults can be told at once.
"""

import json
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, NoReturn
from urllib.parse import unquote_to_bytes

from flask import Request
from werkzeug.datastructures import MultiDict
from werkzeug.exceptions import RequestEntityTooLarge

from chequerwork.api.problems import Problem
from chequerwork.domain.basics.errors import BadQuantity, Fault, near_names
from chequerwork.ops import limits

SHOWN = 60  # characters of something wrong that a message repeats
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_INT = re.compile(r"-?[0-9]{1,6}")
_NUMBER = re.compile(r"-?[0-9]{1,6}(?:\.[0-9]{1,20})?")

# JSON bodies ----------------------------------------------------------------------------------------------------------

_JSON_TYPE = re.compile(r"application/(?:json|[a-z0-9.+_-]{1,60}\+json)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """How much one body may hold, and what to send instead of more."""

    size: int  # bytes
    values: int
    remedy: str


ONE_ORDER: Final = Bounds(size=limits.MAX_BODY_BYTES, values=limits.MAX_VALUES, remedy="Send one order at a time.")
ONE_STOCK: Final = Bounds(
    size=limits.STOCK_BODY_BYTES,
    values=limits.STOCK_VALUES,
    remedy="Send fewer orders, parts or boards at a time.",
)
ONE_TABLE: Final = Bounds(
    size=limits.TABLE_BODY_BYTES, values=limits.TABLE_VALUES, remedy="Shorten the lists, or ask in several requests."
)


def read_json(asked: Request, bounds: Bounds = ONE_ORDER) -> dict[str, Any]:
    """The object in the body of a request.

    Parameters
    ----------
    asked
        The request.
    bounds
        How much it may hold.

    Returns
    -------
    dict
        At most ``MAX_DEPTH`` deep, with finite numbers, exact whole numbers and texts without NUL.

    Raises
    ------
    Problem
        415 another media type or encoding; 413 too large; 400 no JSON object, or one that is ambiguous.

    References
    ----------
    RFC 8259 and RFC 7493 (I-JSON), sections 2.1 to 2.3.
    """
    if asked.environ.get("CONTENT_TYPE") != "application/json":
        _check_media_type(asked)
    if asked.environ.get("HTTP_CONTENT_ENCODING", "identity").strip().lower() != "identity":
        detail = "A compressed body is not read here. Send it without Content-Encoding."
        raise Problem("unsupported-media-type", detail, headers={"Accept-Encoding": "identity"})
    return parse_object(_read_body(asked, bounds), bounds)


def _check_media_type(asked: Request) -> None:
    given = asked.mimetype
    charset = asked.mimetype_params.get("charset", "utf-8").lower()
    if _JSON_TYPE.fullmatch(given) and charset in ("utf-8", "utf8"):
        return
    was = f"is {given[:SHOWN]!r}, charset {charset[:SHOWN]!r}" if given else "is not named"
    detail = f"The body's media type {was}. Send JSON in UTF-8 with Content-Type: application/json."
    raise Problem("unsupported-media-type", detail, headers={"Accept-Post": "application/json"})


def _read_body(asked: Request, bounds: Bounds) -> bytes:
    # One byte more than allowed: the stream refuses at its limit, even if nothing would have followed.
    asked.max_content_length = bounds.size + 1
    try:
        body = asked.get_data(cache=False)
    except RequestEntityTooLarge:
        raise _too_long(bounds) from None
    if len(body) > bounds.size:
        raise _too_long(bounds)
    return body


def _too_long(bounds: Bounds) -> Problem:
    detail = f"The body has more than the {bounds.size} bytes allowed. {bounds.remedy}"
    return Problem("content-too-large", detail)


def parse_object(body: bytes, bounds: Bounds = ONE_ORDER) -> dict[str, Any]:
    """The JSON object in some bytes.

    Parameters
    ----------
    body
        As received, no longer than allowed.
    bounds
        How much it may hold.

    Raises
    ------
    Problem
        400, as in ``read_json``.
    """
    text = _decode(body)
    try:
        tree = _decoder.decode(text)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise _unreadable("bad-json", f"The body is not JSON; it goes wrong at {where}.") from None
    except _Ambiguous as error:
        raise _unreadable(error.code, error.detail) from None
    except RecursionError:
        raise _too_deep() from None
    except ValueError:
        # The one refusal left: a whole number of more digits than Python converts.
        raise _too_large_number() from None
    if not isinstance(tree, dict):
        raise _unreadable("not-an-object", "The body is JSON but no object. Put the order in {...}.")
    _check_values(tree, bounds)
    if "\\u" in text:
        _check_texts(tree)
    return tree


def _decode(body: bytes) -> str:
    if not body.strip():
        raise _unreadable("empty-body", "The body is empty. Send the order as a JSON object.")
    if body.startswith(b"\xef\xbb\xbf"):
        raise _unreadable("byte-order-mark", "The body begins with a byte order mark. Send UTF-8 without it.")
    try:
        text = body.decode("utf-8")
    except UnicodeDecodeError as error:
        detail = f"The body is not UTF-8; byte {error.start + 1} fits nowhere. Send JSON in UTF-8."
        raise _unreadable("not-utf-8", detail) from None
    if "\0" in text:
        # UTF-16 without a mark decodes as UTF-8 with a zero beside each letter.
        raise _unreadable("not-utf-8", "The body holds zero bytes, as UTF-16 does. Send JSON in UTF-8.")
    return text


class _Ambiguous(Exception):
    def __init__(self, code: str, detail: str) -> None:
        self.code, self.detail = code, detail
        super().__init__(code)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in found if names.count(name) > 1)
        detail = f"The name {twice[:SHOWN]!r} stands twice in one object. Say which value is meant by leaving out one."
        raise _Ambiguous("duplicate-name", detail)
    return found


def _constant(name: str) -> NoReturn:
    raise _Ambiguous("not-finite", f"{name} is no JSON number. Send a finite one, or leave the field out.")


_decoder = json.JSONDecoder(object_pairs_hook=_object, parse_constant=_constant)


def _check_values(tree: dict[str, Any], bounds: Bounds) -> None:
    """Walk the tree level by level: its depth, its size and its numbers."""
    level: list[Any] = [tree]
    depth = count = 0
    while level:
        depth += 1
        if depth > limits.MAX_DEPTH:
            raise _too_deep()
        below: list[Any] = []
        for branch in level:
            count += len(branch)
            for value in branch.values() if type(branch) is dict else branch:
                kind = type(value)
                if kind is dict or kind is list:
                    below.append(value)
                elif (kind is int and not -limits.MAX_EXACT_INT <= value <= limits.MAX_EXACT_INT) or (
                    kind is float and not math.isfinite(value)
                ):
                    raise _too_large_number()
        level = below
    if count > bounds.values:
        detail = f"The body holds {count} values; at most {bounds.values} are read. {bounds.remedy}"
        raise _unreadable("too-many-values", detail)


# No character: half of a surrogate pair, and the zero that ends texts in other languages.
_NO_CHARACTER = re.compile("[\0\ud800-\udfff]")


def _check_texts(tree: dict[str, Any]) -> None:
    """Look for what only an escape can bring into a text."""
    for text in _texts(tree):
        if _NO_CHARACTER.search(text):
            detail = "A text holds U+0000 or half of a surrogate pair, which are no characters. Leave them out."
            raise _unreadable("bad-character", detail)


def _texts(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from value
        value = list(value.values())
    if isinstance(value, list):
        for inner in value:
            yield from _texts(inner)


def _too_deep() -> Problem:
    detail = f"The body is nested more than {limits.MAX_DEPTH} deep. No order needs more than half of that."
    return _unreadable("too-deep", detail)


def _too_large_number() -> Problem:
    detail = f"A number is too large: whole numbers go up to {limits.MAX_EXACT_INT} (2^53 - 1), others must be finite."
    return _unreadable("number-too-large", detail)


def _unreadable(code: str, detail: str, *, in_query: bool = False) -> Problem:
    fault = Fault(at=(), code=code, detail=detail)
    what = "query" if in_query else "body"
    return Problem("unreadable-request", f"The {what} cannot be read; see errors.", errors=[fault], in_query=in_query)


# Queries --------------------------------------------------------------------------------------------------------------

# Accepted everywhere and never looked at: a new value makes a sheet ask again.
_IGNORED = "refresh"

_BAD_ESCAPE = re.compile(rb"%(?![0-9A-Fa-f]{2})")


def read_args(asked: Request) -> MultiDict[str, str]:
    """The parameters of a request's query, decoded strictly.

    Parameters
    ----------
    asked
        The request.

    Raises
    ------
    Problem
        414 the query is too long; 400 it is no ASCII, or its percent escapes are broken or no UTF-8.

    References
    ----------
    RFC 3986, sections 2.1 and 3.4.
    """
    raw = asked.query_string
    if len(raw) > limits.MAX_QUERY_BYTES:
        detail = f"The query has {len(raw)} bytes; at most {limits.MAX_QUERY_BYTES} are read. Send the order with POST."
        raise Problem("uri-too-long", detail)
    if not raw.isascii():
        raise _unreadable("not-ascii", "The query holds bytes that must be escaped as %XX.", in_query=True)
    if b"%" in raw:
        _check_percent(raw)
    return asked.args


def _check_percent(raw: bytes) -> None:
    broken = _BAD_ESCAPE.search(raw)
    if broken is not None:
        shown = raw[broken.start() : broken.start() + 3].decode("ascii")
        detail = f"{shown!r} is no escape of the form %XX. A percent sign itself is written %25."
        raise _unreadable("bad-escape", detail, in_query=True)
    try:
        unquote_to_bytes(raw).decode("utf-8")
    except UnicodeDecodeError:
        detail = "The escapes of the query are not UTF-8. Escape each letter as the bytes of its UTF-8 form."
        raise _unreadable("not-utf-8", detail, in_query=True) from None


def read_query(
    args: MultiDict[str, str], *, shape: Mapping[str, str], alternatives: bool = False
) -> tuple[dict[str, Any], list[Fault]]:
    """The nested dict that a flat query stands for.

    Parameters
    ----------
    args
        Decoded parameters, without those of the presentation.
    shape
        Flat name (``frame.width``) of every known parameter and its kind: ``int``, ``number``, ``text`` or ``lines``.
    alternatives
        Whether a text may hold several, separated by ``|``; they become a list.

    Returns
    -------
    tuple
        What could be read, nested like a JSON body; and every fault, in the order of the query. A parameter with a
        fault is left out of the dict.
    """
    tree: dict[str, Any] = {}
    if len(args) > limits.MAX_PARAMETERS:
        detail = f"The query has {len(args)} parameters; at most {limits.MAX_PARAMETERS} are read."
        return tree, [Fault(at=(), code="too-many", detail=detail)]
    faults: list[Fault] = []
    for name, texts in args.lists():
        kind = shape.get(name)
        if kind is not None:
            try:
                _put(tree, name, _alternatives(texts, kind) if alternatives else _READERS[kind](single(texts)))
            except BadQuantity as error:
                faults.append(Fault(at=tuple(name.split(".")), code=error.code, detail=error.detail))
        elif name != _IGNORED:
            faults.append(_unknown(name, shape, search=len(faults) < limits.MAX_FAULTS))
    return tree, faults


def _alternatives(texts: list[str], kind: str) -> Any:
    """``45mm|50mm``: each read as it would be alone."""
    parts = single(texts, limits.MAX_QUERY_BYTES).split("|")
    found = [_READERS[kind](single([part.strip()])) for part in parts]
    return found if len(found) > 1 else found[0]


def _put(tree: dict[str, Any], name: str, value: object) -> None:
    *branches, leaf = name.split(".")
    for branch in branches:
        tree = tree.setdefault(branch, {})
    tree[leaf] = value


def single(texts: list[str], most: int = limits.MAX_STRING_CHARS) -> str:
    """The one text of a parameter, of at most so many characters.

    Raises
    ------
    BadQuantity
        It is given more than once, blank, too long or holds a control character.
    """
    if len(texts) > 1:
        raise BadQuantity("repeated", f"It is given {len(texts)} times. Give it once.")
    text = texts[0]
    if not text or text.isspace():
        raise BadQuantity("blank", "It is given without a value. Give one, or leave the parameter out.")
    if len(text) > most:
        raise BadQuantity("too-long", f"It has {len(text)} characters; at most {most} are read.")
    if _CONTROL.search(text):
        raise BadQuantity("bad-character", "It holds a control character. Use letters, digits and signs only.")
    return text


def _read_int(text: str) -> int:
    if not _INT.fullmatch(text):
        raise BadQuantity("wrong-type", f"{text[:SHOWN]!r} is no whole number. Use digits only, at most 6, such as 8.")
    return int(text)


def _read_number(text: str) -> float:
    if not _NUMBER.fullmatch(text):
        detail = f"{text[:SHOWN]!r} is no number. Use digits and a decimal point, without exponent."
        raise BadQuantity("wrong-type", detail)
    return float(text)


def _read_lines(text: str) -> list[dict[str, str]]:
    """``hard_maple:3mm;wenge:2mm``: bands from the inside out."""
    lines: list[dict[str, str]] = []
    for number, part in enumerate(text.split(";"), start=1):
        species, colon, width = (piece.strip() for piece in part.partition(":"))
        if not (species and colon and width) or ":" in width:
            raise BadQuantity(
                "bad-list",
                f"Line {number} is {part[:SHOWN]!r}. Write species:width, and ; between lines, as in "
                "hard_maple:3mm;wenge:2mm.",
            )
        lines.append({"species": species, "width": width})
    return lines


_READERS: Mapping[str, Callable[[str], Any]] = {
    "int": _read_int,
    "number": _read_number,
    "text": str,
    "lines": _read_lines,
}


# Names that say how an answer is written, and where they belong.
_TABLES: Final = "paths that end in .csv or .tsv"
PRESENTATION: Final[Mapping[str, str]] = {
    "columns": f"{_TABLES}, and price tables",
    "delimiter": _TABLES,
    "decimal": _TABLES,
    "bom": _TABLES,
    "field": "paths that end in .txt, price tables aside",
    "errors": "paths that end in .csv or .tsv or .txt",
    "explain": "the paths of a section and of quotes",
    "from_stock": "the paths of price and of quotes",
    "sensitivity": "the paths of price and of quotes",
    "board": "the path of a stock plan that ends in .svg",
}


def _unknown(name: str, shape: Mapping[str, str], *, search: bool) -> Fault:
    """Fault for a parameter that does not exist, with what may have been meant."""
    inside = [full for full in shape if full.startswith(f"{name}.")] if search else []
    near = near_names(name, shape) if search and not inside else ()
    if name in PRESENTATION:
        remedy = f"It belongs to {PRESENTATION[name]}."
    elif inside:
        remedy = f"Its parts are {', '.join(inside)}."
    elif near:
        remedy = f"Did you mean {' or '.join(near)}?"
    else:
        remedy = "All parameters are listed at /docs."
    detail = f"There is no parameter {name[:SHOWN]!r} here. {remedy}"
    return Fault(at=(name[:SHOWN],), code="unknown-field", detail=detail)
