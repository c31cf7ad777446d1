"""A region's rules against a build: what is met by the numbers, what is not, what nobody can tell from the spec."""

from __future__ import annotations

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of, tee, two_stage

from gasdoc.regions.region import region_ids
from gasdoc.source import Severity
from gasdoc.study import Study
from gasdoc.study.referral.rules import Ruling

COPPER = {"material": "copper", "type": "k"}


def camper(
    regulator: Values | None = None, container: Values | None = None, space: Values | None = None, **more: object
) -> Values:
    """A US vehicle that meets every rule that is judged by numbers."""
    spec = build(
        run("10 ft", "1/2 in nominal", **COPPER, id="r"),
        outlet("Heater", "20 kBtu/h", **more),
        regulator=regulator,
        container={"type": "dot-20lb", "water_capacity": "47.6 lb"} | (container or {}),
        region="us-vehicle",
    )
    spec["spaces"][0] |= space or {}
    return spec


def ruling(made: Study, rule: str) -> Ruling:
    (found_one,) = [r for r in made.rules if r.rule.id == rule and not r.rule.alternative]
    return found_one


def test_the_camper_of_these_tests_breaks_no_rule() -> None:
    made = study_of(camper())
    assert [r.rule.id for r in made.rules if r.outcome == "not met"] == []


def test_more_than_14_inches_of_water_in_a_us_vehicle_is_an_error() -> None:
    made = study_of(camper(regulator={"lock_up": "14.5 inH2O"}, max_inlet="15 inH2O"))
    assert ruling(made, "inside-pressure").outcome == "not met"
    said = one(made, "rule-inside-pressure")
    assert said.severity is Severity.ERROR and "14.5 inH2O" in said.message
    assert (
        ruling(study_of(camper(regulator={"lock_up": "14 inH2O"})), "inside-pressure").outcome == "met by the numbers"
    )


def first_stage_inside(outside: str) -> Values:
    """A 10 psi run from the container into a vehicle, its second-stage regulator at the end."""
    return camper() | {
        "regulator": camper()["regulator"] | {"stages": "1", "outlet": "10 psi", "lock_up": "12 psi"},
        "supply": [
            run("10 ft", "3/8 in nominal", **COPPER, id="feeder", outside=outside, through=["floor"]),
            {"regulator": {"id": "second", "outlet": "11 inH2O", "lock_up": "13 inH2O", "capacity": "100 kBtu/h"}},
            run("4 ft", "1/2 in nominal", id="r"),
            outlet("Heater", "20 kBtu/h"),
        ],
    }


def test_a_first_stage_run_inside_a_us_vehicle_is_an_error() -> None:
    made = study_of(first_stage_inside("no"))
    assert ruling(made, "inside-pressure").outcome == "not met"
    assert one(made, "rule-inside-pressure").severity is Severity.ERROR


def test_a_first_stage_run_that_lies_outside_is_none_of_the_inside() -> None:
    spec = first_stage_inside("yes")
    spec["supply"][0]["run"].pop("through")
    assert ruling(study_of(spec), "inside-pressure").outcome == "met by the numbers"


def test_a_connector_over_6_ft_is_not_met_and_one_of_unknown_length_is_not_known() -> None:
    made = study_of(camper(connector={"kind": "flexible", "length": "6.5 ft"}))
    assert ruling(made, "connector-length").outcome == "not met"
    assert "6 ft 6 in" in one(made, "rule-connector-length").message  # 6.5 x 12
    made = study_of(camper(connector={"kind": "flexible", "length": "6 ft"}))
    assert ruling(made, "connector-length").outcome == "met by the numbers"
    made = study_of(camper(connector=None))
    assert ruling(made, "connector-length").outcome == "not known" and found(made, "rule-connector-length") == []


@pytest.mark.parametrize(
    ("place", "outcome"),
    [("inside", "not met"), ("outdoors", "met by the numbers"), ("locker", "met by the numbers"), (None, "not known")],
)
def test_a_container_inside_is_not_met(place: str | None, outcome: str) -> None:
    assert ruling(study_of(camper(container={"place": place})), "container-outside").outcome == outcome


def test_a_heater_that_takes_its_air_from_the_vehicle_is_not_met() -> None:
    for flue, outcome in (("room-sealed", "met by the numbers"), ("open-flued", "not met"), ("flueless", "not met")):
        assert ruling(study_of(camper(flue=flue)), "heaters-sealed").outcome == outcome


def test_a_heater_without_flame_failure_shut_off_is_not_met() -> None:
    assert ruling(study_of(camper(flame_failure="no")), "flame-failure").outcome == "not met"
    assert ruling(study_of(camper(flame_failure="yes")), "flame-failure").outcome == "met by the numbers"


def test_more_than_three_cylinders_and_too_large_ones_are_not_met() -> None:
    made = study_of(camper(container={"number": "4", "manifold": "parallel"}))
    assert ruling(made, "rv-cylinder-count").outcome == "not met"
    made = study_of(camper(container={"type": "dot-60lb", "water_capacity": "143 lb"}))
    assert ruling(made, "rv-cylinder-size").outcome == "not met"
    assert (
        ruling(study_of(camper(container={"water_capacity": "105 lb"})), "rv-cylinder-size").outcome
        == "met by the numbers"
    )


def test_a_drop_over_half_an_inch_of_water_is_not_met() -> None:
    spec = camper(kind="other")
    spec["supply"][0]["run"]["length"] = "40 ft"
    spec["supply"][1]["outlet"]["appliance"]["input"] = "129 kBtu/h"  # the cell of 20 ft: about twice 0.5
    assert ruling(study_of(spec), "drop-mobile").outcome == "not met"
    assert ruling(study_of(camper()), "drop-mobile").outcome == "met by the numbers"


def test_a_shut_off_too_far_away_is_not_met() -> None:
    assert ruling(study_of(camper(shut_off_distance="7 ft")), "shutoff").outcome == "not met"
    assert ruling(study_of(camper(shut_off_distance=None)), "shutoff").outcome == "not known"


def test_corrugated_tubing_on_a_vehicle_is_a_question_for_a_person_and_never_judged() -> None:
    spec = camper()
    spec["supply"][0]["run"] = {"length": "10 ft", "material": "csst", "size": "EHD 18", "id": "r"}
    row = ruling(study_of(spec), "csst-on-vehicle")
    assert row.outcome == "for a licensed person" and row.has is not None
    assert [r for r in study_of(camper()).rules if r.rule.id == "csst-on-vehicle"] == []


@pytest.mark.parametrize("region", region_ids())
@pytest.mark.parametrize("good", [True, False])
def test_a_row_from_memory_never_gives_met_and_never_more_than_a_warning(region: str, good: bool) -> None:
    spec = camper() if good else camper(container={"place": "inside"}, flue="flueless", flame_failure="no")
    spec |= {"region": region, "setting": "vehicle"}
    if not good:
        spec["spaces"][0] |= {"sleeping_places": "2", "alarms": []}
    made = study_of(spec)
    for row in made.rules:
        if row.rule.citation.confirmed == "memory":
            assert row.outcome != "met by the numbers", row.rule.id
            assert all(f.severity < Severity.ERROR for f in found(made, f"rule-{row.rule.id}")), row.rule.id


def test_a_row_from_memory_that_the_numbers_would_meet_is_left_to_a_person() -> None:
    row = ruling(study_of(camper()), "smoke-alarm-us")
    assert row.rule.citation.confirmed == "memory" and row.has == "1" and row.outcome == "for a licensed person"


def test_every_rule_not_met_is_a_finding_with_its_citation_and_every_such_finding_a_rule() -> None:
    spec = camper(
        container={"place": "inside"}, flue="flueless", flame_failure="no", connector={"kind": "hose", "length": "9 ft"}
    )
    spec["spaces"][0] |= {"alarms": [], "sleeping_places": "3"}
    made = study_of(spec)
    broken = {f"rule-{r.rule.id}" for r in made.rules if r.outcome == "not met"}
    said = {f.code: f for f in made.findings if f.code.startswith("rule-")}
    assert set(said) == broken and len(broken) >= 4
    assert all(f.source for f in said.values())


def test_rows_shown_beside_the_regions_own_are_never_judged() -> None:
    made = study_of(camper(connector={"kind": "flexible", "length": "5 ft"}))  # 3 ft by an older code
    beside = [r for r in made.rules if r.rule.alternative]
    assert beside and {r.outcome for r in beside} == {"for a licensed person"}


def test_no_outcome_says_that_a_build_complies() -> None:
    outcomes = {
        r.outcome
        for region in region_ids()
        for r in study_of(camper() | {"region": region, "setting": "vehicle"}).rules
    }
    assert outcomes <= {"met by the numbers", "not met", "not known", "for a licensed person"}


def test_a_space_that_is_not_described_leaves_its_rules_open() -> None:
    spec = camper()
    spec.pop("spaces")
    made = study_of(spec)
    open_rows = {r.rule.id: r.outcome for r in made.rules if r.rule.measure in ("gas-alarm", "co-alarm", "smoke-alarm")}
    assert open_rows and set(open_rows.values()) <= {"not known", "for a licensed person"}
    spec = camper(space={"alarms": []})
    assert any(
        r.outcome == "not met"
        for r in study_of(spec).rules
        if r.rule.measure in ("gas-alarm", "co-alarm", "smoke-alarm")
    )


def test_the_volume_of_a_room_reads_in_cubic_feet() -> None:
    spec = camper() | {"region": "us-cabin"}
    has = ruling(study_of(spec), "room-volume").has
    assert has is not None and "gal" not in has and "3,000 ft3" in has


def test_a_first_stage_line_not_marked_as_outside_counts_as_inside() -> None:
    # The lock-up of the second-stage regulators is not stated; that of the first is 12 psi.
    assert ruling_of_cabin(two_stage()).has == "at least 12 psi, the rest not stated"


def ruling_of_cabin(spec: Values) -> Ruling:
    return next(r for r in study_of(spec).rules if r.rule.id == "inside-pressure")


def kitchen(region: str = "us-vehicle", **of_cooktop: object) -> Values:
    """A heater, a cooktop and a refrigerator without flues, in a place where two sleep."""
    spec = build(
        run("10 ft", "1/2 in nominal", **COPPER, id="r"),
        tee(
            [outlet("Heater", "9 kBtu/h")],
            [
                tee(
                    [outlet("Cooktop", "5 kBtu/h", kind="cooker", flue="flueless", **of_cooktop)],
                    [outlet("Fridge", "1 kBtu/h", kind="refrigerator", flue="flueless", flame_failure="no")],
                )
            ],
        ),
        container={"type": "dot-20lb", "water_capacity": "47.6 lb"},
        region=region,
        setting="vehicle",
    )
    spec["spaces"][0]["sleeping_places"] = "2"
    return spec


def test_flame_failure_of_heaters_counts_heaters_only_and_of_every_burner_all() -> None:
    assert ruling(study_of(kitchen()), "flame-failure").outcome == "met by the numbers"
    row = ruling(study_of(kitchen("boat-eu", flame_failure="no")), "flame-failure")
    assert row.outcome == "not met" and row.has == "2 without flame-failure shut-off: Cooktop, Fridge"


def test_no_heater_without_a_flue_where_people_sleep_is_about_heaters() -> None:
    made = study_of(kitchen("uk"))
    assert ruling(made, "sleeping-flueless-practice").outcome == "met by the numbers"
    row = ruling(study_of(kitchen()), "sleeping-flueless")  # this one speaks of all appliances but cookers
    assert row.outcome == "not met" and row.has == "1 without a flue where people sleep: Fridge"


def test_a_row_that_counts_offenders_names_them_and_says_none_where_there_is_none() -> None:
    assert (
        ruling(study_of(camper(flame_failure="no")), "flame-failure").has == "1 without flame-failure shut-off: Heater"
    )
    assert ruling(study_of(camper()), "flame-failure").has == "none without flame-failure shut-off"
    assert ruling(study_of(camper(flame_failure=None)), "flame-failure").has is None


def test_a_finding_about_a_rule_points_at_what_it_is_about() -> None:
    made = study_of(
        camper(
            regulator={"lock_up": "14.5 inH2O"},
            container={"place": "inside"},
            space={"alarms": []},
            flue="open-flued",
            connector={"kind": "flexible", "length": "7 ft"},
        )
    )
    assert one(made, "rule-inside-pressure").at == ("regulator",)
    assert one(made, "rule-container-outside").at == ("container", "place")
    assert one(made, "rule-gas-alarm-us").at == ("spaces", 0, "alarms")
    at = next(node.at for node in made.build.nodes if node.kind == "outlet")
    assert one(made, "rule-heaters-sealed").at == (*at, "appliance") and one(made, "rule-connector-length").at == at


def test_the_rule_for_leisure_vehicles_is_not_put_to_a_cabin() -> None:
    def rows(setting: str) -> set[str]:
        return {r.rule.id for r in study_of(kitchen("uk") | {"setting": setting}).rules if "en-721" in r.rule.id}

    assert {"vents-high-en-721", "vents-low-en-721", "vents-place-en-721"} <= rows("vehicle") and rows("cabin") == set()
