"""What each endpoint costs, as a ratio to a plain route on the same machine in the same run.

The plain route is Flask with a nested marshmallow schema of 15 fields, loaded and dumped. Machines differ and are
noisy, so the ratio is the figure; both are called in turn, and the medians of the rounds are compared.
Run it with ``make bench``. It judges nothing: an aim is printed beside the figure.
"""

import io
import json
import math
import resource
import statistics
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

# First fit reads the rules of the saw bench where the reference checks have them.
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from flask import Flask, jsonify, request
from frozen import FIRST, ORDERS
from marshmallow import Schema, fields, validate
from start import starting
from stock import stock_plans
from table import price_tables
from werkzeug.test import EnvironBuilder

from chequerwork.api.schemas import order_of, read_order
from chequerwork.app import create_app, load_service
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.order.order import Order
from chequerwork.domain.plan import Plan
from chequerwork.ops.settings import Settings
from chequerwork.quantities import parse_length

ROUNDS, CALLS = 15, 60
MAKER = {"Authorization": f"Bearer demo-maker-{ORDERS[FIRST]['shop']}"}
Call = Callable[[], None]


class Address(Schema):
    """Five texts."""

    name = fields.String(required=True)
    street = fields.String(required=True)
    town = fields.String(required=True)
    postcode = fields.String(required=True)
    country = fields.String(required=True, validate=validate.Length(equal=2))


class Item(Schema):
    """Four fields, five times."""

    title = fields.String(required=True)
    count = fields.Integer(required=True, validate=validate.Range(1, 100))
    price = fields.Decimal(required=True, as_string=True)
    gift = fields.Boolean()


class Terms(Schema):
    """Three fields."""

    due = fields.Date(required=True)
    express = fields.Boolean()
    weight = fields.Float()


class PlainOrder(Schema):
    """Fifteen distinct fields in four nested schemas."""

    number = fields.String(required=True)
    note = fields.String()
    total = fields.Decimal(as_string=True)
    address = fields.Nested(Address, required=True)
    items = fields.List(fields.Nested(Item), required=True)
    terms = fields.Nested(Terms, required=True)


PLAIN = {
    "number": "A-1",
    "note": "leave it with the neighbours",
    "total": "61.50",
    "address": {"name": "N", "street": "S 1", "town": "T", "postcode": "1000", "country": "AT"},
    "items": [{"title": f"part {n}", "count": n + 1, "price": "12.30", "gift": False} for n in range(5)],
    "terms": {"due": "2027-03-01", "express": True, "weight": 3.2},
}


def plain_app() -> Flask:
    """The route that everything is compared with; its schema is made once."""
    app = Flask("plain")
    schema = PlainOrder()

    @app.post("/plain")
    def plain() -> Any:
        return jsonify(schema.dump(schema.load(request.get_json())))

    return app


def caller(app: Flask, path: str, body: Any = None, headers: dict[str, str] | None = None) -> Call:
    """One request to the application, called as a server calls it."""
    method, data = ("GET", b"") if body is None else ("POST", json.dumps(body).encode())
    query = path.partition("?")
    builder = EnvironBuilder(
        path=query[0], query_string=query[2], method=method, data=data, headers=headers, content_type="application/json"
    )
    environ = builder.get_environ()
    status: list[str] = []

    def start(line: str, _headers: Any, _info: Any = None) -> Any:
        status[:] = [line]

    def call() -> None:
        body_of = app.wsgi_app({**environ, "wsgi.input": io.BytesIO(data)}, start)
        b"".join(body_of)
        if not status[0].startswith("200"):
            raise RuntimeError(f"{path}: {status[0]}")

    return call


def timed(call: Call) -> float:
    """Seconds for one call, mean of a round."""
    began = time.perf_counter()
    for _ in range(CALLS):
        call()
    return (time.perf_counter() - began) / CALLS


def compare(plain: Call, calls: dict[str, tuple[Call, str]]) -> None:
    """Print every call's median and its ratio to the plain route, all of them in turn in each round."""
    rounds: dict[str, list[float]] = {name: [] for name in ("plain", *calls)}
    for name, call in (("plain", plain), *((name, call) for name, (call, _) in calls.items())):
        call()
        rounds[name].clear()
    for _ in range(ROUNDS):
        rounds["plain"].append(timed(plain))
        for name, (call, _) in calls.items():
            rounds[name].append(timed(call))
    base = statistics.median(rounds["plain"])
    print(f"{'plain route':34} {base * 1e6:7.0f} us   ratio 1.00")
    for name, (_, aim) in calls.items():
        median = statistics.median(rounds[name])
        ratio = statistics.median(t / p for t, p in zip(rounds[name], rounds["plain"], strict=True))
        print(f"{name:34} {median * 1e6:7.0f} us   ratio {ratio:.2f}   {aim}".rstrip())


def parsing() -> None:
    """Print what one length costs."""
    for text in ("48 mm", "2.25 in", "2 1/4 in", "2-1/4in", "3/4 in", "2¼ in"):
        best = min(_loop(text) for _ in range(9))
        print(f"length {text!r:27} {best * 1e6:7.2f} us   aim 1 us")


def _loop(text: str, count: int = 5000) -> float:
    began = time.perf_counter()
    for _ in range(count):
        parse_length(text)
    return (time.perf_counter() - began) / count


def moving() -> None:
    """Print what movement adds to a plan that has its sizes, for a board that is well made and for ones that are not.

    The better the construction, the fewer remedies are tried out; each is a changed order, examined in full.
    """
    service = load_service(Settings())
    glued = {"joint": "mitre", "hold": "glued", "species": "wenge", "width": "44 mm"}
    orders = {
        "sound": {**ORDERS[FIRST], "pattern": "shift"},
        FIRST: ORDERS[FIRST],
        "frame glued": {**ORDERS[FIRST], "frame": glued},
        "nine-by-nine, on plywood": ORDERS["nine-by-nine"],
    }
    for name, body in orders.items():
        shop = service.shop(str(body["shop"]))
        order = order_of(read_order(body), shop=shop, tables=service.tables, today=date(2027, 2, 1))
        with_it, without = (_planned(order, shop, service.tables, parts) for parts in (SIZES + MOVEMENT, SIZES))
        print(f"{f'movement adds, {name}':34} {(with_it - without) * 1e6:7.0f} us   aim 60 us")


SIZES, MOVEMENT = ("geometry", "accuracy"), ("movement", "remedies", "balance", "margin")


def _planned(order: Order, shop: Shop, tables: Tables, parts: tuple[str, ...], count: int = 400) -> float:
    """Seconds for one plan with these parts, the best of some rounds."""
    best = math.inf
    for _ in range(9):
        began = time.perf_counter()
        for _ in range(count):
            plan = Plan(order, shop, tables)
            for part in parts:
                getattr(plan, part)
        best = min(best, (time.perf_counter() - began) / count)
    return best


def suggesting(plain: Call) -> None:
    """Print what suggestions cost: of the README's own example, and where nothing fits."""
    app, rounds = create_app(Settings()), 7
    order = {"game": "chess", "square": "52 mm", "pieces": {"king_base": "40 mm"}, "light": "pear", "dark": "wenge"}
    frame = {"joint": "mitre", "hold": "floating", "species": "wenge", "width": "44 mm"}
    body: dict[str, Any] = {
        "order": {**order, "frame": frame, "feet": 4},
        "limits": {"outside": "480 mm", "total": "700"},
        "wishes": {"keep": ["light", "dark"]},
        "count": 3,
    }
    hard = {**body, "limits": {"outside": "400 mm", "total": "420", "mass": "1500 g", "verdict": "sound"}}
    for name, asked, aim in (
        ("the README's example", body, "aim 300 ms"),
        ("nothing fits", hard, ""),
        ("all that there is", {**hard, "count": 8, "limits": {"total": "560", "verdict": "sound"}}, ""),
    ):
        call = caller(app, "/v1/suggestions", asked)
        call()
        took, ratios = [], []
        for _ in range(rounds):
            base = timed(plain)
            began = time.perf_counter()
            call()
            took.append(time.perf_counter() - began)
            ratios.append(took[-1] / base)
        median, ratio = statistics.median(took), statistics.median(ratios)
        print(f"{f'suggestions, {name}':34} {median * 1e3:7.0f} ms   ratio {ratio:.0f}   {aim}".rstrip())


def main() -> None:
    """Print every figure."""
    starting()
    app, order = create_app(Settings()), dict(ORDERS[FIRST])
    least = "/v1/price.txt?square=48mm&light=pear&dark=wenge&field=price.total"
    calls = {
        f"/v1/{section}": (caller(app, f"/v1/{section}", order), "")
        for section in ("geometry", "movement", "schedule", "packing", "compliance")
    }
    calls |= {
        f"/v1/{section} (workshop)": (caller(app, f"/v1/{section}", order, MAKER), "")
        for section in ("cutting", "materials", "finishing", "schedule")
    }
    calls["/v1/price"] = (caller(app, "/v1/price", order), "aim 3")
    calls["/v1/price (workshop)"] = (caller(app, "/v1/price", order, MAKER), "")
    calls["/v1/price, what moves it"] = (caller(app, "/v1/price?sensitivity=1", order, MAKER), "")
    calls["/v1/price.txt, one value"] = (caller(app, least), "")
    calls["/v1/quotes"] = (caller(app, "/v1/quotes", order), "")
    calls["/v1/quotes (workshop)"] = (caller(app, "/v1/quotes", order, MAKER), "aim 5")
    plain = caller(plain_app(), "/plain", PLAIN)
    compare(plain, calls)
    suggesting(plain)
    stock_plans(plain)
    price_tables(app, plain, MAKER)
    moving()
    parsing()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{'memory of this benchmark':34} {peak:7.0f} MB")


if __name__ == "__main__":
    main()
