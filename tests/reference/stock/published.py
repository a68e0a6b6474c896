"""Published cases of one length: ``packing.csv``, and lower bounds that prove an optimum without any solver."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from stock_builders import NO_LOSS, a_board, a_piece, a_saw

from chequerwork.domain.stock.boards import Board, Piece, Saw


@dataclass(frozen=True, kw_only=True)
class Published:
    """A board length, the lengths wanted with their counts, and the least number of boards."""

    id: str
    board: int
    lengths: dict[int, int]
    optimum: int

    def question(self) -> tuple[list[Piece], list[Board], Saw]:
        """As wood: parts as wide as the board, no kerf, no trim, more boards than are needed at a price of 1."""
        pieces = [a_piece(f"{length}", length, count=count) for length, count in self.lengths.items()]
        board = a_board("board", self.board, count=sum(self.lengths.values()), price=1)
        return pieces, [board], a_saw(NO_LOSS)

    def least(self) -> int:
        """Boards that are needed at least: lengths that cannot share a board, and the others' sum (Martello, Toth)."""
        return max(self._least(small) for small in (0, *self.lengths) if small <= self.board // 2)

    def _least(self, small: int) -> int:
        """Lengths below ``small`` left out: those above half a board stand alone, the rest fills up."""
        sized = [(length, count) for length, count in self.lengths.items() if length >= small]
        alone = sum(count for length, count in sized if length > self.board - small)
        half = [(n, count) for n, count in sized if self.board // 2 < n <= self.board - small]
        others = sum(n * count for n, count in sized if n <= self.board // 2)
        room = sum((self.board - n) * count for n, count in half)
        return alone + sum(count for _, count in half) + max(0, -(-(others - room) // self.board))


@cache
def published() -> dict[str, Published]:
    """Every row by its id; ``497*2 495`` is two of 497 and one of 495."""
    path = Path(__file__).parent / "packing.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return {row["id"]: _read(row) for row in csv.DictReader(file)}


def _read(row: dict[str, str]) -> Published:
    pairs = (pair.partition("*") for pair in row["pieces"].split())
    lengths = {int(length): int(count or 1) for length, _, count in pairs}
    return Published(id=row["id"], board=int(row["board"]), lengths=lengths, optimum=int(row["optimum"]))
