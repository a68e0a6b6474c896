"""Boards and pieces against the federations' figures, frames against the framers', mass against the Handbook's way."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from builders import a_frame, altered, an_order, published

from chequerwork.domain.fit import fit, square_for
from chequerwork.domain.geometry import BasePanel, Rect, Seat, grow, lay_out, rails, sheet_mass_kg
from chequerwork.domain.order import Base, ChessPieces, DraughtsMan, Hold, Line, Units

IN = 25.4


def sticks(opening_mm, frame_mm):
    return rails(a_frame(width_mm=frame_mm), Rect(length_mm=opening_mm, width_mm=opening_mm))


def sight_size_mm(*, panel_mm, clearance_mm, rebate_mm):
    return grow(Rect(length_mm=panel_mm, width_mm=panel_mm), clearance_mm - rebate_mm).width_mm


def published_frame_in(*, picture_in, rebate_in, board_in):
    opening_mm = sight_size_mm(panel_mm=picture_in * IN, clearance_mm=0, rebate_mm=rebate_in * IN)
    return sticks(opening_mm, board_in * IN)[0].long_point_mm / IN


@pytest.fixture(scope="module")
def functions(tables, moosgrund, willet_slough):
    def geometry(**changes):
        order = replace(an_order(moosgrund), **changes)
        return lay_out(order, moosgrund, tables)

    def king(king_base_in, square_in):
        pieces = ChessPieces(king_base_mm=king_base_in * IN)
        order = replace(an_order(moosgrund), square_mm=square_in * IN, pieces=pieces)
        return fit(order, tables.fit_bands)

    def man(man_mm):
        found = fit(replace(an_order(moosgrund), pieces=DraughtsMan(man_mm=man_mm)), tables.fit_bands)
        return [found.square_low_mm, found.square_high_mm]

    def overall_width_mm(*, square_mm, frame_mm, columns=8, line_mm=0.0):
        lines = (Line(species="pear", width_mm=line_mm),) if line_mm else ()
        frame = a_frame(hold=Hold.GLUED, width_mm=frame_mm)
        return geometry(square_mm=square_mm, columns=columns, lines=lines, frame=frame).overall.width_mm

    def mass_kg(*, light, dark, square_mm, thickness_mm):
        order = an_order(willet_slough, light=light, dark=dark)
        order = replace(order, square_mm=square_mm, thickness_mm=thickness_mm)
        return lay_out(order, willet_slough, tables).mass_kg

    def dark_wood_kg(*, density_kg_m3, square_mm, thickness_mm):
        """Mass of a board whose light squares weigh nothing."""
        species = dict(tables.species)
        order = replace(an_order(moosgrund), square_mm=square_mm, thickness_mm=thickness_mm)
        species[order.light] = replace(species[order.light], density_kg_m3=0.0)
        species[order.dark] = replace(species[order.dark], density_kg_m3=density_kg_m3)
        return lay_out(order, moosgrund, altered(tables, species=species)).mass_kg

    def base_kg(*, material, thickness_mm, length_mm, width_mm):
        """What a base of the size of a whole sheet adds to a board."""
        order = replace(an_order(moosgrund), base=Base(material=material, thickness_mm=thickness_mm))
        sheet = Rect(length_mm=length_mm, width_mm=width_mm)
        panel = BasePanel(panel=sheet, outside=sheet, volume_m3=length_mm * width_mm * thickness_mm * 1e-9)
        return sheet_mass_kg(order.base, panel, tables)

    return {
        "square_for_chess": lambda **sizes: square_for(ChessPieces(**sizes), Units.METRIC),
        "fill_ratio_of_king": lambda **sizes: king(**sizes).fill_ratio,
        "stands_standard": lambda **sizes: king(**sizes).verdict == "standard",
        "squares_for_man": man,
        "overall_width_mm": overall_width_mm,
        "field_width_mm": lambda *, square_mm, columns: geometry(square_mm=square_mm, columns=columns).field.width_mm,
        "long_point_mm": lambda *, opening_mm, frame_mm: sticks(opening_mm, frame_mm)[0].long_point_mm,
        "sight_size_mm": sight_size_mm,
        "published_frame_in": published_frame_in,
        "stick_length_mm": lambda *, opening_mm, frame_mm: sum(
            rail.count * rail.long_point_mm for rail in sticks(opening_mm, frame_mm)
        ),
        "mass_kg": mass_kg,
        "dark_wood_kg": dark_wood_kg,
        "base_kg": base_kg,
    }


@pytest.mark.parametrize("row", published("geometry"))
def test_published_figure(functions, row):
    assert functions[row.function](**row.inputs) == row.expected, row.note


# Fit --------------------------------------------------------------------------------------------------------------


@pytest.fixture
def chess_fit(tables, moosgrund):
    def found(king_base_mm, square_mm):
        pieces = ChessPieces(king_base_mm=king_base_mm)
        return fit(replace(an_order(moosgrund), square_mm=square_mm, pieces=pieces), tables.fit_bands)

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
    order = replace(an_order(moosgrund), game="draughts-8", square_mm=50.0)
    assert lay_out(order, moosgrund, tables).advice == ()


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


# Frame ------------------------------------------------------------------------------------------------------------


def test_our_frame_hides_nothing_of_the_edge_squares(tables, moosgrund):
    """TRADE-FRAME, example F01 to F03, where a lip hides 7.9 mm of every edge square.

    Ours holds the field by a tongue below the surface: the opening is the panel with its clearance, so the long point
    is the published one plus twice the lip, 543.0 + 2 x 9.5, and every edge square shows whole.
    """
    order = an_order(moosgrund, square_mm=57.15, frame=a_frame(width_mm=50.8))
    geometry = lay_out(order, moosgrund, tables, seat=Seat(1.6, 9.5))
    assert geometry.rails[0].long_point_mm == pytest.approx(543.0 + 2 * 9.5)
    assert geometry.opening.width_mm - geometry.field.width_mm == pytest.approx(2 * 1.6)


def test_density_at_12_percent_is_1120_times_its_gravity(tables):
    """WOOD-NOTES section 8: hard maple 0.63 gives 706, black walnut 0.55 gives 616 kg/m3."""
    assert tables.species["hard_maple"].density_kg_m3 == pytest.approx(1120 * 0.63, abs=0.5)
    assert tables.species["black_walnut"].density_kg_m3 == pytest.approx(1120 * 0.55, abs=0.5)


def test_mass_is_given_with_ten_percent(tables, moosgrund):
    """Wood Handbook ch. 4, from memory: species' densities have a coefficient of variation of about 10 %."""
    geometry = lay_out(an_order(moosgrund), moosgrund, tables)
    assert geometry.mass_half_range_kg == pytest.approx(0.10 * geometry.mass_kg)
