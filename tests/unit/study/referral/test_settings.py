"""What a region asks is for what the gas is fitted in: no vehicle's rules and tests for a hut, and none of a hut's for a vehicle."""

from __future__ import annotations

import re
from typing import get_args

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of

from gasdoc.regions.practice import Setting
from gasdoc.regions.region import Region, region, region_ids
from gasdoc.report.views import referral
from gasdoc.source import Severity
from gasdoc.study import Study

MEANT = [(identity, setting) for identity in region_ids() for setting in region(identity).settings]

FOR_WHAT_MOVES = re.compile(
    r"EN 1949|EN 721|UN R67|G 607|SI 1986/1078|CSA B149\.5|NFPA 1192|AS/NZS 5601\.2(?! Appendix)|296-307"
)
"""Texts whose field is leisure vehicles, containers on vehicles and road law; AS/NZS 5601 has its Appendix E in both parts."""

FOR_BUILDINGS = re.compile(r"UP/1B|BS 5440|BS 6891|AS/NZS 5601\.1,")

BORROWED = re.compile(r"borrowed|Common practice|common practice|used as the yardstick")


def fitted_in(region_id: str, setting: str | None, **more: object) -> Values:
    spec = build(
        run("3 m", "15 x 1 mm", material="copper-metric"),
        outlet(
            "Stove",
            "3 kW",
            input_basis="gross",
            jetted_for={"gas": "propane", "pressure": "30 mbar"},
            min_inlet="25 mbar",
            max_inlet="36 mbar",
        ),
        region=region_id,
        units="si",
    )
    spec["regulator"] |= {"outlet": "30 mbar", "lock_up": "36 mbar", "tolerance": "2 mbar"}
    return spec | ({} if setting is None else {"setting": setting}) | more


def rows(made: Study) -> list[tuple[str, str]]:
    """What the build is asked and told: the words and the source of each rule, of each test made or shown beside, of codes,
    people and upkeep; a code is its own source."""
    tests = {a.test.id: a.test for a in (*made.leak_test.asked, *made.leak_test.beside)}.values()
    page = referral.view(made)
    return [
        *((r.rule.asks, str(r.rule.citation)) for r in made.rules),
        *((f"{t.name} {t.when}", str(t.citation)) for t in tests),
        *((code.scope, code.code) for code in page["codes"]),
        *((said.text, str(said.citation)) for said in (*page["people"], *page["signoff"])),
        *((due.task.task, str(due.task.citation)) for due in made.upkeep),
    ]


@pytest.mark.parametrize(("region_id", "setting"), MEANT)
def test_every_row_fits_the_setting_it_shows_for(region_id: str, setting: str) -> None:
    made = study_of(fitted_in(region_id, setting))
    assert found(made, "region-for-another-setting") == []
    other = FOR_WHAT_MOVES if setting == "cabin" else FOR_BUILDINGS
    assert [row for row in rows(made) if other.search(row[1]) and not BORROWED.search(row[1])] == []
    if setting == "cabin":
        assert [
            asks
            for asks, _ in rows(made)
            if re.search(r"\b(the|a) vehicle\b(?! tests where it moves)|caravan|axle|lengthwise", asks)
        ] == []
    assert {a.test.kind for a in made.leak_test.asked} >= {"piping", "leak-check"}


def test_both_patterns_would_find_rows() -> None:
    everything = [row for identity, setting in MEANT for row in rows(study_of(fitted_in(identity, setting)))]
    assert {bool(FOR_WHAT_MOVES.search(source)) for _, source in everything} == {True, False}
    assert any(FOR_BUILDINGS.search(source) for _, source in everything)


@pytest.mark.parametrize("region_id", region_ids())
@pytest.mark.parametrize("setting", get_args(Setting))
def test_a_region_that_is_not_for_it_is_a_warning(region_id: str, setting: str) -> None:
    meant = region(region_id)
    said = found(study_of(fitted_in(region_id, setting)), "region-for-another-setting")
    assert bool(said) == (setting not in meant.settings)
    for finding in said:
        assert finding.severity is Severity.WARNING and setting in finding.message and meant.scope in finding.reason


READINGS = [
    {"time": "10:00", "pressure": "150 mbar", "temperature": "15 degC", "barometer": "1013 hPa"},
    {"time": "12:00", "pressure": "150 mbar", "temperature": "15 degC", "barometer": "1013 hPa"},
]


@pytest.mark.parametrize("region_id", ["eu", "uk"])
def test_a_hut_is_held_to_no_vehicles_pressure_test(region_id: str) -> None:
    test = {
        "kind": "piping",
        "date": "2026-05-01",
        "medium": "air",
        "gauge": {"resolution": "0.1 mbar"},
        "thermometer": "0.1 K",
        "barometer": "0.1 hPa",
        "bubbles": "none",
        "readings": READINGS,
    }
    hut, trailer = (study_of(fitted_in(region_id, setting, tests=[test])) for setting in ("cabin", "trailer"))
    (judged,) = hut.judged
    assert judged.outcome == "could-not-tell" and "figures-not-known" in judged.reasons
    assert [a.test.id for a in judged.rows] == ["piping-building"]
    assert "Ask whoever signs which pressure and time hold here" in one(hut, "test-could-not-tell").remedy
    assert trailer.judged[0].outcome == "pass"
    assert hut.standing.word != "tested"
    questions = " ".join(q.text for q in hut.questions)
    assert "what may be lost" in questions


def test_a_setting_that_is_not_stated_is_asked_for_and_taken_as_moving() -> None:
    made = study_of(fitted_in("eu", None))
    assert one(made, "setting-unknown").severity is Severity.NOTE
    assert any(a.test.id == "piping-en-1949" for a in made.leak_test.asked)


def test_the_settings_of_a_region_agree_with_its_id() -> None:
    def named(meant: Region) -> set[str]:
        return {part for part in meant.id.split("-") if part in get_args(Setting)}

    assert all(named(region(identity)) <= set(region(identity).settings) for identity in region_ids())
