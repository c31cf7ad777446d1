"""Whether the bolts that hold a container take the static loads a rule asks for, in six directions.

The load in each direction is multiple x g x filled mass at the filled centre of gravity; the container's own weight
is not added to it, as a static test load would not. It is resolved over the bolts by the elastic method: the plate
is rigid, every bolt alike, the neutral axis through the middle of the group. Pressing is taken by the plate, so a
bolt in compression carries nothing. Friction counts for nothing.

Tension and shear act together by the distortion-energy criterion, (T/T0)^2 + (V/V0)^2 <= 1, with V0 = 0.6 T0: the
criterion gives 0.577, common practice takes 0.6. Not in here, and to be judged by someone competent: brackets, welds,
straps, sheet, frame members, prying, and bolts bent across a spacer.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Annotated, Literal

from msgspec import Struct

from gasdoc.engineering.constants import GRAVITY
from gasdoc.quantities import Endless, Known, Newton, Ratio

Direction = Literal["forward", "rearward", "left", "right", "up", "down"]
Standing = Literal["met", "not-met", "unconfirmed"]

SHEAR_SHARE: Annotated[
    Ratio,
    Known(
        "shear strength of a bolt as a share of its tensile strength",
        "Common practice, no source; by distortion energy it is 0.577",
        "practice",
    ),
] = 0.6
"""Threads are taken to lie in the shear plane (stress area, not shank)."""

DIRECTIONS: dict[Direction, tuple[float, float, float]] = {
    "forward": (1.0, 0.0, 0.0),
    "rearward": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
"""Unit vectors in the axes of the build: x forward, y to the left, z up."""

Surface = Literal["below", "above", "front", "rear", "left", "right"]

AXES: dict[Surface, tuple[tuple[float, float, float], ...]] = {
    "below": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "above": ((1, 0, 0), (0, -1, 0), (0, 0, -1)),
    "front": ((0, 1, 0), (0, 0, -1), (-1, 0, 0)),
    "rear": ((0, 1, 0), (0, 0, 1), (1, 0, 0)),
    "left": ((1, 0, 0), (0, 0, 1), (0, -1, 0)),
    "right": ((1, 0, 0), (0, 0, -1), (0, 1, 0)),
}
"""For a mounting surface on each side of the container: the axes u and v in the surface and n, which points from the
surface to the container; each as a vector in the axes of the build, u x v = n."""


class BoltGroup(Struct, frozen=True):
    """Equal bolts through one flat surface.

    `surface` says where the surface lies, seen from the container ("below": it stands on it; "front": it hangs on a
    wall in front of it). `positions` are the bolts' places in the axes of the surface, m: (forward, left) for below,
    (forward, right) above, (left, down) front, (left, up) rear, (forward, up) left, (forward, down) right.
    `tension` is what one bolt takes in tension, N: proof strength x stress area, or ultimate where the rule's factor
    is on the ultimate strength. `spacer` is the thickness of plates between surface and container foot, m.

    Raises ValueError for no bolts, a bolt strength that is not above zero or a negative spacer.
    """

    surface: Surface
    positions: tuple[tuple[float, float], ...]
    tension: float
    spacer: float = 0.0

    def __post_init__(self) -> None:
        if not self.positions:
            raise ValueError("a bolt group needs bolts")
        if not self.tension > 0 or not self.spacer >= 0:
            raise ValueError("bolt strength must be above zero and spacers not negative")


class Requirement(Struct, frozen=True):
    """What a rule asks in one direction: `multiple` of the filled weight, with `safety_factor` on the bolts' strength.

    `from_memory` marks a multiple or factor that has not been confirmed.
    """

    multiple: float
    safety_factor: float = 1.0
    from_memory: bool = False


class Load(Struct, frozen=True):
    """One direction's result.

    `force` N; per bolt `tensions` and `shears` N in the order of the positions; `utilisation` of the worst bolt with
    the safety factor in (1 is the limit), `worst` its index. Infinite where the bolts cannot hold the load however
    strong they are: then `reason` is "no-lever-arm" (bolts in one line or point, a moment about that line).
    """

    direction: Direction
    force: Newton
    tensions: tuple[Newton, ...]
    shears: tuple[Newton, ...]
    worst: int
    utilisation: Annotated[Ratio, Endless]
    standing: Standing
    reason: str | None = None


def filled_mass(tare: float, fuel_mass: float, fittings: float = 0.0) -> float:
    """Mass of the filled container with what is fixed to it, kg.

    >>> filled_mass(9.0, 9.0, 1.0)
    19.0
    """
    return tare + fuel_mass + fittings


def mount_loads(
    group: BoltGroup,
    mass: float,
    centre_of_gravity: tuple[float, float, float],
    requirements: Mapping[Direction, Requirement],
) -> tuple[Load, ...]:
    """The load and the worst bolt for every direction that `requirements` names, in the order of DIRECTIONS.

    `mass` in kg. `centre_of_gravity` in the axes of the surface, m: its place over the plane of the bolts and its
    height above the container's feet; spacers come on top. Raises ValueError for a mass not above zero or a negative
    height.

    Four bolts under 10 kg, pushed forward at the plane of the bolts with its weight: 24.5 N of shear each, no tension.
    >>> corners = ((0.1, 0.1), (0.1, -0.1), (-0.1, 0.1), (-0.1, -0.1))
    >>> (load,) = mount_loads(BoltGroup("below", corners, 1e4), 10.0, (0.0, 0.0, 0.0), {"forward": Requirement(1.0)})
    >>> [round(shear, 1) for shear in load.shears], max(load.tensions)
    ([24.5, 24.5, 24.5, 24.5], 0.0)
    """
    if not mass > 0 or not centre_of_gravity[2] >= 0:
        raise ValueError("mass must be above zero and the height of the centre of gravity not negative")
    return tuple(
        _load(group, mass, centre_of_gravity, direction, requirements[direction])
        for direction in DIRECTIONS
        if direction in requirements
    )


def severest(loads: Sequence[Load]) -> Load:
    """The load with the highest utilisation (the first of equal ones).

    >>> bolts = BoltGroup("below", ((0.1, 0.1), (0.1, -0.1), (-0.1, 0.1), (-0.1, -0.1)), 1e4)
    >>> asked = {"up": Requirement(1.0), "forward": Requirement(4.0)}
    >>> severest(mount_loads(bolts, 10.0, (0.0, 0.0, 0.3), asked)).direction
    'forward'
    """
    return max(loads, key=lambda load: load.utilisation)


def interaction(tension: float, shear: float, tension_strength: float) -> float:
    """Utilisation of a bolt under `tension` and `shear` (N): sqrt((T/T0)^2 + (V/(0.6 T0))^2), see the module.

    Half of each strength: the root of a half.
    >>> round(interaction(5e3, 3e3, 1e4), 3)
    0.707
    """
    return math.hypot(max(tension, 0.0) / tension_strength, shear / (SHEAR_SHARE * tension_strength))


def _load(
    group: BoltGroup,
    mass: float,
    centre_of_gravity: tuple[float, float, float],
    direction: Direction,
    required: Requirement,
) -> Load:
    force = required.multiple * GRAVITY * mass
    local = tuple(
        force * sum(a * b for a, b in zip(axis, DIRECTIONS[direction], strict=True)) for axis in AXES[group.surface]
    )
    arm = (centre_of_gravity[0], centre_of_gravity[1], centre_of_gravity[2] + group.spacer)
    shared = _share(group.positions, (local[0], local[1], local[2]), arm)
    if shared is None:
        zeros = (0.0,) * len(group.positions)
        return Load(direction, force, zeros, zeros, 0, math.inf, "not-met", "no-lever-arm")
    tensions, shears = shared
    used = [required.safety_factor * interaction(t, v, group.tension) for t, v in zip(tensions, shears, strict=True)]
    worst = max(range(len(used)), key=used.__getitem__)
    return Load(direction, force, tensions, shears, worst, used[worst], _standing(used[worst], required.from_memory))


def _standing(utilisation: float, from_memory: bool) -> Standing:
    if not utilisation <= 1.0:
        return "not-met"
    return "unconfirmed" if from_memory else "met"


def _share(
    positions: Sequence[tuple[float, float]], force: tuple[float, float, float], arm: tuple[float, float, float]
) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
    """Tension (0 where pressed) and shear of each bolt, N; None where the group has no lever arm for a moment.

    With u, v from the middle of the group and the force at (du, dv, h): tensions t = a + b u + c v in balance with
    the pull and with both overturning moments, shear by the polar moment.
    """
    count = len(positions)
    middle_u = sum(p[0] for p in positions) / count
    middle_v = sum(p[1] for p in positions) / count
    bolts = [(u - middle_u, v - middle_v) for u, v in positions]
    du, dv, h = arm[0] - middle_u, arm[1] - middle_v, arm[2]
    fu, fv, fn = force
    about_u = dv * fn - h * fv
    about_v = h * fu - du * fn
    about_n = du * fv - dv * fu

    uu = sum(u * u for u, _ in bolts)
    vv = sum(v * v for _, v in bolts)
    uv = sum(u * v for u, v in bolts)
    polar = uu + vv
    reach = max(abs(du), abs(dv), h, math.sqrt(polar))
    tiny = 1e-9 * math.sqrt(fu * fu + fv * fv + fn * fn) * reach

    if abs(about_n) <= tiny:
        twist = 0.0
    elif polar > 0:
        twist = about_n / polar
    else:
        return None

    # sum u t = -about_v and sum v t = about_u, with t = a + b u + c v.
    right_u, right_v = -about_v, about_u
    determinant = uu * vv - uv * uv
    if determinant > 1e-9 * polar * polar:
        b = (right_u * vv - right_v * uv) / determinant
        c = (right_v * uu - right_u * uv) / determinant
    elif polar > 0:  # all bolts in one line, along (line_u, line_v): only a moment across it can be held
        line_u, line_v = (math.sqrt(uu / polar), math.copysign(math.sqrt(vv / polar), uv))
        if abs(right_v * line_u - right_u * line_v) > tiny:
            return None
        slope = (right_u * line_u + right_v * line_v) / polar
        b, c = slope * line_u, slope * line_v
    elif max(abs(right_u), abs(right_v)) > tiny:
        return None
    else:
        b = c = 0.0

    tensions = tuple(max(fn / count + b * u + c * v, 0.0) for u, v in bolts)
    shears = tuple(math.hypot(fu / count - twist * v, fv / count + twist * u) for u, v in bolts)
    return tensions, shears
