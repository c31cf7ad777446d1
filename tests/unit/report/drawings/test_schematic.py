"""The drawing of a supply tree: its DOT text, the parsed SVG, and the outline beside it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from places import ROOT
from properties import tries

from gasdoc.machine import programs
from gasdoc.report.drawings import schematic
from gasdoc.report.drawings.schematic import (
    Box,
    Drawing,
    Edge,
    RendererMissing,
    RenderFailed,
    dot,
    finish,
    render,
    text_alternative,
)

SVG = "{http://www.w3.org/2000/svg}"

HUT = Drawing(
    name="larch-hut",
    title="Supply tree of Larch hut",
    description="Two cylinders, a regulator and three appliances.",
    nodes=(
        Box("cylinders", "container", ("Two 100 lb cylinders",)),
        Box("regulator", "regulator", ("Twin-stage regulator", "11 in w.c.")),
        Box("tee-1", "junction", ("Tee 1",)),
        Box("tee-2", "junction", ("Tee 2",)),
        Box("range", "outlet", ("Range", "48 kBtu/h")),
        Box("heater", "outlet", ("Heater",)),
        Box("lamp", "outlet", ("Lamp",)),
    ),
    edges=(
        Edge("cylinders", "regulator", ("two pigtails",)),
        Edge("regulator", "tee-1", ("3/4 in OD copper L", "6 ft")),
        Edge("tee-1", "tee-2", ("5/8 in OD copper L", "4 ft"), "warning"),
        Edge("tee-1", "range", ("1/2 in OD copper L", "9 ft"), "error"),
        Edge("tee-2", "heater", ()),
        Edge("tee-2", "lamp", ("3/8 in OD copper L",)),
    ),
)


def pair(text: str, run: str = "run", name: str = "pair") -> Drawing:
    """A container with `text` in it feeding one outlet."""
    return Drawing(
        name, text, text, (Box("a:n", "container", (text,)), Box("b", "outlet", (text,))), (Edge("a:n", "b", (run,)),)
    )


def star(outlets: int) -> Drawing:
    nodes = [Box("c", "container", ("Cylinder",)), Box("m", "junction", ("Manifold",))]
    nodes += [Box(f"o{i}", "outlet", (f"Outlet {i}", "20 kBtu/h")) for i in range(outlets)]
    edges = [Edge("c", "m", ("1 in steel", "3 ft"))]
    edges += [Edge("m", f"o{i}", ("1/2 in OD copper L", "9 ft", "20 kBtu/h")) for i in range(outlets)]
    return Drawing("star", "Star", "A manifold.", tuple(nodes), tuple(edges))


def drawn(drawing: Drawing) -> str:
    return finish(render([dot(drawing)])[0], drawing)


def texts(svg: str) -> list[str]:
    return ["".join(element.itertext()) for element in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def group(svg: str, text: str) -> ElementTree.Element:
    """The group in which `text` is drawn."""
    for element in ElementTree.fromstring(svg).iter(f"{SVG}g"):
        if any(child.text == text for child in element.findall(f"{SVG}text")):
            return element
    raise AssertionError(f"'{text}' is not drawn")


def middle(svg: str, text: str) -> tuple[float, float]:
    for element in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        if element.text == text:
            return float(element.attrib["x"]), float(element.attrib["y"])
    raise AssertionError(f"'{text}' is not drawn")


def outline_rows(outline: list[schematic.Outline], depth: int = 0) -> Iterator[tuple[int, str]]:
    for text, below in outline:
        yield depth, text
        yield from outline_rows(list(below), depth + 1)


def test_every_fact_is_drawn_once() -> None:
    facts = [line for node in HUT.nodes for line in node.lines]
    facts += [line for edge in HUT.edges for line in (*edge.lines, edge.mark) if line]
    assert sorted(texts(drawn(HUT))) == sorted(facts)


def test_boxes_and_runs_are_drawn_in_tree_order_from_the_top() -> None:
    svg = drawn(HUT)
    order = [
        "Two 100 lb cylinders",
        "two pigtails",
        "Twin-stage regulator",
        "3/4 in OD copper L",
        "Tee 1",
        "1/2 in OD copper L",
        "Range",
        "5/8 in OD copper L",
        "Tee 2",
        "Heater",
        "3/8 in OD copper L",
        "Lamp",
    ]
    heights = [middle(svg, text)[1] for text in order]
    assert heights == sorted(heights) and len(set(heights)) == len(heights)


def test_the_main_line_is_straight_and_branches_hang_to_its_right() -> None:
    svg = drawn(HUT)
    main = {middle(svg, text)[0] for text in ("Two 100 lb cylinders", "Twin-stage regulator", "Tee 1", "Tee 2", "Lamp")}
    assert max(main) - min(main) < 0.2  # numbers are written to a tenth of a point
    assert middle(svg, "Range")[0] > max(main) + 40
    assert middle(svg, "Heater")[0] > max(main) + 40


def test_a_line_joins_each_run_and_box() -> None:
    paths = re.findall('<path (?!class="symbol")', drawn(HUT))
    # Two for a run with text, one for a run without, one for each branch point (tee 1 and tee 2 have one each).
    assert len(paths) == 5 * 2 + 1 + 2


def test_arrows_point_at_each_box_that_is_fed() -> None:
    svg = ElementTree.fromstring(drawn(HUT))
    lines = [g for g in svg.iter(f"{SVG}g") if g.attrib.get("class", "").startswith("edge")]
    assert sum(g.find(f"{SVG}polygon") is not None for g in lines) == len(HUT.edges)


def test_kinds_and_marks_are_classes_and_a_mark_is_a_word_too() -> None:
    svg = drawn(HUT)
    assert "node-regulator" in group(svg, "11 in w.c.").attrib["class"].split()
    assert "node-outlet" in group(svg, "Range").attrib["class"].split()
    bad = group(svg, "1/2 in OD copper L")
    assert {"run", "edge-error"} <= set(bad.attrib["class"].split())
    assert [child.text for child in bad] == ["1/2 in OD copper L", "9 ft", "error"]
    assert {"run", "edge-warning"} <= set(group(svg, "5/8 in OD copper L").attrib["class"].split())
    assert group(svg, "3/4 in OD copper L").attrib["class"].split() == ["node", "run"]
    assert svg.count('class="edge edge-error"') == 2 and svg.count('class="edge edge-warning"') == 2


def test_the_svg_is_named_for_screen_readers_and_its_parts_are_not() -> None:
    svg = ElementTree.fromstring(drawn(HUT))
    assert svg.attrib["role"] == "img"
    assert [child.tag for child in svg[:2]] == [f"{SVG}title", f"{SVG}desc"]
    assert svg[0].text == HUT.title and svg[1].text == HUT.description
    assert svg.attrib["aria-labelledby"].split() == [svg[0].attrib["id"], svg[1].attrib["id"]]
    assert len(list(svg.iter(f"{SVG}title"))) == 1


def test_the_svg_takes_colour_and_size_from_the_page() -> None:
    svg = drawn(HUT)
    assert "<!" not in svg and "<?" not in svg and "black" not in svg and "#0" not in svg and "\n" not in svg
    for element in ElementTree.fromstring(svg).iter():
        assert not {"style", "width", "height", "href"} & {name.rpartition("}")[2] for name in element.attrib}
        assert element.tag != f"{SVG}a"
        if element.tag == f"{SVG}text":
            assert element.attrib["fill"] == "currentColor"
        if element.tag in (f"{SVG}path", f"{SVG}polygon", f"{SVG}ellipse"):
            assert element.attrib["stroke"] == "currentColor"


def test_ids_are_unique_on_a_page_of_two_drawings() -> None:
    ids = re.findall(r' id="([^"]*)"', drawn(HUT) + drawn(pair("x")))
    assert len(ids) > 10 and len(set(ids)) == len(ids)


@pytest.mark.parametrize(("one", "other"), [("a b", "a_b"), ("a_20_b", "a b"), ("é", "e"), ("a/b", "a-b")])
def test_different_names_give_different_ids(one: str, other: str) -> None:
    ids = [set(re.findall(r' id="([^"]*)"', drawn(pair("x", name=name)))) for name in (one, other)]
    assert not ids[0] & ids[1]
    assert all(re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]*", id_) for id_ in ids[0] | ids[1])


@pytest.mark.parametrize("outlets", [5, 12, 40])
def test_a_manifold_fits_a_phone_however_many_outlets_it_has(outlets: int) -> None:
    svg = ElementTree.fromstring(drawn(star(outlets)))
    width = float(svg.attrib["viewBox"].split()[2])
    # Text of 11 px or more when the drawing is 358 px wide.
    assert float(svg.attrib["font-size"]) * 358 / width >= 11


def test_nothing_is_drawn_outside_the_view() -> None:
    svg = ElementTree.fromstring(drawn(star(12)))
    left, top, width, height = (float(part) for part in svg.attrib["viewBox"].split())
    shift = re.search(r"translate\(([\d.-]+)[ ,]([\d.-]+)\)", svg[2].attrib["transform"])
    assert shift is not None
    dx, dy = float(shift[1]), float(shift[2])
    corners = [pair.split(",") for polygon in svg.iter(f"{SVG}polygon") for pair in polygon.attrib["points"].split()]
    assert len(corners) > 50
    for x, y in corners:
        assert left <= float(x) + dx <= left + width and top <= float(y) + dy <= top + height


def test_boxes_leave_room_for_a_wide_sans_serif_font() -> None:
    # DejaVu Sans, the widest common fallback, has digits of 1303/2048 em (the font's own hmtx table).
    digits = "0123456789012345678901"
    box = group(drawn(pair(digits)), digits).find(f"{SVG}polygon")
    assert box is not None
    xs = [float(corner.split(",")[0]) for corner in box.attrib["points"].split()]
    assert max(xs) - min(xs) >= 22 * 12 * 1303 / 2048


# --- the wide layout --------------------------------------------------------------------------------------------------


def widely(drawing: Drawing, *, links: bool = False) -> str:
    return finish(render([dot(drawing, wide=True)])[0], drawing, wide=True, links=links)


def tees(outlets: int) -> Drawing:
    """A main line with an outlet at each tee, as long as real text makes it."""
    run = ("line to the galley tee", "5/8 in OD copper L", "12 ft", "126 kBtu/h", "2 bends", "joints 10-12")
    last = ("Room heater", "shut-off", "connector 36 in", "14 kBtu/h", "10.9 inH2O", "joints 15-19")
    nodes = [Box("c", "container", ("2 x 100-lb cylinder", "changeover", "joints 1-3"))]
    edges = []
    before = "c"
    for i in range(outlets - 1):
        nodes += [Box(f"t{i}", "junction", ("galley tee", "10.9 inH2O", "joint 13")), Box(f"o{i}", "appliance", last)]
        edges += [Edge(before, f"t{i}", run), Edge(f"t{i}", f"o{i}", run)]
        before = f"t{i}"
    return Drawing(
        "tees", "T", "D", (*nodes, Box("end", "appliance", last)), (*edges, Edge(before, "end", run)), "foot"
    )


def test_nine_appliances_fit_one_printed_sheet_in_letters_that_can_be_read() -> None:
    """A sheet leaves 180 mm across and 186 mm down; letters of 7 points are those of a footnote."""
    _, _, width, height = map(float, ElementTree.fromstring(widely(tees(9))).attrib["viewBox"].split())
    scale = min(180 / 25.4 * 72 / width, 186 / 25.4 * 72 / height)
    assert 12 * scale >= 7


def test_the_wide_layout_has_every_fact_of_the_narrow_one() -> None:
    both = [sorted(", ".join(texts(svg)).split(", ")) for svg in (widely(tees(4)), drawn(tees(4)))]
    assert both[0] == both[1]


def test_a_branch_lies_on_the_level_it_leaves_at() -> None:
    svg = widely(HUT)
    assert abs(middle(svg, "Lamp")[1] - middle(svg, "3/8 in OD copper L")[1]) < 12
    assert middle(svg, "3/8 in OD copper L")[0] < middle(svg, "Lamp")[0]
    assert abs(middle(svg, "Tee 2")[1] - middle(svg, "Heater")[1]) < 12
    assert middle(svg, "Heater")[0] > middle(svg, "Tee 2")[0]


def test_the_main_line_passes_a_long_branch_on_its_left() -> None:
    nodes = [Box(i, "junction", (i,)) for i in ("root", "tee", "valve", "far", "end", "last")]
    edges = [
        Edge("root", "tee", ("run",)),
        Edge("tee", "valve", ()),
        Edge("valve", "far", ("long run",)),
        Edge("tee", "end", ("trunk",)),
        Edge("end", "last", ()),
        Edge("last", "more", ()),
    ]
    svg = widely(Drawing("past", "t", "d", (*nodes, Box("more", "outlet", ("more",))), tuple(edges)))
    spine = [middle(svg, text)[0] for text in ("root", "tee", "end", "last", "more")]
    assert max(spine) - min(spine) < 0.2
    assert min(middle(svg, text)[0] for text in ("valve", "long run", "far")) > max(spine) + 20


def test_the_two_layouts_can_stand_on_one_page() -> None:
    ids = re.findall(r' id="([^"]*)"', drawn(HUT) + widely(HUT))
    assert len(set(ids)) == len(ids)


def test_boxes_and_runs_lead_where_the_drawing_says_and_then_are_no_picture() -> None:
    nodes = (Box("c", "container", ("Cylinder",), "container"), Box("o", "appliance", ("Lamp",)))
    drawing = Drawing("links", "t", "d", nodes, (Edge("c", "o", ("line to Lamp",), "", "supply#lamp-line"),))
    linked, plain = widely(drawing, links=True), widely(drawing)
    assert re.findall(r'<a href="([^"]*)"', linked) == ["container", "supply#lamp-line"]
    assert 'role="group"' in linked and "<a " not in plain and 'role="img"' in plain


def test_each_kind_has_a_symbol_of_its_own_and_text_leaves_it_room() -> None:
    assert len(set(schematic.SYMBOLS.values())) == len(schematic.SYMBOLS)
    box = group(drawn(pair("x" * 22)), "x" * 22)
    symbol = next(path for path in box.iter(f"{SVG}path") if path.get("class") == "symbol")
    at = float(symbol.attrib["transform"].removeprefix("translate(").split()[0])
    text = next(box.iter(f"{SVG}text"))
    assert at + 9 < float(text.attrib["x"]) - 22 * 12 * 0.55 / 2  # a sans-serif x is about half as wide as high


def test_the_foot_stands_below_everything() -> None:
    svg = widely(tees(2))
    assert middle(svg, "foot")[1] > max(middle(svg, text)[1] for text in texts(svg) if text != "foot")


def test_long_names_wrap_and_are_cut_off_but_stand_in_the_outline() -> None:
    name = "Radiant heater on the north wall of the lower bay beside the workbench and the door"
    rows = group(drawn(pair(name, name)), "Radiant heater on the").findall(f"{SVG}text")
    assert [row.text for row in rows] == ["Radiant heater on the", "north wall of the", "lower bay beside the…"]
    assert text_alternative(pair(name))[0][0] == name


def test_one_long_word_is_broken() -> None:
    assert texts(drawn(pair("a" * 50, "")))[:3] == ["a" * 22, "a" * 22, "a" * 6]


def test_wide_letters_take_two_columns() -> None:
    assert texts(drawn(pair("貯" * 15, "")))[:2] == ["貯" * 11, "貯" * 4]


def test_text_is_bounded_whatever_it_is_made_of() -> None:
    accents = "a" + "\u0301" * 50_000
    assert len(drawn(pair(accents, accents))) < 60_000 + len(accents) * 2  # title and description are kept whole


HOSTILE = [
    "<b>",
    "<b>bold</b>",
    "<>",
    "</svg><script>alert(1)</script>",
    "]]>",
    "<!-- x -->",
    "&amp;",
    "&",
    "&frac12;",
    "&#65;",
    'say "hi"',
    "it's",
    "back\\slash",
    "\\",
    "\\\\",
    "\\N",
    "\\n\\l\\G",
    "½ × 3 ≈ é",
    "貯蔵",
    "node\u200b",
    "{{ 7*7 }}",
    "{% raw %}",
    "{# x #}",
    "a -> b;",
    "}",
    "label=x];",
    "a:n",
    "/* x */",
    "// x",
    "# x",
    "graph",
    "strict",
    "-5",
    "%s",
    "$x$",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_drawn_letter_by_letter(text: str) -> None:
    drawing = pair(text, text, name=text)
    svg = drawn(drawing)
    assert "".join(texts(svg)).replace(" ", "") == text.replace(" ", "") * 3
    root = ElementTree.fromstring(svg)
    assert root[0].text == text and root[1].text == text
    assert {element.tag for element in root.iter()} <= {
        f"{SVG}{tag}" for tag in ("svg", "title", "desc", "g", "polygon", "path", "text", "ellipse")
    }


@tries(60)
@given(st.text(max_size=30), st.text(max_size=30), st.text(max_size=10))
@example("\x00\x1b\ud800\ufffe", "\n\n", "")
@example("<", ">", "\\")
def test_any_text_gives_well_formed_svg_with_that_text(text: str, run: str, name: str) -> None:
    drawing = pair(text, run, name)
    svg = drawn(drawing)

    def legible(wanted: str) -> str:  # what XML cannot hold is replaced; blanks may become breaks between rows
        return "".join(re.sub(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", wanted).split())

    expected = (legible(text) or "container") + legible(run) + (legible(text) or "outlet")
    assert "".join("".join(texts(svg)).split()) == expected


def test_the_same_drawing_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "from gasdoc.report.drawings.schematic import *\n"
        "nodes = (Box('a', 'container', ('A',)), Box('b', 'outlet', ('B',)))\n"
        "d = Drawing('p', 't', 'd', nodes, (Edge('a', 'b', ('r',)),))\n"
        "print(finish(render([dot(d)])[0], d))"
    )
    outputs = {
        subprocess.run(
            [sys.executable, "-c", code],
            env=os.environ | {"PYTHONHASHSEED": seed},
            check=True,
            capture_output=True,
            cwd=ROOT,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(outputs) == 1


def test_many_drawings_come_back_in_order_from_one_call(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[object] = []
    run = subprocess.run

    def counted(*args: Any, **options: Any) -> Any:
        calls.append(args)
        return run(*args, **options)

    monkeypatch.setattr(subprocess, "run", counted)
    drawings = [pair(f"Box {i}", name=f"d{i}") for i in range(30)]
    svgs = render([dot(drawing) for drawing in drawings])
    assert [texts(svg)[0] for svg in svgs] == [f"Box {i}" for i in range(30)]
    assert len(calls) == 1


def test_no_drawings_need_no_renderer() -> None:
    assert render([], engine="no-such-program") == []


def test_a_missing_renderer_is_named_with_the_command_that_installs_one(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(RendererMissing, match="'no-such-program'.*pip install graphviz-pure"):
        render([dot(HUT)], engine="no-such-program")
    monkeypatch.setenv("GASDOC_DOT", "/no/such/dot")
    with pytest.raises(RendererMissing, match="/no/such/dot"):
        render([dot(HUT)])
    monkeypatch.delenv("GASDOC_DOT")
    monkeypatch.setattr(programs, "find", lambda name: None)
    with pytest.raises(RendererMissing, match="pip install graphviz-pure"):
        render([dot(HUT)])


def test_the_packages_program_is_found_off_the_path(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A command that is called by its path, as the README calls it, need not have its neighbours on PATH."""
    monkeypatch.delenv("GASDOC_DOT", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "Tee 1" in render([dot(HUT)])[0]


def test_without_the_package_a_program_on_the_path_draws(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("GASDOC_DOT", raising=False)
    monkeypatch.setattr(metadata.Distribution, "discover", lambda **_: iter(()))
    monkeypatch.setattr(programs, "find", lambda name: f"/somewhere/{name}" if name == "dot" else None)
    with pytest.raises(RendererMissing, match="/somewhere/dot cannot be run"):
        render([dot(HUT)])


@pytest.mark.skipif(os.name == "nt", reason="the stand-in is a shell script")
def test_the_renderer_named_by_the_environment_is_used(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    program = tmp_path / "draw"
    program.write_text("#!/bin/sh\necho '<?xml version=\"1.0\"?><svg>mine</svg>'\n")
    program.chmod(0o755)
    monkeypatch.setenv("GASDOC_DOT", str(program))
    assert "mine" in render([dot(HUT)])[0]


def test_what_the_renderer_says_is_passed_on() -> None:
    with pytest.raises(RenderFailed, match="syntax error"):
        render([dot(HUT), "digraph { a -> [ }"])


def test_a_renderer_that_draws_too_little_has_failed() -> None:
    with pytest.raises(RenderFailed, match="drew 1 of 2"):
        render([dot(HUT), ""])


def test_the_outline_has_every_fact_in_the_drawings_order() -> None:
    assert list(outline_rows(text_alternative(HUT))) == [
        (0, "Two 100 lb cylinders"),
        (1, "Twin-stage regulator, 11 in w.c.; fed by two pigtails"),
        (2, "Tee 1; fed by 3/4 in OD copper L, 6 ft"),
        (3, "Range, 48 kBtu/h; fed by 1/2 in OD copper L, 9 ft (error)"),
        (3, "Tee 2; fed by 5/8 in OD copper L, 4 ft (warning)"),
        (4, "Heater"),
        (4, "Lamp; fed by 3/8 in OD copper L"),
    ]


def test_a_box_without_lines_says_what_it_is() -> None:
    drawing = Drawing("d", "t", "d", (Box("a", "container", ()), Box("b", "valve", ("",))), (Edge("a", "b", ()),))
    assert texts(drawn(drawing)) == ["container", "valve"]
    assert list(outline_rows(text_alternative(drawing))) == [(0, "container"), (1, "valve")]


A, B, C = (Box(id_, "junction", ()) for id_ in "abc")


@pytest.mark.parametrize(
    ("nodes", "edges", "message"),
    [
        ((A, A), (), "same id"),
        ((A,), (Edge("a", "z", ()),), "'z'"),
        ((A, B, C), (Edge("a", "c", ()), Edge("b", "c", ())), "two edges"),
        ((A, B), (), "one tree"),
        ((A, B), (Edge("a", "b", ()), Edge("b", "a", ())), "one tree"),
        ((A, B, C), (Edge("b", "c", ()), Edge("c", "b", ())), "one tree"),
        ((), (), "one tree"),
    ],
)
def test_what_is_not_one_tree_is_refused(nodes: tuple[Box, ...], edges: tuple[Edge, ...], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        Drawing("d", "t", "d", nodes, edges)


def test_a_long_chain_is_drawn() -> None:
    nodes = tuple(Box(str(i), "junction", (f"Tee {i}",)) for i in range(150))
    edges = tuple(Edge(str(i), str(i + 1), ("6 ft",)) for i in range(149))
    assert len(texts(drawn(Drawing("chain", "t", "d", nodes, edges)))) == 299
