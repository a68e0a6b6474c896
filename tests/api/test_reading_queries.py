"""Queries read strictly: every refusal, and nothing but refusals, for any query."""

import time
from typing import Any
from urllib.parse import quote

import pytest
from flask import Flask, request
from hypothesis import given
from hypothesis import strategies as st
from werkzeug.datastructures import MultiDict
from werkzeug.test import EnvironBuilder

from chequerwork.api import stock_plan
from chequerwork.api.presentation import Presentation, read_presentation
from chequerwork.api.problems import Problem
from chequerwork.api.reading import read_args, read_query
from chequerwork.domain.basics.errors import Fault
from chequerwork.ops.limits import (
    MAX_LIST_ITEMS,
    MAX_PARAMETERS,
    MAX_QUERY_BYTES,
    MAX_STRING_CHARS,
)

# Queries --------------------------------------------------------------------------------------------------------------

SHAPE = {
    "shop": "text",
    "columns": "int",
    "rows": "int",
    "square": "text",
    "pieces.king_base": "text",
    "lines": "lines",
    "frame.width": "text",
    "frame.species": "text",
    "base.skirt.width": "text",
    "climate.low_rh": "number",
}
# What each form takes of a query, and what holds where nothing is asked.
FORMS = {suffix: (form.takes, form.plain) for suffix, form in stock_plan.FORMS.items()}


def args_of(query: bytes | str) -> MultiDict[str, str]:
    raw = query if isinstance(query, bytes) else query.encode()
    environ = EnvironBuilder("/").get_environ()
    environ["QUERY_STRING"] = raw.decode("latin-1")
    with Flask(__name__).request_context(environ):
        return read_args(request)


def read(query: str) -> tuple[dict[str, Any], list[Fault]]:
    return read_query(args_of(query), shape=SHAPE)


def fault_of(query: str) -> tuple[tuple[str | int, ...], str, str]:
    tree, faults = read(query)
    (fault,) = faults
    assert fault.at[0] not in tree
    return fault.at, fault.code, fault.detail


def test_a_flat_query_is_the_nested_order():
    tree, faults = read(
        "columns=10&square=1+7/8+in&frame.width=45mm&frame.species=pear&base.skirt.width=1%201/2in"
        "&climate.low_rh=35.5&lines=hard_maple:3mm;wenge:2+mm&refresh=17"
    )
    assert faults == []
    assert tree == {
        "columns": 10,
        "square": "1 7/8 in",
        "frame": {"width": "45mm", "species": "pear"},
        "base": {"skirt": {"width": "1 1/2in"}},
        "climate": {"low_rh": 35.5},
        "lines": [{"species": "hard_maple", "width": "3mm"}, {"species": "wenge", "width": "2 mm"}],
    }


def test_an_empty_query_is_an_empty_order():
    assert read("") == ({}, [])


def test_escapes_in_any_case_are_the_same():
    """RFC 3986, section 6.2.2.1; a spreadsheet re-cases them."""
    assert read("square=2%2b1&shop=%C3%A9") == read("square=2%2B1&shop=%c3%a9") == ({"square": "2+1", "shop": "é"}, [])


@pytest.mark.parametrize("value", ["8.0", "8.5", "+8", " 8", "8 ", "1e1", "0x8", "eight", "--8", "1234567", "٨", "8,0"])
def test_a_whole_number_has_digits_alone(value: str):
    at, code, detail = fault_of(f"columns={quote(value)}")
    assert (at, code) == (("columns",), "wrong-type")
    assert repr(value) in detail


@pytest.mark.parametrize("value", ["35,5", "1e2", ".5", "35.", "+35", "nan", "inf", "35 %", f"1.{21 * '1'}", "٣٥"])
def test_a_number_has_digits_and_a_point(value: str):
    at, code, _ = fault_of(f"climate.low_rh={quote(value)}")
    assert (at, code) == (("climate", "low_rh"), "wrong-type")


@pytest.mark.parametrize(("text", "number"), [("-8", -8), ("008", 8), ("999999", 999_999), ("-0", 0)])
def test_whole_numbers_are_read(text: str, number: int):
    assert read(f"columns={text}") == ({"columns": number}, [])


@pytest.mark.parametrize("value", ["", "%20", "+", "%C2%A0", "%09"])
@pytest.mark.parametrize("name", ["columns", "square", "lines", "climate.low_rh"])
def test_a_parameter_without_a_value_is_a_fault(name: str, value: str):
    at, code, _ = fault_of(f"{name}={value}")
    assert (at, code) == (tuple(name.split(".")), "blank")


def test_a_parameter_given_twice_is_a_fault_even_with_the_same_value():
    at, code, detail = fault_of("frame.width=45mm&frame.width=45mm")
    assert (at, code) == (("frame", "width"), "repeated")
    assert "2 times" in detail


@pytest.mark.parametrize("value", ["a%00b", "a%0Ab", "a%1Bb", "%7Fa", "a%C2%85", "a%E2%80%A8"])
def test_control_characters_are_a_fault(value: str):
    assert fault_of(f"square={value}")[1] == "bad-character"


def test_a_text_has_a_longest_length():
    assert fault_of("square=" + "x" * (MAX_STRING_CHARS + 1))[1] == "too-long"
    assert read("square=" + "x" * MAX_STRING_CHARS)[1] == []


@pytest.mark.parametrize(
    "value", ["wenge", "wenge:", ":3mm", "wenge:3mm;", ";wenge:3mm", "a:1mm;;b:2mm", "a:b:3mm", ";"]
)
def test_a_list_of_lines_has_a_species_and_a_width_each(value: str):
    at, code, detail = fault_of(f"lines={value}")
    assert (at, code) == (("lines",), "bad-list")
    assert "hard_maple:3mm;wenge:2mm" in detail


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("collumns", "columns"),
        ("Columns", "columns"),
        ("frame.widht", "frame.width"),
        ("frame", "frame.width, frame.species"),
        ("base.skirt", "base.skirt.width"),
        ("base", "base.skirt.width"),
        ("delimiter", ".csv or .tsv"),
        ("field", ".txt"),
        ("key", "/docs"),
        ("api_key", "/docs"),
        ("access_token", "/docs"),
        ("", "/docs"),
        (".", "/docs"),
        ("frame..width", "frame.width"),
    ],
)
def test_an_unknown_parameter_is_a_fault_with_what_may_have_been_meant(name: str, hint: str):
    at, code, detail = fault_of(f"{name}=x")
    assert (at, code) == ((name,), "unknown-field")
    assert hint in detail


def test_a_key_in_the_query_is_refused_and_not_repeated():
    _, _, detail = fault_of("key=demo-maker-secret")
    assert "secret" not in detail


def test_all_faults_are_told_at_once_and_the_sound_fields_are_kept():
    tree, faults = read("columns=x&square=48mm&colour=red&frame.width=&frame.species=pear&rows=8&rows=8")
    assert tree == {"square": "48mm", "frame": {"species": "pear"}}
    assert [(".".join(map(str, f.at)), f.code) for f in faults] == [
        ("columns", "wrong-type"),
        ("colour", "unknown-field"),
        ("frame.width", "blank"),
        ("rows", "repeated"),
    ]


def test_too_many_parameters_are_not_looked_at():
    query = "&".join(f"parameter_{n}=1" for n in range(MAX_PARAMETERS + 1))
    tree, (fault,) = read(query)
    assert (tree, fault.code, fault.at) == ({}, "too-many", ())


def test_a_query_full_of_unknown_names_is_answered_at_once():
    query = "&".join(f"frame.widht{n}=1" for n in range(MAX_PARAMETERS))
    started = time.process_time()
    _, faults = read(query)
    assert time.process_time() - started < 0.5
    assert len(faults) == MAX_PARAMETERS


@pytest.mark.parametrize(
    ("query", "code"),
    [
        (b"square=%", "bad-escape"),
        (b"square=19%&rows=8", "bad-escape"),
        (b"square=%zz", "bad-escape"),
        (b"square=%u0041", "bad-escape"),
        (b"square=%FF", "not-utf-8"),
        (b"square=%C0%AF", "not-utf-8"),
        (b"square=%ED%A0%80", "not-utf-8"),
        (b"%FF=1", "not-utf-8"),
        (b"square=\xe9", "not-ascii"),
        ("square=é".encode(), "not-ascii"),
    ],
)
def test_a_query_that_cannot_be_decoded_is_refused_as_a_whole(query: bytes, code: str):
    """RFC 3986, section 2.1."""
    with pytest.raises(Problem) as caught:
        args_of(query)
    assert (caught.value.status, caught.value.in_query) == (400, True)
    assert caught.value.errors[0].code == code


def test_a_query_has_a_longest_length():
    args_of(b"square=" + b"x" * (MAX_QUERY_BYTES - 7))
    with pytest.raises(Problem) as caught:
        args_of(b"square=" + b"x" * (MAX_QUERY_BYTES - 6))
    assert caught.value.status == 414


queryish = st.text(st.sampled_from("columns=8&frame.width%2B0;:,+delimiter"), max_size=60).map(str.encode)


@given(
    st.binary(max_size=60) | queryish | st.text(max_size=30).map(str.encode),
    st.sampled_from([None, "csv", "tsv", "txt", "svg"]),
)
def test_any_query_is_read_or_refused(query: bytes, sibling: str | None):
    try:
        args: MultiDict[str, str] | Problem = args_of(query)
    except Problem as problem:
        args = problem
    if isinstance(args, Problem):
        assert args.status == 400
        return
    presentation, rest, faults = read_presentation(args, *FORMS[sibling])
    tree, more = read_query(rest, shape=SHAPE)
    assert isinstance(presentation, Presentation)
    assert isinstance(tree, dict)
    # Everything given is read or told.
    assert tree or faults or more or presentation != Presentation() or set(args) <= {"refresh"} or sibling == "tsv"


# Presentation ---------------------------------------------------------------------------------------------------------


def shown(query: str, sibling: str | None = "csv") -> tuple[Presentation, dict[str, list[str]], list[tuple[str, str]]]:
    presentation, rest, faults = read_presentation(args_of(query), *FORMS[sibling])
    return presentation, rest.to_dict(flat=False), [(str(fault.at[0]), fault.code) for fault in faults]


def test_a_table_is_rfc_4180_unless_asked_otherwise():
    assert shown("square=48mm") == (Presentation(), {"square": ["48mm"]}, [])
    assert Presentation() == Presentation(delimiter=",", decimal=".", bom=False, columns=(), field=None)


def test_tab_separated_values_have_tabs():
    assert shown("", "tsv")[0].delimiter == "\t"
    assert shown("decimal=,", "tsv") == (Presentation(delimiter="\t", decimal=","), {}, [])
    assert shown("delimiter=tab", "tsv")[2] == []
    assert shown("delimiter=;", "tsv")[2] == [("delimiter", "conflict")]


def test_everything_can_be_chosen():
    presentation, rest, faults = shown("delimiter=;&decimal=,&bom=1&errors=inline&columns=price.total&light=pear")
    assert faults == []
    assert rest == {"light": ["pear"]}
    assert presentation == Presentation(
        columns=("price.total",), delimiter=";", decimal=",", bom=True, errors_inline=True
    )


def test_columns_as_a_number_are_the_boards_and_as_names_pick_from_the_answer():
    presentation, rest, faults = shown("columns=10&columns=price.total;geometry.square_in,packing.mass_kg")
    assert presentation.columns == ("price.total", "geometry.square_in", "packing.mass_kg")
    assert (rest, faults) == ({"columns": ["10"]}, [])
    assert read_query(MultiDict(rest), shape=SHAPE) == ({"columns": 10}, [])


@pytest.mark.parametrize("value", ["8.5", "-8", "", "8;10", "8,10"])
def test_columns_without_a_letter_are_meant_to_be_the_boards(value: str):
    presentation, rest, faults = shown(f"columns={value}")
    assert (presentation, rest, faults) == (Presentation(), {"columns": [value]}, [])


def test_columns_are_given_once_of_each():
    assert shown("columns=a.b&columns=c.d")[2] == [("columns", "repeated")]
    presentation, rest, faults = shown("columns=8&columns=9&columns=a.b")
    assert (presentation.columns, rest, faults) == (("a.b",), {"columns": ["8", "9"]}, [])
    assert read_query(MultiDict(rest), shape=SHAPE)[1][0].code == "repeated"


@pytest.mark.parametrize("sibling", [None, "txt", "svg"])
def test_elsewhere_columns_are_always_the_boards(sibling: str | None):
    assert shown("columns=8", sibling)[1] == {"columns": ["8"]}


@pytest.mark.parametrize(
    ("query", "fault"),
    [
        ("columns=a.b;;c", ("columns", "bad-list")),
        ("columns=a.b;", ("columns", "bad-list")),
        ("columns=" + ";".join(["a"] * (MAX_LIST_ITEMS + 1)), ("columns", "too-many")),
        ("delimiter=%09", ("delimiter", "blank")),
        ("delimiter=%7C", ("delimiter", "unknown-name")),
        ("delimiter=TAB", ("delimiter", "unknown-name")),
        ("decimal=comma", ("decimal", "unknown-name")),
        ("decimal=,", ("decimal", "conflict")),
        ("decimal=,&delimiter=,", ("decimal", "conflict")),
        ("bom=yes", ("bom", "unknown-name")),
        ("bom=1&bom=1", ("bom", "repeated")),
        ("errors=text", ("errors", "unknown-name")),
        ("errors=", ("errors", "blank")),
    ],
)
def test_a_wrong_choice_is_a_fault(query: str, fault: tuple[str, str]):
    assert shown(query)[2] == [fault]


def test_a_decimal_comma_beside_commas_is_a_fault_with_its_remedy():
    _, _, (fault,) = read_presentation(args_of("decimal=,"), *FORMS["csv"])
    assert "delimiter=;" in fault.detail


def test_a_text_shows_one_field():
    assert shown("field=price.total&errors=inline", "txt") == (
        Presentation(field="price.total", errors_inline=True),
        {},
        [],
    )
    assert shown("field=a&field=b", "txt")[2] == [("field", "repeated")]
    assert shown("field=", "txt")[2] == [("field", "blank")]


@pytest.mark.parametrize(("name", "sibling"), [("field", "csv"), ("delimiter", "txt"), ("bom", None), ("errors", None)])
def test_a_choice_that_belongs_elsewhere_is_an_unknown_parameter(name: str, sibling: str | None):
    presentation, rest, faults = read_presentation(args_of(f"{name}=1"), *FORMS[sibling])
    assert (presentation, faults) == (Presentation(), [])
    (fault,) = read_query(rest, shape=SHAPE)[1]
    assert fault.code == "unknown-field"
    assert "It belongs to paths that end in" in fault.detail
