"""The hose between a regulator and its line: what it takes of the pressure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Literal

from gasdoc.build.model import Hose
from gasdoc.engineering.constants import INCH_OF_WATER
from gasdoc.engineering.supply import fittings, lpg, network
from gasdoc.engineering.supply.tree import Tree
from gasdoc.quantities import Known, Metre, Pascal
from gasdoc.study.facts import Installation, fuel, heating_value
from gasdoc.study.supply.capacity import GAS_TEMPERATURE
from gasdoc.study.supply.lines import HoseDrop, Zone, rated_capacity

RATED_DROP: Annotated[
    Pascal, Known("drop at which appliance connectors are rated: 0.5 inH2O", "From memory", "memory")
] = 0.5 * INCH_OF_WATER
"""A hose is taken to be rated in the same way."""

SMOOTH: Annotated[Metre, Known("roughness inside a hose: as smooth as drawn tubing", "Our choice", "practice")] = 1.5e-6


def head_of(build: Installation, zone: Zone, air: float) -> network.Head | None:
    """The hose behind a zone's regulator as the solver sees it; None where there is none or nothing is known of its drop.
    `air` in Pa absolute."""
    hose = zone.regulator.hose
    law = None if hose is None else _law(build, zone, hose, air)
    return None if law is None else network.Head(law, zone.load - sum(zone.tree.load))


def _law(build: Installation, zone: Zone, hose: Hose, air: float) -> Callable[[float], float] | None:
    """The drop of squared pressure by the load (W): from its rating, else from its bore as of smooth tubing."""
    source = float(zone.regulator.outlet)
    if (rated := rated_capacity(hose, heating_value(build))) is not None:
        return lambda load: network.low_pressure_squared(fittings.connector_drop(load, rated, RATED_DROP), source)
    if hose.bore is None:
        return None
    alone = network.Network(
        tree=Tree((-1,), (float(hose.length),), (0.0,)),
        pipes=(network.Pipe(float(hose.bore), SMOOTH),),
        rise=(0.0,),
        source_gauge=source,
        atmosphere_absolute=air,
        gas=lpg.gas(fuel(build), GAS_TEMPERATURE, source + air),
        heating_value=heating_value(build),
    )
    return lambda load: network.larger(alone, 0, load) if load > 0.0 else 0.0


def hose_drop(build: Installation, zone: Zone, solver: network.Network) -> HoseDrop | None:
    """What the hose of a zone takes with everything on; None where there is no hose."""
    hose = zone.regulator.hose
    if hose is None:
        return None
    drop = solver.source_gauge - network.behind_head(solver) if solver.head is not None else None
    by: Literal["capacity", "bore"] = "capacity" if hose.capacity is not None else "bore"
    return HoseDrop(hose, zone.load, rated_capacity(hose, heating_value(build)), by if drop is not None else None, drop)
