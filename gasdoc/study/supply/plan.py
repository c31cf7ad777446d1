"""What is said of a build while container, regulator or tubing are still to be chosen.

Such a build is worked out with a proposal in each open place. What is said of a proposal is said of nothing that stands, so
it is left out; in its place one note says what is open.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gasdoc.build.model import Junction
from gasdoc.catalog import tubing
from gasdoc.catalog.appliances import day
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
    if finding.at[-1:] == ("legs",):
        return True  # the way of a line is stated, whatever tubing it is in
    open_runs = build.stated.open_runs
    node = build.by_id.get(finding.subject)
    if node is not None and isinstance(node.part, Junction):  # its ends are those of the tubing it joins
        around = [build.nodes[node.parent].id] * (node.parent >= 0) + [
            n.id for n in build.nodes if n.parent >= 0 and build.nodes[n.parent] is node
        ]
        return open_runs.isdisjoint(around)
    return finding.subject not in open_runs


def plan_findings(build: Installation) -> Iterator[Finding]:
    """What is still to be chosen, with the proposal that stands in its place."""
    spec = build.spec
    if "container" in build.open:
        held = spec.container
        number = f"{held.number} x " if held.number > 1 else ""
        together = {"changeover": ", by changeover", "parallel": ", together", "banks": ", in two banks"}.get(
            held.manifold or "", ""
        )
        proposal = f"{number}{build.container_kind.names[0]}{together}"
        yield note(
            "open-container",
            "build",
            _place(build, "container"),
            f"The container is not chosen yet. Pages and numbers take a proposal for it: {proposal}.",
            PROPOSED,
            f"Look at 'gasdoc choose {build.path}', and take one of its choices.",
            taken=proposal,
        )
    if "regulator" in build.open:
        proposal = f"one with {spec.regulator.outlet.text} at its outlet"
        yield note(
            "open-regulator",
            "build",
            _place(build, "regulator"),
            f"The first regulator is not chosen yet. Pages and numbers take a proposal for it: {proposal}.",
            PROPOSED,
            f"Look at 'gasdoc choose {build.path}' for what to ask for.",
            taken=proposal,
        )
    if "tubing" in build.open:
        run = next(node for node in build.nodes if node.id in build.stated.open_runs)
        proposal = tubing.material(build.material(run)[0]).title
        yield note(
            "open-tubing",
            "build",
            _place(build, "supply"),
            f"The tubing is not chosen yet. Pages and numbers take a proposal for it: {proposal}.",
            PROPOSED,
            f"Look at 'gasdoc choose {build.path}', and take one of its choices.",
            taken=proposal,
        )

    if "container" in build.open and spec.container.must_last is None:
        lasting = day().must_last
        yield note(
            "must-last-unknown",
            "build",
            _place(build, "container"),
            f"How long a full supply is to last is not stated, so {lasting.value.text} are taken.",
            "The container hangs on it.",
            "Add 'must_last:' under 'container:'.",
            lasting.cited,
            taken=lasting.value.text,
        )


PROPOSED = "A proposal is worked out like a build that stands. Nobody has bought, fitted or judged it."


def _place(build: Installation, block: str) -> Path:
    return (block,) if (block,) in build.document.places else ()
