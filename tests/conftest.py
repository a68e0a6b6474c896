"""What every test may ask for: the fact tables, the two demo shops, one application and its client.

Small requests, whole plans and random orders are made by the functions of ``builders``, which tests import by name.
"""

import gc
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

# Tests are no package (importlib mode), so the one module they share is put within reach here.
sys.path.insert(0, str(Path(__file__).resolve().parent))

import builders

from chequerwork.app import create_app
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.ops.settings import Settings


def pytest_collection_finish() -> None:
    """Never look again through twelve thousand tests for garbage: each time takes longer than most tests do."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def tables() -> Tables:
    """The fact tables as shipped."""
    return builders.demo_tables()


@pytest.fixture(scope="session")
def shops() -> Mapping[str, Shop]:
    """The demo shops by id."""
    return builders.demo_shops()


@pytest.fixture(scope="session")
def moosgrund(shops) -> Shop:
    """The metric demo shop: euro, tax inside the shown price, bars turned."""
    return shops["moosgrund"]


@pytest.fixture(scope="session")
def willet_slough(shops) -> Shop:
    """The imperial demo shop: dollar, tax added to the shown price, bars shifted."""
    return shops["willet-slough"]


@pytest.fixture(scope="session")
def app() -> Flask:
    """The application as it runs where nothing is set: demo shops, demo signing key."""
    return create_app(Settings())


@pytest.fixture
def client(app) -> FlaskClient:
    """A client of the application."""
    return app.test_client()
