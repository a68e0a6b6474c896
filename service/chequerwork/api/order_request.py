"""A complete order in the words of a request: what may be sent as it stands, as a body or as a flat query."""

from typing import Any, Final
from urllib.parse import urlencode

from chequerwork.api.sections.trees import Tree
from chequerwork.domain.order.order import Base, ChessPieces, Frame, Order, Pieces
from chequerwork.quantities import format_length, parse_length

_DIGITS: Final = 15  # after the point: more than any sum of lengths can show


def as_request(order: Order) -> Tree:
    """The body that asks for just this order, every gap filled."""
    tree: dict[str, Any] = {
        "shop": order.shop,
        "columns": order.field.columns,
        "rows": order.field.rows,
        "game": order.play.game,
        "square": length(order.field.square_mm, order.units),
        "pieces": _pieces(order.play.pieces, order.units) if order.play.pieces else None,
        "light": order.field.light,
        "dark": order.field.dark,
        "grain": {"light": order.field.light_grain, "dark": order.field.dark_grain},
        "thickness": length(order.field.thickness_mm, order.units),
        "pattern": order.field.pattern,
        "lines": [{"species": line.species, "width": length(line.width_mm, order.units)} for line in order.field.lines],
        "frame": _frame(order.frame, order.units) if order.frame else None,
        "base": _base(order.base, order.units) if order.base else None,
        "feet": order.feet,
        "finish": order.surface.finish,
        "sanding": {"top": order.surface.sand_top, "underside": order.surface.sand_underside},
        "climate": _given(
            room=order.climate.room,
            low_rh=order.climate.low_rh_pct,
            high_rh=order.climate.high_rh_pct,
            temperature=f"{_plain(order.climate.temperature_c)} C",
        ),
        "corners": {
            "within": length(order.corners.within_mm, "metric"),
            "confidence": order.corners.confidence_pct,
        },
        "quantity": order.sale.quantity,
        "issued_on": order.dates.issued_on.isoformat(),
        "starts_on": order.dates.starts_on.isoformat(),
        "wanted_by": order.dates.wanted_by.isoformat() if order.dates.wanted_by else None,
        "ship_to": order.sale.ship_to,
        "channel": order.sale.channel,
        "payment": order.sale.payment,
        "currency": order.sale.currency,
        "units": order.units,
    }
    return _given(**tree)


def as_query(tree: Tree) -> str:
    """The same as a query string."""
    return urlencode(list(_flat(tree, "")))


def _flat(tree: Tree, prefix: str) -> Any:
    for name, value in tree.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{prefix}{name}.")
        elif name == "lines":
            if value:
                yield "lines", ";".join(f"{line['species']}:{line['width']}" for line in value)
        else:
            yield f"{prefix}{name}", _plain(value) if isinstance(value, float) else value


def length(mm: float, units: str) -> str:
    """A length [mm] that is read again as just the same: in inches where they say it exactly."""
    told = format_length(mm, units)
    return told if parse_length(told) == mm else f"{_plain(mm)} mm"


def _plain(number: float) -> str:
    """A number in its shortest form, without exponent."""
    text = repr(number)
    return (f"{number:.{_DIGITS}f}" if "e" in text else text).removesuffix(".0")


def _given(**fields: Any) -> Tree:
    return {name: value for name, value in fields.items() if value is not None}


def _pieces(pieces: Pieces, units: str) -> Tree:
    if not isinstance(pieces, ChessPieces):
        return {"man": length(pieces.man_mm, units)}
    sizes = {"king_base": pieces.king_base_mm, "king_height": pieces.king_height_mm, "pawn_base": pieces.pawn_base_mm}
    told: Tree = {name: length(size_mm, units) for name, size_mm in sizes.items() if size_mm is not None}
    return {**told, **_given(fill_ratio=pieces.fill_ratio)}


def _frame(frame: Frame, units: str) -> Tree:
    return _given(
        joint=frame.joint,
        hold=frame.hold,
        species=frame.species,
        width=length(frame.width_mm, units),
        thickness=length(frame.thickness_mm, units),
        bevel=length(frame.bevel_mm, units),
        grain=frame.grain,
        edge=frame.edge,
    )


def _base(base: Base, units: str) -> Tree:
    skirt, backing = base.skirt, base.backing
    return _given(
        material=base.material,
        thickness=length(base.thickness_mm, units),
        inset=length(base.inset_mm, units),
        skirt={"species": skirt.species, "width": length(skirt.width_mm, units)} if skirt else None,
        backing=_given(species=backing.species, thickness=length(backing.thickness_mm, units), grain=backing.grain)
        if backing
        else None,
    )
