"""Requests generated from the committed contract, sent to the real server; any answer it did not promise is red.

Takes minutes, so it is not part of ``make test``: ``make fuzz`` runs it.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.fuzz

PROJECT = Path(__file__).resolve().parents[2]
CONTRACT = PROJECT / "openapi" / "openapi.yaml"
CONFIG = Path(__file__).with_name("schemathesis.toml")
TIME_LIMIT_S = 15 * 60


def published_maker_key() -> str:
    """The demo maker's key as the README shows it; the workshop view has far more to break."""
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    found = re.search(r"Authorization: Bearer ([A-Za-z0-9._~-]{8,})", readme)
    assert found, "the README shows no call with `Authorization: Bearer KEY`"
    return found[1]


def test_every_answer_to_generated_requests_is_one_the_contract_promises(server_url: str, tmp_path: Path):
    command = [
        sys.executable, "-m", "schemathesis.cli", "--config-file", str(CONFIG), "run", str(CONTRACT),
        "--phases", "examples,coverage,fuzzing,stateful",
        "--header", f"Authorization: Bearer {published_maker_key()}",
        "--no-color",
    ]  # fmt: skip
    environment = os.environ | {"CHEQUERWORK_URL": server_url}
    run = subprocess.run(command, cwd=tmp_path, env=environment, timeout=TIME_LIMIT_S, check=False)
    assert run.returncode == 0, "see the report above"
