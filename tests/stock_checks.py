"""A whole stock plan checked: every layout cut once more, and the plan's sums added up again."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal, localcontext

from chequerwork.domain.stock.boards import NM, Area, Board, Fate, Goal, Origin, Piece, Saw, StockPlan
from chequerwork.domain.stock.replay import replay

DIGITS = 60  # of worths: more than any area in nm2 times a price has
NM3 = NM**3 * 10**9  # in a m3


class WrongPlan(ValueError):
    """A plan that claims what is not so."""


def check_plan(
    plan: StockPlan, pieces: Sequence[Piece], boards: Sequence[Board], offer: Sequence[Board], saw: Saw
) -> None:
    """Replay every layout and add the plan's numbers up again: pieces, boards, money, volumes, and the bound.

    Raises
    ------
    WrongPlan
        The first thing that is wrong.
    NotCuttable
        A layout that no saw bench can make.
    """
    wanted = {piece.id: piece for piece in pieces}
    if len(wanted) < len(pieces):
        raise WrongPlan("Two of the parts wanted have the same id.")
    for sawn in plan.layouts:
        if replay(sawn.layout, wanted, saw) != sawn:
            raise WrongPlan(f"A layout of {sawn.layout.board.id!r} tells what its cuts do not give.")
    _check_demand(plan, wanted)
    _check_rack(plan, (*boards, *offer))
    _check_bought(plan)
    _check_money(plan)
    _check_volumes(plan, wanted)


def _check_demand(plan: StockPlan, wanted: Mapping[str, Piece]) -> None:
    given = _given(plan)
    for missing in plan.missing:
        if wanted.get(missing.piece.id) != missing.piece or missing.count < 1:
            raise WrongPlan(f"Missing part {missing.piece.id!r}: it is none of those wanted, or none is missing.")
        given[missing.piece.id] += missing.count
    for key, piece in wanted.items():
        if given[key] != piece.count:
            raise WrongPlan(f"Part {key!r}: {piece.count} wanted, {given[key]} cut or missing.")


def _given(plan: StockPlan) -> Counter[str]:
    """Parts that the layouts give, by id."""
    given: Counter[str] = Counter()
    for sawn in plan.layouts:
        for laid in sawn.laid:
            if laid.part is not None:
                given[laid.part] += laid.stacked * sawn.layout.copies
    return given


def _used(plan: StockPlan) -> Counter[tuple[Origin, str]]:
    used: Counter[tuple[Origin, str]] = Counter()
    for sawn in plan.layouts:
        used[sawn.layout.board.origin, sawn.layout.board.id] += sawn.layout.copies
    return used


def _check_rack(plan: StockPlan, boards: Sequence[Board]) -> None:
    there = {(board.origin, board.id): board for board in boards}
    for sawn in plan.layouts:
        board = sawn.layout.board
        if there.get((board.origin, board.id)) != board:
            raise WrongPlan(f"Board {board.id!r} is not as the rack or the offer has it.")
        if sawn.layout.copies < 1:
            raise WrongPlan(f"Board {board.id!r}: a layout is cut {sawn.layout.copies} times.")
    used = _used(plan)
    for key, count in used.items():
        if count > there[key].count:
            raise WrongPlan(f"Board {key[1]!r} is used {count} times; there are {there[key].count}.")
    if plan.boards_used != used.total():
        raise WrongPlan(f"The plan counts {plan.boards_used} boards; its layouts use {used.total()}.")


def _check_bought(plan: StockPlan) -> None:
    bought = Counter({key: count for key, count in _used(plan).items() if key[0] is Origin.OFFER})
    boards = {sawn.layout.board for sawn in plan.layouts}
    listed: Counter[tuple[Origin, str]] = Counter()
    for purchase in plan.purchases:
        if purchase.board not in boards:
            raise WrongPlan(f"Board {purchase.board.id!r} is bought, but not cut.")
        listed[purchase.board.origin, purchase.board.id] += purchase.count
    if listed != bought:
        raise WrongPlan("The boards to buy are not the boards of the offer that are cut.")


def _check_money(plan: StockPlan) -> None:
    with localcontext(prec=DIGITS):
        cost = sum((s.layout.copies * (s.layout.board.price - s.kept) for s in plan.layouts), Decimal(0))
    if not _rounds_to(cost, plan.cost):
        raise WrongPlan(f"The plan costs {cost:.6f}, not {plan.cost}.")
    used_m3 = Decimal(_used_nm3(plan) - _kept_nm3(plan)) / NM3
    reached = cost if plan.goal is Goal.COST else used_m3
    if not _rounds_to(reached, plan.reached):
        raise WrongPlan(f"The plan reaches {reached:.9f}, not {plan.reached}.")
    if plan.bound > plan.reached:
        raise WrongPlan(f"The plan reaches {plan.reached}, less than its bound of {plan.bound}.")


def _rounds_to(exact: Decimal, told: Decimal) -> bool:
    """Whether a number is another one, as far as it is written out; at least to a whole unit."""
    places = told.as_tuple().exponent
    if not isinstance(places, int):  # not a number
        return False
    half = Decimal(5).scaleb(min(places, 0) - 1)
    return abs(exact - told) <= max(half, Decimal("1e-15"))


def _used_nm3(plan: StockPlan) -> int:
    boards = [(s.layout.copies, s.layout.board) for s in plan.layouts]
    return sum(copies * board.length_nm * board.width_nm * board.thickness_nm for copies, board in boards)


def _kept_nm3(plan: StockPlan) -> int:
    return sum(
        sawn.layout.copies * sawn.layout.board.thickness_nm * _face_nm2(laid.area)
        for sawn in plan.layouts
        for laid in sawn.laid
        if laid.fate is Fate.LEFTOVER
    )


def _check_volumes(plan: StockPlan, wanted: Mapping[str, Piece]) -> None:
    parts = [(count, wanted[key]) for key, count in _given(plan).items()]
    parts_nm3 = sum(count * piece.length_nm * piece.width_nm * piece.thickness_nm for count, piece in parts)
    for what, exact_nm3, told_m3 in (
        ("boards used", _used_nm3(plan), plan.volume_used_m3),
        ("parts", parts_nm3, plan.parts_m3),
        ("leftovers", _kept_nm3(plan), plan.kept_m3),
    ):
        if not math.isclose(exact_nm3 / NM3, told_m3, rel_tol=1e-9, abs_tol=1e-15):
            raise WrongPlan(f"Volume of the {what}: {exact_nm3 / NM3:.9f} m3, not {told_m3:.9f} m3.")


def _face_nm2(area: Area) -> int:
    return area.length_nm * area.width_nm
