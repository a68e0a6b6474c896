"""Answers in cells: names, values, rows, and everything a spreadsheet would misread."""

import csv
import io
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.domain.basics.errors import Refused
from chequerwork.render.cells import flatten, pick, plain_line, to_csv, to_text

ANSWER: dict[str, Any] = {
    "geometry": {
        "square_mm": 48.0,
        "columns": 8,
        "overall": {"length_mm": 480.5, "length_text": "480.5 mm", "height_mm": None},
        "lines": [],
    },
    "cutting": {"parts": [{"id": "strip-light", "rough": {"length_mm": 512.0}}, {"id": "strip-dark", "rough": None}]},
    "schedule": {"ready_on": "2027-03-19", "starts_at": "2027-03-01T08:00"},
    "price": {"total": "449.00", "discount": "-12.50", "tax_included": True},
}


def rows(data: bytes, delimiter: str = ",") -> list[list[str]]:
    return list(csv.reader(io.StringIO(data.decode(), newline=""), delimiter=delimiter, strict=True))


# Names ----------------------------------------------------------------------------------------------------------------


def test_names_are_keys_and_indexes_joined_by_dots_in_the_order_of_the_answer():
    assert list(flatten(ANSWER))[:5] == [
        "geometry.square_mm",
        "geometry.columns",
        "geometry.overall.length_mm",
        "geometry.overall.length_text",
        "geometry.overall.height_mm",
    ]
    assert flatten(ANSWER)["cutting.parts.0.rough.length_mm"] == 512.0
    assert flatten(ANSWER)["cutting.parts.1.rough"] is None


def test_every_flat_name_picks_its_own_value():
    for name, value in flatten(ANSWER).items():
        assert pick(ANSWER, name) == value


@pytest.mark.parametrize(
    ("unit", "factor"),
    # 1 in = 25.4 mm exactly, 1 ft = 12 in: international yard and pound agreement of 1959 (NIST SP 811, B.8).
    [("cm", 10.0), ("m", 1000.0), ("in", 25.4), ("ft", 304.8)],
)
def test_a_length_is_picked_in_another_unit(unit: str, factor: float):
    value = pick(ANSWER, f"geometry.overall.length_{unit}")
    assert isinstance(value, float)
    assert value * factor == pytest.approx(480.5, abs=0.01)
    assert len(repr(value).partition(".")[2]) <= 5


def test_a_missing_length_stays_missing_in_another_unit():
    assert pick(ANSWER, "geometry.overall.height_in") is None


def test_an_empty_list_is_an_empty_cell():
    assert pick(ANSWER, "geometry.lines") is None


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("price.totl", "price.total"),
        ("total", "price.total"),
        ("geometry.ready_on", "schedule.ready_on"),
        ("cutting.parts.9.id", "cutting.parts.0.id"),
        ("", ".csv"),
        ("geometry..square_mm", "geometry.square_mm"),
        ("cutting.parts.-1.id", "cutting.parts.0.id"),
        ("price.total.x", "price.total"),
        ("price.total_in", "price.total"),
        ("zzzzzz" * 200, ".csv"),
    ],
)
def test_an_unknown_name_is_refused_with_near_ones(name: str, hint: str):
    with pytest.raises(Refused) as caught:
        pick(ANSWER, name)
    (fault,) = caught.value.faults
    assert (fault.at, fault.code) == (("field",), "unknown-name")
    assert hint in fault.detail
    assert len(fault.detail) < 300


def test_a_branch_is_refused_and_its_values_are_named():
    with pytest.raises(Refused) as caught:
        pick(ANSWER, "geometry.overall")
    (fault,) = caught.value.faults
    assert fault.code == "not-a-value"
    assert "geometry.overall.length_mm, geometry.overall.length_text" in fault.detail


def test_all_wrong_columns_are_named_at_once():
    with pytest.raises(Refused) as caught:
        to_csv(ANSWER, columns=["price.total", "price", "nothing", "geometry.square_in", "no.thing"])
    assert [fault.code for fault in caught.value.faults] == ["not-a-value", "unknown-name", "unknown-name"]
    assert {fault.at for fault in caught.value.faults} == {("columns",)}


def test_many_unknown_columns_are_refused_without_searching_for_each():
    big = {f"section_{n}": {f"value_{m}_mm": 1.0 for m in range(20)} for n in range(20)}
    with pytest.raises(Refused) as caught:
        to_csv(big, columns=["section_1.valeu_9_mm"] * 100)
    assert sum("Did you mean" in fault.detail for fault in caught.value.faults) == 5


# One value ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("449.00", "449.00"),
        (48.0, "48"),
        (22.4375, "22.4375"),
        (1e-7, "0.0000001"),
        (1.5e16, "15000000000000000"),
        (-0.0, "0"),
        (-3, "-3"),
        (True, "TRUE"),
        (False, "FALSE"),
        (None, ""),
        ("two\r\nlines\tand more", "two lines and more"),
    ],
)
def test_a_value_alone_is_bare_text(value: Any, text: str):
    assert to_text(value) == text


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_number_that_is_not_finite_never_leaves(value: float):
    with pytest.raises(ValueError, match="not finite"):
        to_text(value)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_reads_back_as_itself_and_has_no_exponent(value: float):
    text = to_text(value)
    assert float(text) == value
    assert re.fullmatch(r"-?\d+(\.\d+)?", text)


# One row --------------------------------------------------------------------------------------------------------------


def test_a_table_is_a_header_row_and_one_row_with_crlf():
    """RFC 4180, section 2, rules 1 and 3."""
    data = to_csv(ANSWER, columns=["price.total", "geometry.square_mm"])
    assert data == b"price.total,geometry.square_mm\r\n449.00,48\r\n"


def test_quotes_and_delimiters_inside_a_cell_are_quoted():
    """RFC 4180, section 2, rules 6 and 7."""
    assert to_csv({"a": 'say "b", then c'}) == b'a\r\n"say ""b"", then c"\r\n'


def test_all_columns_come_in_the_order_of_the_answer():
    header, values = rows(to_csv(ANSWER))
    assert header == list(flatten(ANSWER))
    assert len(values) == len(header)


def test_a_decimal_comma_is_in_numbers_and_money_alone():
    header, values = rows(to_csv(ANSWER, delimiter=";", decimal=","), ";")
    row = dict(zip(header, values, strict=True))
    assert row["price.total"] == "449,00"
    assert row["price.discount"] == "-12,50"
    assert row["geometry.overall.length_mm"] == "480,5"
    assert row["geometry.overall.length_text"] == "480.5 mm"
    assert row["schedule.ready_on"] == "2027-03-19"


def test_the_byte_order_mark_comes_once_and_only_when_asked_for():
    assert to_csv({"a": "é"}, bom=True) == b"\xef\xbb\xbfa\r\n\xc3\xa9\r\n"
    assert not to_csv({"a": "é"}).startswith(b"\xef\xbb\xbf")


def test_tab_separated_values_have_no_quotes_and_no_tabs_inside():
    data = to_csv({"a": 'one\ttwo "three"', "b": '"four"', "c": 5}, delimiter="\t")
    assert data == b'a\tb\tc\r\none two "three"\t\'"four"\t5\r\n'


texts = st.text(max_size=60) | st.text(st.sampled_from("=+-@ \t\r\n\xa0,;\"'1/5eE.:%Ja-nMar"), max_size=12)
scalars = texts | st.integers(-(10**12), 10**12) | st.floats(allow_nan=False, allow_infinity=False) | st.booleans()
keys = st.from_regex(r"[a-z]{1,6}(_(mm|kg|text))?", fullmatch=True)
trees = st.dictionaries(
    keys,
    st.recursive(
        scalars | st.none(),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=4),
        max_leaves=12,
    ),
    min_size=1,
    max_size=5,
)


@given(trees, st.sampled_from([(",", "."), (";", "."), (";", ","), ("\t", ","), ("\t", ".")]))
def test_every_answer_is_one_header_and_one_row_of_the_same_length(tree: dict[str, Any], signs: tuple[str, str]):
    delimiter, decimal = signs
    data = to_csv(tree, delimiter=delimiter, decimal=decimal)
    quoting = csv.QUOTE_NONE if delimiter == "\t" else csv.QUOTE_MINIMAL
    read = list(csv.reader(io.StringIO(data.decode(), newline=""), delimiter=delimiter, quoting=quoting))
    flat = flatten(tree)
    if not flat:
        assert read in ([], [[], []])
        return
    header, values = read
    assert header == list(flat)
    # One empty cell without quotes is an empty line, which the reader takes for no row at all.
    for cell, value in zip(values or [""], flat.values(), strict=True):
        if isinstance(value, str):
            # Nothing but apostrophes is added, and money takes the decimal sign.
            without = plain_line(value).replace("'", "")
            assert cell.replace("'", "") in (without, without.replace(".", decimal))
        elif isinstance(value, bool) or value is None:
            assert cell in ("TRUE", "FALSE", "")
        else:
            assert float(cell.replace(decimal, ".")) == value


# What a spreadsheet would misread -------------------------------------------------------------------------------------


def cell(text: str) -> str:
    return rows(to_csv({"a": text}))[1][0] if text else ""


# OWASP, "CSV Injection": a cell that begins with one of these may be run as a formula, full-width forms included.
OWASP_STARTS = ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"]
# Signs in front that programs skip.
UNSEEN = ["", " ", "  ", "\xa0", "\u3000", "\u200b", "\ufeff", "\t", "\r\n", " \xa0 "]


@pytest.mark.parametrize("start", OWASP_STARTS)
@pytest.mark.parametrize("before", UNSEEN)
def test_no_text_starts_a_formula(before: str, start: str):
    shown = cell(f"{before}{start}HYPERLINK(1)")
    # A tab or a line end has become a space, behind which nothing dangerous is left.
    assert shown.startswith("'") or shown.strip(" \xa0\u200b\ufeff\u3000") == "HYPERLINK(1)"
    assert not re.search(r"[\t\r\n]", shown)


@pytest.mark.parametrize("text", ["oak;=1+1", "oak,=1+1", "oak; \xa0@SUM(1)", "a;-2;+3"])
def test_no_formula_starts_where_another_region_would_cut_the_cell(text: str):
    """OWASP, "CSV Injection": separators inside a cell are to be taken care of as well."""
    for part in re.split("[;,]", cell(text))[1:]:
        assert part.strip().startswith("'")


@given(texts)
def test_a_text_is_a_plain_number_a_date_or_starts_no_formula(text: str):
    shown = to_csv({"a": text}, delimiter="\t").decode().split("\r\n")[1]
    assert not re.search(r"[\t\r\n]", shown)
    if not re.fullmatch(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?", shown):
        assert shown.lstrip()[:1] not in {*OWASP_STARTS, '"'}


@pytest.mark.parametrize(
    "text",
    [
        *("3/4", "2 1/4", "2-1/4", "4/4", "1⁄2", "1:1", "12:30", "7:05 pm", "8 AM"),
        *(
            "007",
            "00123",
            "1E5",
            "1e-5",
            "1.5E+3",
            ".5",
            "1,234",
            "1 000",
            "8%",
            "$5",
            "5 €",
            "(5)",
            "1234567890123456",
        ),
        *("3-4", "1.3.", "01.03.2027", "3/1/27", "2027/03/01", "2027-3-1", "27-03-01", "2027-03"),
        *("Mar 5", "5 March", "MARCH1", "1-Mar-27", "March 2027", "Sept. 5, 2027", "Sep 2027 12:30"),
        *("5. März 2027", "3 mai", "1 déc 27", "4 Okt"),
    ],
)
def test_a_text_that_looks_like_a_number_or_a_date_stays_a_text(text: str):
    assert cell(text) == f"'{text}"


@pytest.mark.parametrize(
    "text",
    [
        *("2027-03-01", "2027-03-01T08:00", "2027-03-01T08:00:00Z", "2027-03-01T08:00+01:00"),
        *("449.00", "-12.50", "0", "0.5", "8", "123456789012345"),
        *("sycamore_maple", "P120", "48 mm", "22 7/16 in", "3/4 in", "4-6 weeks", "set of 3", "may warp", "maple 8"),
        *("moosgrund", "EUR", "/frame/width", "1e", "strip-light", "#b08050"),
    ],
)
def test_a_plain_text_a_number_and_an_iso_date_stay_as_they_are(text: str):
    assert cell(text) == text


@pytest.mark.parametrize("text", ["1" + " " * 50_000 + "x", "1e" * 25_000, "jan" * 20_000, "; " * 30_000, "-" * 50_000])
def test_a_long_text_is_guarded_in_a_moment(text: str):
    """Each pattern takes a time that grows with the length alone; a quadratic one would take minutes."""
    assert len(cell(text)) >= len(text) - 1
