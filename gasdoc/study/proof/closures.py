"""What stays in the pressure test of the piping, what comes off, and the parts that close each end that opens.

The procedure and the shopping list both ask here, so that what is closed is what was bought. A part stays only where its
rating is known and reaches the test pressure. Where the pressure is not known, an appliance's valve comes off, and a valve in
the line stays, because there is nothing to hold its rating to.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Outlet, Regulator, Tap, Valve
from gasdoc.build.reader import Build
from gasdoc.catalog.parts import Catalogue
from gasdoc.engineering.materials.assembly import Placed, Spot
from gasdoc.engineering.materials.ends import End, mates
from gasdoc.engineering.materials.joints import Chain, Constraints, Part, Shelf
from gasdoc.quantities import By, Known, Pascal, Ratio
from gasdoc.study.materials.assembly import Fittings, Joined
from gasdoc.study.proof.leak_test import LeakTest

Role = Literal["start", "regulator", "valve", "outlet", "test point"]

MARGIN: Annotated[
    Ratio,
    Known(
        "share of a rating from which it is passed: 1/2 psi is called 14 inH2O, and is 13.8", "Our choice", "practice"
    ),
] = 1.02


def rated(pressure: float, shown: units.System) -> str:
    """A rating as the trade writes it: 1/2 psi is 0.5 psi, not 13.8 inH2O."""
    return units.show(pressure, "test pressure" if pressure < 5e4 else "container pressure", shown)


class Closure(Struct, frozen=True):
    """One end, or one gap, that is closed by `parts` while the piping is tested; none where nothing listed fits.

    `element` is the id of the element it is at. "start": where the first regulator came off; "regulator": one side of a
    further one; "valve": the gap of a valve in the line; "outlet": before an appliance; "test point": once its tap is out.
    `removed`: the shut-off valve there comes off, too. `rating` in Pa gauge is that valve's, None where it is not known.
    """

    element: str
    role: Role
    end: End | None
    parts: tuple[Annotated[Part, By("id")], ...]
    removed: bool = False
    rating: Pascal | None = None


class Weak(Struct, frozen=True):
    """A part that stays under test in `zone` and is rated, in Pa gauge, for less than the test of the piping asks there."""

    zone: str
    element: str
    part: Annotated[Part, By("id")]
    rating: Pascal
    asked: Pascal


class InTest(Struct, frozen=True):
    """What the pressure test of the piping leaves in and closes. `least` in Pa gauge is the lowest known rating of what
    stays in, by zone; `stays` are the ids of outlets and valves whose shut-off stays, open."""

    closures: tuple[Closure, ...]
    weak: tuple[Weak, ...]
    least: Mapping[str, Pascal]
    stays: frozenset[str]

    @property
    def off(self) -> frozenset[str]:
        """The ids of the joints that are not there while the piping is tested: of appliances' own valves that came off."""
        return frozenset(f"{c.element}-valve" for c in self.closures if c.removed and c.role == "outlet")

    def at(self, element: str, *roles: Role) -> tuple[Closure, ...]:
        """The closures at one element, of some roles or all."""
        return tuple(c for c in self.closures if c.element == element and (not roles or c.role in roles))


def in_test(build: Build, made: Fittings, listed: Catalogue, shelf: Shelf, tests: LeakTest) -> InTest:
    """What is closed, what stays, and which of that is rated too low."""
    asked = {
        zone.zone: max(
            (a.pressure for a in tests.asked if a.test.kind == "piping" and a.zone == zone.zone and a.pressure),
            default=None,
        )
        for zone in tests.by_zone
    }
    return _Closing(build, made, listed, shelf, asked).all()


class _Closing:
    """Looks the tree of fittings over once."""

    def __init__(
        self, build: Build, made: Fittings, listed: Catalogue, shelf: Shelf, asked: Mapping[str, float | None]
    ) -> None:
        self.build, self.listed, self.shelf, self.asked = build, listed, shelf, asked
        self.tree, self.words = made.assemblies[-1], made.about[-1]
        self.into = {j.down: j for j in made.joined if not j.container_side}
        self.at = {spot.id: i for i, spot in enumerate(self.tree.spots)}
        self.first = build.first
        self.zone_of = {self.first: self.first} | build.zone_of

    def all(self) -> InTest:
        closures = tuple(self.closures())
        off = {c.element for c in closures if c.removed}
        weak, least = [], dict[str, float]()
        for element, zone, part in self.left_in(off):
            if part.rating is None:
                continue
            least[zone] = min(part.rating, least.get(zone, part.rating))
            needed = self.asked[zone]
            if needed is not None and part.rating < needed * (1 - 1e-9):
                weak.append(Weak(zone, element, part, part.rating, needed))
        shut = [node.id for node in self.build.nodes if isinstance(node.part, Outlet | Valve)]
        stays = frozenset(identity for identity in shut if identity not in off and self.valve(identity) is not None)
        return InTest(closures, tuple(weak), least, stays)

    def closures(self) -> Iterator[Closure]:
        start = self.line_behind(self.at[self.first])
        taps = [node.id for node in self.build.nodes if isinstance(node.part, Tap)]
        if start is not None:
            end = self.line_end(start)
            if taps and not self.closing(end) and isinstance(start.found, Chain) and start.found.joints:
                end = next((j.b for j in start.found.joints if self.closing(j.b)), end)  # the regulator comes off that
            yield Closure(self.first, "start", end, self.closing(end) if taps else ())
        for node in self.build.nodes:
            spot = self.at.get(node.id)
            if isinstance(node.part, Regulator) and spot is not None:
                behind = self.line_behind(spot)
                for end in (self.before(spot), self.line_end(behind) if behind is not None else None):
                    yield Closure(node.id, "regulator", end, self.closing(end))
            elif isinstance(node.part, Valve) and spot is not None:
                placed = self.tree.placed[spot]
                known = self.asked[self.zone_of[node.id]] is not None
                if known and not placed.built_in and not self.holds(node.id, placed.part):
                    yield self.gap(node.id, spot, placed)
            elif isinstance(node.part, Tap):
                end = self.before(self.at.get(f"{node.id}:tap"))
                if end is not None:
                    yield Closure(node.id, "test point", end, self.closing(end))
            elif isinstance(node.part, Outlet):
                yield self.outlet(node.id)

    def outlet(self, identity: str) -> Closure:
        """The end before an appliance: behind its shut-off valve where that may stay, else before it."""
        valve = self.at.get(f"{identity}:valve")
        if valve is None:
            end = self.before(self.first_of(identity))
            return Closure(identity, "outlet", end, self.closing(end))
        part = self.tree.placed[valve].part
        rating = part.rating if part is not None else None
        if self.holds(identity, part):
            end = self.facing(self.child(valve))
            return Closure(identity, "outlet", end, self.closing(end), rating=rating)
        end = self.before(valve)
        return Closure(identity, "outlet", end, self.closing(end), removed=True, rating=rating)

    def gap(self, identity: str, spot: int, placed: Placed) -> Closure:
        """A valve in the line that comes out, and what joins the line in its place: from the nut or union behind it, else
        from the thread that was screwed into it."""
        before, child = self.before(spot), self.child(spot)
        parts: tuple[Part, ...] = ()
        for behind in self.ends_behind(child) if child is not None else ():
            limits = Constraints(self.asked[self.zone_of[identity]] or 0.0)
            chain = self.shelf.join(before, behind, limits) if before is not None else None
            if isinstance(chain, Chain):
                parts = chain.parts
                break
        rating = placed.part.rating if placed.part is not None else None
        return Closure(identity, "valve", before, parts, removed=True, rating=rating)

    def holds(self, identity: str, part: Part | None) -> bool:
        """Whether a valve may stay: its rating is known and reaches what the test asks."""
        needed = self.asked[self.zone_of[identity]]
        if part is None or part.rating is None or needed is None:
            return False
        return part.rating >= needed * (1 - 1e-9)

    def valve(self, identity: str) -> Spot | None:
        """The spot of the shut-off of an outlet, or of a valve in the line."""
        spot = self.at.get(f"{identity}:valve", self.at.get(identity))
        return self.tree.spots[spot] if spot is not None and "valve" in self.tree.spots[spot].role else None

    def left_in(self, off: set[str]) -> Iterator[tuple[str, str, Part]]:
        """Every part behind the first regulator that stays under test, with its element and zone. Of an outlet whose valve
        stays nothing behind that valve does."""
        for i, (about, spot, placed) in enumerate(zip(self.words, self.tree.spots, self.tree.placed, strict=True)):
            zone = self.zone_of[about.element]
            tail = spot.role in ("hose", "connector", "rigid tail", "sediment trap", "cap", "appliance")
            tail = tail or (spot.role == "union" and self.kind(about.element) == "outlet")
            joined = self.into.get(i)
            chain = joined.found if joined is not None else None
            valve_off = about.element in off and spot.role in ("outlet valve", "valve")
            if placed.part is not None and not tail and not valve_off:
                yield about.element, zone, placed.part
            if isinstance(chain, Chain) and not tail and spot.role != "regulator":
                for part in chain.parts:
                    yield about.element, zone, part

    def kind(self, element: str) -> str:
        """The kind of an element of the tree, empty for the first regulator."""
        return self.build.by_id[element].kind if element in self.build.by_id else ""

    def first_of(self, identity: str) -> int | None:
        """The first spot of an outlet behind its termination."""
        return next(
            (
                i
                for i, about in enumerate(self.words)
                if about.element == identity and self.tree.spots[i].role != "termination"
            ),
            None,
        )

    def child(self, spot: int) -> Joined | None:
        """The connection to what stands behind a spot."""
        down = next((i for i, other in enumerate(self.tree.spots) if other.up == spot), None)
        return self.into.get(down) if down is not None else None

    def line_behind(self, regulator: int) -> Joined | None:
        """The connection to the line behind a regulator: behind its hose where it has one."""
        behind = self.child(regulator)
        if behind is not None and self.tree.spots[behind.down].role == "hose":
            return self.child(behind.down)
        return behind

    def before(self, spot: int | None) -> End | None:
        """The end that is left when what stands at a spot is unscrewed from what feeds it."""
        joined = self.into.get(spot) if spot is not None else None
        if joined is None:
            return None
        return joined.found.joints[-1].a if isinstance(joined.found, Chain) and joined.found.joints else joined.a

    def line_end(self, joined: Joined) -> End | None:
        """The end of the line that is left when what feeds a connection is taken off: at its nut or union where there is one."""
        if self.tree.spots[joined.down].role == "union" or not isinstance(joined.found, Chain):
            return joined.b
        made = joined.found.joints
        return next((j.b for j in made if not j.sealant), made[0].b if made else joined.b)

    def ends_behind(self, joined: Joined) -> Iterator[End]:
        """The ends of the line that may be left when what feeds a connection is taken off, the easiest first."""
        if (end := self.line_end(joined)) is not None:
            yield end
        if isinstance(joined.found, Chain) and joined.found.joints:
            yield joined.found.joints[0].b

    def facing(self, joined: Joined | None) -> End | None:
        """The outlet of a valve, its connector taken off."""
        return joined.a if joined is not None else None

    def closing(self, end: End | None) -> tuple[Part, ...]:
        """The listed part that closes an end."""
        if end is None:
            return ()
        return tuple(p for p in self.listed.of_use("closure") if len(p.ends) == 1 and mates(end, p.ends[0]))[:1]
