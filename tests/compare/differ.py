"""Every difference between two answers: status, headers, and the body by pointer, cell or line."""

import csv
import difflib
import io
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from compare.renames import Renames

Record = Mapping[str, Any]
_OF_THE_BODY = ("etag", "content-length")  # headers that follow from it
_RANDOM_ID = re.compile(r"[0-9a-f]{16}")
_GIVEN_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")


class Number(str):
    """A number as it is spelt: 4 and 4.0 are not the same bytes."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One place at which two answers differ."""

    what: str  # status, header, moved, gone, new, order, line, bytes, broke
    at: str  # pointer, name of a header, or nothing of a line
    old: str
    new: str

    @property
    def where(self) -> str:
        """The place with a star for each index."""
        return re.sub(r"/\d+(?=/|$)", "/*", self.at)


def differences(old: Record, new: Record, renames: Renames, given_id: str = "") -> list[Difference]:
    """All of two answers to one request.

    Parameters
    ----------
    old, new
        Status, headers, body and ``broke``.
    renames
        What was renamed on purpose; the old answer is told in the new words.
    given_id
        The request's own id. Where it is none that a server repeats, the one made up for it is not compared.
    """
    found = [
        Difference(what=name, at="", old=str(old[name]), new=str(new[name]))
        for name in ("status", "broke")
        if old[name] != new[name]
    ]
    old_body, new_body = old["body"].encode("latin-1"), new["body"].encode("latin-1")
    kind = _header(old, "content-type")
    same_kind = kind == _header(new, "content-type")
    bodies = list(_bodies(_text(old_body), _text(new_body), kind if same_kind else "", renames))
    as_sent = old_body == new_body
    if not as_sent and not bodies and not renames:
        bodies = [Difference(what="bytes", at="", old=repr(old_body[:80]), new=repr(new_body[:80]))]
    masked = not _GIVEN_ID.fullmatch(given_id)
    found += _headers(old, new, as_sent=as_sent and not (renames and not old_body), masked=masked)
    return found + [each for each in bodies if not (masked and each.at == "/request_id")]


def _header(record: Record, name: str) -> str:
    return ", ".join(text for key, text in record["headers"] if key.lower() == name)


def _headers(old: Record, new: Record, *, as_sent: bool, masked: bool) -> Iterator[Difference]:
    names = dict.fromkeys(name for record in (old, new) for name, _ in record["headers"])
    for name in dict.fromkeys(name.lower() for name in names):
        was, now = _header(old, name), _header(new, name)
        if name == "x-request-id" and masked:
            was, now = (_RANDOM_ID.sub("(made up)", text) for text in (was, now))
        if name in _OF_THE_BODY and not as_sent:
            if bool(was) == bool(now) and (name == "content-length" or was != now or not was):
                continue
            yield Difference(what="header", at=name, old=was, new=f"{now} although the body is another")
        elif was != now:
            yield Difference(what="header", at=name, old=was, new=now)


def _text(body: bytes) -> str:
    return body.decode("utf-8", "backslashreplace")


# Bodies ---------------------------------------------------------------------------------------------------------------


def _bodies(old: str, new: str, kind: str, renames: Renames) -> Iterator[Difference]:
    if old == new and not renames:
        return
    try:
        if "ndjson" in kind:
            yield from _rows(old, new, renames)
        elif "json" in kind:
            yield from trees(renames.answer(_read(old)), _read(new))
        elif re.match("text/(csv|tab)", kind) and "ERROR " not in (old[:6], new[:6]):
            delimiter = _delimiter(old)
            yield from _tables(renames.table(old, delimiter), new, delimiter)
        else:
            yield from lines(old, new)
    except ValueError:
        yield from lines(old, new)


def _read(text: str) -> Any:
    return json.loads(text, parse_float=Number, parse_int=Number) if text else {}


def _rows(old: str, new: str, renames: Renames) -> Iterator[Difference]:
    old_rows, new_rows = ([_read(line) for line in text.splitlines()] for text in (old, new))
    yield from trees([renames.row(row) for row in old_rows], new_rows)


def trees(old: Any, new: Any, at: str = "") -> Iterator[Difference]:
    """Differences of two JSON values, by RFC 6901 pointer."""
    if type(old) is not type(new) or not isinstance(old, dict | list):
        if type(old) is not type(new) or old != new:
            yield Difference(what="moved", at=at, old=_shown(old), new=_shown(new))
    elif isinstance(old, dict):
        yield from _objects(old, new, at)
    elif len(old) == len(new):
        for index, (was, now) in enumerate(zip(old, new, strict=True)):
            yield from trees(was, now, f"{at}/{index}")
    else:
        yield from _lists(old, new, at)


def _objects(old: Mapping[str, Any], new: Mapping[str, Any], at: str) -> Iterator[Difference]:
    for key in (*old, *(key for key in new if key not in old)):
        here = f"{at}/{key.replace('~', '~0').replace('/', '~1')}"
        if key not in new:
            yield Difference(what="gone", at=here, old=_shown(old[key]), new="")
        elif key not in old:
            yield Difference(what="new", at=here, old="", new=_shown(new[key]))
        else:
            yield from trees(old[key], new[key], here)
    if old.keys() == new.keys() and list(old) != list(new):
        yield Difference(what="order", at=at, old=", ".join(old), new=", ".join(new))


def _lists(old: Sequence[Any], new: Sequence[Any], at: str) -> Iterator[Difference]:
    """Entries that came or went; the others are compared with those that they match."""
    was, now = ([json.dumps(each) for each in entries] for entries in (old, new))
    for how, a, b, c, d in difflib.SequenceMatcher(None, was, now, autojunk=False).get_opcodes():
        if how == "equal":
            continue
        for index in range(max(b - a, d - c)):
            here = f"{at}/{a + index}"
            if index >= d - c:
                yield Difference(what="gone", at=here, old=_shown(old[a + index]), new="")
            elif index >= b - a:
                yield Difference(what="new", at=here, old="", new=_shown(new[c + index]))
            else:
                yield from trees(old[a + index], new[c + index], here)


def _shown(value: Any) -> str:
    if isinstance(value, Number):
        return str(value)
    return json.dumps(value, ensure_ascii=False)[:2000]


def _delimiter(text: str) -> str:
    head = text.partition("\r\n")[0]
    return max(",;\t", key=head.count)


def _tables(old: str, new: str, delimiter: str) -> Iterator[Difference]:
    was, now = (list(_cells(text, delimiter)) for text in (old, new))
    for found in trees(was, now):
        yield replace(found, at=re.sub(r"^/\d+(?=/)", "", found.at).replace(".", "/"))


def _cells(text: str, delimiter: str) -> Iterator[dict[str, str]]:
    """Rows by their columns' names."""
    quoting = csv.QUOTE_NONE if delimiter == "\t" else csv.QUOTE_MINIMAL
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, quoting=quoting, strict=True)
    names = next(rows, [])
    for row in rows:
        yield dict(zip(names, row, strict=True))


def lines(old: str, new: str) -> Iterator[Difference]:
    """Differences of two texts, line by line."""
    was, now = old.splitlines(), new.splitlines()
    for how, a, b, c, d in difflib.SequenceMatcher(None, was, now).get_opcodes():
        if how == "equal":
            continue
        for index in range(max(b - a, d - c)):
            before = was[a + index] if a + index < b else ""
            after = now[c + index] if c + index < d else ""
            yield Difference(what="line", at="", old=before, new=after)
