"""What can be chosen for a plan: the same figures as the study of the choice taken, the optima, the order, the words."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up_builds import Values, outlet, run, tee, text
from msgspec.structs import replace

from gasdoc.build.reader import Build, read_spec
from gasdoc.catalog import containers as kinds
from gasdoc.catalog import tubing
from gasdoc.catalog.sold import sold
from gasdoc.choices.choices import Choices, choose
from gasdoc.choices.filled import fill, size_text
from gasdoc.choices.plan import planned
from gasdoc.choices.taking import taken
from gasdoc.choices.tubing import Floor, two_sizes
from gasdoc.regions.materials import permission
from gasdoc.regions.region import region, region_ids
from gasdoc.study.container.coldest_days import usable
from gasdoc.study.container.holding import full_mass, shape_of
from gasdoc.study.study import Study, study

REGIONS = {
    "us-cabin": "cabin",
    "us-trailer": "trailer",
    "uk": "vehicle",
    "au-nz": "vehicle",
    "boat-eu": "boat",
    "eu": "cabin",
}


def plan(where: str = "us-cabin", coldest: str = "-5 degC", last: str = "5 days", **more: Any) -> Values:
    """A plan with two appliances."""
    plain = {"min_inlet": None, "max_inlet": None, "jetted_for": None, "inlet_thread": None}
    spec: Values = {
        "format": "1",
        "title": "Plan",
        "region": where,
        "setting": REGIONS[where],
        "coldest": coldest,
        "container": {"must_last": last},
        "supply": [
            run("2 m"),
            tee(
                [run("1 m"), outlet("Heater", "4 kW", daily_use="6 h", **plain)],
                [run("3 m"), outlet("Cooker", "6 kW", kind="cooker", daily_use="1 h", **plain)],
            ),
        ],
    }
    return spec | more


def built(spec: Values) -> Build:
    read = read_spec(text(spec).encode(), "specs/plan.md", "plan")
    assert read.build is not None, [str(p) for p in read.problems]
    return read.build


def chosen(spec: Values) -> Choices:
    found = choose(built(spec))
    assert found is not None
    return found


def studied(build: Build) -> Study:
    made, problems = study(build)
    assert made is not None, [str(p) for p in problems]
    return made


# --- taking is studying ---------------------------------------------------------------------------------------------


@settings(max_examples=6, deadline=None)
@given(
    where=st.sampled_from(sorted(REGIONS)),
    coldest=st.sampled_from(["-15 degC", "-5 degC", "2 degC"]),
    last=st.sampled_from(["2 days", "9 days"]),
    pick=st.integers(0, 99),
)
def test_the_study_of_a_choice_taken_has_the_figures_shown(where: str, coldest: str, last: str, pick: int) -> None:
    spec = plan(where, coldest, last)
    build = built(spec)
    found = choose(build)
    assert found is not None
    proposal, _ = planned(build)
    written = text(spec)
    containers = [choice for choice in found.containers if choice.gate is not None]
    tubes = list(found.tubing)
    for choice in (containers[pick % len(containers)], tubes[pick % len(tubes)]):
        filled = fill(proposal, choice.picked)
        made = studied(filled)
        if choice in containers:
            gate = choice.gate  # picked for having one
            held = usable(made.build, made.cold, gate.heat)
            assert held is not None
            assert held.days == pytest.approx(gate.days, abs=1e-9)
            assert (held.days, held.at_least) == (gate.days, gate.at_least) or gate.to_fill is None
            assert made.container.shape.heavy + made.container.heaviest_fuel == pytest.approx(
                choice.figures["one_full"].value
            )
        else:
            assert made.worst_drop == choice.figures["lost"].value
            assert sum(len(chain.joints) for _, chain in made.fittings.chains()) == choice.figures["joints"].value
            assert dict(choice.sizes) == {
                line.id: line.size.label for zone in made.zones for line in zone.runs if line.size
            }
        again = read_spec(taken(written, build, choice.picked).encode(), "specs/plan.md", "plan").build
        assert again is not None
        assert again.spec == fill(build, choice.picked).spec


def test_a_plan_is_studied_with_its_first_design() -> None:
    build = built(plan())
    filled, found = planned(build)
    assert found is not None
    design = found.designs[0]
    made = studied(filled)
    assert made.build.container_kind.id in design.container
    assert {f.code for f in made.findings} >= {"open-container", "open-regulator", "open-tubing"}
    assert not [f for f in made.findings if f.at == ("container",) and f.code != "open-container"]


def test_a_build_without_open_keys_is_left_alone() -> None:
    build = built(
        plan(
            container={"type": "dot-20lb"},
            regulator={"outlet": "11 inH2O"},
            supply=[run("2 m", material="steel"), outlet("Heater", "4 kW")],
        )
    )
    assert planned(build) == (build, None)


# --- optima ---------------------------------------------------------------------------------------------------------


@settings(max_examples=200, deadline=None)
@given(data=st.data(), count=st.integers(1, 5))
def test_two_sizes_are_the_best_pair_there_is(data: st.DataObject, count: int) -> None:
    offered = tubing.sizes("copper", "L")[:5]
    lengths = tuple(data.draw(st.floats(0.5, 10.0)) for _ in range(count))
    least = [data.draw(st.integers(0, 4)) for _ in range(count)]
    parents = (-1, *range(count - 1))
    for i in range(count - 1, 0, -1):
        least[i - 1] = max(least[i - 1], least[i])
    floor = Floor(tuple(map(str, range(count))), parents, lengths, tuple(least), offered)

    def tube(chosen: tuple[int, ...]) -> float:
        return sum((offered[i].outside_diameter or 0.0) * length for i, length in zip(chosen, lengths, strict=True))

    every = [
        each
        for each in itertools.product(range(5), repeat=count)
        if len(set(each)) == 2
        and all(a >= b for a, b in zip(each, least, strict=True))
        and max(each) <= max(least)
        and all(each[i] <= each[parents[i]] for i in range(1, count))
    ]
    found = two_sizes(floor)
    assert (found is None) == (not every)
    if found is not None:
        assert tube(found) == pytest.approx(min(map(tube, every)))


@pytest.mark.parametrize("where", ["us-cabin", "uk"])
def test_no_size_grows_downstream_and_all_are_of_one_series(where: str) -> None:
    for choice in chosen(plan(where)).tubing:
        sizes = dict(choice.picked.tubing.sizes)
        trunk = sizes["run-split-cooker-heater"]
        bores = [
            (size.bore or float(size.id.removeprefix("EHD ")))
            for size in (trunk, sizes["run-heater"], sizes["run-cooker"])
        ]
        assert bores[0] >= max(bores[1:]), choice.id
        if choice.series is not None:
            assert all(
                size.id.removeprefix("EHD ") in choice.series.removeprefix("EHD ").split(", ")
                for size in sizes.values()
            )


# --- containers -----------------------------------------------------------------------------------------------------


def fitting(spec: Values) -> set[tuple[str, int, str]]:
    return {(choice.kind, choice.number, choice.manifold) for choice in chosen(spec).containers if choice.fits}


@pytest.mark.parametrize("where", ["us-cabin", "eu"])
def test_what_fits_in_colder_air_fits_in_warmer_or_needs_no_more(where: str) -> None:
    cold, warm = fitting(plan(where, "-12 degC")), fitting(plan(where, "0 degC"))
    least = {(kind, way): min(n for k, n, w in warm if (k, w) == (kind, way)) for kind, _, way in warm}
    for kind, number, way in cold:
        assert (kind, way) in least, (kind, way)
        assert least[(kind, way)] <= number


@settings(max_examples=25, deadline=None)
@given(
    kind=st.sampled_from(["dot-20lb", "dot-40lb", "dot-100lb", "eu-11kg"]),
    air=st.floats(250.0, 285.0),
    warmer=st.floats(0.0, 8.0),
    fill=st.floats(0.2, 1.0),
    less=st.floats(0.0, 0.3),
    number=st.integers(1, 3),
    heat=st.sampled_from(["moving", "less", "still"]),
)
def test_what_falls_short_does_so_colder_emptier_and_with_fewer(
    kind: str, air: float, warmer: float, fill: float, less: float, number: int, heat: Any
) -> None:
    """The search leaves out what follows from this: see `gasdoc.choices.containers`."""
    made = studied(planned(built(plan()))[0])
    assert made.cold is not None
    of = kinds.container_kind(kind)
    assert of.water_capacity is not None
    water = of.water_capacity.low
    one = replace(made.cold.rig, shape=shape_of(of, water), full_mass=full_mass(of, water, made.cold.rig.gas))
    rig = one.joined(number, "parallel" if number > 1 else "single")
    if not rig.short(air, fill, heat).enough:
        return
    assert rig.short(air + warmer, fill, heat).enough
    assert rig.short(air, min(1.0, fill + less), heat).enough
    assert one.joined(number + 1, "parallel").short(air, fill, heat).enough
    assert heat != "still" or rig.short(air, fill, "less").enough


def test_a_wish_takes_out_and_says_why() -> None:
    wishes = {"carry": "20 kg", "fill": "exchanged", "room": {"height": "50 cm"}, "have": ["dot-20lb"]}
    found = chosen(plan(wishes=wishes))
    reasons = {choice.kind: {why.code for why in choice.why_not} for choice in found.containers}
    assert "filled-otherwise" in reasons["dot-40lb"]
    assert {"too-heavy", "no-room"} <= reasons["dot-40lb"]
    assert "too-heavy" not in reasons["dot-20lb"]


def test_a_region_limit_is_a_reason_and_comes_last() -> None:
    found = chosen(plan("us-trailer", "5 degC", "1 day"))
    assert found.containers[-1].why_not[0].code == "over-region-limit"
    assert found.containers[0].fits


def test_two_on_changeover_come_before_one_where_something_heats() -> None:
    fits = [choice for choice in chosen(plan("us-cabin", "2 degC", "2 days")).containers if choice.fits]
    small = [choice for choice in fits if choice.kind == "dot-30lb"]
    assert small[0].manifold == "changeover"


def test_every_kind_says_how_it_is_sold() -> None:
    assert {how for kind in kinds.kind_ids() for how in sold(kind).how} == {"exchanged", "filled", "truck"}


@pytest.mark.parametrize("where", region_ids())
def test_every_material_has_an_answer_in_every_region_and_one_is_usual(where: str) -> None:
    here = region(where)
    for setting in here.settings:
        answers = {
            (material, kind): permission(material, kind, here.practice, setting)
            for material in tubing.materials()
            for kind in tubing.material(material).kinds or (None,)
        }
        assert None not in answers.values()
        assert 1 in {row.usual for row in answers.values() if row is not None and row.answer == "allowed"}


@pytest.mark.parametrize("material", tubing.materials())
def test_a_size_is_written_so_that_it_is_read_again(material: str) -> None:
    for kind in tubing.material(material).kinds or (None,):
        for size in tubing.sizes(material, kind):
            assert tubing.resolve(material, kind, size_text(size)).id == size.id


# --- what is not stated ---------------------------------------------------------------------------------------------


def test_what_decides_and_is_not_stated_is_asked_and_assumed() -> None:
    spec = plan()
    del spec["coldest"], spec["container"]
    spec["supply"] = [run("2 m"), outlet("Heater", "4 kW", daily_use=None)]
    found = chosen(spec)
    assert [assumed.key for assumed in found.assumed] == ["daily_use", "coldest", "must_last", "altitude"]
    assert found.designs


@pytest.mark.parametrize(
    ("key", "stated"),
    [
        ("daily_use", {}),
        ("coldest", {"coldest": "20 degF"}),
        ("must_last", {"container": {"must_last": "3 days"}}),
        ("altitude", {"altitude": "2,000 m"}),
    ],
)
def test_what_another_value_would_change_is_what_stating_it_changes(key: str, stated: Values) -> None:
    def spec(hours: str | None) -> Values:
        found = plan() | {"supply": [run("2 m"), outlet("Heater", "4 kW", daily_use=hours)]}
        del found["coldest"], found["container"]
        return found

    asked = {each.key: each for each in chosen(spec(None)).assumed}[key]
    # A heater is taken to burn 8 hours; twice as long are 16.
    other = chosen(spec("16 h" if key == "daily_use" else None) | stated)
    held = next(choice for choice in other.containers if choice.fits)
    assert asked.other_first == f"{held.name}, {held.way}"
    assert key == "altitude" or asked.first != asked.other_first


def test_words_for_hours_are_the_hours_they_stand_for() -> None:
    supply = [run("2 m"), outlet("Heater", "4 kW", daily_use="Through the night")]
    in_words, in_hours = (
        chosen(plan() | {"supply": s}) for s in (supply, [run("2 m"), outlet("Heater", "4 kW", daily_use="8 h")])
    )
    assert in_words.containers == in_hours.containers
    assert [(b.name, b.stated, b.time) for b in in_words.burning] == [("Heater", "Through the night", 8 * 3600.0)]


def test_the_regulator_asked_for_carries_all_appliances() -> None:
    """4 kW and 6 kW of net heat: 10 kW x 1.087 = 10.9 kW of gross heat, 0.78 kg/h of propane; the next size up is 0.8."""
    regulator = chosen(plan("uk")).regulator
    assert regulator.figures["capacity"].value == pytest.approx(10_870, rel=0.01)
    assert (regulator.figures["gas"].value or 0) * 3600 == pytest.approx(0.78, rel=0.02)
    assert (regulator.figures["usual_size"].value or 0) * 3600 == pytest.approx(0.8)


# --- taking ---------------------------------------------------------------------------------------------------------

WRITTEN = Path(__file__).parent / "plan.md"


def test_taking_keeps_every_comment_and_leaves_the_rest_as_it_is() -> None:
    raw = WRITTEN.read_text(encoding="utf-8")
    build = read_spec(raw.encode(), "plan.md", "plan").build
    assert build is not None
    found = choose(build)
    assert found is not None
    after = taken(raw, build, found.designs[0].picked)
    kept = [line.partition("#")[2] for line in raw.splitlines() if "#" in line]
    assert [line.partition("#")[2] for line in after.splitlines() if "#" in line] == kept
    again = read_spec(after.encode(), "plan.md", "plan").build
    assert again is not None
    assert again.open == ()
    assert after.endswith(raw[raw.rindex("---\n") :])
