"""Strips, crosscuts and parts, worked out by hand from the shop's settings; machine limits as advice."""

import pytest
from builders import a_frame, a_plan, altered, reordered

from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.making.cutting import Block, Role, length_needed_mm, rip_width_mm
from chequerwork.domain.order.order import Hold, Joint, Line, Pattern, Skirt
from chequerwork.domain.order.request import BackingRequest, BaseRequest

LINES = (Line(species="pear", width_mm=3.0), Line(species="wenge", width_mm=2.0))
BARE = {"spare": 0, "dressing_mm": 0.0, "squaring_mm": 0.0, "ends_mm": 0.0}


# Crosscuts ------------------------------------------------------------------------------------------------------------


def test_kerf_is_charged_once_per_cut():
    needed = [length_needed_mm(squares=n, square_mm=50.0, kerf_mm=3.0, **BARE) for n in (1, 2, 8)]
    assert needed == [53.0, 106.0, 424.0]


def test_a_spare_bar_costs_its_width_its_dressing_and_a_kerf():
    given = {"squares": 8, "square_mm": 50.0, "kerf_mm": 3.0, "dressing_mm": 0.5, "squaring_mm": 0, "ends_mm": 0}
    assert length_needed_mm(spare=2, **given) - length_needed_mm(spare=0, **given) == pytest.approx(2 * 53.5)


def test_jointing_is_taken_off_both_edges_of_a_board_to_rip():
    given = {"strips": 4, "width_mm": 50.0, "kerf_mm": 3.0}
    assert rip_width_mm(jointing_mm=1.5, **given) - rip_width_mm(jointing_mm=0.0, **given) == 3.0


def test_length_needed_counts_squares_kerfs_spare_dressing_squaring_and_ends(moosgrund):
    """(8 + 1) x (48 + 0.4 + 3.2) + 12 + 30 = 506.4, cut to the next 5 mm."""
    crosscuts = a_plan(moosgrund).cutting.crosscuts
    assert (crosscuts.count, crosscuts.cuts, crosscuts.spare_bars) == (8, 9, 1)
    assert (crosscuts.width_mm, crosscuts.kerf_mm) == (48.4, 3.2)
    assert crosscuts.length_needed_mm == pytest.approx(506.4)
    assert crosscuts.length_allowed_mm == 510.0
    assert crosscuts.spare_mm == pytest.approx(3.6)


def test_bars_are_counted_by_rows_and_strips_by_columns(moosgrund):
    cutting = a_plan(moosgrund, columns=6, rows=10).cutting
    assert cutting.crosscuts.count == 10
    assert sum(strip.count for strip in cutting.strips) == 6


def test_an_imperial_shop_cuts_strips_to_a_quarter_inch(willet_slough):
    """(8 + 1) x (2 in + 1/8) + 5/8 + 1 1/2 = 21 1/4 in exactly, so nothing is spare."""
    crosscuts = a_plan(willet_slough, square_mm=50.8).cutting.crosscuts
    assert crosscuts.length_needed_mm / 25.4 == pytest.approx(21.25)
    assert crosscuts.length_allowed_mm / 25.4 == pytest.approx(21.25)
    assert crosscuts.spare_mm == pytest.approx(0, abs=1e-9)


def test_end_bars_are_wider_by_the_tongue_they_carry(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame())
    bare, tongue_mm = a_plan(moosgrund).cutting.crosscuts, plan.geometry.seat.tongue_mm
    crosscuts = plan.cutting.crosscuts
    assert tongue_mm >= 6
    assert crosscuts.end_width_mm == pytest.approx(crosscuts.width_mm + tongue_mm)
    # The spare bar can stand in for an end bar.
    assert crosscuts.length_needed_mm == pytest.approx(bare.length_needed_mm + (2 + crosscuts.spare_bars) * tongue_mm)


def test_without_a_tongue_end_bars_are_like_the_others(moosgrund):
    crosscuts = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED)).cutting.crosscuts
    assert crosscuts.end_width_mm == crosscuts.width_mm


# Strips ---------------------------------------------------------------------------------------------------------------


def strips(plan):
    return [(strip.species, strip.count, strip.width_mm) for strip in plan.cutting.strips]


def test_turning_needs_one_strip_per_column(moosgrund):
    assert strips(a_plan(moosgrund)) == [("sycamore_maple", 4, 48.0), ("european_walnut", 4, 48.0)]


def test_shifting_needs_one_strip_more_and_trims_a_square_of_overhang(moosgrund):
    plan = a_plan(moosgrund, pattern=Pattern.SHIFT)
    assert strips(plan) == [("sycamore_maple", 5, 48.0), ("european_walnut", 4, 48.0)]
    assert plan.cutting.overhang_mm == 48.0
    assert a_plan(moosgrund).cutting.overhang_mm == 0.0


def test_odd_columns_shifted_need_as_many_of_each_timber(moosgrund):
    assert strips(a_plan(moosgrund, columns=9)) == [("sycamore_maple", 5, 48.0), ("european_walnut", 5, 48.0)]


def test_a_tongue_is_on_the_outer_strips_one_of_each_timber_when_turned(moosgrund):
    """Eight strips begin light and end dark."""
    plan = a_plan(moosgrund, frame=a_frame())
    wide_mm = 48.0 + plan.geometry.seat.tongue_mm
    assert strips(plan) == [
        ("sycamore_maple", 3, 48.0),
        ("sycamore_maple", 1, wide_mm),
        ("european_walnut", 3, 48.0),
        ("european_walnut", 1, wide_mm),
    ]


def test_a_tongue_is_on_two_light_strips_when_an_even_field_is_shifted(moosgrund):
    """Nine strips begin and end light."""
    plan = a_plan(moosgrund, frame=a_frame(), pattern=Pattern.SHIFT)
    wide_mm = 48.0 + plan.geometry.seat.tongue_mm
    assert strips(plan) == [
        ("sycamore_maple", 3, 48.0),
        ("sycamore_maple", 2, wide_mm),
        ("european_walnut", 4, 48.0),
    ]


def test_two_columns_turned_are_outer_strips_only(moosgrund):
    plan = a_plan(moosgrund, columns=2, frame=a_frame())
    assert [count for _, count, _ in strips(plan)] == [1, 1]
    assert all(width_mm > 48.0 for _, _, width_mm in strips(plan))


def test_with_lines_the_outermost_line_carries_the_tongue_instead(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame(), lines=LINES)
    tongue_mm = plan.geometry.seat.tongue_mm
    assert {width_mm for _, _, width_mm in strips(plan)} == {48.0}
    widths = {part.id: part.final.width_mm for part in plan.cutting.parts if part.role is Role.LINE}
    assert widths["L1a"] == widths["L1b"] == 3.0
    assert widths["L2a"] == widths["L2b"] == pytest.approx(2.0 + tongue_mm)


def test_the_panel_is_all_strips_side_by_side(moosgrund):
    """Once flattened, the second flattening still to come."""
    cutting = a_plan(moosgrund, pattern=Pattern.SHIFT).cutting
    assert (cutting.panel.length_mm, cutting.panel.width_mm) == (510.0, 9 * 48.0)
    assert cutting.panel_thickness_mm == pytest.approx(18.8)


# Parts ----------------------------------------------------------------------------------------------------------------


def parts(plan):
    return {part.id: part for part in plan.cutting.parts}


def test_strips_are_thicker_by_two_flattenings_and_rough_by_two_faces(moosgrund):
    """Final 18 + 2 x 0.8; rough 12 longer, 2 x 1.2 wider, 2 x 2.4 thicker."""
    strip = parts(a_plan(moosgrund))["S1"]
    assert strip.final == pytest.approx(Block(510.0, 48.0, 19.6))
    assert strip.rough == pytest.approx(Block(522.0, 50.4, 24.4))


def test_rails_are_cut_to_their_long_points(moosgrund):
    """480 + 2 x 45 and 288 + 2 x 45; rough 12 longer, 6 wider, 2 x 2.4 thicker."""
    found = parts(a_plan(moosgrund, columns=6, rows=10, frame=a_frame(hold=Hold.GLUED)))
    assert (found["R1"].count, found["R2"].count) == (2, 2)
    assert found["R1"].final == pytest.approx(Block(570.0, 45.0, 18.0))
    assert found["R2"].final == pytest.approx(Block(378.0, 45.0, 18.0))
    assert found["R1"].rough == pytest.approx(Block(582.0, 51.0, 22.8))


def test_lines_run_round_the_field_mitred_inside_out(moosgrund):
    found = parts(a_plan(moosgrund, columns=6, rows=10, lines=LINES))
    assert [part.count for name, part in found.items() if name.startswith("L")] == [2, 2, 2, 2]
    assert found["L1a"].final == pytest.approx(Block(486.0, 3.0, 18.0))
    assert found["L1b"].final == pytest.approx(Block(294.0, 3.0, 18.0))
    assert found["L2a"].final == pytest.approx(Block(490.0, 2.0, 18.0))
    assert (found["L1a"].species, found["L2a"].species) == ("pear", "wenge")


def test_base_skirt_and_backing_are_parts(moosgrund):
    base = BaseRequest(
        material="mdf",
        thickness_mm=9.0,
        inset_mm=20.0,
        skirt=Skirt(species="pear", width_mm=8.0),
        backing=BackingRequest(species="wenge", thickness_mm=3.0),
    )
    found = parts(a_plan(moosgrund, columns=6, rows=10, base=base))
    assert found["B1"].final == pytest.approx(Block(424.0, 232.0, 9.0))
    assert found["B1"].rough == pytest.approx(Block(426.8, 234.8, 9.0))  # a kerf each way, no planing
    assert (found["K1a"].count, found["K1a"].final) == (2, pytest.approx(Block(440.0, 9.0, 8.0)))
    assert (found["K1b"].count, found["K1b"].final) == (2, pytest.approx(Block(248.0, 9.0, 8.0)))
    assert found["C1"].final == pytest.approx(Block(440.0, 248.0, 3.0))


def test_parts_are_named_once(moosgrund):
    plan = a_plan(
        moosgrund, frame=a_frame(), lines=LINES, base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    )
    ids = [part.id for part in plan.cutting.parts]
    assert len(ids) == len(set(ids))
    assert [name[0] for name in ids] == sorted((name[0] for name in ids), key="SLRBKC".index)


# Machine limits -------------------------------------------------------------------------------------------------------


def advice(plan):
    return {each.code: each for each in plan.cutting.advice}


def test_machines_that_suffice_bring_no_advice(moosgrund):
    assert a_plan(moosgrund, frame=a_frame()).cutting.advice == ()


@pytest.mark.parametrize(
    ("machines", "code", "severity", "words"),
    [
        ({"crosscut_capacity_mm": 380.0}, "crosscut-capacity", Severity.INFO, ["384 mm", "380 mm", "sled"]),
        ({"thicknesser_width_mm": 380.0}, "thicknesser-width", Severity.INFO, ["384 mm", "drum sander"]),
        ({"thicknesser_min_length_mm": 511.0}, "short-strips", Severity.WARNING, ["510 mm", "511 mm"]),
        ({"jointer_min_length_mm": 523.0}, "short-for-jointer", Severity.WARNING, ["S1", "523 mm"]),
        ({"jointer_width_mm": 50.0}, "wide-for-jointer", Severity.INFO, ["S1", "50 mm", "Rip"]),
        ({"thicknesser_min_thickness_mm": 20.0}, "thin-for-thicknesser", Severity.CAUTION, ["S1", "20.0 mm"]),
    ],
)
def test_a_limit_of_the_machines_is_advice_to_the_workshop(moosgrund, machines, code, severity, words):
    plan = a_plan(altered(moosgrund, machines=machines))
    found = advice(plan)
    assert set(found) == {code}
    assert (found[code].severity, found[code].audience) == (severity, Audience.WORKSHOP)
    assert [word for word in words if word not in found[code].text] == []


@pytest.mark.parametrize(
    "machines",
    [
        {"crosscut_capacity_mm": 384.0},
        {"thicknesser_width_mm": 384.0},
        {"thicknesser_min_length_mm": 510.0},
        {"jointer_min_length_mm": 522.0},
        {"jointer_width_mm": 50.4},
        {"thicknesser_min_thickness_mm": 19.6},
    ],
)
def test_exactly_at_a_limit_is_within_it(moosgrund, machines):
    assert a_plan(altered(moosgrund, machines=machines)).cutting.advice == ()


def test_short_rails_name_the_safety_source(moosgrund):
    found = advice(a_plan(moosgrund, columns=2, rows=4, frame=a_frame()))["short-for-jointer"]
    assert found.source == "HSE-PLANER"
    assert "R1" in found.text


def test_thin_lines_and_backings_are_too_thin_for_the_thicknesser(moosgrund):
    base = BaseRequest(material="mdf", thickness_mm=9.0, backing=BackingRequest(species="pear", thickness_mm=3.0))
    assert "C1" in advice(a_plan(moosgrund, base=base))["thin-for-thicknesser"].text


def test_the_sheet_itself_is_never_planed(moosgrund):
    shop = altered(moosgrund, machines={"thicknesser_min_thickness_mm": 12.0})
    assert a_plan(shop, base=BaseRequest(material="mdf", thickness_mm=6.0)).cutting.advice == ()


def test_butt_corners_of_a_floating_frame_have_only_end_grain(moosgrund):
    codes = [set(advice(a_plan(moosgrund, frame=a_frame(joint=joint)))) for joint in (Joint.BUTT, Joint.MITRE)]
    assert codes == [{"butt-corners"}, set()]
    glued = a_frame(joint=Joint.BUTT, hold=Hold.GLUED)
    assert advice(a_plan(moosgrund, frame=glued)) == {}


def test_quantity_does_not_change_the_cuts_of_one_board(moosgrund):
    one, many = a_plan(moosgrund, frame=a_frame()), a_plan(moosgrund, frame=a_frame(), quantity=12)
    assert reordered(one.order, quantity=12) == many.order
    assert one.cutting == many.cutting
