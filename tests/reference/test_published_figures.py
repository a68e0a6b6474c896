"""Every published figure of the tables is put to the domain, and agrees or differs as its row says."""

import re
import sys

import pytest
from builders import table_rows
from formulas import FORMULAS, MODULES
from reference.answers import ANSWERS
from reference.checks import COLUMNS, FOLDER, TABLES, all_checks

CHECKS = {f"{check.source}, {check.locator} ({check.id})": check for check in all_checks()}
CONFIDENCES = {"verified-in-text", "derived", "from-memory", "house"}


@pytest.mark.parametrize("name", CHECKS)
def test_a_published_figure(name):
    """Within half of the last printed digit, or what the source itself says. What disagrees does so as stated."""
    check = CHECKS[name]
    if check.disagrees:
        assert check.as_stated(), (check.found(), check.ours)
        assert not check.agrees()
    else:
        assert check.agrees(), (check.found(), check.expected, check.note)


@pytest.mark.parametrize("name", CHECKS)
def test_a_figure_names_a_source_and_how_it_is_known(tables, name):
    check = CHECKS[name]
    assert set(check.source.split("; ")) <= set(tables.sources)
    assert check.locator
    assert check.confidence in CONFIDENCES
    assert not (check.confidence == "verified-in-text" and check.source == "MEM")
    assert len(check.note) > 20 or not check.disagrees, "a row that disagrees says why"


@pytest.mark.parametrize("table", TABLES)
def test_a_table_is_written_in_one_way(table):
    rows = table_rows(table)
    assert {tuple(row) for row in rows} == {COLUMNS}
    for row in rows:
        assert re.fullmatch(r"\d+(\.\d+)?(e-\d+)?", row["tol"]), row["id"]


def test_every_row_has_a_name_of_its_own():
    ids = [check.id for check in all_checks()]
    assert len(ids) == len(set(ids)) == len(CHECKS)


def test_no_table_of_checks_is_left_out():
    with_questions = {path.stem for path in FOLDER.glob("*.csv") if "function" in table_rows(path.stem)[0]}
    assert with_questions == set(TABLES)


def test_every_question_is_asked_by_a_row():
    """A formula may have no published figure, which the page of validity says; a question of our own has one."""
    asked = {check.function for check in CHECKS.values()}
    assert asked <= set(ANSWERS)
    own = {name for name, answer in ANSWERS.items() if name not in {path.rpartition(".")[2] for path in FORMULAS}}
    assert own <= asked


REMEMBERED = [
    thing for module in MODULES for thing in vars(module).values() if callable(getattr(thing, "cache_clear", None))
]


def formulas_called(check):
    """Which formulas run while a check is answered, by their path."""
    paths = {function.__code__: path for path, function in FORMULAS.items()}
    called = set()
    for remembered in REMEMBERED:  # what is remembered from another check runs no formula
        remembered.cache_clear()

    def note(frame, event, _):
        if event == "call" and frame.f_code in paths:
            called.add(paths[frame.f_code])

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        check.found()
    finally:
        sys.setprofile(before)
    return called


@pytest.mark.parametrize("question", sorted({check.function for check in CHECKS.values()}))
def test_a_question_runs_the_formulas_it_is_counted_under(question):
    for check in (each for each in CHECKS.values() if each.function == question):
        assert set(ANSWERS[question].formulas) <= formulas_called(check), check.id
