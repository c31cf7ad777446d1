"""What a plan asks of its container: its coldest day, its year and its wishes."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from gasdoc import units
from gasdoc.catalog.appliances import day
from gasdoc.choices.containers import Asked, YearPart
from gasdoc.engineering.constants import DAY
from gasdoc.study.container.cold_day import periods_of
from gasdoc.study.facts import Installation, energy_of, heating_value, setting, system


def asked(build: Installation) -> Asked:
    """What a set of containers is judged by. A boat or a vehicle of which no room is described is taken to be slept in."""
    spec = build.spec
    wishes = spec.wishes
    heats = any(day().kinds[s.appliance.kind].at_night for s in build.served)
    sleeps = any(space.sleeping_places for space in spec.spaces) or (
        not spec.spaces and setting(build) in ("boat", "vehicle")
    )
    assert spec.coldest is not None, "assumed where it is not stated"
    must_last = float(spec.container.must_last or day().must_last.value) / DAY
    plain = Asked(float(spec.coldest), must_last, pair=heats or sleeps, year=tuple(_year(build)))
    if wishes is None:
        return plain
    return replace(
        plain,
        carry=float(wishes.carry) if wishes.carry is not None else None,
        fill=wishes.fill,  # the model lets only these words through
        swap_at=float(wishes.swap_at) if wishes.swap_at is not None else None,
        room=wishes.room,
        have=tuple(wishes.have),
    )


def _year(build: Installation) -> Iterator[YearPart]:
    """The seasons of the spec in which gas is used: in their own air, or the coldest where they state none."""
    heat = heating_value(build)
    for season in build.spec.seasons:
        served = [
            replace(s, per_day=energy_of(season.daily_use[s.id], s.load, heat, s.gross_share))
            if s.id in season.daily_use
            else s
            for s in build.served
        ]
        air = season.air if season.air is not None else build.spec.coldest
        periods = periods_of(served)
        if periods and air is not None:
            yield YearPart(season.name, float(air), periods)


def wishes(build: Installation) -> Iterator[str]:
    """What the spec wishes, in words."""
    wished = build.spec.wishes
    if wished is None:
        return
    shown = system(build)
    if wished.have:
        yield f"you have {', '.join(wished.have)}"
    if wished.room is not None:
        sides = (("long", wished.room.length), ("wide", wished.room.width), ("high", wished.room.height))
        told = ", ".join(
            f"{units.show(side, 'short length', shown)} {word}" for word, side in sides if side is not None
        )
        yield f"room {told}" if told else "room of unknown size"
    if wished.carry is not None:
        yield f"nothing heavier than {units.show(wished.carry, 'weight', shown)} to lift"
    if wished.fill is not None:
        yield {"exchanged": "full for empty", "filled": "filled at a filling point", "truck": "filled by a truck"}[
            wished.fill
        ]
    if wished.swap_at is not None:
        yield f"used down to {wished.swap_at * 100:.0f} % of full"
    if wished.budget is not None:
        yield f"at most {wished.budget:g} for container, regulator and tube"
