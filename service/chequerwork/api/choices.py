"""What a shop offers: everything an order form needs, and nothing about its costs or stock."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

from chequerwork.api.component import (
    AnswerContext,
    Component,
    flag,
    itself,
    many,
    maybe,
    measure,
    number,
    one,
    size,
    text,
    texts,
    whole,
)
from chequerwork.api.sections.trees import Tree
from chequerwork.domain.basics.facts import Finish, Species, Tables
from chequerwork.domain.basics.shop import Shop, Span
from chequerwork.domain.order.order import Pattern
from chequerwork.quantities import format_length, format_temperature


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopContext(AnswerContext):
    """How a shop's choices are written: with the tables that know more of them, and all shops by id and name."""

    tables: Tables
    served: Mapping[str, str]


class _Named(NamedTuple):
    key: str
    name: str


def _shops(_: Shop, to: ShopContext) -> list[_Named]:
    return [_Named(*served) for served in to.served.items()]


def _timbers(shop: Shop, to: ShopContext) -> list[Species]:
    return [to.tables.species[key] for key in shop.lumber]


def _finishes(shop: Shop, to: ShopContext) -> list[Finish]:
    return [to.tables.finishes[key] for key in shop.finishes]


def _currencies(shop: Shop, _: ShopContext) -> list[str]:
    return [shop.currency, *(shop.exchange.rates if shop.exchange else ())]


def _destinations(shop: Shop, _: ShopContext) -> list[str]:
    if any(not zone.countries for zone in shop.zones):
        return ["*"]
    return sorted(frozenset().union(*(zone.countries for zone in shop.zones)))


def _from_to(span: Span, to: ShopContext) -> str:
    return f"{format_length(span.low_mm, to.units)} to {format_length(span.high_mm, to.units)}"


TIMBER_CHOICE: Final = Component(
    "TimberChoice",
    text("key"),
    text("name"),
    text("botanical"),
    text("colour", "Preview tone, #rrggbb."),
    number("hardness_n", "Side hardness."),
    flag("listed", "Whether the timber is listed by CITES.", lambda species, _: species.cites_taxon is not None),
)
FINISH_CHOICE: Final = Component("FinishChoice", text("key"), text("name"), text("sheen"))
NAMED_CHOICE: Final = Component("NamedChoice", text("key"), text("name"))
GAME_CHOICE: Final = Component("GameChoice", text("key"), text("name", of="title"), whole("columns"), whole("rows"))
SHEET_CHOICE: Final = Component(
    "SheetChoice", text("material"), measure("thickness", "mm", "", None, decimals=None, text=format_length)
)
RANGE: Final = Component(
    "Range", number("low_mm", decimals=6), number("high_mm", decimals=6), text("text", of=_from_to)
)
RANGES: Final = Component(
    "Ranges",
    one("square", RANGE),
    one("thickness", RANGE),
    one("frame_width", RANGE),
    one("line_width", RANGE),
    one("backing", RANGE),
    size("outside_mm", "Longest outside edge."),
    whole("quantity"),
)
ROOM_CHOICE: Final = Component(
    "RoomChoice",
    text("key"),
    text("title"),
    number("low_rh_pct", "Relative humidity of the driest season."),
    number("high_rh_pct", "Of the dampest."),
    measure("temperature", "c", "", None, decimals=None, text=format_temperature),
    text("confidence", "verified-in-text, derived, from-memory or house."),
)
CLIMATE_CHOICE: Final = Component(
    "ClimateChoice", number("low_rh_pct"), number("high_rh_pct"), number("temperature_c", decimals=2)
)
DEFAULT_CHOICES: Final = Component(
    "DefaultChoices",
    size("thickness_mm", of="defaults.thickness_mm"),
    text("pattern", of="defaults.pattern"),
    text("finish", of="defaults.finish"),
    text("channel", of="defaults.channel"),
    maybe(text("payment", "Null where the shop names no ways to pay, or the channel decides.", "defaults.payment")),
    text("ship_to", of="country"),
    text("units", of="defaults.units"),
    one("climate", CLIMATE_CHOICE, of="defaults.climate"),
)
CHOICES: Final = Component(
    "Choices",
    text("shop", of="id"),
    text("name"),
    flag("demo"),
    text("currency"),
    texts("currencies", "ISO 4217 codes that a price may be in, the shop's own first.", _currencies),
    many("timbers", TIMBER_CHOICE, of=_timbers),
    many("finishes", FINISH_CHOICE, of=_finishes),
    many("games", GAME_CHOICE, of=lambda _, to: to.tables.games.values()),
    many("channels", NAMED_CHOICE, of=lambda shop, _: shop.channels.values()),
    many(
        "payments", NAMED_CHOICE, "Ways to pay; none where the shop names none.", lambda shop, _: shop.payments.values()
    ),
    many("sheets", SHEET_CHOICE),
    many("rooms", ROOM_CHOICE, "Kinds of rooms, for climate.room.", lambda _, to: to.tables.rooms.values()),
    texts("grades", "FEPA grades for sanding, coarse to fine.", lambda _, to: to.tables.abrasives),
    texts("patterns", of=lambda *_: map(str, Pattern)),
    texts("destinations", "ISO 3166 codes; * where the shop sends anywhere.", _destinations),
    one("ranges", RANGES),
    one("defaults", DEFAULT_CHOICES, of=itself),
    many("shops", NAMED_CHOICE, "Every shop served here.", _shops),
)

COMPONENTS: Final = (
    TIMBER_CHOICE,
    FINISH_CHOICE,
    NAMED_CHOICE,
    GAME_CHOICE,
    SHEET_CHOICE,
    RANGE,
    RANGES,
    ROOM_CHOICE,
    CLIMATE_CHOICE,
    DEFAULT_CHOICES,
    CHOICES,
)


def choices(shop: Shop, tables: Tables, served: dict[str, str]) -> Tree:
    """Choices of one shop.

    Parameters
    ----------
    shop, tables
        The shop and the fact tables.
    served
        Id and name of every shop of this service.
    """
    return CHOICES.write(shop, ShopContext(units=shop.defaults.units, tables=tables, served=served))
