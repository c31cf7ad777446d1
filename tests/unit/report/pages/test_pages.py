"""The pages of builds: what every page says and never says, names as markup, and the same bytes every time."""

from __future__ import annotations

import hashlib
import os
import posixpath
import re
import subprocess
import sys
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import pytest
from made_up_builds import THREE, Values, build, european, outlet, run, tee, text, two_stage
from places import ROOT

from gasdoc import data
from gasdoc.build.supply import slug
from gasdoc.folder.contents import spec_files
from gasdoc.regions.cautions import cautions
from gasdoc.regions.region import region
from gasdoc.report.content.output import Page
from gasdoc.report.pages import sections as report
from gasdoc.report.site.site import Order, Site, make_site

COPPER = {"material": "copper", "type": "k"}
EVERY = (*report.SECTIONS, *report.SHEETS, report.WHOLE, report.BOOKLET, *report.APPENDIX)
SECTIONS = tuple(section.slug for section in EVERY if section.slug not in {"choices", "beside", "changes", "photos"})
"""The pages that every build has."""


def link(page: str, target: str) -> str:
    return posixpath.relpath(target, posixpath.dirname(page) or ".")


def site(folder: Path, **files: str) -> Site:
    for name, content in files.items():
        (folder / f"{name.replace('_', '-')}.md").write_text(content, encoding="utf-8")
    return make_site(Order(folder, project_templates=None, link=link))


def pages(made: Site) -> dict[str, Page]:
    return {page.uri: page for page in made.pages}


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def words(html: str) -> str:
    """What a reader sees, in one line."""
    parser = _Words()
    parser.feed(html)
    return " ".join(" ".join(parser.words).split())


@dataclass(frozen=True)
class Built:
    """A site as built twice: its pages as text, and the digest of every file of either build, by path."""

    html: dict[str, str]
    digests: tuple[dict[str, str], dict[str, str]]


@pytest.fixture(scope="module")
def examples(example_sites: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> Built:
    """The example site, built by this process and by an interpreter that orders its hashes in another way."""
    out = tmp_path_factory.mktemp("other") / "site"
    command = [sys.executable, "-m", "mkdocs", "build", "-q", "-f", str(ROOT / "mkdocs.yml"), "-d", str(out)]
    environment = os.environ | {"PYTHONHASHSEED": "4242", "SOURCE_DATE_EPOCH": "1800000000"}
    done = subprocess.run(command, cwd=out.parent, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    digests = []
    for folder in (example_sites["files"], out):
        files = {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}
        html = {name: raw.decode() for name, raw in files.items() if name.endswith(".html")}
        digests.append({name: hashlib.sha256(raw).hexdigest() for name, raw in files.items()})
    return Built(html, (digests[0], digests[1]))


def of_builds(examples: Built) -> dict[str, str]:
    """The pages of the example builds themselves."""
    slugs = {path.stem for path in spec_files(ROOT / "specs")}
    found = {name: html for name, html in examples.html.items() if name.partition("/")[0] in slugs}
    assert len(found) >= 3 * len(SECTIONS)
    return found


def test_every_page_but_the_overview_says_what_it_has_and_the_overview_what_the_build_is() -> None:
    assert all(section.description.count("{}") == 1 for section in EVERY)


def test_the_site_is_the_same_to_the_last_byte_whatever_order_hashes_have(examples: Built) -> None:
    first, second = examples.digests
    assert len(first) > 30
    # sitemap.xml and its copy carry the day of the build, which is MkDocs' own.
    assert [name for name in first | second if first.get(name) != second.get(name) and "sitemap" not in name] == []


def test_every_page_defers_to_local_code_and_licensed_practice(examples: Built) -> None:
    for name, html in examples.html.items():
        said = words(html)
        assert "gasdoc computes. It does not certify." in said, name
        assert "Local code and a licensed gas fitter decide." in said, name


def test_every_page_of_a_build_says_how_far_its_records_go(examples: Built) -> None:
    """Not signed off, or signed off by whom and that nobody verified it here."""
    for name, html in of_builds(examples).items():
        said = words(html)
        if name.startswith("larch-hut/"):
            assert "Signed off: recorded by the owner as signed by" in said and "not verified here" in said, name
        else:
            assert re.search(r"\bnot signed off\b", said, re.IGNORECASE), name


def test_every_page_of_a_build_has_its_cautions_in_short_and_the_way_to_the_whole(
    examples: Built,
) -> None:
    for name, html in of_builds(examples).items():
        assert re.search(r'<a [^>]*href="[^"]*cautions[^"]*"', html), name
        assert 'class="caution' in html or "caution" in html.partition("<h2")[0], name


VERDICT = re.compile(
    r"\b(compliant|complies|comply with the code|approved|certified|code-compliant|is safe|are safe|safe to use|"
    r"fit for use|guaranteed)\b",
    re.IGNORECASE,
)


def test_no_page_pronounces_a_verdict_of_its_own(examples: Built) -> None:
    # Words that rules and sources use about parts and people are not a verdict about the build; each is named here.
    quoted = re.compile(
        r"approved (listing|by the)|certified (gas|fitter|installer|person|boat)|made to be certified", re.IGNORECASE
    )
    for name, html in examples.html.items():
        said = quoted.sub("", words(html))
        if name.endswith(("log.html", "log/index.html")):
            continue  # the builder's own words
        hit = VERDICT.search(said)
        assert hit is None, (name, said[max(0, hit.start() - 80) : hit.end() + 60])


def test_a_recorded_test_reads_as_judged_by_the_numbers_recorded(examples: Built) -> None:
    said = words(examples.html["larch-hut/leak-test.html"])
    assert "Passed, by the numbers recorded" in said
    assert "No test is recorded" in words(examples.html["bakery-trailer/leak-test.html"])


def test_there_is_no_script_and_no_style_in_any_page(examples: Built) -> None:
    for name, html in examples.html.items():
        assert not re.search(
            r"<script(?![^>]* src=)|<style|\sstyle\s*=|\son\w+\s*=|javascript:", html, re.IGNORECASE
        ), name


def test_pages_lead_to_each_other(examples: Built) -> None:
    for name, html in examples.html.items():
        if name == "404.html":
            continue
        for target in re.findall(r'(?:href|src)="([^"#]+)', html):
            if re.match(r"[a-z]+:", target):
                continue
            there = posixpath.normpath(posixpath.join(posixpath.dirname(name), target))
            assert there in examples.digests[0], (name, target)


# --- names as markup --------------------------------------------------------------------------------------------------

EVIL = "<script>alert(1)</script>"


def evil() -> Values:
    """A build with markup in every place where a builder writes words."""
    word = EVIL
    spec = build(
        {"valve": {"place": word}},
        run("8 ft", "1/2 in nominal", **COPPER),
        {"tap": {"place": word}},
        tee(
            [
                run("9 ft", "3/8 in nominal"),
                outlet(f"Heater {word}", "20 kBtu/h", place=word, serial=word, min_inlet="11 inH2O"),
            ],
            [
                run("9 ft"),
                outlet(f"Kettle {word}", "20 kBtu/h", place=word, jetted_for=None, flue=None, min_inlet=None),
            ],
            place=word,
        ),
        title=f"Hut {word}",
        summary=word,
        container={"serial": word},
        prices={"currency": word, "date": "2026-01-01", "items": {"leak-fluid": "5", word: "1"}},
        on_shelf={word: "1"},
    )
    spec["spaces"][0]["alarms"] = [{"kind": "gas", "place": word, "standard": word, "manufactured": "2026-01-01"}]
    spec["scenarios"] = [{"name": word, "outlets": ["heater-script-alert-1-script"]}]
    spec["tests"] = [
        {
            "date": "2026-05-02",
            "kind": "piping",
            "by": word,
            "gauge": {"name": word},
            "note": word,
            "readings": [{"time": "10:00", "pressure": "3 psi"}],
        }
    ]
    spec["disturbances"] = [{"date": "2026-06-01", "kind": "moved", "note": word}]
    spec["signed_off"] = {"by": word, "role": word, "licence": word, "date": "2026-06-01", "note": word}
    return spec


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Site:
    body = f"\nHello {EVIL}\n\n## 2026-05-01: {EVIL}\n\nText {EVIL} ![{EVIL}](hut/none.svg)\n"
    broken = f'---\nformat: 1\ntitle: "{EVIL}"\nregion: "{EVIL}"\n"{EVIL}": 1\n---\n'
    return site(tmp_path_factory.mktemp("hostile"), hut=text(evil(), body), broken=broken)


def test_markup_in_names_is_shown_and_never_run(hostile: Site) -> None:
    assert {page.uri for page in hostile.pages} >= {"index.md", "broken/index.md", *(f"hut/{s}.md" for s in SECTIONS)}
    for page in hostile.pages:
        assert "<script" not in page.html.lower(), page.uri
        # The measuring sheet and the page of words are the only ones that name no build.
        assert "&lt;script&gt;" in page.html or page.uri in ("measuring-sheet.md", "reference/glossary.md"), page.uri


def test_markup_in_names_is_shown_and_never_run_in_the_drawing(hostile: Site) -> None:
    (svg,) = [asset.content.decode() for asset in hostile.assets if asset.uri.endswith(".svg")]
    assert "<script" not in svg.lower() and "&lt;script&gt;" in svg


# --- odd builds -------------------------------------------------------------------------------------------------------

BARE = dict.fromkeys(
    (
        "jetted_for",
        "min_inlet",
        "max_inlet",
        "flue",
        "flame_failure",
        "inlet_thread",
        "connector",
        "distance",
        "shut_off",
        "shut_off_distance",
        "daily_use",
    )
)
NO_ALARMS: Values = build(run("5 ft", "EHD 18", material="csst"), outlet("Heater", "9 kBtu/h")) | {
    "spaces": [{"alarms": []}]
}
ODD: dict[str, Values] = {
    "nothing known": {
        k: v
        for k, v in build(
            outlet("Heater", "9 kBtu/h", **BARE),
            container=dict.fromkeys(("water_capacity", "orientation", "place", "stays", "manufactured")),
            regulator=dict.fromkeys(
                ("stages", "capacity", "inlet", "tolerance", "lock_up", "adjustable", "over_pressure_protection")
            ),
        ).items()
        if k not in ("spaces", "altitude", "coldest", "fitted")
    },
    "two stages": two_stage(),
    "europe": european(),
    "no size": build(run("10 ft", **COPPER), outlet("Kiln", "9000 kBtu/h", kind="other")),
    "past the table": build(run("90 ft", **COPPER), outlet("Heater", "9 kBtu/h")),
    "starved": build(run("50 ft", "1/4 in nominal", **COPPER), outlet("Heater", "400 kBtu/h", kind="other")),
    "butane": THREE | {"gas": "butane"},
    "high": THREE | {"altitude": "9,000 ft", "coldest": "-40 degF"},
    "no alarms": NO_ALARMS,
    "excess flow": build(
        run("9 ft", "1/2 in nominal", **COPPER), outlet("Heater", "30 kBtu/h"), container={"excess_flow": "30 kBtu/h"}
    ),
    "corrugated at 2 psi": build(
        run("20 ft", material="csst"), outlet("Kiln", "90 kBtu/h", kind="other"), regulator={"outlet": "2 psi"}
    ),
    # Defect: a caution condition of that name is not known, and the study ends in a traceback.
    "plastic pipe": build(run("20 ft", material="pe", outside="yes"), outlet("Heater", "90 kBtu/h")),
    "vehicle": THREE | {"region": "us-vehicle"},
    "australia": THREE | {"region": "au-nz"},
    "canada": THREE | {"region": "canada"},
    "britain": THREE | {"region": "uk", "units": "si"},
}


SPECIAL: dict[str, Values] = {
    "three": THREE,
    "half inch": build(run("9 ft", "1/2 in", material="csst"), outlet("Heater", "20 kBtu/h")),
    "rated connector": build(
        run("20 ft", "1/2 in nominal", **COPPER),
        tee(
            [run("4 ft"), outlet("Heater", "20 kBtu/h")],
            [
                run("4 ft"),
                outlet("Oven", "20 kBtu/h", connector={"kind": "flexible", "length": "3 ft", "capacity": "60 kBtu/h"}),
            ],
        ),
    ),
    "steel": build(run("80 ft", "1/2 in", material="steel"), outlet("Heater", "90 kBtu/h")),
    "below its plate": build(
        run("20 ft", "1/2 in nominal", **COPPER), outlet("Heater", "129 kBtu/h", min_inlet="11 inH2O")
    ),
    "numbers": build(
        run("8 ft", "1/2 in nominal", **COPPER),
        outlet("Heater", "20 kBtu/h", serial="SN-APPLIANCE-9"),
        container={"serial": "SN-CONTAINER-9"},
        signed_off={"by": "B. Inspector", "licence": "LIC-000-9", "date": "2026-06-01"},
    ),
}
"""Builds of which one thing is asked each."""


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Site:
    """One site of all these builds."""
    builds = {slug(name): text(spec) for name, spec in (ODD | SPECIAL).items()}
    return site(tmp_path_factory.mktemp("small"), **builds)


@pytest.mark.parametrize("name", ODD)
def test_any_build_gets_all_its_pages_and_no_placeholder_in_them(small: Site, name: str) -> None:
    made = {uri: page for uri, page in pages(small).items() if uri.startswith(f"{slug(name)}/")}
    assert set(made) >= {f"{slug(name)}/{section}.md" for section in SECTIONS}
    for uri, page in made.items():
        said = words(re.sub(r"<td[^>]*>None\.</td>", "", page.html))  # what stands under the head of an empty table
        assert not re.search(r"\bNone\b|\bnan\b|\binf\b|Undefined|<built-in|gasdoc\.|Given\(|object at", said), (
            uri,
            re.findall(r".{40}(?:\bNone\b|\bnan\b|\binf\b|Undefined|object at).{20}", said),
        )


def test_a_spec_that_cannot_be_taken_gets_a_page_that_shows_its_problems_and_keeps_no_other_from_the_site(
    tmp_path: Path,
) -> None:
    made = site(tmp_path, good=text(THREE), bad="---\nformat: 1\ntitle: Bad Hut\nregoin: us-cabin\n---\n")
    (bad,) = [page for page in made.pages if page.uri.startswith("bad/")]
    said = words(bad.html)
    assert "Bad Hut" in said and "regoin" in said and "bad.md:4" in said and "Nothing here may be built from" in said
    assert "good/supply.md" in pages(made)
    assert "bad/index.md" in pages(made)["index.md"].html
    assert any("regoin" in str(problem) for problem in made.problems)


def test_a_site_of_nothing_but_a_bad_spec_still_has_its_pages(tmp_path: Path) -> None:
    assert set(pages(site(tmp_path, bad="---\nformat: 1\n---\n"))) >= {"index.md", "bad/index.md"}


def test_a_warning_about_the_spec_is_on_its_overview(small: Site) -> None:
    assert "The smaller is taken" in words(pages(small)["half-inch/index.md"].html)


def test_the_sizing_page_shows_how_the_load_and_the_length_came_about(small: Site) -> None:
    said = words(pages(small)["three/supply.md"].html)
    assert "Heater 20 kBtu/h + Cooker 31 kBtu/h + Boiler 30 kBtu/h = 81 kBtu/h" in said
    assert "Longest length method: sizing length 30 ft" in said
    assert "Branch length method: sizing length 20 ft" in said  # to the heater
    assert "printed cell 104 kBtu/h" in said and "402.4(30)" in said


def test_pages_say_for_which_appliances_the_connectors_own_drop_is_not_known(small: Site) -> None:
    made = pages(small)
    supply, overview = (words(made[f"rated-connector/{name}.md"].html) for name in ("supply", "index"))
    assert "Without the connector's own drop, which is not known: Heater." in supply
    assert "The connector's own drop at Heater is not known and not in it." in overview


def test_a_calculated_size_says_that_no_code_table_stands_behind_it(small: Site) -> None:
    assert "no code table" in words(pages(small)["europe/supply.md"].html)


def test_a_build_in_si_units_has_no_inch_of_slack_and_no_fahrenheit_in_its_headings(small: Site) -> None:
    materials, container = (words(pages(small)[f"europe/{name}.md"].html) for name in ("materials", "container"))
    assert (
        "Slack of 75 mm lets an appliance move, and 50 mm are added" in materials and "Slack of 3 in" not in materials
    )
    assert "Liquid at 15.6 °C" in container and "Liquid at 60 °F" not in container


def test_a_size_by_the_equation_below_its_cell_says_so(small: Site) -> None:
    said = words(pages(small)["steel/supply.md"].html)
    assert "higher than it by more than rounding" in said and "printed cell 101 kBtu/h" in said


def test_every_finding_of_a_study_is_on_its_overview(small: Site) -> None:
    said = words(pages(small)["below-its-plate/index.md"].html)
    assert "asks for at least 11 in. w.c." in said and "Never turn a regulator up" in said


def test_serial_and_licence_numbers_do_not_reach_the_site(small: Site) -> None:
    everything = "".join(page.html for page in small.pages) + "".join(asset.content.decode() for asset in small.assets)
    assert "B. Inspector" in everything
    for secret in ("SN-APPLIANCE-9", "SN-CONTAINER-9", "LIC-000-9"):
        assert secret not in everything


def test_a_strange_address_in_the_log_does_not_stop_the_site(tmp_path: Path) -> None:
    # Defects: a name longer than the file system takes (OSError), and an address that urlsplit refuses (ValueError).
    targets = ("a" * 5000 + ".svg", "a%00b.svg", "%ff.svg", "hut/" * 400 + "x", "http://[")
    log = "\n\n".join(f"![plan {n}]({target}) and [a]({target})" for n, target in enumerate(targets))
    made = site(tmp_path, hut=text(THREE, f"\n## 2026-05-01: x\n\n{log}\n"))
    assert all(f"plan {n}" in pages(made)["hut/log.md"].html for n in range(len(targets)))
    assert made.failures == ()


def test_two_builds_do_not_share_words(tmp_path: Path) -> None:
    made = pages(site(tmp_path, one=text(THREE | {"title": "First Hut"}), two=text(THREE | {"title": "Second Hut"})))
    for name, page in made.items():
        if "/" in name:  # the pages of a build; the others list all of them
            said = page.html + page.title
            assert ("First Hut" in said) == name.startswith("one/"), name
            assert ("Second Hut" in said) == name.startswith("two/"), name


def test_each_page_of_a_build_has_a_caution_of_its_own() -> None:
    """Of those that are for every build; what none names gets the first of the short ones."""
    known = {section.slug for section in (*report.SECTIONS, *report.SHEETS)} & set(SECTIONS)
    told = [page for c in cautions(frozenset(), region("us-cabin").practice) for page in c.pages]
    assert len(told) == len(set(told))
    assert {
        page for row in data.words("gasdoc.regions", "cautions.yaml")["cautions"] for page in row.get("pages", ())
    } <= known
    assert known - set(told) == {"cautions", "door-sheet", "labels", "line"}
