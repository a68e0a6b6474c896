"""The page of suggestions: what each changes and gives up, links whole, and what stands in the way."""

import re

import pytest

from chequerwork.render.page import WIDTH
from chequerwork.render.suggestions_page import suggestions_page

ORDER = {
    "game": "chess",
    "square": "52 mm",
    "pieces": {"king_base": "40 mm"},
    "light": "pear",
    "dark": "wenge",
    "frame": {"joint": "mitre", "hold": "floating", "species": "wenge", "width": "44 mm"},
    "feet": 4,
    "issued_on": "2027-02-01",
    "starts_on": "2027-02-08",
}
IMPERIAL = {
    "shop": "willet-slough",
    "square": "2 1/4 in",
    "frame": {"joint": "mitre", "hold": "floating", "species": "black_walnut", "width": "2 in"},
    "issued_on": "2027-02-01",
}
STAYS = {"keep": ["square", "frame", "light", "dark", "grain", "pattern"]}
REQUESTS = {
    "found": {"order": ORDER, "limits": {"outside": "480 mm", "total": "700"}, "count": 3},
    "open": {"count": 2},
    "imperial": {"order": IMPERIAL, "limits": {"outside": "19 in"}, "count": 3},
    "one limit in the way": {"order": ORDER, "limits": {"outside": "440 mm"}, "wishes": STAYS},
    "two limits in the way": {"order": IMPERIAL, "limits": {"outside": "6 in", "ready_by": "2027-02-02"}},
    "together in the way": {
        "order": ORDER,
        "limits": {"total": "655", "verdict": "sound"},
        "wishes": {"may_change": ["pattern"]},
    },
    "timbers": {"order": ORDER, "limits": {"species": ["wenge"]}},
    "a base with a skirt": {
        "order": {
            **{key: value for key, value in ORDER.items() if key not in ("frame", "feet")},
            "base": {
                "material": "birch_plywood",
                "thickness": "9 mm",
                "inset": "20 mm",
                "skirt": {"species": "european_walnut", "width": "8 mm"},
            },
        },
        "wishes": {"keep": ["base"]},
        "count": 1,
    },
}


@pytest.fixture(params=REQUESTS)
def body(request):
    return REQUESTS[request.param]


def answered(client, body, *, maker=False):
    shop = body.get("order", {}).get("shop", "moosgrund")
    headers = {"Authorization": f"Bearer demo-maker-{shop}"} if maker else None
    answer = client.post("/v1/suggestions", json=body, headers=headers)
    assert answer.status_code == 200, answer.get_data(as_text=True)[:500]
    return answer.get_json()


def orders_of(tree):
    none = tree["none"] or {"closest": None, "relaxed": ()}
    closest = [none["closest"]] if none["closest"] else []
    return [*tree["suggestions"], *(each["suggestion"] for each in (*closest, *none["relaxed"]))]


def without_links(page):
    return page.partition("\nLinks\n")[0]


def in_words(page):
    return " ".join(page.split())


def section(page, title):
    """Lines of one section, without their indentation."""
    found = re.search(rf"^{re.escape(title)}\n-+\n((?:.+\n|\n(?=  ))*)", page, re.MULTILINE)
    return [line.strip() for line in found.group(1).splitlines()] if found else []


def test_a_suggestion_has_a_heading_and_its_lines(client):
    tree = answered(client, REQUESTS["found"])
    first = tree["suggestions"][0]
    size = first["outside"]["length_text"]
    said = (
        f"1: squares {first['square_text']}, outside {size} x {size}, {first['total']} EUR, "
        f"ready {first['ready_on']}, {first['verdict']}"
    )
    assert section(suggestions_page(tree), said) == [
        f"changes   square 52 mm -> {first['square_text']}",
        f"gives up  Squares: {first['square_text']} instead of 52 mm.",
        "The pieces stand tight on these squares.",
        f"height    {first['outside']['height_text']}",
        f"mass      {first['mass_text']}",
        "pieces    tight",
        f"price     {first['unit_gross']} EUR each with tax, {first['total']} EUR in all with shipping",
        f"leaves    {first['ships_on']}",
        f"order     square {first['square_text']}; grain light flat, dark quarter; frame joint mitre, hold floating,",
        "species wenge, width 44 mm, thickness 18 mm, bevel 0 mm, grain quarter, edge tongue",
    ]


def test_every_link_stands_in_one_line_once(client, body):
    tree = answered(client, body)
    lines = suggestions_page(tree).splitlines()
    for link in {each["link"] for each in orders_of(tree)}:
        assert lines.count(link) == 1


def test_no_other_line_is_wider_than_the_page_or_ends_in_a_space(client, body):
    for maker in (False, True):
        page = suggestions_page(answered(client, body, maker=maker))
        for line in page.splitlines():
            assert len(line) <= WIDTH or line.startswith("/v1/quotes?")
            assert line == line.rstrip()
        assert "\u00a0" not in page


def test_no_measure_is_torn(client):
    tree = answered(client, REQUESTS["imperial"])
    lines = suggestions_page(tree).splitlines()
    for each in tree["suggestions"]:
        size = each["outside"]
        for measure in (each["square_text"], f"{size['length_text']} x {size['width_text']}", size["height_text"]):
            assert any(measure in line for line in lines)


@pytest.mark.parametrize("named", ["found", "imperial", "open"])
def test_what_is_the_same_in_all_orders_stands_once_and_the_rest_with_its_own(client, named):
    tree = answered(client, REQUESTS[named])
    page = suggestions_page(tree)
    shared = " ".join(section(page, "The same in all of them")).split("; ")
    owned = [in_words(row).split("; ") for row in re.findall(r"^  order     ((?:.+\n)+)", page, re.MULTILINE)]
    assert len(owned) == len(tree["suggestions"])
    for each, own in zip(tree["suggestions"], owned, strict=True):
        names = [name.replace("_", " ") for name, value in each["order"].items() if value != []]
        assert len(shared) + len(own) == len(names)
        for name in names:
            assert sum(field.startswith(f"{name} ") for field in (*shared, *own)) == 1
    assert all(field not in shared for own in owned for field in own)


def test_a_part_that_is_gone_and_a_field_that_was_open_are_told(client):
    page = suggestions_page(answered(client, REQUESTS["two limits in the way"]))
    assert "frame mitre, floating, black walnut, 2 in -> none\n" in page
    assert re.search(r"^            light -> [a-z ]+$", page, re.MULTILINE)


# Where nothing fits ---------------------------------------------------------------------------------------------------


def test_where_nothing_fits_the_page_says_what_binds_what_comes_closest_and_what_would_do(client):
    tree = answered(client, REQUESTS["one limit in the way"])
    page, none = suggestions_page(tree), tree["none"]
    assert page.splitlines()[2] == "No order keeps to all limits."
    assert section(page, "Out of reach") == [each["text"] for each in none["alone"]]
    closest = section(page, "Closest miss")
    assert closest[:2] == [none["closest"]["missed"][0]["text"], ""]
    assert closest[2].startswith("squares 52 mm, outside ")
    assert section(page, "If one limit is relaxed") == [
        none["relaxed"][0]["text"],
        "That is the order of the closest miss.",
    ]


def test_every_sentence_of_what_stands_in_the_way_is_on_the_page(client, body):
    tree = answered(client, body)
    page = in_words(suggestions_page(tree))
    none = tree["none"] or {"alone": (), "closest": None, "relaxed": ()}
    for each in (*none["alone"], *(none["closest"] or {"missed": ()})["missed"], *none["relaxed"]):
        assert each["text"] in page


def test_where_no_single_limit_would_do_the_page_says_so(client):
    tree = answered(client, REQUESTS["two limits in the way"])
    assert tree["none"]["relaxed"] == []
    assert section(suggestions_page(tree), "If one limit is relaxed") == [
        "No limit was found that would do if it alone were relaxed."
    ]


def test_another_order_than_the_closest_miss_is_told_with_the_limit_that_is_relaxed(client):
    tree = answered(client, REQUESTS["together in the way"])
    closest = tree["none"]["closest"]["suggestion"]["link"]
    others = [each for each in tree["none"]["relaxed"] if each["suggestion"]["link"] != closest]
    assert others
    page = suggestions_page(tree)
    for each in others:
        assert f"With {each['limit']} relaxed:\n{each['suggestion']['link']}\n" in page
        assert f"  {each['text']}\n\n  squares {each['suggestion']['square_text']}, outside " in page


def test_a_search_that_was_cut_short_says_so(client):
    tree = answered(client, REQUESTS["found"])
    told = "The search ended before everything was weighed"
    assert told not in suggestions_page({**tree, "thorough": True})
    assert f"{told}: there may be better ones." in suggestions_page({**tree, "thorough": False})
    none = {**answered(client, REQUESTS["one limit in the way"]), "thorough": False}
    assert f"{told}: there may be one." in suggestions_page(none)


# Who reads what -------------------------------------------------------------------------------------------------------


def test_cost_and_margin_are_on_the_makers_page_only(client, body):
    customers, makers = answered(client, body), answered(client, body, maker=True)
    assert not re.search(r"\b(costs?|margin|hours|stock|rack|labour)\b", suggestions_page(customers), re.IGNORECASE)
    page = suggestions_page(makers)
    coin = makers["currency"]
    for inside in (each["workshop"] for each in orders_of(makers)):
        assert f"\n  cost      {inside['cost_total']} {coin}, margin {inside['margin_pct']:g} %\n" in page


def test_parts_of_a_part_are_told_behind_its_name(client):
    page = suggestions_page(answered(client, REQUESTS["a base with a skirt"]))
    assert "skirt species european walnut, skirt width 8 mm" in " ".join(page.split())
