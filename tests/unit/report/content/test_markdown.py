"""The log's Markdown: what a builder writes comes out, and nothing else does."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest

from gasdoc.report.content.markdown import to_html

ALLOWED = {
    "p",
    "h3",
    "h4",
    "h5",
    "h6",
    "ul",
    "ol",
    "li",
    "a",
    "img",
    "em",
    "strong",
    "code",
    "pre",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
    "blockquote",
    "br",
    "hr",
    "span",
    "figure",
    "figcaption",
}
HARMLESS = {"href", "src", "alt", "title", "align", "rel", "loading", "class", "start", "width", "height"}


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def html(text: str) -> str:
    """With a folder of specs that holds two files."""
    return to_html(
        text, lambda target: f"../{target}" if target.partition("#")[0] in ("hut/plan.svg", "other.md") else None
    )


def tags(text: str) -> list[tuple[str, dict[str, str | None]]]:
    parser = _Tags()
    parser.feed(html(text))
    return parser.found


def links(text: str) -> list[str | None]:
    """Every address a browser would follow or load, with entities resolved as a browser does."""
    return [attrs[key] for _, attrs in tags(text) for key in ("href", "src") if key in attrs]


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "before <script>alert(1)</script> after",
        "<img src=x onerror=alert(1)>",
        "a <img src=x onerror=alert(1)> b",
        "<div onclick='x()'>\n\ntext\n\n</div>",
        "<svg/onload=alert(1)>",
        "<!-- --><script>alert(1)</script>",
        "<!--><img src=x onerror=alert(1)>-->",
        "<?php x ?><b>x</b>",
        "<iframe src='https://example.org'></iframe>",
        "- item <b onmouseover=x>bold</b>\n- <script>x</script>",
        "| a | b |\n| - | -: |\n| <script>x</script> | <i onclick=x>y</i> |",
        "> <script>x</script>",
        "# <script>x</script>",
        "`<script>x</script>`",
        "```\n<script>x</script>\n```",
        '```js" onclick="x\n<script>x</script>\n```',
        "``` { .a onclick=x style=y }\n<script>x</script>\n```",
        "&lt;script&gt;alert(1)&lt;/script&gt;",
        "<scr<script>ipt>alert(1)</script>",
        "![<script>x</script>](hut/plan.svg)",
        '![a](hut/plan.svg "x\\" onerror=\\"alert(1)")',
        "[a](other.md '\" onclick=\"x')",
    ],
)
def test_no_raw_html_gets_through(text: str) -> None:
    for tag, attrs in tags(text):
        assert tag in ALLOWED, (tag, html(text))
        assert set(attrs) <= HARMLESS, (tag, attrs)


def test_text_that_looks_like_a_tag_is_shown_as_it_was_written() -> None:
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html("<script>alert(1)</script>")


@pytest.mark.parametrize(
    "target",
    [
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        " javascript:alert(1)",
        "java\tscript:alert(1)",
        "java&#10;script:alert(1)",
        "javascript&#58;alert(1)",
        "javascript&colon;alert(1)",
        "&#106;avascript:alert(1)",
        "\\javascript:alert(1)",
        "data:text/html,<script>x</script>",
        "vbscript:x",
        "file:///etc/passwd",
        "//example.org/x",
        "/etc/passwd",
        "../secret.md",
        "%2e%2e/secret.md",
        "hut/../../secret.md",
        "hut/%2e%2e/%2e%2e/secret.md",
        "http:javascript",
        "blob:x",
        "ftp://example.org/x",
        "https&#58;//example.org",
        "\x01javascript:alert(1)",
    ],
)
@pytest.mark.parametrize("form", ["[a]({})", "![a]({})", "<{}>", "[a][x]\n\n[x]: {}\n", "[a](<{}>)"])
def test_an_address_leads_to_the_web_or_into_the_folder_of_specs_and_nowhere_else(target: str, form: str) -> None:
    for address in links(form.format(target)):
        assert address is not None
        plain = "".join(c for c in address if c > " ").lower()
        assert plain.startswith(("http:", "https:", "mailto:", "../hut/plan.svg", "../other.md", "#")), address


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("![plan](hut/plan.svg)", "../hut/plan.svg"),
        ("![plan](./hut/plan.svg)", "../hut/plan.svg"),
        ("[other](other.md#top)", "../other.md#top"),
        ("[web](https://example.org/a?b=c&d=e#f)", "https://example.org/a?b=c&d=e#f"),
        ("[up](#entry)", "#entry"),
        ("<https://example.org/>", "https://example.org/"),
    ],
)
def test_good_addresses_come_through(text: str, address: str) -> None:
    assert links(text) == [address]


# Defect: urlsplit raises ValueError on some text that is no address, and that ends the whole build.
@pytest.mark.parametrize(
    "target", ["http://[", "https://[::1", "http://[x]y", "//[", "http://a]b", "https://\u2100.example"]
)
def test_an_address_that_is_none_does_not_stop_the_page(target: str) -> None:
    for form in ("see <{}>", "[a]({})", "![a]({})", "[a][x]\n\n[x]: {}\n"):
        assert "<p>" in html(form.format(target))


def test_a_picture_that_is_not_there_says_so_with_its_description() -> None:
    made = html("![The board](hut/none.svg)")
    assert "<img" not in made and "picture not found: The board" in made
    assert "no description" in html("![](hut/none.svg)")


def test_pictures_keep_their_description() -> None:
    assert [attrs.get("alt") for tag, attrs in tags('![Plan & "section"](hut/plan.svg)') if tag == "img"] == [
        'Plan & "section"'
    ]


def test_headings_stay_below_those_of_the_page() -> None:
    assert [tag for tag, _ in tags("# a\n\n## b\n\n### c\n\n#### d\n\n##### e\n\n###### f")] == [
        "h3",
        "h3",
        "h4",
        "h5",
        "h6",
        "h6",
    ]


def test_tables_align_without_style() -> None:
    made = html("| a | b |\n| :- | -: |\n| 1 | 2 |")
    assert "style" not in made and 'align="right"' in made and "<table>" in made


def test_what_builders_write_comes_out() -> None:
    made = html("We *bent* it, **twice**.\n\n1. one\n2. two\n\n- a\n- b\n\n> said\n\n    6 psi at 13:30\n\nDone.")
    for piece in (
        "<em>bent</em>",
        "<strong>twice</strong>",
        "<ol>",
        "<ul>",
        "<blockquote>",
        "<pre><code>6 psi at 13:30",
    ):
        assert piece in made


@pytest.mark.parametrize(
    "text",
    ["", "\n\n", "[", "![", "](", "`" * 50, "*" * 200, "> " * 100 + "x", "- " * 60 + "x", "[" * 300, "\\", "|\n|-|\n|"],
)
def test_odd_text_does_not_break_it(text: str) -> None:
    assert isinstance(html(text), str)


@pytest.mark.parametrize(
    "target", ["../x.md", "hut/../../x.md", "%2e%2e/x.md", "/x.md", "//host/x.md", "file:x.md", "..\\x.md/../../y"]
)
def test_no_path_outside_the_folder_of_specs_is_even_looked_up(target: str) -> None:
    asked: list[str] = []
    to_html(f"[a]({target}) ![b]({target})", lambda path: asked.append(path) or path)
    assert all(not path.startswith(("..", "/")) and ":" not in path for path in asked), asked
