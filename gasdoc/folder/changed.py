"""What has changed since a record was made: the keys in which a build differs from the one a stale code stands for."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from gasdoc.build.codes import Code, codes, stated
from gasdoc.build.reader import Build, read_spec
from gasdoc.study.proof.standing import Standing, stale_codes


class ChangedKey(Struct, frozen=True):
    """One key of a spec as it was when the record was made and as it is now, as written; None where it is not stated."""

    key: str
    before: str | None
    after: str | None


def changed(build: Build, found: Standing, past: Iterable[bytes]) -> tuple[ChangedKey, ...]:
    """The keys that differ between the build now and the latest of its `past` texts that a stale code of it stands for.

    Nothing where no code is stale, or where none of the texts has that code. `past` is read no further than it has to be.
    """
    stale = {name: code for code, name in stale_codes(build, found)}
    if not stale:
        return ()
    for raw in past:
        then = read_spec(raw, build.path, build.slug).build
        if then is None:
            continue
        had = codes(then)
        for name in (had.build, had.tightness):
            if name in stale:
                return _differences(then, build, stale[name])
    return ()


def _differences(then: Build, now: Build, code: Code) -> tuple[ChangedKey, ...]:
    old, new = stated(then, code), stated(now, code)
    return tuple(
        ChangedKey(key, old[key].text if key in old else None, new[key].text if key in new else None)
        for key in dict.fromkeys((*old, *new))
        if (old[key].value if key in old else None) != (new[key].value if key in new else None)
    )
