"""Boards cut by hand, with paper and pencil: what the verifier, the pictures and the pages of stock plans start from.

Sizes are in mm here; every coordinate in a comment was worked out by hand. Kerfs: 4 mm rips, 3 mm crosscuts.
"""

import dataclasses
from decimal import Decimal
from typing import Any

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import (
    Board,
    Cut,
    Defect,
    Goal,
    Layout,
    Missing,
    Origin,
    Piece,
    PlanStatus,
    Purchase,
    Saw,
    StockPlan,
    Tool,
    to_nm,
)  # fmt: skip
from chequerwork.domain.stock.replay import replay


def in_nm(**sizes_mm: Any) -> dict[str, Any]:
    """Sizes in mm under the names that the domain has for them in nm."""
    return {f"{name}_nm": to_nm(size) for name, size in sizes_mm.items()}


SAW = Saw(
    **in_nm(
        kerf_rip=4, kerf_crosscut=3, end_trim=20, edge_jointing=3, flattening=2, jointer_width=250,
        thicknesser_width=300, min_length=300, keep_length=400, keep_width=60,
    ),
    keep_share=Decimal("0.5"),
)  # fmt: skip


def piece(key: str, length: float, width: float, thickness: float, count: int, **other: Any) -> Piece:
    """A part wanted, of walnut where nothing else is said."""
    sizes = in_nm(length=length, width=width, thickness=thickness)
    return Piece(**{"id": key, "species": "european_walnut", "count": count, **sizes, **other})


def board(key: str, length: float, width: float, thickness: float, **other: Any) -> Board:
    """A board, of walnut where nothing else is said."""
    sizes = in_nm(length=length, width=width, thickness=thickness)
    given = {"id": key, "species": "european_walnut", "count": 1, "price": Decimal(40), **sizes}
    return Board(**{**given, **other})


PIECES = {
    each.id: each
    for each in (
        piece("rail", 600, 45, 24, 8),
        piece("long", 700, 50, 24, 1, sawn=Grain.FLAT),
        piece("strip", 600, 50, 24, 2, sawn=Grain.MIXED),
        piece("panel", 900, 92, 20, 4),
        piece("bottom", 500, 400, 12, 3, species="mdf", turns=True),
        piece("slat", 450, 40, 22, 8),
    )
}


def cross(on: str, at: float, gives: str, rest: str | None = None) -> Cut:
    """A crosscut."""
    return Cut(tool=Tool.CROSSCUT, on=on, at_nm=to_nm(at), gives=gives, rest=rest)


def rip(on: str, at: float, gives: str, rest: str | None = None) -> Cut:
    """A rip."""
    return Cut(tool=Tool.RIP, on=on, at_nm=to_nm(at), gives=gives, rest=rest)


def joint(on: str, at: float = 3) -> Cut:
    """An edge jointed."""
    return Cut(tool=Tool.JOINT, on=on, at_nm=to_nm(at), gives=on)


def resaw(on: str, pieces: int, each: float) -> Cut:
    """A piece resawn; it keeps its name."""
    return Cut(tool=Tool.RESAW, on=on, at_nm=to_nm(each), gives=on, pieces=pieces)


def layout(cut: Board, cuts: tuple[Cut, ...], parts: dict[str, str], leftovers: tuple[str, ...] = ()) -> Layout:
    """A layout of one board, for as many as it lies there."""
    return Layout(board=cut, copies=1, cuts=cuts, parts=tuple(parts.items()), leftovers=leftovers)


# One section of two rails in length and two in width; the rest of the board, 774 mm, is kept: 40 x 0.5 x 774 / 2000.
PLAIN = layout(
    board("w1", 2000, 160, 27, count=3),
    (
        cross("board", 17, "end", "from-20"),
        cross("from-20", 1203, "A", "kept"),  # 20 to 1223, kept from 1226
        joint("A"),
        rip("A", 45, "A1", "A-2"),  # 3 to 48
        rip("A-2", 45, "A2", "A-3"),  # 52 to 97; 59 are left, 1 too narrow to keep
        cross("A1", 600, "A1a", "A1b"),  # 600 + 3 + 600 = 1203
        cross("A2", 600, "A2a", "A2b"),
    ),
    {"A1a": "rail", "A1b": "rail", "A2a": "rail", "A2b": "rail"},
    ("kept",),
)

# A knot from 700 to 760: both kerfs beside it lie inside the span.
KNOTTY = layout(
    board("w2", 1500, 120, 27, sawn=Grain.MIXED, defects=(Defect(**in_nm(**{"from": 700, "to": 760})),)),
    (
        cross("board", 17, "end", "from-20"),
        cross("from-20", 680, "A", "from-703"),  # 20 to 700
        cross("from-703", 54, "knot", "from-760"),
        cross("from-760", 700, "B", "far-end"),  # 760 to 1460; usable to 1480
        joint("A"),
        rip("A", 50, "A1", "A-2"),
        rip("A-2", 50, "A2", "A-3"),  # 57 to 107; usable to 117
        cross("A1", 600, "A1a", "A1b"),
        cross("A2", 600, "A2a", "A2b"),
        joint("B"),
        rip("B", 50, "B1", "B-2"),  # 63 wide are left and kept
    ),
    {"A1a": "strip", "A2a": "strip", "B1": "long"},
    ("B-2",),
)

# 400 mm are wider than the jointer: two bands of 198, each jointed by itself.
WIDE = layout(
    board("w3", 1000, 400, 27),
    (
        cross("board", 17, "end", "from-20"),
        cross("from-20", 900, "A", "far-end"),
        rip("A", 198, "A1", "A2"),  # A2 from 202
        joint("A1"),
        rip("A1", 92, "A1a", "A1-2"),  # 3 to 95
        rip("A1-2", 92, "A1b", "A1-3"),  # 99 to 191; usable to 195
        joint("A2"),
        rip("A2", 92, "A2a", "A2-2"),  # 205 to 297
        rip("A2-2", 92, "A2b", "A2-3"),  # 301 to 393; usable to 397
    ),
    {"A1a": "panel", "A1b": "panel", "A2a": "panel", "A2b": "panel"},
)

# Ripped first; the third bottom lies turned, and a second rip frees it.
SHEET = layout(
    board("s1", 1220, 1000, 12, species="mdf", sheet=True, price=Decimal(18)),
    (
        rip("board", 400, "A", "B"),  # B from 404, 596 wide
        cross("A", 500, "A1", "A-2"),
        cross("A-2", 500, "A2", "A-3"),  # 503 to 1003; 214 left
        cross("B", 400, "B1", "kept"),  # 817 x 596 kept
        rip("B1", 500, "B1a", "B1-2"),
    ),
    {"A1": "bottom", "A2": "bottom", "B1a": "bottom"},
    ("kept",),
)

# 52 mm give two of 22 and a kerf of 4: 48.
THICK = layout(
    board("b1", 1000, 100, 52, price=Decimal(30), origin=Origin.OFFER, count=5),
    (
        cross("board", 17, "end", "from-20"),
        cross("from-20", 903, "A", "far-end"),
        joint("A"),
        rip("A", 40, "A1", "A-2"),
        rip("A-2", 40, "A2", "A-3"),  # 47 to 87; usable to 97
        cross("A1", 450, "A1a", "A1b"),
        cross("A2", 450, "A2a", "A2b"),
        *(resaw(name, 2, 22) for name in ("A1a", "A1b", "A2a", "A2b")),
    ),
    dict.fromkeys(("A1a", "A1b", "A2a", "A2b"), "slat"),
)

LAYOUTS = {"plain": PLAIN, "knotty": KNOTTY, "wide": WIDE, "sheet": SHEET, "thick": THICK}


WISHES = (PIECES["rail"], dataclasses.replace(PIECES["slat"], count=9))
# Two of the plain boards and one bought: 2 x (40 - 7.74) + 30 = 94.52; 2 x 2 x 0.16 x 0.027 + 0.1 x 0.052 m3.
PLAN = StockPlan(
    goal=Goal.COST,
    status=PlanStatus.GOOD,
    layouts=(replay(dataclasses.replace(PLAIN, copies=2), PIECES, SAW), replay(THICK, PIECES, SAW)),
    purchases=(Purchase(board=THICK.board, count=1),),
    missing=(Missing(piece=WISHES[1], count=1, why="Nothing else on offer is thick enough."),),
    boards_used=3,
    cost=Decimal("94.52"),
    reached=Decimal("94.52"),
    bound=Decimal(90),
    volume_used_m3=0.02248,
    parts_m3=0.008352,  # 8 x 0.6 x 0.045 x 0.024 + 8 x 0.45 x 0.04 x 0.022
    kept_m3=0.00668736,  # 2 x 0.774 x 0.16 x 0.027
)


def changed_cut(given: Layout, number: int, **changes: Any) -> Layout:
    """A layout with one of its cuts, counted from 1, changed."""
    cuts = list(given.cuts)
    cuts[number - 1] = dataclasses.replace(cuts[number - 1], **changes)
    return dataclasses.replace(given, cuts=tuple(cuts))
