"""First fit, longest first: what a maker does by eye, to compare a stock plan with.

The longest piece goes into the first strip of its width with room, else beside the strips of the first section with
room, else behind the sections of the first board begun, else on the next board of the rack, cheapest face first.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from reference.stock.geometry import Clear, clear_lengths, gives, lies, singles

from chequerwork.domain.stock.boards import Board, Piece, Saw


@dataclass
class Section:
    """A section begun: its length, the widths left of it and of its last band, and its strips. [nm]"""

    long: int
    left: int
    band_left: int = 0
    strips: list[list[int]] = field(default_factory=list)  # width, and length left


@dataclass
class Lane:
    """A clear length, what is left of it, and the sections begun on it. [nm]"""

    clear: Clear
    left: int
    sections: list[Section] = field(default_factory=list)

    def takes(self, long: int, wide: int) -> bool:
        """Put a blank where it fits first; whether it did."""
        return any(self._in_section(each, long, wide) for each in self.sections) or self._in_new_section(long, wide)

    def _in_section(self, section: Section, long: int, wide: int) -> bool:
        for strip in section.strips:
            if strip[0] == wide and strip[1] >= long:
                strip[1] -= long + self.clear.kerfs[2]
                return True
        return long <= section.long and self._in_new_strip(section, long, wide)

    def _in_new_strip(self, section: Section, long: int, wide: int) -> bool:
        """In the last band, or in a new one, as wide as the machines take or as what is left."""
        kerf = self.clear.kerfs[1]
        if section.band_left < wide:
            band = min(self.clear.band, section.left)
            if band - 2 * self.clear.jointing < wide:
                return False
            section.left -= band + kerf
            section.band_left = band - 2 * self.clear.jointing
        section.band_left -= wide + kerf
        section.strips.append([wide, section.long - long - self.clear.kerfs[2]])
        return True

    def _in_new_section(self, long: int, wide: int) -> bool:
        section = Section(max(long, self.clear.shortest), self.clear.width)
        if section.long > self.left or not self._in_new_strip(section, long, wide):
            return False
        self.left -= section.long + self.clear.kerfs[0]
        self.sections.append(section)
        return True

    def kept(self, saw: Saw) -> int:
        """Area of the leftovers that go back into the rack. [nm2]"""
        rests = [(self.left + self.clear.reach - self.clear.room, self.clear.width)]
        for each in self.sections:
            in_bands = self.clear.width > self.clear.band
            rests.append((each.long, each.left if in_bands else each.band_left + self.clear.jointing))
        least = (saw.keep_length_nm, saw.keep_width_nm)[:: -1 if self.clear.turned else 1]
        return sum(long * wide for long, wide in rests if long >= least[0] and wide >= least[1])


@dataclass
class Begun:
    """A board, and its clear lengths; of a sheet the one way in which it is cut."""

    board: Board
    lanes: list[Lane]

    def takes(self, piece: Piece, saw: Saw) -> int:
        """Pieces that one more blank gives; 0 where there is no room."""
        stacked = gives(self.board, piece, saw)
        sizes = ((lane, size) for lane in self.lanes for size in lies(piece, turned=lane.clear.turned))
        return stacked if stacked and any(lane.takes(*size) for lane, size in sizes) else 0

    def cost(self, saw: Saw) -> Fraction:
        """Of the board, leftovers taken off."""
        face = self.board.length_nm * self.board.width_nm
        kept = Fraction(sum(lane.kept(saw) for lane in self.lanes), face)
        return Fraction(self.board.price) * (1 - Fraction(saw.keep_share) * kept)


def first_fit(pieces: Sequence[Piece], boards: Sequence[Board], saw: Saw) -> tuple[Fraction, int] | None:
    """What it costs, kept leftovers taken off, and how many boards it takes; None where it runs out of boards."""
    rack = sorted(singles(boards), key=lambda board: board.price / (board.length_nm * board.width_nm))
    begun: list[Begun] = []
    rest = _ways(rack, saw)
    for piece in sorted(pieces, key=lambda each: (-each.length_nm, -each.width_nm)):
        left = piece.count
        while left > 0:
            given = next(filter(None, (each.takes(piece, saw) for each in begun)), 0)
            given = given or _on_next(piece, begun, rest, saw)
            if not given:
                return None
            left -= given
    return sum((each.cost(saw) for each in begun), Fraction(0)), len(begun)


def _ways(rack: Sequence[Board], saw: Saw) -> list[list[Begun]]:
    """Every board uncut, a sheet in both ways."""
    lanes: list[list[Lane]] = [[] for _ in rack]
    for clear in clear_lengths(rack, saw):
        lanes[clear.board].append(Lane(clear, clear.room))
    return [
        [Begun(board, [lane]) for lane in these] if board.sheet else [Begun(board, these)]
        for board, these in zip(rack, lanes, strict=True)
    ]


def _on_next(piece: Piece, begun: list[Begun], rest: list[list[Begun]], saw: Saw) -> int:
    """Begin the first board that takes the piece."""
    for number, ways in enumerate(rest):
        for way in ways:
            if given := way.takes(piece, saw):
                begun.append(way)
                del rest[number]
                return given
    return 0
