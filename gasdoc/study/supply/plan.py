"""What is said of a build while container, regulator or tubing are still to be chosen.

Such a build is worked out with a proposal in each open place. What is said of a proposal is said of nothing that stands, so
it is left out; in its place one note says what is open.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gasdoc.catalog import tubing
from gasdoc.source import Path
from gasdoc.study.facts import Installation
from gasdoc.study.findings import Finding, note


def stated_only(build: Installation, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings that are about something the spec states."""
    return (finding for finding in findings if not build.open or _stated(build, finding))


def _stated(build: Installation, finding: Finding) -> bool:
    block = finding.at[0] if finding.at else None
    if block in ("container", "regulator") and block in build.open:
        return len(finding.at) > 1 and finding.at in build.document.places
    return finding.subject not in build.stated.open_runs


def plan_findings(build: Installation) -> Iterator[Finding]:
    """What is still to be chosen, with the proposal that stands in its place."""
    spec = build.spec
    if "container" in build.open:
        number = f"{spec.container.number} x " if spec.container.number > 1 else ""
        yield note(
            "open-container",
            "build",
            _place(build, "container"),
            "The container is not chosen yet. Pages and numbers take a proposal for it: "
            f"{number}{build.container_kind.names[0]}.",
            PROPOSED,
            f"Look at 'gasdoc choose {build.path}', and take one of its choices.",
        )
    if "regulator" in build.open:
        yield note(
            "open-regulator",
            "build",
            _place(build, "regulator"),
            "The first regulator is not chosen yet. Pages and numbers take a proposal for it: one that gives "
            f"{spec.regulator.outlet.text}.",
            PROPOSED,
            f"Look at 'gasdoc choose {build.path}' for what to ask for.",
        )
    if "tubing" in build.open:
        run = next(node for node in build.nodes if node.id in build.stated.open_runs)
        yield note(
            "open-tubing",
            "build",
            _place(build, "supply"),
            "The tubing is not chosen yet. Pages and numbers take a proposal for it: "
            f"{tubing.material(build.material(run)[0]).title}.",
            PROPOSED,
            f"Look at 'gasdoc choose {build.path}', and take one of its choices.",
        )


PROPOSED = "A proposal is worked out like a build that stands. Nobody has bought, fitted or judged it."


def _place(build: Installation, block: str) -> Path:
    return (block,) if (block,) in build.document.places else ()
