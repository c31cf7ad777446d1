"""The headline answers of a build: does the gas get there, does a cold night go well, how long does it last, is it proven.

The overview, `gasdoc check` and the JSON ask here, so that they cannot differ.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Annotated, TypeAlias

from msgspec import Struct

from gasdoc import units
from gasdoc.quantities import Aside, Shown
from gasdoc.source import Severity
from gasdoc.study.container.cold_day import HEAT_WORDS, Cell, Cold, Heat, SimulatedDay, clock, fill_words
from gasdoc.study.container.coldest_days import Usable, days_words
from gasdoc.study.container.holding import Container
from gasdoc.study.facts import OutletPressure, the_regulator
from gasdoc.study.findings import Finding
from gasdoc.study.proof.standing import Standing
from gasdoc.study.supply.lines import SizedZone


class AnswerFigure(Struct, frozen=True):
    """A quantity in a sentence, in SI; `kind` is one of `units.kinds()`. `both`: a page adds the other unit system."""

    value: float
    kind: str
    both: bool = False


Words: TypeAlias = tuple[str | AnswerFigure, ...]
"""A sentence whose figures are still numbers: a page shows them in its own way."""


class Headline(Struct, frozen=True):
    """An answer in a few words, and what it rests on; `system` has the units that the build shows first."""

    word: str
    words: Annotated[Words, Aside("`why` is the same as text")]
    system: Annotated[units.System, Aside("it is that of the build")]

    @property
    def why(self) -> Shown[str]:
        """What the answer rests on, as text in the build's own units."""
        return "".join(
            part if isinstance(part, str) else units.show(part.value, part.kind, self.system) for part in self.words
        )


class Answers(Struct, frozen=True):
    """The headline answers of a build; `standing` says how far it is proven."""

    standing: Headline
    gas_gets_there: Headline
    cold_night: Headline
    full_supply: Headline


def proven(standing: Standing, system: units.System) -> Headline:
    """How far the build is proven, by its records."""
    return Headline(standing.word, (standing.detail,), system)


# --- the gas gets there ---------------------------------------------------------------------------------------------

AGAINST = frozenset({"above-maximum", "connector-too-small", "jetted-for-another-gas", "jetted-for-another-pressure"})
"""Errors about an appliance and the gas at it that no pressure tells; a test holds the answers to all errors of the kind."""


def least_pressure(zones: Sequence[SizedZone]) -> OutletPressure | None:
    """The appliance with least room above its minimum with everything on; None where a pressure is not known."""
    outlets = [o for zone in zones if zone.pressure is not None for o in zone.pressure.outlets]
    if not outlets or any(zone.pressure is None or not zone.pressure.whole for zone in zones):
        return None
    return min(outlets, key=lambda o: o.full - (o.minimum or 0.0))


def at_least(outlet: OutletPressure) -> Words:
    """Where an appliance has its pressure, and what its plate asks."""
    asks = ("asks for ", AnswerFigure(outlet.minimum, "supply pressure"), " or more") if outlet.minimum else None
    return (f"{outlet.name}, everything on; ", *(asks or ("its plate is not known",)))


def gas_gets_there(zones: Sequence[SizedZone], findings: Iterable[Finding], system: units.System) -> Headline:
    """Whether the gas gets to every appliance, by the numbers."""
    word, why = _gets_there(zones, tuple(findings))
    return Headline(word, why, system)


def _gets_there(zones: Sequence[SizedZone], findings: Sequence[Finding]) -> tuple[str, Words]:
    solved = [zone.pressure for zone in zones if zone.pressure is not None]
    unknown_at = [o.name for zone in solved for o in zone.behind]
    where = f". What reaches {', '.join(unknown_at)} is not known" if unknown_at else ""
    lacking = tuple(dict.fromkeys(lack.regulator for zone in solved for lack in zone.lacks))
    if lacking:
        one = len(lacking) == 1
        names = " and ".join(the_regulator(id_) for id_ in lacking)
        word = f"not with {'this regulator' if one else 'these regulators'}"
        return word, (f"{names} cannot hold {'its' if one else 'their'} pressure{where}",)
    if len(solved) < len(zones) or unknown_at:
        return "not known", (f"a run has no size{where}",)
    outlets = [o for zone in solved for o in zone.outlets]
    names_of = {o.id: o.name for o in outlets}
    rests: Words = ()
    if (least := least_pressure(zones)) is not None:
        rests = (AnswerFigure(least.full, "supply pressure", both=True), " at ", *at_least(least))
    if bare := _names(o for o in outlets if o.connector_drop is None):
        rests = (*rests, f". The connector's own drop at {bare} is not known and not in it")
    if any(zone.hose is not None and zone.hose.drop is None for zone in solved):
        rests = (*rests, ". What the hose behind the regulator takes is not known and not in it")
    if short := _names(o for o in outlets if o.short):
        return f"not to {short}", rests
    if any(f.code in ("hose-too-small", "hose-undersized") for f in findings):
        narrow = "The hose behind the regulator is too small"
        return "not with this hose", (*rests, f". {narrow}" if rests else narrow)
    if small := _too_small(zones, findings):
        tables = any(zone.conditions.by_tables for zone in zones)
        too_small = f"Too small{' by the tables' if tables else ''}: {', '.join(small)}"
        word = "not by the sizing tables" if tables else "not with the drop that is allowed"
        return word, (*rests, f". {too_small}" if rests else too_small)
    against = [f.subject for f in findings if f.severity is Severity.ERROR and f.code in AGAINST]
    if against:
        names = ", ".join(dict.fromkeys(names_of[id_] for id_ in against))
        return "not as it should", (*rests, f". Errors stand against {names}")
    if weak := _names(o for o in outlets if o.weak):
        return "barely", (*rests, f". Not with the regulator at the low end of its tolerance: {weak}")
    if unknown := _names(o for o in outlets if o.minimum is None):
        return "as far as the plates are known", (*rests, f". No least pressure stated for {unknown}")
    return "yes, by the numbers", rests


def _names(outlets: Iterable[OutletPressure]) -> str:
    return ", ".join(dict.fromkeys(o.name for o in outlets))


def _too_small(zones: Sequence[SizedZone], findings: Sequence[Finding]) -> list[str]:
    """The runs that are too small: by the tables where they rule, else where the drop is told to be too large."""
    undersized = {f.subject for f in findings if f.code == "run-undersized"}
    return [
        run.id
        for zone in zones
        for run in zone.runs
        if (not (run.longest.enough or run.branch.enough) if zone.conditions.by_tables else run.id in undersized)
    ]


# --- the container --------------------------------------------------------------------------------------------------

_IN: dict[Heat, str] = {
    "moving": "in air that moves a little",
    "still": "in still air, as in a locker",
    "less": HEAT_WORDS["less"],
}


def cold_night(cold: Cold | None, container: Container, system: units.System) -> Headline:
    """Whether the container lasts a cold night."""
    word, why = _night(cold, container, system)
    return Headline(word, (why,), system)


def _night(cold: Cold | None, container: Container, system: units.System) -> tuple[str, str]:
    if cold is None:
        return "not known", "the regulator's inlet cannot be right"
    if cold.coldest is None:
        return "not known", "the coldest air is not stated"
    if not cold.rig.periods:
        return "not known", "no appliance says how long it burns a day"
    air = f"{units.show(cold.coldest, 'temperature', system)}, {_IN[cold.rig.stated]}"
    left_out = f". Not counted: {', '.join(container.unstated)}" if container.unstated else ""
    failing = [run for run in cold.runs if not run.enough]
    best = cold.runs[0]
    if not best.enough:
        worst = failing[-1]
        return (
            "falls short",
            f"at {air}, even full: it {ends_words(best)}. {fill_words(worst.fill).capitalize()} it {ends_words(worst)}{left_out}",
        )
    if failing:
        short, why = (
            f"lasts {fill_words(best.fill)}",
            f"at {air}. {fill_words(failing[0].fill).capitalize()} it {ends_words(failing[0])}",
        )
    else:
        short, why = "lasts", f"at {air}, also when one fifth full, at the build's own use"
    if cold.narrow is not None:
        still = ends_words(cold.rig.short(cold.coldest, cold.narrow, "still"))
        short = short if failing else "lasts, narrowly"
        why = f"{why}. On a still night it {still} {fill_words(cold.narrow)}"
    if cold.table is not None and not cold.table.enough:
        return "doubtful", f"{why}, by the heat balance. The trade's table gives less than is asked{left_out}"
    return short, f"{why}. Tens of percent uncertain{left_out}"


def ends_words(run: SimulatedDay | Cell) -> str:
    """How a day ends, within a sentence about the container."""
    if run.short_from is None:
        return "lasts"
    return f"is {'empty' if run.reason == 'empty' else 'short of pressure'} from {clock(run.short_from)}"


def full_supply(usable: Usable | None, cold: Cold | None, container: Container, system: units.System) -> Headline:
    """How long a full supply lasts."""
    left_out = f". Not counted: {', '.join(container.unstated)}" if container.unstated else ""
    if usable is None or cold is None or cold.coldest is None:
        if container.days is None:
            return Headline("not known", ("no appliance says how long it burns a day",), system)
        why = f"by its contents alone. In the cold the last of it may not come{left_out}"
        return Headline(days_words(container.days), (why,), system)
    air = units.show(cold.coldest, "temperature", system)
    contents = f". Its contents would do for {days_words(container.days)}" if container.days is not None else ""
    rests = "still air" if cold.rig.locker else "the careful end of the heat"
    why = f"day after day in air of {air}, by {rests}{contents}{left_out}"
    return Headline(days_words(usable.days, usable.at_least), (why,), system)
