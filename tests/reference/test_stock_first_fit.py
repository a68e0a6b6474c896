"""Stock plans against first fit, longest first: never dearer. First fit itself is never cheaper than the optimum."""

from fractions import Fraction

import pytest
from bench.first_fit import first_fit
from reference.stock.brute_force import least_cost_by_trial
from reference.stock.random_cases import random_case
from stock_builders import describe, planned


@pytest.mark.parametrize("seed", range(100))
def test_first_fit_is_never_below_the_optimum(seed):
    """So that it keeps to the rules of the saw bench."""
    case = random_case(20_000 + seed, boards=2, pieces=5, leftovers=True)
    fitted, least = first_fit(*case), least_cost_by_trial(*case)
    assert fitted is None or fitted[0] >= least, describe(*case)


@pytest.mark.parametrize("seed", range(40))
def test_a_plan_is_never_dearer_than_first_fit(seed):
    case = random_case(seed, boards=20, pieces=20, leftovers=seed % 2 == 1)
    fitted = first_fit(*case)
    if fitted is not None:
        plan = planned(case.pieces, case.boards, case.saw)
        assert not plan.missing, describe(*case)
        assert Fraction(plan.cost) <= fitted[0] + Fraction(1, 200), describe(*case)
