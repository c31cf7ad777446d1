"""The cutting plan of a build: which run comes from which coil or length, tubing by tubing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from msgspec import Struct

from gasdoc import units
from gasdoc.build.model import Run
from gasdoc.build.prices import OnShelf
from gasdoc.catalog import tubing
from gasdoc.catalog.stock import allowance, stock_rows
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.materials.cutting import STEP_LIMIT, CuttingPlan, NoPlan, Piece, Stock, cutting_plan
from gasdoc.quantities import Metre, Ratio
from gasdoc.source import Citation
from gasdoc.study.facts import Installation, system
from gasdoc.study.findings import Finding, error, note, warning
from gasdoc.study.materials.connectors import Connected
from gasdoc.study.materials.price_list import PriceList
from gasdoc.study.materials.spots import feeding_run, screwed
from gasdoc.study.supply.lines import Line, SizedZone, lines_of

SHELF = "on the shelf"

TAIL = "connector"
"""What follows the id of an outlet in the name of its tail; after a run's id stands the number of a piece."""

EXACT = 0.001
"""m: lengths closer than this are the same; a cutting plan is made in whole millimetres."""


class Lengths(Struct, frozen=True):
    """One tubing with its cutting plan.

    `key` is its part key. `share` is added to a piece for waste, and `each` (m) for an end made again. `pieces` are what has to be cut, allowances included (m); `net` is their sum without. `stock` is
    what they may be cut from: lengths on the shelf first, then what the trade sells. `sources` say where lengths and
    allowances are from.
    """

    key: str
    name: str
    material: str
    coil: bool
    share: Ratio
    each: Metre
    pieces: tuple[Piece, ...]
    net: Metre
    stock: tuple[Stock, ...]
    plan: CuttingPlan | NoPlan
    allowance: str
    sources: tuple[Citation, ...]

    @property
    def gross(self) -> float:
        """What has to be cut, allowances included, m."""
        return sum(piece.length for piece in self.pieces)

    @property
    def longest(self) -> float:
        """The longest it comes in, m; 0 where no length is listed."""
        return max((stock.length for stock in self.stock), default=0.0)

    def label(self, stock_id: str) -> str:
        """A stock length in words."""
        return stock_id if not stock_id.startswith(SHELF) else f"{stock_id.rpartition(' (')[0]}"

    def length(self, stock_id: str) -> float:
        """How long a stock length is, m."""
        return next(stock.length for stock in self.stock if stock.id == stock_id)


def tubing_key(material: str, kind: str | None, size: Size) -> str:
    """The part key of a tubing: "copper-l 1/2" by nominal size, "csst EHD 18", "steel 3/4", "copper-metric 8x1"."""
    return f"{tubing.material(material).key(kind)} {size.id}"


def piece_words(name: str, called: Mapping[str, str]) -> str:
    """A piece in words: a run or a piece of it by its name, a tail by its appliance."""
    element, _, rest = name.partition(":")
    if not rest:
        return called[element]
    return f"tail of {called[element]}" if rest == TAIL else f"{called[element]}, piece {rest}"


def cutting(
    build: Installation,
    zones: Sequence[SizedZone],
    connected: tuple[Connected, ...],
    prices: PriceList,
    shelf: Mapping[str, OnShelf],
) -> tuple[Lengths, ...]:
    """Every tubing of the build in the order in which gas meets it. A run without a size is in none of them."""
    runs = lines_of(zones)
    wanted: dict[str, list[tuple[str, float]]] = {}
    first: dict[str, Line] = {}
    for run in runs.values():
        if run.size is not None:
            key = tubing_key(run.material, run.kind, run.size)
            first.setdefault(key, run)
            wanted.setdefault(key, []).append((run.id, float(run.part.length)))
    for c in connected:  # a rigid tail is cut from the tubing that feeds it
        feeding = feeding_run(build, runs, c.id)
        if c.kind != "rigid" or c.length is None or feeding is None or feeding.size is None:
            continue
        if tubing.material(feeding.material).makes_tails:
            wanted[tubing_key(feeding.material, feeding.kind, feeding.size)].append((f"{c.id}:{TAIL}", c.length))
    # All plans of a build share one count of steps; the easy ones are made first and leave what they do not need.
    made: dict[str, Lengths] = {}
    left = STEP_LIMIT
    for key in sorted(wanted, key=lambda key: len(wanted[key])):
        limit = left // (len(wanted) - len(made))
        made[key] = _lengths(build, key, first[key], wanted[key], prices, shelf.get(key), limit)
        left -= made[key].plan.steps
    return tuple(made[key] for key in wanted)


def _lengths(
    build: Installation,
    key: str,
    run: Line,
    wanted: Sequence[tuple[str, float]],
    prices: PriceList,
    shelf: OnShelf | None,
    limit: int,
) -> Lengths:
    assert run.size is not None
    rigid = tubing.material(run.material).sold == "length"
    share = allowance("rigid" if rigid else "coil")
    each = allowance("each-run")
    extra = 0.0 if rigid else each.length
    rows = [
        row
        for row in stock_rows(run.material, run.size.kind, run.size.id)
        if row.coil is not rigid and row.units in (None, units.base(build.region.units))
    ]
    stock = [
        Stock(f"{SHELF} ({i + 1})", float(length), None, 1, bought=False)
        for i, length in enumerate(shelf.lengths if shelf is not None else ())
    ]
    for row in rows:
        for length in row.lengths:
            price = prices.coil(key, length.text, length)
            stock.append(Stock(length.text, float(length), None if price is None else sum(price) / 2))
    longest = max((piece.length for piece in stock), default=0.0)
    if screwed(run):
        wanted = [piece for name, length in wanted for piece in _between_joints(build, name, length, longest)]
    pieces = tuple(Piece(name, _cut(length, share.share, extra, longest)) for name, length in wanted)
    words = f"{share.share * 100:.0f} % for waste" + (
        "" if rigid else " and a spare piece in each for an end made again"
    )
    return Lengths(
        key=key,
        name=tubing_name(run),
        material=run.material,
        coil=not rigid,
        share=share.share,
        each=extra,
        pieces=pieces,
        net=sum(length for _, length in wanted),
        stock=tuple(stock),
        plan=cutting_plan(pieces, stock, limit),
        allowance=words,
        sources=tuple(dict.fromkeys([*(row.source for row in rows), share.source, *([] if rigid else [each.source])])),
    )


def _between_joints(build: Installation, name: str, length: float, longest: float) -> Iterator[tuple[str, float]]:
    """What to cut for a run of screwed pipe: all of it where a length holds it, else each way between two of its bends, and
    of a way that is longer, whole lengths with couplings between them and what is left."""
    bends = build.bends(name) if length > longest + EXACT > EXACT and name in build.by_id else None
    if bends is None:
        yield name, length
        return
    number = 0
    for way in bends.ways:
        whole, rest = divmod((way or 0.0) + EXACT / 2, longest)
        for piece in (*[longest] * int(whole), rest):
            if piece > EXACT:
                number += 1
                yield f"{name}:{number}", piece


def _cut(length: float, share: float, each: float, longest: float) -> float:
    """What to cut for a piece, m. The share for waste is what may go wrong; it does not make a piece too long that a
    whole length would hold."""
    least, wanted = length + each, length * (1 + share) + each
    whole = math.floor(longest / EXACT + 1e-6) * EXACT
    return min(wanted, whole) if least <= longest + EXACT else wanted


def tubing_name(run: Line) -> str:
    """A run's tubing in words."""
    word = tubing.material(run.material).words.parts
    return f"{run.size.label} {word}" if run.size else f"{word}, size not found"


def cutting_findings(build: Installation, found: tuple[Lengths, ...]) -> Iterator[Finding]:
    """Runs that no coil or length holds in one piece, and plans that may not be the best."""
    shown = system(build)
    for lengths in found:
        plan = lengths.plan
        yield from _coupled(build, lengths, shown)
        if isinstance(plan, NoPlan) and plan.reason == "piece-too-long":
            for piece in plan.pieces:
                yield _too_long(build, lengths, piece, shown)
        elif isinstance(plan, NoPlan):
            node = build.by_id[lengths.pieces[0].id.partition(":")[0]]
            yield warning(
                "no-cutting-plan",
                node.id,
                node.at,
                f"There is no cutting plan for {lengths.name}.",
                "No lengths are listed that it is sold in."
                if plan.reason == "no-stock"
                else "It was not found within the count of steps.",
                "Ask the supplier for lengths, and buy each run in one piece.",
            )
        elif plan.result == "limit":
            node = build.by_id[lengths.pieces[0].id.partition(":")[0]]
            yield note(
                "cutting-plan-not-proven",
                node.id,
                node.at,
                f"The cutting plan of {lengths.name} holds every run, but it is not proven to be the best.",
                "The search stopped at its count of steps.",
                "Look at what is left of each coil before you buy. Fewer lengths on the shelf make the search shorter.",
            )


def _coupled(build: Installation, lengths: Lengths, shown: units.System) -> Iterator[Finding]:
    """Runs that are cut in pieces, with a way between two bends that no length holds."""
    for name in dict.fromkeys(piece.id.partition(":")[0] for piece in lengths.pieces if piece.id not in build.by_id):
        bends = build.bends(name) if isinstance(build.by_id[name].part, Run) else None
        ways = (
            [way for way in bends.ways if way is not None and way > lengths.longest + EXACT]
            if bends is not None
            else []
        )
        if ways:
            couplings = sum(math.ceil((way - EXACT) / lengths.longest) - 1 for way in ways)
            yield warning(
                "run-longer-than-stock",
                name,
                build.by_id[name].at,
                f"It goes {units.show(max(ways), 'run length', shown)} without a bend, and the longest {lengths.name} sold is "
                f"{units.show(lengths.longest, 'run length', shown)}: it takes {couplings} coupling{'' if couplings == 1 else 's'}.",
                "A coupling inside a run is in no list, and one that is hidden leaks unseen.",
                "Write runs that meet at each coupling, where it can be seen and reached. Then its parts and joints are listed.",
                str(lengths.sources[0]),
            )


def _too_long(build: Installation, lengths: Lengths, piece: str, shown: units.System) -> Finding:
    """What to say of a piece that no length holds: a coil must reach, pipe is joined at its elbows and couplings."""
    node = build.by_id[piece.partition(":")[0]]
    needed = next(p.length for p in lengths.pieces if p.id == piece)
    net = (needed - lengths.each) / (1 + lengths.share)
    longest = units.show(lengths.longest, "run length", shown)
    source = str(lengths.sources[0])
    if lengths.coil:
        parts = math.ceil(net * (1 + lengths.share) / max(lengths.longest - lengths.each, lengths.each) - EXACT)
        return error(
            "run-longer-than-stock",
            node.id,
            node.at,
            f"It needs {units.show(needed, 'run length', shown)} of {lengths.name} in one piece, and the longest sold is {longest}.",
            "A run has no joint inside it: one that is hidden leaks unseen.",
            f"Split it into {parts} runs. That makes {_joints(parts - 1)}: each must be where it can be seen and reached.",
            source,
        )
    bends = node.part.bends if isinstance(node.part, Run) else 0
    parts = math.ceil(net / lengths.longest - EXACT)
    said = f"It is {units.show(net, 'run length', shown)} of {lengths.name}, and the longest sold is {longest}"
    if bends >= parts - 1 and tubing.material(lengths.material).ends == "pipe":
        return note(
            "run-in-pieces",
            node.id,
            node.at,
            f"{said}: it is cut in pieces between its elbows.",
            "How long each piece is does not stand in the spec, so that this tubing has no cutting plan.",
            "Write its legs, and it is cut by them. Every elbow is a joint that has to stay accessible.",
            source,
        )
    return warning(
        "run-longer-than-stock",
        node.id,
        node.at,
        f"{said}: it takes {parts} pieces or more.",
        f"That makes {_joints(parts - 1)} or more inside it, elbows included. One that is hidden leaks unseen.",
        "Plan where its couplings are, so that each can be seen and reached, or choose tubing from a coil.",
        source,
    )


def _joints(number: int) -> str:
    return f"{number} joint{'s' if number != 1 else ''}"
