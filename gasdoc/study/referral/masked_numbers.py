"""The numbers that name one part or one person: serial and licence numbers. Masked wherever a build is published, unless
its spec says `show_numbers: yes`; the spec itself has them in full."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from gasdoc.build.model import Outlet
from gasdoc.build.reader import Build


class MaskedNumber(Struct, frozen=True):
    """One number: whose it is, what kind of number, and the text to publish."""

    about: str
    what: str
    shown: str


def plates(build: Build) -> tuple[MaskedNumber, ...]:
    """The numbers a spec records, masked unless it opts in."""
    show = build.spec.show_numbers
    return tuple(
        MaskedNumber(about, what, number if show else masked(number)) for about, what, number in _numbers(build)
    )


def masked(number: str) -> str:
    """Enough of a number to tell which of one's own papers is meant: its last two characters, where six or more hide."""
    return f"masked, ends in {number[-2:]}" if len(number) >= 8 else "masked"


def _numbers(build: Build) -> Iterator[tuple[str, str, str]]:
    spec = build.spec
    if spec.container.serial is not None:
        yield "Container", "serial number", spec.container.serial
    for _, outlet in build.each(Outlet):
        if outlet.appliance.serial is not None:
            yield outlet.appliance.name, "serial number", outlet.appliance.serial
    if spec.signed_off is not None and spec.signed_off.licence is not None:
        yield spec.signed_off.by, "licence number", spec.signed_off.licence
