"""Whether a file may be published, told by what is in it and not by its name, and the bytes that are published."""

from __future__ import annotations

from msgspec import Struct

from gasdoc.published import drawings, heic, papers, pictures
from gasdoc.published.papers import Doubt
from gasdoc.published.unfit import PictureSize, Unfit

MOST_BYTES = 32_000_000
"""The largest file that is published: above what a phone's camera writes for one photo (our choice)."""

ENDINGS = {
    "jpg": (".jpg", ".jpeg"),
    "png": (".png",),
    "webp": (".webp",),
    "svg": (".svg",),
    "csv": (".csv",),
    "txt": (".txt",),
    "ics": (".ics",),
    "pdf": (".pdf",),
}
"""The kinds of files that are published, each with the endings its name may have."""

_LISTED = "published are jpg, png, webp, svg, csv, txt, ics and pdf"
_AS_PICTURE = "save it as JPEG or PNG"
_STILL = "published is no film. Link a picture of it, save that as JPEG"
_BRANDS = (
    (("avif", "avis"), "an AVIF picture", "save it as JPEG"),
    (("crx ", "cr3 "), "a camera's raw picture", "save it as JPEG"),
)
_BEGINNINGS = (
    (b"II*\0", "a TIFF or raw picture", "save it as JPEG"),
    (b"MM\0*", "a TIFF or raw picture", "save it as JPEG"),
    (b"GIF8", "a GIF picture", "save it as PNG"),
    (b"BM", "a BMP picture", _AS_PICTURE),
    (b"\0\0\1\0", "an icon", _AS_PICTURE),
    (b"\xff\x0a", "a JPEG XL picture", "save it as JPEG"),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture", "save it as JPEG"),
    (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture", "save it as JPEG"),
    (b"8BPS", "a picture program's own file", _AS_PICTURE),
    (b"\x1aE\xdf\xa3", "a film", _STILL),
    (b"\0\0\1\xba", "a film", _STILL),
    (b"PK\3\4", "a packed or office file", "save it as PDF"),
    (b"\xd0\xcf\x11\xe0", "an office file", "save it as PDF"),
    (b"\x1f\x8b", "a packed file", _LISTED),
)


class Publishable(Struct, frozen=True):
    """A file that may be published: its kind, the bytes that leave, how large a picture is (None where that is not told, or
    it is none), and a warning. One that leaves in copies only has none of those bytes a reader may get."""

    kind: str
    content: bytes
    size: PictureSize | None = None
    doubt: Doubt | None = None
    copies_only: bool = False


def judged(raw: bytes, name: str) -> Publishable:
    """What is published of a file with this name. Raises Unfit where nothing is."""
    if not raw:
        raise Unfit("is empty", "copy it again from where it came from")
    if len(raw) > MOST_BYTES:
        raise Unfit(f"is larger than {MOST_BYTES // 1_000_000} MB", "save it smaller")
    ending = name[name.rfind(".") :].lower() if "." in name.rpartition("/")[2] else ""
    if heic.is_one(raw):
        return _heic(raw, ending)
    kind = pictures.kind(raw)
    if kind is None:
        kind = "pdf" if raw.startswith(b"%PDF-") else "svg" if drawings.looks_like_one(raw) else None
    if kind is None:
        kind = next((text for text in ("csv", "txt", "ics") if ending in ENDINGS[text]), None)
        if kind is None or _what_it_is(raw) is not None:
            raise _unknown(raw, ending)
    elif ending not in ENDINGS[kind]:
        raise Unfit(f"is {_NAMES[kind]} by what is in it", f"let its name end in {ENDINGS[kind][0]}")
    if kind in ("jpg", "png", "webp"):
        content, size = pictures.cleaned(raw)
        return Publishable(kind, content, size)
    if kind == "svg":
        return Publishable(kind, *drawings.cleaned(raw))
    if kind == "pdf":
        content, doubt = papers.pdf(raw)
        return Publishable(kind, content, doubt=doubt)
    return Publishable(kind, papers.text(raw, kind))


def _heic(raw: bytes, ending: str) -> Publishable:
    """A HEIC picture: it leaves in copies only, and where it can be read."""
    if not heic.can_read():
        raise Unfit("is a HEIC picture", "save it as JPEG, or run 'pip install pi-heif' so that gasdoc can read it")
    if ending not in (".heic", ".heif"):
        raise Unfit("is a HEIC picture by what is in it", "let its name end in .heic")
    size = heic.size(raw)
    if size.width * size.height > pictures.MOST_PIXELS:
        raise Unfit(f"has more than {pictures.MOST_PIXELS // 1_000_000} million pixels", "save it smaller")
    return Publishable("heic", raw, size, copies_only=True)


_NAMES = {
    "jpg": "a JPEG picture",
    "png": "a PNG picture",
    "webp": "a WebP picture",
    "svg": "a drawing",
    "pdf": "a PDF",
}


def _unknown(raw: bytes, ending: str) -> Unfit:
    what, remedy = _what_it_is(raw) or ("", "")
    if what:
        return Unfit(f"is {what}", remedy)
    if any(ending in endings for endings in ENDINGS.values()):
        return Unfit(f"is no whole {ending.removeprefix('.').upper()} file", "save it again, or copy it again")
    return Unfit("is of a kind that is not published", _LISTED)


def _what_it_is(raw: bytes) -> tuple[str, str] | None:
    """What a file is that is not published, and what to do; None where that is not known."""
    if raw[4:8] == b"ftyp":
        brands = raw[8:12].decode("latin-1") + raw[16:64].decode("latin-1")
        for names, what, remedy in _BRANDS:
            if raw[8:12].decode("latin-1") in names or (names[0] in brands and raw[8:12] in (b"mif1", b"msf1")):
                return what, remedy
        return "a film", _STILL
    if raw[:4] == b"RIFF":
        return ("a film", _STILL) if raw[8:12] == b"AVI " else ("no whole picture", _AS_PICTURE)
    found = next(((what, remedy) for begin, what, remedy in _BEGINNINGS if raw.startswith(begin)), None)
    if found is not None and found[0] == "a BMP picture" and raw[6:10] != bytes(4):
        return None  # text that begins with these two letters
    return found
