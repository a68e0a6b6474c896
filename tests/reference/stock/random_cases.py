"""Small cases by a fixed seed: few boards and pieces, and every rule of the saw bench on or off.

Sizes are small whole numbers, so that things often just fit, or just do not.
"""

from decimal import Decimal
from random import Random
from typing import NamedTuple

from stock_builders import a_board, a_piece, a_saw

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import Board, Defect, Piece, Saw, to_nm


class Case(NamedTuple):
    """What a plan is asked for."""

    pieces: list[Piece]
    boards: list[Board]
    saw: Saw


def random_case(seed: int, *, boards: int, pieces: int, leftovers: bool, sheets: bool = True) -> Case:
    """A case of up to so many boards and pieces; mostly, but not always, the boards give them all."""
    chance = Random(seed)  # noqa: S311 (the same cases for ever)
    sheet = sheets and chance.random() < 0.2
    saw = _saw(chance, leftovers=leftovers)
    return Case(_pieces(chance, pieces, sheet=sheet), _boards(chance, boards, sheet=sheet), saw)


def _saw(chance: Random, *, leftovers: bool) -> Saw:
    kerf = chance.choice([0, 3, 4, 10])
    return a_saw(
        kerf_rip_mm=kerf,
        kerf_crosscut_mm=chance.choice([kerf, 5]),
        end_trim_mm=chance.choice([0, 0, 2, 20]),
        edge_jointing_mm=chance.choice([0, 0, 5]),
        flattening_mm=chance.choice([0, 2]),
        jointer_width_mm=chance.choice([100, 310]),
        min_length_mm=chance.choice([0, 0, 300]),
        keep_length_mm=chance.choice([100, 200, 400]),
        keep_width_mm=chance.choice([10, 40, 80]),
        keep_share=chance.choice(["0.5", "0.9", "1"]) if leftovers else "0",
    )


def _boards(chance: Random, most: int, *, sheet: bool) -> list[Board]:
    made, left = [], chance.choice([most, chance.randint(1, most)])
    while left:
        count = chance.randint(1, min(left, 2))
        left -= count
        length, width = chance.randrange(400, 1400, 50), chance.choice([60, 100, 140, 200, 200, 400])
        made.append(
            a_board(
                f"board {len(made)}",
                length,
                width,
                count=count,
                thickness_mm=18 if sheet else chance.choice([27, 27, 52]),
                price=Decimal(length * width * chance.randint(80, 120) // 2000) / 100,
                sawn=None if sheet else chance.choice([None, None, Grain.FLAT, Grain.QUARTER, Grain.MIXED]),
                defects=() if sheet else _defects(chance, length),
                sheet=sheet,
            )
        )
    return made


def _defects(chance: Random, length: int) -> tuple[Defect, ...]:
    """None or one, well inside or at an end."""
    if chance.random() < 0.7:
        return ()
    wide = chance.choice([1, 5, 8, 40])
    start = chance.choice([0, length - wide, *[chance.randrange(100, length - 150, 10)] * 4])
    return (Defect(from_nm=to_nm(start), to_nm=to_nm(start + wide)),)


def _pieces(chance: Random, most: int, *, sheet: bool) -> list[Piece]:
    made, left = [], chance.randint(1, most)
    while left and len(made) < 4:
        count = chance.randint(1, min(left, 3))
        left -= count
        made.append(
            a_piece(
                f"piece {len(made)}",
                chance.randrange(50, 600, 25),
                chance.choice([20, 25, 30, 45, 60, 95]),
                count=count,
                thickness_mm=18 if sheet else chance.choice([25, 25, 25, 25, 11, 11, 46]),
                turns=chance.random() < 0.2,
                sawn=None if sheet else chance.choice([None, None, None, None, Grain.FLAT, Grain.QUARTER]),
            )
        )
    return made
