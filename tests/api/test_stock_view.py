"""Cuts in words, of boards that were laid out by hand."""

import pytest
from hand_layouts import PIECES, PLAIN, SAW, SHEET, THICK, WIDE

from chequerwork.api.stock_view import cuts
from chequerwork.domain.stock.replay import replay


def told(layout, units="metric"):
    return [cut["text"] for cut in cuts(replay(layout, PIECES, SAW), units)]


def test_a_board_is_told_cut_by_cut():
    assert told(PLAIN) == [
        "Crosscut the board at 17 mm from its near end: offcut end comes off, from-20 remains.",
        "Crosscut from-20 at 1203 mm from its near end: A comes off, leftover kept remains.",
        "Joint the near edge of A: 3 mm off.",
        "Rip A at 45 mm from its near edge: A1 comes off, A-2 remains.",
        "Rip A-2 at 45 mm from its near edge: A2 comes off, offcut A-3 remains.",
        "Crosscut A1 at 600 mm from its near end: part rail (A1a) comes off, part rail (A1b) remains.",
        "Crosscut A2 at 600 mm from its near end: part rail (A2a) comes off, part rail (A2b) remains.",
    ]


def test_a_sheet_is_called_one():
    assert told(SHEET)[0] == "Rip the sheet at 400 mm from its near edge: A comes off, B remains."


def test_a_resawn_piece_tells_how_many_it_gives():
    assert told(THICK)[-1] == "Resaw part slat (A2b) through its thickness into 2 of 22 mm: part slat (A2b)."


def test_inches_are_told_as_inches():
    assert told(WIDE, "imperial")[0].startswith("Crosscut the board at 21/32 in from its near end")


@pytest.mark.parametrize("layout", [PLAIN, SHEET, THICK, WIDE])
def test_numbers_of_a_cut_are_those_of_the_layout(layout):
    shown = cuts(replay(layout, PIECES, SAW), "metric")
    assert [cut["step"] for cut in shown] == list(range(1, len(layout.cuts) + 1))
    assert [(cut["on"], cut["gives"], cut["rest"]) for cut in shown] == [
        (cut.on, cut.gives, cut.rest) for cut in layout.cuts
    ]
    assert [cut["at_mm"] * 1_000_000 for cut in shown] == [cut.at_nm for cut in layout.cuts]
