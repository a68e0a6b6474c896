"""What tests of stock plans start from: pieces, boards and a saw in millimetres, and plans made of them."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from chequerwork.domain.stock.boards import Board, Goal, Piece, Saw, StockPlan, to_nm
from chequerwork.domain.stock.planning import plan_stock

SAW = {
    "kerf_rip_mm": 3.2,
    "kerf_crosscut_mm": 3.2,
    "end_trim_mm": 15,
    "edge_jointing_mm": 3,
    "flattening_mm": 2,
    "jointer_width_mm": 310,
    "thicknesser_width_mm": 310,
    "min_length_mm": 300,
    "keep_length_mm": 300,
    "keep_width_mm": 60,
}
# Nothing is lost and nothing is kept: a board is a length, a part a shorter one.
NO_LOSS = dict.fromkeys(SAW, 0) | {"jointer_width_mm": 10_000, "thicknesser_width_mm": 10_000}


def in_nm(sizes: dict[str, Any]) -> dict[str, Any]:
    """Every ``_mm`` as ``_nm``."""
    return {
        f"{name[:-3]}_nm" if name.endswith("_mm") else name: to_nm(value) if name.endswith("_mm") else value
        for name, value in sizes.items()
    }


def a_saw(base: dict[str, float] = SAW, *, keep_share: str = "0", **changed: float) -> Saw:
    """A saw bench; leftovers are worth nothing unless a share is told."""
    return Saw(**in_nm(base | changed), keep_share=Decimal(keep_share))


def a_board(name: str, length_mm: float, width_mm: float = 100, **others: Any) -> Board:
    """A board of 27 mm ash that costs 10."""
    told = {"species": "ash", "thickness_mm": 27, "count": 1, "price": Decimal(10)} | others
    return Board(id=name, **in_nm({"length_mm": length_mm, "width_mm": width_mm, **told}))


def a_piece(name: str, length_mm: float, width_mm: float = 100, **others: Any) -> Piece:
    """A piece of ash 25 mm thick."""
    told = {"species": "ash", "thickness_mm": 25, "count": 1} | others
    return Piece(id=name, **in_nm({"length_mm": length_mm, "width_mm": width_mm, **told}))


def planned(
    pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw, *, offer: Sequence[Board] = (), goal: Goal = Goal.COST
) -> StockPlan:
    """A plan in a currency of two decimals."""
    return plan_stock(pieces, boards, offer, saw, goal=goal, exponent=2)


def describe(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> str:
    """A case to paste into a report."""
    return "\n".join(str(each) for each in (*pieces, *boards, saw))
