"""The completed order as a tree: every gap filled, in canonical units."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import day, kind, many, maybe_one, maybe_text, num, one, text, whole
from chequerwork.api.sections.trees import Fields, Tree, mm
from chequerwork.domain.order.order import ChessPieces, DraughtsMan, Order
from chequerwork.quantities import format_length, format_temperature

SHAPES: Final[Mapping[str, Fields]] = {
    "CompleteLine": {"species": text(), "width_mm": num(), "width_text": text()},
    "CompleteFrame": {
        "joint": text(),
        "hold": text(),
        "species": text(),
        "width_mm": num(),
        "width_text": text(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "bevel_mm": num(),
        "bevel_text": text(),
        "grain": text(),
        "edge": text("tongue or lip."),
    },
    "CompleteBacking": {"species": text(), "thickness_mm": num(), "thickness_text": text(), "grain": text()},
    "CompleteGrain": {"light": text("flat, quarter or mixed."), "dark": text()},
    "CompleteBase": {
        "material": text(),
        "thickness_mm": num(),
        "thickness_text": text(),
        "inset_mm": num(),
        "inset_text": text(),
        "skirt": maybe_one("CompleteLine"),
        "backing": maybe_one("CompleteBacking"),
    },
    "CompleteSanding": {"top": text(), "underside": text()},
    "CompleteClimate": {
        "room": maybe_text("Kind of room that filled what was left out; null where none was named."),
        "low_rh_pct": num(),
        "high_rh_pct": num(),
        "temperature_c": num(),
        "temperature_text": text(),
    },
    "CompleteCorners": {"within_mm": num(), "confidence_pct": num()},
    "CompleteOrder": {
        "shop": text(),
        "columns": whole(),
        "rows": whole(),
        "game": maybe_text(),
        "square_mm": num(),
        "square_text": text(),
        "pieces": kind(["object", "null"], "As asked: king_base_mm and the like, or man_mm."),
        "light": text(),
        "dark": text(),
        "grain": one("CompleteGrain"),
        "thickness_mm": num(),
        "thickness_text": text(),
        "pattern": text(),
        "lines": many("CompleteLine"),
        "frame": maybe_one("CompleteFrame"),
        "base": maybe_one("CompleteBase"),
        "feet": whole(),
        "finish": text(),
        "sanding": one("CompleteSanding"),
        "climate": one("CompleteClimate"),
        "corners": one("CompleteCorners"),
        "quantity": whole(),
        "issued_on": day(),
        "starts_on": day(),
        "wanted_by": kind(["string", "null"], "", format="date"),
        "ship_to": text(),
        "channel": text(),
        "payment": maybe_text("Way to pay; null where the shop names none."),
        "currency": text("Of the price."),
        "units": text(),
    },
}


def order(placed: Order) -> Tree:
    """The completed order, in canonical units."""
    tree: Tree = {
        "shop": placed.shop,
        "columns": placed.field.columns,
        "rows": placed.field.rows,
        "game": placed.play.game,
        **_both("square", placed.field.square_mm, placed),
        "pieces": _pieces(placed),
        "light": placed.field.light,
        "dark": placed.field.dark,
        "grain": {"light": placed.field.light_grain, "dark": placed.field.dark_grain},
        **_both("thickness", placed.field.thickness_mm, placed),
        "pattern": placed.field.pattern,
        "lines": [{"species": line.species, **_both("width", line.width_mm, placed)} for line in placed.field.lines],
        "frame": _frame(placed),
        "base": _base(placed),
        "feet": placed.feet,
        "finish": placed.surface.finish,
        "sanding": {"top": placed.surface.sand_top, "underside": placed.surface.sand_underside},
        "climate": {
            "room": placed.climate.room,
            "low_rh_pct": placed.climate.low_rh_pct,
            "high_rh_pct": placed.climate.high_rh_pct,
            "temperature_c": round(placed.climate.temperature_c, 2),
            "temperature_text": format_temperature(placed.climate.temperature_c, placed.units),
        },
        # Without a text: a tenth of a millimetre or 1/32 in is too coarse to say it.
        "corners": {"within_mm": mm(placed.corners.within_mm), "confidence_pct": placed.corners.confidence_pct},
        "quantity": placed.sale.quantity,
        "issued_on": placed.dates.issued_on.isoformat(),
        "starts_on": placed.dates.starts_on.isoformat(),
        "wanted_by": placed.dates.wanted_by.isoformat() if placed.dates.wanted_by else None,
        "ship_to": placed.sale.ship_to,
        "channel": placed.sale.channel,
        "payment": placed.sale.payment,
        "currency": placed.sale.currency,
        "units": placed.units,
    }
    return tree


def _pieces(placed: Order) -> Tree | None:
    pieces = placed.play.pieces
    if isinstance(pieces, DraughtsMan):
        return {"man_mm": mm(pieces.man_mm)}
    if isinstance(pieces, ChessPieces):
        return {
            "king_base_mm": mm(pieces.king_base_mm),
            "pawn_base_mm": mm(pieces.pawn_base_mm),
            "king_height_mm": mm(pieces.king_height_mm),
            "fill_ratio": pieces.fill_ratio,
        }
    return None


def _frame(placed: Order) -> Tree | None:
    frame = placed.frame
    if frame is None:
        return None
    return {
        "joint": frame.joint,
        "hold": frame.hold,
        "species": frame.species,
        **_both("width", frame.width_mm, placed),
        **_both("thickness", frame.thickness_mm, placed),
        **_both("bevel", frame.bevel_mm, placed),
        "grain": frame.grain,
        "edge": frame.edge,
    }


def _base(placed: Order) -> Tree | None:
    base = placed.base
    if base is None:
        return None
    skirt, backing = base.skirt, base.backing
    return {
        "material": base.material,
        **_both("thickness", base.thickness_mm, placed),
        **_both("inset", base.inset_mm, placed),
        "skirt": {"species": skirt.species, **_both("width", skirt.width_mm, placed)} if skirt else None,
        "backing": {
            "species": backing.species,
            **_both("thickness", backing.thickness_mm, placed),
            "grain": backing.grain,
        }
        if backing
        else None,
    }


def _both(name: str, length_mm: float, placed: Order) -> Tree:
    """A length as a number and as people read it."""
    return {f"{name}_mm": mm(length_mm), f"{name}_text": format_length(length_mm, placed.units)}
