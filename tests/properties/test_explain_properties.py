"""An explanation cannot lie: each number it tells is the one that the answer shows, and follows from its own inputs."""

import math
from collections.abc import Mapping
from decimal import Decimal

import pytest
from builders import altered, demo_shops, demo_tables, orders
from formulas import calculated
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from chequerwork.api.views import section
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import LearningForm, Promise
from chequerwork.domain.explain import explain
from chequerwork.domain.plan import SECTIONS, Plan

pytestmark = pytest.mark.slow("random orders")

TABLES = demo_tables()
FEW = settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
# The demo shops, and each once more as one that promises more than its mean and learns from batches.
SAFER = {"price": {"holds_at": Promise.P80}, "labour": {"learning": 0.9, "learning_form": LearningForm.UNIT}}
shops = st.sampled_from([shop for demo in demo_shops().values() for shop in (demo, altered(demo, **SAFER))])
plans = shops.flatmap(lambda shop: orders(shop, TABLES).map(lambda order: Plan(order, shop, TABLES)))


def explained(plan, *, workshop=True):
    """Steps of every section; a board that no parcel of the shop carries is drawn again."""
    try:
        return explain(plan, SECTIONS, workshop=workshop)
    except Refused:
        assume(condition=False)
        raise


def shown_at(tree, step):
    here = tree
    for part in step.at:
        here = here[part]
    return here


def same(shown, result) -> bool:
    """Whether a shown number is the result, rounded as it is shown; zeros at its end may be cut."""
    if isinstance(result, Decimal):
        told = Decimal(str(shown))
        return told == round(result, max(0, -told.as_tuple().exponent))
    if isinstance(shown, str):
        return f"{result:.2f} kg" in shown  # a mass inside a sentence
    if isinstance(shown, bool | int):
        return shown == result
    decimals = len(repr(shown).partition(".")[2])
    return any(round(result, places) == shown for places in range(decimals, 7))


@FEW
@given(plans, st.booleans())
def test_every_explained_number_is_the_one_that_is_shown(plan, workshop):
    for name, steps in explained(plan, workshop=workshop).items():
        tree = section(plan, name, workshop=workshop) if steps else {}
        for step in steps:
            if step.part is None:
                assert same(shown_at(tree, step), step.result), (step.formula.key, step.at, step.result)


@FEW
@given(plans)
def test_a_calculator_gets_every_explained_number_from_what_is_told(plan):
    for steps in explained(plan).values():
        for step in steps:
            by_hand = calculated(step.formula.expression, step.inputs)
            # Amounts take quantities at nine decimals, where a tie may fall to either side.
            precision = 1e-7 if isinstance(step.result, Decimal) else 1e-9
            close = math.isclose(by_hand, step.result, rel_tol=precision, abs_tol=precision)
            assert close, (step.formula.key, step.inputs, step.result, by_hand)


@FEW
@given(plans)
def test_every_part_is_used_in_a_later_step(plan):
    """So that no number is told which leads nowhere."""
    for steps in explained(plan).values():
        for number, step in enumerate(steps):
            if step.part is not None:
                later = {value for other in steps[number + 1 :] for value in numbers(other.inputs)}
                assert step.result in later, (step.formula.key, step.part, step.at)


def numbers(inputs: Mapping):
    for value in inputs.values():
        yield from value if isinstance(value, tuple) else (value,)


@FEW
@given(plans)
def test_each_place_is_explained_once(plan):
    for steps in explained(plan).values():
        places = [step.at for step in steps if step.part is None]
        assert len(places) == len(set(places))
