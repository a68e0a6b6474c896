"""The contract as committed, and a client whose every answer is held to it."""

from pathlib import Path
from typing import Any

import pytest
import yaml
from contract.check import Contract, HeldClient
from flask.testing import FlaskClient

PROJECT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def committed() -> dict[str, Any]:
    """The contract as committed."""
    return yaml.safe_load((PROJECT / "openapi" / "openapi.yaml").read_text("utf-8"))


@pytest.fixture(scope="session")
def contract(committed) -> Contract:
    """The same, ready to hold answers to."""
    return Contract(committed)


@pytest.fixture(scope="session")
def client(app, contract) -> FlaskClient:
    """A client whose every answer is held to the contract."""
    return HeldClient.of(app, contract)
