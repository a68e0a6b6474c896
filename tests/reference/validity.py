"""The page of validity, service/VALIDITY.md: every formula with its range and how well it agrees with what is printed.

Made from the tests' own tables and from the table of formulas, by ``make validity``; a test holds the committed page to
them.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from builders import demo_tables, table_rows
from reference.answers import ANSWERS
from reference.checks import TABLES, Check, all_checks, checks

from chequerwork.domain.basics.facts import Formula

PAGE = Path(__file__).resolve().parents[2] / "service" / "VALIDITY.md"
KNOWN = ("verified-in-text", "derived", "from-memory", "house")
# How a room of the domain is headed on the page; one that is not here is headed by its own name.
ROOMS = {
    "accuracy": "Do the corners meet",
    "timber": "Wood as a material",
    "movement": "Change of size",
    "flatness": "Flatness",
    "support": "Strength of a field that nothing carries",
    "joints": "Joints and clamps",
    "order": "The field",
    "fit": "Fit of the pieces",
    "geometry": "Frames and heights",
    "shapes": "Volumes and masses",
    "arithmetic": "Sums",
    "amounts": "Money",
    "cutting": "Rough sizes and cuts",
    "lumber": "Lumber",
    "materials": "Sheets and supplies",
    "finishing": "Sanding and finish",
    "hours": "Hours",
    "schedule": "Dates",
    "packing": "Parcel",
    "limits": "Limits of law",
    "listings": "Listed timbers",
    "pricing": "Price",
}
INTRO = """\
# What the formulas are worth

Made by `make validity` from the tables of the tests and the table of formulas; do not edit it. A test fails when it is
not what they say.

A check puts a published figure to the real function. It passes when the answer is the printed figure within half of the
last printed digit, or within what the source itself states; that is the tolerance. "Farthest" is, of the checks that
agree, the one that comes nearest to its tolerance: how far it is off, of how much, and its name. Where we differ from
a source by more, the row is kept, says so, and stands under "Where sources disagree".

A formula without a check of its own is plain arithmetic or our own rule; its expression is still computed by the tests
and compared with the function, and its result with what an answer shows.
"""


QUESTIONS = """\
## Checks of more than one formula, and of what tables carry

Each name is a function of `tests/reference/answers/`, which asks the service with an order, a shop or a table.
"... over ours" is a second source's figure over ours: it agrees within the band that every answer states, a quarter for
movement and a tenth for mass.

"""


def page() -> str:
    """The whole page."""
    found = list(all_checks())
    parts = [INTRO, _counts(found), *_formulas(found), _questions(found), _carried()]
    parts += [_disagreeing(found), _unanswered()]
    return "\n".join(parts)


def _counts(found: Sequence[Check]) -> str:
    known = Counter(check.confidence for check in found)
    agree = sum(not check.disagrees for check in found)
    counted = f"{len(found)} checks: {agree} agree, {len(found) - agree} differ for a reason that is written down"
    return f"**{counted}.** {_how_known(known)}.\n"


def _formulas(found: Sequence[Check]) -> Iterator[str]:
    by_formula: dict[str, list[Check]] = {}
    for check in found:
        for path in ANSWERS[check.function].formulas:
            by_formula.setdefault(path, []).append(check)
    rooms: dict[str, list[Formula]] = {}
    for formula in demo_tables().formulas.values():
        rooms.setdefault(formula.function.partition(".")[0], []).append(formula)
    yield "## Formulas\n"
    for room, formulas in rooms.items():
        yield f"### {ROOMS.get(room, room)}\n"
        rows = (_formula_row(formula, by_formula.get(formula.function, [])) for formula in formulas)
        yield _table(("formula", "valid", "source", "checks", "farthest", "known"), rows)


def _formula_row(formula: Formula, found: Sequence[Check]) -> tuple[str, ...]:
    agreeing = [check for check in found if not check.disagrees]
    differing = len(found) - len(agreeing)
    count = str(len(agreeing)) + (f" + {differing} that differ" if differing else "") if found else "none published"
    known = Counter(check.confidence for check in found)
    return (
        f"{formula.title}: `{formula.expression}` [{formula.unit}], `{formula.function}`",
        formula.valid,
        formula.source,
        count,
        _farthest(agreeing),
        _how_known(known) if found else "-",
    )


def _farthest(agreeing: Iterable[Check]) -> str:
    """The check that comes nearest to its tolerance; words and exact figures have none."""
    measured = [check for check in agreeing if check.tol]
    if not measured:
        return "-"
    # Two figures of the share decide, so that no binary tail does; the first check of the tables wins a tie.
    farthest = max(measured, key=lambda check: round(check.off() / check.tol, 2))
    off = farthest.off()
    if off <= farthest.tol / 200:
        return "exact"
    unit = f" {farthest.unit}" if farthest.unit else ""
    return f"{off:.3g} of {farthest.tol:.3g}{unit}, {farthest.id}"


def _questions(found: Sequence[Check]) -> str:
    """What is asked of more than numbers, so that no one formula answers: of an order, a shop, a table."""
    rows = []
    for name in dict.fromkeys(check.function for check in found if not ANSWERS[check.function].formulas):
        asked = [check for check in found if check.function == name]
        agreeing = [check for check in asked if not check.disagrees]
        known = Counter(check.confidence for check in asked)
        rows.append(
            (f"`{name}`", str(len(agreeing)), str(len(asked) - len(agreeing)), _farthest(agreeing), _how_known(known))
        )
    return QUESTIONS + _table(("question", "agree", "differ", "farthest", "known"), rows)


def _carried() -> str:
    """What the checks are about, table by table."""
    rows = []
    for table, about in TABLES.items():
        found = checks(table)
        agreeing = [check for check in found if not check.disagrees]
        known = Counter(check.confidence for check in found)
        rows.append(
            (about, str(len(agreeing)), str(len(found) - len(agreeing)), _farthest(agreeing), _how_known(known))
        )
    return "## Checks by what they are about\n\n" + _table(("about", "agree", "differ", "farthest", "known"), rows)


def _disagreeing(found: Sequence[Check]) -> str:
    rows = [
        (
            check.id,
            f"{_told(check.expected)} {check.unit}",
            _told(check.ours),
            f"{check.source}, {check.locator}",
            check.note,
        )
        for check in found
        if check.disagrees
    ]
    return "## Where sources disagree\n\n" + _table(("check", "printed", "ours", "source", "why"), rows)


def _unanswered() -> str:
    rows = [(row["id"], row["reason"]) for row in table_rows("not_answered")]
    return "## Figures that no function answers\n\n" + _table(("figure", "why"), rows)


def _how_known(known: Counter[str]) -> str:
    words = {
        "verified-in-text": "read in the source",
        "derived": "derived",
        "from-memory": "from memory",
        "house": "ours",
    }
    return ", ".join(f"{known[each]} {words[each]}" for each in KNOWN if known[each])


def _told(value: object) -> str:
    if isinstance(value, list):
        return ", ".join(map(_told, value))
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [_row(head), _row(["---"] * len(head)), *map(_row, rows), ""]
    return "\n".join(lines)


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
