"""The page beside the saw: what to take from the rack, every cut in plain words, what to put back, what it costs.

Measures are those of the cuts and of the pieces laid out; nothing is worked out here.
"""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from chequerwork.domain.making.lumber import volume_board_feet
from chequerwork.domain.stock.boards import (
    BOARD,
    Cut,
    Fate,
    Goal,
    Laid,
    Origin,
    PlanStatus,
    Sawn,
    StockPlan,
    Tool,
    to_mm,
)
from chequerwork.domain.stock.outcome import shown_bound, shown_cost
from chequerwork.quantities import METRIC, format_length
from chequerwork.render.boards import area_words, board_words, headline
from chequerwork.render.page import measured, page_of, section, title, words

_MEASURES: Final = (
    "Measures run from the near end of a piece, or from its near edge; the kerf lies beyond them. Mark "
    "each part with its id, and each piece that is cut again or kept with its name."
)
_INCHES: Final = " Inches are written to the nearest 1/32."
_MIND: Final = (
    "Saws, jointers and thicknessers can hurt. This page says where to cut, not how to work safely: guards stay on; "
    "the machine's manual, local rules and qualified instruction come first. Measure every board before its first "
    "cut; where it is not as written here, stop and plan again."
)
_STATUS: Final[Mapping[PlanStatus, str]] = {
    PlanStatus.OPTIMAL: "no plan is better",
    PlanStatus.GOOD: "a better plan may exist, above that bound",
}
# The bound is for the pieces as they are divided: what the rack can give is not bought, even where that is cheaper.
_RACK_FIRST: Final = "as long as the rack is used first,"
_VERBS: Final[Mapping[Tool, str]] = {Tool.CROSSCUT: "Crosscut", Tool.RIP: "Rip"}


def saw_page(plan: StockPlan, units: str, *, currency: str = "", exponent: int = 2) -> str:
    """A plan as a page to print.

    Parameters
    ----------
    plan
        Layouts, purchases and what is missing.
    units
        ``metric`` or ``imperial``, then to 1/32 in.
    currency
        Written behind amounts of money.
    exponent
        Decimals of the currency.

    Returns
    -------
    str
        Lines of at most ``WIDTH`` characters, each ended by a line feed.
    """
    coin = f" {currency}" if currency else ""
    lines = title("Saw plan")
    for heading, body in (
        ("Take from the rack", _taken(plan, units)),
        ("Buy", _bought(plan, units, exponent, coin)),
        ("Cut", _cut(plan, units)),
        ("Put back into the rack", _put_back(plan, units)),
        ("Not in this plan", _missing(plan)),
        ("In numbers", _numbers(plan, units, exponent, coin)),
        ("Mind", measured(_MIND)),
    ):
        lines += section(heading, body)
    return page_of(lines)


# What moves -----------------------------------------------------------------------------------------------------------


def _taken(plan: StockPlan, units: str) -> Iterator[str]:
    counts: Counter[str] = Counter()
    for sawn in plan.layouts:
        board = sawn.layout.board
        if board.origin is Origin.STOCK:
            counts[f"{board.id}: {board_words(board, units)}"] += sawn.layout.copies
    yield from _counted(counts)


def _counted(counts: Mapping[str, int]) -> Iterator[str]:
    wide = max((len(f"{count}") for count in counts.values()), default=0)
    for what, count in counts.items():
        yield from measured(what, label=f"{count:>{wide}} x ")


def _bought(plan: StockPlan, units: str, exponent: int, coin: str) -> Iterator[str]:
    yield from _counted(
        {
            f"{buy.board.id}: {board_words(buy.board, units)}, "
            f"{_money(buy.board.price, exponent)}{coin} each": buy.count
            for buy in plan.purchases
        }
    )


def _put_back(plan: StockPlan, units: str) -> Iterator[str]:
    counts: Counter[str] = Counter()
    for sawn in plan.layouts:
        board = sawn.layout.board
        thick = format_length(to_mm(board.thickness_nm), units)
        for laid in sawn.laid:
            if laid.fate is Fate.LEFTOVER:
                size = f"{area_words(laid.area, units)}, {thick} thick"
                counts[f"{words(board.species)}, {size}: {laid.name} of {board.id}"] += sawn.layout.copies
    yield from _counted(counts)


def _missing(plan: StockPlan) -> Iterator[str]:
    for missing in plan.missing:
        yield from measured(f"{missing.piece.id}: {missing.why}", label=f"{missing.count} x ")


def _money(amount: Decimal, exponent: int) -> str:
    return f"{amount:.{exponent}f}"


# Steps ----------------------------------------------------------------------------------------------------------------


def _cut(plan: StockPlan, units: str) -> Iterator[str]:
    if plan.layouts:
        yield from measured(_MEASURES if units == METRIC else _MEASURES + _INCHES)
    for sawn in plan.layouts:
        yield ""
        yield from measured(headline(sawn, units) + (", each" if sawn.layout.copies > 1 else ""))
        steps = _steps(sawn.layout.cuts)
        if not steps:
            yield from measured("Not cut; it goes into the rack as it is.")
        wide = len(f"{len(steps)}")
        for number, step in enumerate(steps, start=1):
            yield from measured(_said(step, sawn, units), label=f"{number:>{wide}}. ")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """Cuts with one setting, one after another off the same piece."""

    cuts: tuple[Cut, ...]
    again: frozenset[str]  # pieces that later steps cut
    before: str | None  # the rest of the step before
    after: str | None  # what the next step cuts


def _steps(cuts: Sequence[Cut]) -> list[_Step]:
    runs: list[list[Cut]] = []
    for cut in cuts:
        if runs and _goes_on(runs[-1][-1], cut):
            runs[-1].append(cut)
        else:
            runs.append([cut])
    steps: list[_Step] = []
    again: frozenset[str] = frozenset()
    for place in reversed(range(len(runs))):
        before = runs[place - 1][-1].rest if place else None
        after = runs[place + 1][0].on if place + 1 < len(runs) else None
        steps.append(_Step(cuts=tuple(runs[place]), again=again, before=before, after=after))
        again |= {cut.on for cut in runs[place]}
    return steps[::-1]


def _goes_on(last: Cut, cut: Cut) -> bool:
    if (cut.tool, cut.at_nm, cut.pieces) != (last.tool, last.at_nm, last.pieces):
        return False
    return cut.on == last.rest or cut.tool is Tool.RESAW


def _said(step: _Step, sawn: Sawn, units: str) -> str:
    """A step in words."""
    first, last = step.cuts[0], step.cuts[-1]
    at = format_length(to_mm(first.at_nm), units)
    gives = _become([cut.gives for cut in step.cuts], step.again, sawn, units)
    if first.tool is Tool.JOINT:
        return f"Joint the near edge of {_on(step, sawn)} straight: {at} off."
    if first.tool is Tool.RESAW:
        return f"Resaw {_named([cut.on for cut in step.cuts])} into {first.pieces} of {at} each: {gives}."
    # The rest needs no name where the next step goes on with it.
    told = last.rest is not None and (last.rest not in step.again or last.rest != step.after)
    remains = f" Remains: {_become([last.rest], step.again, sawn, units)}." if last.rest and told else ""
    if not first.at_nm:
        return f"{_VERBS[first.tool]} {_on(step, sawn)} by a bare kerf, to make it clean.{remains}"
    times = f" {len(step.cuts)} times" if len(step.cuts) > 1 else ""
    return f"{_VERBS[first.tool]} {_on(step, sawn)}{times} at {at}: {gives}.{remains}"


def _on(step: _Step, sawn: Sawn) -> str:
    on = step.cuts[0].on
    if on == BOARD:
        return "the sheet" if sawn.layout.board.sheet else "the board"
    return "the rest" if on == step.before else on


def _become(names: Sequence[str], again: frozenset[str], sawn: Sawn, units: str) -> str:
    """What pieces are from now on: parts and offcuts by number and size, those to be cut again or kept by name."""
    laid = {each.name: each for each in sawn.laid if each.name not in again}
    alike: dict[tuple[str, str], list[str]] = {}
    for name in names:
        alike.setdefault(_end(laid.get(name), units), []).append(name)
    return ", ".join(_called(end, size, those) for (end, size), those in alike.items())


def _called(end: str, size: str, names: Sequence[str]) -> str:
    if not size:
        return _named(names)
    if end == "keep":
        return f"{_named(names)} to keep ({size})"
    if end == "offcut":
        return f"{len(names)} offcuts ({size})" if len(names) > 1 else f"offcut ({size})"
    count, _, part = end.partition(" x ")
    return f"{int(count) * len(names)} x {part} ({size})"


def _end(laid: Laid | None, units: str) -> tuple[str, str]:
    """Part, keep or offcut, and the size of it; of a piece that is cut again neither."""
    if laid is None:
        return "", ""
    ends = {Fate.PART: f"{laid.stacked} x {laid.part}", Fate.LEFTOVER: "keep", Fate.OFFCUT: "offcut"}
    return ends[laid.fate], area_words(laid.area, units)


def _named(names: Sequence[str]) -> str:
    if len(names) > 4:
        return f"{names[0]}, {names[1]} ... {names[-1]}"
    return ", ".join(names)


# Numbers --------------------------------------------------------------------------------------------------------------


def _numbers(plan: StockPlan, units: str, exponent: int, coin: str) -> Iterator[str]:
    what = "cost" if plan.goal is Goal.COST else "wood"
    best = f"at most {_up(plan.gap_pct):.1f} % of the {what} could be saved: {_STATUS[plan.status]}"
    cost = f"{_money(shown_cost(plan, exponent), exponent)}{coin}, worth of kept leftovers taken off"
    if plan.goal is Goal.COST:
        bound = f"{_RACK_FIRST} no plan costs less than {_money(shown_bound(plan, exponent), exponent)}{coin}"
    else:
        reached, least = _wood(float(plan.reached), units), _wood(float(plan.bound), units)
        bound = f"{reached} used, kept leftovers taken off; {_RACK_FIRST} no plan uses less than {least}"
    used, parts, kept = (_wood(m3, units) for m3 in (plan.volume_used_m3, plan.parts_m3, plan.kept_m3))
    for label, said in (
        ("boards", f"{plan.boards_used}"),
        ("cost", cost),
        ("bound", f"{bound}; {best}"),
        ("wood", f"{used}; {parts} in the parts as sawn, {kept} kept"),
        ("yield", f"{plan.yield_pct:.1f} % of what is cut up and not kept"),
    ):
        yield from measured(said, label=f"{label:<8}")


def _up(share_pct: float) -> float:
    """To a tenth, never down: at most so much is left to save."""
    return math.ceil(share_pct * 10) / 10


def _wood(volume_m3: float, units: str) -> str:
    return f"{volume_m3:.4f} m3" if units == METRIC else f"{volume_board_feet(volume_m3):.1f} board feet"
