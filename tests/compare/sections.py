"""Requests for the sections of an order and for whole quotes, in every form; and for what takes no order."""

from random import Random
from typing import Any

from compare.asking import Headers, Known, Request, caller, draw, maker, post, sometimes
from compare.flat import CROWD, asked_flat, presentation, query_of, spoilt_query, values_of
from compare.orders import an_order
from compare.spoiling import spoilt

SECTIONS = (
    "geometry", "cutting", "materials", "movement", "finishing", "schedule", "packing", "compliance", "price",
)  # fmt: skip
WORKSHOP = ("materials", "cutting", "finishing")
SUFFIXES = ("csv", "tsv", "txt")


def a_section(dice: Random, known: Known) -> Request:
    """A section or a quote of an order that is mostly sound."""
    return _section(dice, known, dice.choice((*SECTIONS, "quotes", "quotes", "quotes", "price")), "section")


def explained(dice: Random, known: Known) -> Request:
    """A section with its explanation."""
    return _section(dice, known, dice.choice((*SECTIONS, "quotes", "price")), "explain", "explain=1")


def from_stock(dice: Random, known: Known) -> Request:
    """A price or quote with the cost of a stock plan beside it."""
    return _section(
        dice, known, dice.choice(("price", "quotes")), "from_stock", "from_stock=1", makers=0.85, small=True
    )


def sensitive(dice: Random, known: Known) -> Request:
    """A price or quote with what moves it."""
    return _section(dice, known, dice.choice(("price", "quotes")), "sensitivity", "sensitivity=1", makers=0.85)


def _section(
    dice: Random, known: Known, section: str, kind: str, wish: str = "", *, makers: float = 0.4, small: bool = False
) -> Request:
    offer = dice.choice(known.offers)
    order: dict[str, Any] = an_order(dice, known, offer, small=small)
    if sometimes(dice, 0.06):
        order["currency"] = dice.choice(offer.choices["currencies"])
    if sometimes(dice, 0.2):
        order = spoilt(dice, order, known)
    makers = max(makers, 0.75) if section in WORKSHOP else makers
    headers = caller(dice, offer.shop, makers=makers) + extras(dice)
    path = f"/v1/{section}"
    if wish and sometimes(dice, 0.12):
        wish += "&" + dice.choice(("explain=1", "sensitivity=1", "from_stock=0", "explain=0", "field=price.total"))
    if sometimes(dice, 0.45):
        return post(kind, path, order, headers, _beside(dice, wish))
    suffix = draw(dice, [(3, ""), (3, "csv"), (1, "tsv"), (4, "txt")])
    pairs = asked_flat(dice, order)
    if suffix:
        pairs += presentation(dice, suffix, values_of(offer, section, workshop=headers[:1] == maker(offer.shop)))
    query = "&".join(part for part in (query_of(dice, pairs), wish) if part)
    if sometimes(dice, 0.1):
        query = spoilt_query(dice, pairs, query)
    path = f"{path}.{suffix}" if suffix else path
    return Request(kind=kind, method="GET", path=path, query=query, headers=headers)


def _beside(dice: Random, wish: str) -> str:
    """What stands beside a body: wishes, and rarely what has no place there."""
    if sometimes(dice, 0.05):
        return f"{wish}&{dice.choice(('square=48mm', 'field=price.total', 'refresh=1', 'explain=2', 'x=%zz'))}".strip(
            "&"
        )
    return wish


def extras(dice: Random) -> Headers:
    """Headers that few send: where a page comes from, what a client has already, an id of its own."""
    found: list[tuple[str, str]] = []
    if sometimes(dice, 0.12):
        origins = (
            "https://brettwerkstatt-moosgrund.example",
            "https://willet-slough-boardworks.example",
            "http://localhost:5173",
            "https://elsewhere.example",
            "null",
        )
        found.append(("Origin", dice.choice(origins)))
    if sometimes(dice, 0.08):
        tags = ("{etag}", "W/{etag}", '"other", {etag}', '"other"', "*")
        found.append(("If-None-Match", dice.choice(tags)))
    if sometimes(dice, 0.03):
        found.append(
            ("X-Request-Id", dice.choice(("", "two words", "x" * 65, "own-id_1.2", "ünfit".encode().decode("latin-1"))))
        )
    if sometimes(dice, 0.02):
        found.append(("Accept", dice.choice(("text/html", "application/json", "*/*", "image/png"))))
    return tuple(found)


def without_order(dice: Random, known: Known) -> Request:
    """What a shop offers, the species table, the sources."""
    name = dice.choice(("choices", "timbers", "timbers", "sources"))
    shops = [offer.shop for offer in known.offers]
    pairs: list[tuple[str, str]] = []
    if name != "sources" and sometimes(dice, 0.6):
        pairs.append(("shop", dice.choice((*shops, *shops, "nowhere", "Moos grund", ""))))
    if name == "timbers" and sometimes(dice, 0.75):
        pairs.append(("name", _called(dice, known)))
    if name == "choices" and sometimes(dice, 0.15):
        body = dict(pairs) or dice.choice(({}, {"shop": 7}, {"shops": "moosgrund"}, {"shop": None}))
        return post("no order", "/v1/choices", body, extras(dice), dice.choice(("", "", "explain=1", "shop=moosgrund")))
    suffix = draw(dice, [(3, ""), (2, "csv"), (1, "tsv"), (2, "txt")])
    if suffix:
        fields = {
            "choices": ("currency", "timbers.0.key", "ranges.square.low_mm", "shops.1.name", "ranges"),
            "timbers": ("tables_version", "timbers.0.key", "key", "density_kg_m3", "names.de", "listing.appendix"),
            "sources": ("tables_version", "sources.0.id", "formulas.0.key", "formulas.3.expression", "sources"),
        }[name]
        pairs += presentation(dice, suffix, fields)
    query = query_of(dice, pairs)
    if sometimes(dice, 0.08):
        query = spoilt_query(dice, pairs, query)
    path = f"/v1/{name}.{suffix}" if suffix else f"/v1/{name}"
    return Request(kind="no order", method="GET", path=path, query=query, headers=extras(dice))


def _called(dice: Random, known: Known) -> str:
    name = dice.choice((*known.called, *known.timbers))
    drawn = dice.random()
    if drawn < 0.25 and len(name) > 3:
        place = dice.randrange(len(name))
        return name[:place] + name[place + 1 :]
    if drawn < 0.35:
        return dice.choice(
            (name.upper(), name.lower(), f" {name} ", name.replace("_", " "), "wood", "x" * 61, "Ж", "9")
        )
    return name


def every_form(known: Known) -> list[Request]:
    """The least order at every path of the contract, for each shop, without a key and with the maker's."""
    found = [
        Request(kind="every form", method="GET", path=path, query=CROWD) for path in ("/v1/price-table", "/v1/timbers")
    ]
    for path in known.paths:
        for offer in known.offers:
            light, dark = offer.keys("timbers")[:2]
            query = f"shop={offer.shop}&square=48mm&light={light}&dark={dark}"
            if not path.startswith("/v1/") or path.rpartition(".")[0] == "/v1/sources" or path == "/v1/sources":
                query = ""
            elif "/choices" in path or "/timbers" in path:
                query = f"shop={offer.shop}"
            callers: list[Headers] = [(), maker(offer.shop)] if path.startswith("/v1/") else [()]
            found += [
                Request(kind="every form", method="GET", path=path, query=query, headers=headers) for headers in callers
            ]
    return found
