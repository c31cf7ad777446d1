"""The supply tree as a list: order, parents, and ids that follow from what is downstream, not from position."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.build.model import Spec
from gasdoc.build.supply import Node, flatten, outlets_behind, slug

RUN: dict[str, Any] = {"run": {"length": "9 ft", "material": "copper"}}
VALVE: dict[str, Any] = {"valve": {}}
REGULATOR: dict[str, Any] = {"regulator": {"outlet": "11 inH2O"}}


def outlet(name: str, **more: Any) -> dict[str, Any]:
    return {"outlet": {"appliance": {"name": name, "kind": "oven", "input": "1 kW"}, **more}}


def junction(*branches: list[Any], **more: Any) -> dict[str, Any]:
    return {"junction": {"branches": list(branches), **more}}


def nodes_of(supply: list[Any]) -> tuple[Node, ...]:
    return flatten(
        Spec.model_validate(
            {
                "format": "1",
                "title": "T",
                "region": "r",
                "container": {"type": "c"},
                "regulator": {"outlet": "11 inH2O"},
                "supply": supply,
            }
        )
    )


def ids(supply: list[Any]) -> list[str]:
    return [node.id for node in nodes_of(supply)]


def test_elements_come_in_the_direction_of_flow_each_with_its_parent_and_place() -> None:
    nodes = nodes_of([RUN, junction([RUN, VALVE, outlet("Oven")], [RUN, outlet("Heater")])])
    assert [(n.id, n.kind, n.parent, n.at) for n in nodes] == [
        ("run-split-heater-oven", "run", -1, ("supply", 0, "run")),
        ("split-heater-oven", "junction", 0, ("supply", 1, "junction")),
        ("run-oven", "run", 1, ("supply", 1, "junction", "branches", 0, 0, "run")),
        ("valve-oven", "valve", 2, ("supply", 1, "junction", "branches", 0, 1, "valve")),
        ("oven", "outlet", 3, ("supply", 1, "junction", "branches", 0, 2, "outlet")),
        ("run-heater", "run", 1, ("supply", 1, "junction", "branches", 1, 0, "run")),
        ("heater", "outlet", 5, ("supply", 1, "junction", "branches", 1, 1, "outlet")),
    ]


def test_several_of_a_kind_are_counted_from_the_outlet() -> None:
    assert ids([RUN, VALVE, RUN, REGULATOR, RUN, outlet("Oven")]) == [
        "run-3-oven",
        "valve-oven",
        "run-2-oven",
        "regulator-oven",
        "run-oven",
        "oven",
    ]


def test_a_given_id_is_used_and_names_what_leads_to_it() -> None:
    assert ids(
        [{"run": RUN["run"] | {"id": "trunk"}}, RUN, junction([outlet("A")], [RUN, outlet("B", id="bee")], id="tee")]
    ) == [
        "trunk",
        "run-tee",
        "tee",
        "a",
        "run-bee",
        "bee",
    ]


def test_giving_one_run_an_id_leaves_the_others_theirs() -> None:
    plain = ids([RUN, RUN, RUN, outlet("Oven")])
    named = ids([RUN, {"run": RUN["run"] | {"id": "middle"}}, RUN, outlet("Oven")])
    assert [a for a, b in zip(plain, named, strict=True) if a != b] == ["run-2-oven"]


@st.composite
def trees(draw: st.DrawFn) -> list[Any]:
    """A supply tree whose appliances are called a, b, c ..."""
    names = iter("abcdefghijklmnopqrstuvwxyz")

    def branch(depth: int) -> list[Any]:
        before = draw(st.lists(st.sampled_from([RUN, VALVE, REGULATOR, {"tap": {}}]), max_size=3))
        if depth < 2 and draw(st.booleans()):
            return [*before, junction(*(branch(depth + 1) for _ in range(draw(st.integers(2, 3)))))]
        return [*before, outlet(next(names))]

    return branch(0)


def shuffled(branch: list[Any], rng: random.Random) -> list[Any]:
    result = []
    for element in branch:
        if "junction" in element:
            branches = [shuffled(b, rng) for b in element["junction"]["branches"]]
            rng.shuffle(branches)
            element = {"junction": element["junction"] | {"branches": branches}}
        result.append(element)
    return result


@given(trees())
def test_ids_are_unique(tree: list[Any]) -> None:
    found = ids(tree)
    assert len(set(found)) == len(found)


@given(trees(), st.integers(0, 99))
def test_reordering_branches_keeps_every_id_with_its_element(tree: list[Any], seed: int) -> None:
    def told(supply: list[Any]) -> set[tuple[str, str, str | None]]:
        nodes = nodes_of(supply)
        return {(n.id, n.kind, nodes[n.parent].id if n.parent >= 0 else None) for n in nodes}

    assert told(shuffled(tree, random.Random(seed))) == told(tree)


@given(trees(), st.sampled_from([RUN, VALVE, REGULATOR]))
def test_an_element_added_upstream_keeps_the_ids_downstream(tree: list[Any], added: dict[str, Any]) -> None:
    assert ids([added, *tree])[1:] == ids(tree)


@given(trees())
def test_a_parent_comes_before_its_children(tree: list[Any]) -> None:
    assert all(-1 <= node.parent < i for i, node in enumerate(nodes_of(tree)))


def test_the_id_of_a_junction_before_many_outlets_is_short_and_its_own() -> None:
    names = [f"Appliance number {i}" for i in range(6)]
    first = ids([junction(*([outlet(n)] for n in names))])[0]
    other = ids([junction(*([outlet(n)] for n in [*names[:5], "Another"]))])[0]
    assert first != other
    assert max(len(first), len(other)) <= 48
    assert first.startswith("split-appliance-number-0-and-5-")


def test_outlets_behind_a_branch_are_sorted() -> None:
    spec = Spec.model_validate(
        {
            "format": "1",
            "title": "T",
            "region": "r",
            "container": {"type": "c"},
            "regulator": {"outlet": "11 inH2O"},
            "supply": [junction([outlet("Z")], [junction([outlet("M")], [outlet("A", id="first")])])],
        }
    )
    assert outlets_behind(spec.supply) == ("first", "m", "z")


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Larch Hut", "larch-hut"),
        ("Café Ünder", "cafe-under"),
        ("  a--b ", "a-b"),
        ("日本", "item"),
        ("", "item"),
        ("x" * 60, "x" * 40),
        ("a" * 39 + " b", "a" * 39),
    ],
)
def test_a_slug_is_an_id(text: str, expected: str) -> None:
    assert slug(text) == expected
