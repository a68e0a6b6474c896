"""Which boards are cut by which contents: the linear and the whole-numbered program, solved by HiGHS.

The only file that knows the solver. One thread, one seed, limits in nodes and none in time: the same program
has the same answer, however busy the machine.
"""

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import highspy
from highspy._core import _Highs  # the plain solver: the wrapper around it writes a banner to standard output

MOST_NODES: Final = 1000  # of a search over few contents
SMALL_NODES: Final = 200  # of one over boards alone
NODES_BY_COLUMNS: Final = 200_000  # nodes times contents, where there are many: 10 s at the very most, measured


class Prices(NamedTuple):
    """Dual values: what one more piece of each kind costs, and what one more board of each kind is worth (<= 0)."""

    cost: float
    pieces: tuple[float, ...]
    boards: tuple[float, ...]
    weights: tuple[float, ...]  # of each column


class Master:
    """Columns are contents of boards; rows the demand of each kind and the number of boards there are.

    Parameters
    ----------
    wanted
        Pieces of each kind.
    copies
        Boards of each kind.
    lacking
        Cost of a piece that no column gives; more than any board that could.
    """

    def __init__(self, wanted: Sequence[int], copies: Sequence[int], lacking: Sequence[float]) -> None:
        self.kinds, self.highs, self.columns = len(wanted), _quiet(MOST_NODES), 0
        for count in wanted:
            self.highs.addRow(float(count), highspy.kHighsInf, 0, [], [])
        for count in copies:
            self.highs.addRow(-highspy.kHighsInf, float(count), 0, [], [])
        for kind, cost in enumerate(lacking):
            self.highs.addCol(cost, 0.0, highspy.kHighsInf, 1, [kind], [1.0])

    def add(self, board: int, cost: float, counts: Sequence[int]) -> None:
        """One more content of a board."""
        rows = [kind for kind, count in enumerate(counts) if count]
        values = [float(counts[kind]) for kind in rows]
        rows.append(self.kinds + board)
        _done(self.highs.addCol(cost, 0.0, highspy.kHighsInf, len(rows), rows, [*values, 1.0]))
        self.columns += 1

    def want(self, wanted: Sequence[int], copies: Sequence[int]) -> None:
        """Change the demand, and how many boards there are."""
        for kind, count in enumerate(wanted):
            self.highs.changeRowBounds(kind, float(count), highspy.kHighsInf)
        for board, count in enumerate(copies):
            self.highs.changeRowBounds(self.kinds + board, -highspy.kHighsInf, float(count))

    def relax(self) -> Prices:
        """The linear program."""
        self.highs.run()
        solution = self.highs.getSolution()
        duals = list(solution.row_dual)
        return Prices(
            self.highs.getInfo().objective_function_value,
            tuple(duals[: self.kinds]),
            tuple(duals[self.kinds :]),
            tuple(solution.col_value)[self.kinds :],
        )

    def whole(self, best_known: float) -> tuple[int, ...] | None:
        """How often each column is used at the least cost found; None where nothing below ``best_known`` was."""
        highs = self.highs
        total = self.kinds + self.columns
        self._number(total, highspy.HighsVarType.kInteger)
        highs.setOptionValue("objective_bound", best_known)
        highs.setOptionValue("mip_max_nodes", max(1, min(MOST_NODES, NODES_BY_COLUMNS // (1 + self.columns))))
        highs.run()
        cost, found = highs.getInfo().objective_function_value, list(highs.getSolution().col_value)
        self._number(total, highspy.HighsVarType.kContinuous)
        if not found or cost >= best_known:
            return None
        return tuple(round(value) for value in found)[self.kinds :]

    def _number(self, columns: int, kind: highspy.HighsVarType) -> None:
        for column in range(columns):
            self.highs.changeColIntegrality(column, kind)


def cheapest_cover(costs: Sequence[float], holds: Sequence[float], copies: Sequence[int], need: float) -> float:
    """The least that whole boards cost which together hold enough; never too high, where the search is cut short.

    Parameters
    ----------
    costs, holds, copies
        Of each board: its cost, how much it holds, and how many there are.
    need
        What they have to hold together.
    """
    most = max(holds, default=0.0)
    if most <= 0:
        return -math.inf
    highs = _quiet(SMALL_NODES)
    highs.addRow(need / most * (1 - 1e-9), highspy.kHighsInf, 0, [], [])
    for number, (cost, hold, count) in enumerate(zip(costs, holds, copies, strict=True)):
        _done(highs.addCol(cost, 0.0, float(count), 1, [0], [hold / most]))  # faces in nm2 are too large a number
        _done(highs.changeColIntegrality(number, highspy.HighsVarType.kInteger))
    highs.run()
    bound: float = highs.getInfo().mip_dual_bound
    known = highs.getModelStatus() != highspy.HighsModelStatus.kInfeasible and math.isfinite(bound)
    return bound if known else -math.inf


def _done(status: highspy.HighsStatus) -> None:
    """The solver says by a status that it refused something; an answer without it would be wrong."""
    if status == highspy.HighsStatus.kError:
        raise ArithmeticError("The solver refused a number.")


def _quiet(nodes: int) -> _Highs:
    highs = _Highs()
    for name, value in (
        ("output_flag", False),
        ("threads", 1),
        ("parallel", "off"),
        ("random_seed", 1),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 1e-7),
        ("mip_max_nodes", nodes),
    ):
        highs.setOptionValue(name, value)
    return highs
