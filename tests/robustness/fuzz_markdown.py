"""Fuzzes what reads and shows a log with its tables. Not run by the tests, but for a few inputs. How to run it stands in `fuzzing.py`.

Of each log: it is read; what is shown of it, as a log and as a page of the project, is no longer than 20 times the text; and
no tag, no attribute and no address stands in it but those that Markdown makes.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

import markdown
from fuzzing import Target, lines_of, run, watched
from growth import LOGS
from hostile import HEAD
from markdown.extensions.tables import TableExtension

with watched(__name__):
    from gasdoc.build import logtext
    from gasdoc.build.reader import read_spec
    from gasdoc.report.content.markdown import Handwritten, to_html

TAGS = frozenset(
    [
        "p",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "ul",
        "ol",
        "li",
        "blockquote",
        "pre",
        "code",
        "em",
        "strong",
        "a",
        "img",
        "figure",
        "figcaption",
        "span",
        "table",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "hr",
        "br",
    ]
)
ATTRIBUTES = frozenset(
    ["href", "src", "alt", "title", "rel", "loading", "width", "height", "start", "align", "class", "tabindex", "id"]
)


class _Reading(HTMLParser):
    """Every tag of a page, as a browser reads it."""

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        assert tag in TAGS, tag
        for name, value in attributes:
            assert name in ATTRIBUTES, (tag, name)
            if name in ("href", "src"):
                plain = re.sub(r"[\t\n\r]", "", value or "").lstrip("".join(map(chr, range(33))))
                scheme = re.match(r"([a-z][a-z0-9+.-]*):", plain.lower())
                assert scheme is None or scheme[1] in ("http", "https", "mailto"), value
                assert tag != "img" or scheme is None, value

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data}")

    def handle_decl(self, data: str) -> None:
        raise AssertionError(f"a declaration: {data}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"an instruction: {data}")


def check(raw: bytes) -> int:
    """A log, as it stands behind the front matter."""
    text = raw.decode("utf-8", "replace")
    build = read_spec(f"---\n{HEAD}---\n{text}".encode(), "s.md", "s").build
    if build is None:  # a letter that no spec may have
        return 0
    log = build.log
    shown = [to_html(part.text, str, plain=part.plain) for part in log.entries]
    shown.append(to_html(log.introduction, str, plain=log.plain))
    _looked_through("".join(f"<p>{one}</p>" for one in shown), raw)
    if logtext.work(text) <= logtext.MOST_WORK:
        tables = TableExtension(use_align_attribute=True)
        page = markdown.Markdown(extensions=["toc", tables, "fenced_code", Handwritten(raw_html=False)])
        _looked_through(page.convert(text), raw)
    return sum(map(len, shown))


def _looked_through(html: str, raw: bytes) -> None:
    assert len(html) < 20 * len(raw) + 1_000, len(html)
    reading = _Reading(convert_charrefs=True)
    reading.feed(html)
    reading.close()


WORDS = (
    *(make(1) for make in LOGS.values()),
    "a", "\n", "\n\n", " ", "\t", "    ", "  \n", "*", "_", "**", "`", "``", "```", "~~~", "[", "]", "(", ")", "![", "](", "<", ">", "&", "\\",
    "|", "|\n", "-|-\n", "|a", "|-", "|x\n", ":-:|", "- ", "1. ", "> ", "# ", "## ", "===\n", "---\n", "[a]: ", '"', "<script>", "<!--", "-->",
    "<a href=", "<?", "onclick=", "javascript:", "data:", "://", "&#x6a;", "\u00e9", "\u202e", "{", "}", ":", "+", "=", "klzzwxh:0",
    "wzxhzdk:0", "amp;", "STX", "\r\n", "![a](b.svg)", "[a](<j\tavascript:x>)", "<javascript:x>", "<http://a.b>",
)  # fmt: skip
SEEDS = (
    "Words *of* a log.\n\n## 2026-04-18: tank hung\n\n![The tank](tank.svg 'x')\n\n- one\n- two\n\n1. `six` psi\n",
    "|a|b|\n|:-|-:|\n|1|`2`|\n|3|\n\ntext\n\n> quoted [a](b) <http://e.org>\n",
    "## 2026-01-01: a\n\n```sh\n<b>\n```\n\n~~~\n\n## 2026-01-02: b\n\n    code\n\n* * *\n\nH\n===\n",
)
TARGET = Target(check, lines_of(SEEDS), lines_of(WORDS), seconds=3.0, longest=300_000)

if __name__ == "__main__":
    run(TARGET, "Fuzz what reads and shows a log.")
