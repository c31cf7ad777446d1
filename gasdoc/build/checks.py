"""What must hold between the fields of a spec for it to describe one build at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, NamedTuple

from gasdoc import units
from gasdoc.build.labels import OUTDOORS, room_id
from gasdoc.build.model import ENDS, Element, Outlet, Regulator, Run, Spec
from gasdoc.build.supply import Node
from gasdoc.catalog import tubing
from gasdoc.quantities import Kelvin, Known
from gasdoc.source import Path, Severity

MOST_ELEMENTS = 400

WARMEST_COLDEST: Annotated[
    Kelvin,
    Known("warmest that the coldest air of a year is anywhere at sea level: 30 degC", "Our choice", "practice"),
] = 303.15

LAPSE: Annotated[
    float,
    "K/m",
    Known(
        "how much colder the air gets with the height",
        "U.S. Standard Atmosphere 1976, as an open library of flow has it",
        "once",
    ),
] = 0.0065


class Complaint(NamedTuple):
    """One thing wrong at a place of the front matter; the reader gives it file, line and column."""

    at: Path
    message: str
    hint: str
    code: str
    severity: Severity = Severity.ERROR


def check_shape(branch: Sequence[Element], at: Path) -> Iterator[Complaint]:
    """A branch is a sequence of elements that ends in a junction or an outlet, and nothing follows those.

    This must hold before ids can be given; `check_spec` relies on it.
    """
    if not branch:
        yield Complaint(at, "this branch is empty", "end it with an outlet or a junction", "spec-branch-empty")
        return
    for i, element in enumerate(branch):
        given = [kind for kind in Element.model_fields if getattr(element, kind) is not None]
        if len(given) != 1:
            what = "names " + " and ".join(given) if given else "says nothing"
            yield Complaint(
                (*at, i),
                f"this element {what}",
                "give each element exactly one key: run, valve, regulator, tap, junction or outlet",
                "spec-element",
            )
            continue
        last = i == len(branch) - 1
        if element.kind in ENDS and not last:
            yield Complaint(
                (*at, i, element.kind),
                f"a branch ends with its {element.kind}, but more follows",
                "put what follows into a branch of a junction",
                "spec-branch-end",
            )
        if last and element.kind not in ENDS:
            yield Complaint(
                (*at, i, element.kind),
                f"this branch ends with a {element.kind}",
                "end it with an outlet or a junction",
                "spec-branch-end",
            )
        if element.junction is not None:
            for k, inner in enumerate(element.junction.branches):
                yield from check_shape(inner, (*at, i, "junction", "branches", k))


def check_spec(spec: Spec, nodes: Sequence[Node]) -> Iterator[Complaint]:
    """Contradictions between fields."""
    yield from _ids(spec, nodes)
    without = tuple(_materials(nodes))
    yield from without
    yield from _fitted_open(spec, nodes, told=bool(without))
    yield from _regulators(spec, nodes)
    yield from _runs(nodes)
    yield from _air(spec)
    yield from _container(spec)
    yield from _outlets(spec, nodes)
    yield from _rooms(spec, nodes)
    yield from _tests(spec, nodes)
    yield from _dates(spec)


def _ids(spec: Spec, nodes: Sequence[Node]) -> Iterator[Complaint]:
    if len(nodes) > MOST_ELEMENTS:
        yield Complaint(
            ("supply",), f"the tree has more than {MOST_ELEMENTS} elements", "split the build", "spec-too-large"
        )
    first: dict[str, Node | None] = {"container": None, spec.regulator.id or "regulator": None}
    clashes = [node for node in nodes if first.setdefault(node.id, node) is not node]
    ends_clash = any(node.kind in ENDS for node in clashes)
    for node in clashes:
        # The ids of runs and valves follow from the end of their branch: one problem for one cause.
        if node.kind in ENDS or node.part.id is not None or not ends_clash:
            earlier = first[node.id]
            what = "the container or its regulator" if earlier is None else f"another {earlier.kind}"
            yield Complaint(
                node.at,
                f"the id '{node.id}' is also that of {what}",
                f"give this {node.kind} an id of its own, as in 'id: oven-2'",
                "spec-id-twice",
            )


def _materials(nodes: Sequence[Node]) -> Iterator[Complaint]:
    """A run that states neither material, type nor size is open: all of it is chosen together."""
    told: list[bool] = []
    for index, node in enumerate(nodes):
        run = node.part if isinstance(node.part, Run) else None
        lacks = run is not None and (run.size or run.type) is not None and inherited(nodes, index)[0] is None
        told.append(lacks or (node.parent >= 0 and told[node.parent]))
        # Those behind it lack it for the same cause.
        if lacks and not (node.parent >= 0 and told[node.parent]):
            yield Complaint(
                node.at,
                "this run has no material, and there is no run before it to take it from",
                "add 'material: copper', 'csst' or 'steel'. Or leave its size out too, while it is still to be chosen",
                "spec-material",
            )


def _fitted_open(spec: Spec, nodes: Sequence[Node], *, told: bool) -> Iterator[Complaint]:
    """Only a plan may leave container, regulator and tubing open: a record is of what stands, not of a proposal. `told`:
    that a material is missing has been said."""
    if spec.fitted is None and not spec.tests and spec.signed_off is None:
        return
    why = "Only a plan may leave it out, and this spec has a record: 'fitted', 'tests' or 'signed_off'"
    if spec.container.type is None:
        yield Complaint(("container",), "'type' is missing", f"add 'type:' of the container. {why}", "spec-key")
    if spec.regulator.outlet is None:
        yield Complaint(("regulator",), "'outlet' is missing", f"add 'outlet:' from its plate. {why}", "spec-key")
    bare = (n for i, n in enumerate(nodes) if isinstance(n.part, Run) and inherited(nodes, i)[0] is None)
    first = None if told else next(bare, None)
    if first is not None:
        yield Complaint(first.at, "this run has no material", f"add 'material:'; {why}", "spec-material")


def _regulators(spec: Spec, nodes: Sequence[Node]) -> Iterator[Complaint]:
    """Which pressure a regulator further down gives is the plan itself, and no choice."""
    first = spec.regulator.outlet
    system: units.System = "us" if first is None or first.unit in ("psi", "inH2O") else "si"
    if "regulator" not in spec.model_fields_set and isinstance(nodes[0].part, Regulator):
        outlet = nodes[0].part.outlet
        written = outlet.text if outlet is not None else units.example("pressure", system)
        yield Complaint(
            nodes[0].at,
            "a regulator in 'supply' is a second one, and nothing is said of the first",
            f"write the one at the container at the top of the spec, as in 'regulator: {{outlet: {written}}}'. If this is the only one, "
            "take it out of 'supply'",
            "spec-regulator-place",
        )
    for node in nodes:
        if isinstance(node.part, Regulator) and node.part.outlet is None:
            yield Complaint(
                node.at,
                "'outlet' is missing",
                f"add 'outlet:' from its plate, as in '{units.example('pressure', system)}'. Only that of the first regulator may be left open",
                "spec-key",
            )


def _runs(nodes: Sequence[Node]) -> Iterator[Complaint]:
    for index, node in enumerate(nodes):
        if isinstance(node.part, Run) and node.part.maker_capacity is not None:
            material, _ = inherited(nodes, index)
            if material is None or not tubing.material(material).corrugated or node.part.size is None:
                yield Complaint(
                    (*node.at, "maker_capacity"),
                    "a maker's capacity is that of one size of corrugated tubing",
                    "add the 'size:' it was read for, or take it out where the tubing is not csst",
                    "spec-maker-capacity",
                )
        if isinstance(node.part, Run) and node.part.rise is not None:
            length, rise = node.part.length, node.part.rise
            if abs(rise) > length * (1 + 1e-6):
                height = rise.text.lstrip("-+\u2212").strip()
                yield Complaint(
                    (*node.at, "length"),
                    f"this run is {length.text} long, and its ends are {height} apart in height",
                    "a run is at least as long as it rises or falls: check both, and their units",
                    "spec-run-too-short",
                )


def _air(spec: Spec) -> Iterator[Complaint]:
    if spec.coldest is None:
        return
    limit = WARMEST_COLDEST - LAPSE * float(spec.altitude or 0.0)
    if spec.coldest > limit:
        text = spec.coldest.text
        minus = "" if text.startswith(("-", "\u2212")) else f", as in '-{text.lstrip('+')}'"
        where = f" at {spec.altitude.text}" if spec.altitude is not None else ""
        system: units.System = "us" if spec.coldest.unit == "degF" else "si"
        yield Complaint(
            ("coldest",),
            f"'{text}' cannot be the coldest air{where}, where some night is colder than "
            f"{units.show(limit, 'temperature', system)}",
            f"write the coldest air of the year. Below zero it needs a minus sign{minus}",
            "spec-coldest",
        )


def inherited(nodes: Sequence[Node], index: int) -> tuple[str | None, str | None]:
    """Material and type of a run: its own, or those of the nearest run upstream of it that states a material."""
    at = index
    while at >= 0:
        part = nodes[at].part
        if isinstance(part, Run) and part.material is not None:
            own = nodes[index].part
            return part.material, (own.type if isinstance(own, Run) and own.type else part.type)
        at = nodes[at].parent
    return None, None


def _container(spec: Spec) -> Iterator[Complaint]:
    container = spec.container
    if container.number > 1 and container.manifold in (None, "single"):
        yield Complaint(
            ("container", "number"),
            f"{container.number} containers with no way to join them",
            "add 'manifold: changeover', 'manifold: parallel' or, of four, 'manifold: banks'",
            "spec-manifold",
        )
    if container.number == 1 and container.manifold in ("changeover", "parallel", "banks"):
        yield Complaint(
            ("container", "manifold"),
            f"a {container.manifold} manifold with one container",
            f"write 'number: {4 if container.manifold == 'banks' else 2}', or leave manifold out",
            "spec-manifold",
        )
    if container.manifold == "banks" and container.number > 1 and (container.number < 4 or container.number % 2):
        yield Complaint(
            ("container", "manifold"),
            f"two banks of {container.number} containers",
            "two equal banks take four containers or another even number. Write 'manifold: changeover' for one at a time",
            "spec-manifold",
        )
    if container.locker is not None and container.place not in (None, "locker"):
        yield Complaint(
            ("container", "locker"),
            f"a locker is described, and the container's place is {container.place}",
            "write 'place: locker', or take 'locker:' out",
            "spec-locker",
        )
    yield from _mount(spec)
    total = spec.gas.propane + spec.gas.butane
    if abs(total - 1.0) > 1e-6:
        yield Complaint(
            ("gas",), f"the shares of the gas add up to {total * 100:.4g} %", "make them 100 % together", "spec-gas"
        )


def _mount(spec: Spec) -> Iterator[Complaint]:
    """Bolts are worked out only where all is given that they are worked out from."""
    mount = spec.container.mount
    if mount is None:
        return
    needed = ("thread", "grade", "along", "across", "height")
    missing = [key for key in needed if getattr(mount, key) in (None, [])]
    if missing and (mount.way == "bolts" or len(missing) < len(needed)):
        what = "a bolted mount" if mount.way == "bolts" else "bolts are begun to be described here, and this mount"
        yield Complaint(
            ("container", "mount"),
            f"{what} lacks {', '.join(repr(f'{key}:') for key in missing)}",
            "add it. Or write 'way: straps', 'chain', 'tray' or 'rack', if that is what holds the container",
            "spec-mount",
        )


def _outlets(spec: Spec, nodes: Sequence[Node]) -> Iterator[Complaint]:
    known = {node.id for node in nodes if node.kind == "outlet"}
    named: list[tuple[Path, str]] = [
        *((("scenarios", i, "outlets", k), o) for i, s in enumerate(spec.scenarios) for k, o in enumerate(s.outlets)),
        *((("seasons", i, "daily_use", o), o) for i, season in enumerate(spec.seasons) for o in season.daily_use),
    ]
    for at, outlet in named:
        if outlet not in known:
            yield Complaint(
                at, f"there is no outlet '{outlet[:60]}'", f"the outlets are: {', '.join(sorted(known))}", "spec-outlet"
            )
    for node in nodes:
        if node.kind != "outlet":
            continue
        appliance = node.part.appliance  # type: ignore[union-attr]  # an outlet node holds an Outlet
        low, high = appliance.min_inlet, appliance.max_inlet
        if low is not None and high is not None and low > high:
            yield Complaint(
                (*node.at, "appliance", "min_inlet"),
                f"the lowest inlet, {low.text}, is above the highest, {high.text}",
                "check the plate",
                "spec-inlet",
            )


def _rooms(spec: Spec, nodes: Sequence[Node]) -> Iterator[Complaint]:
    known = [room_id(space, i) for i, space in enumerate(spec.spaces)]
    for i, name in enumerate(known):
        if name in known[:i] or name == OUTDOORS:
            yield Complaint(
                ("spaces", i),
                f"the room '{name}' stands here twice" if name in known[:i] else "a room cannot be called 'outdoors'",
                "give this room a name or an id of its own, as in 'id: bunk-room'",
                "spec-room-twice",
            )
    for node in nodes:
        space = node.part.space if isinstance(node.part, Outlet) else None
        if space is not None and space not in (*known, OUTDOORS):
            hint = f"the rooms are: {', '.join(known)}. Or write outdoors" if known else "add the room under 'spaces:'"
            yield Complaint((*node.at, "space"), f"there is no room '{space}'", hint, "spec-room")


def _dates(spec: Spec) -> Iterator[Complaint]:
    """What is dated before the work began."""
    if spec.started is None:
        return
    dated = [
        (("fitted",), spec.fitted),
        *((("tests", i, "date"), test.date) for i, test in enumerate(spec.tests)),
        (("signed_off", "date"), spec.signed_off.date if spec.signed_off is not None else None),
    ]
    for at, date in dated:
        if date is not None and date < spec.started:
            yield Complaint(
                at,
                f"{date} is before {spec.started}, when the work began",
                "correct this date, or 'started:'",
                "spec-dates",
            )
            return  # the others have the same cause


def _tests(spec: Spec, nodes: Sequence[Node]) -> Iterator[Complaint]:
    zones = [spec.regulator.id or "regulator", *(node.id for node in nodes if node.kind == "regulator")]
    for i, test in enumerate(spec.tests):
        if test.zone is not None and test.zone not in zones:
            yield Complaint(
                ("tests", i, "zone"),
                f"there is no regulator '{test.zone}'",
                "the regulators are: " + ", ".join(zones),
                "spec-zone",
            )
        if not test.readings and test.kind != "container-side":
            yield Complaint(
                ("tests", i),
                "'readings' is missing",
                "add the readings, in order of time. Only a container-side test, made with leak fluid, may have none",
                "spec-missing-key",
            )
        if test.readings and test.time is not None:
            yield Complaint(
                ("tests", i, "time"),
                "this test has a time and readings with times",
                "take 'time:' out. It is for a test without readings",
                "spec-readings",
            )
        moments = [(reading.date or test.date, reading.time) for reading in test.readings]
        for k in range(1, len(moments)):
            if moments[k] <= moments[k - 1]:
                yield Complaint(
                    ("tests", i, "readings", k, "time"),
                    "this reading is not later than the one before",
                    "give the readings in order. After midnight add 'date:'",
                    "spec-readings",
                )
