"""The page beside the saw: everything a maker does, in order, in words; no measure torn apart."""

import re
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from hand_layouts import KNOTTY, LAYOUTS, PIECES, PLAN, SAW, SHEET, board, cross, joint, layout

from chequerwork.domain.stock.boards import Goal, PlanStatus, to_nm
from chequerwork.domain.stock.replay import replay
from chequerwork.render.page import WIDTH
from chequerwork.render.saw_page import saw_page

EVERY = replace(PLAN, layouts=tuple(replay(given, PIECES, SAW) for given in LAYOUTS.values()))


def page_of(*layouts, units="metric"):
    return saw_page(replace(PLAN, layouts=tuple(replay(each, PIECES, SAW) for each in layouts)), units)


def section(page, title):
    """Lines of one section, without their indentation."""
    found = re.search(rf"^{re.escape(title)}\n-+\n((?:.+\n|\n(?=  ))*)", page, re.MULTILINE)
    return [line.strip() for line in found.group(1).splitlines()] if found else []


def test_the_page_tells_what_to_take_what_to_buy_and_what_to_put_back():
    page = saw_page(PLAN, "metric", currency="EUR")
    assert section(page, "Take from the rack") == ["2 x w1: european walnut, 2000 x 160 x 27 mm"]
    assert section(page, "Buy") == ["1 x b1: european walnut, 1000 x 100 x 52 mm, 30.00 EUR each"]
    assert section(page, "Put back into the rack") == ["2 x european walnut, 774 x 160 mm, 27 mm thick: kept of w1"]
    assert section(page, "Not in this plan") == ["1 x slat: Nothing else on offer is thick enough."]


def test_steps_follow_the_saw():
    steps = section(saw_page(PLAN, "metric"), "Cut")
    assert steps[3:] == [
        "2 boards w1: european walnut, 2000 x 160 x 27 mm, each",
        "1. Crosscut the board at 17 mm: offcut (17 x 160 mm).",
        "2. Crosscut the rest at 1203 mm: A. Remains: kept to keep (774 x 160 mm).",
        "3. Joint the near edge of A straight: 3 mm off.",
        "4. Rip A 2 times at 45 mm: A1, A2. Remains: offcut (1203 x 59 mm).",
        "5. Crosscut A1 at 600 mm: 1 x rail (600 x 45 mm). Remains: 1 x rail (600 x 45 mm).",
        "6. Crosscut A2 at 600 mm: 1 x rail (600 x 45 mm). Remains: 1 x rail (600 x 45 mm).",
        "",
        "Board b1: european walnut, 1000 x 100 x 52 mm, to buy",
        "1. Crosscut the board at 17 mm: offcut (17 x 100 mm).",
        "2. Crosscut the rest at 903 mm: A. Remains: offcut (74 x 100 mm).",
        "3. Joint the near edge of A straight: 3 mm off.",
        "4. Rip A 2 times at 40 mm: A1, A2. Remains: offcut (903 x 9 mm).",
        "5. Crosscut A1 at 450 mm: A1a. Remains: A1b.",
        "6. Crosscut A2 at 450 mm: A2a. Remains: A2b.",
        "7. Resaw A1a, A1b, A2a, A2b into 2 of 22 mm each: 8 x slat (450 x 40 mm).",
    ]


@pytest.mark.parametrize("given", LAYOUTS.values(), ids=LAYOUTS)
def test_every_piece_that_is_cut_again_is_named_or_the_rest_of_the_step_before(given):
    """Read the page as a maker does: what a step begins with was named above, or is what the last step left."""
    steps = [line for line in section(page_of(given), "Cut") if re.match(r"\d+\. ", line)]
    known = {"the board", "the sheet", "the rest"}
    for step in steps:
        on = re.match(
            r"\d+\. (?:Crosscut|Rip|Joint the near edge of|Resaw) (.+?)(?: \d+ times| straight| at| into)", step
        )
        assert set(on[1].split(", ")) <= known
        known |= {word.strip(".:,") for word in step.split()}
    assert sum(int(n) for n in re.findall(r"(\d+) x (?!\d)", " ".join(steps))) == sum(
        laid.stacked for laid in replay(given, PIECES, SAW).laid if laid.part
    )


def test_a_sheet_and_a_defect_are_told_in_words():
    steps = section(page_of(SHEET, KNOTTY), "Cut")
    assert "1. Rip the sheet at 400 mm: A. Remains: B." in steps
    assert "3. Crosscut the rest at 54 mm: offcut (54 x 120 mm)." in steps
    assert "10. Rip B at 50 mm: 1 x long (700 x 50 mm). Remains: B-2 to keep (700 x 63 mm)." in steps


def test_many_equal_cuts_are_one_step():
    cuts = [cross("board" if not n else f"r{n}", 50, f"p{n}", f"r{n + 1}") for n in range(6)]
    page = page_of(layout(board("w", 1000, 100, 27), tuple(cuts), {}))
    assert "1. Crosscut the board 6 times at 50 mm: 6 offcuts (50 x 100 mm). Remains: offcut (682 x 100 mm)." in page
    assert "2. " not in "".join(section(page, "Cut"))


def test_a_long_row_of_names_is_shortened():
    cuts = [cross("board" if not n else f"r{n}", 350, f"p{n}", f"r{n + 1}") for n in range(6)]
    cuts += [joint(f"p{n}") for n in range(6)]
    page = page_of(layout(board("w", 3000, 100, 27), tuple(cuts), {}))
    assert "1. Crosscut the board 6 times at 350 mm: p0, p1 ... p5." in page


def test_a_board_bought_for_the_least_lot_is_not_cut():
    page = page_of(layout(board("w", 3000, 100, 27), (), {}, ("board",)))
    assert section(page, "Cut")[-1] == "Not cut; it goes into the rack as it is."
    assert section(page, "Put back into the rack") == ["1 x european walnut, 3000 x 100 mm, 27 mm thick: board of w"]


def test_an_end_trimmed_by_the_kerf_alone_is_told():
    plain = layout(board("w", 1000, 100, 27), (cross("board", 0, "end", "A"),), {})
    sawn = replay(plain, {}, replace(SAW, end_trim_nm=to_nm(3)))
    page = saw_page(replace(PLAN, layouts=(sawn,)), "metric")
    assert "1. Crosscut the board by a bare kerf, to make it clean. Remains: offcut (997 x 100 mm)." in page


def test_the_numbers_of_a_plan():
    """2 x 32.26 + 30; the bound and yield are those of the plan (see ``hand_layouts``)."""
    assert section(saw_page(PLAN, "metric", currency="EUR"), "In numbers") == [
        "boards  3",
        "cost    94.52 EUR, worth of kept leftovers taken off",
        "bound   as long as the rack is used first, no plan costs less than 90.00 EUR; at most 4.8 % of the",
        "cost could be saved: a better plan may exist, above that bound",
        "wood    0.0225 m3; 0.0084 m3 in the parts as sawn, 0.0067 m3 kept",
        "yield   52.9 % of what is cut up and not kept",
    ]


def test_what_could_be_saved_is_a_share_of_the_cost_and_never_rounded_down():
    """A bound of a third: the plan costs three times as much, of which two thirds could be saved."""
    loose = replace(PLAN, bound=PLAN.reached / 3)
    assert "at most 66.7 % of the cost could be saved" in " ".join(saw_page(loose, "metric").split())
    tight = replace(PLAN, bound=PLAN.reached * Decimal("0.9999"))
    assert "at most 0.1 % of the cost could be saved" in " ".join(saw_page(tight, "metric").split())


def test_a_plan_proven_best_says_so():
    best = replace(PLAN, status=PlanStatus.OPTIMAL, bound=PLAN.reached)
    page = " ".join(saw_page(best, "metric").split())
    assert "at most 0.0 % of the cost could be saved: no plan is better" in page


def test_a_plan_of_least_wood_tells_wood():
    least = replace(PLAN, goal=Goal.VOLUME, reached=Decimal("0.01579264"), bound=Decimal("0.015"))
    metric = " ".join(saw_page(least, "metric").split())
    assert (
        "0.0158 m3 used, kept leftovers taken off; as long as the rack is used first, no plan uses less than 0.0150 m3"
        in metric
    )
    assert "at most 5.1 % of the wood could be saved" in metric
    page = " ".join(saw_page(least, "imperial").split())
    assert "6.7 board feet used, kept leftovers taken off; as long as the rack is used first," in page
    assert "no plan uses less than 6.4 board feet; at most 5.1 % of the wood could be saved" in page


def test_a_currency_without_decimals():
    """Twice 40 less 8, and 30: amounts are shown so that they add up."""
    assert "94 JPY, worth" in saw_page(PLAN, "metric", currency="JPY", exponent=0)


def test_inches_are_told_with_their_fineness():
    page = saw_page(PLAN, "imperial")
    assert "nearest 1/32" in page
    assert "5. Crosscut A1 at 23 5/8 in: 1 x rail (23 5/8 x 1 25/32 in)." in page
    assert " mm" not in page
    assert "1/32" not in saw_page(PLAN, "metric")


@pytest.mark.parametrize("units", ["metric", "imperial"])
def test_no_line_is_too_wide_or_tears_a_measure(units):
    """``2`` at the end of a line and ``15/32 in`` on the next would be sawn as one or the other."""
    lines = saw_page(EVERY, units).splitlines()
    assert len(lines) > 60
    for line, following in pairwise([*lines, ""]):
        assert len(line) <= WIDTH
        assert line == line.rstrip()
        begins = re.match(r"\s*(\d+\. |\d+ x \D)", following)  # a step, or a count of things
        assert begins or not (re.search(r"\d( x)?$", line) and re.match(r"\s*(\d|x |mm|in\b)", following)), line


def test_an_empty_plan_is_a_short_page():
    page = saw_page(replace(PLAN, layouts=(), purchases=()), "metric")
    assert section(page, "Take from the rack") == section(page, "Cut") == section(page, "Buy") == []
    assert section(page, "Not in this plan")


def test_the_page_cautions():
    assert "Saws, jointers and thicknessers can hurt." in saw_page(PLAN, "metric")
    assert "local rules" in " ".join(section(saw_page(PLAN, "metric"), "Mind"))


def test_names_cannot_break_the_page():
    missing = replace(PLAN.missing[0], piece=replace(PLAN.missing[0].piece, id="a\nb\x07c"))
    page = saw_page(replace(PLAN, missing=(missing,)), "metric")
    assert "1 x a b c: Nothing" in page
