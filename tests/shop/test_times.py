"""From a log back to the settings it was made with: the round trip, and what a short log must not conclude."""

import csv
import io
import math
import random
import re
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest
from builders import altered

from chequerwork.domain.making.hours import cumulative_average
from chequerwork.shop.loader import demo_folder, load_shop
from chequerwork.shop.logbook import read_log
from chequerwork.shop.times import fit, settings_from, together

# What the invented maker really takes: likely setup and time per unit [h], low and high of the likely.
TRUE = {
    "mill": (0.40, 0.050, 0.65, 1.90),
    "rip": (0.20, 0.060, 0.60, 2.10),
    "glue_bars": (0.15, 0.110, 0.70, 1.80),
    "frame": (0.60, 0.280, 0.60, 2.00),
    "sand": (0.08, 0.500, 0.60, 2.20),
    "finish": (0.20, 0.300, 0.70, 1.70),
}
PER_BOARD = {"mill": 8, "rip": 8, "glue_bars": 7, "frame": 4, "sand": 1.9, "finish": 3}
CORRELATION = 0.5


def drawn(chance, common, low, high):
    """A beta-PERT factor of a likely time of 1, by a score that shares a factor: the rank among 400 draws."""
    score = math.sqrt(CORRELATION) * common + math.sqrt(1 - CORRELATION) * chance.gauss(0, 1)
    at = (1 - low) / (high - low)
    values = sorted(chance.betavariate(1 + 4 * at, 5 - 4 * at) for _ in range(400))
    place = (1 + math.erf(score / math.sqrt(2))) / 2
    return low + (high - low) * values[min(399, int(place * 400))]


def a_log(orders, *, pace=1.0, learning=1.0, seed=7, largest=8):
    """An invented year: orders of one to eight boards, every operation of each in one row."""
    chance = random.Random(seed)  # noqa: S311 - the same log each time
    rows = io.StringIO(newline="")
    table = csv.writer(rows)
    table.writerow(["date", "order", "operation", "boards", "units", "hours"])
    for number in range(orders):
        boards, common = chance.randint(1, largest), chance.gauss(0, 1)
        day = date(2027, 1, 4) + timedelta(days=9 * number)
        for code, (setup_h, unit_h, low, high) in TRUE.items():
            units = PER_BOARD[code] * boards
            likely_h = (setup_h + unit_h * units * cumulative_average(1.0, learning, boards)) * pace
            hours_h = likely_h * drawn(chance, common, low, high)
            table.writerow([day, f"order-{number:03}", code, boards, f"{units:.3f}", f"{hours_h:.4f}"])
    return rows.getvalue()


@pytest.fixture
def plain(moosgrund):
    return altered(moosgrund, labour={"pace": 1.0, "hours": {}})


@pytest.fixture
def moosgrund(load):
    return load()


@pytest.fixture
def fits(tables, plain):
    def of(text, shop=None):
        entries = read_log(text, tables, name="log.csv")
        codes = {entry.operation for entry in entries}
        labour = (shop or plain).labour
        return {
            code: fit([e for e in entries if e.operation == code], tables.operations[code], labour) for code in codes
        }

    return of


@pytest.mark.parametrize("seed", [7, 8])
def test_a_long_log_gives_back_the_settings_it_was_made_with(fits, seed):
    """160 orders whose entries scatter by a quarter: a time per unit errs by 2.6 %, so it is held to 8 %."""
    found = fits(a_log(160, seed=seed))
    for code, (setup_h, unit_h, low, high) in TRUE.items():
        each = found[code]
        assert each.unit_h == pytest.approx(unit_h, rel=0.08), code
        assert abs(each.setup_h - setup_h) < 3 * each.setup_off_h, code
        assert each.low == pytest.approx(low, rel=0.15), code
        assert each.high == pytest.approx(high, rel=0.15), code
    rests = together(list(found.values()))
    assert rests.orders == 160
    assert rests.correlation == pytest.approx(CORRELATION, abs=0.12)
    assert abs(rests.correlation - CORRELATION) < 3 * rests.off


def test_a_years_log_says_what_an_order_takes(fits):
    """Twenty orders: the likely hours of three boards within 10 % for each operation, 5 % together."""
    found = fits(a_log(20))
    ours, true = [], []
    for code, (setup_h, unit_h, _, _) in TRUE.items():
        each, units = found[code], 3 * PER_BOARD[code]
        ours.append(each.setup_h + each.unit_h * units)
        true.append(setup_h + unit_h * units)
        assert ours[-1] == pytest.approx(true[-1], rel=0.10), code
    assert sum(ours) == pytest.approx(sum(true), rel=0.05)


def test_the_shops_pace_is_taken_out(fits, plain):
    """A setting is multiplied by the pace when it is used: the same work at both gives the same settings."""
    slow = fits(a_log(60, pace=0.8), altered(plain, labour={"pace": 0.8}))
    for code, each in fits(a_log(60)).items():
        assert slow[code].unit_h == pytest.approx(each.unit_h, rel=1e-3)
        assert slow[code].setup_h == pytest.approx(each.setup_h, abs=0.002)


def test_what_batches_teach_is_taken_out(fits, plain):
    """A log without scatter: 0.4 h and 0.05 h a strip, less by 90 % whenever a batch doubles."""
    rows = [(n, 8 * n, 0.4 + 0.05 * 8 * n * cumulative_average(1.0, 0.9, n)) for n in (1, 2, 3, 4, 5, 8)]
    cells = "".join(f"2027-02-01,mill,{hours_h:.9f},{boards},{units}\n" for boards, units, hours_h in rows)
    text = "date,operation,hours,boards,units\n" + cells
    (taught,) = fits(text, altered(plain, labour={"learning": 0.9})).values()
    scale = taught.unit_h / 0.05  # no scatter: likely is the mean
    assert (scale, taught.setup_h) == pytest.approx((1.0, 0.4), rel=1e-6)


def test_batches_of_one_size_keep_the_tables_split(fits, tables):
    norm = tables.operations["mill"]
    (each,) = fits(_rows("mill", [(8, 1.0), (8, 1.1), (8, 0.9), (8, 1.05), (8, 0.95), (8, 1.0)])).values()
    assert each.setup_off_h is None
    assert each.setup_h / each.unit_h == pytest.approx(norm.setup_h / norm.unit_h)
    expected = (each.setup_h + 8 * each.unit_h) * (each.low + 4 + each.high) / 6
    assert expected == pytest.approx(1.0)  # the mean of the log


@pytest.mark.parametrize("count", [1, 2, 4])
def test_few_entries_do_not_tell_how_far_they_spread(fits, tables, count):
    norm = tables.operations["mill"]
    (each,) = fits(_rows("mill", [(8, 0.9), (16, 1.9), (8, 1.1), (24, 2.4)][:count])).values()
    assert (each.low, each.high, each.setup_off_h) == (None, None, None)
    # The table's spread goes on, so the mean stays that of the log.
    mean = (norm.optimistic_h + 4 * norm.likely_h + norm.pessimistic_h) / 6 / norm.likely_h
    if count == 1:
        assert (each.setup_h + 8 * each.unit_h) * mean == pytest.approx(0.9)


def test_few_orders_do_not_tell_a_correlation(fits):
    assert together(list(fits(a_log(7)).values())).correlation is None
    assert together(list(fits(a_log(8)).values())).correlation is not None


def test_a_setup_is_not_made_of_scatter(fits):
    """No setup and a large scatter: it comes out as none, or with an error as large as itself."""
    rows = [(8, 0.5), (16, 0.9), (24, 1.6), (32, 1.9), (40, 2.6), (48, 2.7)]
    (each,) = fits(_rows("mill", rows)).values()
    assert each.setup_h <= 2 * each.setup_off_h


def test_an_entry_far_from_the_others_is_pointed_at(tables, plain):
    text = _rows("mill", [(8, 0.8), (8, 0.9), (8, 8.5), (8, 0.8), (8, 1.0), (8, 0.9), (8, 0.9), (8, 0.8)])
    told = settings_from(read_log(text, tables, name="log.csv"), plain, tables)
    assert "# Look at row 4: mill of 8.5 h" in told


def test_hours_that_no_shop_file_takes_make_no_line(tables, plain):
    told = settings_from(read_log(_rows("pack", [(1, 300)]), tables, name="log.csv"), plain, tables)
    assert "a shop file takes 40 h at most" in told
    assert tomllib.loads(told)["labour"]["hours"] == {}


def test_many_hours_are_written_out(tables, plain):
    told = settings_from(read_log(_rows("pack", [(20, 300)] * 4), tables, name="log.csv"), plain, tables)
    assert "# 4 entries, 1200 h, by the table" in told


def test_units_left_out_are_those_of_the_tables_board_and_the_lines_say_so(tables, plain):
    text = "date,operation,hours,boards\n2027-02-01,mill,0.8,1\n2027-02-02,mill,1.6,2\n"
    entries = read_log(text, tables, name="log.csv")
    assert "2 without units: 8 strips a board" in settings_from(entries, plain, tables)
    assert settings_from(entries, plain, tables).startswith(
        "# 2 entries of 1 operation in 0 named orders, 2027-02-01 to"
    )
    counted = "date,operation,hours,boards,units\n2027-02-01,mill,0.8,1,8\n2027-02-02,mill,1.6,2,16\n"
    bare = settings_from(read_log(counted, tables, name="log.csv"), plain, tables)
    assert "without units" not in bare
    assert tomllib.loads(bare)["labour"] == tomllib.loads(settings_from(entries, plain, tables))["labour"]


@pytest.mark.parametrize("orders", [3, 40])
def test_the_lines_go_into_a_shop_file_which_then_quotes_by_them(tables, plain, fits, orders):
    text = a_log(orders)
    told = settings_from(read_log(text, tables, name="log.csv"), plain, tables)
    labour = tomllib.loads(told)["labour"]
    file = (demo_folder() / "moosgrund.toml").read_text("utf-8")
    before, _, after = file.partition("[labour.hours]\n")
    rest = after[after.index("\n# ---- calendar") :]
    lines = told.partition("[labour.hours]\n")[2]
    shop = load_shop(f"{before}[labour.hours]\n{lines}{rest}", tables=tables, name="mine.toml")
    assert set(shop.labour.hours) == set(TRUE) == set(labour["hours"])
    for code, each in fits(text).items():
        own = shop.labour.hours[code]
        assert own.unit_h == pytest.approx(each.unit_h, rel=0.01)
        assert own.setup_h == pytest.approx(each.setup_h, abs=0.001)
        if orders == 3:
            assert (own.low, own.high) == (None, None)
        else:
            assert (own.low, own.high) == pytest.approx((each.low, each.high), abs=0.011)
    assert ("correlation" in labour) == (orders == 40)


README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
UNDER = README.partition("### How sure are the hours")[2].partition("\n## ")[0]


def test_the_readmes_log_can_be_read_and_its_table_names_every_operation(tables):
    (rows,) = re.findall(r"^```csv\n(.*?)^```$", UNDER, flags=re.DOTALL | re.MULTILINE)
    assert len(read_log(rows, tables, name="README")) == rows.count("\n") - 1
    cells = re.findall(r"^\| (`.+?) \|", UNDER, flags=re.MULTILINE)
    assert {code for cell in cells for code in re.findall(r"`(\w+)`", cell)} == set(tables.operations)


def _rows(code, pairs):
    rows = (f"2027-02-{day:02},{code},{hours_h},{units}" for day, (units, hours_h) in enumerate(pairs, start=1))
    return "date,operation,hours,units\n" + "\n".join(rows) + "\n"
