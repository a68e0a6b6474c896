"""What stock plans cost in time, and what they save over first fit on the same boards."""

import statistics
import time
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from random import Random
from typing import Any

from first_fit import first_fit

from chequerwork.api.examples import FIRST, ORDERS
from chequerwork.api.schemas import order_of, read_order
from chequerwork.app import Service, load_service
from chequerwork.domain.plan import Plan
from chequerwork.domain.stock.boards import Board, Defect, Goal, Piece, to_nm
from chequerwork.domain.stock.offer import saw_of
from chequerwork.domain.stock.planning import plan_stock
from chequerwork.domain.stock.wanted import pieces_of
from chequerwork.ops.settings import Settings

CLASSES_MM = (26, 33, 52)
MIXED = 10


def stock_plans(plain: Callable[[], None]) -> None:
    """Print seconds, ratio to the plain route, how far from the best, and the saving, for three sizes of case."""
    service = load_service(Settings())
    one, ten = (_pieces(service, _orders(count)) for count in (1, MIXED))
    _row("stock, one order, 30 boards", plain, one, _rack(one, 30), service, rounds=9, aim="40 ms")
    _row("stock, ten orders, 200 boards", plain, ten, _rack(ten, 200), service, rounds=3, aim="1 s, gap 1 %")
    many = _many(500)
    _row("stock, 500 parts, 500 boards", plain, many, _rack(many, 500), service, rounds=1, aim="answered or refused")


def _orders(count: int) -> list[dict[str, Any]]:
    """The first example, then the same board in other sizes and woods, the frame of a third wood."""
    chance, woods = Random(1), ("pear", "wenge", "european_ash", "sycamore_maple", "european_walnut")  # noqa: S311
    made = [dict(ORDERS[FIRST])]
    while len(made) < count:
        light, dark, frame = chance.sample(woods, 3)
        order: dict[str, Any] = {
            **{name: ORDERS[FIRST][name] for name in ("shop", "issued_on", "starts_on")},
            "square": f"{chance.randint(40, 56)} mm",
            "light": light,
            "dark": dark,
            "quantity": chance.randint(1, 3),
            "frame": {"joint": "mitre", "hold": "floating", "species": frame, "width": f"{chance.randint(36, 48)} mm"},
        }
        made.append(order)
    return made


def _pieces(service: Service, bodies: Sequence[dict[str, Any]]) -> list[Piece]:
    shop, found = service.shop(str(ORDERS[FIRST]["shop"])), list[Piece]()
    for number, body in enumerate(bodies):
        order = order_of(read_order(body), shop=shop, tables=service.tables, today=date(2027, 2, 1))
        cutting, quantity = Plan(order, shop, service.tables).cutting, order.sale.quantity
        found += pieces_of(cutting, order.field, order.frame, order.base, quantity, shop, prefix=f"{number}.")
    return found


def _rack(pieces: Sequence[Piece], count: int) -> list[Board]:
    """Boards of the woods that are wanted, in three thicknesses; every fifth has a defect."""
    chance = Random(2)  # noqa: S311
    species = sorted({piece.species for piece in pieces})
    made = []
    for number in range(count):
        length, width = chance.randrange(1200, 3000, 50), chance.randrange(120, 320, 5)
        thick = CLASSES_MM[number // len(species) % 3]
        flaw = chance.randrange(200, length - 300)
        board = Board(
            id=f"board {number}",
            species=species[number % len(species)],
            length_nm=to_nm(length),
            width_nm=to_nm(width),
            thickness_nm=to_nm(thick),
            count=1,
            price=Decimal(length * width * thick * chance.randint(18, 30)) / 10**7,
            defects=() if number % 5 else (Defect(from_nm=to_nm(flaw), to_nm=to_nm(flaw + 60)),),
        )
        made.append(board)
    return made


def _many(count: int) -> list[Piece]:
    """Parts of as many sizes, one to three of each, in two woods."""
    chance = Random(3)  # noqa: S311
    return [
        Piece(
            id=f"part {number}",
            species=("pear", "wenge")[number % 2],
            length_nm=to_nm(chance.randint(150, 900)),
            width_nm=to_nm(chance.randint(25, 110)),
            thickness_nm=to_nm(chance.choice([22, 24, 29])),
            count=chance.randint(1, 3),
        )
        for number in range(count)
    ]


def _row(
    name: str,
    plain: Callable[[], None],
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    service: Service,
    *,
    rounds: int,
    aim: str,
) -> None:
    saw = saw_of(service.shop(str(ORDERS[FIRST]["shop"])))

    def call() -> None:
        plans.append(plan_stock(pieces, boards, (), saw, goal=Goal.COST, exponent=2))

    plans: list[Any] = []
    times = [(_timed(call, 1), _timed(plain, 60)) for _ in range(rounds)]
    median, ratio = (statistics.median(each) for each in ((t for t, _ in times), (t / p for t, p in times)))
    plan, fitted = plans[0], first_fit(pieces, boards, saw)
    count = sum(piece.count for piece in pieces)
    print(f"{name:34} {median * 1e3:7.0f} ms   ratio {ratio:.0f}   aim {aim}")
    told = f"{count} pieces, {plan.boards_used} boards, {plan.status}, gap {plan.gap_pct:.2f} %"
    if plan.missing:
        told += f", {sum(each.count for each in plan.missing)} pieces missing"
    elif fitted:
        told += f"; {float(plan.cost):.2f} against {float(fitted[0]):.2f} first fit with {fitted[1]} boards: "
        told += f"{100 * (1 - float(plan.cost) / float(fitted[0])):.1f} % saved"
    print(f"{'':34} {told}")


def _timed(call: Callable[[], None], count: int) -> float:
    began = time.perf_counter()
    for _ in range(count):
        call()
    return (time.perf_counter() - began) / count
