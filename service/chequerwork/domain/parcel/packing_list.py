"""The packing list for the workshop: materials with their amounts, steps in order, and photographs to take."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from chequerwork.domain.basics.facts import Flute, PackingText, Tables
from chequerwork.domain.basics.shop import Packing, Protection, Shop
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.parcel.packing import Consignment, Parcel
from chequerwork.domain.parcel.parcels import inside_mm, tape_mm, wrap_m2

PAPER_LAYERS = 2  # around each board (common practice, no source)
LABELS = 2  # one outside, one inside in case the first comes off (common practice, no source)
SAME_WALL_MM = 0.3  # a wall as near as this to a flute's caliper is of that flute (house)


class Material(NamedTuple):
    """Something that goes into one parcel. What it has no measure of is None."""

    code: str
    title: str
    pieces: int
    length_mm: float | None = None
    width_mm: float | None = None
    thickness_mm: float | None = None  # of a carton its height
    area_m2: float | None = None
    volume_m3: float | None = None
    note: str = ""


class PackingList(NamedTuple):
    """Everything the hands need to pack an order, and to prove later how it was packed."""

    materials: tuple[Material, ...]  # of a full parcel
    last_materials: tuple[Material, ...]  # of a smaller last one; none where all are equal
    steps: tuple[str, ...]
    photos: tuple[str, ...]


def specify(shop: Shop, tables: Tables, geometry: Geometry, parcel: Consignment, *, by_sea: bool) -> PackingList:
    """The packing list of an order; ``by_sea`` where the way has a long sea leg.

    References
    ----------
    CLAIMS: without proof of how boards were packed every claim was lost; hence the photographs. FLUTES: names of walls.
    """
    used = _used(parcel, by_sea=by_sea)
    texts = [text for text in tables.packing.values() if text.when in used]
    names = {text.key: text.text for text in texts if text.kind == "material"}
    return PackingList(
        materials=tuple(_materials(shop, tables, geometry, parcel.first, names)),
        last_materials=tuple(_materials(shop, tables, geometry, parcel.last, names)) if parcel.last else (),
        steps=_of(texts, "step"),
        photos=_of(texts, "photo"),
    )


def flute_of(wall_mm: float, flutes: Mapping[str, Flute]) -> Flute | None:
    """The flute of a carton's wall [mm], or None where no flute is as thick."""
    near = [flute for flute in flutes.values() if abs(flute.caliper_mm - wall_mm) <= SAME_WALL_MM]
    return min(near, key=lambda flute: abs(flute.caliper_mm - wall_mm)) if near else None


def _used(parcel: Consignment, *, by_sea: bool) -> frozenset[str]:
    """What of the packing the texts may ask for is there, if only in a smaller last parcel that is flat."""
    found = {"always", "sea"} if by_sea else {"always"}
    for _, each in parcel.kinds:
        amounts = each.amounts
        asked = {"corner": amounts.corners, "face_sheet": amounts.face_m2, "interleaf": amounts.interleaf_m2}
        found |= {name for name, there in asked.items() if there}
    return frozenset(found)


def _of(texts: list[PackingText], kind: str) -> tuple[str, ...]:
    return tuple(text.text for text in texts if text.kind == kind)


def _materials(
    shop: Shop, tables: Tables, geometry: Geometry, found: Parcel, names: Mapping[str, str]
) -> Iterator[Material]:
    """From the board outwards."""
    packing, board_mm = shop.packing, geometry.outer_mm
    wrap = wrap_m2(board_mm)
    paper_m2 = PAPER_LAYERS * found.boards * wrap
    yield Material(code="paper", title=names["material-paper"], pieces=found.boards, area_m2=paper_m2)
    if (title := names.get("material-barrier")) is not None:
        yield Material(code="barrier", title=title, pieces=found.boards, area_m2=found.boards * wrap)
    yield from _protection(packing.protection, board_mm, found, names)
    yield Material(code="cushion", title=names["material-cushion"], pieces=1, volume_m3=found.cushion_m3)
    yield _carton(packing, tables, found, names)
    yield Material(code="tape", title=names["material-tape"], pieces=1, length_mm=tape_mm(found.sides_mm))
    yield Material(code="label", title=names["material-label"], pieces=LABELS)


def _protection(
    around: Protection, board_mm: tuple[float, float, float], found: Parcel, names: Mapping[str, str]
) -> Iterator[Material]:
    """Sheets between boards, corner blocks and face sheets, as far as they are used."""
    amounts = found.amounts
    if amounts.interleaf_m2:
        title, thick_mm = names["material-interleaf"], around.interleaf_mm
        yield _sheets("interleaf", title, found.boards - 1, (board_mm[0], board_mm[1], thick_mm), amounts.interleaf_m2)
    if amounts.corners:
        size_mm = around.corner_size_mm or None
        yield Material(
            code="corner",
            title=names["material-corner"],
            pieces=amounts.corners,
            length_mm=size_mm,
            width_mm=size_mm,
            thickness_mm=around.corner_mm,
        )
    if amounts.face_m2:
        size = (found.contents_mm[0], found.contents_mm[1], around.face_mm)
        yield _sheets("face_sheet", names["material-face-sheet"], 2, size, amounts.face_m2)


def _sheets(code: str, title: str, count: int, size_mm: tuple[float, float, float], area_m2: float) -> Material:
    length_mm, width_mm, thickness_mm = size_mm
    return Material(
        code=code,
        title=title,
        pieces=count,
        length_mm=length_mm,
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        area_m2=area_m2,
    )


def _carton(packing: Packing, tables: Tables, found: Parcel, names: Mapping[str, str]) -> Material:
    flute = flute_of(packing.wall_mm, tables.flutes)
    length_mm, width_mm, height_mm = (inside_mm(side_mm, packing.wall_mm) for side_mm in found.sides_mm)
    return Material(
        code="carton",
        title=names["material-carton"],
        pieces=1,
        length_mm=length_mm,
        width_mm=width_mm,
        thickness_mm=height_mm,
        area_m2=found.carton_m2,
        note=f"flute {flute.name}" if flute else "",
    )
