"""Masses explained: every part of a board by its timber, as ``geometry.timber_masses_kg`` adds them up."""

from collections.abc import Callable, Iterator
from typing import NamedTuple

from chequerwork.domain.basics.arithmetic import times, total
from chequerwork.domain.board.geometry import Rect, grow
from chequerwork.domain.board.shapes import bevel_m3, block_m3, edging_m3, mass_kg, ring_m3
from chequerwork.domain.explain.steps import Inputs, Ledger, Place
from chequerwork.domain.plan import Plan


class Piece(NamedTuple):
    """A part of a board of one timber: the formula of its volume, its inputs, and how much of it counts."""

    species: str
    name: str
    formula: Callable[..., float]
    inputs: Inputs
    share: float = 1.0


def timber_kg(plan: Plan, ledger: Ledger, place: Place, species: str, *, part: str | None) -> float:
    """Mass of one timber in a finished board, written down at a place, as a part of it or as the number itself. [kg]"""
    name = plan.tables.species[species].name
    volumes = [_volume(ledger, place, piece) for piece in _pieces(plan) if piece.species == species]
    volume_m3 = volumes[0]
    if len(volumes) > 1:
        volume_m3 = ledger.at(*place, part=f"{name} together", unit="m3")(total, parts=tuple(volumes))
    density_kg_m3 = plan.tables.species[species].density_kg_m3
    return ledger.at(*place, part=part)(mass_kg, volume_m3=volume_m3, density_kg_m3=density_kg_m3)


def _volume(ledger: Ledger, place: Place, piece: Piece) -> float:
    volume_m3 = ledger.at(*place, part=piece.name)(piece.formula, **piece.inputs)
    if piece.share == 1.0:
        return volume_m3
    counted = "half of it" if piece.share > 0 else "taken off"
    part = f"{piece.name}, {counted}"
    return ledger.at(*place, part=part, unit="m3")(times, amount=volume_m3, count=piece.share)


def _pieces(plan: Plan) -> Iterator[Piece]:
    field = plan.order.field
    cells, square_mm, thickness_mm = field.columns * field.rows, field.square_mm, field.thickness_mm
    square: Inputs = {"length_mm": square_mm, "width_mm": square_mm, "thickness_mm": thickness_mm}
    yield Piece(field.light, "light squares", block_m3, {"count": cells - cells // 2, **square})
    yield Piece(field.dark, "dark squares", block_m3, {"count": cells // 2, **square})
    edge = plan.geometry.field
    for line in field.lines:
        ring: Inputs = {"border_mm": line.width_mm, "thickness_mm": thickness_mm}
        yield Piece(line.species, "line", ring_m3, {**sides(edge), **ring})
        edge = grow(edge, line.width_mm)
    yield from _tongue(plan, edge)
    yield from _frame(plan)
    yield from _under(plan)


def _tongue(plan: Plan, edge: Rect) -> Iterator[Piece]:
    """Half of a floating field's tongue on each of the two timbers at its edge."""
    order, tongue_mm = plan.order, plan.geometry.seat.added_mm
    if tongue_mm:
        shape: Inputs = {"deep_mm": tongue_mm, "high_mm": plan.geometry.tongue_thickness_mm}
        outermost = (order.field.lines[-1].species,) if order.field.lines else (order.field.light, order.field.dark)
        for species in outermost:
            yield Piece(species, "tongue", edging_m3, {**sides(edge), **shape}, 1 / len(outermost))


def _frame(plan: Plan) -> Iterator[Piece]:
    """Rails as a ring, less bevel and groove."""
    frame, found = plan.order.frame, plan.geometry
    if frame is None:
        return
    ring: Inputs = {"border_mm": frame.width_mm, "thickness_mm": frame.thickness_mm}
    yield Piece(frame.species, "rails", ring_m3, {**sides(found.opening), **ring})
    if frame.bevel_mm:
        yield Piece(frame.species, "bevel", bevel_m3, {**sides(found.overall), "bevel_mm": frame.bevel_mm}, -1.0)
    if found.seat.tongue_mm:
        shape: Inputs = {"deep_mm": found.seat.tongue_mm, "high_mm": found.tongue_thickness_mm}
        yield Piece(frame.species, "groove", edging_m3, {**sides(found.opening), **shape}, -1.0)


def _under(plan: Plan) -> Iterator[Piece]:
    """Skirt and backing."""
    base, found = plan.order.base, plan.geometry.base
    if base is None or found is None:
        return
    if base.skirt:
        ring: Inputs = {"border_mm": base.skirt.width_mm, "thickness_mm": base.thickness_mm}
        yield Piece(base.skirt.species, "skirt", ring_m3, {**sides(found.panel), **ring})
    if base.backing:
        block: Inputs = {"count": 1, **sides(found.outside), "thickness_mm": base.backing.thickness_mm}
        yield Piece(base.backing.species, "backing", block_m3, block)


def sides(rect: Rect) -> dict[str, float]:
    """Sides of a rectangle by the names of inputs. [mm]"""
    return {"length_mm": rect.length_mm, "width_mm": rect.width_mm}
