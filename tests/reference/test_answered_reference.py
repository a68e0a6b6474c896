"""Nothing is left out: every row of the project's three files of published figures is answered or says why not."""

from builders import table_rows
from reference.checks import all_checks

FILES = {"wood_checks.csv": 26, "wood_emc.csv": 48, "trade_check_values.csv": 85}
LISTED = {row["id"] for row in table_rows("reference_ids")}


def test_every_row_of_the_three_files_is_answered_or_says_why_not():
    """Answered once each. Rows from elsewhere have names of their own."""
    answered = [check.id for check in all_checks() if check.id in LISTED]
    refused = [row["id"] for row in table_rows("not_answered")]
    assert sorted(answered + refused) == sorted(LISTED)


def test_the_list_of_rows_is_the_whole_of_the_three_files():
    counted = dict.fromkeys(FILES, 0)
    for row in table_rows("reference_ids"):
        counted[row["file"]] += 1
    assert counted == FILES


def test_every_row_without_an_answer_has_a_reason():
    for row in table_rows("not_answered"):
        assert len(row["reason"]) >= len("As J01."), row["id"]
