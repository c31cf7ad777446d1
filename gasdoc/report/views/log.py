"""The build log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from markupsafe import Markup

from gasdoc.report import markdown
from gasdoc.report.markdown import Measure
from gasdoc.study import Study


def view(
    study: Study, here: str, link: Callable[[str, str], str], pictures: Callable[[str], bool], measure: Measure
) -> dict[str, Any]:
    """The entries as HTML, each with those before and after it; `pictures` tells whether a path among the specs exists,
    `measure` how large the picture there is."""

    def resolve(target: str) -> str | None:
        path = target.partition("#")[0]
        return link(here, target) if pictures(path) else None

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
