"""What tubing a region and setting allow, ask about or forbid."""

from typing import Literal

from gasdoc.data import Cited, Entry, read
from gasdoc.regions.practice import Practice, Row, Setting


class Permission(Cited, frozen=True, kw_only=True):
    """The answer about a material: `asks` in words, `usual` its place among those that are fitted, None for an unusual one.

    `type` None is for any type of it; `practice` and `settings` left out are for all.
    """

    material: str
    type: str | None = None
    practice: tuple[Row, ...] = ()
    settings: tuple[Setting, ...] = ()
    answer: Literal["allowed", "ask", "never"]
    usual: int | None = None
    asks: str

    @property
    def order(self) -> tuple[bool, int]:
        """Sort key: what is allowed first, of that what is fitted most."""
        return self.answer != "allowed", self.usual or 99

    def holds(self, material: str, kind: str | None, here: Practice, setting: str | None) -> bool:
        """Whether this row is about a material and its type in a region and setting."""
        return (
            material == self.material
            and self.type in (None, kind)
            and here.takes(self.practice)
            and (not self.settings or setting in self.settings)
        )


class _File(Entry, frozen=True):
    rows: tuple[Permission, ...]


def permission(material: str, kind: str | None, here: Practice, setting: str | None) -> Permission | None:
    """The row about a material in a region and setting (None where that is not known); None where there is none."""
    file: _File = read("gasdoc.regions", "materials.yaml", _File)
    return next((row for row in file.rows if row.holds(material, kind, here, setting)), None)
