"""All choices of a build, and whole designs made of them: what `gasdoc choose` prints, and what fills in a plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, TypeAlias

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.reader import Build
from gasdoc.catalog import containers as catalog
from gasdoc.choices.asked import asked, wishes
from gasdoc.choices.assumed import Assumed, Burning, assumed, burning, with_assumed
from gasdoc.choices.changes import OtherContainer, Role, Search, changes
from gasdoc.choices.containers import ContainerChoice, containers
from gasdoc.choices.entries import Choice, Figure, Why, fits, sources
from gasdoc.choices.filled import Picked, Pipes, Set, fill
from gasdoc.choices.regulator import RegulatorChoice, regulator, wanted
from gasdoc.choices.tubing import TubingChoice, tubings
from gasdoc.quantities import Aside
from gasdoc.regions.region import UnknownRegion, region
from gasdoc.study.container.cold_day import cold_day
from gasdoc.study.container.holding import container
from gasdoc.study.facts import Installation, Served, setting
from gasdoc.study.materials.own_files import NOTHING, Own
from gasdoc.study.materials.permitted import usual
from gasdoc.study.materials.price_list import PriceList, price_list
from gasdoc.study.supply.names import resolve

# --- whole designs ----------------------------------------------------------------------------------------------------

MOST = 3
"""How many designs stand side by side (our choice)."""


GOOD_FOR = {
    "usual": "the usual one: few parts, easily had",
    "cheapest": "least cost of container, regulator and tube",
    "lightest": "the lightest to lift",
    "no-lifting": "nothing is lifted: filled where it stands",
    "nearest": "nothing fits. This comes nearest",
}
"""What each design is good for, in words."""


DECIDES = (
    "The licensed person decides where the container stands and how it is held. That person fits or checks the work, and tests it.",
    "The authority says which rules hold, and signs.",
)


class Design(Choice, frozen=True):
    """A whole design, named by what it is good for: one choice of each, solved together.

    `best_in` are the ids of the other designs that it is, too. `cost` in its figures is that of container, regulator and tube;
    `unpriced` are the part keys that have no price. `changes` says what would stand in its place if one thing were otherwise.
    """

    good_for: str
    best_in: tuple[str, ...]
    container: str
    regulator: str
    tubing: str
    connectors: tuple[str, ...]
    parts: tuple[tuple[str, int], ...]
    open: tuple[str, ...]
    decides: tuple[str, ...]
    changes: tuple[OtherContainer, ...]
    unpriced: tuple[str, ...]
    picked: Annotated[Picked, Aside("what is written when it is taken")]


class Offered(Struct, frozen=True):
    """What designs are made of: the choices of each part, in their order, and the prices."""

    containers: tuple[ContainerChoice, ...]
    regulator: RegulatorChoice
    tubing: tuple[TubingChoice, ...]
    connectors: tuple[ConnectorChoice, ...]
    prices: PriceList


def designs(build: Installation, offered: Offered, question: Search | None) -> Iterator[Design]:
    """At most three whole designs that differ; where the least cost is not known, one more that says which prices lack."""
    fitting = [choice for choice in offered.containers if choice.fits]
    tube = next((choice for choice in offered.tubing if choice.fits), None) or next(iter(offered.tubing), None)
    if tube is None or not offered.containers:
        return
    if not fitting:
        yield _design(build, offered, "nearest", offered.containers[0], tube, question)
        return
    usual = fitting[0]
    # Many small ones are lightest, and nobody wants to change them: one more than the usual are looked at.
    lifted = [choice for choice in fitting if choice.lift is not None and choice.number <= usual.number + 1]
    wanted: dict[str, tuple[ContainerChoice, TubingChoice] | None] = {
        "usual": (usual, tube),
        "cheapest": _cheapest(build, offered, fitting),
        "lightest": (min(lifted, key=lambda c: (c.lift or 0.0, *c.rank)), tube) if lifted else None,
        "no-lifting": next(((choice, tube) for choice in fitting if choice.lift is None), None),
    }
    first: dict[tuple[str, str], str] = {}
    also: dict[str, list[str]] = {}
    for name, pair in wanted.items():
        if pair is not None:
            also.setdefault(first.setdefault((pair[0].id, pair[1].id), name), []).append(name)
    for name, names in list(also.items())[:MOST]:
        pair = wanted[name]
        assert pair is not None, "it has a name"
        made = _design(build, offered, name, *pair, _of_role(question, name, usual))
        yield replace(made, best_in=tuple(names[1:]))
    if wanted["cheapest"] is None:
        _, unpriced = _cost(build, offered, usual, tube)
        made = _design(build, offered, "usual", usual, tube, None)
        text = f"The least cost needs {len(unpriced)} price{'s' if len(unpriced) > 1 else ''}: {', '.join(unpriced)}."
        yield replace(
            made,
            id="cheapest",
            good_for=GOOD_FOR["cheapest"],
            fits=None,
            why_not=(Why("price-open", text, open=True),),
            picked=Picked(),
        )


def _of_role(question: Search | None, name: str, usual: ContainerChoice) -> Search | None:
    """What is asked for a design of that name; of the least cost nothing is, since no search knows prices."""
    if question is None or name == "cheapest":
        return None
    role: Role = "lightest" if name == "lightest" else "no-lifting" if name == "no-lifting" else "usual"
    return replace(question, role=role, most=usual.number + 1) if role == "lightest" else replace(question, role=role)


def _cheapest(
    build: Installation, offered: Offered, fitting: Sequence[ContainerChoice]
) -> tuple[ContainerChoice, TubingChoice] | None:
    """The pair of container and tubing that costs least, of those whose prices are all known; None where there is none."""
    priced = [
        (cost, container, tube)
        for container in fitting
        for tube in offered.tubing
        if tube.fits and (cost := _cost(build, offered, container, tube)[0]) is not None
    ]
    return min(priced, key=lambda each: each[0])[1:] if priced else None


def _cost(
    build: Installation, offered: Offered, container: ContainerChoice, tube: TubingChoice
) -> tuple[float | None, tuple[str, ...]]:
    """What container, regulator and tube cost, half way between low and high, and the part keys that have no price; None where
    there are any. A container that one has costs nothing."""
    wanted = {} if container.owned else {f"container:{container.kind}": container.number}
    wanted[f"regulator:{build.first}"] = 1
    known = offered.prices.each()
    unpriced = (*(key for key in wanted if key not in known), *tube.unpriced)
    tube_cost = tube.figures["cost"].value
    if unpriced or tube_cost is None:
        return None, unpriced
    return tube_cost + sum(known[key] * count for key, count in wanted.items()), ()


def _design(
    build: Installation,
    offered: Offered,
    name: str,
    container: ContainerChoice,
    tube: TubingChoice,
    question: Search | None,
) -> Design:
    open_now = build.stated.open
    reasons = [*container.why_not, *tube.why_not]
    budget = build.spec.wishes.budget if build.spec.wishes is not None else None
    cost, unpriced = _cost(build, offered, container, tube)
    if budget is not None and cost is None:
        text = f"Whether it keeps to the budget is not known. There is no price for {', '.join(unpriced)}."
        reasons.append(Why("price-open", text, open=True))
    elif budget is not None and cost is not None and cost > budget:
        text = f"Container, regulator and tube cost {cost:.0f}. The budget is {budget:g}."
        reasons.append(Why("over-budget", text))
    none = Figure(None, "days", "computed")
    figures = {
        "lift": Figure(container.lift, "kg", container.figures["one_full"].confirmed),
        "set_full": container.figures["set_full"],
        "days": container.figures.get("days", none),
        "days_still": container.figures.get("days_still", none),
        "swap_at": container.figures.get("swap_at", Figure(None, "share", "computed")),
        "joints": tube.figures["joints"],
        "left_at_worst": tube.figures["left_at_worst"],
        "cost": Figure(cost, offered.prices.currency or "", "computed"),
    }
    inlets = [f"connection of the {s.appliance.name}" for s in build.served if s.appliance.inlet_thread is None]
    return Design(
        id=name,
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures=figures,
        sources=sources(*container.sources, *tube.sources, *offered.regulator.sources),
        good_for=GOOD_FOR[name],
        best_in=(),
        container=container.id,
        regulator=offered.regulator.id,
        tubing=tube.id,
        connectors=tuple(each.id for each in offered.connectors),
        parts=(
            (container.name.removeprefix(f"{container.number} x "), container.number),
            ("regulator with two inlets" if container.two_inlets else "regulator", 1),
            *tube.stock,
            ("connector or rigid tail, with its valve", len(offered.connectors)),
        ),
        open=("connection and mount of the container", "what the regulator's data sheet says", *inlets),
        decides=DECIDES,
        changes=tuple(changes(question)) if question is not None else (),
        unpriced=unpriced,
        picked=Picked(
            container.picked.container if "container" in open_now or not open_now else None,
            offered.regulator.picked.regulator if "regulator" in open_now else None,
            tube.picked.tubing if "tubing" in open_now or not open_now else None,
        ),
    )


# --- all choices ------------------------------------------------------------------------------------------------------

Takeable: TypeAlias = Design | ContainerChoice | RegulatorChoice | TubingChoice


class Choices(Struct, frozen=True):
    """Everything that can be chosen for a build, each list in the order shown. `open` is what the spec leaves open, `wishes`
    what it wishes, in words, `burning` how long each appliance is taken to burn where the spec says so as hours."""

    open: tuple[str, ...]
    wishes: tuple[str, ...]
    currency: str
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
            part: tuple(choice.id for choice in choices if choice.fits is not False and choice.picked != Picked())
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
    question = _question(worked)
    kinds = containers(worked, question.rig, question.asked) if question is not None else ()
    offered = Offered(
        kinds,
        regulator(worked, question, kinds),
        tubings(found, own),
        tuple(connector(s) for s in found.served),
        price_list(found.spec.prices, own.prices),
    )
    return Choices(
        open=build.stated.open,
        wishes=tuple(wishes(found)),
        currency=offered.prices.currency or "",
        assumed=tuple(assumed(found, _first(question), lambda other: _first(_question(other)))),
        burning=tuple(burning(found)),
        designs=tuple(designs(worked, offered, question)),
        containers=offered.containers,
        regulator=offered.regulator,
        tubing=offered.tubing,
        connectors=offered.connectors,
    )


def _question(build: Installation) -> Search | None:
    """What is asked of a container; None where the gas never has the pressure that the regulator needs."""
    cold = cold_day(build, container(build))
    return Search(build, cold.rig, asked(build)) if cold is not None else None


def _first(question: Search | None) -> str | None:
    """The container that comes first, in words; None where none fits."""
    found = question.answer() if question is not None else None
    return found.words if found is not None else None


def anything(build: Build) -> Picked:
    """Something for every open key, before anything is known: the first kind that is listed, the usual pressure."""
    here = region(build.spec.region)
    kinds = [k for k in catalog.trade(here.practice.containers) if catalog.container_kind(k).water_capacity is not None]
    kind = catalog.container_kind(kinds[0])
    spec = build.spec
    some = Set(kind.id, spec.container.number, spec.container.manifold, kind.orientation[0])
    return Picked(
        some if "container" in build.open else None,
        wanted(build) if "regulator" in build.open else None,
        Pipes(*usual(here.practice, setting(build))) if "tubing" in build.open else None,
    )


# --- connectors -------------------------------------------------------------------------------------------------------


class ConnectorChoice(Choice, frozen=True):
    """The least of what joins one appliance, connector and valve: its rating and its size, never below the appliance's own
    inlet. `words` say what to ask for."""

    name: str
    size: str | None
    words: str


def connector(s: Served) -> ConnectorChoice:
    """What joins one appliance at the least."""
    reasons = []
    size = s.appliance.inlet_thread
    if size is None:
        text = f"The inlet of {s.appliance.name} is not stated: its connector and its valve are never smaller."
        reasons.append(Why("size-open", text, open=True))
    at = size or "the size of its inlet"
    return ConnectorChoice(
        id=s.id,
        fits=fits(reasons),
        why_not=tuple(reasons),
        figures={"rating": Figure(s.load, "W", "computed"), "gas": Figure(s.mass, "kg/s", "computed")},
        sources=(),
        name=s.appliance.name,
        size=size,
        words=f"a shut-off valve and a connector, or a rigid tail, both of {at} or larger",
    )
