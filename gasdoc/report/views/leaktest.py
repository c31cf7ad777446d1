"""The leak test, filled in for a build: what to do before it, the tests in their order, and what the records show."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from gasdoc import units
from gasdoc.engineering.leaktest import DEFAULT_LIMIT
from gasdoc.regions import leak_methods
from gasdoc.report.chart import Axis, LineChart, Series, line_chart
from gasdoc.report.words import Quantities
from gasdoc.spec.model import Tap, Valve
from gasdoc.study import Study
from gasdoc.study.facts import system
from gasdoc.study.halves import FEW, Outcome, halves
from gasdoc.study.leakplan import Hold
from gasdoc.study.leaktest import Asked
from gasdoc.study.leakverdict import OUTCOME_WORDS, Judged, help_text, test_name

TEST_TITLES = {
    "piping": "Pressure test of the piping",
    "appliances": "Test with appliances connected",
    "container-side": "Container side",
    "leak-check": "Leak check with gas",
    "flow": "Delivered pressure and lock-up",
}
"""The kinds of test in the order in which they are made."""

WHY = {
    "missing": "not tested yet, as recorded",
    "not-passed": "recorded, not passed",
    "to-come": "recorded with a date that is still to come",
    "shared": "recorded, but another spec holds the same record",
    "old-code": "passed, but it names no tightness code of this form",
    "no-covers": "passed, but the record does not say what it covers",
    "stale": "passed, but on another state of the build",
    "disturbed": "passed, but the system was disturbed since",
}

MARKS = {
    "pass": "note",
    "shown": "note",
    "could-not-tell": "warning",
    "outside": "error",
    "suspected-leak": "error",
    "leak": "error",
    "danger": "error",
}


def view(study: Study) -> dict[str, Any]:
    """Everything the page shows, in its order."""
    tests = study.leak_test
    q = Quantities(system(study.build))
    several = len(study.zones) > 1
    return {
        "tests": tests,
        "several": several,
        "titles": TEST_TITLES,
        "limits": limits,
        "proofs": _proofs(study, several),
        "passed": sum(1 for proof in study.standing.proofs if proof.why is None),
        "isolate": _isolate(study),
        "stages": [_stage(study, kind, title, q) for kind, title in TEST_TITLES.items()],
        "plans": [(plan, *_plan_table(plan.holds, q)) for plan in study.plans],
        "limit": DEFAULT_LIMIT,
        "sweep": _sweep(study),
        "joint_groups": joint_groups(study),
        "halves": _halves(study),
        "verdicts": [_verdict(study, j, q) for j in study.judged],
        "sight": _sight(study, q),
        "sight_unit": q.unit("leak rate"),
        "beside": [a for a in tests.beside if a.test.kind != "flow"],
    }


def limits(asked: Asked, q: Quantities) -> Markup | None:
    """The gauge pressures a test is made at on this build, least and greatest; None where the rule has only words."""
    if asked.pressure is None:
        return Markup("at most {}").format(q.pressure(asked.highest)) if asked.highest is not None else None
    under = Markup(", below lock-up") if asked.test.pressure.below is not None else Markup("")
    return q.pressures(asked.pressure, asked.highest) + under


def _proofs(study: Study, several: bool) -> list[list[Any]]:
    """What each asked test stands on."""
    rows: list[list[Any]] = []
    for proof in study.standing.proofs:
        name = proof.asked.test.name + (f", behind {proof.asked.zone}" if several else "")
        if proof.judged is None:
            rows.append([name, "none", "not tested yet, as recorded"])
            continue
        record = {"text": proof.judged.test.date.isoformat(), "href": f"#record-{proof.judged.index + 1}"}
        said = OUTCOME_WORDS[proof.judged.outcome].lower() if proof.why in (None, "not-passed") else WHY[proof.why]
        rows.append([name, record, said])
    return rows


def _isolate(study: Study) -> list[Any]:
    """What to take off, shut and cap on this build before the pressure test."""
    spec = study.build.spec
    count = spec.container.number
    steps: list[Any] = [
        {
            "text": f"Shut the container valve{f's, all {count}' if count > 1 else ''}. Burn off what is in the line, or let it out outdoors."
        },
        {
            "text": f"Disconnect the first regulator at its outlet and take it out of the test ({spec.regulator.outlet.text} delivered).",
            "note": "Most low-pressure regulators and controls stand no more than 14 inH2O (35 mbar).",
        },
    ]
    for node in study.build.nodes:
        if node.kind == "regulator":
            steps.append(
                f"Take out the regulator {node.id}, cap both ends, and test the pipe on each side of it by itself."
            )
    zone_of = {outlet: zone.zone.id for zone in study.zones for outlet, _ in zone.zone.outlets}
    for s in study.served:
        place = f" ({s.outlet.place})" if s.outlet.place else ""
        own = (
            "and cap its line"
            if s.outlet.shut_off is False
            else "at its shut-off valve, open that valve, and cap its outlet"
        )
        off = f"{s.appliance.name}{place}: disconnect it {own} with a fitting."
        if study.leak_test.appliances_connected(zone_of[s.id]):
            steps.append(
                {
                    "text": off,
                    "note": "The rule's test has it connected. Leave it so, its taps shut and its shut-off valve open, only where its "
                    "maker says that it may see the test pressure.",
                }
            )
        else:
            steps.append(off)
    for node in study.build.nodes:
        if isinstance(node.part, Valve):
            place = f" ({node.part.place})" if node.part.place else ""
            steps.append(f"{node.id}{place}: leave it open, so that both its sides are tested.")
    steps.append("Plug every other open end with a fitting. A closed valve is no cap.")
    return steps


def _stage(study: Study, kind: str, title: str, q: Quantities) -> dict[str, Any]:
    rows = [a for a in study.leak_test.asked if a.test.kind == kind]
    shown = (
        rows or [a for a in study.leak_test.beside if a.test.kind == kind and kind in ("flow", "container-side")][:1]
    )
    steps = {
        "piping": _piping,
        "appliances": _appliances,
        "container-side": _container_side,
        "leak-check": _leak_check,
        "flow": _flow,
    }[kind]
    return {
        "kind": kind,
        "title": title,
        "rows": shown,
        "asked": bool(rows),
        "steps": list(steps(study, shown, q)) if shown else [],
    }


def _piping(study: Study, rows: list[Asked], q: Quantities) -> Iterator[Markup]:
    taps = [node for node in study.build.nodes if isinstance(node.part, Tap)]
    yield Markup("Do the list under 'Before the test', and leave every joint open to view.")
    if taps:
        places = "; ".join(
            f"{node.id}{f' ({node.part.place})' if isinstance(node.part, Tap) and node.part.place else ''}"
            for node in taps
        )
        yield Markup("Fit pump and gauge at the open end where the regulator came off, or at a test tap: {}.").format(
            places
        )
    else:
        yield Markup("Fit pump and gauge, with a valve between them, at the open end where the regulator came off.")
    yield Markup(
        "Tape a thermometer to the tubing, in the shade. Note the barometer, as it stands here and not reduced to sea level."
    )
    for a in rows:
        if a.pressure is None:
            continue
        behind = Markup("Behind {}: pump").format(a.zone) if len(rows) > 1 else Markup("Pump")
        scale = (
            Markup("; a dial gauge reads at most {} at full scale").format(q.pressure(a.full_scale))
            if a.full_scale
            else Markup("")
        )
        highest = (
            Markup(", and not above {}").format(q.pressure(float(a.test.pressure.maximum)))
            if a.test.pressure.maximum
            else Markup("")
        )
        yield Markup("{} up slowly with {} to {}{}{}. Never oxygen, never fuel gas. Stand clear.").format(
            behind, _listed(a.test.medium), q.pressure(a.pressure), highest, scale
        )
    settle = max((float(a.test.settle) for a in rows if a.test.settle), default=0.0)
    yield Markup("Shut the valve to the pump. Let line and air come to one temperature: {}.").format(
        Markup("at least {}").format(q(settle, "hold"))
        if settle
        else "10 to 15 min are usual (common practice, no source)"
    )
    hold = max((float(a.test.hold) for a in rows if a.test.hold), default=None)
    yield Markup(
        "Read gauge, thermometer, barometer and clock; hold {}, longer if the table above says so; read all four again."
    ).format(
        Markup("at least {}").format(q(hold, "hold"))
        if hold
        else "as long as the authority asks (the text read gives no time)"
    )
    yield Markup(
        "With the pressure still on, put leak fluid on every joint of the list below. Then let the pressure go slowly."
    )


def _appliances(study: Study, rows: list[Asked], q: Quantities) -> Iterator[Markup]:
    yield Markup("Connect {}, burner valves shut, shut-off valves open.").format(
        _listed([s.appliance.name for s in study.served])
    )
    for a in rows:
        if a.pressure is not None:
            most = (
                Markup(" to {}").format(q.pressure(float(a.test.pressure.maximum)))
                if a.test.pressure.maximum
                else Markup("")
            )
            hold = Markup("; hold {}").format(q(float(a.test.hold), "hold")) if a.test.hold else Markup("")
            yield Markup("With {} at {}{}{}. Read before and after.").format(
                _listed(a.test.medium, "or"), q.pressure(a.pressure), most, hold
            )
    yield Markup("Put leak fluid on both ends of every connector.")


def _container_side(study: Study, _rows: list[Asked], _q: Quantities) -> Iterator[Markup]:
    spec = study.build.spec
    yield Markup("Join the regulator. No flame and no spark anywhere near; doors and vents open.")
    yield Markup("Open the container valve slowly: what lies before the regulator now stands at container pressure.")
    if spec.container.number > 1:
        yield Markup("Do this with each of the {} containers by itself ({}).").format(
            spec.container.number, spec.container.manifold
        )
    yield Markup("Put leak fluid on each of these joints and watch it for half a minute: {}.").format(
        "; ".join(j.text for j in study.leak_test.joints if j.zone == "container side")
    )


def _leak_check(_study: Study, rows: list[Asked], q: Quantities) -> Iterator[Markup]:
    for a in rows:
        where = Markup("Behind {}: ").format(a.zone) if len(rows) > 1 else Markup("")
        yield where + Markup(
            "All appliances connected, burners and pilots off, their shut-off valves open. Fit the gauge: {}."
        ).format(_lower(a.test.gauge.text))
        yield where + Markup("{}.").format(a.test.pressure.text.rstrip("."))
        if a.pressure is not None:
            yield where + Markup("On this build that is {}.").format(limits(a, q))
        hold = (
            Markup("hold {}").format(q(float(a.test.hold), "hold"))
            if a.test.hold
            else Markup("hold as long as the authority asks")
        )
        yield where + Markup(
            "Read gauge, thermometer and clock; {}, longer if the table above says so; read again."
        ).format(hold)
    yield Markup("Put leak fluid on every joint that was opened since the piping was tested.")


def _flow(study: Study, rows: list[Asked], q: Quantities) -> Iterator[Markup]:
    half, lit = study.load / 2, []
    total = 0.0
    for s in sorted(study.served, key=lambda s: -s.load):
        if total >= half:
            break
        lit.append(s.appliance.name)
        total += s.load
    yield Markup("Burn about half the load: {} ({} of {}). Read the gauge at a test point.").format(
        _listed(lit), q(total, "load"), q(study.load, "load")
    )
    for a in rows:
        yield Markup("The rule asks: {}.").format(a.test.pressure.text.rstrip("."))
        if a.test.pressure.by_plates:
            yield _by_plates(a, q)
    yield Markup("Shut all burners and read again: that is the lock-up pressure.")
    for zone, solved in zip(study.zones, study.pressures, strict=True):
        if zone.zone.delivers and solved is not None:
            stated = (
                "as its data sheet says"
                if solved.lock_up_known
                else "if it locks up no higher than its tolerance, which is not stated"
            )
            yield Markup("Worked out for {}: {} to {} at the regulator in use, {} when nothing burns, {}.").format(
                zone.zone.id,
                q.pressure(solved.lowest),
                q.pressure(float(zone.zone.regulator.outlet)),
                q.pressure(solved.highest),
                stated,
            )


def _by_plates(a: Asked, q: Quantities) -> Markup:
    least = (
        Markup("at least {}").format(q.pressure(a.pressure))
        if a.pressure is not None
        else Markup("the least is not stated for every appliance")
    )
    most = (
        Markup("at most {}").format(q.pressure(a.highest))
        if a.highest is not None
        else Markup("the greatest is not stated for every appliance")
    )
    return Markup("By the plates of the appliances behind {}: {}, {}.").format(a.zone, least, most)


def _sweep(study: Study) -> list[str]:
    """Where to hold a detector, low down."""
    found = []
    space = study.build.spec.space
    if space is not None and space.lowest_void is not None:
        found.append("the lowest closed void, before it is opened wide")
    found.append("along the floor, at the walls and at the door sill")
    for node in study.build.nodes:
        place = getattr(node.part, "place", None)
        if node.kind in ("junction", "valve", "regulator") and place:
            found.append(f"{node.id}: {place}")
    found += [f"below {s.appliance.name}{f': {s.outlet.place}' if s.outlet.place else ''}" for s in study.served]
    found.append("around and below the container, downwind of it")
    return found


def joint_groups(study: Study) -> list[tuple[str, list[str]]]:
    """Every joint, by the pressure it stands at."""
    groups: dict[str, list[str]] = {}
    for joint in study.leak_test.joints:
        groups.setdefault(joint.zone, []).append(joint.text)
    return [
        ("Container side, at container pressure" if zone == "container side" else f"Behind {zone}", texts)
        for zone, texts in groups.items()
    ]


def _plan_table(holds: tuple[Hold, ...], q: Quantities) -> tuple[list[str], list[list[Any]]]:
    """How long to hold by gauge, with a column for each set of thermometer and barometer."""
    columns: dict[str, None] = {}
    rows: dict[str, dict[str, Any]] = {}
    for h in holds:
        barometer = (
            f"barometer to {q.number(h.barometer, 'drop')} {q.unit('drop')}"
            if h.barometer is not None
            else "no barometer"
        )
        others = f"{h.thermometer.capitalize()} thermometer, read to {h.thermometer_step.text}; {barometer}"
        columns[others] = None
        found = rows.setdefault(f"{h.gauge}, read to {h.gauge_step.text}", {})
        found[others] = q(-(-h.hold // 60) * 60, "hold") if h.hold is not None else "no hold is enough"
    return ["Gauge", *columns], [
        [gauge, *(found.get(others, "") for others in columns)] for gauge, found in rows.items()
    ]


def _halves(study: Study) -> list[dict[str, Any]]:
    found = []
    for zone in study.zones:
        tests = study.leak_test
        steps = halves(study.build, zone.zone.id, tests.joints, tests.appliances_connected(zone.zone.id))
        names = {s.id: s.appliance.name for s in study.served}
        found.append(
            {
                "zone": zone.zone.id,
                "steps": [
                    {
                        "number": s.number,
                        "cut": _cut(s.cut, s.kind, names),
                        "kept": s.kept,
                        "suspects": s.suspects,
                        "holds": _leads(s.holds),
                        "falls": _leads(s.falls),
                    }
                    for s in steps
                ],
            }
        )
    return found


def _cut(identity: str, kind: str, names: dict[str, str]) -> str:
    what = f"the shut-off valve of {names[identity]}" if kind == "outlet" else identity
    return f"Undo the upstream end of {what} and cap the side the gas comes from."


def _leads(outcome: Outcome) -> dict[str, Any]:
    return {"step": outcome.step, "joints": [j.text for j in outcome.joints], "few": len(outcome.joints) <= FEW}


def _verdict(study: Study, j: Judged, q: Quantities) -> dict[str, Any]:
    """One recorded test with what it shows."""
    v = j.verdict
    asked = []
    if j.asked_pressure is not None:
        highest = min((a.highest for a in j.rows if a.highest is not None), default=None)
        alone = limits(j.rows[0], q) if len(j.rows) == 1 else None
        asked.append(alone or q.pressures(j.asked_pressure, highest))
    if j.asked_hold is not None:
        asked.append(Markup("for {}").format(q(j.asked_hold, "hold")))
    covers = j.test.covers
    if covers is None:
        stands_for = "The record does not say what it covers."
    elif covers == study.standing.codes.tightness:
        stands_for = f"It covers the build as it is now ({covers})."
    else:
        stands_for = f"It covers another state of the build ({covers}); now it is {study.standing.codes.tightness}."
    return {
        "judged": j,
        "name": test_name(j),
        "title": TEST_TITLES[j.test.kind],
        "mark": MARKS[j.outcome],
        "outcome": OUTCOME_WORDS[j.outcome],
        "helps": [help_text(h, system(study.build)) for h in j.helps],
        "asked": Markup(" ").join(words for words in asked if words is not None),
        "stands_for": stands_for,
        "numbers": _numbers(j, q) if v is not None and v.fall is not None else [],
        "readings": [
            [
                r.time.strftime("%H:%M:%S" if r.time.second else "%H:%M"),
                r.pressure.text,
                *(
                    [{"none": "nothing", "half": "about half", "all": "everything", None: "not recorded"}[r.burning]]
                    if j.test.kind == "flow"
                    else []
                ),
                r.temperature.text if r.temperature is not None else "not taken",
                r.barometer.text if r.barometer is not None else "not taken",
            ]
            for r in j.test.readings
        ],
        "chart": _chart(j, q) if v is not None and len(v.points) > 1 else None,
    }


def _numbers(j: Judged, q: Quantities) -> list[tuple[str, Markup | str]]:
    """What the verdict rests on, line by line."""
    v = j.verdict
    assert v is not None, "the caller saw to it"
    assert v.fall is not None
    assert v.elapsed is not None
    found: list[tuple[str, Markup | str]] = [
        ("Held", q(v.elapsed, "hold")),
        ("The gauge", _moved(v.fall, q)),
        ("Explained by temperature", _moved(v.by_temperature, q)),
        ("Explained by the barometer", _moved(v.by_barometer, q)),
        (
            "Unexplained",
            Markup("a loss of {}").format(q(v.loss, "drop"))
            if v.loss is not None and v.loss >= 0.0
            else _moved(v.loss, q),
        ),
    ]
    u = v.uncertainty
    if u is not None:
        found.append(
            (
                "It may be off by",
                Markup("{}: gauge {}, temperature {}, barometer {}, gas law {}").format(
                    *(q(part, "drop") for part in (u.total, u.gauge, u.temperature, u.barometer, u.gas_law))
                ),
            )
        )
    if v.in_service is not None:
        low, high = max(v.in_service.low, 0.0), max(v.in_service.high, 0.0)
        found.append(
            (
                "As a leak of propane in service",
                Markup("between {} and {}").format(q(low, "leak rate"), q(high, "leak rate")),
            )
        )
    if v.smallest_visible is not None:
        found.append(
            (
                "Smallest leak this test was sure to show",
                Markup("{} of propane in service; the test has to be able to show a leak of {}").format(
                    q(v.smallest_visible, "leak rate"), q(v.limit, "leak rate")
                ),
            )
        )
    if v.drop_in_row is not None and j.row is not None and j.row.test.passes.allowed_drop is not None:
        allowed = float(j.row.test.passes.allowed_drop)
        found.append(
            (
                "By the rule's own figure",
                Markup("a drop of {} at most: {}; the limit above is stricter and decides").format(
                    q.pressure(allowed), "kept" if v.drop_in_row else "not kept"
                ),
            )
        )
    found.append(
        (
            "Gas volume reckoned with",
            Markup("{}, the largest it plausibly is, {}").format(
                q(j.volume, "gas volume"), "connectors included" if j.connected else "piping alone"
            ),
        )
    )
    return found


def _moved(fall: float | None, q: Quantities) -> Markup | str:
    """A fall, or a rise where it is negative."""
    if fall is None or abs(fall) < 1e-6:
        return "no change"
    return Markup("{} {}").format("fell by" if fall > 0.0 else "rose by", q(abs(fall), "drop"))


def _chart(j: Judged, q: Quantities) -> LineChart:
    v = j.verdict
    assert v is not None, "the caller saw to it"
    low = units.pressure_kind(v.points[0].gauge, "us") == "supply pressure"
    unit = ("inH2O" if low else "psi") if q.system == "us" else "mbar"
    start = float(j.test.readings[0].pressure)

    def show(pressure: float) -> float:
        return units.convert(pressure, "pressure", unit)

    read = [(0.0, show(start)), *((p.elapsed / 60, show(p.gauge)) for p in v.points)]
    expected = [(0.0, show(start)), *((p.elapsed / 60, show(p.expected)) for p in v.points)]
    series = [Series("read on the gauge", tuple(read), "one"), Series("expected with no leak", tuple(expected), "two")]
    bounded = [(p.elapsed / 60, show(p.expected - p.uncertainty)) for p in v.points if p.uncertainty is not None]
    if len(bounded) == len(v.points):
        series.append(Series("below this: a leak", tuple(bounded), "limit"))
    return line_chart(
        f"readings-{j.index + 1}",
        f"Gauge against time, {j.test.date.isoformat()}",
        "The pressure read, the pressure a sealed line without a leak would show at the temperatures read, and that less what "
        "the instruments may be off.",
        Axis("min since the first reading"),
        Axis(unit),
        series,
        from_zero=False,
    )


def _sight(study: Study, q: Quantities) -> list[list[Any]]:
    """What each recorded test, and each way of looking, was able to show, all as propane in service."""
    rows: list[list[Any]] = []
    for j in study.judged:
        if j.verdict is not None and j.verdict.smallest_visible is not None:
            rows.append(
                [
                    {"text": test_name(j), "href": f"#record-{j.index + 1}"},
                    "gauge",
                    q.number(j.verdict.smallest_visible, "leak rate"),
                ]
            )
        if j.fluid_visible is not None:
            rows.append([test_name(j), "leak fluid, with patience", q.number(j.fluid_visible, "leak rate")])
    if rows:
        sniffer = next(m for m in leak_methods() if m.id == "sniffer")
        rows.append(
            [
                f"{sniffer.name} ({sniffer.citation.text.lower()})",
                "at the joint",
                q.number(sniffer.smallest, "leak rate"),
            ]
        )
    return rows


def _listed(items: Any, last: str = "and") -> str:
    names = list(items)
    if last == "and" and names and all(name.islower() or name == "LP gas" for name in names):
        last = "or"
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}" if names else "nothing"


def _lower(text: str) -> str:
    text = text.rstrip(".")
    return text[:1].lower() + text[1:] if text[1:2].islower() else text
