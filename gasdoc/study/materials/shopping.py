"""What is to be bought and what it costs: the take-off less the shelf, tubing as the coils of the cutting plan."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated

from msgspec import Struct

from gasdoc.build.prices import OnShelf
from gasdoc.build.reader import Build
from gasdoc.catalog import containers, tubing
from gasdoc.catalog.kit import kit
from gasdoc.catalog.openings import listed_guards
from gasdoc.catalog.parts import Catalogue
from gasdoc.engineering.materials.costs import PackPrice, ShoppingNeed, costs
from gasdoc.engineering.materials.cutting import CuttingPlan
from gasdoc.engineering.materials.take_off import GROUPS, Group, Item
from gasdoc.quantities import Money, UnitOf
from gasdoc.source import Path, Problem, Severity
from gasdoc.study.materials.cutting import SHELF, Lengths, tubing_key
from gasdoc.study.materials.price_list import PriceList

OPEN_KEYS = ("pipe-tail ", "clamp:", "grommet:", "sleeve:", "support-sleeve:", "regulator:", "gauge:", "label:")
"""Beginnings of part keys whose rest depends on the build."""

OTHER_KEYS = ("strike-plate", "outlet-bracket", "flexible-connector", "hose-connector")


MOST_HINTS = 20
"""Keys that name no part for which the nearest one is looked up."""


class Buy(Struct, frozen=True):
    """One line of the shopping list. Quantities are counts, or lengths in m where `measured`; `needed` is what the build
    takes, `on_shelf` what of it is there, `packs` how many purchases of `pack` each are to be made. `low` and `high` are
    None where the price is not known. `key` names the price, `part` the line of the take-off; `joints`
    are the ids of the joints that it closes."""

    key: str
    part: str
    group: Group
    name: str
    measured: bool
    needed: Annotated[float, UnitOf("unit")]
    on_shelf: Annotated[float, UnitOf("unit")]
    packs: int
    pack: Annotated[float, UnitOf("unit")]
    low: Money | None
    high: Money | None
    where: tuple[str, ...]
    note: str
    joints: tuple[str, ...]

    @property
    def unit(self) -> str:
        """What it is counted in."""
        return "m" if self.measured else "count"


class Shopping(Struct, frozen=True):
    """The shopping list in the order of the take-off. `low` and `high` sum the known prices; `unknown` counts the lines to
    buy without one. `if_needed` are for where the line's own words apply; they are not in the sums."""

    lines: tuple[Buy, ...]
    if_needed: tuple[Buy, ...]
    low: Money
    high: Money
    unknown: int
    currency: str | None
    date: str | None
    left_out: bool

    @property
    def to_buy(self) -> tuple[Buy, ...]:
        """The lines with something to buy."""
        return tuple(line for line in self.lines if line.packs)


def shopping(
    items: tuple[Item, ...], lengths: tuple[Lengths, ...], prices: PriceList, shelf: Mapping[str, OnShelf]
) -> Shopping:
    """The list for one build."""
    by_key = {tubing.key: tubing for tubing in lengths}
    planned = {key for key, found in by_key.items() if isinstance(found.plan, CuttingPlan)}
    wanted: list[tuple[Item, ShoppingNeed, PackPrice | None, str, float]] = []
    for item in items:
        found = by_key.get(item.key)
        if found is not None and isinstance(found.plan, CuttingPlan):
            wanted += _coils(item, found, found.plan, prices)
        else:
            wanted.append(_line(item, prices))
    needs = [need for _, need, _, _, _ in wanted]
    known = {need.key: price for _, need, price, _, _ in wanted if price is not None}
    numbers = {key: float(there.number) or sum(there.lengths) for key, there in shelf.items() if key not in by_key}
    lines = [
        Buy(
            need.key,
            item.key,
            item.group,
            name,
            item.measured and item.key not in planned,
            line.quantity + there,
            line.on_shelf + there,
            line.packs,
            need.pack,
            line.low,
            line.high,
            item.where,
            item.note,
            item.joints,
        )
        for (item, need, _, name, there), line in zip(wanted, costs(needs, known, numbers), strict=True)
    ]
    asides = {item.key for item in items if item.if_needed}
    firm = tuple(line for line in lines if line.part not in asides)
    return Shopping(
        lines=firm,
        if_needed=tuple(line for line in lines if line.part in asides),
        low=sum(line.low for line in firm if line.low is not None),
        high=sum(line.high for line in firm if line.high is not None),
        unknown=sum(1 for line in firm if line.low is None and line.packs),
        currency=prices.currency,
        date=prices.date,
        left_out=prices.left_out,
    )


def _coils(
    item: Item, found: Lengths, plan: CuttingPlan, prices: PriceList
) -> Iterator[tuple[Item, ShoppingNeed, PackPrice | None, str, float]]:
    """A line for each length that is to be bought; what the shelf gives is in the plan already."""
    from_shelf = [cut.stock for cut in plan.cuts if cut.stock.startswith(SHELF)]
    bought: dict[str, int] = {}
    for cut in plan.cuts:
        if cut.stock not in from_shelf:
            bought[cut.stock] = bought.get(cut.stock, 0) + 1
    form = "coil" if found.coil else "length"
    for label, count in bought.items():
        price = prices.coil(found.key, label, found.length(label))
        yield (
            item,
            ShoppingNeed(f"{found.key} {label}", count),
            PackPrice(*price) if price is not None else None,
            f"{found.name}, {form} of {label}",
            0.0,
        )
    if from_shelf:
        yield (
            item,
            ShoppingNeed(f"{found.key} ({SHELF})", 0),
            None,
            f"{found.name}, from what is on the shelf",
            float(len(from_shelf)),
        )


def _line(item: Item, prices: PriceList) -> tuple[Item, ShoppingNeed, PackPrice | None, str, float]:
    price = prices.of(item.key)
    if price is None:
        return item, ShoppingNeed(item.key, item.quantity, item.quantity if item.measured else 1), None, item.name, 0.0
    pack = float(price.per) if item.measured and price.per is not None else float(price.pack or 1)
    if item.measured and price.per is None:
        pack = item.quantity  # one price for the whole of it
    return (
        item,
        ShoppingNeed(item.key, item.quantity, pack),
        PackPrice(float(price.low), float(price.high)),
        item.name,
        0.0,
    )


def key_problems(build: Build, items: tuple[Item, ...], listed: Catalogue) -> Iterator[Problem]:
    """Keys of the spec's prices and shelf that name no part: a price under such a key would silently not count."""
    spec = build.spec
    places: list[tuple[Path, str]] = [
        (("prices", "items", key), key) for key in (spec.prices.items if spec.prices is not None else ())
    ]
    places += [(("on_shelf", key), key) for key in spec.on_shelf]
    if not places:
        return
    by_key = {key: at for at, key in places}
    for key, message, hint in unknown_keys([key for _, key in places], [item.key for item in items], listed):
        yield build.problem(by_key[key], Severity.WARNING, message, hint, "spec-part-key")


def unknown_keys(keys: Sequence[str], own: Sequence[str], listed: Catalogue) -> Iterator[tuple[str, str, str]]:
    """Of part keys those that name nothing in the catalogue or among the build's `own`, with a message and a hint that has
    the nearest keys."""
    known = {
        *own,
        *OTHER_KEYS,
        *(line.id for line in kit()),
        *(guard.id for guard in listed_guards()),
        *(part.id for part in listed.parts),
        *_tubing_keys(),
        *(f"container:{kind}" for kind in containers.kind_ids()),
    }
    told = 0
    for key in keys:
        pieces = key.split(" ")
        stems = {" ".join(pieces[:n]) for n in range(1, min(len(pieces), 8))}
        if key in known or key.startswith(OPEN_KEYS) or stems & known:  # a known key with a length behind it
            continue
        told += 1  # looking for the nearest takes its time; after so many slips a reader takes the list
        alike = (own, sorted(known)) if told <= MOST_HINTS else ()
        near = next((found for words in alike if (found := difflib.get_close_matches(key[:80], words, n=3))), [])
        names = " or ".join(f"'{word}'" for word in near)
        hint = f"did you mean {names}?" if near else "take the key from the materials page"
        yield key, f"no part has the key '{key[:60]}', so this counts nowhere", hint


def _tubing_keys() -> Iterator[str]:
    for name, kind in tubing.every_material():
        for size in tubing.sizes(name, kind):
            yield tubing_key(name, kind, size)


def by_group(lines: tuple[Buy, ...]) -> dict[str, list[Buy]]:
    """The lines under their groups, in the order of the take-off."""
    groups: dict[str, list[Buy]] = {group: [line for line in lines if line.group == group] for group in GROUPS}
    return {group: found for group, found in groups.items() if found}
