"""How results are worded and written on pages: quantities as number and unit, and the words for what is not known."""

from __future__ import annotations

import datetime as dt
import re
from typing import Self, cast

from markupsafe import Markup, escape
from msgspec import Struct

from gasdoc import units
from gasdoc.build.reader import Build
from gasdoc.study import facts
from gasdoc.study.answers import Words

NOT_KNOWN = "not known"


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def with_code(text: str) -> Markup:
    """Text in which what stands between backticks is code."""
    return Markup(re.sub("`(.*?)`", r"<code>\1</code>", str(escape(text))))


class Text(str):  # noqa: SLOT000  # a subclass of str that has values of its own cannot have slots
    """Text that is first in the build's own units; `other` is the same in the other ones, empty where there is none.

    A table's macro prints both; to everything else it is the text alone.
    """

    other: str

    def __new__(cls, text: str, other: str = "") -> Self:
        """The text, and the same in the other units."""
        made = super().__new__(cls, text)
        made.other = other if other != text else ""
        return made


class Quantities(Struct, frozen=True):
    """Writes quantities for one build's pages in its own unit system, and in the `other` one beside it where there is one."""

    system: units.System
    other: units.System | None = None

    @classmethod
    def of(cls, build: Build) -> Self:
        """Those of a build: its own units, and beside them the ones that it asks for, if any."""
        own, beside = facts.system(build), build.spec.units_beside
        return cls(own, cast(units.System, beside) if beside not in ("none", own) else None)

    def __call__(self, si: float | None, kind: str) -> Markup:
        """The quantity in the build's units, number and unit kept on one line."""
        if si is None:
            return Markup(NOT_KNOWN)
        return _markup(units.show(si, kind, self.system))

    def both(self, si: float | None, kind: str) -> Markup:
        """The same with the other system, if any, in brackets."""
        if si is None or self.other is None:
            return self(si, kind)
        return self(si, kind) + Markup(' <span class="also">({})</span>').format(
            _markup(units.show(si, kind, self.other))
        )

    def sentence(self, said: Words) -> Markup:
        """A sentence with its figures."""
        return Markup("").join(
            part
            if isinstance(part, str)
            else self.both(part.value, part.kind)
            if part.both
            else self(part.value, part.kind)
            for part in said
        )

    def number(self, si: float | None, kind: str) -> str:
        """The number alone, for a table whose header has the unit."""
        if si is None:
            return NOT_KNOWN
        number, _, unit = units.show(si, kind, self.system).rpartition(" ")
        if self.other is None:
            return Text(number)
        other, _, other_unit = units.show(si, kind, self.other).rpartition(" ")
        return Text(number, other if other_unit != unit else "")

    def unit(self, kind: str) -> str:
        """The unit alone."""
        systems = (self.system,) if self.other is None else (self.system, self.other)
        return Text(*(units.show(0.0, kind, system).rpartition(" ")[2] for system in systems))

    def pressure(self, gauge: float | None) -> Markup:
        """A gauge pressure in the unit that suits its size."""
        return self(gauge, units.pressure_kind(gauge or 0.0, self.system))

    def pressures(self, least: float, most: float | None) -> Markup:
        """Between which gauge pressures, the unit once where it is the same: never the lower one alone."""
        if most is None:
            return Markup("{} or more").format(self.pressure(least))
        if most <= least * (1 + 1e-9):
            return self.pressure(most)
        low, high = (" ".join(text.striptags().split()) for text in (self.pressure(least), self.pressure(most)))
        number, _, unit = low.rpartition(" ")
        if unit == high.rpartition(" ")[2]:
            return Markup("{} to {}").format(number, self.pressure(most))
        return Markup("{} to {}").format(self.pressure(least), self.pressure(most))


def _markup(text: str) -> Markup:
    number, _, unit = text.partition(" ")
    return Markup('<span class="qty">{}&#160;<span class="unit">{}</span></span>').format(number, unit)


def day_and_month(date: dt.date, shown: units.System) -> str:
    """A date without its year, as it is said where these units are used: "Jul 18", elsewhere "18 Jul"."""
    day, month = str(date.day), MONTHS[date.month - 1]
    return f"{month} {day}" if shown == "us" else f"{day} {month}"


def first_upper(text: str) -> str:
    """A text as a sentence begins; the rest stays as it is."""
    return text[:1].upper() + text[1:]


def percent(share: float | None) -> str:
    """A share as whole percent."""
    return NOT_KNOWN if share is None else f"{share * 100:.0f} %"
