"""The service as people meet it in a browser: the reference, a shop's own page, and a page of a stranger.

A real Chromium without a window asks the real server. Needs Chromium and its driver; ``make browser-check`` runs it.
"""

import json
import os
import re
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit

import pytest
import requests

pytestmark = pytest.mark.browser

README = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")
WAIT_LIMIT_S = 20
OPTIONS = (
    "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--window-size=1280,1600",
)  # fmt: skip

# Allowed by the first demo shop, which answers when an order names none; any other origin is a stranger's.
SHOP_PAGE = "http://localhost:5173/"
ORDER = {
    "game": "chess", "square": "2 1/16 in", "pieces": {"king_base": "40 mm"}, "light": "pear", "dark": "wenge",
    "frame": {"joint": "mitre", "hold": "floating", "species": "wenge", "width": "44 mm"}, "feet": 4,
    "issued_on": "2027-02-01", "starts_on": "2027-02-08",
}  # fmt: skip
FLAT_ORDER = {"square": "52 mm", "light": "pear", "dark": "wenge", "issued_on": "2027-02-01", "starts_on": "2027-02-08"}
WRONG_KEY = "demo-maker-moosgrunb"
OPEN_SECTIONS = ("geometry", "movement", "schedule", "packing", "compliance", "price", "quotes")

# What a shop's page would do; a page that may not read an answer learns nothing but that it failed.
FETCH = """
const [url, options, done] = arguments;
fetch(url, options).then(
  async answer => done({status: answer.status, etag: answer.headers.get('ETag'),
    type: answer.headers.get('Content-Type'), id: answer.headers.get('X-Request-Id'), body: await answer.text()}),
  failed => done({failed: String(failed)}));
"""

Answer = dict[str, Any]


class Browser:
    """A Chromium of its own, with what it asked and what it complained of."""

    def __init__(self, driver: Any) -> None:
        self.driver = driver

    def open(self, url: str) -> None:
        """Go to a page; what was asked or said before is forgotten."""
        self.driver.get("about:blank")
        self.asked()
        self.complaints()
        self.driver.get(url)

    def fetch(self, url: str, **options: Any) -> Answer:
        """What the page that is open gets when its script asks."""
        got: Answer = self.driver.execute_async_script(FETCH, url, options)
        return got

    def find(self, selector: str, inside: Any = None) -> Any:
        """The first element, as soon as the page shows it."""
        deadline = time.monotonic() + WAIT_LIMIT_S
        while time.monotonic() < deadline:
            found = [each for each in self.all(selector, inside) if each.is_displayed()]
            if found:
                return found[0]
            time.sleep(0.05)
        pytest.fail(f"the page shows no {selector}; the browser says {self.complaints()}")

    def all(self, selector: str, inside: Any = None) -> list[Any]:
        """All elements that are there now."""
        found: list[Any] = (inside or self.driver).find_elements("css selector", selector)
        return found

    def click(self, element: Any) -> None:
        """Click where a person would, after scrolling to it."""
        self.driver.execute_script("arguments[0].scrollIntoView({block: 'center'})", element)
        element.click()

    def asked(self) -> list[tuple[str, str, str]]:
        """Kind, method and address of every request since the last look, but for the browser's own pages."""
        events = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        sent = [event["params"] for event in events if event["method"] == "Network.requestWillBeSent"]
        asked = [(each["type"], each["request"]["method"], each["request"]["url"]) for each in sent]
        return [each for each in asked if not each[2].startswith(("chrome:", "about:", "data:", "blob:"))]

    def complaints(self) -> list[str]:
        """What the console shows since the last look."""
        return [entry["message"] for entry in self.driver.get_log("browser")]


class Page(BaseHTTPRequestHandler):
    """An empty page, whatever is asked."""

    def do_GET(self) -> None:
        body = b"<!doctype html><html lang='en'><title>A shop</title><link rel='icon' href='data:,'><h1>A shop</h1>"
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def page_port() -> Iterator[int]:
    """Port of a server that serves an empty page."""
    with ThreadingHTTPServer(("127.0.0.1", 0), Page) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield server.server_port
        server.shutdown()


@pytest.fixture(scope="module")
def strangers_page(page_port: int) -> str:
    """The same page at an origin that no shop allows."""
    return f"http://localhost:{page_port}/"


@pytest.fixture(scope="module")
def programs() -> tuple[str, str]:
    """The browser and its driver. Without them there is nothing to test."""
    browser, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if browser is None or driver is None:
        missing = "chromium" if browser is None else "chromedriver"
        pytest.exit(f"not installed: {missing}; on Debian: apt-get install chromium chromium-driver", returncode=1)
    return browser, driver


@pytest.fixture
def browser(programs: tuple[str, str], page_port: int, tmp_path: Path) -> Iterator[Browser]:
    """A browser that has seen nothing yet, in which the shop's address leads to the empty page."""
    from selenium import webdriver  # noqa: PLC0415  not in the environment of `make test`, which collects this file

    options = webdriver.ChromeOptions()
    options.binary_location = programs[0]
    shop = urlsplit(SHOP_PAGE).netloc
    # Root cannot use the sandbox; here only our own pages are opened.
    root = ["--no-sandbox"] if os.geteuid() == 0 else []
    own = [f"--user-data-dir={tmp_path}/profile", f"--host-resolver-rules=MAP {shop} 127.0.0.1:{page_port}"]
    for option in (*OPTIONS, *root, *own):
        options.add_argument(option)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(programs[1]))
    driver.set_script_timeout(WAIT_LIMIT_S)
    yield Browser(driver)
    driver.quit()


# The reference --------------------------------------------------------------------------------------------------------


@pytest.fixture
def reference(browser: Browser, server_url: str) -> Browser:
    """The reference, with its operations shown."""
    browser.open(f"{server_url}/docs/")
    browser.find(".opblock")
    return browser


def test_the_reference_shows_every_operation_without_complaint_and_asks_nobody_else(
    reference: Browser, server_url: str
):
    contract = requests.get(f"{server_url}/openapi.json", timeout=10).json()
    operations = [(method, path) for path, methods in contract["paths"].items() for method in methods]
    # Long paths may be broken by signs that nobody sees.
    shown = [block.text.replace("\u200b", "").split("\n")[:2] for block in reference.all(".opblock")]
    assert sorted(shown) == sorted([method.upper(), path] for method, path in operations)
    assert reference.find(".info .title").text.startswith(contract["info"]["title"])
    assert reference.complaints() == []
    assert {urlsplit(url).netloc for _, _, url in reference.asked()} == {urlsplit(server_url).netloc}


CONTROL = "\ue009"  # the key, as WebDriver writes it


def tried_out(reference: Browser, operation: str, fill: dict[str, str]) -> tuple[str, str]:
    """Open an operation, try it out with these parameters, and read the status and the body that are shown."""
    block = reference.find(f"#operations-board-{operation}")
    reference.click(reference.find(".opblock-summary-control", block))
    reference.click(reference.find(".try-out__btn", block))
    for name, value in fill.items():
        entry = reference.find(f"tr[data-param-name='{name}'] input", block)
        entry.send_keys(f"{CONTROL}a")  # the example stands there already
        entry.send_keys(value)
    reference.click(reference.find("button.execute", block))
    answer = reference.find(".live-responses-table", block)
    body = reference.find(".response-col_description .highlight-code", answer).text
    return reference.find("tbody .response-col_status", answer).text.split()[0], body


def test_the_example_order_can_be_tried_out_in_the_reference(reference: Browser, server_url: str):
    status, body = tried_out(reference, "price", {})
    assert status == "200"
    assert re.search(r'"total": "\d+\.\d\d"', body), body
    assert ("Fetch", "POST", f"{server_url}/v1/price") in reference.asked()
    assert reference.complaints() == []


def test_a_flat_order_can_be_tried_out_as_the_reference_offers_it(reference: Browser):
    status, body = tried_out(reference, "price_get", {})
    assert status == "200", body


def test_a_flat_order_can_be_tried_out_in_the_reference(reference: Browser, server_url: str):
    order = {"square": '2 1/16 "', "light": "pear", "dark": "wenge"}
    status, body = tried_out(reference, "price_get", order)
    total = requests.get(f"{server_url}/v1/price", params=order, timeout=10).json()["price"]["total"]
    assert status == "200"
    assert f'"total": "{total}"' in body
    assert reference.complaints() == []


# A shop's page, and a stranger's --------------------------------------------------------------------------------------


def posted(order: dict[str, Any], **headers: str) -> dict[str, Any]:
    """Options of a fetch that sends an order as JSON."""
    return {"method": "POST", "body": json.dumps(order), "headers": {"Content-Type": "application/json"} | headers}


def test_a_shops_page_reads_price_and_entity_tag_after_a_preflight(browser: Browser, server_url: str):
    browser.open(SHOP_PAGE)
    got = browser.fetch(f"{server_url}/v1/quotes", **posted(ORDER))
    expected = requests.post(f"{server_url}/v1/quotes", json=ORDER, timeout=10)
    assert (got["status"], got["etag"]) == (200, expected.headers["ETag"])
    assert json.loads(got["body"])["price"]["total"] == expected.json()["price"]["total"]
    asked = [(kind, method) for kind, method, url in browser.asked() if url.startswith(server_url)]
    assert sorted(asked) == [("Fetch", "POST"), ("Other", "OPTIONS")]
    assert browser.complaints() == []


def test_a_shops_page_asks_again_with_the_entity_tag_and_gets_no_second_copy(browser: Browser, server_url: str):
    browser.open(SHOP_PAGE)
    url = f"{server_url}/v1/quotes?{urlencode(FLAT_ORDER)}"
    first = browser.fetch(url)
    again = browser.fetch(url, headers={"If-None-Match": first["etag"]}, cache="no-store")
    assert (first["status"], again["status"], again["body"]) == (200, 304, "")
    assert again["etag"] == first["etag"]


def test_a_shops_page_can_tell_its_customer_what_is_wrong(browser: Browser, server_url: str):
    browser.open(SHOP_PAGE)
    got = browser.fetch(f"{server_url}/v1/quotes", **posted(ORDER | {"square": "48"}))
    assert (got["status"], got["type"]) == (422, "application/problem+json")
    assert [fault["pointer"] for fault in json.loads(got["body"])["errors"]] == ["/square"]
    assert got["id"]


def test_a_strangers_page_reads_nothing_and_its_order_is_never_sent(
    browser: Browser, server_url: str, strangers_page: str
):
    browser.open(strangers_page)
    for url, options, why in (
        (f"{server_url}/v1/quotes", posted(ORDER), "Response to preflight request"),
        (f"{server_url}/v1/quotes?{urlencode(FLAT_ORDER)}", {}, "No 'Access-Control-Allow-Origin'"),
        (
            f"{server_url}/v1/price.txt?{urlencode(FLAT_ORDER)}&field=price.total",
            {},
            "No 'Access-Control-Allow-Origin'",
        ),
        (f"{server_url}/v1/choices", {}, "No 'Access-Control-Allow-Origin'"),
    ):
        assert browser.fetch(url, **options) == {"failed": "TypeError: Failed to fetch"}, url
        assert any(f"blocked by CORS policy: {why}" in each for each in browser.complaints()), url


def test_a_page_of_one_shop_reads_no_other_shops_answer(browser: Browser, server_url: str):
    browser.open(SHOP_PAGE)
    order = {"shop": "willet-slough", "square": "2 1/8 in", "light": "hard_maple", "dark": "black_walnut"}
    assert requests.post(f"{server_url}/v1/price", json=order, timeout=10).status_code == 200
    assert browser.fetch(f"{server_url}/v1/price", **posted(order)) == {"failed": "TypeError: Failed to fetch"}


# Keys -----------------------------------------------------------------------------------------------------------------


@pytest.fixture
def shop_fetch(browser: Browser) -> Callable[..., Answer]:
    """Ask from the shop's page."""
    browser.open(SHOP_PAGE)
    return browser.fetch


@pytest.mark.parametrize("before", [[], [{}]], ids=["never asked", "asked without a key before"])
def test_with_a_wrong_key_no_customers_answer_can_be_read(
    shop_fetch: Callable[..., Answer], server_url: str, before: list[dict[str, Any]]
):
    """Also where the browser still keeps the answer that it got without a key."""
    wrong = {"Authorization": f"Bearer {WRONG_KEY}"}
    query = urlencode(FLAT_ORDER)
    for section in OPEN_SECTIONS:
        flat = [f"{server_url}/v1/{section}{suffix}?{query}" for suffix in ("", ".csv", ".tsv", ".txt")]
        assert all(shop_fetch(url, **options)["status"] == 200 for options in before for url in flat)
        answers = [shop_fetch(url, headers=wrong) for url in flat]
        answers.append(shop_fetch(f"{server_url}/v1/{section}", **posted(FLAT_ORDER, **wrong)))
        assert {(answer["status"], answer["type"]) for answer in answers} == {(401, "application/problem+json")}
        for answer in answers:
            assert json.loads(answer["body"]).keys() == {"type", "title", "status", "detail", "instance"}


def test_a_wrong_key_is_told_in_a_cell_without_any_value(shop_fetch: Callable[..., Answer], server_url: str):
    url = f"{server_url}/v1/price.txt?{urlencode(FLAT_ORDER)}&field=price.total&errors=inline"
    total = shop_fetch(url)["body"]
    told = shop_fetch(url, headers={"Authorization": f"Bearer {WRONG_KEY}"})["body"]
    assert re.fullmatch(r"\d+\.\d\d", total)
    assert told.startswith("ERROR ")
    assert total not in told


def test_what_a_maker_was_shown_is_not_kept_for_a_customer(shop_fetch: Callable[..., Answer], server_url: str):
    key = re.search(r"Authorization: Bearer ([A-Za-z0-9._~-]{8,})", README)
    assert key, "the README shows no call with a maker's key"
    url = f"{server_url}/v1/price?{urlencode(FLAT_ORDER)}"
    maker = shop_fetch(url, headers={"Authorization": f"Bearer {key[1]}"})
    customer = shop_fetch(url)
    assert "workshop" in json.loads(maker["body"])["price"]
    assert "workshop" not in json.loads(customer["body"])["price"]
