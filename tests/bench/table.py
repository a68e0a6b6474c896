"""What a table of prices costs in time and memory, a row."""

import io
import json
import statistics
import time
import tracemalloc
from collections.abc import Callable
from typing import Any

from flask import Flask
from frozen import FIRST, ORDERS
from werkzeug.test import EnvironBuilder

ROUNDS = 3
# A listing of a whole range: sizes, borders, finishes, quantities and destinations; every part of a plan varies.
ASKED: dict[str, Any] = {
    **ORDERS[FIRST],
    "square": [f"{44 + n} mm" for n in range(10)],
    "frame": {**ORDERS[FIRST]["frame"], "width": [f"{36 + n} mm" for n in range(10)]},
    "finish": ["hardwax_oil", "oil_varnish_blend", "shellac_2lb", "waterborne_polyurethane"],
    "quantity": [1, 2, 3, 5, 10],
    "ship_to": ["AT", "DE", "NL", "FR", "IT"],
}
ROWS = 10 * 10 * 4 * 5 * 5


def price_tables(app: Flask, plain: Callable[[], None], headers: dict[str, str]) -> None:
    """Print seconds for the table, µs a row, a row's ratio to the plain route, and the memory its sending takes."""
    for name, form, key in (("csv", ".csv", {}), ("csv, workshop", ".csv", headers), ("JSON", "", {})):
        took, ratios = [], []
        for _ in range(ROUNDS):
            began = time.perf_counter()
            for _ in range(100):
                plain()
            base = (time.perf_counter() - began) / 100
            took.append(_sent(app, form, key))
            ratios.append(took[-1] / ROWS / base)
        seconds, ratio = statistics.median(took), statistics.median(ratios)
        aim = "aim 3 s" if name == "csv" else ""
        shown = f"{f'price table, {ROWS} rows, {name}':34} {seconds:7.2f} s    {seconds / ROWS * 1e6:.0f} us a row"
        print(f"{shown}, ratio {ratio:.2f}   {aim}".rstrip())
    tracemalloc.start()
    _sent(app, ".csv", {})
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    print(f"{'memory while it is sent':34} {peak:7.1f} MB")


def _sent(app: Flask, form: str, headers: dict[str, str]) -> float:
    """Seconds for one table, sent piece by piece to nobody."""
    data = json.dumps(ASKED).encode()
    path = f"/v1/price-table{form}"
    builder = EnvironBuilder(path=path, method="POST", data=data, headers=headers, content_type="application/json")
    environ = {**builder.get_environ(), "wsgi.input": io.BytesIO(data)}
    status: list[str] = []
    began = time.perf_counter()
    for _ in app.wsgi_app(environ, lambda line, _headers, _info=None: status.append(line)):  # type: ignore[arg-type]
        pass
    took = time.perf_counter() - began
    if not status[0].startswith("200"):
        raise RuntimeError(f"{path}: {status[0]}")
    return took
