"""The work plan of shops that count clamps and hands, have booked hours, or build in another order."""

import itertools
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

import pytest
from builders import a_frame, a_plan, altered, demo_tables
from schedule_builders import steps_of

from chequerwork.domain.basics.advice import Audience
from chequerwork.domain.basics.errors import Refused
from chequerwork.domain.basics.shop import Booking, OwnHours, Promise
from chequerwork.domain.making.schedule.work_plan import dates
from chequerwork.domain.order.order import Line
from chequerwork.domain.order.request import BaseRequest

VIENNA = ZoneInfo("Europe/Vienna")


def full_plan(shop, **changes):
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    lines = (Line(species="pear", width_mm=3.0),)
    return a_plan(shop, **{"frame": a_frame(), "lines": lines, "base": base, **changes})


def by_code(plan):
    return {step.code: step for step in steps_of(plan.schedule)}


def path(plan):
    return [plan.schedule.placement.network.nodes[place].code for place in plan.slack.path]


def test_wood_that_lies_is_not_milled_before(moosgrund):
    """Seven days from the first hour on; nobody works meanwhile, and no sheet is cut either."""
    shop = altered(moosgrund, workflow={"acclimatise_days": 7})
    plan = full_plan(shop)
    steps = by_code(plan)
    assert (steps["acclimatise"].hands_on_min, steps["acclimatise"].waiting_min) == (0, 7 * 24 * 60)
    assert steps["acclimatise"].starts_at == datetime(2027, 2, 1, 7, 30, tzinfo=VIENNA)
    assert steps["mill"].starts_at == datetime(2027, 2, 8, 7, 30, tzinfo=VIENNA)
    assert steps["mill"].after == ("acclimatise",)
    assert path(plan)[:2] == ["acclimatise", "mill"]


def test_a_shop_may_wait_for_other_steps(moosgrund):
    shop = altered(moosgrund, workflow={"after": (("mill_rails", ("trim_field",)), ("rip_lines", ("trim_field",)))})
    steps = by_code(full_plan(shop))
    assert steps["mill_rails"].after == steps["rip_lines"].after == ("trim_field",)
    assert steps["mill_rails"].starts_at >= steps["trim_field"].ends_at


def test_what_a_board_does_not_have_is_handed_through(moosgrund):
    """A shop whose bases wait for the lines; a board without lines."""
    shop = altered(moosgrund, workflow={"after": (("base", ("lines", "cut_base")),)})
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    assert by_code(a_plan(shop, base=base))["base"].after == ("trim_field", "cut_base")


def test_two_pairs_of_hands_work_side_by_side(moosgrund):
    """A batch of twenty: sooner with two, and never more than two at once."""
    one = full_plan(moosgrund, quantity=20).schedule
    two = full_plan(altered(moosgrund, calendar={"hands": 2}), quantity=20).schedule
    assert two.dates.ready_on < one.dates.ready_on
    spans = [(step.begin_min, step.end_min) for step in steps_of(two)]
    busy = [sum(begin <= moment < end for begin, end in spans) for moment, _ in spans]
    assert max(busy) == 2


def test_booked_hours_are_not_worked(moosgrund):
    """A week booked whole is passed over; half of a day leaves its second half."""
    week = Booking(first=date(2027, 2, 1), last=date(2027, 2, 5), taken=(1.0, 0))
    assert full_plan(altered(moosgrund, calendar={"booked": (week,)})).schedule.dates.starts_on == date(2027, 2, 8)
    half = Booking(first=date(2027, 2, 1), last=date(2027, 2, 1), taken=(0.5, 0))
    first = steps_of(full_plan(altered(moosgrund, calendar={"booked": (half,)})).schedule)[0]
    assert first.starts_at.time() == time(11, 38)  # of 495 min the first 248 are taken
    hours = Booking(first=date(2027, 2, 1), last=date(2027, 2, 1), taken=(0.0, 300))
    first = steps_of(full_plan(altered(moosgrund, calendar={"booked": (half, hours)})).schedule)[0]
    assert first.starts_at == datetime(2027, 2, 2, 7, 30, tzinfo=VIENNA)  # more than the day has: all of it


def test_bookings_without_an_end_are_refused(moosgrund):
    for_ever = Booking(first=date(2027, 1, 1), last=date(2199, 12, 31), taken=(1.0, 0))
    with pytest.raises(Refused) as refused:
        _ = full_plan(altered(moosgrund, calendar={"booked": (for_ever,)})).schedule
    assert [(fault.at, fault.code) for fault in refused.value.faults] == [(("quantity",), "no-room")]


def test_clamps_make_rounds(moosgrund):
    """Five boards, each glued with as many clamps as it takes, in a shop with clamps for two."""
    each = {glue_up.stage: glue_up.clamps for glue_up in a_plan(moosgrund).glue_ups}
    shop = altered(moosgrund, machines={"clamps": 2 * each["strips"]})
    plan = a_plan(shop, quantity=5)
    rounds = [step for step in steps_of(plan.schedule) if step.step == "glue_strips"]
    assert [(step.code, step.boards, step.round) for step in rounds] == [
        ("glue_strips_1", 2, 1), ("glue_strips_2", 2, 2), ("glue_strips_3", 1, 3),
    ]  # fmt: skip
    clamp_min = plan.tables.adhesives["pva_d3"].clamp_h * 60
    for before, after in itertools.pairwise(rounds):
        assert after.begin_min >= before.end_min + clamp_min
    flatten = by_code(plan)["flatten_strips"]
    assert flatten.after == ("glue_strips_1", "glue_strips_2", "glue_strips_3")
    assert flatten.begin_min >= rounds[-1].end_min + rounds[-1].waiting_min


def test_too_few_clamps_are_told_and_the_plan_uses_all_of_them(moosgrund):
    shop = altered(moosgrund, machines={"clamps": 1})
    plan = full_plan(shop)
    advice = [each for each in plan.schedule.advice if each.code == "too-few-clamps"]
    assert advice
    assert all(each.audience is Audience.WORKSHOP for each in advice)
    assert max(plan.schedule.placement.means.pools[0].need) == 1


def test_a_press_takes_one_base_at_a_time(moosgrund):
    shop = altered(moosgrund, machines={"presses": 1})
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    bases = [step for step in steps_of(a_plan(shop, base=base, quantity=3).schedule) if step.step == "base"]
    assert [step.boards for step in bases] == [1, 1, 1]
    for before, after in itertools.pairwise(bases):
        assert after.begin_min >= before.end_min + 60


def test_work_that_takes_no_time_still_has_its_place(moosgrund):
    """A shop that says 0 h for everything it does."""
    nothing = {code: OwnHours(setup_h=0.0, unit_h=0.0) for code in demo_tables().operations}
    plan = full_plan(altered(moosgrund, labour={"hours": nothing}))
    assert {step.hands_on_min for step in steps_of(plan.schedule)} == {0}
    assert min(plan.slack.float_min) >= 0
    assert path(plan)[-1] == "pack"
    assert plan.ready.p50 == plan.schedule.dates.ready_on


def test_ready_days_follow_the_hours(moosgrund):
    """A batch of thirty is ready later with the hours of one order in twenty."""
    ready = full_plan(moosgrund, quantity=30).ready
    assert ready.p50 < ready.p80 < ready.p95


@pytest.mark.parametrize("promise", [Promise.P50, Promise.P80, Promise.P95])
def test_a_customer_is_promised_days_as_safe_as_the_shop_says(moosgrund, promise):
    plan = full_plan(altered(moosgrund, calendar={"holds_at": promise}), quantity=12)
    assert plan.schedule.dates.ready_on == getattr(plan.ready, promise.value)


def test_days_alone_are_those_of_the_plan(moosgrund):
    for quantity in (1, 7):
        plan = full_plan(moosgrund, quantity=quantity, wanted_by=date(2027, 3, 1))
        days = dates(plan.batch, date(2027, 3, 1), plan.hours, plan.finishing, (), plan.shop, plan.tables)
        assert days == plan.schedule.dates
