"""Pieces that no board could ever give: said before any work is done, with the nearest that would work."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import compress

from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.stock.benches import clear_spans, suits, thick_enough
from chequerwork.domain.stock.boards import Board, Piece, Saw, to_mm

Sold = Mapping[str, Sequence[int]]  # by species, thicknesses that could be bought [nm]
Rooms = Sequence[tuple[int, int]]  # lengths and widths [nm]


def unmakeable(
    pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, *, sold: Sold | None = None, buying: bool = True
) -> None:
    """Refuse pieces that none of the boards gives, however it is cut.

    Parameters
    ----------
    pieces, boards, saw
        What is wanted, all there is on hand and on offer, and how it is cut.
    sold
        Every thickness the shop buys, too thin ones included: the offer among ``boards`` leaves those out. [nm]
    buying
        Whether what is on offer may be bought.

    Raises
    ------
    Refused
        A fault for each, at ("pieces", id, "species", "thickness", "sawn", "length" or "width").
    """
    faults = [fault for piece in pieces if (fault := _fault(piece, boards, saw, sold or {}, buying=buying)) is not None]
    if faults:
        raise Refused(faults)


def _fault(piece: Piece, boards: Sequence[Board], saw: Saw, sold: Sold, *, buying: bool) -> Fault | None:
    same = [board for board in boards if board.species == piece.species]
    gives_nm = [board.thickness_nm - (0 if board.sheet else saw.flattening_nm) for board in same]
    gives_nm += sold.get(piece.species, ()) if buying else ()
    if not gives_nm:
        return _no_such(piece, boards, can_buy=piece.species in sold)
    thick = [board for board in same if thick_enough(board, piece.thickness_nm, saw)]
    if not thick:
        return _too_thick(piece, gives_nm)
    sawn = [board for board in thick if suits(piece.sawn, board.sawn)]
    if not sawn:
        detail = f"{piece.id} must be {piece.sawn} sawn, and no board of {piece.species} thick enough is. Add one, "
        detail += "or let the piece be sawn otherwise."
        return Fault(at=("pieces", piece.id, "sawn"), code="no-board-so-sawn", detail=detail)
    return _too_large(piece, sawn, saw)


def _no_such(piece: Piece, boards: Sequence[Board], *, can_buy: bool) -> Fault:
    woods = ", ".join(sorted({board.species for board in boards})) or "none"
    detail = f"{piece.id}: no board of {piece.species} is on hand or on offer. There are boards of: {woods}. "
    remedy = (
        "Add one of it, let it be bought (buy true), or take another" if can_buy else "Add one of it or take another"
    )
    return Fault(at=("pieces", piece.id, "species"), code="no-such-board", detail=f"{detail}{remedy} material.")


def _too_thick(piece: Piece, gives_nm: Sequence[int]) -> Fault:
    nearest_nm = min(gives_nm, key=lambda given_nm: abs(given_nm - piece.thickness_nm))
    code = "no-board-thick-enough" if piece.thickness_nm > max(gives_nm) else "no-sheet-so-thick"
    nearest = f"the nearest board of {piece.species} on hand or on offer gives {_mm(nearest_nm)}"
    remedy = "Make it thinner or add a thicker board"
    if code == "no-sheet-so-thick":
        remedy = "Make it as thick as that, or add a sheet of its thickness"
    detail = f"{piece.id} is {_mm(piece.thickness_nm)} thick as sawn; {nearest}. {remedy}."
    return Fault(at=("pieces", piece.id, "thickness"), code=code, detail=detail)


def _too_large(piece: Piece, boards: Sequence[Board], saw: Saw) -> Fault | None:
    rooms = [(_length_nm(board, saw), _width_nm(board, saw)) for board in boards]
    sizes = [(piece.length_nm, piece.width_nm)]
    if piece.turns:
        sizes.append((piece.width_nm, piece.length_nm))
    fed = [b.sheet or room[0] >= saw.min_length_nm for b, room in zip(boards, rooms, strict=True)]
    if _fits(sizes, compress(rooms, fed)):
        return None
    if all(not board.sheet for board in boards) and min(wide for _, wide in sizes) > _band_nm(saw):
        return _wider_than_machines(piece, saw)
    if _fits(sizes, rooms):
        return _shorter_than_machines(piece, sizes, rooms, saw)
    long_nm, wide_nm = sizes[0]
    widest_nm = max((room[1] for room in rooms if room[0] >= long_nm), default=0)
    if widest_nm:
        what, given, code = "width", f"{_mm(wide_nm)} wide", "no-board-wide-enough"
        limit, remedy = f"long enough give {_mm(widest_nm)} of width", "Make it narrower, glue it up of several"
    else:
        longest_nm = max((room[0] for room in rooms if room[1] >= wide_nm), default=0)
        longest_nm = longest_nm or max(room[0] for room in rooms)
        what, given, code = "length", f"{_mm(long_nm)} long", "no-board-long-enough"
        limit, remedy = f"on hand or on offer give {_mm(longest_nm)} at most", "Make it shorter"
    detail = (
        f"{piece.id} is {given} as sawn; boards of {piece.species} {limit}, trims, jointing and defects taken off. "
    )
    return Fault(at=("pieces", piece.id, what), code=code, detail=f"{detail}{remedy}, or add a larger board.")


def _wider_than_machines(piece: Piece, saw: Saw) -> Fault:
    """No board helps: the machine is the limit."""
    name = "thicknesser" if saw.thicknesser_width_nm < saw.jointer_width_nm else "jointer"
    detail = (
        f"{piece.id} is {_mm(piece.width_nm)} wide as sawn; the {name} takes {_mm(saw.band_nm)}, of which jointing "
        f"leaves {_mm(_band_nm(saw))}. Make it narrower, glue it up of several, or give saw.{name}_width."
    )
    return Fault(at=("pieces", piece.id, "width"), code="no-board-wide-enough", detail=detail)


def _shorter_than_machines(piece: Piece, sizes: Rooms, rooms: Rooms, saw: Saw) -> Fault:
    """The piece would fit, but no clear length may be fed."""
    longest_nm = max(room[0] for room in rooms if _fits(sizes, [room]))
    detail = (
        f"{piece.id} is {_mm(piece.length_nm)} long as sawn; {piece.species} that would hold it is clear for "
        f"{_mm(longest_nm)} at most, and the machines take no section shorter than {_mm(saw.min_length_nm)}. Add a "
        "longer board, or give another min_length of the saw."
    )
    return Fault(at=("pieces", piece.id, "length"), code="no-board-long-enough", detail=detail)


def _fits(sizes: Rooms, rooms: Iterable[tuple[int, int]]) -> bool:
    return any(length <= room[0] and width <= room[1] for room in rooms for length, width in sizes)


def _length_nm(board: Board, saw: Saw) -> int:
    """Longest clear span, whether the machines take it or not. [nm]"""
    return max((span.room_nm for span in clear_spans(board, saw)), default=0)


def _width_nm(board: Board, saw: Saw) -> int:
    return board.width_nm if board.sheet else min(board.width_nm - 2 * saw.edge_jointing_nm, _band_nm(saw))


def _band_nm(saw: Saw) -> int:
    """Widest strip that the machines leave. [nm]"""
    return saw.band_nm - 2 * saw.edge_jointing_nm


def _mm(size_nm: int) -> str:
    return f"{to_mm(size_nm):.1f}".removesuffix(".0") + " mm"
