"""What must be bought for the whole order: lumber, sheets, adhesive, abrasives, finish, sundries."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from chequerwork.domain.basics.advice import Advice, Severity, workshop_advice
from chequerwork.domain.basics.amounts import money
from chequerwork.domain.basics.arithmetic import round_up, times, total
from chequerwork.domain.basics.facts import Sheet, Tables
from chequerwork.domain.basics.shop import SheetStock, Shop
from chequerwork.domain.making.cutting import Cutting, Part, Role
from chequerwork.domain.making.joints import Bond, bond_g, open_joints
from chequerwork.domain.making.lumber import TimberNeed, timber_of


class Item(NamedTuple):
    """One line of the shopping list, for the whole order. ``price`` is of one unit, ``cost`` unrounded."""

    item: str
    role: str
    quantity: float
    unit: str
    note: str
    price: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Materials:
    """Everything bought for the whole order."""

    timber: tuple[TimberNeed, ...]
    items: tuple[Item, ...]
    advice: tuple[Advice, ...]


def bill(
    cutting: Cutting,
    quantity: int,
    feet: int,
    finish: str,
    shop: Shop,
    tables: Tables,
    adhesive_g: float,
    finish_ml: float,
    sanded_m2: float,
) -> Materials:
    """Bill of materials for the order's whole quantity.

    Parameters
    ----------
    cutting
        The parts of one board.
    quantity, feet, finish
        Boards, feet of each, and the key of the finish.
    shop, tables
        What is bought, and the facts of it.
    adhesive_g
        Adhesive for one board, waste included, from ``adhesive_per_board_g``. [g]
    finish_ml
        Finish for one board, waste included, from ``finishing``. [ml]
    sanded_m2
        Area times grades for one board, from ``finishing``. [m2]
    """
    items = [
        *_sheet_items(cutting, quantity, shop, tables),
        _weighed(
            tables.adhesives[shop.consumables.adhesive].name,
            "adhesive",
            times(adhesive_g, quantity),
            "g",
            shop.consumables.adhesive_price_kg / 1000,
        ),
        _weighed(
            "abrasive",
            "abrasives",
            abrasive_m2(sanded_m2, shop.consumables.abrasive_use, quantity),
            "m2",
            shop.consumables.abrasive_price_m2,
        ),
        _weighed(
            tables.finishes[finish].name,
            "finish",
            times(finish_ml, quantity),
            "ml",
            shop.finishes[finish].price_l / 1000,
        ),
        *_sundries(cutting, quantity, feet, shop),
    ]
    return Materials(
        timber=timber_of(cutting, quantity, shop, tables),
        items=tuple(items),
        advice=_advice(cutting, shop, tables),
    )


# Sheets, adhesive, sundries -------------------------------------------------------------------------------------------


def blanks_per_sheet(
    *, sheet_length_mm: float, sheet_width_mm: float, length_mm: float, width_mm: float, kerf_mm: float
) -> int:
    """Equal blanks that a sheet gives, all lying the same way, the better of two ways.

    Parameters
    ----------
    sheet_length_mm, sheet_width_mm
        Of the sheet. [mm]
    length_mm, width_mm
        Of a blank. [mm]
    kerf_mm
        Of the saw. [mm]

    References
    ----------
    TRADE-SHEET: 470 mm blanks from 2440 x 1220 with 3.2 mm kerf: 10 (H04).
    """

    def ways(along_mm: float, across_mm: float) -> int:
        return math.floor((sheet_length_mm + kerf_mm) / (along_mm + kerf_mm) + 1e-9) * math.floor(
            (sheet_width_mm + kerf_mm) / (across_mm + kerf_mm) + 1e-9
        )

    return max(ways(length_mm, width_mm), ways(width_mm, length_mm))


def _sheet_items(cutting: Cutting, quantity: int, shop: Shop, tables: Tables) -> Iterator[Item]:
    for part in cutting.parts:
        if part.role is Role.BASE:
            stock = shop.sheet_stock(part.species, part.final.thickness_mm)
            sheet = tables.sheet(part.species, part.final.thickness_mm)
            if stock and sheet:
                yield _sheet_item(part, stock, sheet, quantity, shop)


def _sheet_item(part: Part, stock: SheetStock, sheet: Sheet, quantity: int, shop: Shop) -> Item:
    blanks = blanks_per_sheet(
        sheet_length_mm=sheet.length_mm,
        sheet_width_mm=sheet.width_mm,
        length_mm=part.final.length_mm,
        width_mm=part.final.width_mm,
        kerf_mm=shop.machines.kerf_rip_mm,
    )
    # A blank is charged its share of the sheet: what is left stays in the rack.
    share = sheet_share(quantity, blanks)
    return Item(
        item=f"{stock.material} {stock.thickness_mm:g} mm",
        role="base",
        quantity=round_up(share, 1.0),
        unit="sheet",
        note=f"{quantity} of {blanks} blanks a sheet gives",
        price=stock.price,
        cost=money(share, stock.price),
    )


def sheet_share(boards: int, blanks: int) -> float:
    """Sheets that an order uses: a blank is charged its part of a sheet.

    Parameters
    ----------
    boards
        Game boards, one blank each.
    blanks
        Of a sheet.

    References
    ----------
    House: what is left stays in the rack.
    """
    return boards / blanks


def abrasive_m2(sanded_m2: float, use: float, boards: int) -> float:
    """Abrasive for the whole order. [m2]

    Parameters
    ----------
    sanded_m2
        Area times grades of one board. [m2]
    use
        Abrasive worn out for each square metre sanded with one grade. [m2/m2]
    boards
        Game boards.

    References
    ----------
    House: the maker's own figure.
    """
    return sanded_m2 * use * boards


def tape_m(strips: int, length_mm: float, boards: int) -> float:
    """Masking tape for the first glue-up, on both faces of each joint. [m]

    Parameters
    ----------
    strips
        Of one board.
    length_mm
        Of a strip. [mm]
    boards
        Game boards.

    References
    ----------
    House: twice the joints' length.
    """
    return 2 * (strips - 1) * length_mm * 1e-3 * boards


def adhesive_per_board_g(bonds: Iterable[Bond], shop: Shop, tables: Tables) -> float:
    """Adhesive for one board, waste included: the sum over its glue-ups. [g]

    References
    ----------
    TRADE-GLUE: both glue-ups of a 57 mm board take about 40 g (G06); see ``joints.glue_g``.
    """
    adhesive, waste_pct = tables.adhesives[shop.consumables.adhesive], shop.consumables.adhesive_waste_pct
    return total(tuple([bond_g(bond, adhesive, waste_pct) for bond in bonds]))


def _sundries(cutting: Cutting, quantity: int, feet: int, shop: Shop) -> Iterator[Item]:
    consumables = shop.consumables
    if feet:
        size = f"{consumables.foot_diameter_mm:g} x {consumables.foot_height_mm:g} mm"
        yield _counted("foot", "feet", feet * quantity, "piece", consumables.foot_price, note=size)
    tape = tape_m(cutting.strip_count, cutting.panel.length_mm, quantity)
    yield _counted("masking tape", "sundries", tape, "m", consumables.tape_price_m, note="twice the joints' length")
    yield _counted("label", "sundries", 2 * quantity, "piece", consumables.label_price, note="two a board")


def _weighed(item: str, role: str, quantity: float, unit: str, price: Decimal) -> Item:
    return _counted(item, role, quantity, unit, price, note="")


def _counted(item: str, role: str, quantity: float, unit: str, price: Decimal, *, note: str) -> Item:
    cost = money(quantity, price)
    return Item(item=item, role=role, quantity=quantity, unit=unit, note=note, price=price, cost=cost)


def _advice(cutting: Cutting, shop: Shop, tables: Tables) -> tuple[Advice, ...]:
    found: list[Advice] = []
    adhesive = tables.adhesives[shop.consumables.adhesive]
    can_close = open_joints(adhesive.open_min)
    strips = cutting.strip_count
    for name, of, pieces in (("first", "strips", strips), ("second", "bars", cutting.crosscuts.count)):
        if pieces - 1 > can_close:
            found.append(
                _workshop(
                    f"open-time-{of}",
                    f"The {name} glue-up has {pieces - 1} joints; {adhesive.name} stays open for about "
                    f"{adhesive.open_min:g} min, enough for {can_close}. Glue at most {can_close + 1} pieces at once "
                    "and join the parts after, or use a slower class.",
                    source=adhesive.source,
                )
            )
    if shop.workshop_climate.temperature_c < adhesive.min_temperature_c:
        found.append(
            _workshop(
                "cold-for-adhesive",
                f"The workshop has {shop.workshop_climate.temperature_c:g} degC; {adhesive.name} needs at least "
                f"{adhesive.min_temperature_c:g} degC.",
                source=adhesive.source,
            )
        )
    oily = sorted({p.species for p in cutting.parts if p.role is not Role.BASE and tables.species[p.species].oily})
    if oily:
        found.append(
            _workshop(
                "oily-timber",
                f"{', '.join(tables.species[k].name for k in oily)}: oils weaken the joint. Wipe the faces with a "
                "solvent just before gluing and test a scrap joint first.",
                source="TRADE-GLUE",
            )
        )
    return tuple(found)


def _workshop(code: str, text: str, *, source: str) -> Advice:
    return workshop_advice(code, ("materials", "lines"), text, severity=Severity.CAUTION, source=source)
