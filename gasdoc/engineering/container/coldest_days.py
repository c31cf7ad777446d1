"""Days on end in the cold: how long containers that feed one after another last under the same use every day."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.burning import Period, stretches
from gasdoc.engineering.container.cold_day import STEP, ContainerState, Setup, equal_steps, shortage

SETTLED = 3
"""Days after which one day is like the next but for what has been drawn: liquid and steel follow the air within hours."""


WORTH_WHILE = 20
"""Days of use a container has to hold for `endure` to look for days to pass over; fewer are sooner simulated."""


class Lasting(Struct, frozen=True):
    """How long a full set lasts, day after day.

    `days` until it first falls short, counted from the first midnight of the simulation; `short` False where it had not
    within the days looked at. `left` kg in each container then. `changed` for each container that first fell short of
    itself: when, s, and what it then still held, kg; None where it never did.
    """

    days: float
    short: bool
    left: tuple[float, ...]
    changed: tuple[tuple[float, float] | None, ...]


def endure(setup: Setup, periods: Sequence[Period], number: int, most: int, step: float = STEP) -> Lasting:
    """How long `number` equal containers that feed one at a time last under the same `periods` every day, at most `most`
    days.

    At every midnight of the simulation the first container that has the pressure feeds again, as a changeover that works
    by pressure goes back to the one that has warmed up; within a day it only goes on to the next. Those that rest warm up.
    Containers that feed together are one under its share of the load (`in_parallel`).

    Of pure propane or butane, days are passed over while the container that feeds holds plenty: a fuller one never falls
    short before an emptier one, so where an emptier one carries SETTLED days the days before it are carried too. Raises
    ValueError for temperatures or pressures outside the property fits.

    454 MJ last five days at 86.4 MJ a day.
    >>> from gasdoc.engineering.container.vessel import of_capacity
    >>> from gasdoc.engineering.supply.lpg import PROPANE
    >>> setup = Setup(of_capacity(0.0216, 0.3, "upright"), 13.0, 8.0, 9.07, PROPANE, 293.15, 120e3, 101_325.0)
    >>> lasting = endure(setup, (Period(0.0, DAY, 1000.0),), 1, 30)
    >>> lasting.short, int(lasting.days)
    (True, 5)
    """
    runs = [ContainerState(setup, 0.0, DAY) for _ in range(number)]
    use = [part for part in stretches(periods, 1, 0.0) if part[2] > 0]
    changed: list[tuple[float, float] | None] = [None] * number
    day, looked_at = 0, -1
    while day < most:
        lead = next((i for i, run in enumerate(runs) if run.ready(day * DAY, step)), number)
        if looked_at < lead < number:
            looked_at = lead
            passed = _days_to_spare(runs[lead], periods, step, most - day)
            if passed > 0:
                runs[lead].pass_over(passed, sum(p.load * (p.end - p.start) for p in periods))
                day += passed
                continue
        short = _one_day(runs, lead, day * DAY, use, step, changed)
        if short is not None:
            return Lasting(short / DAY, True, tuple(run.left for run in runs), tuple(changed))
        day += 1
    return Lasting(float(most), False, tuple(run.left for run in runs), tuple(changed))


def _one_day(
    runs: Sequence[ContainerState],
    lead: int,
    midnight: float,
    use: Sequence[tuple[float, float, float]],
    step: float,
    changed: list[tuple[float, float] | None],
) -> float | None:
    """One day of `endure` from container `lead` on; the time at which all that are left fell short, None if they last."""
    short: float | None = None
    for begin, end, load in use:
        waiting = [(start, start + length) for start, length in equal_steps(midnight + begin, midnight + end, step)]
        at = 0
        while at < len(waiting):
            start = waiting[at][0]
            while lead < len(runs) and not runs[lead].ready(start, step):
                lead += 1
            if lead == len(runs):
                return start if short is None else short
            run = runs[lead]
            run.short_from = None
            whole = run.carry(((start, stop - start) for start, stop in waiting[at:]), load, until_short=True)
            short = run.short_from
            if whole:
                break
            assert short is not None
            changed[lead] = changed[lead] or (short, run.left)
            lead += 1
            at = sum(run.time >= stop - 1e-6 for _, stop in waiting)
            if at < len(waiting) and waiting[at][0] < run.time - 1e-6:  # it gave out within a step
                waiting[at] = run.time, waiting[at][1]
    return short if lead == len(runs) else None


def _days_to_spare(run: ContainerState, periods: Sequence[Period], step: float, most: int) -> int:
    """How many days, at most `most`, `run` carries for sure before it is worth while to look at each."""
    per_day = sum(p.load * (p.end - p.start) for p in periods) / run.heating
    if not run.pure or per_day <= 0 or run.left < WORTH_WHILE * per_day:
        return 0
    low, high, back = 0, min(int(run.left / per_day) - 1, most), 0
    while low < high:  # from the most on, since what is nearly empty falls short soon and is soon looked at
        middle = (low + high + 1) // 2 if low else max(high - back, 1)
        emptier = replace(run.setup, fuel_mass=run.left - middle * per_day)
        if shortage(emptier, periods, days=SETTLED, step=step) is None:
            low = middle
        else:
            high, back = middle - 1, 2 * back + 1
    return low
