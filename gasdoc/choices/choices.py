"""All choices of a build, and whole designs made of them: what `gasdoc choose` prints, and what fills in a plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

from msgspec import Struct

from gasdoc.build.reader import Build
from gasdoc.catalog import containers as catalog
from gasdoc.choices.asked import asked, wishes
from gasdoc.choices.assumed import Assumed, Burning, assumed, burning, with_assumed
from gasdoc.choices.changes import Search
from gasdoc.choices.connectors import ConnectorChoice, connector
from gasdoc.choices.containers import ContainerChoice, containers
from gasdoc.choices.designs import Design, Offered, designs
from gasdoc.choices.filled import Picked, Pipes, Set, fill
from gasdoc.choices.regulator import RegulatorChoice, regulator, wanted
from gasdoc.choices.tubing import TubingChoice, tubings
from gasdoc.regions.region import UnknownRegion, region
from gasdoc.study.container.cold_day import cold_day
from gasdoc.study.container.holding import container
from gasdoc.study.facts import Installation, setting
from gasdoc.study.materials.own_files import NOTHING, Own
from gasdoc.study.materials.permitted import usual
from gasdoc.study.materials.price_list import price_list
from gasdoc.study.supply.names import resolve

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
