"""Keys that a build which stands leaves open."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.build.model import Outlet, Regulator, Run
from gasdoc.build.reader import Build
from gasdoc.source import Path
from gasdoc.study.findings import Finding, warning


def open_key_findings(build: Build) -> Iterator[Finding]:
    """Sizes, connectors and threads that a build which stands does not state: no code can stand for what is not stated."""
    if build.spec.fitted is None:
        return
    missing = tuple(_missing(build))
    if missing:
        yield warning(
            "fitted-not-stated",
            "build",
            missing[0],
            f"The build is fitted, and its spec does not state {len(missing)} of its sizes, connectors and threads: "
            f"{', '.join(_key(build, at) for at in missing[:MOST_KEYS])}{', ...' if len(missing) > MOST_KEYS else ''}.",
            "A code stands for what the spec states. What is left out is not in it, and can change unseen.",
            "Read each off what was fitted and add it. Both codes then change, so add it before the tests are recorded.",
        )


MOST_KEYS = 12
"""How many keys that are not stated one message names (our choice)."""


def _missing(build: Build) -> Iterator[Path]:
    """The places of sizes, connectors and threads that are not stated."""
    spec = build.spec
    if spec.container.connection is None:
        yield ("container", "connection")
    for name in ("inlet_thread", "outlet_thread"):
        if getattr(spec.regulator, name) is None:
            yield ("regulator", name)
    for node in build.nodes:
        part = node.part
        if isinstance(part, Run) and part.size is None:
            yield (*node.at, "size")
        elif isinstance(part, Regulator):
            yield from ((*node.at, name) for name in ("inlet_thread", "outlet_thread") if getattr(part, name) is None)
        elif isinstance(part, Outlet):
            if part.connector is None:
                yield (*node.at, "connector")
            elif part.connector.length is None:
                yield (*node.at, "connector", "length")
            if part.appliance.inlet_thread is None:
                yield (*node.at, "appliance", "inlet_thread")


def _key(build: Build, at: Path) -> str:
    """A place as people name it, as in 'size of run-heater'."""
    ids = {node.at: node.id for node in build.nodes}
    owner = next((ids[at[:i]] for i in range(len(at), 0, -1) if at[:i] in ids), str(at[0]))
    return f"{'connector length' if at[-2:] == ('connector', 'length') else str(at[-1]).replace('_', ' ')} of {owner}"
