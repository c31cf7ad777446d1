"""The leak test, filled in for a build: the test day step by step, how to search after a fail, and what the records show."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from markupsafe import Markup

from gasdoc import units
from gasdoc.build.log import LogEntry
from gasdoc.engineering.proof.sealed_line import DEFAULT_LIMIT
from gasdoc.folder.changed import ChangedKey
from gasdoc.regions.proof import leak_methods
from gasdoc.report.content.words import Quantities
from gasdoc.report.drawings.chart import Axis, Curve, LineChart, line_chart
from gasdoc.report.views.referral import to_ask
from gasdoc.study import Study
from gasdoc.study.facts import Served, system
from gasdoc.study.materials.joints import CONTAINER_SIDE, NumberedJoint
from gasdoc.study.proof.halving import FEW, HalvingOutcome
from gasdoc.study.proof.leak_test import AskedTest, Hold
from gasdoc.study.proof.verdicts import OUTCOME_WORDS, Judged, help_text, test_name

TEST_TITLES = {
    "piping": "Pressure test of the piping",
    "appliances": "Test with appliances connected",
    "container-side": "Container side",
    "leak-check": "Leak check with gas",
    "flow": "Delivered pressure and lock-up",
}
"""What each kind of test is called."""

WHY = {
    "missing": "not tested yet, as recorded",
    "not-passed": "recorded, not passed",
    "to-come": "recorded with a date that is still to come",
    "shared": "recorded, but another spec holds the same record",
    "old-code": "passed, but it names no tightness code of this form",
    "no-covers": "passed, but the record does not say what it covers",
    "stale": "passed, but on another state of the build",
    "size-open": "passed, but the spec leaves out the size of a run",
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

DISTURBED = {
    "part-replaced": "A part was replaced",
    "hose-replaced": "A hose was replaced",
    "supply-interrupted": "The supply was interrupted",
    "collision": "A collision",
    "moved": "It was moved",
    "flood": "A flood",
    "fire": "A fire",
    "other": "Something else",
}
"""What happened to the system, in words."""


def view(study: Study, changed: tuple[ChangedKey, ...]) -> dict[str, Any]:
    """Everything the page shows, in its order; `changed` are the keys that differ from what a stale record was made on."""
    tests = study.leak_test
    q = Quantities.of(study.build)
    several = len(study.zones) > 1
    return {
        "tests": tests,
        "several": several,
        "limits": limits,
        "proofs": list(proofs(study, several)),
        "changed": [[c.key, c.before or "not stated", c.after or "not stated"] for c in changed],
        "passed": sum(1 for proof in study.standing.proofs if proof.why is None),
        "steps": _steps(study),
        "current": _current(study),
        "plans": [(plan, *_plan_table(plan.holds, q)) for plan in study.plans],
        "limit": DEFAULT_LIMIT,
        "joint_groups": joint_groups(study),
        "logged": _logged(study),
        "halves": list(_halves(study)),
        "verdicts": [verdict(study, j, q) for j in study.judged],
        "sight": _sight(study, q),
        "sight_unit": q.unit("leak rate"),
        "disturbances": [
            [f"{d.date} {d.time:%H:%M}" if d.time is not None else str(d.date), DISTURBED[d.kind], d.note or ""]
            for d in study.build.spec.disturbances
        ],
        "beside": [a for a in tests.beside if a.test.kind != "flow"],
        "to_ask": {
            a.test.id: to_ask(study, f"tests/{a.test.id}", a.test.citation) for a in (*tests.asked, *tests.beside)
        },
    }


def limits(asked: AskedTest, q: Quantities) -> Markup | None:
    """The gauge pressures a test is made at on this build, least and greatest; None where the rule has only words."""
    if asked.pressure is None:
        return Markup("at most {}").format(q.pressure(asked.highest)) if asked.highest is not None else None
    under = Markup(", below lock-up") if asked.test.pressure.below is not None else Markup("")
    return q.pressures(asked.pressure, asked.highest) + under


def proofs(study: Study, several: bool) -> Iterator[list[Any]]:
    """What each asked test stands on."""
    for proof in study.standing.proofs:
        name = proof.asked.test.name + (f", behind the {study.build.labels[proof.asked.zone]}" if several else "")
        if proof.judged is None:
            yield [name, "none", "not tested yet, as recorded"]
            continue
        record = {"text": proof.judged.test.date.isoformat(), "href": f"#record-{proof.judged.index + 1}"}
        said = OUTCOME_WORDS[proof.judged.outcome].lower() if proof.why in (None, "not-passed") else WHY[proof.why]
        yield [name, record, said]


ROWS = {
    "piping": "pressure-test",
    "appliances": "air-test",
    "container-side": "container-side",
    "leak-check": "leak-check",
    "flow": "delivered-pressure",
}
"""The step at which a kind of test is made."""


def _steps(study: Study) -> list[dict[str, Any]]:
    """The test day, each step with the tests that the region asks there and the numbers of what it needs."""
    numbers = {step.id: number for number, step in enumerate(study.sequence.steps, 1)}
    return [
        {
            "number": numbers[step.id],
            "step": step,
            "needs": [{"number": numbers[need], "id": need} for need in step.needs],
            "rows": [a for a in study.leak_test.asked if ROWS[a.test.kind] == step.id],
            "set_up": [(SIGNS[sign], said) for sign, said in SET_UPS.get(step.id, ())],
        }
        for step in study.sequence.steps
    ]


def _current(study: Study) -> str:
    """The step that comes next by the record: that of the first test that is open once another one stands; the first of all
    where none stands, and the last where nothing is open."""
    steps, standing = study.sequence.steps, study.standing
    if len(standing.open) == len(standing.proofs):
        return steps[0].id
    return ROWS[standing.open[0].asked.test.kind] if standing.open else steps[-1].id


def joint_groups(study: Study) -> list[tuple[str, list[NumberedJoint]]]:
    """Every joint, by the pressure it stands at."""
    called = study.build.labels
    groups: dict[str, list[NumberedJoint]] = {}
    for joint in study.leak_test.joints:
        groups.setdefault(joint.zone, []).append(joint)
    return [
        ("Container side, at container pressure" if zone == CONTAINER_SIDE else f"Behind the {called[zone]}", joints)
        for zone, joints in groups.items()
    ]


def _logged(study: Study) -> dict[str, list[LogEntry]]:
    """The entries of the log that link a joint, by the joint's id."""
    found: defaultdict[str, list[LogEntry]] = defaultdict(list)
    for entry in study.build.log.entries:
        for target in dict.fromkeys(link.target for link in entry.links if link.target.startswith("#joint-")):
            found[target.removeprefix("#joint-")].append(entry)
    return dict(found)  # a plain one, because a project's templates may call nothing else


def _plan_table(holds: tuple[Hold, ...], q: Quantities) -> tuple[list[str], list[list[Any]]]:
    """How long to hold by gauge, that with the shortest hold first, with a column for each set of thermometer and barometer."""
    columns: dict[str, None] = {}
    rows: dict[str, dict[str, Any]] = {}
    least = {h.gauge: min(each.hold or math.inf for each in holds if each.gauge == h.gauge) for h in holds}
    for h in sorted(holds, key=lambda h: least[h.gauge]):
        barometer = (
            f"barometer to {q.number(h.barometer, 'drop')} {q.unit('drop')}"
            if h.barometer is not None
            else "no barometer"
        )
        others = f"{h.thermometer.capitalize()} thermometer, read to {h.thermometer_step.text}, {barometer}"
        columns[others] = None
        found = rows.setdefault(f"{h.gauge}, read to {h.gauge_step.text}", {})
        found[others] = q(-(-h.hold // 60) * 60, "hold") if h.hold is not None else "no hold is enough"
    return ["Gauge", *columns], [
        [gauge, *(found.get(others, "") for others in columns)] for gauge, found in rows.items()
    ]


def _halves(study: Study) -> Iterator[dict[str, Any]]:
    ends = {s.id: end_of(s) for s in study.served}
    called = study.build.labels
    for zone, steps in study.halving:
        yield {
            "zone": zone,
            "steps": [
                {
                    "number": s.number,
                    "cut": f"Open {ends.get(s.cut) or 'the ' + called[s.cut]} at the end nearer to the regulator. Put a cap on the part that comes from the regulator.",
                    "kept": s.kept,
                    "suspects": s.suspects,
                    "holds": _leads(s.holds),
                    "falls": _leads(s.falls),
                }
                for s in steps
            ],
        }


def end_of(served: Served) -> str:
    """What stands at the end of the line of an appliance."""
    what = "end fitting of the line" if served.outlet.shut_off is False else "shut-off valve"
    return f"the {what} of {served.appliance.name}"


def _leads(outcome: HalvingOutcome) -> dict[str, Any]:
    return {
        "step": outcome.step,
        "joints": [f"{j.number} {j.text}" for j in outcome.joints],
        "few": len(outcome.joints) <= FEW,
    }


def verdict(study: Study, j: Judged, q: Quantities) -> dict[str, Any]:
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
        stands_for = f"It covers another state of the build ({covers}). Now it is {study.standing.codes.tightness}."
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
                Markup("{} of propane in service. The test has to be able to show a leak of {}").format(
                    q(v.smallest_visible, "leak rate"), q(v.limit, "leak rate")
                ),
            )
        )
    if v.drop_in_row is not None and j.row is not None and j.row.test.passes.allowed_drop is not None:
        allowed = float(j.row.test.passes.allowed_drop)
        found.append(
            (
                "By the rule",
                Markup(
                    "The rule allows a drop of {}. The test {} it. The limit above is stricter, so it decides."
                ).format(q.pressure(allowed), "kept to" if v.drop_in_row else "broke"),
            )
        )
    found.append(
        (
            "Gas volume used",
            Markup("{}, the upper estimate, {}").format(
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
    unit = ("inH2O" if low else "psi") if q.system == "us" else "kPa" if q.system == "anz" else "mbar"
    start = float(j.test.readings[0].pressure)

    def show(pressure: float) -> float:
        return units.convert(pressure, "pressure", unit)

    read = [(0.0, show(start)), *((p.elapsed / 60, show(p.gauge)) for p in v.points)]
    expected = [(0.0, show(start)), *((p.elapsed / 60, show(p.expected)) for p in v.points)]
    series = [Curve("read on the gauge", tuple(read), "one"), Curve("expected with no leak", tuple(expected), "two")]
    bounded = [(p.elapsed / 60, show(p.expected - p.uncertainty)) for p in v.points if p.uncertainty is not None]
    if len(bounded) == len(v.points):
        series.append(Curve("below this: a leak", tuple(bounded), "limit"))
    return line_chart(
        f"readings-{j.index + 1}",
        f"Gauge against time, {j.test.date.isoformat()}",
        "One line is the pressure read. One is the pressure a sealed line without a leak would show at the temperatures read. "
        "One is that less what the instruments may be off.",
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


# --- how the line is set up for a step --------------------------------------------------------------------------------
# The signs are our own and not to scale. Each is 72 wide and 44 high, and the line passes it 32 below its top.
# What is said of a set-up is short: the step's own lines in regions/sequence.yaml come first.

SIGNS: Mapping[str, str] = {
    "container": "M14 42V18Q14 10 26 10Q38 10 38 18V42ZM26 10V5M19 5H33M38 32H72",
    "gap": "M0 32H18M18 27V37M54 32H72",
    "regulator": "M0 32H24L48 22V42L24 32M48 32H72M36 27V17M28 17H44",
    "pump": "M0 32H72M36 32V25M30 25H42L30 15H42ZM36 15V10M26 2H46V10H26Z",
    "gauge": "M0 32H72M36 32V24M27 15a9 9 0 1 0 18 0a9 9 0 1 0 -18 0M36 15L41 10",
    "valve": "M0 32H26V26L46 38V26L26 38V32M46 32H72",
    "cap": "M0 32H44M44 24H50V40H44Z",
    "appliance": "M0 32H24V20H56V42H24V32M34 26H46",
    "flame": "M0 32H24V20H56V42H24V32M40 18Q32 10 40 2Q48 10 40 18",
}
"""Each sign as a path."""


SET_UPS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "pressure-test": (
        ("container", "container shut"),
        ("gap", "first regulator off"),
        ("pump", "pump, with a valve"),
        ("gauge", "gauge"),
        ("valve", "valves in the line open, or out"),
        ("cap", "each end closed with a fitting"),
    ),
    "air-test": (
        ("container", "container shut"),
        ("regulator", "regulator on"),
        ("pump", "gentle pump, with a valve"),
        ("gauge", "gauge"),
        ("valve", "valves open"),
        ("appliance", "appliance joined, burner taps shut"),
    ),
    "leak-check": (
        ("container", "container as the step says"),
        ("regulator", "regulator on"),
        ("gauge", "gauge on, pump off"),
        ("valve", "valves as the step says"),
        ("appliance", "burner taps and pilots shut"),
    ),
    "delivered-pressure": (
        ("container", "container open"),
        ("regulator", "regulator on"),
        ("gauge", "gauge"),
        ("valve", "valves open"),
        ("flame", "half the load burns, then none"),
    ),
}
"""Steps of the test day by their ids: what stands in the row, and what is to be said of it."""
