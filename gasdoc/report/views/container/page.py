"""The container: whether it keeps up in the cold, how long it lasts, and what holds it on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from gasdoc import units
from gasdoc.catalog import containers as catalog
from gasdoc.catalog.appliances import day
from gasdoc.catalog.containers import ContainerKind
from gasdoc.engineering.constants import DAY
from gasdoc.engineering.container.endurance import number_by_rule
from gasdoc.engineering.container.vaporisation import CEILING_COEFFICIENT, COEFFICIENT
from gasdoc.report.content import words
from gasdoc.report.content.words import Quantities, first_upper
from gasdoc.report.drawings.chart import Axis, BarAmount, BarPart, Curve, LineChart, Style, bar_chart, line_chart
from gasdoc.report.views.container import mount
from gasdoc.source import Citation
from gasdoc.study import Study
from gasdoc.study.answers import ends_words
from gasdoc.study.container.cold_day import (
    FILLS,
    GRID_FILLS,
    HEAT_WORDS,
    UNCERTAIN,
    Cell,
    Cold,
    Heat,
    Limit,
    SimulatedDay,
    clock,
    fill_words,
    joined_words,
)
from gasdoc.study.container.coldest_days import Usable, days_words
from gasdoc.study.container.draw_off import PATTERNS
from gasdoc.study.container.endurance import storage_asked
from gasdoc.study.container.kinds_that_serve import Serving, Servings
from gasdoc.study.container.mounting import NOT_CHECKED, ways
from gasdoc.study.container.other_days import More, OtherDays
from gasdoc.study.container.sets import MOST

METHODS = {
    "heat-balance": "heat balance",
    "cylinder-table": "cylinder table, a ceiling",
    "cylinder-table-by-area": "cylinder table by wetted skin, a ceiling",
    "length-rule": "diameter x length rule",
}
_STYLES: tuple[Style, ...] = ("one", "two", "three")
_SUGGESTED = 8


def view(study: Study) -> dict[str, Any]:
    """Suitability, the cold day, supply, endurance, kinds that would serve, and the mount."""
    q, cold = Quantities.of(study.build), study.cold
    other, servings = study.other_days(q.system), study.servings
    runs = other.days if other is not None else ()
    found = [f for f in study.said if f.subject == "container"]
    return {
        "found": found,
        "held_figures": _figures(study, q),
        "kind_facts": _kind(study, q),
        "answer": study.answers.cold_night,
        "uncertain": "" if any(UNCERTAIN in f.reason for f in found) else UNCERTAIN,
        "cold": cold,
        "need": cold.rig.need if cold is not None else None,
        "day_rows": _day(study, q),
        "chart": _chart(cold, runs, q),
        "chart_rows": _chart_rows(runs, q),
        "chart_columns": [
            "Time",
            *({"label": fill_words(run.fill), "unit": q.unit("container pressure"), "number": True} for run in runs),
        ],
        "run_rows": [_run_row(cold, run, q) for run in runs] if cold is not None else [],
        "grid_columns": ["Air", *(_fill_label(f) for f in GRID_FILLS)],
        "grid_rows": _grid(other, q),
        "heat_rows": _heat(cold, other),
        "usable_words": _usable_words(study, q),
        "largest_rows": _largest(cold, other, q),
        "draw": cold.table if cold is not None else None,
        "draw_rows": _draw(cold, q),
        "supply": _supply(cold, other, q),
        "supply_rows": _supply_used(other, q),
        "rules_of_thumb": _rules_of_thumb(study, q),
        "more_rows": [_more_row(more, q) for more in (other.one_more if other is not None else ())],
        "daily_rows": [
            [d.name, q.both(d.energy, "energy"), q.both(d.mass, "weight"), q.both(d.volume, "liquid volume")]
            for d in study.endurance.daily
        ],
        "season_rows": _seasons(study, q),
        "energy_chart": _energy_chart(study, q),
        "servings": servings,
        "serving_rows": [_serving(s, q) for s in (servings.found[:_SUGGESTED] if servings is not None else ())],
        "serving_limits": _serving_limits(servings),
        "must_last": study.build.spec.container.must_last,
        "heat_words": HEAT_WORDS[cold.rig.careful] if cold is not None else "",
        "most": MOST,
        "mount_facts": mount.facts(study, q),
        "mount_drawings": mount.drawings(study, q),
        "mount_checks": mount.checks(study),
        "mount_ways": [[first_upper(name), asks, source] for name, asks, source in ways()],
        "mount_beside": mount.beside(study),
        "not_checked": NOT_CHECKED,
        "clearance_rows": list(mount.clearances(study, q)),
        "clearance_drawings": mount.around(study, q),
        "locker_facts": mount.locker(study, q),
        "coefficients": (COEFFICIENT, CEILING_COEFFICIENT),
        "supply_sources": _supply_sources(study),
        "supply_columns": [
            "Air",
            *({"label": fill_words(f).capitalize(), "unit": q.unit("load"), "number": True} for f in FILLS),
        ],
    }


def _most_gas(study: Study, q: Quantities) -> Markup:
    """The gas of the weight, where the kind is sold with more in it than is counted on."""
    container = study.container
    if container.heaviest_fuel == container.fuel_mass:
        return Markup("")
    return Markup(", and up to {} of gas in each").format(q(container.heaviest_fuel, "weight"))


def _figures(study: Study, q: Quantities) -> list[tuple[str, Any, Any]]:
    container, lasting = study.container, study.endurance
    answers, cold = study.answers, study.cold
    figures: list[tuple[str, Any, Any]] = [
        ("A cold night", answers.cold_night.word, answers.cold_night.why),
        ("A full supply lasts", answers.full_supply.word, answers.full_supply.why),
        ("Gas when full", q.both(container.fuel_mass * container.number, "weight"), q.both(container.energy, "energy")),
        (
            "Weight when full",
            q.both(lasting.weights.full, "weight"),
            Markup("{} empty").format(q(lasting.weights.empty, "weight")) + _most_gas(study, q),
        ),
    ]
    if cold is not None and cold.coldest is not None:
        load, limit = cold.largest_at(cold.coldest, FILLS[-1])
        figures.append(
            (
                "Largest load for 24 hours",
                q.both(load, "load"),
                Markup("in air of {}, one fifth full, {}").format(q(cold.coldest, "temperature"), _LIMITS[limit]),
            )
        )
    fill = study.build.spec.container.fill
    if fill is not None:
        left = container.fuel_mass * container.number * fill / container.fill
        now = study.usable_now
        days = "" if now is None else f", lasts {days_words(now.days, now.at_least)} in the coldest air"
        figures.append(("In it now", q.both(left, "weight"), f"its gauge at {fill.text}{days}"))
    return figures


_LIMITS: dict[Limit, str] = {
    "boil-off": "limited by the heat that gets in",
    "gas left": "limited by the gas left, not by the heat that gets in",
    "trade's table": "limited by the trade's table of draw-off",
}


def _kind(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    kind, container, c = study.build.container_kind, study.container, study.build.spec.container
    stays = {
        "permanent": "filled in place, does not come off",
        "removable": "comes off to be filled",
        "exchanged": "exchanged, never refilled by its user",
        "either": "comes off, or is filled where it is if the filler does so",
    }
    return [
        ("Kind", kind.title),
        ("Gives", f"{' or '.join(kind.withdrawal)}, here {c.service} is drawn"),
        (
            "Made to",
            f"{' or '.join({'upright': 'stand', 'horizontal': 'lie'}[o] for o in kind.orientation)}, here it is "
            + ({"upright": "standing", "horizontal": "lying"}[c.orientation] if c.orientation else "not stated"),
        ),
        ("Filling", f"{stays[kind.stays]}. {kind.filling}"),
        ("Filled by", Markup('{} <span class="small">{}</span>').format(kind.filled_by, kind.filling_source)),
        (
            "Fill limit",
            Markup("{} of gas in {} of water capacity ({})").format(
                q.both(container.fuel_mass, "weight"),
                q.both(container.water_capacity, "liquid volume"),
                container.water_source,
            ),
        ),
        *_relief(kind, q),
        (
            "Requalification",
            Markup('{} <span class="small">{}</span>').format(kind.requalification.text, kind.requalification.source),
        ),
        (
            "Outside",
            Markup("{} across, {} {}; {}. {}").format(
                q(container.shape.diameter, "short length"),
                q(container.shape.length, "short length"),
                "high with collar and foot ring" if kind.orientation == ("upright",) else "long",
                container.shape.sizes,
                kind.load_rule,
            ),
        ),
    ]


def _relief(kind: ContainerKind, q: Quantities) -> Iterator[tuple[str, Any]]:
    """At what pressure gas is let off, where that is known."""
    if kind.relief is not None:
        opens = Markup(" or ").join(q(float(pressure), "container pressure") for pressure in kind.relief.opens)
        source = Markup('<span class="small">{}</span>').format(kind.relief.source)
        yield (
            "Relief valve",
            Markup("set to open at {}, as its kind usually is. What is stamped on it rules. {}").format(opens, source),
        )


def _day(study: Study, q: Quantities) -> list[list[Any]]:
    rows = []
    for s in study.served:
        blocks = [b for b in study.cold.blocks if b.outlet == s.id] if study.cold is not None else []
        when = ", ".join(f"{_midnight(b.start)} to {_midnight(b.start + b.length)}" for b in blocks)
        if blocks and blocks[0].length >= DAY:
            when = "all day"
        rows.append(
            [
                s.appliance.name,
                q.number(blocks[0].load if blocks else s.load, "load"),
                when or ("not used" if s.per_day == 0 else "not stated, left out"),
                day().kinds[s.appliance.kind].words,
            ]
        )
    return rows


def _midnight(seconds: float) -> str:
    return clock(seconds - 43200.0)


def _pressure(gauge: float, q: Quantities) -> float:
    return units.convert(gauge, "pressure", q.unit("container pressure"))


def _chart(cold: Cold | None, runs: tuple[SimulatedDay, ...], q: Quantities) -> LineChart | None:
    if cold is None or not runs:
        return None
    series = [
        Curve(fill_words(run.fill), tuple((t / 3600, _pressure(max(p, 0.0), q)) for t, p in run.trace), style)
        for run, style in zip(runs, _STYLES, strict=True)
    ]
    need = _pressure(cold.rig.need.gauge, q)
    series.append(Curve("needed", ((0.0, need), (24.0, need)), "limit"))
    ends = "; ".join(f"{fill_words(run.fill)} it {ends_words(run)}" for run in runs)
    return line_chart(
        "cold-day",
        f"Pressure in the container over the coldest day, {units.show(runs[0].air, 'temperature', q.system)}",
        f"From noon to noon, for three fills, against the pressure the regulator and its connector need: {ends}.",
        Axis("time of day", (0.0, 6.0, 12.0, 18.0, 24.0), lambda h: clock(h * 3600)),
        Axis(f"{q.unit('container pressure')}, gauge"),
        series,
    )


def _chart_rows(runs: tuple[SimulatedDay, ...], q: Quantities) -> list[list[str]]:
    rows = []
    for hour in range(0, 25, 2):
        cells = []
        for run in runs:
            near = min(run.trace, key=lambda point: abs(point[0] - hour * 3600))
            cells.append(
                q.number(max(near[1], 0.0), "container pressure") if abs(near[0] - hour * 3600) <= 1300 else "-"
            )
        rows.append([clock(hour * 3600.0), *cells])
    return rows


def _run_row(cold: Cold, run: SimulatedDay, q: Quantities) -> list[Any]:
    changed = (
        f", the changeover goes on to the next {'bank' if cold.rig.feeding > 1 else 'container'} at {clock(run.changed)}"
        if run.changed is not None
        else ""
    )
    largest = cold.largest_at(run.air, run.fill)[0]
    return [
        fill_words(run.fill).capitalize(),
        q.number(run.lowest_gauge, "container pressure"),
        q.number(largest, "load"),
        ends_words(run) + changed,
    ]


def _fill_label(fill: float) -> str:
    return "Full" if fill == 1.0 else f"{fill * 100:.0f} %"


def _cell(cell: Cell) -> str:
    if cell.short_from is None:
        return "enough"
    return f"{'empty' if cell.reason == 'empty' else 'short'} {clock(cell.short_from)}"


def _grid(other: OtherDays | None, q: Quantities) -> list[list[Any]]:
    rows: list[list[Any]] = []
    cells = other.fill_and_air if other is not None else ()
    for i, row in enumerate(cells):
        every = all(cell.short_from is None for cell in row)
        warmer = " and warmer" if every and i < len(cells) - 1 else ""
        rows.append([q(row[0].air, "temperature") + warmer, *(_cell(cell) for cell in row)])
        if every:  # and so is all that is warmer
            break
    return rows


def _supply(cold: Cold | None, other: OtherDays | None, q: Quantities) -> list[dict[str, Any]]:
    """For each fill a table over air temperature, with every method that applies."""
    if cold is None or other is None:
        return []
    tables = []
    for fill in FILLS:
        rows, methods = [], []
        for air, supply in other.supply_at(fill):
            methods = [estimate.method for estimate in supply.estimates]
            rows.append(
                [
                    q(air, "temperature"),
                    *(_marked(e.rate, " *" if e.basis == "extrapolated" else "", q) for e in supply.estimates),
                    q.number(supply.rate, "load"),
                    METHODS[supply.limiting].partition(",")[0],
                ]
            )
        load = {"unit": q.unit("load"), "number": True}
        columns = [
            "Air",
            *({"label": METHODS[m].capitalize(), **load} for m in methods),
            {"label": "Used" if cold.rig.feeding == 1 else f"Used, {cold.rig.feeding} in parallel", **load},
            "The lower one is",
        ]
        tables.append({"title": fill_words(fill), "columns": columns, "rows": rows})
    return tables


def _supply_sources(study: Study) -> list[Citation]:
    """The source of the published method that applies to this container, of itself or by way of its ceiling."""
    lies = study.container.shape.vessel.orientation == "horizontal"
    return [catalog.supply_sources()["length-rule" if lies else "cylinder-table"]]


def _supply_used(other: OtherDays | None, q: Quantities) -> list[list[Any]]:
    """The lowest method's rate over air temperature and fill; what the published table or rule gives is marked."""
    if other is None:
        return []
    rows: dict[float, list[Any]] = {}
    for at in other.supply:
        mark = "" if at.supply.limiting == "heat-balance" else " †"
        rows.setdefault(at.air, [q(at.air, "temperature")]).append(_marked(at.supply.rate, mark, q))
    return list(rows.values())


def _marked(rate: float, mark: str, q: Quantities) -> str:
    """A rate with a mark behind it, in both units."""
    number = q.number(rate, "load")
    return words.Text(number + mark, number.other) if isinstance(number, words.Text) else number + mark


def _rules_of_thumb(study: Study, q: Quantities) -> list[Markup]:
    """Published rules that answer in containers, beside the methods above."""
    found: list[Markup] = []
    cold = study.cold
    if cold is None or cold.coldest is None:
        return found
    if study.build.container_kind.id == "dot-100lb":
        rate, air, source = catalog.planning_rule()
        if cold.coldest >= air - 0.01:
            found.append(
                Markup(
                    "The handbook's planning rule counts {} for each 100-lb cylinder down to {}: {} for all appliances at once. Source: {}."
                ).format(q(rate, "load"), q(air, "temperature"), number_by_rule(study.load, rate), source)
            )
        else:
            found.append(
                Markup(
                    "The handbook's planning rule, {} for each 100-lb cylinder, ends at {}. It is colder here. Source: {}."
                ).format(q(rate, "load"), q(air, "temperature"), source)
            )
    if study.container.shape.vessel.orientation == "horizontal":
        size, source = storage_asked(study.build, study.load, cold.coldest), catalog.supply_sources()["storage-size"]
        asks = (
            Markup("does not reach so far")
            if size is None
            else Markup("asks for {} of water, at least half full,").format(q(size, "liquid volume"))
        )
        found.append(
            Markup(
                "The handbook's table for storage beside buildings {} with everything on. That is about twice"
                " as demanding as the rule. Source: {}."
            ).format(asks, source)
        )
    return found


def _more_row(more: More, q: Quantities) -> list[Any]:
    name = joined_words(more.number, more.manifold)
    label = name.capitalize() if more.number == 1 else f"{more.number}, {name}"
    return [label, *(ends_words(run) for run in more.runs), q.number(more.largest, "load")]


def _seasons(study: Study, q: Quantities) -> list[list[Any]]:
    lasting = study.endurance
    rows = []
    for s in lasting.seasons:
        days = "no use" if s.days is None else days_words(s.days).removeprefix("about ")
        cost = words.NOT_KNOWN if s.cost is None else f"{s.cost:.2f} {lasting.currency}"
        total = "" if s.total is None else q(s.total, "weight")
        name = s.name.capitalize()
        air = Markup("{}, coldest air {}").format(name, q(s.air, "temperature")) if s.air is not None else name
        rows.append([air, q.both(s.per_day, "weight"), days, cost, total])
    return rows


def _energy_chart(study: Study, q: Quantities) -> Any:
    amounts = [
        BarAmount(d.name, units.show(d.energy, "energy", q.system), (BarPart(d.energy),))
        for d in study.endurance.daily
        if d.energy is not None
    ]
    if not amounts:
        return None
    said = "; ".join(f"{amount.label}: {amount.words}" for amount in amounts)
    return bar_chart("energy-a-day", "Energy each appliance takes on a cold day", said, amounts)


def _heat(cold: Cold | None, other: OtherDays | None) -> list[list[Any]]:
    """The ends of the heat that gets in: the coldest day by fill, and how long a full supply lasts, at each."""
    if cold is None or cold.coldest is None or not cold.rig.periods or other is None:
        return []
    rows = []
    ends = {end.heat: end for end in other.heat}
    for heat in _ENDS[cold.rig.stated]:
        found = ends[heat].usable
        used = [w for w, end in (("a day", cold.rig.stated), ("days on end", cold.rig.careful)) if end == heat]
        rows.append(
            [
                HEAT_WORDS[heat].capitalize(),
                f"{ends[heat].coefficient:.1f}",
                *map(_cell, cold.at_coldest(heat)),
                "" if found is None else days_words(found.days, found.at_least),
                " and ".join(used) or ("a still night" if heat == "still" else "not used"),
            ]
        )
    return rows


_ENDS: dict[Heat, tuple[Heat, ...]] = {
    "moving": ("moving", "less", "still"),
    "still": ("still", "moving"),
    "less": ("less",),
}
"""The ends that are told beside each other, by the one a day is told with."""


def _usable_words(study: Study, q: Quantities) -> list[Markup]:
    """How long a full supply lasts in the coldest air, in sentences."""
    found, cold = study.usable, study.cold
    if found is None or cold is None or cold.coldest is None:
        return []
    days = days_words(found.days, found.at_least)
    said = [
        Markup("<strong>In air of {} a full supply lasts {}.</strong> {}").format(
            q(cold.coldest, "temperature"), days, _against(found)
        )
    ]
    if not found.at_least:
        left = Markup(" and ").join(q.both(mass, "weight") for mass in found.left)
        each = " in each" if cold.rig.feeding > 1 else ""
        said.append(
            Markup(
                "What is left then: {}{}, {} of a full supply. It boils off too slowly for the largest use of the day. In milder "
                "air it comes."
            ).format(left, each, words.percent(found.fill_left))
        )
    if (first := found.changed[0]) is not None and len(found.changed) > 1:
        said.append(
            Markup(
                "The changeover first goes on to the next {} after {}, with {} left in {}. It switches "
                "on low pressure, not when a container is empty: one whose flag is red may still hold gas. Weigh it before it "
                "is swapped. Used again by day or in milder air it gives more."
            ).format(
                "bank" if cold.rig.feeding > 1 else "container",
                days_words(first[0] / DAY),
                q.both(first[1], "weight"),
                "each that it leaves" if cold.rig.feeding > 1 else "the one it leaves",
            )
        )
    return said


_LASTS = {True: "it lasts so long", False: "it does not last so long", None: "so far was not looked ahead"}


def _against(found: Usable) -> str:
    if found.must_last is None:
        return "The spec does not say how long it should last ('must_last:')."
    asked = f"{found.must_last:.1f}".removesuffix(".0")
    return f"Asked are {asked} days: {_LASTS[found.enough]}."


def _largest(cold: Cold | None, other: OtherDays | None, q: Quantities) -> list[list[Any]]:
    """The largest load without a break for 24 hours, over air and fill; a mark where the heat does not limit it."""
    if cold is None or other is None:
        return []
    marks: dict[Limit, str] = {"boil-off": "", "gas left": " *", "trade's table": " †"}
    rows: dict[float, list[Any]] = {}
    for at in other.supply:
        load, limit = cold.largest_at(at.air, at.fill)
        rows.setdefault(at.air, [q(at.air, "temperature")]).append(_marked(load, marks[limit], q))
    return list(rows.values())


def _draw(cold: Cold | None, q: Quantities) -> list[list[Any]]:
    if cold is None or cold.table is None:
        return []
    return [
        [
            PATTERNS[row.pattern].capitalize(),
            f"{row.flow * 3600:.1f} kg/h",
            q.number(row.load, "load"),
            q.number(row.asks, "load"),
            "within" if row.enough else "more is asked",
        ]
        for row in cold.table.rows
    ]


def _serving(s: Serving, q: Quantities) -> list[Any]:
    way = f", {joined_words(s.number, s.manifold)}" if s.number > 1 else ""
    size = Markup(", {}").format(q(s.water, "liquid volume")) if s.water else ""  # filled in place: one of it
    own = " (this build's)" if s.own else ""
    return [
        Markup("{} x {}{}{}{}").format(s.number, s.name, size, way, own),
        days_words(s.days, s.at_least).removeprefix("about "),
        _fill_label(s.lasts_to_fill).lower(),
        q.number(s.one_full, "weight"),
        q.number(s.weight_full, "weight"),
        Markup("{} x {}").format(q(s.diameter, "short length"), q(s.length, "short length")),
    ]


def _serving_limits(found: Servings | None) -> list[str]:
    """The limits of the region that hold for sets of containers, and what they keep out."""
    if found is None:
        return []
    asked = {kept.rule: f"{kept.asks} ({kept.citation})" for s in found.found for kept in s.limits}
    out: dict[str, list[str]] = {}
    for name, rule in found.left_out:
        asked[rule.id] = f"{rule.asks} ({rule.citation})"
        out.setdefault(rule.id, []).append(name)
    return [f"{text} Kept out by it: {', '.join(out[id_])}." if id_ in out else text for id_, text in asked.items()]
