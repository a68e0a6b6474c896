"""What is measured: orders and stock cases that never change, so that a ratio of today stands beside one of last year.

``orders.json`` and ``stock.json`` hold what the contract's examples and the stock cases were when they were frozen.
Sizes are whole nanometres.
"""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import Board, Defect, Piece, Saw

HERE = Path(__file__).parent
ORDERS: dict[str, dict[str, Any]] = json.loads((HERE / "orders.json").read_text(encoding="utf-8"))
FIRST = "club-chess"


class StockCase(NamedTuple):
    """Pieces wanted, boards of the rack, and the saw."""

    pieces: list[Piece]
    boards: list[Board]
    saw: Saw


def stock_cases() -> dict[str, StockCase]:
    """Every stock case by its name."""
    frozen = json.loads((HERE / "stock.json").read_text(encoding="utf-8"))
    saw = Saw(**frozen["saw"] | {"keep_share": Decimal(frozen["saw"]["keep_share"])})
    return {
        name: StockCase([_piece(row) for row in case["pieces"]], [_board(row) for row in case["boards"]], saw)
        for name, case in frozen["cases"].items()
    }


def _piece(row: dict[str, Any]) -> Piece:
    sawn = row.get("sawn")
    return Piece(**row | {"sawn": sawn and Grain(sawn)})


def _board(row: dict[str, Any]) -> Board:
    defects = tuple(Defect(**defect) for defect in row.get("defects", ()))
    return Board(**row | {"price": Decimal(row["price"]), "defects": defects})
