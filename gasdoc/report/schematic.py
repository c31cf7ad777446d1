"""The drawing of a supply tree as inline SVG, and the same facts as a nested list.

One layout serves phone and desk: the main line runs straight down on the left, branches hang to its right, and each
item has a level of its own. The picture is so about two boxes wide, however many outlets there are, and needs no
shrinking at 358 px. A run's text stands in its line, not beside it, so that it cannot be read as another run's.
"""

from __future__ import annotations

import itertools
import os
import re
import subprocess
import unicodedata
from collections.abc import Iterator, Sequence
from importlib import metadata
from typing import Literal, TypeAlias
from xml.etree import ElementTree

import graphviz
from msgspec import Struct

from gasdoc.machine import programs

NodeKind: TypeAlias = Literal["container", "regulator", "junction", "valve", "tap", "outlet", "appliance"]
Mark: TypeAlias = Literal["", "error", "warning"]

Outline: TypeAlias = "tuple[str, tuple[Outline, ...]]"
"""A text, and the texts one level below it."""

INSTALL = "python -m pip install graphviz-pure"
"""The command that installs a renderer."""

_COLUMNS = 22  # letters in a row of text
_ROWS = 3  # rows that one line of text may take; the outline has the full text
_FONT_SIZE = 12.0  # points, which are the SVG's user units
_COLUMN_WIDTH = 7.0  # points: room per letter that also holds the wider sans-serif fonts
_LEAST_WIDTH = 320.0  # points: small drawings get margins, so that their text is as large as that of other drawings
_SECONDS_PER_100 = 60  # guards against a renderer that hangs; 100 drawings take well under a second

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_DRAWN = ("ellipse", "g", "path", "polygon", "polyline", "text")
_KEPT = ("id", "class", "cx", "cy", "d", "points", "rx", "ry", "stroke-width", "transform", "x", "y")


class Node(Struct, frozen=True):
    """One box: what it is, and the lines of text in it."""

    id: str
    kind: NodeKind
    lines: tuple[str, ...]


class Edge(Struct, frozen=True):
    """One run from node `tail` to node `head`: the lines of text on it, and how bad the worst finding about it is."""

    tail: str
    head: str
    lines: tuple[str, ...]
    mark: Mark = ""


class Drawing(Struct, frozen=True):
    """A supply tree to draw. `name` is unique on its page; `title` and `description` are read out for the picture.

    Raises ValueError unless the edges join all nodes into one tree.
    """

    name: str
    title: str
    description: str
    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]

    def __post_init__(self) -> None:
        ids = {node.id for node in self.nodes}
        heads = {edge.head for edge in self.edges}
        if len(ids) != len(self.nodes):
            raise ValueError("two nodes have the same id")
        if unknown := sorted((heads | {edge.tail for edge in self.edges}) - ids):
            raise ValueError(f"an edge ends at '{unknown[0]}', which is no node")
        if len(heads) != len(self.edges):
            raise ValueError("a node is fed by two edges")
        if len(ids) != len(self.edges) + 1 or len(list(_walk(self))) != len(ids):
            raise ValueError("the edges do not join all nodes into one tree")


class RendererMissing(Exception):
    """No program was found that turns DOT text into SVG, or it does not work; the message has the command that installs one."""


class RenderFailed(Exception):
    """The renderer did not do its work; the message has what it said."""


def dot(drawing: Drawing) -> str:
    """The drawing as DOT text: nodes in tree order, ids that begin with the drawing's name, classes for CSS.

    Classes: `node-` and the node's kind on boxes; `run` on the text of a run; `branch` on the points where branches
    leave the main line; `edge-error` or `edge-warning` on the lines and the text of a marked run.
    """
    prefix = _prefix(drawing)
    graph = graphviz.Digraph(
        prefix,
        graph_attr={
            "id": f"{prefix}-tree",
            "bgcolor": "transparent",
            "nodesep": "0.2",
            "ranksep": "0.12",
            "ordering": "out",
        },
        node_attr={
            "shape": "box",
            "fontname": "Arial",
            "fontsize": f"{_FONT_SIZE:g}",
            "margin": "0.1,0.06",
            "height": "0",
        },
        edge_attr={"arrowhead": "none", "arrowsize": "0.6"},
    )
    levels: list[str] = []  # each of these items has a level of its own, from the top down
    main_line: list[tuple[str, str, dict[str, str]]] = []
    branches: list[tuple[str, str, dict[str, str]]] = []
    ends: dict[str, str] = {}  # the item below which the next edge out of a node starts

    def place(item: str, label: str, classes: str, **attributes: str) -> None:
        graph.node(item, label, id=item, **{"class": classes}, **attributes)
        levels.append(item)

    for number, (node, edge, last) in enumerate(_walk(drawing)):
        box = f"{prefix}-n{number}"
        if edge is not None:
            start = ends[edge.tail]
            mark = f"edge-{edge.mark}" if edge.mark else ""
            marked = {"class": mark, "penwidth": "2"} if mark else {}
            if not last:
                point = f"{prefix}-b{number}"
                place(point, "", "branch", shape="point", width="0.08")
                main_line.append((start, point, {"tailport": "s", "headport": "n"}))
                ends[edge.tail] = start = point
            lines = main_line if last else branches
            rows = _rows([*edge.lines, edge.mark])
            if rows:
                text = f"{prefix}-r{number}"
                place(text, _label(rows), f"run {mark}".strip(), shape="plaintext", width=_width(rows), margin="0,0.03")
                lines.append((start, text, {"headport": "n"} | marked))
                start, lines = text, main_line
            lines.append((start, box, {"headport": "n", "arrowhead": "normal"} | marked))
        rows = _rows(node.lines) or [node.kind]
        place(box, _label(rows), f"node-{node.kind}", width=_width(rows, 16))
        ends[node.id] = box
    # Heavy edges are drawn straight; of the edges out of one item, the first goes to the left.
    for tail, head, attributes in main_line:
        graph.edge(tail, head, weight="100", **attributes)
    for tail, head, attributes in branches:
        graph.edge(tail, head, **attributes)
    joined = {(tail, head) for tail, head, _ in main_line + branches}
    for above, below in itertools.pairwise(levels):
        if (above, below) not in joined:
            graph.edge(above, below, style="invis", weight="0")
    return str(graph.source)


def render(dots: Sequence[str], engine: str | None = None) -> list[str]:
    """The SVG document of each DOT text, in order, by one call of the renderer.

    The renderer is `engine`, or the environment's GASDOC_DOT, or `graphviz-pure` as pip installed it or on PATH, or
    `dot` on PATH. Raises RendererMissing when there is none, RenderFailed when it fails.
    """
    if not dots:
        return []
    program = _find(engine)
    hundreds = -(-len(dots) // 100)
    try:
        done = subprocess.run(
            [program, "-q", "-Tsvg"],
            input="\n".join(dots).encode(),
            capture_output=True,
            timeout=_SECONDS_PER_100 * hundreds,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise RenderFailed(f"{program} did not finish within {_SECONDS_PER_100 * hundreds} s") from None
    except OSError as error:
        raise RendererMissing(f"{program} cannot be run ({error.strerror}); install one with: {INSTALL}") from error
    said = done.stderr.decode(errors="replace").strip()
    if done.returncode != 0:
        raise RenderFailed(f"{program} failed: {said or f'exit code {done.returncode}'}")
    svgs = re.findall(r"<\?xml.*?</svg>", done.stdout.decode(errors="replace"), re.DOTALL)
    if len(svgs) != len(dots):
        raise RenderFailed(f"{program} drew {len(svgs)} of {len(dots)} drawings: {said}")
    return svgs


def works() -> None:
    """Nothing, where the renderer draws a single box. Raises RendererMissing, with what it said, where it does not even that:
    then it is the program that fails, and no spec."""
    box = Drawing("box", "A box", "One box.", (Node("box", "valve", ("box",)),), ())
    try:
        finish(render([dot(box)])[0], box)
    except RenderFailed as failed:
        raise RendererMissing(f"the drawing program does not work: {failed}; install one with: {INSTALL}") from None


def finish(svg: str, drawing: Drawing) -> str:
    """The renderer's SVG made fit to stand in a page: it takes its colour and width from the page.

    No prolog, comments, inline styles, links or fixed size; a title and a description for the picture as a whole and
    none for its parts. Lines and text are `currentColor`. The class is `schematic`; a page's style sheet bounds its
    width and may colour the classes of `dot`. Raises RenderFailed when it is none.
    """
    try:
        tree = ElementTree.fromstring(svg)  # noqa: S314  # what the renderer just wrote
    except ElementTree.ParseError as error:
        raise RenderFailed(f"it drew what is no SVG: {error}") from None
    group = next(child for child in tree if _tag(child) == "g")
    left, top, width, height = (float(number) for number in tree.attrib["viewBox"].split())
    margin = max(0.0, _LEAST_WIDTH - width) / 2
    prefix = _prefix(drawing)
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": "schematic",
            "viewBox": " ".join(_number(part) for part in (left - margin, top, width + 2 * margin, height)),
            "role": "img",
            "aria-labelledby": f"{prefix}-title {prefix}-description",
            "fill": "none",
            "stroke": "none",
            "font-family": "Arial, Helvetica, sans-serif",
            "font-size": f"{_FONT_SIZE:g}",
            "text-anchor": "middle",
        },
    )
    ElementTree.SubElement(root, "title", {"id": f"{prefix}-title"}).text = _clean(drawing.title)
    ElementTree.SubElement(root, "desc", {"id": f"{prefix}-description"}).text = _clean(drawing.description)
    root.append(_part(group))
    return ElementTree.tostring(root, encoding="unicode")


def text_alternative(drawing: Drawing) -> list[Outline]:
    """The drawing's facts as a nested outline, in the drawing's order, each box with the run that feeds it.

    What a box feeds stands one level below it. The text is complete, where the drawing may cut off long lines.
    """
    behind: dict[str, list[Outline]] = {node.id: [] for node in drawing.nodes}
    for node, edge, _ in reversed(list(_walk(drawing))):
        text = _joined(node.lines) or node.kind
        if edge is not None and (run := _joined(edge.lines)):
            text += f"; fed by {run}"
        if edge is not None and edge.mark:
            text += f" ({edge.mark})"
        entry = (text, tuple(reversed(behind[node.id])))
        if edge is None:
            return [entry]
        behind[edge.tail].append(entry)
    return []


def _walk(drawing: Drawing) -> Iterator[tuple[Node, Edge | None, bool]]:
    """Each node that the first unfed node feeds, with the edge that feeds it and whether it is that tail's last.

    Tails stand before their heads. The largest branch of a node comes last: it is drawn as the main line.
    """
    nodes = {node.id: node for node in drawing.nodes}
    out: dict[str, list[Edge]] = {node.id: [] for node in drawing.nodes}
    for edge in drawing.edges:
        out[edge.tail].append(edge)
    heads = {edge.head for edge in drawing.edges}
    order = [node.id for node in drawing.nodes if node.id not in heads][:1]
    for id_ in order:  # grows while it is read
        order.extend(edge.head for edge in out[id_])
    size: dict[str, int] = {}
    for id_ in reversed(order):
        out[id_].sort(key=lambda edge: size[edge.head])
        size[id_] = 1 + sum(size[edge.head] for edge in out[id_])
    ahead: list[tuple[str, Edge | None, bool]] = [(id_, None, True) for id_ in order[:1]]
    while ahead:
        id_, fed_by, last = ahead.pop()
        yield nodes[id_], fed_by, last
        ahead.extend((edge.head, edge, edge is out[id_][-1]) for edge in reversed(out[id_]))


def _find(engine: str | None) -> str:
    """The renderer's path. Raises RendererMissing."""
    wanted = engine or os.environ.get("GASDOC_DOT")
    if wanted:
        if found := programs.find(wanted):
            return found
        raise RendererMissing(f"the drawing program '{wanted}' was not found; install one with: {INSTALL}")
    found = _installed() or programs.find("graphviz-pure") or programs.find("dot")
    if found is None:
        raise RendererMissing(f"no program was found that draws schematics; install one with: {INSTALL}")
    return found


def _installed() -> str | None:
    """The program of the package that pip installed, wherever that is: pip's folder of programs need not be on PATH."""
    try:
        files = metadata.files("graphviz-pure") or ()
    except metadata.PackageNotFoundError:
        return None
    return next(
        filter(None, (programs.find(str(file.locate())) for file in files if file.stem == "graphviz-pure")), None
    )


def _part(element: ElementTree.Element) -> ElementTree.Element:
    """The element and its parts with the page's colour, short numbers, and nothing but what is drawn."""
    tag = _tag(element)
    line = element.get("class", "").startswith("edge")
    kept = {
        name: value if name in ("id", "class") else _NUMBER.sub(lambda match: _number(float(match[0])), value)
        for name, value in element.attrib.items()
        if name in _KEPT and not (line and name == "id")
    }
    if tag == "text":
        kept["fill"] = "currentColor"
    else:
        kept |= {name: "currentColor" for name in ("fill", "stroke") if element.get(name) in ("black", "#000000")}
    part = ElementTree.Element(tag, kept)
    if tag == "text":
        part.text = element.text
    part.extend(_part(child) for child in element if _tag(child) in _DRAWN)
    return part


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def _number(value: float) -> str:
    """The number to a tenth of a point, which is finer than a screen shows."""
    return f"{round(value, 1) + 0.0:g}"


def _joined(lines: Sequence[str]) -> str:
    return ", ".join(filter(None, map(_clean, lines)))


def _prefix(drawing: Drawing) -> str:
    """The drawing's name as the beginning of an id; different names stay different."""
    name = re.sub(r"[^A-Za-z0-9-]", lambda match: f"_{ord(match[0]):x}_", drawing.name)
    return f"schematic-{name}"


def _clean(text: str) -> str:
    """The text in one line, without characters that XML does not allow."""
    return " ".join(re.sub(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text).split())


def _columns(text: str) -> int:
    """How many letters' room the text takes: wide letters take two, accents that join a letter none."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in text
    )


def _rows(lines: Sequence[str]) -> list[str]:
    """The lines wrapped to the drawing's width, each cut off with an ellipsis after a few rows."""
    rows: list[str] = []
    for line in lines:
        text = _clean(line)
        short = text[: 2 * _COLUMNS * _ROWS]
        wrapped: list[str] = []
        for word in short.split():
            if wrapped and _columns(wrapped[-1]) + 1 + _columns(word) <= _COLUMNS:
                wrapped[-1] += " " + word
                continue
            wrapped.append("")
            for char in word:
                if _columns(wrapped[-1] + char) > _COLUMNS:
                    wrapped.append("")
                wrapped[-1] += char
        if len(wrapped) > _ROWS or short != text:
            wrapped = wrapped[:_ROWS]
            wrapped[-1] += "…"
        rows.extend(wrapped)
    return rows


def _label(rows: Sequence[str]) -> str:
    """The rows as a DOT label that shows exactly these letters: no escapes, character entities or markup."""
    label: str = graphviz.nohtml("\\n".join(row.replace("\\", "\\\\").replace("&", "&amp;") for row in rows))
    return label


def _width(rows: Sequence[str], margin: float = 0.0) -> str:
    """The least width in inches, as DOT text, of a box that holds the rows in any common sans-serif font.

    Renderers measure text in fonts of their own, not in the reader's, and badly outside ASCII.
    """
    return f"{(max(map(_columns, rows), default=0) * _COLUMN_WIDTH + margin) / 72:.3f}"
