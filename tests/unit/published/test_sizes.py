"""Photos in the sizes that pages show: upright, without what a camera wrote, named by what is in them."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from gasdoc import published
from gasdoc.folder.linked import judge
from gasdoc.published import sizes
from gasdoc.report.content import markdown


def photo(width: int, height: int, *, turned: int = 1, form: str = "JPEG", colour: str = "red") -> bytes:
    """A picture with red on its left half, turned as a camera says it, with place and maker."""
    image = Image.new("RGB", (width, height), "blue")
    image.paste(colour, (0, 0, width // 2, height))
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = turned, "Maker of cameras"
    exif.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    image.save(out, form, exif=exif)
    return out.getvalue()


@pytest.fixture(autouse=True)
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    return tmp_path / "kept" / "gasdoc" / "photos"


def copies(raw: bytes, name: str = "Wall 1.jpg") -> tuple[tuple[sizes.Copy, ...], bytes]:
    fit = published.judged(raw, name)
    assert fit.size is not None
    return sizes.copies(f"hut/{name}", fit.kind, fit.content, fit.size), fit.content


def test_copies_are_upright_and_say_nothing_of_camera_and_place() -> None:
    made, content = copies(photo(2000, 1000, turned=6))  # to be turned a quarter to the right
    assert [(one.width, one.height) for one in made] == [(240, 480), (480, 960), (800, 1600)]
    raw = sizes.made(made[0], content)
    image = Image.open(io.BytesIO(raw)).convert("RGB")
    assert image.size == (240, 480) and not image.getexif() and b"Maker" not in raw
    top, bottom = image.getpixel((120, 60)), image.getpixel((120, 420))
    assert isinstance(top, tuple) and isinstance(bottom, tuple)
    assert top[0] > 200 > top[2] and bottom[2] > 200 > bottom[0]  # the left half lies on top


def test_a_name_goes_by_what_is_in_the_photo_and_a_small_one_is_not_made_larger() -> None:
    one, _ = copies(photo(700, 350))
    other, _ = copies(photo(700, 350, colour="green"))
    assert [c.width for c in one] == [480, 700]
    assert one[0].place.startswith("photos/wall-1-") and one[0].place != other[0].place
    assert [c.width for c in copies(photo(40, 30, form="PNG"), "dot.png")[0]] == [40]


def test_a_copy_that_is_hardly_smaller_than_the_next_is_not_made() -> None:
    # 600 is 1.25 x 480 and 1200 is 1.25 x 960: no more than that spares nobody much
    widths = {width: [c.width for c in copies(photo(width, 10))[0]] for width in (600, 601, 1200, 1201, 4000)}
    assert widths == {600: [600], 601: [480, 601], 1200: [480, 1200], 1201: [480, 960, 1201], 4000: [480, 960, 1600]}


def grainy(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.merge("RGB", [Image.effect_noise((width, height), 45)] * 3).save(out, "JPEG", quality=90)
    return out.getvalue()


def test_a_copy_keeps_to_its_bytes_also_of_a_grainy_photo() -> None:
    made, content = copies(grainy(720, 540))
    plain = io.BytesIO()
    with Image.open(io.BytesIO(content)) as opened:
        opened.resize((480, 360)).save(plain, "JPEG", quality=sizes.QUALITIES[0], optimize=True, progressive=True)
    assert plain.tell() > 33_000 >= len(sizes.made(made[0], content))


def test_a_photo_that_is_small_already_is_shown_as_it_is() -> None:
    made, content = copies(photo(500, 250))
    assert sizes.made(made[-1], content) == content
    turned, content = copies(photo(500, 250, turned=6))
    assert sizes.made(turned[-1], content) != content  # it has to be turned


def test_a_copy_is_kept_from_one_build_to_the_next(store: Path) -> None:
    made, content = copies(photo(800, 400))
    first = sizes.made(made[0], content)
    assert [file.name for file in store.iterdir()] == [made[0].place.removeprefix("photos/")]
    assert sizes.made(made[0], b"not looked at again") == first


def test_a_kept_copy_that_is_not_whole_is_made_again(store: Path) -> None:
    made, content = copies(photo(800, 400))
    first = sizes.made(made[0], content)
    (kept,) = store.iterdir()
    for damaged in (kept.read_bytes()[:-9], b"", first):
        kept.write_bytes(damaged)
        assert sizes.made(made[0], content) == first


def test_what_cannot_be_decoded_is_told() -> None:
    made, content = copies(photo(800, 400))
    with pytest.raises(published.Unfit):
        sizes.made(made[0], content[:200])


def test_a_build_shows_copies_and_a_tap_opens_the_large_one(tmp_path: Path) -> None:
    (tmp_path / "hut").mkdir()
    (tmp_path / "hut" / "wall.jpg").write_bytes(photo(2000, 1000))
    verdict = judge(tmp_path, "hut/wall.jpg")
    assert verdict.leads == verdict.copies[-1].place and "1600" in verdict.leads
    assert verdict.size is not None
    shown = markdown.Shown(verdict.size, tuple((copy.place, copy.width) for copy in verdict.copies))
    html = markdown.to_html("![The wall](hut/wall.jpg)", lambda path: judge(tmp_path, path).leads, lambda path: shown)
    assert f'<a href="{verdict.leads}"><img ' in html and 'loading="lazy"' in html and "hut/wall.jpg" not in html
    assert f"{verdict.copies[0].place} 480w, {verdict.copies[1].place} 960w, {verdict.leads} 1600w" in html
    assert 'width="2000"' in html and 'height="1000"' in html
