"""The commands: serve, quote, check-shop, new-key, new-signing-key, openapi."""

import argparse
import json
import os
import socket
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, cast

from chequerwork.api import views
from chequerwork.api.examples import FIRST, ORDERS, STOCK, SUGGESTIONS, TABLES
from chequerwork.api.schemas import order_of, read_order
from chequerwork.api.signing import BadKey, Signer
from chequerwork.app import create_app, load_service
from chequerwork.data.tables import load_tables
from chequerwork.domain.basics.errors import Fault, Refused
from chequerwork.domain.plan import Plan
from chequerwork.ops.settings import Settings, SettingsError
from chequerwork.render.quote import QuoteTree, quote_page
from chequerwork.shop.access import demo_key, new_key
from chequerwork.shop.loader import describe_faults, load_shops
from chequerwork.shop.logbook import read_log_file
from chequerwork.shop.times import settings_from

GOOD, BAD = 0, 1
_CONTRACT_FOLDER = Path("openapi")
_FAULTY = {"square": 48, "light": "sycamor_maple", "columns": 9, "pattern": "turn", "farme": None}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit code is 0 when all went well, 1 when not, 2 for a wrong command line."""
    parser = argparse.ArgumentParser(prog="chequerwork", description="Quotes for handmade chequered game boards.")
    commands = parser.add_subparsers(dest="command", required=True)
    commands.add_parser("serve", help="serve over HTTP (HOST, PORT, WEB_CONCURRENCY, CHEQUERWORK_SHOPS ...)")
    quote = commands.add_parser("quote", help="print a quote, with everything the workshop sees")
    quote.add_argument("order", nargs="?", type=Path, help="file with a JSON order; left out, an example order")
    check = commands.add_parser("check-shop", help="check shop files, all their mistakes at once")
    check.add_argument("files", nargs="+", type=Path)
    check.add_argument("--log", type=Path, help="CSV of hours worked, to be turned into settings of the one shop")
    key = commands.add_parser("new-key", help="make an access key and its lines for a shop file")
    key.add_argument("role", choices=["maker", "storefront"])
    commands.add_parser("new-signing-key", help="make the private key that signs quotes, for CHEQUERWORK_SIGNING_KEY")
    openapi = commands.add_parser("openapi", help="write openapi/openapi.yaml and openapi/examples/")
    openapi.add_argument("--folder", type=Path, default=_CONTRACT_FOLDER)
    asked = parser.parse_args(arguments)
    try:
        return _COMMANDS[asked.command](asked)
    except SettingsError as error:
        return _fail("\n".join(error.problems))
    except Refused as refused:
        return _fail(describe_faults(refused))
    except BadKey as error:
        return _fail(str(error))


def _fail(text: str) -> int:
    print(f"chequerwork: {text}", file=sys.stderr)
    return BAD


def _serve(_: argparse.Namespace) -> int:
    settings = Settings.from_environment(os.environ)
    service = load_service(settings)
    problem = _port_problem(settings)
    if problem:
        return _fail(problem)
    address = f"http://{settings.host}:{settings.port}"
    shop = next(iter(service.shops.values()))
    print(f"Chequerwork serves {', '.join(service.shops)} at {address}")
    print(f"Reference: {address}/docs/")
    if service.signer is None:
        print("Quotes are not signed: make a key with new-signing-key and name its file in CHEQUERWORK_SIGNING_KEY.")
    order = json.dumps(service.first_order(shop))
    key = f" -H 'Authorization: Bearer {demo_key(shop.keys[0].role, shop.id)}'" if shop.demo and shop.keys else ""
    print(f"Try: curl -s {address}/v1/quotes{key} -H 'Content-Type: application/json' -d '{order}'", flush=True)
    command = ["-c", "python:chequerwork.ops.gunicorn_conf", "chequerwork.wsgi:app"]
    return os.execv(sys.executable, [sys.executable, "-m", "gunicorn", *command])  # noqa: S606 - a fixed command


def _port_problem(settings: Settings) -> str | None:
    """Why the address cannot be listened on, or None."""
    try:
        family = socket.getaddrinfo(settings.host, settings.port, type=socket.SOCK_STREAM)[0][0]
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((settings.host, settings.port))
    except OSError as error:
        where = f"{settings.host}:{settings.port}"
        return (
            f"{where} cannot be used: {error.strerror}. Stop what listens there, or choose another: PORT=8001 make run"
        )
    return None


def _quote(asked: argparse.Namespace) -> int:
    service = load_service(Settings.from_environment(os.environ))
    try:
        raw = _raw_order(asked.order)
    except (OSError, ValueError) as error:
        return _fail(f"{asked.order} cannot be read as a JSON order: {error}")
    reading = read_order(raw)
    shop = service.shop(reading.shop)
    issued_on = reading.request.issued_on
    if issued_on is None and "issued_on" not in reading.faulted:
        return _fail('Give the order its date, such as "issued_on": "2027-02-01": a command repeats its answer.')
    try:
        order = order_of(reading, shop=shop, tables=service.tables, today=issued_on or date.min)
    except Refused as refused:
        raise _named(asked, refused.faults) from None
    tree = views.quote(Plan(order, shop, service.tables), None, workshop=True)
    print(quote_page(cast("QuoteTree", tree)), end="")
    return GOOD


def _raw_order(path: Path | None) -> dict[str, Any]:
    if path is None:
        return dict(ORDERS[FIRST])
    raw = json.loads(path.read_text("utf-8"))
    if not isinstance(raw, dict):
        raise ValueError("it holds no object")  # noqa: TRY004 - told to a person like any other bad file
    return raw


def _named(asked: argparse.Namespace, faults: Sequence[Fault]) -> Refused:
    """The faults of an order, addressed by its file as those of a shop are."""
    name = str(asked.order or "example order")
    return Refused(Fault(at=(name, *f.at), code=f.code, detail=f.detail) for f in faults)


def _check_shop(asked: argparse.Namespace) -> int:
    tables = load_tables()
    shops = load_shops(asked.files, tables=tables)
    if asked.log:
        if len(shops) > 1:
            return _fail(f"{asked.log} is the log of one shop, and {len(shops)} are given. Name one shop file.")
        print(settings_from(read_log_file(asked.log, tables), next(iter(shops.values())), tables), end="")
        return GOOD
    for shop in shops.values():
        offers = f"{len(shop.lumber)} timbers, {len(shop.finishes)} finishes, {len(shop.channels)} channels"
        print(f"{shop.id}: no mistakes. {offers}.")
    return GOOD


def _new_key(asked: argparse.Namespace) -> int:
    key, salt, digest = new_key()
    print(f"Key, to be given to its owner and kept nowhere else:\n\n{key}\n\nLines for the shop file:\n")
    print(f'[[keys]]\nname = "{asked.role}"\nrole = "{asked.role}"\nsalt = "{salt.hex()}"\nsha256 = "{digest.hex()}"')
    return GOOD


def _new_signing_key(_: argparse.Namespace) -> int:
    print(json.dumps(Signer.new_jwk()))
    return GOOD


def _openapi(asked: argparse.Namespace) -> int:
    from chequerwork.api.openapi import contract, to_yaml  # noqa: PLC0415 - YAML is not needed to serve

    folder: Path = asked.folder
    examples = folder / "examples"
    examples.mkdir(parents=True, exist_ok=True)
    (folder / "openapi.yaml").write_text(to_yaml(contract()), "utf-8")
    for name, tree in example_files().items():
        (examples / name).write_text(json.dumps(tree, indent=2, ensure_ascii=False) + "\n", "utf-8")
    return GOOD


def example_files() -> dict[str, Any]:
    """Every example order and its answers, asked of the application itself with the demo shops."""
    client = create_app(Settings()).test_client()
    files: dict[str, Any] = {}
    for name, order in ORDERS.items():
        files[f"{name}.order.json"] = dict(order)
        files[f"{name}.quote.json"] = client.post("/v1/quotes", json=order).get_json()
    headers = {"Authorization": f"Bearer demo-maker-{ORDERS[FIRST]['shop']}"}
    files[f"{FIRST}.workshop-quote.json"] = client.post("/v1/quotes", json=ORDERS[FIRST], headers=headers).get_json()
    for name, asked in STOCK.items():
        files[f"{name}.stock-request.json"] = dict(asked)
        files[f"{name}.stock-plan.json"] = client.post("/v1/stock-plan", json=asked, headers=headers).get_json()
    for name, asked in TABLES.items():
        files[f"{name}.table-request.json"] = dict(asked)
        files[f"{name}.price-table.json"] = client.post("/v1/price-table", json=asked).get_json()
    for name, asked in SUGGESTIONS.items():
        files[f"{name}.suggestions-request.json"] = dict(asked)
        files[f"{name}.suggestions.json"] = client.post("/v1/suggestions", json=asked).get_json()
    files["faulty.order.json"] = _FAULTY
    files["faulty.problem.json"] = client.post("/v1/quotes", json=_FAULTY).get_json()
    return files


_COMMANDS = {
    "serve": _serve,
    "quote": _quote,
    "check-shop": _check_shop,
    "new-key": _new_key,
    "new-signing-key": _new_signing_key,
    "openapi": _openapi,
}
