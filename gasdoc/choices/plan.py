"""A plan as a build: its open keys filled in with the first design."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gasdoc.build.reader import Build
from gasdoc.regions.region import UnknownRegion, region
from gasdoc.study.materials.own_files import NOTHING, Own

if TYPE_CHECKING:
    from gasdoc.choices.choices import Choices


def planned(build: Build, own: Own = NOTHING) -> tuple[Build, Choices | None]:
    """The build with its open keys filled in with the first of its designs, and all of its choices.

    A build without open keys comes back as it is, without choices; so does one whose region is not known, which cannot be
    worked out at all.
    """
    if not build.open:
        return build, None
    from gasdoc.choices.choices import anything, choose
    from gasdoc.choices.filled import fill

    try:
        region(build.spec.region)
    except UnknownRegion:
        return build, None
    choices = choose(build, own)
    picked = choices.designs[0].picked if choices is not None and choices.designs else anything(build)
    return fill(build, picked), choices
