"""The drawing of a supply tree as inline SVG, and the same facts as a nested list.

The main line runs straight down, branches hang to its right. There are two layouts of the same drawing. In the narrow one
each item has a level of its own, and a run's text stands in its line: it is about two boxes wide, however many outlets
there are, and needs no shrinking at 358 px. In the wide one a branch lies on the level it leaves at, and the text of the
main line stands left of what it leads to: it is a third as high, for a desk and a sheet.
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
from gasdoc.report.drawings.svg import tenth

NodeKind: TypeAlias = Literal["container", "regulator", "junction", "valve", "tap", "outlet", "appliance"]
Mark: TypeAlias = Literal["", "error", "warning"]

Outline: TypeAlias = "tuple[str, tuple[Outline, ...]]"
"""A text, and the texts one level below it."""

INSTALL = "python -m pip install graphviz-pure"
"""The command that installs a renderer."""

_COLUMNS = 22  # letters in a row of text
_WIDE_COLUMNS = 32  # the same in the wide layout
_ROWS = 3  # rows that one line of text may take; the outline has the full text
_FONT_SIZE = 12.0  # points, which are the SVG's user units
_COLUMN_WIDTH = 7.0  # points: room per letter that also holds the wider sans-serif fonts
_LEAST_WIDTH = 320.0  # points: small drawings get margins, so that their text is as large as that of other drawings
_SECONDS_PER_100 = 60  # guards against a renderer that hangs; 100 drawings take well under a second

_SYMBOL = 20.0  # points: room for a symbol at the left of a box; as much is left free at its right
_FOOT = 24.0  # points: room for the line below a drawing

SYMBOLS: dict[NodeKind, str] = {
    "container": "M-4 -4a4 3 0 0 1 8 0V8H-4zM0 -7v-2M-3 -9H3",
    "regulator": "M-7 -5H7L0 6zM-4 8H4",
    "junction": "M-8 -3H8M0 -3V7",
    "valve": "M-8 -5V5L8 -5V5z",
    "tap": "M0 8V2M-5 -3a5 5 0 1 0 10 0a5 5 0 1 0 -10 0M0 -3L3 -6",
    "outlet": "M-5 0H5M0 -5V5",
    "appliance": "M0 -8C5 -3 5 0 5 3A5 5 0 0 1 -5 3C-5 0 -2 -2 -2 -5C0 -3 0 -5 0 -8z",
}
"""The symbol of each kind of box as an SVG path round its middle: our own signs, after no standard."""

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_DRAWN = ("ellipse", "g", "path", "polygon", "polyline", "text")
_KEPT = ("id", "class", "cx", "cy", "d", "points", "rx", "ry", "stroke-width", "transform", "x", "y")


class Box(Struct, frozen=True):
    """One box: what it is, the lines of text in it, and what it leads to: a section of the build's pages and a place there,
    as in "leak-test#joints"; nothing where it is empty."""

    id: str
    kind: NodeKind
    lines: tuple[str, ...]
    leads: str = ""


class Edge(Struct, frozen=True):
    """One run from node `tail` to node `head`: the lines of text on it, how bad the worst finding about it is, and what it
    leads to."""

    tail: str
    head: str
    lines: tuple[str, ...]
    mark: Mark = ""
    leads: str = ""


class Drawing(Struct, frozen=True):
    """A supply tree to draw. `name` is unique on its page; `title` and `description` are read out for the picture; `foot`
    stands below it.

    Raises ValueError unless the edges join all nodes into one tree.
    """

    name: str
    title: str
    description: str
    nodes: tuple[Box, ...]
    edges: tuple[Edge, ...]
    foot: str = ""

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


def dot(drawing: Drawing, *, wide: bool = False) -> str:
    """The drawing as DOT text: nodes in tree order, ids that begin with the drawing's name, classes for CSS.

    Classes: `node-` and the node's kind on boxes; `run` on the text of a run; `branch` on the points where branches
    leave the main line; `edge-error` or `edge-warning` on the lines and the text of a marked run.
    """
    layout = _Layout(drawing, wide=wide)
    for number, (node, edge, last) in enumerate(_walk(drawing)):
        layout.add(number, node, edge, last=last)
    return layout.text()


class _Layout:
    """What stands in one layout of a drawing: items in levels from the top down, and the lines between them."""

    def __init__(self, drawing: Drawing, *, wide: bool) -> None:
        self.wide = wide
        self.prefix = _prefix(drawing, wide=wide)
        self.graph = graphviz.Digraph(
            self.prefix,
            graph_attr={
                "id": f"{self.prefix}-tree",
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
        self.levels: dict[str, list[str]] = {}  # what stands side by side, by each item of it, from the top down
        self.main_line: list[tuple[str, str, dict[str, str]]] = []
        self.branches: list[tuple[str, str, dict[str, str]]] = []
        self.ends: dict[str, str] = {}  # the item below which the next edge out of a node starts
        self.used: set[str] = set()  # boxes that a branch leaves sideways
        self.trunk: dict[str, None] = {}  # the ids of what stands on the main line

    def add(self, number: int, node: Box, edge: Edge | None, *, last: bool) -> None:
        """Put a box, with the run that feeds it."""
        if edge is None or (last and edge.tail in self.trunk):
            self.trunk[node.id] = None
        box = f"{self.prefix}-n{number}"
        beside = self._feed(number, node.id, edge, box, last=last) if edge is not None else ""
        if self.wide and not beside and node.id not in self.trunk:
            beside = self._pass(box)
        rows = _rows(node.lines, wide=self.wide) or [node.kind]
        self._place(box, rows, f"node-{node.kind}", beside, width=_width(rows, 16 + 2 * _SYMBOL))
        self.ends[node.id] = box

    def _place(self, item: str, rows: Sequence[str], classes: str, beside: str = "", **attributes: str) -> None:
        self.graph.node(item, _label(rows), id=item, **{"class": classes}, **attributes)
        level = self.levels.setdefault(beside or item, [])
        level.append(item)
        self.levels[item] = level

    def _feed(self, number: int, node: str, edge: Edge, box: str, *, last: bool) -> str:
        """Draw the run that feeds a box; gives what that box stands beside, nothing where it has a level of its own."""
        start, beside = self.ends[edge.tail], ""
        mark = f"edge-{edge.mark}" if edge.mark else ""
        marked = {"class": mark, "penwidth": "2"} if mark else {}
        if not last and not (self.wide and start not in self.used):
            point = f"{self.prefix}-b{number}"
            self._place(point, (), "branch", shape="point", width="0.08")
            self.main_line.append((start, point, {"tailport": "s", "headport": "n"}))
            self.ends[edge.tail] = start = point
        sideways = self.wide and not last
        if sideways:
            beside = start
            self.used.add(start)
        lines = self.main_line if last else self.branches
        into = "w" if sideways else "n"
        if rows := [*_rows(edge.lines, wide=self.wide), *filter(None, [edge.mark])]:
            text = f"{self.prefix}-r{number}"
            style = {"shape": "plaintext", "width": _width(rows), "margin": "0,0.03"}
            if self.wide and not beside and node not in self.trunk:
                beside = self._pass(text)
            self._place(text, rows, f"run {mark}".strip(), beside, **style)
            beside = "" if last else beside
            if self.wide and node in self.trunk:
                self.branches.append((text, box, {"style": "invis"}))
                beside = text
            else:
                lines.append((start, text, {"headport": into} | marked))
                start, lines = text, self.branches if sideways else self.main_line
        lines.append((start, box, {"headport": into, "arrowhead": "normal"} | marked))
        return beside

    def _pass(self, item: str) -> str:
        """Lead the main line past a level of a branch, on its left; gives what the item stands beside."""
        tail = next(reversed(self.trunk))
        point = f"{item}-past"
        self._place(point, (), "branch", shape="point", width="0.01", fixedsize="true")
        self.main_line.append((self.ends[tail], point, {"tailport": "s", "headport": "n"}))
        self.branches.append((point, item, {"style": "invis"}))
        self.ends[tail] = point
        self.used.add(point)
        return point

    def text(self) -> str:
        """All of it as DOT text."""
        levels = list({id(level): level for level in self.levels.values()}.values())
        for level in levels:
            if len(level) > 1:
                with self.graph.subgraph() as row:
                    row.attr(rank="same")
                    for item in level:
                        row.node(item)
        # Heavy edges are drawn straight; of the edges out of one item, the first goes to the left.
        for tail, head, attributes in self.main_line:
            self.graph.edge(tail, head, weight="100", **attributes)
        for tail, head, attributes in self.branches:
            self.graph.edge(tail, head, **attributes)
        joined = {(tail, head) for tail, head, _ in self.main_line + self.branches}
        for above, below in itertools.pairwise(level[0] for level in levels):
            if (above, below) not in joined:
                self.graph.edge(above, below, style="invis", weight="0")
        return str(self.graph.source)


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
        raise RendererMissing(f"{program} cannot be run ({error.strerror}). Install one with: {INSTALL}") from error
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
    box = Drawing("box", "A box", "One box.", (Box("box", "valve", ("box",)),), ())
    try:
        finish(render([dot(box)])[0], box)
    except RenderFailed as failed:
        raise RendererMissing(f"the drawing program does not work: {failed}. Install one with: {INSTALL}") from None


def finish(svg: str, drawing: Drawing, *, wide: bool = False, links: bool = False) -> str:
    """The renderer's SVG made fit to stand in a page: it takes its colour and width from the page.

    No prolog, comments, inline styles or fixed size; a title and a description for the picture as a whole and none for its
    parts. Each box has the symbol of its kind. Lines and text are `currentColor`. The class is `schematic`, and `wide` or
    `narrow`; a page's style sheet bounds its width and may colour the classes of `dot`. With `links` boxes and runs are
    links with the addresses that the drawing names. Raises RenderFailed when it is none.
    """
    try:
        tree = ElementTree.fromstring(svg)  # noqa: S314  # what the renderer just wrote
    except ElementTree.ParseError as error:
        raise RenderFailed(f"it drew what is no SVG: {error}") from None
    group = next(child for child in tree if _tag(child) == "g")
    left, top, width, height = (float(number) for number in tree.attrib["viewBox"].split())
    margin = max(0.0, _LEAST_WIDTH - width) / 2
    foot = _FOOT if drawing.foot else 0.0
    prefix = _prefix(drawing, wide=wide)
    root = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "class": f"schematic {'wide' if wide else 'narrow'}",
            "viewBox": " ".join(tenth(part) for part in (left - margin, top, width + 2 * margin, height + foot)),
            "role": "group" if links else "img",
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
    drawn = _part(group)
    kinds: dict[str, NodeKind] = {}
    leads: dict[str, str] = {}
    for number, (node, edge, _) in enumerate(_walk(drawing)):
        kinds[f"{prefix}-n{number}"] = node.kind
        leads |= {f"{prefix}-n{number}": node.leads, f"{prefix}-r{number}": edge.leads if edge is not None else ""}
    for place, part in enumerate(list(drawn)):
        identity = part.get("id", "")
        if identity in kinds:
            _add_symbol(part, kinds[identity])
        if links and leads.get(identity):
            drawn[place] = ElementTree.Element("a", {"href": leads[identity]})
            drawn[place].append(part)
    root.append(drawn)
    if drawing.foot:
        middle = {"x": tenth(left + width / 2), "y": tenth(top + height + _FOOT / 2), "fill": "currentColor"}
        ElementTree.SubElement(root, "text", middle).text = _clean(drawing.foot)
    return ElementTree.tostring(root, encoding="unicode")


def _add_symbol(box: ElementTree.Element, kind: NodeKind) -> None:
    """The symbol of its kind put at the left of a box, and the text moved to make room."""
    outline = next(child for child in box if _tag(child) == "polygon")
    corners = [tuple(map(float, corner.split(","))) for corner in outline.attrib["points"].split()]
    left = min(x for x, _ in corners)
    middle = (min(y for _, y in corners) + max(y for _, y in corners)) / 2
    for text in box:
        if _tag(text) == "text":
            text.set("x", tenth(float(text.attrib["x"]) + _SYMBOL / 2))
    at = f"translate({tenth(left + _SYMBOL / 2 + 6)} {tenth(middle)})"
    shape = {"class": "symbol", "d": SYMBOLS[kind], "transform": at, "stroke": "currentColor"}
    ElementTree.SubElement(box, "path", shape)


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


def _walk(drawing: Drawing) -> Iterator[tuple[Box, Edge | None, bool]]:
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
        raise RendererMissing(f"the drawing program '{wanted}' was not found. Install one with: {INSTALL}")
    found = _installed() or programs.find("graphviz-pure") or programs.find("dot")
    if found is None:
        raise RendererMissing(f"no program was found that draws schematics. Install one with: {INSTALL}")
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
        name: value if name in ("id", "class") else _NUMBER.sub(lambda match: tenth(float(match[0])), value)
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


def _joined(lines: Sequence[str]) -> str:
    return ", ".join(filter(None, map(_clean, lines)))


def _prefix(drawing: Drawing, *, wide: bool = False) -> str:
    """The drawing's name as the beginning of an id; different names, and the two layouts of one, stay different."""
    name = re.sub(r"[^A-Za-z0-9-]", lambda match: f"_{ord(match[0]):x}_", drawing.name)
    return f"schematic{'-wide' if wide else ''}-{name}"


def _clean(text: str) -> str:
    """The text in one line, without characters that XML does not allow."""
    return " ".join(re.sub(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text).split())


def _letters(text: str) -> int:
    """How many letters' room the text takes: wide letters take two, accents that join a letter none."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in text
    )


def _rows(lines: Sequence[str], *, wide: bool = False) -> list[str]:
    """The lines wrapped to the drawing's width, each cut off with an ellipsis after a few rows. The first has a row of its
    own; of the others short ones stand behind one another."""
    columns = _WIDE_COLUMNS if wide else _COLUMNS
    rows: list[str] = []
    for line in _together(lines, columns):
        text = _clean(line)
        short = text[: 2 * columns * _ROWS]
        wrapped: list[str] = []
        for word in short.split():
            if wrapped and _letters(wrapped[-1]) + 1 + _letters(word) <= columns:
                wrapped[-1] += " " + word
                continue
            wrapped.append("")
            for char in word:
                if _letters(wrapped[-1] + char) > columns:
                    wrapped.append("")
                wrapped[-1] += char
        if len(wrapped) > _ROWS or short != text:
            wrapped = wrapped[:_ROWS]
            wrapped[-1] += "…"
        rows.extend(wrapped)
    return rows


def _together(lines: Sequence[str], columns: int) -> list[str]:
    """The lines with those behind one another that have room in one row, the first by itself."""
    found: list[str] = []
    for line in filter(None, map(_clean, lines)):
        if len(found) > 1 and _letters(found[-1]) + 2 + _letters(line) <= columns:
            found[-1] += f", {line}"
        else:
            found.append(line)
    return found


def _label(rows: Sequence[str]) -> str:
    """The rows as a DOT label that shows exactly these letters: no escapes, character entities or markup."""
    label: str = graphviz.nohtml("\\n".join(row.replace("\\", "\\\\").replace("&", "&amp;") for row in rows))
    return label


def _width(rows: Sequence[str], margin: float = 0.0) -> str:
    """The least width in inches, as DOT text, of a box that holds the rows in any common sans-serif font.

    Renderers measure text in fonts of their own, not in the reader's, and badly outside ASCII.
    """
    return f"{(max(map(_letters, rows), default=0) * _COLUMN_WIDTH + margin) / 72:.3f}"
