"""Notices."""

from collections.abc import Mapping
from typing import Final

from chequerwork.api.answer_fields import day, kind, many, text
from chequerwork.api.sections.trees import Fields, Tree
from chequerwork.domain.advice import Audience
from chequerwork.domain.plan import Plan

SHAPES: Final[Mapping[str, Fields]] = {
    "Notice": {
        "code": text(),
        "severity": kind("string", "", enum=["info", "caution", "warning"]),
        "subject": text(),
        "text": text(),
        "authority": text("Who to ask."),
        "as_of": day(),
        "confidence": text(),
        "source": text(),
    },
    "Compliance": {"notices": many("Notice")},
}


def view(plan: Plan, caller: Audience) -> Tree:
    """The section as a tree, as far as the caller may see it."""
    return {
        "notices": [
            {
                "code": notice.code,
                "severity": notice.severity,
                "subject": notice.subject,
                "text": notice.text,
                "authority": notice.authority,
                "as_of": notice.as_of,
                "confidence": notice.confidence,
                "source": notice.source,
            }
            for notice in plan.compliance.notices
            if caller is Audience.WORKSHOP or notice.audience is Audience.ALL
        ]
    }
