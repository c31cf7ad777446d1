"""Alarms for gas, carbon monoxide and smoke: where each belongs, and whose standard a mark is."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Literal

from msgspec import Struct

from gasdoc.catalog import files
from gasdoc.source import Citation

Height = Literal["low", "breathing", "high"]


class AlarmKind(Struct, frozen=True):
    """One kind of alarm: `place` is where it belongs, `heights` those that fit; at `never` it does not warn, `why` says."""

    id: str
    name: str
    place: str
    heights: tuple[Height, ...]
    never: tuple[Height, ...]
    why: str
    citation: Citation


class Standard(Struct, frozen=True):
    """A standard by the mark on an alarm, and the kinds of alarm it is for."""

    mark: str
    kinds: tuple[str, ...]
    citation: Citation


@lru_cache(maxsize=1)
def alarm_kinds() -> dict[str, AlarmKind]:
    """The kinds by their ids: gas, co, smoke."""
    found = {}
    for identity, row in files.load("alarms.yaml")["kinds"].items():
        never = row.get("never", {"heights": (), "why": ""})
        found[identity] = AlarmKind(
            identity,
            row["name"],
            row["place"],
            tuple(row["height"]),
            tuple(never["heights"]),
            never["why"],
            Citation(row["source"], row["confirmed"]),
        )
    return found


def standards_in(text: str) -> tuple[Standard, ...]:
    """The standards that are named in what is marked on an alarm, whatever stands between letters and number."""
    return tuple(standard for pattern, standard in _standards() if pattern.search(text))


@lru_cache(maxsize=1)
def _standards() -> tuple[tuple[re.Pattern[str], Standard], ...]:
    found = []
    for row in files.load("alarms.yaml")["standards"]:
        # Marks are also written without a blank or behind other letters, as in "BS EN 50291-2" or "UL2034".
        words = r"[ -]*".join(re.escape(word) for word in re.split(r"[ -]+", row["mark"]))
        pattern = re.compile(rf"{words}(?![0-9])", re.IGNORECASE)
        found.append((pattern, Standard(row["mark"], tuple(row["kinds"]), Citation(row["source"], row["confirmed"]))))
    return tuple(found)
