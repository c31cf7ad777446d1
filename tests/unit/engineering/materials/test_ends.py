"""Ends: reading what builders write, what mates, what must never be made."""

from __future__ import annotations

import itertools
import pickle
from dataclasses import replace
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.catalog.joints import never
from gasdoc.catalog.parts import catalogue
from gasdoc.engineering.materials.ends import (
    _PAIRS,
    CYLINDERS,
    End,
    EndError,
    Gender,
    Kind,
    bore,
    forbidden,
    inch_size,
    mates,
    seal,
    text,
    tube_end,
)
from gasdoc.engineering.materials.written_ends import parse_end

ALL_ENDS = sorted({end for part in catalogue().parts for end in part.ends}, key=text)
ends = st.sampled_from(ALL_ENDS)


def read(written: str, gender: Gender = "female") -> End:
    return parse_end(written, gender)


def test_every_kind_has_a_mate_and_words_that_are_read_back() -> None:
    mating = {*CYLINDERS, *(kind for pair in _PAIRS for kind in pair)}
    assert mating == set(get_args(Kind))
    unlisted = End("metric", "14x1.5", "male"), End("flare-37", "1/2", "male")
    known = {end.kind: end for end in (*ALL_ENDS, *unlisted)}
    for kind in get_args(Kind):
        end = known.get(kind) or End(kind, "", "male", hand=CYLINDERS[kind].hand)
        assert parse_end(text(end), end.gender) == end


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("1/4 NPT", End("npt", "1/4", "female")),
        ("3/8 FNPT", End("npt", "3/8", "female")),
        ("3/8 in MNPT", End("npt", "3/8", "male")),
        ("1/2-14 NPT", End("npt", "1/2", "female")),
        ("3/4 NPT male", End("npt", "3/4", "male")),
        ("½ MIP", End("npt", "1/2", "male")),
        ("1 1/4 NPT", End("npt", "1-1/4", "female")),
        ("3/8 flare", End("flare", "3/8", "female")),
        ('3/8" SAE flare', End("flare", "3/8", "female")),
        ("3/8 male 45 degree flare", End("flare", "3/8", "male")),
        ("3/8 JIC", End("flare-37", "3/8", "female")),
        ("1/4 in inverted flare", End("inverted-flare", "1/4", "female")),
        ("1/2 BSPT", End("bspt", "1/2", "female")),
        ("1/2 in BSP taper male", End("bspt", "1/2", "male")),
        ("1/2 BSP parallel", End("bspp", "1/2", "female")),
        ("R 1/2", End("bspt", "1/2", "male")),
        ("Rc 3/8", End("bspt", "3/8", "female")),
        ("Rp 3/8", End("bspp", "3/8", "female")),
        ("G 1/4 LH", End("bspp", "1/4", "female", hand="left")),
        ("G 1/4 left-hand male", End("bspp", "1/4", "male", hand="left")),
        ("QCC1", End("cga-791", "", "female")),
        ("G.12", End("g.12", "", "female", hand="left")),
        ("M20x1.5", End("g.13", "", "male")),
        ("M20 x 1.5", End("g.13", "", "male")),
        ("female M20x1.5", End("g.13", "", "female")),
        ("G.13", End("g.13", "", "male")),
        ("M14 x 1.5", End("metric", "14x1.5", "female")),
        ("8 mm compression", End("compression", "8 mm", "female")),
        ("10mm comp", End("compression", "10 mm", "female")),
        ("1/2 in OD tube", End("tube", "1/2", "male")),
        ("10 mm tube", End("tube", "10 mm", "male")),
        ("EHD 18", End("csst", "EHD 18", "female")),
        ("EHD 18 tubing", End("csst", "EHD 18", "male")),
    ],
)
def test_what_builders_write_is_read(written: str, expected: End) -> None:
    assert read(written) == expected


def test_the_default_gender_counts_only_where_the_text_gives_none() -> None:
    assert read("3/8 NPT", "male").gender == "male"
    assert read("3/8 FNPT", "male").gender == "female"
    assert read("8 mm compression", "male").gender == "female"  # it takes a tube, whatever it is on


@pytest.mark.parametrize("written", ["POL", "CGA 510", "cga510", "Type 21"])
def test_a_cylinder_connection_has_the_gender_of_the_side_it_is_on(written: str) -> None:
    assert parse_end(written, "male", on_container=True) == End("cga-510", "", "female", hand="left")
    assert parse_end(written, "female") == End("cga-510", "", "male", hand="left")


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ("1/2 BSP", "BSPT"),
        ("W21.8 LH", "G.12"),
        ("G12", "'G.12'"),
        ("3/8", "3/8 flare"),
        ("8 mm", "8 mm compression"),
        ("NPT", "3/8 FNPT"),
        ("5/8 NPT", "the sizes are"),
        ("7/16 flare", "the sizes are"),
        ("3/4 garden hose", "listed for LP gas"),
        ("3/8 flare LH", "leave LH out"),
        ("whatever", "'3/8 FNPT'"),
        ("", "'3/8 FNPT'"),
    ],
)
def test_text_that_cannot_be_told_is_an_error_with_what_would_be_right(written: str, hint: str) -> None:
    with pytest.raises(EndError) as caught:
        read(written)
    assert hint in caught.value.hint
    assert pickle.loads(pickle.dumps(caught.value)).hint == caught.value.hint


@given(st.text(max_size=30))
def test_any_text_is_an_end_or_an_end_error(written: str) -> None:
    try:
        assert isinstance(read(written), End)
    except EndError as error:
        assert error.message and error.hint


@given(ends)
def test_an_end_as_text_reads_back_as_itself(end: End) -> None:
    assert parse_end(text(end), "female") == end


@given(ends, ends)
def test_mating_does_not_depend_on_the_order_and_only_pipe_threads_seal_by_their_taper(a: End, b: End) -> None:
    assert seal(a, b) == seal(b, a)
    assert forbidden(a, b) == forbidden(b, a)
    if seal(a, b) == "taper":
        assert {a.kind, b.kind} <= {"npt", "bspt", "bspp"}
    assert not (mates(a, b) and forbidden(a, b))


@given(ends)
def test_an_end_never_mates_with_itself_and_a_thread_mates_with_its_opposite(end: End) -> None:
    assert not mates(end, end)
    if end.kind in ("npt", "bspt", "bspp", "metric", "flare", "inverted-flare", "csst") or end.size == "":
        assert mates(end, replace(end, gender="female" if end.gender == "male" else "male"))


@pytest.mark.parametrize(
    ("written", "spelling"),
    [
        ("m 20 x 2 male", "male M20x2"),
        ("female M16x1.50 LH", "female M16x1.5 LH"),
        ("M20 x 1.5 LH", "male M20x1.5 LH"),
        ("1/2 OD", "1/2 in OD tube"),
        ("10 mm OD", "10 mm tube"),
    ],
)
def test_metric_threads_and_tube_by_its_outside_are_read(written: str, spelling: str) -> None:
    assert text(parse_end(written, "female")) == spelling
    assert parse_end(spelling, "female") == parse_end(written, "female")


@pytest.mark.parametrize(
    ("written", "spelling"),
    [
        ("1/2 PE", "1/2 in PE pipe"),
        ("1/2 PE fitting", "1/2 in PE fitting"),
        ("1/2 male PE fitting", "1/2 in PE pipe"),
        ("female EHD 18 tubing", "EHD 18 fitting"),
        ("csst EHD 18", "EHD 18 fitting"),
        ("EHD 18 tubing", "EHD 18 tubing"),
        ("1/2 flare-nut", "1/2 flare-nut"),
        ("POL", "male POL"),
        ("1/2 BSPP LH", "G 1/2 female LH"),
        ("M16×1.5", "female M16x1.5"),
        ("1/2” NPT thread", "1/2 female NPT"),
        ("1/2″ MNPT connection,", "1/2 male NPT"),
        ("1/2 NPT (m)", "1/2 male NPT"),
        ("1/2 NPT (f)", "1/2 female NPT"),
        ("1/2 ext BSPP", "G 1/2 male"),
        ("1/2 int BSPP", "G 1/2 female"),
        ("right-hand 1/2 BSPP valve connector", "G 1/2 female"),
        ("1/2 BSPT (m)", "R 1/2"),
        ("Rc 1/2", "Rc 1/2"),
        ("G 1/2 union nut", "G 1/2 nut"),
    ],
)
def test_an_end_is_spelt_in_one_way_however_it_was_written(written: str, spelling: str) -> None:
    assert str(read(written)) == spelling


@pytest.mark.parametrize(
    ("written", "millimetres"),
    [
        ("1/2 NPT", 15.748),  # 0.62 in
        ("G 3/4", 20.828),  # 0.82 in
        ("1/2 PE", 15.748),
        ("EHD 18", 11.7),  # 18 x 0.65 mm
        ("10 mm tube", 8.0),  # less 1 mm of wall twice
        ("1/2 in OD tube", 11.176),  # 0.88 of 12.7 mm
        ("1-1/8 in OD tube", 25.146),
        ("3/8 flare", 8.382),
        ("M14x1.5", None),
        ("POL", None),
    ],
)
def test_about_how_wide_an_end_is_inside(written: str, millimetres: float | None) -> None:
    found = bore(read(written))
    assert found is None if millimetres is None else found == pytest.approx(millimetres / 1000, rel=1e-6)


def test_pipe_is_as_wide_as_schedule_40() -> None:
    # ASME B36.10, inside diameters in inches (from memory; 0.622, 0.824 and 1.049 stand in the capacity tables too).
    schedule_40 = {
        "1/8": 0.269,
        "1/4": 0.364,
        "3/8": 0.493,
        "1/2": 0.622,
        "3/4": 0.824,
        "1": 1.049,
        "1-1/4": 1.380,
        "1-1/2": 1.610,
        "2": 2.067,
        "2-1/2": 2.469,
        "3": 3.068,
        "4": 4.026,
    }
    for size, inches in schedule_40.items():
        assert bore(End("npt", size, "male")) == pytest.approx(inches * 0.0254, abs=0.005 * 0.0254)


@pytest.mark.parametrize(
    ("a", "b", "why"),
    [
        ("8 mm tube", "3/8 compression", "inch-with-metric"),
        ("3/8 in OD tube", "8 mm compression", "inch-with-metric"),
        ("8 mm tube", "3/8 flare-nut", "inch-with-metric"),
        ("8 mm tube", "3/8 in OD tube", "inch-with-metric"),
        ("8 mm compression", "3/8 compression", "inch-with-metric"),
        ("1/2 in OD tube", "3/8 compression", None),
        ("1/2 in OD tube", "3/8 in OD tube", None),
        ("8 mm compression", "3/8 flare-nut", None),
        ("8 mm tube", "EHD 18", None),
        ("EHD 18", "1/2 NPT", None),
        ("EHD 18", "EHD 19", None),
        ("1/2 MNPT", "3/4 FNPT", None),
        ("1/2 male BSPP", "1/2 female BSPT", "parallel-into-taper"),
        ("1/2 female BSPT", "1/2 male BSPP", "parallel-into-taper"),
        ("R 1/2", "G 1/2 nut", "taper-in-washer-nut"),
        ("G 1/2 male", "G 1/2 nut", None),
        ("1/2 male BSPT", "3/4 female BSPP", None),
        ("1/2 male BSPT", "1/2 male BSPP", None),
        ("POL", "POL", None),
        ("POL", "1/2 NPT", "cylinder-on-thread"),
        ("POL", "3/8 flare", "cylinder-on-thread"),
        ("POL", "8 mm compression", None),
        ("POL", "QCC1", "cylinder-types"),
        ("3/8 flare", "3/8 JIC", "flare-angles"),
        ("3/8 JIC", "3/8 in inverted flare", "inverted-flare"),
        ("3/8 flare", "EHD 18", None),
        ("3/8 male flare", "3/8 female NPT", "flare-on-taper"),
        ("3/8 male flare", "3/8 female BSPP", "flare-on-thread"),
        ("M14x1.5", "1/2 NPT", "metric-on-pipe-thread"),
        ("M14x1.5", "EHD 18", None),
        ("1/2 NPT", "R 1/2", "npt-with-bsp"),
        ("G 1/4 LH", "G 1/4", "wrong-hand"),
    ],
)
def test_why_two_ends_must_never_be_forced_together(a: str, b: str, why: str | None) -> None:
    assert forbidden(read(a), read(b)) == why


@pytest.mark.parametrize(
    ("written", "message", "hint"),
    [
        ("5/8 NPT", "there is no pipe thread of 5/8 in here", "the sizes are 1/8, 1/4"),
        ("R 5/8", "there is no pipe thread of 5/8 in here", "the sizes are 1/8, 1/4"),
        ("7/16 flare", "there is no flare of 7/16 in here", "the sizes are 3/16"),
        ("7/16 flare-nut", "there is no flare of 7/16 in here", "the sizes are 3/16"),
        ("5/8 PE", "there is no PE pipe of 5/8 in here", "the sizes are 1/8"),
        ("7/16 compression", "there is no tube of 7/16 in here", "the sizes are 1/4"),
        (
            "1/2 BSP",
            "'1/2 BSP' may be a taper or a parallel thread",
            "write '1/2 BSPT' (taper, marked R) or '1/2 BSPP' (parallel, marked G)",
        ),
        (
            "W21.8",
            "'W21.8' is the thread of several cylinder connections",
            "write KLF (ring in the cylinder, by hand) or GF (seal on the regulator",
        ),
        (
            "W21,8 x 1/14",
            "'W21,8 x 1/14' is the thread of several cylinder connections",
            "write KLF (ring in the cylinder, by hand) or GF (seal on the regulator",
        ),
        ("3/4 GHT", "'3/4 GHT' is a water fitting", "gas needs parts listed for LP gas"),
        ("3/8 in", "'3/8 in' has a size but no kind of connection", "write '3/8 NPT', '3/8 flare', 'R 3/8' or 'G 3/8'"),
        ("8 mm", "'8 mm' has a size but no kind of connection", "write '8 mm compression'"),
        ("NPT", "'NPT' has no size", "write it as in '3/8 FNPT'"),
        ("SAE flare", "'SAE flare' has no size", "write it as in '3/8 FNPT'"),
        ("compression", "'compression' has no size", "write it as in '3/8 FNPT'"),
        ("whatever", "'whatever' is no connection known here", "write it as in '3/8 FNPT'"),
    ],
)
def test_a_refusal_says_what_is_wrong_and_what_would_be_right(written: str, message: str, hint: str) -> None:
    with pytest.raises(EndError) as caught:
        read(written)
    assert caught.value.message == message
    assert caught.value.hint.startswith(hint)


def test_tube_is_named_in_its_own_system_and_no_odd_size_is_an_inch_size() -> None:
    assert tube_end(0.008, metric=True).size == "8 mm"
    assert tube_end(0.0095250, metric=True).size == "9.53 mm"
    assert tube_end(0.0095250, metric=False).size == "3/8"
    assert inch_size(0.028575) == "1-1/8"
    with pytest.raises(ValueError, match="not a multiple"):
        inch_size(0.008)


def test_a_rating_does_not_make_another_end() -> None:
    assert End("npt", "1/2", "male", 1e6) == End("npt", "1/2", "male")
    assert hash(End("npt", "1/2", "male", 1e6)) == hash(End("npt", "1/2", "male"))


@pytest.mark.parametrize(
    ("a", "b", "how"),
    [
        ("1/2 MNPT", "1/2 FNPT", "taper"),
        ("R 1/2", "Rc 1/2", "taper"),
        ("R 1/2", "female G 1/2", "taper"),
        ("male G 1/2", "female G 1/2", "washer"),
        ("3/8 male flare", "3/8 female flare", "flare"),
        ("1/2 in OD tube", "1/2 flare-nut", "held"),
        ("8 mm tube", "8 mm compression", "compression"),
        ("EHD 18 tubing", "EHD 18 fitting", "csst"),
        ("male POL", "female POL", "cylinder"),
        ("male POL", "male QCC1", "cylinder"),  # the POL inside the valve
        ("male POL", "male LCC27", "cylinder"),
    ],
)
def test_pairs_that_mate(a: str, b: str, how: str) -> None:
    assert seal(read(a), read(b)) == how


@pytest.mark.parametrize(
    ("a", "b", "code"),
    [
        ("3/8 male flare", "3/8 FNPT", "flare-on-taper"),
        ("1/2 MNPT", "1/2 female BSPT", "npt-with-bsp"),
        ("1/2 MNPT", "female G 1/2", "npt-with-bsp"),
        ("male G 1/4 LH", "female G 1/4", "wrong-hand"),
        ("3/8 male flare", "3/8 JIC", "flare-angles"),
        ("3/8 male flare", "3/8 female inverted flare", "inverted-flare"),
        ("male G 1/2", "1/2 female BSPT", "parallel-into-taper"),
        ("female G.12", "male G.4", "cylinder-types"),
        ("female POL", "1/4 MNPT", "cylinder-on-thread"),
        ("male M14x1.5", "1/4 FNPT", "metric-on-pipe-thread"),
        ("male G 1/4", "1/4 female flare", "flare-on-thread"),
        ("3/8 in OD tube", "10 mm compression", "inch-with-metric"),
    ],
)
def test_joints_that_must_never_be_made_have_their_reason(a: str, b: str, code: str) -> None:
    assert seal(read(a), read(b)) is None
    assert forbidden(read(a), read(b)) == code


def test_a_size_that_does_not_match_is_not_forbidden_only_unmated() -> None:
    assert forbidden(read("1/2 MNPT"), read("3/4 FNPT")) is None
    assert forbidden(read("R 1/2"), read("female G 3/4")) is None


def test_every_reason_in_the_catalogue_has_words_and_a_source() -> None:
    found = {code for a, b in itertools.product(ALL_ENDS, repeat=2) if (code := forbidden(a, b))}
    assert {"flare-on-taper", "npt-with-bsp", "wrong-hand", "cylinder-types"} <= found
    for code in found:
        words, source = never(code)
        assert words and source.text


def test_a_tube_end_is_named_by_its_outside_diameter() -> None:
    assert tube_end(0.015875, metric=False) == read("5/8 in OD tube")
    assert tube_end(0.010, metric=True) == read("10 mm tube")
    assert inch_size(1.125 * 0.0254) == "1-1/8"
    with pytest.raises(ValueError, match="1/16"):
        inch_size(0.010)
