"""The rack of a shop file: read in millimetres and exact prices, left out in part or whole, refused with reasons."""

from decimal import Decimal

import pytest

from chequerwork.api.choices import choices
from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import Span
from chequerwork.shop.settings_table import MOST_ENTRIES

BOARDS = ("stock", "boards")
PEAR = {"id": "pear-1", "material": "pear", "length": "1 m", "width": "200 mm", "class": "4/4"}
MDF = {"id": "rest", "material": "mdf", "length": "1000 mm", "width": "600 mm", "thickness": "9 mm"}


@pytest.fixture
def board_of(load):
    """The one board of a shop whose rack holds nothing else."""

    def read(**given):
        (board,) = load({BOARDS: [{**PEAR, **given}]}).rack.boards
        return board

    return read


@pytest.fixture
def faults_in(faults_of):
    """Place below the boards, code and sentence of every fault of a rack."""
    return lambda *boards: [
        (fault.at[1:] if fault.at[1:3] != BOARDS else fault.at[3:], fault.code, fault.detail)
        for fault in faults_of({BOARDS: list(boards)})
    ]


def without(board, *names):
    return {name: value for name, value in board.items() if name not in names}


# What is read ---------------------------------------------------------------------------------------------------------


def test_a_shop_without_a_rack_has_an_empty_one_with_the_house_settings(load):
    rack = load({("stock",): ...}).rack
    assert rack.boards == ()
    kept = (rack.end_trim_mm, rack.keep_length_mm, rack.keep_width_mm, rack.keep_value_pct)
    assert kept == (25.0, 300.0, 60.0, Decimal(75))


def test_any_setting_of_the_rack_may_be_left_out_alone(load):
    rack = load({("stock",): {"keep_value": "60 %"}}).rack
    assert (rack.keep_value_pct, rack.keep_length_mm, rack.boards) == (Decimal("60.0"), 300.0, ())


@pytest.mark.parametrize("name", ["moosgrund", "willet-slough"])
def test_both_demo_racks_hold_long_short_faulty_and_sheet_boards(load, tables, name):
    shop = load(name=name)
    boards = shop.rack.boards
    assert 12 <= len(boards) <= 25
    assert set(shop.lumber) <= {board.species for board in boards}
    assert any(board.species not in tables.species for board in boards)
    assert any(board.defects for board in boards)
    assert min(board.length_mm for board in boards) < 800
    assert max(board.length_mm for board in boards) > 2400


def test_a_board_of_inches_and_a_class_is_read_exactly(load):
    board = next(board for board in load(name="willet-slough").rack.boards if board.id == "maple-2")
    assert (board.length_mm, board.width_mm, board.thickness_mm) == (2133.6, 209.55, 50.8)  # 7 ft, 8 1/4 in, 2 in
    assert (board.count, board.sawn, board.price) == (1, Grain.FLAT, None)
    assert board.defects == (Span(low_mm=762.0, high_mm=876.3),)


def test_a_board_says_little_and_the_rest_is_filled(board_of):
    board = board_of()
    assert (board.count, board.price, board.sawn, board.defects) == (1, None, None, ())
    assert board.thickness_mm == 25.4


def test_a_thickness_as_sawn_stands_for_a_class(board_of):
    assert board_of(**{"class": "5/4"}).thickness_mm == 31.75


def test_prices_by_volume_become_that_of_one_board(board_of):
    # 1 m x 0.2 m x 25.4 mm = 0.00508 m3. Of 1 in thickness, a board foot is 144 in2 = 92 903.04 mm2.
    assert board_of(price="21.50").price == Decimal("21.50")
    assert board_of(price_per_m3="2000").price == Decimal("10.16")
    assert board_of(price_per_board_foot="4").price == pytest.approx(Decimal(4) * 200_000 / Decimal("92903.04"))


def test_defects_may_touch_and_reach_both_ends(board_of):
    spans = [("0 mm", "40 mm"), ("40 mm", "80 mm"), ("900 mm", "1 m")]
    board = board_of(defects=[{"from": low, "to": high} for low, high in spans])
    assert [(span.low_mm, span.high_mm) for span in board.defects] == [(0, 40), (40, 80), (900, 1000)]


def test_defects_are_put_in_order(board_of):
    board = board_of(defects=[{"from": "700 mm", "to": "750 mm"}, {"from": "100 mm", "to": "150 mm"}])
    assert [span.low_mm for span in board.defects] == [100, 700]


def test_a_timber_of_no_list_needs_no_more_than_a_price(faults_in, load):
    teak = {**PEAR, "material": "teak"}
    assert [(at, code) for at, code, _ in faults_in(teak)] == [((0, "price"), "no-price")]
    assert load({BOARDS: [{**teak, "price": "30"}]}).rack.boards[0].price == Decimal(30)


def test_a_sheet_may_lie_either_way(load):
    board = load({BOARDS: [{**MDF, "length": "1220 mm", "width": "2440 mm"}]}).rack.boards[0]
    assert (board.length_mm, board.width_mm, board.thickness_mm) == (1220, 2440, 9)


def test_the_smallest_lot_is_a_volume(load):
    shop = load({("lumber", "wenge", "least_m3"): ..., ("lumber", "wenge", "least_board_feet"): 10})
    assert shop.lumber["wenge"].least_lot_m3 == pytest.approx(0.02359737216, rel=1e-12)  # 10 x 144 in3
    assert shop.lumber["pear"].least_lot_m3 == 0.01
    assert shop.lumber["european_oak"].least_lot_m3 == 0.0


# What is refused ------------------------------------------------------------------------------------------------------

DEFECT = {"from": "300 mm", "to": "350 mm"}
SLIPS = {
    "no id": (without(PEAR, "id"), (0, "id"), "missing", "id is missing"),
    "an id with spaces": ({**PEAR, "id": "Pear 1"}, (0, "id"), "bad-key", "'Pear 1'"),
    "no material": (without(PEAR, "material"), (0, "material"), "missing", "material is missing"),
    "a number for a material": ({**PEAR, "material": 7}, (0, "material"), "wrong-type", "timber or sheet"),
    "a timber by another name": ({**PEAR, "material": "birnbaum"}, (0, "material"), "unknown-name", "Write pear"),
    "a sheet misspelt": ({**MDF, "material": "hardbord"}, (0, "material"), "unknown-name", "Did you mean hardboard?"),
    "nothing known": ({**PEAR, "material": "qqqq"}, (0, "material"), "unknown-name", "Sheets are: birch_plywood,"),
    "a length of nothing": ({**PEAR, "length": "0 mm"}, (0, "length"), "out-of-range", "50 mm to 8000 mm"),
    "a width across": ({**PEAR, "width": "1400 mm"}, (0, "width"), "out-of-range", "up to 1000 mm wide"),
    "no thickness": (without(PEAR, "class"), (0, "thickness"), "missing", "thickness or class"),
    "two thicknesses": ({**PEAR, "thickness": "25 mm"}, (0, "class"), "conflict", "thickness and class"),
    "a class nobody saws": ({**PEAR, "class": "7/4"}, (0, "class"), "unknown-name", "lumber thickness named '7/4'"),
    "none of them": ({**PEAR, "count": 0}, (0, "count"), "out-of-range", "1 to 500"),
    "a million of them": ({**PEAR, "count": 10**6}, (0, "count"), "out-of-range", "1000000 is outside 1 to 500"),
    "two prices": ({**PEAR, "price": "9", "price_per_m3": "9"}, (0, "price_per_m3"), "conflict", "Keep one"),
    "a price below zero": ({**PEAR, "price": "-1"}, (0, "price"), "bad-money", "'-1'"),
    "sawn in a way of its own": ({**PEAR, "sawn": "rift"}, (0, "sawn"), "unknown-name", "'rift'"),
    "a defect that ends first": (
        {**PEAR, "defects": [DEFECT, {"from": "700 mm", "to": "700 mm"}]},
        (0, "defects", 1, "to"),
        "conflict",
        "from is 700 mm, to is 700 mm",
    ),
    "a defect beyond the board": (
        {**PEAR, "defects": [{"from": "900 mm", "to": "1010 mm"}]},
        (0, "defects", 0, "to"),
        "out-of-range",
        "to is 1010 mm, but the board is 1000 mm long",
    ),
    "defects that overlap": (
        {**PEAR, "defects": [{"from": "340 mm", "to": "500 mm"}, DEFECT]},
        (0, "defects"),
        "overlap",
        "300 mm to 350 mm and 340 mm to 500 mm overlap",
    ),
    "too many defects": (
        {**PEAR, "defects": [{"from": f"{40 * n} mm", "to": f"{40 * n + 9} mm"} for n in range(21)]},
        (0, "defects"),
        "wrong-count",
        "21 defects are given; give up to 20",
    ),
    "a class for a sheet": ({**without(MDF, "thickness"), "class": "4/4"}, (0, "class"), "conflict", "mdf is a sheet"),
    "a sheet sawn": ({**MDF, "sawn": "flat"}, (0, "sawn"), "conflict", "Remove it"),
    "a sheet nobody makes": ({**MDF, "thickness": "7.2 mm"}, (0, "thickness"), "unknown-sheet", "6 mm, 9 mm"),
    "a sheet larger than a sheet": ({**MDF, "width": "1230 mm", "length": "2440 mm"}, (0, "length"), "too-large",
        "2440 x 1230 mm is larger than a sheet, 2440 x 1220 mm"),
    "a sheet of no list": ({**MDF, "thickness": "18 mm"}, (0, "price"), "no-price", "mdf of 18 mm"),
    "a setting nobody knows": ({**PEAR, "grade": "A"}, (0, "grade"), "unknown-setting", "'grade'"),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_one_slip_in_a_board_gives_exactly_its_fault(name, faults_in):
    board, at, code, words = SLIPS[name]
    ((found, found_code, detail),) = faults_in(board)
    assert (found, found_code) == (at, code), detail
    assert words in detail


def test_two_boards_of_one_id_are_named(faults_in):
    ((at, code, detail),) = faults_in(PEAR, MDF, {**PEAR, "width": "90 mm"})
    assert (at, code) == ((2, "id"), "duplicate")
    assert "already names board no. 1" in detail


@pytest.mark.parametrize(
    ("setting", "value", "words"),
    [
        ("end_trim", "4 m", "0 mm to 300 mm"),
        ("keep_length", "0 mm", "50 mm to 5000 mm"),
        ("keep_width", "0 mm", "10 mm to 1000 mm"),
        ("keep_value", "101 %", "0 % to 100 %"),
    ],
)
def test_a_setting_of_the_rack_keeps_its_limits(setting, value, words, faults_of):
    (fault,) = faults_of({("stock", setting): value})
    assert fault.at == ("shop.toml", "stock", setting)
    assert words in fault.detail


def test_a_smallest_lot_below_nothing_is_refused(faults_of):
    (fault,) = faults_of({("lumber", "pear", "least_m3"): -1})
    assert (fault.at[1:], fault.code) == (("lumber", "pear", "least_m3"), "out-of-range")


def test_defects_without_an_end_are_not_compared(faults_in):
    found = faults_in({**PEAR, "defects": [{"from": "2 mm"}, {"from": "2 mm"}, {"to": "9 mm"}, "2 mm to 9 mm"]})
    places = [((0, "defects", 0, "to"), "missing"), ((0, "defects", 1, "to"), "missing")]
    places += [((0, "defects", 2, "from"), "missing"), ((0, "defects", 3), "wrong-type")]
    assert sorted((at, code) for at, code, _ in found) == sorted(places)


def test_every_fault_of_a_rack_is_named_at_once(faults_in):
    wrong = {**PEAR, "id": "", "length": "1", "class": "9/4", "sawn": "rift", "defects": [{"from": "2 mm"}]}
    found = {(at, code) for at, code, _ in faults_in(wrong, {**MDF, "price": 1.5})}
    assert found == {
        ((0, "id"), "bad-text"),
        ((0, "length"), "unit-missing"),
        ((0, "class"), "unknown-name"),
        ((0, "sawn"), "unknown-name"),
        ((0, "defects", 0, "to"), "missing"),
        ((1, "price"), "float-money"),
    }


@pytest.mark.parametrize("count", [MOST_ENTRIES, MOST_ENTRIES + 1])
def test_a_rack_has_up_to_400_entries(count, faults_in):
    found = faults_in(*({**PEAR, "id": f"p{number}"} for number in range(count)))
    assert [code for _, code, _ in found] == ([] if count <= 400 else ["wrong-count"])


# Who sees it ----------------------------------------------------------------------------------------------------------


def test_the_choices_of_a_shop_do_not_tell_its_rack(load, tables):
    with_rack, without_rack = load(), load({("stock",): ...})
    assert with_rack.rack.boards
    assert choices(with_rack, tables, {}) == choices(without_rack, tables, {})
