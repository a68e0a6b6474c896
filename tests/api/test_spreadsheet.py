"""Spreadsheets and other plain clients: one value, one row, the same order flat, and what a cell must never do."""

import csv
import io
import re
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from urllib.parse import quote, urlencode

import pytest
from contract.check import FULL, ORDERS, flat, maker

from chequerwork.api.schemas import flat_shape
from chequerwork.app import create_app
from chequerwork.ops.settings import Settings
from chequerwork.shop.loader import demo_folder

SECTIONS = (
    "geometry", "materials", "cutting", "movement", "finishing", "schedule", "packing", "compliance", "price", "quotes",
)  # fmt: skip
SIBLINGS = ("csv", "tsv", "txt")
LEAST = flat(ORDERS["least"])
TYPES = {"csv": "text/csv", "tsv": "text/tab-separated-values", "txt": "text/plain"}


@pytest.fixture(params=ORDERS)
def order(request):
    return ORDERS[request.param]


def value(client, field: str, order=LEAST, path: str = "/v1/quotes.txt", **more: str) -> str:
    answer = client.get(path, query_string={**order, "field": field, **more})
    assert answer.status_code == 200, answer.get_data(as_text=True)
    assert answer.headers["Content-Type"] == "text/plain; charset=utf-8"
    return answer.get_data(as_text=True)


def rows(data: bytes, delimiter: str = ",", encoding: str = "utf-8") -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode(encoding), newline=""), delimiter=delimiter, strict=True))


def leaves(tree, at: str = "") -> Iterator[tuple[str, object]]:
    if isinstance(tree, dict | list):
        for step, inner in tree.items() if isinstance(tree, dict) else enumerate(tree):
            yield from leaves(inner, f"{at}.{step}" if at else str(step))
    else:
        yield at, tree


# One value ------------------------------------------------------------------------------------------------------------


def test_one_value_is_bare_no_quotes_no_symbol_no_line_end_a_decimal_point(client):
    total = client.post("/v1/quotes", json=ORDERS["least"]).get_json()["price"]["total"]
    assert value(client, "price.total") == total
    assert re.fullmatch(r"\d+\.\d\d", total)
    assert value(client, "geometry.columns") == "8"
    assert value(client, "geometry.square_mm") == "48"
    assert value(client, "price.currency") == "EUR"
    assert value(client, "schedule.ships_on") == "2027-02-12"
    assert value(client, "packing.flat") in ("TRUE", "FALSE")
    assert value(client, "geometry.fit.verdict") == ""


def test_every_value_of_the_json_answer_can_be_asked_for_by_its_name(client):
    """The whole customer quote, value by value; its flat names are those of the header row."""
    tree = client.post("/v1/quotes", json=ORDERS["club-chess"]).get_json()
    query = flat(ORDERS["club-chess"])
    names = rows(client.get("/v1/quotes.csv", query_string=query).data)[0]
    told = dict(leaves(tree))
    assert names == list(told)
    for name, given in told.items():
        text = value(client, name, query)
        if isinstance(given, bool) or given is None:
            assert text == {True: "TRUE", False: "FALSE", None: ""}[given]
        elif isinstance(given, int | float):
            assert Decimal(text) == Decimal(repr(given))
            assert re.fullmatch(r"-?\d+(\.\d+)?", text)
        else:
            assert text == " ".join(given.splitlines()), name


@pytest.mark.parametrize(("suffix", "mm"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4), ("ft", 304.8)])
@pytest.mark.parametrize("stem", ["geometry.overall.length", "geometry.field.diagonal", "packing.carton.height"])
def test_a_length_is_asked_for_in_another_unit_by_its_suffix(client, suffix, mm, stem):
    """International inch and foot, 25.4 and 304.8 mm exactly (1959 agreement)."""
    there = float(value(client, f"{stem}_{suffix}")) * mm
    assert there == pytest.approx(float(value(client, f"{stem}_mm")), abs=0.01)


def test_an_imperial_square_comes_back_as_it_was_asked(client):
    query = flat(ORDERS["bare field, other shop"])
    assert value(client, "geometry.square_in", query) == "1.875"
    assert value(client, "geometry.square_text", query) == "1 7/8 in"


def test_a_value_of_a_section_is_asked_at_the_section_too(client):
    assert value(client, "price.total", path="/v1/price.txt") == value(client, "price.total")


def test_a_maker_may_ask_for_one_value_of_the_workshop(client):
    query = {**LEAST, "field": "price.workshop.margin_pct"}
    assert client.get("/v1/quotes.txt", query_string=query).status_code == 422
    keyed = client.get("/v1/quotes.txt", query_string=query, headers=maker(ORDERS["least"]))
    assert re.fullmatch(r"\d+(\.\d+)?", keyed.get_data(as_text=True))


@pytest.mark.parametrize(
    ("field", "code", "near"),
    [
        ("price.totl", "unknown-name", "price.total"),
        ("total", "unknown-name", "price.total"),
        ("geometry.overall", "not-a-value", "geometry.overall.length_mm"),
        ("geometry.mass_in", "unknown-name", ""),
        ("advice.99.text", "unknown-name", ""),
        ("advice.-1.text", "unknown-name", ""),
        ("__class__", "unknown-name", ""),
    ],
)
def test_a_field_that_is_no_value_is_a_fault_with_names_that_are(client, field, code, near):
    answer = client.get("/v1/quotes.txt", query_string={**LEAST, "field": field})
    assert answer.status_code == 422
    fault = answer.get_json()["errors"][0]
    assert (fault["parameter"], fault["code"]) == ("field", code)
    assert near in fault["detail"]


@pytest.mark.parametrize("section", SECTIONS)
def test_without_a_field_the_text_is_a_page_for_people(client, section):
    answer = client.get(f"/v1/{section}.txt", query_string=flat(FULL), headers=maker(FULL))
    page = answer.get_data(as_text=True)
    lines = page.splitlines()
    ruled = [(title, line) for title, line in pairwise(lines) if line and set(line) <= {"=", "-"}]
    assert ruled
    assert all(len(title) == len(line) for title, line in ruled)
    assert page.endswith("\n")
    assert max(map(len, lines)) <= 120
    assert not any(line != line.rstrip() for line in lines)


# One row --------------------------------------------------------------------------------------------------------------


def test_a_row_has_a_header_and_as_many_cells(client, order):
    """RFC 4180: CRLF, one header row, one record."""
    for section in SECTIONS:
        answer = client.get(f"/v1/{section}.csv", query_string=flat(order), headers=maker(order))
        assert answer.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
        header, row = rows(answer.data)
        assert len(header) == len(row) == len(set(header))
        assert answer.data.count(b"\r\n") == answer.data.count(b"\n") == 2
        assert answer.data.endswith(b"\r\n")
        tabbed = client.get(f"/v1/{section}.tsv", query_string=flat(order), headers=maker(order))
        lines = tabbed.get_data(as_text=True).removesuffix("\r\n").split("\r\n")
        assert lines[0].split("\t") == header
        assert len(lines[1].split("\t")) == len(header)


def test_columns_picks_and_orders(client):
    query = {**LEAST, "columns": "price.total;geometry.overall.length_in;price.currency"}
    header, row = rows(client.get("/v1/quotes.csv", query_string=query).data)
    assert header == ["price.total", "geometry.overall.length_in", "price.currency"]
    assert row == [value(client, name) for name in header]
    turned = {**LEAST, "columns": "price.currency,price.total"}
    assert rows(client.get("/v1/quotes.csv", query_string=turned).data)[0] == ["price.currency", "price.total"]


@pytest.mark.parametrize("sibling", ["csv", "tsv"])
def test_columns_counts_squares_where_it_is_digits_and_both_may_be_given(client, sibling):
    picked, counted = ("columns", "geometry.columns;price.total"), ("columns", "10")
    delimiter = "," if sibling == "csv" else "\t"
    for pairs in ([picked, counted], [counted, picked]):
        asked = client.get(f"/v1/quotes.{sibling}", query_string=[*LEAST.items(), *pairs])
        header, row = rows(asked.data, delimiter)
        assert header == ["geometry.columns", "price.total"]
        assert row[0] == "10"
    alone = client.get(f"/v1/quotes.{sibling}", query_string=[*LEAST.items(), counted])
    assert dict(zip(*rows(alone.data, delimiter), strict=True))["geometry.columns"] == "10"


def test_columns_of_json_and_text_counts_squares_only(client):
    for path in ("/v1/quotes", "/v1/quotes.txt"):
        assert client.get(path, query_string={**LEAST, "columns": "10"}).status_code == 200
        assert client.get(path, query_string={**LEAST, "columns": "price.total"}).status_code == 422


@pytest.mark.parametrize(
    "columns", ["price.total;nothing", "price.total;;price.tax", ";", "price", "price.total;", "8;price.total"]
)
def test_columns_that_are_no_values_are_faults(client, columns):
    answer = client.get("/v1/quotes.csv", query_string={**LEAST, "columns": columns})
    assert answer.status_code == 422
    assert {fault["parameter"] for fault in answer.get_json()["errors"]} == {"columns"}


@pytest.mark.parametrize(("delimiter", "sign"), [(",", ","), (";", ";"), ("tab", "\t")])
@pytest.mark.parametrize("bom", ["0", "1"])
def test_other_regions_get_their_delimiter_and_mark(client, delimiter, sign, bom):
    plain = rows(client.get("/v1/quotes.csv", query_string=LEAST).data)
    answer = client.get("/v1/quotes.csv", query_string={**LEAST, "delimiter": delimiter, "bom": bom})
    assert answer.data.startswith(b"\xef\xbb\xbf") is (bom == "1")
    told = rows(answer.data, sign, "utf-8-sig")
    assert told[0] == plain[0]
    if sign != "\t":
        assert told == plain


def test_a_decimal_comma_is_in_numbers_and_nowhere_else(client):
    query = {**LEAST, "delimiter": ";", "decimal": ","}
    plain = dict(zip(*rows(client.get("/v1/quotes.csv", query_string=LEAST).data), strict=True))
    told = dict(zip(*rows(client.get("/v1/quotes.csv", query_string=query).data, ";"), strict=True))
    assert told["price.total"] == plain["price.total"].replace(".", ",")
    assert told["geometry.square_mm"] == "48"
    changed = {name for name in plain if plain[name] != told[name]}
    assert all(re.fullmatch(r"-?\d+\.\d+", plain[name]) for name in changed)
    assert {name for name in plain if re.fullmatch(r"-?\d+\.\d+", plain[name])} == changed


@pytest.mark.parametrize(
    ("path", "query", "parameter"),
    [
        ("csv", {"decimal": ","}, "decimal"),
        ("csv", {"delimiter": "|"}, "delimiter"),
        ("csv", {"bom": "yes"}, "bom"),
        ("csv", {"field": "price.total"}, "field"),
        ("txt", {"delimiter": ";"}, "delimiter"),
        ("tsv", {"delimiter": ";"}, "delimiter"),
        ("csv", {"errors": "none"}, "errors"),
        ("csv", {"colums": "price.total"}, "colums"),
    ],
)
def test_a_presentation_that_cannot_be_is_a_fault(client, path, query, parameter):
    answer = client.get(f"/v1/quotes.{path}", query_string={**LEAST, **query})
    assert answer.status_code == 422
    assert [fault["parameter"] for fault in answer.get_json()["errors"]] == [parameter]


# What a cell must never do --------------------------------------------------------------------------------------------

# OWASP, CSV Injection: what starts a formula; a number may begin with a minus.
STARTS = tuple("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")
NUMBER = re.compile(r"-?\d+(\.\d+)?")
ISO_TIME = re.compile(r"\d{4}-\d\d-\d\d(T\d\d:\d\d([+-]\d\d:\d\d|Z))?")
# What spreadsheets take for a date, a fraction or a number with an exponent.
MISREAD = re.compile(r"[\d\s./:,-]*\d[\d\s./:,-]*(e[+-]?\d+)?", re.IGNORECASE)


def unsafe(cell: str) -> bool:
    if NUMBER.fullmatch(cell) or ISO_TIME.fullmatch(cell):
        return False
    return cell.lstrip().startswith(STARTS) or MISREAD.fullmatch(cell) is not None


def test_no_cell_starts_a_formula_or_looks_like_a_date_or_a_fraction(client, order):
    for section in SECTIONS:
        for sibling, delimiter in (("csv", ","), ("tsv", "\t")):
            answer = client.get(f"/v1/{section}.{sibling}", query_string=flat(order), headers=maker(order))
            if sibling == "csv":
                cells = [cell for row in rows(answer.data, delimiter) for cell in row]
            else:
                cells = re.split(r"\t|\r\n", answer.get_data(as_text=True))
            assert [cell for cell in cells if cell and unsafe(cell)] == []
            assert not any(re.search(r"[\x00-\x1f]", cell) for cell in cells)


@pytest.mark.parametrize("name", ["=1+1", "@SUM(A1)", "+43 1 234", "-1-1", "3/4", "=cmd|' /C calc'!A0", "7 Mar"])
def test_a_shop_whose_name_is_a_formula_cannot_start_one(tmp_path, name):
    text = (demo_folder() / "moosgrund.toml").read_text("utf-8")
    path = tmp_path / "shop.toml"
    path.write_text(text.replace('name = "Brettwerkstatt Moosgrund"', f'name = "{name}"', 1), "utf-8")
    client = create_app(Settings(shop_paths=(path,))).test_client()
    header, row = rows(client.get("/v1/quotes.csv", query_string=LEAST).data)
    shown = dict(zip(header, row, strict=True))["quote.shop_name"]
    assert name in shown
    assert not unsafe(shown)
    tabbed = client.get("/v1/quotes.tsv", query_string=LEAST).get_data(as_text=True).split("\r\n")[1].split("\t")
    assert not any(unsafe(cell) for cell in tabbed if cell)


def test_a_whole_row_fits_where_cells_are_short(client, order):
    """A spreadsheet's web function takes 32,767 characters (reference notes on spreadsheets)."""
    for sibling in SIBLINGS:
        assert len(client.get(f"/v1/quotes.{sibling}", query_string=flat(order)).get_data(as_text=True)) < 32_767


# Faults in a cell -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sibling", SIBLINGS)
@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({**LEAST, "square": "48"}, "square"),
        ({**LEAST, "light": "teak", "quantity": "99"}, "faults"),
        ({**LEAST, "colour": "red"}, "colour"),
        ({}, "square"),
        ({**LEAST, "shop": "nowhere"}, "nowhere"),
    ],
)
def test_a_fault_is_one_short_cell_where_it_is_asked_so(client, sibling, query, said):
    refused = client.get(f"/v1/quotes.{sibling}", query_string=query)
    assert refused.status_code == 422
    answer = client.get(f"/v1/quotes.{sibling}", query_string={**query, "errors": "inline"})
    cell = answer.get_data(as_text=True)
    assert answer.status_code == 200
    assert answer.mimetype == TYPES[sibling]
    assert answer.headers["Cache-Control"] == "no-store"
    assert cell.startswith("ERROR ")
    assert said in cell
    assert len(cell) <= 250
    assert not re.search(r"[\r\n\t]", cell)
    if sibling == "csv":
        assert rows(answer.data) == [[cell]]
        assert rows(answer.data, ";") == [[cell]]


def test_a_wrong_key_and_a_broken_query_are_cells_too(client):
    wrong = client.get(
        "/v1/quotes.txt", query_string={**LEAST, "errors": "inline"}, headers={"Authorization": "Bearer no"}
    )
    stranger = client.get("/v1/cutting.txt", query_string={**LEAST, "errors": "inline"})
    broken = client.get("/v1/quotes.txt?errors=inline&square=%zz")
    field = client.get("/v1/quotes.txt", query_string={**LEAST, "errors": "inline", "field": "price.totl"})
    for answer in (wrong, stranger, broken, field):
        assert answer.status_code == 200
        assert answer.get_data(as_text=True).startswith("ERROR ")


def test_a_good_answer_is_the_same_with_errors_inline(client):
    for sibling in SIBLINGS:
        plain = client.get(f"/v1/quotes.{sibling}", query_string=LEAST)
        inline = client.get(f"/v1/quotes.{sibling}", query_string={**LEAST, "errors": "inline"})
        assert plain.data == inline.data


# The same order, flat -------------------------------------------------------------------------------------------------


def test_a_flat_order_is_answered_with_the_bytes_of_the_json_one(client, order):
    for section in SECTIONS:
        posted = client.post(f"/v1/{section}", json=order, headers=maker(order))
        got = client.get(f"/v1/{section}", query_string=flat(order), headers=maker(order))
        assert got.data == posted.data
        assert got.headers["ETag"] == posted.headers["ETag"]


def test_a_query_may_leave_spaces_out_and_come_in_any_order(client):
    tight = {name: re.sub(r"(?<=\d) (?=[a-zA-Z])", "", text) for name, text in flat(FULL).items()}
    assert tight != flat(FULL)
    turned = dict(reversed(tight.items()))
    for query in (tight, turned):
        assert client.get("/v1/quotes", query_string=query).data == client.post("/v1/quotes", json=FULL).data


def test_spaces_and_signs_may_be_escaped_in_every_usual_way(client):
    """ENCODEURL writes %20 and %22, forms write +, some clients write small letters."""
    order = {**LEAST, "square": '1 7/8"'}
    told = client.get("/v1/quotes", query_string=order).data
    for query in (
        urlencode(order),
        urlencode(order, quote_via=quote),
        urlencode(order, quote_via=quote).replace("%2F", "%2f"),
    ):
        assert client.get(f"/v1/quotes?{query}").data == told


def test_refresh_is_ignored_and_nothing_else_is(client):
    plain = client.get("/v1/quotes.txt", query_string=LEAST)
    assert client.get("/v1/quotes.txt", query_string={**LEAST, "refresh": "17:03"}).data == plain.data
    assert client.get("/v1/choices", query_string={"refresh": "2"}).status_code == 200
    for name in ("refesh", "_", "cb", "utm_source"):
        answer = client.get("/v1/quotes.txt", query_string={**LEAST, name: "1"})
        assert [fault["parameter"] for fault in answer.get_json()["errors"]] == [name]


def test_a_fully_specified_order_stays_below_two_thousand_characters(client):
    """With address, sibling, picked columns and a refresh: what one cell's formula may ask."""
    names = [*flat(FULL), "columns", "errors", "refresh"]
    picked = "price.total;price.currency;schedule.ships_on;geometry.overall.length_in;geometry.overall.width_in"
    query = urlencode(
        [*flat(FULL).items(), ("columns", picked), ("errors", "inline"), ("refresh", "20270201")], quote_via=quote
    )
    address = f"https://quotes.brettwerkstatt-moosgrund.example/v1/quotes.csv?{query}"
    assert set(flat_shape()) - set(names) == {
        "pieces.king_base", "pieces.king_height", "pieces.pawn_base", "pieces.fill_ratio",
    }  # fmt: skip
    assert len(address) < 2000
    assert not client.get(f"/v1/quotes.csv?{query}").get_data(as_text=True).startswith("ERROR")


# HEAD and OPTIONS: what a spreadsheet sends before its GET ------------------------------------------------------------


@pytest.mark.parametrize("suffix", ["", ".csv", ".tsv", ".txt"])
@pytest.mark.parametrize("section", SECTIONS)
def test_head_is_get_without_a_body_and_options_needs_no_key(client, section, suffix):
    """A 401 on OPTIONS ends in #VALUE! and nothing else is sent (reference notes on spreadsheets)."""
    path = f"/v1/{section}{suffix}"
    query, headers = flat(ORDERS["least"]), maker(ORDERS["least"])
    got = client.get(path, query_string=query, headers=headers)
    head = client.head(path, query_string=query, headers=headers)
    assert head.status_code == got.status_code == 200
    assert head.data == b""
    for name in ("ETag", "Content-Type", "Content-Length", "Cache-Control", "Vary"):
        assert head.headers[name] == got.headers[name], name
    for asked in (
        {},
        {"query_string": query},
        {"headers": {"Authorization": "Bearer wrong"}},
        {"query_string": "x=%zz"},
    ):
        options = client.options(path, **asked)
        assert options.status_code == 204
        assert options.data == b""
        assert options.headers["Allow"] == "GET, HEAD, OPTIONS" + (", POST" if not suffix else "")
