"""What gunicorn itself turns away, before the application sees it, in the form of the application's own refusals.

Out of the box these answers are HTML pages, which no client of ours can read. gunicorn has no setting for them, so its
one function that writes them is replaced; the live tests notice if a later version calls it differently.
"""

import json
import socket

from gunicorn import util

# Kinds and titles are those of the api room, which this room may not import; a test compares them.
PROBLEMS: dict[int, tuple[str, str, str]] = {
    400: (
        "/problems/unreadable-request",
        "Request Cannot Be Read",
        "The request could not be read as HTTP. Send well-formed HTTP/1.1 with one Host header.",
    ),
    414: (
        "/problems/uri-too-long",
        "URI Too Long",
        "The request line is longer than 4094 characters. Send the order as a JSON body with POST.",
    ),
    431: (
        "about:blank",
        "Request Header Fields Too Large",
        "A header line is longer than 8190 characters, or there are more than 64. Send fewer or shorter ones.",
    ),
    500: ("/problems/internal-error", "Internal Error", "Something failed here, not in your request."),
}


def install() -> None:
    """Let gunicorn answer with problems from now on, in this process and those it forks."""
    util.write_error = write_problem


def write_problem(sock: socket.socket, status_int: int, reason: str, mesg: str) -> None:  # noqa: ARG001 - its names
    """Write a whole answer to a connection that is closed afterwards.

    Parameters
    ----------
    sock
        The client's connection.
    status_int, reason
        Of the status line.
    mesg
        gunicorn's own words. They repeat what was sent, so they are not passed on.

    References
    ----------
    RFC 9457, section 3.
    """
    kind, title, detail = PROBLEMS.get(status_int, ("about:blank", reason, "The server cannot work with this request."))
    # The contract promises an instance; which path was meant is not known here.
    problem = {"type": kind, "title": title, "status": status_int, "detail": detail, "instance": "/"}
    body = json.dumps(problem).encode()
    head = (
        f"HTTP/1.1 {status_int} {reason}\r\n"
        "Connection: close\r\n"
        "Content-Type: application/problem+json\r\n"
        "Cache-Control: no-store\r\n"
        f"Content-Length: {len(body)}\r\n\r\n"
    )
    util.write_nonblock(sock, head.encode("latin-1") + body)
