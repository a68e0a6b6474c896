"""The bill of materials explained: lumber by timber, then every other line."""

from collections.abc import Callable, Mapping

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.amounts import money
from chequerwork.domain.basics.arithmetic import round_up, times, total
from chequerwork.domain.board.shapes import block_m3, mass_kg
from chequerwork.domain.explain.steps import Ledger, Place
from chequerwork.domain.making.cutting import Part, Role
from chequerwork.domain.making.joints import bond_spread_g_m2, glue_g
from chequerwork.domain.making.lumber import (
    TimberNeed,
    board_face_mm2,
    board_feet,
    lot_m2,
    lumber_m3,
    parts_by_timber,
    pieces_per_thickness,
    thickness_class,
    volume_board_feet,
)
from chequerwork.domain.making.materials import abrasive_m2, blanks_per_sheet, sheet_share, tape_m
from chequerwork.domain.plan import Plan


def materials(plan: Plan, ledger: Ledger, _: Audience) -> None:
    """Lumber by timber, then every other line."""
    for index, timber in enumerate(plan.materials.timber):
        _timber(plan, ledger, index, timber)
    _lines(plan, ledger)


def _timber(plan: Plan, ledger: Ledger, index: int, timber: TimberNeed) -> None:
    shop, tables, at = plan.shop, plan.tables, ledger.at
    parts = parts_by_timber(plan.cutting)[timber.species]
    quantity, lumber = plan.order.sale.quantity, shop.lumber[timber.species]
    place = ("timber", index)
    net = tuple(
        at(*place, "net_m3", part=part.id)(block_m3, count=part.count, **part.final._asdict()) for part in parts
    )
    board_m3 = at(*place, "net_m3", part="in one board", unit="m3")(total, parts=net)
    net_m3 = at(*place, "net_m3", unit="m3")(times, amount=board_m3, count=quantity)
    faces = _faces(plan, ledger, index, parts, timber.species)
    volumes, feet = [], []
    for rough_mm, faces_mm2 in faces.items():
        name = f"{rough_mm:g} mm lumber"
        face_mm2 = at(*place, "gross_m3", part=f"face of {name}", unit="mm2")(total, parts=faces_mm2)
        lot = {"boards": quantity, "yield_pct": lumber.yield_pct}
        area_m2 = at(*place, "gross_m3", part=f"face of {name} to buy")(lot_m2, face_mm2=face_mm2, **lot)
        volumes.append(at(*place, "gross_m3", part=name)(lumber_m3, area_m2=area_m2, rough_mm=rough_mm))
        feet.append(at(*place, "board_feet", part=name)(board_feet, area_m2=area_m2, nominal_in=rough_mm / 25.4))
    gross_m3 = at(*place, "gross_m3", unit="m3")(total, parts=tuple(volumes))
    at(*place, "gross_board_feet")(volume_board_feet, volume_m3=gross_m3)
    at(*place, "board_feet", unit="board feet")(total, parts=tuple(feet))
    density_kg_m3 = tables.species[timber.species].density_kg_m3
    at(*place, "mass_kg")(mass_kg, volume_m3=net_m3, density_kg_m3=density_kg_m3)
    at(*place, "cost")(money, quantity=gross_m3, price=lumber.price_m3)


def _faces(plan: Plan, ledger: Ledger, index: int, parts: list[Part], species: str) -> dict[float, tuple[float, ...]]:
    """Faces that the parts use, by the rough thickness of the lumber they come from."""
    machines, faces = plan.shop.machines, dict[float, tuple[float, ...]]()
    for part in parts:
        board = thickness_class(part.rough.thickness_mm, plan.shop.lumber[species], plan.tables)
        slab = {"class_mm": board.rough_mm, "rough_mm": part.rough.thickness_mm, "kerf_mm": machines.kerf_rip_mm}
        stacked = ledger.at("timber", index, "gross_m3", part=f"{part.id} from one thickness")(
            pieces_per_thickness, **slab
        )
        face_mm2 = ledger.at("timber", index, "gross_m3", part=f"face for {part.id}")(
            board_face_mm2,
            count=part.count,
            length_mm=part.rough.length_mm,
            width_mm=part.rough.width_mm,
            kerf_crosscut_mm=machines.kerf_crosscut_mm,
            kerf_rip_mm=machines.kerf_rip_mm,
            stacked=stacked,
        )
        faces[board.rough_mm] = (*faces.get(board.rough_mm, ()), face_mm2)
    return faces


def _lines(plan: Plan, ledger: Ledger) -> None:
    for index, item in enumerate(plan.materials.items):
        place, quantity = ("lines", index), item.quantity
        explained = _QUANTITIES.get((item.role, item.unit))
        if explained is not None:
            explained(plan, ledger, place)
        if item.role == "base":
            quantity = _sheets(plan, ledger, place)
        ledger.at(*place, "cost")(money, quantity=quantity, price=item.price)


def _sheets(plan: Plan, ledger: Ledger, place: Place) -> float:
    """Whole sheets to buy; the share of them that is charged."""
    at, part = ledger.at, next(part for part in plan.cutting.parts if part.role is Role.BASE)
    sheet = plan.tables.sheet(part.species, part.final.thickness_mm)
    if sheet is None:
        raise ValueError(f"no sheet of {part.species}")
    blanks = at(*place, "quantity", part="blanks of a sheet")(
        blanks_per_sheet,
        sheet_length_mm=sheet.length_mm,
        sheet_width_mm=sheet.width_mm,
        length_mm=part.final.length_mm,
        width_mm=part.final.width_mm,
        kerf_mm=plan.shop.machines.kerf_rip_mm,
    )
    share = at(*place, "quantity", part="sheets used")(sheet_share, boards=plan.order.sale.quantity, blanks=blanks)
    at(*place, "quantity", unit="sheets")(round_up, value=share, step=1.0)
    return share


def _adhesive(plan: Plan, ledger: Ledger, place: Place) -> None:
    """Of each glue-up, as the cut list has it, then of the whole order."""
    consumables, at = plan.shop.consumables, ledger.at
    adhesive, waste_pct = plan.tables.adhesives[consumables.adhesive], consumables.adhesive_waste_pct
    parts = tuple(
        at(*place, "quantity", part=bond.stage)(
            glue_g, area_mm2=bond.area_mm2, spread_g_m2=bond_spread_g_m2(bond, adhesive), waste_pct=waste_pct
        )
        for bond in plan.bonds
    )
    board_g = at(*place, "quantity", part="in one board", unit="g")(total, parts=parts)
    at(*place, "quantity", unit="g")(times, amount=board_g, count=plan.order.sale.quantity)


def _abrasive(plan: Plan, ledger: Ledger, place: Place) -> None:
    use, boards = plan.shop.consumables.abrasive_use, plan.order.sale.quantity
    ledger.at(*place, "quantity")(abrasive_m2, sanded_m2=plan.finishing.sanded_m2, use=use, boards=boards)


def _finish(plan: Plan, ledger: Ledger, place: Place) -> None:
    boards = plan.order.sale.quantity
    ledger.at(*place, "quantity", unit="ml")(times, amount=plan.finishing.finish_ml, count=boards)


def _feet(plan: Plan, ledger: Ledger, place: Place) -> None:
    ledger.at(*place, "quantity", unit="pieces")(times, amount=plan.order.feet, count=plan.order.sale.quantity)


def _tape(plan: Plan, ledger: Ledger, place: Place) -> None:
    strips, length_mm = plan.cutting.strip_count, plan.cutting.panel.length_mm
    ledger.at(*place, "quantity")(tape_m, strips=strips, length_mm=length_mm, boards=plan.order.sale.quantity)


_QUANTITIES: Mapping[tuple[str, str], Callable[[Plan, Ledger, Place], None]] = {
    ("adhesive", "g"): _adhesive,
    ("abrasives", "m2"): _abrasive,
    ("finish", "ml"): _finish,
    ("feet", "piece"): _feet,
    ("sundries", "m"): _tape,
}
