"""What a camera writes into a picture does not reach the site, and the picture does: held against an imaging library."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageOps
from PIL.PngImagePlugin import PngInfo

from gasdoc.report.pictures import PictureError, Size, cleaned, size

SECRETS = (b"SECRET-MAKER", b"SECRET-ARTIST", b"SECRET-XMP", b"SECRET-COMMENT", b"SECRET-PNG", b"SECRET-TAIL")
ROOT = Path(__file__).parent.parent.parent


def picture() -> Image.Image:
    """Not square, and no two corners alike, so that a turn shows."""
    image = Image.new("RGB", (120, 80), "white")
    image.paste("red", (0, 0, 40, 20))
    image.paste("blue", (100, 60, 120, 80))
    return image


def exif(orientation: int | None) -> Image.Exif:
    made = Image.Exif()
    made[0x010F] = "SECRET-MAKER"
    made[0x013B] = "SECRET-ARTIST"
    if orientation is not None:
        made[0x0112] = orientation
    made.get_ifd(0x8825)[1] = "N"
    return made


def saved(kind: str, orientation: int | None = None, **more: Any) -> bytes:
    out = io.BytesIO()
    if kind == "JPEG":
        more = {"comment": b"SECRET-COMMENT", "xmp": b"<x>SECRET-XMP</x>", "icc_profile": b"PROFILE" * 9} | more
    if kind == "PNG":
        info = PngInfo()
        info.add_text("Author", "SECRET-PNG")
        info.add_itxt("XML:com.adobe.xmp", "SECRET-XMP")
        more = {"pnginfo": info} | more
    if kind == "WEBP":
        more = {"xmp": b"<x>SECRET-XMP</x>", "lossless": True} | more
    picture().save(out, kind, exif=exif(orientation), **more)
    return out.getvalue()


def opened(raw: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(raw))
    image.load()
    return image


KINDS: list[tuple[str, dict[str, Any]]] = [
    ("JPEG", {}),
    ("JPEG", {"progressive": True}),
    ("JPEG", {"restart_marker_blocks": 1}),
    ("PNG", {}),
    ("WEBP", {}),
    ("WEBP", {"lossless": False}),
]


@pytest.mark.parametrize(("kind", "more"), KINDS)
def test_what_the_camera_wrote_is_gone_and_the_picture_is_the_same(kind: str, more: dict[str, Any]) -> None:
    raw = saved(kind, **more)
    assert any(secret in raw for secret in SECRETS)
    clean = cleaned(raw)
    assert not any(secret in clean for secret in SECRETS)
    assert not opened(clean).getexif()
    assert ImageChops.difference(opened(clean).convert("RGB"), opened(raw).convert("RGB")).getbbox() is None


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_photo_stays_the_right_way_up(orientation: int) -> None:
    raw = saved("JPEG", orientation)
    clean = cleaned(raw)
    assert set(opened(clean).getexif()) <= {0x0112}
    one, other = (ImageOps.exif_transpose(opened(data)) for data in (raw, clean))
    assert one is not None and other is not None
    assert one.size == other.size and ImageChops.difference(one, other).getbbox() is None
    assert size(raw) == size(clean) == Size(*one.size)


def test_the_colour_profile_stays() -> None:
    assert opened(cleaned(saved("JPEG"))).info["icc_profile"] == b"PROFILE" * 9


def test_a_second_picture_or_a_film_behind_the_first_is_cut_off() -> None:
    clean = cleaned(saved("JPEG") + saved("JPEG") + b"SECRET-TAIL")
    assert clean == cleaned(saved("JPEG")) and b"SECRET-TAIL" not in clean


@pytest.mark.parametrize(("kind", "more"), KINDS)
def test_cleaning_twice_changes_nothing_more(kind: str, more: dict[str, Any]) -> None:
    clean = cleaned(saved(kind, 6, **more))
    assert cleaned(clean) == clean


def test_other_files_are_left_as_they_are() -> None:
    for raw in (b"", b"GIF89a\x01\x00\x02\x00", b"<svg/>", b"%PDF-1.7"):
        assert cleaned(raw) == raw


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "GIF"])
def test_the_size_is_that_of_the_picture(kind: str) -> None:
    out = io.BytesIO()
    picture().save(out, kind)
    assert size(out.getvalue()) == Size(120, 80)


@pytest.mark.parametrize(
    ("svg", "expected"),
    [
        ('<svg xmlns="x" viewBox="0 0 360 290">', Size(360, 290)),
        ("<svg viewBox='-5,-5,100.4,50'>", Size(100, 50)),
        ('<?xml version="1.0"?>\n<svg\n width="30px" height="40">', Size(30, 40)),
        ('<svg width="100%" height="100%" viewBox="0 0 12 8">', Size(12, 8)),
        ('<svg width="100%" height="100%">', None),
        ('<svg viewBox="0 0 0 0">', None),
        ("not a drawing", None),
    ],
)
def test_the_size_of_a_drawing(svg: str, expected: Size | None) -> None:
    assert size(svg.encode()) == expected


def test_every_drawing_of_the_examples_has_a_size() -> None:
    found = sorted((ROOT / "specs").glob("*/*.svg"))
    assert found and all(size(path.read_bytes()) for path in found)


def broken() -> Iterator[bytes]:
    for kind in ("JPEG", "PNG", "WEBP"):
        raw = saved(kind)
        yield raw[:30]
        yield raw[: len(raw) // 8]


@pytest.mark.parametrize(
    "raw", [b"\xff\xd8", b"\xff\xd8\xff\xe1\x00", b"\xff\xd8hello", b"\xff\xd8\xff\xd9", *broken()]
)
def test_a_file_that_is_not_whole_is_refused(raw: bytes) -> None:
    with pytest.raises(PictureError):
        cleaned(raw)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from([saved("JPEG", 6), saved("PNG"), saved("WEBP"), b'<svg viewBox="0 0 1 1">']), st.data())
def test_no_damage_ends_in_another_error(raw: bytes, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(raw) - 1))
    cut = data.draw(st.integers(at, len(raw)))
    damaged = raw[:at] + data.draw(st.binary(max_size=6)) + raw[cut:]
    size(damaged)
    try:
        cleaned(damaged)
    except PictureError:
        pass
