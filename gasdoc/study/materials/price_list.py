"""The builder's prices: which price a part key has, per piece, per pack or per length."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec import Struct, field

from gasdoc.build.model import Prices
from gasdoc.build.prices import Price


class PriceList(Struct, frozen=True):
    """Prices by part key, with their currency and date; empty where there are none. `left_out`: the project's prices are
    in another currency than the spec's, so they are not used."""

    items: Mapping[str, Price] = field(default_factory=dict)
    currency: str | None = None
    date: str | None = None
    left_out: bool = False

    def of(self, key: str) -> Price | None:
        """The price of a key."""
        return self.items.get(key)

    def coil(self, key: str, label: str, length: float) -> tuple[float, float] | None:
        """Low and high price of one coil or length (m) of tubing: its own price, or the tubing's price per length."""
        own = self.items.get(f"{key} {label}")
        if own is not None:
            return float(own.low), float(own.high)
        by_length = self.items.get(key)
        if by_length is None or by_length.per is None:
            return None
        share = length / float(by_length.per)
        return float(by_length.low) * share, float(by_length.high) * share

    def per_metre(self, key: str, lengths: Mapping[str, float]) -> float | None:
        """What a metre of tubing costs, half way between low and high: its price per length, or that of its cheapest coil
        by the metre (`lengths` in m by label)."""
        by_length = self.items.get(key)
        if by_length is not None and by_length.per is not None:
            return float(by_length.low + by_length.high) / 2 / float(by_length.per)
        found = [self.coil(key, label, length) for label, length in lengths.items()]
        metres = [
            (sum(price) / 2) / length
            for price, length in zip(found, lengths.values(), strict=True)
            if price is not None
        ]
        return min(metres, default=None)

    def each(self) -> dict[str, float]:
        """The middle price of one piece, of what is sold by the piece: what chains of parts are compared by."""
        return {
            key: float(price.low + price.high) / 2 / (price.pack or 1)
            for key, price in self.items.items()
            if price.per is None
        }


def price_list(of_build: Prices | None, of_project: Prices | None) -> PriceList:
    """The prices of a build: its own, and for what it has none those of the project, if in the same currency."""
    first = of_build or of_project
    if first is None:
        return PriceList()
    if of_build is None or of_project is None:
        return PriceList(first.items, first.currency, first.date.isoformat())
    if of_build.currency != of_project.currency:
        return PriceList(of_build.items, of_build.currency, of_build.date.isoformat(), left_out=True)
    dates = sorted({of_build.date.isoformat(), of_project.date.isoformat()})
    return PriceList({**of_project.items, **of_build.items}, of_build.currency, " and ".join(dates))
