"""What a study has to say about a build: one finding at a time, with its reason, its source and what to do."""

from __future__ import annotations

from functools import partial

from msgspec import Struct

from gasdoc.source import Path, Severity

FIRST = (
    "test-with-fuel-gas",
    "input-far-off",
    "test-leak",
    "test-suspected-leak",
    "test-pressure-outside",
    "container-inside",
    "container-overfilled",
    "locker-closed",
    "engine-in-room",
    "flueless-heater",
    "flueless-heater-sleeping",
    "flueless-water-heater",
    "flueless-sleeping",
    "open-flued-sleeping",
    "no-openings",
    "listed-for-outdoors-only",
    "alarm-wrong-height",
    "alarm-wrong-standard",
    "jetted-for-another-gas",
    "jetted-for-another-pressure",
    "jets-for-altitude",
    "pressure-far-above-usual",
    "above-maximum",
    "lock-up-above-plate",
    "no-over-pressure-protection",
    "regulator-cannot-work",
    "regulator-capacity-unknown",
    "regulator-cold-unknown",
    "regulator-inlet-beyond-gas",
    "regulator-inlet-too-low",
    "regulator-inlet-unknown",
    "regulator-lock-up-unknown",
    "regulator-maybe-too-small",
    "regulator-on-cylinder",
    "regulator-pressures",
    "regulator-threads-swapped",
    "regulator-tolerance-unknown",
    "regulator-too-cold",
    "regulator-too-small",
    "joint-must-not-be-made",
    "starved",
    "below-minimum",
    "below-minimum-at-tolerance",
    "run-branch-only",
    "run-buried-moves",
    "run-enlarged",
    "run-in-pieces",
    "run-longer-than-stock",
    "run-path-enough",
    "run-plastic-above-ground",
    "run-too-large-a-load",
    "run-undersized",
    "table-exceeded",
)
"""What is told first among findings of one severity: an input that cannot be, because others follow from it; gas that gets out
or burns badly, then gas that does not get there. After these comes what a rule asks (`rule-` and its id), then all else."""

_RANK = {code: rank for rank, code in enumerate(FIRST)}


class Finding(Struct, frozen=True):
    """An error, warning or note about a build.

    `subject` is the id of the element it is about, `at` its place in the front matter. `message` says what is so with
    its numbers, `reason` why that matters, `remedy` what to do, `source` where the reason comes from. Of what is not known, `of` names
    the things, where they are several, and `taken` says what stands for it until then.
    """

    severity: Severity
    code: str
    subject: str
    at: Path
    message: str
    reason: str
    remedy: str
    source: str | None = None
    of: tuple[str, ...] = ()
    taken: str | None = None

    @property
    def anchor(self) -> str:
        """An id for the finding on a page."""
        return f"{self.code}-{self.subject}"

    @property
    def order(self) -> tuple[int, int, str, str, str]:
        """Sort key: worst first, then what can hurt at once, then by code and subject."""
        rank = _RANK.get(self.code, len(FIRST) + (not self.code.startswith("rule-")))
        return (-int(self.severity), rank, self.code, self.subject, self.message)


error = partial(Finding, Severity.ERROR)
"""A finding that something is wrong by the numbers or by a stated rule."""

warning = partial(Finding, Severity.WARNING)
"""A finding that something is doubtful, unknown or for a licensed person."""

note = partial(Finding, Severity.NOTE)
"""A finding worth knowing."""
