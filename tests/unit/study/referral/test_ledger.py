"""The ledger has every figure of the data files, each with its source, and editions past their end are told."""

from __future__ import annotations

import ast
import datetime as dt
import json
import re
from collections import Counter
from itertools import pairwise
from typing import Any

import fast_yaml
import pytest
from made_up_builds import build, outlet, read, run
from places import ROOT

from gasdoc import data
from gasdoc.cli.command import main
from gasdoc.regions.region import region, region_ids
from gasdoc.regions.texts import around, editions, looks
from gasdoc.source import CONFIRMED
from gasdoc.study import make_study
from gasdoc.study.referral.ledger import LedgerFigure, _walk, ledger


@pytest.fixture(scope="module")
def figures() -> dict[str, LedgerFigure]:
    return {figure.at: figure for figure in ledger()}


def marks(node: object) -> int:
    if isinstance(node, list):
        return sum(map(marks, node))
    if not isinstance(node, dict):
        return 0
    own = sum(str(key).endswith("confirmed") and value in CONFIRMED for key, value in node.items())
    return own + sum(map(marks, node.values()))


def test_every_mark_of_a_data_file_is_in_the_ledger(figures: dict[str, LedgerFigure]) -> None:
    there = Counter(at.partition(" ")[0] for at in figures)
    for folder in ("regions", "catalog", "catalog/tables"):
        for file in (ROOT / "gasdoc" / folder).glob("*.yaml"):
            if file.stem not in ("looks", "texts"):
                assert there[f"{folder}/{file.stem}"] >= marks(fast_yaml.read(file))


def test_every_figure_says_what_it_is_where_it_is_used_and_where_it_comes_from(
    figures: dict[str, LedgerFigure],
) -> None:
    assert len(figures) == len(ledger())
    for figure in figures.values():
        assert figure.value and figure.used and figure.citation, figure.at
        assert figure.confirmed in CONFIRMED


def test_a_rule_that_regions_share_names_the_regions_that_take_it(figures: dict[str, LedgerFigure]) -> None:
    shared = figures["regions/common rules/sediment-trap"]
    assert shared.used == ("United States, hut or cabin",)
    borrowed = figures["regions/canada rules/drop-mobile"]
    assert borrowed.used == ("Canada",) and borrowed.confirmed == "practice" and "0.5 inH2O" in borrowed.value


def test_a_figure_in_code_stands_beside_those_of_the_files(figures: dict[str, LedgerFigure]) -> None:
    assert figures["engineering/supply/fittings elbow-90"].value.startswith("30 bores")


def test_every_figure_of_the_code_that_says_its_source_is_in_the_ledger(figures: dict[str, LedgerFigure]) -> None:
    """Looked for in the text of the modules, because some of them are loaded late."""
    found = 0
    for file in (ROOT / "gasdoc").rglob("*.py"):
        place = file.relative_to(ROOT / "gasdoc").with_suffix("").as_posix()
        for node in ast.parse(file.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.AnnAssign) and "Known(" in ast.unparse(node.annotation):
                found += 1
                assert f"{place} {ast.unparse(node.target).strip('_').lower().replace('_', '-')}" in figures
    assert found > 70


def test_a_number_of_the_code_with_words_on_its_source_is_in_the_ledger() -> None:
    """Words beside a number are no mark: who goes through the ledger does not find them."""
    named = re.compile(r"from memory|common practice|textbook|handbook|NFPA|IFGC|CODATA|EN \d{3}", re.IGNORECASE)
    for package in ("build", "catalog", "engineering", "regions", "study"):
        for file in (ROOT / "gasdoc" / package).rglob("*.py"):
            for node, after in pairwise(ast.parse(file.read_text(encoding="utf-8")).body):
                if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant | ast.BinOp):
                    words = ast.unparse(after) if isinstance(after, ast.Expr) else ""
                    assert not named.search(words), (file.name, ast.unparse(node))


def test_a_figure_of_the_code_says_its_value_with_its_unit(figures: dict[str, LedgerFigure]) -> None:
    share = figures["engineering/supply/excess_flow normal-flow-share"]
    assert share.value.endswith(": 1.5") and share.confirmed == "once" and share.used == ("sizes and pressures",)
    assert figures["engineering/supply/fittings bend-length"].value.endswith("1.3 ft: 0.39624 m")
    assert figures["catalog/tubing density"].value.endswith("copper 8940, steel 7850 kg/m3")
    assert figures["engineering/air/ventilation en-721-read"].value.endswith("5, 75, 10, 10, 100, 15")


def test_a_valve_of_handbooks_is_not_said_to_stand_in_the_table_of_the_code(figures: dict[str, LedgerFigure]) -> None:
    for name in ("gas-valve", "gate-valve", "globe-valve", "swing-check"):
        assert not figures[f"engineering/supply/fittings {name}"].citation.startswith("IRC"), name


def test_every_look_is_for_a_row_that_there_is(figures: dict[str, LedgerFigure]) -> None:
    for look in looks():
        for at in look.at:
            assert any(there == at or there.startswith(f"{at}/") for there in figures), at


def turned(node: Any) -> Any:
    """The rows of a data file in the other order."""
    if isinstance(node, dict):
        return {key: turned(child) for key, child in node.items()}
    if isinstance(node, list) and any(isinstance(child, dict) for child in node):
        return [turned(child) for child in reversed(node)]
    return node


def test_no_row_has_its_place_for_a_name() -> None:
    """A row that comes in before it would take its name, and what was found for it."""
    for package, folder in (("regions", "."), ("catalog", "."), ("catalog", "tables")):
        for name in data.names(f"gasdoc.{package}", folder):
            file = f"{package}/{name} "
            words = data.words(f"gasdoc.{package}", f"{name}.yaml" if folder == "." else f"{folder}/{name}.yaml")
            plain = {at: row for at, row, *_ in _walk(file, words, None, ())}
            other = {at: row for at, row, *_ in _walk(file, turned(words), None, ())}
            assert [at for at in plain if other.get(at) != turned(plain[at])] == [], file


def test_a_look_that_agrees_on_supports_names_the_spacings_of_its_rows() -> None:
    said = {at: look.says for look in looks() for at in look.at if look.verdict == "agrees"}
    assert said["catalog/supports materials/steel"] == "6 ft, 8 ft, 10 ft"  # IFGC Table 415.1
    for feet in ("4 ft", "6 ft", "8 ft"):
        assert feet in said["catalog/supports materials/copper"]


def test_every_edition_is_cited_somewhere(figures: dict[str, LedgerFigure]) -> None:
    cited = {edition.name for figure in figures.values() for edition in figure.editions}
    unused = {edition.name for edition in editions()} - cited
    assert unused == {"IGEM/UP/1B, edition 3"}  # kept, so that a citation of it is told as past its end


def test_an_edition_has_ended_from_the_day_after_its_last() -> None:
    (third,) = [edition for edition in editions() if edition.id == "igem-up-1b-3"]
    assert not third.is_past(dt.date(2026, 9, 30)) and third.is_past(dt.date(2026, 10, 1))
    (fourth,) = [edition for edition in editions() if edition.id == "igem-up-1b-4"]
    assert not fourth.is_past(dt.date(2040, 1, 1))


def test_no_row_cites_the_third_edition_of_up_1b(figures: dict[str, LedgerFigure]) -> None:
    cited = [figure for figure in figures.values() if "UP/1B" in figure.citation]
    assert cited and not any(re.search("edition 3", figure.citation, re.IGNORECASE) for figure in cited)


def test_a_check_tells_an_edition_past_its_end_with_the_rows_and_only_on_a_date() -> None:
    spec = build(
        run("5 m", "8 mm x 1 mm", material="copper-metric"), outlet("Stove", "3 kW"), region="eu", setting="vehicle"
    )
    taken = read(spec).build
    assert taken is not None

    def told(day: dt.date | None) -> list[str]:
        made, _ = make_study(taken, day)
        assert made is not None
        return [finding.message for finding in made.findings if finding.code == "edition-ended"]

    before = told(dt.date(2021, 11, 30))  # of the edition of 2002 only
    assert told(None) == [] and len(before) == 1 and "EN 1949:2002" in before[0]
    (_, said) = told(dt.date(2021, 12, 1))
    assert "EN 1949:2011+A1:2013" in said and "piping-en-1949" in said


def test_each_region_is_in_the_ledger(figures: dict[str, LedgerFigure]) -> None:
    assert {f"regions/{id_}" for id_ in region_ids()} <= {at.partition(" ")[0] for at in figures}


def test_the_command_prints_the_ledger_as_text_and_as_json_and_nothing_else_as_json(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["catalog", "sources", "--format", "json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert len(printed["figures"]) == len(ledger())
    assert {"at", "value", "used", "citation", "confirmed", "editions", "looked", "looks", "asked"} == printed[
        "figures"
    ][0].keys()
    assert main(["catalog", "sources"]) == 0
    assert "regions/common rules/fill: " in capsys.readouterr().out
    assert main(["catalog", "units", "--format", "json"]) == 2
    assert "catalog sources --format json" in capsys.readouterr().err


def test_a_shared_row_with_a_source_set_anew_says_how_well_that_is_confirmed() -> None:
    """Else it would show the mark of another text."""
    for id_ in region_ids():
        words = data.words("gasdoc.regions", f"{id_}.yaml")
        for row in (*words["rules"], *words["tests"]):
            if "use" in row:
                assert ("citation" in row) == ("confirmed" in row), (id_, row["use"])


def test_what_says_that_it_is_from_memory_is_marked_so(figures: dict[str, LedgerFigure]) -> None:
    for figure in figures.values():
        if figure.citation.lower().startswith("from memory") and "common practice" not in figure.citation:
            assert figure.confirmed == "memory", figure.at


def test_a_figure_has_the_same_mark_wherever_it_rests_on_the_same_text(figures: dict[str, LedgerFigure]) -> None:
    """The mark is of the text: rows of one kind with the same words and the same source have one mark."""
    marks_of: dict[tuple[str, str, str], set[str]] = {}
    for figure in figures.values():
        file, _, place = figure.at.partition(" ")
        kind = f"{file}/{place.rpartition('/')[2]}" if file.startswith("catalog") else place.rpartition("/")[2]
        if file == "catalog/containers":  # its sizes have one source a family, and a mark each
            kind = figure.at
        marks_of.setdefault((kind, figure.value, figure.citation), set()).add(figure.confirmed)
    assert [key for key, found in marks_of.items() if len(found) > 1] == []


@pytest.mark.parametrize(
    ("at", "also"),
    [
        ("regions/common rules/fill", "catalog/containers fill_limit/by_volume"),
        ("regions/common rules/fill", "regions/cautions cautions/fill-80"),
        ("regions/common rules/mount-load-four", "regions/cautions cautions/mounts-four-times"),
        ("regions/us-cabin rules/support-steel-half", "catalog/supports materials/steel/from-0-in"),
        ("regions/us-cabin rules/support-tubing-half", "catalog/supports materials/copper/from-0-in"),
        ("regions/common rules/support-en", "catalog/supports materials/copper-metric/from-0-mm"),
        ("catalog/containers requalification/dot", "regions/upkeep tasks/dot-next-proof"),
        ("regions/us-cabin rules/bonding", "regions/common rules/csst-bonding"),
        ("regions/us-cabin rules/support-csst-half", "catalog/supports materials/csst/from-18"),
        ("regions/us-cabin rules/support-csst-larger", "catalog/supports materials/csst/from-23"),
        ("regions/common rules/connector-length", "engineering/materials/connectors longest-by-code"),
    ],
)
def test_the_same_figure_has_the_same_mark_in_two_files(figures: dict[str, LedgerFigure], at: str, also: str) -> None:
    assert figures[at].confirmed == figures[also].confirmed


def test_that_a_makers_man_fits_corrugated_tubing_is_as_sure_where_a_region_allows_it(
    figures: dict[str, LedgerFigure],
) -> None:
    (allowed,) = (
        f for at, f in figures.items() if at.startswith("regions/materials rows/csst") and "answer allowed" in f.value
    )
    assert allowed.confirmed == figures["regions/common rules/csst-qualified"].confirmed == "twice"


MATTER_MOST = (
    "regions/canada tests/piping-csa",
    "regions/canada tests/piping-csa-high",
    "regions/canada tests/leak-check-low",
    "regions/common tests/piping-nfpa-1192",
    "regions/common tests/appliances-nfpa-1192",
    "regions/common tests/container-side-joints",
    "regions/au-nz tests/piping-as-nzs",
    "regions/boat-us tests/leak-check-cfr-58",
    "regions/boat-us tests/leak-check-abyc",
    "regions/uk tests/leak-check-up1b",
    "regions/common tests/piping-building",
    "regions/us-cabin rules/purge",
    "regions/us-cabin rules/bonding",
    "regions/common rules/csst-bonding",
    "regions/common rules/sediment-trap",
    "catalog/mounting clearances",
    "regions/cautions cautions/relief-away",
    "regions/cautions cautions/relief-wheels",
    "regions/common rules/fill",
    "regions/cautions cautions/fill-80",
    "regions/common rules/road-clearance",
    "regions/common rules/mount-load-eight",
    "regions/canada rules/mount-load-across",
    "regions/canada rules/mount-load-along",
    "regions/eu rules/tank-fixing",
    "regions/uk rules/tank-fixing",
    "regions/us-trailer rules/total-200-lb",
    "regions/common rules/locker-vents-en",
    "regions/us-cabin rules/sleeping-flueless",
    "regions/eu supply/nominal",
    "regions/uk supply/nominal",
    "regions/boat-eu supply/nominal",
    "regions/common tests/flow-us",
    "regions/upkeep tasks/regulator-pressure",
    "catalog/containers kinds",
    "catalog/containers families",
    "catalog/containers asme_estimates",
    "catalog/day",
    "catalog/parts sources",
    "regions/cautions cautions/emergency-fire",
)
"""What decides a test, a size, a distance or a mount, and stood on memory or practice when a fitter and an inspector read it."""


@pytest.mark.parametrize("at", MATTER_MOST)
def test_no_figure_that_matters_stands_from_memory_without_a_question_beside_it(
    figures: dict[str, LedgerFigure], at: str
) -> None:
    found = [figure for there, figure in figures.items() if there == at or there.startswith((f"{at}/", f"{at} "))]
    assert found
    assert [figure.at for figure in found if figure.confirmed == "memory" and not figure.asked] == []


def test_a_question_asks_about_rows_that_there_are(figures: dict[str, LedgerFigure]) -> None:
    asked = {name for figure in figures.values() for name in figure.asked}
    assert {"container", "tests", "canada-test", "us-trailer-permit", "boat-us-survey", "emergency"} <= asked
    for id_ in region_ids():
        for question in region(id_).questions:
            for at in question.about:
                assert any(at in around(there) for there in figures), at


def test_every_file_is_said_in_words_what_it_is_for(figures: dict[str, LedgerFigure]) -> None:
    for figure in figures.values():
        folder, _, file = figure.at.partition(" ")[0].rpartition("/")
        assert folder != "catalog" or file == "alarms" or file not in figure.used, figure.at
    assert figures["catalog/tables/pe_2psi_1psi"].used == ("capacity of tubing",)
