"""Trees put together from parts: which part is taken, how it is turned, and what is left open."""

from __future__ import annotations

import pytest

from gasdoc.catalog.parts import catalogue
from gasdoc.engineering.materials.assembly import Assembly, Placed, Spot, assemble
from gasdoc.engineering.materials.ends import bore
from gasdoc.engineering.materials.joints import Chain, Constraints, NoChain, Part, Shelf
from gasdoc.engineering.materials.written_ends import parse_end

SHELF = Shelf(catalogue().of_use("fitting"))
AMERICAN = Shelf(catalogue().sold_in(("north-american",)).of_use("fitting"))
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
    tree = assemble((fixed("a", -1, None, "1/2 FNPT"), fixed("b", 0, "Rc 1/2", None)), AMERICAN)
    found = tree.connections[0].found
    assert isinstance(found, NoChain) and found.forbidden == "npt-with-bsp"


@pytest.mark.parametrize(
    ("constraints", "breaks"),
    [(Constraints(concealed=True), "concealed"), (Constraints(pressure=3e6), "under-rated")],
)
def test_parts_that_break_a_constraint_are_named_as_doing_so(constraints: Constraints, breaks: str) -> None:
    rated = tuple(p for p in VALVES if p.rating is not None)
    tree = assemble(
        [fixed("a", -1, None, "1/2 MNPT"), Spot("v", "valve", 0, options=rated, constraints=constraints)], SHELF
    )
    assert tree.placed[1].breaks == breaks


def test_where_no_option_has_the_ends_the_spot_is_left_open() -> None:
    tree = made(
        fixed("a", -1, None, "1/2 MNPT"), chosen("t", 0, VALVES, 2, "junction"), fixed("b", 1, "1/2 MNPT", None)
    )
    assert tree.placed[1] == Placed(None, ())
    assert [c.found for c in tree.connections] == [None, None]


def test_a_hidden_spot_with_nothing_rated_high_enough_is_under_rated_before_it_is_hidden() -> None:
    low = tuple(p for p in VALVES if p.rating is not None and not p.concealed)
    hidden = Constraints(pressure=3e7, concealed=True)
    tree = assemble([fixed("a", -1, None, "1/2 MNPT"), Spot("v", "valve", 0, options=low, constraints=hidden)], SHELF)
    assert tree.placed[1].part is not None and tree.placed[1].breaks == "under-rated"


# --- made-up parts, and no fittings: what is chosen has to mate as it is ---

BARE = Shelf(())


def thing(name: str, *ends: str, shape: str = "valve", **more: object) -> Part:
    facts = {"rating": None, "container_side": True, "concealed": True} | more
    return Part(name, name, shape, "valve", tuple(parse_end(e, "female") for e in ends), **facts)  # type: ignore[arg-type]  # a row


def names(assembly: Assembly) -> list[str | None]:
    return [part(assembly, i) for i in range(len(assembly.placed))]


def closed(assembly: Assembly) -> list[bool]:
    return [isinstance(c.found, Chain) for c in assembly.connections]


def test_a_valve_suits_the_connector_that_suits_the_appliance() -> None:
    valves = (thing("half", "1/2 MNPT", "1/2 male flare"), thing("three-eighths", "1/2 MNPT", "3/8 male flare"))
    connectors = (
        thing("half-hose", "1/2 flare", "3/8 FNPT"),
        thing("three-eighths-hose", "3/8 flare", "1/2 FNPT"),
        thing("turned-hose", "1/4 FNPT", "1/4 flare"),
    )
    for inlet, expected in (("1/2 MNPT", ("three-eighths", "three-eighths-hose")), ("3/8 MNPT", ("half", "half-hose"))):
        tree = assemble(
            [
                fixed("a", -1, None, "1/2 FNPT"),
                chosen("v", 0, valves),
                chosen("c", 1, connectors, role="connector"),
                fixed("hob", 2, inlet),
            ],
            BARE,
        )
        assert names(tree) == [None, *expected, None]
        assert closed(tree) == [True] * 3
        assert [(c.up, c.down) for c in tree.connections] == [(0, 1), (1, 2), (2, 3)]


def test_a_tee_suits_the_valve_that_suits_the_connector_that_suits_the_appliance() -> None:
    tees = tuple(
        thing(f"{size}-tee", "1/2 MNPT", "1/2 MNPT", f"{size} male flare", shape="tee") for size in ("1/2", "3/8")
    )
    valves = tuple(thing(f"{size}-valve", f"{size} flare", f"{size} male flare") for size in ("1/2", "3/8"))
    hoses = (thing("1/2-hose", "1/2 flare", "3/8 FNPT"), thing("3/8-hose", "3/8 flare", "1/2 FNPT"))
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("t", 0, tees, 2, "junction"),
            fixed("b", 1, "1/2 FNPT"),
            chosen("v", 1, valves, port=1),
            chosen("c", 3, hoses, role="connector"),
            fixed("hob", 4, "1/2 MNPT"),
        ],
        BARE,
    )
    assert names(tree) == [None, "3/8-tee", None, "3/8-valve", "3/8-hose", None] and all(closed(tree))
    # A connector that suits nothing behind it says nothing of itself.
    lost = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("v", 0, (thing("v", "1/2 MNPT", "1/2 male flare"),)),
            chosen("c", 1, hoses, role="connector"),
            fixed("hob", 2, "3/4 MNPT"),
        ],
        BARE,
    )
    assert closed(lost) == [True, True, False]


def test_a_joint_keeps_the_constraints_of_the_element_behind_it() -> None:
    flares = parse_end("3/8 male flare", "male"), parse_end("3/8 flare", "female")
    for constraints, found in ((Constraints(), Chain), (Constraints(concealed=True), NoChain)):
        spots = [
            Spot("a", "run", -1, ends=(None, flares[0])),
            Spot("b", "run", 0, ends=(flares[1],), constraints=constraints),
        ]
        assert isinstance(assemble(spots, BARE).connections[0].found, found)


def test_a_part_with_a_joint_that_may_not_be_hidden_breaks_the_constraint_too() -> None:
    """The part may be hidden, its flare may not; the same for one that is rated too low."""
    part_ = thing("flared", "3/8 flare", "1/2 MNPT", rating=1e6)
    for pressure, breaks in ((1e5, "concealed"), (2e6, "under-rated")):
        hidden = Constraints(concealed=True, pressure=pressure)
        options = (thing("other", "3/4 MNPT", "1/2 MNPT", rating=1e6), part_)
        spots = [
            fixed("a", -1, None, "3/8 male flare"),
            Spot("v", "valve", 0, options=options, constraints=hidden),
            fixed("b", 1, "1/2 FNPT"),
        ]
        placed = assemble(spots, BARE).placed[1]
        assert placed.part is not None and (placed.part.id, placed.breaks) == ("flared", breaks)


def test_a_connector_is_turned_to_suit_the_appliance_and_the_valve_follows() -> None:
    valves = (thing("npt", "1/2 MNPT", "1/4 MNPT"), thing("flare", "1/2 MNPT", "1/4 male flare"))
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("v", 0, valves),
            chosen("c", 1, (thing("hose", "1/4 FNPT", "1/4 flare"),), role="connector"),
            fixed("hob", 2, "1/4 MNPT"),
        ],
        BARE,
    )
    assert names(tree)[1:3] == ["flare", "hose"] and closed(tree) == [True] * 3


def test_a_valve_at_the_end_is_known_by_its_own_inlets() -> None:
    tees = (
        thing("npt", *["1/2 MNPT"] * 3, shape="tee"),
        thing("flare", "1/2 MNPT", *["1/2 male flare"] * 2, shape="tee"),
    )
    last = (thing("cock", "1/2 flare"),)
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("t", 0, tees, 2, "junction"),
            chosen("v", 1, last, 0),
            chosen("w", 1, last, 0, port=1),
        ],
        BARE,
    )
    assert names(tree) == [None, "flare", "cock", "cock"] and closed(tree) == [True] * 3


def test_before_a_valve_the_tee_suits_what_is_behind_it() -> None:
    tees = (
        thing("npt", *["1/2 MNPT"] * 3, shape="tee"),
        thing("mixed", "1/2 MNPT", "1/2 MNPT", "3/8 male flare", shape="tee"),
    )
    valves = (thing("valve", "3/8 flare", "3/8 male flare"),)
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("t", 0, tees, 2, "junction"),
            fixed("b", 1, "1/2 FNPT"),
            chosen("v", 1, valves, port=1),
            fixed("c", 3, "3/8 flare"),
        ],
        BARE,
    )
    assert names(tree)[1] == "mixed" and names(tree)[3] == "valve" and closed(tree) == [True] * 4


def test_of_a_junction_with_one_option_its_inlet_is_known_and_of_one_with_a_choice_nothing() -> None:
    npt = thing("npt-tee", "1/2 MNPT", "3/8 male flare", "3/8 male flare", shape="tee")
    flare = thing("flare-tee", *["3/8 male flare"] * 3, shape="tee")
    valves = (thing("to-flare", "1/2 MNPT", "3/8 flare"), thing("to-npt", "1/2 MNPT", "1/2 FNPT"))

    def valve_before(*tees: Part) -> str | None:
        spots = [fixed("a", -1, None, "1/2 FNPT"), chosen("v", 0, valves), chosen("t", 1, tees, 2, "junction")]
        return part(assemble([*spots, fixed("b", 2, "3/8 flare")], BARE), 1)

    assert valve_before(npt) == "to-npt"
    assert valve_before(flare) == "to-flare"
    assert valve_before(flare, npt) == "to-npt"  # as wide as the line before it


def test_each_way_out_of_a_junction_leads_where_it_is_said_to() -> None:
    tree = assemble(
        [
            fixed("t", -1, None, "1/2 FNPT", "3/8 male flare"),
            fixed("b", 0, "3/8 flare", port=1),
            fixed("c", 0, "1/2 MNPT"),
            fixed("d", 0, "1/2 MNPT", port=2),
            fixed("e", 0, None),
        ],
        BARE,
    )
    half, flare = parse_end("1/2 FNPT", "female"), parse_end("3/8 male flare", "male")
    assert [(c.a, c.b) for c in tree.connections] == [
        (flare, parse_end("3/8 flare", "female")),
        (half, parse_end("1/2 MNPT", "male")),
        (None, parse_end("1/2 MNPT", "male")),
        (half, None),
    ]
    assert closed(tree) == [True, True, False, False]
    assert [c.found for c in tree.connections[2:]] == [None, None]


@pytest.mark.parametrize(
    ("options", "taken", "breaks"),
    [
        (("seen", "hidden"), "hidden", None),  # both join
        (("seen", "other-hidden"), "seen", "concealed"),  # what may be hidden does not join
        (("other-hidden",), "other-hidden", None),  # nothing joins: its joints say so
        (("low-hidden", "seen"), "seen", "concealed"),
        (("low-hidden",), "low-hidden", "under-rated"),
        (("low-hidden", "other-hidden"), "other-hidden", None),
    ],
)
def test_what_may_be_hidden_comes_before_what_may_not(options: tuple[str, ...], taken: str, breaks: str | None) -> None:
    parts = {
        "seen": thing("seen", "1/2 MNPT", "1/2 MNPT", concealed=False, rating=1e6),
        "hidden": thing("hidden", "1/2 MNPT", "1/2 MNPT", rating=1e6),
        "other-hidden": thing("other-hidden", "1/2 MNPT", "3/4 MNPT", rating=1e6),
        "low-hidden": thing("low-hidden", "1/2 MNPT", "1/2 MNPT", rating=1e3),
    }
    hidden = Constraints(concealed=True, pressure=1e5)
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            Spot("v", "valve", 0, options=tuple(parts[o] for o in options), constraints=hidden),
            fixed("b", 1, "1/2 FNPT"),
        ],
        BARE,
    )
    placed = tree.placed[1]
    assert placed.part is not None and (placed.part.id, placed.breaks) == (taken, breaks)
    assert placed.ends == parts[taken].ends


def test_one_valve_behind_a_manifold_is_reason_enough_for_taps() -> None:
    options = tuple(
        thing(name, "1/2 MNPT", "3/8 male flare", "3/8 male flare", shape="manifold", taps=taps)
        for name, taps in (("without", False), ("with-taps", True))
    )
    valve = (thing("valve", "3/8 flare", "3/8 male flare"),)
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("m", 0, options, 2, "junction"),
            chosen("v", 1, valve),
            fixed("b", 1, "3/8 flare", port=1),
            fixed("c", 2, "3/8 flare"),
        ],
        BARE,
    )
    assert part(tree, 1) == "with-taps"


@pytest.mark.parametrize(("role", "taken"), [("valve", "with-taps"), ("run", "without")])
def test_taps_save_the_valves_behind_them_and_are_not_taken_for_nothing(role: str, taken: str) -> None:
    def manifold(name: str, taps: bool) -> Part:
        return thing(name, "1/2 MNPT", "3/8 male flare", "3/8 male flare", shape="manifold", taps=taps)

    options = (manifold("without", False), manifold("with-taps", True))
    for order in (options, options[::-1]):
        behind = [
            chosen(name, 1, (thing("valve", "3/8 flare", "3/8 male flare"),), port=port)
            if role == "valve"
            else fixed(name, 1, "3/8 flare", None, port=port)
            for port, name in enumerate("bc")
        ]
        ends = [fixed(name, 2 + port, "3/8 flare") for port, name in enumerate("de")] if role == "valve" else []
        tree = assemble([fixed("a", -1, None, "1/2 FNPT"), chosen("m", 0, order, 2, "junction"), *behind, *ends], BARE)
        assert part(tree, 1) == taken
        assert [tree.placed[i].built_in for i in (2, 3)] == [role == "valve"] * 2


def test_a_manifold_is_never_turned_and_a_tee_is() -> None:
    for shape, fits in (("manifold", False), ("tee", True)):
        way = (thing("way", "3/8 male flare", "1/2 MNPT", "3/8 male flare", shape=shape),)
        tree = assemble(
            [
                fixed("a", -1, None, "1/2 FNPT"),
                chosen("m", 0, way, 2, "junction"),
                fixed("b", 1, "3/8 flare"),
                fixed("c", 1, "3/8 flare", port=1),
            ],
            BARE,
        )
        assert all(closed(tree)) == fits


@pytest.mark.parametrize(
    ("before", "behind", "taken"),
    [
        ("1/2 FNPT", "1/2 FNPT", "wide"),
        ("1/2 FNPT", "1/4 FNPT", "narrow"),
        ("1/4 FNPT", "1/2 FNPT", "narrow"),
        ("1/2 FNPT", None, "narrow"),
    ],
)
def test_a_part_does_not_narrow_the_way_but_may_be_as_narrow_as_what_it_joins(
    before: str, behind: str | None, taken: str
) -> None:
    """As many joints either way, and the narrow one is listed first."""
    shelf = Shelf(
        (
            thing("nipple", "1/2 MNPT", "1/2 MNPT"),
            thing("bushing", "1/2 MNPT", "1/4 FNPT"),
            thing("reducer", "1/4 MNPT", "1/2 MNPT"),
        )
    )
    options = (thing("narrow", "1/4 MNPT", "1/4 MNPT"), thing("wide", "1/2 FNPT", "1/2 FNPT"))
    tree = assemble([fixed("a", -1, None, before), chosen("v", 0, options), fixed("b", 1, behind)], shelf)
    assert part(tree, 1) == taken


def test_a_test_tee_is_as_wide_as_the_line_before_it_where_the_tee_behind_it_is_still_to_be_chosen() -> None:
    # 3/8 flare is half as wide as 1/2 pipe and would throttle all that hangs on it.
    taps = (
        thing("narrow", "3/8 male flare", "3/8 male flare", "1/4 FNPT", shape="tee"),
        thing("wide", "1/2 FNPT", "1/2 FNPT", "1/4 FNPT", shape="tee"),
    )
    tees = (
        thing("small", *["3/8 male flare"] * 3, shape="tee"),
        thing("large", *["1/2 FNPT"] * 3, shape="tee"),
    )
    tree = assemble(
        [
            fixed("valve", -1, None, "1/2 FNPT"),
            chosen("tap", 0, taps, 2, "tap"),
            fixed("screw", 1, "1/4 MNPT", port=1),
            chosen("split", 1, tees, 2, "junction"),
            fixed("left", 3, "1/2 MNPT"),
            fixed("right", 3, "1/2 MNPT", port=1),
        ],
        SHELF,
    )
    assert names(tree)[1] == "wide" and names(tree)[3] == "large"


def test_a_valve_before_a_test_tee_is_as_wide_as_the_line_before_it() -> None:
    # All that hangs on the trunk goes through its main shut-off: 1/2 in 3/4 pipe would throttle it.
    valves = (thing("narrow", "1/2 FNPT", "1/2 FNPT"), thing("wide", "3/4 FNPT", "3/4 FNPT"))
    taps = tuple(
        thing(name, *[f"{a} MNPT"] * 2, "1/4 FNPT", shape="tee") for name, a in (("low", "1/2"), ("high", "3/4"))
    )
    spots = [
        fixed("union", -1, None, "3/4 MNPT"),
        chosen("valve", 0, valves),
        chosen("tap", 1, taps, 2, "tap"),
        fixed("screw", 2, "1/4 MNPT", port=1),
        fixed("block", 2, "3/4 FNPT"),
    ]
    assert names(assemble(spots, AMERICAN))[1:3] == ["wide", "high"]


@pytest.mark.parametrize(("size", "taken"), [("5/8", "flared"), ("1/2", "wide")])
def test_ends_of_one_nominal_size_may_differ_by_a_fifth(size: str, taken: str) -> None:
    """Beside 1/2 in pipe (15.7 mm) a 5/8 flare is 13.3 mm wide, 0.85 of it; a 1/2 flare 10.7 mm, 0.68."""
    shelf = Shelf((thing("nipple", "1/2 MNPT", "1/2 MNPT"), thing("adapter", "1/2 MNPT", f"{size} female flare")))
    options = (thing("flared", f"{size} male flare", f"{size} male flare"), thing("wide", "1/2 FNPT", "1/2 FNPT"))
    tree = assemble([fixed("a", -1, None, "1/2 FNPT"), chosen("v", 0, options), fixed("b", 1, "1/2 FNPT")], shelf)
    assert part(tree, 1) == taken


def test_a_way_in_that_is_narrow_narrows_the_way_too() -> None:
    shelf = Shelf((thing("nipple", "1/2 MNPT", "1/2 MNPT"), thing("bushing", "1/2 MNPT", "1/4 FNPT")))
    options = (thing("narrow-in", "1/4 MNPT", "1/2 FNPT"), thing("wide", "1/2 FNPT", "1/2 FNPT"))
    tree = assemble([fixed("a", -1, None, "1/2 FNPT"), chosen("v", 0, options), fixed("b", 1, "1/2 MNPT")], shelf)
    assert part(tree, 1) == "wide"


def test_the_first_element_may_be_chosen_by_what_hangs_on_it() -> None:
    options = (thing("npt", "1/2 MNPT", "1/2 MNPT"), thing("flare", "1/2 MNPT", "3/8 male flare"))
    tree = assemble([chosen("v", -1, options), fixed("b", 0, "3/8 flare")], BARE)
    assert part(tree, 0) == "flare" and closed(tree) == [True]
    open_ = assemble([fixed("a", -1, None, None), chosen("v", 0, options), fixed("b", 1, "3/8 flare")], BARE)
    assert part(open_, 1) == "flare" and [c.found is None for c in open_.connections] == [True, False]


def test_of_a_valve_the_end_that_it_will_have_is_what_the_tee_gets() -> None:
    """What stands behind the valve is a flare, and what the tee meets is the valve's pipe thread."""
    tees = (
        thing("mixed", "1/2 MNPT", "1/2 MNPT", "3/8 male flare", shape="tee"),
        thing("npt", *["1/2 MNPT"] * 3, shape="tee"),
    )
    valves = (thing("from-npt", "1/2 FNPT", "3/8 male flare"),)
    tree = assemble(
        [
            fixed("a", -1, None, "1/2 FNPT"),
            chosen("t", 0, tees, 2, "junction"),
            fixed("b", 1, "1/2 FNPT"),
            chosen("v", 1, valves, port=1),
            fixed("c", 3, "3/8 flare"),
        ],
        BARE,
    )
    assert names(tree)[1:4:2] == ["npt", "from-npt"] and all(closed(tree))


def test_farther_off_is_looked_only_where_nearer_nothing_joins() -> None:
    shelf = Shelf(
        (
            thing("a", "1/2 MNPT", "3/8 FNPT", shape="bushing"),
            thing("b", "3/8 MNPT", "1/4 FNPT", shape="coupling"),
            thing("c", "1/4 MNPT", "1/8 MNPT", shape="nipple"),
        )
    )
    far, never, near = (
        thing("far", "1/8 FNPT", "1/8 FNPT"),
        thing("never", "1 MNPT", "1/8 FNPT"),
        thing("near", "1/2 MNPT", "1/8 FNPT"),
    )
    for options, taken in (((never, far), "far"), ((far, near), "near")):
        tree = assemble([fixed("a", -1, None, "1/2 FNPT"), chosen("v", 0, options), fixed("b", 1, None)], shelf)
        assert part(tree, 1) == taken


def test_joints_count_before_parts() -> None:
    """Both take one part: the nut makes one joint, the adapter two."""
    shelf = Shelf(
        (
            thing("adapter", "1/2 compression", "1/2 FNPT"),
            thing("nut", "1/2 flare-nut", "1/2 female flare", shape="flare-nut"),
        )
    )
    options = (thing("npt", "1/2 MNPT", "1/2 MNPT"), thing("flare", "1/2 male flare", "1/2 MNPT"))
    tree = assemble([fixed("a", -1, None, "1/2 in OD tube"), chosen("v", 0, options), fixed("b", 1, None)], shelf)
    assert part(tree, 1) == "flare"


def test_of_two_alike_the_one_that_need_not_be_turned_is_taken_then_the_first_listed() -> None:
    ends = ("1/2 MNPT", "3/8 male flare")
    options = (thing("turned", *ends[::-1]), thing("first", *ends), thing("second", *ends))
    tree = assemble([fixed("a", -1, None, "1/2 FNPT"), chosen("v", 0, options), fixed("b", 1, "3/8 flare")], BARE)
    assert part(tree, 1) == "first"
    alone = assemble([fixed("a", -1, None, "1/2 FNPT"), chosen("v", 0, options[:1]), fixed("b", 1, "3/8 flare")], BARE)
    assert alone.placed[1].ends == options[1].ends


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
