"""The documents are true: their tables are the program's, and their examples run."""

import json
import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from contract.check import pointed
from werkzeug.test import TestResponse

from chequerwork.api import openapi
from chequerwork.api.openapi_parts import PRESENTATION
from chequerwork.api.schemas import ORDER
from chequerwork.api.stock_schemas import MOST_KINDS, MOST_ORDERS, SAW_HABITS, STOCK_BOARD, STOCK_REQUEST, WANTED_PART
from chequerwork.api.suggestion_schemas import LIMITS, MOST, WISHES
from chequerwork.api.suggestion_schemas import REQUEST as SUGGESTIONS
from chequerwork.domain.order.order import Joint
from chequerwork.domain.stock.request import MOST_BOARDS, MOST_PIECES
from chequerwork.domain.suggestions.limits import First
from chequerwork.ops import settings
from chequerwork.ops.limits import MAX_BODY_BYTES, MAX_QUERY_BYTES, STOCK_BODY_BYTES
from chequerwork.shop.access import demo_key

PROJECT = Path(__file__).resolve().parents[2]
README, DEVELOPERS, CHANGELOG = (
    (PROJECT / name).read_text("utf-8") for name in ("README.md", "DEVELOPERS.md", "service/CHANGELOG.md")
)
SOURCES = PROJECT / "service" / "chequerwork"
SIBLINGS = (".csv", ".tsv", ".txt")
# Served, but no path that anybody is told to ask: the way to the reference, and the reference's own files.
UNTOLD = {"/", "/docs/<path:path>"}


def blocks(text: str, language: str) -> list[str]:
    """Fenced blocks of one language, without their fences."""
    return re.findall(rf"^```{language}\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)


def curls(text: str) -> Iterator[list[str]]:
    """Words of every curl command in a document's shell blocks, up to the next program."""
    for block in blocks(text, "sh"):
        for command in re.split(r"\n(?=\S)", block):
            words = shlex.split(command, comments=True)
            if words[:1] == ["curl"]:
                yield words[: words.index("|")] if "|" in words else words


def first_cells(text: str, heading: str) -> list[str]:
    """First cells of the table under a heading, without its head."""
    under = text.partition(f"\n## {heading}\n")[2].partition("\n## ")[0]
    rows = re.findall(r"^\|(.+?)\|", under, flags=re.MULTILINE)
    return [row.strip() for row in rows[2:]]


def ask(client, words: list[str]) -> TestResponse:
    """Ask the application what a curl command would ask."""
    url = next(word for word in words if word.startswith("http"))
    parts = urlsplit(url)
    headers = [words[i + 1].split(": ", 1) for i, word in enumerate(words) if word == "-H"]
    body = next((words[i + 1] for i, word in enumerate(words) if word == "-d"), None)
    if body is not None and body.startswith("@"):
        body = (PROJECT / body.removeprefix("@")).read_text("utf-8")
    method = "POST" if body is not None else "GET"
    return client.open(parts.path, method=method, query_string=parts.query, headers=headers, data=body)


# Paths and fields -----------------------------------------------------------------------------------------------------


def test_the_table_of_paths_is_what_is_served(app):
    """Siblings stand under the table once, for all sections."""
    served = {re.sub(r"<(\w+)>", r"{\1}", rule.rule) for rule in app.url_map.iter_rules()} - UNTOLD
    told = {path for cell in first_cells(README, "Paths") for path in re.findall(r"`(/[^`]+)`", cell)}
    assert told == {path for path in served if not path.endswith(SIBLINGS)}
    assert all(f"`{suffix}`" in README for suffix in SIBLINGS)


def test_the_table_says_which_paths_need_a_makers_key(client):
    for row in re.findall(r"^\| `(/v1/[\w-]+)`.*? \|.*\| (.+?) \|$", README, flags=re.MULTILINE):
        path, without_a_key = row
        asked = "" if path in ("/v1/choices", "/v1/sources", "/v1/timbers") else "square=48mm&light=pear&dark=wenge"
        assert (client.get(path, query_string=asked).status_code == 401) is (without_a_key == "maker's key"), path


def test_the_example_of_an_explanation_is_what_is_answered(client):
    """Dots stand for lines that are left out."""
    under = README.partition("\n## Check it by hand\n")[2].partition("\n## ")[0]
    path = re.search(r"http://127\.0\.0\.1:8000(/v1/[^']+)'", under)
    shown = re.search(r"```text\n(.*?)```", under, flags=re.DOTALL)
    assert path is not None
    assert shown is not None
    page = client.get(path[1]).get_data(as_text=True)
    parts = [part.strip("\n") for part in shown[1].split("...\n")]
    assert len(parts) > 1
    for part in parts:
        assert part in page


def test_the_table_of_the_order_names_every_field():
    told = {field for cell in first_cells(README, "The order") for field in re.findall(r"`(\w+)`", cell)}
    assert told == set(ORDER.fields)


def test_the_parts_of_an_order_are_told_in_full():
    under = README.partition("\n## The order\n")[2].partition("\n## ")[0]
    for name in ("frame", "base"):
        row = next(line for line in under.splitlines() if line.startswith(f"| `{name}`"))
        for field in ORDER.fields[name].schema.fields:
            assert f'"{field}"' in row, f"{name}.{field}"
    assert all(f'"{joint}"' in under for joint in Joint)


def test_every_field_of_a_request_for_suggestions_is_told():
    under = README.partition("\n## What would suit\n")[2].partition("\n## ")[0]
    for name in (*SUGGESTIONS.fields, *LIMITS.fields, *WISHES.fields, *First, str(MOST)):
        assert re.search(rf"`[^`]*\b{name}\b[^`]*`|\b{MOST} suggestions", under), name


def test_every_field_of_a_stock_plan_is_told():
    under = README.partition("\n## From which boards\n")[2].partition("\n## ")[0]
    entries = (STOCK_REQUEST, WANTED_PART, STOCK_BOARD, SAW_HABITS)
    for name in (name for entry in entries for name in entry.fields):
        assert re.search(rf"`[^`]*\b{name}\b[^`]*`", under), name
    for limit in (MOST_ORDERS, MOST_KINDS):
        assert re.search(rf"up to {limit}\b", under)
    for limit in (MOST_PIECES, MOST_BOARDS):
        assert f"{limit:,}".replace(",", " ") in under


def test_the_parameters_of_a_sheet_are_told():
    for name in {*PRESENTATION, "errors", "refresh", "columns"}:
        assert re.search(rf"\b{name}\b", README.partition("\n## Spreadsheets\n")[2]), name


def test_the_faults_that_are_told_are_those_of_the_contract():
    told = {status for cell in first_cells(README, "Faults") for status in re.findall(r"\d{3}", cell)}
    # Not promised path by path in the contract: what any server may have to say.
    assert {response.removeprefix("Problem") for response in openapi.contract()["components"]["responses"]} <= told
    assert told >= {"404", "405", "500"}
    assert f"{MAX_BODY_BYTES // 1024} KiB, or {STOCK_BODY_BYTES // 1024} KiB" in README
    assert MAX_QUERY_BYTES < 4094


# Settings, keys, links ------------------------------------------------------------------------------------------------


def test_every_setting_is_told_with_its_default():
    source = (SOURCES / "ops" / "settings.py").read_text("utf-8")
    read = re.findall(r'reader\.read\("(\w+)"', source)
    assert len(read) >= 7
    told = {name for cell in first_cells(README, "Running it") for name in re.findall(r"`(\w+)`", cell)}
    assert told == set(read)
    table = README.partition("\n## Running it\n")[2]
    for default in (settings.DEFAULT_HOST, settings.DEFAULT_PORT, settings.DEFAULT_WORKERS, settings.DEFAULT_LOG_LEVEL):
        assert f"`{default}`" in table


def test_no_module_reads_a_variable_of_the_environment_that_is_not_told():
    named = set()
    for path in SOURCES.rglob("*.py"):
        named |= set(re.findall(r'os\.environ(?:\.get\(|\[)"(\w+)"', path.read_text("utf-8")))
        named |= set(re.findall(r"\b(CHEQUERWORK_\w+)\b", path.read_text("utf-8")))
    assert all(f"`{name}`" in README for name in named), named


def test_the_demo_keys_that_are_told_are_those_of_the_demo_shops(shops):
    for shop in shops.values():
        for key in shop.keys:
            assert f"`{demo_key(key.role, shop.id)}`" in README


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "service/CHANGELOG.md"])
def test_every_link_of_a_document_leads_to_something(name):
    text = (PROJECT / name).read_text("utf-8")
    headings = {
        re.sub(r"[^\w -]", "", heading).strip().lower().replace(" ", "-")
        for heading in re.findall(r"^#+ (.+)$", text, flags=re.MULTILINE)
    }
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if target.startswith("#"):
            assert target[1:] in headings, target
        elif not target.startswith("http"):
            assert ((PROJECT / name).parent / target).exists(), target


def test_every_file_that_the_developers_page_names_is_there():
    named = re.findall(
        r"`((?:tests|service|openapi|docker|domain|data|api|shop|render|ops|\.ci)/[\w./-]*)`", DEVELOPERS
    )
    assert len(named) > 20
    for name in named:
        assert (PROJECT / name).exists() or (SOURCES / name).exists(), name


def test_the_developers_page_has_the_import_table_of_the_tests():
    """Its rooms; who may import what is compared in words by a reader."""
    rooms = {re.sub(r"[`/]|\.py", "", room) for cell in first_cells(DEVELOPERS, "Rooms") for room in cell.split(", ")}
    here = {path.name.removesuffix(".py") for path in SOURCES.iterdir() if not path.name.startswith("__")}
    assert rooms == here - {"wsgi"}


def test_the_changelog_has_its_four_headings():
    headings = set(re.findall(r"^#{2,4} (API|Numbers|Data|Running it)$", CHANGELOG, flags=re.MULTILINE))
    assert headings == {"API", "Numbers", "Data", "Running it"}


# Examples -------------------------------------------------------------------------------------------------------------

CURLS = [(name, words) for name, text in (("README", README), ("DEVELOPERS", DEVELOPERS)) for words in curls(text)]


def test_the_documents_have_examples():
    assert {name for name, _ in CURLS} == {"README", "DEVELOPERS"}
    assert len(CURLS) >= 3


@pytest.mark.parametrize(("name", "words"), CURLS, ids=[f"{name}-{n}" for n, (name, _) in enumerate(CURLS)])
def test_an_example_call_is_answered(client, name, words):
    answer = ask(client, words)
    assert answer.status_code == 200, (name, answer.get_data(as_text=True)[:500])


def test_the_first_call_of_the_readme_opens_the_workshop_with_a_demo_key(client):
    _, words = CURLS[0]
    assert any(word.startswith("Authorization: Bearer demo-maker-") for word in words)
    assert "workshop" in ask(client, words).get_json()["price"]


def test_the_values_that_the_readme_shows_are_the_answer_to_its_call(client):
    answer = ask(client, CURLS[0][1]).get_json()
    shown = re.findall(r"^(/\S+)\s+(.+)$", blocks(README, "text")[0], flags=re.MULTILINE)
    assert len(shown) == 10
    assert {pointer: json.loads(value) for pointer, value in shown} == {
        pointer: pointed(answer, pointer) for pointer, _ in shown
    }


def test_the_first_screen_says_the_job_how_to_run_and_one_call():
    """The first 45 lines, about one screen: the job, `make run`, a request, ten values of its answer."""
    top = "\n".join(README.splitlines()[:45])
    assert top.startswith("# Chequerwork\n")
    assert "make run" in top
    assert "curl" in top
    assert "/price/total" in top
    assert not re.search(r"!\[", top.partition("make run")[0]), "no badges before the job"


def test_a_sheets_formula_asks_for_what_is_there(client):
    formula = README[README.index("=WEBSERVICE(") :].partition("```")[0]
    address = "".join(re.findall(r'"([^"]*)"', formula))
    query = urlsplit(address).query.replace("square=", "square=48mm")
    answer = client.get(urlsplit(address).path, query_string=query)
    assert re.fullmatch(r"\d+\.\d\d", answer.get_data(as_text=True))


def test_no_document_shows_a_key_that_is_not_published():
    for text in (README, DEVELOPERS):
        assert set(re.findall(r"Bearer ([\w.-]+)", text)) <= {"KEY", "demo-maker-moosgrund"}
