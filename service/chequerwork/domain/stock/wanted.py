"""What has to come out of the boards: the parts of an order, in rough sizes, as pieces of a stock plan.

Sizes are the rough ones of the cut list: what is planed off, and what is added to a first length and width, is in them.
Only bases are wanted in their final size: the cut list adds a kerf to them, which the saw of a plan charges itself.
A part that no single board gives is glued up: it becomes equal staves, each with two edges to joint of its own.
"""

from dataclasses import dataclass
from typing import Final

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.making.cutting import Cutting, Part, Role
from chequerwork.domain.order.order import Base, BoardField, Frame
from chequerwork.domain.stock.boards import NM, Piece, to_nm

LEAST_STAVE_NM: Final = 10 * NM  # house: below this a shop's settings leave no stave worth gluing, so no part is split
STAVE: Final = ".stave"  # after the id of the part


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Pieces, and the part of the cut list that they are or are glued up to."""

    piece: Piece
    part: str  # id in the cut list
    role: Role
    staves: int  # pieces that make one part; 1 where it is cut whole


def pieces_of(
    cutting: Cutting,
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    quantity: int,
    shop: Shop,
    *,
    prefix: str = "",
) -> tuple[Piece, ...]:
    """Every part of an order as pieces wanted, for the whole quantity.

    Parameters
    ----------
    cutting, field, frame, base
        The parts of one board, and how their wood is wanted.
    quantity, shop
        How many boards, and the machines.
    prefix
        Put before the id of every part, so that several orders may share one plan.
    """
    return tuple(wanted.piece for wanted in wanted_of(cutting, field, frame, base, quantity, shop, prefix=prefix))


def wanted_of(
    cutting: Cutting,
    field: BoardField,
    frame: Frame | None,
    base: Base | None,
    quantity: int,
    shop: Shop,
    *,
    prefix: str = "",
) -> tuple[Wanted, ...]:
    """The same pieces, each with the part that it belongs to.

    A part is split into staves where its rough width is more than the machines take, or than the widest board that the
    shop usually gets, less two edges to joint. A wider board that lies in the rack today is no measure: it may be used
    up before the last part, and staves come out of it as well. Staves are as few as will do, of one width: the part's
    rough width in equal shares, rounded up to the nanometre, and two jointed edges on each, which the glue line needs.

    Parameters
    ----------
    cutting, field, frame, base
        The parts of one board, and how their wood is wanted.
    quantity, shop
        How many boards, and the machines.
    prefix
        Put before the id of every part.
    """
    found = []
    for part in cutting.parts:
        block = part.final if part.role is Role.BASE else part.rough
        width_nm, staves = to_nm(block.width_mm), 1
        if part.role is not Role.BASE:
            width_nm, staves = _staves(width_nm, part, shop)
        piece = Piece(
            id=f"{prefix}{part.id}{STAVE if staves > 1 else ''}",
            species=part.species,
            length_nm=to_nm(block.length_mm),
            width_nm=width_nm,
            thickness_nm=to_nm(block.thickness_mm),
            count=part.count * quantity * staves,
            turns=part.role is Role.BASE,
            sawn=_sawn(part, field, frame, base),
        )
        found.append(Wanted(piece=piece, part=part.id, role=part.role, staves=staves))
    return tuple(found)


def _staves(width_nm: int, part: Part, shop: Shop) -> tuple[int, int]:
    """Width of a stave and how many make the part; the part's own width and 1 where it stays whole."""
    machines = shop.machines
    edges_nm = 2 * to_nm(machines.jointing_edge_mm)
    widest_mm = min(
        machines.jointer_width_mm, machines.thicknesser_width_mm, shop.lumber[part.species].board_width.high_mm
    )
    whole_nm = to_nm(widest_mm) - edges_nm
    share_nm = whole_nm - edges_nm
    if width_nm <= whole_nm or share_nm < LEAST_STAVE_NM:
        return width_nm, 1
    staves = -(-width_nm // share_nm)
    return -(-width_nm // staves) + edges_nm, staves


def _sawn(part: Part, field: BoardField, frame: Frame | None, base: Base | None) -> Grain | None:
    """How the wood of a part is wanted sawn; lines, skirts and sheets are taken as they come."""
    if part.role is Role.STRIP:
        return field.light_grain if part.species == field.light else field.dark_grain
    if part.role is Role.RAIL and frame:
        return frame.grain
    if part.role is Role.BACKING and base and base.backing:
        return base.backing.grain
    return None
