"""What an order may cost: hands, machines and waste by chance, everything else certain."""

import math
from decimal import Decimal

import numpy as np
import pytest
from builders import a_frame, a_plan, altered

from chequerwork.domain.basics.shop import Promise
from chequerwork.domain.making.chance import add_up
from chequerwork.domain.money.risk import unsure_money


def held(shop, promise, **changes):
    return a_plan(altered(shop, price={"holds_at": promise, **changes}), frame=a_frame())


def line(plan, code):
    return next(cost.amount for cost in plan.price.costs if cost.code == code)


def test_costs_are_worse_the_rarer_they_are_and_lean_to_the_dear_side(moosgrund):
    plan = held(moosgrund, Promise.EXPECTED)
    risk, cost = plan.risk, plan.price.cost_total
    assert risk.p50 < cost < risk.p80 < risk.p95
    assert risk.p95 - cost > cost - risk.p50


@pytest.mark.parametrize("promise", [Promise.P50, Promise.P80, Promise.P95])
def test_a_price_that_holds_at_a_share_is_made_of_the_cost_at_that_share(moosgrund, promise):
    """To the cent of each line; and what is promised remains of it."""
    plan, expected = held(moosgrund, promise), held(moosgrund, Promise.EXPECTED)
    assert getattr(plan.risk, promise) == plan.price.cost_total
    lines = len(plan.price.costs)
    apart = getattr(expected.risk, promise) - plan.price.cost_total
    assert abs(apart) <= Decimal("0.005") * (lines + 1)
    assert plan.price.margin_pct >= moosgrund.price.margin_pct
    assert (plan.price.total > expected.price.total) == (promise is not Promise.P50)


def test_only_work_and_waste_and_what_is_laid_on_them_spread(moosgrund):
    calm, safe = held(moosgrund, Promise.EXPECTED), held(moosgrund, Promise.P95)
    for cost in calm.price.costs:
        spreads = cost.code in ("waste", "overhead", "machine_time") or cost.code.startswith("labour_")
        assert (line(safe, cost.code) > cost.amount) == spreads, cost.code


def test_waste_is_on_average_what_the_shop_says_and_at_worst_its_most(moosgrund):
    plan = held(moosgrund, Promise.EXPECTED)
    waste = line(plan, "waste")
    given = (plan.shop, plan.tables, plan.hours)
    none, usual = unsure_money(*given, Decimal(0)), unsure_money(*given, waste)
    assert usual.mean - none.mean == pytest.approx(float(waste))
    assert usual.low == pytest.approx(none.low)
    assert usual.high - none.high == pytest.approx(2.5 * float(waste))
    worse = unsure_money(altered(plan.shop, price={"waste_high": 5.0}), plan.tables, plan.hours, waste)
    assert worse.mean == pytest.approx(usual.mean)
    assert worse.at(0.95) > usual.at(0.95)


def test_a_shop_without_spread_has_no_risk(moosgrund):
    """All waste apart: nothing of a certain cost is added or taken off."""
    plan = held(moosgrund, Promise.EXPECTED, waste_pct=Decimal(0))
    certain = tuple(each._replace(low_h=each.likely_h, high_h=each.likely_h) for each in plan.hours.work)
    found = unsure_money(plan.shop, plan.tables, altered(plan.hours, work=certain), Decimal(0))
    assert found.sd == 0.0
    assert found.at(0.95) == pytest.approx(found.mean)


@pytest.mark.slow("simulates a million orders")
@pytest.mark.parametrize("correlation", [0.0, 0.6])
def test_cost_at_a_share_is_that_of_a_million_orders(moosgrund, correlation):
    """Hours of every operation and waste drawn with a common factor, priced one by one; values by rank among draws."""
    shop = altered(moosgrund, labour={"correlation": correlation}, price={"holds_at": Promise.EXPECTED})
    plan = a_plan(shop, frame=a_frame())
    waste = line(plan, "waste")
    rate, chance, runs = float(shop.labour.rate_h), np.random.default_rng(5), 1_000_000
    spent = np.zeros(runs)
    common = chance.standard_normal(runs)
    unsure = [(rate * w.low_h, rate * w.likely_h, rate * w.high_h) for w in plan.hours.work]
    if shop.machines.rate_h:
        machine = {
            w.code: float(shop.machines.rate_h) * plan.tables.operations[w.code].machine_share for w in plan.hours.work
        }
        unsure = [
            tuple(hour_h * (rate + machine[w.code]) for hour_h in (w.low_h, w.likely_h, w.high_h))
            for w in plan.hours.work
        ]
    unsure.append((0.0, 0.875 * float(waste), 2.5 * float(waste)))
    grid = np.linspace(-5, 5, 2001)
    below = np.array([(1 + math.erf(score / math.sqrt(2))) / 2 for score in grid])
    for low, likely, high in unsure:
        at = (likely - low) / (high - low)
        drawn = np.sort(chance.beta(1 + 4 * at, 5 - 4 * at, 200_000))
        scores = math.sqrt(correlation) * common + math.sqrt(1 - correlation) * chance.standard_normal(runs)
        values = np.quantile(drawn, below)
        spent += low + (high - low) * np.interp(scores, grid, values)
    found = add_up(unsure, correlation)
    for promise, share in ((Promise.P50, 0.5), (Promise.P80, 0.8), (Promise.P95, 0.95)):
        true = float(np.quantile(spent, share))
        assert found.at(share) == pytest.approx(true, rel=0.003)
        over = (true - found.mean) * (1 + float(shop.price.overhead_pct) / 100)
        assert float(getattr(plan.risk, promise) - plan.price.cost_total) == pytest.approx(over, abs=0.003 * true)
