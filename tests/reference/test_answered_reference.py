"""Nothing is left out: every row of the project's three files of published figures is answered or says why not."""

import re

import pytest
from builders import table_rows

ANSWERED = (
    "accuracy", "cutting", "emc_table", "finishing", "geometry", "limits", "materials", "movement", "packing",
    "pricing", "schedule", "timber",
)  # fmt: skip
FILES = {"wood_checks.csv": 26, "wood_emc.csv": 48, "trade_check_values.csv": 85}


def test_every_row_of_the_three_files_is_answered_or_says_why_not():
    rows = [row["id"] for name in ANSWERED for row in table_rows(name) if not row["id"].startswith("notes-")]
    refused = [row["id"] for row in table_rows("not_answered")]
    assert sorted(rows + refused) == sorted(row["id"] for row in table_rows("reference_ids"))


def test_the_list_of_rows_is_the_whole_of_the_three_files():
    counted = dict.fromkeys(FILES, 0)
    for row in table_rows("reference_ids"):
        counted[row["file"]] += 1
    assert counted == FILES


@pytest.mark.parametrize("name", ANSWERED)
def test_every_figure_names_a_source_of_the_source_list(tables, name):
    for row in table_rows(name):
        assert set(row["source"].split("; ")) <= set(tables.sources), row["id"]
        assert row["locator"], row["id"]
        assert re.fullmatch(r"\d+(\.\d+)?(e-\d+)?|\de-\d+", row["tol"]), row["id"]


def test_every_row_without_an_answer_has_a_reason():
    for row in table_rows("not_answered"):
        assert len(row["reason"]) >= len("As J01."), row["id"]
