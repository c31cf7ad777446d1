"""The overview of a build."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from gasdoc.report import words
from gasdoc.report.words import Quantities, percent
from gasdoc.study import Study
from gasdoc.study.facts import system
from gasdoc.study.people import container_text


def view(study: Study) -> dict[str, Any]:
    """Key figures, next steps, appliances."""
    q = Quantities(system(study.build))
    worst = max((run for zone in study.zones for run in zone.runs if run.use is not None),
                key=lambda run: run.use or 0.0, default=None)  # fmt: skip
    held = study.container
    least = _least_pressure(study)
    figures = [
        ("All appliances at once", q.both(study.load, "load"), f"{len(study.served)} appliances"),
        ("Least pressure at an appliance", q.both(least[1], "supply pressure") if least else Markup(words.NOT_KNOWN), least[0] if least else ""),
        ("Longest path", q.both(max((z.longest for z in study.zones), default=0.0), "run length"),
         "from a regulator to the farthest outlet"),
        ("Most used run", Markup(percent(worst.use)) if worst else Markup(words.NOT_KNOWN),
         f"{worst.id}: share of its capacity" if worst else ""),
        ("Gas on board", q.both(held.fuel_mass * held.number, "weight"), f"{held.number} x {held.name}, filled to the limit"),
        ("A full supply lasts", f"about {held.days:.1f} days" if held.days is not None else words.NOT_KNOWN,
         _lasts_note(study)),
    ]  # fmt: skip
    return {"figures": figures, "next_steps": _next_steps(study), "container_words": container_text(study.resolved),
            "appliances": _appliances(study)}  # fmt: skip


def _least_pressure(study: Study) -> tuple[str, float] | None:
    """Where an appliance has least room above its minimum with everything on, in words, and the pressure there."""
    names = {s.id: s.appliance.name for s in study.served}
    q = Quantities(system(study.build))
    outlets = [o for solved in study.pressures if solved is not None for o in solved.outlets]
    if not outlets or None in study.pressures:
        return None
    worst = min(outlets, key=lambda o: o.full - (o.minimum or 0.0))
    asks = Markup("asks for {} or more").format(q(worst.minimum, "supply pressure")) if worst.minimum else "its plate is not known"
    return Markup("{}, everything on; {}").format(names[worst.id], asks), worst.full


def _lasts_note(study: Study) -> str:
    held = study.container
    if held.days is None:
        return "no appliance says how long it burns a day"
    left_out = f"; without {', '.join(held.unstated)}" if held.unstated else ""
    return f"at the use a cold day is said to have{left_out}; whether it boils off fast enough is another question"


def _next_steps(study: Study) -> list[str]:
    """What the records say comes next; an order of work, not a permission."""
    spec = study.build.spec
    steps = []
    if any(str(f.severity) == "error" for f in study.findings):
        steps.append("Go through the errors below with a licensed fitter before anything is bought or fitted.")
    if spec.fitted is None:
        steps.append("Have the plan looked at, then buy by the materials page and fit.")
    elif not spec.tests:
        steps.append("Test it before any gas is let in: the leak test page has the procedure for this build.")
    if spec.signed_off is None:
        steps.append("Put the questions on the page 'Who decides' to the authority, and have the work signed off.")
    dated = [due for due in study.upkeep if due.due is not None]
    if dated:
        steps.append(f"Next upkeep due: {dated[0].task.task.rstrip('.')} ({dated[0].due}).")
    return steps


def _appliances(study: Study) -> list[list[Any]]:
    q = Quantities(system(study.build))
    rows = []
    for s in study.served:
        a = s.appliance
        jetted = f"{a.jetted_for.gas}, {a.jetted_for.pressure.text}" if a.jetted_for else words.NOT_KNOWN
        failure = {True: "yes", False: "no", None: words.NOT_KNOWN}[a.flame_failure]
        rows.append([a.name, a.kind.replace("-", " "), q.number(s.load, "load"), jetted, a.flue or words.NOT_KNOWN, failure,
                     q(s.per_day, "energy") if s.per_day is not None else words.NOT_KNOWN])  # fmt: skip
    return rows
