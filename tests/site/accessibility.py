"""What axe finds on the pages of a site. axe takes seconds a page, so each thing is looked at once: every piece of structure
on some page, every look of a text on one element that has it, and on the narrow screen what that changes."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from browser import DESKTOP, NARROW, PAINTED, pages_of, resize

if TYPE_CHECKING:
    from playwright.sync_api import JSHandle, Page

COLOURS = ("color-contrast", "link-in-text-block")
WIDTHS = ("target-size", "scrollable-region-focusable")
"""The rules that a narrower screen can change for what both show: how near to each other things are, and what scrolls."""
TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
OPTIONS: dict[str, Any] = {"resultTypes": ["violations"], "preload": False, "selectors": False}
"""No page has film or sound that would have to be loaded first."""
NO_COLOURS = OPTIONS | {
    "runOnly": {"type": "tag", "values": TAGS},
    "rules": {name: {"enabled": name not in COLOURS} for name in (*COLOURS, "target-size", "td-has-header")},
}


def only(*rules: str) -> dict[str, Any]:
    """To look for these rules alone."""
    return OPTIONS | {"runOnly": {"type": "rule", "values": rules}}


VOID = frozenset(["area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"])

AXE = """([elements, options]) => {
  const context = elements ? {include: elements} : document;
  return axe.run(context, options).then(result => result.violations.map(
    rule => `${rule.id}: ${rule.nodes.slice(0, 3).map(node => node.html.slice(0, 120))}`));
}"""

READY = """() => {
  document.querySelectorAll("details").forEach(one => { one.open = true; });
  const kinds = new Map(), of = new Map();
  const kind = one => {
    const told = one.getAttributeNames().map(name => name === "class" ? one.className : name + !one.getAttribute(name));
    const wrote = [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim());
    const key = [one.tagName, told, wrote, ...new Set([...one.children].map(kind))].join("|");
    if (!kinds.has(key)) kinds.set(key, kinds.size);
    of.set(one, kinds.get(key));
    return kinds.get(key);
  };
  kind(document.body);
  for (const one of document.querySelectorAll("body *")) {
    const seen = {};
    for (const child of [...one.children]) {
      seen[of.get(child)] = (seen[of.get(child)] || 0) + 1;
      if (seen[of.get(child)] > 5) child.remove();
    }
  }
}"""
"""Opens what is folded, and leaves five of what stands in one place time and again: rows that have the same elements with the
same classes and attributes, and with text or without it in the same places."""

LOOKS = """() => {
  const found = new Map();
  const behind = one => {
    if (!one) return "";
    if (!found.has(one)) {
      const style = getComputedStyle(one);
      const own = [style.backgroundColor, style.backgroundImage, style.opacity, style.filter, style.mixBlendMode];
      if (["absolute", "fixed", "sticky"].includes(style.position)) own.push(one.tagName, one.className);
      const plain = own.join() === "rgba(0, 0, 0, 0),none,1,none,normal";
      found.set(one, behind(one.parentElement) + (plain ? "" : own.join()));
    }
    return found.get(one);
  };
  const wrote = one => [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim());
  const large = (size, weight) => size >= 24 || (size >= 18.66 && weight >= 700);  // 18 pt, or 14 pt and bold
  window.shown = new Map();
  for (const one of document.body.querySelectorAll("*")) {
    if (!(wrote(one) || one.matches("input, select, textarea, button")) || !one.checkVisibility()) continue;
    const style = getComputedStyle(one), above = one.parentElement, around = getComputedStyle(above);
    const look = [style.color, large(parseFloat(style.fontSize), style.fontWeight), style.textShadow, style.visibility, behind(one)];
    if (one.closest("svg")) look.push(one.tagName, one.getAttribute("class"), style.fill);
    if (one.matches("a")) look.push(wrote(above), around.color, around.fontWeight, around.fontSize, style.fontWeight, style.fontSize,
      style.textDecorationLine, style.borderBottomStyle);
    if (!window.shown.has(look.join("|"))) window.shown.set(look.join("|"), one);
  }
  return [...window.shown.keys()];
}"""
"""Every look of a text: its colours, whether it is large, what is drawn behind it, and of a link what is around it. The first
element that has it is kept for it in `shown`."""

MARK = "document.querySelectorAll('body *').forEach(one => { one.wasShown = one.checkVisibility(); })"
NEWCOMERS = """() => {
  const kind = one => `${one.tagName}.${one.getAttribute("class")}`;
  window.shown = new Map();
  for (const one of document.body.querySelectorAll("*")) {
    if (!one.wasShown && one.checkVisibility())
      window.shown.set([kind(one.parentElement), kind(one), ...one.getAttributeNames()].join(" "), one);
  }
  return [...window.shown.keys()];
}"""
"""Every piece that is shown now and was not when the page was marked, kept in `shown` like a look."""
SHOWN = "keys => keys.map(key => window.shown.get(key))"


class Structure(HTMLParser):
    """What a page is made of: each element by its tag, its classes, its attributes and what it stands in."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.pieces: set[tuple[str, ...]] = set()
        self._open: list[str] = []
        self.feed(path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        one = f"{tag}.{'.'.join(sorted(given.get('class', '').split()))}"
        told = (f"{name}={given[name] if name in ('role', 'scope', 'type') else ''}" for name in given)
        self.pieces.add((self._open[-1] if self._open else "", one, *sorted(told)))
        if tag not in VOID:
            self._open.append(one)

    def handle_endtag(self, tag: str) -> None:
        while self._open and not self._open.pop().startswith(f"{tag}."):
            pass


def pages_to_look_at(site: Path) -> list[str]:
    """Of each kind of page the one that is made of most, and further pages until no piece of any page is left out: the lightest
    for what they add. Pages of the reference are one kind."""
    pieces = {name: Structure(site / name).pieces for name in pages_of(site)}
    richest: dict[tuple[str, int], str] = {}
    for name in pieces:
        kind = ("reference", 1) if name.startswith("reference/") else (name.rpartition("/")[2], name.count("/"))
        richest[kind] = max(richest.get(kind, name), name, key=lambda one: len(pieces[one]))
    chosen = list(richest.values())
    left = set().union(*pieces.values()).difference(*(pieces[name] for name in chosen))
    while left:
        chosen.append(max(pieces, key=lambda name: len(pieces[name] & left) / (site / name).stat().st_size))
        left -= pieces[chosen[-1]]
    return chosen


class Look:
    """Looks at one page after the other, and remembers what it has looked at: looks of texts, pieces of the narrow screen."""

    def __init__(self, page: Page, axe: str) -> None:
        self.page = page
        self.found: list[str] = []
        self._known: set[str] = set()
        self._axe = axe

    def at(self, address: str) -> None:
        """One page: everything on the desktop, colours in light and in dark, and what is other on the narrow screen."""
        self.page.set_viewport_size(DESKTOP)
        self.page.emulate_media(color_scheme="light")
        self.page.goto(address)
        self.page.evaluate(READY)
        self.page.evaluate(PAINTED, DESKTOP["width"])
        self.page.evaluate(self._axe)
        self._ask("desktop", NO_COLOURS)
        self._colours("desktop")
        self.page.evaluate(MARK)
        resize(self.page, NARROW)
        self._ask("phone", only(*WIDTHS))
        self._ask_of_new("phone", NEWCOMERS, NO_COLOURS)
        self._colours("phone")

    def _colours(self, where: str) -> None:
        schemes: list[Literal["light", "dark"]] = ["light", "dark"]
        for scheme in schemes:
            self.page.emulate_media(color_scheme=scheme)
            self._ask_of_new(f"{where}, {scheme}", LOOKS, only(*COLOURS))

    def _ask_of_new(self, where: str, what: str, options: dict[str, Any]) -> None:
        new = [key for key in self.page.evaluate(what) if key not in self._known]
        self._known.update(new)
        if new:
            self._ask(where, options, self.page.evaluate_handle(SHOWN, new))

    def _ask(self, where: str, options: dict[str, Any], elements: JSHandle | None = None) -> None:
        told = self.page.evaluate(AXE, [elements, options])
        self.found += [f"{self.page.url}, {where}: {one}" for one in told]


def complaints(page: Page, axe: str, addresses: list[str]) -> list[str]:
    """What axe says of pages."""
    look = Look(page, axe)
    for address in addresses:
        look.at(address)
    return look.found
