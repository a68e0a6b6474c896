"""Notices, and the listed timbers behind them."""

from typing import Final

from chequerwork.api.component import Component, PlanContext, choice, day, flag, many, maybe, number, text
from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.basics.facts import Coverage, NoticeForm
from chequerwork.domain.law.compliance import Compliance, Prompt
from chequerwork.domain.law.listings import Papers, Status


def _notices(found: Compliance, to: PlanContext) -> list[Prompt]:
    return [each for each in found.notices if to.workshop or each.notice.audience is Audience.ALL]


NOTICE: Final = Component(
    "Notice",
    text("code", of="notice.code"),
    choice("severity", Severity),
    choice(
        "form",
        NoticeForm,
        "What it is about: the board as goods, the wood that the maker buys, the packaging, the making, the use or "
        "the sale.",
        "notice.form",
    ),
    text("subject"),
    text("text", "This order first, then the notice; it ends with whom to ask."),
    text("authority", "Who to ask.", "notice.authority"),
    choice("status", Status, "On the day of issue. A coming one begins within a year."),
    maybe(day("applies_from", "First day; null where there is none or it is not known.", "period.first")),
    maybe(day("applies_until", "Last day; null where there is none or it is not known.", "period.last")),
    day("as_of", "When the text was checked.", "notice.as_of"),
    flag("stale", "Checked more than a year before the day of issue: it may be out of date."),
    flag("verified", "Every statement was read in its source; false where any is from memory."),
    text("confidence", of="notice.confidence"),
    text("source"),
)
LISTED_TIMBER: Final = Component(
    "ListedTimber",
    text("species", of="species.key"),
    choice("appendix", ["I", "II", "III"], "Of CITES.", "listing.appendix"),
    text("annotation", "As #15, or none.", "listing.annotation"),
    choice(
        "finished_board",
        Coverage,
        "Whether the listing takes in a finished board, wherever it goes.",
        "listing.finished_board",
    ),
    number("each_kg", "Of this timber in one finished board.", decimals=3),
    number("order_kg", decimals=3),
    number(
        "weighed_each_kg",
        "All timbers of one board under the same annotation: what counts against a limit.",
        decimals=3,
    ),
    maybe(number("limit_kg", "Up to which finished products are exempt; null where no limit applies.")),
    choice(
        "papers",
        Papers,
        "Whether the finished board needs papers on its way. With readings-differ it does when listed wood is "
        "weighed by consignment, and not when by board.",
    ),
)
COMPLIANCE: Final = Component(
    "Compliance",
    many("notices", NOTICE, "Listed timbers first.", _notices),
    many(
        "listed_timbers",
        LISTED_TIMBER,
        "Timbers of the board that CITES lists. Raw stock has its own notice.",
        "listed",
    ),
)

COMPONENTS: Final = (NOTICE, LISTED_TIMBER, COMPLIANCE)
