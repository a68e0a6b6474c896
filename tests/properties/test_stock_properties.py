"""What holds for every board that is cut: random guillotine cuts, replayed, neither lose wood nor make any."""

import itertools
from dataclasses import dataclass, field, replace

import pytest
from hand_layouts import SAW, board
from hypothesis import given, settings
from hypothesis import strategies as st

from chequerwork.domain.stock.boards import Cut, Fate, Layout, Piece, Tool, to_nm
from chequerwork.domain.stock.replay import NotCuttable, replay

MANY = settings(max_examples=200, deadline=None, derandomize=True)
sizes = st.integers(to_nm(30), to_nm(900))  # whole nanometres, as odd as they come
kerfs = st.integers(0, to_nm(6))


@dataclass
class Sheet:
    """A sheet cut at random; what became chips is counted here by itself, kerf by kerf."""

    cuts: list[Cut] = field(default_factory=list)
    pieces: dict[str, tuple[int, int, str]] = field(default_factory=dict)  # length, width, ways it was cut so far
    chips_nm2: int = 0


@st.composite
def layouts(draw):
    """A sheet, its saw, random cuts in at most three stages, some of the pieces as parts, and the chips in nm2."""
    length, width = draw(sizes), draw(sizes)
    saw = replace(SAW, kerf_rip_nm=draw(kerfs), kerf_crosscut_nm=draw(kerfs))
    sheet = Sheet(pieces={"board": (length, width, "")})
    for number in range(draw(st.integers(0, 14))):
        cut_once(draw, sheet, saw, number)
    taken = [name for name in sheet.pieces if draw(st.booleans())]
    wanted = {
        name: Piece(id=name, species="mdf", count=1, thickness_nm=to_nm(12), length_nm=size[0], width_nm=size[1])
        for name, size in sheet.pieces.items()
        if name in taken
    }
    whole = replace(board("sheet", 1, 1, 12, species="mdf", sheet=True), length_nm=length, width_nm=width)
    parts = tuple((name, name) for name in taken)
    made = Layout(board=whole, copies=1, cuts=tuple(sheet.cuts), parts=parts, leftovers=())
    return made, wanted, saw, sheet.chips_nm2


def cut_once(draw, sheet, saw, number):
    ways = [(name, way) for name, (_, _, ran) in sheet.pieces.items() for way in "cr" if len(stages(ran + way)) <= 3]
    if not ways:
        return
    name, way = draw(st.sampled_from(ways))
    length, width, ran = sheet.pieces.pop(name)
    size, side, kerf = (length, width, saw.kerf_crosscut_nm) if way == "c" else (width, length, saw.kerf_rip_nm)
    at = draw(st.integers(0, size))
    beyond = max(0, size - at - kerf)
    sheet.chips_nm2 += (size - at - beyond) * side
    rest = f"rest-{number}" if beyond else None
    tool = Tool.CROSSCUT if way == "c" else Tool.RIP
    sheet.cuts.append(Cut(tool=tool, on=name, at_nm=at, gives=f"cut-{number}", rest=rest))
    for key, part in ((f"cut-{number}", at), (rest, beyond)):
        if part:
            sheet.pieces[key] = (part, side, ran + way) if way == "c" else (side, part, ran + way)


def stages(ran):
    """Runs of equal ways: "ccrrc" has three."""
    return [way for way, _ in itertools.groupby(ran)]


def face(area):
    return area.length_nm * area.width_nm


def apart(one, other):
    return (
        one.x_nm + one.length_nm <= other.x_nm
        or other.x_nm + other.length_nm <= one.x_nm
        or one.y_nm + one.width_nm <= other.y_nm
        or other.y_nm + other.width_nm <= one.y_nm
    )


@MANY
@given(layouts())
def test_parts_offcuts_and_kerfs_are_the_whole_board(cut):
    made, wanted, saw, chips_nm2 = cut
    laid = replay(made, wanted, saw).laid
    assert sum(face(each.area) for each in laid) + chips_nm2 == made.board.length_nm * made.board.width_nm
    assert {each.part for each in laid if each.fate is Fate.PART} == set(wanted)


@MANY
@given(layouts())
def test_no_two_pieces_lie_on_each_other_and_none_outside_the_board(cut):
    made, wanted, saw, _ = cut
    areas = [each.area for each in replay(made, wanted, saw).laid]
    assert all(apart(one, other) for one, other in itertools.combinations(areas, 2))
    for area in areas:
        assert min(area.x_nm, area.y_nm) >= 0
        assert area.x_nm + area.length_nm <= made.board.length_nm
        assert area.y_nm + area.width_nm <= made.board.width_nm


@MANY
@given(layouts(), st.data())
def test_a_part_that_is_wanted_one_nanometre_larger_is_refused(cut, data):
    made, wanted, saw, _ = cut
    if wanted:
        key = data.draw(st.sampled_from(sorted(wanted)))
        more = {**wanted, key: replace(wanted[key], width_nm=wanted[key].width_nm + 1)}
        with pytest.raises(NotCuttable, match="wanted is"):
            replay(made, more, saw)


@MANY
@given(layouts(), st.data())
def test_a_cut_moved_by_one_nanometre_spares_only_parts_that_it_does_not_touch(cut, data):
    made, wanted, saw, _ = cut
    if made.cuts:
        number = data.draw(st.integers(0, len(made.cuts) - 1))
        moved = replace(made.cuts[number], at_nm=made.cuts[number].at_nm + 1)
        tampered = replace(made, cuts=(*made.cuts[:number], moved, *made.cuts[number + 1 :]))
        try:
            laid = replay(tampered, wanted, saw).laid
        except NotCuttable:
            return
        touched = {each.name for each in laid} & {moved.gives, moved.rest}
        assert not touched & set(wanted)
