"""What the code of a finding or a problem means, and what to do: a list made from the code that says it."""

from __future__ import annotations

from functools import cache

from msgspec.structs import asdict

from gasdoc import data
from gasdoc.study.referral.worklist import Lack, doing, lack

OPEN = "…"
"""Stands for what is worked out for a build."""


class _Row(data.Entry, frozen=True):
    about: str
    weight: str
    message: tuple[str, ...]
    reason: tuple[str, ...]
    remedy: tuple[str, ...]


class Explained(_Row, frozen=True, kw_only=True):
    """One code: what it is `about` ("the build", or "a file" that cannot be taken as it is), how much it weighs, what is said
    under it, why that matters, what to do. A lack, which says what is not known, has the `doing` under which it is work of a
    build that is planned, and the stage it is asked from.
    """

    code: str
    doing: str | None
    stage: str | None

    @property
    def anchor(self) -> str:
        """Its id on the page of all codes."""
        return self.code.strip(f"-{OPEN}")


@cache
def codes() -> dict[str, Explained]:
    """Every code there is. One that ends in `OPEN` stands for all that begin like it."""
    rows = data.read("gasdoc.report.formats", "findings.yaml", dict[str, _Row])
    return {code: _explained(code, row, lack(code)) for code, row in rows.items()}


def _explained(code: str, row: _Row, of: Lack | None) -> Explained:
    its = {"doing": doing(of), "stage": of.stage} if of is not None else {"doing": None, "stage": None}
    return Explained(**asdict(row), code=code, **its)


def explained(code: str) -> Explained | None:
    """What is known of a code, as a message prints it."""
    listed = codes()
    families = (row for name, row in listed.items() if name.endswith(OPEN) and code.startswith(name.rstrip(OPEN)))
    return listed.get(code) or next(families, None)
