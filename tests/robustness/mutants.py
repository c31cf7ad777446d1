"""Specs that read well and that nobody would write: every value drawn from what its field admits, to its edges.

The generator follows the annotations of the model, so that a new key is drawn by itself.
"""

from __future__ import annotations

import json
import random
import typing
from collections.abc import Callable
from typing import Any

from pydantic import BaseModel

from gasdoc import scalars, units
from gasdoc.build import model
from gasdoc.build.checks import LAPSE, WARMEST_COLDEST
from gasdoc.build.model import route
from gasdoc.build.prices import PriceText, ShelfText
from gasdoc.build.supply import slug
from gasdoc.catalog import tubing
from gasdoc.catalog.bolts import grade_ids, thread_ids
from gasdoc.catalog.containers import kind_ids
from gasdoc.catalog.parts import catalogue
from gasdoc.regions.region import region_ids

Values = dict[str, Any]

HOSTILE = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "{{ 7*7 }}",
    "{% include '/etc/passwd' %}",
    "{0} {a} %s %(b)s",
    '"]; a -> b [label="',
    "<b>bold</b>",
    "\\N \\G \\l \\\\",
    "&lt;i&gt; &amp; &#x41; ]]>",
    '=HYPERLINK("http://x.example")',
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "javascript:alert(1)",
    "a\u200bb\u200dc",  # marks that turn the order round are refused: no spec can have them
    "../../../etc/passwd",
    "C:\\Windows\\x",
    "x" * 80,
    "W" * 80,
    "宽" * 80,
    "e\u0301" * 40,
    "😀👩‍👩‍👧",
    "שלום",
    "'",
    '"',
    ";",
    ",",
    "|",
    "`x`",
    "*a* _b_ [c](d)",
    "~",
    "null",
    "yes",
    "0",
    "-",
    "#",
    "# a: b",
    "a: b",
    "\xa0",
    "ſtraße",
    "İ",
    "½",
    "2026-01-01",
    "container",
    "regulator",
    "\u2028x",
)
"""Names that are markup, a template, a drawing's syntax, a formula, a path, or text turned round; and very long ones."""

THREADS = (
    "1/2 NPT",
    "1/4 NPT",
    "3/8 flare",
    "3/8 NPT",
    "1/4 in inverted flare",
    "male G 1/2",
    "R 1/2",
    "1/2 NPT male",
    "M20x1.5",
    "8 mm compression",
)
CONNECTIONS = ("POL", "QCC1", "G.12", "LCC27")


def spec_bytes(values: Values, log: str = "") -> bytes:
    """The spec of these values, with a log."""
    head = "".join(f"{key}: {json.dumps(value, ensure_ascii=False)}\n" for key, value in values.items())
    return f"---\n{head}---\n{log}".encode()


class Mutant:
    """One spec drawn from `seed`; `wild` is the share of values taken from the edges of what their fields admit."""

    def __init__(self, seed: int, *, wild: float, most_branches: int = 3) -> None:
        self.chance = random.Random(seed)
        self.wild = wild
        self.most_branches = most_branches
        self.ids: list[str] = []
        self.outlets: list[str] = []
        self.regulators: list[str] = ["regulator"]
        self.rooms: list[str] = ["outdoors"]

    def maybe(self, share: float) -> bool:
        return self.chance.random() < share

    def spec(self) -> Values:
        """Every top key, most of the keys below, in one build."""
        made = self.block(model.Spec, leave_out=0.25)
        made |= {"format": "1", "region": self.chance.choice(region_ids())}
        made.pop("started", None)  # else it would have to be before every other date
        made["container"] = self.container()
        made["regulator"] = self.regulator(first=True)
        for number, room in enumerate(made.get("spaces", [])):
            room["id"] = f"room-{number + 1}"
            self.rooms.append(room["id"])
        made["supply"] = self.branch(0)
        warmest = WARMEST_COLDEST - LAPSE * units.parse(made.get("altitude", "0 m"), "length")
        if "coldest" in made and units.parse(made["coldest"], "temperature") > warmest:
            made["coldest"] = f"{warmest - 1e-6:.12g} K"
        if isinstance(made.get("gas"), dict):
            butane = self.chance.choice([0, 0.1, 30, 50, 99.9999, 100])
            made["gas"] = {"propane": f"{100 - butane:g} %", "butane": f"{butane:g} %"}
        if "have" in made.get("wishes", {}):
            made["wishes"]["have"] = [self.chance.choice(kind_ids())]
        for scenario in made.get("scenarios", []):
            scenario["outlets"] = [self.chance.choice(self.outlets) for _ in range(self.chance.randint(1, 4))]
        for season in made.get("seasons", []):
            if "daily_use" in season:
                season["daily_use"] = {
                    outlet: self.scalar(scalars.UseOfADay(("time", "mass flow", "power")))
                    for outlet in self.outlets[:3]
                }
        for test in made.get("tests", []):
            if "zone" in test:
                test["zone"] = self.chance.choice(self.regulators)
            if not test.setdefault("readings", []):
                test["kind"] = "container-side"
            else:
                test.pop("time", None)
            for hour, reading in enumerate(test["readings"]):
                reading.pop("date", None)
                reading["time"] = f"{hour:02}:{self.chance.randrange(60):02}"
        keys = [part.id for part in catalogue().parts]
        for block in (made.get("on_shelf"), (made.get("prices") or {}).get("items")):
            if block is not None:
                for key in self.chance.sample(keys, 20):
                    block[key] = self.price() if block is not made.get("on_shelf") else str(self.chance.randrange(0, 9))
                block["copper-l 1/2 60 ft"] = "12.50" if block is not made.get("on_shelf") else "3"
        return made

    def container(self) -> Values:
        made = self.block(model.Container, leave_out=0.3)
        made["type"] = self.chance.choice(kind_ids())
        made.pop("manifold", None)
        if int(made.get("number", "1")) > 1:
            made["manifold"] = self.chance.choice(["changeover", "parallel"])
        if "locker" in made:
            made["place"] = "locker"
        if "connection" in made:
            made["connection"] = self.chance.choice(CONNECTIONS)
        if made["type"].startswith("asme") or self.maybe(0.5):
            made["water_capacity"] = self.quantity(("volume", "mass"), 1e-4, 1e4)
        if "mount" in made:
            thread = self.chance.choice(thread_ids())
            system = "iso" if thread.startswith("M") else "sae"
            bolts = {
                "thread": thread,
                "grade": self.chance.choice([g for g in grade_ids() if g.startswith(system)]),
                "along": ["0 in", "14 in"],
                "across": ["0 in", "10 in"],
                "height": "8 in",
            }
            if made["mount"].get("way", "bolts") == "bolts":
                made["mount"] |= bolts
            else:
                made["mount"] = {key: value for key, value in made["mount"].items() if key not in bolts}
        return made

    def regulator(self, *, first: bool = False) -> Values:
        made = self.block(model.Regulator, leave_out=0.3)
        if "hose" in made:
            made["hose"].pop("legs", None)
            made["hose"].setdefault("length", "0.6 m")
        for key in ("inlet_thread", "outlet_thread"):
            if key in made:
                made[key] = self.chance.choice(THREADS)
        if not self.maybe(self.wild):
            made["outlet"] = self.chance.choice(["11 inH2O", "2 psi", "30 mbar", "37 mbar", "10 psi"])
        made.pop("id", None)
        if not first:
            made["id"] = self.named("regulator")
            self.regulators.append(made["id"])
        made.setdefault("outlet", "11 inH2O")  # only a plan may leave it out
        return made

    def branch(self, depth: int) -> list[Values]:
        made: list[Values] = []
        material = ""
        for _ in range(self.chance.randint(1, 3)):
            run = self.block(model.Run, leave_out=0.4)
            for key in ("id", "type", "size", "material"):
                run.pop(key, None)
            if self.maybe(0.5) or (not made and not depth) or not material:
                material = self.chance.choice(tubing.materials())
                run["material"] = material
                if len(kinds := tubing.material(material).kinds) > 1:
                    run["type"] = self.chance.choice(kinds).lower()
                if self.maybe(0.6):
                    kind = run.get("type", "").upper() or None
                    size = self.chance.choice(tubing.sizes(material, kind))
                    metric = size.id.replace("x", " mm x ") + " mm" if "x" in size.id else f"{size.id} in"
                    run["size"] = {"copper": f"{size.id} in nominal", "csst": size.id}.get(material, metric)
            if not self.maybe(self.wild):
                run["length"] = f"{self.chance.randint(1, 60)} ft"
                run.pop("rise", None)
                run.pop("legs", None)
            if "rise" in run and abs(units.parse(run["rise"], "length")) > units.parse(run["length"], "length"):
                run["rise"] = run["length"]  # straight up: the most there can be
            if run.get("material") != "csst" or "size" not in run:
                run.pop("maker_capacity", None)
            made.append({"run": run})
            for kind, block in (("valve", model.Valve), ("tap", model.Tap)):
                if self.maybe(0.2):
                    part = self.block(block, leave_out=0.5)
                    part.pop("id", None)
                    made.append({kind: part | {"id": self.named(kind)}})
            if self.maybe(0.15):
                made.append({"regulator": self.regulator()})
        if depth < 4 and self.maybe(0.75 - 0.2 * depth):
            junction = self.block(model.Junction, leave_out=0.5)
            branches = [self.branch(depth + 1) for _ in range(self.chance.randint(2, self.most_branches))]
            made.append({"junction": junction | {"id": self.named("split"), "branches": branches}})
        else:
            outlet = self.block(model.Outlet, leave_out=0.3)
            appliance = outlet["appliance"]
            outlet |= {"space": self.chance.choice(self.rooms)} if "space" in outlet else {}
            if "inlet_thread" in appliance:
                appliance["inlet_thread"] = self.chance.choice(THREADS)
            appliance.pop("max_inlet", None)
            outlet["id"] = self.named("outlet")
            self.outlets.append(outlet["id"])
            if not self.maybe(self.wild):
                appliance["input"] = f"{self.chance.randint(2, 60)} kBtu/h"
            made.append({"outlet": outlet})
        return made

    def legs(self) -> list[Any]:
        """A way that never folds back on itself, nor on the ways before it: it only goes aft, right and up."""
        made: list[Any] = []
        for _ in range(self.chance.randint(1, 4)):
            direction = self.chance.choice(["aft", "right", "up", "aft-right", "right-up"])
            leg: Any = f"{self.chance.choice([2, 6, 18, 90])} in {direction}"
            if self.maybe(0.3):
                leg = {"leg": leg, "through": self.chance.choice(["wall", "floor"]), "at": "1 in"}
            elif self.maybe(0.2):
                leg = {"leg": leg, self.chance.choice(["loop", "sweep"]): "9 ft"}
            made.append(leg)
        return made

    def place(self, number: int) -> list[str]:
        return [f"{self.chance.randint(-9, 40)} ft" for _ in range(number)]

    def named(self, kind: str) -> str:
        self.ids.append(f"{kind}-{len(self.ids) + 1}")
        return self.ids[-1]

    def block(self, block: type[BaseModel], leave_out: float) -> Values:
        """A block with all it must have and most of what it may have."""
        made: Values = {}
        for name, annotation in typing.get_type_hints(block, include_extras=True).items():
            if name not in block.model_fields or name in ("supply", "branches"):
                continue
            if not block.model_fields[name].is_required() and self.maybe(leave_out):
                continue
            if (value := self.value(annotation)) is not None:
                made[name] = value
        if block is model.Photo:  # no picture, and one from elsewhere, is refused
            made["file"] = "x" + self.text(40).replace("://", "").replace(":", "") + ".jpg"
        if "legs" in made:  # they say the rest
            made = {key: value for key, value in made.items() if key not in ("length", "rise", "bends", "through")}
        return made

    def value(self, annotation: Any) -> Any:
        """Something the annotation admits; None where this generator makes it otherwise."""
        origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
        if annotation == route.Legs:
            return self.legs()
        if annotation in (route.Place, route.Corner):
            return self.place(3 if annotation == route.Place else 2)
        if origin is typing.Annotated:
            for meta in arguments[1:]:
                if (found := self.scalar(meta)) is not None:
                    return found
            return self.value(arguments[0])
        if type(None) in arguments:
            return self.value(arguments[0])
        if origin is list:
            return [self.value(arguments[0]) for _ in range(self.chance.randint(1, 3))]
        if origin is dict:
            return {}
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            return self.block(annotation, leave_out=0.3)
        raise AssertionError(f"no way to draw {annotation}")

    def scalar(self, meta: Any) -> Any:
        if isinstance(meta, scalars.UseOfADay):
            dimension = self.chance.choice(meta.dimensions)
            return self.quantity((dimension,), 0.0, 86400.0 if dimension == "time" else None, above=False)
        if isinstance(meta, scalars.Quantity):
            least = -1e4 if meta.least is None else meta.least
            return self.quantity(meta.dimensions, least, meta.most, above=meta.above)
        if isinstance(meta, scalars.OneOf):
            return self.chance.choice(meta.words)
        known: dict[type, Callable[[], Any]] = {
            scalars._Count: lambda: str(self.chance.choice([meta.least, min(meta.most, meta.least + 1), meta.most])),
            scalars._YesNo: lambda: self.chance.choice(["yes", "no"]),
            scalars._Day: lambda: self.chance.choice(
                ["2026-05-16", "2019-04-01", "2024-02-29", "1900-01-01", "2199-12-31"]
                if self.maybe(self.wild)
                else ["2026-05-16"]
            ),
            scalars._Clock: lambda: self.chance.choice(["00:00", "23:59", "9:05"]),
            scalars._Money: lambda: self.chance.choice(["0", "0.01", "38.50", "9999999.99"]),
            scalars._Text: lambda: self.text(meta.longest),
            scalars._Id: lambda: slug(self.text(40)),
            PriceText: self.price,
            ShelfText: lambda: self.chance.choice(["3", "12 ft", ["12 ft", "1 in"]]),
        }
        return known[type(meta)]() if type(meta) in known else None

    def price(self) -> Any:
        return self.chance.choice(
            [
                "14.20",
                "0",
                "9999999.99",
                {"low": "1", "high": "2", "per": "50 ft"},
                {"price": "9.50", "pack": "10"},
                {"price": "0", "pack": "1"},
                {"low": "0", "high": "9999999.99", "per": "1e-6 m"},
            ]
        )

    def text(self, longest: int) -> str:
        return (self.chance.choice(HOSTILE).strip() or "x")[:longest].strip() or "x"

    def quantity(self, dimensions: tuple[str, ...], least: float, most: float | None, *, above: bool = True) -> str:
        """A quantity within its limits, near an edge or in between, in any unit."""
        dimension = self.chance.choice(dimensions)
        unit = self.chance.choice(list(units.units()[dimension].values()))
        top = scalars._MOST[dimension] if most is None else most
        if self.maybe(self.wild):
            si = self.chance.choice([least, top, 1e-7, 1e-6, 1e-3, top * 0.999])
        else:
            low, high = max(least, 1e-3), min(top, 1e4)
            si = low * (high / low) ** self.chance.random() if high > low > 0 else high
        if si <= least and above:
            si = least + (top - least) * 1e-6
        si = min(
            max(si, least + (top - least) * 1e-9), top - (top - least) * 1e-9
        )  # the last digit printed may go either way
        if 0 < abs(si) < 1e-7:
            si = 1e-7  # less is a slip
        number = (si - unit.offset) / unit.si
        return f"{number:.12g} {unit.spellings[0]}"
