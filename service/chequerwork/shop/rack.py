"""What a shop file holds of the rack: which leftovers are kept, and the boards at hand.

All of it may be left out.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple, NoReturn

from chequerwork.domain.basics.bounds import bounds_of
from chequerwork.domain.basics.errors import near_names, unknown_name
from chequerwork.domain.basics.facts import Sheet, Tables
from chequerwork.domain.basics.names import find, unknown_timber
from chequerwork.domain.basics.shop import Rack, RackBoard, Span
from chequerwork.shop.readers import BOARD_FOOT_M3, key_of, length, money, refuse, slug
from chequerwork.shop.record import Built, reader_of, record_of
from chequerwork.shop.settings_table import Reader, SettingsTable, scrubbed, shown

MOST_DEFECTS = 20  # of one board; with more it is firewood
SAME_SHEET_MM = 0.5  # nominal thicknesses as near as this are one sheet, as everywhere
WIDEST_TIMBER_MM = 1000.0


class _Price(NamedTuple):
    """What was written: of one board, or of a cubic metre."""

    amount: Decimal
    per_m3: bool


def read_rack(at: SettingsTable, tables: Tables) -> Rack:
    """The table of the stock.

    Parameters
    ----------
    at
        The table, empty where it is left out.
    tables
        Fact tables whose keys the boards may name.
    """
    boards = Built(lambda at: at.tables("boards", lambda table: _board(table, tables)))
    return record_of(at, Rack, boards=boards)


def _board(at: SettingsTable, tables: Tables) -> RackBoard:
    length_mm = at.read("length", reader_of(RackBoard, "length_mm"))
    price = at.one_of_or(
        {
            "price": _priced(money()),
            "price_per_m3": _priced(money(), per_m3=True),
            "price_per_board_foot": _priced(money(per=BOARD_FOOT_M3), per_m3=True),
        },
        None,
    )
    found = RackBoard(
        id=at.read("id", slug),
        species=at.read("material", _material(tables)),
        length_mm=length_mm,
        width_mm=at.read("width", reader_of(RackBoard, "width_mm")),
        thickness_mm=at.one_of({"thickness": reader_of(RackBoard, "thickness_mm"), "class": _class(tables)}),
        count=at.read_or("count", reader_of(RackBoard, "count"), 1),
        price=price.amount if price else None,
        sawn=at.read_or("sawn", reader_of(RackBoard, "sawn"), None),
        defects=_in_order(at.tables("defects", lambda table: _defect(table, length_mm))),
    )
    _compare(at, found, tables)
    sized = None not in (found.length_mm, found.width_mm, found.thickness_mm)
    return replace(found, price=price.amount * found.volume_m3) if price and price.per_m3 and sized else found


def _defect(at: SettingsTable, board_mm: float | None) -> Span:
    place = length(*bounds_of(RackBoard, "defects"))
    found = Span(low_mm=at.read("from", place), high_mm=at.read("to", place))
    if at.sound("from", "to"):
        if found.high_mm <= found.low_mm:
            detail = f"from is {found.low_mm:g} mm, to is {found.high_mm:g} mm. Give from below to."
            at.fault("to", "conflict", detail)
        elif board_mm is not None and found.high_mm > board_mm:
            detail = f"to is {found.high_mm:g} mm, but the board is {board_mm:g} mm long. End the defect on the board."
            at.fault("to", "out-of-range", detail)
    return found


def _in_order(defects: tuple[Span, ...]) -> tuple[Span, ...]:
    return defects if _has_holes(defects) else tuple(sorted(defects, key=lambda span: (span.low_mm, span.high_mm)))


def _has_holes(defects: tuple[Span, ...]) -> bool:
    """A missing end is a fault only when the whole file has been read, so it does not show in ``sound`` yet."""
    return any(None in (span.low_mm, span.high_mm) for span in defects)


# Single values --------------------------------------------------------------------------------------------------------


def _material(tables: Tables) -> Reader[str]:
    """A timber or a sheet material by its key."""
    sheets = sorted({sheet.material for sheet in tables.sheets})

    def read(value: object) -> str:
        if not isinstance(value, str):
            refuse("wrong-type", f"This must be the name of a timber or sheet in quotes; given was {shown(value)}.")
        if value not in sheets and value not in tables.species:
            _refuse_name(scrubbed(value), sheets, tables)
        return value

    return read


def _refuse_name(given: str, sheets: Sequence[str], tables: Tables) -> NoReturn:
    near = near_names(given, sheets)
    fault = unknown_timber(at=(), given=given, tables=tables)
    if near and not find(given, tables):
        fault = unknown_name(at=(), what="timber or sheet", given=given, known=sheets)
    refuse(fault.code, fault.detail if near else f"{fault.detail} Sheets are: {', '.join(sheets)}.")


def _class(tables: Tables) -> Reader[float]:
    """The sawn thickness of a class."""
    rough_mm = {known.name: known.rough_mm for known in tables.thickness_classes}
    read_name = key_of("lumber thickness", rough_mm)
    return lambda value: rough_mm[read_name(value)]


def _priced(read: Reader[Decimal], *, per_m3: bool = False) -> Reader[_Price]:
    return lambda value: _Price(read(value), per_m3)


# Settings of one board compared ---------------------------------------------------------------------------------------


def _compare(at: SettingsTable, board: RackBoard, tables: Tables) -> None:
    if len(board.defects) > MOST_DEFECTS:
        detail = f"{len(board.defects)} defects are given; give up to {MOST_DEFECTS}. Write neighbours as one."
        at.fault("defects", "wrong-count", detail)
    elif at.sound("defects") and not _has_holes(board.defects):
        _defects_lie_apart(at, board)
    if not at.sound("material"):
        return
    if board.species in tables.species:
        if at.sound("width") and board.width_mm > WIDEST_TIMBER_MM:
            detail = f"{board.width_mm:g} mm is given; a board of timber is up to {WIDEST_TIMBER_MM:g} mm wide."
            at.fault("width", "out-of-range", f"{detail} Length lies along the grain.")
        return
    for key in ("class", "sawn"):
        if at.sound(key):
            remedy = "Give its thickness" if key == "class" else "Remove it"
            at.fault(key, "conflict", f"{key} is for timber, and {board.species} is a sheet. {remedy}.")
    if at.sound("thickness"):
        _sheet_is_one(at, board, tables)


def _defects_lie_apart(at: SettingsTable, board: RackBoard) -> None:
    for first, second in pairwise(board.defects):
        if second.low_mm < first.high_mm:
            given = " and ".join(f"{span.low_mm:g} mm to {span.high_mm:g} mm" for span in (first, second))
            at.fault("defects", "overlap", f"The defects {given} overlap. Write them as one.")


def _sheet_is_one(at: SettingsTable, board: RackBoard, tables: Tables) -> None:
    """The thickness is one of the tables, and the piece no larger than the largest such sheet."""
    same = [sheet for sheet in tables.sheets if sheet.material == board.species]
    near = [sheet for sheet in same if abs(sheet.thickness_mm - board.thickness_mm) <= SAME_SHEET_MM]
    if not near:
        known = ", ".join(f"{thickness_mm:g} mm" for thickness_mm in sorted({sheet.thickness_mm for sheet in same}))
        given = f"There is no {board.species} of {board.thickness_mm:g} mm in the tables"
        at.fault("thickness", "unknown-sheet", f"{given}. Nominal thicknesses known, within 0.5 mm: {known}.")
    elif at.sound("length", "width") and not any(_fits(board, sheet) for sheet in near):
        largest = max(near, key=lambda sheet: sheet.length_mm * sheet.width_mm)
        given = f"{board.length_mm:g} x {board.width_mm:g} mm is larger than a sheet"
        limit = f"{largest.length_mm:g} x {largest.width_mm:g} mm"
        at.fault("length", "too-large", f"{given}, {limit}. Give the size of the piece that is there.")


def _fits(board: RackBoard, sheet: Sheet) -> bool:
    sides_mm, limits_mm = sorted((board.length_mm, board.width_mm)), sorted((sheet.length_mm, sheet.width_mm))
    return all(side_mm <= limit_mm + 1e-6 for side_mm, limit_mm in zip(sides_mm, limits_mm, strict=True))
