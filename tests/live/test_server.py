"""The server itself, as far as a test client cannot show it: the wire, many callers at once, starting, stopping."""

import contextlib
import http.client
import json
import re
import shlex
import socket
import subprocess
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from http import HTTPStatus
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
import requests

from chequerwork.api.problems import KINDS
from chequerwork.ops.limits import MAX_BODY_BYTES

pytestmark = pytest.mark.live

ORDER = {"square": "48 mm", "light": "sycamore_maple", "dark": "european_walnut", "issued_on": "2027-03-01"}


@pytest.fixture(scope="module")
def connection(server_url: str):
    """A plain HTTP connection that never reconnects by itself."""
    parts = urlsplit(server_url)
    with contextlib.closing(http.client.HTTPConnection(parts.hostname, parts.port, timeout=10)) as connection:
        connection.auto_open = 0
        connection.connect()
        yield connection


def test_the_server_is_healthy_and_ready(server_url: str):
    for path in ("/healthz", "/readyz"):
        answer = requests.get(server_url + path, timeout=5)
        assert answer.status_code == 200, path
        assert answer.headers["Content-Type"].startswith("application/json")


def test_an_order_is_quoted(server_url: str):
    answer = requests.post(f"{server_url}/v1/quotes", json=ORDER, timeout=10)
    assert answer.status_code == 200, answer.text
    assert answer.json()["geometry"]["square_mm"] == 48


def test_head_says_what_get_says_without_the_body(server_url: str):
    url = f"{server_url}/v1/price.txt"
    query = {**ORDER, "field": "price.total"}
    got = requests.get(url, params=query, timeout=10)
    head = requests.head(url, params=query, timeout=10)
    assert (head.status_code, head.content) == (200, b"")
    for name in ("Content-Type", "Content-Length", "ETag"):
        assert head.headers[name] == got.headers[name]
    assert int(head.headers["Content-Length"]) == len(got.content) > 0


def test_a_body_above_the_limit_is_turned_away_as_a_problem(server_url: str):
    answer = requests.post(
        f"{server_url}/v1/quotes",
        data=b" " * (MAX_BODY_BYTES + 1),
        headers={"Content-Type": "application/json"},
        timeout=10,
    )
    assert answer.status_code == 413
    assert answer.headers["Content-Type"].startswith("application/problem+json")
    assert answer.json()["status"] == 413


def test_a_body_sent_in_chunks_is_held_to_the_same_limit(server_url: str):
    answer = requests.post(
        f"{server_url}/v1/quotes",
        data=(b" " * 1024 for _ in range(65)),
        headers={"Content-Type": "application/json"},
        timeout=10,
    )
    assert answer.status_code == 413


@pytest.mark.parametrize(
    ("request_bytes", "status"),
    [
        (b"NONSENSE\r\n\r\n", 400),
        (b"GET /healthz HTTP/1.1\r\nHost: a\r\nContent-Length: x\r\n\r\n", 400),
        (b"GET /v1/price?light=" + b"x" * 4100 + b" HTTP/1.1\r\nHost: a\r\n\r\n", 414),
        (b"GET /healthz HTTP/1.1\r\nHost: a\r\nX-Long: " + b"x" * 9000 + b"\r\n\r\n", 431),
    ],
    ids=["no HTTP", "bad length", "long line", "long header"],
)
def test_what_never_reaches_the_application_is_a_problem_too(server_url: str, request_bytes: bytes, status: int):
    parts = urlsplit(server_url)
    with socket.create_connection((parts.hostname, parts.port), timeout=10) as raw:
        raw.sendall(request_bytes)
        answer = http.client.HTTPResponse(raw)
        answer.begin()
        problem = json.load(answer)
    assert answer.status == problem["status"] == status
    assert answer.getheader("Content-Type") == "application/problem+json"
    kinds = {given: (f"/problems/{slug}", title) for slug, (given, title) in KINDS.items()}
    assert (problem["type"], problem["title"]) == kinds.get(status, ("about:blank", HTTPStatus(status).phrase))


def test_one_connection_carries_several_requests(connection: http.client.HTTPConnection):
    for _ in range(3):
        connection.request("GET", "/healthz")
        answer = connection.getresponse()
        answer.read()
        assert answer.status == 200
        assert answer.getheader("Connection") != "close"


def test_a_fault_keeps_the_connection_usable(connection: http.client.HTTPConnection):
    for path, status in (("/nowhere", 404), ("/healthz", 200)):
        connection.request("GET", path)
        answer = connection.getresponse()
        answer.read()
        assert answer.status == status


def test_callers_at_the_same_time_get_the_same_bytes(server_url: str):
    def ask(_: int) -> tuple[int, bytes]:
        answer = requests.post(f"{server_url}/v1/quotes", json=ORDER, timeout=20)
        return answer.status_code, answer.content

    with ThreadPoolExecutor(16) as callers:
        answers = set(callers.map(ask, range(32)))
    assert len(answers) == 1
    assert answers.pop()[0] == 200


def test_silent_connections_do_not_stop_the_others(server_url: str):
    """A browser opens connections ahead of need; with one process per connection two of them stopped everything."""
    parts = urlsplit(server_url)
    silent = [socket.create_connection((parts.hostname, parts.port), timeout=5) for _ in range(12)]
    try:
        assert requests.get(f"{server_url}/healthz", timeout=3).status_code == 200
    finally:
        for connection in silent:
            connection.close()


def test_the_start_is_announced_with_a_call_that_works(start_server: Callable[..., Any]):
    server = start_server()
    server.wait_until_healthy()
    said = server.output()
    assert server.url in said
    assert f"{server.url}/docs" in said
    command = re.search(r"curl (?:[^\n]*\\\n)*[^\n]*", said)
    assert command, said
    words = shlex.split(command[0].replace("\\\n", " "))
    answer = subprocess.run([*words, "--silent", "--fail"], capture_output=True, text=True, timeout=20, check=False)
    assert answer.returncode == 0, answer.stderr
    assert '"price"' in answer.stdout
    assert server.stop() == 0


def test_told_to_stop_the_server_finishes_what_it_does_and_frees_its_port(start_server: Callable[..., Any]):
    server = start_server(WEB_CONCURRENCY="1")
    server.wait_until_healthy()
    parts = urlsplit(server.url)
    body = b'{"square": "48 mm", "light": "sycamore_maple", "dark": "european_walnut"}'
    head = f"Host: here\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    with socket.create_connection((parts.hostname, parts.port), timeout=10) as half_sent:
        half_sent.sendall(f"POST /v1/quotes HTTP/1.1\r\n{head}".encode() + body[:10])
        time.sleep(0.3)
        server.process.terminate()
        time.sleep(0.3)
        half_sent.sendall(body[10:])
        assert half_sent.recv(12) == b"HTTP/1.1 200"
    assert server.process.wait(25) == 0
    assert "Traceback" not in server.output()
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((parts.hostname, parts.port))


def ended(server: Any) -> tuple[int, str]:
    """Exit code and output of a server that is expected to give up by itself."""
    code = server.process.wait(20)
    return code, server.output()


def test_a_busy_port_is_named_and_the_command_fails(start_server: Callable[..., Any]):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        code, said = ended(start_server(PORT=port))
    assert code not in (0, None)
    assert port in said
    assert "Traceback" not in said


def test_a_broken_shop_file_is_named_with_its_mistakes_and_the_command_fails(
    start_server: Callable[..., Any], tmp_path: Path
):
    shop = tmp_path / "crooked.toml"
    shop.write_text("currency = 12\nnonsense = true\n", encoding="utf-8")
    code, said = ended(start_server(CHEQUERWORK_SHOPS=str(shop)))
    assert code not in (0, None)
    assert "crooked.toml" in said
    assert "currency" in said
    assert "nonsense" in said
    assert "Traceback" not in said


def test_a_shop_file_that_is_not_there_is_named(start_server: Callable[..., Any], tmp_path: Path):
    code, said = ended(start_server(CHEQUERWORK_SHOPS=str(tmp_path / "absent.toml")))
    assert code not in (0, None)
    assert "absent.toml" in said
    assert "Traceback" not in said


def test_bad_settings_are_all_named_and_the_command_fails(start_server: Callable[..., Any]):
    code, said = ended(start_server(WEB_CONCURRENCY="none", CHEQUERWORK_LOG_LEVEL="loud"))
    assert code not in (0, None)
    assert "WEB_CONCURRENCY" in said
    assert "CHEQUERWORK_LOG_LEVEL" in said
    assert "Traceback" not in said


TABLE = {**ORDER, "quantity": list(range(1, 201)), "channel": ["own_site", "market_fair", "online_marketplace"]}


def test_a_long_table_is_sent_in_pieces_as_it_is_made(server_url: str):
    began = time.monotonic()
    with requests.post(f"{server_url}/v1/price-table.ndjson", json=TABLE, stream=True, timeout=30) as answer:
        assert answer.status_code == 200
        assert answer.headers["Transfer-Encoding"] == "chunked"
        lines = answer.iter_lines()
        first = json.loads(next(lines))
        arrived = time.monotonic() - began
        rows = [first, *map(json.loads, lines)]
    assert len(rows) == 600
    assert arrived < time.monotonic() - began
    assert rows[-1]["quantity"] == 200


def test_the_server_goes_on_when_a_client_hangs_up_in_the_middle_of_a_table(server_url: str):
    for _ in range(3):
        with requests.post(f"{server_url}/v1/price-table.ndjson", json=TABLE, stream=True, timeout=30) as answer:
            next(answer.iter_lines())
    assert requests.get(f"{server_url}/healthz", timeout=10).status_code == 200
