"""A whole answer as a page of plain text."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chequerwork.render.page import WIDTH
from chequerwork.render.text import to_page


def test_sections_labels_and_values_stand_in_two_columns():
    page = to_page({"geometry": {"square_mm": 48.0, "columns": 8, "mass_kg": 3.41}}, "Geometry of a board")
    assert page.splitlines() == [
        "Geometry of a board",
        "===================",
        "",
        "Geometry",
        "--------",
        "square   48 mm",
        "columns  8",
        "mass     3.41 kg",
    ]
    assert page.endswith("kg\n")


def test_words_are_shown_instead_of_the_number_they_say():
    page = to_page({"field": {"width_mm": 476.25, "width_text": "18 3/4 in", "width_low_mm": 470.0}}, "Field")
    assert "width      18 3/4 in" in page
    assert "476.25" not in page
    assert "width low  470 mm" in page


def test_words_of_an_amount_do_not_stand_for_a_rate_of_like_name():
    page = to_page({"price": {"tax_pct": 9.0, "tax": "387.42", "tax_text": "CHF 387,42"}}, "Price")
    assert "tax pct  9 %" in page
    assert "tax      CHF 387,42" in page
    assert "387.42" not in page


def test_a_list_of_records_is_a_table_with_numbers_to_the_right():
    rails = [
        {"side": "length", "count": 2, "rough": {"length_mm": 512.0}, "species": "pear"},
        {"side": "width", "count": 12, "rough": {"length_mm": 49.5}, "species": "wenge"},
    ]
    assert to_page({"frame": {"rails": rails}}, "Frame").splitlines()[5:] == [
        "rails",
        "  side    count  rough length  species",
        "  length      2        512 mm  pear",
        "  width      12       49.5 mm  wenge",
    ]


def test_a_long_text_in_a_table_is_wrapped_in_its_column():
    text = "The corners of this frame will open a little in a dry winter and close again in summer. " * 2
    lines = to_page({"advice": [{"code": "thin-rail", "text": text.strip()}]}, "Advice").splitlines()
    assert lines[5] == "code       text"
    assert lines[6].startswith("thin-rail  The corners")
    assert lines[7].startswith("           ")
    assert " ".join(" ".join(line[11:] for line in lines[6:]).split()) == text.strip()


def test_a_table_too_wide_for_the_page_becomes_one_block_for_each_record():
    record = {f"quantity_{n}": "x" * 12 for n in range(9)}
    lines = to_page({"rows": [record, record]}, "Wide").splitlines()
    assert lines.count("quantity 0  xxxxxxxxxxxx") == 2


def test_missing_empty_and_plain_lists_are_shown_in_one_line():
    page = to_page({"a": {"none": None, "empty": [], "some": ["rip", "plane"], "yes": True}}, "A")
    assert page.splitlines()[5:] == ["none   -", "empty  -", "some   rip, plane", "yes    yes"]


def test_values_outside_any_section_come_first():
    assert to_page({"part": {"a": 1}, "id": "q-7"}, "Q").splitlines()[3:5] == ["id  q-7", ""]


keys = st.from_regex(r"[a-z]{1,8}(_(mm|kg|text|pct))?", fullmatch=True)
trees = st.dictionaries(
    keys,
    st.recursive(
        st.text(max_size=200)
        | st.integers()
        | st.floats(allow_nan=False, allow_infinity=False)
        | st.none()
        | st.booleans(),
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(keys, inner, max_size=6),
        max_leaves=20,
    ),
    max_size=5,
)


@pytest.mark.slow("random answers")
@given(trees, st.text(max_size=200))
def test_any_answer_gives_lines_that_fit_and_hold_no_control_characters(tree: dict[str, Any], title: str):
    page = to_page(tree, title)
    lines = page.split("\n")
    assert max(map(len, lines)) <= WIDTH
    assert not any(character < " " for line in lines for character in line)
    assert page == to_page(tree, title)
