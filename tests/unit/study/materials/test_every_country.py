"""Builds of other countries as a stranger would write them: every joint closes, with parts that are sold there."""

from __future__ import annotations

from typing import Any

import pytest
from made_up_builds import Values, build, outlet, run, study_of, tee, try_study

from gasdoc.engineering.materials.joints import Chain
from gasdoc.study import Study

METRIC = {"material": "copper-metric"}
STEEL = {"material": "steel-metric"}
AUSTRALIAN = {"material": "copper-as1432", "type": "B"}


def two_appliances(
    region: str,
    container: str,
    connection: str,
    threads: tuple[str, str],
    tube: tuple[dict[str, str], str, str],
    inlets: tuple[str, str],
    kind: str = "rigid",
    number: int = 1,
) -> Values:
    """A container, a regulator with its inlet and outlet thread, a trunk, a test point, a tee, two appliances."""
    material, trunk, branch = tube
    changeover = {"number": str(number), "manifold": "banks" if number > 3 else "changeover"} if number > 1 else {}
    more: dict[str, Any] = {"connector": {"kind": kind, "length": "400 mm"}}
    return build(
        run("1 m", trunk, id="trunk", **material),
        {"tap": {"id": "tap"}},
        tee(
            *(
                [run("2 m", branch, **material), outlet(n, "3 kW", inlet_thread=t, **more)]
                for n, t in zip("AB", inlets, strict=True)
            )
        ),
        region=region,
        units="si",
        container={"type": container, "connection": connection, "water_capacity": None, **changeover},
        regulator={
            "outlet": "30 mbar",
            "inlet": None,
            "lock_up": None,
            "inlet_thread": threads[0],
            "outlet_thread": threads[1],
        },
    )


def still_open(made: Study) -> list[tuple[str, str]]:
    return [(j.before.words, j.after.words) for j in made.fittings.joined if not isinstance(j.found, Chain)]


@pytest.mark.parametrize(
    "asked",
    [
        pytest.param(("boat-eu", "eu-13kg", "POL", ("M20 x 1.5", "15 mm compression"), (METRIC, "15 x 1 mm", "10 x 1 mm"), ("8 mm compression", "G 1/2 male"), "rigid", 2), id="narrowboat"),
        pytest.param(("eu", "eu-33kg", "GF", ("GF", "12 mm cutting ring"), (STEEL, "12 x 1 mm", "8 x 1 mm"), ("8 mm cutting ring", "R 1/2")), id="alpine hut"),
        pytest.param(("eu", "eu-33kg", "GF", ("GF", "R 1/2"), (STEEL, "15 x 1.5 mm", "10 x 1 mm"), ("male R 1/2", "8 mm cutting ring"), "rigid", 2), id="alpine hut with two"),
        pytest.param(("eu", "eu-11kg", "KLF", ("KLF", "male G 1/4 LH"), (STEEL, "10 x 1 mm", "8 x 1 mm"), ("male G 1/4 LH", "male G 1/4 LH"), "hose"), id="German van"),
        pytest.param(("eu", "eu-13kg", "French screw", ("M20 x 1.5", "15 mm compression"), (METRIC, "15 x 1 mm", "12 x 1 mm"), ("male G 1/2", "R 3/8"), "rigid", 2), id="French hut"),
        pytest.param(("eu", "eu-13kg", "G.1", ("G.1", "male G 3/8"), (METRIC, "22 x 1 mm", "6 x 1 mm"), ("male G 1/2", "R 1/2")), id="Italian hut, lights on 6 mm"),
        pytest.param(("uk", "eu-13kg", "27 mm clip-on", ("27 mm clip-on", "8 mm hose nozzle"), (METRIC, "10 x 0.7 mm", "8 x 1 mm"), ("8 mm hose nozzle", "Rc 1/2"), "hose"), id="British trailer"),
        pytest.param(("au-nz", "anz-4kg", "LCC27", ("1/4 inverted flare", "3/8 BSPP"), (AUSTRALIAN, "3/8 in OD", "5/16 in OD"), ("1/4 BSPT male", "1/2 BSPT male")), id="camper trailer"),
        pytest.param(("eu", "eu-33kg", "GF", ("GF", "15 mm cutting ring"), (STEEL, "15 x 1.5 mm", "12 x 1 mm"), ("G 1/2 A", "R 1/4"), "hose", 4), id="alpine hut with four"),
        pytest.param(("eu", "eu-13kg", "French screw", ("M20 x 1.5", "G 1/2 male"), (METRIC, "12 x 1 mm", "10 x 1 mm"), ("male G 1/2", "male G 1/2"), "hose", 2), id="French hut with a cooker's hose"),
        pytest.param(("eu", "eu-47kg", "POL", ("POL", "22 mm compression"), (METRIC, "22 x 1 mm", "15 x 1 mm"), ("Rc 1/2", "Rp 1/2"), "hose", 4), id="Irish workshop with four"),
        pytest.param(("eu", "eu-13kg", "G.1", ("M20 x 1.5", "R 1/2"), (METRIC, "15 x 1 mm", "12 x 1 mm"), ("R 1/2", "male G 1/2"), "flexible", 2), id="Italian hut with two"),
        pytest.param(("au-nz", "anz-45kg", "POL", ("POL", "1/2 BSPP"), (AUSTRALIAN, "3/4 in OD", "5/8 in OD"), ("R 1/2", "R 1/2"), "hose", 2), id="New Zealand, trunk of 3/4"),
        pytest.param(("au-nz", "anz-45kg", "POL", ("POL", "1/2 BSPP"), (AUSTRALIAN, "5/8 in OD", "1/2 in OD"), ("1/2 BSPT male", "3/4 BSPP male"), "rigid", 2), id="New Zealand"),
    ],
)  # fmt: skip
def test_every_joint_closes_with_what_is_sold_there(asked: tuple[Any, ...]) -> None:
    made = study_of(two_appliances(*asked))
    assert still_open(made) == []
    ends = {end for j in made.fittings.joined for end in (j.a, j.b) if end is not None}
    ends |= {end for _, chain in made.fittings.chains() for part in chain.parts for end in part.ends}
    kinds = {end.kind for end in ends}
    assert "npt" not in kinds
    assert asked[0] == "au-nz" or "flare" not in kinds
    assert not {"compression", "cutting-ring"} <= kinds  # olives and cutting rings do not mix


def test_a_regulator_that_goes_onto_the_only_container_has_no_hose() -> None:
    asked = (
        "eu",
        "eu-11kg",
        "KLF",
        ("KLF", "8 mm compression"),
        (METRIC, "8 x 1 mm", "8 x 1 mm"),
        ("8 mm compression",) * 2,
    )
    alone, two = study_of(two_appliances(*asked)), study_of(two_appliances(*asked, number=2))
    assert [spot.role for _, spot, _ in alone.fittings.placed() if spot.role == "pigtail"] == []
    hoses = [placed.part.id for _, spot, placed in two.fittings.placed() if spot.role == "pigtail" and placed.part]
    assert hoses == ["klf-pigtail-klf"] * 2


def test_a_left_hand_hose_end_is_tight_on_its_cone_without_a_washer() -> None:
    made = study_of(two_appliances("eu", "eu-11kg", "KLF", ("KLF", "8 mm compression"), (METRIC, "8 x 1 mm", "8 x 1 mm"), ("male G 1/4 LH",) * 2, "hose"))  # fmt: skip
    seals = {joint.seal for j, chain in made.fittings.chains() for joint in chain.joints if joint.a.hand == "left"}
    assert seals == {"cylinder", "cone"}


def test_a_pipe_thread_marked_a_is_male_and_an_olive_never_goes_on_steel() -> None:
    from gasdoc.engineering.materials.ends import forbidden
    from gasdoc.engineering.materials.written_ends import parse_end

    assert parse_end("G 1/2 A", "female") == parse_end("male G 1/2", "female")
    assert (
        forbidden(parse_end("10 mm steel tube", "male"), parse_end("10 mm compression", "female")) == "olive-on-steel"
    )


@pytest.mark.parametrize(("written", "asked"), [("G 1/2", True), ("G 1/4 LH", True), ("male G 1/2", False), ("G 1/2 A", False), ("Rp 1/2", False)])  # fmt: skip
def test_a_bare_g_is_asked_back(written: str, asked: bool) -> None:
    _, problems = try_study(two_appliances("eu", "eu-11kg", "KLF", ("KLF", "8 mm compression"), (METRIC, "8 x 1 mm", "8 x 1 mm"), (written, "8 mm compression")))  # fmt: skip
    told = [problem.message for problem in problems if problem.code == "spec-thread"]
    assert told == ([f"'{written}' may be male or female"] if asked else [])


def test_each_end_of_soft_tube_in_a_compression_fitting_has_a_support_sleeve() -> None:
    """By hand: the trunk has two ends, and so has the piece of it between test point and tee; each of two branches has two, and so has the tail behind each valve. Steel has none."""
    threads, inlets = ("KLF", "8 mm compression"), ("8 mm compression", "8 mm compression")
    soft, hard = (
        {
            item.key: item.quantity
            for item in study_of(two_appliances("eu", "eu-11kg", "KLF", threads, tube, inlets)).materials
        }
        for tube in ((METRIC, "10 x 1 mm", "8 x 1 mm"), (STEEL, "10 x 1 mm", "8 x 1 mm"))
    )
    assert soft["support-sleeve:10x1"] == 2 + 2 and soft["support-sleeve:8x1"] == 2 * (2 + 2)
    assert not any(key.startswith("support-sleeve") for key in hard)


def test_cylinders_that_do_not_lead_to_the_regulator_name_the_inlet_that_they_do_lead_to() -> None:
    made = study_of(
        two_appliances("eu", "eu-13kg", "G.1", ("G.1", "15 mm compression"), (METRIC, "15 x 1 mm", "10 x 1 mm"), ("R 1/2", "R 1/2"), number=2)
    )  # fmt: skip
    told = [f.remedy for f in made.findings if f.code == "joint-must-not-be-made"]
    assert set(told) == {
        "Several cylinders with G.1 are led to a regulator with the inlet M20 x 1.5: take one of those."
    }


def test_the_tee_of_a_trunk_is_as_wide_as_the_trunk() -> None:
    """A trunk of 7/8 in OD (3/4 in nominal) and two branches of 5/8 in: a tee of 5/8 in or of 1/2 in NPT would choke it."""
    copper = {"material": "copper", "type": "L"}
    made = study_of(
        build(
            run("3 m", "7/8 in OD", id="trunk", **copper),
            {"valve": {"id": "main"}},
            tee(*([run("1 m", "5/8 in OD", **copper), outlet(n, "3 kW")] for n in ("A", "B")), id="tee"),
            regulator={"outlet_thread": "3/4 FNPT"},
        )
    )
    assert {s.id: p.part.id for _, s, p in made.fittings.placed() if p.part}["tee"] == "npt-tee:3/4"


@pytest.mark.parametrize(
    ("tube", "trunk", "outlet_thread", "inlet", "kind", "most"),
    [
        ("copper-metric", "15 x 1 mm", "15 mm compression", "male G 3/4", "flexible", 1),
        ("copper-metric", "15 x 1 mm", "15 mm compression", "male G 3/4", "hose", 1),
        ("steel-dn", "DN 20", "R 3/4", "male G 1/2", "rigid", 2),
        ("steel-dn", "DN 15", "R 1/2", "male G 3/4", "rigid", 2),
    ],
)
def test_a_flat_seal_thread_of_a_boiler_is_reached_by_one_nut(
    tube: str, trunk: str, outlet_thread: str, inlet: str, kind: str, most: int
) -> None:
    """Boilers and water heaters have G 1/2 or G 3/4 with a flat washer: a connector of that size, or one part with its nut."""
    line = run("1 m", trunk, material=tube), outlet("Boiler", "12 kW", inlet_thread=inlet, connector={"kind": kind})
    spec = build(
        *line,
        region="eu",
        setting="cabin",
        units="si",
        container={"type": "eu-33kg", "connection": "GF", "water_capacity": None},
        regulator={"outlet": "50 mbar", "inlet_thread": "GF", "outlet_thread": outlet_thread},
    )
    made = study_of(spec)
    assert still_open(made) == []
    (last,) = (j.found for j in made.fittings.joined if j.after.words == "Boiler, inlet")
    assert isinstance(last, Chain) and len(last.parts) <= most


def test_pipe_that_states_neither_olives_nor_cutting_rings_is_never_given_both() -> None:
    line = run("1 m", "DN 10", material="steel-dn"), outlet("Heater", "3 kW", inlet_thread="male G 3/8")
    made = study_of(
        build(
            *line,
            region="eu",
            setting="cabin",
            units="si",
            container={"type": "eu-33kg", "connection": "GF", "water_capacity": None},
            regulator={"outlet": "50 mbar", "inlet_thread": "GF", "outlet_thread": "male G 1/4 LH"},
        )
    )
    assert still_open(made) == []
    parts = {part.id for _, chain in made.fittings.chains() for part in chain.parts}
    assert any(part.startswith("compression-") for part in parts)
    assert not any(part.startswith("ring-") for part in parts)


def test_copper_that_states_cutting_rings_is_given_no_olives() -> None:
    rings = "8 mm cutting ring", "male R 1/2"
    spec = two_appliances(
        "eu", "eu-11kg", "KLF", ("KLF", "12 mm cutting ring"), (METRIC, "12 x 1 mm", "10 x 1 mm"), rings, "hose"
    )
    made = study_of(spec)
    assert still_open(made) == []
    parts = {part.id for _, chain in made.fittings.chains() for part in chain.parts}
    parts |= {placed.part.id for _, _, placed in made.fittings.placed() if placed.part is not None}
    assert "ring-valve:10" in parts and "ring-stub-hose-lh:10" in parts  # a hose nut needs no adapter but a stub
    assert not any("compression" in part for part in parts)
