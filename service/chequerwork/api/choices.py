"""What a shop offers: everything an order form needs, and nothing about its costs or stock."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, many, maybe_text, num, one, text, whole
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.basics.facts import Room, Tables
from chequerwork.domain.basics.shop import Shop, Span
from chequerwork.domain.order.order import Pattern
from chequerwork.quantities import format_length, format_temperature

SHAPES: Final[Mapping[str, Fields]] = {
    "TimberChoice": {
        "key": text(),
        "name": text(),
        "botanical": text(),
        "colour": text("Preview tone, #rrggbb."),
        "hardness_n": num("Side hardness."),
        "listed": kind("boolean", "Whether the timber is listed by CITES."),
    },
    "FinishChoice": {"key": text(), "name": text(), "sheen": text()},
    "NamedChoice": {"key": text(), "name": text()},
    "GameChoice": {"key": text(), "name": text(), "columns": whole(), "rows": whole()},
    "SheetChoice": {"material": text(), "thickness_mm": num(), "thickness_text": text()},
    "Range": {"low_mm": num(), "high_mm": num(), "text": text()},
    "Ranges": {
        "square": one("Range"),
        "thickness": one("Range"),
        "frame_width": one("Range"),
        "line_width": one("Range"),
        "backing": one("Range"),
        "outside_mm": num("Longest outside edge."),
        "quantity": whole(),
    },
    "RoomChoice": {
        "key": text(),
        "title": text(),
        "low_rh_pct": num("Relative humidity of the driest season."),
        "high_rh_pct": num("Of the dampest."),
        "temperature_c": num(),
        "temperature_text": text(),
        "confidence": text("verified-in-text, derived, from-memory or house."),
    },
    "ClimateChoice": {"low_rh_pct": num(), "high_rh_pct": num(), "temperature_c": num()},
    "DefaultChoices": {
        "thickness_mm": num(),
        "pattern": text(),
        "finish": text(),
        "channel": text(),
        "payment": maybe_text("Null where the shop names no ways to pay, or the channel decides."),
        "ship_to": text(),
        "units": text(),
        "climate": one("ClimateChoice"),
    },
    "Choices": {
        "shop": text(),
        "name": text(),
        "demo": kind("boolean", ""),
        "currency": text(),
        "currencies": kind(
            "array", "ISO 4217 codes that a price may be in, the shop's own first.", items={"type": "string"}
        ),
        "timbers": many("TimberChoice"),
        "finishes": many("FinishChoice"),
        "games": many("GameChoice"),
        "channels": many("NamedChoice"),
        "payments": many("NamedChoice", "Ways to pay; none where the shop names none."),
        "sheets": many("SheetChoice"),
        "rooms": many("RoomChoice", "Kinds of rooms, for climate.room."),
        "grades": kind("array", "FEPA grades for sanding, coarse to fine.", items={"type": "string"}),
        "patterns": kind("array", "", items={"type": "string"}),
        "destinations": kind("array", "ISO 3166 codes; * where the shop sends anywhere.", items={"type": "string"}),
        "ranges": one("Ranges"),
        "defaults": one("DefaultChoices"),
        "shops": many("NamedChoice", "Every shop served here."),
    },
}


def choices(shop: Shop, tables: Tables, served: dict[str, str]) -> Tree:
    """Choices of one shop.

    Parameters
    ----------
    shop, tables
        The shop and the fact tables.
    served
        Id and name of every shop of this service.
    """
    defaults, units = shop.defaults, shop.defaults.units
    return {
        "shop": shop.id,
        "name": shop.name,
        "demo": shop.demo,
        "currency": shop.currency,
        "currencies": [shop.currency, *(shop.exchange.rates if shop.exchange else ())],
        "timbers": [_timber(key, tables) for key in shop.lumber],
        "finishes": [
            {"key": key, "name": tables.finishes[key].name, "sheen": tables.finishes[key].sheen}
            for key in shop.finishes
        ],
        "games": [
            {"key": game.key, "name": game.title, "columns": game.columns, "rows": game.rows}
            for game in tables.games.values()
        ],
        "channels": [{"key": channel.key, "name": channel.name} for channel in shop.channels.values()],
        "payments": [{"key": payment.key, "name": payment.name} for payment in shop.payments.values()],
        "sheets": [
            {
                "material": stock.material,
                "thickness_mm": stock.thickness_mm,
                "thickness_text": format_length(stock.thickness_mm, units),
            }
            for stock in shop.sheets
        ],
        "rooms": [_room(room, units) for room in tables.rooms.values()],
        "grades": list(tables.abrasives),
        "patterns": [str(pattern) for pattern in Pattern],
        "destinations": _destinations(shop),
        "ranges": {
            "square": _range(shop.ranges.square, units),
            "thickness": _range(shop.ranges.thickness, units),
            "frame_width": _range(shop.ranges.frame_width, units),
            "line_width": _range(shop.ranges.line_width, units),
            "backing": _range(shop.ranges.backing, units),
            "outside_mm": round(shop.ranges.outside_mm, 3),
            "quantity": shop.ranges.quantity,
        },
        "defaults": {
            "thickness_mm": round(defaults.thickness_mm, 3),
            "pattern": defaults.pattern,
            "finish": defaults.finish,
            "channel": defaults.channel,
            "payment": defaults.payment,
            "ship_to": shop.country,
            "units": units,
            "climate": {
                "low_rh_pct": defaults.climate.low_rh_pct,
                "high_rh_pct": defaults.climate.high_rh_pct,
                "temperature_c": round(defaults.climate.temperature_c, 2),
            },
        },
        "shops": [{"key": key, "name": name} for key, name in served.items()],
    }


def _timber(key: str, tables: Tables) -> Tree:
    species = tables.species[key]
    return {
        "key": key,
        "name": species.name,
        "botanical": species.botanical,
        "colour": species.colour,
        "hardness_n": species.hardness_n,
        "listed": species.cites_taxon is not None,
    }


def _room(room: Room, units: str) -> Tree:
    return {
        "key": room.key,
        "title": room.title,
        "low_rh_pct": room.low_rh_pct,
        "high_rh_pct": room.high_rh_pct,
        "temperature_c": room.temperature_c,
        "temperature_text": format_temperature(room.temperature_c, units),
        "confidence": room.confidence,
    }


def _destinations(shop: Shop) -> list[str]:
    if any(not zone.countries for zone in shop.zones):
        return ["*"]
    return sorted(frozenset().union(*(zone.countries for zone in shop.zones)))


def _range(span: Span, units: str) -> Tree:
    words = f"{format_length(span.low_mm, units)} to {format_length(span.high_mm, units)}"
    return {"low_mm": round(span.low_mm, 6), "high_mm": round(span.high_mm, 6), "text": words}
