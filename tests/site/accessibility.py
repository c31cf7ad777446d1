"""What axe finds on the pages of a site. It takes minutes, so each width has a file of its own: files run side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from browser import DESKTOP, pages_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ViewportSize

COLOURS = ["color-contrast", "link-in-text-block"]
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]


def axe_rules(scheme: str, *, colours: bool = True) -> dict[str, Any]:
    """What axe looks for: everything in light; in dark what the scheme changes, which is colour."""
    if scheme == "dark":
        return {"runOnly": {"type": "rule", "values": COLOURS}, "resultTypes": ["violations"]}
    rules = {"target-size": {"enabled": True}, "td-has-header": {"enabled": True}}
    rules |= {rule: {"enabled": colours} for rule in COLOURS}
    return {"runOnly": {"type": "tag", "values": TAGS}, "rules": rules, "resultTypes": ["violations"]}


def complaints(browser: Browser, site: Path, address: str, axe: str, viewport: ViewportSize) -> list[str]:
    """What axe says of every kind of page, from one build on the phone and from another on the desktop, in both schemes."""
    names = pages_of(site) if viewport is DESKTOP else pages_of(site)[::-1]
    kinds = {(name.startswith("reference/"), name.rpartition("/")[2]): name for name in names if name != "index.html"}
    # The whole is made of the other pages, and checking it takes as long as they do; its colours are theirs.
    jobs = [name for name in ("index.html", *kinds.values()) if viewport is DESKTOP or not name.endswith("/whole.html")]
    found = []
    # Two pages at a time, each in a process of its own: axe runs in one while the other is asked.
    tabs = [browser.new_context(viewport=viewport, color_scheme="light").new_page() for _ in range(2)]
    for at in range(0, len(jobs), len(tabs)):
        batch = list(zip(tabs, jobs[at : at + len(tabs)], strict=False))
        for page, name in batch:
            page.emulate_media(color_scheme="light")
            page.goto(f"{address}/{name}")
            page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            page.evaluate(axe)
        for scheme in ("light", "dark"):
            asked = [one for one in batch if scheme == "light" or not one[1].endswith("/whole.html")]
            for page, name in asked:
                page.emulate_media(color_scheme=scheme)
                rules = axe_rules(scheme, colours=not name.endswith("/whole.html"))
                page.evaluate("options => { window.result = axe.run(options); }", rules)
            for page, name in asked:
                for rule in page.evaluate("window.result")["violations"]:
                    nodes = [node["html"][:120] for node in rule["nodes"][:3]]
                    found.append(f"{name}, {scheme}: {rule['id']}: {nodes}")
    for page in tabs:
        page.context.close()
    assert len(jobs) > 3
    return found
