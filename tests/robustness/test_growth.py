"""What is twice as long takes twice the work, not four times: counted where it can be counted, and once by a generous clock."""

from __future__ import annotations

import cProfile
import time

import pytest
from growth import LOGS
from hostile import HEAD

from gasdoc.build import logtext
from gasdoc.build.log import MOST_ENTRIES, read_log
from gasdoc.build.reader import read_spec
from gasdoc.report.content.markdown import to_html

LONG = 100_000
"""Characters of a log that is long for its reader and short for a stranger."""
GENEROUS = 5.0
"""Seconds of this processor: what took the square of the length took far more, minutes at twice the length."""


def cut(name: str, characters: int) -> str:
    """The log of that name, with so many characters."""
    text = LOGS[name](characters // len(LOGS[name](100)) * 100 + 100)
    return text[:characters]


@pytest.mark.parametrize("name", LOGS)
def test_a_long_log_is_read_and_shown_in_time_and_space(name: str) -> None:
    text = cut(name, LONG)
    began = time.process_time()
    read = read_spec(f"---\n{HEAD}---\n{text}".encode(), "s.md", "s")
    assert read.build is not None
    log = read.build.log
    shown = [to_html(log.introduction, lambda path: None, plain=log.plain)]
    shown += [to_html(entry.text, lambda path: None, plain=entry.plain) for entry in log.entries]
    assert time.process_time() - began < GENEROUS
    assert sum(map(len, shown)) < 20 * LONG  # a stranger's few bytes do not become a site of megabytes
    assert len(read.problems) <= 501


@pytest.mark.parametrize("name", LOGS)
def test_twice_the_log_is_about_twice_the_calls(name: str) -> None:
    small, large = calls(cut(name, 4_000)), calls(cut(name, 8_000))
    assert large <= 2.5 * small + 1_000  # what is shown as it stands from some length on takes fewer


def calls(text: str) -> int:
    """How many functions are called, in Python and in C, to read a log and to show it."""
    with cProfile.Profile() as counted:
        log, _ = read_log(text, "s.md", 1)
        to_html(log.introduction, lambda path: None, plain=log.plain)
        for entry in log.entries:
            to_html(entry.text, lambda path: None, plain=entry.plain)
    return sum(function.callcount for function in counted.getstats())


def test_a_log_of_empty_lines_is_shown_in_time() -> None:
    text = cut("empty lines", 990_000)
    began = time.process_time()
    assert to_html(text, lambda path: None).startswith("<pre")
    assert time.process_time() - began < GENEROUS


def test_of_a_log_that_is_too_much_the_rest_is_still_formatted() -> None:
    table = "|a" * 1_000 + "|\n" + "|-" * 1_000 + "|\n" + "|x\n" * 3_000
    text = f"*first*\n\n## 2026-01-01: table\n\n{table}\n\n## 2026-01-02: after\n\n*text*\n"
    log, problems = read_log(text, "s.md", 10)
    assert [(p.line, p.column, p.code) for p in problems] == [(12, 1, "log-work")]
    assert "too much to format" in problems[0].message
    assert (log.plain, [entry.plain for entry in log.entries]) == (False, [True, False])


def test_many_entries_together_are_too_much_from_one_on() -> None:
    text = "".join(f"## 2026-01-01: entry {n}\n\ntext\n\n" for n in range(4_000))
    log, problems = read_log(text, "s.md", 1)
    plain = [entry.plain for entry in log.entries]
    assert [p.code for p in problems] == ["log-work"]
    # 12 for each entry and for what stands before them, 2 for a paragraph of one line.
    assert plain.index(True) == (logtext.MOST_WORK - 12) // 14
    assert all(plain[plain.index(True) + 2 :])


def test_a_log_has_ten_thousand_entries_at_most() -> None:
    text = "".join(f"## 2026-01-01: entry {n}\n" for n in range(MOST_ENTRIES + 5))
    log, problems = read_log(text, "s.md", 1)
    assert len(log.entries) == MOST_ENTRIES and log.entries[-1].text.count("##") == 5  # nothing is lost
    assert (10_001, "log-entries") in [(p.line, p.code) for p in problems]


def test_a_fence_that_nothing_closes_is_told_and_goes_to_the_end() -> None:
    log, problems = read_log("a\n\n~~~ sh\nb\n\n## 2026-01-01: c\n", "s.md", 5)
    assert [(p.line, p.code) for p in problems] == [(7, "log-fence")] and log.entries == ()
    html = to_html(log.introduction, lambda path: None)
    assert html.endswith('<pre><code class="language-sh">b\n\n## 2026-01-01: c\n</code></pre>')


def test_a_fenced_block_shows_its_text_and_nothing_of_it_is_markup() -> None:
    html = to_html('```\n<b> *a* &amp; "\n~~~\n```\n*after*', lambda path: None)
    assert "<code>&lt;b&gt; *a* &amp;amp; &#34;\n~~~\n</code>" in html and "<em>after</em>" in html


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("```", ("```", "")),
        ("   ~~~~ sh", ("~~~~", " sh")),
        ("    ```", None),  # code by its indent
        ("``` a`b", None),  # a span of code
        ("~~~ a`b", ("~~~", " a`b")),
        ("``", None),
        ("", None),
    ],
)
def test_which_line_is_a_fence(line: str, found: tuple[str, str] | None) -> None:
    assert logtext.fence(line) == found


def test_a_log_of_ten_years_is_formatted() -> None:
    entry = "## 2026-01-01: work\n\n" + "We *bent* it and [wrote](x.md) `6 psi` down. " * 6 + "\n\n- one\n- two\n\n"
    log, problems = read_log((entry + "|a|b|\n|-|-|\n|1|2|\n\n") * 300, "s.md", 1)
    assert not problems and not any(entry.plain for entry in log.entries)
