"""What holds the container on: static loads in six directions against its bolts, and the distances around it.

Only the bolts are worked out. Brackets, straps, welds, sheet and frame are not, and nothing here says that they hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Mount as Given
from gasdoc.catalog.bolts import Bolt, bolt
from gasdoc.catalog.mounting import mounting
from gasdoc.engineering.container.mounting import (
    DIRECTIONS,
    BoltGroup,
    Direction,
    Load,
    Requirement,
    Surface,
    filled_mass,
    mount_loads,
    severest,
)
from gasdoc.engineering.container.vessel import centroid_height
from gasdoc.quantities import Aside, By, Kilogram, Metre, Ratio, Shown
from gasdoc.regions.rules import Rule
from gasdoc.source import Citation
from gasdoc.study.container.holding import Container
from gasdoc.study.facts import Installation, moves, stands_in, system
from gasdoc.study.findings import Finding, error, warning
from gasdoc.words import in_sentence, with_article

MEASURE = "mount-load-multiple"

SURFACES: dict[str, Surface] = {
    "floor": "below",
    "overhead": "above",
    "front-wall": "front",
    "rear-wall": "rear",
    "left-wall": "left",
    "right-wall": "right",
}

NOT_CHECKED = (
    "brackets, straps and their bending",
    "welds",
    "the sheet, floor or frame the bolts go through, and washers on it",
    "bolts bent across a spacer",
    "fatigue and rust",
)
"""What a builder must have judged by someone competent."""


class Check(Struct, frozen=True):
    """The bolts against one rule: `asks` and `citation` of the rule, `beside` where it is not the region's own.

    `multiple` of the filled weight, with `safety_factor` on proof or tensile strength. `carried` is the multiple the
    worst loaded bolt allows in the weakest of the directions the rule is for.
    """

    rule: str
    asks: str
    multiple: Ratio
    safety_factor: Ratio
    strength: Literal["proof", "tensile"]
    citation: Citation
    beside: bool
    loads: tuple[Load, ...]

    @property
    def worst(self) -> Load:
        """The direction in which the bolts are nearest to their limit, or farthest beyond it."""
        return severest(self.loads)

    @property
    def carried(self) -> Shown[Ratio]:
        """The multiple of the filled weight at which the first bolt reaches its limit: loads grow in proportion."""
        return self.multiple / self.worst.utilisation if self.worst.utilisation > 0 else float("inf")


class Mount(Struct, frozen=True):
    """The mount of one container. `mass` kg filled, `centre` m from the plane of the bolts to the filled centre of gravity
    (spacer included); no checks where the region asks no multiple."""

    given: Annotated[Given, Aside("what the spec states")]
    bolt: Bolt
    count: int
    mass: Kilogram
    centre: Metre
    checks: tuple[Check, ...]

    @property
    def worst(self) -> Check | None:
        """The region's own rule that leaves the bolts least."""
        own = [check for check in self.checks if not check.beside]
        return max(own, key=lambda check: check.worst.utilisation, default=None)


_ASKED_OF_A_TIE = (
    ("fixed_to", "what it is fixed to"),
    ("number", "how many hold one container"),
    ("rated", "the load each is rated for"),
)


class Tie(Struct, frozen=True):
    """Straps, a chain, a tray or a rack about one container: `mass` kg filled, `asks` and `citation` of what is looked at.

    `carried` is the multiple of the filled weight that all of them are rated for together, pulling one way; None where
    their number or rating is not stated. `checks` are the multiples the region asks: the rule's id, and the multiple.
    """

    given: Annotated[Given, By("way", "fixed_to", "number", "rated")]
    name: str
    asks: str
    citation: Citation
    mass: Kilogram
    carried: Ratio | None
    checks: tuple[tuple[str, Ratio], ...]

    @property
    def unstated(self) -> tuple[tuple[str, str], ...]:
        """What is not stated of it: the key, and the same in words."""
        asked = _ASKED_OF_A_TIE if self.given.way in ("straps", "chain") else _ASKED_OF_A_TIE[:1]
        return tuple((key, words) for key, words in asked if getattr(self.given, key) is None)

    @property
    def missing(self) -> Shown[tuple[str, ...]]:
        """What is not stated of it, in words."""
        return tuple(words for _, words in self.unstated)


def ways() -> tuple[tuple[str, str, Citation], ...]:
    """Every way to hold a container: its name, what is looked at, and the source."""
    return tuple((way.name, way.asks, way.source) for way in mounting().ways.values())


def tie(build: Installation, container: Container) -> Tie | None:
    """What holds the container on besides or instead of bolts; None where nothing but bolts does."""
    given = build.spec.container.mount
    if given is None or given.way == "bolts":
        return None
    way = mounting().ways[given.way]
    mass = filled_mass(container.shape.heavy, container.heaviest_fuel, float(given.fittings or 0.0))
    carried = given.number * float(given.rated) / mass if given.number is not None and given.rated is not None else None
    checks = tuple((rule.id, float(rule.limit)) for rule in _asked(build) if isinstance(rule.limit, float | int))
    return Tie(given, way.name, way.asks, way.source, mass, carried, checks)


def _asked(build: Installation) -> Iterator[Rule]:
    """The region's rules about the load a mount carries that are for this build."""
    for rule in build.region.rules_for(MEASURE):
        fixed = rule.condition in ("fixed-tank", "fixed-tank-sideways")
        if stands_in(build, rule.where) and not (fixed and build.container_kind.stays != "permanent"):
            yield rule


def load_multiple(build: Installation) -> float | None:
    """The largest multiple of the filled weight that the region asks of what holds this build's container on; None where it
    asks none."""
    asked = (rule.limit for rule in _asked(build) if not rule.alternative)
    return max((float(limit) for limit in asked if isinstance(limit, float | int)), default=None)


def mount(build: Installation, container: Container) -> Mount | None:
    """The bolts against the region's rules; None where the spec has none. The bolt was looked up in `resolve`."""
    given = build.spec.container.mount
    if given is None or given.thread is None or given.grade is None or given.height is None:
        return None
    chosen = bolt(given.thread, given.grade, given.bolt_length)
    mass = filled_mass(container.shape.heavy, container.heaviest_fuel, float(given.fittings or 0.0))
    height = centre_height(given, container, float(given.height))
    positions = tuple((float(u), float(v)) for u in given.along for v in given.across)
    spacer = float(given.spacer or 0.0)

    def check(
        rule: str,
        asks: str,
        multiple: float,
        citation: Citation,
        beside: bool,
        safety_factor: float = 1.0,
        strength: Literal["proof", "tensile"] = "proof",
    ) -> Check:
        tension = chosen.proof_load if strength == "proof" else chosen.tensile_load
        group = BoltGroup(SURFACES[given.surface], positions, tension, spacer)
        asked = Requirement(multiple, safety_factor, citation.confirmed == "memory")
        middle = (sum(p[0] for p in positions) / len(positions), sum(p[1] for p in positions) / len(positions))
        loads = mount_loads(group, mass, (*middle, height), dict.fromkeys(directions(rule), asked))
        return Check(rule, asks, multiple, safety_factor, strength, citation, beside, loads)

    checks = []
    for rule in _asked(build):
        if isinstance(rule.limit, float | int):
            checks.append(check(rule.id, rule.asks, float(rule.limit), rule.citation, rule.alternative))
    for row in mounting().beside:
        if build.region.practice.takes(row.practice):
            checks.append(check("beside", row.asks, row.multiple, row.citation, True, row.safety_factor, row.strength))
    return Mount(given, chosen, len(positions), mass, height + spacer, tuple(checks))


def centre_height(given: Given, container: Container, middle: float) -> float:
    """The filled centre of gravity above the container's feet, m, square to the mounting surface; `middle` is the height of
    the container's middle in m.

    On a floor the liquid of a full container lies lower than its middle; shell, fittings and, on any other surface, the
    liquid too are taken at its middle.
    """
    shell = container.shape.heavy + float(given.fittings or 0.0)
    liquid = middle
    if given.surface == "floor":
        vessel = container.shape.vessel
        tall = vessel.length if vessel.orientation == "upright" else vessel.diameter
        liquid += centroid_height(vessel, container.fill * vessel.volume) - tall / 2
    return max(0.0, (shell * middle + container.heaviest_fuel * liquid) / (shell + container.heaviest_fuel))


def times(multiple: float) -> str:
    """A multiple of the filled weight in words: two figures, rounded down; more are not in such a model."""
    if not math.isfinite(multiple) or multiple <= 0:
        return f"{multiple:g}"
    unit = 10.0 ** (math.floor(math.log10(multiple) + 1e-12) - 1)
    return f"{math.floor(multiple / unit + 1e-9) * unit:.{0 if unit >= 1 else 1 if unit > 0.05 else 2}f}"


def directions(rule: str) -> Sequence[Direction]:
    """The directions that a rule asks its multiple in: all six unless it is listed for some only."""
    return mounting().directions.get(rule, tuple(DIRECTIONS))


def mount_findings(build: Installation, found: Mount | None, tied: Tie | None) -> Iterator[Finding]:
    """What the mount gives cause to say."""
    spec, shown = build.spec, system(build)
    at = ("container", "mount")
    asked = build.region.rules_for(MEASURE)
    if spec.container.mount is None:
        if moves(build) and asked and spec.container.place in ("chassis", "drawbar", None):
            yield warning(
                "mount-unknown",
                "container",
                ("container",),
                "What holds the container on is not stated.",
                f"{asked[0].asks} Whether this one's mount does cannot be worked out.",
                "Add 'mount:' with its bolts, straps, chain, tray or rack. Have brackets and welds judged by someone competent.",
                str(asked[0].citation),
            )
        return
    if tied is not None:
        yield from _tied(build, tied)
    if found is None:
        return
    for check in found.checks:
        if check.beside:
            continue
        worst = check.worst
        if worst.standing == "not-met":
            memory = check.citation.confirmed == "memory"
            detail = (
                "they cannot hold it at all: they stand in one line or point"
                if worst.reason == "no-lever-arm"
                else f"they carry {times(check.carried)} times"
            )
            yield (warning if memory else error)(
                "mount-bolts",
                "container",
                at,
                f"{check.multiple:g} times the filled weight ({units.show(found.mass, 'weight', shown)}) is asked. {worst.direction.capitalize()}"
                f" the {found.count} bolts {found.bolt.thread}, {found.bolt.grade}, are beyond their proof "
                f"strength: {detail}.",
                check.asks,
                "Use more, larger or stronger bolts, farther apart. Lower the centre of gravity. Leave out thick spacers. A "
                "structural judgment belongs to someone competent.",
                str(check.citation),
            )


def _tied(build: Installation, tied: Tie) -> Iterator[Finding]:
    at = ("container", "mount")
    if not stands_in(build, mounting().ways[tied.given.way].where):
        yield warning(
            "mount-stands-still",
            "container",
            (*at, "way"),
            f"The container is held by {with_article(tied.name)}, and the build moves.",
            tied.asks,
            "Hold it with straps, a tray or a rack that carry what the region asks. Have it judged by someone competent.",
            str(tied.citation),
        )
    if tied.missing:
        keys = in_sentence(f"'{key}:'" for key, _ in tied.unstated)
        yield warning(
            "mount-incomplete",
            "container",
            at,
            f"Held by {tied.name}. Not stated: {', '.join(tied.missing)}.",
            tied.asks,
            f"Add {keys} under 'mount:'. Have it judged by someone competent.",
            str(tied.citation),
        )
    for rule in _asked(build):
        multiple = dict(tied.checks).get(rule.id)
        if rule.alternative or multiple is None or tied.carried is None or tied.carried >= multiple * (1 - 1e-9):
            continue
        memory = rule.citation.confirmed == "memory"
        weight = units.show(tied.mass, "weight", system(build))
        yield (warning if memory else error)(
            "mount-straps",
            "container",
            (*at, "rated"),
            f"{multiple:g} times the filled weight ({weight}) is asked. All {tied.given.number} together are rated for "
            f"{times(tied.carried)} times, if they pull the same way.",
            rule.asks,
            "Use more or stronger ones, with anchors to match. A structural judgment belongs to someone competent.",
            str(rule.citation),
        )
