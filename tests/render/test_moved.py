"""What moves a price, as lines of a page."""

from chequerwork.render.moved import moves_told
from chequerwork.render.page import WIDTH


def told(text, **changes):
    move = {"text": text, "now_text": "1950.00 CHF per m3", "then_text": "2145.00 CHF per m3", "asked": "2.57"}
    parts = [{"title": "Work", "share_pct": 60.0}, {"title": "Margin", "share_pct": 40.0}]
    return list(moves_told({"parts": parts, "moves": [{**move, "unit_gross": "2.60", **changes}], "left_out": []}))


def test_amounts_stand_under_one_another_and_a_unit_is_said_once():
    assert told("Wenge ten per cent dearer", asked="-12.57") == [
        "  Of the price without tax: work 60 %, margin 40 %.",
        "   asked  shown                                 what if",
        "  -12.57   2.60  1950.00 -> 2145.00 CHF per m3  Wenge ten per cent dearer",
    ]


def test_a_long_name_runs_on_below_itself():
    """The name stood first, and pushed the amounts beyond the page."""
    lines = told("Sycamore maple (European sycamore), from the far side of the long hill, ten per cent dearer")
    assert max(map(len, lines)) <= WIDTH
    assert lines[2].startswith("   2.57   2.60  1950.00 -> 2145.00 CHF per m3  Sycamore maple")
    assert lines[3].strip().endswith("ten per cent dearer")
