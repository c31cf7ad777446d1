"""Additions that DEVELOPERS.md describes, done as it says: a region, a rule, and rows of other files, in one file each."""

from __future__ import annotations

import datetime as dt
import posixpath
import re
from pathlib import Path
from typing import Any

import pytest
from changed_data import changed_files
from made_up_builds import Values, build, outlet, read, run, study_of, tee, text

from gasdoc import catalog, data, regions
from gasdoc.catalog.parts import catalogue
from gasdoc.regions.practice import ROWS
from gasdoc.regions.region import region, region_ids
from gasdoc.regions.rules import MEASURES
from gasdoc.report.formats.jsonout import dumps, study_json
from gasdoc.report.site.site import Order, make_site
from gasdoc.study import make_study
from gasdoc.study.container.sets import sold_here
from gasdoc.study.materials.shopping import unknown_keys

FOLDER = Path(regions.__file__).parent
REGIONS = region_ids()
NEW = "new-land"
DISTANCES = dict.fromkeys(
    ("relief_to_opening", "relief_to_ignition", "fill_to_opening", "fill_to_ignition", "ground"), "4 ft"
)


def spec(region_id: str, setting: str | None) -> Values:
    """A build in which much hangs on its region: one stage, two containers, tubing, hose, distances."""
    return build(
        run("20 ft", material="copper", type="k", id="first-run"),
        tee(
            [run("6 ft"), outlet("Heater", "20 kBtu/h", connector=None)],
            [run("6 ft"), outlet("Cooker", "30 kBtu/h", kind="cooker", flue="flueless")],
        ),
        region=region_id,
        setting=setting,
        units=None,
        regulator={"stages": "1"},
        container={"number": "2", "manifold": "parallel", "clearances": DISTANCES},
    )


def said(region_id: str, setting: str | None) -> str:
    """All that check and the JSON say of the build, upkeep with what is overdue, without the code that names the region."""
    taken = read(spec(region_id, setting)).build
    assert taken is not None
    made, problems = make_study(taken, as_of=dt.date(2036, 1, 1))
    assert made is not None, problems
    return re.sub(r"gb1-[0-9a-f]+", "gb1", dumps(study_json(made)))


def pages(folder: Path, region_id: str) -> dict[str, str]:
    """The pages of the build, without the code that names the region."""
    folder = folder / "specs"
    folder.mkdir(parents=True)
    (folder / "test-hut.md").write_text(text(spec(region_id, None)), encoding="utf-8")
    made = make_site(
        Order(folder, project_templates=None, link=lambda page, to: posixpath.relpath(to, posixpath.dirname(page)))
    )
    return {
        page.uri: re.sub(r"gb1-[0-9a-f]+", "gb1", page.html) for page in made.pages if page.uri.startswith("test-hut/")
    }


def copied(region_id: str, into: Path) -> Any:
    """A region of another id, made as DEVELOPERS.md says: one file."""
    words = (FOLDER / f"{region_id}.yaml").read_text(encoding="utf-8")
    assert words.count(f"\nid: {region_id}\n") == 1
    return changed_files(
        "gasdoc.regions", {f"{NEW}.yaml": words.replace(f"\nid: {region_id}\n", f"\nid: {NEW}\n")}, into
    )


@pytest.mark.parametrize("region_id", REGIONS)
def test_a_region_is_one_file_and_loses_nothing_under_another_name(region_id: str, tmp_path: Path) -> None:
    settings = (None, *region(region_id).settings)
    before = [said(region_id, setting) for setting in settings]
    assert all(f'"{region_id}"' in text_ for text_ in before)
    with copied(region_id, tmp_path):
        assert NEW in region_ids()
        assert [said(NEW, setting).replace(NEW, region_id) for setting in settings] == before


@pytest.mark.parametrize("region_id", ["us-vehicle", "boat-eu"])
def test_the_pages_of_a_build_are_the_same_for_a_region_of_another_name(region_id: str, tmp_path: Path) -> None:
    before = pages(tmp_path / "before", region_id)
    assert {"test-hut/upkeep.md", "test-hut/leak-test.md"} <= {re.sub(r"html$", "md", uri) for uri in before}
    with copied(region_id, tmp_path):
        after = pages(tmp_path / "after", NEW)
    assert {uri: body.replace(NEW, region_id) for uri, body in after.items()} == before


def test_every_word_of_practice_is_known_and_limits_a_row_of_some_file() -> None:
    """The catalogue's files are looked at here, because the catalogue knows no regions."""
    limited: set[str] = set()
    for package, name in (
        ("gasdoc.regions", "cautions"),
        ("gasdoc.regions", "upkeep"),
        *(("gasdoc.catalog", name) for name in data.names("gasdoc.catalog")),
    ):
        limited |= set(practices(data.words(package, f"{name}.yaml")))
    lines = [line for step in data.words("gasdoc.regions", "sequence.yaml")["steps"] for line in step["lines"]]
    limited |= {word.removeprefix("not-") for line in lines for word in line.get("when", ())} & set(ROWS)
    assert limited == set(ROWS) == {row for id_ in REGIONS for row in region(id_).practice.rows}


def practices(content: Any) -> list[str]:
    """What stands under each `practice` and `no_trap` of a file."""
    if isinstance(content, list):
        return [word for row in content for word in practices(row)]
    if isinstance(content, dict):
        own = [content.get(key) for key in ("practice", "no_trap")]
        rest = [value for value in content.values() if not any(value is words for words in own)]
        return [*(word for words in own if isinstance(words, list) for word in words), *practices(rest)]
    return []


# --- a rule with a known measure ------------------------------------------------------------------------------------

LIMITS = {
    "pressure": "1 Pa",
    "length": "1 mm",
    "volume": "1 mL",
    "mass": "1 g",
    "share": "1 %",
    "area": "1 mm2",
    "time": "1 s",
}
ROW = """
  - id: new-{measure}
    subject: record
    asks: What a made-up code asks of {measure}.
    measure: {measure}
    relation: {relation}
    limit: {limit}
    citation: A made-up code, clause 1
    confirmed: once
"""


def row(measure: str) -> str:
    """A rule that limits the measure."""
    known = MEASURES[measure]
    limit = f"[{known.words[0]}]" if known.words else LIMITS[known.dimensions[0]] if known.dimensions else "2"
    return ROW.format(measure=measure, relation="is" if known.words else "at-most", limit=limit)


def test_a_rule_with_a_known_measure_is_one_row_and_is_judged_and_shown(tmp_path: Path) -> None:
    words = (FOLDER / "us-cabin.yaml").read_text(encoding="utf-8")
    assert words.count("\nrules:\n") == 1
    with_rules = words.replace("\nrules:\n", "\nrules:" + "".join(map(row, MEASURES)))
    with changed_files("gasdoc.regions", {"us-cabin.yaml": with_rules}, tmp_path):
        made = study_of(spec("us-cabin", None))
        outcomes = {ruling.rule.measure: ruling.outcome for ruling in made.rules if ruling.rule.id.startswith("new-")}
        page = pages(tmp_path / "site", "us-cabin")["test-hut/referral.md"]
    written = dumps(study_json(made))
    assert set(outcomes) == set(MEASURES)
    for measure in MEASURES:
        assert f'"new-{measure}"' in written, measure
        assert f"What a made-up code asks of {measure}." in page, measure
    assert outcomes["container-count"] == "met by the numbers"  # two, and at most two
    assert outcomes["container-water-capacity"] == "not met"  # 238 lb of water, and at most 1 mL
    assert outcomes["container-fuel"] == "not met"  # at most 1 g
    assert outcomes["container-place"] == "met by the numbers"  # outdoors, and the word is outside
    refused = [
        f for f in made.findings if "What a made-up code asks of container-water-capacity" in f.message + f.reason
    ]
    assert [str(finding.source).startswith("A made-up code, clause 1") for finding in refused] == [True]


# --- rows of the other files ----------------------------------------------------------------------------------------

SOURCE = 'citation: "Made up", confirmed: memory'
ADDED = {
    "cautions.yaml": (
        "\ncautions:\n",
        f'  - {{id: new-caution, group: living, text: "Mind the made-up caution.", when: [always], {SOURCE}}}\n',
    ),
    "upkeep.yaml": (
        "\ntasks:\n",
        '  - {id: new-task, group: regular, short: "Made-up task", task: "Do the made-up task.", interval: 2 weeks, '
        f"from: fitted, applies: [always], who: owner, {SOURCE}}}\n",
    ),
    "sequence.yaml": (
        "\n    lines:\n",
        '      - {text: "Do the made-up thing of the test day.", short: "Made-up thing"}\n',
    ),
    "work.yaml": ("\n    lines:\n", '      - {text: "Do the made-up thing of the work."}\n'),
}
IN_CATALOG = {
    "containers.yaml": (
        "\nkinds:\n",
        "  dot-25lb: {family: dot-upright, names: [25-lb cylinder], fuel: {value: [25 lb], confirmed: memory}, "
        "water_capacity: {value: [60 lb], confirmed: memory}, tare: {value: [24 lb], confirmed: memory}, "
        "diameter: {value: [12 in], confirmed: memory}, height: {value: [20 in], confirmed: memory}}\n",
    ),
    "sold.yaml": ("\nrows:\n", f"  - {{kinds: [dot-25lb], settings: [cabin], how: [filled], {SOURCE}}}\n"),
    "openings.yaml": (
        "\nguards:\n",
        "  - {id: made-up-guard, where: standing, per: run, if_needed: no, name: made-up guard, source: x, confirmed: memory}\n",
    ),
    "kit.yaml": (
        "\nlines:\n",
        '  - {id: made-up, group: holding and locker, name: "made-up line", each: build, source: Made up, confirmed: memory}\n',
    ),
}


def with_rows(folder: Path, added: dict[str, tuple[str, str]]) -> dict[str, str]:
    """The files of a folder, each with its row behind the first place that its key stands."""
    texts = {name: (folder / name).read_text(encoding="utf-8") for name in added}
    return {name: text_.replace(added[name][0], "".join(added[name]), 1) for name, text_ in texts.items()}


def test_a_row_of_one_file_is_said_where_it_belongs(tmp_path: Path) -> None:
    """A caution, a task with its interval, a line of the test day and of the work; and a kind of container, which is two rows."""
    rows = with_rows(FOLDER, ADDED), with_rows(Path(catalog.__file__).parent, IN_CATALOG)
    plain = spec("us-cabin", None)
    cylinder = plain["container"] | {"type": "dot-25lb", "water_capacity": None}
    own = plain | {"container": {key: value for key, value in cylinder.items() if value is not None}}
    with (
        changed_files("gasdoc.regions", rows[0], tmp_path / "a"),
        changed_files("gasdoc.catalog", rows[1], tmp_path / "b"),
    ):
        made = study_of(own)
        assert any(caution.text == "Mind the made-up caution." for caution in made.cautions)
        # Fitted on 1 May 2026.
        assert [due.due for due in made.upkeep if due.task.id == "new-task"] == [dt.date(2026, 5, 15)]
        assert made.sequence.steps[0].lines[0].text == "Do the made-up thing of the test day."
        assert made.work.steps[0].lines[0].text == "Do the made-up thing of the work."
        assert made.container.fuel_mass == pytest.approx(25 * 0.45359237)
        assert "made-up line" in {item.name for item in made.materials}
        assert "dot-25lb" in sold_here(made.build)
        assert list(unknown_keys(["made-up-guard", "container:dot-25lb"], [], catalogue())) == []
