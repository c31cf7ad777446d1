"""What holds the container, the locker it stands in and the distances around it, as the page shows them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from markupsafe import Markup

from gasdoc.engineering.container.mounting import Load
from gasdoc.report.content import words
from gasdoc.report.content.words import Quantities
from gasdoc.report.drawings import mount_drawing
from gasdoc.report.drawings.mount_drawing import MountDrawing
from gasdoc.study import Study
from gasdoc.study.container.mounting import Check, times
from gasdoc.study.facts import setting

_STANDING = {
    "met": "within, by the numbers",
    "not-met": "beyond",
    "unconfirmed": "within, but the multiple is from memory",
}


def facts(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    """What holds it: straps and their like, then bolts."""
    return [*_tie_facts(study, q), *_bolt_facts(study, q)]


def drawings(study: Study, q: Quantities) -> tuple[MountDrawing, ...]:
    """The container with what holds it, from two sides; its bolts where they are worked out."""
    shape, force = study.container.shape, lambda newton: _force(newton, q)
    if shape.contradiction is not None:
        return ()
    if study.mount is not None:
        return mount_drawing.bolted(study.mount, shape, force, q.system)
    return mount_drawing.tied(study.tie, shape, force) if study.tie is not None else ()


def around(study: Study, q: Quantities) -> tuple[MountDrawing, ...]:
    """The distances around it, drawn."""
    return tuple(mount_drawing.around(study.clearances, q.system))


def _tie_facts(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    tied = study.tie
    if tied is None:
        return []
    g = tied.given
    carried = (
        f"{times(tied.carried)} times the filled weight, if all pull the same way"
        if tied.carried is not None
        else words.NOT_KNOWN
    )
    return [
        ("Held by", f"{tied.name}" + (f", {g.number} to a container" if g.number is not None else "")),
        ("Fixed to", g.fixed_to or words.NOT_KNOWN),
        ("Rated for, each", g.rated.text if g.rated is not None else words.NOT_KNOWN),
        ("Rated for, together", carried),
        ("Filled weight of one", q.both(tied.mass, "weight")),
        ("What is looked at", f"{tied.asks} {tied.citation}"),
    ]


def _bolt_facts(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    m = study.mount
    if m is None:
        return []
    g = m.given
    return [
        (
            "Bolts",
            (
                f"{m.count} x {m.bolt.thread}, {m.bolt.grade}: {_force(m.bolt.proof_load, q)} proof load each, "
                f"{m.bolt.area * 1e6:.1f} mm2 ({m.bolt.area / 0.00064516:.4f} in2) stress area"
            ),
        ),
        ("Strength", str(m.bolt.strength_source)),
        ("Stress area", str(m.bolt.area_source)),
        ("Surface", g.surface.replace("-", " ")),
        (
            "Places",
            (
                f"along {', '.join(v.text for v in g.along)}, across {', '.join(v.text for v in g.across)}, the container over"
                " their middle"
            ),
        ),
        (
            "Filled weight",
            Markup("{} with what is fixed to it{}").format(
                q.both(m.mass, "weight"),
                "" if g.fittings is not None else ", without the fittings, whose weight is not stated",
            ),
        ),
        (
            "Centre of gravity",
            Markup("{} from the surface, filled{}").format(
                q(m.centre, "short length"), f", {g.spacer.text} of spacers in it" if g.spacer else ""
            ),
        ),
    ]


def _force(newton: float, q: Quantities) -> str:
    return f"{newton / 4.4482216:,.0f} lbf" if q.system == "us" else f"{newton / 1000:,.2f} kN"


def checks(study: Study) -> list[dict[str, Any]]:
    """The bolts against each multiple that the region asks."""
    m = study.mount
    return [] if m is None else [_check(c, Quantities.of(study.build)) for c in m.checks if not c.beside]


def beside(study: Study) -> list[list[Any]]:
    """Rules of other sources: one line each, with the direction that leaves the bolts least."""
    checks = [c for c in study.mount.checks if c.beside] if study.mount is not None else []
    return [
        [
            c.asks,
            f"{c.multiple:g}"
            + (f", safety factor {c.safety_factor:g} on {c.strength} strength" if c.safety_factor != 1.0 else ""),
            _utilisation(c.worst),
            f"{c.worst.direction}: {_STANDING[c.worst.standing]}",
            str(c.citation),
        ]
        for c in checks
    ]


def _utilisation(load: Load) -> str:
    return "no hold" if load.reason else f"{load.utilisation * 100:.0f} %"


def _check(check: Check, q: Quantities) -> dict[str, Any]:
    rows = [
        [
            load.direction.capitalize(),
            _force(load.force, q),
            _force(load.tensions[load.worst], q),
            _force(load.shears[load.worst], q),
            _utilisation(load),
            _STANDING[load.standing],
        ]
        for load in check.loads
    ]
    factor = f", with a safety factor of {check.safety_factor:g}" if check.safety_factor != 1.0 else ""
    title = f"{check.multiple:g} times the filled weight{factor}, on the bolts' {check.strength} strength"
    worst = f"{check.worst.direction}, {_utilisation(check.worst)} of its limit, {_STANDING[check.worst.standing]}"
    return {"title": title, "asks": check.asks, "citation": check.citation, "rows": rows, "worst": worst}


def locker(study: Study, q: Quantities) -> list[tuple[str, Any]]:
    """The locker as the spec has it; none where the container stands in none."""
    container = study.build.spec.container
    if container.place != "locker":
        return []
    locker = container.locker
    sizes = [q(getattr(locker, key, None), "short length") for key in ("length", "width", "height")]
    return [
        ("Inside: length, width, height", Markup(" x ").join(sizes)),
        ("Openings near the top", q.both(getattr(locker, "vent_high", None), "area")),
        ("Openings at the floor", q.both(getattr(locker, "vent_low", None), "area")),
        ("Bore of the drain", q.both(getattr(locker, "drain", None), "short length")),
        ("Vent or drain to the nearest opening", q.both(getattr(locker, "to_opening", None), "distance")),
        *(
            [("Drain above the waterline", q.both(getattr(locker, "drain_above_water", None), "short length"))]
            if setting(study.build) == "boat"
            else []
        ),
    ]


def clearances(study: Study, q: Quantities) -> Iterator[list[Any]]:
    """The distances around it, with the limit known for each."""
    for c in study.clearances:
        asked = q(c.limit, "distance") if c.limit is not None else "no figure known here"
        has = q(c.value, "distance") if c.value is not None else "not stated: measure and ask"
        if c.value is not None and c.value == c.placed:
            has += ", by their places"
        result = {
            "asked": "ask",
            "under the limit": "under the figure",
            "over the limit": "not under the figure",
            "limit from memory": "over the figure, which is not confirmed: ask",
            "no limit known": "ask",
        }[c.answer]
        yield [c.asks, has, asked, result, c.citation]
