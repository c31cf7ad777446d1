"""What a drawing may hold, where it is told what it may not, and that what leaves shows the same."""

from __future__ import annotations

import base64
import io
import time
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from places import ROOT
from properties import tries

from gasdoc.published import PictureSize, Unfit, judged

NS = "http://www.w3.org/2000/svg"
HTML = "http://www.w3.org/1999/xhtml"
XLINK = "http://www.w3.org/1999/xlink"


def drawing(inside: str, more: str = "") -> bytes:
    return f'<svg xmlns="{NS}" xmlns:xlink="{XLINK}" viewBox="0 0 9 9"{more}>\n{inside}\n</svg>'.encode()


def published(raw: bytes) -> str:
    return judged(raw, "a.svg").content.decode()


def shown(raw: bytes | str) -> list[tuple[str, dict[str, str], str]]:
    return [(e.tag, dict(e.attrib), (e.text or "").strip()) for e in ElementTree.fromstring(raw).iter()]


def test_the_drawings_of_the_examples_show_the_same() -> None:
    found = sorted((ROOT / "specs").glob("*/*.svg"))
    assert found
    for path in found:
        fit = judged(path.read_bytes(), path.name)
        assert shown(fit.content) == shown(path.read_bytes()) and fit.size is not None
        assert judged(fit.content, path.name) == fit


@pytest.mark.parametrize(
    ("inside", "what"),
    [
        ("<script>alert(1)</script>", "'script'"),
        ("<g>\n<s:script xmlns:s='http://www.w3.org/2000/svg'>x</s:script></g>", "'script'"),
        ("<foreignObject><p/></foreignObject>", "'foreignObject'"),
        (f'<h:script xmlns:h="{HTML}" src="x.js"/>', "'script' of a web page"),
        (f'<metadata><h:img xmlns:h="{HTML}" src="x"/></metadata>', "'img' of a web page"),
        ("<metadata><script/></metadata>", "'script'"),
        ('<rect onclick="alert(1)"/>', "'onclick', which runs a script"),
        ('<rect ONLOAD="alert(1)"/>', "'ONLOAD', which runs a script"),
        ('<a href="javascript:alert(1)"><rect/></a>', "a link to 'javascript:alert(1)'"),
        ('<a xlink:href="  java&#10;script:alert(1)"><rect/></a>', "a link to 'java"),
        ('<a href="https://example.org/"><rect/></a>', "a link to 'https://example.org/'"),
        ('<a href="#a" xlink:href="https://example.org/"><rect/></a>', None),
        ('<use href="other.svg#a"/>', "a link to 'other.svg#a'"),
        ('<image href="https://example.org/x.png"/>', "a link to 'https://example.org/x.png'"),
        ('<image href="data:image/svg+xml;base64,PHN2Zy8+"/>', "a link to 'data:image/svg+xml"),
        ('<image href="data:image/png;base64,AAAA"/>', "a picture that cannot be read"),
        ('<use href="data:image/png;base64,AAAA"/>', "a link to 'data:image/png"),
        ("<style>@import 'x.css';</style>", "a style with '@'"),
        ("<style>a{background:url(x.png)}</style>", "a style with 'url('"),
        ('<style>a{background:url( "//x" )}</style>', "a style with 'url( \"'"),
        ("<style>a{background:image-set('x.png' 1x)}</style>", "a style with 'image-set('"),
        ("<style>a{background:u\\72l(x)}</style>", "a style with '\\'"),
        ("<style><![CDATA[@font-face{src:url(x)}]]></style>", "a style with '@'"),
        ("<style>a{<g/>}</style>", "an element inside 'style'"),
        ('<rect style="fill:url(http://x)"/>', "'style' with what leads out of it"),
        ('<rect fill="url(x.svg#a)"/>', "'fill' with what leads out of it"),
        ("<rect filter=\"URL('x')\"/>", "'filter' with what leads out of it"),
        ('<animate attributeName="href" to="javascript:alert(1)"/>', "'animate'"),
        ('<set attributeName="onload" to="x"/>', "'set'"),
        ('<feImage href="#a"/>', "'feImage'"),
        ('<g xml:base="http://x/"/>', "'xml:base'"),
        ("<?xml-stylesheet href='x.css'?>", "an instruction '<?xml-stylesheet'"),
    ],
)
def test_what_runs_or_leads_out_of_a_drawing_is_refused_with_its_line(inside: str, what: str | None) -> None:
    raw = drawing(inside)
    if what is None:
        assert "example.org" not in published(raw)
        return
    with pytest.raises(Unfit) as caught:
        judged(raw, "a.svg")
    assert what in caught.value.message
    assert f"line {3 if '<g>' in inside else 2}, column" in caught.value.message


@pytest.mark.parametrize(
    "head",
    [
        "<!DOCTYPE svg>",
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">',
        '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>',
        '<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE svg [<!ATTLIST svg onload CDATA "alert(1)">]>',
    ],
)
def test_a_document_type_is_refused_with_its_line(head: str) -> None:
    with pytest.raises(Unfit, match="has a DOCTYPE in its line 2, column"):
        judged(b'<?xml version="1.0"?>\n' + head.encode() + b"\n" + drawing("<g/>"), "a.svg")


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (b"<svg/>", "a tag without its namespace in its line 1, column 1"),
        (f'<?xml version="1.0" encoding="UTF-7"?><svg xmlns="{NS}"/>'.encode(), "the encoding 'UTF-7' in its line 1"),
        (f'<svg xmlns="{NS}"><g></svg>'.encode(), "no whole drawing: mismatched tag, in its line 1, column"),
        (f'<svg xmlns="{NS}">&nbsp;</svg>'.encode(), "no whole drawing: undefined entity, in its line 1"),
        (f'<svg xmlns="{NS}"/><script/>'.encode(), "no whole drawing: junk after document element"),
        (b'<?xml version="1.0"?><html/>', "is XML and no drawing: its first tag is 'html'"),
        (drawing('<g id="a"><use href="#a"/></g>'), "has a 'use' that stands for itself"),
        (drawing('<use id="a" href="#b"/><use id="b" href="#a"/>'), "has a 'use' that stands for itself"),
        (
            drawing("".join(f'<g id="a{n}">' + f'<use href="#a{n + 1}"/>' * 10 + "</g>" for n in range(9))),
            "draws more than",
        ),
        (drawing("<g>" * 300 + "</g>" * 300), "more than 200 levels of elements"),
        (drawing("<g/>" * 60_000), "more than 50,000 elements"),
        (drawing("", ' id="' + "a" * 9_000_000 + '"'), "a drawing of more than 8 MB"),
    ],
)
def test_what_is_no_drawing_that_can_be_shown_is_refused(raw: bytes, why: str) -> None:
    with pytest.raises(Unfit) as caught:
        judged(raw, "a.svg")
    assert why in caught.value.message


def test_what_a_program_adds_about_a_file_does_not_leave() -> None:
    raw = drawing(
        '<!-- SECRET --><metadata><r:RDF xmlns:r="r"><r:date>SECRET</r:date></r:RDF></metadata>'
        '<d:view xmlns:d="d" at="SECRET"><d:grid/></d:view><rect data-at="SECRET" xmlns:d="d" d:path="/home/SECRET" '
        'width="1" xlink:title="SECRET"/><text xml:space="preserve"> a &amp; b </text>'
    )
    there = published(raw)
    assert "SECRET" not in there and '<rect width="1"></rect>' in there
    assert '<text xml:space="preserve"> a &amp; b </text>' in there


def test_a_picture_inside_a_drawing_is_cleaned_too() -> None:
    about = Image.Exif()
    about[0x010F] = "SECRET-MAKER"
    out = io.BytesIO()
    Image.new("RGB", (4, 3), "red").save(out, "JPEG", exif=about)
    packed = base64.b64encode(out.getvalue()).decode()
    there = published(drawing(f'<image xlink:href="data:image/png;base64,{packed[:40]}\n{packed[40:]}"/>'))
    [(_, image, _)] = [one for one in shown(there) if one[0] == f"{{{NS}}}image"]
    kind, _, inside = image["href"].partition(",")
    assert kind == "data:image/jpeg;base64" and b"SECRET" not in base64.b64decode(inside)
    assert Image.open(io.BytesIO(base64.b64decode(inside))).size == (4, 3)


@pytest.mark.parametrize(
    "inside",
    [
        "<style>@media (prefers-color-scheme: dark) { a { fill: #fff } } .b { fill: url(#c) }</style>",
        '<linearGradient id="c"><stop offset="1"/></linearGradient><rect fill="url(#c)" style="stroke: url( \'#c\' )"/>',
        '<defs><g id="a"><path d="M0 0h1"/></g></defs><use href="#a" x="1"/><use xlink:href="#a"/>',
        '<a href="#a"><text font-family="Arial, sans-serif" aria-label="a">1 &lt; 2</text></a>',
    ],
)
def test_what_only_shows_something_stays(inside: str) -> None:
    before, after = shown(drawing(inside)), shown(published(drawing(inside)))
    assert [(tag, text) for tag, _, text in before] == [(tag, text) for tag, _, text in after]
    links = {f"{{{XLINK}}}href": "href"}
    assert [{links.get(k, k): v for k, v in found.items()} for _, found, _ in before] == [
        found for _, found, _ in after
    ]


@pytest.mark.parametrize(
    ("tag", "expected"),
    [
        ('viewBox="0 0 360 290"', PictureSize(360, 290)),
        ("viewBox='-5,-5,100.4,50'", PictureSize(100, 50)),
        ('\n width="30px" height="40"', PictureSize(30, 40)),
        ('width="100%" height="100%" viewBox="0 0 12 8"', PictureSize(12, 8)),
        ('width="100%" height="100%"', None),
        ('viewBox="0 0 0 0"', None),
        ('viewBox="0 0 nan inf"', None),
        ('viewBox="0 0 0.2 1e2"', PictureSize(1, 100)),
        ('width="10cm" height="1"', None),
    ],
)
def test_the_size_of_a_drawing(tag: str, expected: PictureSize | None) -> None:
    assert judged(f'<svg xmlns="{NS}" {tag}/>'.encode(), "a.svg").size == expected


@pytest.mark.parametrize(
    "box",
    [
        " " * 20_000 + "1" + " " * 20_000,
        "0 0 " + "9" * 400 + " 1",
        "0 0 1e300 1",
        "0 0 1" + "0" * 150 + " 1",
        "," * 1_000_000,
    ],
)
def test_a_view_box_made_to_harm_is_refused_at_once(box: str) -> None:
    start = time.process_time()
    with pytest.raises(Unfit, match="line 1, column 1"):
        judged(f'<svg xmlns="{NS}" viewBox="{box}"/>'.encode(), "a.svg")
    assert time.process_time() - start < 10  # seconds; 800 spaces took 3.4, and 64 kB would have taken days


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(drawing(f'<rect fill="url({" " * 2_000_000}#a)"/>'), id="spaces in a link"),
        pytest.param(drawing("<style>" + "url( " * 400_000 + "</style>"), id="unfinished links"),
        pytest.param(drawing("<rect/>" * 49_990), id="many elements"),
        pytest.param(drawing("<rect " + " ".join(f'a{n}="1"' for n in range(60_000)) + "/>"), id="many attributes"),
        pytest.param(
            drawing("".join(f'<use id="u{n}" href="#u{n + 1}"/>' for n in range(40_000))), id="a chain of use"
        ),
        pytest.param(drawing("x" * 7_000_000), id="long text"),
        pytest.param(b"<!--" + b" " * 5_000_000 + drawing("<g/>"), id="a comment without end"),
        pytest.param(b"<svg" * 100_000, id="tags without end"),
    ],
)
def test_a_drawing_made_to_take_long_is_answered_soon(raw: bytes) -> None:
    start = time.process_time()
    try:
        judged(raw, "a.svg")
    except Unfit:
        pass
    assert time.process_time() - start < 20  # seconds; what grows with the square of these takes minutes


PIECES = st.sampled_from(
    [
        *(
            "<g>",
            "</g>",
            "<rect/>",
            "<script>",
            "</script>",
            "<style>",
            "</style>",
            "<use href='#a'/>",
            "<a ",
            ">",
            "/>",
        ),
        *(
            " onload='x'",
            " href='javascript:x'",
            " href='#a'",
            " xlink:href='http://x'",
            " id='a'",
            " style='fill:url(x)'",
        ),
        *(
            "<foreignObject>",
            "<![CDATA[",
            "]]>",
            "<!--",
            "-->",
            "<!DOCTYPE svg [",
            "]>",
            "<!ENTITY a 'b'>",
            "&a;",
            "&#106;",
        ),
        *(
            "<?x y?>",
            f"<b xmlns='{HTML}'>",
            "</b>",
            f"<s:script xmlns:s='{NS}'/>",
            "@import 'x'",
            "url(//x)",
            "text",
            "\n",
        ),
        *(
            "<image href='data:image/png;base64,AAAA'/>",
            "<animate/>",
            "<metadata>",
            "</metadata>",
            " xml:base='x'",
            "\x00",
        ),
    ]
)


@tries(600)
@given(st.lists(PIECES, max_size=14), st.booleans())
def test_nothing_that_runs_or_leads_out_is_ever_published(pieces: list[str], whole: bool) -> None:
    raw = drawing("".join(pieces)) if whole else "".join((f'<svg xmlns="{NS}">', *pieces)).encode()
    try:
        there = judged(raw, "a.svg").content
    except Unfit:
        return
    for tag, attributes, text in shown(there):
        name = tag.removeprefix(f"{{{NS}}}")
        assert name in {"svg", "g", "rect", "style", "use", "a", "image"}
        assert "@" not in text or name != "style"
        for key, value in attributes.items():
            assert not key.lower().startswith("on") and (key != "href" or value.startswith("#"))
            assert "url(x" not in value and "url(/" not in value
    assert b"<!" not in there and b"<?" not in there


@tries(300)
@given(st.binary(max_size=60), st.data())
def test_any_damage_to_a_drawing_is_answered(noise: bytes, data: st.DataObject) -> None:
    raw = (ROOT / "specs" / "larch-hut" / "wall.svg").read_bytes()
    at = data.draw(st.integers(0, len(raw)))
    for damaged in (raw[:at] + noise + raw[at + len(noise) :], noise, raw[:at]):
        try:
            judged(damaged, "a.svg")
        except Unfit:
            pass
