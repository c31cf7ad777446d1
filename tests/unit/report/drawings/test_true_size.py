"""Parts at their true size: what is drawn in full lines has the measures that were published."""

from __future__ import annotations

import math
import re

import pytest
from made_up_builds import build, outlet, run, study_of

from gasdoc.catalog.joints import alike, thread
from gasdoc.catalog.parts import catalogue
from gasdoc.engineering.materials.written_ends import parse_end
from gasdoc.report.drawings.thread_words import pitch_words, thread_words, tight_words
from gasdoc.report.drawings.true_size import Style, TrueSize, drawing
from gasdoc.report.views.materials import true_size

PARTS = {part.id: part for part in catalogue().parts}


def drawn(part: str) -> TrueSize:
    return drawing(PARTS[part], "us")


def lines(of: TrueSize, style: Style = "pen") -> list[list[tuple[float, float]]]:
    """The places of every line of a style, mm."""
    found = []
    for path in re.findall(rf'<path class="true-{style}" d="M([^"]+)"/>', of.svg):
        x_y = [point.split(",") for point in path.split("L")]
        found.append([(float(x), float(y)) for x, y in x_y])
    return found


def span(of: TrueSize, axis: int) -> float:
    places = [point[axis] for line in lines(of) for point in line]
    return max(places) - min(places)


def test_a_nipple_is_as_long_as_its_name_says_and_as_wide_as_its_pipe() -> None:
    # ASME B1.20.1: 1/2 NPT is 0.840 in outside; 3 in is 76.2 mm.
    nipple = drawn("npt-nipple:1/2")
    assert span(nipple, 0) == pytest.approx(76.2, abs=0.05)
    assert span(nipple, 1) == pytest.approx(0.840 * 25.4, abs=0.05)
    assert nipple.missing == ()


@pytest.mark.parametrize(
    ("part", "apart"),
    [
        ("npt-nipple:1/2", 25.4 / 14),
        ("bspt-nipple:1/4", 25.4 / 19),
        ("flare-union:3/8", 25.4 / 18),
        ("ring-union:10", 1.5),
    ],
)
def test_turns_stand_apart_by_the_pitch(part: str, apart: float) -> None:
    teeth = max(lines(drawn(part)), key=len)
    assert len(teeth) > 6
    assert abs(teeth[0][0] - teeth[2][0]) == pytest.approx(apart, abs=0.02)


def test_a_taper_thread_grows_by_a_sixteenth() -> None:
    teeth = max(lines(drawn("bspt-nipple:1/2")), key=len)  # its crests do not reach the pipe's outside
    (x0, y0), (x1, y1) = teeth[1], teeth[-2 if len(teeth) % 2 else -1]
    assert abs(y1 - y0) / abs(x1 - x0) == pytest.approx(1 / 32, abs=0.002)


def test_an_npt_thread_is_as_deep_as_its_standard_has_it() -> None:
    # ASME B1.20.1: at most 0.8 of the pitch, which for 14 threads to the inch is 0.05714 in.
    teeth = max(lines(drawn("npt-nipple:1/2")), key=len)
    (_, root), (_, crest) = teeth[0], teeth[1]
    assert abs(crest - root) == pytest.approx(0.05714 * 25.4, abs=0.04)  # the crests rise by 1/32 from tooth to tooth


def test_the_thread_of_a_flare_fitting_and_its_cone() -> None:
    # SAE J512: 3/8 in tube has 5/8-18, with a cone of 45 degrees.
    union = drawn("flare-union:3/8")
    teeth = max(lines(union), key=len)
    middle = union.height / 2
    assert 2 * max(abs(y - middle) for _, y in teeth) == pytest.approx(0.625 * 25.4, abs=0.05)
    for (x0, y0), (x1, y1) in lines(union, "seal"):
        assert math.degrees(math.atan2(abs(y1 - y0), abs(x1 - x0))) == pytest.approx(45, abs=0.5)


def test_a_tee_has_its_faces_where_its_row_says() -> None:
    # ASME B16.3 class 150, 1-1/4: 1.75 in from the middle to each face.
    tee = drawn("npt-tee:1-1/4")
    assert span(tee, 0) == pytest.approx(2 * 1.75 * 25.4, abs=0.05)
    assert "from memory" not in " ".join(m.words for m in tee.measures)
    assert "from memory" in " ".join(m.words for m in drawn("npt-tee:1/2").measures)


def test_what_is_not_known_is_dashed_and_named() -> None:
    assert "its length" in drawn("npt-bushing:1/2 x 1/4").missing
    corrugated = drawing(PARTS["csst-tee:18"], "us")
    assert not corrugated.known
    assert not lines(corrugated)
    assert any("EHD is no length" in word for word in corrugated.missing)
    assert any("pitch" in word for word in drawn("qcc1-pigtail-npt:1/4").missing)


def test_a_nut_with_two_widths_is_not_drawn_to_either() -> None:
    nut = drawn("flare-nut:1/2")
    assert any("24 mm" in m.words and "26 mm" in m.words for m in nut.measures)
    assert "its width across flats, which differs" in nut.missing


def test_the_nut_of_a_low_pressure_hose_gets_tight_on_its_cone() -> None:
    end = parse_end("G 1/4 LH", "female")
    its = thread(end)
    assert its is not None
    assert "left-hand" in thread_words(end, its, "si")
    assert "no washer" in tight_words(end)
    assert "washer" in tight_words(parse_end("G 1/4", "female"))


def test_every_listed_part_can_be_drawn_inside_its_paper() -> None:
    for part in {(p.shape, *((end.kind, end.gender) for end in p.ends)): p for p in PARTS.values()}.values():
        found = drawing(part, "si")
        assert found.measures
        assert found.known or found.missing
        for style in ("pen", "soft", "seal", "measure"):
            for line in lines(found, style):
                assert all(0 <= x <= found.width and 0 <= y <= found.height for x, y in line), part.id


@pytest.mark.parametrize(
    ("end", "other"),
    [
        ("1/2 NPT", "R or G 1/2"),
        ("3/8 flare", "3/8 inverted flare"),
        ("1/2 flare", "1/2 flare, 37 degrees"),
        ("KLF", "G.1, G.4, G.12, GF"),
    ],
)
def test_threads_that_a_rule_does_not_tell_apart_are_named(end: str, other: str) -> None:
    assert other in [one.name for one in alike(parse_end(end, "male"))]


def test_a_thread_says_its_pitch_as_the_trade_does() -> None:
    for written, words in (("1 NPT", "11.5 threads to the inch"), ("M22x1.5", "1.5 mm from thread to thread")):
        its = thread(parse_end(written, "male"))
        assert its is not None
        assert pitch_words(its) == words


def test_every_part_of_a_build_and_every_thread_of_it_is_on_the_page() -> None:
    made = study_of(build(run("5 ft", material="copper", type="k"), outlet("Oven", "20 kBtu/h")))
    view = true_size.view(made)
    names = {held.name for held in view["fittings"]}
    threads = {pair.name for pair in view["pairs"]}
    for _, chain in made.fittings.chains():
        assert {part.name for part in chain.parts} <= names
        for end in (end for joint in chain.joints for end in (joint.a, joint.b)):
            its = thread(end)
            assert its is None or its.name in threads
    assert all(len(pair.drawn) == 2 for pair in view["pairs"])
