"""A plan as a careful hand makes it: the longest pieces first, board after board. Where the search begins."""

from collections.abc import Iterator, Sequence

from chequerwork.domain.stock.benches import Band, Bench, Blank, Content, Section, Strip


def filled(bench: Bench, wanted: list[int], *, widest_first: bool) -> Content:
    """Fill one board first-fit; ``wanted`` loses the pieces that come out of it.

    Parameters
    ----------
    bench
        The board.
    wanted
        Pieces of each kind still to be cut; changed here.
    widest_first
        Whether the widest piece begins a section rather than the longest.
    """
    key = (lambda b: (-b.width_nm, -b.length_nm)) if widest_first else (lambda b: (-b.length_nm, -b.width_nm))
    blanks = sorted(bench.blanks, key=key)
    return tuple(tuple(_sections(bench, blanks, wanted, span.room_nm)) for span in bench.spans)


def _sections(bench: Bench, blanks: Sequence[Blank], wanted: list[int], left_nm: int) -> Iterator[Section]:
    while True:
        first = next((b for b in blanks if wanted[b.kind] > 0 and _length_nm(bench, b) <= left_nm), None)
        if first is None:
            return
        length_nm = _length_nm(bench, first)
        yield Section(length_nm, _bands(bench, blanks, wanted, length_nm))
        left_nm -= length_nm + bench.kerfs_nm[0]


def _length_nm(bench: Bench, blank: Blank) -> int:
    return max(blank.length_nm, bench.min_length_nm)


def _bands(bench: Bench, blanks: Sequence[Blank], wanted: list[int], length_nm: int) -> tuple[Band, ...]:
    kerf_nm, both_nm = bench.kerfs_nm[1], 2 * bench.jointing_nm
    if not bench.in_bands:
        return (tuple(_strips(bench, blanks, wanted, length_nm, bench.strips_nm)),)
    bands, left_nm = list[Band](), bench.width_nm
    while True:
        room_nm = min(left_nm, bench.band_nm) - both_nm
        band = tuple(_strips(bench, blanks, wanted, length_nm, room_nm))
        if not band:
            return tuple(bands)
        bands.append(band)
        left_nm -= sum(strip.width_nm + kerf_nm for strip in band) + both_nm


def _strips(bench: Bench, blanks: Sequence[Blank], wanted: list[int], length_nm: int, room_nm: int) -> Iterator[Strip]:
    while True:
        fits = (b for b in blanks if wanted[b.kind] > 0 and b.length_nm <= length_nm and b.width_nm <= room_nm)
        first = next(fits, None)
        if first is None:
            return
        same = [b for b in blanks if b.width_nm == first.width_nm]
        yield Strip(first.width_nm, tuple(_blanks(bench, same, wanted, length_nm)))
        room_nm -= first.width_nm + bench.kerfs_nm[1]


def _blanks(bench: Bench, same: Sequence[Blank], wanted: list[int], left_nm: int) -> Iterator[Blank]:
    for blank in same:
        while wanted[blank.kind] > 0 and blank.length_nm <= left_nm:
            wanted[blank.kind] -= blank.stacked
            left_nm -= blank.length_nm + bench.kerfs_nm[2]
            yield blank


def trimmed(bench: Bench, content: Content, surplus: list[int]) -> Content:
    """A content without blanks that are too many; ``surplus`` loses what is left out."""
    spans = []
    for sections in content:
        kept = (_section_without(bench, section, surplus) for section in sections)
        spans.append(tuple(section for section in kept if section.bands))
    return tuple(spans)


def _section_without(bench: Bench, section: Section, surplus: list[int]) -> Section:
    bands = [tuple(_strips_without(band, surplus)) for band in section.bands]
    found = tuple(band for band in bands if band)
    longest_nm = max((_strip_nm(bench, strip) for band in found for strip in band), default=0)
    return Section(max(longest_nm, bench.min_length_nm), found)


def _strips_without(band: Band, surplus: list[int]) -> Iterator[Strip]:
    for strip in band:
        blanks = []
        for blank in strip.blanks:
            if surplus[blank.kind] >= blank.stacked:
                surplus[blank.kind] -= blank.stacked
            else:
                blanks.append(blank)
        if blanks:
            yield Strip(strip.width_nm, tuple(blanks))


def _strip_nm(bench: Bench, strip: Strip) -> int:
    kerf_nm = bench.kerfs_nm[2]
    return sum(blank.length_nm + kerf_nm for blank in strip.blanks) - kerf_nm
