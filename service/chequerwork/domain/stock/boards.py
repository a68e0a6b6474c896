"""The words of a stock plan: boards, pieces wanted, the saw's habits, cuts, layouts and what is left.

Sizes are whole nanometres (``_nm``): a kerf more or less decides whether a piece fits, and no sum of floats is trusted
with that. Every size an order can give, a 1/64 in included, is a whole number of them.

A board lies with its length along x and its width along y; its near end and near edge are at 0.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from chequerwork.domain.basics.facts import Grain

NM: Final = 1_000_000  # in a millimetre
SHEET_NM: Final = NM // 2  # a sheet goes by a nominal thickness, which its own is as near as this


def to_nm(size_mm: float) -> int:
    """A size in whole nanometres.

    Parameters
    ----------
    size_mm
        [mm]

    References
    ----------
    House.
    """
    return round(size_mm * NM)


def to_mm(size_nm: int) -> float:
    """A size in millimetres. [mm]

    Parameters
    ----------
    size_nm
        [nm]

    References
    ----------
    House.
    """
    return size_nm / NM


class Goal(StrEnum):
    """What a plan makes small: money, or wood."""

    COST = "cost"
    VOLUME = "volume"


class Origin(StrEnum):
    """Whether a board lies in the rack or has to be bought."""

    STOCK = "stock"
    OFFER = "offer"


class Tool(StrEnum):
    """What a cut is made with: across the length, along it, an edge made straight, or through the thickness."""

    CROSSCUT = "crosscut"
    RIP = "rip"
    JOINT = "joint"
    RESAW = "resaw"


class Fate(StrEnum):
    """What becomes of a piece that is not cut again."""

    PART = "part"
    LEFTOVER = "leftover"  # goes back into the rack
    OFFCUT = "offcut"


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Equal pieces wanted, as they leave the saw; the length lies along the grain.

    ``turns`` says that it may also lie across (sheets; wood where the grain does not matter). ``sawn`` is how the wood
    must be sawn, None for any.
    """

    id: str
    species: str  # or a sheet material
    length_nm: int
    width_nm: int
    thickness_nm: int
    count: int
    turns: bool = False
    sawn: Grain | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    """A lengthwise span of a board that no part may touch."""

    from_nm: int
    to_nm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """Equal boards of the rack, or of an offer. ``price`` is of one board; sheets may be cut either way first."""

    id: str
    species: str
    length_nm: int
    width_nm: int
    thickness_nm: int  # sawn; of a sheet its real thickness
    count: int
    price: Decimal
    sawn: Grain | None = None  # None: not told, or to be picked at the merchant's
    defects: tuple[Defect, ...] = ()
    sheet: bool = False
    origin: Origin = Origin.STOCK


@dataclass(frozen=True, slots=True, kw_only=True)
class Saw:
    """What the cuts take, what the machines bear, and which leftovers are kept."""

    kerf_rip_nm: int
    kerf_crosscut_nm: int
    end_trim_nm: int  # of each end of a board, its kerf included; not of sheets
    edge_jointing_nm: int  # off each rough edge before ripping; not of sheets
    flattening_nm: int  # of a board's thickness before a part may come out of it
    jointer_width_nm: int
    thicknesser_width_nm: int
    min_length_nm: int  # shortest section that both machines may be fed
    keep_length_nm: int  # leftovers at least this long ...
    keep_width_nm: int  # ... and this wide go back into the rack
    keep_share: Decimal  # their worth as a share of what the same volume of the board costs, 0..1

    @property
    def band_nm(self) -> int:
        """Widest band that both machines take. [nm]"""
        return min(self.jointer_width_nm, self.thicknesser_width_nm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """One step at a machine, on the piece named ``on``.

    Crosscut: ``at_nm`` from the piece's near end gives ``gives``; what lies beyond the kerf is ``rest``. Rip: the same
    from its near edge. Joint: ``at_nm`` off its near edge; ``gives`` is the piece itself, narrower, ``rest`` None.
    Resaw: ``gives`` becomes that many (``pieces``), each ``at_nm`` thick. ``rest`` is None where the kerf reaches the
    end.
    """

    tool: Tool
    on: str
    at_nm: int
    gives: str
    rest: str | None = None
    pieces: int = 1  # resaw only


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How one board is cut. The board itself is the piece named ``board``; every other name is given by one cut.

    ``parts`` and ``leftovers`` say what becomes of pieces that are not cut again, by name; all others are offcuts.
    """

    board: Board
    copies: int  # equal boards cut in this way
    cuts: tuple[Cut, ...]
    parts: tuple[tuple[str, str], ...]  # (name of a piece, id of the part wanted)
    leftovers: tuple[str, ...]


BOARD: Final = "board"  # name of the uncut board in a layout


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """A rectangle of a board's face. [nm]"""

    x_nm: int
    y_nm: int
    length_nm: int
    width_nm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """What a piece that is not cut again became, and where it lay. ``stacked`` parts came out of its thickness."""

    name: str
    fate: Fate
    area: Area
    part: str | None = None
    stacked: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Sawn:
    """A layout replayed: what came out of one board, and the volume and worth of it."""

    layout: Layout
    laid: tuple[Laid, ...]  # parts, leftovers and offcuts, from the near end
    kept: Decimal  # worth of the leftovers of one board

    @property
    def cost(self) -> Decimal:
        """Of one board, leftovers taken off."""
        return self.layout.board.price - self.kept

    @property
    def kept_nm2(self) -> int:
        """Face of the leftovers of one board. [nm2]"""
        return sum(each.area.length_nm * each.area.width_nm for each in self.laid if each.fate is Fate.LEFTOVER)


class PlanStatus(StrEnum):
    """How far a plan is from the best possible one."""

    OPTIMAL = "optimal"  # to the smallest amount of the currency, as long as the rack is used first
    GOOD = "good"  # valid; the best possible is not below the bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Boards to buy: of one size, and what each costs."""

    board: Board
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Pieces that neither the rack nor the offer gives, and why."""

    piece: Piece
    count: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StockPlan:
    """From which boards, cut how. Money is Decimal; volumes are of the boards used, bought ones included."""

    goal: Goal
    status: PlanStatus
    layouts: tuple[Sawn, ...]
    purchases: tuple[Purchase, ...]
    missing: tuple[Missing, ...]
    boards_used: int
    cost: Decimal  # of lumber used and bought, kept leftovers taken off
    reached: Decimal  # what the goal makes small: the cost, or m3 of wood used less kept leftovers
    bound: Decimal  # in the same unit: as long as the rack is used first, no plan reaches less
    volume_used_m3: float
    parts_m3: float  # in the rough pieces
    kept_m3: float

    @property
    def gap_pct(self) -> float:
        """Share of what is reached that a better plan could save at most. [%]"""
        return float((self.reached - self.bound) / self.reached * 100) if self.reached > self.bound else 0.0

    @property
    def yield_pct(self) -> float:
        """Share of the wood cut up, kept leftovers taken off, that became parts. [%]"""
        used_m3 = self.volume_used_m3 - self.kept_m3
        return self.parts_m3 / used_m3 * 100 if used_m3 > 0 else 0.0
