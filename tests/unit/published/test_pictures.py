"""What a camera writes into a picture does not reach the site, and the picture does: held against an imaging library."""

from __future__ import annotations

import base64
import io
import struct
import time
import zlib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageCms, ImageOps
from PIL.PngImagePlugin import PngInfo
from properties import tries

from gasdoc.published import PictureSize, Publishable, Unfit, heic, judged
from gasdoc.published import pictures as own

ENDING = {"JPEG": "a.jpg", "PNG": "a.png", "WEBP": "a.webp"}


def cleaned(raw: bytes) -> bytes:
    return own.cleaned(raw)[0]


def size(raw: bytes) -> PictureSize:
    return own.cleaned(raw)[1]


SECRETS = (b"SECRET-MAKER", b"SECRET-ARTIST", b"SECRET-XMP", b"SECRET-COMMENT", b"SECRET-PNG", b"SECRET-TAIL")
PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
LAB = ImageCms.createProfile("LAB")


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
        more = {"comment": b"SECRET-COMMENT", "xmp": b"<x>SECRET-XMP</x>", "icc_profile": PROFILE} | more
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
    assert size(raw) == size(clean) == PictureSize(*one.size)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_colours_of_a_profile_stay_and_who_made_it_goes(kind: str) -> None:
    secret = "SECRET-PROFIL".encode("utf-16-be")
    raw = saved(kind, icc_profile=PROFILE.replace("sRGB built-in".encode("utf-16-be"), secret))
    assert secret in opened(raw).info["icc_profile"]
    there = opened(cleaned(raw)).info["icc_profile"]
    assert secret not in there and there[24:36] == bytes(12) and there[48:56] == bytes(8)
    before, after = (
        ImageCms.applyTransform(
            picture(), ImageCms.buildTransform(ImageCms.ImageCmsProfile(io.BytesIO(p)), LAB, "RGB", "LAB")
        )
        for p in (PROFILE, there)
    )
    assert before is not None and after is not None
    assert ImageChops.difference(before, after).getbbox() is None


@pytest.mark.parametrize("profile", [b"PROFILE" * 9, b"", b"\0" * 36 + b"acsp" + b"\xff" * 200])
def test_a_profile_that_is_none_goes(profile: bytes) -> None:
    assert "icc_profile" not in opened(cleaned(saved("JPEG", icc_profile=profile))).info


def running_into_each_other(tags: int, length: int) -> bytes:
    """A profile each of whose tags goes to its end: together they take the length times their number."""
    made = bytearray(length)
    made[8], made[36:40], made[128:132] = 4, b"acsp", struct.pack(">I", tags)
    for tag in range(tags):
        at = 132 + 12 * tags + 8 * tag
        made[132 + 12 * tag : 144 + 12 * tag] = struct.pack(">4sII", b"A2B0", at, length - at)
        made[at : at + 4] = b"mft1"
    return bytes(made)


def test_a_profile_does_not_leave_larger_than_it_came() -> None:
    assert "icc_profile" in opened(cleaned(saved("PNG", icc_profile=running_into_each_other(1, 100_000)))).info
    raw = saved("PNG", icc_profile=running_into_each_other(90, 100_000))
    assert len(raw) < 5_000
    assert len(cleaned(raw)) < 5_000


def test_the_pictures_inside_a_drawing_are_bounded_as_they_leave() -> None:
    packed = base64.b64encode(saved("PNG", icc_profile=running_into_each_other(1, 3_000_000))).decode()
    image = f'<image href="data:image/png;base64,{packed}"/>'
    drawing = '<svg xmlns="http://www.w3.org/2000/svg">%s</svg>'
    assert isinstance(judged((drawing % image).encode(), "a.svg"), Publishable)
    with pytest.raises(Unfit, match="has pictures inside it of more than 16 MB"):
        judged((drawing % (image * 9)).encode(), "a.svg")


def test_a_second_picture_or_a_film_behind_the_first_is_cut_off() -> None:
    clean = cleaned(saved("JPEG") + saved("JPEG") + b"SECRET-TAIL")
    assert clean == cleaned(saved("JPEG")) and b"SECRET-TAIL" not in clean


@pytest.mark.parametrize(("kind", "more"), KINDS)
def test_cleaning_twice_changes_nothing_more(kind: str, more: dict[str, Any]) -> None:
    clean = cleaned(saved(kind, 6, **more))
    assert cleaned(clean) == clean


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_size_is_that_of_the_picture(kind: str) -> None:
    out = io.BytesIO()
    picture().save(out, kind)
    assert size(out.getvalue()) == PictureSize(120, 80)


def chunk(name: bytes, held: bytes) -> bytes:
    return struct.pack(">I", len(held)) + name + held + struct.pack(">I", zlib.crc32(name + held))


def test_a_chunk_of_a_png_picture_that_nobody_knows_goes() -> None:
    raw = saved("PNG")
    for name in (b"vpAg", b"prVt", b"caNv", b"sPLT", b"gAMA"):  # the last one with more in it than it can hold
        raw = raw[:33] + chunk(name, b"SECRET-TAIL") + raw[33:]
    clean = cleaned(raw + b"SECRET-TAIL")
    assert b"SECRET" not in clean and opened(clean).size == (120, 80)


def test_a_chunk_of_a_webp_picture_that_nobody_knows_goes() -> None:
    moving = io.BytesIO()
    picture().save(moving, "WEBP", save_all=True, append_images=[picture().rotate(180)], exif=exif(6))
    for raw in (saved("WEBP"), moving.getvalue()):
        held = raw[12:] + b"GPS " + struct.pack("<I", 12) + b"SECRET-TAIL\0"
        clean = cleaned(b"RIFF" + struct.pack("<I", len(held) + 4) + b"WEBP" + held)
        assert b"SECRET" not in clean
        assert getattr(opened(clean), "n_frames", 1) == getattr(opened(raw), "n_frames", 1)


def test_a_small_picture_in_a_photo_goes() -> None:
    raw = saved("JPEG")
    jfif = b"\xff\xe0\x00\x1cJFIF\0\x01\x02\x00\x00\x01\x00\x01\x02\x02SECRET-TAIL."
    assert raw[2:4] == b"\xff\xe0" and len(jfif) == 30
    clean = cleaned(raw[:2] + jfif + raw[20:])
    assert b"SECRET" not in clean and opened(clean).size == (120, 80)


@pytest.mark.parametrize("marker", [*range(0xE0, 0xF0), 0xFE])
def test_no_block_of_a_photo_stays_that_a_program_may_fill(marker: int) -> None:
    raw = saved("JPEG")
    block = bytes((0xFF, marker)) + struct.pack(">H", 40) + b"SECRET-TAIL" + bytes(27)
    clean = cleaned(raw[:20] + block + raw[20:])
    assert b"SECRET" not in clean and opened(clean).size == (120, 80)


TEXT = st.text(st.characters(codec="ascii", exclude_categories=["Cc"]), min_size=12, max_size=30)


@tries(120)
@given(st.sampled_from(sorted(ENDING)), st.integers(1, 8), TEXT, st.integers(1, 60), st.integers(1, 60), st.data())
def test_no_word_of_what_describes_a_picture_leaves(
    kind: str, orientation: int, words: str, width: int, height: int, data: st.DataObject
) -> None:
    words = f"MARK{words}"
    image = Image.frombytes(
        "RGB", (width, height), data.draw(st.binary(min_size=3 * width * height, max_size=3 * width * height))
    )
    about = exif(orientation)
    about[0x010E] = about[0x9286] = words
    place = about.get_ifd(0x8825)
    place[29], place[27] = words, words.encode()
    more: dict[str, Any] = {"exif": about, "icc_profile": PROFILE[:-20] + words.encode()[:20].ljust(20)}
    if kind == "JPEG":
        more |= {"xmp": words.encode(), "comment": words.encode(), "progressive": data.draw(st.booleans())}
    elif kind == "WEBP":
        more |= {"xmp": words.encode(), "lossless": data.draw(st.booleans())}
    else:
        info = PngInfo()
        for key in ("Comment", words.strip()[:70] or "x"):
            info.add_text(key, words, zip=data.draw(st.booleans()))
        info.add_itxt("XML:com.adobe.xmp", words, zip=data.draw(st.booleans()))
        info.add(b"prVt", words.encode())
        more |= {"pnginfo": info}
    out = io.BytesIO()
    image.save(out, kind, **more)
    raw = out.getvalue()
    assert words.encode() in raw
    if kind == "JPEG":  # what a picture program writes beside these: captions of the press
        raw = raw[:2] + b"\xff\xed" + struct.pack(">H", len(words) + 16) + b"Photoshop 3.0\0" + words.encode() + raw[2:]
    fit = judged(raw + words.encode(), ENDING[kind])
    assert words.encode() not in fit.content and b"MARK" not in fit.content
    assert words.encode() not in opened(fit.content).info.get("icc_profile", b"")
    one, other = (ImageOps.exif_transpose(opened(found)) for found in (raw, fit.content))
    assert one is not None and other is not None
    assert one.tobytes() == other.tobytes() and fit.size == PictureSize(*one.size)
    assert judged(fit.content, ENDING[kind]) == fit


@pytest.mark.parametrize(
    ("raw", "name", "why", "remedy"),
    [
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "a.jpg", "is a HEIC picture", "save it as JPEG"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "a.HEIC", "is a HEIC picture", "save it as JPEG"),
        (b"\0\0\0\x1cftypavif\0\0\0\0avifmif1", "a.avif", "is an AVIF picture", "save it as JPEG"),
        (b"II*\0" + bytes(20), "a.jpg", "is a TIFF or raw picture", "save it as JPEG"),
        (b"MM\0*" + bytes(20), "a.tif", "is a TIFF or raw picture", "save it as JPEG"),
        (b"GIF89a" + bytes(20), "a.png", "is a GIF picture", "save it as PNG"),
        (b"\0\0\0\x18ftypisom\0\0\0\0isom", "a.mp4", "is a film", "Link a picture of it"),
        (b"\x1aE\xdf\xa3", "a.txt", "is a film", "Link a picture of it"),
        (b"PK\3\4", "a.pdf", "is a packed or office file", "save it as PDF"),
        (b"<html><script>", "a.html", "is of a kind that is not published", "published are jpg"),
        (b"alert(1)", "a.js", "is of a kind that is not published", "published are jpg"),
        (b"alert(1)", "a", "is of a kind that is not published", "published are jpg"),
        (b"hello", "a.jpg", "is no whole JPG file", "save it again"),
        (b"", "a.jpg", "is empty", "copy it again"),
        (saved("JPEG"), "a", "is a JPEG picture by what is in it", "let its name end in .jpg"),
        (saved("JPEG"), "a.txt", "is a JPEG picture by what is in it", "let its name end in .jpg"),
        (saved("PNG"), "a.html", "is a PNG picture by what is in it", "let its name end in .png"),
    ],
)
def test_what_is_not_published_is_told_with_what_to_do(
    raw: bytes, name: str, why: str, remedy: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(heic, "can_read", lambda: False)
    with pytest.raises(Unfit) as caught:
        judged(raw, name)
    assert caught.value.message == why and remedy in caught.value.hint


@pytest.mark.parametrize("name", ["a.jpg", "A.JPG", "x.y/a.jpeg"])
def test_a_photo_by_any_of_its_endings_is_published(name: str) -> None:
    assert isinstance(judged(saved("JPEG"), name), Publishable)


def test_a_picture_too_large_to_be_shown_is_refused() -> None:
    raw = saved("PNG")
    head = raw[16:24].replace(raw[16:24], struct.pack(">II", 60_000, 60_000))
    with pytest.raises(Unfit, match="more than 200 million pixels"):
        judged(raw[:8] + chunk(b"IHDR", head + raw[24:29]) + raw[33:], "a.png")


@pytest.mark.parametrize(
    "raw",
    [
        pytest.param(b"RIFF" + struct.pack("<I", 5_600_004) + b"WEBP" + b"ABCD\0\0\0\0" * 700_000, id="webp chunks"),
        pytest.param(saved("PNG")[:33] + chunk(b"abCd", b"") * 400_000, id="png chunks"),
        pytest.param(b"\xff\xd8" + b"\xff\xfe\0\x02" * 1_000_000, id="jpeg segments"),
        pytest.param(b"\xff\xd8" + b"\xff" * 8_000_000, id="jpeg fill"),
        pytest.param(saved("JPEG")[:-2] + b"\xff" * 8_000_000 + b"\0", id="jpeg fill in the picture"),
        pytest.param(saved("JPEG")[:-2] + b"\xff\0" * 4_000_000 + b"\xff\xd0" * 1_000_000, id="jpeg restarts"),
    ],
)
def test_a_picture_made_to_take_long_is_answered_soon(raw: bytes) -> None:
    start = time.process_time()
    with pytest.raises(Unfit):
        own.cleaned(raw)
    assert time.process_time() - start < 15  # seconds; the walk that copied all it had at each step took over thirty


def broken() -> Iterator[bytes]:
    for kind in ("JPEG", "PNG", "WEBP"):
        raw = saved(kind)
        yield raw[:30]
        yield raw[: len(raw) // 8]
        yield raw[:-6]
        yield raw[: len(raw) - 40]


@pytest.mark.parametrize(
    "raw", [b"\xff\xd8", b"\xff\xd8\xff\xe1\x00", b"\xff\xd8hello", b"\xff\xd8\xff\xd9", *broken()]
)
def test_a_file_that_is_not_whole_is_refused(raw: bytes) -> None:
    with pytest.raises(Unfit):
        cleaned(raw)


@tries(300)
@given(
    st.sampled_from([saved("JPEG", 6), saved("PNG"), saved("WEBP"), b'<svg xmlns="http://www.w3.org/2000/svg"/>']),
    st.data(),
)
def test_no_damage_ends_in_another_error(raw: bytes, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(raw) - 1))
    cut = data.draw(st.integers(at, len(raw)))
    damaged = raw[:at] + data.draw(st.binary(max_size=6)) + raw[cut:]
    try:
        judged(damaged, "a.png")
        own.cleaned(damaged)
    except Unfit:
        pass
