"""The table of endpoints drives everything: what stands in an entry is served, and told in the contract."""

from dataclasses import replace

import pytest
from flask import Blueprint, Flask

from chequerwork.api import http, openapi, problems
from chequerwork.api.endpoints import ENDPOINTS
from chequerwork.api.examples import FIRST, ORDERS
from chequerwork.api.forms import Form
from chequerwork.api.pipeline import Who, add_to
from chequerwork.api.reading import PRESENTATION as WHERE_TOLD
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.plan import SECTIONS

QUOTES = next(each for each in ENDPOINTS if each.name == "quotes")


def heading(found, shown):
    if shown.board:
        raise Refused([Fault(at=("board",), code="too-large", detail="There is one.")])
    return f"# {found.title}\n".encode()


NOTE = Form(media_type="text/markdown; charset=utf-8", write=heading, takes=("board",), for_cells=False)


@pytest.fixture
def noted(monkeypatch):
    """The table with one form of quotes more."""
    more = replace(QUOTES, forms={**QUOTES.forms, "md": NOTE})
    monkeypatch.setattr(openapi, "ENDPOINTS", [more if each is QUOTES else each for each in ENDPOINTS])
    return more


@pytest.fixture
def client(app, noted):
    small = Flask(__name__)
    http.finish(small, origins=())
    problems.register(small)
    paths = Blueprint("v1", __name__)
    add_to(paths, app.extensions["chequerwork"], noted)
    small.register_blueprint(paths)
    return small.test_client()


ASKED = "/v1/quotes.md?square=48mm&light=sycamore_maple&dark=pear&issued_on=2027-02-01&starts_on=2027-02-08"


def test_a_further_form_is_one_entry(client):
    answer = client.get(ASKED)
    assert (answer.status_code, answer.content_type) == (200, NOTE.media_type)
    assert answer.data == b"# Quotes for a board of 8 x 8 squares\n"
    assert answer.headers["ETag"]
    assert client.post("/v1/quotes.md", json=ORDERS[FIRST]).status_code == 405


def test_what_a_form_cannot_write_is_told_of_the_query(client):
    (fault,) = client.get(f"{ASKED}&board=2").get_json()["errors"]
    assert fault["parameter"] == "board"


@pytest.mark.usefixtures("noted")
def test_a_further_form_stands_in_the_contract():
    operation = openapi.contract()["paths"]["/v1/quotes.md"]["get"]
    assert operation["operationId"] == "quotes_md"
    assert list(operation["responses"]["200"]["content"]) == ["text/markdown"]
    assert "board" in [each.get("name") for each in operation["parameters"]]


def test_every_section_is_an_endpoint():
    names = [each.name for each in ENDPOINTS]
    assert names[: len(SECTIONS)] == list(SECTIONS)
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("endpoint", ENDPOINTS, ids=lambda endpoint: endpoint.name)
def test_a_parameter_that_a_form_takes_is_told_to_who_gives_it_elsewhere(endpoint):
    taken = {*endpoint.flags, *(name for form in endpoint.forms.values() for name in form.takes)}
    assert taken <= set(WHERE_TOLD)


@pytest.mark.parametrize("endpoint", [each for each in ENDPOINTS if each.who is Who.MAKER], ids=lambda e: e.name)
def test_a_stranger_is_refused_before_anything_is_read(app, endpoint):
    for suffix in endpoint.forms:
        assert app.test_client().get(f"{endpoint.path(suffix)}?%zz").status_code == 401
        if endpoint.takes_body(suffix):
            assert app.test_client().post(endpoint.path(suffix), data=b"{").status_code == 401
