"""The pages of one build, from its study; and the page of a spec that cannot be read."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import jinja2
from markupsafe import Markup

from gasdoc import units
from gasdoc.report import markdown, words
from gasdoc.report.drawing import MATERIALS
from gasdoc.report.page import Asset, NavItem, Page
from gasdoc.report.schematic import Outline
from gasdoc.report.tables import to_csv
from gasdoc.report.words import Quantities, percent
from gasdoc.source import Problem
from gasdoc.spec.reader import Read
from gasdoc.study import Study
from gasdoc.study.capacity import Answer
from gasdoc.study.facts import setting, system
from gasdoc.study.people import container_text
from gasdoc.study.pressures import ZonePressure
from gasdoc.study.sizing import Method, RunSize, ZoneSizing

Link = Callable[[str, str], str]
"""link(page, target): the relative URL of `target` as seen from `page`; both are places among the site's sources."""

SECTIONS = (
    ("index", "Overview"),
    ("supply", "Supply tree"),
    ("materials", "Materials"),
    ("cautions", "Cautions"),
    ("leak-test", "Leak test"),
    ("upkeep", "Upkeep"),
    ("referral", "Who decides"),
    ("log", "Build log"),
)

GROUP_TITLES = {
    "before": "Before you start", "joints": "Making joints", "container": "The container", "testing": "Testing",
    "living": "Living with it", "emergency": "If you smell gas or an alarm sounds",
}  # fmt: skip

TEST_TITLES = {
    "piping": "Pressure test of the piping", "appliances": "Test with appliances connected",
    "leak-check": "Leak check with gas", "container-side": "Container side", "flow": "Pressure with burners on",
}  # fmt: skip


def uri(slug: str, section: str) -> str:
    """Where a build's section is among the site's sources."""
    return f"{slug}/{section}.md"


def build_pages(study: Study, svg: str, outline: Outline, env: jinja2.Environment, link: Link,
                pictures: Callable[[str], bool], problems: Sequence[Problem]) -> Iterator[Page]:  # fmt: skip
    """All pages of one build. `pictures` tells whether a path among the specs exists."""
    build = study.build
    views: Mapping[str, Callable[[str], dict[str, Any]]] = {
        "index": lambda here: _overview(study),
        "supply": lambda here: _supply(study, svg, outline),
        "materials": lambda here: _materials(study),
        "cautions": lambda here: _cautions(study),
        "leak-test": lambda here: _leak_test(study),
        "upkeep": lambda here: _upkeep(study),
        "referral": lambda here: _referral(study),
        "log": lambda here: _log(study, here, link, pictures),
    }
    short = [c.short for c in study.cautions if c.short]
    for section, title in SECTIONS:
        here = uri(build.slug, section)
        menu = tuple(NavItem(uri(build.slug, s), t, s == section) for s, t in SECTIONS)
        context = {
            "study": study, "spec": build.spec, "title": title, "name": build.spec.title, "slug": build.slug,
            "q": Quantities(system(build)), "percent": percent, "short_cautions": short,
            "here": here, "standing_line": standing_line(study), "problems": problems,
            "to": lambda target, here=here: link(here, target),
            "page": lambda section, here=here: link(here, uri(build.slug, section)),
        }  # fmt: skip
        html = env.get_template(f"pages/{section}.html").render(**context, **views[section](here))
        label = build.spec.title if section == "index" else f"{title} - {build.spec.title}"
        yield Page(here, label, html, posixpath.basename(build.path), menu, f"{title} of {build.spec.title}.")


def standing_line(study: Study) -> str:
    """What every page says of the build's standing."""
    return f"{study.standing.word.capitalize()}; not signed off as far as this record shows: {study.standing.detail}."


def problem_page(read: Read, env: jinja2.Environment, link: Link) -> Page:
    """The page of a spec that cannot be taken: what is wrong with it, line by line."""
    here = uri(read.slug, "index")
    html = env.get_template("pages/problems.html").render(
        name=read.title, problems=read.problems, path=posixpath.basename(read.path), home=link(here, "index.md")
    )
    return Page(here, read.title, html, posixpath.basename(read.path), (), f"What is wrong with the spec of {read.title}.")


def build_assets(study: Study, svg: str) -> Iterator[Asset]:
    """A build's files to take away."""
    slug = study.build.slug
    yield Asset(f"{slug}/materials.csv", materials_csv(study))
    yield Asset(f"{slug}/supply-tree.svg", svg.encode("utf-8"))


def index_page(studies: Sequence[Study], failed: Sequence[Read], env: jinja2.Environment, link: Link) -> Page:
    """All builds side by side."""
    rows = []
    for study in studies:
        quantities = Quantities(system(study.build))
        errors = sum(1 for f in study.findings if str(f.severity) == "error")
        warnings = sum(1 for f in study.findings if str(f.severity) == "warning")
        rows.append({
            "title": study.build.spec.title, "href": link("index.md", uri(study.build.slug, "index")),
            "summary": study.build.spec.summary or "", "setting": setting(study.build) or "",
            "region": study.resolved.region.title, "standing": study.standing, "load": quantities(study.load, "load"),
            "container": study.container, "appliances": len(study.served), "errors": errors, "warnings": warnings,
        })  # fmt: skip
    broken = [{"title": r.title, "href": link("index.md", uri(r.slug, "index")), "problems": r.problems} for r in failed]
    html = env.get_template("pages/builds.html").render(rows=rows, broken=broken)
    return Page("index.md", "Builds", html, None, (), "Propane builds, kept as text and published as records.")


# --- views: what each template gets ---------------------------------------------------------------------------------


def _overview(study: Study) -> dict[str, Any]:
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


def _supply(study: Study, svg: str, outline: Outline) -> dict[str, Any]:
    return {"svg": Markup(svg), "outline": outline, "zones": [_zone(study, z, p) for z, p in zip(study.zones, study.pressures, strict=True)],
            "rules": _rules(study, ("piping", "regulator", "connector"))}  # fmt: skip


def _zone(study: Study, zone: ZoneSizing, solved: ZonePressure | None) -> dict[str, Any]:
    q = Quantities(system(study.build))
    rows = [
        {"id": run.id, "cells": [
            {"text": run.id, "href": f"#working-{run.id}"}, size_words(run), "given" if run.given else "computed",
            q.number(float(run.run.length), "run length"), q.number(run.load, "load"),
            _capacity_cell(run.longest, q), _enough(run.longest, run), _capacity_cell(run.branch, q),
            _enough(run.branch, run),
        ]}
        for run in zone.runs
    ]  # fmt: skip
    names = {s.id: s.appliance.name for s in study.served}
    return {
        "zone": zone, "rows": rows, "conditions": zone.conditions, "allowance": zone.allowance, "solved": solved,
        "working": [_working(study, zone, run) for run in zone.runs],
        "run_pressures": _run_pressures(solved, q), "outlet_pressures": _outlet_pressures(solved, names, q),
        "names": names,
    }  # fmt: skip


def _run_pressures(solved: ZonePressure | None, q: Quantities) -> list[list[Any]]:
    kind = words.pressure_kind(solved.highest) if solved is not None else "supply pressure"
    drop = "drop" if kind == "supply pressure" else kind
    return [
        [r.id, q.number(r.gauge, kind), q.number(r.drop, drop), q.number(r.code_drop, drop), q.number(r.darcy_drop, drop),
         f"{r.speed:.1f}", r.regime or "own law", q.number(r.more_load, "load"), q.number(r.more_length, "run length")]
        for r in (solved.runs if solved is not None else ())
    ]  # fmt: skip


def _outlet_pressures(solved: ZonePressure | None, names: Mapping[str, str], q: Quantities) -> list[list[Any]]:
    kind = "supply pressure"
    return [
        [names[o.id], q.number(o.minimum, kind), q.number(o.full, kind), q.number(o.alone, kind),
         q.number(o.lowest, kind), q.number(o.highest, kind), q.number(o.maximum, kind)]
        for o in (solved.outlets if solved is not None else ())
    ]  # fmt: skip


def size_words(run: RunSize) -> str:
    """A run's material and size in words."""
    return f"{MATERIALS[run.material]}, {run.size.label}" if run.size else f"{MATERIALS[run.material]}, no size found"


def _capacity_cell(method: Method, q: Quantities) -> str:
    return q.number(method.capacity.value, "load") if isinstance(method.capacity, Answer) else "outside the table"


def _enough(method: Method, run: RunSize) -> str:
    if not isinstance(method.capacity, Answer):
        return "cannot tell"
    return f"{'carries it' if method.enough else 'too small'}, {percent(run.load / method.capacity.value)}"


def _working(study: Study, zone: ZoneSizing, run: RunSize) -> dict[str, Any]:
    """One run's sizing step by step, each number with where it comes from."""
    q = Quantities(system(study.build))
    heat = {s.id: s for s in study.served}
    behind = [heat[o] for o in _outlets_behind(study, run.id)]
    steps: list[Markup] = []
    sum_text = " + ".join(f"{s.appliance.name} {units.show(s.load, 'load', q.system)}" for s in behind)
    steps.append(Markup("Load: {} = {}.").format(sum_text or "no appliance", q(run.load, "load")))
    for method in (run.longest, run.branch):
        name = "Longest length" if method.name == "longest" else "Branch length"
        extra = Markup("") if not method.extra else Markup(", with {} added for fittings").format(q(method.extra, "run length"))
        text = Markup("{} method: sizing length {}{}.").format(name, q(method.length + method.extra, "run length"), extra)
        steps.append(text + " " + _answer(method, run, q))
    return {"id": run.id, "title": f"{run.id}: {size_words(run)}", "steps": steps,
            "size_source": run.size.source if run.size else None}  # fmt: skip


def _answer(method: Method, run: RunSize, q: Quantities) -> Markup:
    answer = method.capacity
    if not isinstance(answer, Answer):
        limit = Markup(" It is known up to {}.").format(q(answer.limit, "run length")) if answer.reason == "length" else ""
        return Markup("The table does not reach there.{}").format(limit)
    parts = [Markup("Capacity used {}: {}").format(q(answer.value, "load"), answer.words)]
    if answer.row_length is not None:
        parts.append(Markup("row {}").format(q(answer.row_length, "run length")))
    if answer.cell is not None:
        parts.append(Markup("printed cell {}").format(q(answer.cell, "load")))
    if answer.equation is not None:
        parts.append(Markup("equation {}").format(q(answer.equation, "load")))
    if answer.fit is not None and answer.cell is None and answer.fit_error is not None:
        parts.append(Markup("fit {}, worst error {:.1f} %").format(q(answer.fit, "load"), answer.fit_error * 100))
    needed = f"Smallest size that carries it: {method.needed.label}." if method.needed else "No listed size carries it."
    return Markup("{}. {} Source: {}.").format(Markup(", ").join(parts), needed, answer.source)


def _outlets_behind(study: Study, run_id: str) -> list[str]:
    nodes = study.build.nodes
    inside = {nodes.index(study.build.by_id[run_id])}
    found = []
    for i, node in enumerate(nodes):
        if node.parent in inside:
            inside.add(i)
            if node.kind == "outlet":
                found.append(node.id)
    return found


def _rules(study: Study, subjects: tuple[str, ...]) -> list[dict[str, Any]]:
    return [
        {"asks": r.rule.asks, "limit": r.rule.limit_text or "", "has": r.has or "", "outcome": r.outcome,
         "citation": r.rule.citation, "beside": r.rule.alternative}
        for r in study.rules if r.rule.subject in subjects
    ]  # fmt: skip


def _materials(study: Study) -> dict[str, Any]:
    q = Quantities(system(study.build))
    groups: dict[str, list[list[Any]]] = {}
    for item in study.materials:
        quantity = q(item.quantity, "run length") if item.measured else f"{item.quantity:g}"
        note = item.note
        if item.exact is not None:
            note = Markup("{} in the runs; {}").format(q(item.exact, "run length"), item.note)
        groups.setdefault(item.group, []).append([item.name, quantity, ", ".join(item.where), note])
    return {"groups": groups, "rules": _rules(study, ("connector", "piping"))}


def materials_csv(study: Study) -> bytes:
    """The take-off as a table: lengths in the build's own unit, named in the header."""
    q = Quantities(system(study.build))
    unit = q.unit("run length")
    rows = []
    for item in study.materials:
        quantity = q.number(item.quantity, "run length").replace(",", "") if item.measured else f"{item.quantity:g}"
        rows.append([item.group, item.name, quantity, unit if item.measured else "each", " ".join(item.where), item.note])
    return to_csv(["group", "part", f"quantity ({unit} or each)", "unit", "for", "note"], rows)


def _cautions(study: Study) -> dict[str, Any]:
    groups: dict[str, list[Any]] = {}
    for caution in study.cautions:
        groups.setdefault(caution.group, []).append(caution)
    return {"groups": [(GROUP_TITLES[g], g, rows) for g, rows in groups.items()]}


def _leak_test(study: Study) -> dict[str, Any]:
    tests = study.leak_test
    zones = {zone.zone.id: zone for zone in study.zones}
    return {
        "tests": tests, "zones": zones, "titles": TEST_TITLES, "pressure_kind": words.pressure_kind,
        "rules": _rules(study, ("test",)), "isolate": _isolate(study),
        "joint_groups": _joint_groups(study),
    }  # fmt: skip


def _isolate(study: Study) -> list[str]:
    """What to take off, shut and cap on this build before the pressure test."""
    spec = study.build.spec
    steps = [
        f"Shut the container valve{'s' if spec.container.number > 1 else ''} and burn off what is in the line, outdoors.",
        f"Disconnect the first regulator ({spec.regulator.outlet.text}) at its outlet: it does not see the test pressure.",
    ]
    for node in study.build.nodes:
        if node.kind == "regulator":
            steps.append(f"Take out the regulator {node.id} and test the pipe on each side of it by itself.")
    for name in study.leak_test.disconnect:
        steps.append(f"Disconnect {name} at its shut-off valve and cap the open end with a fitting; a closed valve is no cap.")
    return steps


def _joint_groups(study: Study) -> list[tuple[str, list[str]]]:
    groups: dict[str, list[str]] = {}
    for joint in study.leak_test.joints:
        groups.setdefault(joint.zone, []).append(joint.text)
    return [("Container side, at container pressure" if zone == "container side" else f"Behind {zone}", texts)
            for zone, texts in groups.items()]  # fmt: skip


def _upkeep(study: Study) -> dict[str, Any]:
    groups: dict[str, list[Any]] = {}
    for due in study.upkeep:
        groups.setdefault(due.task.group, []).append(due)
    return {"groups": groups}


def _referral(study: Study) -> dict[str, Any]:
    subjects = tuple(dict.fromkeys(r.rule.subject for r in study.rules))
    return {"region": study.resolved.region, "rules": [(s, _rules(study, (s,))) for s in subjects]}


def _log(study: Study, here: str, link: Link, pictures: Callable[[str], bool]) -> dict[str, Any]:
    def resolve(target: str) -> str | None:
        path = target.partition("#")[0]
        return link(here, target) if pictures(path) else None

    log = study.build.log
    entries = [
        {"entry": entry, "html": Markup(markdown.to_html(entry.text, resolve))} for entry in log.entries
    ]  # fmt: skip
    return {"introduction": Markup(markdown.to_html(log.introduction, resolve)), "entries": entries}
