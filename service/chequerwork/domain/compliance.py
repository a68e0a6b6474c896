"""Which dated texts of law, safety and handling concern this order. Prompts, never advice on law."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from chequerwork.domain.advice import Audience
from chequerwork.domain.facts import CitesListing, Finish, Notice, Tables
from chequerwork.domain.geometry import Geometry
from chequerwork.domain.order import Order
from chequerwork.domain.shop import Shop

LISTED_LIMIT_KG = 10.0  # of listed wood, annotation #15


@dataclass(frozen=True, slots=True, kw_only=True)
class Prompt:
    """A notice that concerns this order. ``subject`` names the timber or matter."""

    code: str
    severity: str
    subject: str
    text: str
    authority: str
    as_of: str
    confidence: str
    source: str
    audience: Audience


@dataclass(frozen=True, slots=True, kw_only=True)
class Compliance:
    """Every prompt, in the order of the notice table, listed timbers first."""

    notices: tuple[Prompt, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """What the rules look at."""

    order: Order
    shop: Shop
    finish: Finish
    eu: frozenset[str]

    @property
    def abroad(self) -> bool:
        """Whether the parcel crosses a customs border; inside the EU it does not."""
        here, there = self.shop.country, self.order.ship_to
        return here != there and not (here in self.eu and there in self.eu)


# Notice code -> whether it concerns the case. A code that is not here is never shown by itself.
_RULES: Mapping[str, Callable[[_Case], bool]] = {
    "oily-rags": lambda c: c.finish.self_heating_rags,
    "oily-dust": lambda c: c.finish.self_heating_rags,
    "wood-dust": lambda _: True,
    "gloss-finish": lambda c: c.finish.gloss,
    "finish-curing": lambda _: True,
    "let-it-rest": lambda _: True,
    "keep-indoors": lambda _: True,
    "transit-moisture": lambda c: c.abroad,
    "small-parts": lambda c: c.order.feet > 0,
    "not-a-toy": lambda _: True,
    "eu-product-safety": lambda c: c.order.ship_to in c.eu,
    "customs-code": lambda c: c.abroad,
    "low-value-us": lambda c: c.abroad and c.order.ship_to == "US",
    "low-value-eu": lambda c: c.abroad and c.order.ship_to in c.eu,
    "eu-withdrawal": lambda c: c.order.ship_to in c.eu,
    "eu-price-display": lambda c: c.order.ship_to in c.eu,
    "lacey-declaration": lambda c: c.abroad and c.order.ship_to == "US",
    "lacey-due-care": lambda c: c.shop.country == "US",
    "eudr": lambda c: c.shop.country in c.eu or c.order.ship_to in c.eu,
    "uk-timber": lambda c: c.order.ship_to == "GB",
    "ispm-15": lambda c: c.abroad,
}
# For the hands in the workshop or the seller's office, not for the customer.
_WORKSHOP = frozenset(
    {
        "oily-rags",
        "oily-dust",
        "wood-dust",
        "eu-product-safety",
        "eu-price-display",
        "eu-withdrawal",
        "lacey-due-care",
        "eudr",
        "uk-timber",
        "ispm-15",
        "transit-moisture",
    }
)


def review(order: Order, shop: Shop, tables: Tables, geometry: Geometry) -> Compliance:
    """Notices for the timbers, the finish, the destination and the workshop.

    References
    ----------
    Every notice names its own source and the authority to ask; see the notice table.
    """
    case = _Case(order=order, shop=shop, finish=tables.finishes[order.finish], eu=tables.eu_members)
    found = list(_listed(order, tables, geometry))
    found.extend(
        _prompt(tables.notices[code]) for code, concerns in _RULES.items() if code in tables.notices and concerns(case)
    )
    return Compliance(notices=tuple(found))


def _listed(order: Order, tables: Tables, geometry: Geometry) -> Iterator[Prompt]:
    """Listed timbers of the finished board, with the mass in it: offcuts do not travel."""
    for key, each_kg in geometry.timber_kg:
        species = tables.species[key]
        listing = tables.cites.get(species.cites_taxon or "")
        notice = tables.notices.get(notice_code(listing)) if listing else None
        if listing is None or notice is None:
            continue
        total_kg = each_kg * order.quantity
        text = f"{each_kg:.2f} kg of listed wood in each board, {total_kg:.2f} kg in the order."
        if listing.finished_board == "above 10 kg":
            over = total_kg > LISTED_LIMIT_KG
            text += f" The order is {'above' if over else 'below'} {LISTED_LIMIT_KG:g} kg."
        yield _prompt(notice, subject=f"{species.name} ({species.botanical})", lead=text)


def notice_code(listing: CitesListing) -> str:
    """Code of the notice that explains a listing: appendix and annotation, as ``cites-ii-15``."""
    annotation = listing.annotation.lstrip("#")
    appendix = f"cites-{listing.appendix.lower()}"
    return f"{appendix}-{annotation}" if annotation.isdigit() else appendix


def _prompt(notice: Notice, *, subject: str | None = None, lead: str = "") -> Prompt:
    return Prompt(
        code=notice.code,
        severity=notice.severity,
        subject=subject or notice.subject,
        text=f"{lead} {notice.text}".strip(),
        authority=notice.authority,
        as_of=notice.as_of,
        confidence=notice.confidence,
        source=notice.source,
        audience=Audience.WORKSHOP if notice.code in _WORKSHOP else Audience.ALL,
    )
