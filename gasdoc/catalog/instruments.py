"""What leak tests are usually read on."""

from msgspec import field

from gasdoc.catalog.rows import Pressure, Step, read
from gasdoc.data import Entry, Some


class PressureSteps(Entry, frozen=True):
    """The smallest step in Pa that can be read, on an instrument with a scale in inches of water, or in mbar."""

    us: Pressure
    si: Pressure


class TemperatureSteps(Entry, frozen=True):
    """The smallest step in K that can be read, on an instrument with a scale in degF, or in degC."""

    us: Step
    si: Step


class UsualGauge(Entry, frozen=True):
    """A usual gauge, of use `from` a pressure `up_to` another, both Pa gauge. `scale` is where its scale ends, `up_to` for None."""

    name: str
    least: Pressure = field(name="from")
    up_to: Pressure
    step: PressureSteps
    scale: Pressure | None = None

    @property
    def full_scale(self) -> float:
        """Where its scale ends, Pa gauge."""
        return self.up_to if self.scale is None else self.scale


class Thermometer(Entry, frozen=True):
    """A usual thermometer."""

    name: str
    step: TemperatureSteps


class Instruments(Entry, frozen=True):
    """The usual gauges and thermometers, and the step in Pa that a barometer is read to beside the fine thermometer."""

    gauges: Some[UsualGauge]
    thermometers: Some[Thermometer]
    barometer: Pressure


def instruments() -> Instruments:
    """What is listed."""
    return read("instruments.yaml", Instruments)
