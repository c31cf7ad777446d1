"""The description of the JSON and the JSON itself say the same, and what is left out of a result says why."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from functools import cache
from typing import Any, get_type_hints

from made_up_builds import THREE, build, european, outlet, run, study_of, two_stage
from places import FITTED, SPECS

from gasdoc.catalog import tubing
from gasdoc.catalog.tubing import every_material
from gasdoc.choices.choices import choose
from gasdoc.engineering.materials.joints import Part
from gasdoc.folder.check import study_file
from gasdoc.folder.side_by_side import side_by_side
from gasdoc.regions.region import region
from gasdoc.report.formats.encoder import Object, _objects, describe, keys, left_out, only
from gasdoc.report.formats.jsonout import (
    DOCUMENTS,
    capacity_json,
    check_json,
    choices_json,
    compare_json,
    coverage_json,
    least_json,
    sources_json,
    study_json,
)
from gasdoc.source import Problem, Severity
from gasdoc.study import Study
from gasdoc.study.facts import Installation
from gasdoc.study.findings import Finding
from gasdoc.study.proof.verdicts import Judged
from gasdoc.study.supply.capacity import Conditions, least_sizes, look_up
from gasdoc.study.supply.lines import Line


@cache
def objects() -> dict[str, Object]:
    return {found.name: found for found in describe(*DOCUMENTS)}


def studied(name: str) -> Study:
    made = study_file(SPECS / f"{name}.md").study
    assert made is not None
    return made


def capacity(length: float) -> dict[str, Any]:
    size, conditions = tubing.resolve("csst", None, "EHD 18"), Conditions(2740.0, 125.0, True)
    return capacity_json(size, length, conditions, look_up(size, length, conditions))


def least(load: float) -> dict[str, Any]:
    conditions, here = Conditions(2740.0, 125.0, True), region("us-cabin")
    return least_json(load, 6.0, conditions, here.id, least_sizes(load, 6.0, conditions, every_material(), here))


HOSED = build(
    outlet("Grill", "30 kBtu/h", kind="other"),
    regulator={"hose": {"length": "2 ft", "bore": "3/8 in", "capacity": "60 kBtu/h", "manufactured": "2026-02-01"}},
)
"""A hose behind the regulator has keys that are left out where there is none."""


@cache
def documents() -> tuple[tuple[str, Any], ...]:
    studies = [
        *(studied(name) for name in (*FITTED, "wood-shop-plan")),
        *map(study_of, (THREE, two_stage(), european(), HOSED)),
        study_of(build(run("10 ft", material="copper", type="k"), outlet("Kiln", "9000 kBtu/h", kind="other"))),
    ]
    return (
        *(("StudyDocument", study_json(study)) for study in studies),
        (
            "CheckDocument",
            check_json(
                [Problem("a.md", 1, 1, Severity.NOTE, "m", "h", "c")],
                0,
                [("a.md", studies[0].standing, (), studies[0].answers, studies[0].worklist)],
            ),
        ),
        ("CompareDocument", compare_json(side_by_side(studies[0], studies[2]))),
        *(
            ("ChoicesDocument", choices_json(found))
            for study in studies[:2]
            if (found := choose(study.build)) is not None
        ),
        *(("CapacityDocument", capacity(length)) for length in (6.0, 600.0)),
        *(("LeastSizesDocument", least(load)) for load in (9e3, 9e9)),
        ("SourcesDocument", sources_json()),
        ("CoverageDocument", coverage_json()),
    )


def inner(value: Any, named: bool) -> Iterator[dict[str, Any]]:
    """The objects behind one key: through lists, and through names where the description says that there are some."""
    if isinstance(value, list):
        for item in value:
            yield from inner(item, named)
    elif isinstance(value, dict) and not {"value", "unit"} <= set(value):
        if named:
            for item in value.values():
                yield from inner(item, False)
        else:
            yield value


def _may_be_there(part: str, only: set[str]) -> tuple[set[str], ...]:
    """What keys an object of the description may have: `only` those where it says so, else all or those that are never left
    out."""
    keys = objects()[part].keys
    always = {key.name for key in keys if not key.form.endswith("no key")}
    return (only,) if only else ({key.name for key in keys}, always)


def seen() -> dict[str, set[str]]:
    """The keys that the JSON has, by object, followed from key to key along the description."""
    found: dict[str, set[str]] = defaultdict(set)
    waiting = list(documents())
    while waiting:
        name, value = waiting.pop()
        found[name] |= set(value)
        forms = {key.name: key.form for key in objects()[name].keys}
        for key, behind in value.items():
            form = forms[key]
            assert behind is not None or form.endswith("null"), (name, key)
            parts = re.findall(r"\[(.*?)\](?:: ((?:`\w+`(?:, )?)+))?", form)
            for one in inner(behind, "names, each with" in form):
                fitting = [
                    part for part, only in parts if set(one) in _may_be_there(part, set(re.findall(r"\w+", only)))
                ]
                assert len(fitting) == 1, (name, key, sorted(one))
                waiting.append((fitting[0], one))
    return found


def test_the_description_has_every_key_of_the_json_and_no_other() -> None:
    found = seen()
    for name, there in found.items():
        assert there == {key.name for key in objects()[name].keys}, name
    unseen = set(objects()) - set(found)
    assert len(unseen) < 9, sorted(unseen)


def test_no_two_objects_have_one_name_and_every_object_of_ours_says_what_it_is() -> None:
    names = Counter(found.name for found in describe(*DOCUMENTS))
    assert set(names.values()) == {1}
    assert [o.name for o in objects().values() if not o.what and not all(k.what for k in o.keys)] == []


def test_the_words_name_no_constant_and_say_nothing_to_callers() -> None:
    """A docstring is read by a stranger here."""
    for found in objects().values():
        for text in (found.what, *(key.what for key in found.keys)):
            assert not re.search(r"\b[A-Z]+_[A-Z_]+\b|\bFILLS\b|Raises|>>>", text), (found.name, text)
    assert all(objects()[name].what for name in ("Outlet", "Locker", "Connector"))


def test_every_result_of_a_study_is_in_the_json_whole_or_says_at_the_field_why_not() -> None:
    """What stands only in part somewhere stands whole elsewhere, unless it is no result: a spec, a row of data."""
    whole: set[type] = set()
    waiting: list[tuple[type, tuple[str, ...] | None]] = [(document, None) for document in DOCUMENTS]
    for kind, names in waiting:
        if names is None:
            whole.add(kind)
        for _, hint in keys(kind, names):
            found = [(one, only(marks)) for one, marks in _objects(hint)]
            waiting += [entry for entry in dict.fromkeys(found) if entry not in waiting]
    data = ("gasdoc.build.", "gasdoc.catalog.", "gasdoc.regions.")
    hidden = {kind for kind, _ in waiting if kind not in whole and not kind.__module__.startswith(data)}
    assert hidden == {Installation, Part}  # the spec with its region; a row of the catalogue, by its id
    assert {Study, Line, Finding, Judged} <= whole


def test_what_is_left_out_of_a_study_says_why() -> None:
    written = {name for name, _ in keys(Study)}
    reasons = {
        name: left_out(hint)
        for name, hint in get_type_hints(Study, include_extras=True).items()
        if name in set(Study.__struct_fields__) - written
    }
    assert reasons and all(reasons.values()), reasons
