"""HEIC photos: read where a decoder is installed, and then shown in copies only; else told with what to do."""

from __future__ import annotations

import base64
import io
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from PIL import Image

from gasdoc.build.log import read_log
from gasdoc.folder.linked import judge, of_log, of_page
from gasdoc.published import Unfit, heic, judged, sizes

PHOTO = base64.b64decode(
    "AAAAHGZ0eXBoZWljAAAAAG1pZjFoZWljbWlhZgAAAZdtZXRhAAAAAAAAACFoZGxyAAAAAAAAAABwaWN0AAAAAAAAAAAAAAAAAAAAADRpbG9j"
    "AAAAAERAAAIAAQAAAAABuwABAAAAAAAAAEwAAgAAAAACBwABAAAAAAAAAEIAAAA4aWluZgAAAAAAAgAAABVpbmZlAgAAAAABAABodmMxAAAA"
    "ABVpbmZlAgAAAQACAABFeGlmAAAAAA5waXRtAAAAAAABAAAA1mlwcnAAAAC3aXBjbwAAAHhodmNDAQNwAAAAkAAAAAAAHvAA/P34+AAADwNg"
    "AAEAGEABDAH//wNwAAADAJAAAAMAAAMAHroCQGEAAQArQgEBA3AAAAMAkAAAAwAAAwAeoDCBBZbqSSmubgIaDAgAAAMAyAAAAwAIQGIAAQAH"
    "RAHBcrAiQAAAABNjb2xybmNseAABAA0ABoAAAAAUaXNwZQAAAAAAAABgAAAAQAAAABBwaXhpAAAAAAMICAgAAAAXaXBtYQAAAAAAAAABAAEE"
    "gQIDBAAAABppcmVmAAAAAAAAAA5jZHNjAAIAAQABAAAAlm1kYXQAAABIKAGvWIrYDpJf//Od3/+VHpD7Erzo3f/Pp4X6hrT/i0BEMSEel87S"
    "cpxNJCSKdboFJJnjhHD+G71doQgUsjInW9crwvP2IDnYAAAABkV4aWYAAE1NACoAAAAIAAIBDwACAAAAEQAAACYBEgADAAAAAQABAAAAAAAA"
    "TWFrZXIgb2YgY2FtZXJhcwAA"
)
"""96 x 64 pixels, red on its left half and blue on the right; its EXIF block names a maker."""


@pytest.fixture
def decoder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A decoder that finds a red picture of 1,000 x 500 pixels in every file."""

    def open_heif(raw: bytes) -> SimpleNamespace:
        if len(raw) < 100:
            raise ValueError
        return SimpleNamespace(size=(1000, 500), to_pillow=lambda: Image.new("RGB", (1000, 500), "red"))

    monkeypatch.setitem(sys.modules, "pi_heif", SimpleNamespace(open_heif=open_heif))
    monkeypatch.setattr(heic, "can_read", lambda: True)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))


def test_without_a_decoder_the_message_says_both_ways_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(heic, "can_read", lambda: False)
    with pytest.raises(Unfit) as caught:
        judged(PHOTO, "a.heic")
    assert caught.value.message == "is a HEIC picture"
    assert "save it as JPEG" in caught.value.hint and "pip install pi-heif" in caught.value.hint


@pytest.mark.usefixtures("decoder")
def test_a_log_shows_copies_in_jpeg_and_the_photo_itself_stays(tmp_path: Path) -> None:
    (tmp_path / "hut").mkdir()
    (tmp_path / "hut" / "a.heic").write_bytes(PHOTO)
    log, _ = read_log("## 2026-05-01: begun\n\n![The tee](hut/a.heic)\n", "hut.md", 1)
    assert of_log(log, "specs/hut.md", lambda path: judge(tmp_path, path)).problems == ()
    verdict = judge(tmp_path, "hut/a.heic")
    assert [copy.width for copy in verdict.copies] == [480, 1000]
    assert verdict.leads == verdict.copies[-1].place and verdict.leads.endswith("-1000.jpg")
    made = sizes.made(verdict.copies[0], PHOTO)
    with Image.open(io.BytesIO(made)) as image:
        assert image.format == "JPEG" and image.size == (480, 240) and not image.getexif()


@pytest.mark.usefixtures("decoder")
def test_a_page_of_the_projects_own_shows_files_as_they_are_so_it_may_show_none(tmp_path: Path) -> None:
    (tmp_path / "a.heic").write_bytes(PHOTO)
    text = "# Guide\n\n![The tee](a.heic)\n"
    found = of_page(text, "specs/guide.md", "guide.md", lambda path: judge(tmp_path, path), frozenset())
    (problem,) = found.problems
    assert (problem.line, problem.column) == (3, 12) and str(problem.severity) == "error"
    assert "browsers do not show" in problem.message and "save it as JPEG" in problem.hint and found.files == ()


@pytest.mark.usefixtures("decoder")
def test_one_that_is_cut_off_and_one_by_another_name_are_told() -> None:
    for raw, name, why in ((PHOTO[:90], "a.heic", "damaged"), (PHOTO, "a.jpg", "is a HEIC picture by what is in it")):
        with pytest.raises(Unfit, match=why):
            judged(raw, name)


def test_the_decoder_reads_a_photo_upright_and_its_maker_does_not_leave(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    pytest.importorskip("pi_heif", reason="no decoder of HEIC is installed")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    fit = judged(PHOTO, "a.heic")
    assert fit.size is not None and (fit.size.width, fit.size.height) == (96, 64)
    (copy,) = sizes.copies("hut/a.heic", fit.kind, fit.content, fit.size)
    made = sizes.made(copy, fit.content)
    left, right = (Image.open(io.BytesIO(made)).getpixel((x, 32)) for x in (20, 76))
    assert isinstance(left, tuple) and isinstance(right, tuple)
    assert left[0] > 200 > left[2] and right[2] > 200 > right[0] and b"Maker" not in made
