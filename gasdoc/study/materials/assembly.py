"""The supply from the container's valve to each appliance's inlet as parts and joints: what stands where, what joins it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Annotated

from msgspec import Struct

from gasdoc.catalog import countries
from gasdoc.catalog.joints import never
from gasdoc.catalog.parts import Catalogue
from gasdoc.engineering.materials.assembly import Assembly, Connection, Placed, Spot, assemble
from gasdoc.engineering.materials.ends import End
from gasdoc.engineering.materials.joints import Chain, Joint, NoChain, Shelf
from gasdoc.quantities import Aside
from gasdoc.source import Path
from gasdoc.study.facts import Installation
from gasdoc.study.findings import Finding, error, warning
from gasdoc.study.materials.spots import About, Spots, inlets, joints_between, threads, tube_ends
from gasdoc.study.supply.lines import SizedZone, lines_of
from gasdoc.study.supply.names import usual_end

_SEALS = {
    "taper": "sealant on the male thread",
    "flare": "flare, no sealant",
    "compression": "compression, no sealant",
    "washer": "washer, no sealant",
    "cone": "cone in its seat, no washer, no sealant",
    "clip": "hose on its nozzle, a clip round it",
    "csst": "the fitting's own seal",
    "cylinder": "the connection's own seal",
    "held": "",
}
"""What makes a joint tight, in words."""


def sealed(chain: Chain) -> str:
    """What makes the joints of a chain tight."""
    return "; ".join(dict.fromkeys(_SEALS[joint.seal] for joint in chain.joints if _SEALS[joint.seal]))


class Joined(Struct, frozen=True):
    """One connection between two elements in the direction of flow: the ends `a` and `b` that face each other, and what joins
    them, None where an end is not known; `why` says how. `down` is the place of its spot in its tree; `joints` are the ids of
    those to wet that it belongs to."""

    element: str
    at: Path
    before: About
    after: About
    a: End | None
    b: End | None
    found: Chain | NoChain | None
    down: Annotated[int, Aside("a place in the tree")]
    container_side: bool
    concealed: bool
    why: str | None
    joints: tuple[str, ...]


class Fittings(Struct, frozen=True):
    """The whole supply put together: the trees on the container side of the first regulator (one for each of its inlets),
    and the one behind it; `about` has the words for every spot of each."""

    assemblies: Annotated[
        tuple[Assembly, ...], Aside("the trees as they are put together. `joined` has every joint of them")
    ]
    about: Annotated[tuple[tuple[About, ...], ...], Aside("words for the trees")]
    joined: tuple[Joined, ...]

    def placed(self) -> Iterator[tuple[About, Spot, Placed]]:
        """Every spot with what stands there."""
        for tree, words in zip(self.assemblies, self.about, strict=True):
            yield from zip(words, tree.spots, tree.placed, strict=True)

    def unions(self) -> Iterator[tuple[About, Spot, str]]:
        """Every union that stands by itself behind the first regulator, with the id of the element behind it."""
        tree, words = self.assemblies[-1], self.about[-1]
        behind = {spot.up: words[i].element for i, spot in enumerate(tree.spots)}
        for i, spot in enumerate(tree.spots):
            if spot.role == "union" and tree.placed[i].part is not None:
                yield words[i], spot, behind.get(i, words[i].element)

    def chains(self) -> Iterator[tuple[Joined, Chain]]:
        """Every connection that is closed."""
        for joined in self.joined:
            if isinstance(joined.found, Chain):
                yield joined, joined.found


def on_offer(build: Installation, zones: Sequence[SizedZone], listed: Catalogue) -> Catalogue:
    """Of the listed parts those that are sold where the build is and go with its tubing and its threads."""
    si = build.region.units != "us"
    of_runs = {
        end.kind for run in lines_of(zones).values() if (end := tube_ends(run.material, run.size, si)) is not None
    }
    stated = {end.kind for written in threads(build) if (end := usual_end(written)) is not None}
    if "steel-tube" in of_runs and "tube" not in of_runs:
        stated.discard("tube")  # a stub at an appliance takes the rings of the line
    if "cutting-ring" in stated and "compression" not in stated:
        of_runs.discard("tube")  # copper takes rings too, over support sleeves: no olive is asked for
    kinds = {"bspt" if si else "npt"} | of_runs | stated
    if kinds & {"csst", "pe"}:
        kinds.add("npt")  # the only thread that fittings for such tubing are listed with
    return _sold(listed, build.region.practice.rows, frozenset(kinds))


@lru_cache(maxsize=64)
def _sold(listed: Catalogue, rows: tuple[str, ...], kinds: frozenset[str]) -> Catalogue:
    """Of the listed parts those that are sold in a region and go with these kinds of ends. The builds of a project share it."""
    return listed.sold_in(rows).closed_by(kinds)


def fittings(build: Installation, zones: Sequence[SizedZone], listed: Catalogue, shelf: Shelf) -> Fittings:
    """The supply put together from the listed parts. The `shelf` holds those that join."""
    makers = [Spots(build, zones, listed) for _ in range(inlets(build))]
    for number, maker in enumerate(makers):
        maker.container_side(number)
    behind = Spots(build, zones, listed)
    behind.supply()
    made = [(assemble(maker.spots, shelf), tuple(maker.about)) for maker in (*makers, behind)]
    joined: list[Joined] = []
    for number, (tree, about) in enumerate(made):
        here = [_joined(build, tree, about, connection, turned=number < len(makers)) for connection in tree.connections]
        joined += here if number == len(makers) else reversed(here)
    return Fittings(tuple(tree for tree, _ in made), tuple(about for _, about in made), tuple(joined))


@lru_cache(maxsize=16)
def joining(listed: Catalogue, prices: tuple[tuple[str, float], ...]) -> Shelf:
    """The parts of a catalogue that join two ends, at these prices by part key. Kept, with all that was found among them,
    because the builds of a project share it."""
    return Shelf(listed.of_use("fitting"), dict(prices))


def _joined(
    build: Installation, tree: Assembly, about: Sequence[About], connection: Connection, *, turned: bool
) -> Joined:
    """A connection in words. `turned`: its tree was made from the regulator back to the containers."""
    limits = tree.spots[connection.down].constraints
    sides = [(connection.up, connection.a), (connection.down, connection.b)]
    found = connection.found
    if turned:
        sides.reverse()
        if isinstance(found, Chain):
            joints = tuple(Joint(j.b, j.a, j.seal, j.sealant) for j in reversed(found.joints))
            found = Chain(tuple(reversed(found.parts)), joints, found.cost, found.unpriced)
    why = None
    if found is None:
        why = "; ".join(
            f"{about[i].words}: {'no listed part fits here' if tree.spots[i].options else 'its connection is not stated'}"
            for i, end in sides
            if end is None
        )
    (first, a), (second, b) = sides
    owner = about[second]
    return Joined(
        owner.element,
        owner.at,
        about[first],
        owner,
        a,
        b,
        found,
        connection.down,
        limits.container_side,
        limits.concealed,
        why,
        joints_between(build, tree.spots[first], tree.spots[second]),
    )


# --- findings ---------------------------------------------------------------------------------------------------------

_WHY_NOT = {
    "nothing-fits-first-end": "no listed part goes onto the first of them",
    "nothing-fits-second-end": "no listed part goes onto the second of them",
    "bushing-stack": "only bushing in bushing would, which is not done",
    "under-rated": "the parts that would are not rated for the pressure there, or no rating is known",
    "concealed": "the parts that would must stay where they can be seen and reached",
    "no-chain": "no chain of listed parts does",
}


def fitting_findings(build: Installation, made: Fittings) -> Iterator[Finding]:
    """Joints that cannot be made, must not be made, or cannot be worked out because a thread is not stated."""
    concealed = build.region.rule("concealed-joints")
    concealed_source = str(concealed.citation) if concealed is not None else "common practice, no source"
    told: set[tuple[str, str]] = set()
    # Where a part may not be hidden that is said once, not again for each of its joints.
    hidden = {about.element for about, _, placed in made.placed() if placed.breaks == "concealed"}
    for joined in made.joined:
        found = joined.found
        around = {joined.before.element, joined.after.element}
        if isinstance(found, NoChain) and not (found.reason == "concealed" and around & hidden):
            yield _impossible(build, joined, found, concealed_source)
    for about, spot, placed in made.placed():
        for side, end in enumerate(spot.ends):
            wanted = spot.role in ("regulator", "appliance", "container") and end is None
            if wanted and not (spot.up < 0 and side == 0) and (about.element, f"{spot.role}{side}") not in told:
                told.add((about.element, f"{spot.role}{side}"))
                yield _not_stated(about, spot, side, build.region.practice.rows)
        if placed.breaks is not None or (
            spot.options and not spot.ends and not placed.built_in and placed.part is None
        ):
            yield _no_part(about, spot, placed, concealed_source)


def _impossible(build: Installation, joined: Joined, found: NoChain, concealed_source: str) -> Finding:
    a, b = joined.a, joined.b
    other = _other_inlets(build) if joined.container_side else None
    message = (
        f"Nothing listed joins {joined.before.words} ({a}) to {joined.after.words} ({b}): {_WHY_NOT[found.reason]}."
    )
    if found.forbidden is not None:
        reason, source = never(found.forbidden)
        return error(
            "joint-must-not-be-made",
            joined.element,
            joined.at,
            message,
            f"The two must not be forced together: {reason}.",
            other
            or "Choose parts with connections of one kind, or add a listed adapter to parts.yaml beside the specs.",
            str(source),
        )
    near = f" Parts reach as far as {found.near}." if found.near is not None else ""
    return error(
        "joint-impossible",
        joined.element,
        joined.at,
        message,
        f"What cannot be joined cannot be fitted on the day.{near}",
        other
        or "Change one of the two connections, or add the missing part to parts.yaml beside the specs, with its source."
        if found.reason != "concealed"
        else "Move the joint to where it can be seen and reached.",
        concealed_source if found.reason == "concealed" else None,
    )


def _other_inlets(build: Installation) -> str | None:
    """Which regulators so many of these cylinders are led to, in words; None where that is not known."""
    container, rows = build.spec.container, build.region.practice.rows
    mine = [row for row in countries.cylinders(rows) if container.connection in (None, row.connection)]
    several = container.number > 1
    led = dict.fromkeys(way.inlet for row in mine for way in row.ways if (way.number > 1) == several)
    if container.connection is None or not led:
        return None
    what = "Several cylinders" if several else "Cylinders"
    return f"{what} with {container.connection} are led to a regulator with the inlet {' or '.join(led)}: take one of those."


def _not_stated(about: About, spot: Spot, side: int, rows: Sequence[str]) -> Finding:
    what = {"container": "The container's outlet connection", "appliance": f"The connection of {about.words}"}.get(
        spot.role, f"The {('inlet', 'outlet')[1 if side else 0]} thread of {about.words.split(',')[0]}"
    )
    if (spot.role == "regulator" and about.words.endswith("inlet")) or "inlet " in about.words:
        what = f"The inlet thread of {about.words.split(',')[0]}"
    key = {"container": "connection", "appliance": "inlet_thread"}.get(
        spot.role, "inlet_thread" if what.startswith("The inlet") else "outlet_thread"
    )
    cylinder, ends = countries.cylinders(rows)[0], countries.line_ends(rows)[0]
    inlet = ends.inlets[0] if spot.role == "appliance" else cylinder.ways[0].inlet
    block = {"container": "container", "appliance": "appliance"}.get(spot.role, "regulator")
    usual = {"connection": cylinder.connection, "inlet_thread": inlet, "outlet_thread": ends.outlet}[key]
    return warning(
        f"thread-not-stated-{key.replace('_', '-')}",
        about.element,
        about.at,
        f"{what} is not stated.",
        "Which fittings and which hose or connector go there cannot be worked out.",
        f"Read it off the part and add '{key}:' under '{block}:', as in '{usual}'.",
    )


def _no_part(about: About, spot: Spot, placed: Placed, concealed_source: str) -> Finding:
    if placed.breaks == "concealed":
        return error(
            "concealed-joint",
            about.element,
            about.at,
            f"{about.words[:1].upper()}{about.words[1:]} lies where nobody can see or reach it, and no part listed for it may.",
            "A joint that leaks there is found late, and cannot be tightened.",
            "Move it into the open, or run the tubing through in one piece.",
            concealed_source,
        )
    why = "is rated for the pressure there" if placed.breaks else "joins what stands around it"
    return error(
        "part-not-listed",
        about.element,
        about.at,
        f"No {spot.role} on the list {why} ({about.words}).",
        "A part that is too weak or does not fit cannot be bought by this list.",
        "Lower the pressure there, or choose another size or kind. Or add a part of your own to parts.yaml beside the specs.",
    )
