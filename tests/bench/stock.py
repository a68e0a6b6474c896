"""What stock plans cost in time, and what they save over first fit on the same boards."""

import statistics
import time
from collections.abc import Callable
from typing import Any

from first_fit import first_fit
from frozen import StockCase, stock_cases

from chequerwork.domain.stock.boards import Goal
from chequerwork.domain.stock.planning import plan_stock

ROUNDS_AND_AIMS = {
    "one order, 30 boards": (9, "40 ms"),
    "ten orders, 200 boards": (3, "1 s, gap 1 %"),
    "500 parts, 500 boards": (1, "answered or refused"),
}


def stock_plans(plain: Callable[[], None]) -> None:
    """Print seconds, ratio to the plain route, how far from the best, and the saving, for three sizes of case."""
    for name, case in stock_cases().items():
        rounds, aim = ROUNDS_AND_AIMS[name]
        _row(f"stock, {name}", plain, case, rounds=rounds, aim=aim)


def _row(name: str, plain: Callable[[], None], case: StockCase, *, rounds: int, aim: str) -> None:
    pieces, boards, saw = case

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
