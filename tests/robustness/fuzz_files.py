"""Fuzzes what judges and cleans the files that are published: pictures, drawings, PDF and text. Not run by the tests, but for a
few inputs. How to run it stands in `fuzzing.py`.

The first byte of an input chooses the file's name, and whether lengths and sums in it are put right; the rest is the file. Of each: it is refused with a reason, or what leaves
is no larger than the file by much, holds no block but those a picture is shown with, and would leave again as it is.
"""

from __future__ import annotations

import base64
import io
import struct
import zlib
from collections.abc import Callable
from xml.etree import ElementTree

from fuzzing import Target, run, watched
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo

with watched(__name__):
    from gasdoc import published
    from gasdoc.published import Unfit, drawings, pictures

NAMES = ("a.jpg", "a.png", "a.webp", "a.svg", "a.pdf", "a.csv", "a.ics", "a.txt")
SVG = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
MARK = "MARK-OF-A-MAKER"


def check(raw: bytes) -> int:
    """One file: its name's number, and its bytes."""
    kind, file = (raw[:1] or b"\0")[0], raw[1:]
    name, file = NAMES[kind % len(NAMES)], _put_right(file) if kind & 8 else file
    try:
        fit = published.judged(file, name)
    except Unfit as unfit:
        said = str(unfit)
        assert unfit.message and unfit.hint and said.isprintable() and len(said) < 500, said
        return 0
    assert f".{fit.kind}" == name[1:]
    # A letter of a drawing may leave as `&quot;` or `&#10;`; a colour profile that was packed leaves unpacked.
    unpacked = drawings.MOST_INSIDE * 4 // 3 if b"data:image/png" in file else pictures.MOST_PROFILE * (b"iCCP" in file)
    assert len(fit.content) <= (6 * len(file) if fit.kind == "svg" else len(file)) + unpacked + 2_000, len(fit.content)
    assert fit.size is None or (0 < fit.size.width <= 2**32 and 0 < fit.size.height <= 2**32)
    assert published.judged(fit.content, name) == fit, "another time another file"
    looked: dict[str, Callable[[bytes], None]] = {"jpg": _jpeg, "png": _png, "webp": _webp, "svg": _drawing}
    if fit.kind in looked:
        looked[fit.kind](fit.content)
    if fit.kind in ("csv", "ics", "txt"):
        assert fit.content == file and "\0" not in file.decode("utf-8-sig")
    if fit.kind == "pdf":
        assert len(fit.content) == len(file)
    return len(fit.content)


def _put_right(file: bytes) -> bytes:
    """A picture that was changed, with the length and the sums that a reader would refuse it for."""
    if file.startswith(b"RIFF"):
        return b"RIFF" + struct.pack("<I", len(file[8:])) + file[8:]
    if not file.startswith(b"\x89PNG"):
        return file
    out, at = [file[:8]], 8
    while at + 12 <= len(file):
        length, name = struct.unpack_from(">I4s", file, at)
        out.append(chunk(name, file[at + 8 : at + 8 + length]))
        at += 12 + length
    return b"".join(out)


# --- what a picture may hold, told by a walk of the tests' own ---------------------------------------------------------


def _jpeg(content: bytes) -> None:
    at = 2
    assert content[:2] == b"\xff\xd8" and content[-2:] == b"\xff\xd9"
    while (marker := content[at + 1]) != 0xD9:
        (length,) = struct.unpack_from(">H", content, at + 2)
        held = content[at + 4 : at + 2 + length]
        assert content[at] == 0xFF
        if marker == 0xE0:
            assert held.startswith(b"JFIF\0") and len(held) == 14 and held[12:] == b"\0\0"
        elif marker == 0xE1:  # the orientation: one entry, and nothing behind it
            assert len(held) == 32 and held[:18] == b"Exif\0\0MM\0\x2a\0\0\0\x08\0\1\1\x12"
        elif marker == 0xE2:
            assert held.startswith(b"ICC_PROFILE\0")
        elif marker == 0xEE:
            assert held.startswith(b"Adobe") and len(held) == 12
        else:
            assert 0xC0 <= marker <= 0xDD, hex(marker)
        at += 2 + length
        if marker == 0xDA:
            while content[at] != 0xFF or content[at + 1] in (0, *range(0xD0, 0xD8), 0xFF):
                at += 1
    assert at + 2 == len(content)


SHOWN = b"IHDR PLTE tRNS cHRM gAMA sBIT sRGB cICP mDCV cLLI bKGD pHYs acTL fcTL IDAT fdAT iCCP eXIf IEND".split()


def _png(content: bytes) -> None:
    at, name = 8, b""
    while name != b"IEND":
        length, name = struct.unpack_from(">I4s", content, at)
        assert name in SHOWN, name
        if name == b"eXIf":
            assert length == 26 and content[at + 8 : at + 20] == b"MM\0\x2a\0\0\0\x08\0\1\1\x12"
        at += 12 + length
    assert at == len(content)


def _webp(content: bytes) -> None:
    at = 12
    assert struct.unpack_from("<I", content, 4) == (len(content) - 8,)
    while at < len(content):
        name, length = struct.unpack_from("<4sI", content, at)
        assert name in (b"VP8X", b"VP8 ", b"VP8L", b"ALPH", b"ANIM", b"ANMF", b"ICCP", b"EXIF"), name
        if name == b"EXIF":
            assert length == 26
        at += 8 + length + length % 2
    assert at == len(content)


def _drawing(content: bytes) -> None:
    for element in ElementTree.fromstring(content).iter():
        space, _, name = element.tag.rpartition("}")
        assert space == "{http://www.w3.org/2000/svg"
        assert name.lower() not in ("script", "foreignobject", "metadata", "animate", "set", "iframe"), name
        for key, value in element.attrib.items():
            assert not key.lower().startswith("on") and not key.endswith("}href"), key
            if key == "href":
                assert value.startswith(("#", "data:image/")), value
            assert "javascript:" not in value.lower() or key in ("id", "class", "lang", "aria-label")
        assert name != "style" or not any(way in (element.text or "").lower() for way in ("@import", "url(h", "\\"))


# --- files to start from -----------------------------------------------------------------------------------------------


def chunk(name: bytes, held: bytes) -> bytes:
    """A chunk of a PNG picture."""
    return struct.pack(">I", len(held)) + name + held + struct.pack(">I", zlib.crc32(name + held))


def picture(kind: str, orientation: int = 6, **more: object) -> bytes:
    """A small picture with all that may be written into one of its kind."""
    about = Image.Exif()
    about[0x010F], about[0x0112] = MARK, orientation
    about.get_ifd(0x8825)[29] = MARK
    out = io.BytesIO()
    Image.new("RGB", (16, 8), "red").save(out, kind, exif=about, **more)
    return out.getvalue()


def tags(count: int, length: int) -> bytes:
    """A colour profile all of whose tags begin one behind the other and go to its end."""
    made = bytearray(length)
    made[8], made[36:40], made[128:132] = 4, b"acsp", struct.pack(">I", count)
    for tag in range(count):
        at = 132 + 12 * count + 8 * tag
        made[132 + 12 * tag : 144 + 12 * tag] = struct.pack(">4sII", b"A2B0", at, length - at)
        made[at : at + 4] = b"mft1"
    return bytes(made)


def _seeds() -> list[bytes]:
    colours = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    info = PngInfo()
    info.add_text("Author", MARK)
    info.add_itxt("XML:com.adobe.xmp", MARK)
    png = picture("PNG", pnginfo=info, icc_profile=colours)
    wide = picture("PNG", icc_profile=tags(4, 2_000))
    moving = picture("WEBP", save_all=True, append_images=[Image.new("RGB", (16, 8), "blue")], xmp=MARK.encode())
    drawing = (
        f'<svg {SVG} viewBox="0 0 10 5" width="10px"><title>a</title><defs><g id="a"><path d="M0 0L1 1"/></g></defs>'
        f'<use href="#a"/><style>path {{ fill: red }}</style><metadata>{MARK}</metadata><text x="1">&lt;b</text></svg>'
    )
    inner = f'<svg {SVG}><image xlink:href="data:image/png;base64,{base64.b64encode(wide).decode()}"/></svg>'
    pdf = (
        b"%PDF-1.4\n1 0 obj <</Author ("
        + MARK.encode()
        + b") /Title <414243>>> endobj\n2 0 obj <</Type/ObjStm/Length 20>> "
        b"stream\n" + zlib.compress(b"3 0 <</A/B>>") + b"\nendstream endobj\ntrailer <</Info 1 0 R>>\n%%EOF"
    )
    files = (
        (0, picture("JPEG", comment=MARK.encode(), xmp=MARK.encode(), icc_profile=colours)),
        (0, picture("JPEG", progressive=True, restart_marker_blocks=1)),
        (1, png),
        (1, wide),
        (1, picture("PNG", icc_profile=tags(90, 40_000))),
        (2, picture("WEBP", lossless=True, icc_profile=tags(2, 500))),
        (2, moving),
        (3, drawing.encode()),
        (3, inner.encode()),
        (4, pdf),
        (5, b'a,b\n1,-2\n\'x,"y"\n'),
        (6, b"BEGIN:VCALENDAR\nEND:VCALENDAR\n"),
        (7, b"plain\n"),
    )
    return [bytes((number + more,)) + file for number, file in files for more in (0, 8)]


WORDS = (
    b"\xff\xd8", b"\xff\xd9", b"\xff\xda\0\x02", b"\xff\xe1\0\x10Exif\0\0", b"\xff\xe2", b"\xff\xfe\0\x02", b"\xff\xdb\0\x43",
    b"\0\0\0\0tEXt", b"\0\0\0\0IDAT", b"\0\0\0\0abCd", chunk(b"abCd", b""), chunk(b"gAMA", b"abcd"), b"acsp", b"mft1", b"A2B0", b"curv",
    b"ABCD\0\0\0\0", b"ANMF", b"EXIF\x04\0\0\0", b"VP8X",
    b"<g>", b"</g>", b"<a ", b'<use href="#a"/>', b"<![CDATA[", b"]]>", b"<!--", b"-->", b"<?x", b'id="', b"viewBox=\"", b'style="', b"url(",
    b"onload=", b"javascript:", b"&#10;", b"&amp;", b"\n", b" ", b"1e999", b"xml:space=", b"xmlns=\"\"", b"data:image/png;base64,",
    b" obj ", b" endobj ", b"/Info 1 0 R", b">>stream\n", b"endstream", b"/#4a#53", b"/ObjStm", b"<?xpacket begin", b"?>", b"<?xpacket end",
    b"\\)", b"((", b"))", b"/Author(", b"D:2026", b"%%EOF", b"=1", b",@", b"-x(", b";", b"\"", b"\xef\xbb\xbf",
)  # fmt: skip

TARGET = Target(check, _seeds(), WORDS, seconds=1.5, longest=1_000_000)

if __name__ == "__main__":
    run(TARGET, "Fuzz what judges and cleans files that are published.")
