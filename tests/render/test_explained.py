"""Explanations as lines of plain text."""

from chequerwork.render.explained import formulas_told, steps_told
from chequerwork.render.page import WIDTH

STEP = {
    "formula": "emc_pct",
    "title": "Moisture content of wood",
    "expression": "f(temperature_c, rh_pct)",
    "at": "/movement/emc_low_pct",
    "part": None,
    "inputs": {"temperature_c": 21.0, "rh_pct": 30},
    "result": 6.187654321,
    "unit": "%",
    "sources": ["WH21-4", "MEM"],
}


def told(**changes):
    return " ".join(" ".join(steps_told([{**STEP, **changes}])[1:]).split())


def test_a_step_is_a_sentence_with_its_number_inputs_and_sources():
    assert told() == (
        "emc_low_pct = 6.18765 %: moisture content of wood, from temperature_c 21, rh_pct 30; WH21-4, MEM"
    )


def test_a_part_stands_in_brackets_behind_its_place():
    assert told(part="the driest season").startswith("emc_low_pct (the driest season) = ")
    assert told(at="/cutting/parts/0/rough/length_mm").startswith("parts.0.rough.length_mm = ")


def test_numbers_are_written_without_exponent_and_words_as_words():
    assert told(result=0.0000123456789).startswith("emc_low_pct = 0.0000123457 %")
    assert told(inputs={"parts": [1.5, 2], "pattern": "turn", "price": "12.50"}).partition("from ")[2] == (
        "parts [1.5, 2], pattern turn, price 12.50; WH21-4, MEM"
    )
    assert told(result=True, unit="yes or no").startswith("emc_low_pct = yes: ")
    assert told(result=0.77, unit="ratio").startswith("emc_low_pct = 0.77: ")


def test_no_line_is_too_long_and_nothing_is_said_of_nothing():
    long = {f"a_long_name_{number}": 1.0 for number in range(30)}
    assert max(map(len, steps_told([{**STEP, "inputs": long}]))) <= WIDTH
    assert steps_told([]) == []
    assert formulas_told({}) == []


def test_each_formula_is_told_once():
    other = {**STEP, "title": "Sum", "expression": "sum(parts)"}
    lines = formulas_told({"movement": [STEP, STEP], "price": [other]})
    assert [line.strip() for line in lines] == [
        "Moisture content of wood = f(temperature_c, rh_pct)",
        "Sum = sum(parts)",
    ]
