"""Whatever is asked, the work is bounded, and a suggested order keeps to its limits when it is quoted afresh."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from builders import as_body, demo_shops, demo_tables, maybe, requests
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chequerwork.domain.suggestions.limits import Field, First

pytestmark = pytest.mark.slow("random orders")

TABLES = demo_tables()
KEYS = {shop: {"Authorization": f"Bearer demo-maker-{shop}"} for shop in demo_shops()}
SOME = settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.function_scoped_fixture],
)
VERDICTS = ("sound", "watch", "expect damage")


def sizes(low: int, high: int) -> st.SearchStrategy[str]:
    return st.integers(low, high).map("{} mm".format)


limits = st.fixed_dictionaries(
    {},
    optional={
        "outside": sizes(200, 900),
        "outside_length": sizes(200, 900),
        "outside_width": sizes(200, 900),
        "height": sizes(10, 80),
        "mass": st.integers(500, 9000).map("{} g".format),
        "unit_gross": st.integers(200, 1500).map(str),
        "total": st.integers(20, 3000).map(str),
        "ships_by": st.dates(date(2027, 2, 9), date(2027, 4, 1)).map(str),
        "ready_by": st.dates(date(2027, 2, 9), date(2027, 4, 1)).map(str),
        "verdict": st.sampled_from(VERDICTS[:2]),
    },
)
fields = st.lists(st.sampled_from(list(Field)), min_size=1, max_size=8, unique=True)
preferences = st.fixed_dictionaries({"first": st.sampled_from(list(First))}) | st.one_of(
    st.fixed_dictionaries({"keep": fields}), st.fixed_dictionaries({"may_change": fields})
)


@st.composite
def bodies(draw: st.DrawFn) -> dict[str, Any]:
    """A request of either demo shop: an order of which some fields may be left open, limits and wishes."""
    shop = draw(st.sampled_from(list(demo_shops().values())))
    order = as_body(draw(requests(shop, TABLES)), shop=shop.id)
    for open_field in draw(st.lists(st.sampled_from(["square", "light", "dark", "frame", "lines"]), max_size=3)):
        order.pop(open_field, None)
    order |= {"issued_on": "2027-02-01", "starts_on": "2027-02-08"}
    order.pop("wanted_by", None)
    asked = {"order": order, "limits": draw(limits), "count": draw(st.integers(1, 4))}
    wished = draw(maybe(preferences))
    return asked if wished is None else {**asked, "wishes": wished}


def held(name: str, most: str, quote: dict[str, Any]) -> bool:
    """Whether a quote keeps to a limit."""
    overall, price = quote["geometry"]["overall"], quote["price"]
    longest = {
        "outside": max(overall["length_mm"], overall["width_mm"]),
        "outside_length": overall["length_mm"],
        "outside_width": overall["width_mm"],
    }
    if name in longest:
        return longest[name] <= float(most.split(maxsplit=1)[0]) + 1e-3
    if name == "height":
        return overall["height_mm"] <= float(most.split(maxsplit=1)[0]) + 1e-3
    if name == "mass":
        return quote["geometry"]["mass_kg"] <= float(most.split(maxsplit=1)[0]) / 1000 + 5e-4
    if name in ("unit_gross", "total"):
        return Decimal(price[name]) <= Decimal(most)
    if name == "verdict":
        return VERDICTS.index(quote["movement"]["verdict"]) <= VERDICTS.index(most)
    return quote["schedule"]["ready_on" if name == "ready_by" else "ships_on"] <= most


@given(asked=bodies())
@SOME
def test_a_suggested_order_keeps_to_every_limit_when_it_is_quoted(client, asked):
    answer = client.post("/v1/suggestions", json=asked)
    assert answer.status_code in (200, 422), answer.get_data(as_text=True)[:500]
    if answer.status_code == 422:
        return
    tree = answer.get_json()
    assert client.post("/v1/suggestions", json=asked).data == answer.data
    assert (tree["status"] == "found") is (tree["none"] is None) is bool(tree["suggestions"])
    for suggested in tree["suggestions"]:
        quoted = client.post("/v1/quotes", json=suggested["order"])
        assert quoted.status_code == 200, quoted.get_data(as_text=True)[:500]
        quote = quoted.get_json()
        told = {"total": quote["price"]["total"], "unit_gross": quote["price"]["unit_gross"]}
        assert {name: suggested[name] for name in told} == told
        assert suggested["ships_on"] == quote["schedule"]["ships_on"]
        assert suggested["verdict"] == quote["movement"]["verdict"]
        missed = [name for name, most in asked["limits"].items() if not held(name, most, quote)]
        assert missed == []
        if len(suggested["link"]) < 1900:
            assert client.get(suggested["link"]).get_json()["price"] == quote["price"]


@given(asked=bodies())
@settings(SOME, max_examples=12)
def test_what_would_do_does(client, asked):
    """Each relaxed limit names an order that keeps to the others, and to itself as it is relaxed."""
    answer = client.post("/v1/suggestions", json={**asked, "count": 1})
    if answer.status_code == 422 or answer.get_json()["status"] == "found":
        return
    none = answer.get_json()["none"]
    for relaxed in none["relaxed"]:
        quote = client.post("/v1/quotes", json=relaxed["suggestion"]["order"]).get_json()
        missed = {name for name, most in asked["limits"].items() if not held(name, most, quote)}
        assert missed <= {relaxed["limit"]}
    if none["closest"] is not None:
        quote = client.post("/v1/quotes", json=none["closest"]["suggestion"]["order"]).get_json()
        missed = {name for name, most in asked["limits"].items() if not held(name, most, quote)}
        assert missed == {each["limit"] for each in none["closest"]["missed"]}


@pytest.mark.parametrize("shop", KEYS)
def test_suggestions_from_stock_are_cut_from_the_rack(client, shop):
    """Held against the stock plan of each order, asked afresh: nothing is bought."""
    woods = list(demo_shops()[shop].lumber)[:2]
    asked = {
        "order": {"shop": shop, "square": "45 mm", "light": woods[0], "dark": woods[1], "issued_on": "2027-02-01"},
        "limits": {"from_stock": True},
        "count": 2,
    }
    tree = client.post("/v1/suggestions", json=asked, headers=KEYS[shop]).get_json()
    for suggested in tree["suggestions"]:
        plan = client.post("/v1/stock-plan", json={"order": suggested["order"], "buy": False}, headers=KEYS[shop])
        assert plan.status_code == 200
        assert plan.get_json()["missing"] == []
