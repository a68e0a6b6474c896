"""The recorded examples: accepted, answered as recorded, and complete."""

import json
from pathlib import Path

import pytest
from contract.check import leaf_faults

from chequerwork.api.examples import ORDERS, STOCK, TABLES
from chequerwork.cli import main

FOLDER = Path(__file__).resolve().parents[2] / "openapi"
FILES = sorted((FOLDER / "examples").iterdir())
MAKER = {"Authorization": "Bearer {key}"}
# For each kind of recorded answer: what was asked where, with which headers, and the status and schema of the answer.
ANSWERS = {
    "quote": ("order", "/v1/quotes", {}, 200, "Quote"),
    "problem": ("order", "/v1/quotes", {}, 422, "Problem"),
    "workshop-quote": ("order", "/v1/quotes", MAKER, 200, "Quote"),
    "price-table": ("table-request", "/v1/price-table", {}, 200, "PriceTableAnswer"),
    "stock-plan": ("stock-request", "/v1/stock-plan", MAKER, 200, "StockPlanAnswer"),
}


@pytest.mark.slow("the whole contract, written")
def test_the_command_writes_exactly_the_committed_files(tmp_path):
    """If this fails: make openapi, then read the difference before committing it."""
    assert main(["openapi", "--folder", str(tmp_path)]) == 0
    written = {path.relative_to(tmp_path): path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    committed = {path.relative_to(FOLDER): path.read_bytes() for path in FOLDER.rglob("*") if path.is_file()}
    assert sorted(written) == sorted(committed)
    assert [name for name in written if written[name] != committed[name]] == []


ANSWERED = [path for path in FILES if path.name.split(".")[1] in ANSWERS]


@pytest.mark.parametrize("path", ANSWERED, ids=lambda path: path.name)
def test_every_recorded_answer_is_what_its_request_is_answered_with(client, contract, path):
    name, kind, _ = path.name.split(".")
    asked, where, headers, status, schema = ANSWERS[kind]
    request = json.loads((path.parent / f"{name}.{asked}.json").read_text("utf-8"))
    key = f"demo-maker-{request.get('shop', 'moosgrund')}"
    answer = client.post(where, json=request, headers={n: v.format(key=key) for n, v in headers.items()})
    recorded = json.loads(path.read_text("utf-8"))
    assert answer.status_code == status
    assert answer.get_json() == recorded
    assert leaf_faults(contract.component(schema), recorded) == []


def test_every_recorded_request_for_a_stock_plan_is_one_of_the_contract(contract):
    requests = {p.name.split(".")[0]: json.loads(p.read_text("utf-8")) for p in FILES if ".stock-request." in p.name}
    assert set(requests) == set(STOCK)
    for name, request in requests.items():
        assert leaf_faults(contract.component("StockRequest"), request) == [], name
        assert f"{name}.stock-plan.json" in {path.name for path in FILES}


def test_every_recorded_request_for_a_price_table_is_one_of_the_contract(contract):
    requests = {p.name.split(".")[0]: json.loads(p.read_text("utf-8")) for p in FILES if ".table-request." in p.name}
    assert set(requests) == set(TABLES)
    for name, request in requests.items():
        assert leaf_faults(contract.component("PriceTableOrder"), request) == [], name
        assert f"{name}.price-table.json" in {path.name for path in FILES}


def test_every_recorded_order_is_one_of_the_contract_but_for_the_faulty_one(contract):
    orders = {p.name.split(".")[0]: json.loads(p.read_text("utf-8")) for p in FILES if ".order." in p.name}
    valid = {name for name, order in orders.items() if not leaf_faults(contract.component("Order"), order)}
    assert set(orders) - valid == {"faulty"}
    assert valid == set(ORDERS)
    assert all(f"{name}.quote.json" in {path.name for path in FILES} for name in valid)


def test_the_examples_fix_their_days_so_that_they_hold_for_ever():
    for order in ORDERS.values():
        assert {"issued_on", "starts_on"} <= set(order)


def test_the_examples_show_both_shops_and_no_board_of_the_common_size():
    """Own scenario: unusual squares, and more than one maker."""
    assert {order.get("shop", "moosgrund") for order in ORDERS.values()} == {"moosgrund", "willet-slough"}
    assert not any(order.get("square") in ("2 1/4 in", "2.25 in", "57 mm", "57.15 mm") for order in ORDERS.values())
