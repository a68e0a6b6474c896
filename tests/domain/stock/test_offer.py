"""What a stock plan may take: boards of the rack at their worth, the saw, and boards to pick at the merchant's.

Prices are worked by hand beside each check. Steps, counts of sizes and the worth of leftovers are the house's own.
"""

from decimal import Decimal

import pytest
from builders import altered, demo_tables

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.basics.shop import RackBoard, Span
from chequerwork.domain.stock.boards import NM, Defect, Origin, Piece, to_mm
from chequerwork.domain.stock.offer import least_lot_m3, offered, rack_boards, saw_of


def a_rack_board(**changes):
    given = {"id": "b", "species": "pear", "length_mm": 1000.0, "width_mm": 200.0, "thickness_mm": 50.8, "count": 1}
    return RackBoard(**{**given, "price": None, "sawn": None, "defects": (), **changes})


def racked(shop, **changes):
    """The one board of a rack that holds nothing else."""
    (board,) = rack_boards(altered(shop, rack={"boards": (a_rack_board(**changes),)}), demo_tables())
    return board


def a_piece(**changes):
    given = {"id": "p", "species": "pear", "length_nm": 500 * NM, "width_nm": 50 * NM, "thickness_nm": 24 * NM}
    return Piece(**{**given, "count": 4, **changes})


def sizes(boards):
    return [(to_mm(board.length_nm), to_mm(board.width_nm)) for board in boards]


# The rack -------------------------------------------------------------------------------------------------------------


def test_a_board_keeps_its_own_price(moosgrund):
    assert racked(moosgrund, price=Decimal("12.50")).price == Decimal("12.50")


def test_a_board_without_a_price_is_worth_what_the_shop_pays_by_volume(moosgrund):
    # 1 m x 0.2 m x 50.8 mm = 0.01016 m3 of pear at 3650: 37.084.
    assert racked(moosgrund).price == Decimal("37.084")


def test_a_price_by_the_board_foot_leaves_no_tail(willet_slough):
    # 7 ft x 8 1/4 in of 2 in: 7 x 8.25 x 2 / 12 = 9.625 board feet of hard maple at 8.40: 80.85.
    board = racked(willet_slough, species="hard_maple", length_mm=2133.6, width_mm=209.55)
    assert board.price == Decimal("80.85")


def test_a_piece_of_a_sheet_is_worth_its_share_of_the_face(moosgrund):
    # 1220 x 610 of 2440 x 1220 is a quarter; a sheet of 9 mm costs 27.80.
    board = racked(moosgrund, species="mdf", length_mm=1220.0, width_mm=610.0, thickness_mm=9.0)
    assert (board.price, board.sheet, board.thickness_nm) == (Decimal("6.95"), True, 9 * NM)


def test_a_board_arrives_in_whole_nanometres_with_its_defects(willet_slough):
    boards = {board.id: board for board in rack_boards(willet_slough, demo_tables())}
    assert list(boards) == [board.id for board in willet_slough.rack.boards]
    maple = boards["maple-2"]
    # 30 in to 34 1/2 in.
    assert maple.defects == (Defect(from_nm=762_000_000, to_nm=876_300_000),)
    assert (maple.length_nm, maple.width_nm, maple.thickness_nm) == (2_133_600_000, 209_550_000, 50_800_000)
    assert (maple.count, maple.sawn, maple.sheet, maple.origin) == (1, Grain.FLAT, False, Origin.STOCK)


@pytest.mark.parametrize("name", ["moosgrund", "willet_slough"])
def test_every_board_of_the_demo_racks_costs_something(name, request):
    assert all(board.price > 0 for board in rack_boards(request.getfixturevalue(name), demo_tables()))


def test_the_saw_is_the_shops_own(moosgrund):
    saw = saw_of(moosgrund)
    assert (saw.kerf_rip_nm, saw.kerf_crosscut_nm) == (2_800_000, 3_200_000)
    assert (saw.end_trim_nm, saw.edge_jointing_nm, saw.flattening_nm) == (25_000_000, 1_200_000, 0)
    assert saw.band_nm == 260_000_000
    assert saw.min_length_nm == 300_000_000  # of the surface planer; the thicknesser takes 220 mm
    assert (saw.keep_length_nm, saw.keep_width_nm) == (300_000_000, 60_000_000)
    assert saw.keep_share == Decimal("0.9")


# The offer ------------------------------------------------------------------------------------------------------------


def test_a_metric_offer_is_in_whole_hundreds_and_tens_inside_the_usual_sizes(moosgrund):
    shop = altered(
        moosgrund,
        lumber={
            **moosgrund.lumber,
            "pear": altered(
                moosgrund.lumber["pear"],
                board_length=Span(low_mm=910.0, high_mm=1390.0),
                board_width=Span(low_mm=91.0, high_mm=119.0),
                classes=("4/4",),
            ),
        },
    )
    boards = offered(shop, demo_tables(), [a_piece()])
    assert sizes(boards) == [(length, width) for length in (1000, 1100, 1200, 1300) for width in (100, 110)]
    assert boards[0].id == "buy-pear-4/4-1000x100"
    # 1 m x 0.1 m x 25.4 mm = 0.00254 m3 at 3650.
    assert boards[0].price == Decimal("9.271")
    assert {(board.origin, board.sawn, board.sheet, board.defects) for board in boards} == {
        (Origin.OFFER, None, False, ())
    }


def test_of_many_sizes_five_each_way_are_offered_with_both_ends(moosgrund):
    boards = [board for board in offered(moosgrund, demo_tables(), [a_piece()]) if board.thickness_nm == 25_400_000]
    # Pear: 900 to 2200 mm, 90 to 220 mm.
    lengths, widths = zip(*sizes(boards), strict=True)
    assert len(boards) == 25
    assert sorted(set(lengths)) == [900, 1200, 1500, 1800, 2200]
    assert sorted(set(widths)) == [90, 120, 150, 180, 220]


def test_an_imperial_offer_is_in_feet_and_half_inches(willet_slough):
    boards = offered(willet_slough, demo_tables(), [a_piece(species="black_cherry", thickness_nm=45 * NM)])
    # 6 to 10 ft, 4 1/2 to 9 in, and only 8/4 is 45 mm thick.
    assert boards[0].id == "buy-black_cherry-8/4-6ftx4.5in"
    assert boards[-1].id == "buy-black_cherry-8/4-10ftx9in"
    assert len(boards) == 25
    # 6 ft x 4 1/2 in of 2 in: 4.5 board feet at 9.10.
    assert boards[0].price == Decimal("40.95")
    assert all(board.length_nm % 304_800_000 == 0 and board.width_nm % 12_700_000 == 0 for board in boards)


def test_every_class_thick_enough_for_some_piece_is_offered(moosgrund):
    pieces = [a_piece(thickness_nm=60 * NM), a_piece(id="thin", thickness_nm=25_400_001)]
    classes = {board.thickness_nm for board in offered(moosgrund, demo_tables(), pieces)}
    assert classes == {38_100_000, 50_800_000}  # pear is bought in 4/4, 6/4 and 8/4
    exact = {board.thickness_nm for board in offered(moosgrund, demo_tables(), [a_piece(thickness_nm=25_400_000)])}
    assert min(exact) == 25_400_000


def test_nothing_is_offered_for_what_no_class_gives_or_the_shop_does_not_buy(moosgrund):
    pieces = [a_piece(thickness_nm=51 * NM), a_piece(species="teak"), a_piece(species="hardboard")]
    assert offered(moosgrund, demo_tables(), pieces) == ()


def test_a_usual_size_between_two_steps_is_offered_as_it_is(moosgrund):
    narrow = altered(moosgrund.lumber["pear"], board_length=Span(low_mm=930.0, high_mm=980.0), classes=("4/4",))
    shop = altered(moosgrund, lumber={**moosgrund.lumber, "pear": narrow})
    assert {length for length, _ in sizes(offered(shop, demo_tables(), [a_piece()]))} == {980}


def test_boards_are_enough_for_all_pieces_of_their_wood(moosgrund):
    pieces = [a_piece(), a_piece(id="q", count=7), a_piece(id="r", species="wenge", count=3)]
    counts = {(board.species, board.count) for board in offered(moosgrund, demo_tables(), pieces)}
    assert counts == {("pear", 11), ("wenge", 3)}


def test_a_sheet_is_offered_whole_at_its_own_price_in_the_thickness_wanted(moosgrund):
    (board,) = offered(moosgrund, demo_tables(), [a_piece(species="mdf", thickness_nm=9 * NM, turns=True)])
    assert (board.id, board.price, board.sheet) == ("buy-mdf-9mm-2440x1220", Decimal("27.80"), True)
    assert (board.length_nm, board.width_nm, board.thickness_nm) == (2440 * NM, 1220 * NM, 9 * NM)


def test_ids_of_an_offer_differ(moosgrund, willet_slough):
    for shop in (moosgrund, willet_slough):
        pieces = [a_piece(species=species) for species in shop.lumber]
        ids = [board.id for board in offered(shop, demo_tables(), pieces)]
        assert len(ids) == len(set(ids)) > 100


def test_a_smallest_lot_is_that_of_the_wood(willet_slough):
    # 5 board feet of 144 in3.
    assert least_lot_m3(willet_slough, "purpleheart") == pytest.approx(0.01179868608, rel=1e-12)
    assert least_lot_m3(willet_slough, "hard_maple") == 0.0
    assert least_lot_m3(willet_slough, "teak") == 0.0
