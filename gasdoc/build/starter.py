"""Starting a new spec: from nothing, or from the text of a previous build.

A previous spec is cut by the positions of its YAML nodes, never dumped again: comments, order and the spelling of
quantities are the builder's work and survive. What was true of the old build only (dates, tests, serial numbers,
sign-off, log) does not: a new build never starts as tested.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from importlib import resources
from string import Template
from textwrap import wrap
from typing import Any, NamedTuple

import yaml

from gasdoc.build.log import read_log
from gasdoc.build.supply import slug
from gasdoc.catalog import tubing
from gasdoc.catalog.appliances import day, kinds
from gasdoc.source import Path, read_yaml

_EXAMPLES: dict[str, dict[str, str]] = {
    "us": {
        "altitude": "6,500 ft",
        "coldest": "-10 degF",
        "water_capacity": "28.5 gal",
        "water_weight": "238 lb",
        "diameter": "15 in",
        "container_length": "48 in",
        "tare": "69 lb",
        "excess_flow": "200 kBtu/h",
        "bolt_length": "2 in",
        "along": "[0 in, 14 in]",
        "spacer": "1/4 in",
        "height": "8 in",
        "fittings": "5 lb",
        "ground": "12 in",
        "rated": "500 lb",
        "clearance": "36 in",
        "capacity": "150 kBtu/h",
        "inlet": "10 psi",
        "outlet": "11 inH2O",
        "tolerance": "10 % or 1 inH2O",
        "lock_up": "13 inH2O",
        "length": "9 ft",
        "rise": "2 ft",
        "shut_off_distance": "2 ft",
        "distance": "24 in",
        "connector_length": "24 in",
        "hose_legs": "1 ft",
        "connector_capacity": "60 kBtu/h",
        "maker_capacity": "78 kBtu/h",
        "input": "30 kBtu/h",
        "jetted_altitude": "6000 ft",
        "locker_length": "30 in",
        "locker_width": "16 in",
        "locker_height": "26 in",
        "locker_vent": "10 in2",
        "locker_drain": "3/4 in",
        "locker_above": "3 in",
        "locker_to_opening": "20 in",
        "jetted_pressure": "11 inH2O",
        "min_inlet": "10 inH2O",
        "max_inlet": "14 inH2O",
        "volume": "800 ft3",
        "floor_area": "110 ft2",
        "lowest_void": "4 ft3",
        "vent_high": "20 in2",
        "vent_low": "20 in2",
        "no_vent": "0 in2",
        "lowest_temperature": "-40 degF",
        "season_air": "50 degF",
        "per": "1 gal",
        "thermometer": "1 degF",
    },
    "si": {
        "altitude": "2,000 m",
        "coldest": "-20 degC",
        "water_capacity": "108 L",
        "water_weight": "108 kg",
        "diameter": "380 mm",
        "container_length": "1220 mm",
        "tare": "31 kg",
        "excess_flow": "60 kW",
        "bolt_length": "50 mm",
        "along": "[0 mm, 350 mm]",
        "spacer": "6 mm",
        "height": "200 mm",
        "fittings": "2.5 kg",
        "ground": "300 mm",
        "rated": "250 kg",
        "clearance": "900 mm",
        "capacity": "45 kW",
        "inlet": "0.7 bar",
        "outlet": "30 mbar",
        "tolerance": "10 % or 5 mbar",
        "lock_up": "35 mbar",
        "length": "2.7 m",
        "rise": "0.6 m",
        "shut_off_distance": "0.6 m",
        "distance": "0.6 m",
        "connector_length": "0.6 m",
        "hose_legs": "300 mm",
        "connector_capacity": "18 kW",
        "maker_capacity": "22 kW",
        "input": "9 kW",
        "jetted_altitude": "1800 m",
        "locker_length": "760 mm",
        "locker_width": "400 mm",
        "locker_height": "660 mm",
        "locker_vent": "65 cm2",
        "locker_drain": "19 mm",
        "locker_above": "75 mm",
        "locker_to_opening": "500 mm",
        "jetted_pressure": "30 mbar",
        "min_inlet": "25 mbar",
        "max_inlet": "35 mbar",
        "volume": "22 m3",
        "floor_area": "10 m2",
        "lowest_void": "120 L",
        "vent_high": "130 cm2",
        "vent_low": "130 cm2",
        "no_vent": "0 cm2",
        "lowest_temperature": "-20 degC",
        "season_air": "10 degC",
        "per": "11 kg",
        "thermometer": "0.5 K",
    },
}
_EXAMPLES["anz"] = _EXAMPLES["si"] | {
    "excess_flow": "220 MJ/h",
    "capacity": "160 MJ/h",
    "inlet": "70 kPa",
    "outlet": "2.75 kPa",
    "tolerance": "10 % or 0.5 kPa",
    "lock_up": "3.5 kPa",
    "connector_capacity": "65 MJ/h",
    "maker_capacity": "80 MJ/h",
    "input": "32 MJ/h",
    "jetted_pressure": "2.75 kPa",
    "min_inlet": "2.5 kPa",
    "max_inlet": "3.5 kPa",
}
"""An example for each key, such as may stand on one and the same build: people copy what they see."""

_PLANNED: dict[str, dict[str, str]] = {
    "us": {"altitude": "1000 ft", "carry": "60 lb", "length": "8 ft", "branch": "6 ft"},
    "si": {"altitude": "300 m", "carry": "25 kg", "length": "2.5 m", "branch": "2 m"},
    "anz": {"altitude": "300 m", "carry": "25 kg", "length": "2.5 m", "branch": "2 m"},
}
"""An example for each value of a plan, invented."""

_BURNERS = (
    (
        "Heater",
        "room-heater",
        {"us": "10 kBtu/h", "si": "3 kW", "anz": "11 MJ/h"},
        "through the night",
        "8 h are counted",
    ),
    ("Cooker", "cooker", {"us": "24 kBtu/h", "si": "7 kW", "anz": "25 MJ/h"}, "2 h", "two meals"),
    ("Water heater", "water-heater", {"us": "34 kBtu/h", "si": "10 kW", "anz": "36 MJ/h"}, "1 h", "a few people wash"),
    ("Oven", "oven", {"us": "10 kBtu/h", "si": "3 kW", "anz": "11 MJ/h"}, "1 h", "one meal"),
    (
        "Refrigerator",
        "refrigerator",
        {"us": "1.5 kBtu/h", "si": "0.4 kW", "anz": "1.4 MJ/h"},
        "12 h",
        "half of the day",
    ),
    ("Light", "light", {"us": "2 kBtu/h", "si": "0.6 kW", "anz": "2 MJ/h"}, "evenings", "4 h are counted"),
)
"""The appliances of a plan: name, kind, input, hours a day and what those hours mean. All invented."""

MOST_PLANNED = len(_BURNERS)
"""How many appliances a new plan can have; more are added by hand."""

_DROPPED_AT_TOP = {
    "summary": "the sentence about the build it was copied from",
    "cover": "its picture",
    "started": "the day the work began",
    "bought": "the day the last part was bought",
    "fitted": "the day the system was complete",
    "in_use": "the first day that gas was burnt in it",
    "emergency": "whom to call first",
    "tests": "test",
    "disturbances": "disturbance",
    "signed_off": "the sign-off",
    "done": "upkeep record",
    "on_shelf": "what was on the shelf",
    "measured": "fittings as they were measured",
    "joint_photos": "photos of its joints",
}
_DROPPED_BELOW = {
    "manufactured": "date of manufacture",
    "requalified": "date of requalification",
    "replace_by": "date of replacement",
    "serial": "serial number",
    "licence": "licence number",
    "covers": "code",
    "fill": "gauge reading",
    "photo": "photos",
}
_FRONT = re.compile(
    r"\A(?P<open>---[^\S\n]*\n)(?P<head>.*?)(?P<close>^---[^\S\n]*$)\n?(?P<body>.*)\Z", re.DOTALL | re.MULTILINE
)
_PICTURE = re.compile(r"!\[|<img\b", re.IGNORECASE)
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def starter(name: str, title: str, region: str, units: str) -> str:
    """The text of a spec for a new build, with comments that say where each value is found.

    Reading it gives a problem for each required value that only the builder can know, and no other. `units` is a
    system and chooses the examples in the comments; "both" gives examples in both, to be read and not to be filled in.
    """
    us, si = _EXAMPLES["us"], _EXAMPLES["si"]
    both = {key: f"{us[key]} or {si[key].removeprefix('10 % or ')}" for key in us}
    examples = (_EXAMPLES | {"both": both})[units]
    text = resources.files("gasdoc.build").joinpath("starter.md").read_text(encoding="utf-8")
    return Template(text).substitute(
        examples,
        name=name,
        title=_scalar(title),
        region=region,
        units=units,
        materials=_materials(),
        appliances=_appliances(),
    )


def plan(name: str, title: str, region: str, settings: Sequence[str], coldest: str, units: str, appliances: int) -> str:
    """The text of a plan with so many appliances, 1 to `MOST_PLANNED`: nothing in it is chosen yet, and reading it gives no
    problem. `settings` are those of the region: of several, the first is written. `coldest` is an example for the coldest night.
    `units` are those of the pages."""
    values = _PLANNED[units]
    outlets = [
        f"outlet: {{appliance: {{name: {called}, kind: {kind}, input: {heat[units]}, daily_use: {hours}}}}} # {words}\n"
        for called, kind, heat, hours, words in _BURNERS[:appliances]
    ]
    if appliances == 1:
        branches = f"  - {outlets[0]}"
    else:
        run = f"        - - run: {{length: {values['branch']}}}\n"
        branches = "  - junction:\n      branches:\n" + "".join(f"{run}          - {outlet}" for outlet in outlets)
    text = resources.files("gasdoc.build").joinpath("plan.md").read_text(encoding="utf-8")
    return Template(text).substitute(
        values,
        name=name,
        title=_scalar(title),
        region=region,
        units=units,
        coldest=coldest,
        outlet=_EXAMPLES[units]["outlet"],
        last=(day().must_last.value if settings[0] == "cabin" else day().must_last.other).text,
        setting=settings[0],
        settings=" or ".join(settings),
        kinds=", ".join(kinds()),
        branches=branches,
    )


def _materials() -> str:
    """The materials of tubing, those last that may lie in the ground only."""
    buried = [name for name in tubing.materials() if tubing.material(name).only_buried]
    *others, last = (name for name in tubing.materials() if name not in buried)
    return f"{', '.join(others)} or {last} ({', '.join(buried)} in the ground only)"


def _appliances() -> str:
    """The kinds of appliance, in as many lines as they take."""
    *others, last = kinds()
    return "\n".join(wrap(f"{', '.join(others)} or {last}", 80)).replace("\n", f"\n{' ' * 36}# ")


def from_previous(
    text: str, name: str, title: str | None, origin: str, revision: str | None
) -> tuple[str, tuple[str, ...]]:
    """The text of a new spec made from a previous one's, and what was left out of it, in words.

    Left out: dates, tests, disturbances, upkeep records, serial numbers, sign-off, log and pictures. Keys that stand
    empty stay. `title` (or else `name`) becomes the title, `draft` is yes, and `template` says which build, at which
    revision, this one was started from. Raises ValueError when the previous spec's front matter cannot be read.
    """
    front = _FRONT.match(text)
    if front is None:
        raise ValueError("the spec to start from has no front matter")
    head = front["head"]
    document = read_yaml(head, origin, first_line=2)
    if document.problems:
        raise ValueError(f"the spec to start from cannot be read: {document.problems[0]}")
    root = yaml.compose(head, Loader=_LOADER)
    if not isinstance(root, yaml.MappingNode):
        raise ValueError("the front matter of the spec to start from is not a block of keys")  # noqa: TRY004  # the text's fault

    entries = {key.value: _Entry.of(head, key, value) for key, value in root.value}
    template = {"build": slug(origin)} | ({"revision": revision} if revision else {})
    new_title = title or name.replace("-", " ").capitalize()
    lines = {
        "draft": "draft: yes",
        "title": f"title: {_scalar(new_title)}",
        "template": "template: {" + ", ".join(f"{key}: {_scalar(value)}" for key, value in template.items()) + "}",
    }
    edits = [_Edit(entries[key].start, entries[key].end, line) for key, line in lines.items() if key in entries]
    added = [line for key, line in lines.items() if key not in entries]
    if added:
        edits.append(_insertion(head, root, entries.get("title"), added))
    expected = dict(_without_dropped(document.data, ())) | {
        "draft": "yes",
        "title": _tidy(new_title),
        "template": template,
    }
    edits += _cuts(head, root, ())
    new_head = _apply(head, edits)

    # The promise that nothing of the old tests and dates is left rests on this, not on the care taken above.
    again = read_yaml(new_head, origin, first_line=2)
    if again.problems or again.data != expected:
        raise ValueError("the front matter of the spec to start from is laid out in a way that cannot be cut cleanly")
    words = (*_in_words(document.data), *_log_in_words(front["body"]))
    return f"{front['open']}{new_head}{front['close']}\n", words


def _tidy(text: str) -> str:
    return "".join(char for char in " ".join(text.split()) if char.isprintable())


def _scalar(text: str) -> str:
    """Text as a YAML scalar on one line, plain where it can stand plain in a flow mapping too."""
    text = _tidy(text)
    plain = re.fullmatch(r"[^\W_][\w .'()/-]*", text) and not text.endswith(" ") and text.lower() != "null"
    return text if plain else json.dumps(text, ensure_ascii=False)


# --- what is dropped ------------------------------------------------------------------------------------------------


def _is_dropped(at: Path, key: str, empty: bool) -> bool:
    """Whether the entry `key` of the mapping at `at` is true of the old build only."""
    wished = at[:1] == ("wishes",)  # what its builder would have is no record
    return not empty and not wished and key in (_DROPPED_BELOW if at else _DROPPED_AT_TOP)


def _is_opaque(at: Path, key: str) -> bool:
    """Whether a block's keys are the builder's own words, not ours."""
    return key == "daily_use" or (not at and (key == "prices" or key.startswith("x-")))


def _without_dropped(value: Any, at: Path) -> Any:
    if isinstance(value, list):
        return [_without_dropped(item, (*at, i)) for i, item in enumerate(value)]
    if not isinstance(value, dict):
        return value
    return {
        key: item if _is_opaque(at, key) else _without_dropped(item, (*at, key))
        for key, item in value.items()
        if not _is_dropped(at, key, item in (None, [], {}))
    }


def _in_words(data: Mapping[str, Any]) -> Iterator[str]:
    for key, value in data.items():
        if _is_dropped((), key, value in (None, [], {})):
            what = _DROPPED_AT_TOP[key]
            yield f"{key}: {_counted(len(value), what) if isinstance(value, list) else what}"
        elif not _is_opaque((), key):
            yield from _nested_in_words(value, key, "")


def _nested_in_words(value: Any, owner: str, near: str) -> Iterator[str]:
    """`owner` is what the values are about, `near` the appliance at the same outlet."""
    if isinstance(value, list):
        for item in value:
            yield from _nested_in_words(item, owner, near)
    if not isinstance(value, dict):
        return
    if owner == "outlet" and isinstance(value.get("appliance"), dict):
        near = str(value["appliance"].get("name") or "")
    name = owner
    if owner == "alarms":
        name = f"{value.get('kind') or ''} alarm".strip()
    elif owner == "appliance":
        name = near or "appliance"
    elif near:
        name = f"{owner} of {near}"
    elif value.get("id"):
        name = f"{owner} {value['id']}"
    for key, item in value.items():
        if _is_dropped((owner,), key, item in (None, [], {})):
            yield f"{name} {_DROPPED_BELOW[key]}"
        elif not _is_opaque((owner,), key):
            yield from _nested_in_words(item, key, near)


def _log_in_words(body: str) -> Iterator[str]:
    log, _ = read_log(body, "", 1)
    pictures = len(_PICTURE.findall(body))
    if log.entries:
        yield f"log: {_counted(len(log.entries), 'entry')}"
    elif log.introduction.strip():
        yield "log: the text"
    if pictures:
        yield f"log: {_counted(pictures, 'picture')}"


def _counted(number: int, what: str) -> str:
    if number != 1:
        what = f"{what[:-1]}ies" if what.endswith("y") else f"{what}s"
    return f"{number} {what}"


# --- cutting text ---------------------------------------------------------------------------------------------------


class _Edit(NamedTuple):
    """The text from `start` to `end` is replaced."""

    start: int
    end: int
    text: str = ""


class _Entry(NamedTuple):
    """A key with its value in a mapping: from the key (or the '?' before it) to the end of what was written."""

    start: int
    end: int

    @classmethod
    def of(cls, text: str, key: yaml.Node, value: yaml.Node) -> _Entry:
        start = key.start_mark.index
        before = text[:start].rstrip(" ")
        return cls(len(before) - 1 if before.endswith("?") else start, max(_end(text, value), key.end_mark.index))


def _end(text: str, node: yaml.Node) -> int:
    """Where what was written of a node ends; a block's own mark lies beyond the comments that follow it."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return max(_end(text, n) for n in (last if isinstance(last, tuple) else (last,)))
    start, end = int(node.start_mark.index), int(node.end_mark.index)
    return start + len(text[start:end].rstrip())


def _apply(text: str, edits: list[_Edit]) -> str:
    """The text with every edit made; cuts that touch or overlap count once."""
    out: list[str] = []
    at = 0
    for edit in sorted(edits):
        if edit.end > at or edit.text:
            out += [text[at : max(edit.start, at)], edit.text]
            at = max(edit.end, at)
    return "".join(out) + text[at:]


def _insertion(head: str, root: yaml.MappingNode, title: _Entry | None, lines: list[str]) -> _Edit:
    """New top-level entries: after the title if there is one, else at the top."""
    if root.flow_style:
        at = title.end if title else int(root.start_mark.index) + 1
        return _Edit(
            at, at, "".join(f", {line}" for line in lines) if title else "".join(f"{line}, " for line in lines)
        )
    at = _line_end(head, title.end) if title else 0
    return _Edit(at, at, "".join(f"{line}\n" for line in lines))


def _cuts(text: str, node: yaml.Node, at: Path) -> Iterator[_Edit]:
    """The edits that take the dropped entries out of a node and all below it."""
    if isinstance(node, yaml.SequenceNode):
        for i, item in enumerate(node.value):
            yield from _cuts(text, item, (*at, i))
    if not isinstance(node, yaml.MappingNode):
        return
    entries: list[_Entry] = []
    dropped: list[bool] = []
    for key, value in node.value:
        entries.append(_Entry.of(text, key, value))
        dropped.append(_is_dropped(at, key.value, _is_empty(value)))
        if not dropped[-1] and not _is_opaque(at, key.value):
            yield from _cuts(text, value, (*at, key.value))
    if any(dropped):
        yield from (_flow_cuts if node.flow_style else _block_cuts)(text, entries, dropped)


def _is_empty(node: yaml.Node) -> bool:
    if isinstance(node, yaml.ScalarNode):
        return node.tag == "tag:yaml.org,2002:null" and not node.style
    return not node.value


def _block_cuts(text: str, entries: list[_Entry], dropped: list[bool]) -> Iterator[_Edit]:
    if all(dropped):
        # A block without entries would read as nothing at all; an empty block says what is left of it.
        yield _Edit(entries[0].start, entries[-1].end, "{}")
        return
    end, after_blank = -1, False
    for i, entry in enumerate(entries):
        if not dropped[i]:
            continue
        line = _line_start(text, entry.start)
        indent = entry.start - line
        if text[line : entry.start].strip():
            # The first entry behind a "- ": the next one takes its place, or its own line if comments lie between.
            kept = dropped.index(False)
            stop = entries[kept].start
            end = _comments_end(text, _line_end(text, entry.end), indent)
            between = _comments_end(text, _line_end(text, entries[kept - 1].end), indent)
            yield _Edit(entry.start, end - 1 if text[between:stop].strip() else stop)
            continue
        start = _comments_start(text, line, indent)
        # Of the blank lines before and after what goes, those before stay.
        after_blank = (after_blank and start == end) or start == 0 or text[:start].endswith("\n\n")
        end = _comments_end(text, _line_end(text, entry.end), indent)
        if after_blank:
            end += len(text[end:]) - len(text[end:].lstrip("\n"))
        yield _Edit(start, end)


def _flow_cuts(text: str, entries: list[_Entry], dropped: list[bool]) -> Iterator[_Edit]:
    last_kept = max((i for i, gone in enumerate(dropped) if not gone), default=-1)
    for i, entry in enumerate(entries):
        if not dropped[i]:
            continue
        comma = _comma(text, entry.end)
        end = entry.end if comma is None else comma + 1
        line, rest = _line_start(text, entry.start), re.compile(r"[^\S\n]*").match(text, end)
        after = rest.end() if rest else end
        if not text[line : entry.start].strip() and text[after : after + 1] in ("\n", "#"):
            yield _Edit(line, _line_end(text, after))  # alone on its line or lines
        elif text[after : after + 1] in ("\n", "#"):
            yield _Edit(len(text[: entry.start].rstrip(" ")), after if text[after] == "\n" else end)
        else:
            yield _Edit(entry.start, after)
    if 0 <= last_kept < len(entries) - 1 and _comma(text, entries[-1].end) is None:
        # The comma that stood before what is gone, with the spaces behind it if the line goes on.
        comma = _comma(text, entries[last_kept].end)
        assert comma is not None, "two entries of a flow mapping have a comma between them"
        spaces = len(text[comma + 1 :]) - len(text[comma + 1 :].lstrip(" "))
        goes_on = text[comma + 1 + spaces : comma + 2 + spaces] not in ("\n", "#")
        yield _Edit(comma, comma + 1 + (spaces if goes_on else 0))


def _comma(text: str, at: int) -> int | None:
    """The comma that follows a flow entry, past spaces, line ends and comments; None if the mapping ends there."""
    match = re.compile(r"(?:\s|(?<=\s)#[^\n]*)*,").match(text, at)
    return match.end() - 1 if match else None


def _line_start(text: str, at: int) -> int:
    return text.rfind("\n", 0, at) + 1


def _line_end(text: str, at: int) -> int:
    """Just behind the line end at or after `at`."""
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def _comments_start(text: str, line: int, indent: int) -> int:
    """Where the comment lines begin that stand right above a line, indented like it: they are about it."""
    while line > 0:
        above = _line_start(text, line - 1)
        if not re.match(rf" {{{indent}}}#", text[above:line]):
            break
        line = above
    return line


def _comments_end(text: str, line: int, indent: int) -> int:
    """Where the comment lines end that follow an entry and are indented deeper than it: they belong to its value."""
    end = line
    while line < len(text):
        below = _line_end(text, line)
        content = text[line:below].lstrip(" ")
        if content.startswith("#") and below - line - len(content) > indent:
            end = below
        elif content.strip():
            break
        line = below
    return end
