"""Photos in the sizes that pages show: upright, named by what is in them, and kept from one build to the next.

Pillow makes them: to resize a JPEG takes a decoder and an encoder, which nobody should write anew. It is loaded only where a
copy is really made, and gets only what `pictures` has cleaned.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import re
from pathlib import Path

from msgspec import Struct

from gasdoc.published.unfit import PictureSize, Unfit

SIDES = (480, 960, 1600)
"""The longer side of the copies in pixels: a phone, a page, the whole screen (our choice)."""

QUALITY = 70
"""Of JPEG and WebP copies, of 100: joints and plates stay readable (our choice)."""

FORM = 1
"""Goes up when the copies are made in another way, so that none kept before is taken."""


class Copy(Struct, frozen=True):
    """A copy of a picture: its place in the site, its width and height in pixels."""

    place: str
    width: int
    height: int


def copies(path: str, kind: str, content: bytes, size: PictureSize) -> tuple[Copy, ...]:
    """The copies of a cleaned picture, the smallest first; never larger than the picture is."""
    stem = re.sub(r"[^a-z0-9]+", "-", path.rpartition("/")[2].rpartition(".")[0].lower()).strip("-") or "photo"
    mark = hashlib.sha256(b"%d " % FORM + content).hexdigest()[:12]
    longest = max(size.width, size.height)
    found = []
    for side in sorted({min(side, longest) for side in SIDES}):
        width, height = (max(1, round(edge * side / longest)) for edge in (size.width, size.height))
        found.append(Copy(f"photos/{stem[:40]}-{mark}-{width}.{kind}", width, height))
    return tuple(found)


def made(copy: Copy, content: bytes) -> bytes:
    """The bytes of a copy of a cleaned picture, from an earlier build where they are kept. Raises Unfit for a picture that
    cannot be read."""
    kept = _store() / copy.place.rpartition("/")[2]
    with contextlib.suppress(OSError):
        return kept.read_bytes()
    smaller = _resized(content, copy)
    with contextlib.suppress(OSError):  # it is made again next time
        kept.parent.mkdir(parents=True, exist_ok=True)
        beside = kept.with_suffix(f".{os.getpid()}")
        beside.write_bytes(smaller)
        beside.replace(kept)
    return smaller


def _store() -> Path:
    """Where copies are kept: the user's, not the project's, so that no stranger's project can bring its own."""
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "gasdoc" / "photos"


def _resized(content: bytes, copy: Copy) -> bytes:
    from PIL import Image, ImageOps  # noqa: PLC0415  # only where a copy is made: no check waits for it

    try:
        with Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "WEBP")) as opened:
            form, colours = opened.format, opened.info.get("icc_profile")
            longest = max(copy.width, copy.height)
            opened.draft("RGB", (longest, longest))  # a JPEG is read at half its size and less: five times as fast
            upright = ImageOps.exif_transpose(opened)
            if upright.mode == "P":
                upright = upright.convert("RGBA")
            smaller = upright.resize((copy.width, copy.height), Image.Resampling.LANCZOS)
            out = io.BytesIO()
            more = {"icc_profile": colours} if colours else {}
            smaller.info.clear()
            smaller.save(out, form, quality=QUALITY, optimize=True, progressive=True, exif=b"", **more)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError) as error:
        raise Unfit("is damaged or not whole", "copy it again from where it was taken, or save it again") from error
    return out.getvalue()
