"""Records that stand in more than one spec of a folder: whoever copies a spec copies its tests and its sign-off, too."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping

from msgspec import Struct, field

from gasdoc.build.model import Spec, Test
from gasdoc.build.reader import read_spec
from gasdoc.source import Path
from gasdoc.study.proof.standing import SIGN_OFF

_CODE = re.compile(rb"\bg[tb]\d+-[0-9a-f]{12}\b")


class Records(Struct, frozen=True):
    """By the name of a spec, the places of its records that other specs hold too, with the names of those."""

    shared: Mapping[str, Mapping[Path, tuple[str, ...]]] = field(default_factory=dict)

    def of(self, name: str) -> Mapping[Path, tuple[str, ...]]:
        """The records of a spec that others hold too."""
        return self.shared.get(name, {})


NO_RECORDS = Records()
"""Nothing that two specs hold."""


def records(texts: Mapping[str, bytes]) -> Records:
    """The records that stand in more than one of the specs whose texts are given by name.

    A record is the same if date, readings and code are. Specs that name no code in common are not read for it.
    """
    named = defaultdict(list)
    for name, raw in texts.items():
        for code in set(_CODE.findall(raw)):
            named[code].append(name)
    alike = sorted({name for names in named.values() if len(names) > 1 for name in names})
    holders: dict[Hashable, list[tuple[str, Path]]] = defaultdict(list)
    for name in alike:
        build = read_spec(texts[name], name, name.removesuffix(".md")).build
        for at, key in _keys(build.spec) if build is not None else ():
            holders[key].append((name, at))
    shared: dict[str, dict[Path, tuple[str, ...]]] = defaultdict(dict)
    for places in holders.values():
        for name, at in places:
            if others := tuple(sorted({other for other, _ in places} - {name})):
                shared[name][at] = others
    return Records(dict(shared))


def _keys(spec: Spec) -> Iterator[tuple[Path, Hashable]]:
    for i, test in enumerate(spec.tests):
        if test.covers is not None:
            yield ("tests", i), ("test", test.date, test.covers, _readings(test))
    signed = spec.signed_off
    if signed is not None and signed.covers is not None:
        yield SIGN_OFF, ("sign-off", signed.date, signed.covers)


def _readings(test: Test) -> Hashable:
    return tuple((r.date or test.date, r.time, f"{float(r.pressure):.6g}") for r in test.readings)
