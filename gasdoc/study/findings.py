"""What a study has to say about a build: one finding at a time, with its reason, its source and what to do."""

from __future__ import annotations

from dataclasses import dataclass

from gasdoc.source import Path, Severity

FIRST = (
    "test-with-fuel-gas",
    "input-far-off",
    "test-leak",
    "test-suspected-leak",
    "test-pressure",
    "container-inside",
    "container-overfilled",
    "flueless-heater",
    "no-openings",
    "listed-for-outdoors-only",
    "alarm-wrong",
    "jetted-for-another",
    "jets-for-altitude",
    "above-maximum",
    "no-over-pressure",
    "regulator-",
    "joint-must-not",
    "starved",
    "below-minimum",
    "run-",
    "table-exceeded",
    "rule-",
)
"""How codes begin of what is told first among findings of one severity: an input that cannot be, because others follow from
it; gas that gets out or burns badly, then gas that does not get there, then what a rule asks."""


@dataclass(frozen=True, slots=True)
class Finding:
    """An error, warning or note about a build.

    `subject` is the id of the element it is about, `at` its place in the front matter. `message` says what is so with
    its numbers, `reason` why that matters, `remedy` what to do, `source` where the reason comes from.
    """

    severity: Severity
    code: str
    subject: str
    at: Path
    message: str
    reason: str
    remedy: str
    source: str | None = None

    @property
    def anchor(self) -> str:
        """An id for the finding on a page."""
        return f"{self.code}-{self.subject}"

    @property
    def order(self) -> tuple[int, int, str, str, str]:
        """Sort key: worst first, then what can hurt at once, then by code and subject."""
        rank = next((i for i, code in enumerate(FIRST) if self.code.startswith(code)), len(FIRST))
        return (-int(self.severity), rank, self.code, self.subject, self.message)


def error(
    code: str, subject: str, at: Path, message: str, reason: str, remedy: str, source: str | None = None
) -> Finding:
    """A finding that something is wrong by the numbers or by a stated rule."""
    return Finding(Severity.ERROR, code, subject, at, message, reason, remedy, source)


def warning(
    code: str, subject: str, at: Path, message: str, reason: str, remedy: str, source: str | None = None
) -> Finding:
    """A finding that something is doubtful, unknown or for a licensed person."""
    return Finding(Severity.WARNING, code, subject, at, message, reason, remedy, source)


def note(
    code: str, subject: str, at: Path, message: str, reason: str, remedy: str, source: str | None = None
) -> Finding:
    """A finding worth knowing."""
    return Finding(Severity.NOTE, code, subject, at, message, reason, remedy, source)
