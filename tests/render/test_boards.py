"""Pictures of sawn boards: to scale, complete, and readable in black and white wherever they are opened."""

import re
from dataclasses import replace
from decimal import Decimal
from xml.etree.ElementTree import fromstring

import pytest
from hand_layouts import KNOTTY, LAYOUTS, PIECES, PLAIN, SAW, SHEET, THICK, board, cross, joint, layout, piece, rip

from chequerwork.domain.stock.boards import Fate
from chequerwork.domain.stock.replay import replay
from chequerwork.render.boards import board_svg, boards_svg
from chequerwork.render.drawing import text_px

SVG = "{http://www.w3.org/2000/svg}"
SAWN = {name: replay(given, PIECES, SAW) for name, given in LAYOUTS.items()}
# All that SVG 1.1 needs here; no style, script, image, use or link is among it.
ELEMENTS = {"svg", "title", "desc", "g", "rect", "path", "text", "tspan"}
GREY = "#999999"  # of the grain


def read(svg):
    return fromstring(svg)  # noqa: S314  our own picture


def drawn(root):
    """The pieces of a picture: their group, what it says it is, and its rectangle."""
    for group in root.iter(f"{SVG}g"):
        if group.find(f"{SVG}title") is not None:
            rect = group.find(f"{SVG}rect")
            yield group, group.find(f"{SVG}title").text, {k: float(rect.get(k)) for k in ("x", "y", "width", "height")}


def texts(root):
    return ["".join(each.itertext()) for each in root.iter(f"{SVG}text")]


def thin_strips():
    """Three strips of 12 mm out of 2500 mm of board: 4.6 px on paper, too low for any letter."""
    cuts = (
        cross("board", 17, "end", "from-20"),
        cross("from-20", 2000, "A", "far"),
        joint("A"),
        *(rip("A" if n == 1 else f"A-{n}", 12, f"A{n}", f"A-{n + 1}") for n in (1, 2, 3)),
    )
    given = layout(board("long", 2500, 100, 27), cuts, dict.fromkeys(("A1", "A2", "A3"), "line"), ("far",))
    return replay(given, {"line": piece("line", 2000, 12, 20, 3)}, SAW)


@pytest.mark.parametrize("name", SAWN)
def test_a_picture_stands_alone(name):
    svg = board_svg(SAWN[name], units="metric", title="For the wall")
    root = read(svg)
    assert root.tag == f"{SVG}svg"
    assert (root.get("role"), root.get("version")) == ("img", "1.1")
    assert root.find(f"{SVG}title").text == "For the wall"
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= ELEMENTS
    assert not re.search(r"href|url\(|style=|class=|\bid=|on\w+=|<!|<\?", svg)
    assert svg.count("http") == 1  # the name space


def test_who_does_not_see_the_picture_is_told_what_it_shows():
    root = read(board_svg(SAWN["plain"], units="metric"))
    assert root.find(f"{SVG}title").text == "Board w1: european walnut, 2000 x 160 x 27 mm"
    assert root.find(f"{SVG}desc").text == (
        "Board w1: european walnut, 2000 x 160 x 27 mm. Gives 4 x rail of 600 x 45 mm. Keeps 774 x 160 mm."
    )


@pytest.mark.parametrize("name", SAWN)
def test_every_piece_is_drawn_to_scale_where_it_lay(name):
    sawn = SAWN[name]
    scale = min(960 / (sawn.layout.board.length_nm / 1e6), 2)
    pieces = [where for _, _, where in drawn(read(board_svg(sawn, units="metric")))]
    assert len(pieces) == len(sawn.laid)
    for laid, where in zip(sawn.laid, pieces, strict=True):
        assert where["width"] == pytest.approx(laid.area.length_nm / 1e6 * scale, abs=0.006)
        assert where["height"] == pytest.approx(laid.area.width_nm / 1e6 * scale, abs=0.006)
        assert where["x"] - pieces[0]["x"] == pytest.approx(laid.area.x_nm / 1e6 * scale, abs=0.011)


def test_all_boards_of_a_plan_have_one_scale():
    pieces = [where for _, _, where in drawn(read(boards_svg(list(SAWN.values()), units="metric")))]
    laid = [each for sawn in SAWN.values() for each in sawn.laid]
    for each, where in zip(laid, pieces, strict=True):
        assert where["width"] == pytest.approx(each.area.length_nm / 1e6 * 0.48, abs=0.006)  # 960 px for 2000 mm


def test_a_kerf_is_a_black_gap_of_its_true_width():
    """3 mm at 0.48 px/mm; the board below is black."""
    root = read(board_svg(SAWN["plain"], units="metric"))
    rails = [where for _, said, where in drawn(root) if said.startswith("rail")]
    gap = rails[2]["x"] - rails[0]["x"] - rails[0]["width"]
    assert gap == pytest.approx(3 * 0.48, abs=0.02)
    blacks = [r for r in root.iter(f"{SVG}rect") if r.get("fill") == "black" and float(r.get("width")) == 960]
    assert len(blacks) == 1


def test_a_cut_without_kerf_is_a_hairline():
    saw = replace(SAW, kerf_rip_nm=0, kerf_crosscut_nm=0)
    sawn = replay(layout(board("w", 500, 55, 27), (cross("board", 100, "A", "B"),), {}), {}, saw)
    for group, _, _ in drawn(read(board_svg(sawn, units="metric"))):
        outline = group.find(f"{SVG}rect")
        assert outline.get("stroke") == "black"
        assert float(outline.get("stroke-width")) > 0.3


@pytest.mark.parametrize("name", SAWN)
def test_grain_is_drawn_on_wood_and_not_on_sheets(name):
    root = read(board_svg(SAWN[name], units="metric"))
    lines = [path for path in root.iter(f"{SVG}path") if path.get("stroke") == GREY]
    wood = name != "sheet"
    assert bool(lines) is wood
    assert ("grain" in texts(root)) is wood
    for line in lines:
        for y1, y2 in re.findall(r"M[\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)", line.get("d")):
            assert y1 == y2


def test_parts_offcuts_and_leftovers_are_told_apart_without_colour():
    for sawn in SAWN.values():
        for (group, said, _), laid in zip(drawn(read(board_svg(sawn, units="metric"))), sawn.laid, strict=True):
            dashes = {each.get("stroke-dasharray") for each in group if each.get("stroke-dasharray")}
            assert dashes == {Fate.PART: set(), Fate.LEFTOVER: {"7 4"}, Fate.OFFCUT: {"0.9 4.1"}}[laid.fate] or (
                laid.fate is Fate.OFFCUT and laid.area.width_nm < 10_000_000  # too narrow for a row of dots
            )
            assert said.startswith({Fate.PART: laid.part or "", Fate.LEFTOVER: "keep"}.get(laid.fate, "offcut")) or (
                laid.stacked > 1
            )


def test_the_picture_has_only_greys():
    svg = boards_svg(list(SAWN.values()), units="metric")
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg)) <= {"black", "white", "none", GREY, "#555555"}


def test_ends_cut_off_are_crossed_out():
    groups = list(drawn(read(board_svg(SAWN["knotty"], units="metric"))))
    crossed = [where for group, _, where in groups if any(each.get("d", "").count("M") == 2 for each in group)]
    assert [where["width"] for where in crossed] == [
        pytest.approx(17 * 0.64, abs=0.01),
        pytest.approx(37 * 0.64, abs=0.01),
    ]


def test_a_defect_is_hatched_from_end_to_end_and_named():
    """From 700 to 760 mm at 0.64 px/mm, and nowhere else."""
    root = read(board_svg(SAWN["knotty"], units="metric"))
    left = next(where["x"] for _, _, where in drawn(root))
    hatches = [p.get("d") for p in root.iter(f"{SVG}path") if p.get("d").count("M") > 15 and p.get("stroke") == "black"]
    assert len(hatches) == 1
    ends = [float(x) - left for x in re.findall(r"[ML]([\d.]+) ", hatches[0])]
    assert min(ends) == pytest.approx(700 * 0.64, abs=0.02)
    assert max(ends) == pytest.approx(760 * 0.64, abs=0.02)
    assert "defect from 700 to 760 mm" in texts(root)


def test_the_sizes_of_the_board_stand_at_two_sides():
    assert {"2000 mm", "160 mm"} <= set(texts(read(board_svg(SAWN["plain"], units="metric"))))
    assert {"78 3/4 in", "6 5/16 in"} <= set(texts(read(board_svg(SAWN["plain"], units="imperial"))))


def test_every_part_bears_its_id_and_size():
    said = [" ".join(group.itertext()) for group, _, _ in drawn(read(board_svg(SAWN["thick"], units="metric")))]
    assert len([each for each in said if each.count("2 x slat") == 2 and each.count("450 x 40 mm") == 2]) == 4


def test_parts_too_narrow_for_words_have_numbers_and_a_list_below():
    root = read(board_svg(thin_strips(), units="metric"))
    assert "1 = line, 2000 x 12 mm" in texts(root)
    assert texts(root).count("1") == 1  # one number for all three, with a dot on each
    dots = [rect for rect in root.iter(f"{SVG}rect") if rect.get("width") == "2.4"]
    assert len(dots) == 3


def test_squares_bear_their_number_inside():
    cuts = (cross("board", 17, "end", "A"), joint("A"), rip("A", 50, "A1", "A2"), cross("A1", 52, "A1a", "A1b"))
    sawn = replay(
        layout(board("w", 2400, 100, 27), cuts, {"A1a": "square"}), {"square": piece("square", 52, 50, 24, 1)}, SAW
    )
    groups = [group for group, said, _ in drawn(read(board_svg(sawn, units="metric"))) if said.startswith("square")]
    assert [texts(group) for group in groups] == [["1"]]


HOSTILE = "<b>&\"'\x00\ud800\uffff" + "W" * 90


def worst():
    """Names of a hundred wide letters, control characters and markup; parts of every shape."""
    given = layout(
        board(HOSTILE, 2000, 160, 27, species="pear"),
        PLAIN.cuts,
        {"A1a": HOSTILE, "A1b": "i", "A2a": "W" * 12, "A2b": HOSTILE[:20]},
        ("kept",),
    )
    pieces = {part: piece(part, 600, 45, 24, 1, species="pear") for _, part in given.parts}
    return replay(given, pieces, SAW)


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("sawn", [*SAWN.values(), thin_strips(), worst()])
def test_no_text_overflows_its_piece_or_the_paper(sawn, units):
    """Letters are 0.6 of their font on average in the widest of the fonts asked for (from memory)."""
    root = read(board_svg(sawn, units=units))
    for group, _, where in drawn(root):
        for text in group.iter(f"{SVG}text"):
            font, said = float(text.get("font-size")), "".join(text.itertext())
            assert len(said) * 0.6 * font <= where["width"]
            assert font <= where["height"]
            assert "transform" not in text.attrib or len(said) * 0.6 * font <= where["height"]
    for text in root.iter(f"{SVG}text"):
        room = text_px("".join(text.itertext()), float(text.get("font-size")))
        x = float(text.get("x")) - {"middle": room / 2, "end": room}.get(text.get("text-anchor"), 0)
        assert x >= 0
        assert x + room <= float(root.get("width"))
        assert 0 < float(text.get("y")) < float(root.get("height"))


def test_a_tall_part_bears_its_words_turned():
    given = layout(
        board("s", 1000, 1200, 12, species="mdf", sheet=True), (cross("board", 50, "A", "B"),), {"A": "stile"}
    )
    sawn = replay(given, {"stile": piece("stile", 50, 1200, 12, 1, species="mdf")}, SAW)
    root = read(board_svg(sawn, units="metric"))
    turned = [text for text in root.iter(f"{SVG}text") if text.get("transform")]
    assert {"".join(text.itertext()) for text in turned} <= {"stile", "50 x 1200 mm", "stile50 x 1200 mm"}
    assert turned


def test_names_cannot_break_the_picture():
    svg = board_svg(worst(), units="metric")
    assert "<b>" not in svg
    assert "&lt;b&gt;&amp;" in svg
    assert read(svg) is not None


def test_a_sheet_is_called_a_sheet_and_a_board_to_buy_is_told():
    said = texts(read(boards_svg([SAWN["sheet"], replay(replace(THICK, copies=3), PIECES, SAW)], units="metric")))
    assert "Sheet s1: mdf, 1220 x 1000 x 12 mm" in said
    assert "3 boards b1: european walnut, 1000 x 100 x 52 mm, to buy" in said


def test_the_same_boards_give_the_same_bytes():
    again = [replay(given, PIECES, SAW) for given in (KNOTTY, SHEET)]
    once = boards_svg([SAWN["knotty"], SAWN["sheet"]], units="metric", title="x")
    assert once == boards_svg(again, units="metric", title="x")
    assert once.endswith("</svg>\n")


def test_no_boards_give_an_empty_picture():
    root = read(boards_svg([], units="metric"))
    assert root.find(f"{SVG}title").text == "No boards"
    assert list(drawn(root)) == []


def test_the_picture_shows_no_price():
    dear = replay(replace(PLAIN, board=replace(PLAIN.board, price=Decimal("4711.25"))), PIECES, SAW)
    assert board_svg(dear, units="metric") == board_svg(SAWN["plain"], units="metric")
