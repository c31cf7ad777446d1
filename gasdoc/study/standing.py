"""How far a build has got, from its records alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from gasdoc.spec.reader import Build

Word = Literal["planned", "fitted"]


@dataclass(frozen=True, slots=True)
class Standing:
    """`word` is the standing; `detail` says what it rests on and what is recorded beside it."""

    word: Word
    detail: str
    tests: int
    sign_off: str | None


def standing(build: Build) -> Standing:
    """Planned until a date fitted is recorded. Tests and a sign-off are shown as recorded; they are not judged."""
    spec = build.spec
    word: Word = "planned" if spec.fitted is None else "fitted"
    parts = ["no date fitted is recorded" if spec.fitted is None else f"fitted {spec.fitted.isoformat()}"]
    count = len(spec.tests)
    parts.append("no test is recorded" if not count else f"{count} test{'s' if count > 1 else ''} recorded, not judged")
    sign_off = None
    if spec.signed_off is not None:
        role = f", {spec.signed_off.role}" if spec.signed_off.role else ""
        sign_off = f"recorded by the owner as signed by {spec.signed_off.by}{role} on {spec.signed_off.date.isoformat()}; not verified here"
        parts.append("a sign-off is recorded by the owner, not verified here")
    else:
        parts.append("no sign-off is recorded")
    return Standing(word, "; ".join(parts), count, sign_off)
