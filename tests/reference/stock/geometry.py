"""The rules of the saw bench once more, for the two solvers that a plan is compared with.

Written from the rules in words, not from the service's code: where its reading differs, the costs differ. One of them
is the house's alone: a section is as long as its longest strip, or as the machines need it, even where a longer one
would leave a rest worth keeping.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import Board, Piece, Saw, to_nm


class Clear(NamedTuple):
    """A clear length of one board, looked at with the length of its sections along x. [nm]"""

    board: int  # place in the list of single boards
    room: int  # for parts
    reach: int  # for a leftover: to the defect, or to the true end
    width: int
    kerfs: tuple[int, int, int]  # of the cut to sections, to strips, to parts
    jointing: int
    band: int  # widest band
    shortest: int  # section
    turned: bool


def singles(boards: Sequence[Board]) -> list[Board]:
    """Every board by itself, equal ones beside each other."""
    return [board for board in boards for _ in range(board.count)]


def clear_lengths(boards: Sequence[Board], saw: Saw) -> list[Clear]:
    """The clear lengths of single boards; a sheet has two, of which one is used."""
    return [each for number, board in enumerate(boards) for each in _clear(number, board, saw)]


def _clear(number: int, board: Board, saw: Saw) -> Iterator[Clear]:
    across, along = saw.kerf_crosscut_nm, saw.kerf_rip_nm
    if board.sheet:
        free = {"board": number, "jointing": 0, "shortest": 0}
        length, width = board.length_nm, board.width_nm
        kerfs = (across, along, across), (along, across, along)
        yield Clear(room=length, reach=length, width=width, band=width, kerfs=kerfs[0], turned=False, **free)
        yield Clear(room=width, reach=width, width=length, band=length, kerfs=kerfs[1], turned=True, **free)
        return
    for begin, end, true_end in _between(board, saw):
        yield Clear(
            board=number,
            room=end - begin,
            reach=true_end - begin,
            width=board.width_nm,
            kerfs=(across, along, across),
            jointing=saw.edge_jointing_nm,
            band=min(saw.jointer_width_nm, saw.thicknesser_width_nm),
            shortest=saw.min_length_nm,
            turned=False,
        )


def _between(board: Board, saw: Saw) -> Iterator[tuple[int, int, int]]:
    """Begin, end for parts and end for leftovers, between trims and defects. Defects of the cases lie well apart."""
    kerf, trim = saw.kerf_crosscut_nm, saw.end_trim_nm
    begin, last = max(trim, kerf) if trim else 0, board.length_nm - trim
    for defect in sorted(board.defects, key=lambda each: each.from_nm):
        lacking = max(0, 2 * kerf - (defect.to_nm - defect.from_nm))
        end = min(last, defect.from_nm - (lacking + 1) // 2)
        if end > begin:
            yield begin, end, end
        begin = max(begin, defect.to_nm + lacking // 2)
    if last > begin:
        yield begin, last, board.length_nm


def gives(board: Board, piece: Piece, saw: Saw) -> int:
    """Pieces that one place on a board gives through its thickness; 0 where its wood does not suit."""
    suits = {None: set(Grain) | {None}, Grain.MIXED: set(Grain) | {None}}
    suits |= {Grain.FLAT: {Grain.FLAT, Grain.MIXED, None}, Grain.QUARTER: {Grain.QUARTER, None}}
    if piece.species != board.species or board.sawn not in suits[piece.sawn]:
        return 0
    if board.sheet:
        return int(abs(board.thickness_nm - piece.thickness_nm) <= to_nm(0.5))  # sold by a nominal thickness
    if board.thickness_nm - saw.flattening_nm < piece.thickness_nm:
        return 0
    stacked = 1
    while (stacked + 1) * piece.thickness_nm + stacked * saw.kerf_rip_nm <= board.thickness_nm:
        stacked += 1
    return stacked


def lies(piece: Piece, *, turned: bool) -> list[tuple[int, int]]:
    """How a piece may lie: its extent along the clear length, and across. [nm]"""
    size = (piece.length_nm, piece.width_nm)
    one = size[::-1] if turned else size
    return sorted({one, one[::-1]} if piece.turns else {one})
