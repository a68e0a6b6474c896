"""What moves a price: its lines by their share, and what small changes of the order or of the shop's figures do.

Every change is made and priced anew, as an order of its own: no derivative has a formula. A price end swallows small
changes, so what the price would be before it is told beside what is shown.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final, NamedTuple

from chequerwork.domain.basics.errors import Path, Refused
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.completion.complete import complete
from chequerwork.domain.money.costs import is_bought, is_worked
from chequerwork.domain.money.pricing import Price
from chequerwork.domain.order.request import OrderRequest, SandingRequest, request_of
from chequerwork.domain.plan import Plan

# How small the changes are (house): enough to show, not enough to be another board.
STEP_MM: Final = 1.0
DEARER: Final = Decimal("1.1")  # lumber
PERCENT: Final = Decimal(1)  # of waste and overhead
YIELD_PCT: Final = 5.0
Figure = float | Decimal | str | date


class PriceShare(NamedTuple):
    """What the goods' net price of the whole order goes into: a cost, the fees, or the margin."""

    code: str
    title: str
    amount: Decimal
    share: Decimal  # of the goods' net price, 0 to 1


class Change(NamedTuple):
    """A small change: where it is made, and the figure there before and after it, in ``unit``.

    Units are ``mm``, ``pct``, ``per m3`` and ``an hour`` (of the shop's money), ``boards``, ``coats``, ``grade`` and
    ``day``.
    """

    code: str
    text: str
    at: Path
    now: Figure
    then: Figure
    unit: str


class Moved(NamedTuple):
    """By how much a change moves the price; negative is cheaper. All in the currency of the quote."""

    change: Change
    asked: Decimal  # unit price as shown, but before its price end
    unit_gross: Decimal
    total: Decimal
    cost_total: Decimal
    floor_total: Decimal


class LeftOut(NamedTuple):
    """A change that cannot be made, and why."""

    change: Change
    reason: str


class Sensitivity(NamedTuple):
    """Lines, the same added up, and moves; those that weigh most first."""

    parts: tuple[PriceShare, ...]
    lines: tuple[PriceShare, ...]
    moves: tuple[Moved, ...]
    left_out: tuple[LeftOut, ...]


class _Trial(NamedTuple):
    """A change, and what it leaves of the request, the shop or the tables; None is as before."""

    change: Change
    request: OrderRequest | None = None
    shop: Shop | None = None
    tables: Tables | None = None


def sensitivity(plan: Plan) -> Sensitivity:
    """What moves the price of a plan.

    Parameters
    ----------
    plan
        Of any order; each change leaves the rest of it as it was completed.

    Returns
    -------
    Sensitivity
        Every number is the difference of two prices.
    """
    moves: list[Moved] = []
    left_out: list[LeftOut] = []
    for trial in (*_of_order(plan), *_of_shop(plan)):
        try:
            moves.append(_moved(trial.change, plan.price, _priced(trial, plan)))
        except Refused as refused:
            left_out.append(LeftOut(trial.change, refused.faults[0].detail))
    # A day that changes nothing is no news; any other change that costs nothing is.
    told = [move for move in moves if move.change.unit != "day" or move.asked or move.total]
    told.sort(key=lambda move: -abs(move.asked))
    lines = lines_of(plan.price)
    return Sensitivity(parts_of(lines), lines, tuple(told), tuple(left_out))


def lines_of(price: Price) -> tuple[PriceShare, ...]:
    """What the goods' net price goes into, the largest first; all shares together are 1."""
    goods = price.cost_total + price.fees_total + price.margin_total
    parts = [(cost.code, cost.title, cost.amount) for cost in price.costs]
    parts += [("fees", "Fees", price.fees_total), ("margin", "Margin", price.margin_total)]
    lines = [PriceShare(code, title, amount, amount / goods) for code, title, amount in parts if amount]
    return tuple(sorted(lines, key=lambda line: -line.amount))


def parts_of(lines: tuple[PriceShare, ...]) -> tuple[PriceShare, ...]:
    """The lines added up: what is bought and fails, work of hands and machines, and the rest as it is."""
    found: dict[str, PriceShare] = {}
    for line in lines:
        code, title = _part_of(line)
        amount, share = (found[code].amount, found[code].share) if code in found else (Decimal(0), Decimal(0))
        found[code] = PriceShare(code, title, amount + line.amount, share + line.share)
    return tuple(sorted(found.values(), key=lambda line: -line.amount))


def _part_of(line: PriceShare) -> tuple[str, str]:
    if is_worked(line.code):
        return "work", "Work"
    if is_bought(line.code) or line.code == "waste":
        return "materials", "Materials"
    return line.code, "Packing" if line.code == "packing" else line.title


def _priced(trial: _Trial, plan: Plan) -> Price:
    order = plan.order
    if trial.request is not None:
        order = complete(trial.request, shop=plan.shop, tables=plan.tables, today=order.dates.issued_on)
    return Plan(order, trial.shop or plan.shop, trial.tables or plan.tables).price


def _moved(change: Change, now: Price, then: Price) -> Moved:
    return Moved(
        change=change,
        asked=then.asked - now.asked,
        unit_gross=then.unit_gross - now.unit_gross,
        total=then.total - now.total,
        cost_total=then.cost_total - now.cost_total,
        floor_total=then.floor_total - now.floor_total,
    )


# Changes of the order -------------------------------------------------------------------------------------------------


def _of_order(plan: Plan) -> Iterator[_Trial]:
    request, field, dates = request_of(plan.order), plan.order.field, plan.order.dates
    quantity = plan.order.sale.quantity
    yield _length(request, "square", "Squares one millimetre larger", ("order", "square_mm"), field.square_mm)
    yield _length(request, "thickness", "Field one millimetre thicker", ("order", "thickness_mm"), field.thickness_mm)
    if request.frame is not None:
        wide_mm = request.frame.width_mm
        change = _longer("frame-width", "Rails one millimetre wider", ("order", "frame", "width_mm"), wide_mm)
        yield _Trial(change, replace(request, frame=replace(request.frame, width_mm=wide_mm + STEP_MM)))
    yield from _finer(plan, request)
    more = Change("board", "One more board", ("order", "quantity"), quantity, quantity + 1, "boards")
    yield _Trial(more, replace(request, quantity=quantity + 1))
    if dates.wanted_by is not None:
        for code, text, days in (("day-earlier", "Wanted a day earlier", -1), ("day-later", "Wanted a day later", 1)):
            wanted_by = dates.wanted_by + timedelta(days=days)
            change = Change(code, text, ("order", "wanted_by"), dates.wanted_by, wanted_by, "day")
            yield _Trial(change, replace(request, wanted_by=wanted_by))


def _longer(code: str, text: str, at: Path, now_mm: float) -> Change:
    return Change(code, text, at, now_mm, now_mm + STEP_MM, "mm")


def _length(request: OrderRequest, code: str, text: str, at: Path, now_mm: float) -> _Trial:
    change = _longer(code, text, at, now_mm)
    changed: dict[str, Any] = {str(at[-1]): now_mm + STEP_MM}
    return _Trial(change, replace(request, **changed))


def _finer(plan: Plan, request: OrderRequest) -> Iterator[_Trial]:
    """One grade finer on the playing side, and one coat more of the same finish."""
    surface, tables = plan.order.surface, plan.tables
    grades = list(tables.abrasives)
    finer = grades[grades.index(surface.sand_top) + 1 :]
    if finer:
        change = Change(
            "grade",
            "Sanded one grade finer on top",
            ("order", "sanding", "top"),
            surface.sand_top,
            finer[0],
            "grade",
        )
        yield _Trial(change, replace(request, sanding=SandingRequest(top=finer[0], underside=surface.sand_underside)))
    coats = tables.finishes[surface.finish].coats
    change = Change("coat", "One more coat", ("finishing", "coats"), coats, coats + 1, "coats")
    yield _Trial(change, tables=_with_a_coat_more(tables, surface.finish))


@lru_cache(maxsize=16)  # tables are known by who they are, so that what rests on these is remembered too
def _with_a_coat_more(tables: Tables, key: str) -> Tables:
    finish = tables.finishes[key]
    return replace(tables, finishes={**tables.finishes, key: replace(finish, coats=finish.coats + 1)})


# Changes of the shop's figures ----------------------------------------------------------------------------------------


def _of_shop(plan: Plan) -> Iterator[_Trial]:
    shop, used = plan.shop, [timber.species for timber in plan.materials.timber]
    for key in used:
        lumber = shop.lumber[key]
        dearer = replace(lumber, price_m3=lumber.price_m3 * DEARER)
        text = f"{plan.tables.species[key].name} ten per cent dearer"
        change = Change(
            f"lumber-{key}", text, ("shop", "lumber", key, "price_m3"), lumber.price_m3, dearer.price_m3, "per m3"
        )
        yield _Trial(change, shop=replace(shop, lumber={**shop.lumber, key: dearer}))
    yield from _yield(plan, used)
    rate_h = shop.labour.rate_h
    change = Change(
        "labour", "An hour of work dearer by one", ("shop", "labour", "rate_h"), rate_h, rate_h + 1, "an hour"
    )
    yield _Trial(change, shop=replace(shop, labour=replace(shop.labour, rate_h=rate_h + 1)))
    for code, name, text in (
        ("waste", "waste_pct", "Waste a percentage point up"),
        ("overhead", "overhead_pct", "Overhead a percentage point up"),
    ):
        now: Decimal = getattr(shop.price, name)
        changed: dict[str, Any] = {name: now + PERCENT}
        change = Change(code, text, ("shop", "price", name), now, now + PERCENT, "pct")
        yield _Trial(change, shop=replace(shop, price=replace(shop.price, **changed)))


def _yield(plan: Plan, used: list[str]) -> Iterator[_Trial]:
    """Less of all bought lumber usable: told of the timber that gives least, changed for all."""
    shop = plan.shop
    worst_pct = min(shop.lumber[key].yield_pct for key in used)
    change = Change(
        "yield",
        "Yield of lumber five percentage points down",
        ("shop", "lumber", "yield_pct"),
        worst_pct,
        worst_pct - YIELD_PCT,
        "pct",
    )
    if worst_pct > YIELD_PCT:
        poorer = {key: replace(shop.lumber[key], yield_pct=shop.lumber[key].yield_pct - YIELD_PCT) for key in used}
        yield _Trial(change, shop=replace(shop, lumber={**shop.lumber, **poorer}))
