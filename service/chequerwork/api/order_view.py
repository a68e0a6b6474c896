"""The completed order as it is shown: every gap filled, in canonical units."""

from typing import Final

from chequerwork.api.component import (
    AnswerContext,
    Component,
    day,
    length,
    many,
    maybe,
    number,
    one,
    other,
    size,
    temperature,
    text,
    whole,
)
from chequerwork.api.sections.trees import Tree
from chequerwork.domain.order.order import ChessPieces, DraughtsMan, Order


def order(placed: Order) -> Tree:
    """The completed order, in canonical units."""
    return ORDER.write(placed, AnswerContext(units=placed.units))


CHESS_PIECES: Final = Component(
    "CompleteChessPieces", size("king_base_mm"), size("pawn_base_mm"), size("king_height_mm"), number("fill_ratio")
)
DRAUGHTS_MAN: Final = Component("CompleteDraughtsMan", size("man_mm"))


def _pieces(pieces: ChessPieces | DraughtsMan, to: AnswerContext) -> Tree:
    return (CHESS_PIECES if isinstance(pieces, ChessPieces) else DRAUGHTS_MAN).write(pieces, to)


LINE: Final = Component("CompleteLine", text("species"), length("width"))
FRAME: Final = Component(
    "CompleteFrame",
    text("joint"),
    text("hold"),
    text("species"),
    length("width"),
    length("thickness"),
    length("bevel"),
    text("grain"),
    text("edge", "tongue or lip."),
)
BACKING: Final = Component("CompleteBacking", text("species"), length("thickness"), text("grain"))
GRAIN: Final = Component(
    "CompleteGrain", text("light", "flat, quarter or mixed.", "light_grain"), text("dark", of="dark_grain")
)
BASE: Final = Component(
    "CompleteBase",
    text("material"),
    length("thickness"),
    length("inset"),
    maybe(one("skirt", LINE)),
    maybe(one("backing", BACKING)),
)
SANDING: Final = Component("CompleteSanding", text("top", of="sand_top"), text("underside", of="sand_underside"))
CLIMATE: Final = Component(
    "CompleteClimate",
    maybe(text("room", "Kind of room that filled what was left out; null where none was named.")),
    number("low_rh_pct"),
    number("high_rh_pct"),
    temperature("temperature"),
)
# Without a text: a tenth of a millimetre or 1/32 in is too coarse to say it.
CORNERS: Final = Component("CompleteCorners", size("within_mm"), number("confidence_pct"))
ORDER: Final = Component(
    "CompleteOrder",
    text("shop"),
    whole("columns", of="field.columns"),
    whole("rows", of="field.rows"),
    maybe(text("game", of="play.game")),
    length("square", of="field.square_mm"),
    maybe(
        other(
            "pieces",
            {"type": "object"},
            "As asked: king_base_mm and the like, or man_mm.",
            "play.pieces",
            write=_pieces,
        )
    ),
    text("light", of="field.light"),
    text("dark", of="field.dark"),
    one("grain", GRAIN, of="field"),
    length("thickness", of="field.thickness_mm"),
    text("pattern", of="field.pattern"),
    many("lines", LINE, of="field.lines"),
    maybe(one("frame", FRAME)),
    maybe(one("base", BASE)),
    whole("feet"),
    text("finish", of="surface.finish"),
    one("sanding", SANDING, of="surface"),
    one("climate", CLIMATE),
    one("corners", CORNERS),
    whole("quantity", of="sale.quantity"),
    day("issued_on", of="dates.issued_on"),
    day("starts_on", of="dates.starts_on"),
    maybe(day("wanted_by", of="dates.wanted_by")),
    text("ship_to", of="sale.ship_to"),
    text("channel", of="sale.channel"),
    maybe(text("payment", "Way to pay; null where the shop names none.", "sale.payment")),
    text("currency", "Of the price.", "sale.currency"),
    text("units"),
)

COMPONENTS: Final = (LINE, FRAME, BACKING, GRAIN, BASE, SANDING, CLIMATE, CORNERS, ORDER)
