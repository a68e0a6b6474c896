"""Whether an order can be made of the lumber on hand: a quick look at the rack, and the proof by a stock plan."""

from collections import defaultdict
from typing import Final

from chequerwork.domain.errors import Refused
from chequerwork.domain.facts import Tables
from chequerwork.domain.plan import Plan
from chequerwork.domain.shop import Shop
from chequerwork.domain.stock.boards import Board, Goal, Piece
from chequerwork.domain.stock.offer import rack_boards, saw_of
from chequerwork.domain.stock.wanted import pieces_of

FROM_STOCK: Final = "from_stock"
MOST_PIECES: Final = 2_000  # of an order whose stock plan is worked out among several


class Hoard:
    """The boards of a shop's rack."""

    def __init__(self, shop: Shop, tables: Tables) -> None:
        self.shop, self.tables = shop, tables
        self.boards = rack_boards(shop, tables)
        self.by_species: dict[str, list[Board]] = defaultdict(list)
        for board in self.boards:
            self.by_species[board.species].append(board)

    def lacking(self, plan: Plan) -> float:
        """Share of the wood that the rack surely does not give: by volume of boards thick enough, kerfs left out."""
        wanted, lacked = 0, 0
        for species, pieces in self._wanted(plan).items():
            need_nm3 = sum(_volume_nm3(piece) for piece in pieces)
            thin_nm = min(piece.thickness_nm for piece in pieces)
            there_nm3 = sum(
                board.length_nm * board.width_nm * board.thickness_nm * board.count
                for board in self.by_species[species]
                if board.sheet or board.thickness_nm >= thin_nm
            )
            wanted += need_nm3
            lacked += max(0, need_nm3 - there_nm3)
        return lacked / wanted

    def _wanted(self, plan: Plan) -> dict[str, list[Piece]]:
        found: dict[str, list[Piece]] = defaultdict(list)
        for piece in pieces_of(plan.cutting, plan.order, self.shop):
            found[piece.species].append(piece)
        return found

    def gives(self, plan: Plan) -> bool:
        """Whether a stock plan cuts every piece from the rack and buys nothing."""
        from chequerwork.domain.stock.planning import plan_stock  # noqa: PLC0415 - 0.2 s that few requests need

        pieces = pieces_of(plan.cutting, plan.order, self.shop)
        if sum(piece.count for piece in pieces) > MOST_PIECES:
            return False
        exponent = self.tables.currencies[self.shop.currency].exponent
        try:
            found = plan_stock(
                pieces, self.boards, (), saw_of(self.shop), goal=Goal.VOLUME, exponent=exponent, buying=False
            )
        except Refused:
            return False
        return not found.missing


def _volume_nm3(piece: Piece) -> int:
    return piece.length_nm * piece.width_nm * piece.thickness_nm * piece.count
