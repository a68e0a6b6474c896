"""Will it stay flat: the layers of a board, its bow both ways, and the backing that balances it."""

from dataclasses import replace

import pytest
from builders import a_frame, a_plan, an_order
from hypothesis import given, settings
from hypothesis import strategies as st

from chequerwork.domain.basics.facts import Grain
from chequerwork.domain.order.order import Backing, Hold
from chequerwork.domain.order.request import BackingRequest, BaseRequest, ClimateRequest, GrainRequest
from chequerwork.domain.wood.flatness import (
    FREE,
    Layer,
    balance_score,
    balancing_mm,
    bow_mm,
    curvature,
    field_ply,
    flatten,
)
from chequerwork.domain.wood.movement import swing, year_of
from chequerwork.domain.wood.timber import modulus_across_mpa

CASES = settings(max_examples=300, deadline=None, derandomize=True)
MDF = BaseRequest(material="mdf", thickness_mm=9.0)
PLYWOOD = BaseRequest(material="birch_plywood", thickness_mm=9.0)


def flat(plan):
    return plan.movement.flatness


# Layers ---------------------------------------------------------------------------------------------------------------


def test_one_layer_alone_stays_flat():
    assert curvature([Layer(12.0, 2500.0, 0.01)]) == pytest.approx(0, abs=1e-15)


def test_the_longer_layer_is_on_the_convex_side():
    long_above = [Layer(6, 1000, 0.0), Layer(6, 1000, 0.01)]
    assert curvature(long_above) > 0 > curvature(long_above[::-1])


def test_a_layer_cut_in_two_bends_as_the_whole():
    """However a layer is divided, the stack is the same."""
    whole = [Layer(9, 2700, 0.001), Layer(8, 800, 0.01)]
    parts = [Layer(4, 2700, 0.001), Layer(5, 2700, 0.001), Layer(3, 800, 0.01), Layer(5, 800, 0.01)]
    assert curvature(parts) == pytest.approx(curvature(whole))


thicknesses, moduli, strains = st.floats(0.5, 40), st.floats(300, 15000), st.floats(-0.02, 0.02)
layers = st.lists(st.builds(Layer, thicknesses, moduli, strains), min_size=1, max_size=4)


@CASES
@given(layers, moduli, strains)
def test_a_balancing_backing_leaves_no_bow(given_layers, modulus_mpa, strain):
    """Its thickness is put below the layers, and the stack is bent as any other."""
    thickness_mm = balancing_mm(given_layers, Layer(0.0, modulus_mpa, strain))
    if thickness_mm is None or thickness_mm > 1000:
        return
    alone = abs(curvature([Layer(thickness_mm, modulus_mpa, 0.0), *given_layers]))
    left = abs(curvature([Layer(thickness_mm, modulus_mpa, strain), *given_layers]))
    assert left <= max(1e-9, 1e-5 * alone)


def test_equal_layers_balance_each_other():
    """WOOD-NOTES section 4: the same layer on the back. The backing's thickness is found, not put in."""
    face, core = Layer(6.0, 820.0, 0.0106), Layer(12.0, 2500.0, 0.001)
    assert balancing_mm([core, face], face._replace(thickness_mm=0.0)) == pytest.approx(6.0)


def test_a_stiffer_backing_may_be_thinner():
    face, core = Layer(6.0, 820.0, 0.0106), Layer(12.0, 2500.0, 0.001)
    assert balancing_mm([core, face], Layer(0.0, 1640.0, 0.0106)) < 6.0


def test_a_backing_that_moves_as_little_as_the_core_never_balances():
    assert balancing_mm([Layer(12.0, 2500.0, 0.0), Layer(6.0, 820.0, 0.01)], Layer(0.0, 820.0, -0.01)) is None


@pytest.mark.parametrize(("face_mm", "back_mm", "score"), [(6, 6, 0), (6, 0, 1), (6, 3, 0.5), (3, 6, 1)])
def test_balance_is_the_ratio_of_thicknesses(face_mm, back_mm, score):
    assert balance_score(face_mm=face_mm, back_mm=back_mm) == score


def test_bow_grows_with_the_square_of_the_length():
    assert bow_mm(bend=-1e-4, length_mm=800) == pytest.approx(4 * bow_mm(bend=1e-4, length_mm=400))


# One board ------------------------------------------------------------------------------------------------------------


def test_without_a_base_nothing_bows(moosgrund):
    assert flat(a_plan(moosgrund)) == FREE


def test_a_floating_field_does_not_bow_with_a_base_under_the_rails(moosgrund):
    assert flat(a_plan(moosgrund, frame=a_frame(), base=MDF)) == FREE


def test_a_base_inside_the_frame_is_glued_even_where_the_field_floats(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame(), base=replace(MDF, inset_mm=50.0))
    assert flat(plan).across_mm > 1


def test_bow_across_grows_with_the_square_of_the_width_and_along_with_the_length(moosgrund):
    narrow, wide, long = (
        flat(a_plan(moosgrund, base=MDF, columns=columns, rows=rows)) for columns, rows in ((4, 4), (8, 4), (4, 8))
    )
    assert wide.across_mm == pytest.approx(4 * narrow.across_mm)
    assert wide.along_mm == pytest.approx(narrow.along_mm)
    assert long.along_mm == pytest.approx(4 * narrow.along_mm)


def test_along_the_grain_it_is_the_sheet_that_moves(moosgrund):
    """Wood hardly moves along its grain, so a lively sheet bends the board that way, and far less than across."""
    lively, calm = flat(a_plan(moosgrund, base=MDF)), flat(a_plan(moosgrund, base=PLYWOOD))
    assert 0 < lively.along_mm < 0.2 * lively.across_mm
    assert calm.along_mm < lively.along_mm


def test_the_field_is_hollow_where_it_has_shrunk_more_than_its_base(moosgrund):
    """The driest season far from the workshop's 48 %, or the dampest."""
    dry = a_plan(moosgrund, base=MDF, climate=ClimateRequest(low_rh_pct=15.0, high_rh_pct=50.0))
    damp = a_plan(moosgrund, base=MDF, climate=ClimateRequest(low_rh_pct=45.0, high_rh_pct=80.0))
    assert (flat(dry).hollow, flat(damp).hollow) == ("top", "underside")


def test_a_quarter_sawn_field_bows_less(moosgrund):
    quarter = GrainRequest(light=Grain.QUARTER, dark=Grain.QUARTER)
    assert flat(a_plan(moosgrund, base=MDF, grain=quarter)).across_mm < flat(a_plan(moosgrund, base=MDF)).across_mm


def test_a_thicker_backing_takes_more_of_the_bow(moosgrund):
    """Up to balance; the shop's range ends well before it."""
    bows = [
        flat(a_plan(moosgrund, thickness_mm=10.0, base=replace(MDF, backing=backing))).across_mm
        for backing in (None, *(BackingRequest(species="sycamore_maple", thickness_mm=t) for t in (1.0, 2.0, 4.0, 6.0)))
    ]
    assert bows == sorted(bows, reverse=True)
    assert bows[-1] < 0.7 * bows[0]


def test_timbers_side_by_side_act_in_series(moosgrund, tables):
    """WOOD-NOTES 4.1: 1/E = sum f/E and e = sum f e, by the share of the columns."""
    order = an_order(moosgrund, columns=9)
    year = year_of(order.climate, moosgrund.workshop_climate, tables)
    maple, walnut = tables.species["sycamore_maple"], tables.species["european_walnut"]
    ply = field_ply(order.field, tables, swing(order.field, moosgrund.lumber, year))
    softness = 5 / 9 / modulus_across_mpa(maple, Grain.FLAT) + 4 / 9 / modulus_across_mpa(walnut, Grain.MIXED)
    assert ply.modulus_mpa == pytest.approx(1 / softness)
    lively, calm = year.strain("sycamore_maple", Grain.FLAT), year.strain("european_walnut", Grain.MIXED)
    assert ply.damp == pytest.approx(5 / 9 * lively.damp + 4 / 9 * calm.damp)
    assert ply.thickness_mm == 18.0


def test_the_backing_that_would_balance_leaves_next_to_nothing(moosgrund, tables):
    """Told in the answer also where it is thicker than the shop makes one."""
    plan = a_plan(moosgrund, base=MDF)
    found = plan.balance
    assert found.species == "sycamore_maple"  # the livelier of the two
    assert found.left_mm < 0.2 * flat(plan).across_mm
    backing = Backing(species=found.species, thickness_mm=found.thickness_mm, grain=found.grain)
    base = replace(plan.order.base, backing=backing)
    assert flatten(plan.order.field, None, base, tables, plan.year, plan.swing).across_mm == pytest.approx(
        found.left_mm
    )


def test_there_is_nothing_to_balance_without_a_glued_base(moosgrund):
    for changes in ({}, {"frame": a_frame(), "base": MDF}):
        plan = a_plan(moosgrund, **changes)
        assert plan.balance is None


def test_the_score_says_how_one_sided_it_is(moosgrund):
    backing = BackingRequest(species="pear", thickness_mm=6.0)
    scores = [
        flat(a_plan(moosgrund, thickness_mm=12.0, base=base)).balance_score
        for base in (MDF, replace(MDF, backing=backing))
    ]
    assert scores == [1.0, 0.5]


def test_a_glued_frame_does_not_keep_the_bow_away(moosgrund):
    plan = a_plan(moosgrund, frame=a_frame(hold=Hold.GLUED), base=MDF)
    assert flat(plan).across_mm == flat(a_plan(moosgrund, base=MDF)).across_mm
