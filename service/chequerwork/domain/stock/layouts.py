"""A content as the cuts that make it, in saw order, each piece with a name of its own."""

from collections.abc import Iterator
from itertools import count, product

from chequerwork.domain.stock.benches import (
    Band,
    Bench,
    Blank,
    ClearSpan,
    Content,
    CutSection,
    CutStrip,
    band_used_nm,
    section_used_nm,
)
from chequerwork.domain.stock.boards import BOARD, Cut, Layout, Tool

Labels = Iterator[tuple[str, int]]  # id of the part and how many of it, for each blank in the order of ``blanks_of``


def lay_out(bench: Bench, content: Content, labels: Labels, *, copies: int) -> Layout:
    """The cuts of one board.

    Parameters
    ----------
    bench, content
        The board and what comes out of it.
    labels
        For every blank the id of its part and how many pieces it gives, in the order of ``blanks_of``.
    copies
        Equal boards cut so.
    """
    sawyer = _Sawyer(bench, labels)
    sawyer.cut_board(content)
    return Layout(
        board=bench.board,
        copies=copies,
        cuts=tuple(sawyer.cuts),
        parts=tuple(sawyer.parts),
        leftovers=tuple(sawyer.leftovers),
    )


def letters() -> Iterator[str]:
    """A, b, ..., z, aa, ab, ... without end, in small letters."""
    for length in count(1):
        yield from ("".join(name) for name in product("abcdefghijklmnopqrstuvwxyz", repeat=length))


class _Sawyer:
    """Writes down the cuts of one board. Where a sheet is cut the other way first, the tools change places."""

    def __init__(self, bench: Bench, labels: Labels) -> None:
        self.bench, self.labels = bench, labels
        across, along = Tool.CROSSCUT, Tool.RIP
        self.tools = (along, across, along) if bench.turned else (across, along, across)
        self.cuts: list[Cut] = []
        self.parts: list[tuple[str, str]] = []
        self.leftovers: list[str] = []
        self._waste = (f"waste {number}" for number in count(1))
        self._ends = (f"end {number}" for number in count(1))
        self._sections = (name.upper() for name in letters())

    def cut_board(self, content: Content) -> None:
        """All sections first, as they are crosscut from the near end; then each section by itself."""
        bench, kerf_nm = self.bench, self.bench.kerfs_nm[0]
        length_nm = bench.board.width_nm if bench.turned else bench.board.length_nm
        name, at_nm = BOARD, 0
        sections: list[tuple[str, CutSection]] = []
        for span, inside in zip(bench.spans, content, strict=True):
            if not inside and not bench.kept(span.end_nm - span.from_nm, bench.width_nm):
                continue
            if span.from_nm > at_nm:
                _, name = self._off(0, name, length_nm - at_nm, span.from_nm - kerf_nm - at_nm, next(self._waste))
                at_nm = span.from_nm
            for section in inside:
                piece, name = self._off(0, name, length_nm - at_nm, section.length_nm, next(self._sections))
                sections.append((piece, section))
                at_nm += section.length_nm + kerf_nm
            if bench.kept(span.end_nm - at_nm, bench.width_nm):
                at_nm, name = self._keep_end(span, at_nm, name, length_nm)
        for piece, section in sections:
            self._cut_section(piece, section)

    def _keep_end(self, span: ClearSpan, at_nm: int, name: str, length_nm: int) -> tuple[int, str]:
        """Put the end of a span back into the rack: at the far end as it is, before a defect cut off."""
        if span.end_nm == length_nm:
            self.leftovers.append(name)
            return at_nm, name
        piece, rest = self._off(0, name, length_nm - at_nm, span.end_nm - at_nm, next(self._ends))
        self.leftovers.append(piece)
        return span.end_nm + self.bench.kerfs_nm[0], rest

    def _off(self, stage: int, name: str, size_nm: int, at_nm: int, gives: str) -> tuple[str, str]:
        """Cut a piece off another; a piece of just that size is not cut. Names of the piece and of what remains."""
        if at_nm == size_nm:
            return name, ""
        remains = size_nm - at_nm > self.bench.kerfs_nm[stage]
        rest = f"{gives}+" if remains else None
        self.cuts.append(Cut(tool=self.tools[stage], on=name, at_nm=at_nm, gives=gives, rest=rest))
        return gives, rest or ""

    def _cut_section(self, name: str, section: CutSection) -> None:
        bench = self.bench
        left_nm, rest = bench.width_nm, name
        for number, band in enumerate(section.bands, start=1):
            piece, wide_nm = rest, left_nm
            if bench.in_bands:
                wide_nm = band_used_nm(bench, band) - bench.kerfs_nm[1] + 2 * bench.jointing_nm
                piece, rest = self._off(1, rest, left_nm, wide_nm, f"{name}{number}")
                left_nm -= wide_nm + bench.kerfs_nm[1]
            end = self._cut_band(piece, wide_nm, section.length_nm, band)
            if not bench.in_bands:
                rest = end
        if bench.kept(section.length_nm, bench.rest_nm(section_used_nm(bench, section))):
            self.leftovers.append(rest)

    def _cut_band(self, name: str, wide_nm: int, length_nm: int, band: Band) -> str:
        """Joint a band's near edge and rip its strips; the name of what remains."""
        bench = self.bench
        if not bench.board.sheet:
            self.cuts.append(Cut(tool=Tool.JOINT, on=name, at_nm=bench.jointing_nm, gives=name))
            wide_nm -= bench.jointing_nm
        strips, rest = [], name
        for strip, letter in zip(band, letters(), strict=False):
            piece, rest = self._off(1, rest, wide_nm, strip.width_nm, name + letter)
            wide_nm -= strip.width_nm + bench.kerfs_nm[1]
            strips.append((piece, strip))
        for piece, strip in strips:
            self._cut_strip(piece, length_nm, strip)
        return rest

    def _cut_strip(self, name: str, length_nm: int, strip: CutStrip) -> None:
        rest = name
        for number, blank in enumerate(strip.blanks, start=1):
            piece, rest = self._off(2, rest, length_nm, blank.length_nm, f"{name}.{number}")
            length_nm -= blank.length_nm + self.bench.kerfs_nm[2]
            self._finish(piece, blank)

    def _finish(self, name: str, blank: Blank) -> None:
        part, pieces = next(self.labels)
        if pieces > 1:
            gives = f"{name} resawn"
            self.cuts.append(Cut(tool=Tool.RESAW, on=name, at_nm=blank.thickness_nm, gives=gives, pieces=pieces))
            name = gives
        self.parts.append((name, part))
