"""What is to be bought and what it costs: shelf taken off, packs rounded up, unknown prices counted, never guessed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from msgspec import Struct


class ShoppingNeed(Struct, frozen=True):
    """What the build needs of one thing: a count, or a length in m. `pack` is how much one purchase holds, in the same
    unit: 1 for single parts, 10 for a box of ten, the length of a coil."""

    key: str
    quantity: float
    pack: float = 1.0


class PackPrice(Struct, frozen=True):
    """The price of one purchase (one pack), from `low` to `high`; equal where there is one price."""

    low: float
    high: float


class ShoppingLine(Struct, frozen=True):
    """One line of a shopping list. `on_shelf` is what of the shelf is used, `packs` how many purchases what is then missing
    takes. `low` and `high` are None where the price is not known."""

    key: str
    quantity: float
    on_shelf: float
    packs: int
    low: float | None
    high: float | None


def costs(
    needs: Sequence[ShoppingNeed], prices: Mapping[str, PackPrice], shelf: Mapping[str, float]
) -> tuple[ShoppingLine, ...]:
    """The lines of all needs, in their order. The shelf is used up by the first that need it.

    Raises ValueError for a negative quantity, an empty pack, a price below zero or a low price above its high one.

    21 m from coils of 15 m, 3 m of them on the shelf: two coils.
    >>> (line,) = costs((ShoppingNeed("coil", 21.0, 15.0),), {"coil": PackPrice(100.0, 110.0)}, {"coil": 3.0})
    >>> line.packs, line.low, line.high
    (2, 200.0, 220.0)
    """
    left = dict(shelf)
    lines = []
    for need in needs:
        if not need.quantity >= 0 or not need.pack > 0:
            raise ValueError(f"{need.key}: a quantity must not be negative and a pack not empty")
        used = min(need.quantity, max(0.0, left.get(need.key, 0.0)))
        left[need.key] = left.get(need.key, 0.0) - used
        missing = need.quantity - used
        # A hair over a whole pack is the rounding of a length, not another coil.
        packs = max(0, math.ceil(missing / need.pack - 1e-9))
        price = prices.get(need.key)
        if price is not None and not 0 <= price.low <= price.high:
            raise ValueError(f"{need.key}: a price must not be negative, nor its low end above its high one")
        low, high = (None, None) if price is None else (price.low * packs, price.high * packs)
        lines.append(ShoppingLine(need.key, need.quantity, used, packs, low, high))
    return tuple(lines)
