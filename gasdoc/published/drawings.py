"""Drawings (SVG): read with a real XML parser, refused by line when they could do more than be looked at, and written again.

What is written has the elements of SVG 1.1 and 2 that show something, and nothing of what programs add about a file and
who made it. The parser expands no entity, and nothing here takes longer than the drawing is long.
"""

from __future__ import annotations

import base64
import binascii
import re
from xml.parsers import expat

from msgspec import Struct, field

from gasdoc.published import pictures
from gasdoc.published.unfit import PictureSize, Unfit

MOST_BYTES = 8_000_000
MOST_ELEMENTS = 50_000
MOST_DEPTH = 200
MOST_SHOWN = 500_000
"""Elements that are drawn once every `use` stands for what it names (our choice, as are the other four)."""
MOST_INSIDE = 16_000_000
"""Most bytes of the pictures inside a drawing, as they leave: a colour profile that was packed leaves unpacked."""

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "http://www.w3.org/1999/xlink"
_XML = "http://www.w3.org/XML/1998/namespace"

_SHOWN = frozenset(
    f"{name}"
    for name in (
        *("svg", "g", "defs", "symbol", "use", "title", "desc", "switch", "a", "style", "image"),
        *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "tspan", "textPath"),
        *("marker", "linearGradient", "radialGradient", "stop", "pattern", "clipPath", "mask", "filter"),
        *("feBlend", "feColorMatrix", "feComponentTransfer", "feComposite", "feConvolveMatrix", "feDiffuseLighting"),
        *("feDisplacementMap", "feDistantLight", "feDropShadow", "feFlood", "feFuncA", "feFuncB", "feFuncG", "feFuncR"),
        *("feGaussianBlur", "feMerge", "feMergeNode", "feMorphology", "feOffset", "fePointLight"),
        *("feSpecularLighting", "feSpotLight", "feTile", "feTurbulence"),
    )
)
_ABOUT = frozenset(("metadata",))
"""Elements that say something about the file; they are left out."""

_REACHES = re.compile(
    r"""url\(\s*+["']?+\s*+(?!#)|@(?!media\b)|\\|//|javascript:|expression\(|image-set\(|\bimage\(|\bsrc\(""",
    re.IGNORECASE,
)
"""What in a style leads out of the drawing, runs, or could hide either."""

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?")
_DATA = re.compile(r"data:image/(?:png|jpe?g|webp);base64,([A-Za-z0-9+/=\s]*)", re.IGNORECASE)
_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
_IN_QUOTES = _IN_TEXT | str.maketrans({'"': "&quot;", "'": "&#x27;", "\n": "&#10;", "\t": "&#9;", "\r": "&#13;"})
_PLAIN = "save it as plain SVG, without scripts and links, or as PNG"


class _Element(Struct):
    """One element that is kept: how many elements it draws, and the others it stands for."""

    id: str | None
    drawn: int = 1
    uses: list[str] = field(default_factory=list)
    inner: list[_Element] = field(default_factory=list)


def _quoted(value: str) -> str:
    return f'"{value.translate(_IN_QUOTES)}"'


def looks_like_one(raw: bytes) -> bool:
    """Whether a file is meant as a drawing: XML whose first tag, by its letters, is svg."""
    head = raw[:4096].decode("utf-8", "replace").lstrip("\ufeff \t\r\n")
    if not head.startswith("<"):
        return False
    return head.startswith("<?xml") or re.search(r"<(?:[\w.-]{1,40}:)?svg[\s>/]", head) is not None


def cleaned(raw: bytes) -> tuple[bytes, PictureSize | None]:
    """The drawing written again, and how large it is shown; None where it does not say.

    Raises Unfit, with line and column, for what may not stand in a drawing and for text that is no XML.
    """
    if len(raw) > MOST_BYTES:
        raise Unfit(f"is a drawing of more than {MOST_BYTES // 1_000_000} MB", "save it simpler, or as PNG")
    reading = _Reading()
    try:
        reading.parser.Parse(raw, True)
    except expat.ExpatError as error:
        what = expat.ErrorString(error.code)
        raise Unfit(
            f"is no whole drawing: {what}, in its line {error.lineno}, column {error.offset + 1}", "save it again"
        ) from None
    reading.count()
    return "".join(reading.out).encode() + b"\n", reading.size


class _Reading:
    """One pass over a drawing: what is wrong is raised, what is kept goes to `out`."""

    def __init__(self) -> None:
        self.out: list[str] = []
        self.size: PictureSize | None = None
        self.depth = 0
        self.number = 0
        self.inside = 0  # bytes of the pictures inside it
        self.left_out = 0  # how many levels deep in something that is left out
        self.within: list[_Element] = []
        self.by_id: dict[str, _Element] = {}
        self.roots: list[_Element] = []
        self.style: list[str] | None = None
        self.parser = parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.XmlDeclHandler = self.declaration
        parser.StartDoctypeDeclHandler = self.doctype
        parser.ProcessingInstructionHandler = self.instruction
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.text

    def refuse(self, what: str, remedy: str = _PLAIN) -> Unfit:
        """Why the drawing is not published, with the place in it."""
        place = f"line {self.parser.CurrentLineNumber}, column {self.parser.CurrentColumnNumber + 1}"
        return Unfit(f"has {what} in its {place}", remedy)

    def declaration(self, version: str, encoding: str | None, standalone: int) -> None:
        """Only UTF-8: another reader might take other letters for it."""
        if encoding is not None and encoding.upper() not in ("UTF-8", "US-ASCII"):
            raise self.refuse(f"the encoding '{encoding[:40]}'", "save it as UTF-8")

    def doctype(self, name: str, system: str | None, public: str | None, internal: int) -> None:
        """No document type: with it come entities."""
        raise self.refuse("a DOCTYPE", "take the DOCTYPE out. A drawing needs none")

    def instruction(self, target: str, data: str) -> None:
        """No instruction, such as one that names a style sheet."""
        raise self.refuse(f"an instruction '<?{target[:40]}'")

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """A start tag: kept, left out, or refused."""
        self.depth += 1
        self.number += 1
        if self.number > MOST_ELEMENTS or self.depth > MOST_DEPTH:
            limit = f"{MOST_ELEMENTS:,} elements" if self.number > MOST_ELEMENTS else f"{MOST_DEPTH} levels of elements"
            raise self.refuse(f"more than {limit}", "save it simpler, or as PNG")
        space, _, name = tag.rpartition(" ")
        if self.depth == 1 and (space, name) != (_SVG, "svg"):
            if name == "svg":
                raise self.refuse("a tag without its namespace", f'write <svg xmlns="{_SVG}" ...>')
            raise Unfit(f"is XML and no drawing: its first tag is '{name[:40]}'", _KINDS)
        if self.left_out or space != _SVG or name in _ABOUT:
            if space == _SVG and name not in _SHOWN and name not in _ABOUT:
                raise self.refuse(f"'{name[:40]}'")
            if space.endswith("/xhtml"):
                raise self.refuse(f"'{name[:40]}' of a web page")
            self.left_out += 1
            return
        if name not in _SHOWN:
            raise self.refuse(f"'{name[:40]}'")
        if self.style is not None:
            raise self.refuse("an element inside 'style'")
        written, identity, reference = self.attributes(name, attributes)
        if self.depth == 1:
            self.size = self.sized(attributes)
            written = f' xmlns="{_SVG}"{written}'
        self.out.append(f"<{name}{written}>")
        if name == "style":
            self.style = []
        element = _Element(identity)
        if name == "use" and reference is not None:
            element.uses.append(reference)
        (self.within[-1].inner if self.within else self.roots).append(element)
        self.within.append(element)
        if identity is not None:
            self.by_id.setdefault(identity, element)

    def attributes(self, element: str, found: dict[str, str]) -> tuple[str, str | None, str | None]:
        """The attributes as they are written again, the id, and the id of what a `use` shows."""
        written: list[str] = []
        identity = reference = None
        for full, value in found.items():
            space, _, name = full.rpartition(" ")
            if space not in ("", _XLINK, _XML):
                continue  # a drawing program's own
            if space == _XML:
                if name in ("space", "lang"):
                    written.append(f" xml:{name}={_quoted(value)}")
                elif name == "base":
                    raise self.refuse("'xml:base'")
                continue
            if name.lower().startswith("on"):
                raise self.refuse(f"'{name[:40]}', which runs a script,")
            if name == "href":
                if space == _XLINK and "href" in found:
                    continue
                value = self.reference(element, value)
                reference = value.removeprefix("#") if value.startswith("#") else None
            elif space == _XLINK or name.startswith("data-"):
                continue
            elif _REACHES.search(value) and name not in ("id", "class", "lang", "aria-label"):
                raise self.refuse(f"'{name[:40]}' with what leads out of it")
            if name == "id":
                identity = value
            written.append(f" {name}={_quoted(value)}")
        return "".join(written), identity, reference

    def reference(self, element: str, value: str) -> str:
        """Where a link leads: to a place in the drawing, or to a picture inside it, which is cleaned like any other."""
        value = value.strip()
        if value.startswith("#"):
            return value
        inside = _DATA.fullmatch(value) if element == "image" else None
        if inside is None:
            shown = "".join(c if c.isprintable() else " " for c in value[:40])
            raise self.refuse(f"a link to '{shown}', which leads out of it,")
        try:
            picture = base64.b64decode("".join(inside[1].split()), validate=True)
            if pictures.kind(picture) is None:
                raise self.refuse("a picture that cannot be read")
            content, _ = pictures.cleaned(picture)
        except binascii.Error:
            raise self.refuse("a picture that cannot be read") from None
        self.inside += len(content)
        if self.inside > MOST_INSIDE:
            raise Unfit(
                f"has pictures inside it of more than {MOST_INSIDE // 1_000_000} MB", "save it with fewer of them"
            )
        kind = {"jpg": "jpeg"}.get(pictures.kind(content) or "", pictures.kind(content))
        return f"data:image/{kind};base64,{base64.b64encode(content).decode()}"

    def text(self, data: str) -> None:
        """Text, and the text of a style."""
        if self.left_out:
            return
        if self.style is not None:
            self.style.append(data)
        self.out.append(data.translate(_IN_TEXT))

    def end(self, tag: str) -> None:
        """An end tag."""
        self.depth -= 1
        if self.left_out:
            self.left_out -= 1
            return
        name = tag.rpartition(" ")[2]
        if self.style is not None:
            found = _REACHES.search("".join(self.style))
            self.style = None
            if found:
                raise self.refuse(f"a style with '{found[0][:20]}', which may lead out of it,")
        self.out.append(f"</{name}>")
        self.within.pop()

    def sized(self, attributes: dict[str, str]) -> PictureSize | None:
        """From the view box, whose shape is the drawing's; else from width and height."""
        box = attributes.get("viewBox", "")
        if len(box) > 200:
            raise self.refuse("a view box of more than 200 letters", "write four numbers into it")
        numbers = re.split(r"[\s,]+", box.strip())
        if len(numbers) == 4:
            sides = numbers[2:]
        else:
            sides = [attributes.get(side, "").strip()[:60].removesuffix("px") for side in ("width", "height")]
        if not all(_NUMBER.fullmatch(side) for side in sides):
            return None
        width, height = (float(side) for side in sides)
        if not (0 < width <= 1e6 and 0 < height <= 1e6):
            if max(width, height) > 1e6:
                raise self.refuse("a width or a height of more than a million", "give it a size that can be shown")
            return None
        return PictureSize(max(round(width), 1), max(round(height), 1))

    def count(self) -> None:
        """Refuse a drawing whose `use` elements stand for each other without end, or for more than can be drawn."""
        known: dict[int, int] = {}
        for root in self.roots:
            # Each element after those it needs: what it holds, and what it stands for.
            todo: list[tuple[_Element, bool]] = [(root, False)]
            open_now: set[int] = set()
            while todo:
                element, done = todo.pop()
                needs = [*element.inner, *(self.by_id[name] for name in element.uses if name in self.by_id)]
                if done:
                    open_now.discard(id(element))
                    known[id(element)] = 1 + sum(known[id(other)] for other in needs)
                    if known[id(element)] > MOST_SHOWN:
                        raise Unfit(f"draws more than {MOST_SHOWN:,} elements by its 'use'", "save it simpler")
                elif id(element) in open_now:
                    raise Unfit("has a 'use' that stands for itself", "take that 'use' out")
                elif id(element) not in known:
                    open_now.add(id(element))
                    todo.append((element, True))
                    todo += [(other, False) for other in needs if id(other) not in known]


_KINDS = "published are jpg, png, webp, svg, csv, txt, ics and pdf"
