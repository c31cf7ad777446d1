"""Trees, sizes and prices for tests and benchmarks, made up (no source), and the same tree for another solver."""

from __future__ import annotations

import math
import random
from typing import Any

from gasdoc.engineering.materials.least_cost import Option
from gasdoc.engineering.supply import flow, lpg
from gasdoc.engineering.supply.network import Network, Pipe
from gasdoc.engineering.supply.tree import Tree, carried

SOURCE_GAUGE = 2740.0  # Pa, 11 in. w.c.
TEMPERATURE = 288.15  # K
AIR = 101325.0  # Pa absolute
ROUGHNESS = 1.5e-6  # m, drawn tube (common textbook figure)
BORES = (0.0080, 0.0109, 0.0138, 0.0169, 0.0199, 0.0260, 0.0321, 0.0382, 0.0504, 0.0620, 0.0750, 0.0900)  # m


def made_up_zone(rng: random.Random, count: int, load: tuple[float, float] = (8e3, 30e3)) -> Network:
    """A tree of `count` segments whose ends burn between the two loads (W), in bores that keep Re at 3,000 or more."""
    parent = [-1, *(rng.randrange(max(0, i - 4), i) for i in range(1, count))]
    inner = set(parent)
    loads = tuple(0.0 if i in inner else rng.uniform(*load) for i in range(count))
    tree = Tree(tuple(parent), tuple(rng.uniform(0.5, 4.0) for _ in range(count)), loads)
    gas = lpg.gas(lpg.PROPANE, TEMPERATURE, AIR + SOURCE_GAUGE)
    heat = lpg.gross_heating_value(lpg.PROPANE)
    pipes = []
    for total in carried(tree):
        wide = 4.0 * total / heat / (math.pi * gas.viscosity * 3000.0)
        pipes.append(Pipe(min(wide, rng.choice(BORES[2:6])), ROUGHNESS, rng.uniform(0.0, 1.0)))
    return Network(tree, tuple(pipes), (0.0,) * count, SOURCE_GAUGE, AIR, gas, heat)


def made_up_options(rng: random.Random, zone: Network, sizes: int) -> list[list[Option]]:
    """Each segment in `sizes` bores, priced by length and bore with some scatter."""
    prices = [rng.uniform(0.8, 1.2) * 30000.0 * bore**1.3 for bore in BORES[:sizes]]
    options = []
    for length, total in zip(zone.tree.length, carried(zone.tree), strict=True):
        mass = total / zone.heating_value
        options.append(
            [
                Option(flow.squared_drop(mass, bore, length, ROUGHNESS, zone.gas), round(length * price))
                for bore, price in zip(BORES, prices, strict=False)
            ]
        )
    return options


def pandapipes_net(zone: Network) -> Any:
    """The zone as a pandapipes net: gauge pressures; its gas is ideal and given at 0 degC and 1.01325 bar, so ours is
    scaled back to that."""
    import pandapipes

    ratio = zone.gas.pressure_per_density  # J/kg, held by the net as p / rho at the gas's temperature
    normal = 101325.0 / (ratio * 273.15 / zone.gas.temperature)
    net = pandapipes.create_empty_network(fluid=None)
    net["fluid"] = pandapipes.create_constant_fluid(
        "made up",
        "gas",
        density=normal,
        viscosity=zone.gas.viscosity,
        heat_capacity=1650.0,
        molar_mass=44.1,
        compressibility=1.0,
        der_compressibility=0.0,
    )
    source = pandapipes.create_junction(net, pn_bar=0.03, tfluid_k=zone.gas.temperature)
    pandapipes.create_ext_grid(net, source, p_bar=zone.source_gauge / 1e5, t_k=zone.gas.temperature)
    ends: list[int] = []
    for parent, length, load, pipe in zip(zone.tree.parent, zone.tree.length, zone.tree.load, zone.pipes, strict=True):
        end = pandapipes.create_junction(net, pn_bar=0.03, tfluid_k=zone.gas.temperature)
        pandapipes.create_pipe_from_parameters(
            net,
            ends[parent] if parent >= 0 else source,
            end,
            length_km=(length + pipe.extra) / 1000.0,
            inner_diameter_mm=pipe.bore * 1000.0,
            k_mm=pipe.roughness * 1000.0,
        )
        if load > 0.0:
            pandapipes.create_sink(net, end, mdot_kg_per_s=load / zone.heating_value)
        ends.append(end)
    return net
