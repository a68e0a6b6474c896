"""A plan as a careful hand makes it: the longest pieces first, board after board. Where the search begins."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Final, NamedTuple

from chequerwork.domain.stock.benches import Band, Bench, Blank, Content, CutSection, CutStrip

MOST_GROUPS: Final = 16  # widths tried beside each other: of more the widest and the narrowest


class _Row(NamedTuple):
    """Strips side by side: the width that they use with their kerfs, the face of their blanks, and the strips."""

    used_nm: int
    face_nm2: int
    strips: Band


class SortBy(StrEnum):
    """Which piece begins a section."""

    LONGEST = "longest"
    WIDEST = "widest"
    LARGEST = "largest"


_ORDERS: Final[Mapping[SortBy, Callable[[Blank], tuple[int, int]]]] = {
    SortBy.LONGEST: lambda blank: (-blank.length_nm, -blank.width_nm),
    SortBy.WIDEST: lambda blank: (-blank.width_nm, -blank.length_nm),
    SortBy.LARGEST: lambda blank: (-blank.length_nm * blank.width_nm, -blank.length_nm),
}


def filled(bench: Bench, wanted: list[int], first: SortBy) -> Content:
    """Fill one board: one piece begins a section, and the strips beside it leave least wood over.

    Parameters
    ----------
    bench
        The board.
    wanted
        Pieces of each kind still to be cut; it loses those that come out of the board.
    first
        Which piece begins a section.
    """
    blanks = sorted(bench.blanks, key=_ORDERS[first])
    return tuple(tuple(_sections(bench, blanks, wanted, span.room_nm)) for span in bench.spans)


def _sections(bench: Bench, blanks: Sequence[Blank], wanted: list[int], left_nm: int) -> Iterator[CutSection]:
    while True:
        first = next((b for b in blanks if wanted[b.kind] > 0 and _length_nm(bench, b) <= left_nm), None)
        if first is None:
            return
        length_nm = _length_nm(bench, first)
        yield CutSection(length_nm, tuple(_bands(bench, blanks, wanted, length_nm, first)))
        left_nm -= length_nm + bench.kerfs_nm[0]


def _length_nm(bench: Bench, blank: Blank) -> int:
    return max(blank.length_nm, bench.min_length_nm)


def _bands(
    bench: Bench, blanks: Sequence[Blank], wanted: list[int], length_nm: int, first: Blank | None
) -> Iterator[Band]:
    left_nm, both_nm = bench.width_nm, 2 * bench.jointing_nm
    while True:
        row = _best_row(bench, blanks, wanted, (length_nm, min(left_nm, bench.band_nm) - both_nm), first)
        if not row.strips:
            return
        for strip in row.strips:
            for blank in strip.blanks:
                wanted[blank.kind] -= blank.stacked
        yield row.strips
        if not bench.in_bands:
            return
        first = None
        left_nm -= row.used_nm + both_nm


def _best_row(
    bench: Bench, blanks: Sequence[Blank], wanted: Sequence[int], room_nm: tuple[int, int], first: Blank | None
) -> _Row:
    """The strips that fill a band best; among them one that holds ``first``."""
    length_nm, width_nm = room_nm
    same: dict[int, list[Blank]] = {}
    for blank in blanks:
        if wanted[blank.kind] > 0 and blank.length_nm <= length_nm and blank.width_nm <= width_nm:
            same.setdefault(blank.width_nm, []).append(blank)
    rows = [_Row(0, 0, ())]
    if first is not None and first.width_nm in same:
        rows = list(_wider(bench, rows, same.pop(first.width_nm), wanted, room_nm))
    groups = sorted(same.values(), key=lambda group: -group[0].width_nm)
    for group in groups if len(groups) <= MOST_GROUPS else (*groups[: MOST_GROUPS // 2], *groups[-MOST_GROUPS // 2 :]):
        rows = _undominated([*rows, *_wider(bench, rows, group, wanted, room_nm)])
    return max(rows, key=lambda row: row.face_nm2, default=_Row(0, 0, ()))


def _wider(
    bench: Bench, rows: Sequence[_Row], group: Sequence[Blank], wanted: Sequence[int], room_nm: tuple[int, int]
) -> Iterator[_Row]:
    """Each row with one, two, ... strips of one width more."""
    strips = list(_strips(bench, group, wanted, room_nm[0]))
    step_nm = group[0].width_nm + bench.kerfs_nm[1]
    for row in rows:
        used_nm, face_nm2, inside = row
        for strip in strips:
            used_nm += step_nm
            if used_nm - bench.kerfs_nm[1] > room_nm[1]:
                break
            face_nm2 += sum(blank.length_nm * blank.width_nm for blank in strip.blanks)
            inside = (*inside, strip)
            yield _Row(used_nm, face_nm2, inside)


def _undominated(rows: list[_Row]) -> list[_Row]:
    rows.sort(key=lambda row: (row.used_nm, -row.face_nm2))
    kept = rows[:1]
    for row in rows:
        if row.face_nm2 > kept[-1].face_nm2:
            kept.append(row)
    return kept


def _strips(bench: Bench, group: Sequence[Blank], wanted: Sequence[int], length_nm: int) -> Iterator[CutStrip]:
    """Strips of one width, each filled with the longest blanks still wanted."""
    need = {blank.kind: wanted[blank.kind] for blank in group}
    while True:
        blanks, left_nm = list[Blank](), length_nm
        for blank in group:
            while need[blank.kind] > 0 and blank.length_nm <= left_nm:
                need[blank.kind] -= blank.stacked
                left_nm -= blank.length_nm + bench.kerfs_nm[2]
                blanks.append(blank)
        if not blanks:
            return
        yield CutStrip(group[0].width_nm, tuple(blanks))


def trimmed(bench: Bench, content: Content, surplus: list[int]) -> Content:
    """A content without blanks that are too many; ``surplus`` loses what is left out."""
    spans = []
    for sections in content:
        kept = (_section_without(bench, section, surplus) for section in sections)
        spans.append(tuple(section for section in kept if section.bands))
    return tuple(spans)


def _section_without(bench: Bench, section: CutSection, surplus: list[int]) -> CutSection:
    bands = [tuple(_strips_without(band, surplus)) for band in section.bands]
    found = tuple(band for band in bands if band)
    longest_nm = max((_strip_nm(bench, strip) for band in found for strip in band), default=0)
    return CutSection(max(longest_nm, bench.min_length_nm), found)


def _strips_without(band: Band, surplus: list[int]) -> Iterator[CutStrip]:
    for strip in band:
        blanks = []
        for blank in strip.blanks:
            if surplus[blank.kind] >= blank.stacked:
                surplus[blank.kind] -= blank.stacked
            else:
                blanks.append(blank)
        if blanks:
            yield CutStrip(strip.width_nm, tuple(blanks))


def _strip_nm(bench: Bench, strip: CutStrip) -> int:
    kerf_nm = bench.kerfs_nm[2]
    return sum(blank.length_nm + kerf_nm for blank in strip.blanks) - kerf_nm
