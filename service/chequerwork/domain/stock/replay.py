"""The verifier: the cuts of a layout made once more, one after another.

It knows nothing of how a plan was found and shares no arithmetic with the finding: rectangles in whole nanometres, the
kerf of every tool taken off where it runs. What a saw bench cannot do is refused.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, localcontext
from typing import Final

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import (
    BOARD,
    NM,
    SHEET_NM,
    Area,
    Board,
    Cut,
    Fate,
    Laid,
    Layout,
    Piece,
    Saw,
    Sawn,
    Tool,
)

_DIGITS: Final = 60  # of worths: more than any area in nm2 times a price has
# Wood is crosscut, ripped, crosscut; a sheet may begin with either.
_RUNS: Final = (Tool.CROSSCUT, Tool.RIP, Tool.CROSSCUT)
_SHEET_RUNS: Final = (Tool.RIP, Tool.CROSSCUT, Tool.RIP)
# How a piece must be sawn: the boards that give it. None is to be picked at the merchant's.
_SUITS: Final[Mapping[Grain | None, tuple[Grain | None, ...]]] = {
    None: (None, *Grain),
    Grain.MIXED: (None, *Grain),
    Grain.FLAT: (None, Grain.FLAT, Grain.MIXED),
    Grain.QUARTER: (None, Grain.QUARTER),
}


class NotCuttable(ValueError):
    """A layout that no saw bench can make."""


def replay(layout: Layout, pieces: Mapping[str, Piece], saw: Saw) -> Sawn:
    """Cut one board of a layout as its cuts say; ``pieces`` are the parts wanted, by id.

    Raises
    ------
    NotCuttable
        The first thing that is wrong: which cut, part or leftover, and why, in mm.
    """
    bench = _Bench(layout.board, saw)
    for number, cut in enumerate(layout.cuts, start=1):
        try:
            bench.make(cut)
        except NotCuttable as wrong:
            raise NotCuttable(f"Cut {number}, {cut.tool.value} of {cut.on!r}: {wrong}.") from None
    laid = tuple(sorted(_fates(bench, layout, pieces), key=_place))
    bench.conserve(laid)
    return Sawn(layout=layout, laid=laid, kept=_kept(layout.board, laid, saw))


# The bench ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """A piece at the bench: where it lay in the board, and what was done to it."""

    area: Area
    runs: tuple[Tool, ...] = ()  # of crosscuts and rips so far, each run of equal cuts once
    straight_nm: int | None = None  # jointed: nothing beyond this y may become a part, where the far edge is rough
    slabs: int = 1
    slab_nm: int = 0  # thickness of each, when resawn


class _Bench:
    """One board being cut: the pieces still whole, all names ever given, and the wood that became chips."""

    def __init__(self, board: Board, saw: Saw) -> None:
        whole = Area(x_nm=0, y_nm=0, length_nm=board.length_nm, width_nm=board.width_nm)
        self.board, self.saw = board, saw
        self.held = {BOARD: _Held(area=whole, straight_nm=board.width_nm if board.sheet else None)}
        self.names = {BOARD}
        self.chips_nm2 = 0

    def make(self, cut: Cut) -> None:
        """One cut."""
        if cut.pieces != 1 and cut.tool is not Tool.RESAW:
            raise NotCuttable(f"it gives one piece, not {cut.pieces}")
        held = self.take(cut.on)
        if held.slabs > 1:
            raise NotCuttable("the piece was resawn; it is not cut again")
        if cut.tool is Tool.JOINT:
            self._joint(cut, held)
        elif cut.tool is Tool.RESAW:
            self._resaw(cut, held)
        else:
            self._part_off(cut, held)

    def take(self, name: str) -> _Held:
        """The piece of this name, which is then no longer there."""
        if name not in self.names:
            raise NotCuttable(f"no cut gave a piece {name!r}")
        if name not in self.held:
            raise NotCuttable(f"the piece {name!r} was used already, or nothing was left of it")
        return self.held.pop(name)

    def conserve(self, laid: Sequence[Laid]) -> None:
        """Parts, leftovers, offcuts and chips are the board: no wood lost, none made."""
        found_nm2 = sum(_face_nm2(each.area) for each in laid) + self.chips_nm2
        if found_nm2 != self.board.length_nm * self.board.width_nm:
            raise NotCuttable(f"The cuts of {self.board.id!r} lose or make wood.")

    def _lay(self, name: str, held: _Held) -> None:
        if name in self.names:
            raise NotCuttable(f"the name {name!r} is given twice")
        self.names.add(name)
        self._put(name, held)

    def _put(self, name: str, held: _Held) -> None:
        if _face_nm2(held.area):
            self.held[name] = held

    def _part_off(self, cut: Cut, held: _Held) -> None:
        across = cut.tool is Tool.CROSSCUT
        size_nm, side_nm = held.area.length_nm, held.area.width_nm
        if not across:
            size_nm, side_nm = side_nm, size_nm
        kerf_nm = self.saw.kerf_crosscut_nm if across else self.saw.kerf_rip_nm
        runs = _runs(held.runs, cut.tool, sheet=self.board.sheet)
        _within(cut.at_nm, size_nm)
        rest_nm = size_nm - cut.at_nm - kerf_nm
        _check_rest(cut, rest_nm)
        self.chips_nm2 += min(kerf_nm, size_nm - cut.at_nm) * side_nm
        self._lay(cut.gives, replace(held, area=_slice(held.area, 0, cut.at_nm, across=across), runs=runs))
        if cut.rest is not None:
            rest = _slice(held.area, cut.at_nm + kerf_nm, rest_nm, across=across)
            self._lay(cut.rest, replace(held, area=rest, runs=runs))

    def _joint(self, cut: Cut, held: _Held) -> None:
        area, edge_nm = held.area, self.saw.edge_jointing_nm
        if cut.gives != cut.on or cut.rest is not None:
            raise NotCuttable("a jointed piece keeps its name, and there is no rest")
        if held.straight_nm is not None:
            raise NotCuttable("a sheet is not jointed" if self.board.sheet else "the piece was jointed already")
        _check_fed(area, self.saw)
        _within(cut.at_nm, area.width_nm)
        if cut.at_nm < edge_nm:
            raise NotCuttable(f"it takes {_mm(cut.at_nm)} off a rough edge; {_mm(edge_nm)} must come off")
        self.chips_nm2 += cut.at_nm * area.length_nm
        straight = _slice(area, cut.at_nm, area.width_nm - cut.at_nm, across=False)
        self._put(cut.on, replace(held, area=straight, straight_nm=area.y_nm + area.width_nm - edge_nm))

    def _resaw(self, cut: Cut, held: _Held) -> None:
        if self.board.sheet:
            raise NotCuttable("a sheet is not resawn")
        if cut.rest is not None or cut.pieces < 2:
            raise NotCuttable(f"resawing gives two pieces or more and no rest, not {cut.pieces}")
        _within(cut.at_nm, self.board.thickness_nm)
        needed_nm = cut.pieces * cut.at_nm + (cut.pieces - 1) * self.saw.kerf_rip_nm
        if needed_nm > self.board.thickness_nm:
            given = f"the thickness of {_mm(self.board.thickness_nm)} does not give {cut.pieces} of {_mm(cut.at_nm)}"
            raise NotCuttable(f"{given}; with the kerfs that takes {_mm(needed_nm)}")
        resawn = replace(held, slabs=cut.pieces, slab_nm=cut.at_nm)
        if cut.gives == cut.on:
            self._put(cut.on, resawn)
        else:
            self._lay(cut.gives, resawn)


def _slice(area: Area, from_nm: int, size_nm: int, *, across: bool) -> Area:
    if across:
        return replace(area, x_nm=area.x_nm + from_nm, length_nm=size_nm)
    return replace(area, y_nm=area.y_nm + from_nm, width_nm=size_nm)


def _runs(done: tuple[Tool, ...], tool: Tool, *, sheet: bool) -> tuple[Tool, ...]:
    """The runs after one cut more; never more than three, of wood crosscuts first and last."""
    runs = done if done[-1:] == (tool,) else (*done, tool)
    ways = (_RUNS, _RUNS[1:], _SHEET_RUNS) if sheet else (_RUNS, _RUNS[1:])
    if not any(runs == way[: len(runs)] for way in ways):
        before = " and ".join(run.value for run in done)
        raise NotCuttable(f"a {tool.value} does not follow {before}: that is more than three stages")
    return runs


def _within(at_nm: int, size_nm: int) -> None:
    if at_nm < 0:
        raise NotCuttable(f"it lies at {_mm(at_nm)}, before the piece begins")
    if at_nm > size_nm:
        raise NotCuttable(f"it lies at {_mm(at_nm)}, beyond the end of the piece at {_mm(size_nm)}")


def _check_rest(cut: Cut, rest_nm: int) -> None:
    if cut.rest is None and rest_nm > 0:
        raise NotCuttable(f"{_mm(rest_nm)} remain beyond the kerf, but no rest is named")
    if cut.rest is not None and rest_nm <= 0:
        raise NotCuttable(f"a rest {cut.rest!r} is named, but nothing remains beyond the kerf")


def _check_fed(area: Area, saw: Saw) -> None:
    """What goes over the jointer goes through the thicknesser too."""
    for machine, most_nm in (("jointer", saw.jointer_width_nm), ("thicknesser", saw.thicknesser_width_nm)):
        if area.width_nm > most_nm:
            raise NotCuttable(f"the piece is {_mm(area.width_nm)} wide; the {machine} takes {_mm(most_nm)}")
    if area.length_nm < saw.min_length_nm:
        short = f"the piece is {_mm(area.length_nm)} long"
        raise NotCuttable(f"{short}; nothing shorter than {_mm(saw.min_length_nm)} may be fed")


# What became of the pieces --------------------------------------------------------------------------------------------


def _fates(bench: _Bench, layout: Layout, pieces: Mapping[str, Piece]) -> list[Laid]:
    laid = [_part_laid(bench, name, part, pieces) for name, part in layout.parts]
    laid += [_leftover_laid(bench, name) for name in layout.leftovers]
    return laid + [Laid(name=name, fate=Fate.OFFCUT, area=held.area) for name, held in bench.held.items()]


def _part_laid(bench: _Bench, name: str, part: str, pieces: Mapping[str, Piece]) -> Laid:
    try:
        piece, held = _wanted(part, pieces), bench.take(name)
        _check_wood(bench.board, piece, bench.saw, held)
        _check_size(held.area, piece)
        _check_clear(held.area, bench.board)
        if not bench.board.sheet:
            _check_ends(held.area, bench.board, bench.saw)
            _check_edges(held)
    except NotCuttable as wrong:
        raise NotCuttable(f"Part {part!r} of {name!r}: {wrong}.") from None
    return Laid(name=name, fate=Fate.PART, area=held.area, part=part, stacked=held.slabs)


def _wanted(part: str, pieces: Mapping[str, Piece]) -> Piece:
    if part not in pieces:
        raise NotCuttable("no such part is wanted")
    return pieces[part]


def _check_wood(board: Board, piece: Piece, saw: Saw, held: _Held) -> None:
    if piece.species != board.species:
        raise NotCuttable(f"it is of {piece.species}, the board of {board.species}")
    if board.sawn not in _SUITS[piece.sawn]:
        raise NotCuttable(f"it must be {piece.sawn} sawn, the board is {board.sawn}")
    gives_nm = board.thickness_nm - saw.flattening_nm
    if board.sheet:
        if abs(board.thickness_nm - piece.thickness_nm) > SHEET_NM:
            raise NotCuttable(f"it is {_mm(piece.thickness_nm)} thick, the sheet {_mm(board.thickness_nm)}")
    elif piece.thickness_nm > gives_nm:
        thick = f"it is {_mm(piece.thickness_nm)} thick"
        raise NotCuttable(f"{thick}; the board is too thin and gives {_mm(gives_nm)} when flat")
    elif held.slabs > 1 and piece.thickness_nm > held.slab_nm:
        raise NotCuttable(f"it is {_mm(piece.thickness_nm)} thick, but resawn to {_mm(held.slab_nm)}")


def _check_size(area: Area, piece: Piece) -> None:
    lies = (area.length_nm, area.width_nm)
    wanted = (piece.length_nm, piece.width_nm)
    if lies != wanted and not (piece.turns and lies == wanted[::-1]):
        raise NotCuttable(f"it is cut to {_by(*lies)}, wanted is {_by(*wanted)}")


def _check_clear(area: Area, board: Board) -> None:
    for defect in board.defects:
        if area.x_nm < defect.to_nm and area.x_nm + area.length_nm > defect.from_nm:
            raise NotCuttable(f"it lies in the defect from {_mm(defect.from_nm)} to {_mm(defect.to_nm)}")


def _check_ends(area: Area, board: Board, saw: Saw) -> None:
    if area.x_nm < saw.end_trim_nm or area.x_nm + area.length_nm > board.length_nm - saw.end_trim_nm:
        span = f"{_mm(area.x_nm)} to {_mm(area.x_nm + area.length_nm)}"
        raise NotCuttable(f"it lies from {span} and so in the end trim of {_mm(saw.end_trim_nm)}")


def _check_edges(held: _Held) -> None:
    end_nm = held.area.y_nm + held.area.width_nm
    if held.straight_nm is None:
        raise NotCuttable("it comes from a section that was not jointed")
    if end_nm > held.straight_nm:
        raise NotCuttable(f"it reaches {_mm(end_nm - held.straight_nm)} into the rough far edge")


def _leftover_laid(bench: _Bench, name: str) -> Laid:
    try:
        held = bench.take(name)
        _check_clear(held.area, bench.board)
        _check_worth_keeping(held, bench)
    except NotCuttable as wrong:
        raise NotCuttable(f"Leftover {name!r}: {wrong}.") from None
    return Laid(name=name, fate=Fate.LEFTOVER, area=held.area)


def _check_worth_keeping(held: _Held, bench: _Bench) -> None:
    sizes = (held.area.length_nm, held.area.width_nm)
    least = (bench.saw.keep_length_nm, bench.saw.keep_width_nm)
    ways = (sizes, sizes[::-1]) if bench.board.sheet else (sizes,)
    if held.slabs > 1:
        raise NotCuttable("it was resawn")
    if not any(length >= least[0] and width >= least[1] for length, width in ways):
        raise NotCuttable(f"it is {_by(*sizes)}; smaller than {_by(*least)} is not kept")


def _kept(board: Board, laid: Sequence[Laid], saw: Saw) -> Decimal:
    """Worth of the leftovers of one board."""
    kept_nm2 = sum(_face_nm2(each.area) for each in laid if each.fate is Fate.LEFTOVER)
    with localcontext(prec=_DIGITS):
        return saw.keep_share * board.price * kept_nm2 / (board.length_nm * board.width_nm)


def _place(laid: Laid) -> tuple[int, int, str]:
    return laid.area.x_nm, laid.area.y_nm, laid.name


def _face_nm2(area: Area) -> int:
    return area.length_nm * area.width_nm


def _mm(size_nm: int) -> str:
    """A size in mm, to the last nanometre: one too many is what most refusals are about."""
    whole, part = divmod(abs(size_nm), NM)
    return f"{'-' if size_nm < 0 else ''}{whole}" + f".{part:06d}".rstrip("0").rstrip(".") + " mm"


def _by(length_nm: int, width_nm: int) -> str:
    return f"{_mm(length_nm)} x {_mm(width_nm)}"
