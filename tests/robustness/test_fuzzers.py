"""The fuzzers find what they are for: a few inputs break nothing, and with an old defect put in again one soon does."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import fuzz_files
import fuzz_git
import fuzz_links
import fuzz_markdown
import fuzz_reader
import pytest
from fuzzing import Broken, Counts, Target, by_chance

from gasdoc.build import links
from gasdoc.folder import provenance
from gasdoc.published import drawings, pictures, profile
from gasdoc.published.unfit import PictureSize

TARGETS = {
    "files": fuzz_files.TARGET,
    "git": fuzz_git.TARGET,
    "links": fuzz_links.TARGET,
    "markdown": fuzz_markdown.TARGET,
    "reader": fuzz_reader.TARGET,
}


def short(target: Target) -> Target:
    """The same with short inputs, and with time for a computer that does other things beside."""
    return replace(target, longest=3_000, seconds=10)


@pytest.mark.parametrize("name", TARGETS)
def test_a_few_inputs_break_nothing(name: str) -> None:
    counts = by_chance(short(TARGETS[name]), 1, lambda counts: counts.inputs < 80)
    assert counts.inputs == 80 and counts.largest > 0


_NUMBER = r"\s*([0-9]+(?:\.[0-9]+)?|\.[0-9]+)"


def view_box(reading: object, attributes: dict[str, str]) -> PictureSize | None:
    """The first version, which took the third power of the spaces."""
    re.search(rf"""^[^"']*?[\s,]{_NUMBER}[\s,]+{_NUMBER}\s*$""", attributes.get("viewBox", ""))
    return None


def webp_chunks(raw: bytes, at: int, end: int) -> Iterator[tuple[bytes, bytes]]:
    """The first version, which put all that it had together again at each chunk."""
    out = b""
    while at + 8 <= end:
        length = int.from_bytes(raw[at + 4 : at + 8], "little")
        if at + 8 + length > end:
            raise pictures._cut_off()
        out = b"".join((out, raw[at : at + 8 + length]))
        yield raw[at : at + 4], raw[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def tags_that_overlap(made: bytes) -> bytes | None:
    """The first version, in which each tag took what the others took, too."""
    return profile._written(made, [(b"A2B0", made[at:]) for at in range(300)]) if b"acsp" in made else None


def fields(chunks: Iterator[bytes], real: Callable[..., Any] = provenance._fields) -> Iterator[bytes]:
    """The first version, in which a name could lose the ends of its lines."""
    return (field.strip(b"\n") for field in real(chunks))


def dated(line: str, boundary: object) -> provenance.Commit:
    """A date by the clock of another place."""
    commit, _, seconds = line.partition(" ")
    return provenance.Commit(commit, provenance.utc_date(min(int(seconds) + 50_000, provenance.LATEST)))  # type: ignore[arg-type]


SVG = fuzz_files.SVG.encode()
DEFECTS: dict[str, tuple[Target, bytes, object, str, object]] = {
    "a view box": (
        replace(fuzz_files.TARGET, seconds=0.7, words=(b" ",)),
        b"\x03<svg %s viewBox='   1   '/>" % SVG,
        drawings._Reading,
        "sized",
        view_box,
    ),
    "chunks of a picture": (
        replace(fuzz_files.TARGET, seconds=0.7, words=(b"ABCD\0\0\0\0",)),
        b"\x0aRIFF\0\0\0\0WEBP",
        pictures,
        "_webp_chunks",
        webp_chunks,
    ),
    "what a picture says of its maker": (
        fuzz_files.TARGET,
        fuzz_files.TARGET.seeds[4],
        pictures,
        "_PNG_LENGTHS",
        pictures._PNG_LENGTHS | {b"tEXt": range(99)},
    ),
    "tags that overlap": (fuzz_files.TARGET, fuzz_files.TARGET.seeds[8], profile, "cleaned", tags_that_overlap),
    "spans of code past a heading": (
        short(fuzz_links.TARGET),
        b"a ` b\n# [a](b.txt) `\nc",
        links,
        "_ALONE",
        re.compile("(?!)"),
    ),
    "brackets in targets": (short(fuzz_links.TARGET), b"![]([](q.jpg 'x') y", links, "_MOST_INSIDE", 0),
    "names with ends of lines": (
        short(fuzz_git.TARGET),
        b"\x01" + fuzz_git.BREAK.join((b"\x69\0\0\0hut.md\n", b"\x68\0\0\0hut.md")),
        provenance,
        "_fields",
        fields,
    ),
    "another date": (short(fuzz_git.TARGET), fuzz_git.TARGET.seeds[0], provenance, "_commit", dated),
}


@pytest.mark.parametrize("name", DEFECTS)
def test_an_old_defect_is_found_again(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    target, seed, place, attribute, defect = DEFECTS[name]
    target = replace(target, seeds=(seed,))
    end = time.monotonic() + 300  # only so that a miss has an end

    def more(counts: Counts) -> bool:
        return counts.inputs < 3_000 and time.monotonic() < end

    monkeypatch.setattr(place, attribute, defect)
    with pytest.raises(Broken):
        by_chance(target, 1, more)
    monkeypatch.undo()
    by_chance(target, 1, lambda counts: counts.inputs < 5)  # and it is the defect that is found
