"""A day in the cold: the build's own use against what its container boils off, at any air temperature and fill.

Heat comes in at one of three ends (`Heat`): by air that moves a little, by that less its uncertainty, or by still air. A
locker has still air. Elsewhere a day is told with moving air, and a still night beside it; days on end are counted with the
uncertainty taken off, since air seldom stands still for a week.

The day begins at noon, so that a night is in one piece, with everything as warm as the air. `Rig` answers for any air and
fill; a study runs it at the coldest air only, pages and JSON ask it for the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Annotated, Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.model import Regulator
from gasdoc.catalog.appliances import day
from gasdoc.catalog.regulators import regulators
from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container import cold_day as model
from gasdoc.engineering.container import still_air, vaporisation
from gasdoc.engineering.container.burning import Period, in_parallel
from gasdoc.engineering.container.cold_day import Setup
from gasdoc.engineering.container.vaporisation import UNCERTAINTY, GasRate, Manifold
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import Fuel
from gasdoc.quantities import Aside, Joule, Kelvin, Kilogram, Pascal, Ratio, Second, Shown, Watt
from gasdoc.study.container.draw_off import DrawTable, draw_table
from gasdoc.study.container.holding import Container, Shape
from gasdoc.study.facts import Installation, Served, fuel, is_first_stage, moves

NOON = DAY / 2
"""s after midnight at which the simulated day begins."""

FILLS = (1.0, 0.5, 0.2)
"""Shares of a full container at which a study looks at the coldest day: full, half full, one fifth full."""


GRID_FILLS = (1.0, 0.75, 0.5, 0.35, 0.2)
"""Shares of a full container in the table of fill and air."""

COARSE = 1200.0
"""s: step of the search for the largest load. Under a constant load it agrees with the fine step (a test says how well)."""

SPARE_HALVINGS = 6
"""How often the search for the load beside a day's own use halves what is left: to 1.6 % of where it began."""

SAMPLE = 1200.0
"""s between the points of a trace."""

UNCERTAIN = (
    "The model is uncertain by tens of percent: two published methods differ by a third among themselves. Wind, wet and paint "
    "are not in it. The calculation leaves out sun and frost on the container."
)

Heat = Literal["moving", "less", "still"]
"""How heat comes in: by the published coefficient, for air that moves; by that less UNCERTAINTY; by still air."""

HEAT_WORDS: dict[Heat, str] = {
    "moving": "air that moves a little",
    "less": f"air that moves a little, less {UNCERTAINTY * 100:.0f} % of its heat",
    "still": "still air",
}
"""The ends in words."""

STILL_SOURCE = "natural convection by Churchill and Chu (1975), and radiation"
"""Where the coefficient of still air is from."""

Limit = Literal["boil-off", "gas left", "trade's table"]
"""What limits a load: the heat that comes in, the gas that is there, or the trade's table for European cylinders."""


class PressureNeed(Struct, frozen=True):
    """The pressure the container has to have, Pa gauge: the first regulator's lowest inlet plus an allowance.

    `absolute` and `air_absolute` are what the methods take. `floor` K is the coldest liquid that has that pressure.
    """

    inlet: Pascal
    allowance: Pascal
    gauge: Pascal
    absolute: Pascal
    air_absolute: Pascal
    floor: Kelvin
    stated: bool


class BurnTime(Struct, frozen=True):
    """A stretch of one appliance's day: `start` and `length` in s, from midnight; it may run past midnight. `load` in W."""

    outlet: str
    name: str
    start: Second
    length: Second
    load: Watt


class SimulatedDay(Struct, frozen=True):
    """A day at one air temperature (K) and fill (share of a full container).

    `short_from` is in s after noon: when pressure or liquid first was not enough; None if never. `changed` is when a
    changeover first went on to the next container. `lowest_gauge` Pa is the lowest pressure of the day. `trace` holds (s
    after noon, Pa gauge) of the container that feeds.
    """

    air: Kelvin
    fill: Ratio
    short_from: Second | None
    reason: Literal["pressure", "empty"] | None
    changed: Second | None
    lowest_gauge: Pascal
    trace: Annotated[tuple[tuple[float, float], ...], Aside("the curve of the drawing, point by point")]

    @property
    def enough(self) -> Shown[bool]:
        """Whether it lasts the day."""
        return self.short_from is None


class Cell(Struct, frozen=True):
    """One air temperature (K) and fill: `short_from` s after noon and `reason` as in a Run; None where it lasts."""

    air: Kelvin
    fill: Ratio
    short_from: Second | None
    reason: Literal["pressure", "empty"] | None

    @property
    def enough(self) -> Shown[bool]:
        """Whether it lasts the day."""
        return self.short_from is None


class Rig(Struct, frozen=True):
    """What a day is worked out from: equal containers, how they are joined, what they must give, and the day's use.

    `locker`: they stand in one, in still air. `uninterrupted` W is what the trade's table gives one without interruption,
    None where it has no row.
    """

    shape: Annotated[Shape, Aside("stands in `container`")]
    gas: Fuel
    full_mass: Kilogram
    number: int
    manifold: Manifold
    need: PressureNeed
    periods: tuple[Period, ...]
    locker: bool = False
    uninterrupted: Watt | None = None

    @property
    def stated(self) -> Shown[Heat]:
        """The end a day is told with."""
        return "still" if self.locker else "moving"

    @property
    def careful(self) -> Shown[Heat]:
        """The end that days on end, and kinds that would serve, are counted with."""
        return "still" if self.locker else "less"

    @property
    def feeding(self) -> int:
        """How many containers feed at a time."""
        return vaporisation.feeding(self.number, self.manifold)

    @property
    def sides(self) -> int:
        """How many feed one after another: containers, or banks of them."""
        return vaporisation.sides(self.number, self.manifold)

    @property
    def heaviest(self) -> Shown[Watt]:
        """The largest load of the day, W."""
        starts = [p.start for p in self.periods]
        return max((sum(p.load for p in self.periods if p.start <= t < p.end) for t in starts), default=0.0)

    @property
    def heating(self) -> float:
        """Gross heat of the gas, J/kg."""
        return lpg.gross_heating_value(self.gas)

    @property
    def energy(self) -> Shown[Joule]:
        """What the day takes, J."""
        return sum(p.load * (p.end - p.start) for p in self.periods)

    def joined(self, number: int, manifold: Manifold) -> Rig:
        """The same with another number of containers."""
        return replace(self, number=number, manifold=manifold)

    def coefficient(self, air: float, heat: Heat) -> float:
        """The heat that comes in, W/(m2 K) of wetted skin, held under every published method that applies."""
        return _coefficient(self.shape, self.gas, self.full_mass, self.need, air, heat)

    def setup(self, air: float, fill: float, heat: Heat) -> Setup:
        """The start of a day."""
        return Setup(
            self.shape.vessel,
            self.coefficient(air, heat),
            self.shape.light,
            self.full_mass * fill,
            self.gas,
            air,
            self.need.absolute,
            self.need.air_absolute,
        )

    def run(self, air: float, fill: float) -> SimulatedDay:
        """The day in air at `air` K, every container filled to the share `fill` of full at its beginning."""
        return _run(self, air, fill)

    def short(self, air: float, fill: float, heat: Heat | None = None) -> Cell:
        """When such a day first falls short, worked out no further than that; with the stated end where none is named."""
        return _shortage(self, air, fill, heat or self.stated)

    def largest(self, air: float, fill: float) -> float:
        """The largest load, W, all feeding containers carry together without a break for 24 hours; no more than the trade's
        table gives."""
        balance = _largest_of_one(self, air, fill)
        return self.feeding * (balance if self.uninterrupted is None else min(balance, self.uninterrupted))

    def limit(self, air: float, fill: float) -> Limit:
        """What limits that load."""
        balance = _largest_of_one(self, air, fill)
        if self.uninterrupted is not None and self.uninterrupted < balance:
            return "trade's table"
        contents = self.full_mass * fill * self.heating / DAY
        return "gas left" if balance > contents * 0.99 else "boil-off"

    def supply(self, air: float, fill: float) -> GasRate:
        """What they give at a moment by every method that applies, their liquid as cold as may be."""
        mass = self.full_mass * fill
        coefficient = _still(self.shape, self.need, air) if self.locker else vaporisation.COEFFICIENT
        return vaporisation.supply(
            self.shape.supplying, mass, self.gas, air, self.need.absolute, self.number, self.manifold, coefficient
        )


def _still(shape: Shape, need: PressureNeed, air: float) -> float:
    """U of still air, the liquid as cold as may be: the state a day falls short in."""
    return still_air.coefficient(shape.vessel, air, min(need.floor, air), need.air_absolute)


@lru_cache(maxsize=1024)
def _coefficient(shape: Shape, gas: Fuel, full_mass: float, need: PressureNeed, air: float, heat: Heat) -> float:
    base = min(_still(shape, need, air), vaporisation.COEFFICIENT) if heat == "still" else vaporisation.COEFFICIENT
    coefficient = vaporisation.limited_coefficient(shape.supplying, full_mass, gas, air, need.absolute, base)
    return coefficient * (1 - UNCERTAINTY) if heat == "less" else coefficient


@lru_cache(maxsize=256)
def _run(rig: Rig, air: float, fill: float) -> SimulatedDay:
    """A day, kept: the study, the page and the JSON ask for the same ones."""
    setup = rig.setup(air, fill, rig.stated)
    changed = None
    use = in_parallel(rig.periods, rig.feeding)
    if rig.sides > 1:
        outcomes = model.simulate_changeover(setup, use, rig.sides)
        changed = outcomes[0].short_from
    else:
        outcomes = (model.simulate(setup, use, sample=SAMPLE),)
    last = outcomes[-1]
    air_absolute = rig.need.air_absolute
    trace: list[tuple[float, float]] = []
    for outcome in outcomes:
        until = outcome.short_from if outcome is not last and outcome.short_from is not None else DAY
        trace += [(m.time, m.absolute - air_absolute) for m in outcome.trace if m.time <= until]
    # A container that was changed over from still cools in the simulation; it counts as long as it feeds.
    lowest = last.lowest_absolute if len(outcomes) == 1 else min(rig.need.absolute, last.lowest_absolute)
    return SimulatedDay(air, fill, last.short_from, last.reason, changed, lowest - air_absolute, tuple(trace))


@lru_cache(maxsize=2048)  # kinds that would serve ask for hundreds
def _shortage(rig: Rig, air: float, fill: float, heat: Heat) -> Cell:
    use = in_parallel(rig.periods, rig.feeding)
    sample = model.TRACED if rig.sides > 1 else DAY  # as the day itself is traced
    short_from, reason = model.shortage(rig.setup(air, fill, heat), use, rig.sides, sample=sample) or (None, None)
    return Cell(air, fill, short_from, reason)


@lru_cache(maxsize=256)
def _largest_of_one(rig: Rig, air: float, fill: float) -> float:
    return model.largest_continuous_load(rig.setup(air, fill, rig.stated), step=COARSE)


@lru_cache(maxsize=256)
def _spare(rig: Rig, air: float, fill: float, most: float) -> float:
    """The load without a break, up to `most`, that the day carries beside its own use: the use of a day stands in bursts, and
    what its mean leaves may be too much in one of them."""

    def carries(load: float) -> bool:
        use = (*rig.periods, Period(0.0, DAY, load)) if load else rig.periods
        return _shortage(replace(rig, periods=use), air, fill, rig.stated).enough

    if carries(most):
        return most
    least = 0.0
    if carries(least):
        for _ in range(SPARE_HALVINGS):
            middle = (least + most) / 2
            least, most = (middle, most) if carries(middle) else (least, middle)
    return least


class Cold(Struct, frozen=True):
    """The coldest day of a build.

    `runs` are days at the coldest air stated, from full downwards; those fuller than the fullest one here last if
    it does. None where the spec gives no coldest air or no use. `narrow` is the emptiest fill that lasts with moving air but
    not on a still night; None in a locker, where the air is taken as still anyway. `table` is the trade's table of draw-off,
    where one is for this kind.
    """

    rig: Rig
    blocks: tuple[BurnTime, ...]
    coldest: Kelvin | None
    runs: tuple[SimulatedDay, ...]
    narrow: Ratio | None
    table: DrawTable | None

    @property
    def largest_limited_by(self) -> Shown[str | None]:
        """What limits that load: the heat, the trade's table, or the pressure; None where the air is not stated."""
        return None if self.coldest is None else self.rig.limit(self.coldest, FILLS[-1])

    @property
    def uncertainty(self) -> Shown[Ratio]:
        """By how much of itself the heat that comes in may be off."""
        return UNCERTAINTY

    @property
    def largest(self) -> Shown[Watt | None]:
        """The largest load for 24 hours in the coldest air at one fifth full, W; None where that air is not stated."""
        return None if self.coldest is None else self.rig.largest(self.coldest, FILLS[-1])

    def largest_at(self, air: float, fill: float) -> tuple[float, Limit]:
        """The largest load for 24 hours in air at `air` K, filled to the share `fill`, W, and what limits it."""
        return self.rig.largest(air, fill), self.rig.limit(air, fill)

    def at_coldest(self, heat: Heat) -> tuple[Cell, ...]:
        """When the coldest day falls short at each of FILLS with one end of the heat; empty where there is none."""
        coldest = self.coldest
        return () if coldest is None else tuple(self.rig.short(coldest, fill, heat) for fill in FILLS)

    def spare(self, per_day: float | None) -> float | None:
        """The load without a break, W, that the coldest day at one fifth full carries beside its own use, whose mean is
        `per_day`; 0 where that day falls short as it is."""
        if self.coldest is None or self.largest is None or per_day is None:
            return None
        return _spare(self.rig, self.coldest, FILLS[-1], max(0.0, self.largest - per_day))


def cold_day(build: Installation, container: Container) -> Cold | None:
    """The coldest day; None where the gas can never have the pressure asked for (a finding says so)."""
    spec = build.spec
    gas = fuel(build)
    need = need_of(build, spec.regulator)
    if need is None:
        return None
    joined = _JOINED.get(spec.container.manifold, "changeover") if container.number > 1 else "single"
    blocks = tuple(block for s in build.served for block in _blocks(s))
    periods = tuple(_periods(blocks))
    feeding = vaporisation.feeding(container.number, joined)
    table = draw_table(build.container_kind, container.fuel_mass, feeding, periods, lpg.gross_heating_value(gas))
    one = table.rows[0].load / feeding if table is not None else None
    rig = Rig(
        container.shape,
        gas,
        container.fuel_mass,
        container.number,
        joined,
        need,
        periods,
        spec.container.place == "locker",
        one,
    )
    coldest = float(spec.coldest) if spec.coldest is not None else None
    if coldest is None or not rig.periods:
        return Cold(rig, blocks, coldest, (), None, table)
    runs: list[SimulatedDay] = []
    for fill in reversed(FILLS):
        runs.insert(0, rig.run(coldest, fill))
        if runs[0].enough:  # what is fuller lasts too: an emptier container never helps
            break
    narrow = runs[0].fill if runs[0].enough and not rig.short(coldest, runs[0].fill, "still").enough else None
    return Cold(rig, blocks, coldest, tuple(runs), narrow, table)


def need_of(build: Installation, regulator: Regulator) -> PressureNeed | None:
    """The pressure the container has to have for a first regulator; None where the gas never has it."""
    spec, gas = build.spec, fuel(build)
    allowance = float(day().pigtail_loss.value)
    stated = regulator.inlet
    # A first stage is sold for a higher inlet than what serves appliances at once, and the choices ask for that one too.
    usual = regulators(build.region.practice.rows).inlets[-1] if is_first_stage(build) else day().assumed_inlet.value
    inlet = float(stated) if stated is not None else max(float(usual), float(regulator.outlet))
    # What moves may be used low down, where the air presses more and the liquid has to be warmer.
    altitude = 0.0 if moves(build) else float(spec.altitude or 0.0)
    # The properties of the gas are known from here on; a higher pressure needed is the careful side.
    least = lpg.saturation_absolute(gas, lpg.SATURATION_TEMPERATURES[0]) * 1.001
    air = max(lpg.atmosphere_absolute(altitude), least)
    gauge = inlet + allowance
    try:
        floor = vaporisation.boiling_temperature(gas, air + gauge)
    except ValueError:
        return None
    return PressureNeed(inlet, allowance, gauge, air + gauge, air, floor, stated is not None)


def _blocks(s: Served) -> Iterator[BurnTime]:
    """An appliance's use as stretches of a day."""
    if not s.per_day:
        return
    pattern = day().kinds[s.appliance.kind]
    length = min(s.per_day / s.load, DAY)
    name = s.appliance.name
    if pattern.all_day or length >= DAY:
        yield BurnTime(s.id, name, 0.0, DAY, min(s.per_day / DAY, s.load))
    elif pattern.until is not None:
        yield BurnTime(s.id, name, (pattern.until - length) % DAY, length, s.load)
    else:
        for start in pattern.at:
            yield BurnTime(s.id, name, start, length / len(pattern.at), s.load)


def periods_of(served: Iterable[Served]) -> tuple[Period, ...]:
    """The use of a day by appliances, as stretches of it."""
    return tuple(_periods([block for s in served for block in _blocks(s)]))


def _periods(blocks: Sequence[BurnTime]) -> Iterator[Period]:
    """The stretches on a day that begins at noon; what runs past its end belongs to its beginning."""
    for block in blocks:
        start = (block.start - NOON) % DAY if block.length < DAY else 0.0
        end = start + block.length
        yield Period(start, min(end, DAY), block.load)
        if end > DAY:
            yield Period(0.0, end - DAY, block.load)


_JOINED: dict[str | None, Manifold] = {"parallel": "parallel", "banks": "banks"}
"""How several are joined by the word of the spec; one at a time where it says nothing else."""


def joined_words(number: int, manifold: Manifold) -> str:
    """How several containers feed, in words."""
    half = "two" if number == 4 else f"{number // vaporisation.BANKS}"
    banks = f"{half} together, then the other {half}" if number > vaporisation.BANKS else "one at a time"
    return {"single": "one alone", "changeover": "one at a time", "parallel": "together", "banks": banks}[manifold]


def clock(after_noon: float) -> str:
    """Time of day of a moment of the simulated day, as 24-hour time."""
    minutes = round((after_noon + NOON) / 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def fill_words(fill: float) -> str:
    """A fill of FILLS in words."""
    return {1.0: "full", 0.5: "half full", 0.25: "a quarter full", 0.2: "one fifth full"}.get(
        fill, f"{fill * 100:.0f} % of full"
    )


def short_words(run: SimulatedDay | Cell) -> str:
    """How a day ends, in words."""
    if run.short_from is None:
        return "lasts the day"
    what = "empty" if run.reason == "empty" else "short"
    return f"{what} from {clock(run.short_from)}"
