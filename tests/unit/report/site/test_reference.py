"""The reference is made from the code, and the README names the commands there are."""

from __future__ import annotations

import datetime as dt
import posixpath
import re
from importlib import resources
from pathlib import Path

import pytest
from msgspec.structs import fields
from places import ROOT

from gasdoc import units
from gasdoc.build.model import Spec
from gasdoc.build.schema import schema_text
from gasdoc.catalog.parts import Family, read_parts
from gasdoc.commandline import COMMANDS, parser
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.report.content.links import Links
from gasdoc.report.content.output import Page
from gasdoc.report.pages.templates import environment
from gasdoc.report.site.reference import (
    PART_ENDS,
    json_objects,
    key_blocks,
    pages,
    schema_asset,
    source_rows,
    unit_rows,
)
from gasdoc.source import read_yaml
from gasdoc.study.referral.ledger import ledger
from gasdoc.validation import described


def link(page: str, target: str) -> str:
    return posixpath.relpath(target, posixpath.dirname(page) or ".")


@pytest.fixture(scope="module")
def made() -> dict[str, Page]:
    return {page.uri: page for page in pages(environment(None), link, COMMANDS)}


def test_the_reference_is_made_once_but_for_a_project_with_templates_of_its_own(tmp_path: Path) -> None:
    first = pages(environment(None), Links(directory_urls=True), COMMANDS)
    assert pages(environment(None), Links(directory_urls=True), COMMANDS) is first
    assert pages(environment(None), Links(directory_urls=False), COMMANDS) != first
    (tmp_path / "pages").mkdir()
    (tmp_path / "pages" / "reference.html").write_text("of our own", encoding="utf-8")
    assert {page.html for page in pages(environment(tmp_path), Links(directory_urls=True), COMMANDS)} == {"of our own"}


def test_every_command_has_words_and_each_of_its_options_too() -> None:
    assert {"check", "build", "serve", "study", "capacity", "new", "compare", "init", "schema", "catalog"} <= {
        c.name for c in COMMANDS
    }
    for command in COMMANDS:
        assert command.what and command.usage.startswith(f"gasdoc {command.name}")
        for option in command.every:
            assert option.described, (command.name, option.written)
            assert "%(" not in option.described and "None" not in option.described


def test_the_usage_of_every_command_is_one_argparse_takes(capsys: pytest.CaptureFixture[str]) -> None:
    for command in COMMANDS:
        with pytest.raises(SystemExit) as done:
            parser().parse_args([command.name, "--help"])
        assert done.value.code == 0
        said = capsys.readouterr().out
        for option in command.every:
            assert option.written.split(" ")[0].strip("[").rstrip(",") in said, (command.name, option.written)


def test_every_command_and_option_is_on_its_page(made: dict[str, Page]) -> None:
    html = made["reference/commands.md"].html
    for command in COMMANDS:
        assert f'id="command-{command.name}"' in html
        for option in command.every:
            assert option.written.split(" ")[0] in html


def test_every_figure_is_on_its_page_and_an_edition_that_has_ended_is_marked() -> None:
    rows = [row for _, rows in source_rows(dt.date(2021, 12, 1)) for row in rows]
    assert len(rows) == len(ledger())
    ended = [row for row in rows if "ENDED: EN 1949:2011+A1:2013, until 2021-11-30; followed by EN 1949:2021" in row[3]]
    assert any(row[0] == "tests/piping-en-1949" for row in ended)
    assert not any("ENDED: EN 1949:2011" in row[3] for _, rows in source_rows(dt.date(2021, 11, 30)) for row in rows)


def test_every_block_and_key_of_the_model_is_on_its_page(made: dict[str, Page]) -> None:
    html = made["reference/keys.md"].html
    blocks = {block.name: block for block in key_blocks()}
    assert [key.name for key in blocks["Spec"].keys] == list(Spec.model_fields)
    assert {"Container", "Mount", "Regulator", "Run", "Outlet", "Appliance", "Test", "Reading", "Origin"} <= set(blocks)
    for block in blocks.values():
        for key in block.keys:
            assert f'id="key-{block.name.lower()}-{key.name}"' in html
            assert key.what and key.form, (block.name, key.name)


def test_examples_fit_their_key_and_can_be_read(made: dict[str, Page]) -> None:
    html = made["reference/keys.md"].html
    for key, example in {
        "mount-bolt_length": "2 in",
        "space-volume": "880 ft3",
        "container-must_last": "10 days",
    }.items():
        assert f"such as {example}" in html[html.index(f'id="key-{key}"') :][:600], key
    assert (
        units.parse("880 ft3", "volume") and units.parse("10 days", "time") and units.parse("9 %", "pressure", "share")
    )


def test_links_between_blocks_lead_somewhere(made: dict[str, Page]) -> None:
    for page in made.values():
        anchors = set(re.findall(r'id="([^"]+)"', page.html))
        assert len(anchors) == len(re.findall(r'id="([^"]+)"', page.html)), "an anchor stands twice"
        for target in re.findall(r'href="#([^"]+)"', page.html):
            assert target in anchors, (page.uri, target)


def test_no_markup_is_shown_as_text(made: dict[str, Page]) -> None:
    """A page that escapes its own markup twice shows tags."""
    assert "<code>" in made["reference/json.md"].html and "<code>" in made["reference/keys.md"].html
    for page in made.values():
        assert "&lt;code&gt;" not in page.html and "&lt;a " not in page.html, page.uri


def test_every_object_of_the_json_is_on_its_page(made: dict[str, Page]) -> None:
    html = made["reference/json.md"].html
    for name, anchor, _, rows in json_objects():
        assert f'id="{anchor}"' in html and f"Keys of {name}" in html
        assert rows and {len(row) for row in rows} in ({2}, {3})
    assert '<a href="#json-study">Study</a>' in html and "This is version 2" in html


def test_every_unit_is_on_its_page(made: dict[str, Page]) -> None:
    html = made["reference/units.md"].html
    assert [name for name, _, _ in unit_rows()] == list(units.dimensions())
    for dimension in units.dimensions():
        assert f'id="unit-{dimension.replace(" ", "-")}"' in html
        for unit in units.units()[dimension].values():
            assert unit.spellings[0].replace('"', "&#34;").replace("'", "&#39;") in html


def test_the_page_on_own_parts_has_an_example_that_is_taken_every_key_and_ends_that_can_be_read(
    made: dict[str, Page],
) -> None:
    text = resources.files("gasdoc").joinpath("project_files", "example_parts.yaml").read_text(encoding="utf-8")
    document = read_yaml(text, "parts.yaml")
    assert {part.id for part in read_parts(document).parts} == {
        "burner-adapter:1/2 x 1/2",
        "burner-adapter:3/8 x 3/8",
        "galley-valve",
    }
    assert document.problems == []
    html = made["reference/parts.md"].html
    assert "id: burner-adapter" in html and all(f">{key}<" in html for key in Family.__struct_fields__)
    assert all(described(key.type) for key in fields(Family))
    for forms, one, _ in PART_ENDS:
        assert parse_end(one, "female") and forms in html


def test_the_schema_is_published_as_it_is_checked_in() -> None:
    assert schema_asset().content.decode() == schema_text()


def test_every_page_defers_to_the_people_who_decide(made: dict[str, Page]) -> None:
    for page in made.values():
        assert "It does not certify" in page.html


def test_the_readme_names_every_command_and_no_other() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    listed = re.findall(r"^\| `gasdoc ([a-z]+)", readme, re.MULTILINE)
    assert sorted(listed) == sorted(command.name for command in COMMANDS)
