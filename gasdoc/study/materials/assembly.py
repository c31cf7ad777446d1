"""The supply from the container's valve to each appliance's inlet as parts and joints: what stands where, what joins it.

Threads come from the spec; what a thread leaves open is taken as usual for the part (a regulator's pipe thread is
female, a flare on an appliance male) and the pages say so. Ratings are held against the working pressure of each zone, on
the container side against CONTAINER_PRESSURE.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Annotated

from msgspec import Struct

from gasdoc.build.model import Junction, Outlet, Regulator, Run, Tap, Valve
from gasdoc.build.reader import Build
from gasdoc.build.supply import REGULATOR
from gasdoc.catalog import parts as catalog
from gasdoc.catalog import stock, tubing
from gasdoc.catalog.parts import Catalogue
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.constants import PSI
from gasdoc.engineering.materials.assembly import Assembly, Connection, Placed, Spot, assemble
from gasdoc.engineering.materials.ends import End, parse_end, tube_end
from gasdoc.engineering.materials.joints import Chain, Constraints, Joint, NoChain, Part, Shelf
from gasdoc.quantities import Aside
from gasdoc.source import Citation, Path
from gasdoc.study.facts import Installation
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.materials.passages import by_bulkhead_fitting
from gasdoc.study.supply.connections import usual_end
from gasdoc.study.supply.lines import Line, SizedZone

CONTAINER_PRESSURE = 250 * PSI
"""Pa gauge that parts at container pressure are to be rated for: 250 psi, the vapour pressure of propane at about
54 degC (130 degF) rounded down to the usual rating of such parts (common practice; that NFPA 58 asks it is from memory)."""

WITHOUT_TRAP = ("cooker", "oven", "light", "fryer", "griddle")
"""Kinds of appliance that IFGC 408.4 exempts from a sediment trap, and those most like them (from memory)."""


class About(Struct, frozen=True):
    """What a spot is to a reader of the spec: the element it belongs to, its place there, and words for it. `stated` is the
    text of the spec that its inlet and its outlet come from, where one does."""

    element: str
    at: Path
    words: str
    stated: tuple[str | None, str | None] = (None, None)


class Joined(Struct, frozen=True):
    """One connection between two elements in the direction of flow: the ends `a` and `b` that face each other, and what joins
    them, None where an end is not known; `why` says how. `down` is the place of its spot in its tree."""

    element: str
    at: Path
    before: About
    after: About
    a: End | None
    b: End | None
    found: Chain | NoChain | None
    down: Annotated[int, Aside("a place in the tree")]
    container_side: bool
    concealed: bool
    why: str | None


class Fittings(Struct, frozen=True):
    """The whole supply put together: the trees on the container side of the first regulator (one for each of its inlets),
    and the one behind it; `about` has the words for every spot of each."""

    assemblies: Annotated[
        tuple[Assembly, ...], Aside("the trees as they are put together; `joined` has every joint of them")
    ]
    about: Annotated[tuple[tuple[About, ...], ...], Aside("words for the trees")]
    joined: tuple[Joined, ...]

    def placed(self) -> Iterator[tuple[About, Spot, Placed]]:
        """Every spot with what stands there."""
        for tree, words in zip(self.assemblies, self.about, strict=True):
            yield from zip(words, tree.spots, tree.placed, strict=True)

    def unions(self) -> Iterator[tuple[About, Spot, str]]:
        """Every union that stands by itself behind the first regulator, with the id of the element behind it."""
        tree, words = self.assemblies[-1], self.about[-1]
        behind = {spot.up: words[i].element for i, spot in enumerate(tree.spots)}
        for i, spot in enumerate(tree.spots):
            if spot.role == "union" and tree.placed[i].part is not None:
                yield words[i], spot, behind.get(i, words[i].element)

    def chains(self) -> Iterator[tuple[Joined, Chain]]:
        """Every connection that is closed."""
        for joined in self.joined:
            if isinstance(joined.found, Chain):
                yield joined, joined.found


# --- ends of tubing ---------------------------------------------------------------------------------------------------


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
    try:
        return (
            tube_end(size.outside_diameter, metric=of.named_by == "od-and-wall")
            if size.outside_diameter is not None
            else None
        )
    except ValueError:
        return None


def screwed(run: Line) -> bool:
    """Whether the joints of a run are screwed: it is pipe, with elbows for bends and unions to take it apart."""
    return tubing.material(run.material).ends == "pipe"


# --- the trees --------------------------------------------------------------------------------------------------------


def fittings(build: Installation, sized: Sequence[SizedZone], listed: Catalogue, shelf: Shelf) -> Fittings:
    """The supply put together from the listed parts. The `shelf` holds those that join."""
    makers = [_Maker(build, sized, listed) for _ in range(_inlets(build))]
    for number, maker in enumerate(makers):
        maker.container_side(number)
    behind = _Maker(build, sized, listed)
    behind.supply()
    made = [(assemble(maker.spots, shelf), tuple(maker.about)) for maker in (*makers, behind)]
    joined: list[Joined] = []
    for number, (tree, about) in enumerate(made):
        here = [_joined(tree, about, connection, turned=number < len(makers)) for connection in tree.connections]
        joined += here if number == len(makers) else reversed(here)
    return Fittings(tuple(tree for tree, _ in made), tuple(about for _, about in made), tuple(joined))


@lru_cache(maxsize=8)
def joining(listed: Catalogue, prices: tuple[tuple[str, float], ...]) -> Shelf:
    """The parts of a catalogue that join two ends, at these prices by part key. Kept, with all that was found among them,
    because the builds of a project share it."""
    return Shelf(listed.of_use("fitting"), dict(prices))


def _inlets(build: Build) -> int:
    """How many inlets the first regulator has: two with a changeover."""
    return 2 if build.spec.container.manifold == "changeover" else 1


def _joined(tree: Assembly, about: Sequence[About], connection: Connection, *, turned: bool) -> Joined:
    """A connection in words. `turned`: its tree was made from the regulator back to the containers."""
    limits = tree.spots[connection.down].constraints
    sides = [(connection.up, connection.a), (connection.down, connection.b)]
    found = connection.found
    if turned:
        sides.reverse()
        if isinstance(found, Chain):
            joints = tuple(Joint(j.b, j.a, j.seal, j.sealant) for j in reversed(found.joints))
            found = Chain(tuple(reversed(found.parts)), joints, found.cost, found.unpriced)
    why = None
    if found is None:
        why = "; ".join(
            f"{about[i].words}: {'no listed part fits here' if tree.spots[i].options else 'its connection is not stated'}"
            for i, end in sides
            if end is None
        )
    (first, a), (second, b) = sides
    owner = about[second]
    return Joined(
        owner.element,
        owner.at,
        about[first],
        owner,
        a,
        b,
        found,
        connection.down,
        limits.container_side,
        limits.concealed,
        why,
    )


class _Maker:
    """Collects the spots of one tree."""

    def __init__(self, build: Installation, sized: Sequence[SizedZone], listed: Catalogue) -> None:
        self.build = build
        self.listed = listed
        self.runs = {run.id: run for zone in sized for run in zone.runs}
        self.si = build.region.units == "si"
        self.trap = any(rule.id == "sediment-trap" for rule in build.region.rules)
        self.spots: list[Spot] = []
        self.about: list[About] = []

    def add(self, spot: Spot, about: About) -> int:
        self.spots.append(spot)
        self.about.append(about)
        return len(self.spots) - 1

    def options(self, use: str, *shapes: str, ends: int | None = None) -> tuple[Part, ...]:
        return tuple(
            part
            for part in self.listed.of_use(use)
            if (not shapes or part.shape in shapes) and (ends is None or len(part.ends) == ends)
        )

    # --- container side, from the regulator's inlet back to the containers

    def container_side(self, number: int) -> None:
        spec = self.build.spec
        regulator = spec.regulator
        limits = Constraints(CONTAINER_PRESSURE, container_side=True)
        inlet = usual_end(regulator.inlet_thread, male_flare=True) if regulator.inlet_thread is not None else None
        which = f"inlet {number + 1}" if _inlets(self.build) > 1 else "inlet"
        first = regulator.id or REGULATOR
        at: Path = ("regulator", "inlet_thread") if regulator.inlet_thread is not None else ("regulator",)
        up = self.add(
            Spot(f"{first}:{which.replace(' ', '-')}", "regulator", -1, ends=(None, inlet)),
            About(first, at, f"first regulator, {which}", (None, regulator.inlet_thread)),
        )
        count = spec.container.number
        sides = _inlets(self.build)
        mine = list(range(number, count, sides))
        if len(mine) > 1:
            options = self.options("manifold", ends=len(mine) + 1)
            up = self.add(
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
        hoses = self.options("pigtail") if valve is not None and inlet is not None else ()
        for port, k in enumerate(mine):
            named = f" {k + 1}" if count > 1 else ""
            hose = self.add(
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
            self.add(
                Spot(f"container:{k + 1}", "container", hose, ends=(valve,), constraints=limits),
                About("container", at, f"container{named}, valve", (text, None)),
            )

    # --- behind the first regulator

    def supply(self) -> None:
        spec = self.build.spec
        text = spec.regulator.outlet_thread
        outlet = usual_end(text, male_flare=True) if text is not None else None
        first = spec.regulator.id or REGULATOR
        at: Path = ("regulator", "outlet_thread") if text is not None else ("regulator",)
        root = self.add(
            Spot(first, "regulator", -1, ends=(None, outlet)), About(first, at, "first regulator, outlet", (None, text))
        )
        pressures = {-1: float(spec.regulator.outlet)}
        # Where each node's way out is: (spot, port); hidden: nobody sees the joint behind it either.
        out: dict[int, tuple[int, int]] = {-1: (root, 0)}
        used: dict[int, int] = {}
        hidden = {-1: False}
        parted = self.parted()
        if REGULATOR in parted:
            out[-1] = (
                self.union(first, root, 0, pressures[-1], About(first, at, "union behind the first regulator")),
                0,
            )
        for i, node in enumerate(self.build.nodes):
            spot, port = out[node.parent]
            if node.parent >= 0 and isinstance(self.build.nodes[node.parent].part, Junction):
                port = used.get(node.parent, 0)
                used[node.parent] = port + 1
            part = node.part
            concealed = isinstance(part, Junction | Valve | Tap) and part.concealed
            limits = Constraints(pressures[node.parent], concealed=concealed or hidden[node.parent])
            words = About(node.id, node.at, _words(node.id, part))
            pressures[i] = float(part.outlet) if isinstance(part, Regulator) else pressures[node.parent]
            hidden[i] = concealed
            if isinstance(part, Run):
                out[i] = (self.run(self.runs[node.id], spot, port, limits, words), 0)
            elif isinstance(part, Regulator):
                out[i] = (self.regulator(part, spot, port, limits, words), 0)
            elif isinstance(part, Valve):
                made = Spot(node.id, "valve", spot, port, options=self.options("valve"), constraints=limits)
                out[i] = (self.add(made, words), 0)
            elif isinstance(part, Tap):
                out[i] = (self.tap(node.id, spot, port, limits, words), 0)
            elif isinstance(part, Junction):
                ways = len(part.branches)
                tees = self.options("branch", "tee", ends=ways + 1)
                manifolds = self.options("branch", "manifold", ends=ways + 1)
                options = (manifolds or tees) if part.kind == "manifold" else (tees or manifolds)
                if part.kind == "manifold" and ways == 2:
                    options = (*manifolds, *tees)
                made = Spot(node.id, "junction", spot, port, options=options, ways=ways, constraints=limits)
                out[i] = (self.add(made, words), 0)
            else:
                self.outlet(part, node.id, spot, port, limits, words)
            if node.id in parted:
                about = About(node.id, node.at, f"union behind {words.words}")
                out[i] = (self.union(node.id, *out[i], pressures[i], about), 0)

    def parted(self) -> frozenset[str]:
        """Behind which elements screwed steel gets a union, REGULATOR for the first regulator: it could not be put
        together, nor the regulator taken out, without one. Behind each regulator that feeds steel, before each that steel
        feeds, and behind the last steel run of a line that does not end at an outlet. None where nobody can reach it."""
        nodes = self.build.nodes

        def steel(i: int) -> bool:
            return i >= 0 and isinstance(nodes[i].part, Run) and screwed(self.runs[nodes[i].id])

        found = set()
        for i, node in enumerate(nodes):
            above = node.parent
            if steel(i) and (above < 0 or isinstance(nodes[above].part, Regulator)):
                found.add(nodes[above].id if above >= 0 else REGULATOR)
            if steel(above) and not steel(i) and not isinstance(node.part, Outlet):
                fed = above != 0 and not any(steel(k) for k in self.behind(i))
                if isinstance(node.part, Regulator) or (fed and not getattr(node.part, "concealed", False)):
                    found.add(nodes[above].id)
        return frozenset(found)

    def behind(self, top: int) -> Iterator[int]:
        """The places of all elements behind one, as far as the next regulator."""
        inside = {top}
        for i, node in enumerate(self.build.nodes):
            if node.parent in inside and not isinstance(node.part, Regulator):
                inside.add(i)
                yield i

    def union(self, identity: str, up: int, port: int, gauge: float, about: About) -> int:
        """A ground-joint union in threaded pipe."""
        kind = "bspt" if self.si else "npt"
        unions = tuple(p for p in self.options("branch", "union") if p.ends[0].kind == kind)
        return self.add(
            Spot(f"{identity}:union", "union", up, port, options=unions, constraints=Constraints(gauge)), about
        )

    def run(self, run: Line, up: int, port: int, limits: Constraints, words: About) -> int:
        """A run, in one piece; of steel pipe one piece more than it has bends, with an elbow at each."""
        end = tube_ends(run.material, run.size, self.si)
        up = self.add(Spot(run.id, "run", up, port, ends=(end, end), constraints=limits), words)
        if screwed(run) and end is not None:
            # Elbows may be hidden in a passage; unions and bushings never.
            elbows = tuple(
                p for p in self.options("branch", "elbow") if p.ends == (End(end.kind, end.size, "female"),) * 2
            )
            plain = Constraints(limits.pressure)
            for k in range(run.part.bends):
                bend = About(run.id, words.at, f"{words.words}, bend {k + 1}")
                up = self.add(Spot(f"{run.id}:elbow-{k + 1}", "elbow", up, options=elbows, constraints=plain), bend)
                up = self.add(
                    Spot(f"{run.id}:piece-{k + 2}", "run", up, ends=(end, end), constraints=plain),
                    About(run.id, words.at, words.words),
                )
        if by_bulkhead_fitting(run.material):
            for k in range(run.part.through.count("bulkhead")):
                up = self.bulkhead(run, k + 1, up, limits, words, end)
        return up

    def bulkhead(self, run: Line, number: int, up: int, limits: Constraints, words: About, end: End | None) -> int:
        """The fitting by which a run passes a vapour-tight wall, and the piece of the run behind it."""
        seen = Constraints(limits.pressure)
        up = self.add(
            Spot(
                f"{run.id}:bulkhead-{number}",
                "bulkhead fitting",
                up,
                options=self.options("branch", "bulkhead"),
                constraints=seen,
            ),
            About(run.id, words.at, f"{words.words}, bulkhead fitting"),
        )
        return self.add(
            Spot(f"{run.id}:behind-bulkhead-{number}", "run", up, ends=(end, end), constraints=seen),
            About(run.id, words.at, f"{words.words}, behind the bulkhead"),
        )

    def regulator(self, part: Regulator, up: int, port: int, limits: Constraints, words: About) -> int:
        inlet, outlet = (
            usual_end(t, male_flare=True) if t is not None else None for t in (part.inlet_thread, part.outlet_thread)
        )
        about = About(words.element, words.at, words.words, (part.inlet_thread, part.outlet_thread))
        return self.add(Spot(words.element, "regulator", up, port, ends=(inlet, outlet), constraints=limits), about)

    def tap(self, identity: str, up: int, port: int, limits: Constraints, words: About) -> int:
        """A test point: a tee with a tap in its branch, or one part where the tubing is of metric size."""
        before = self.spots[up]
        if before.ends and before.ends[-1] is not None and before.ends[-1].size.endswith("mm"):
            return self.add(
                Spot(identity, "tap", up, port, options=self.options("test", ends=2), constraints=limits), words
            )
        tees = (*self.options("test", "tee", ends=3), *self.options("branch", "tee", ends=3))
        tee = self.add(Spot(identity, "tap", up, port, options=tees, ways=2, constraints=limits), words)
        taps = tuple(p for p in self.options("test", "tap") if p.ends[0].size == "1/4")
        if self.si:
            taps = tuple(reversed(taps))
        self.add(
            Spot(f"{identity}:tap", "test tap", tee, 1, options=taps[:1], ways=0, constraints=limits),
            About(words.element, words.at, f"{words.words}, tap"),
        )
        return tee

    def outlet(self, part: Outlet, identity: str, up: int, port: int, limits: Constraints, words: About) -> None:
        """Termination of corrugated tubing, shut-off valve, connector, sediment trap, appliance."""
        name = part.appliance.name
        feeding = self.spots[up]
        if feeding.role == "run" and feeding.ends[0] is not None and feeding.ends[0].kind == "csst":
            through = self.runs[feeding.id].part.through
            shape = "floor" if "floor" in through or "deck" in through else "wall"
            fits = tuple(
                p
                for p in self.options("termination")
                if any(e.kind == "csst" and e.size == feeding.ends[0].size for e in p.ends) and f"-{shape}-" in p.id
            )
            if fits:
                up = self.add(
                    Spot(f"{identity}:termination", "termination", up, port, options=fits, constraints=limits),
                    About(identity, words.at, f"{name}, termination of the tubing"),
                )
                port = 0
        if part.shut_off is not False:
            valves = sorted(self.options("valve"), key=lambda p: not p.id.startswith("valve-appliance"))
            up = self.add(
                Spot(f"{identity}:valve", "outlet valve", up, port, options=tuple(valves), constraints=limits),
                About(identity, words.at, f"{name}, shut-off valve"),
            )
            port = 0
        text = part.appliance.inlet_thread
        inlet = usual_end(text, male_flare=True) if text is not None else None
        up, port = self.connector(part, identity, up, port, limits, words, inlet)
        if self.trap and part.appliance.kind not in WITHOUT_TRAP and inlet is not None and inlet.kind == "npt":
            up = self.sediment_trap(identity, name, up, port, limits, words, inlet)
            port = 0
        at = (*words.at, "appliance", "inlet_thread") if text is not None else (*words.at, "appliance")
        self.add(
            Spot(identity, "appliance", up, port, ends=(inlet,), constraints=limits),
            About(identity, at, f"{name}, inlet", (text, None)),
        )

    def connector(
        self, part: Outlet, identity: str, up: int, port: int, limits: Constraints, words: About, inlet: End | None
    ) -> tuple[int, int]:
        kind, _ = connector_kind(self.build, part)
        about = About(identity, words.at, f"{part.appliance.name}, connector")
        if kind == "rigid":
            end = self.tail(identity, inlet)
            up = self.add(
                Spot(f"{identity}:connector", "rigid tail", up, port, ends=(end, end), constraints=limits), about
            )
            if end is not None and end.kind in ("npt", "bspt"):
                unions = tuple(
                    p
                    for p in self.options("branch", "union")
                    if p.ends[0].kind == end.kind and p.ends[0].size == end.size
                )
                up = self.add(
                    Spot(f"{identity}:union", "union", up, options=unions, constraints=limits),
                    About(identity, words.at, f"{part.appliance.name}, union"),
                )
            return up, 0
        shapes = ("hose",) if kind == "hose" else ("connector", "hose") if self.si else ("connector",)
        # A connector is chosen by both its ends: where the inlet is not known, none is named.
        options = self.options("connector", *shapes) if inlet is not None else ()
        return self.add(
            Spot(f"{identity}:connector", "connector", up, port, options=options, constraints=limits), about
        ), 0

    def tail(self, identity: str, inlet: End | None) -> End | None:
        """The ends of a rigid tail: of the tubing that feeds it, or threaded pipe where that is corrugated."""
        run = self.feeding(identity)
        if run is not None and tubing.material(run.material).makes_tails:
            return tube_ends(run.material, run.size, self.si)
        size = inlet.size if inlet is not None and inlet.kind in ("npt", "bspt", "bspp") else "1/2"
        return End("bspt" if self.si else "npt", size, "male")

    def feeding(self, identity: str) -> Line | None:
        return feeding_run(self.build, self.runs, identity)

    def sediment_trap(
        self, identity: str, name: str, up: int, port: int, limits: Constraints, words: About, inlet: End
    ) -> int:
        """A tee with a drip leg and a cap before the appliance."""
        size = inlet.size if inlet.size in ("1/2", "3/4", "1") else "1/2"
        about = About(identity, words.at, f"{name}, sediment trap")
        tee = tuple(p for p in self.options("branch", "tee") if p.id == f"npt-tee:{size}")
        cap = tuple(p for p in self.options("closure", "cap") if p.id == f"npt-cap:{size}")
        spot = self.add(
            Spot(f"{identity}:trap", "sediment trap", up, port, options=tee, ways=2, constraints=limits), about
        )
        self.add(
            Spot(f"{identity}:trap-cap", "cap", spot, 1, options=cap, ways=0, constraints=limits),
            About(identity, words.at, f"{name}, cap of the sediment trap"),
        )
        return spot


def connector_kind(build: Installation, outlet: Outlet) -> tuple[str, Citation | None]:
    """The kind of connector, and, where the spec has chosen none, whose practice it follows."""
    if outlet.connector is not None:
        return outlet.connector.kind, None
    return stock.usual_tail(build.region.units)


def feeding_run(build: Build, runs: dict[str, Line], identity: str) -> Line | None:
    """The run that feeds an outlet, None where it hangs on a regulator or junction without one."""
    at = build.by_id[identity].parent
    while at >= 0 and not isinstance(build.nodes[at].part, Run):
        if isinstance(build.nodes[at].part, Regulator):
            return None
        at = build.nodes[at].parent
    return runs.get(build.nodes[at].id) if at >= 0 else None


def _words(identity: str, part: object) -> str:
    if isinstance(part, Outlet):
        return part.appliance.name
    kinds = ((Run, "run"), (Valve, "valve"), (Tap, "test point"), (Junction, "junction"), (Regulator, "regulator"))
    return f"{next(word for kind, word in kinds if isinstance(part, kind))} {identity}"


# --- findings ---------------------------------------------------------------------------------------------------------

_WHY_NOT = {
    "nothing-fits-first-end": "no listed part goes onto the first of them",
    "nothing-fits-second-end": "no listed part goes onto the second of them",
    "bushing-stack": "only bushing in bushing would, which is not done",
    "under-rated": "the parts that would are not rated for the pressure there, or no rating is known",
    "concealed": "the parts that would must stay where they can be seen and reached",
    "no-chain": "no chain of listed parts does",
}


def fitting_findings(build: Installation, made: Fittings) -> Iterator[Finding]:
    """Joints that cannot be made, must not be made, or cannot be worked out because a thread is not stated."""
    concealed_source = next(
        (str(r.citation) for r in build.region.rules if r.id == "concealed-joints"), "common practice, no source"
    )
    told: set[tuple[str, str]] = set()
    # Where a part may not be hidden that is said once, not again for each of its joints.
    hidden = {about.element for about, _, placed in made.placed() if placed.breaks == "concealed"}
    for joined in made.joined:
        found = joined.found
        around = {joined.before.element, joined.after.element}
        if isinstance(found, NoChain) and not (found.reason == "concealed" and around & hidden):
            yield _impossible(joined, found, concealed_source)
    for about, spot, placed in made.placed():
        for side, end in enumerate(spot.ends):
            wanted = spot.role in ("regulator", "appliance", "container") and end is None
            if wanted and not (spot.up < 0 and side == 0) and (about.element, f"{spot.role}{side}") not in told:
                told.add((about.element, f"{spot.role}{side}"))
                yield _not_stated(about, spot, side)
        if placed.breaks is not None or (
            spot.options and not spot.ends and not placed.built_in and placed.part is None
        ):
            yield _no_part(about, spot, placed, concealed_source)


def _impossible(joined: Joined, found: NoChain, concealed_source: str) -> Finding:
    a, b = joined.a, joined.b
    message = (
        f"Nothing listed joins {joined.before.words} ({a}) to {joined.after.words} ({b}): {_WHY_NOT[found.reason]}."
    )
    if found.forbidden is not None:
        reason, source = catalog.never(found.forbidden)
        return error(
            "joint-must-not-be-made",
            joined.element,
            joined.at,
            message,
            f"The two must not be forced together: {reason}.",
            "Choose parts with connections of one kind, or add a listed adapter to parts.yaml.",
            str(source),
        )
    near = f" Parts reach as far as {found.near}." if found.near is not None else ""
    return error(
        "joint-impossible",
        joined.element,
        joined.at,
        message,
        f"What cannot be joined cannot be fitted on the day.{near}",
        "Change one of the two connections, or add the missing part to parts.yaml with its source."
        if found.reason != "concealed"
        else "Move the joint to where it can be seen and reached.",
        concealed_source if found.reason == "concealed" else None,
    )


def _not_stated(about: About, spot: Spot, side: int) -> Finding:
    what = {"container": "The container's outlet connection", "appliance": f"The connection of {about.words}"}.get(
        spot.role, f"The {('inlet', 'outlet')[1 if side else 0]} thread of {about.words.split(',')[0]}"
    )
    if (spot.role == "regulator" and about.words.endswith("inlet")) or "inlet " in about.words:
        what = f"The inlet thread of {about.words.split(',')[0]}"
    key = {"container": "connection", "appliance": "inlet_thread"}.get(
        spot.role, "inlet_thread" if what.startswith("The inlet") else "outlet_thread"
    )
    return warning(
        f"thread-not-stated-{key.replace('_', '-')}",
        about.element,
        about.at,
        f"{what} is not stated.",
        "Which fittings and which hose or connector go there cannot be worked out.",
        f"Read it off the part and add '{key}:', as in '1/2 NPT' or 'POL'.",
    )


def _no_part(about: About, spot: Spot, placed: Placed, concealed_source: str) -> Finding:
    if placed.breaks == "concealed":
        return error(
            "concealed-joint",
            about.element,
            about.at,
            f"{about.words[:1].upper()}{about.words[1:]} lies where nobody can see or reach it, and no part listed for it may.",
            "A joint that leaks there is found late, and cannot be tightened.",
            "Move it into the open, or run the tubing through in one piece.",
            concealed_source,
        )
    why = "is rated for the pressure there" if placed.breaks else "joins what stands around it"
    return error(
        "part-not-listed",
        about.element,
        about.at,
        f"No {spot.role} on the list {why} ({about.words}).",
        "A part that is too weak or does not fit cannot be bought by this list.",
        "Lower the pressure there, choose another size or kind, or add a part of your own to parts.yaml.",
    )
