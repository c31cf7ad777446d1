"""Trees put together from parts: which part is taken, how it is turned, and what is left open."""

from __future__ import annotations

import pytest

from gasdoc.catalog.parts import catalogue
from gasdoc.materials.assembly import Assembly, Placed, Spot, assemble
from gasdoc.materials.ends import bore, parse_end
from gasdoc.materials.joints import Chain, Constraints, NoChain, Part, Shelf

SHELF = Shelf(catalogue().of_use("fitting"))
VALVES = catalogue().of_use("valve")
TEES = tuple(p for p in catalogue().of_use("branch") if p.shape == "tee")


def fixed(name: str, up: int, *ends: str | None, port: int = 0, role: str = "run") -> Spot:
    return Spot(name, role, up, port, ends=tuple(None if e is None else parse_end(e, "female") for e in ends))


def chosen(name: str, up: int, options: tuple[Part, ...], ways: int = 1, role: str = "valve", **more: object) -> Spot:
    return Spot(name, role, up, options=options, ways=ways, **more)  # type: ignore[arg-type]  # a row of the table


def made(*spots: Spot) -> Assembly:
    return assemble(spots, SHELF)


def part(assembly: Assembly, i: int) -> str | None:
    found = assembly.placed[i].part
    return found.id if found is not None else None


def joints(assembly: Assembly) -> list[list[str]]:
    return [[p.id for p in c.found.parts] for c in assembly.connections if isinstance(c.found, Chain)]


def test_a_valve_between_two_tubes_is_the_one_their_nuts_go_onto() -> None:
    tree = made(fixed("a", -1, None, "5/8 in OD tube"), chosen("v", 0, VALVES), fixed("b", 1, "5/8 in OD tube", None))
    assert part(tree, 1) == "valve-flare:5/8"
    assert joints(tree) == [["flare-nut:5/8"], ["flare-nut:5/8"]]


def test_a_valve_between_thread_and_tube_is_turned_to_suit() -> None:
    tree = made(fixed("a", -1, None, "1/2 MNPT"), chosen("v", 0, VALVES), fixed("b", 1, "1/2 in OD tube", None))
    assert part(tree, 1) == "valve-npt-flare:1/2 x 1/2"
    assert [end.kind for end in tree.placed[1].ends] == ["npt", "flare"]


def test_a_tee_has_the_sizes_of_what_it_joins() -> None:
    tree = made(
        fixed("a", -1, None, "5/8 in OD tube"),
        chosen("t", 0, TEES, 2, "junction"),
        fixed("b", 1, "1/2 in OD tube", None),
        fixed("c", 1, "1/2 in OD tube", None, port=1),
    )
    assert part(tree, 1) == "flare-reducing-tee:5/8 x 1/2 x 1/2"


def test_a_part_before_a_junction_is_not_narrower_than_the_line() -> None:
    """What hangs on the junction is smaller; the test tee in the trunk keeps the trunk's size."""
    tests = tuple(p for p in catalogue().of_use("test") if p.shape == "tee" and len(p.ends) == 3)
    taps = tuple(p for p in catalogue().of_use("test") if p.id == "test-tap-npt:1/4")
    tree = made(
        fixed("a", -1, None, "5/8 in OD tube"),
        chosen("tap", 0, tests, 2, "tap"),
        chosen("screw", 1, taps, 0, "test tap", port=1),
        chosen("t", 1, TEES, 2, "junction"),
        fixed("b", 3, "3/8 in OD tube", None),
        fixed("c", 3, "3/8 in OD tube", None, port=1),
    )
    assert part(tree, 1) == "flare-test-tee:5/8 x 1/4"


def test_the_taps_of_a_manifold_are_the_valves_behind_it() -> None:
    manifolds = tuple(p for p in catalogue().of_use("branch") if p.shape == "manifold" and len(p.ends) == 3)
    tree = made(
        fixed("a", -1, None, "8 mm tube"),
        chosen("m", 0, manifolds, 2, "junction"),
        chosen("v", 1, VALVES),
        fixed("b", 2, "8 mm tube", None),
        chosen("w", 1, VALVES, port=1),
        fixed("c", 4, "8 mm tube", None),
    )
    assert part(tree, 1) == "compression-manifold-2:8 x 8"
    assert [tree.placed[i].built_in for i in (2, 4)] == [True, True] and part(tree, 2) is None
    assert len(tree.connections) == 3  # into the manifold, and out of each of its taps


def test_an_end_that_is_not_known_leaves_its_joint_open_and_nothing_else() -> None:
    tree = made(fixed("a", -1, None, None), fixed("b", 0, "1/2 in OD tube", "1/2 in OD tube"), chosen("v", 1, VALVES))
    assert tree.connections[0].found is None
    assert isinstance(tree.connections[1].found, Chain)


def test_a_joint_that_no_part_closes_is_reported_with_why() -> None:
    tree = made(fixed("a", -1, None, "1/2 FNPT"), fixed("b", 0, "Rc 1/2", None))
    found = tree.connections[0].found
    assert isinstance(found, NoChain) and found.forbidden == "npt-with-bsp"


@pytest.mark.parametrize(
    ("constraints", "breaks"),
    [(Constraints(concealed=True), "concealed"), (Constraints(pressure_pa=3e6), "under-rated")],
)
def test_parts_that_break_a_constraint_are_named_as_doing_so(constraints: Constraints, breaks: str) -> None:
    rated = tuple(p for p in VALVES if p.rating_pa is not None)
    tree = assemble([fixed("a", -1, None, "1/2 MNPT"), Spot("v", "valve", 0, options=rated, constraints=constraints)], SHELF)
    assert tree.placed[1].breaks == breaks


def test_where_no_option_has_the_ends_the_spot_is_left_open() -> None:
    tree = made(fixed("a", -1, None, "1/2 MNPT"), chosen("t", 0, VALVES, 2, "junction"), fixed("b", 1, "1/2 MNPT", None))
    assert tree.placed[1] == Placed(None, ())
    assert [c.found for c in tree.connections] == [None, None]


def test_a_hidden_spot_with_nothing_rated_high_enough_is_under_rated_before_it_is_hidden() -> None:
    low = tuple(p for p in VALVES if p.rating_pa is not None and not p.concealed)
    hidden = Constraints(pressure_pa=3e7, concealed=True)
    tree = assemble([fixed("a", -1, None, "1/2 MNPT"), Spot("v", "valve", 0, options=low, constraints=hidden)], SHELF)
    assert tree.placed[1].part is not None and tree.placed[1].breaks == "under-rated"


def test_a_spot_before_its_parent_is_refused() -> None:
    with pytest.raises(ValueError, match="stands before"):
        made(fixed("a", 0, None, "1/2 MNPT"))


@pytest.mark.parametrize(
    ("narrow", "wide"),
    [("3/8 FNPT", "1/2 FNPT"), ("1/2 in OD tube", "5/8 in OD tube"), ("8 mm tube", "10 mm tube"), ("EHD 15", "EHD 18")],
)
def test_a_larger_size_is_wider_inside(narrow: str, wide: str) -> None:
    a, b = bore(parse_end(narrow, "female")), bore(parse_end(wide, "female"))
    assert a is not None and b is not None and a < b
    assert bore(parse_end("POL", "male")) is None
