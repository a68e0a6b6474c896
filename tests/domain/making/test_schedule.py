"""Hours with their spread, and a plan whose hands keep the shop's hours while glue and finish cure round the clock."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from builders import a_frame, a_plan, altered
from schedule_builders import steps_of

from chequerwork.domain.basics.advice import Severity
from chequerwork.domain.basics.shop import LearningForm, OwnHours, Promise
from chequerwork.domain.board.geometry import base_is_glued
from chequerwork.domain.making.hours import sum_sd
from chequerwork.domain.making.schedule.network import whole_minutes
from chequerwork.domain.making.schedule.working import working_time
from chequerwork.domain.order.order import Hold, Line
from chequerwork.domain.order.request import BaseRequest, SandingRequest

VIENNA = ZoneInfo("Europe/Vienna")
WEEKDAYS_9_TO_17 = (((9 * 60, 17 * 60),),) * 5 + ((), ())
ROUND_THE_CLOCK = (((0, 24 * 60),),) * 7
LINES = (Line(species="pear", width_mm=3.0),)


def minute(day, hour, rest=0, zone=VIENNA):
    """A local time as minutes since 1970 in UTC."""
    return int(datetime.combine(day, time(hour, rest), tzinfo=zone).timestamp()) // 60


def local(minutes, zone=VIENNA):
    return datetime.fromtimestamp(minutes * 60, zone)


@pytest.fixture
def hands(moosgrund):
    """Working hours of a calendar after changes."""

    def working(**changes):
        calendar = altered(moosgrund.calendar, **{"holidays": frozenset(), "windows": WEEKDAYS_9_TO_17, **changes})
        return working_time(calendar, date(2027, 1, 1), 400)

    return working


# Hours ----------------------------------------------------------------------------------------------------------------


def work(plan):
    return {each.code: each for each in plan.hours.work}


def test_hours_are_setup_and_units_at_the_shops_pace(moosgrund, tables):
    """Eight strips to mill: (0.3 + 8 x 0.06) x 0.95."""
    mill = work(a_plan(moosgrund))["mill"]
    assert mill.likely_h == pytest.approx((0.3 + 8 * 0.06) * 0.95)
    norm = tables.operations["mill"]
    scale = mill.likely_h / norm.likely_h
    assert mill.expected_h == pytest.approx(scale * (norm.optimistic_h + 4 * norm.likely_h + norm.pessimistic_h) / 6)
    assert mill.sd_h == pytest.approx(math.sqrt((mill.expected_h - mill.low_h) * (mill.high_h - mill.expected_h) / 7))


def test_the_shops_own_hours_go_before_the_norm(moosgrund):
    """Twelve minutes and 1.6 h per m2 of field, at its pace."""
    flatten = work(a_plan(moosgrund))["flatten_field"]
    assert flatten.likely_h == pytest.approx((0.2 + 1.6 * 0.384**2) * 0.95)


def test_a_batch_shares_its_setup(moosgrund):
    one, five = (work(a_plan(moosgrund, quantity=quantity)) for quantity in (1, 5))
    assert five["mill"].likely_h == pytest.approx((0.3 + 5 * 8 * 0.06) * 0.95)
    assert all(five[code].likely_h <= 5 * one[code].likely_h + 1e-12 for code in one)


def test_what_a_board_does_not_have_costs_no_time(moosgrund):
    bare = set(work(a_plan(moosgrund)))
    assert bare.isdisjoint({"frame", "lines", "base"})
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    full = set(work(a_plan(moosgrund, frame=a_frame(), lines=LINES, base=base)))
    assert full - bare == {"frame", "lines", "base"}


@pytest.mark.parametrize(
    ("code", "units"),
    [("mill", 8), ("rip", 8), ("glue_strips", 1), ("crosscut", 9), ("glue_bars", 7), ("trim_field", 4),
     ("lines", 4), ("base", 1), ("frame", 4), ("finish", 2), ("fit_out", 1), ("pack", 1)],
)  # fmt: skip
def test_each_operation_counts_its_own_units(moosgrund, tables, code, units):
    """Eight strips, eight bars and a spare, seven joints, four edges, line pieces and rails, two coats, a board."""
    shop = altered(moosgrund, labour={"pace": 1.0, "hours": {}})
    norm = tables.operations[code]
    assert work(full_plan(shop))[code].likely_h == pytest.approx(norm.setup_h + norm.unit_h * units)


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({"columns": 10}, {"mill", "rip", "flatten_strips", "flatten_field", "sand"}),
        ({"rows": 10}, {"flatten_strips", "crosscut", "glue_bars", "flatten_field", "sand"}),
        ({"finish": "waterborne_polyurethane", "sanding": None}, {"finish", "sand"}),
    ],
)
def test_hours_follow_what_there_is_to_do(moosgrund, changes, codes):
    before, after = work(a_plan(moosgrund)), work(a_plan(moosgrund, **changes))
    assert {code for code in before if after[code].likely_h > before[code].likely_h + 1e-9} == codes


def test_hours_of_the_order_are_the_sum_and_their_spread_depends_on_correlation(moosgrund):
    hours = a_plan(moosgrund).hours
    sds = tuple(each.sd_h for each in hours.work)
    assert hours.expected_h == pytest.approx(sum(each.expected_h for each in hours.work))
    assert hours.spread.mean == pytest.approx(hours.expected_h)
    # Of the hours themselves the correlation is a little less than of the scores behind them.
    assert sum_sd(sds, 0.58) < hours.sd_h < sum_sd(sds, 0.6)
    assert sum_sd(sds, 0.0) < hours.sd_h < sum_sd(sds, 1.0) == pytest.approx(sum(sds))


def test_setup_and_run_make_the_likely_hours_and_lie_between_the_outer_ones(moosgrund):
    for each in a_plan(moosgrund, quantity=3, frame=a_frame()).hours.work:
        assert each.setup_h + each.run_h == pytest.approx(each.likely_h)
        assert each.low_h <= each.likely_h <= each.expected_h <= each.high_h


def test_a_promise_is_kept_by_more_hours_the_safer_it_is(moosgrund):
    hours = a_plan(moosgrund).hours
    assert hours.p50_h < hours.expected_h < hours.p80_h < hours.p95_h
    assert [hours.at(promise) for promise in Promise] == [hours.expected_h, hours.p50_h, hours.p80_h, hours.p95_h]


def test_hours_that_nobody_asks_for_are_not_worked_out(moosgrund):
    hours = a_plan(moosgrund).hours
    assert hours.at(Promise.EXPECTED) == hours.expected_h
    assert hours._spread is None
    assert hours.p80_h > hours.expected_h
    assert hours._spread is not None
    assert hours == a_plan(moosgrund).hours


@pytest.mark.parametrize(
    ("form", "ratio"),
    [("cumulative_average", 4**-0.074001), ("unit", (1 + 2**-0.074001 + 3**-0.074001 + 4**-0.074001) / 4)],
)
def test_a_batch_teaches_run_time_and_not_setup(moosgrund, form, ratio):
    """ln 0.95 / ln 2 = -0.074001; four boards; by Wright the average of them, by Crawford each its own time."""
    labour = {"learning": 0.95, "learning_form": LearningForm(form)}
    before, after = (work(a_plan(shop, quantity=4)) for shop in (moosgrund, altered(moosgrund, labour=labour)))
    for code, each in after.items():
        assert each.setup_h == before[code].setup_h
        assert each.run_h == pytest.approx(before[code].run_h * ratio, rel=1e-5)
    alone = work(a_plan(altered(moosgrund, labour=labour)))
    assert alone == work(a_plan(moosgrund))


def test_a_shops_own_spread_goes_before_the_norms(moosgrund):
    """Half to three times the likely hours, which stay the same; a side left out keeps the norm's proportion."""
    own = OwnHours(setup_h=0.2, unit_h=1.6, low=0.5, high=3.0)
    half = OwnHours(setup_h=0.2, unit_h=1.6, high=3.0)
    told, partly, plain = (
        work(a_plan(altered(moosgrund, labour={"hours": {"flatten_field": each}})))["flatten_field"]
        for each in (own, half, OwnHours(setup_h=0.2, unit_h=1.6))
    )
    assert (told.low_h, told.high_h) == pytest.approx((0.5 * told.likely_h, 3 * told.likely_h))
    assert (partly.low_h, partly.high_h) == pytest.approx((plain.low_h, told.high_h))
    assert told.likely_h == partly.likely_h == plain.likely_h


# Working time ---------------------------------------------------------------------------------------------------------

MONDAY = date(2027, 2, 1)


@pytest.mark.parametrize(
    ("earliest", "minutes", "begin", "end"),
    [
        ((MONDAY, 9), 60, (MONDAY, 9), (MONDAY, 10)),
        ((MONDAY, 0), 60, (MONDAY, 9), (MONDAY, 10)),  # before the door opens
        ((MONDAY, 16), 60, (MONDAY, 16), (MONDAY, 17)),  # to the last minute
        ((MONDAY, 16), 90, (MONDAY, 16), (date(2027, 2, 2), 9, 30)),  # over night
        ((MONDAY, 17), 10, (date(2027, 2, 2), 9), (date(2027, 2, 2), 9, 10)),
        ((date(2027, 2, 5), 16), 120, (date(2027, 2, 5), 16), (date(2027, 2, 8), 10)),  # over the weekend
        ((date(2027, 2, 6), 12), 30, (date(2027, 2, 8), 9), (date(2027, 2, 8), 9, 30)),
        ((MONDAY, 9), 5 * 8 * 60 + 60, (MONDAY, 9), (date(2027, 2, 8), 10)),  # a whole week and an hour
    ],
)
def test_hands_work_in_the_shops_hours_only(hands, earliest, minutes, begin, end):
    found = hands().place(minute(*earliest), minutes)
    assert found == (minute(*begin), minute(*end))


def test_a_pause_at_noon_is_not_worked(hands):
    split = ((9 * 60, 12 * 60), (13 * 60, 17 * 60))
    found = hands(windows=(split,) * 5 + ((), ())).place(minute(MONDAY, 11), 120)
    assert found == (minute(MONDAY, 11), minute(MONDAY, 14))


def test_days_off_are_not_worked(hands):
    off = frozenset({date(2027, 2, 2), date(2027, 2, 3)})
    found = hands(holidays=off).place(minute(MONDAY, 16), 120)
    assert found == (minute(MONDAY, 16), minute(date(2027, 2, 4), 10))


def test_a_window_may_close_at_midnight(hands):
    late = ((20 * 60, 24 * 60),)
    found = hands(windows=(late,) * 7).place(minute(MONDAY, 23), 120)
    assert found == (minute(MONDAY, 23), minute(date(2027, 2, 2), 21))


def test_the_night_the_clock_goes_forward_has_an_hour_less(hands):
    """28 March 2027 in Vienna: from 1 to 5 o'clock are three hours, not four."""
    sunday = date(2027, 3, 28)
    night = ((60, 5 * 60),)
    working = hands(windows=(((9 * 60, 17 * 60),),) + ((),) * 5 + (night,))
    assert working.place(minute(sunday, 1), 180) == (minute(sunday, 1), minute(sunday, 5))
    assert working.place(minute(sunday, 1), 181) == (minute(sunday, 1), minute(date(2027, 3, 29), 9, 1))


def test_the_night_the_clock_goes_back_has_an_hour_more(hands):
    """31 October 2027 in Vienna: from 1 to 5 o'clock are five hours."""
    sunday = date(2027, 10, 31)
    working = hands(windows=((),) * 6 + (((60, 5 * 60),),))
    begin, end = working.place(minute(sunday, 1), 300)
    assert end - begin == 300
    assert local(end).time() == time(5, 0)


# The plan -------------------------------------------------------------------------------------------------------------


def full_plan(shop, **changes):
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=50.0)
    return a_plan(shop, **{"frame": a_frame(), "lines": LINES, "base": base, **changes})


def utc(moment):
    return moment.astimezone(UTC)


def worked_min(step, calendar):
    """Minutes of working time between begin and end of a step, counted minute by minute in local time."""
    count, now = 0, utc(step.starts_at)
    while now < utc(step.ends_at):
        here = now.astimezone(VIENNA)
        clock = here.hour * 60 + here.minute
        open_now = any(opens <= clock < closes for opens, closes in calendar.windows[here.weekday()])
        count += open_now and here.date() not in calendar.holidays
        now += timedelta(minutes=1)
    return count


def test_steps_follow_the_build(moosgrund):
    """The main line; parts of lines, base and frame are made while the field cures."""
    codes = [step.code for step in steps_of(full_plan(moosgrund).schedule)]
    aside = ["rip_lines", "cut_base", "mill_rails"]
    assert [code for code in codes if code not in aside] == [
        "mill", "rip", "glue_strips", "flatten_strips", "square", "crosscut", "glue_bars", "flatten_field",
        "trim_field", "lines", "base", "frame", "sand_p80", "sand_p120", "sand_p180", "coat_1", "rub_2", "coat_2",
        "rub_out", "inspect", "photographs", "pack",
    ]  # fmt: skip
    assert codes[3:6] == aside  # right after the first glue-up, before its joints may be machined


def test_every_step_waits_for_those_before_and_their_cure(moosgrund):
    steps = {step.code: step for step in steps_of(full_plan(moosgrund, feet=4, quantity=2).schedule)}
    assert steps["mill"].after == ()
    assert steps["frame"].after == ("base", "mill_rails")
    for step in steps.values():
        for before in (steps[code] for code in step.after):
            assert utc(step.starts_at) >= utc(before.ends_at) + timedelta(minutes=before.waiting_min)


@pytest.mark.parametrize("starts_on", [date(2027, 2, 1), date(2027, 3, 24), date(2027, 12, 3)])
def test_hands_on_time_lies_in_working_hours_and_is_all_there(moosgrund, starts_on):
    """Over weekends, the change of the clock on 28 March 2027, Easter Monday and other days off."""
    plan = full_plan(moosgrund, starts_on=starts_on, quantity=3)
    for step in steps_of(plan.schedule):
        assert worked_min(step, moosgrund.calendar) == step.hands_on_min, step.code


def test_cures_are_neither_stretched_nor_shortened_by_the_clock(moosgrund):
    """A shop that works round the clock starts every step at the minute its cure ends, also on 28 March 2027."""
    shop = altered(moosgrund, calendar={"windows": ROUND_THE_CLOCK, "holidays": frozenset()})
    steps = steps_of(full_plan(shop, starts_on=date(2027, 3, 27), finish="waterborne_polyurethane").schedule)
    assert {utc(step.starts_at).date() for step in steps} >= {date(2027, 3, 27), date(2027, 3, 28)}
    ends = {step.code: utc(step.ends_at) + timedelta(minutes=step.waiting_min) for step in steps}
    chain = ["flatten_strips", "flatten_field", "lines", "base", "frame", "sand_p80", "rub_2", "rub_out"]
    for step in steps:
        if step.code in chain:
            assert utc(step.starts_at) == max(ends[code] for code in step.after)


@pytest.mark.parametrize(
    ("hours", "minutes"), [(10.450000000000001, 627), (0.6333333333333334, 38), (0.51, 31), (0, 0)]
)
def test_a_binary_tail_adds_no_minute(hours, minutes):
    assert whole_minutes(hours) == minutes


def test_hands_on_minutes_are_the_expected_hours_rounded_up(moosgrund, tables):
    """Of the steps of each operation together; a binary tail, less than a billionth of a minute, lifts nothing."""
    plan = full_plan(moosgrund, feet=4)
    minutes: dict[str, int] = {}
    for step in steps_of(plan.schedule):
        operation = tables.steps[step.step].operation
        minutes[operation] = minutes.get(operation, 0) + step.hands_on_min
    assert set(minutes) == {each.code for each in plan.hours.work}
    for each in plan.hours.work:
        assert minutes[each.code] - 1 < each.expected_h * 60 <= minutes[each.code] + 1e-9


def test_minutes_of_sanding_are_shared_by_the_squares_of_the_size_ratios(moosgrund):
    """P80, P120, P180 on both sides: a full step of 1.7, then 201/125 and 125/82, squared."""
    sanded = a_plan(moosgrund, sanding=SandingRequest(top="P180", underside="P180"))
    steps = {step.code: step.hands_on_min for step in steps_of(sanded.schedule)}
    weights = [1.7**2, (201 / 125) ** 2, (125 / 82) ** 2]
    sanding = [steps["sand_p80"], steps["sand_p120"], steps["sand_p180"]]
    for minutes, weight in zip(sanding, weights, strict=True):
        assert minutes == pytest.approx(sum(sanding) * weight / sum(weights), abs=1.0)


def at_20(shop):
    """The shop at the temperature of the tables."""
    return altered(shop, workshop_climate={"temperature_c": 20.0})


def test_glue_waits_until_it_may_be_machined(moosgrund, tables):
    cure_min = tables.adhesives["pva_d3"].machine_after_h * 60
    waits = {step.code: step.waiting_min for step in steps_of(full_plan(at_20(moosgrund)).schedule)}
    glued = {"glue_strips", "glue_bars", "lines", "base", "frame"}
    assert {code for code, wait in waits.items() if wait == cure_min} == glued
    assert {code for code, wait in waits.items() if wait and code not in glued} == {"coat_1", "coat_2"}
    assert (waits["coat_1"], waits["coat_2"]) == (8 * 60, 24 * 60)


@pytest.mark.parametrize(("temperature_c", "times"), [(10.0, 2.0), (15.0, 2**0.5), (30.0, 0.5), (40.0, 0.5)])
def test_a_cold_workshop_waits_longer(moosgrund, temperature_c, times):
    """Twice as long 10 degC colder (from memory); warmer than 30 degC is counted as 30."""
    shop = altered(moosgrund, workshop_climate={"temperature_c": temperature_c})
    waits = {step.code: step.waiting_min for step in steps_of(a_plan(shop).schedule)}
    assert waits["glue_bars"] == pytest.approx(6 * 60 * times, abs=1)
    assert waits["coat_1"] == pytest.approx(8 * 60 * times, abs=1)
    codes = {advice.code for advice in a_plan(shop).schedule.advice}
    assert ("cold-for-adhesive" in codes) is (temperature_c < 12.8)


def test_a_base_that_is_not_glued_waits_for_no_glue(moosgrund):
    """A floating field leaves a base that covers the rails to the rails."""
    base = BaseRequest(material="mdf", thickness_mm=9.0, inset_mm=0.0)
    plan = a_plan(moosgrund, base=base, frame=a_frame())
    assert not base_is_glued(plan.order.frame, plan.order.base)
    assert {step.code: step.waiting_min for step in steps_of(plan.schedule)}["base"] == 0


def test_glue_of_friday_noon_is_machined_on_monday(moosgrund):
    """Friday ends at 12:30; six hours of cure end in the evening."""
    plan = a_plan(moosgrund, starts_on=date(2027, 2, 5))
    steps = {step.code: step for step in steps_of(plan.schedule)}
    glue, flatten = steps["glue_strips"], steps["flatten_strips"]
    assert glue.ends_at.date() == date(2027, 2, 5)
    assert flatten.starts_at == datetime(2027, 2, 8, 7, 30, tzinfo=VIENNA)


@pytest.mark.parametrize(("finish", "most"), [("hardwax_oil", 1), ("waterborne_polyurethane", 2), ("shellac_2lb", 2)])
def test_no_day_sees_more_coats_than_the_finish_allows(moosgrund, finish, most):
    shop = altered(moosgrund, calendar={"windows": ROUND_THE_CLOCK, "holidays": frozenset()})
    steps = steps_of(a_plan(shop, finish=finish).schedule)
    days = [step.starts_at.date() for step in steps if step.code.startswith("coat_")]
    assert max(days.count(day) for day in days) == most


def test_a_plan_starts_on_the_first_working_day(moosgrund):
    """Wanted from Saturday on; the shop works from Monday 07:30."""
    schedule = a_plan(moosgrund, starts_on=date(2027, 2, 6)).schedule
    assert schedule.dates.starts_on == date(2027, 2, 8)
    assert steps_of(schedule)[0].starts_at == datetime(2027, 2, 8, 7, 30, tzinfo=VIENNA)


def test_dates_are_those_of_their_steps(moosgrund):
    schedule = full_plan(at_20(moosgrund)).schedule
    by_code = {step.code: step for step in steps_of(schedule)}
    assert schedule.dates.starts_on == by_code["mill"].starts_at.date()
    assert schedule.dates.ready_on == by_code["photographs"].ends_at.date()
    assert schedule.dates.cured_on == by_code["coat_2"].ends_at.date() + timedelta(days=14)
    assert schedule.dates.starts_on < schedule.dates.ready_on <= schedule.dates.ships_on < schedule.dates.cured_on


def test_parcels_leave_on_the_shops_days(moosgrund):
    for quantity in range(1, 8):
        schedule = a_plan(moosgrund, quantity=quantity).schedule
        packed_on = steps_of(schedule)[-1].ends_at.date()
        assert schedule.dates.ships_on.weekday() in (1, 4)  # Tuesday and Friday
        assert 0 <= (schedule.dates.ships_on - packed_on).days < 4


def test_a_ship_day_that_is_a_day_off_is_passed_over(moosgrund):
    usual = a_plan(moosgrund).schedule
    shop = altered(moosgrund, calendar={"holidays": moosgrund.calendar.holidays | {usual.dates.ships_on}})
    later = a_plan(shop).schedule.dates.ships_on
    assert later > usual.dates.ships_on
    assert later.weekday() in (1, 4)


def test_times_are_those_of_the_shops_zone(willet_slough):
    """Closed on Mondays, so a plan of Monday 1 February starts on Tuesday at nine, eight hours behind UTC."""
    first = steps_of(a_plan(willet_slough).schedule)[0]
    assert first.starts_at.isoformat() == "2027-02-02T09:00:00-08:00"


@pytest.mark.parametrize(("days", "late"), [(0, False), (5, False), (-1, True), (-3, True)])
def test_a_wanted_day_gives_a_margin_and_advice_when_it_is_missed(moosgrund, days, late):
    ships_on = a_plan(moosgrund).schedule.dates.ships_on
    schedule = a_plan(moosgrund, wanted_by=ships_on + timedelta(days=days)).schedule
    assert schedule.dates.spare_days == days
    found = {advice.code: advice for advice in schedule.advice}
    assert ("too-late" in found) is late
    if late:
        assert found["too-late"].severity is Severity.WARNING
        assert f", {-days} {'day' if days == -1 else 'days'} after" in found["too-late"].text


def test_without_a_wanted_day_there_is_no_margin(moosgrund):
    assert a_plan(moosgrund).schedule.dates.spare_days is None


def test_a_board_that_leaves_before_it_is_cured_is_said_so(moosgrund, tables):
    codes = {advice.code for advice in a_plan(moosgrund).schedule.advice}
    assert "ships-before-cured" in codes
    fast = replace(tables.finishes["hardwax_oil"], cure_days=0.0)
    facts = altered(tables, finishes={**tables.finishes, "hardwax_oil": fast})
    assert a_plan(moosgrund, tables=facts).schedule.advice == ()


def test_a_large_batch_takes_as_many_weeks_as_its_hours(moosgrund):
    """Four days of 8 h 15 min and a Friday of 5 h: 38 hours a week, and what cures cost beyond them."""
    plan = full_plan(moosgrund, quantity=40, frame=a_frame(hold=Hold.GLUED))
    steps = steps_of(plan.schedule)
    ends = [utc(step.ends_at) for step in steps]
    weeks = (ends[-1] - utc(steps[0].starts_at)) / timedelta(weeks=1)
    assert plan.hours.expected_h / 38 < weeks < plan.hours.expected_h / 38 + 2


@pytest.mark.parametrize("starts_on", [date(2027, 2, day) for day in range(1, 13)])
@pytest.mark.parametrize("square_mm", [44.0, 47.0, 50.0, 53.0])
def test_no_pause_comes_between_the_glue_and_the_clamps_of_one_board(moosgrund, square_mm, starts_on):
    order = {"square_mm": square_mm, "lines": LINES, "frame": a_frame(), "starts_on": starts_on}
    plan = a_plan(moosgrund, **order)
    at_once = [s for s in steps_of(plan.schedule) if s.boards or s.code.startswith("coat_")]
    assert len(at_once) >= 6
    for step in at_once:
        assert step.ends_at - step.starts_at == timedelta(minutes=step.hands_on_min)
