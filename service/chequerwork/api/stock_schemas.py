"""The request of a stock plan: its schemas, and the way from raw data to wishes, every fault kept."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, cast

from marshmallow import ValidationError, fields

from chequerwork.api.fields import (
    Amount,
    Choice,
    Closed,
    Count,
    Flag,
    ListEntry,
    Name,
    Nested,
    Number,
    Quarters,
    Several,
    Strict,
    TimberKey,
    Whole,
    Wholes,
    length,
)
from chequerwork.api.schemas import Reading, faults_of, read_order
from chequerwork.domain.basics.errors import Fault, Path, near_names
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import Units
from chequerwork.domain.stock.boards import Goal
from chequerwork.domain.stock.request import PRICES, BoardRequest, DefectRequest, Lie, PartRequest, SawRequest
from chequerwork.ops.limits import MAX_FAULTS

MOST_ORDERS: Final = 20
MOST_KINDS: Final = 500  # of parts, and of boards
MOST_DEFECTS: Final = 20  # of one board; with more it is firewood
MOST_EQUAL: Final = 1000  # boards of one entry
MOST_PARTS: Final = 20_000  # of one entry
LONGEST_MM, WIDEST_MM, THICKEST_MM = 20_000.0, 3_000.0, 300.0
WAYS: Final = ("order", "orders", "parts")  # what is to be cut, said in one of three ways


# Schemas --------------------------------------------------------------------------------------------------------------


class _WantedPart(ListEntry):
    made = PartRequest
    renamed = {"length": "length_mm", "width": "width_mm", "thickness": "thickness_mm"}


class _BoardDefect(ListEntry):
    made = DefectRequest
    renamed = {"from": "from_mm", "to": "to_mm"}


class _StockBoard(ListEntry):
    made = BoardRequest
    renamed = {
        "length": "length_mm",
        "width": "width_mm",
        "thickness": "thickness_mm",
        "class": "quarters",
    }


class _SawHabits(ListEntry):
    made = SawRequest
    renamed = {name.removesuffix("_mm"): name for name in SawRequest.__dataclass_fields__ if name.endswith("_mm")} | {
        "keep_value": "keep_value_pct"
    }


def _schema(kind: type[Closed], name: str, described: Mapping[str, fields.Field[Any]]) -> Closed:
    """A schema some of whose fields have names that Python keeps for itself."""
    return cast("Closed", kind.from_dict(dict(described), name=f"{name}Schema")())


def _size(most_mm: float, about: str, example: str, *, least_mm: float = 1, required: bool = True) -> Strict:
    return length(least_mm, most_mm, about=about, required=required, example=example)


WANTED_PART: Final = _schema(
    _WantedPart,
    "WantedPart",
    {
        "id": Name(about="Name of the part, the only one in the list.", required=True, example="S1"),
        "species": TimberKey(about="Timber, or a sheet material.", required=True, example="european_walnut"),
        "length": _size(LONGEST_MM, "Along the grain, as it leaves the saw.", "577 mm"),
        "width": _size(WIDEST_MM, "As it leaves the saw.", "54 mm"),
        "thickness": _size(THICKEST_MM, "As it leaves the saw; flattening comes on top.", "24 mm", least_mm=0.5),
        "count": Count(1, MOST_PARTS, about="How many.", default=1),
        "grain": Choice(Lie, about="lengthwise: the length lies along the grain, if left out; any: it may lie across."),
        "sawn": Choice(Grain, about="How its wood must be sawn; mixed or left out, any."),
    },
)
BOARD_DEFECT: Final = _schema(
    _BoardDefect,
    "BoardDefect",
    {
        "from": _size(LONGEST_MM, "From the near end.", "820 mm", least_mm=0),
        "to": _size(LONGEST_MM, "From the same end.", "860 mm", least_mm=0),
    },
)
STOCK_BOARD: Final = _schema(
    _StockBoard,
    "StockBoard",
    {
        "id": Name(about="Name of the board, the only one in the list.", required=True, example="W-07"),
        "species": TimberKey(about="Timber; of a sheet its material.", required=True, example="european_walnut"),
        "length": _size(LONGEST_MM, "Along the grain.", "2400 mm", least_mm=10),
        "width": _size(WIDEST_MM, "The least width that is wood.", "210 mm", least_mm=5),
        "thickness": _size(THICKEST_MM, "As it lies there.", "27 mm", least_mm=0.5, required=False),
        "class": Quarters(about="Nominal thickness in quarters of an inch, instead of a thickness."),
        "count": Count(1, MOST_EQUAL, about="Equal boards.", default=1),
        "price": Amount(about="Of one board; without any price, the shop's own for this wood."),
        "price_per_board_foot": Amount(about="Of 144 cubic inches, instead."),
        "price_per_m3": Amount(about="Of a cubic metre, instead."),
        "sawn": Choice(Grain, about="How it is sawn; left out, it serves for any."),
        "defects": Several(
            BOARD_DEFECT, most=MOST_DEFECTS, about="Spans along the length to cut out, apart.", ref="BoardDefect"
        ),
        "sheet": Flag(about="Sheet goods: no trim, no jointing, first cut either way.", default=False),
    },
)
SAW_HABITS: Final = _schema(
    _SawHabits,
    "SawHabits",
    {
        "kerf_rip": _size(20, "Of a cut along the grain.", "3.2 mm", least_mm=0, required=False),
        "kerf_crosscut": _size(20, "Of a cut across it.", "2.8 mm", least_mm=0, required=False),
        "end_trim": _size(500, "Off each end of a board, with its kerf.", "25 mm", least_mm=0, required=False),
        "edge_jointing": _size(50, "Off each rough edge.", "2 mm", least_mm=0, required=False),
        "flattening": _size(50, "Off a board's thickness, both faces.", "3 mm", least_mm=0, required=False),
        "jointer_width": _size(WIDEST_MM, "Widest board the jointer takes.", "260 mm", required=False),
        "thicknesser_width": _size(WIDEST_MM, "Widest the thicknesser takes.", "410 mm", required=False),
        "min_length": _size(2000, "Shortest section both may be fed.", "300 mm", least_mm=0, required=False),
        "keep_length": _size(LONGEST_MM, "Leftovers at least this long are kept.", "400 mm", required=False),
        "keep_width": _size(WIDEST_MM, "And at least this wide.", "60 mm", required=False),
        "keep_value": Number(0, 100, unit=" %", about="Worth of a kept leftover, of what its volume cost. [%]"),
    },
)


class StockRequestSchema(Closed):
    """What is to be cut, from which boards, and by which habits. Exactly one of order, orders and parts."""

    made = dict
    shop = Name(about="Shop to ask; left out, that of the first order, or the first one served.", example="moosgrund")
    order = Whole(ref="Order", about="One order: its parts, times its quantity.")
    orders = Wholes(ref="Order", most=MOST_ORDERS, about="Several orders of one shop, cut together.")
    parts = Several(WANTED_PART, least=1, most=MOST_KINDS, about="Parts, instead of an order.", ref="WantedPart")
    boards = Several(
        STOCK_BOARD, least=1, most=MOST_KINDS, about="Boards at hand; left out, the shop's rack.", ref="StockBoard"
    )
    buy = Flag(about="Whether what the boards do not give is bought, from the shop's offer.", default=True)
    saw = Nested(SAW_HABITS, about="Habits of the saw in place of the shop's own.", ref="SawHabits")
    goal = Choice(Goal, about="What is made small: cost, if left out, or volume of wood.")
    diagrams = Flag(about="Whether each layout carries its drawing, as SVG text.", default=False)
    units = Choice(Units, about="Unit system of the texts; left out, that of the one order, or the shop's.")


STOCK_REQUEST: Final = StockRequestSchema()
_RANK: Final = {name: rank for rank, name in enumerate(STOCK_REQUEST.fields)}


# Reading --------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class StockReading:
    """A raw request as far as it could be read. ``orders`` have their places; ``faults`` are not those of orders."""

    shop: str | None
    orders: tuple[tuple[Path, Reading], ...]
    parts: tuple[PartRequest, ...]
    boards: tuple[BoardRequest, ...] | None  # None: the shop's rack
    buy: bool
    saw: SawRequest
    goal: Goal
    diagrams: bool
    units: Units | None
    faults: tuple[Fault, ...]


class _Near:
    """Names like unknown ones, for as many as are told: a request may hold thousands, and each search takes a while."""

    def __init__(self) -> None:
        self.left = MAX_FAULTS

    def __call__(self, given: str, known: Iterable[str]) -> tuple[str, ...]:
        self.left -= 1
        return near_names(given, known) if self.left >= 0 else ()


def read_stock(raw: Mapping[str, Any], unread: frozenset[Path] = frozenset()) -> StockReading:
    """Read a raw request and keep every fault. ``unread`` are places in the order that were refused before."""
    near, faults = _Near(), list[Fault]()
    try:
        data: dict[str, Any] = STOCK_REQUEST.load(raw)
    except ValidationError as error:
        messages: Any = error.messages
        data = dict(error.valid_data) if isinstance(error.valid_data, dict) else {}
        for name in sorted(messages, key=lambda name: _RANK.get(name, len(_RANK))):
            faults.extend(faults_of(messages[name], (name,), STOCK_REQUEST, raw.get(name), near))
            if name not in ("orders", "parts", "boards"):
                data.pop(name, None)
    faults += _together(raw)
    boards = data.get("boards")
    return StockReading(
        shop=data.get("shop"),
        orders=tuple(_orders(data, unread, near)),
        parts=tuple(data.get("parts") or ()),
        boards=tuple(boards) if boards is not None else None,
        buy=data.get("buy", True),
        saw=data.get("saw", SawRequest()),
        goal=data.get("goal", Goal.COST),
        diagrams=data.get("diagrams", False),
        units=data.get("units"),
        faults=tuple(faults),
    )


def _orders(data: Mapping[str, Any], unread: frozenset[Path], near: _Near) -> Iterator[tuple[Path, Reading]]:
    if "order" in data:
        yield ("order",), read_order(data["order"], unread, near)
    for index, order in enumerate(data.get("orders") or ()):
        if order is not None:
            yield ("orders", index), read_order(order, near_to=near)


def _together(raw: Mapping[str, Any]) -> Iterator[Fault]:
    """Faults of fields that stand beside others."""
    given = [name for name in WAYS if name in raw]
    if not given:
        detail = "Say what is to be cut: give an order, a list of orders, or a list of parts."
        yield Fault(at=("order",), code="missing", detail=detail)
    for name in given[1:]:
        detail = f"{given[0]} is given too. Give only one of {', '.join(WAYS)}."
        yield Fault(at=(name,), code="conflict", detail=detail)
    boards = raw.get("boards")
    for index, board in enumerate(boards[:MOST_KINDS] if isinstance(boards, list) else ()):
        if isinstance(board, Mapping):
            yield from _together_in(("boards", index), board)


def _together_in(at: Path, board: Mapping[str, Any]) -> Iterator[Fault]:
    if "thickness" not in board and "class" not in board:
        detail = "Give the thickness as a length, or the class in quarters of an inch, such as '5/4'."
        yield Fault(at=(*at, "thickness"), code="missing", detail=detail)
    for names in (("thickness", "class"), PRICES):
        given = [name for name in names if name in board]
        for name in given[1:]:
            yield Fault(at=(*at, name), code="conflict", detail=f"{given[0]} is given too. Give only one of them.")


def places(parts: Sequence[PartRequest]) -> dict[str, int]:
    """Where each part stands in the list, by its id."""
    return {part.id: index for index, part in enumerate(parts) if part.id is not None}
