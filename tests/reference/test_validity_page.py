"""The page of validity is what the tables say, and leaves nothing out."""

from builders import demo_tables, table_rows
from reference.checks import all_checks
from reference.validity import PAGE, page


def test_the_committed_page_is_what_the_tables_give():
    assert PAGE.read_text("utf-8") == page(), "run: make validity"


def test_every_formula_stands_on_it():
    text = page()
    for formula in demo_tables().formulas.values():
        assert f"`{formula.function}`" in text
        assert formula.valid.replace("|", "\\|") in text


def test_every_disagreement_and_every_figure_without_an_answer_stands_on_it():
    text = page()
    for check in all_checks():
        assert (f"| {check.id} |" in text) is check.disagrees, check.id
    for row in table_rows("not_answered"):
        assert f"| {row['id']} |" in text
