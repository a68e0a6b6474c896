"""Problem details: the one place that turns a refusal into an HTTP answer.

Every refusal is a ``Problem`` or becomes one here. The body is that of RFC 9457, ``application/problem+json``; its
``type`` is a stable path, its ``title`` is fixed per type, and what is wrong with this one request stands in
``detail`` and ``errors``. A spreadsheet shows nothing of such a body, so it may ask for one short line instead.
"""

import json
import logging
import traceback
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Final
from urllib.parse import quote

from flask import Flask, Request, Response, request
from werkzeug.exceptions import HTTPException, MethodNotAllowed

from chequerwork.api.component import AnswerContext, Component, many, optional, text, whole
from chequerwork.api.http import request_id
from chequerwork.api.sections.trees import Tree
from chequerwork.domain.basics.errors import Fault, Path, Refused
from chequerwork.ops.limits import (
    MAX_BODY_BYTES,
    MAX_FAULTS,
    MAX_INLINE_CHARS,
    MAX_QUERY_BYTES,
    STOCK_BODY_BYTES,
)
from chequerwork.render.cells import MEDIA_TYPES, plain_line

_log = logging.getLogger(__name__)

MEDIA_TYPE = "application/problem+json"

# Name of each kind of problem, which is the end of its type, with its status and title.
KINDS: Mapping[str, tuple[int, str]] = {
    "unreadable-request": (400, "Request Cannot Be Read"),
    "key-needed": (401, "Access Key Needed"),
    "key-not-sufficient": (403, "Access Key Not Sufficient"),
    "not-found": (404, "Not Found"),
    "method-not-allowed": (405, "Method Not Allowed"),
    "not-acceptable": (406, "Not Acceptable"),
    # RFC 9110 section 15.5.14; Python still has the name of an older standard.
    "content-too-large": (413, "Content Too Large"),
    "uri-too-long": (414, "URI Too Long"),
    "unsupported-media-type": (415, "Unsupported Media Type"),
    "invalid-order": (422, "Order Cannot Be Made"),
    "too-many-requests": (429, "Too Many Requests"),
    "internal-error": (500, "Internal Error"),
    "unavailable": (503, "Service Unavailable"),
}

# What is said where Flask or the server library refuses; their own sentences are not ours to promise.
_DETAILS: Mapping[int, str] = {
    400: "The request could not be read. Check its path, headers and body, and that it was sent completely.",
    401: "An access key is needed. Send it as Authorization: Bearer KEY.",
    403: "This is not open to you.",
    404: "There is nothing at this path. All paths are listed at /docs.",
    406: "None of the accepted media types is offered here. Leave out the Accept header.",
    413: f"The body has more than the {MAX_BODY_BYTES} bytes allowed, or {STOCK_BODY_BYTES} of a stock plan or "
    "a price table. Send less at a time.",
    414: f"The query has more than the {MAX_QUERY_BYTES} bytes allowed. Send the order as a JSON body with POST.",
    415: "The body is not of a media type that is read here. Send it as application/json.",
    422: "The request was read, but no such board can be made. Each entry of errors says what to change.",
    429: "Too many requests came from you. Wait as long as Retry-After says.",
    500: "Something failed here, not in your request. Name the request id when you report it.",
    503: "The service cannot answer at the moment. Wait as long as Retry-After says.",
}

# Faults in what was asked, which a cell can show. The others are for the program that fetches: it must come
# with another method or media type, wait, or try again.
_INLINE_STATUSES = frozenset({400, 401, 403, 404, 414, 422})


FAULT: Final = Component(
    "Fault",
    optional(text("pointer", "JSON pointer into the body.", lambda fault, to: to.pointer(fault))),
    optional(text("parameter", "Name of the query parameter.", lambda fault, to: to.parameter(fault))),
    text("code", "Stable; new ones may come."),
    text("detail", "What is wrong, what was given, the limit, what to change."),
)
PROBLEM: Final = Component(
    "Problem",
    text("type", "Stable path of the kind of problem."),
    text("title"),
    whole("status"),
    text("detail", of=lambda problem, _: problem.detail + _unlisted(problem)),
    text("instance", of=lambda _, to: to.instance),
    optional(many("errors", FAULT, "Every fault of the request.", lambda problem, _: _listed(problem) or None)),
    optional(text("request_id", "With 500: name it when you report the failure.", lambda problem, _: _id_of(problem))),
)


class Problem(Exception):
    """A refusal on its way to the client.

    Parameters
    ----------
    slug
        A name of ``KINDS``; it decides status and title. ``about:blank`` for a plain HTTP status.
    detail
        What is wrong with this request and what to change. Shown as it is: no secrets, no internals.
    errors
        The single faults, in reading order.
    headers
        Further headers of the answer, such as ``Retry-After``.
    in_query
        Whether the faults are about query parameters. None means: if the method has no body.
    status
        Only with ``about:blank``.
    """

    def __init__(
        self,
        slug: str,
        detail: str,
        *,
        errors: Iterable[Fault] = (),
        headers: Mapping[str, str] | None = None,
        in_query: bool | None = None,
        status: int = 500,
    ) -> None:
        self.slug = slug
        self.detail = detail
        self.errors = tuple(errors)
        self.headers = dict(headers or {})
        self.in_query = in_query
        self.status, self.title = KINDS.get(slug) or (status, HTTPStatus(status).phrase)
        super().__init__(slug)

    @property
    def type(self) -> str:
        """URI reference of the kind of problem (RFC 9457 section 3.1.1)."""
        return f"/problems/{self.slug}" if self.slug in KINDS else self.slug


def register(app: Flask) -> None:
    """Make every refusal and every failure of the application answer with a problem body.

    Parameters
    ----------
    app
        The application, before it serves its first request.
    """
    app.register_error_handler(Problem, respond)
    app.register_error_handler(Refused, lambda error: respond(invalid_order(error.faults)))
    app.register_error_handler(HTTPException, _on_http)
    app.register_error_handler(Exception, _on_failure)


def invalid_order(faults: Iterable[Fault], *, in_query: bool | None = None) -> Problem:
    """Problem for an order that was read but cannot be made.

    Parameters
    ----------
    faults
        One or more, in reading order.
    in_query
        As for ``Problem``.
    """
    faults = tuple(faults)
    count = "One fault stops" if len(faults) == 1 else f"{len(faults)} faults stop"
    return Problem("invalid-order", f"{count} this order; see errors.", errors=faults, in_query=in_query)


def explain(status: int) -> str:
    """What a status means here and what to do, where no more is known."""
    return _DETAILS.get(status, "The request was refused. The reference at /docs says what is served.")


def pointer(at: Path) -> str:
    """JSON pointer of a path; ``""`` is the whole document.

    References
    ----------
    RFC 6901, sections 3 and 5.
    """
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in at)


def parameter(at: Path) -> str:
    """Query parameter of a path: its steps joined by dots."""
    return ".".join(map(str, at))


def inline(problem: Problem, *, in_table: bool = False) -> str:
    """One short line for a spreadsheet cell that begins ``ERROR ``.

    Parameters
    ----------
    problem
        What is refused. The first fault speaks for all; the others are counted.
    in_table
        Whether the line is to stay one cell of a table, and unquoted, whatever its delimiter is.

    Returns
    -------
    str
        At most ``MAX_INLINE_CHARS`` characters without line ends or tabs. Because of its first word it can start
        no formula.
    """
    text, more = problem.detail, ""
    if problem.errors:
        first = problem.errors[0]
        text = f"{parameter(first.at)}: {first.detail}" if first.at else first.detail
        more = f" (1 of {len(problem.errors)} faults)" if len(problem.errors) > 1 else ""
    line = plain_line(f"ERROR {text}")
    if in_table:
        line = line.replace(",", " /").replace(";", " -").replace('"', "'")
    room = MAX_INLINE_CHARS - len(more)
    return (line if len(line) <= room else line[: room - 3] + "...") + more


def respond(problem: Problem) -> Response:
    """The answer to a refused request, as the client can read it best.

    Parameters
    ----------
    problem
        What is refused.
    """
    suffix = _inline_suffix(request)
    if suffix and problem.status in _INLINE_STATUSES:
        return _inline_response(problem, suffix)
    body = json.dumps(_body(problem), ensure_ascii=False, separators=(",", ":")).encode("utf-8", "replace")
    # Nothing may keep a refusal: it can be mended, and 404 and 414 would be kept without this.
    headers = {"Cache-Control": "no-store", **problem.headers}
    return Response(body, problem.status, headers, content_type=MEDIA_TYPE)


@dataclass(frozen=True, slots=True, kw_only=True)
class _RefusalContext(AnswerContext):
    """How a refusal is told: of which path, and whether its faults are about the query."""

    instance: str
    in_query: bool

    def pointer(self, fault: Fault) -> str | None:
        """Where in the body it is; None of a query."""
        return None if self.in_query else pointer(fault.at)

    def parameter(self, fault: Fault) -> str | None:
        """Where in the query it is; None of a body."""
        return parameter(fault.at) if self.in_query else None


def _body(problem: Problem) -> Tree:
    in_query = request.method in ("GET", "HEAD") if problem.in_query is None else problem.in_query
    return PROBLEM.write(problem, _RefusalContext(instance=_instance(request), in_query=in_query))


def _listed(problem: Problem) -> Sequence[Fault]:
    return problem.errors[:MAX_FAULTS]


def _unlisted(problem: Problem) -> str:
    return f" The first {MAX_FAULTS} are listed." if len(problem.errors) > MAX_FAULTS else ""


def _id_of(problem: Problem) -> str | None:
    return request_id() if problem.status >= HTTPStatus.INTERNAL_SERVER_ERROR else None


def _instance(asked: Request) -> str:
    """Path of the request as a URI reference; two slashes in front would make it name another host."""
    return "/" + quote(asked.path.lstrip("/"))


def _inline_suffix(asked: Request) -> str | None:
    """Format of the path if the faults of this request are to be told in a cell.

    Looks at the raw query, because a query that cannot be decoded is one of the faults to tell.
    """
    suffix = asked.path.rpartition(".")[2]
    wanted = suffix in MEDIA_TYPES and asked.path.startswith("/v1/") and asked.method in ("GET", "HEAD", "POST")
    return suffix if wanted and b"errors=inline" in asked.query_string.split(b"&") else None


def _inline_response(problem: Problem, suffix: str) -> Response:
    line = inline(problem, in_table=suffix != "txt").encode()
    return Response(line, HTTPStatus.OK, {"Cache-Control": "no-store"}, content_type=MEDIA_TYPES[suffix])


def _on_http(error: HTTPException) -> Response | HTTPException:
    status = error.code or 0
    if status < HTTPStatus.BAD_REQUEST or error.response is not None:
        return error
    skipped = ("content-type", "content-length", "allow")
    headers = {k: v for k, v in error.get_headers(request.environ) if k.lower() not in skipped}
    detail = explain(status)
    if isinstance(error, MethodNotAllowed):
        # Sorted, so that every process gives the same bytes.
        allowed = headers["Allow"] = ", ".join(sorted(error.valid_methods or ()))
        detail = f"This path answers {allowed}, but {request.method[:20]} was asked for."
    slug = next((name for name, kind in KINDS.items() if kind[0] == status), "about:blank")
    return respond(Problem(slug, detail, headers=headers, status=status))


def _on_failure(error: Exception) -> Response:
    # Where it failed, but not the exception's own text: that may hold a customer's order or a maker's figures.
    where = "".join(traceback.format_tb(error.__traceback__))
    name = type(error).__name__
    _log.error("request %s failed: %s %s: %s\n%s", request_id(), request.method, _instance(request), name, where)
    return respond(Problem("internal-error", _DETAILS[500]))
