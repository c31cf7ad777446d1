"""A tubing and a kind of appliance that gasdoc has not, added as DEVELOPERS.md says: rows in data files and nothing else."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]

MATERIAL = """
  - id: nickel-metric
    title: precision nickel tube, metric sizes
    kinds: []
    family: copper
    named_by: od-and-wall
    ends: tube
    sold: length
    moving: tube
    hard: no
    pair: [10 x 1 mm, 8 x 1 mm]
    label: "{od} mm OD x {wall} mm wall"
    words: {parts: nickel tube, drawing: nickel tube, drawing_size: "{od} x {wall} mm nickel tube", letter: nickel tube, letter_size: "{od} mm x {wall} mm nickel tube"}
    roughness: 0.045 mm
    roughness_source: commercial_steel
    notes: []
    source: wall
    sizes: [{id: 8x1}, {id: 10x1}, {id: 12x1}]
"""
STOCK = '  - {material: nickel-metric, form: length, lengths: [6 m], source: "made up", confirmed: memory}\n'
SUPPORTS = '  nickel-metric:\n    - {from: 0 mm, spacing: 800 mm, source: "made up", confirmed: memory}\n'


APPLIANCE = "  camp-stove: {serves: cooking, fries: no, fixed: no, trap: no}\n"
DAY = '  camp-stove: {at: ["06:30", "18:30"], words: "two meals, at half past six in the morning and in the evening", hours: 2 h, meaning: two meals}\n'


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of gasdoc that knows both, and two projects: an example as it is, and one with that tubing and that appliance."""
    root = tmp_path_factory.mktemp("sold")
    shutil.copytree(ROOT / "gasdoc", root / "gasdoc", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "site_templates", root / "site_templates")
    catalog = root / "gasdoc/catalog"
    for name, rows in (("tubing.yaml", MATERIAL), ("supports.yaml", SUPPORTS)):
        with (catalog / name).open("a", encoding="utf-8") as file:
            file.write(rows)
    stock = (catalog / "stock.yaml").read_text(encoding="utf-8")
    (catalog / "stock.yaml").write_text(stock.replace("\nconnectors:", f"{STOCK}\nconnectors:", 1), encoding="utf-8")
    for name, row in (("appliances.yaml", APPLIANCE), ("day.yaml", DAY)):
        rows = (catalog / name).read_text(encoding="utf-8")
        (catalog / name).write_text(rows.replace("\nkinds:\n", f"\nkinds:\n{row}", 1), encoding="utf-8")
    spec = (ROOT / "specs/floating-studio.md").read_text(encoding="utf-8")
    for name in ("copper", "steel"):
        (root / name / "specs").mkdir(parents=True)
        (root / name / "mkdocs.yml").write_text("site_name: x\ndocs_dir: specs\nplugins: [gasdoc]\n", encoding="utf-8")
        piped = spec.replace("material: copper-metric", f"material: {('nickel' if name == 'steel' else name)}-metric")
        if name == "steel":
            piped = piped.replace("kind: cooker\n", "kind: camp-stove\n")
        text = re.sub(r"!\[[^]]*\]\([^)]*\)|\[([^]]*)\]\([^)]*\)", r"\1", piped)  # without the example's pictures
        (root / name / "specs/studio.md").write_text(text, encoding="utf-8")
    return root


def gasdoc(place: Path, project: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The copy's command, run in one of the two projects."""
    command = (sys.executable, "-m", "gasdoc", *arguments)
    return subprocess.run(
        command,
        cwd=place / project,
        env={"PYTHONPATH": str(place), "PATH": "", "LANG": "C.UTF-8", "SOURCE_DATE_EPOCH": "1780000000"},
        capture_output=True,
        text=True,
        check=False,
    )


def study(place: Path, project: str) -> Any:
    told = gasdoc(place, project, "study", "specs/studio.md")
    assert "Traceback" not in told.stderr, told.stderr
    return json.loads(told.stdout)


def test_check_has_no_more_to_say_of_it_than_of_copper(place: Path) -> None:
    def codes(project: str) -> set[str]:
        told = gasdoc(place, project, "check", "specs/studio.md", "--as-of", "2026-06-01")
        assert "Traceback" not in told.stderr and told.returncode == 0, told.stderr
        return set(re.findall(r"\[([a-z-]+)\]", told.stdout))

    # The tests on record are of the copper; and its 6 m do not hold the run of 7.4 m.
    assert codes("steel") - codes("copper") == {"test-stale", "run-longer-than-stock"}


def test_its_joints_nuts_supports_and_tools_are_those_of_tube_that_moves(place: Path) -> None:
    steel, copper = study(place, "steel"), study(place, "copper")
    of_steel, of_copper = steel["study"], copper["study"]
    assert all(joint["found"] for joint in of_steel["fittings"]["joined"])
    for opening in (*of_steel["passages"]["openings"], *of_copper["passages"]["openings"]):
        del opening["across_source"]  # a copper size is of a standard; the spec gives the steel's own
    for same in ("fittings", "passages", "tools"):
        assert of_steel[same] == of_copper[same], same
    assert steel["halving"] == copper["halving"]
    # The region has tube on what moves clipped every 500 mm; the made-up table, every 800 mm.
    assert {held["largest"]["value"] for held in of_steel["passages"]["supports"]} == {0.5}
    assert [served["appliance"]["kind"] for served in of_steel["served"]] == ["room-heater", "camp-stove"]
    for same in ("rules", "cold", "connected", "rooms"):
        assert json.dumps(of_steel[same]).replace("camp-stove", "cooker") == json.dumps(of_copper[same]), same
    assert "precision" not in json.dumps(steel) and "nickel tube" in json.dumps(steel)


def test_the_site_calls_it_by_its_words(place: Path) -> None:
    told = gasdoc(place, "steel", "build")
    assert told.returncode == 0, told.stderr
    pages = {path: path.read_text(encoding="utf-8") for path in (place / "steel/site/studio").rglob("*.html")}
    assert any("mm nickel tube" in text for text in pages.values())
    for path, text in pages.items():  # a key stands for itself in a list of parts and in what asks for its price
        where = re.findall(r"[^<>]*nickel-metric[^<>]*", text)
        assert all(re.match(r"nickel-metric \d|Omitted: no prices", words.strip()) for words in where), (path, where)


def test_the_schema_and_a_new_spec_offer_it(place: Path) -> None:
    schema = gasdoc(place, "steel", "schema").stdout
    assert "nickel-metric" in schema and "camp-stove" in schema
    assert gasdoc(place, "steel", "new", "another", "--region", "eu").returncode == 0
    text = (place / "steel/specs/another.md").read_text(encoding="utf-8")
    assert "csst, steel or nickel-metric (pe" in text and "kind:               # camp-stove, cooker" in text
