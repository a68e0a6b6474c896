"""A stock plan as the tree that is written: its sums, layouts cut by cut, leftovers, what to buy, what is missing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from typing import Final

from chequerwork.api.answer_fields import kind, many, maybe_one, maybe_text, money, num, one, ref, text, whole
from chequerwork.api.sections.trees import Fields, Tree, amount, tell
from chequerwork.domain.basics.amounts import round_money
from chequerwork.domain.making.lumber import volume_board_feet
from chequerwork.domain.money.woodcost import Allowance
from chequerwork.domain.stock.boards import (
    BOARD,
    Cut,
    Fate,
    Goal,
    Laid,
    Layout,
    Missing,
    Origin,
    PlanStatus,
    Purchase,
    Sawn,
    StockPlan,
    Tool,
    to_mm,
)
from chequerwork.domain.stock.findings import Leftover, advice, leftovers, shown, shown_bound, shown_cost
from chequerwork.domain.stock.wanted import Wanted
from chequerwork.quantities import format_length

_DECIMAL: Final = r"^-?\d+(\.\d{1,9})?$"
_PLACED: Final[Fields] = {
    "name": text("As the cuts call it."),
    "x_mm": num("From the board's near end."),
    "x_text": text(),
    "y_mm": num("From its near edge."),
    "y_text": text(),
    "length_mm": num("Along the board."),
    "length_text": text(),
    "width_mm": num("Across the board."),
    "width_text": text(),
}
_SIZES: Final[Fields] = {
    "length_mm": num(),
    "length_text": text(),
    "width_mm": num(),
    "width_text": text(),
    "thickness_mm": num(),
    "thickness_text": text(),
}

SHAPES: Final[Mapping[str, Fields]] = {
    "StockAllowance": {
        "cost": money("Of the same wood by the shop's usual yield, as the materials section has it."),
        "saving": money("What the plan costs less; negative where it costs more."),
        "saving_pct": num("Of the allowed cost."),
        "wood_m3": num("Lumber that the usual yield allows, sheets apart."),
        "wood_cut_m3": num("Lumber that the plan cuts up, kept leftovers taken off, sheets apart."),
        "wood_saving_pct": num("What the plan cuts up less, of the allowed lumber."),
    },
    "StockPlan": {
        "status": kind(
            "string",
            "How far it is from the best possible, as long as the rack is used first.",
            enum=[*PlanStatus, "stopped"],  # the contract's word for a search ended by a clock; none is any more
        ),
        "goal": kind("string", "What is made small.", enum=list(Goal)),
        "boards_used": whole("Bought ones included."),
        "boards_bought": whole(),
        "pieces": whole("Parts that are cut."),
        "pieces_missing": whole(),
        "cost": money("Of the boards used, kept leftovers taken off."),
        "currency": text("ISO 4217."),
        "reached": kind("string", "What the goal makes small.", pattern=_DECIMAL),
        "bound": kind(
            "string",
            "As long as the rack is used first, no plan reaches less; in the same unit. It is for the pieces as they "
            "are divided between rack and offer: what the rack can give is not bought, even where that is cheaper.",
            pattern=_DECIMAL,
        ),
        "bound_unit": text("The currency, or m3."),
        "gap_pct": num("Share of what is reached that a better plan could save at most: (reached - bound) / reached."),
        "volume_used_m3": num("Of the boards used."),
        "volume_used_board_feet": num(),
        "parts_m3": num("In the parts."),
        "kept_m3": num("In the kept leftovers."),
        "yield_pct": num("Share of the wood cut up, kept leftovers taken off, that became parts."),
        "allowance": maybe_one(
            "StockAllowance", "Against the shop's usual waste: of orders alone, where nothing is missing."
        ),
    },
    "LayoutPart": {"part": text("Id of the part."), "stacked": whole("Resawn out of the thickness here."), **_PLACED},
    "LayoutLeftover": _PLACED,
    "SawCut": {
        "step": whole(),
        "tool": kind("string", "", enum=list(Tool)),
        "on": text("The piece that is cut; board is the whole board."),
        "at_mm": num("From the near end, or the near edge; jointing: taken off; resawing: thickness of a piece."),
        "at_text": text(),
        "gives": text("Name of what is cut off."),
        "rest": maybe_text("Name of what lies beyond the kerf; null where nothing does."),
        "pieces": whole("More than 1 only when resawing."),
        "text": text("The step in words."),
    },
    "Layout": {
        "number": whole(),
        "board": text("Id of the board."),
        "species": text(),
        "from": kind("string", "The rack, or the offer to buy from.", enum=list(Origin)),
        "copies": whole("Equal boards cut in this way."),
        **_SIZES,
        "sheet": kind("boolean", ""),
        "price": money("Of one board."),
        "kept": money("Worth of what is kept of one board."),
        "cost": money("Of one board, what is kept taken off."),
        "parts": many("LayoutPart", "Of one board, from its near end."),
        "leftovers": many("LayoutLeftover", "Kept, of one board."),
        "cuts": many("SawCut", "In the order of the saw."),
        "diagram": ref({"type": "string"}, "SVG, where diagrams were asked for.", required=False),
    },
    "StockLeftover": {
        "layout": whole("Number of its layout."),
        "board": text(),
        "name": text("As the cuts call it."),
        "species": text(),
        "count": whole(),
        **_SIZES,
        "worth": money("Of one."),
    },
    "Purchase": {
        "id": text("Of the offer."),
        "species": text(),
        **_SIZES,
        "sheet": kind("boolean", ""),
        "count": whole(),
        "price": money("Of one board."),
        "cost": money("Of all."),
    },
    "MissingPart": {
        "part": text(),
        "species": text(),
        "count": whole(),
        **_SIZES,
        "why": text(),
    },
    "StockPlanAnswer": {
        "stock_plan": one("StockPlan"),
        "layouts": many("Layout"),
        "leftovers": many("StockLeftover", "All that goes back into the rack."),
        "shopping": many("Purchase", "What to buy."),
        "missing": many("MissingPart", "What neither the boards nor the offer give."),
        "advice": many("Finding"),
    },
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a plan is to be told."""

    currency: str
    exponent: int  # decimals of the currency
    units: str
    diagrams: Sequence[str] | None = None  # one for each layout


def view(plan: StockPlan, wanted: Sequence[Wanted], allowed: Allowance | None, asked: Asked) -> Tree:
    """The whole answer; ``wanted`` are the parts of the orders, if any."""
    return {
        "stock_plan": summary(plan, allowed, asked),
        "layouts": [_layout(index, sawn, asked) for index, sawn in enumerate(plan.layouts)],
        "leftovers": [_kept(kept, plan.layouts[kept.layout].layout, asked) for kept in leftovers(plan)],
        "shopping": [_purchase(purchase, asked) for purchase in plan.purchases],
        "missing": [_missing(missing, asked) for missing in plan.missing],
        "advice": [
            {
                "code": found.code,
                "severity": found.severity,
                "at": "/" + "/".join(map(str, found.at)),
                "text": tell(found.text, found.lengths_mm, asked.units),
                "source": found.source,
            }
            for found in advice(plan, wanted)
        ],
    }


def summary(plan: StockPlan, allowed: Allowance | None, asked: Asked) -> Tree:
    """What the plan comes to."""
    by_cost, cost = plan.goal is Goal.COST, shown_cost(plan, asked.exponent)
    return {
        "status": plan.status,
        "goal": plan.goal,
        "boards_used": plan.boards_used,
        "boards_bought": sum(purchase.count for purchase in plan.purchases),
        "pieces": sum(_pieces(sawn) for sawn in plan.layouts),
        "pieces_missing": sum(missing.count for missing in plan.missing),
        "cost": amount(cost),
        "currency": asked.currency,
        "reached": amount(cost) if by_cost else f"{plan.reached:.{_VOLUME_DIGITS}f}",
        "bound": amount(shown_bound(plan, asked.exponent)) if by_cost else _least_volume(plan),
        "bound_unit": asked.currency if by_cost else "m3",
        "gap_pct": round(plan.gap_pct, 3),
        "volume_used_m3": round(plan.volume_used_m3, 6),
        "volume_used_board_feet": round(volume_board_feet(plan.volume_used_m3), 2),
        "parts_m3": round(plan.parts_m3, 6),
        "kept_m3": round(plan.kept_m3, 6),
        "yield_pct": round(plan.yield_pct, 2),
        "allowance": None
        if allowed is None
        else {
            "cost": amount(allowed.cost),
            "saving": amount(allowed.saving),
            "saving_pct": float(allowed.saving_pct),
            "wood_m3": round(allowed.wood_m3, 6),
            "wood_cut_m3": round(allowed.wood_cut_m3, 6),
            "wood_saving_pct": round(allowed.wood_saving_pct, 2),
        },
    }


_VOLUME_DIGITS: Final = 6


def _least_volume(plan: StockPlan) -> str:
    """Never rounded up: no plan reaches less. But one that is proven the best shows its own figure."""
    if plan.bound >= plan.reached:
        return f"{plan.reached:.{_VOLUME_DIGITS}f}"
    return f"{round_money(plan.bound, _VOLUME_DIGITS, rounding=ROUND_FLOOR):f}"


def _money(given: Decimal, asked: Asked) -> str:
    return amount(round_money(given, asked.exponent))


def _pieces(sawn: Sawn) -> int:
    return sawn.layout.copies * sum(laid.stacked for laid in sawn.laid if laid.fate is Fate.PART)


# Layouts --------------------------------------------------------------------------------------------------------------


def _layout(index: int, sawn: Sawn, asked: Asked) -> Tree:
    layout = sawn.layout
    board = layout.board
    tree: Tree = {
        "number": index + 1,
        "board": board.id,
        "species": board.species,
        "from": board.origin,
        "copies": layout.copies,
        **_sizes(board.length_nm, board.width_nm, board.thickness_nm, asked),
        "sheet": board.sheet,
        "price": amount(shown(sawn, asked.exponent).price),
        "kept": amount(shown(sawn, asked.exponent).kept),
        "cost": amount(shown(sawn, asked.exponent).cost),
        "parts": [
            {"part": laid.part, "stacked": laid.stacked, **_placed(laid, asked)}
            for laid in sawn.laid
            if laid.fate is Fate.PART
        ],
        "leftovers": [_placed(laid, asked) for laid in sawn.laid if laid.fate is Fate.LEFTOVER],
        "cuts": cuts(sawn, asked.units),
    }
    if asked.diagrams is not None:
        tree["diagram"] = asked.diagrams[index]
    return tree


def _sizes(length_nm: int, width_nm: int, thickness_nm: int, asked: Asked) -> Tree:
    return {
        **_both("length", length_nm, asked),
        **_both("width", width_nm, asked),
        **_both("thickness", thickness_nm, asked),
    }


def _placed(laid: Laid, asked: Asked) -> Tree:
    area = laid.area
    return {
        "name": laid.name,
        **_both("x", area.x_nm, asked),
        **_both("y", area.y_nm, asked),
        **_both("length", area.length_nm, asked),
        **_both("width", area.width_nm, asked),
    }


def _both(name: str, size_nm: int, asked: Asked) -> Tree:
    """A length as a number and as people read it."""
    return {f"{name}_mm": round(to_mm(size_nm), 3), f"{name}_text": format_length(to_mm(size_nm), asked.units)}


def cuts(sawn: Sawn, units: str) -> list[Tree]:
    """The cuts of a board in the order of the saw."""
    named = {laid.name: _called(laid) for laid in sawn.laid}
    named[BOARD] = "the sheet" if sawn.layout.board.sheet else "the board"
    return [
        {
            "step": step,
            "tool": cut.tool,
            "on": cut.on,
            "at_mm": round(to_mm(cut.at_nm), 3),
            "at_text": format_length(to_mm(cut.at_nm), units),
            "gives": cut.gives,
            "rest": cut.rest,
            "pieces": cut.pieces,
            "text": _told(cut, named, format_length(to_mm(cut.at_nm), units)),
        }
        for step, cut in enumerate(sawn.layout.cuts, start=1)
    ]


def _called(laid: Laid) -> str:
    """What a piece that is not cut again is, and its name."""
    if laid.fate is Fate.PART:
        return f"part {laid.part} ({laid.name})"
    return f"{'leftover' if laid.fate is Fate.LEFTOVER else 'offcut'} {laid.name}"


def _told(cut: Cut, named: Mapping[str, str], at: str) -> str:
    """A cut in words."""
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


# Lists ----------------------------------------------------------------------------------------------------------------


def _kept(kept: Leftover, layout: Layout, asked: Asked) -> Tree:
    area = kept.laid.area
    return {
        "layout": kept.layout + 1,
        "board": layout.board.id,
        "name": kept.laid.name,
        "species": layout.board.species,
        "count": kept.count,
        **_sizes(area.length_nm, area.width_nm, layout.board.thickness_nm, asked),
        "worth": _money(kept.worth, asked),
    }


def _purchase(purchase: Purchase, asked: Asked) -> Tree:
    board = purchase.board
    return {
        "id": board.id,
        "species": board.species,
        **_sizes(board.length_nm, board.width_nm, board.thickness_nm, asked),
        "sheet": board.sheet,
        "count": purchase.count,
        "price": _money(board.price, asked),
        "cost": amount(round_money(board.price, asked.exponent) * purchase.count),
    }


def _missing(missing: Missing, asked: Asked) -> Tree:
    piece = missing.piece
    return {
        "part": piece.id,
        "species": piece.species,
        "count": missing.count,
        **_sizes(piece.length_nm, piece.width_nm, piece.thickness_nm, asked),
        "why": missing.why,
    }


# Rows of a table ------------------------------------------------------------------------------------------------------

ROW: Final[Tree] = dict.fromkeys(
    (
        "layout", "board", "species", "from", "copies", "name", "fate", "part", "stacked",
        "from_end_mm", "from_edge_mm", "length_mm", "width_mm", "thickness_mm",
    )
)  # fmt: skip


def rows(plan: StockPlan) -> list[Tree]:
    """One row for each piece that is cut: parts, leftovers and offcuts, layout by layout from the near end."""
    return [
        {
            "layout": index,
            "board": sawn.layout.board.id,
            "species": sawn.layout.board.species,
            "from": sawn.layout.board.origin,
            "copies": sawn.layout.copies,
            "name": laid.name,
            "fate": laid.fate,
            "part": laid.part,
            "stacked": laid.stacked,
            "from_end_mm": round(to_mm(laid.area.x_nm), 3),
            "from_edge_mm": round(to_mm(laid.area.y_nm), 3),
            "length_mm": round(to_mm(laid.area.length_nm), 3),
            "width_mm": round(to_mm(laid.area.width_nm), 3),
            "thickness_mm": round(to_mm(sawn.layout.board.thickness_nm), 3),
        }
        for index, sawn in enumerate(plan.layouts, start=1)
        for laid in sawn.laid
    ]
