"""What a region's codes ask, row by row: the measure of a build that a rule limits, and the limit."""

from typing import TYPE_CHECKING, Annotated, Any, Literal, NamedTuple, TypeAlias

from gasdoc.data import Cited
from gasdoc.quantities import Known
from gasdoc.regions.practice import Where
from gasdoc.scalars import Id, OneOf, Quantity, ReadBeside, choice, problem
from gasdoc.units import Given

if TYPE_CHECKING:
    from pydantic import ValidationInfo

_WATER_KG_PER_M3: Annotated[
    float,
    "kg/m3",
    Known(
        "density of water at 60 degF, which turns a capacity in pounds into one in gallons: 8.32828 lb/gal",
        "WAC 296-307-40029",
        "once",
    ),
] = 8.32828 * 0.45359237 / 3.785411784e-3

Sought: TypeAlias = Literal[
    "altitude-input", "caution-plate", "concealed-joints", "flexible-link", "non-return", "sediment-trap"
]
"""Ids of rows that are looked for by them in every region: what is asked of the input high up; and those that say what parts a
build takes: a plate at the container, joints that may be hidden, a loop or connector, non-return valves, a drip leg with a cap
at appliances."""


class Measure(NamedTuple):
    """A quantity of a build that a rule may limit.

    Its limits are quantities of one of `dimensions`, or words out of `words`, or plain numbers if it has neither. A measure
    that takes volumes and masses is a water capacity: a mass is that of the water it holds.
    """

    meaning: str
    dimensions: tuple[str, ...] = ()
    words: tuple[str, ...] = ()

    def limit(self, written: Any) -> float | tuple[str, ...]:
        """The limit as it is written, in SI; raises the problem with it."""
        if self.words:
            if not isinstance(written, list) or not written:
                raise problem(
                    "data-limit",
                    "the limit of this measure is a list of words",
                    f"write a list of: {', '.join(self.words)}",
                )
            return tuple(OneOf({}, self.words).read(word) for word in written)
        if not self.dimensions:
            try:
                return float(written)
            except (TypeError, ValueError):
                raise problem(
                    "data-limit", f"'{written}' is not a number", "write a plain number, without a unit"
                ) from None
        limit = Quantity(self.dimensions).read(written)
        if limit.dimension == "mass" and "volume" in self.dimensions:
            return Given(limit / _WATER_KG_PER_M3, f"{limit.text} of water", limit.unit, "volume")
        return limit


MEASURES: dict[str, Measure] = {
    "sizing-drop": Measure("pressure lost from the last regulator to an outlet, all appliances on", ("pressure",)),
    "inside-pressure": Measure("highest gauge pressure in a line inside the occupied space", ("pressure",)),
    "connector-length": Measure("length of an appliance connector along its centre line", ("length",)),
    "regulator-hose-length": Measure("length of the hose between the first regulator and the line", ("length",)),
    "shutoff-distance": Measure("distance from an appliance to its own shut-off valve", ("length",)),
    "container-count": Measure("containers connected or carried"),
    "container-water-capacity": Measure("volume one container holds, full to the brim", ("volume", "mass")),
    "container-fuel": Measure("gas in all containers together, each filled to its limit", ("mass",)),
    "container-place": Measure("where the container is", words=("outside", "sealed-compartment", "inside")),
    "container-service": Measure("what is drawn from the container", words=("vapour", "liquid")),
    "container-fill": Measure("liquid in the container as a share of its volume", ("share",)),
    "orientation": Measure("the mounted position against the one on its label", words=("as-marked", "other")),
    "sleeping-flueless": Measure(
        "appliances without a flue, cookers apart, in a space people sleep in. Heaters alone with that condition"
    ),
    "vent-area-high": Measure("free area of fixed openings at high level", ("area",)),
    "vent-area-low": Measure("free area of fixed openings at low level", ("area",)),
    "vent-area-total": Measure("free area of all fixed openings, high and low", ("area",)),
    "room-volume": Measure("volume of the room the appliances take air from", ("volume",)),
    "gas-alarm": Measure("LP-gas alarms fitted"),
    "co-alarm": Measure("carbon monoxide alarms fitted"),
    "smoke-alarm": Measure("smoke alarms fitted"),
    "test-pressure": Measure("gauge pressure of a recorded pressure test", ("pressure",)),
    "test-hold": Measure("time a recorded pressure test was held", ("time",)),
    "check-hold": Measure("time a recorded leak check was held", ("time",)),
    "csst-on-vehicle": Measure("runs of corrugated stainless tubing on something that moves"),
    "flame-failure": Measure("appliances that do not shut off when the flame fails"),
    "room-sealed-heating": Measure("space and water heaters that are not sealed from the room"),
    "support-spacing": Measure("distance between supports of a line", ("length",)),
    "locker-vent-share": Measure("free area of a locker's openings, high and low, as a share of its floor", ("share",)),
    "locker-smaller-vent-share": Measure(
        "the smaller of a locker's high and low openings, as a share of its floor", ("share",)
    ),
    "locker-vent-area": Measure("free area of a locker's openings, high and low", ("area",)),
    "locker-drain": Measure("bore of a locker's drain", ("length",)),
    "locker-drain-height": Measure("height of a locker's drain above the waterline at rest", ("length",)),
    "locker-to-opening": Measure(
        "distance from a locker's vent or drain to the nearest opening into the rooms", ("length",)
    ),
    "non-return": Measure("a non-return valve at each of several connected containers", words=("yes", "no")),
    "mount-load-multiple": Measure("static load the mounts carry, as a multiple of the filled weight"),
}

SUBJECTS = (
    "container",
    "mounting",
    "piping",
    "connector",
    "regulator",
    "ventilation",
    "detection",
    "test",
    "space",
    "record",
)

METHODS: dict[str, str] = {
    "as-nzs-5601-2": "610 mm2 per MJ/h of appliances not room-sealed, 650 mm2 a sleeping place, never under the limit",
    "bss-2002": "2200 mm2 per kW without a flue, 440 mm2 per kW with a flue, and 650 mm2 a person",
    "en-721-appliances": "by floor area, with appliances that are not room-sealed",
    "en-721-no-appliances": "by floor area, with no appliances or room-sealed ones only",
    "ifgc-room-volume": "50 ft3 per 1000 Btu/h of all appliances in the room",
    "ifgc-two-indoors": "two openings to other rooms, each 1 in2 per 1000 Btu/h, never under the limit",
    "ifgc-two-outdoors": "two openings to outdoors, each 1 in2 per 4000 Btu/h",
    "ifgc-two-horizontal-ducts": "two horizontal ducts to outdoors, each 1 in2 per 2000 Btu/h",
    "ifgc-one-outdoors": "one opening to outdoors, 1 in2 per 3000 Btu/h",
}
"""Ways to work out a limit from the build itself; the arithmetic is in `gasdoc.engineering`."""

RULE_CONDITIONS = (
    "steel-half-inch",
    "steel-to-one-inch",
    "steel-larger",
    "tubing-half-inch",
    "tubing-to-three-quarter-inch",
    "tubing-larger",
    "moving-tube",
    "moving-rigid",
    "csst",
    "csst-three-eighths-inch",
    "csst-half-inch",
    "csst-larger",
    "cooking",
    "not-cooking",
    "heating",
    "not-heating",
    "cylinder",
    "fixed-tank",
    "fixed-tank-sideways",
    "locker",
    "several-containers",
    "hose",
    "regulator-hose",
)
"""What part of a build a row is limited to: the size of a line, the kind of appliance or container, a direction;
"moving-tube" and "moving-rigid" are tube of copper and threaded pipe on what moves, "heating" are room and water heaters,
"hose" are connectors that are not rigid, "regulator-hose" is one between a regulator and its line."""


def _limit(written: Any, info: "ValidationInfo") -> float | tuple[str, ...] | None:
    """The limit of a rule, which its measure reads."""
    if written is None or "measure" not in info.data:  # a wrong measure is a problem of its own
        return None
    if (measure := info.data["measure"]) is None:
        raise problem(
            "data-limit", "a limit stands here, and the rule has no measure", "add 'measure:', or take the limit out"
        )
    return MEASURES[measure].limit(written)


class Rule(Cited, frozen=True):
    """One thing a region asks.

    `measure` is the quantity of the build it limits, or None when only a person can judge. The limit is a quantity in
    SI (a water capacity in m3, whatever it was written in), a plain number, or the words that are accepted. Where
    `method` is set the limit comes from the build by that method, and `limit`, if any, is the least it may give. A
    measure with neither is not a matter of a number: the row is shown when the build has any of it.

    `alternative` rows come from another source, or are another accepted way: shown beside the region's own rows,
    never evaluated in their place. A row with `citation.confirmed` "memory" must never give "met".
    """

    id: Id
    subject: Annotated[str, choice(*SUBJECTS)]
    asks: str
    measure: Annotated[str, choice(*MEASURES)] | None = None
    relation: Literal["at-most", "at-least", "is"] | None = None
    limit: Annotated[float | tuple[str, ...] | None, ReadBeside(_limit)] = None
    method: Annotated[str, choice(*METHODS)] | None = None
    condition: Annotated[str, choice(*RULE_CONDITIONS)] | None = None
    where: Where | None = None
    alternative: bool = False

    def _checked(self) -> None:
        if (self.relation is None) != (self.limit is None and self.method is None):
            raise problem("data-rule", "a relation and a limit or method belong together", "give both, or neither")
        if isinstance(self.limit, tuple) != (self.relation == "is"):
            raise problem(
                "data-rule", "'is' goes with words, 'at-most' and 'at-least' with figures", "change one of the two"
            )

    @property
    def limit_text(self) -> str | None:
        """The limit as the source words it, or None."""
        if isinstance(self.limit, tuple):
            return " or ".join(self.limit)
        if isinstance(self.limit, Given):
            return self.limit.text
        return None if self.limit is None else f"{self.limit:g}"
