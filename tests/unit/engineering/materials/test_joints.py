"""Joints: the chain of parts between two ends."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs
from properties import tries

from gasdoc.catalog.parts import catalogue
from gasdoc.engineering.materials import joints
from gasdoc.engineering.materials.ends import End, mates, text
from gasdoc.engineering.materials.joints import MOST_JOINTS, Chain, Constraints, NoChain, Part, Shelf, make_joint
from gasdoc.engineering.materials.written_ends import parse_end

LISTED = catalogue().sold_in(("north-american",))
FITTINGS = LISTED.of_use("fitting")
WITH_PIGTAILS = LISTED.of_use("fitting", "pigtail")
ALL_ENDS = sorted({end for part in FITTINGS for end in part.ends}, key=text)
ANYWHERE = Constraints()
CONTAINER = Constraints(pressure=1.72e6, container_side=True)


def end(written: str, *, on_container: bool = False) -> End:
    return parse_end(written, "female", on_container=on_container)


def ids(found: Chain | NoChain) -> list[str]:
    assert isinstance(found, Chain), found
    return [part.id for part in found.parts]


def join(
    a: End,
    b: End,
    parts: Sequence[Part],
    constraints: Constraints = ANYWHERE,
    prices: Mapping[str, float] | None = None,
) -> Chain | NoChain:
    return Shelf(parts, prices).join(a, b, constraints)


def simple(
    part_id: str, a: str, b: str, shape: str = "nipple", rating: float | None = None, side: bool = False
) -> Part:
    return Part(part_id, part_id, shape, "fitting", (end(a), end(b)), rating, side, True)


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        # A hut: the regulator's 1/2 outlet to 3/4 pipe; the first tee to corrugated tubing.
        ("1/2 FNPT", "3/4 MNPT", ["npt-nipple:1/2", "npt-reducing-coupling:3/4 x 1/2"]),
        ("1/2 FNPT", "EHD 18 tubing", ["csst-male:18 x 1/2"]),
        # A trailer: the regulator's 3/8 outlet to 5/8 copper; a flare tee to corrugated tubing.
        ("3/8 FNPT", "5/8 in OD tube", ["flare-half-union:5/8 x 3/8", "flare-nut:5/8"]),
        ("1/2 male flare", "EHD 15 tubing", ["flare-swivel-male:1/2 x 1/2", "csst-female:15 x 1/2"]),
        # A boat: a regulator that takes the tube; a hose between tube and cooker.
        ("10 mm compression", "10 mm tube", []),
        ("8 mm tube", "female G 1/4 LH", ["compression-hose-lh:8"]),
        ("female G 1/4 LH", "8 mm compression", ["stub-hose-lh:8"]),
    ],
)
def test_the_joints_of_real_builds_close(a: str, b: str, expected: list[str]) -> None:
    assert ids(join(end(a), end(b), FITTINGS)) == expected


@pytest.mark.parametrize(
    ("container", "regulator", "expected"),
    [
        ("POL", "1/4 in inverted flare", ["pol-pigtail-inverted:1/4"]),
        ("POL", "1/4 NPT", ["pol-pigtail-npt:1/4"]),
        ("QCC1", "1/4 NPT", ["qcc1-pigtail-npt:1/4"]),
        ("G.12", "M20 x 1.5", ["g12-pigtail"]),
    ],
)
def test_containers_reach_regulators_with_rated_parts(container: str, regulator: str, expected: list[str]) -> None:
    found = join(end(container, on_container=True), end(regulator), WITH_PIGTAILS, CONTAINER)
    assert ids(found) == expected


def test_a_flare_nut_on_its_tube_is_no_joint_of_its_own() -> None:
    found = join(end("1/2 in OD tube"), end("1/2 male flare"), FITTINGS)
    assert isinstance(found, Chain)
    assert [joint.seal for joint in found.joints] == ["held", "flare"]


@tries(60)
@given(st.sampled_from(ALL_ENDS), st.sampled_from(ALL_ENDS))
def test_in_a_chain_every_end_mates_exactly_once(a: End, b: End) -> None:
    found = join(a, b, FITTINGS)
    if isinstance(found, NoChain):
        assert found.reason
        return
    assert len(found.joints) == len(found.parts) + 1
    met = [e for joint in found.joints for e in (joint.a, joint.b)]
    assert sorted(map(text, met)) == sorted(map(text, [a, b, *(e for part in found.parts for e in part.ends)]))
    for joint in found.joints:
        assert mates(joint.a, joint.b)
        assert joint.sealant == (joint.seal == "taper")
    shapes = [part.shape for part in found.parts]
    assert ("bushing", "bushing") not in itertools.pairwise(shapes)


@tries(40)
@given(st.sampled_from(ALL_ENDS), st.sampled_from(ALL_ENDS))
def test_a_chain_has_as_many_joints_whichever_end_it_is_looked_for_from(a: End, b: End) -> None:
    there, back = join(a, b, FITTINGS), join(b, a, FITTINGS)
    assert isinstance(there, Chain) == isinstance(back, Chain)
    if isinstance(there, Chain) and isinstance(back, Chain):
        assert sum(j.seal != "held" for j in there.joints) == sum(j.seal != "held" for j in back.joints)


def shortest_by_trying(a: End, b: End, parts: Sequence[Part], most: int) -> int | None:
    """Joints of the shortest chain, by trying every sequence of parts."""
    for n in range(most + 1):
        for way in itertools.product([(p, s) for p in parts for s in (0, 1)], repeat=n):
            open_end, fits, bushing = a, True, False
            for part, side in way:
                fits = fits and mates(open_end, part.ends[side]) and not (bushing and part.shape == "bushing")
                open_end, bushing = part.ends[1 - side], part.shape == "bushing"
            if fits and mates(open_end, b):
                return n + 1
    return None


@tries(60)
@given(
    st.lists(st.sampled_from([p for p in FITTINGS if p.id.startswith("npt-")]), min_size=1, max_size=5, unique=True),
    st.sampled_from(["1/2 FNPT", "3/4 MNPT", "3/8 FNPT", "1/4 MNPT"]),
    st.sampled_from(["1/2 MNPT", "3/4 FNPT", "3/8 FNPT", "1 MNPT"]),
)
def test_no_chain_of_fewer_joints_exists(parts: list[Part], a: str, b: str) -> None:
    found = join(end(a), end(b), parts)
    tried = shortest_by_trying(end(a), end(b), parts, 3)
    if tried is not None:
        assert isinstance(found, Chain) and len(found.joints) == tried
    elif isinstance(found, Chain):
        assert len(found.joints) > 4


def test_of_equal_joints_the_cheaper_chain_is_used_and_an_unpriced_one_last() -> None:
    parts = [simple(name, "1/2 MNPT", "1/2 MNPT") for name in "abc"]
    ask = (end("1/2 FNPT"), end("1/2 FNPT"))
    assert ids(join(*ask, parts)) == ["a"]  # the order they are listed in
    found = join(*ask, parts, prices={"b": 3.0, "c": 2.0})
    assert ids(found) == ["c"]
    assert isinstance(found, Chain) and (found.cost, found.unpriced) == (2.0, 0)


def test_bushings_are_not_stacked_and_the_reason_shows_the_stack() -> None:
    parts = [simple("big", "3/4 MNPT", "1/2 FNPT", "bushing"), simple("small", "1/2 MNPT", "1/4 FNPT", "bushing")]
    found = join(end("3/4 FNPT"), end("1/4 MNPT"), parts)
    assert isinstance(found, NoChain)
    assert found.reason == "bushing-stack"
    assert found.chain is not None and [part.id for part in found.chain.parts] == ["big", "small"]


@pytest.mark.parametrize(
    ("rating", "side", "fine"), [(1.8e6, True, True), (1.0e6, True, False), (None, True, False), (1.8e6, False, False)]
)
def test_on_the_container_side_a_part_must_be_rated_and_allowed(rating: float | None, side: bool, fine: bool) -> None:
    parts = [simple("a", "1/4 MNPT", "1/4 MNPT", rating=rating, side=side)]
    found = join(end("1/4 FNPT"), end("1/4 FNPT"), parts, CONTAINER)
    assert isinstance(found, Chain) == fine
    if isinstance(found, NoChain):
        assert found.reason == "under-rated"


def test_behind_the_regulator_only_a_known_rating_that_is_too_low_rules_a_part_out() -> None:
    ask = (end("1/4 FNPT"), end("1/4 FNPT"))
    assert isinstance(join(*ask, [simple("a", "1/4 MNPT", "1/4 MNPT")], Constraints(3447.0)), Chain)
    low = [simple("a", "1/4 MNPT", "1/4 MNPT", rating=2000.0)]
    assert isinstance(join(*ask, low, Constraints(3447.0)), NoChain)


def test_nothing_but_pipe_joints_is_hidden() -> None:
    hidden = Constraints(concealed=True)
    assert ids(join(end("1/2 FNPT"), end("1/2 FNPT"), FITTINGS, hidden)) == ["npt-nipple:1/2"]
    found = join(end("3/8 male flare"), end("1/2 FNPT"), FITTINGS, hidden)
    assert isinstance(found, NoChain) and found.reason == "concealed" and found.chain is not None
    assert found.forbidden == "flare-on-taper"
    assert isinstance(join(end("3/8 male flare"), end("3/8 female flare"), FITTINGS, hidden), NoChain)


def test_a_gap_that_nothing_closes_names_what_comes_nearest_and_what_is_forbidden() -> None:
    found = join(end("1/2 MNPT"), end("R 1/2"), FITTINGS)
    assert isinstance(found, NoChain)
    assert (found.reason, found.forbidden) == ("no-chain", "npt-with-bsp")
    found = join(end("1/2 male flare"), end("3/8 JIC"), FITTINGS)
    assert isinstance(found, NoChain)
    assert (found.reason, found.forbidden) == ("nothing-fits-second-end", "flare-angles")
    found = join(end("3/8 JIC"), end("1/2 male flare"), FITTINGS)
    assert isinstance(found, NoChain) and found.reason == "nothing-fits-first-end" and found.near is None


@pytest.mark.parametrize(
    ("a", "b", "effort"),
    [
        ("1/2 MNPT", "1/2 FNPT", (1, 0)),
        ("1/2 in OD tube", "1/2 flare-nut", (0, 0)),  # held: no joint of its own
        ("1/2 in OD tube", "1/2 male flare", (1, 1)),  # the nut on the tube, and its flare
        ("1/2 FNPT", "1/2 FNPT", (2, 1)),  # a nipple
        ("1/2 in OD tube", "1/2 in OD tube", (2, 3)),  # nut, union, nut
    ],
)
def test_effort_is_joints_and_parts(a: str, b: str, effort: tuple[int, int]) -> None:
    shelf = Shelf(FITTINGS)
    for most in range(max(effort[0], 1), 5):
        assert shelf.effort(end(a), end(b), Constraints(), most) == effort
    if effort[0]:
        assert shelf.effort(end(a), end(b), Constraints(), effort[0] - 1) is None
    assert shelf.effort(end(b), end(a), Constraints(), 4) == effort


def test_a_part_that_may_not_sit_there_does_not_hide_one_that_may() -> None:
    ask = (end("3/4 FNPT"), end("1/4 MNPT"))
    low, high = (simple(name, "3/4 MNPT", "1/4 FNPT", rating=rating) for name, rating in (("low", 1e3), ("high", 1e6)))
    assert ids(join(*ask, [low, high], Constraints(1e5))) == ["high"]
    # Of two ways to the same end the first found stays, and what is listed after it is still looked at.
    stack = [simple("big", "3/4 MNPT", "1/2 FNPT", "bushing"), simple("small", "1/2 MNPT", "1/4 FNPT", "bushing")]
    nipples = [
        simple("dear", "1/2 MNPT", "1/2 MNPT"),
        simple("cheap", "1/2 MNPT", "1/2 MNPT"),
        simple("last", "1/2 FNPT", "1/4 FNPT", "coupling"),
    ]
    found = join(*ask, [*stack, *nipples], prices={"big": 1.0, "dear": 5.0, "cheap": 2.0, "last": 1.0, "small": 1.0})
    assert ids(found) == ["big", "cheap", "last"]
    assert isinstance(found, Chain) and found.cost == 4.0


BIG = simple("big", "3/4 MNPT", "1/2 FNPT", "bushing")
SMALL = simple("small", "1/2 MNPT", "1/4 FNPT", "bushing")
NIPPLE = simple("nipple", "1/2 MNPT", "1/2 MNPT")


@pytest.mark.parametrize(
    ("parts", "prices", "chain"),
    [
        # The nipple is known behind the bushing, as near and cheaper, when the coupling comes to it.
        ([BIG, simple("coupling", "3/4 MNPT", "1/2 FNPT"), NIPPLE, SMALL], {}, ["coupling", "small"]),
        # It is known there with a joint less.
        (
            [BIG, NIPPLE, SMALL, simple("up", "3/4 MNPT", "1 FNPT"), simple("down", "1 MNPT", "1/2 FNPT")],
            {},
            ["up", "down", "small"],
        ),
        # It is reached again with a price, and the first way to it given up.
        (
            [BIG, simple("priced", "3/4 MNPT", "1/2 FNPT"), NIPPLE, simple("last", "1/2 FNPT", "1/4 FNPT")],
            {"priced": 1.0, "nipple": 1.0, "last": 1.0},
            ["priced", "nipple", "last"],
        ),
    ],
)
def test_what_is_known_already_does_not_end_the_search(
    parts: list[Part], prices: dict[str, float], chain: list[str]
) -> None:
    assert ids(join(end("3/4 FNPT"), end("1/4 MNPT"), parts, prices=prices)) == chain


def test_the_nearest_end_has_the_hand_of_the_one_that_is_sought() -> None:
    parts = [simple("right", "1/2 MNPT", "G 1/4"), simple("left", "1/2 MNPT", "G 1/4 LH")]
    found = join(end("1/2 FNPT"), end("G 3/8 LH"), parts)
    assert isinstance(found, NoChain) and found.near == end("G 1/4 LH")


def test_a_shelf_that_forgets_its_searches_finds_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    pairs = [("1/2 FNPT", "3/4 MNPT"), ("1/2 in OD tube", "1/2 male flare"), ("3/8 FNPT", "5/8 in OD tube")]
    kept = Shelf(FITTINGS)
    expected = [kept.join(end(a), end(b)) for a, b in pairs]
    monkeypatch.setattr(joints, "MOST_SEARCHES", 1)
    forgetful = Shelf(FITTINGS)
    assert [forgetful.join(end(a), end(b)) for a, b in (*pairs, *pairs)] == expected * 2


def test_a_part_just_rated_for_the_pressure_may_sit_there() -> None:
    parts = [simple("a", "1/4 MNPT", "1/4 MNPT", rating=3447.0)]
    assert ids(join(end("1/4 FNPT"), end("1/4 FNPT"), parts, Constraints(3447.0))) == ["a"]


@pytest.mark.parametrize(
    ("constraints", "reason"),
    [
        (Constraints(), "bushing-stack"),
        (Constraints(no_bushing_stack=False, pressure=2e6), "under-rated"),
        (Constraints(no_bushing_stack=False, container_side=True), "under-rated"),
        (Constraints(no_bushing_stack=False, concealed=True), "concealed"),
        (Constraints(pressure=2e6), "under-rated"),  # two at once: the gravest is named
        (Constraints(concealed=True, pressure=2e6), "under-rated"),
    ],
)
def test_a_chain_that_breaks_a_constraint_is_shown_with_which(constraints: Constraints, reason: str) -> None:
    parts = [
        structs.replace(simple(name, a, b, "bushing", rating=1e6), concealed=False)
        for name, a, b in (("big", "3/4 MNPT", "1/2 FNPT"), ("small", "1/2 MNPT", "1/4 FNPT"))
    ]
    found = join(end("3/4 FNPT"), end("1/4 MNPT"), parts, constraints, {"big": 2.0})
    assert isinstance(found, NoChain)
    assert (found.reason, found.forbidden) == (reason, None)
    assert found.near == (end("1/2 FNPT") if reason == "bushing-stack" else None)  # what may be used reaches no further
    assert found.chain is not None and [part.id for part in found.chain.parts] == ["big", "small"]
    assert (found.chain.cost, found.chain.unpriced) == (2.0, 1)


def test_the_nearest_end_is_of_the_same_kind_then_size_then_ready_to_take_it() -> None:
    """From 1/2 FNPT parts reach a 1/2 flare, a 3/8 FNPT and, through it, a 1/4 MNPT; wanted is 1/4 BSPT, NPT or flare."""
    parts = [
        simple("flare", "1/2 MNPT", "1/2 male flare"),
        simple("reducer", "1/2 MNPT", "3/8 FNPT", "bushing"),
        simple("nipple", "3/8 MNPT", "1/4 MNPT"),
    ]

    def near(wanted: str) -> str:
        found = join(end("1/2 FNPT"), end(wanted), parts)
        assert isinstance(found, NoChain) and found.near is not None
        return text(found.near)

    assert near("1/4 male flare") == "1/2 male flare"
    assert near("3/8 FNPT") == "3/8 female NPT"
    assert near("1/4 MNPT") == "1/4 male NPT"
    assert near("3/4 MNPT") == "3/8 female NPT"  # no 3/4 NPT is reached: the one that takes a male thread
    assert near("3/4 FNPT") == "1/4 male NPT"
    assert near("1/2 BSPT") == "1/2 male flare"  # no BSPT: of that size
    missing = join(end("1/2 FNPT"), end("1/4 male flare"), parts)
    assert isinstance(missing, NoChain) and missing.reason == "nothing-fits-second-end"
    none = join(end("2 FNPT"), end("1/2 FNPT"), parts)
    assert isinstance(none, NoChain) and (none.reason, none.near) == ("nothing-fits-first-end", None)


def test_fewer_parts_count_before_known_prices_and_these_before_low_ones() -> None:
    ask = (end("1/2 in OD tube"), end("1/2 FNPT"))
    tube = [
        simple("half-union", "1/2 male flare", "1/2 MNPT", "union"),
        simple("nut", "1/2 flare-nut", "1/2 female flare", "flare-nut"),
    ]
    whole = simple("compression", "1/2 compression", "1/2 MNPT", "union")
    # Two joints each: the nut and the half union are two parts, the compression fitting is one, dear as it is.
    assert ids(join(*ask, [*tube, whole], prices={"half-union": 1.0, "nut": 1.0, "compression": 99.0})) == [
        "compression"
    ]
    assert ids(join(*ask, tube)) == ["nut", "half-union"]
    known = simple("known", "1/2 compression", "1/2 MNPT", "union")
    assert ids(join(*ask, [whole, known], prices={"known": 99.0})) == ["known"]


def test_a_chain_of_too_many_joints_is_not_looked_for() -> None:
    sizes = ["1/8", "1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2"]
    parts = [simple(f"{a}-{b}", f"{a} MNPT", f"{b} FNPT") for a, b in itertools.pairwise(sizes)]
    assert isinstance(join(end("1/8 FNPT"), end(f"{sizes[MOST_JOINTS - 1]} MNPT"), parts), Chain)
    assert isinstance(join(end("1/8 FNPT"), end(f"{sizes[MOST_JOINTS]} MNPT"), parts), NoChain)


def test_ends_that_do_not_mate_make_no_joint() -> None:
    with pytest.raises(ValueError, match="do not mate"):
        make_joint(end("1/2 MNPT"), end("3/4 FNPT"))
