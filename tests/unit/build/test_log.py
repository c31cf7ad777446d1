"""The build log: dated entries, their anchors and lines, and headings that are none."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.build.log import Log, read_log


def log_of(body: str, first_line: int = 1) -> Log:
    return read_log(body, "f", first_line)[0]


def test_a_body_is_an_introduction_and_entries_in_the_order_of_the_file() -> None:
    log, problems = read_log(
        "Words.\n\n## 2026-04-19: run bent\nOne.\n\n### Detail\nTwo.\n\n## 2026-04-18 – tank hung ##\n", "f", 40
    )
    assert problems == []
    assert log.introduction == "Words."
    assert [(e.date, e.title, e.anchor, e.text, e.line) for e in log.entries] == [
        (dt.date(2026, 4, 19), "run bent", "2026-04-19-run-bent", "One.\n\n### Detail\nTwo.", 42),
        (dt.date(2026, 4, 18), "tank hung", "2026-04-18-tank-hung", "", 48),
    ]


@pytest.mark.parametrize(
    ("heading", "date", "title"),
    [
        ("2026-04-18: tank hung", "2026-04-18", "tank hung"),
        ("2026-04-18 tank hung", "2026-04-18", "tank hung"),
        ("2026-04-18 - tank hung", "2026-04-18", "tank hung"),
        ("2026-04-18 — tank hung", "2026-04-18", "tank hung"),
        ("2026-04-18", "2026-04-18", ""),
        ("2026-02-30: no such day", None, "2026-02-30: no such day"),
        ("2026-04-180: no date", None, "2026-04-180: no date"),
        ("18 April: tank hung", None, "18 April: tank hung"),
    ],
)
def test_an_entry_begins_with_its_date(heading: str, date: str | None, title: str) -> None:
    log, problems = read_log(f"\n## {heading}\n", "f", 10)
    (entry,) = log.entries
    assert (entry.date and entry.date.isoformat(), entry.title) == (date, title)
    assert [str(p) for p in problems] == (
        []
        if date
        else [
            "f:11:1: warning: this log heading has no date; begin it with one, as in "
            "'## 2026-04-18: tank hung' [log-date]"
        ]
    )


@pytest.mark.parametrize(
    "body", ["#2026-04-18\n", "# 2026-04-18\n", "### 2026-04-18\n", "##2026-04-18\n", "    ## x\n"]
)
def test_other_headings_are_text(body: str) -> None:
    assert log_of(body).entries == ()


@pytest.mark.parametrize(
    ("body", "titles"),
    [
        ("```\n## 2026-01-01: a\n```\n## 2026-01-02: b\n", ["b"]),
        ("~~~\n## 2026-01-01: a\n```\n~~~\n## 2026-01-02: b\n", ["b"]),
        ("````\n```\n## 2026-01-01: a\n````\n## 2026-01-02: b\n", ["b"]),
        ("```sh\n```sh\n## 2026-01-01: a\n```\n## 2026-01-02: b\n", ["b"]),
        ("```inline```\n## 2026-01-01: a\n", ["a"]),
    ],
)
def test_a_heading_in_a_code_block_is_code(body: str, titles: list[str]) -> None:
    assert [e.title for e in log_of(body).entries] == titles


def test_an_empty_body_has_no_entries() -> None:
    assert log_of("") == Log("", ())
    assert log_of("\n\n") == Log("", ())


TITLES = st.sampled_from(
    ["a", "a", "A!", "a 2", "a-2", "a 2 2", "", "日本", "2026-01-01", "2026-01-01: a", "#", "item"]
)


@given(st.lists(TITLES, max_size=12))
def test_anchors_are_unique_and_never_empty(titles: list[str]) -> None:
    anchors = [e.anchor for e in log_of("".join(f"## {t}\n" for t in titles)).entries]
    assert len(anchors) == len(titles)
    assert len(set(anchors)) == len(anchors)
    assert all(anchors)


@given(st.text(alphabet=st.characters(exclude_categories=["Cs", "Cc"]), max_size=40).map(lambda t: t.replace("\n", "")))
def test_nothing_of_a_body_is_lost(text: str) -> None:
    log = log_of(f"before {text}\n## 2026-01-01: x\nin {text}\n")
    assert log.introduction.strip("\n") == f"before {text}"
    assert log.entries[-1].text == f"in {text}"


@pytest.mark.parametrize(
    ("body", "line"), [("Words.\n\n---\nformat: 1\ntitle: B\n---\n", 12), ("format: 1\n---\n", 10)]
)
def test_a_second_front_matter_is_not_swallowed_in_silence(body: str, line: int) -> None:
    (said,) = read_log(body, "f", 10)[1]
    assert (said.code, said.line, str(said.severity)) == ("spec-second-block", line, "warning")


@pytest.mark.parametrize(
    "body", ["A rule:\n\n---\n\nWords.\n", "```\n---\nformat: 1\n```\n", "The key\nformat: 1 is old.\n"]
)
def test_a_rule_or_an_example_in_the_log_is_not_a_second_front_matter(body: str) -> None:
    assert read_log(body, "f", 10)[1] == []
