"""What a request for a stock plan gives: faults with their places, prices, sizes and habits in whole nanometres."""

from dataclasses import replace
from decimal import Decimal

import pytest

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.board.shapes import block_m3
from chequerwork.domain.stock.boards import NM, Defect
from chequerwork.domain.stock.offer import saw_of
from chequerwork.domain.stock.request import (
    MOST_BOARDS,
    MOST_PIECES,
    MOST_SEARCHED,
    BoardRequest,
    DefectRequest,
    Lie,
    PartRequest,
    SawRequest,
    board_faults,
    boards_at_hand,
    part_faults,
    pieces,
    with_habits,
)

D = Decimal
PART = PartRequest(id="a", species="pear", length_mm=400.0, width_mm=40.0, thickness_mm=20.0)
BOARD = BoardRequest(id="b", species="pear", length_mm=2000.0, width_mm=160.0, quarters="4/4")


def of_parts(shop, tables, *parts):
    return {fault.at: fault.code for fault in part_faults(parts, shop, tables)}


def of_boards(shop, tables, *boards):
    return {fault.at: fault.code for fault in board_faults(boards, shop, tables)}


def test_what_is_sound_has_no_fault(moosgrund, tables):
    assert of_parts(moosgrund, tables, PART, replace(PART, id="c", species="mdf")) == {}
    mdf = replace(BOARD, id="c", species="mdf", sheet=True, thickness_mm=9.0, quarters=None)
    assert of_boards(moosgrund, tables, BOARD, mdf) == {}


def test_a_wood_or_sheet_that_the_shop_does_not_buy_needs_a_price(moosgrund, tables):
    """A sheet may be told by a class too: 1 in of mdf is none that the shop buys."""
    for wish in (
        replace(BOARD, species="teak"),
        replace(BOARD, species="mdf", sheet=True),
        replace(BOARD, species="mdf", sheet=True, thickness_mm=25.4, quarters=None),
        replace(BOARD, species="hardboard", sheet=True, thickness_mm=3.2, quarters=None),
    ):
        assert of_boards(moosgrund, tables, wish) == {("boards", 0, "price"): "price-needed"}
        assert of_boards(moosgrund, tables, replace(wish, price=D(3))) == {}


def test_what_was_refused_before_is_not_told_again(moosgrund, tables):
    assert of_parts(moosgrund, tables, PartRequest(unread=frozenset({"id", "species"}))) == {}
    assert of_boards(moosgrund, tables, BoardRequest()) == {}
    teak = replace(BOARD, species="teak", unread=frozenset({"price"}))
    assert of_boards(moosgrund, tables, teak) == {}


def test_every_id_stands_once_in_its_list(moosgrund, tables):
    assert of_parts(moosgrund, tables, PART, PART, PART) == {
        ("parts", 1, "id"): "duplicate-id",
        ("parts", 2, "id"): "duplicate-id",
    }
    assert of_boards(moosgrund, tables, BOARD, BOARD) == {("boards", 1, "id"): "duplicate-id"}


def test_a_sheet_material_is_named_as_a_sheet(moosgrund, tables):
    assert of_boards(moosgrund, tables, replace(BOARD, species="mdf")) == {("boards", 0, "species"): "conflict"}


def test_only_as_many_unknown_names_are_searched_as_are_told(moosgrund, tables):
    parts = [replace(PART, id=f"n{n}", species=f"wodd{n}") for n in range(3 * MOST_SEARCHED)]
    faults = list(part_faults(parts, moosgrund, tables))
    assert [fault.at for fault in faults] == [("parts", n, "species") for n in range(len(parts))]
    assert {fault.code for fault in faults} == {"unknown-name"}
    same = [replace(PART, id=f"n{n}", species="walnut") for n in range(3 * MOST_SEARCHED)]
    assert {fault.code for fault in part_faults(same, moosgrund, tables)} == {"ambiguous-name"}


def test_the_sum_of_a_list_has_its_own_limit(moosgrund, tables):
    assert of_parts(moosgrund, tables, replace(PART, count=MOST_PIECES)) == {}
    assert of_parts(moosgrund, tables, replace(PART, count=MOST_PIECES + 1)) == {("parts",): "too-many"}
    assert of_boards(moosgrund, tables, replace(BOARD, count=MOST_BOARDS)) == {}
    assert of_boards(moosgrund, tables, replace(BOARD, count=MOST_BOARDS + 1)) == {("boards",): "too-many"}


# Prices ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "price"),
    [
        ({"price": D("31.50")}, D("31.50")),
        ({"price": D(0)}, D(0)),
        ({"price_per_m3": D(2000)}, D("16.256")),
    ],
)
def test_a_price_that_is_given_is_taken_exactly(moosgrund, tables, given, price):
    (board,) = boards_at_hand([replace(BOARD, **given)], moosgrund, tables)
    assert board.price == price


def test_a_board_foot_is_144_cubic_inches(moosgrund, tables):
    """AHEC: 12 in x 12 in x 1 in. A board of 96 x 6 x 1 in has four."""
    wish = replace(BOARD, length_mm=96 * 25.4, width_mm=6 * 25.4, price_per_board_foot=D("11.20"))
    (board,) = boards_at_hand([wish], moosgrund, tables)
    assert board.price == 4 * D("11.20")


def test_without_a_price_the_shops_own_stands(moosgrund, tables):
    wood, sheet = (
        BOARD,
        BoardRequest(id="s", species="mdf", length_mm=1220.0, width_mm=1220.0, thickness_mm=9.0, sheet=True),
    )
    bought, cut = boards_at_hand([wood, sheet], moosgrund, tables)
    assert bought.price == pytest.approx(moosgrund.lumber["pear"].price_m3 * D(f"{block_m3(1, 2000, 160, 25.4):.9f}"))
    stock, known = moosgrund.sheet_stock("mdf", 9.0), tables.sheet("mdf", 9.0)
    share = D(1220 * 1220) / D(known.length_mm * known.width_mm)
    assert cut.price == stock.price * share


# What the planner takes -----------------------------------------------------------------------------------------------


def test_sizes_become_whole_nanometres(moosgrund, tables):
    """A 64th of an inch is 396 875 nm."""
    (piece,) = pieces([replace(PART, width_mm=25.4 / 64, count=3, grain=Lie.ANY, sawn=Grain.QUARTER)])
    assert (piece.width_nm, piece.length_nm, piece.count) == (396_875, 400 * NM, 3)
    assert piece.turns
    assert piece.sawn is Grain.QUARTER
    wish = replace(BOARD, quarters="5/4", defects=[DefectRequest(from_mm=10.5, to_mm=20.25)])
    (board,) = boards_at_hand([wish], moosgrund, tables)
    assert board.thickness_nm == 31_750_000
    assert board.defects == (Defect(from_nm=10_500_000, to_nm=20_250_000),)


def test_habits_that_are_given_stand_in_place_of_the_shops(moosgrund):
    own = saw_of(moosgrund)
    assert with_habits(own, SawRequest()) == own
    changed = with_habits(own, SawRequest(kerf_rip_mm=2.8, end_trim_mm=0.0, keep_value_pct=62.5))
    assert changed == replace(own, kerf_rip_nm=2_800_000, end_trim_nm=0, keep_share=D("0.625"))
