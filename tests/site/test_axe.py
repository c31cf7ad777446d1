"""axe finds nothing: on no piece of any page, in no colours, on no width."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from accessibility import Structure, complaints, pages_to_look_at

if TYPE_CHECKING:
    from playwright.sync_api import Page


def test_axe_finds_nothing(page: Page, site: Path, address: str, axe: str) -> None:
    names = pages_to_look_at(site)
    assert len(names) > 3
    assert complaints(page, axe, [f"{address}/{name}" for name in names]) == []


def test_the_pages_looked_at_have_every_piece_of_all(tmp_path: Path) -> None:
    for name, body in {
        "a/index.html": "<p>a</p><p class=note>b</p>",
        "b/index.html": "<p>a</p>",
        "c/index.html": "<ul><li>a</li></ul>",
        "c/more.html": "<p>a</p>",
        "d/index.html": "<p>a</p>",
    }.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(f"<body>{body}</body>", encoding="utf-8")
    assert pages_to_look_at(tmp_path) == ["a/index.html", "c/more.html", "c/index.html"]
    assert ("p.note", "b.") in {
        piece[:2] for piece in Structure(write(tmp_path, "<p class=note><br>a<b>b</b></p>")).pieces
    }


def write(folder: Path, body: str, style: str = "") -> Path:
    path = folder / "page.html"
    head = f"<title>Page</title><style>{style}</style>"
    path.write_text(
        f"<!doctype html><html lang=en><head>{head}</head><body><main><h1>Page</h1>{body}</main></body></html>",
        encoding="utf-8",
    )
    return path


@pytest.mark.parametrize(
    ("body", "style", "found"),
    [
        (
            "<p>one</p><p class=pale>two</p>",
            ".pale {color: #ccc}",
            ["desktop, light: color-contrast"],
        ),
        (
            "<p>one</p><div class=pale><p>two</p></div>",
            ".pale {background: #444}",
            ["desktop, light: color-contrast"],
        ),
        ("<p>one</p>", "@media (prefers-color-scheme: dark) {p {background: #222}}", ["desktop, dark: color-contrast"]),
        (
            "<p>one</p>",
            "@media (max-width: 400px) {p {color: #ccc}}",
            ["phone, light: color-contrast"],
        ),
        (
            "<p>one <a href=b>two</a> three</p>",
            "a {color: #222; text-decoration: none}",
            ["desktop, light: link-in-text-block"],
        ),
        ("<img src=x>", "", ["desktop: image-alt"]),
        ("<p><button></button></p>", "@media (min-width: 401px) {button {display: none}}", ["phone: button-name"]),
        (
            "<button>a</button><button>b</button>",
            "@media (max-width: 400px) {button {padding: 0; border: 0; width: 9px; height: 9px; font-size: 9px}}",
            ["phone: target-size"],
        ),
    ],
    ids=[
        "pale",
        "dark behind",
        "dark scheme",
        "pale on the phone",
        "a link like its text",
        "no words for a picture",
        "only on the phone",
        "too near on the phone",
    ],
)
def test_what_is_wrong_would_be_found(
    page: Page, axe: str, tmp_path: Path, body: str, style: str, found: list[str]
) -> None:
    told = complaints(page, axe, [write(tmp_path, body, style).as_uri()])
    assert [rule for one in told for rule in found if rule in one] == found, told
