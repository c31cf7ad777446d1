"""What a build takes besides its gas line: what holds, vents, warns, bonds, labels and tests it."""

import re
from functools import cached_property
from typing import Annotated

from gasdoc.catalog.alarms import KINDS
from gasdoc.catalog.rows import Sourced, read
from gasdoc.data import Entry, Some
from gasdoc.engineering.materials.take_off import Group
from gasdoc.scalars import Bounds, Id, choice, problem

FIGURES = {
    "build": ("test_end", "line_end", "bare_end", "outlet_thread", "load", "trunk", "frying", "tapers"),
    "container": ("container", "diameter", "rated_least"),
    "containers": ("container", "diameter", "number"),
    "bolts": ("thread", "grade", "bolt_length", "spacer"),
    "ties": ("rated", "diameter"),
    "locker": ("vent_high", "vent_low", "drain", "vents_least", "drain_least"),
    "regulators": (),
    "rooms": ("vent_high", "vent_low"),
    "alarms": ("standard", "power"),
    "alarms-open": (),
    "appliances": ("appliance", "load"),
    "washers": ("washer",),
}
"""What a line can be said once for each of, and the figures of such a place that can fill its name."""

CONDITIONS = (
    "moves",
    "cabin",
    "csst",
    "tank",
    "returns",
    "sealed-passages",
    "tapers",
    "held",
    "inside-locker",
    "plate-asked",
    "frying",
    "galley",
    "loop-asked",
    "straps",
    "chain",
    "tray",
    "rack",
    "first",
    "room-sealed",
    "open-flued",
    "cooking",
    "flexible",
    "trap-not-made",
    *KINDS,
    *(f"no-{kind}" for kind in KINDS),
)
"""What a line can hang on, of the build or of the place."""

_Condition = Annotated[str, choice(*CONDITIONS, *(f"not-{word}" for word in CONDITIONS))]
_FIGURE = re.compile(r"\{(\w+)\}")


class KitLine(Sourced, frozen=True, dict=True):
    """One line: `times` of it for each place that holds `when`, has the figures of its name and lacks those of `lacks`.

    `sizes` are the figures that go into its key, None where all of its name do.
    """

    id: Id
    group: Group
    name: str
    each: Annotated[str, choice(*FIGURES)]
    sizes: tuple[str, ...] | None = None
    lacks: tuple[str, ...] = ()
    when: tuple[_Condition, ...] = ()
    practice: tuple[str, ...] = ()
    times: Annotated[int, Bounds(gt=0)] = 1
    if_needed: bool = False
    note: str = ""

    def _checked(self) -> None:
        known = FIGURES[self.each]
        for name in (*self.filled, *self.lacks, *(self.sizes or ())):
            if name not in known:
                message = f"'{name}' is no figure of {self.each}"
                raise problem("data-figure", message, f"known are: {', '.join(known) or 'none'}", at=("name",))

    @cached_property
    def figures(self) -> tuple[str, ...]:
        """The figures that fill its name, in their order."""
        return tuple(_FIGURE.findall(self.name))

    @cached_property
    def filled(self) -> tuple[str, ...]:
        """The figures that fill its name and its note."""
        return (*self.figures, *_FIGURE.findall(self.note))

    def holds(self, conditions: frozenset[str], figures: frozenset[str]) -> bool:
        """Whether it is for a place with these conditions and these figures."""
        said = all((word.removeprefix("not-") in conditions) != word.startswith("not-") for word in self.when)
        return said and figures.issuperset(self.filled) and figures.isdisjoint(self.lacks)


class _Kit(Entry, frozen=True):
    lines: Some[KitLine]


def kit() -> tuple[KitLine, ...]:
    """The lines in the order of the file."""
    return read("kit.yaml", _Kit).lines
