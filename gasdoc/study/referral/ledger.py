"""The ledger: every figure, with what it says, where it is used, where it comes from and how well that is confirmed.

It is made from the data files themselves, so that no row can be left out; figures that stand in code say all of it in their
annotation (`Known`).
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib import import_module
from pkgutil import walk_packages
from typing import Any, get_type_hints

from msgspec import Struct
from msgspec.structs import asdict

from gasdoc import data
from gasdoc.engineering.supply.fittings import RESISTANCES
from gasdoc.kept import kept_result
from gasdoc.quantities import Known
from gasdoc.regions.cautions import CAUTION_CONDITIONS
from gasdoc.regions.practice import ROWS
from gasdoc.regions.questions import Question, questions
from gasdoc.regions.region import region, region_ids
from gasdoc.regions.texts import around, cited_editions, looks
from gasdoc.source import CONFIRMED, Citation

_CITED = ("source", "citation")
_NO_VALUE = frozenset({"id", "use", "source", "citation", "practice", "note", "notes", "subject", "where", "read"})
_MOST = 24
"""Values that are written out of one row; a table has hundreds."""

_NAMES = ("id", "use", "measure", "what", "material")
"""Keys by whose words a row is named."""

_APART = (
    *("code", "country", "mark", "shapes", "kinds", "kind", "run", "branch", "size", "sizes", "from", "from_ehd"),
    *("practice", "where", "place", "units", "multiple", "parts"),
)
"""Keys that together tell a row without such words from its neighbours."""

_APART_BESIDES = ("type", "settings", "when", "lacks")
"""Keys that besides those tell rows of one name from each other."""

_WORDS = 5
"""So many of its first words name a row that has nothing but a text."""

_OF_CODE = ("build", "catalog", "engineering", "regions", "study")
"""The packages whose modules have figures."""

_SUBJECTS = {
    "alarms": "alarms",
    "appliances": "kinds of appliance and their plates",
    "bolts": "what holds a container",
    "containers": "what containers hold and weigh",
    "day": "the day that a container is judged by",
    "instruments": "gauges of a test",
    "joints": "how joints are made",
    "kit": "what a build takes besides its line",
    "mounting": "distances around a container",
    "openings": "passages and guards",
    "part_sizes": "parts drawn at true size",
    "parts": "parts and joints",
    "regulators": "what regulators are sold as",
    "screwed": "screwed pipe, cut by the piece",
    "sold": "how containers are sold",
    "stock": "cutting and shopping",
    "supports": "supports of a line",
    "tools": "tools to bring",
    "tubing": "tubing, its bore and roughness",
    "vaporisation": "what a container gives",
    "cautions": "cautions",
    "leak_methods": "ways to look for a leak",
    "materials": "parts, joints and what a region allows",
    "questions": "questions for the authority",
    "sequence": "the test day",
    "upkeep": "upkeep",
    "work": "the way through the work",
    "supply": "sizes and pressures",
    "container": "what a container holds and gives, and what holds it",
    "proof": "tests of a line",
    "air": "rooms, vents and leaks",
}


class LedgerEdition(Struct, frozen=True):
    """An edition that a citation names; `until` is its last day, null where it lasts or that is not known; `then` what
    took its place."""

    name: str
    until: dt.date | None
    then: str | None


class LedgerLook(Struct, frozen=True):
    """What was found when the figure was looked for in public texts, in our own words."""

    verdict: str
    says: str
    read_in: str | None
    edition: str | None
    looked: dt.date


class LedgerFigure(Struct, frozen=True):
    """One figure, or one row of figures with a source of its own. `at` is its file or module and its place there; `looked` the day of
    the last look for it, null where none is on record; `asked` the questions to the authority that ask about it."""

    at: str
    value: str
    used: tuple[str, ...]
    citation: str
    confirmed: str
    editions: tuple[LedgerEdition, ...]
    looked: dt.date | None
    looks: tuple[LedgerLook, ...]
    asked: tuple[str, ...]


class _Row(Struct, frozen=True):
    at: str
    value: str
    used: tuple[str, ...]
    citation: Citation


@kept_result
def ledger() -> tuple[LedgerFigure, ...]:
    """Every figure, by its file."""
    return tuple(_figure(row) for row in _rows())


@cache
def _questions() -> tuple[Question, ...]:
    """Every question to the authority, those of the regions last."""
    own = tuple(question for id_ in region_ids() for question in region(id_).questions)
    return questions(own, frozenset(CAUTION_CONDITIONS))


def _figure(row: _Row) -> LedgerFigure:
    places = around(row.at)
    found = [look for look in looks() if not places.isdisjoint(look.at)]
    named = tuple(LedgerEdition(e.name, e.until, e.then) for e in cited_editions(row.citation.text))
    return LedgerFigure(
        row.at,
        row.value,
        row.used,
        row.citation.text,
        row.citation.confirmed,
        named,
        max((look.looked for look in found), default=None),
        tuple(LedgerLook(look.verdict, look.says, look.read_in, look.edition, look.looked) for look in found),
        tuple(question.id for question in _questions() if not places.isdisjoint(question.about)),
    )


def _rows() -> list[_Row]:
    found: list[_Row] = []
    for package, folder in (("regions", "."), ("catalog", "."), ("catalog", "tables")):
        for name in data.names(f"gasdoc.{package}", folder):
            if name not in ("looks", "texts"):
                place = name if folder == "." else f"{folder}/{name}"
                found += _file(package, place)
    for name, one in RESISTANCES.items():
        value = f"{one.ratio:g} bores of pipe, k {one.k:g}"
        source = Citation(one.source, one.confirmed)
        found.append(_Row(f"engineering/supply/fittings {name}", value, (_SUBJECTS["supply"],), source))
    return [*found, *_in_code()]


def _in_code() -> Iterator[_Row]:
    """The figures that stand in code: module, name, value with its unit."""
    packages = [import_module(f"gasdoc.{package}") for package in _OF_CODE]
    for module in (one.name for package in packages for one in walk_packages(package.__path__, f"{package.__name__}.")):
        loaded = import_module(module)
        if hasattr(loaded, "Known"):
            place = module.removeprefix("gasdoc.").replace(".", "/")
            used = next((_SUBJECTS[word] for word in place.split("/") if word in _SUBJECTS), "every build")
            hints = get_type_hints(loaded, include_extras=True)
            for name, said in ((name, getattr(hint, "__metadata__", ())) for name, hint in hints.items()):
                for figure in (one for one in said if isinstance(one, Known)):
                    unit = next((word for word in said if isinstance(word, str) and word != "1"), "")
                    value = f"{figure.what}: {_in_words(getattr(loaded, name))} {unit}".strip()
                    at = f"{place} {name.strip('_').lower().replace('_', '-')}"
                    yield _Row(at, value, (used,), Citation(figure.source, figure.confirmed))


def _in_words(value: Any) -> str:
    """A figure as it is read: a number to five places, of several each with its name."""
    if isinstance(value, Struct):
        value = asdict(value)
    if isinstance(value, Mapping):
        return ", ".join(f"{str(key).replace('_', ' ')} {_in_words(one)}" for key, one in value.items())
    if isinstance(value, tuple):
        return ", ".join(map(_in_words, value))
    return f"{value:.5g}"


def _file(package: str, name: str) -> Iterator[_Row]:
    words = data.words(f"gasdoc.{package}", f"{name}.yaml")
    used: tuple[str, ...] = (
        (region(name).title,)
        if package == "regions" and name in region_ids()
        else ("capacity of tubing" if "/" in name else _SUBJECTS.get(name, name),)
    )
    shared = words.get("sources", {}) if isinstance(words, dict) else {}
    sizes = words.get("size_sources", {}) if name == "containers" else {}
    for at, row, mark, cited, limits in _walk(f"{package}/{name} ", words, None, ()):
        key = at.partition(" ")[2]
        text = cited or ""
        if name == "containers" and key.startswith("kinds/"):
            text = cited or sizes.get(words["kinds"][key.split("/")[1]]["family"], "")
        where = used
        if key.startswith("sources/"):
            where = tuple(_naming(words, key.partition("/")[2])) or used
        elif name == "common":
            where = _users().get(key) or ("no region",)
        elif limits:
            where = tuple(f"{used[0]}: {ROWS[word]}" for word in limits)
        yield _Row(at, _value(row), where, Citation(shared[text]["text"] if text in shared else text, mark))


def _walk(
    at: str, node: Any, cited: str | None, limits: Sequence[str]
) -> Iterator[tuple[str, Any, str, str | None, Sequence[str]]]:
    """Every row with a mark of its own: place, what stands there, mark, source, and what it is limited to."""
    if isinstance(node, list):
        names = [_name(child, position) for position, child in enumerate(node)]
        names = [
            f"{name}-{apart}"
            if names.count(name) > 1 and (apart := _apart(child, (*_APART, *_APART_BESIDES)))
            else name
            for name, child in zip(names, node, strict=True)
        ]
        for position, (name, child) in enumerate(zip(names, node, strict=True)):
            single = name if names.count(name) == 1 else f"{name}-{position}"
            yield from _walk(f"{at}{single}/", child, cited, limits)
        return
    if not isinstance(node, dict):
        return
    if "use" in node:
        own = {key: value for key, value in node.items() if key != "use"}
        if not {"citation", "confirmed"} & own.keys():
            return
        node = _common(at, node["use"]) | own
    limits = node.get("practice", limits) if isinstance(node.get("practice"), list) else limits
    cited = _cited(node, "") or cited
    for key in [key for key in node if key.endswith("confirmed") and node[key] in CONFIRMED]:
        start = key.removesuffix("confirmed")
        what = (
            node
            if not start
            else node.get(start.rstrip("_"), {k: v for k, v in node.items() if k == start.rstrip("_")})
        )
        yield f"{at}{start}".rstrip("/_ "), what, node[key], _cited(node, start) or cited, limits
    for key, child in node.items():
        yield from _walk(f"{at}{key}/", child, cited, limits)


def _name(row: Any, position: int) -> str:
    """What a row goes by: its id, else what tells it from its neighbours, else its first words; never its place, where it has
    any of these, for a row that comes in before it would take its name."""
    if not isinstance(row, dict):
        return str(position)
    named: str | None = next((row[key] for key in _NAMES if isinstance(row.get(key), str)), None)
    if named is not None:
        return named
    if isinstance(row.get("text"), str):
        return _joined(row["text"].split()[:_WORDS]) or str(position)
    return _apart(row, _APART) or str(position)


def _apart(row: Any, keys: Sequence[str]) -> str:
    """What tells a row from its neighbours, by the keys that do; "" where it has none of them."""
    there = [key for key in keys if isinstance(row, dict) and key in row]
    return _joined([f"from {row[key]}" if key.startswith("from") else row[key] for key in there])


def _joined(parts: Sequence[Any]) -> str:
    words = " ".join(" ".join(map(str, part)) if isinstance(part, list) else str(part) for part in parts)
    return re.sub(r"[^\w.]+", "-", words.lower()).strip("-.")


def _common(at: str, used: str) -> dict[str, Any]:
    kind = "rules" if " rules/" in at else "tests"
    found: dict[str, Any] = next(row for row in data.words("gasdoc.regions", "common.yaml")[kind] if row["id"] == used)
    return found


def _cited(row: Mapping[str, Any], start: str) -> str | None:
    for word in _CITED:
        found = row.get(f"{start}{word}")
        if isinstance(found, str):
            return found
        if isinstance(found, dict):
            return f"{found['code']} {found['edition']} Table {found['table']}"
    return row["text"] if not start and row.keys() == {"text", "confirmed"} else None


def _naming(words: Any, source: str) -> Iterator[str]:
    """The rows of a file that name one of its shared sources."""
    if isinstance(words, dict):
        for key, value in words.items():
            if (
                key != "sources"
                and ("source" in key)
                and (value == source or (isinstance(value, dict) and source in value.values()))
            ):
                yield words.get("id") or words.get("name") or "a row of this file"
            elif key != "sources":
                yield from _naming(value, source)
    elif isinstance(words, list):
        for row in words:
            yield from _naming(row, source)


@cache
def _users() -> dict[str, tuple[str, ...]]:
    """By the row of common.yaml: the regions that take it without a source of their own."""
    found: dict[str, list[str]] = {}
    for id_ in region_ids():
        words = data.words("gasdoc.regions", f"{id_}.yaml")
        for kind in ("rules", "tests"):
            for row in words[kind]:
                if "use" in row and not {"citation", "confirmed"} & row.keys():
                    found.setdefault(f"{kind}/{row['use']}", []).append(region(id_).title)
    return {key: tuple(titles) for key, titles in found.items()}


def _value(row: Any) -> str:
    """What a row says, without its name and its source; of a table the first of its values, and how many there are."""
    parts = list(_leaves(row, ""))
    if len(parts) <= _MOST:
        return "; ".join(parts)
    return "; ".join([*parts[:6], f"{len(parts) - 6} more in the file"])


def _leaves(row: Any, key: str) -> Iterator[str]:
    if isinstance(row, dict):
        for name, value in row.items():
            nested = isinstance(value, dict) and any(word.endswith("confirmed") for word in value)
            if name not in _NO_VALUE and not name.endswith(("confirmed", "_source", "_cited")) and not nested:
                yield from _leaves(value, name if name not in ("value", "text", "asks") else "")
    elif isinstance(row, list):
        if row and all(isinstance(value, str) for value in row):
            yield f"{key} {', '.join(row)}".strip()
        else:
            for value in row:
                if not (isinstance(value, dict) and "confirmed" in value):
                    yield from _leaves(value, key)
    elif row is not None:
        yield f"{key} {row}".strip()
