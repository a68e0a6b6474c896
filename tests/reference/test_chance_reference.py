"""Percentiles of hours against a simulation of a million runs, which knows nothing of how the service finds them.

Without correlation every operation is drawn by numpy's own beta generator. With it, normal scores that share a factor
are drawn and read through each operation's distribution, whose density is integrated on a fine grid. The noise of a
simulation is about 0.02 % of the hours. The issue asks for 1 %; orders are held to 0.3 %.
"""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from builders import TODAY, demo_shops, demo_tables

from chequerwork.api.examples import FIRST, ORDERS
from chequerwork.api.schemas import order_of, read_order
from chequerwork.domain.making.chance import add_up
from chequerwork.domain.plan import Plan

pytestmark = pytest.mark.slow("simulates a million orders again and again")

RUNS = 1_000_000
SHARES = (0.50, 0.80, 0.95)
NARROW, ASKED = 0.003, 0.01  # ours, and the issue's
CORRELATIONS = (0.0, 0.3, 0.5, 1.0)
SCORES = np.linspace(-6.0, 6.0, 12_001)
BELOW = np.array([(1 + math.erf(score / math.sqrt(2))) / 2 for score in SCORES])
VALUES = np.linspace(0.0, 1.0, 200_001)


def hours_of(name):
    reading = read_order(dict(ORDERS[name]))
    shop = demo_shops()[reading.shop or next(iter(demo_shops()))]
    return Plan(order_of(reading, shop=shop, tables=demo_tables(), today=TODAY), shop, demo_tables()).hours


def alpha_beta(low, likely, high):
    at = (likely - low) / (high - low)
    return 1 + 4 * at, 5 - 4 * at


@cache
def values_at_scores(alpha, beta):
    """Values of a beta variable at the scores of the grid, from its density alone."""
    density = VALUES ** (alpha - 1) * (1 - VALUES) ** (beta - 1)
    share = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2)))
    return np.interp(BELOW, share / share[-1], VALUES)


def simulated(terms, correlation):
    """A million sums; the seed is fixed."""
    chance, sums = np.random.default_rng(20270201), np.zeros(RUNS)
    common = chance.standard_normal(RUNS, dtype=np.float32)
    for low, likely, high in terms:
        if high == low:
            sums += low
            continue
        alpha, beta = alpha_beta(low, likely, high)
        if correlation == 0:
            drawn = chance.beta(alpha, beta, RUNS)
        else:
            own = chance.standard_normal(RUNS, dtype=np.float32)
            scores = math.sqrt(correlation) * common + math.sqrt(1 - correlation) * own
            place = np.clip((scores + 6) * 1000 + 0.5, 0, len(SCORES) - 1).astype(np.int32)
            drawn = values_at_scores(round(alpha, 9), round(beta, 9))[place]
        sums += low + (high - low) * drawn
    return sums


def apart(terms, correlation):
    """How far ours is from the simulation at each share, as a fraction; then mean and standard deviation."""
    ours, theirs = add_up(terms, correlation), simulated(terms, correlation)
    off = [ours.at(share) / float(np.quantile(theirs, share)) - 1 for share in SHARES]
    return [*off, ours.mean / float(theirs.mean()) - 1, ours.sd / float(theirs.std()) - 1]


def test_the_orders_percentiles_are_those_of_the_simulation_at_the_shops_correlation():
    """README's example order."""
    hours = hours_of(FIRST)
    theirs = np.quantile(simulated(hours.terms, hours.correlation), SHARES)
    assert (hours.p50_h, hours.p80_h, hours.p95_h) == pytest.approx(tuple(theirs), rel=NARROW)


@pytest.mark.parametrize("correlation", CORRELATIONS)
def test_at_any_correlation(correlation):
    *quantiles, mean, sd = apart(hours_of(FIRST).terms, correlation)
    assert max(map(abs, quantiles)) < NARROW
    assert abs(mean) < 0.001
    assert abs(sd) < 0.004


@pytest.mark.parametrize("name", sorted(set(ORDERS) - {FIRST}))
def test_other_orders_at_the_correlation_of_their_shop(name):
    hours = hours_of(name)
    *quantiles, _, _ = apart(hours.terms, hours.correlation)
    assert max(map(abs, quantiles)) < NARROW


@pytest.mark.parametrize("correlation", [0.0, 0.5])
def test_a_shop_one_of_whose_operations_seldom_goes_well(correlation):
    """Flattening is most likely its least, and may take six times as long."""
    hours = hours_of(FIRST)
    work = tuple(
        each._replace(low_h=each.likely_h, high_h=6 * each.likely_h) if each.code == "flatten_field" else each
        for each in hours.work
    )
    *quantiles, _, _ = apart(replace(hours, work=work).terms, correlation)
    assert max(map(abs, quantiles)) < ASKED


@pytest.mark.parametrize(
    ("terms", "most"),
    [
        (((1.0, 2.0, 3.0),), 0.002),  # alone
        (((1.0, 1.0, 10.0),), 0.004),  # alone, and as skewed as can be
        (((1.0, 1.0, 10.0), (2.0, 2.0, 2.0), (1.0, 3.0, 3.0)), 0.01),  # with one that is certain and one the other way
    ],
)
def test_few_terms(terms, most):
    *quantiles, _, _ = apart(terms, 0.5)
    assert max(map(abs, quantiles)) < most


def test_the_worst_that_we_know_of_is_no_worse_than_its_documentation_says():
    """Two terms, each as skewed as can be, in opposite directions, without correlation."""
    *quantiles, _, _ = apart(((1.0, 1.0, 10.0), (1.0, 10.0, 10.0)), 0.0)
    assert 0.01 < max(map(abs, quantiles)) < 0.015
