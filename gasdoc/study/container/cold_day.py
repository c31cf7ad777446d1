"""A day in the cold: the build's own use against what its container boils off, at any air temperature and fill.

Heat comes in at one of three ends (`Heat`): by air that moves a little, by that less its uncertainty, or by still air. A
locker has still air. Elsewhere a day is told with moving air, and a still night beside it; days on end are counted with the
uncertainty taken off, since air seldom stands still for a week.

The day begins at noon, so that a night is in one piece, with everything as warm as the air. `Rig` answers for any air and
fill; a study runs it at the coldest air only, pages and JSON ask it for the rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Annotated, Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc import units
from gasdoc.catalog.appliances import day
from gasdoc.engineering.constants import DAY, STANDARD_ATMOSPHERE
from gasdoc.engineering.container import cold_day as model
from gasdoc.engineering.container import still_air as stillair
from gasdoc.engineering.container import vaporisation
from gasdoc.engineering.container.cold_day import Period, Setup
from gasdoc.engineering.container.vaporisation import UNCERTAINTY, Manifold, Supply
from gasdoc.engineering.supply import fuel as fluid
from gasdoc.engineering.supply.fuel import BUTANE, Fuel
from gasdoc.quantities import Aside, Joule, Kelvin, Kilogram, Pascal, Ratio, Second, Shown, Watt
from gasdoc.study.container.draw_off import DrawTable, draw_table, table_findings
from gasdoc.study.container.holding import Container, Shape
from gasdoc.study.facts import Installation, Served, fuel, moves, system
from gasdoc.study.findings import Finding, error, note, warning

NOON = DAY / 2
"""s after midnight at which the simulated day begins."""

FILLS = (1.0, 0.5, 0.2)
"""Shares of a full container at which a study looks at the coldest day: full, half full, one fifth full."""

_SAME = 0.05
"""K: two stated temperatures as near as this are the same in another unit."""

COARSE = 1200.0
"""s: step of the search for the largest load. Under a constant load it agrees with the fine step (a test says how well)."""

SAMPLE = 1200.0
"""s between the points of a trace."""

UNCERTAIN = (
    "The model is uncertain by tens of percent: two published methods differ by a third among themselves. Wind, wet and paint "
    "are not in it. Sun and frost on the skin are given no credit."
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


class Need(Struct, frozen=True):
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


class Block(Struct, frozen=True):
    """A stretch of one appliance's day: `start` and `length` in s, from midnight; it may run past midnight. `load` in W."""

    outlet: str
    name: str
    start: Second
    length: Second
    load: Watt


class Run(Struct, frozen=True):
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
    need: Need
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
        return self.number if self.manifold == "parallel" else 1

    @property
    def heaviest(self) -> Shown[Watt]:
        """The largest load of the day, W."""
        starts = [p.start for p in self.periods]
        return max((sum(p.load for p in self.periods if p.start <= t < p.end) for t in starts), default=0.0)

    @property
    def heating(self) -> float:
        """Gross heat of the gas, J/kg."""
        return fluid.gross_heating_value(self.gas)

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

    def run(self, air: float, fill: float) -> Run:
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
        held = self.full_mass * fill * self.heating / DAY
        return "gas left" if balance > held * 0.99 else "boil-off"

    def supply(self, air: float, fill: float) -> Supply:
        """What they give at a moment by every method that applies, their liquid as cold as may be."""
        mass = self.full_mass * fill
        coefficient = _still(self.shape, self.need, air) if self.locker else vaporisation.COEFFICIENT
        return vaporisation.supply(
            self.shape.supplying, mass, self.gas, air, self.need.absolute, self.number, self.manifold, coefficient
        )


def _still(shape: Shape, need: Need, air: float) -> float:
    """U of still air, the liquid as cold as may be: the state a day falls short in."""
    return stillair.coefficient(shape.vessel, air, min(need.floor, air), need.air_absolute)


@lru_cache(maxsize=1024)
def _coefficient(shape: Shape, gas: Fuel, full_mass: float, need: Need, air: float, heat: Heat) -> float:
    base = min(_still(shape, need, air), vaporisation.COEFFICIENT) if heat == "still" else vaporisation.COEFFICIENT
    held = vaporisation.limited_coefficient(shape.supplying, full_mass, gas, air, need.absolute, base)
    return held * (1 - UNCERTAINTY) if heat == "less" else held


@lru_cache(maxsize=256)
def _run(rig: Rig, air: float, fill: float) -> Run:
    """A day, kept: the study, the page and the JSON ask for the same ones."""
    setup = rig.setup(air, fill, rig.stated)
    changed = None
    if rig.manifold == "changeover" and rig.number > 1:
        outcomes = model.simulate_changeover(setup, rig.periods, rig.number)
        changed = outcomes[0].short_from
    else:
        outcomes = (model.simulate(setup, model.in_parallel(rig.periods, rig.feeding), sample=SAMPLE),)
    last = outcomes[-1]
    air_absolute = rig.need.air_absolute
    trace: list[tuple[float, float]] = []
    for outcome in outcomes:
        until = outcome.short_from if outcome is not last and outcome.short_from is not None else DAY
        trace += [(m.time, m.absolute - air_absolute) for m in outcome.trace if m.time <= until]
    # A container that was changed over from still cools in the simulation; it counts as long as it feeds.
    lowest = last.lowest_absolute if len(outcomes) == 1 else min(rig.need.absolute, last.lowest_absolute)
    return Run(air, fill, last.short_from, last.reason, changed, lowest - air_absolute, tuple(trace))


@lru_cache(maxsize=2048)  # kinds that would serve ask for hundreds
def _shortage(rig: Rig, air: float, fill: float, heat: Heat) -> Cell:
    setup = rig.setup(air, fill, heat)
    if rig.manifold == "changeover" and rig.number > 1:
        last = model.simulate_changeover(setup, rig.periods, rig.number, until_short=True)[-1]
    else:
        last = model.simulate(setup, model.in_parallel(rig.periods, rig.feeding), sample=DAY, until_short=True)
    return Cell(air, fill, last.short_from, last.reason)


@lru_cache(maxsize=256)
def _largest_of_one(rig: Rig, air: float, fill: float) -> float:
    return model.largest_continuous_load(rig.setup(air, fill, rig.stated), step=COARSE)


class Cold(Struct, frozen=True):
    """The coldest day of a build.

    `runs` are days at the coldest air stated, from full downwards; those fuller than the fullest one here last if
    it does. None where the spec gives no coldest air or no use. `narrow` is the emptiest fill that lasts with moving air but
    not on a still night; None in a locker, where the air is taken as still anyway. `table` is the trade's table of draw-off,
    where one is for this kind.
    """

    rig: Rig
    blocks: tuple[Block, ...]
    coldest: Kelvin | None
    runs: tuple[Run, ...]
    narrow: Ratio | None
    table: DrawTable | None

    @property
    def largest(self) -> Shown[Watt | None]:
        """The largest load for 24 hours in the coldest air at one fifth full, W; None where that air is not stated."""
        return None if self.coldest is None else self.rig.largest(self.coldest, FILLS[-1])

    def spare(self, per_day: float | None) -> float | None:
        """What the containers could give beyond the mean load `per_day` on the coldest day at one fifth full, W."""
        return None if self.largest is None or per_day is None else max(0.0, self.largest - per_day)


def cold_day(build: Installation, held: Container) -> Cold | None:
    """The coldest day; None where the gas can never have the pressure asked for (a finding says so)."""
    spec = build.spec
    gas = fuel(build)
    need = _need(build, gas)
    if need is None:
        return None
    joined: Manifold = "single"
    if held.number > 1:
        joined = "parallel" if spec.container.manifold == "parallel" else "changeover"
    blocks = tuple(block for s in build.served for block in _blocks(s))
    periods = _periods(blocks)
    feeding = held.number if joined == "parallel" else 1
    table = draw_table(build.container_kind, held.fuel_mass, feeding, periods, fluid.gross_heating_value(gas))
    one = table.rows[0].load / feeding if table is not None else None
    rig = Rig(
        held.shape, gas, held.fuel_mass, held.number, joined, need, periods, spec.container.place == "locker", one
    )
    coldest = float(spec.coldest) if spec.coldest is not None else None
    if coldest is None or not rig.periods:
        return Cold(rig, blocks, coldest, (), None, table)
    runs: list[Run] = []
    for fill in reversed(FILLS):
        runs.insert(0, rig.run(coldest, fill))
        if runs[0].enough:  # what is fuller lasts too: an emptier container never helps
            break
    narrow = runs[0].fill if runs[0].enough and not rig.short(coldest, runs[0].fill, "still").enough else None
    return Cold(rig, blocks, coldest, tuple(runs), narrow, table)


def _need(build: Installation, gas: Fuel) -> Need | None:
    spec = build.spec
    allowance = float(day().pigtail_loss.value)
    stated = spec.regulator.inlet
    inlet = float(stated) if stated is not None else max(float(day().assumed_inlet.value), float(spec.regulator.outlet))
    # What moves may be used low down, where the air presses more and the liquid has to be warmer.
    altitude = 0.0 if moves(build) else float(spec.altitude or 0.0)
    # The properties of the gas are known from here on; a higher pressure needed is the careful side.
    least = fluid.saturation_absolute(gas, fluid.SATURATION_TEMPERATURES[0]) * 1.001
    air = max(fluid.atmosphere_absolute(altitude), least)
    gauge = inlet + allowance
    try:
        floor = vaporisation.boiling_temperature(gas, air + gauge)
    except ValueError:
        return None
    return Need(inlet, allowance, gauge, air + gauge, air, floor, stated is not None)


def _blocks(s: Served) -> Iterator[Block]:
    """An appliance's use as stretches of a day."""
    if not s.per_day:
        return
    pattern = day().kinds[s.appliance.kind]
    length = min(s.per_day / s.load, DAY)
    name = s.appliance.name
    if pattern.all_day or length >= DAY:
        yield Block(s.id, name, 0.0, DAY, min(s.per_day / DAY, s.load))
    elif pattern.until is not None:
        yield Block(s.id, name, (pattern.until - length) % DAY, length, s.load)
    else:
        for start in pattern.at:
            yield Block(s.id, name, start, length / len(pattern.at), s.load)


def _periods(blocks: Sequence[Block]) -> tuple[Period, ...]:
    """The stretches on a day that begins at noon; what runs past its end belongs to its beginning."""
    found: list[Period] = []
    for block in blocks:
        start = (block.start - NOON) % DAY if block.length < DAY else 0.0
        end = start + block.length
        found.append(Period(start, min(end, DAY), block.load))
        if end > DAY:
            found.append(Period(0.0, end - DAY, block.load))
    return tuple(found)


def clock(after_noon: float) -> str:
    """Time of day of a moment of the simulated day, as 24-hour time."""
    minutes = round((after_noon + NOON) / 60) % 1440
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def fill_words(fill: float) -> str:
    """A fill of FILLS in words."""
    return {1.0: "full", 0.5: "half full", 0.25: "a quarter full", 0.2: "one fifth full"}.get(
        fill, f"{fill * 100:.0f} % of full"
    )


def short_words(run: Run | Cell) -> str:
    """How a day ends, in words."""
    if run.short_from is None:
        return "lasts the day"
    what = "empty" if run.reason == "empty" else "short"
    return f"{what} from {clock(run.short_from)}"


def cold_findings(build: Installation, held: Container, cold: Cold | None) -> Iterator[Finding]:
    """What the cold gives cause to say."""
    spec, shown = build.spec, system(build)
    at = ("container",)
    yield from _regulator(build, shown)
    if cold is None:
        yield error(
            "regulator-inlet-beyond-gas",
            "container",
            ("regulator", "inlet"),
            f"The regulator's lowest inlet, {spec.regulator.inlet.text if spec.regulator.inlet else ''}, is more than this "
            "gas has at any outdoor temperature.",
            "Then the regulator never works as rated.",
            "Read its data sheet again; the figure may be its highest inlet.",
        )
        return
    need = cold.rig.need
    needed = units.show(need.gauge, "container pressure", shown)
    if not need.stated:
        yield warning(
            "regulator-inlet-unknown",
            "container",
            ("regulator",),
            f"The lowest inlet pressure of the first regulator is not stated; {units.show(need.inlet, 'container pressure', shown)} "
            "is assumed.",
            "Whether the container keeps up in the cold is a question of that pressure.",
            "Read it off the regulator's data sheet and add 'inlet:'.",
            "our assumption",
        )
    if cold.coldest is None:
        yield warning(
            "coldest-unknown",
            "container",
            (),
            "The coldest air the container works in is not stated.",
            "Whether it keeps up on a cold night is not known.",
            "Add 'coldest:', the air at night, not the average.",
        )
    if held.unstated:
        yield warning(
            "daily-use-unknown",
            "container",
            at,
            f"How long these burn a day is not stated: {', '.join(held.unstated)}.",
            "They are left out of the cold day and of the days between fills; both come out too well.",
            "Add 'daily_use:' to each, for a cold day.",
        )
    if cold.rig.manifold == "parallel":
        yield warning(
            "parallel-unequal",
            "container",
            ("container", "manifold"),
            f"{held.number} containers feed in parallel.",
            "At unequal temperature gas goes over from the warm one and condenses in the cold one, which may be filled past "
            "its limit; and they do not empty alike.",
            "Keep them equally warm, out of one-sided sun, fit check valves, and shut all but one when nothing burns.",
            "common practice, no source",
        )
    if cold.table is not None:
        yield from table_findings(cold.table, shown)
    yield from _butane(build, cold)
    if cold.coldest is not None and cold.coldest > need.floor:  # else nothing is supplied, and the reason is given
        yield from _short(cold, held, needed, shown)


def _regulator(build: Installation, shown: units.System) -> Iterator[Finding]:
    """Whether the first regulator, which stands beside the container, is made for the coldest air."""
    spec, usual = build.spec, build.region.supply.regulator_coldest
    stated = spec.regulator.lowest_temperature
    if spec.coldest is None:
        return
    air = units.show(spec.coldest, "temperature", shown)
    if stated is not None and spec.coldest < stated - _SAME:
        yield error(
            "regulator-too-cold",
            "regulator",
            ("regulator", "lowest_temperature"),
            f"The regulator is made for places down to {stated.text}; the coldest air is {air}.",
            "Below that its rubber stiffens, and neither its pressure nor its tightness is what its plate says.",
            "Use a regulator that is marked for such cold, or stop using the gas before.",
        )
    elif stated is None and usual is not None and spec.coldest < usual.value - _SAME:
        yield warning(
            "regulator-cold-unknown",
            "regulator",
            ("regulator",),
            f"The coldest air is {air}, and the coldest place the regulator is made for is not stated.",
            usual.text,
            "Read its mark or data sheet and add 'lowest_temperature:'; ask its maker where neither says.",
            str(usual.citation),
        )


def _short(cold: Cold, held: Container, needed: str, shown: units.System) -> Iterator[Finding]:
    if cold.coldest is None or not cold.runs:
        return
    at = ("container",)
    day_mass = cold.rig.energy / fluid.gross_heating_value(cold.rig.gas)
    total = held.fuel_mass * held.number
    air = units.show(cold.coldest, "temperature", shown)
    full = cold.runs[0]  # or the emptiest that lasts
    # A container with less in it than a day takes runs out in any weather; that is a matter of days between fills.
    failing = [r for r in cold.runs if not r.enough and (r.fill == FILLS[0] or total * r.fill > day_mass)]
    if day_mass >= total:
        yield error(
            "empty-within-a-day",
            "container",
            at,
            f"A cold day takes {units.show(day_mass, 'weight', shown)} of gas; a full supply is "
            f"{units.show(total, 'weight', shown)}.",
            "It does not last one day.",
            "Use more or larger containers.",
            "computed",
        )
    elif failing:
        words = "; ".join(
            f"{fill_words(r.fill)}, it {'lasts' if r.enough else 'is ' + short_words(r)}" for r in cold.runs
        )
        lowest = units.show(min(r.lowest_gauge for r in failing), "container pressure", shown)
        yield (error if not full.enough else warning)(
            "cold-short",
            "container",
            at,
            f"In air of {air}, at the build's own use, the pressure in the container falls below the {needed} the regulator "
            f"and its connector need, to {lowest}. Counted from noon: {words}.",
            f"Boiling cools the liquid, and cold liquid has little pressure; then flames sink or go out. {UNCERTAIN}",
            "Fill or exchange it earlier, draw from "
            + ("two containers at once" if held.number == 1 else "more of them at once")
            + ", use a kind with more skin, or burn less at a time; the container page shows what each changes.",
            "computed: a heat balance held under the published figures",
        )
    if cold.narrow is not None and (full.enough or not failing):
        whole = cold.rig.short(cold.coldest, FILLS[0], "still")
        still = cold.rig.short(cold.coldest, cold.narrow, "still")
        yield (note if whole.enough else warning)(
            "cold-narrow",
            "container",
            at,
            f"In air of {air} that moves a little it lasts the day {fill_words(cold.narrow)}. On a still night it is "
            f"{short_words(still)}" + ("." if whole.enough or cold.narrow == FILLS[0] else ", and short even full."),
            f"Still air gives a container about a third of the heat that a breeze gives. {UNCERTAIN}",
            "Do not plan down to this fill in the cold."
            if whole.enough
            else "Draw from more containers at once, or burn less on such a night.",
            f"computed: {STILL_SOURCE}",
        )


def _butane(build: Installation, cold: Cold) -> Iterator[Finding]:
    gas, need, shown = cold.rig.gas, cold.rig.need, system(build)
    if gas.propane == 1.0:
        if cold.coldest is not None and cold.coldest <= need.floor:
            yield error(
                "fuel-too-cold",
                "container",
                ("coldest",),
                f"At {units.show(cold.coldest, 'temperature', shown)} propane has not the "
                f"{units.show(need.gauge, 'container pressure', shown)} the regulator needs; it has it above "
                f"{units.show(need.floor, 'temperature', shown)}.",
                "Nothing is supplied then.",
                "Do not count on gas in such cold.",
                "computed from the vapour pressure",
            )
        return
    try:
        butane_floor = vaporisation.boiling_temperature(BUTANE, need.absolute)
    except ValueError:  # it has so much at no temperature whose figures are known, and those end far above any air
        butane_floor = fluid.SATURATION_TEMPERATURES[1]
    boils = vaporisation.boiling_temperature(BUTANE, STANDARD_ATMOSPHERE)
    if cold.coldest is None or cold.coldest > butane_floor:
        return
    all_cold = cold.coldest <= need.floor
    reason = (
        f"Butane itself boils off above {units.show(boils, 'temperature', shown)} only, and has the "
        f"{units.show(need.gauge, 'container pressure', shown)} the regulator needs above "
        f"{units.show(butane_floor, 'temperature', shown)}."
    )
    air = units.show(cold.coldest, "temperature", shown)
    if all_cold:
        yield error(
            "butane-too-cold",
            "container",
            ("gas",),
            f"At {air} this gas, with {(1 - gas.propane) * 100:.0f} % butane, has "
            "not the pressure the regulator needs: nothing is supplied.",
            reason,
            "Use propane where it freezes.",
            "computed from the vapour pressures",
        )
    else:
        least = least_propane(cold.coldest, need.absolute)
        yield warning(
            "butane-too-cold",
            "container",
            ("gas",),
            f"At {air} the propane boils off first; once less than {least * 100:.0f} % of the liquid is propane the rest, "
            "butane, stays in the container.",
            reason,
            "Use propane where it freezes, and do not count on the last of a mixture.",
            "computed from the vapour pressures (Raoult's law)",
        )


def least_propane(temperature: float, absolute: float) -> float:
    """The mass share of propane at which the liquid just has the pressure `absolute` (Pa) at `temperature` K."""
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (
            (low, middle) if fluid.saturation_absolute(Fuel(middle), temperature) >= absolute else (middle, high)
        )
    return high


GRID_FILLS = (1.0, 0.75, 0.5, 0.35, 0.2)
"""Shares of a full container in the table of fill and air."""


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
