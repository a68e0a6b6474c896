"""A client of the whole application, whose every answer is held to the contract."""

import pytest
from contract.check import Contract, HeldClient
from flask.testing import FlaskClient


@pytest.fixture(scope="session")
def contract(app) -> Contract:
    """The contract as this application serves it; tests/contract compares it with the committed one."""
    return Contract(app.test_client().get("/openapi.json").get_json())


@pytest.fixture(scope="session")
def client(app, contract) -> FlaskClient:
    """A client whose every answer is held to the contract."""
    return HeldClient.of(app, contract)
