"""Answers a file of requests from the tree whose environment runs this, on a fixed day, and writes every answer down.

Run as ``python answering.py REQUESTS ANSWERS DAY SHOPS``: two files of JSON lines and a folder of shop files. It needs
nothing of the tree but ``chequerwork.app.create_app``, so that trees of any age can be asked: requests go in by WSGI,
without a test client. Each names what serves it: ``demo``, the demo shops, or ``own``, those of the folder.
"""

import datetime as dt
import io
import json
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes

TAG = "{etag}"  # in a request's If-None-Match: the entity tag that the same request is answered with


def stop_the_clock(day: str) -> None:
    """Make ``datetime`` and ``date`` of the standard library tell one moment: noon of a day, in every time zone.

    Call it before anything is imported that reads a clock. What these classes make are ordinary dates and times, and
    ordinary ones are instances of them, so nothing else changes.

    Parameters
    ----------
    day
        ``2027-02-03``.
    """
    real_date, real_time = dt.date, dt.datetime
    noon = real_time.fromisoformat(f"{day}T12:00:00")

    class Alike(type):
        def __instancecheck__(cls, value: object) -> bool:
            return isinstance(value, cls.__mro__[1])

        def __subclasscheck__(cls, kind: type) -> bool:
            return issubclass(kind, cls.__mro__[1])

    class Date(real_date, metaclass=Alike):
        def __new__(cls, *given: Any, **named: Any) -> Any:
            return real_date(*given, **named)

        @classmethod
        def today(cls) -> Any:
            return noon.date()

    class DateTime(real_time, metaclass=Alike):
        def __new__(cls, *given: Any, **named: Any) -> Any:
            return real_time(*given, **named)

        @classmethod
        def now(cls, tz: dt.tzinfo | None = None) -> Any:
            return noon.replace(tzinfo=tz)

        @classmethod
        def today(cls) -> Any:
            return noon

        @classmethod
        def utcnow(cls) -> Any:
            return noon

    dt.date, dt.datetime = Date, DateTime


def environ_of(asked: dict[str, Any]) -> dict[str, Any]:
    """A request as a server hands it to an application (PEP 3333)."""
    body = asked["body"].encode("latin-1")
    environ = {
        "REQUEST_METHOD": asked["method"],
        "SCRIPT_NAME": "",
        "PATH_INFO": unquote_to_bytes(asked["path"]).decode("latin-1"),
        "QUERY_STRING": asked["query"],
        "SERVER_NAME": "127.0.0.1",
        "SERVER_PORT": "8000",
        "SERVER_PROTOCOL": "HTTP/1.1",
        "REMOTE_ADDR": "127.0.0.1",
        "HTTP_HOST": "127.0.0.1:8000",
        "wsgi.version": (1, 0),
        "wsgi.url_scheme": "http",
        "wsgi.input": io.BytesIO(body),
        "wsgi.errors": sys.stderr,
        "wsgi.multithread": False,
        "wsgi.multiprocess": False,
        "wsgi.run_once": False,
        "CONTENT_LENGTH": str(len(body)),
    }
    for name, text in asked["headers"]:
        key = name.upper().replace("-", "_")
        environ[key if key == "CONTENT_TYPE" else f"HTTP_{key}"] = text
    return environ


def answered(app: Any, asked: dict[str, Any]) -> dict[str, Any]:
    """Status, headers and body of one answer; ``broke`` names the exception that came instead, or in its middle."""
    started: list[Any] = [0, []]

    def start(status: str, headers: list[tuple[str, str]], _: Any = None) -> Any:
        started[:] = [int(status[:3]), [list(header) for header in headers]]

    pieces: list[bytes] = []
    broke = None
    try:
        body = app(environ_of(asked), start)
        try:
            pieces.extend(body)
        finally:
            if hasattr(body, "close"):
                body.close()
    except Exception as error:  # noqa: BLE001 - whatever it is, it is the answer
        broke = type(error).__name__
    text = b"".join(pieces).decode("latin-1")
    return {"status": started[0], "headers": started[1], "body": text, "broke": broke}


def own_tag(app: Any, asked: dict[str, Any]) -> dict[str, Any]:
    """The request with the entity tag in it that it would be answered with."""
    if not any(TAG in text for _, text in asked["headers"]):
        return asked
    plain = {**asked, "headers": [[name, text] for name, text in asked["headers"] if TAG not in text]}
    tags = [text for name, text in answered(app, plain)["headers"] if name.lower() == "etag"]
    headers = [[name, text.replace(TAG, tags[0] if tags else '"none"')] for name, text in asked["headers"]]
    return {**asked, "headers": headers}


def answers(apps: dict[str, Any], lines: list[str]) -> Iterator[str]:
    """A line for each request's line."""
    for line in lines:
        told = json.loads(line)
        app = apps[told["served"]]
        asked = own_tag(app, told)
        began = time.perf_counter()
        record = answered(app, asked)
        yield json.dumps({**record, "seconds": round(time.perf_counter() - began, 6)}) + "\n"


def main(requests: str, written: str, day: str, shops: str) -> None:
    """Answer every request of a file."""
    stop_the_clock(day)
    from chequerwork.app import create_app  # noqa: PLC0415 - only now is the clock stopped

    lines = Path(requests).read_text("utf-8").splitlines()
    apps = {"demo": create_app()}
    os.environ["CHEQUERWORK_SHOPS"] = shops
    apps["own"] = create_app()
    with Path(written).open("w", encoding="utf-8") as out:
        out.writelines(answers(apps, lines))


if __name__ == "__main__":
    main(*sys.argv[1:])
