"""Boards and pieces against the federations' figures, frames against the framers', mass against the Handbook's way."""

import math
from fractions import Fraction

import pytest
from builders import a_frame, an_order, laid_out, reordered

from chequerwork.domain.board.fit import fit, square_for
from chequerwork.domain.board.geometry import Seat
from chequerwork.domain.order.order import ChessPieces, DraughtsMan, Units

IN = 25.4


# Fit ------------------------------------------------------------------------------------------------------------------


@pytest.fixture
def chess_fit(tables):
    def found(king_base_mm, square_mm):
        pieces = ChessPieces(king_base_mm=king_base_mm)
        return fit(square_mm, pieces, tables.fit_bands)

    return found


@pytest.mark.parametrize(
    ("king_base_mm", "exact_mm"), [(38.0, 48.7), (47.5, 60.9)], ids=["40 % of 95 mm", "50 % of 95 mm"]
)
def test_square_of_the_federation_king_is_its_base_over_0_78(chess_fit, king_base_mm, exact_mm):
    """FIDE22 art. 2.3, 2.4 (S01): base 38.0 to 47.5 mm. BOARD-STD section 2: 48.7 to 60.9 mm by 0.78, up to 0.5 mm."""
    square_mm = square_for(ChessPieces(king_base_mm=king_base_mm), Units.METRIC)
    assert exact_mm - 0.05 <= square_mm <= exact_mm + 0.55
    assert chess_fit(king_base_mm, square_mm).verdict == "standard"


def test_chess_is_played_on_50_to_60_mm(tables):
    """FIDE-SEC; the king's rule gives almost the same range."""
    chess = tables.games["chess"]
    assert (chess.columns, chess.rows, chess.square_low_mm, chess.square_high_mm) == (8, 8, 50, 60)


@pytest.mark.parametrize(("game", "side"), [("chess", 8), ("draughts-8", 8), ("draughts-10", 10), ("draughts-12", 12)])
def test_sides_of_the_boards(tables, game, side):
    """FIDE22; WCDF-OLD; FMJD Annex 1 art. 2; DRAUGHTS-12."""
    assert (tables.games[game].columns, tables.games[game].rows) == (side, side)


def test_fifty_millimetres_suit_both_texts_of_the_draughts_federation(tables, moosgrund):
    """WCDF-NEW 45 to 50 mm, WCDF-OLD 47.6 to 54.0 mm: no advice on a square of 50."""
    order = reordered(an_order(moosgrund), game="draughts-8", square_mm=50.0)
    assert laid_out(order, moosgrund, tables).advice == ()


def test_fill_ratio_is_diameter_over_side_not_a_share_of_area(chess_fit):
    """BOARD-STD section 2, the 78 % trap (S11): a base as wide as its square covers pi / 4 = 78.5 % of it."""
    found = chess_fit(50.0, 50.0)
    assert found.fill_ratio == 1.0
    assert found.verdict == "crowded"
    assert math.pi / 4 * found.fill_ratio**2 == pytest.approx(0.785398, abs=5e-7)


@pytest.mark.parametrize(
    ("base_in", "low_in", "high_in"),
    [(1.5, 1.9231, 2.0481), (1.75, 2.2436, 2.3686)],
    ids=["S07, 1.5 in base", "S08, 1.75 in base"],
)
def test_our_square_lies_in_the_window_of_the_old_rule(chess_fit, base_in, low_in, high_in):
    """Rule 41C, 4th edition, as quoted (BOARD-STD section 2): base over 0.78, or up to 1/8 in larger."""
    square_in = square_for(ChessPieces(king_base_mm=base_in * IN), Units.IMPERIAL) / IN
    assert low_in - 5e-5 <= square_in <= high_in
    assert Fraction(square_in).limit_denominator(1000).denominator in (1, 2, 4, 8, 16)
    assert chess_fit(base_in * IN, low_in * IN).fill_ratio == pytest.approx(0.78, abs=5e-5)


@pytest.mark.parametrize("man_mm", [32.0, 35.0, 38.0, 45.0])
def test_square_of_a_man_is_five_to_seven_millimetres_wider(man_mm):
    """DRAUGHTS-PRACTICE: man plus 5 to 7 mm; FMJD sets none."""
    assert 5 <= square_for(DraughtsMan(man_mm=man_mm), Units.METRIC) - man_mm <= 7


# Frame ----------------------------------------------------------------------------------------------------------------


def test_our_frame_hides_nothing_of_the_edge_squares(tables, moosgrund):
    """TRADE-FRAME, example F01 to F03, where a lip hides 7.9 mm of every edge square.

    Ours holds the field by a tongue below the surface: the opening is the panel with its clearance, so the long point
    is the published one plus twice the lip, 543.0 + 2 x 9.5, and every edge square shows whole.
    """
    order = an_order(moosgrund, square_mm=57.15, frame=a_frame(width_mm=50.8))
    geometry = laid_out(order, moosgrund, tables, seat=Seat(1.6, 9.5))
    assert geometry.rails[0].long_point_mm == pytest.approx(543.0 + 2 * 9.5)
    assert geometry.opening.width_mm - geometry.field.width_mm == pytest.approx(2 * 1.6)


def test_density_at_12_percent_is_1120_times_its_gravity(tables):
    """WOOD-NOTES section 8: hard maple 0.63 gives 706, black walnut 0.55 gives 616 kg/m3."""
    assert tables.species["hard_maple"].density_kg_m3 == pytest.approx(1120 * 0.63, abs=0.5)
    assert tables.species["black_walnut"].density_kg_m3 == pytest.approx(1120 * 0.55, abs=0.5)


def test_mass_is_given_with_ten_percent(tables, moosgrund):
    """Wood Handbook ch. 4, from memory: species' densities have a coefficient of variation of about 10 %."""
    geometry = laid_out(an_order(moosgrund), moosgrund, tables)
    assert geometry.mass_half_range_kg == pytest.approx(0.10 * geometry.mass_kg)
