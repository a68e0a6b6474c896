"""gunicorn's own refusals have the kinds, titles and limits that the service publishes."""

import json
import runpy
import socket
from http import HTTPStatus
from pathlib import Path

import pytest

from chequerwork.api.problems import KINDS
from chequerwork.ops import refusals

SERVER = runpy.run_path(str(Path(refusals.__file__).with_name("gunicorn_conf.py")))


@pytest.mark.parametrize("status", refusals.PROBLEMS)
def test_kind_and_title_are_those_of_the_api(status: int):
    published = {given: (f"/problems/{slug}", title) for slug, (given, title) in KINDS.items()}
    kind, title, _ = refusals.PROBLEMS[status]
    assert (kind, title) == published.get(status, ("about:blank", HTTPStatus(status).phrase))


def test_the_limits_told_are_the_limits_set():
    assert f"longer than {SERVER['limit_request_line']} characters" in refusals.PROBLEMS[414][2]
    assert f"longer than {SERVER['limit_request_field_size']} characters" in refusals.PROBLEMS[431][2]
    assert f"more than {SERVER['limit_request_fields']}." in refusals.PROBLEMS[431][2]


@pytest.mark.parametrize(("status", "reason"), [(400, "Bad Request"), (417, "Expectation Failed")])
def test_what_the_client_sent_is_not_repeated(status: int, reason: str):
    ours, theirs = socket.socketpair()
    with ours, theirs:
        refusals.write_problem(ours, status, reason, "Invalid Method '<script>'")
        answer = theirs.recv(4096).decode()
    head, _, body = answer.partition("\r\n\r\n")
    assert head.startswith(f"HTTP/1.1 {status} {reason}\r\n")
    assert f"Content-Length: {len(body)}" in head
    assert json.loads(body)["status"] == status
    assert "script" not in answer
