"""The measuring sheet: what to read, measure and ask before a spec can be written, made from the starter spec itself."""

from __future__ import annotations

import re
from collections.abc import Sequence

import jinja2
from markupsafe import Markup
from msgspec import Struct

from gasdoc.build.model.route import way
from gasdoc.build.starter import starter
from gasdoc.report.content.links import Link
from gasdoc.report.content.output import Page
from gasdoc.report.drawings.line import draw
from gasdoc.report.drawings.line.sheet import RunWords, Sheet, Sign
from gasdoc.report.views.supply.line import signs
from gasdoc.study.supply.route import Passage, Stretch, plus

PAGE = "measuring-sheet.md"

_LINE = re.compile(r"(?P<indent>[ ]*(?:-[ ]+)*)(?P<key>[a-z_]+):(?P<value>[^#]*)(?:#[ ]*(?P<hint>.*))?")
_COMMENT = re.compile(r"\s+#\s*(?P<hint>.*)")


class Measurement(Struct, frozen=True):
    """One thing to find out: where its key stands in a spec, and the starter's words on it."""

    path: tuple[str, ...]
    hint: str

    @property
    def name(self) -> str:
        """The key, with what block it stands in where that says whose it is."""
        block = f"{self.path[-2]} " if self.path[-2:-1] in (("connector",), ("hose",), ("jetted_for",)) else ""
        return (block + self.path[-1]).replace("_", " ")


def entries(text: str) -> tuple[Measurement, ...]:
    """Every key of a starter spec that a builder fills in, in its order, once; also those it has commented out."""
    found: dict[tuple[str, ...], str] = {}
    above: list[tuple[int, str]] = []
    last: tuple[str, ...] | None = None
    before = ""
    for raw in text.splitlines():
        line = raw.removeprefix("#")
        match = _LINE.fullmatch(line)
        if match is None:
            more = _COMMENT.fullmatch(raw)
            if more is not None and last is not None and not raw.startswith("#"):
                found[last] += " " + more["hint"]
            else:
                last, before = None, line.strip() if raw.startswith("#") else ""
            continue
        depth = len(match["indent"])
        above = [(other, key) for other, key in above if other < depth]
        last = (*(key for _, key in above), match["key"])
        if last in found:
            last = None  # a second branch asks the same again
        else:
            found[last] = (match["hint"] or before).strip()
        before = ""
        above.append((depth, match["key"]))
    blocks = {path[:-1] for path in found}
    return tuple(Measurement(path, hint) for path, hint in found.items() if path not in blocks)


def _below(found: Sequence[Measurement], *where: str) -> list[Measurement]:
    """The entries directly in a block whose innermost names are `where`."""
    return [entry for entry in found if entry.path[:-1][-len(where) :] == where]


def page(env: jinja2.Environment, link: Link) -> Page:
    """The sheet."""
    found = entries(starter("my-build", "", "us-cabin", "both"))
    top = [
        e
        for e in found
        if len(e.path) == 1 and e.path[0] in ("summary", "region", "setting", "altitude", "coldest", "gas")
    ]
    appliance = [e for e in found if "appliance" in e.path]
    html = env.get_template("pages/measuring-sheet.html").render(
        top=top,
        container=_below(found, "container"),
        mount=[e for e in found if "mount" in e.path],
        regulator=[e for e in found if e.path[:-1] == ("regulator",)],
        runs=list(_below(found, "supply", "run")),
        outlet=[e for e in found if "outlet" in e.path[:-1] and "appliance" not in e.path],
        appliance=appliance,
        space=_below(found, "spaces"),
        alarms=_below(found, "spaces", "alarms"),
        home=link(PAGE, "index.md"),
        legs=TEXT,
        drawn=Markup(example().svg),  # noqa: S704  # ours
        signs=signs([example()]),
    )
    return Page(
        PAGE, "Measuring sheet", html, None, (), "What to read and measure before a spec can be written, to print."
    )


# --- the example of legs, drawn ---------------------------------------------------------------------------------------

LEGS = ("1 ft up", "4 ft aft", "14 in aft-down", "3 ft aft", "2 ft left")


THROUGH = {1: Passage("wall", 0.375, guessed=False)}
"""The second leg passes a wall 18 in from its start."""


TEXT = "legs: [1 ft up, {leg: 4 ft aft, through: wall, at: 18 in}, 14 in aft-down, 3 ft aft, 2 ft left]"


def example() -> draw.Drawn:
    """The drawing of `TEXT`, with a valve and an appliance at its end."""
    at = (0.0, 0.0, 0.0)
    stretches = [Stretch("container", True, plus(at, (0.0, 0.0, -0.3)), at, 0.3, "", "", "", ())]
    for i, text in enumerate(LEGS):
        leg = way(text)
        head = plus(at, leg.vector)
        passages = (THROUGH[i],) if i in THROUGH else ()
        stretches.append(Stretch("run", False, at, head, leg.length, text, text.rpartition(" ")[0], "", passages))
        at = head
    stretches.append(Stretch("burner", True, at, plus(at, (0.0, 0.0, 0.3)), 0.3, "1 ft up", "1 ft", "", ()))
    last = len(LEGS)
    signs = (
        Sign("container", "container", 0, "tail", 0, ("container",)),
        Sign("regulator", "regulator", 1, "tail", 0, ("regulator",)),
        Sign("valve", "valve", last, "head", 0, ("valve",)),
        Sign("burner", "appliance", last + 1, "head", 0, ("burner",)),
    )
    runs = (RunWords("run", "A", ("the run",), tuple(range(1, last + 1))),)
    sheet = Sheet("example", "these legs", tuple(stretches), signs, runs, (), (), False, "us", True, "")
    return draw.isometric(sheet)
