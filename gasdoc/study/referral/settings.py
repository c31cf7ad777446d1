"""Whether the region's rules are for what the gas is fitted in."""

from __future__ import annotations

from collections.abc import Iterator

from gasdoc.study.facts import Installation, setting
from gasdoc.study.findings import Finding, note, warning


def setting_findings(build: Installation) -> Iterator[Finding]:
    """A setting that the region is not for, and one that is not stated."""
    where, meant = setting(build), build.region.settings
    if where is not None and where not in meant:
        yield warning(
            "region-for-another-setting",
            "build",
            ("setting",),
            f"The rules of '{build.region.id}' are for a {' or '.join(meant)}, and this is a {where}.",
            f"What they are for: {build.region.scope}",
            "Take the region that is for it, if there is one. Else take every row of the rules as a hint only, and ask which rules hold.",
        )
    if where is None:
        yield note(
            "setting-unknown",
            "build",
            ("region",),
            "What the gas is fitted in is not stated.",
            "The region's rules differ for a vehicle, a trailer, a cabin and a boat. Cautions for several are shown.",
            "Add 'setting: cabin', 'trailer', 'vehicle' or 'boat'.",
        )
