"""Every sentence that people read is short and has no banned turn: in data files, in the code's texts, in templates."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from sentences import code_texts, data_texts, faults, sentences, starter_texts, template_texts, turns


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
