"""The line drawn: no words on words or on the line, every place in its order, lines on one another told apart."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree

import pytest
import yaml
from made_up_builds import Values, build, outlet, run, study_of, tee
from random_lines import RandomLine

from gasdoc.build.model.route import way
from gasdoc.report.line import draw, example, layout
from gasdoc.report.line.labels import LINE, wide
from gasdoc.report.line.layout import Piece
from gasdoc.report.line.sheet import letter, sheet
from gasdoc.report.views.supply import line
from gasdoc.study import Study

SVG = "{http://www.w3.org/2000/svg}"
COPPER = {"material": "copper", "type": "L"}
FOOT = 0.3048
Box = tuple[float, float, float, float]

TREES = [(seed, appliances) for appliances in (1, 3, 5, 6, 9) for seed in range(4)]


def figures(svg: str) -> list[ElementTree.Element]:
    """The figures of a drawing, without rose, legend and notes."""
    return [one for one in ElementTree.fromstring(svg) if one.tag == f"{SVG}g" and one.find(f"{SVG}text") is not None]


def boxes(figure: ElementTree.Element) -> list[tuple[str, Box]]:
    """Each line of words with the box it takes: from the middle of its foot, 10 px under its top."""
    found = []
    for one in figure.iter(f"{SVG}text"):
        words = one.text or ""
        half = wide(words) * (1.08 if one.get("class") == "strong" else 1.0) / 2
        x, y = float(one.get("x", "")), float(one.get("y", ""))
        found.append((words, (x - half, y - 10, x + half, y - 10 + LINE)))
    return found


def pipes(figure: ElementTree.Element) -> Iterator[tuple[float, float, float, float]]:
    for one in figure.iter(f"{SVG}path"):
        if one.get("class", "").startswith("pipe"):
            for ends in re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)", one.get("d", "")):
                ax, ay, bx, by = map(float, ends)
                yield ax, ay, bx, by


def over(one: Box, other: Box) -> bool:
    return min(one[2], other[2]) - max(one[0], other[0]) > 0.2 and min(one[3], other[3]) - max(one[1], other[1]) > 0.2


def meets(box: Box, pipe: tuple[float, float, float, float]) -> bool:
    """Whether a pipe passes through a box that is a cell smaller on each side."""
    ax, ay, bx, by = pipe
    steps = int(math.dist((ax, ay), (bx, by))) + 1
    return any(
        box[0] + 3 < ax + (bx - ax) * i / steps < box[2] - 3 and box[1] + 3 < ay + (by - ay) * i / steps < box[3] - 3
        for i in range(steps + 1)
    )


@pytest.mark.parametrize(("seed", "appliances"), TREES)
def test_no_words_lie_on_words_or_on_the_line(seed: int, appliances: int) -> None:
    made = RandomLine(seed, appliances).sheet()
    for drawn in (draw.isometric(made), draw.plan(made), draw.side(made)):
        for figure in figures(drawn.svg):
            words = boxes(figure)
            assert [(a, b) for (a, one), (b, other) in itertools.combinations(words, 2) if over(one, other)] == []
            if drawn.name == "isometric":
                assert [text for text, box in words for pipe in pipes(figure) if meets(box, pipe)] == []


def test_the_legend_stays_within_the_drawing() -> None:
    root = ElementTree.fromstring(example.example().svg)
    ends = [
        float(one.get("x", "")) + wide(one.text or "") for one in root.findall(f"{SVG}text[@y]") if not one.get("class")
    ]
    assert len(ends) > 5 and max(ends) <= float(root.get("width", ""))


def test_nearly_all_words_find_room() -> None:
    lost = [word for seed, many in TREES for word in draw.isometric(RandomLine(seed, many).sheet()).lost]
    assert len(lost) <= 1


@pytest.mark.parametrize(("seed", "appliances"), TREES)
def test_every_place_is_drawn_in_its_order_along_each_axis(seed: int, appliances: int) -> None:
    stretches = RandomLine(seed, appliances).sheet().stretches
    pieces = [Piece(s.tail, s.head, 1) for s in stretches]
    for axis in range(3):
        made = layout.Axis(pieces, axis)
        px = made.px()
        assert made.places == sorted(made.places) and px == sorted(px) and len(set(px)) == len(px)
        for piece in pieces:  # and no leg is shorter than 44 px and 19 for its sign
            ends = [made.of(px, end[axis]) for end in (piece.tail, piece.head)]
            if piece.tail[axis] != piece.head[axis]:
                assert abs(ends[1] - ends[0]) >= 63 - 1e-9


def test_the_warp_keeps_a_long_leg_longer_than_a_short_one() -> None:
    pieces = [Piece((0, 0, 0), (4 * FOOT, 0, 0), 0), Piece((4 * FOOT, 0, 0), (24 * FOOT, 0, 0), 0)]
    px = layout.Axis(pieces, 0).px()
    # 16 px times 4 and 20 to the power 0.7
    assert px == pytest.approx([0, 44, 44 + 16 * 20**0.7], abs=1)


def test_legs_on_one_another_are_parted_by_another_view_or_a_wider_gap() -> None:
    # Seen from one corner the leg up and the legs aft and left fall on one line; they do not meet in space.
    clashing = 0
    for seed, appliances in TREES:
        stretches = RandomLine(seed, appliances).sheet().stretches
        clashing += len(layout.isometric([Piece(s.tail, s.head, 0) for s in stretches]).clashes)
    assert clashing <= 2


def test_a_pipe_behind_another_is_broken_and_the_one_in_front_is_whole() -> None:
    # Two level legs at right angles, one 2 ft above the other: seen from above the lower one passes behind.
    laid = layout.Laid((((0.0, 0.0), (100.0, 0.0)), ((50.0, -50.0), (50.0, 50.0))), ((0.0, 0.0), (2.0, 2.0)), 0, ())
    assert layout.crossings(laid) == [(0, 0.5)]


def test_the_same_line_gives_the_same_drawing_and_an_unchanged_one_is_not_drawn_again() -> None:
    made = RandomLine(3, 6).sheet()
    first = draw.isometric(made)
    assert draw.isometric(RandomLine(3, 6).sheet()) is first
    draw.isometric.cache_clear()
    assert draw.isometric(made) == first


def test_a_level_with_nothing_between_has_a_plan_of_its_own() -> None:
    low = {"run": COPPER | {"legs": ["4 ft aft", "9 ft up", "3 ft left"]}}
    made = sheet(study_of(build(low, outlet("Oven", "9 kBtu/h"))))
    drawn = draw.plan(made)
    assert len(figures(drawn.svg)) == 2
    assert "Below 4.5 ft" in drawn.svg and "Above 4.5 ft" in drawn.svg


# --- of a build -----------------------------------------------------------------------------------------------------


def legged(*legs: object, **more: object) -> Values:
    return {"run": COPPER | {"legs": list(legs)} | more}


@pytest.fixture(scope="module")
def study() -> Study:
    return study_of(
        build(
            legged("1 ft up", {"leg": "4 ft aft", "through": "wall"}, id="trunk"),
            {"valve": {"id": "main"}},
            tee(
                [run("5 ft", id="spur"), outlet("Lamp", "2 kBtu/h")],
                [
                    legged("2 ft left", {"leg": "1 ft left", "loop": "40 in"}, id="line"),
                    outlet("Oven", "9 kBtu/h", connector={"length": "3 ft", "legs": ["2 ft up"]}),
                ],
            ),
        )
    )


def test_all_that_is_needed_to_draw_the_line_again_stands_in_the_table(study: Study) -> None:
    rows = {row["id"]: row["cells"] for row in line.view(study)["rows"]}
    trunk = rows["run-trunk"]
    assert trunk[:3] == ["A: line to the main valve", "first regulator", "main valve"]
    assert trunk[3] == "1 ft up, 4 ft aft (through the wall)"
    assert trunk[5] == "1" and trunk[9].startswith("#")
    assert rows["run-line"][3] == "2 ft left, 1 ft left (in a loop 40 in long)"
    assert rows["run-spur"][3] == "route not measured"
    assert line.view(study)["connectors"] == [["Oven", "2 ft up"]]


def test_a_run_without_legs_is_dashed_and_named(study: Study) -> None:
    view = line.view(study)
    assert view["not_measured"] == ("spur",)
    drawn = view["drawings"][0]["svg"]
    assert 'class="pipe open"' in drawn and "route not measured" in drawn


def test_the_figures_are_those_the_builder_wrote(study: Study) -> None:
    words = [text for text, _ in boxes(figures(line.view(study)["drawings"][0]["svg"])[0])]
    assert {"1 ft", "4 ft", "2 ft", "40 in", "wall", "Oven", "Lamp"} <= set(words)


def test_a_drawing_has_a_title_and_a_description_and_claims_no_standard(study: Study) -> None:
    for drawn in line.view(study)["drawings"]:
        root = ElementTree.fromstring(drawn["svg"])
        title, about = root[0], root[1]
        assert root.get("role") == "img" and root.get("aria-labelledby") == f"{title.get('id')} {about.get('id')}"
        assert "no standard is claimed for their shapes" in " ".join(root.itertext())


def test_each_drawing_is_a_file_that_follows_light_and_dark(study: Study) -> None:
    files = {asset.uri: asset.content.decode() for asset in line.files(study)}
    assert list(files) == ["test-hut/isometric.svg", "test-hut/plan.svg", "test-hut/side.svg"]
    assert all("prefers-color-scheme:dark" in text for text in files.values())
    assert all(ElementTree.fromstring(text).tag == f"{SVG}svg" for text in files.values())


def test_a_build_without_legs_has_no_drawing_but_the_table() -> None:
    bare = study_of(build(run("5 ft", id="spur", **COPPER), outlet("Lamp", "2 kBtu/h")))
    view = line.view(bare)
    assert view["drawings"] == [] and line.files(bare) == []
    assert view["rows"][0]["cells"][3] == "route not measured"


def test_runs_have_letters() -> None:
    assert [letter(i) for i in (0, 25, 26, 27, 52)] == ["A", "Z", "AA", "AB", "BA"]


def test_the_example_on_the_measuring_sheet_is_what_its_text_says() -> None:
    head = yaml.safe_load(example.TEXT)
    burner = outlet("Burner", "9 kBtu/h", connector={"legs": ["1 ft up"]})
    made = [s for s in study_of(build(legged(*head["legs"]), burner)).route.stretches if not s.connector]
    assert [stretch.vector for stretch in made] == [pytest.approx(way(text).vector, abs=1e-5) for text in example.LEGS]
    assert [stretch.passages[0].share for stretch in made if stretch.passages] == [example.THROUGH[1].share]
    assert "wall" in example.example().svg and "14 in" in example.example().svg


def test_what_has_a_place_stands_in_plan_and_table_as_it_is_written() -> None:
    more: Values = {
        "container": {"at": ["1 ft", "0 ft", "2 ft"]},
        "openings": [{"kind": "hatch", "at": ["5 ft", "30 in", "6 ft"]}],
    }
    made = study_of(build(legged("4 ft aft"), outlet("Oven", "9 kBtu/h", at=["6 ft", "0 ft", "2 ft"]), **more))
    view = line.view(made)
    assert view["places"] == [
        ["outlet of the regulator", "container", "1 ft", "0 ft", "2 ft"],
        ["hatch", "hatch", "5 ft", "30 in", "6 ft"],
        ["Oven", "appliance", "6 ft", "0 ft", "2 ft"],
    ]
    assert "hatch" in [text for figure in figures(view["drawings"][1]["svg"]) for text, _ in boxes(figure)]


def test_legs_that_lie_in_one_another_are_drawn_beside_one_another() -> None:
    ways = tee(
        [legged("3 ft aft"), outlet("Lamp", "2 kBtu/h")], [legged("3 ft aft"), outlet("Oven", "9 kBtu/h")], id="here"
    )
    made = sheet(study_of(build(legged("4 ft right"), ways)))
    for drawn in (draw.isometric(made), draw.plan(made)):
        lines = [pipe for figure in figures(drawn.svg) for pipe in pipes(figure)]
        ends = [((a, b), (c, d)) for a, b, c, d in lines]
        assert len(ends) > 3 and layout.on_one_another(ends, touch=3.9) == []
