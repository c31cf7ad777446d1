"""The order of work as data: the steps from mounting to the test day, and the conditions their lines hang on."""

from typing import Annotated

from gasdoc import data
from gasdoc.data import Cited, Entry, Some
from gasdoc.regions.sequence import Instruction, check_places
from gasdoc.scalars import Id, choice

CONDITIONS = {
    "bolted": "bolts of the mount are stated",
    "boat": "the build is a boat",
    "buried": "some run lies in the ground",
    "corrugated": "some of it is corrugated tubing",
    "flared": "some joints are flares",
    "openings": "some run passes through something",
    "sealant": "some joints take thread sealant",
    "screwed": "some of it is screwed pipe",
    "through-unknown": "of some run it is not stated what it passes through",
    "tank": "the container is a tank that its supplier sets and fills where it stands",
    "tied": "straps, a chain, a tray or a rack are stated",
    "vents": "ventilation openings are stated",
}
"""What a line or a step may hang on; "not-" before it turns it round."""

FACTS = ("appliances", "code", "containers", "last", "taper")
"""What a build fills into any line."""

EACH = {
    "alarms": ("kind", "place"),
    "appliances": ("name", "place"),
    "buried": ("line",),
    "bolts": ("count", "size", "fixed_to"),
    "clearances": ("asks", "value"),
    "guards": ("line", "guard"),
    "joints": ("numbers", "joined", "parts", "seal"),
    "joints-later": ("numbers", "joined"),
    "openings": ("line", "through", "hole", "lining"),
    "regulators": ("name",),
    "runs": ("line", "length", "size", "bends", "through"),
    "spaces": ("name", "vents"),
    "stock": ("stock", "pieces"),
    "supports": ("line", "count", "spacing"),
    "ties": ("number", "way", "rated", "fixed_to"),
    "valves": ("name", "place"),
}
"""What a line may be said once for, and what each of these fills into it."""

_Condition = Annotated[str, choice(*CONDITIONS, *(f"not-{word}" for word in CONDITIONS))]


class WorkLine(Instruction, frozen=True):
    """One thing to do; `each` names what it is said once for, `when` are conditions that must all hold."""

    each: Annotated[str, choice(*EACH)] | None = None
    when: tuple[_Condition, ...] = ()

    def _checked(self) -> None:
        super()._checked()
        check_places("text", self.text, (*FACTS, *(EACH[self.each] if self.each is not None else ())))


class WorkRow(Cited, frozen=True):
    """A step of the work as the data file has it."""

    id: Id
    title: str
    lines: Some[WorkLine]
    passes: str
    stops: Some[str]


class _Steps(Entry, frozen=True):
    steps: data.ById[WorkRow]


def work_rows() -> tuple[WorkRow, ...]:
    """The steps in file order. Raises DataError."""
    return data.read("gasdoc.regions", "work.yaml", _Steps).steps
