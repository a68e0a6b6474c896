"""What a start costs: seconds until the application is imported, and memory of a process that serves it.

Byte code is there, as in the image; the time without it is told beside it. Memory is Linux's to tell.
"""

import json
import os
import re
import socket
import statistics
import subprocess
import sys
import time
from http import HTTPStatus
from http.client import HTTPConnection
from pathlib import Path
from tempfile import TemporaryDirectory

from frozen import FIRST, ORDERS

RUNS, QUOTES = 5, 60
IMPORT = (
    "import time; t = time.perf_counter()\n"
    "from chequerwork.wsgi import app\n"
    "took = time.perf_counter() - t\n"
    "app.test_client().get('/readyz')\n"
    "print(took, *(line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')))"
)


def starting() -> None:
    """Print import time and memory of a fresh process that has answered once, and private memory of a worker."""
    with TemporaryDirectory() as cache:
        compiled = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        compiled["PYTHONPYCACHEPREFIX"] = cache
        _imported(compiled)  # writes the byte code
        took, memory = (
            statistics.median(each) for each in zip(*(_imported(compiled) for _ in range(RUNS)), strict=True)
        )
        print(f"{'import of the application':34} {took * 1e3:7.0f} ms   aim 400 ms")
        took = statistics.median(_imported({**os.environ, "PYTHONDONTWRITEBYTECODE": "1"})[0] for _ in range(RUNS))
        print(f"{'the same without byte code':34} {took * 1e3:7.0f} ms")
        print(f"{'memory of one process':34} {memory:7.0f} MB   aim 60 MB")
        print(f"{'private memory of a warm worker':34} {_worker_mb(compiled):7.0f} MB   aim 60 MB")


def _imported(environment: dict[str, str]) -> tuple[float, float]:
    """Seconds, and the most memory in MB: of this program alone, which ``ru_maxrss`` of a forked process is not."""
    run = subprocess.run([sys.executable, "-c", IMPORT], env=environment, capture_output=True, text=True, check=True)
    took, kib = run.stdout.split()
    return float(took), float(kib) / 1024


def _worker_mb(environment: dict[str, str]) -> float:
    """Memory that a worker of the real server shares with nobody, after some quotes of either view. [MB]"""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    served = {**environment, "HOST": "127.0.0.1", "PORT": str(port), "WEB_CONCURRENCY": "1"}
    with subprocess.Popen(
        [sys.executable, "-m", "chequerwork", "serve"],
        env=served,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    ) as server:
        try:
            for _ in range(QUOTES):
                _quoted(port, {})
                _quoted(port, {"Authorization": f"Bearer demo-maker-{ORDERS[FIRST]['shop']}"})
            (worker,) = Path(f"/proc/{server.pid}/task/{server.pid}/children").read_text(encoding="utf-8").split()
            told = Path(f"/proc/{worker}/smaps_rollup").read_text(encoding="utf-8")
        finally:
            server.terminate()
    return sum(map(int, re.findall(r"^Private_\w+: +(\d+)", told, re.MULTILINE))) / 1024


def _quoted(port: int, key: dict[str, str]) -> None:
    """Ask for a quote until somebody listens, for at most half a minute."""
    body, headers = json.dumps(ORDERS[FIRST]), {"Content-Type": "application/json", **key}
    for _ in range(300):
        connection = HTTPConnection("127.0.0.1", port)
        try:
            connection.request("POST", "/v1/quotes", body, headers)
            answer = connection.getresponse()
            answer.read()
        except ConnectionRefusedError:
            time.sleep(0.1)
            continue
        finally:
            connection.close()
        if answer.status != HTTPStatus.OK:
            raise RuntimeError(f"/v1/quotes: {answer.status}")
        return
    raise RuntimeError("The server does not answer.")
