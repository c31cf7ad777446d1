"""Kinds of gas container, their sizes and rules, and the published figures for vapour supply. All values in SI."""

import difflib
import re
from collections.abc import Iterator
from functools import cache
from typing import Annotated, Any, Literal

from msgspec import Struct, field

from gasdoc.catalog.rows import (
    Confirmed,
    Length,
    Mass,
    Positive,
    Power,
    Pressure,
    Share,
    Sourced,
    Temperature,
    Volume,
    hold_full,
    read,
)
from gasdoc.data import Each, Entry, Some
from gasdoc.engineering.constants import BTU, CUBIC_FOOT, INCH, POUND
from gasdoc.scalars import Bounds, Quantity, problem
from gasdoc.source import Citation
from gasdoc.units import Given, parse
from gasdoc.wrong import Wrong

Service = Literal["vapour", "liquid"]
Orientation = Literal["upright", "horizontal"]
Stays = Literal["permanent", "removable", "exchanged", "either"]


GALLON = 0.003785411784  # m3
BTU_PER_HOUR, FT3_PER_HOUR = BTU / 3600, CUBIC_FOOT / 3600  # W, m3/s


class UnknownContainer(Wrong):
    """No kind of that id or name; `nearest` is the id most like it, None if there is none."""

    def __init__(self, message: str, hint: str, nearest: str | None) -> None:
        super().__init__(message, hint, nearest)
        self.nearest = nearest


HALF = 0.5
"""Share of propane by mass above which a gas counts as propane (our choice)."""


class UsualSize(Struct, frozen=True):
    """A size as the trade states it: `low` and `high` of what is found (equal where there is one figure)."""

    low: float
    high: float
    confirmed: str


class Requalification(Sourced, frozen=True):
    """When a container has to be tested again: `first_years` after the first test, `later_years` by method; None
    where no interval is set."""

    text: str
    first_years: Annotated[int, Bounds(gt=0)] | None = None
    cautious_years: Annotated[int, Bounds(gt=0)] | None = None
    later_years: dict[str, Annotated[int, Bounds(gt=0)]] = field(default_factory=dict)


class _Masses(Entry, frozen=True):
    value: Some[Mass]
    confirmed: Confirmed


class _Lengths(Entry, frozen=True):
    value: Some[Length]
    confirmed: Confirmed


class _Water(Entry, frozen=True):
    value: Annotated[tuple[Annotated[Given, Quantity(("mass", "volume"))], ...], Bounds(min_length=1, max_length=1)]
    confirmed: Confirmed


class _Relief(Sourced, frozen=True):
    """The pressures, gauge, at which relief valves of such containers are set to open."""

    opens: Some[Pressure]


class _Family(Entry, frozen=True, kw_only=True):
    """What the kinds of a family have in common, where a kind says nothing else."""

    title: str
    withdrawal: Some[Service]
    orientation: Some[Orientation]
    stays: Stays
    alone: bool
    material: str
    filling: str
    filled_by: str
    filling_cited: str = field(name="filling_source")
    filling_confirmed: Confirmed
    retested: str = field(name="requalification")
    relief: _Relief | None = None
    load_rule: str

    @property
    def filling_source(self) -> Citation:
        """Where how it is filled comes from."""
        return Citation(self.filling_cited, self.filling_confirmed)


class ContainerKind(_Family, frozen=True, kw_only=True):
    """A kind of container.

    `stays`: permanent (filled in place), removable (comes off to be filled), exchanged, or either of the first two. `alone`:
    nobody sets several side by side.
    `fuel_mass` kg of its `gas` at the rated fill, `water_capacity` m3, `tare` kg, `diameter` (outside) and `height`
    (overall, or length if it lies) m; None where the kind comes in many sizes.
    """

    id: str
    family: str
    names: Some[str]
    gas: Literal["propane", "butane"] = "propane"
    fuel: _Masses | None = None
    water: _Water | None = field(default=None, name="water_capacity")
    weighs: _Masses | None = field(default=None, name="tare")
    across: _Lengths | None = field(default=None, name="diameter")
    tall: _Lengths | None = field(default=None, name="height")

    @property
    def fuel_mass(self) -> UsualSize | None:
        """What it holds, kg of propane."""
        return _figure(self.fuel)

    @property
    def tare(self) -> UsualSize | None:
        """What it weighs empty, kg."""
        return _figure(self.weighs)

    @property
    def diameter(self) -> UsualSize | None:
        """Outside diameter, m."""
        return _figure(self.across)

    @property
    def height(self) -> UsualSize | None:
        """Overall height, or length if it lies, m."""
        return _figure(self.tall)

    @property
    def water_capacity(self) -> UsualSize | None:
        """Water capacity, m3; one that is stamped as a mass of water is worked out."""
        if self.water is None:
            return None
        (given,) = self.water.value
        volume = water_volume(given) if given.dimension == "mass" else float(given)
        return UsualSize(volume, volume, self.water.confirmed)

    def worked_out_with(self, propane: float) -> bool:
        """Whether it is sold full of a gas with that share of propane, and of a stuff whose heat is worked out: composite's is
        not, which gives less gas in the cold than steel."""
        return self.material != "composite" and (self.gas == "propane" or propane <= HALF)

    @property
    def size_source(self) -> str:
        """Where its sizes come from."""
        return _file().size_sources[self.family]

    @property
    def requalification(self) -> Requalification:
        """When it has to be tested again."""
        return _file().requalification[self.retested]


def _figure(row: _Masses | _Lengths | None) -> UsualSize | None:
    return None if row is None else UsualSize(float(row.value[0]), float(row.value[-1]), row.confirmed)


class _Estimates(Sourced, frozen=True):
    note: str
    published: Any
    columns: Annotated[tuple[str, ...], Bounds(min_length=5, max_length=5)]
    rows: Annotated[tuple[tuple[Positive, Positive, Positive, Positive, Positive], ...], Bounds(min_length=2)]


class _ByVolume(Sourced, frozen=True):
    value: Share


class _WaterWeight(Sourced, frozen=True):
    value: Positive
    unit: str


class _FillingDensity(Sourced, frozen=True):
    largest_of_first: Volume
    up_to_1200_gal: Annotated[dict[Positive, Positive], Bounds(min_length=1)]
    over_1200_gal: Annotated[dict[Positive, Positive], Bounds(min_length=1)]


class _FillLimit(Entry, frozen=True):
    by_volume: _ByVolume
    water: _WaterWeight
    filling_density: _FillingDensity


class _Containers(Entry, frozen=True):
    families: Each[_Family]
    requalification: Each[Requalification]
    kinds: Each[ContainerKind]
    size_sources: Each[str]
    asme_estimates: _Estimates
    fill_limit: _FillLimit

    @classmethod
    def _completed(cls, written: Any) -> Any:
        """The kinds with what they take from their families, and their ids."""
        families, kinds = (written.get(key) if isinstance(written, dict) else None for key in ("families", "kinds"))
        if not isinstance(families, dict) or not isinstance(kinds, dict):
            return written
        whole = {}
        for name, row in kinds.items():
            family = families.get(row.get("family")) if isinstance(row, dict) else None
            whole[name] = {**family, **row, "id": name} if isinstance(family, dict) else row
        return {**written, "kinds": whole}

    def _checked(self) -> None:
        for name, kind in self.kinds.items():
            for key, word, known in (
                ("family", kind.family, self.families),
                ("family", kind.family, self.size_sources),
                ("requalification", kind.retested, self.requalification),
            ):
                if word not in known:
                    hint = "name one that is, or add it"
                    raise problem("data-name", f"'{word}' is not listed", hint, at=("kinds", name, key))


class _PlanningRule(Sourced, frozen=True):
    text: str
    rate: Power
    air: Temperature


class _CylinderTable(Sourced, frozen=True):
    title: str
    caution: str
    columns_degf: Some[float] = field(name="columns_degF")
    rows_lb: Annotated[dict[Positive, tuple[Positive, ...]], Bounds(min_length=1)]
    planning_rule: _PlanningRule

    def _checked(self) -> None:
        hold_full(self.columns_degf, self.rows_lb, "rows_lb")


class _LengthRule(Sourced, frozen=True):
    title: str
    basis: str
    base_air: Temperature
    floor: Temperature
    multiplier: str
    multiplier_confirmed: Confirmed
    factors: Annotated[dict[Positive, Positive], Bounds(min_length=1)]


class _StorageSize(Sourced, frozen=True):
    title: str
    note: str
    columns_degf: Some[float] = field(name="columns_degF")
    rows_ft3_per_h: Annotated[dict[Positive, tuple[Positive, ...]], Bounds(min_length=1)]

    def _checked(self) -> None:
        hold_full(self.columns_degf, self.rows_ft3_per_h, "rows_ft3_per_h")


class _DrawTable(Sourced, frozen=True):
    title: str
    note: str
    rows_kg: Annotated[dict[Positive, tuple[Positive, Positive, Positive]], Bounds(min_length=1)]


class _Vaporisation(Entry, frozen=True):
    cylinder_100lb: _CylinderTable
    length_rule: _LengthRule
    storage_size: _StorageSize
    draw_table: _DrawTable


def _file() -> _Containers:
    return read("containers.yaml", _Containers)


def _vaporisation() -> _Vaporisation:
    return read("vaporisation.yaml", _Vaporisation)


class AsmeEstimate(Struct, frozen=True):
    """Estimated outside `diameter`, overall `length`, `wall` (m) and `tare` (kg) of an ASME container, and where from.

    The nameplate and the maker's drawing rule; `note` says how far off the estimate was on the one published size.
    """

    water_capacity: float
    diameter: float
    length: float
    wall: float
    tare: float
    source: Citation
    note: str


def kind_ids() -> tuple[str, ...]:
    """The ids of all kinds, in the order of the list."""
    return tuple(_file().kinds)


def trade(families: tuple[str, ...]) -> tuple[str, ...]:
    """The ids of the kinds that are of some families, in the order of the list."""
    return tuple(kind.id for kind in _file().kinds.values() if kind.family in families)


@cache
def container_kind(kind_id: str) -> ContainerKind:
    """The kind of that id or name. Raises UnknownContainer with the nearest one."""
    plain = " ".join(kind_id.lower().split())
    for kind in _file().kinds.values():
        if plain in (kind.id, *(name.lower() for name in kind.names)):
            return kind
    near = difflib.get_close_matches(plain, kind_ids(), n=1, cutoff=0.4)
    hint = f"did you mean '{near[0]}'?" if near else f"use one of {', '.join(kind_ids())}"
    raise UnknownContainer(f"container kind '{kind_id}' is not listed", hint, near[0] if near else None)


def kinds_of_size(text: str) -> tuple[str, ...]:
    """The ids of the kinds that a size names, such as "20 lb", "13kg bottle" or "250 gallon"; none where it names none."""
    size = re.match(r"\s*(\d+(?:\.\d+)?)[\s-]*(lb|kg|gal)", text.lower())
    wanted = f"{size[1].removesuffix('.0')}{size[2]}" if size is not None else None
    return tuple(kind for kind in kind_ids() if wanted is not None and wanted in kind.split("-"))


def objections(
    kind: ContainerKind,
    service: Service = "vapour",
    orientation: Orientation | None = None,
    stays: bool | None = None,
) -> Iterator[str]:
    """Why a kind does not suit what a build does with it; empty if it does.

    "liquid-to-appliances" (liquid is drawn), "no-vapour-outlet" (the kind gives liquid only), "wrong-orientation"
    (not made
    to stand or lie so), "comes-off-to-fill" (the build says it stays, the kind does not), "does-not-come-off" (the
    reverse).
    """
    if service == "liquid":
        yield "liquid-to-appliances"
    elif service not in kind.withdrawal:
        yield "no-vapour-outlet"
    if orientation is not None and orientation not in kind.orientation:
        yield "wrong-orientation"
    if stays is True and kind.stays in ("removable", "exchanged"):
        yield "comes-off-to-fill"
    if stays is False and kind.stays == "permanent":
        yield "does-not-come-off"


def asme_estimate(water_capacity: float, diameter: float | None = None) -> AsmeEstimate:
    """Estimated size and weight of a horizontal ASME container that holds `water_capacity` m3 of water.

    Of the listed outside diameters the one nearest to `diameter` (m), or else that of the listed container of the
    nearest capacity (of equal ones, the one whose length is nearest 2.75 diameters). Length and weight are straight
    lines over the capacity at one diameter, so between two listed containers, or beyond them, they follow that line.
    Raises ValueError for a capacity that is not above zero.
    """
    if not water_capacity > 0:
        raise ValueError("a water capacity must be above zero")
    estimates = _file().asme_estimates
    rows = estimates.rows
    capacity = water_capacity / GALLON
    if diameter is None:
        wide = min(rows, key=lambda row: (abs(row[1] - capacity), abs(row[2] / row[0] - 2.75), row[0]))[0]
    else:
        wide = min(rows, key=lambda row: (abs(row[0] - diameter / INCH), row[0]))[0]
    line = sorted((row for row in rows if row[0] == wide), key=lambda row: row[1])
    i = min(max(sum(row[1] <= capacity for row in line) - 1, 0), len(line) - 2)
    low, high = line[i], line[i + 1]
    share = (capacity - low[1]) / (high[1] - low[1])
    return AsmeEstimate(
        water_capacity=water_capacity,
        diameter=wide * INCH,
        length=(low[2] + share * (high[2] - low[2])) * INCH,
        wall=low[3] * INCH,
        tare=max((low[4] + share * (high[4] - low[4])) * POUND, 0.0),
        source=estimates.source,
        note=estimates.note,
    )


def asme_capacities() -> tuple[float, ...]:
    """The water capacities, m3, of the ASME containers commonly sold, from small to large."""
    return tuple(sorted({row[1] * GALLON for row in _file().asme_estimates.rows}))


def water_volume(mass_of_water: float) -> float:
    """The volume, m3, of a water capacity stamped as a mass of water at 60 degF (kg)."""
    return mass_of_water / water_density()


def water_density() -> float:
    """Density of water at 60 degF as the filling rules take it, kg/m3."""
    return _file().fill_limit.water.value * POUND / GALLON


def fill_share() -> tuple[float, Citation]:
    """The largest share of the volume that liquid may take, and its source."""
    rule = _file().fill_limit.by_volume
    return float(rule.value), rule.source


def filling_density(specific_gravity: float, water_capacity: float) -> tuple[float, Citation]:
    """The largest mass of LP-gas as a share of the mass of water the container holds, above ground, and its source.

    By specific gravity of the liquid at 60 degF and `water_capacity` in m3. Raises ValueError below the table's
    lowest band.
    """
    rule = _file().fill_limit.filling_density
    small = water_capacity <= rule.largest_of_first * (1 + 1e-9)
    bands = rule.up_to_1200_gal if small else rule.over_1200_gal
    fitting = [percent for lower, percent in sorted(bands.items()) if lower <= specific_gravity + 1e-9]
    if not fitting:
        raise ValueError(f"a specific gravity of {specific_gravity:g} is below the table of filling densities")
    return fitting[-1] / 100, rule.source


def cylinder_table() -> tuple[tuple[float, ...], tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """The published continuous draw of the 100-lb cylinder: contents kg, air K, cells W."""
    table = _vaporisation().cylinder_100lb
    rows = sorted(table.rows_lb.items())
    return (
        tuple(contents * POUND for contents, _ in rows),
        tuple(_degf(column) for column in table.columns_degf),
        tuple(tuple(cell * BTU_PER_HOUR for cell in row) for _, row in rows),
    )


def length_rule() -> tuple[tuple[float, ...], tuple[float, ...], float, float]:
    """The published length rule: shares filled, factors W/m2, base air K, liquid floor K."""
    rule = _vaporisation().length_rule
    unit = BTU_PER_HOUR / INCH**2
    rows = sorted(rule.factors.items())
    return (
        tuple(percent / 100 for percent, _ in rows),
        tuple(factor * unit for _, factor in rows),
        float(rule.base_air),
        float(rule.floor),
    )


def planning_rule() -> tuple[float, float, Citation]:
    """The published flat rate for each 100-lb cylinder: W, down to which air temperature K, and its source."""
    rule = _vaporisation().cylinder_100lb.planning_rule
    return float(rule.rate), float(rule.air), rule.source


def storage_size(vapour_flow: float, coldest: float) -> float | None:
    """The water capacity, m3, that the published storage table asks for, at least half full.

    For a vapour flow in m3/s at 60 degF and the lowest average winter temperature in K: the next larger draw and the
    next
    colder column. None beyond the table.
    """
    table = _vaporisation().storage_size
    flow = vapour_flow / FT3_PER_HOUR
    rows = [sizes for draw, sizes in sorted(table.rows_ft3_per_h.items()) if draw >= flow * (1 - 1e-9)]
    columns = [i for i, column in enumerate(table.columns_degf) if _degf(column) <= coldest + 1e-6]
    if not rows or not columns:
        return None
    return rows[0][columns[0]] * GALLON


def draw_rates(fuel_mass: float) -> tuple[float, tuple[float, float, float]] | None:
    """The trade's table of draw-off for one European cylinder that holds `fuel_mass` kg: the cylinder of its row, kg, and the
    mass flows, kg/s, without interruption, with half the time off, and in bursts of 20 min.

    The row of the largest cylinder that is not larger; None for one smaller than all.
    """
    table = _vaporisation().draw_table.rows_kg
    rows = [kg for kg in table if kg <= fuel_mass * (1 + 1e-9)]
    if not rows:
        return None
    kg = max(rows)
    low, half, burst = (value / 3600 for value in table[kg])
    return float(kg), (low, half, burst)


def draw_source() -> tuple[Citation, str]:
    """Where the trade's table of draw-off is from, and what it leaves open."""
    row = _vaporisation().draw_table
    return row.source, row.note


def supply_sources() -> dict[str, Citation]:
    """Where the published supply figures come from: keys "cylinder-table", "length-rule", "storage-size"."""
    listed = _vaporisation()
    return {
        "cylinder-table": listed.cylinder_100lb.source,
        "length-rule": listed.length_rule.source,
        "storage-size": listed.storage_size.source,
    }


def _degf(value: float) -> float:
    return float(parse(f"{value} degF", "temperature"))
