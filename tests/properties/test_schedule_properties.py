"""Work plans of drawn networks, weeks and orders: what none may break, found without the planner's own means."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from builders import a_frame, a_plan, altered, demo_shops
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from schedule_builders import a_calendar, a_network, placed, steps_of

from chequerwork.domain.basics.shop import Booking
from chequerwork.domain.making.schedule.placing import Pool
from chequerwork.domain.making.schedule.slack import slack_of
from chequerwork.domain.order.order import Line
from chequerwork.domain.order.request import BaseRequest

pytestmark = pytest.mark.slow("random calendars")

ZONES = ("Europe/Vienna", "America/Los_Angeles", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC")
FIRST = date(2027, 1, 1)


@st.composite
def graphs(draw):
    """Up to 14 steps with waits, hands-on minutes, clamps and coats; the last waits for all."""
    count = draw(st.integers(1, 14))
    steps, minutes, clamps_min, needs, at_once = {}, [], [], [], []
    for number in range(count):
        before = draw(st.lists(st.sampled_from(sorted(steps)), unique=True, max_size=3)) if steps else []
        glue = draw(st.booleans())
        clamp_min = draw(st.integers(0, 300)) if glue else 0
        wait = clamp_min + draw(st.integers(0, 900)) if glue else draw(st.sampled_from((0, 0, 240, 2000)))
        steps[f"s{number:02}"] = (wait, tuple(before))
        minutes.append(draw(st.integers(1, 400)))
        clamps_min.append(clamp_min)
        needs.append(draw(st.integers(1, 6)) if glue else 0)
        at_once.append(glue and draw(st.booleans()))
    steps["end"] = (0, tuple(steps))
    return a_network(steps, clamps_min=[*clamps_min, 0], at_once=[*at_once, False]), [*minutes, 1], (*needs, 0)


@st.composite
def weeks(draw):
    """A week with at least one working window, in a zone whose clock changes or does not."""
    edges = st.lists(st.integers(0, 95), min_size=2, max_size=4, unique=True).map(sorted)
    days = [
        tuple((a * 15, b * 15) for a, b in zip(found[::2], found[1::2], strict=False)) if draw(st.booleans()) else ()
        for found in (draw(edges) for _ in range(7))
    ]
    assume(sum(closes - opens for windows in days for opens, closes in windows) >= 240)
    off = draw(st.frozensets(st.integers(0, 60), max_size=8))
    booked = draw(st.sampled_from(((), (Booking(first=date(2027, 1, 4), last=date(2027, 1, 20), taken=(0.5, 0)),))))
    return a_calendar(
        time_zone=draw(st.sampled_from(ZONES)),
        windows=tuple(days),
        holidays=frozenset(FIRST + timedelta(days=day) for day in off),
        booked=booked,
    )


def worked(calendar, begin, end):
    """Minutes between two moments whose local reading is in a window of a working day, one by one."""
    zone, count = ZoneInfo(calendar.time_zone), 0
    for minute in range(begin, end):
        here = datetime.fromtimestamp(minute * 60, UTC).astimezone(zone)
        reading = here.hour * 60 + here.minute
        if here.date() in calendar.holidays:
            continue
        count += any(opens <= reading < closes for opens, closes in calendar.windows[here.weekday()])
    return count


@given(graphs(), weeks(), st.integers(1, 3), st.integers(6, 9))
@settings(max_examples=60, deadline=None)
def test_no_plan_breaks_a_rule(graph, calendar, hands, clamps):
    """Order and waits kept, no pair of hands at two things, clamps never above their number."""
    network, minutes, needs = graph
    found = placed(network, minutes, calendar=calendar, hands=hands, pools=[Pool(clamps, needs)])
    assert found.fits
    spans = [(found.begins_at(step), found.ends_at(step)) for step in range(len(minutes))]
    for step, names in enumerate(network.before):
        for other in names:
            assert spans[step][0] >= spans[other][1] + network.waits_min[other]
    for begin, _ in spans:
        assert sum(first <= begin < last for first, last in spans) <= hands
    held = [(b, e + network.clamps_min[i], needs[i]) for i, (b, e) in enumerate(spans) if needs[i]]
    for begin, _, _ in held:
        assert sum(need for first, last, need in held if first <= begin < last) <= clamps


@given(graphs(), weeks())
@settings(max_examples=25, deadline=None)
def test_hands_work_in_the_hours_of_the_shop_and_all_of_their_minutes(graph, calendar):
    """Counted minute by minute in local time; a year's first weeks have no change of the clock."""
    network, minutes, _ = graph
    calendar = altered(calendar, booked=())
    found = placed(network, minutes, calendar=calendar, hands=1)
    assume(found.ends_at(len(minutes) - 1) < datetime(2027, 3, 1, tzinfo=UTC).timestamp() / 60)
    for step, need in enumerate(minutes):
        assert worked(calendar, found.begins_at(step), found.ends_at(step)) == need


def stretches(calendar, begin, end):
    """Minutes of work between two moments, each stretch without a pause apart, counted minute by minute."""
    found, last = [], None
    for minute in range(begin, end):
        if worked(calendar, minute, minute + 1):
            if last != minute - 1:
                found.append(0)
            found[-1] += 1
            last = minute
    return found


@given(graphs(), weeks(), st.integers(1, 2))
@settings(max_examples=25, deadline=None)
def test_closing_time_interrupts_nothing_that_is_done_at_once_where_a_day_is_long_enough(graph, calendar, hands):
    network, minutes, _ = graph
    calendar = altered(calendar, booked=())
    found = placed(network, minutes, calendar=calendar, hands=hands)
    first = int(datetime(2027, 1, 1, tzinfo=UTC).timestamp()) // 60
    longest = max(stretches(calendar, first + 28 * 24 * 60, first + 37 * 24 * 60), default=0)
    for step, at_once in enumerate(network.at_once):
        if at_once and minutes[step] <= longest:
            assert len(stretches(calendar, found.begins_at(step), found.ends_at(step))) == 1


def retimed(found, delayed, by):
    """End of the plan when one step comes later and everything else keeps its place, or moves behind what it waits for.

    An independent forward pass over predecessors, the order of each pair of hands, and clamps as held before.
    """
    network, time = found.network, found.time
    begins = list(found.begins)
    order = sorted(range(len(begins)), key=found.begins.__getitem__)
    for step in order:
        earliest = found.begins[step] + (by if step == delayed else 0)
        for other in network.before[step]:
            earliest = max(
                earliest, time.worked_by(time.ends(begins[other] + found.minutes[other]) + network.waits_min[other])
            )
        for other in order[: order.index(step)]:
            if found.hand[other] == found.hand[step]:
                earliest = max(earliest, begins[other] + found.minutes[other])
        if network.at_once[step]:
            earliest = time.unbroken(earliest, found.minutes[step])
        begins[step] = earliest
    return max(begin + need for begin, need in zip(begins, found.minutes, strict=True))


@given(graphs(), weeks(), st.integers(1, 2))
@settings(max_examples=60, deadline=None)
def test_a_step_may_slip_by_its_float_and_by_no_minute_more(graph, calendar, hands):
    network, minutes, _ = graph
    found = placed(network, minutes, calendar=calendar, hands=hands)
    slack, end = slack_of(found), max(found.ends)
    assume(hands < len(minutes))
    for step, free in enumerate(slack.float_min):
        assert free >= 0
        assert retimed(found, step, free) == end
        assert retimed(found, step, free + 1) > end
    assert slack.path[-1] == len(minutes) - 1
    assert slack.float_min[slack.path[-1]] == 0


@given(graphs(), st.integers(1, 2), st.integers(6, 12))
@settings(max_examples=60, deadline=None)
def test_round_the_clock_the_path_has_no_float_and_no_gap(graph, hands, clamps):
    network, minutes, needs = graph
    found = placed(network, minutes, hands=hands, pools=[Pool(clamps, needs)])
    slack = slack_of(found)
    assert all(slack.float_min[step] == 0 for step in slack.path)
    assert found.begins[slack.path[0]] == 0


@given(graphs(), weeks(), st.integers(1, 4))
@settings(max_examples=60, deadline=None)
def test_longer_days_never_make_a_plan_much_later(graph, calendar, extra):
    """Not never at all: a list of priorities can do worse with more hours (Graham's anomalies).

    Bound: no later than all steps one after the other would be, which is what no plan exceeds.
    """
    network, minutes, _ = graph
    longer = altered(
        calendar,
        windows=tuple(
            (*windows[:-1], (windows[-1][0], min(1440, windows[-1][1] + extra * 60))) if windows else ()
            for windows in calendar.windows
        ),
    )
    before, after = (
        placed(network, minutes, calendar=calendar, hands=1),
        placed(network, minutes, calendar=longer, hands=1),
    )
    last = len(minutes) - 1
    if after.ends_at(last) > before.ends_at(last):
        moment = 0
        for need, wait in zip(minutes, network.waits_min, strict=True):
            moment = after.time.ends(after.time.worked_by(moment) + need) + wait
        assert after.ends_at(last) <= moment


@given(st.integers(1, 12), st.integers(1, 40), st.integers(1, 3), st.sampled_from((None, 1, 2)))
@settings(max_examples=40, deadline=None)
def test_glue_ups_of_a_batch_go_in_rounds_that_the_clamps_allow(quantity, clamps, hands, presses):
    """Of a whole order: clamps and presses at every moment, and every board in some round."""
    shop = demo_shops()["moosgrund"]
    shop = altered(shop, machines={"clamps": clamps, "presses": presses}, calendar={"hands": hands})
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    plan = a_plan(
        shop, quantity=quantity, base=base, frame=a_frame(), lines=(Line(species="pear", width_mm=3.0),), feet=4
    )
    found = plan.schedule.placement
    codes = {}
    for node in found.network.nodes:
        if node.boards:
            codes[node.step] = codes.get(node.step, 0) + node.boards
    assert set(codes.values()) == {quantity}
    for pool in found.means.pools:
        held = [
            (found.begins_at(i), found.ends_at(i) + found.network.clamps_min[i], need)
            for i, need in enumerate(pool.need)
            if need
        ]
        assert all(need <= pool.size for _, _, need in held)
        for begin, _, _ in held:
            assert sum(need for first, last, need in held if first <= begin < last) <= pool.size
    few = {advice.code for advice in plan.schedule.advice}
    most = max(each.clamps for each in plan.glue_ups)
    assert ("too-few-clamps" in few) >= (most > clamps and presses is None)
    minutes = {}
    for step in steps_of(plan.schedule):
        operation = plan.tables.steps[step.step].operation
        minutes[operation] = minutes.get(operation, 0) + step.hands_on_min
    for each in plan.hours.work:
        assert minutes[each.code] - 1 < each.expected_h * 60 <= minutes[each.code] + 1e-9
