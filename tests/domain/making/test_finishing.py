"""Ladders, coats and amounts."""

import itertools

import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.making.finishing import FIRST_GRADE, RATIO_MOST, ladder
from chequerwork.domain.order.order import Hold
from chequerwork.domain.order.request import SandingRequest


def grades(steps):
    return [step.grade for step in steps]


def test_a_ladder_starts_at_p80_and_ends_at_the_last_grade(tables):
    assert grades(ladder(tables, "P180")) == ["P80", "P120", "P180"]
    assert grades(ladder(tables, "P120")) == ["P80", "P120"]


def test_the_first_step_has_no_ratio_and_the_others_have_theirs(tables):
    steps = ladder(tables, "P180")
    assert steps[0].ratio is None
    for before, after in itertools.pairwise(steps):
        assert after.ratio == pytest.approx(before.particle_um / after.particle_um)


@pytest.mark.parametrize("last", ["P80", "P60", "P12"])
def test_a_last_grade_no_finer_than_the_first_is_the_whole_ladder(tables, last):
    (step,) = ladder(tables, last)
    assert (step.grade, step.ratio) == (last, None)


def test_no_step_is_larger_than_asked_or_the_series_allows(tables):
    """The series has no two neighbours farther apart than 1.7 from P80 on, so no step is."""
    for last in tables.abrasives:
        for step in ladder(tables, last)[1:]:
            assert 1 < step.ratio <= RATIO_MOST


def test_no_ladder_could_be_shorter(tables):
    """Fewest steps by search over every way through the series."""
    series = sorted(tables.abrasives.values(), key=lambda each: -each.particle_um)
    start = next(index for index, each in enumerate(series) if each.grade == FIRST_GRADE)
    fewest = {series[start].grade: 0}
    for index in range(start + 1, len(series)):
        within = [
            fewest[each.grade]
            for each in series[start:index]
            if each.particle_um / series[index].particle_um <= RATIO_MOST
        ]
        fewest[series[index].grade] = 1 + min(within)
    assert {grade: len(ladder(tables, grade)) - 1 for grade in fewest} == fewest


def test_a_gap_in_the_series_is_stepped_over(tables):
    """At 1.05 every neighbour is too far, so every grade of the series is used."""
    assert grades(ladder(tables, "P180", most=1.05)) == ["P80", "P100", "P120", "P150", "P180"]


def test_both_faces_and_the_edges_are_finished(moosgrund):
    """384 x 384 x 18: 2 x 0.147456 + 4 x 0.384 x 0.018 m2; hardwax oil covers 24 m2 a litre, 20 % stays in the tin."""
    finishing = a_plan(moosgrund).finishing
    assert finishing.area_m2 == pytest.approx(2 * 0.384**2 + 4 * 0.384 * 0.018)
    assert [coat.finish_ml for coat in finishing.coats] == pytest.approx([finishing.area_m2 / 24 * 1000 * 1.2] * 2)
    assert finishing.finish_ml == pytest.approx(sum(coat.finish_ml for coat in finishing.coats))


def test_a_framed_board_is_finished_outside_its_frame(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED, thickness_mm=22.0))
    assert plan.finishing.area_m2 == pytest.approx(2 * 0.474**2 + 4 * 0.474 * 0.022)


def test_edges_are_sanded_with_the_top(moosgrund):
    """Three grades above and on the edges, two below."""
    finishing = a_plan(moosgrund).finishing
    face_m2, edge_m2 = 0.384**2, 4 * 0.384 * 0.018
    assert (grades(finishing.top), grades(finishing.underside)) == (["P80", "P120", "P180"], ["P80", "P120"])
    assert finishing.sanded_m2 == pytest.approx(3 * (face_m2 + edge_m2) + 2 * face_m2)


def test_wished_grades_lengthen_or_shorten_the_ladder(moosgrund):
    finishing = a_plan(moosgrund, sanding=SandingRequest(top="P240", underside="P80")).finishing
    assert grades(finishing.top) == ["P80", "P120", "P180", "P240"]
    assert grades(finishing.underside) == ["P80"]


def test_coats_wait_for_the_next_one_and_the_last_for_the_hand(moosgrund, tables):
    finish = tables.finishes["waterborne_polyurethane"]
    coats = a_plan(moosgrund, finish="waterborne_polyurethane").finishing.coats
    assert [coat.number for coat in coats] == [1, 2, 3]
    assert [coat.wait_h for coat in coats] == [finish.recoat_h, finish.recoat_h, finish.handle_h]
    assert [coat.sand_before for coat in coats] == [None, "P320", "P320"]


def test_a_finish_that_is_not_sanded_between_coats_has_no_such_grade(moosgrund):
    assert {coat.sand_before for coat in a_plan(moosgrund, finish="oil_varnish_blend").finishing.coats} == {None}


@pytest.mark.parametrize(
    ("top", "word"), [("P80", "coarser"), ("P100", "coarser"), ("P220", "finer"), ("P400", "finer")]
)
def test_a_last_grade_the_finish_does_not_want_is_advice(moosgrund, top, word):
    """Hardwax oil wants P120 to P180 on bare wood."""
    (advice,) = a_plan(moosgrund, sanding=SandingRequest(top=top)).finishing.advice
    assert (advice.code, advice.severity) == ("last-grade", Severity.CAUTION)
    assert f"{top} is {word}" in advice.text
    assert "P120 to P180" in advice.text


@pytest.mark.parametrize("top", ["P120", "P150", "P180"])
def test_grades_the_finish_wants_bring_no_advice(moosgrund, top):
    assert a_plan(moosgrund, sanding=SandingRequest(top=top)).finishing.advice == ()


def test_a_cold_workshop_is_told_before_it_finishes(moosgrund):
    cold = altered(moosgrund, workshop_climate={"temperature_c": 15.0})
    (advice,) = a_plan(cold).finishing.advice
    assert (advice.code, advice.audience) == ("cold-for-finish", Audience.WORKSHOP)
    assert "at least 16 degC" in advice.text
