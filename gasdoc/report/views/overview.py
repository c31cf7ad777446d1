"""The overview of a build."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from gasdoc.catalog.regulators import regulators
from gasdoc.report.content import words
from gasdoc.report.content.words import Quantities, day_and_month, percent
from gasdoc.study import Study
from gasdoc.study.answers import at_least, least_pressure
from gasdoc.study.referral.doubts import listed_words
from gasdoc.study.referral.masked_numbers import plates
from gasdoc.study.upkeep import Due
from gasdoc.units import drop_kind


def view(study: Study, svg: Markup) -> dict[str, Any]:
    """The drawing `svg`; the answers, progress, ways on, key figures, next steps, appliances."""
    q = Quantities.of(study.build)
    container = study.container
    least, answers = least_pressure(study.zones), study.answers
    figures = [
        ("All appliances at once", q.both(study.load, "load"), _and_gas(study, q)),
        (
            "Least pressure at an appliance",
            q.both(least.full, "supply pressure") if least else Markup(words.NOT_KNOWN),
            q.sentence(at_least(least)) if least else "",
        ),
        (
            "Longest path",
            q.both(max((z.longest for z in study.zones), default=0.0), "run length"),
            "from a regulator to the farthest outlet",
        ),
        _fullest(study, q),
        (
            "Gas on board",
            q.both(container.fuel_mass * container.number, "weight"),
            f"{container.number} x {container.name}, filled to the limit",
        ),
        ("A full supply lasts", answers.full_supply.word, answers.full_supply.why),
    ]
    return {
        "svg": svg,
        "drawn": study.route.measured,
        "joints": len(study.leak_test.joints),
        "lines": len(study.shopping.to_buy),
        "progress": progress(study, q),
        "figures": figures,
        "next_steps": list(_next_steps(study)),
        "answers": answers,
        "reaches_why": q.sentence(answers.gas_gets_there.words),
        "wrong": _wrong(study),
        "what": Markup("{}: {} at once.").format(
            ", ".join(s.appliance.name for s in study.served), q.both(study.load, "load")
        ),
        "appliances": list(_appliances(study)),
        "plates": [[p.about, p.what, p.shown] for p in plates(study.build)],
    }


def progress(study: Study, q: Quantities) -> list[dict[str, Any]]:
    """The six steps with their dates."""
    return [
        {"name": m.name, "state": m.state, "date": m.date, "said": m.date and day_and_month(m.date, q.system)}
        for m in study.progress
    ]


def _fullest(study: Study, q: Quantities) -> tuple[str, Markup, str | Markup]:
    """How full the line is: by a code's tables the most used run, by calculation the path that loses most of its drop."""
    tabled = [run for zone in study.zones if zone.conditions.by_tables for run in zone.runs if run.use is not None]
    if tabled:
        worst = max(tabled, key=lambda run: run.use or 0.0)
        return "Most used run", Markup(percent(worst.use)), f"{study.build.labels[worst.id]}: share of its capacity"
    lost = [
        (
            float(zone.regulator.outlet) - run.pressure.gauge,
            zone.conditions.drop,
            float(zone.regulator.outlet),
            study.build.labels[run.id],
        )
        for zone in study.zones
        if zone.pressure is not None and zone.pressure.whole
        for run in zone.runs
        if run.pressure is not None
    ]
    if not lost:
        return "Largest drop along a path", Markup(words.NOT_KNOWN), ""
    drop, allowed, source, end = max(lost, key=lambda one: one[0] / one[1])
    kind = drop_kind(source, q.system)
    return (
        "Largest drop along a path",
        q.both(drop, kind),
        Markup("to the end of the {}, where {} is allowed").format(end, q(allowed, kind)),
    )


def _and_gas(study: Study, q: Quantities) -> Markup:
    """How many appliances there are, and the gas they burn in an hour where regulators are sold by it."""
    number = len(study.served)
    appliances = f"{number} appliance{'s' if number != 1 else ''}"
    if not regulators(study.build.region.practice.rows).sizes:
        return Markup(appliances)
    return Markup("{} of gas; {}").format(q(sum(s.mass for s in study.served), "gas mass"), appliances)


def _wrong(study: Study) -> str:
    """How many findings there are, in words; the worst of them stand below it."""
    counts = [(word, sum(1 for f in study.said if str(f.severity) == word)) for word in ("error", "warning")]
    return (
        ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts if n)
        or "nothing found by the checks made here"
    )


def _next_steps(study: Study) -> Iterator[str | Markup]:
    """What the records say comes next; an order of work, not a permission."""
    spec = study.build.spec
    if any(str(f.severity) == "error" for f in study.findings):
        yield "Go through the errors with a licensed fitter before anything is bought or fitted."
    if spec.fitted is None:
        if study.worklist.open:
            yield "Go through the page 'What is open', from its top. It says what to decide, read, measure and ask."
        yield "Have the plan looked at by a licensed fitter. Then buy by the materials page and fit."
    elif study.standing.trouble:
        yield "Keep the container shut, and have what the recorded tests show seen to by a licensed fitter."
    elif study.standing.word == "fitted":
        yield (
            "Test it: the leak test page has the procedure for this build, and says which tests are open."
            if spec.tests
            else "Test it before any gas is let in: the leak test page has the procedure for this build."
        )
    if not study.standing.signed:
        yield "Put the questions on the page 'Who decides' to the authority, and have the work signed off."
    dated = [due for due in study.upkeep if due.due is not None and not due.habit]
    if dated:
        yield _upkeep(dated[0])


def _upkeep(due: Due) -> Markup:
    """The earliest date of upkeep. Whether it has passed depends on a clock, which no page has."""
    task = due.task
    again = (
        ", the date marked on it"
        if due.marked
        else f", then every {task.interval.text.removeprefix('1 ')}"
        if task.interval and not task.once
        else ""
    )
    about = f" ({due.part})" if due.part else ""
    return Markup(
        "Besides what is done every week or oftener, upkeep is first due {}{}: {}{}. <code>gasdoc check</code> says what is overdue."
    ).format(due.due, again, task.short, about)


def _appliances(study: Study) -> Iterator[list[Any]]:
    q = Quantities.of(study.build)
    for s in study.served:
        a = s.appliance
        jetted = f"{a.jetted_for.gas}, {a.jetted_for.pressure.text}" if a.jetted_for else words.NOT_KNOWN
        failure = {True: "yes", False: "no", None: words.NOT_KNOWN}[a.flame_failure]
        plate = [a.input.text if s.basis is None else f"{a.input.text} {s.basis}"]
        plate += [f"listed for {listed_words(a)}"] if a.listed_for else []
        plate += [f"made {a.manufactured}"] if a.manufactured is not None else []
        yield [
            a.name,
            a.kind.replace("-", " "),
            "; ".join(plate),
            q.number(s.load, "load"),
            jetted,
            a.flue or words.NOT_KNOWN,
            failure,
            q(s.per_day, "energy") if s.per_day is not None else words.NOT_KNOWN,
        ]
