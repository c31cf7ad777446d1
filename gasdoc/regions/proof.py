"""The tests that a region asks, row by row, and what each way of looking for a leak can show."""

from typing import Annotated, Any, Literal, TypeAlias

from msgspec import field

from gasdoc import data
from gasdoc.data import Cited, Entry, Some
from gasdoc.regions.practice import Where
from gasdoc.scalars import Id, Quantity
from gasdoc.units import Given

TestKind: TypeAlias = Literal["piping", "appliances", "leak-check", "container-side", "flow"]
"""The kinds of test that a region asks and a builder records."""

_Pressure = Annotated[Given, Quantity(("pressure",))]
_Time = Annotated[Given, Quantity(("time",))]


class AskedPressure(Entry, frozen=True):
    """The pressure a test asks for; gauge, Pa. `factor` multiplies the greatest working pressure of the line.

    `below` is how far under its working pressure the line may stand; `lock_up` the highest with nothing burning.
    `by_plates`: the appliances' plates say the least and the greatest. `over` and `up_to` bound the working pressures the row
    is for; None where it is for all.
    """

    text: str
    minimum: _Pressure | None = None
    factor: float | None = None
    maximum: _Pressure | None = None
    over: _Pressure | None = None
    up_to: _Pressure | None = None
    below: _Pressure | None = None
    lock_up: _Pressure | None = None
    by_plates: bool = False

    def applies(self, working_gauge: float) -> bool:
        """Whether the row is for a line of this working pressure, in Pa."""
        return (self.over is None or working_gauge > self.over) and (self.up_to is None or working_gauge <= self.up_to)

    def least(self, working_gauge: float) -> float | None:
        """The lowest gauge pressure in Pa that satisfies the row, or None where only words are given."""
        if self.minimum is None and self.factor is None and self.below is None:
            return None
        under = working_gauge - self.below if self.below is not None else 0.0
        low = max(self.minimum or 0.0, (self.factor or 0.0) * working_gauge, under)
        return low if self.maximum is None else min(low, self.maximum)


class GaugeAsked(Entry, frozen=True):
    """The instrument a test asks for: full scale at most this multiple of the test pressure, finest step in Pa."""

    text: str
    full_scale_factor: float | None = None
    resolution: _Pressure | None = None


class Pass(Entry, frozen=True):
    """What passes: the largest drop in Pa not explained by temperature; None where the row sets no figure."""

    text: str
    allowed_drop: _Pressure | None = None


class LineTest(Cited, frozen=True, kw_only=True):
    """A pressure test ("piping", "appliances"), a leak check, a check of the container side, or of delivered pressure.

    `zone` is "first" where the row is for the zone behind the first regulator and "between" where it is for one between that
    and a further one, None where the kind says which zones it is made in. `asked` is False for a row of another code or
    state, shown beside the region's own. Times are in s; `hold` is None where the text read gives no time. `connected`: the
    appliances stay connected in it, their taps shut.
    """

    id: Id
    kind: TestKind
    zone: Literal["first", "between"] | None = None
    name: str
    when: str
    medium: Some[str]
    pressure: AskedPressure
    settle: _Time | None = None
    hold: _Time | None = None
    gauge: GaugeAsked
    passes: Pass = field(name="pass")
    isolate: str
    connected: bool
    where: Where | None = None
    asked: bool

    @classmethod
    def _completed(cls, row: Any) -> Any:
        return {"connected": row.get("kind") != "piping", **row} if isinstance(row, dict) else row


class LeakMethod(Cited, frozen=True):
    """A way to look for a leak. `smallest` is about the least leak it shows, in m3/s, or None where no figure fits."""

    id: Id
    name: str
    text: str
    smallest: Annotated[Given, Quantity(("volume flow",), smallest=0.0)] | None = None


class _LeakMethods(Entry, frozen=True):
    methods: data.ById[LeakMethod]


def leak_methods() -> tuple[LeakMethod, ...]:
    """What each way of looking for a leak can show, in file order."""
    return data.read("gasdoc.regions", "leak_methods.yaml", _LeakMethods).methods
