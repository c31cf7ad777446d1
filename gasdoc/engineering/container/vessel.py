"""The shape of a gas container: how much it holds, where the liquid stands and how much skin the liquid wets.

A container is a cylinder with two 2:1 elliptical heads (each a quarter of the diameter deep), upright or lying. Real
cylinders and containers have heads close to this; `head_depth` takes another ratio.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Literal, NamedTuple

from msgspec import Struct

Orientation = Literal["upright", "horizontal"]

HEAD_RATIO = 0.25
"""Depth of a 2:1 elliptical head as a share of the diameter."""

_HEAD_STEPS = 96
_SLICES = 24
_SIMPSON = tuple(
    (1 if i == 0 else 4 if i % 2 else 2, math.sin(i / _SLICES * math.pi / 2), math.cos(i / _SLICES * math.pi / 2))
    for i in range(_SLICES)
)
"""Weight, sine and cosine at each slice of a head by Simpson's rule; the last one, with a cosine of 0, adds nothing."""


class Vessel(Struct, frozen=True):
    """A closed shell: `diameter` and `length` in m (inside, over the heads), standing `upright` or lying `horizontal`.

    For a thin shell the outside sizes do nearly as well: on a 12 in container they overstate the volume by 4 %, on
    the safe side for weight and not for supply; use `of_capacity` where the water capacity is known.

    Raises ValueError where the length does not even hold the two heads.
    """

    diameter: float
    length: float
    orientation: Orientation
    head_ratio: float = HEAD_RATIO

    def __post_init__(self) -> None:
        if not self.diameter > 0 or not self.head_ratio > 0:
            raise ValueError("diameter and head ratio must be above zero")
        if not self.straight >= -1e-9 * self.diameter:
            raise ValueError("the length is shorter than the two heads")

    @property
    def head_depth(self) -> float:
        """Depth of one head, m."""
        return self.head_ratio * self.diameter

    @property
    def straight(self) -> float:
        """Length of the cylindrical part, m."""
        return self.length - 2 * self.head_depth

    @property
    def volume(self) -> float:
        """Water capacity, m3."""
        radius = self.diameter / 2
        return math.pi * radius**2 * (max(self.straight, 0.0) + 4 / 3 * self.head_depth)

    @property
    def area(self) -> float:
        """The whole skin, m2."""
        return math.pi * self.diameter * max(self.straight, 0.0) + 2 * _cap_area(self, self.head_depth)


def of_capacity(volume: float, diameter: float, orientation: Orientation) -> Vessel:
    """The vessel of this `diameter` (m) that holds `volume` (m3) of water.

    The way to the shape of a cylinder: its stamped water capacity is exact, its height includes foot ring and collar.
    Raises ValueError where the two heads alone hold more.

    >>> vessel = of_capacity(0.0216, 0.3, "upright")
    >>> round(vessel.volume, 4), round(vessel.length, 3)
    (0.0216, 0.356)
    """
    heads = math.pi / 4 * diameter**2 * 4 / 3 * HEAD_RATIO * diameter
    if volume < heads:
        raise ValueError("a vessel of this diameter holds more than that in its heads alone")
    return Vessel(diameter, (volume - heads) / (math.pi / 4 * diameter**2) + 2 * HEAD_RATIO * diameter, orientation)


def liquid_level(vessel: Vessel, liquid_volume: float) -> float:
    """Height of the liquid's surface above the lowest point, m; `liquid_volume` in m3 (held to what the vessel
    holds).

    Half full, a lying vessel stands at half its diameter.
    >>> vessel = Vessel(0.76, 2.1, "horizontal")
    >>> round(liquid_level(vessel, vessel.volume / 2), 3)
    0.38
    """
    return _interpolation(_curve(vessel).volumes, _curve(vessel).levels)(liquid_volume)


def wetted_area(vessel: Vessel, liquid_volume: float) -> float:
    """Skin in touch with the liquid, m2; `liquid_volume` in m3 (held to what the vessel holds).

    >>> vessel = Vessel(0.76, 2.1, "horizontal")
    >>> round(wetted_area(vessel, vessel.volume / 2) / vessel.area, 3)
    0.5
    """
    return wetting(vessel)(liquid_volume)


def wetting(vessel: Vessel) -> Callable[[float], float]:
    """`wetted_area` of one vessel as a function of the liquid volume, for whoever asks many times.

    >>> vessel = Vessel(0.76, 2.1, "horizontal")
    >>> wetting(vessel)(0.3) == wetted_area(vessel, 0.3)
    True
    """
    return _interpolation(_curve(vessel).volumes, _curve(vessel).areas)


def centroid_height(vessel: Vessel, liquid_volume: float) -> float:
    """Height of the liquid's centre of gravity above the lowest point, m.

    By integration of the filling curve: a slice of volume dV lies at the level at which it was added.

    Full, the liquid's centre lies on the axis.
    >>> vessel = Vessel(0.76, 2.1, "horizontal")
    >>> round(centroid_height(vessel, vessel.volume), 3)
    0.38
    """
    if liquid_volume <= 0:
        return 0.0
    held = min(liquid_volume, vessel.volume)
    steps = 400
    levels = sum(liquid_level(vessel, held * (i + 0.5) / steps) for i in range(steps))
    return levels / steps


class _Curve(NamedTuple):
    """Volume, wetted area and level at rising levels; straight between them."""

    volumes: tuple[float, ...]
    areas: tuple[float, ...]
    levels: tuple[float, ...]


def _interpolation(volumes: Sequence[float], values: Sequence[float]) -> Callable[[float], float]:
    most, highest = volumes[-1], values[-1]

    def interpolated(volume: float) -> float:
        if volume <= 0:
            return 0.0
        if volume >= most:
            return highest
        i = bisect_right(volumes, volume)
        low, below = volumes[i - 1], values[i - 1]
        return below + (values[i] - below) * (volume - low) / (volumes[i] - low)

    return interpolated


@lru_cache(maxsize=256)
def _curve(vessel: Vessel) -> _Curve:
    rows = _upright_rows(vessel) if vessel.orientation == "upright" else _horizontal_rows(vessel)
    return _Curve(*(tuple(column) for column in zip(*rows, strict=True)))


def _cap_area(vessel: Vessel, depth: float) -> float:
    """Skin of a head from its pole to `depth` (at most the head's own).

    A half spheroid of radius r and height h: dA = 2 pi r sqrt(1 + k^2 z^2) dz with z from its equator and
    k^2 = (r^2/h^2 - 1)/h^2. Closed form for a flat head (r > h); a hemisphere has k = 0.
    """
    radius, height = vessel.diameter / 2, vessel.head_depth
    squared = (radius**2 / height**2 - 1) / height**2

    def from_equator(z: float) -> float:
        if abs(squared) * height**2 < 1e-9:
            return z
        if squared > 0:
            k = math.sqrt(squared)
            return z / 2 * math.sqrt(1 + squared * z * z) + math.asinh(k * z) / (2 * k)
        k = math.sqrt(-squared)
        return z / 2 * math.sqrt(1 + squared * z * z) + math.asin(k * z) / (2 * k)

    return 2 * math.pi * radius * (from_equator(height) - from_equator(height - depth))


def _upright_rows(vessel: Vessel) -> list[tuple[float, float, float]]:
    radius, height, straight = vessel.diameter / 2, vessel.head_depth, max(vessel.straight, 0.0)
    base = math.pi * radius**2

    def cap(depth: float) -> float:
        return base * depth**2 * (1 / height - depth / (3 * height**2))

    depths = [height * (i / _HEAD_STEPS) ** 2 for i in range(_HEAD_STEPS + 1)]
    rows = [(cap(d), _cap_area(vessel, d), d) for d in depths]
    for d in reversed(depths if straight > 0 else depths[:-1]):  # the top head is the bottom one upside down
        rows.append((vessel.volume - cap(d), vessel.area - _cap_area(vessel, d), vessel.length - d))
    return rows


def _horizontal_rows(vessel: Vessel) -> list[tuple[float, float, float]]:
    radius, height, straight = vessel.diameter / 2, vessel.head_depth, max(vessel.straight, 0.0)
    squared = (radius**2 / height**2 - 1) / height**2

    def heads_area(level: float) -> float:
        """Both heads together, up to a level not above the axis: each slice is a circle, wetted over an arc."""
        reach = height * math.sqrt(max(1 - (1 - level / radius) ** 2, 0.0))
        total = 0.0
        for weight, sine, cosine in _SIMPSON:  # in phi, z = reach sin(phi)
            z = reach * sine
            slice_radius = radius * math.sqrt(1 - (z / height) ** 2)
            arc = 2 * math.acos(min(1.0, (radius - level) / slice_radius))
            total += weight * arc * math.sqrt(1 + squared * z * z) * reach * cosine
        return 2 * radius * total * math.pi / 2 / _SLICES / 3

    lower: list[tuple[float, float, float]] = []
    for i in range(_HEAD_STEPS + 1):
        half_angle = math.pi / 2 * i / _HEAD_STEPS
        level = radius * (1 - math.cos(half_angle))
        share = level / vessel.diameter
        segment = radius**2 * (half_angle - math.sin(half_angle) * math.cos(half_angle))
        spheroid = 4 / 3 * math.pi * radius**2 * height
        volume = segment * straight + spheroid * (3 * share**2 - 2 * share**3)
        lower.append((volume, 2 * radius * half_angle * straight + heads_area(level), level))
    upper = [(vessel.volume - v, vessel.area - a, vessel.diameter - y) for v, a, y in reversed(lower[:-1])]
    return lower + upper
