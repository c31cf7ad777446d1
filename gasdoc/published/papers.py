"""Files that are read and not looked at: text (txt, csv, ics) and PDF."""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator
from functools import lru_cache
from itertools import islice

from gasdoc.published.unfit import Unfit

Doubt = tuple[str, str]
"""A warning about a file that is published, and what to do."""

# --- text -----------------------------------------------------------------------------------------------------------

_CONTROL = re.compile("[\x00-\x08\x0b\x0e-\x1f\x7f-\x9f]")
_CELL = re.compile(r"(?:^|[,;\t])[ \"']*+(?:[=@]|[+-][^,;\t\n]*[(|!])", re.MULTILINE)


def text(raw: bytes, ending: str) -> bytes:
    """A text file as it is. Raises Unfit, with the line, when it is none, or when a spreadsheet would run what is in it."""
    try:
        found = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise Unfit(f"is no UTF-8 text in its line {line}", "save it as UTF-8") from None
    wrong = _CONTROL.search(found)
    if wrong:
        raise Unfit(f"has a control character in its line {_line(found, wrong.start())}", "save it as plain text")
    if ending == "ics" and not found.lstrip().upper().startswith("BEGIN:VCALENDAR"):
        raise Unfit("is no calendar: it does not begin with BEGIN:VCALENDAR", "export it again from the calendar")
    formula = _CELL.search(found) if ending == "csv" else None
    if formula:
        raise Unfit(
            f"has a formula in its line {_line(found, formula.end())}, which a spreadsheet would run",
            "save its values instead",
        )
    return raw


def _line(text: str, at: int) -> int:
    return text.count("\n", 0, at) + 1


# --- PDF (ISO 32000-1) ----------------------------------------------------------------------------------------------

MOST_UNPACKED = 64_000_000
"""Most bytes that are unpacked to look into a PDF (our choice)."""

MOST_STREAMS = 100_000
"""Most streams of a PDF, each of which is looked at (our choice)."""

_STREAM = re.compile(rb">>\s{0,9}stream\r?\n")
_ESCAPED = re.compile(rb"/[A-Za-z]{0,20}(?:#[0-9A-Fa-f]{2}[A-Za-z]{0,20}){1,20}")
_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")
_ACTIVE = re.compile(rb"/(JavaScript|JS|Launch|EmbeddedFiles?|RichMedia|Movie|XFA|Encrypt)(?![A-Za-z0-9])")
_ACTIVE_ANYWHERE = re.compile(rb"/(JavaScript|Launch|EmbeddedFiles?|RichMedia)(?![A-Za-z0-9])")
"""Those that are too long to stand in packed bytes by chance."""
_WHAT = {
    b"Launch": "a program to start",
    b"EmbeddedFile": "a file packed into it",
    b"EmbeddedFiles": "a file packed into it",
    b"RichMedia": "a film or a program",
    b"Movie": "a film",
    b"XFA": "a form that runs",
}
_INFORMATION = re.compile(rb"/Info\s{0,9}(\d{1,10})\s{1,9}(\d{1,5})\s{1,9}R")
_TELLS = re.compile(
    rb"/(?:Author|Creator|CreationDate|ModDate)\s{0,9}(?:[(<]\s{0,99}[^\s)>]|\d)|D:(?:19|20)\d\d|<x:xmpmeta|Exif\0\0"
)
_STRING = re.compile(rb"\((?:[^()\\]|\\.|\((?:[^()\\]|\\.|\((?:[^()\\]|\\.)*+\))*+\))*+\)|<[0-9A-Fa-f\s]*+>", re.DOTALL)
_MOST_SAVED = 20  # times a PDF was saved with what stood in it before kept


def pdf(raw: bytes) -> tuple[bytes, Doubt | None]:
    """A PDF without what its information block says of who made it and when, and a warning where more of that may be in it.

    Places in a PDF are counted in bytes, so what is taken out is overwritten with spaces. Raises Unfit for a PDF that is
    locked, not whole, or holds what runs, as far as its objects can be read.
    """
    content = _without_information(raw)
    if b"%%EOF" not in content[-2048:]:
        raise Unfit("is a PDF that is not whole", "save or copy it again")
    outside, inside, *packed = _objects(content)
    # A string can look like the beginning of a stream, and what follows like the stream: so names are looked for there, too.
    for names, part in ((_ACTIVE, outside), (_ACTIVE_ANYWHERE, inside), *((_ACTIVE, part) for part in packed)):
        active = names.search(_ESCAPED.sub(_plain_name, part))
        if active is not None and active[1] == b"Encrypt":
            raise Unfit("is a locked PDF, and nobody can look into it", "save it without a password")
        if active is not None:
            raise Unfit(f"is a PDF with {_WHAT.get(active[1], 'a script')}", "print it to a new PDF")
    if _TELLS.search(content) or any(map(_TELLS.search, packed)):
        return content, (
            "is published with what it says of who made it, where or when",
            "print it to a new PDF without author and photos, or leave it out",
        )
    return content, None


def _plain_name(name: re.Match[bytes]) -> bytes:
    return _plain(name[0])


@lru_cache(maxsize=1024)
def _plain(name: bytes) -> bytes:
    return _ESCAPE.sub(lambda code: bytes((int(code[1], 16),)), name)


def _objects(raw: bytes) -> Iterator[bytes]:
    """What stands outside the streams of a PDF, what stands in them, and then what is packed in those that hold objects or say
    who made it."""
    outside: list[bytes] = []
    inside: list[bytes] = []
    packed: list[bytes] = []
    at = end = taken = 0
    for number, stream in enumerate(_STREAM.finditer(raw)):
        if number >= MOST_STREAMS:
            raise Unfit(f"is a PDF with more than {MOST_STREAMS:,} streams", "print it to a new, smaller PDF")
        if stream.start() >= end:
            outside.append(raw[end : stream.end()])
            end = raw.find(b"endstream", stream.end())
            end = len(raw) if end < 0 else end
            inside.append(raw[stream.end() : end])
        head = raw[max(at, stream.start() - 2000) : stream.start()]
        head = _ESCAPED.sub(_plain_name, head[head.rfind(b" obj") + 1 :])
        if b"/ObjStm" in head or b"/Metadata" in head:
            packed.append(raw[stream.end() : end])
            taken += len(packed[-1])
            if taken > MOST_UNPACKED:  # streams that begin one in the other
                raise Unfit(
                    "is a PDF that unpacks to more than can be looked through", "print it to a new, smaller PDF"
                )
        at = stream.end()
    outside.append(raw[end:])
    yield b"".join(outside)
    yield b"\n".join(inside)
    left = MOST_UNPACKED
    for part in packed:
        if part.lstrip().startswith(b"<"):  # a description in XMP, not packed
            continue
        try:
            text = zlib.decompressobj().decompress(part, left)
        except zlib.error:
            raise Unfit("is a PDF that cannot be looked into", "print it to a new PDF") from None
        left -= len(text)
        if left <= 0:
            raise Unfit("is a PDF that unpacks to more than can be looked through", "print it to a new, smaller PDF")
        yield text


def _without_information(raw: bytes) -> bytes:
    """The strings of the information block overwritten, and a description in XMP that is not packed."""
    out = bytearray(raw)
    for number, generation in list(dict.fromkeys(_INFORMATION.findall(raw)))[:_MOST_SAVED]:
        blocks = re.finditer(rb"(?<!\d)" + number + rb"\s{1,9}" + generation + rb"\s{1,9}obj\b", raw)
        for block in islice(blocks, _MOST_SAVED):
            end = raw.find(b"endobj", block.end())
            for string in _STRING.finditer(raw, block.end(), end if end >= 0 else len(raw)):
                _blank(out, string.start() + 1, string.end() - 1)
    at = 0
    while (begin := raw.find(b"<?xpacket begin", at)) >= 0 and (end := raw.find(b"<?xpacket end", begin)) >= 0:
        _blank(out, raw.find(b"?>", begin, end) + 2, end)
        at = end
    return bytes(out)


def _blank(out: bytearray, start: int, end: int) -> None:
    if 2 <= start < end:
        out[start:end] = b" " * (end - start)
