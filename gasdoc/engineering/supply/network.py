"""Pressures in one zone of a supply tree, for any set of appliances in use; and how much room it has left.

Every segment costs a drop of squared absolute pressure that depends on its flow alone, so pressures follow from the
source outwards in one pass. A rise is counted as 2 p (rho_gas - rho_air) g h with the source's p and gas density,
which keeps that property (it overstates the loss by the share of absolute pressure already dropped: 0.1 % at 11 in.
w.c.). Air pressure is that at the source; gauge pressures are against the air at the same height.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.engineering.supply import capacity, flow
from gasdoc.engineering.supply.lpg import Gas
from gasdoc.engineering.supply.tree import Tree, path

OwnDrop = Callable[[float, float], float]
"""A segment's own law: (load in W, length in m with extra) -> p1^2 - p2^2 in Pa2."""


class Pipe(Struct, frozen=True):
    """What a segment is made of: `bore` and `roughness` in m, `extra` the equivalent length of its fittings in m.

    `own` replaces every law for this segment (corrugated tubing, a connector); its bore then serves for speed only.
    """

    bore: float
    roughness: float
    extra: float = 0.0
    own: OwnDrop | None = None


class Head(Struct, frozen=True):
    """What all gas passes before the first segments, a hose: `law` gives p1^2 - p2^2 in Pa2 for a load in W. `beside` is the
    load in W that passes it and no segment."""

    law: Callable[[float], float]
    beside: float = 0.0


class Network(Struct, frozen=True):
    """A tree with its pipes and its gas: all that is needed for pressures but the loads in use.

    `rise[i]` is how far the end of segment `i` lies above its start, in m. `gas` is at the source's pressure;
    `heating_value` in J/kg turns loads into mass flow. Raises ValueError when the parts do not fit together.
    """

    tree: Tree
    pipes: tuple[Pipe, ...]
    rise: tuple[float, ...]
    source_gauge: float
    atmosphere_absolute: float
    gas: Gas
    heating_value: float
    head: Head | None = None

    def __post_init__(self) -> None:
        if not len(self.tree) == len(self.pipes) == len(self.rise):
            raise ValueError("tree, pipes and rise must be equally long")
        if not (self.source_gauge >= 0.0 and self.atmosphere_absolute > 0.0 and self.heating_value > 0.0):
            raise ValueError("the source pressure must not be negative. Atmosphere and heating value must be positive")

    @property
    def source_absolute(self) -> float:
        """Pa absolute."""
        return self.source_gauge + self.atmosphere_absolute


# --- laws -----------------------------------------------------------------------------------------------------------

Law = Callable[[Network, int, float], float]
"""(zone, segment, load carried in W) -> p1^2 - p2^2 of that segment in Pa2, friction only."""


def darcy(zone: Network, segment: int, load: float) -> float:
    """Darcy-Weisbach with Colebrook-White friction (see `flow`), or the segment's own law.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> round(darcy(zone, 0, 9e3) / (2 * zone.source_absolute))
    20
    """
    pipe = zone.pipes[segment]
    length = zone.tree.length[segment] + pipe.extra
    if pipe.own is not None:
        return pipe.own(load, length)
    return flow.squared_drop(load / zone.heating_value, pipe.bore, length, pipe.roughness, zone.gas)


def code(zone: Network, segment: int, load: float) -> float:
    """The fuel gas codes' equation for the zone's pressure (see `capacity`), or the segment's own law.

    The low-pressure equation gives a plain drop; it is turned into a squared one at the codes' own atmosphere, for
    which the equation was made. At altitude the same squared drop takes more pressure, as it does in the pipe.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> drop = capacity.low_pressure_drop(9e3, 0.0109, 5.0)
    >>> round(code(zone, 0, 9e3) / low_pressure_squared(drop, 2740.0), 9)
    1.0
    """
    pipe = zone.pipes[segment]
    length = zone.tree.length[segment] + pipe.extra
    if pipe.own is not None:
        return pipe.own(load, length)
    if length == 0.0:
        return 0.0
    if zone.source_gauge < capacity.LOW_PRESSURE_LIMIT:
        return low_pressure_squared(capacity.low_pressure_drop(load, pipe.bore, length), zone.source_gauge)
    return capacity.high_pressure_squared_drop(load, pipe.bore, length)


def larger(zone: Network, segment: int, load: float) -> float:
    """The larger drop of the two laws, segment by segment: the careful choice where they differ.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> larger(zone, 0, 9e3) == max(darcy(zone, 0, 9e3), code(zone, 0, 9e3))
    True
    """
    drop = darcy(zone, segment, load)
    return drop if zone.pipes[segment].own is not None else max(drop, code(zone, segment, load))


def low_pressure_squared(drop: float, inlet_gauge: float) -> float:
    """A plain drop (Pa) published for sea level and an inlet pressure (Pa gauge), as p1^2 - p2^2 in Pa2: 2 p1 x drop.

    For the table drop of corrugated tubing and the rated drop of a connector: published figures assume 14.7 psi of
    air. The law is of the flow alone, so the squared drop holds at any altitude. Taking p1 throughout overstates the
    drop by half its share of the absolute pressure, 0.06 % at 0.5 in. w.c., and keeps it proportional to length.

    >>> round(low_pressure_squared(125.0, 0.0) / capacity.ATMOSPHERE, 3)
    250.0
    """
    return 2.0 * drop * (inlet_gauge + capacity.ATMOSPHERE)


# --- pressures ------------------------------------------------------------------------------------------------------


class Solution(Struct, frozen=True):
    """Per segment, in the order of the tree: `gauge` (Pa) at its downstream end, `drop` (Pa) along it with its rise,
    `carried` (W), `speed` (m/s) at its downstream end, `re` and `regime` (None without flow or with an own law).

    Where no pressure above the air is left, the segment and all behind it stand in `starved`, and their gauge is 0.0: the
    loads asked for cannot flow, so nothing else about those segments means anything.
    """

    gauge: tuple[float, ...]
    drop: tuple[float, ...]
    carried: tuple[float, ...]
    speed: tuple[float, ...]
    re: tuple[float, ...]
    regime: tuple[flow.Regime | None, ...]
    starved: tuple[int, ...]


def _carried(parent: Sequence[int], loads: Sequence[float]) -> list[float]:
    total = list(loads)
    for i in range(len(total) - 1, -1, -1):
        if parent[i] >= 0:
            total[parent[i]] += total[i]
    return total


def rise_squares(zone: Network) -> tuple[float, ...]:
    """What each segment's rise takes from the squared absolute pressure, in Pa2 (negative: gives), whatever its size.

    Add it to a law's drop for all that a segment costs, as `leastcost.Option` wants it.

    A fall gives back what a rise takes.
    >>> tree = Tree((-1, 0), (3.0, 3.0), (0.0, 9e3))
    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(tree, (Pipe(0.0109, 1.5e-6),) * 2, (2.0, -2.0), 2740.0, air, gas, 50e6)
    >>> sum(rise_squares(zone))
    0.0
    """
    per_metre = 2.0 * zone.source_absolute * flow.rise_loss(1.0, zone.gas, zone.atmosphere_absolute)
    return tuple(per_metre * rise for rise in zone.rise)


def _squares(zone: Network, carried: Sequence[float], law: Law) -> list[float]:
    """The squared absolute pressure at the end of each segment, in Pa2; nonsense (even negative) where starved."""
    drops = [law(zone, i, load) for i, load in enumerate(carried)]
    return _down(zone, _begin(zone, carried), drops, rise_squares(zone))


def _begin(zone: Network, carried: Sequence[float], more: float = 0.0) -> float:
    """The squared absolute pressure in Pa2 where the first segments begin, with `more` W besides what is `carried`."""
    source = zone.source_absolute**2
    if zone.head is None:
        return source
    own = sum(load for parent, load in zip(zone.tree.parent, carried, strict=True) if parent < 0)
    return source - zone.head.law(own + zone.head.beside + more)


def behind_head(zone: Network, loads: Sequence[float] | None = None) -> float:
    """The gauge pressure in Pa where the first segments begin; 0.0 where none is left. `loads` as in `pressures`.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((), (), ()), (), (), 2740.0, air, gas, 50e6, Head(lambda load: 4e3 * load, 10.0))
    >>> 2740.0 - behind_head(zone) > 4e4 / (2 * 104_065.0)
    True
    """
    if zone.head is None:
        return zone.source_gauge
    carried = _carried(zone.tree.parent, zone.tree.load if loads is None else loads)
    air = zone.atmosphere_absolute
    return math.sqrt(max(_begin(zone, carried), air * air)) - air


def _down(zone: Network, source: float, drops: Sequence[float], rises: Sequence[float]) -> list[float]:
    """The same, from the squared pressure at the beginning and what friction and rise take in each segment."""
    squares: list[float] = []
    for parent, drop, rise in zip(zone.tree.parent, drops, rises, strict=True):
        upstream = squares[parent] if parent >= 0 else source
        squares.append(upstream - drop - rise)
    return squares


def pressures(zone: Network, loads: Sequence[float] | None = None, law: Law = darcy) -> tuple[float, ...]:
    """The gauge pressure in Pa at each segment's downstream end; 0.0 where starved (see `Solution`).

    `loads` in W per segment are those in use, by default all of the tree's.

    Without flow the pressure at the end of a level line is the source's.
    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> round(pressures(zone, (0.0,))[0], 6), pressures(zone)[0] < 2740.0
    (2740.0, True)
    """
    air = zone.atmosphere_absolute
    gauge: list[float] = []
    squares = _squares(zone, _carried(zone.tree.parent, zone.tree.load if loads is None else loads), law)
    for parent, square in zip(zone.tree.parent, squares, strict=True):
        fed = parent < 0 or gauge[parent] > 0.0
        gauge.append(math.sqrt(square) - air if fed and square > air * air else 0.0)
    return tuple(gauge)


def solve(zone: Network, loads: Sequence[float] | None = None, law: Law = darcy) -> Solution:
    """Pressures and flow in every segment with `loads` (W per segment) in use, by default all of the tree's.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> solve(zone).carried, solve(zone).starved
    ((9000.0,), ())
    """
    parent = zone.tree.parent
    carried = _carried(parent, zone.tree.load if loads is None else loads)
    gauge = pressures(zone, loads, law)
    begin = behind_head(zone, loads)
    drop = tuple((gauge[parent[i]] if parent[i] >= 0 else begin) - gauge[i] for i in range(len(gauge)))
    speed: list[float] = []
    re: list[float] = []
    regime: list[flow.Regime | None] = []
    for pipe, load, end in zip(zone.pipes, carried, gauge, strict=True):
        mass = load / zone.heating_value
        density = (end + zone.atmosphere_absolute) / zone.gas.pressure_per_density
        re.append(flow.reynolds(mass, pipe.bore, zone.gas.viscosity))
        speed.append(flow.speed(mass, pipe.bore, density))
        regime.append(flow.regime(re[-1]) if mass > 0.0 and pipe.own is None else None)
    starved = tuple(i for i, end in enumerate(gauge) if end == 0.0)
    return Solution(gauge, drop, tuple(carried), tuple(speed), tuple(re), tuple(regime), starved)


def fed(zone: Network, source_gauge: float) -> Network:
    """The zone at another source pressure (Pa gauge). The gas's density follows; its Z hardly moves within a regulator's
    range.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> fed(zone, 3000.0).gas.absolute
    104325.0
    """
    absolute = source_gauge + zone.atmosphere_absolute
    gas = replace(zone.gas, absolute=absolute, density=absolute / zone.gas.pressure_per_density)
    return replace(zone, source_gauge=source_gauge, gas=gas)


# --- margins --------------------------------------------------------------------------------------------------------

_DOUBLINGS = 60
_HALVINGS = 60


class Margin(Struct, frozen=True):
    """How much more of something fits (`value`), and the outlet that then stands at its minimum (`outlet`).

    `reason` is "already-below" (value 0.0, `outlet` the one farthest below its minimum), "unlimited" (value infinite)
    or None.
    """

    value: float
    outlet: int | None
    reason: str | None


def _needs(zone: Network, minimum: Sequence[float | None]) -> list[tuple[int, float]]:
    """(segment, squared absolute pressure it needs): its minimum, or the air's pressure for a load without one."""
    air = zone.atmosphere_absolute
    return [
        (i, ((least or 0.0) + air) ** 2)
        for i, least in enumerate(minimum)
        if least is not None or zone.tree.load[i] > 0.0
    ]


def _worst(squares: Sequence[float], needs: Sequence[tuple[int, float]]) -> tuple[float, int | None]:
    """(room in Pa2, outlet) of the outlet that has least; the first of equals."""
    worst: tuple[float, int | None] = (math.inf, None)
    for i, need in needs:
        if squares[i] - need < worst[0]:
            worst = (squares[i] - need, i)
    return worst


def load_margin(zone: Network, minimum: Sequence[float | None], segment: int, law: Law = darcy) -> Margin:
    """How much more load (W) the end of `segment` could take before some appliance falls below its minimum.

    All other loads are in use; `minimum` in Pa gauge per segment. Bisection, a fixed number of steps; on the low side.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> more = load_margin(zone, (2700.0,), 0).value
    >>> round(pressures(zone, (9e3 + more,))[0], 3)
    2700.0
    """
    needs = _needs(zone, minimum)
    carried = _carried(zone.tree.parent, zone.tree.load)
    drops, rises, way = (
        [law(zone, i, load) for i, load in enumerate(carried)],
        rise_squares(zone),
        path(zone.tree, segment),
    )

    def worst_with(extra: float) -> tuple[float, int | None]:
        more = list(drops)
        for i in way:  # the others carry what they carried
            more[i] = law(zone, i, carried[i] + extra)
        return _worst(_down(zone, _begin(zone, carried, extra), more, rises), needs)

    room, outlet = worst_with(0.0)
    if room < 0.0:
        return Margin(0.0, outlet, "already-below")
    low, high = 0.0, max(1.0, sum(zone.tree.load))
    for _ in range(_DOUBLINGS):
        if worst_with(high)[0] < 0.0:
            break
        low, high = high, 2.0 * high
    else:
        return Margin(math.inf, None, "unlimited")
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        if worst_with(middle)[0] < 0.0:
            high = middle
        else:
            low = middle
    return Margin(low, worst_with(high)[1], None)


def length_margin(zone: Network, minimum: Sequence[float | None], segment: int, law: Law = darcy) -> Margin:
    """How much longer (m) `segment` could be, on the level, before an appliance behind it falls below its minimum.

    Exact: every law is proportional to length or does not depend on it.

    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(Tree((-1,), (5.0,), (9e3,)), (Pipe(0.0109, 1.5e-6),), (0.0,), 2740.0, air, gas, 50e6)
    >>> longer = Tree((-1,), (5.0 + length_margin(zone, (2700.0,), 0).value,), (9e3,))
    >>> round(pressures(replace(zone, tree=longer))[0], 3)
    2700.0
    """
    carried = _carried(zone.tree.parent, zone.tree.load)
    squares = _squares(zone, carried, law)
    behind = [False] * len(zone.tree)
    for i, parent in enumerate(zone.tree.parent):
        behind[i] = i == segment or (parent >= 0 and behind[parent])
    needs = _needs(zone, minimum)
    room, outlet = _worst(squares, needs)
    if room < 0.0:
        return Margin(0.0, outlet, "already-below")
    room, outlet = _worst(squares, [(i, need) for i, need in needs if behind[i]])
    length = zone.tree.length
    longer = replace(zone.tree, length=(*length[:segment], length[segment] + 1.0, *length[segment + 1 :]))
    per_metre = law(replace(zone, tree=longer), segment, carried[segment]) - law(zone, segment, carried[segment])
    if per_metre <= 0.0 or outlet is None:
        return Margin(math.inf, None, "unlimited")
    return Margin(room / per_metre, outlet, None)


class Upsize(Struct, frozen=True):
    """The `segment` to enlarge first, and what that gains (Pa gauge) at the outlet that has least room now."""

    segment: int
    outlet: int
    gain: float


def upsize_first(
    zone: Network, minimum: Sequence[float | None], next_larger: Sequence[Pipe | None], law: Law = darcy
) -> Upsize | None:
    """Which one segment, made one size larger, raises the pressure most at the outlet that has least room.

    `next_larger[i]` is segment `i` in its next size, None where there is none. Of equals, the one nearest the source.
    None when no segment on the way to that outlet gains anything. `gain` is 0.0 when the outlet stays starved.

    >>> narrow, wide = Pipe(0.0077, 1.5e-6), Pipe(0.0109, 1.5e-6)
    >>> tree = Tree((-1, 0), (9.0, 1.0), (0.0, 9e3))
    >>> air, gas = 101_325.0, Gas(288.15, 104_065.0, 1.92, 8e-6)
    >>> zone = Network(tree, (narrow, narrow), (0.0, 0.0), 2740.0, air, gas, 50e6)
    >>> upsize_first(zone, (None, 2700.0), (wide, wide)).segment
    0
    """
    carried = _carried(zone.tree.parent, zone.tree.load)
    squares = _squares(zone, carried, law)
    outlet = _worst(squares, _needs(zone, minimum))[1]
    if outlet is None:
        return None
    enlarged = replace(
        zone, pipes=tuple(new if new is not None else old for new, old in zip(next_larger, zone.pipes, strict=True))
    )
    best, gain = -1, 0.0
    for i in path(zone.tree, outlet):
        saved = law(zone, i, carried[i]) - law(enlarged, i, carried[i])
        if saved > gain:
            best, gain = i, saved
    if best < 0:
        return None
    floor = zone.atmosphere_absolute**2
    return Upsize(best, outlet, math.sqrt(max(squares[outlet] + gain, floor)) - math.sqrt(max(squares[outlet], floor)))
