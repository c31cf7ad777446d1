"""A day in the cold: how the liquid in a container cools under the build's own use, and when its pressure runs short.

Liquid and the steel it wets are one body at one temperature T. Air warms it through the wetted skin, boiling cools it:

    C dT/dt = U A (T_air - T) - m' h_fg        m' = load / heating value of the vapour drawn

A (wetted skin) and C (liquid and wetted steel) shrink with the contents. Over a step they are held as they are halfway
and the equation is solved exactly (an exponential), so no step is too long to be stable. The pressure is that over
the liquid at T. Of a
mixture, vapour leaves by Raoult's law, richer in propane than the liquid, and the composition is followed.

Not counted: sun, wind, frost that freezes on the skin, the dry skin above the liquid, vapour in the headspace
(about 1 % of the contents), and drifting air temperature. See `vaporisation.UNCERTAINTY`: tens of percent.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Annotated, Literal, TypeAlias

from msgspec import Struct

from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.burning import Period, stretches
from gasdoc.engineering.container.vaporisation import boiling_temperature
from gasdoc.engineering.container.vessel import Vessel, wetting
from gasdoc.engineering.supply import lpg
from gasdoc.engineering.supply.lpg import BUTANE, BUTANE_HEAT_CAPACITY, PROPANE, PROPANE_HEAT_CAPACITY, Fuel
from gasdoc.quantities import JoulePerKilogramKelvin, Known

STEP = 300.0
"""Longest step, s, of a day and of many. Against steps of 30 s the time of failure moves by a minute or less on each of the
example builds, and days until empty by 0.01 (tests hold both)."""

IDLE = 5
"""How many times longer a step may be while nothing is drawn: then only the air warms the liquid, with little change in
what is held constant (a test compares)."""

ROUGH = 6
"""How many times longer a step is in the search that goes before that for the largest load; the answer does not hang on it."""

TRACED = 600.0
"""s between the points of a trace, where nothing else is asked."""

LARGEST_CHANGE = 3.0
"""K; a step in which the liquid would cool or warm by more is halved."""


_SHORTEST = 1.0
_COLDEST, _WARMEST = lpg.SATURATION_TEMPERATURES

STEEL_HEAT_CAPACITY: Annotated[
    JoulePerKilogramKelvin,
    Known("specific heat of carbon steel", "DIN EN 12524 (2000), as an open library of heat transfer has it", "once"),
] = 450.0
"""Aluminium stores about twice as much for each kilogram; steel's figure is used for it too, on the careful side."""


class Setup(Struct, frozen=True):
    """One container at the start: everything in it as warm as the air.

    `coefficient` W/(m2 K) from `vaporisation.limited_coefficient`; `tare` kg of steel; `fuel_mass` kg of liquid `fuel`;
    `air_temperature` K; `needed_absolute` Pa is what the regulator and the line to it need, with the local air
    pressure `air_absolute` Pa added.
    """

    vessel: Vessel
    coefficient: float
    tare: float
    fuel_mass: float
    fuel: Fuel
    air_temperature: float
    needed_absolute: float
    air_absolute: float

    def __post_init__(self) -> None:
        if not self.fuel_mass > 0 or not self.tare >= 0 or not self.coefficient >= 0:
            raise ValueError("fuel mass must be above zero, tare and coefficient not negative")
        if not self.needed_absolute >= self.air_absolute > 0:
            raise ValueError("the pressure needed cannot be under that of the air")


class Moment(Struct, frozen=True):
    """A point of the trace: `time` s, container pressure Pa absolute, liquid temperature K, liquid mass kg, mass
    share of propane in the liquid."""

    time: float
    absolute: float
    temperature: float
    fuel_mass: float
    propane: float


class EnergyBalance(Struct, frozen=True):
    """Heat over the whole time, J, counted from air temperature: `from_air` = `boiling` + `stored` + `carried`.

    `stored` is the change in what liquid and wetted steel hold, from the first and the last state alone; `carried`
    went with the vapour drawn and stayed in steel that fell dry (both negative when colder than the air).
    """

    from_air: float
    boiling: float
    stored: float
    carried: float

    @property
    def residual(self) -> float:
        """What does not close, as a share of the largest term."""
        largest = max(abs(self.from_air), abs(self.boiling), abs(self.stored), abs(self.carried))
        return abs(self.from_air - self.boiling - self.stored - self.carried) / largest if largest else 0.0


Reason: TypeAlias = Literal["pressure", "empty"]
"""Why a container falls short: its pressure is under what is needed, or its liquid has given out."""


class Outcome(Struct, frozen=True):
    """What the use did to the container.

    `short_from` s from the first midnight: when, under load, the pressure first was under what is needed, or the
    liquid gave out; None if never. `reason` "pressure" or "empty". `short_time` s under load without enough pressure;
    after that time the load is still drawn as long as the container has any gauge pressure. `lowest_absolute` Pa and
    `lowest_temperature` K over the time. `delivered` and `unmet` J of fuel (gross) add up to what was asked.
    """

    short_from: float | None
    reason: Reason | None
    short_time: float
    lowest_absolute: float
    lowest_temperature: float
    delivered: float
    unmet: float
    trace: tuple[Moment, ...]
    energy: EnergyBalance

    @property
    def enough(self) -> bool:
        """Whether it never ran short."""
        return self.short_from is None


def simulate(
    setup: Setup,
    periods: Sequence[Period],
    days: int = 1,
    step: float = STEP,
    start: float = 0.0,
    sample: float = TRACED,
    until_short: bool = False,
) -> Outcome:
    """The outcome of `days` equal days of use, from `start` s, in steps of at most `step` s (IDLE times that while nothing
    is drawn, but no longer than `sample`), with a trace point every `sample` s or at the step after it.

    With `until_short` no further than to the step in which it runs short: the first shortage is the same, all else in
    the outcome is what was until then. Raises ValueError for temperatures or pressures outside the property fits.

    1 kW all day takes 86.4 MJ of the 454 MJ that 9.07 kg hold.
    >>> from gasdoc.engineering.container.vessel import of_capacity
    >>> setup = Setup(of_capacity(0.0216, 0.3, "upright"), 13.0, 8.0, 9.07, PROPANE, 273.15, 200e3, 101_325.0)
    >>> outcome = simulate(setup, (Period(0.0, DAY, 1000.0),))
    >>> outcome.enough, round(outcome.delivered / 1e6, 1)
    (True, 86.4)
    """
    run = ContainerState(setup, start, sample, booked=True)
    for begin, end, load in stretches(periods, days, start):
        longest = step if load > 0 else min(IDLE * step, max(sample, step))
        if not run.carry(equal_steps(begin, end, longest), load, until_short=until_short):
            return run.outcome(*((end, load) if run.left <= 0 else (days * DAY, 0.0)), periods, days)
    return run.outcome(days * DAY, 0.0, periods, days)


def shortage(
    setup: Setup, periods: Sequence[Period], number: int = 1, days: int = 1, step: float = STEP, sample: float = DAY
) -> tuple[float, Reason] | None:
    """When `number` equal containers that feed one after another first fall short as a set, s, and why; None where they last.

    The same as `simulate_changeover` tells of its last one with the same `sample`, without heat and gas summed up.

    1 kW all day takes a fifth of what 9.07 kg hold, and six days all of it.
    >>> from gasdoc.engineering.container.vessel import of_capacity
    >>> setup = Setup(of_capacity(0.0216, 0.3, "upright"), 13.0, 8.0, 9.07, PROPANE, 293.15, 120e3, 101_325.0)
    >>> shortage(setup, (Period(0.0, DAY, 1000.0),)) is None, shortage(setup, (Period(0.0, DAY, 1000.0),), days=6) is None
    (True, False)
    """
    start = 0.0
    found: tuple[float, Reason] | None = None
    for _ in range(number):
        run = ContainerState(setup, start, sample)
        for begin, end, load in stretches(periods, days, start):
            longest = step if load > 0 else min(IDLE * step, max(sample, step))
            if not run.carry(equal_steps(begin, end, longest), load, until_short=True):
                break
        if run.short_from is None or run.reason is None:
            return None
        start, found = run.short_from, (run.short_from, run.reason)
        if start >= days * DAY:
            break
    return found


def simulate_changeover(
    setup: Setup, periods: Sequence[Period], number: int, days: int = 1, step: float = STEP
) -> tuple[Outcome, ...]:
    """The outcomes of `number` equal containers that feed one after another, each from when the one before ran short.

    The last one's `short_from` is the set's. A container that rests is not used again, though it would recover: what is
    told of all but the last of the set is until they ran short.

    10 kW ask 864 MJ a day: more than one holds, so that the second feeds too.
    >>> from gasdoc.engineering.container.vessel import of_capacity
    >>> setup = Setup(of_capacity(0.0216, 0.3, "upright"), 100.0, 8.0, 9.07, PROPANE, 293.15, 200e3, 101_325.0)
    >>> first, second = simulate_changeover(setup, (Period(0.0, DAY, 10_000.0),), 2)
    >>> first.short_from < DAY, second.short_from is None
    (True, True)
    """
    outcomes = [simulate(setup, periods, days, step, until_short=number > 1)]
    while len(outcomes) < number and (short := outcomes[-1].short_from) is not None and short < days * DAY:
        fed_by_another = len(outcomes) + 1 < number
        outcomes.append(simulate(setup, periods, days, step, start=short, until_short=fed_by_another))
    return tuple(outcomes)


def largest_continuous_load(setup: Setup, duration: float = DAY, step: float = STEP) -> float:
    """The largest constant load in W that the container carries for `duration` s (at most a day) without running short.

    The search halves the range at most 40 times, to 0.1 %. It returns the lower bound, which serves; 0 where no load serves.
    A search in long steps goes before it: loads on both sides of what that finds are simulated first, and what a load on one of
    them answers for is not simulated again.

    >>> from gasdoc.engineering.container.vessel import of_capacity
    >>> setup = Setup(of_capacity(0.0216, 0.3, "upright"), 13.0, 8.0, 9.07, PROPANE, 273.15, 200e3, 101_325.0)
    >>> cold = Setup(of_capacity(0.0216, 0.3, "upright"), 13.0, 8.0, 9.07, PROPANE, 253.15, 200e3, 101_325.0)
    >>> largest_continuous_load(setup, 3600.0) > largest_continuous_load(cold, 3600.0)
    True
    """
    most = setup.fuel_mass * lpg.gross_heating_value(BUTANE if setup.fuel.propane == 0 else PROPANE) / duration
    serving, failing = 0.0, math.inf

    def carries(load: float, longest: float) -> bool:
        return ContainerState(setup, 0.0, DAY).carry(equal_steps(0.0, duration, longest), load, until_short=True)

    def serves(load: float) -> bool:
        """Whether the load serves, which one that is no smaller and serves answers, too, and one no larger that fails."""
        nonlocal serving, failing
        if serving < load < failing:
            if carries(load, step):
                serving = load
            else:
                failing = load
        return load <= serving

    rough = _halved(most, lambda load: carries(load, ROUGH * step), 3e-3)
    if rough > 0:
        apart = 1e-3
        if serves(rough * (1 - apart)):
            while serves(rough * (1 + apart)):
                apart *= 3
        else:
            while not serves(rough * (1 - apart)):
                apart *= 3
    return _halved(most, serves, 1e-3)


def _halved(high: float, serves: Callable[[float], bool], share: float) -> float:
    """The largest load up to `high` that serves, found by halving at most 40 times, to this share of itself from below."""
    low = 0.0
    for _ in range(40):
        middle = (low + high) / 2
        if serves(middle):
            low = middle
        else:
            high = middle
        if high - low <= share * high:
            break
    return low


def equal_steps(begin: float, end: float, longest: float) -> Iterator[tuple[float, float]]:
    """Equal steps from `begin` to `end`, none over `longest`: (time, length).

    >>> list(equal_steps(0.0, 600.0, 400.0))
    [(0.0, 300.0), (300.0, 300.0)]
    """
    count = max(1, math.ceil((end - begin) / longest - 1e-9))
    return ((begin + (end - begin) * i / count, (end - begin) / count) for i in range(count))


class ContainerState:
    """The state of one container as time goes on; with `booked`, what heat and gas came and went is summed up, too."""

    def __init__(self, setup: Setup, start: float, sample: float, *, booked: bool = False) -> None:
        self.setup = setup
        self.booked = booked
        self.sample = sample
        self.temperature = setup.air_temperature
        self.propane = setup.fuel_mass * setup.fuel.propane
        self.butane = setup.fuel_mass - self.propane
        self.absolute = lpg.saturation_absolute(setup.fuel, self.temperature)
        self.becomes(setup.fuel)
        self.pure = setup.fuel.propane in (0.0, 1.0)
        self.heating = lpg.gross_heating_value(setup.fuel)
        self.steel = setup.tare, setup.vessel.area
        self.wetted = wetting(setup.vessel)
        self.lowest_absolute = self.absolute
        self.lowest_temperature = self.temperature
        self.short_from: float | None = None
        self.reason: Reason | None = None
        self.short_time = self.delivered = self.unmet = 0.0
        self.from_air = self.boiling = self.carried = 0.0
        self.time = start
        self.trace = [self.moment()]
        self.capacity = self.body(setup.fuel_mass)[1]

    def becomes(self, liquid: Fuel) -> None:
        """Take note of the liquid's composition."""
        self.liquid = liquid
        self.saturation, self.latent, self.volume = lpg.liquid(liquid)
        share = liquid.propane
        self.heat_capacity = share * PROPANE_HEAT_CAPACITY + (1 - share) * BUTANE_HEAT_CAPACITY

    def moment(self) -> Moment:
        """A point of the trace, as it is now."""
        return Moment(self.time, self.absolute, self.temperature, self.propane + self.butane, self.liquid.propane)

    @property
    def left(self) -> float:
        """What it holds, kg."""
        return self.propane + self.butane

    def ready(self, time: float, step: float) -> bool:
        """Whether it has liquid, and the pressure for it, after a rest until `time`."""
        if self.left <= 0:
            return False
        if self.time < time - 1e-6:
            self.carry(equal_steps(self.time, time, IDLE * step), 0.0)
        return self.absolute >= self.setup.needed_absolute

    def pass_over(self, days: int, energy: float) -> None:
        """As it is after so many equal days more that take `energy` J each; of one pure component only."""
        drawn = days * energy / self.heating
        share = self.liquid.propane
        self.propane -= drawn * share
        self.butane -= drawn * (1 - share)
        self.time += days * DAY

    def body(self, mass: float) -> tuple[float, float]:
        """Wetted skin m2, and heat capacity J/K of `mass` kg of the liquid and the steel it wets."""
        area = self.wetted(mass / (1.0 / self.volume(self.temperature)))
        tare, skin = self.steel
        return area, mass * self.heat_capacity + tare * area / skin * STEEL_HEAT_CAPACITY

    def vapour(self, temperature: float, propane: float, butane: float) -> Fuel:
        """What boils off so many kg of each, by Raoult's law: the share of each in the vapour is its share of the pressure."""
        if self.liquid.propane in (0.0, 1.0):
            return self.liquid
        propane *= lpg.saturation_absolute(PROPANE, temperature)
        butane *= lpg.saturation_absolute(BUTANE, temperature)
        return Fuel(propane / (propane + butane))

    def carry(  # noqa: PLR0915  # one loop, as its docstring says
        self, steps: Iterable[tuple[float, float]], load: float, *, until_short: bool = False
    ) -> bool:
        """The steps (when each begins and how long it is) under `load`; False where the liquid gives out in one, or it falls
        short with `until_short`, and then no further than to the end of that step.

        One loop without functions of its own, which asks for nothing twice: a build takes some ten thousand steps.
        """
        setup, pure, booked = self.setup, self.pure, self.booked
        air, air_absolute, needed = setup.air_temperature, setup.air_absolute, setup.needed_absolute
        coefficient, (tare, skin), wetted, heat_capacity = (
            setup.coefficient,
            self.steel,
            self.wetted,
            self.heat_capacity,
        )
        saturation, latent_heat, volume = self.saturation, self.latent, self.volume
        exp, expm1, log = math.exp, math.expm1, math.log
        loaded = load > 0
        share, heating, latent, mean, flow = self.liquid.propane, self.heating, 0.0, 1.0, 0.0
        after, propane, butane, absolute, time = self.temperature, self.propane, self.butane, self.absolute, self.time
        whole = True
        for begin, step in steps:
            before, absolute_before = after, absolute
            left, length = propane + butane, step
            if loaded:
                if pure:
                    latent = latent_heat(before)
                else:
                    vapour = self.vapour(before, propane, butane)
                    share = vapour.propane
                    heating, latent = lpg.gross_heating_value(vapour), lpg.latent_heat(vapour, before)
                flow = load / heating
                length = step if flow * step <= left else left / flow
            wanted = flow

            # Skin and capacity as they are halfway; with them and the draw held, T relaxes exponentially towards a level:
            # `decay` is the exponent, `mean` the mean of the exponential, `rested` what would be reached with no draw.
            mass = left - flow * length / 2
            area = wetted(mass / (1.0 / volume(before)))
            capacity = mass * heat_capacity + tare * area / skin * STEEL_HEAT_CAPACITY
            conductance = coefficient * area
            decay = conductance / capacity * length
            after = rested = air + (before - air) * exp(-decay)
            if loaded or booked:
                mean = -expm1(-decay) / decay if decay > 0 else 1.0
                after = rested - flow * latent * mean * length / capacity
                absolute = saturation(after) if after >= _COLDEST else 0.0
            if loaded and absolute < air_absolute and after < before:
                # No gauge pressure left: only as much boils as keeps the liquid at its boiling point.
                length = step
                decay = conductance / capacity * length
                mean = -expm1(-decay) / decay if decay > 0 else 1.0
                rested = air + (before - air) * exp(-decay)
                boiling = boiling_temperature(self.liquid, air_absolute)
                flow = max(rested - boiling, 0.0) * capacity / (mean * length * latent)
                flow = min(flow, wanted, left / length)
                after = rested - flow * latent * mean * length / capacity
                absolute = saturation(after)
            if abs(after - before) > LARGEST_CHANGE and step > _SHORTEST:
                self.temperature, self.propane, self.butane, self.absolute = before, propane, butane, absolute_before
                both = self.carry(((begin, step / 2), (begin + step / 2, step / 2)), load)
                after, propane, butane, absolute, time = (
                    self.temperature,
                    self.propane,
                    self.butane,
                    self.absolute,
                    self.time,
                )
                saturation, latent_heat, volume, heat_capacity = (
                    self.saturation,
                    self.latent,
                    self.volume,
                    self.heat_capacity,
                )
                if not both or (until_short and self.short_from is not None):
                    whole = False
                    break
                continue
            if not _COLDEST <= after <= _WARMEST:
                lpg.saturation_absolute(self.liquid, after)  # raises
            drawn = flow * length
            empty = drawn >= left * (1 - 1e-12)
            if drawn:
                propane = 0.0 if empty else max(propane - drawn * share, 0.0)
                butane = 0.0 if empty else max(butane - drawn * (1 - share), 0.0)
            if not (empty or pure) and 0.0 < self.liquid.propane < 1.0:
                self.becomes(Fuel(propane / (propane + butane)))
                saturation, latent_heat, volume, heat_capacity = (
                    self.saturation,
                    self.latent,
                    self.volume,
                    self.heat_capacity,
                )
                absolute = saturation(after)
            time = begin + length
            if loaded and (absolute < needed or absolute_before < needed):
                self.fall_short(begin, length, log(absolute_before / needed), log(absolute / needed))
            if empty and self.short_from is None:
                self.short_from, self.reason = time, "empty"
            if booked:
                self.temperature, self.propane, self.butane, self.absolute, self.time = (
                    after,
                    propane,
                    butane,
                    absolute,
                    time,
                )
                level = air - flow * latent / conductance if decay > 0 else before
                self.from_air += conductance * ((air - level) - (before - level) * mean) * length
                self.boiling += drawn * latent
                self.delivered += drawn * heating
                self.unmet += (wanted - flow) * length * heating
                self.book(capacity, before, empty=empty)
            if empty or (until_short and self.short_from is not None):
                whole = False
                break
        self.temperature, self.propane, self.butane, self.time = after, propane, butane, time
        self.absolute = absolute if loaded or booked else saturation(after)
        return whole

    def fall_short(self, begin: float, length: float, margin_before: float, margin: float) -> None:
        """Take note of a step under load that has not the pressure needed at its beginning, at its end or at both; the margins
        are in ln p, which follows T in nearly a straight line."""
        enough_share = 0.0  # of the step, from its beginning
        if margin_before >= 0:
            enough_share = margin_before / (margin_before - margin)
        elif margin > 0:  # recovering under load
            self.short_time -= length * margin / (margin - margin_before)
        self.short_time += length * (1 - enough_share)
        if self.short_from is None:
            self.short_from, self.reason = begin + length * enough_share, "pressure"

    def book(self, capacity: float, before: float, *, empty: bool) -> None:
        """What is told of a step beside whether it fell short."""
        self.lose(capacity, before)
        self.lowest_absolute = min(self.lowest_absolute, self.absolute)
        self.lowest_temperature = min(self.lowest_temperature, self.temperature)
        if empty or self.time >= self.trace[-1].time + self.sample - 1e-6:
            self.trace.append(self.moment())

    def lose(self, capacity: float, temperature: float) -> None:
        """What left since the step before (vapour, steel fallen dry) took its warmth along, at this temperature."""
        self.carried += (self.capacity - capacity) * (temperature - self.setup.air_temperature)
        self.capacity = capacity

    def outcome(self, end: float, load: float, periods: Sequence[Period], days: int) -> Outcome:
        """The result; where the liquid gave out in a stretch until `end` under `load`, with what is asked from then
        on."""
        if self.time < end:
            self.unmet += load * (end - self.time)
            self.short_time += end - self.time if load > 0 else 0.0
        for later_begin, later_end, later_load in stretches(periods, days, end):
            self.unmet += later_load * (later_end - later_begin)
            self.short_time += later_end - later_begin if later_load > 0 else 0.0
        if self.trace[-1].time < self.time:
            self.trace.append(self.moment())
        setup = self.setup
        self.lose(self.body(self.propane + self.butane)[1], self.temperature)
        stored = self.capacity * (self.temperature - setup.air_temperature)  # at the start there was none
        return Outcome(
            self.short_from,
            self.reason,
            self.short_time,
            self.lowest_absolute,
            self.lowest_temperature,
            self.delivered,
            self.unmet,
            tuple(self.trace),
            EnergyBalance(self.from_air, self.boiling, stored, self.carried),
        )
