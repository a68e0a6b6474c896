"""Sums of uncertain terms: exact where they must be. Against a simulation they are held in tests/reference."""

import itertools
import math
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chequerwork.domain.making import chance
from chequerwork.domain.making.chance import add_up

SHARES = (0.01, 0.2, 0.5, 0.8, 0.95, 0.99)
lows, spans, places = st.floats(0, 10), st.floats(0, 10), st.floats(0, 1)
terms = st.lists(st.builds(lambda low, span, at: (low, low + at * span, low + span), lows, spans, places), min_size=1)


def binomial_tail(x, a, b):
    """Abramowitz and Stegun 26.5.24: for whole a and b the incomplete beta function is a sum of binomial terms."""
    n = a + b - 1
    return sum(math.comb(n, k) * x**k * (1 - x) ** (n - k) for k in range(a, n + 1))


@pytest.mark.parametrize("a", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("x", [1e-6, 0.01, 0.1, 0.3, 0.5, 0.77, 0.9, 0.999])
def test_the_share_below_a_value_is_the_binomial_sum(a, x):
    assert chance._share_below(x, a, 6 - a) == pytest.approx(binomial_tail(x, a, 6 - a), rel=1e-12)


def test_a_printed_percentage_point_is_ours():
    """A public calculator of percentage points prints 0.75139537 for the share 0.95 of alpha 2, beta 3."""
    assert chance._value(NormalDist().inv_cdf(0.95), 2.0, 3.0) == pytest.approx(0.75139537, abs=5e-9)


@pytest.mark.parametrize("at", [0.0, 0.2, 0.331, 0.5, 0.75, 1.0])
@pytest.mark.parametrize("score", [-7.5, -3.0, -0.5, 0.0, 0.8, 2.0, 6.0])
def test_a_value_is_where_its_share_lies_below(at, score):
    a, b = 1 + 4 * at, 5 - 4 * at
    value = chance._value(score, a, b)
    if score <= 0:
        assert chance._share_below(value, a, b) == pytest.approx(math.erfc(-score / math.sqrt(2)) / 2, rel=1e-10)
    else:
        assert chance._share_below(1 - value, b, a) == pytest.approx(math.erfc(score / math.sqrt(2)) / 2, rel=1e-8)


@pytest.mark.parametrize("share", [0.05, 0.2, 0.5, 0.8, 0.95])
def test_a_term_that_is_most_likely_at_its_end_has_a_quantile_in_one_line(share):
    """alpha 1, beta 5: 1 - (1 - p)^(1/5); mirrored, p^(1/5). Exact but for the end of the series."""
    first = add_up([(0.0, 0.0, 1.0)], 0.6).at(share)
    last = add_up([(0.0, 1.0, 1.0)], 0.6).at(share)
    assert first == pytest.approx(1 - (1 - share) ** 0.2, abs=4e-4)
    assert last == pytest.approx(share**0.2, abs=4e-4)
    score = NormalDist().inv_cdf(share)
    assert chance._value(score, 1.0, 5.0) == pytest.approx(1 - (1 - share) ** 0.2, rel=1e-12)


def test_mean_and_deviation_are_those_of_the_beta_distribution():
    """(a + 4 m + b) / 6 and sqrt((mean - a)(b - mean) / 7); independent terms add their variances."""
    found = add_up([(1.0, 2.0, 6.0)], 0.0)
    assert found.mean == pytest.approx((1 + 8 + 6) / 6)
    assert found.sd == pytest.approx(math.sqrt((2.5 - 1) * (6 - 2.5) / 7), rel=1e-6)
    twice = add_up([(1.0, 2.0, 6.0)] * 2, 0.0)
    assert twice.sd == pytest.approx(found.sd * math.sqrt(2), rel=1e-6)
    assert twice.correlation == pytest.approx(0.0, abs=1e-6)


def test_terms_that_go_together_entirely_are_one_term():
    one, two = add_up([(2.0, 4.0, 12.0)], 1.0), add_up([(1.0, 2.0, 6.0)] * 2, 1.0)
    assert [two.at(share) for share in SHARES] == pytest.approx([one.at(share) for share in SHARES])
    assert two.correlation == pytest.approx(1.0)


def test_what_is_certain_moves_the_sum_and_nothing_else():
    bare, more = add_up([(1.0, 2.0, 6.0)], 0.5), add_up([(1.0, 2.0, 6.0), (3.0, 3.0, 3.0)], 0.5)
    assert [more.at(share) - 3 for share in SHARES] == pytest.approx([bare.at(share) for share in SHARES])
    certain = add_up([(3.0, 3.0, 3.0), (1.0, 1.0, 1.0)], 0.5)
    assert (certain.mean, certain.sd, certain.at(0.8)) == (4.0, 0.0, 4.0)
    assert add_up([], 0.5).at(0.95) == 0.0


def test_correlation_widens_a_sum_and_leaves_its_mean():
    norm = [(0.5, 0.78, 1.6), (0.4, 0.65, 1.3), (0.3, 0.672, 2.5), (1.0, 1.7, 3.5)]
    sums = [add_up(norm, correlation) for correlation in (0.0, 0.3, 0.6, 1.0)]
    assert len({round(each.mean, 9) for each in sums}) == 1
    assert [each.sd for each in sums] == sorted(each.sd for each in sums)
    assert [each.at(0.95) for each in sums] == sorted(each.at(0.95) for each in sums)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(terms, places)
def test_a_safer_value_is_no_smaller_and_all_lie_between_the_outer_points(terms, correlation):
    found = add_up(terms, correlation)
    values = [found.at(share) for share in SHARES]
    slack = 1e-9 * (1 + found.high)
    assert all(later >= earlier - slack for earlier, later in itertools.pairwise(values))
    assert found.low - slack <= values[0]
    assert values[-1] <= found.high + slack
    assert found.low - slack <= found.mean <= found.high + slack
