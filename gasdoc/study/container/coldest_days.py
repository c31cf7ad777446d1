"""How long a full supply lasts in the coldest air, day after day with the build's own use, against what is asked of it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from msgspec import Struct

from gasdoc import units
from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.burning import in_parallel
from gasdoc.engineering.container.coldest_days import Lasting, endure
from gasdoc.quantities import Day, Kilogram, Ratio, Second, Shown
from gasdoc.source import Path
from gasdoc.study.container.cold_day import HEAT_WORDS, Cold, Heat, Rig
from gasdoc.study.container.holding import Container
from gasdoc.study.facts import Installation, system
from gasdoc.study.findings import Finding, warning

FAR = 60
"""Days looked ahead; a supply that lasts longer lasts "at least" so long."""

FARTHEST = 366
"""Days looked ahead where more are asked, of pure propane or butane; of a mixture every day is simulated, and FAR is all."""

_AT: Path = ("container", "must_last")


class Usable(Struct, frozen=True):
    """What of a full supply comes in the coldest air.

    `days` until it first falls short, from noon of the first; `at_least` where it had not within the days looked at.
    `fill_left` is the share of a full supply that is then left, `left` kg in each container (in one of those that feed
    together, for each bank). `changed` as in `Lasting`. `heat` is the end of the heat it is worked out with. `must_last` days are asked,
    None where the spec does not say.
    """

    heat: Heat
    days: Day
    at_least: bool
    fill_left: Ratio
    left: tuple[Kilogram, ...]
    changed: tuple[tuple[Second, Kilogram] | None, ...]
    must_last: Day | None

    @property
    def enough(self) -> Shown[bool | None]:
        """Whether it lasts as long as asked; None where nothing is asked, or more than was looked ahead."""
        if self.must_last is None:
            return None
        lasts = self.days >= self.must_last * (1 - 1e-9)
        return None if self.at_least and not lasts else lasts


def usable(build: Installation, cold: Cold | None, heat: Heat | None = None, fill: float = 1.0) -> Usable | None:
    """How long a supply filled to the share `fill` of full lasts with `heat`, the careful end where none is named; None where
    coldest air or use is not known."""
    if cold is None or cold.coldest is None or not cold.rig.periods:
        return None
    asked = build.spec.container.must_last
    must_last = float(asked) / DAY if asked is not None else None
    end = heat or cold.rig.careful
    found = lasts(cold.rig, cold.coldest, end, ahead(cold.rig, must_last), fill)
    share = sum(found.left) / len(found.left) / cold.rig.full_mass
    return Usable(end, found.days, not found.short, share, found.left, found.changed, must_last)


def ahead(rig: Rig, must_last: float | None) -> int:
    """How many days to look ahead where `must_last` are asked."""
    return max(FAR, min(math.ceil(must_last or 0.0), FARTHEST if rig.gas.propane in (0.0, 1.0) else FAR))


@lru_cache(maxsize=1024)
def lasts(rig: Rig, air: float, heat: Heat, most: int, fill: float = 1.0) -> Lasting:
    """How long the containers of a rig last, filled to the share `fill` of full at the beginning, at most `most` days."""
    if air <= rig.need.floor:
        return Lasting(0.0, True, (rig.full_mass * fill,) * rig.sides, (None,) * rig.sides)
    return endure(rig.setup(air, fill, heat), in_parallel(rig.periods, rig.feeding), rig.sides, most)


def days_words(days: float, at_least: bool = False) -> str:
    """A number of days in words, rounded down: whole ones from ten on, tenths below."""
    number = (
        f"{math.floor(days + 1e-9)}" if days >= 10 else f"{math.floor(days * 10 + 1e-6) / 10:.1f}".removesuffix(".0")
    )
    return f"{'at least' if at_least else 'about'} {number} day{'' if number == '1' else 's'}"


def lasting_findings(build: Installation, container: Container, cold: Cold | None) -> Iterator[Finding]:
    """Whether a full supply lasts as long as is asked: in the coldest air, or where that is not known by its contents alone.

    A warning: how long it should last is a wish, and to fill it sooner mends it; nothing that is fitted is wrong.
    """
    asked = build.spec.container.must_last
    if asked is None:
        return
    found = usable(build, cold)
    if found is None:
        if container.days is not None and container.days * DAY < asked * (1 - 1e-9):
            yield _too_short(
                f"By its contents a full supply lasts {days_words(container.days)}", asked.text, "computed"
            )
        return
    if found.enough is not False or cold is None or cold.coldest is None:
        return
    shown = system(build)
    air = units.show(cold.coldest, "temperature", shown)
    holds = f", its contents would do for {days_words(container.days)}" if container.days is not None else ""
    left = f"{found.fill_left * 100:.0f} % of the gas is still in it then"
    rests = f"computed day after day, with the build's own use and {HEAT_WORDS[found.heat]}"
    yield _too_short(f"In air of {air} a full supply lasts {days_words(found.days)} ({left}{holds})", asked.text, rests)


def _too_short(lasts: str, asked: str, rests: str) -> Finding:
    return warning(
        "lasts-too-short",
        "container",
        _AT,
        f"{lasts}. It is to last {asked}.",
        "Heaters and burners go out before the next fill. In the cold the last of the gas does not boil off fast enough.",
        "Use more or larger containers, or fill more often. Where one feeds after the other, draw from both at once. See the "
        "container page.",
        rests,
    )
