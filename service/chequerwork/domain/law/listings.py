"""Timbers of an order that are listed in the appendices of CITES: how much of each, and whether the board needs papers.

Papers concern borders: a delivery at home, or inside the European Union, crosses none that the convention knows.
Territories with a customs status of their own (islands, Northern Ireland) are not told apart from their state.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from chequerwork.domain.basics.arithmetic import times
from chequerwork.domain.basics.facts import CitesListing, Coverage, Notice, Period, Species, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.law.limits import boards_within

YEARS = 1  # house: a rule is announced this long before it begins, and a text is fresh this long after its check


class Status(StrEnum):
    """Whether a text applies on the day of the order."""

    IN_FORCE = "in-force"
    COMING = "coming"  # begins within a year


class Papers(StrEnum):
    """Whether the finished board needs CITES papers where it goes."""

    NONE = "none"
    READINGS_DIFFER = "readings-differ"  # counted by board no, counted by consignment yes
    NEEDED = "needed"
    BARRED = "barred"  # Appendix I


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """From the shop to the customer, as law sees it."""

    there: str  # ISO 3166 alpha-2
    abroad: bool  # crosses a customs border; inside the European Union there is none
    within_eu: bool  # from one member to another
    from_eu: bool
    to_eu: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedTimber:
    """A listed timber in the finished board: offcuts do not travel. Masses of listed wood only.

    ``weighed_each_kg`` is what counts against the limit: all timbers of the board under the same annotation.
    """

    species: Species
    listing: CitesListing
    notice: Notice
    status: Status
    each_kg: float
    weighed_each_kg: float
    quantity: int
    limit_kg: float | None  # None where there is no limit on the day of the order
    papers: Papers

    @property
    def order_kg(self) -> float:
        """Of this timber in all boards of the order. [kg]"""
        return times(self.each_kg, self.quantity)

    @property
    def most_boards(self) -> int | None:
        """Boards in one consignment that stay within the limit on both readings. None without a limit."""
        return boards_within(each_kg=self.weighed_each_kg, limit_kg=self.limit_kg) if self.limit_kg else None


def route_of(there: str, shop: Shop, tables: Tables) -> Route:
    """The way of the parcel."""
    here = shop.country
    from_eu, to_eu = here in tables.eu_members, there in tables.eu_members
    inside = here == there
    return Route(
        there=there,
        abroad=not inside and not (from_eu and to_eu),
        within_eu=not inside and from_eu and to_eu,
        from_eu=from_eu,
        to_eu=to_eu,
    )


def status_on(period: Period, day: date) -> Status | None:
    """Whether a text applies on ``day`` or begins in the year after it. None when it ended or is further off."""
    if period.holds(day):
        return Status.IN_FORCE
    first = period.first
    return Status.COMING if first is not None and first > day and not _more_than_a_year(day, first) else None


def is_stale(as_of: date, day: date) -> bool:
    """Whether a text was checked more than a year before ``day``."""
    return as_of < day and _more_than_a_year(as_of, day)


def _more_than_a_year(before: date, after: date) -> bool:
    return (after.year - YEARS, after.month, after.day) > (before.year, before.month, before.day)


def notice_code(listing: CitesListing) -> str:
    """Code of the notice that explains a listing: appendix and annotation, as ``cites-ii-15``."""
    annotation = listing.annotation.lstrip("#")
    appendix = f"cites-{listing.appendix.lower()}"
    return f"{appendix}-{annotation}" if annotation.isdigit() else appendix


def listed_timbers(
    geometry: Geometry, quantity: int, day: date, route: Route, tables: Tables
) -> tuple[ListedTimber, ...]:
    """Listed timbers of the board in the order of their mass table, with what the border asks of each.

    References
    ----------
    Every notice names its own source and the authority to ask; see the notice table.
    """
    found = [(key, listing) for key, _ in geometry.timber_kg if (listing := tables.listing_of(key))]
    return tuple(_timbers(found, geometry, quantity, day, route, tables)) if found else ()


def _timbers(
    found: list[tuple[str, CitesListing]], geometry: Geometry, quantity: int, day: date, route: Route, tables: Tables
) -> Iterator[ListedTimber]:
    masses = dict(geometry.timber_kg)
    for key, listing in found:
        status = status_on(listing.period, day)
        if status is None:
            continue
        together = [other for other, its in found if (its.appendix, its.annotation) == _rule(listing)]
        weighed = sum(masses[other] for other in together)
        limit = listing.limit_kg if listing.limit_period.holds(day) else None
        yield ListedTimber(
            species=tables.species[key],
            listing=listing,
            notice=tables.notices[notice_code(listing)],
            status=status,
            each_kg=masses[key],
            weighed_each_kg=weighed,
            quantity=quantity,
            limit_kg=limit,
            papers=_papers(listing, route, limit, each_kg=weighed, order_kg=weighed * quantity),
        )


def _rule(listing: CitesListing) -> tuple[str, str]:
    return listing.appendix, listing.annotation


def _papers(listing: CitesListing, route: Route, limit_kg: float | None, *, each_kg: float, order_kg: float) -> Papers:
    if listing.appendix == "I":
        return Papers.BARRED
    if not route.abroad or listing.finished_board is Coverage.NO:
        return Papers.NONE
    if limit_kg is None or each_kg > limit_kg:
        return Papers.NEEDED
    return Papers.READINGS_DIFFER if order_kg > limit_kg else Papers.NONE


def finding(timber: ListedTimber, route: Route) -> str:
    """What the listing means for this order, in one or two sentences."""
    weighed = timber.weighed_each_kg
    mass = f"{weighed:.2f} kg of listed wood in each board, {weighed * timber.quantity:.2f} kg in the order."
    scope = "" if timber.papers is Papers.NONE else f" Listed: {timber.listing.populations}."
    return f"{_verdict(timber, route)} {mass}{scope}"


def _verdict(timber: ListedTimber, route: Route) -> str:
    if timber.papers is Papers.BARRED:
        return "The finished board is covered."
    if not route.abroad:
        where = "inside the European Union" if route.within_eu else "at home"
        return f"No CITES papers: the delivery is {where} and crosses no border of the convention."
    if timber.papers is Papers.NEEDED:
        return "The finished board needs CITES papers at the border."
    if timber.papers is Papers.READINGS_DIFFER:
        return (
            f"Counted by board no CITES papers, counted by consignment yes: the order is above {timber.limit_kg:g} kg. "
            f"Up to {timber.most_boards} boards in one consignment need none on either reading."
        )
    if timber.limit_kg is not None:
        return f"No CITES papers: not above {timber.limit_kg:g} kg, whether counted by board or by consignment."
    return "No CITES papers: the listing does not take in finished boards."
