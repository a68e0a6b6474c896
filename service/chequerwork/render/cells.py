"""Answers for spreadsheets: flat names, one value, one row.

An answer is a plain tree of ``dict``, ``list`` and scalars, money as decimal text. A place in it has a flat name, its
keys and indexes joined by dots: ``cutting.parts.0.rough.length_mm``.

A spreadsheet reads every cell again. So a number is written plainly, without exponent; an ISO date, or date with time,
stays as it is; and any other text that a spreadsheet would take for a formula, a number, a date or a fraction gets an
apostrophe in front.
"""

import csv
import io
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any

from chequerwork.domain.basics.errors import Fault, Path, Refused, near_names
from chequerwork.quantities import length_in_unit

Scalar = str | int | float | bool | None
Branch = Mapping[str, Any] | list[Any] | tuple[Any, ...]

MEDIA_TYPES: Mapping[str, str] = {
    "csv": "text/csv; charset=utf-8; header=present",
    "tsv": "text/tab-separated-values; charset=utf-8",
    "txt": "text/plain; charset=utf-8",
}

# Decimals of a length asked for in another unit: each step is finer than 0.01 mm.
_DECIMALS: Mapping[str, int] = {"in": 4, "ft": 5, "cm": 3, "m": 5}

_MOST_SHOWN = 12  # names in one message
_MOST_SEARCHED = 5  # unknown names in one request for which near ones are searched: it takes a while

# A name as our answers have them; a header cell of that form is shown unchanged, so that it can be looked up.
_FLAT_NAME = re.compile(r"[a-z][a-z0-9_]*(?:\.[a-z0-9_]+)*", re.ASCII)
# Control characters: line ends and tabs too, also those that only some programs know (U+0085, U+2028, U+2029).
_CONTROLS = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")
_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?", re.ASCII)

# Names ----------------------------------------------------------------------------------------------------------------


def flatten(tree: Mapping[str, Any]) -> dict[str, Scalar]:
    """Every value of a tree by its flat name, in the tree's order.

    Parameters
    ----------
    tree
        An answer. An empty branch has no name.
    """
    flat: dict[str, Scalar] = {}
    _flatten_into(flat, "", tree)
    return flat


def _flatten_into(flat: dict[str, Scalar], prefix: str, branch: Branch) -> None:
    steps = branch.items() if isinstance(branch, Mapping) else enumerate(branch)
    for step, value in steps:
        if isinstance(value, Mapping | list | tuple):
            _flatten_into(flat, f"{prefix}{step}.", value)
        else:
            flat[f"{prefix}{step}"] = value


def pick(tree: Mapping[str, Any], name: str, *, at: Path = ("field",)) -> Scalar:
    """One value of a tree.

    Parameters
    ----------
    tree
        An answer.
    name
        Flat name. A length that ends in ``_mm`` may be asked for with ``_cm``, ``_m``, ``_in`` or ``_ft`` instead.
    at
        Where the name was given, for the fault.

    Returns
    -------
    str | int | float | bool | None
        The value; None also for an empty branch.

    Raises
    ------
    Refused
        There is nothing of this name, or it names a branch.
    """
    return _pick_all(tree, [name], at)[0]


def lenient(tree: Mapping[str, Any], name: str) -> Scalar:
    """One value of a tree as ``pick`` finds it; None where there is nothing of this name, or a branch."""
    here: Any = tree
    for step in _steps(name):
        here = here.get(step) if type(here) is dict else None
    found = _find(tree, name) if here is None else here  # a list, another unit, or nothing
    return None if isinstance(found, _Missing | Mapping | list | tuple) else found


@lru_cache(maxsize=512)
def _steps(name: str) -> tuple[str, ...]:
    return tuple(name.split("."))


def _pick_all(tree: Mapping[str, Any], names: Iterable[str], at: Path) -> list[Scalar]:
    values: list[Scalar] = []
    faults: list[Fault] = []
    for name in names:
        found = _find(tree, name)
        if isinstance(found, _Missing):
            faults.append(_unknown(tree, name, at, search=len(faults) < _MOST_SEARCHED))
        elif isinstance(found, Mapping | list | tuple):
            if found:
                faults.append(_branch(name, found, at))
            values.append(None)
        else:
            values.append(found)
    if faults:
        raise Refused(faults)
    return values


class _Missing:
    """Nothing of that name; None is a value."""


_MISSING = _Missing()
_Found = Scalar | Branch | _Missing


def _find(tree: Mapping[str, Any], name: str) -> _Found:
    found = _step_to(tree, name)
    stem, mark, unit = name.rpartition("_")
    if isinstance(found, _Missing) and mark and unit in _DECIMALS:
        found = _step_to(tree, f"{stem}_mm")
        if isinstance(found, int | float):
            # Not more digits than the millimetres had; "z" writes no minus before zero.
            return float(f"{length_in_unit(found, unit):z.{_DECIMALS[unit]}f}")
    return found


def _step_to(tree: Mapping[str, Any], name: str) -> _Found:
    here: _Found = tree
    for step in name.split("."):
        if isinstance(here, Mapping) and step in here:
            here = here[step]
        elif isinstance(here, list | tuple) and re.fullmatch("0|[1-9][0-9]{0,5}", step) and int(step) < len(here):
            here = here[int(step)]
        else:
            return _MISSING
    return here


def _unknown(tree: Mapping[str, Any], name: str, at: Path, *, search: bool) -> Fault:
    known = flatten(tree) if search else {}
    # Most slips are a missing or wrong section before the right last word.
    last = name.rpartition(".")[2]
    near = [full for full in known if last and full.rpartition(".")[2] == last][:3] or near_names(name, known)
    remedy = f"Did you mean {' or '.join(near)}?" if near else "The .csv of the same request shows every name."
    return Fault(at=at, code="unknown-name", detail=f"There is no value named {name[:60]!r} here. {remedy}")


def _branch(name: str, branch: Branch, at: Path) -> Fault:
    leaves: dict[str, Scalar] = {}
    _flatten_into(leaves, f"{name}.", branch)
    shown = ", ".join(list(leaves)[:_MOST_SHOWN])
    more = f" and {len(leaves) - _MOST_SHOWN} more" if len(leaves) > _MOST_SHOWN else ""
    return Fault(at=at, code="not-a-value", detail=f"{name} holds several values. Ask for one of them: {shown}{more}.")


# One value, one row ---------------------------------------------------------------------------------------------------


def to_text(value: Scalar) -> str:
    """One value as bare text: a decimal point, no quotes, no symbol, no line end; nothing for None.

    Parameters
    ----------
    value
        A scalar of an answer.
    """
    return plain_line(value) if isinstance(value, str) else _bare(value)


def plain_line(text: str) -> str:
    """The text in one line: control characters and line ends become spaces."""
    return _CONTROLS.sub(" ", text)


def to_csv(
    tree: Mapping[str, Any],
    *,
    columns: Sequence[str] = (),
    delimiter: str = ",",
    decimal: str = ".",
    bom: bool = False,
) -> bytes:
    r"""A header row and one row.

    Parameters
    ----------
    tree
        An answer.
    columns
        Flat names to show, in this order; none means all. Lengths may be asked for in other units as in ``pick``.
    delimiter
        ``,`` or ``;``, or ``\t`` for tab-separated values, which know no quotes.
    decimal
        Decimal sign of numbers, ``.`` or ``,``.
    bom
        Whether to begin with the mark by which some spreadsheets know UTF-8.

    Raises
    ------
    Refused
        Columns that do not exist or are branches, all named at once.

    References
    ----------
    RFC 4180, section 2; IANA, media type text/tab-separated-values.
    """
    if columns:
        names, values = list(columns), _pick_all(tree, columns, ("columns",))
    else:
        flat = flatten(tree)
        names, values = list(flat), list(flat.values())
    return _written(names, [values], delimiter, decimal, bom=bom)


def to_csv_rows(
    rows: Sequence[Mapping[str, Any]],
    like: Sequence[Mapping[str, Any]],
    *,
    columns: Sequence[str] = (),
    delimiter: str = ",",
    decimal: str = ".",
    bom: bool = False,
) -> bytes:
    """A header row and one row for each record; a list of texts is one cell, its entries joined by semicolons.

    Parameters
    ----------
    rows
        Records of an answer.
    like
        Records that have every name there is: the header is theirs, so that it is the same for any selection.
    columns, delimiter, decimal, bom
        As in ``to_csv``; columns are names within a record.

    Raises
    ------
    Refused
        Columns that no record of ``like`` has.
    """
    known = _leaves(_outline(like))
    faults = [_unknown(known, name, ("columns",), search=True) for name in columns if name not in known]
    if faults:
        raise Refused(faults)
    flat = [_leaves(row) for row in rows]
    names = list(columns or known)
    return _written(names, [[row.get(name) for name in names] for row in flat], delimiter, decimal, bom=bom)


def _outline(rows: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """One record with every branch that any record has, in their order."""
    merged: dict[str, Any] = {}
    for row in rows:
        for key, value in row.items():
            before = merged.get(key)
            if isinstance(value, Mapping):
                merged[key] = _outline([before if isinstance(before, Mapping) else {}, value])
            elif not isinstance(before, Mapping):
                merged[key] = value
    return merged


def _leaves(row: Mapping[str, Any]) -> dict[str, Scalar]:
    """Every value of a record by its flat name."""
    flat: dict[str, Scalar] = {}
    for key, value in row.items():
        if isinstance(value, Mapping):
            flat |= {f"{key}.{name}": leaf for name, leaf in _leaves(value).items()}
        else:
            flat[key] = "; ".join(map(str, value)) if isinstance(value, list | tuple) else value
    return flat


def _written(
    names: Sequence[str], rows: Iterable[Sequence[Scalar]], delimiter: str, decimal: str, *, bom: bool
) -> bytes:
    """The bytes of a header and its rows."""
    return csv_header(names, delimiter=delimiter, bom=bom) + csv_lines(rows, delimiter=delimiter, decimal=decimal)


def csv_header(names: Sequence[str], *, delimiter: str = ",", bom: bool = False) -> bytes:
    """The first line of a table that is written in pieces; parameters as in ``to_csv``."""
    line = [name if _FLAT_NAME.fullmatch(name) else _guarded(name) for name in names]
    return _lines([line], delimiter).encode("utf-8-sig" if bom else "utf-8")


def csv_lines(rows: Iterable[Sequence[Scalar]], *, delimiter: str = ",", decimal: str = ".") -> bytes:
    """Some rows of a table that is written in pieces; parameters as in ``to_csv``."""
    return _lines([[_cell(value, decimal) for value in row] for row in rows], delimiter).encode()


def _lines(lines: Sequence[Sequence[str]], delimiter: str) -> str:
    if delimiter == "\t":
        return "".join("\t".join(map(_unquoted, line)) + "\r\n" for line in lines)
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n").writerows(lines)
    return out.getvalue()


def _unquoted(cell: str) -> str:
    """A cell of a format without quotes: a reader that knows them must not take the first one for an opening."""
    return f"'{cell}" if cell.lstrip().startswith('"') else cell


def _cell(value: Scalar, decimal: str) -> str:
    if not isinstance(value, str):
        return _bare(value).replace(".", decimal)
    # Money is text in the tree and a number in a cell.
    return value.replace(".", decimal) if _NUMBER.fullmatch(value) else _guarded(value)


def _bare(value: float | bool | None) -> str:  # noqa: FBT001  a value, not a switch
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int):
        return str(value)
    if not math.isfinite(value):
        raise ValueError("an answer holds a number that is not finite")
    # Through Decimal, because a float's own text may have an exponent; 8.0 is 8 to a spreadsheet.
    return f"{Decimal(repr(value)):zf}".removesuffix(".0")


# What a spreadsheet would misread -------------------------------------------------------------------------------------

# What may stand in front of a formula unseen: white space of any kind, zero-width signs and text directions.
_UNSEEN = r"[\s\u00ad\u180e\u200b-\u200f\u202a-\u202e\u2060-\u2064\ufeff]*"
# = + - @ and their full-width forms; tab, CR and LF are gone by then.
_FORMULA = re.compile(rf"{_UNSEEN}[=+\-@＝＋－＠\u2212]")
# The same inside a text, after a sign at which another region's spreadsheet would begin a new cell.
_INNER_FORMULA = re.compile(rf"([,;]{_UNSEEN})(?=[=+\-@＝＋－＠\u2212])")

_ISO_DATE = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}(?:T[0-9]{2}:[0-9]{2}(?::[0-9]{2})?(?:Z|[+-][0-9]{2}:[0-9]{2})?)?", re.ASCII
)
# Digits with no letters but those of exponents and the clock: 007, 3/4, 2 1/4, 1E5, 1.3., 12:30, 5 %, 1 000 €.
# Here and below every repetition is possessive, so a long text takes no longer than its length.
_LIKE_NUMBER = re.compile(
    r"(?=.*\d)[\d\s.,:;/\\'’()#%°$€£¥¼-¾⅐-⅞⁄+\-]*+(?:e[+-]?\d++)?(?:[ap]\.?m?\.?)?\s*+", re.IGNORECASE
)
# A day or a year beside the name of a month, in the languages of our shops and their neighbours (from memory).
_MONTHS = (
    "jan|feb|fe[bv]r|fév|mar|mär|maa|mrt|apr|avr|abr|may|mai|mei|mag|jun|juin|giu|jul|juil|lug|aug|aoû|ago|sep|set"
    "|oct|okt|ott|nov|dec|déc|dez|dic"
)
_LIKE_DATE = re.compile(rf"(?=.*\d)[\d\s.,:/'’\-]*+(?:{_MONTHS})[a-zéûäöç]*+[\d\s.,:/'’\-]*+(?:[ap]m)?", re.IGNORECASE)


@lru_cache(maxsize=512)  # the rows of a table repeat their texts; ten times faster
def _guarded(text: str) -> str:
    """The text so that a spreadsheet shows it as it is.

    References
    ----------
    OWASP, CSV Injection: = + - @, tab, CR, LF and full-width forms, also behind separators inside a cell.
    """
    line = _INNER_FORMULA.sub(r"\1'", plain_line(text))
    if _ISO_DATE.fullmatch(line):
        return line
    misread = _FORMULA.match(line) or _LIKE_NUMBER.fullmatch(line) or _LIKE_DATE.fullmatch(line)
    return f"'{line}" if misread else line
