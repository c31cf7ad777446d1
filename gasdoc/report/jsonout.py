"""A study, a check and a capacity as JSON: one documented unit a field, whatever the spec shows.

Quantities are `{"value": ..., "unit": ...}`: W for power, m for length, Pa for pressure (gauge), kg/s and m3/s for flows of
gas, K, N, s, kg, m3, J, W/(m2 K) for heat let in, days, 1 for shares, each for counts. Dates are ISO 8601. `version` changes when the meaning of a
field changes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from gasdoc import __version__, units
from gasdoc.catalog.tubing import Size
from gasdoc.engineering.container.vaporisation import UNCERTAINTY
from gasdoc.engineering.materials.cutting import CuttingPlan
from gasdoc.engineering.materials.joints import Chain, NoChain
from gasdoc.folder.changed import ChangedKey
from gasdoc.folder.compare import Amount, Comparison, Value
from gasdoc.source import Problem
from gasdoc.study import Study, facts
from gasdoc.study.air.alarms import fitted
from gasdoc.study.air.rooms import Room
from gasdoc.study.container.cold_day import FILLS, HEAT_WORDS, Cold, Run, air_steps, days_at, grid, one_more
from gasdoc.study.container.coldest_days import Usable, usable
from gasdoc.study.container.draw_off import DrawTable
from gasdoc.study.container.kinds_that_serve import Serving, serving
from gasdoc.study.container.mounting import NOT_CHECKED
from gasdoc.study.facts import system
from gasdoc.study.findings import Finding
from gasdoc.study.materials.assembly import Joined
from gasdoc.study.materials.cutting import Lengths
from gasdoc.study.materials.least_cost import Cheapest
from gasdoc.study.proof.halving import Outcome, halves_of
from gasdoc.study.proof.standing import Standing
from gasdoc.study.proof.verdicts import Judged
from gasdoc.study.referral.masked_numbers import plates
from gasdoc.study.supply.capacity import Answer, Unserved
from gasdoc.study.supply.lines import Line, Method, SizedZone, ZonePressure

VERSION = 1

Quantity = dict[str, Any]


def dumps(value: Any) -> str:
    """Stable text: keys as written, two spaces, UTF-8."""
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)


def quantity(value: float | None, unit: str) -> Quantity | None:
    """A value with its unit, to nine significant digits; None stays None."""
    return None if value is None else {"value": float(f"{value:.9g}"), "unit": unit}


def study_json(study: Study, changed: Sequence[ChangedKey] = ()) -> dict[str, Any]:
    """The whole study; `changed` are the keys that differ from what a record was made on."""
    spec = study.build.spec
    return {
        "version": VERSION,
        "gasdoc": __version__,
        "build": {
            "slug": study.build.slug,
            "title": spec.title,
            "path": study.build.path,
            "region": spec.region,
            "units": facts.system(study.build),
        },
        "standing": {
            **_standing(study.standing, changed),
            "detail": study.standing.detail,
            "tests_recorded": study.standing.tests,
            "sign_off": study.standing.sign_off,
            "sign_off_does_not_count": study.standing.sign_off_why,
            "asked": [
                {
                    "test": p.asked.test.id,
                    "zone": p.asked.zone,
                    "open": p.why,
                    "record": {"number": p.judged.index + 1} if p.judged else None,
                }
                for p in study.standing.proofs
            ],
        },
        "findings": [finding_json(f) for f in study.findings],
        "demand": {
            "total": quantity(study.load, "W"),
            "appliances": [
                {
                    "outlet": s.id,
                    "name": s.appliance.name,
                    "kind": s.appliance.kind,
                    "input": quantity(s.load, "W"),
                    "plate": s.appliance.input.text,
                    "plate_basis": s.basis,
                    "gas": quantity(s.mass, "kg/s"),
                    "per_day": quantity(s.per_day, "J"),
                }
                for s in study.served
            ],
        },
        "zones": [_zone(zone) for zone in study.zones],
        "runs": [_run(run) for zone in study.zones for run in zone.runs],
        "outlets": [_outlet(s) for s in study.served],
        "pressures": [
            {"zone": zone.id, "solved": None if zone.pressure is None else _pressures(zone, zone.pressure)}
            for zone in study.zones
        ],
        "room": [{"part": p.name, "load": quantity(p.room, "W"), "rests_on": p.why} for p in study.room.parts],
        "container": container_json(study),
        "materials": [
            {
                "key": item.key,
                "group": item.group,
                "part": item.name,
                "quantity": quantity(item.quantity, "m" if item.measured else "each"),
                "for": list(item.where),
                "note": item.note,
                "if_needed": item.if_needed,
            }
            for item in study.materials
        ],
        "joints": [_joined(j) for j in study.fittings.joined],
        "connectors": [
            {
                "outlet": c.id,
                "key": c.key,
                "kind": c.kind,
                "length": quantity(c.length, "m"),
                "chosen_here": c.chosen,
                "way": quantity(c.distance, "m"),
                "needed": quantity(c.needed, "m"),
                "longest": quantity(c.longest, "m"),
                "reach": c.reach.reason if c.reach is not None else None,
                "capacity": c.capacity,
                "unions": quantity(c.part.unions if c.part is not None else None, "each"),
            }
            for c in study.connected
        ],
        "cutting_plan": [_lengths(tubing) for tubing in study.lengths],
        "openings": [
            {
                "run": o.run,
                "through": o.place,
                "hole": quantity(o.opening.hole, "m") if o.opening else None,
                "hole_saw": quantity(o.opening.saw, "m") if o.opening else None,
                "lining": o.opening.lining if o.opening else None,
                "plate": o.opening.plate if o.opening else None,
                "source": str(o.source),
            }
            for o in study.passages.openings
        ],
        "supports": [
            {
                "run": s.run,
                "spacing": quantity(s.spacing, "m"),
                "stated": s.given,
                "largest": quantity(s.largest, "m"),
                "clamps": quantity(s.count, "each"),
            }
            for s in study.passages.supports
        ],
        "tools": [tool.id for tool in study.tools],
        "shopping": _shopping(study),
        "least_cost": [_cheapest(zone, study.shopping.currency) for zone in study.cheapest],
        "leak_test": leak_json(study),
        "releases": {
            "space": quantity(study.releases.space, "m3"),
            "space_is": study.releases.space_is,
            "leaks": [
                {
                    "kind": leak.kind,
                    "appliance": leak.where or None,
                    "mass_flow": quantity(leak.mass, "kg/s"),
                    "volume_flow": quantity(leak.flow, "m3/s"),
                    "lowest_space_burns_after": quantity(leak.time, "s"),
                    "why_no_time": leak.why,
                }
                for leak in study.releases.leaks
            ],
        },
        "rooms": [_room(room) for room in study.rooms],
        "cautions": [
            {"id": c.id, "group": c.group, "text": c.said(system(study.build)), "source": str(c.citation)}
            for c in study.cautions
        ],
        "upkeep": [
            {
                "task": d.task.id,
                "part": d.part,
                "due": d.due.isoformat() if d.due else None,
                "marked_on_part": d.marked,
                "interval": d.task.interval.text if d.task.interval else None,
                "event": d.task.event,
                "by": d.task.who,
                "source": str(d.task.citation),
            }
            for d in study.upkeep
        ],
        "numbers": [{"about": p.about, "what": p.what, "shown": p.shown} for p in plates(study.build)],
        "referral": [
            {
                "rule": r.rule.id,
                "room": r.room.id if r.room is not None else None,
                "asks": r.rule.asks,
                "beside": r.rule.alternative,
                "needs": r.needs,
                "has": r.has,
                "outcome": r.outcome,
                "source": str(r.rule.citation),
            }
            for r in study.rules
        ],
    }


def _room(room: Room) -> dict[str, Any]:
    alarms = fitted(room)
    return {
        "id": room.id,
        "stated": room.space is not None,
        "outlets": [s.id for s in room.appliances],
        "sleeping_places": room.sleeping_places,
        "people": room.space.people if room.space is not None else None,
        "air": {
            "flueless": quantity(room.air.flueless, "W"),
            "open_flued": quantity(room.air.open_flued, "W"),
            "room_sealed": quantity(room.air.room_sealed, "W"),
            "flue_not_stated": list(room.air.unknown),
        },
        "alarms": None
        if alarms is None
        else [
            {"kind": a.alarm.kind, "height": a.height, "standard": a.alarm.standard, "counts": a.counts} for a in alarms
        ],
    }


HELP_UNITS = {"hold-for": "s", "raise-to": "Pa", "gauge-step": "Pa", "thermometer-step": "K"}
"""Units of what would settle a test."""


def leak_json(study: Study) -> dict[str, Any]:
    """The leak test: volumes, what is asked, holds planned, joints, where to halve, and each recorded test judged.

    Leaks are volumes at 15 degC and 101325 Pa; those "in service" are of propane at the highest pressure in use. `steps`
    of halving name the next step by its number, or the joints to wet; `number` of a record is its place in the spec.
    """
    tests = study.leak_test
    return {
        "volume": quantity(tests.volume, "m3"),
        "largest_volume": quantity(tests.volume_largest, "m3"),
        "asked": [
            {
                "id": a.test.id,
                "kind": a.test.kind,
                "zone": a.zone,
                "pressure": quantity(a.pressure, "Pa"),
                "hold": quantity(a.test.hold, "s"),
                "source": str(a.test.citation),
            }
            for a in tests.asked
        ],
        "holds": [
            {
                "test": plan.asked.test.id,
                "zone": plan.asked.zone,
                "gauge": h.gauge,
                "gauge_step": quantity(h.gauge_step, "Pa"),
                "thermometer_step": quantity(h.thermometer_step, "K"),
                "barometer_step": quantity(h.barometer, "Pa"),
                "hold": quantity(h.hold, "s"),
            }
            for plan in study.plans
            for h in plan.holds
        ],
        "steps": [
            {
                "id": step.id,
                "title": step.title,
                "text": step.text,
                "needs": list(step.needs),
                "parts": list(step.parts),
                "gate": step.gate,
                "stops": list(step.stops),
                "applies": step.applies,
                "reason": step.reason,
                "source": str(step.citation),
            }
            for step in study.sequence.steps
        ],
        "closures": [
            {
                "element": c.element,
                "role": c.role,
                "parts": [part.id for part in c.parts],
                "removed": c.removed,
                "rating": quantity(c.rating, "Pa"),
            }
            for c in study.in_test.closures
        ],
        "joints": [{"id": joint.id, "element": joint.element, "zone": joint.zone} for joint in tests.joints],
        "halving": [
            {
                "zone": zone.id,
                "steps": [
                    {
                        "number": s.number,
                        "cap_before": s.cut,
                        "suspects": quantity(s.suspects, "each"),
                        "kept": quantity(s.kept, "each"),
                        "holds": _leads(s.holds),
                        "falls": _leads(s.falls),
                    }
                    for s in halves_of(study.build, study.fittings, tests, study.in_test, zone.id)
                ],
            }
            for zone in study.zones
        ],
        "recorded": [_judged(j) for j in study.judged],
    }


def _leads(outcome: Outcome) -> dict[str, Any]:
    return {
        "go_to": {"number": outcome.step} if outcome.step is not None else None,
        "joints": [joint.id for joint in outcome.joints],
    }


def _judged(j: Judged) -> dict[str, Any]:
    v = j.verdict
    leak = v.in_service if v is not None else None
    return {
        "number": j.index + 1,
        "date": j.test.date.isoformat(),
        "kind": j.test.kind,
        "outcome": j.outcome,
        "reasons": list(j.reasons),
        "helps": [{"code": h.code, "value": quantity(h.value, HELP_UNITS.get(h.code, ""))} for h in j.helps],
        "current": j.current,
        "covers": j.test.covers,
        "rows": [{"test": a.test.id, "zone": a.zone} for a in j.rows],
        "volume": quantity(j.volume, "m3"),
        "held": quantity(v.elapsed, "s") if v else None,
        "fall": quantity(v.fall, "Pa") if v else None,
        "by_temperature": quantity(v.by_temperature, "Pa") if v else None,
        "by_barometer": quantity(v.by_barometer, "Pa") if v else None,
        "unexplained_loss": quantity(v.loss, "Pa") if v else None,
        "uncertainty": quantity(v.uncertainty.total, "Pa") if v and v.uncertainty else None,
        "leak_in_service": None
        if leak is None
        else {
            "low": quantity(leak.low, "m3/s"),
            "value": quantity(leak.value, "m3/s"),
            "high": quantity(leak.high, "m3/s"),
        },
        "smallest_visible_in_service": quantity(v.smallest_visible, "m3/s") if v else None,
        "limit_in_service": quantity(v.limit, "m3/s") if v else None,
        "leak_fluid_visible_in_service": quantity(j.fluid_visible, "m3/s"),
    }


def _usable(u: Usable) -> dict[str, Any]:
    """How long a full supply lasts in the coldest air. `heat` names the end it is worked out with, see `heat` beside it.

    `days` is counted to the first shortage; with `at_least` there was none so far. `left` is what each container then holds.
    """
    return {
        "heat": u.heat,
        "days": quantity(u.days, "day"),
        "at_least": u.at_least,
        "fill_left": quantity(u.fill_left, "1"),
        "left": [quantity(mass, "kg") for mass in u.left],
        "changed": [
            None if change is None else {"after": quantity(change[0], "s"), "left": quantity(change[1], "kg")}
            for change in u.changed
        ],
        "must_last": quantity(u.must_last, "day"),
        "enough": u.enough,
    }


def _heat(study: Study, cold: Cold, air: float) -> dict[str, Any]:
    """The ends of the heat that gets in, W/(m2 K) of wetted skin at the coldest air: which a day is told with (`stated`), and
    which days on end are counted with (`careful`)."""
    ends: dict[str, Any] = {
        heat: {
            "coefficient": quantity(cold.rig.coefficient(air, heat), "W/(m2 K)"),
            "lasts": quantity(None if (u := usable(study.build, cold, heat)) is None else u.days, "day"),
        }
        for heat in HEAT_WORDS
    }
    return {"stated": cold.rig.stated, "careful": cold.rig.careful, **ends}


def _draw_table(table: DrawTable) -> dict[str, Any]:
    """The trade's table of draw-off, for all that feed at once."""
    return {
        "cylinder": quantity(table.cylinder, "kg"),
        "feeding": quantity(table.feeding, "each"),
        "rates": [
            {
                "pattern": row.pattern,
                "mass_flow": quantity(row.flow, "kg/s"),
                "load": quantity(row.load, "W"),
                "asked": quantity(row.asks, "W"),
                "enough": row.enough,
            }
            for row in table.rows
        ],
        "enough": table.enough,
        "source": str(table.citation),
        "confirmed": table.citation.confirmed,
    }


def _serving(s: Serving) -> dict[str, Any]:
    """A set that would serve. `lasts_to_fill` is the emptiest fill that still carries the coldest day."""
    return {
        "id": s.kind,
        "kind": s.name,
        "water_capacity": quantity(s.water, "m3"),
        "number": s.number,
        "manifold": s.manifold,
        "rate": quantity(s.rate, "W"),
        "lasts": quantity(s.days, "day"),
        "at_least": s.at_least,
        "lasts_to_fill": quantity(s.lasts_to_fill, "1"),
        "fuel_mass": quantity(s.fuel_mass, "kg"),
        "one_full": quantity(s.one_full, "kg"),
        "weight_full": quantity(s.weight_full, "kg"),
        "outside": {"diameter": quantity(s.diameter, "m"), "length": quantity(s.length, "m")},
        "limits": [
            {
                "rule": kept.rule,
                "asks": kept.asks,
                "has": quantity(kept.value, _LIMIT_UNIT[kept.measure]),
                "limit": quantity(kept.limit, _LIMIT_UNIT[kept.measure]),
                "source": str(kept.citation),
                "confirmed": kept.citation.confirmed,
            }
            for kept in s.limits
        ],
        "own": s.own,
    }


_LIMIT_UNIT = {"container-count": "1", "container-water-capacity": "m3", "container-fuel": "kg"}


def container_json(study: Study) -> dict[str, Any]:
    """The container: what it holds, the cold day, supply, endurance, kinds that would serve, mount and clearances.

    Temperatures are in K, pressures gauge. `fill` is a share of a full container. Times of the cold day are in s after
    noon, at which it begins; a `short_from` of null lasts the day.
    """
    held, lasting, cold, m = study.container, study.endurance, study.cold, study.mount
    found = serving(study.build, held, cold)
    return {
        "kind": study.build.container_kind.id,
        "number": held.number,
        "water_capacity": quantity(held.water_capacity, "m3"),
        "fuel_mass": quantity(held.fuel_mass, "kg"),
        "energy": quantity(held.energy, "J"),
        "mean_load": quantity(held.per_day, "W"),
        "outside": {"diameter": quantity(held.shape.diameter, "m"), "length": quantity(held.shape.length, "m")},
        "lasts": quantity(held.days, "day"),
        "usable": None if study.usable is None else _usable(study.usable),
        "heat": None if cold is None or cold.coldest is None else _heat(study, cold, cold.coldest),
        "draw_table": None if cold is None or cold.table is None else _draw_table(cold.table),
        "weight_empty": quantity(lasting.weights.empty, "kg"),
        "weight_full": quantity(lasting.weights.full, "kg"),
        "cold_day": None if cold is None else _cold(cold),
        "fill_and_air": []
        if cold is None or not cold.rig.periods
        else [
            {
                "air": quantity(c.air, "K"),
                "fill": quantity(c.fill, "1"),
                "short_from": quantity(c.short_from, "s"),
                "reason": c.reason,
            }
            for row in grid(cold, air_steps(cold.coldest, "si"))
            for c in row
        ],
        "supply": []
        if cold is None
        else [
            {
                "air": quantity(air, "K"),
                "fill": quantity(fill, "1"),
                "rate": quantity(s.rate, "W"),
                "limiting": s.limiting,
                "methods": [{"method": e.method, "rate": quantity(e.rate, "W"), "basis": e.basis} for e in s.estimates],
            }
            for air in air_steps(cold.coldest, "si")
            for fill in FILLS
            for s in (cold.rig.supply(air, fill),)
        ],
        "one_more": [
            {
                "number": more.number,
                "manifold": more.manifold,
                "largest_continuous_load": quantity(more.largest, "W"),
                "runs": [_day(run) for run in more.runs],
            }
            for more in (one_more(cold) if cold is not None else ())
        ],
        "daily": [
            {
                "outlet": d.outlet,
                "energy": quantity(d.energy, "J"),
                "mass": quantity(d.mass, "kg"),
                "liquid": quantity(d.volume, "m3"),
            }
            for d in lasting.daily
        ],
        "seasons": [
            {
                "name": s.name,
                "mass_per_day": quantity(s.per_day, "kg"),
                "energy_per_day": quantity(s.energy, "J"),
                "lasts": quantity(s.days, "day"),
                "cost_per_day": quantity(s.cost, lasting.currency or ""),
                "mass_over_season": quantity(s.total, "kg"),
            }
            for s in lasting.seasons
        ],
        "would_serve": [_serving(s) for s in (found.found if found is not None else ())],
        "mount": None
        if m is None
        else {
            "filled_mass": quantity(m.mass, "kg"),
            "centre_of_gravity": quantity(m.centre, "m"),
            "bolts": {
                "number": m.count,
                "thread": m.bolt.thread,
                "grade": m.bolt.grade,
                "proof_load": quantity(m.bolt.proof_load, "N"),
            },
            "checks": [
                {
                    "rule": c.rule,
                    "asks": c.asks,
                    "multiple": quantity(c.multiple, "1"),
                    "safety_factor": quantity(c.safety_factor, "1"),
                    "strength": c.strength,
                    "beside": c.beside,
                    "source": str(c.citation),
                    "directions": [
                        {
                            "towards": load.direction,
                            "force": quantity(load.force, "N"),
                            "tension": quantity(load.tensions[load.worst], "N"),
                            "shear": quantity(load.shears[load.worst], "N"),
                            "utilisation": quantity(None if load.reason else load.utilisation, "1"),
                            "bolts": load.standing,
                            "reason": load.reason,
                        }
                        for load in c.loads
                    ],
                }
                for c in m.checks
            ],
            "not_checked": list(NOT_CHECKED),
        },
        "held_by": None
        if study.tie is None
        else {
            "way": study.tie.given.way,
            "fixed_to": study.tie.given.fixed_to,
            "number": study.tie.given.number,
            "rated": quantity(study.tie.given.rated, "kg"),
            "carried": quantity(study.tie.carried, "1"),
            "not_stated": list(study.tie.missing),
        },
        "locker": {
            key: quantity(getattr(study.build.spec.container.locker, key, None), unit)
            for key, unit in (
                ("length", "m"),
                ("width", "m"),
                ("height", "m"),
                ("vent_high", "m2"),
                ("vent_low", "m2"),
                ("drain", "m"),
                ("drain_above_water", "m"),
                ("to_opening", "m"),
            )
        }
        if study.build.spec.container.locker is not None
        else None,
        "clearances": [
            {
                "measure": c.measure,
                "asks": c.asks,
                "has": quantity(c.value, "m"),
                "limit": quantity(c.limit, "m"),
                "answer": c.answer,
                "source": str(c.citation) if c.citation else None,
            }
            for c in study.clearances
        ],
    }


def _cold(cold: Cold) -> dict[str, Any]:
    need = cold.rig.need
    return {
        "coldest": quantity(cold.coldest, "K"),
        "needed": {
            "gauge": quantity(need.gauge, "Pa"),
            "regulator_inlet": quantity(need.inlet, "Pa"),
            "allowance": quantity(need.allowance, "Pa"),
            "inlet_stated": need.stated,
            "coldest_liquid": quantity(need.floor, "K"),
        },
        "use": [
            {
                "outlet": b.outlet,
                "start": quantity(b.start, "s"),
                "length": quantity(b.length, "s"),
                "load": quantity(b.load, "W"),
            }
            for b in cold.blocks
        ],
        "runs": [_day(run) for run in days_at(cold)],
        "largest_continuous_load": quantity(cold.largest, "W"),
        "largest_limited_by": None if cold.coldest is None else cold.rig.limit(cold.coldest, FILLS[-1]),
        "uncertainty": quantity(UNCERTAINTY, "1"),
    }


def _day(run: Run) -> dict[str, Any]:
    return {
        "air": quantity(run.air, "K"),
        "fill": quantity(run.fill, "1"),
        "lasts": run.enough,
        "short_from": quantity(run.short_from, "s"),
        "reason": run.reason,
        "changeover_at": quantity(run.changed, "s"),
        "lowest_pressure": quantity(run.lowest_gauge, "Pa"),
    }


def _joined(j: Joined) -> dict[str, Any]:
    found = j.found
    closed = isinstance(found, Chain)
    return {
        "element": j.element,
        "from": j.before.words,
        "to": j.after.words,
        "ends": [str(e) if e is not None else None for e in (j.a, j.b)],
        "parts": [part.id for part in found.parts] if isinstance(found, Chain) else None,
        "closed": closed,
        "seals": [joint.seal for joint in found.joints] if isinstance(found, Chain) else None,
        "why_not": found.reason if isinstance(found, NoChain) else j.why,
        "container_side": j.container_side,
        "concealed": j.concealed,
    }


def _lengths(tubing: Lengths) -> dict[str, Any]:
    plan = tubing.plan
    cut = [
        {
            "from": c.stock,
            "length": quantity(tubing.length(c.stock), "m"),
            "pieces": list(c.pieces),
            "left": quantity(c.left, "m"),
        }
        for c in (plan.cuts if isinstance(plan, CuttingPlan) else ())
    ]
    return {
        "key": tubing.key,
        "net": quantity(tubing.net, "m"),
        "pieces": [{"id": piece.id, "length": quantity(piece.length, "m")} for piece in tubing.pieces],
        "result": plan.result if isinstance(plan, CuttingPlan) else plan.reason,
        "proven_best": isinstance(plan, CuttingPlan) and plan.result == "best",
        "cuts": cut,
    }


def _shopping(study: Study) -> dict[str, Any]:
    shop = study.shopping
    money = shop.currency or "unknown"
    return {
        "currency": shop.currency,
        "prices_of": shop.date,
        "low": quantity(shop.low, money) if shop.currency else None,
        "high": quantity(shop.high, money) if shop.currency else None,
        "lines_without_price": quantity(shop.unknown, "each"),
        "lines": [
            {
                "key": line.key,
                "part": line.part,
                "name": line.name,
                "if_needed": line in shop.if_needed,
                **{
                    name: quantity(value, "m" if line.measured else "each")
                    for name, value in (("needed", line.needed), ("on_shelf", line.on_shelf), ("pack", line.pack))
                },
                "packs": quantity(line.packs, "each"),
                "low": quantity(line.low, money),
                "high": quantity(line.high, money),
            }
            for line in (*shop.lines, *shop.if_needed)
        ],
    }


def _cheapest(zone: Cheapest, currency: str | None) -> dict[str, Any]:
    """Not a code method: nothing is built from it."""
    money = currency or "unknown"
    return {
        "zone": zone.zone,
        "not_a_code_method": True,
        "omitted": zone.reason,
        "missing": list(zone.missing),
        "cost": quantity(zone.cost, money) if zone.reason is None else None,
        "runs": [{"id": run.id, "size": run.cheapest.label, "cost": quantity(run.cost, money)} for run in zone.runs],
    }


def finding_json(finding: Finding) -> dict[str, Any]:
    """One finding."""
    return {
        "severity": str(finding.severity),
        "code": finding.code,
        "subject": finding.subject,
        "message": finding.message,
        "reason": finding.reason,
        "remedy": finding.remedy,
        "source": finding.source,
    }


def problem_json(problem: Problem) -> dict[str, Any]:
    """One problem of an input file."""
    return {
        "path": problem.path,
        "line": problem.line,
        "column": problem.column,
        "severity": str(problem.severity),
        "message": problem.message,
        "hint": problem.hint,
        "code": problem.code,
        "draft": problem.draft,
    }


def _standing(found: Standing, changed: Sequence[ChangedKey]) -> dict[str, Any]:
    """How far a build has got, its codes, and what has changed since a record that is stale."""
    return {
        "word": found.word,
        "errors": found.errors,
        "tightness_code": found.codes.tightness,
        "build_code": found.codes.build,
        "changed": [{"key": c.key, "was": c.before, "now": c.after} for c in changed],
    }


def check_json(
    problems: Sequence[Problem], exit_code: int, builds: Sequence[tuple[str, Standing, Sequence[ChangedKey]]] = ()
) -> dict[str, Any]:
    """What a check found; `builds` are path, standing and changed keys of each spec that could be taken."""
    return {
        "version": VERSION,
        "exit_code": exit_code,
        "builds": [{"path": path, "standing": _standing(found, changed)} for path, found, changed in builds],
        "problems": [problem_json(p) for p in problems],
    }


def compare_json(comparison: Comparison) -> dict[str, Any]:
    """What differs between two studies. Inputs are as written in the specs, results are quantities; null is not there."""
    sides = (comparison.before, comparison.after)
    before, after = ({"slug": s.build.slug, "title": s.build.spec.title, "path": s.build.path} for s in sides)
    return {
        "version": VERSION,
        "gasdoc": __version__,
        "before": before,
        "after": after,
        "changes": [
            {
                "group": c.group,
                "subject": c.subject,
                "name": c.name,
                "what": c.what,
                "before": _value(c.before),
                "after": _value(c.after),
            }
            for c in comparison.changes
        ],
    }


def _value(value: Value) -> Quantity | str | None:
    if not isinstance(value, Amount):
        return value
    own = {"days": "day", "pieces": "each"}.get(value.kind)
    return quantity(value.value, own or (units.si_of(value.kind) if value.kind in units.kinds() else value.kind))


def capacity_json(
    size: Size, path_length: float, inlet_gauge: float, drop: float, answer: Answer | Unserved
) -> dict[str, Any]:
    """What one size carries: what table, code equation and fit give, what is to be used, and where from."""
    found: dict[str, Any] = {
        "version": VERSION,
        "material": size.material,
        "size": size.label,
        "path_length": quantity(path_length, "m"),
        "path_length_is": "from the final regulator to the farthest outlet",
        "inlet_pressure": quantity(inlet_gauge, "Pa"),
        "drop": quantity(drop, "Pa"),
        **_answer(answer),
    }
    return found


def _answer(answer: Answer | Unserved) -> dict[str, Any]:
    if isinstance(answer, Unserved):
        return {
            "table": None,
            "equation": None,
            "fit": None,
            "used": None,
            "basis": f"outside-{answer.reason}",
            "row": None,
            "maker_rules": False,
            "source": str(answer.source) if answer.source else None,
        }
    return {
        "table": quantity(answer.cell, "W"),
        "equation": quantity(answer.equation, "W"),
        "fit": quantity(answer.fit, "W"),
        "used": quantity(answer.value, "W"),
        "basis": answer.basis,
        "row": quantity(answer.row_length, "m"),
        "maker_rules": answer.maker_rules,
        "source": str(answer.source),
    }


def _zone(zone: SizedZone) -> dict[str, Any]:
    return {
        "id": zone.id,
        "inlet_pressure": quantity(float(zone.regulator.outlet), "Pa"),
        "drop_allowed": {**(quantity(zone.conditions.drop, "Pa") or {}), "source": str(zone.allowance)},
        "longest_path": quantity(zone.longest, "m"),
        "load": quantity(zone.load, "W"),
    }


def _pressures(zone: SizedZone, solved: ZonePressure) -> dict[str, Any]:
    """Gauge pressures with everything on, unless they say otherwise. Behind `no_size` and `lacking` nothing is known."""
    return {
        "regulator_least": quantity(solved.lowest, "Pa"),
        "regulator_locked_up": quantity(solved.highest, "Pa"),
        "tolerance_known": solved.tolerance_known,
        "lock_up_known": solved.lock_up_known,
        "worst_drop": quantity(solved.worst_drop, "Pa"),
        "runs": [
            {
                "id": r.id,
                "at_its_end": quantity(p.gauge, "Pa"),
                "drop": quantity(p.drop, "Pa"),
                "drop_code_equation": quantity(p.code_drop, "Pa"),
                "drop_darcy_weisbach": quantity(p.darcy_drop, "Pa"),
                "speed": quantity(p.speed, "m/s"),
                "reynolds": quantity(p.re, "1"),
                "regime": p.regime,
                "more_load": quantity(p.more_load, "W"),
                "more_length": quantity(p.more_length, "m"),
            }
            for r in zone.runs
            if (p := r.pressure) is not None
        ],
        "outlets": [
            {
                "id": o.id,
                "everything_on": quantity(o.full, "Pa"),
                "alone": quantity(o.alone, "Pa"),
                "regulator_low": quantity(o.lowest, "Pa"),
                "nothing_on": quantity(o.highest, "Pa"),
                "plate_least": quantity(o.minimum, "Pa"),
                "plate_most": quantity(o.maximum, "Pa"),
                "connector_drop": quantity(o.connector_drop, "Pa"),
                "starved": o.starved,
            }
            for o in solved.outlets
        ],
        "regulators": [{"id": id_, "arriving": quantity(gauge, "Pa")} for id_, gauge in solved.regulators],
        "scenarios": [
            {"name": s.name, "outlets": [{"id": id_, "gauge": quantity(gauge, "Pa")} for id_, gauge in s.gauges]}
            for s in solved.scenarios
        ],
        "not_known_at": [o.id for o in solved.behind],
        "no_size": [t.run for t in solved.tried],
        "lacking": [
            {
                "regulator": k.regulator,
                "why": k.why,
                "has": quantity(k.has, _LACK_UNIT[k.why]),
                "needs": quantity(k.needs, _LACK_UNIT[k.why]),
            }
            for k in solved.lacks
        ],
    }


_LACK_UNIT = {"inlet": "Pa", "outlet": "Pa", "gas": "Pa", "capacity": "W"}


def _run(run: Line) -> dict[str, Any]:
    return {
        "id": run.id,
        "from": run.upstream,
        "to": run.downstream,
        "zone": run.zone,
        "material": run.material,
        "type": run.kind,
        "size": run.size.label if run.size else None,
        "size_id": run.size.id if run.size else None,
        "given": run.given,
        "enlarged": run.enlarged,
        "length": quantity(float(run.part.length), "m"),
        "load": quantity(run.load, "W"),
        "methods": {"longest_length": _method(run.longest), "branch_length": _method(run.branch)},
    }


def _method(method: Method) -> dict[str, Any]:
    return {
        "length": quantity(method.length + method.extra, "m"),
        "added_for_fittings": quantity(method.extra, "m"),
        "size_needed": method.needed.label if method.needed else None,
        "enough": method.enough,
        "capacity": _answer(method.capacity),
    }


def _outlet(s: Any) -> dict[str, Any]:
    outlet = s.outlet
    connector = outlet.connector
    return {
        "id": s.id,
        "appliance": s.appliance.name,
        "load": quantity(s.load, "W"),
        "distance": quantity(outlet.distance, "m"),
        "connector": {"kind": connector.kind, "length": quantity(connector.length, "m")} if connector else None,
    }
