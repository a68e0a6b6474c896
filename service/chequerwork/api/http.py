"""What every answer carries, whatever it says: request id, security headers, CORS, entity tag and cache headers."""

import logging
import os
import re
import traceback
from collections.abc import Callable, Collection, Iterable, Iterator
from hashlib import sha256
from typing import TYPE_CHECKING

from flask import Flask, Request, Response, current_app, g, request

from chequerwork.domain.basics.shop import Shop
from chequerwork.ops.limits import MAX_REQUEST_ID_CHARS

if TYPE_CHECKING:  # exists for type checkers only
    from _typeshed import OptExcInfo
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

_log = logging.getLogger(__name__)

_REQUEST_ID = re.compile(rf"[A-Za-z0-9._-]{{1,{MAX_REQUEST_ID_CHARS}}}\Z")
_ID_KEY = "chequerwork.request_id"

_SECURITY = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    # Shops show drawings and prices in their own pages; nothing here depends on who is logged in somewhere.
    ("Cross-Origin-Resource-Policy", "cross-origin"),
)
_CONTENT_POLICY = ("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'")

_EXPOSED = ("Access-Control-Expose-Headers", "ETag, Link, Retry-After, X-Request-Id, Content-Disposition")
_PREFLIGHT = (
    ("Access-Control-Allow-Methods", "GET, HEAD, POST, OPTIONS"),
    ("Access-Control-Allow-Headers", "Content-Type, Authorization, If-None-Match"),
    ("Access-Control-Max-Age", "7200"),  # seconds; browsers keep it no longer than two hours
)

# A price holds for days, so five minutes in a browser or a proxy mislead nobody. What only the maker may see is
# kept by the maker's own client at most, which asks each time whether it still holds.
_PUBLIC = "public, max-age=300"
_PRIVATE = "private, no-cache"


def finish(app: Flask, *, origins: Collection[str]) -> None:
    """Give every answer of the application its common headers, and answer ``OPTIONS``.

    The headers are added outside Flask, where they are a plain list: that takes 5 µs a request instead of 20.

    Parameters
    ----------
    app
        The application. Call this before other hooks are registered: ``OPTIONS`` is answered here, without a key.
    origins
        Allowed web origins of all served shops. A request that has found its shop (``g.shop``) is held to that
        shop's own instead.
    """
    inner = app.wsgi_app

    def wsgi_app(environ: "WSGIEnvironment", start_response: "StartResponse") -> Iterable[bytes]:
        given = environ.get("HTTP_X_REQUEST_ID", "")
        environ[_ID_KEY] = given if _REQUEST_ID.match(given) else os.urandom(8).hex()

        def start(
            status: str, headers: list[tuple[str, str]], exc_info: "OptExcInfo | None" = None
        ) -> Callable[[bytes], object]:
            # Flask calls this while the request's context still stands, so g.shop can be read.
            _complete(headers, environ, origins)
            return start_response(status, headers, exc_info)

        return inner(environ, start)

    app.wsgi_app = wsgi_app  # type: ignore[method-assign]
    app.before_request(_answer_options)


def request_id() -> str:
    """Id of the current request: the client's own if it is well formed, or a new one."""
    known: str = request.environ.get(_ID_KEY, "")
    return known


def answer(asked: Request, body: bytes, content_type: str, *, private: bool) -> Response:
    """Answer with a body, or with 304 where the client has it already.

    Parameters
    ----------
    asked
        The request.
    body, content_type
        The representation; equal ones have equal entity tags, on any machine.
    private
        Whether only this caller may see it.

    Returns
    -------
    Response
        Status 200, or 304 for a ``GET`` or ``HEAD`` whose ``If-None-Match`` names the entity tag.

    References
    ----------
    RFC 9110, sections 8.8.3, 13.1.2 and 15.4.5.
    """
    tag = entity_tag(body, content_type)
    known = asked.environ.get("HTTP_IF_NONE_MATCH")
    if known is not None and asked.method in ("GET", "HEAD") and _names(known, tag):
        response = _bare_response(304)
    else:
        response = Response(body, 200, content_type=content_type)
    add = response.headers.add  # one by one takes half as long as all at once
    add("ETag", tag)
    add("Cache-Control", _PRIVATE if private else _PUBLIC)
    add("Vary", "Authorization, Origin")
    return response


def stream(asked: Request, chunks: Iterable[bytes], content_type: str, *, private: bool) -> Response:
    """Answer with a body that is sent as it is made. It is not known beforehand, so it has no length and no tag.

    Parameters
    ----------
    asked
        The request; for a ``HEAD`` nothing is made.
    chunks
        The body, in pieces.
    content_type
        Its media type.
    private
        Whether only this caller may see it.
    """
    sent = () if asked.method == "HEAD" else _watched(chunks, request_id())
    response = Response(iter(sent), 200, content_type=content_type)
    response.headers["Cache-Control"] = _PRIVATE if private else _PUBLIC
    response.headers["Vary"] = "Authorization, Origin"
    return response


def _watched(chunks: Iterable[bytes], asked_by: str) -> Iterator[bytes]:
    """The pieces of a body; a failure of ours breaks it off and is logged without what a customer or maker said."""
    try:
        yield from chunks
    except Exception as error:  # noqa: BLE001 - whatever it is, its own text may not be logged
        where = "".join(traceback.format_tb(error.__traceback__))
        _log.error("request %s broke off: %s\n%s", asked_by, type(error).__name__, where)
        raise RuntimeError("an answer broke off") from None


def entity_tag(body: bytes, content_type: str) -> str:
    """Strong entity tag of a representation: 128 bits of a hash, in quotes."""
    digest = sha256(content_type.encode() + b"\0" + body).hexdigest()
    return f'"{digest[:32]}"'


def _names(header: str, tag: str) -> bool:
    """Whether an ``If-None-Match`` lists the tag, by weak comparison.

    A quote cannot stand inside a tag, so a quoted tag found anywhere is a member of the list, with or without W/.
    """
    return tag in header or header.strip() == "*"


def _bare_response(status: int) -> Response:
    response = Response(status=status)
    response.headers.clear()  # no body, so no media type either
    return response


def _answer_options() -> Response | None:
    if request.method != "OPTIONS" or request.routing_exception is not None:
        return None
    # Sorted, so that every process gives the same bytes.
    allowed = sorted(current_app.make_default_options_response().allow)
    response = _bare_response(204)
    response.headers["Allow"] = ", ".join(allowed)
    return response


def _complete(headers: list[tuple[str, str]], environ: "WSGIEnvironment", origins: Collection[str]) -> None:
    names = [name for name, _ in headers]
    headers.append(("X-Request-Id", environ[_ID_KEY]))
    headers += _SECURITY
    if _CONTENT_POLICY[0] not in names:
        headers.append(_CONTENT_POLICY)
    if not environ["PATH_INFO"].startswith("/v1/"):
        return
    # Also where no origin was sent: a cache must not give that answer to a page.
    if "Vary" not in names:
        headers.append(("Vary", "Origin"))
    origin = environ.get("HTTP_ORIGIN")
    if origin is not None and origin in _open_to(origins):
        headers += [("Access-Control-Allow-Origin", origin), _EXPOSED]
        if "HTTP_ACCESS_CONTROL_REQUEST_METHOD" in environ and environ["REQUEST_METHOD"] == "OPTIONS":
            headers += _PREFLIGHT


def _open_to(origins: Collection[str]) -> Collection[str]:
    shop: Shop | None = g.get("shop")
    return origins if shop is None else shop.origins
