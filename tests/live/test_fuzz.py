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
HOOKS = Path(__file__).with_name("fuzz_hooks.py")
TIME_LIMIT_S = 15 * 60


def published_maker_key() -> str:
    """The demo maker's key as the README shows it; the workshop view has far more to break."""
    readme = (PROJECT / "README.md").read_text(encoding="utf-8")
    found = re.search(r"Authorization: Bearer ([A-Za-z0-9._~-]{8,})", readme)
    assert found, "the README shows no call with `Authorization: Bearer KEY`"
    return found[1]


def generated_requests(server_url: str, folder: Path, *options: str, **environment: str) -> int:
    """Run the generator on the committed contract; its report is printed, its exit code returned."""
    command = [
        sys.executable, "-m", "schemathesis.cli", "--config-file", str(CONFIG), "run", str(CONTRACT),
        "--header", f"Authorization: Bearer {published_maker_key()}", "--no-color", *options,
    ]  # fmt: skip
    ours = {"CHEQUERWORK_URL": server_url, "SCHEMATHESIS_HOOKS": str(HOOKS), "PYTHONPATH": str(PROJECT / "tests")}
    variables = os.environ | ours | environment
    return subprocess.run(command, cwd=folder, env=variables, timeout=TIME_LIMIT_S, check=False).returncode


def test_every_answer_is_one_the_contract_promises(server_url: str, tmp_path: Path):
    phases = "examples,coverage,fuzzing,stateful"
    assert generated_requests(server_url, tmp_path, "--phases", phases) == 0, "see the report above"


def test_faults_told_in_one_cell_are_still_no_failures(server_url: str, tmp_path: Path):
    """With ``errors=inline`` a fault has status 200, so only what holds for every answer can be checked."""
    options = [
        "--include-path-regex", r"\.(csv|tsv|txt)$", "--phases", "fuzzing", "--max-examples", "50",
        "--checks", "not_a_server_error,status_code_conformance,content_type_conformance",
    ]  # fmt: skip
    assert generated_requests(server_url, tmp_path, *options, FUZZ_INLINE="1") == 0, "see the report above"
