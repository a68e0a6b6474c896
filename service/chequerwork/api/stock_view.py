"""A stock plan as the tree that is written: its sums, layouts cut by cut, leftovers, what to buy, what is missing."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from operator import attrgetter
from typing import Any, Final, NamedTuple

from chequerwork.api.component import (
    AnswerContext,
    Component,
    Keys,
    ReadFrom,
    choice,
    flag,
    itself,
    length,
    many,
    maybe,
    money,
    number,
    one,
    optional,
    other,
    percentage,
    size,
    text,
    unrounded_money,
    whole,
)
from chequerwork.api.sections.trees import Tree, amount
from chequerwork.api.views import FINDING
from chequerwork.domain.basics.advice import Advice
from chequerwork.domain.basics.amounts import round_money
from chequerwork.domain.making.lumber import volume_board_feet
from chequerwork.domain.money.woodcost import Allowance
from chequerwork.domain.stock.boards import (
    BOARD,
    Board,
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
from chequerwork.domain.stock.outcome import BoardCost, Leftover, advice, leftovers, shown, shown_bound, shown_cost
from chequerwork.domain.stock.wanted import Wanted
from chequerwork.quantities import format_length

_VOLUME_DIGITS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class StockContext(AnswerContext):
    """How a stock plan is written."""

    currency: str
    exponent: int  # decimals of the currency
    wanted: Sequence[Wanted] = ()  # the parts of the orders, if any
    allowed: Allowance | None = None
    diagrams: Sequence[str] | None = None  # one for each layout

    def rounded(self, money: Decimal) -> Decimal:
        """At the decimals of the currency."""
        return round_money(money, self.exponent)


def view(plan: StockPlan, to: StockContext) -> Tree:
    """The whole answer."""
    return STOCK_PLAN_ANSWER.write(plan, to)


def summary(plan: StockPlan, to: StockContext) -> Tree:
    """What the plan comes to."""
    return STOCK_PLAN.write(plan, to)


def cuts(sawn: Sawn, units: str) -> list[Tree]:
    """The cuts of a board in the order of the saw."""
    to = AnswerContext(units=units)
    return SAW_CUT.write_each(_cuts(sawn), to)


def _in_mm(path: str) -> ReadFrom:
    """A size that is kept in whole nanometres."""
    read = attrgetter(path)
    return lambda found, _: to_mm(read(found))


def _size(name: str, about: str = "", of: str | None = None) -> Keys:
    return length(name, about, _in_mm(of or f"{name}_nm"))


def _sizes(path: str) -> Keys:
    """All three of a board or a piece."""
    return tuple(key for side in ("length", "width", "thickness") for key in _size(side, of=f"{path}.{side}_nm"))


# Sums -----------------------------------------------------------------------------------------------------------------


def _reached(plan: StockPlan, to: StockContext) -> str:
    if plan.goal is Goal.COST:
        return amount(shown_cost(plan, to.exponent))
    return f"{plan.reached:.{_VOLUME_DIGITS}f}"


def _bound(plan: StockPlan, to: StockContext) -> str:
    return amount(shown_bound(plan, to.exponent)) if plan.goal is Goal.COST else _least_volume(plan)


def _pieces(plan: StockPlan, _: AnswerContext) -> int:
    return sum(
        sawn.layout.copies * laid.stacked for sawn in plan.layouts for laid in sawn.laid if laid.fate is Fate.PART
    )


def _least_volume(plan: StockPlan) -> str:
    """Never rounded up: no plan reaches less. But one that is proven the best shows its own figure."""
    if plan.bound >= plan.reached:
        return f"{plan.reached:.{_VOLUME_DIGITS}f}"
    return f"{round_money(plan.bound, _VOLUME_DIGITS, rounding=ROUND_FLOOR):f}"


_DECIMAL: Final = {"type": "string", "pattern": r"^-?\d+(\.\d{1,9})?$"}
STOCK_ALLOWANCE: Final = Component(
    "StockAllowance",
    money("cost", "Of the same wood by the shop's usual yield, as the materials section has it."),
    money("saving", "What the plan costs less; negative where it costs more."),
    percentage("saving_pct", "Of the allowed cost."),
    number("wood_m3", "Lumber that the usual yield allows, sheets apart.", decimals=6),
    number("wood_cut_m3", "Lumber that the plan cuts up, kept leftovers taken off, sheets apart.", decimals=6),
    number("wood_saving_pct", "What the plan cuts up less, of the allowed lumber.", decimals=2),
)
STOCK_PLAN: Final = Component(
    "StockPlan",
    choice(
        "status",
        [*PlanStatus, "stopped"],  # the contract's word for a search ended by a clock; none is any more
        "How far it is from the best possible, as long as the rack is used first.",
    ),
    choice("goal", Goal, "What is made small."),
    whole("boards_used", "Bought ones included."),
    whole("boards_bought", of=lambda plan, _: sum(purchase.count for purchase in plan.purchases)),
    whole("pieces", "Parts that are cut.", _pieces),
    whole("pieces_missing", of=lambda plan, _: sum(missing.count for missing in plan.missing)),
    money("cost", "Of the boards used, kept leftovers taken off.", lambda plan, to: shown_cost(plan, to.exponent)),
    text("currency", "ISO 4217.", lambda _, to: to.currency),
    other("reached", _DECIMAL, "What the goal makes small.", _reached),
    other(
        "bound",
        _DECIMAL,
        "As long as the rack is used first, no plan reaches less; in the same unit. It is for the pieces as they "
        "are divided between rack and offer: what the rack can give is not bought, even where that is cheaper.",
        _bound,
    ),
    text("bound_unit", "The currency, or m3.", lambda plan, to: to.currency if plan.goal is Goal.COST else "m3"),
    number(
        "gap_pct",
        "Share of what is reached that a better plan could save at most: (reached - bound) / reached.",
        decimals=3,
    ),
    number("volume_used_m3", "Of the boards used.", decimals=6),
    number("volume_used_board_feet", of=lambda plan, _: volume_board_feet(plan.volume_used_m3), decimals=2),
    number("parts_m3", "In the parts.", decimals=6),
    number("kept_m3", "In the kept leftovers.", decimals=6),
    number("yield_pct", "Share of the wood cut up, kept leftovers taken off, that became parts.", decimals=2),
    maybe(
        one(
            "allowance",
            STOCK_ALLOWANCE,
            "Against the shop's usual waste: of orders alone, where nothing is missing.",
            lambda _, to: to.allowed,
        )
    ),
)


# Layouts --------------------------------------------------------------------------------------------------------------


class _Step(NamedTuple):
    """A cut of a board, and what the pieces that are not cut again are called."""

    number: int
    cut: Cut
    named: Mapping[str, str]


class _Numbered(NamedTuple):
    number: int
    sawn: Sawn
    amounts: BoardCost


def _layouts(plan: StockPlan, to: StockContext) -> list[_Numbered]:
    return [_Numbered(number, sawn, shown(sawn, to.exponent)) for number, sawn in enumerate(plan.layouts, start=1)]


def _laid(fate: Fate) -> Any:
    """Pieces of one board that became this."""
    return lambda layout, _: [laid for laid in layout.sawn.laid if laid.fate is fate]


def _diagram(layout: _Numbered, to: StockContext) -> str | None:
    return None if to.diagrams is None else to.diagrams[layout.number - 1]


def _cuts(sawn: Sawn) -> list[_Step]:
    named = {laid.name: _called(laid) for laid in sawn.laid}
    named[BOARD] = "the sheet" if sawn.layout.board.sheet else "the board"
    return [_Step(number, cut, named) for number, cut in enumerate(sawn.layout.cuts, start=1)]


def _called(laid: Laid) -> str:
    """What a piece that is not cut again is, and its name."""
    if laid.fate is Fate.PART:
        return f"part {laid.part} ({laid.name})"
    return f"{'leftover' if laid.fate is Fate.LEFTOVER else 'offcut'} {laid.name}"


def _told(step: _Step, to: AnswerContext) -> str:
    """A cut in words."""
    cut, named, at = step.cut, step.named, format_length(to_mm(step.cut.at_nm), to.units)
    on = named.get(cut.on, cut.on)
    gives = named.get(cut.gives, cut.gives)
    if cut.tool is Tool.JOINT:
        return f"Joint the near edge of {on}: {at} off."
    if cut.tool is Tool.RESAW:
        return f"Resaw {on} through its thickness into {cut.pieces} of {at}: {gives}."
    verb, edge = ("Crosscut", "end") if cut.tool is Tool.CROSSCUT else ("Rip", "edge")
    rest = "nothing remains" if cut.rest is None else f"{named.get(cut.rest, cut.rest)} remains"
    if not cut.at_nm:
        return f"{verb} {on} by a bare kerf at its near {edge}, to make it clean: {rest}."
    return f"{verb} {on} at {at} from its near {edge}: {gives} comes off, {rest}."


_PLACED: Final = (
    *text("name", "As the cuts call it."),
    *_size("x", "From the board's near end.", "area.x_nm"),
    *_size("y", "From its near edge.", "area.y_nm"),
    *_size("length", "Along the board.", "area.length_nm"),
    *_size("width", "Across the board.", "area.width_nm"),
)
LAYOUT_PART: Final = Component(
    "LayoutPart", text("part", "Id of the part."), whole("stacked", "Resawn out of the thickness here."), _PLACED
)
LAYOUT_LEFTOVER: Final = Component("LayoutLeftover", _PLACED)
SAW_CUT: Final = Component(
    "SawCut",
    whole("step", of="number"),
    choice("tool", Tool, of="cut.tool"),
    text("on", "The piece that is cut; board is the whole board.", "cut.on"),
    _size(
        "at", "From the near end, or the near edge; jointing: taken off; resawing: thickness of a piece.", "cut.at_nm"
    ),
    text("gives", "Name of what is cut off.", "cut.gives"),
    maybe(text("rest", "Name of what lies beyond the kerf; null where nothing does.", "cut.rest")),
    whole("pieces", "More than 1 only when resawing.", "cut.pieces"),
    text("text", "The step in words.", _told),
)
LAYOUT: Final = Component(
    "Layout",
    whole("number"),
    text("board", "Id of the board.", "sawn.layout.board.id"),
    text("species", of="sawn.layout.board.species"),
    choice("from", Origin, "The rack, or the offer to buy from.", "sawn.layout.board.origin"),
    whole("copies", "Equal boards cut in this way.", "sawn.layout.copies"),
    _sizes("sawn.layout.board"),
    flag("sheet", of="sawn.layout.board.sheet"),
    money("price", "Of one board.", "amounts.price"),
    money("kept", "Worth of what is kept of one board.", "amounts.kept"),
    money("cost", "Of one board, what is kept taken off.", "amounts.cost"),
    many("parts", LAYOUT_PART, "Of one board, from its near end.", _laid(Fate.PART)),
    many("leftovers", LAYOUT_LEFTOVER, "Kept, of one board.", _laid(Fate.LEFTOVER)),
    many("cuts", SAW_CUT, "In the order of the saw.", lambda layout, _: _cuts(layout.sawn)),
    optional(text("diagram", "SVG, where diagrams were asked for.", _diagram)),
)


# Lists ----------------------------------------------------------------------------------------------------------------


class _KeptOf(NamedTuple):
    """A leftover, and the board that it is of."""

    number: int
    board: Board
    kept: Leftover


def _kept(plan: StockPlan, _: AnswerContext) -> list[_KeptOf]:
    return [_KeptOf(kept.layout + 1, plan.layouts[kept.layout].layout.board, kept) for kept in leftovers(plan)]


def _advice(plan: StockPlan, to: StockContext) -> Iterable[Advice]:
    return advice(plan, to.wanted)


STOCK_LEFTOVER: Final = Component(
    "StockLeftover",
    whole("layout", "Number of its layout.", "number"),
    text("board", of="board.id"),
    text("name", "As the cuts call it.", "kept.laid.name"),
    text("species", of="board.species"),
    whole("count", of="kept.count"),
    _size("length", of="kept.laid.area.length_nm"),
    _size("width", of="kept.laid.area.width_nm"),
    _size("thickness", of="board.thickness_nm"),
    unrounded_money("worth", "Of one.", "kept.worth"),
)
PURCHASE: Final = Component(
    "Purchase",
    text("id", "Of the offer.", "board.id"),
    text("species", of="board.species"),
    _sizes("board"),
    flag("sheet", of="board.sheet"),
    whole("count"),
    unrounded_money("price", "Of one board.", "board.price"),
    money("cost", "Of all.", lambda purchase, to: to.rounded(purchase.board.price) * purchase.count),
)
MISSING_PART: Final = Component(
    "MissingPart",
    text("part", of="piece.id"),
    text("species", of="piece.species"),
    whole("count"),
    _sizes("piece"),
    text("why"),
)
STOCK_PLAN_ANSWER: Final = Component(
    "StockPlanAnswer",
    one("stock_plan", STOCK_PLAN, of=itself),
    many("layouts", LAYOUT, of=_layouts),
    many("leftovers", STOCK_LEFTOVER, "All that goes back into the rack.", _kept),
    many("shopping", PURCHASE, "What to buy.", "purchases"),
    many("missing", MISSING_PART, "What neither the boards nor the offer give."),
    many("advice", FINDING, of=_advice),
)

COMPONENTS: Final = (
    STOCK_ALLOWANCE,
    STOCK_PLAN,
    LAYOUT_PART,
    LAYOUT_LEFTOVER,
    SAW_CUT,
    LAYOUT,
    STOCK_LEFTOVER,
    PURCHASE,
    MISSING_PART,
    STOCK_PLAN_ANSWER,
)


# Rows of a table ------------------------------------------------------------------------------------------------------


class _Row(NamedTuple):
    number: int
    sawn: Sawn
    laid: Laid


def _row_size(name: str, of: str) -> Keys:
    return size(name, of=_in_mm(of))


STOCK_ROW: Final = Component(
    "StockRow",  # of no JSON answer
    whole("layout", of="number"),
    text("board", of="sawn.layout.board.id"),
    text("species", of="sawn.layout.board.species"),
    text("from", of="sawn.layout.board.origin"),
    whole("copies", of="sawn.layout.copies"),
    text("name", of="laid.name"),
    text("fate", of="laid.fate"),
    text("part", of="laid.part"),
    whole("stacked", of="laid.stacked"),
    _row_size("from_end_mm", "laid.area.x_nm"),
    _row_size("from_edge_mm", "laid.area.y_nm"),
    _row_size("length_mm", "laid.area.length_nm"),
    _row_size("width_mm", "laid.area.width_nm"),
    _row_size("thickness_mm", "sawn.layout.board.thickness_nm"),
)
ROW: Final[Tree] = dict.fromkeys(key.name for key in STOCK_ROW.keys)


def rows(plan: StockPlan) -> list[Tree]:
    """One row for each piece that is cut: parts, leftovers and offcuts, layout by layout from the near end."""
    pieces = (_Row(number, sawn, laid) for number, sawn in enumerate(plan.layouts, start=1) for laid in sawn.laid)
    return STOCK_ROW.write_each(pieces, AnswerContext())
