"""The reference: every command, every key of a spec, every unit, every code of a finding, made from the code itself.

The pages are made with the site, by the gasdoc that made the rest of it, so that they cannot say anything else.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from functools import cache
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup
from msgspec import Struct
from msgspec.structs import fields

from gasdoc import units
from gasdoc.build.schema import FILE, json_schema, schema_text
from gasdoc.catalog.countries import cylinders
from gasdoc.catalog.parts import Family
from gasdoc.commandline import Command
from gasdoc.kept import kept_result
from gasdoc.regions.region import region
from gasdoc.report.content.links import Link, Links
from gasdoc.report.content.output import Asset, NavItem, Page
from gasdoc.report.content.words import with_code
from gasdoc.report.formats.encoder import describe
from gasdoc.report.formats.finding_codes import codes
from gasdoc.report.formats.jsonout import DOCUMENTS, VERSION
from gasdoc.report.pages.glossary import by_letters, words_source
from gasdoc.report.pages.templates import environment, of_project
from gasdoc.source import CONFIRMED
from gasdoc.study.materials.coverage import coverage
from gasdoc.study.referral.ledger import LedgerEdition, ledger
from gasdoc.validation import described

SECTIONS = (
    ("index", "Reference"),
    ("commands", "Commands"),
    ("keys", "Keys of a spec"),
    ("units", "Units"),
    ("json", "JSON"),
    ("findings", "Findings and problems"),
    ("parts", "Parts of your own"),
    ("coverage", "What can be joined where"),
    ("sources", "Figures and their sources"),
    ("glossary", "Words of the trade"),
)


class SpecKey(Struct, frozen=True):
    """One key: `form` says what is written behind it, `block` the name of the block that follows, if one does."""

    name: str
    needed: bool
    what: Markup
    form: str
    block: str | None


class KeyBlock(Struct, frozen=True):
    """One block of keys; `below` are the places it stands in."""

    name: str
    what: str
    keys: tuple[SpecKey, ...]


@kept_result
def key_blocks() -> tuple[KeyBlock, ...]:
    """Every block of a spec with its keys, in the order of the model, from the JSON Schema."""
    schema = json_schema()
    blocks = {"Spec": schema, **schema["definitions"]}
    found: list[KeyBlock] = []
    waiting = ["Spec"]
    while waiting:
        name = waiting.pop(0)
        block = blocks[name]
        keys = tuple(_key(key, row, key in block.get("required", ())) for key, row in block["properties"].items())
        found.append(KeyBlock(name, block.get("description", ""), keys))
        for key in keys:
            if key.block and key.block not in waiting and all(key.block != done.name for done in found):
                waiting.append(key.block)
    return tuple(found)


def key_anchor(block: str, key: str) -> str:
    """Where a key stands on the page of keys."""
    return f"key-{block.lower().replace(' ', '-')}-{key}"


def _key(name: str, row: dict[str, Any], needed: bool) -> SpecKey:
    form, block = _form(row)
    if isinstance(row.get("default"), str | bool | int):
        form += f", {_word(row['default'])} if left out"
    return SpecKey(name, needed, with_code(str(row.get("description", ""))), form, block)


def _form(row: dict[str, Any]) -> tuple[str, str | None]:
    """What is written behind a key in words, and the block it is."""
    if "anyOf" in row or "allOf" in row:
        parts = [_form(part) for part in row.get("anyOf", row.get("allOf", ())) if part.get("type") != "null"]
        texts = list(dict.fromkeys(text for text, _ in parts))
        several = f"a list: each {' or '.join(texts[:-1])}"
        texts[-1] = "a list of these" if texts[-1] == several else texts[-1]
        return " or ".join(texts), next((block for _, block in parts if block), None)
    if "$ref" in row:
        return "a block", row["$ref"].rpartition("/")[2]
    if "enum" in row:
        return ", ".join(dict.fromkeys(map(_word, row["enum"]))), None
    if "x-dimensions" in row:
        return f"{' or '.join(row['x-dimensions'])}, such as {' or '.join(row['examples'])}", None
    if row.get("type") == "array":
        form, block = _form(row.get("items", {}))
        return f"a list: each {form}", block
    if row.get("type") == "object" and "properties" in row:
        return "a block with " + ", ".join(row["properties"]), None
    if row.get("type") == "object":
        form, block = _form(row["additionalProperties"])
        return f"names, each with {form}", block
    if "integer" in row.get("type", ()):
        bounds = f", {row['minimum']} to {row['maximum']}" if "minimum" in row else ""
        return f"a whole number{bounds}", None
    if "examples" in row:
        return f"such as {row['examples'][0]}", None
    return "an id: small letters, digits, hyphens" if "pattern" in row else "text", None


def _word(value: str | bool | int) -> str:
    """A value as it is written in a spec."""
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)


def unit_rows() -> Iterator[tuple[str, str, list[list[str]]]]:
    """By dimension: its name, an example, and a row for each unit: spellings, size in SI."""
    for dimension, spellings in units.units().items():
        rows = []
        for unit in dict.fromkeys(spellings.values()):
            size = f"{unit.si:.10g} {units.si_unit(dimension)}" + (f", then {unit.offset:+.10g}" if unit.offset else "")
            rows.append([", ".join(unit.spellings), size])
        yield (dimension, units.example(dimension), rows)


@kept_result
def json_objects() -> list[tuple[str, str, Markup, list[list[Any]]]]:
    """Every object of the JSON: its name and anchor, what it is, and a row for each key; what a key says, where one does."""
    return [
        (
            found.name,
            _anchor(found.name),
            with_code(found.what),
            [
                [k.name, _linked(k.form), *([with_code(k.what)] if any(key.what for key in found.keys) else [])]
                for k in found.keys
            ],
        )
        for found in describe(*DOCUMENTS)
    ]


def _anchor(name: str) -> str:
    return f"json-{re.sub('[ .]', '-', name.lower())}"


def _linked(text: str) -> Markup:
    """Text in which a name between brackets leads to that object."""
    return Markup(
        re.sub(r"\[(.*?)\]", lambda found: f'<a href="#{_anchor(found[1])}">{found[1]}</a>', str(with_code(text)))
    )


def source_rows(day: dt.date | None) -> list[tuple[str, list[list[str]]]]:
    """The ledger by file: its name, and a row for each figure. Editions that end before `day` are marked."""
    found: dict[str, list[list[str]]] = {}
    for figure in ledger():
        file, _, place = figure.at.partition(" ")
        source = ". ".join(
            filter(None, (figure.citation.rstrip("."), *(_edition(edition, day) for edition in figure.editions)))
        )
        looked = [f"{look.looked}: {look.verdict}. {look.says}" for look in figure.looks]
        found.setdefault(file, []).append(
            [
                place or "the file",
                figure.value,
                "; ".join(figure.used),
                source,
                figure.confirmed,
                " ".join([*looked, *([f"Asked of the authority: {', '.join(figure.asked)}."] if figure.asked else [])])
                or "none",
            ]
        )
    return list(found.items())


def _by_folder(files: list[tuple[str, list[list[str]]]]) -> list[tuple[str, list[tuple[str, list[list[str]]]]]]:
    """The files of the ledger by the folder they lie in."""
    found: dict[str, list[tuple[str, list[list[str]]]]] = {}
    for file, rows in files:
        found.setdefault(file.rpartition("/")[0], []).append((file, rows))
    return list(found.items())


def _edition(edition: LedgerEdition, day: dt.date | None) -> str:
    """What there is to say of an edition: when it ends or has ended, and what follows."""
    followed = f"; followed by {edition.then}" if edition.then else ""
    if edition.until is None:
        return f"{edition.name}{followed}" if edition.then else ""
    ended = day is not None and edition.until < day
    return f"{'ENDED: ' if ended else ''}{edition.name}, until {edition.until}{followed}"


def pages(
    env: jinja2.Environment, link: Link, commands: Sequence[Command], day: dt.date | None = None
) -> tuple[Page, ...]:
    """The pages of the reference; editions are held against `day`. Without commands there is only the page of words, to which
    the pages of builds lead. What follows from gasdoc alone is made once: while a site is served it stays the same."""
    if isinstance(link, Links) and not of_project(env):
        return _ours(link, tuple(commands), day)
    return tuple(_made(env, link, commands, day))


@cache
def _ours(link: Links, commands: tuple[Command, ...], day: dt.date | None) -> tuple[Page, ...]:
    return tuple(_made(environment(None), link, commands, day))


def _made(env: jinja2.Environment, link: Link, commands: Sequence[Command], day: dt.date | None) -> Iterator[Page]:
    made = SECTIONS if commands else SECTIONS[-1:]
    for section, title in made:
        here = f"reference/{section}.md"
        html = env.get_template("pages/reference.html").render(
            section=section,
            title=title,
            commands=commands,
            blocks=key_blocks() if section == "keys" else (),
            dimensions=list(unit_rows()) if section == "units" else (),
            objects=json_objects() if section == "json" else (),
            version=VERSION,
            codes=codes().values() if section == "findings" else (),
            own=own_parts() if section == "parts" else {},
            cylinders=cylinder_rows() if section == "coverage" else (),
            coverage=coverage_rows() if section == "coverage" else (),
            holes=hole_rows() if section == "coverage" else (),
            sources=_by_folder(source_rows(day)) if section == "sources" else (),
            marks=CONFIRMED if section == "sources" else {},
            words=by_letters() if section == "glossary" else (),
            words_source=words_source(),
            key_anchor=key_anchor,
            to=lambda target, here=here: link(here, target),
            schema=FILE,
            sections=made[1:],
        )
        menu = tuple(NavItem(f"reference/{s}.md", t, s == section) for s, t in made)
        label = title if section == "index" else f"{title} - Reference"
        yield Page(here, label, html, None, menu, f"{title}: made from gasdoc itself.")


PART_ENDS = (
    ("{a} MNPT, {a} FNPT", "1/2 MNPT", "taper pipe thread of North America, male or female"),
    ("R {a}, Rc {a}, Rp {a}", "R 1/2", "pipe thread that seals by itself: male taper, female taper, female parallel"),
    ("G {a} male, G {a} female", "G 1/2 male", "parallel thread with a washer"),
    ("G {a} nut", "G 1/2 nut", "loose nut with a flat washer, for a parallel thread only"),
    ("{a} male flare, {a} female flare", "3/8 male flare", "45-degree flare, by the tube's outside diameter"),
    ("{a} male inverted flare", "1/4 male inverted flare", "inverted flare"),
    ("{a} mm compression", "10 mm compression", "compression fitting for metric tube"),
    ("{a} mm tube", "10 mm tube", "a plain end of metric tube"),
    ("EHD {a} fitting", "EHD 18 fitting", "fitting for corrugated tubing of that size"),
    ("male G 1/4 LH", "male G 1/4 LH", "left-hand thread of low-pressure hoses in Europe"),
    ("{a} mm cutting ring", "10 mm cutting ring", "cutting-ring fitting for metric tube, steel or copper"),
    ("{a} mm steel tube", "10 mm steel tube", "a plain end of precision steel tube"),
    ("{a} mm hose nozzle, {a} mm hose", "8 mm hose nozzle", "a nozzle, and the hose that is clipped onto it"),
    ("male POL, female QCC1, KLF, GF, G.12, LCC27", "male POL", "connections of cylinders"),
)
"""How the ends of a part are written: the forms, one that can be read as it stands, and what it is."""


def own_parts() -> dict[str, Any]:
    """What the page about a project's own parts shows: the file's example, the keys of a family, how ends are written."""
    text = resources.files("gasdoc").joinpath("project_files", "example_parts.yaml").read_text(encoding="utf-8")
    return {
        "example": text,
        "keys": [[key.encode_name, "yes" if key.required else "no", described(key.type)] for key in fields(Family)],
        "ends": [[forms, what] for forms, _, what in PART_ENDS],
    }


def cylinder_rows() -> list[list[str]]:
    """How cylinders are connected, by country, with how well that is confirmed."""
    return [
        [row.countries, row.what, row.connection, row.turned, row.seal, f"{row.source.text} ({row.confirmed})"]
        for row in cylinders()
    ]


def coverage_rows() -> list[tuple[str, list[list[str]]]]:
    """By region, a row for each tubing and connection: its settings, how many joints there are, how many stay open."""
    found: dict[str, dict[tuple[str, str, int, int], list[str]]] = {}
    for cell in coverage():
        rows = found.setdefault(region(cell.region).title, {})
        material = f"{cell.material}, to be asked about" if cell.ask else cell.material
        rows.setdefault((material, cell.connection, cell.joints, len(cell.open)), []).append(cell.setting)
    return [
        (
            title,
            [
                [m, c, ", ".join(settings), str(joints), str(still_open)]
                for (m, c, joints, still_open), settings in rows.items()
            ],
        )
        for title, rows in found.items()
    ]


def hole_rows() -> list[list[str]]:
    """The joints that nothing listed closes, each once a region and tubing."""
    return [
        list(row)
        for row in dict.fromkeys(
            (region(cell.region).title, cell.material, hole) for cell in coverage() for hole in cell.open
        )
    ]


def schema_asset() -> Asset:
    """The JSON Schema, published with the site."""
    return Asset(FILE, schema_text().encode("utf-8"))
