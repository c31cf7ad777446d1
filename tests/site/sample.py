"""A small site that uses every piece of the theme, so that the frame can be tested without any real build.

Its figures are invented for the look of the page; none is a result.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

from markupsafe import Markup

from gasdoc.report.content.output import Asset, NavItem, Page
from gasdoc.report.pages.templates import environment
from gasdoc.report.site.site import Order, Site, Summary
from gasdoc.source import Citation

BUILDS = (("larch-hut", "Larch Hut"), ("canal-studio", "Canal Studio & <Press>"))
PAGES = (("index", "Overview"), ("supply", "Supply tree"), ("cautions", "Cautions"))

SOURCE = Citation("Example code, 2024 edition, table 3(b)", "twice")

DRAWING = Markup(
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 150" role="img" aria-labelledby="{id}-t {id}-d">'
    '<title id="{id}-t">Supply tree</title><desc id="{id}-d">Container, regulator, one junction, two outlets.</desc>'
    '<g fill="none" stroke="currentColor"><path d="M60 75h60M120 75v-40h100M120 75v40h100"/><circle cx="40" cy="75" r="20"/></g>'
    '<g fill="currentColor" font-size="12"><text x="130" y="28">3/8 in, 12 ft</text><text x="228" y="39">Cooktop</text>'
    '<text x="130" y="132">1/2 in, 24 ft</text><text x="228" y="119">Heater</text></g></svg>'
)

CONTENT = """
{% import "components.html" as ui %}
{{ ui.heading(title, name) }}
{{ ui.caution_bar([
  "Propane is heavier than air and gathers in the lowest place.",
  "No smoking, flame or switch while testing. Soapy water finds leaks; a flame does not.",
  "Never run a flueless appliance while anyone sleeps.",
  "Read everything before opening the valve.",
], "Read everything before opening the valve.", standing="Not signed off. Leak test recorded, not judged.", href=link(uri, build ~ "/cautions.md")) }}
{{ ui.figures([
  ("Total input", ui.qty("62", "kBtu/h"), "all appliances at once"),
  ("Longest path", ui.qty("41.5", "ft"), "regulator to heater"),
  ("Pressure at worst outlet", ui.qty("10.6", "inH2O"), "asks for 10.5 or more"),
  ("On a cold night", ui.qty("9", "h"), "at -10 degF, container 40 % full"),
]) }}
<h2>Findings</h2>
{{ ui.findings(findings) }}
<h2>Runs</h2>
<p>Each run carries the appliances beyond it. The length that counts is the whole path from the regulator to the
farthest outlet, <a href="#run-2">not the run's own</a>.</p>
{{ ui.table("Runs and their sizes on " ~ name, [
  "Run", {"label": "Material"}, {"label": "Length", "unit": "ft", "number": true},
  {"label": "Load", "unit": "kBtu/h", "number": true}, {"label": "Table gives", "unit": "kBtu/h", "number": true}, "Size",
  {"label": "Drop", "unit": "inH2O", "number": true}],
  [{"id": "run-1", "cells": ["Regulator to junction", "copper, type L", "9", "62", "76", ui.qty("1/2", "in OD"), "0.18"]},
   {"id": "run-2", "cells": [{"text": "Junction to cooktop", "href": "#run-1"}, "copper, type L", "4.5", "18", "20", ui.qty("3/8", "in OD"), "0.11"]},
   {"id": "run-3", "cells": ["Junction to heater", "corrugated, EHD 18", "32.5", "44", "52.4", ui.qty("1/2", "in"), "0.09"]}],
  note="Capacities at 11 inH2O and a drop of 0.5 inH2O.", foot=["Together", "", "46", "", "", "", "0.38"]) }}
<p class="small">{{ ui.citation(source) }}</p>
<h3>As a drawing</h3>
{{ ui.svg_figure(drawing, "Supply tree of " ~ name, words) }}
<h2>Before the valve opens</h2>
{{ ui.checklist(["Every joint on the drawing counted and tight.", {"text": "Gauge zeroed.", "note": "Let it stand five minutes first."},
  "Outlets capped."]) }}
<details><summary>Show the working</summary><p>62 = 18 + 44. <a href="https://example.org/method">The method, elsewhere</a></p></details>
<h2>Files</h2>
{{ ui.downloads([{"href": link(uri, build ~ "/materials.csv"), "text": "Materials as a table", "note": "CSV"}]) }}
"""

FINDINGS = [
    SimpleNamespace(
        severity="error",
        message="Run “Junction to heater” is too small for what it carries.",
        reason="It carries 44 kBtu/h; its size carries 38 kBtu/h over a path of 41.5 ft.",
        source=SOURCE,
        remedy="Use the next size up, or shorten the path to 30 ft.",
        anchor="finding-1",
    ),
    SimpleNamespace(
        severity="warning",
        message="The sleeping place has no carbon monoxide alarm.",
        reason="",
        source="common practice, no source",
        remedy="Fit one at breathing height.",
        anchor="",
    ),
    SimpleNamespace(
        severity="note", message="The heater is jetted for 30 mbar.", reason="", source=None, remedy="", anchor=""
    ),
]


def make_site(order: Order) -> Site:
    """Stands in for gasdoc.report.site.site.make_site."""
    link = order.link
    template = environment(order.project_templates).from_string(CONTENT)
    pages = [home(link)]
    for build, name in BUILDS:
        for stem, title in PAGES:
            uri = f"{build}/{stem}.md"
            menu = tuple(NavItem(f"{build}/{s}.md", t, s == stem) for s, t in PAGES)
            html = template.render(
                uri=uri,
                build=build,
                name=name,
                title=title,
                link=link,
                findings=FINDINGS,
                source=SOURCE,
                drawing=DRAWING.format(id=f"{build}-{stem}"),
                words=Markup("<p>Container, regulator, junction; cooktop, heater.</p>"),
            )
            pages.append(Page(uri, f"{title} - {name}", html, f"{build}.md", menu, f"{title} of {name}."))
    assets = tuple(Asset(f"{build}/materials.csv", b"item,quantity\r\ntee,1\r\n") for build, _ in BUILDS)
    builds = tuple(Summary(build, "us") for build, _ in BUILDS)
    return Site(tuple(pages), assets, (), errors_found=False, builds=builds)


def home(link: Callable[[str, str], str]) -> Page:
    """The index of builds."""
    rows = Markup("").join(
        Markup('<li><a href="{}">{}</a></li>').format(link("index.md", f"{build}/index.md"), name)
        for build, name in BUILDS
    )
    html = Markup("<h1>Builds</h1><p>Two builds.</p><ul>{}</ul>").format(rows)
    return Page("index.md", "Builds", str(html), None, (), "All builds on this site.")


def write_project(folder: Path, settings: str = "") -> Path:
    """A project with two specs and a hand-written page; the path of its mkdocs.yml."""
    specs = folder / "specs"
    specs.mkdir(parents=True)
    for build, name in BUILDS:
        (specs / f"{build}.md").write_text(f"---\nformat: 1\ntitle: '{name}'\n---\n", encoding="utf-8")
    (specs / "guide.md").write_text(
        "---\npage: yes\n---\n# Guide\n\n[Larch Hut](larch-hut/index.md), [its second run](larch-hut/supply.md#run-2).\n\n"
        "| a | b |\n| --- | ---: |\n| 1 | 2 |\n",
        encoding="utf-8",
    )
    config = folder / "mkdocs.yml"
    config.write_text(f"site_name: Example records\ndocs_dir: specs\nplugins: [gasdoc]\n{settings}", encoding="utf-8")
    return config
