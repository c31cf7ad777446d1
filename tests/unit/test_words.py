"""Words that people write: each is understood, or answered with the word or the key that a spec has."""

from __future__ import annotations

import json
from typing import Any

import pytest
from made_up_builds import outlet, read, run, try_study
from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from gasdoc import data, scalars
from gasdoc.build import model
from gasdoc.build.schema import schema_text
from gasdoc.words import meant, meant_key, plain

WORDS = data.words("gasdoc", "words.yaml")
TAKEN = [(word, value) for value, row in WORDS["values"].items() for word in row.get("taken", ())]
ASKED = [(word, value) for value, row in WORDS["values"].items() for word in row.get("asked", ())]
KEYS = [(word, key) for key, words in WORDS["keys"].items() for word in words]


def lists() -> list[tuple[str, ...]]:
    """Every closed list of words in a spec."""
    found: set[tuple[str, ...]] = set()

    def walk(node: Any) -> None:
        if isinstance(node, dict):
            if isinstance(words := node.get("enum"), list) and all(isinstance(word, str) for word in words):
                found.add(tuple(words))
            for inner in node.values():
                walk(inner)
        elif isinstance(node, list):
            for inner in node:
                walk(inner)

    walk(json.loads(schema_text()))
    return sorted(found)


def blocks() -> list[type[BaseModel]]:
    return [one for one in vars(model).values() if isinstance(one, type) and issubclass(one, BaseModel)]


LISTS = lists()


@pytest.mark.parametrize(("word", "value"), TAKEN)
def test_a_word_that_is_taken_is_read_as_the_one_it_stands_for(word: str, value: str) -> None:
    those = [words for words in LISTS if value in words]
    assert those, f"no key takes '{value}'"
    for words in those:
        assert scalars.choice(*words).read(word.title().replace(" ", "-")) == value


@pytest.mark.parametrize(("word", "value"), ASKED)
def test_a_word_that_is_asked_back_is_answered_with_the_one_it_may_stand_for(word: str, value: str) -> None:
    those = [words for words in LISTS if value in words]
    assert those, f"no key takes '{value}'"
    for words in those:
        with pytest.raises(PydanticCustomError) as wrong:
            scalars.choice(*words).read(word)
        assert (wrong.value.context or {})["hint"].startswith(f"did you mean '{value}'?")


@pytest.mark.parametrize(("word", "key"), KEYS)
def test_another_word_for_a_key_is_answered_with_the_key(word: str, key: str) -> None:
    those = [block for block in blocks() if key in block.model_fields and word not in block.model_fields]
    assert those, f"no block has '{key}' and not '{word}'"
    answers = {meant_key(word, list(block.model_fields)) for block in those}
    assert key in answers


def test_no_word_stands_for_two_of_one_list() -> None:
    for words in LISTS:
        said = [plain(word) for word, value in (*TAKEN, *ASKED) if value in words]
        assert len(said) == len(set(said)), sorted(word for word in said if said.count(word) > 1)


def test_no_word_that_a_list_has_is_another_word_for_one_of_it() -> None:
    for words in LISTS:
        for word, value in (*TAKEN, *ASKED):
            assert value not in words or word not in words, (word, value)


def test_what_no_row_has_means_nothing() -> None:
    assert meant("zeppelin", ["boat", "cabin"]) is None and meant_key("zeppelin", ["run"]) is None


def told(spec: dict[str, Any]) -> str:
    return "\n".join(f"{p.message}; {p.hint}" for p in read(spec).problems)


def plan(**more: Any) -> dict[str, Any]:
    plain_spec = {"format": "1", "title": "Plan", "region": "us-trailer"}
    return plain_spec | {"supply": [run("2 m"), outlet("Stove", "4 kW", inlet_thread=None)]} | more


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"cylinder": {}}, "unknown key 'cylinder'; did you mean 'container'?"),
        ({"elevation": "300 m"}, "unknown key 'elevation'; did you mean 'altitude'?"),
        ({"container": {"gas": "propane"}}, "unknown key 'gas'; write 'gas:' at the top, not in 'container'"),
        (
            {"container": {"type": "13 kg"}},
            "'13 kg' is no kind of container; did you mean 'eu-13kg' or 'eu-butane-13kg'?",
        ),
        ({"container": {"type": "a big one"}}, "'gasdoc catalog containers' lists the kinds"),
        (
            {"supply": [run("2 m"), outlet("S", "75 kBTU")]},
            "'75 kBTU' is an energy; a plate means so much an hour: write '75 kBTU/h'",
        ),
        (
            {"supply": [run("2 m"), outlet("S", "4 kW", kind="boiler")]},
            "did you mean 'water-heater'? A boiler that heats rooms too",
        ),
    ],
)
def test_what_a_spec_does_not_take_is_answered_with_what_it_takes(more: dict[str, Any], said: str) -> None:
    assert said in told(plan(**more))


def test_a_comma_before_thousands_in_braces_is_asked_back() -> None:
    text = "---\nformat: 1\ntitle: A\nregion: us-trailer\nsupply:\n  - run: {length: 2 m}\n  - outlet: {appliance: {name: S, kind: cooker, input: 60,000 BTU/h}}\n---\n"
    from gasdoc.build.reader import read_spec

    (problem,) = read_spec(text.encode(), "a.md", "a").problems
    assert problem.hint == "write '60000 BTU/h' if it is before thousands, or '60.000 BTU/h' if it is before decimals"


def test_a_container_goes_by_its_name_too() -> None:
    found = read(plan(container={"type": "20-lb cylinder"})).build
    assert found is not None and found.spec.container.type == "dot-20lb"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"must_last": "9 days"}, "unknown key 'must_last'; write 'must_last:' under 'container:'"),
        ({"wishes": {"have": ["20 lb"]}}, "'20 lb' is no kind of container; did you mean 'dot-20lb'"),
        ({"supply": {"run": {"length": "2 m"}}}, "write one item a line, each after '- '"),
    ],
)
def test_what_stands_in_another_place_is_sent_to_its_own(more: dict[str, Any], said: str) -> None:
    assert said in told(plan(**more))


def test_a_country_is_looked_up_as_it_is_written() -> None:
    _, problems = try_study(plan(region="New Zealand"))
    assert [f"{p.message}; {p.hint}" for p in problems] == ["unknown region 'new-zealand'; did you mean 'au-nz'?"]


@pytest.mark.parametrize(("written", "value"), [("sea level", 0.0), ("Sea-level", 0.0), ("200 m", 200.0)])
def test_sea_level_is_an_altitude(written: str, value: float) -> None:
    found = read(plan(altitude=written)).build
    assert found is not None and found.spec.altitude == value


@pytest.mark.parametrize(("written", "hours"), [("evenings", 4), ("Through the night", 8), ("all-day", 16), ("3 h", 3)])
def test_words_for_hours_are_read_as_hours(written: str, hours: float) -> None:
    found = read(plan(supply=[run("2 m"), outlet("S", "4 kW", daily_use=written)])).build
    assert found is not None
    appliance = found.spec.supply[-1].outlet.appliance
    assert appliance.daily_use == hours * 3600.0 and appliance.daily_use.text == written
