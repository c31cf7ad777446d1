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
    "overview": ("larch-hut/index.html", "light", 1160, 880, None),
    "supply-tree": ("larch-hut/supply.html", "dark", 390, 760, ".drawing"),
    "cold-day": ("larch-hut/container.html", "light", 390, 760, ".chart"),
}
"""By name: page, scheme, width and height, and what to scroll to the top."""


def main() -> None:
    """Write every picture to .readme/."""
    folder = ROOT / ".readme"
    folder.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=find_chromium(), args=ARGUMENTS)
        for name, (page_name, scheme, width, height, top) in PICTURES.items():
            context = chromium.new_context(viewport={"width": width, "height": height}, color_scheme=scheme)  # type: ignore[arg-type]  # one of two words
            page = context.new_page()
            page.goto((ROOT / "site" / page_name).as_uri())
            if top is not None:
                page.evaluate("to => document.querySelector(to).scrollIntoView()", top)
            picture = Image.open(BytesIO(page.screenshot())).convert("RGB").quantize(COLOURS)
            picture.save(folder / f"{name}.png", optimize=True)
            context.close()
        chromium.close()


if __name__ == "__main__":
    main()
