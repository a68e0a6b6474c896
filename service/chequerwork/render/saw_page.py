"""The page beside the saw: what to take from the rack, every cut in plain words, what to put back, what it costs.

Measures are those of the cuts and of the pieces laid out; nothing is worked out here.
"""

import re
import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Final

from chequerwork.domain.lumber import volume_board_feet
from chequerwork.domain.stock.boards import (
    BOARD,
    Cut,
    Fate,
    Goal,
    Laid,
    Origin,
    Sawn,
    Status,
    StockPlan,
    Tool,
    to_mm,
)
from chequerwork.quantities import METRIC, format_length
from chequerwork.render.boards import area_words, board_words, headline, part_words
from chequerwork.render.cells import plain_line

WIDTH: Final = 100
_INDENT: Final = "  "
_MEASURES: Final = (
    "Measures run from the near end of a piece, or from its near edge; the kerf lies beyond them. Pieces keep "
    "the names given here; mark them."
)
_INCHES: Final = " Inches are written to the nearest 1/32."
_MIND: Final = (
    "Saws, jointers and thicknessers can hurt. This page says where to cut, not how to work safely: guards stay on; "
    "the machine's manual, local rules and qualified instruction come first. Measure every board before its first "
    "cut; where it is not as written here, stop and plan again."
)
# Spaces inside a measure, at which no line may end: 2 15/32 in is not 2, nor 15/32.
_MEASURE: Final = re.compile(r"(?<=\d) (?=\d|x \d|mm\b|in\b|%|m3\b)|(?<=\d x) (?=\d)")
_TIED: Final = "\u00a0"
_STATUS: Final[Mapping[Status, str]] = {
    Status.OPTIMAL: "no plan is better",
    Status.GOOD: "a better plan may exist, within that bound",
    Status.STOPPED: "the clock ended the search; a better plan may exist, within that bound",
}
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
    lines = ["Saw plan", "========"]
    for title, section in (
        ("Take from the rack", _taken(plan, units)),
        ("Buy", _bought(plan, units, exponent, coin)),
        ("Cut", _cut(plan, units)),
        ("Put back into the rack", _put_back(plan, units)),
        ("Not in this plan", _missing(plan)),
        ("In numbers", _numbers(plan, units, exponent, coin)),
        ("Mind", _wrapped("", _MIND)),
    ):
        shown = list(section)
        if shown:
            lines += ["", title, "-" * len(title), *shown]
    return "\n".join(lines) + "\n"


def _wrapped(lead: str, said: str) -> Iterator[str]:
    """A text behind its lead, further lines below its beginning."""
    first = f"{_INDENT}{lead}"
    tied = _MEASURE.sub(_TIED, plain_line(said))
    lines = textwrap.wrap(tied, WIDTH, initial_indent=first, subsequent_indent=" " * len(first))
    yield from (line.replace(_TIED, " ").rstrip() for line in lines)


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
        yield from _wrapped(f"{count:>{wide}} x ", what)


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
                counts[f"{board.species.replace('_', ' ')}, {size}: {laid.name} of {board.id}"] += sawn.layout.copies
    yield from _counted(counts)


def _missing(plan: StockPlan) -> Iterator[str]:
    for missing in plan.missing:
        yield from _wrapped(f"{missing.count} x ", f"{missing.piece.id}: {missing.why}")


def _money(amount: Decimal, exponent: int) -> str:
    return f"{amount:.{exponent}f}"


# Steps ----------------------------------------------------------------------------------------------------------------


def _cut(plan: StockPlan, units: str) -> Iterator[str]:
    if plan.layouts:
        yield from _wrapped("", _MEASURES if units == METRIC else _MEASURES + _INCHES)
    for sawn in plan.layouts:
        yield ""
        yield from _wrapped("", headline(sawn, units) + (", each" if sawn.layout.copies > 1 else ""))
        steps = _runs(sawn.layout.cuts)
        wide = len(f"{len(steps)}")
        for number, step in enumerate(steps, start=1):
            yield from _wrapped(f"{number:>{wide}}. ", _step(step, sawn, units))


def _runs(cuts: Sequence[Cut]) -> list[tuple[int, list[Cut]]]:
    """Cuts with the same setting, one after another off the same piece, as one step; each with its last cut's place."""
    runs: list[tuple[int, list[Cut]]] = []
    for place, cut in enumerate(cuts):
        if runs and _goes_on(runs[-1][1][-1], cut):
            runs[-1] = (place, [*runs[-1][1], cut])
        else:
            runs.append((place, [cut]))
    return runs


def _goes_on(last: Cut, cut: Cut) -> bool:
    if (cut.tool, cut.at_nm, cut.pieces) != (last.tool, last.at_nm, last.pieces):
        return False
    return cut.on == last.rest or cut.tool is Tool.RESAW


def _step(step: tuple[int, Sequence[Cut]], sawn: Sawn, units: str) -> str:
    place, cuts = step
    first, at = cuts[0], format_length(to_mm(cuts[0].at_nm), units)
    on = ("the sheet" if sawn.layout.board.sheet else "the board") if first.on == BOARD else first.on
    gives = _become([cut.gives for cut in cuts], place, sawn, units)
    if first.tool is Tool.JOINT:
        return f"Joint the near edge of {on} straight: {at} off."
    if first.tool is Tool.RESAW:
        return f"Resaw {_named([cut.on for cut in cuts])} into {first.pieces} of {at} each: {gives}."
    rest = cuts[-1].rest
    remains = f" Remains: {_become([rest], place, sawn, units)}." if rest else ""
    if not first.at_nm:
        return f"{_VERBS[first.tool]} {on} by a bare kerf, to make it clean.{remains}"
    times = f" {len(cuts)} times" if len(cuts) > 1 else ""
    return f"{_VERBS[first.tool]} {on}{times} at {at}: {gives}.{remains}"


def _become(names: Sequence[str], place: int, sawn: Sawn, units: str) -> str:
    """Names of pieces and what they are from now on; of those that are cut again, the names alone."""
    again = {cut.on for cut in sawn.layout.cuts[place + 1 :]}
    laid = {each.name: each for each in sawn.laid}
    ends = {_end(laid[name], units) if name in laid and name not in again else "" for name in names}
    if len(ends) > 1:
        return ", ".join(_become([name], place, sawn, units) for name in names)
    return f"{_named(names)}{next(iter(ends), '')}"


def _end(laid: Laid, units: str) -> str:
    size = area_words(laid.area, units)
    if laid.fate is Fate.PART:
        return f" = {part_words(laid)} ({size})"
    return f" ({'to keep' if laid.fate is Fate.LEFTOVER else 'offcut'}, {size})"


def _named(names: Sequence[str]) -> str:
    if len(names) > 4:
        return f"{names[0]}, {names[1]} ... {names[-1]}"
    return ", ".join(names)


# Numbers --------------------------------------------------------------------------------------------------------------


def _numbers(plan: StockPlan, units: str, exponent: int, coin: str) -> Iterator[str]:
    best = f"{plan.gap_pct:.1f} % above the bound at most: {_STATUS[plan.status]}"
    cost = f"{_money(plan.cost, exponent)}{coin}, worth of kept leftovers taken off"
    if plan.goal is Goal.COST:
        bound = f"no plan costs less than {_money(plan.bound, exponent)}{coin}"
    else:
        reached, least = _wood(float(plan.reached), units), _wood(float(plan.bound), units)
        bound = f"{reached} used, kept leftovers taken off; no plan uses less than {least}"
    used, parts, kept = (_wood(m3, units) for m3 in (plan.volume_used_m3, plan.parts_m3, plan.kept_m3))
    for label, said in (
        ("boards", f"{plan.boards_used}"),
        ("cost", cost),
        ("bound", f"{bound}; {best}"),
        ("wood", f"{used}; {parts} in the parts as sawn, {kept} kept"),
        ("yield", f"{plan.yield_pct:.1f} % of what is cut up and not kept"),
    ):
        yield from _wrapped(f"{label:<8}", said)


def _wood(volume_m3: float, units: str) -> str:
    return f"{volume_m3:.4f} m3" if units == METRIC else f"{volume_board_feet(volume_m3):.1f} board feet"
