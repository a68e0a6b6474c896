"""Boards as the solver sees them: clear spans of their length, kerfs by stage, and the blanks that may come out.

A plan cuts in three stages: a span is crosscut to sections, a section is ripped to strips (in bands that the machines
take), a strip is crosscut to blanks. A sheet may be cut the other way first; then it is looked at turned by a quarter.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import SHEET_NM, Board, Defect, Goal, Piece, Saw


class Kind(NamedTuple):
    """Pieces of one size and wood, whatever they are for. [nm]"""

    length_nm: int
    width_nm: int
    thickness_nm: int
    turns: bool
    sawn: Grain | None
    wanted: int


class Blank(NamedTuple):
    """A rectangle cut for a kind; ``stacked`` pieces come out of its thickness. [nm]"""

    kind: int
    length_nm: int
    width_nm: int
    thickness_nm: int
    stacked: int


class CutStrip(NamedTuple):
    """A strip ripped off a section, and what it is crosscut to."""

    width_nm: int
    blanks: tuple[Blank, ...]


Band = tuple[CutStrip, ...]


class CutSection(NamedTuple):
    """A length crosscut off a span, and the bands of strips ripped from it."""

    length_nm: int
    bands: tuple[Band, ...]


Content = tuple[tuple[CutSection, ...], ...]  # sections of each span of a board


class ClearSpan(NamedTuple):
    """A clear length of a board: parts lie from ``from_nm`` to ``to_nm``; a leftover may reach to ``end_nm``."""

    from_nm: int
    to_nm: int
    end_nm: int

    @property
    def room_nm(self) -> int:
        """Length for parts. [nm]"""
        return self.to_nm - self.from_nm


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """One kind of board, looked at one way. ``kerfs_nm`` are of the three stages; ``worth`` is of a kept nm2."""

    board: Board
    turned: bool
    width_nm: int
    spans: tuple[ClearSpan, ...]
    kerfs_nm: tuple[int, int, int]
    jointing_nm: int
    band_nm: int
    min_length_nm: int
    keep_nm: tuple[int, int]  # a leftover is at least this long and this wide
    worth: float
    price: float
    blanks: tuple[Blank, ...]

    @property
    def face(self) -> float:
        """Face of the board. [nm2]"""
        return float(self.board.length_nm * self.board.width_nm)

    @property
    def in_bands(self) -> bool:
        """Whether the board is too wide for the machines and is ripped to bands first."""
        return self.width_nm > self.band_nm

    @property
    def strips_nm(self) -> int:
        """Width for the strips of one band. [nm]"""
        return min(self.width_nm, self.band_nm) - 2 * self.jointing_nm

    def rest_nm(self, used_nm: int) -> int:
        """Width left of a section by strips (or bands) that use so much, every kerf counted. [nm]"""
        return self.width_nm - (0 if self.in_bands else self.jointing_nm) - used_nm

    def kept(self, length_nm: int, width_nm: int) -> float:
        """Worth of a leftover; 0 where it is too small to keep."""
        if length_nm < self.keep_nm[0] or width_nm < self.keep_nm[1]:
            return 0.0
        return self.worth * length_nm * width_nm


def cut_count(content: Content) -> int:
    """About how many cuts a content takes: one for each section, strip and blank. [cuts]"""
    sections = [section for inside in content for section in inside]
    strips = [strip for section in sections for band in section.bands for strip in band]
    return len(sections) + len(strips) + sum(len(strip.blanks) for strip in strips)


def counts_of(content: Content, kinds: int) -> tuple[int, ...]:
    """Pieces of each kind that a content gives."""
    counts = [0] * kinds
    for blank in blanks_of(content):
        counts[blank.kind] += blank.stacked
    return tuple(counts)


def blanks_of(content: Content) -> Iterator[Blank]:
    """Every blank of a content."""
    for sections in content:
        for section in sections:
            for band in section.bands:
                for strip in band:
                    yield from strip.blanks


def band_used_nm(bench: Bench, band: Band) -> int:
    """Width that the strips of a band use, one kerf each. [nm]"""
    return sum(strip.width_nm + bench.kerfs_nm[1] for strip in band)


def section_used_nm(bench: Bench, section: CutSection) -> int:
    """Width that a section's strips use from its jointed edge, or its bands from its rough one, with kerfs. [nm]"""
    used_nm = sum(band_used_nm(bench, band) for band in section.bands)
    return used_nm + 2 * bench.jointing_nm * len(section.bands) if bench.in_bands else used_nm


def worth_kept(bench: Bench, content: Content) -> float:
    """Worth of everything that a content leaves to keep."""
    kept = 0.0
    for span, sections in zip(bench.spans, content, strict=True):
        used_nm = sum(section.length_nm + bench.kerfs_nm[0] for section in sections)
        kept += bench.kept(span.end_nm - span.from_nm - used_nm, bench.width_nm)
        for section in sections:
            kept += bench.kept(section.length_nm, bench.rest_nm(section_used_nm(bench, section)))
    return kept


def benches_of(board: Board, kinds: Sequence[Kind], saw: Saw, goal: Goal) -> list[Bench]:
    """The ways to look at a board: one, or two for a sheet; none where nothing comes out of it."""
    # A sheet with defects is cut out of its clear lengths: those lie one way only.
    turns = (False, True) if board.sheet and not board.defects else (False,)
    benches = (_bench(board, kinds, saw, goal, turned=turned) for turned in turns)
    return [bench for bench in benches if bench.blanks]


def price_and_share(board: Board, saw: Saw, goal: Goal) -> tuple[float, float]:
    """What a board costs towards the goal, and what share of that a leftover keeps: money, or cubic metres."""
    if goal is Goal.COST:
        return float(board.price), float(saw.keep_share)
    return board.length_nm * board.width_nm * board.thickness_nm * 1e-27, 1.0


def _bench(board: Board, kinds: Sequence[Kind], saw: Saw, goal: Goal, *, turned: bool) -> Bench:
    across, along = saw.kerf_crosscut_nm, saw.kerf_rip_nm
    length_nm, width_nm = (board.width_nm, board.length_nm) if turned else (board.length_nm, board.width_nm)
    keep = (saw.keep_length_nm, saw.keep_width_nm)
    spans = (ClearSpan(0, length_nm, length_nm),) if turned else tuple(clear_spans(board, saw))
    price, share = price_and_share(board, saw, goal)
    bench = Bench(
        board=board,
        turned=turned,
        width_nm=width_nm,
        spans=spans,
        kerfs_nm=(along, across, along) if turned else (across, along, across),
        jointing_nm=0 if board.sheet else saw.edge_jointing_nm,
        band_nm=width_nm if board.sheet else saw.band_nm,
        min_length_nm=0 if board.sheet else saw.min_length_nm,
        keep_nm=(keep[1], keep[0]) if turned else keep,
        worth=share * price / (board.length_nm * board.width_nm),
        price=price,
        blanks=(),
    )
    return _with_blanks(bench, kinds, saw)


def _with_blanks(bench: Bench, kinds: Sequence[Kind], saw: Saw) -> Bench:
    longest_nm = max((span.room_nm for span in bench.spans), default=0)
    if longest_nm < bench.min_length_nm:
        return bench
    found = [
        blank
        for number, kind in enumerate(kinds)
        for blank in _blanks(number, kind, bench, saw)
        if kind.wanted and blank.length_nm <= longest_nm and blank.width_nm <= bench.strips_nm
    ]
    return replace(bench, blanks=tuple(found))


def _blanks(number: int, kind: Kind, bench: Bench, saw: Saw) -> Iterator[Blank]:
    board = bench.board
    if not thick_enough(board, kind.thickness_nm, saw) or not suits(kind.sawn, board.sawn):
        return
    stacked = 1 if board.sheet else stack_of(board.thickness_nm, kind.thickness_nm, saw.kerf_rip_nm)
    sizes = (kind.length_nm, kind.width_nm), (kind.width_nm, kind.length_nm)
    lies = sizes[::-1] if bench.turned else sizes
    yield Blank(number, *lies[0], kind.thickness_nm, stacked)
    if kind.turns and kind.length_nm != kind.width_nm:
        yield Blank(number, *lies[1], kind.thickness_nm, stacked)


def thick_enough(board: Board, thickness_nm: int, saw: Saw) -> bool:
    """Whether a board, flattened, gives pieces of a thickness; a sheet must have it, by its nominal name."""
    if board.sheet:
        return abs(board.thickness_nm - thickness_nm) <= SHEET_NM
    return board.thickness_nm - saw.flattening_nm >= thickness_nm


def suits(wanted: Grain | None, sawn: Grain | None) -> bool:
    """Whether a board sawn so gives pieces that must be sawn so: a mixed board may be flat, not surely quarter sawn."""
    if wanted is None or sawn is None or wanted is Grain.MIXED:
        return True
    return sawn is wanted or (wanted is Grain.FLAT and sawn is Grain.MIXED)


def stack_of(board_nm: int, piece_nm: int, kerf_nm: int) -> int:
    """Pieces that a board's thickness gives when it is resawn; 1 where it is not.

    Parameters
    ----------
    board_nm, piece_nm
        Thickness of the board and of a piece. [nm]
    kerf_nm
        Of the rip blade. [nm]

    References
    ----------
    House: n t + (n - 1) kerf, as in ``lumber.pieces_per_thickness``.
    """
    return max(1, (board_nm + kerf_nm) // (piece_nm + kerf_nm))


def kinds_of(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> tuple[list[Kind], list[list[Piece]]]:
    """Pieces put together by size, and which pieces each kind stands for.

    A blank that is resawn gives pieces of one id. So pieces stay by themselves where some board gives them in twos and
    their number is odd, or in larger lots.
    """
    members: dict[tuple[int, int, int, bool, str, str], list[Piece]] = {}
    for piece in pieces:
        lots = [stack_of(b.thickness_nm, piece.thickness_nm, saw.kerf_rip_nm) for b in boards if not b.sheet]
        alone = piece.id if max(lots, default=1) > 2 or (2 in lots and piece.count % 2) else ""
        size = (piece.length_nm, piece.width_nm, piece.thickness_nm, piece.turns, piece.sawn or "", alone)
        members.setdefault(size, []).append(piece)
    same = [members[size] for size in sorted(members, key=lambda size: (-size[0], -size[1], size))]
    kinds = [
        Kind(p.length_nm, p.width_nm, p.thickness_nm, p.turns, p.sawn, sum(each.count for each in group))
        for group in same
        for p in group[:1]
    ]
    return kinds, same


def clear_spans(board: Board, saw: Saw) -> Iterator[ClearSpan]:
    """Clear lengths of a board between end trims and defects, each defect with room for the kerfs that cut it out."""
    kerf_nm, trim_nm = saw.kerf_crosscut_nm, 0 if board.sheet else saw.end_trim_nm
    at_nm = max(trim_nm, kerf_nm) if trim_nm else 0
    last_nm = board.length_nm - trim_nm
    for from_nm, to_nm in _cut_out(board.defects, kerf_nm):
        end_nm = min(from_nm, last_nm)
        if end_nm > at_nm:
            yield ClearSpan(at_nm, end_nm, end_nm)
        at_nm = max(at_nm, to_nm)
    if last_nm > at_nm:
        yield ClearSpan(at_nm, last_nm, board.length_nm)


def _cut_out(defects: Sequence[Defect], kerf_nm: int) -> list[tuple[int, int]]:
    """Spans to cut out, widened so that both kerfs lie inside, and put together where they touch."""
    found: list[tuple[int, int]] = []
    for defect in sorted(defects, key=lambda each: each.from_nm):
        from_nm, to_nm = _widened(defect.from_nm, defect.to_nm, kerf_nm)
        if found and from_nm <= found[-1][1]:
            from_nm, to_nm = _widened(found[-1][0], max(to_nm, found[-1][1]), kerf_nm)
            found.pop()
        found.append((from_nm, to_nm))
    return found


def _widened(from_nm: int, to_nm: int, kerf_nm: int) -> tuple[int, int]:
    wide_nm = to_nm - from_nm
    wanted_nm = max(wide_nm, 2 * kerf_nm)
    from_nm -= (wanted_nm - wide_nm + 1) // 2
    return from_nm, from_nm + wanted_nm
