"""The verifier of stock plans: layouts worked out by hand pass, and each thing a plan may not claim has its refusal.

Expected places and sums were worked out with paper and pencil (see ``hand_layouts``); adding up lengths and kerfs needs
no source. How a bench works (trim the end, joint an edge, rip, crosscut): common practice, no source.
"""

import dataclasses
from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest
from hand_layouts import (
    KNOTTY,
    LAYOUTS,
    PIECES,
    PLAIN,
    PLAN,
    SAW,
    SHEET,
    THICK,
    WIDE,
    WISHES,
    board,
    changed_cut,
    cross,
    joint,
    layout,
    piece,
    rip,
)
from stock_checks import WrongPlan, check_plan

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.stock.boards import Defect, Fate, Goal, Purchase, Tool, to_nm
from chequerwork.domain.stock.replay import NotCuttable, replay


def places(sawn, fate):
    """Where pieces lay: name to (x, y, length, width) in mm."""
    return {
        laid.name: tuple(getattr(laid.area, field.name) / 1_000_000 for field in dataclasses.fields(laid.area))
        for laid in sawn.laid
        if laid.fate is fate
    }


# Layouts that a bench can make ----------------------------------------------------------------------------------------


def test_a_plain_board_gives_four_rails_and_keeps_its_end():
    sawn = replay(PLAIN, PIECES, SAW)
    assert places(sawn, Fate.PART) == {
        "A1a": (20, 3, 600, 45), "A1b": (623, 3, 600, 45), "A2a": (20, 52, 600, 45), "A2b": (623, 52, 600, 45),
    }  # fmt: skip
    assert places(sawn, Fate.LEFTOVER) == {"kept": (1226, 0, 774, 160)}
    assert places(sawn, Fate.OFFCUT) == {"end": (0, 0, 17, 160), "A-3": (20, 101, 1203, 59)}
    assert sawn.kept == Decimal("7.74")
    assert sawn.cost == Decimal("32.26")


def test_a_defect_is_cut_out_with_both_kerfs():
    sawn = replay(KNOTTY, PIECES, SAW)
    assert places(sawn, Fate.PART) == {"A1a": (20, 3, 600, 50), "A2a": (20, 57, 600, 50), "B1": (760, 3, 700, 50)}
    assert places(sawn, Fate.OFFCUT)["knot"] == (703, 0, 54, 120)
    assert sawn.kept == Decimal("4.9")  # 40 x 0.5 x 700 x 63 / (1500 x 120)


def test_a_board_wider_than_the_jointer_is_cut_in_two_bands():
    sawn = replay(WIDE, PIECES, SAW)
    assert [place[1] for place in places(sawn, Fate.PART).values()] == [3, 99, 205, 301]
    assert sawn.kept == 0


def test_a_sheet_is_ripped_first_and_gives_a_turned_part():
    sawn = replay(SHEET, PIECES, SAW)
    assert places(sawn, Fate.PART)["B1a"] == (0, 404, 400, 500)
    assert places(sawn, Fate.LEFTOVER) == {"kept": (403, 404, 817, 596)}
    # Eighteen, half of it, 817 x 596 of 1220 x 1000: no end of decimals, so more of them than anybody reads.
    assert sawn.kept * 1_220_000 == pytest.approx(Decimal(9 * 817 * 596), abs=Decimal("1e-50"))


def test_resawn_parts_lie_on_each_other():
    sawn = replay(THICK, PIECES, SAW)
    assert [(laid.part, laid.stacked) for laid in sawn.laid if laid.part] == [("slat", 2)] * 4


@pytest.mark.parametrize("given", LAYOUTS.values(), ids=LAYOUTS)
def test_pieces_lie_in_order_from_the_near_end(given):
    laid = [(each.area.x_nm, each.area.y_nm) for each in replay(given, PIECES, SAW).laid]
    assert laid == sorted(laid)


def test_a_kerf_may_run_off_the_wood():
    """2 mm remain beside the part, less than the kerf: no rest, and nothing is lost."""
    cut = layout(
        board("w", 500, 55, 27),
        (
            cross("board", 17, "end", "A-1"),
            cross("A-1", 450, "A", "far-end"),
            joint("A"),
            rip("A", 45, "A1", "A-2"),
            rip("A-2", 1, "A2"),  # 3 wide, 1 and 2 of a kerf of 4
        ),
        {},
    )
    sawn = replay(cut, {}, SAW)
    assert places(sawn, Fate.OFFCUT)["A2"] == (20, 52, 450, 1)
    area = sum(laid.area.length_nm * laid.area.width_nm for laid in sawn.laid)
    chips = 3 * 55 + 3 * 55 + 3 * 450 + 4 * 450 + 2 * 450  # mm2
    assert area + chips * 10**12 == 500 * 55 * 10**12


def test_an_end_trim_as_wide_as_the_kerf_leaves_no_end_piece():
    saw = replace(SAW, end_trim_nm=to_nm(3))
    cut = layout(board("w", 500, 55, 27), (cross("board", 0, "end", "from-3"),), {})
    assert places(replay(cut, {}, saw), Fate.OFFCUT) == {"from-3": (3, 0, 497, 55)}


@pytest.mark.parametrize(
    ("wanted", "boards"),
    [
        (None, [None, Grain.FLAT, Grain.QUARTER, Grain.MIXED]),
        (Grain.MIXED, [None, Grain.FLAT, Grain.QUARTER, Grain.MIXED]),
        (Grain.FLAT, [None, Grain.FLAT, Grain.MIXED]),
        (Grain.QUARTER, [None, Grain.QUARTER]),
    ],
)
def test_a_part_comes_of_boards_sawn_as_it_must_be(wanted, boards):
    pieces = {"rail": replace(PIECES["rail"], sawn=wanted)}
    for sawn in (None, *Grain):
        given = replace(PLAIN, board=replace(PLAIN.board, sawn=sawn))
        if sawn in boards:
            assert replay(given, pieces, SAW).laid == replay(PLAIN, PIECES, SAW).laid
        else:
            with pytest.raises(NotCuttable, match=r"must be .* sawn"):
                replay(given, pieces, SAW)


# Layouts tampered with ------------------------------------------------------------------------------------------------


def with_parts(given, **parts):
    return replace(given, parts=given.parts + tuple(parts.items()))


def without_cut(given, number):
    return replace(given, cuts=given.cuts[: number - 1] + given.cuts[number:])


def on_board(given, **changes):
    return replace(given, board=replace(given.board, **changes))


def with_defect(given, low, high):
    return on_board(given, defects=(Defect(from_nm=to_nm(low), to_nm=to_nm(high)),))


def more_cuts(given, *cuts):
    return replace(given, cuts=given.cuts + cuts)


# What was done to the layout, and the words of its refusal.
TAMPERED = {
    "on a piece that no cut gave": (changed_cut(PLAIN, 2, on="nowhere"), r"Cut 2, crosscut of 'nowhere': no cut gave"),
    "on a piece used already": (changed_cut(PLAIN, 7, on="A1"), r"Cut 7.*'A1' was used already"),
    "a name given twice": (changed_cut(PLAIN, 7, gives="A1a"), r"Cut 7.*name 'A1a' is given twice"),
    "the board's own name given": (changed_cut(PLAIN, 1, gives="board"), r"name 'board' is given twice"),
    "gives and rest of one name": (changed_cut(PLAIN, 1, gives="end", rest="end"), r"name 'end' is given twice"),
    "before the piece": (changed_cut(PLAIN, 1, at_nm=-1), r"Cut 1.*at -0.000001 mm, before the piece"),
    "beyond the piece": (changed_cut(PLAIN, 4, at_nm=to_nm(158), rest=None), r"Cut 4, rip.*158 mm.*end.* at 157 mm"),
    "a rest left unnamed": (changed_cut(PLAIN, 6, rest=None), r"Cut 6.*600 mm remain .* no rest is named"),
    "a rest of one nanometre unnamed": (changed_cut(PLAIN, 6, at_nm=to_nm(1200) - 1, rest=None), r"0.000001 mm remain"),
    "a rest where only kerf is": (changed_cut(PLAIN, 6, at_nm=to_nm(1200)), r"Cut 6.*'A1b' is named, but nothing"),
    "a part one nanometre short": (
        changed_cut(PLAIN, 6, at_nm=to_nm(600) - 1),
        r"599.999999 mm x 45 mm, wanted is 600",
    ),
    "a part one nanometre wide": (changed_cut(PLAIN, 4, at_nm=to_nm(45) + 1), r"600 mm x 45.000001 mm, wanted is 600"),
    "a part across the grain": (
        replace(PLAIN, parts=(("A1a", "turned"),)),
        r"cut to 600 mm x 45 mm, wanted is 45 mm x",
    ),
    "another species": (on_board(PLAIN, species="pear"), r"Part 'rail'.*of european_walnut, the board of pear"),
    "flat for quarter sawn": (on_board(KNOTTY, sawn=Grain.QUARTER), r"Part 'long' of 'B1': it must be flat sawn"),
    "too thin to flatten": (
        on_board(PLAIN, thickness_nm=to_nm(26) - 1),
        r"24 mm thick.*too thin and gives 23.999999 mm",
    ),
    "a sheet far too thick": (on_board(SHEET, thickness_nm=to_nm(18)), r"12 mm thick, the sheet 18 mm"),
    "a sheet far too thin": (on_board(SHEET, thickness_nm=to_nm(9)), r"12 mm thick, the sheet 9 mm"),
    "in the near end trim": (
        changed_cut(PLAIN, 1, at_nm=to_nm(16)),
        r"from 19 mm to 619 mm .* in the end trim of 20 mm",
    ),
    "in a defect": (with_defect(PLAIN, 600, 640), r"Part 'rail' of 'A1a': it lies in the defect from 600 mm to 640"),
    "over a crack of no width": (with_defect(PLAIN, 300, 300), r"'A1a': it lies in the defect from 300 mm to 300"),
    "one nanometre in a defect": (
        on_board(KNOTTY, defects=(Defect(from_nm=to_nm(620) - 1, to_nm=to_nm(760)),)),
        r"Part 'strip' of 'A1a'.*defect",
    ),
    "a section not jointed": (without_cut(PLAIN, 3), r"Part 'rail' of 'A1a'.*not jointed"),
    "a band not jointed": (without_cut(WIDE, 7), r"Part 'panel' of 'A2a'.*not jointed"),
    "too little jointed off": (
        changed_cut(PLAIN, 3, at_nm=to_nm(2)),
        r"Cut 3, joint of 'A': it takes 2 mm.* 3 mm must",
    ),
    "jointed twice": (
        changed_cut(PLAIN, 5, tool=Tool.JOINT, on="A1", at_nm=to_nm(3), gives="A1", rest=None),
        r"already",
    ),
    "jointed under a new name": (changed_cut(PLAIN, 3, gives="A-jointed"), r"keeps its name"),
    "a sheet jointed": (
        changed_cut(SHEET, 2, tool=Tool.JOINT, on="A", gives="A", rest=None),
        r"a sheet is not jointed",
    ),
    "wider than the jointer": (changed_cut(WIDE, 3, at_nm=to_nm(251)), r"Cut 4.*251 mm wide; the jointer takes 250 mm"),
    "shorter than may be fed": (
        changed_cut(PLAIN, 2, at_nm=to_nm(299)),
        r"Cut 3.*299 mm long; nothing shorter than 300",
    ),
    "a rip after the last crosscut": (more_cuts(PLAIN, rip("A1b", 20, "x", "y")), r"Cut 8.*more than three stages"),
    "wood ripped, crosscut, ripped": (
        layout(
            board("w", 900, 90, 27),
            (rip("board", 50, "A", "B"), cross("A", 400, "A1", "A2"), rip("A1", 9, "x", "y")),
            {},
        ),
        r"Cut 3, rip of 'A1'.*rip and crosscut.*three stages",
    ),
    "a fourth stage of a sheet": (more_cuts(SHEET, cross("B1-2", 100, "x", "y")), r"Cut 6, crosscut.*three stages"),
    "more slabs than the thickness gives": (changed_cut(THICK, 8, pieces=3), r"52 mm does not give 3 of 22 mm.* 74 mm"),
    "slabs a nanometre too thick": (changed_cut(THICK, 8, at_nm=to_nm(24) + 1), r"does not give 2 of 24.000001 mm"),
    "slabs thinner than the part": (changed_cut(THICK, 8, at_nm=to_nm(20)), r"22 mm thick, but resawn to 20 mm"),
    "resawn into one": (changed_cut(THICK, 8, pieces=1), r"two pieces or more"),
    "a sheet resawn": (changed_cut(SHEET, 2, tool=Tool.RESAW, pieces=2), r"a sheet is not resawn"),
    "cut after resawing": (more_cuts(THICK, cross("A1a", 200, "x", "y")), r"Cut 12.*resawn; it is not cut again"),
    "a crosscut into two pieces": (changed_cut(PLAIN, 6, pieces=2), r"gives one piece, not 2"),
    "a part nobody wants": (with_parts(PLAIN, end="door"), r"Part 'door' of 'end': no such part is wanted"),
    "a part of no piece": (with_parts(PLAIN, ghost="rail"), r"Part 'rail' of 'ghost': no cut gave"),
    "a part that was cut again": (with_parts(PLAIN, A1="rail"), r"Part 'rail' of 'A1'.*used already"),
    "a part told twice": (with_parts(PLAIN, A1a="rail"), r"Part 'rail' of 'A1a'.*used already"),
    "a part kept as well": (replace(PLAIN, leftovers=("A1a",)), r"Leftover 'A1a'.*used already"),
    "a leftover of no piece": (replace(PLAIN, leftovers=("ghost",)), r"Leftover 'ghost': no cut gave"),
    "a leftover that was cut again": (replace(PLAIN, leftovers=("A",)), r"Leftover 'A'.*used already"),
    "a leftover too narrow": (replace(PLAIN, leftovers=("A-3",)), r"'A-3': it is 1203 mm x 59 mm; smaller than 400"),
    "a leftover too short": (replace(WIDE, leftovers=("far-end",)), r"'far-end': it is 77 mm x 400 mm; smaller"),
    "a leftover with a defect": (with_defect(PLAIN, 1900, 1950), r"Leftover 'kept': it lies in the defect from 1900"),
}
WANTED = {**PIECES, "turned": piece("turned", 45, 600, 24, 1)}


@pytest.mark.parametrize(("given", "words"), TAMPERED.values(), ids=TAMPERED)
def test_a_tampered_layout_is_refused_with_its_own_reason(given, words):
    with pytest.raises(NotCuttable, match=words):
        replay(given, WANTED, SAW)


def test_a_thicknesser_narrower_than_the_jointer_is_the_limit():
    with pytest.raises(NotCuttable, match="the thicknesser takes 150 mm"):
        replay(PLAIN, PIECES, replace(SAW, thicknesser_width_nm=to_nm(150)))


def test_a_part_may_not_reach_into_the_rough_far_edge():
    """154 of 160 mm are straight: 3 + 45 + 4 + 45 + 4 + 56 is one nanometre more when the board is one narrower."""
    pieces = {"rail": piece("rail", 600, 45, 24, 9), "slip": piece("slip", 1203, 56, 24, 1)}
    cut = with_parts(changed_cut(PLAIN, 3), slip="slip")
    cut = replace(cut, cuts=(*cut.cuts[:5], rip("A-3", 56, "slip"), *cut.cuts[5:]))
    assert places(replay(cut, pieces, SAW), Fate.PART)["slip"] == (20, 101, 1203, 56)
    with pytest.raises(NotCuttable, match=r"Part 'slip' of 'slip': it reaches 0.000001 mm into the rough far edge"):
        replay(on_board(cut, width_nm=to_nm(160) - 1), pieces, SAW)


def test_the_end_trim_of_the_far_end_is_no_part():
    cut = replace(without_cut(PLAIN, 2), leftovers=(), parts=(("all", "all"),))
    cut = replace(cut, cuts=(cut.cuts[0], joint("from-20"), rip("from-20", 45, "all", "rest")))
    with pytest.raises(NotCuttable, match="from 20 mm to 2000 mm and so in the end trim"):
        replay(cut, {"all": piece("all", 1980, 45, 24, 1)}, SAW)


# Whole plans ----------------------------------------------------------------------------------------------------------

BOARDS = (PLAIN.board, KNOTTY.board)
OFFER = (THICK.board,)


def test_a_plan_that_adds_up_is_accepted():
    check_plan(PLAN, WISHES, BOARDS, OFFER, SAW)
    assert PLAN.yield_pct == pytest.approx(100 * 8.352 / (22.48 - 6.68736))
    assert PLAN.gap_pct == pytest.approx(100 * 4.52 / 94.52)


def test_a_plan_of_least_volume_reaches_volume():
    check_plan(
        replace(PLAN, goal=Goal.VOLUME, reached=Decimal("0.01579264"), bound=Decimal("0.015")),
        WISHES,
        BOARDS,
        OFFER,
        SAW,
    )


def tampered_layout(**changes):
    return (replace(PLAN.layouts[0], **changes), *PLAN.layouts[1:])


TAMPERED_PLANS = {
    "a rail too few": ({"layouts": PLAN.layouts[1:]}, "Part 'rail': 8 wanted, 0 cut"),
    "a copy more": ({"layouts": (replay(replace(PLAIN, copies=3), PIECES, SAW), PLAN.layouts[1])}, "8 wanted, 12 cut"),
    "nothing missing": ({"missing": ()}, "Part 'slat': 9 wanted, 8 cut or missing"),
    "something else missing": (
        {"missing": (replace(PLAN.missing[0], piece=PIECES["slat"]),)},
        "Missing part 'slat': it is none of those wanted",
    ),
    "a worth made up": ({"layouts": tampered_layout(kept=Decimal(30))}, "A layout of 'w1' tells what its cuts do not"),
    "a place made up": ({"layouts": tampered_layout(laid=PLAN.layouts[0].laid[1:])}, "tells what its cuts do not give"),
    "boards miscounted": ({"boards_used": 2}, "counts 2 boards; its layouts use 3"),
    "nothing bought": ({"purchases": ()}, "The boards to buy are not the boards of the offer that are cut"),
    "two bought": ({"purchases": (Purchase(board=THICK.board, count=2),)}, "The boards to buy are not the boards"),
    "another bought": ({"purchases": (Purchase(board=KNOTTY.board, count=1),)}, "'w2' is bought, but not cut"),
    "too cheap": ({"cost": Decimal("94.51")}, r"costs 94.520000, not 94.51"),
    "another sum reached": ({"reached": Decimal("94.53")}, r"reaches 94.52\d*, not 94.53"),
    "money for volume": ({"goal": Goal.VOLUME}, r"reaches 0.015792640, not 94.52"),
    "a bound too high": ({"bound": Decimal("94.53")}, r"less than its bound of 94.53"),
    "no number": ({"cost": Decimal("NaN")}, r"costs 94.520000, not NaN"),
    "too little wood": ({"volume_used_m3": 0.0224}, r"Volume of the boards used: 0.022480000 m3"),
    "too many parts": ({"parts_m3": 0.0084}, r"Volume of the parts: 0.008352000 m3"),
    "too much kept": ({"kept_m3": 0.0067}, r"Volume of the leftovers: 0.006687360 m3"),
}


@pytest.mark.parametrize(("changes", "words"), TAMPERED_PLANS.values(), ids=TAMPERED_PLANS)
def test_a_tampered_plan_is_refused_with_its_own_reason(changes, words):
    with pytest.raises(WrongPlan, match=words):
        check_plan(replace(PLAN, **changes), WISHES, BOARDS, OFFER, SAW)


def test_no_board_is_used_more_often_than_there_are():
    """The one board twice over: the plan says so, the rack has one."""
    rack = (replace(PLAIN.board, count=1),)
    layouts = (replay(replace(on_board(PLAIN, count=1), copies=2), PIECES, SAW), PLAN.layouts[1])
    with pytest.raises(WrongPlan, match="'w1' is used 2 times; there are 1"):
        check_plan(replace(PLAN, layouts=layouts), WISHES, rack, OFFER, SAW)


@pytest.mark.parametrize("changes", [{"price": Decimal(1)}, {"width_nm": to_nm(161)}, {"count": 9}, {"id": "w9"}])
def test_a_board_is_used_as_it_lies_in_the_rack(changes):
    with pytest.raises(WrongPlan, match="Board 'w1' is not as the rack or the offer has it"):
        check_plan(PLAN, WISHES, (replace(PLAIN.board, **changes), KNOTTY.board), OFFER, SAW)


def test_a_layout_cut_no_times_is_refused():
    layouts = (*PLAN.layouts, replay(replace(PLAIN, copies=0), PIECES, SAW))
    with pytest.raises(WrongPlan, match="a layout is cut 0 times"):
        check_plan(replace(PLAN, layouts=layouts), WISHES, BOARDS, OFFER, SAW)


def test_two_parts_of_one_id_are_refused():
    with pytest.raises(WrongPlan, match="the same id"):
        check_plan(PLAN, (*WISHES, WISHES[0]), BOARDS, OFFER, SAW)


def test_a_layout_no_bench_can_make_is_refused_in_a_plan_too():
    wrong = replace(PLAN.layouts[0], layout=changed_cut(PLAN.layouts[0].layout, 3, at_nm=0))
    with pytest.raises(NotCuttable, match="Cut 3, joint"):
        check_plan(replace(PLAN, layouts=(wrong, PLAN.layouts[1])), WISHES, BOARDS, OFFER, SAW)


def test_every_thing_tampered_with_has_words_of_its_own():
    """So that none is refused for another's reason."""
    said = Counter(words for _, words in (*TAMPERED.values(), *TAMPERED_PLANS.values()))
    assert len(said) > 60
    assert max(said.values()) == 1
