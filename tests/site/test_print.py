"""What the example site is on paper: sheets that fit, tables that are not cut, and which record each sheet belongs to."""

from __future__ import annotations

import re
import subprocess
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from mkdocs.commands import build as mkdocs_build
from mkdocs.config import load_config

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PAPERS = ("A4", "Letter")
RECORDS = {"bakery-trailer": "A4", "floating-studio": "Letter", "larch-hut": "A4"}
"""The paper that the whole record of a build, which takes seconds to print, is looked at on."""
BUILDS = {"bakery-trailer": "Bakery Trailer", "floating-studio": "Floating Studio", "larch-hut": "Larch Hut"}

MARKS = """() => {
  // Words too small to see, out of the flow, at the top and the foot of each cell: they lie on the sheets the cell lies on.
  // Each ends with a point, so that a figure printed over it is no part of it.
  const mark = (cell, word, side) => {
    cell.style.position = 'relative';
    const made = cell.appendChild(document.createElement('i'));
    made.textContent = word;
    made.style.cssText = `position: absolute; left: 0; ${side}: 1px; font: 1px/1 monospace; white-space: nowrap`;
  };
  return [...document.querySelectorAll('.record table')].map((table, t) => {
    table.querySelectorAll('thead th').forEach((cell, c) => mark(cell, `HEAD-${t}-0-${c}.`, 'top'));
    table.querySelectorAll('tbody tr, tfoot tr').forEach((row, r) => [...row.cells].forEach((cell, c) => {
      mark(cell, `TOP-${t}-${r}-${c}.`, 'top');
      mark(cell, `FOOT-${t}-${r}-${c}.`, 'bottom');
    }));
    return table.caption.innerText;
  });
}"""

WITHOUT_THE_RULES = """@media print {
  tr, tbody tr:last-child { break-inside: auto !important; break-before: auto !important }
  thead { display: table-row-group !important }
  th, td { orphans: 1; widows: 1 }
}"""

Mark = tuple[str, int, int, int]
"""HEAD, TOP or FOOT; which table, row and cell."""


@dataclass(frozen=True)
class Printed:
    """A printed page: the text of its sheets, the captions of its tables, and the sheets on which each mark lies."""

    sheets: list[str]
    captions: list[str]
    marks: dict[Mark, set[int]]

    def cut_rows(self) -> list[str]:
        """Rows of which a cell does not begin and end on one sheet."""
        return [
            f"{self.captions[table]}: row {row + 1}"
            for (side, table, row, cell), on in self.marks.items()
            if side == "TOP" and (len(on) != 1 or on != self.marks[("FOOT", table, row, cell)])
        ]

    def over_sheets(self) -> dict[int, set[int]]:
        """The sheets that the rows of each table lie on, of tables on more than one."""
        found: dict[int, set[int]] = defaultdict(set)
        for (side, table, _, _), on in self.marks.items():
            if side == "TOP":
                found[table] |= on
        return {table: on for table, on in found.items() if len(on) > 1}

    def without_head(self) -> list[str]:
        """Sheets that have rows of a table and not its head."""
        heads: dict[int, set[int]] = defaultdict(set)
        for (side, table, _, _), on in self.marks.items():
            if side == "HEAD":
                heads[table] |= on
        return [
            f"{self.captions[table]}: sheets {sorted(on - heads[table])}"
            for table, on in self.over_sheets().items()
            if on - heads[table]
        ]


SMALLEST = """() => {
  const sizes = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const around = walk.currentNode.parentElement;
    const box = around.getBoundingClientRect();
    if (walk.currentNode.data.trim() && box.width > 1 && box.height > 1 && getComputedStyle(around).visibility === "visible")
      sizes.push(parseFloat(getComputedStyle(around).fontSize));
  }
  return Math.min(...sizes);
}"""
"""The smallest type, in CSS pixels, of what is shown."""

Print = Callable[..., Printed]


@pytest.fixture(scope="module")
def printed(
    browser: Browser, example_sites: dict[str, Path], pdftotext: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Print]:
    """printed(page, paper, marked, style): a page of the example site on paper, with marks in its tables, with more style."""
    folder = tmp_path_factory.mktemp("print")
    window = browser.new_context().new_page()

    def sheets(name: str, paper: str, marked: bool = False, style: str = "") -> Printed:
        address = (example_sites["files"] / name).as_uri()
        # The content policy lets no style in.
        page = browser.new_context(bypass_csp=True).new_page() if style else window
        if marked or page.url != address:  # else it has just been printed on another paper
            page.goto(address)
        captions: list[str] = page.evaluate(MARKS) if marked else []
        if style:
            page.add_style_tag(content=style)
        page.pdf(path=str(folder / "page.pdf"), format=paper)
        if marked:
            page.goto("about:blank")  # nobody else meets the marks
        if style:
            page.context.close()
        command = [pdftotext, "-layout", str(folder / "page.pdf"), "-"]
        text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        found = text.rstrip("\f\n").split("\f")
        if not marked:
            return Printed(found, [], {})
        # In the order of the page's text, so that a mark over other words stays a word.
        raw = subprocess.run([command[0], "-raw", *command[2:]], capture_output=True, text=True, check=True).stdout
        marks: dict[Mark, set[int]] = defaultdict(set)
        for number, sheet in enumerate(raw.split("\f"), 1):
            for side, *place in re.findall(r"(HEAD|TOP|FOOT)-(\d+)-(\d+)-(\d+)\.", sheet):
                table, row, cell = map(int, place)
                marks[(side, table, row, cell)].add(number)
        return Printed(found, captions, dict(marks))

    yield sheets
    window.context.close()


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("build", BUILDS)
@pytest.mark.parametrize("sheet", ["door-sheet"])
def test_the_sheets_to_fill_in_take_one_sheet_of_paper(printed: Print, build: str, sheet: str, paper: str) -> None:
    assert len(printed(f"{build}/{sheet}.html", paper).sheets) == 1


NINE = ("Room heater", "Cooker", "Water heater", "Oven", "Griddle", "Fryer left", "Fryer right", "Refrigerator", "Lamp")
PLACES = {"us-cabin": ("us", "11 inH2O", ""), "eu": ("si", "30 mbar", "setting: trailer")}


def nine_appliances(region: str) -> str:
    """A spec with nine appliances on one manifold, each with a shut-off valve and a connector of its own."""
    shown, pressure, more = PLACES[region]
    branches = "".join(
        f"""
        - - run: {{material: copper, type: K, size: 1/2 in OD, length: 6 ft}}
          - outlet:
              place: Along the long wall, place {number}
              shut_off: yes
              connector: {{kind: flexible, length: 3 ft}}
              appliance: {{name: {name}, kind: room-heater, input: 12 kBtu/h, inlet_thread: 1/2 NPT, flame_failure: yes,
                           jetted_for: {{gas: propane, pressure: {pressure}}}}}"""
        for number, name in enumerate(NINE, 1)
    )
    return f"""---
format: 1
title: Nine Flames
region: {region}
units: {shown}
{more}
container: {{type: dot-100lb, number: 2, manifold: changeover, connection: POL}}
regulator: {{outlet: {pressure}, inlet_thread: 1/4 in inverted flare, outlet_thread: 1/2 NPT}}
supply:
  - run: {{id: trunk, material: copper, type: K, size: 7/8 in OD, length: 20 ft}}
  - valve: {{id: main-shut-off, place: Left of the door}}
  - tap: {{id: gauge-here, place: Under the counter}}
  - junction:
      id: rail
      branches:{branches}
---
"""


@pytest.mark.parametrize("region", PLACES)
def test_the_sheet_for_the_test_day_is_two_pages_at_nine_points_for_nine_appliances(
    page: Page, region: str, pdftotext: str, tmp_path: Path
) -> None:
    (tmp_path / "specs").mkdir()
    (tmp_path / "specs" / "nine.md").write_text(nine_appliances(region), encoding="utf-8")
    (tmp_path / "mkdocs.yml").write_text(
        "site_name: Nine\ndocs_dir: specs\nplugins: [gasdoc]\nuse_directory_urls: false\n", encoding="utf-8"
    )
    mkdocs_build.build(load_config(str(tmp_path / "mkdocs.yml")))
    page.goto((tmp_path / "site" / "nine" / "test-sheet.html").as_uri())
    for paper in PAPERS:
        page.pdf(path=str(tmp_path / "sheet.pdf"), format=paper)
        command = [pdftotext, "-layout", str(tmp_path / "sheet.pdf"), "-"]
        text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        sheets = text.rstrip("\f\n").split("\f")
        assert len(sheets) == 2, paper
        assert all(name in text for name in NINE) and "Next time gas is let in" in sheets[1]
        assert "signatures" in sheets[1]
    page.emulate_media(media="print")
    assert page.evaluate(SMALLEST) >= 12  # CSS pixels: 9 pt
    page.goto((tmp_path / "site" / "nine" / "booklet.html").as_uri())
    for paper in PAPERS:
        page.pdf(path=str(tmp_path / "booklet.pdf"), format=paper)
        command = [pdftotext, "-layout", str(tmp_path / "booklet.pdf"), "-"]
        text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        assert text.count("\f") <= 8 and all(name in text for name in NINE)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("build", BUILDS)
def test_the_sheet_for_the_test_day_of_every_example_is_two_pages(printed: Print, build: str, paper: str) -> None:
    assert len(printed(f"{build}/test-sheet.html", paper).sheets) == 2


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("build", BUILDS)
def test_the_booklet_is_a_few_sheets_and_none_is_blank(printed: Print, build: str, paper: str) -> None:
    sheets = printed(f"{build}/booklet.html", paper).sheets
    assert 3 < len(sheets) <= 8
    assert all(len(sheet.split()) > 40 for sheet in sheets)  # the heads and the foot alone are about thirty words
    assert "Sign-off" in sheets[-1]


@pytest.mark.parametrize(("build", "paper"), RECORDS.items())
def test_a_whole_build_is_printed_with_no_row_cut_and_says_on_every_sheet_what_it_belongs_to(
    printed: Print, build: str, paper: str
) -> None:
    whole = printed(f"{build}/whole.html", paper, marked=True)
    assert len(whole.captions) > 20 and len(whole.marks) > 1000
    assert whole.over_sheets()  # some table goes over a sheet's end, or nothing is shown here
    assert whole.cut_rows() == []
    assert whole.without_head() == []
    assert 10 < len(whole.sheets) < 100  # at the size that the style says: no drawing is too wide for a sheet
    for number, sheet in enumerate(whole.sheets, 1):
        head = " ".join(" ".join(sheet.split("\n", 8)[:8]).split())
        assert re.search(
            rf"{BUILDS[build]} · (revision \w+ of [\d-]+|no revision known)[^·]*· build code gb1-\w+", head
        ), number
        assert re.search(r"Not signed off|Signed off: recorded by", head), number
        assert f"{number}/{len(whole.sheets)}" in sheet.replace(" ", ""), number
    text = "\n".join(whole.sheets)
    for part in ("Overview", "Supply tree", "Leak test", "Upkeep", "Build log"):
        assert part in text


def test_no_heading_of_photos_is_left_at_the_foot_of_a_sheet(printed: Print) -> None:
    sheets = printed("larch-hut/photos.html", "A4").sheets
    (sheet,) = (sheet for sheet in sheets if "Other places" in sheet)
    assert "The hut among yellow larches" in sheet and "East gable" in sheets[0]


def test_cut_rows_and_missing_heads_would_be_seen(printed: Print) -> None:
    page = printed("bakery-trailer/materials.html", "A4", marked=True, style=WITHOUT_THE_RULES)
    assert page.cut_rows() and page.without_head()


@pytest.mark.parametrize("build", BUILDS)
def test_what_is_closed_on_the_screen_is_open_on_paper(page: Page, example_sites: dict[str, Path], build: str) -> None:
    page.goto((example_sites["files"] / build / "whole.html").as_uri())
    hidden = "all => all.filter(e => !e.checkVisibility()).length"
    folded = "main details > :not(summary, .kept)"  # the menus outside it are not for paper, nor are ticks
    page.evaluate(
        "document.querySelectorAll('details').forEach(fold => fold.open = false)"
    )  # those that come next are open
    closed = page.locator(folded).count()
    assert page.eval_on_selector_all(folded, hidden) == closed > 20
    page.emulate_media(media="print")
    assert page.eval_on_selector_all(folded, hidden) == 0
