"""All choices of a build, and whole designs made of them: what `gasdoc choose` prints, and what fills in a plan."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.build.model import Outlet
from gasdoc.build.reader import Build
from gasdoc.catalog import containers as catalog
from gasdoc.catalog import regulators as trade
from gasdoc.catalog import tubing as tubing_catalog
from gasdoc.catalog.appliances import day
from gasdoc.choices.assumed import Assumed, Burning, assumed, burning, with_assumed
from gasdoc.choices.containers import HEATERS, Asked, ContainerChoice, containers
from gasdoc.choices.entries import Figure, Why, fits, sources
from gasdoc.choices.filled import Picked, Pipes, Reduced, Set, fill
from gasdoc.choices.tubing import TubingChoice, tubings
from gasdoc.engineering.constants import DAY
from gasdoc.quantities import Aside, Kelvin, Pascal
from gasdoc.regions.materials import permission
from gasdoc.regions.region import UnknownRegion, region
from gasdoc.source import Citation
from gasdoc.study.container.cold_day import Cold, cold_day
from gasdoc.study.container.holding import container
from gasdoc.study.facts import Installation, Served, heating_value, setting
from gasdoc.study.materials.own_files import NOTHING, Own
from gasdoc.study.supply.names import resolve


class Inlet(Struct, frozen=True):
    """What another lowest inlet of the regulator would change: the `floor` K below which the gas has not that pressure, and
    the container that would come first then, None for none."""

    inlet: Pascal
    floor: Kelvin | None
    first: str | None


class RegulatorChoice(Struct, frozen=True):
    """What to ask for in a shop: `figures` have outlet, lowest inlet and capacity, as power and as gas per hour."""

    id: str
    fits: bool | None
    why_not: tuple[Why, ...]
    figures: dict[str, Figure]
    sources: tuple[Citation, ...]
    words: str
    stages: int
    two_inlets: bool
    container_side: str
    line_side: str
    inlets: tuple[Inlet, ...]
    picked: Annotated[Picked, Aside("what is written when it is taken")]


class ConnectorChoice(Struct, frozen=True):
    """The least of what joins one appliance: its rating and its size, never below the appliance's own inlet."""

    id: str
    fits: bool | None
    why_not: tuple[Why, ...]
    figures: dict[str, Figure]
    sources: tuple[Citation, ...]
    name: str
    size: str | None


class Design(Struct, frozen=True):
    """A whole design, named by what it is good for: one choice of each, solved together."""

    id: str
    fits: bool | None
    why_not: tuple[Why, ...]
    figures: dict[str, Figure]
    sources: tuple[Citation, ...]
    good_for: str
    container: str
    regulator: str
    tubing: str
    open: tuple[str, ...]
    decides: tuple[str, ...]
    unpriced: tuple[str, ...]
    picked: Annotated[Picked, Aside("what is written when it is taken")]


Takeable: TypeAlias = Design | ContainerChoice | RegulatorChoice | TubingChoice


@dataclass(frozen=True)
class Choices:
    """Everything that can be chosen for a build, each list in the order shown. `open` is what the spec leaves open, `burning` how
    long each appliance is taken to burn where the spec says so as hours."""

    open: tuple[str, ...]
    assumed: tuple[Assumed, ...]
    burning: tuple[Burning, ...]
    designs: tuple[Design, ...]
    containers: tuple[ContainerChoice, ...]
    regulator: RegulatorChoice
    tubing: tuple[TubingChoice, ...]
    connectors: tuple[ConnectorChoice, ...]

    @property
    def _parts(self) -> dict[str, Sequence[Takeable]]:
        return {
            "design": self.designs,
            "container": self.containers,
            "regulator": (self.regulator,),
            "tubing": self.tubing,
        }

    def ids(self) -> dict[str, tuple[str, ...]]:
        """What can be taken: the ids of the choices that fit or only lack a figure, by the part they are of."""
        return {
            part: tuple(choice.id for choice in choices if choice.fits is not False)
            for part, choices in self._parts.items()
        }

    def choice(self, part: str, name: str) -> Takeable | None:
        """The choice of an id; None where there is none."""
        return next((choice for choice in self._parts[part] if choice.id == name), None)


def choose(build: Build, own: Own = NOTHING) -> Choices | None:
    """The choices of a build, open or not; None where a name in its spec means nothing."""
    try:
        found, _ = resolve(fill(build, anything(build)))
    except UnknownRegion:
        return None
    if found is None:
        return None
    worked = with_assumed(found)
    held = _held(worked)
    lines = tubings(found, own)
    regulator = _regulator(worked, _asked(worked), held)
    return Choices(
        open=build.stated.open,
        burning=tuple(burning(found)),
        assumed=tuple(assumed(found, _first(held), lambda other: _first(_held(other)))),
        designs=tuple(_designs(found, held, lines, regulator)),
        containers=held,
        regulator=regulator,
        tubing=lines,
        connectors=tuple(_connector(s) for s in found.served),
    )


def anything(build: Build) -> Picked:
    """Something for every open key, before anything is known: the first kind that is listed, the usual pressure."""
    families = region(build.spec.region).practice.containers
    kinds = [k for k in catalog.trade(families) if catalog.container_kind(k).water_capacity is not None]
    kind = catalog.container_kind(kinds[0])
    spec = build.spec
    held = Set(kind.id, spec.container.number, spec.container.manifold, kind.orientation[0])
    return Picked(
        held if "container" in build.open else None,
        _reduced(build) if "regulator" in build.open else None,
        Pipes(*_usual_material(build)) if "tubing" in build.open else None,
    )


def _usual_material(build: Build) -> tuple[str, str | None]:
    """The material and type that are fitted most in the region and setting."""
    where = setting(build)
    found = [
        (row.usual or 99, material, kind)
        for material in tubing_catalog.materials()
        for kind in tubing_catalog.material(material).kinds or (None,)
        if (row := permission(material, kind, region(build.spec.region).practice, where)) is not None
        and row.answer == "allowed"
    ]
    _, material, kind = min(found, key=lambda each: each[0])
    return material, kind


def _reduced(build: Build) -> Reduced:
    """The regulator asked for: the pressure on the plates where they agree, else the usual one of the region."""
    row = trade.regulators(region(build.spec.region).practice.rows)
    plates = {
        node.part.appliance.jetted_for.pressure.text: float(node.part.appliance.jetted_for.pressure)
        for node in build.nodes
        if isinstance(node.part, Outlet) and node.part.appliance.jetted_for is not None
    }
    nominal = region(build.spec.region).supply.nominal.value
    outlet = next(iter(plates)) if len(set(plates.values())) == 1 else nominal.text
    inlet = build.spec.regulator.inlet
    return Reduced(outlet, inlet.text if inlet is not None else row.usual.text, row.stages)


def _cold(build: Installation) -> Cold | None:
    return cold_day(build, container(build))


def _held(build: Installation) -> tuple[ContainerChoice, ...]:
    """Every container for a build, the first choice first."""
    cold = _cold(build)
    return containers(build, cold.rig, _asked(build)) if cold is not None else ()


def _first(held: Sequence[ContainerChoice]) -> str | None:
    """The container that comes first, in words; None where none fits."""
    return next((f"{choice.name}, {choice.way}" for choice in held if choice.fits), None)


def _asked(build: Installation) -> Asked:
    spec = build.spec
    wishes = spec.wishes
    heats = any(s.appliance.kind in HEATERS for s in build.served)
    sleeps = any(space.sleeping_places for space in spec.spaces)
    assert spec.coldest is not None, "assumed where it is not stated"
    must_last = float(spec.container.must_last or day().must_last.value) / DAY
    plain = Asked(float(spec.coldest), must_last, pair=heats or sleeps)
    if wishes is None:
        return plain
    return replace(
        plain,
        carry=float(wishes.carry) if wishes.carry is not None else None,
        fill=wishes.fill,  # the model lets only these words through
        swap_at=float(wishes.swap_at) if wishes.swap_at is not None else None,
        room=wishes.room,
        have=tuple(wishes.have),
    )


def _regulator(build: Installation, asked: Asked, held: Sequence[ContainerChoice]) -> RegulatorChoice:
    """What to ask for, with what another lowest inlet would change."""
    row = trade.regulators(build.region.practice.rows)
    wanted = _reduced(build)
    load = sum(s.load for s in build.served)
    mass = load / heating_value(build) * 3600.0
    outlet = float(build.spec.regulator.outlet)
    inlet = build.spec.regulator.inlet
    first = next((choice for choice in held if choice.fits is not False), None)
    size = next((float(each) * 3600.0 for each in row.sizes if float(each) * 3600.0 >= mass * (1 - 1e-9)), None)
    figures = {
        "outlet": Figure(outlet, "Pa", build.region.supply.nominal.citation.confirmed),
        "inlet": Figure(float(inlet) if inlet is not None else None, "Pa", row.confirmed),
        "capacity": Figure(load, "W", "computed"),
        "gas": Figure(mass / 3600.0, "kg/s", "computed"),
        "usual_size": Figure(size / 3600.0 if size is not None else None, "kg/s", row.confirmed),
    }
    inlets = tuple(_inlet(build, float(each), asked, first, inlet) for each in row.inlets)
    reasons = []
    if not held or all(choice.fits is False for choice in held):
        reasons.append(Why("no-container", "With this lowest inlet no container carries the coldest day.", open=True))
    return RegulatorChoice(
        id="regulator",
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=figures,
        sources=sources(row.citation, build.region.supply.nominal.citation),
        words=row.words,
        stages=row.stages,
        two_inlets=first is not None and first.manifold == "changeover",
        container_side=row.container,
        line_side=row.line,
        inlets=inlets,
        picked=Picked(regulator=wanted),
    )


def _inlet(
    build: Installation, inlet: float, asked: Asked, first: ContainerChoice | None, now: units.Given | None
) -> Inlet:
    """The floor of another lowest inlet; what would come first is only looked for near that floor, where it decides."""
    spec = build.spec
    other = spec.regulator.model_copy(update={"inlet": units.Given(inlet, "", "pressure", "Pa")})
    changed = dataclasses.replace(build, spec=spec.model_copy(update={"regulator": other}))
    cold = _cold(changed)
    if cold is None:
        return Inlet(inlet, None, None)
    floor = cold.rig.need.floor
    if asked.air > floor + NEAR or (now is not None and abs(float(now) - inlet) < 1.0):
        return Inlet(inlet, floor, first.id if first is not None else None)
    found = containers(changed, cold.rig, asked)
    return Inlet(inlet, floor, next((choice.id for choice in found if choice.fits), None))


NEAR = 10.0
"""K: within so much of the floor another lowest inlet decides (our choice)."""


def _connector(s: Served) -> ConnectorChoice:
    """What joins one appliance at the least."""
    reasons = []
    size = s.appliance.inlet_thread
    if size is None:
        text = f"The inlet of {s.appliance.name} is not stated: its connector and its valve are never smaller."
        reasons.append(Why("size-open", text, open=True))
    mass = s.mass
    return ConnectorChoice(
        id=s.id,
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures={"rating": Figure(s.load, "W", "computed"), "gas": Figure(mass, "kg/s", "computed")},
        sources=(),
        name=s.appliance.name,
        size=size,
    )


DECIDES = (
    "The licensed person decides where the container stands and how it is held, fits or checks the work, and tests it.",
    "The authority says which rules hold, and signs.",
)


def _designs(
    build: Installation, held: Sequence[ContainerChoice], lines: Sequence[TubingChoice], regulator: RegulatorChoice
) -> Iterator[Design]:
    """At most three whole designs that differ, each named by what it is good for."""
    fitting = [choice for choice in held if choice.fits]
    tube = next((choice for choice in lines if choice.fits), None) or next(iter(lines), None)
    if tube is None:
        return
    lifted = [choice for choice in fitting if choice.lift is not None]
    if not fitting and held:
        yield _design(build, "nearest", "nothing fits; this comes nearest", held[0], tube, regulator)
    wanted: list[tuple[str, str, ContainerChoice | None]] = [
        ("usual", "the usual one: few parts, easily had", next(iter(fitting), None)),
        ("lightest", "the lightest to lift", min(lifted, key=lambda c: (c.lift or 0.0, *c.rank), default=None)),
        ("no-lifting", "no lifting: filled where it stands", next((c for c in fitting if c.lift is None), None)),
    ]
    done: set[str] = set()
    for name, words, choice in wanted:
        if choice is not None and choice.id not in done:
            done.add(choice.id)
            yield _design(build, name, words, choice, tube, regulator)


def _design(
    build: Installation, name: str, words: str, held: ContainerChoice, tube: TubingChoice, regulator: RegulatorChoice
) -> Design:
    open_now = build.stated.open
    reasons = [*held.why_not, *tube.why_not]
    budget = build.spec.wishes.budget if build.spec.wishes is not None else None
    cost = tube.figures["cost"].value
    if budget is not None and (cost is None or tube.unpriced):
        text = (
            f"Whether it keeps to the budget is not known: {', '.join(tube.unpriced)} and the container have no price."
        )
        reasons.append(Why("price-open", text, open=True))
    elif budget is not None and cost is not None and cost > budget:
        reasons.append(Why("over-budget", "The tube alone costs more than the budget."))
    figures = {
        "lift": Figure(held.lift, "kg", held.figures["one_full"].confirmed),
        "set_full": held.figures["set_full"],
        "days": held.figures.get("days", Figure(None, "days", "computed")),
        "days_still": held.figures.get("days_still", Figure(None, "days", "computed")),
        "swap_at": held.figures.get("swap_at", Figure(None, "share", "computed")),
        "joints": tube.figures["joints"],
        "left_at_worst": tube.figures["left_at_worst"],
        "cost": tube.figures["cost"],
    }
    still_open = [f"connection of the {s.appliance.name}" for s in build.served if s.appliance.inlet_thread is None]
    return Design(
        id=name,
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=figures,
        sources=sources(*held.sources, *tube.sources, *regulator.sources),
        good_for=words,
        container=held.id,
        regulator=regulator.id,
        tubing=tube.id,
        open=("connection and mount of the container", "what the regulator's data sheet says", *still_open),
        decides=DECIDES,
        unpriced=tube.unpriced,
        picked=Picked(
            held.picked.container if "container" in open_now or not open_now else None,
            regulator.picked.regulator if "regulator" in open_now else None,
            tube.picked.tubing if "tubing" in open_now or not open_now else None,
        ),
    )
