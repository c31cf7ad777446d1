"""The build log."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from markupsafe import Markup

from gasdoc.report import markdown
from gasdoc.study import Study


def view(
    study: Study, here: str, link: Callable[[str, str], str], pictures: Callable[[str], bool]
) -> dict[str, Any]:
    """The entries as HTML; `pictures` tells whether a path among the specs exists."""
    def resolve(target: str) -> str | None:
        path = target.partition("#")[0]
        return link(here, target) if pictures(path) else None

    log = study.build.log
    entries = [
        {"entry": entry, "html": Markup(markdown.to_html(entry.text, resolve))} for entry in log.entries
    ]  # fmt: skip
    return {"introduction": Markup(markdown.to_html(log.introduction, resolve)), "entries": entries}
