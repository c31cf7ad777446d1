"""The hose between a regulator and its line: what it takes of the pressure."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Annotated, Literal

from gasdoc.build.model import Hose
from gasdoc.engineering.constants import INCH_OF_WATER
from gasdoc.engineering.supply import fittings, lpg, network
from gasdoc.engineering.supply.tree import Tree
from gasdoc.quantities import Known, Metre, Pascal
from gasdoc.study.facts import Installation, fuel, heating_value, rated_capacity
from gasdoc.study.supply.capacity import GAS_TEMPERATURE
from gasdoc.study.supply.lines import HoseDrop, Zone

RATED_DROP: Annotated[
    Pascal, Known("drop at which appliance connectors are rated: 0.5 inH2O", "From memory", "memory")
] = 0.5 * INCH_OF_WATER
"""A hose is taken to be rated in the same way."""

SMOOTH: Annotated[Metre, Known("roughness inside a hose: as smooth as drawn tubing", "Our choice", "practice")] = 1.5e-6


def head_of(build: Installation, zone: Zone, air: float) -> network.Head | None:
    """The hose behind a zone's regulator as the solver sees it; None where there is none or nothing is known of its drop.
    `air` in Pa absolute."""
    hose = zone.regulator.hose
    laws = () if hose is None else tuple(law for _, law in _laws(build, zone, hose, air))
    if not laws:
        return None
    return network.Head(lambda load: max(law(load) for law in laws), zone.load - sum(zone.tree.load))


def _laws(
    build: Installation, zone: Zone, hose: Hose, air: float
) -> Iterator[tuple[Literal["capacity", "bore"], Callable[[float], float]]]:
    """The drops of squared pressure by the load (W): by its rating, and by its bore as of smooth tubing. Where both are
    stated the larger counts."""
    source = float(zone.regulator.outlet)
    if (rated := rated_capacity(hose, heating_value(build))) is not None:
        yield (
            "capacity",
            lambda load: network.low_pressure_squared(fittings.connector_drop(load, rated, RATED_DROP), source),
        )
    if hose.bore is None:
        return
    alone = network.Network(
        tree=Tree((-1,), (float(hose.length),), (0.0,)),
        pipes=(network.Pipe(float(hose.bore), SMOOTH),),
        rise=(0.0,),
        source_gauge=source,
        atmosphere_absolute=air,
        gas=lpg.gas(fuel(build), GAS_TEMPERATURE, source + air),
        heating_value=heating_value(build),
    )
    yield "bore", lambda load: network.larger(alone, 0, load) if load > 0.0 else 0.0


def hose_drop(build: Installation, zone: Zone, solver: network.Network) -> HoseDrop | None:
    """What the hose of a zone takes with everything on; None where there is no hose."""
    hose = zone.regulator.hose
    if hose is None:
        return None
    before, air = solver.source_absolute, solver.atmosphere_absolute
    drops = {
        basis: before - math.sqrt(max(before * before - law(zone.load), air * air))
        for basis, law in _laws(build, zone, hose, air)
    }
    by = max(drops, key=lambda basis: drops[basis], default=None)
    return HoseDrop(
        hose,
        zone.load,
        rated_capacity(hose, heating_value(build)),
        by,
        drops[by] if by is not None else None,
        min(drops.values()) if len(drops) == 2 else None,
    )
