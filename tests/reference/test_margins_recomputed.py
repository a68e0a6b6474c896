"""Ten orders, three channels, two tax regimes: the margins, worked out anew from what the answers print.

Plain arithmetic on published amounts, without a line of the domain: from quantity, unit prices, shipping and the cost
lines, with the fees and rates as each shop's file is written, follow tax, total, fees and what is left. It must be what
the answer says, to the cent, and never less than the margin the file asks for.
"""

import hashlib
from decimal import ROUND_HALF_UP, Decimal

import pytest
from flask.testing import FlaskClient

from chequerwork.app import create_app
from chequerwork.ops.settings import Settings

CENT = Decimal("0.01")
MARGIN_PCT, TAX_PCT = Decimal(12), {"AT": Decimal(20), "DE": Decimal(19), "CH": Decimal(0), "FR": Decimal(20)}
# What the three channels take: percentage, of what, fixed per order; the last with a least fee and a cap.
CHANNELS = {
    "own_site": ("1.9", "gross_with_shipping", "0.25", None, None),
    "market_fair": ("8", "net", "0", None, None),
    "online_marketplace": ("13.5", "gross_with_shipping", "0.45", "80", "150"),
}
KEY, SALT = "key-of-these-tests", bytes(range(16))
KEY_OF_THE_TESTS = f"""[[keys]]
name = "tests"
role = "maker"
salt = "{SALT.hex()}"
sha256 = "{hashlib.sha256(SALT + KEY.encode()).hexdigest()}"
"""
FRAMED = {"frame": {"joint": "mitre", "hold": "floating", "species": "european_walnut", "width": "44 mm"}}
ORDERS = [
    {"square": "48 mm"},
    {"square": "52 mm", "feet": 4, **FRAMED},
    {"square": "45 mm", "quantity": 2},
    {"square": "30 mm", "quantity": 7, "finish": "shellac_2lb"},
    {"square": "55 mm", "ship_to": "DE", **FRAMED},
    {"square": "50 mm", "ship_to": "CH", "quantity": 3},
    {"game": "draughts-10", "square": "40 mm", "ship_to": "FR"},
    {"square": "38 mm", "light": "pear", "dark": "wenge", "quantity": 12},
    {"square": "57 mm", "base": {"material": "mdf", "thickness": "9 mm", "inset": "20 mm"}, "ship_to": "DE"},
    {"square": "25 mm", "thickness": "12 mm", "quantity": 25},
]


@pytest.fixture(scope="module")
def clients(tmp_path_factory) -> dict[str, FlaskClient]:
    """The demo shop served twice, as it is and with its tax added on top; a least fee and a cap on its marketplace."""
    from chequerwork.shop.loader import demo_folder  # noqa: PLC0415

    text = (demo_folder() / "moosgrund.toml").read_text("utf-8")
    bounds = 'fee = "13.5 %"\nfee_least = "80"\nfee_max = "150"'
    assert text.count('fee = "13.5 %"') == 1
    text = text.replace('fee = "13.5 %"', bounds).replace("demo = true", "demo = false", 1)
    text = text[: text.index("[[keys]]")] + KEY_OF_THE_TESTS
    served = {}
    for regime in ("included", "added"):
        assert text.count('regime = "included"') == 1
        folder = tmp_path_factory.mktemp(regime)
        (folder / "moosgrund.toml").write_text(text.replace('regime = "included"', f'regime = "{regime}"'), "utf-8")
        settings = Settings.from_environment({"CHEQUERWORK_SHOPS": str(folder)})
        served[regime] = create_app(settings).test_client()
    return served


def cents(amount: Decimal) -> Decimal:
    return amount.quantize(CENT, ROUND_HALF_UP)


@pytest.mark.parametrize("regime", ["included", "added"])
@pytest.mark.parametrize("channel", CHANNELS)
@pytest.mark.parametrize("number", range(len(ORDERS)))
def test_the_margin_follows_from_the_printed_amounts(clients, number, channel, regime):
    order = {
        "light": "sycamore_maple", "dark": "european_walnut", "issued_on": "2027-02-01", "starts_on": "2027-02-08",
        "shop": "moosgrund", "channel": channel, **ORDERS[number],
    }  # fmt: skip
    told = clients[regime].post("/v1/price", json=order, headers={"Authorization": f"Bearer {KEY}"})
    assert told.status_code == 200, told.get_json()
    price = told.get_json()["price"]
    inside, amount = price["workshop"], Decimal

    quantity, tax = price["quantity"], TAX_PCT[order.get("ship_to", "AT")] / 100
    net, gross = amount(price["unit_net"]), amount(price["unit_gross"])
    shipping, shipping_gross = amount(price["shipping"]), amount(price["shipping_gross"])
    # Tax of one board and of the shipping, each rounded once.
    assert gross - net == (gross - cents(gross / (1 + tax)) if regime == "included" else cents(net * tax))
    assert shipping_gross == shipping + cents(shipping * tax)
    assert amount(price["tax"]) == quantity * (gross - net) + shipping_gross - shipping
    total = quantity * gross + shipping_gross
    assert amount(price["total"]) == total
    # The price end of the shop: 9 above a multiple of 10.
    assert (gross if regime == "included" else net) % 10 == 9

    pct, base, fixed, least, most = CHANNELS[channel]
    fee = {"net": quantity * net, "gross_with_shipping": total}[base] * amount(pct) / 100
    fee = max(fee, amount(least)) if least else fee
    fee = min(fee, amount(most)) if most else fee
    fee = cents(fee + amount(fixed))
    assert amount(inside["fees"]["amount"]) == amount(inside["fees_total"]) == fee

    cost = sum(amount(line["amount"]) for line in inside["costs"])
    assert amount(inside["cost_total"]) == cost
    left = quantity * net - fee - cost
    assert amount(inside["margin_total"]) == left
    assert inside["margin_pct"] == float(cents(left / (quantity * net) * 100))
    assert inside["markup_pct"] == float(cents(left / cost * 100))
    assert left >= quantity * net * MARGIN_PCT / 100
    assert quantity * net >= amount(inside["floor_total"]) >= cost
    assert not {"workshop", "costs"} & set(clients[regime].post("/v1/price", json=order).get_json()["price"])


def test_both_bounds_of_the_fee_were_met(clients):
    """The bounded channel takes its least, its share and its cap somewhere among the orders."""
    fees = set()
    for changes in ORDERS:
        order = {
            "light": "sycamore_maple", "dark": "european_walnut", "issued_on": "2027-02-01", "shop": "moosgrund",
            "channel": "online_marketplace", **changes,
        }  # fmt: skip
        told = clients["added"].post("/v1/price", json=order, headers={"Authorization": f"Bearer {KEY}"})
        fees.add(Decimal(told.get_json()["price"]["workshop"]["fees"]["amount"]))
    assert {Decimal("80.45"), Decimal("150.45")} < fees
    assert any(Decimal("80.45") < fee < Decimal("150.45") for fee in fees)
