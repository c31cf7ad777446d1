"""The JSON Schema for editors: made from the model, checked in, and no stricter than the reader."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from places import ROOT

from gasdoc.build.model import Spec
from gasdoc.build.schema import DRAFT, FILE, json_schema, schema_text
from gasdoc.build.starter import starter
from gasdoc.folder.contents import spec_files

SCHEMA = json_schema()
EXAMPLES = [*spec_files(ROOT / "specs"), ROOT / "gasdoc" / "project_files" / "example-hut.md"]
TYPES: dict[str, Any] = {"object": dict, "array": list, "string": str, "boolean": bool, "null": type(None)}


class Editor(yaml.SafeLoader):
    """YAML 1.2 as editors read it: dates and times stay text, only true and false are booleans."""


Editor.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in rows if tag.endswith((":int", ":float", ":null"))]
    for first, rows in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
Editor.add_implicit_resolver("tag:yaml.org,2002:int", re.compile(r"[-+]?[0-9]+$"), list("-+0123456789"))


def head(text: str) -> str:
    return text.split("---\n")[1]


def wrong(value: Any, schema: dict[str, Any], at: str = "") -> list[str]:  # noqa: C901, PLR0912  # one branch for each part
    """What a value has against the parts of draft 7 that the schema uses; any other part is an error."""
    known = {
        "x-code",
        "$schema",
        "title",
        "description",
        "default",
        "examples",
        "definitions",
        "x-dimensions",
        "x-units",
        "format",
    }
    found: list[str] = []
    for key, rule in schema.items():
        if key in known:
            continue
        if key == "$ref":
            found += wrong(value, SCHEMA["definitions"][rule.rpartition("/")[2]], at)
        elif key == "anyOf":
            tried = [wrong(value, option, at) for option in rule]
            fewest: list[str] = min(tried, key=len)
            found += fewest
        elif key == "allOf":
            found += [problem for option in rule for problem in wrong(value, option, at)]
        elif key == "type":
            names = [rule] if isinstance(rule, str) else rule
            number = isinstance(value, int | float) and not isinstance(value, bool)
            fits = any(
                number and (name == "number" or isinstance(value, int))
                if name in ("integer", "number")
                else isinstance(value, TYPES[name])
                for name in names
            )
            found += [] if fits else [f"{at}: {value!r} is no {names}"]
        elif key == "enum":
            found += [] if value in rule else [f"{at}: {value!r} is none of {rule}"]
        elif key == "pattern":
            found += (
                []
                if not isinstance(value, str) or re.search(rule, value)
                else [f"{at}: {value!r} has not the form {rule}"]
            )
        elif key in ("maxLength", "maxItems", "maxProperties"):
            found += [] if not isinstance(value, str | list | dict) or len(value) <= rule else [f"{at}: too long"]
        elif key in ("minItems", "minProperties"):
            found += [] if not isinstance(value, list | dict) or len(value) >= rule else [f"{at}: too short"]
        elif key in ("minimum", "maximum"):
            bad = isinstance(value, int) and (value < rule if key == "minimum" else value > rule)
            found += [f"{at}: {value} is past the {key} {rule}"] if bad else []
        elif key == "items":
            found += [
                p
                for i, item in enumerate(value if isinstance(value, list) else [])
                for p in wrong(item, rule, f"{at}/{i}")
            ]
        elif key == "required":
            found += [f"{at}: {name} is missing" for name in rule if isinstance(value, dict) and name not in value]
        elif key == "properties":
            for name, inner in rule.items():
                if isinstance(value, dict) and name in value:
                    found += wrong(value[name], inner, f"{at}/{name}")
        elif key == "additionalProperties":
            others = set(value) - set(schema.get("properties", ())) if isinstance(value, dict) else set()
            others = {o for o in others if not any(re.search(p, o) for p in schema.get("patternProperties", ()))}
            if rule is False:
                found += [f"{at}: unknown key {other}" for other in sorted(others)]
            else:
                found += [p for other in sorted(others) for p in wrong(value[other], rule, f"{at}/{other}")]
        elif key != "patternProperties":
            raise AssertionError(f"{at}: {key} is not checked here")
    return found


def test_the_checked_in_schema_is_what_the_model_says() -> None:
    there = (ROOT / "specs" / FILE).read_text(encoding="utf-8")
    assert there == schema_text(), "bring it up to date: gasdoc schema > specs/schema/gasdoc-1.json"


def test_it_names_its_draft_and_holds_no_other() -> None:
    assert SCHEMA["$schema"] == DRAFT
    assert "$defs" not in schema_text()
    for block in re.findall(r'\{[^{}]*"\$ref"[^{}]*\}', schema_text()):
        assert len(json.loads(block)) == 1, "draft 7 reads nothing beside a reference"


def test_every_key_of_the_model_is_there_with_words_about_it() -> None:
    blocks = [SCHEMA, *SCHEMA["definitions"].values()]
    assert set(SCHEMA["properties"]) == set(Spec.model_fields)
    for block in blocks:
        assert block["additionalProperties"] is False and block["description"]
        for name, row in block["properties"].items():
            assert row.get("description"), (block.get("title"), name)


def test_every_quantity_has_an_example_and_its_units() -> None:
    def quantities(value: Any) -> Any:
        if isinstance(value, dict):
            if "x-dimensions" in value:
                yield value
            for inner in value.values():
                yield from quantities(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from quantities(inner)

    found = list(quantities(SCHEMA))
    assert len(found) > 40
    for row in found:
        assert row["x-units"] and row["examples"]
        assert all(re.search(row["pattern"], example) for example in row["examples"])


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_the_reader_takes_the_schema_takes(path: Path) -> None:
    data = yaml.load(head(path.read_text(encoding="utf-8")), Loader=Editor)
    assert wrong(data, SCHEMA) == []


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("title:", "titel:", "unknown key titel"),
        ("region: us-cabin", "region: [us]", "is no"),
        ("orientation: upright", "orientation: sideways", "none of"),
        ("altitude: 1,500 ft", "altitude: 1500", "is no"),
        ("- valve: {", "- valf: {", "unknown key valf"),
        ("outlet: 11 inH2O", "outlett: 11 inH2O", "unknown key outlett"),
        ("- tap: {", "- valve: {}\n    tap: {", "too long"),
    ],
)
def test_what_the_reader_refuses_the_schema_marks(old: str, new: str, expected: str) -> None:
    text = head(EXAMPLES[-1].read_text(encoding="utf-8"))
    assert old in text
    found = wrong(yaml.load(text.replace(old, new, 1), Loader=Editor), SCHEMA)
    assert any(expected in problem for problem in found), found


def test_a_note_of_ones_own_is_no_unknown_key() -> None:
    data = yaml.load(head(EXAMPLES[-1].read_text(encoding="utf-8")), Loader=Editor)
    assert wrong(data | {"x-mine": {"any": ["thing"]}}, SCHEMA) == []


def test_new_specs_name_the_schema_where_it_lies_in_a_repository() -> None:
    for text in (starter("my-hut", "My hut", "us-cabin", "us"), EXAMPLES[-1].read_text(encoding="utf-8")):
        second = text.split("\n")[1]
        assert second == f"# yaml-language-server: $schema={FILE}"
    assert (ROOT / "specs" / FILE).is_file()


def test_the_schema_is_the_same_where_python_leaves_docstrings_out() -> None:
    done = subprocess.run(
        [sys.executable, "-OO", "-m", "gasdoc", "schema"], capture_output=True, encoding="utf-8", check=True
    )
    assert done.stdout == schema_text()


def test_every_block_says_what_it_is() -> None:
    schema = json_schema()
    for name, block in {"Spec": schema, **schema["definitions"]}.items():
        assert block["description"].endswith("."), name
