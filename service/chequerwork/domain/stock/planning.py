"""The stock plan: pieces and boards in; the layouts found, each replayed, and the bound on any better ones out."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from itertools import groupby
from typing import Any, Final

from chequerwork.domain.stock.benches import Kind, benches_of, blanks_of, kinds_of
from chequerwork.domain.stock.boards import (
    BOARD,
    Board,
    Goal,
    Layout,
    Missing,
    Origin,
    Piece,
    PlanStatus,
    Purchase,
    Saw,
    Sawn,
    StockPlan,
)
from chequerwork.domain.stock.layouts import lay_out
from chequerwork.domain.stock.replay import replay
from chequerwork.domain.stock.search import solve
from chequerwork.domain.stock.suitable import Sold, unmakeable
from chequerwork.domain.stock.tasks import Solution, Task, UsedBoard

NM3_M3: Final = Decimal("1e-27")
WORK: Final = 8_000_000_000  # steps of the searches for one plan, shared by its woods; some seconds
SMALLEST_M3: Final = Decimal("1e-6")  # a cubic centimetre: what counts where wood is to be saved


def plan_stock(
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    offer: Sequence[Board],
    saw: Saw,
    *,
    goal: Goal,
    exponent: int,
    least_lots_m3: Mapping[str, float] | None = None,
    sold: Sold | None = None,
    buying: bool = True,
) -> StockPlan:
    """From which boards the pieces come, cut how.

    What the boards cannot give is bought of the offer. Money or wood is made small for what comes out of the rack, then
    for what is bought; the bound is for the pieces as they are divided between the two.

    Parameters
    ----------
    pieces
        Wanted, each id once.
    boards, offer
        In the rack, and to be bought.
    saw
        Kerfs, allowances, machines, and which leftovers are kept.
    goal
        What to make small.
    exponent
        Decimals of the currency.
    least_lots_m3
        By species, the least volume of one thickness that is sold. [m3]
    sold
        By species, every thickness that could be bought, too thin ones included: for the words of a refusal. [nm]
    buying
        Whether what is on offer may be bought: for the same words.

    Raises
    ------
    Refused
        Pieces that no board gives, at ("pieces", id, what is wrong: "length", "width", "thickness" or "species").
    """
    unmakeable(pieces, [*boards, *offer], saw, sold=sold, buying=buying)
    given = {board.id: number for number, board in enumerate((*boards, *offer))}
    boards, offer = sorted(boards, key=_size), sorted(offer, key=_size)  # the same question in another order
    smallest = SMALLEST_M3 if goal is Goal.VOLUME else Decimal(1).scaleb(-exponent)
    woods = _Woods(saw, goal, float(smallest), {piece.id: piece for piece in pieces})
    for species in sorted({piece.species for piece in pieces}):
        here = [[each for each in these if each.species == species] for these in (boards, offer)]
        woods.add([piece for piece in pieces if piece.species == species], *here)
    bought = [sawn for sawn in woods.sawn if sawn.layout.board.origin is Origin.OFFER]
    extra = _made_up(bought, least_lots_m3 or {}, woods)
    layouts = sorted((*woods.sawn, *extra), key=lambda sawn: given[sawn.layout.board.id])
    return _summed(woods, layouts, goal, smallest)


def _size(board: Board) -> tuple[int, int, int, Decimal, str]:
    return board.length_nm, board.width_nm, board.thickness_nm, board.price, board.id


class _Woods:
    """Plans wood by wood."""

    def __init__(self, saw: Saw, goal: Goal, smallest: float, pieces: Mapping[str, Piece]) -> None:
        self.saw, self.goal, self.smallest, self.pieces = saw, goal, smallest, pieces
        self.sawn: list[Sawn] = []
        self.missing: list[Missing] = []
        self.bound, self.sure = 0.0, True
        self.work = WORK // len({piece.species for piece in pieces.values()})

    def add(self, pieces: Sequence[Piece], boards: Sequence[Board], offer: Sequence[Board]) -> None:
        """The pieces of one wood: out of the rack as far as it goes, the rest out of the offer."""
        kinds, members = kinds_of(pieces, (*boards, *offer), self.saw)
        queues: list[list[list[Any]]] = [[[piece.id, piece.count] for piece in same] for same in members]
        lacking = tuple(kind.wanted for kind in kinds)
        for origin in (boards, offer):
            if origin and any(lacking):
                lacking = self._cut(kinds, lacking, origin, queues)
        found = "The rack does not give them" if self.sure else "No place was found for them in the rack"
        why = f"{found}, and none is on offer." if not offer else f"{found}, nor does the offer."
        for queue in queues:
            self.missing += [Missing(piece=self.pieces[name], count=n, why=why) for name, n in queue if n]

    def _cut(
        self, kinds: Sequence[Kind], wanted: Sequence[int], boards: Sequence[Board], queues: list[list[list[Any]]]
    ) -> tuple[int, ...]:
        """Cut as many of the pieces as come out of some boards; how many are lacking."""
        found = solve(self._task(kinds, wanted, boards))
        lacking, sure = found.lacking, found.sure
        if any(lacking):
            # What is to be bought is settled; now the rest as cheaply as it can be.
            wanted = [count - gone for count, gone in zip(wanted, lacking, strict=True)]
            found = _better(found, solve(self._task(kinds, wanted, boards)))
        self.bound += found.bound
        self.sure &= sure
        for layout in _grouped(_labelled(found.uses, queues)):
            self.sawn.append(replay(layout, self.pieces, self.saw))
        return lacking

    def _task(self, kinds: Sequence[Kind], wanted: Sequence[int], boards: Sequence[Board]) -> Task:
        left = [kind._replace(wanted=count) for kind, count in zip(kinds, wanted, strict=True)]
        ways = [tuple(benches_of(board, left, self.saw, self.goal)) for board in boards]
        copies = tuple(board.count for board in boards)
        return Task(kinds=tuple(left), boards=tuple(ways), copies=copies, smallest=self.smallest, work=self.work)


def _better(first: Solution, second: Solution) -> Solution:
    """The second unless it lacks more, which only a search cut short can do."""
    if any(second.lacking) or second.cost > first.cost:
        return replace(first, bound=second.bound)
    return second


# Names ----------------------------------------------------------------------------------------------------------------


def _labelled(uses: Sequence[UsedBoard], queues: list[list[list[Any]]]) -> Iterator[Layout]:
    """The cuts of every board used, its pieces named; boards cut alike lie beside each other."""
    for use in sorted(uses, key=lambda each: (each.board, each.bench.turned, each.content)):
        yield lay_out(use.bench, use.content, _names(use, queues), copies=1)


def _names(use: UsedBoard, queues: list[list[list[Any]]]) -> Iterator[tuple[str, int]]:
    """Which part every blank is for. Single pieces go where one is left over, so that pairs stay pairs."""
    for blank in blanks_of(use.content):
        left = [entry for entry in queues[blank.kind] if entry[1]]
        entry = min(
            (e for e in left if e[1] >= blank.stacked), key=lambda e: (e[1] - blank.stacked) % 2, default=left[0]
        )
        pieces = min(blank.stacked, entry[1])
        entry[1] -= pieces
        yield entry[0], pieces


def _grouped(layouts: Iterator[Layout]) -> Iterator[Layout]:
    for layout, same in groupby(layouts):
        yield replace(layout, copies=sum(each.copies for each in same))


# Sums -----------------------------------------------------------------------------------------------------------------


def _made_up(bought: Sequence[Sawn], least_lots_m3: Mapping[str, float], woods: _Woods) -> list[Sawn]:
    """Boards bought beyond what is needed, where less is not sold: whole ones of the smallest size that is bought."""
    lots: dict[tuple[str, int], list[Sawn]] = {}
    for sawn in bought:
        board = sawn.layout.board
        if not board.sheet:
            lots.setdefault((board.species, board.thickness_nm), []).append(sawn)
    extra = []
    for (species, _), lot in lots.items():
        short_m3 = Decimal(least_lots_m3.get(species, 0.0)) - sum(_volume_m3(s) * s.layout.copies for s in lot)
        if short_m3 > 0:
            least = min(lot, key=lambda sawn: (_volume_m3(sawn), sawn.layout.board.id)).layout.board
            copies = int((short_m3 / _board_m3(least)).to_integral_value(ROUND_CEILING))
            whole = Layout(board=least, copies=copies, cuts=(), parts=(), leftovers=_whole(least, woods.saw))
            extra.append(replay(whole, woods.pieces, woods.saw))
    return extra


def _whole(board: Board, saw: Saw) -> tuple[str, ...]:
    kept = board.length_nm >= saw.keep_length_nm and board.width_nm >= saw.keep_width_nm and not board.defects
    return (BOARD,) if kept else ()


def _summed(woods: _Woods, sawn: Sequence[Sawn], goal: Goal, smallest: Decimal) -> StockPlan:
    cost = sum((each.cost * each.layout.copies for each in sawn), Decimal(0))
    used_m3 = sum((_volume_m3(each) * each.layout.copies for each in sawn), Decimal(0))
    kept_m3 = sum((_kept_m3(each) * each.layout.copies for each in sawn), Decimal(0))
    reached = cost if goal is Goal.COST else used_m3 - kept_m3
    bound = Decimal(woods.bound).quantize(smallest / 1000, ROUND_FLOOR)
    proven = woods.sure and reached - bound < smallest / 2
    return StockPlan(
        goal=goal,
        status=PlanStatus.OPTIMAL if proven else PlanStatus.GOOD,
        layouts=tuple(sawn),
        purchases=tuple(_purchases(sawn)),
        missing=tuple(woods.missing),
        boards_used=sum(each.layout.copies for each in sawn),
        cost=cost,
        reached=reached,
        bound=reached if proven else min(max(bound, Decimal(0)), reached),
        volume_used_m3=float(used_m3),
        parts_m3=float(sum(_parts_m3(each, woods.pieces) * each.layout.copies for each in sawn)),
        kept_m3=float(kept_m3),
    )


def _purchases(sawn: Sequence[Sawn]) -> Iterator[Purchase]:
    counts: dict[str, int] = {}
    boards: dict[str, Board] = {}
    for each in sawn:
        board = each.layout.board
        if board.origin is Origin.OFFER:
            boards[board.id] = board
            counts[board.id] = counts.get(board.id, 0) + each.layout.copies
    for name, board in boards.items():
        yield Purchase(board=board, count=counts[name])


def _board_m3(board: Board) -> Decimal:
    return Decimal(board.length_nm * board.width_nm * board.thickness_nm) * NM3_M3


def _volume_m3(sawn: Sawn) -> Decimal:
    return _board_m3(sawn.layout.board)


def _kept_m3(sawn: Sawn) -> Decimal:
    return Decimal(sawn.kept_nm2 * sawn.layout.board.thickness_nm) * NM3_M3


def _parts_m3(sawn: Sawn, pieces: Mapping[str, Piece]) -> Decimal:
    """Of the pieces as they leave the saw; a sheet's by its own thickness."""
    total = 0
    for laid in sawn.laid:
        if laid.part is not None:
            piece = pieces[laid.part]
            total += piece.length_nm * piece.width_nm * piece.thickness_nm * laid.stacked
    return Decimal(total) * NM3_M3
