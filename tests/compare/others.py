"""Bodies that cannot be read, and requests at the edge of HTTP: methods, paths, media types, preflights."""

import json
from random import Random

from compare.asking import Known, Request, caller, maker, sometimes
from compare.orders import an_order
from compare.sections import extras
from compare.spoiling import unreadable

BODIES = ("geometry", "price", "quotes", "stock-plan", "price-table", "suggestions", "choices", "cutting")
PLAIN = (
    "/", "/docs/", "/docs", "/healthz", "/readyz", "/.well-known/jwks.json", "/openapi.json", "/openapi.yaml",
    "/problems/invalid-order", "/problems/key-needed", "/problems/no-such-kind", "/problems/", "/v1", "/v1/",
    "/v1/nothing", "/v1/price.xml", "/v1/price.svg", "/v1/stock-plan.ndjson", "/v1/suggestions.svg", "/v2/price",
    "//v1/price", "/v1/price/", "/v1/quotes.csv/", "/favicon.ico", "/v1/%C3%A9t%C3%A9", "/v1/%ff", "/v1/price%00",
)  # fmt: skip
KINDS = (
    "unreadable-request", "key-needed", "key-not-sufficient", "not-found", "method-not-allowed", "not-acceptable",
    "content-too-large", "uri-too-long", "unsupported-media-type", "invalid-order", "too-many-requests",
    "internal-error", "unavailable",
)  # fmt: skip


def a_bad_body(dice: Random, known: Known) -> Request:
    """A body that is refused before anybody looks at the order in it."""
    offer = dice.choice(known.offers)
    shop = offer.shop
    name = dice.choice(BODIES)
    order = an_order(dice, known, offer)
    body = json.dumps({"order": order} if name in ("stock-plan", "suggestions") else order).encode()
    types = ("application/json",)
    if sometimes(dice, 0.75):
        body = unreadable(dice, body)
    else:
        types = (
            "text/plain", "", "application/JSON", "application/json; charset=utf-8", "application/json;charset=latin-1",
            "application/vnd.board+json", "application/xml", "multipart/form-data", "application/x-www-form-urlencoded",
            "application/json; charset=UTF8", "x" * 80 + "/" + "y" * 80,
        )  # fmt: skip
    headers = caller(dice, shop, makers=0.8 if name in ("stock-plan", "cutting") else 0.3) + extras(dice)
    if sometimes(dice, 0.06):
        headers += (("Content-Encoding", dice.choice(("gzip", "identity", "br"))),)
    path = f"/v1/{name}"
    if name in ("stock-plan", "price-table", "suggestions") and sometimes(dice, 0.3):
        path += dice.choice((".csv", ".txt", ".tsv"))
    query = "errors=inline" if "." in path and sometimes(dice, 0.5) else ""
    headers = (("Content-Type", dice.choice(types)), *headers)
    return Request(kind="bad body", method="POST", path=path, query=query, body=body, headers=headers)


def an_odd_one(dice: Random, known: Known) -> Request:
    """Another method, another path, a preflight."""
    offer = dice.choice(known.offers)
    shop = offer.shop
    if sometimes(dice, 0.25):
        path = f"/problems/{dice.choice(KINDS)}" if sometimes(dice, 0.3) else dice.choice(PLAIN)
        query = dice.choice(("", "", "refresh=1", "errors=inline", "shop=moosgrund"))
        return Request(
            kind="odd", method=dice.choice(("GET", "GET", "HEAD")), path=path, query=query, headers=extras(dice)
        )
    path = dice.choice((*known.paths, *PLAIN)).replace("{kind}", dice.choice(KINDS))
    light, dark = dice.sample(offer.keys("timbers"), 2)
    least = f"shop={shop}&square=50mm&light={light}&dark={dark}"
    query = least if path.startswith("/v1/") and sometimes(dice, 0.7) else ""
    method = dice.choice(
        ("HEAD", "HEAD", "OPTIONS", "OPTIONS", "PUT", "DELETE", "PATCH", "POST", "TRACE", "BREW", "GET")
    )
    headers = extras(dice)
    if method in ("HEAD", "GET") and sometimes(dice, 0.6):
        headers = maker(shop) + headers
    if method == "OPTIONS" and sometimes(dice, 0.6):
        headers += (("Access-Control-Request-Method", dice.choice(("POST", "PUT"))),)
        headers += (("Origin", "https://brettwerkstatt-moosgrund.example"),)
    return Request(kind="odd", method=method, path=path, query=query, headers=headers)
