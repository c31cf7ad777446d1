"""The cutting plan: which run is cut from which coil or length, so that no run has a joint in it.

Lengths are held in whole millimetres, runs rounded up and stock rounded down, so a plan never asks for more than there
is. Sets of stock lengths are tried from the best on, and for each it is decided whether the runs fit into it; the first
that holds them is the best there is. Both searches are bounded by counts, so the same input gives the same plan.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Literal

NODE_LIMIT = 20_000
"""Search steps for a whole plan. Coils for 40 runs take a few hundred; only many steel pipes of about a third of a
length each come near the limit."""

_SET_SHARE = 5  # no single set of stock lengths may use more than this part of the limit


@dataclass(frozen=True, slots=True)
class Piece:
    """A run to be cut in one piece: `length` in m, allowances included."""

    id: str
    length: float


@dataclass(frozen=True, slots=True)
class Stock:
    """A length that tubing comes in: `length` in m, `price` of one (None if not known), `available` of them (None: any
    number). What is on the shelf has `bought` False: it costs nothing and is used before anything is bought."""

    id: str
    length: float
    price: float | None = None
    available: int | None = None
    bought: bool = True


@dataclass(frozen=True, slots=True)
class Cut:
    """One coil or length: the pieces cut from it, in order, and what is left (m)."""

    stock: str
    pieces: tuple[str, ...]
    left: float


@dataclass(frozen=True, slots=True)
class Bound:
    """What no plan can better, in the order of `CuttingPlan.by`: price (None where not known), coils, length (m)."""

    cost: float | None
    bought: int
    bought_length: float


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """A plan that holds every piece once.

    `by` says what was least first: "price" when every length to buy has one, else "count"; then waste. `result` is
    "best" if none better exists, else "limit": the search was cut short at its count, the plan is good but perhaps not
    the best, and `bound` is what none can better. `cost` is None when a bought length has no price. Lengths in m.
    """

    cuts: tuple[Cut, ...]
    by: Literal["price", "count"]
    result: Literal["best", "limit"]
    bought: int
    bought_length: float
    waste: float
    cost: float | None
    bound: Bound
    nodes: int


@dataclass(frozen=True, slots=True)
class NoPlan:
    """Why there is no plan: "no-stock" (nothing listed), "piece-too-long" (`pieces` exceed every length; a joint in a
    run is not made), "not-enough" (what is available does not hold them), "limit" (not decided within the count)."""

    reason: Literal["no-stock", "piece-too-long", "not-enough", "limit"]
    pieces: tuple[str, ...]


def cutting_plan(pieces: Sequence[Piece], stock: Sequence[Stock], node_limit: int = NODE_LIMIT) -> CuttingPlan | NoPlan:
    """The best way to cut all pieces from the stock.

    What is best, in this order: lowest price if every length to buy has a price; fewest coils bought; least length
    bought, so least waste; fewest and shortest lengths from the shelf; the stock listed first. Raises ValueError for a
    length that is not above zero.
    """
    if any(not p.length > 0 for p in pieces) or any(not s.length > 0 for s in stock):
        raise ValueError("lengths must be above zero")
    sizes = [math.ceil(round(p.length * 1000, 6)) for p in pieces]
    lengths = [math.floor(round(s.length * 1000, 6)) for s in stock]
    by_price = all(s.price is not None for s in stock if s.bought)
    if not pieces:
        return _plan((), [], pieces, sizes, stock, lengths, by_price, "best", None, 0)
    usable = [i for i, s in enumerate(stock) if s.available != 0]
    if not usable:
        return NoPlan("no-stock", ())
    longest = max(lengths[i] for i in usable)
    if too_long := tuple(p.id for p, size in zip(pieces, sizes, strict=True) if size > longest):
        return NoPlan("piece-too-long", too_long)

    order = sorted(range(len(sizes)), key=lambda i: (-sizes[i], i))
    descending = [sizes[i] for i in order]
    sets = _StockSets(stock, lengths, usable, by_price, sum(sizes))
    used = 0
    undecided: _Worth | None = None
    while used < node_limit:
        popped = sets.next()
        used += 1
        if popped is None:
            return NoPlan("limit" if undecided is not None else "not-enough", ())
        worth, chosen = popped
        search = _Packing(descending, [lengths[i] for i in chosen], min(node_limit - used, node_limit // _SET_SHARE))
        packed = search.solve()
        used += search.nodes
        if packed is not None:
            filled = [[order[k] for k in bin_] for bin_ in packed]
            return _plan(
                chosen,
                filled,
                pieces,
                sizes,
                stock,
                lengths,
                by_price,
                "limit" if undecided else "best",
                undecided,
                used,
            )
        if search.cut_short and undecided is None:
            undecided = worth
    greedy = _first_fit(descending, stock, lengths, usable)
    if greedy is None:
        return NoPlan("limit", ())
    chosen, packed = greedy
    bound = undecided or sets.best_open()
    filled = [[order[k] for k in bin_] for bin_ in packed]
    return _plan(chosen, filled, pieces, sizes, stock, lengths, by_price, "limit", bound, used)


_Worth = tuple[int, int, int, int, int]
"""Price in ten-thousandths, coils bought, mm bought, lengths from the shelf, mm from the shelf."""


class _StockSets:
    """Sets of stock lengths that could hold a total, from the best on.

    Best-first over multisets in stated order; what a set still needs at least is counted with it, so that the first
    sets that come out are already long enough or nearly so.
    """

    def __init__(
        self, stock: Sequence[Stock], lengths: Sequence[int], usable: Sequence[int], by_price: bool, total: int
    ) -> None:
        self._stock, self._lengths, self._usable, self._total = stock, lengths, usable, total
        self._prices = [round((s.price or 0.0) * 10_000) if by_price and s.bought else 0 for s in stock]
        self._queue: list[tuple[_Worth, tuple[int, ...], int]] = []
        self._push((), 0)

    def next(self) -> tuple[_Worth, tuple[int, ...]] | None:
        """The next best set that is long enough in total, as stock indices; None when there is none left."""
        while self._queue:
            worth, chosen, held = heapq.heappop(self._queue)
            counts = chosen.count
            for i in self._usable:
                limit = self._stock[i].available
                if (not chosen or i >= chosen[-1]) and (limit is None or counts(i) < limit):
                    self._push((*chosen, i), held + self._lengths[i])
            if held >= self._total:
                return worth, chosen
        return None

    def best_open(self) -> _Worth | None:
        """What the best set not yet looked at is worth."""
        return self._queue[0][0] if self._queue else None

    def _push(self, chosen: tuple[int, ...], held: int) -> None:
        later = [i for i in self._usable if not chosen or i >= chosen[-1]]
        missing = self._total - held
        price = sum(self._prices[i] for i in chosen)
        bought = [i for i in chosen if self._stock[i].bought]
        shelf = [i for i in chosen if not self._stock[i].bought]
        count, length = len(bought), sum(self._lengths[i] for i in bought)
        if missing > 0:
            # The shelf pieces that may still be added cost nothing; the rest has to be bought.
            free = 0
            for i in later:
                if not self._stock[i].bought:
                    limit = self._stock[i].available
                    free = self._total if limit is None else free + (limit - chosen.count(i)) * self._lengths[i]
            to_buy = [i for i in later if self._stock[i].bought]
            missing -= free
            if missing > 0:
                if not to_buy:
                    return  # no later set can hold the pieces
                count += -(-missing // max(self._lengths[i] for i in to_buy))
                length += missing
                price += min(-(-missing * self._prices[i] // self._lengths[i]) for i in to_buy)
        worth = (price, count, length, len(shelf), sum(self._lengths[i] for i in shelf))
        heapq.heappush(self._queue, (worth, chosen, held))


class _Packing:
    """Whether pieces, given longest first, fit into bins of given lengths: a depth-first search with a step limit.

    One bin is filled at a time, around the longest piece left, leaving no more unused than all bins can spare. Sums
    that cannot be reached any more are known from a bit per millimetre; states that failed are remembered.
    """

    def __init__(self, sizes: Sequence[int], bins: Sequence[int], limit: int) -> None:
        self._sizes = sizes
        self._bins = bins
        self._limit = limit
        self._failed: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
        self.nodes = 0
        self.cut_short = False

    def solve(self) -> list[list[int]] | None:
        """The pieces of each bin, in the order of the bins; None if they do not fit (or, `cut_short`, not decided)."""
        result: list[list[int]] = [[] for _ in self._bins]
        return result if self._fill(tuple(range(len(self._sizes))), tuple(range(len(self._bins))), result) else None

    def _fill(self, left: tuple[int, ...], bins: tuple[int, ...], result: list[list[int]]) -> bool:
        if not left:
            return True
        self.nodes += 1
        if self.nodes > self._limit:
            self.cut_short = True
            return False
        sizes, spare = self._sizes, sum(self._bins[b] for b in bins) - sum(self._sizes[i] for i in left)
        if spare < 0 or not self._enough_places(left, bins):
            return False
        state = (tuple(sizes[i] for i in left), tuple(sorted(self._bins[b] for b in bins)))
        if state in self._failed:
            return False
        tried: set[int] = set()
        first, rest = left[0], left[1:]
        for b in sorted(bins, key=lambda b: (self._bins[b], b)):
            room = self._bins[b] - sizes[first]
            if room < 0 or self._bins[b] in tried:
                continue
            tried.add(self._bins[b])
            for subset in _subsets(sizes, rest, room, spare):
                taken = set(subset)
                remaining = tuple(i for i in rest if i not in taken)
                if self._fill(remaining, tuple(x for x in bins if x != b), result):
                    result[b] = [first, *subset]
                    return True
                if self.cut_short:
                    return False
        self._failed.add(state)
        return False

    def _enough_places(self, left: tuple[int, ...], bins: tuple[int, ...]) -> bool:
        """For every number of the longest pieces: the bins have places for them, were each filled with the shortest of
        these."""
        sums = [0, *accumulate(self._sizes[i] for i in left)]
        counts = Counter(self._bins[b] for b in bins).items()
        for longest in range(1, len(left) + 1):
            places = 0
            for length, number in counts:
                places += number * (longest - bisect_left(sums, sums[longest] - length, 0, longest + 1))
            if places < longest:
                return False
        return True


def _subsets(sizes: Sequence[int], items: Sequence[int], room: int, spare: int) -> Iterator[tuple[int, ...]]:
    """The sets of `items` (longest first) that fill `room` but for at most `spare` and leave no item out that would
    still fit: the fullest first, of equally full ones those with the longest pieces. Of equal pieces the first are
    taken."""
    mask = (1 << (room + 1)) - 1
    sums = [1]  # bit n: some of the items make n; for none, then the last, then the last two, ...
    for i in reversed(items):
        sums.append((sums[-1] | sums[-1] << sizes[i]) & mask)
    sums.reverse()

    def walk(k: int, missing: int, fits: int, taken: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        """Sets of items[k:] that make `missing` exactly; a piece of at most `fits` must not be left out."""
        if not sums[k] >> missing & 1:
            return
        if k == len(items):
            yield taken
            return
        size = sizes[items[k]]
        if size <= missing:
            yield from walk(k + 1, missing - size, fits, (*taken, items[k]))
        after = k + 1
        while after < len(items) and sizes[items[after]] == size:
            after += 1
        if size > fits:
            yield from walk(after, missing, fits, taken)

    for unused in range(min(room, spare) + 1):
        yield from walk(0, room - unused, unused, ())


def _first_fit(
    descending: Sequence[int], stock: Sequence[Stock], lengths: Sequence[int], usable: Sequence[int]
) -> tuple[tuple[int, ...], list[list[int]]] | None:
    """A plan by rule of thumb: shelf first, then the longest length; each piece into the first bin that has room."""
    ranked = sorted(usable, key=lambda i: (stock[i].bought, -lengths[i], i))
    chosen: list[int] = []
    bins: list[list[int]] = []
    room: list[int] = []
    for k, size in enumerate(descending):
        for b, left in enumerate(room):  # noqa: B007  # b is used after the loop
            if size <= left:
                break
        else:
            fresh = [i for i in ranked if lengths[i] >= size and chosen.count(i) != stock[i].available]
            if not fresh:
                return None
            b = len(bins)
            chosen.append(fresh[0])
            bins.append([])
            room.append(lengths[fresh[0]])
        bins[b].append(k)
        room[b] -= size
    for b, pieces in enumerate(bins):  # a shorter length may do for the last of them
        held = sum(descending[k] for k in pieces)
        fits = [i for i in ranked if stock[i].available is None and stock[i].bought and lengths[i] >= held]
        if stock[chosen[b]].bought and fits:
            chosen[b] = min(fits, key=lambda i: (lengths[i], i))
    return tuple(chosen), bins


def _plan(
    chosen: Sequence[int],
    filled: Sequence[Sequence[int]],
    pieces: Sequence[Piece],
    sizes: Sequence[int],
    stock: Sequence[Stock],
    lengths: Sequence[int],
    by_price: bool,
    result: Literal["best", "limit"],
    bound: _Worth | None,
    nodes: int,
) -> CuttingPlan:
    cuts = tuple(
        Cut(stock[i].id, tuple(pieces[k].id for k in sorted(bin_)), (lengths[i] - sum(sizes[k] for k in bin_)) / 1000)
        for i, bin_ in zip(chosen, filled, strict=True)
    )
    bought = [i for i in chosen if stock[i].bought]
    prices = [stock[i].price for i in bought]
    known = [price for price in prices if price is not None]
    cost = math.fsum(known) if len(known) == len(prices) else None
    length = sum(lengths[i] for i in bought) / 1000
    least = Bound(cost, len(bought), length)
    if bound is not None and result == "limit":
        least = Bound(bound[0] / 10_000 if by_price else None, bound[1], bound[2] / 1000)
    return CuttingPlan(
        cuts=cuts,
        by="price" if by_price else "count",
        result=result,
        bought=len(bought),
        bought_length=length,
        waste=math.fsum(cut.left for cut in cuts),
        cost=cost,
        bound=least,
        nodes=nodes,
    )
