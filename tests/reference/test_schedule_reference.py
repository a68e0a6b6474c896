"""Critical path and float against a published example and an independent library; clock changes against UTC sums."""

import random
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import networkx as nx
import pytest
from schedule_builders import a_calendar, a_network, placed

from chequerwork.domain.making.schedule.slack import slack_of
from chequerwork.domain.making.schedule.working import minute_of, working_time

# CPM: course notes on operations research, University of Pittsburgh (read as a stored page). Activities between nodes
# with their durations, and what the notes find: earliest and latest times of the nodes, total floats, 53 in all.
ACTIVITIES = {
    "1-2": (4, ()),
    "2-3": (8, ("1-2",)),
    "2-4": (7, ("1-2",)),
    "2-5": (6, ("1-2",)),
    "3-4": (0, ("2-3",)),  # drawn as a dummy: node 4 waits for node 3
    "3-5": (9, ("2-3",)),
    "4-6": (15, ("2-4", "3-4")),
    "5-6": (12, ("2-5", "3-5")),
    "6-7": (20, ("4-6", "5-6")),
}
EARLIEST_NODE = {1: 0, 2: 4, 3: 12, 4: 12, 5: 21, 6: 33, 7: 53}
LATEST_NODE = {1: 0, 2: 4, 3: 12, 4: 18, 5: 21, 6: 33, 7: 53}


def test_the_published_example_of_the_critical_path():
    """Earliest starts, ends at 53, float = latest of the end node less earliest of the begin node less duration."""
    network = a_network({code: (0, before) for code, (_, before) in ACTIVITIES.items()})
    found = placed(network, [minutes for minutes, _ in ACTIVITIES.values()])
    slack = slack_of(found)
    for place, (code, (minutes, _)) in enumerate(ACTIVITIES.items()):
        begin, end = map(int, code.split("-"))
        assert found.begins[place] == EARLIEST_NODE[begin]
        assert slack.float_min[place] == LATEST_NODE[end] - EARLIEST_NODE[begin] - minutes
    assert max(found.ends) == 53
    assert [network.nodes[place].code for place in slack.path] == ["1-2", "2-3", "3-5", "5-6", "6-7"]


def a_random_graph(chance):
    """Steps with up to three predecessors among those before them; some wait after the hands leave."""
    steps, minutes = {}, []
    for number in range(chance.randint(2, 30)):
        before = chance.sample(sorted(steps), min(len(steps), chance.randint(0, 3)))
        steps[f"s{number:02}"] = (chance.choice((0, 0, 30, 400)), tuple(before))
        minutes.append(chance.randint(1, 300))
    steps["end"] = (0, tuple(steps))
    return steps, [*minutes, 1]


@pytest.mark.parametrize("seed", range(60))
def test_floats_are_those_of_an_independent_library(seed):
    """Round the clock and with hands for every step: longest paths by networkx, from both ends."""
    steps, minutes = a_random_graph(random.Random(seed))  # noqa: S311 - a drawn graph, no secret
    graph = nx.DiGraph()
    for (code, (wait, _)), length in zip(steps.items(), minutes, strict=True):
        graph.add_edge((code, "begin"), (code, "end"), weight=length + wait)
    for code, (_, before) in steps.items():
        for other in before:
            graph.add_edge((other, "end"), (code, "begin"), weight=0)
    order = list(nx.topological_sort(graph))
    assert nx.is_directed_acyclic_graph(graph)
    to_here = dict.fromkeys(order, 0)
    for node in order:
        for _, other, weight in graph.out_edges(node, data="weight"):
            to_here[other] = max(to_here[other], to_here[node] + weight)
    from_here = dict.fromkeys(order, 0)
    for node in reversed(order):
        for _, other, weight in graph.out_edges(node, data="weight"):
            from_here[node] = max(from_here[node], from_here[other] + weight)
    length = nx.dag_longest_path_length(graph)
    found = placed(a_network(steps), minutes)
    slack = slack_of(found)
    assert max(found.ends) == length
    for place, code in enumerate(steps):
        assert found.begins[place] == to_here[code, "begin"]
        assert slack.float_min[place] == length - from_here[code, "begin"] - to_here[code, "begin"]
    longest = [code for code, part in nx.dag_longest_path(graph) if part == "begin"]
    total = sum(minutes[list(steps).index(code)] + steps[code][0] for code in longest)
    path = [list(steps)[place] for place in slack.path]
    assert sum(minutes[list(steps).index(code)] + steps[code][0] for code in path) == total == length
    assert {slack.float_min[place] for place in slack.path} == {0}


# Clock changes of 2027: zone, moment in UTC, minutes that the clock jumps. From the rules of each country as they stand
# in the time zone database; Lord Howe Island jumps by half an hour.
CHANGES = [
    ("Europe/Vienna", datetime(2027, 3, 28, 1, tzinfo=UTC), 60),
    ("Europe/Vienna", datetime(2027, 10, 31, 1, tzinfo=UTC), -60),
    ("America/Los_Angeles", datetime(2027, 3, 14, 10, tzinfo=UTC), 60),
    ("America/Los_Angeles", datetime(2027, 11, 7, 9, tzinfo=UTC), -60),
    ("Australia/Lord_Howe", datetime(2027, 4, 3, 15, tzinfo=UTC), -30),
    ("Australia/Lord_Howe", datetime(2027, 10, 2, 15, 30, tzinfo=UTC), 30),
    ("America/St_Johns", datetime(2027, 3, 14, 5, 30, tzinfo=UTC), 60),
    ("Pacific/Chatham", datetime(2027, 9, 25, 14, tzinfo=UTC), 60),
    ("Asia/Kathmandu", None, 0),
    ("UTC", None, 0),
]


@pytest.mark.parametrize(("zone", "moment", "jump"), CHANGES)
def test_the_clock_changes_when_it_should(zone, moment, jump):
    """So that the cases below fall where they are meant to."""
    here = ZoneInfo(zone)
    if moment is None:
        offsets = {
            (datetime(2027, 1, 1, tzinfo=UTC) + timedelta(hours=h)).astimezone(here).utcoffset() for h in range(8760)
        }
        assert len(offsets) == 1
        return
    before, after = (moment - timedelta(minutes=1)).astimezone(here), moment.astimezone(here)
    assert after.utcoffset() - before.utcoffset() == timedelta(minutes=jump)


def counted(zone, day, opens, closes, days):
    """Working minutes of a window, minute by minute in UTC, the first pass of a repeated reading only.

    A minute is worked if it begins at or after the moment of opening and before that of closing. Independent of the
    domain: a reading's moment is the first minute of UTC whose local time has reached it.
    """
    here = ZoneInfo(zone)
    now = datetime.combine(day, datetime.min.time(), UTC) - timedelta(hours=15)
    readings = []
    for minute in range((days + 2) * 24 * 60):
        moment = now + timedelta(minutes=minute)
        readings.append((int(moment.timestamp()) // 60, moment.astimezone(here).replace(tzinfo=None)))
    worked = 0
    for offset in range(days):
        on = datetime.combine(day + timedelta(days=offset), datetime.min.time())
        edges = [on + timedelta(minutes=opens), on + timedelta(minutes=closes)]
        first, last = (next(moment for moment, reading in readings if reading >= edge) for edge in edges)
        worked += last - first
    return worked


@pytest.mark.parametrize(("zone", "moment"), [change[:2] for change in CHANGES])
@pytest.mark.parametrize(
    ("opens", "closes"),
    [(0, 1440), (60, 300), (0, 135), (135, 165), (120, 180), (90, 120), (105, 240), (150, 1440), (480, 1020)],
)
def test_working_windows_over_a_change_are_those_of_utc(zone, moment, opens, closes):
    """Windows that hold the change, begin or end in the hour that is missing or comes twice, or lie in it."""
    day = moment.astimezone(ZoneInfo(zone)).date() if moment else date(2027, 3, 28)
    first = day - timedelta(days=1)
    calendar = a_calendar(time_zone=zone, windows=(((opens, closes),),) * 7)
    time = working_time(calendar, first, 3)
    assert time.total_min == counted(zone, first, opens, closes, 3)


@pytest.mark.parametrize(("zone", "moment", "jump"), CHANGES)
def test_a_wait_over_a_change_is_as_long_as_it_is(zone, moment, jump):
    """Ten hours from the evening before to the morning, in UTC; the clock shows one more or fewer."""
    here = ZoneInfo(zone)
    day = moment.astimezone(here).date() if moment else date(2027, 3, 28)
    evening = day - timedelta(days=1)
    network = a_network({"glue": (600, ()), "machine": (0, ("glue",))})
    calendar = a_calendar(time_zone=zone)
    time = working_time(calendar, date(2027, 1, 1), 4096)
    start = time.worked_by(minute_of(evening, 20 * 60, here))
    found = placed(network, [30, 30], calendar=calendar, start=start)
    begin = datetime.fromtimestamp(found.begins_at(1) * 60, here)
    began = datetime(evening.year, evening.month, evening.day, 20, 30, tzinfo=here)
    assert begin.astimezone(UTC) - began.astimezone(UTC) == timedelta(hours=10)
    reading = datetime.combine(day, datetime.min.time()) + timedelta(hours=6, minutes=30 + jump)
    assert begin.replace(tzinfo=None) == reading


def test_a_window_inside_the_missing_hour_is_no_working_time():
    """28 March 2027 in Vienna has no 02:15 to 02:45; two windows around it do not overlap."""
    sunday = date(2027, 3, 28)
    inside = a_calendar(time_zone="Europe/Vienna", windows=((),) * 6 + (((135, 165),),))
    assert working_time(inside, sunday, 1).total_min == 0
    around = a_calendar(time_zone="Europe/Vienna", windows=((),) * 6 + (((60, 135), (165, 240)),))
    assert working_time(around, sunday, 1).total_min == 60 + 60
