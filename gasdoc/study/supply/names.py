"""A build's names looked up: region, container kind, tubing sizes. What cannot be looked up is an input problem."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.build.model import Outlet, Regulator, Run
from gasdoc.build.reader import Build
from gasdoc.build.supply import Node
from gasdoc.catalog import bolts, containers, tubing
from gasdoc.engineering.materials.ends import End, EndError, mates
from gasdoc.engineering.materials.written_ends import leaves_gender_open, parse_end
from gasdoc.regions.region import Region, UnknownRegion, region
from gasdoc.source import Path, Problem, Severity
from gasdoc.study.facts import Installation
from gasdoc.study.supply.capacity import ways_to_read


def resolve(build: Build) -> tuple[Installation | None, tuple[Problem, ...]]:
    """The build with its names looked up, or None; and every problem found on the way, warnings among them."""
    problems: list[Problem] = []
    found_region = _region(build, problems)
    kind = _kind(build, found_region, problems)
    _owned(build, found_region, problems)
    _bolt(build, problems)
    problems += thread_problems(build)
    given: dict[str, tubing.Size] = {}
    offered: dict[str, tuple[tubing.Size, ...]] = {}
    for node in build.nodes:
        if isinstance(node.part, Run) and node.id not in build.open_runs:
            _run(build, node, node.part, given, offered, problems, found_region)
    failed = any(problem.severity is Severity.ERROR for problem in problems)
    if failed or found_region is None or kind is None:
        return None, tuple(problems)
    found = Installation(
        slug=build.slug,
        path=build.path,
        spec=build.spec,
        nodes=build.nodes,
        log=build.log,
        document=build.document,
        plan=build.plan,
        region=found_region,
        container_kind=kind,
        given_sizes=given,
        offered_sizes=offered,
    )
    return found, tuple(problems)


def _region(build: Build, problems: list[Problem]) -> Region | None:
    try:
        return region(build.spec.region)
    except UnknownRegion as wrong:
        problems.append(build.problem(("region",), Severity.ERROR, wrong.message, wrong.hint, "spec-region"))
        return None


def _kind(build: Build, found_region: Region | None, problems: list[Problem]) -> containers.ContainerKind | None:
    if "container" in build.open and build.plan is None:
        return None
    try:
        kind = containers.container_kind(build.spec.container.type)
        if kind.water_capacity is None and build.spec.container.water_capacity is None:
            problems.append(
                build.problem(
                    ("container",),
                    Severity.ERROR,
                    f"'{kind.id}' comes in many sizes",
                    "add 'water_capacity:' from its nameplate, as in '29 gal'",
                    "spec-container",
                )
            )
        return kind
    except containers.UnknownContainer as wrong:
        problems.append(_no_kind(build, ("container", "type"), wrong, found_region))
        return None


def _owned(build: Build, found_region: Region | None, problems: list[Problem]) -> None:
    """The kinds that are there already: one that is not listed would silently count for nothing."""
    for i, owned in enumerate(build.spec.wishes.have if build.spec.wishes is not None else ()):
        try:
            containers.container_kind(owned)
        except containers.UnknownContainer as wrong:
            problems.append(_no_kind(build, ("wishes", "have", i), wrong, found_region))


def _no_kind(build: Build, at: Path, wrong: containers.UnknownContainer, found_region: Region | None) -> Problem:
    listed = containers.trade(found_region.practice.containers) if found_region is not None else containers.kind_ids()
    hint = wrong.hint if wrong.nearest else f"use one of {', '.join(listed)}"
    return build.problem(at, Severity.ERROR, wrong.message, hint, "spec-container")


def _bolt(build: Build, problems: list[Problem]) -> None:
    mount = build.spec.container.mount
    if mount is None or mount.thread is None or mount.grade is None:
        return
    try:
        bolts.bolt(mount.thread, mount.grade, mount.bolt_length)
    except bolts.BoltError as wrong:
        key = "thread" if wrong.message.startswith("thread") else "grade"
        problems.append(
            build.problem(("container", "mount", key), Severity.ERROR, wrong.message, wrong.hint, "spec-bolt")
        )


def _run(
    build: Build,
    node: Node,
    run: Run,
    given: dict[str, tubing.Size],
    offered: dict[str, tuple[tubing.Size, ...]],
    problems: list[Problem],
    found_region: Region | None,
) -> None:
    material, kind = build.material(node)
    try:
        if run.size is not None:  # first, because a size may say that its material is another one
            size = tubing.resolve(material, kind, run.size)
            for text in size.warnings:
                problems.append(build.problem((*node.at, "size"), Severity.WARNING, text, "", "spec-size"))
            given[node.id] = size
        rows = found_region.practice.rows if found_region is not None else ()
        offered[node.id] = tubing.offered(material, kind, rows)
    except tubing.SizeError as wrong:
        key = {"material": "material", "kind": "type", "size": "size"}[wrong.about]
        at = (*node.at, key) if getattr(run, key) is not None else node.at
        hint = wrong.hint
        if wrong.readings and found_region is not None:
            hint = f"{hint}; {ways_to_read(build, wrong.readings, found_region)}"
        problems.append(build.problem(at, Severity.ERROR, wrong.message, hint, "spec-size"))


# --- connections ------------------------------------------------------------------------------------------------------


def usual_end(text: str) -> End:
    """The end that text on an appliance or regulator means: a flare that leaves it open is male, every other thread female.
    Raises EndError."""
    end = parse_end(text, "female")
    return parse_end(text, "male") if end.kind == "flare" else end


def on_the_valve(build: Build) -> bool:
    """Whether the first regulator goes onto the valve of the only container itself. False where a connection is not stated."""
    valve, inlet = build.spec.container.connection, build.spec.regulator.inlet_thread
    if build.spec.container.number > 1 or valve is None or inlet is None:
        return False
    return mates(parse_end(valve, "female", on_container=True), usual_end(inlet))


def thread_problems(build: Build) -> Iterator[Problem]:
    """Every connection of the spec whose text means no end, or several."""
    for at, text, on_container in _threads(build):
        try:
            parse_end(text, "female", on_container=on_container)
        except EndError as wrong:
            yield build.problem(at, Severity.ERROR, wrong.message, wrong.hint, "spec-thread")
            continue
        if not on_container and leaves_gender_open(text):
            message = f"'{text}' may be male or female"
            hint = f"write 'male {text}' or 'female {text}'. A male one with a flat seal is as usual as a female one"
            yield build.problem(at, Severity.ERROR, message, hint, "spec-thread")


def _threads(build: Build) -> Iterator[tuple[Path, str, bool]]:
    spec = build.spec
    if spec.container.connection is not None:
        yield ("container", "connection"), spec.container.connection, True
    regulators: list[tuple[Path, Regulator]] = [(("regulator",), spec.regulator)]
    regulators += [(node.at, part) for node, part in build.each(Regulator)]
    for at, regulator in regulators:
        for key in ("inlet_thread", "outlet_thread"):
            text = getattr(regulator, key)
            if text is not None:
                yield (*at, key), text, False
    for node in build.nodes:
        if isinstance(node.part, Outlet) and node.part.appliance.inlet_thread is not None:
            yield (*node.at, "appliance", "inlet_thread"), node.part.appliance.inlet_thread, False
