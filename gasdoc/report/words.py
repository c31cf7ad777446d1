"""How results are worded and written on pages: quantities as number and unit, and the words for what is not known."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from gasdoc import units

NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Quantities:
    """Writes quantities for one build's pages, first in its own unit system."""

    system: units.System

    def __call__(self, si: float | None, kind: str) -> Markup:
        """The quantity in the build's units, number and unit kept on one line."""
        if si is None:
            return Markup(NOT_KNOWN)
        return _markup(units.show(si, kind, self.system))

    def both(self, si: float | None, kind: str) -> Markup:
        """The same with the other system in brackets."""
        if si is None:
            return Markup(NOT_KNOWN)
        other: units.System = "si" if self.system == "us" else "us"
        return _markup(units.show(si, kind, self.system)) + Markup(' <span class="also">({})</span>').format(
            _markup(units.show(si, kind, other))
        )

    def number(self, si: float | None, kind: str) -> str:
        """The number alone, for a table whose header has the unit."""
        return NOT_KNOWN if si is None else units.show(si, kind, self.system).rpartition(" ")[0]

    def unit(self, kind: str) -> str:
        """The unit alone."""
        return units.show(0.0, kind, self.system).rpartition(" ")[2]

    def pressure(self, gauge: float | None) -> Markup:
        """A gauge pressure in the unit that suits its size."""
        return self(gauge, pressure_kind(gauge))


def pressure_kind(gauge: float | None) -> str:
    """Pressures from half a psi up read better in psi or bar than in inches of water or millibar."""
    return "container pressure" if gauge is not None and gauge >= 5000.0 else "supply pressure"


def _markup(text: str) -> Markup:
    number, _, unit = text.partition(" ")
    return Markup('<span class="qty">{}&#160;<span class="unit">{}</span></span>').format(number, unit)


def percent(share: float | None) -> str:
    """A share as whole percent."""
    return NOT_KNOWN if share is None else f"{share * 100:.0f} %"
