"""All requests of one run: those that are always asked, and as many at random as are wanted.

Every random request has dice of its own, made from the seed and its number: a longer run begins with the same requests
as a shorter one, on any machine.
"""

import itertools
import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from random import Random

from compare.asking import Known, Maker, Request, draw, maker, post, sometimes
from compare.others import a_bad_body, an_odd_one
from compare.sections import a_section, every_form, explained, from_stock, sensitive, without_order
from compare.stock import a_stock_plan
from compare.suggesting import a_suggestion
from compare.tabled import a_long_table, a_table

# How many of a hundred requests are of each kind; what takes long is asked less often.
SHARES: tuple[tuple[float, Maker], ...] = (
    (44, a_section),
    (8, explained),
    (3, from_stock),
    (4, sensitive),
    (6, without_order),
    (8, a_table),
    (0.4, a_long_table),
    (8, a_stock_plan),
    (6, a_suggestion),
    (6, a_bad_body),
    (8, an_odd_one),
)
_RECORDED = {
    ".order.json": "quotes",
    ".stock-request.json": "stock-plan",
    ".table-request.json": "price-table",
    ".suggestions-request.json": "suggestions",
}


def requests(worlds: Sequence[Known], *, seed: int, count: int) -> Iterator[Request]:
    """Those that are always asked, then ``count`` random ones, most of them of the demo shops.

    Parameters
    ----------
    worlds
        What is known of the demo shops, and of the others.
    seed, count
        Of the random requests.
    """
    demo, own = worlds
    always = [*recorded(demo), *every_form(demo), *(replace(each, served=own.served) for each in every_form(own))]
    drawn = (a_request(Random(f"{seed}:{number}"), demo, own) for number in range(count))
    for number, request in enumerate(itertools.chain(always, drawn)):
        yield with_id(request, number)


def a_request(dice: Random, demo: Known, own: Known) -> Request:
    """One random request."""
    known = own if sometimes(dice, 0.3) else demo
    return replace(draw(dice, SHARES)(dice, known), served=known.served)


def with_id(request: Request, number: int) -> Request:
    """The request with an id of its own, unless it has one or lacks it on purpose."""
    if any(name == "X-Request-Id" for name, _ in request.headers):
        return request
    return replace(request, headers=(*request.headers, ("X-Request-Id", f"compare-{number}")))


def recorded(known: Known) -> Iterator[Request]:
    """The recorded requests of the contract's examples, as a customer and as the maker."""
    for name, body in known.examples.items():
        path = next((f"/v1/{path}" for end, path in _RECORDED.items() if name.endswith(end)), None)
        if path is not None:
            asked = json.loads(body)
            shop = asked.get("shop") or asked.get("order", {}).get("shop") or "moosgrund"
            yield post("examples", path, asked)
            yield post("examples", path, asked, maker(shop))
