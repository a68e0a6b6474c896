"""The species table: whole, by name in any language, by shop; as a tree and as rows."""

import csv
import io

import pytest

from chequerwork.domain.basics.names import LANGUAGES


@pytest.fixture(scope="module")
def whole(app):
    answer = app.test_client().get("/v1/timbers")
    assert answer.status_code == 200
    return answer.get_json()


@pytest.fixture
def asked(client):
    """Timbers of a question."""

    def ask(**query: str) -> list[dict]:
        answer = client.get("/v1/timbers", query_string=query)
        assert answer.status_code == 200
        return answer.get_json()["timbers"]

    return ask


def table(client, query: str, form: str = "csv", delimiter: str = ",") -> list[dict[str, str]]:
    answer = client.get(f"/v1/timbers.{form}?{query}")
    assert answer.status_code == 200
    return list(csv.DictReader(io.StringIO(answer.get_data(as_text=True), newline=""), delimiter=delimiter))


def test_the_table_is_told_whole(whole, tables):
    assert whole["tables_version"] == tables.version
    assert [each["key"] for each in whole["timbers"]] == list(tables.species)
    assert (whole["asked"], whole["shop"], whole["also"]) == (None, None, [])
    for each in whole["timbers"]:
        species = tables.species[each["key"]]
        assert (each["botanical"], each["density_kg_m3"], each["dust"]) == (
            species.botanical,
            species.density_kg_m3,
            species.dust,
        )
        assert (each["match"], each["matched"], each["grain"]) == (None, None, None)


def test_every_source_it_names_is_told_at_sources(client, whole):
    known = {each["id"] for each in client.get("/v1/sources").get_json()["sources"]}
    named = {source for each in whole["timbers"] for source in each["sources"]}
    named |= {
        source for each in whole["timbers"] for source in (each["second_coefficients"] or {"sources": []})["sources"]
    }
    assert len(named) > 10
    assert named <= known


def test_where_sources_differ_both_figures_are_shown(whole):
    """Wood notes, "c policy": BWK 0.17 and 0.28 % per % for European ash beside GDH 0.21 and 0.38."""
    ash = next(each for each in whole["timbers"] if each["key"] == "european_ash")
    assert (ash["c_radial_per_pct"], ash["c_tangential_per_pct"]) == (0.0021, 0.0038)
    assert ash["second_coefficients"] == {
        "radial_per_pct": 0.0017,
        "tangential_per_pct": 0.0028,
        "basis": "published",
        "sources": ["BWK"],
    }


def test_a_modulus_says_whether_it_is_estimated(whole):
    """White ash has all three published: E_L 1.74 Mpsi, E_T / E_L 0.080, E_R / E_L 0.125 (Tables 5-3b and 5-1)."""
    by_key = {each["key"]: each["moduli"] for each in whole["timbers"]}
    assert by_key["white_ash"] == {
        "along_mpa": 11997,
        "tangential_mpa": pytest.approx(0.080 * 11997, abs=1),
        "radial_mpa": pytest.approx(0.125 * 11997, abs=1),
        "estimated": False,
    }
    assert by_key["pear"]["estimated"] is True
    assert by_key["american_beech"]["estimated"] is True  # ratios are not printed


def test_a_listing_is_told_with_its_annotation(whole):
    listings = {each["key"]: each["listing"] for each in whole["timbers"] if each["listing"]}
    assert set(listings) == {
        "african_padauk", "african_mahogany", "honduran_mahogany", "bubinga", "indian_rosewood", "cocobolo",
    }  # fmt: skip
    assert (listings["cocobolo"]["taxon"], listings["cocobolo"]["annotation"]) == ("Dalbergia", "#15")


def test_confidence_is_told_for_each_group_of_figures(whole):
    for each in whole["timbers"]:
        assert set(each["confidences"]) == {"density", "shrinkage", "coefficients", "hardness", "listing", "dust"}
        assert set(each["confidences"].values()) <= {"verified-in-text", "derived", "from-memory", "house"}


def test_every_name_that_is_told_finds_its_timber(client, whole):
    """A name of its own finds it alone; a shared one finds it among others."""
    for each in whole["timbers"]:
        assert list(each["names"]) == list(LANGUAGES)
        for name in [name for names in each["names"].values() for name in names]:
            found = client.get("/v1/timbers", query_string={"name": name}).get_json()
            assert [timber["key"] for timber in found["timbers"]] == [each["key"]], name
            assert found["also"] == []
        for name in each["shared_names"]:
            found = client.get("/v1/timbers", query_string={"name": name}).get_json()
            assert each["key"] in [timber["key"] for timber in found["timbers"]], name
            assert len(found["timbers"]) + len(found["also"]) > 1, name


@pytest.mark.parametrize("name", ["Juglans regia", "juglans-regia", "NOYER COMMUN", "noce nazionale", "Orzech włoski"])
def test_a_name_in_any_language_is_an_exact_match(asked, name):
    (found,) = asked(name=name)
    assert (found["key"], found["match"]) == ("european_walnut", "exact")
    assert found["matched"] in [text for names in found["names"].values() for text in names]


def test_a_near_name_is_ranked_and_says_what_it_matched(asked):
    found = asked(name="hard mapel")
    assert (found[0]["key"], found[0]["match"], found[0]["matched"]) == ("hard_maple", "near", "hard_maple")


def test_a_name_of_several_timbers_gives_all_of_them_and_names_the_rest(client):
    found = client.get("/v1/timbers?name=Mahagoni").get_json()
    assert {each["key"] for each in found["timbers"]} == {"honduran_mahogany", "african_mahogany", "sapele"}
    assert {each["match"] for each in found["timbers"]} == {"exact"}
    assert found["also"] == ["Swietenia mahagoni"]


def test_a_name_that_means_nothing_is_no_fault(asked):
    assert asked(name="zzzzzz") == []


@pytest.mark.parametrize("shop", ["moosgrund", "willet-slough"])
def test_a_shop_limits_the_table_to_its_lumber_and_adds_how_it_is_sawn(asked, shops, shop):
    found = asked(shop=shop)
    assert {each["key"]: each["grain"] for each in found} == {
        key: lumber.grain for key, lumber in shops[shop].lumber.items()
    }
    assert len(asked(shop=shop, name="walnut")) == 1


def test_nothing_of_a_shop_is_told_but_what_it_offers(client, shops):
    """Public data only: prices, classes and yields of lumber stay with the maker."""
    for shop in shops.values():
        text = client.get("/v1/timbers", query_string={"shop": shop.id}).get_data(as_text=True)
        assert "price" not in text
        assert "yield" not in text
        for lumber in shop.lumber.values():
            assert f"{lumber.price_m3}" not in text


def test_a_table_has_a_row_for_each_timber_and_the_same_header_always(client, whole):
    rows = table(client, "")
    assert [row["key"] for row in rows] == [each["key"] for each in whole["timbers"]]
    few = table(client, "name=Bergahorn")
    assert list(few[0]) == list(rows[0])
    assert client.get("/v1/timbers.csv?name=zzzzzz").get_data(as_text=True).split("\r\n")[0].split(",") == list(rows[0])
    maple = {row["key"]: row for row in rows}["hard_maple"]
    assert (maple["density_kg_m3"], maple["moduli.estimated"], maple["listing.taxon"]) == ("706", "FALSE", "")
    assert maple["names.de"] == "Zuckerahorn"
    assert {row["key"]: row for row in rows}["european_oak"]["names.pl"] == "Dąb szypułkowy; Dąb bezszypułkowy"


def test_columns_pick_and_order_cells_of_a_row(client):
    rows = table(client, "columns=density_kg_m3;key;listing.taxon&shop=moosgrund&delimiter=;&decimal=,", delimiter=";")
    assert list(rows[0]) == ["density_kg_m3", "key", "listing.taxon"]
    assert table(client, "columns=c_radial_per_pct&name=pear", "tsv", "\t") == [{"c_radial_per_pct": "0.0015"}]


def test_one_value_and_a_page_can_be_asked(client):
    assert client.get("/v1/timbers.txt?name=birnbaum&field=timbers.0.key").get_data(as_text=True) == "pear"
    page = client.get("/v1/timbers.txt?name=teck").get_data(as_text=True)
    assert "641 kg/m³" in page
    assert "0.00186 per 1 %" in page
    assert "4448 N" in page


@pytest.mark.parametrize("form", ["", ".csv", ".tsv", ".txt"])
def test_every_fault_of_a_question_is_named_at_once(client, form):
    answer = client.get(f"/v1/timbers{form}?name=7%20woods&shop=mosgrund&nam=x")
    assert answer.status_code == 422
    faults = {fault["parameter"]: fault for fault in answer.get_json()["errors"]}
    assert set(faults) == {"name", "shop", "nam"}
    assert "moosgrund" in faults["shop"]["detail"]


def test_a_column_that_is_not_there_is_a_fault_with_a_near_one(client):
    answer = client.get("/v1/timbers.csv?columns=key;density_kg_m2;hardness")
    assert [fault["code"] for fault in answer.get_json()["errors"]] == ["unknown-name"] * 2
    assert "density_kg_m3" in answer.get_json()["errors"][0]["detail"]
