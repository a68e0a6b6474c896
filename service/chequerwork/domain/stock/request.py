"""What a request for a stock plan gives: parts wanted, boards at hand, habits of the saw; all of it checked.

A request is as read: each field is valid by itself, and None where it was not given, or was refused before and is told
already; ``unread`` names the latter.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from enum import StrEnum
from typing import Final, TypeVar

from chequerwork.domain.basics.amounts import HUNDRED
from chequerwork.domain.basics.errors import Fault, Path, near_names, unknown_name
from chequerwork.domain.basics.facts import Grain, Tables
from chequerwork.domain.basics.names import unknown_timber
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.stock.boards import Board, Defect, Piece, Saw, to_mm, to_nm

T = TypeVar("T")

MOST_PIECES: Final = 10_000  # of all parts together
MOST_BOARDS: Final = 5_000  # of all entries together
MOST_SEARCHED: Final = 20  # unknown names of one list for which near ones are searched: it takes a while
BOARD_FOOT_M3: Final = 144 * Decimal("0.0254") ** 3  # exact by definition of the inch
PRICES: Final = ("price", "price_per_board_foot", "price_per_m3")


class Lie(StrEnum):
    """How a part may lie on its board: its length along the grain, or any way."""

    LENGTHWISE = "lengthwise"
    ANY = "any"


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRequest:
    """Equal parts wanted, as they leave the saw."""

    id: str | None = None
    species: str | None = None
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    count: int = 1
    grain: Lie = Lie.LENGTHWISE
    sawn: Grain | None = None
    unread: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class DefectRequest:
    """A lengthwise span of a board that is no good."""

    from_mm: float | None = None
    to_mm: float | None = None
    unread: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardRequest:
    """Equal boards at hand. ``quarters`` is a thickness class such as 5/4, in place of a thickness."""

    id: str | None = None
    species: str | None = None
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None
    quarters: str | None = None
    count: int = 1
    price: Decimal | None = None
    price_per_board_foot: Decimal | None = None
    price_per_m3: Decimal | None = None
    sawn: Grain | None = None
    defects: Sequence[DefectRequest] = ()
    sheet: bool = False
    unread: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class SawRequest:
    """Habits of the saw in place of the shop's own; None keeps the shop's."""

    kerf_rip_mm: float | None = None
    kerf_crosscut_mm: float | None = None
    end_trim_mm: float | None = None
    edge_jointing_mm: float | None = None
    flattening_mm: float | None = None
    jointer_width_mm: float | None = None
    thicknesser_width_mm: float | None = None
    min_length_mm: float | None = None
    keep_length_mm: float | None = None
    keep_width_mm: float | None = None
    keep_value_pct: float | None = None
    unread: frozenset[str] = frozenset()


# Faults ---------------------------------------------------------------------------------------------------------------


def part_faults(parts: Sequence[PartRequest], shop: Shop, tables: Tables) -> Iterator[Fault]:
    """Every fault of the parts, entry by entry, but for what was refused before."""
    materials = _Materials(shop, tables)
    yield from _twice("parts", [part.id for part in parts])
    for index, part in enumerate(parts):
        if part.species is not None:
            yield from materials.faults(("parts", index, "species"), part.species, sheets=True)
    pieces = sum(part.count for part in parts)
    if pieces > MOST_PIECES:
        detail = f"{pieces} pieces are wanted; at most {MOST_PIECES} are planned at once. Ask for fewer at a time."
        yield Fault(at=("parts",), code="too-many", detail=detail)


def board_faults(boards: Sequence[BoardRequest], shop: Shop, tables: Tables) -> Iterator[Fault]:
    """Every fault of the boards, entry by entry, but for what was refused before."""
    materials = _Materials(shop, tables)
    yield from _twice("boards", [board.id for board in boards])
    for index, board in enumerate(boards):
        at: Path = ("boards", index)
        known = True
        if board.species is not None:
            found = list(materials.faults((*at, "species"), board.species, sheets=board.sheet))
            yield from found
            known = not found
        yield from _class_faults(at, board, tables)
        if known:
            yield from _price_faults(at, board, shop, tables)
        yield from _defect_faults(at, board)
    count = sum(board.count for board in boards)
    if count > MOST_BOARDS:
        detail = f"{count} boards are at hand; at most {MOST_BOARDS} are looked at. Send those that may serve."
        yield Fault(at=("boards",), code="too-many", detail=detail)


def _twice(name: str, ids: Sequence[str | None]) -> Iterator[Fault]:
    first: dict[str, int] = {}
    for index, key in enumerate(ids):
        if key is not None and first.setdefault(key, index) != index:
            detail = f"Entry {first[key]} has the id {key!r} too. Give each entry an id of its own."
            yield Fault(at=(name, index, "id"), code="duplicate-id", detail=detail)


class _Materials:
    """Names of woods and sheets, each unknown one looked up once, and only the first of many."""

    def __init__(self, shop: Shop, tables: Tables) -> None:
        self.shop, self.tables = shop, tables
        self.sheets = {sheet.material: None for sheet in tables.sheets}
        self.told: dict[str, Fault] = {}

    def faults(self, at: Path, given: str, *, sheets: bool) -> Iterator[Fault]:
        """What is wrong with a name; ``sheets`` says whether it may be one of a sheet material."""
        if given in self.tables.species or (sheets and given in self.sheets):
            return
        if given in self.sheets:
            detail = f"{given!r} is a sheet material. Say so with sheet true, or name a timber."
            yield Fault(at=at, code="conflict", detail=detail)
            return
        if given not in self.told and len(self.told) < MOST_SEARCHED:
            self.told[given] = self._unknown(at, given, sheets=sheets)
        known = self.told.get(given)
        detail = known.detail if known else f"There is no timber named {given[:60]!r} here. /v1/timbers has all."
        yield Fault(at=at, code=known.code if known else "unknown-name", detail=detail)

    def _unknown(self, at: Path, given: str, *, sheets: bool) -> Fault:
        if sheets and near_names(given, self.sheets):
            return unknown_name(at=at, what="sheet material", given=given, known=self.sheets)
        return unknown_timber(at=at, given=given, tables=self.tables, worked=self.shop.lumber)


def _class_faults(at: Path, board: BoardRequest, tables: Tables) -> Iterator[Fault]:
    if board.quarters is not None and _class_mm(board.quarters, tables) is None:
        names = ", ".join(each.name for each in tables.thickness_classes)
        detail = f"There is no thickness class {board.quarters!r} here. Choose one of: {names}."
        yield Fault(at=(*at, "class"), code="unknown-name", detail=detail)


def _thickness_mm(board: BoardRequest, tables: Tables) -> float | None:
    return board.thickness_mm if board.quarters is None else _class_mm(board.quarters, tables)


def _class_mm(quarters: str, tables: Tables) -> float | None:
    return next((each.rough_mm for each in tables.thickness_classes if each.name == quarters), None)


def _price_faults(at: Path, board: BoardRequest, shop: Shop, tables: Tables) -> Iterator[Fault]:
    """A wood that the shop does not buy has no price of its own."""
    given = any(getattr(board, name) is not None for name in PRICES)
    if given or board.species is None or board.unread.intersection((*PRICES, "sheet")):
        return
    if board.species in shop.lumber:
        return
    if any(sheet.material == board.species for sheet in shop.sheets):
        thickness_mm = _thickness_mm(board, tables)
        if thickness_mm is None or shop.sheet_stock(board.species, thickness_mm) is not None:
            return
        detail = f"This shop buys no {board.species} of {thickness_mm:g} mm, so it has no price of its own."
    else:
        detail = f"This shop does not buy {board.species}, so it has no price of its own."
    yield Fault(at=(*at, "price"), code="price-needed", detail=f"{detail} Give one of {', '.join(PRICES)}.")


def _defect_faults(at: Path, board: BoardRequest) -> Iterator[Fault]:
    """Spans that are none, leave the board, or lie over each other."""
    sound: list[tuple[float, float, int]] = []
    for index, defect in enumerate(board.defects):
        if defect.from_mm is None or defect.to_mm is None:
            continue
        to: Path = (*at, "defects", index, "to")
        if defect.to_mm <= defect.from_mm:
            detail = f"The defect goes from {defect.from_mm:g} to {defect.to_mm:g} mm. Give from below to."
            yield Fault(at=to, code="conflict", detail=detail)
        elif board.length_mm is not None and defect.to_mm > board.length_mm:
            detail = f"The defect ends at {defect.to_mm:g} mm, the board at {board.length_mm:g} mm. Give at most that."
            yield Fault(at=to, code="beyond-board", detail=detail)
        else:
            sound.append((defect.from_mm, defect.to_mm, index))
    reach_mm, owner = 0.0, 0
    for start_mm, end_mm, index in sorted(sound):
        if start_mm < reach_mm:
            detail = f"It begins at {start_mm:g} mm, where defect {owner} goes on to {reach_mm:g} mm. Make one of both."
            yield Fault(at=(*at, "defects", index, "from"), code="overlapping", detail=detail)
        if end_mm > reach_mm:
            reach_mm, owner = end_mm, index


# What the planner takes -----------------------------------------------------------------------------------------------


def pieces(parts: Sequence[PartRequest]) -> tuple[Piece, ...]:
    """The parts in whole nanometres; call only where none has a fault."""
    return tuple(
        Piece(
            id=_given(part.id),
            species=_given(part.species),
            length_nm=to_nm(_given(part.length_mm)),
            width_nm=to_nm(_given(part.width_mm)),
            thickness_nm=to_nm(_given(part.thickness_mm)),
            count=part.count,
            turns=part.grain is Lie.ANY,
            sawn=part.sawn,
        )
        for part in parts
    )


def boards_at_hand(boards: Sequence[BoardRequest], shop: Shop, tables: Tables) -> tuple[Board, ...]:
    """The boards in whole nanometres, each with its price; call only where none has a fault."""
    return tuple(_board(board, shop, tables) for board in boards)


def _board(board: BoardRequest, shop: Shop, tables: Tables) -> Board:
    length_nm, width_nm = to_nm(_given(board.length_mm)), to_nm(_given(board.width_mm))
    thickness_nm = to_nm(_given(_thickness_mm(board, tables)))
    return Board(
        id=_given(board.id),
        species=_given(board.species),
        length_nm=length_nm,
        width_nm=width_nm,
        thickness_nm=thickness_nm,
        count=board.count,
        price=_price(board, (length_nm, width_nm, thickness_nm), shop, tables),
        sawn=board.sawn,
        defects=tuple(
            Defect(from_nm=to_nm(_given(defect.from_mm)), to_nm=to_nm(_given(defect.to_mm))) for defect in board.defects
        ),
        sheet=board.sheet,
    )


def _price(board: BoardRequest, size_nm: tuple[int, int, int], shop: Shop, tables: Tables) -> Decimal:
    """Price of one board, unrounded: as given, or what the shop pays for that wood by volume, that sheet by area."""
    length_nm, width_nm, thickness_nm = size_nm
    volume_m3 = Decimal(length_nm * width_nm * thickness_nm).scaleb(-27)
    if board.price is not None:
        return board.price
    if board.price_per_board_foot is not None:
        return board.price_per_board_foot * volume_m3 / BOARD_FOOT_M3
    if board.price_per_m3 is not None:
        return board.price_per_m3 * volume_m3
    species = _given(board.species)
    if species in shop.lumber:
        return shop.lumber[species].price_m3 * volume_m3
    stock = _given(shop.sheet_stock(species, to_mm(thickness_nm)))
    sheet = _given(tables.sheet(species, stock.thickness_mm))
    return stock.price * (length_nm * width_nm) / (to_nm(sheet.length_mm) * to_nm(sheet.width_mm))


def with_habits(saw: Saw, request: SawRequest) -> Saw:
    """The shop's habits, with those of a request in their place."""
    sizes = {
        name.removesuffix("_mm") + "_nm": to_nm(size_mm)
        for name in SawRequest.__dataclass_fields__
        if name.endswith("_mm") and (size_mm := getattr(request, name)) is not None
    }
    share = saw.keep_share if request.keep_value_pct is None else Decimal(repr(request.keep_value_pct)) / HUNDRED
    return replace(saw, **sizes, keep_share=share)


def _given(value: T | None) -> T:
    if value is None:
        raise ValueError("a request with a fault cannot be read")
    return value
