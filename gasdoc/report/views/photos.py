"""The gallery: every photo of a build by place and by date, each with a link to where it belongs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from gasdoc.build.supply import slug
from gasdoc.report.content.photos import Picture
from gasdoc.report.content.words import first_upper


def view(named: Mapping[str, Sequence[Picture]], logged: Sequence[Picture]) -> dict[str, Any]:
    """The photos that the spec names by place, those of the log, and all dates with the photos of each."""
    places: dict[str, list[Picture]] = {}
    for those in named.values():
        for picture in those:
            places.setdefault(first_upper(picture.place), []).append(picture)
    without = places.pop("", [])
    groups = [(f"place-{slug(place)}", place, _by_date(those)) for place, those in sorted(places.items())]
    groups += [("place-other", "Other places" if groups else "Photos", _by_date(without))] if without else []
    groups += [("place-log", "In the build log", list(logged))] if logged else []
    dates: dict[dt.date, list[Picture]] = {}
    for picture in (p for _, _, those in groups for p in those):
        if picture.date is not None:
            dates.setdefault(picture.date, []).append(picture)
    return {"groups": groups, "dates": sorted(dates.items())}


def _by_date(those: list[Picture]) -> list[Picture]:
    """The photos with a date, the first one first, then the others."""
    return sorted(those, key=lambda picture: (picture.date is None, picture.date or dt.date.min))
