"""The build log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from markupsafe import Markup

from gasdoc.folder.linked import Judge
from gasdoc.published import PictureSize
from gasdoc.report import markdown
from gasdoc.study import Study


def view(study: Study, here: str, link: Callable[[str, str], str], judge: Judge) -> dict[str, Any]:
    """The entries as HTML, each with those before and after it; `judge` tells what a path among the specs leads to."""

    def resolve(target: str) -> str | None:
        path, mark, anchor = target.partition("#")
        leads = judge(path).leads
        return link(here, leads + mark + anchor) if leads is not None else None

    def measure(path: str) -> PictureSize | None:
        return judge(path).size

    log = study.build.log
    entries = [
        {
            "entry": entry,
            "html": Markup(markdown.to_html(entry.text, resolve, measure, plain=entry.plain)),
            "before": log.entries[place - 1] if place else None,
            "after": log.entries[place + 1] if place + 1 < len(log.entries) else None,
        }
        for place, entry in enumerate(log.entries)
    ]
    return {
        "introduction": Markup(markdown.to_html(log.introduction, resolve, measure, plain=log.plain)),
        "entries": entries,
    }
