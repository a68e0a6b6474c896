"""Pieces that no board could ever give: said before any work is done, with the nearest that would work."""

from collections.abc import Sequence

from chequerwork.domain.errors import Fault, Refused
from chequerwork.domain.stock.benches import clear_spans, suits, thick_enough
from chequerwork.domain.stock.boards import Board, Piece, Saw, to_mm


def unmakeable(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> None:
    """Refuse pieces that none of the boards gives, however it is cut.

    Raises
    ------
    Refused
        A fault for each, at ("pieces", id, "species", "thickness", "sawn", "length" or "width").
    """
    faults = [fault for piece in pieces if (fault := _fault(piece, boards, saw)) is not None]
    if faults:
        raise Refused(faults)


def _fault(piece: Piece, boards: Sequence[Board], saw: Saw) -> Fault | None:
    same = [board for board in boards if board.species == piece.species]
    if not same:
        woods = ", ".join(sorted({board.species for board in boards})) or "none"
        detail = f"{piece.id}: no board of {piece.species} is on hand or on offer. There are boards of: {woods}."
        return Fault(at=("pieces", piece.id, "species"), code="no-such-board", detail=detail)
    thick = [board for board in same if thick_enough(board, piece.thickness_nm, saw)]
    if not thick:
        return _too_thick(piece, same, saw)
    sawn = [board for board in thick if suits(piece.sawn, board.sawn)]
    if not sawn:
        detail = f"{piece.id} must be {piece.sawn} sawn, and no board of {piece.species} thick enough is. Add one, "
        detail += "or let the piece be sawn otherwise."
        return Fault(at=("pieces", piece.id, "sawn"), code="no-board-so-sawn", detail=detail)
    return _too_large(piece, sawn, saw)


def _too_thick(piece: Piece, same: Sequence[Board], saw: Saw) -> Fault:
    gives_nm = [board.thickness_nm - (0 if board.sheet else saw.flattening_nm) for board in same]
    nearest_nm = min(gives_nm, key=lambda given_nm: abs(given_nm - piece.thickness_nm))
    code = "no-board-thick-enough" if piece.thickness_nm > max(gives_nm) else "no-sheet-so-thick"
    nearest = f"the nearest board of {piece.species} on hand or on offer gives {_mm(nearest_nm)}"
    detail = (
        f"{piece.id} is {_mm(piece.thickness_nm)} thick as sawn; {nearest}. Make it thinner or add a thicker board."
    )
    return Fault(at=("pieces", piece.id, "thickness"), code=code, detail=detail)


def _too_large(piece: Piece, boards: Sequence[Board], saw: Saw) -> Fault | None:
    rooms = [(_length_nm(board, saw), _width_nm(board, saw)) for board in boards]
    sizes = [(piece.length_nm, piece.width_nm)]
    if piece.turns:
        sizes.append((piece.width_nm, piece.length_nm))
    if any(length <= room[0] and width <= room[1] for room in rooms for length, width in sizes):
        return None
    long_nm, wide_nm = sizes[0]
    longest_nm = max((room[0] for room in rooms if room[1] >= wide_nm), default=0)
    widest_nm = max((room[1] for room in rooms if room[0] >= long_nm), default=0)
    if widest_nm:
        what, given, code = "width", f"{_mm(wide_nm)} wide", "no-board-wide-enough"
        limit, remedy = f"long enough give {_mm(widest_nm)} of width", "Make it narrower, glue it up of several"
    else:
        longest_nm = longest_nm or max(room[0] for room in rooms)
        what, given, code = "length", f"{_mm(long_nm)} long", "no-board-long-enough"
        limit, remedy = f"on hand or on offer give {_mm(longest_nm)} at most", "Make it shorter"
    detail = (
        f"{piece.id} is {given} as sawn; boards of {piece.species} {limit}, trims, jointing and defects taken off. "
    )
    return Fault(at=("pieces", piece.id, what), code=code, detail=f"{detail}{remedy}, or add a larger board.")


def _length_nm(board: Board, saw: Saw) -> int:
    longest_nm = max((span.room_nm for span in clear_spans(board, saw)), default=0)
    return longest_nm if board.sheet or longest_nm >= saw.min_length_nm else 0


def _width_nm(board: Board, saw: Saw) -> int:
    return board.width_nm if board.sheet else min(board.width_nm, saw.band_nm) - 2 * saw.edge_jointing_nm


def _mm(size_nm: int) -> str:
    return f"{to_mm(size_nm):.1f}".removesuffix(".0") + " mm"
