"""The species table, whole or as far as a name or a shop leads: figures, where they differ, what people call each."""

from collections.abc import Iterator, Mapping
from typing import Final

from chequerwork.api.answer_fields import kind, many, maybe_day, maybe_num, maybe_one, maybe_text, num, one, text
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.basics.facts import Coverage, SecondCoefficients, Species, Tables
from chequerwork.domain.basics.names import LANGUAGES, Meant, also_said_of, find, is_shared
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.wood.timber import moduli

_TEXTS: Final = {"type": "string"}
_PER_PCT: Final = "Fraction per 1 % of moisture content, within 6 to 14 %."

SHAPES: Final[Mapping[str, Fields]] = {
    "SecondCoefficients": {
        "radial_per_pct": num(),
        "tangential_per_pct": num(),
        "basis": text("published, or shrinkage where the total shrinkage implies them."),
        "sources": kind("array", "", items=_TEXTS),
    },
    "Moduli": {
        "along_mpa": num("Bending value."),
        "tangential_mpa": num(),
        "radial_mpa": num(),
        "estimated": kind("boolean", "Whether one of them follows from density or a mean ratio."),
    },
    "TimberListing": {
        "taxon": text(),
        "appendix": text(),
        "annotation": text(),
        "populations": text("Which of the taxon's are listed."),
        "parts_covered": text(),
        "finished_board": kind(
            "string", "Whether a finished board is covered: always, never, or above the limit.", enum=list(Coverage)
        ),
        "limit_kg": maybe_num("Of listed wood, up to which finished products are exempt; null where there is none."),
        "applies_from": maybe_day("First day of the listing; null where it is not known."),
        "verified": kind("boolean", "Every statement was read in its source; false where any is from memory."),
    },
    "TimberConfidences": {
        "density": text(),
        "shrinkage": text(),
        "coefficients": text(),
        "hardness": text(),
        "listing": text(),
        "dust": text(),
    },
    "TimberNames": {language: kind("array", "", items=_TEXTS) for language in LANGUAGES},
    "TimberRecord": {
        "key": text("As an order names it."),
        "name": text(),
        "botanical": text(),
        "match": maybe_text("exact or near; null where no name was asked."),
        "matched": maybe_text("The name of the table that was found."),
        "density_kg_m3": num("At 12 % moisture content."),
        "c_radial_per_pct": num(_PER_PCT),
        "c_tangential_per_pct": num(_PER_PCT),
        "second_coefficients": maybe_one("SecondCoefficients", "Where sources differ: never computed with."),
        "shrink_radial_pct": num("Green to oven-dry."),
        "shrink_tangential_pct": num("Green to oven-dry."),
        "hardness_n": num("Side hardness."),
        "moduli": one("Moduli"),
        "colour": text("Preview tone, #rrggbb."),
        "dust": text("What is reported of its dust; a silence is no proof of safety."),
        "listing": maybe_one("TimberListing", "In the appendices of CITES, as far as was read."),
        "oily": kind("boolean", ""),
        "grain": maybe_text("How the asked shop buys it: flat, quarter or mixed."),
        "confidence": text("Of density and coefficients: verified-in-text, derived, from-memory or house."),
        "confidences": one("TimberConfidences", "Of each group of figures."),
        "note": text(),
        "sources": kind("array", "Ids of the source list.", items=_TEXTS),
        "names": one("TimberNames", "Names of this timber alone, by language (ISO 639-1), and botanical ones."),
        "shared_names": kind("array", "Names that other timbers bear too.", items=_TEXTS),
    },
    "Timbers": {
        "tables_version": text("Version of the fact tables behind every number."),
        "asked": maybe_text("The name asked."),
        "shop": maybe_text("The shop asked."),
        "also": kind(
            "array", "Botanical names of timbers not in the table that bear the asked name too.", items=_TEXTS
        ),
        "timbers": many("TimberRecord", "Best match first; without a name, in the table's order."),
    },
}


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
    found: Mapping[str, Meant | None] = dict.fromkeys(tables.species)
    if name is not None:
        found = {meant.species: meant for meant in find(name, tables)}
    return {
        "tables_version": tables.version,
        "asked": name,
        "shop": shop.id if shop else None,
        "also": list(also_said_of(name, tables)) if name is not None else [],
        "timbers": [_timber(key, meant, tables, shop) for key, meant in _worked(found, shop)],
    }


def _worked(found: Mapping[str, Meant | None], shop: Shop | None) -> Iterator[tuple[str, Meant | None]]:
    return ((key, meant) for key, meant in found.items() if shop is None or key in shop.lumber)


def _timber(key: str, meant: Meant | None, tables: Tables, shop: Shop | None) -> Tree:
    species = tables.species[key]
    return {
        "key": key,
        "name": species.name,
        "botanical": species.botanical,
        "match": meant.match if meant else None,
        "matched": meant.name.text if meant else None,
        "density_kg_m3": species.density_kg_m3,
        "c_radial_per_pct": species.c_radial,
        "c_tangential_per_pct": species.c_tangential,
        "second_coefficients": _second(species.second),
        "shrink_radial_pct": species.shrink_radial_pct,
        "shrink_tangential_pct": species.shrink_tangential_pct,
        "hardness_n": species.hardness_n,
        "moduli": _moduli(species),
        "colour": species.colour,
        "dust": species.dust,
        "listing": _listing(species, tables),
        "oily": species.oily,
        "grain": shop.lumber[key].grain if shop else None,
        "confidence": species.confidence,
        "confidences": _confidences(species),
        "note": species.note,
        "sources": species.source.split("; "),
        **_names(key, tables),
    }


def _names(key: str, tables: Tables) -> Tree:
    own: dict[str, list[str]] = {language: [] for language in LANGUAGES}
    shared: list[str] = []
    for name in tables.called[key]:
        (shared if is_shared(name, tables) else own[name.language]).append(name.text)
    return {"names": own, "shared_names": list(dict.fromkeys(shared))}


def _second(second: SecondCoefficients | None) -> Tree | None:
    if second is None:
        return None
    return {
        "radial_per_pct": second.c_radial,
        "tangential_per_pct": second.c_tangential,
        "basis": second.basis,
        "sources": second.source.split("; "),
    }


def _moduli(species: Species) -> Tree:
    found = moduli(species)
    return {
        "along_mpa": round(found.along_mpa),
        "tangential_mpa": round(found.tangential_mpa),
        "radial_mpa": round(found.radial_mpa),
        "estimated": found.estimated,
    }


def _listing(species: Species, tables: Tables) -> Tree | None:
    listing = tables.listing_of(species.key)
    if listing is None:
        return None
    return {
        "taxon": listing.taxon,
        "appendix": listing.appendix,
        "annotation": listing.annotation,
        "populations": listing.populations,
        "parts_covered": listing.parts_covered,
        "finished_board": listing.finished_board,
        "limit_kg": listing.limit_kg,
        "applies_from": listing.period.first.isoformat() if listing.period.first else None,
        "verified": listing.verified,
    }


def _confidences(species: Species) -> Tree:
    found = species.confidences
    return {
        "density": found.density,
        "shrinkage": found.shrinkage,
        "coefficients": found.coefficients,
        "hardness": found.hardness,
        "listing": found.listing,
        "dust": found.dust,
    }
