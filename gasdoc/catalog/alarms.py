"""Alarms for gas, carbon monoxide and smoke: where each belongs, and whose standard a mark is."""

import re
from functools import lru_cache
from typing import Literal, get_args

from gasdoc.catalog.rows import Sourced, read
from gasdoc.data import ById, Entry, Some

Height = Literal["low", "breathing", "high"]
Kind = Literal["gas", "co", "smoke"]
KINDS: tuple[Kind, ...] = get_args(Kind)
"""What an alarm can sense, as a spec says it: each kind has its row in `alarms.yaml`."""
BESIDE_APPLIANCES: tuple[Kind, ...] = ("gas", "co")
"""The kinds that a room with appliances is asked about."""


class AlarmKind(Sourced, frozen=True):
    """One kind of alarm: it `senses` gas, carbon monoxide or smoke, and `place` is where it belongs; at the heights `never`
    it does not warn, `why` says."""

    id: Kind
    name: str
    senses: str
    place: str
    never: tuple[Height, ...] = ()
    why: str = ""


class Standard(Sourced, frozen=True):
    """A standard by the mark on an alarm, and the kinds of alarm it is for."""

    mark: str
    kinds: Some[Kind]


class _Alarms(Entry, frozen=True):
    kinds: ById[AlarmKind]
    standards: tuple[Standard, ...]


def alarm_kinds() -> dict[str, AlarmKind]:
    """The kinds by their ids: gas, co, smoke."""
    return {kind.id: kind for kind in read("alarms.yaml", _Alarms).kinds}


def standards_in(text: str) -> tuple[Standard, ...]:
    """The standards that are named in what is marked on an alarm, whatever stands between letters and number."""
    return tuple(standard for pattern, standard in _standards() if pattern.search(text))


@lru_cache(maxsize=1)
def _standards() -> tuple[tuple[re.Pattern[str], Standard], ...]:
    found = []
    for standard in read("alarms.yaml", _Alarms).standards:
        # Marks are also written without a blank or behind other letters, as in "BS EN 50291-2" or "UL2034".
        words = r"[ -]*".join(re.escape(word) for word in re.split(r"[ -]+", standard.mark))
        found.append((re.compile(rf"{words}(?![0-9])", re.IGNORECASE), standard))
    return tuple(found)
