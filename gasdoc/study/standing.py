"""How far a build has got, from its records alone: planned, fitted, tested, signed off.

A test or a sign-off counts only for what it was made on: its `covers:` must be the fingerprint of the build as the spec
has it now, and nothing may be recorded that disturbed the system since. gasdoc verifies no signature.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from gasdoc.spec.model import Disturbance
from gasdoc.spec.reader import Build
from gasdoc.study.findings import Finding, warning
from gasdoc.study.leaktest import Asked, LeakTest
from gasdoc.study.leakverdict import Judged, covers_zones, ended, test_name

Word = Literal["planned", "fitted", "tested", "signed off"]

Why = Literal["missing", "not-passed", "no-covers", "stale", "disturbed"]


@dataclass(frozen=True, slots=True)
class Proof:
    """One asked test and the record that answers it: the latest one for its zone. `why` says what it lacks, None where it
    stands."""

    asked: Asked
    judged: Judged | None
    why: Why | None


@dataclass(frozen=True, slots=True)
class Standing:
    """`word` is the standing; `detail` says what it rests on and what is recorded beside it.

    `fingerprint` is that of the build now; `proofs` are the tests the region asks; `sign_off` words the recorded sign-off,
    None without one, and `sign_off_why` what keeps it from counting. `trouble` words what recorded tests show against the
    build, whatever else is proven.
    """

    word: Word
    detail: str
    tests: int
    sign_off: str | None
    fingerprint: str
    proofs: tuple[Proof, ...]
    sign_off_why: str | None
    trouble: tuple[str, ...]

    @property
    def open(self) -> tuple[Proof, ...]:
        """The asked tests that no record answers."""
        return tuple(proof for proof in self.proofs if proof.why is not None)


def standing(build: Build, tests: LeakTest, judged: tuple[Judged, ...], fingerprint: str) -> Standing:
    """The standing of a build whose fingerprint is given."""
    spec = build.spec
    zones = [volume.zone for volume in tests.by_zone]
    proofs = tuple(_proof(asked, judged, zones, fingerprint, spec.disturbances) for asked in tests.asked)
    trouble = _trouble(judged)
    tested = spec.fitted is not None and bool(proofs) and not trouble and all(proof.why is None for proof in proofs)
    why = _sign_off(build, proofs, fingerprint, tested, trouble)
    word: Word = "planned"
    if spec.fitted is not None:
        word = "fitted" if not tested else "signed off" if spec.signed_off is not None and why is None else "tested"
    sign_off = None
    if spec.signed_off is not None:
        role = _role(spec.signed_off.by, spec.signed_off.role)
        sign_off = f"recorded by the owner as signed by {spec.signed_off.by}{role} on {spec.signed_off.date.isoformat()}; not verified here"
    detail = _detail(build, word, proofs, trouble, sign_off, why)
    return Standing(word, detail, len(spec.tests), sign_off, fingerprint, proofs, why, trouble)


def _proof(
    asked: Asked, judged: tuple[Judged, ...], zones: list[str], fingerprint: str, disturbances: list[Disturbance]
) -> Proof:
    answers = [j for j in judged if asked in j.rows and asked.zone in covers_zones(j.test, zones)]
    if not answers:
        return Proof(asked, None, "missing")
    last = max(answers, key=lambda j: (ended(j.test), j.index))
    why: Why | None = None
    if last.outcome != "pass":
        why = "not-passed"
    elif last.test.covers is None:
        why = "no-covers"
    elif last.test.covers != fingerprint:
        why = "stale"
    elif any(_after(d, ended(last.test)) for d in disturbances):
        why = "disturbed"
    return Proof(asked, last, why)


def _after(disturbance: Disturbance, moment: dt.datetime) -> bool:
    """Whether something happened after a moment; on the same day without a time it may have, and counts."""
    if disturbance.time is None:
        return disturbance.date >= moment.date()
    return dt.datetime.combine(disturbance.date, disturbance.time) >= moment


def _trouble(judged: tuple[Judged, ...]) -> tuple[str, ...]:
    """In words, what current records show against the build: a leak; a pressure that a plate does not allow."""
    current = [j for j in judged if j.current]
    found = []
    if any(j.outcome in ("leak", "suspected-leak") for j in current):
        found.append("a recorded test shows a leak or makes one likely")
    if any({"above-plate", "below-plate"} & set(j.reasons) for j in current):
        found.append("a recorded pressure is one that an appliance's plate does not allow")
    return tuple(found)


def _sign_off(
    build: Build, proofs: tuple[Proof, ...], fingerprint: str, tested: bool, trouble: tuple[str, ...]
) -> str | None:
    signed = build.spec.signed_off
    if signed is None:
        return None
    if signed.covers is None:
        return "it does not say what it covers"
    if signed.covers != fingerprint:
        return "it was given for something else than the build as it is now"
    if trouble:
        return " and ".join(trouble)
    if not tested:
        return "not every test the region asks is recorded as passed on the build as it is now"
    dates = [ended(proof.judged.test).date() for proof in proofs if proof.judged is not None]
    if dates and signed.date < max(dates):
        return "it is older than a test it has to rest on"
    if any(d.date >= signed.date for d in build.spec.disturbances):
        return "something is recorded as having happened to the system since"
    return None


def _role(by: str, role: str | None) -> str:
    """The role set off by commas; nothing where a name that is itself a role ("County inspector") ends alike."""
    if role is None or (" " in by and "." not in by and by.casefold().split()[-1] == role.casefold().split()[-1]):
        return ""
    return f", {role},"


def _detail(
    build: Build, word: Word, proofs: tuple[Proof, ...], trouble: tuple[str, ...], sign_off: str | None, why: str | None
) -> str:
    """What the standing rests on. It is read right after the word, so "fitted" is not said twice."""
    spec = build.spec
    parts = []
    if spec.fitted is None:
        parts.append("no date fitted is recorded")
    elif word == "fitted":
        parts.append(f"on {spec.fitted.isoformat()}")
    stands = sum(1 for proof in proofs if proof.why is None)
    if not proofs:
        parts.append("no rule here says which tests the region asks")
    elif not spec.tests:
        parts.append("no test is recorded")
    else:
        parts.append(
            f"{stands} of the {len(proofs)} tests the region asks passed on the build as it is now, by the numbers recorded"
        )
        memory = sum(1 for proof in proofs if proof.asked.test.citation.confirmed == "memory")
        if stands and memory:
            parts.append(f"{memory} of them rest on figures from memory, so ask which test is wanted")
    parts.extend(trouble)
    if sign_off is None:
        parts.append("no sign-off is recorded")
    else:
        parts.append(sign_off + (f". It does not count here, because {why}" if why else ""))
    if spec.fitted is not None and word != "fitted":
        parts.insert(-1, f"fitted on {spec.fitted.isoformat()}")
    return "; ".join(parts)


_WHY = {
    "no-covers": (
        "test-covers-missing",
        "It does not say what it was made on.",
        "If the build has not changed since, add 'covers: {fingerprint}' to it.",
    ),
    "stale": (
        "test-stale",
        "The build as the spec has it now is not the one that was tested: {covers} then, {fingerprint} now.",
        "Test again, and record it with 'covers: {fingerprint}'.",
    ),
    "disturbed": (
        "test-disturbed",
        "Something is recorded as having happened to the system at that time or later.",
        "Test again. If the test came after it on the same day, record the times of both.",
    ),
}


def standing_findings(build: Build, found: Standing) -> Iterator[Finding]:
    """Tests and a sign-off that do not count for the build as it is now, each with what would make them."""
    seen = set()
    for proof in found.proofs:
        j = proof.judged
        if j is None or proof.why not in _WHY or j.index in seen:
            continue
        seen.add(j.index)
        code, reason, remedy = _WHY[proof.why]
        names = {"fingerprint": found.fingerprint, "covers": j.test.covers or ""}
        yield warning(
            code,
            f"test-{j.index + 1}",
            ("tests", j.index, *(("covers",) if proof.why == "stale" else ())),
            f"{test_name(j)}: does not count for the build as it is now.",
            reason.format(**names),
            remedy.format(**names),
        )
    if found.sign_off_why is not None:
        stale = build.spec.signed_off is not None and build.spec.signed_off.covers not in (None, found.fingerprint)
        yield warning(
            "sign-off-stale" if stale else "sign-off-does-not-count",
            "build",
            ("signed_off",),
            f"The recorded sign-off does not count: {found.sign_off_why}.",
            "A signature covers what was seen, not what was changed or tested later.",
            f"Ask the person who signed. The build as it is now has the fingerprint {found.fingerprint}.",
        )
