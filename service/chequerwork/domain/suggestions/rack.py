"""Whether an order can be made of the lumber on hand: a quick look at the rack, and the proof by a stock plan."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Final

from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.plan import Plan
from chequerwork.domain.stock.boards import Board, Goal, Piece
from chequerwork.domain.stock.offer import rack_boards, saw_of

FROM_STOCK: Final = "from_stock"
MOST_PIECES: Final = 500  # of an order whose stock plan is worked out among several
MOST_PROOFS: Final = 6  # stock plans for one request: each may take a good part of a second


class RackStock:
    """The boards of a shop's rack.

    Of each wood all is thought to be of use at first; after an order that could not be cut, only what its plan gave.
    """

    def __init__(self, shop: Shop, tables: Tables) -> None:
        self.shop, self.tables, self.proofs = shop, tables, MOST_PROOFS
        self.given_nm3: dict[str, float] = {}
        self.boards, self.saw = rack_boards(shop, tables), saw_of(shop)
        self.by_species: dict[str, list[Board]] = defaultdict(list)
        for board in self.boards:
            self.by_species[board.species].append(board)

    def lacking(self, plan: Plan) -> float:
        """Share of the wood that the rack is not thought to give, by volume."""
        needs = list(self._needs(plan))
        wanted = sum(need for _, need, _ in needs)
        most = [(need, min(there, self.given_nm3.get(species, there))) for species, need, there in needs]
        return sum(max(0.0, need - there) for need, there in most) / wanted

    def _needs(self, plan: Plan) -> Iterator[tuple[str, int, int]]:
        """For each wood what is wanted and what is there: trimmed boards that are thick enough, kerfs left out."""
        for species, pieces in self._wanted(plan).items():
            thin_nm = min(piece.thickness_nm for piece in pieces)
            yield (
                species,
                sum(_volume_nm3(piece) for piece in pieces),
                sum(self._use_nm3(b) for b in self.by_species[species] if b.sheet or b.thickness_nm >= thin_nm),
            )

    def _use_nm3(self, board: Board) -> int:
        if board.sheet:
            return board.length_nm * board.width_nm * board.thickness_nm * board.count
        spoilt_nm = 2 * self.saw.end_trim_nm + sum(each.to_nm - each.from_nm for each in board.defects)
        width_nm = board.width_nm - 2 * self.saw.edge_jointing_nm
        return max(0, board.length_nm - spoilt_nm) * width_nm * board.thickness_nm * board.count

    def _wanted(self, plan: Plan) -> dict[str, list[Piece]]:
        found: dict[str, list[Piece]] = defaultdict(list)
        for piece in plan.pieces:
            found[piece.species].append(piece)
        return found

    def gives(self, plan: Plan) -> bool:
        """Whether a stock plan cuts every piece from the rack and buys nothing; if not, what it gave is remembered."""
        from chequerwork.domain.stock.planning import plan_stock  # noqa: PLC0415 - 0.2 s that few requests need

        self.proofs -= 1
        pieces = plan.pieces
        if sum(piece.count for piece in pieces) > MOST_PIECES:
            return False
        exponent = self.tables.currencies[self.shop.currency].exponent
        try:
            found = plan_stock(pieces, self.boards, (), self.saw, goal=Goal.VOLUME, exponent=exponent, buying=False)
        except Refused:
            return False
        lacking: dict[str, int] = defaultdict(int)
        for missing in found.missing:
            lacking[missing.piece.species] += _volume_nm3(missing.piece) // missing.piece.count * missing.count
        for species, need, _ in self._needs(plan):
            if species in lacking:
                given_nm3 = float(need - lacking[species])
                self.given_nm3[species] = min(given_nm3, self.given_nm3.get(species, given_nm3))
        return not lacking


def _volume_nm3(piece: Piece) -> int:
    return piece.length_nm * piece.width_nm * piece.thickness_nm * piece.count
