"""Cases with a known optimum: boards cut up at random, in three stages, with nothing left over but the kerfs.

Proof. Make every part longer and wider by one kerf, and every board too. Parts of one board then still do not overlap,
and here they fill their boards, so that together they are as large as the boards cut up. A board costs in proportion
to that size, the other boards cost more for it: no plan costs less than the boards that were cut up.
"""

from decimal import Decimal
from random import Random

from stock_builders import NO_LOSS, a_board, a_piece, a_saw

from chequerwork.domain.stock.boards import Board, Piece, Saw

SHORTEST = 40  # [mm]


def perfect_case(seed: int, *, boards: int, most: int) -> tuple[list[Piece], list[Board], Saw, Decimal]:
    """Pieces, twice the boards that are needed, the saw, and the least cost; up to ``most`` pieces come from a cut."""
    chance = Random(seed)  # noqa: S311 (the same cases for ever)
    along, across = chance.choice([0, 3, 4]), chance.choice([0, 3, 4])
    saw = a_saw(NO_LOSS, kerf_rip_mm=along, kerf_crosscut_mm=across)
    rack, sizes = [], list[tuple[int, int]]()
    for number in range(boards):
        long, wide = chance.randrange(600, 1600, 10), chance.randrange(120, 300, 10)
        cost = Decimal((long + across) * (wide + along)) / 100
        rack.append(a_board(f"board {number}", long, wide, price=cost))
        rack.append(a_board(f"dear {number}", long + chance.randint(0, 200), wide, price=cost * 2))
        for section in _cut(chance, long, across, most):
            for strip in _cut(chance, wide, along, most):
                sizes += [(part, strip) for part in _cut(chance, section, across, most)]
    least = sum((board.price for board in rack[::2]), Decimal(0))
    pieces = [a_piece(f"{n}", *size, count=sizes.count(size)) for n, size in enumerate(sorted(set(sizes)))]
    return pieces, rack, saw, least


def _cut(chance: Random, size: int, kerf: int, most: int) -> list[int]:
    """A size in up to so many pieces and the kerfs between them; of equal pieces where that goes."""
    count = chance.randint(1, most)
    equal, over = divmod(size - (count - 1) * kerf, count)
    if not over and equal >= SHORTEST:
        return [equal] * count
    cut: list[int] = []
    while len(cut) < count - 1 and size > 2 * SHORTEST + kerf:
        cut.append(chance.randint(SHORTEST, size - SHORTEST - kerf))
        size -= cut[-1] + kerf
    return [*cut, size]
