"""The species table, whole or as far as a name or a shop leads: figures, where they differ, what people call each."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from chequerwork.api.component import (
    AnswerContext,
    Component,
    Keys,
    ReadFrom,
    choice,
    day,
    flag,
    many,
    maybe,
    number,
    one,
    other,
    text,
    texts,
)
from chequerwork.api.sections.trees import Tree
from chequerwork.domain.basics.facts import CitesListing, Coverage, Species, Tables
from chequerwork.domain.basics.names import LANGUAGES, TimberMatch, also_said_of, find, is_shared
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.wood.timber import moduli

_PER_PCT: Final = "Fraction per 1 % of moisture content, within 6 to 14 %."


@dataclass(frozen=True, slots=True, kw_only=True)
class TimbersContext(AnswerContext):
    """How timbers are written: what was asked, and where it is found."""

    tables: Tables
    name: str | None
    shop: Shop | None


class _Named(NamedTuple):
    species: Species
    meant: TimberMatch | None


def _worked(found: Mapping[str, TimberMatch | None], to: TimbersContext) -> list[_Named]:
    return [
        _Named(to.tables.species[key], meant)
        for key, meant in found.items()
        if to.shop is None or key in to.shop.lumber
    ]


def _also(_: Any, to: TimbersContext) -> tuple[str, ...]:
    return tuple(also_said_of(to.name, to.tables)) if to.name is not None else ()


def _listing(timber: _Named, to: TimbersContext) -> CitesListing | None:
    return to.tables.listing_of(timber.species.key)


def _grain(timber: _Named, to: TimbersContext) -> str | None:
    return to.shop.lumber[timber.species.key].grain if to.shop else None


def _own(timber: _Named, to: TimbersContext) -> dict[str, list[str]]:
    """Names of this timber alone, by language."""
    own: dict[str, list[str]] = {language: [] for language in LANGUAGES}
    for name in to.tables.called[timber.species.key]:
        if not is_shared(name, to.tables):
            own[name.language].append(name.text)
    return own


def _shared(timber: _Named, to: TimbersContext) -> dict[str, None]:
    called = to.tables.called[timber.species.key]
    return dict.fromkeys(name.text for name in called if is_shared(name, to.tables))


def _of_language(language: str) -> ReadFrom:
    return lambda names, _: names[language]


def _modulus(name: str, about: str = "") -> Keys:
    return other(name, {"type": "number"}, about, write=lambda modulus, _: round(modulus))


SECOND_COEFFICIENTS: Final = Component(
    "SecondCoefficients",
    number("radial_per_pct", of="c_radial"),
    number("tangential_per_pct", of="c_tangential"),
    text("basis", "published, or shrinkage where the total shrinkage implies them."),
    texts("sources", of=lambda second, _: second.source.split("; ")),
)
MODULI: Final = Component(
    "Moduli",
    _modulus("along_mpa", "Bending value."),
    _modulus("tangential_mpa"),
    _modulus("radial_mpa"),
    flag("estimated", "Whether one of them follows from density or a mean ratio."),
)
TIMBER_LISTING: Final = Component(
    "TimberListing",
    text("taxon"),
    text("appendix"),
    text("annotation"),
    text("populations", "Which of the taxon's are listed."),
    text("parts_covered"),
    choice("finished_board", Coverage, "Whether a finished board is covered: always, never, or above the limit."),
    maybe(number("limit_kg", "Of listed wood, up to which finished products are exempt; null where there is none.")),
    maybe(day("applies_from", "First day of the listing; null where it is not known.", "period.first")),
    flag("verified", "Every statement was read in its source; false where any is from memory."),
)
TIMBER_CONFIDENCES: Final = Component(
    "TimberConfidences",
    text("density"),
    text("shrinkage"),
    text("coefficients"),
    text("hardness"),
    text("listing"),
    text("dust"),
)
TIMBER_NAMES: Final = Component("TimberNames", *(texts(language, of=_of_language(language)) for language in LANGUAGES))
TIMBER_RECORD: Final = Component(
    "TimberRecord",
    text("key", "As an order names it.", "species.key"),
    text("name", of="species.name"),
    text("botanical", of="species.botanical"),
    maybe(
        text(
            "match",
            "exact or near; null where no name was asked.",
            lambda timber, _: timber.meant and timber.meant.match,
        )
    ),
    maybe(
        text(
            "matched",
            "The name of the table that was found.",
            lambda timber, _: timber.meant and timber.meant.name.text,
        )
    ),
    number("density_kg_m3", "At 12 % moisture content.", "species.density_kg_m3"),
    number("c_radial_per_pct", _PER_PCT, "species.c_radial"),
    number("c_tangential_per_pct", _PER_PCT, "species.c_tangential"),
    maybe(
        one("second_coefficients", SECOND_COEFFICIENTS, "Where sources differ: never computed with.", "species.second")
    ),
    number("shrink_radial_pct", "Green to oven-dry.", "species.shrink_radial_pct"),
    number("shrink_tangential_pct", "Green to oven-dry.", "species.shrink_tangential_pct"),
    number("hardness_n", "Side hardness.", "species.hardness_n"),
    one("moduli", MODULI, of=lambda timber, _: moduli(timber.species)),
    text("colour", "Preview tone, #rrggbb.", "species.colour"),
    text("dust", "What is reported of its dust; a silence is no proof of safety.", "species.dust"),
    maybe(one("listing", TIMBER_LISTING, "In the appendices of CITES, as far as was read.", _listing)),
    flag("oily", of="species.oily"),
    maybe(text("grain", "How the asked shop buys it: flat, quarter or mixed.", _grain)),
    text(
        "confidence",
        "Of density and coefficients: verified-in-text, derived, from-memory or house.",
        "species.confidence",
    ),
    one("confidences", TIMBER_CONFIDENCES, "Of each group of figures.", "species.confidences"),
    text("note", of="species.note"),
    texts("sources", "Ids of the source list.", lambda timber, _: timber.species.source.split("; ")),
    one("names", TIMBER_NAMES, "Names of this timber alone, by language (ISO 639-1), and botanical ones.", _own),
    texts("shared_names", "Names that other timbers bear too.", _shared),
)
TIMBERS: Final = Component(
    "Timbers",
    text("tables_version", "Version of the fact tables behind every number.", lambda _, to: to.tables.version),
    maybe(text("asked", "The name asked.", lambda _, to: to.name)),
    maybe(text("shop", "The shop asked.", lambda _, to: to.shop and to.shop.id)),
    texts("also", "Botanical names of timbers not in the table that bear the asked name too.", _also),
    many("timbers", TIMBER_RECORD, "Best match first; without a name, in the table's order.", _worked),
)

COMPONENTS: Final = (
    SECOND_COEFFICIENTS,
    MODULI,
    TIMBER_LISTING,
    TIMBER_CONFIDENCES,
    TIMBER_NAMES,
    TIMBER_RECORD,
    TIMBERS,
)


def timbers(tables: Tables, *, name: str | None, shop: Shop | None) -> Tree:
    """The timbers that a name may mean and a shop works; without either, all.

    Parameters
    ----------
    tables
        The fact tables.
    name
        What a timber is called; None asks for all.
    shop
        Whose lumber to look at; None looks at the whole table.
    """
    found: Mapping[str, TimberMatch | None] = dict.fromkeys(tables.species)
    if name is not None:
        found = {meant.species: meant for meant in find(name, tables)}
    return TIMBERS.write(found, TimbersContext(tables=tables, name=name, shop=shop))
