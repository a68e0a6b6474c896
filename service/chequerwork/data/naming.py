"""Names of timbers: keys, names and aliases under one folded spelling each, ready to be looked up."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from chequerwork.data import records
from chequerwork.data.reading import FactRow
from chequerwork.domain.basics.facts import Species, TimberName
from chequerwork.domain.basics.names import fold, words

# A German keyboard that lacks them writes these letters as two.
_GERMAN = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue"})


def names_of(rows: list[FactRow], species: Mapping[str, Species]) -> Mapping[str, tuple[TimberName, ...]]:
    """Everything that bears a name, by its folded spelling; keys first, then the file's order.

    A name on rows that do not stand together is a slip, not a name of several timbers.
    """
    table: dict[str, dict[tuple[str, str], TimberName]] = {}
    for name in _own(species):
        table.setdefault(name.folded, {})[name.species, name.language] = name
    before = ""
    for row in rows:
        name = records.alias(row, species)
        if name.species not in species:
            continue  # that alone is its fault
        for spelled in _spellings(name):
            owners = table.setdefault(spelled, {})
            _check(row, name, owners, beside=before == name.folded)
            if name.also or (name.species, name.language) not in owners:
                owners[name.species, name.language] = name
        before = name.folded
    return MappingProxyType({spelled: tuple(owners.values()) for spelled, owners in table.items() if spelled})


def called(
    names: Mapping[str, tuple[TimberName, ...]], species: Mapping[str, Species]
) -> Mapping[str, tuple[TimberName, ...]]:
    """Names of each timber in every language, as they are written; its key is none."""
    found: dict[str, dict[TimberName, None]] = {key: {} for key in species}
    for bearers in names.values():
        for name in bearers:
            if name.language != "key":
                found[name.species][name] = None
    return MappingProxyType({key: tuple(each) for key, each in found.items()})


def _own(species: Mapping[str, Species]) -> Iterator[TimberName]:
    """A timber's key, and its name without what stands in brackets behind it."""
    for key, each in species.items():
        for text, language in ((key, "key"), (each.name.partition("(")[0].strip(), "en")):
            yield TimberName(
                text=text,
                language=language,
                species=key,
                also=(),
                words=words(text),
                confidence=each.confidence,
                source=each.source,
            )


def _spellings(name: TimberName) -> Iterator[str]:
    yield name.folded
    if name.language == "de" and (typed := fold(name.text.translate(_GERMAN))) != name.folded:
        yield typed


def _check(row: FactRow, name: TimberName, owners: Mapping[tuple[str, str], TimberName], *, beside: bool) -> None:
    if not name.folded:
        row.fault("name", "bad-value", f"{name.text[:60]!r} has no letters. Write a name.")
    elif not name.also and (name.species, name.language) in owners:
        detail = f"{name.text[:60]!r} is here already for {name.species!r} in this language. Remove one row."
        row.fault("name", "duplicate-key", detail)
    elif owners and name.species not in {species for species, _ in owners} and not beside:
        means = " and ".join(dict.fromkeys(species for species, _ in owners))
        detail = f"{name.text[:60]!r} means {means!r} already. Remove this row, or put the rows of both together."
        row.fault("name", "duplicate-key", detail)
