"""The links of a Markdown text: all that the converter makes a link of are found, each at its place."""

from __future__ import annotations

import re
import time

import markdown
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from properties import tries

from gasdoc.build.links import path_of, stays, written
from gasdoc.report.content.markdown import Handwritten, to_html


def found(text: str) -> list[tuple[str, int, int, bool]]:
    return [(link.target, link.line, link.column, link.picture) for link in written(text, 1)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("![a](b.jpg)", [("b.jpg", 1, 6, True)]),
        ("text\n\nand [a](b.txt) there", [("b.txt", 3, 9, False)]),
        ('[a](b "a title (with)")', [("b", 1, 5, False)]),
        ("[a](b 'x' )", [("b", 1, 5, False)]),
        ("[a](<b c.jpg>)", [("b c.jpg", 1, 6, False)]),
        ("[a](<\nb.jpg>)", [("b.jpg", 2, 1, False)]),
        ("[a](b(1).jpg)", [("b(1).jpg", 1, 5, False)]),
        ("[a](r\\_s.jpg)", [("r_s.jpg", 1, 5, False)]),
        ("[![a](i.png)](l.pdf)", [("i.png", 1, 7, True), ("l.pdf", 1, 15, False)]),
        ("[long\ntext](b.txt)", [("b.txt", 2, 7, False)]),
        (
            "[a][one] ![b][two]\n\n[one]: b.txt\n[two]: <c.jpg> 'x'\n[three]: d.txt",
            [("b.txt", 3, 8, False), ("c.jpg", 4, 8, True)],
        ),
        ("[One] and\n\n[one]: b.txt", [("b.txt", 3, 8, False)]),
        ("`[a](b)` and ``[a](b) ` `` and [c](d)", [("d", 1, 36, False)]),
        ("```\n[a](b)\n```\n\n[c](d)", [("d", 5, 5, False)]),
        ("~~~ sh\n[a](b)\n~~~", []),
        ("text\n\n    [a](b)\n\n[c](d)", [("d", 5, 5, False)]),
        ("- text\n\n    ![a](b.jpg)", [("b.jpg", 3, 10, True)]),
        ("| [a](b) | ![c](d) |\n|--|--|\n| x | y |", [("b", 1, 7, False), ("d", 1, 17, True)]),
        ("\\[a](b) [c\\](d) [e](f)", [("f", 1, 21, False)]),
        ("> ![a](b.jpg)", [("b.jpg", 1, 8, True)]),
        ("a](b) [c] (d) [e]: f", []),
        ("no links", []),
    ],
)
def test_each_link_is_found_where_its_target_stands(text: str, expected: list[tuple[str, int, int, bool]]) -> None:
    assert found(text) == expected


PIECES = st.sampled_from(
    [
        *(
            "[",
            "]",
            "(",
            ")",
            "![",
            "](",
            "[a](b.txt)",
            "![p](q.jpg)",
            "[a][r]",
            "![a][r]",
            "[r]",
            "\n\n[r]: s.txt\n",
            "[r]:",
        ),
        *(
            "`",
            "``",
            "```",
            "~~~",
            "\n",
            "\n\n",
            "    ",
            "\t",
            "- ",
            "1. ",
            "> ",
            "# ",
            "|",
            "\\",
            '"',
            "'",
            "<",
            ">",
            " ",
            "x",
        ),
        *(
            "*",
            "_",
            "!",
            "&amp;",
            "http://e.org",
            "../",
            "#a",
            "c d.png",
            "\n```\n",
            "\n~~~\n",
            "\n- ",
            "\n\n    ",
            "|--|\n",
        ),
    ]
)


@tries(1500)
@given(st.lists(PIECES, max_size=16).map("".join))
@example("```a`` [x](y.txt) ``")
@example("[a]([b](c.txt))")
@example("[![p](q.jpg)][r]\n\n[r]: s.txt")
@example("a\n[r]: s.txt\n[r]")
@example("[r]:- [\n\n[r]: s.txt\n")
@example("[![p](q.\xff](b.txt 't')}_g)][r]")
@example("![]([](q.jpg'')")
@example("#  ``[a](b.txt)_\n ` `` x")
@example("`[](q.jpg)\n[]:`")
@example("|[`](q.jpg)|\n|-\n`")
@example("``[](b.txt)` ```")
@example(f'[a](b.txt "{"x" * 5_000}")')
def test_every_link_of_a_page_is_one_that_was_found(text: str) -> None:
    asked: set[str] = set()

    def resolve(target: str) -> str | None:
        asked.add(target)
        return target

    to_html(text, resolve)
    known = set()
    for link in written(text, 1):
        path = path_of(link.target)
        if path is not None and not path.startswith(".."):
            known.add(path)
    # What is left of a bracket that is not closed may be asked for, too; it is the name of no file.
    named = {target.partition("#")[0] for target in asked if target.endswith((".txt", ".jpg", ".png"))}
    assert named <= known


@tries(300)
@given(st.lists(PIECES, max_size=16).map("".join))
@example("~~~ `a\n[a](b.txt)\n~~~")
@example("   ``` `\n[a](b.txt)\n```")
@example("    ```\n\n[a](b.txt)\n")
def test_a_page_of_the_project_has_the_fences_of_a_log(text: str) -> None:
    def links(html: str) -> list[str]:
        return sorted(re.findall(r'(?:href|src)="(b\.txt|q\.jpg|s\.txt)"', html))

    page = markdown.Markdown(extensions=["tables", "sane_lists", "fenced_code", Handwritten(raw_html=False)])
    assert links(page.convert(text)) == links(to_html(text, lambda target: target))


@tries(300)
@given(st.lists(PIECES, max_size=16).map("".join))
def test_a_target_stands_at_the_place_that_is_told(text: str) -> None:
    lines = text.split("\n")
    for link in written(text, 1):
        first = link.target.split("\n")[0]
        if first and "\\" not in text:
            assert lines[link.line - 1][link.column - 1 :].lstrip(" <").startswith(first[:1])


@pytest.mark.parametrize(
    ("link", "path"),
    [
        ("a/b.jpg", "a/b.jpg"),
        ("a/../b%20c.jpg#x", "b c.jpg"),
        ("../b.jpg", "../b.jpg"),
        ("/b.jpg", None),
        ("//host/b.jpg", None),
        ("file:///b.jpg", None),
        ("C:\\b.jpg", None),
        ("javascript:x", None),
        ("http://[", None),
        ("#x", None),
    ],
)
def test_the_path_that_a_link_names(link: str, path: str | None) -> None:
    assert path_of(link) == path


@pytest.mark.parametrize(
    ("link", "expected"),
    [("https://e.org", True), ("mailto:a@b", True), ("#x", True), ("x", False), ("ftp://x", False)],
)
def test_which_links_need_no_file(link: str, expected: bool) -> None:
    assert stays(link) is expected


@pytest.mark.parametrize(
    "text",
    [
        "[" * 200_000,
        "[a](" * 100_000,
        ("[a](" * 900 + "x" + ")" * 900) * 60,
        "[" * 50_000 + "]" * 50_000,
        "[" * 5_000 + "](a)" * 5_000,
        "[a](b)" * 40_000,
        "\n[a]: b" * 40_000 + "[a]",
        "``` `" * 50_000,
        "~~~a\n" * 50_000,
        "\\" * 200_000 + "`",
        "\\`" * 100_000,
        "[a](b'" * 40_000,
        "> " * 100_000,
    ],
)
def test_a_text_made_to_take_long_is_read_soon(text: str) -> None:
    start = time.process_time()
    written(f"{text}\n\n[a](b)\n\n[c]: d", 1)
    assert time.process_time() - start < 15  # seconds; a walk over the rest at each bracket took minutes
