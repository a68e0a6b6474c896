"""What people call a timber: the same name however it is written, near names, and names of more than one timber.

A trade name is a habit of one country. Botanical names settle what is meant, so every answer here carries them, and a
name that several timbers go by is never resolved in silence.
"""

import difflib
import unicodedata
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from chequerwork.domain.basics.errors import Fault, Path, unknown_name
from chequerwork.domain.basics.facts import Tables, TimberName

LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pl", "botanical")  # of the table of names
MOST_READ = 80  # characters of a name that are looked at; the longest in the table has half of them
MOST_NEAR = 6  # near timbers in one answer
LEAST_SEARCHED = 3  # letters below which everything is near
NEAR_ENOUGH = 0.8  # share of letters in common, house choice: one slip in a short name, two or three in a long one
# Letters that Unicode does not split into a plain one and an accent.
_PLAIN_LETTERS = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "æ": "ae", "œ": "oe", "ı": "i"})


class Match(StrEnum):
    """How a name was found."""

    EXACT = "exact"
    NEAR = "near"


@dataclass(frozen=True, slots=True, kw_only=True)
class TimberMatch:
    """A timber that a name may mean, and the name of the table by which it was found."""

    species: str
    name: TimberName
    match: Match


def words(text: str) -> tuple[str, ...]:
    """The words of a name in plain small letters: without accents, hyphens, apostrophes and case.

    At most ``MOST_READ`` characters are looked at.
    """
    split = unicodedata.normalize("NFKD", text[:MOST_READ]).casefold().translate(_PLAIN_LETTERS)
    plain = "".join(letter for letter in split if not unicodedata.combining(letter))
    return tuple("".join(letter if letter.isalnum() else " " for letter in plain).split())


def fold(text: str) -> str:
    """A name as it is compared: its words without the spaces between them."""
    return "".join(words(text))


def find(given: str, tables: Tables) -> tuple[TimberMatch, ...]:
    """Timbers that a name may mean: all that bear it, or where there is none, those with a near name, best first.

    Parameters
    ----------
    given
        A key, a trade name in any language of the table, or a botanical name.
    tables
        The fact tables.

    Returns
    -------
    tuple of Meant
        Each timber once. More than one exact match means that the name alone does not say which is meant.
    """
    exact = tables.names.get(fold(given), ())
    if exact:
        return tuple(_once(exact, Match.EXACT))
    return tuple(_once(_near(given, tables), Match.NEAR))[:MOST_NEAR]


def also_said_of(given: str, tables: Tables) -> tuple[str, ...]:
    """Botanical names of timbers that bear this name too and are not in the table."""
    return tuple(dict.fromkeys(other for name in tables.names.get(fold(given), ()) for other in name.also))


def is_shared(name: TimberName, tables: Tables) -> bool:
    """Whether other timbers bear a name of the table too, in it or outside."""
    bearers = tables.names[fold(name.text)]
    return any(each.species != name.species or each.also for each in bearers)


def unknown_timber(*, at: Path, given: str, tables: Tables, worked: Collection[str] | None = None) -> Fault:
    """Fault for a name that is no key of a timber: what it may mean, by key and botanical name.

    Parameters
    ----------
    at, given
        Where the name stands, and the name.
    tables
        The fact tables.
    worked
        Keys of the timbers that the shop works; None where no shop is asked.
    """
    meant = find(given, tables)
    also = also_said_of(given, tables)
    shown = repr(given[:60])
    if not meant:
        return unknown_name(at=at, what="timber", given=given, known=tables.species if worked is None else worked)
    choice = " or ".join(_told(each, tables, worked) for each in meant)
    if meant[0].match is Match.NEAR:
        detail = f"There is no timber named {shown} here. Did you mean {choice}?{_offer(meant, worked)}"
        return Fault(at=at, code="unknown-name", detail=detail)
    if len(meant) == 1 and not also:
        detail = f"There is no timber with the key {shown} here. Write {choice}.{_offer(meant, worked)}"
        return Fault(at=at, code="unknown-name", detail=detail)
    others = f" It is also said of {', '.join(also)}, not in the table." if also else ""
    detail = f"More than one timber is called {shown}. Write the key of the one that is meant: {choice}.{others}"
    return Fault(at=at, code="ambiguous-name", detail=detail)


def _told(meant: TimberMatch, tables: Tables, worked: Collection[str] | None) -> str:
    botanical = tables.species[meant.species].botanical
    if worked is None:
        return f"{meant.species} ({botanical})"
    return f"{meant.species} ({botanical}, {'worked' if meant.species in worked else 'not worked'} by this shop)"


def _offer(meant: Iterable[TimberMatch], worked: Collection[str] | None) -> str:
    """What the shop works instead, where it works none of what may be meant."""
    if worked is None or any(each.species in worked for each in meant):
        return ""
    return f" It offers: {', '.join(sorted(worked))}."


def _once(names: Iterable[TimberName], match: Match) -> Iterator[TimberMatch]:
    seen: dict[str, TimberMatch] = {}
    for name in names:
        seen.setdefault(name.species, TimberMatch(species=name.species, name=name, match=match))
    return iter(seen.values())


def _near(given: str, tables: Tables) -> Iterator[TimberName]:
    """Names that hold every word asked, closest first; then names with a slip or two."""
    asked, folded = words(given), fold(given)
    if len(folded) < LEAST_SEARCHED:
        return
    compared = difflib.SequenceMatcher(b=folded, autojunk=False)
    holding = []
    for spelled, names in tables.names.items():
        if all(any(word.startswith(part) for word in names[0].words) for part in asked):
            compared.set_seq1(spelled)
            holding.append((-compared.ratio(), spelled))
    close = difflib.get_close_matches(folded, tables.names, n=2 * MOST_NEAR, cutoff=NEAR_ENOUGH)
    for spelled in (*(spelled for _, spelled in sorted(holding)), *close):
        yield from tables.names[spelled]
