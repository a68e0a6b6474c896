"""Pictures of sawn boards: to scale, in black and white, as they lie on the bench with the near end at the left.

Everything drawn stands in ``Sawn``; nothing is worked out here but where it goes on the paper.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element, SubElement

from chequerwork.domain.stock.boards import Area, Board, Fate, Laid, Origin, Sawn, to_mm
from chequerwork.quantities import format_length
from chequerwork.render.drawing import (
    LINE,
    SMALLEST,
    Box,
    box,
    clean,
    fitted,
    label,
    numbered,
    path,
    picture,
    shortened,
    stroke,
    text,
    text_px,
    wrapped,
    written,
)

_LEFT: Final = 84.0  # room for the width of a board
_ROOM: Final = 960.0  # for the longest board
_RIGHT: Final = 16.0
_PAPER: Final = _LEFT + _ROOM + _RIGHT
_MOST: Final = 2.0  # px for a mm: a small board is not blown up more
_HEAD: Final = 31.0  # title of a board
_DIMENSION: Final = 24.0
_NOTE: Final = 14.0  # a line below a board
_CALL: Final = 15.0  # a row of numbers above it
_GAP: Final = 22.0
_GRAIN: Final = 6.0  # between lines of the grain
_DOTS: Final = 5.0
_HATCH: Final = 5.0
_ASIDE: Final = 90.0  # a number may stand further right than its part
_OUTLINED: Final = 12.0  # narrower parts are outlined by their kerfs alone


@dataclass(frozen=True, slots=True, kw_only=True)
class _Call:
    """A number above the board, and the equal parts below each other that are too narrow to bear it."""

    key: int
    x: float
    row: int
    parts: tuple[Box, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sketch:
    """One board on the paper: where each piece goes, which numbers stand for which parts, and the notes below it."""

    sawn: Sawn
    units: str
    scale: float  # px for a mm
    keys: Mapping[tuple[str, str], int]  # of parts whose words do not fit: (id, size)
    calls: tuple[_Call, ...]
    notes: tuple[str, ...]

    @property
    def rows(self) -> int:
        """Rows of numbers above the board."""
        return max((call.row + 1 for call in self.calls), default=0)

    @property
    def above(self) -> float:
        """From the top of the sketch to the board. [px]"""
        return _HEAD + self.rows * _CALL

    @property
    def height(self) -> float:
        """Of the whole sketch. [px]"""
        board = to_mm(self.sawn.layout.board.width_nm) * self.scale
        return self.above + board + _DIMENSION + len(self.notes) * _NOTE + _GAP


def board_svg(sawn: Sawn, *, units: str, title: str = "") -> str:
    """One sawn board as a picture of its own; ``units`` is ``metric`` or ``imperial``."""
    return boards_svg([sawn], units=units, title=title)


def boards_svg(sawn: Sequence[Sawn], *, units: str, title: str = "") -> str:
    """The sawn boards below each other, all at one scale. SVG 1.1 that stands alone; equal input, equal bytes."""
    longest = max((max(s.layout.board.length_nm, s.layout.board.width_nm) for s in sawn), default=1)
    scale = min(_ROOM / to_mm(longest), _MOST)
    sketches = [_sketch(each, units, scale) for each in sawn]
    name = title or "; ".join(headline(each, units) for each in sawn) or "No boards"
    desc = " ".join(_described(each, units) for each in sawn)
    root = picture(width=_PAPER, height=sum(s.height for s in sketches) + _GAP, title=name, desc=desc)
    top = 0.0
    for sketch in sketches:
        _draw(SubElement(root, "g"), sketch, top)
        top += sketch.height
    _legend(root, top)
    return written(root)


# Words ----------------------------------------------------------------------------------------------------------------


def board_words(board: Board, units: str) -> str:
    """What a board is: timber, sizes, how it is sawn."""
    sawn = f", {board.sawn} sawn" if board.sawn else ""
    thick = format_length(to_mm(board.thickness_nm), units)
    size = f"{_number(board.length_nm, units)} x {_number(board.width_nm, units)} x {thick}"
    return f"{board.species.replace('_', ' ')}, {size}{sawn}"


def area_words(area: Area, units: str) -> str:
    """Length and width of a piece."""
    return f"{_number(area.length_nm, units)} x {format_length(to_mm(area.width_nm), units)}"


def part_words(laid: Laid) -> str:
    """The id of a part, and how many were resawn from the piece."""
    return f"{laid.stacked} x {laid.part}" if laid.stacked > 1 else f"{laid.part}"


def _number(size_nm: int, units: str) -> str:
    return format_length(to_mm(size_nm), units).rpartition(" ")[0]


def headline(sawn: Sawn, units: str) -> str:
    """How many boards are cut in this way, which, and what they are."""
    board, copies = sawn.layout.board, sawn.layout.copies
    bought = ", to buy" if board.origin is Origin.OFFER else ""
    what = "sheet" if board.sheet else "board"
    many = f"{copies} {what}s" if copies > 1 else what.capitalize()
    return f"{many} {board.id}: {board_words(board, units)}{bought}"


def _described(sawn: Sawn, units: str) -> str:
    """The picture in words, for those who do not see it."""
    counts: Counter[str] = Counter()
    for laid in sawn.laid:
        if laid.fate is Fate.PART:
            counts[f"{laid.part} of {area_words(laid.area, units)}"] += laid.stacked
    parts = ", ".join(f"{count} x {what}" for what, count in counts.items()) or "nothing"
    kept = ", ".join(area_words(laid.area, units) for laid in sawn.laid if laid.fate is Fate.LEFTOVER)
    keeps = f" Keeps {kept}." if kept else ""
    return f"{headline(sawn, units)}. Gives {parts}.{keeps}"


# Where things go ------------------------------------------------------------------------------------------------------


def _sketch(sawn: Sawn, units: str, scale: float) -> _Sketch:
    parts = [(laid, _box(laid.area, scale, 0)) for laid in sawn.laid if laid.fate is Fate.PART]
    narrow = [(laid, where) for laid, where in parts if fitted(*_said(laid, units), where) is None]
    keys: dict[tuple[str, str], int] = {}
    for laid, _ in narrow:
        keys.setdefault(_said(laid, units), len(keys) + 1)
    numbers = [f"{key} = {name}, {size}" for (name, size), key in keys.items()]
    outside: dict[tuple[int, float], list[Box]] = {}
    for laid, where in narrow:
        key = keys[_said(laid, units)]
        if not _bears(key, where):
            outside.setdefault((key, where.x), []).append(where)
    spans = [
        f"defect from {_number(defect.from_nm, units)} to {format_length(to_mm(defect.to_nm), units)}"
        for defect in sawn.layout.board.defects
    ]
    notes = (*wrapped(numbers, 10, _ROOM), *wrapped(spans, 10, _ROOM))
    return _Sketch(sawn=sawn, units=units, scale=scale, keys=keys, calls=_calls(outside), notes=notes)


def _said(laid: Laid, units: str) -> tuple[str, str]:
    name = part_words(laid) if laid.fate is Fate.PART else "keep"
    return name, area_words(laid.area, units)


def _box(area: Area, scale: float, top: float) -> Box:
    return Box(
        x=_LEFT + to_mm(area.x_nm) * scale,
        y=top + to_mm(area.y_nm) * scale,
        width=to_mm(area.length_nm) * scale,
        height=to_mm(area.width_nm) * scale,
    )


def _bears(key: int, where: Box) -> bool:
    """Whether a number can be read inside a part."""
    return where.width >= text_px(f"{key}", SMALLEST, bold=True) + 4 and where.height >= LINE * SMALLEST


def _calls(outside: Mapping[tuple[int, float], Sequence[Box]]) -> tuple[_Call, ...]:
    """Numbers in rows above the board, each as near to its parts as the one before it lets it."""
    ends: list[float] = []  # of the rows so far
    calls: list[_Call] = []
    for (key, left), parts in outside.items():
        half = text_px(f"{key}", 10, bold=True) / 2 + 4
        begin = left + min(8, parts[0].width / 2)
        last = min(max(parts[0].right, begin) + _ASIDE, _PAPER - half)
        row = next((at for at, end in enumerate(ends) if end + half <= last), len(ends))
        x = min(max(begin, ends[row] + half) if row < len(ends) else begin, _PAPER - half)
        ends[row : row + 1] = [x + half]
        calls.append(_Call(key=key, x=x, row=row, parts=tuple(parts)))
    return tuple(calls)


# Drawing --------------------------------------------------------------------------------------------------------------


def _draw(parent: Element, sketch: _Sketch, top: float) -> None:
    board = sketch.sawn.layout.board
    whole = Area(x_nm=0, y_nm=0, length_nm=board.length_nm, width_nm=board.width_nm)
    where = _box(whole, sketch.scale, top + sketch.above)
    title = shortened(headline(sketch.sawn, sketch.units), 13, _ROOM - 130)
    text(parent, _LEFT, top + 17, title, font=13, font_weight="bold")
    if not board.sheet:
        _grain_arrow(parent, top + 13)
    # What no piece covers became chips: the board is black, its pieces lie on it.
    box(parent, where, fill="black", stroke="black", stroke_width="1")
    for laid in sketch.sawn.laid:
        _piece(SubElement(parent, "g"), laid, sketch, where)
    _defects(parent, sketch, where)
    _dimensions(parent, where, board, sketch.units)
    _numbers(parent, sketch, where)
    for row, note in enumerate(sketch.notes):
        text(parent, _LEFT, where.bottom + _DIMENSION + (row + 0.8) * _NOTE, shortened(note, 10, _ROOM))


def _piece(parent: Element, laid: Laid, sketch: _Sketch, whole: Box) -> None:
    where, sheet = _box(laid.area, sketch.scale, whole.y), sketch.sawn.layout.board.sheet
    said = ("offcut", area_words(laid.area, sketch.units))
    if laid.fate is not Fate.OFFCUT:
        said = _said(laid, sketch.units)
    SubElement(parent, "title").text = clean(", ".join(said))
    box(parent, where, fill="white", stroke="black", stroke_width="0.4")
    if laid.fate is Fate.OFFCUT:
        _offcut(parent, where, end=not sheet and _is_end(where, whole))
        return
    if not sheet:
        _grain(parent, where, whole.y)
    (_part if laid.fate is Fate.PART else _leftover)(parent, where)
    _named(parent, said, sketch, where if laid.fate is Fate.PART else where.inset(3))


def _part(parent: Element, where: Box) -> None:
    if min(where.width, where.height) >= _OUTLINED:
        box(parent, where.inset(2), fill="none", stroke="black", stroke_width="0.8")


def _leftover(parent: Element, where: Box) -> None:
    box(parent, where.inset(3), fill="none", stroke="black", stroke_width="1.2", stroke_dasharray="7 4")


def _grain(parent: Element, where: Box, origin: float) -> None:
    path(parent, _level(where, _GRAIN, origin), stroke="#999999", stroke_width="0.4")


def _named(parent: Element, said: tuple[str, str], sketch: _Sketch, where: Box) -> None:
    how = fitted(*said, where)
    if how is None and said in sketch.keys and _bears(sketch.keys[said], where):
        how = numbered(sketch.keys[said])
    if how is not None:
        label(parent, where, how)


def _level(where: Box, apart: float, origin: float) -> list[str]:
    """Level lines inside a box, in step with those of every other piece of the board."""
    first = int((where.y - origin) / apart) + 1
    last = int((where.bottom - 1 - origin) / apart)
    rows = [origin + number * apart for number in range(first, last + 1)]
    return [stroke(where.x + 1, y, where.right - 1, y) for y in rows]


def _offcut(parent: Element, where: Box, *, end: bool) -> None:
    path(parent, _level(where, _DOTS, where.y - 2), stroke="#555555", stroke_width="0.9", stroke_dasharray="0.9 4.1")
    if end:
        crossed = [
            stroke(where.x, where.y, where.right, where.bottom),
            stroke(where.x, where.bottom, where.right, where.y),
        ]
        path(parent, crossed, stroke_width="0.8")


def _is_end(where: Box, whole: Box) -> bool:
    """Whether an offcut is an end of the board, as wide as the board."""
    at_end = where.x <= whole.x or where.right >= whole.right - 0.01
    return at_end and where.height >= whole.height - 0.01


def _defects(parent: Element, sketch: _Sketch, whole: Box) -> None:
    for defect in sketch.sawn.layout.board.defects:
        x = whole.x + to_mm(defect.from_nm) * sketch.scale
        right = whole.x + to_mm(defect.to_nm) * sketch.scale
        where = Box(x=x, y=whole.y, width=max(right - x, 1), height=whole.height)
        path(parent, _hatched(where), stroke_width="1")
        ticks = [stroke(x, whole.y - 5, x, whole.y), stroke(where.right, whole.y - 5, where.right, whole.y)]
        path(parent, [*ticks, stroke(x, whole.y - 5, where.right, whole.y - 5)], stroke_width="0.8")


def _hatched(where: Box) -> list[str]:
    """Lines that rise to the right, each cut off at the sides of the box."""
    lines: list[str] = []
    low = where.x - where.height + _HATCH
    for step in range(int((where.right - low) / _HATCH) + 1):
        foot = low + step * _HATCH  # where the line would meet the bottom
        left, right = max(foot, where.x), min(foot + where.height, where.right)
        if left < right:
            lines.append(stroke(left, where.bottom - (left - foot), right, where.bottom - (right - foot)))
    return lines


def _dimensions(parent: Element, where: Box, board: Board, units: str) -> None:
    """Length below the board, width at its left."""
    y, x = where.bottom + 14, where.x - 12
    said = format_length(to_mm(board.length_nm), units)
    half = text_px(said, 10) / 2 + 3
    middle = where.x + where.width / 2
    ticks = [stroke(end, y - 4, end, y + 4) for end in (where.x, where.right)]
    ticks += [stroke(x - 4, end, x + 4, end) for end in (where.y, where.bottom)]
    lines = [stroke(where.x, y, middle - half, y), stroke(middle + half, y, where.right, y)]
    path(parent, [*ticks, *lines, stroke(x, where.y, x, where.bottom)], stroke_width="0.6")
    text(parent, middle, y + 3.5, said, text_anchor="middle")
    width = format_length(to_mm(board.width_nm), units)
    text(parent, x - 7, where.y + where.height / 2 + 3.5, width, text_anchor="end")


def _grain_arrow(parent: Element, y: float) -> None:
    """An arrow with two heads, at the right of the headline."""
    left, right = _PAPER - _RIGHT - 60, _PAPER - _RIGHT
    heads = [stroke(left, y, left + 6, y + side) + stroke(right, y, right - 6, y + side) for side in (-3, 3)]
    path(parent, [stroke(left, y, right, y), *heads], stroke_width="1")
    text(parent, left - 6, y + 3.5, "grain", text_anchor="end")


def _numbers(parent: Element, sketch: _Sketch, whole: Box) -> None:
    """Numbers of parts too narrow for them, above the board, each with a line to a dot on each of its parts."""
    for call in sketch.calls:
        ats = [min(max(call.x, part.x + 1), part.right - 1) for part in call.parts]
        downs = [whole.y + part.y + part.height / 2 for part in call.parts]
        path(parent, [stroke(call.x, _base(call, whole) + 1, ats[-1], downs[-1])], stroke_width="0.5")
        for at, down in zip(ats, downs, strict=True):
            box(parent, Box(x=at - 1.2, y=down - 1.2, width=2.4, height=2.4), fill="black")
    for call in sketch.calls:
        wide = text_px(f"{call.key}", 10, bold=True)
        y = _base(call, whole)
        box(parent, Box(x=call.x - wide / 2, y=y - 8, width=wide, height=9), fill="white")
        text(parent, call.x, y, f"{call.key}", text_anchor="middle", font_weight="bold")


def _base(call: _Call, whole: Box) -> float:
    """Foot of a number above the board."""
    return whole.y - 5 - call.row * _CALL


def _legend(parent: Element, top: float) -> None:
    """Small samples of what is drawn, so that the picture needs no other words."""
    x = _LEFT
    for what in ("part", "keep: back into the rack", "offcut", "end of the board", "kerf and jointing", "defect"):
        where = Box(x=x, y=top, width=28, height=13)
        _sample(SubElement(parent, "g"), what, where)
        text(parent, where.right + 5, top + 10, what, font=9)
        x = where.right + 5 + text_px(what, 9) + 16


def _sample(parent: Element, what: str, where: Box) -> None:
    box(parent, where, fill="black" if what.startswith("kerf") else "white", stroke="black", stroke_width="0.4")
    if what == "part":
        _part(parent, where)
    elif what.startswith("keep"):
        _leftover(parent, where)
    elif what == "defect":
        path(parent, _hatched(where), stroke_width="1")
    elif not what.startswith("kerf"):
        _offcut(parent, where, end=what != "offcut")
