"""Notices, and the listed timbers behind them."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import day, kind, many, maybe_day, maybe_num, num, text
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.basics.advice import Audience, Severity
from chequerwork.domain.basics.facts import Coverage, Form
from chequerwork.domain.law.compliance import Prompt
from chequerwork.domain.law.listings import ListedTimber, Papers, Status
from chequerwork.domain.plan import Plan

SHAPES: Final[Mapping[str, Fields]] = {
    "Notice": {
        "code": text(),
        "severity": kind("string", "", enum=list(Severity)),
        "form": kind(
            "string",
            "What it is about: the board as goods, the wood that the maker buys, the packaging, the making, the use or "
            "the sale.",
            enum=list(Form),
        ),
        "subject": text(),
        "text": text("This order first, then the notice; it ends with whom to ask."),
        "authority": text("Who to ask."),
        "status": kind("string", "On the day of issue. A coming one begins within a year.", enum=list(Status)),
        "applies_from": maybe_day("First day; null where there is none or it is not known."),
        "applies_until": maybe_day("Last day; null where there is none or it is not known."),
        "as_of": day("When the text was checked."),
        "stale": kind("boolean", "Checked more than a year before the day of issue: it may be out of date."),
        "verified": kind("boolean", "Every statement was read in its source; false where any is from memory."),
        "confidence": text(),
        "source": text(),
    },
    "ListedTimber": {
        "species": text(),
        "appendix": kind("string", "Of CITES.", enum=["I", "II", "III"]),
        "annotation": text("As #15, or none."),
        "finished_board": kind(
            "string", "Whether the listing takes in a finished board, wherever it goes.", enum=list(Coverage)
        ),
        "each_kg": num("Of this timber in one finished board."),
        "order_kg": num(),
        "weighed_each_kg": num("All timbers of one board under the same annotation: what counts against a limit."),
        "limit_kg": maybe_num("Up to which finished products are exempt; null where no limit applies."),
        "papers": kind(
            "string",
            "Whether the finished board needs papers on its way. With readings-differ it does when listed wood is "
            "weighed by consignment, and not when by board.",
            enum=list(Papers),
        ),
    },
    "Compliance": {
        "notices": many("Notice", "Listed timbers first."),
        "listed_timbers": many("ListedTimber", "Timbers of the board that CITES lists. Raw stock has its own notice."),
    },
}


def view(plan: Plan, caller: Audience) -> Tree:
    """The section as a tree, as far as the caller may see it."""
    found = plan.compliance
    return {
        "notices": [
            _notice(prompt)
            for prompt in found.notices
            if caller is Audience.WORKSHOP or prompt.notice.audience is Audience.ALL
        ],
        "listed_timbers": [_timber(timber) for timber in found.listed],
    }


def _notice(prompt: Prompt) -> Tree:
    notice, first, last = prompt.notice, prompt.period.first, prompt.period.last
    return {
        "code": notice.code,
        "severity": prompt.severity,
        "form": notice.form,
        "subject": prompt.subject,
        "text": prompt.text,
        "authority": notice.authority,
        "status": prompt.status,
        "applies_from": first.isoformat() if first else None,
        "applies_until": last.isoformat() if last else None,
        "as_of": notice.as_of.isoformat(),
        "stale": prompt.stale,
        "verified": prompt.verified,
        "confidence": notice.confidence,
        "source": prompt.source,
    }


def _timber(timber: ListedTimber) -> Tree:
    listing = timber.listing
    return {
        "species": timber.species.key,
        "appendix": listing.appendix,
        "annotation": listing.annotation,
        "finished_board": listing.finished_board,
        "each_kg": round(timber.each_kg, 3),
        "order_kg": round(timber.order_kg, 3),
        "weighed_each_kg": round(timber.weighed_each_kg, 3),
        "limit_kg": timber.limit_kg,
        "papers": timber.papers,
    }
