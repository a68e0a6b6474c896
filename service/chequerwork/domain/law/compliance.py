"""Which dated texts of law, safety and handling concern this order. Prompts, never advice on law."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.basics.facts import Finish, Notice, Period, Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board.geometry import Geometry
from chequerwork.domain.law.limits import fits_small_parts_cylinder, lacey_small_content
from chequerwork.domain.law.listings import (
    ListedTimber,
    Papers,
    Route,
    Status,
    finding,
    is_stale,
    listed_timbers,
    route_of,
    status_on,
)

_RAW_STOCK = "cites-raw-stock"
# Where rules stricter than the convention are known of or likely, besides the European Union.
_STRICTER = frozenset({"GB", "US"})


class Prompt(NamedTuple):
    """A notice that concerns this order. ``subject`` names the timber or matter, ``text`` begins with this order.

    ``stale`` is set when the text was checked more than a year before the order's day of issue.
    """

    notice: Notice
    severity: str
    subject: str
    text: str
    status: Status
    period: Period
    stale: bool
    verified: bool
    source: str

    @property
    def code(self) -> str:
        """Code of the notice."""
        return self.notice.code

    @property
    def audience(self) -> Audience:
        """Who may read it."""
        return self.notice.audience


@dataclass(frozen=True, slots=True, kw_only=True)
class Compliance:
    """Every prompt, in the order of the rules, listed timbers first; and those timbers with what the border asks."""

    notices: tuple[Prompt, ...]
    listed: tuple[ListedTimber, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """What the rules look at."""

    geometry: Geometry
    feet: int
    quantity: int
    day: date
    shop: Shop
    tables: Tables
    finish: Finish
    route: Route
    listed: tuple[ListedTimber, ...]

    def limit(self, key: str) -> float | None:
        """A threshold on the day of the order."""
        found = self.tables.thresholds[key]
        return found.value if found.period.holds(self.day) else None


def review(
    geometry: Geometry,
    feet: int,
    finish: str,
    quantity: int,
    ship_to: str,
    day: date,
    shop: Shop,
    tables: Tables,
) -> Compliance:
    """Notices for the timbers, the finish, the destination and the workshop, as they stand on the day of issue.

    References
    ----------
    Every notice names its own source and the authority to ask; see the notice table.
    """
    route = route_of(ship_to, shop, tables)
    case = _Case(
        geometry=geometry,
        feet=feet,
        quantity=quantity,
        day=day,
        shop=shop,
        tables=tables,
        finish=tables.finishes[finish],
        route=route,
        listed=listed_timbers(geometry, quantity, day, route, tables),
    )
    found = [prompt for timber in case.listed for prompt in _of_timber(case, timber)]
    for prompt in _prompts_on(day, tables):
        code = prompt.notice.code
        if _RULES[code](case):
            found.append(_led(prompt, _LEADS[code](case)) if code in _LEADS else prompt)
    return Compliance(notices=tuple(found), listed=case.listed)


@lru_cache(maxsize=64)
def _prompts_on(day: date, tables: Tables) -> tuple[Prompt, ...]:
    """Every notice that the rules know of and that stands on a day, still without a word on any order."""
    standing = ((tables.notices[code], status_on(tables.notices[code].period, day)) for code in _RULES)
    return tuple(_prompt(notice, day, status) for notice, status in standing if status is not None)


def _led(prompt: Prompt, lead: str) -> Prompt:
    return prompt._replace(text=_text(prompt.notice, lead, stale=prompt.stale)) if lead else prompt


def _prompt(notice: Notice, day: date, status: Status, lead: str = "") -> Prompt:
    stale = is_stale(notice.as_of, day)
    return Prompt(
        notice=notice,
        severity=notice.severity,
        subject=notice.subject,
        text=_text(notice, lead, stale=stale) if lead or stale else notice.text,
        status=status,
        period=notice.period,
        stale=stale,
        verified=notice.verified,
        source=notice.source,
    )


def _text(notice: Notice, lead: str, *, stale: bool) -> str:
    """This order first, then the notice, which ends with whom to ask."""
    warning = (
        f"Last checked on {notice.as_of}, more than a year before this order: it may be out of date." if stale else ""
    )
    return " ".join(part for part in (warning, lead, notice.text) if part)


# Listed timbers -------------------------------------------------------------------------------------------------------


def _of_timber(case: _Case, timber: ListedTimber) -> Iterator[Prompt]:
    """What the finished board needs, for everyone; what buying the wood needs, for the workshop."""
    listing, wood = timber.listing, case.tables.notices[_RAW_STOCK]
    begins = f"From {listing.period.first} on: " if timber.status is Status.COMING else ""
    board = _prompt(timber.notice, case.day, timber.status, begins + finding(timber, case.route))
    if timber.papers is Papers.NONE:
        board = board._replace(severity=Severity.INFO)
    covers = f"{begins}Appendix {listing.appendix}, {listing.populations}: {listing.parts_covered}."
    for prompt in (board, _prompt(wood, case.day, timber.status, covers)):
        sources = "; ".join(dict.fromkeys([*listing.source.split("; "), *prompt.source.split("; ")]))
        yield prompt._replace(
            subject=f"{timber.species.name} ({timber.species.botanical})",
            period=listing.period,
            verified=prompt.verified and listing.verified,
            source=sources,
        )


# Rules ----------------------------------------------------------------------------------------------------------------


def _small_feet(case: _Case) -> bool:
    """Whether a foot that comes off is a small part; where the test is not in force, no foot is."""
    bore, depth = case.limit("small-parts-bore"), case.limit("small-parts-depth")
    foot = case.shop.consumables
    return (
        case.feet > 0
        and bore is not None
        and depth is not None
        and fits_small_parts_cylinder(
            diameter_mm=foot.foot_diameter_mm, height_mm=foot.foot_height_mm, bore_mm=bore, depth_mm=depth
        )
    )


def _plant_kg(case: _Case) -> float:
    """Wood and sheet goods of one board: all of it but the feet. [kg]"""
    return case.geometry.mass_kg - case.feet * case.shop.consumables.foot_mass_g / 1000


def _to_be_declared(case: _Case) -> bool:
    """Whether a board sent to the United States is declared there; no exception counts before its first day."""
    if not case.route.abroad or case.route.there != "US":
        return False
    share, entry = case.limit("lacey-plant-share"), case.limit("lacey-entry-plant")
    if share is None or entry is None:
        return True
    each = _plant_kg(case)
    return not lacey_small_content(
        plant_share=each / case.geometry.mass_kg,
        entry_plant_kg=each * case.quantity,
        share_limit=share,
        entry_limit_kg=entry,
        listed=bool(case.listed),
    )


def _declared(case: _Case) -> str:
    each, thresholds = _plant_kg(case), case.tables.thresholds
    share, entry = thresholds["lacey-plant-share"].value, thresholds["lacey-entry-plant"].value
    return (
        f"Plant material is {each / case.geometry.mass_kg:.0%} of each board and {each * case.quantity:.1f} kg "
        f"in the order; only up to {share:.0%} and {entry:g} kg, without a CITES timber, need no declaration."
    )


def _dust(case: _Case) -> str:
    """What is told of the dust of each timber of the order."""
    woods = (case.tables.species[key] for key, _ in case.geometry.timber_kg)
    return " ".join(f"{wood.name}: {wood.dust}." for wood in woods)


def _feet(case: _Case) -> str:
    foot = case.shop.consumables
    return (
        f"The feet, {foot.foot_diameter_mm:.3g} x {foot.foot_height_mm:.3g} mm, are small parts should they come off."
    )


# Notice code -> whether it concerns the case. Listed timbers have their own; no other notice is ever shown.
_RULES: Mapping[str, Callable[[_Case], bool]] = {
    "cites-stricter": lambda c: bool(c.listed) and c.route.abroad and (c.route.to_eu or c.route.there in _STRICTER),
    "oily-rags": lambda c: c.finish.self_heating_rags,
    "oily-dust": lambda c: c.finish.self_heating_rags,
    "wood-dust": lambda _: True,
    "gloss-finish": lambda c: c.finish.gloss,
    "finish-curing": lambda _: True,
    "let-it-rest": lambda _: True,
    "keep-indoors": lambda _: True,
    "transit-moisture": lambda c: c.route.abroad,
    "small-parts": _small_feet,
    "not-a-toy": lambda _: True,
    "toy-rules": lambda c: c.route.to_eu,
    "toy-regulation": lambda c: c.route.to_eu,
    "eu-product-safety": lambda c: c.route.to_eu,
    "customs-code": lambda c: c.route.abroad,
    "low-value-us": lambda c: c.route.abroad and c.route.there == "US",
    "low-value-eu": lambda c: c.route.abroad and c.route.to_eu,
    "eu-withdrawal": lambda c: c.route.to_eu,
    "eu-price-display": lambda c: c.route.to_eu,
    "lacey-declaration": _to_be_declared,
    "lacey-due-care": lambda c: c.shop.country == "US",
    "eudr": lambda c: c.route.from_eu or c.route.to_eu,
    "eudr-small": lambda c: c.route.from_eu or c.route.to_eu,
    "uk-timber": lambda c: c.route.there == "GB",
    "ispm-15": lambda c: c.route.abroad,
}
# Notice code -> a sentence on this order that stands before the notice.
_LEADS: Mapping[str, Callable[[_Case], str]] = {
    "wood-dust": _dust,
    "small-parts": _feet,
    "lacey-declaration": _declared,
}
