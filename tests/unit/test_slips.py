"""What is wrong with text that is no YAML: told in our words, at the slip and not where the parser gave up."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
import yaml
from hypothesis import example, given
from hypothesis import strategies as st
from places import SPECS

from gasdoc.source import read_yaml

HEAD = """format: 1
title: Larch Hut
summary: |
  He said: "go on
  {and: so
container:
  type: dot-100lb
  number: 2
  place: "on a slab
    under the gable"
regulator: {stages: 2, capacity: 200 kBtu/h,
            outlet: 11 inH2O}
supply:
  - run: {material: steel, length: 3 ft}
  - outlet:
      connector: {kind: flexible, length: 24 in}
      diameter: 14.5 in
"""

SLIPS = [
    ("  number: 2", "\tnumber: 2", "8:1", "a tab is used to indent", "indent with spaces"),
    (
        "title: Larch Hut",
        "title: Larch Hut: two",
        "2:17",
        "a value with a colon has to stand in quotes",
        'write "Larch Hut: two"',
    ),
    ("title: Larch Hut", 'title: "Larch Hut', "2:8", 'the quote " is not closed', 'end the text with "'),
    ("title: Larch Hut", "title: 'Larch Hut", "2:8", "the quote ' is not closed", "end the text with '"),
    ("title: Larch Hut", 'title: "Larch "Hut"', "2:16", "text stands behind the closing quote", "one pair of quotes"),
    ("14.5 in", '"14.5""', "17:23", "text stands behind the closing quote", "write inches as 'in'"),
    ("title: Larch Hut", r'title: "Larch \Hut"', "2:15", "a backslash means something", "write it twice"),
    ("  number: 2", "  number:2", "8:10", "there is no space after the colon", "write 'number: 2'"),
    ("  number: 2", "   number: 2", "8:4", "indented like none", "give it 2 spaces, as 'type: dot-100lb' has"),
    ("  number: 2", " number: 2", "8:2", "indented like none", "give it 2 spaces, as 'type: dot-100lb' has"),
    ("24 in}", "24 in", "16:18", "the bracket '{' is not closed", "end it with '}'"),
    ("{kind: flexible", "kind: flexible", "16:47", "'}' has no bracket that it closes", "open it"),
    ("{kind: flexible, length", "{kind: flexible length", "16:34", "a comma is missing before 'length'", "put commas"),
    ("3 ft}", "3 ft]", "14:40", "']' has no bracket that it closes", "check the brackets"),
    ("3 ft}", "3 ft} or so", "14:42", "text stands behind the closing bracket", "take it out"),
    ("material: steel", "material: 'steel", "14:21", "the quote ' is not closed", "end the text with '"),
    ("title: Larch Hut", "title: @Larch", "2:8", "a value cannot begin with an at sign", 'as in "@Larch"'),
    ("title: Larch Hut", "title: `Larch`", "2:8", "a value cannot begin with a backtick", "put it in quotes"),
    ("title: Larch Hut", "title: %Larch", "2:8", "a value cannot begin with a percent sign", "put it in quotes"),
    ("title: Larch Hut", "title: *Larch", "2:8", "a value cannot begin with an asterisk", "put it in quotes"),
    ("title: Larch Hut", "title: > Larch", "2:8", "a value cannot begin with a greater-than sign", "put it in quotes"),
    ("title: Larch Hut", "Larch Hut", "2:1", "'Larch Hut' has no key", "write it as 'key: value'"),
    (
        "supply:",
        "spaces:\n  - name: Room\n   volume: 9 m3\nsupply:",
        "15:4",
        "like none",
        "give it 4 spaces, as 'name: Room' has",
    ),
    ("  - run:", "   - run:", "15:3", "indented like none", "give it 3 spaces"),
    ("title: Larch Hut", "title: Larch Hut\n...", "3:1", "a line of three dots ends the block", "take it out"),
    ("title: Larch Hut", "title: Larch Hut\n--- x", "3:1", "a second YAML document", "keep one"),
]

PARSERS_WORDS = re.compile(
    r"expected|token|scann|pars|mapping|did not find|could not|block (?:sequence|end)|flow|alias|scalar|document start|context"
)


def told(text: str) -> list[str]:
    return [str(problem) for problem in read_yaml(text, "some.md", 1).problems if problem.code == "yaml-syntax"]


def test_the_text_to_start_from_has_nothing_wrong() -> None:
    assert read_yaml(HEAD, "some.md").problems == []


@pytest.mark.parametrize(("right", "wrong", "place", "what", "hint"), SLIPS)
def test_a_slip_is_told_where_it_is(right: str, wrong: str, place: str, what: str, hint: str) -> None:
    assert HEAD.count(right) == 1
    (said,) = told(HEAD.replace(right, wrong))
    assert said.startswith(f"some.md:{place}: error: ") and what in said and hint in said, said


def test_a_bracket_open_at_the_end_is_told_where_it_opens() -> None:
    (said,) = told("regulator: {stages: 2,\n  capacity: 3 kW\n")
    assert said.startswith("some.md:1:12: error: the bracket '{' is not closed")


def test_a_bracket_open_where_one_around_it_is_closed_is_told_where_it_opens() -> None:
    (said,) = told("legs: [1 m aft, {leg: 2 m aft, through: frame,\n  {leg: 1 m aft}, 3 m aft]\n")
    assert said.startswith("some.md:1:17: error: the bracket '{' is not closed; end it with '}'")


def test_what_is_not_recognised_is_told_without_the_parsers_words() -> None:
    (said,) = told("a: 1\n- b\n")
    assert "does not fit what stands above it" in said and not PARSERS_WORDS.search(said)


def _without(line: str, sign: str) -> str | None:
    """The line without the last `sign` that stands before its comment."""
    at = line.split(" #", maxsplit=1)[0].rfind(sign)
    return None if at < 0 else line[:at] + line[at + 1 :]


MADE: dict[str, Callable[[str], str | None]] = {
    "a tab": lambda line: "\t" + line.lstrip(),
    "a quote not closed": lambda line: (
        _without(line, '"') or re.sub(r"^([^#{\[\"]*?: )(?=[^\s{\[\"|>])", r'\1"', line, count=1)
    ),
    "a bracket not closed": lambda line: _without(line, "}"),
    "a bracket not opened": lambda line: None if "{" not in line.split(" #")[0] else line.replace("{", "", 1),
    "a colon in a value": lambda line: re.sub(r"^(\s*[a-z_]+: [^\s{\[\"'#][^#]*?)(\s+#.*)?$", r"\1: more\2", line),
    "no space behind the colon": lambda line: re.sub(r"^([^#{\[]*?[a-z_]):\s+(?=[^\s#{\[\"])", r"\1:", line, count=1),
}


@pytest.mark.parametrize("slip", MADE)
@pytest.mark.parametrize("name", ["larch-hut", "bakery-trailer", "floating-studio"])
def test_a_slip_in_any_line_of_an_example_is_told_on_that_line(name: str, slip: str) -> None:
    lines = (SPECS / f"{name}.md").read_text(encoding="utf-8").split("---\n", 2)[1].split("\n")
    tried = 0
    for number, line in enumerate(lines):
        wrong = None if line.lstrip()[:1] in ("", "#") else MADE[slip](line)
        if wrong is None or wrong == line:
            continue
        said = told("\n".join([*lines[:number], wrong, *lines[number + 1 :]]))
        if said:  # some are YAML still: `{a:b}` is one key
            tried += 1
            assert said[0].startswith(f"some.md:{number + 1}:"), (line, said)
    assert tried > 5


@given(
    st.sampled_from(["larch-hut", "bakery-trailer", "floating-studio"]),
    st.integers(0, 5000),
    st.integers(0, 3),
    st.text(st.sampled_from("\t\n :\"'{}[],#&*!|>%@`-?.a\\"), max_size=4),
)
@example("larch-hut", 10, 1, "")
@example("larch-hut", 20, 0, "\n...\n")
def test_any_change_of_a_few_letters_is_told_in_our_words_within_the_text(
    name: str, at: int, gone: int, put: str
) -> None:
    head = (SPECS / f"{name}.md").read_text(encoding="utf-8").split("---\n", 2)[1]
    at %= len(head)
    text = head[:at] + put + head[at + gone :]
    for problem in read_yaml(text, "some.md", 1).problems:
        if problem.code == "yaml-syntax":
            assert not PARSERS_WORDS.search(re.sub(r"'[^']*'|\"[^\"]*\"", "", f"{problem.message} {problem.hint}")), (
                problem
            )
            lines = text.split("\n")
            assert 1 <= problem.line <= len(lines) and 1 <= problem.column <= len(lines[problem.line - 1]) + 1, problem


def test_the_parser_would_have_said_it_otherwise() -> None:
    with pytest.raises(yaml.YAMLError) as error:
        yaml.safe_load(HEAD.replace("title: Larch Hut", "title: Larch Hut: two"))
    assert PARSERS_WORDS.search(str(error.value))
