"""The spots of the supply: where a part stands between the container's valve and an appliance's inlet, and what may stand there.

Threads come from the spec; what a thread leaves open is taken as usual for the part (a regulator's pipe thread is
female, a flare on an appliance male) and the pages say so. Ratings are held against the working pressure of each zone, on
the container side against AT_CONTAINER.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from gasdoc.build.model import Junction, Outlet, Regulator, Run, Tap, Valve
from gasdoc.build.reader import Build
from gasdoc.build.route import SLIGHT
from gasdoc.build.supply import REGULATOR
from gasdoc.catalog import appliances, tubing
from gasdoc.catalog.parts import AT_CONTAINER, Catalogue
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.materials.assembly import Spot
from gasdoc.engineering.materials.ends import CYLINDERS, End, tube_end
from gasdoc.engineering.materials.joints import Constraints, Part
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.source import Path
from gasdoc.study.facts import Installation, connector_kind, takes_trap
from gasdoc.study.materials.passages import by_bulkhead_fitting
from gasdoc.study.supply.lines import Line, SizedZone, lines_of
from gasdoc.study.supply.names import on_the_valve, usual_end


class About(Struct, frozen=True):
    """What a spot is to a reader of the spec: the element it belongs to, its place there, and words for it. `stated` is the
    text of the spec that its inlet and its outlet come from, where one does."""

    element: str
    at: Path
    words: str
    stated: tuple[str | None, str | None] = (None, None)


TAKES_TUBE = ("compression", "cutting-ring")


def tube_ends(material: str, size: Size | None, si: bool) -> End | None:
    """What both ends of a run are: plain tube, corrugated tubing, threaded pipe (NPT, or BSPT where `si`), PE pipe; None
    where the size is not found or has no end in the lists."""
    if size is None:
        return None
    of = tubing.material(material)
    if of.ends == "pipe":
        return End("bspt" if si else "npt", size.id, "male")
    if of.ends != "tube":
        return End(of.ends, size.id, "male")
    if size.outside_diameter is None:
        return None
    try:
        end = tube_end(size.outside_diameter, metric=of.named_by == "od-and-wall")
    except ValueError:
        return None
    return End("steel-tube", end.size, end.gender) if of.family == "steel" else end


def threads(build: Installation) -> Iterator[str]:
    """What the spec states of the ends behind the containers: of regulators and appliances."""
    stated = [(build.spec.regulator.inlet_thread, build.spec.regulator.outlet_thread)]
    stated += [(part.inlet_thread, part.outlet_thread) for _, part in build.each(Regulator)]
    stated += [(s.appliance.inlet_thread, None) for s in build.served]
    yield from (written for pair in stated for written in pair if written is not None)


def screwed(run: Line) -> bool:
    """Whether the joints of a run are screwed: it is pipe, with elbows for bends and unions to take it apart."""
    return tubing.material(run.material).ends == "pipe"


def inlets(build: Build) -> int:
    """How many inlets the first regulator has: two with a changeover, of single containers or of banks."""
    return 2 if build.spec.container.manifold in ("changeover", "banks") else 1


class Spots:
    """Collects the spots of one tree, with words for each in `about`."""

    def __init__(self, build: Installation, zones: Sequence[SizedZone], listed: Catalogue) -> None:
        self.build = build
        self.listed = listed
        self.runs = lines_of(zones)
        self.si = build.region.units != "us"
        self.spots: list[Spot] = []
        self.about: list[About] = []

    def _add(self, spot: Spot, about: About) -> int:
        self.spots.append(spot)
        self.about.append(about)
        return len(self.spots) - 1

    def _options(self, use: str, *shapes: str, ends: int | None = None) -> tuple[Part, ...]:
        return tuple(
            part
            for part in self.listed.of_use(use)
            if (not shapes or part.shape in shapes) and (ends is None or len(part.ends) == ends)
        )

    def container_side(self, number: int) -> None:
        """The container side of one inlet, from the regulator back to the containers. A regulator that goes onto the valve of the
        only container itself has no hose."""
        spec = self.build.spec
        regulator = spec.regulator
        limits = Constraints(AT_CONTAINER, container_side=True)
        count = spec.container.number
        written = regulator.inlet_thread
        inlet = usual_end(written) if written is not None else None
        if written is not None and inlet is not None and inlet.kind in CYLINDERS and count > 1:
            inlet = parse_end(written, "male", on_container=True)  # hoses lead to it: it is what a container's valve is
        which = f"inlet {number + 1}" if inlets(self.build) > 1 else "inlet"
        first = self.build.first
        at: Path = ("regulator", "inlet_thread") if regulator.inlet_thread is not None else ("regulator",)
        up = self._add(
            Spot(f"{first}:{which.replace(' ', '-')}", "regulator", -1, ends=(None, inlet)),
            About(first, at, f"first regulator, {which}", (None, regulator.inlet_thread)),
        )
        sides = inlets(self.build)
        mine = list(range(number, count, sides))
        if len(mine) > 1:
            options = self._options("manifold", ends=len(mine) + 1)
            up = self._add(
                Spot(
                    f"container:manifold-{number + 1}",
                    "manifold",
                    up,
                    options=options,
                    ways=len(mine),
                    constraints=limits,
                ),
                About("container", ("container",), f"manifold of {len(mine)} containers"),
            )
        text = spec.container.connection
        valve = parse_end(text, "female", on_container=True) if text is not None else None
        at = ("container", "connection") if text is not None else ("container",)
        # A hose is chosen by both its ends: where one is not known, none is named.
        hoses = self._options("pigtail") if valve is not None and inlet is not None else ()
        if on_the_valve(self.build):
            made = Spot("container:1", "container", up, ends=(valve,), constraints=limits)
            self._add(made, About("container", at, "container, valve", (text, None)))
            return
        for port, k in enumerate(mine):
            named = f" {k + 1}" if count > 1 else ""
            hose = self._add(
                Spot(
                    f"container:hose-{k + 1}",
                    "pigtail",
                    up,
                    port if len(mine) > 1 else 0,
                    options=hoses,
                    constraints=limits,
                ),
                About("container", ("container",), f"hose of container{named}"),
            )
            self._add(
                Spot(f"container:{k + 1}", "container", hose, ends=(valve,), constraints=limits),
                About("container", at, f"container{named}, valve", (text, None)),
            )

    def supply(self) -> None:
        """All behind the first regulator."""
        spec = self.build.spec
        text = spec.regulator.outlet_thread
        outlet = usual_end(text) if text is not None else None
        first = self.build.first
        at: Path = ("regulator", "outlet_thread") if text is not None else ("regulator",)
        root = self._add(
            Spot(first, "regulator", -1, ends=(None, outlet)), About(first, at, "first regulator, outlet", (None, text))
        )
        pressures = {-1: float(spec.regulator.outlet)}
        # Where each node's way out is: (spot, port); hidden: nobody sees the joint behind it either.
        out: dict[int, tuple[int, int]] = {-1: (root, 0)}
        used: dict[int, int] = {}
        hidden = {-1: False}
        parted = self._parted()
        if REGULATOR in parted:
            out[-1] = (
                self._union(first, root, 0, pressures[-1], About(first, at, "union behind the first regulator")),
                0,
            )
        if spec.regulator.hose is not None:
            out[-1] = (self._hose(first, ("regulator",), root, pressures[-1]), 0)
        for i, node in enumerate(self.build.nodes):
            spot, port = out[node.parent]
            if node.parent >= 0 and isinstance(self.build.nodes[node.parent].part, Junction):
                port = used.get(node.parent, 0)
                used[node.parent] = port + 1
            part = node.part
            concealed = isinstance(part, Junction | Valve | Tap) and part.concealed
            limits = Constraints(pressures[node.parent], concealed=concealed or hidden[node.parent])
            words = About(node.id, node.at, self.build.labels[node.id])
            pressures[i] = float(part.outlet) if isinstance(part, Regulator) else pressures[node.parent]
            hidden[i] = concealed
            if isinstance(part, Run):
                out[i] = (self._run(self.runs[node.id], spot, port, limits, words), 0)
            elif isinstance(part, Regulator):
                made_at = self._regulator(part, spot, port, limits, words)
                out[i] = (made_at if part.hose is None else self._hose(node.id, node.at, made_at, pressures[i]), 0)
            elif isinstance(part, Valve):
                made = Spot(node.id, "valve", spot, port, options=self._options("valve"), constraints=limits)
                out[i] = (self._add(made, words), 0)
            elif isinstance(part, Tap):
                out[i] = (self._tap(node.id, spot, port, limits, words), 0)
            elif isinstance(part, Junction):
                ways = len(part.branches)
                tees = self._options("branch", "tee", ends=ways + 1)
                manifolds = self._options("branch", "manifold", ends=ways + 1)
                options = (manifolds or tees) if part.kind == "manifold" else (tees or manifolds)
                if part.kind == "manifold" and ways == 2:
                    options = (*manifolds, *tees)
                made = Spot(node.id, "junction", spot, port, options=options, ways=ways, constraints=limits)
                out[i] = (self._add(made, words), 0)
            else:
                self._outlet(part, node.id, spot, port, limits, words)
            if node.id in parted:
                about = About(node.id, node.at, f"union behind the {words.words}")
                out[i] = (self._union(node.id, *out[i], pressures[i], about), 0)

    def _hose(self, identity: str, at: Path, up: int, gauge: float) -> int:
        """The hose behind a regulator. Those that differ at their ends are for an appliance, unless one end takes pipe. One is
        chosen by both its ends: where the regulator's is not known, none is named."""
        hoses = [
            p for p in self._options("connector", "hose") if p.ends[0] == p.ends[1] or p.ends[1].kind in TAKES_TUBE
        ]
        options = tuple(hoses) if self.spots[up].ends[1] is not None else ()
        about = About(identity, (*at, "hose"), f"hose of the {self.build.labels[identity]}")
        return self._add(Spot(f"{identity}:hose", "hose", up, options=options, constraints=Constraints(gauge)), about)

    def _parted(self) -> frozenset[str]:
        """Behind which elements screwed steel gets a union, REGULATOR for the first regulator: it could not be put
        together, nor the regulator taken out, without one. Behind each regulator that feeds steel without a hose, before
        each that steel feeds, and behind the last steel run of a line that does not end at an outlet. None where nobody can
        reach it."""
        nodes = self.build.nodes
        hosed = {i for i, node in enumerate(nodes) if isinstance(node.part, Regulator) and node.part.hose is not None}
        if self.build.spec.regulator.hose is not None:
            hosed.add(-1)

        def steel(i: int) -> bool:
            return i >= 0 and isinstance(nodes[i].part, Run) and screwed(self.runs[nodes[i].id])

        found = set()
        for i, node in enumerate(nodes):
            above = node.parent
            if steel(i) and (above < 0 or isinstance(nodes[above].part, Regulator)) and above not in hosed:
                found.add(nodes[above].id if above >= 0 else REGULATOR)
            if steel(above) and not steel(i) and not isinstance(node.part, Outlet):
                fed = above != 0 and not any(steel(k) for k in self._behind(i))
                if isinstance(node.part, Regulator) or (fed and not getattr(node.part, "concealed", False)):
                    found.add(nodes[above].id)
        return frozenset(found)

    def _behind(self, top: int) -> Iterator[int]:
        """The places of all elements behind one, as far as the next regulator."""
        inside = {top}
        for i, node in enumerate(self.build.nodes):
            if node.parent in inside and not isinstance(node.part, Regulator):
                inside.add(i)
                yield i

    def _union(self, identity: str, up: int, port: int, gauge: float, about: About) -> int:
        """A ground-joint union in threaded pipe."""
        kind = "bspt" if self.si else "npt"
        unions = tuple(p for p in self._options("branch", "union") if p.ends[0].kind == kind)
        return self._add(
            Spot(f"{identity}:union", "union", up, port, options=unions, constraints=Constraints(gauge)), about
        )

    def _run(self, run: Line, up: int, port: int, limits: Constraints, words: About) -> int:
        """A run, in one piece; of steel pipe one piece more than it has bends, with an elbow at each: of 45 degrees where its
        legs turn by so much."""
        end = tube_ends(run.material, run.size, self.si)
        up = self._add(Spot(run.id, "run", up, port, ends=(end, end), constraints=limits), words)
        if screwed(run) and end is not None:
            # Elbows may be hidden in a passage; unions and bushings never.
            female = (End(end.kind, end.size, "female"),) * 2
            plain = Constraints(limits.pressure)
            bends = self.build.bends(run.id)
            for k in range(run.part.bends):
                slight = bends is not None and bends.angles[k] < SLIGHT
                elbows = tuple(
                    p for p in self._options("branch", "elbow-45" if slight else "elbow") if p.ends == female
                )
                bend = About(run.id, words.at, f"{words.words}, bend {k + 1}")
                up = self._add(Spot(f"{run.id}:elbow-{k + 1}", "elbow", up, options=elbows, constraints=plain), bend)
                up = self._add(
                    Spot(f"{run.id}:piece-{k + 2}", "run", up, ends=(end, end), constraints=plain),
                    About(run.id, words.at, words.words),
                )
        if by_bulkhead_fitting(run.material):
            for k in range(run.part.through.count("bulkhead")):
                up = self._bulkhead(run, k + 1, up, limits, words, end)
        return up

    def _bulkhead(self, run: Line, number: int, up: int, limits: Constraints, words: About, end: End | None) -> int:
        """The fitting by which a run passes a vapour-tight wall, and the piece of the run behind it."""
        seen = Constraints(limits.pressure)
        up = self._add(
            Spot(
                f"{run.id}:bulkhead-{number}",
                "bulkhead fitting",
                up,
                options=self._options("branch", "bulkhead"),
                constraints=seen,
            ),
            About(run.id, words.at, f"{words.words}, bulkhead fitting"),
        )
        return self._add(
            Spot(f"{run.id}:behind-bulkhead-{number}", "run", up, ends=(end, end), constraints=seen),
            About(run.id, words.at, f"{words.words}, behind the bulkhead"),
        )

    def _regulator(self, part: Regulator, up: int, port: int, limits: Constraints, words: About) -> int:
        inlet, outlet = (usual_end(t) if t is not None else None for t in (part.inlet_thread, part.outlet_thread))
        about = About(words.element, words.at, words.words, (part.inlet_thread, part.outlet_thread))
        return self._add(Spot(words.element, "regulator", up, port, ends=(inlet, outlet), constraints=limits), about)

    def _tap(self, identity: str, up: int, port: int, limits: Constraints, words: About) -> int:
        """A test point: a tee with a tap in its branch, or one part where the tubing on either side is of metric size."""
        if any(end.size.endswith("mm") for end in self._beside(identity, up)):
            return self._add(
                Spot(identity, "tap", up, port, options=self._options("test", ends=2), constraints=limits), words
            )
        tees = (*self._options("test", "tee", ends=3), *self._options("branch", "tee", ends=3))
        tee = self._add(Spot(identity, "tap", up, port, options=tees, ways=2, constraints=limits), words)
        taps = tuple(p for p in self._options("test", "tap") if p.ends[0].size == "1/4")
        if self.si:
            taps = tuple(reversed(taps))
        self._add(
            Spot(f"{identity}:tap", "test tap", tee, 1, options=taps[:1], ways=0, constraints=limits),
            About(words.element, words.at, f"{words.words}, tap"),
        )
        return tee

    def _beside(self, identity: str, up: int) -> Iterator[End]:
        """The nearest ends that are given before and behind an element: of what has to be chosen nothing is known yet."""
        while up >= 0 and not self.spots[up].ends:
            up = self.spots[up].up
        behind = next((node.id for node in self.build.behind(identity) if isinstance(node.part, Run)), None)
        run = self.runs[behind] if behind is not None else None
        ends = [self.spots[up].ends[-1]] if up >= 0 else []
        ends += [tube_ends(run.material, run.size, self.si)] if run is not None else []
        return (end for end in ends if end is not None)

    def _outlet(self, part: Outlet, identity: str, up: int, port: int, limits: Constraints, words: About) -> None:
        """Termination of corrugated tubing, shut-off valve, connector, sediment trap, appliance."""
        name = part.appliance.name
        feeding = self.spots[up]
        if feeding.role == "run" and feeding.ends[0] is not None and feeding.ends[0].kind == "csst":
            through = self.runs[feeding.id].part.through
            shape = "floor" if "floor" in through or "deck" in through else "wall"
            fits = tuple(
                p
                for p in self._options("termination")
                if any(e.kind == "csst" and e.size == feeding.ends[0].size for e in p.ends) and f"-{shape}-" in p.id
            )
            if fits:
                up = self._add(
                    Spot(f"{identity}:termination", "termination", up, port, options=fits, constraints=limits),
                    About(identity, words.at, f"{name}, termination of the tubing"),
                )
                port = 0
        if part.shut_off is not False:
            valves = sorted(self._options("valve"), key=lambda p: not p.id.startswith("valve-appliance"))
            up = self._add(
                Spot(f"{identity}:valve", "outlet valve", up, port, options=tuple(valves), constraints=limits),
                About(identity, words.at, f"{name}, shut-off valve"),
            )
            port = 0
        text = part.appliance.inlet_thread
        inlet = usual_end(text) if text is not None else None
        up, port = self._connector(part, identity, up, port, limits, words, inlet)
        kind = appliances.kinds()[part.appliance.kind]
        if inlet is not None and inlet.kind == "npt" and takes_trap(self.build, kind):
            up = self._sediment_trap(identity, name, up, port, limits, words, inlet)
            port = 0
        at = (*words.at, "appliance", "inlet_thread") if text is not None else (*words.at, "appliance")
        self._add(
            Spot(identity, "appliance", up, port, ends=(inlet,), constraints=limits),
            About(identity, at, f"{name}, inlet", (text, None)),
        )

    def _connector(
        self, part: Outlet, identity: str, up: int, port: int, limits: Constraints, words: About, inlet: End | None
    ) -> tuple[int, int]:
        kind, _ = connector_kind(self.build, part)
        about = About(identity, words.at, f"{part.appliance.name}, connector")
        if kind == "rigid":
            end = self._tail(identity, inlet)
            up = self._add(
                Spot(f"{identity}:connector", "rigid tail", up, port, ends=(end, end), constraints=limits), about
            )
            if end is not None and end.kind in ("npt", "bspt"):
                unions = tuple(
                    p
                    for p in self._options("branch", "union")
                    if p.ends[0].kind == end.kind and p.ends[0].size == end.size
                )
                up = self._add(
                    Spot(f"{identity}:union", "union", up, options=unions, constraints=limits),
                    About(identity, words.at, f"{part.appliance.name}, union"),
                )
            return up, 0
        shapes = ("hose",) if kind == "hose" else ("connector", "hose") if self.si else ("connector",)
        # A connector is chosen by both its ends: where the inlet is not known, none is named.
        # Hoses with a ring for pipe are for regulators.
        fitting = tuple(p for p in self._options("connector", *shapes) if p.ends[1].kind not in TAKES_TUBE)
        options = fitting if inlet is not None else ()
        return self._add(
            Spot(f"{identity}:connector", "connector", up, port, options=options, constraints=limits), about
        ), 0

    def _tail(self, identity: str, inlet: End | None) -> End | None:
        """The ends of a rigid tail: of the tubing that feeds it, or threaded pipe where that is corrugated."""
        run = self._feeding(identity)
        if run is not None and tubing.material(run.material).makes_tails:
            return tube_ends(run.material, run.size, self.si)
        size = inlet.size if inlet is not None and inlet.kind in ("npt", "bspt", "bspp") else "1/2"
        return End("bspt" if self.si else "npt", size, "male")

    def _feeding(self, identity: str) -> Line | None:
        return feeding_run(self.build, self.runs, identity)

    def _sediment_trap(
        self, identity: str, name: str, up: int, port: int, limits: Constraints, words: About, inlet: End
    ) -> int:
        """A tee with a drip leg and a cap before the appliance."""
        size = inlet.size if inlet.size in ("1/2", "3/4", "1") else "1/2"
        about = About(identity, words.at, f"{name}, sediment trap")
        tee = tuple(p for p in self._options("branch", "tee") if p.id == f"npt-tee:{size}")
        cap = tuple(p for p in self._options("closure", "cap") if p.id == f"npt-cap:{size}")
        spot = self._add(
            Spot(f"{identity}:trap", "sediment trap", up, port, options=tee, ways=2, constraints=limits), about
        )
        self._add(
            Spot(f"{identity}:trap-cap", "cap", spot, 1, options=cap, ways=0, constraints=limits),
            About(identity, words.at, f"{name}, cap of the sediment trap"),
        )
        return spot


def feeding_run(build: Build, runs: dict[str, Line], identity: str) -> Line | None:
    """The run that feeds an outlet, None where it hangs on a regulator or junction without one."""
    nearest = next((node for node in build.before(identity) if isinstance(node.part, Run | Regulator)), None)
    return runs.get(nearest.id) if nearest is not None else None


_JOINTS: dict[str, tuple[str | None, str | None]] = {
    "regulator": ("inlet", "outlet"),
    "hose": ("hose-upstream", "hose-downstream"),
    "union": ("union", "union"),
    "elbow": ("elbows", "elbows"),
    "bulkhead fitting": ("bulkhead", "bulkhead"),
    "run": ("upstream", "downstream"),
    "valve": ("ends", "ends"),
    "junction": ("ports", "ports"),
    "tap": ("plug", "plug"),
    "test tap": ("plug", "plug"),
    "termination": (None, "valve"),
    "outlet valve": ("valve", "valve"),
    "connector": ("connector", "connector"),
    "rigid tail": ("connector", "connector"),
    "sediment trap": ("trap", "trap"),
    "cap": ("trap", "trap"),
    "container": (None, "connection"),
    "pigtail": (None, "manifold"),
    "manifold": ("manifold", "manifold"),
}
"""What the joint at the inlet and at the outlet of a spot is called; None where it is that of what stands beside it."""

_ALONE = ("elbow", "bulkhead fitting")
"""Spots inside a run: what is joined to them is not the run's end."""


def joints_between(build: Build, before: Spot, after: Spot) -> tuple[str, ...]:
    """The ids of the joints that the connection of two spots belongs to, in the direction of flow.

    A run's end and the part it goes into each have a joint there: where one thread closes both, it has both their ids.
    """
    sides = [(spot, side) for spot, side in ((before, 1), (after, 0)) if spot.role in _ALONE]
    found = [_joint_at(build, spot, side) for spot, side in sides or ((before, 1), (after, 0))]
    if after.role in ("connector", "rigid tail") and before.role not in ("outlet valve", "termination"):
        found.insert(1, f"{after.id.partition(':')[0]}-valve")  # the end of a line that has no shut-off
    return tuple(dict.fromkeys(joint for joint in found if joint is not None))


def _joint_at(build: Build, spot: Spot, side: int) -> str | None:
    """The id of the joint at one side of a spot."""
    name = _JOINTS[spot.role][side] if spot.role in _JOINTS else None
    element, _, within = spot.id.partition(":")
    if spot.role == "container" and build.spec.container.number > 1:
        return f"{element}-{within}-{name}"
    if spot.role == "pigtail" and build.spec.container.number == 1:
        return None
    return f"{element}-{name}" if name is not None else None
