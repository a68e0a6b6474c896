"""Same order, same shop file, same tables: same bytes, in this process and any other, today and any day."""

import json
import os
import random
import subprocess
import sys
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import builders
import pytest
from contract.check import ORDERS, flat, maker
from hypothesis import given, settings
from hypothesis import strategies as st

from chequerwork.app import create_app
from chequerwork.ops.settings import Settings

SECTIONS = (
    "geometry", "materials", "cutting", "movement", "finishing", "schedule", "packing", "compliance", "price", "quotes",
)  # fmt: skip
FORMS = ("", ".csv", ".tsv", ".txt")


def asked(client: Any, sections: Sequence[str] = SECTIONS) -> dict[str, tuple[bytes, str]]:
    """Body and entity tag of every section in every form, for every order, in both views."""
    found: dict[str, tuple[bytes, str]] = {}
    for name, order in ORDERS.items():
        for section in sections:
            for form in FORMS:
                for headers in (maker(order), {}):
                    answer = client.get(f"/v1/{section}{form}", query_string=flat(order), headers=headers)
                    if answer.status_code == 200:
                        found[f"{name} {section}{form} {bool(headers)}"] = (answer.data, answer.headers["ETag"])
    found["choices"] = (client.get("/v1/choices").data, "")
    found["sources"] = (client.get("/v1/sources").data, "")
    found["timbers"] = (client.get("/v1/timbers").data, "")
    found["a near name"] = (client.get("/v1/timbers?name=mapel").data, "")
    return found


@pytest.mark.slow("every path of two applications")
def test_two_instances_give_the_same_bytes_and_tags_and_so_does_asking_twice(app):
    first, other = asked(app.test_client()), asked(create_app(Settings()).test_client())
    assert len(first) > 600
    assert first == other
    again = asked(app.test_client(), ["quotes"])
    assert again == {name: first[name] for name in again}


# Everything above, the contract, keys and a list of faults, as one digest.
PROGRAM = """
import hashlib
import test_determinism as here
from chequerwork.app import create_app
from chequerwork.ops.settings import Settings
client = create_app(Settings()).test_client()
digest = hashlib.sha256(repr(sorted(here.asked(client, ["quotes"]).items())).encode())
for path in ("/openapi.json", "/openapi.yaml", "/.well-known/jwks.json"):
    digest.update(client.get(path).data)
for order in ({}, {"farme": 1, "light": "x", "dark": "y", "square": "48 mm", "sanding": {"top": "P1"}}):
    digest.update(client.post("/v1/quotes", json=order).data)
digest.update(client.delete("/v1/quotes").headers["Allow"].encode())
print(digest.hexdigest())
"""


@pytest.mark.slow("starts processes")
def test_other_processes_give_the_same_bytes_whatever_their_hash_seed_zone_and_language():
    """Sets of texts are gone through in another order under another seed."""
    here = Path(__file__).resolve().parent
    paths = os.pathsep.join(map(str, (here, here.parent)))
    digests = set()
    for seed, zone, language in (("1", "UTC", "C"), ("4242", "Pacific/Kiritimati", "C.UTF-8")):
        environment = {**os.environ, "PYTHONPATH": paths, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": language}
        ran = subprocess.run(
            [sys.executable, "-c", PROGRAM], env=environment, capture_output=True, text=True, check=False
        )
        assert ran.returncode == 0, ran.stderr
        digests.add(ran.stdout)
    assert len(digests) == 1


def test_the_order_of_names_in_a_body_changes_nothing(client):
    """JSON objects are unordered (RFC 8259, section 4)."""

    def shuffled(tree: Any, dice: random.Random) -> Any:
        if isinstance(tree, dict):
            names = list(tree)
            dice.shuffle(names)
            return {name: shuffled(tree[name], dice) for name in names}
        return tree

    for name, order in ORDERS.items():
        told = client.post("/v1/quotes", json=order, headers=maker(order)).data
        for seed in range(3):
            body = json.dumps(shuffled(order, random.Random(seed)), indent=seed)  # noqa: S311 - a test's dice
            answer = client.post("/v1/quotes", data=body, content_type="application/json", headers=maker(order))
            assert answer.data == told, name


def test_writing_a_default_out_changes_nothing(client):
    """What the answer says the order is, asked for in full, is the same order."""
    least = ORDERS["least"]
    told = client.post("/v1/quotes", json=least, headers=maker(least)).get_json()
    full = told["order"]
    written = {
        "shop": full["shop"],
        "columns": full["columns"],
        "rows": full["rows"],
        "thickness": f"{full['thickness_mm']} mm",
        "pattern": full["pattern"],
        "lines": [],
        "frame": None,
        "base": None,
        "feet": 0,
        "finish": full["finish"],
        "sanding": full["sanding"],
        "climate": {
            "low_rh": full["climate"]["low_rh_pct"],
            "high_rh": full["climate"]["high_rh_pct"],
            "temperature": f"{full['climate']['temperature_c']} C",
        },
        "corners": {
            "within": f"{full['corners']['within_mm']} mm",
            "confidence": full["corners"]["confidence_pct"],
        },
        "quantity": 1,
        "ship_to": full["ship_to"],
        "channel": full["channel"],
        "units": full["units"],
    }
    assert client.post("/v1/quotes", json={**least, **written}, headers=maker(least)).get_json() == told


def test_equal_quotes_have_equal_ids_and_other_quotes_other_ones(client):
    least = ORDERS["least"]
    ids = [
        client.post("/v1/quotes", json={**least, **changes}).get_json()["quote"]["id"]
        for changes in (
            {},
            {"rows": 8},
            {"square": "4.8 cm"},
            {"square": "48.1 mm"},
            {"quantity": 2},
            {"ship_to": "DE"},
        )
    ]
    assert ids[0] == ids[1] == ids[2]
    assert len(set(ids)) == 4


def test_both_views_of_a_quote_have_the_same_id(client):
    """A maker finds the quote that a customer names."""
    for order in ORDERS.values():
        customer, workshop = (client.post("/v1/quotes", json=order, headers=h).get_json() for h in ({}, maker(order)))
        assert customer["quote"] == workshop["quote"]


# The one reading of the clock -----------------------------------------------------------------------------------------


def test_an_order_without_a_date_is_of_today_in_the_shops_zone(client, shops):
    for shop in shops.values():
        light, dark = builders.WOODS[shop.id]
        zone = ZoneInfo(shop.calendar.time_zone)
        before = datetime.now(zone).date()
        tree = client.post(
            "/v1/quotes", json={"shop": shop.id, "square": "48 mm", "light": light, "dark": dark}
        ).get_json()
        after = datetime.now(zone).date()
        assert before.isoformat() <= tree["order"]["issued_on"] <= after.isoformat()
        assert tree["quote"]["issued_on"] == tree["order"]["issued_on"]
        assert tree["order"]["starts_on"] >= tree["order"]["issued_on"]


def test_a_start_left_out_is_the_shops_next_free_day_after_the_orders_date(client, shops):
    """So a request that gives its date alone is answered with the same bytes for ever too."""
    calendar = shops["moosgrund"].calendar
    for issued in ("2026-12-01", "2027-02-01", "2027-02-06"):
        order = {**ORDERS["least"], "issued_on": issued}
        del order["starts_on"]
        starts = date.fromisoformat(client.post("/v1/quotes", json=order).get_json()["order"]["starts_on"])
        assert starts == calendar.next_free_day(date.fromisoformat(issued))
        assert starts >= date.fromisoformat(issued)


few = settings(max_examples=40, derandomize=True, deadline=None)


@pytest.mark.slow("random orders")
@few
@given(data=st.data())
@pytest.mark.parametrize("shop_id", ["moosgrund", "willet-slough"])
def test_any_order_has_the_same_bytes_twice_posted_and_flat(client, shops, tables, shop_id, data):
    """Random orders of each shop, most of which can be made; refusals repeat as well."""
    wish = data.draw(builders.requests(shops[shop_id], tables))
    order = {**builders.as_body(wish, shop=shop_id), "issued_on": "2027-02-01"}
    posted = [client.post("/v1/quotes", json=order, headers=maker(order)) for _ in range(2)]
    assert posted[0].status_code in (200, 422)
    assert posted[0].data == posted[1].data
    got = client.get("/v1/quotes", query_string=flat(order), headers=maker(order))
    if posted[0].status_code == 200:
        assert got.data == posted[0].data
    else:
        told = [[(f["code"], f["detail"]) for f in answer.get_json()["errors"]] for answer in (got, posted[0])]
        assert told[0] == told[1]
