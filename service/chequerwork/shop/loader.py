"""Shop files read and checked: a shop that can be served, or every mistake at once."""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from importlib import resources
from pathlib import Path
from types import MappingProxyType

from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.shop.checks import Draft, cross_check
from chequerwork.shop.settings import read_shop
from chequerwork.shop.settings_table import FaultList, SettingsTable, scrubbed

LARGEST_FILE_BYTES = 200_000  # the demo files, comments and all, are a tenth of that

_PLACE = re.compile(r"\(at ([^()]*)\)$")


def load_shop(text: str, *, tables: Tables, name: str) -> Shop:
    """Read one shop file.

    Parameters
    ----------
    text
        The file's content, TOML 1.0.
    tables
        Fact tables whose keys the file may name.
    name
        What faults call the file.

    Returns
    -------
    Shop
        Complete and checked.

    Raises
    ------
    Refused
        With every mistake of the file. Each fault's path is (file, table, setting, ...).
    """
    faults = FaultList(name)
    given = _parsed(text, faults)
    if given is None:
        raise Refused(faults.found)
    shop = read_shop(SettingsTable(given, (), faults), tables)
    faults.close()
    cross_check(Draft(shop=shop, tables=tables, faults=faults))
    if faults.found:
        raise Refused(faults.found)
    return shop


def load_shops(paths: Sequence[Path], *, tables: Tables) -> Mapping[str, Shop]:
    """Read shop files, and all ``.toml`` files of folders in the order of their names.

    Parameters
    ----------
    paths
        Files or folders. The first shop read is the one an order means when it names none.
    tables
        Fact tables whose keys the files may name.

    Returns
    -------
    Mapping[str, Shop]
        Shops by id, in the order read.

    Raises
    ------
    Refused
        With every mistake of every file, and shop ids that occur twice.
    """
    faults: list[Fault] = []
    shops: dict[str, Shop] = {}
    files: dict[str, Path] = {}
    for path in _files(paths, faults):
        try:
            shop = load_shop(_content(path), tables=tables, name=str(path))
        except Refused as refused:
            faults.extend(refused.faults)
            continue
        if shop.id in shops:
            detail = f"{shop.id!r} is already the id of {files[shop.id]}. Give each shop an id of its own."
            faults.append(Fault(at=(str(path), "id"), code="duplicate", detail=detail))
        else:
            shops[shop.id], files[shop.id] = shop, path
    if faults:
        raise Refused(faults)
    return MappingProxyType(shops)


def demo_folder() -> Path:
    """Folder of the demo shops' files, installed with the package."""
    return Path(str(resources.files("chequerwork.shop") / "demo"))


def describe_faults(refused: Refused) -> str:
    """All mistakes as a text for a terminal: counts first, then one line each, grouped by file and table.

    Parameters
    ----------
    refused
        What ``load_shop`` or ``load_shops`` raised.
    """
    files: dict[str, dict[str, list[str]]] = {}
    for fault in refused.faults:
        file, *place = fault.at or ("",)
        table, setting = _headline(place[:-1]), _dotted(place[-1:])
        line = f"{setting}: {fault.detail}" if setting else fault.detail
        files.setdefault(str(file), {}).setdefault(table, []).append(" ".join(line.split()))
    count = len(refused.faults)
    lines = [f"{_counted(count, 'mistake')} in {_counted(len(files), 'file')}."]
    for file, groups in files.items():
        lines.append(f"\n{file}: {_counted(sum(map(len, groups.values())), 'mistake')}")
        for table, messages in groups.items():
            lines.append(f"  {table}")
            lines.extend(f"    {message}" for message in messages)
    return "\n".join(lines)


# Within ---------------------------------------------------------------------------------------------------------------


def _parsed(text: str, faults: FaultList) -> Mapping[str, object] | None:
    if len(text) > LARGEST_FILE_BYTES:
        detail = f"The file has {len(text)} characters; a shop file has at most {LARGEST_FILE_BYTES}."
        faults.add((), "too-large", detail)
        return None
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        # The parser's sentence can hold a piece of the file, which can hold a secret: only its place is repeated.
        place = _PLACE.search(str(error))
        where = f" at {place[1]}" if place else ""
        faults.add((), "not-toml", f"The file is not TOML: the parser stopped{where}. Check quotes and brackets.")
    except (ValueError, RecursionError):
        detail = "The file is not a shop file: it holds a number of thousands of digits or hundreds of brackets."
        faults.add((), "not-toml", detail)
    return None


def _files(paths: Sequence[Path], faults: list[Fault]) -> Iterator[Path]:
    for path in paths:
        try:
            if not path.is_dir():
                yield path
                continue
            found = sorted(path.glob("*.toml"))
        except OSError as error:
            faults.append(_unreadable(path, error))
            continue
        if not found:
            detail = "The folder holds no .toml file. Put a shop file there or name another folder."
            faults.append(Fault(at=(str(path),), code="no-shop", detail=detail))
        yield from found


def _content(path: Path) -> str:
    """The text of a file; editors on some systems put a byte order mark in front, which is not TOML."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise Refused([_unreadable(path, error)]) from None
    except UnicodeDecodeError as error:
        detail = f"The file is not UTF-8: byte {error.start + 1} fits no character. Save it as UTF-8."
        raise Refused([Fault(at=(str(path),), code="not-utf-8", detail=detail)]) from None


def _unreadable(path: Path, error: OSError) -> Fault:
    detail = f"This cannot be read: {error.strerror or 'unknown reason'}. Check its name and its rights."
    return Fault(at=(str(path),), code="unreadable", detail=detail)


def _headline(table: Sequence[str | int]) -> str:
    if not table:
        return "(top of the file)"
    *outer, last = table
    return f"[{_dotted(outer)}] {_dotted([last])}" if isinstance(last, int) else f"[{_dotted(table)}]"


def _dotted(place: Sequence[str | int]) -> str:
    """A path as a maker reads it: list entries counted from 1."""
    return ".".join(f"no. {part + 1}" if isinstance(part, int) else scrubbed(part) for part in place)


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"
