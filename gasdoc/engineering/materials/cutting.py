"""The cutting plan: which run is cut from which coil or length, so that no run has a joint in it.

Lengths are held in whole millimetres, runs rounded up and stock rounded down, so a plan never asks for more than there
is. Sets of stock lengths are tried from the best on, and for each it is decided whether the runs fit into it; the first
that holds them is the best there is. Both searches are bounded by a count of steps, each priced by what it costs in time
and memory, so the same input gives the same plan on every machine.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import accumulate, chain, repeat
from typing import Literal

from msgspec import Struct

from gasdoc.quantities import Metre, Money

STEP_LIMIT = 1_200_000
"""Priced steps for a whole plan: about a second, and at most 100 MB. Coils for 40 runs take a few thousand; only many
pieces of about a third of a length each, or many different lengths on the shelf, come near the limit (our choice)."""

_SET_SHARE = 2  # no single set of stock lengths may use more than this part of the limit

_PUSH = 2  # a set of stock lengths that is kept costs so many steps more than one that is not


class Piece(Struct, frozen=True):
    """A run to be cut in one piece: `length` in m, allowances included."""

    id: str
    length: Metre


class Stock(Struct, frozen=True):
    """A length that tubing comes in: `length` in m, `price` of one (None if not known), `available` of them (None: any
    number). What is on the shelf has `bought` False: it costs nothing and is used before anything is bought."""

    id: str
    length: Metre
    price: Money | None = None
    available: int | None = None
    bought: bool = True


class Cut(Struct, frozen=True):
    """One coil or length: the pieces cut from it, in order, and what is left (m)."""

    stock: str
    pieces: tuple[str, ...]
    left: Metre


class Bound(Struct, frozen=True):
    """What no plan can better, in the order of `CuttingPlan.by`: price (None where not known), coils, length (m)."""

    cost: Money | None
    bought: int
    bought_length: Metre


class CuttingPlan(Struct, frozen=True):
    """A plan that holds every piece once.

    `by` says what was least first: "price" when every length to buy has one, else "count"; then waste. `result` is
    "best" if none better exists, else "limit": the search was cut short at its count, the plan is good but perhaps not
    the best, and `bound` is what none can better. `cost` is None when a bought length has no price. `steps` is what the
    search cost. Lengths in m.
    """

    cuts: tuple[Cut, ...]
    by: Literal["price", "count"]
    result: Literal["best", "limit"]
    bought: int
    bought_length: Metre
    waste: Metre
    cost: Money | None
    bound: Bound
    steps: int


@dataclass(frozen=True, slots=True)
class NoPlan:
    """Why there is no plan: "no-stock" (nothing listed), "piece-too-long" (`pieces` exceed every length; a joint in a
    run is not made), "not-enough" (what is available does not hold them), "limit" (not decided within the count).
    `steps` is what the search cost."""

    reason: Literal["no-stock", "piece-too-long", "not-enough", "limit"]
    pieces: tuple[str, ...]
    steps: int = field(default=0, compare=False)


def cutting_plan(pieces: Sequence[Piece], stock: Sequence[Stock], limit: int = STEP_LIMIT) -> CuttingPlan | NoPlan:
    """The best way to cut all pieces from the stock, searched for in at most `limit` priced steps.

    What is best, in this order: lowest price if every length to buy has a price; fewest coils bought; least length
    bought, so least waste; fewest and shortest lengths from the shelf; the stock listed first. Raises ValueError for a
    length that is not above zero.

    Pieces of 4, 3 and 2 m take one length of 6 m and one of 3 m, with nothing left.
    >>> pieces = (Piece("a", 4.0), Piece("b", 3.0), Piece("c", 2.0))
    >>> plan = cutting_plan(pieces, (Stock("6 m", 6.0), Stock("3 m", 3.0)))
    >>> [(cut.stock, cut.pieces, cut.left) for cut in plan.cuts]
    [('6 m', ('a', 'c'), 0.0), ('3 m', ('b',), 0.0)]
    """
    if any(not p.length > 0 for p in pieces) or any(not s.length > 0 for s in stock):
        raise ValueError("lengths must be above zero")
    sizes = [math.ceil(round(p.length * 1000, 6)) for p in pieces]
    by_price = all(s.price is not None for s in stock if s.bought)
    kinds = list(_kinds(stock))
    if not pieces:
        return _plan((), [], pieces, sizes, kinds, by_price, None, 0)
    if not kinds:
        return NoPlan("no-stock", ())
    longest = max(kind.length for kind in kinds)
    if too_long := tuple(p.id for p, size in zip(pieces, sizes, strict=True) if size > longest):
        return NoPlan("piece-too-long", too_long)

    order = sorted(range(len(sizes)), key=lambda i: (-sizes[i], i))
    descending = [sizes[i] for i in order]
    sets = _StockSets(kinds, by_price, sum(sizes))
    used = 0
    undecided: _Worth | None = None
    found: tuple[Sequence[int], list[list[int]]] | None = None
    while used < limit and found is None:
        popped = sets.next(limit - used)
        used += sets.price
        if popped is None and used < limit:
            return NoPlan("limit" if undecided is not None else "not-enough", (), used)
        if popped is None:
            break
        worth, chosen = popped
        search = _Packing(descending, [kinds[i].length for i in chosen], min(limit - used, limit // _SET_SHARE))
        packed = search.solve()
        used += search.steps
        if packed is not None:
            found = chosen, packed
        elif search.cut_short and undecided is None:
            undecided = worth
    if found is None:
        found = _rule_of_thumb(descending, kinds, by_price)
        if found is None:
            return NoPlan("limit", (), used)
        undecided = undecided or sets.best_open()
    filled = [[order[k] for k in bin_] for bin_ in found[1]]
    return _plan(found[0], filled, pieces, sizes, kinds, by_price, undecided, used)


class _Kind(Struct, frozen=True):
    """Stock that is alike: `length` in mm rounded down, how many there are (None: any number), their ids in stated order
    with the number of each."""

    length: int
    price: float | None
    bought: bool
    available: int | None
    members: tuple[tuple[str, int | None], ...]

    def worth(self, by_price: bool) -> int:
        """What one costs, in ten-thousandths; 0 where prices decide nothing."""
        return round((self.price or 0.0) * 10_000) if by_price and self.bought else 0


def _kinds(stock: Sequence[Stock]) -> Iterator[_Kind]:
    """The stock that can be had, with what is alike together: to try one of two equal lengths is to have tried both."""
    alike: dict[tuple[int, float | None, bool], list[Stock]] = {}
    for s in stock:
        if s.available != 0:
            alike.setdefault((math.floor(round(s.length * 1000, 6)), s.price, s.bought), []).append(s)
    for (length, price, bought), members in alike.items():
        numbers = [s.available for s in members]
        known = [n for n in numbers if n is not None]
        available = sum(known) if len(known) == len(numbers) else None
        yield _Kind(length, price, bought, available, tuple((s.id, s.available) for s in members))


_Worth = tuple[int, int, int, int, int]
"""Price in ten-thousandths, coils bought, mm bought, lengths from the shelf, mm from the shelf."""


class _StockSets:
    """Sets of stock lengths that could hold a total, from the best on.

    Best-first over multisets in stated order; what a set still needs at least is counted with it, so that the first
    sets that come out are already long enough or nearly so. `price` is what the last call of `next` cost.
    """

    def __init__(self, kinds: Sequence[_Kind], by_price: bool, total: int) -> None:
        self._kinds, self._total = kinds, total
        self._prices = [kind.worth(by_price) for kind in kinds]
        self._by_price = any(self._prices)
        self._queue: list[tuple[_Worth, tuple[int, ...]]] = []
        self.price = 0
        # Of the kinds from each place on: those to buy, the longest of them; of the shelf, all its length and its longest.
        self._to_buy: list[list[int]] = [[]]
        self._longest_to_buy, self._shelf, self._longest_on_shelf = [0], [0], [0]
        for i, kind in reversed(list(enumerate(kinds))):
            self._to_buy.append([i, *self._to_buy[-1]] if kind.bought else self._to_buy[-1])
            self._longest_to_buy.append(max(self._longest_to_buy[-1], kind.length if kind.bought else 0))
            held = total if kind.available is None else kind.available * kind.length
            self._shelf.append(self._shelf[-1] + (0 if kind.bought else held))
            self._longest_on_shelf.append(max(self._longest_on_shelf[-1], 0 if kind.bought else kind.length))
        for table in (self._to_buy, self._longest_to_buy, self._shelf, self._longest_on_shelf):
            table.reverse()
        self._push((), (0, 0, 0, 0, 0))

    def next(self, limit: int) -> tuple[_Worth, tuple[int, ...]] | None:
        """The next best set that is long enough in total, as places of kinds; None when there is none left, or none was
        found for this price."""
        self.price = 0
        while self._queue and self.price < limit:
            worth, chosen = heapq.heappop(self._queue)
            held = self._held(chosen)
            self.price += 1 + len(chosen) // 4
            for i in range(chosen[-1] if chosen else 0, len(self._kinds)):
                kind = self._kinds[i]
                if kind.available is None or i != (chosen[-1] if chosen else -1) or chosen.count(i) < kind.available:
                    price, count, length, shelf, shelf_length = held
                    more = (
                        (price + self._prices[i], count + 1, length + kind.length, shelf, shelf_length)
                        if kind.bought
                        else (price, count, length, shelf + 1, shelf_length + kind.length)
                    )
                    self._push((*chosen, i), more)
            if held[2] + held[4] >= self._total:
                return worth, chosen
        return None

    def best_open(self) -> _Worth | None:
        """What the best set not yet looked at is worth."""
        return self._queue[0][0] if self._queue else None

    def _held(self, chosen: tuple[int, ...]) -> _Worth:
        """What a set is worth by itself, without what it still needs."""
        price = count = length = shelf = shelf_length = 0
        for i in chosen:
            kind = self._kinds[i]
            if kind.bought:
                price, count, length = price + self._prices[i], count + 1, length + kind.length
            else:
                shelf, shelf_length = shelf + 1, shelf_length + kind.length
        return price, count, length, shelf, shelf_length

    def _push(self, chosen: tuple[int, ...], held: _Worth) -> None:
        self.price += 1
        price, count, length, shelf, shelf_length = held
        missing = self._total - length - shelf_length
        if missing > 0:
            # The shelf pieces that may still be added cost nothing; the rest has to be bought.
            at = chosen[-1] if chosen else 0
            kind = self._kinds[at]
            taken = 0 if kind.bought or kind.available is None else chosen.count(at) * kind.length
            bought = missing - (self._shelf[at] - taken)
            if bought > 0:
                if not self._to_buy[at]:
                    return  # no later set can hold the pieces
                count += -(-bought // self._longest_to_buy[at])
                length += bought
                if self._by_price:
                    self.price += len(self._to_buy[at]) // 4
                    price += min(-(-bought * self._prices[i] // self._kinds[i].length) for i in self._to_buy[at])
                missing -= bought
            if missing > 0:
                shelf += -(-missing // self._longest_on_shelf[at])
                shelf_length += missing
        self.price += _PUSH + len(chosen) // 8
        heapq.heappush(self._queue, ((price, count, length, shelf, shelf_length), chosen))


class _Packing:
    """Whether pieces, given longest first, fit into bins of given lengths: a depth-first search with a limit of steps.

    One bin is filled at a time, around the longest piece left, leaving no more unused than all bins can spare. Sums
    that cannot be reached any more are known from a bit per millimetre; states that failed are remembered.
    """

    def __init__(self, sizes: Sequence[int], bins: Sequence[int], limit: int) -> None:
        self._sizes = sizes
        self._bins = bins
        self._limit = limit
        self._failed: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
        self.steps = 0

    @property
    def cut_short(self) -> bool:
        """Whether the steps did not suffice, so that nothing is decided."""
        return self.steps > self._limit

    def solve(self) -> list[list[int]] | None:
        """The pieces of each bin, in the order of the bins; None if they do not fit (or, `cut_short`, not decided)."""
        result: list[list[int]] = [[] for _ in self._bins]
        return result if self._fill(tuple(range(len(self._sizes))), tuple(range(len(self._bins))), result) else None

    def _fill(self, left: tuple[int, ...], bins: tuple[int, ...], result: list[list[int]]) -> bool:
        if not left:
            return True
        lengths = Counter(self._bins[b] for b in bins)
        self.steps += 1 + len(left) * (1 + len(lengths)) // 3 + len(bins) // 8
        if self.cut_short:
            return False
        sizes, spare = self._sizes, sum(self._bins[b] for b in bins) - sum(self._sizes[i] for i in left)
        if spare < 0 or not self._enough_places(left, lengths):
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
            for subset in self._subsets(rest, room, spare):
                taken = set(subset)
                remaining = tuple(i for i in rest if i not in taken)
                if self._fill(remaining, tuple(x for x in bins if x != b), result):
                    result[b] = [first, *subset]
                    return True
            if self.cut_short:
                return False
        self._failed.add(state)
        return False

    def _enough_places(self, left: tuple[int, ...], lengths: Counter[int]) -> bool:
        """For every number of the longest pieces: the bins have places for them, were each filled with the shortest of
        these."""
        sums = [0, *accumulate(self._sizes[i] for i in left)]
        for longest in range(1, len(left) + 1):
            places = 0
            for length, number in lengths.items():
                places += number * (longest - bisect_left(sums, sums[longest] - length, 0, longest + 1))
            if places < longest:
                return False
        return True

    def _subsets(self, items: Sequence[int], room: int, spare: int) -> Iterator[tuple[int, ...]]:
        """The sets of `items` (longest first) that fill `room` but for at most `spare` and leave no item out that would
        still fit: the fullest first, of equally full ones those with the longest pieces. Of equal pieces the first are
        taken. It ends early where the steps do not suffice."""
        sizes = self._sizes
        mask = (1 << (room + 1)) - 1
        sums = [1]  # bit n: some of the items make n; for none, then the last, then the last two, ...
        for i in reversed(items):
            self.steps += 1 + room // 2048
            if self.cut_short:
                return
            sums.append((sums[-1] | sums[-1] << sizes[i]) & mask)
        sums.reverse()

        def walk(k: int, missing: int, fits: int, taken: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
            """Sets of items[k:] that make `missing` exactly; a piece of at most `fits` must not be left out."""
            self.steps += 1
            if self.cut_short or not sums[k] >> missing & 1:
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

        unused, most = 0, min(room, spare)
        while unused <= most:
            # From one sum that can be reached to the next; each millimetre between them is a step that ends at once.
            reached = (sums[0] & ((2 << (room - unused)) - 1)).bit_length() - 1
            skipped = min(room - unused - reached, most + 1 - unused)
            self.steps = min(self.steps + skipped, self._limit + 1)
            if self.cut_short:
                return
            unused += skipped
            if unused <= most:
                yield from walk(0, room - unused, unused, ())
                if self.cut_short:
                    return
            unused += 1


def _rule_of_thumb(
    descending: Sequence[int], kinds: Sequence[_Kind], by_price: bool
) -> tuple[list[int], list[list[int]]] | None:
    """The better of two plans by rule of thumb: the shelf first, then what is bought; a new length is the longest there is,
    or the shortest that will do. None where neither holds all pieces."""

    def worth(found: tuple[list[int], list[list[int]]]) -> _Worth:
        bought = [kinds[i] for i in found[0] if kinds[i].bought]
        shelf = [kinds[i] for i in found[0] if not kinds[i].bought]
        price = sum(kind.worth(by_price) for kind in bought)
        return price, len(bought), sum(k.length for k in bought), len(shelf), sum(k.length for k in shelf)

    tried = [_first_fit(descending, kinds, longest=longest) for longest in (True, False)]
    return min((found for found in tried if found is not None), key=worth, default=None)


def _first_fit(
    descending: Sequence[int], kinds: Sequence[_Kind], *, longest: bool
) -> tuple[list[int], list[list[int]]] | None:
    """Each piece into the first bin that has room, else into a new one."""
    ranked = sorted(
        range(len(kinds)), key=lambda i: (kinds[i].bought, -kinds[i].length if longest else kinds[i].length, i)
    )
    chosen: list[int] = []
    bins: list[list[int]] = []
    room: list[int] = []
    taken: Counter[int] = Counter()
    for k, size in enumerate(descending):
        b = next((b for b, left in enumerate(room) if size <= left), len(bins))
        if b == len(bins):
            fresh = next((i for i in ranked if kinds[i].length >= size and taken[i] != kinds[i].available), None)
            if fresh is None:
                return None
            taken[fresh] += 1
            chosen.append(fresh)
            bins.append([])
            room.append(kinds[fresh].length)
        bins[b].append(k)
        room[b] -= size
    for b, pieces in enumerate(bins):  # a shorter length may do for the last of them
        held = sum(descending[k] for k in pieces)
        fits = [i for i in ranked if kinds[i].available is None and kinds[i].bought and kinds[i].length >= held]
        if kinds[chosen[b]].bought and fits:
            chosen[b] = min(fits, key=lambda i: (kinds[i].length, i))
    return chosen, bins


def _plan(
    chosen: Sequence[int],
    filled: Sequence[Sequence[int]],
    pieces: Sequence[Piece],
    sizes: Sequence[int],
    kinds: Sequence[_Kind],
    by_price: bool,
    undecided: _Worth | None,
    steps: int,
) -> CuttingPlan:
    """The plan for people: each cut with the id of its length, those alike in stated order; `undecided` is the bound where
    the plan is not known to be the best."""
    ids = {
        i: chain.from_iterable(
            repeat(name) if number is None else repeat(name, number) for name, number in kind.members
        )
        for i, kind in enumerate(kinds)
    }
    cuts = tuple(
        Cut(
            next(ids[i]),
            tuple(pieces[k].id for k in sorted(bin_)),
            (kinds[i].length - sum(sizes[k] for k in bin_)) / 1000,
        )
        for i, bin_ in zip(chosen, filled, strict=True)
    )
    bought = [kinds[i] for i in chosen if kinds[i].bought]
    known = [kind.price for kind in bought if kind.price is not None]
    cost = math.fsum(known) if len(known) == len(bought) else None
    length = sum(kind.length for kind in bought) / 1000
    least = Bound(cost, len(bought), length)
    if undecided is not None:
        least = Bound(undecided[0] / 10_000 if by_price else None, undecided[1], undecided[2] / 1000)
    return CuttingPlan(
        cuts=cuts,
        by="price" if by_price else "count",
        result="best" if undecided is None else "limit",
        bought=len(bought),
        bought_length=length,
        waste=math.fsum(cut.left for cut in cuts),
        cost=cost,
        bound=least,
        steps=steps,
    )
