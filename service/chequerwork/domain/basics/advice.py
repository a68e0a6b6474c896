"""Advice: what is to be known of an order and does not stop it.

Advice for the ``workshop`` may speak of machines, stock and hours and is never shown to a customer.
"""

from dataclasses import dataclass
from enum import StrEnum

from chequerwork.domain.basics.errors import Path


class Severity(StrEnum):
    """How much advice matters."""

    INFO = "info"
    CAUTION = "caution"
    WARNING = "warning"


class Audience(StrEnum):
    """Who may read advice."""

    ALL = "all"
    WORKSHOP = "workshop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One piece of advice: a stable code, where in the order or plan it belongs, and a sentence.

    A sentence with lengths has ``{0}``, ``{1}`` in their places, so that it can be told in the order's units.
    """

    code: str
    severity: Severity
    at: Path
    text: str
    lengths_mm: tuple[float, ...] = ()
    source: str | None = None
    audience: Audience = Audience.ALL


def workshop_advice(
    code: str, at: Path, text: str, *, severity: Severity = Severity.INFO, source: str | None = None
) -> Advice:
    """Advice that only the workshop reads."""
    return Advice(code=code, severity=severity, at=at, text=text, source=source, audience=Audience.WORKSHOP)
