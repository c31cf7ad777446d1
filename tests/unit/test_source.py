"""Text with positions: what YAML means here, where each value stands, and every kind of file that is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gasdoc.source import MAX_BYTES, Citation, Problem, Severity, decode, read_yaml


def problems(text: str, first_line: int = 1) -> list[str]:
    return [str(p) for p in read_yaml(text, "f", first_line).problems]


@pytest.mark.parametrize(
    "written",
    [
        "10:02",
        "010",
        "no",
        "on",
        "1e3",
        "1_000",
        "2026-05-16",
        "0x10",
        "3/8",
        ".5",
        "1.50",
        "12 ft",
        "=",
        "30,000 Btu/h",
    ],
)
def test_a_scalar_stays_the_text_that_was_written(written: str) -> None:
    assert read_yaml(f"a: {written}\n", "f").data == {"a": written}
    assert read_yaml(f"a: '{written}'\n", "f").data == {"a": written}


@pytest.mark.parametrize(
    ("written", "value"), [("", None), ("~", None), ("null", None), ("'null'", "null"), ('""', "")]
)
def test_nothing_is_told_from_text(written: str, value: str | None) -> None:
    assert read_yaml(f"a: {written}\n", "f").data == {"a": value}


def test_each_value_knows_the_place_of_its_key_and_its_own() -> None:
    document = read_yaml("a: 1\nb:\n  - c:   2\n  - {d: 3}\n", "f", first_line=2)
    assert document.problems == []
    assert document.data == {"a": "1", "b": [{"c": "2"}, {"d": "3"}]}
    assert document.place(("a",)) == (2, 1)
    assert document.place(("a",), value=True) == (2, 4)
    assert document.place(("b", 0)) == (4, 5)
    assert document.place(("b", 0, "c")) == (4, 5)
    assert document.place(("b", 0, "c"), value=True) == (4, 10)
    assert document.place(("b", 1, "d")) == (5, 6)


def test_the_place_of_what_was_not_written_is_that_of_what_is_around_it() -> None:
    document = read_yaml("a:\n  b: 1\n", "f")
    assert document.place(("a", "missing", 3)) == (1, 1)
    assert document.place(("missing",)) == (1, 1)
    document.problem(("a", "b"), Severity.WARNING, "what", "how", "code", value=True)
    assert problems_of(document.problems) == ["f:2:6: warning: what; how [code]"]


def problems_of(found: list[Problem]) -> list[str]:
    return [str(p) for p in found]


def test_columns_count_characters_not_bytes() -> None:
    assert problems("{é: 1, 😀: 2, 😀: 3}\n") == [
        "f:1:14: error: key '😀' appears twice; it is already on line 1. Keep one [yaml-duplicate-key]"
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (
            "a: 1\nb: 2\na: 3\na: 4\n",
            [
                "f:3:1: error: key 'a' appears twice; it is already on line 1. Keep one [yaml-duplicate-key]",
                "f:4:1: error: key 'a' appears twice; it is already on line 1. Keep one [yaml-duplicate-key]",
            ],
        ),
        (
            "a: &x 1\nb: *x\n",
            ["f:1:4: error: an alias (*name) is used; write the value out where it is needed [yaml-alias]"],
        ),
        (
            "a: &x [*x]\n",
            ["f:1:4: error: an alias (*name) is used; write the value out where it is needed [yaml-alias]"],
        ),
        (
            "a: *x\n",
            ['f:1:4: error: a value cannot begin with an asterisk; put it in quotes, as in "*x" [yaml-syntax]'],
        ),
        ("<<: {a: 1}\n", ["f:1:1: error: a merge key (<<) is used; write the values out [yaml-alias]"]),
        ("a: !mine 1\n", ["f:1:4: error: a YAML tag (!name) is used; write plain values only [yaml-tag]"]),
        ("a: !mine {b: 1}\n", ["f:1:4: error: a YAML tag (!name) is used; write plain values only [yaml-tag]"]),
        ("a: !mine [b]\n", ["f:1:4: error: a YAML tag (!name) is used; write plain values only [yaml-tag]"]),
        ("a: !!binary aGk=\n", ["f:1:4: error: a YAML tag (!name) is used; write plain values only [yaml-tag]"]),
        ("!!set {a, b}\n", ["f:1:1: error: a YAML tag (!name) is used; write plain values only [yaml-tag]"]),
        ("? [a]\n: 1\n", ["f:1:3: error: a key must be a plain word; quote the text or check the brackets [yaml-key]"]),
        (
            "a: 1\n--- \nb: 2\n",
            ["f:2:1: error: a second YAML document begins here; keep one front matter block per spec [yaml-syntax]"],
        ),
        (
            "a:\n\tb: 1\n",
            ["f:2:1: error: a tab is used to indent; indent with spaces, two for each level [yaml-syntax]"],
        ),
        (
            "a: b: c\n",
            [
                'f:1:5: error: a value with a colon has to stand in quotes; write "b: c", or begin a new line if it is a key '
                "[yaml-syntax]"
            ],
        ),
        (
            'a: "\\0"\n',
            ["f:1:4: error: control character 0x00; take it out. A spec is plain text [file-control-character]"],
        ),
        (
            'a: "\\e[31m"\n',
            ["f:1:4: error: control character 0x1b; take it out. A spec is plain text [file-control-character]"],
        ),
        (
            '"\\e": 1\n',
            ["f:1:1: error: control character 0x1b; take it out. A spec is plain text [file-control-character]"],
        ),
    ],
)
def test_what_a_spec_may_not_use_is_a_problem_at_its_place(text: str, expected: list[str]) -> None:
    assert problems(text) == expected


def test_no_value_carries_a_control_character() -> None:
    assert read_yaml('a: "x\\0\\ey"\n"\\ek": 1\n', "f").data == {"a": "xy", "k": "1"}


def test_lines_are_counted_from_where_the_block_begins() -> None:
    assert problems("a: 1\na: 2\n", first_line=7)[0].startswith("f:8:1: ")
    assert problems("a: 1\nb: [\n", first_line=7)[0].startswith("f:8:4: ")


def test_nesting_has_a_limit_that_a_long_row_of_tees_does_not_reach() -> None:
    assert problems("a: " + "[" * 110 + "]" * 110 + "\n") == []
    assert problems("a: " + "[" * 130 + "]" * 130 + "\n") == [
        "f:1:124: error: nested deeper than 120 levels; simplify the block [yaml-depth]"
    ]


def test_decoding_gives_line_feeds_and_no_byte_order_mark() -> None:
    assert decode(b"\xef\xbb\xbfa\r\nb\rc\n", "f") == ("a\nb\nc\n", [])
    # Line ends to YAML, but not to an editor: the lines would be counted differently.
    assert decode("a\u2028b\u2029c\u0085d\n".encode(), "f") == ("a b c d\n", [])


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        (b"a\nb \xff\n", "f:2:3: error: byte 0xff is not UTF-8; save the file as UTF-8 [file-encoding]"),
        ("a\n".encode("utf-16"), "f:1:1: error: byte 0xff is not UTF-8; save the file as UTF-8 [file-encoding]"),
        (
            b"a\nbc\0\n",
            "f:2:3: error: control character 0x00; take it out. A spec is plain text [file-control-character]",
        ),
        (b"\x1b\n", "f:1:1: error: control character 0x1b; take it out. A spec is plain text [file-control-character]"),
        (
            "aé\x7f".encode(),
            "f:1:3: error: control character 0x7f; take it out. A spec is plain text [file-control-character]",
        ),
        (
            "\x9b".encode(),
            "f:1:1: error: control character 0x9b; take it out. A spec is plain text [file-control-character]",
        ),
        (
            b"a" * (MAX_BYTES + 1),
            "f:1:1: error: the file is larger than 1,000,000 bytes; keep pictures and long logs "
            "in files of their own [file-size]",
        ),
    ],
)
def test_bytes_that_are_not_plain_text_are_refused_at_their_place(raw: bytes, expected: str) -> None:
    text, found = decode(raw, "f")
    assert text == ""
    assert problems_of(found) == [expected]


@given(st.text())
def test_what_decodes_cleanly_has_one_kind_of_line_end(text: str) -> None:
    decoded, found = decode(text.encode("utf-8", "surrogatepass"), "f")
    assert len(decoded.splitlines()) <= decoded.count("\n") + 1
    assert bool(found) <= (decoded == "")


@given(st.text())
def test_any_text_gives_a_document_or_problems(text: str) -> None:
    document = read_yaml(text, "f", 2)
    for problem in document.problems:
        assert problem.line >= 2 and problem.column >= 1 and problem.message and problem.hint


def test_problems_sort_by_place_and_the_worst_first() -> None:
    rows = [
        Problem("a", 2, 1, Severity.NOTE, "m", "", "c"),
        Problem("a", 2, 1, Severity.ERROR, "m", "", "c"),
        Problem("a", 1, 9, Severity.NOTE, "m", "", "c"),
    ]
    assert [(p.line, str(p.severity)) for p in sorted(rows, key=lambda p: p.order)] == [
        (1, "note"),
        (2, "error"),
        (2, "note"),
    ]
    assert str(rows[0]) == "a:2:1: note: m [c]"


def test_a_problem_prints_what_a_terminal_would_obey_or_hide_as_escapes() -> None:
    shown = str(Problem("a", 1, 1, Severity.NOTE, "unit '\u00a0ft\u202e\x1b' é 😀", "", "c"))
    assert shown == r"a:1:1: note: unit '\xa0ft\u202e\x1b' é 😀 [c]"


def test_a_citation_says_how_well_it_is_confirmed() -> None:
    assert str(Citation("A code, table 1", "twice")) == "A code, table 1 (read in two or more public texts)"
    assert str(Citation("A habit", "practice")) == "A habit (common practice, no source)"


@pytest.mark.parametrize(
    ("text", "confirmed", "mark"),
    [
        ("Common practice, no source", "practice", ""),
        ("A code for the grommet; the rest is common practice, no source", "practice", ""),
        ("common practice", "practice", "no source"),
        ("A standard, from memory", "memory", "not confirmed"),
        ("A standard", "memory", "from memory, not confirmed"),
        ("A code; the letter from memory", "once", "read in one public text"),
    ],
)
def test_a_mark_says_nothing_twice(text: str, confirmed: str, mark: str) -> None:
    assert Citation(text, confirmed).mark == mark
    assert str(Citation(text, confirmed)) == (f"{text} ({mark})" if mark else text)
