"""What the code of a finding or a problem means, and what to do: a list made from the code that says it."""

from __future__ import annotations

from functools import cache

from msgspec import Struct

from gasdoc import data

OPEN = "…"
"""Stands for what is worked out for a build."""


class Explained(Struct, frozen=True):
    """One code: what it is `about` ("the build", or "a file" that cannot be taken as it is), how much it weighs, what is said
    under it, why that matters, what to do."""

    code: str
    about: str
    weight: str
    message: tuple[str, ...]
    reason: tuple[str, ...]
    remedy: tuple[str, ...]

    @property
    def anchor(self) -> str:
        """Its id on the page of all codes."""
        return self.code.strip(f"-{OPEN}")


@cache
def codes() -> dict[str, Explained]:
    """Every code there is. One that ends in `OPEN` stands for all that begin like it."""
    rows = data.load("gasdoc.report", "findings.yaml")
    return {
        code: Explained(
            code, row["about"], row["weight"], *(tuple(row[key]) for key in ("message", "reason", "remedy"))
        )
        for code, row in rows.items()
    }


def explained(code: str) -> Explained | None:
    """What is known of a code, as a message prints it."""
    listed = codes()
    families = (row for name, row in listed.items() if name.endswith(OPEN) and code.startswith(name.rstrip(OPEN)))
    return listed.get(code) or next(families, None)
