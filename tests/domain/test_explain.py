"""What an explanation holds; that it is true of every order is among the properties."""

import pytest
from builders import a_frame, a_plan

from chequerwork.domain.basics.arithmetic import total
from chequerwork.domain.explain import explain
from chequerwork.domain.explain.steps import Ledger
from chequerwork.domain.order.order import DraughtsMan
from chequerwork.domain.order.request import BaseRequest
from chequerwork.domain.plan import SECTIONS

WORKSHOP = {"cutting", "materials", "finishing", "schedule"}


def places(plan, section, *, workshop=True):
    return {step.at[1:] for step in explain(plan, (section,), workshop=workshop)[section] if step.part is None}


def test_only_what_is_asked_is_explained():
    plan = a_plan()
    assert list(explain(plan, ("movement", "packing"), workshop=False)) == ["movement", "packing"]
    assert set(explain(plan, SECTIONS, workshop=True)) == set(SECTIONS)


def test_a_customer_gets_no_steps_of_the_workshops_sections():
    found = explain(a_plan(), SECTIONS, workshop=False)
    assert {name for name in WORKSHOP if found[name]} == set()
    assert all(found[name] for name in ("geometry", "movement", "packing", "price"))


def test_what_a_board_does_not_have_is_not_explained():
    bare, built = a_plan(), a_plan(frame=a_frame(), base=BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=45.0))
    assert ("mitre_gap_mm",) in places(built, "movement") - places(bare, "movement")
    assert ("bow_mm",) in places(built, "movement") - places(bare, "movement")
    assert ("frame", "tongue_mm") in places(built, "geometry") - places(bare, "geometry")


def test_a_given_square_is_no_result_and_a_derived_one_is():
    """BOARD-STD section 3: a man of 35 mm and 6 mm of room; the metric step is 0.5 mm."""
    assert ("square_mm",) not in places(a_plan(), "geometry")
    derived = a_plan(square_mm=None, pieces=DraughtsMan(man_mm=35.0))
    steps = [step for step in explain(derived, ("geometry",), workshop=False)["geometry"] if step.at[1] == "square_mm"]
    assert [step.result for step in steps] == [41.0, 41.0]
    assert steps[0].inputs == {"size_mm": 35.0, "count": 1, "allowance_mm": 6.0}


def test_amounts_are_in_the_shops_currency(willet_slough):
    units = {step.unit for step in explain(a_plan(willet_slough), ("price",), workshop=False)["price"]}
    assert units == {"USD"}


def test_a_formula_of_any_unit_must_say_which():
    ledger = Ledger(a_plan(), "geometry")
    with pytest.raises(ValueError, match="any unit"):
        ledger.at("mass_kg")(total, parts=(1.0, 2.0))
    assert ledger.at("mass_kg", unit="kg")(total, parts=(1.0, 2.0)) == 3.0
    (step,) = ledger.steps
    assert (step.at, step.result, step.unit) == (("geometry", "mass_kg"), 3.0, "kg")
