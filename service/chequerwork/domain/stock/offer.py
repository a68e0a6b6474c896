"""From what a stock plan may take: the shop's rack, its saw, and what its merchants have.

Prices are of one board and not rounded to the currency, or many small boards would cost another sum than a large one.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final

from chequerwork.domain.basics.amounts import HUNDRED
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Lumber, RackBoard, SheetStock, Shop, Span
from chequerwork.domain.order.order import Units
from chequerwork.domain.stock.boards import NM, SHEET_NM, Board, Defect, Origin, Piece, Saw, to_mm, to_nm

MOST_SIZES: Final = 5  # lengths, and widths, of one offer: 25 boards of a class are choice enough (house)
PRICE_DECIMALS: Final = 10  # of the price of a volume, so that a board's own loses no coin
INCH_NM: Final = 25_400_000  # exact: an inch is 25.4 mm
# Steps in which boards are picked at a merchant's, along and across (common practice, no source).
STEPS_NM: Final = {Units.METRIC: (100 * NM, 10 * NM), Units.IMPERIAL: (12 * INCH_NM, INCH_NM // 2)}


def rack_boards(shop: Shop, tables: Tables) -> tuple[Board, ...]:
    """The boards at hand, in the order of the shop file.

    A board without a price of its own is worth what the shop pays for the same wood by volume, a piece of a sheet its
    share of the face of a whole one. Sheets go by their nominal thickness, as bases do in an order.
    """
    return tuple(_rack_board(board, shop, tables) for board in shop.rack.boards)


def _rack_board(board: RackBoard, shop: Shop, tables: Tables) -> Board:
    return Board(
        id=board.id,
        species=board.species,
        length_nm=to_nm(board.length_mm),
        width_nm=to_nm(board.width_mm),
        thickness_nm=to_nm(board.thickness_mm),
        count=board.count,
        price=_worth(board, shop, tables) if board.price is None else board.price,
        sawn=board.sawn,
        defects=tuple(Defect(from_nm=to_nm(span.low_mm), to_nm=to_nm(span.high_mm)) for span in board.defects),
        sheet=board.species not in tables.species,
    )


def _worth(board: RackBoard, shop: Shop, tables: Tables) -> Decimal:
    lumber = shop.lumber.get(board.species)
    if lumber:
        return _clean(lumber.price_m3 * board.volume_m3)
    stock = shop.sheet_stock(board.species, board.thickness_mm)
    sheet = tables.sheet(board.species, board.thickness_mm)
    if not stock or not sheet:
        raise ValueError(f"{board.id} has no price")  # the checker of shop files refuses this
    whole = to_nm(sheet.length_mm) * to_nm(sheet.width_mm)
    return _clean(stock.price * (to_nm(board.length_mm) * to_nm(board.width_mm)) / whole)


def _clean(price: Decimal) -> Decimal:
    """Without the tail that a price by the board foot leaves: boards of equal price are to tie."""
    return round(price, PRICE_DECIMALS)


def saw_of(shop: Shop) -> Saw:
    """The shop's machines and habits as a stock plan needs them.

    Nothing is taken off for flattening: parts of an order are rough already, with planing in their thickness.
    """
    machines, rack = shop.machines, shop.rack
    return Saw(
        kerf_rip_nm=to_nm(machines.kerf_rip_mm),
        kerf_crosscut_nm=to_nm(machines.kerf_crosscut_mm),
        end_trim_nm=to_nm(rack.end_trim_mm),
        edge_jointing_nm=to_nm(machines.jointing_edge_mm),
        flattening_nm=0,
        jointer_width_nm=to_nm(machines.jointer_width_mm),
        thicknesser_width_nm=to_nm(machines.thicknesser_width_mm),
        min_length_nm=to_nm(max(machines.jointer_min_length_mm, machines.thicknesser_min_length_mm)),
        keep_length_nm=to_nm(rack.keep_length_mm),
        keep_width_nm=to_nm(rack.keep_width_mm),
        keep_share=rack.keep_value_pct / HUNDRED,
    )


def offered(shop: Shop, tables: Tables, pieces: Sequence[Piece]) -> tuple[Board, ...]:
    """Boards and sheets that could be bought for these pieces.

    A merchant has no list of sizes: boards are picked from a pile. These are sizes to pick, inside the usual lengths
    and widths of the wood, in whole 100 mm by 10 mm, or feet by half inches: the smallest, the largest and a few
    between, of every class that is thick enough for some piece. They are taken as clear and without a way of sawing,
    both to be seen to at the pile; a faulty board has to be longer. Where no step lies within a usual range, its upper
    end stands for it. Sheets are whole ones. ``count`` never binds: a board gives a piece or is not bought.

    Parameters
    ----------
    shop, tables
        What is bought, at what price, and the sizes of classes and sheets.
    pieces
        What is wanted; timbers and sheets that the shop does not buy are left out.
    """
    wanted: dict[str, list[Piece]] = {}
    for piece in pieces:
        wanted.setdefault(piece.species, []).append(piece)
    return tuple(board for species, some in wanted.items() for board in _offered(species, some, shop, tables))


def _offered(species: str, pieces: Sequence[Piece], shop: Shop, tables: Tables) -> Iterator[Board]:
    count = sum(piece.count for piece in pieces)
    if species in shop.lumber:
        yield from _timber(shop.lumber[species], min(piece.thickness_nm for piece in pieces), count, shop, tables)
    for stock in shop.sheets:
        nominal_nm = to_nm(stock.thickness_mm)
        if stock.material == species and any(abs(p.thickness_nm - nominal_nm) <= SHEET_NM for p in pieces):
            yield from _sheet(stock, count, tables)


def _timber(lumber: Lumber, thinnest_nm: int, count: int, shop: Shop, tables: Tables) -> Iterator[Board]:
    along_nm, across_nm = STEPS_NM[Units(shop.defaults.units)]
    for known in tables.thickness_classes:
        thickness_nm = to_nm(known.rough_mm)
        if known.name not in lumber.classes or thickness_nm < thinnest_nm:
            continue
        for length_nm in _sizes(lumber.board_length, along_nm):
            for width_nm in _sizes(lumber.board_width, across_nm):
                yield Board(
                    id=f"buy-{lumber.species}-{known.name}-{_size(length_nm, width_nm, shop)}",
                    species=lumber.species,
                    length_nm=length_nm,
                    width_nm=width_nm,
                    thickness_nm=thickness_nm,
                    count=count,
                    price=_clean(lumber.price_m3 * Decimal(length_nm * width_nm * thickness_nm).scaleb(-27)),
                    origin=Origin.OFFER,
                )


def _sheet(stock: SheetStock, count: int, tables: Tables) -> Iterator[Board]:
    sheet = tables.sheet(stock.material, stock.thickness_mm)
    if sheet:
        size = f"{sheet.length_mm:g}x{sheet.width_mm:g}"
        yield Board(
            id=f"buy-{stock.material}-{stock.thickness_mm:g}mm-{size}",
            species=stock.material,
            length_nm=to_nm(sheet.length_mm),
            width_nm=to_nm(sheet.width_mm),
            thickness_nm=to_nm(stock.thickness_mm),
            count=count,
            price=stock.price,
            sheet=True,
            origin=Origin.OFFER,
        )


def thicknesses_nm(shop: Shop, tables: Tables, pieces: Sequence[Piece], saw: Saw) -> dict[str, tuple[int, ...]]:
    """Every thickness that boards and sheets of these woods could be bought in, by species, thick enough or not.

    Parameters
    ----------
    shop, tables
        What is bought, and the sizes of classes.
    pieces
        What is wanted; woods that the shop does not buy are left out.
    saw
        What flattening takes off boards; sheets stay as they are. [nm]
    """
    found: dict[str, tuple[int, ...]] = {}
    for species in dict.fromkeys(piece.species for piece in pieces):
        classes = shop.lumber[species].classes if species in shop.lumber else ()
        boards = [to_nm(each.rough_mm) - saw.flattening_nm for each in tables.thickness_classes if each.name in classes]
        sheets = [to_nm(stock.thickness_mm) for stock in shop.sheets if stock.material == species]
        if boards or sheets:
            found[species] = (*boards, *sheets)
    return found


def _sizes(span: Span, step_nm: int) -> tuple[int, ...]:
    """At most ``MOST_SIZES`` multiples of a step within a span, both ends among them; its upper end where none is."""
    low, high = -(-to_nm(span.low_mm) // step_nm), to_nm(span.high_mm) // step_nm
    if low > high:
        return (to_nm(span.high_mm),)
    gaps = min(MOST_SIZES - 1, high - low)
    return tuple((low + (high - low) * at // max(gaps, 1)) * step_nm for at in range(gaps + 1))


def _size(length_nm: int, width_nm: int, shop: Shop) -> str:
    """As one says it at the merchant's: 2100x180 in mm, or 8ftx6.5in."""
    if shop.defaults.units == Units.IMPERIAL:
        return f"{length_nm / (12 * INCH_NM):g}ftx{width_nm / INCH_NM:g}in"
    return f"{to_mm(length_nm):g}x{to_mm(width_nm):g}"


def least_lot_m3(shop: Shop, species: str) -> float:
    """Smallest volume of one thickness of a timber that the shop's merchant sells, 0 where any is. [m3]"""
    lumber = shop.lumber.get(species)
    return lumber.least_lot_m3 if lumber else 0.0


def least_lots_m3(shop: Shop, pieces: Sequence[Piece]) -> dict[str, float]:
    """The same of every timber and sheet of these pieces, by name. [m3]"""
    return {piece.species: least_lot_m3(shop, piece.species) for piece in pieces}
