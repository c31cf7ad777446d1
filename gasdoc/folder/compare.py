"""What differs between two studies: two builds, or one build at two revisions. Inputs and results, matched by stable ids.

An input has changed when its value has: 1 ft and 12 in are the same. A result has changed when it prints differently in
some unit system. What is true of one build's parts only (dates of manufacture, serial numbers) and what is said about it
(title, summary, log) is not compared.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal

from msgspec import Struct
from pydantic import BaseModel

from gasdoc import units
from gasdoc.build.model import Outlet, Run, Spec
from gasdoc.build.model.values import BUILD as BUILD_CODE
from gasdoc.build.supply import REGULATOR, Node
from gasdoc.quantities import Aside, UnitOf
from gasdoc.study import facts
from gasdoc.study.container.coldest_days import Usable, days_words
from gasdoc.study.findings import Finding
from gasdoc.study.proof.standing import Proof
from gasdoc.study.study import Study
from gasdoc.study.supply.lines import Line
from gasdoc.units import Given

OF_RECORDS = {"test-covers-missing", "test-stale", "test-disturbed", "sign-off-stale", "sign-off-does-not-count"}
"""Findings that say what the records' own changes say already."""

Group = Literal["inputs", "results", "materials", "cost", "records", "findings"]

BUILD = "build"
"""Subject of what is about the whole build."""

COMPARED_TOO = {"draft", "bought", "in_use", "emergency", "wishes", "corner", "scenarios", "seasons"}
"""Keys at the top of a spec that no code holds, and that are compared all the same."""

ONE_BUILDS_OWN = {"id", "manufactured", "requalified", "serial", "replace_by", "covers", "fill", "photo"}
"""Keys that say something of one build's own parts: another cylinder of the same kind is no difference."""


class Amount(Struct, frozen=True):
    """A result in SI; `kind` is one of `units.kinds()`, or "days", "pieces" or a currency. `at_least`: so much or more."""

    amount: Annotated[float, UnitOf("unit")]
    kind: Annotated[str, Aside("the unit says it")]
    at_least: bool = False

    @property
    def unit(self) -> str:
        """The unit of the value: that of its kind, or the currency."""
        own = {"days": "day", "pieces": "count"}.get(self.kind)
        return own or (units.si_of(self.kind) if self.kind in units.kinds() else self.kind)


Value = Amount | str | None
"""Text is an input as it was written, or words; None is a thing that is not there."""


class Change(Struct, frozen=True):
    """One difference. `subject` is the stable id it is about (a part's key for materials), `name` that in words, `what` the
    quantity or key, empty where the subject itself came or went. `subtract` is false of sums that cover different lines."""

    group: Group
    subject: str
    name: str
    what: str
    before: Value
    after: Value
    subtract: bool = True


class Comparison(Struct, frozen=True):
    """All differences between two studies, in the order inputs, results, materials, cost, records, findings."""

    before: Annotated[Study, Aside("the document says it")]
    after: Annotated[Study, Aside("the document says it")]
    changes: tuple[Change, ...]

    def of(self, *groups: Group) -> tuple[Change, ...]:
        """The changes of some groups."""
        return tuple(change for change in self.changes if change.group in groups)


def compare(before: Study, after: Study) -> Comparison:
    """What is different in `after`."""
    changes = (
        *_inputs(before, after),
        *_results(before, after),
        *_materials(before, after),
        *_cost(before, after),
        *_records(before, after),
        *_findings(before, after),
    )
    return Comparison(before, after, changes)


# --- inputs ---------------------------------------------------------------------------------------------------------


def _inputs(before: Study, after: Study) -> Iterator[Change]:
    one, other = before.build.spec, after.build.spec
    # What the tightness code holds is compared element by element, below.
    top = [
        key for key, field in Spec.model_fields.items() if field.json_schema_extra == BUILD_CODE or key in COMPARED_TOO
    ]
    yield from _fields(BUILD, BUILD, {k: getattr(one, k) for k in top}, {k: getattr(other, k) for k in top}, "")
    yield from _fields("container", "container", _values(one.container), _values(other.container), "")
    yield from _fields(REGULATOR, REGULATOR, _values(one.regulator), _values(other.regulator), "")
    old, new = before.build.by_id, after.build.by_id
    for key in _together(old, new):
        left, right = old.get(key), new.get(key)
        if left is not None and right is not None and left.kind == right.kind:
            yield from _fields(key, _node_name(right), _values(left.part), _values(right.part), "")
        else:
            name = _node_name(right or left)
            yield Change("inputs", key, name, "", _node_words(left), _node_words(right))


def _together(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """The keys of both, in the new order, those that are gone at the end."""
    return [*new, *(key for key in old if key not in new)]


def _node_name(node: Node | None) -> str:
    assert node is not None
    return node.part.appliance.name if isinstance(node.part, Outlet) else node.id


def _node_words(node: Node | None) -> str | None:
    if node is None:
        return None
    if isinstance(node.part, Outlet):
        return f"{node.part.appliance.kind.replace('-', ' ')}, {node.part.appliance.input.text}"
    if isinstance(node.part, Run):
        return ", ".join(filter(None, (node.part.size, node.part.length.text)))
    return node.kind


def _values(block: BaseModel) -> dict[str, Any]:
    """The values of a block; a junction's branches are elements of their own."""
    return {key: getattr(block, key) for key in type(block).model_fields if key != "branches"}


def _fields(
    subject: str, name: str, before: Mapping[str, Any], after: Mapping[str, Any], above: str
) -> Iterator[Change]:
    for key in _together(before, after):
        if key in ONE_BUILDS_OWN:
            continue
        words = key.replace("_", " ")
        what = f"{above} {words}".strip() if above != "appliance" else words
        yield from _differ(subject, name, what, before.get(key), after.get(key))


def _differ(subject: str, name: str, what: str, one: Any, other: Any) -> Iterator[Change]:
    lists = [
        value for value in (one, other) if isinstance(value, list) and any(isinstance(v, BaseModel) for v in value)
    ]
    if isinstance(one, BaseModel) and isinstance(other, BaseModel):
        yield from _fields(subject, name, _values(one), _values(other), what)
    elif lists:
        old, new = ({_item_name(item, i): item for i, item in enumerate(value or [])} for value in (one, other))
        for key in _together(old, new):
            yield from _differ(subject, name, f"{what} {key}", old.get(key), new.get(key))
    elif not _same(one, other):
        yield Change("inputs", subject, name, what, _written(one), _written(other))


def _item_name(item: Any, place: int) -> str:
    """What tells one item of a list from the others: its name, or its kind and place."""
    words = [getattr(item, key, None) for key in ("name", "kind", "place")]
    return ", ".join(word for word in words if word) or str(place + 1)


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, Given) and isinstance(other, Given):
        return one.dimension == other.dimension and math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_same, one, other))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    return bool(one == other)


def _written(value: Any) -> str | None:
    """An input as text; None for what is not given."""
    if value is None or value in ([], {}):
        return None
    if isinstance(value, Given):
        return value.text
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, BaseModel):
        stated = {key: item for key, item in _values(value).items() if key not in ONE_BUILDS_OWN}
        return ", ".join(text for item in stated.values() if (text := _written(item)) is not None) or "stated"
    if isinstance(value, list):
        return ", ".join(str(_written(item)) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{key} {_written(item)}" for key, item in value.items())
    return value.isoformat() if isinstance(value, dt.date | dt.time) else str(value)


# --- results --------------------------------------------------------------------------------------------------------


def _results(before: Study, after: Study) -> Iterator[Change]:
    system = facts.system(after.build)
    yield from _amounts(BUILD, BUILD, _whole(before), _whole(after), system)
    old, new = before.lines, after.lines
    for key in _together(old, new):
        if key in old and key in new and (one := _size(old[key])) != (other := _size(new[key])):
            yield Change("results", key, key, "size", one, other)
    pressures, then = _outlets(after), _outlets(before)
    names = {s.id: s.name for s in (*before.served, *after.served)}
    for key in _together(then, pressures):
        yield from _amounts(key, names[key], then.get(key, {}), pressures.get(key, {}), system)
    yield from _amounts("container", "container", _held(before), _held(after), system)


def _whole(study: Study) -> dict[str, Amount | None]:
    return {
        "all appliances at once": Amount(study.load, "load"),
        "longest path": Amount(max((zone.longest for zone in study.zones), default=0.0), "run length"),
        "gas volume of the piping": Amount(study.leak_test.volume, "gas volume"),
    }


def _held(study: Study) -> dict[str, Amount | None]:
    cold = study.cold
    return {
        "gas when full": Amount(study.container.fuel_mass * study.container.number, "weight"),
        "lasts by its contents, on cold days": None
        if study.container.days is None
        else Amount(study.container.days, "days"),
        "lasts in the coldest air": lasting(study.usable),
        "largest load on the coldest day, nearly empty": (
            None if cold is None or cold.largest is None else Amount(cold.largest, "load")
        ),
    }


def lasting(found: Usable | None) -> Amount | None:
    """How long a full supply lasts; None where that is not known."""
    return None if found is None else Amount(found.days, "days", at_least=found.at_least)


def _size(run: Line) -> str:
    return run.size.label if run.size is not None else "no size found"


def _outlets(study: Study) -> dict[str, dict[str, Amount | None]]:
    """Per outlet its inlet pressure, where the zone could be solved."""
    return {
        outlet.id: {
            "inlet, everything on": Amount(outlet.full, "supply pressure"),
            "inlet, everything on and regulator low": Amount(outlet.lowest, "supply pressure"),
        }
        for outlet in study.outlets
    }


def _amounts(
    subject: str,
    name: str,
    before: Mapping[str, Amount | None],
    after: Mapping[str, Amount | None],
    system: units.System,
) -> Iterator[Change]:
    """What prints otherwise in the units of the newer build; a difference that only other units show is rounding."""
    for what in _together(before, after):
        one, other = before.get(what), after.get(what)
        if shown(one, system) != shown(other, system):
            yield Change("results", subject, name, what, one, other)


# --- materials, cost ------------------------------------------------------------------------------------------------


def _materials(before: Study, after: Study) -> Iterator[Change]:
    old, new = ({item.key: item for item in study.materials} for study in (before, after))
    system = facts.system(after.build)
    for key in _together(old, new):
        item = new.get(key) or old[key]
        if key in old and key in new and old[key].name != new[key].name:
            yield Change("materials", key, key, "", old[key].name, new[key].name)
        kind = "run length" if item.measured else "pieces"
        one, other = (Amount(side[key].quantity, kind) if key in side else None for side in (old, new))
        if shown(one, system) != shown(other, system):
            yield Change("materials", key, item.name, "", one, other)


def _cost(before: Study, after: Study) -> Iterator[Change]:
    """What there is to buy, by the known prices; nothing where only one side has any, or in another currency."""
    one, other = before.shopping, after.shopping
    if one.currency is None or one.currency != other.currency:
        return
    rows = [
        ("known prices, low end", one.low, other.low, one.currency),
        ("known prices, high end", one.high, other.high, one.currency),
        ("lines without a price", one.unknown, other.unknown, "pieces"),
    ]
    if one.low == one.high and other.low == other.high:
        rows[:2] = [("known prices", one.low, other.low, one.currency)]
    unpriced = [{line.key for line in side.to_buy if line.low is None} for side in (one, other)]
    for name, then, now, kind in rows:
        if shown(Amount(then, kind), "us") != shown(Amount(now, kind), "us"):
            alike = kind == "pieces" or unpriced[0] == unpriced[1]
            yield Change("cost", BUILD, name, "", Amount(then, kind), Amount(now, kind), subtract=alike)


# --- records and findings -------------------------------------------------------------------------------------------


def _records(before: Study, after: Study) -> Iterator[Change]:
    one, other = before.standing, after.standing
    if one.word != other.word:
        yield Change("records", BUILD, "standing", "", one.word, other.word)
    if before.build.slug != after.build.slug:
        return  # another build's tests say nothing of this one
    for which in ("tightness", "build"):
        code, code_now = getattr(one.codes, which), getattr(other.codes, which)
        if code != code_now:
            yield Change("records", BUILD, f"{which} code", "", code, code_now)
    old, new = ({f"{p.asked.test.id}-{p.asked.zone}": p for p in standing.proofs} for standing in (one, other))
    for key in _together(old, new):
        then, now = old.get(key), new.get(key)
        if _counts(then) != _counts(now):
            name = new.get(key, old.get(key))
            assert name is not None
            yield Change(
                "records", key, f"{name.asked.test.name}, behind {name.asked.zone}", "", _counts(then), _counts(now)
            )
    if (signed := _signed(before)) != (signed_now := _signed(after)):
        yield Change("records", "signed-off", "sign-off", "", signed, signed_now)


_WHY = {
    "missing": "no test is recorded",
    "not-passed": "does not count: the latest record is no pass",
    "to-come": "does not count: its date is still to come",
    "shared": "does not count: another spec holds the same record",
    "no-covers": "does not count: it does not say what it was made on",
    "old-code": "does not count: it names no code of this form",
    "stale": "no longer counts: the build has changed since",
    "size-open": "does not count: the spec leaves out the size of a run",
    "disturbed": "no longer counts: something happened to the system since",
}


def _counts(proof: Proof | None) -> str:
    if proof is None:
        return "not asked"
    return "counts" if proof.why is None else _WHY[proof.why]


def _signed(study: Study) -> str | None:
    standing = study.standing
    if standing.sign_off is None:
        return None
    return "counts as recorded" if standing.sign_off_why is None else f"does not count: {standing.sign_off_why}"


def _findings(before: Study, after: Study) -> Iterator[Change]:
    old, new = (
        {(f.code, f.subject): f for f in study.findings if f.code not in OF_RECORDS} for study in (before, after)
    )
    for key, finding in new.items():
        if key not in old or old[key].severity != finding.severity:
            yield _finding(finding, None, finding.message)
    for key, finding in old.items():
        if key not in new:
            yield _finding(finding, finding.message, None)


def _finding(finding: Finding, before: str | None, after: str | None) -> Change:
    return Change("findings", finding.subject, finding.code, str(finding.severity), before, after)


# --- text -----------------------------------------------------------------------------------------------------------


def shown(value: Value, system: units.System) -> str | None:
    """A value as text; None stays None."""
    if not isinstance(value, Amount):
        return value
    if value.kind == "days":
        return days_words(value.amount, value.at_least)
    if value.kind == "pieces":
        return f"{value.amount:g}"
    if value.kind not in units.kinds():
        return f"{value.amount:,.2f} {value.kind}"
    return units.show(value.amount, value.kind, system)


def lines(comparison: Comparison) -> list[str]:
    """The comparison in lines, each about one thing, in the units of the newer build."""
    system = facts.system(comparison.after.build)
    about: dict[str, list[str]] = {}
    for change in comparison.of("inputs", "results"):
        name = change.name if change.name == change.subject else f"{change.name} ({change.subject})"
        about.setdefault(name, []).append(f"{change.what} {arrow(change, system)}".strip())
    found = [f"{name}: {'; '.join(words)}" for name, words in about.items()]
    for group in ("materials", "cost"):
        if words := [f"  {change.name} {difference(change, system)}" for change in comparison.of(group)]:
            found += [f"{group}:", *words]
    found += [f"{change.name}: {arrow(change, system)}" for change in comparison.of("records")]
    for change in comparison.of("findings"):
        message, word = (change.after, "new") if change.after is not None else (change.before, "gone")
        subject = "" if change.subject == BUILD else f"{change.subject}: "
        found.append(f"{word} {change.what}: {subject}{message}")
    return found


def arrow(change: Change, system: units.System) -> str:
    """Before and after, the unit once where it is the same."""
    one, other = shown(change.before, system), shown(change.after, system)
    if one is None:
        return f"added: {other}" if not change.what else f"{other}, not stated before"
    if other is None:
        return f"gone, was {one}" if not change.what else f"{one} before, not stated now"
    if isinstance(change.before, Amount):
        number, _, unit = one.partition(" ")
        if other.partition(" ")[2] == unit:
            return f"{number} -> {other}"
    return f"{one} -> {other}"


def difference(change: Change, system: units.System) -> str:
    """How much more or less, for amounts; before and after for what cannot be subtracted."""
    if not change.subtract:
        return f"{arrow(change, system)}. They cover different lines, so that the difference says nothing"
    amounts = [value for value in (change.before, change.after) if isinstance(value, Amount)]
    if not amounts:
        return arrow(change, system)
    values = [value.amount if isinstance(value, Amount) else 0.0 for value in (change.before, change.after)]
    more = values[1] - values[0]
    return f"{'+' if more >= 0 else '-'}{shown(Amount(abs(more), amounts[0].kind), system)}"
