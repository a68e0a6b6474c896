"""Questions about accuracy, boards and pieces, frames and mass."""

from dataclasses import replace

from builders import a_frame, a_plan, altered, an_order, demo_shops, demo_tables, laid_out, reordered
from corner_steps import mismatches
from reference.answers.registry import checks_formulas

from chequerwork.domain.board.accuracy import mismatch_worst_mm
from chequerwork.domain.board.fit import fit, square_for
from chequerwork.domain.board.geometry import BasePanel, Rect, Seat, lap_over_mm, rails, sheet_mass_kg
from chequerwork.domain.order.order import Base, ChessPieces, DraughtsMan, Hold, Line, Pattern, Units

IN = 25.4
TABLES, MOOSGRUND, WILLET_SLOUGH = demo_tables(), demo_shops()["moosgrund"], demo_shops()["willet-slough"]


# Accuracy -------------------------------------------------------------------------------------------------------------


@checks_formulas()
def size_worst_mm(*, columns, tolerance_mm):
    shop = altered(MOOSGRUND, machines={"strip_tolerance_mm": tolerance_mm})
    return a_plan(shop, columns=columns).accuracy.size_worst_mm


@checks_formulas("accuracy.mismatch_worst_mm")
def worst_of_shift_and_turn_mm(*, columns, tolerance_mm):
    return [mismatch_worst_mm(pattern, columns, tolerance_mm) for pattern in (Pattern.SHIFT, Pattern.TURN)]


@checks_formulas()
def steps_of_two_settings_mm(*, pattern, columns, difference_mm):
    """Light strips half the difference too wide, dark ones half too narrow."""
    errors = [difference_mm / 2 * (-1) ** strip for strip in range(columns)]
    return list(mismatches(Pattern(pattern), errors))


# Boards and pieces ----------------------------------------------------------------------------------------------------


def a_border(width_mm):
    """A mitred frame, the field glued to it, of a width that no shop need make."""
    return replace(an_order(MOOSGRUND, frame=a_frame(hold=Hold.GLUED)).frame, width_mm=width_mm)


def geometry(**changes):
    return laid_out(reordered(an_order(MOOSGRUND), **changes), MOOSGRUND, TABLES)


def king(king_base_in, square_in):
    pieces = ChessPieces(king_base_mm=king_base_in * IN)
    return fit(square_in * IN, pieces, TABLES.fit_bands)


@checks_formulas()
def square_for_chess(**sizes):
    return square_for(ChessPieces(**sizes), Units.METRIC)


@checks_formulas("fit.fill_ratio")
def fill_ratio_of_king(**sizes):
    return king(**sizes).fill_ratio


@checks_formulas("fit.fill_ratio")
def stands_standard(**sizes):
    return king(**sizes).verdict == "standard"


@checks_formulas("fit.fill_ratio")
def stands_standard_mm(*, king_base_mm, square_mm):
    return stands_standard(king_base_in=king_base_mm / IN, square_in=square_mm / IN)


@checks_formulas("fit.fill_ratio")
def verdict_of_fill(*, ratio):
    return king(ratio * 2.0, 2.0).verdict


@checks_formulas()
def squares_for_man(*, man_mm):
    found = fit(an_order(MOOSGRUND).field.square_mm, DraughtsMan(man_mm=man_mm), TABLES.fit_bands)
    return [found.square_low_mm, found.square_high_mm]


@checks_formulas("order.field_side_mm")
def overall_width_mm(*, square_mm, frame_mm, columns=8, line_mm=0.0):
    lines = (Line(species="pear", width_mm=line_mm),) if line_mm else ()
    frame = a_border(frame_mm)
    return geometry(square_mm=square_mm, columns=columns, lines=lines, frame=frame).overall.width_mm


@checks_formulas("order.field_side_mm")
def field_width_mm(*, square_mm, columns):
    return geometry(square_mm=square_mm, columns=columns).field.width_mm


# Frames ---------------------------------------------------------------------------------------------------------------


def sticks(opening_mm, frame_mm):
    return rails(a_border(frame_mm), Rect(length_mm=opening_mm, width_mm=opening_mm))


@checks_formulas()
def long_point_mm(*, opening_mm, frame_mm):
    return sticks(opening_mm, frame_mm)[0].long_point_mm


@checks_formulas()
def sight_size_mm(*, panel_mm, clearance_mm, rebate_mm):
    """The opening of a field under a lip."""
    lap_mm = lap_over_mm(groove_mm=rebate_mm, clearance_mm=clearance_mm)
    seat = Seat(clearance_mm, rebate_mm, lap_mm)
    return laid_out(an_order(MOOSGRUND, square_mm=panel_mm / 8), MOOSGRUND, TABLES, seat=seat).opening.width_mm


@checks_formulas()
def published_frame_in(*, picture_in, rebate_in, board_in):
    opening_mm = sight_size_mm(panel_mm=picture_in * IN, clearance_mm=0, rebate_mm=rebate_in * IN)
    return sticks(opening_mm, board_in * IN)[0].long_point_mm / IN


@checks_formulas()
def stick_length_mm(*, opening_mm, frame_mm):
    return sum(rail.count * rail.long_point_mm for rail in sticks(opening_mm, frame_mm))


# Mass -----------------------------------------------------------------------------------------------------------------


@checks_formulas("shapes.mass_kg", "shapes.block_m3")
def mass_of_a_board_kg(*, light, dark, square_mm, thickness_mm):
    order = an_order(WILLET_SLOUGH, light=light, dark=dark)
    return laid_out(reordered(order, square_mm=square_mm, thickness_mm=thickness_mm), WILLET_SLOUGH, TABLES).mass_kg


@checks_formulas("shapes.mass_kg", "shapes.block_m3")
def dark_wood_kg(*, density_kg_m3, square_mm, thickness_mm):
    """Mass of a board whose light squares weigh nothing."""
    species = dict(TABLES.species)
    order = reordered(an_order(MOOSGRUND), square_mm=square_mm, thickness_mm=thickness_mm)
    species[order.field.light] = replace(species[order.field.light], density_kg_m3=0.0)
    species[order.field.dark] = replace(species[order.field.dark], density_kg_m3=density_kg_m3)
    return laid_out(order, MOOSGRUND, altered(TABLES, species=species)).mass_kg


@checks_formulas("shapes.mass_kg")
def base_kg(*, material, thickness_mm, length_mm, width_mm):
    """What a base of the size of a whole sheet adds to a board."""
    base = Base(material=material, thickness_mm=thickness_mm, inset_mm=0.0, skirt=None, backing=None)
    sheet = Rect(length_mm=length_mm, width_mm=width_mm)
    panel = BasePanel(panel=sheet, outside=sheet, volume_m3=length_mm * width_mm * thickness_mm * 1e-9)
    return sheet_mass_kg(base, panel, TABLES)
