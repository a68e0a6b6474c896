"""The real server, started by its real command on a free port.

``CHEQUERWORK_URL`` points the tests that only ask questions at a server that runs already, such as a container.
"""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import requests

START_LIMIT_S = 20
STOP_LIMIT_S = 25
FORKED_S = 0.5


@dataclass(slots=True, kw_only=True)
class RunningServer:
    """One server process and where it answers."""

    url: str
    process: subprocess.Popen[bytes]
    log: Path

    def output(self) -> str:
        """What the server has printed so far."""
        return self.log.read_text(encoding="utf-8")

    def wait_until_healthy(self) -> None:
        """Ask for its health until it answers; a server that dies shows what it said."""
        deadline = time.monotonic() + START_LIMIT_S
        while time.monotonic() < deadline:
            if self.process.poll() is not None:
                pytest.fail(f"the server ended with code {self.process.returncode} and said:\n{self.output()}")
            try:
                requests.get(f"{self.url}/healthz", timeout=2)
            except requests.ConnectionError:
                time.sleep(0.05)
            else:
                return
        pytest.fail(f"the server did not answer within {START_LIMIT_S} s and said:\n{self.output()}")

    def stop(self) -> int:
        """Tell it to stop, as a container engine does, and return its exit code.

        A process that has this moment been forked would not hear of it, and all would wait 20 s for it.
        """
        time.sleep(FORKED_S)
        self.process.terminate()
        return self.process.wait(STOP_LIMIT_S)


StartServer = Callable[..., RunningServer]


def free_port() -> int:
    """A TCP port that nobody listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture(scope="session")
def start_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[StartServer]:
    """Start the serving command with these environment variables and no others of ours; all are stopped at the end."""
    running: list[RunningServer] = []

    def start(**environment: str) -> RunningServer:
        folder = tmp_path_factory.mktemp("server")
        variables = {"PATH": os.environ["PATH"], "HOST": "127.0.0.1", "PORT": str(free_port())} | environment
        log = folder / "output.txt"
        with log.open("wb") as output:
            process = subprocess.Popen(
                [sys.executable, "-m", "chequerwork", "serve"],
                env=variables,
                cwd=folder,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=subprocess.STDOUT,
            )
        server = RunningServer(url=f"http://127.0.0.1:{variables['PORT']}", process=process, log=log)
        running.append(server)
        return server

    yield start
    for server in running:
        if server.process.poll() is None:
            server.process.kill()
            server.process.wait()


@pytest.fixture(scope="session")
def server_url(start_server: StartServer) -> str:
    """Address of a healthy server that serves the demo shops."""
    if given := os.environ.get("CHEQUERWORK_URL"):
        return given.rstrip("/")
    server = start_server()
    server.wait_until_healthy()
    return server.url
