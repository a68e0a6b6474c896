"""What the contract says of texts is what the readers do: a client that checks first is never surprised."""

from collections.abc import Callable

import pytest
from contract.check import ecma, leaf_faults
from hypothesis import example, given, settings
from hypothesis import strategies as st

from chequerwork.api.openapi import contract as generated
from chequerwork.domain.basics.errors import BadQuantity
from chequerwork.quantities import MAX_CHARACTERS, MAX_DIGITS, parse_length, parse_temperature

SCHEMAS = generated()["components"]["schemas"]
# Refusals that no pattern can say: of numbers, not of letters.
OF_NUMBERS = {"zero-denominator", "improper-fraction", "out-of-range"}
KINDS: dict[str, tuple[str, Callable[[str], float]]] = {
    "Length": ("Length", parse_length),
    "Temperature": ("Temperature", parse_temperature),
}
few = settings(max_examples=150, derandomize=True, deadline=None)


def allowed(name: str, text: str) -> bool:
    schema = SCHEMAS[name]
    return len(text) <= schema["maxLength"] and ecma(schema["pattern"]).match(text) is not None


def refusal(name: str, text: str) -> str | None:
    try:
        KINDS[name][1](text)
    except BadQuantity as bad:
        return bad.code
    return None


# Design, section 4.1, and the traps of the reference notes.
LENGTHS = [
    "55 mm", "5.5 cm", "2 1/4 in", "2-1/4 in", '2.25"', "3/4 in", "48mm", "1 7/8in", "2.25in", ".5 in",
    "0.055 m", "1 ft",
    "1⁄2 in", "¾ in", "2¼ in", "2 ¼ in", "2\u00a01/4\u202fin", "2 IN", "7 inch", "7 Inches", "3″", "3”", "5/4 in",
    " 48 mm ", "1/64 ft", "12345678901234567890 mm",
]  # fmt: skip
NO_LENGTHS = [
    "", " ", "48", "mm", "m m", "in", "nan mm", "inf mm", "-3 in", "+3 in", "1,5 mm", "2,25 in", "1.2.3 in", "1e3 mm",
    "9**9**7 in", "9**9**9", "2.25 in + 3 mm", "2.25 in 3", "2 ft 3 in", "1 2/ 4 in", "1 / 2 in", "48 mm\n", "48\tmm",
    "٤٨ mm", "1_0 mm", "0x30 mm", "48 miles", "48 mil", "48 °C", "48 mm²", "½¼ in", "1/2/3 in", "48 k m", "5. in",
    "123456789012345678901 mm", " " * 37 + "4 mm", "4 mm\x00", "four mm", "$4 mm", "=4 mm",
]  # fmt: skip
TEMPERATURES = ["21 C", "70 °F", "21°C", "-0.5 C", "-5 C", "− 4 F", "20.5 degC", "68 DEGF", "70f", "0 c", "1/2 C"]
NO_TEMPERATURES = [
    "",
    "21",
    "21 K",
    "C",
    "--5 C",
    "+5 C",
    "5- C",
    "21,5 C",
    "1e1 C",
    "21 C\n",
    "21 mm",
    "21 ° C",
    "°C 21",
]


@pytest.mark.parametrize("text", LENGTHS)
def test_a_length_that_is_read_is_one_of_the_contract(text):
    assert allowed("Length", text)
    assert refusal("Length", text) in {None, "out-of-range"}


@pytest.mark.parametrize("text", NO_LENGTHS)
def test_what_is_no_length_is_none_of_the_contract(text):
    assert not allowed("Length", text)
    assert refusal("Length", text) not in {None} | OF_NUMBERS


@pytest.mark.parametrize("text", TEMPERATURES)
def test_a_temperature_that_is_read_is_one_of_the_contract(text):
    assert allowed("Temperature", text)
    assert refusal("Temperature", text) is None


@pytest.mark.parametrize("text", NO_TEMPERATURES)
def test_what_is_no_temperature_is_none_of_the_contract(text):
    assert not allowed("Temperature", text)
    assert refusal("Temperature", text) not in {None} | OF_NUMBERS


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize(
    ("text", "code"),
    [("1/0 {}", "zero-denominator"), ("1 5/4 {}", "improper-fraction"), ("999999999 {}", "out-of-range")],
)
def test_what_only_the_reader_can_refuse(name, text, code):
    """The documented difference between the contract's pattern and the grammar."""
    text = text.format("mm" if name == "Length" else "C")
    assert allowed(name, text)
    assert refusal(name, text) == code


@pytest.mark.parametrize("name", KINDS)
@few
@given(data=st.data())
def test_every_text_of_the_pattern_is_read(name, data):
    pattern = SCHEMAS[name]["pattern"]
    text = data.draw(st.from_regex(pattern[1:-1], fullmatch=True))
    if len(text) <= MAX_CHARACTERS:
        assert refusal(name, text) in {None} | OF_NUMBERS
    else:
        assert refusal(name, text) == "too-long"


PIECES = (
    "1", "48", "7/8", "1/2", ".5", "2.25", "¼", "/", "⁄", "-", "−", " ", "\u00a0", ".", ",", "mm", "in", '"', "ft",
    "cm", "m", "M", "°", "C", "f", "degC", "°F", "e3", "*", "+", "\n", "٣", "0",
    "9" * MAX_DIGITS, "9" * (MAX_DIGITS + 1),
)  # fmt: skip


@pytest.mark.parametrize("name", KINDS)
@few
@given(pieces=st.lists(st.sampled_from(PIECES), max_size=7))
@example(pieces=["2", " ", "1/2", "-", "in"])
@example(pieces=["1", "-", "1/2", "mm"])
def test_pattern_and_reader_agree_on_any_heap_of_pieces(name, pieces):
    """Both ways: what is read is of the pattern, and what is refused for its letters is not."""
    text = "".join(pieces)
    assert allowed(name, text) is (refusal(name, text) in {None} | OF_NUMBERS)


@few
@given(text=st.text(max_size=12))
def test_pattern_and_reader_agree_on_any_text(text):
    for name in KINDS:
        assert allowed(name, text) is (refusal(name, text) in {None} | OF_NUMBERS)


# Every field of an order that has a pattern or a list of words, with texts at the border of what it takes.
TEXTS = {
    "light": ["pear", "Pear_2", "x" * 60, "x" * 61, "", "-pear", "_pear", "pear wood", "pear\n", "pèar", "1"],
    "shop": ["moosgrund", "moos grund", "moosgrund\n"],
    "ship_to": ["NL", "nl", "NLD", "N", "", "NL\n", "ÄÖ"],
    "issued_on": ["2027-02-01", "2027-2-1", "20270201", "2027-W05-1", "2027-02-30", "1999-12-31", "2100-01-01",
                  "2027-02-01T00:00", "2027-02-01\n", "٢٠٢٧-02-01"],
    "pattern": ["turn", "shift", "Turn", "", "turn "],
    "units": ["metric", "imperial", "SI"],
    "columns": [2, 24, 8.0, 1, 25, 8.5, "8", True, 1e300, -8],
    "feet": [0, 4, 12, 13, -0.0, "4"],
    "quantity": [1, 40, 501, 0],
}  # fmt: skip
# Codes of a value that is not of its field's kind, as the contract has it.
OF_KIND = {"wrong-type", "unit-missing", "too-small", "too-large", "unknown-name", "no-such-day"}


@pytest.mark.parametrize(("field", "value"), [(field, value) for field, values in TEXTS.items() for value in values])
def test_the_service_refuses_for_its_kind_exactly_what_the_contract_refuses(client, contract, field, value):
    order = {"square": "48 mm", "light": "sycamore_maple", "dark": "pear", "starts_on": "2027-02-08", field: value}
    valid = not leaf_faults(contract.component("Order"), order)
    faults = client.post("/v1/geometry", json=order).get_json().get("errors", [])
    kind = {f["code"] for f in faults if f["pointer"] == f"/{field}"} & OF_KIND
    if valid and kind:
        # Of the right kind, but not something that this shop has: what only the shop can know.
        assert kind == {"unknown-name"}
        assert field in ("light", "shop", "ship_to")
    else:
        assert valid is not bool(kind)
