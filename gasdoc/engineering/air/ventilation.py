"""How much free opening, or how large a room, appliances ask for: one function for each published method.

Free area counts: mesh and louvres cut it. Where a method sets no figure of a kind, that is None. A rule's own minimum
("never under") is data and is handed in as `least`. Figures in inches and Btu are taken as printed in those units;
the rounded metric ones beside them in the codes are up to 5 % smaller.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated

from msgspec import Struct

from gasdoc.engineering.constants import CUBIC_FOOT, INCH, KBTU_PER_HOUR
from gasdoc.quantities import Known

_MM2 = 1e-6  # m2
_CM2 = 1e-4  # m2
_MJ_PER_HOUR = 1e6 / 3600.0  # W
_KW = 1000.0  # W


class AirDemand(Struct, frozen=True):
    """What the methods ask of a room: inputs in W by flue, sleeping places, the people it is made for, floor area in m2.
    None: not known.

    `flueless` counts cookers, and should count every appliance whose flue is not known: it asks for the most.
    `roof_outlets`: whether the high openings are in the roof.
    """

    flueless: float | None = None
    open_flued: float | None = None
    room_sealed: float | None = None
    sleeping_places: int | None = None
    people: int | None = None
    floor_area: float | None = None
    roof_outlets: bool | None = None


class Required(Struct, frozen=True):
    """Least free areas in m2, high, low and in all, and least room volume in m3; None where the method sets none.

    `reasons` say why there is no figure: "no-input", "no-sleeping-places", "no-people", "no-floor-area", "floor-too-large"; or what
    to know about the one there is: "side-openings-assumed", "vent-connectors-not-counted". `from_memory`: a figure
    behind it is not confirmed, so it must never be the ground for saying that a build has what is asked.
    """

    high: float | None = None
    low: float | None = None
    total: float | None = None
    volume: float | None = None
    reasons: tuple[str, ...] = ()
    from_memory: bool = False


def as_nzs_5601_2(room: AirDemand, least: float = 0.0) -> Required:
    """610 mm2 in all per MJ/h of appliances not room-sealed, and 650 mm2 a sleeping place; not under `least`.

    AS/NZS 5601.2:2013 2.9.6 and 7.3, and 2020 section 7 (formula and its minimum of 4000 mm2 read twice).

    10 MJ/h and two to sleep: 6,100 and 1,300 mm2.
    >>> area = as_nzs_5601_2(AirDemand(flueless=10e6 / 3600, open_flued=0.0, sleeping_places=2)).total
    >>> round(area * 1e6)
    7400
    """
    if missing := _missing(room, "flueless", "open_flued", "sleeping_places"):
        return Required(reasons=missing)
    area = 610 * _MM2 * _not_sealed(room) / _MJ_PER_HOUR + 650 * _MM2 * (room.sleeping_places or 0)
    return Required(total=max(area, least))


def bss_2002(room: AirDemand, least: float = 0.0) -> Required:
    """2200 mm2 per kW without a flue, 440 per kW with an open or closed flue, 650 mm2 a person; half high, half low.

    UK Boat Safety Scheme 2002 standards part 8, from BS PD 5482-3 (read twice). People are those the room is designed for.

    2 kW without a flue and two people: 4,400 and 1,300 mm2, half of it high.
    >>> required = bss_2002(AirDemand(flueless=2000.0, open_flued=0.0, room_sealed=0.0, people=2))
    >>> round(required.total * 1e6), round(required.high * 1e6)
    (5700, 2850)
    """
    if missing := _missing(room, "flueless", "open_flued", "room_sealed", "people"):
        return Required(reasons=missing)
    flued = (room.open_flued or 0.0) + (room.room_sealed or 0.0)
    area = (2200 * (room.flueless or 0.0) + 440 * flued) * _MM2 / _KW + 650 * _MM2 * (room.people or 0)
    area = max(area, least)
    return Required(high=area / 2, low=area / 2, total=area)


_EN_721_READ: Annotated[
    tuple[tuple[float, int, int], ...],
    Known(
        "floor up to (m2), high openings in the roof (cm2) and low openings (cm2), with appliances not room-sealed",
        "EN 721, as quoted in a technical inspectorate's leaflet",
        "once",
    ),
] = ((5.0, 75, 10), (10.0, 100, 15))
_EN_721_LARGER: Annotated[
    tuple[tuple[float, int, int], ...],
    Known("the same for larger floors; high openings not in the roof have double", "EN 721, from memory", "memory"),
] = ((15.0, 125, 20), (20.0, 150, 30), (float("inf"), 200, 50))
_READ_TO = _EN_721_READ[-1][0]


def en_721_appliances(room: AirDemand, least: float = 0.0) -> Required:
    """By floor area, with appliances that are not room-sealed. EN 721 as quoted in a technical inspectorate's leaflet.

    Floor to 5 m2: 75 cm2 high, 10 cm2 low; to 10 m2: 100 and 15 (read once). To 15 m2: 125 and 20; to 20 m2: 150 and
    30; over: 200 and 50; high openings not in the roof: double (these from memory). Where it is not known whether
    they are in the roof the double figure is returned.

    >>> required = en_721_appliances(AirDemand(floor_area=8.0, roof_outlets=True))
    >>> round(required.high * 1e4), round(required.low * 1e4)
    (100, 15)
    """
    if room.floor_area is None:
        return Required(reasons=("no-floor-area",))
    high, low = next((high, low) for floor, high, low in _EN_721_READ + _EN_721_LARGER if room.floor_area <= floor)
    side = not room.roof_outlets
    return Required(
        high=max((2 if side else 1) * high * _CM2, least),
        low=max(low * _CM2, least),
        reasons=("side-openings-assumed",) if room.roof_outlets is None else (),
        from_memory=side or room.floor_area > _READ_TO,
    )


def en_721_no_appliances(room: AirDemand, least: float = 0.0) -> Required:
    """With room-sealed appliances or none, floor to 10 m2: 15 cm2 in the roof or 30 cm2 otherwise high; 5 cm2 low.

    EN 721 as quoted in a technical inspectorate's leaflet (read once); larger floors are not in what was read.

    >>> required = en_721_no_appliances(AirDemand(floor_area=8.0, roof_outlets=True))
    >>> round(required.high * 1e4), round(required.low * 1e4)
    (15, 5)
    """
    if room.floor_area is None:
        return Required(reasons=("no-floor-area",))
    if room.floor_area > _READ_TO:
        return Required(reasons=("floor-too-large",))
    return Required(
        high=max((15 if room.roof_outlets else 30) * _CM2, least),
        low=max(5 * _CM2, least),
        reasons=("side-openings-assumed",) if room.roof_outlets is None else (),
    )


def ifgc_room_volume(room: AirDemand, least: float = 0.0) -> Required:
    """50 ft3 per 1000 Btu/h of all appliances that take air from the room. IFGC 304.5.1; NFPA 54 9.3 (read twice).

    Not where the room is known to have under 0.40 air changes an hour.

    >>> required = ifgc_room_volume(AirDemand(flueless=30 * KBTU_PER_HOUR, open_flued=0.0))
    >>> round(required.volume / CUBIC_FOOT)
    1500
    """
    if missing := _missing(room, "flueless", "open_flued"):
        return Required(reasons=missing)
    return Required(volume=max(50 * CUBIC_FOOT * _not_sealed(room) / KBTU_PER_HOUR, least))


def ifgc_two_indoors(room: AirDemand, least: float = 0.0) -> Required:
    """Two openings to other rooms on the floor, each 1 in2 per 1000 Btu/h, not under `least`.

    IFGC 304.5.3 (read twice).

    >>> required = ifgc_two_indoors(AirDemand(flueless=30 * KBTU_PER_HOUR, open_flued=0.0), 100 * INCH**2)
    >>> round(required.high / INCH**2), round(required.total / INCH**2)
    (100, 200)
    """
    return _two(room, 1.0, least)


def ifgc_two_outdoors(room: AirDemand, least: float = 0.0) -> Required:
    """Two openings to outdoors, direct or by vertical ducts, each 1 in2 per 4000 Btu/h. IFGC 304.6.1 (read twice).

    >>> round(ifgc_two_outdoors(AirDemand(flueless=40 * KBTU_PER_HOUR, open_flued=0.0)).high / INCH**2)
    10
    """
    return _two(room, 4.0, least)


def ifgc_two_horizontal_ducts(room: AirDemand, least: float = 0.0) -> Required:
    """Two horizontal ducts to outdoors, each 1 in2 per 2000 Btu/h. IFGC 304.6.1 (read twice).

    >>> round(ifgc_two_horizontal_ducts(AirDemand(flueless=40 * KBTU_PER_HOUR, open_flued=0.0)).high / INCH**2)
    20
    """
    return _two(room, 2.0, least)


def ifgc_one_outdoors(room: AirDemand, least: float = 0.0) -> Required:
    """One opening to outdoors, high, 1 in2 per 3000 Btu/h. IFGC 304.6.2 (read twice).

    The code also asks for no less than the sum of the vent connectors' areas, which is not worked out here.

    >>> round(ifgc_one_outdoors(AirDemand(flueless=30 * KBTU_PER_HOUR, open_flued=0.0)).high / INCH**2)
    10
    """
    if missing := _missing(room, "flueless", "open_flued"):
        return Required(reasons=missing)
    area = max(_not_sealed(room) / (3.0 * KBTU_PER_HOUR) * INCH**2, least)
    return Required(high=area, reasons=("vent-connectors-not-counted",) if room.open_flued else ())


def _two(room: AirDemand, kbtu_per_inch: float, least: float) -> Required:
    """Two openings, each of the full area; none where no appliance takes its air from the room."""
    if missing := _missing(room, "flueless", "open_flued"):
        return Required(reasons=missing)
    load = _not_sealed(room)
    area = max(load / (kbtu_per_inch * KBTU_PER_HOUR) * INCH**2, least) if load > 0.0 else 0.0
    return Required(high=area, low=area, total=2.0 * area)


def _not_sealed(room: AirDemand) -> float:
    return (room.flueless or 0.0) + (room.open_flued or 0.0)


def _missing(room: AirDemand, *names: str) -> tuple[str, ...]:
    """The reasons for the facts that are not known, each once."""
    unknown = [name for name in names if getattr(room, name) is None]
    reasons = {"sleeping_places": "no-sleeping-places", "people": "no-people"}
    return tuple(dict.fromkeys(reasons.get(name, "no-input") for name in unknown))


METHODS: Mapping[str, Callable[[AirDemand, float], Required]] = {
    "as-nzs-5601-2": as_nzs_5601_2,
    "bss-2002": bss_2002,
    "en-721-appliances": en_721_appliances,
    "en-721-no-appliances": en_721_no_appliances,
    "ifgc-room-volume": ifgc_room_volume,
    "ifgc-two-indoors": ifgc_two_indoors,
    "ifgc-two-outdoors": ifgc_two_outdoors,
    "ifgc-two-horizontal-ducts": ifgc_two_horizontal_ducts,
    "ifgc-one-outdoors": ifgc_one_outdoors,
}
"""The function of each method, called as `METHODS[key](room, least)`; the keys are those the rule data use."""
