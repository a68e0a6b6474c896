"""Masses explained: every part of a board by its timber."""

from chequerwork.domain.basics.arithmetic import times, total
from chequerwork.domain.board.geometry import Solid, solids
from chequerwork.domain.board.shapes import mass_kg
from chequerwork.domain.explain.steps import Ledger, Place, named
from chequerwork.domain.plan import Plan


def timber_kg(plan: Plan, ledger: Ledger, place: Place, species: str, *, part: str | None) -> float:
    """Mass of one timber in a finished board, written down at a place, as a part of it or as the number itself. [kg]"""
    name = plan.tables.species[species].name
    order, board = plan.order, plan.geometry
    parts = solids(order.field, order.frame, order.base, seat=board.seat, opening=board.opening, panel=board.base)
    volumes = [_volume(ledger, place, solid) for solid in parts if solid.species == species]
    volume_m3 = volumes[0]
    if len(volumes) > 1:
        volume_m3 = ledger.at(*place, part=f"{name} together", unit="m3")(total, parts=tuple(volumes))
    density_kg_m3 = plan.tables.species[species].density_kg_m3
    return ledger.at(*place, part=part)(mass_kg, volume_m3=volume_m3, density_kg_m3=density_kg_m3)


def _volume(ledger: Ledger, place: Place, solid: Solid) -> float:
    volume_m3 = ledger.at(*place, part=solid.name)(solid.formula, **named(solid.formula, solid.sizes))
    if solid.share == 1.0:
        return volume_m3
    counted = "half of it" if solid.share > 0 else "taken off"
    part = f"{solid.name}, {counted}"
    return ledger.at(*place, part=part, unit="m3")(times, amount=volume_m3, count=solid.share)
