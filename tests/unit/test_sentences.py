"""Every sentence that people read is short and has no banned turn: in data files, in the code's texts, in templates."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sentences import code_texts, data_texts, faults, sentences, starter_texts, template_texts, turns

import gasdoc

RUN_TOGETHER = re.compile(r"""(?:[a-z]{2}[.,;:]?|[)}'])"[ \t]*\n[ \t]*f?"(?:[a-zA-Z]{2}|'|\{)""")
"""The seam of a text that is written in two pieces, with a word on both sides and no space."""

DRAWN = {"mount_drawing.py", "diagnostics.py"}
"""Modules that write paths of drawings and lines of a protocol in pieces."""


@pytest.mark.parametrize("texts", [data_texts, code_texts, template_texts, starter_texts])
def test_every_sentence_is_short_and_has_no_banned_turn(texts: Callable[[], Iterator[tuple[str, str]]]) -> None:
    read = list(texts())
    assert len(read) > 100
    assert [f"{at}: {fault}" for at, text in read for fault in faults(text)] == []


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (" ".join(["word"] * 21) + ".", "21 words"),
        ("Vapour out; never liquid.", "two sentences"),
        ("No heater without a flue in a room people sleep in.", "two negatives"),
        ("This build has none not sealed from the room.", "two negatives"),
        ("It is not unlikely to leak.", "two negatives"),
        ("Use no part that is not listed for LP gas.", "two negatives"),
        ("Of 19 joints 10 stay on the gauge.", "count first"),
        ("Whether a date has passed this page does not say.", "who says it"),
        ("Should more ever be needed, enlarge it.", "begin with 'if'"),
        ("Only then may gas be let in.", "subject before the verb"),
        ("It is thought to be tight.", "who says it"),
        ("The valve and the tap: the latter stays open.", "everyday word"),
        ("Nobody sleeps here, as the spec has it.", "everyday word"),
        ("The line is tight — so it seems.", "two sentences"),
    ],
)
def test_a_sentence_that_is_hard_to_read_is_told(text: str, why: str) -> None:
    assert any(why in fault for fault in faults(text))


@pytest.mark.parametrize(
    "text",
    [
        " ".join(["word"] * 20) + ". " + " ".join(["word"] * 20) + ".",
        "Add 'licence; number:' to it: `a; b` is code.",
        "Never let gas into a closed room.",
        "Keep it under 20 degF and out of the sun, until it is used.",
    ],
)
def test_a_plain_sentence_passes(text: str) -> None:
    assert list(faults(text)) == []


def test_what_ends_a_sentence() -> None:
    assert sentences("Shut it. Is it 1.5 psi? Then: open 11 inH2O valves!") == [
        "Shut it.",
        "Is it 1.5 psi?",
        "Then:",
        "open 11 inH2O valves!",
    ]


def test_every_banned_turn_says_what_to_write_for_it() -> None:
    assert len(turns()) > 10 and all(better for _, better in turns())


def test_no_two_words_run_together_where_a_text_is_written_in_pieces() -> None:
    package = Path(gasdoc.__file__).parent
    modules = [path for path in package.rglob("*.py") if path.name not in DRAWN]
    assert [
        f"{path.name}: {seam[0]}"
        for path in modules
        for seam in RUN_TOGETHER.finditer(path.read_text(encoding="utf-8"))
    ] == []


def test_words_that_run_together_would_be_seen() -> None:
    assert RUN_TOGETHER.search('"The regulator and its"\n    f"connector need {needed}."')
    assert RUN_TOGETHER.search("\"Add 'altitude:' under\"\n    \"'jetted_for:'.\"")
    assert not RUN_TOGETHER.search('"The regulator and its"\n    f" connector need {needed}."')
