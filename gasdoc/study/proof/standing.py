"""How far a build has got, from its records alone: planned, fitted, tested, signed off.

A test counts only for what it was made on: its `covers:` must be the tightness code of the build as the spec has it now.
A sign-off's must be the build code. Nothing may be recorded that disturbed the system since, no record may be dated
later than the day it is read, and none may stand in two specs. Nor does a test count while the size of a run is left
out: that size is worked out anew each time, and no code stands for it. gasdoc verifies no signature.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from msgspec import Struct
from msgspec.structs import replace

from gasdoc.build.codes import Code, Codes, code_of
from gasdoc.build.model import Disturbance, Run
from gasdoc.build.reader import Build
from gasdoc.quantities import Aside, By
from gasdoc.source import Path
from gasdoc.study.findings import Finding, warning
from gasdoc.study.proof.leak_test import AskedTest, LeakTest
from gasdoc.study.proof.verdicts import Judged, covers_zones, ended, test_name
from gasdoc.words import in_sentence

Word = Literal["planned", "fitted", "tested", "signed off", "signed off, with errors"]

Why = Literal["missing", "not-passed", "to-come", "shared", "no-covers", "old-code", "stale", "size-open", "disturbed"]

OPENED = {
    "hose-replaced": ("appliances", "container-side", "leak-check"),
    "supply-interrupted": ("container-side", "leak-check"),
}
"""The kinds of test that are to be made again after something that opened only some joints; after all else, every one."""

SIGN_OFF: Path = ("signed_off",)


class Proof(Struct, frozen=True):
    """One asked test and the record that answers it: the latest one for its zone. `why` says what it lacks, None where it
    stands."""

    asked: Annotated[AskedTest, By("test", "zone")]
    judged: Annotated[Judged, By("number", "outcome")] | None
    why: Why | None


class Standing(Struct, frozen=True):
    """`word` is the standing; `detail` says what it rests on and what is recorded beside it.

    `codes` are those of the build now; `proofs` are the tests the region asks; `sign_off` words the recorded sign-off,
    None without one, and `sign_off_why` what keeps it from counting. `trouble` words what recorded tests show against the
    build, whatever else is proven. `errors` counts the findings at error level; `shared` names the other specs that hold
    the same record, by the record's place.
    """

    word: Word
    detail: str
    tests: int
    sign_off: str | None
    codes: Codes
    proofs: tuple[Proof, ...]
    sign_off_why: str | None
    trouble: tuple[str, ...]
    errors: int
    shared: Annotated[Mapping[Path, tuple[str, ...]], Aside("a finding tells it")]

    @property
    def open(self) -> tuple[Proof, ...]:
        """The asked tests that no record answers."""
        return tuple(proof for proof in self.proofs if proof.why is not None)

    @property
    def signed(self) -> bool:
        """Whether a sign-off counts, whatever the findings say."""
        return self.word.startswith("signed off")


class Basis(Struct, frozen=True):
    """What records are read by: the codes of the build now, the day (None: any date counts), the records that other specs
    hold too, by their place, and whether the spec states the size of every run."""

    codes: Codes
    day: dt.date | None = None
    shared: Mapping[Path, tuple[str, ...]] | None = None
    every_size: bool = True

    def ahead(self, date: dt.date) -> bool:
        """Whether a date is still to come."""
        return self.day is not None and date > self.day

    def others(self, at: Path) -> tuple[str, ...]:
        """The other specs that hold the record at a place."""
        return (self.shared or {}).get(at, ())


def standing(build: Build, tests: LeakTest, judged: tuple[Judged, ...], by: Basis, errors: int) -> Standing:
    """The standing of a build; `errors` is how many findings at error level it has."""
    spec = build.spec
    zones = [volume.zone for volume in tests.by_zone]
    by = replace(by, every_size=all(run.size is not None for _, run in build.each(Run)))
    proofs = tuple(_proof(asked, judged, zones, by, spec.disturbances) for asked in tests.asked)
    trouble = tuple(_trouble(judged))
    is_fitted = spec.fitted is not None and not by.ahead(spec.fitted)
    tested = is_fitted and bool(proofs) and not trouble and all(proof.why is None for proof in proofs)
    why = _sign_off(build, proofs, by, tested, trouble)
    word: Word = "planned"
    if is_fitted:
        word = "fitted"
    if tested:
        word = "tested"
        if spec.signed_off is not None and why is None:
            word = "signed off, with errors" if errors else "signed off"
    sign_off = None
    if spec.signed_off is not None:
        role = _role(spec.signed_off.by, spec.signed_off.role)
        sign_off = f"recorded by the owner as signed by {spec.signed_off.by}{role} on {spec.signed_off.date.isoformat()}, not verified here"
    detail = _detail(build, word, proofs, trouble, sign_off, why, errors)
    shared = dict(by.shared or {})
    return Standing(word, detail, len(spec.tests), sign_off, by.codes, proofs, why, trouble, errors, shared)


def summary(build: Build, found: Standing) -> str:
    """The standing in a few words. A sign-off never stands alone beside errors."""
    signed = build.spec.signed_off
    if not found.signed or signed is None:
        return found.word + (f"; {_errors(found.errors)}" if found.errors else "")
    on = f"signed off on {signed.date.isoformat()}"
    return f"{on}, with {_errors(found.errors)} as the build stands now" if found.errors else on


def _errors(number: int) -> str:
    return f"{number} error{'s' if number != 1 else ''}"


def _proof(
    asked: AskedTest, judged: tuple[Judged, ...], zones: list[str], by: Basis, disturbances: list[Disturbance]
) -> Proof:
    answers = [j for j in judged if asked in j.rows and asked.zone in covers_zones(j.test, zones)]
    # A record that cannot count takes none back that does.
    past = [j for j in answers if not by.ahead(j.test.date)]
    if not answers:
        return Proof(asked, None, "missing")
    if not past:
        return Proof(asked, min(answers, key=lambda j: (ended(j.test), j.index)), "to-come")
    last = max(past, key=lambda j: (ended(j.test), j.index))
    return Proof(asked, last, _lack(last, by, [d for d in disturbances if _disturbs(d, asked)]))


def _disturbs(disturbance: Disturbance, asked: AskedTest) -> bool:
    """Whether something that happened takes from a test what it showed. A new hose or connector, and an empty or exchanged
    container, open no joint of the piping: its own test stands, unless the appliances were joined in it."""
    kinds = OPENED.get(disturbance.kind)
    return kinds is None or asked.test.kind in kinds or (asked.test.connected and disturbance.kind == "hose-replaced")


def _lack(judged: Judged, by: Basis, disturbances: list[Disturbance]) -> Why | None:
    """What keeps a record from counting."""
    covers = judged.test.covers
    if judged.outcome != "pass":
        return "not-passed"
    if by.others(("tests", judged.index)):
        return "shared"
    if covers is None:
        return "no-covers"
    if covers != by.codes.tightness:
        return "stale" if code_of(covers) == "tightness" else "old-code"
    if not by.every_size:
        return "size-open"
    happened = (d for d in disturbances if not by.ahead(d.date))
    return "disturbed" if any(_after(d, ended(judged.test)) for d in happened) else None


def _after(disturbance: Disturbance, moment: dt.datetime) -> bool:
    """Whether something happened after a moment; on the same day without a time it may have, and counts."""
    if disturbance.time is None:
        return disturbance.date >= moment.date()
    return dt.datetime.combine(disturbance.date, disturbance.time) >= moment


def _trouble(judged: tuple[Judged, ...]) -> Iterator[str]:
    """In words, what current records show against the build: a leak; a pressure that a plate does not allow."""
    current = [j for j in judged if j.current]
    if any(j.outcome in ("leak", "suspected-leak") for j in current):
        yield "a recorded test shows a leak or makes one likely"
    if any({"above-plate", "below-plate"} & set(j.reasons) for j in current):
        yield "a recorded pressure is one that an appliance's plate does not allow"


def _sign_off(build: Build, proofs: tuple[Proof, ...], by: Basis, tested: bool, trouble: tuple[str, ...]) -> str | None:
    signed = build.spec.signed_off
    if signed is None:
        return None
    if by.ahead(signed.date):
        return f"its date, {signed.date.isoformat()}, is still to come"
    if others := by.others(SIGN_OFF):
        return f"the same sign-off stands in {in_sentence(others)} too"
    if signed.covers is None:
        return "it does not say what it covers"
    if signed.covers != by.codes.build:
        kind = code_of(signed.covers)
        if kind == "tightness":
            return "it names a tightness code, and a sign-off names the build code"
        return (
            "it was given for something else than the build as it is now"
            if kind
            else f"'{signed.covers[:40]}' is no build code"
        )
    if trouble:
        return " and ".join(trouble)
    if not tested:
        return "not every test the region asks is recorded as passed on the build as it is now"
    dates = [ended(proof.judged.test).date() for proof in proofs if proof.judged is not None]
    if dates and signed.date < max(dates):
        return "it is older than a test it has to rest on"
    if any(d.date >= signed.date and not by.ahead(d.date) for d in build.spec.disturbances):
        return "something is recorded as having happened to the system since"
    return None


def _role(by: str, role: str | None) -> str:
    """The role set off by commas; nothing where a name that is itself a role ("County inspector") ends alike."""
    if role is None or (" " in by and "." not in by and by.casefold().split()[-1] == role.casefold().split()[-1]):
        return ""
    return f", {role},"


def _detail(
    build: Build,
    word: Word,
    proofs: tuple[Proof, ...],
    trouble: tuple[str, ...],
    sign_off: str | None,
    why: str | None,
    errors: int,
) -> str:
    """What the standing rests on. It is read right after the word, so "fitted" is not said twice."""
    spec = build.spec
    parts = []
    if spec.fitted is None:
        parts.append("no date fitted is recorded")
    elif word == "planned":
        parts.append(f"the date fitted, {spec.fitted.isoformat()}, is still to come")
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
        memory = [proof.asked.test.name for proof in proofs if proof.asked.test.citation.confirmed == "memory"]
        if stands and memory:
            named = ", ".join(dict.fromkeys(memory))
            parts.append(f"figures from memory stand behind these, so ask which test is wanted: {named}")
    parts.extend(trouble)
    if errors:
        parts.append(f"{_errors(errors)} as the build stands now")
    if sign_off is None:
        parts.append("no sign-off is recorded")
    else:
        parts.append(sign_off + (f". It does not count here, because {why}" if why else ""))
    if word not in ("planned", "fitted") and spec.fitted is not None:
        parts.insert(-1, f"fitted on {spec.fitted.isoformat()}")
    return "; ".join(parts)


_WHY: dict[Why, tuple[str, str, str]] = {
    "to-come": (
        "test-to-come",
        "Its date, {date}, is still to come.",
        "Correct the date, or record the test when it has been made.",
    ),
    "shared": (
        "test-in-two-specs",
        "The same record, with the same date, readings and code, stands in {others} too. It counts in neither.",
        "Take it out of the spec it was not made on.",
    ),
    "no-covers": (
        "test-covers-missing",
        "It does not say what it was made on.",
        "If the build has not changed since, add 'covers: {code}' to it.",
    ),
    "old-code": (
        "test-covers-unknown",
        "'{covers}' is no tightness code of this form, so nobody can say what was tested.",
        "If the build has not changed since, write 'covers: {code}' instead. Otherwise test again.",
    ),
    "stale": (
        "test-stale",
        "The build has changed since it was tested: {covers} then, {code} now.",
        "Test again, and record it with 'covers: {code}'.",
    ),
    "size-open": (
        "test-size-open",
        "The size of a run is left out. The code does not stand for it, so it could be another one than was tested.",
        "Read the sizes off the tubing and add them. The code then changes: put the new one into 'covers:'.",
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
        words = {
            "code": found.codes.tightness,
            "covers": (j.test.covers or "")[:40],
            "date": j.test.date.isoformat(),
            "others": in_sentence(found.shared.get(("tests", j.index), ("another spec",))),
        }
        yield warning(
            code,
            f"test-{j.index + 1}",
            ("tests", j.index, *(("covers",) if proof.why in ("stale", "old-code") else ())),
            f"{test_name(j)}: does not count for the build as it is now.",
            reason.format(**words),
            remedy.format(**words),
        )
    if found.sign_off_why is not None:
        yield warning(
            _sign_off_code(build, found),
            "build",
            SIGN_OFF,
            f"The recorded sign-off does not count: {found.sign_off_why}.",
            "A signature covers what was seen, not what was changed or tested later.",
            f"Ask the person who signed. The build as it is now has the build code {found.codes.build}.",
        )


def _sign_off_code(build: Build, found: Standing) -> str:
    signed = build.spec.signed_off
    if SIGN_OFF in found.shared:
        return "sign-off-in-two-specs"
    stale = signed is not None and signed.covers not in (None, found.codes.build)
    return "sign-off-stale" if stale else "sign-off-does-not-count"


def stale_codes(build: Build, found: Standing) -> Iterator[tuple[Code, str]]:
    """Every code that a record of the build names and that is not the one of now, once, with which code it is."""
    named = [(test.covers, found.codes.tightness) for test in build.spec.tests]
    if build.spec.signed_off is not None:
        named.append((build.spec.signed_off.covers, found.codes.build))
    for covers, now in dict.fromkeys(named):
        code = code_of(covers) if covers is not None and covers != now else None
        if covers is not None and code is not None:
            yield code, covers


State = Literal["done", "next", "later"]


# --- how far a build has got, with dates ------------------------------------------------------------------------------


class Milestone(Struct, frozen=True):
    """A step and its date, None where it has none. A build has one next step at most: the first that is not done."""

    name: str
    state: State
    date: dt.date | None


def progress(build: Build, standing: Standing, day: dt.date | None) -> tuple[Milestone, ...]:
    """The steps in order. What the standing says is what counts; a record that does not count does no step."""
    spec = build.spec
    fitted = standing.word != "planned"
    tested = standing.word not in ("planned", "fitted")
    tests = [ended(p.judged.test).date() for p in standing.proofs if p.judged is not None]
    bought, used = _past(spec.bought, day), _past(spec.in_use, day)
    signed = spec.signed_off.date if spec.signed_off is not None and standing.signed else None
    steps = (
        ("planned", True, spec.started),
        ("bought", bought is not None or fitted, bought),
        ("fitted", fitted, spec.fitted if fitted else None),
        ("tested", tested, max(tests) if tested and tests else None),
        ("signed", signed is not None, signed),
        ("in use", used is not None, used),
    )
    first = next((name for name, done, _ in steps if not done), None)
    return tuple(
        Milestone(name, "done" if done else "next" if name == first else "later", date) for name, done, date in steps
    )


def _past(date: dt.date | None, day: dt.date | None) -> dt.date | None:
    """A date that has come by `day` (None: any has)."""
    return date if date is not None and (day is None or date <= day) else None


def use_findings(build: Build, standing: Standing, day: dt.date | None) -> Iterator[Finding]:
    """Gas in use before a sign-off counts."""
    if _past(build.spec.in_use, day) is not None and not standing.signed:
        yield warning(
            "in-use-unsigned",
            "build",
            ("in_use",),
            f"The gas has been in use since {build.spec.in_use}. No sign-off counts for the build as it is now.",
            "A leak or a wrong flame shows first to those who live with it.",
            "Shut the container. Have the tests seen and the work signed before the gas is used again.",
        )
