"""Whole builds put together: every end has its joint, and joints that cannot or must not be made are said."""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import Any

import pytest
from made_up_builds import Values, build, found, one, outlet, run, study_of, tee, try_study, words
from places import EXAMPLES, FITTED, SPECS

from gasdoc.engineering.materials.joints import Chain
from gasdoc.folder.check import study_file
from gasdoc.study import Study

COPPER = {"material": "copper", "type": "l"}
THREADS: Values = {"inlet_thread": "1/4 NPT", "outlet_thread": "3/8 NPT"}
POL: Values = {"connection": "POL"}


@cache
def studied(name: str) -> Study:
    made = study_file(SPECS / f"{name}.md").study
    assert made is not None
    return made


@pytest.fixture(params=EXAMPLES)
def example(request: pytest.FixtureRequest) -> Study:
    return studied(request.param)


@pytest.fixture(params=FITTED)
def fitted(request: pytest.FixtureRequest) -> Study:
    """An example of which every end is stated."""
    return studied(request.param)


def hut(*supply: Values, **more: Any) -> Values:
    """A build whose regulator and container say what their threads are."""
    return build(
        *supply, regulator=THREADS | more.pop("regulator", {}), container=POL | more.pop("container", {}), **more
    )


def simple(**more: Any) -> Values:
    return hut(run("9 ft", "5/8 in OD", **COPPER, id="line"), outlet("Heater", "20 kBtu/h", **more))


def chains(made: Study) -> dict[tuple[str, str], list[str]]:
    return {(j.before.words, j.after.words): [p.id for p in chain.parts] for j, chain in made.fittings.chains()}


# --- the examples -----------------------------------------------------------------------------------------------------


def test_every_end_of_every_element_is_joined_exactly_once(example: Study) -> None:
    for tree in example.fittings.assemblies:
        used: Counter[tuple[int, int]] = Counter()
        for connection in tree.connections:
            down = tree.spots[connection.down]
            used[connection.up, 1 + down.port] += 1
            used[connection.down, 0] += 1
        for i, (spot, placed) in enumerate(zip(tree.spots, tree.placed, strict=True)):
            if placed.built_in:  # a tap of the manifold before it: its way in is that manifold's own
                used[i, 0] += 1
                used[spot.up, 1 + spot.port] += 1
        for i, (spot, placed) in enumerate(zip(tree.spots, tree.placed, strict=True)):
            first = 1 if spot.up < 0 else 0  # where a tree begins nothing is joined on this side
            assert [used[i, side] for side in range(first, len(placed.ends))] == [1] * (len(placed.ends) - first), (
                spot.id
            )


def test_every_end_of_every_part_between_elements_is_joined_exactly_once(example: Study) -> None:
    for joined, chain in example.fittings.chains():
        assert len(chain.joints) == len(chain.parts) + 1
        assert chain.joints[0].a == joined.a and chain.joints[-1].b == joined.b
        for part, into, out in zip(chain.parts, chain.joints, chain.joints[1:], strict=False):
            assert sorted(map(str, (into.b, out.a))) == sorted(map(str, part.ends)), part.id


def test_every_joint_of_the_examples_is_closed_and_sealed_on_tapers_only(fitted: Study) -> None:
    for joined in fitted.fittings.joined:
        assert isinstance(joined.found, Chain), (joined.before.words, joined.after.words)
        for joint in joined.found.joints:
            assert joint.sealant == (joint.a.kind in ("npt", "bspt") and joint.b.kind in ("npt", "bspt", "bspp"))


def test_nothing_on_the_container_side_is_rated_for_less_than_250_psi(fitted: Study) -> None:
    for tree in fitted.fittings.assemblies[:-1]:
        parts = [p.part for p in tree.placed if p.part] + [
            part for c in tree.connections if isinstance(c.found, Chain) for part in c.found.parts
        ]
        assert parts and all(part.rating is not None and part.rating >= 1.72e6 for part in parts)


def test_the_take_off_counts_each_part_of_the_trees_once(example: Study) -> None:
    """But for what closes ends during a test and is taken off again."""
    counted = Counter(
        p.part.id for _, _, p in example.fittings.placed() if p.part is not None and p.part.use != "connector"
    )
    counted += Counter(part.id for _, chain in example.fittings.chains() for part in chain.parts)
    items = {item.key: item.quantity for item in example.materials}
    for key, number in counted.items():
        extra = items[key] - number
        assert extra == 0 or (key.split(":")[0].endswith(("cap", "plug")) and extra > 0), key


# --- what is chosen ---------------------------------------------------------------------------------------------------


def test_flared_copper_gets_a_half_union_a_nut_at_each_end_and_a_valve_that_fits() -> None:
    made = chains(study_of(simple()))
    assert made["first regulator, outlet", "line to Heater"] == ["flare-half-union:5/8 x 3/8", "flare-nut:5/8"]
    assert made["line to Heater", "Heater, shut-off valve"] == ["flare-nut:5/8"]


def test_a_regulator_with_an_inverted_flare_gets_the_hose_that_fits_it() -> None:
    spec = hut(
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        regulator={"inlet_thread": "1/4 in inverted flare"},
    )
    keys = [item.key for item in study_of(spec).materials if item.group == "container and regulator"]
    assert "pol-pigtail-inverted:1/4" in keys


def test_parallel_containers_are_joined_by_a_manifold_with_a_hose_each() -> None:
    spec = hut(
        run("9 ft", "5/8 in OD", **COPPER),
        outlet("Heater", "20 kBtu/h"),
        container={"number": "3", "manifold": "parallel"},
    )
    items = {item.key: item.quantity for item in study_of(spec).materials}
    assert items["container-manifold-3:1/4 x 1/4"] == 1 and items["pol-pigtail-inverted:1/4"] == 3


def test_steel_pipe_has_an_elbow_at_each_bend() -> None:
    made = study_of(hut(run("9 ft", "1/2 in", material="steel", bends="3"), outlet("Heater", "20 kBtu/h")))
    assert {i.key: i.quantity for i in made.materials}["npt-elbow:1/2"] == 3


def test_corrugated_tubing_ends_at_its_appliance_in_a_termination_for_floor_or_wall() -> None:
    for through, word in (("floor", "floor"), ("wall", "wall")):
        spec = hut(run("9 ft", "EHD 18", material="csst", through=[through]), outlet("Heater", "20 kBtu/h"))
        assert f"csst-{word}-termination:18 x 1/2" in {i.key for i in study_of(spec).materials}


def test_a_cabin_heater_gets_a_sediment_trap_and_a_cooker_none() -> None:
    spec = simple()
    made = chains(study_of(spec))
    assert made["Heater, sediment trap", "Heater, cap of the sediment trap"] == ["npt-nipple:1/2"]
    assert not any("trap" in b for _, b in chains(study_of(simple(kind="cooker"))))
    assert not any("trap" in b for _, b in chains(study_of(spec | {"region": "us-trailer"})))


def test_a_canadian_hut_gets_a_dirt_pocket_and_a_canadian_vehicle_none() -> None:
    """CSA B149.1 6.13.1, for buildings."""
    canada = {"region": "canada", "setting": "cabin"}
    heater = simple(kind="water-heater")
    assert chains(study_of(heater | canada))["Heater, sediment trap", "Heater, cap of the sediment trap"] == [
        "npt-nipple:1/2"
    ]
    assert not any("trap" in b for _, b in chains(study_of(heater | canada | {"setting": "vehicle"})))
    assert not any("trap" in b for _, b in chains(study_of(simple() | canada)))  # a room heater


def test_a_rigid_tail_is_of_the_runs_own_tubing() -> None:
    made = chains(study_of(simple(connector={"kind": "rigid", "length": "2 ft"}, kind="cooker")))
    assert made["Heater, connector", "Heater, inlet"] == ["flare-nut:5/8", "flare-half-union:5/8 x 1/2"]


# --- what is said -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("part", "key", "code"),
    [
        ("regulator", "outlet_thread", "thread-not-stated-outlet-thread"),
        ("regulator", "inlet_thread", "thread-not-stated-inlet-thread"),
        ("container", "connection", "thread-not-stated-connection"),
    ],
)
def test_a_thread_that_is_not_stated_is_a_warning_that_names_the_key(part: str, key: str, code: str) -> None:
    finding = one(
        study_of(hut(run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h"), **{part: {key: None}})), code
    )
    assert str(finding.severity) == "warning" and f"'{key}:" in finding.remedy


@pytest.mark.parametrize(
    ("part", "key", "us", "uk"),
    [("container", "connection", "POL", "POL"), ("regulator", "outlet_thread", "3/8 FNPT", "10 mm compression")],
)
def test_the_example_of_a_thread_is_one_that_is_met_where_the_build_is(part: str, key: str, us: str, uk: str) -> None:
    for region, mark in (("us-cabin", us), ("uk", uk)):
        made = study_of(
            hut(run("9 ft", "5/8 in OD", **COPPER), outlet("Heater", "20 kBtu/h"), region=region, **{part: {key: None}})
        )
        assert one(made, f"thread-not-stated-{key.replace('_', '-')}").remedy.endswith(f"as in '{mark}'."), region


def test_an_appliance_without_a_stated_inlet_leaves_its_connector_open() -> None:
    made = study_of(simple(inlet_thread=None))
    assert one(made, "thread-not-stated-inlet-thread", "heater")
    (connector,) = [i for i in made.materials if i.key.startswith("flexible-connector")]
    assert "its ends not known" in connector.name


def test_threads_of_two_standards_are_an_error_with_the_reason_and_its_source() -> None:
    finding = one(study_of(simple(inlet_thread="Rc 1/2")), "joint-must-not-be-made")
    assert str(finding.severity) == "error" and "60-degree" in words(finding) and finding.source


def test_a_joint_for_which_no_part_is_listed_says_how_far_parts_reach() -> None:
    spec = hut(
        run("9 ft", "8 x 1 mm", material="copper-metric"),
        outlet("Heater", "5 kBtu/h"),
        regulator={"outlet_thread": "1/2 NPT"},
    )
    finding = one(study_of(spec), "joint-impossible", "run-heater")
    assert (
        "1/2 female NPT" in finding.message
        and "8 mm tube" in finding.message
        and "Parts reach as far as" in finding.reason
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("3/8 BSP", "3/8 BSPT"),
        ("garden hose", "water fitting"),
        ("1/2", "no kind of connection"),
        ("5/16 NPT", "no pipe thread"),
    ],
)
def test_text_that_names_no_connection_is_a_problem_with_its_line(text: str, says: str) -> None:
    made, problems = try_study(simple(inlet_thread=text))
    assert made is None
    (problem,) = problems
    assert problem.code == "spec-thread" and problem.line > 1 and says in f"{problem.message} {problem.hint}"


def test_a_union_or_valve_that_nobody_can_reach_is_an_error() -> None:
    spec = hut(
        run("4 ft", "5/8 in OD", **COPPER),
        {"valve": {"id": "hidden", "concealed": "yes"}},
        run("4 ft", "5/8 in OD"),
        outlet("Heater", "20 kBtu/h"),
    )
    assert one(study_of(spec), "concealed-joint", "hidden").source
    assert not found(study_of(simple()), "concealed-joint")


def test_a_tee_of_flares_may_not_be_hidden_and_one_of_screwed_pipe_may() -> None:
    def hidden(**pipe: str) -> Study:
        size = "1/2 in" if pipe["material"] == "steel" else "1/2 in OD"
        return study_of(
            hut(
                run("4 ft", size, **pipe),
                tee(
                    [run("4 ft", size, **pipe), outlet("A", "9 kBtu/h")],
                    [run("4 ft", size, **pipe), outlet("B", "9 kBtu/h")],
                    id="t",
                    concealed="yes",
                ),
                regulator={"outlet_thread": "1/2 NPT"},
            )
        )

    assert one(hidden(**COPPER), "concealed-joint", "t")
    assert not [f for f in hidden(material="steel").findings if f.code in ("concealed-joint", "joint-impossible")]


def test_a_first_stage_at_10_psi_gets_no_part_rated_for_5() -> None:
    spec = hut(
        run("9 ft", "EHD 18", material="csst", id="feed"),
        {"regulator": {"outlet": "11 inH2O", "inlet_thread": "1/2 NPT", "outlet_thread": "1/2 NPT", "id": "second"}},
        run("3 ft", "EHD 18"),
        outlet("Heater", "20 kBtu/h"),
        regulator={"outlet": "10 psi", "outlet_thread": "1/2 NPT"},
    )
    assert "not rated for the pressure" in one(study_of(spec), "joint-impossible", "feed").message


def test_screwed_steel_gets_a_union_behind_the_regulator_and_at_its_last_piece() -> None:
    steel = {"material": "steel"}
    branches = [
        [run("9 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h", id="heater")],
        [run("9 ft", "EHD 18", material="csst"), outlet("Cooker", "20 kBtu/h", id="cooker", kind="cooker")],
    ]
    made = study_of(
        hut(
            run("6 ft", "1/2 in", **steel, id="outside"),
            {"valve": {"id": "main"}},
            run("7 ft", "1/2 in", **steel, id="inside"),
            tee(*branches, id="split"),
        )
    )
    assert [(about.words, behind) for about, _, behind in made.fittings.unions()] == [
        ("union behind the first regulator", "outside"),
        ("union behind the line to the split", "split"),
    ]
    assert sum(item.quantity for item in made.materials if item.key.startswith("npt-union:")) == 2
    ids = {joint.id for joint in made.leak_test.joints}
    assert {"regulator-union", "inside-union"} <= ids
    assert not list(study_of(simple()).fittings.unions())  # copper comes apart at its nuts


def test_no_union_is_put_where_nobody_can_reach_it() -> None:
    steel = {"material": "steel"}
    branches = [
        [run("9 ft", "EHD 18", material="csst"), outlet("Heater", "20 kBtu/h")],
        [run("9 ft", "EHD 18", material="csst"), outlet("Cooker", "20 kBtu/h", kind="cooker")],
    ]
    spec = hut(
        run("6 ft", "1/2 in", **steel, id="a"), run("7 ft", "1/2 in", **steel, id="b"), tee(*branches, concealed="yes")
    )
    assert [about.element for about, _, _ in study_of(spec).fittings.unions()] == ["regulator"]


def test_a_flexible_connector_has_a_nut_at_each_end_that_is_wetted_and_takes_no_sealant() -> None:
    made = study_of(simple())
    texts = [joint.text for joint in made.leak_test.joints if "-nut-" in joint.id]
    assert len(texts) == 2 and all("no sealant" in text for text in texts)
    rigid = study_of(simple(connector={"kind": "rigid", "length": "1 ft"}))
    assert not [joint for joint in rigid.leak_test.joints if "-nut-" in joint.id]


@pytest.mark.parametrize("size", ["8 x 1 mm", "10 x 1 mm", "12 x 1 mm", "15 x 1 mm", "18 x 1 mm", "22 x 1 mm"])
def test_a_metric_size_that_may_be_picked_can_be_joined_to_valve_test_point_tee_and_closed(size: str) -> None:
    number = size.split(maxsplit=1)[0]
    tail: dict[str, Any] = {
        "inlet_thread": f"{number} mm compression",
        "connector": {"kind": "rigid", "length": "0.3 m"},
    }
    made = study_of(
        build(
            run("3 m", size, material="copper-metric", id="trunk"),
            {"valve": {"id": "main"}},
            {"tap": {}},
            tee(
                [run("2 m", size, id="a"), outlet("Heater", "3 kW", id="heater", **tail)],
                [run("2 m", size, id="b"), outlet("Oven", "3 kW", id="oven", **tail)],
                id="split",
            ),
            region="eu",
            setting="cabin",
            units="si",
            container={"type": "eu-11kg", "connection": "G.12", "water_capacity": None},
            regulator={
                "outlet": "50 mbar",
                "lock_up": None,
                "inlet_thread": "G.12",
                "outlet_thread": f"{number} mm compression",
            },
        )
    )
    wrong = [
        f.message
        for f in made.findings
        if f.code in ("joint-impossible", "joint-must-not-be-made", "nothing-closes-end")
    ]
    assert [m for m in wrong if "mm" in m] == []


METRIC: Values = {
    "region": "eu",
    "setting": "cabin",
    "units": "si",
    "container": {"type": "eu-11kg", "connection": "G.12"},
}
OF_15: Values = {
    "inlet_thread": "M20 x 1.5",
    "outlet_thread": "15 mm compression",
    "outlet": "30 mbar",
    "inlet": "0.5 bar",
}
TUBE: Values = {"material": "copper-metric"}


def metric_parts(*supply: Values) -> dict[str, str]:
    """The part that stands at each spot of a build with metric tube."""
    made = study_of(build(*supply, regulator=OF_15, **METRIC)).fittings
    return {spot.id: placed.part.id for _, spot, placed in made.placed() if placed.part is not None}


@pytest.mark.parametrize("before", [{"valve": {"id": "v"}}, {"run": {"length": "1 m", "size": "15 x 1 mm"}}])
def test_a_test_point_in_metric_tube_is_one_part_whatever_stands_before_it(before: Values) -> None:
    """A reducing tee, a piece of tube, an adapter and a tap did the same behind a valve, with four parts more."""
    found = metric_parts(
        run("1 m", "15 x 1 mm", **TUBE), before, {"tap": {"id": "t"}}, run("1 m", "15 x 1 mm"), outlet("Heater", "5 kW")
    )
    assert found["t"] == "test-point-compression:15" and "t:tap" not in found


def test_a_test_point_between_a_threaded_regulator_and_metric_tube_is_one_part() -> None:
    supply = ({"tap": {"id": "t"}}, run("1 m", "15 x 1 mm", **TUBE), outlet("Heater", "5 kW"))
    made = study_of(build(*supply, regulator=OF_15 | {"outlet_thread": "1/2 BSPT"}, **METRIC)).fittings
    assert {s.id: p.part.id for _, s, p in made.placed() if p.part}["t"].startswith("test-point-compression")


def test_a_tee_is_as_wide_as_the_trunk_and_the_branch_is_reduced() -> None:
    """12 mm in, 12 and 8 mm out: a tee of 12 mm and one reducer, not a tee of 10 mm and two."""
    branches = [
        [run("1 m", size, id=f"to-{name}"), outlet(name.title(), "3 kW", id=name)]
        for name, size in (("heater", "12 x 1 mm"), ("cooker", "8 x 1 mm"))
    ]
    supply = (run("1 m", "12 x 1 mm", id="trunk", **TUBE), tee(*branches, id="tee"))
    assert metric_parts(*supply)["tee"] == "compression-tee:12"
    made = study_of(build(*supply, regulator=OF_15, **METRIC)).fittings
    chains = {joined.element: [part.id for part in chain.parts] for joined, chain in made.chains()}
    assert (chains["tee"], chains["to-heater"], chains["to-cooker"]) == ([], [], ["compression-stub-reducer:8 x 12"])
