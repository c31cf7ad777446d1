"""The tools a job needs, from the parts and joints in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from gasdoc.engineering.materials.joints import Joint, Part

Feature = str
"""Something about a job that calls for a tool: "always", how its joints seal ("taper", "compression", "csst",
"washer", "cylinder"), flares made on its tube ("flare"), how its tubing is joined ("tube", "csst", "pipe", "pe"), or "opening"."""


class Tool(Struct, frozen=True):
    """A tool, and the features any one of which calls for it. `why` is for people."""

    id: str
    name: str
    when: frozenset[Feature]
    why: str


def features(parts: Iterable[Part], joints: Iterable[Joint], ends: Iterable[str], openings: int) -> frozenset[Feature]:
    """What a job has in it: of its `parts`, `joints`, kinds of `ends` of tubing and number of `openings`.

    >>> sorted(features((), (), ("tube",), 1))
    ['always', 'opening', 'tube']
    """
    found: set[Feature] = {"always", *ends}
    for joint in joints:
        if joint.seal not in ("held", "flare"):  # a flare of a bought part is not made on the spot
            found.add(joint.seal)
    for part in parts:
        if part.shape == "flare-nut":
            found.add("flare")
    if openings:
        found.add("opening")
    return frozenset(found)


def tools_for(found: frozenset[Feature], listed: Sequence[Tool]) -> tuple[Tool, ...]:
    """The listed tools that the features call for, in the order of the list.

    >>> cutter = Tool("cutter", "a tube cutter", frozenset({"tube"}), "cuts square")
    >>> [tool.id for tool in tools_for(frozenset({"always", "tube"}), (cutter,))]
    ['cutter']
    """
    return tuple(tool for tool in listed if tool.when & found)
