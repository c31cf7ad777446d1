"""Takes the README's pictures of the example site again: python tests/site/pictures.py, after `gasdoc build`."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from browser import ARGUMENTS, find_chromium
from PIL import Image
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
COLOURS = 128
"""Colours kept in a picture: text and lines look the same, and it stays small."""

PICTURES = {
    "overview": ("larch-hut/index.html", "light", 1280, 800),
    "overview-dark": ("larch-hut/index.html", "dark", 1280, 800),
}
"""By name: page, scheme, width and height."""


def main() -> None:
    """Write every picture to .readme/."""
    folder = ROOT / ".readme"
    folder.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
        for name, (page_name, scheme, width, height) in PICTURES.items():
            context = chromium.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)  # type: ignore[arg-type]  # one of two words
            page = context.new_page()
            page.goto((ROOT / "site" / page_name).as_uri())
            picture = Image.open(BytesIO(page.screenshot())).convert("RGB").quantize(COLOURS)
            picture.save(folder / f"{name}.png", optimize=True)
            context.close()
        chromium.close()


if __name__ == "__main__":
    main()
