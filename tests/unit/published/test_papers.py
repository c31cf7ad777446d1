"""Text and PDF that a project publishes: what may leave, what is taken out, and what is refused with its line."""

from __future__ import annotations

import time
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from properties import tries

from gasdoc.published import Unfit, judged


def pdf(*objects: bytes, information: bytes = b"") -> bytes:
    """A PDF with these objects, an information block, and a table of the places of all."""
    out = b"%PDF-1.4\n"
    places = []
    for number, held in enumerate((information or b"<<>>", *objects), 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, held)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    return out + b"trailer <</Size %d /Info 1 0 R>>\nstartxref\n%d\n%%%%EOF\n" % (len(places) + 1, table)


def stream(held: bytes, more: bytes = b"") -> bytes:
    return b"<<%s /Length %d>>\nstream\n%s\nendstream" % (more, len(held), held)


def test_the_author_and_the_dates_of_a_pdf_are_overwritten_and_every_place_stays() -> None:
    about = (
        b"<</Title (Plan) /Author (SECRET \\) and (SECRET) too) /Creator <534543524554> /CreationDate (D:20260101)"
        b" /Keywords (a (b (SECRET)))>>"
    )
    raw = pdf(b"<</Type /Catalog>>", stream(b"BT (text by SECRET-FREE hand) Tj ET"), information=about)
    fit = judged(raw, "a.pdf")
    assert fit.kind == "pdf" and fit.doubt is None and len(fit.content) == len(raw)
    start, end = raw.index(about), raw.index(about) + len(about)
    assert b"SECRET" not in fit.content[start:end] and b"5345" not in fit.content and b"D:2026" not in fit.content
    assert fit.content[:start] == raw[:start] and fit.content[end:] == raw[end:]


def test_a_description_in_xmp_that_is_not_packed_is_overwritten() -> None:
    packet = b'<?xpacket begin="x" id="y"?><x:xmpmeta>SECRET</x:xmpmeta><?xpacket end="w"?>'
    raw = pdf(stream(packet, b"/Type /Metadata /Subtype /XML"))
    fit = judged(raw, "a.pdf")
    assert b"SECRET" not in fit.content and fit.doubt is None and len(fit.content) == len(raw)


@pytest.mark.parametrize(
    "held",
    [
        stream(zlib.compress(b"1 0 <</Author (SECRET)>>"), b"/Type /ObjStm /Filter /FlateDecode"),
        stream(zlib.compress(b"1 0 <</Author (SECRET)>>"), b"/Type /Obj#53tm /Filter /FlateDecode"),
        stream(zlib.compress(b"<x:xmpmeta>SECRET</x:xmpmeta>"), b"/Type /Metadata /Filter /FlateDecode"),
        stream(b"\xff\xd8\xff\xe1\x00\x20Exif\0\0MM\0*", b"/Subtype /Image /Filter /DCTDecode"),
        b"<</Type /Annot /M (D:20260101)>>",
    ],
)
def test_what_cannot_be_taken_out_of_a_pdf_is_a_warning(held: bytes) -> None:
    fit = judged(pdf(held), "a.pdf")
    assert fit.doubt is not None and "who made it, where or when" in fit.doubt[0]


@pytest.mark.parametrize(
    ("held", "why"),
    [
        (b"<</S /JavaScript /JS (app.alert\\(1\\))>>", "is a PDF with a script"),
        (b"<</S /J#61vaScript>>", "is a PDF with a script"),
        (b"<</S /Launch /F (x.exe)>>", "is a PDF with a program to start"),
        (b"<</Type /EmbeddedFile>>", "is a PDF with a file packed into it"),
        (b"<</EmbeddedFiles 1 0 R>>", "is a PDF with a file packed into it"),
        (b"<</Subtype /RichMedia>>", "is a PDF with a film or a program"),
        (b"<</XFA 1 0 R>>", "is a PDF with a form that runs"),
        (b"<</Encrypt 1 0 R>>", "is a locked PDF, and nobody can look into it"),
        (stream(zlib.compress(b"<</S /JavaScript>>"), b"/Type /ObjStm /Filter /FlateDecode"), "is a PDF with a script"),
        # A string that looks like the beginning of a stream hides nothing that stands behind it.
        (b"<</Title (>>stream\n) /S /JavaScript>>", "is a PDF with a script"),
        (
            b"<</Title (>>stream\n)>>\nendobj\n9 0 obj\n"
            + stream(zlib.compress(b"<</S /JavaScript>>"), b"/Type /ObjStm /Filter /FlateDecode"),
            "is a PDF with a script",
        ),
        (stream(b"no zlib", b"/Type /ObjStm /Filter /LZWDecode"), "is a PDF that cannot be looked into"),
        (stream(zlib.compress(bytes(70_000_000)), b"/Type /ObjStm"), "is a PDF that unpacks to more"),
    ],
)
def test_a_pdf_that_runs_or_cannot_be_looked_into_is_refused(held: bytes, why: str) -> None:
    with pytest.raises(Unfit) as caught:
        judged(pdf(held), "a.pdf")
    assert caught.value.message.startswith(why)


def test_a_pdf_that_is_cut_off_is_refused() -> None:
    with pytest.raises(Unfit, match="is a PDF that is not whole"):
        judged(pdf(stream(bytes(5000)))[:4000], "a.pdf")


def test_the_end_of_a_pdf_is_looked_for_in_what_leaves() -> None:
    """Here it stands in the author's name, which is overwritten."""
    with pytest.raises(Unfit, match="is a PDF that is not whole"):
        judged(b"%PDF-1.4\n1 0 obj <</Author (%%EOF)>> endobj trailer <</Info 1 0 R>>", "a.pdf")


def test_what_only_looks_like_a_name_inside_a_picture_is_no_script() -> None:
    fit = judged(pdf(stream(b"\x01/JS \x02/XFA \x03", b"/Subtype /Image")), "a.pdf")
    assert fit.doubt is None


@pytest.mark.parametrize(
    ("name", "raw", "why"),
    [
        ("a.txt", b"one\ntwo \xff", "is no UTF-8 text in its line 2"),
        ("a.txt", b"one\ntwo \x1b[31m", "has a control character in its line 2"),
        ("a.csv", b"a,b\n1,=1+1", "has a formula in its line 2"),
        ("a.csv", b'a,b\n1,"@SUM(1)"', "has a formula in its line 2"),
        ("a.csv", b"a;b\n-1+cmd|' /C calc'!A0", "has a formula in its line 2"),
        ("a.csv", b"a\tb\n1\t+HYPERLINK(1)", "has a formula in its line 2"),
        ("a.ics", b"hello", "is no calendar: it does not begin with BEGIN:VCALENDAR"),
    ],
)
def test_text_that_is_none_or_runs_is_refused_with_its_line(name: str, raw: bytes, why: str) -> None:
    with pytest.raises(Unfit) as caught:
        judged(raw, name)
    assert caught.value.message.startswith(why)


@pytest.mark.parametrize(
    ("name", "raw"),
    [
        ("a.txt", "\ufeffTäglich = 1\r\n-- x (1)\n".encode()),
        ("a.csv", b'part,cost\ntee,-3.50\nelbow,+1\nnone,-\n"a, b",- 12 ft\n'),
        ("a.ics", b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"),
        ("A.TXT", b"BM is no picture"),
    ],
)
def test_plain_text_is_published_as_it_is(name: str, raw: bytes) -> None:
    assert judged(raw, name).content == raw


@pytest.mark.parametrize(
    "held",
    [
        b">>stream\n" * 500_000,
        b"<</ObjStm>> stream\n" * 90_000,
        b"1 0 obj " * 500_000,
        b"<?xpacket begin" * 300_000,
        b"(" * 4_000_000,
        b"/Info 1 0 R " * 300_000,
        b"/#41" * 1_000_000,
        b"(" + b"\\" * 4_000_000,
    ],
)
def test_a_pdf_made_to_take_long_is_answered_soon(held: bytes) -> None:
    start = time.process_time()
    try:
        judged(pdf(held), "a.pdf")
    except Unfit:
        pass
    assert time.process_time() - start < 20  # seconds; what grows with the square of these takes minutes


PIECES = st.sampled_from(
    [
        b"1 0 obj",
        b"endobj",
        b"<<",
        b">>",
        b"stream\n",
        b"endstream",
        b"(",
        b")",
        b"<41>",
        b"/Info 1 0 R",
        b"/Author (x)",
        b"\\",
        b"<?xpacket begin",
        b"?>",
        b"<?xpacket end",
        b"/ObjStm",
        b"\n",
        b"/J#53",
        zlib.compress(b"x"),
        b"%%EOF",
        b"\xff",
    ]
)


@tries(400)
@given(st.lists(PIECES, max_size=20).map(b"".join))
def test_any_pdf_is_answered_and_keeps_its_length(held: bytes) -> None:
    raw = b"%PDF-1.4\n" + held + b"\n%%EOF"
    try:
        assert len(judged(raw, "a.pdf").content) == len(raw)
    except Unfit:
        pass
