"""The build log."""

from __future__ import annotations

import re
from typing import Any

from markupsafe import Markup

from gasdoc.folder.linked import Judge
from gasdoc.report.content import markdown
from gasdoc.report.content.links import Link
from gasdoc.study import Study


def view(study: Study, here: str, link: Link, judge: Judge) -> dict[str, Any]:
    """The entries as HTML, each with those before and after it; `judge` tells what a path among the specs leads to."""

    def resolve(target: str) -> str | None:
        path, mark, anchor = target.partition("#")
        leads = judge(path).leads
        return link(here, leads + mark + anchor) if leads is not None else None

    def measure(path: str) -> markdown.Shown | None:
        found = judge(path)
        copies = tuple((link(here, copy.place), copy.width) for copy in found.copies)
        return markdown.Shown(found.size, copies) if found.size is not None else None

    joints = {f"#joint-{joint.id}" for joint in study.leak_test.joints}
    listed = link(here, f"{study.build.slug}/leak-test.md")

    def led(html: str) -> Markup:
        """Links to a joint by its id, as in '#joint-main-ends', lead to its row; those of one that is gone to the list."""
        found = re.sub(
            r'href="(#joint-[a-z0-9-]+)"', lambda a: f'href="{listed}{a[1] if a[1] in joints else "#joints"}"', html
        )
        return Markup(found)

    log = study.build.log
    entries = [
        {
            "entry": entry,
            "html": led(markdown.to_html(entry.text, resolve, measure, plain=entry.plain)),
            "before": log.entries[place - 1] if place else None,
            "after": log.entries[place + 1] if place + 1 < len(log.entries) else None,
        }
        for place, entry in enumerate(log.entries)
    ]
    return {
        "introduction": led(markdown.to_html(log.introduction, resolve, measure, plain=log.plain)),
        "entries": entries,
    }
