"""Input made to break a reader: whatever the bytes are, there is an answer, soon, and no exception."""

from __future__ import annotations

import pytest
from hostile import HEAD, VALID, answer, spec
from hypothesis import given
from hypothesis import strategies as st
from properties import tries

from gasdoc.build.reader import MOST_CHARACTERS
from gasdoc.build.starter import from_previous
from gasdoc.folder.contents import says_page
from gasdoc.source import MAX_BYTES
from gasdoc.validation import MOST_PROBLEMS


def codes(raw: bytes) -> list[str]:
    return [problem.code for problem in answer(raw).problems]


def test_the_spec_these_tests_start_from_is_valid() -> None:
    assert codes(spec()) == []


LAUGHS = "x-a0: &a0 [lol]\n" + "".join(f"x-a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]\n" for i in range(1, 10))
MERGES = "x-m0: &m0 {a: 1}\n" + "".join(f"x-m{i}: &m{i} {{<<: [*m{i - 1}, *m{i - 1}]}}\n" for i in range(1, 10))


@pytest.mark.parametrize(
    ("more", "code"),
    [
        pytest.param(LAUGHS, "yaml-alias", id="aliases of aliases"),
        pytest.param("x-a: &a [*a]\n", "yaml-alias", id="a list that holds itself"),
        pytest.param("x-a: &a {b: *a}\n", "yaml-alias", id="a block that holds itself"),
        pytest.param(MERGES, "yaml-alias", id="merges of merges"),
        pytest.param("x-a: *gone\n", "yaml-syntax", id="alias of nothing"),
        pytest.param("<<: {units: us}\n", "yaml-alias", id="merge key"),
        pytest.param("x-a: !!python/object/apply:os.getcwd []\n", "yaml-tag", id="tag that names code"),
        pytest.param("x-a: !<%1B[31m> 1\n", "yaml-tag", id="tag with an escape sequence"),
        pytest.param("x-a: " + "[" * 900 + "]" * 900 + "\n", "yaml-depth", id="nested 900 deep"),
        pytest.param("x-a: " + "[" * 50_000 + "\n", "yaml-syntax", id="nested 50,000 deep, open"),
        pytest.param("x-a: " + "{a: " * 900 + "}" * 900 + "\n", "yaml-depth", id="blocks nested 900 deep"),
        pytest.param("x-a:\n" + "".join(" " * i + "-\n" for i in range(1, 300)), "yaml-depth", id="lists in steps"),
        pytest.param("title: again\n", "yaml-duplicate-key", id="duplicate key"),
        pytest.param("'title': again\n", "yaml-duplicate-key", id="duplicate key in quotes"),
        pytest.param("? [a, b]\n: 1\n", "yaml-key", id="a list as key"),
        pytest.param("--- \nx-a: 1\n", None, id="fence with a space"),
        pytest.param("--- # more\nx-a: 1\n", "yaml-syntax", id="second document"),
        pytest.param("...\nx-a: 1\n", "yaml-syntax", id="end of document"),
        pytest.param("%YAML 9.9\n", "yaml-syntax", id="directive"),
        pytest.param("space:\n\tvolume: 3 m3\n", "yaml-syntax", id="tab as indentation"),
        pytest.param("x-a: 'open\n", "yaml-syntax", id="open quote"),
        pytest.param('x-a: "\\ud800"\n', "yaml-syntax", id="half a character"),
        pytest.param('x-a: "\\0"\n', "file-control-character", id="NUL as an escape"),
        pytest.param('"\\e[2J": 1\n', "file-control-character", id="terminal command as a key"),
        pytest.param("\u202etitle: x\n", "file-control-character", id="text turned round"),
        pytest.param("units: " + "9" * 100_000 + "\n", "spec-choice", id="a long word for a choice"),
        pytest.param("altitude: " + "9" * 5_000 + " m\n", "spec-quantity", id="a long number"),
        pytest.param("altitude: 1e308 m\n", "spec-range", id="a number near the largest"),
        pytest.param("altitude: 1e999 ft 1 in\n", "spec-quantity", id="a number beyond the largest"),
        pytest.param("done: [{task: a, date: 9999999999999-01-01}]\n", "spec-date", id="a date out of the calendar"),
        pytest.param("done: [{task: a, date: ٢٠٢٦-٠١-٠١}]\n", "spec-date", id="a date in other digits"),
        pytest.param("".join(f"k{i}: 1\n" for i in range(20_000)), "spec-more-problems", id="20,000 unknown keys"),
        pytest.param("tests2: {}\n" * 15_000, "yaml-duplicate-key", id="15,000 times the same key"),
        pytest.param("x-a: [" + "a, " * 70_000 + "]\n", None, id="70,000 items"),
        pytest.param("scenarios:\n" + "- {}\n" * 40_000, "spec-structure", id="40,000 empty items"),
        pytest.param("summary: " + "x" * (MOST_CHARACTERS - 5_000) + "\n", "spec-value", id="a long text"),
        pytest.param("summary: " + "x" * MOST_CHARACTERS + "\n", "file-size", id="a front matter too long"),
    ],
)
def test_a_front_matter_made_to_harm_is_answered(more: str, code: str | None) -> None:
    found = codes(spec(more))
    if code is None:
        assert found == []
    else:
        assert code in found


@pytest.mark.parametrize(
    ("raw", "code"),
    [
        pytest.param(b"", "spec-front-matter", id="empty"),
        pytest.param(b"---", "spec-front-matter", id="three hyphens"),
        pytest.param(b"---\n---", "spec-front-matter", id="nothing between the fences"),
        pytest.param(b"---\n" + HEAD.encode(), "spec-front-matter", id="no end"),
        pytest.param(HEAD.encode(), "spec-front-matter", id="no beginning"),
        pytest.param(b"\n" + spec(), "spec-front-matter", id="a line before the fence"),
        pytest.param(b"\xef\xbb\xbf\xef\xbb\xbf" + spec(), "spec-front-matter", id="two byte-order marks"),
        pytest.param(spec().replace(b"Larch", b"La\0rch"), "file-control-character", id="NUL"),
        pytest.param(spec().replace(b"Larch", b"L\xe4rch"), "file-encoding", id="Latin-1"),
        pytest.param(VALID.encode("utf-16"), "file-encoding", id="UTF-16"),
        pytest.param(VALID.encode("utf-16-le"), "file-control-character", id="UTF-16 without mark"),
        pytest.param(b"\xed\xa0\x80" + spec(), "file-encoding", id="half a character"),
        pytest.param(b"x" * (MAX_BYTES + 1), "file-size", id="one byte too many"),
        pytest.param(b"x" * MAX_BYTES, "spec-front-matter", id="a megabyte on a line"),
        pytest.param(b"\n" * MAX_BYTES, "spec-front-matter", id="a megabyte of lines"),
        pytest.param(b"-" * MAX_BYTES, "spec-front-matter", id="a megabyte of hyphens"),
        pytest.param(b"---\n" + b"a: 1\n" * 100_000, "spec-front-matter", id="a long front matter without end"),
        pytest.param(bytes(range(256)) * 100, "file-encoding", id="every byte"),
    ],
)
def test_a_file_that_is_no_spec_is_answered(raw: bytes, code: str) -> None:
    assert codes(raw) == [code]


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda raw: b"\xef\xbb\xbf" + raw, id="byte-order mark"),
        pytest.param(lambda raw: raw.replace(b"\n", b"\r\n"), id="CRLF"),
        pytest.param(lambda raw: raw.replace(b"\n", b"\r"), id="CR"),
        pytest.param(lambda raw: raw.replace(b"---\n", b"--- \t\n"), id="spaces after the fences"),
        pytest.param(lambda raw: raw.rstrip(b"\n"), id="no line end at the end"),
        pytest.param(lambda raw: raw.replace(b" Hut", "\u2028Hut".encode()), id="a line separator in a text"),
    ],
)
def test_what_an_editor_may_do_to_a_file_changes_nothing(change: object) -> None:
    assert callable(change)
    result = answer(change(spec()))
    assert result.problems == ()
    assert result.build is not None and result.build.spec.title == "Larch Hut"


@pytest.mark.parametrize(
    "log",
    [
        pytest.param("## " + " " * 600_000 + "x\n", id="spaces before a title"),
        pytest.param("## a" + " " * 600_000 + "x\n", id="spaces in a title"),
        pytest.param("## " + "# " * 300_000 + "x\n", id="hashes in a title"),
        pytest.param("`" * 600_000 + "\n```\n", id="a fence without end"),
        pytest.param("```\n" * 150_000, id="many fences"),
        pytest.param("## 2026-01-01: x\n" * 20_000, id="the same entry 20,000 times"),
        pytest.param("![" * 300_000, id="pictures without end"),
        pytest.param("<!-- " * 100_000, id="comments without end"),
    ],
)
def test_a_log_made_to_harm_is_read(log: str) -> None:
    assert answer(spec(log=log)).build is not None


def test_never_more_problems_than_can_be_read() -> None:
    found = codes(spec("".join(f"k{i}: 1\n" for i in range(5_000))))
    assert len(found) == MOST_PROBLEMS + 1


@given(st.binary(max_size=400))
def test_any_bytes_are_answered(raw: bytes) -> None:
    answer(raw)


@given(st.text(max_size=300))
def test_any_text_between_the_fences_is_answered(text: str) -> None:
    answer(f"---\n{text}\n---\n".encode("utf-8", "surrogatepass"))


TOKENS = st.sampled_from(
    [
        "",
        " ",
        "  ",
        "\n",
        "\n  ",
        ": ",
        ":",
        "- ",
        ",",
        "[",
        "]",
        "{",
        "}",
        "'",
        '"',
        "#",
        " # ",
        "|\n",
        ">\n",
        "&a ",
        "*a",
        "!x ",
        "? ",
        "<<: ",
        "---\n",
        "---",
        "...\n",
        "%",
        "@",
        "`",
        "~",
        "null",
        "\t",
        "\r",
        "\0",
        "\u2028",
        "\ufeff",
        "é",
        "😀",
        "format: 1\n",
        "run:",
        "outlet:",
        "junction:",
        "branches:",
        "11 inH2O",
        "12",
        "-1 ft",
        "no",
        "supply:\n",
        "x-a: 1\n",
    ]
)


@st.composite
def mutations(draw: st.DrawFn) -> str:
    """The valid spec with pieces cut out, put in, doubled and moved."""
    text = VALID
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 30)))
        piece = draw(st.one_of(TOKENS, st.just(text[start:end] * 2), st.just("")))
        text = text[:start] + piece + text[end:]
    return text


@tries(400)
@given(mutations())
def test_any_mutation_of_a_valid_spec_is_answered(text: str) -> None:
    answer(text.encode())
    says_page(text)


@tries(400)
@given(mutations())
def test_a_copy_of_any_spec_that_reads_is_a_spec_that_reads_and_is_untested(text: str) -> None:
    before = answer(text.encode())
    if before.build is None:
        return
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", " ").removeprefix("\ufeff")
    copy, _ = from_previous(text, "copy", "Copy", "s", None)
    after = answer(copy.encode())
    assert after.problems == ()
    assert after.build is not None
    spec_ = after.build.spec
    assert not spec_.tests and spec_.started is None and spec_.container.serial is None and not after.build.log.entries
    assert spec_.supply == before.build.spec.supply
