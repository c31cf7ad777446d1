"""The JSON Schema of a spec's front matter, for editors: generated from the model, so that it cannot say anything else.

Draft 7, which YAML editors know. It is a help while writing, not the judge: an editor reads YAML's own guesses (a bare
`2026` is a number to it), so text fields admit those, and what must hold between fields is only in `gasdoc check`.
"""

from __future__ import annotations

import json
from typing import Any

from gasdoc.build import model
from gasdoc.build.model import FORMAT, Spec
from gasdoc.kept import kept_result

DRAFT = "http://json-schema.org/draft-07/schema#"

FILE = f"schema/gasdoc-{FORMAT}.json"
"""Where the schema is, in the folder of specs and on a site."""


@kept_result
def json_schema() -> dict[str, Any]:
    """The schema, with a description for every key. Treat it as read-only."""
    made = Spec.model_json_schema()
    blocks = {name: _described(name, block) for name, block in made.pop("$defs").items()}
    made = _described("Spec", made)
    # Exactly one kind of element in each item of a branch; the reader words that better, but an editor can mark it.
    blocks["Element"] |= {"minProperties": 1, "maxProperties": 1}
    blocks["Run"]["required"].remove("length")  # where the legs say it
    blocks["Run"] = dict(
        sorted((blocks["Run"] | {"anyOf": [{"required": ["length"]}, {"required": ["legs"]}]}).items())
    )
    for block in (blocks["Run"], blocks["Connector"]):
        legs = block["properties"]["legs"]
        legs["items"] = {"anyOf": [{"type": "string", "examples": ["4 ft aft"]}, legs["items"]]}
    photo = {"anyOf": [{"type": "string", "examples": ["my-hut/tee.jpg"]}, {"$ref": "#/$defs/Photo"}]}
    photos = {"anyOf": [*photo["anyOf"], {"type": "array", "items": photo, "maxItems": 40}]}
    for block in (made, *blocks.values()):
        for name, form in (("cover", photo), ("photo", photos)):
            if name in block.get("properties", {}):
                about = {word: block["properties"][name][word] for word in ("description", "x-code")}
                block["properties"][name] = {"anyOf": [*form["anyOf"], {"type": "null"}], **about}
    made["properties"]["joint_photos"]["additionalProperties"] = photos
    made["properties"]["gas"] = {
        "anyOf": [{"enum": ["propane", "butane"]}, {"$ref": "#/$defs/Composition"}],
        "description": made["properties"]["gas"]["description"],
    }
    for block in (made, *blocks.values()):
        _admit_empty(block)
    made["patternProperties"] = {"^x-": {"description": "A note of your own, which gasdoc does not read."}}
    made["title"] = f"gasdoc spec, format {FORMAT}"
    tidy: dict[str, Any] = _tidy({"$schema": DRAFT, **made, "definitions": blocks})
    return tidy


def schema_text() -> str:
    """The schema as it stands in a file."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


def _described(name: str, block: dict[str, Any]) -> dict[str, Any]:
    """A block with what the model says it is."""
    return dict(sorted((block | {"description": getattr(model, name).about}).items()))


def _admit_empty(block: dict[str, Any]) -> None:
    """A key that may be left out may stand empty too."""
    for name, key in block.get("properties", {}).items():
        if name not in block.get("required", ()) and "anyOf" not in key:
            about = {word: key.pop(word) for word in ("default", "description", "x-code") if word in key}
            block["properties"][name] = {"anyOf": [key, {"type": "null"}], **about}


def _tidy(value: Any) -> Any:
    """Draft 7 in place of the newer draft pydantic writes."""
    if isinstance(value, list):
        return [_tidy(item) for item in value]
    if not isinstance(value, dict):
        return value
    made = {
        key: _tidy(item)
        for key, item in value.items()
        if not (key == "title" and isinstance(item, str) and "$schema" not in value)
    }
    if "$ref" in made:
        reference = {"$ref": made.pop("$ref").replace("#/$defs/", "#/definitions/")}
        made = {"allOf": [reference], **made} if made else reference  # draft 7 reads nothing beside a reference
    if made.get("default") is None:
        made.pop("default", None)
    if isinstance(made.get("enum"), list):
        made["enum"] += [
            word.upper() for word in made["enum"] if isinstance(word, str) and len(word) == 1
        ]  # type K, type k
    if made.get("type") == "string" and "x-dimensions" not in made and "format" not in made:
        made["type"] = ["string", "number", "boolean"]
    return made
