"""Kinds of gas container, their sizes and rules, and the published figures for vapour supply. All values in SI."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from functools import cache
from typing import Any, Literal

from msgspec import Struct

from gasdoc.catalog import files
from gasdoc.source import Citation
from gasdoc.units import parse

Service = Literal["vapour", "liquid"]
Orientation = Literal["upright", "horizontal"]
Stays = Literal["permanent", "removable", "exchanged", "either"]


class UnknownContainer(ValueError):
    """No kind of that id or name; `nearest` is the id most like it, None if there is none."""

    def __init__(self, wanted: str, nearest: str | None) -> None:
        self.wanted = wanted
        self.nearest = nearest
        self.message = f"container kind '{wanted}' is not listed"
        super().__init__(f"{self.message}; {self.hint(kind_ids())}")

    def __reduce__(self) -> tuple[type[UnknownContainer], tuple[str, str | None]]:
        return (UnknownContainer, (self.wanted, self.nearest))

    def hint(self, usual: tuple[str, ...]) -> str:
        """What would be right: the nearest, or one of the kinds that are `usual` where the build is."""
        return f"did you mean '{self.nearest}'?" if self.nearest else f"use one of {', '.join(usual)}"


class Figure(Struct, frozen=True):
    """A size as the trade states it: `low` and `high` of what is found (equal where there is one figure)."""

    low: float
    high: float
    confirmed: str


class Requalification(Struct, frozen=True):
    """When a container has to be tested again: `first_years` after the first test, `later_years` by method; None
    where no interval is set."""

    text: str
    first_years: int | None
    cautious_years: int | None
    later_years: Mapping[str, int]
    source: Citation


class ContainerKind(Struct, frozen=True):
    """A kind of container.

    `stays`: permanent (filled in place), removable (comes off to be filled), exchanged, or either of the first two.
    `fuel_mass` kg of propane at the rated fill, `water_capacity` m3, `tare` kg, `diameter` (outside) and `height`
    (overall, or length if it lies) m; None where the kind comes in many sizes.
    """

    id: str
    family: str
    title: str
    names: tuple[str, ...]
    withdrawal: tuple[Service, ...]
    orientation: tuple[Orientation, ...]
    stays: Stays
    material: str
    fuel_mass: Figure | None
    water_capacity: Figure | None
    tare: Figure | None
    diameter: Figure | None
    height: Figure | None
    size_source: str
    load_rule: str
    filling: str
    filled_by: str
    filling_source: Citation
    requalification: Requalification


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
    return tuple(_data()["kinds"])


def trade(families: tuple[str, ...]) -> tuple[str, ...]:
    """The ids of the kinds that are of some families, in the order of the list."""
    return tuple(kind_id for kind_id, row in _data()["kinds"].items() if row["family"] in families)


@cache
def container_kind(kind_id: str) -> ContainerKind:
    """The kind of that id or name. Raises UnknownContainer with the nearest one."""
    plain = " ".join(kind_id.lower().split())
    for known, row in _data()["kinds"].items():
        if plain in (known, *(name.lower() for name in row["names"])):
            return _kind(known, row)
    near = difflib.get_close_matches(plain, kind_ids(), n=1, cutoff=0.4)
    raise UnknownContainer(kind_id, near[0] if near else None)


def objections(
    kind: ContainerKind,
    service: Service = "vapour",
    orientation: Orientation | None = None,
    stays: bool | None = None,
) -> tuple[str, ...]:
    """Why a kind does not suit what a build does with it; empty if it does.

    "liquid-to-appliances" (liquid is drawn), "no-vapour-outlet" (the kind gives liquid only), "wrong-orientation"
    (not made
    to stand or lie so), "comes-off-to-fill" (the build says it stays, the kind does not), "does-not-come-off" (the
    reverse).
    """
    found: list[str] = []
    if service == "liquid":
        found.append("liquid-to-appliances")
    elif service not in kind.withdrawal:
        found.append("no-vapour-outlet")
    if orientation is not None and orientation not in kind.orientation:
        found.append("wrong-orientation")
    if stays is True and kind.stays in ("removable", "exchanged"):
        found.append("comes-off-to-fill")
    if stays is False and kind.stays == "permanent":
        found.append("does-not-come-off")
    return tuple(found)


def asme_estimate(water_capacity: float, diameter: float | None = None) -> AsmeEstimate:
    """Estimated size and weight of a horizontal ASME container that holds `water_capacity` m3 of water.

    Of the listed outside diameters the one nearest to `diameter` (m), or else that of the listed container of the
    nearest capacity (of equal ones, the one whose length is nearest 2.75 diameters). Length and weight are straight
    lines over the capacity at one diameter, so between two listed containers, or beyond them, they follow that line.
    Raises ValueError for a capacity that is not above zero.
    """
    if not water_capacity > 0:
        raise ValueError("a water capacity must be above zero")
    gallon, inch, pound = _one("gal", "volume"), _one("in", "length"), _one("lb", "mass")
    estimates = _data()["asme_estimates"]
    rows = [tuple(float(v) for v in row) for row in estimates["rows"]]
    capacity = water_capacity / gallon
    if diameter is None:
        wide = min(rows, key=lambda row: (abs(row[1] - capacity), abs(row[2] / row[0] - 2.75), row[0]))[0]
    else:
        wide = min(rows, key=lambda row: (abs(row[0] - diameter / inch), row[0]))[0]
    line = sorted((row for row in rows if row[0] == wide), key=lambda row: row[1])
    i = min(max(sum(row[1] <= capacity for row in line) - 1, 0), len(line) - 2)
    low, high = line[i], line[i + 1]
    share = (capacity - low[1]) / (high[1] - low[1])
    return AsmeEstimate(
        water_capacity=water_capacity,
        diameter=wide * inch,
        length=(low[2] + share * (high[2] - low[2])) * inch,
        wall=low[3] * inch,
        tare=max((low[4] + share * (high[4] - low[4])) * pound, 0.0),
        source=Citation(estimates["source"], estimates["confirmed"]),
        note=estimates["note"],
    )


def asme_capacities() -> tuple[float, ...]:
    """The water capacities, m3, of the ASME containers commonly sold, from small to large."""
    return tuple(sorted({float(row[1]) * _one("gal", "volume") for row in _data()["asme_estimates"]["rows"]}))


def water_volume(mass_of_water: float) -> float:
    """The volume, m3, of a water capacity stamped as a mass of water at 60 degF (kg)."""
    return mass_of_water / water_density()


def water_density() -> float:
    """Density of water at 60 degF as the filling rules take it, kg/m3."""
    return float(_data()["fill_limit"]["water"]["value"]) * _one("lb", "mass") / _one("gal", "volume")


def fill_share() -> tuple[float, Citation]:
    """The largest share of the volume that liquid may take, and its source."""
    rule = _data()["fill_limit"]["by_volume"]
    return float(parse(rule["value"], "share")), Citation(rule["source"], rule["confirmed"])


def filling_density(specific_gravity: float, water_capacity: float) -> tuple[float, Citation]:
    """The largest mass of LP-gas as a share of the mass of water the container holds, above ground, and its source.

    By specific gravity of the liquid at 60 degF and `water_capacity` in m3. Raises ValueError below the table's
    lowest band.
    """
    rule = _data()["fill_limit"]["filling_density"]
    small = water_capacity <= parse(rule["largest_of_first"], "volume") * (1 + 1e-9)
    bands = rule["up_to_1200_gal" if small else "over_1200_gal"]
    fitting = [percent for lower, percent in sorted(bands.items()) if lower <= specific_gravity + 1e-9]
    if not fitting:
        raise ValueError(f"a specific gravity of {specific_gravity:g} is below the table of filling densities")
    return fitting[-1] / 100, Citation(rule["source"], rule["confirmed"])


def cylinder_table() -> tuple[tuple[float, ...], tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """The published continuous draw of the 100-lb cylinder: contents kg, air K, cells W."""
    table = _vaporisation()["cylinder_100lb"]
    rows = sorted(table["rows_lb"].items())
    unit = _one("Btu/h", "power")
    return (
        tuple(contents * _one("lb", "mass") for contents, _ in rows),
        tuple(_degf(column) for column in table["columns_degF"]),
        tuple(tuple(cell * unit for cell in row) for _, row in rows),
    )


def length_rule() -> tuple[tuple[float, ...], tuple[float, ...], float, float]:
    """The published length rule: shares filled, factors W/m2, base air K, liquid floor K."""
    rule = _vaporisation()["length_rule"]
    unit = _one("Btu/h", "power") / _one("in", "length") ** 2
    rows = sorted(rule["factors"].items())
    return (
        tuple(percent / 100 for percent, _ in rows),
        tuple(factor * unit for _, factor in rows),
        float(parse(rule["base_air"], "temperature")),
        float(parse(rule["floor"], "temperature")),
    )


def planning_rule() -> tuple[float, float, Citation]:
    """The published flat rate for each 100-lb cylinder: W, down to which air temperature K, and its source."""
    rule = _vaporisation()["cylinder_100lb"]["planning_rule"]
    return (
        float(parse(rule["rate"], "power")),
        float(parse(rule["air"], "temperature")),
        Citation(rule["source"], rule["confirmed"]),
    )


def storage_size(vapour_flow: float, coldest: float) -> float | None:
    """The water capacity, m3, that the published storage table asks for, at least half full.

    For a vapour flow in m3/s at 60 degF and the lowest average winter temperature in K: the next larger draw and the
    next
    colder column. None beyond the table.
    """
    table = _vaporisation()["storage_size"]
    flow = vapour_flow / _one("ft3/h", "volume flow")
    rows = [sizes for draw, sizes in sorted(table["rows_ft3_per_h"].items()) if draw >= flow * (1 - 1e-9)]
    columns = [i for i, column in enumerate(table["columns_degF"]) if _degf(column) <= coldest + 1e-6]
    if not rows or not columns:
        return None
    return float(rows[0][columns[0]] * _one("gal", "volume"))


def draw_rates(fuel_mass: float) -> tuple[float, tuple[float, float, float]] | None:
    """The trade's table of draw-off for one European cylinder that holds `fuel_mass` kg: the cylinder of its row, kg, and the
    mass flows, kg/s, without interruption, with half the time off, and in bursts of 20 min.

    The row of the largest cylinder that is not larger; None for one smaller than all.
    """
    rows = [kg for kg in _vaporisation()["draw_table"]["rows_kg"] if kg <= fuel_mass * (1 + 1e-9)]
    if not rows:
        return None
    kg = max(rows)
    low, half, burst = (value / 3600 for value in _vaporisation()["draw_table"]["rows_kg"][kg])
    return float(kg), (low, half, burst)


def draw_source() -> tuple[Citation, str]:
    """Where the trade's table of draw-off is from, and what it leaves open."""
    row = _vaporisation()["draw_table"]
    return Citation(row["source"], row["confirmed"]), str(row["note"])


def supply_sources() -> dict[str, Citation]:
    """Where the published supply figures come from: keys "cylinder-table", "length-rule", "storage-size"."""
    raw = _vaporisation()
    return {
        name: Citation(raw[key]["source"], raw[key]["confirmed"])
        for name, key in (
            ("cylinder-table", "cylinder_100lb"),
            ("length-rule", "length_rule"),
            ("storage-size", "storage_size"),
        )
    }


def _data() -> dict[str, Any]:
    raw: dict[str, Any] = files.load("containers.yaml")
    return raw


def _vaporisation() -> dict[str, Any]:
    raw: dict[str, Any] = files.load("vaporisation.yaml")
    return raw


def _one(unit: str, dimension: str) -> float:
    return float(parse(f"1 {unit}", dimension))


def _degf(value: float) -> float:
    return float(parse(f"{value} degF", "temperature"))


def _figure(row: dict[str, Any], key: str, dimension: str) -> Figure | None:
    if key not in row:
        return None
    values = [float(parse(text, dimension)) for text in row[key]["value"]]
    return Figure(values[0], values[-1], row[key]["confirmed"])


def _water(row: dict[str, Any]) -> Figure | None:
    if "water_capacity" not in row:
        return None
    given = parse(row["water_capacity"]["value"][0], "mass", "volume")
    volume = water_volume(given) if given.dimension == "mass" else float(given)
    return Figure(volume, volume, row["water_capacity"]["confirmed"])


def _kind(kind_id: str, row: dict[str, Any]) -> ContainerKind:
    merged = {**_data()["families"][row["family"]], **row}
    again = _data()["requalification"][merged["requalification"]]
    return ContainerKind(
        id=kind_id,
        family=row["family"],
        title=merged["title"],
        names=tuple(row["names"]),
        withdrawal=tuple(merged["withdrawal"]),
        orientation=tuple(merged["orientation"]),
        stays=merged["stays"],
        material=merged["material"],
        fuel_mass=_figure(row, "fuel", "mass"),
        water_capacity=_water(row),
        tare=_figure(row, "tare", "mass"),
        diameter=_figure(row, "diameter", "length"),
        height=_figure(row, "height", "length"),
        size_source=_data()["size_sources"][row["family"]],
        load_rule=merged["load_rule"],
        filling=merged["filling"],
        filled_by=merged["filled_by"],
        filling_source=Citation(merged["filling_source"], merged["filling_confirmed"]),
        requalification=Requalification(
            text=again["text"],
            first_years=again.get("first_years"),
            cautious_years=again.get("cautious_years"),
            later_years=again.get("later_years", {}),
            source=Citation(again["source"], again["confirmed"]),
        ),
    )
